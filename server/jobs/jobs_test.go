package jobs

import (
	"context"
	"io"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/robfig/cron/v3"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
)

func TestLastDue(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ now, want string }{
		{"2026-11-25T10:29:00Z", "2026-11-24"}, // 03:29 on the 25th
		{"2026-11-25T10:30:00Z", "2026-11-25"},
		{"2026-11-26T06:59:00Z", "2026-11-25"}, // 23:59 on the 25th
		// Clocks go forward on 8 March 2026 at 02:00, and back on 1 November
		// 2026 at 02:00 (15 U.S.C. 260a: second Sunday of March, first of
		// November).
		{"2026-03-08T09:29:00Z", "2026-03-07"}, // 03:29 daylight time
		{"2026-03-08T09:30:00Z", "2026-03-08"},
		{"2026-11-01T10:29:00Z", "2026-10-31"}, // 03:29 standard time
		{"2026-11-01T10:30:00Z", "2026-11-01"},
	} {
		now, err := time.Parse(time.RFC3339, c.now)
		if err != nil {
			t.Fatal(err)
		}
		if got := LastDue(now, denver); got.String() != c.want {
			t.Errorf("at %s: got %s, want %s", c.now, got, c.want)
		}
	}
}

// The schedule strikes once on every day of a year in which the clocks change
// twice.
func TestScheduleStrikesOnceADay(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	schedule, err := cron.ParseStandard(nightly)
	if err != nil {
		t.Fatal(err)
	}
	strikes := map[units.Date]int{}
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, denver)
	for at = schedule.Next(at); at.Year() == 2026; at = schedule.Next(at) {
		strikes[units.DateOf(at)]++
	}
	for d := units.NewDate(2026, 1, 1); d <= units.NewDate(2026, 12, 31); d++ {
		if strikes[d] != 1 {
			t.Errorf("%s has %d runs", d, strikes[d])
		}
	}
}

type clock struct{ now time.Time }

func open(t *testing.T) (*service.Service, *clock) {
	t.Helper()
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "jobs.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	c := &clock{time.Date(2026, 11, 25, 18, 0, 0, 0, time.UTC)}
	svc := service.New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), func() time.Time { return c.now })
	return svc, c
}

// begin makes the company, by letting its first person in.
func begin(t *testing.T, svc *service.Service) {
	t.Helper()
	_, err := svc.AddPerson(t.Context(), service.Program("a test"), service.NewPerson{
		Email: "owner@example.org", Name: "Olive Ownington", Password: "a ridge vent and a saddle", Roles: models.Roles{models.Owner}})
	if err != nil {
		t.Fatal(err)
	}
}

func runs(t *testing.T, svc *service.Service) map[string][]models.JobRun {
	t.Helper()
	all, err := store.List[models.JobRun](svc.Store.Query(t.Context()), "day", "")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]models.JobRun{}
	for _, r := range all {
		out[r.Job] = append(out[r.Job], r)
	}
	return out
}

func TestCatchUp(t *testing.T) {
	svc, clock := open(t)
	r := New(svc, svc.Log)
	r.CatchUp(t.Context())
	if got := runs(t, svc); len(got) != 0 {
		t.Fatalf("without a company there were runs: %v", got)
	}
	begin(t, svc)
	check := func(days ...string) {
		t.Helper()
		got := runs(t, svc)
		for _, job := range service.Jobs {
			var have []string
			for _, run := range got[job.Name] {
				have = append(have, run.Day.String())
				if run.Outcome != "done" || run.FinishedAt == nil || run.Detail == "" {
					t.Errorf("%s on %s: %+v", job.Name, run.Day, run)
				}
			}
			if strings.Join(have, " ") != strings.Join(days, " ") {
				t.Errorf("%s ran for %v, want %v", job.Name, have, days)
			}
		}
	}
	r.CatchUp(t.Context())
	check("2026-11-25")
	r.CatchUp(t.Context()) // a second start on the same day changes nothing
	check("2026-11-25")
	clock.now = clock.now.AddDate(0, 0, 3) // stood still for three nights
	r.CatchUp(t.Context())
	check("2026-11-25", "2026-11-26", "2026-11-27", "2026-11-28")
}

func TestLongPause(t *testing.T) {
	svc, clock := open(t)
	begin(t, svc)
	r := New(svc, svc.Log)
	r.CatchUp(t.Context())
	clock.now = clock.now.AddDate(0, 3, 0)
	r.CatchUp(t.Context())
	got := runs(t, svc)["checkups"]
	if len(got) != 1+14 || got[1].Day.String() != "2027-02-12" {
		t.Errorf("after three months there are %d runs, from %v", len(got), got[1].Day)
	}
}

func TestARunThatDied(t *testing.T) {
	svc, clock := open(t)
	begin(t, svc)
	day := units.NewDate(2026, 11, 25)
	started := clock.now
	err := svc.Store.Write(t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error {
		return tx.Put(&models.JobRun{Job: "checkups", Day: day, StartedAt: started, Outcome: "running"})
	})
	if err != nil {
		t.Fatal(err)
	}
	clock.now = started.Add(time.Hour)
	run, err := svc.RunJob(t.Context(), service.Program("a test"), "checkups", day, nil)
	if err != nil || run.Outcome != "running" {
		t.Fatalf("while another runs: %+v, %v", run, err)
	}
	clock.now = started.Add(3 * time.Hour)
	run, err = svc.RunJob(t.Context(), service.Program("a test"), "checkups", day, nil)
	if err != nil || run.Outcome != "done" {
		t.Fatalf("after it died: %+v, %v", run, err)
	}
	if _, err := svc.RunJob(t.Context(), service.Program("a test"), "sweeping", day, nil); models.CodeOf(err) != models.NotFound {
		t.Errorf("an unknown job gave %v", err)
	}
	if _, err := svc.RunJob(t.Context(), service.Actor{Roles: models.Roles{models.Owner}}, "checkups", day, nil); models.CodeOf(err) != models.Forbidden {
		t.Errorf("a person gave %v", err)
	}
}

func TestRunStopsWithItsContext(t *testing.T) {
	svc, _ := open(t)
	begin(t, svc)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- New(svc, svc.Log).Run(ctx) }()
	cancel()
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
}
