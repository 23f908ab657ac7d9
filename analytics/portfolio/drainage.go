package portfolio

import (
	"math"

	"overhang/analytics/drainage"
	"overhang/analytics/takeoff"
	"overhang/analytics/units"
	"overhang/models"
)

// Drainage is the input of the check of one run of gutter. Its water is what
// the outlines say comes over its slope's eaves, or, without outlines, what the
// slope's own area gives; plan may be nil. It is false where the run's slope is
// not known.
func Drainage(f *models.RoofFile, g *models.GutterRun, plan *takeoff.Plan, b *models.Branch, today units.Date) (drainage.Input, bool) {
	slopes := StandingSlopes(f)
	at := -1
	for i := range slopes {
		if g.SlopeID != nil && slopes[i].ID == *g.SlopeID {
			at = i
		}
	}
	if at < 0 {
		return drainage.Input{}, false
	}
	s := &slopes[at]
	in := drainage.Input{RainMmH: b.DesignRain, Units: b.Units, Gutter: drainage.Gutter{Kind: drainage.Kind(g.Kind), Material: g.Material, BlockedShare: g.Blocked}}
	if in.Gutter.BlockedShare != nil {
		in.Gutter.BlockedShare = new(min(*g.Blocked, 0.9))
	}
	if s.Pitch != nil && s.Pitch.In12() >= 0.25 {
		in.RiseIn12 = new(s.Pitch.In12())
	}
	if s.Rafter != nil && *s.Rafter > 0 {
		in.RafterM = new(s.Rafter.In(units.Metre))
	}
	switch {
	case plan != nil && s.Outline != nil:
		fromPlan(&in, plan, s.Name)
	case s.Area != nil && s.Pitch != nil:
		in.PlanAreaM2 = new(s.Area.In(units.SquareMetre) / slopeFactor(float64(*s.Pitch)))
	}
	if g.Length != nil && *g.Length > 0 {
		in.LengthM = new(g.Length.In(units.Metre))
	} else if s.Eave != nil && *s.Eave > 0 {
		in.LengthM = new(s.Eave.In(units.Metre))
	}
	in.Valleys = within(in.Valleys, in.LengthM)
	if g.Width != nil {
		in.Gutter.WidthMm = new(g.Width.In(units.Millimetre))
	}
	if g.Depth != nil {
		in.Gutter.DepthMm = new(g.Depth.In(units.Millimetre))
	}
	in.Gutter.FallRatio = g.Fall
	if g.Guards != nil && !*g.Guards {
		in.Gutter.Guard = "none"
	}
	if g.Downspouts != nil && *g.Downspouts > 0 {
		in.Outlets = &drainage.Outlets{Count: g.Downspouts}
		switch *g.Downspouts {
		case 2:
			in.Outlets = &drainage.Outlets{Ends: "both"}
		}
	}
	if g.DownspoutArea != nil {
		// A rectangle two by three, as such downspouts are made.
		side := math.Sqrt(g.DownspoutArea.In(units.SquareMillimetre) / 6)
		in.Downspout = &drainage.Downspout{Kind: "rectangular", WidthMm: new(3 * side), DepthMm: new(2 * side)}
	}
	if g.LipReach != nil {
		in.Lip.ReachMm = new(g.LipReach.In(units.Millimetre))
	}
	if g.LipDrop != nil {
		in.Lip.DropMm = new(g.LipDrop.In(units.Millimetre))
	}
	least, most := ages(f.Roof.Laid, today)
	in.RoofAgeYears = new((least + most) / 2)
	return in, true
}

// fromPlan takes the water of a slope's eaves from the outlines. Where the eave
// is in two pieces, with a gable between them, say, the run is taken along both,
// end to end.
func fromPlan(in *drainage.Input, plan *takeoff.Plan, name string) {
	sheet := 0.0
	along := 0.0
	in.Valleys = []drainage.Valley{}
	for _, d := range plan.Drains {
		if d.Name != name {
			continue
		}
		sheet += d.Sheet.In(units.SquareMetre)
		for _, p := range d.Pours {
			in.Valleys = append(in.Valleys, drainage.Valley{AtM: new(along + p.At.In(units.Metre)), PlanAreaM2: new(p.PlanArea.In(units.SquareMetre))})
		}
		along += d.Length.In(units.Metre)
	}
	if sheet > 0 {
		in.PlanAreaM2 = &sheet
	}
	for _, s := range plan.Slopes {
		if s.Name == name && s.Rafter != nil && in.RafterM == nil {
			in.RafterM = new(s.Rafter.In(units.Metre))
		}
	}
}

// within keeps the places of valleys on a run that was measured a little shorter
// than the eave that was drawn.
func within(list []drainage.Valley, length *float64) []drainage.Valley {
	if length == nil {
		return list
	}
	for i := range list {
		if list[i].AtM != nil && *list[i].AtM > *length {
			list[i].AtM = new(*length)
		}
	}
	return list
}
