package server

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"

	"github.com/PuerkitoBio/goquery"
)

// newestVisit is the visit that was written down last.
func (s *site) newestVisit() *models.Visit {
	s.t.Helper()
	q := s.service.Store.Query(s.t.Context())
	id, err := store.Highest[models.Visit](q)
	if err != nil {
		s.t.Fatal(err)
	}
	v, err := store.Get[models.Visit](q, id)
	if err != nil {
		s.t.Fatal(err)
	}
	return v
}

// A look says whether whoever made it had been shown the estimate in the days before
// it, or after it and before it was written down; where that cannot be known it says
// nothing.
func TestALookSaysWhetherTheEstimateWasSeen(t *testing.T) {
	today := units.NewDate(2026, time.June, 10)
	for _, c := range []struct {
		name  string
		paths []string // that the looker opens
		days  int      // between that and the saving
		back  int      // days that the look lies back from the saving
		by    models.Role
		want  *bool
	}{
		{"nothing opened", nil, 0, 0, models.Owner, ptr(false)},
		{"the form alone", []string{"/roofs/1/visits/new", "/roofs/1/edit", "/visits/1"}, 0, 0, models.Owner, ptr(false)},
		{"the roof's page of the same day", []string{"/roofs/1"}, 0, 0, models.Owner, ptr(true)},
		{"the list", []string{"/roofs"}, 0, 0, models.Owner, ptr(true)},
		{"another roof's page", []string{"/roofs/2"}, 0, 0, models.Owner, ptr(false)},
		{"an earlier look's page", []string{"/visits/3"}, 0, 0, models.Owner, ptr(true)},
		{"on the last of the days", []string{"/roofs/1"}, service.SeenDays, 0, models.Owner, ptr(true)},
		{"a day before them", []string{"/roofs/1"}, service.SeenDays + 1, 0, models.Owner, ptr(false)},
		{"after the look, before it is written down", []string{"/roofs/1"}, 0, 4, models.Owner, ptr(true)},
		{"written down late", nil, 0, service.SeenDays, models.Owner, ptr(false)},
		{"written down too late", nil, 0, service.SeenDays + 1, models.Owner, nil},
		{"written down too late, and seen", []string{"/roofs/1"}, 0, service.SeenDays + 1, models.Owner, ptr(true)},
		{"by another", []string{"/roofs/1"}, 0, 0, models.Office, ptr(false)},
	} {
		s := newSite(t)
		lookedAt(s)
		s.clock.now = time.Date(2026, time.June, 10, 17, 0, 0, 0, time.UTC)
		owner := s.as(models.Owner)
		for _, path := range c.paths {
			owner.get(path).want(http.StatusOK)
		}
		s.clock.now = s.clock.now.AddDate(0, 0, c.days)
		done := today.AddDays(c.days - c.back)
		s.as(c.by).post("/roofs/1/visits", url.Values{"purpose": {"checkup"}, "done_on": {done.String()}, "method": {"walked"}, "look.curling": {"none"}}).leads("/visits/4")
		v := s.newestVisit()
		if (v.SeenBefore == nil) != (c.want == nil) || (c.want != nil && *v.SeenBefore != *c.want) {
			t.Errorf("%s: kept is %v, want %v", c.name, v.SeenBefore, c.want)
			continue
		}
		page, roof := owner.get("/visits/4").text("main"), owner.get("/roofs/1").text("#visits + ol")
		if strings.Contains(page, "Was the estimate seen before the look?") != (c.want != nil) || strings.Contains(page, "It may have led the eyes") != (c.want != nil && *c.want) {
			t.Errorf("%s: the visit says %s", c.name, page)
		}
		if strings.Contains(roof, "The estimate was seen before the look.") != (c.want != nil && *c.want) {
			t.Errorf("%s: the roof's page says %s", c.name, roof)
		}
		// What is corrected later, with the estimate in sight, is history.
		s.as(c.by).post("/visits/4", url.Values{"version": {"1"}, "done_on": {done.String()}, "method": {"ladder"}}).leads("/visits/4")
		if again := s.newestVisit(); again.Method != "ladder" || (again.SeenBefore == nil) != (c.want == nil) || (c.want != nil && *again.SeenBefore != *c.want) {
			t.Errorf("%s: corrected, kept is %+v", c.name, again)
		}
	}
}

// Of a file that is older than what is kept of showings, "not seen" is said only of
// looks with all their days after that.
func TestAnOlderFileDoesNotKnowWhatWasSeen(t *testing.T) {
	today := units.NewDate(2026, time.June, 10)
	for _, c := range []struct {
		since units.Date
		opens bool
		want  *bool
	}{{0, false, ptr(false)}, {today.AddDays(-service.SeenDays), false, ptr(false)}, {today.AddDays(1 - service.SeenDays), false, nil}, {today, true, ptr(true)}} {
		s := newSite(t)
		lookedAt(s)
		set, err := s.service.Settings(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		set.Company.ShownSince = c.since
		if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Update(&set.Company) }); err != nil {
			t.Fatal(err)
		}
		owner := s.as(models.Owner)
		if c.opens {
			owner.get("/roofs/1").want(http.StatusOK)
		}
		owner.post("/roofs/1/visits", url.Values{"purpose": {"checkup"}, "done_on": {today.String()}, "method": {"walked"}, "look.curling": {"none"}}).leads("/visits/4")
		if got := s.newestVisit().SeenBefore; (got == nil) != (c.want == nil) || (got != nil && *got != *c.want) {
			t.Errorf("written down since %s, opened %v: kept is %v", c.since, c.opens, got)
		}
	}
}

// What was shown while something long held the one writer is written down with what
// follows, and a page that was opened fills no trail.
func TestAnEstimateThatWasShownWaitsForTheWriter(t *testing.T) {
	s := newSite(t)
	lookedAt(s)
	owner, ctx := s.as(models.Owner), t.Context()
	trail := s.changes()
	held, let, done := make(chan bool), make(chan bool), make(chan error)
	go func() {
		done <- s.service.Store.Write(ctx, store.By{}, func(*store.Tx) error {
			close(held)
			<-let
			return nil
		})
	}()
	<-held
	owner.get("/roofs/1").want(http.StatusOK)
	seen := func(role models.Role) bool {
		got, err := store.ShownSince(s.service.Store.Query(ctx), s.people[role].ID, []int64{1}, 1)
		if err != nil {
			t.Fatal(err)
		}
		return got[1]
	}
	if seen(models.Owner) {
		t.Fatal("it is written though the writer is held")
	}
	close(let)
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	s.as(models.Office).get("/roofs/1").want(http.StatusOK)
	if !seen(models.Owner) || !seen(models.Office) {
		t.Error("what was shown is not written down")
	}
	if got := s.changes(); got != trail {
		t.Errorf("pages that were opened left %d entries in the trail", got-trail)
	}
}

// From whom the estimate of a roof is kept, and until when, by role and by what they
// said or did. The numbers must stand nowhere in the page, not in its charts either.
func TestFromWhomAnEstimateIsKept(t *testing.T) {
	type step struct {
		days  int    // that pass before it
		press string // yes or no
		look  bool   // a look of theirs is saved
		shown bool   // after it
	}
	see, kept := true, false
	for _, c := range []struct {
		name  string
		role  models.Role
		more  []models.Role
		first bool // shown on first opening
		steps []step
	}{
		{"owner", models.Owner, nil, see, []step{{press: "yes", shown: kept}, {days: 40, shown: kept}, {look: true, shown: see}, {days: 40, shown: see}}},
		{"owner who takes it back", models.Owner, nil, see, []step{{press: "yes", shown: kept}, {press: "no", shown: see}, {days: 40, shown: see}}},
		{"office", models.Office, nil, see, []step{{press: "yes", shown: kept}, {look: true, shown: see}}},
		{"scheduler", models.Scheduler, nil, see, []step{{press: "yes", shown: kept}, {look: true, shown: see}}},
		{"roofer who looks", models.Roofer, nil, kept, []step{{look: true, shown: see}, {days: 7, shown: see}, {days: 1, shown: kept}}},
		{"roofer who says so and looks", models.Roofer, nil, kept, []step{{press: "yes", shown: kept}, {days: 40, shown: kept}, {look: true, shown: see}, {days: 8, shown: kept}}},
		{"roofer who does not look", models.Roofer, nil, kept, []step{{press: "no", shown: see}, {days: 7, shown: see}, {days: 1, shown: kept}}},
		{"roofer who looks after all", models.Roofer, nil, kept, []step{{press: "no", shown: see}, {press: "yes", shown: kept}, {look: true, shown: see}}},
		{"roofer who sells as well", models.Roofer, []models.Role{models.Seller}, kept, nil},
		{"roofer who owns as well", models.Roofer, []models.Role{models.Owner}, see, []step{{press: "yes", shown: kept}}},
		{"seller", models.Seller, nil, see, nil},
		{"bookkeeper", models.Bookkeeper, nil, see, nil},
	} {
		s := newSite(t)
		lookedAt(s)
		if err := s.service.EndVisit(t.Context(), s.actor(models.Owner), 1, 1, true); err != nil {
			t.Fatal(err)
		}
		if c.more != nil {
			p := s.people[c.role]
			p.Roles = append(p.Roles, c.more...)
			if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Update(p) }); err != nil {
				t.Fatal(err)
			}
		}
		b := s.as(c.role)
		looksAt := s.actor(c.role).May(service.AddFindings)
		check := func(when string, shown bool) {
			t.Helper()
			a := b.get("/roofs/1").want(http.StatusOK)
			told := saidLeft.MatchString(a.Body) || saidRated.MatchString(a.Body) || strings.Contains(a.Body, "Granules lost") || a.page().Find("#fan, #serves, svg.range").Length() > 0
			if told != shown {
				t.Errorf("%s, %s: shown %v, want %v", c.name, when, told, shown)
			}
			forms := []int{a.page().Find("#looks").Length(), a.page().Find("#looks-not").Length()}
			switch {
			case !looksAt && forms[0]+forms[1] > 0, looksAt && forms[0]+forms[1] == 0, shown && forms[1] > 0:
				t.Errorf("%s, %s: asked are %v", c.name, when, forms)
			}
			for _, path := range []string{"/visits/3", "/roofs/1/visits/new"} {
				if a := b.get(path); a.Status == http.StatusOK && strings.Contains(a.Body, "What it rates") && !shown {
					t.Errorf("%s, %s: %s tells", c.name, when, path)
				}
			}
		}
		check("at first", c.first)
		for i, step := range c.steps {
			s.clock.now = s.clock.now.AddDate(0, 0, step.days)
			b = s.as(c.role) // the session would have run out
			if step.press != "" {
				b.post("/roofs/1/look", url.Values{"looks": {step.press}}).leads("/roofs/1#years")
			}
			if step.look {
				today := units.DateOf(s.clock.now.In(time.UTC))
				b.post("/roofs/1/visits", url.Values{"purpose": {"checkup"}, "done_on": {today.String()}, "method": {"walked"}, "look.curling": {"1"}}).leads("/visits/4")
			}
			check(strings.Repeat("then ", i+1), step.shown)
		}
		if a := b.get("/roofs/1?estimate=keep").want(http.StatusOK); looksAt && (saidLeft.MatchString(a.Body) || saidRated.MatchString(a.Body)) {
			t.Errorf("%s: before a look it is told: %s", c.name, a.text("main"))
		}
		if a := b.get("/roofs/1?estimate=show").want(http.StatusOK); c.role == models.Roofer && c.more == nil && len(c.steps) == 0 && saidLeft.MatchString(a.Body) {
			t.Errorf("%s lifts it by the address", c.name)
		}
	}
}

// What is asked is a yes or a no of a roof that lies there, of who writes looks down.
func TestWhatCanBeSaidBeforeALook(t *testing.T) {
	s := newSite(t)
	s.write(&models.Roof{Ref: "R-3", HouseID: 1, Laid: units.Dated{On: units.NewDate(1994, time.July, 1), Precision: units.ToYear},
		EndedOn: units.NewDate(2015, time.August, 3), EndReason: "worn_out"})
	roofer := s.as(models.Roofer)
	roofer.post("/roofs/1/look", url.Values{"looks": {"perhaps"}}).want(http.StatusUnprocessableEntity)
	roofer.post("/roofs/1/look", nil).want(http.StatusUnprocessableEntity)
	roofer.post("/roofs/3/look", url.Values{"looks": {"yes"}}).want(http.StatusUnprocessableEntity)
	roofer.post("/roofs/99/look", url.Values{"looks": {"yes"}}).want(http.StatusNotFound)
	s.as(models.Seller).post("/roofs/1/look", url.Values{"looks": {"yes"}}).want(http.StatusForbidden)
	// Of an ended roof nothing is kept.
	if got := roofer.get("/roofs/3").want(http.StatusOK); got.page().Find("#looks, #looks-not").Length() > 0 || strings.Contains(got.text(".opening"), "once you have looked") {
		t.Errorf("of an ended roof it is asked: %s", got.text("main"))
	}
}

// A roof that is looked for from the visits opens without its estimate, also for who
// is shown it otherwise, and so does each of several that are found.
func TestARoofIsOpenedForALook(t *testing.T) {
	s := newSite(t)
	lookedAt(s)
	owner := s.as(models.Owner)
	form := owner.get("/visits").want(http.StatusOK).page().Find("#unbooked")
	if got := form.Find("[name=for]").AttrOr("value", "") + form.AttrOr("action", ""); got != "look/search" {
		t.Fatalf("the form asks %q", got)
	}
	owner.get("/search?q=R-1&for=look").leads("/roofs/1?estimate=keep")
	owner.get("/search?q=R-1").leads("/roofs/1")
	for _, name := range owner.get("/search?q=larch&for=look").want(http.StatusOK).page().Find("#found tbody th a").Map(func(_ int, l *goquery.Selection) string { return l.AttrOr("href", "") }) {
		if !strings.HasSuffix(name, "?estimate=keep") {
			t.Errorf("the search leads to %s", name)
		}
	}
	owner.post("/roofs/1/look", url.Values{"looks": {"yes"}}).leads("/roofs/1#years")
	owner.post("/roofs/1/visits", url.Values{"purpose": {"checkup"}, "done_on": {"2026-06-10"}, "method": {"walked"}, "look.curling": {"1"}}).leads("/visits/4")
	if v := s.newestVisit(); v.SeenBefore == nil || *v.SeenBefore {
		t.Errorf("the look that nothing led is kept as %v", v.SeenBefore)
	}
}

// While somebody who otherwise sees all is going to look, no page tells them.
func TestNoPageTellsWhoIsGoingToLook(t *testing.T) {
	s := newSite(t)
	lookedAt(s)
	owner := s.as(models.Owner)
	left := saidLeft.FindString(owner.get("/roofs/1").want(http.StatusOK).text("main"))
	if left == "" {
		t.Fatal("the owner is not told the years left")
	}
	told := func() (on []string) {
		paths := []string{"/roofs/1?within=7", "/roofs?sort=left", "/roofs?past=soon", "/search?q=larch", "/visits/2", "/visits/3"}
		for _, route := range s.routes {
			if route.Method == "GET" && route.Need != Public && route.Need != Bare {
				paths = append(paths, route.example())
			}
		}
		for _, path := range paths {
			if a := owner.get(path); a.Status == http.StatusOK && (strings.Contains(a.Body, left) || saidRated.MatchString(a.Body) || strings.Contains(a.Body, "What it rates")) {
				on = append(on, path)
			}
		}
		return on
	}
	if on := told(); !slices.Contains(on, "/roofs/1") || !slices.Contains(on, "/roofs") || !slices.Contains(on, "/visits/3") {
		t.Fatalf("before, it is told on %v", on)
	}
	owner.post("/roofs/1/look", url.Values{"looks": {"yes"}}).leads("/roofs/1#years")
	if on := told(); len(on) != 0 {
		t.Errorf("it is told on %v", on)
	}
	if got := owner.get("/roofs").text("#roofs tbody"); !strings.Contains(got, "after your look") {
		t.Errorf("the list says %s", got)
	}
}

// What others found is kept with the estimate: from who goes up unless it was seen for
// a callback, which tells what broke, and from whoever said that they are going to look
// also then. What is kept cannot be corrected unseen.
func TestWhatOthersFoundIsKept(t *testing.T) {
	s := newSite(t)
	s.write(&models.Visit{Ref: "V-80", HouseID: 1, RoofID: ptr[int64](1), CallbackID: ptr[int64](1), Purpose: "callback_look", DoneOn: units.NewDate(2026, time.May, 30), Method: "walked", ByName: "Ned"},
		&models.Finding{VisitID: 2, Defect: "granule_loss", Look: "seen", Severity: ptr(2), Extent: ptr(0.3)},
		&models.Visit{Ref: "V-81", HouseID: 1, RoofID: ptr[int64](1), Purpose: "checkup", DoneOn: units.NewDate(2026, time.May, 31), Method: "walked", ByName: "Ned"},
		&models.Finding{VisitID: 3, Defect: "granule_loss", Look: "seen", Severity: ptr(2), Extent: ptr(0.3)})
	if err := s.service.EndVisit(t.Context(), s.actor(models.Owner), 1, 1, true); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		role   models.Role
		press  string
		called bool // what was seen for the callback is told
		other  bool
	}{
		{models.Roofer, "", true, false}, {models.Roofer, "yes", false, false}, {models.Roofer, "no", true, true},
		{models.Owner, "", true, true}, {models.Owner, "yes", false, false}, {models.Owner, "no", true, true},
	} {
		b := s.as(c.role)
		if c.press != "" {
			b.post("/roofs/1/look", url.Values{"looks": {c.press}}).leads("/roofs/1#years")
		}
		for path, told := range map[string]bool{"/visits/2": c.called, "/callbacks/1": c.called, "/visits/3": c.other} {
			if text := b.get(path).want(http.StatusOK).text("main"); strings.Contains(text, "Granules lost") != told {
				t.Errorf("the %s who said %q: %s told: %v, says %s", c.role, c.press, path, !told, text)
			}
		}
		if !c.other {
			b.post("/visits/3", url.Values{"version": {"1"}, "done_on": {"2026-05-31"}, "method": {"walked"}, "look.moss": {"1"}}).want(http.StatusConflict)
		}
	}
}

// How likely a house needs a new roof is kept with the estimate of its roof.
func TestWhoIsGoingToLookIsNotToldOfTheHouse(t *testing.T) {
	s := neighbourSite(t)
	owner := s.as(models.Owner)
	roof, err := store.First[models.Roof](s.service.Store.Query(t.Context()), "ref = 'R-13'")
	if err != nil {
		t.Fatal(err)
	}
	told := func() (page, list bool) {
		a, likely := owner.get("/neighbours/3").want(http.StatusOK), "likelier than not"
		if strings.Contains(a.text("main"), "very likely") {
			likely = "very likely"
		}
		for _, row := range owner.get("/neighbours").want(http.StatusOK).rows("#houses") {
			list = list || strings.Contains(row[0], "16 Larch Street") && strings.Contains(strings.Join(row, " "), "likel")
		}
		return strings.Contains(a.text("main"), likely), list
	}
	if page, list := told(); !page || !list {
		t.Fatalf("before, the owner is told on the house's page %v, in the list %v", page, list)
	}
	owner.post(roofURL(roof.ID)+"/look", url.Values{"looks": {"yes"}}).leads(roofURL(roof.ID) + "#years")
	if page, list := told(); page || list {
		t.Errorf("the owner is told on the house's page %v, in the list %v", page, list)
	}
	if text := owner.get("/neighbours/3").text("main"); !strings.Contains(text, "You said that you are going to look") {
		t.Errorf("the page says %s", text)
	}
}
