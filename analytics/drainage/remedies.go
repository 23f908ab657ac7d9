package drainage

import (
	"fmt"
	"math"
	"slices"

	"overhang/analytics/units"
)

// Trade sizes, width at the top in inches: common practice, no source.
var tradeSizes = map[Kind][]float64{
	HalfRound: {4, 5, 6, 7, 8, 10},
	KStyle:    {4, 5, 6, 7, 8},
	Box:       {4, 5, 6, 7, 8, 10, 12},
}

// tradeSpouts are trade sizes of downspouts in inches, round when of one side.
var (
	tradeSpouts = [][2]float64{{2, 3}, {3, 4}, {4, 5}, {4, 6}}
	tradeRounds = []float64{3, 4, 5, 6}
)

// ofSize gives a gutter of a trade width in its usual shape: of K-style and box
// the least depth of their range, so that it surely does.
func ofSize(c config, width float64) config {
	c.width = width
	switch c.kind {
	case HalfRound:
		c.depth = width / 2
	case KStyle:
		c.depth, c.sole = 0.7*width, 0.66*width
	default:
		c.depth = 0.75 * width
	}
	return c
}

// holds says whether the run would carry the design rain with a gutter,
// wherever what is not known lies.
func (j *judging) holds(c config) bool {
	for _, n := range j.build(c, true) {
		if !n.holds(j.rain / j.cornerSpan().lo) {
			return false
		}
	}
	return true
}

// capacityRemedies are what would make the gutter carry the design rain, the
// least change first.
func (j *judging) capacityRemedies() []Remedy {
	var out []Remedy
	now := j.config(true)
	if now.blocked > 0 {
		c := now
		c.blocked = 0
		out = append(out, Remedy{Key: "clean", Cures: j.holds(c), Says: j.enough("Clear the granules and plants", j.holds(c))})
	}
	clean := now
	clean.blocked = 0
	freed := clean
	freed.spout = spout{}
	if now.spout.known() && j.holds(freed) {
		r := Remedy{Key: "larger_downspout", Cures: false, Says: "The gutter itself carries the rain: the outlets hold it back. Fit larger outlets and downspouts, or more of them."}
		if name, ok := j.largerSpout(func(s spout) bool { c := clean; c.spout = s; return j.holds(c) }); ok {
			r.Cures, r.Says = true, fmt.Sprintf("The gutter itself carries the rain: the outlets hold it back. Fit downspouts of %s.", name)
		}
		out = append(out, r)
	}
	if clean.fall < tableFall {
		c := clean
		c.fall = tableFall
		h := units.Length(tableFall * j.longest())
		out = append(out, Remedy{Key: "fall", Height: &h, Cures: j.holds(c), Says: j.enough(fmt.Sprintf("Give it a fall of %s towards the outlets, %s from the high point down", j.writeFall(tableFall), j.writeSmall(float64(h))), j.holds(c))})
	}
	for _, size := range tradeSizes[now.kind] {
		if size*inch <= now.width*(1+1e-9) {
			continue
		}
		c := ofSize(clean, size*inch)
		if held := j.holds(c); held || size == tradeSizes[now.kind][len(tradeSizes[now.kind])-1] {
			w := units.Length(c.width)
			says := j.enough(fmt.Sprintf("Hang a larger gutter, %s wide and at least %s deep", j.writeSmall(c.width), j.writeSmall(c.depth)), held)
			out = append(out, Remedy{Key: "larger_gutter", Width: &w, Cures: held, Says: says})
			break
		}
	}
	has := max(1, j.count)
	for i, o := range j.outlets {
		if i == 0 {
			has = 0
		}
		has += o.holes
	}
	for n := has + 1; n <= has+6; n++ {
		c := clean
		c.outlets = evenly(n, j.length)
		if j.holds(c) {
			out = append(out, Remedy{Key: "more_outlets", Count: n, Cures: true, Says: fmt.Sprintf("Have %s, each serving as much of the run.", outletsWord(n))})
			break
		}
	}
	return out
}

// longest is the longest side of an outlet, half of it between two.
func (j *judging) longest() float64 {
	n := j.tight
	out := max(n.left.length, n.right.length)
	for i := range n.gaps {
		out = max(out, n.gaps[i].first.length/2)
	}
	return out
}

func (j *judging) enough(says string, is bool) string {
	if is {
		return says + "."
	}
	return says + "; it is not enough alone."
}

// largerSpout gives the first trade size of downspout, larger than the one
// there, that will do.
func (j *judging) largerSpout(does func(spout) bool) (string, bool) {
	if j.spoutRound {
		for _, d := range tradeRounds {
			if s := roundHole(d * inch); s.area > j.spout.area*(1+1e-9) && does(s) {
				return j.writeSmall(d*inch) + " round", true
			}
		}
		return "", false
	}
	for _, d := range tradeSpouts {
		if s := rectangular(d[0]*inch, d[1]*inch); s.area > j.spout.area*(1+1e-9) && does(s) {
			return j.writeSmall(d[0]*inch) + " by " + j.writeSmall(d[1]*inch), true
		}
	}
	return "", false
}

// spoutRemedies are for outlets that do not let their load out.
// need is the fewest that could.
func (j *judging) spoutRemedies(load float64, need int) []Remedy {
	var out []Remedy
	if name, ok := j.largerSpout(func(s spout) bool { return s.flow(j.tight.depth) >= load }); ok {
		out = append(out, Remedy{Key: "larger_downspout", Cures: true, Says: fmt.Sprintf("Fit outlets and downspouts of %s.", name)})
	}
	for n := need; n <= need+6; n++ {
		c := j.config(true)
		c.outlets = evenly(n, j.length)
		served := j.build(c, true)[0].served(j.rain)
		if slices.Max(served)*j.rain <= j.spout.flow(j.tight.depth) {
			return append(out, Remedy{Key: "more_outlets", Count: n, Cures: true, Says: fmt.Sprintf("Have %s of this size, each serving as much of the run.", outletsWord(n))})
		}
	}
	return out
}

// spare is what a splash guard stands above the stream: our judgement.
const spare = inch

// overRemedies are for a stream that may pass the lip: first the gutter's
// height, then a guard at a valley, an apron, a wider gutter, and last the
// shingles' overhang. most is the lowest that the lip may hang, throw the
// farthest that the stream goes out, both along the stream.
func (j *judging) overRemedies(e edge, most, throw, width float64) []Remedy {
	var out []Remedy
	short := j.drop - most
	// the lip may not come above the line of sliding snow
	line := math.Inf(-1)
	if known(j.pitch) {
		line = j.reach.hi*j.pitch + clearance(j.pitch)
	}
	// snowed tells of a lip at a reach and a drop that would meet sliding snow
	snowed := func(reach, drop float64) string {
		if known(j.pitch) && drop < reach*j.pitch {
			return " It would stand in the way of sliding snow."
		}
		return ""
	}
	to := max(most, line)
	if by := units.Length(j.drop - to); by > 0 {
		r := Remedy{Key: "raise_gutter", Raise: &by, Cures: to == most}
		r.Says = j.enough(fmt.Sprintf("Raise the gutter by %s, its back with it", j.writeSmall(float64(by))), r.Cures)
		if !r.Cures {
			r.Says += " Higher, sliding snow would catch the lip."
		}
		out = append(out, r)
	}
	if !e.sheet {
		// whole half inches and the length each way: our judgement
		height := units.Length(math.Ceil((short+spare)/(inch/2)) * inch / 2)
		length := units.Length(max(12*inch, width/2+6*inch))
		out = append(out, Remedy{Key: "splash_guard", Height: &height, Length: &length, Cures: true, Says: fmt.Sprintf("Fix a splash guard on the lip at the valley, %s high and %s each way.", j.writeSmall(float64(height)), j.writeSmall(float64(length))) + snowed(j.reach.hi, j.drop-float64(height))})
	}
	apron := units.Length(short)
	out = append(out, Remedy{Key: "apron", Height: &apron, Cures: true, Says: fmt.Sprintf("Fix an apron under the first course that carries the water %s farther down, to no more than %s above the lip.", j.writeSmall(short), j.writeSmall(max(0, most)))})
	if known(j.width) {
		kind := j.config(true).kind
		want := j.width + (throw-e.reach.lo)*e.out
		for _, size := range tradeSizes[kind] {
			if size*inch >= want*(1-1e-9) && size*inch > j.width {
				w := units.Length(size * inch)
				out = append(out, Remedy{Key: "larger_gutter", Width: &w, Cures: true, Says: fmt.Sprintf("Hang a gutter %s wide with its back where it is now and its lip no lower.", j.writeSmall(size*inch)) + snowed(j.reach.hi+size*inch-j.width, j.drop)})
				break
			}
		}
	}
	return append(out, Remedy{Key: "shingle_overhang", Says: "Last, look at the shingles' overhang past the drip edge: 1/2 to 3/4 in (13 to 19 mm) is usual."})
}
