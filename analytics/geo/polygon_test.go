package geo

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestContains(t *testing.T) {
	square := []Point{{0, 0}, {0, 10}, {10, 10}, {10, 0}}
	hole := []Point{{4, 4}, {4, 6}, {6, 6}, {6, 4}, {4, 4}}
	notched := []Point{{0, 0}, {0, 10}, {10, 10}, {5, 5}, {10, 0}}
	overDateLine := []Point{{-18, 179}, {-18, -179}, {-16, -179}, {-16, 179}}
	// The first polygon and hole printed in RFC 7946, appendix A.3.
	rfc := Polygon{[][]Point{
		{{0, 100}, {0, 101}, {1, 101}, {1, 100}, {0, 100}},
		{{0.8, 100.8}, {0.2, 100.8}, {0.2, 100.2}, {0.8, 100.2}, {0.8, 100.8}},
	}}
	// Half the globe and more: wider than any shorter way round.
	wide := []Point{{0, -170}, {0, -60}, {0, 60}, {0, 170}, {10, 170}, {10, 60}, {10, -60}, {10, -170}}
	for _, c := range []struct {
		name string
		g    Polygon
		p    Point
		want bool
	}{
		{"middle", Polygon{[][]Point{square}}, Point{5, 5}, true},
		{"outside", Polygon{[][]Point{square}}, Point{5, 10.001}, false},
		{"level with a corner, outside", Polygon{[][]Point{square}}, Point{10, -1}, false},
		{"level with the notch, outside", Polygon{[][]Point{notched}}, Point{7, 5}, false},
		{"level with the notch's corner", Polygon{[][]Point{notched}}, Point{5, 2}, true},
		{"on an edge", Polygon{[][]Point{square}}, Point{0, 5}, true},
		{"on a corner", Polygon{[][]Point{square}}, Point{10, 10}, true},
		{"on a slanted edge", Polygon{[][]Point{notched}}, Point{7.5, 7.5}, true},
		{"a millimetre off an edge", Polygon{[][]Point{square}}, Point{-1e-8, 5}, false},
		{"in the hole", Polygon{[][]Point{square, hole}}, Point{5, 5}, false},
		{"on the hole's edge", Polygon{[][]Point{square, hole}}, Point{4, 5}, true},
		{"beside the hole", Polygon{[][]Point{square, hole}}, Point{3.9, 5}, true},
		{"date line, east side", Polygon{[][]Point{overDateLine}}, Point{-17, -179.5}, true},
		{"date line, west side", Polygon{[][]Point{overDateLine}}, Point{-17, 179.5}, true},
		{"date line, on it", Polygon{[][]Point{overDateLine}}, Point{-17, 180}, true},
		{"date line, outside", Polygon{[][]Point{overDateLine}}, Point{-17, 178.9}, false},
		{"date line, opposite", Polygon{[][]Point{overDateLine}}, Point{-17, 0}, false},
		{"RFC 7946 ring", rfc, Point{0.1, 100.5}, true},
		{"RFC 7946 hole", rfc, Point{0.5, 100.5}, false},
		{"wide, far west", Polygon{[][]Point{wide}}, Point{5, -169}, true},
		{"wide, far east", Polygon{[][]Point{wide}}, Point{5, 169}, true},
		{"wide, middle", Polygon{[][]Point{wide}}, Point{5, 0}, true},
		{"wide, behind", Polygon{[][]Point{wide}}, Point{5, 180}, false},
	} {
		if err := c.g.Validate(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if got := c.g.Contains(c.p); got != c.want {
			t.Errorf("%s: got %v", c.name, got)
		}
	}
}

func TestPolygonRefusals(t *testing.T) {
	for name, g := range map[string]Polygon{
		"no ring":       {},
		"two corners":   {[][]Point{{{0, 0}, {1, 1}, {0, 0}}}},
		"off the globe": {[][]Point{{{0, 0}, {1, 1}, {95, 0}}}},
		"bad hole":      {[][]Point{{{0, 0}, {0, 1}, {1, 1}}, {{0, 0}}}},
		"around a pole": {[][]Point{{{80, 0}, {80, 120}, {80, -120}}}},
	} {
		if g.Validate() == nil {
			t.Errorf("%s: was taken", name)
		}
	}
}

func TestContainsProperties(t *testing.T) {
	// A star-shaped ring knows its own inside: a corner's distance from the
	// middle scaled below one is inside, above one outside. Neither turning the
	// ring round, starting elsewhere, nor moving everything along the equator
	// changes that.
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 24).Draw(t, "corners")
		middle := Point{rapid.Float64Range(-60, 60).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")}
		at := func(turn, radius float64) Point {
			sin, cos := math.Sincos(turn)
			return Point{middle.Lat + radius*sin, math.Remainder(middle.Lon+radius*cos, 360)}
		}
		ring := make([]Point, n)
		radii := make([]float64, n)
		for i := range ring {
			radii[i] = rapid.Float64Range(0.01, 20).Draw(t, "radius")
			ring[i] = at(2*math.Pi*float64(i)/float64(n), radii[i])
		}
		k := rapid.IntRange(0, n-1).Draw(t, "corner")
		start := rapid.IntRange(0, n-1).Draw(t, "start")
		turned := append(append([]Point{}, ring[start:]...), ring[:start]...)
		if rapid.Bool().Draw(t, "reverse") {
			for i, j := 0, n-1; i < j; i, j = i+1, j-1 {
				turned[i], turned[j] = turned[j], turned[i]
			}
		}
		g := Polygon{[][]Point{turned}}
		turn := 2 * math.Pi * float64(k) / float64(n)
		if n > 4 && !g.Contains(at(turn, radii[k]*0.999)) {
			t.Fatal("just inside a corner is outside")
		}
		if !g.Contains(ring[k]) {
			t.Fatal("a corner is outside")
		}
		if g.Contains(at(turn, radii[k]*1.001)) {
			t.Fatal("just outside a corner is inside")
		}
	})
}

func TestDistanceToTrack(t *testing.T) {
	if got := DistanceToTrack(Point{1, 1}, nil); !math.IsInf(float64(got), 1) {
		t.Errorf("no track: %v", got)
	}
	p, q := Point{47, 8}, Point{47.1, 8}
	if got := DistanceToTrack(p, []Point{q}); got != Distance(p, q) {
		t.Errorf("one point: %v", got)
	}
	// Against every place along the track, measured.
	rapid.Check(t, func(t *rapid.T) {
		p := Point{rapid.Float64Range(-60, 60).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")}
		north, east := wgs84.local(p.Lat)
		near := func(name string) Point {
			x := rapid.Float64Range(-20000, 20000).Draw(t, name+" east")
			y := rapid.Float64Range(-20000, 20000).Draw(t, name+" north")
			return Point{p.Lat + y/north, math.Remainder(p.Lon+x/east, 360)}
		}
		track := []Point{near("a"), near("b"), near("c")}
		got, nearest := float64(DistanceToTrack(p, track)), math.Inf(1)
		const steps = 2000
		for i := 1; i < len(track); i++ {
			a, b := track[i-1], track[i]
			for k := 0; k <= steps; k++ {
				f := float64(k) / steps
				at := Point{a.Lat + f*(b.Lat-a.Lat), a.Lon + f*lonBetween(a.Lon, b.Lon)}
				nearest = min(nearest, float64(Distance(p, at)))
			}
		}
		if got > nearest*1.001+1e-6 || got < nearest-30 { // places stand up to 28 m apart
			t.Fatalf("got %.3f m, measured %.3f m", got, nearest)
		}
	})
}

func BenchmarkContains(b *testing.B) {
	ring := make([]Point, 100)
	for i := range ring {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 100)
		ring[i] = Point{45 + sin, -93 + cos}
	}
	g := Polygon{[][]Point{ring}}
	for b.Loop() {
		if !g.Contains(Point{45.1, -93.2}) {
			b.Fatal("outside")
		}
	}
}
