package lifespan

import (
	"fmt"
	"math"
)

// NextLook asks what another look at a covering would be worth.
type NextLook struct {
	Input Input `json:"input"`
	// ErrorPoints, Method, By and ShownShare are of the reading that the look would
	// give, as in Reading.
	ErrorPoints float64  `json:"error_points"`
	Method      string   `json:"method,omitempty"`
	By          string   `json:"by,omitempty"`
	ShownShare  *float64 `json:"shown_share,omitempty"`
}

// LookWorth is how much narrower the years left would be after the look, as the
// mean over what it may find. Widths are from the 10 to the 90 % point, years.
type LookWorth struct {
	WidthNow   float64 `json:"width_now_years"`
	WidthAfter float64 `json:"width_after_years"` // expected
	Narrowing  float64 `json:"narrowing_years"`   // WidthNow − WidthAfter; may be negative where a look is likely to upset what was believed
	// Ratings that the look is likely to give: the 10, 50 and 90 % points.
	Expected Range `json:"expected_rating"`
}

// lookNodes is how many ratings are tried, at the middles of as many equally
// likely slices of what the look may show. More change the worth by less than a
// hundredth of a year in the tests.
const lookNodes = 15

// Worth gives what a look today would be worth (the expected narrowing, from the
// distribution of the reading that the present estimate foretells). Its errors
// are those of Estimate.
func Worth(in NextLook) (LookWorth, error) {
	e := Estimator{RoofAlone: true}
	in.Input.Explain, in.Input.HorizonsYears = false, nil // only how wide it is
	t, err := in.Input.taken()
	if err == nil {
		err = within("error_points", in.ErrorPoints, 2, 50)
	}
	if err == nil {
		err = within("shown_share", or(in.ShownShare, 1), 0.01, 1)
	}
	if err != nil {
		return LookWorth{}, fmt.Errorf("weighing the next look: %w", err)
	}
	width := func(r Result) float64 { return r.YearsLeft.High - r.YearsLeft.Low }
	now, err := e.Estimate(in.Input)
	if err != nil {
		return LookWorth{}, err
	}
	foretold := e.foretell(&t, in)
	out := LookWorth{WidthNow: width(now), Expected: Range{foretold(0.1), foretold(0.5), foretold(0.9)}}
	next := in.Input
	for i := range lookNodes {
		next.Readings = append(in.Input.Readings[:len(in.Input.Readings):len(in.Input.Readings)],
			Reading{Rating: foretold((float64(i) + 0.5) / lookNodes), ErrorPoints: &in.ErrorPoints, By: in.By, Method: in.Method, ShownShare: in.ShownShare})
		r, err := e.Estimate(next)
		if err != nil {
			return LookWorth{}, err
		}
		out.WidthAfter += width(r) / lookNodes
	}
	out.Narrowing = out.WidthNow - out.WidthAfter
	return out, nil
}

// foretell gives the quantiles of the rating that a look today would show: the
// curve at today's age over the distribution of T, and the look's error, cut at
// 0 and 100. Gross errors are left out, since they tell nothing. An eye that has read
// the covering before is taken for a new one here, so that its ratings are foretold a
// little too wide.
func (e *Estimator) foretell(t *taken, in NextLook) func(q float64) float64 {
	all := groups{standing: true, readings: t.readings}
	for _, f := range in.Input.Factors {
		all.logMean += f.logMean()
		all.logVariance += f.logVariance()
	}
	p := e.posterior(t, all)
	// The chance of each part of the scale of errors, then the error over them.
	const steps = 200
	var curve [steps + 1]float64
	for i := range p.lives {
		l := &p.lives[i]
		drop := or(in.ShownShare, 1) * t.drop(l.age, 0, t.seen(0, ""))
		l.each(func(s *stretch) {
			for j, slow := range &s.slowness {
				mean := t.scale.Stretched(min(drop*slow, 100))
				curve[int(math.Round(mean/t.scale.Most*steps))] += s.density[j] * weightAt(j) * s.step
			}
		})
	}
	total := 0.0
	for _, w := range curve {
		total += w
	}
	below := func(rating float64) float64 {
		sum, fallen := 0.0, t.scale.Stretched(100-rating)
		for i, w := range curve {
			if w > 0 {
				sum += w * math.Erfc((fallen-float64(i)*t.scale.Most/steps)/(in.ErrorPoints*math.Sqrt2)) / 2
			}
		}
		return sum / total
	}
	return func(q float64) float64 {
		low, high := 0.0, 100.0
		for range 40 {
			middle := (low + high) / 2
			if below(middle) < q {
				low = middle
			} else {
				high = middle
			}
		}
		return (low + high) / 2
	}
}

// Change is something that could be put right: factors of the covering as it is
// that would from today on be others.
type Change struct {
	Name string   `json:"name"`
	Now  []Factor `json:"now"`  // as they stand among the input's factors
	Then []Factor `json:"then"` // what they would be
}

// Gain is what a change would add to the years left.
type Gain struct {
	Name string `json:"name"`
	// Years gained by the middle of the years left, with the 10 and 90 % points
	// of the change's own doubt. What is past is past: only the years to come
	// run at the new pace, so a covering past its line gains none.
	Years Range  `json:"years"`
	Says  string `json:"says"`
}

// WhatIf gives the gain of a change for a covering with so many years left. The
// years to come are lived at the pace of the new factors over the old: T − age
// is multiplied by their ratio, log-normal as the factors are, the doubt of both
// added. It refuses the factors that Estimate does.
func WhatIf(left Range, c Change) (Gain, error) {
	mean, variance := 0.0, 0.0
	for list, factors := range [][]Factor{c.Now, c.Then} {
		for i, f := range factors {
			if err := f.validate(); err != nil {
				return Gain{}, fmt.Errorf("what if %s: %s[%d].%w", c.Name, []string{"now", "then"}[list], i, err)
			}
			sign := float64(2*list - 1)
			mean += sign * f.logMean()
			variance += f.logVariance()
		}
	}
	if !(left.Middle >= 0) || math.IsInf(left.Middle, 0) {
		return Gain{}, fmt.Errorf("what if %s: years left must be finite and not negative, not %v", c.Name, left.Middle)
	}
	at := func(z float64) float64 { return left.Middle * math.Expm1(mean+z*math.Sqrt(variance)) }
	return Gain{Name: c.Name, Years: Range{at(-z90), at(0), at(z90)},
		Says: "What is past cannot be won back: only the years to come run at the new pace. An estimate, like the years left."}, nil
}
