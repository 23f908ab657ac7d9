package portfolio

import (
	"math"

	"overhang/analytics/takeoff"
	"overhang/analytics/units"
	"overhang/models"
)

// apart is how far the outlines of one building are moved from those of the
// next, for buildings do not share axes.
const apart = 100 * units.Metre

// StandingSlopes are the slopes of a roof that are still there. Where they are on
// several buildings, their outlines are moved so that those of two never meet,
// and they are named with their building.
func StandingSlopes(f *models.RoofFile) []models.Slope {
	var out []models.Slope
	place := map[int64]units.Length{}
	for _, s := range f.Slopes {
		if !s.EndedOn.IsZero() {
			continue
		}
		by, known := place[s.StructureID]
		if !known {
			by = units.Length(len(place)) * apart
			place[s.StructureID] = by
		}
		if by != 0 && s.Outline != nil {
			moved := make(units.Outline, len(s.Outline))
			for i, c := range s.Outline {
				c.X += by
				moved[i] = c
			}
			s.Outline = moved
		}
		out = append(out, s)
	}
	if len(place) > 1 {
		for i := range out {
			if on := structureOf(f, out[i].StructureID); on != nil {
				out[i].Name = on.Name + ", " + out[i].Name
			}
		}
	}
	return out
}

// TakeOff is the input of figuring what a roof takes, from its slopes and
// details. Membrane is how far it is to reach up the slope at the eaves, nil
// where that is not known. It is false where no slope's area is known.
func TakeOff(f *models.RoofFile, b *models.Branch, membrane *units.Length) (takeoff.Input, bool) {
	in := takeoff.Input{Units: b.Units, Code: b.BuildingCode, HighWind: b.HighWind}
	if c := f.Covering; c != nil {
		in.Covering = takeoff.Covering{BundlesPerSquare: c.BundlesPerSquare, ShinglesPerBundle: c.ShinglesPerBundle, NailsPerShingle: c.NailsPerShingle}
		in.Covering.Format = format(c)
	}
	names := map[int64]string{}
	measured := false
	for _, s := range StandingSlopes(f) {
		slope := takeoff.Slope{Name: s.Name, FacingDeg: s.Facing}
		if s.Pitch != nil {
			slope.RiseIn12 = new(s.Pitch.In12())
		}
		switch {
		case s.Outline != nil:
			slope.Outline = s.Outline
			measured = true
		case s.Area != nil && s.Pitch != nil:
			slope.PlanAreaM2 = new(s.Area.In(units.SquareMetre) / takeoff.SlopeFactor(*s.Pitch))
			measured = true
		case s.Eave != nil && s.Rafter != nil && *s.Eave > 0 && *s.Rafter > 0:
			slope.LengthM, slope.RafterM = new(s.Eave.In(units.Metre)), new(s.Rafter.In(units.Metre))
			measured = true
		default:
			continue
		}
		names[s.ID] = s.Name
		in.Slopes = append(in.Slopes, slope)
	}
	if membrane != nil {
		in.EaveMembraneM = new(membrane.In(units.Metre))
	}
	in.Valley = valleyKind(f)
	saddle := has(f, "saddle")
	in.Penetrations = []takeoff.Penetration{}
	for _, d := range f.Details {
		if !d.EndedOn.IsZero() || (d.Kind != "chimney" && d.Kind != "skylight") {
			continue
		}
		p := takeoff.Penetration{Kind: d.Kind, Name: d.Name, MeetsRidge: d.MeetsRidge != nil && *d.MeetsRidge}
		if d.SlopeID != nil {
			p.Slope = names[*d.SlopeID]
		}
		if d.Width != nil && *d.Width > 0 {
			p.WidthMm = new(d.Width.In(units.Millimetre))
		}
		if d.Kind == "chimney" {
			p.Saddle = saddle
		}
		in.Penetrations = append(in.Penetrations, p)
	}
	return in, measured
}

// format is the format of a covering, by its family or, for strips and laminated
// shingles, by how many of them make a square; empty where that is not known.
func format(c *models.Covering) string {
	switch c.Family {
	case "asphalt_interlocking":
		return "interlocking"
	case "asphalt_strip", "asphalt_laminated", "asphalt_organic":
	default:
		return ""
	}
	if c.BundlesPerSquare == nil || c.ShinglesPerBundle == nil {
		return ""
	}
	count := *c.BundlesPerSquare * *c.ShinglesPerBundle
	for _, f := range takeoff.Formats() {
		if f.ShinglesPerSquare > 0 && math.Abs(count-f.ShinglesPerSquare) <= 0.03*f.ShinglesPerSquare {
			return f.Key
		}
	}
	return "other"
}

// valleyKind is how the roof's valleys are laid, where all that are known are
// laid alike.
func valleyKind(f *models.RoofFile) string {
	kind := ""
	for _, d := range f.Details {
		if d.Kind != "valley" || !d.EndedOn.IsZero() || d.Form == "" {
			continue
		}
		made := map[string]string{"open_metal": "open_metal", "closed_cut": "closed", "woven": "woven"}[d.Form]
		if kind != "" && made != kind {
			return ""
		}
		kind = made
	}
	return kind
}

// has says whether a roof has a detail of a kind, by what is written down of it;
// nil where nothing is.
func has(f *models.RoofFile, kind string) *bool {
	var there *bool
	for _, d := range f.Details {
		if d.Kind == kind && d.EndedOn.IsZero() {
			if d.Form == "missing" {
				if there == nil {
					there = new(false)
				}
				continue
			}
			there = new(true)
		}
	}
	return there
}
