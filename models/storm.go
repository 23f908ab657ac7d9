package models

import "overhang/analytics/units"

// StormKinds are what a storm brought.
var StormKinds = []string{"hail", "wind", "hail_and_wind", "ice", "snow"}

// Storm is weather that crossed the town, kept as a shape on the map.
type Storm struct {
	Row
	Ref       string        `json:"ref"`
	Name      string        `json:"name"`
	On        units.Date    `gorm:"column:on_day" json:"on"`
	Kind      string        `json:"kind"`  // one of StormKinds
	Shape     JSON[LatLon]  `json:"shape"` // a line, or an area when Closed
	Closed    bool          `json:"closed"`
	HalfWidth units.Length  `json:"half_width"` // either side of a line
	HailSize  *units.Length `json:"hail_size"`
	Gust      *float64      `json:"gust"` // metres a second
	Notes     string        `json:"notes"`
}

// LatLon is a position in degrees.
type LatLon struct {
	Lat float64 `json:"lat"`
	Lon float64 `json:"lon"`
}

// Noun is "storm".
func (*Storm) Noun() string { return "storm" }

// Validate checks the rules of a storm.
func (s *Storm) Validate() error {
	var k checks
	k.required("ref", s.Ref)
	k.required("name", s.Name)
	k.that(!s.On.IsZero(), "on", "", "is needed")
	k.day("on", s.On)
	k.required("kind", s.Kind)
	k.among("kind", s.Kind, StormKinds)
	k.that(len(s.Shape) >= 2, "shape", len(s.Shape), "a storm's track needs two points or more, an area three")
	k.that(!s.Closed || len(s.Shape) >= 3, "shape", len(s.Shape), "an area needs three points or more")
	for _, p := range s.Shape {
		k.position(&p.Lat, &p.Lon)
	}
	number(&k, "half_width", &s.HalfWidth, 0, 200*units.Kilometre)
	number(&k, "hail_size", s.HailSize, 0, 0.3)
	number(&k, "gust", s.Gust, 0, 150)
	return k.err()
}
