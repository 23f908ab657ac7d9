package lifespan

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// SlopeSpread is the standard deviation, on ln T, of the half-normal by which the
// other slopes outlive the worst: our judgement, no source.
const SlopeSpread = 0.15

// SlopeResult is what can be said of one slope.
type SlopeResult struct {
	Slope       string  `json:"slope"`
	WornOutAge  Range   `json:"worn_out_age_years"`
	ChanceWorst float64 `json:"chance_worst"` // that the roof ends with this one
}

// slopesOf lists the slopes that readings of what still lies name, in order: none
// where it is one, which then is the roof.
func (t *taken) slopesOf(readings []Reading) ([]string, error) {
	var out []string
	for _, r := range readings {
		if r.Slope != "" && !slices.Contains(out, r.Slope) && !t.gone(r) {
			out = append(out, r.Slope)
		}
		if len(out) > MostSlopes {
			return nil, fmt.Errorf("readings: of at most %d slopes", MostSlopes)
		}
	}
	if len(out) < 2 {
		return nil, nil
	}
	slices.Sort(out)
	return out, nil
}

// canEnd says of each slope whether the roof may end with it: one of which nothing
// lies that is as old as the roof outlasts it. Where that is so of all, each may.
func (t *taken) canEnd() []bool {
	if len(t.slopes) == 0 {
		return nil
	}
	out := make([]bool, len(t.slopes))
	for i, name := range t.slopes {
		out[i] = slices.ContainsFunc(t.parts(math.Inf(-1), name), t.ofAge)
	}
	if !slices.Contains(out, true) {
		for i := range out {
			out[i] = true
		}
	}
	return out
}

// slopeGrid is how finely slopes are worked out.
type slopeGrid struct {
	perSpread int // steps of ln T in SlopeSpread
	most      int // steps of the grid
	// What an eye shares between slopes is integrated over even nodes, to so many
	// standard deviations, at most so far apart for the sharpest that its readings make
	// it; and so many of them, for one such eye and beside another.
	reach, apart     float64
	nodes, nodesBoth int
	// A node is left out that is e^this less likely than the likeliest.
	farNode float64
	// An age T is left out that is e^this less likely than the likeliest, by a bound
	// that lies a little too high.
	farBelow float64
}

// usualSlopes is what is worked with; TestGridOfSlopes tells what it costs.
var usualSlopes = slopeGrid{perSpread: 6, most: 1200, reach: 4, apart: 1.6, nodes: 41, nodesBoth: 17, farNode: 12, farBelow: 18}

const (
	farSpreads = 4 // where the half-normal is cut
	// What the readings of one slope say against an age counts e^40 to 1 at most.
	mostAgainst = 40
)

// slopes is the room in which the slopes of a roof are worked out, on an even
// grid of y = ln T.
type slopes struct {
	grid       *slopeGrid // nil is usualSlopes
	from, step float64
	slowness   []float64
	kernel     []float64 // of the half-normal, adding to 1
	backwards  []float64 // the same from its end
	room       *bench
	ages       []slopesAtAge

	lines [][]float64 // to compute in, of which so many are taken
	taken int

	held map[uint][]slopesAtAge // by the mark of the readings; nil where nothing is held
}

// slopesAtAge is what is found for one age of the covering.
type slopesAtAge struct {
	log   []float64   // of the likelihood of the roof's T
	scale float64     // logarithm of the unit of the rest
	each  [][]float64 // density of each slope's y
	worst []float64   // chance of each that the roof ends with it, both unnormalised
}

// place is a slope, or the roof as the last of them, with its readings: those
// whose shared error stays within it by eye, and those of the crossing eyes.
type place struct {
	own   [][]reading
	cross [2][]reading
}

// places sorts the readings. An eye that has read more than one place shares its
// error between them; that is kept for the two that have read most, and taken as
// an error of each place for others.
func (g *slopeGrid) places(readings []reading, n int) (out []place, nodes [2]int) {
	out = make([]place, n+1)
	at := func(r reading) int {
		if r.slope < 0 {
			return n
		}
		return r.slope
	}
	type eye struct{ number, readings, most int }
	var crossing []eye
	byEye := func(do func([]reading)) {
		for i := 0; i < len(readings); {
			to := i + 1
			for to < len(readings) && readings[to].eye == readings[i].eye {
				to++
			}
			do(readings[i:to])
			i = to
		}
	}
	byEye(func(of []reading) {
		var counts [MostSlopes + 1]int
		e := eye{number: of[0].eye, readings: len(of)}
		for _, r := range of {
			counts[at(r)]++
			e.most = max(e.most, counts[at(r)])
		}
		if e.most < len(of) && of[0].shared > 0 {
			crossing = append(crossing, e)
		}
	})
	slices.SortStableFunc(crossing, func(a, b eye) int { return b.readings - a.readings })
	crossing = crossing[:min(len(crossing), 2)]
	byEye(func(of []reading) {
		c := slices.IndexFunc(crossing, func(e eye) bool { return e.number == of[0].eye })
		for i := range out {
			var here []reading
			for _, r := range of {
				if at(r) == i {
					here = append(here, r)
				}
			}
			if c >= 0 {
				out[i].cross[c] = here
				precision := 1 + float64(crossing[c].readings)*of[0].shared*of[0].shared/(of[0].sd*of[0].sd)
				nodes[c] = 2*int(math.Ceil(g.reach*math.Sqrt(precision)/g.apart)) + 1
			} else if len(here) > 0 {
				out[i].own = append(out[i].own, here)
			}
		}
	})
	limit := g.nodes
	if len(crossing) > 1 {
		limit = g.nodesBoth
	}
	for c := range nodes {
		nodes[c] = max(1, min(nodes[c], limit))
	}
	return out, nodes
}

// node gives what an eye shares, in standard deviations, and its weight.
func (g *slopeGrid) node(k, of int) (u, weight float64) {
	if of == 1 {
		return 0, 1
	}
	h := 2 * g.reach / float64(of-1)
	u = -g.reach + h*float64(k)
	return u, h * math.Exp(-u*u/2) / math.Sqrt(2*math.Pi)
}

// read multiplies the distribution of the roof's T by the likelihood of readings
// of its slopes, and finds those of the slopes where they are wanted.
func (s *slopes) read(p *posterior, g groups, t *taken) {
	s.room = p.room
	if s.held == nil {
		from, to := reaching(p.lives)
		s.lay(from, to, t)
	}
	if known := s.held[g.told]; known != nil {
		s.ages = known
	} else {
		of, nodes := s.grid.places(g.readings, len(t.slopes))
		s.ages = nil
		for i := range p.lives {
			s.ages = append(s.ages, s.atAge(&p.lives[i], of, nodes, t, g.slopes))
		}
		if s.held != nil {
			s.held[g.told] = s.ages
		}
	}
	most := math.Inf(-1)
	for _, a := range s.ages {
		most = max(most, slices.Max(a.log))
	}
	for i := range p.lives {
		p.lives[i].each(func(x *stretch) {
			for j := range x.density {
				at := (x.from + float64(j)*x.step - s.from) / s.step
				x.density[j] *= expo(cubic(s.ages[i].log, at) - most)
			}
		})
	}
	p.scale()
}

// gregory are the weights of Gregory's rule at the end of an even grid, with those
// of third differences; the half-normal is nought at the other end.
var gregory = [...]float64{251.0 / 720, 299.0 / 240, 211.0 / 240, 739.0 / 720}

// reaching gives the ends of ln T of some lives.
func reaching(lives []life) (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for i := range lives {
		lives[i].each(func(x *stretch) {
			from, to = min(from, x.from), max(to, x.from+cells*x.step)
		})
	}
	return from, to
}

// holdSlopes lays one grid for every set of the groups and holds what is worked out
// on it by the readings of each set, which is the same with all factors.
func (e *Estimator) holdSlopes(t *taken, players []player) {
	from, to := math.Inf(1), math.Inf(-1)
	for set := range 1 << len(players) {
		low, high := reaching(e.lay(t, t.told(players, set)))
		from, to = min(from, low), max(to, high)
	}
	e.slopes.lay(from, to, t)
	e.slopes.held = map[uint][]slopesAtAge{}
}

func (s *slopes) release() { s.held = nil }

// lay lays the grid from one ln T of the roof to another, and on by as much as a
// slope may outlive it.
func (s *slopes) lay(from, to float64, t *taken) {
	if s.grid == nil {
		s.grid = &usualSlopes
	}
	s.step = max(SlopeSpread/float64(s.grid.perSpread), (to-from)/float64(s.grid.most))
	s.from = from - 2*s.step
	reach := int(math.Ceil(farSpreads * SlopeSpread / s.step))
	n := int(math.Ceil((to-s.from)/s.step)) + 3 + reach
	s.slowness = slices.Grow(s.slowness[:0], n)[:n]
	for j := range s.slowness {
		s.slowness[j] = math.Exp(-t.power * (s.from + float64(j)*s.step))
	}
	s.kernel = make([]float64, reach+1)
	sum := 0.0
	for k := range s.kernel {
		z := float64(k) * s.step / SlopeSpread
		w := 1.0
		if k < len(gregory) {
			w = gregory[k]
		}
		s.kernel[k] = w * math.Exp(-z*z/2)
		sum += s.kernel[k]
	}
	for k := range s.kernel {
		s.kernel[k] /= sum
	}
	s.backwards = slices.Clone(s.kernel)
	slices.Reverse(s.backwards)
}

// cubic interpolates values by the cubic through four of them.
func cubic(values []float64, at float64) float64 {
	i := min(max(int(at), 1), len(values)-3)
	u := at - float64(i)
	a, b, c, d := values[i-1], values[i], values[i+1], values[i+2]
	first, second, third := c-b, (c-2*b+a)/2, (d-3*c+3*b-a)/6
	return b + u*(first+(u-1)*(second+(u+1)*third))
}

// window gives the places of the grid, from the first to before the last, between
// which lies all of the roof's T that counts, and a bound of the logarithm of the
// likelihood at each place.
func (s *slopes) window(l *life, bounds [][]float64, peaks []float64, t *taken) (from, to int, most []float64) {
	n, size := len(bounds)-1, len(s.slowness)
	// What a slope says that outlasts the roof is no more than it says of any later T.
	later := make([]float64, n)
	for i := range later {
		later[i] = -mostAgainst
	}
	most = s.line()
	for j := size - 1; j >= 0; j-- {
		sum, worst := max(bounds[n][j]-peaks[n], -mostAgainst), math.Inf(-1)
		for i := range n {
			here := max(bounds[i][j]-peaks[i], -mostAgainst)
			later[i] = max(later[i], here)
			sum += later[i]
			if t.ends[i] {
				worst = max(worst, here-later[i])
			}
		}
		most[j] = sum + worst
	}
	prior := s.line()
	for j := range prior {
		prior[j] = math.Inf(-1)
	}
	l.each(func(x *stretch) {
		for j, d := range x.density {
			if d > 0 {
				k := min(max(int(math.Round((x.from+float64(j)*x.step-s.from)/s.step)), 0), size-1)
				prior[k] = max(prior[k], math.Log(d))
			}
		}
	})
	likeliest := math.Inf(-1)
	for j, v := range prior {
		likeliest = max(likeliest, v+most[j])
	}
	from, to = size, 0
	for j, v := range prior {
		if v+most[j] > likeliest-s.grid.farBelow {
			from, to = min(from, j), max(to, j+1)
		}
	}
	if from >= to || s.held != nil { // nothing can lie at this age, or it serves other priors too
		return 0, size, most
	}
	return max(from-3, 0), min(to+3, size), most
}

// line gives a line of noughts as long as the grid, which is its taker's until the
// next age is worked out.
func (s *slopes) line() []float64 {
	n := len(s.slowness)
	if s.taken == len(s.lines) {
		s.lines = append(s.lines, nil)
	}
	if cap(s.lines[s.taken]) < n {
		s.lines[s.taken] = make([]float64, n+n/2)
	}
	out := s.lines[s.taken][:n]
	clear(out)
	s.taken++
	return out
}

func (s *slopes) atAge(l *life, of []place, nodes [2]int, t *taken, wanted bool) slopesAtAge {
	n, size := len(t.slopes), len(s.slowness)
	s.taken = 0
	// For each place and T the logarithm of the largest likelihood whatever the eyes
	// share, and how much less it is at each node of an eye.
	bounds, peaks, scale := make([][]float64, len(of)), make([]float64, len(of)), 0.0
	cross := make(crossing, len(of))
	for i := range of {
		bounds[i] = s.own(of[i].own, l.age, t)
		for c := range cross[i] {
			if len(of[i].cross[c]) > 0 {
				cross[i][c] = s.cross(of[i].cross[c], l.age, nodes[c], t, bounds[i])
			}
		}
		peaks[i] = slices.Max(bounds[i])
		scale += peaks[i]
	}
	from, to, bound := s.window(l, bounds, peaks, t)
	end := min(to+len(s.kernel)-1, size) // a slope may outlast the roof
	most := make([][]float64, len(of))
	for i := range of {
		most[i] = s.line()
		for j := from; j < end; j++ {
			most[i][j] = expo(bounds[i][j] - peaks[i])
		}
	}
	// The likelihood at a place where the eyes share that, beside its peak.
	at := func(i int, shared [2]int, out []float64) {
		copy(out[from:end], most[i][from:end])
		for c, k := range shared {
			if cross[i][c] != nil {
				floats.Mul(out[from:end], cross[i][c][k][from:end])
			}
		}
	}
	// Its peak, on a coarser grid: it only says which nodes to leave out.
	peak := func(i int, shared [2]int) (peak float64) {
		for j := from; j < end; j += s.grid.perSpread {
			v := most[i][j]
			for c, k := range shared {
				if cross[i][c] != nil {
					v *= cross[i][c][k][j]
				}
			}
			peak = max(peak, v)
		}
		return peak
	}
	least := expo(-mostAgainst)
	// What an eye shares counts no further than the readings let it.
	room := s.line()
	says, likeliest := make([]float64, nodes[0]*nodes[1]), math.Inf(-1)
	lastSaid, saidOf := unshared(len(of)), make([]float64, len(of))
	for k0 := range nodes[0] {
		_, w0 := s.grid.node(k0, nodes[0])
		for k1 := range nodes[1] {
			_, w1 := s.grid.node(k1, nodes[1])
			sum := math.Log(w0 * w1)
			for i := range of {
				if shared := cross.ofPlace(i, k0, k1); shared != lastSaid[i] {
					lastSaid[i] = shared
					saidOf[i] = math.Log(max(peak(i, shared), least))
				}
				sum += saidOf[i]
			}
			says[k0*nodes[1]+k1] = sum
			likeliest = max(likeliest, sum)
		}
	}

	out := slopesAtAge{log: make([]float64, size), scale: scale, worst: make([]float64, n)}
	lies := s.line() // of the roof's y
	if wanted {
		out.each = make([][]float64, n)
		for i := range out.each {
			out.each[i] = make([]float64, size)
		}
		last := 0.0
		for j := range lies {
			below, _ := l.to(math.Exp(s.from + (float64(j)+0.5)*s.step))
			if j > 0 {
				lies[j] = max(0, below-last)
			}
			last = below
		}
	}
	like := make([][]float64, len(of))
	later := make([][]float64, n) // the likelihood where the roof ends with another
	for i := range of {
		like[i] = s.line()
		if i < n {
			later[i] = s.line()
		}
	}
	lastLike := unshared(len(of))
	all, ratios := s.line(), s.line()
	enders := 0
	for _, may := range t.ends {
		if may {
			enders++
		}
	}
	for k0 := range nodes[0] {
		_, w0 := s.grid.node(k0, nodes[0])
		for k1 := range nodes[1] {
			if says[k0*nodes[1]+k1] < likeliest-s.grid.farNode {
				continue
			}
			_, w1 := s.grid.node(k1, nodes[1])
			w := w0 * w1 / float64(enders)
			for i := range of {
				shared := cross.ofPlace(i, k0, k1)
				if shared == lastLike[i] {
					continue
				}
				lastLike[i] = shared
				at(i, shared, like[i])
				for j := from; j < end; j++ {
					if like[i][j] < least {
						like[i][j] = least
					}
				}
				if i < n {
					s.outlived(like[i][from:end], later[i][from:to])
				}
			}
			for j := from; j < to; j++ {
				all[j], ratios[j] = w*like[n][j], 0
			}
			for i := range n {
				for j := from; j < to; j++ {
					all[j] *= later[i][j]
					if t.ends[i] {
						ratios[j] += like[i][j] / later[i][j]
					}
				}
			}
			for j := from; j < to; j++ {
				out.log[j] += all[j] * ratios[j]
			}
			if !wanted {
				continue
			}
			for i := range n {
				for j := from; j < to; j++ {
					of, ratio := all[j]*lies[j], 0.0
					if t.ends[i] {
						ratio = like[i][j] / later[i][j]
					}
					out.worst[i] += of * ratio
					out.each[i][j] += of * ratio
					room[j] = of / later[i][j] * max(0, ratios[j]-ratio)
				}
				s.outlasts(room[from:to], like[i][from:end], out.each[i][from:end])
			}
		}
	}
	for j := from; j < to; j++ {
		out.log[j] = math.Log(out.log[j]) + scale
	}
	for j := range from {
		out.log[j] = out.log[from] + bound[j] - bound[from]
	}
	for j := to; j < size; j++ {
		out.log[j] = out.log[to-1] + bound[j] - bound[to-1]
	}
	return out
}

// outlived gives, for each T of the roof, the likelihood of a slope that outlives
// it by what slopes do. The likelihood goes on beyond the last T of the roof.
func (s *slopes) outlived(like, out []float64) {
	whole := min(len(out), len(like)-len(s.kernel)+1)
	if whole > 0 {
		floats.ScaleTo(out[:whole], s.kernel[0], like[:whole])
		for k, w := range s.kernel[1:] {
			floats.AddScaled(out[:whole], w, like[k+1:k+1+whole])
		}
	}
	copy(out[max(whole, 0):], like[max(whole, 0):])
}

// outlasts adds, for each T of a slope, the chance that the roof ended before it
// with another, by how likely each T of the roof is.
func (s *slopes) outlasts(roof, like, out []float64) {
	for j := range out {
		first, last := max(0, j-len(s.kernel)+1), min(j+1, len(roof)) // of the roof's T
		if first < last {
			at := first - (j - len(s.kernel) + 1) // backwards
			out[j] += floats.Dot(roof[first:last], s.backwards[at:at+last-first]) * like[j]
		}
	}
}

// own gives the logarithm of the likelihood of the readings of one place whose
// shared errors stay within it.
func (s *slopes) own(of [][]reading, age float64, t *taken) []float64 {
	out := s.line()
	if len(of) == 0 {
		return out
	}
	room := s.line()
	var few eyeFew
	add := func(of []reading) {
		if !opens(of, t.gross) {
			s.room.take(of, age, t)
			sum, lifted := s.room.together(s.slowness, 1-t.gross)
			for j, v := range sum {
				out[j] += math.Log(v)
				if lifted != nil {
					out[j] -= float64(lifted[j]) * logLift
				}
			}
			return
		}
		for j := range room {
			room[j] = 1
		}
		few.lay(of, age, t)
		few.times(s.slowness, room)
		for j, v := range room {
			out[j] += math.Log(v)
		}
	}
	for _, of := range of {
		if of[0].shared > 0 {
			add(of)
			continue
		}
		for i := range of {
			add(of[i : i+1])
		}
	}
	return out
}

// crossing is, by place, crossing eye and node of what it shares, the likelihood of
// the eye's readings of the place at each T beside that at the likeliest node; nil
// where the eye has read nothing of the place.
type crossing [][2][][]float64

// ofPlace gives the nodes that a place depends on: 0 for an eye that has read
// nothing of it.
func (c crossing) ofPlace(i, k0, k1 int) (out [2]int) {
	for eye, k := range [2]int{k0, k1} {
		if c[i][eye] != nil {
			out[eye] = k
		}
	}
	return out
}

// unshared marks of each place that no node of it has been worked out.
func unshared(places int) [][2]int {
	out := make([][2]int, places)
	for i := range out {
		out[i] = [2]int{-1, -1}
	}
	return out
}

// cross adds to most the logarithm of the likelihood of some readings at one place
// by an eye that has read others too, at the likeliest node of what it shares, and
// gives each node's beside it.
func (s *slopes) cross(of []reading, age float64, nodes int, t *taken, most []float64) [][]float64 {
	out := make([][]float64, nodes)
	for k := range out {
		out[k] = s.line()
		for j := range out[k] {
			out[k][j] = 1
		}
	}
	half := nodes / 2
	h, _ := s.grid.node(half+1, nodes)
	for i, r := range of {
		drop := r.drop(t, age)
		gross := t.grossOf(r.sd)
		apart := h * r.shared / r.sd // of two nodes, in standard deviations of the reading
		fall := expo(-apart * apart)
		for j, slow := range s.slowness {
			z := (t.scale.Stretched(min(drop*slow, 100)) - r.fallen) / r.sd
			near := half + int(min(max(math.Round(z/apart), float64(-half)), float64(half)))
			z -= float64(near-half) * apart
			// From one node to the next the normal changes by a ratio, and that by fall:
			// away from the nearest node it only shrinks, so no digits are lost.
			normal := (1 - t.gross) * expo(-z*z/2)
			out[near][j] *= normal + gross
			best := out[near][j]
			v, ratio := normal, expo(apart*(z-apart/2))
			for _, here := range out[near+1:] {
				v *= ratio
				ratio *= fall
				here[j] *= v + gross
				best = max(best, here[j])
			}
			v, ratio = normal, expo(apart*(-z-apart/2))
			for k := near - 1; k >= 0; k-- {
				v *= ratio
				ratio *= fall
				out[k][j] *= v + gross
				best = max(best, out[k][j])
			}
			if i == len(of)-1 || best < 1/liftBy {
				most[j] += math.Log(best)
				best = 1 / best
				for _, here := range out {
					here[j] *= best
				}
			}
		}
	}
	return out
}

// results gives what was found of the slopes, and which is likely the worst. No
// slope ends before the roof.
func (s *slopes) results(t *taken, roof Range) (out []SlopeResult, worst string) {
	most := math.Inf(-1)
	for _, a := range s.ages {
		most = max(most, a.scale)
	}
	total, best := 0.0, 0.0
	for i, name := range t.slopes {
		r := SlopeResult{Slope: name}
		density := make([]float64, len(s.slowness))
		sum := 0.0
		for _, a := range s.ages {
			w := math.Exp(a.scale - most)
			r.ChanceWorst += w * a.worst[i]
			for j, v := range a.each[i] {
				density[j] += w * v
				sum += w * v
			}
		}
		total += r.ChanceWorst
		at := func(q float64) float64 {
			below := 0.0
			for j, v := range density {
				if below+v >= q*sum {
					// A value holds for the cell around it.
					return math.Exp(s.from + (float64(j)-0.5+(q*sum-below)/max(v, 1e-300))*s.step)
				}
				below += v
			}
			return math.Exp(s.from + float64(len(density))*s.step)
		}
		r.WornOutAge = Range{max(at(0.1), roof.Low), max(at(0.5), roof.Middle), max(at(0.9), roof.High)}
		if r.ChanceWorst > best {
			best, worst = r.ChanceWorst, name
		}
		out = append(out, r)
	}
	for i := range out {
		out[i].ChanceWorst /= total
	}
	return out, worst
}
