package lifespan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/wear"
)

// ModelVersion names the model and its constants; it is kept with every stored
// estimate and changes whenever the same input would give another result.
const ModelVersion = "lifespan 7"

// What is taken where the input is silent. The lag, the error and the share
// are our own judgement; no source.
const (
	UsualLagYears    = 3.0       // replacement lag
	UsualErrorPoints = 10.0      // standard deviation of a rating
	UsualGrossShare  = 0.05      // share of readings that tell nothing
	UsualSharedShare = 0.5       // of a reading's variance, what one eye and method always add
	UsualPower       = 1.5       // of the rating curve
	UsualLine        = wear.Line // rating at which a covering is worn out
)

// TooNewYears is the age under which nothing but the table can be said.
const TooNewYears = 5.0

// Input is one covering of which the years left are asked. All fields may be
// left out, which is not known.
type Input struct {
	// Material is a key of the table; empty is "unknown". Prior, when given,
	// takes the place of the table's.
	Material string `json:"material,omitempty"`
	Prior    *Prior `json:"prior,omitempty"`

	// The age today in years: AgeYears when it is known, or the two ends
	// between which every age is as likely. An end left out is 0, or the age
	// that 99 % of such coverings do not outlive.
	AgeYears         *float64 `json:"age_years,omitempty"`
	EarliestAgeYears *float64 `json:"age_at_least_years,omitempty"`
	LatestAgeYears   *float64 `json:"age_at_most_years,omitempty"`

	Factors []Factor `json:"factors,omitempty"`

	// ReplacementLagYears is how long, on average, a worn-out covering stays
	// on: it stands at age a, worn out at T < a, with the chance
	// exp(−(a−T)/lag). 0 says that every covering that stands is serviceable.
	// Left out it is UsualLagYears. The larger, the less standing tells.
	ReplacementLagYears *float64 `json:"replacement_lag_years,omitempty"`

	Readings []Reading `json:"readings,omitempty"`

	// Repairs relaid a share of the covering each.
	Repairs []Repair `json:"repairs,omitempty"`

	// WornBetween is given of a covering that was found worn out: its end lies
	// between the two looks.
	WornBetween *Span `json:"worn_between,omitempty"`

	// The rating curve 100 − (100 − line)·(age/T)^power, never below 0, and the
	// share of readings that are gross errors.
	LineRating *float64 `json:"line_rating,omitempty"`
	CurvePower *float64 `json:"curve_power,omitempty"`
	GrossShare *float64 `json:"gross_share,omitempty"`

	// SharedShare is the part of a reading's variance, 0 to 0.95, that all
	// readings by one person with one method share.
	SharedShare *float64 `json:"shared_share,omitempty"`

	// NearNewShare is what of its full error a reading has of a covering that is
	// all but new; 1 is the same error for every rating. See [wear.Scale].
	NearNewShare *float64 `json:"near_new_share,omitempty"`

	Explain bool `json:"explain,omitempty"` // give the reasons, which take longer than the estimate

	HorizonsYears []float64 `json:"horizons_years,omitempty"` // further years to give the chance of
}

// Reading is a rating of the covering, 0 to 100, made so many years ago. An age
// at the reading is not asked for: it follows from the age today, with that
// age's uncertainty.
type Reading struct {
	Name        string   `json:"name,omitempty"` // said back in the reasons
	YearsAgo    float64  `json:"years_ago"`
	Rating      float64  `json:"rating"`
	ErrorPoints *float64 `json:"error_points,omitempty"` // standard deviation of a fall from wear.FullErrorFall on; left out it is UsualErrorPoints

	// Who read it and how. Readings alike in both share a part of their error,
	// so that many by one eye never make certainty; not known counts as one eye.
	By     string `json:"by,omitempty"`
	Method string `json:"method,omitempty"`

	// ShownShare is what of the covering's fall such a look shows, from 0.01 to 1: a
	// look for a few defects misses the rest. Left out it is 1.
	ShownShare *float64 `json:"shown_share,omitempty"`

	// Slope is any name of the slope that was rated; left out, the reading is of
	// the roof, which is its worst visible slope.
	Slope string `json:"slope,omitempty"`
}

// reading is a Reading read: fallen is where its rating lies on the scale of errors,
// sd its own error there, shared the standard deviation of what it shares with the
// others of its eye; hidden is the share of the covering's fall that it does not show.
type reading struct {
	name                                 string
	yearsAgo, fallen, sd, shared, hidden float64
	eye, slope, of                       int // slope −1: the roof; of is its place in the input
	sight
}

// Range is the 10, 50 and 90 % points of a distribution, in years.
type Range struct {
	Low    float64 `json:"low"`
	Middle float64 `json:"middle"`
	High   float64 `json:"high"`
}

// Age is the distribution of T, the age at which the covering is worn out.
type Age struct {
	Range
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
}

// Chance is the chance of being worn out within so many years, past included.
type Chance struct {
	Years  float64 `json:"years"`
	Chance float64 `json:"chance"`
}

// Reason is what one group of evidence does to the median of T: its Shapley
// value, the mean of what it adds over every order in which the groups can be
// told. The first reason is the table's own median; the effects of the others
// add up exactly to the difference between that and the median of the result.
type Reason struct {
	Kind        string  `json:"kind"` // prior, factor, standing, reading
	Name        string  `json:"name"`
	Class       Class   `json:"class,omitempty"`
	EffectYears float64 `json:"effect_years"` // for the prior, its median
	Because     string  `json:"because,omitempty"`
	Source      string  `json:"source,omitempty"`
	Readings    []int   `json:"readings,omitempty"` // of a reading or several, their places in the input, from 0
}

// Result is what can be said of the covering. Numbers have their full
// precision; a page rounds to whole years.
type Result struct {
	ModelVersion string  `json:"model_version"`
	Material     string  `json:"material"`
	Prior        Prior   `json:"prior"`
	CurvePower   float64 `json:"curve_power"`        // of the rating curve, as taken
	EarliestAge  float64 `json:"age_at_least_years"` // as taken
	LatestAge    float64 `json:"age_at_most_years"`

	// TooNew says that the middle of the ages is under TooNewYears: a page
	// then shows what the table says of the material and no more.
	TooNew bool `json:"too_new"`

	// YearsLeft is of max(T − age, 0): a covering past its line has none left.
	// Its low end is 0 when the chance of being past is 10 % or more.
	YearsLeft     Range   `json:"years_left"`
	MeanYearsLeft float64 `json:"mean_years_left"`
	WornOutAge    Age     `json:"worn_out_age_years"`
	// AgeQuantiles are those of T, from 0.01 to 0.99, rising: the whole distribution
	// for who would hold the estimate against what comes.
	AgeQuantiles []Quantile `json:"age_quantiles"`

	// Slopes are those named by readings, in the order of their names: nil with
	// fewer than two. WornOutAge is the roof's, which is its worst slope's.
	Slopes     []SlopeResult `json:"slopes,omitempty"`
	WorstSlope string        `json:"worst_slope,omitempty"` // likely

	ChancePast float64  `json:"chance_past"`       // P(T ≤ age)
	ChanceIn1  float64  `json:"chance_in_1"`       // P(T ≤ age + 1), past included
	ChanceIn2  float64  `json:"chance_in_2"`       // P(T ≤ age + 2)
	ChanceIn5  float64  `json:"chance_in_5"`       // P(T ≤ age + 5)
	Chances    []Chance `json:"chances"`           // of the horizons asked for
	Reasons    []Reason `json:"reasons,omitempty"` // of input that asks to Explain: the table first
	Says       string   `json:"says"`              // what an estimate is and is not
}

const caution = "This is an estimate from what such coverings do and from what was seen of this one, not a promise and not an inspection. " +
	"It says nothing about leaks or about what lies below the covering. A closer look belongs to trained people with fall protection, never on frost, wet or steep slopes."

// taken is the input with every silence filled in.
type taken struct {
	material             string
	prior                Prior
	earliest, latest     float64
	lag                  float64
	readings             []reading // by eye, the oldest of each first
	repairs              []Repair  // the oldest first
	slopes               []string  // in order, where there are two or more
	ends                 []bool    // beside slopes: the roof may end with it
	worn                 *ended
	relaid               bool // nothing lies that was laid with the roof
	line, power, gross   float64
	scale                wear.Scale // on which a reading's error is the same everywhere
	logMean, logVariance float64
}

func or(v *float64, usual float64) float64 {
	if v == nil {
		return usual
	}
	return *v
}

// within says whether a number lies between two bounds; not a number does not.
func within(field string, v, low, high float64) error {
	if !(v >= low && v <= high) {
		return fmt.Errorf("%s: must lie between %v and %v, not %v", field, low, high, v)
	}
	return nil
}

// Bounds of the input.
const (
	mostAge      = 300.0
	mostFactors  = 40
	mostLogSD    = 1.0
	mostReadings = 1000
	mostHorizons = 100
	mostRepairs  = 100
)

// MostSlopes is how many slopes the readings of one roof may name.
const MostSlopes = 12

func (in Input) taken() (taken, error) {
	t := taken{material: in.Material}
	fail := func(err error) (taken, error) { return taken{}, err }
	if t.material == "" {
		t.material = Unknown
	}
	prior, known := For(t.material)
	if in.Prior != nil {
		prior = *in.Prior
		if err := prior.validate(); err != nil {
			return fail(fmt.Errorf("prior.%w", err))
		}
	} else if !known {
		return fail(fmt.Errorf("material: must be one of %s, or empty, not %q", strings.Join(tableKeys(), ", "), in.Material))
	}
	t.prior = prior

	t.earliest, t.latest = 0, min(prior.Quantile(0.99), mostAge)
	if in.AgeYears != nil {
		if in.EarliestAgeYears != nil || in.LatestAgeYears != nil {
			return fail(fmt.Errorf("age_years: goes without age_at_least_years and age_at_most_years"))
		}
		if err := within("age_years", *in.AgeYears, 0, mostAge); err != nil {
			return fail(err)
		}
		t.earliest, t.latest = *in.AgeYears, *in.AgeYears
	}
	if in.EarliestAgeYears != nil {
		if err := within("age_at_least_years", *in.EarliestAgeYears, 0, mostAge); err != nil {
			return fail(err)
		}
		t.earliest = *in.EarliestAgeYears
		t.latest = max(t.latest, t.earliest)
	}
	if in.LatestAgeYears != nil {
		if err := within("age_at_most_years", *in.LatestAgeYears, t.earliest, mostAge); err != nil {
			return fail(err)
		}
		t.latest = *in.LatestAgeYears
	}

	if err := t.takeRepairs(in.Repairs); err != nil {
		return fail(err)
	}

	if len(in.Factors) > mostFactors {
		return fail(fmt.Errorf("factors: at most %d, not %d", mostFactors, len(in.Factors)))
	}
	for i, f := range in.Factors {
		if err := f.validate(); err != nil {
			return fail(fmt.Errorf("factors[%d].%w", i, err))
		}
		t.logMean += f.logMean()
		t.logVariance += f.logVariance()
	}
	if math.Sqrt(t.logVariance) > mostLogSD || math.Abs(t.logMean) > 2 {
		return fail(fmt.Errorf("factors: together they may move a life sevenfold and spread it by a standard deviation of %v on its logarithm, no more", mostLogSD))
	}

	t.lag = or(in.ReplacementLagYears, UsualLagYears)
	if !(t.lag >= 0) {
		return fail(fmt.Errorf("replacement_lag_years: must not be negative, is %v", t.lag))
	}
	t.line, t.power, t.gross = or(in.LineRating, UsualLine), or(in.CurvePower, UsualPower), or(in.GrossShare, UsualGrossShare)
	shared := or(in.SharedShare, UsualSharedShare)
	for _, check := range []error{
		within("line_rating", t.line, 0, 90),
		within("curve_power", t.power, 0.5, 5),
		within("gross_share", t.gross, 0, 0.5),
		within("shared_share", shared, 0, 0.95),
	} {
		if check != nil {
			return fail(check)
		}
	}
	var err error
	if t.scale, err = wear.ScaleOf(or(in.NearNewShare, wear.UsualNearNewShare)); err != nil {
		return fail(err)
	}

	if len(in.Readings) > mostReadings {
		return fail(fmt.Errorf("readings: at most %d, not %d", mostReadings, len(in.Readings)))
	}
	if t.slopes, err = t.slopesOf(in.Readings); err != nil {
		return fail(err)
	}
	t.ends = t.canEnd()
	looked := t.latest
	if t.relaid {
		looked = mostAge
	}
	type eye struct{ by, method string }
	eyes := map[eye]int{}
	for i, r := range in.Readings {
		sd := or(r.ErrorPoints, UsualErrorPoints)
		for _, check := range []error{
			within("years_ago", r.YearsAgo, 0, looked),
			within("rating", r.Rating, 0, 100),
			within("error_points", sd, 2, 50),
			within("shown_share", or(r.ShownShare, 1), 0.01, 1),
		} {
			if check != nil {
				return fail(fmt.Errorf("readings[%d].%w", i, check))
			}
		}
		by := eye{r.By, r.Method}
		if _, seen := eyes[by]; !seen {
			eyes[by] = len(eyes)
		}
		read := reading{name: r.Name, of: i, slope: slices.Index(t.slopes, r.Slope), sight: t.seen(r.YearsAgo, r.Slope), yearsAgo: r.YearsAgo, fallen: t.scale.Stretched(100 - r.Rating), eye: eyes[by], hidden: 1 - or(r.ShownShare, 1), sd: sd * math.Sqrt(1-shared), shared: sd * math.Sqrt(shared)}
		if read.name == "" {
			read.name = fmt.Sprintf("reading %d", i+1)
		}
		if t.relaid && !read.present {
			continue // it was of what lay there before
		}
		// What was looked at so long ago was there by then.
		t.earliest = max(t.earliest, r.YearsAgo)
		if t.gone(r) {
			continue
		}
		t.readings = append(t.readings, read)
	}
	slices.SortStableFunc(t.readings, func(a, b reading) int {
		return cmp.Or(cmp.Compare(a.eye, b.eye), cmp.Compare(b.yearsAgo, a.yearsAgo))
	})

	if in.WornBetween != nil {
		if err := t.takeEnd(*in.WornBetween); err != nil {
			return fail(err)
		}
	}

	if len(in.HorizonsYears) > mostHorizons {
		return fail(fmt.Errorf("horizons_years: at most %d, not %d", mostHorizons, len(in.HorizonsYears)))
	}
	for i, h := range in.HorizonsYears {
		if err := within(fmt.Sprintf("horizons_years[%d]", i), h, 0, mostAge); err != nil {
			return fail(err)
		}
	}
	return t, nil
}

// Estimate gives the distribution of the years left of one covering and the
// reasons for it. It fails only on input outside the documented bounds, with an
// error that names the field and the rule.
func Estimate(in Input) (Result, error) { return new(Estimator).Estimate(in) }

// Estimate is the package's Estimate with the tables kept for the next roof.
func (e *Estimator) Estimate(in Input) (Result, error) {
	t, err := in.taken()
	if err != nil {
		return Result{}, fmt.Errorf("estimating the years left: %w", err)
	}
	result := Result{
		ModelVersion: ModelVersion, Material: t.material, Prior: t.prior, CurvePower: t.power,
		EarliestAge: t.earliest, LatestAge: t.latest,
		TooNew:  (t.earliest+t.latest)/2 < TooNewYears,
		Chances: []Chance{}, Says: caution,
	}
	all := groups{standing: true, slopes: !e.RoofAlone}
	for _, f := range in.Factors {
		all.logMean += f.logMean()
		all.logVariance += f.logVariance()
	}
	all.readings = t.readings
	p := e.posterior(&t, all)

	result.YearsLeft, result.WornOutAge.Range = p.spread(1), p.spread(0)
	result.AgeQuantiles = p.quantiles()
	result.WornOutAge.Mean, result.WornOutAge.SD, result.MeanYearsLeft = p.moments()
	if len(t.slopes) > 0 && !e.RoofAlone {
		result.Slopes, result.WorstSlope = e.slopes.results(&t, result.WornOutAge.Range)
	}
	result.ChancePast = p.past()
	within := func(years float64) float64 { return p.chance(years, 1) }
	result.ChanceIn1, result.ChanceIn2, result.ChanceIn5 = within(1), within(2), within(5)
	for _, h := range in.HorizonsYears {
		result.Chances = append(result.Chances, Chance{h, within(h)})
	}
	if in.Explain {
		result.Reasons = e.reasons(&t, in.Factors, result.WornOutAge.Middle)
	}
	return result, nil
}
