package server

import (
	"fmt"
	"net/url"
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
