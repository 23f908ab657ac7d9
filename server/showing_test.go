package server

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
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
