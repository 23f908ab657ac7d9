package portfolio

import (
	"overhang/analytics/attic"
	"overhang/analytics/units"
	"overhang/analytics/venting"
	"overhang/models"
)

// Attic is the input of an attic's heat, air and winter under one of its
// slopes, by the branch's climate. It is false where no climate is chosen, and
// for a cathedral ceiling, which has no attic.
func Attic(f *models.RoofFile, space *models.Attic, slope *models.Slope, check *venting.Result, b *models.Branch) (attic.Input, bool) {
	if b.ClimateStation == "" || (space.Cathedral != nil && *space.Cathedral) {
		return attic.Input{}, false
	}
	in := attic.Input{Station: b.ClimateStation, Units: b.Units, CeilingLeaks: space.AirLeaks, RetarderClass: space.Retarder,
		InsulationRSI: space.Insulation, Shade: shade(f.Roof.Colour)}
	area := space.CeilingArea
	if area == nil {
		area = space.VentedArea
	}
	if area != nil {
		in.CeilingAreaM2 = new(area.In(units.SquareMetre))
	}
	if check != nil && len(check.Openings) > 0 {
		in.IntakeCm2, in.IntakeMostCm2 = bounds(check.Low)
		in.ExhaustCm2, in.ExhaustMostCm2 = bounds(check.High)
	}
	if slope != nil {
		if slope.Pitch != nil {
			in.RiseIn12 = new(slope.Pitch.In12())
		}
		in.FacingDeg = slope.Facing
		// From the eave's vents to the ridge's, what the slope rises.
		if slope.Rafter != nil && slope.Pitch != nil && *slope.Rafter > 0 && *slope.Pitch > 0 {
			p := float64(*slope.Pitch)
			in.VentHeightM = new(slope.Rafter.In(units.Metre) * p / slopeFactor(p))
		}
	}
	return in, true
}

// bounds gives a vent area as its least and, where the two differ, its most.
func bounds(v venting.Bounds) (least, most *float64) {
	least = new(v.Least.In(units.SquareCentimetre))
	if v.Most != nil && *v.Most > v.Least {
		most = new(v.Most.In(units.SquareCentimetre))
	}
	if v.Most == nil { // nothing is known to bound it: the attic's own range holds
		return nil, nil
	}
	return least, most
}

// largestSlope is the largest of the slopes above an attic, or of all where none
// is said to be; nil where there is none.
func largestSlope(f *models.RoofFile, space *models.Attic) *models.Slope {
	var out *models.Slope
	largest := units.Area(-1)
	for pass := range 2 {
		for i := range f.Slopes {
			s := &f.Slopes[i]
			if !s.EndedOn.IsZero() || s.Area == nil || *s.Area <= largest {
				continue
			}
			if pass == 1 || (s.AtticID != nil && *s.AtticID == space.ID) {
				out, largest = s, *s.Area
			}
		}
		if out != nil {
			break
		}
	}
	return out
}
