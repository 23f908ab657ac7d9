package server

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	screens "overhang/views/browser"
)

// crewSite gives two crews twenty roofs each, all laid on one day; the roofs of
// the second leak at a lap.
func crewSite(t *testing.T, leaks int) *site {
	s := newSite(t)
	laid := units.NewDate(2020, 6, 1)
	s.add(&models.Crew{Name: "South crew"})
	for i := range 40 {
		crew := int64(i%2 + 1)
		s.add(&models.House{Ref: fmt.Sprintf("H-%d", i+10), BranchID: 1},
			&models.Address{HouseID: int64(i + 3), Number: fmt.Sprint(i + 1), Street: "Alder Lane", Town: "Tarn", Main: true},
			&models.Roof{Ref: fmt.Sprintf("R-%d", i+10), HouseID: int64(i + 3), Ours: true, Laid: units.Dated{On: laid, Precision: units.ToDay}, Area: ptr(20 * units.Square)},
			&models.Job{Ref: fmt.Sprintf("J-%d", i+10), HouseID: int64(i + 3), CrewID: &crew, ClosedOn: laid})
		err := s.service.Store.Write(t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error {
			return store.PutAll(tx, []models.JobRoof{{JobID: int64(i + 2), RoofID: int64(i + 3)}})
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for i := range leaks {
		s.add(&models.Callback{Ref: fmt.Sprintf("K-%d", i+10), HouseID: ptr(int64(4 + 2*i)), RoofID: ptr(int64(4 + 2*i)), LearnedOn: laid.AddDays(100 + i),
			State: "accepted", CauseFound: "lap", Place: "penetration"})
	}
	s.add(&models.Callback{Ref: "K-90", HouseID: ptr[int64](3), RoofID: ptr[int64](3), LearnedOn: laid.AddDays(50), State: "accepted", CauseFound: "ice", Place: "eave"},
		&models.Callback{Ref: "K-91", HouseID: ptr[int64](3), RoofID: ptr[int64](3), LearnedOn: laid.AddDays(60), State: "refused", RefusedBecause: "a storm", CauseFound: "lap"})
	return s
}

// The page compares crews with chance and not with each other, and what lies
// outside the laying is left out and said.
func TestTheCrewsPage(t *testing.T) {
	s := crewSite(t, 14)
	b := s.as(models.Owner)
	page := b.get("/crews").want(200)
	opening := page.text(".opening")
	for _, want := range []string{"15 callbacks have come for how a roof was laid", "41 roofs", "had more or fewer than chance alone would give"} {
		if !strings.Contains(opening, want) {
			t.Errorf("the opening lacks %q: %q", want, opening)
		}
	}
	rows := page.page().Find("#crews tbody tr")
	if rows.Length() != 3 {
		t.Fatalf("%d crews: %s", rows.Length(), rows.Text())
	}
	north, south := strings.Index(rows.Text(), "North crew"), strings.Index(rows.Text(), "South crew")
	if north < 0 || south < north {
		t.Errorf("the crews are not in the order of their names: %s", rows.Text())
	}
	if got := page.text("#crews"); !strings.Contains(got, "more than chance alone would give") {
		t.Errorf("the second crew is not called out: %s", got)
	}
	if got := page.text("main"); !strings.Contains(got, "ice at the eave once") {
		t.Errorf("what was left out is not said: %s", got)
	}
	one := b.get("/crews/2").want(200)
	if got := one.page().Find("#calls tbody tr").Length(); got != 14 {
		t.Errorf("its own page has %d callbacks, want 14", got)
	}
	// Two of twenty each are no reason to call anybody out.
	if got := crewSite(t, 2).as(models.Owner).get("/crews").want(200).text(".opening"); !strings.Contains(got, "No crew has had more or fewer") {
		t.Errorf("two callbacks: %q", got)
	}
	for _, role := range models.AllRoles {
		if role != models.Owner {
			s.as(role).get("/crews").want(403)
			if links := s.as(role).get("/callbacks"); links.Status == 200 && links.page().Find(`a[href="/crews"]`).Length() != 0 {
				t.Errorf("%s is led to the crews", role)
			}
		}
	}
}

func TestAChangeOfPractice(t *testing.T) {
	s := crewSite(t, 3)
	b := s.as(models.Owner)
	b.post("/crews/practices", url.Values{"what": {""}, "from_on": {"2022-13-01"}}).want(422)
	if n, err := store.Count[models.Practice](s.service.Store.Query(t.Context()), ""); n != 0 || err != nil {
		t.Fatalf("%d were kept, %v", n, err)
	}
	b.post("/crews/practices", url.Values{"what": {"Laps looked at"}, "from_on": {"2022-05-01"}, "crew_id": {"2"}, "causes": {"lap", "nail"}}).want(303)
	b.post("/crews/practices", url.Values{"what": {"x"}, "from_on": {"2022-05-01"}, "causes": {"storm"}}).want(422)
	row := b.get("/crews").want(200).text("#practices tbody")
	for _, want := range []string{"Laps looked at", "South crew", "nothing to compare yet", "3 from 20 roofs"} {
		if !strings.Contains(row, want) {
			t.Errorf("the change lacks %q: %s", want, row)
		}
	}
}

// The owner reads how the crews' roofs hold, at a desk and on a phone, opens one
// crew, and writes a change of practice down.
func TestCrewsInABrowser(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := crewSite(t, 14)
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		enter(t, tab, models.Owner)
		tab.Go(t, home+"/crews")
		looksRight(t, tab, "crews")
		press(t, tab, "#crews a[href='/crews/2']", "#calls")
		looksRight(t, tab, "crew")
		tab.Go(t, home+"/crews")
		press(t, tab, "details.fold summary", "details.fold[open]")
		if err := chromedp.Do(tab.Context, chromedp.SetValue("#practice-what", "Laps looked at"), chromedp.SetValue("#practice-from_on", "2022-05-01")); err != nil {
			t.Fatal(err)
		}
		press(t, tab, "#practice button", ".flash")
		if got := screens.Eval[string](t, tab, `document.querySelector("#practices tbody").textContent`); !strings.Contains(got, "Laps looked at") {
			t.Errorf("%s: the change is not in the list: %s", screen.Name, got)
		}
	}
}
