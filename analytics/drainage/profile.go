package drainage

import "math"

// steps is the number of steps along one stretch of gutter. The test of the
// step shows what it costs in accuracy.
const steps = 12

// pour is a flow that enters at one place, as the plan area in m² behind it.
type pour struct{ at, area float64 }

// stretch is the gutter on one side of an outlet, seen from the outlet.
type stretch struct {
	length float64 // m, to the closed end or the next outlet
	crest  float64 // m, where the bed turns to fall the other way
	even   float64 // m² a metre
	pours  []pour  // by distance from the outlet
	area   float64 // m², all of it
}

// channel is a gutter's section with its fall (rise over run towards the
// outlet) and Manning's n.
type channel struct {
	section
	fall, n float64
	steps   int
}

// force is what the bed and friction add to the momentum in a metre of run, and
// how fast that grows with depth.
func (c *channel) force(f slice, flow, fall float64) (force, growth float64) {
	if f.area <= 0 || flow <= 0 {
		return f.area * fall, f.top * fall
	}
	speed, r := flow/f.area, f.area/f.wet
	rub := c.n * c.n * speed * speed / (r * math.Cbrt(r))
	return f.area * (fall - rub), f.top*fall + rub*(7*f.top-4*f.area*f.spread/f.wet)/3
}

// water is the flow at one place on the way up a stretch.
type water struct {
	flow, fall float64
	y          float64
	f          slice
	momentum   float64
	low        float64 // critical depth here, or of a place farther down
	// force of bed and friction, and how fast it grows with depth, here
	force, growth float64
}

// up moves the water up by dx, where the flow is less. The force is that of both
// ends, weighed to the far end where the step is long beside the way in which
// the depth settles: so a thin film does not swing.
func (c *channel) up(w *water, dx, flow float64) {
	near, share := 0.0, 0.0
	if dx > 0 {
		stiff := math.Inf(1)
		if slope := w.f.area - w.flow*w.flow*w.f.top/(gravity*w.f.area*w.f.area); slope > 0 {
			stiff = dx * math.Abs(w.growth) / slope
		}
		share = 1.0
		if stiff < 1e3 {
			share = 0.5 + 0.5*stiff*stiff/(stiff*stiff+4)
		}
		near, share = dx*(1-share)*w.force, dx*share
	}
	target := w.momentum - near
	w.flow = flow
	// lack is the momentum that a depth has over what it must have, and its slope
	lack := func(y float64) (float64, float64) {
		w.f = c.fill(y)
		w.force, w.growth = c.force(w.f, flow, w.fall)
		if w.f.area <= 0 {
			return -target, 0
		}
		push := flow * flow / (gravity * w.f.area)
		return push + w.f.moment + share*w.force - target, w.f.area - push*w.f.top/w.f.area + share*w.growth
	}
	y := max(w.y, w.low)
	off, slope := lack(y)
	// Where this depth has too much, there may be none with so little; low only
	// shrinks on the way up, so the last one found is a bound.
	if off > 0 && w.fall >= 0 {
		if least, _ := lack(w.low); least >= 0 {
			w.low = c.critical(flow, w.low)
			if least, _ = lack(w.low); least >= 0 {
				w.y, w.momentum = w.low, c.momentum(w.low, flow)
				return
			}
		}
		off, slope = lack(y)
	}
	// from above the function is convex and Newton's steps close in
	for range 60 {
		if slope <= 0 {
			y *= 1.5
			off, slope = lack(y)
			continue
		}
		next := min(2*y, max(y/2, y-off/slope)) // the slope near critical depth is slight
		done := math.Abs(next-y) <= 1e-6*y
		y = next
		if done {
			break
		}
		off, slope = lack(y)
	}
	w.y, w.momentum = y, target-share*w.force
}

// profile goes up a stretch from its outlet, which area m² of roof reach at
// rain m/s, with at least head m of water over the outlet. It gives the
// momentum at the far end, where nothing flows, and the greatest depth.
//
// The inflow brings no momentum along the gutter, so between two places the
// momentum function changes by the force of bed and friction alone, and not at
// all where a valley pours in. Where a steep bed asks for less than the least
// momentum that the flow can have, the flow passes critical depth there.
func (c *channel) profile(s *stretch, area, rain, head float64) (momentum, deepest float64) {
	if area <= 0 {
		return c.momentum(head, 0), head
	}
	left, x := area, 0.0
	w := water{flow: rain * left, fall: c.fall}
	w.low = c.critical(w.flow, 0)
	w.y = max(w.low, head)
	w.f, w.momentum = c.fill(w.y), c.momentum(w.y, w.flow)
	w.force, w.growth = c.force(w.f, w.flow, w.fall)
	deepest = w.y
	next := 0
	for left > 1e-9*area {
		to := s.length
		if s.even > 0 {
			to = min(to, x+left/s.even)
		}
		if next < len(s.pours) {
			to = min(to, s.pours[next].at)
		}
		turns := x < s.crest && s.crest <= to
		if turns {
			to = s.crest
		}
		begun := x
		if length := to - x; length > 0 {
			n := max(4, int(math.Ceil(float64(c.steps)*length/s.length-1e-6)))
			for i := range n {
				// small steps first: at critical depth the surface is steep
				dx := length * float64(2*i+1) / float64(n*n)
				left = max(0, left-s.even*dx)
				c.up(&w, dx, rain*left)
				deepest = max(deepest, w.y)
			}
			x = to
		}
		if turns {
			w.fall = -w.fall
			w.force, w.growth = c.force(w.f, w.flow, w.fall)
		}
		poured := next < len(s.pours) && s.pours[next].at <= x
		if poured {
			left = max(0, left-s.pours[next].area)
			next++
			c.up(&w, 0, rain*left)
			deepest = max(deepest, w.y)
		}
		if x <= begun && !poured && !turns {
			break // the end, but for rounding
		}
	}
	if left > 0 { // what rounding left over
		c.up(&w, 0, 0)
		deepest = max(deepest, w.y)
	}
	return w.momentum, deepest
}

// gap is the gutter between two outlets, seen from either; share is the area
// that goes to the first, where the water was last found to part.
type gap struct {
	first, second stretch
	share         float64
	slope         float64    // of the difference of levels with the share
	at            float64    // rain at which it was found
	deep          [2]float64 // greatest depth of either side then, with free outlets
	known         bool       // parts in the middle, by symmetry
}

// part finds where the water parts at a rain, with free outlets: where both
// sides stand at one level.
func (c *channel) part(g *gap, rain float64) {
	total := g.first.area
	if total <= 0 || g.known {
		g.share = total / 2
		return
	}
	// the place hardly moves with the rain: near enough, it stands
	if math.Abs(rain-g.at) < 1e-3*rain {
		return
	}
	g.at = rain
	off := func(share float64) float64 {
		a, deepA := c.profile(&g.first, share, rain, 0)
		b, deepB := c.profile(&g.second, total-share, rain, 0)
		g.deep = [2]float64{deepA, deepB}
		return (a - b) / (a + b)
	}
	// off rises with the share: false position from the last place and slope,
	// halving whenever it leaves the bracket
	lo, hi, try := 0.0, total, g.share
	lastTry, lastOff := math.NaN(), 0.0
	for range 60 {
		at := off(try)
		if math.Abs(at) < 1e-5 {
			break
		}
		if at < 0 {
			lo = try
		} else {
			hi = try
		}
		if try != lastTry && !math.IsNaN(lastTry) {
			g.slope = (at - lastOff) / (try - lastTry)
		}
		lastTry, lastOff = try, at
		try -= at / g.slope
		if !(try > lo && try < hi) {
			try = (lo + hi) / 2
		}
		if hi-lo < 1e-7*total {
			break
		}
	}
	g.share = try
}

// outlet is a hole in the sole, or several at one place.
type outlet struct {
	at    float64
	holes int
}

// network is a run of gutter with its outlets.
type network struct {
	channel
	outlets     []outlet
	left, right stretch // dead ends outside the outermost outlets
	gaps        []gap
	direct      []float64 // m² that pour straight into each outlet
	spout       spout
	area        float64
}

// newNetwork lays out a run: its outlets in order of place, its pours in any.
func newNetwork(c channel, length, even float64, pours []pour, outlets []outlet, sp spout) *network {
	n := &network{channel: c, outlets: outlets, spout: sp, direct: make([]float64, len(outlets))}
	n.area = even * length
	var rest []pour
	for _, p := range pours {
		n.area += p.area
		direct := false
		for i, o := range outlets {
			if math.Abs(o.at-p.at) < 1e-6 {
				n.direct[i] += p.area
				direct = true
				break
			}
		}
		if !direct {
			rest = append(rest, p)
		}
	}
	// between gives the stretch from an outlet at from to a place at to
	between := func(from, to float64) stretch {
		s := stretch{length: math.Abs(to - from), crest: math.Inf(1), even: even}
		s.area = even * s.length
		for _, p := range rest {
			if (p.at-from)*(p.at-to) <= 0 {
				s.pours = append(s.pours, pour{math.Abs(p.at - from), p.area})
				s.area += p.area
			}
		}
		sortPours(s.pours)
		return s
	}
	last := len(outlets) - 1
	n.left, n.right = between(outlets[0].at, 0), between(outlets[last].at, length)
	for i := range last {
		a, b := outlets[i].at, outlets[i+1].at
		g := gap{first: between(a, b), second: between(b, a)}
		g.first.crest, g.second.crest = g.first.length/2, g.first.length/2
		g.share, g.known = g.first.area/2, len(g.first.pours) == 0
		g.slope = 2 / max(g.first.area, 1e-9)
		n.gaps = append(n.gaps, g)
	}
	return n
}

func sortPours(p []pour) {
	for i := range p {
		for j := i; j > 0 && p[j].at < p[j-1].at; j-- {
			p[j], p[j-1] = p[j-1], p[j]
		}
	}
}

// state is a run at one rain.
type state struct {
	deepest float64 // m
	leg     float64 // m² that reach the outlet from the side that is deepest
	length  float64 // m of that side, by its share of the area
	served  []float64
}

// at gives the state at a rain in m/s. With free outlets the water falls away
// at critical depth; else it stands at least as high over an outlet as its
// hole asks.
func (n *network) at(rain float64, free bool) state {
	st := state{served: n.served(rain)}
	heads := make([]float64, len(n.outlets))
	for i, o := range n.outlets {
		if !free && n.spout.known() {
			heads[i] = n.spout.head(rain * st.served[i] / float64(o.holes))
		}
	}
	take := func(s *stretch, area, head, deep float64) {
		if deep == 0 || head > n.critical(rain*area, 0) {
			_, deep = n.profile(s, area, rain, head)
		}
		if deep > st.deepest || (deep == st.deepest && area > st.leg) {
			st.deepest, st.leg, st.length = deep, area, s.length
			if area < s.area {
				st.length *= area / s.area
			}
		}
	}
	last := len(heads) - 1
	take(&n.left, n.left.area, heads[0], 0)
	take(&n.right, n.right.area, heads[last], 0)
	for i := range n.gaps {
		g := &n.gaps[i]
		deep := g.deep
		if g.at != rain {
			deep = [2]float64{}
		}
		take(&g.first, g.share, heads[i], deep[0])
		take(&g.second, g.first.area-g.share, heads[i+1], deep[1])
	}
	return st
}

// served gives the area in m² that each outlet serves at a rain.
func (n *network) served(rain float64) []float64 {
	out := make([]float64, len(n.outlets))
	copy(out, n.direct)
	out[0] += n.left.area
	out[len(out)-1] += n.right.area
	for i := range n.gaps {
		g := &n.gaps[i]
		n.part(g, rain)
		out[i] += g.share
		out[i+1] += g.first.area - g.share
	}
	return out
}

// holds says whether a rain in m/s stays under the lip.
func (n *network) holds(rain float64) bool {
	return n.area <= 0 || n.at(rain, false).deepest <= n.depth
}

// capacity gives the rain in m/s at which the water reaches the lip somewhere,
// and the state then; infinite when no roof drains here.
func (n *network) capacity(free bool, guess float64) (float64, state) {
	if n.area <= 0 {
		return math.Inf(1), state{}
	}
	if guess <= 0 {
		f := n.fill(n.depth)
		guess = 0.45 * f.area * math.Sqrt(gravity*f.area/f.top) / n.area
	}
	x := math.Log(guess)
	lo, hi := math.Inf(-1), math.Inf(1)
	var st state
	lastX, lastY := math.NaN(), math.NaN()
	for range 60 {
		st = n.at(math.Exp(x), free)
		y := math.Log(st.deepest / n.depth)
		if math.Abs(y) < 1e-6 {
			break
		}
		if y < 0 {
			lo = x
		} else {
			hi = x
		}
		slope := 1 / 1.5
		if !math.IsNaN(lastX) && x != lastX {
			slope = min(3, max(0.1, (y-lastY)/(x-lastX)))
		}
		lastX, lastY = x, y
		x -= y / slope
		if x <= lo || x >= hi {
			if math.IsInf(lo, -1) || math.IsInf(hi, 1) {
				continue
			}
			x = (lo + hi) / 2
		}
		if hi-lo < 1e-9 {
			break
		}
	}
	return math.Exp(x), st
}

// spout is one downspout's hole in the sole, in metres; zero is not known.
type spout struct{ rim, area float64 }

// Coefficients of a hole in a gutter's sole: EN 12056-3 gives, from memory, a
// flow of D·h^1.5/7500 l/s (mm) up to half a diameter of head and D²·h^0.5/15000
// above. Written on rim and area they serve rectangular holes too.
var (
	weir    = math.Pow(1000, 1.5) / 7500 / math.Pi // m^0.5/s, on the rim
	orifice = math.Pow(1000, 1.5) / 15000 * 4 / math.Pi
)

func (s spout) known() bool { return s.area > 0 }

// flow gives the flow in m³/s under a head: over the rim like a weir while it
// is low, then through the hole.
func (s spout) flow(head float64) float64 {
	return min(weir*s.rim*head*math.Sqrt(head), orifice*s.area*math.Sqrt(head))
}

// head gives the head that a flow needs.
func (s spout) head(flow float64) float64 {
	over := math.Pow(flow/(weir*s.rim), 2.0/3)
	through := flow / (orifice * s.area)
	return max(over, through*through)
}
