package owed

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"overhang/analytics/units"
)

// EntryKind is what an entry of the ledger is.
type EntryKind string

// The kinds of entries. Issued, paid, returned, recovered and released are
// never below nought; the others are signed.
const (
	Issued           EntryKind = "issued"    // set aside for a promise given
	Paid             EntryKind = "paid"      // a cost under the promise
	Returned         EntryKind = "returned"  // money back for a cost that was paid: a credit, material taken back
	Recovered        EntryKind = "recovered" // borne by a maker, subcontractor or insurer; never part of the provision
	Corrected        EntryKind = "corrected" // the difference that an earlier entry was wrong by
	ChangeInEstimate EntryKind = "estimate"  // a change in the estimate, by its difference
	Measured         EntryKind = "measured"  // a change in the estimate, by the amount that is needed on the day
	Unwound          EntryKind = "unwound"   // passage of time under a discount
	Released         EntryKind = "released"  // set aside and not used: the promise is over
)

var entryKinds = []EntryKind{Issued, Paid, Returned, Recovered, Corrected, ChangeInEstimate, Measured, Unwound, Released}

// Entry is one thing that happened, and the day it was learned. A cost line is a
// paid entry, its credits are returned entries and its recoveries recovered
// ones.
type Entry struct {
	Ref        string      `json:"ref,omitempty"`
	Kind       EntryKind   `json:"kind"`
	HappenedOn units.Date  `json:"happened_on"`
	LearnedOn  units.Date  `json:"learned_on,omitempty"` // no date: the day it happened
	LaidYear   int         `json:"laid_year"`            // the cohort
	Amount     units.Money `json:"amount_cents"`
	// Corrects says what a correction changes: issued, paid (when empty),
	// returned, recovered or released. The amount is added to that.
	Corrects EntryKind `json:"corrects,omitempty"`
	// Month is where the entry was booked when that month was closed. Empty: it
	// is still to be booked.
	Month string `json:"booked_month,omitempty"` // YYYY-MM
	// Index is the caller's own number for the entry; Book gives it back.
	Index int `json:"-"`
}

// Effect is what the entry does to the provision. That of a measurement is not
// known before it is booked.
func (e Entry) Effect() units.Money { return e.moves().effect() }

// Booked is an entry in its month.
type Booked struct {
	Entry
	Change units.Money `json:"change_cents"` // of the provision
	Late   bool        `json:"late,omitempty"`
	moves  Roll
	month  units.Month
}

// Closing is the day on which a month was closed, and all months before it.
// What is learned on that day or later lands in an open month.
type Closing struct {
	Month    string     `json:"month"` // YYYY-MM
	ClosedOn units.Date `json:"closed_on"`
}

// LedgerInput is what a roll-forward is made of. Facts learned and months closed
// after AsOf are not known yet and are left out.
type LedgerInput struct {
	AsOf     units.Date `json:"as_of"`
	Closings []Closing  `json:"closings,omitempty"`
	Entries  []Entry    `json:"entries"`
}

// Roll is the movement of the provision in a month or a year:
//
//	closing = opening + issued − paid + changes
//
// to the cent. Paid is less what was returned, and both carry their corrections.
type Roll struct {
	Period  string      `json:"period"` // YYYY-MM or YYYY
	Locked  bool        `json:"locked,omitempty"`
	Opening units.Money `json:"opening_cents"`
	Issued  units.Money `json:"issued_cents"`
	Paid    units.Money `json:"paid_cents"`
	// Changes are the changes in estimate for promises already given. Unwound is
	// a part of them, Released is taken off within them.
	Changes  units.Money `json:"changes_cents"`
	Unwound  units.Money `json:"unwound_cents,omitempty"`
	Released units.Money `json:"released_cents,omitempty"`
	Closing  units.Money `json:"closing_cents"`
	// Recovered is beside the provision: what others bore is no part of it.
	Recovered units.Money `json:"recovered_cents,omitempty"`
	// Late is how much of closing less opening is of things that happened in an
	// earlier month and were learned after that had been closed.
	Late units.Money `json:"late_cents,omitempty"`
}

// CohortRoll is the roll-forward of the promises of one year laid.
type CohortRoll struct {
	LaidYear int    `json:"laid_year"`
	Years    []Roll `json:"years"`
}

// Tie shows that the roll-forward holds each entry once: the entries of the
// input on the one side, the columns of the roll-forward on the other.
type Tie struct {
	Column  string      `json:"column"`
	Entries int         `json:"entries"`
	Sum     units.Money `json:"entries_cents"`
	Booked  units.Money `json:"booked_cents"`
}

// LedgerResult is the roll-forward by month, by calendar year and by year laid.
type LedgerResult struct {
	AsOf          units.Date   `json:"as_of"`
	LockedThrough string       `json:"locked_through,omitempty"` // YYYY-MM
	Months        []Roll       `json:"months"`
	Years         []Roll       `json:"years"`
	Cohorts       []CohortRoll `json:"cohorts"`
	Closing       units.Money  `json:"closing_cents"`
	Ties          []Tie        `json:"ties"`
	LeftOut       int          `json:"not_learned_yet"` // entries learned after AsOf
	// PaidTriangle is what was paid, less what was returned, by year laid and
	// year since, by the day it happened: the input of ChainLadder. Empty where
	// nothing was paid.
	PaidTriangle [][]units.Money `json:"paid_triangle_cents,omitempty"`
	FirstLaid    int             `json:"first_laid_year,omitempty"` // of its first row
}

func parseMonth(s string) (units.Month, error) {
	t, err := time.Parse("2006-01", s)
	if err != nil {
		return 0, fmt.Errorf("month %q: write year-month, such as 2026-11", s)
	}
	return units.NewMonth(t.Year(), t.Month()), nil
}

// closings are the months closed by a day, in order.
type closings []struct {
	month units.Month
	on    units.Date
}

// open gives the first month that is open to what is learned on a day.
func (c closings) open(on units.Date) units.Month {
	first := units.Month(0)
	for _, k := range c {
		if k.on <= on {
			first = k.month + 1
		}
	}
	return first
}

func (in LedgerInput) closed() (closings, error) {
	var out closings
	for i, c := range in.Closings {
		m, err := parseMonth(c.Month)
		if err != nil {
			return nil, fmt.Errorf("closings[%d].%w", i, err)
		}
		if c.ClosedOn <= m.Last() {
			return nil, fmt.Errorf("closings[%d].closed_on: must be after the last day of %s, not %v", i, c.Month, c.ClosedOn)
		}
		if i > 0 && (m <= out[i-1].month || c.ClosedOn < out[i-1].on) {
			return nil, fmt.Errorf("closings[%d]: must be a later month than the one before it, and not closed before it", i)
		}
		out = append(out, struct {
			month units.Month
			on    units.Date
		}{m, c.ClosedOn})
	}
	// What was closed after the day asked about is open still.
	return slices.DeleteFunc(out, func(c struct {
		month units.Month
		on    units.Date
	}) bool {
		return c.on > in.AsOf
	}), nil
}

func (e Entry) validate() error {
	if !slices.Contains(entryKinds, e.Kind) {
		names := make([]string, len(entryKinds))
		for i, k := range entryKinds {
			names[i] = string(k)
		}
		return fmt.Errorf("kind: must be one of %s, not %q", strings.Join(names, ", "), e.Kind)
	}
	if e.HappenedOn <= 0 || e.HappenedOn.Year() > 9998 {
		return fmt.Errorf("happened_on: a day is needed")
	}
	if e.LearnedOn != 0 && e.LearnedOn < e.HappenedOn {
		return fmt.Errorf("learned_on: %v is before it happened, %v", e.LearnedOn, e.HappenedOn)
	}
	if y := e.HappenedOn.Year(); e.LaidYear > y || e.LaidYear < y-mostYears {
		return fmt.Errorf("laid_year: must be a year up to %d and at most %d years earlier, not %d", y, mostYears, e.LaidYear)
	}
	signed := e.Kind == Corrected || e.Kind == ChangeInEstimate || e.Kind == Unwound
	if e.Amount > mostMoney || e.Amount < -mostMoney || !signed && e.Amount < 0 {
		return fmt.Errorf("amount_cents: must lie between 0 and %v (corrections, estimates and unwinding may be below 0), not %v", mostMoney, e.Amount)
	}
	switch {
	case e.Kind != Corrected && e.Corrects != "":
		return fmt.Errorf("corrects: goes with a correction alone")
	case e.Kind == Measured && e.Month != "":
		return fmt.Errorf("booked_month: what was booked is the change that a measurement made, not the measurement")
	case e.Kind == Corrected && e.Corrects != "" && !slices.Contains([]EntryKind{Issued, Paid, Returned, Recovered, Released}, e.Corrects):
		return fmt.Errorf("corrects: must be issued, paid, returned, recovered or released, not %q", e.Corrects)
	}
	if e.Month != "" {
		m, err := parseMonth(e.Month)
		if err != nil {
			return fmt.Errorf("booked_%w", err)
		}
		if m < e.HappenedOn.Month() {
			return fmt.Errorf("booked_month: %s is before it happened, %v", e.Month, e.HappenedOn)
		}
	}
	return nil
}

// moves gives what an entry does to each column of a Roll.
func (e Entry) moves() Roll {
	kind := e.Kind
	if kind == Corrected {
		if kind = e.Corrects; kind == "" {
			kind = Paid
		}
	}
	switch kind {
	case Issued:
		return Roll{Issued: e.Amount}
	case Paid:
		return Roll{Paid: e.Amount}
	case Returned:
		return Roll{Paid: -e.Amount}
	case Recovered:
		return Roll{Recovered: e.Amount}
	case Unwound:
		return Roll{Changes: e.Amount, Unwound: e.Amount}
	case Released:
		return Roll{Changes: -e.Amount, Released: e.Amount}
	}
	return Roll{Changes: e.Amount}
}

// effect is what the movement does to the provision.
func (r Roll) effect() units.Money { return r.Issued - r.Paid + r.Changes }

func (r *Roll) add(m Roll) {
	r.Issued += m.Issued
	r.Paid += m.Paid
	r.Changes += m.Changes
	r.Unwound += m.Unwound
	r.Released += m.Released
	r.Recovered += m.Recovered
	r.Late += m.Late
}

// Book gives each entry that is known by AsOf its month, in the order in which
// they were learned. An entry lands in the month in which it happened, or, if
// that was closed when it was learned, in the first month that was open then. A
// measured entry turns into the change that brings its cohort to its amount,
// given what was known on the day it was learned about the time up to the day it
// is for: it is booked as a change in the estimate.
func Book(in LedgerInput) ([]Booked, error) {
	if in.AsOf <= 0 {
		return nil, fmt.Errorf("as_of: the day that is asked about is needed")
	}
	locks, err := in.closed()
	if err != nil {
		return nil, err
	}
	booked, _, err := in.book(locks)
	return booked, err
}

func (in LedgerInput) book(locks closings) (out []Booked, leftOut int, err error) {
	var entries []Entry
	for i, e := range in.Entries {
		if err := e.validate(); err != nil {
			return nil, 0, fmt.Errorf("entries[%d].%w", i, err)
		}
		if e.LearnedOn == 0 {
			e.LearnedOn = e.HappenedOn
		}
		if e.LearnedOn > in.AsOf {
			leftOut++
			continue
		}
		entries = append(entries, e)
	}
	// On one day measurements come last, for they take the day's facts into
	// account.
	slices.SortStableFunc(entries, func(a, b Entry) int {
		last := func(e Entry) int {
			if e.Kind == Measured {
				return 1
			}
			return 0
		}
		if a.LearnedOn != b.LearnedOn {
			return int(a.LearnedOn - b.LearnedOn)
		}
		return last(a) - last(b)
	})
	known := map[int][]effect{} // by cohort
	for _, e := range entries {
		b := Booked{Entry: e, month: max(e.HappenedOn.Month(), locks.open(e.LearnedOn))}
		if e.Month != "" {
			b.month, _ = parseMonth(e.Month)
		}
		b.Month = b.month.String()
		if e.Kind == Measured {
			b.Kind = ChangeInEstimate
			for _, k := range known[e.LaidYear] {
				if k.on <= e.HappenedOn {
					b.Amount -= k.amount
				}
			}
		}
		b.moves = b.Entry.moves()
		b.Change = b.moves.effect()
		known[e.LaidYear] = append(known[e.LaidYear], effect{e.HappenedOn, b.Change})
		if b.month > e.HappenedOn.Month() {
			b.Late, b.moves.Late = true, b.Change
		}
		out = append(out, b)
	}
	return out, leftOut, nil
}

// RollForward books the entries as Book does and gives the movement of the
// provision: what a closed month says never changes.
func RollForward(in LedgerInput) (LedgerResult, error) {
	if in.AsOf <= 0 {
		return LedgerResult{}, fmt.Errorf("as_of: the day that is asked about is needed")
	}
	locks, err := in.closed()
	if err != nil {
		return LedgerResult{}, err
	}
	r := LedgerResult{AsOf: in.AsOf}
	var entries []Booked
	if entries, r.LeftOut, err = in.book(locks); err != nil {
		return LedgerResult{}, err
	}

	type place struct {
		laid  int
		month units.Month
	}
	booked := map[place]*Roll{}
	first := in.AsOf.Month()
	for i := range entries {
		at := place{entries[i].LaidYear, entries[i].month}
		if booked[at] == nil {
			booked[at] = &Roll{}
		}
		booked[at].add(entries[i].moves)
		first = min(first, at.month)
	}

	locked := locks.open(in.AsOf) // the first month that is not
	if locked > 0 {
		r.LockedThrough = (locked - 1).String()
	}
	// A month may still be closed while today's is the one before it: what is
	// learned then lands ahead of today.
	last := in.AsOf.Month()
	laid := map[int]map[units.Month]Roll{}
	for at, m := range booked {
		last = max(last, at.month)
		if laid[at.laid] == nil {
			laid[at.laid] = map[units.Month]Roll{}
		}
		laid[at.laid][at.month] = *m
	}
	all := map[units.Month]Roll{}
	var cohorts []int
	for year, months := range laid {
		cohorts = append(cohorts, year)
		for month, m := range months {
			sum := all[month]
			sum.add(m)
			all[month] = sum
		}
	}
	slices.Sort(cohorts)
	r.Months = roll(all, first, last, locked, false)
	r.Years = roll(all, first, last, locked, true)
	for _, year := range cohorts {
		r.Cohorts = append(r.Cohorts, CohortRoll{year, roll(laid[year], first, last, locked, true)})
	}
	r.Closing = r.Months[len(r.Months)-1].Closing
	r.tie(entries)
	r.triangle(entries)
	return r, nil
}

// effect is what an entry did to its cohort's provision, and the day it is of.
type effect struct {
	on     units.Date
	amount units.Money
}

// roll carries the movements from the first month to the last, by month or by
// calendar year.
func roll(moves map[units.Month]Roll, first, last, locked units.Month, byYear bool) []Roll {
	var out []Roll
	balance := units.Money(0)
	for m := first; m <= last; m++ {
		name := m.String()
		if byYear {
			name = name[:4]
		}
		if len(out) == 0 || out[len(out)-1].Period != name {
			out = append(out, Roll{Period: name, Opening: balance})
		}
		r := &out[len(out)-1]
		r.add(moves[m])
		balance += moves[m].effect()
		r.Closing = balance
		r.Locked = m < locked && (!byYear || m.Of() == time.December)
	}
	return out
}

// After gives the movement to the end of a month (YYYY-MM) in one, and by
// calendar year after it, the first from the month that follows. Of the months
// before the first that was measured, issued less paid is all that is known and
// no provision: with that month they make one movement, which ends in what was
// measured. An empty month, or one after the last, leaves no years.
func (r LedgerResult) After(month string) (before Roll, years []Roll) {
	for _, m := range r.Months {
		into := &before
		if month != "" && m.Period > month {
			if year := m.Period[:4]; len(years) == 0 || years[len(years)-1].Period != year {
				years = append(years, Roll{Period: year, Opening: m.Opening})
			}
			into = &years[len(years)-1]
		} else {
			before.Period = m.Period
		}
		into.add(m)
		into.Closing, into.Locked = m.Closing, m.Locked && (into == &before || strings.HasSuffix(m.Period, "-12"))
	}
	return before, years
}

// tie adds up the entries by column, apart from the months. Changes are not
// among them: what a measurement changes is no amount of the input.
func (r *LedgerResult) tie(entries []Booked) {
	var sums Roll
	counts := map[string]int{}
	for _, e := range entries {
		m := e.Entry.moves()
		switch {
		case e.Kind == Issued || e.Corrects == Issued:
			counts["issued"]++
		case e.Kind == Recovered || e.Corrects == Recovered:
			counts["recovered"]++
		case e.Kind == Paid, e.Kind == Returned, e.Kind == Corrected && e.Corrects != Released:
			counts["paid"]++
		}
		sums.add(m)
	}
	var booked Roll
	for _, m := range r.Months {
		booked.add(m)
	}
	for _, t := range []Tie{
		{"issued", counts["issued"], sums.Issued, booked.Issued},
		{"paid", counts["paid"], sums.Paid, booked.Paid},
		{"recovered", counts["recovered"], sums.Recovered, booked.Recovered},
	} {
		if t.Entries > 0 {
			r.Ties = append(r.Ties, t)
		}
	}
}

// triangle sorts what was paid by year laid and year since.
func (r *LedgerResult) triangle(entries []Booked) {
	lastYear := r.AsOf.Year()
	first := lastYear + 1
	for _, e := range entries {
		if e.moves.Paid != 0 {
			first = min(first, e.LaidYear)
		}
	}
	if first > lastYear {
		return
	}
	r.FirstLaid = first
	r.PaidTriangle = make([][]units.Money, lastYear-first+1)
	for i := range r.PaidTriangle {
		r.PaidTriangle[i] = make([]units.Money, lastYear-first-i+1)
	}
	for _, e := range entries {
		if paid := e.moves.Paid; paid != 0 {
			r.PaidTriangle[e.LaidYear-first][e.HappenedOn.Year()-e.LaidYear] += paid
		}
	}
}
