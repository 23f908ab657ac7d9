package lifespan

import "math"

// mixture is the unit Weibull variable times a log-normal factor of median 1,
// on x = k·ln t. Given the standard normal z of the factor the survival is
// exp(−c·e^x) with c = exp(−k·s·z), so only the product k·s shapes it, and one
// table serves every roof that shares it, whatever its scale.
//
// The integral over z is the trapezoidal rule, which converges faster than any
// power of its step for such integrands.
type mixture struct {
	least  float64   // the smallest c, taken out so that the far tail keeps its digits
	rise   []float64 // c − least
	c      []float64
	weight []float64 // adds to 1

	from, step float64
	knots      []knot
}

// knot holds the logarithms of Σ w·e^(−rise·e^x) and Σ w·c·e^(−rise·e^x), and
// their slopes.
type knot struct{ survival, survivalSlope, density, densitySlope float64 }

// farZ is where the integral over the factor is cut: 1 in 10⁹ lies outside.
const farZ = 6.0

// knotStep is the distance of the table's knots on x. Cubic interpolation is
// then good to 1e-5 at the far end, and to 1e-6 before it.
const knotStep = 1.0 / 8

func newMixture(ks float64) *mixture {
	if ks < 1e-9 {
		return &mixture{least: 1, rise: []float64{0}, c: []float64{1}, weight: []float64{1}}
	}
	half := int(math.Ceil(farZ / 0.5 * max(1, ks)))
	m := &mixture{least: math.Exp(-ks * farZ)}
	sum := 0.0
	for i := -half; i <= half; i++ {
		z := farZ * float64(i) / float64(half)
		c, w := math.Exp(-ks*z), math.Exp(-z*z/2)
		m.c, m.rise, m.weight = append(m.c, c), append(m.rise, c-m.least), append(m.weight, w)
		sum += w
	}
	for i := range m.weight {
		m.weight[i] /= sum
	}
	return m
}

// tabulate fills the table for the x that estimates visit.
func (m *mixture) tabulate(ks float64) {
	if len(m.c) == 1 {
		return
	}
	m.from, m.step = -20-10*ks, knotStep
	to := 4.5 + farZ*ks
	m.knots = make([]knot, int((to-m.from)/m.step)+2)
	for i := range m.knots {
		m.knots[i] = m.sum(m.from + float64(i)*m.step)
	}
}

// sum computes the knot at x.
func (m *mixture) sum(x float64) knot {
	if len(m.c) == 1 {
		return knot{}
	}
	e := math.Exp(x)
	var s, ds, d, dd float64
	for j, r := range m.rise {
		v := m.weight[j] * expo(-r*e)
		s += v
		ds -= v * r
		v *= m.c[j]
		d += v
		dd -= v * r
	}
	return knot{math.Log(s), ds / s * e, math.Log(d), dd / d * e}
}

// logDensity gives Σ w·c·e^(−rise·e^x) on the logarithm, from the table.
func (m *mixture) logDensity(x float64) float64 {
	if len(m.knots) == 0 {
		return m.sum(x).density
	}
	at := (x - m.from) / m.step
	if !(at >= 0 && at < float64(len(m.knots)-1)) {
		return m.sum(x).density
	}
	i := int(at)
	a, b := &m.knots[i], &m.knots[i+1]
	return hermite(at-float64(i), a.density, b.density, a.densitySlope*m.step, b.densitySlope*m.step)
}

// hazards gives the cumulative hazard H = −ln P(X > x) and its slope in x.
func (m *mixture) hazards(x float64) (h, slope float64) {
	e := math.Exp(x)
	if len(m.c) == 1 {
		return e, e
	}
	if at := (x - m.from) / m.step; at >= 0 && at < float64(len(m.knots)-1) {
		i := int(at)
		a, b := &m.knots[i], &m.knots[i+1]
		u := at - float64(i)
		ls := hermite(u, a.survival, b.survival, a.survivalSlope*m.step, b.survivalSlope*m.step)
		dls := a.survivalSlope + u*(b.survivalSlope-a.survivalSlope) // good enough to steer by
		return m.least*e - ls, m.least*e - dls
	}
	k := m.sum(x)
	return m.least*e - k.survival, m.least*e - k.survivalSlope
}

// at solves H(x) = h by Newton's rule on ln H, which is nearly straight in x.
// It ends when a step is below 1e-13 or after 60 steps; for the shapes and
// factors that are let in it ends within ten.
func (m *mixture) at(h float64) float64 {
	x := math.Log(h)
	if len(m.c) == 1 {
		return x
	}
	for range 60 {
		have, slope := m.hazards(x)
		step := math.Log(have/h) * have / slope
		if !(math.Abs(step) < 20) {
			step = math.Copysign(20, step)
		}
		x -= step
		if math.Abs(step) <= 1e-13*max(1, math.Abs(x)) {
			break
		}
	}
	return x
}

// hermite is the cubic on 0..1 with values a, b and slopes da, db at the ends.
func hermite(u, a, b, da, db float64) float64 {
	d := b - a
	return a + u*(da+u*(3*d-2*da-db+u*(da+db-2*d)))
}
