package service

import (
	"strings"
	"testing"

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
			return svc.RecordVisit(ctx, roofer, &models.Visit{HouseID: house.ID, Purpose: "callback_look", DoneOn: november(14), Method: "ladder", CallbackID: &first.ID}, nil)
		}, november(17), 0, "2026-11-16 by Rolf, 2026-11-17 by Rolf"},
		{"it was for the second", func() error {
			visit.CallbackID = &second.ID
			return svc.RecordVisit(ctx, roofer, visit, nil)
		}, 0, november(17), "2026-11-16 by Rolf, 2026-11-17 by Rolf"},
		{"a look at the house", func() error { return svc.NoteOnRoof(ctx, roofer, first.ID, OnRoof{On: november(18), Looked: true}) }, november(18), november(17),
			"2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-18 by Rolf"},
		{"one more", func() error { return svc.NoteOnRoof(ctx, roofer, first.ID, OnRoof{On: november(20), Looked: true}) }, november(18), november(17),
			"2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-18 by Rolf, 2026-11-20 by Rolf"},
		{"and one before", func() error { return svc.NoteOnRoof(ctx, roofer, first.ID, OnRoof{On: november(11), Looked: true}) }, november(18), november(17),
			"2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-18 by Rolf, 2026-11-20 by Rolf, 2026-11-11 by Rolf"},
		{"the visit once more", func() error {
			visit.CallbackID = &first.ID
			return svc.RecordVisit(ctx, roofer, visit, nil)
		}, november(18), 0, "2026-11-16 by Rolf, 2026-11-17 by Rolf, 2026-11-18 by Rolf, 2026-11-20 by Rolf, 2026-11-11 by Rolf"},
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
