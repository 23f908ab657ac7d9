package server

import (
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/chromedp/chromedp"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	screens "overhang/views/browser"
)

// owedSite gives the roofs of two crews promises of our own and ten callbacks
// that cost 400 each.
func owedSite(t *testing.T) *site {
	s := crewSite(t, 10)
	laid := units.NewDate(2020, 6, 1)
	s.add(&models.Terms{Key: "work-15", Name: "Fifteen years on our work", Kind: "workmanship", TermMonths: 180, FullMonths: 180, ShareMethod: "none", Labour: true, Transfer: "always"})
	for i := range 40 {
		s.add(&models.Warranty{Ref: fmt.Sprintf("W-%d", i+10), RoofID: int64(i + 3), TermsID: 2, OwedBy: "us", StartOn: laid})
	}
	for i := range 10 {
		call := s.callback(int64(i + 2))
		call.State, call.LookedOn, call.DecidedOn, call.RepairedOn, call.ClosedOn = "closed", call.LearnedOn+1, call.LearnedOn+1, call.LearnedOn+2, call.LearnedOn+3
		if err := s.service.Store.Write(t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error { return tx.Update(call) }); err != nil {
			t.Fatal(err)
		}
		s.add(&models.CostLine{CallbackID: call.ID, On: call.LearnedOn, LearnedOn: call.LearnedOn, Kind: "labour", Amount: 400 * units.Dollar})
	}
	return s
}

// What is ahead is told by year and by what it comes from; a scenario is built,
// kept and set beside it; and a crew is for the owner alone.
func TestWhatIsAhead(t *testing.T) {
	s := owedSite(t)
	b := s.as(models.Owner)
	page := b.get("/owed").want(200)
	if got := page.text(".opening"); !strings.Contains(got, "41 promises") || !strings.Contains(got, "callbacks are still to be expected, at about $") {
		t.Errorf("the opening is %q", got)
	}
	for _, part := range []string{"by-terms", "by-crew", "by-covering", "by-neighbourhood"} {
		rows := page.page().Find("#" + part + " tbody tr")
		if rows.Length() == 0 {
			t.Errorf("%s has no rows", part)
		}
		rows.Find("a").Each(func(_ int, a *goquery.Selection) { b.get(a.AttrOr("href", "")).want(200) })
	}
	if got := page.text("#by-terms"); !strings.Contains(got, "Fifteen years on our work") {
		t.Errorf("the terms are not named: %s", got)
	}
	if n := s.as(models.Bookkeeper).get("/owed").want(200).page().Find("#by-crew").Length(); n != 0 {
		t.Error("a bookkeeper sees the crews")
	}
	s.as(models.Seller).get("/owed").want(403)

	b.post("/owed/scenarios", url.Values{"kind": {"ice_winter"}, "name": {""}, "rate_times": {"-3"}}).want(422)
	b.post("/owed/scenarios", url.Values{"kind": {"ice_winter"}, "name": {"A winter of ice"}, "year": {"2027"}, "rate_times": {"3"}, "added": {"0"}, "cost_times": {"1"}}).want(303)
	row := b.get("/owed").want(200).text("#what-if tbody")
	if !strings.Contains(row, "A winter of ice") || !strings.Contains(row, "$") {
		t.Errorf("the scenario is not beside what is ahead: %s", row)
	}
	b.get("/owed/scenarios/1").want(200)
}

// What is ahead leads to the callbacks that it rests on: each cause to those in
// which it was found, and each crew, covering, lot and neighbourhood to its own.
func TestWhatIsAheadLeadsToItsCallbacks(t *testing.T) {
	s := owedSite(t)
	change := func(do func(tx *store.Tx) error) {
		if err := s.service.Store.Write(t.Context(), store.By{Name: "a test"}, do); err != nil {
			t.Fatal(err)
		}
	}
	// Six more of one cause on roofs of the first crew, all on one street, of one
	// covering and lot.
	for i := range 6 {
		roof := int64(3 + 2*i)
		s.add(&models.Callback{Ref: fmt.Sprintf("K-%d", i+200), HouseID: &roof, RoofID: &roof, LearnedOn: units.NewDate(2021, 1, 10+i), State: "closed",
			ClosedOn: units.NewDate(2021, 3, 1), CauseFound: []string{"flashing", "valley"}[i%2]}, &models.Lot{JobID: roof - 1, Number: "L 7/7"})
		change(func(tx *store.Tx) error {
			house, err := store.Get[models.House](tx.Query, roof)
			if err != nil {
				return err
			}
			house.Neighbourhood = "Alder Flats & Mill"
			if err := tx.Update(house); err != nil {
				return err
			}
			r, err := store.Get[models.Roof](tx.Query, roof)
			if err != nil {
				return err
			}
			r.CoveringID = ptr[int64](1)
			return tx.Update(r)
		})
	}
	b := s.as(models.Owner)
	page := b.get("/owed").want(200)
	refs := func(href string) []string {
		var out []string
		b.get(href).want(200).page().Find("#callbacks tbody tr th .note").Each(func(_ int, note *goquery.Selection) { out = append(out, strings.TrimSpace(note.Text())) })
		slices.Sort(out)
		return out
	}
	own := []string{"K-200", "K-201", "K-202", "K-203", "K-204", "K-205"}
	var laps []string
	for i := range 10 {
		laps = append(laps, fmt.Sprintf("K-%d", i+10))
	}
	laps = append(laps, "K-91") // refused, and found to be a lap
	leads := func(table, row, cell string) string {
		href := ""
		page.page().Find("#" + table + " tbody tr").Each(func(_ int, tr *goquery.Selection) {
			if strings.Contains(tr.Find("th").Text(), row) {
				href = tr.Find(cell).AttrOr("href", "")
			}
		})
		if href == "" {
			t.Errorf("%s: %s leads nowhere: %s", table, row, page.text("#"+table))
			return "/callbacks?q=none"
		}
		return href
	}
	for _, c := range []struct {
		table, row, cell string
		says             string
		want             []string
	}{
		{"by-cause", "flashings and valleys", "th a", "flashing or a valley", own},
		{"rates", "flashings and valleys", "th a", "flashing or a valley", own},
		{"costs", "laps", "th a", "a lap that is too short", laps},
		{"by-cause", "laps", "th a", "a lap that is too short", laps},
		{"by-crew", "North crew", "td a", "on work of North crew", append([]string{"K-90", "K-91"}, own...)},
		{"by-covering", "Laminated shingle", "td a", "on roofs of Laminated shingle", append([]string{"K-1", "K-90", "K-91"}, own...)},
		{"by-lot", "L 7/7", "td a", "of lot L 7/7", append([]string{"K-90", "K-91"}, own...)},
		{"by-neighbourhood", "Alder Flats & Mill", "td a", "in Alder Flats & Mill", append([]string{"K-90", "K-91"}, own...)},
	} {
		href := leads(c.table, c.row, c.cell)
		slices.Sort(c.want)
		if got := refs(href); !slices.Equal(got, c.want) {
			t.Errorf("%s: %s leads by %s to %v, want %v", c.table, c.row, href, got, c.want)
		}
		list := b.get(href)
		if got := list.text(".opening"); !strings.Contains(got, c.says) {
			t.Errorf("%s: the list of %s opens with %q, want %q", c.table, c.row, got, c.says)
		}
		// Another part of the list, and a search, stay within the group.
		open := list.page().Find(`nav a[href*="state=closed"]`).AttrOr("href", "")
		for _, ref := range refs(open) {
			if !slices.Contains(c.want, ref) {
				t.Errorf("%s: the closed ones of %s list %s", c.table, c.row, ref)
			}
		}
		if n := list.page().Find(`#narrow input[type=hidden]`).Length(); n != 2 {
			t.Errorf("%s: a search within %s keeps %d of its part and group", c.table, c.row, n)
		}
	}
	// Who may not see crews does not list by one.
	s.as(models.Bookkeeper).get("/callbacks?state=all&crew=1").want(403)
	s.as(models.Bookkeeper).get(leads("by-cause", "laps", "th a")).want(200)
	b.get("/callbacks?state=all&crew=99").want(404)
	b.get("/callbacks?state=all&cause=gremlins&crew=x&covering=-1").want(200)
}

// The owner reads what is ahead at a desk and on a phone, and opens the form of
// a scenario.
func TestWhatIsAheadInABrowser(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := owedSite(t)
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		enter(t, tab, models.Owner)
		tab.Go(t, home+"/owed")
		looksRight(t, tab, "owed")
		press(t, tab, `#by-terms a`, "#behind")
		looksRight(t, tab, "owed-promises")
		tab.Go(t, home+"/owed/scenarios/new?kind=ice_winter")
		looksRight(t, tab, "owed-scenario")
		if err := chromedp.Do(tab.Context, chromedp.SetValue(`input[name="name"]`, "A winter of ice"), chromedp.SetValue(`input[name="rate_times"]`, "3")); err != nil {
			t.Fatal(err)
		}
		press(t, tab, `form[action="/owed/scenarios"] button`, ".flash")
		looksRight(t, tab, "owed-scenario-kept")
	}
}

// How right the estimates have been is read at a desk and on a phone, also where
// nothing is old enough to be judged.
func TestHindsightInABrowser(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := crewSite(t, 2)
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		enter(t, tab, models.Owner)
		tab.Go(t, home+"/estimates/check")
		looksRight(t, tab, "hindsight")
		tab.Go(t, home+"/lives")
		looksRight(t, tab, "lives")
	}
}

func TestRoundStep(t *testing.T) {
	for x, want := range map[float64]float64{0: 100, 100: 100, 101: 200, 201: 500, 600: 1000, 67_467: 100_000, 100_001: 200_000, 1e9: 1e9} {
		if got := roundStep(x); got != want {
			t.Errorf("the step from %v on is %v, want %v", x, got, want)
		}
	}
}

// The reach of hail is typed in the company's units, and stays to the millimetre
// while it is not typed anew.
func TestTheReachOfHailIsTypedInOurUnits(t *testing.T) {
	s := owedSite(t)
	b := s.as(models.Owner)
	form := url.Values{"kind": {"hail_line"}, "name": {"Along the creek"}, "shape": {"44.0, -114.01\n44.01, -113.99"}, "half_width": {"1000"}, "year": {"2027"}, "cause": {"storm"}, "added": {"30"}}
	b.post("/owed/scenarios", form).leads("/owed/scenarios/2")
	reach := func() units.Length {
		t.Helper()
		sc, err := store.Get[models.Scenario](s.service.Store.Query(t.Context()), 2)
		if err != nil {
			t.Fatal(err)
		}
		return sc.HalfWidth
	}
	if got := reach(); math.Abs(got.In(units.Metre)-304.8) > 1e-9 {
		t.Errorf("1000 ft are kept as %v m", got.In(units.Metre))
	}
	err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		sc, err := store.Get[models.Scenario](tx.Query, 2)
		if err != nil {
			return err
		}
		sc.HalfWidth = 330 * units.Metre
		return tx.Update(sc)
	})
	if err != nil {
		t.Fatal(err)
	}
	page := b.get("/owed/scenarios/2").want(200)
	if got := page.page().Find("#scenario-half_width").AttrOr("value", ""); got != "1083" { // 330 / 0.3048 = 1082.7
		t.Errorf("330 m are shown as %s ft", got)
	}
	b.post("/owed/scenarios/2", page.fields("#scenario")).leads("/owed/scenarios/2")
	if got := reach(); got != 330*units.Metre {
		t.Errorf("saved as it stood it is %v m", got.In(units.Metre))
	}
}
