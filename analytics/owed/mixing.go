package owed

import (
	"fmt"
	"math"
	"math/cmplx"
)

// node is a point of a quadrature and its weight.
type node struct{ at, weight float64 }

// gammaNodes is the Gauss quadrature of a gamma with mean 1 and that variance:
// exact for polynomials up to degree 2n−1. The nodes are the eigenvalues of the
// tridiagonal matrix of the generalised Laguerre polynomials and the weights
// come from the first parts of its eigenvectors (Golub and Welsch 1969).
func gammaNodes(variance float64, n int) []node {
	if variance == 0 {
		return []node{{1, 1}}
	}
	shape := 1 / variance
	d, e, z := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		d[i] = 2*float64(i) + shape
		if i > 0 {
			e[i-1] = math.Sqrt(float64(i) * (float64(i) + shape - 1))
		}
	}
	z[0] = 1
	// Implicit QL with shifts; only the first row of the eigenvectors is kept.
	for l := range n {
		for range 60 {
			m := l
			for m < n-1 && math.Abs(e[m]) > 1e-16*(math.Abs(d[m])+math.Abs(d[m+1])) {
				m++
			}
			if m == l {
				break
			}
			g := (d[l+1] - d[l]) / (2 * e[l])
			g = d[m] - d[l] + e[l]/(g+math.Copysign(math.Hypot(g, 1), g))
			s, c, p := 1.0, 1.0, 0.0
			for i := m - 1; i >= l; i-- {
				f, b := s*e[i], c*e[i]
				h := math.Hypot(f, g)
				e[i+1] = h
				s, c = f/h, g/h
				g = d[i+1] - p
				h = (d[i]-g)*s + 2*c*b
				p = s * h
				d[i+1] = g + p
				g = c*h - b
				z[i], z[i+1] = c*z[i]-s*z[i+1], s*z[i]+c*z[i+1]
			}
			d[l] -= p
			e[l], e[m] = g, 0
		}
	}
	out := make([]node, n)
	for i := range out {
		out[i] = node{d[i] / shape, z[i] * z[i]}
	}
	return out
}

// mixCell is all callbacks that share a lot and a crew; -1 is none, or one that
// does not vary.
type mixCell struct{ lot, crew int }

// point is one choice of the effects that are conditioned on: what it multiplies
// the rate of each cell by.
type point struct {
	weight float64
	times  []float64 // by cell of the part
}

// part is a set of cells that share no lot and no crew with the others. Given a
// point, the effects that are left are independent, and each is integrated in
// closed form: whole[i] says which of them cell i has, or -1.
type part struct {
	cells    []int
	points   []point
	whole    []int
	wholes   int
	variance float64 // of the effects in closed form
}

// mixer gives the transform of the total, mixed over all effects, and its
// derivative by the rate of each cell and year.
type mixer struct {
	years   int
	weather []float64 // variance by year; in closed form where there is one part
	shared  []node    // of the weather where it is conditioned on
	parts   []part
	how     string
	nodes   int // of each conditioned effect
	around  int // effects conditioned on together at most

	// room to work in, so that a frequency allocates nothing
	values, one, sums []complex128
}

// mostTogether is how many effects may be conditioned on together.
const mostTogether = 4

// nodesFor is how many nodes each of so many effects gets: fewer the more there
// are, for the points are their product.
func nodesFor(together, asked int) int {
	if asked > 0 {
		return asked
	}
	return []int{1, 64, 24, 10, 7}[together]
}

// newMixer lays out the integration. Effects are conditioned on by quadrature
// until those that are left are independent of one another. What all rates have
// in common is a factor for the term, as joined weather is, and goes with it.
func newMixer(cells []mixCell, lotVariance, crewVariance float64, weather []float64, termWeather, common float64, asked int) (*mixer, error) {
	effects := map[[2]int]bool{} // 0 for lots, 1 for crews
	for _, c := range cells {
		if c.lot >= 0 {
			effects[[2]int{0, c.lot}] = true
		}
		if c.crew >= 0 {
			effects[[2]int{1, c.crew}] = true
		}
	}
	varies := false
	for _, v := range weather {
		varies = varies || v > 0
	}
	m := &mixer{years: len(weather), weather: weather, how: "closed_form"}
	if common == 0 && len(effects) <= 2 && (varies || len(effects) == 0) {
		var on [][2]int
		for _, kind := range []int{0, 1} {
			for i := range cells {
				for _, e := range [][2]int{{0, cells[i].lot}, {1, cells[i].crew}} {
					if e[0] == kind && e[1] >= 0 && effects[e] {
						on = append(on, e)
						delete(effects, e)
					}
				}
			}
		}
		m.around, m.nodes = len(on), nodesFor(len(on), asked)
		if len(on) > 0 {
			m.how = "quadrature"
		}
		p := part{cells: indices(len(cells)), whole: make([]int, len(cells))}
		for i := range p.whole {
			p.whole[i] = -1
		}
		p.points = spread(cells, p.cells, on, lotVariance, crewVariance, m.nodes)
		m.parts = []part{p}
		return m, nil
	}

	// The weather of the term is one factor that all parts share.
	m.years, m.weather = 1, nil
	if varies || common > 0 {
		m.around = 1
	}
	shares := m.around
	groups := apart(cells)
	type choice struct {
		on    [][2]int
		whole int // the kind in closed form
	}
	choices := make([]choice, len(groups))
	for g, members := range groups {
		var of [2][][2]int
		seen, crossed := map[[2]int]bool{}, false
		for _, i := range members {
			crossed = crossed || cells[i].lot >= 0 && cells[i].crew >= 0
			for kind, e := range [][2]int{{0, cells[i].lot}, {1, cells[i].crew}} {
				if e[1] >= 0 && !seen[e] {
					seen[e] = true
					of[kind] = append(of[kind], e)
				}
			}
		}
		less := 0
		if len(of[1]) < len(of[0]) {
			less = 1
		}
		choices[g] = choice{whole: 1 - less}
		if crossed {
			choices[g].on = of[less]
		}
		m.around = max(m.around, shares+len(choices[g].on))
	}
	if m.around > mostTogether {
		return nil, fmt.Errorf("groups: lots and crews that cross so much need %d effects mixed at once, and at most %d can be; join small lots or crews under one name, or set lot_sd or crew_sd to nought", m.around, mostTogether)
	}
	m.nodes = nodesFor(m.around, asked)
	if m.around > 0 {
		m.how = "quadrature"
	}
	m.shared = gammaNodes((1+termWeather)*(1+common)-1, m.nodes)
	for g, members := range groups {
		p := part{cells: members, variance: lotVariance}
		if choices[g].whole == 1 {
			p.variance = crewVariance
		}
		p.points = spread(cells, members, choices[g].on, lotVariance, crewVariance, m.nodes)
		place := map[int]int{}
		for _, i := range members {
			e := cells[i].lot
			if choices[g].whole == 1 {
				e = cells[i].crew
			}
			if e < 0 {
				p.whole = append(p.whole, -1)
				continue
			}
			if _, found := place[e]; !found {
				place[e] = len(place)
			}
			p.whole = append(p.whole, place[e])
		}
		p.wholes = len(place)
		m.parts = append(m.parts, p)
	}
	return m, nil
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// apart sorts cells into sets that share no lot and no crew.
func apart(cells []mixCell) [][]int {
	set := indices(len(cells))
	for changed := true; changed; {
		changed = false
		for i, a := range cells {
			for j, b := range cells[:i] {
				if set[i] != set[j] && (a.lot >= 0 && a.lot == b.lot || a.crew >= 0 && a.crew == b.crew) {
					set[i], set[j] = min(set[i], set[j]), min(set[i], set[j])
					changed = true
				}
			}
		}
	}
	var out [][]int
	place := map[int]int{}
	for i := range cells {
		if _, found := place[set[i]]; !found {
			place[set[i]] = len(out)
			out = append(out, nil)
		}
		out[place[set[i]]] = append(out[place[set[i]]], i)
	}
	return out
}

// spread is the product of the quadratures of some effects.
func spread(cells []mixCell, members []int, on [][2]int, lotVariance, crewVariance float64, nodes int) []point {
	even := make([]float64, len(members))
	for i := range even {
		even[i] = 1
	}
	out := []point{{1, even}}
	for _, e := range on {
		variance := lotVariance
		if e[0] == 1 {
			variance = crewVariance
		}
		var next []point
		for _, p := range out {
			for _, n := range gammaNodes(variance, nodes) {
				if p.weight*n.weight < 1e-22 {
					continue
				}
				q := point{p.weight * n.weight, append([]float64(nil), p.times...)}
				for i, c := range members {
					if e[0] == 0 && cells[c].lot == e[1] || e[0] == 1 && cells[c].crew == e[1] {
						q.times[i] *= n.at
					}
				}
				next = append(next, q)
			}
		}
		out = next
	}
	return out
}

// at gives the transform where u[cell × years + year] is the rate times the
// transform of one cost less 1. Where d is not nil it takes the derivative by
// the rate of each, before the cost's own transform.
func (m *mixer) at(u, d []complex128) complex128 {
	for i := range d {
		d[i] = 0
	}
	if m.shared == nil {
		return m.closed(u, d)
	}
	var total complex128
	if m.values == nil {
		m.values, m.one, m.sums = make([]complex128, len(m.parts)), make([]complex128, len(u)), make([]complex128, len(u))
	}
	values, one := m.values, m.one
	if d == nil {
		one = nil
	}
	for _, v := range m.shared {
		if v.weight < 1e-22 {
			continue
		}
		for k := range m.parts {
			values[k] = m.parts[k].at(v.at, u, one, m.sums)
		}
		product := complex(v.weight, 0)
		for k := range values {
			product *= values[k]
		}
		total += product
		if d == nil {
			continue
		}
		for k := range m.parts {
			others := complex(v.weight*v.at, 0)
			for j := range values {
				if j != k {
					others *= values[j]
				}
			}
			for _, c := range m.parts[k].cells {
				d[c] += others * one[c]
			}
		}
	}
	return total
}

// closed takes the weather of each year in closed form, at each point.
func (m *mixer) closed(u, d []complex128) complex128 {
	var total complex128
	p := &m.parts[0]
	if m.sums == nil {
		m.sums = make([]complex128, m.years)
	}
	shrink := m.sums // 1 − variance × s
	for _, at := range p.points {
		var power complex128
		for y := range m.years {
			var s complex128
			for c, t := range at.times {
				x := u[c*m.years+y]
				s += complex(t*real(x), t*imag(x))
			}
			if v := m.weather[y]; v > 0 {
				shrink[y] = complex(1-v*real(s), -v*imag(s))
				l := cmplx.Log(shrink[y])
				power -= complex(real(l)/v, imag(l)/v)
			} else {
				shrink[y] = 1
				power += s
			}
		}
		if real(power) < -60 {
			continue
		}
		value := complex(at.weight, 0) * cmplx.Exp(power)
		total += value
		if d == nil {
			continue
		}
		for y := range m.years {
			each := value / shrink[y]
			for c, t := range at.times {
				d[c*m.years+y] += complex(t*real(each), t*imag(each))
			}
		}
	}
	return total
}

// at gives the transform of one part given the weather, and writes its
// derivatives for the part's own cells.
func (p *part) at(weather float64, u, d, sums []complex128) complex128 {
	if d != nil {
		for _, c := range p.cells {
			d[c] = 0
		}
	}
	var total complex128
	sums = sums[:p.wholes] // no more of them than there are cells
	for _, at := range p.points {
		var power complex128
		clear(sums)
		for i, c := range p.cells {
			times := weather * at.times[i]
			s := complex(times*real(u[c]), times*imag(u[c]))
			if w := p.whole[i]; w >= 0 {
				sums[w] += s
			} else {
				power += s
			}
		}
		// 1 − variance × s has a real part of 1 at least, so the angles of two add
		// up to less than a half turn and one logarithm does for both.
		var logs complex128
		pair := complex128(1)
		for w, s := range sums {
			sums[w] = complex(1-p.variance*real(s), -p.variance*imag(s))
			if pair *= sums[w]; w%2 == 1 {
				logs += cmplx.Log(pair)
				pair = 1
			}
		}
		if len(sums)%2 == 1 {
			logs += cmplx.Log(pair)
		}
		if len(sums) > 0 {
			power -= complex(real(logs)/p.variance, imag(logs)/p.variance)
		}
		if real(power) < -60 {
			continue
		}
		value := complex(at.weight, 0) * cmplx.Exp(power)
		total += value
		if d == nil {
			continue
		}
		for w, s := range sums {
			size := real(s)*real(s) + imag(s)*imag(s)
			sums[w] = value * complex(real(s)/size, -imag(s)/size)
		}
		for i, c := range p.cells {
			each := value
			if w := p.whole[i]; w >= 0 {
				each = sums[w]
			}
			d[c] += complex(at.times[i]*real(each), at.times[i]*imag(each))
		}
	}
	return total
}
