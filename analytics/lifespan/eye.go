package lifespan

import "math"

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
// Between the places where a curve comes to lie on 0, l is straight in T^−p and the
// exponent a parabola in it. The sum over the sets is the likelihood, without any rule of integration.
type eyeFew struct {
	n      int
	drop   [fewReadings]float64 // of the curve, times T^power
	foot   [fewReadings]float64 // T^−power from which on the curve lies on 0
	rating [fewReadings]float64 // less 100
	own    [fewReadings]float64 // 1/d²
	shared [fewReadings]float64 // s/d²
	weight [fewReadings]float64 // logarithm of right over gross
	bad    float64              // logarithm of all of them gross
	sets   [1 << fewReadings]eyeSet
}

// eyeSet is one set of readings that are not gross: the exponent is
// at0 + at1·x + at2·x², with x = T^−power.
type eyeSet struct{ at0, at1, at2 float64 }

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
	good := math.Log1p(-t.gross)
	for i, r := range of {
		own := r.sd
		shared := r.shared
		if e.n == 1 {
			own, shared = math.Hypot(r.sd, r.shared), 0
		}
		e.drop[i], e.rating[i] = t.drop(age, r.yearsAgo, r.sight), r.rating-100
		e.own[i], e.shared[i] = 1/(own*own), shared/(own*own)
		bad := math.Log(max(t.gross*own*math.Sqrt(2*math.Pi)/100, leastLikelihood))
		e.bad += bad
		e.weight[i] = good - bad
		e.foot[i] = math.Inf(1)
		if e.drop[i] > 0 {
			e.foot[i] = 100 / e.drop[i]
		}
	}
}

// open works out the terms for an x and those below it down to the next foot of a
// curve: a curve that lies on 0 is level in x. Flat says that all are.
func (e *eyeFew) open(x float64) (until float64, flat bool) {
	flat = true
	// The empty set first; each set is made from the one without its last reading.
	var squares [1 << fewReadings]struct{ q0, q1, q2, m0, m1, p, weight float64 }
	squares[0].weight = e.bad
	for i := range e.n {
		a, b, own, shared := e.rating[i], e.drop[i], e.own[i], e.shared[i]
		if x >= e.foot[i] {
			a, b = a+100, 0
			until = max(until, e.foot[i])
		} else {
			flat = false
		}
		for set := 1 << i; set < 2<<i; set++ {
			s := squares[set-1<<i]
			s.q0, s.q1, s.q2 = s.q0+own*a*a, s.q1+2*own*a*b, s.q2+own*b*b
			s.m0, s.m1 = s.m0+shared*a, s.m1+shared*b
			if shared > 0 {
				s.p += shared * shared / own
			}
			s.weight += e.weight[i]
			squares[set] = s
			c := 1 / (1 + s.p)
			e.sets[set] = eyeSet{s.weight + math.Log(c)/2 - (s.q0-c*s.m0*s.m0)/2, -(s.q1 - 2*c*s.m0*s.m1) / 2, -(s.q2 - c*s.m1*s.m1) / 2}
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
