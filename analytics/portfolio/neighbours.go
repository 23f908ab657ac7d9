package portfolio

import (
	"overhang/analytics/geo"
	"overhang/analytics/neighbours"
	"overhang/analytics/units"
	"overhang/models"
)

// Neighbours is the input of ranking the houses around our roofs. Need gives the
// chance that a house's covering is worn out within the horizon, or nil where
// nothing is known of it.
func Neighbours(houses []models.Neighbour, need func(*models.Neighbour) *float64, b *models.Branch, limit int, today units.Date) neighbours.Input {
	in := neighbours.Input{Today: today, Settings: neighbours.Settings{Radius: b.NeighbourRadius, Limit: limit}}
	for i := range houses {
		h := &houses[i]
		building := neighbours.Building{Builder: h.Builder, Plan: h.Plan, Neighbourhood: h.Neighbourhood, Cladding: h.Cladding}
		if h.BuildYear != nil {
			building.BuildYear = *h.BuildYear
		}
		if h.Storeys != nil {
			building.Storeys = *h.Storeys
		}
		at := geo.Point{Lat: h.Lat, Lon: h.Lon}
		year := 0
		if !h.LaidOn.IsZero() {
			year = h.LaidOn.Year()
		}
		if h.Ours {
			roof := neighbours.Roof{ID: id(*h.RoofID), HouseID: id(h.HouseID), At: at, Building: building, Covering: h.Family, LaidYear: year, OldCovering: h.OldFamily}
			if !h.OldLaidOn.IsZero() {
				roof.OldLaidYear = h.OldLaidOn.Year()
			}
			in.Roofs = append(in.Roofs, roof)
		}
		house := neighbours.House{ID: id(h.HouseID), At: at, Building: building, Covering: h.Family, RoofYear: year,
			Outcome: neighbours.Outcome(h.State), CalledOn: h.CalledOn, NextOn: h.NextOn, Stopped: h.Stopped, Ours: h.Ours}
		if !h.Ours {
			house.Need = need(h)
		}
		in.Houses = append(in.Houses, house)
	}
	return in
}
