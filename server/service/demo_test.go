package service

import (
	"io"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/demo"
	"overhang/models/store"
)

func TestDemo(t *testing.T) {
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "demo.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	now := time.Date(2026, 11, 25, 17, 0, 0, 0, time.UTC)
	svc := New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), func() time.Time { return now })
	today := units.DateOf(now)
	options := demo.Options{Seed: 1, Today: today}
	signIns, err := svc.FillDemo(t.Context(), Program("a test"), options, nil)
	if err != nil || len(signIns) != len(models.AllRoles) {
		t.Fatalf("%d sign-ins, %v", len(signIns), err)
	}
	if demoSignIns, err := svc.HasDemoSignIns(t.Context()); err != nil || !demoSignIns {
		t.Errorf("the sign-ins are not marked: %v", err)
	}
	if _, err := svc.FillDemo(t.Context(), Program("a test"), options, nil); models.CodeOf(err) != models.Conflict {
		t.Errorf("a second demo in one database gave %v", err)
	}
	if _, err := svc.FillDemo(t.Context(), owner, options, nil); models.CodeOf(err) != models.Forbidden {
		t.Errorf("a person made the demo: %v", err)
	}
	for _, c := range []struct {
		options demo.Options
		field   string
	}{{demo.Options{Roofs: demo.MostRoofs + 1}, "roofs"}, {demo.Options{Houses: demo.MostHouses + 1}, "houses"}, {demo.Options{Roofs: -1}, "roofs"}} {
		_, err := svc.FillDemo(t.Context(), Program("a test"), c.options, nil)
		wantField(t, err, c.field)
	}
	for _, in := range signIns {
		p, err := svc.PersonByEmail(t.Context(), Program("a test"), in.Email)
		if err != nil || !p.Demo {
			t.Fatalf("%s: %+v, %v", in.Email, p, err)
		}
		if fits, _, err := passwordFits(in.Password, p.PasswordHash); err != nil || !fits {
			t.Errorf("the printed password of %s does not fit: %v", in.Email, err)
		}
	}
	broken, err := store.Rows[struct{ Says string }](st.Query(t.Context()), `SELECT "table" AS says FROM pragma_foreign_key_check`)
	if err != nil || len(broken) != 0 {
		t.Errorf("records name others that are not there: %v, %v", broken, err)
	}
	for _, job := range Jobs {
		run, err := svc.RunJob(t.Context(), Program("a test"), job.Name, today, nil)
		if err != nil || run.Outcome != "done" {
			t.Fatalf("%s: %+v, %v", job.Name, run, err)
		}
		t.Log(job.Name, run.Detail)
	}
	b, err := svc.openBook(t.Context())
	if err != nil || len(b.faults) != 0 {
		t.Fatalf("roofs that could not be judged: %v, %v", b.faults, err)
	}
	// A Wednesday late in the season: some of everything, and most of nothing.
	day, err := svc.TodayFor(t.Context(), owner)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what      string
		n         int
		low, high int
	}{
		{"open callbacks", day.Open, 3, 20}, {"late ring-backs", day.Late, 1, 5}, {"with water coming in", day.WaterComingIn, 1, 3},
		{"roofs due", day.Due, 10, 130}, {"registrations", len(day.Registrations), 1, 12}, {"promises ending", len(day.Ending), 1, 30},
		{"houses to call on", day.ToCallOn, 1000, 3500}, {"roofs likely past their line", day.LikelyPast, 0, 30},
		{"open storm looks", day.Storm, 1, 80},
	} {
		t.Log(c.what, c.n)
		if c.n < c.low || c.n > c.high {
			t.Errorf("%d %s; a company of this size has %d to %d", c.n, c.what, c.low, c.high)
		}
	}
	list, err := svc.Promises(t.Context(), owner, PromiseFilter{}, store.Page{})
	if err != nil || list.Owed == nil || list.Owed.Total.Expected == nil {
		t.Fatalf("%+v, %v", list, err)
	}
	t.Log("owed", list.Owed.Total.Expected, list.Owed.Total.Low, list.Owed.Total.High, list.Counts, list.Roofs)
	// A good hundred promises that run out over ten years, at some 3,000 a year by
	// now as the demo's own cost lines of the last four years have it.
	if e := list.Owed.Total.Expected.Dollars(); e < 8_000 || e > 30_000 || list.Owed.SmallSample {
		t.Errorf("owed in all is %v", e)
	}
	// Somebody waits for the notice of a sale, and each scenario that the owner has
	// built tells of roofs, costs more than without it and says who bears what.
	if len(day.Notices) == 0 {
		t.Error("no notice of a sale is due")
	}
	review, err := svc.OwedReview(t.Context(), owner)
	if err != nil || len(review.Scenarios) != len(models.ScenarioKinds) {
		t.Fatalf("%+v, %v", review, err)
	}
	for _, o := range review.Scenarios {
		t.Log(o.Scenario.Name, len(o.Roofs), o.With.Change, o.With.OnTop)
		if o.Wrong != "" || len(o.Roofs) < 3 || o.With.Expected <= o.Base.Expected || o.With.OnTop < o.With.Change || len(o.With.Bearers) == 0 {
			t.Errorf("%s on %d roofs: %q, %v and %v", o.Scenario.Name, len(o.Roofs), o.Wrong, o.Base, o.With)
		}
	}
}

// What is written must be what was made, row for row, with its progress told.
func TestDemoIsWrittenWhole(t *testing.T) {
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "demo.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	// Six in the evening of the 25th in the town, when it is the 26th in UTC.
	now := time.Date(2026, 11, 26, 1, 0, 0, 0, time.UTC)
	svc := New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), func() time.Time { return now })
	last := map[string][2]int{}
	options := demo.Options{Seed: 5, Roofs: 40, Houses: 150}
	signIns, err := svc.FillDemo(t.Context(), Program("a test"), options, func(step string, done, total int) {
		if done <= last[step][0] || done > total {
			t.Errorf("%s: %d of %d after %d", step, done, total, last[step][0])
		}
		last[step] = [2]int{done, total}
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range []string{"sign-ins", "records"} {
		if d := last[step]; d[0] == 0 || d[0] != d[1] {
			t.Errorf("%s ended at %d of %d", step, d[0], d[1])
		}
	}
	options.Today = units.NewDate(2026, 11, 25)
	made := demo.Make(options)
	q := st.Query(t.Context())
	roofs, err := store.List[models.Roof](q, "id", "")
	if err != nil || len(roofs) != len(made.Roofs) {
		t.Fatalf("%d roofs of %d, %v", len(roofs), len(made.Roofs), err)
	}
	for i := range roofs {
		if got, want := roofs[i], made.Roofs[i]; got.ID != want.ID || got.Ref != want.Ref || got.Laid != want.Laid || got.EndedOn != want.EndedOn || got.HouseID != want.HouseID {
			t.Fatalf("kept %+v, made %+v", got, want)
		}
	}
	for what, count := range map[string]func() (int, int, error){
		"findings": func() (int, int, error) {
			n, err := store.Count[models.Finding](q, "")
			return n, len(made.Findings), err
		},
		"callbacks": func() (int, int, error) {
			n, err := store.Count[models.Callback](q, "")
			return n, len(made.Callbacks), err
		},
		"roof slopes": func() (int, int, error) {
			n, err := store.Count[models.RoofSlope](q, "")
			return n, len(made.RoofSlopes), err
		},
		"stop entries": func() (int, int, error) {
			n, err := store.Count[models.StopEntry](q, "")
			return n, len(made.StopEntries), err
		},
	} {
		if n, want, err := count(); n != want || err != nil {
			t.Errorf("%d %s of %d, %v", n, what, want, err)
		}
	}
	unsigned, err := store.Count[models.Knock](q, "person_id IS NULL")
	if err != nil || unsigned != 0 {
		t.Errorf("%d knocks are nobody's, %v", unsigned, err)
	}
	looked, err := store.Count[models.Visit](q, "person_id IS NOT NULL")
	if err != nil || looked == 0 {
		t.Errorf("no visit is the roofer's, %v", err)
	}
	again, _, err := demoPeople(5, func(string, int, int) {})
	if err != nil || again[0].Password != signIns[0].Password {
		t.Errorf("the seed gave two passwords: %v", err)
	}
}
