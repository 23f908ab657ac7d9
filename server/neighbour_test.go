package server

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"overhang/analytics/units"
	"overhang/models"
)

// neighbourSite adds, around house 1 whose old roof lasted nineteen years: house
// 3 next door by the same builder with the same covering from 1996, house 4 of
// another builder with a new roof, and house 5 that said to come back today.
func neighbourSite(t *testing.T) *site {
	s := newSite(t)
	builder := func(h *models.House, plan string) *models.House { h.Builder, h.Plan = "Larch Homes", plan; return h }
	at := func(lat, lon float64, ref string) *models.House {
		return &models.House{Ref: ref, BranchID: 1, Lat: ptr(44.001 + lat), Lon: ptr(-114.001 + lon), Neighbourhood: "Tarn Flats", BuildYear: ptr(1996), Storeys: ptr(1), Cladding: "stucco"}
	}
	roof := func(ref string, house int64, on string) *models.Roof {
		d, err := units.ParseDated(on)
		if err != nil {
			t.Fatal(err)
		}
		return &models.Roof{Ref: ref, HouseID: house, CoveringID: ptr[int64](1), Laid: d}
	}
	old := roof("R-0", 1, "1996")
	old.EndedOn, old.EndReason = units.NewDate(2015, 8, 1), "worn_out"
	s.add(builder(at(0.0001, 0, "H-3"), "A"), &models.Address{HouseID: 3, Number: "16", Street: "Larch Street", Town: "Tarn", Main: true}, roof("R-13", 3, "1996"),
		at(0, 0.0015, "H-4"), &models.Address{HouseID: 4, Number: "3", Street: "Birch Lane", Town: "Tarn", Main: true}, roof("R-14", 4, "2024"),
		builder(at(0, 0.001, "H-5"), "B"), &models.Address{HouseID: 5, Number: "18", Street: "Larch Street", Town: "Tarn", Main: true}, roof("R-15", 5, "1997"),
		&models.Prospect{HouseID: 5, State: "come_back", NextOn: units.NewDate(2026, 6, 10)},
		&models.Knock{HouseID: 5, At: time.Date(2026, 5, 2, 18, 0, 0, 0, time.UTC), Outcome: "come_back", Note: "Wants to see the colour"}, old)
	return s
}

// names lists the texts of what a selector finds.
func names(a answer, selector string) []string {
	return a.page().Find(selector).Map(func(_ int, n *goquery.Selection) string { return strings.Join(strings.Fields(n.Text()), " ") })
}

func TestNeighboursAreInOrder(t *testing.T) {
	s := neighbourSite(t)
	b := s.as(models.Seller)
	a := b.get("/neighbours").want(200)
	got := names(a, "#houses tbody th a")
	if len(got) != 4 || got[0] != "16 Larch Street, Tarn" && got[0] != "18 Larch Street, Tarn" || got[3] != "3 Birch Lane, Tarn" {
		t.Errorf("the order is %q: the new roof must come last", got)
	}
	if strings.Contains(a.text("#houses"), "12 Larch") == false {
		t.Error("no row names our roof beside it")
	}
	for _, want := range []string{"next door to our roof at 12 Larch Street", "built in 1996", "asked us to come back"} {
		if !strings.Contains(a.text("main"), want) {
			t.Errorf("the page does not say %q: %s", want, a.text("main"))
		}
	}
	if !strings.Contains(a.text(".note"), "not a finding about anybody's roof") {
		t.Error("the page does not say what a likelihood is not")
	}
	if strings.Contains(a.Body, "Odile") {
		t.Error("a seller reads a name")
	}
	// Every number of the opening is a link to as many rows.
	a.page().Find(".opening a").Each(func(_ int, link *goquery.Selection) {
		to, _ := link.Attr("href")
		if strings.HasPrefix(to, "/neighbours") {
			if rows := len(names(b.get(to).want(200), "#houses tbody tr")); rows == 0 {
				t.Errorf("%q leads to no row: %s", link.Text(), to)
			}
		}
	})
	if got := names(b.get("/neighbours?street=birch+lane").want(200), "#houses tbody th a"); len(got) != 1 {
		t.Errorf("one street shows %q", got)
	}
	if got := names(b.get("/neighbours?state=come_back").want(200), "#houses tbody th a"); len(got) != 1 || got[0] != "18 Larch Street, Tarn" {
		t.Errorf("those to come back to are %q", got)
	}
	if got := b.get("/neighbours?near=1").want(200).text(".opening"); !strings.Contains(got, "most like our roof at 12 Larch Street") {
		t.Errorf("near one roof the opening is %q", got)
	}
	b.get("/neighbours?neighbourhood=Nowhere&page=9").want(200)
}

func TestNeighbourMapIsData(t *testing.T) {
	s := neighbourSite(t)
	a := s.as(models.Seller).get("/neighbours").want(200)
	data := a.page().Find("#near-houses").Text()
	for _, want := range []string{`"square":true`, `"url":"/neighbours/3"`, `"said":"our roof"`} {
		if !strings.Contains(data, want) {
			t.Errorf("the map lacks %s: %s", want, data)
		}
	}
	if got := names(a, ".map .scale li"); len(got) != 6 || got[5] != "our roof" {
		t.Errorf("the marks are explained by %q", got)
	}
}

func TestWalk(t *testing.T) {
	s := neighbourSite(t)
	b := s.as(models.Seller)
	a := b.get("/neighbours/walk?count=10").want(200)
	if got := names(a, ".stops .name"); len(got) != 4 {
		t.Errorf("the walk is %q", got)
	}
	if got := a.text(".opening"); !strings.Contains(got, "Four houses") || !strings.Contains(got, "begins at our roof at 12 Larch Street") {
		t.Errorf("the opening is %q", got)
	}
	if a.page().Find(".stops .box").Length() != 4 || a.page().Find(".stops .write").Length() != 4 {
		t.Error("the paper has no box and line for each house")
	}
	if got := names(b.get("/neighbours/walk?count=1&street=Larch+Street").want(200), ".stops .name"); len(got) != 1 {
		t.Errorf("one house on Larch Street is %q", got)
	}
	if got := b.get("/neighbours/walk?street=Nowhere").want(200).text(".empty"); got == "" {
		t.Error("an empty walk says nothing")
	}
}

func TestKnock(t *testing.T) {
	s := neighbourSite(t)
	b := s.as(models.Seller)
	a := b.post("/neighbours/3/knocks", url.Values{"outcome": {"come_back"}, "next_on": {"2026-06-01"}, "note": {"Ask about the valley"}}).want(422)
	if got := a.text("#knock-next_on-error"); !strings.Contains(got, "must not be before today") {
		t.Errorf("beside the day stands %q", got)
	}
	if got := a.text("#knock-note"); got != "Ask about the valley" {
		t.Errorf("the note is now %q", got)
	}
	if a.page().Find(`#knock input[value="come_back"][checked]`).Length() != 1 {
		t.Error("what was chosen is lost")
	}
	a = b.post("/neighbours/3/knocks", url.Values{"note": {"x"}}).want(422)
	if got := a.text("#knock-outcome-error"); got == "" {
		t.Error("no rule stands beside the empty choice")
	}
	b.post("/neighbours/3/knocks", url.Values{"outcome": {"come_back"}, "next_on": {"2026-06-20"}, "note": {"Ask about the valley"}}).leads("/neighbours/3")
	a = b.get("/neighbours/3").want(200)
	if got := a.text(".history"); !strings.Contains(got, "asked us to come back") || !strings.Contains(got, "The seller") || !strings.Contains(got, "Ask about the valley") {
		t.Errorf("the history is %q", got)
	}
	if got := a.text(".opening"); !strings.Contains(got, "rests until June 20, 2026") {
		t.Errorf("the opening is %q", got)
	}
	if got := names(b.get("/neighbours"), "#houses tbody th a"); len(got) != 3 {
		t.Errorf("a house that rests is still listed: %q", got)
	}
	// The office sees the house and may not call on it.
	if s.as(models.Office).get("/neighbours/3").want(200).page().Find("#knock").Length() != 0 {
		t.Error("the office is offered the form")
	}
	b.get("/neighbours/999").want(404)
	b.post("/neighbours/999/knocks", url.Values{"outcome": {"spoke"}}).want(404)
}

func TestStopList(t *testing.T) {
	s := neighbourSite(t)
	b := s.as(models.Seller)
	to, _ := b.get("/neighbours/3").want(200).page().Find(`main a[href$="/stop"]`).Attr("href")
	if a := b.get(to).want(200); !strings.Contains(a.text("h1"), "16 Larch Street") || a.page().Find("#stop button").Length() != 1 {
		t.Errorf("the question is %q", a.text("main"))
	}
	if got := names(b.get("/neighbours"), "#houses tbody th a"); len(got) != 4 {
		t.Error("asking alone has put it on the list")
	}
	b.post(to, url.Values{"reason": {"A sign at the door"}}).leads("/neighbours/stop-list")
	if got := b.get("/neighbours/stop-list").want(200).text("#stopped tbody"); !strings.Contains(got, "16 Larch Street, Tarn") || !strings.Contains(got, "June 10") && !strings.Contains(got, "Jun 10") {
		t.Errorf("the list is %q", got)
	}
	if got := names(b.get("/neighbours"), "#houses tbody th a"); len(got) != 3 {
		t.Errorf("a stopped house is still listed: %q", got)
	}
	a := b.get("/neighbours/3").want(200)
	if a.page().Find("#knock").Length() != 0 || !strings.Contains(a.text(".opening"), "asked not to be called on") {
		t.Error("a stopped house is still offered")
	}
	b.post("/neighbours/3/knocks", url.Values{"outcome": {"spoke"}}).want(409)

	a = b.post("/neighbours/stop-list", url.Values{"address": {" "}, "reason": {"Rang the office"}}).want(422)
	if got, _ := a.page().Find("#add-reason").Attr("value"); got != "Rang the office" || a.text("#add-address-error") == "" {
		t.Errorf("refused, the reason is %q and the rule %q", got, a.text("#add-address-error"))
	}
	b.post("/neighbours/stop-list", url.Values{"address": {"3 Birch Lane"}}).leads("/neighbours/stop-list")
	if got := names(b.get("/neighbours"), "#houses tbody th a"); len(got) != 2 {
		t.Errorf("an address without its town stops nothing: %q", got)
	}
	for _, role := range []models.Role{models.Roofer, models.Scheduler, models.Bookkeeper} {
		for _, path := range []string{"/neighbours", "/neighbours/3", "/neighbours/walk", "/neighbours/stop-list"} {
			if got := s.as(role).get(path); got.Status != http.StatusForbidden {
				t.Errorf("%s sees %s: %d", role, path, got.Status)
			}
		}
	}
}
