package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
)

func TestRoofsAreListedAndFound(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	list := owner.get("/roofs").want(http.StatusOK)
	if text := list.text("table"); !strings.Contains(text, "12 Larch Street") || strings.Contains(text, "14 Larch Street") {
		t.Errorf("our roofs: %s", text)
	}
	if text := owner.get("/roofs?ours=any&sort=-laid").text("table"); !strings.Contains(text, "14 Larch Street") {
		t.Errorf("all roofs: %s", text)
	}
	if text := owner.get("/roofs?family=metal").text("table"); strings.Contains(text, "Larch") {
		t.Errorf("metal roofs: %s", text)
	}
	owner.get("/search?q=" + url.QueryEscape("12 lárch st")).leads("/roofs/1")
	owner.get("/search?q=0134").leads("/roofs/1") // the owner's telephone number
	if text := s.as(models.Seller).get("/search?q=Marchetti").text("main"); strings.Contains(text, "12 Larch Street") {
		t.Errorf("the seller finds people by name: %s", text)
	}
}

func TestARoofsOwnPage(t *testing.T) {
	s := newSite(t)
	page := s.as(models.Owner).get("/roofs/1").want(http.StatusOK)
	text := page.text("main")
	for _, want := range []string{"12 Larch Street", "an estimate", "Past its line already", "Ten years on our work", "Odile Marchetti", "Take care."} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q: %s", want, text)
		}
	}
	// A seller sees the roof, and neither who holds the house nor what is promised.
	text = s.as(models.Seller).get("/roofs/1").want(http.StatusOK).text("main")
	for _, not := range []string{"Marchetti", "Ten years on our work", "Correct the roof"} {
		if strings.Contains(text, not) {
			t.Errorf("the seller reads %q", not)
		}
	}
	s.as(models.Owner).get("/roofs/999").want(http.StatusNotFound)
}

func TestARoofIsWrittenDown(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	typed := url.Values{"number": {"7"}, "street": {"Tarn Road"}, "laid_on": {"06/2008"}, "ours": {"no"}, "colour": {"dark brown"}}
	refused := owner.post("/roofs", typed).want(http.StatusUnprocessableEntity)
	if v, _ := refused.page().Find(`input[name="colour"]`).Attr("value"); v != "dark brown" {
		t.Errorf("the colour that was typed is gone: %q", v)
	}
	if text := refused.text("form"); !strings.Contains(text, "about 2014") {
		t.Errorf("the day's rule does not stand in the form: %s", text)
	}
	typed.Set("laid_on", "about 2008")
	done := owner.post("/roofs", typed)
	to := done.Header.Get("Location")
	done.leads(to)
	if text := owner.get(to).want(http.StatusOK).text("main"); !strings.Contains(text, "7 Tarn Road") || !strings.Contains(text, "about 2008") {
		t.Errorf("the roof reads %s", text)
	}
	s.as(models.Roofer).post("/roofs", typed).want(http.StatusForbidden)
}

func TestTheSecondEditorOfARoofIsTold(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	form := owner.get("/roofs/1/edit").want(http.StatusOK).page()
	version, _ := form.Find(`input[name="version"]`).Attr("value")
	typed := url.Values{"version": {version}, "laid_on": {"2015-08-03"}, "ours": {"yes"}, "covering_id": {"1"}, "colour": {"slate grey"}}
	owner.post("/roofs/1", typed).leads("/roofs/1")
	typed.Set("colour", "brown")
	second := owner.post("/roofs/1", typed).want(http.StatusConflict)
	if text := second.text("main"); !strings.Contains(text, "Somebody else changed this roof") {
		t.Errorf("the second editor reads %s", text)
	}
	if v, _ := second.page().Find(`input[name="colour"]`).Attr("value"); v != "brown" {
		t.Errorf("what the second editor typed is gone: %q", v)
	}
	kept, err := store.Get[models.Roof](s.service.Store.Query(t.Context()), 1)
	if err != nil || kept.Colour != "slate grey" {
		t.Errorf("kept is %q, %v", kept.Colour, err)
	}
}

func TestTheListIsNarrowedSortedAndPaged(t *testing.T) {
	s := newSite(t)
	// 40 more of ours, laid 1980 to 2019, of which one is estimated.
	var records []models.Record
	for i := range 40 {
		records = append(records, &models.House{Ref: fmt.Sprintf("H-%d", 10+i), BranchID: 1, Neighbourhood: "Mill Bend"},
			&models.Address{HouseID: int64(3 + i), Number: strconv.Itoa(100 + i), Street: "Mill Road", Town: "Tarn", Main: true},
			&models.Roof{Ref: fmt.Sprintf("R-%d", 10+i), HouseID: int64(3 + i), Ours: true, Laid: units.Dated{On: units.NewDate(1980+i, time.July, 1), Precision: units.ToYear}})
	}
	s.write(records...)
	if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		return tx.Put(&models.Estimate{RoofID: 12, AsOf: units.NewDate(2026, time.June, 1), ModelVersion: "1", InputsHash: "x", AgeYears: 36,
			Low: 0, Middle: 2, High: 6, ChancePast: 0.3, ChanceIn1: 0.4, ChanceIn2: 0.5, ChanceIn5: 0.8, Result: "{}"})
	}); err != nil {
		t.Fatal(err)
	}
	owner := s.as(models.Owner)
	first := func(path string) string {
		return owner.get(path).want(http.StatusOK).text("#roofs tbody tr:first-child th")
	}
	for path, want := range map[string]string{
		"/roofs":                            "12 Larch Street",
		"/roofs?sort=-address":              "139 Mill Road",
		"/roofs?sort=laid":                  "100 Mill Road",
		"/roofs?sort=-laid":                 "139 Mill Road",
		"/roofs?sort=left":                  "109 Mill Road", // those without an estimate come last, either way
		"/roofs?sort=-left":                 "109 Mill Road",
		"/roofs?past=soon":                  "109 Mill Road",
		"/roofs?from=1990&to=1990":          "110 Mill Road",
		"/roofs?neighbourhood=Tarn+Flats":   "12 Larch Street",
		"/roofs?q=mill+rd+121":              "121 Mill Road",
		"/roofs?q=R-33":                     "123 Mill Road",
		"/roofs?page=2":                     "129 Mill Road",
		"/roofs?sort=nonsense&ours=nowhere": "12 Larch Street",
	} {
		if got := first(path); !strings.HasPrefix(got, want) {
			t.Errorf("%s begins with %q, want %q", path, got, want)
		}
	}
	page := owner.get("/roofs")
	if got := page.text(".opening"); !strings.Contains(got, "41 roofs that we laid are standing") || !strings.Contains(got, "One will likelier than not be worn out") {
		t.Errorf("the list opens with %s", got)
	}
	if to, _ := page.page().Find(".opening a").Last().Attr("href"); to != "/roofs?past=soon" {
		t.Errorf("the number leads to %s", to)
	}
	if got := owner.get("/roofs?past=likely").text("#roofs"); !strings.Contains(got, "No roof is like that") {
		t.Errorf("roofs past their line: %s", got)
	}
	if got := owner.get("/roofs?from=08").text("#narrow-from-error"); !strings.Contains(got, "such as 2008") {
		t.Errorf("beside the year stands %q", got)
	}
}

func TestASearchThatFindsSeveral(t *testing.T) {
	s := newSite(t)
	page := s.as(models.Scheduler).get("/search?q=larch").want(http.StatusOK)
	if got := page.text("#found"); !strings.Contains(got, "12 Larch Street") || !strings.Contains(got, "14 Larch Street") || !strings.Contains(got, "Odile Marchetti") {
		t.Errorf("found is %s", got)
	}
	if got, _ := page.page().Find("#search").Attr("value"); got != "larch" {
		t.Errorf("the search box holds %q", got)
	}
	if got := s.as(models.Roofer).get("/search?q=larch").text("#found"); strings.Contains(got, "Marchetti") || strings.Contains(got, "555") {
		t.Errorf("the roofer reads who holds a house: %s", got)
	}
	for text, want := range map[string]string{"nowhere": "Nothing is found", "": "Type an address"} {
		if got := s.as(models.Owner).get("/search?q=" + text).want(http.StatusOK).text(".opening"); !strings.Contains(got, want) {
			t.Errorf("a search for %q opens with %s", text, got)
		}
	}
}

// A search that gives no more than some says so, and not that they are all.
func TestASearchThatFindsTooMany(t *testing.T) {
	s := newSite(t)
	var records []models.Record
	for i := range service.MostHits + 1 {
		records = append(records, &models.House{Ref: fmt.Sprintf("H-%d", 10+i), BranchID: 1},
			&models.Address{HouseID: int64(3 + i), Number: strconv.Itoa(100 + i), Street: "Mill Road", Town: "Tarn", Main: true})
	}
	s.write(records...)
	owner := s.as(models.Owner)
	for text, want := range map[string]string{"mill": fmt.Sprintf("The first %d houses", service.MostHits), "larch": "2 houses are found"} {
		if got := owner.get("/search?q=" + text).want(http.StatusOK).text(".opening"); !strings.Contains(got, want) {
			t.Errorf("a search for %q opens with %q, want %q", text, got, want)
		}
	}
}

// An estimate by which a covering is worn out already is told as one, and not as
// if nothing were known.
func TestAWornOutRoofIsNotUnknown(t *testing.T) {
	s := newSite(t)
	if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		return tx.Put(&models.Estimate{RoofID: 1, AsOf: units.NewDate(2026, time.June, 1), ModelVersion: "1", InputsHash: "x", AgeYears: 36,
			ChancePast: 0.99, ChanceIn1: 1, ChanceIn2: 1, ChanceIn5: 1, Result: "{}"})
	}); err != nil {
		t.Fatal(err)
	}
	row := s.as(models.Owner).get("/roofs?past=likely").want(http.StatusOK)
	if got := row.text("#roofs tbody tr"); !strings.Contains(got, "12 Larch Street") || !strings.Contains(got, "less than a year") {
		t.Errorf("the worn-out roof is listed as %q", got)
	}
	if row.page().Find("#roofs tbody .span.step-1").Length() != 1 {
		t.Error("its range is not drawn in the first colour of the key")
	}
}

// A change of a measure is told with its fractions, as the page writes them.
func TestAChangedPitchIsTold(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	for _, pitch := range []string{"6", "4"} {
		version, _ := owner.get("/roofs/1/edit").want(http.StatusOK).page().Find(`input[name="version"]`).Attr("value")
		owner.post("/roofs/1", url.Values{"version": {version}, "laid_on": {"2015-08-03"}, "ours": {"yes"}, "covering_id": {"1"}, "pitch": {pitch}}).leads("/roofs/1")
	}
	if text := owner.get("/roofs/1").want(http.StatusOK).text("main"); !strings.Contains(text, "from 6:12 to 4:12") {
		t.Errorf("the change reads %s", text)
	}
}
