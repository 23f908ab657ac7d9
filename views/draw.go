package views

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/units"
)

// LineDrawing is a drawing to scale. It holds lines alone; what they mean stands in
// the key beside it, so that words never run into one another.
type LineDrawing struct {
	SVG     template.HTML
	Caption Phrase
	Key     []LineKey
}

// LineKey says what one kind of line of a sketch is. Mark is the class of its
// sample, or the number that stands on the drawing.
type LineKey struct {
	Mark   string
	Number int
	Words  Phrase
}

// drawn gathers the lines of a sketch. Lengths are metres; Y points up. The
// drawing's own units are a thousandth of its width.
type drawn struct {
	b             strings.Builder
	scale         float64
	left, top     float64 // of the drawing, in metres
	width, height float64
}

// newDrawn begins a sketch of what lies from left to right and bottom to top.
func newDrawn(left, right, bottom, top float64) *drawn {
	const margin = 0.02
	w, h := max(right-left, 0.1), max(top-bottom, 0.05)
	d := &drawn{scale: 1000 / (w * (1 + 2*margin)), left: left - margin*w, top: top + margin*w}
	d.width, d.height = 1000, (h+2*margin*w)*d.scale
	return d
}

func (d *drawn) at(x, y float64) string {
	return strconv.FormatFloat((x-d.left)*d.scale, 'f', 1, 64) + "," + strconv.FormatFloat((d.top-y)*d.scale, 'f', 1, 64)
}

// xy is a place on the drawing, in metres.
type xy struct{ x, y float64 }

func (d *drawn) path(class string, closed bool, points ...xy) {
	if len(points) < 2 {
		return
	}
	d.b.WriteString(`<path class="` + class + `" d="M`)
	for i, p := range points {
		if i > 0 {
			d.b.WriteString(" L")
		}
		d.b.WriteString(d.at(p.x, p.y))
	}
	if closed {
		d.b.WriteString(" Z")
	}
	d.b.WriteString(`"/>`)
}

// number writes a number in a ring.
func (d *drawn) number(n int, p xy) {
	at := strings.Split(d.at(p.x, p.y), ",")
	fmt.Fprintf(&d.b, `<circle class="s-ring" cx="%s" cy="%s" r="20"/><text class="s-number" x="%s" y="%s" dy="9">%d</text>`, at[0], at[1], at[0], at[1], n)
}

// dot marks a place.
func (d *drawn) dot(class string, p xy) {
	at := strings.Split(d.at(p.x, p.y), ",")
	fmt.Fprintf(&d.b, `<circle class="%s" cx="%s" cy="%s" r="9"/>`, class, at[0], at[1])
}

// svg closes the sketch. It is named by its caption, which stands beside it.
func (d *drawn) svg() template.HTML {
	// Only numbers and our own class names were written.
	return template.HTML(fmt.Sprintf(`<svg class="lines" viewBox="0 0 %s %s" aria-hidden="true" focusable="false">%s</svg>`,
		strconv.FormatFloat(d.width, 'f', 1, 64), strconv.FormatFloat(d.height, 'f', 1, 64), d.b.String()))
}

// EaveCut is a section through an eave. What is nil was not measured and is
// left out.
type EaveCut struct {
	Pitch       units.Pitch
	Overhang    *units.Length // level, edge to the wall's outer face
	Wall        *units.Length
	Cover       Phrase        // what lies at the eave
	Reach, Need *units.Length // along the slope from the edge
	ClearSpace  *units.Length
	GutterKind  string
	GutterWidth *units.Length
	GutterDepth *units.Length
	LipReach    *units.Length // from the edge out to the front lip
	LipDrop     *units.Length // of the lip below the edge
	SheetSpeed  *float64      // m/s at the edge in the design rain
	Units       units.System
}

// usualWall is drawn for a wall that nobody measured: studs of 5½ in with board
// and siding.
const usualWall = 7 * units.Inch

// LineDrawing draws the section, with the roof's edge where the rain leaves it.
func (e EaveCut) Draw() LineDrawing {
	p := min(max(float64(e.Pitch), 0), 3)
	s := LineDrawing{Caption: Say("sketch.eave")}
	key := func(mark string, words Phrase) { s.Key = append(s.Key, LineKey{Mark: mark, Words: words}) }
	long := math.Hypot(1, p)
	level := func(along *units.Length) float64 { return float64(*along) / long }
	small := func(l *units.Length) string { return e.Units.SmallLength(*l) }

	right := 1.2
	wall := usualWall
	if e.Wall != nil {
		wall = *e.Wall
	}
	if e.Overhang != nil {
		right = max(right, float64(*e.Overhang+wall)+0.5)
	}
	for _, l := range []*units.Length{e.Reach, e.Need} {
		if l != nil {
			right = max(right, level(l)+0.15)
		}
	}
	right = min(right, 4)
	out := 0.12
	if e.LipReach != nil {
		out = max(out, float64(*e.LipReach)+0.08)
	}
	out = min(out, 0.6)
	depth := 0.09
	if e.GutterDepth != nil {
		depth = float64(*e.GutterDepth)
	}
	bottom := -0.55
	if e.LipDrop != nil {
		bottom = min(bottom, -float64(*e.LipDrop)-depth-0.1)
	}
	bottom = max(min(bottom, -out*p-0.05), -2.5)
	d := newDrawn(-out, right, bottom, right*p+0.12)
	end := right

	// The house below the roof.
	const deck, fascia = 0.03, 0.14
	if e.Overhang != nil {
		face := float64(*e.Overhang)
		inner := face + float64(wall)
		head := func(x float64) float64 { return x*p - deck }
		d.path("s-wall", true, xy{face, bottom}, xy{inner, bottom}, xy{inner, head(inner)}, xy{face, head(face)})
		key("s-wall", Say("sketch.wall", "overhang", small(e.Overhang)))
		heel := face*p - 0.1
		if inner < end {
			clear := 0.03
			if e.ClearSpace != nil {
				clear = min(float64(*e.ClearSpace), 0.3)
			}
			var top []xy
			for i := range 13 {
				x := inner + (end-inner)*float64(i)/12
				top = append(top, xy{x, max(heel, min(heel+0.3, x*p-deck-clear))})
			}
			slices.Reverse(top)
			d.path("s-insulation", true, append([]xy{{inner, heel}, {end, heel}}, top...)...)
			if e.ClearSpace != nil {
				key("s-insulation", Say("sketch.insulation", "clear", small(e.ClearSpace)))
			} else {
				key("s-insulation", Say("sketch.insulation.unknown"))
			}
		}
		soffit := -deck - fascia
		if face > 0.03 {
			d.path("s-thin", false, xy{0.01, soffit}, xy{face, soffit})
		}
	}
	d.path("s-thin", false, xy{0.01, -deck}, xy{0.01, -deck - fascia})
	d.path("s-thin", false, xy{0.01, -deck}, xy{end, end*p - deck})
	d.path("s-roof", false, xy{0, 0}, xy{end, end * p})

	// Protection, drawn beside the roof's line.
	beside := func(by float64, along *units.Length) (xy, xy) {
		x := min(level(along), end)
		nx, ny := -p/long*by, 1/long*by
		return xy{nx, ny}, xy{x + nx, x*p + ny}
	}
	if e.Reach != nil && *e.Reach > 0 {
		a, b := beside(0.025, e.Reach)
		d.path("s-there", false, a, b)
		key("s-there", Say("sketch.there", "cover", e.Cover, "reach", small(e.Reach)))
	}
	if e.Need != nil && *e.Need > 0 {
		a, b := beside(0.055, e.Need)
		d.path("s-need", false, a, b)
		key("s-need", Say("sketch.need", "reach", small(e.Need)))
	}

	// The gutter, the line of sliding snow, and the rain.
	snow := min(out, -bottom/max(p, 0.01))
	d.path("s-snow", false, xy{0, 0}, xy{-snow, -snow * p})
	key("s-snow", Say("sketch.snow"))
	if e.LipReach != nil && e.LipDrop != nil {
		e.gutter(d, depth)
		key("s-gutter", Say("sketch.gutter", "reach", small(e.LipReach), "drop", small(e.LipDrop)))
	}
	if e.SheetSpeed != nil && *e.SheetSpeed > 0 && !math.IsInf(*e.SheetSpeed, 0) {
		vx, vy := *e.SheetSpeed/long, *e.SheetSpeed*p/long
		rain := []xy{{0, 0}}
		for t := 0.02; len(rain) < 60; t += 0.01 {
			x, y := -vx*t, -vy*t-4.903325*t*t // standard gravity halved
			if x < -out || y < bottom {
				break
			}
			// What passes inside the lip ends on the gutter's floor.
			if e.LipReach != nil && e.LipDrop != nil && x > -float64(*e.LipReach) && y < -float64(*e.LipDrop)-depth {
				break
			}
			rain = append(rain, xy{x, y})
		}
		d.path("s-rain", false, rain...)
		if len(rain) > 1 {
			key("s-rain", Say("sketch.rain"))
		}
	}
	s.SVG = d.svg()
	return s
}

func (e EaveCut) gutter(d *drawn, depth float64) {
	lip := xy{-float64(*e.LipReach), -float64(*e.LipDrop)}
	width := float64(*e.LipReach)
	if e.GutterWidth != nil {
		width = min(float64(*e.GutterWidth), float64(*e.LipReach)+0.01)
	}
	width = max(width, 0.02)
	back := xy{lip.x + width, lip.y}
	floor := lip.y - depth
	switch e.GutterKind {
	case "half_round":
		var arc []xy
		for i := range 17 {
			a := math.Pi * float64(i) / 16
			arc = append(arc, xy{lip.x + width/2 - width/2*math.Cos(a), lip.y - min(depth, width/2)*math.Sin(a)})
		}
		d.path("s-gutter", false, arc...)
	case "k_style":
		d.path("s-gutter", false, lip, xy{lip.x + 0.35*width, floor}, xy{back.x, floor}, back)
	default:
		d.path("s-gutter", false, lip, xy{lip.x, floor}, xy{back.x, floor}, back)
	}
}

// PlanView is the plan of a roof's slopes.
type PlanView struct {
	Slopes []PlanViewSlope
	Pours  []PlanViewPoint // where valleys pour over an eave
	Units  units.System
}

// PlanViewPoint is a place on the axes of the outlines.
type PlanViewPoint struct{ X, Y units.Length }

// PlanViewSlope is one slope of a plan. Facing is in degrees clockwise from north.
type PlanViewSlope struct {
	Name    string
	Outline units.Outline // empty was not drawn
	Pitch   *units.Pitch
	Facing  *float64
	Area    *units.Area // along the slope
	Gutter  bool
}

// LineDrawing draws the plan; nil where no slope has an outline.
func (p PlanView) Draw() *LineDrawing {
	left, right, bottom, top := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	missing := 0
	for _, s := range p.Slopes {
		if len(s.Outline) == 0 {
			missing++
		}
		for _, c := range s.Outline {
			left, right = min(left, float64(c.X)), max(right, float64(c.X))
			bottom, top = min(bottom, float64(c.Y)), max(top, float64(c.Y))
		}
	}
	if left > right {
		return nil
	}
	size := max(right-left, top-bottom)
	d := newDrawn(left-0.04*size, right+0.16*size, bottom-0.1*size, top+0.04*size)
	s := &LineDrawing{Caption: Say("sketch.plan")}
	used := map[string]bool{}
	for _, slope := range p.Slopes {
		if len(slope.Outline) == 0 {
			continue
		}
		corners := make([]xy, len(slope.Outline))
		for i, c := range slope.Outline {
			corners[i] = xy{float64(c.X), float64(c.Y)}
		}
		d.path("s-slope", true, corners...)
	}
	north := math.NaN()
	n := 0
	for _, slope := range p.Slopes {
		if len(slope.Outline) == 0 {
			continue
		}
		n++
		var fall xy // towards the eave
		for i, c := range slope.Outline {
			next := slope.Outline[(i+1)%len(slope.Outline)]
			a, b := xy{float64(c.X), float64(c.Y)}, xy{float64(next.X), float64(next.Y)}
			d.path("s-edge s-"+c.Edge, false, a, b)
			used[c.Edge] = true
			if c.Edge == "eave" {
				fall = outward(slope.Outline, a, b)
				if slope.Gutter {
					by := 0.012 * size
					d.path("s-gutter", false, xy{a.x + fall.x*by, a.y + fall.y*by}, xy{b.x + fall.x*by, b.y + fall.y*by})
					used["gutter"] = true
				}
			}
		}
		middle := centre(slope.Outline)
		d.number(n, middle)
		if fall != (xy{}) {
			from, to := 0.045*size, 0.085*size
			tip := xy{middle.x + fall.x*to, middle.y + fall.y*to}
			d.path("s-fall", false, xy{middle.x + fall.x*from, middle.y + fall.y*from}, tip)
			side, back := 0.011*size, 0.02*size
			d.path("s-fall", false, xy{tip.x - fall.x*back - fall.y*side, tip.y - fall.y*back + fall.x*side}, tip,
				xy{tip.x - fall.x*back + fall.y*side, tip.y - fall.y*back - fall.x*side})
			if slope.Facing != nil && math.IsNaN(north) {
				// Where the slope looks on the drawing, clockwise from its top,
				// less where it looks on the ground.
				north = math.Atan2(fall.x, fall.y) - *slope.Facing*math.Pi/180
			}
		}
		s.Key = append(s.Key, LineKey{Number: n, Words: slope.words(p.Units)})
	}
	for _, pour := range p.Pours {
		d.dot("s-pour", xy{float64(pour.X), float64(pour.Y)})
		used["pour"] = true
	}
	// A bar of a round length that fits the drawing, and north.
	bar, said := scaleBar(right-left, p.Units)
	foot := bottom - 0.07*size
	d.path("s-bar", false, xy{left, foot + 0.015*size}, xy{left, foot}, xy{left + bar, foot}, xy{left + bar, foot + 0.015*size})
	s.Key = append(s.Key, LineKey{Mark: "s-bar", Words: Say("sketch.bar", "length", said)})
	if !math.IsNaN(north) {
		at, r := xy{right + 0.1*size, top - 0.04*size}, 0.045*size
		sin, cos := math.Sincos(north)
		tip := xy{at.x + r*sin, at.y + r*cos}
		d.path("s-north", false, xy{at.x - r*sin, at.y - r*cos}, tip)
		d.path("s-north", true, tip, xy{at.x + 0.35*r*cos, at.y - 0.35*r*sin}, xy{at.x - 0.35*r*cos, at.y + 0.35*r*sin})
		s.Key = append(s.Key, LineKey{Mark: "s-north", Words: Say("sketch.north")})
	}
	for _, edge := range units.Edges {
		if used[edge] && edge != "open" {
			s.Key = append(s.Key, LineKey{Mark: "s-edge s-" + edge, Words: Term("edge", edge)})
		}
	}
	if used["gutter"] {
		s.Key = append(s.Key, LineKey{Mark: "s-gutter", Words: Say("sketch.plan.gutter")})
	}
	if used["pour"] {
		s.Key = append(s.Key, LineKey{Mark: "s-pour", Words: Say("sketch.pour")})
	}
	if missing > 0 {
		s.Key = append(s.Key, LineKey{Words: Say("sketch.missing", "count", missing)})
	}
	s.SVG = d.svg()
	return s
}

func (s PlanViewSlope) words(in units.System) Phrase {
	switch {
	case s.Pitch != nil && s.Area != nil:
		return Say("sketch.slope", "name", s.Name, "pitch", s.Pitch.String(), "area", in.RoofArea(*s.Area))
	case s.Pitch != nil:
		return Say("sketch.slope.pitch", "name", s.Name, "pitch", s.Pitch.String())
	}
	return Plain(s.Name)
}

// outward is the direction out of an outline, square to the line from a to b.
func outward(o units.Outline, a, b xy) xy {
	turn := 0.0
	for i, c := range o {
		n := o[(i+1)%len(o)]
		turn += float64(c.X)*float64(n.Y) - float64(n.X)*float64(c.Y)
	}
	long := math.Hypot(b.x-a.x, b.y-a.y)
	if long == 0 {
		return xy{}
	}
	out := xy{(b.y - a.y) / long, -(b.x - a.x) / long}
	if turn < 0 {
		return xy{-out.x, -out.y}
	}
	return out
}

// centre is a place inside an outline, near its middle: the middle of the
// longest stretch inside along the level line through its centroid's height.
func centre(o units.Outline) xy {
	var area, cy float64
	low, high := math.Inf(1), math.Inf(-1)
	for i, c := range o {
		n := o[(i+1)%len(o)]
		cross := float64(c.X)*float64(n.Y) - float64(n.X)*float64(c.Y)
		area += cross
		cy += (float64(c.Y) + float64(n.Y)) * cross
		low, high = min(low, float64(c.Y)), max(high, float64(c.Y))
	}
	y := (low + high) / 2
	if area != 0 {
		y = min(max(cy/(3*area), low), high)
	}
	var crossings []float64
	for i, c := range o {
		n := o[(i+1)%len(o)]
		y1, y2 := float64(c.Y), float64(n.Y)
		if (y1 <= y) != (y2 <= y) {
			crossings = append(crossings, float64(c.X)+(y-y1)/(y2-y1)*float64(n.X-c.X))
		}
	}
	slices.Sort(crossings)
	at, widest := float64(o[0].X), -1.0
	for i := 0; i+1 < len(crossings); i += 2 {
		if w := crossings[i+1] - crossings[i]; w > widest {
			at, widest = (crossings[i]+crossings[i+1])/2, w
		}
	}
	return xy{at, y}
}

// scaleBar is a round length of about a fifth of a drawing.
func scaleBar(size float64, in units.System) (metres float64, said string) {
	unit := units.Foot
	if in == units.Metric {
		unit = units.Metre
	}
	for _, n := range []float64{100, 50, 20, 10, 5, 2, 1} {
		if l := units.Length(n) * unit; float64(l) <= size/4 || n == 1 {
			return float64(l), in.Length(l)
		}
	}
	return 0, ""
}

// VentBars is intake against exhaust of one attic. Most is nil where nothing
// bounds it.
type VentBars struct {
	IntakeLeast, ExhaustLeast units.Area
	IntakeMost, ExhaustMost   *units.Area
	Blocked                   units.Area  // of intake
	Asked                     *units.Area // in all
	HighFrom, HighTo          *units.Area // what the high vents are to hold
	LowFrom                   *units.Area
	Units                     units.System
}

// LineDrawing draws the two as bars to one scale.
func (v VentBars) Draw() LineDrawing {
	s := LineDrawing{Caption: Say("sketch.vents")}
	area := func(a units.Area) string { return v.Units.VentArea(a) }
	full := max(float64(v.IntakeLeast+v.Blocked), float64(v.ExhaustLeast))
	for _, a := range []*units.Area{v.IntakeMost, v.ExhaustMost, v.HighTo, v.LowFrom, v.Asked} {
		if a != nil && !math.IsInf(float64(*a), 0) {
			full = max(full, float64(*a))
		}
	}
	if full <= 0 {
		full = 1
	}
	// Areas are drawn as lengths: the longest bar is a metre.
	d := newDrawn(0, 1, -0.02, 0.34)
	x := func(a units.Area) float64 { return min(max(float64(a)/full, 0), 1) }
	bar := func(y float64, least units.Area, most *units.Area) {
		box := func(class string, a, b float64) {
			if b > a {
				d.path(class, true, xy{a, y}, xy{b, y}, xy{b, y + 0.09}, xy{a, y + 0.09})
			}
		}
		box("s-bar-there", 0, x(least))
		if most != nil {
			box("s-bar-may", x(least), x(*most))
		} else {
			box("s-bar-may", x(least), 1)
		}
	}
	bar(0.2, v.IntakeLeast, v.IntakeMost)
	bar(0.02, v.ExhaustLeast, v.ExhaustMost)
	if v.Blocked > 0 {
		from := x(v.IntakeLeast)
		to := min(1, from+float64(v.Blocked)/full)
		d.path("s-bar-blocked", true, xy{from, 0.2}, xy{to, 0.2}, xy{to, 0.29}, xy{from, 0.29})
	}
	if v.LowFrom != nil && *v.LowFrom > 0 {
		d.path("s-mark", false, xy{x(*v.LowFrom), 0.18}, xy{x(*v.LowFrom), 0.31})
	}
	if v.HighFrom != nil && v.HighTo != nil && *v.HighTo > *v.HighFrom {
		d.path("s-band", true, xy{x(*v.HighFrom), 0}, xy{x(*v.HighTo), 0}, xy{x(*v.HighTo), 0.13}, xy{x(*v.HighFrom), 0.13})
	}
	d.path("s-thin", false, xy{0, 0}, xy{0, 0.32})
	span := func(least units.Area, most *units.Area) Phrase {
		switch {
		case most == nil:
			return Say("sketch.atleast", "least", area(least))
		case *most > least*1.0001:
			return Say("sketch.between", "least", area(least), "most", area(*most))
		}
		return Plain(area(least))
	}
	add := func(mark string, words Phrase) { s.Key = append(s.Key, LineKey{Mark: mark, Words: words}) }
	add("s-bar-there", Say("sketch.intake", "area", span(v.IntakeLeast, v.IntakeMost)))
	add("s-bar-there", Say("sketch.exhaust", "area", span(v.ExhaustLeast, v.ExhaustMost)))
	if v.Blocked > 0 {
		add("s-bar-blocked", Say("sketch.blocked", "area", area(v.Blocked)))
	}
	if v.LowFrom != nil && *v.LowFrom > 0 {
		add("s-mark", Say("sketch.lowfrom", "area", area(*v.LowFrom)))
	}
	if v.HighFrom != nil && v.HighTo != nil && *v.HighTo > *v.HighFrom {
		add("s-band", Say("sketch.highband", "from", area(*v.HighFrom), "to", area(*v.HighTo)))
	}
	s.SVG = d.svg()
	return s
}
