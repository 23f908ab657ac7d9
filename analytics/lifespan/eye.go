package lifespan

import (
	"math"

	"overhang/analytics/wear"
)

// fewReadings is up to how many readings of one eye the mixture is opened into
// its terms: each reading is gross or not, which makes 2ⁿ of them.
const fewReadings = 6

// eyeFew is the likelihood of a few readings of one eye at one age, in closed form.
//
// Each reading is gross, of a likelihood that does not hang on T, or off the
// curve by its own error and what the eye shares. For each set of readings that
// are not gross all is normal, and the shared error integrates out: with l what
// a reading lies above the curve, s the shared and d the own deviation,
//
//	Q = Σ l²/d², M = Σ l·s/d², P = Σ s²/d²: (1+P)^−½·exp(−(Q − M²/(1+P))/2).
//
// All are on the scale of errors. Between the places where a curve comes from one of
// the scale's pieces to the next, or to lie on a rating of 0, l is straight in T^−p and
// the exponent a parabola in it. The sum over the sets is the likelihood, without any
// rule of integration.
type eyeFew struct {
	n      int
	lines  [fewReadings][4]eyeLine // by falling T^−power
	own    [fewReadings]float64    // 1/d²
	shared [fewReadings]float64    // s/d²
	bad    float64                 // logarithm of all of them gross
	sets   [1 << fewReadings]eyeSet
}

// eyeLine is what a reading lies above the curve, at0 + at1·x, from an x = T^−power on.
type eyeLine struct{ from, at0, at1 float64 }

// eyeSet is one set of readings that are not gross: the exponent is
// at0 + at1·x + at2·x². Weight is that of the set, c is 1/(1+P).
type eyeSet struct{ at0, at1, at2, weight, c float64 }

// opens says whether the likelihood of the readings can be opened into its terms
// without vanishing.
func opens(of []reading, gross float64) bool {
	if len(of) > fewReadings {
		return false
	}
	return len(of) == 1 || gross >= 1e-20
}

// lay takes the readings of one eye. The likelihood is relative to that of
// readings right on a curve that is known.
func (e *eyeFew) lay(of []reading, age float64, t *taken) {
	e.n, e.bad = len(of), 0
	right := math.Log1p(-t.gross)
	var squares [1 << fewReadings]float64 // P
	e.sets[0].weight = 0
	for i, r := range of {
		own := r.sd
		shared := r.shared
		if e.n == 1 {
			own, shared = math.Hypot(r.sd, r.shared), 0
		}
		e.own[i], e.shared[i] = 1/(own*own), shared/(own*own)
		e.lines[i] = linesOf(&t.scale, r.drop(t, age), r.fallen)
		bad := math.Log(t.grossOf(own))
		e.bad += bad
		for set := 1 << i; set < 2<<i; set++ {
			squares[set] = squares[set-1<<i] + shared*shared/(own*own)
			e.sets[set].weight = e.sets[set-1<<i].weight + right - bad
		}
	}
	for set := 1; set < 1<<e.n; set++ {
		s := &e.sets[set]
		s.c = 1 / (1 + squares[set])
		s.weight += e.bad + math.Log(s.c)/2
	}
}

// linesOf gives the pieces of what a reading lies above a curve that falls by drop·x. Of
// a covering that is new at the look, drop is 0, and all but the last begin at infinity.
func linesOf(s *wear.Scale, drop, fallen float64) [4]eyeLine {
	lines := [4]eyeLine{
		{100 / drop, s.Most - fallen, 0},
		{wear.FullErrorFall / drop, s.FromWhole - fallen, drop},
		{wear.NearNewFall / drop, s.FromBetween - fallen, s.Between * drop},
		{0, -fallen, s.NearNew * drop},
	}
	if s.NearNew == 1 { // one piece down to a rating of 0
		lines[1].from = 0
	}
	return lines
}

// open works out the terms for an x and those below it down to the end of a piece of
// one of the readings. Flat says that all lie on a rating of 0.
func (e *eyeFew) open(x float64) (until float64, flat bool) {
	flat = true
	// The empty set first; each set is made from the one without its last reading.
	var squares [1 << fewReadings]struct{ q0, q1, q2, m0, m1 float64 }
	for i := range e.n {
		line := &e.lines[i][0]
		for k := 1; x < line.from; k++ {
			line = &e.lines[i][k]
		}
		until = max(until, line.from)
		a, b, own, shared := line.at0, line.at1, e.own[i], e.shared[i]
		flat = flat && b == 0
		for set := 1 << i; set < 2<<i; set++ {
			s, t := squares[set-1<<i], &e.sets[set]
			s.q0, s.q1, s.q2 = s.q0+own*a*a, s.q1+2*own*a*b, s.q2+own*b*b
			s.m0, s.m1 = s.m0+shared*a, s.m1+shared*b
			squares[set] = s
			t.at0, t.at1, t.at2 = t.weight-(s.q0-t.c*s.m0*s.m0)/2, -(s.q1-2*t.c*s.m0*s.m1)/2, -(s.q2-t.c*s.m1*s.m1)/2
		}
	}
	return until, flat
}

// times multiplies a density by the likelihood at each x = T^−power, which fall,
// and gives the largest product.
func (e *eyeFew) times(slowness, density []float64) (peak float64) {
	sets := e.sets[1 : 1<<e.n]
	density = density[:len(slowness)]
	gross, least := math.Exp(e.bad), max(e.bad-40, expLeast)
	for j := 0; j < len(slowness); {
		until, flat := e.open(slowness[j])
		for first := j; j < len(slowness) && slowness[j] >= until; j++ {
			x := slowness[j]
			like := gross
			for i := range sets {
				s := &sets[i]
				v := s.at0 + x*(s.at1+x*s.at2)
				if v <= least {
					continue
				}
				// expo, written out: a call would cost as much as it does.
				whole := v*expScale + expRound
				k := int64(math.Float64bits(whole)<<13) >> 13
				n := whole - expRound
				r := (v - n*expHigh) - n*expLow
				r2 := r * r
				p := (1 + r) + r2*((0.5+r*(1.0/6))+r2*(1.0/24))
				like += math.Float64frombits(math.Float64bits(expTable[k&(expParts-1)]*p) + uint64(k>>7)<<52)
			}
			if flat && j == first {
				for j++; j < len(slowness) && slowness[j] >= until; j++ {
					density[j] *= like
					peak = max(peak, density[j])
				}
				density[first] *= like
				peak = max(peak, density[first])
				break
			}
			density[j] *= like
			peak = max(peak, density[j])
		}
	}
	return peak
}
