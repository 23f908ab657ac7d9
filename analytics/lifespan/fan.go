package lifespan

import (
	"fmt"
	"math"
)

// Quantile is the age that T does not outlive with a chance.
type Quantile struct {
	P        float64 `json:"p"`
	AgeYears float64 `json:"age_years"`
}

// quantileLevels are those of a result's quantiles: close enough that what lies
// between can be read off a line, with the ends at one in a hundred.
var quantileLevels = []float64{0.01, 0.025, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5,
	0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95, 0.975, 0.99}

// quantiles gives those of T, each above the one before.
func (p *posterior) quantiles() []Quantile {
	out := make([]Quantile, len(quantileLevels))
	least := 0.0
	for i, level := range quantileLevels {
		least = max(p.quantile(level, 0), math.Nextafter(least, math.Inf(1)))
		out[i] = Quantile{level, least}
	}
	return out
}

// FanRating is the covering's rating at an age, as the distribution of T has it:
// its 10, 25, 50, 75 and 90 % points.
type FanRating struct {
	AgeYears float64 `json:"age_years"`
	Low      float64 `json:"low"`
	Lower    float64 `json:"lower"`
	Middle   float64 `json:"middle"`
	Upper    float64 `json:"upper"`
	High     float64 `json:"high"`
}

// FanReading is a reading where it lies in the fan. Where the covering's age is
// not known to the year it stands at the age that the middle of the ages gives
// it, and so does today.
type FanReading struct {
	Name        string  `json:"name,omitempty"`
	Slope       string  `json:"slope,omitempty"`
	AgeYears    float64 `json:"age_years"`
	Rating      float64 `json:"rating"`
	ErrorPoints float64 `json:"error_points"` // as in Reading
	// Low and High are the ratings between which the covering's own lies eight times in
	// ten, closer near 100 than further down.
	Low  float64 `json:"low_rating"`
	High float64 `json:"high_rating"`
}

// FanResult is the rating against age, before today and after.
type FanResult struct {
	TodayYears float64      `json:"today_years"` // the middle of the ages
	Line       float64      `json:"line_rating"`
	Ages       []FanRating  `json:"ages"`
	Readings   []FanReading `json:"readings,omitempty"`
}

// Fan gives the rating of a covering at some ages, years from 0 to 300: what the
// rating curve makes of the quantiles of T. The curve rises with T, so the q
// quantile of the rating is that of the q quantile of T, and each falls with age
// but where a share of the covering was relaid.
// It is the rating itself, and not what a look would give, which has an error.
// Its errors are those of Estimate.
func Fan(in Input, ages []float64) (FanResult, error) {
	t, err := in.taken()
	if err != nil {
		return FanResult{}, fmt.Errorf("drawing the rating against age: %w", err)
	}
	for i, age := range ages {
		if err := within(fmt.Sprintf("ages[%d]", i), age, 0, mostAge); err != nil {
			return FanResult{}, fmt.Errorf("drawing the rating against age: %w", err)
		}
	}
	var e Estimator
	all := groups{standing: true, readings: t.readings}
	for _, f := range in.Factors {
		all.logMean += f.logMean()
		all.logVariance += f.logVariance()
	}
	p := e.posterior(&t, all)
	out := FanResult{TodayYears: (t.earliest + t.latest) / 2, Line: t.line, Ages: make([]FanRating, len(ages))}
	var lives [5]float64
	for i, q := range []float64{0.1, 0.25, 0.5, 0.75, 0.9} {
		lives[i] = p.quantile(q, 0)
		if i > 0 { // in order also where they are one to the last digit
			lives[i] = max(lives[i], lives[i-1])
		}
	}
	for i, age := range ages {
		drop := t.drop(out.TodayYears, out.TodayYears-age, t.seen(out.TodayYears-age, ""))
		rating := func(life float64) float64 { return max(0, 100-drop*math.Pow(life, -t.power)) }
		out.Ages[i] = FanRating{age, rating(lives[0]), rating(lives[1]), rating(lives[2]), rating(lives[3]), rating(lives[4])}
	}
	for _, r := range in.Readings {
		if age := out.TodayYears - r.YearsAgo; !t.gone(r) && (age >= 0 || t.latest > t.earliest) {
			read := FanReading{Name: r.Name, Slope: r.Slope, AgeYears: max(0, age), Rating: r.Rating, ErrorPoints: or(r.ErrorPoints, UsualErrorPoints)}
			read.Low, read.High = t.scale.Around(read.Rating, read.ErrorPoints)
			out.Readings = append(out.Readings, read)
		}
	}
	return out, nil
}
