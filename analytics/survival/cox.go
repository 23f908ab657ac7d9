package survival

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// Ties says how those that wore out at one age share the risk set of that age.
type Ties string

// The ways. Efron's takes the mean of all orders in which they may have worn
// out; Breslow's leaves all of them in the set for each, which draws coefficients
// towards nought where ties are many.
const (
	Efron   Ties = "efron"
	Breslow Ties = "breslow"
)

// CoxInput asks for a regression of hazards on covariates:
// h(t) = h₀(t)·exp(Σ coefficient·covariate), with any h₀.
type CoxInput struct {
	// Rows give ages at which lives ended: exit and event, or a lower bound alone.
	// What wore out between two ages, or at some age before it was replaced
	// (standing), needs a family of lives and is refused, as is a weight of one that
	// wore out that is no whole number. Standing means nothing else here.
	Rows []Row `json:"rows"`
	Ties Ties  `json:"ties,omitempty"` // left out they are efron
	// Covariates to use, in this order; left out, all that the rows have, by name.
	Covariates []string `json:"covariates,omitempty"`
	// Level of the limits, 0.5 to 0.999; left out it is 0.95.
	Level float64 `json:"level,omitempty"`
	// Profiles are the coverings to tell the curve of; one with all covariates
	// nought gives the baseline. Left out there are none.
	Profiles []Profile `json:"profiles,omitempty"`
	// At are ages to read the curves at.
	At []float64 `json:"at,omitempty"`
	// Quantiles of the age at the end; left out they are 0.25, 0.5 and 0.75.
	Quantiles []float64 `json:"quantiles,omitempty"`
}

// HazardCoefficient is one of Cox's regression with its standard error, which is
// from the curvature of the partial likelihood at its top, and limits of Wald's
// kind.
type HazardCoefficient struct {
	Name     string  `json:"name"`
	Estimate float64 `json:"estimate"`
	SE       float64 `json:"se"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	// P is the chance of an estimate as far from nought if it were nought.
	P float64 `json:"p"`
	// HazardRatio is e^estimate: by how much one more of the covariate multiplies
	// the rate of wearing out at every age. Of a covariate that varies by thousandths
	// it may be more than a number holds, and is then the greatest number.
	HazardRatio     float64 `json:"hazard_ratio"`
	HazardRatioLow  float64 `json:"hazard_ratio_low"`
	HazardRatioHigh float64 `json:"hazard_ratio_high"`
}

// Score is the score test of all coefficients being nought, which needs no fit.
// Of one covariate of noughts and ones without ties it is the log-rank test.
type Score struct {
	ChiSquare float64 `json:"chi_square"`
	Freedom   int     `json:"degrees_of_freedom"`
	P         float64 `json:"p"`
}

// CoxProfile is the curve of one profile, given that its age was reached, with
// log-log limits. AtRisk and Events of its steps are those of all rows.
type CoxProfile struct {
	Name      string        `json:"name,omitempty"`
	FromAge   float64       `json:"from_age"`
	Steps     []Step        `json:"steps"`
	At        []Step        `json:"at,omitempty"`
	Quantiles []AgeQuantile `json:"quantiles"`
}

// CoxResult is a fitted regression of hazards. Where the fit did not converge,
// Status says why and the estimates are left out. The log-likelihood is the
// partial one; Null compares with all coefficients nought.
type CoxResult struct {
	Ties          Ties                `json:"ties"`
	Status        Status              `json:"status"`
	Counts        Counts              `json:"counts"`
	Coefficients  []HazardCoefficient `json:"coefficients,omitempty"`
	Covariance    [][]float64         `json:"covariance,omitempty"` // in the order of the coefficients
	LogLikelihood *float64            `json:"log_likelihood,omitempty"`
	Null          *Null               `json:"null,omitempty"`
	Score         *Score              `json:"score,omitempty"`
	Concordance   *Concordance        `json:"concordance,omitempty"`
	Profiles      []CoxProfile        `json:"profiles,omitempty"`
	Notes         []string            `json:"notes,omitempty"`
	Says          string              `json:"says"`
}

// Cox compares the hazards of lives by their covariates without a family of
// lives: at each age at which one wore out, which of those then watched it was.
// Only the order of the ages counts. It takes a covariate to multiply the hazard
// by the same at every age.
func Cox(in CoxInput) (CoxResult, error) {
	if in.Ties == "" {
		in.Ties = Efron
	}
	if in.Level == 0 {
		in.Level = 0.95
	}
	if in.Quantiles == nil {
		in.Quantiles = []float64{0.25, 0.5, 0.75}
	}
	s, o, err := in.read()
	if err != nil {
		return CoxResult{}, err
	}
	scale, err := s.standardise()
	if err != nil {
		return CoxResult{}, err
	}
	for i, x := range scale.x {
		o.x[i] = x[1:]
	}
	r := CoxResult{Ties: in.Ties, Counts: s.count, Notes: s.notes()}
	theta, covariance := r.fit(s, o)
	if !r.Status.Converged {
		r.Says = fmt.Sprintf("Of %d lives %d ended worn out. Nothing was fitted: %s.", s.count.Using, s.count.Exact, r.Status.Why)
		return r, nil
	}
	r.report(s, scale, theta, covariance, mathext.NormalQuantile((1+in.Level)/2))
	steps := o.baseline(theta)
	for i, p := range in.Profiles {
		x, err := p.read(s.names)
		if err != nil {
			return CoxResult{}, fmt.Errorf("profiles[%d].%w", i, err)
		}
		for j := range x {
			x[j] = (x[j] - scale.mean[j]) / scale.sd[j]
		}
		if apart := dot(theta, x); !(math.Abs(apart) <= mostApart) {
			return CoxResult{}, fmt.Errorf("profiles[%d].covariates: lie so far from the rows' that the hazard would be e^%.0f times what it is at their means; no more than e^±%.0f can be told", i, apart, mostApart)
		}
		told := CoxProfile{Name: p.Name, FromAge: p.Age, Steps: steps.of(p.Age, x, theta, covariance)}
		for j := range told.Steps {
			told.Steps[j].bandOfHazard(mathext.NormalQuantile((1 + in.Level) / 2))
		}
		for _, note := range fewWatched(told.Steps, o.rows, p.Age) {
			if !slices.Contains(r.Notes, note) {
				r.Notes = append(r.Notes, note)
			}
		}
		for _, age := range in.At {
			if age < p.Age {
				return CoxResult{}, fmt.Errorf("at: must not come before the age of profiles[%d]: %v is below %v", i, age, p.Age)
			}
			told.At = append(told.At, readAt(told.Steps, o.rows, age))
		}
		told.Quantiles = ageQuantiles(told.Steps, in.Quantiles, s.oldest)
		r.Profiles = append(r.Profiles, told)
	}
	r.Says = fmt.Sprintf("Of %d lives %d ended worn out.", s.count.Using, s.count.Exact)
	for _, c := range r.Coefficients {
		r.Says += fmt.Sprintf(" One more of %s multiplies the hazard by %.4g (%.4g to %.4g).", c.Name, c.HazardRatio, c.HazardRatioLow, c.HazardRatioHigh)
	}
	return r, nil
}

// mostAlike bounds how many alike a row of one that wore out may stand for: ties
// are gone through one by one.
const mostAlike = 1e6

// mostApart bounds the logarithm of a profile's life, and by how much that of its hazard
// may lie from the one at the means of the covariates.
const mostApart = 200.0

// fewWatched says where a curve from an age on tells of few, since others came to be
// watched only later, or of none.
func fewWatched(steps []Step, rows []watched, from float64) (notes []string) {
	if age, wiped := wipedOut(steps, rows); wiped {
		notes = append(notes, fmt.Sprintf("All that were watched at age %.4g had worn out before others came to be watched, so up to there the curves from age %.4g on tell of few; give profiles an age of %.4g or more.", age, from, age))
	}
	if low, high, gap := unwatched(rows, from); gap {
		notes = append(notes, fmt.Sprintf("None was watched between ages %.4g and %.4g; the curves from age %.4g on are level there for want of anything known.", low, high, from))
	}
	return notes
}

// bandOfHazard puts log-log limits to a step of a curve that is e^−H: the logarithm
// of H has the error of H over it.
func (s *Step) bandOfHazard(z float64) {
	wide := z * s.HazardSE / s.Hazard
	low, high := math.Exp(-s.Hazard*math.Exp(wide)), math.Exp(-s.Hazard*math.Exp(-wide))
	s.Low, s.High = &low, &high
}

// read checks the input and sorts its rows.
func (in CoxInput) read() (sample, partial, error) {
	o := partial{ties: in.Ties}
	if in.Ties != Efron && in.Ties != Breslow {
		return sample{}, o, fmt.Errorf("ties: must be %s or %s, not %q", Efron, Breslow, string(in.Ties))
	}
	if err := validateLevel(in.Level); err != nil {
		return sample{}, o, err
	}
	if err := validateAges("at", in.At); err != nil {
		return sample{}, o, err
	}
	if err := validateShares("quantiles", in.Quantiles); err != nil {
		return sample{}, o, err
	}
	for i, p := range in.Profiles {
		if !(p.Age >= 0) || math.IsInf(p.Age, 0) {
			return sample{}, o, fmt.Errorf("profiles[%d].age: must be a number of 0 or more, not %v", i, p.Age)
		}
	}
	s, err := readRows(in.Rows, in.Covariates, 0)
	if err != nil {
		return s, o, err
	}
	if len(s.names) == 0 {
		return s, o, errors.New("covariates: there are none to compare lives by; a curve tells of lives that are all alike")
	}
	for i, c := range s.rows {
		row := in.Rows[s.from[i]]
		if c.bounded && bool(row.Standing) {
			return s, o, fmt.Errorf("rows[%d].standing: the hazards are compared at known ages; of one that wore out before it was replaced there is none, so fit a family of lives", s.from[i])
		}
		if c.bounded {
			return s, o, fmt.Errorf("rows[%d].upper: the hazards are compared at known ages; of one that wore out between two give the exit, or fit a family of lives", s.from[i])
		}
		if c.exact && (c.weight != math.Trunc(c.weight) || c.weight > mostAlike) {
			return s, o, fmt.Errorf("rows[%d].weight: of one that wore out must be a whole number of %g at most, not %v", s.from[i], mostAlike, c.weight)
		}
		w := watched{entry: or(row.Entry, 0), weight: c.weight, event: c.exact}
		if w.exit = or(row.Lower, 0); row.Exit != nil {
			w.exit = *row.Exit
		}
		o.rows = append(o.rows, w)
	}
	o.x = make([][]float64, len(o.rows))
	o.byExit, o.byEntry = make([]int, len(o.rows)), make([]int, len(o.rows))
	for i := range o.rows {
		o.byExit[i], o.byEntry[i] = i, i
	}
	slices.SortStableFunc(o.byExit, func(a, b int) int { return compare(o.rows[a].exit, o.rows[b].exit) })
	slices.SortStableFunc(o.byEntry, func(a, b int) int { return compare(o.rows[a].entry, o.rows[b].entry) })
	return s, o, nil
}

// fit climbs to the greatest partial likelihood and says how that went.
func (r *CoxResult) fit(s sample, o partial) (theta []float64, covariance [][]float64) {
	if r.Status.Why = s.hopeless(Exponential); r.Status.Why != "" {
		return nil, nil
	}
	start := make([]float64, len(s.names))
	null, gradient, atNone := o.at(start)
	// What does not vary within any risk set has no say whatever its coefficient.
	l, bad := cholesky(atNone, 1e-10)
	if bad >= 0 {
		r.Status.Why = fmt.Sprintf("the rows do not settle %s: at each age at which one wore out, all that were watched had the same, or it followed from the covariates before it", s.names[bad])
		return nil, nil
	}
	freedom := len(s.names)
	score := dot(gradient, solve(l, gradient))
	theta, value, information, status := climb(o.at, func(_, step []float64) float64 {
		length := 1.0
		for _, v := range step {
			length = min(length, 10/math.Abs(v))
		}
		return length
	}, start, asGoodAsNone)
	r.Status = status
	if bad := spent(information, atNone); bad >= 0 {
		r.Status.Converged = false
		r.Status.Why = fmt.Sprintf("monotone likelihood in %s: its coefficient runs off", s.names[bad])
	}
	if !r.Status.Converged {
		return nil, nil
	}
	r.LogLikelihood = &value
	r.Null = &Null{LogLikelihood: null, ChiSquare: max(0, 2*(value-null)), Freedom: freedom}
	r.Null.P = chiSquareTail(r.Null.ChiSquare, freedom)
	r.Score = &Score{score, freedom, chiSquareTail(score, freedom)}
	l, _ = cholesky(information, 0)
	return theta, inverse(l)
}

// spent gives the first coefficient of which, those before it apart, next to none
// of the information is left that there was at first, or -1. Where a coefficient
// runs off, information and slope fall together until the digits end.
func spent(information, first [][]float64) int {
	whole, _ := cholesky(first, 0)
	for i := range whole {
		if l, bad := cholesky(information[:i+1], 0); bad >= 0 || l[i][i] < 1e-4*whole[i][i] {
			return i
		}
	}
	return -1
}

// report takes the estimates back from the standardised covariates.
func (r *CoxResult) report(s sample, by scaled, theta []float64, covariance [][]float64, z float64) {
	r.Covariance = square(len(theta))
	life := make([]float64, len(theta))
	for i, name := range s.names {
		for j := range theta {
			r.Covariance[i][j] = covariance[i][j] / (by.sd[i] * by.sd[j])
		}
		c := HazardCoefficient{Name: name, Estimate: theta[i] / by.sd[i], SE: math.Sqrt(r.Covariance[i][i])}
		c.Low, c.High = c.Estimate-z*c.SE, c.Estimate+z*c.SE
		c.P = math.Erfc(math.Abs(c.Estimate) / c.SE / math.Sqrt2)
		ratio := func(v float64) float64 { return min(math.Exp(v), math.MaxFloat64) }
		c.HazardRatio, c.HazardRatioLow, c.HazardRatioHigh = ratio(c.Estimate), ratio(c.Low), ratio(c.High)
		r.Coefficients = append(r.Coefficients, c)
		life[i] = -c.Estimate // the greater the hazard the shorter
	}
	r.Concordance = s.concordance(life)
}

// partial is the logarithm of Cox's partial likelihood: of each age at which one
// wore out, the chance that of those then watched it was the one that did.
type partial struct {
	ties            Ties
	rows            []watched
	x               [][]float64
	byExit, byEntry []int
}

// sums are over lives, each by r = weight·e^η: of r, of r·x and of r·x·xᵀ, of
// which the lower half is kept.
type sums struct {
	r  float64
	x  []float64
	xx [][]float64
}

func newSums(p int) sums { return sums{x: make([]float64, p), xx: square(p)} }

func (s *sums) add(r float64, x []float64) {
	s.r += r
	for j, v := range x {
		s.x[j] += r * v
		for k := range j + 1 {
			s.xx[j][k] += r * v * x[k]
		}
	}
}

func (s *sums) clear() {
	s.r = 0
	clear(s.x)
	for _, row := range s.xx {
		clear(row)
	}
}

// riskSet is an age at which some wore out.
type riskSet struct {
	age            float64
	watched, count float64 // weight of those watched then, and of those that wore out
	all, ended     sums    // of the same, by r
	linear         float64 // Σ weight·η of those that wore out
	x              []float64
}

// moments are sums over those that wore out at an age, taken one after the other:
// of 1/d, f/d, 1/d², f/d², f²/d² and ln d, where d is what is left of the risk
// set when a share f of them is taken out.
type moments struct{ d, fd, dd, fdd, ffdd, log float64 }

func (s *riskSet) moments(ties Ties) (m moments) {
	for i := range int(s.count) {
		f := 0.0
		if ties == Efron {
			f = float64(i) / s.count
		}
		left := s.all.r - f*s.ended.r
		m.d += 1 / left
		m.fd += f / left
		m.dd += 1 / (left * left)
		m.fdd += f / (left * left)
		m.ffdd += f * f / (left * left)
		m.log += math.Log(left)
	}
	return m
}

// sweep goes down in age and shows each risk set with events. All r are over
// e^most, which is given back.
//
// A life is put in at its exit and taken out at its entry. Where taking out
// leaves little of what was there, the digits are gone, and the set is summed up
// anew.
func (o partial) sweep(theta []float64, visit func(*riskSet)) (most float64) {
	n, p := len(o.rows), len(theta)
	eta, r := make([]float64, n), make([]float64, n)
	most = math.Inf(-1)
	for i, x := range o.x {
		eta[i] = dot(theta, x)
		most = max(most, eta[i])
	}
	for i, w := range o.rows {
		eta[i] -= most
		r[i] = w.weight * math.Exp(eta[i])
	}
	set := riskSet{all: newSums(p), ended: newSums(p), x: make([]float64, p)}
	latest, peak := n-1, 0.0
	for to := n; to > 0; {
		from := to - 1
		set.age = o.rows[o.byExit[from]].exit
		for from > 0 && o.rows[o.byExit[from-1]].exit == set.age {
			from--
		}
		set.count, set.linear = 0, 0
		set.ended.clear()
		clear(set.x)
		for _, i := range o.byExit[from:to] {
			w := o.rows[i].weight
			set.watched += w
			set.all.add(r[i], o.x[i])
			if o.rows[i].event {
				set.count += w
				set.ended.add(r[i], o.x[i])
				set.linear += w * eta[i]
				for j, v := range o.x[i] {
					set.x[j] += w * v
				}
			}
		}
		to = from
		if set.count == 0 {
			continue
		}
		peak = max(peak, set.all.r)
		for ; latest >= 0 && o.rows[o.byEntry[latest]].entry >= set.age; latest-- {
			i := o.byEntry[latest]
			set.watched -= o.rows[i].weight
			set.all.add(-r[i], o.x[i])
		}
		if set.all.r < 1e-4*peak {
			set.watched = 0
			set.all.clear()
			for _, i := range o.byExit[from:] {
				if o.rows[i].entry < set.age {
					set.watched += o.rows[i].weight
					set.all.add(r[i], o.x[i])
				}
			}
			peak = set.all.r
		}
		visit(&set)
	}
	return most
}

// at gives the logarithm of the partial likelihood, its gradient and minus its
// matrix of second derivatives. A value that is no number is minus infinity: out
// of bounds.
func (o partial) at(theta []float64) (value float64, gradient []float64, information [][]float64) {
	p := len(theta)
	gradient, information = make([]float64, p), square(p)
	o.sweep(theta, func(s *riskSet) {
		m := s.moments(o.ties)
		value += s.linear - m.log
		for j := range p {
			gradient[j] += s.x[j] - m.d*s.all.x[j] + m.fd*s.ended.x[j]
			for k := range j + 1 {
				information[j][k] += m.d*s.all.xx[j][k] - m.fd*s.ended.xx[j][k] - m.dd*s.all.x[j]*s.all.x[k] +
					m.fdd*(s.all.x[j]*s.ended.x[k]+s.ended.x[j]*s.all.x[k]) - m.ffdd*s.ended.x[j]*s.ended.x[k]
			}
		}
	})
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return math.Inf(-1), nil, nil
	}
	for j := range p {
		for k := range j {
			information[k][j] = information[j][k]
		}
	}
	return value, gradient, information
}

// increment is what an age adds to the hazard gathered by a life at the means of
// the covariates: the hazard over e^-most, its variance at known coefficients, and
// minus its slope in them.
type increment struct {
	Step
	hazard, variance float64
	slope            []float64
}

// baseline is the hazard that the coefficients leave, up in age.
type baseline struct {
	most       float64
	increments []increment
}

func (o partial) baseline(theta []float64) (b baseline) {
	b.most = o.sweep(theta, func(s *riskSet) {
		m := s.moments(o.ties)
		i := increment{Step: Step{Age: s.age, AtRisk: s.watched, Events: s.count}, hazard: m.d, variance: m.dd, slope: make([]float64, len(theta))}
		for j := range theta {
			i.slope[j] = m.dd*s.all.x[j] - m.fdd*s.ended.x[j]
		}
		b.increments = append(b.increments, i)
	})
	slices.Reverse(b.increments)
	return b
}

// of gives the curve of a life with covariates x from an age on. The variance of
// the hazard gathered is that at known coefficients and that of the coefficients.
func (b baseline) of(from float64, x, theta []float64, covariance [][]float64) (steps []Step) {
	ratio := math.Exp(dot(theta, x) - b.most)
	hazard, variance, slope := 0.0, 0.0, make([]float64, len(theta))
	for _, i := range b.increments {
		if i.Age <= from {
			continue
		}
		hazard += ratio * i.hazard
		variance += ratio * ratio * i.variance
		of := 0.0
		for j, v := range x {
			slope[j] += ratio * (i.hazard*v - i.slope[j])
		}
		for j, v := range slope {
			of += v * dot(covariance[j], slope)
		}
		s := i.Step
		s.Hazard, s.HazardSE = hazard, math.Sqrt(variance+of)
		s.Survival = math.Exp(-hazard)
		s.SE = s.Survival * s.HazardSE
		steps = append(steps, s)
	}
	return steps
}
