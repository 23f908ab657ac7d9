package service

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/demo"
	"overhang/models/store"
)

// A book that takes over what a change has not touched is the same as one that is
// made from all records, after every kind of change, and so is the order of houses.
func TestTheBookAfterChanges(t *testing.T) {
	s := emptyService(t)
	ctx, who := t.Context(), Program("a test")
	if _, err := s.FillDemo(ctx, who, demo.Options{Seed: 3, Roofs: 40, Houses: 60}, nil); err != nil {
		t.Fatal(err)
	}
	q := s.Store.Query(ctx)
	set, err := s.Settings(ctx)
	if err != nil {
		t.Fatal(err)
	}
	today := s.Today(set)
	roofs, err := store.List[models.Roof](q, "id", "ours = 1 AND ended_on IS NULL")
	if err != nil {
		t.Fatal(err)
	}
	houses, err := store.List[models.House](q, "id", "")
	if err != nil {
		t.Fatal(err)
	}
	dice := rand.New(rand.NewPCG(4, 2))
	roof := func() *models.Roof { return &roofs[dice.IntN(len(roofs))] }
	callback := func() *models.Callback {
		all, err := store.List[models.Callback](q, "id", "state NOT IN ('closed', 'refused')")
		if err != nil || len(all) == 0 {
			t.Fatal(len(all), err)
		}
		return &all[dice.IntN(len(all))]
	}
	change := func(c *models.Callback, how func(*models.Callback)) error {
		how(c)
		return s.ChangeCallback(ctx, who, c)
	}
	changes := []struct {
		name  string
		whole bool // all has to be read again
		do    func() error
	}{
		{"a call", false, func() error {
			r := roof()
			_, err := s.TakeCall(ctx, who, NewCall{Caller: "Somebody", Phone: "555-0101", HouseID: &r.HouseID, RoofID: &r.ID, About: "a stain", HappenedOn: today})
			return err
		}},
		{"a call of nobody known", false, func() error {
			_, err := s.TakeCall(ctx, who, NewCall{Caller: "Somebody", Phone: "555-0102", AddressGiven: "by the mill", About: "a drip", HappenedOn: today})
			return err
		}},
		{"rung back", false, func() error { return s.RingBack(ctx, who, callback().ID, dice.IntN(2) == 0) }},
		{"the cause was found", false, func() error {
			return change(callback(), func(c *models.Callback) { c.CauseFound, c.LookedOn = "lap", today })
		}},
		{"the material", true, func() error {
			return change(callback(), func(c *models.Callback) { c.CauseFound, c.LookedOn = "material", today })
		}},
		{"it was another house", false, func() error {
			r := roof()
			return change(callback(), func(c *models.Callback) { c.HouseID, c.CauseFound = &r.HouseID, "flashing" })
		}},
		{"a cost", false, func() error {
			return s.AddCost(ctx, who, &NewCost{Line: models.CostLine{CallbackID: callback().ID, On: today, LearnedOn: today, Kind: "material", Bearer: "us"}, Amount: new(units.Money(123_45))})
		}},
		{"a visit", false, func() error {
			r := roof()
			v := &models.Visit{HouseID: r.HouseID, RoofID: &r.ID, Purpose: "checkup", DoneOn: today, Method: "ladder", ByName: "Somebody", Gutters: new(true)}
			return s.RecordVisit(ctx, who, v, []models.Finding{{Defect: "moss", Look: "seen", Severity: new(1), Extent: new(.1)}})
		}},
		{"what a visit had in sight", false, func() error {
			all, err := store.List[models.Visit](q, "id", "done_on IS NOT NULL")
			if err != nil {
				return err
			}
			v := &all[dice.IntN(len(all))]
			slopes, err := store.List[models.Slope](q, "id", "structure_id IN (SELECT id FROM structures WHERE house_id = ?)", v.HouseID)
			if err != nil {
				return err
			}
			if v.InSight = nil; len(slopes) > 0 && dice.IntN(3) > 0 {
				v.InSight = &models.JSON[int64]{slopes[dice.IntN(len(slopes))].ID}
			}
			return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error { return tx.Update(v) })
		}},
		{"a booking", false, func() error {
			r := roof()
			return s.Book(ctx, who, []Booking{{HouseID: r.HouseID, RoofID: &r.ID, Purpose: "checkup", On: today.AddDays(3 + dice.IntN(400))}})
		}},
		{"a call at a door", false, func() error {
			h := houses[dice.IntN(len(houses))]
			return s.Knock(ctx, who, h.ID, models.ProspectStates[1+dice.IntN(len(models.ProspectStates)-1)], "", 0)
		}},
		{"a sign by a door", false, func() error {
			return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
				all, err := store.List[models.Prospect](tx.Query, "id", "")
				if err != nil {
					return err
				}
				p := &all[dice.IntN(len(all))]
				p.SignsPosted = !p.SignsPosted
				return tx.Update(p)
			})
		}},
		{"a finding", false, func() error {
			return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
				all, err := store.List[models.Finding](tx.Query, "id", "look = 'seen'")
				if err != nil {
					return err
				}
				f := &all[dice.IntN(len(all))]
				f.Note = fmt.Sprint("note ", dice.IntN(1000))
				return tx.Update(f)
			})
		}},
		{"a roof's colour", true, func() error {
			return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
				r, err := store.Get[models.Roof](tx.Query, roof().ID)
				if err != nil {
					return err
				}
				r.Colour = fmt.Sprint("colour ", dice.IntN(1000))
				return tx.Update(r)
			})
		}},
	}
	tookOver := 0
	for step := range 100 {
		c := changes[dice.IntN(len(changes))]
		before, err := s.openBook(ctx)
		if err != nil {
			t.Fatal(err)
		}
		if err := c.do(); err != nil {
			if code := models.CodeOf(err); code == models.Invalid || code == models.Conflict {
				continue // not with this one
			}
			t.Fatalf("%s: %v", c.name, err)
		}
		day := today
		if step%9 == 0 {
			day = today.AddDays(step)
		}
		got, err := s.bookOn(ctx, day)
		if err != nil {
			t.Fatal(err)
		}
		want, err := s.makeBook(q, day)
		if err != nil {
			t.Fatal(err)
		}
		want.revision = got.revision
		for name, parts := range map[string][2]any{"files": {got.files, want.files}, "place": {got.place, want.place}, "venting": {got.venting, want.venting},
			"promises": {got.promises, want.promises}, "due": {got.due, want.due}, "storms": {got.storms, want.storms}, "costs": {got.costs, want.costs},
			"faults": {got.faults, want.faults}, "settings": {got.set, want.set}} {
			if !reflect.DeepEqual(parts[0], parts[1]) {
				t.Fatalf("step %d, %s: the book's %s are not those of one made anew", step, c.name, name)
			}
		}
		kept := reflect.ValueOf(got.place).Pointer() == reflect.ValueOf(before.place).Pointer()
		if c.whole && kept && got.revision != before.revision {
			t.Errorf("step %d, %s: the book was not made anew", step, c.name)
		}
		if kept {
			tookOver++
		}
		ranking, err := s.rank(ctx)
		if err != nil {
			t.Fatal(err)
		}
		s.street.ranking = nil
		fresh, err := s.rank(ctx)
		if err != nil || !reflect.DeepEqual(ranking.result, fresh.result) || !reflect.DeepEqual(ranking.houses, fresh.houses) || !reflect.DeepEqual(ranking.ours, fresh.ours) {
			t.Fatalf("step %d, %s: the order of houses is not that of one made anew, %v", step, c.name, err)
		}
		s.street.ranking = ranking
	}
	if tookOver < 40 {
		t.Errorf("only %d books took anything over", tookOver)
	}
}

// BenchmarkBook makes the book of 5,000 roofs anew after a callback has changed, and in
// the same run reads all of it. It prints how many times the one takes the other.
func BenchmarkBook(b *testing.B) {
	s := townOf(b, 5000)
	ctx := b.Context()
	q := s.Store.Query(ctx)
	c, err := store.First[models.Callback](q, "house_id IS NOT NULL AND state = 'new'")
	if err != nil {
		b.Fatal(err)
	}
	open := func() {
		if _, err := s.openBook(ctx); err != nil {
			b.Fatal(err)
		}
	}
	open()
	var renewed, whole time.Duration
	for b.Loop() {
		if err := s.RingBack(ctx, Program("a benchmark"), c.ID, false); err != nil {
			b.Fatal(err)
		}
		began := time.Now()
		open()
		renewed += time.Since(began)
		s.shelf.book = nil
		began = time.Now()
		open()
		whole += time.Since(began)
	}
	b.ReportMetric(float64(whole)/float64(renewed), "times-faster-than-whole")
	b.ReportMetric(renewed.Seconds()*1000/float64(b.N), "ms/change")
}

// The material of our roofs is told by callbacks on every house that has it, also
// on those of which the book has no file, before such a callback changes and after.
func TestTheBookAfterTheMaterialOfAnotherHouse(t *testing.T) {
	s := emptyService(t)
	ctx, who := t.Context(), Program("a test")
	if _, err := s.FillDemo(ctx, who, demo.Options{Seed: 3, Roofs: 40, Houses: 60}, nil); err != nil {
		t.Fatal(err)
	}
	q := s.Store.Query(ctx)
	ours, err := store.First[models.Roof](q, "ours = 1 AND ended_on IS NULL AND covering_id IS NOT NULL")
	if err != nil {
		t.Fatal(err)
	}
	var other *models.Roof
	if err := s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if other, err = store.First[models.Roof](tx.Query, "ours = 0 AND ended_on IS NULL AND house_id NOT IN (SELECT house_id FROM roofs WHERE ours = 1) AND id NOT IN (SELECT roof_id FROM warranties)"); err != nil {
			return err
		}
		other.CoveringID = ours.CoveringID
		return tx.Update(other)
	}); err != nil {
		t.Fatal(err)
	}
	c, err := s.TakeCall(ctx, who, NewCall{Caller: "Somebody", HouseID: &other.HouseID, RoofID: &other.ID, About: "grit in the gutter"})
	if err != nil {
		t.Fatal(err)
	}
	troubles := func() int {
		t.Helper()
		b, err := s.openBook(ctx)
		if err != nil {
			t.Fatal(err)
		}
		return len(b.file(ours.ID).Troubles)
	}
	before := troubles()
	for _, step := range []struct {
		name string
		how  func(*models.Callback)
		more int
	}{
		{"accepted for the material", func(c *models.Callback) { c.CauseFound, c.State = "material", "accepted" }, 1},
		{"it was a lap", func(c *models.Callback) { c.CauseFound = "lap" }, 0},
		{"the material after all", func(c *models.Callback) { c.CauseFound = "material" }, 1},
		{"a lap, on another roof", func(c *models.Callback) { c.HouseID, c.CauseFound = &ours.HouseID, "lap" }, 0},
	} {
		if c, err = store.Get[models.Callback](q, c.ID); err != nil {
			t.Fatal(err)
		}
		step.how(c)
		if err := s.ChangeCallback(ctx, who, c); err != nil {
			t.Fatalf("%s: %v", step.name, err)
		}
		if got := troubles() - before; got != step.more {
			t.Errorf("%s: the book has %d troubles with the material more than before, not %d", step.name, got, step.more)
		}
	}
}

// A job or a slope that a file links to a roof is in the book, though nothing else
// of it has changed.
func TestTheBookAfterALink(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	roof, err := store.First[models.Roof](s.Store.Query(t.Context()), "ref = 'R-0001'")
	if err != nil {
		t.Fatal(err)
	}
	mustRead(t, s, "jobs", "ref,house_ref\nJ-9,H-0001\n")
	mustRead(t, s, "slopes", "house_ref,structure,name\nH-0001,main,porch\n")
	for _, c := range []struct {
		kind, file string
		linked     func(f *models.RoofFile) bool
	}{
		{"jobs", "ref,roof_refs\nJ-9,R-0001\n", func(f *models.RoofFile) bool {
			return slices.ContainsFunc(f.Jobs, func(j models.Job) bool { return j.Ref == "J-9" })
		}},
		{"slopes", "house_ref,structure,name,roof_refs\nH-0001,main,porch,R-0001\n", func(f *models.RoofFile) bool {
			return slices.ContainsFunc(f.Slopes, func(s models.Slope) bool { return s.Name == "porch" })
		}},
	} {
		for _, want := range []bool{false, true} {
			b, err := s.openBook(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if got := c.linked(b.file(roof.ID)); got != want {
				t.Errorf("%s: linked is %v, not %v", c.kind, got, want)
			}
			before := auditRows(t, s)
			mustRead(t, s, c.kind, c.file)
			if n := auditRows(t, s) - before; (n == 0) != want {
				t.Errorf("%s: %d changes are in the trail", c.kind, n)
			}
		}
	}
}
