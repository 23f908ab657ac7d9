package survival

import "math"

// slopes are a logarithm of the likelihood with its derivatives in the location
// η of log T and in s = ln σ.
type slopes struct{ value, e, s, ee, es, ss float64 }

func (a *slopes) add(weight float64, b slopes) {
	a.value += weight * b.value
	a.e += weight * b.e
	a.s += weight * b.s
	a.ee += weight * b.ee
	a.es += weight * b.es
	a.ss += weight * b.ss
}

// of gives what a row adds to the log-likelihood, on the scale of time, at a
// location and σ. The row's weight is not in it.
func (c *contribution) of(d Distribution, location, sigma float64) slopes {
	var out slopes
	if c.exact {
		z := (c.logEvent - location) / sigma
		f, u, v := d.logDensity(z)
		out = slopes{
			value: f - math.Log(sigma) - c.logEvent,
			e:     -u / sigma, s: -u*z - 1,
			ee: v / (sigma * sigma), es: (v*z + u) / sigma, ss: v*z*z + u*z,
		}
	} else {
		out = chance(d, c.at, c.bounded, c.logUpper, location, sigma)
		out.value += c.constant
	}
	if c.entry != nil {
		out.add(-1, chance(d, c.entry, false, 0, location, sigma))
	}
	return out
}

// chance gives ln(Σ w·S(at) − S(upper)), Σ w = 1. All is taken relative to the
// greatest S, and the difference by expm1 of the logarithms, so that far tails
// and narrow intervals keep their digits.
func chance(d Distribution, at []point, bounded bool, logUpper, location, sigma float64) slopes {
	// The youngest age has the greatest chance.
	youngest, upper := math.Inf(1), math.Inf(-1)
	for _, p := range at {
		youngest = min(youngest, p.logAge)
	}
	top := d.logSurvival((youngest - location) / sigma)
	if math.IsInf(top, -1) {
		return slopes{value: top}
	}
	// a, b: first and second derivative of the chance in z, and their moments.
	var sum, a, az, b, bz, bzz float64
	slope := func(z, weight, f, u float64) {
		if f = weight * math.Exp(f-top); f == 0 {
			return // at new, and where nothing is left
		}
		a += f
		az += f * z
		b += f * u
		bz += f * u * z
		bzz += f * u * z * z
	}
	if bounded {
		z := (logUpper - location) / sigma
		l, f, u := d.tail(z)
		upper = l
		slope(z, 1, f, u)
	}
	for _, p := range at {
		z := (p.logAge - location) / sigma
		l, f, u := d.tail(z)
		sum += p.weight * math.Exp(l-top) * -math.Expm1(upper-l)
		slope(z, -p.weight, f, u)
	}
	a, az, b, bz, bzz = a/sum, az/sum, b/sum, bz/sum, bzz/sum
	return slopes{
		value: top + math.Log(sum),
		e:     -a / sigma, s: -az,
		ee: (b - a*a) / (sigma * sigma), es: (bz + a - a*az) / sigma, ss: bzz + az - az*az,
	}
}

// objective is the log-likelihood of rows in standardised covariates: the
// parameters are the coefficients, the first of a constant, and then ln σ unless
// σ is fixed at 1.
type objective struct {
	distribution Distribution
	rows         []contribution
	x            [][]float64
	free         bool // whether σ is
}

// at gives the log-likelihood, its gradient and minus its matrix of second
// derivatives. A value that is no number is minus infinity: out of bounds.
func (o objective) at(theta []float64) (value float64, gradient []float64, information [][]float64) {
	n := len(theta)
	p, sigma := n, 1.0
	if o.free {
		p--
		sigma = math.Exp(theta[p])
	}
	gradient, information = make([]float64, n), square(n)
	for i := range o.rows {
		c, x := &o.rows[i], o.x[i]
		r := c.of(o.distribution, dot(theta[:p], x), sigma)
		value += c.weight * r.value
		if math.IsNaN(value) || math.IsInf(value, 0) {
			return math.Inf(-1), nil, nil
		}
		for j, v := range x {
			gradient[j] += c.weight * r.e * v
			for k := range j + 1 {
				information[j][k] -= c.weight * r.ee * v * x[k]
			}
			if o.free {
				information[p][j] -= c.weight * r.es * v
			}
		}
		if o.free {
			gradient[p] += c.weight * r.s
			information[p][p] -= c.weight * r.ss
		}
	}
	for j := range n {
		for k := range j {
			information[k][j] = information[j][k]
		}
	}
	return value, gradient, information
}

// Status says whether the greatest likelihood was found, and if not why.
type Status struct {
	Converged  bool `json:"converged"`
	Iterations int  `json:"iterations"`
	// GradientNorm is the largest slope of the log-likelihood left, per standard
	// deviation of a covariate.
	GradientNorm float64 `json:"gradient_norm"`
	Why          string  `json:"why,omitempty"` // not converged
}

const mostSteps = 100

// asGoodAsNone is a gain of the log-likelihood below all digits.
const asGoodAsNone = 1e-24

func steepest(gradient []float64) float64 {
	most := 0.0
	for _, g := range gradient {
		most = max(most, math.Abs(g))
	}
	return most
}

// maximise climbs to the greatest likelihood from a start. No step changes σ
// more than fourfold, nor η by more than ten σ.
func (o objective) maximise(theta []float64) (best []float64, value float64, information [][]float64, status Status) {
	n := len(theta)
	return climb(o.at, func(theta, step []float64) float64 {
		sigma, length := 1.0, 1.0
		if o.free {
			sigma = math.Exp(theta[n-1])
			length = min(length, 1.4/math.Abs(step[n-1]))
		}
		for j, v := range step {
			if !o.free || j < n-1 {
				length = min(length, 10*sigma/math.Abs(v))
			}
		}
		return length
	}, theta, asGoodAsNone)
}

// climb seeks the top of at, which gives a value, its gradient and minus its
// second derivatives, by Newton's rule, with a ridge where it is not curved
// downwards and with steps halved until they gain. No step is longer than longest
// says. It is done when a full step promises no more than a gain that is enough,
// or one below 1e-8 of the value that no longer makes the slope less, which is as
// near as the digits allow.
func climb(at func([]float64) (float64, []float64, [][]float64), longest func(theta, step []float64) float64,
	theta []float64, enough float64) (best []float64, value float64, information [][]float64, status Status) {
	var gradient []float64
	value, gradient, information = at(theta)
	n := len(theta)
	for status.Iterations = 0; ; status.Iterations++ {
		status.GradientNorm = steepest(gradient)
		if math.IsInf(value, 0) {
			status.Why = "no likelihood at the start"
			return theta, value, information, status
		}
		var step []float64
		ridge, curved := 0.0, true
		for {
			damped := square(n)
			for j := range n {
				copy(damped[j], information[j])
				damped[j][j] += ridge * (math.Abs(information[j][j]) + 1e-8)
			}
			if l, bad := cholesky(damped, 1e-14); bad < 0 {
				step = solve(l, gradient)
				break
			}
			curved = false
			ridge = max(1e-3, 4*ridge)
			if ridge > 1e12 {
				status.Why = "the likelihood has no curvature to climb by"
				return theta, value, information, status
			}
		}
		gain := dot(gradient, step)
		small := curved && gain < 1e-8*max(1, math.Abs(value))
		if curved && gain <= enough {
			status.Converged = true
			return theta, value, information, status
		}
		if status.Iterations == mostSteps {
			status.Why = "the likelihood still rises after 100 steps"
			return theta, value, information, status
		}
		length := longest(theta, step)
		gained := false
		for range 40 {
			next := make([]float64, n)
			for j := range next {
				next[j] = theta[j] + length*step[j]
			}
			v, g, h := at(next)
			// Close to the top the value no longer tells: there the slope does.
			if v > value+1e-4*length*gain || (length == 1 && small && steepest(g) < status.GradientNorm) {
				theta, value, gradient, information, gained = next, v, g, h, true
				break
			}
			if small {
				break
			}
			length /= 2
		}
		if !gained {
			status.Converged = small
			if !status.Converged {
				status.Why = "no step raises the likelihood, though its slope is not nought"
			}
			return theta, value, information, status
		}
	}
}
