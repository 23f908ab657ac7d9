package venting

import (
	"math"

	"overhang/analytics/units"
)

// slack is the relative difference under which two areas count as equal, so
// that 720 in² there meets 720 in² asked whatever the units they came in.
const slack = 1e-9

// Bounds is an area that is known to lie between two others. Most is nil when
// nothing is known to bound it.
type Bounds struct {
	Least units.Area  `json:"least_m2"`
	Most  *units.Area `json:"most_m2,omitempty"`
}

// Known says whether the area is one value.
func (b Bounds) Known() bool {
	return b.Most != nil && math.Abs(float64(*b.Most-b.Least)) <= slack*math.Abs(float64(*b.Most))
}

// Write writes the area as one value or as a range in the given units.
func (b Bounds) Write(s units.System) string {
	switch {
	case b.Most == nil && b.Least <= 0:
		return "an unknown area"
	case b.Most == nil:
		return "at least " + s.VentArea(b.Least)
	case s.VentArea(b.Least) == s.VentArea(*b.Most):
		return s.VentArea(b.Least)
	}
	return s.VentArea(b.Least) + " to " + s.VentArea(*b.Most)
}

// span is a number between two bounds; hi may be infinite.
type span struct{ lo, hi float64 }

var anything = span{0, math.Inf(1)}

func exactly(v float64) span        { return span{v, v} }
func (s span) times(f float64) span { return span{s.lo * f, s.hi * f} }
func (s span) plus(t span) span     { return span{s.lo + t.lo, s.hi + t.hi} }
func (s span) minus(t span) span    { return span{s.lo - t.hi, s.hi - t.lo} }
func (s span) wide() bool           { return s.hi > s.lo*(1+slack) }

// of multiplies two spans of numbers that are not negative; nothing times
// anything is nothing.
func (s span) of(t span) span {
	out := span{s.lo * t.lo, s.hi * t.hi}
	if s.hi == 0 || t.hi == 0 {
		out.hi = 0
	}
	return out
}

func (s span) bounds() Bounds {
	b := Bounds{Least: units.Area(s.lo)}
	if !math.IsInf(s.hi, 1) {
		most := units.Area(s.hi)
		b.Most = &most
	}
	return b
}

// truth is yes, no or not known, ordered so that "and" is the least and "or"
// the greatest.
type truth int8

const (
	no      truth = -1
	unknown truth = 0
	yes     truth = 1
)

func is(b bool) truth {
	if b {
		return yes
	}
	return no
}

func (t truth) verdict() Verdict {
	switch t {
	case yes:
		return Passes
	case no:
		return Fails
	}
	return NotKnown
}

func atLeast(s span, need float64) truth {
	switch {
	case s.lo >= need*(1-slack):
		return yes
	case s.hi < need*(1-slack):
		return no
	}
	return unknown
}

func atMost(s span, limit float64) truth {
	switch {
	case s.hi <= limit*(1+slack):
		return yes
	case s.lo > limit*(1+slack):
		return no
	}
	return unknown
}
