package owed

import (
	"reflect"
	"strings"
	"testing"

	"overhang/analytics/units"

	"pgregory.net/rapid"
)

func on(t testing.TB, s string) units.Date {
	t.Helper()
	d, err := units.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// A year by hand.
func TestRollForward(t *testing.T) {
	d := func(s string) units.Date { return on(t, s) }
	in := LedgerInput{
		AsOf:     d("2026-03-31"),
		Closings: []Closing{{"2025-12", d("2026-01-15")}, {"2026-01", d("2026-02-10")}},
		Entries: []Entry{
			{Kind: Issued, HappenedOn: d("2025-12-01"), LaidYear: 2025, Amount: 1000_00},
			{Kind: Paid, HappenedOn: d("2025-12-20"), LaidYear: 2025, Amount: 100_00},
			// Learned while December is still open.
			{Kind: Paid, HappenedOn: d("2025-12-22"), LearnedOn: d("2026-01-14"), LaidYear: 2025, Amount: 10_00},
			// And on the day it was closed: January.
			{Kind: Paid, HappenedOn: d("2025-12-23"), LearnedOn: d("2026-01-15"), LaidYear: 2025, Amount: 7_00},
			// The correction of the first payment, learned in February: January is closed by then.
			{Kind: Corrected, HappenedOn: d("2025-12-20"), LearnedOn: d("2026-02-12"), LaidYear: 2025, Amount: -20_00},
			{Kind: Returned, HappenedOn: d("2026-02-15"), LaidYear: 2025, Amount: 5_00},
			{Kind: Recovered, HappenedOn: d("2026-02-16"), LaidYear: 2025, Amount: 30_00},
			{Kind: Unwound, HappenedOn: d("2026-02-28"), LaidYear: 2025, Amount: 2_00},
			{Kind: Issued, HappenedOn: d("2026-03-01"), LaidYear: 2026, Amount: 400_00},
			{Kind: Measured, HappenedOn: d("2026-03-31"), LaidYear: 2025, Amount: 950_00},
			{Kind: Released, HappenedOn: d("2026-03-31"), LaidYear: 2026, Amount: 50_00},
			{Kind: Paid, HappenedOn: d("2026-03-02"), LearnedOn: d("2026-04-01"), LaidYear: 2026, Amount: 1},
		},
	}
	r, err := RollForward(in)
	if err != nil {
		t.Fatal(err)
	}
	want := []Roll{
		{Period: "2025-12", Locked: true, Issued: 1000_00, Paid: 110_00, Closing: 890_00},
		{Period: "2026-01", Locked: true, Opening: 890_00, Paid: 7_00, Closing: 883_00, Late: -7_00},
		{Period: "2026-02", Opening: 883_00, Paid: -25_00, Changes: 2_00, Unwound: 2_00, Closing: 910_00, Recovered: 30_00, Late: 20_00},
		{Period: "2026-03", Opening: 910_00, Issued: 400_00, Changes: -10_00, Released: 50_00, Closing: 1300_00},
	}
	if !reflect.DeepEqual(r.Months, want) {
		t.Errorf("got  %+v\nwant %+v", r.Months, want)
	}
	if r.Closing != 1300_00 || r.LeftOut != 1 || r.LockedThrough != "2026-01" || len(r.Years) != 2 || r.Years[1].Opening != 890_00 || !r.Years[0].Locked || r.Years[1].Locked {
		t.Errorf("closing %v, left out %d, locked through %s, years %+v", r.Closing, r.LeftOut, r.LockedThrough, r.Years)
	}
	before, years := r.After("2026-01")
	if want := (Roll{Period: "2026-01", Locked: true, Issued: 1000_00, Paid: 117_00, Closing: 883_00, Late: -7_00}); before != want {
		t.Errorf("to the first closed month: %+v, not %+v", before, want)
	}
	if want := []Roll{{Period: "2026", Opening: 883_00, Issued: 400_00, Paid: -25_00, Changes: -8_00, Unwound: 2_00, Released: 50_00, Closing: 1300_00, Recovered: 30_00, Late: 20_00}}; !reflect.DeepEqual(years, want) {
		t.Errorf("after it: %+v", years)
	}
	ties := []Tie{{"issued", 2, 1400_00, 1400_00}, {"paid", 5, 92_00, 92_00}, {"recovered", 1, 30_00, 30_00}}
	if !reflect.DeepEqual(r.Ties, ties) {
		t.Errorf("ties %+v", r.Ties)
	}
	if len(r.Cohorts) != 2 || r.Cohorts[0].Years[1].Closing != 950_00 || r.Cohorts[1].Years[1].Closing != 350_00 {
		t.Errorf("cohorts %+v", r.Cohorts)
	}
	if !reflect.DeepEqual(r.PaidTriangle, [][]units.Money{{97_00, -5_00}, {0}}) || r.FirstLaid != 2025 {
		t.Errorf("triangle %v", r.PaidTriangle)
	}
}

// What a measurement says holds, though a payment that it knew of is booked
// later than the month it is of.
func TestMeasuredKnowsWhatWasLearned(t *testing.T) {
	d := func(s string) units.Date { return on(t, s) }
	r, err := RollForward(LedgerInput{
		AsOf:     d("2026-02-01"),
		Closings: []Closing{{"2025-12", d("2026-01-05")}},
		Entries: []Entry{
			{Kind: Issued, HappenedOn: d("2025-06-01"), LaidYear: 2025, Amount: 500_00},
			{Kind: Paid, HappenedOn: d("2025-12-30"), LearnedOn: d("2026-01-06"), LaidYear: 2025, Amount: 80_00},
			{Kind: Measured, HappenedOn: d("2025-12-31"), LearnedOn: d("2026-01-10"), LaidYear: 2025, Amount: 300_00},
			{Kind: Paid, HappenedOn: d("2026-01-20"), LaidYear: 2025, Amount: 40_00},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	// 500 − 80 is 420, brought to 300, less 40 since.
	if r.Closing != 260_00 || r.Years[0].Closing != 500_00 || r.Years[1].Changes != -120_00 {
		t.Errorf("closing %v, years %+v", r.Closing, r.Years)
	}
}

func TestLedgerRefusals(t *testing.T) {
	good := Entry{Kind: Paid, HappenedOn: on(t, "2026-03-01"), LaidYear: 2024, Amount: 100}
	for want, spoil := range map[string]func(*LedgerInput){
		"as_of":                 func(in *LedgerInput) { in.AsOf = 0 },
		"closings[0].month":     func(in *LedgerInput) { in.Closings = []Closing{{"March", 1}} },
		"closings[0].closed_on": func(in *LedgerInput) { in.Closings = []Closing{{"2026-03", on(t, "2026-03-31")}} },
		"closings[1]:": func(in *LedgerInput) {
			in.Closings = []Closing{{"2026-02", on(t, "2026-03-04")}, {"2026-01", on(t, "2026-03-05")}}
		},
		"entries[0].kind":                      func(in *LedgerInput) { in.Entries[0].Kind = "spent" },
		"entries[0].happened_on":               func(in *LedgerInput) { in.Entries[0].HappenedOn = 0 },
		"entries[0].learned_on":                func(in *LedgerInput) { in.Entries[0].LearnedOn = in.Entries[0].HappenedOn - 1 },
		"entries[0].laid_year: must be a year": func(in *LedgerInput) { in.Entries[0].LaidYear = 2027 },
		"entries[0].laid_year":                 func(in *LedgerInput) { in.Entries[0].LaidYear = 0 },
		"entries[0].amount_cents":              func(in *LedgerInput) { in.Entries[0].Amount = -1 },
		"entries[0].corrects: goes":            func(in *LedgerInput) { in.Entries[0].Corrects = Paid },
		"entries[0].corrects: must":            func(in *LedgerInput) { in.Entries[0].Kind, in.Entries[0].Corrects = Corrected, Measured },
	} {
		in := LedgerInput{AsOf: on(t, "2026-04-01"), Entries: []Entry{good}}
		spoil(&in)
		if _, err := RollForward(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
}

// history draws a company's ledger: promises, payments, returns, recoveries,
// corrections and new estimates, each learned on the day or up to a year later.
func history(t *rapid.T) LedgerInput {
	start := units.NewDate(2020, 1, 1)
	in := LedgerInput{AsOf: start + units.Date(rapid.IntRange(30, 2000).Draw(t, "as of"))}
	for m, on := start.Month(), units.Date(0); m < in.AsOf.Month(); m++ {
		if rapid.IntRange(0, 3).Draw(t, "closed") > 0 {
			on = max(on, m.Last()+units.Date(rapid.IntRange(1, 60).Draw(t, "after")))
			in.Closings = append(in.Closings, Closing{m.String(), on})
		}
	}
	corrects := []EntryKind{"", Issued, Paid, Returned, Recovered, Released}
	for range rapid.IntRange(0, 40).Draw(t, "entries") {
		e := Entry{Kind: rapid.SampledFrom(entryKinds).Draw(t, "kind"), HappenedOn: start + units.Date(rapid.IntRange(0, 2000).Draw(t, "happened")),
			Amount: units.Money(rapid.IntRange(0, 5_000_00).Draw(t, "amount"))}
		if rapid.Bool().Draw(t, "late") {
			e.LearnedOn = e.HappenedOn + units.Date(rapid.IntRange(0, 400).Draw(t, "learned"))
		}
		e.LaidYear = e.HappenedOn.Year() - rapid.IntRange(0, 4).Draw(t, "age")
		if e.Kind == Corrected {
			e.Corrects = rapid.SampledFrom(corrects).Draw(t, "corrects")
		}
		if (e.Kind == Corrected || e.Kind == ChangeInEstimate || e.Kind == Unwound) && rapid.Bool().Draw(t, "down") {
			e.Amount = -e.Amount
		}
		in.Entries = append(in.Entries, e)
	}
	return in
}

// The roll-forward balances, by month, year and cohort, holds each entry once,
// and what was closed stays as it was whatever is learned later.
func TestRollForwardBalances(t *testing.T) {
	check := func(t *rapid.T) {
		in := history(t)
		r, err := RollForward(in)
		if err != nil {
			t.Fatal(err)
		}
		balanced := func(what string, rolls []Roll) (sum Roll) {
			opening := units.Money(0)
			for _, m := range rolls {
				if m.Opening != opening || m.Closing != m.Opening+m.Issued-m.Paid+m.Changes {
					t.Fatalf("%s: %+v does not follow from %v", what, m, opening)
				}
				opening = m.Closing
				sum.add(m)
			}
			sum.Closing = opening
			return sum
		}
		months, years := balanced("months", r.Months), balanced("years", r.Years)
		var cohorts Roll
		for _, c := range r.Cohorts {
			one := balanced("cohort", c.Years)
			cohorts.add(one)
			cohorts.Closing += one.Closing
		}
		if months != years || months != cohorts || months.Closing != r.Closing {
			t.Fatalf("months %+v\nyears %+v\ncohorts %+v", months, years, cohorts)
		}
		for i, m := range r.Months {
			before, rest := r.After(m.Period)
			if all := balanced("after "+m.Period, append([]Roll{before}, rest...)); all != months || before.Closing != m.Closing || len(rest) == 0 != (i == len(r.Months)-1) {
				t.Fatalf("after %s: %+v and %+v", m.Period, before, rest)
			}
		}
		// The cost lines, added up here.
		var paid, recovered, issued, measured units.Money
		for _, e := range in.Entries {
			if max(e.LearnedOn, e.HappenedOn) > in.AsOf {
				continue
			}
			switch {
			case e.Kind == Paid, e.Kind == Corrected && (e.Corrects == "" || e.Corrects == Paid):
				paid += e.Amount
			case e.Kind == Returned, e.Corrects == Returned:
				paid -= e.Amount
			case e.Kind == Recovered, e.Corrects == Recovered:
				recovered += e.Amount
			case e.Kind == Issued, e.Corrects == Issued:
				issued += e.Amount
			case e.Kind == ChangeInEstimate, e.Kind == Unwound:
				measured += e.Amount
			case e.Kind == Released, e.Corrects == Released:
				measured -= e.Amount
			}
		}
		if months.Paid != paid || months.Recovered != recovered || months.Issued != issued {
			t.Fatalf("%+v, want paid %v, recovered %v, issued %v", months, paid, recovered, issued)
		}
		var cells units.Money
		for _, row := range r.PaidTriangle {
			for _, x := range row {
				cells += x
			}
		}
		if cells != paid {
			t.Fatalf("the triangle holds %v of %v", cells, paid)
		}
		without := true
		for _, e := range in.Entries {
			without = without && e.Kind != Measured
		}
		if without && months.Changes != measured {
			t.Fatalf("changes %v, want %v", months.Changes, measured)
		}
		for _, tie := range r.Ties {
			if tie.Sum != tie.Booked {
				t.Fatalf("%+v", tie)
			}
		}
		// As it stood on an earlier day.
		earlier := in
		earlier.AsOf = units.NewDate(2020, 1, 1) + units.Date(rapid.IntRange(0, int(in.AsOf-units.NewDate(2020, 1, 1))).Draw(t, "earlier"))
		before, err := RollForward(earlier)
		if err != nil {
			t.Fatal(err)
		}
		now := map[string]Roll{}
		for _, m := range r.Months {
			now[m.Period] = m
		}
		for _, m := range before.Months {
			if m.Locked && now[m.Period] != m {
				t.Fatalf("locked on %v as %+v, now %+v", earlier.AsOf, m, now[m.Period])
			}
		}
	}
	for range 10 { // of a hundred histories each
		rapid.Check(t, check)
	}
}

func BenchmarkRollForward(b *testing.B) {
	in := LedgerInput{AsOf: units.NewDate(2026, 11, 25)}
	for i := range 20_000 {
		day := units.NewDate(2016, 1, 1) + units.Date(i%3900)
		kind := Paid
		if i%3 == 0 {
			kind = Issued
		}
		in.Entries = append(in.Entries, Entry{Kind: kind, HappenedOn: day, LearnedOn: day + units.Date(i%50), LaidYear: day.Year(), Amount: units.Money(i)})
	}
	for b.Loop() {
		if _, err := RollForward(in); err != nil {
			b.Fatal(err)
		}
	}
}
