package hindsight

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"overhang/analytics/wear"
)

// Quantile is the age, in years, before which the covering is worn out with the
// chance P.
type Quantile struct {
	P        float64 `json:"p"`
	AgeYears float64 `json:"age_years"`
}

// forecast is a distribution of T that can be read at any age.
type forecast interface {
	// below is P(T ≤ age).
	below(age float64) float64
	// at is the age that T does not reach with the chance p.
	at(p float64) float64
}

// point is a forecast that takes itself for certain.
type point float64

func (f point) below(age float64) float64 {
	if age >= float64(f) {
		return 1
	}
	return 0
}

func (f point) at(float64) float64 { return float64(f) }

// pieces is a distribution whose logarithm is normal between each two quantiles:
// normal quantiles over logarithms of ages, both rising.
type pieces struct{ log, z []float64 }

// through makes the distribution of some quantiles, in any order. Field names
// them in errors.
func through(field string, quantiles []Quantile) (*pieces, error) {
	if len(quantiles) < 2 {
		return nil, fmt.Errorf("%s: give at least two, not %d", field, len(quantiles))
	}
	sorted := slices.Clone(quantiles)
	slices.SortFunc(sorted, func(a, b Quantile) int {
		switch {
		case a.P < b.P:
			return -1
		case a.P > b.P:
			return 1
		}
		return 0
	})
	f := &pieces{}
	for i, q := range sorted {
		switch {
		case !(q.P > 0 && q.P < 1):
			return nil, fmt.Errorf("%s.p: must lie between 0 and 1, not %v", field, q.P)
		case !(q.AgeYears > 0 && q.AgeYears <= mostAge):
			return nil, fmt.Errorf("%s.age_years: must lie above 0 and up to %v, not %v", field, mostAge, q.AgeYears)
		case i > 0 && (q.P == sorted[i-1].P || q.AgeYears <= sorted[i-1].AgeYears):
			return nil, fmt.Errorf("%s: ages must rise with p: %v at %v, %v at %v", field, sorted[i-1].AgeYears, sorted[i-1].P, q.AgeYears, q.P)
		}
		f.log, f.z = append(f.log, math.Log(q.AgeYears)), append(f.z, mathext.NormalQuantile(q.P))
	}
	return f, nil
}

// piece gives the i for which v lies between along[i] and along[i+1], or the
// outermost.
func piece(along []float64, v float64) int {
	i := 0
	for i < len(along)-2 && v > along[i+1] {
		i++
	}
	return i
}

func (f *pieces) below(age float64) float64 {
	if !(age > 0) {
		return 0
	}
	x := math.Log(age)
	i := piece(f.log, x)
	z := f.z[i] + (x-f.log[i])*(f.z[i+1]-f.z[i])/(f.log[i+1]-f.log[i])
	return math.Erfc(-z/math.Sqrt2) / 2
}

func (f *pieces) at(p float64) float64 {
	z := mathext.NormalQuantile(p)
	i := piece(f.z, z)
	return math.Exp(f.log[i] + (z-f.z[i])*(f.log[i+1]-f.log[i])/(f.z[i+1]-f.z[i]))
}

// ratingSteps is into how many equally likely slices T is cut to foretell a
// rating, and ratingPoints the steps of the scale on which it is scored.
const (
	ratingSteps  = 40
	ratingPoints = 100
)

// foretold is the distribution of the next rating: the curve's rating for each
// slice of T, with the reading's error around it, both on the scale of errors.
type foretold struct {
	mean       float64 // of the rating
	means, sds []float64
	gross      float64
	scale      wear.Scale
	below      [ratingPoints]float64 // the chance of less, at the middle of each point
}

// ratings foretells the rating at an age, by a look with an error of so many
// points that shows a share of the fall. Of an eye that has read this covering before, those readings tell how it
// reads: a T that is longer than they said makes it a gloomy eye. To add the whole
// error of the reading to the spread of T would count what the eye shares twice.
func ratings(f forecast, age, sd, shown float64, before []Earlier, c curveOf) *foretold {
	out := &foretold{gross: c.gross, scale: c.scale, mean: 100}
	slices := ratingSteps
	if _, certain := f.(point); certain {
		slices = 1
	}
	for i := range slices {
		T := f.at((float64(i) + 0.5) / float64(slices))
		mean, shared := c.eye(before, T)
		out.means = append(out.means, c.fallen(age, T, shown)-sd*math.Sqrt(c.shared)*mean)
		out.sds = append(out.sds, sd*math.Sqrt(1-c.shared+c.shared*shared))
	}
	// The mean of what is cut at 0 and 100 is 100 less the area under the chances.
	for i := range out.below {
		out.below[i] = out.uncut(float64(i) + 0.5)
		out.mean -= out.below[i]
	}
	return out
}

// mostBefore is how many of an eye's readings are asked, the last.
const mostBefore = 6

// eye gives the mean and the variance of what an eye shares, in standard
// deviations of it upwards, if the covering is worn out at T: each of its readings may be
// gross and tell nothing, and all sets of them are weighed.
func (c curveOf) eye(before []Earlier, T float64) (mean, variance float64) {
	if len(before) == 0 || c.shared == 0 {
		return 0, 1
	}
	before = before[max(0, len(before)-mostBefore):]
	type of struct{ weight, precision, pull, misfit float64 }
	sets := []of{{1, 1, 0, 0}}
	for _, b := range before {
		sd := or(b.ErrorPoints, UsualErrorPoints)
		own, shared := sd*math.Sqrt(1-c.shared), sd*math.Sqrt(c.shared)
		off := c.fallen(b.AgeYears, T, or(b.ShownShare, 1)) - c.scale.Stretched(100-b.Rating)
		for _, s := range sets[:len(sets):len(sets)] {
			sets = append(sets, of{s.weight * (1 - c.gross) / (own * math.Sqrt(2*math.Pi)), s.precision + shared*shared/(own*own),
				s.pull + off*shared/(own*own), s.misfit + off*off/(own*own)})
		}
		for i := range len(sets) / 2 {
			sets[i].weight *= c.gross / c.scale.Most
		}
	}
	logs := make([]float64, len(sets))
	most := math.Inf(-1)
	for i, s := range sets {
		logs[i] = math.Log(s.weight) - math.Log(s.precision)/2 - (s.misfit-s.pull*s.pull/s.precision)/2
		most = max(most, logs[i])
	}
	total, square := 0.0, 0.0
	for i, s := range sets {
		w, m := math.Exp(logs[i]-most), s.pull/s.precision
		total, mean, square = total+w, mean+w*m, square+w*(m*m+1/s.precision)
	}
	mean /= total
	return mean, square/total - mean*mean
}

// uncut is P(rating ≤ r) before it is cut at the ends of the scale.
func (f *foretold) uncut(r float64) float64 {
	sum, fallen := 0.0, f.scale.Stretched(100-r)
	for i, m := range f.means {
		sum += math.Erfc((fallen-m)/(f.sds[i]*math.Sqrt2)) / 2
	}
	return (1-f.gross)*sum/float64(len(f.means)) + f.gross*(1-fallen/f.scale.Most)
}

// share is the chance foretold for a rating up to the one read: a stretch where
// the rating is one of the ends, at which much of the distribution is put.
func (f *foretold) share(r float64) (low, high float64) {
	switch {
	case r <= 0:
		return 0, f.uncut(0)
	case r >= 100:
		return f.uncut(100), 1
	}
	v := f.uncut(r)
	return v, v
}

// score is the continuous ranked probability score in rating points.
func (f *foretold) score(r float64) float64 {
	sum := 0.0
	for i, p := range f.below {
		// The step within which the rating lies counts on both sides.
		over := min(max(float64(i+1)-r, 0), 1)
		sum += over*(1-p)*(1-p) + (1-over)*p*p
	}
	return sum
}
