package geo

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

// manyPoints draws points that crowd where a map has its seams: one town, the
// date line, a pole, or the whole globe; some of them twice.
func manyPoints(t *rapid.T) (points []Point, place func() Point) {
	middle := rapid.SampledFrom([]Point{{45, -93}, {-17, 179.999}, {89.99, 30}, {-89.999, 0}, {69.6, 18.9}, {0, 0}, {45, 180}}).Draw(t, "middle")
	spread := rapid.SampledFrom([]float64{0.002, 0.05, 3, 90}).Draw(t, "spread degrees")
	seed := rapid.Uint64().Draw(t, "seed")
	r := rand.New(rand.NewPCG(seed, 1))
	place = func() Point {
		p := Point{middle.Lat + spread*(2*r.Float64()-1), middle.Lon + 2*spread*(2*r.Float64()-1)}
		if p.Lat > 90 {
			p = Point{180 - p.Lat, p.Lon + 180}
		}
		if p.Lat < -90 {
			p = Point{-180 - p.Lat, p.Lon + 180}
		}
		p.Lon = math.Remainder(p.Lon, 360)
		return p
	}
	for range rapid.IntRange(0, 300).Draw(t, "points") {
		if len(points) > 0 && r.IntN(8) == 0 {
			points = append(points, points[r.IntN(len(points))])
			continue
		}
		points = append(points, place())
	}
	return points, place
}

// measured is what the index must give, by measuring everything.
func measured(points []Point, place Point) []Found {
	all := make([]Found, len(points))
	for i, p := range points {
		all[i] = Found{i, Distance(place, p)}
	}
	slices.SortFunc(all, byDistance)
	return all
}

func TestIndexAgainstMeasuringAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points, anywhere := manyPoints(t)
		x := NewIndex(points)
		if x.Len() != len(points) {
			t.Fatalf("holds %d of %d", x.Len(), len(points))
		}
		for range 3 {
			place := anywhere()
			all := measured(points, place)
			k := rapid.IntRange(-1, len(points)+2).Draw(t, "k")
			want := all[:min(max(k, 0), len(all))]
			if got := x.Nearest(place, k); !slices.Equal(got, want) {
				t.Fatalf("nearest %d of %v: got %v, want %v", k, place, got, want)
			}
			radius := units.Length(rapid.Float64Range(-1, 1000).Draw(t, "radius"))
			if len(all) > 0 { // a radius that just reaches one of them
				radius = all[rapid.IntRange(0, len(all)-1).Draw(t, "reach")].Distance
			}
			n := 0
			for n < len(all) && all[n].Distance <= radius {
				n++
			}
			if got := x.Within(place, radius); !slices.Equal(got, all[:n]) {
				t.Fatalf("within %v of %v: got %v, want %v", radius, place, got, all[:n])
			}
		}
	})
}

func TestIndexHouses(t *testing.T) {
	// Five building centres in Newark, Delaware, and the nearest of the first:
	// © OpenStreetMap contributors, Open Database Licence 1.0; order and
	// distances by GeographicLib 2.0.
	houses := []Point{{39.6527877, -75.7672621}, {39.6528288, -75.7669891}, {39.6528675, -75.7667057}, {39.6528774, -75.7663809}}
	found := NewIndex(houses).Nearest(houses[0], 3)
	for i, want := range []struct {
		id     int
		metres float64
	}{{0, 0}, {1, 23.8704}, {2, 48.5679}} {
		if found[i].ID != want.id || math.Abs(float64(found[i].Distance)-want.metres) > 1e-4 {
			t.Errorf("place %d: got %+v, want %+v", i, found[i], want)
		}
	}
}

// town lays out n points in a town of that many streets' width, always the same.
func town(n int) []Point {
	r := rand.New(rand.NewPCG(7, 7))
	side := 0.0003 * math.Sqrt(float64(n))
	points := make([]Point, n)
	for i := range points {
		points[i] = Point{45 + side*r.Float64(), -93 + 1.4*side*r.Float64()}
	}
	return points
}

func BenchmarkIndexBuildMillion(b *testing.B) {
	points := town(1_000_000)
	for b.Loop() {
		NewIndex(points)
	}
}

func BenchmarkIndexWithinMillion(b *testing.B) {
	points := town(1_000_000)
	x := NewIndex(points)
	hits, i := 0, 0
	b.ResetTimer()
	for b.Loop() {
		hits += len(x.Within(points[i*7919%len(points)], 250))
		i++
	}
	b.ReportMetric(float64(hits)/float64(b.N), "found/op")
}

func BenchmarkIndexNearestMillion(b *testing.B) {
	points := town(1_000_000)
	x := NewIndex(points)
	i := 0
	for b.Loop() {
		x.Nearest(points[i*7919%len(points)], 10)
		i++
	}
}
