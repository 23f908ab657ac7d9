package models

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

// When a callback was looked at is told by the first look, and moved or taken
// back only by the visit that told it.
func TestAVisitTellsWhenACallbackWasLookedAt(t *testing.T) {
	is := func(change func(*Callback)) *Callback {
		c := &Callback{Row: Row{ID: 7}, State: "to_look", LearnedOn: day("2026-06-01")}
		change(c)
		return c
	}
	told := func(on string) func(*Callback) {
		return func(c *Callback) { c.LookedOn, c.LookedVisitID = day(on), new(int64(3)) }
	}
	visit := func(on string, callback int64) *Visit {
		v := &Visit{Row: Row{ID: 3}, DoneOn: day(on)}
		if callback != 0 {
			v.CallbackID = &callback
		}
		return v
	}
	booked := &Visit{Row: Row{ID: 3}, CallbackID: new(int64(7))}
	for _, c := range []struct {
		name   string
		is     *Callback
		was, v *Visit
		want   string // the day of the look; empty is none
		own    bool   // it is told by the visit
		same   bool   // nothing has changed
	}{
		{"a new visit", is(func(*Callback) {}), nil, visit("2026-06-05", 7), "2026-06-05", true, false},
		{"one that was booked", is(func(*Callback) {}), booked, visit("2026-06-05", 7), "2026-06-05", true, false},
		{"on the day of the call", is(func(*Callback) {}), nil, visit("2026-06-01", 7), "2026-06-01", true, false},
		{"before the call", is(func(*Callback) {}), nil, visit("2026-05-31", 7), "", false, true},
		{"for no callback", is(func(*Callback) {}), nil, visit("2026-06-05", 0), "", false, true},
		{"for another", is(func(*Callback) {}), nil, visit("2026-06-05", 8), "", false, true},
		{"a day that was typed", is(func(c *Callback) { c.LookedOn = day("2026-06-04") }), nil, visit("2026-06-05", 7), "2026-06-04", false, true},
		{"a day that another visit told", is(func(c *Callback) { c.LookedOn, c.LookedVisitID = day("2026-06-04"), new(int64(2)) }), nil, visit("2026-06-03", 7), "2026-06-04", false, true},
		{"refused", is(func(c *Callback) { c.State = "refused" }), nil, visit("2026-06-05", 7), "", false, true},
		{"closed", is(func(c *Callback) { c.State, c.RepairedOn = "closed", day("2026-06-06") }), nil, visit("2026-06-05", 7), "", false, true},
		{"on the day of the repair", is(func(c *Callback) { c.State, c.RepairedOn = "repaired", day("2026-06-05") }), nil, visit("2026-06-05", 7), "2026-06-05", true, false},
		{"after the repair", is(func(c *Callback) { c.State, c.RepairedOn = "repaired", day("2026-06-05") }), nil, visit("2026-06-06", 7), "", false, true},
		{"after a repair of no known day", is(func(c *Callback) { c.State = "repaired" }), nil, visit("2026-06-06", 7), "", false, true},
		{"its own day is corrected", is(told("2026-06-05")), visit("2026-06-05", 7), visit("2026-06-03", 7), "2026-06-03", true, false},
		{"its own day stays", is(told("2026-06-05")), visit("2026-06-05", 7), visit("2026-06-05", 7), "2026-06-05", true, true},
		{"of a closed one", is(func(c *Callback) { told("2026-06-05")(c); c.State, c.RepairedOn = "closed", day("2026-06-08") }), visit("2026-06-05", 7), visit("2026-06-08", 7), "2026-06-08", true, false},
		{"it was after the repair", is(func(c *Callback) { told("2026-06-05")(c); c.State, c.RepairedOn = "closed", day("2026-06-08") }), visit("2026-06-05", 7), visit("2026-06-09", 7), "", false, false},
		{"it was for another", is(told("2026-06-05")), visit("2026-06-05", 7), visit("2026-06-05", 8), "", false, false},
		{"typed on the same day before", is(func(c *Callback) { c.LookedOn = day("2026-06-05") }), visit("2026-06-05", 7), visit("2026-06-03", 7), "2026-06-05", false, true},
		{"typed anew since", is(told("2026-06-04")), visit("2026-06-05", 7), visit("2026-06-03", 7), "2026-06-04", true, true},
	} {
		changed := c.is.LookedAt(c.was, c.v)
		if c.is.LookedOn.String() != c.want || changed == c.same || (c.is.LookedVisitID != nil && *c.is.LookedVisitID == 3) != c.own {
			t.Errorf("%s: looked at on %q by %v, changed %v", c.name, c.is.LookedOn, c.is.LookedVisitID, changed)
		}
	}
}

// Which promised times are due, and which of them were kept.
func TestHowPromisedTimesAreCounted(t *testing.T) {
	zone := time.FixedZone("", -6*3600)
	now, today := time.Date(2026, 6, 20, 15, 0, 0, 0, time.UTC), day("2026-06-20")
	at := func(day, hour int) *time.Time { return new(time.Date(2026, 6, day, hour, 0, 0, 0, time.UTC)) }
	due, kept, notYet, none := Kept{Due: 1}, Kept{Due: 1, Kept: 1}, Kept{NotYet: 1}, Kept{}
	for _, c := range []struct {
		name     string
		is       Callback
		by, done *time.Time
		want     Kept
	}{
		{"rung back before it", Callback{}, at(12, 15), at(12, 14), kept},
		{"to the minute", Callback{}, at(12, 15), at(12, 15), kept},
		{"after it", Callback{}, at(12, 15), at(12, 16), due},
		{"not yet, and late", Callback{State: "new"}, at(20, 14), nil, due},
		{"this very moment", Callback{State: "new"}, at(20, 15), nil, due},
		{"there is still time", Callback{State: "new"}, at(20, 16), nil, notYet},
		{"early, and not due", Callback{}, at(21, 15), at(20, 10), notYet},
		{"refused before it without a word", Callback{State: "refused", DecidedOn: day("2026-06-12")}, at(12, 15), nil, none},
		{"refused after it", Callback{State: "refused", DecidedOn: day("2026-06-13")}, at(12, 15), nil, due},
		{"refused on that day where we are", Callback{State: "refused", DecidedOn: day("2026-06-11")}, at(12, 3), nil, none},
		{"closed before it", Callback{State: "closed", DecidedOn: day("2026-06-10"), ClosedOn: day("2026-06-11")}, at(12, 15), nil, none},
		{"accepted before it and nobody told", Callback{State: "accepted", DecidedOn: day("2026-06-11")}, at(12, 15), nil, due},
		{"closed, and rung back", Callback{State: "closed", ClosedOn: day("2026-06-11")}, at(12, 15), at(11, 9), kept},
	} {
		var k Kept
		k.CountRingBack(&c.is, *c.by, c.done, now, zone)
		if k != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, k, c.want)
		}
	}
	for _, c := range []struct {
		name string
		is   Callback
		want Kept
	}{
		{"nothing was promised", Callback{LookedOn: day("2026-06-10")}, none},
		{"before it", Callback{LookBy: day("2026-06-12"), LookedOn: day("2026-06-10")}, kept},
		{"on the day", Callback{LookBy: day("2026-06-12"), LookedOn: day("2026-06-12")}, kept},
		{"a day late", Callback{LookBy: day("2026-06-12"), LookedOn: day("2026-06-13")}, due},
		{"not yet, and late", Callback{LookBy: day("2026-06-19")}, due},
		{"today", Callback{LookBy: day("2026-06-20")}, notYet},
		{"today, and looked at", Callback{LookBy: day("2026-06-20"), LookedOn: day("2026-06-18")}, notYet},
		{"to come", Callback{LookBy: day("2026-06-25")}, notYet},
		{"refused on the telephone", Callback{LookBy: day("2026-06-12"), DecidedOn: day("2026-06-11"), State: "refused"}, none},
		{"repaired at once", Callback{LookBy: day("2026-06-12"), RepairedOn: day("2026-06-12"), State: "repaired"}, none},
		{"closed by then", Callback{LookBy: day("2026-06-12"), ClosedOn: day("2026-06-11"), State: "closed"}, none},
		{"decided too late, without a look", Callback{LookBy: day("2026-06-12"), DecidedOn: day("2026-06-13"), State: "accepted"}, due},
		{"decided by then, looked at later", Callback{LookBy: day("2026-06-12"), DecidedOn: day("2026-06-11"), LookedOn: day("2026-06-15"), State: "accepted"}, due},
	} {
		var k Kept
		k.CountLook(&c.is, today)
		if k != c.want {
			t.Errorf("a look, %s: %+v, want %+v", c.name, k, c.want)
		}
	}
	for _, c := range []struct {
		k       Kept
		percent int
		told    bool
	}{{Kept{Due: 9, Kept: 9, NotYet: 40}, 0, false}, {Kept{Due: 10, Kept: 9}, 90, true}, {Kept{Due: 200, Kept: 199}, 99, true}, {Kept{Due: 30, Kept: 30}, 100, true}, {Kept{Due: 12}, 0, true}} {
		if percent, told := c.k.Share(); percent != c.percent || told != c.told {
			t.Errorf("of %+v the share is %d, told %v", c.k, percent, told)
		}
	}
}

// Which state may follow which: every pair is told, and a refused one names the
// field.
func TestWhichStateMayFollow(t *testing.T) {
	may := map[string]string{
		"new": "to_look accepted refused", "to_look": "accepted refused", "accepted": "repaired to_look refused",
		"refused": "closed to_look accepted", "repaired": "closed accepted", "closed": "repaired refused accepted",
	}
	for _, was := range CallbackStates {
		for _, is := range CallbackStates {
			c := &Callback{State: is}
			err := c.MayFollow(was)
			want := was == is || slices.Contains(strings.Fields(may[was]), is)
			if (err == nil) != want {
				t.Errorf("from %s to %s: %v", was, is, err)
			}
			if err != nil && !strings.Contains(err.Error(), "state") {
				t.Errorf("from %s to %s is refused without its field: %v", was, is, err)
			}
		}
	}
	for _, c := range []*Callback{{State: "closed", RepairedOn: day("2026-11-20")}, {State: "closed", PaidOn: day("2026-11-20")}} {
		if err := c.MayFollow("accepted"); err != nil {
			t.Errorf("repaired or settled by a payment, an accepted callback is not closed: %v", err)
		}
	}
	if err := (&Callback{State: "accepted", CauseFound: "nothing_wrong"}).MayFollow("to_look"); err == nil {
		t.Error("nothing wrong is accepted")
	}
}

func TestWhatIsNext(t *testing.T) {
	today := day("2026-11-25")
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	before, after := now.Add(-time.Hour), now.Add(time.Hour)
	house := int64(1)
	for _, c := range []struct {
		is   Callback
		do   string
		late bool
	}{
		{Callback{State: "new", RingBackBy: &after, WaterComingIn: true}, "ring_back", false},
		{Callback{State: "new", RingBackBy: &before}, "ring_back", true},
		{Callback{State: "to_look", WaterComingIn: true, WaitingOn: "crew"}, "cover", false},
		{Callback{State: "to_look", LookBy: today - 1}, "find", true},
		{Callback{State: "to_look", HouseID: &house, LookBy: today}, "look", false},
		{Callback{State: "to_look", HouseID: &house, LookBy: today - 1}, "look", true},
		{Callback{State: "to_look", HouseID: &house, LookBy: today - 1, WaitingOn: "owner"}, "wait", true},
		{Callback{State: "to_look", HouseID: &house, LookedOn: today, LookBy: today - 1}, "decide", false},
		{Callback{State: "accepted", RepairBy: today - 1, WaitingOn: "weather"}, "wait", true},
		{Callback{State: "accepted", RepairBy: today + 1}, "repair", false},
		{Callback{State: "repaired"}, "settle", false},
		{Callback{State: "repaired", PaidOn: today}, "close", false},
		{Callback{State: "refused"}, "tell", false},
		{Callback{State: "closed"}, "nothing", false},
	} {
		if a := c.is.Ahead(now, today); a.Do != c.do || a.Late != c.late {
			t.Errorf("%+v: next is %s, late %v; want %s, %v", c.is, a.Do, a.Late, c.do, c.late)
		}
	}
}

// Whatever is written, corrected and borne by whom: what is left by bearer adds
// up to all lines, and a correction leaves the right line alone, to the cent.
func TestCorrectionsLoseNoCent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		today := day("2026-11-25")
		draw := func() CostLine {
			l := CostLine{On: today, LearnedOn: today, Kind: rapid.SampledFrom(CostKinds).Draw(t, "kind"),
				Bearer: rapid.SampledFrom(append([]string{""}, Bearers...)).Draw(t, "bearer"),
				Amount: units.Money(rapid.Int64Range(0, 99_999_999).Draw(t, "amount"))}
			if l.Amount > 0 {
				l.Tax = units.Money(rapid.Int64Range(0, 9_999_999).Draw(t, "tax"))
			}
			if l.Lowers() {
				l.Amount, l.Tax = -l.Amount, -l.Tax
			} else if l.Kind == "labour" {
				l.Hours = ptr(rapid.Float64Range(0, 100).Draw(t, "hours"))
			}
			return l
		}
		right := map[string]units.Money{}
		bearer := rapid.SampledFrom(append([]string{""}, Bearers...)).Draw(t, "whose")
		var lines []CostLine
		add := func(l CostLine) int64 {
			l.ID = int64(len(lines) + 1)
			if err := l.Validate(); err != nil {
				t.Fatalf("%+v: %v", l, err)
			}
			lines = append(lines, l)
			return l.ID
		}
		var all units.Money
		count := func(l CostLine) {
			who := l.Bearer
			if who == "" {
				who = bearer
			}
			right[who] += l.Cost()
			all += l.Cost()
		}
		for range rapid.IntRange(0, 8).Draw(t, "lines") {
			l := draw()
			l.ID = add(l)
			for range rapid.IntRange(0, 2).Draw(t, "corrections") {
				back := l.Reversal(today)
				if back.Cost() != 0 && !back.Reverses() {
					t.Fatalf("%+v does not take %+v back", back, l)
				}
				add(back)
				again := draw()
				again.Corrects = ptr(l.ID)
				again.ID = add(again)
				if again.Reverses() {
					t.Fatalf("%+v stands in the place of a line and is taken for its reversal", again)
				}
				l = again
			}
			count(l)
		}
		var left units.Money
		for _, b := range BorneBy(lines, bearer) {
			left += b.Left()
			if b.Left() != right[b.Bearer] {
				t.Fatalf("%q bears %v, want %v", b.Bearer, b.Left(), right[b.Bearer])
			}
		}
		if left != all {
			t.Fatalf("by bearer it is %v, in all %v", left, all)
		}
	})
}

// What is left empty is worked out, and a typed nought stays nought. That own
// hours, a line of tax and what is paid back bear no sales tax is common
// practice, no source.
func TestWhatACostLineLeavesEmpty(t *testing.T) {
	branch := &Branch{LabourRate: 86 * units.Dollar, TaxRate: 0.0825}
	none, ten, hours := (*units.Money)(nil), ptr(10*units.Dollar), ptr(1.5)
	nought := ptr(units.Money(0))
	for _, c := range []struct {
		kind        string
		hours       *float64
		amount, tax *units.Money
		wantAmount  units.Money
		wantTax     units.Money
		refused     bool
	}{
		{"labour", hours, none, none, 129_00, 0, false}, // 1.5 × 86
		{"labour", hours, nought, none, 0, 0, false},
		{"labour", hours, nought, nought, 0, 0, false},
		{"labour", hours, ten, none, 10_00, 0, false},
		{"labour", hours, none, ptr(units.Money(77)), 129_00, 77, false},
		{"labour", nil, none, none, 0, 0, true},
		{"labour", nil, nought, none, 0, 0, false},
		{"labour", nil, ten, none, 10_00, 0, false},
		{"material", nil, ten, none, 10_00, 83, false}, // 82.5 cents
		{"material", nil, ten, nought, 10_00, 0, false},
		{"material", nil, ten, ptr(units.Money(80)), 10_00, 80, false},
		{"material", nil, nought, none, 0, 0, false},
		{"material", hours, none, none, 0, 0, true}, // hours make the amount of labour alone
		{"material", nil, none, nought, 0, 0, true},
		{"subcontractor", nil, ten, none, 10_00, 83, false},
		{"access", nil, ten, none, 10_00, 83, false},
		{"disposal", nil, ten, none, 10_00, 83, false},
		{"tax", nil, ten, none, 10_00, 0, false},
		{"recovery", nil, ptr(-10 * units.Dollar), none, -10_00, 0, false},
		{"recovery", nil, ptr(-10 * units.Dollar), ptr(units.Money(-80)), -10_00, -80, false},
		{"credit", nil, ptr(-10 * units.Dollar), none, -10_00, -83, false},
		{"credit", nil, ptr(-10 * units.Dollar), nought, -10_00, 0, false},
	} {
		// What the line says before is not read.
		line := &CostLine{On: day("2026-11-25"), LearnedOn: day("2026-11-25"), Kind: c.kind, Hours: c.hours, Amount: 1, Tax: 1}
		err := branch.Price(line, c.amount, c.tax)
		if c.refused {
			if err == nil || !strings.Contains(err.Error(), "amount") {
				t.Errorf("%+v: refused with %v, want the amount", c, err)
			}
			continue
		}
		if err != nil || line.Amount != c.wantAmount || line.Tax != c.wantTax {
			t.Errorf("%s, hours %v: %v and %v, %v; want %v and %v", c.kind, c.hours != nil, line.Amount, line.Tax, err, c.wantAmount, c.wantTax)
		}
		if err := line.Validate(); err != nil {
			t.Errorf("%s: %v", c.kind, err)
		}
	}
}

// The tax is that of arithmetic in whole numbers: of a rate in thousandths of a
// per cent, half a cent goes away from zero, and the sign takes nothing away.
func TestTheTaxOnAnAmount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		amount := rapid.Int64Range(0, 1_000_000_000).Draw(t, "cents")
		thousandths := rapid.Int64Range(0, 50_000).Draw(t, "thousandths of a per cent")
		want := units.Money((2*amount*thousandths + 100_000) / 200_000)
		rate := float64(thousandths) / 1000 / 100
		if got := taxOn(units.Money(amount), rate); got != want {
			t.Fatalf("the tax on %d cents at %v is %d, want %d", amount, rate, got, want)
		}
		if got := taxOn(-units.Money(amount), rate); got != -want {
			t.Fatalf("the tax on -%d cents at %v is %d, want %d", amount, rate, got, -want)
		}
	})
}
