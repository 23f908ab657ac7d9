package service

import (
	"strings"
	"testing"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// The night's fit is made once for the same records and anew when a watch begins,
// and estimates rest on the newest.
func TestLivesAreFittedWhenTheyChange(t *testing.T) {
	svc := town(t)
	day := units.NewDate(2026, 11, 25)
	set, err := svc.Settings(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	fit := func(day units.Date) string {
		t.Helper()
		detail, err := svc.refreshLives(t.Context(), set, day, nil)
		if err != nil {
			t.Fatal(err)
		}
		return detail
	}
	// Three roofs are ours; those that they replaced were never watched.
	if detail := fit(day); detail != "3 lives, 0 of them worn out, fitted anew." {
		t.Errorf("first: %s", detail)
	}
	if detail := fit(day + 1); !strings.Contains(detail, "nothing changed") {
		t.Errorf("the next day: %s", detail)
	}
	w := &models.Watch{Neighbourhood: "Sorrel Flats", FromOn: units.NewDate(2018, 4, 1)}
	if err := svc.BeginWatch(t.Context(), seller, w); models.CodeOf(err) != models.Forbidden {
		t.Errorf("a seller begins a watch: %v", err)
	}
	if err := svc.BeginWatch(t.Context(), owner, w); err != nil {
		t.Fatal(err)
	}
	if err := svc.BeginWatch(t.Context(), owner, &models.Watch{Neighbourhood: "Sorrel Flats", FromOn: day}); err == nil {
		t.Error("one neighbourhood is watched twice at once")
	}
	if err := svc.BeginWatch(t.Context(), owner, &models.Watch{Neighbourhood: "Sorrel Flats", FromOn: day + 1}); err == nil || !strings.Contains(err.Error(), "ahead") {
		t.Errorf("a watch begins tomorrow: %v", err)
	}
	if err := svc.BeginWatch(t.Context(), owner, &models.Watch{Neighbourhood: "Sorrel flats", FromOn: day}); err == nil || !strings.Contains(err.Error(), "no houses") {
		t.Errorf("what has no houses is watched: %v", err)
	}
	ranked := func() *ranking {
		t.Helper()
		r, err := svc.rank(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	before := ranked()
	// Now those that came off since, two for wear, count from the watch's start.
	if detail := fit(day + 2); !strings.Contains(detail, "2 of them worn out, fitted anew") {
		t.Errorf("after a watch began: %s", detail)
	}
	// The order of the houses to call on rests on the newest fit, too.
	if after := ranked(); before.fit == after.fit || after != ranked() {
		t.Errorf("the order of houses rests on fit %d, then on %d", before.fit, after.fit)
	}
	report, err := svc.LivesReport(t.Context(), owner)
	if err != nil {
		t.Fatal(err)
	}
	if report.Fit == nil || report.Lives.Counts.TearOffs != 0 || report.Lives.Counts.Ended["worn_out"] != 2 || report.Lives.Counts.Ended["storm"] != 1 || report.Lives.Counts.Ours != 3 {
		t.Errorf("%+v", report.Lives.Counts)
	}
	if _, err := svc.RefreshEstimates(t.Context(), Program("a test"), day+2, func(int, int) {}); err != nil {
		t.Fatal(err)
	}
	estimates, err := store.List[models.Estimate](svc.Store.Query(t.Context()), "id", "")
	if err != nil || len(estimates) != 3 || estimates[0].LifeFitID == nil || *estimates[0].LifeFitID != report.Kept.ID {
		t.Errorf("estimates rest on %+v, %v", estimates, err)
	}
	// A watch ends on a day that has come, once, at the version that was read.
	if err := svc.EndWatch(t.Context(), owner, w.ID, w.Version, day+1); err == nil {
		t.Error("a watch ends tomorrow")
	}
	if err := svc.EndWatch(t.Context(), owner, w.ID, w.Version+1, day); models.CodeOf(err) != models.Conflict {
		t.Errorf("a watch ends at another version: %v", err)
	}
	if err := svc.EndWatch(t.Context(), owner, w.ID, w.Version, day); err != nil {
		t.Fatal(err)
	}
	if err := svc.EndWatch(t.Context(), owner, w.ID, w.Version+1, day); err == nil {
		t.Error("a watch ends twice")
	}
}
