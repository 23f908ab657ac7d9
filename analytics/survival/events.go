package survival

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// EventRow is one event of a unit, such as a callback of a roof, or with event 0
// the end of its watch, of which each unit has exactly one.
type EventRow struct {
	Unit string  `json:"unit"`
	Age  float64 `json:"age"`
	// Event is 1 for an event and 0 for the end of the watch.
	Event *Flag `json:"event"`
	// Entry, beside the end, is the age from which the unit was watched; left out
	// it is nought.
	Entry *float64 `json:"entry,omitempty"`
	// Size, beside the end, is how much of what the mean is for this unit is, such
	// as its squares of roof: the mean is then for one square. Left out it is 1.
	Size *float64 `json:"size,omitempty"`
}

// EventsInput asks for the mean number of events of a unit by its age.
type EventsInput struct {
	Rows  []EventRow `json:"rows"`
	Level float64    `json:"level,omitempty"` // left out it is 0.95
	At    []float64  `json:"at,omitempty"`    // ages to read it at
}

// EventStep is the mean cumulative function from one age with events to the
// next, for one of size. SE is the robust one of Lawless and Nadeau, which lets units differ and
// events of a unit hang together; PoissonSE holds if they come independently at
// one rate for all. Low and High are from SE, symmetric on the logarithm.
type EventStep struct {
	Age       float64 `json:"age"`
	AtRisk    int     `json:"at_risk"` // units, whatever their size
	Events    int     `json:"events"`
	Mean      float64 `json:"mean"`
	SE        float64 `json:"se"`
	PoissonSE float64 `json:"poisson_se"`
	// UnbiasedSE is Nelson's, from the variances and covariances of the counts at
	// each two ages among the units at risk at the later, all by n − 1: where units
	// are few SE comes out too small by some √(n/(n−1)). It is nil where units
	// entered late or differ in size, where one alone was at risk, and where the
	// variance comes out below nought.
	UnbiasedSE *float64 `json:"unbiased_se,omitempty"`
	Low        float64  `json:"low"`
	High       float64  `json:"high"`
}

// EventsResult is the mean cumulative function.
type EventsResult struct {
	Units    int         `json:"units"`
	Events   int         `json:"events"`
	Steps    []EventStep `json:"steps"`
	At       []EventStep `json:"at,omitempty"`
	Warnings []string    `json:"warnings,omitempty"`
	Says     string      `json:"says"`
}

// unit is the watch of one unit and how far its count has run ahead of the mean.
type unit struct {
	entry, end float64
	ended      bool
	size       float64
	ahead      float64 // Σ 1/size at risk over its own events
	base       float64 // Σ d/size at risk² gathered at its entry
	here       int     // its events at the age in hand
}

// Events gives the mean cumulative function (Nelson). A unit is at risk after its
// entry and up to the end of its watch: events at the very age at which a watch
// ends count, with that unit at risk. Events of one unit at one age all count.
func Events(in EventsInput) (EventsResult, error) {
	if in.Level == 0 {
		in.Level = 0.95
	}
	if err := validateLevel(in.Level); err != nil {
		return EventsResult{}, err
	}
	if err := validateAges("at", in.At); err != nil {
		return EventsResult{}, err
	}
	units, events, err := readEvents(in.Rows)
	if err != nil {
		return EventsResult{}, err
	}
	out := EventsResult{Units: len(units), Events: len(events)}
	z := mathext.NormalQuantile((1 + in.Level) / 2)
	byEntry, byEnd := slices.Clone(units), slices.Clone(units)
	slices.SortStableFunc(byEntry, func(a, b *unit) int { return compare(a.entry, b.entry) })
	slices.SortStableFunc(byEnd, func(a, b *unit) int { return compare(a.end, b.end) })
	if from, to, gap := unwatchedUnits(byEntry); gap {
		out.Warnings = append(out.Warnings, fmt.Sprintf("No unit was watched between ages %.4g and %.4g; the mean is level there for want of anything known.", from, to))
	}
	// A unit's part in the robust variance is the square of
	// Σ (own events − size·d/S)/S over the ages at which it was at risk, S being
	// the size at risk. That of those at risk changes at every age by the same
	// amount for their size, so the sums of the parts and of their squares can be
	// carried on without visiting each unit.
	var mean, poisson, gathered, parts, squares, size, sizes2 float64
	// Nelson's: the variance among those at risk at an age, and twice the covariance
	// with what each of them has had before, as it counts in the mean.
	var unbiased, had float64
	paired := !slices.ContainsFunc(units, func(u *unit) bool { return u.entry > 0 || u.size != 1 })
	atRisk, entered, left := 0, 0, 0
	part := func(u *unit) float64 { return u.ahead - u.size*(gathered-u.base) }
	for i := 0; i < len(events); {
		age := events[i].age
		for ; entered < len(byEntry) && byEntry[entered].entry < age; entered++ {
			u := byEntry[entered]
			u.base = gathered
			atRisk++
			size += u.size
			sizes2 += u.size * u.size
		}
		for ; left < len(byEnd) && byEnd[left].end < age; left++ {
			u := byEnd[left]
			parts -= u.size * part(u)
			had -= u.ahead
			atRisk--
			size -= u.size
			sizes2 -= u.size * u.size
		}
		to := i
		for to < len(events) && events[to].age == age {
			to++
		}
		d, n := float64(to-i), float64(atRisk)
		square, before := 0.0, 0.0 // Σ over units of their events², and of those times what they had
		for _, e := range events[i:to] {
			square += float64(2*e.unit.here + 1)
			before += e.unit.ahead
			e.unit.here++
		}
		unbiased += ((square-d*d/n)/n + 2*(before-had*d/n)) / (n - 1)
		mean += d / size
		fall := d / (size * size)
		poisson += fall
		squares += -2*fall*parts + fall*fall*sizes2
		parts -= fall * sizes2
		gathered += fall
		for ; i < to; i++ {
			u := events[i].unit
			squares += 2*part(u)/size + 1/(size*size)
			u.ahead += 1 / size
			u.here = 0
			had += 1 / size
			parts += u.size / size
		}
		s := EventStep{Age: age, AtRisk: atRisk, Events: int(d), Mean: mean, SE: math.Sqrt(max(0, squares)), PoissonSE: math.Sqrt(poisson)}
		if paired = paired && atRisk > 1; paired && unbiased >= 0 {
			se := math.Sqrt(unbiased)
			s.UnbiasedSE = &se
		}
		wide := math.Exp(z * s.SE / mean)
		s.Low, s.High = mean/wide, mean*wide
		out.Steps = append(out.Steps, s)
	}
	for _, age := range in.At {
		at := EventStep{}
		seen := 0
		for _, s := range out.Steps {
			if s.Age > age {
				break
			}
			at = s
			seen += s.Events
		}
		at.Age, at.Events, at.AtRisk = age, seen, 0
		for _, u := range units {
			if u.entry < age && u.end >= age {
				at.AtRisk++
			}
		}
		out.At = append(out.At, at)
	}
	out.Says = fmt.Sprintf("Units: %d; events: %d.", out.Units, out.Events)
	if n := len(out.Steps); n > 0 {
		s := out.Steps[n-1]
		out.Says += fmt.Sprintf(" By age %.4g a unit has had %.3g of them on average (%.3g to %.3g).", s.Age, s.Mean, s.Low, s.High)
	}
	return out, nil
}

type event struct {
	age  float64
	unit *unit
}

func readEvents(rows []EventRow) (units []*unit, events []event, err error) {
	if len(rows) == 0 {
		return nil, nil, errors.New("rows: give at least one")
	}
	named := map[string]*unit{}
	for i, r := range rows {
		refuse := func(rule string, args ...any) ([]*unit, []event, error) {
			return nil, nil, fmt.Errorf("rows[%d].%s", i, fmt.Sprintf(rule, args...))
		}
		if r.Event == nil {
			return refuse("event: give 0 or 1")
		}
		if !(r.Age > 0) || math.IsInf(r.Age, 0) {
			return refuse("age: must be a number above 0, not %v", r.Age)
		}
		u := named[r.Unit]
		if u == nil {
			u = new(unit)
			named[r.Unit] = u
			units = append(units, u)
		}
		if bool(*r.Event) {
			if r.Entry != nil {
				return refuse("entry: goes with the end of the watch, event 0")
			}
			if r.Size != nil {
				return refuse("size: goes with the end of the watch, event 0")
			}
			events = append(events, event{r.Age, u})
			continue
		}
		if u.ended {
			return refuse("event: unit %q has two ends of its watch", r.Unit)
		}
		u.end, u.ended, u.entry, u.size = r.Age, true, or(r.Entry, 0), or(r.Size, 1)
		if !(u.size > 0 && u.size <= 1e9) {
			return refuse("size: must be above 0 and at most 1e9, not %v", u.size)
		}
		if !(u.entry >= 0 && u.entry < u.end) {
			return refuse("entry: must be a number of 0 or more below the end %v, not %v", u.end, u.entry)
		}
	}
	for i, r := range rows {
		u := named[r.Unit]
		if !u.ended {
			return nil, nil, fmt.Errorf("rows[%d].unit: %q has no end of its watch, a row with event 0", i, r.Unit)
		}
		if !(r.Age > u.entry && r.Age <= u.end) {
			return nil, nil, fmt.Errorf("rows[%d].age: %v lies outside the watch of unit %q, from %v to %v", i, r.Age, r.Unit, u.entry, u.end)
		}
	}
	slices.SortStableFunc(events, func(a, b event) int { return compare(a.age, b.age) })
	return units, events, nil
}

func unwatchedUnits(byEntry []*unit) (low, high float64, gap bool) {
	rows := make([]watched, len(byEntry))
	for i, u := range byEntry {
		rows[i] = watched{entry: u.entry, exit: u.end}
	}
	return unwatched(rows, byEntry[0].entry)
}
