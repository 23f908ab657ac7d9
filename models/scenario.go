package models

import "overhang/analytics/units"

// ScenarioKinds are what a scenario can tell of.
var ScenarioKinds = []string{"bad_lot", "lap_habit", "hail_line", "ice_winter"}

// BearerPart is how much of a cost one bearer takes.
type BearerPart struct {
	Bearer string  `json:"bearer"`
	Share  float64 `json:"share"`
}

// Scenario is something that could come, built by a person: which roofs it is
// about, and how much more often or dearer callbacks on them would be.
type Scenario struct {
	Row
	Name      string           `json:"name"`
	Kind      string           `json:"kind"`       // one of ScenarioKinds
	Lot       string           `json:"lot"`        // of a bad lot: its number
	CrewID    *int64           `json:"crew_id"`    // of a habit
	StormID   *int64           `json:"storm_id"`   // whose path the hail takes; or
	Shape     JSON[LatLon]     `json:"shape"`      // the line that it takes
	HalfWidth units.Length     `json:"half_width"` // either side of it
	Cause     string           `json:"cause"`      // one of Causes; empty is all
	Year      *int             `json:"year"`       // nil is every year ahead
	RateTimes float64          `json:"rate_times"` // how much more often; 1 is as often
	Added     float64          `json:"added"`      // callbacks a roof on top, in each of the years
	CostTimes float64          `json:"cost_times"` // how much dearer; 1 is as dear
	Bearers   JSON[BearerPart] `json:"bearers"`    // of what comes on top; none: as promised
	Notes     string           `json:"notes"`
	EndedOn   units.Date       `json:"ended_on"` // put away
}

// Noun is "scenario".
func (*Scenario) Noun() string { return "scenario" }

// Validate checks the rules of a scenario.
func (s *Scenario) Validate() error {
	var k checks
	k.required("name", s.Name)
	k.text("name", s.Name, 120)
	k.required("kind", s.Kind)
	k.among("kind", s.Kind, ScenarioKinds)
	k.that(s.Kind != "bad_lot" || s.Lot != "", "lot", "", "a bad lot needs its number")
	k.that(s.Kind != "lap_habit" || s.CrewID != nil, "crew_id", "", "a habit needs the crew that has it")
	if s.Kind == "hail_line" {
		k.that(s.StormID != nil || len(s.Shape) >= 2, "shape", len(s.Shape), "hail needs a storm whose path it takes, or a line of two points or more")
		k.that(s.StormID != nil || s.HalfWidth > 0, "half_width", s.HalfWidth, "a line needs its width")
	}
	k.that((s.Kind != "hail_line" && s.Kind != "ice_winter") || s.Year != nil, "year", "", "it happens in one year; name it")
	for _, p := range s.Shape {
		k.position(&p.Lat, &p.Lon)
	}
	number(&k, "half_width", &s.HalfWidth, 0, 200*units.Kilometre)
	k.among("cause", s.Cause, Causes)
	number(&k, "year", s.Year, 1900, 2300)
	number(&k, "rate_times", &s.RateTimes, 1, 100)
	number(&k, "added", &s.Added, 0, 10)
	number(&k, "cost_times", &s.CostTimes, 1, 20)
	k.that(s.Added == 0 || s.RateTimes == 1 || s.Cause != "", "cause", "", "must be named where callbacks come on top and come more often as well")
	sum := 0.0
	for _, b := range s.Bearers {
		k.among("bearers", b.Bearer, Bearers)
		k.that(b.Share >= 0 && b.Share <= 1, "bearers", b.Share, "shares lie between 0 and 100 of a hundred")
		sum += b.Share
	}
	k.that(len(s.Bearers) == 0 || (sum > 1-1e-6 && sum < 1+1e-6), "bearers", sum, "the shares must add up to 100 of a hundred")
	k.text("notes", s.Notes, 2000)
	return k.err()
}
