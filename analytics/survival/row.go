package survival

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
)

// Flag is yes or no, written true and false or, as tables have it, 1 and 0.
type Flag bool

// UnmarshalJSON reads true, false, 1 and 0 and nothing else; some tables count
// 1 for no and 2 for yes, which must not be taken for our own.
func (f *Flag) UnmarshalJSON(b []byte) error {
	switch string(b) {
	case "true", "1":
		*f = true
	case "false", "0":
		*f = false
	case "null":
	default:
		// Of this type the decoder adds the field's name.
		return &json.UnmarshalTypeError{Value: string(b) + " (write 0, 1, true or false)", Type: reflect.TypeFor[bool]()}
	}
	return nil
}

// Row is one life, or the part of it that was watched. All ages and times are in
// one unit, which for roofs is years. Give either exit and event, or a lower and
// an upper bound:
//
//	exit, event 1            worn out at that age
//	exit, event 0            not worn out until that age, and no more known (censored)
//	lower, upper             worn out after the age lower and by the age upper
//	upper alone              worn out by then, from new or from the entry on
//	lower alone              the same as exit with event 0
//	exit, event 0, standing  still lies at that age, worn out or not
//	exit, event 1, standing  worn out, and replaced at that age
//
// Entry is the age from which it was watched; left out it is nought, watched
// from new. Nothing is counted of those that were gone before they could be
// watched, so a row speaks only for the time after its entry.
type Row struct {
	Entry *float64 `json:"entry,omitempty"`
	Exit  *float64 `json:"exit,omitempty"`
	Event *Flag    `json:"event,omitempty"`
	Lower *float64 `json:"lower,omitempty"`
	Upper *float64 `json:"upper,omitempty"`
	// Standing says that until exit it was only known to lie there, not to be
	// serviceable: with event 0 it still did, with event 1 it was replaced then,
	// having worn out at some age before. Lower is then the age at which it last
	// was known to be serviceable. It is read with the lag of the fit; with lag
	// nought event 0 is censored at exit, and event 1 an interval up to it.
	Standing Flag `json:"standing,omitempty"`
	// EntryStanding says that it came to be watched because it lay there at
	// entry, serviceable or not. With lag nought it means nothing.
	EntryStanding Flag     `json:"entry_standing,omitempty"`
	Weight        *float64 `json:"weight,omitempty"` // so many alike; left out it is 1
	// Covariates are numbers; yes and no are 1 and 0. A row without one that the
	// fit uses is left out and counted.
	Covariates map[string]float64 `json:"covariates,omitempty"`
}

// point is an age, by its logarithm, and the weight of the survival there.
type point struct{ logAge, weight float64 }

// contribution is what a row says: the density at logEvent, or the chance
//
//	Σ w·S(at) − S(logUpper)   with Σ w = 1,
//
// either over the chance Σ w·S(entry) of having come to be watched.
type contribution struct {
	weight   float64
	exact    bool
	logEvent float64
	at       []point
	bounded  bool // whether there is an upper bound
	logUpper float64
	constant float64 // to be added
	entry    []point
}

// fromNew is where every covering still is serviceable.
var fromNew = []point{{math.Inf(-1), 1}}

// read checks a row and says what it contributes with a lag of replacement.
func (r Row) read(lag float64) (contribution, error) {
	c := contribution{weight: 1}
	for _, f := range []struct {
		name  string
		value *float64
		least float64
		rule  string
	}{
		{"entry", r.Entry, 0, "must be a number of 0 or more"},
		{"exit", r.Exit, math.SmallestNonzeroFloat64, "must be a number above 0"},
		{"lower", r.Lower, 0, "must be a number of 0 or more"},
		{"upper", r.Upper, math.SmallestNonzeroFloat64, "must be a number above 0"},
		{"weight", r.Weight, math.SmallestNonzeroFloat64, "must be a number above 0"},
	} {
		if f.value != nil && (!(*f.value >= f.least) || math.IsInf(*f.value, 0)) {
			return c, fmt.Errorf("%s: %s, not %v", f.name, f.rule, *f.value)
		}
	}
	if r.Weight != nil {
		c.weight = *r.Weight
	}
	entry, lower := or(r.Entry, 0), or(r.Lower, 0)
	entryStanding := bool(r.EntryStanding) && lag > 0
	switch {
	case entryStanding && entry > 0:
		c.entry = standing(0, entry, lag)
	case entry > 0:
		c.entry = []point{{math.Log(entry), 1}}
	}
	if r.Exit == nil {
		return r.readBounds(c, entry, lower, lag)
	}
	switch {
	case r.Event == nil:
		return c, errors.New("event: give 0 or 1 with exit")
	case r.Upper != nil:
		return c, errors.New("upper: give either exit or upper, not both")
	case r.Lower != nil && !bool(r.Standing):
		return c, errors.New("lower: goes with exit only where the row is standing; for an interval give lower and upper")
	case !(*r.Exit > entry) && !(entryStanding && *r.Exit == entry && bool(r.Standing) && bool(*r.Event)):
		// A look at the entry itself may find it worn out already.
		return c, fmt.Errorf("exit: must come after entry: %v is not above %v", *r.Exit, entry)
	case lower > *r.Exit || (lower == *r.Exit && bool(*r.Event)):
		return c, fmt.Errorf("lower: must come before exit: %v is not below %v", lower, *r.Exit)
	}
	c.logEvent = math.Log(*r.Exit)
	switch {
	case bool(r.Standing) && lag > 0:
		if !entryStanding {
			lower = max(lower, entry) // it was serviceable there
		}
		// Replaced at t, worn out at T: the density is the mean of
		// exp(−(t−T)/lag)/lag over T between lower and t, and that mean is the
		// chance to lie at t less the chance not to be worn out.
		c.at = standing(lower, *r.Exit, lag)
		if bool(*r.Event) {
			c.bounded, c.logUpper, c.constant = true, c.logEvent, -math.Log(lag)
		}
	case bool(r.Standing) && bool(*r.Event):
		return Row{Lower: r.Lower, Upper: r.Exit}.readBounds(c, entry, lower, lag)
	case bool(*r.Event):
		c.exact = true
	default:
		c.at = []point{{c.logEvent, 1}}
	}
	return c, nil
}

// readBounds reads a row that is given by a lower and an upper bound.
func (r Row) readBounds(c contribution, entry, lower, lag float64) (contribution, error) {
	switch {
	case r.Upper == nil && r.Lower == nil:
		return c, errors.New("exit: give exit and event, or lower and upper")
	case r.Event != nil && bool(*r.Event) != (r.Upper != nil):
		return c, errors.New("event: a row with an upper bound has ended, one with a lower bound alone has not")
	case bool(r.Standing):
		return c, errors.New("standing: goes with exit and event")
	case r.Upper == nil:
		if !(lower > entry) {
			return c, fmt.Errorf("lower: alone it must come after entry: %v is not above %v", lower, entry)
		}
		c.at = []point{{math.Log(lower), 1}}
		return c, nil
	case !(*r.Upper > max(lower, entry)):
		return c, fmt.Errorf("upper: must come after lower and entry: %v is not above %v", *r.Upper, max(lower, entry))
	}
	c.bounded, c.logUpper = true, math.Log(*r.Upper)
	switch {
	case bool(r.EntryStanding) && lag > 0 && lower < entry:
		// It may have been worn out already when the watch began, and lay there.
		c.at = standing(lower, entry, lag)
	case max(lower, entry) > 0:
		c.at = []point{{math.Log(max(lower, entry)), 1}}
	default:
		c.at = fromNew
	}
	return c, nil
}

// standing gives the chance of still lying at an age and having been serviceable
// at an earlier one. Worn out at T it lies on for an exponential time of mean
// lag, so that the chance is the mean of S(max(from, age − D)) over that time D.
// The mean is by Gauss–Legendre on panels that begin with the lag's width and
// double, none wider than a third of the time between; beyond 40 lags nothing is
// left.
func standing(from, age, lag float64) []point {
	span := min(age-from, 40*lag)
	out := make([]point, 0, 4*len(legendreNodes)+1)
	left := 1.0
	start, width := 0.0, lag
	for start < span {
		width = min(width, span/3)
		end := start + width
		if span-end < width/2 {
			end = span // no sliver for the last
		}
		for j, node := range legendreNodes {
			d := start + (1+node)/2*(end-start)
			w := legendreWeights[j] / 2 * (end - start) / lag * math.Exp(-d/lag)
			out = append(out, point{math.Log(age - d), w})
			left -= w
		}
		start, width = end, min(2*width, 8*lag)
	}
	if left > 1e-14 { // those worn out before from are ruled out
		out = append(out, point{math.Log(from), left})
	}
	return out
}

// legendreNodes and legendreWeights are Gauss–Legendre's on −1..1.
var legendreNodes, legendreWeights = legendre(10)

func legendre(n int) (nodes, weights []float64) {
	for i := range n {
		x := math.Cos(math.Pi * (float64(i) + 0.75) / (float64(n) + 0.5))
		var slope float64
		for range 20 {
			p, before := 1.0, 0.0
			for k := range n {
				p, before = (float64(2*k+1)*x*p-float64(k)*before)/float64(k+1), p
			}
			slope = float64(n) * (x*p - before) / (x*x - 1)
			x -= p / slope
		}
		nodes, weights = append(nodes, x), append(weights, 2/((1-x*x)*slope*slope))
	}
	return nodes, weights
}

func or(v *float64, usual float64) float64 {
	if v == nil {
		return usual
	}
	return *v
}

// sample is the rows of a fit, read.
type sample struct {
	names  []string
	rows   []contribution
	x      [][]float64 // a row's covariates in the order of names
	from   []int       // a row's place in the input
	events float64     // weight of those worn out
	count  Counts
	oldest float64 // the greatest age watched
}

// Counts says what the rows of a fit are.
type Counts struct {
	Rows     int `json:"rows"`
	Exact    int `json:"exact"`     // worn out at a known age
	Interval int `json:"interval"`  // worn out between two ages
	Censored int `json:"censored"`  // not worn out, as far as watched
	Standing int `json:"standing"`  // of those, known to lie there only
	Late     int `json:"late"`      // watched from an age above nought
	LeftOut  int `json:"left_out"`  // without a covariate that the fit uses
	Using    int `json:"used_rows"` // the rest
}

// add counts a row that the fit uses.
func (n *Counts) add(c contribution) {
	n.Using++
	switch {
	case c.exact:
		n.Exact++
	case c.bounded:
		n.Interval++
	default:
		n.Censored++
		if len(c.at) > 1 {
			n.Standing++
		}
	}
	if c.entry != nil {
		n.Late++
	}
}

// notes say what of the rows was not used.
func (s sample) notes() []string {
	if s.count.LeftOut == 0 {
		return nil
	}
	return []string{fmt.Sprintf("%d of %d rows lack a covariate of the fit and are left out.", s.count.LeftOut, s.count.Rows)}
}

func readRows(rows []Row, use []string, lag float64) (sample, error) {
	var s sample
	if len(rows) == 0 {
		return s, errors.New("rows: give at least one")
	}
	s.names = use
	if use == nil {
		for _, r := range rows {
			for name := range r.Covariates {
				if !slices.Contains(s.names, name) {
					s.names = append(s.names, name)
				}
			}
		}
		slices.Sort(s.names)
	}
	for i, name := range s.names {
		if name == "" || name == intercept || name == logSigma || slices.Contains(s.names[:i], name) {
			return s, fmt.Errorf("covariates: %q is empty, taken or given twice", name)
		}
	}
	for i, r := range rows {
		c, err := r.read(lag)
		if err != nil {
			return s, fmt.Errorf("rows[%d].%w", i, err)
		}
		for name, v := range r.Covariates {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return s, fmt.Errorf("rows[%d].covariates.%s: must be a number", i, name)
			}
		}
		s.count.Rows++
		x := make([]float64, 0, len(s.names))
		for _, name := range s.names {
			if v, known := r.Covariates[name]; known {
				x = append(x, v)
			}
		}
		if len(x) < len(s.names) {
			s.count.LeftOut++
			continue
		}
		s.count.add(c)
		if c.exact || c.bounded {
			s.events += c.weight
		}
		s.oldest = max(s.oldest, or(r.Exit, 0), or(r.Lower, 0), or(r.Upper, 0))
		s.rows, s.x, s.from = append(s.rows, c), append(s.x, x), append(s.from, i)
	}
	if s.count.Using == 0 {
		return s, errors.New("rows: none has all the covariates of the fit")
	}
	return s, nil
}
