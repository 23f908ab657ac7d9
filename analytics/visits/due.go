package visits

import (
	"cmp"
	"fmt"
	"slices"

	"overhang/analytics/units"
)

// Settings of the due rule. A zero takes the default.
type Settings struct {
	Season         Season `json:"season"`           // of check-ups; open all year
	EveryMonths    int    `json:"every_months"`     // from one check-up to the next; 12
	StormDays      int    `json:"storm_days"`       // within which to look after a storm; 14
	DeclinedMonths int    `json:"declined_months"`  // how long a declined offer rests; 12
	EarlyOfferDays int    `json:"early_offer_days"` // how long before its due date an offer belongs to it; 60
}

func (s Settings) withDefaults() Settings {
	s.EveryMonths = cmp.Or(s.EveryMonths, 12)
	s.StormDays = cmp.Or(s.StormDays, 14)
	s.DeclinedMonths = cmp.Or(s.DeclinedMonths, 12)
	s.EarlyOfferDays = cmp.Or(s.EarlyOfferDays, 60)
	return s
}

// Roof is what the due rule needs of one roof. No date is unknown, or has not
// happened.
type Roof struct {
	ID            string       `json:"id"`
	Promised      bool         `json:"promised"`       // a promise or a plan asks for the yearly check-up
	PromisedUntil units.Date   `json:"promised_until"` // last day of it; none runs on
	EndedOn       units.Date   `json:"ended_on"`       // the roof was replaced or is no longer ours to look after
	Laid          units.Dated  `json:"laid"`
	ClosedOn      units.Date   `json:"closed_on"`      // the job
	RoofLookedOn  units.Date   `json:"roof_looked_on"` // last look at the roof
	GuttersOn     units.Date   `json:"gutters_on"`     // last look at the gutters
	NoGutters     bool         `json:"no_gutters"`     // there are none to look at
	BookedFor     units.Date   `json:"booked_for"`     // the visit that is booked, not yet done
	OfferedOn     units.Date   `json:"offered_on"`     // the last offer of a check-up
	DeclinedOn    units.Date   `json:"declined_on"`    // the homeowner declined it
	StormsCrossed []units.Date `json:"storms_crossed"` // days of the storms that crossed it
}

// Input of the due rule.
type Input struct {
	Today    units.Date `json:"today"`
	Settings Settings   `json:"settings"`
	Roofs    []Roof     `json:"roofs"`
}

// State of a roof's next visit.
type State string

// States of a roof's next visit.
const (
	Due      State = "due"      // wanted now, nothing booked
	Booked   State = "booked"   // a day is booked, and has not passed
	OK       State = "ok"       // nothing is wanted yet
	Declined State = "declined" // wanted, offered, and declined for now
)

// Visit is one roof's next visit.
type Visit struct {
	ID          string     `json:"id"`
	State       State      `json:"state"`
	DueOn       units.Date `json:"due_on"`       // first day on which it is due; none where unknown
	DueLatest   units.Date `json:"due_latest"`   // last day on which it can have come due
	OverdueDays *int       `json:"overdue_days"` // days past DueLatest, 0 before it; none where unknown
	OverdueMost *int       `json:"overdue_most"` // days past DueOn
	Roof        bool       `json:"roof"`         // the roof is to be looked at
	Gutters     bool       `json:"gutters"`      // the gutters are to be looked at
	Storm       bool       `json:"storm"`        // a storm asks for it
	BookedFor   units.Date `json:"booked_for"`   // as given, where it has not passed
	DeclinedOn  units.Date `json:"declined_on"`  // as given, where it still counts
	Why         []Reason   `json:"why"`          // in the order in which the rules apply
}

// Reason is one rule that made a due date. Code names it.
type Reason struct {
	Code string     `json:"code"`
	On   units.Date `json:"on"`             // the day the rule counts from
	To   units.Date `json:"to"`             // the day it leads to, where it does
	Note string     `json:"note,omitempty"` // how well a date is known, or which part of the house
}

// Codes of reasons.
const (
	SinceClosed    = "since_closed"     // the anniversary of the closed job
	SinceLaid      = "since_laid"       // the anniversary of the laying
	SinceCheckUp   = "since_checkup"    // the interval since the last check-up; Note says of which part
	NoDateKnown    = "no_date_known"    // neither laid, closed nor ever looked at on a known day
	LaidNotExact   = "laid_not_exact"   // the laid date is known to its Note
	MovedToSeason  = "moved_to_season"  // the season was closed on On and opens on To
	AfterStorm     = "after_storm"      // a storm on On, to be looked at by To
	BookedPassed   = "booked_passed"    // the booked day went by and nobody wrote that it was done
	DeclinedOffer  = "declined_offer"   // declined on On, rests until To
	PromiseRunsOut = "promise_runs_out" // the promise ends on On, before the visit would be due
)

// Result is the next visit of every roof that has one to come.
type Result struct {
	Visits  []Visit `json:"visits"` // due first and the longest overdue first among them; then booked, declined, ok
	Counts  Counts  `json:"counts"`
	Caution string  `json:"caution"`
}

// Counts of a result.
type Counts struct {
	Due         int `json:"due"`
	Booked      int `json:"booked"`
	OK          int `json:"ok"`
	Declined    int `json:"declined"`
	Ended       int `json:"ended"`        // roofs left out: ended
	NotPromised int `json:"not_promised"` // roofs left out: no promise asks for a check-up, and no storm for a look
}

// Validate names the first field that breaks a rule.
func (in *Input) Validate() error {
	s := in.Settings
	if in.Today.IsZero() {
		return fmt.Errorf("today: is needed")
	}
	if err := s.Season.validate(); err != nil {
		return fmt.Errorf("settings.season: %w", err)
	}
	for _, c := range []struct {
		field string
		value int
		most  int
	}{{"every_months", s.EveryMonths, 120}, {"storm_days", s.StormDays, 365}, {"declined_months", s.DeclinedMonths, 120}, {"early_offer_days", s.EarlyOfferDays, 365}} {
		if c.value < 0 || c.value > c.most {
			return fmt.Errorf("settings.%s %d: must lie between 0 and %d", c.field, c.value, c.most)
		}
	}
	seen := make(map[string]bool, len(in.Roofs))
	for i, r := range in.Roofs {
		switch {
		case r.ID == "":
			return fmt.Errorf("roofs[%d].id: is needed", i)
		case seen[r.ID]:
			return fmt.Errorf("roofs[%d].id %q: is there twice", i, r.ID)
		case r.RoofLookedOn > in.Today:
			return fmt.Errorf("roofs[%d].roof_looked_on %v: lies after today", i, r.RoofLookedOn)
		case r.GuttersOn > in.Today:
			return fmt.Errorf("roofs[%d].gutters_on %v: lies after today", i, r.GuttersOn)
		}
		seen[r.ID] = true
	}
	return nil
}

// WhoIsDue gives the next visit of each roof under a promise or plan, or crossed
// by a storm and not looked at since. Ended roofs have none.
func WhoIsDue(in Input) (Result, error) {
	if err := in.Validate(); err != nil {
		return Result{}, err
	}
	s := in.Settings.withDefaults()
	out := Result{Visits: []Visit{}, Caution: Caution}
	for i := range in.Roofs {
		r := &in.Roofs[i]
		if !r.EndedOn.IsZero() && r.EndedOn <= in.Today {
			out.Counts.Ended++
			continue
		}
		v, wanted := s.next(r, in.Today)
		if !wanted {
			out.Counts.NotPromised++
			continue
		}
		switch v.State {
		case Due:
			out.Counts.Due++
		case Booked:
			out.Counts.Booked++
		case Declined:
			out.Counts.Declined++
		case OK:
			out.Counts.OK++
		}
		out.Visits = append(out.Visits, v)
	}
	order := map[State]int{Due: 0, Booked: 1, Declined: 2, OK: 3}
	slices.SortFunc(out.Visits, func(a, b Visit) int {
		return cmp.Or(cmp.Compare(order[a.State], order[b.State]), cmp.Compare(a.DueLatest, b.DueLatest), cmp.Compare(a.DueOn, b.DueOn), cmp.Compare(a.ID, b.ID))
	})
	return out, nil
}

// span is the first and the last day on which something can have come due; zero
// is unknown, and earlier than anything.
type span struct{ first, last units.Date }

// checkUp gives when the yearly check-up comes due, for which parts and why.
func (s *Settings) checkUp(r *Roof) (due span, roof, gutters bool, why []Reason) {
	// Each part counts from its last look, or from the day the roof was new.
	base := span{r.ClosedOn, r.ClosedOn}
	first := Reason{Code: SinceClosed, On: r.ClosedOn}
	if r.ClosedOn.IsZero() {
		base = span{r.Laid.Earliest(), r.Laid.Latest()}
		if r.Laid.IsZero() {
			base = span{}
		}
		first = Reason{Code: SinceLaid, On: r.Laid.On}
	}
	after := func(d units.Date) units.Date {
		if d.IsZero() {
			return 0
		}
		return s.Season.Next(d.AddMonths(s.EveryMonths))
	}
	part := func(looked units.Date, name string) (span, Reason) {
		if looked.IsZero() || looked < base.first {
			reason := first
			if base.last.IsZero() {
				reason = Reason{Code: NoDateKnown}
			}
			return base, reason
		}
		return span{looked, looked}, Reason{Code: SinceCheckUp, On: looked, Note: name}
	}
	from, reason := part(r.RoofLookedOn, "roof")
	roof, gutters = true, !r.NoGutters
	if !r.NoGutters {
		other, otherReason := part(r.GuttersOn, "gutters")
		switch {
		case other == from && reason.Code == SinceCheckUp:
			reason.Note = "roof and gutters"
		case other == from:
		case after(other.last) < after(from.last):
			from, reason, roof = other, otherReason, false
		case after(from.last) < after(other.last):
			gutters = false
		}
	}
	due = span{after(from.first), after(from.last)}
	reason.To = due.first
	why = append(why, reason)
	if reason.Code == SinceLaid && from.first != from.last {
		why = append(why, Reason{Code: LaidNotExact, On: from.first, To: from.last, Note: string(r.Laid.Precision)})
	}
	if !from.first.IsZero() {
		if plain := from.first.AddMonths(s.EveryMonths); plain != due.first {
			why = append(why, Reason{Code: MovedToSeason, On: plain, To: due.first})
		}
	}
	return due, roof, gutters, why
}

// storm gives the first storm not looked at since, on which the look after it
// counts; none where there is none.
func (r *Roof) storm(today units.Date) units.Date {
	first := units.Date(0)
	for _, on := range r.StormsCrossed {
		open := !on.IsZero() && on <= today && on >= r.RoofLookedOn && (r.Laid.IsZero() || on >= r.Laid.Earliest())
		if open && (first.IsZero() || on < first) {
			first = on
		}
	}
	return first
}

// next gives a roof's next visit, and whether there is one. The check-up and the
// look after a storm are two matters: what is wanted of both now makes one
// visit; what was declined after it came up rests.
func (s *Settings) next(r *Roof, today units.Date) (Visit, bool) {
	v := Visit{ID: r.ID, State: OK}
	promised := r.Promised && (r.PromisedUntil.IsZero() || r.PromisedUntil >= today)
	storm := r.storm(today)
	if !promised && storm.IsZero() {
		return v, false
	}
	var due span
	checkUp, look := false, !storm.IsZero() // wanted now
	if promised {
		due, v.Roof, v.Gutters, v.Why = s.checkUp(r)
		checkUp = due.first <= today // also when unknown
		if !r.PromisedUntil.IsZero() && due.first > r.PromisedUntil {
			v.Why = append(v.Why, Reason{Code: PromiseRunsOut, On: r.PromisedUntil})
		}
	}
	after := span{storm, storm.AddDays(s.StormDays)}
	if look {
		v.Why = append(v.Why, Reason{Code: AfterStorm, On: after.first, To: after.last})
	}
	declined, declinedLook := false, false // of the look alone
	if until := r.DeclinedOn.AddMonths(s.DeclinedMonths); !r.DeclinedOn.IsZero() && r.DeclinedOn <= today && until > today {
		noCheckUp := checkUp && r.DeclinedOn >= due.first.AddDays(-s.EarlyOfferDays)
		noLook := look && r.DeclinedOn > storm
		if noCheckUp || noLook {
			v.Why = append(v.Why, Reason{Code: DeclinedOffer, On: r.DeclinedOn, To: until})
			checkUp, look = checkUp && !noCheckUp, look && !noLook
			declined = !checkUp && !look
			declinedLook = declined && !noCheckUp
		}
	}
	switch {
	case look && checkUp && !due.last.IsZero():
		due = span{min(due.first, after.first), min(due.last, after.last)}
		v.Roof, v.Storm = true, true
	case look && checkUp: // since when the check-up is due is unknown
		due, v.Roof, v.Storm = after, true, true
	case look, declinedLook, !promised:
		due, v.Roof, v.Gutters, v.Storm = after, true, false, true
	}
	v.DueOn, v.DueLatest = due.first, due.last
	if !due.last.IsZero() {
		least, most := max(0, int(today-due.last)), max(0, int(today-due.first))
		v.OverdueDays, v.OverdueMost = &least, &most
	}
	switch {
	case r.BookedFor >= today:
		v.State, v.BookedFor = Booked, r.BookedFor
	case declined:
		v.State, v.DeclinedOn = Declined, r.DeclinedOn
	case checkUp || look:
		v.State = Due
		if r.BookedFor > max(r.RoofLookedOn, r.GuttersOn) {
			v.Why = append(v.Why, Reason{Code: BookedPassed, On: r.BookedFor})
		}
	}
	return v, true
}
