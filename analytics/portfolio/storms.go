package portfolio

import (
	"slices"

	"overhang/analytics/geo"
	"overhang/analytics/storms"
	"overhang/analytics/units"
	"overhang/models"
)

// hailCoverings say how the families of the catalogue take hail. Tile may be
// clay or concrete; clay bears less and is taken.
var hailCoverings = map[string]storms.Covering{
	"asphalt_strip": storms.LightAsphalt, "asphalt_organic": storms.LightAsphalt, "asphalt_laminated": storms.HeavyAsphalt,
	"asphalt_interlocking": storms.Interlocking, "wood_shake": storms.MediumShake, "metal": storms.Metal, "tile": storms.ClayTile,
	"slate": storms.Slate, "low_slope_membrane": storms.OtherCovering,
}

// Storm is a storm and the roofs with a known position that it may have
// crossed.
func Storm(files []models.RoofFile, s *models.Storm) storms.Input {
	in := storms.Input{Storm: storms.Storm{ID: id(s.ID), On: s.On, Kind: storms.Kind(s.Kind), HalfWidth: s.HalfWidth}}
	var shape []geo.Point
	for _, p := range s.Shape {
		shape = append(shape, geo.Point{Lat: p.Lat, Lon: p.Lon})
	}
	if s.Closed {
		in.Storm.Area = &geo.Polygon{Rings: [][]geo.Point{shape}}
		in.Storm.HalfWidth = 0
	} else {
		in.Storm.Track = shape
	}
	if s.HailSize != nil {
		in.Storm.HailMM = s.HailSize.In(units.Millimetre)
	}
	if s.Gust != nil {
		in.Storm.GustMPerS = *s.Gust
	}
	for i := range files {
		f := &files[i]
		at, known := point(&f.House)
		if !known {
			continue
		}
		r := storms.Roof{ID: id(f.Roof.ID), At: at, Laid: f.Roof.Laid, EndedOn: f.Roof.EndedOn}
		if f.Covering != nil {
			r.Covering = hailCoverings[f.Covering.Family]
		}
		in.Roofs = append(in.Roofs, r)
	}
	return in
}

// Crossed gives, by a roof's number, the days of the storms that crossed it and
// that such a covering does not shrug off.
func Crossed(files []models.RoofFile, list []models.Storm) (map[int64][]units.Date, error) {
	out := map[int64][]units.Date{}
	for i := range list {
		r, err := storms.Crossed(Storm(files, &list[i]))
		if err != nil {
			return nil, wrap("finding the roofs that the storm "+list[i].Name+" crossed", err)
		}
		for _, c := range r.Crossings {
			if c.Look != storms.LookLater {
				out[ID(c.ID)] = append(out[ID(c.ID)], list[i].On)
			}
		}
	}
	for _, days := range out {
		slices.Sort(days)
	}
	return out, nil
}

// crossedBy gives the roofs, by their number, that lie in a storm's path.
func crossedBy(files []models.RoofFile, s *models.Storm) (map[string]bool, error) {
	r, err := storms.Crossed(Storm(files, s))
	if err != nil {
		return nil, wrap("finding the roofs along the line of "+s.Name, err)
	}
	out := map[string]bool{}
	for _, c := range r.Crossings {
		out[c.ID] = true
	}
	return out, nil
}
