package visits

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"overhang/analytics/geo"
	"overhang/analytics/units"
)

// PlanSettings are what a day can hold. A zero takes the default.
type PlanSettings struct {
	Start          geo.Point `json:"start"`           // where each day begins
	Back           bool      `json:"back"`            // each day ends there again
	MaxStops       int       `json:"max_stops"`       // a day; 12
	DayMinutes     float64   `json:"day_minutes"`     // service and travel together; 0 sets no limit
	ServiceMinutes float64   `json:"service_minutes"` // at a stop that gives none of its own; 45
	SpeedKMH       float64   `json:"speed_kmh"`       // between stops as the crow flies, so below what the road allows; 30
	Days           int       `json:"days"`            // most days to plan; 0 plans every stop
}

// Stop is a roof to be visited.
type Stop struct {
	ID             string    `json:"id"`
	At             geo.Point `json:"at"`
	OverdueDays    int       `json:"overdue_days"`    // the more, the sooner its day; below 0 is not due yet
	ServiceMinutes float64   `json:"service_minutes"` // 0 takes the setting
}

// PlanInput is the stops to share out over days.
type PlanInput struct {
	Settings PlanSettings `json:"settings"`
	Stops    []Stop       `json:"stops"`
}

// Plan is the days in the order of their most overdue stop.
type Plan struct {
	Days     []Day        `json:"days"`
	TooFar   []string     `json:"too_far"` // stops that no day can hold, even alone
	Later    []string     `json:"later"`   // stops past the most days asked for, most overdue first
	Distance units.Length `json:"distance_m"`
	Caution  string       `json:"caution"`
}

// Day is one day's stops in the order to visit them.
type Day struct {
	Stops    []DayStop    `json:"stops"`
	Back     units.Length `json:"back_m"`
	Distance units.Length `json:"distance_m"` // as the crow flies
	Minutes  float64      `json:"minutes"`    // service and travel
}

// DayStop is a stop in the order of its day.
type DayStop struct {
	ID           string       `json:"id"`
	Leg          units.Length `json:"leg_m"`          // from the stop before, or the start
	AfterMinutes float64      `json:"arrive_minutes"` // from the start of the day to its arrival
}

func (s PlanSettings) withDefaults() PlanSettings {
	s.MaxStops = cmp.Or(s.MaxStops, 12)
	s.ServiceMinutes = cmp.Or(s.ServiceMinutes, 45)
	s.SpeedKMH = cmp.Or(s.SpeedKMH, 30)
	return s
}

// travel is the minutes that a distance takes.
func (s *PlanSettings) travel(metres float64) float64 { return metres / (s.SpeedKMH * 1000 / 60) }

// Validate names the first field that breaks a rule.
func (in *PlanInput) Validate() error {
	s := in.Settings
	if err := s.Start.Validate(); err != nil {
		return fmt.Errorf("settings.start: %w", err)
	}
	if s.MaxStops < 0 || s.MaxStops > 100 {
		return fmt.Errorf("settings.max_stops %d: must lie between 0 and 100", s.MaxStops)
	}
	if s.Days < 0 {
		return fmt.Errorf("settings.days %d: must not be negative", s.Days)
	}
	for _, c := range []struct {
		field       string
		value, most float64
	}{{"day_minutes", s.DayMinutes, 1440}, {"service_minutes", s.ServiceMinutes, 1440}, {"speed_kmh", s.SpeedKMH, 130}} {
		if !(c.value >= 0 && c.value <= c.most) {
			return fmt.Errorf("settings.%s %v: must lie between 0 and %v", c.field, c.value, c.most)
		}
	}
	seen := make(map[string]bool, len(in.Stops))
	for i, stop := range in.Stops {
		switch {
		case stop.ID == "":
			return fmt.Errorf("stops[%d].id: is needed", i)
		case seen[stop.ID]:
			return fmt.Errorf("stops[%d].id %q: is there twice", i, stop.ID)
		case !(stop.ServiceMinutes >= 0 && stop.ServiceMinutes <= 1440):
			return fmt.Errorf("stops[%d].service_minutes %v: must lie between 0 and 1440", i, stop.ServiceMinutes)
		}
		if err := stop.At.Validate(); err != nil {
			return fmt.Errorf("stops[%d].at: %w", i, err)
		}
		seen[stop.ID] = true
	}
	return nil
}

// window is how many of the stops nearest to a day's first one may join the day
// while it has room; when they are used up the next ones move in.
const window = 48

// PlanDays shares stops out over days. Each day begins with the most overdue
// stop left and takes in, of those near it, whichever lengthens the day's way
// least, until the day is full by count or by minutes; then its way is shortened
// by geo.NewTour, which never makes it longer. No stop is planned twice, no day
// holds more than it can, and the same stops give the same days.
func PlanDays(in PlanInput) (Plan, error) {
	if err := in.Validate(); err != nil {
		return Plan{}, err
	}
	s := in.Settings.withDefaults()
	plan := Plan{Days: []Day{}, TooFar: []string{}, Later: []string{}, Caution: Caution}
	left := slices.Clone(in.Stops)
	for i := range left {
		left[i].ServiceMinutes = cmp.Or(left[i].ServiceMinutes, s.ServiceMinutes)
	}
	slices.SortFunc(left, func(a, b Stop) int {
		return cmp.Or(cmp.Compare(b.OverdueDays, a.OverdueDays), cmp.Compare(a.ID, b.ID))
	})
	for len(left) > 0 {
		if s.Days > 0 && len(plan.Days) == s.Days {
			for _, stop := range left {
				plan.Later = append(plan.Later, stop.ID)
			}
			break
		}
		chosen, rest := s.fill(left)
		if len(chosen) == 0 {
			plan.TooFar = append(plan.TooFar, left[0].ID)
			left = left[1:]
			continue
		}
		day, err := s.day(chosen)
		if err != nil {
			return Plan{}, fmt.Errorf("ordering day %d: %w", len(plan.Days)+1, err)
		}
		plan.Days = append(plan.Days, day)
		plan.Distance += day.Distance
		left = rest
	}
	return plan, nil
}

// fill chooses a day's stops, in an order that fits the day, and gives the ones
// left. It chooses none where the first alone is more than a day.
func (s *PlanSettings) fill(left []Stop) (chosen, rest []Stop) {
	seed := left[0]
	out := float64(geo.Distance(s.Start, seed.At))
	metres, minutes := out, seed.ServiceMinutes
	if s.Back {
		metres *= 2
	}
	fits := func(metres, minutes float64) bool {
		return s.DayMinutes == 0 || minutes+s.travel(metres) <= s.DayMinutes
	}
	if !fits(metres, minutes) {
		return nil, left
	}
	type near struct {
		place  int // in left
		metres units.Length
	}
	around := make([]near, len(left)-1)
	for i := range around {
		around[i] = near{i + 1, geo.NearDistance(seed.At, left[i+1].At)}
	}
	slices.SortFunc(around, func(a, b near) int {
		return cmp.Or(cmp.Compare(a.metres, b.metres), cmp.Compare(left[a.place].ID, left[b.place].ID))
	})
	// The way so far is chain: the start, the stops chosen, and the start again
	// where the day ends there. A guest keeps its distance to each of them.
	chosen = []Stop{seed}
	chain := []geo.Point{s.Start, seed.At}
	legs := []float64{out}
	if s.Back {
		chain, legs = append(chain, s.Start), append(legs, out)
	}
	type guest struct {
		place int
		to    []float64
	}
	var guests []guest
	taken := map[int]bool{0: true}
	for len(chosen) < s.MaxStops {
		for len(guests) < window && len(around) > 0 {
			g := guest{around[0].place, make([]float64, len(chain), len(chain)+8)}
			for k, at := range chain {
				g.to[k] = float64(geo.Distance(left[g.place].At, at))
			}
			guests, around = append(guests, g), around[1:]
		}
		least, best, after := math.Inf(1), -1, 0
		for i, g := range guests {
			for k := range chain {
				var more float64
				switch {
				case k < len(legs):
					more = g.to[k] + g.to[k+1] - legs[k]
				case s.Back:
					continue
				default:
					more = g.to[k]
				}
				if more < least && fits(metres+more, minutes+left[g.place].ServiceMinutes) {
					least, best, after = more, i, k
				}
			}
		}
		if best < 0 {
			break
		}
		g := guests[best]
		guests = slices.Delete(guests, best, best+1)
		stop := left[g.place]
		chosen = slices.Insert(chosen, after, stop)
		metres, minutes = metres+least, minutes+stop.ServiceMinutes
		taken[g.place] = true
		if after < len(legs) {
			legs[after] = g.to[after]
			legs = slices.Insert(legs, after+1, g.to[after+1])
		} else {
			legs = append(legs, g.to[after])
		}
		chain = slices.Insert(chain, after+1, stop.At)
		for i := range guests {
			to := float64(geo.Distance(left[guests[i].place].At, stop.At))
			guests[i].to = slices.Insert(guests[i].to, after+1, to)
		}
	}
	for i, stop := range left {
		if !taken[i] {
			rest = append(rest, stop)
		}
	}
	return chosen, rest
}

// day orders a day's stops and times them.
func (s *PlanSettings) day(stops []Stop) (Day, error) {
	places := make([]geo.Point, len(stops))
	for i, stop := range stops {
		places[i] = stop.At
	}
	tour, err := geo.NewTour(s.Start, places, s.Back)
	if err != nil {
		return Day{}, err
	}
	d := Day{Stops: make([]DayStop, len(stops)), Back: tour.Back, Distance: tour.Distance}
	for k, i := range tour.Order {
		d.Minutes += s.travel(float64(tour.Legs[k]))
		d.Stops[k] = DayStop{stops[i].ID, tour.Legs[k], d.Minutes}
		d.Minutes += stops[i].ServiceMinutes
	}
	d.Minutes += s.travel(float64(tour.Back))
	return d, nil
}
