package portfolio

import (
	"overhang/analytics/takeoff"
	"overhang/analytics/units"
	"overhang/models"
)

// TakeOff is the input of figuring what a roof takes, from its slopes. It is
// false where no slope's area is known.
func TakeOff(f *models.RoofFile, b *models.Branch) (takeoff.Input, bool) {
	in := takeoff.Input{Units: b.Units}
	if c := f.Covering; c != nil {
		in.Covering = takeoff.Covering{BundlesPerSquare: c.BundlesPerSquare, ShinglesPerBundle: c.ShinglesPerBundle, NailsPerShingle: c.NailsPerShingle}
		if c.Family == "asphalt_interlocking" {
			in.Covering.Format = "interlocking"
		}
	}
	for _, s := range f.Slopes {
		if s.Area == nil || s.Pitch == nil || !s.EndedOn.IsZero() {
			continue
		}
		rise := s.Pitch.In12()
		plan := s.Area.In(units.SquareMetre) / takeoff.SlopeFactor(*s.Pitch)
		in.Slopes = append(in.Slopes, takeoff.Slope{Name: s.Name, RiseIn12: &rise, PlanAreaM2: &plan})
		if s.Eave != nil && *s.Eave > 0 {
			eave := s.Eave.In(units.Metre)
			in.Runs = append(in.Runs, takeoff.Run{Kind: "eave", Name: s.Name, LengthM: &eave})
		}
	}
	return in, len(in.Slopes) > 0
}
