package geo

import (
	"fmt"
	"math"
)

// Point is a position in degrees on WGS84: latitude north and longitude east
// positive.
type Point struct {
	Lat float64 `json:"lat"`
	Lon float64 `json:"lon"`
}

// Validate refuses a position off the globe: latitude must lie in −90 to 90
// and longitude in −180 to 180.
func (p Point) Validate() error {
	if !(p.Lat >= -90 && p.Lat <= 90) {
		return fmt.Errorf("lat %v: must lie between -90 and 90 degrees", p.Lat)
	}
	if !(p.Lon >= -180 && p.Lon <= 180) {
		return fmt.Errorf("lon %v: must lie between -180 and 180 degrees", p.Lon)
	}
	return nil
}

// lonBetween gives the shorter way east from one longitude to another, in
// degrees from −180 to 180.
func lonBetween(from, to float64) float64 {
	if d := to - from; d >= -180 && d <= 180 {
		return d
	}
	return math.Remainder(to-from, 360)
}

// sincosDegrees gives sine and cosine of an angle in degrees, exact at the
// quarter turns.
func sincosDegrees(degrees float64) (sin, cos float64) {
	switch math.Remainder(degrees, 360) {
	case 0:
		return 0, 1
	case 90:
		return 1, 0
	case -90:
		return -1, 0
	case 180, -180:
		return 0, -1
	}
	return math.Sincos(degrees * (math.Pi / 180))
}
