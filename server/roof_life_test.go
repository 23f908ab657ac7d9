package server

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"

	"pgregory.net/rapid"
)

// lookedAt adds two earlier looks at roof 1, of which the second rates it badly,
// and estimates every roof.
func lookedAt(s *site) {
	s.t.Helper()
	for i, year := range []int{2020, 2024} {
		s.write(
			&models.Visit{Ref: fmt.Sprint("V-8", i), HouseID: 1, RoofID: ptr[int64](1), Purpose: "checkup", DoneOn: units.NewDate(year, time.May, 6), Method: "walked", ByName: "Ned"},
			&models.Finding{VisitID: int64(i) + 2, Defect: "granule_loss", Look: "seen", Severity: ptr(1 + i), Extent: ptr(0.3)},
			&models.Finding{VisitID: int64(i) + 2, Defect: "curling", Look: "none"},
		)
	}
	if _, err := s.service.RefreshEstimates(s.t.Context(), service.Program("a test"), units.NewDate(2026, time.June, 10), func(int, int) {}); err != nil {
		s.t.Fatal(err)
	}
}

var (
	saidLeft  = regexp.MustCompile(`\d+ to \d+ years, about \d+`)
	saidRated = regexp.MustCompile(`rated \d+ of 100|rates \d+ of 100`)
)

// Who is to look at a roof is told on no page they can open how long it may
// last, nor how earlier looks rated it, until what they saw is saved. Who books
// visits is not told at first when the look is theirs, and may ask.
func TestALookIsNotLedByTheEstimate(t *testing.T) {
	s := newSite(t)
	lookedAt(s)
	owner := s.as(models.Owner)
	left := saidLeft.FindString(owner.get("/roofs/1").want(http.StatusOK).text("main"))
	if left == "" || !strings.Contains(owner.get("/roofs").text("main"), left) {
		t.Fatalf("the owner is not told the years left (%q)", left)
	}
	walk := func() (told []string) {
		roofer := s.as(models.Roofer)
		paths := []string{"/roofs/1?estimate=show", "/roofs?sort=left", "/roofs?past=soon", "/search?q=larch", "/search?q=R-1", "/visits/day/2026-06-15", "/visits/2", "/visits/3", "/roofs/1/visits/new"}
		for _, route := range s.routes {
			if route.Method == "GET" && (route.Need == SignedIn || s.actor(models.Roofer).May(route.Need)) {
				paths = append(paths, route.example())
			}
		}
		for _, path := range paths {
			a := roofer.get(path)
			if a.Status != http.StatusOK {
				continue
			}
			if strings.Contains(a.Body, left) || saidRated.MatchString(a.Body) {
				told = append(told, path)
			}
		}
		return told
	}
	if told := walk(); len(told) != 0 {
		t.Errorf("who is to look is led by %v", told)
	}
	roofer := s.as(models.Roofer)
	text := roofer.get("/roofs/1").text("main")
	if !strings.Contains(text, "You are booked to look at this roof") || strings.Contains(text, "see it all the same") || strings.Contains(text, "Granules lost") {
		t.Errorf("the roofer reads %s", text)
	}
	if got := roofer.get("/roofs?past=soon").text("main"); strings.Contains(got, "Years left") || strings.Contains(got, "worn out") {
		t.Errorf("the list says %s", got)
	}
	if got := roofer.get("/today").text("main"); strings.Contains(got, "worn out") {
		t.Errorf("Today says %s", got)
	}
	// Nor is what an earlier look found, on its own page and that of its callback, until
	// their own look is saved; what they saw themselves in these days they may correct.
	for _, path := range []string{"/visits/2", "/visits/3"} {
		a := roofer.get(path).want(http.StatusOK)
		if text := a.text("main"); !strings.Contains(text, "You are booked to look at this roof") || strings.Contains(text, "Granules lost") || strings.Contains(text, "see it all the same") {
			t.Errorf("%s tells the roofer %s", path, text)
		}
		if got := roofer.post(path, url.Values{"done_on": {"2024-05-06"}, "look.moss": {"1"}}).want(http.StatusConflict).text("main"); !strings.Contains(got, "once your own look is saved") {
			t.Errorf("corrected unseen: %s", got)
		}
	}
	// What is booked for them is not theirs to lift.
	roofer.post("/roofs/1/look", url.Values{"looks": {"no"}}).leads("/roofs/1#years")
	if told := walk(); len(told) != 0 {
		t.Errorf("who is booked to look and says no is led by %v", told)
	}
	// With the look given to the owner, it is theirs to be unled, and the roofer, who
	// says that they are not going, may know.
	visit, err := s.service.Visit(t.Context(), s.actor(models.Owner), 1, service.AsUsual)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.service.MoveVisit(t.Context(), s.actor(models.Owner), 1, visit.Visit.Version, units.NewDate(2026, time.June, 15), "The owner"); err != nil {
		t.Fatal(err)
	}
	if told := walk(); !slices.Contains(told, "/roofs/1") || slices.Contains(told, "/roofs") {
		t.Errorf("another's look keeps the estimate from the roofer, or a list does not: told on %v", told)
	}
	text = owner.get("/roofs/1").text("main")
	if saidLeft.MatchString(text) || !strings.Contains(text, "see it all the same") {
		t.Errorf("the owner who is to look reads %s", text)
	}
	if text = owner.get("/visits/3").text("main"); strings.Contains(text, "Granules lost") || !strings.Contains(text, "see it all the same") {
		t.Errorf("the owner who is to look reads of an earlier look %s", text)
	}
	asked := owner.get("/visits/3?estimate=show")
	if text = asked.text("main"); !strings.Contains(text, "Granules lost") || !strings.Contains(text, "What it rates") {
		t.Errorf("the owner who asks reads of an earlier look %s", text)
	}
	if to, _ := asked.page().Find("#record").Attr("action"); to != "/visits/3?estimate=show" {
		t.Errorf("what the owner corrects goes to %q", to)
	}
	if text = owner.get("/roofs/1?estimate=show").text("main"); !strings.Contains(text, left) || !strings.Contains(text, "may lead your eyes") {
		t.Errorf("the owner who asks reads %s", text)
	}
	// Saved, it is told.
	if visit, err = s.service.Visit(t.Context(), s.actor(models.Owner), 1, service.AsUsual); err != nil {
		t.Fatal(err)
	}
	visit.Visit.DoneOn, visit.Visit.Method = units.NewDate(2026, time.June, 1), "walked"
	if err := s.service.RecordVisit(t.Context(), s.actor(models.Owner), &visit.Visit, []models.Finding{{Defect: "curling", Look: "none"}}); err != nil {
		t.Fatal(err)
	}
	if text = owner.get("/roofs/1").text("main"); !saidLeft.MatchString(text) {
		t.Errorf("after the look the owner reads %s", text)
	}
}

// What was found of a roof that somebody is to look at again is kept from them, but
// not what they saw themselves in these days, nor what they are to repair; and the
// sheet of their day tells of earlier looks for a repair alone.
func TestWhatIsKeptFromWhoLooks(t *testing.T) {
	for _, c := range []struct {
		name        string
		by          string
		done        units.Date
		purpose     string // of the booked look, for the callback
		page, sheet bool   // told on the visit's and the callback's page; on the sheet
	}{
		{"another's look", "Ned", units.NewDate(2026, time.May, 30), "callback_look", false, false},
		{"another's, to be repaired", "Ned", units.NewDate(2026, time.May, 30), "repair", true, true},
		{"their own of these days", "the roofer", units.NewDate(2026, time.June, 3), "callback_look", true, false},
		{"their own of long ago", "The roofer", units.NewDate(2026, time.June, 2), "callback_look", false, false},
	} {
		s := newSite(t)
		s.write(&models.Visit{Ref: "V-80", HouseID: 1, RoofID: ptr[int64](1), CallbackID: ptr[int64](1), Purpose: "callback_look", DoneOn: c.done, Method: "walked", ByName: c.by},
			&models.Finding{VisitID: 2, Defect: "granule_loss", Look: "seen", Severity: ptr(2), Extent: ptr(0.3)})
		visit, err := store.Get[models.Visit](s.service.Store.Query(t.Context()), 1)
		if err != nil {
			t.Fatal(err)
		}
		visit.Purpose, visit.CallbackID = c.purpose, ptr[int64](1)
		if err := s.service.Store.Write(t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error { return tx.Update(visit) }); err != nil {
			t.Fatal(err)
		}
		roofer := s.as(models.Roofer)
		for path, told := range map[string]bool{"/visits/2": c.page, "/callbacks/1": c.page, "/visits/day/2026-06-15": c.sheet} {
			if text := roofer.get(path).want(http.StatusOK).text("main"); strings.Contains(text, "Granules lost") != told {
				t.Errorf("%s: %s told: %v, says %s", c.name, path, !told, text)
			}
		}
	}
}

// What was found before a covering was laid, or on another roof of the house, is told
// as that.
func TestARoofsPageTellsWhatAVisitWasOf(t *testing.T) {
	s := newSite(t)
	lookedAt(s)
	s.write(&models.Roof{Ref: "R-90", HouseID: 1, Ours: true, Laid: units.Dated{On: units.NewDate(2023, time.May, 1), Precision: units.ToDay}},
		&models.Visit{Ref: "V-91", HouseID: 1, RoofID: ptr[int64](3), Purpose: "checkup", DoneOn: units.NewDate(2025, time.May, 7), Method: "ladder", ByName: "Ned"})
	owner := s.as(models.Owner)
	says := func(path string, want ...string) {
		t.Helper()
		text := owner.get(path).want(http.StatusOK).text("main")
		for _, w := range want {
			if !strings.Contains(text, w) {
				t.Errorf("%s lacks %q: %s", path, w, text)
			}
		}
	}
	says("/roofs/1", "walked on.", "from a ladder, of another roof of the house.")
	says("/roofs/3", "walked on, before this covering was laid.", "walked on, of another roof of the house.", "from a ladder.")
}

// The page tells every class of factors, a total that the reasons come to, the
// fan, the next look and what could be gained, and answers any number of years.
func TestARoofsPageTellsWhyAndWhatIf(t *testing.T) {
	s := newSite(t)
	lookedAt(s)
	b := s.as(models.Owner)
	text := b.get("/roofs/1?within=7").want(http.StatusOK).text("main")
	for _, want := range []string{"The rating against age", "Within 7 years it is worn out with a chance of", "The covering itself", "How the roof is made", "How it was laid", "Heat and damp from below",
		"Sun, frost and hail", "What it is used for", "How it is kept up", "Together: half of such coverings", "What the next look would be worth", "The gutters, looked at and cleaned every year",
		"Not known, which widens the range", "fall protection", "licensed"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	effect := regexp.MustCompile(`(?:age of ([\d.]+) years|([\d.]+) years (later|sooner))`)
	sum, total := 0.0, 0.0
	for _, m := range effect.FindAllStringSubmatch(b.get("/roofs/1").text(".reasons"), -1) {
		v := 0.0
		fmt.Sscan(m[1]+m[2], &v)
		if m[3] == "sooner" {
			v = -v
		}
		sum += v
	}
	together := regexp.MustCompile(`Together: half of such coverings with all this are worn out by the age of ([\d.]+)`).FindStringSubmatch(text)
	if together == nil {
		t.Fatal("no total")
	}
	fmt.Sscan(together[1], &total)
	if math.Abs(sum-total) > 1e-6 || total == 0 {
		t.Errorf("the reasons come to %.1f, the total is %.1f", sum, total)
	}
	for _, wrong := range []string{"0", "100", "2.5", "soon"} {
		if text := b.get("/roofs/1?within=" + wrong).want(http.StatusOK).text("main"); !strings.Contains(text, "write whole years from 1 to 99") {
			t.Errorf("%q years were taken", wrong)
		}
	}
}

// Of a roof of which a look told two slopes apart the reasons say so, each slope has
// years left of its own, and the reasons still come to their total. One that was
// looked at as a whole names none.
func TestAPageTellsItsSlopesApart(t *testing.T) {
	s := newSite(t)
	lookedAt(s)
	owner := s.as(models.Owner)
	if text := owner.get("/roofs/1").want(http.StatusOK).text("main"); strings.Contains(text, "slope by slope") {
		t.Error("slopes are told apart that nobody told apart")
	}
	s.add(&models.Slope{StructureID: 1, Name: "Street side"}, &models.Slope{StructureID: 1, Name: "Yard side"})
	s.write(
		&models.Visit{Ref: "V-90", HouseID: 1, RoofID: ptr[int64](1), Purpose: "checkup", DoneOn: units.NewDate(2025, time.May, 6), Method: "ladder", ByName: "Ned"},
		&models.Finding{VisitID: 4, SlopeID: ptr[int64](1), Defect: "granule_loss", Look: "seen", Severity: ptr(3), Extent: ptr(0.5)},
		&models.Finding{VisitID: 4, SlopeID: ptr[int64](2), Defect: "granule_loss", Look: "seen", Severity: ptr(1), Extent: ptr(0.05)},
		&models.Finding{VisitID: 4, Defect: "curling", Look: "none"},
	)
	page := owner.get("/roofs/1").want(http.StatusOK)
	if text := page.text(".reasons"); !strings.Contains(text, "from a ladder, slope by slope: Street side, Yard side") || !strings.Contains(text, "2 looks together") {
		t.Errorf("the reasons do not tell of the slopes: %s", text)
	}
	// The numbers of the fan and its tooltips name the slopes that its dots are of.
	options := page.page().Find("#fan-figures").Text()
	for from, text := range map[string]string{"the numbers": page.text("#fan-numbers"), "the chart": options} {
		for _, want := range []string{"Street side looked at: rated ", "Yard side looked at: rated ", "Looked at: rated "} {
			if !strings.Contains(text, want) {
				t.Errorf("%s of the fan lack %q: %s", from, want, text)
			}
		}
	}
	if text := page.text("#life-slopes"); !regexp.MustCompile(`Street side\s+\d+ to \d+ years, about \d\d[5-9]\d%`).MatchString(text) || !strings.Contains(text, "Yard side") {
		t.Errorf("years left slope by slope: %s", text)
	}
}

// Rounded parts come to the rounded sum, each within a tenth of itself.
func TestTenthsComeToTheirSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOfN(rapid.Float64Range(-50, 50), 1, 12).Draw(t, "parts")
		tenths, total := inTenths(parts)
		sum, exact := 0, 0.0
		for i, v := range tenths {
			sum += v
			exact += parts[i]
			if math.Abs(float64(v)-10*parts[i]) > 1+1e-9 {
				t.Errorf("%v is rounded to %d tenths", parts[i], v)
			}
		}
		if sum != total || math.Abs(float64(total)-10*exact) > 0.5+1e-9 {
			t.Errorf("%v come to %d tenths of %d", parts, sum, total)
		}
	})
}

// actor is the role's person, as the service knows them.
func (s *site) actor(role models.Role) service.Actor {
	p := s.people[role]
	return service.Actor{PersonID: p.ID, Name: p.Name, Roles: p.Roles}
}
