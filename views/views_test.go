package views

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"math"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"github.com/PuerkitoBio/goquery"

	"overhang/analytics/units"
	"overhang/views/charts"
)

// rendered gives a page as a reader's browser would parse it.
func rendered(t testing.TB, page Page) *goquery.Document {
	t.Helper()
	var b bytes.Buffer
	if err := galleryRenderer(t).Render(&b, page); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func testWriter(t testing.TB, f Frame) *writer {
	r := &Renderer{languages: testWords(t)}
	return r.writer(f)
}

func TestStartFails(t *testing.T) {
	words, _ := fs.Sub(wordFiles, "words")
	with := func(name, body string) fs.FS {
		all := overlaid(t, templateFiles, "templates", "", "").(fstest.MapFS)
		if body == "" {
			delete(all, name)
		} else {
			all[name] = &fstest.MapFile{Data: []byte(body)}
		}
		return all
	}
	for name, c := range map[string]struct {
		files fs.FS
		want  string
	}{
		"a page without its template":    {with("error.html", ""), "error"},
		"a template without its page":    {with("stray.html", `{{define "main"}}{{end}}`), "stray"},
		"a page without main":            {with("error.html", `{{define "mian"}}{{end}}`), "main"},
		"a text that is not there":       {with("error.html", `{{define "main"}}{{word "no.such"}}{{end}}`), "no.such"},
		"a function that is not there":   {with("error.html", `{{define "main"}}{{shout .}}{{end}}`), "shout"},
		"a template that is not there":   {with("error.html", `{{define "main"}}{{template "gone"}}{{end}}`), "gone"},
		"a value where none can be safe": {with("error.html", `{{define "main"}}<a {{.Message}}="x"{{if .Back}} title="{{end}}>{{end}}`), "error"},
	} {
		if _, err := newRenderer(c.files, words, pages); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v", name, err)
		}
	}
	if _, err := newRenderer(with("x", ""), words, append([]Page{ErrorPage{}}, pages...)); err == nil {
		t.Error("a page was declared twice")
	}
	if _, err := New(); err != nil {
		t.Error(err)
	}
}

// A page that fails half way writes nothing.
func TestNeverHalfAPage(t *testing.T) {
	page := newGallery()
	page.Owed.Draw = func(func(any) string) (charts.Options, error) { return nil, errors.New("no figures") }
	var b bytes.Buffer
	if err := galleryRenderer(t).Render(&b, page); err == nil || !strings.Contains(err.Error(), "no figures") || b.Len() != 0 {
		t.Errorf("got %v and %d bytes", err, b.Len())
	}
}

func TestNothingGetsThroughTheEscaping(t *testing.T) {
	const evil = `"><script>alert(1)</script>`
	page := newGallery()
	page.Title, page.Company, page.Query = Plain(evil), evil, evil
	page.Opening = []Phrase{Say("gallery.due", "roofs", 2).Link("due", "javascript:alert(1)")}
	page.Table.Rows[0] = NewRow(Cell{Value: evil, URL: "javascript:alert(1)", Note: Plain(evil)}, evil, evil, evil, evil)
	page.Map.Houses[0].Name, page.Map.Houses[0].URL = evil, "javascript:alert(1)"
	page.Years.Draw = func(func(any) string) (charts.Options, error) {
		return charts.Bars(charts.Unit{Name: evil}, []charts.Amount{{Name: evil, Value: 1, Said: "</script>" + evil}})
	}
	page.Form.Keep(map[string][]string{"address": {evil}, "note": {"</textarea>" + evil}})
	doc := rendered(t, page)
	doc.Find("script").Each(func(_ int, s *goquery.Selection) {
		kind, src := s.AttrOr("type", ""), s.AttrOr("src", "")
		if kind != "application/json" && !strings.HasPrefix(src, "/static/") {
			t.Errorf("a script got in: %s", s.Text())
		}
	})
	doc.Find("main a, main form").Each(func(_ int, s *goquery.Selection) {
		if href := s.AttrOr("href", "") + s.AttrOr("action", ""); strings.HasPrefix(href, "javascript:") {
			t.Errorf("a link leads to %s", href)
		}
	})
	if got := doc.Find("#visit-address").AttrOr("value", ""); got != evil {
		t.Errorf("the kept value is %q", got)
	}
}

func TestFormsKeepAndRefuse(t *testing.T) {
	doc := rendered(t, newGallery())
	field := doc.Find("#visit-ridge")
	if field.AttrOr("value", "") != "41o" || field.AttrOr("aria-invalid", "") != "true" {
		t.Error("a refused value is not kept and marked")
	}
	for _, id := range strings.Fields(field.AttrOr("aria-describedby", "")) {
		if doc.Find("#"+id).Text() == "" {
			t.Errorf("the field is described by %q, which says nothing", id)
		}
	}
	if doc.Find(`#visit input[name=csrf]`).AttrOr("value", "") != "token" {
		t.Error("a form that posts has no token")
	}
	if doc.Find(`#narrow input[name=csrf]`).Length() != 0 {
		t.Error("a filter puts the token into the address")
	}
	if doc.Find("#visit").AttrOr("enctype", "") != "multipart/form-data" || doc.Find("#end").AttrOr("enctype", "") != "" {
		t.Error("only a form with a file is sent in parts")
	}
	p := NewSignInPage(Frame{CSRF: "t"}, "")
	p.Form.Keep(map[string][]string{"password": {"secret"}}).Refuse("No.", map[string]string{"other": "is wrong"})
	if got := rendered(t, p); strings.Contains(got.Text(), "secret") || got.Find("#signin-password").AttrOr("value", "") != "" {
		t.Error("a password is sent back")
	} else if !strings.Contains(got.Find(".wrong").Text(), "other: is wrong") {
		t.Error("a rule about no field of the form is lost")
	}
}

func TestListAddresses(t *testing.T) {
	h := Here{Path: "/roofs", Query: map[string][]string{"sort": {"laid_on"}, "page": {"3"}, "street": {"Alder & Elm"}}}
	for _, c := range []struct{ got, want string }{
		{h.With("sort", "area"), "/roofs?sort=area&street=Alder+%26+Elm"},
		{Here{Path: "/roofs"}.With("sort", ""), "/roofs"},
		{h.Column(Phrase{}, "laid_on", false).URL, "/roofs?sort=-laid_on&street=Alder+%26+Elm"},
		{h.Column(Phrase{}, "laid_on", false).Sorted, "ascending"},
		{h.Column(Phrase{}, "area", false).Sorted, ""},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	if h.Query.Get("page") != "3" {
		t.Error("making an address changed the query it was made from")
	}
}

func TestUnitsAndLanguagesFollowTheFrame(t *testing.T) {
	page := newGallery()
	if !strings.Contains(rendered(t, page).Text(), "41 ft") {
		t.Error("feet are not written")
	}
	page.Units, page.Currency, page.Language = units.Metric, "€", "xx"
	if got := rendered(t, page).Text(); !strings.Contains(got, "12.5 m") || !strings.Contains(got, "€18,427.50") {
		t.Error("metres and the branch's currency are not written")
	}
}

// Run with -race this finds a renderer that is not safe for concurrent use.
func TestConcurrentReaders(t *testing.T) {
	r, page := galleryRenderer(t), newGallery()
	var wait sync.WaitGroup
	for i := range 8 {
		wait.Go(func() {
			p := page
			if i%2 == 0 {
				p.Units = units.Metric
			}
			p.Years.Draw = p.Owed.Draw
			if err := r.Render(io.Discard, p); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
}

func TestWriting(t *testing.T) {
	w := testWriter(t, Frame{Zone: time.FixedZone("", -7*3600)})
	text := func(s string, err error) string {
		if err != nil {
			return err.Error()
		}
		return s
	}
	day := units.NewDate(2026, 11, 25)
	date := func(f func(any) (template.HTML, error), v any) string { s, err := f(v); return text(string(s), err) }
	var none *units.Length
	var noMoney *units.Money
	for _, c := range []struct{ got, want string }{
		{date(w.date, day), `<time datetime="2026-11-25">November 25, 2026</time>`},
		{date(w.shortDate, day), `<time datetime="2026-11-25">Nov 25, 2026</time>`},
		{date(w.weekday, day), `<time datetime="2026-11-25">Wednesday, November 25</time>`},
		{date(w.date, dated("2014-06")), `<time datetime="2014-06">June 2014</time>`},
		{date(w.date, dated("2014")), `<time datetime="2014">2014</time>`},
		{date(w.date, dated("about 2014")), `<time datetime="2014">about 2014</time>`},
		{date(w.date, units.Date(0)), "not known"},
		{text(w.momentText(time.Date(2026, 11, 26, 1, 5, 0, 0, time.UTC))), "Nov 25, 2026, 6:05 pm"},
		{text(w.momentText(time.Date(2026, 11, 25, 7, 5, 0, 0, time.UTC))), "Nov 25, 2026, 12:05 am"},
		{text(w.money(units.Money(123450))), "$1,235"},
		{text(w.money(units.Money(-123450))), "−$1,235"},
		{text(w.cents(units.Money(123450))), "$1,234.50"},
		{text(w.money(noMoney)), "not known"},
		{text(w.show(none)), "not known"},
		{text(w.show(nil)), "not known"},
		{text(w.show(1234567)), "1,234,567"},
		{text(w.show([]Phrase{Term("role", "owner"), Plain("x")})), "Owner, x"},
		{text(w.percent(0.124)), "12%"},
		{text(w.percent(0.004)), "under 1%"},
		{text(w.percent(0)), "0%"},
		{text(w.percent(math.NaN())), "not known"},
		{text(w.sample(0)), "there are no records to judge by"},
		{text(w.sample(1)), "from 1 record: hardly more than a guess"},
		{text(w.sample(19)), "from 19 records, a small sample"},
		{text(w.sample(20)), "from 20 records"},
		{text(w.years(YearsLeft{6.4, 8.1, 10.6})), "6 to 11 years, about 8"},
		{text(w.years(YearsLeft{0.2, 0.4, 0.9})), "less than a year"},
		{text(w.years(YearsLeft{0.2, 0.4, 2.9})), "up to 3 years, perhaps less than one"},
		{text(w.years(YearsLeft{0.2, 1.4, 2.9})), "up to 3 years, about 1"},
		{text(w.years(YearsLeft{20, 40, math.Inf(1)})), "20 years or more"},
		{text(w.years(YearsLeft{})), "less than a year"}, // worn out, and not unknown
		{text(w.years(YearsUnknown())), "not known"},
		{text(w.years(YearsLeft{1, math.NaN(), 3})), "not known"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	if _, err := w.show(7.25); !errors.Is(err, errUnsaid) {
		t.Errorf("a bare fraction: %v", err)
	}
	for mid, want := range map[float64]int{0.1: 1, 2.9: 1, 3: 2, 7.9: 2, 8: 3, 14.9: 3, 15: 4, 60: 4} {
		if got := (YearsLeft{mid / 2, mid, mid * 2}).Step(); got != want {
			t.Errorf("%g years are step %d, want %d", mid, got, want)
		}
	}
}

// Whoever saves second keeps what was typed, sees what is kept by now, and goes
// on from the newest version.
func TestTheSecondEditorSeesBoth(t *testing.T) {
	ticks := func(name string, ticked ...string) Field {
		return Field{Name: name, Kind: Several, Values: ticked, Options: []Option{{"a", Plain("Alpha")}, {"b", Plain("Beta")}}}
	}
	fresh := func() *Form {
		return Frame{}.Form("f", "/f", Plain("Keep"), Field{Name: "version", Kind: Hidden, Value: "4"},
			Field{Name: "note", Kind: Long, Value: "theirs\nlong"}, Field{Name: "same", Kind: Text, Value: "x"},
			Field{Name: "state", Kind: Choice, Value: "b", Options: []Option{{"a", Plain("Alpha")}, {"b", Plain("Beta")}}},
			Field{Name: "gone", Kind: Text, Value: ""}, ticks("ticks", "a"), ticks("none", "b"), ticks("alike", "a", "b"), ticks("new"))
	}
	typed := map[string][]string{"ticks": {"b"}, "alike": {"b", "a"}, "new": {"a"}, "version": {"3"}, "note": {"mine"}, "same": {"x"}, "state": {"a"}, "gone": {"here"}}
	f := fresh().Compare(typed)
	want := []Field{{Value: "4"}, {Value: "mine", Kept: Say("form.kept", "value", Plain("theirs\nlong"))}, {Value: "x"},
		{Value: "a", Kept: Say("form.kept", "value", Plain("Beta"))}, {Value: "here", Kept: Say("form.kept.nothing")}, {Kept: Say("form.kept", "value", []Phrase{Plain("Alpha")})},
		{Kept: Say("form.kept", "value", []Phrase{Plain("Beta")})}, {}, {Kept: Say("form.kept.nothing")}}
	for i, got := range f.Groups[0].Fields {
		if got.Value != want[i].Value || fmt.Sprint(got.Kept) != fmt.Sprint(want[i].Kept) {
			t.Errorf("%s holds %q with %v beside it, want %q with %v", got.Name, got.Value, got.Kept, want[i].Value, want[i].Kept)
		}
	}
	typed["version"], typed["none"] = []string{"4"}, nil
	for _, got := range fresh().Compare(typed).Groups[0].Fields {
		if !got.Kept.IsZero() {
			t.Errorf("%s: nobody changed the record, yet %v stands beside it", got.Name, got.Kept)
		}
	}
}

// A button for one more line sends the form elsewhere than the return key does, and
// what is wrong in a group that opens says in which.
func TestAFormThatGrows(t *testing.T) {
	f := Frame{}.Form("f", "/f", Plain("Keep"), Field{Name: "note", Kind: Text, Label: Plain("Note"), Error: "too long"}).
		Fold(Plain("Moss"), Field{Name: "look", Kind: Text, Label: Plain("Look"), Error: "is needed"}).Refuse("Look again.", nil)
	if f.Grows() || !f.Last().Open() {
		t.Error("a form without a button grows, or what is wrong is shut")
	}
	f.Last().More = &More{Label: Plain("More"), Value: "moss", At: "f-look.2"}
	if !f.Grows() {
		t.Error("a form with a button does not grow")
	}
	doc := rendered(t, NewVisitPage{Frame: Frame{Title: Plain("Grows")}, Record: f})
	buttons := doc.Find("#f button")
	if first := buttons.First(); !first.HasClass("first") || first.AttrOr("formaction", "") != "" || first.AttrOr("tabindex", "") != "-1" || first.Text() != "Keep" {
		t.Error("the return key does not save")
	}
	more := buttons.Filter(`[name="more"][value="moss"][formnovalidate]`)
	if got := more.AttrOr("formaction", ""); got != "/f#f-look.2" || more.Closest("details").Length() != 1 {
		t.Errorf("the button for more leads to %q", got)
	}
	var told []string
	doc.Find("#f .wrong a").Each(func(_ int, a *goquery.Selection) { told = append(told, a.AttrOr("href", "")+" "+a.Text()) })
	if fmt.Sprint(told) != "[#f-note Note #f-look Moss, Look]" {
		t.Errorf("what is wrong is %q", told)
	}
}
