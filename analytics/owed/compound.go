package owed

import (
	"fmt"
	"math"
	"math/cmplx"
	"sort"

	"gonum.org/v1/gonum/dsp/fourier"

	"overhang/analytics/units"
)

// Count is how many claims come: Poisson with that mean, or negative binomial
// with that mean and variance Mean + Mean²/Size when Size is above nought.
type Count struct {
	Mean float64 `json:"mean"`
	Size float64 `json:"size,omitempty"`
}

// Lattice is a distribution on the points (First + i) × Step.
type Lattice struct {
	Step  float64   `json:"step"`
	First int       `json:"first"`
	P     []float64 `json:"p"`
	below []float64 // sums of P
}

// mostCells bounds a lattice: the transform takes a second and 100 MB there.
const mostCells = 1 << 22

// spreads is how many standard deviations a lattice reaches either side of its
// mean.
const spreads = 12

// Compound gives the distribution of the sum of so many claims, each with
// probability severity[i] of costing i × step. It is exact on the lattice but
// for what lies more than 12 standard deviations from the mean and beyond the
// largest claim, which is folded back, and for rounding: the transform of the sum is exp(λ(ĝ − 1)) for Poisson
// and (1 − (λ/r)(ĝ − 1))^(−r) for negative binomial, so no first probability
// can underflow. It refuses a severity that is no distribution and a lattice of
// more than four million points.
func Compound(count Count, severity []float64, step float64) (Lattice, error) {
	if !(count.Mean >= 0) || math.IsInf(count.Mean, 0) || !(count.Size >= 0) {
		return Lattice{}, fmt.Errorf("count: mean and size must be finite and not negative, not %v and %v", count.Mean, count.Size)
	}
	if !(step > 0) || math.IsInf(step, 0) {
		return Lattice{}, fmt.Errorf("step: must be above nought, not %v", step)
	}
	var total, m1, m2 float64
	for i, p := range severity {
		if !(p >= 0) {
			return Lattice{}, fmt.Errorf("severity[%d]: must not be negative, not %v", i, p)
		}
		x := float64(i)
		total, m1, m2 = total+p, m1+p*x, m2+p*x*x
	}
	if math.Abs(total-1) > 1e-6 {
		return Lattice{}, fmt.Errorf("severity: must add up to 1, not %v", total)
	}
	mean := count.Mean * m1
	variance := count.Mean * m2
	poisson := count.Size == 0 || count.Size > 1e8
	if !poisson {
		variance += mean * mean / count.Size
	}
	reach := spreads * math.Sqrt(variance)
	first := math.Max(0, math.Floor(mean-reach))
	width := mean + reach - first + 1
	// One large claim can lie further out than any standard deviations: as far as
	// the claims that come at all, beside the mean of the others.
	beyond, largest := 0.0, len(severity)-1
	for ; largest > 0 && count.Mean*(beyond+severity[largest]) < 1e-13; largest-- {
		beyond += severity[largest]
	}
	if far := mean + 3*math.Sqrt(variance) + float64(largest) - first + 1; far <= mostCells {
		width = math.Max(width, far)
	}
	if width > mostCells || mean > 1e15 {
		return Lattice{}, fmt.Errorf("step: the lattice would need %.0f points, more than %d; take a larger step", width, mostCells)
	}
	n := 64
	for float64(n) < width {
		n *= 2
	}

	wrapped := make([]float64, n)
	for i, p := range severity {
		wrapped[i%n] += p / total
	}
	transform := fourier.NewFFT(n)
	g := transform.Coefficients(nil, wrapped)
	for i, c := range g {
		if poisson {
			g[i] = cmplx.Exp(complex(count.Mean, 0) * (c - 1))
		} else {
			g[i] = cmplx.Exp(complex(-count.Size, 0) * cmplx.Log(1-complex(count.Mean/count.Size, 0)*(c-1)))
		}
	}
	transform.Sequence(wrapped, g)
	out := Lattice{Step: step, First: int(first), P: make([]float64, n), below: make([]float64, n)}
	sum := 0.0
	for i := range out.P {
		out.P[i] = math.Max(0, wrapped[(out.First+i)%n]/float64(n))
		sum += out.P[i]
		out.below[i] = sum
	}
	return out, nil
}

// At gives the probability of at most x.
func (l Lattice) At(x float64) float64 {
	i := int(math.Floor(x/l.Step+1e-9)) - l.First
	switch {
	case i < 0 || len(l.P) == 0:
		return 0
	case i >= len(l.P):
		i = len(l.P) - 1
	}
	return l.below[i]
}

// Quantile gives the least point with a probability of at least p at or below
// it.
func (l Lattice) Quantile(p float64) float64 {
	i := sort.SearchFloat64s(l.below, p)
	return float64(l.First+min(i, len(l.P)-1)) * l.Step
}

// Moments gives the mean and the standard deviation.
func (l Lattice) Moments() (mean, sd float64) {
	for i, p := range l.P {
		mean += p * float64(l.First+i)
	}
	for i, p := range l.P {
		d := float64(l.First+i) - mean
		sd += p * d * d
	}
	return mean * l.Step, math.Sqrt(sd) * l.Step
}

// Discretise puts a cost on the lattice so that its mean is kept: limited(u) is
// the mean of the cost cut off at u. The last of the cells takes all that lies
// at or beyond it, so the mean kept is that of the cost cut off there.
func Discretise(limited func(u float64) float64, step float64, cells int) []float64 {
	out := make([]float64, cells+1)
	before, here := 0.0, limited(step)/step
	out[0] = math.Max(0, 1-here)
	for i := 1; i < cells; i++ {
		after := limited(float64(i+1)*step) / step
		out[i] = math.Max(0, 2*here-before-after)
		before, here = here, after
	}
	out[cells] = math.Max(0, here-before)
	return out
}

// logNormal is a cost with that mean and standard deviation.
type logNormal struct{ mu, sigma, mean float64 }

func newLogNormal(mean, sd float64) logNormal {
	sigma2 := math.Log1p((sd / mean) * (sd / mean))
	return logNormal{mu: math.Log(mean) - sigma2/2, sigma: math.Sqrt(sigma2), mean: mean}
}

// limited is the mean of the cost cut off at u.
func (l logNormal) limited(u float64) float64 {
	if u <= 0 {
		return 0
	}
	if l.sigma < 1e-6 {
		return math.Min(u, l.mean)
	}
	z := (math.Log(u) - l.mu) / l.sigma
	return l.mean*normalBelow(z-l.sigma) + u*normalBelow(-z)
}

// normalBelow is the chance that a standard normal lies below z.
func normalBelow(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// compoundRange gives the 10 and 90 % points of so many callbacks, with that
// relative variance of their rate, of a log-normal cost with that mean and
// standard deviation.
func compoundRange(count, mixing, mean, sd float64) (low, high units.Money) {
	const cells = 1 << 14
	variance := count*(mean*mean+sd*sd) + mixing*count*count*mean*mean
	expected := count * mean
	reach := spreads * math.Sqrt(variance)
	width := expected + reach - math.Max(0, expected-reach)
	step := math.Max(mean/8, width/cells*1.01)
	cost := newLogNormal(mean, sd)
	most := math.Exp(cost.mu + 6*cost.sigma) // one in a thousand million lies beyond
	severity := Discretise(cost.limited, step, int(math.Min(4*cells, math.Ceil(most/step)+1)))
	c := Count{Mean: count}
	if mixing > 0 {
		c.Size = 1 / mixing
	}
	l, err := Compound(c, severity, step)
	if err != nil { // a lattice too wide for any plan of ours: the two moments alone
		sd := math.Sqrt(variance)
		return units.Money(gammaQuantile(expected, sd, lowPoint)), units.Money(gammaQuantile(expected, sd, highPoint))
	}
	return units.Money(math.Round(l.Quantile(lowPoint))), units.Money(math.Round(l.Quantile(highPoint)))
}
