package drainage

import "math"

// gravity is standard gravity in m/s² (ISO 80000-3).
const gravity = 9.80665

// section is the cross-section of a gutter, in metres. Above its lip the walls
// are carried on upright, so that a depth stays a smooth measure of how much
// too little a gutter is. A bed of granules or plants fills it from the bottom.
type section struct {
	kind   Kind
	bottom float64 // width of the sole; of trapezoid and rectangle
	run    float64 // how far the front leans out for each unit of height
	lean   float64 // length of the front for each unit of height
	radius float64 // of the half round
	curve  float64 // height at which upright walls begin
	depth  float64 // from the bed to the lip
	at     slice   // of the curve's end
	bedded bool
	bed    float64 // height of the bed
	under  slice   // of the bed
}

// slice is a section filled to one depth: its area, its width at the surface,
// its wetted outline and how fast that grows with depth, and the moment of its
// area about the surface.
type slice struct{ area, top, wet, spread, moment float64 }

// newSection gives the section of a kind by width at the top, depth to the lip
// and width of the sole, with a share of its area filled.
func newSection(kind Kind, width, depth, bottom, blocked float64) section {
	s := section{kind: kind, depth: depth, curve: depth}
	switch kind {
	case HalfRound:
		s.radius = width / 2
		if depth < s.radius {
			// a flatter arc through both edges and the lowest point
			s.radius = (width*width/4 + depth*depth) / (2 * depth)
		}
		s.curve = min(depth, s.radius)
	case KStyle:
		s.bottom, s.run = bottom, (width-bottom)/depth
		s.lean = math.Hypot(1, s.run)
	default:
		s.bottom, s.lean = width, 1
	}
	s.at = s.below(s.curve)
	if blocked > 0 {
		full := s.raw(depth).area * blocked
		lo, hi := 0.0, depth
		for range 50 {
			mid := (lo + hi) / 2
			if s.raw(mid).area < full {
				lo = mid
			} else {
				hi = mid
			}
		}
		s.bed, s.under, s.bedded = hi, s.raw(hi), true
		s.depth -= hi
	}
	return s
}

// below gives the slice to a height under the end of the curve.
func (s *section) below(y float64) slice {
	if s.kind == HalfRound {
		r := s.radius
		c := min(1, max(0, (r-y)/r))
		sine := math.Sqrt(1 - c*c)
		angle := math.Acos(c)
		area := r * r * (angle - sine*c)
		top := 2 * r * sine
		return slice{area, top, 2 * r * angle, 4 * r / max(top, 1e-3*r), max(0, top*top*top/12-(r-y)*area)}
	}
	return slice{
		area:   y * (s.bottom + s.run*y/2),
		top:    s.bottom + s.run*y,
		wet:    s.bottom + y*(1+s.lean),
		spread: 1 + s.lean,
		moment: y * y * (s.bottom/2 + s.run*y/6),
	}
}

func (s *section) raw(y float64) slice {
	if y <= s.curve {
		return s.below(y)
	}
	up, a := y-s.curve, s.at
	return slice{a.area + a.top*up, a.top, a.wet + 2*up, 2, a.moment + a.area*up + a.top*up*up/2}
}

// fill gives the slice that water of a depth above the bed takes up.
func (s *section) fill(y float64) slice {
	if !s.bedded {
		return s.raw(y)
	}
	f, u := s.raw(y+s.bed), s.under
	return slice{f.area - u.area, f.top, f.wet - u.wet + u.top, f.spread, max(0, f.moment-u.moment-u.area*y)}
}

// critical gives the depth at which a flow in m³/s has the speed of a small
// wave, beginning from a guess (0 is none).
func (s *section) critical(flow, guess float64) float64 {
	if flow <= 0 {
		return 0
	}
	y := guess
	if y <= 0 {
		y = s.depth / 2
	}
	target := flow / math.Sqrt(gravity)
	for range 40 {
		f := s.fill(y)
		step := math.Log(target/(f.area*math.Sqrt(f.area/f.top))) * f.area / (1.5 * y * f.top)
		y *= math.Exp(step)
		if math.Abs(step) < 1e-7 {
			break
		}
	}
	return y
}

// momentum gives the momentum function of a flow at a depth, in m³: what it
// carries and the push of its depth, over the weight of water.
func (s *section) momentum(y, flow float64) float64 {
	f := s.fill(y)
	if flow <= 0 || f.area <= 0 {
		return f.moment
	}
	return flow*flow/(gravity*f.area) + f.moment
}
