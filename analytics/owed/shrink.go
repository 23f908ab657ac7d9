package owed

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Group is a count and the time in which it came about. A count may be a
// fraction where callbacks of unknown date are spread.
type Group struct {
	Count float64 `json:"count"`
	Years float64 `json:"years"`
}

// Prior is how rates vary across groups: gamma with shape Alpha and rate Beta,
// or one rate for all when Pooled. Mean is the overall rate and MeanSD the
// standard error of that mean.
type Prior struct {
	Alpha         float64 `json:"alpha,omitempty"`
	Beta          float64 `json:"beta,omitempty"`
	Pooled        bool    `json:"pooled"`
	Mean          float64 `json:"mean"`
	MeanSD        float64 `json:"mean_sd"`
	LogLikelihood float64 `json:"log_likelihood"`
}

// FitGamma fits the gamma of the rates by maximum likelihood of the counts,
// which are negative binomial once the rates are integrated out. Groups without
// time say nothing and are passed over. It needs some time and some count, and
// falls back to one pooled rate when the counts show no spread beyond Poisson.
func FitGamma(groups []Group) (Prior, error) {
	var used []Group
	var count, years float64
	for i, g := range groups {
		if !(g.Count >= 0) || !(g.Years >= 0) || math.IsInf(g.Count+g.Years, 0) {
			return Prior{}, fmt.Errorf("groups[%d]: count and years must be finite and not negative, not %v and %v", i, g.Count, g.Years)
		}
		if g.Years > 0 {
			used = append(used, g)
			count += g.Count
			years += g.Years
		}
	}
	if years == 0 || count == 0 {
		return Prior{}, fmt.Errorf("groups: a rate needs some time at risk and some count, not %v in %v years", count, years)
	}
	mean := count / years
	pooled := Prior{Pooled: true, Mean: mean, MeanSD: math.Sqrt(mean / years)}
	for _, g := range used {
		lgx, _ := math.Lgamma(g.Count + 1)
		pooled.LogLikelihood += g.Count*math.Log(mean*g.Years) - mean*g.Years - lgx
	}
	at := func(logAlpha float64) Prior {
		alpha := math.Exp(logAlpha)
		beta := betaFor(alpha, mean, used)
		return Prior{Alpha: alpha, Beta: beta, LogLikelihood: logLikelihood(alpha, beta, used)}
	}
	// The best shape, by golden section on its logarithm.
	const golden = 0.6180339887498949
	low, high := math.Log(1e-4), math.Log(1e6)
	a, b := high-golden*(high-low), low+golden*(high-low)
	fa, fb := at(a), at(b)
	for high-low > 1e-9 {
		if fa.LogLikelihood > fb.LogLikelihood {
			high, b, fb = b, a, fa
			a = high - golden*(high-low)
			fa = at(a)
		} else {
			low, a, fa = a, b, fb
			b = low + golden*(high-low)
			fb = at(b)
		}
	}
	best := at((low + high) / 2)
	if best.LogLikelihood-pooled.LogLikelihood < 1e-6 {
		return pooled, nil
	}
	best.Mean = best.Alpha / best.Beta
	best.MeanSD = meanSD(best.Alpha, best.Mean, used)
	return best, nil
}

// betaFor gives the rate that is most likely for a shape: the one zero of
// Σ (αt − βx)/(β + t), which falls with β.
func betaFor(alpha, mean float64, groups []Group) float64 {
	low, high := math.Log(alpha/mean)-40, math.Log(alpha/mean)+40
	for range 100 {
		middle := (low + high) / 2
		beta, slope := math.Exp(middle), 0.0
		for _, g := range groups {
			slope += (alpha*g.Years - beta*g.Count) / (beta + g.Years)
		}
		if slope > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return math.Exp((low + high) / 2)
}

func logLikelihood(alpha, beta float64, groups []Group) float64 {
	sum := 0.0
	lga, _ := math.Lgamma(alpha)
	for _, g := range groups {
		lgax, _ := math.Lgamma(alpha + g.Count)
		lgx, _ := math.Lgamma(g.Count + 1)
		sum += lgax - lga - lgx - alpha*math.Log1p(g.Years/beta)
		if g.Count > 0 {
			sum += g.Count * math.Log(g.Years/(beta+g.Years))
		}
	}
	return sum
}

// meanSD is the standard error of the overall rate: each group weighs in by the
// inverse of its Poisson variance and the variance across groups.
func meanSD(alpha, mean float64, groups []Group) float64 {
	weight := 0.0
	for _, g := range groups {
		if g.Years > 0 {
			weight += 1 / (mean/g.Years + mean*mean/alpha)
		}
	}
	return 1 / math.Sqrt(weight)
}

// Shrunk is a group's rate after shrinkage.
type Shrunk struct {
	Rate float64 // (α + count) / (β + years)
	SD   float64 // of the gamma posterior, given the prior
	// Pull is how much of the rate is the prior's mean: β / (β + years).
	Pull float64
}

// Shrink gives the posterior mean and spread of a group's rate, given the
// prior. Without time at risk it is the prior itself.
func (p Prior) Shrink(g Group) Shrunk {
	if p.Pooled {
		return Shrunk{Rate: p.Mean, Pull: 1}
	}
	if g.Years <= 0 {
		g = Group{}
	}
	shape, rate := p.Alpha+g.Count, p.Beta+g.Years
	return Shrunk{Rate: shape / rate, SD: math.Sqrt(shape) / rate, Pull: p.Beta / rate}
}

// gammaQuantile gives a quantile of the gamma distribution with that mean and
// standard deviation; a spread of nought is the mean itself.
func gammaQuantile(mean, sd, p float64) float64 {
	if !(sd > 0) || !(mean > 0) {
		return mean
	}
	shape := (mean / sd) * (mean / sd)
	if shape > 1e6 { // indistinguishable from the normal
		return math.Max(0, mean+sd*mathext.NormalQuantile(p))
	}
	if shape < 1e-3 { // all but nothing lies above nought
		return 0
	}
	return mathext.GammaIncRegInv(shape, p) * mean / shape
}
