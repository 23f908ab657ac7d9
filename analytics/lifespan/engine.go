package lifespan

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/integrate/quad"
)

// Estimator makes estimates and keeps what they share: the tables of the
// priors mixed with their factors, and the room to compute in. It gives the
// same results as [Estimate], faster for many roofs. It is not safe for
// concurrent use: give each goroutine its own. The zero value is ready.
type Estimator struct {
	// RoofAlone leaves out what is said of each slope, which takes a third of the
	// time; what is said of the roof is the same.
	RoofAlone bool

	mixtures map[float64]*mixture
	ages     map[int]rule
	lives    []life
	room     bench
	slopes   slopes
}

// rule is a Gauss–Legendre rule on 0..1.
type rule struct{ at, weight []float64 }

// keptMixtures bounds the tables kept; each has some hundred knots.
const keptMixtures = 512

func (e *Estimator) mixture(ks float64) *mixture {
	if m, ok := e.mixtures[ks]; ok {
		return m
	}
	if e.mixtures == nil || len(e.mixtures) >= keptMixtures {
		e.mixtures = map[float64]*mixture{}
	}
	m := newMixture(ks)
	m.tabulate(ks)
	e.mixtures[ks] = m
	return m
}

// sureAge is the width of an age, in years, under which it is taken as one
// number: half a day's walk from what a month can tell.
const sureAge = 0.1

// ageRule gives the ages to integrate over: a point, or a Gauss–Legendre rule
// that grows with the width.
func (e *Estimator) ageRule(width float64) rule {
	if width <= sureAge {
		return rule{[]float64{0.5}, []float64{1}}
	}
	n := min(16, 2+int(math.Ceil(width)))
	if r, ok := e.ages[n]; ok {
		return r
	}
	if e.ages == nil {
		e.ages = map[int]rule{}
	}
	r := rule{make([]float64, n), make([]float64, n)}
	quad.Legendre{}.FixedLocations(r.at, r.weight, 0, 1)
	e.ages[n] = r
	return r
}

// cells is the number of cells of a stretch.
const cells = 192

// stretch is a piece of the distribution of T on an even grid of y = ln T.
type stretch struct {
	used       bool
	from, step float64            // ln years
	years      [cells + 1]float64 // T
	slowness   [cells + 1]float64 // T^−p, the unit of the rating curve
	density    [cells + 1]float64 // of y, all lives on one unnormalised scale; first its logarithm
	below      [cells + 1]float64 // integral of the density from the start
	likelihood [cells + 1]float64 // of the readings of one eye, times liftBy^lifts
	lifts      [cells + 1]int32
}

// life is the distribution of T for one age of the covering, in two stretches
// that meet at that age, because standing makes a kink (or a step) there.
type life struct {
	age          float64
	weight       float64
	worn, onward stretch // T below the age; T from the age on
}

func (l *life) each(do func(*stretch)) {
	if l.worn.used {
		do(&l.worn)
	}
	if l.onward.used {
		do(&l.onward)
	}
}

// ageing is the distribution of T before the roof itself is looked at.
type ageing struct {
	shape, logScale float64
	*mixture
}

func (a ageing) x(years float64) float64 { return a.shape * (math.Log(years) - a.logScale) }
func (a ageing) logYears(h float64) float64 {
	return a.logScale + a.at(h)/a.shape
}

// Tails left out of the grid: below the age at which H is tinyStart (a share of
// 3e-8 of all coverings), and where survival has fallen by e^−36 (2e-16).
const (
	tinyStart = 3e-8
	farEnd    = 36
)

// lay lays the grids for one age, with the logarithm of prior × standing.
func (l *life) lay(t ageing, lag, power float64, readings int) {
	first := t.logYears(tinyStart)
	start, h := first, tinyStart
	if l.age > 0 && math.Log(l.age) > first {
		start = math.Log(l.age)
		h, _ = t.hazards(t.x(l.age))
	}
	more := float64(readings)
	l.onward.lay(t, start, t.logYears(h+farEnd+2*more), power)
	l.worn.used = false
	if lag <= 0 || start == first {
		return
	}
	// Further below the age than this, standing weighs less than e^−36 of all
	// that is left, also when each reading speaks for it at e^10 to 1.
	if near := l.age - lag*(farEnd+h+10*more); near > math.Exp(first) {
		first = math.Log(near)
	}
	if first >= start-1e-12 {
		return
	}
	l.worn.lay(t, first, start, power)
	for i := range l.worn.density {
		l.worn.density[i] += (l.worn.years[i] - l.age) / lag
	}
}

func (s *stretch) lay(t ageing, from, to, power float64) {
	s.used, s.from = true, from
	s.step = max((to-from)/cells, 1e-15)
	years, grow := math.Exp(from), math.Exp(s.step)
	slow, fall := math.Exp(-power*from), math.Exp(-power*s.step)
	x, dx := t.shape*(from-t.logScale), t.shape*s.step
	e, rise := math.Exp(x), math.Exp(dx)
	logShape := math.Log(t.shape)
	plain := len(t.c) == 1
	for i := range s.density {
		s.years[i], s.slowness[i] = years, slow
		s.density[i] = logShape + x - t.least*e
		if !plain {
			s.density[i] += t.logDensity(x)
		}
		years *= grow
		slow *= fall
		x += dx
		e *= rise
	}
}

// accumulate integrates the density by the eight-point rule, which is exact for
// polynomials of the seventh degree (the coefficients of Adams and Moulton in the
// cells at the ends). A negative piece, possible beside a peak narrower than a
// cell, is taken as nothing.
func (s *stretch) accumulate(sofar float64) float64 {
	g, unit := &s.density, s.step/120960
	s.below[0] = sofar
	for i := range cells {
		var piece float64
		switch last := cells - 1 - i; {
		case i < len(endCells):
			for k, w := range endCells[i] {
				piece += w * g[k]
			}
		case last < len(endCells):
			for k, w := range endCells[last] {
				piece += w * g[cells-k]
			}
		default:
			piece = 68323*(g[i]+g[i+1]) - 9531*(g[i-1]+g[i+2]) + 1879*(g[i-2]+g[i+3]) - 191*(g[i-3]+g[i+4])
		}
		sofar += max(piece*unit, 0)
		s.below[i+1] = sofar
	}
	return sofar
}

// endCells are the weights, times 120960, of the first eight nodes in the first cells.
var endCells = [...][8]float64{
	{36799, 139849, -121797, 123133, -88547, 41499, -11351, 1375},
	{-1375, 47799, 101349, -44797, 26883, -11547, 2999, -351},
	{351, -4183, 57627, 81693, -20227, 7227, -1719, 191},
}

// endWeights are the weights, times 120960, of the nodes at either end in the
// same rule over the whole stretch; all others are 1.
var endWeights = [...]float64{35584, 185153, 29336, 220509, 46912, 156451, 111080, 122175}

func weightAt(i int) float64 {
	if i = min(i, cells-i); i < len(endWeights) {
		return endWeights[i] / 120960
	}
	return 1
}

// to gives the integral of the density up to T, to some 1e-8 of the whole, and the
// density of T there.
func (s *stretch) to(years float64) (below, density float64) {
	at := (math.Log(years) - s.from) / s.step
	switch {
	case !(at > 0):
		return s.below[0], 0
	case at >= cells:
		return s.below[cells], 0
	}
	i := int(at)
	u := at - float64(i)
	below = hermite(u, s.below[i], s.below[i+1], s.density[i]*s.step, s.density[i+1]*s.step)
	if i > 0 && i < cells-1 {
		// The leading error of the cubic, from the third difference.
		g := s.density[i-1 : i+3 : i+3]
		below += u * u * (1 - u) * (1 - u) / 24 * s.step * (g[3] - 3*(g[2]-g[1]) - g[0])
	}
	below = min(max(below, s.below[i]), s.below[i+1])
	return below, (s.density[i] + u*(s.density[i+1]-s.density[i])) / years
}

// exactly gives the integral of the density up to T as accumulate does: that of the
// polynomial of the seventh degree through eight densities, written with their forward
// differences (Newton's form). It takes several times as long as to.
func (s *stretch) exactly(years float64) float64 {
	at := (math.Log(years) - s.from) / s.step
	switch {
	case !(at > 0):
		return s.below[0]
	case at >= cells:
		return s.below[cells]
	}
	i := int(at)
	first := min(max(i-3, 0), cells-7)
	d := [8]float64(s.density[first : first+8])
	for order := 1; order < len(d); order++ {
		for k := len(d) - 1; k >= order; k-- {
			d[k] -= d[k-1]
		}
	}
	// The integrals of the binomials of the differences, gathered by powers.
	c := [...]float64{
		d[0],
		d[1]/2 - d[2]/4 + d[3]/6 - d[4]/8 + d[5]/10 - d[6]/12 + d[7]/14,
		d[2]/6 - d[3]/6 + d[4]*11/72 - d[5]*5/36 + d[6]*137/1080 - d[7]*7/60,
		d[3]/24 - d[4]/16 + d[5]*7/96 - d[6]*5/64 + d[7]*29/360,
		d[4]/120 - d[5]/60 + d[6]*17/720 - d[7]*7/240,
		d[5]/720 - d[6]/288 + d[7]*5/864,
		d[6]/5040 - d[7]/1680,
		d[7] / 40320,
	}
	up := func(t float64) (sum float64) {
		for k := len(c) - 1; k >= 0; k-- {
			sum = t * (c[k] + sum)
		}
		return sum
	}
	below := s.below[i] + s.step*(up(at-float64(first))-up(float64(i-first)))
	return min(max(below, s.below[i]), s.below[i+1])
}

func (l *life) to(years float64) (below, density float64) {
	if l.worn.used && (years < l.age || !l.onward.used) {
		return l.worn.to(years)
	}
	return l.onward.to(years)
}

func (l *life) exactly(years float64) float64 {
	if l.worn.used && (years < l.age || !l.onward.used) {
		return l.worn.exactly(years)
	}
	return l.onward.exactly(years)
}

// posterior is the distribution of T and of the age, on the grids of lives.
type posterior struct {
	lives []life
	total float64
	room  *bench
}

// open turns the logarithms on the grids into densities on one scale.
func (p *posterior) open() {
	most := math.Inf(-1)
	for i := range p.lives {
		p.lives[i].each(func(s *stretch) {
			for _, v := range s.density {
				most = max(most, v)
			}
		})
	}
	for i := range p.lives {
		w := p.lives[i].weight
		p.lives[i].each(func(s *stretch) {
			for j, v := range s.density {
				s.density[j] = w * math.Exp(v-most)
			}
		})
	}
	p.close()
}

// close integrates the densities anew.
func (p *posterior) close() {
	p.total = 0
	for i := range p.lives {
		l := &p.lives[i]
		sofar := 0.0
		l.each(func(s *stretch) { sofar = s.accumulate(sofar) })
		p.total += sofar
	}
}

// chance is P(T ≤ age + left), or P(T ≤ left) when from is 0 instead of 1.
func (p *posterior) chance(left, from float64) float64 {
	sum := 0.0
	for i := range p.lives {
		sum += p.lives[i].exactly(left + from*p.lives[i].age)
	}
	return sum / p.total
}

// about is chance to some 1e-8, and its density.
func (p *posterior) about(left, from float64) (chance, density float64) {
	for i := range p.lives {
		b, d := p.lives[i].to(left + from*p.lives[i].age)
		chance += b
		density += d
	}
	return chance / p.total, density / p.total
}

// past is P(T < age).
func (p *posterior) past() float64 {
	sum := 0.0
	for i := range p.lives {
		l := &p.lives[i]
		if l.onward.used {
			sum += l.onward.below[0]
		} else {
			sum += l.worn.below[cells]
		}
	}
	return sum / p.total
}

// quantile solves chance(v, from) = q for v ≥ 0 by Newton's rule on about, kept inside a
// bracket, and ends with one step on chance itself. The first ends at a bracket or a step of 1e-7 of
// the value, or after 200 steps, of which every eighth halves the bracket at the least.
func (p *posterior) quantile(q, from float64) float64 {
	low, high := 0.0, 0.0
	for i := range p.lives {
		l := &p.lives[i]
		l.each(func(s *stretch) { high = max(high, s.years[cells]-from*l.age) })
	}
	if p.chance(0, from) >= q {
		return 0
	}
	v := p.guess(q) - from*p.lives[len(p.lives)/2].age
	if !(v > 0 && v < high) {
		v = high / 2
	}
	for step := range 200 {
		c, d := p.about(v, from)
		if c < q {
			low = v
		} else {
			high = v
		}
		was, next := v, v-(c-q)/d
		if !(next > low && next < high) || step%8 == 7 {
			next = (low + high) / 2
		}
		v = next
		if done := math.Abs(next-was) <= 1e-7*next || high-low <= 1e-7*high; done {
			break
		}
	}
	_, d := p.about(v, from)
	if last := v - (p.chance(v, from)-q)/d; math.Abs(last-v) <= 1e-5*v {
		v = last
	}
	return v
}

// guess gives about the q quantile of T at the middle of the ages, to start from.
func (p *posterior) guess(q float64) float64 {
	l := &p.lives[len(p.lives)/2]
	want := q * l.onward.below[cells]
	s := &l.onward
	if l.worn.used && want < l.worn.below[cells] {
		s = &l.worn
	}
	i := sort.Search(cells, func(i int) bool { return s.below[i+1] >= want })
	if i == cells || !(s.below[i+1] > s.below[i]) {
		return 0
	}
	return s.years[i] + (want-s.below[i])/(s.below[i+1]-s.below[i])*(s.years[i+1]-s.years[i])
}

// spread gives the 10, 50 and 90 % points, in order also where they are one to
// the last digit.
func (p *posterior) spread(from float64) Range {
	r := Range{Low: p.quantile(0.1, from)}
	r.Middle = max(r.Low, p.quantile(0.5, from))
	r.High = max(r.Middle, p.quantile(0.9, from))
	return r
}

// moments gives the mean and standard deviation of T and the mean of
// max(T − age, 0).
func (p *posterior) moments() (mean, sd, left float64) {
	var zero, one, two float64
	sum := func(do func(t, w float64)) {
		for i := range p.lives {
			p.lives[i].each(func(s *stretch) {
				for j, g := range s.density {
					do(s.years[j], g*weightAt(j)*s.step)
				}
			})
		}
	}
	sum(func(t, w float64) { zero += w; one += w * t })
	mean = one / zero
	sum(func(t, w float64) { two += w * (t - mean) * (t - mean) })
	for i := range p.lives {
		l := &p.lives[i]
		if !l.onward.used {
			continue
		}
		for j, g := range l.onward.density {
			left += g * weightAt(j) * l.onward.step * max(l.onward.years[j]-l.age, 0)
		}
	}
	return mean, math.Sqrt(max(two/zero, 0)), left / zero
}
