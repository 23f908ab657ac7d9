package attic

import (
	"math"
	"sync"

	"overhang/analytics/climate"
)

// Tables keeps what many attics share, for a run over thousands of roofs: for
// each kind of roof (its weather, and the nearest of some slopes, of eight
// directions, of three shades, of three shelters and of some heights between
// vents) full runs at the nodes of intake, exhaust, insulation and leaks,
// between which it interpolates. A kind is computed when it is first asked for,
// in about two seconds, and kept, in 150 kB. The zero value is ready; it may be used from
// several goroutines, and gives the same answers in whatever order it is asked.
// A Year that it has seen must not be changed.
//
// Interpolation alone is off by at most what tableError in the tests says;
// taking the nearest kind adds what the kind's step is worth.
type Tables struct {
	mu    sync.Mutex
	kinds map[kind]*table
	years map[string]*climate.Year
	sound map[*climate.Year]bool
}

// The values by which kinds are told apart.
var (
	kindRises   = []float64{2.0 / 12, 4.0 / 12, 6.0 / 12, 8.0 / 12, 10.0 / 12, 1, 16.0 / 12}
	kindHeights = []float64{0.5, 1, 2, 4, 8}
)

// The nodes of the axes: intake and exhaust by the area of ceiling, insulation
// in m²K/W, and the ceiling's effective leakage at 4 Pa by its area.
var axes = [4][]float64{
	{0, Code / 10, Code / 2, 1.2 * Code, 3 * Code},
	{0, Code / 10, Code / 2, 1.2 * Code, 3 * Code},
	{0.7, 1.1, 1.9, 3.7, 9},
	{0.3e-4, 1e-4, 3e-4},
}

// stretch makes what a figure does along an axis nearly straight: vents work by
// their logarithm, insulation by what it lets through.
func stretch(axis int, v float64) float64 {
	switch axis {
	case intake, exhaust:
		return math.Log(v + roofLeaks/2/discharge) // vents and the roof's own gaps
	case rsi:
		return 1 / (v + topFilm + insideFilm)
	}
	return math.Sqrt(v)
}

// kind is the roofs that share a table. turn is the pair of directions: north
// and south, north-east and south-west, east and west, south-east and
// north-west.
type kind struct {
	year                               *climate.Year
	rise, turn, shade, shelter, height int
}

type table struct {
	once  sync.Once
	nodes [][2]figures
}

// nearest is the index of the nearest value.
func nearest(values []float64, v float64, scale func(float64) float64) int {
	best := 0
	for i, w := range values {
		if math.Abs(scale(w)-scale(v)) < math.Abs(scale(values[best])-scale(v)) {
			best = i
		}
	}
	return best
}

func plain(v float64) float64 { return v }

func valuesOf(words []word) []float64 {
	out := make([]float64, len(words))
	for i, w := range words {
		out[i] = w.value
	}
	return out
}

var shadeValues, shelterValues = valuesOf(shades), valuesOf(shelters)

// kindOf is the kind of a point, and which of its two slopes is meant.
func kindOf(y *climate.Year, p point) (kind, int) {
	octant := int(math.Round(p[facing]/45)) % 8
	return kind{
		year: y, turn: octant % 4,
		rise:    nearest(kindRises, p[rise], plain),
		height:  nearest(kindHeights, p[height], math.Log),
		shade:   nearest(shadeValues, p[shade], plain),
		shelter: nearest(shelterValues, p[shelter], plain),
	}, octant / 4
}

// point is the kind's own values, with the axes' left at nothing.
func (k kind) point() point {
	var p point
	p[rise], p[facing], p[height] = kindRises[k.rise], float64(k.turn)*45, kindHeights[k.height]
	p[shade], p[shelter] = shadeValues[k.shade], shelterValues[k.shelter]
	return p
}

// Look summarises an attic as Run does, from the tables.
func (t *Tables) Look(in Input) (Summary, error) {
	if in.Year == nil && in.Station != "" {
		year, err := t.yearOf(in.Station)
		if err != nil {
			return Summary{}, err
		}
		in.Year = year
	}
	h, err := in.read()
	if err != nil {
		return Summary{}, err
	}
	if err := t.believe(h.year); err != nil {
		return Summary{}, err
	}
	return h.summarise(func(points []point) []figures {
		out := make([]figures, len(points))
		for i, p := range points {
			out[i] = t.at(h.year, p)
		}
		return out
	}), nil
}

// believe looks through a year the first time that it is asked for.
func (t *Tables) believe(y *climate.Year) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.sound[y] {
		return nil
	}
	if err := believable(y); err != nil {
		return err
	}
	if t.sound == nil {
		t.sound = map[*climate.Year]bool{}
	}
	t.sound[y] = true
	return nil
}

// at reads one row.
func (t *Tables) at(y *climate.Year, p point) figures {
	k, slope := kindOf(y, p)
	t.mu.Lock()
	if t.kinds == nil {
		t.kinds = map[kind]*table{}
	}
	tab := t.kinds[k]
	if tab == nil {
		tab = &table{}
		t.kinds[k] = tab
	}
	t.mu.Unlock()
	tab.once.Do(func() { tab.build(k) })
	return tab.between(p, slope)
}

// build works out the years at the nodes, side by side: each is of its own.
func (t *table) build(k kind) {
	p := k.point()
	w := newWeather(k.year, p[rise], p[facing], p[shelter])
	var roofs []roof
	for _, p[intake] = range axes[intake] {
		for _, p[exhaust] = range axes[exhaust] {
			for _, p[rsi] = range axes[rsi] {
				for _, p[leak] = range axes[leak] {
					roofs = append(roofs, p.roof())
				}
			}
		}
	}
	t.nodes = make([][2]figures, len(roofs))
	sideBySide(len(roofs), func(i int) { t.nodes[i] = w.year(roofs[i]) })
}

// between interpolates along each stretched axis by the cubic through the four
// nodes around (Lagrange), or the parabola through three where there are no
// more; beyond the ends it takes the end.
func (t *table) between(p point, slope int) figures {
	var first, count [4]int
	var weights [4][4]float64
	for a, nodes := range axes {
		n := min(4, len(nodes))
		v := min(max(p[a], nodes[0]), nodes[len(nodes)-1])
		i := 0
		for i < len(nodes)-2 && nodes[i+1] <= v {
			i++
		}
		first[a], count[a] = min(max(i-1, 0), len(nodes)-n), n
		x := stretch(a, v)
		for j := range n {
			weight := 1.0
			for k := range n {
				if k != j {
					at, other := stretch(a, nodes[first[a]+j]), stretch(a, nodes[first[a]+k])
					weight *= (x - other) / (at - other)
				}
			}
			weights[a][j] = weight
		}
	}
	var out figures
	for i := range count[0] {
		for j := range count[1] {
			for k := range count[2] {
				outer := weights[0][i] * weights[1][j] * weights[2][k]
				if outer == 0 {
					continue
				}
				row := ((first[0]+i)*len(axes[1])+first[1]+j)*len(axes[2]) + first[2] + k
				for l := range count[3] {
					weight := outer * weights[3][l]
					for f, v := range t.nodes[row*len(axes[3])+first[3]+l][slope] {
						out[f] += weight * v
					}
				}
			}
		}
	}
	// The cubic may swing a little below nothing where a figure ends.
	for i := snowHours; i < peakAttic; i++ {
		out[i] = max(0, out[i])
	}
	return out
}

func (t *Tables) yearOf(station string) (*climate.Year, error) {
	t.mu.Lock()
	y := t.years[station]
	t.mu.Unlock()
	if y != nil {
		return y, nil
	}
	y, err := stationYear(station)
	if err != nil {
		return nil, err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if first := t.years[station]; first != nil {
		return first, nil
	}
	if t.years == nil {
		t.years = map[string]*climate.Year{}
	}
	t.years[station] = y
	return y, nil
}
