package hindsight

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"overhang/analytics/units"
	"overhang/analytics/wear"
)

// What is taken where the input is silent: our own judgement, as in package
// lifespan.
const (
	UsualLagYears    = 3.0
	UsualLine        = wear.Line
	UsualPower       = 1.5
	UsualGrossShare  = 0.05
	UsualErrorPoints = 10.0
	UsualSharedShare = 0.5
)

// FewRoofs is under how many roofs nothing is concluded, and FewWornOut under
// how many worn-out coverings nothing is concluded of how long they last. Both
// are our own judgement.
const (
	FewRoofs   = 10
	FewWornOut = 10
)

const (
	mostAge   = 400.0
	mostCases = 200_000
)

// Input is past estimates with what was later seen.
type Input struct {
	Cases []Case `json:"cases"`

	// ReplacementLagYears is how long, on average, a worn-out covering lies on.
	// Left out it is UsualLagYears.
	ReplacementLagYears *float64 `json:"replacement_lag_years,omitempty"`

	// The rating curve and the share of gross errors, as in package lifespan.
	LineRating *float64 `json:"line_rating,omitempty"`
	CurvePower *float64 `json:"curve_power,omitempty"`
	GrossShare *float64 `json:"gross_share,omitempty"`

	// SharedShare is the part of a reading's variance, 0 to 0.95, that all readings
	// by one person with one method share.
	SharedShare *float64 `json:"shared_share,omitempty"`

	// NearNewShare is what of its full error a reading has of a covering that is all
	// but new, as in package lifespan.
	NearNewShare *float64 `json:"near_new_share,omitempty"`
}

// Case is one estimate made on a day, and what was later seen of the roof.
type Case struct {
	Roof     string     `json:"roof"`
	AsOf     units.Date `json:"as_of"`
	AgeYears float64    `json:"age_years"` // of the covering on that day

	// Quantiles of T as they were estimated.
	Quantiles []Quantile `json:"quantiles"`

	// CurvePower is of the rating curve of the estimate; left out it is the input's.
	// The rivals are given the same curve.
	CurvePower *float64 `json:"curve_power,omitempty"`

	// What the rivals would have said: AgeOnly of a covering of that kind that
	// still lies at its age, TableAgeYears the table's median, and the last
	// rating known on that day with the age at which it was given. Left out, the
	// rival is not compared on this case.
	AgeOnly            []Quantile `json:"age_only,omitempty"`
	TableAgeYears      *float64   `json:"table_age_years,omitempty"`
	LastRating         *float64   `json:"last_rating,omitempty"`
	LastRatingAgeYears *float64   `json:"last_rating_age_years,omitempty"`

	// What the results are split by; empty is not known.
	Covering  string `json:"covering,omitempty"`
	Readings  int    `json:"readings,omitempty"`  // known on that day
	Method    string `json:"method,omitempty"`    // of the last of them
	Inspector string `json:"inspector,omitempty"` // of the last of them
	Estimate  string `json:"estimate,omitempty"`  // SeenBefore or NotSeen, of whoever made the last of them

	Seen Seen  `json:"seen"`
	Next *Next `json:"next_reading,omitempty"` // the first reading after that day
}

// Seen is what is known by now of how long the covering lasted, in years of its
// age. At least one of the ages is given; an age that is not known is left out.
type Seen struct {
	ServiceableAgeYears *float64 `json:"serviceable_at_age_years,omitempty"` // the last look that found it well above its line
	WornAgeYears        *float64 `json:"worn_at_age_years,omitempty"`        // the first look that found it well below
	EndedAgeYears       *float64 `json:"ended_at_age_years,omitempty"`       // taken off
	// EndedFor is "wear", "other" (storm, sale, alteration, taste), or empty where
	// the reason is not known: then no more is known than that it lay until then.
	EndedFor       string   `json:"ended_for,omitempty"`
	StandsAgeYears *float64 `json:"stands_at_age_years,omitempty"` // still there
}

// Next is a later reading.
type Next struct {
	AgeYears    float64  `json:"age_years"`
	Rating      float64  `json:"rating"`
	ErrorPoints *float64 `json:"error_points,omitempty"` // left out it is UsualErrorPoints
	ShownShare  *float64 `json:"shown_share,omitempty"`  // of the covering's fall, above 0; left out it is 1
	Method      string   `json:"method,omitempty"`
	By          string   `json:"by,omitempty"`
	Estimate    string   `json:"estimate,omitempty"` // SeenBefore or NotSeen

	// Before are the readings by the same person with the same method that the
	// estimate was made from: they tell how that eye reads.
	Before []Earlier `json:"before,omitempty"`
}

// Whether whoever looked had been shown the estimate before. A reading that the number
// may have led lies nearer to it than it would have.
const (
	SeenBefore = "seen_before"
	NotSeen    = "not_seen"
)

// Earlier is a reading that an estimate was made from.
type Earlier struct {
	AgeYears    float64  `json:"age_years"` // of the covering at the look
	Rating      float64  `json:"rating"`
	ErrorPoints *float64 `json:"error_points,omitempty"` // left out it is UsualErrorPoints
	ShownShare  *float64 `json:"shown_share,omitempty"`  // of the covering's fall, above 0; left out it is 1
}

// curveOf is the rating curve.
type curveOf struct {
	line, power, gross, shared float64
	scale                      wear.Scale // on which a reading's error is the same everywhere
}

// rating is that of an age where the covering is worn out at T.
func (c curveOf) rating(age, T float64) float64 {
	return max(100-(100-c.line)*math.Pow(age/T, c.power), 0)
}

// fallen is where that rating lies on the scale of errors, as a look reads it that shows
// a share of the fall.
func (c curveOf) fallen(age, T, shown float64) float64 {
	return c.scale.Stretched(shown * (100 - c.rating(age, T)))
}

// taken is a case read.
type taken struct {
	*Case
	roof      int
	ours      *pieces
	rivals    [len(rivalNames)]forecast // nil where it is not known
	age       [][2]float64              // stretches of T, each as likely beforehand
	worn      bool
	proxy     float64 // the age taken for T in the score, or to which it was watched
	hazard    float64 // the foretold number of times that its wear is seen by then
	nextError float64
}

// Names of the rivals.
const (
	AgeOnly        = "age only"
	TableMinusAge  = "table minus age"
	StraightLine   = "straight line"
	ageOnly        = 0
	tableMinusAge  = 1
	straightLine   = 2
	neverWornYears = 1e6 // where a straight line that does not fall comes to
)

var rivalNames = [...]string{AgeOnly, TableMinusAge, StraightLine}

// lagSlices is into how many equally likely slices the lag is cut.
const lagSlices = 6

func or(v *float64, usual float64) float64 {
	if v == nil {
		return usual
	}
	return *v
}

func (in Input) read() (cases []taken, roofs int, c curveOf, err error) {
	lag := or(in.ReplacementLagYears, UsualLagYears)
	c = curveOf{or(in.LineRating, UsualLine), or(in.CurvePower, UsualPower), or(in.GrossShare, UsualGrossShare), or(in.SharedShare, UsualSharedShare), wear.Scale{}}
	if c.scale, err = wear.ScaleOf(or(in.NearNewShare, wear.UsualNearNewShare)); err != nil {
		return nil, 0, c, err
	}
	var r units.Reader
	between := func(field string, v, low, high float64) {
		if !(v >= low && v <= high) {
			r.Refuse(field, fmt.Sprintf("must lie between %v and %v, not %v", low, high, v))
		}
	}
	between("replacement_lag_years", lag, 0, 50)
	between("line_rating", c.line, 0, 90)
	between("curve_power", c.power, 0.5, 5)
	between("gross_share", c.gross, 0, 0.5)
	between("shared_share", c.shared, 0, 0.95)
	if len(in.Cases) == 0 || len(in.Cases) > mostCases {
		r.Refuse("cases", fmt.Sprintf("give 1 to %d, not %d", mostCases, len(in.Cases)))
	}
	if r.Err != nil {
		return nil, 0, c, r.Err
	}
	numbers := map[string]int{}
	for i := range in.Cases {
		of := &in.Cases[i]
		r.Field = fmt.Sprintf("cases[%d].", i)
		t := taken{Case: of}
		if of.Roof == "" {
			r.Refuse("roof", "is needed: estimates of one roof hang together")
		}
		number, found := numbers[of.Roof]
		if !found {
			number = len(numbers)
			numbers[of.Roof] = number
		}
		t.roof = number
		between("age_years", of.AgeYears, 0, mostAge)
		if of.CurvePower != nil {
			between("curve_power", *of.CurvePower, 0.5, 5)
		}
		if of.Readings < 0 {
			r.Refuse("readings", fmt.Sprintf("must not be negative, not %d", of.Readings))
		}
		f, err := through("quantiles", of.Quantiles)
		if err != nil {
			return nil, 0, c, fmt.Errorf("%s%w", r.Field, err)
		}
		t.ours = f
		if of.AgeOnly != nil {
			if t.rivals[ageOnly], err = through("age_only", of.AgeOnly); err != nil {
				return nil, 0, c, fmt.Errorf("%s%w", r.Field, err)
			}
		}
		if of.TableAgeYears != nil {
			between("table_age_years", *of.TableAgeYears, 0.1, mostAge)
			t.rivals[tableMinusAge] = point(max(*of.TableAgeYears, of.AgeYears)) // none left once it is older
		}
		if (of.LastRating == nil) != (of.LastRatingAgeYears == nil) {
			r.Refuse("last_rating", "goes with last_rating_age_years")
		} else if of.LastRating != nil {
			between("last_rating", *of.LastRating, 0, 100)
			between("last_rating_age_years", *of.LastRatingAgeYears, 0, of.AgeYears+1)
			T := neverWornYears
			if fall := 100 - *of.LastRating; fall > 0 && *of.LastRatingAgeYears > 0 {
				T = *of.LastRatingAgeYears * (100 - c.line) / fall
			}
			t.rivals[straightLine] = point(T)
		}
		if of.Next != nil {
			r.Field = fmt.Sprintf("cases[%d].next_reading.", i)
			t.nextError = or(of.Next.ErrorPoints, UsualErrorPoints)
			between("age_years", of.Next.AgeYears, of.AgeYears, mostAge)
			between("rating", of.Next.Rating, 0, 100)
			between("error_points", t.nextError, 0.1, 50)
			between("shown_share", or(of.Next.ShownShare, 1), 0.01, 1)
			for k, b := range of.Next.Before {
				r.Field = fmt.Sprintf("cases[%d].next_reading.before[%d].", i, k)
				between("age_years", b.AgeYears, 0, of.AgeYears+1)
				between("rating", b.Rating, 0, 100)
				between("error_points", or(b.ErrorPoints, UsualErrorPoints), 0.1, 50)
				between("shown_share", or(b.ShownShare, 1), 0.01, 1)
			}
		}
		r.Field = fmt.Sprintf("cases[%d].seen.", i)
		t.see(&r, lag)
		if r.Err != nil {
			return nil, 0, c, r.Err
		}
		cases = append(cases, t)
	}
	return cases, len(numbers), c, nil
}

// see reads what was seen into stretches of T and into the age taken for it.
func (t *taken) see(r *units.Reader, lag float64) {
	s := t.Seen
	ages := 0
	for _, a := range []struct {
		field string
		age   *float64
	}{{"serviceable_at_age_years", s.ServiceableAgeYears}, {"worn_at_age_years", s.WornAgeYears}, {"ended_at_age_years", s.EndedAgeYears}, {"stands_at_age_years", s.StandsAgeYears}} {
		if a.age == nil {
			continue
		}
		ages++
		if !(*a.age >= 0 && *a.age <= mostAge) {
			r.Refuse(a.field, fmt.Sprintf("must lie between 0 and %v, not %v", mostAge, *a.age))
		}
	}
	serviceable := or(s.ServiceableAgeYears, 0)
	switch {
	case ages == 0:
		r.Refuse("stands_at_age_years", "say how far the covering was seen; a case of which nothing was seen has nothing to be held against")
	case s.EndedAgeYears != nil && s.StandsAgeYears != nil:
		r.Refuse("stands_at_age_years", "goes without ended_at_age_years")
	case s.EndedFor != "" && s.EndedFor != "wear" && s.EndedFor != "other":
		r.Refuse("ended_for", fmt.Sprintf("must be wear, other or empty, not %q", s.EndedFor))
	case s.EndedFor != "" && s.EndedAgeYears == nil:
		r.Refuse("ended_for", "goes with ended_at_age_years")
	case s.WornAgeYears != nil && !(*s.WornAgeYears > serviceable):
		r.Refuse("worn_at_age_years", fmt.Sprintf("must come after serviceable_at_age_years: %v is not above %v", *s.WornAgeYears, serviceable))
	case s.EndedAgeYears != nil && *s.EndedAgeYears < serviceable:
		r.Refuse("ended_at_age_years", fmt.Sprintf("must not come before serviceable_at_age_years: %v is below %v", *s.EndedAgeYears, serviceable))
	}
	if r.Err != nil {
		return
	}
	lagged := func(upTo, high float64) {
		for k := range lagSlices {
			back := -lag * math.Log1p(-(float64(k)+0.5)/lagSlices)
			from := upTo - back
			if from < t.AgeYears {
				from = 0 // it lay there at the estimate, so its lag runs from then whatever T was
			}
			t.age = append(t.age, [2]float64{max(serviceable, from), high})
		}
	}
	never := math.Inf(1)
	stood := 0.0
	switch {
	case s.WornAgeYears != nil:
		t.worn = true
		t.age = append(t.age, [2]float64{serviceable, *s.WornAgeYears})
		t.proxy = max((serviceable+*s.WornAgeYears)/2, *s.WornAgeYears-lag)
	case s.EndedAgeYears != nil && s.EndedFor == "wear":
		t.worn = true
		stood = *s.EndedAgeYears
		lagged(*s.EndedAgeYears, *s.EndedAgeYears)
		t.proxy = max(serviceable, *s.EndedAgeYears-lag)
	case s.EndedAgeYears != nil && s.EndedFor == "other":
		t.age = append(t.age, [2]float64{*s.EndedAgeYears, never})
		t.proxy = *s.EndedAgeYears
	case s.EndedAgeYears != nil || s.StandsAgeYears != nil:
		stood = or(s.EndedAgeYears, or(s.StandsAgeYears, 0))
		lagged(stood, never)
		t.proxy = max(serviceable, stood-lag)
	default:
		t.age = append(t.age, [2]float64{serviceable, never})
		t.proxy = serviceable
	}
	t.hazard = t.foreseen(serviceable, stood, lag)
}

// mostHazard bounds what one case can add to the number foretold.
const mostHazard = 27.0

// foreseen is −ln of the chance foretold for seeing no wear as long as the case
// was watched. Looks see T itself; where only ends are seen, it is T with its lag,
// given that the covering lay there at the estimate.
func (t *taken) foreseen(serviceable, stood, lag float64) float64 {
	byLooks := max(serviceable, 0)
	if stood == 0 {
		byLooks = t.proxy
	}
	lasting := 1 - t.ours.below(byLooks)
	if stood > 0 {
		lasting = min(lasting, t.standing(stood, lag))
	}
	return -math.Log(max(lasting, math.Exp(-mostHazard)))
}

// standing is the foretold chance that a covering which lay there at the estimate
// still lies at a later age. One that was worn out by the estimate has its lag from
// then on, one that wears out later from its T on.
func (t *taken) standing(age, lag float64) float64 {
	if lag == 0 {
		return 1 - t.ours.below(age)
	}
	if age <= t.AgeYears {
		return 1
	}
	last := t.ours.below(t.AgeYears)
	sum := last * math.Exp(-(age-t.AgeYears)/lag)
	const parts = 24
	for i := range parts {
		middle := t.AgeYears + (age-t.AgeYears)*(float64(i)+0.5)/parts
		next := t.ours.below(t.AgeYears + (age-t.AgeYears)*float64(i+1)/parts)
		sum += (next - last) * math.Exp(-(age-middle)/lag)
		last = next
	}
	return sum + 1 - last
}

// place is the case on the scale of the chances that a forecast foretold.
func (t *taken) place(f forecast) place {
	p := place{cluster: t.roof}
	for _, a := range t.age {
		s := stretch{f.below(a[0]), 1}
		if !math.IsInf(a[1], 1) {
			s.high = f.below(a[1])
		}
		p.stretches = append(p.stretches, s.wide())
	}
	return p
}

// wide widens a stretch that has become a point.
func (s stretch) wide() stretch {
	if s.high-s.low < least {
		middle := min(max((s.low+s.high)/2, least/2), 1-least/2)
		return stretch{middle - least/2, middle + least/2}
	}
	return s
}

// upper is the value that a share q of the values does not exceed; nought of none.
func upper(values []float64, q float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(values))
	return sorted[min(int(math.Ceil(q*float64(len(sorted)))), len(sorted))-1]
}

// bands of ages in which the results are split, in years.
var bands = []struct {
	under float64
	name  string
}{{5, "under 5"}, {10, "5 to 10"}, {15, "10 to 15"}, {20, "15 to 20"}, {25, "20 to 25"}, {math.Inf(1), "25 and over"}}

// AgeBand names the band of an age.
func AgeBand(years float64) string {
	for _, b := range bands {
		if years < b.under {
			return b.name
		}
	}
	return bands[len(bands)-1].name
}

// ReadingsBand names the band of a number of readings.
func ReadingsBand(n int) string {
	switch {
	case n == 0:
		return "none"
	case n == 1:
		return "one"
	case n < 4:
		return "2 or 3"
	}
	return "4 and more"
}

// splits are what the results are split by, in order.
var splits = []struct {
	by   string
	key  func(*Case) string
	rank func(string) int // order of the names; by name where it is the same
}{
	{"covering", func(c *Case) string { return c.Covering }, func(string) int { return 0 }},
	{"age", func(c *Case) string { return AgeBand(c.AgeYears) }, func(name string) int {
		return slices.IndexFunc(bands, func(b struct {
			under float64
			name  string
		}) bool {
			return b.name == name
		})
	}},
	{"readings", func(c *Case) string { return ReadingsBand(c.Readings) }, func(name string) int {
		return slices.Index([]string{"none", "one", "2 or 3", "4 and more"}, name)
	}},
	{"method", func(c *Case) string { return c.Method }, func(string) int { return 0 }},
	{"estimate", func(c *Case) string { return c.Estimate }, func(string) int { return 0 }},
	{"inspector", func(c *Case) string { return c.Inspector }, func(string) int { return 0 }},
}

// In says whether a case belongs to a group of a split.
func In(c *Case, by, name string) bool {
	for _, s := range splits {
		if s.by == by {
			return s.key(c) == name
		}
	}
	return false
}

func sortNames(names []string, rank func(string) int) {
	slices.SortFunc(names, func(a, b string) int { return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a, b)) })
}
