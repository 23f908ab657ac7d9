package survival

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Distribution is the family of a life. Each is log T = location + σ·W with W
// free of parameters.
type Distribution string

// The families. Weibull has W the logarithm of a unit exponential; Exponential
// is Weibull with σ = 1, LogNormal has W normal and LogLogistic W logistic.
const (
	Weibull     Distribution = "weibull"
	Exponential Distribution = "exponential"
	LogNormal   Distribution = "lognormal"
	LogLogistic Distribution = "loglogistic"
)

func (d Distribution) validate() error {
	switch d {
	case Weibull, Exponential, LogNormal, LogLogistic:
		return nil
	}
	return fmt.Errorf("distribution: must be %s, %s, %s or %s, not %q", Weibull, LogNormal, LogLogistic, Exponential, string(d))
}

// logDensity gives the logarithm of W's density at z with its first and second
// derivative.
func (d Distribution) logDensity(z float64) (value, slope, bend float64) {
	switch d {
	case LogNormal:
		return -z*z/2 - halfLog2Pi, -z, -1
	case LogLogistic:
		p := logistic(z)
		return z - 2*softplus(z), 1 - 2*p, -2 * p * (1 - p)
	}
	e := math.Exp(z)
	return z - e, 1 - e, -e
}

// logSurvival gives the logarithm of P(W > z).
func (d Distribution) logSurvival(z float64) float64 {
	switch d {
	case LogNormal:
		return logNormalTail(z)
	case LogLogistic:
		return -softplus(z)
	}
	return -math.Exp(z)
}

// tail gives logSurvival and logDensity's value and slope at one go, which for
// Weibull share their exponential.
func (d Distribution) tail(z float64) (survival, density, slope float64) {
	if d == Weibull || d == Exponential {
		e := math.Exp(z)
		return -e, z - e, 1 - e
	}
	density, slope, _ = d.logDensity(z)
	return d.logSurvival(z), density, slope
}

// gap gives how much further than z the point lies at which ln S is lower by
// more, which is positive. It keeps its digits where the gap is small against z.
func (d Distribution) gap(z, more float64) float64 {
	switch d {
	case LogNormal:
		want := logNormalTail(z) - more
		var to float64
		switch s := math.Exp(want); {
		case s > 0.5:
			to = mathext.NormalQuantile(-math.Expm1(want))
		case s > 1e-290:
			to = -mathext.NormalQuantile(s)
		default:
			to = math.Sqrt(-2 * want)
		}
		for range 4 { // Newton's rule on ln S, which is nearly a parabola out there
			have := logNormalTail(to)
			f, _, _ := d.logDensity(to)
			to += (have - want) * math.Exp(have-f)
		}
		return to - z
	case LogLogistic:
		// e^z' = (1 + e^z)·e^more − 1
		return more + math.Log1p(-math.Expm1(-more)*math.Exp(-z))
	}
	return math.Log1p(more * math.Exp(-z))
}

// quantile gives W's p quantile.
func (d Distribution) quantile(p float64) float64 {
	switch d {
	case LogNormal:
		return mathext.NormalQuantile(p)
	case LogLogistic:
		return math.Log(p) - math.Log1p(-p)
	}
	return math.Log(-math.Log1p(-p))
}

var halfLog2Pi = math.Log(2*math.Pi) / 2

func softplus(z float64) float64 { return max(z, 0) + math.Log1p(math.Exp(-math.Abs(z))) }

func logistic(z float64) float64 {
	e := math.Exp(-math.Abs(z))
	if z < 0 {
		return e / (1 + e)
	}
	return 1 / (1 + e)
}

// logNormalTail is ln P(Z > z) of the standard normal, also where P itself is
// below the smallest number.
func logNormalTail(z float64) float64 {
	switch {
	case z < -1:
		return math.Log1p(-math.Erfc(-z/math.Sqrt2) / 2)
	case z < 30:
		return math.Log(math.Erfc(z/math.Sqrt2) / 2)
	}
	// The asymptotic series; its first term left out is below 1e-13 here.
	q := 1 / (z * z)
	return -z*z/2 - halfLog2Pi - math.Log(z) + math.Log1p(-q*(1-3*q*(1-5*q*(1-7*q))))
}

// Life is the distribution of the age at which a covering is worn out:
// log T = Location + Sigma·W. Ages are in the unit of the rows it was fitted to.
// The methods need Sigma above 0 and ages of 0 or more; other arguments give NaN
// or values without meaning, as in package math.
type Life struct {
	Distribution Distribution `json:"distribution"`
	Location     float64      `json:"location"`
	Sigma        float64      `json:"sigma"`
}

func (l Life) z(age float64) float64 { return (math.Log(age) - l.Location) / l.Sigma }

// Survival is P(T > age).
func (l Life) Survival(age float64) float64 { return math.Exp(l.Distribution.logSurvival(l.z(age))) }

// Hazard is the rate of wearing out at an age above 0 among those not worn out,
// per unit of time.
func (l Life) Hazard(age float64) float64 {
	z := l.z(age)
	f, _, _ := l.Distribution.logDensity(z)
	return math.Exp(f-l.Distribution.logSurvival(z)) / (l.Sigma * age)
}

// Quantile is the age that a share p, between 0 and 1, does not outlive.
func (l Life) Quantile(p float64) float64 {
	return math.Exp(l.Location + l.Sigma*l.Distribution.quantile(p))
}

// QuantileLeft is the p quantile of the time left, given T > age. For Weibull
// it is η·((a/η)^k − ln(1−p))^(1/k) − a.
func (l Life) QuantileLeft(age, p float64) float64 {
	if age == 0 {
		return l.Quantile(p)
	}
	return age * math.Expm1(l.Sigma*l.Distribution.gap(l.z(age), -math.Log1p(-p)))
}

// MeanLeft is the mean of the time left, given T > age. It is infinite for
// log-logistic lives with σ of 1 or more.
//
// Weibull: η·Γ(1+σ)·Q(σ, h)/S(a) with h = (a/η)^(1/σ) and Q the regularised
// upper incomplete gamma function. Log-normal: e^(μ+σ²/2)·Φ(σ−z)/Φ(−z) − a.
// Log-logistic: e^μ·B(1−σ, 1+σ)·I(S(a); 1−σ, 1+σ)/S(a) − a, with I the
// regularised incomplete beta function.
func (l Life) MeanLeft(age float64) float64 {
	z, s := l.z(age), l.Sigma
	switch l.Distribution {
	case LogNormal:
		return math.Exp(l.Location+s*s/2+logNormalTail(z-s)-logNormalTail(z)) - age
	case LogLogistic:
		if s >= 1 {
			return math.Inf(1)
		}
		// B(1−σ, 1+σ) = Γ(1−σ)·Γ(1+σ) = πσ/sin πσ
		survival := logistic(-z)
		return math.Exp(l.Location)*math.Pi*s/math.Sin(math.Pi*s)*mathext.RegIncBeta(1-s, 1+s, survival)/survival - age
	}
	h := math.Exp(z)
	if h > 500 {
		// Q and S vanish together: the first terms of Γ(σ, h) for large h.
		return math.Exp(l.Location+(s-1)*z) * s * (1 + (s-1)/h*(1+(s-2)/h))
	}
	return math.Exp(l.Location+h) * math.Gamma(1+s) * mathext.GammaIncRegComp(s, h)
}

// ChanceWithin is the chance that one not worn out at an age is worn out within
// so much time.
func (l Life) ChanceWithin(age, time float64) float64 {
	return -math.Expm1(-l.gathered(age, time))
}

// gathered is the hazard that one not worn out at an age gathers in so much time.
func (l Life) gathered(age, time float64) float64 {
	return l.Distribution.logSurvival(l.z(age)) - l.Distribution.logSurvival(l.z(age+time))
}
