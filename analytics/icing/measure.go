package icing

import (
	"math"

	"overhang/analytics/units"
)

// Verdict is what can be said of a rule.
type Verdict = units.Verdict

// The verdicts.
const (
	Passes   = units.Passes
	Fails    = units.Fails
	NotKnown = units.NotKnown
)

// Span is a length known to lie between two others; an end that is nil is not
// bounded.
type Span struct {
	Least *units.Length `json:"least_m,omitempty"`
	Most  *units.Length `json:"most_m,omitempty"`
}

// tolerance is half a millimetre: the codes' own metric and inch figures differ
// by that much (914 mm and 36 in).
const tolerance = 0.0005

// span is a number between two ends; hi may be infinite.
type span struct{ lo, hi float64 }

func exactly(v float64) span     { return span{v, v} }
func (s span) plus(t span) span  { return span{s.lo + t.lo, s.hi + t.hi} }
func (s span) minus(t span) span { return span{s.lo - t.hi, s.hi - t.lo} }

// given is a value that was read, or else what it may be.
func given(v float64, unknown span) span {
	if math.IsNaN(v) {
		return unknown
	}
	return exactly(v)
}

func (s span) lengths() *Span {
	out := &Span{}
	if !math.IsInf(s.lo, 0) {
		v := units.Length(s.lo)
		out.Least = &v
	}
	if !math.IsInf(s.hi, 0) {
		v := units.Length(s.hi)
		out.Most = &v
	}
	return out
}

// write writes the length as one value or as a range.
func (s span) write(u units.System) string {
	a := u.SmallLength(units.Length(s.lo))
	switch {
	case math.IsInf(s.hi, 1) && s.lo <= 0:
		return "an unknown way"
	case math.IsInf(s.hi, 1):
		return "at least " + a
	case a == u.SmallLength(units.Length(s.hi)):
		return a
	case s.lo <= 0:
		return "up to " + u.SmallLength(units.Length(s.hi))
	}
	return a + " to " + u.SmallLength(units.Length(s.hi))
}

// Answer is yes, no or not known.
type Answer string

// The answers.
const (
	Yes     Answer = "yes"
	No      Answer = "no"
	Unknown Answer = "not known"
)

func is(b bool) Answer {
	if b {
		return Yes
	}
	return No
}

func told(b *bool) Answer {
	if b == nil {
		return Unknown
	}
	return is(*b)
}

func not(a Answer) Answer {
	switch a {
	case Yes:
		return No
	case No:
		return Yes
	}
	return Unknown
}

func and(all ...Answer) Answer {
	out := Yes
	for _, a := range all {
		if a == No {
			return No
		}
		if a == Unknown {
			out = Unknown
		}
	}
	return out
}

// isOver says whether a span lies over a limit; on it counts when reached is
// true.
func isOver(s span, limit float64, reached bool) Answer {
	over := func(v float64) bool {
		if reached {
			return v >= limit*(1-1e-9)
		}
		return v > limit*(1+1e-9)
	}
	switch {
	case over(s.lo):
		return Yes
	case !over(s.hi):
		return No
	}
	return Unknown
}

// system reads the units of the sentences.
func system(r *units.Reader, s units.System) units.System {
	switch s {
	case "", units.US:
		return units.US
	case units.Metric:
		return s
	}
	r.Refuse("units", "must be us, metric or left out")
	return units.US
}

func alt(field string, v *float64, unit float64) units.Alternative {
	return units.Alternative{Field: field, Value: v, Unit: unit}
}

// The units that fields come in, in SI.
const (
	inch = float64(units.Inch)
	foot = float64(units.Foot)
	mm   = float64(units.Millimetre)
)
