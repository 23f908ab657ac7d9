package lifespan

import (
	"fmt"
	"math"
)

// Span says between which two looks the covering was worn out: by its ages at
// them, or by the years since. From is the last look that found it serviceable;
// left out, there was none. To is the look that found it worn out; left out, it
// was today's.
type Span struct {
	FromAgeYears *float64 `json:"from_age_years,omitempty"`
	ToAgeYears   *float64 `json:"to_age_years,omitempty"`
	FromYearsAgo *float64 `json:"from_years_ago,omitempty"`
	ToYearsAgo   *float64 `json:"to_years_ago,omitempty"`
}

// ended is a Span read: ages, or years before today.
type ended struct {
	ago      bool
	from, to float64 // from +Inf years ago is never
}

// between gives the ages between which T lies.
func (e *ended) between(age float64) (low, high float64) {
	if e.ago {
		return max(age-e.from, 0), age - e.to
	}
	return e.from, min(e.to, age)
}

// leastSpan in years is shorter than any two looks tell apart.
const leastSpan = 1e-3

func (t *taken) takeEnd(s Span) error {
	ages := s.FromAgeYears != nil || s.ToAgeYears != nil
	if ages && (s.FromYearsAgo != nil || s.ToYearsAgo != nil) {
		return fmt.Errorf("worn_between: by ages or by years ago, not both")
	}
	if t.lag == 0 {
		return fmt.Errorf("replacement_lag_years: must be above 0 with worn_between: 0 says that no covering lies worn out")
	}
	e := &ended{ago: !ages}
	if ages {
		e.from, e.to = or(s.FromAgeYears, 0), or(s.ToAgeYears, mostAge)
		if err := within("worn_between.from_age_years", e.from, 0, t.latest); err != nil {
			return err
		}
		if s.ToAgeYears != nil {
			if err := within("worn_between.to_age_years", e.to, 0, t.latest); err != nil {
				return err
			}
			t.earliest = max(t.earliest, e.to)
		}
		t.earliest = max(t.earliest, min(e.from+leastSpan, t.latest))
		if !(e.from+leastSpan <= min(e.to, t.earliest)+1e-12) {
			return fmt.Errorf("worn_between: must end after it begins and after the covering was laid")
		}
	} else {
		e.from, e.to = or(s.FromYearsAgo, math.Inf(1)), or(s.ToYearsAgo, 0)
		if s.FromYearsAgo != nil {
			if err := within("worn_between.from_years_ago", e.from, 0, t.latest); err != nil {
				return err
			}
			t.earliest = max(t.earliest, e.from)
		}
		if err := within("worn_between.to_years_ago", e.to, 0, t.latest); err != nil {
			return err
		}
		t.earliest = max(t.earliest, min(e.to+leastSpan, t.latest))
		if !(e.to+leastSpan <= min(e.from, t.earliest)+1e-12) {
			return fmt.Errorf("worn_between: must end after it begins and after the covering was laid")
		}
	}
	t.worn = e
	return nil
}

// layEnd lays the grid for one age of a covering whose end was seen, with the
// logarithm of prior × lying there when it was found. The grid is laid anew on
// what counts of it until nothing more falls away.
func (l *life) layEnd(a ageing, lag float64, t *taken) {
	l.worn.used, l.onward.used = true, false
	low, high := t.worn.between(l.age)
	to := math.Log(high)
	from := min(a.logYears(tinyStart), to-3)
	if low > 0 {
		from = max(from, math.Log(low))
		from = min(from, to-1e-9)
	}
	counts := farEnd + 12*float64(len(t.readings)) // a reading speaks for T at e^12 to 1 at the most
	for range 8 {
		s := &l.worn
		s.lay(a, from, to, t.power)
		most := math.Inf(-1)
		for i := range s.density {
			s.density[i] += (s.years[i] - high) / lag
			most = max(most, s.density[i])
		}
		first, last := 0, cells
		for s.density[first] < most-counts {
			first++
		}
		for s.density[last] < most-counts {
			last--
		}
		first, last = max(first-1, 0), min(last+1, cells)
		if last-first > cells/2 {
			return
		}
		from, to = s.from+float64(first)*s.step, s.from+float64(last)*s.step
	}
}
