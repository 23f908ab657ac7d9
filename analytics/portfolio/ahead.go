package portfolio

import (
	"math"

	"overhang/analytics/lifespan"
	"overhang/analytics/wear"
)

// Ahead is what an estimate foretells, and what could change it.
type Ahead struct {
	Fan   lifespan.FanResult // at each whole year of age
	Looks []LookAhead
	Gains []lifespan.Gain // of what could be put right, by the name of its factor
}

// LookAhead is what the next look by a method would be worth.
type LookAhead struct {
	Method wear.Method
	Worth  lifespan.LookWorth
}

// vents and gutterCare are the factors that can be put right.
const (
	vents      = "attic ventilation"
	gutterCare = "gutters"
)

// mostFanYears bounds the ages of a fan.
const mostFanYears = 120

// LookAhead works out what the estimate foretells year by year, what a look from
// the street and one by a walk today would be worth, and what could be gained.
func (l *Life) LookAhead() (*Ahead, error) {
	out := &Ahead{}
	until := min(mostFanYears, int(math.Ceil(max(l.Result.LatestAge, l.Result.WornOutAge.High)))+2)
	ages := make([]float64, until+1)
	for i := range ages {
		ages[i] = float64(i)
	}
	var err error
	if out.Fan, err = lifespan.Fan(l.Input, ages); err != nil {
		return nil, wrap("foretelling the rating", err)
	}
	for _, method := range []wear.Method{wear.Street, wear.Walked} {
		full, err := fullLook(method, l.Result.Material)
		if err != nil {
			return nil, err
		}
		worth, err := lifespan.Worth(lifespan.NextLook{Input: l.Input, ErrorPoints: *full.ErrorPoints, Method: string(method), ShownShare: full.ShownShare})
		if err != nil {
			return nil, wrap("weighing the next look", err)
		}
		out.Looks = append(out.Looks, LookAhead{method, worth})
	}
	for _, f := range l.Input.Factors {
		better, can, err := putRight(f)
		if err != nil {
			return nil, err
		}
		if !can {
			continue
		}
		gain, err := lifespan.WhatIf(l.Result.YearsLeft, lifespan.Change{Name: f.Name, Now: []lifespan.Factor{f}, Then: []lifespan.Factor{better}})
		if err != nil {
			return nil, wrap("weighing what could be put right", err)
		}
		out.Gains = append(out.Gains, gain)
	}
	return out, nil
}

// putRight gives what a factor would be if its matter were put right, where it
// can be and is not right already.
func putRight(f lifespan.Factor) (better lifespan.Factor, can bool, err error) {
	switch f.Name {
	case vents:
		better, err = lifespan.Ventilation(new(1.0))
	case gutterCare:
		better, err = lifespan.Of(gutterCare, "kept")
	default:
		return lifespan.Factor{}, false, nil
	}
	return better, better.Mid > f.Mid, err
}

// fullLook is how the covering rates by a look at all that its method can show, which
// finds nothing.
func fullLook(method wear.Method, family string) (wear.PartRating, error) {
	in := wear.Input{Method: method, Covering: family}
	for _, d := range wear.For(family) {
		if d.ShownBy(method) {
			in.Findings = append(in.Findings, wear.Finding{Defect: d.Key, Look: wear.None})
		}
	}
	r, err := wear.Rate(in)
	if err != nil {
		return wear.PartRating{}, wrap("reading the error of a look", err)
	}
	return r.Part(wear.Covering), nil
}
