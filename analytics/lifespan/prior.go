package lifespan

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// Prior is the Weibull distribution of T, the age in years at which a covering
// is worn out, before anything is known of the roof:
//
//	P(T > t) = exp(−(t/ScaleYears)^Shape)
//
// ScaleYears is the age that 36.8 % outlive. The methods need a positive shape
// and scale and ages that are not negative; other arguments give NaN or values
// without meaning, as in package math.
type Prior struct {
	Shape      float64 `json:"shape"`
	ScaleYears float64 `json:"scale_years"`
	Source     string  `json:"source"`
}

// Spread gives the prior whose median is as given and whose 90 % point is
// high/low times its 10 % point. All in years, 0 < low < high.
func Spread(median, low, high float64, source string) Prior {
	k := math.Log(math.Log(10)/math.Log(10.0/9)) / math.Log(high/low)
	return Prior{Shape: k, ScaleYears: median / math.Pow(math.Ln2, 1/k), Source: source}
}

func (p Prior) cumulative(age float64) float64 { return math.Pow(age/p.ScaleYears, p.Shape) }

// Survival is P(T > age).
func (p Prior) Survival(age float64) float64 { return math.Exp(-p.cumulative(age)) }

// Hazard is the rate of wearing out at an age, per year, among those not worn
// out. At age 0 it is 0, 1/ScaleYears or infinite as Shape is above, at or
// below 1.
func (p Prior) Hazard(age float64) float64 {
	return p.Shape / p.ScaleYears * math.Pow(age/p.ScaleYears, p.Shape-1)
}

// Quantile is the age that a share q, 0 to 1, does not outlive.
func (p Prior) Quantile(q float64) float64 {
	return p.ScaleYears * math.Pow(-math.Log1p(-q), 1/p.Shape)
}

// QuantileLeft is the q quantile of the years left of a covering known not to
// be worn out at an age: η·((a/η)^k − ln(1−q))^(1/k) − a.
func (p Prior) QuantileLeft(age, q float64) float64 {
	h, more := p.cumulative(age), -math.Log1p(-q)
	if h > 1 {
		// The same value without the cancellation of two large ages.
		return age * math.Expm1(math.Log1p(more/h)/p.Shape)
	}
	return p.ScaleYears*math.Pow(h+more, 1/p.Shape) - age
}

// MeanLeft is the mean of the years left of a covering known not to be worn out
// at an age: η·Γ(1+1/k)·Q(1/k, (a/η)^k)/S(a), with Q the regularised upper
// incomplete gamma function.
func (p Prior) MeanLeft(age float64) float64 {
	h, inverse := p.cumulative(age), 1/p.Shape
	if h > 500 {
		// Q and S vanish together: the first terms of Γ(1/k, h) for large h.
		return p.ScaleYears * inverse * math.Pow(h, inverse-1) * (1 + (inverse-1)/h*(1+(inverse-2)/h))
	}
	return p.ScaleYears * math.Gamma(1+inverse) * mathext.GammaIncRegComp(inverse, h) * math.Exp(h)
}

// ChanceWithin is the chance that a covering known not to be worn out at an age
// is worn out within so many years.
func (p Prior) ChanceWithin(age, years float64) float64 {
	return -math.Expm1(p.cumulative(age) - p.cumulative(age+years))
}

func (p Prior) validate() error {
	if !(p.Shape >= 0.5 && p.Shape <= 20) {
		return fmt.Errorf("shape: must lie between 0.5 and 20, not %v", p.Shape)
	}
	if !(p.ScaleYears >= 1 && p.ScaleYears <= 500) {
		return fmt.Errorf("scale_years: must lie between 1 and 500, not %v", p.ScaleYears)
	}
	return nil
}

// Unknown is the material of a covering of which nothing is known.
const Unknown = "unknown"

// Kind is an entry of the table of priors.
type Kind struct {
	Key   string `json:"key"`
	Prior Prior  `json:"prior"`
}

// Where a source gives ranges, the median and the spread taken from them are
// our own reading, and the text says so. No published Weibull fit for roof
// coverings was found.
var table = []Kind{
	{"asphalt_strip", Spread(18, 12, 25, "A home inspectors' chart gives 20 years for three-tab (seen quoted), a Californian inspector 15 to 18, "+
		"a New England consultant 12 to 25, an engineer's survey page a mean of 17.7 for fibreglass asphalt (seen quoted). Our reading: median 18, spread of 12 to 25.")},
	{"asphalt_laminated", Spread(26, 18, 37, "A home inspectors' chart gives 30 years for laminated (seen quoted), a Californian inspector 24 to 30, "+
		"a New England consultant 25 to 40; all asphalt 20 (National Association of Home Builders, 2007, seen quoted). Our reading: median 26, spread of 18 to 37.")},
	{"asphalt_interlocking", Spread(20, 10, 36, "No published figure was found for interlocking shingles. Taken wide around the 20 years given for all asphalt "+
		"(National Association of Home Builders, 2007, seen quoted): median 20, spread of 10 to 36.")},
	{"asphalt_organic", Spread(14.5, 9, 21, "An engineer's survey page gives a mean of 14.7 years for asphalt on organic felt (seen quoted). Our reading: median 14.5; the spread of 9 to 21 is our own.")},
	{"wood_shake", Spread(26, 17, 37, "National Association of Home Builders, 2007: wood shake 30 (seen quoted); a Quebec inspector gives 20 to 25 for wood shingle; "+
		"a chart gives 25 (from memory). Our reading: median 26, spread of 17 to 37.")},
	{"metal", Spread(42, 28, 62, "A Californian inspector gives 30 to 45 years for coated steel; a chart gives 40 to 80 for metal (from memory). Our reading: median 42, spread of 28 to 62.")},
	{"tile", Spread(48, 32, 72, "An engineer's survey page gives a mean of 46.7 years for clay tile (seen quoted), a Californian inspector 35 to 50 for concrete tile; "+
		"above 50 for clay and concrete (National Association of Home Builders, 2007, seen quoted). Our reading: median 48, spread of 32 to 72.")},
	{"slate", Spread(65, 40, 105, "An engineer's survey page gives a mean of 60.3 years for slate (seen quoted), the National Association of Home Builders, 2007, above 50 (seen quoted), "+
		"a chart 60 to 150 (from memory). Our reading: median 65, spread of 40 to 105.")},
	{"low_slope_membrane", Spread(17, 11, 24, "Schneider and Keenan, 25,000 roofs of 1975 to 1996: low-slope systems 16.8 to 18.4 years (seen quoted); "+
		"an engineer's survey page gives 14.2 for EPDM (seen quoted), a Californian inspector 10 to 16. Our reading: median 17, spread of 11 to 24.")},
	{Unknown, Spread(20, 9, 42, "The covering is not known. Taken very wide around the 20 years given for all asphalt "+
		"(National Association of Home Builders, 2007, seen quoted): median 20, spread of 9 to 42.")},
}

// Table lists the priors by kind of covering. The result is the caller's own.
func Table() []Kind { return slices.Clone(table) }

// For gives the prior of a kind of covering.
func For(key string) (Prior, bool) {
	i := slices.IndexFunc(table, func(k Kind) bool { return k.Key == key })
	if i < 0 {
		return Prior{}, false
	}
	return table[i].Prior, true
}

func tableKeys() []string {
	keys := make([]string, len(table))
	for i, k := range table {
		keys[i] = k.Key
	}
	return keys
}
