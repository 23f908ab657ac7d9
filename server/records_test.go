package server

import (
	"bytes"
	"encoding/csv"
	"io"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/chromedp/chromedp"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/intake"
	"overhang/models/store"
	"overhang/server/service"
	screens "overhang/views/browser"
)

// upload sends a file with the form that reads one in.
func (b *browser) upload(kind, do, name, content string) answer {
	b.s.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for field, value := range map[string]string{"csrf": b.csrf, "kind": kind, "do": do} {
		if err := w.WriteField(field, value); err != nil {
			b.s.t.Fatal(err)
		}
	}
	if name != "" {
		part, err := w.CreateFormFile("file", name)
		if err != nil {
			b.s.t.Fatal(err)
		}
		if _, err := io.WriteString(part, content); err != nil {
			b.s.t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		b.s.t.Fatal(err)
	}
	req := httptest.NewRequest("POST", "/records/import", &body)
	req.Header.Set("Content-Type", w.FormDataContentType())
	req.Header.Set("Accept", "text/html")
	return b.do(req)
}

// rows gives the cells of each row of a table.
func (a answer) rows(table string) [][]string {
	a.t.Helper()
	var out [][]string
	a.page().Find(table + " tbody tr").Each(func(_ int, tr *goquery.Selection) {
		var cells []string
		tr.Find("th, td").Each(func(_ int, c *goquery.Selection) { cells = append(cells, strings.Join(strings.Fields(c.Text()), " ")) })
		out = append(out, cells)
	})
	return out
}

// fields gives a form as it stands, ready to be sent again.
func (a answer) fields(form string) url.Values {
	a.t.Helper()
	out := url.Values{}
	f := a.page().Find(form)
	if f.Length() != 1 {
		a.t.Fatalf("there are %d forms %s", f.Length(), form)
	}
	f.Find("input[name], textarea[name]").Each(func(_ int, e *goquery.Selection) {
		kind, name := e.AttrOr("type", ""), e.AttrOr("name", "")
		if _, checked := e.Attr("checked"); (kind == "checkbox" || kind == "radio") && !checked {
			return
		}
		value := e.AttrOr("value", "")
		if goquery.NodeName(e) == "textarea" {
			value = e.Text()
		}
		out.Add(name, value)
	})
	f.Find("select[name]").Each(func(_ int, e *goquery.Selection) {
		out.Add(e.AttrOr("name", ""), e.Find("option[selected]").AttrOr("value", ""))
	})
	return out
}

// What each role finds on the page of the records: what it may not do is not
// shown.
func TestRecordsShowsWhatARoleMayDo(t *testing.T) {
	s := newSite(t)
	for role, want := range map[models.Role][]string{
		models.Owner: {"/records/import", "/records/export", "/records/coverings", "/records/terms", "/lives", "/records/people",
			"/records/settings", "/records/trail"},
		models.Office:     {"/records/import", "/records/export", "/records/coverings", "/records/terms", "/lives"},
		models.Bookkeeper: {"/records/export", "/records/coverings", "/records/terms", "/lives"},
	} {
		b := s.as(role)
		page := b.get("/records").want(200)
		var got []string
		page.page().Find("main dl.facts a").Each(func(_ int, a *goquery.Selection) { got = append(got, a.AttrOr("href", "")) })
		if !slices.Equal(got, want) {
			t.Errorf("the %s is shown %q, want %q", role, got, want)
		}
		for _, path := range got {
			b.get(path).want(200)
		}
		if n := page.page().Find(`nav a[aria-current][href="/records"]`).Length(); n != 1 {
			t.Errorf("the %s has %d current sections", role, n)
		}
	}
	s.as(models.Seller).get("/records").want(403)
	for _, path := range []string{"/records/coverings/new", "/records/coverings/1", "/records/terms/new", "/records/import"} {
		s.as(models.Bookkeeper).get(path).want(403)
	}
	// The catalogues are only read: nothing leads to a form.
	for _, path := range []string{"/records/coverings", "/records/terms/1"} {
		if page := s.as(models.Bookkeeper).get(path).want(200).page(); page.Find(`main a[href$="/new"], main a[href="/records/coverings/1"], main form[method="post"]`).Length() != 0 {
			t.Errorf("%s lets the bookkeeper change something", path)
		}
	}
}

func TestRecordsTellOfFilesAndNights(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	if got := b.get("/records").want(200).text(".opening"); got != "Two roofs that lie there now are kept here. No file has been read in yet." {
		t.Errorf("the page opens %q", got)
	}
	template, err := intake.Template("coverings")
	if err != nil {
		t.Fatal(err)
	}
	b.upload("coverings", "write", "catalogue.csv", string(template)).want(200)
	if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		return tx.Put(&models.JobRun{Job: "checkups", Day: units.NewDate(2026, 6, 10), StartedAt: s.clock.Now(), Outcome: "failed"})
	}); err != nil {
		t.Fatal(err)
	}
	page := b.get("/records").want(200)
	if got := page.text(".opening"); !strings.Contains(got, "The newest file, catalogue.csv, came in on June 10, 2026: two rows were new or changed. One nightly job failed.") {
		t.Errorf("the page opens %q", got)
	}
	if got := page.rows("#imports"); len(got) != 1 || got[0][0] != "catalogue.csv" || got[0][1] != "Coverings" || !slices.Equal(got[0][3:], []string{"The owner", "1", "1", "0"}) {
		t.Errorf("the files are %q", got)
	}
	if got := page.rows("#nights"); len(got) != 1 || got[0][0] != "Check-ups that fall due" || !strings.HasPrefix(got[0][2], "failed") {
		t.Errorf("the nights are %q", got)
	}
}

// The main job of the page: a file is checked, told of, and written whole.
func TestImportAFile(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Office)
	head := "ref,house_ref,laid,ours,colour\n"
	good := head + "R-1,H-1,2015-08-03,yes,slate grey\nR-2,H-2,about 2004,no,\nR-3,H-2,1990,no,brown\n"

	// A refused row is told by line, column, value and rule, and nothing is written.
	bad := b.upload("roofs", "write", "roofs.csv", head+"R-1,H-1,2015-08-03,yes,slate grey\nR-9,H-77,06/07/2014,no,brown\n").want(422)
	if got := bad.text(".opening"); !strings.Contains(got, "Nothing is written: one row of roofs.csv was refused.") {
		t.Errorf("it says %q", got)
	}
	refused := bad.rows("#refused")
	for _, want := range []string{"Line 3: laid06/07/2014", "Line 3: house_refH-77"} {
		if !slices.ContainsFunc(refused, func(r []string) bool { return r[0] == want && len(r[1]) > 5 }) {
			t.Errorf("%q is not among the refusals %q", want, refused)
		}
	}
	roof, err := store.Get[models.Roof](s.service.Store.Query(t.Context()), 1)
	if err != nil || roof.Colour != "" {
		t.Fatalf("after a refused file the colour is %q, %v", roof.Colour, err)
	}

	// Checked only: what would change is told, and nothing is written.
	checked := b.upload("roofs", "check", "roofs.csv", good).want(200)
	if got := checked.text(".opening"); !strings.Contains(got, "two rows would be written. Nothing is written yet.") {
		t.Errorf("it says %q", got)
	}
	if got := checked.rows("#changed"); len(got) != 1 || !slices.Equal(got[0], []string{"Line 2: R-1colour", "(empty)", "slate grey"}) {
		t.Errorf("what changes is %q", got)
	}
	if got := checked.rows("#added"); len(got) != 1 || !slices.Equal(got[0], []string{"Line 4: R-3"}) {
		t.Errorf("what is new is %q", got)
	}
	form := checked.fields("#import")
	if form.Get("kind") != "roofs" || form.Get("do") != "write" {
		t.Errorf("after the check the form holds %v", form)
	}
	if roof, _ = store.Get[models.Roof](s.service.Store.Query(t.Context()), 1); roof.Colour != "" {
		t.Error("a check wrote")
	}

	// Written, and the same file twice changes nothing.
	if got := b.upload("roofs", "write", "roofs.csv", good).want(200).text(".opening"); got != "roofs.csv is read in: two rows were written." {
		t.Errorf("it says %q", got)
	}
	if roof, _ = store.Get[models.Roof](s.service.Store.Query(t.Context()), 1); roof.Colour != "slate grey" {
		t.Errorf("the colour is %q", roof.Colour)
	}
	again := b.upload("roofs", "write", "roofs.csv", good).want(200)
	if got := again.text(".opening"); got != "roofs.csv changes nothing: every row is the same as what is kept." {
		t.Errorf("the second time it says %q", got)
	}
	if got := again.text("#outcome dl"); !strings.Contains(got, "Same3") {
		t.Errorf("the counts are %q", got)
	}

	// Files that are none, and forms that are not filled in.
	if got := b.upload("roofs", "write", "houses.csv", "what,else\n1,2\n").want(422).text(".opening"); !strings.Contains(got, "cannot be read as a file of this kind (Roofs)") {
		t.Errorf("it says %q", got)
	}
	empty := b.upload("", "check", "", "").want(422)
	for _, field := range []string{"kind", "file"} {
		if empty.text("#import-"+field+"-error") == "" {
			t.Errorf("nothing is said beside %s", field)
		}
	}
	if kept := b.upload("houses", "write", "", "").want(422).fields("#import"); kept.Get("kind") != "houses" || kept.Get("do") != "write" {
		t.Errorf("what was chosen is lost: %v", kept)
	}
	b.upload("flying-saucers", "write", "x.csv", "a\n1\n").want(404)
}

// The counts are of all rows when the list is cut.
func TestImportCountsWhatItDoesNotList(t *testing.T) {
	s := newSite(t)
	var file strings.Builder
	file.WriteString("ref,house_ref,laid\n")
	for range 700 {
		file.WriteString("R-9,H-77,when\n")
	}
	page := s.as(models.Owner).upload("roofs", "check", "roofs.csv", file.String()).want(422)
	if got := page.text(".opening"); !strings.Contains(got, "700 rows of roofs.csv were refused") {
		t.Errorf("it says %q", got)
	}
	if listed := len(page.rows("#refused")); listed == 0 || listed > 500 || !strings.Contains(page.text("main"), "more that are not listed") {
		t.Errorf("%d refusals are listed", listed)
	}
}

// Every kind has a page of its columns and a template; the templates, read in
// in their order, make a small company, and everything comes out again.
func TestTemplatesAndExports(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	list := b.get("/records/import").want(200)
	for _, k := range intake.Kinds() {
		if list.page().Find(`#kinds a[href="/records/templates/`+k.Name+`"]`).Length() != 1 {
			t.Errorf("no template of %s is offered", k.Name)
		}
		if got := b.get("/records/kinds/" + k.Name).want(200).rows("#columns"); len(got) != len(k.Columns) {
			t.Errorf("the page of %s has %d columns, want %d", k.Name, len(got), len(k.Columns))
		}
		file := b.get("/records/templates/" + k.Name).want(200)
		if got := file.Header.Get("Content-Disposition"); got != "attachment; filename="+k.Name+".csv" {
			t.Errorf("the template of %s is sent as %q", k.Name, got)
		}
		if got := b.upload(k.Name, "write", k.Name+".csv", file.Body); got.Status != 200 {
			t.Fatalf("the template of %s is refused: %q", k.Name, got.rows("#refused"))
		}
	}
	if n := b.get("/records/export").want(200).page().Find("#kinds dt").Length(); n != len(intake.Kinds()) {
		t.Errorf("%d kinds can be taken out, want %d", n, len(intake.Kinds()))
	}
	for _, k := range intake.Kinds() {
		file := b.get("/records/export/" + k.Name).want(200)
		if got := file.Header.Get("Content-Type"); got != csvType {
			t.Errorf("%s is sent as %q", k.Name, got)
		}
		if got := file.Header.Get("Content-Disposition"); got != "attachment; filename="+k.Name+"-2026-06-10.csv" {
			t.Errorf("%s is sent as %q", k.Name, got)
		}
		rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(file.Body, "\ufeff"))).ReadAll()
		if err != nil || len(rows) < 3 {
			t.Errorf("%s has %d rows, %v", k.Name, len(rows), err)
		}
		if got := b.upload(k.Name, "write", k.Name+".csv", file.Body).want(200).text(".opening"); !strings.Contains(got, "changes nothing") {
			t.Errorf("%s, taken out and read back in: %s", k.Name, got)
		}
	}
	b.get("/records/templates/none").want(404)
	b.get("/records/kinds/none").want(404)
	b.get("/records/export/none").want(404)
}

// Who may not see contacts or money does not take them out.
func TestExportsKeepToWhatARoleSees(t *testing.T) {
	s := newSite(t)
	keeper := s.as(models.Bookkeeper)
	for _, row := range keeper.get("/records/export").want(200).page().Find("#kinds a").EachIter() {
		keeper.get(row.AttrOr("href", "")).want(200)
	}
	if n := keeper.get("/records/export").page().Find(`#kinds a[href="/records/export/houses"]`).Length(); n != 0 {
		t.Error("the bookkeeper is offered the houses with their contacts")
	}
	keeper.get("/records/export/houses").want(403)
	if got := s.as(models.Office).get("/records/export/coverings").want(200).Body; strings.Contains(got, "price_per_square") {
		t.Error("the office takes out prices")
	}
	if got := keeper.get("/records/export/coverings").want(200).Body; !strings.Contains(got, "price_per_square") {
		t.Error("the bookkeeper does not take out prices")
	}
}

func TestCoverings(t *testing.T) {
	s := newSite(t)
	owner, office := s.as(models.Owner), s.as(models.Office)
	fields := url.Values{"key": {"lock-25"}, "name": {"Interlocking"}, "family": {"asphalt_interlocking"}, "bundles_per_square": {"many"},
		"price_per_square": {"1,410.50"}}
	refused := owner.post("/records/coverings", fields).want(422)
	if got := refused.text("#covering-bundles_per_square-error"); got != "must be a number such as 12.5" {
		t.Errorf("beside the bundles it says %q", got)
	}
	if kept := refused.fields("#covering"); kept.Get("bundles_per_square") != "many" || kept.Get("name") != "Interlocking" || kept.Get("family") != "asphalt_interlocking" {
		t.Errorf("what was typed is lost: %v", kept)
	}
	fields.Set("bundles_per_square", "4.5")
	owner.post("/records/coverings", fields).leads("/records/coverings")
	if got := owner.get("/records/coverings").text("#coverings"); !strings.Contains(got, "Interlocking") || !strings.Contains(got, "$1,411") {
		t.Errorf("the catalogue is %q", got)
	}
	if got := owner.post("/records/coverings", fields).want(409).text(".wrong"); !strings.Contains(got, "already") {
		t.Errorf("of a name that is taken it says %q", got)
	}

	// The office does not see the price, and leaves it as it is.
	form := office.get("/records/coverings/2").want(200)
	if strings.Contains(form.Body, "1410") || form.page().Find(`[name="price_per_square"]`).Length() != 0 {
		t.Error("the office sees the price")
	}
	mine := form.fields("#covering")
	mine.Set("nails_per_shingle", "6")
	mine.Set("price_per_square", "1")
	office.post("/records/coverings/2", mine).leads("/records/coverings")
	covering, err := s.service.Covering(t.Context(), service.Program("a test"), 2)
	if err != nil || covering.PricePerSquare != 141050 || *covering.NailsPerShingle != 6 {
		t.Errorf("the covering is %+v, %v", covering, err)
	}

	// The second of two editors is told, keeps what was typed, and can save.
	first, second := owner.get("/records/coverings/2").fields("#covering"), office.get("/records/coverings/2").fields("#covering")
	first.Set("name", "Interlocking, 25 years")
	owner.post("/records/coverings/2", first).leads("/records/coverings")
	second.Set("name", "Locked")
	told := office.post("/records/coverings/2", second).want(409)
	if got := told.text(".wrong"); !strings.Contains(got, "Somebody else changed this covering") {
		t.Errorf("the second is told %q", got)
	}
	if got := told.text("#covering-name-kept"); !strings.Contains(got, "Interlocking, 25 years") {
		t.Errorf("beside the name it says %q", got)
	}
	again := told.fields("#covering")
	if again.Get("name") != "Locked" {
		t.Errorf("what was typed is %q", again.Get("name"))
	}
	office.post("/records/coverings/2", again).leads("/records/coverings")
	owner.get("/records/coverings/77").want(404)
}

func TestTerms(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	fields := url.Values{"key": {"maker-30"}, "name": {"Maker, thirty years"}, "kind": {"material"}, "answers_for": {"material", "disposal"},
		"term_months": {"360"}, "full_months": {"120"}, "share_method": {"steps"}, "steps": {"120: 60%\nlater: less"}, "transfer": {"by_notice"},
		"notice_days": {"30"}, "cap": {"9000"}, "conditions": {"registered", "notice_days"}, "days_registered": {"60"}, "days_paid_in_full": {"10"}}
	refused := b.post("/records/terms", fields).want(422)
	for field, want := range map[string]string{"steps": "line 2", "days_notice_days": "is needed", "days_paid_in_full": "tick the condition"} {
		if got := refused.text("#terms-form-" + field + "-error"); !strings.Contains(got, want) {
			t.Errorf("beside %s it says %q", field, got)
		}
	}
	kept := refused.fields("#terms-form")
	for _, name := range []string{"name", "steps", "days_registered", "share_method", "transfer"} {
		if kept.Get(name) != fields.Get(name) {
			t.Errorf("%s holds %q, want %q", name, kept.Get(name), fields.Get(name))
		}
	}
	if !slices.Equal(kept["conditions"], fields["conditions"]) || !slices.Equal(kept["answers_for"], fields["answers_for"]) {
		t.Errorf("what was ticked is %v and %v", kept["conditions"], kept["answers_for"])
	}
	fields.Set("steps", "120: 60%\r\n240, 30")
	fields.Set("days_notice_days", "45")
	fields.Del("days_paid_in_full")
	b.post("/records/terms", fields).leads("/records/terms/2")
	page := b.get("/records/terms/2").want(200)
	if got := page.text(".opening"); got != "These terms run for 360 months. The share follows a table of steps. No promise rests on them yet." {
		t.Errorf("the page opens %q", got)
	}
	if got := page.rows("#shares"); !slices.EqualFunc(got, [][]string{{"none: from the start", "100%"}, {"120 months", "60%"}, {"240 months", "30%"}, {"360 months", "0%"}}, slices.Equal) {
		t.Errorf("the shares are %q", got)
	}
	if got := page.rows("#conditions"); len(got) != 2 || !strings.Contains(got[0][0], "60 days") || !strings.Contains(got[1][0], "45 days") {
		t.Errorf("the conditions are %q", got)
	}
	terms, err := s.service.Terms(t.Context(), service.Program("a test"), 2)
	if err != nil || *terms.Cap != 9000*units.Dollar || !terms.Material || !terms.Disposal || terms.Labour || len(terms.Steps) != 2 || terms.Steps[1].Share != 0.3 {
		t.Errorf("the terms are %+v, %v", terms, err)
	}

	// A form that is sent as it stands changes nothing; the office sees no cap, and
	// leaves it.
	b.post("/records/terms/2", page.fields("#terms-form")).leads("/records/terms/2")
	office := s.as(models.Office)
	form := office.get("/records/terms/2").want(200)
	if shown, _ := form.page().Find(".facts, #terms-form").Html(); form.page().Find("#terms-form-cap").Length() != 0 || strings.Contains(shown, "9000") || strings.Contains(form.text(".facts"), "9,000") {
		t.Error("the office sees the cap")
	}
	mine := form.fields("#terms-form")
	mine.Set("after_transfer", "60")
	office.post("/records/terms/2", mine).leads("/records/terms/2")
	after, err := s.service.Terms(t.Context(), service.Program("a test"), 2)
	if err != nil || after.Version != 2 || after.Cap == nil || *after.AfterTransfer != 60 {
		t.Errorf("the terms are %+v, %v", after, err)
	}
	if got := b.get("/records/terms").text("#terms"); !strings.Contains(got, "Maker, thirty years") || !strings.Contains(got, "Ten years on our work") {
		t.Errorf("the catalogue is %q", got)
	}
	// With 120 months left of 240 the whole term gives half (the package promise has
	// the formula).
	if got := b.get("/records/terms/1").rows("#shares"); !slices.ContainsFunc(got, func(r []string) bool { return slices.Equal(r, []string{"120 months", "50%"}) }) {
		t.Errorf("the shares of the whole term are %q", got)
	}
}

// A promise rests on the terms 1: what they promise is refused with its field and
// how many rest on them, and kept as new terms when that is asked for.
func TestTermsOnWhichPromisesRest(t *testing.T) {
	s := promiseSite(t)
	b := s.as(models.Owner)
	page := b.get("/records/terms/1").want(200)
	if got := page.text(".opening"); !strings.Contains(got, "One promise rests on them.") {
		t.Errorf("the page opens %q", got)
	}
	fields := page.fields("#terms-form")
	b.post("/records/terms/1", fields).leads("/records/terms/1") // as it stands
	fields.Set("name", "Ten years, as we call it")
	b.post("/records/terms/1", fields).leads("/records/terms/1")

	fields.Set("version", "2")
	fields.Set("full_months", "60")
	fields["answers_for"] = []string{"material"} // instead of labour
	refused := b.post("/records/terms/1", fields).want(422)
	for _, field := range []string{"full_months", "answers_for"} {
		if got := refused.text("#terms-form-" + field + "-error"); strings.Count(got, "one warranty rests on these terms") != 1 {
			t.Errorf("beside %s it says %q", field, got)
		}
	}
	if refused.page().Find("#terms-form .rule").Length() != 2 {
		t.Errorf("rules beside other fields: %s", refused.text("#terms-form"))
	}
	again := refused.fields("#terms-form")
	if again.Get("full_months") != "60" || !slices.Equal(again["answers_for"], []string{"material"}) || again.Has("anew") {
		t.Errorf("what was typed is %v", again)
	}
	again.Set("anew", "yes")
	refused = b.post("/records/terms/1", again).want(422)
	if got := refused.text("#terms-form-key-error"); !strings.Contains(got, "one of their own") {
		t.Errorf("beside the key it says %q", got)
	}
	again = refused.fields("#terms-form")
	if again.Get("anew") != "yes" {
		t.Error("the tick is lost")
	}
	again.Set("key", "work-10-shorter")
	b.post("/records/terms/1", again).leads("/records/terms/4")
	if got := b.get("/records/terms/4").want(200); !strings.Contains(got.text(".opening"), "No promise rests on them yet.") || !strings.Contains(got.text(".facts"), "Material") {
		t.Errorf("the new terms: %s", got.text("main"))
	}
	if got := b.get("/records/terms/1").want(200).text(".facts"); !strings.Contains(got, "Jun 10, 2026") || !strings.Contains(got, "Labour") {
		t.Errorf("the former terms: %s", got)
	}
	if got := b.get("/promises/1").want(200).text("main"); !strings.Contains(got, "covers 46% of what its terms name") {
		t.Errorf("the promise now reads %s", got)
	}
	if b.get("/records/terms/4").page().Find("#terms-form-anew").Length() != 0 {
		t.Error("terms on which nothing rests ask whether to make new ones")
	}
	// A share that a form shows rounded is not changed by sending it back.
	third := models.Terms{Key: "third", Name: "A third", Kind: "workmanship", TermMonths: 60, FullMonths: 12, ShareMethod: "steps",
		Steps: models.JSON[models.Step]{{FromMonth: 12, Share: 1.0 / 3}}, CapOfPrice: ptr(2.0 / 3), Transfer: "never",
		Conditions: models.JSON[models.Condition]{{Kind: "yearly_checkup", Days: 30}, {Kind: "paid_in_full"}}}
	s.add(&third, &models.Warranty{Ref: "W-T", RoofID: 1, TermsID: 5, OwedBy: "us", StartOn: units.NewDate(2026, 1, 1)})
	b.post("/records/terms/5", b.get("/records/terms/5").want(200).fields("#terms-form")).leads("/records/terms/5")
	kept, err := s.service.Terms(t.Context(), service.Program("a test"), 5)
	if err != nil || kept.Steps[0].Share != 1.0/3 || *kept.CapOfPrice != 2.0/3 {
		t.Errorf("kept: %+v, %v", kept, err)
	}
}

func TestSettings(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	fields := b.get("/records/settings").want(200).fields("#settings")
	if fields.Get("neighbour_radius") != "984" { // 300 m; 1 ft is 0.3048 m (NIST SP 811)
		t.Errorf("the radius is %q ft", fields.Get("neighbour_radius"))
	}
	// As it stands it changes nothing, the radius not even by its rounding.
	b.post("/records/settings", fields).leads("/records/settings")
	before, err := s.service.Settings(t.Context())
	if err != nil || before.Branch.Version != 1 || before.Company.Version != 1 {
		t.Fatalf("the versions are %d and %d, %v", before.Company.Version, before.Branch.Version, err)
	}

	wrong := b.get("/records/settings").fields("#settings")
	for name, value := range map[string]string{"name": "", "branch_name": "", "time_zone": "Mars/Base", "season_to": "13-01", "tax_rate": "80",
		"units": "leagues", "labour_rate": "a lot", "ring_back_hours": "0"} {
		wrong.Set(name, value)
	}
	refused := b.post("/records/settings", wrong).want(422)
	for _, name := range []string{"tax_rate", "labour_rate"} { // what cannot be read comes before the rules of the records
		if refused.text("#settings-"+name+"-error") == "" {
			t.Errorf("nothing is said beside %s", name)
		}
	}
	wrong.Set("tax_rate", "6.25")
	wrong.Set("labour_rate", "62")
	refused = b.post("/records/settings", wrong).want(422)
	for _, name := range []string{"name", "branch_name", "time_zone", "season_to", "units", "ring_back_hours"} {
		if refused.text("#settings-"+name+"-error") == "" {
			t.Errorf("nothing is said beside %s: %s", name, refused.text(".wrong"))
		}
	}
	if kept := refused.fields("#settings"); kept.Get("time_zone") != "Mars/Base" || kept.Get("labour_rate") != "62" {
		t.Errorf("what was typed is lost: %v", kept)
	}

	// Other units show at once, also in this form.
	fields = b.get("/records/settings").fields("#settings")
	stale := b.get("/records/settings").fields("#settings")
	fields.Set("units", "metric")
	fields.Set("neighbour_radius", "1000")
	fields.Set("building_code", "nbc_2015")
	b.post("/records/settings", fields).leads("/records/settings")
	page := b.get("/records/settings").want(200)
	if got := page.text(".opening"); got != "Pages are written in metres and millimetres, and attics are judged by NBC 2015." {
		t.Errorf("the page opens %q", got)
	}
	if got := page.fields("#settings").Get("neighbour_radius"); got != "305" { // 1000 ft
		t.Errorf("the radius is %q m", got)
	}
	if got := b.get("/records/trail").text("#changes"); !strings.Contains(got, "neighbour radius: 300 m → 304.8 m") || !strings.Contains(got, "“us” → “metric”") {
		t.Errorf("the trail is %q", got)
	}

	// The second editor is told and keeps what was typed.
	stale.Set("town", "Tarn")
	told := b.post("/records/settings", stale).want(409)
	if got := told.text(".wrong"); !strings.Contains(got, "Somebody else changed the settings") {
		t.Errorf("it says %q", got)
	}
	again := told.fields("#settings")
	if again.Get("town") != "Tarn" || told.text("#settings-units-kept") == "" {
		t.Errorf("the form holds %v", again)
	}
	again.Set("units", "metric")
	again.Set("neighbour_radius", "305")
	again.Set("building_code", "nbc_2015")
	b.post("/records/settings", again).leads("/records/settings")
	after, err := s.service.Settings(t.Context())
	if err != nil || after.Company.Town != "Tarn" || after.Branch.Units != units.Metric {
		t.Errorf("the settings are %+v, %v", after, err)
	}
	if got := after.Branch.NeighbourRadius.In(units.Foot); got < 999.99 || got > 1000.01 {
		t.Errorf("the radius is %g ft", got)
	}
}

func TestPeople(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	refused := b.post("/records/people", url.Values{"name": {"Wren Holloway"}, "email": {"seller@example.org"}, "roles": {"scheduler", "roofer"}}).want(422)
	if got := refused.text("#person-email-error"); got != "is somebody's already" {
		t.Errorf("beside the email it says %q", got)
	}
	if kept := refused.fields("#person"); kept.Get("name") != "Wren Holloway" || !slices.Equal(kept["roles"], []string{"scheduler", "roofer"}) {
		t.Errorf("what was typed is lost: %v", kept)
	}
	none := b.post("/records/people", url.Values{"name": {"Wren Holloway"}, "email": {"wren@example.org"}, "roles": {"king"}}).want(422)
	if got := none.text("#person-roles-error"); got == "" {
		t.Error("a role that there is not is taken")
	}
	added := b.post("/records/people", url.Values{"name": {"Wren Holloway"}, "email": {"wren@example.org"}, "roles": {"scheduler"}}).want(200)
	link, err := url.Parse(added.page().Find("#one-time").AttrOr("value", ""))
	if err != nil || link.Scheme != "http" || link.Host != "example.com" || link.Path != PasswordPath {
		t.Fatalf("the link is %v, %v", link, err)
	}
	if strings.Contains(s.log.String(), link.Query().Get("token")) {
		t.Error("the log holds the link")
	}
	wren := s.stranger()
	wren.csrf, _ = wren.get(link.RequestURI()).want(200).page().Find("input[name=csrf]").Attr("value")
	wren.post(PasswordPath, url.Values{"token": {link.Query().Get("token")}, "new_password": {"a lid and four walls"}}).leads("/sign-in")
	wren.signIn("wren@example.org", "a lid and four walls", "").leads("/today")
	wren.get("/records").want(403)

	// New roles hold from the next click.
	list := b.get("/records/people").want(200)
	if got := list.text("#people"); !strings.Contains(got, "Wren Holloway") || !strings.Contains(got, "Scheduler") {
		t.Errorf("the people are %q", got)
	}
	here := list.page().Find(`#people a:contains("Wren")`).AttrOr("href", "")
	change := b.get(here).want(200).fields("#person")
	change["roles"] = []string{"office", "scheduler"}
	b.post(here, change).leads("/records/people")
	wren.get("/records").want(200)
	if got := b.post(here, change).want(409).text(".wrong"); !strings.Contains(got, "Somebody else changed") {
		t.Errorf("of an old form it says %q", got)
	}

	// Ending ends at once; the last owner stays.
	b.post(here+"/end", b.get(here).fields("#end")).leads("/records/people")
	wren.get("/records").leads("/sign-in?next=%2Frecords")
	if page := b.get(here).want(200); page.page().Find("main form").Length() != 0 || !strings.Contains(page.text(".opening"), "ended on June 10, 2026") {
		t.Errorf("of one who has ended it says %q", page.text("main"))
	}
	b.post(here+"/link", nil).want(409)
	owner := "/records/people/1"
	if got := b.post(owner+"/end", b.get(owner).fields("#end")).want(422).text(".wrong"); got != "This is the last owner: make somebody else an owner first." {
		t.Errorf("of the last owner it says %q", got)
	}
	self := b.get(owner).fields("#person")
	self["roles"] = []string{"office"}
	if got := b.post(owner, self).want(422).text("#person-roles-error"); !strings.Contains(got, "last owner") {
		t.Errorf("beside the roles it says %q", got)
	}
	s.as(models.Office).get("/records/people").want(403)
}

func TestTrail(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	form := b.get("/records/coverings/1").fields("#covering")
	form.Set("price_per_square", "512.50")
	form.Set("nails_per_shingle", "6")
	form.Set("ended_on", "2026-05-01")
	b.post("/records/coverings/1", form).leads("/records/coverings")
	page := b.get("/records/trail?record=covering").want(200)
	first := page.text("#changes li:first-child")
	for _, want := range []string{"The owner", "Changed covering 1", "nails per shingle: not known → 6", "price per square: $0 → $513", "ended on: not known → May 1, 2026"} {
		if !strings.Contains(first, want) {
			t.Errorf("the newest change lacks %q: %s", want, first)
		}
	}
	if n := page.page().Find("#changes li").Length(); n != 2 {
		t.Errorf("the covering has %d changes, want 2", n)
	}
	if got := page.page().Find("#changes a").First().AttrOr("href", ""); got != "/records/coverings/1" {
		t.Errorf("the change leads to %q", got)
	}
	if got := b.get("/records/trail?record=dragon").want(200).text(".opening"); got != "Nothing has been changed yet." {
		t.Errorf("of a record that there is not it says %q", got)
	}
	// No secret is told, and the pages follow each other without a gap.
	people := b.get("/records/trail?record=person").want(200)
	if !strings.Contains(people.text("#changes"), "kept secret") || strings.Contains(people.Body, "argon2") {
		t.Errorf("a password: %s", people.text("#changes"))
	}
	if err := s.service.Store.Write(t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error {
		for i := range 60 {
			if err := tx.Create(&models.Crew{Name: strings.Repeat("x", i+1)}); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	crews := b.get("/records/trail?record=crew").want(200)
	if n := crews.page().Find("#changes li").Length(); n != 50 || !strings.Contains(crews.text(".pager"), "1 to 50 of 61") {
		t.Errorf("%d changes are shown: %s", n, crews.text(".pager"))
	}
	if n := b.get(crews.page().Find(".pager a[rel=next]").AttrOr("href", "")).want(200).page().Find("#changes li").Length(); n != 11 {
		t.Errorf("the second page has %d changes", n)
	}
	s.as(models.Bookkeeper).get("/records/trail").want(403)
}

// The owner, at a desk and on a phone: reads a file in that is refused, then a
// good one, then walks a form by the keyboard.
func TestRecordsInABrowser(t *testing.T) {
	b := screens.Start(t)
	folder := t.TempDir()
	file := func(name, content string) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	bad := file("roofs-bad.csv", "ref,house_ref,laid,ours,colour\nR-1,H-1,2015-08-03,yes,slate grey\nR-9,H-77,06/07/2014,no,brown\n")
	good := file("roofs.csv", "ref,house_ref,laid,ours,colour\nR-1,H-1,2015-08-03,yes,slate grey\nR-3,H-2,1990,no,brown\n")
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := newSite(t)
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		look := func(name string) {
			t.Helper()
			tab.Fits(t)
			tab.Labelled(t)
			tab.Reachable(t)
			tab.Shot(t, "records-"+name)
		}
		do := func(actions ...chromedp.Action[chromedp.Void]) {
			t.Helper()
			if err := chromedp.Do(tab.Context, actions...); err != nil {
				t.Fatal(err)
			}
		}
		do(chromedp.SetValue(`input[name="email"]`, "owner@example.org"), chromedp.SetValue(`input[name="password"]`, testPassword),
			chromedp.Submit(`input[name="password"]`), chromedp.WaitReady("nav"))
		tab.Go(t, home+"/records/import")
		look("import")
		send := func(path, what, then string) {
			t.Helper()
			do(chromedp.SetValue(`select[name="kind"]`, "roofs"), chromedp.SetUploadFiles(`input[name="file"]`, []string{path}),
				chromedp.Click(`input[name="do"][value="`+what+`"]`), chromedp.Click(`#import button`), chromedp.WaitReady(then))
		}
		send(bad, "check", "#refused")
		if got := screens.Eval[string](t, tab, `document.querySelector("#refused").innerText`); !strings.Contains(got, "H-77") || !strings.Contains(got, "06/07/2014") {
			t.Errorf("%s: the refusals are %q", screen.Name, got)
		}
		look("import-refused")
		send(good, "check", `.opening a[href="#import"]`)
		look("import-checked")
		send(good, "write", `.opening:not(:has(a[href="#import"])) a[href="#outcome"]`)
		if got := screens.Eval[string](t, tab, `document.querySelector(".opening").innerText`); !strings.Contains(got, "two rows were written") {
			t.Errorf("%s: after writing it says %q", screen.Name, got)
		}
		// The other pages are looked at with the samples of package views; this is the
		// one with a list of what came in.
		tab.Go(t, home+"/records")
		look("records")
		// The keyboard alone: from the first field of a form to its button.
		tab.Go(t, home+"/records/coverings/1")
		do(chromedp.Focus(`#covering-name`))
		for range 20 {
			do(chromedp.KeyEvent("\t"))
			if screens.Eval[string](t, tab, "document.activeElement.tagName") == "BUTTON" {
				break
			}
		}
		if got := screens.Eval[string](t, tab, "document.activeElement.closest('form')?.id || ''"); got != "covering" {
			t.Errorf("%s: the tab key leads to %q", screen.Name, got)
		}
		for _, problem := range tab.Problems(t) {
			if !strings.Contains(problem, "422") { // a browser tells of a refused form as of an error
				t.Errorf("%s: the browser complains: %s", screen.Name, problem)
			}
		}
	}
}
