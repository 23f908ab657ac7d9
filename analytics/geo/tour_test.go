package geo

import (
	"bufio"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

// plane gives a search over places in a plane.
func plane(closed bool, places [][2]float64) *search {
	return newSearch(len(places), closed, func(i, j int) float64 {
		return math.Hypot(places[i][0]-places[j][0], places[i][1]-places[j][1])
	})
}

// exact is the least length of any order that starts at 0, by M. Held and R. M.
// Karp, A dynamic programming approach to sequencing problems, J. SIAM 10, 1962.
func exact(s *search) float64 {
	n := s.n - 1
	if n == 0 {
		return 0
	}
	best := make([][]float64, 1<<n)
	for set := 1; set < 1<<n; set++ {
		best[set] = make([]float64, n)
		for last := range n {
			best[set][last] = math.Inf(1)
			rest := set &^ (1 << last)
			if set&(1<<last) == 0 {
				continue
			}
			if rest == 0 {
				best[set][last] = s.between(0, last+1)
				continue
			}
			for before := range n {
				if rest&(1<<before) != 0 {
					best[set][last] = min(best[set][last], best[rest][before]+s.between(before+1, last+1))
				}
			}
		}
	}
	least := math.Inf(1)
	for last, d := range best[1<<n-1] {
		if s.closed {
			d += s.between(last+1, 0)
		}
		least = min(least, d)
	}
	return least
}

func TestTourAgainstExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "places")
		places := make([][2]float64, n)
		for i := range places {
			places[i] = [2]float64{rapid.Float64Range(0, 1000).Draw(t, "x"), rapid.Float64Range(0, 1000).Draw(t, "y")}
		}
		s := plane(rapid.Bool().Draw(t, "closed"), places)
		least := exact(s)
		// So few places, and four hundred kicks: the best order is always found.
		if got := s.length(s.solve()); got > least*1.0001+1e-6 || got < least-1e-6 {
			t.Fatalf("got %v, least %v", got, least)
		}
	})
}

func TestTourOnACircle(t *testing.T) {
	// Going round a circle is the shortest closed tour of places on it, as any
	// tour of a convex polygon's corners that crosses itself can be shortened
	// (M. M. Flood, The traveling-salesman problem, Operations Research 4, 1956);
	// one way, it leaves out the longest gap.
	for _, n := range []int{3, 12, 61, 200} {
		places := make([][2]float64, n)
		r := rand.New(rand.NewPCG(uint64(n), 3))
		for i, k := range append([]int{0}, func() []int {
			p := r.Perm(n - 1)
			for i := range p {
				p[i]++
			}
			return p
		}()...) {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(n))
			places[i] = [2]float64{1000 * cos, 1000 * sin}
		}
		chord := 2 * 1000 * math.Sin(math.Pi/float64(n))
		for closed, want := range map[bool]float64{true: float64(n) * chord, false: float64(n-1) * chord} {
			s := plane(closed, places)
			if got := s.length(s.solve()); math.Abs(got-want) > 1e-6 {
				t.Errorf("%d places, closed %v: got %v, want %v", n, closed, got, want)
			}
		}
	}
}

func TestTourOnAGrid(t *testing.T) {
	// A grid of an even number of houses has a closed tour with every step one
	// house long, and no tour can be shorter: n houses need n steps.
	var places [][2]float64
	for x := range 10 {
		for y := range 6 {
			places = append(places, [2]float64{float64(x), float64(y)})
		}
	}
	r := rand.New(rand.NewPCG(5, 5))
	r.Shuffle(len(places), func(i, j int) { places[i], places[j] = places[j], places[i] })
	s := plane(true, places)
	if got := s.length(s.solve()); got > 60*1.02 {
		t.Errorf("60 houses on a grid: %v, best is 60", got)
	}
}

func TestTourProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 40).Draw(t, "stops")
		back := rapid.Bool().Draw(t, "back")
		place := func() Point {
			return Point{45 + rapid.Float64Range(0, 0.1).Draw(t, "lat"), -93 + rapid.Float64Range(0, 0.1).Draw(t, "lon")}
		}
		start, stops := place(), make([]Point, n)
		for i := range stops {
			stops[i] = place()
		}
		tour, err := NewTour(start, stops, back)
		if err != nil {
			t.Fatal(err)
		}
		seen := slices.Sorted(slices.Values(tour.Order))
		for i := range n {
			if len(seen) != n || seen[i] != i {
				t.Fatalf("the order %v is not one of %d stops", tour.Order, n)
			}
		}
		var given, total units.Length
		from, last := start, start
		for i, stop := range stops {
			given += Distance(from, stop)
			if got := Distance(last, stops[tour.Order[i]]); math.Abs(float64(got-tour.Legs[i])) > 1e-5 {
				t.Fatalf("leg %d is %v, said %v", i, got, tour.Legs[i])
			}
			from, last = stop, stops[tour.Order[i]]
			total += tour.Legs[i]
		}
		if back {
			given += Distance(from, start)
			total += tour.Back
		}
		if tour.Distance != total || tour.Distance > given+1e-4 {
			t.Fatalf("tour of %v, its legs %v, as given %v", tour.Distance, total, given)
		}
		if again, _ := NewTour(start, stops, back); !slices.Equal(again.Order, tour.Order) {
			t.Fatal("a second tour differs")
		}
	})
}

func TestTourRefusesTooManyStops(t *testing.T) {
	if _, err := NewTour(Point{}, make([]Point, MaxStops+1), false); err == nil {
		t.Error("was taken")
	}
}

func TestTourAgainstTSPLIB(t *testing.T) {
	// G. Reinelt, TSPLIB, ORSA Journal on Computing 3(4), 1991. The instance
	// files carry no licence, so they are not here: OVERHANG_TSPLIB names a
	// folder that holds them.
	folder := os.Getenv("OVERHANG_TSPLIB")
	if folder == "" {
		t.Log("OVERHANG_TSPLIB names no folder with TSPLIB files; the checks against exact orders stand in")
		return
	}
	for _, c := range []struct {
		name            string
		inOrder, best   float64 // length of 1, 2, 3 … n, which checks the distance rule, and the optimum
		allowedOverBest float64
	}{
		{"burma14", 4562, 3323, 1},
		{"ulysses16", 9665, 6859, 1},
		{"eil51", 1308, 426, 1.02},
		{"berlin52", 22205, 7542, 1.02},
	} {
		places, geographic, err := readTSPLIB(filepath.Join(folder, c.name+".tsp"))
		if err != nil {
			t.Fatal(err)
		}
		s := newSearch(len(places), true, func(i, j int) float64 {
			a, b := places[i], places[j]
			if !geographic {
				return math.Floor(math.Hypot(a[0]-b[0], a[1]-b[1]) + 0.5)
			}
			radians := func(v float64) float64 {
				degrees := math.Trunc(v)
				return 3.141592 * (degrees + 5*(v-degrees)/3) / 180
			}
			q1, q2, q3 := math.Cos(radians(a[1])-radians(b[1])), math.Cos(radians(a[0])-radians(b[0])), math.Cos(radians(a[0])+radians(b[0]))
			return math.Trunc(6378.388*math.Acos(0.5*((1+q1)*q2-(1-q1)*q3)) + 1)
		})
		given := make([]int, s.n)
		for i := range given {
			given[i] = i
		}
		if got := s.length(given); got != c.inOrder {
			t.Errorf("%s: in file order %v, want %v", c.name, got, c.inOrder)
		}
		got := s.length(s.solve())
		t.Logf("%s: %v, best %v", c.name, got, c.best)
		if got < c.best || got > c.best*c.allowedOverBest {
			t.Errorf("%s: %v, best is %v", c.name, got, c.best)
		}
	}
}

func readTSPLIB(path string) (places [][2]float64, geographic bool, err error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, false, err
	}
	defer file.Close()
	lines, in := bufio.NewScanner(file), false
	for lines.Scan() {
		line := strings.TrimSpace(lines.Text())
		switch {
		case strings.HasPrefix(line, "EDGE_WEIGHT_TYPE"):
			geographic = strings.HasSuffix(line, "GEO")
		case line == "NODE_COORD_SECTION":
			in = true
		case line == "EOF":
			in = false
		case in:
			var i int
			var at [2]float64
			if _, err := fmt.Sscan(line, &i, &at[0], &at[1]); err != nil {
				return nil, false, fmt.Errorf("reading %q: %w", line, err)
			}
			places = append(places, at)
		}
	}
	return places, geographic, lines.Err()
}

func BenchmarkTour(b *testing.B) {
	for _, n := range []int{12, 60, 300} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			points := town(n + 1)
			for b.Loop() {
				if _, err := NewTour(points[0], points[1:], false); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
