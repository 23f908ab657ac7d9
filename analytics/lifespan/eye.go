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
// While the curve is above 0, l is straight in T^−p and the exponent a parabola in
// it. The sum over the sets is the likelihood, without any rule of integration.
type eyeFew struct {
	n      int
	drop   [fewReadings]float64 // of the curve, times T^power
	rating [fewReadings]float64 // less 100
	own    [fewReadings]float64 // 1/d²
	shared [fewReadings]float64 // s/d²
	floor  float64              // T^−power above which a curve lies on 0
	ground float64              // T^−power above which all do
	gross  float64              // all of them gross
	least  float64              // of an exponent that counts
	sets   [1 << fewReadings]eyeSet
}

// eyeSet is one set of readings that are not gross: the exponent is
// at0 + at1·x + at2·x², with x = T^−power.
type eyeSet struct{ at0, at1, at2, logWeight, doubt float64 }

// opens says whether the likelihood of the readings can be opened into its terms
// without vanishing.
func opens(of []reading, gross float64) bool {
	if len(of) > fewReadings {
		return false
	}
	return len(of) == 1 || gross >= 1e-20
}

// lay works out the terms. The likelihood is relative to that of readings right
// on a curve that is known.
func (e *eyeFew) lay(of []reading, age float64, t *taken) {
	e.n, e.floor, e.ground = len(of), math.Inf(1), 0
	good := math.Log1p(-t.gross)
	// The empty set first; each set is made from the one without its last reading.
	var squares [1 << fewReadings]struct{ q0, q1, q2, m0, m1, p, weight float64 }
	var bad [fewReadings]float64
	for i, r := range of {
		own := r.sd
		shared := r.shared
		if e.n == 1 {
			own, shared = math.Hypot(r.sd, r.shared), 0
		}
		e.drop[i], e.rating[i] = t.drop(age, r.yearsAgo, r.sight), r.rating-100
		e.own[i], e.shared[i] = 1/(own*own), shared/(own*own)
		bad[i] = math.Log(max(t.gross*own*math.Sqrt(2*math.Pi)/100, leastLikelihood))
		squares[0].weight += bad[i]
		if e.drop[i] > 0 {
			e.floor = min(e.floor, 100/e.drop[i])
			e.ground = max(e.ground, 100/e.drop[i])
		} else {
			e.ground = math.Inf(1)
		}
	}
	e.gross = math.Exp(squares[0].weight)
	e.least = squares[0].weight - 40
	for i := range e.n {
		a, b, own, shared := e.rating[i], e.drop[i], e.own[i], e.shared[i]
		for set := 1 << i; set < 2<<i; set++ {
			s := squares[set-1<<i]
			s.q0, s.q1, s.q2 = s.q0+own*a*a, s.q1+2*own*a*b, s.q2+own*b*b
			s.m0, s.m1 = s.m0+shared*a, s.m1+shared*b
			if shared > 0 {
				s.p += shared * shared / own
			}
			s.weight += good - bad[i]
			squares[set] = s
			c := 1 / (1 + s.p)
			w := s.weight + math.Log(c)/2
			e.sets[set] = eyeSet{w - (s.q0-c*s.m0*s.m0)/2, -(s.q1 - 2*c*s.m0*s.m1) / 2, -(s.q2 - c*s.m1*s.m1) / 2, w, c}
		}
	}
}

// times multiplies a density by the likelihood at each x = T^−power, which fall,
// and gives the largest product.
func (e *eyeFew) times(slowness, density []float64) (peak float64) {
	sets := e.sets[1 : 1<<e.n]
	density = density[:len(slowness)]
	gross, floor, least := e.gross, e.floor, e.least
	j, worst := 0, 0.0
	for ; j < len(slowness) && slowness[j] > e.ground; j++ {
		if j == 0 {
			worst = e.onFloor(slowness[j])
		}
		density[j] *= worst
		peak = max(peak, density[j])
	}
	for ; j < len(slowness); j++ {
		x := slowness[j]
		if x > floor {
			density[j] *= e.onFloor(x)
			peak = max(peak, density[j])
			continue
		}
		like := gross
		for i := range sets {
			s := &sets[i]
			if v := s.at0 + x*(s.at1+x*s.at2); v > least {
				like += expo(v)
			}
		}
		density[j] *= like
		peak = max(peak, density[j])
	}
	return peak
}

// onFloor is the likelihood where the curve of some reading lies on 0.
func (e *eyeFew) onFloor(x float64) float64 {
	var squares [1 << fewReadings]struct{ q, m float64 }
	like := e.gross
	for i := range e.n {
		left := e.rating[i] + min(100, e.drop[i]*x)
		q, m := left*left*e.own[i], left*e.shared[i]
		for set := 1 << i; set < 2<<i; set++ {
			s := squares[set-1<<i]
			s.q, s.m = s.q+q, s.m+m
			squares[set] = s
			like += expo(e.sets[set].logWeight - (s.q-e.sets[set].doubt*s.m*s.m)/2)
		}
	}
	return like
}
