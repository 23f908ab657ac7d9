package takeoff

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// What a plan drawn from measurements is forgiven, in metres and as the sine of
// an angle; our judgement.
const (
	nearPlan   = 0.030 // two lines or corners this near are one
	leastShare = 0.050 // shorter common stretches are touches, not lines
	nearHeight = 0.060 // planes this near in height meet
	flatSine   = 0.010 // a line crossed at a flatter angle is run along
	skewSine   = 0.087 // eaves of one slope turn no further, 5 degrees
	leastLoss  = 0.1   // m²; smaller losses are summed and not told
)

// Point is a place in plan, metres, on the axes of the outlines.
type Point struct {
	X units.Length `json:"x_m"`
	Y units.Length `json:"y_m"`
}

// PlanSlope is a slope as its outline has it. What is nil is not known.
type PlanSlope struct {
	Name     string     `json:"name"`
	PlanArea units.Area `json:"plan_area_m2"`
	// Bearing is where it falls to, in degrees clockwise from the drawing's Y.
	Bearing *float64    `json:"bearing_deg,omitempty"`
	Area    *units.Area `json:"area_m2,omitempty"` // true
	Squares *float64    `json:"squares,omitempty"`
	// Rafter is the longest way down the slope, from its top to its bottom line.
	Rafter *units.Length `json:"rafter_m,omitempty"`
	// EaveHeight is that of its lowest eave over the lowest eave of all the
	// slopes it joins, when they are set to meet at their lines.
	EaveHeight *units.Length `json:"eave_height_m,omitempty"`
}

// Line is an edge of the roof, or one stretch of it that two slopes share.
type Line struct {
	Kind   string        `json:"kind"`
	Slopes []string      `json:"slopes"` // one, or the two that meet in it
	From   Point         `json:"from"`
	To     Point         `json:"to"`
	Plan   units.Length  `json:"plan_length_m"`
	Length *units.Length `json:"length_m,omitempty"` // along the roof
	// Gap is how far apart in height the two planes come along it, at most.
	Gap *units.Length `json:"gap_m,omitempty"`
}

// PlanRuns are the lengths along the roof of each kind of line, a line that two
// slopes share counted once. What is nil is not known.
type PlanRuns struct {
	Eave     *units.Length `json:"eave_m,omitempty"`
	Rake     *units.Length `json:"rake_m,omitempty"`
	Ridge    *units.Length `json:"ridge_m,omitempty"`
	Hip      *units.Length `json:"hip_m,omitempty"`
	Valley   *units.Length `json:"valley_m,omitempty"`
	Wall     *units.Length `json:"wall_m,omitempty"`
	Headwall *units.Length `json:"headwall_m,omitempty"`
	Open     *units.Length `json:"open_m,omitempty"`
}

// Pour is where gathered water comes over an eave at one point.
type Pour struct {
	// At is the distance along the eave from its left end, as one stands outside
	// and looks at the house.
	At       units.Length `json:"at_m"`
	Point    Point        `json:"point"`
	PlanArea units.Area   `json:"plan_area_m2"`
	Slopes   []string     `json:"slopes"` // that feed it
}

// Drain is the plan area whose water comes over one eave line.
type Drain struct {
	Slope  int          `json:"slope"` // place in the list of slopes
	Name   string       `json:"name"`
	Corner int          `json:"corner"` // of the outline, from 1, at which the eave's line is named
	Length units.Length `json:"length_m"`
	Left   Point        `json:"left"` // end, seen from outside
	Right  Point        `json:"right"`
	// Sheet is the plan area that drains straight over the eave, its own slope's
	// and what runs down onto it over open lines; Total adds the pours.
	Sheet units.Area `json:"sheet_plan_area_m2"`
	Pours []Pour     `json:"pours,omitempty"`
	Total units.Area `json:"total_plan_area_m2"`
}

// Loss is plan area whose water comes over no eave.
type Loss struct {
	PlanArea units.Area `json:"plan_area_m2"`
	Says     string     `json:"says"`
}

// Plan is what the outlines of a roof's slopes say together.
type Plan struct {
	Slopes   []PlanSlope `json:"slopes"`
	Lines    []Line      `json:"lines"`
	Runs     PlanRuns    `json:"runs"`
	PlanArea units.Area  `json:"plan_area_m2"`
	Area     *units.Area `json:"area_m2,omitempty"` // true, of all
	Drains   []Drain     `json:"drains"`            // one for each eave line
	// LostArea is the plan area that drains over no eave: the totals of the
	// drains and it add up to PlanArea. Losses names its larger parts.
	LostArea units.Area `json:"lost_plan_area_m2"`
	Losses   []Loss     `json:"losses,omitempty"`
	Warnings []Warning  `json:"warnings,omitempty"`
	Measure  []string   `json:"measure,omitempty"`
	Notes    []string   `json:"notes,omitempty"`
	Says     string     `json:"says"`
}

// ReadPlan lays the slopes' outlines together: true areas and lengths, lines
// that two slopes share, whether the planes meet there, and where the water
// goes. Its sentences are in feet; TakeOff writes them in the system asked for.
//
// A slope without an outline is left out and named under Measure. It refuses,
// by the field's name and the rule, an outline that cannot be one, and one
// whose eaves do not all face one way, for a plane falls one way only.
func ReadPlan(slopes []Slope) (Plan, error) { return readPlan(slopes, units.US) }

type vec struct{ x, y float64 }

func (a vec) add(b vec) vec       { return vec{a.x + b.x, a.y + b.y} }
func (a vec) sub(b vec) vec       { return vec{a.x - b.x, a.y - b.y} }
func (a vec) by(f float64) vec    { return vec{a.x * f, a.y * f} }
func (a vec) dot(b vec) float64   { return a.x*b.x + a.y*b.y }
func (a vec) cross(b vec) float64 { return a.x*b.y - a.y*b.x }
func (a vec) len() float64        { return math.Hypot(a.x, a.y) }
func (a vec) unit() vec           { return a.by(1 / a.len()) }
func (a vec) point() Point        { return Point{units.Length(a.x), units.Length(a.y)} }

// towards is the point at the share f of the way from a to b.
func (a vec) towards(b vec, f float64) vec { return a.add(b.sub(a).by(f)) }

// edge is a line of an outline, the slope on its left.
type edge struct {
	a, b   vec
	kind   string
	corner int
	out    vec // unit normal, away from the slope
	length float64
	spans  []span // whole of it, from a to b
	drain  int    // of an eave, its place among the drains
}

// span is the stretch of an edge, metres from its start, that is one piece.
type span struct {
	from, to float64
	piece    int
}

// face is a slope with an outline.
type face struct {
	slope  int
	name   string
	edges  []edge
	area   float64 // in plan
	pitch  float64 // rise over run, NaN not known
	facing float64 // degrees, NaN not known
	fall   vec     // unit, downhill; nought not known
	set    bool    // whether heights were set
	base   float64 // height of the plane over the origin
	slabs  []slab
}

func (f *face) knows() bool { return f.fall != vec{} }

// height of the plane at a point.
func (f *face) height(p vec) float64 { return f.base - f.pitch*f.fall.dot(p) }

// along is the true length of a line of the plane.
func (f *face) along(kind string, a, b vec) float64 {
	plan := b.sub(a).len()
	if kind == "eave" || (math.IsNaN(f.pitch) || !f.knows()) && (kind == "ridge" || kind == "headwall") {
		return plan
	}
	if !f.knows() {
		return math.NaN()
	}
	return math.Hypot(plan, f.pitch*f.fall.dot(b.sub(a)))
}

// piece is a line of the roof: an edge or a stretch of one, with the face on
// each side; the second side is -1 where there is none.
type piece struct {
	kind   string
	a, b   vec
	face   [2]int
	edge   [2]int
	length float64
	gap    float64 // NaN not known
	in     []float64
}

func (p *piece) alone() bool { return p.face[1] < 0 }

// plan is the work of ReadPlan.
type plan struct {
	Plan
	system units.System
	faces  []face
	pieces []piece
}

func readPlan(slopes []Slope, system units.System) (Plan, error) {
	p := plan{system: system}
	p.Slopes, p.Lines, p.Drains = []PlanSlope{}, []Line{}, []Drain{}
	for i, s := range slopes {
		field := fmt.Sprintf("slopes[%d]", i)
		if len(s.Outline) == 0 {
			p.Measure = append(p.Measure, field+".outline")
			continue
		}
		f, err := s.face(i, field)
		if err != nil {
			return Plan{}, err
		}
		p.faces = append(p.faces, f)
	}
	p.join()
	p.fillSpans()
	p.findFalls()
	p.setHeights()
	p.measure()
	p.drain()
	p.tell()
	return p.Plan, nil
}

func (s Slope) face(i int, field string) (face, error) {
	r := units.Reader{Field: field + "."}
	f := face{slope: i, name: s.Name}
	if f.name == "" {
		f.name = field
	}
	f.pitch = r.One(0, mostRise/12.0, units.Alternative{Field: "rise_in_12", Value: s.RiseIn12, Unit: 1.0 / 12})
	f.facing = r.One(0, 360, units.Alternative{Field: "facing_deg", Value: s.FacingDeg, Unit: 1})
	if r.Err != nil {
		return face{}, r.Err
	}
	if err := s.Outline.Validate(); err != nil {
		return face{}, fmt.Errorf("%s.%w", field, err)
	}
	n := len(s.Outline)
	at := func(k int) vec {
		c := s.Outline[k%n]
		return vec{float64(c.X), float64(c.Y)}
	}
	turn := 0.0
	for k := range n {
		turn += at(k).cross(at(k+1)) / 2
	}
	f.area = math.Abs(turn)
	for k := range n {
		e := edge{a: at(k), b: at(k + 1), kind: s.Outline[k].Edge, corner: k + 1, drain: -1}
		if turn < 0 {
			e.a, e.b = e.b, e.a
		}
		d := e.b.sub(e.a)
		e.length = d.len()
		e.out = vec{d.y, -d.x}.by(1 / e.length)
		f.edges = append(f.edges, e)
	}
	if turn < 0 {
		slices.Reverse(f.edges)
	}
	// Square to the eaves, else down from ridge or headwall, which are level.
	for _, level := range []struct {
		kind string
		sign float64
	}{{"eave", 1}, {"ridge", -1}, {"headwall", -1}} {
		var sum vec
		for _, e := range f.edges {
			if e.kind == level.kind {
				sum = sum.add(e.out.by(level.sign * e.length))
			}
		}
		if sum.len() < nearPlan {
			continue
		}
		fall, skew := sum.unit(), false
		for _, e := range f.edges {
			if e.kind != level.kind {
				continue
			}
			off := math.Abs(e.out.cross(fall))
			skew = skew || e.out.dot(fall)*level.sign <= 0 || off > skewSine && off*e.length > nearPlan
		}
		if skew && level.kind == "eave" {
			return face{}, fmt.Errorf("%s.outline: its eaves must all face one way, for a plane falls one way only", field)
		}
		if !skew {
			f.fall = fall
			break
		}
	}
	if !f.knows() && slices.ContainsFunc(f.edges, func(e edge) bool { return e.kind == "eave" }) {
		return face{}, fmt.Errorf("%s.outline: its eaves must all face one way, for a plane falls one way only", field)
	}
	return f, nil
}

// joins says whether a line of this kind has another slope on its other side.
func joins(kind string) bool {
	return kind == "ridge" || kind == "hip" || kind == "valley" || kind == "open"
}

// join finds the stretches that two slopes share.
func (p *plan) join() {
	for i := range p.faces {
		for j := i + 1; j < len(p.faces); j++ {
			for k := range p.faces[i].edges {
				for l := range p.faces[j].edges {
					p.joinEdges(i, k, j, l)
				}
			}
		}
	}
}

func (p *plan) joinEdges(i, k, j, l int) {
	e, g := &p.faces[i].edges[k], &p.faces[j].edges[l]
	if !joins(e.kind) || !joins(g.kind) || e.out.dot(g.out) >= 0 {
		return
	}
	d := e.b.sub(e.a).by(1 / e.length)
	// g runs against e: its end comes first along e
	first, last := g.b.sub(e.a).dot(d), g.a.sub(e.a).dot(d)
	from, to := math.Max(0, first), math.Min(e.length, last)
	if to-from < leastShare {
		return
	}
	on := func(t float64) vec { return g.b.towards(g.a, (t-first)/(last-first)) }
	if math.Abs(on(from).sub(e.a).cross(d)) > nearPlan || math.Abs(on(to).sub(e.a).cross(d)) > nearPlan {
		return
	}
	back := func(t float64) float64 { return g.length * (1 - (t-first)/(last-first)) }
	taken := func(spans []span, from, to float64) bool {
		return slices.ContainsFunc(spans, func(s span) bool { return math.Min(to, s.to)-math.Max(from, s.from) > nearPlan })
	}
	if taken(e.spans, from, to) || taken(g.spans, back(to), back(from)) {
		p.warn("three_on_a_line", fmt.Sprintf("%s and %s meet on a line that another slope is on already: look at the outlines.", p.faces[i].name, p.faces[j].name))
		return
	}
	e.spans = append(e.spans, span{from, to, len(p.pieces)})
	g.spans = append(g.spans, span{back(to), back(from), len(p.pieces)})
	a, b := e.a.add(d.by(from)).towards(on(from), 0.5), e.a.add(d.by(to)).towards(on(to), 0.5)
	p.pieces = append(p.pieces, piece{kind: e.kind, a: a, b: b, face: [2]int{i, j}, edge: [2]int{k, l}, gap: math.NaN()})
}

// fillSpans makes pieces of what no other slope shares, so that the spans of an
// edge cover it.
func (p *plan) fillSpans() {
	for i := range p.faces {
		for k := range p.faces[i].edges {
			e := &p.faces[i].edges[k]
			slices.SortFunc(e.spans, func(a, b span) int { return compare(a.from, b.from) })
			var whole []span
			at := 0.0
			lone := func(to float64) {
				if to-at < nearPlan && len(e.spans) > 0 {
					return
				}
				whole = append(whole, span{at, to, len(p.pieces)})
				f := func(t float64) vec { return e.a.towards(e.b, t/e.length) }
				p.pieces = append(p.pieces, piece{kind: e.kind, a: f(at), b: f(to), face: [2]int{i, -1}, edge: [2]int{k, -1}, gap: math.NaN()})
			}
			for _, s := range e.spans {
				lone(s.from)
				whole = append(whole, s)
				at = s.to
			}
			lone(e.length)
			for n := range whole {
				if n > 0 {
					whole[n].from = whole[n-1].to
				}
			}
			whole[0].from, whole[len(whole)-1].to = 0, e.length
			e.spans = whole
		}
	}
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

// findFalls settles the fall of slopes without eave, ridge or headwall: across
// an open line it is the neighbour's, else what they face gives it, on the
// drawing as the others' facing turns it.
func (p *plan) findFalls() {
	for changed := true; changed; {
		changed = false
		for _, q := range p.pieces {
			if q.alone() || q.kind != "open" {
				continue
			}
			f, g := &p.faces[q.face[0]], &p.faces[q.face[1]]
			if f.knows() != g.knows() {
				changed = true
				if f.knows() {
					g.fall = f.fall
				} else {
					f.fall = g.fall
				}
			}
		}
	}
	var turn vec
	for _, f := range p.faces {
		if f.knows() && !math.IsNaN(f.facing) {
			sin, cos := math.Sincos((f.facing - f.bearing()) * math.Pi / 180)
			turn = turn.add(vec{sin, cos})
		}
	}
	rotation, known := 0.0, turn.len() > 0.1
	if known {
		rotation = math.Atan2(turn.x, turn.y) * 180 / math.Pi
	}
	for i := range p.faces {
		f := &p.faces[i]
		switch {
		case f.knows() && known && !math.IsNaN(f.facing):
			if off := math.Abs(math.Remainder(f.facing-f.bearing()-rotation, 360)); off > 30 {
				p.warn("facing_off", fmt.Sprintf("%s is said to face %.0f°, which is %.0f° off what its outline and the other slopes say.", f.name, f.facing, off))
			}
		case f.knows():
		case math.IsNaN(f.facing):
			p.Measure = append(p.Measure, fmt.Sprintf("slopes[%d].facing_deg", f.slope))
		default:
			sin, cos := math.Sincos((f.facing - rotation) * math.Pi / 180)
			f.fall = vec{sin, cos}
			if !known {
				p.Notes = append(p.Notes, "The drawing is taken with north up, for want of a slope with both an eave and what it faces.")
			}
		}
	}
	for _, f := range p.faces {
		if math.IsNaN(f.pitch) {
			p.Measure = append(p.Measure, fmt.Sprintf("slopes[%d].rise_in_12", f.slope))
		}
	}
}

// bearing is where a slope falls to, in degrees clockwise from Y.
func (f *face) bearing() float64 {
	deg := math.Atan2(f.fall.x, f.fall.y) * 180 / math.Pi
	if deg < -1e-9 {
		deg += 360
	}
	return math.Abs(deg) // no negative nought
}

// setHeights sets the planes to meet at the lower ends of their shared lines,
// the longest line first, and looks how far they part elsewhere along each.
func (p *plan) setHeights() {
	group := make([]int, len(p.faces))
	for i := range group {
		group[i] = i
	}
	var shared []int
	for n, q := range p.pieces {
		if q.alone() {
			continue
		}
		p.judgeKind(&p.pieces[n])
		if !p.faces[q.face[0]].lies() || !p.faces[q.face[1]].lies() {
			continue
		}
		shared = append(shared, n)
	}
	slices.SortStableFunc(shared, func(a, b int) int {
		return compare(p.pieces[b].b.sub(p.pieces[b].a).len(), p.pieces[a].b.sub(p.pieces[a].a).len())
	})
	for _, n := range shared {
		q := &p.pieces[n]
		f, g := &p.faces[q.face[0]], &p.faces[q.face[1]]
		from, to := group[q.face[0]], group[q.face[1]]
		if from == to {
			continue
		}
		low := q.a
		if f.height(q.b)+g.height(q.b) < f.height(q.a)+g.height(q.a) {
			low = q.b
		}
		shift := f.height(low) - g.height(low)
		for i := range group {
			if group[i] == to {
				group[i] = from
				p.faces[i].base += shift
			}
		}
	}
	for _, n := range shared {
		q := &p.pieces[n]
		f, g := &p.faces[q.face[0]], &p.faces[q.face[1]]
		q.gap = math.Max(math.Abs(f.height(q.a)-g.height(q.a)), math.Abs(f.height(q.b)-g.height(q.b)))
		if q.gap > nearHeight {
			p.warn("planes_part", fmt.Sprintf("%s and %s do not meet along their %s: the planes come %s apart in height. Measure the pitches and the line's ends again.",
				f.name, g.name, q.kind, p.system.SmallLength(units.Length(q.gap))))
		}
	}
	// the lowest eave of each group is its nought
	lowest := map[int]float64{}
	eave := make([]float64, len(p.faces))
	for i := range p.faces {
		f := &p.faces[i]
		eave[i] = math.Inf(1)
		if !f.lies() {
			continue
		}
		for _, e := range f.edges {
			if e.kind == "eave" {
				eave[i] = math.Min(eave[i], math.Min(f.height(e.a), f.height(e.b)))
			}
		}
		if low, seen := lowest[group[i]]; !seen || eave[i] < low {
			lowest[group[i]] = eave[i]
		}
	}
	for i := range p.faces {
		f := &p.faces[i]
		low, seen := lowest[group[i]]
		if !f.lies() || !seen || math.IsInf(low, 0) {
			continue
		}
		f.base -= low
		f.set = !math.IsInf(eave[i], 0)
		if h := eave[i] - low; f.set && h > nearHeight {
			p.Notes = append(p.Notes, fmt.Sprintf("For the planes to meet, the eave of %s lies %s above the lowest; if it does not, a pitch or an outline is off.", f.name, p.system.Length(units.Length(h))))
		}
	}
}

// lies says whether the plane is known but for its height.
func (f *face) lies() bool { return f.knows() && !math.IsNaN(f.pitch) }

// judgeKind settles what a shared line is, and says so where it is named two
// ways or water runs otherwise than its name has it.
func (p *plan) judgeKind(q *piece) {
	f, g := &p.faces[q.face[0]], &p.faces[q.face[1]]
	e, h := &f.edges[q.edge[0]], &g.edges[q.edge[1]]
	switch {
	case e.kind == h.kind || h.kind == "open":
	case e.kind == "open":
		q.kind = h.kind
	default:
		p.warn("line_named_two_ways", fmt.Sprintf("The line between %s and %s is a %s on the one and a %s on the other.", f.name, g.name, e.kind, h.kind))
	}
	if !f.knows() || !g.knows() {
		return
	}
	// positive where the slope's water runs to the line
	to, from := f.fall.dot(e.out), g.fall.dot(h.out)
	is := ""
	switch {
	case to > skewSine && from > skewSine:
		is = "valley"
	case to < -skewSine && from < -skewSine:
		is = "hip"
	case to*from < -skewSine*skewSine:
		is = "open"
	}
	if is == "hip" && q.kind == "ridge" || is == "" {
		return
	}
	if is == q.kind {
		return
	}
	says := map[string]string{
		"valley": "water runs to it from both sides, as to a valley",
		"hip":    "water runs away from it on both sides, as from a hip",
		"open":   "water runs over it from the one slope onto the other",
	}[is]
	p.warn("line_misnamed", fmt.Sprintf("The %s between %s and %s: by their eaves %s.", q.kind, f.name, g.name, says))
}

func (p *plan) warn(key, says string) { p.Warnings = append(p.Warnings, Warning{key, says}) }

// measure adds up areas and lines.
func (p *plan) measure() {
	area := 0.0
	for i := range p.faces {
		f := &p.faces[i]
		f.cut()
		out := PlanSlope{Name: f.name, PlanArea: units.Area(f.area)}
		factor := SlopeFactor(units.Pitch(f.pitch))
		area += f.area * factor
		p.PlanArea += units.Area(f.area)
		if !math.IsNaN(f.pitch) {
			a := units.Area(f.area * factor)
			squares := a.In(units.Square)
			out.Area, out.Squares = &a, &squares
		}
		if f.knows() {
			b := f.bearing()
			out.Bearing = &b
			if !math.IsNaN(f.pitch) {
				r := units.Length(f.longest() * factor)
				out.Rafter = &r
			}
		}
		if f.set {
			low := math.Inf(1)
			for _, e := range f.edges {
				if e.kind == "eave" {
					low = math.Min(low, math.Min(f.height(e.a), f.height(e.b)))
				}
			}
			h := units.Length(math.Max(0, low))
			out.EaveHeight = &h
		}
		p.Slopes = append(p.Slopes, out)
	}
	if !math.IsNaN(area) && len(p.faces) > 0 {
		a := units.Area(area)
		p.Area = &a
	}
	sum := map[string]float64{}
	for n := range p.pieces {
		q := &p.pieces[n]
		f := &p.faces[q.face[0]]
		line := Line{Kind: q.kind, Slopes: []string{f.name}, From: q.a.point(), To: q.b.point(), Plan: units.Length(q.b.sub(q.a).len())}
		q.length = f.along(q.kind, q.a, q.b)
		if !q.alone() {
			g := &p.faces[q.face[1]]
			line.Slopes = append(line.Slopes, g.name)
			switch other := g.along(q.kind, q.a, q.b); {
			case math.IsNaN(q.length):
				q.length = other
			case !math.IsNaN(other):
				q.length = (q.length + other) / 2
			}
		}
		line.Length, line.Gap = lengthOf(q.length), lengthOf(q.gap)
		sum[q.kind] += q.length
		p.Lines = append(p.Lines, line)
		if q.alone() && (q.kind == "hip" || q.kind == "valley") {
			p.warn("line_alone", fmt.Sprintf("The %s of %s that begins at corner %d, or a stretch of it, has no slope on its other side: is an outline missing?", q.kind, f.name, f.edges[q.edge[0]].corner))
		}
	}
	if len(p.faces) > 0 {
		run := func(kind string) *units.Length { return lengthOf(sum[kind]) }
		p.Runs = PlanRuns{run("eave"), run("rake"), run("ridge"), run("hip"), run("valley"), run("wall"), run("headwall"), run("open")}
	}
}

// lengthOf is nil for what is not known.
func lengthOf(v float64) *units.Length {
	if math.IsNaN(v) {
		return nil
	}
	l := units.Length(v)
	return &l
}

// tell writes what was found in one sentence or two.
func (p *plan) tell() {
	if len(p.faces) == 0 {
		p.Says = "No slope has an outline."
		return
	}
	p.Says = fmt.Sprintf("%d slopes over %s in plan", len(p.faces), p.system.Area(p.PlanArea))
	if len(p.faces) == 1 {
		p.Says = "One slope over " + p.system.Area(p.PlanArea) + " in plan"
	}
	if p.Area != nil {
		p.Says += ", " + p.system.RoofArea(*p.Area) + " along the roof"
	}
	var runs []string
	for _, r := range []struct {
		name   string
		length *units.Length
	}{{"eave", p.Runs.Eave}, {"rake", p.Runs.Rake}, {"ridge", p.Runs.Ridge}, {"hip", p.Runs.Hip}, {"valley", p.Runs.Valley}, {"wall", p.Runs.Wall}, {"headwall", p.Runs.Headwall}} {
		if r.length != nil && *r.length > 0 {
			runs = append(runs, p.system.Length(*r.length)+" of "+r.name)
		}
	}
	if len(runs) > 0 {
		p.Says += ": " + strings.Join(runs, ", ")
	}
	p.Says += "."
	pours := 0
	for _, d := range p.Drains {
		pours += len(d.Pours)
	}
	switch {
	case pours == 1:
		p.Says += " Valley water comes over an eave at one point."
	case pours > 1:
		p.Says += fmt.Sprintf(" Valley water comes over the eaves at %d points.", pours)
	}
	if p.LostArea > leastLoss {
		p.Says += " The water of " + p.system.Area(p.LostArea) + " comes over no eave."
	}
}
