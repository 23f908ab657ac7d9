package geo

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"overhang/analytics/units"
)

// MaxStops is the most stops a tour may have: the table of distances between
// all pairs is held in memory, 32 MB at this size.
const MaxStops = 2000

// Tour is an order in which to visit stops.
type Tour struct {
	Order    []int          `json:"order"`      // places in the stops that were given
	Legs     []units.Length `json:"legs_m"`     // the way to each stop of Order from the one before, or from the start
	Back     units.Length   `json:"back_m"`     // from the last stop to the start; 0 for a one-way tour
	Distance units.Length   `json:"distance_m"` // all of it
}

// NewTour orders stops so that the way from the start through all of them is
// short: one way, or back to the start. Nearest neighbour gives a first order,
// 2-opt and Or-opt shorten it and the order given until neither finds anything
// more, and a number of kicks, fixed by the count of stops, tries to get the
// better of them out of its local optimum. The answer is the same every time
// and never longer than the order given. It refuses more than MaxStops stops.
//
// Distances are as the crow flies: no street, fence or river is known.
func NewTour(start Point, stops []Point, back bool) (Tour, error) {
	if len(stops) > MaxStops {
		return Tour{}, fmt.Errorf("stops: %d are more than the %d that one tour may have", len(stops), MaxStops)
	}
	n := len(stops) + 1
	at := func(i int) Point {
		if i == 0 {
			return start
		}
		return stops[i-1]
	}
	s := newSearch(n, back, func(i, j int) float64 { return float64(Distance(at(i), at(j))) })
	order := s.solve()
	t := Tour{Order: make([]int, len(stops)), Legs: make([]units.Length, len(stops))}
	for k := 1; k < n; k++ {
		t.Order[k-1] = order[k] - 1
		t.Legs[k-1] = units.Length(s.between(order[k-1], order[k]))
		t.Distance += t.Legs[k-1]
	}
	if back {
		t.Back = units.Length(s.between(order[n-1], 0))
		t.Distance += t.Back
	}
	return t, nil
}

// search is a search for a short order of n places; place 0 stays first. When
// closed, the way from the last place back to the first counts.
type search struct {
	n        int
	closed   bool
	distance []float64
	scratch  []int
}

func newSearch(n int, closed bool, distance func(i, j int) float64) *search {
	s := &search{n: n, closed: closed, distance: make([]float64, n*n), scratch: make([]int, n)}
	for i := range n {
		for j := range i {
			d := distance(i, j)
			s.distance[i*n+j], s.distance[j*n+i] = d, d
		}
	}
	return s
}

func (s *search) between(i, j int) float64 { return s.distance[i*s.n+j] }

// step is the way from the place at k of an order to the next one.
func (s *search) step(order []int, k int) float64 {
	switch {
	case k+1 < s.n:
		return s.between(order[k], order[k+1])
	case s.closed:
		return s.between(order[k], order[0])
	}
	return 0
}

// after is the way from a place to the one at k of an order, where k may be one
// past the end.
func (s *search) after(place int, order []int, k int) float64 {
	switch {
	case k < s.n:
		return s.between(place, order[k])
	case s.closed:
		return s.between(place, order[0])
	}
	return 0
}

func (s *search) length(order []int) float64 {
	total := 0.0
	for k := range order {
		total += s.step(order, k)
	}
	return total
}

// worth is the least shortening that counts, in metres: less is rounding, and
// would let two equal orders chase each other.
const worth = 1e-7

func (s *search) solve() []int {
	given := make([]int, s.n)
	for i := range given {
		given[i] = i
	}
	if s.n < 3 {
		return given
	}
	best := s.nearestNeighbour()
	s.descend(best)
	asGiven := s.length(given)
	s.descend(given)
	length := s.length(best)
	if l := s.length(given); l < length {
		best, length = given, l
	}
	// A kick cuts the order in three places and swaps the two middle pieces
	// (for a closed tour this is the double bridge), which 2-opt cannot undo.
	// The seed is fixed so that the same stops give the same order.
	r := rand.New(rand.NewPCG(uint64(s.n), 1))
	trial := make([]int, s.n)
	for range min(400, 4_000_000/(s.n*s.n)) {
		if s.n < 5 {
			break
		}
		i, j, k := 1+r.IntN(s.n-1), 1+r.IntN(s.n-1), 1+r.IntN(s.n)
		i, j, k = min(i, j, k), max(min(i, j), min(max(i, j), k)), max(i, j, k)
		if i == j || j == k {
			continue
		}
		trial = append(append(append(append(trial[:0], best[:i]...), best[j:k]...), best[i:j]...), best[k:]...)
		s.descend(trial)
		if l := s.length(trial); l < length-worth {
			best, trial, length = trial, best, l
		}
	}
	if length > asGiven { // only by rounding
		for i := range best {
			best[i] = i
		}
	}
	return best
}

// nearestNeighbour goes from each place to the nearest one left.
func (s *search) nearestNeighbour() []int {
	order := make([]int, s.n)
	for i := range order {
		order[i] = i
	}
	for k := 1; k < s.n-1; k++ {
		next := k
		for j := k + 1; j < s.n; j++ {
			d, least := s.between(order[k-1], order[j]), s.between(order[k-1], order[next])
			if d < least || d == least && order[j] < order[next] {
				next = j
			}
		}
		order[k], order[next] = order[next], order[k]
	}
	return order
}

// descend shortens an order by 2-opt and Or-opt until neither helps.
func (s *search) descend(order []int) {
	for s.twoOpt(order) || s.orOpt(order) {
	}
}

// twoOpt turns pieces of the order round where that is shorter.
func (s *search) twoOpt(order []int) (better bool) {
	for i := 1; i < s.n-1; i++ {
		before := order[i-1]
		for j := i + 1; j < s.n; j++ {
			gain := s.between(before, order[i]) + s.step(order, j) - s.between(before, order[j]) - s.after(order[i], order, j+1)
			if gain > worth {
				slices.Reverse(order[i : j+1])
				better = true
			}
		}
	}
	return better
}

// orOpt moves pieces of one to three places elsewhere, either way round.
func (s *search) orOpt(order []int) (better bool) {
	for size := 1; size <= 3; size++ {
		for i := 1; i+size <= s.n; i++ {
			j := i + size // the piece is order[i:j]
			first, last := order[i], order[j-1]
			freed := s.between(order[i-1], first) + s.step(order, j-1) - s.after(order[i-1], order, j)
			if freed <= worth {
				continue
			}
			most, to, turn := worth, -1, false
			for k := 0; k < s.n; k++ { // between the places at k and k+1
				if k >= i-1 && k < j {
					continue
				}
				cut := s.step(order, k)
				straight := freed + cut - s.between(order[k], first) - s.after(last, order, k+1)
				turned := freed + cut - s.between(order[k], last) - s.after(first, order, k+1)
				if straight > most {
					most, to, turn = straight, k, false
				}
				if turned > most {
					most, to, turn = turned, k, true
				}
			}
			if to < 0 {
				continue
			}
			piece := s.scratch[:size]
			copy(piece, order[i:j])
			if turn {
				slices.Reverse(piece)
			}
			if to < i {
				copy(order[to+1+size:j], order[to+1:i])
				copy(order[to+1:], piece)
			} else {
				copy(order[i:], order[j:to+1])
				copy(order[to+1-size:], piece)
			}
			better = true
		}
	}
	return better
}
