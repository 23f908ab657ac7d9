package views

import (
	"embed"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"net/http/httptest"
	"path"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"overhang/analytics/units"
	"overhang/views/browser"
	"overhang/views/charts"
)

// The gallery is a page with one of every component, filled with invented data.
// It is declared here alone.

//go:embed testdata
var galleryFiles embed.FS

type galleryPage struct {
	Frame
	Heading     Phrase
	Filter      *Form
	Table       Table
	Empty       Table
	Facts       []Fact
	Years       Chart
	Owed        Chart
	Band        Chart
	Map         Map
	History     []Event
	Form, Quiet *Form
	Day         units.Date
	Moment      time.Time
	Amount      units.Money
	Length      units.Length
}

func (galleryPage) Template() string { return "gallery" }

var galleryDay = units.NewDate(2026, 11, 25)

func galleryFrame() Frame {
	return Frame{
		Title:   Plain("Roofs"),
		Company: "Hartwell & Daughters Roofing", Person: "Ines Marlow", CSRF: "token",
		Nav:   Nav(Roofs, AllSections...),
		Flash: Plain("The check-up of 14 Alder Lane is booked."),
		Today: galleryDay,
		Opening: []Phrase{
			Say("gallery.due", "roofs", 11).Link("due", "/visits?due=frost"),
			Say("gallery.waiting", "calls", 2).Link("late", "/callbacks?late=yes"),
		},
	}
}

// sampleRoofs are invented houses on an invented street grid.
var sampleRoofs = []struct {
	address string
	laid    units.Dated
	cover   string
	area    units.Area
	left    YearsLeft
}{
	{"14 Alder Lane", dated("2004-06-12"), "Three-tab", 21.5 * units.Square, YearsLeft{0.4, 1.6, 4.2}},
	{"16 Alder Lane", dated("about 2008"), "Interlocking", 18 * units.Square, YearsLeft{3, 6.4, 10.5}},
	{"3 Kestrel Court", dated("2015"), "Laminated", 32.25 * units.Square, YearsLeft{7.2, 11.8, 17}},
	{"121 Old Ferry Road, rear house", dated("2022-09"), "Laminated", 27 * units.Square, YearsLeft{14, 19.6, 27.3}},
	{"8 Quarry Rise", units.Dated{}, "", 0, YearsUnknown()},
}

func dated(s string) units.Dated {
	d, err := units.ParseDated(s)
	if err != nil {
		panic(err)
	}
	return d
}

func newGallery() galleryPage {
	f := galleryFrame()
	here := Here{Path: "/roofs", Query: map[string][]string{"sort": {"laid_on"}}}
	p := galleryPage{Frame: f, Heading: Plain("14 Alder Lane"), Day: galleryDay,
		Moment: time.Date(2026, 11, 25, 19, 5, 0, 0, time.UTC), Amount: 1842750, Length: 41 * units.Foot}
	p.Filter = f.Filter("narrow", "/roofs", "roofs",
		Field{Name: "street", Kind: Text, Label: Plain("Street")},
		Field{Name: "covering", Kind: Choice, Label: Plain("Covering"), Value: "laminated", Options: []Option{
			{"", Plain("any")}, {"three_tab", Plain("Three-tab")}, {"laminated", Plain("Laminated")}}},
		Field{Name: "laid_from", Kind: Day, Label: Plain("Laid from")})
	p.Table = Table{ID: "roofs", Caption: Plain("Roofs we laid"),
		Columns: []Column{{Head: Plain("Address")}, here.Column(Plain("Laid"), "laid_on", false), here.Column(Plain("Covering"), "covering", false),
			here.Column(Plain("Area"), "area", true), here.Column(Plain("Years left"), "left", false)},
		Pager: &Pager{From: 51, To: 55, Total: 1240, Previous: "/roofs?page=1", Next: "/roofs?page=3"}}
	rows := make([]charts.Span, 0, 4)
	for i, r := range sampleRoofs {
		cover := Phrase{}
		if r.cover != "" {
			cover = Plain(r.cover)
		}
		var area any
		if r.area != 0 {
			area = Plain(units.US.RoofArea(r.area))
		}
		var coverValue any = cover
		if cover.IsZero() {
			coverValue = nil
		}
		p.Table.Rows = append(p.Table.Rows, NewRow(Cell{Value: r.address, URL: fmt.Sprint("/roofs/", i)}, r.laid, coverValue, area, r.left))
		lat, lon := 44.05+0.0006*float64(i), -121.3+0.0011*float64(i%3)
		house := MapHouse{Lat: &lat, Lon: &lon, Name: r.address, URL: fmt.Sprint("/roofs/", i), Left: r.left, Note: Plain("No answer last time")}
		if i == 4 {
			house.Lat, house.Lon = nil, nil
		}
		p.Map.Houses = append(p.Map.Houses, house)
		if !r.left.Unknown() {
			rows = append(rows, charts.Span{Name: strings.TrimSuffix(r.address, ", rear house"), Low: r.left.Low, Mid: r.left.Mid, High: r.left.High, Step: r.left.Step()})
		}
	}
	p.Map.ID, p.Map.Label, p.Map.Ordered = "walk", Plain("Houses in walking order"), true
	p.Map.Streets = [][]Point{{{44.0496, -121.3004}, {44.0522, -121.3004}}, {{44.0509, -121.3012}, {44.0509, -121.2972}}}
	p.Empty = Table{ID: "callbacks", Caption: Plain("Callbacks"), Empty: Plain("Nobody has called back. That is how it should be.")}
	p.Facts = []Fact{
		{Term: Plain("Laid"), Value: dated("2004-06-12"), Note: Plain("from the invoice")},
		{Term: Plain("Owner"), Value: "Tove Lindqvist", URL: "/contacts/7"},
		{Term: Plain("Ridge"), Value: 41 * units.Foot},
		{Term: Plain("Pitch"), Value: units.PitchIn12(6)},
		{Term: Plain("Paid"), Value: units.Money(1842750)},
		{Term: Plain("Insulation"), Value: nil},
		{Term: Plain("Years left"), Value: YearsLeft{0.4, 1.6, 4.2}},
	}
	p.Years = Chart{ID: "left", Title: Plain("Years left, roof by roof"), Summary: Plain("The stroke is the middle of each range."),
		Draw: func(say func(any) string) (charts.Options, error) {
			for i := range rows {
				rows[i].Said = rows[i].Name + ": " + say(YearsLeft{rows[i].Low, rows[i].Mid, rows[i].High})
			}
			return charts.YearsLeft(charts.Unit{Name: "years"}, rows)
		},
		Numbers: &Table{ID: "left-numbers", Caption: Plain("Years left"), Columns: []Column{{Head: Plain("Roof")}, {Head: Plain("Years left")}},
			Rows: []Row{NewRow("14 Alder Lane", YearsLeft{0.4, 1.6, 4.2})}}}
	p.Owed = Chart{ID: "owed", Title: Plain("Owed by year"), Summary: Plain("Bars are the middle of what is expected; the lines run over nine years in ten."),
		Draw: func(say func(any) string) (charts.Options, error) {
			return charts.OwedByYear(charts.Unit{Before: "$"}, sampleSpans(say))
		}}
	p.Band = Chart{ID: "band", Title: Plain("Roofs that will need us"), Summary: Plain("The line is the middle, the band nine years in ten."),
		Draw: func(say func(any) string) (charts.Options, error) {
			return charts.Band(charts.Unit{Name: "roofs"}, sampleSpans(say))
		}}
	p.History = []Event{
		{On: time.Date(2026, 11, 3, 16, 40, 0, 0, time.UTC), Who: "Ines Marlow", What: Plain("Rang about a stain under the valley"), Detail: Plain("Ring back promised within a day.")},
		{On: dated("2004-06-12"), What: Plain("Roof laid")},
	}
	p.Form = f.Form("visit", "/visits", Plain("Book the check-up"),
		Field{Name: "address", Kind: Text, Label: Plain("Address"), Value: `14 "Alder" <Lane>`, Required: true},
		Field{Name: "on", Kind: Day, Label: Plain("Day"), Value: "2026-11-30"},
		Field{Name: "ridge", Kind: Number, Label: Plain("Ridge"), Unit: Plain("ft"), Value: "41o", Hint: Plain("Along the top, end to end.")},
		Field{Name: "method", Kind: Choice, Label: Plain("How"), Value: "ladder", Options: []Option{{"walked", Plain("walked")}, {"ladder", Plain("from a ladder")}}},
	).Group(Plain("What to look at"),
		Field{Name: "look", Kind: Several, Label: Plain("Parts"), Values: []string{"valley"}, Options: []Option{{"valley", Plain("Valleys")}, {"gutter", Plain("Gutters")}, {"step", Plain("Step flashing")}}},
		Field{Name: "photo", Kind: File, Label: Plain("Photo"), Accept: "image/*"},
		Field{Name: "note", Kind: Long, Label: Plain("Note")},
		Field{Name: "version", Kind: Hidden, Value: "3"},
	).Refuse("Something needs another look.", map[string]string{"ridge": "write a length such as 41.5"})
	p.Form.Cancel = "/visits"
	p.Quiet = f.Form("end", "/roofs/1/end", Plain("End this roof"))
	p.Quiet.Plain = true
	return p
}

func sampleSpans(say func(any) string) []charts.Span {
	var spans []charts.Span
	for i := range 10 {
		mid := 9000 + 3100*float64(i) - 130*float64(i*i)
		spans = append(spans, charts.Span{Name: fmt.Sprint(2027 + i), Low: mid * (0.8 - 0.04*float64(i)), Mid: mid, High: mid * (1.25 + 0.09*float64(i)),
			Said: fmt.Sprint(2027+i, ": about ", say(units.Money(mid*100)))})
	}
	return spans
}

// overlaid gives a folder of an embedded tree with one more file in it.
func overlaid(t testing.TB, base fs.FS, folder, name, from string) fs.FS {
	t.Helper()
	sub, err := fs.Sub(base, folder)
	if err != nil {
		t.Fatal(err)
	}
	all := fstest.MapFS{}
	add := func(files fs.FS, from, to string) {
		data, err := fs.ReadFile(files, from)
		if err != nil {
			t.Fatal(err)
		}
		all[to] = &fstest.MapFile{Data: data}
	}
	err = fs.WalkDir(sub, ".", func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			add(sub, p, p)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if from != "" {
		add(galleryFiles, from, name)
	}
	return all
}

func galleryRenderer(t testing.TB) *Renderer {
	t.Helper()
	r, err := newRenderer(overlaid(t, templateFiles, "templates", "gallery.html", "testdata/gallery.html"),
		overlaid(t, wordFiles, "words", "en.gallery.json", "testdata/en.gallery.json"), append([]Page{galleryPage{}}, pages...))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// samples gives every declared page at least once, filled as a person would see
// it. The author of a page adds it here; the tests below then look at it.
func samples() map[string]Page {
	f := Frame{Company: "Hartwell & Daughters Roofing", CSRF: "token", Today: galleryDay}
	in := galleryFrame()
	in.Flash, in.Opening, in.Nav = Phrase{}, nil, Nav("", AllSections...)
	wrong := NewSignInPage(f, "/roofs/7")
	wrong.Form.Keep(map[string][]string{"email": {"ines@example.test"}}).Refuse("That email and password do not belong together.", nil)
	failed := in
	failed.Title = Plain("That did not work")
	today := TodayPage{Frame: in, Nights: []Phrase{Say("today.night", "job", Term("today.job", "checkups"), "day", galleryDay, "detail", "No check-up fell due; 12 are due in all.")}}
	today.Title = Say("today.title")
	today.Opening = []Phrase{Say("today.callbacks", "count", 2).Link("open", "/callbacks"), Say("today.due", "count", 41).Link("due", "/visits")}
	today.Parts = []TodayPart{{Caution: "climb", More: Say("today.more.callbacks.only").Link("all", "/callbacks"),
		Table: Table{ID: "callbacks", Caption: Say("today.part.callbacks"), Columns: []Column{{Head: Say("today.address")}, {Head: Say("today.about")}},
			Rows: []Row{NewRow(Cell{Value: "14 Alder Lane", URL: "/callbacks/1"}, Cell{Value: "A stain beside the chimney", Note: Say("today.wet")})}}}}
	roofs := RoofsPage{Frame: in, Add: true, Told: true, Filter: in.Filter("narrow", "/roofs", "roofs", Field{Name: "q", Kind: Text, Label: Say("roofs.text")}),
		Table: Table{ID: "roofs", Caption: Say("roofs.caption"), Columns: []Column{{Head: Say("roof.address")}, {Head: Say("roof.left")}},
			Rows: []Row{NewRow(Cell{Value: "14 Alder Lane", URL: "/roofs/1"}, YearsLeft{4, 7, 12})}}}
	roofs.Title = Say("roofs.title")
	up := roofs
	up.Told, up.Table.Columns, up.Table.Rows = false, up.Table.Columns[:1], []Row{NewRow(Cell{Value: "14 Alder Lane", URL: "/roofs/1"})}
	roof := RoofPage{Frame: in, Facts: []Fact{{Term: Say("roof.ref"), Value: "R-14"}}, Ways: []NavEntry{{Label: Say("roof.edit"), URL: "/roofs/1/edit"}},
		Life: &RoofLife{Left: YearsLeft{6, 8, 11}, Younger: []Phrase{Say("roof.younger.part", "share", Say("percent", "share", 20), "years", "3.0")}, Total: Say("roof.why.total", "years", "21.9"), Lifted: Say("roof.lifted", "day", galleryDay),
			Ask: in.Filter("within", "/roofs/1#chance", "", Field{Name: "within", Kind: Number, Label: Say("roof.chance.ask"), Value: "7"}), Asked: Say("roof.chance.asked", "years", 7, "share", Say("percent", "share", 38), "words", Term("chance", "even")),
			Slopes: &Table{ID: "life-slopes", Stacks: true, Caption: Say("roof.slopes.left"), Columns: []Column{{Head: Say("roof.slope")}, {Head: Say("roof.slopes.left.years"), Numeric: true}, {Head: Say("roof.slopes.left.worst"), Numeric: true}}, Rows: []Row{NewRow("South", YearsLeft{6, 8, 11}, Say("percent", "share", 85))}},
			Fan: &Chart{ID: "fan", Title: Say("roof.fan"), Summary: Say("roof.fan.summary", "line", 20), Draw: func(func(any) string) (charts.Options, error) {
				return charts.Fan(charts.Unit{Name: "years"}, charts.Unit{Name: "rating"}, []charts.FanPoint{{At: 0, Low: 100, Lower: 100, Mid: 100, Upper: 100, High: 100}, {At: 20, Low: 0, Lower: 10, Mid: 30, Upper: 50, High: 60}},
					[]charts.Mark{{At: 6, Low: 70, Mid: 80, High: 90}}, 20, 12)
			}},
			Before: Say("roof.look.before").Link("visits", "/visits#look"), Looks: in.Form("looks", "/roofs/1/look", Say("roof.look.going")),
			Next:  &Table{ID: "next-looks", Caption: Say("roof.look.caption"), Columns: []Column{{Head: Say("roof.look.how")}, {Head: Say("roof.look.narrower"), Numeric: true}}, Rows: []Row{NewRow(Term("looked", "walked"), Say("roof.look.years", "years", "8.1"))}},
			Gains: &Table{ID: "gains", Caption: Say("roof.gain.caption"), Columns: []Column{{Head: Say("roof.gain.what")}, {Head: Say("roof.gain.years"), Numeric: true}}, Rows: []Row{NewRow(Say("roof.gain.gutters"), Say("roof.gain.said", "middle", "0.5", "low", "−0.2", "high", "1.1"))}},
			Says:  "An estimate.", Version: "1", Chances: []Fact{{Term: Say("roof.chance.5"), Value: Say("percent", "share", 12)}},
			Reasons: []RoofReason{{What: Say("roof.why.readings.slopes", "count", 2, "slopes", []Phrase{Plain("South"), Plain("North")}), Effect: Say("roof.effect.longer", "years", "1.4"), Because: "How worn it was."},
				{What: Say("roof.why.standing"), Effect: Say("roof.effect.longer", "years", "0.4"), Because: "It lies there.", Source: "Our own."},
				{What: Term("factor_class", "upkeep"), Effect: Say("roof.effect.shorter", "years", "0.9"), Unknown: Say("roof.factor.unknown", "names", []Phrase{Term("factor", "moss")}),
					Parts: []RoofFactor{{What: Term("factor", "gutters"), Effect: Say("roof.factor.times", "middle", "0.96", "low", "0.88", "high", "1.00"), Because: "found filled", Source: "Common practice, no source."}}}},
			Chart: Chart{ID: "serves", Title: Say("roof.chart"), Summary: Say("roof.chart.summary"), Draw: func(func(any) string) (charts.Options, error) {
				return charts.Line(charts.Unit{Name: "%"}, []charts.Amount{{Name: "0", Value: 100}, {Name: "10", Value: 20}})
			}}},
		Topics:     sampleTopics(),
		Promises:   &Table{ID: "promises", Caption: Say("roof.promises.caption"), Empty: Say("roof.promises.none"), Columns: []Column{{Head: Say("roof.promise")}}},
		ShowVisits: true, Visits: []RoofVisit{{On: galleryDay, Who: "Ines Marlow", URL: "/visits/1", What: Say("roof.visit.done", "purpose", Term("purpose", "checkup"), "method", Term("looked", "ladder")), Seen: Say("roof.visit.seen"),
			Rating: Say("roof.visit.rating", "rating", 43), Slopes: Say("roof.visit.slopes", "slopes", []Phrase{Say("roof.visit.slope", "slope", "South", "rating", 43), Say("roof.visit.slope.unseen", "slope", "North")}),
			Found: []Phrase{Say("roof.found", "defect", Term("defect", "moss"), "severity", Term("severity", "1"))}}},
		Slopes:  Table{ID: "slopes", Caption: Say("roof.slopes"), Empty: Say("roof.slopes.none"), Columns: []Column{{Head: Say("roof.slope")}}},
		Vents:   Table{ID: "vents", Caption: Say("roof.vents"), Empty: Say("roof.vents.none"), Columns: []Column{{Head: Say("roof.vent")}}},
		Gutters: Table{ID: "gutters", Caption: Say("roof.gutters"), Empty: Say("roof.gutters.none"), Columns: []Column{{Head: Say("roof.gutter")}}},
		Details: Table{ID: "details", Caption: Say("roof.details"), Empty: Say("roof.details.none"), Columns: []Column{{Head: Say("roof.detail")}}},
		Others:  Table{ID: "other-roofs", Caption: Say("roof.others"), Empty: Say("roof.others.none"), Columns: []Column{{Head: Say("roof.ref")}}}}
	roof.Title = Plain("14 Alder Lane")
	ask := roof
	ask.Life = &RoofLife{Kept: []Phrase{Say("roof.kept.ask").Link("visit", "/roofs/1/visits/new")}, Looks: in.Form("looks", "/roofs/1/look", Say("roof.look.going")), LooksNot: in.Form("looks-not", "/roofs/1/look", Say("roof.look.not"))}
	going := roof
	going.Life = &RoofLife{Kept: []Phrase{Say("roof.kept.said", "day", galleryDay).Link("visit", "/roofs/1/visits/new")}, LooksNot: in.Form("looks-not", "/roofs/1/look", Say("roof.look.not"))}
	roofForm := RoofFormPage{Frame: in, Form: in.Form("roof", "/roofs", Say("roof.save"), Field{Name: "laid_on", Kind: Text, Label: Say("roof.laid"), Hint: Say("roof.laid.hint"), Required: true})}
	roofForm.Title = Say("roof.new.title")
	found := SearchPage{Frame: in, Table: Table{ID: "found", Caption: Say("search.caption"), Empty: Say("search.empty"), Columns: []Column{{Head: Say("roof.address")}}}}
	found.Title = Say("search.title")
	all := map[string]Page{
		"roofs":           roofs,
		"roofs-up":        up,
		"roof":            roof,
		"roof-ask":        ask,
		"roof-going":      going,
		"roof_form":       roofForm,
		"search":          found,
		"today":           today,
		"sign_in":         NewSignInPage(f, ""),
		"sign_in-refused": wrong,
		"first_owner":     NewFirstOwnerPage(f, "one-time"),
		"password":        NewPasswordPage(f, "one-time"),
		"account":         NewAccountPage(in, "ines@example.test", []string{"owner", "office"}, 2),
		"error":           ErrorPage{Frame: failed, Reference: "7f3a-19"},
		"records":         sampleRecords(in),
		"trail":           sampleTrail(in),
		"import":          sampleImport(in, nil),
		"import-refused":  sampleImport(in, &sampleRefusedReport),
		"import-checked":  sampleImport(in, &sampleCheckedReport),
		"kind":            sampleKind(in),
		"export":          sampleExport(in),
		"coverings":       sampleCoverings(in),
		"covering":        sampleCovering(in),
		"terms_list":      sampleTermsList(in),
		"terms":           sampleTerms(in),
		"settings":        sampleSettings(in),
		"people":          samplePeople(in),
		"person":          samplePerson(in),
	}
	maps.Copy(all, promiseSamples(in))
	maps.Copy(all, neighbourSamples(in))
	maps.Copy(all, visitSamples(in))
	maps.Copy(all, callbackSamples(in))
	maps.Copy(all, crewSamples(in))
	maps.Copy(all, livesSamples(in))
	maps.Copy(all, hindsightSamples(in))
	return all
}

func TestEveryPageHasASample(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range samples() {
		seen[p.Template()] = true
	}
	for _, p := range pages {
		if !seen[p.Template()] {
			t.Errorf("the page %q has no sample: add one to samples()", p.Template())
		}
	}
}

// serve serves rendered pages and the static files as the program does: with the
// policy, and from nowhere else.
func serve(t testing.TB, pages map[string]Page) *httptest.Server {
	t.Helper()
	r := galleryRenderer(t)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		w.Header().Set("Content-Security-Policy", ContentSecurityPolicy)
		w.Header().Set("X-Content-Type-Options", "nosniff")
		if a, ok := OpenStatic(req.URL.Path); ok {
			w.Header().Set("Content-Type", a.Type)
			w.Header().Set("Cache-Control", StaticCaching)
			_, _ = w.Write(a.Content)
			return
		}
		page, ok := pages[path.Base(req.URL.Path)]
		if !ok {
			http.NotFound(w, req)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		if err := r.Render(w, page); err != nil {
			t.Errorf("%s: %v", req.URL.Path, err)
		}
	}))
	t.Cleanup(server.Close)
	return server
}

// One browser serves all, because starting it takes longer than any page.
func TestInABrowser(t *testing.T) {
	b := browser.Start(t)
	t.Run("gallery", func(t *testing.T) { gallery(t, b) })
	t.Run("sorting", func(t *testing.T) { sorting(t, b) })
	t.Run("pages", func(t *testing.T) { everyPage(t, b) })
}

func gallery(t *testing.T, b *browser.Browser) {
	server := serve(t, map[string]Page{"roofs": newGallery()})
	for _, screen := range []browser.Screen{browser.Office, browser.OfficeNight, browser.Phone, browser.PhoneNight} {
		tab := b.Open(t, server.URL+"/roofs", screen)
		for _, chart := range []string{"left", "owed", "band"} {
			if painted := browser.Eval[int](t, tab, `(() => {
  const canvas = document.querySelector("#`+chart+` canvas");
  if (!canvas) return 0;
  const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  let n = 0;
  for (let i = 3; i < data.length; i += 4) if (data[i] > 0) n++;
  return n;
})()`); painted < 500 {
				t.Errorf("%s: the chart %q has %d painted pixels", screen.Name, chart, painted)
			}
		}
		if n := browser.Eval[int](t, tab, `document.querySelectorAll("#walk path.house[tabindex='0'][aria-label]").length`); n != 4 {
			t.Errorf("%s: the map has %d houses that a keyboard reaches, want 4", screen.Name, n)
		}
		if width := browser.Eval[float64](t, tab, `(() => {
  const link = document.querySelector(".opening a");
  link.focus({ focusVisible: true });
  return parseFloat(getComputedStyle(link).outlineWidth);
})()`); width < 2 {
			t.Errorf("%s: the focus ring is %g px wide", screen.Name, width)
		}
		browser.Eval[bool](t, tab, `document.activeElement.blur() || true`)
		tab.Fits(t)
		tab.Labelled(t)
		tab.Reachable(t)
		tab.Shot(t, "gallery")
		if screen.Touch {
			browser.Eval[bool](t, tab, `document.querySelector(".menu").click() || true`)
			if n := browser.Eval[int](t, tab, `[...document.querySelectorAll("#sections a")].filter((a) => a.getBoundingClientRect().height >= 44).length`); n != len(AllSections) {
				t.Errorf("%s: %d sections open under the thumb, want %d", screen.Name, n, len(AllSections))
			}
			tab.Fits(t)
		}
		tab.NoProblems(t)
	}
}

// Where scripts run, sorting fetches the list alone, keeps the address and draws
// nothing twice.
func sorting(t *testing.T, b *browser.Browser) {
	server := serve(t, map[string]Page{"roofs": newGallery()})
	tab := b.Open(t, server.URL+"/roofs", browser.Office)
	browser.Eval[bool](t, tab, `(window.same = true) && (document.querySelector("#roofs thead a").click() || true)`)
	for range 100 {
		if browser.Eval[string](t, tab, "location.search") != "" {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if got := browser.Eval[string](t, tab, "location.search"); got != "?sort=-laid_on" {
		t.Errorf("after sorting the address ends %q", got)
	}
	if !browser.Eval[bool](t, tab, "window.same === true") {
		t.Error("the whole page was loaded anew")
	}
	if n := browser.Eval[int](t, tab, `document.querySelectorAll("#roofs").length`); n != 1 {
		t.Errorf("there are %d lists", n)
	}
	tab.NoProblems(t)
}

func everyPage(t *testing.T, b *browser.Browser) {
	all := samples()
	server := serve(t, all)
	for _, screen := range []browser.Screen{browser.OfficeNight, browser.Phone} {
		tab := b.Open(t, server.URL+"/"+sortedKeys(all)[0], screen)
		for _, name := range sortedKeys(all) {
			tab.Go(t, server.URL+"/"+name)
			tab.Fits(t)
			tab.Labelled(t)
			tab.Reachable(t)
			tab.NoProblems(t)
			tab.Shot(t, name)
		}
	}
}
