package portfolio

import (
	"overhang/analytics/details"
	"overhang/analytics/units"
	"overhang/models"
)

// Details is the input of the check of a roof's details, its eaves and its drip
// edge among them.
func Details(f *models.RoofFile, b *models.Branch) details.Input {
	in := details.Input{Edition: b.BuildingCode, WallCladding: f.House.Cladding, Units: b.Units, Details: []details.Detail{}}
	if f.Covering != nil {
		in.Covering = f.Covering.Family
	}
	pitch := map[int64]*float64{}
	for _, s := range StandingSlopes(f) {
		if s.Pitch != nil {
			pitch[s.ID] = new(s.Pitch.In12())
			if in.RiseIn12 == nil || *pitch[s.ID] < *in.RiseIn12 {
				in.RiseIn12 = pitch[s.ID]
			}
		}
		if s.EaveCover == "poly" {
			in.Details = append(in.Details, details.Detail{Kind: "eave_cover", Name: "Eave of " + s.Name, Form: s.EaveCover, RiseIn12: pitch[s.ID]})
		}
	}
	saddle := has(f, "saddle")
	for _, d := range f.Details {
		if !d.EndedOn.IsZero() || d.Kind == "saddle" {
			continue
		}
		out := details.Detail{Kind: d.Kind, Name: d.Name, Form: d.Form, LapShare: d.Lap, LowerEdgeOnTop: d.LowerEdgeOut, MeetsRidge: d.MeetsRidge, Drains: d.Drains}
		if d.SlopeID != nil {
			out.RiseIn12 = pitch[*d.SlopeID]
		}
		if d.Width != nil && *d.Width > 0 {
			out.WidthMm = new(d.Width.In(units.Millimetre))
		}
		switch d.Kind {
		case "chimney", "dead_valley":
			out.Saddle = saddle
			if d.Kind == "dead_valley" {
				out.Form = "" // how its lining is laid is not judged
			}
			if d.Kind == "chimney" && saddle != nil && out.MeetsRidge == nil {
				out.MeetsRidge = new(false) // somebody looked for a saddle above it
			}
		case "valley":
			if d.Form == "open_metal" {
				out.Lining = "metal"
			}
		}
		in.Details = append(in.Details, out)
	}
	return in
}
