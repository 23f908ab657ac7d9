package takeoff

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"overhang/analytics/units"
)

// mostSteps bounds how often water is followed over open lines.
const mostSteps = 32

// slab is a strip of a slope along its fall in which no corner lies. Across it
// the lines that bound the slope, below and above, are straight; so what drains
// over each is exact.
type slab struct {
	from, to float64 // across the fall
	pairs    [][2]int
}

// across and up are a point's place across the fall and against it.
func (f *face) across(p vec) float64 { return f.fall.cross(p) }
func (f *face) up(p vec) float64     { return -f.fall.dot(p) }

// at is the point of an edge's line that lies s across the fall.
func (f *face) at(e int, s float64) vec {
	g := &f.edges[e]
	from, to := f.across(g.a), f.across(g.b)
	return g.a.towards(g.b, math.Max(0, math.Min(1, (s-from)/(to-from))))
}

// cut makes the slabs.
func (f *face) cut() {
	if !f.knows() {
		return
	}
	var at []float64
	for _, e := range f.edges {
		at = append(at, f.across(e.a))
	}
	slices.Sort(at)
	for i := 1; i < len(at); i++ {
		from, to := at[i-1], at[i]
		if to-from < 1e-9 {
			continue
		}
		middle := (from + to) / 2
		var crossing []int
		for k, e := range f.edges {
			a, b := f.across(e.a), f.across(e.b)
			if math.Min(a, b) < middle && middle < math.Max(a, b) {
				crossing = append(crossing, k)
			}
		}
		slices.SortFunc(crossing, func(a, b int) int {
			return compare(f.up(f.at(a, middle)), f.up(f.at(b, middle)))
		})
		s := slab{from: from, to: to}
		for k := 0; k+1 < len(crossing); k += 2 {
			s.pairs = append(s.pairs, [2]int{crossing[k], crossing[k+1]})
		}
		f.slabs = append(f.slabs, s)
	}
}

// longest is the longest way down the slope, in plan.
func (f *face) longest() float64 {
	most := 0.0
	for _, s := range f.slabs {
		for _, pair := range s.pairs {
			for _, at := range []float64{s.from, s.to} {
				most = math.Max(most, f.up(f.at(pair[1], at))-f.up(f.at(pair[0], at)))
			}
		}
	}
	return most
}

// inside says whether a point lies in the outline.
func (f *face) inside(p vec) bool {
	in := false
	for _, e := range f.edges {
		if (e.a.y > p.y) != (e.b.y > p.y) && p.x < e.a.x+(p.y-e.a.y)/(e.b.y-e.a.y)*(e.b.x-e.a.x) {
			in = !in
		}
	}
	return in
}

// ribbon is water that crosses a line from a to b. The plan area it comes from
// rises evenly from first to last for the whole length of the line, so that it
// is their mean.
type ribbon struct {
	a, b        vec
	first, last float64
	of          int // face it fell on
}

func (r ribbon) area() float64 { return (r.first + r.last) / 2 }

// part is what crosses between two shares of the line.
func (r ribbon) part(from, to float64) ribbon {
	at := func(f float64) float64 { return (r.first + (r.last-r.first)*f) * (to - from) }
	return ribbon{r.a.towards(r.b, from), r.a.towards(r.b, to), at(from), at(to), r.of}
}

// drain follows the water of every slope to the eaves.
func (p *plan) drain() {
	for i := range p.faces {
		f := &p.faces[i]
		for k := range f.edges {
			e := &f.edges[k]
			if e.kind != "eave" {
				continue
			}
			e.drain = len(p.Drains)
			p.Drains = append(p.Drains, Drain{Slope: f.slope, Name: f.name, Corner: e.corner, Length: units.Length(e.length), Left: e.a.point(), Right: e.b.point()})
		}
	}
	for i := range p.faces {
		f := &p.faces[i]
		if !f.knows() {
			p.lose(f.area, "where "+f.name+" falls to is not known")
			continue
		}
		for _, s := range f.slabs {
			for _, pair := range s.pairs {
				a, b := f.at(pair[0], s.from), f.at(pair[0], s.to)
				wide := s.to - s.from
				first, last := f.up(f.at(pair[1], s.from))-f.up(a), f.up(f.at(pair[1], s.to))-f.up(b)
				p.cross(i, pair[0], ribbon{a, b, first * wide, last * wide, i}, 0)
			}
		}
	}
	p.runValleys()
	for i := range p.Drains {
		d := &p.Drains[i]
		d.Total = d.Sheet
		sort.SliceStable(d.Pours, func(a, b int) bool { return d.Pours[a].At < d.Pours[b].At })
		for _, q := range d.Pours {
			d.Total += q.PlanArea
		}
	}
}

func (p *plan) lose(area float64, why string) {
	p.LostArea += units.Area(area)
	i := slices.IndexFunc(p.Losses, func(l Loss) bool { return l.Says == why })
	switch {
	case i >= 0:
		p.Losses[i].PlanArea += units.Area(area)
	case area > leastLoss:
		p.Losses = append(p.Losses, Loss{units.Area(area), why})
	}
}

// ways that water takes at a line.
const (
	overEave = iota
	runsAlong
	ontoNext
	goesOff
)

// way says what water of a face does at a piece of its bottom line.
func (p *plan) way(i, k, n int) int {
	q, e := &p.pieces[n], &p.faces[i].edges[k]
	if q.alone() {
		switch e.kind {
		case "eave":
			return overEave
		case "valley", "wall", "headwall":
			return runsAlong
		}
		return goesOff
	}
	g := &p.faces[q.other(i)]
	if !g.knows() {
		return goesOff
	}
	if g.fall.dot(e.out) > flatSine {
		return ontoNext
	}
	return runsAlong
}

func (q *piece) other(i int) int {
	if q.face[0] == i {
		return q.face[1]
	}
	return q.face[0]
}

// cross brings water over the bottom line of a face.
func (p *plan) cross(i, k int, r ribbon, steps int) {
	e := &p.faces[i].edges[k]
	d := e.b.sub(e.a).by(1 / e.length)
	from, to := r.a.sub(e.a).dot(d), r.b.sub(e.a).dot(d)
	for n, s := range e.spans {
		low, high := s.from, s.to
		if n == 0 {
			low = math.Inf(-1)
		}
		if n == len(e.spans)-1 {
			high = math.Inf(1)
		}
		// shares of the ribbon that fall on this span
		x, y := (low-from)/(to-from), (high-from)/(to-from)
		if x > y {
			x, y = y, x
		}
		if math.IsNaN(x) || math.IsNaN(y) { // a ribbon without length
			x, y = 0, 1
		}
		if x, y = math.Max(0, x), math.Min(1, y); y <= x {
			continue
		}
		part := r.part(x, y)
		q := &p.pieces[s.piece]
		switch p.way(i, k, s.piece) {
		case overEave:
			p.Drains[e.drain].Sheet += units.Area(part.area())
		case runsAlong:
			if q.in == nil {
				q.in = make([]float64, len(p.faces))
			}
			q.in[r.of] += part.area()
		case ontoNext:
			p.enter(q, i, part, steps+1)
		default:
			p.lose(part.area(), p.offLine(i, k, q))
		}
	}
}

func (p *plan) offLine(i, k int, q *piece) string {
	f := &p.faces[i]
	if !q.alone() {
		return "where " + p.faces[q.other(i)].name + " falls to is not known"
	}
	return fmt.Sprintf("off the %s of %s at corner %d", f.edges[k].kind, f.name, f.edges[k].corner)
}

// enter leads water that has come over a shared line down the next slope.
func (p *plan) enter(q *piece, i int, r ribbon, steps int) {
	j := q.other(i)
	g := &p.faces[j]
	if steps > mostSteps {
		p.lose(r.area(), "round in a circle at "+g.name)
		return
	}
	top := q.edge[0]
	if q.face[1] == j {
		top = q.edge[1]
	}
	from, to := g.across(r.a), g.across(r.b)
	led := 0.0
	for n, s := range g.slabs {
		low, high := s.from, s.to
		if n == 0 {
			low = math.Inf(-1)
		}
		if n == len(g.slabs)-1 {
			high = math.Inf(1)
		}
		x, y := (low-from)/(to-from), (high-from)/(to-from)
		if x > y {
			x, y = y, x
		}
		if x, y = math.Max(0, x), math.Min(1, y); !(y > x) {
			continue
		}
		// under the line it came over, or else the nearest below
		bottom, best := -1, math.Inf(1)
		middle := r.a.towards(r.b, (x+y)/2)
		for _, pair := range s.pairs {
			if pair[1] == top {
				bottom = pair[0]
				break
			}
			at := math.Max(s.from, math.Min(s.to, g.across(middle)))
			if off := math.Abs(g.up(g.at(pair[1], at)) - g.up(middle)); off < best {
				bottom, best = pair[0], off
			}
		}
		if bottom < 0 {
			continue
		}
		part := r.part(x, y)
		led += part.area()
		part.a, part.b = g.at(bottom, g.across(part.a)), g.at(bottom, g.across(part.b))
		p.cross(j, bottom, part, steps)
	}
	if lost := r.area() - led; math.Abs(lost) > 1e-9*r.area() {
		p.lose(lost, "onto "+g.name+" and no further")
	}
}

// share is a part of the water of a valley and where it goes: over an eave at a
// point, on to another valley, or away.
type share struct {
	of    float64
	drain int // -1 none
	at    vec
	piece int // -1 none
	lost  string
}

// runValleys sends the water that valleys and walls have gathered to where it
// ends, each valley once all that runs into it have been sent on.
func (p *plan) runValleys() {
	routes := map[int][]share{}
	feeders := map[int]int{}
	var order []int // of first sight, so that results do not depend on the map
	see := func(n int) {
		if _, seen := routes[n]; !seen {
			routes[n] = nil
			order = append(order, n)
		}
	}
	for n := range p.pieces {
		if p.pieces[n].in != nil {
			see(n)
		}
	}
	for i := 0; i < len(order); i++ {
		route := p.route(order[i])
		routes[order[i]] = route
		for _, s := range route {
			if s.piece >= 0 {
				feeders[s.piece]++
				see(s.piece)
			}
		}
	}
	var ready []int
	for _, n := range order {
		if feeders[n] == 0 {
			ready = append(ready, n)
		}
	}
	sent := map[int]bool{}
	for i := 0; i < len(ready); i++ {
		n := ready[i]
		sent[n] = true
		for _, s := range routes[n] {
			p.send(n, s)
			if s.piece >= 0 {
				if feeders[s.piece]--; feeders[s.piece] == 0 {
					ready = append(ready, s.piece)
				}
			}
		}
	}
	for _, n := range order {
		if !sent[n] {
			p.lose(total(p.pieces[n].in), "round in a circle at "+p.lineName(n))
		}
	}
}

// send brings one share of a valley's water to where it goes.
func (p *plan) send(n int, s share) {
	in := p.pieces[n].in
	switch {
	case s.drain >= 0:
		p.pour(s, in, s.of)
	case s.piece >= 0:
		next := &p.pieces[s.piece]
		if next.in == nil {
			next.in = make([]float64, len(p.faces))
		}
		for i, a := range in {
			next.in[i] += a * s.of
		}
	default:
		p.lose(total(in)*s.of, s.lost)
	}
}

func total(of []float64) float64 {
	sum := 0.0
	for _, a := range of {
		sum += a
	}
	return sum
}

func (p *plan) pour(s share, in []float64, of float64) {
	d := &p.Drains[s.drain]
	left := vec{float64(d.Left.X), float64(d.Left.Y)}
	right := vec{float64(d.Right.X), float64(d.Right.Y)}
	at := units.Length(math.Max(0, math.Min(float64(d.Length), s.at.sub(left).dot(right.sub(left).unit()))))
	i := slices.IndexFunc(d.Pours, func(q Pour) bool { return math.Abs(float64(q.At-at)) < leastShare })
	if i < 0 {
		i = len(d.Pours)
		d.Pours = append(d.Pours, Pour{At: at, Point: left.towards(right, float64(at/d.Length)).point()})
	}
	q := &d.Pours[i]
	for k, a := range in {
		q.PlanArea += units.Area(a * of)
		if name := p.faces[k].name; a*of > 1e-6 && !slices.Contains(q.Slopes, name) {
			q.Slopes = append(q.Slopes, name)
		}
	}
}

func (p *plan) lineName(n int) string {
	q := &p.pieces[n]
	f := &p.faces[q.face[0]]
	if q.alone() {
		return fmt.Sprintf("the %s of %s at corner %d", q.kind, f.name, f.edges[q.edge[0]].corner)
	}
	return fmt.Sprintf("the %s between %s and %s", q.kind, f.name, p.faces[q.face[1]].name)
}

// lower is the end to which water runs along a piece; false where it has no fall.
func (p *plan) lower(n int) (vec, bool) {
	q := &p.pieces[n]
	d := q.b.sub(q.a).unit()
	fall, most := 0.0, 0.0
	for _, i := range q.face {
		if i < 0 || !p.faces[i].knows() {
			continue
		}
		steep := p.faces[i].pitch
		if math.IsNaN(steep) {
			steep = 1
		}
		fall += steep * p.faces[i].fall.dot(d)
		most += steep
	}
	switch {
	case !(math.Abs(fall) > flatSine*most):
		return vec{}, false
	case fall > 0:
		return q.b, true
	}
	return q.a, true
}

// takes says whether water runs along a piece.
func (p *plan) takes(n int) bool {
	q := &p.pieces[n]
	for side, i := range q.face {
		if i >= 0 && p.faces[i].knows() && p.faces[i].fall.dot(p.faces[i].edges[q.edge[side]].out) > flatSine && p.way(i, q.edge[side], n) == runsAlong {
			return true
		}
	}
	return false
}

// route says where the water of a valley goes. At its lower end it runs into
// the next valley, or down a slope it stands on, or over the eaves that end
// there, in equal parts.
func (p *plan) route(n int) []share {
	q := &p.pieces[n]
	dead := func(why string) []share {
		p.warn("dead_valley", sentence(p.lineName(n))+" "+why+": water and snow stay there. Who lays it must give it fall; look from the ground, and leave the remedy to a licensed roofer and the local code.")
		return []share{{of: 1, drain: -1, piece: -1, lost: "into " + p.lineName(n) + ", which " + why}}
	}
	end, falls := p.lower(n)
	if !falls {
		return dead("has no fall along it")
	}
	var out []share
	for m := range p.pieces {
		if m == n || distance(end, p.pieces[m].a, p.pieces[m].b) > nearPlan || !p.takes(m) {
			continue
		}
		if low, ok := p.lower(m); !ok || low.sub(end).len() > nearPlan {
			out = append(out, share{drain: -1, piece: m})
		}
	}
	beside := func(i int) bool { return i == q.face[0] || i == q.face[1] }
	for _, near := range []bool{true, false} {
		if len(out) > 0 {
			break
		}
		for i := range p.faces {
			if beside(i) == near {
				out = append(out, p.down(i, end, 0)...)
			}
		}
		if len(out) > 0 {
			break
		}
		for i := range p.faces {
			if beside(i) != near {
				continue
			}
			for _, e := range p.faces[i].edges {
				if e.drain >= 0 && distance(end, e.a, e.b) <= nearPlan {
					out = append(out, share{drain: e.drain, at: end, piece: -1})
				}
			}
		}
	}
	if len(out) == 0 {
		return dead("ends where its water has nowhere to go")
	}
	for i := range out {
		out[i].of = 1 / float64(len(out))
	}
	return out
}

// down follows a stream from a point down a slope, if the slope goes on below it.
func (p *plan) down(i int, from vec, steps int) []share {
	f := &p.faces[i]
	if !f.knows() {
		return nil
	}
	// a little down the fall, and to a side, for a stream along a line
	const step, aside = 0.10, 0.04
	side := vec{-f.fall.y, f.fall.x}.by(aside)
	below := from.add(f.fall.by(step))
	for _, at := range []vec{below, below.add(side), below.sub(side)} {
		if !f.inside(at) {
			continue
		}
		s := f.across(at)
		for _, b := range f.slabs {
			if s < b.from || s > b.to {
				continue
			}
			for _, pair := range b.pairs {
				if f.up(f.at(pair[0], s)) <= f.up(at) && f.up(at) <= f.up(f.at(pair[1], s)) {
					return p.land(i, pair[0], f.at(pair[0], f.across(from)), steps)
				}
			}
		}
	}
	return nil
}

// land says where a stream goes that comes to a point of a slope's bottom line.
func (p *plan) land(i, k int, at vec, steps int) []share {
	e := &p.faces[i].edges[k]
	t := at.sub(e.a).dot(e.b.sub(e.a)) / e.length
	n := e.spans[len(e.spans)-1].piece
	for _, s := range e.spans {
		if t <= s.to {
			n = s.piece
			break
		}
	}
	q := &p.pieces[n]
	switch p.way(i, k, n) {
	case overEave:
		return []share{{drain: e.drain, at: at, piece: -1}}
	case runsAlong:
		return []share{{drain: -1, piece: n}}
	case ontoNext:
		if steps < mostSteps {
			if next := p.down(q.other(i), at, steps+1); next != nil {
				return next
			}
		}
	}
	return []share{{drain: -1, piece: -1, lost: p.offLine(i, k, q)}}
}

// distance of a point from a stretch of line.
func distance(p, a, b vec) float64 {
	d := b.sub(a)
	t := math.Max(0, math.Min(1, p.sub(a).dot(d)/d.dot(d)))
	return p.sub(a.add(d.by(t))).len()
}

// sentence gives words a capital.
func sentence(s string) string { return string(s[0]-'a'+'A') + s[1:] }
