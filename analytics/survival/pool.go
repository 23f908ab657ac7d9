package survival

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// UsualSpreadScale is the scale of the half-normal prior on the spread of groups
// where none is given: groups that differ by a tenth of a life are usual, by a
// fifth seldom, by a third hardly ever. Our own judgement; no source.
const UsualSpreadScale = 0.1

// PoolRow is one life with its covering and the groups that it belongs to, by
// kind, such as neighbourhood and era. A kind that it lacks is not known, and it
// is taken for one of a typical group. Its covariates are not used and refused.
type PoolRow struct {
	Row
	Covering string            `json:"covering"`
	Groups   map[string]string `json:"groups,omitempty"`
}

// PoolPrior is what was believed of a covering before own lives were looked at:
// Weibull, the logarithm of its median normal about that of MedianYears, and the
// logarithm of its shape normal about that of Shape.
type PoolPrior struct {
	Covering    string  `json:"covering"`
	MedianYears float64 `json:"median_years"` // in the rows' unit
	LogMedianSD float64 `json:"log_median_sd"`
	Shape       float64 `json:"shape"`
	LogShapeSD  float64 `json:"log_shape_sd"`
}

// PoolInput asks what own lives say beside the priors.
type PoolInput struct {
	Rows      []PoolRow   `json:"rows"`
	Coverings []PoolPrior `json:"coverings"`
	// LagYears is that of FitInput.
	LagYears float64 `json:"lag_years,omitempty"`
	// SpreadScale is the standard deviation of the normal whose positive half is
	// the prior of each spread between groups, on the logarithm of life. Left out
	// it is UsualSpreadScale.
	SpreadScale float64 `json:"spread_scale,omitempty"`
}

// PooledCovering is what is believed of a covering in a typical group. Medians
// are in the rows' unit, low and high the 2.5 and 97.5 % points.
type PooledCovering struct {
	Covering    string  `json:"covering"`
	Lives       float64 `json:"lives"`  // rows, by their weight
	Events      float64 `json:"events"` // of those worn out
	MedianYears float64 `json:"median_years"`
	Low         float64 `json:"low_years"`
	High        float64 `json:"high_years"`
	LogMedianSD float64 `json:"log_median_sd"`
	Shape       float64 `json:"shape"`
	LogShapeSD  float64 `json:"log_shape_sd"`
	// Moved is the median over the prior's.
	Moved float64 `json:"moved"`
	// Weight is the part of the prior's variance of the logarithm of the median
	// that own lives took away: 0 is all prior, 1 all own lives.
	Weight float64 `json:"weight_of_own_lives"`
}

// PooledGroup is by how much a group lives longer or shorter than a typical one.
type PooledGroup struct {
	Kind   string  `json:"kind"`
	Group  string  `json:"group"`
	Lives  float64 `json:"lives"`
	Events float64 `json:"events"`
	Effect float64 `json:"effect"` // on the logarithm of life
	SD     float64 `json:"sd"`
	// LifeFactor is e^effect.
	LifeFactor float64 `json:"life_factor"`
}

// PooledSpread is the standard deviation of the effects of a kind's groups, with
// its own.
type PooledSpread struct {
	Kind   string  `json:"kind"`
	Spread float64 `json:"spread"`
	SD     float64 `json:"sd"`
}

// PoolResult is what is believed once own lives are told. Where the search did
// not converge, Status says why and the rest is left out but for the counts.
type PoolResult struct {
	Status    Status           `json:"status"`
	Counts    Counts           `json:"counts"`
	Coverings []PooledCovering `json:"coverings,omitempty"` // in the order of the input
	Groups    []PooledGroup    `json:"groups,omitempty"`    // by kind and name
	Spreads   []PooledSpread   `json:"spreads,omitempty"`   // by kind
	// Covariance is that of the logarithms of the medians and of the effects: the
	// coverings in their order, then the groups in theirs.
	Covariance [][]float64 `json:"covariance,omitempty"`
	// LogMarginal is the logarithm of the chance of the rows, over all that the
	// priors hold possible.
	LogMarginal *float64 `json:"log_marginal_likelihood,omitempty"`
	Says        string   `json:"says"`
}

// Pooled is the life of a covering in given groups.
type Pooled struct {
	LogMedian float64
	SD        float64 // of LogMedian, what is not known of the groups included
	Shape     float64
}

// Of gives the life of a covering in groups by kind. A group of which no life was
// seen, or a kind that is left out, may be any: it adds the spread of its kind.
// It says false of a covering that the pool does not hold.
func (r *PoolResult) Of(covering string, groups map[string]string) (Pooled, bool) {
	at := slices.IndexFunc(r.Coverings, func(c PooledCovering) bool { return c.Covering == covering })
	if at < 0 {
		return Pooled{}, false
	}
	c := r.Coverings[at]
	out := Pooled{LogMedian: math.Log(c.MedianYears), Shape: c.Shape}
	parts := []int{at}
	var unseen float64
	for _, s := range r.Spreads {
		g := slices.IndexFunc(r.Groups, func(g PooledGroup) bool { return g.Kind == s.Kind && g.Group == groups[s.Kind] })
		if g < 0 || groups[s.Kind] == "" {
			unseen += s.Spread*s.Spread + s.SD*s.SD
			continue
		}
		out.LogMedian += r.Groups[g].Effect
		parts = append(parts, len(r.Coverings)+g)
	}
	for _, i := range parts {
		for _, j := range parts {
			unseen += r.Covariance[i][j]
		}
	}
	out.SD = math.Sqrt(unseen)
	return out, true
}

// Pool tells own lives to the priors of coverings and to the effects of groups.
//
//	ln T = ln median(covering) + Σ effect(group) + σ·(W + 0.3665),  σ = 1/shape(covering)
//
// with W the logarithm of a unit exponential. Effects are normal about nought with
// one spread a kind, and each spread has a half-normal prior. At given spreads
// the rest is found by Newton's rule with analytic derivatives and taken for
// normal about its top (Laplace's method); the spreads are integrated over on a
// grid of their logarithms, which is narrowed once to where the weight is. An input
// that makes no sense is an error.
func Pool(in PoolInput) (PoolResult, error) {
	if in.SpreadScale == 0 {
		in.SpreadScale = UsualSpreadScale
	}
	l, r, err := in.read()
	if err != nil {
		return PoolResult{}, err
	}
	p := pooling{likelihood: l.at, longest: l.longest, scale: in.SpreadScale, mean: l.start, precision: l.precision, kind: l.kindOf, kinds: len(r.Spreads)}
	found := p.posterior()
	r.Status = found.status
	if !r.Status.Converged {
		r.Coverings, r.Groups, r.Spreads = nil, nil, nil
		r.Says = fmt.Sprintf("Nothing was pooled from %d lives: %s.", r.Counts.Using, r.Status.Why)
		return r, nil
	}
	r.fill(in.Coverings, l, found)
	return r, nil
}

// lives is the likelihood of rows: for each covering that has some the logarithm
// of its median and of its shape, and then the effects of the groups.
type lives struct {
	rows      []contribution
	covering  []int   // a row's, among those with rows
	groups    [][]int // a row's effects, as places in theta
	coverings []int   // of those with rows, the place in the input
	start     []float64
	precision []float64 // of the priors of medians and shapes
	kindOf    []int     // of each effect
}

func (in PoolInput) read() (*lives, PoolResult, error) {
	var r PoolResult
	if !(in.LagYears >= 0) || math.IsInf(in.LagYears, 0) {
		return nil, r, fmt.Errorf("lag_years: must be a number of 0 or more, not %v", in.LagYears)
	}
	if !(in.SpreadScale > 0 && in.SpreadScale <= 100) {
		return nil, r, fmt.Errorf("spread_scale: must lie above 0 and up to 100, not %v", in.SpreadScale)
	}
	if len(in.Coverings) == 0 {
		return nil, r, errors.New("coverings: give at least one")
	}
	place := map[string]int{}
	for i, c := range in.Coverings {
		if err := c.validate(); err != nil {
			return nil, r, fmt.Errorf("coverings[%d].%w", i, err)
		}
		if _, twice := place[c.Covering]; twice {
			return nil, r, fmt.Errorf("coverings[%d].covering: %q is given twice", i, c.Covering)
		}
		place[c.Covering] = i
		r.Coverings = append(r.Coverings, PooledCovering{Covering: c.Covering})
	}
	groups, kinds := in.groups()
	if len(kinds) > 2 {
		return nil, r, fmt.Errorf("groups: at most two kinds, not %s", strings.Join(kinds, ", "))
	}
	if len(groups) > 500 {
		return nil, r, fmt.Errorf("groups: at most 500, not %d", len(groups))
	}
	for _, k := range kinds {
		r.Spreads = append(r.Spreads, PooledSpread{Kind: k})
	}
	r.Groups = groups
	at := map[[2]string]int{}
	l := &lives{}
	for i, g := range groups {
		at[[2]string{g.Kind, g.Group}] = i
		l.kindOf = append(l.kindOf, slices.Index(kinds, g.Kind))
	}
	for i, row := range in.Rows {
		c, known := place[row.Covering]
		if !known {
			return nil, r, fmt.Errorf("rows[%d].covering: no prior is given for %q", i, row.Covering)
		}
		if row.Covariates != nil {
			return nil, r, fmt.Errorf("rows[%d].covariates: are not used here; give groups", i)
		}
		said, err := row.read(in.LagYears)
		if err != nil {
			return nil, r, fmt.Errorf("rows[%d].%w", i, err)
		}
		r.Counts.Rows++
		r.Counts.add(said)
		wornOut := 0.0
		if said.exact || said.bounded {
			wornOut = said.weight
		}
		r.Coverings[c].Lives += said.weight
		r.Coverings[c].Events += wornOut
		var effects []int
		for _, k := range kinds {
			if name := row.Groups[k]; name != "" {
				g := at[[2]string{k, name}]
				r.Groups[g].Lives += said.weight
				r.Groups[g].Events += wornOut
				effects = append(effects, g)
			}
		}
		l.rows, l.covering, l.groups = append(l.rows, said), append(l.covering, c), append(l.groups, effects)
	}
	l.settle(in.Coverings, r.Coverings)
	return l, r, nil
}

// settle gives every covering with rows its place, and with it the start of the
// search. One without rows keeps its prior and is no part of the search.
func (l *lives) settle(priors []PoolPrior, seen []PooledCovering) {
	among := make([]int, len(priors))
	for i, p := range priors {
		if seen[i].Lives > 0 {
			among[i] = len(l.coverings)
			l.coverings = append(l.coverings, i)
			l.start = append(l.start, math.Log(p.MedianYears), math.Log(p.Shape))
			l.precision = append(l.precision, 1/(p.LogMedianSD*p.LogMedianSD), 1/(p.LogShapeSD*p.LogShapeSD))
		}
	}
	for i := range l.rows {
		l.covering[i] = among[l.covering[i]]
		for j := range l.groups[i] {
			l.groups[i][j] += 2 * len(l.coverings)
		}
	}
	l.start = append(l.start, make([]float64, len(l.kindOf))...)
}

// groups lists those of the rows by kind and name, and their kinds.
func (in PoolInput) groups() (groups []PooledGroup, kinds []string) {
	seen := map[PooledGroup]bool{}
	for _, row := range in.Rows {
		for kind, name := range row.Groups {
			g := PooledGroup{Kind: kind, Group: name}
			if name == "" || seen[g] {
				continue
			}
			seen[g] = true
			groups = append(groups, g)
			if !slices.Contains(kinds, kind) {
				kinds = append(kinds, kind)
			}
		}
	}
	slices.Sort(kinds)
	slices.SortFunc(groups, func(a, b PooledGroup) int {
		if c := strings.Compare(a.Kind, b.Kind); c != 0 {
			return c
		}
		return strings.Compare(a.Group, b.Group)
	})
	return groups, kinds
}

func (p PoolPrior) validate() error {
	if p.Covering == "" {
		return errors.New("covering: must have a name")
	}
	for _, f := range []struct {
		name  string
		value float64
		most  float64
	}{{"median_years", p.MedianYears, 1e4}, {"log_median_sd", p.LogMedianSD, 1e3}, {"log_shape_sd", p.LogShapeSD, 1e3}} {
		if !(f.value > 0 && f.value <= f.most) {
			return fmt.Errorf("%s: must lie above 0 and up to %v, not %v", f.name, f.most, f.value)
		}
	}
	if !(p.Shape >= 0.1 && p.Shape <= 100) {
		return fmt.Errorf("shape: must lie between 0.1 and 100, not %v", p.Shape)
	}
	return nil
}

// belowMedian is how far the location of a Weibull's logarithm lies above that of
// its median, in σ: −ln ln 2.
var belowMedian = -math.Log(math.Ln2)

// at gives the log-likelihood with its gradient and minus its second derivatives.
// A value that is no number is minus infinity: out of bounds.
func (l *lives) at(theta []float64) (value float64, gradient []float64, information [][]float64) {
	n := len(theta)
	gradient, information = make([]float64, n), square(n)
	linear := make([]int, 0, 4)
	for i := range l.rows {
		c := &l.rows[i]
		median := 2 * l.covering[i]
		shape := median + 1
		sigma := math.Exp(-theta[shape])
		lift := belowMedian * sigma
		location := theta[median] + lift
		linear = append(append(linear[:0], median), l.groups[i]...)
		for _, j := range l.groups[i] {
			location += theta[j]
		}
		r := c.of(Weibull, location, sigma)
		value += c.weight * r.value
		if math.IsNaN(value) || math.IsInf(value, 0) {
			return math.Inf(-1), nil, nil
		}
		// The location falls by lift, and ln σ by 1, as ln shape rises by 1.
		cross := c.weight * (-lift*r.ee - r.es)
		for _, j := range linear {
			gradient[j] += c.weight * r.e
			for _, k := range linear {
				information[j][k] -= c.weight * r.ee
			}
			information[j][shape] -= cross
			information[shape][j] -= cross
		}
		gradient[shape] -= c.weight * (lift*r.e + r.s)
		information[shape][shape] -= c.weight * (lift*lift*r.ee + 2*lift*r.es + r.ss + lift*r.e)
	}
	return value, gradient, information
}

// longest keeps a step from changing a shape more than fourfold, or a median or
// effect by more than ten σ.
func (l *lives) longest(theta, step []float64) float64 {
	length, least := 1.0, math.Inf(1)
	for c := range l.coverings {
		sigma := math.Exp(-theta[2*c+1])
		least = min(least, sigma)
		length = min(length, 1.4/math.Abs(step[2*c+1]), 10*sigma/math.Abs(step[2*c]))
	}
	for _, v := range step[2*len(l.coverings):] {
		length = min(length, 10*least/math.Abs(v))
	}
	return length
}

// fill tells what was found.
func (r *PoolResult) fill(priors []PoolPrior, l *lives, found posterior) {
	n := len(priors) + len(r.Groups)
	r.Covariance = square(n)
	from := make([]int, 0, n) // place in theta of each, or −1
	for i, p := range priors {
		c := &r.Coverings[i]
		at := slices.Index(l.coverings, i)
		if at < 0 {
			from = append(from, -1)
			c.MedianYears, c.LogMedianSD, c.Shape, c.LogShapeSD, c.Moved = p.MedianYears, p.LogMedianSD, p.Shape, p.LogShapeSD, 1
			r.Covariance[i][i] = p.LogMedianSD * p.LogMedianSD
		} else {
			at *= 2
			from = append(from, at)
			c.MedianYears, c.LogMedianSD = math.Exp(found.mean[at]), math.Sqrt(found.covariance[at][at])
			c.Shape, c.LogShapeSD = math.Exp(found.mean[at+1]), math.Sqrt(found.covariance[at+1][at+1])
			c.Moved = c.MedianYears / p.MedianYears
			c.Weight = max(0, 1-found.covariance[at][at]/(p.LogMedianSD*p.LogMedianSD))
		}
		const z = 1.959963984540054
		c.Low, c.High = c.MedianYears*math.Exp(-z*c.LogMedianSD), c.MedianYears*math.Exp(z*c.LogMedianSD)
	}
	for i := range r.Groups {
		g, at := &r.Groups[i], 2*len(l.coverings)+i
		from = append(from, at)
		g.Effect, g.SD = found.mean[at], math.Sqrt(found.covariance[at][at])
		g.LifeFactor = math.Exp(g.Effect)
	}
	for i, a := range from {
		for j, b := range from {
			if a >= 0 && b >= 0 {
				r.Covariance[i][j] = found.covariance[a][b]
			}
		}
	}
	for k := range r.Spreads {
		r.Spreads[k].Spread, r.Spreads[k].SD = found.spread[k], found.spreadSD[k]
	}
	r.LogMarginal = &found.logMarginal
	r.say(priors)
}

func (r *PoolResult) say(priors []PoolPrior) {
	if r.Counts.Using == 0 {
		r.Says = "There are no own lives yet: the priors stand."
		return
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Of %d own lives %d ended worn out.", r.Counts.Using, r.Counts.Exact+r.Counts.Interval)
	for i, c := range r.Coverings {
		if c.Lives == 0 {
			continue
		}
		fmt.Fprintf(&b, " Half of %s are worn out by %.1f (%.1f to %.1f), where %.1f was believed; own lives took away %.0f %% of the doubt.",
			c.Covering, c.MedianYears, c.Low, c.High, priors[i].MedianYears, 100*c.Weight)
	}
	r.Says = b.String()
}

// pooling is a likelihood whose first parameters have normal priors of their own
// and whose last are effects, normal about nought with one spread a kind.
type pooling struct {
	likelihood func([]float64) (value float64, gradient []float64, information [][]float64)
	longest    func(theta, step []float64) float64
	mean       []float64 // priors' means, nought for the effects; the search starts here
	precision  []float64 // of the first parameters
	kind       []int     // of each effect
	kinds      int
	scale      float64 // of the half-normal prior of the spreads
}

// posterior is the mean and covariance of the parameters with the spreads
// integrated over.
type posterior struct {
	mean       []float64
	covariance [][]float64
	spread     []float64
	spreadSD   []float64
	// logMarginal is the logarithm of the chance of what was seen.
	logMarginal float64
	status      Status
}

// cell is the top at given spreads, and the logarithm of its weight.
type cell struct {
	logSpread   []float64
	theta       []float64
	information [][]float64
	weight      float64
	status      Status
}

// The grid of a spread's logarithm runs from a thirtieth of the prior's scale,
// where groups are as good as alike, to four times the scale, beyond which the
// prior has 6e-5. It is narrowed to what is within e^−6 of the greatest
// weight, and a step on either side.
const (
	gridPoints    = 7
	leastOfScale  = 1.0 / 30
	mostOfScale   = 4.0
	weightToSpare = 6.0
)

func (p pooling) posterior() posterior {
	low, step := make([]float64, p.kinds), make([]float64, p.kinds)
	for k := range p.kinds {
		low[k] = math.Log(p.scale * leastOfScale)
		step[k] = math.Log(mostOfScale/leastOfScale) / (gridPoints - 1)
	}
	var worst Status
	start := p.mean
	if p.kinds > 0 {
		// Where the weight is, is found with the likelihood taken for normal about
		// its top at middling spreads, which asks no row again.
		middling := p.top(slices.Repeat([]float64{math.Log(p.scale / 2)}, p.kinds), start)
		worst.Iterations += middling.status.Iterations
		if middling.status.Converged {
			start = middling.theta
			rough := p
			rough.likelihood = p.quadratic(start)
			cells, _ := rough.cells(low, step, start)
			narrow(cells, low, step)
		}
	}
	cells, iterations := p.cells(low, step, start)
	worst.Iterations += iterations
	return p.mix(cells, step, worst)
}

// quadratic is the likelihood as its value and derivatives at one place have it.
func (p pooling) quadratic(theta []float64) func([]float64) (float64, []float64, [][]float64) {
	value, slope, bend := p.likelihood(theta)
	return func(at []float64) (float64, []float64, [][]float64) {
		v, gradient, information := value, slices.Clone(slope), square(len(theta))
		for j := range theta {
			copy(information[j], bend[j])
			d := at[j] - theta[j]
			v += slope[j] * d
			for k := range theta {
				gradient[j] -= bend[j][k] * (at[k] - theta[k])
				v -= d * bend[j][k] * (at[k] - theta[k]) / 2
			}
		}
		return v, gradient, information
	}
}

// cells are the tops over the grid, each sought from the one before.
func (p pooling) cells(low, step, start []float64) (cells []cell, iterations int) {
	for i := range intPower(gridPoints, p.kinds) {
		logSpread := make([]float64, p.kinds)
		for k, rest := 0, i; k < p.kinds; k, rest = k+1, rest/gridPoints {
			logSpread[k] = low[k] + step[k]*float64(rest%gridPoints)
		}
		c := p.top(logSpread, start)
		iterations += c.status.Iterations
		if c.status.Converged {
			start = c.theta
		}
		cells = append(cells, c)
	}
	return cells, iterations
}

func intPower(base, exponent int) int {
	out := 1
	for range exponent {
		out *= base
	}
	return out
}

// narrow fits the grid to the cells that have weight.
func narrow(cells []cell, low, step []float64) {
	best := math.Inf(-1)
	for _, c := range cells {
		best = max(best, c.weight)
	}
	if math.IsInf(best, 0) {
		return // the search failed everywhere
	}
	for k := range low {
		least, most := math.Inf(1), math.Inf(-1)
		for _, c := range cells {
			if c.weight >= best-weightToSpare {
				least, most = min(least, c.logSpread[k]), max(most, c.logSpread[k])
			}
		}
		end := low[k] + step[k]*(gridPoints-1)
		least, most = max(low[k], least-step[k]), min(end, most+step[k])
		low[k], step[k] = least, (most-least)/(gridPoints-1)
	}
}

// top finds the parameters of the greatest weight at given spreads.
func (p pooling) top(logSpread, start []float64) cell {
	precision := slices.Clone(p.precision)
	for _, k := range p.kind {
		precision = append(precision, math.Exp(-2*logSpread[k]))
	}
	c := cell{logSpread: logSpread}
	at := func(theta []float64) (float64, []float64, [][]float64) {
		value, gradient, information := p.likelihood(theta)
		if math.IsInf(value, 0) {
			return value, nil, nil
		}
		for j, w := range precision {
			d := theta[j] - p.mean[j]
			value -= w * d * d / 2
			gradient[j] -= w * d
			information[j][j] += w
		}
		return value, gradient, information
	}
	// Of many cells each need not be found to the last digit: a gain of 1e-9 is
	// 5e-5 of a standard deviation away.
	enough := asGoodAsNone
	if p.kinds > 0 {
		enough = 1e-9
	}
	var value float64
	c.theta, value, c.information, c.status = climb(at, p.longest, start, enough)
	c.weight = math.Inf(-1)
	if !c.status.Converged {
		return c
	}
	// Laplace: the chance of all parameters together is the top's times the
	// root of the determinants' ratio; 2π falls out.
	l, bad := cholesky(c.information, 0)
	if bad >= 0 {
		c.status.Converged, c.status.Why = false, "the top is flat"
		return c
	}
	c.weight = value
	for j, w := range precision {
		c.weight += math.Log(w)/2 - math.Log(l[j][j])
	}
	for _, s := range logSpread {
		t := math.Exp(s) / p.scale
		// Half-normal, on the logarithm of the spread.
		c.weight += math.Log(2/p.scale) - halfLog2Pi - t*t/2 + s
	}
	return c
}

// mix takes the mean over the cells.
func (p pooling) mix(cells []cell, step []float64, worst Status) posterior {
	n := len(p.mean)
	out := posterior{mean: make([]float64, n), covariance: square(n), spread: make([]float64, p.kinds), spreadSD: make([]float64, p.kinds)}
	best := math.Inf(-1)
	for _, c := range cells {
		best = max(best, c.weight)
		if !c.status.Converged && worst.Why == "" {
			worst.Why = c.status.Why
		}
		worst.GradientNorm = max(worst.GradientNorm, c.status.GradientNorm)
	}
	worst.Converged = worst.Why == ""
	out.status = worst
	if !worst.Converged {
		return out
	}
	var sum float64
	weights := make([]float64, len(cells))
	for i, c := range cells {
		weights[i] = math.Exp(c.weight - best)
		for k := range p.kinds {
			// The ends of the grid stand for half a step.
			if at := c.logSpread[k]; at <= cells[0].logSpread[k]+step[k]/2 || at >= cells[len(cells)-1].logSpread[k]-step[k]/2 {
				weights[i] /= 2
			}
		}
		sum += weights[i]
	}
	out.logMarginal = best + math.Log(sum)
	for k := range p.kinds {
		out.logMarginal += math.Log(step[k])
	}
	squares := make([]float64, p.kinds)
	for i, c := range cells {
		w := weights[i] / sum
		for j, v := range c.theta {
			out.mean[j] += w * v
		}
		for k, s := range c.logSpread {
			out.spread[k] += w * math.Exp(s)
			squares[k] += w * math.Exp(2*s)
		}
	}
	for k, s := range out.spread {
		out.spreadSD[k] = math.Sqrt(max(0, squares[k]-s*s))
	}
	for i, c := range cells {
		w := weights[i] / sum
		if w < 1e-14 {
			continue
		}
		l, _ := cholesky(c.information, 0) // it was when its weight was found
		for j, row := range inverse(l) {
			for k, v := range row {
				out.covariance[j][k] += w * (v + (c.theta[j]-out.mean[j])*(c.theta[k]-out.mean[k]))
			}
		}
	}
	return out
}

// Lying is the chance that a covering still lies at an age, where one that is worn
// out lies on for an exponential time of mean lag. It is Survival where lag is
// nought.
func (l Life) Lying(age, lag float64) float64 {
	if !(lag > 0) || !(age > 0) {
		return l.Survival(age)
	}
	return math.Exp(chance(l.Distribution, standing(0, age, lag), false, 0, l.Location, l.Sigma).value)
}
