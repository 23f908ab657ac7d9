package geo

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// edgeDegrees is how near an edge counts as on it: a tenth of a millimetre.
const edgeDegrees = 1e-9

// Polygon is an area with holes. The first ring is its outside, every further
// one a hole (RFC 7946, 3.1.6). A ring may repeat its first point at the end or
// not, and may run either way round. Edges are straight in longitude and
// latitude, as RFC 7946 asks; a ring may cross the date line, but none may hold
// a pole.
type Polygon struct {
	Rings [][]Point `json:"rings"`
}

// Validate refuses a polygon without a ring, a ring of fewer than three
// different corners, a corner off the globe, and a ring around a pole.
func (g Polygon) Validate() error {
	if len(g.Rings) == 0 {
		return fmt.Errorf("rings: a polygon needs at least its outside ring")
	}
	for i, ring := range g.Rings {
		for k, p := range ring {
			if err := p.Validate(); err != nil {
				return fmt.Errorf("rings[%d][%d]: %w", i, k, err)
			}
		}
		if open := openRing(ring); len(open) < 3 {
			return fmt.Errorf("rings[%d]: has %d corners, a ring needs three or more", i, len(open))
		}
		around := 0.0
		for k, p := range ring {
			around += lonBetween(p.Lon, ring[(k+1)%len(ring)].Lon)
		}
		if math.Abs(around) > 180 {
			return fmt.Errorf("rings[%d]: runs around a pole, which straight edges in latitude and longitude cannot describe", i)
		}
	}
	return nil
}

// openRing leaves out a last point that repeats the first.
func openRing(ring []Point) []Point {
	if n := len(ring); n > 1 && ring[0] == ring[n-1] {
		return ring[:n-1]
	}
	return ring
}

// Contains says whether a point lies in the polygon: inside its outside ring
// and in no hole. The edge belongs to the polygon: a point on an edge or corner,
// of the outside or of a hole, or within a tenth of a millimetre of one, counts
// as in it. Points that cross an odd number of rings are inside.
func (g Polygon) Contains(p Point) bool {
	inside := false
	for _, ring := range g.Rings {
		ring = openRing(ring)
		along := 0.0 // longitude of a from the point, unrolled along the ring
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			span := lonBetween(a.Lon, b.Lon)
			x, y1, y2 := lonBetween(p.Lon, a.Lon), a.Lat-p.Lat, b.Lat-p.Lat
			if segmentFromOrigin(x, y1, x+span, y2) <= edgeDegrees {
				return true
			}
			if i == 0 {
				along = x
			}
			if y1 > 0 != (y2 > 0) {
				// The ring may have been unrolled a turn away from the point, so
				// the point stands at each of three turns and is inside at one of
				// them at most.
				cross := along - y1*span/(y2-y1)
				inside = inside != (cross > -360) != (cross > 0) != (cross > 360)
			}
			along += span
		}
	}
	return inside
}

// segmentFromOrigin gives how near a segment passes to the origin of a plane.
func segmentFromOrigin(x1, y1, x2, y2 float64) float64 {
	t := footOfOrigin(x1, y1, x2, y2)
	return math.Hypot(x1+t*(x2-x1), y1+t*(y2-y1))
}

// footOfOrigin gives where on a segment its point nearest to the origin lies,
// from 0 at the start to 1 at the end.
func footOfOrigin(x1, y1, x2, y2 float64) float64 {
	dx, dy := x2-x1, y2-y1
	length2 := dx*dx + dy*dy
	if length2 == 0 {
		return 0
	}
	return min(max(-(x1*dx+y1*dy)/length2, 0), 1)
}

// DistanceToTrack gives how far a point lies from a track of straight pieces in
// longitude and latitude; a track of one point is that point. The nearest place
// of each piece is found in a plane about the point and then measured by
// Distance, so the answer is never too short, and up to 20 km from a track and
// 60° from the equator it is too long by less than 0.1 %. Pieces half as far
// again in the plane as the nearest are not measured. It is not for use at the
// poles. A track without points is infinitely far.
func DistanceToTrack(p Point, track []Point) units.Length {
	if len(track) == 1 {
		return Distance(p, track[0])
	}
	north, east := wgs84.local(p.Lat)
	inPlane := func(i int) float64 {
		a, b := track[i-1], track[i]
		x := lonBetween(p.Lon, a.Lon)
		return segmentFromOrigin(x*east, (a.Lat-p.Lat)*north, (x+lonBetween(a.Lon, b.Lon))*east, (b.Lat-p.Lat)*north)
	}
	least := math.Inf(1)
	for i := 1; i < len(track); i++ {
		least = min(least, inPlane(i))
	}
	nearest := units.Length(math.Inf(1))
	for i := 1; i < len(track); i++ {
		if inPlane(i) > 1.5*least {
			continue
		}
		a, b := track[i-1], track[i]
		x, span := lonBetween(p.Lon, a.Lon), lonBetween(a.Lon, b.Lon)
		var foot Point
		lat := p.Lat
		// The second round takes the plane half way to the first answer, where
		// it fits best.
		for range 2 {
			north, east := wgs84.local(lat)
			t := footOfOrigin(x*east, (a.Lat-p.Lat)*north, (x+span)*east, (b.Lat-p.Lat)*north)
			foot = Point{a.Lat + t*(b.Lat-a.Lat), math.Remainder(a.Lon+t*span, 360)}
			lat = (p.Lat + foot.Lat) / 2
		}
		nearest = min(nearest, Distance(p, foot))
	}
	return nearest
}
