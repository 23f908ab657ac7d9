package neighbours

import (
	"fmt"

	"overhang/analytics/geo"
	"overhang/analytics/units"
)

// WalkInput is the houses chosen to be called on in one walk, of a street or a
// neighbourhood, and where the walk begins. It may hold geo.MaxStops houses.
type WalkInput struct {
	Start geo.Point `json:"start"`
	Stops []Stop    `json:"stops"`
}

// Stop is a house of a walk.
type Stop struct {
	ID string    `json:"id"`
	At geo.Point `json:"at"`
}

// WalkResult is the order to walk in.
type WalkResult struct {
	Stops    []WalkStop   `json:"stops"`
	Distance units.Length `json:"distance_m"` // as the crow flies, from the start to the last house
}

// WalkStop is a house in the order of a walk.
type WalkStop struct {
	ID    string       `json:"id"`
	Leg   units.Length `json:"leg_m"`    // from the house before, or the start
	SoFar units.Length `json:"so_far_m"` // from the start
}

// Walk orders houses for a short walk from the start that ends at the last of
// them, by geo.NewTour. The walk is never longer than the order given, and is
// measured as the crow flies: streets make it longer.
func Walk(in WalkInput) (WalkResult, error) {
	if err := in.Start.Validate(); err != nil {
		return WalkResult{}, fmt.Errorf("start: %w", err)
	}
	seen := make(map[string]bool, len(in.Stops))
	places := make([]geo.Point, len(in.Stops))
	for i, s := range in.Stops {
		switch {
		case s.ID == "":
			return WalkResult{}, fmt.Errorf("stops[%d].id: is needed", i)
		case seen[s.ID]:
			return WalkResult{}, fmt.Errorf("stops[%d].id %q: is in the walk twice", i, s.ID)
		}
		if err := s.At.Validate(); err != nil {
			return WalkResult{}, fmt.Errorf("stops[%d].at: %w", i, err)
		}
		seen[s.ID], places[i] = true, s.At
	}
	tour, err := geo.NewTour(in.Start, places, false)
	if err != nil {
		return WalkResult{}, err
	}
	out := WalkResult{Stops: make([]WalkStop, len(places)), Distance: tour.Distance}
	soFar := units.Length(0)
	for k, i := range tour.Order {
		soFar += tour.Legs[k]
		out.Stops[k] = WalkStop{in.Stops[i].ID, tour.Legs[k], soFar}
	}
	return out, nil
}
