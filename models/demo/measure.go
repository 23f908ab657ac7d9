package demo

import (
	"math"

	"overhang/analytics/units"
)

// measure writes down what our people measured while they were on the roof:
// outlines, what lies at the eaves, the attic's edge, the gutters' place. Not
// everything was measured everywhere.
func (m *maker) measure(d *dice, o *ourHouse) {
	l := &m.lots[o.lot]
	d.turn(forHouse, 1<<29+o.lot)
	inches := func(v float64) *units.Length { return new(units.Length(v) * units.Inch) }

	// Studs of 5½ in between board and cladding: from memory.
	main := &m.c.Structures[o.main.id-1]
	main.Heated = new(true)
	if d.chance(.7) {
		main.Wall = inches(6.5)
		if l.stucco {
			main.Wall = inches(7.5)
		}
	}
	m.measureSlopes(d, o.main, o.shape)
	if o.shed != nil {
		m.c.Structures[o.shed.id-1].Heated = new(false)
		m.measureSlopes(d, o.shed, *o.shed.shape)
	}

	for i := range m.c.Attics {
		a := &m.c.Attics[len(m.c.Attics)-1-i]
		if a.StructureID != o.main.id {
			break
		}
		blocked := false
		for j := len(m.c.Vents) - 1; j >= 0 && m.c.Vents[j].AtticID >= a.ID; j-- {
			v := &m.c.Vents[j]
			blocked = blocked || (v.Blocked != nil && *v.Blocked > 0)
			if v.Kind == "ridge" { // as makers of ridge vents ask, from memory
				v.PitchFrom, v.PitchTo, v.LeastRun = new(units.PitchIn12(3)), new(units.PitchIn12(12)), new(10*units.Foot)
			}
		}
		if a.Insulation != nil && l.built < 1992 && d.chance(.3) { // never added to since it was built
			a.Insulation = new(round(d.span(1.7, 2.7), 1))
		}
		switch {
		case blocked:
			a.ClearSpace, a.Baffles = inches(round(d.span(0, .8), 1)), new(false)
		case d.chance(.75):
			a.ClearSpace, a.Baffles = inches(round(d.span(1, 3), 1)), new(d.chance(.8))
		}
	}

	for i := len(m.c.Gutters) - 1; i >= 0 && m.c.Gutters[i].StructureID == o.main.id; i-- {
		g := &m.c.Gutters[i]
		g.Material = "aluminium"
		wide := *g.Width > 5.5*units.Inch
		g.Depth, g.DownspoutArea = inches(3.5), new(6*units.SquareInch)
		if wide {
			g.Depth, g.DownspoutArea = inches(4.5), new(12*units.SquareInch)
		}
		if d.chance(.2) {
			g.DownspoutArea = new(12 * units.SquareInch)
		}
		g.Fall = new([]float64{0, 1. / 192, 1. / 96}[d.weighted(25, 60, 15)]) // level, 1/16 and 1/8 in a foot
		// The lip a little below the line of the roof, where sliding snow clears
		// it; in one of five it stands in the snow's way.
		out := g.Width.In(units.Inch) - round(d.span(.5, 1), 2)
		g.LipReach, g.LipDrop = inches(out), inches(round(out*o.shape.pitch/12+d.span(.15, .7), 2))
		if d.chance(.2) {
			g.LipDrop = inches(round(d.span(.25, .75), 2))
		}
		if d.chance(.1) { // hung too low and too close
			g.LipReach, g.LipDrop = inches(round(d.span(2, 3), 2)), inches(round(d.span(3.5, 6), 2))
		}
		if d.chance(.25) {
			g.LipReach, g.LipDrop = nil, nil
		}
		if d.chance(.6) {
			g.Blocked = new([]float64{0, .1, .3}[d.weighted(60, 30, 10)])
		}
	}

	for i := len(m.c.Details) - 1; i >= 0 && m.c.Details[i].StructureID == o.main.id; i-- {
		x := &m.c.Details[i]
		switch {
		case x.Kind == "penetration" && x.Lap != nil:
			x.LowerEdgeOut = new(!d.chance(.05))
		case x.Kind == "chimney":
			x.MeetsRidge = new(false)
		}
	}
}

// measureSlopes writes the outlines of a building's slopes and what lies at
// their eaves.
func (m *maker) measureSlopes(d *dice, b *building, s shape) {
	outlines := s.outlines()
	drawn := d.chance(.8)
	cover := []string{"membrane", "felt", "poly", ""}[d.weighted(84, 6, 3, 7)]
	// Courses of 36 in that lap by 3 in.
	courses := float64(1 + d.weighted(25, 65, 10))
	for i := range b.slopes {
		x := &m.c.Slopes[int(b.first)-1+i]
		if drawn {
			x.Outline = outlines[i]
			if s.form != "hip" {
				x.Rafter = new(units.Length(round((s.depth+s.overhang/6)/2*math.Hypot(1, s.pitch/12), 1)) * units.Foot)
			}
			if s.form == "cross" && i > 1 {
				x.Rafter = new(units.Length(round((s.front+s.overhang/6)/2*math.Hypot(1, s.pitch/12), 1)) * units.Foot)
			}
		}
		x.EaveCover = cover
		if cover == "membrane" {
			x.EaveReach = new(units.Length(36+33*(courses-1)) * units.Inch)
		}
	}
}

// outlines are the slopes of a shape in plan, in the order of planes, with the
// front at the foot of the drawing. What planes calls right is right for who
// looks out of the house, and so left on the drawing.
func (p shape) outlines() []units.Outline {
	w, dp := p.width+p.overhang/6, p.depth+p.overhang/6
	feet := func(corners ...any) units.Outline {
		var out units.Outline
		for i := 0; i < len(corners); i += 3 {
			at := func(v any) units.Length {
				return units.Length(math.Round(v.(float64)*304.8) / 1000)
			}
			out = append(out, units.Corner{X: at(corners[i]), Y: at(corners[i+1]), Edge: corners[i+2].(string)})
		}
		return out
	}
	switch p.form {
	case "hip":
		e := dp / 2
		return []units.Outline{
			feet(0., 0., "eave", w, 0., "hip", w-e, e, "ridge", e, e, "hip"),
			feet(w, dp, "eave", 0., dp, "hip", e, e, "ridge", w-e, e, "hip"),
			feet(0., dp, "eave", 0., 0., "hip", e, e, "hip"),
			feet(w, 0., "eave", w, dp, "hip", w-e, e, "hip")}
	case "cross":
		c := p.front + p.overhang/6
		left, middle, right := (w-c)/2, w/2, (w+c)/2
		return []units.Outline{
			feet(0., 0., "eave", left, 0., "valley", middle, c/2, "valley", right, 0., "eave", w, 0., "rake", w, dp/2, "ridge", 0., dp/2, "rake"),
			feet(w, dp, "eave", 0., dp, "rake", 0., dp/2, "ridge", w, dp/2, "rake"),
			feet(left, 0., "eave", left, -across, "rake", middle, -across, "ridge", middle, c/2, "valley"),
			feet(right, -across, "eave", right, 0., "valley", middle, c/2, "ridge", middle, -across, "rake")}
	}
	return []units.Outline{
		feet(0., 0., "eave", w, 0., "rake", w, dp/2, "ridge", 0., dp/2, "rake"),
		feet(w, dp, "eave", 0., dp, "rake", 0., dp/2, "ridge", w, dp/2, "rake")}
}
