package service

import (
	"errors"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// A cost that is added, one that is written anew in the place of a wrong one, and
// the hours of whoever was at the house are all priced in one way: empty by the
// branch's rates, typed as it is typed.
func TestCostsArePricedInOneWay(t *testing.T) {
	svc := town(t)
	ctx := t.Context()
	setRates(t, svc, 78*units.Dollar, 0.0825)
	call, err := svc.TakeCall(ctx, scheduler, NewCall{Caller: "Somebody", About: "a drip"})
	if err != nil {
		t.Fatal(err)
	}
	on, nought, hours := units.NewDate(2026, 11, 25), new(units.Money), new(1.5)
	sum := func(v units.Money) *units.Money { return &v }
	last := func() models.CostLine {
		t.Helper()
		lines, err := store.List[models.CostLine](svc.Store.Query(ctx), "id", "callback_id = ?", call.ID)
		if err != nil || len(lines) == 0 {
			t.Fatal(lines, err)
		}
		return lines[len(lines)-1]
	}
	for _, c := range []struct {
		kind        string
		hours       *float64
		amount, tax *units.Money
		wantAmount  units.Money
		wantTax     units.Money
	}{
		{"labour", hours, nil, nil, 117_00, 0}, // 1.5 × 78
		{"labour", hours, nought, nil, 0, 0},
		{"material", nil, sum(240_00), nil, 240_00, 19_80},
		{"material", nil, sum(240_00), nought, 240_00, 0},
		{"material", nil, nought, nil, 0, 0},
		{"credit", nil, sum(-240_00), nil, -240_00, -19_80},
		{"recovery", nil, sum(-240_00), nil, -240_00, 0},
	} {
		n := NewCost{Line: models.CostLine{CallbackID: call.ID, On: on, Kind: c.kind, Hours: c.hours}, Amount: c.amount, Tax: c.tax}
		if err := svc.AddCost(ctx, owner, &n); err != nil {
			t.Fatal(err)
		}
		if l := last(); l.Amount != c.wantAmount || l.Tax != c.wantTax || l.LearnedOn != on {
			t.Errorf("%s is added as %v with %v, want %v with %v", c.kind, l.Amount, l.Tax, c.wantAmount, c.wantTax)
		}
		wrong := NewCost{Line: models.CostLine{CallbackID: call.ID, On: on, Kind: "access"}, Amount: sum(5)}
		if err := svc.AddCost(ctx, owner, &wrong); err != nil {
			t.Fatal(err)
		}
		right := NewCost{Line: models.CostLine{On: on, Kind: c.kind, Hours: c.hours}, Amount: c.amount, Tax: c.tax}
		if err := svc.CorrectCost(ctx, owner, call.ID, last().ID, &right, "a test"); err != nil {
			t.Fatal(err)
		}
		if l := last(); l.Amount != c.wantAmount || l.Tax != c.wantTax || l.Corrects == nil {
			t.Errorf("%s is written anew as %v with %v, want %v with %v", c.kind, l.Amount, l.Tax, c.wantAmount, c.wantTax)
		}
	}
	// Nothing is kept of a line whose amount cannot be told.
	before := last().ID
	wrong := NewCost{Line: models.CostLine{CallbackID: call.ID, On: on, Kind: "material", Hours: hours}}
	if err := svc.AddCost(ctx, owner, &wrong); models.CodeOf(err) != models.Invalid || last().ID != before {
		t.Errorf("without an amount: %v", err)
	}
	lines := func() int {
		n, err := store.Count[models.CostLine](svc.Store.Query(ctx), "callback_id = ?", call.ID)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	n := lines()
	if err := svc.CorrectCost(ctx, owner, call.ID, before, &wrong, "a test"); models.CodeOf(err) != models.Invalid || lines() != n {
		t.Errorf("corrected without an amount: %v, %d lines of %d", err, lines(), n)
	}
	if err := svc.NoteOnRoof(ctx, roofer, call.ID, OnRoof{Hours: hours}); err != nil {
		t.Fatal(err)
	}
	if l := last(); l.Kind != "labour" || l.Amount != 117_00 || l.Tax != 0 || l.On != on || l.LearnedOn != on || l.Note != roofer.Name {
		t.Errorf("the hours at the house are kept as %+v", l)
	}
}

// A visit that was made for a callback is a look at it: it stands in its course,
// and follows the visit where that is corrected.
func TestAVisitIsALookAtItsCallback(t *testing.T) {
	svc := town(t)
	ctx := t.Context()
	house, err := store.First[models.House](svc.Store.Query(ctx), "ref <> ''")
	if err != nil {
		t.Fatal(err)
	}
	call := func() *models.Callback {
		t.Helper()
		c, err := svc.TakeCall(ctx, scheduler, NewCall{Caller: "Somebody", About: "a drip", HouseID: &house.ID})
		if err != nil {
			t.Fatal(err)
		}
		c.LearnedOn = units.NewDate(2026, 11, 10)
		if err := svc.ChangeCallback(ctx, owner, c); err != nil {
			t.Fatal(err)
		}
		return c
	}
	kept := func(id int64) (c *models.Callback, looks []string) {
		t.Helper()
		c, err := store.Get[models.Callback](svc.Store.Query(ctx), id)
		if err != nil {
			t.Fatal(err)
		}
		steps, err := store.List[models.CallbackStep](svc.Store.Query(ctx), "id", "callback_id = ? AND kind = 'looked'", id)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range steps {
			looks = append(looks, s.On.String()+" by "+s.ByName)
		}
		return c, looks
	}
	november := func(day int) units.Date { return units.NewDate(2026, 11, day) }
	first, second := call(), call()
	visit := &models.Visit{HouseID: house.ID, Purpose: "callback_look", DoneOn: november(16), Method: "ladder", CallbackID: &first.ID}
	other := &models.Visit{HouseID: house.ID, Purpose: "callback_look", DoneOn: november(14), Method: "ladder", CallbackID: &first.ID}
	for _, step := range []struct {
		name          string
		do            func() error
		first, second units.Date
		looks         string // that stand in the course of the first
	}{
		{"the visit", func() error { return svc.RecordVisit(ctx, roofer, visit, nil) }, november(16), 0, "2026-11-16 by Rolf"},
		{"written down again", func() error { return svc.RecordVisit(ctx, roofer, visit, nil) }, november(16), 0, "2026-11-16 by Rolf"},
		{"on another day", func() error {
			visit.DoneOn = november(17)
			return svc.RecordVisit(ctx, roofer, visit, nil)
		}, november(17), 0, "2026-11-16 by Rolf, 2026-11-17 by Rolf"},
		{"another visit", func() error {
			return svc.RecordVisit(ctx, roofer, other, nil)
		}, november(17), 0, "2026-11-16 by Rolf, 2026-11-17 by Rolf"},
		{"it was for the second", func() error {
			visit.CallbackID = &second.ID
			return svc.RecordVisit(ctx, roofer, visit, nil)
		}, november(14), november(17), "2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-14 by Rolf"},
		{"the other one, too", func() error {
			other.CallbackID = nil
			return svc.RecordVisit(ctx, roofer, other, nil)
		}, 0, november(17), "2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-14 by Rolf"},
		{"a look at the house", func() error { return svc.NoteOnRoof(ctx, roofer, first.ID, OnRoof{On: november(18), Looked: true}) }, november(18), november(17),
			"2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-14 by Rolf, 2026-11-18 by Rolf"},
		{"one more", func() error { return svc.NoteOnRoof(ctx, roofer, first.ID, OnRoof{On: november(20), Looked: true}) }, november(18), november(17),
			"2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-14 by Rolf, 2026-11-18 by Rolf, 2026-11-20 by Rolf"},
		{"and one before", func() error { return svc.NoteOnRoof(ctx, roofer, first.ID, OnRoof{On: november(11), Looked: true}) }, november(18), november(17),
			"2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-14 by Rolf, 2026-11-18 by Rolf, 2026-11-20 by Rolf, 2026-11-11 by Rolf"},
		{"the visit once more", func() error {
			visit.CallbackID = &first.ID
			return svc.RecordVisit(ctx, roofer, visit, nil)
		}, november(18), 0, "2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-14 by Rolf, 2026-11-18 by Rolf, 2026-11-20 by Rolf, 2026-11-11 by Rolf"},
	} {
		if err := step.do(); err != nil {
			t.Fatalf("%s: %v", step.name, err)
		}
		a, looks := kept(first.ID)
		b, _ := kept(second.ID)
		if a.LookedOn != step.first || b.LookedOn != step.second || strings.Join(looks, ", ") != step.looks {
			t.Errorf("%s: looked at on %v and %v, with the steps %q", step.name, a.LookedOn, b.LookedOn, looks)
		}
		if a.State != "to_look" {
			t.Errorf("%s: it is %s", step.name, a.State)
		}
	}
}

// wrong tells the rule that each refused field breaks.
func wrong(err error) map[string]string {
	out := map[string]string{}
	if refused := (*models.Error)(nil); errors.As(err, &refused) {
		for _, f := range refused.Fields {
			out[f.Field] = f.Rule
		}
	}
	return out
}

// What a repair laid anew is kept with the repair, on a slope of the roof, and goes
// with it where it did not hold.
func TestWhatARepairLaidAnew(t *testing.T) {
	svc := town(t)
	ctx := t.Context()
	roofs, err := store.List[models.Roof](svc.Store.Query(ctx), "id", "ours = 1 AND ended_on IS NULL")
	if err != nil || len(roofs) < 2 {
		t.Fatal(roofs, err)
	}
	slopeOf := func(roof models.Roof) (id int64) {
		t.Helper()
		err := svc.Store.Write(ctx, owner.By(), func(tx *store.Tx) error {
			structures, err := store.List[models.Structure](tx.Query, "id", "house_id = ?", roof.HouseID)
			if err != nil {
				return err
			}
			slope := &models.Slope{StructureID: structures[0].ID, Name: "towards the mill", Area: new(units.Area(80))}
			err = tx.Create(slope)
			id = slope.ID
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	here, elsewhere := slopeOf(roofs[0]), slopeOf(roofs[1])
	call, err := svc.TakeCall(ctx, scheduler, NewCall{Caller: "Somebody", About: "shingles on the lawn", HouseID: &roofs[0].HouseID})
	if err != nil {
		t.Fatal(err)
	}
	kept := func() *models.Callback {
		t.Helper()
		c, err := store.Get[models.Callback](svc.Store.Query(ctx), call.ID)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	change := func(with func(*models.Callback)) error {
		c := kept()
		with(c)
		return svc.ChangeCallback(ctx, owner, c)
	}
	if err := svc.NoteOnRoof(ctx, roofer, call.ID, OnRoof{Looked: true, Relaid: "part", RelaidArea: new(units.Area(4))}); !strings.Contains(wrong(err)["relaid"], "goes with a repair") {
		t.Errorf("without a repair: %v", err)
	}
	if err := change(func(c *models.Callback) { c.State = "accepted" }); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name  string
		n     OnRoof
		field string // that is refused; empty is none
		rule  string
	}{
		{"a part of no area", OnRoof{Repaired: true, Relaid: "part", RelaidSlopeID: &here}, "relaid_area", "is needed of a part"},
		{"an area of nothing", OnRoof{Repaired: true, RelaidArea: new(units.Area(4))}, "relaid", "say whether a part or the whole slope"},
		{"a whole slope, which one is not said", OnRoof{Repaired: true, Relaid: "whole_slope"}, "relaid_slope_id", "is needed where a whole slope"},
		{"a whole slope and an area", OnRoof{Repaired: true, Relaid: "whole_slope", RelaidSlopeID: &here, RelaidArea: new(units.Area(4))}, "relaid_area", "is of a part"},
		{"a slope of another house", OnRoof{Repaired: true, Relaid: "whole_slope", RelaidSlopeID: &elsewhere}, "relaid_slope_id", "is not a slope of this roof"},
		{"all of it", OnRoof{Repaired: true, Relaid: "all"}, "relaid", "part, whole_slope"},
		{"before it is repaired", OnRoof{Relaid: "part", RelaidArea: new(units.Area(4)), Note: "began"}, "relaid", "goes with a repair"},
		{"a part", OnRoof{Repaired: true, Relaid: "part", RelaidSlopeID: &here, RelaidArea: new(units.Area(4))}, "", ""},
	} {
		err := svc.NoteOnRoof(ctx, roofer, call.ID, c.n)
		if said := wrong(err)[c.field]; (err != nil) != (c.field != "") || !strings.Contains(said, c.rule) {
			t.Errorf("%s: %v", c.name, err)
		}
		if is := kept(); c.field != "" && (is.State != "accepted" || is.Relaid != "") {
			t.Errorf("%s: it is kept as %+v", c.name, is)
		}
	}
	if c := kept(); c.State != "repaired" || c.Relaid != "part" || *c.RelaidSlopeID != here || *c.RelaidArea != 4 {
		t.Fatalf("the repair is kept as %+v", c)
	}
	for name, n := range map[string]OnRoof{
		"as much again":    {Note: "swept", Relaid: "part", RelaidSlopeID: &here, RelaidArea: new(units.Area(8))},
		"on another slope": {Note: "swept", Relaid: "part", RelaidArea: new(units.Area(4))},
		"all of it":        {Note: "swept", Relaid: "whole_slope", RelaidSlopeID: &here},
	} {
		if err := svc.NoteOnRoof(ctx, roofer, call.ID, n); !strings.Contains(wrong(err)["relaid"], "goes with a repair") {
			t.Errorf("%s, but no repair: %v, and %+v is kept", name, err, kept())
		}
	}
	// A form shows it rounded.
	if err := svc.NoteOnRoof(ctx, roofer, call.ID, OnRoof{Note: "swept", Relaid: "part", RelaidSlopeID: &here, RelaidArea: new(units.Area(4.000004))}); err != nil || *kept().RelaidArea != 4 {
		t.Errorf("a note beside what is kept: %v, %+v", err, kept())
	}
	if err := change(func(c *models.Callback) { c.Relaid, c.RelaidArea = "whole_slope", nil }); err != nil {
		t.Errorf("the office corrects it: %v", err)
	}
	if err := svc.NoteOnRoof(ctx, roofer, call.ID, OnRoof{Hours: new(0.5)}); err != nil || kept().Relaid != "whole_slope" {
		t.Errorf("half an hour more: %v, %+v", err, kept())
	}
	if err := change(func(c *models.Callback) { c.State = "accepted" }); err != nil {
		t.Fatal(err)
	}
	if c := kept(); c.Relaid != "" || c.RelaidSlopeID != nil || c.RelaidArea != nil || !c.RepairedOn.IsZero() {
		t.Errorf("what did not hold is kept as %+v", c)
	}
	if err := svc.NoteOnRoof(ctx, roofer, call.ID, OnRoof{Repaired: true, Relaid: "whole_slope", RelaidSlopeID: &here}); err != nil {
		t.Fatal(err)
	}
	if err := change(func(c *models.Callback) { c.HouseID = &roofs[1].HouseID }); err != nil {
		t.Fatal(err)
	}
	if c := kept(); c.Relaid != "" || c.RelaidSlopeID != nil {
		t.Errorf("with another house goes what was laid anew on this one: %+v", c)
	}
}

// How often promised times were kept: each call has a ring-back of its own, a
// callback without calls its own, and only what was promised for the last twelve
// months counts.
func TestPromisedTimes(t *testing.T) {
	svc := town(t)
	ctx := t.Context()
	before, err := svc.PromisedTimes(ctx, scheduler)
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 11, 25, 17, 0, 0, 0, time.UTC)
	svc.Now = func() time.Time { return now }
	svc.Store.Now = svc.Now
	call := func(join *int64) *models.Callback {
		t.Helper()
		c, err := svc.TakeCall(ctx, scheduler, NewCall{Caller: "Somebody", About: "a drip", JoinTo: join})
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	rung := func(name string, want models.Kept) {
		t.Helper()
		is, err := svc.PromisedTimes(ctx, scheduler)
		got := models.Kept{Due: is.RingBack.Due - before.RingBack.Due, Kept: is.RingBack.Kept - before.RingBack.Kept, NotYet: is.RingBack.NotYet - before.RingBack.NotYet}
		if err != nil || got != want {
			t.Errorf("%s: %+v, %v, want %+v", name, got, err, want)
		}
	}
	set, err := svc.Settings(ctx)
	if err != nil {
		t.Fatal(err)
	}
	hours := time.Duration(set.Company.RingBackHours) * time.Hour
	first := call(nil)
	rung("just promised", models.Kept{NotYet: 1})
	if err := svc.RingBack(ctx, scheduler, first.ID, false); err != nil {
		t.Fatal(err)
	}
	now = now.Add(hours / 2)
	if err := svc.RingBack(ctx, scheduler, first.ID, true); err != nil {
		t.Fatal(err)
	}
	now = now.Add(hours)
	rung("rung back in time", models.Kept{Due: 1, Kept: 1})
	call(&first.ID)
	rung("they rang again", models.Kept{Due: 1, Kept: 1, NotYet: 1})
	now = now.Add(hours)
	rung("and wait too long", models.Kept{Due: 2, Kept: 1})
	now = now.Add(time.Hour)
	if err := svc.RingBack(ctx, scheduler, first.ID, true); err != nil {
		t.Fatal(err)
	}
	rung("and are rung back late", models.Kept{Due: 2, Kept: 1})
	calls, err := store.List[models.Call](svc.Store.Query(ctx), "id", "callback_id = ?", first.ID)
	if err != nil || len(calls) != 2 || calls[0].Attempts != 2 || calls[1].Attempts != 1 || calls[0].RungBackAt == nil || !calls[1].RungBackAt.Equal(now) {
		t.Errorf("the calls are kept as %+v, %v", calls, err)
	}
	err = svc.Store.Write(ctx, owner.By(), func(tx *store.Tx) error {
		by, back := now.Add(-48*time.Hour), now.Add(-50*time.Hour)
		long := now.AddDate(-1, 0, -3)
		for _, c := range []models.Callback{{Ref: "K-1", RingBackBy: &by, RungBackAt: &back}, {Ref: "K-2", RingBackBy: &by}, {Ref: "K-3", RingBackBy: &long}} {
			c.Caller, c.State, c.LearnedOn = "Somebody", "to_look", units.NewDate(2025, 11, 20)
			c.LookBy = units.DateOf(c.RingBackBy.UTC())
			if err := tx.Create(&c); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	rung("two callbacks without calls, and one of long ago", models.Kept{Due: 4, Kept: 2})
	is, err := svc.PromisedTimes(ctx, scheduler)
	if err != nil || is.Look.Due-before.Look.Due != 2 || is.Look.Kept != before.Look.Kept {
		t.Errorf("looks: %+v before, %+v after", before.Look, is.Look)
	}
	if _, err := svc.PromisedTimes(ctx, seller); models.CodeOf(err) != models.Forbidden {
		t.Errorf("the seller is told: %v", err)
	}
}

// Own lives know when a repair first laid anew a part of a roof.
func TestLivesKnowRepairs(t *testing.T) {
	svc := town(t)
	ctx := t.Context()
	roof, err := store.First[models.Roof](svc.Store.Query(ctx), "ours = 1 AND ended_on IS NULL")
	if err != nil {
		t.Fatal(err)
	}
	relaidOn := func() units.Date {
		t.Helper()
		roofs, err := store.LivedRoofs(svc.Store.Query(ctx))
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range roofs {
			if r.ID == roof.ID {
				return r.RelaidOn
			}
		}
		t.Fatal("the roof has no life")
		return 0
	}
	if on := relaidOn(); !on.IsZero() {
		t.Errorf("before a repair: %v", on)
	}
	late, early, before := units.NewDate(2026, 5, 4), units.NewDate(2026, 3, 2), roof.Laid.On.AddDays(-1)
	for i, on := range []units.Date{late, early, before, 0} {
		c := models.Callback{Ref: "K-" + string(rune('1'+i)), HouseID: &roof.HouseID, RoofID: &roof.ID, LearnedOn: on, RepairedOn: on, State: "repaired", Relaid: "part", RelaidArea: new(units.Area(3))}
		if on.IsZero() {
			c.LearnedOn, c.State, c.Relaid, c.RelaidArea = early-9, "accepted", "", nil
		}
		if err := svc.Store.Write(ctx, owner.By(), func(tx *store.Tx) error { return tx.Create(&c) }); err != nil {
			t.Fatal(err)
		}
	}
	if on := relaidOn(); on != early {
		t.Errorf("it was first laid anew in part on %v, want %v", on, early)
	}
}
