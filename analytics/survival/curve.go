package survival

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// CurveRow is one life for a Kaplan–Meier curve: watched from entry, left out
// from new, until exit; worn out there with event 1.
type CurveRow struct {
	Entry  *float64 `json:"entry,omitempty"`
	Exit   float64  `json:"exit"`
	Event  *Flag    `json:"event"`
	Weight *float64 `json:"weight,omitempty"` // so many alike; left out it is 1
	Group  string   `json:"group,omitempty"`
}

// Bands is the scale on which the limits of a curve are symmetric.
type Bands string

// The bands. Log-log limits stay between 0 and 1 and do best with few lives; log
// is what R's survfit gives unless told otherwise; log and plain are cut at 1,
// and plain also at 0.
const (
	LogLog Bands = "log-log"
	Log    Bands = "log"
	Plain  Bands = "plain"
)

// CurveInput asks for the Kaplan–Meier curve of each group.
type CurveInput struct {
	Rows  []CurveRow `json:"rows"`
	Bands Bands      `json:"bands,omitempty"` // left out they are log-log
	Level float64    `json:"level,omitempty"` // left out it is 0.95
	// FromAge makes the curve the chance to outlive an age given that this one
	// was reached. Left out it is nought, or the first age from which the curve
	// is not brought to nought by the handful that were watched that young.
	FromAge *float64 `json:"from_age,omitempty"`
	// At are ages to read the curve at. Where FromAge is left out, those that come
	// before the age at which a curve begins are left out of it.
	At []float64 `json:"at,omitempty"`
	// Quantiles of the age at the end; left out they are 0.25, 0.5 and 0.75.
	Quantiles []float64 `json:"quantiles,omitempty"`
	// Until is the age to which the mean life is taken; left out it is the oldest
	// watched, in the group where that is least.
	Until *float64 `json:"until,omitempty"`
}

// Step is the curve from one age of wearing out to the next. Low and High are
// nil where the band is not defined, as a log-log band is not at nought.
type Step struct {
	Age      float64  `json:"age"`
	AtRisk   float64  `json:"at_risk"`
	Events   float64  `json:"events"`
	Survival float64  `json:"survival"`
	SE       float64  `json:"se"` // Greenwood's
	Low      *float64 `json:"low,omitempty"`
	High     *float64 `json:"high,omitempty"`
	// Hazard is the hazard gathered, by Nelson and Aalen.
	Hazard   float64 `json:"cumulative_hazard"`
	HazardSE float64 `json:"cumulative_hazard_se"`
}

// AgeQuantile is the age that a share P does not outlive. An end is nil where
// the curve or its band does not come down so far: the age is then not known.
type AgeQuantile struct {
	P    float64  `json:"p"`
	Age  *float64 `json:"age,omitempty"`
	Low  *float64 `json:"low,omitempty"`
	High *float64 `json:"high,omitempty"`
}

// MeanTo is the mean of the ages at the end, each cut at Until: the area under
// the curve. The curve is taken on level from the last age watched.
type MeanTo struct {
	Until float64 `json:"until"`
	Mean  float64 `json:"mean"`
	SE    float64 `json:"se"`
}

// GroupCurve is the curve of a group, given that FromAge was reached.
type GroupCurve struct {
	Group     string        `json:"group,omitempty"`
	Rows      int           `json:"rows"` // watched at or after FromAge
	Events    float64       `json:"events"`
	FromAge   float64       `json:"from_age"`
	Steps     []Step        `json:"steps"`
	At        []Step        `json:"at,omitempty"`
	Quantiles []AgeQuantile `json:"quantiles"`
	Mean      MeanTo        `json:"restricted_mean"`
}

// LogRank compares groups: events seen in each and expected if all wore out
// alike, and the chance of a larger difference then. Late entry is heeded.
type LogRank struct {
	Groups    []string  `json:"groups"`
	Observed  []float64 `json:"observed"`
	Expected  []float64 `json:"expected"`
	ChiSquare float64   `json:"chi_square"`
	Freedom   int       `json:"degrees_of_freedom"`
	P         float64   `json:"p"`
}

// CurveResult is the curves by group, in the order of their names.
type CurveResult struct {
	Groups   []GroupCurve `json:"groups"`
	LogRank  *LogRank     `json:"log_rank,omitempty"` // of two groups or more
	Warnings []string     `json:"warnings,omitempty"`
	Says     string       `json:"says"`
}

// watched is a checked row of a curve.
type watched struct {
	entry, exit, weight float64
	event               bool
	group               int
}

// Curve gives the Kaplan–Meier curve of each group with Greenwood's standard
// error. A covering is at risk at an age after its entry and up to its exit, so
// those censored at an age still count there and those entering at it do not.
func Curve(in CurveInput) (CurveResult, error) {
	if in.Bands == "" {
		in.Bands = LogLog
	}
	if in.Level == 0 {
		in.Level = 0.95
	}
	if in.Quantiles == nil {
		in.Quantiles = []float64{0.25, 0.5, 0.75}
	}
	rows, groups, err := in.read()
	if err != nil {
		return CurveResult{}, err
	}
	z := mathext.NormalQuantile((1 + in.Level) / 2)
	var out CurveResult
	until := math.Inf(1)
	for g := range groups {
		oldest := 0.0
		for _, w := range rows {
			if w.group == g {
				oldest = max(oldest, w.exit)
			}
		}
		until = min(until, oldest)
	}
	if in.Until != nil {
		until = *in.Until
	}
	for g, name := range groups {
		var own []watched
		for _, w := range rows {
			if w.group == g {
				own = append(own, w)
			}
		}
		curve := GroupCurve{Group: name}
		of := ""
		if name != "" {
			of = " of " + name
		}
		steps := productLimit(own)
		end, wiped := wipedOut(steps, own)
		switch {
		case in.FromAge != nil:
			curve.FromAge = *in.FromAge
		case wiped:
			curve.FromAge = end
			out.Warnings = append(out.Warnings, fmt.Sprintf("All%s that were watched as young as %.4g had worn out before others came to be watched, which would put the curve at nought for ever. "+
				"It is given for those that reach %.4g; give from_age to choose another.", of, end, end))
		}
		if curve.FromAge > 0 {
			kept := own[:0]
			for _, w := range own {
				if w.exit > curve.FromAge {
					w.entry = max(w.entry, curve.FromAge)
					kept = append(kept, w)
				}
			}
			own = kept
			steps = productLimit(own)
			if end, wiped := wipedOut(steps, own); wiped {
				out.Warnings = append(out.Warnings, fmt.Sprintf("From age %.4g the curve%s is at nought from %.4g on, though others were watched later: too few were watched that young.", curve.FromAge, of, end))
			}
		} else if wiped && in.FromAge != nil {
			out.Warnings = append(out.Warnings, fmt.Sprintf("The curve%s is at nought from %.4g on, though others were watched later: too few were watched that young. Give a from_age of %.4g or more.", of, end, end))
		}
		if len(own) == 0 {
			return CurveResult{}, fmt.Errorf("from_age: none%s was watched after %v", of, curve.FromAge)
		}
		if from, to, gap := unwatched(own, curve.FromAge); gap {
			out.Warnings = append(out.Warnings, fmt.Sprintf("None%s was watched between ages %.4g and %.4g; the curve is level there for want of anything known.", of, from, to))
		}
		if in.Until != nil && until < curve.FromAge {
			return CurveResult{}, fmt.Errorf("until: must not come before from_age: %v is below %v", until, curve.FromAge)
		}
		curve.Rows = len(own)
		for i := range steps {
			steps[i].band(in.Bands, z)
			curve.Events += steps[i].Events
		}
		curve.Steps = steps
		for _, age := range in.At {
			if age < curve.FromAge && in.FromAge != nil {
				return CurveResult{}, fmt.Errorf("at: must not come before from_age: %v is below %v", age, curve.FromAge)
			}
			if age < curve.FromAge {
				continue
			}
			curve.At = append(curve.At, readAt(steps, own, age))
		}
		oldest := 0.0
		for _, w := range own {
			oldest = max(oldest, w.exit)
		}
		curve.Quantiles = ageQuantiles(steps, in.Quantiles, oldest)
		curve.Mean = restrictedMean(steps, curve.FromAge, max(until, curve.FromAge))
		if until > oldest && len(steps) > 0 && steps[len(steps)-1].Survival > 0 {
			out.Warnings = append(out.Warnings, fmt.Sprintf("The mean%s to %.4g takes the curve on level from %.4g, the last age watched.", of, until, oldest))
		}
		out.Groups = append(out.Groups, curve)
	}
	if len(groups) > 1 {
		out.LogRank = logRank(rows, groups)
	}
	out.Says = out.says()
	return out, nil
}

func (r CurveResult) says() string {
	var text string
	for _, g := range r.Groups {
		name := ""
		if g.Group != "" {
			name = g.Group + ": "
		}
		if text != "" {
			text += " "
		}
		text += fmt.Sprintf("%sof %d lives %.4g ended worn out", name, g.Rows, g.Events)
		for _, q := range g.Quantiles {
			if q.P == 0.5 && q.Age != nil {
				text += fmt.Sprintf("; half by %.4g", *q.Age)
			} else if q.P == 0.5 {
				text += "; fewer than half did as far as watched"
			}
		}
		if g.FromAge > 0 {
			text += fmt.Sprintf(", of those that reach %.4g", g.FromAge)
		}
		text += "."
	}
	return text
}

func (in CurveInput) read() (rows []watched, groups []string, err error) {
	switch in.Bands {
	case LogLog, Log, Plain:
	default:
		return nil, nil, fmt.Errorf("bands: must be %s, %s or %s, not %q", LogLog, Log, Plain, string(in.Bands))
	}
	if err := validateLevel(in.Level); err != nil {
		return nil, nil, err
	}
	for _, f := range []struct {
		name  string
		value *float64
	}{{"from_age", in.FromAge}, {"until", in.Until}} {
		if f.value != nil && (!(*f.value >= 0) || math.IsInf(*f.value, 0)) {
			return nil, nil, fmt.Errorf("%s: must be a number of 0 or more, not %v", f.name, *f.value)
		}
	}
	if err := validateAges("at", in.At); err != nil {
		return nil, nil, err
	}
	if err := validateShares("quantiles", in.Quantiles); err != nil {
		return nil, nil, err
	}
	if len(in.Rows) == 0 {
		return nil, nil, errors.New("rows: give at least one")
	}
	for _, r := range in.Rows {
		groups = append(groups, r.Group)
	}
	slices.Sort(groups)
	groups = slices.Compact(groups)
	for i, r := range in.Rows {
		w := watched{entry: or(r.Entry, 0), exit: r.Exit, weight: or(r.Weight, 1)}
		switch {
		case !(w.entry >= 0) || math.IsInf(w.entry, 0):
			return nil, nil, fmt.Errorf("rows[%d].entry: must be a number of 0 or more, not %v", i, w.entry)
		case !(w.exit > w.entry) || math.IsInf(w.exit, 0):
			return nil, nil, fmt.Errorf("rows[%d].exit: must come after entry: %v is not above %v", i, w.exit, w.entry)
		case r.Event == nil:
			return nil, nil, fmt.Errorf("rows[%d].event: give 0 or 1", i)
		case !(w.weight > 0) || math.IsInf(w.weight, 0):
			return nil, nil, fmt.Errorf("rows[%d].weight: must be a number above 0, not %v", i, w.weight)
		}
		w.event = bool(*r.Event)
		w.group, _ = slices.BinarySearch(groups, r.Group)
		rows = append(rows, w)
	}
	return rows, groups, nil
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// productLimit gives the steps of a curve, without its band. It sorts the rows.
func productLimit(rows []watched) []Step {
	slices.SortFunc(rows, func(a, b watched) int { return compare(a.exit, b.exit) })
	type start struct{ age, weight float64 }
	entries := make([]start, len(rows))
	for i, w := range rows {
		entries[i] = start{w.entry, w.weight}
	}
	slices.SortFunc(entries, func(a, b start) int { return compare(a.age, b.age) })
	var steps []Step
	survival, greenwood, hazard, hazardVariance := 1.0, 0.0, 0.0, 0.0
	in, out := 0.0, 0.0 // weight of those that have entered and left before an age
	entered := 0
	for i := 0; i < len(rows); {
		age := rows[i].exit
		leave, events := 0.0, 0.0
		for ; i < len(rows) && rows[i].exit == age; i++ {
			leave += rows[i].weight
			if rows[i].event {
				events += rows[i].weight
			}
		}
		for entered < len(entries) && entries[entered].age < age {
			in += entries[entered].weight
			entered++
		}
		if events > 0 {
			risk := in - out
			// All that are at risk wear out: with weights that are no whole
			// numbers the difference of sums need not be nought.
			last := risk-events <= 1e-12*in
			if last {
				survival, greenwood = 0, 0
			} else {
				survival *= 1 - events/risk
				greenwood += events / (risk * (risk - events))
			}
			hazard += events / risk
			hazardVariance += events / (risk * risk)
			steps = append(steps, Step{Age: age, AtRisk: risk, Events: events, Survival: survival,
				SE: survival * math.Sqrt(greenwood), Hazard: hazard, HazardSE: math.Sqrt(hazardVariance)})
		}
		out += leave
	}
	return steps
}

// wipedOut says whether a curve comes to nought while others are yet to enter,
// and the last age at which it does so: from there it is not brought to nought
// again before all have entered.
func wipedOut(steps []Step, rows []watched) (age float64, wiped bool) {
	latest := 0.0
	for _, w := range rows {
		latest = max(latest, w.entry)
	}
	for _, s := range steps {
		if s.AtRisk-s.Events <= 1e-12*s.AtRisk && s.Age <= latest {
			age, wiped = s.Age, true
		}
	}
	return age, wiped
}

// unwatched gives the first stretch of ages between two watched ones in which
// none was watched.
func unwatched(rows []watched, from float64) (low, high float64, gap bool) {
	byEntry := slices.Clone(rows)
	slices.SortFunc(byEntry, func(a, b watched) int { return compare(a.entry, b.entry) })
	reached := from
	for _, w := range byEntry {
		if w.entry > reached {
			return reached, w.entry, true
		}
		reached = max(reached, w.exit)
	}
	return 0, 0, false
}

// band puts the limits to a step.
func (s *Step) band(kind Bands, z float64) {
	var low, high float64
	switch relative := s.SE / s.Survival; {
	case s.Survival == 0 && kind == Plain:
	case s.Survival == 0:
		return
	case kind == Plain:
		low, high = max(0, s.Survival-z*s.SE), min(1, s.Survival+z*s.SE)
	case kind == Log:
		low, high = s.Survival*math.Exp(-z*relative), min(1, s.Survival*math.Exp(z*relative))
	default:
		// ln(−ln S) has the standard error SE/(S·|ln S|).
		gathered := -math.Log(s.Survival)
		wide := z * relative / gathered
		low, high = math.Exp(-gathered*math.Exp(wide)), math.Exp(-gathered*math.Exp(-wide))
	}
	s.Low, s.High = &low, &high
}

// readAt reads a curve at an age. Its AtRisk is of that age, and its events are
// all until then.
func readAt(steps []Step, rows []watched, age float64) Step {
	one := 1.0
	at := Step{Survival: 1, Low: &one, High: &one}
	events := 0.0
	for _, s := range steps {
		if s.Age > age {
			break
		}
		at = s
		events += s.Events
	}
	at.Age, at.AtRisk, at.Events = age, 0, events
	for _, w := range rows {
		if w.entry < age && w.exit >= age {
			at.AtRisk += w.weight
		}
	}
	return at
}

// ageQuantiles reads the ages from a curve and its band, of lives of which the
// oldest was watched to an age.
func ageQuantiles(steps []Step, shares []float64, oldest float64) (out []AgeQuantile) {
	for _, p := range shares {
		out = append(out, AgeQuantile{
			P:    p,
			Age:  firstBelow(steps, 1-p, oldest, func(s Step) *float64 { return &s.Survival }),
			Low:  firstBelow(steps, 1-p, oldest, func(s Step) *float64 { return s.Low }),
			High: firstBelow(steps, 1-p, oldest, func(s Step) *float64 { return s.High }),
		})
	}
	return out
}

// firstBelow gives the age at which a curve comes to a level or below, or the
// middle of the stretch in which it lies at that very level, as R's quantile
// does; nil when it never does. Where a band ends, it is not known from there on.
func firstBelow(steps []Step, level, oldest float64, of func(Step) *float64) *float64 {
	const same = 1.5e-8 // so much apart is the same level, as in R
	for i, s := range steps {
		v := of(s)
		if v == nil {
			return nil
		}
		if *v > level+same {
			continue
		}
		age := s.Age
		if *v >= level-same {
			to := oldest
			for _, next := range steps[i+1:] {
				if w := of(next); w == nil || *w < level-same {
					to = next.Age
					break
				}
			}
			age = (age + to) / 2
		}
		return &age
	}
	return nil
}

// restrictedMean integrates a curve from an age; the variance is Σ A²·d/(n·(n−d))
// with A the area under the curve beyond each step.
func restrictedMean(steps []Step, from, until float64) MeanTo {
	out := MeanTo{Until: until}
	at, survival := from, 1.0
	areas := []float64{} // of each step, until the next
	for _, s := range steps {
		if s.Age >= until {
			break
		}
		areas = append(areas, (s.Age-at)*survival)
		at, survival = s.Age, s.Survival
	}
	beyond := (until - at) * survival
	variance := 0.0
	for i := len(areas) - 1; i >= 0; i-- {
		if s := steps[i]; s.AtRisk-s.Events > 1e-12*s.AtRisk {
			variance += beyond * beyond * s.Events / (s.AtRisk * (s.AtRisk - s.Events))
		}
		beyond += areas[i]
	}
	out.Mean, out.SE = from+beyond, math.Sqrt(variance)
	return out
}

// logRank compares all groups over all ages watched.
func logRank(rows []watched, groups []string) *LogRank {
	k := len(groups)
	out := &LogRank{Groups: groups, Observed: make([]float64, k), Expected: make([]float64, k), Freedom: k - 1}
	byExit, byEntry := slices.Clone(rows), slices.Clone(rows)
	slices.SortFunc(byExit, func(a, b watched) int { return compare(a.exit, b.exit) })
	slices.SortFunc(byEntry, func(a, b watched) int { return compare(a.entry, b.entry) })
	risk := make([]float64, k)
	variance := square(k)
	entered := 0
	for i := 0; i < len(byExit); {
		age := byExit[i].exit
		for entered < len(byEntry) && byEntry[entered].entry < age {
			risk[byEntry[entered].group] += byEntry[entered].weight
			entered++
		}
		to, events, all := i, 0.0, 0.0
		for ; to < len(byExit) && byExit[to].exit == age; to++ {
			if w := byExit[to]; w.event {
				out.Observed[w.group] += w.weight
				events += w.weight
			}
		}
		for _, n := range risk {
			all += n
		}
		if events > 0 {
			spread := 0.0
			if all > 1 {
				spread = events * (all - events) / (all - 1)
			}
			for g, n := range risk {
				share := n / all
				out.Expected[g] += events * share
				variance[g][g] += spread * share
				for h, m := range risk {
					variance[g][h] -= spread * share * m / all
				}
			}
		}
		for ; i < to; i++ {
			risk[byExit[i].group] -= byExit[i].weight
		}
	}
	// One group follows from the others, and so does one that was never at risk
	// beside them.
	var kept []int
	for g := range k - 1 {
		trial := append(slices.Clone(kept), g)
		m := square(len(trial))
		for a, i := range trial {
			for b, j := range trial {
				m[a][b] = variance[i][j]
			}
		}
		if _, bad := cholesky(m, 1e-10); bad < 0 {
			kept = trial
		}
	}
	out.Freedom = len(kept)
	m, d := square(len(kept)), make([]float64, len(kept))
	for a, i := range kept {
		d[a] = out.Observed[i] - out.Expected[i]
		for b, j := range kept {
			m[a][b] = variance[i][j]
		}
	}
	if len(kept) == 0 {
		out.P = 1
		return out
	}
	l, _ := cholesky(m, 0)
	out.ChiSquare = dot(d, solve(l, d))
	out.P = chiSquareTail(out.ChiSquare, len(kept))
	return out
}
