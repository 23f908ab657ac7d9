package hindsight

import (
	"math"
	"math/rand/v2"
)

// steps is into how many steps the chances from 0 to 1 are cut.
const steps = 40

// fewWatched is under how many roofs the curve is not followed further.
const fewWatched = 5

// nearlyAll is the share from which the curve is as good as at its end.
const nearlyAll = 0.95

// CurvePoint is the share of cases that came true at or below a foretold chance,
// with its range. Right estimates give Seen = Foretold.
type CurvePoint struct {
	Foretold float64 `json:"foretold"`
	Seen     float64 `json:"seen"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
}

// Curve is the foretold chances at which things came, cumulated.
type Curve struct {
	Points []CurvePoint `json:"points"`
	// SeenTo is the foretold chance up to which at least five roofs were watched;
	// points above it are left out.
	SeenTo float64 `json:"seen_to"`
	// Furthest is the largest distance of Seen from Foretold, and Allowed the one
	// that the drawing of roofs makes by itself 95 times in 100.
	Furthest float64 `json:"furthest"`
	Allowed  float64 `json:"allowed"`
}

// stretch says that the foretold chance at which the thing came lies between two
// numbers: somewhere, which is not known yet, or all over it, where what came was
// foretold as a lump.
type stretch struct{ low, high float64 }

// place is what is known of one case: one of several stretches, each as likely
// beforehand. Cluster is the roof.
type place struct {
	stretches []stretch
	cluster   int
}

// distribution is the chance of each step.
type distribution [steps]float64

// upTo is the chance of less than v.
func (d *distribution) upTo(cumulative *[steps + 1]float64, v float64) float64 {
	at := v * steps
	i := min(int(at), steps-1)
	return cumulative[i] + (at-float64(i))*d[i]
}

// refine makes one step of self-consistency: each case is spread over its
// stretches as the distribution says.
func (d *distribution) refine(places []place, weight []float64) (moved float64) {
	var cumulative [steps + 1]float64
	for i, p := range d {
		cumulative[i+1] = cumulative[i] + p
	}
	var next distribution
	var whole [steps + 1]float64 // differences of what goes to whole steps
	total := 0.0
	for _, p := range places {
		w := weight[p.cluster]
		if w == 0 {
			continue
		}
		chance := 0.0
		for _, s := range p.stretches {
			chance += d.upTo(&cumulative, s.high) - d.upTo(&cumulative, s.low)
		}
		if !(chance > 1e-300) {
			continue // ruled out by the others
		}
		total += w
		w /= chance
		for _, s := range p.stretches {
			from, to := s.low*steps, s.high*steps
			first, last := min(int(from), steps-1), min(int(to), steps-1)
			if first == last {
				next[first] += w * (to - from)
				continue
			}
			next[first] += w * (float64(first+1) - from)
			next[last] += w * (to - float64(last))
			whole[first+1] += w
			whole[last] -= w
		}
	}
	if total == 0 {
		return 0
	}
	running := 0.0
	for i := range next {
		running += whole[i]
		next[i] = (next[i] + running) * d[i] / total
		moved = max(moved, math.Abs(next[i]-d[i]))
	}
	*d = next
	return moved
}

// settle refines until nothing moves.
func (d *distribution) settle(places []place, weight []float64, most int, enough float64) {
	for range most {
		if d.refine(places, weight) < enough {
			return
		}
	}
}

func even() (d distribution) {
	for i := range d {
		d[i] = 1.0 / steps
	}
	return d
}

// least is how narrow a stretch may be: an exact one is spread over this much.
const least = 1e-9

// spread is the estimated distribution of the foretold chances, with the drawn
// ones for its range.
type spread struct {
	d      distribution
	drawn  []distribution
	seenTo float64
	roofs  int
}

// drawings is how many times the roofs are drawn anew.
const drawings = 120

// lumpsOf is the distribution, with its range, where each case lies all over its
// stretch, every chance in it alike: what came is known, and is one of those readings,
// cut at the end of the scale, at which the forecast puts a lump. Right forecasts are
// even then (Czado, Gneiting and Held 2009, Biometrics 65, section 2). To have the cases
// settle where the others say, as spreadOf does, would heap the lumps where they overlap.
func lumpsOf(places []place, roofs, draws int) spread {
	out := spread{d: even(), roofs: roofs}
	if roofs >= fewWatched {
		out.seenTo = 1
	}
	weight := make([]float64, roofs)
	for i := range weight {
		weight[i] = 1
	}
	out.d.refine(places, weight)
	out.draw(draws, len(places), weight, func() distribution {
		d := even()
		d.refine(places, weight)
		return d
	})
	return out
}

// spreadOf estimates the distribution and its range, where a stretch says between
// which chances a case will prove to lie. Clusters are numbered from 0 to roofs−1.
func spreadOf(places []place, roofs, draws int) spread {
	out := spread{d: even(), roofs: roofs}
	// How far up enough roofs were watched: a roof is, up to the highest foretold
	// chance at which it can have come.
	for step := 1; step <= steps; step++ {
		watched := map[int]bool{}
		for _, p := range places {
			for _, s := range p.stretches {
				// A case that is only known to come later tells up to its lower end.
				reach := s.high
				if s.high >= 1 {
					reach = s.low
				}
				if reach >= (float64(step)-0.5)/steps {
					watched[p.cluster] = true
				}
			}
		}
		if len(watched) < fewWatched {
			break
		}
		out.seenTo = float64(step) / steps
	}
	weight := make([]float64, roofs)
	for i := range weight {
		weight[i] = 1
	}
	out.d.settle(places, weight, 500, 1e-7)
	// Where nearly all have come already, the little that is left changes nothing.
	cumulative := out.d.cumulative()
	for last := int(math.Round(out.seenTo * steps)); last > 0 && last < steps && cumulative[last] > nearlyAll; last++ {
		out.seenTo = float64(last+1) / steps
	}
	out.draw(draws, len(places), weight, func() distribution {
		d := out.d
		// What no drawing can bring back is opened a little.
		for i := range d {
			d[i] = 0.95*d[i] + 0.05/steps
		}
		d.settle(places, weight, 30, 1e-4)
		return d
	})
	return out
}

// draw draws the roofs anew so often, each as many times as its weight says, and keeps
// what is then found.
func (s *spread) draw(draws, cases int, weight []float64, find func() distribution) {
	if s.roofs < 2 {
		return
	}
	dice := rand.New(rand.NewPCG(uint64(s.roofs), uint64(cases))) // the same cases give the same range
	for range draws {
		clear(weight)
		for range s.roofs {
			weight[dice.IntN(s.roofs)]++
		}
		s.drawn = append(s.drawn, find())
	}
}

func (d *distribution) cumulative() (out [steps + 1]float64) {
	for i, p := range d {
		out[i+1] = out[i] + p
	}
	return out
}

// between gives the chance from one foretold chance to another with the standard
// deviation of its drawings.
func (s *spread) between(low, high float64) (share, sd float64) {
	of := func(d *distribution) float64 {
		c := d.cumulative()
		return d.upTo(&c, high) - d.upTo(&c, low)
	}
	share = of(&s.d)
	if len(s.drawn) == 0 {
		return share, math.NaN()
	}
	mean, square := 0.0, 0.0
	for i := range s.drawn {
		v := of(&s.drawn[i])
		mean += v
		square += v * v
	}
	n := float64(len(s.drawn))
	mean /= n
	return share, math.Sqrt(max(square/n-mean*mean, 0))
}

// curve writes it as points, with a band as wide everywhere as 95 drawings
// in 100 stay within.
func (s *spread) curve() Curve {
	out := Curve{SeenTo: s.seenTo, Points: []CurvePoint{}}
	last := int(math.Round(s.seenTo * steps))
	whole := s.d.cumulative()
	drawn := make([][steps + 1]float64, len(s.drawn))
	for i := range s.drawn {
		drawn[i] = s.drawn[i].cumulative()
	}
	furthest := make([]float64, len(drawn))
	for i := range drawn {
		for j := 1; j <= last; j++ {
			furthest[i] = max(furthest[i], math.Abs(drawn[i][j]-whole[j]))
		}
	}
	out.Allowed = upper(furthest, 0.95)
	for j := 0; j <= last; j++ {
		p := CurvePoint{Foretold: float64(j) / steps, Seen: whole[j]}
		p.Low, p.High = max(p.Seen-out.Allowed, 0), min(p.Seen+out.Allowed, 1)
		if j == 0 {
			p.Low, p.High = 0, 0
		}
		out.Furthest = max(out.Furthest, math.Abs(p.Seen-p.Foretold))
		out.Points = append(out.Points, p)
	}
	return out
}
