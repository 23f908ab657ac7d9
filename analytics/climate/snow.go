package climate

import (
	"math"
	"slices"

	"overhang/analytics/units"
)

const (
	freshSnow    = 100.0 // kg/m³: an inch of water in ten of snow, common practice, no source
	oldSnow      = 250.0 // kg/m³, what a pack settles to; our judgement
	settling     = 0.1   // of the way there in a day; our judgement
	usualMelt    = 3.0   // mm of water per °C and day: 1 to 8, usual 2.7 (USDA NRCS, National Engineering Handbook 630, chapter 11, from memory)
	snowingBelow = 1.5   // °C, mean of the day; our judgement
)

// shapeSnow fills the depth of snow on the ground: what falls settles, and
// melts by the degree-hours over freezing. Rain on snow and drifting are left
// out.
func (y *Year) shapeSnow(n normals, clear []float64) {
	if n.falls == nil {
		if n.depth != nil {
			y.evenSnow(n.depth)
		}
		return
	}
	falls := y.snowDays(n.falls, clear)
	melt := usualMelt
	if n.depth != nil {
		// The melt is what a sheltered or sunny station makes of it: choose it
		// so that the year's mean depth comes out.
		want := 0.0
		for m, d := range n.depth {
			want += d * float64(daysBefore[m+1]-daysBefore[m]) / 365
		}
		melt = level(1, 8, func(melt float64) float64 { return want - y.lay(falls, melt) })
	}
	y.lay(falls, melt)
}

// lay keeps the book of the snow for a year and gives its mean depth in m. It
// is run twice, so that January begins with December's pack.
func (y *Year) lay(falls []float64, melt float64) (mean float64) {
	water, depth := 0.0, 0.0 // kg/m², m
	for range 2 {
		mean = 0
		for i := range y.Hours {
			fresh := falls[i/24] / 24
			water += fresh * freshSnow
			depth += fresh
			depth -= (depth - water/oldSnow) * settling / 24
			if gone := melt / 24 * max(0, y.Hours[i].Air.Celsius()); gone >= water {
				water, depth = 0, 0
			} else {
				depth *= 1 - gone/water
				water -= gone
			}
			y.Hours[i].Snow = units.Length(depth)
			mean += depth / HoursAYear
		}
	}
	return mean
}

// snowDays lays each month's snowfall, in m, on its dull and cold days.
func (y *Year) snowDays(falls, clear []float64) []float64 {
	out := make([]float64, 365)
	for m := range 12 {
		if falls[m] == 0 {
			continue
		}
		from, to := daysOf(m)
		days := make([]int, to-from)
		air := make([]float64, 365)
		for i := range days {
			d := from + i
			days[i], air[d] = d, meanAir(y.Hours[d*24:(d+1)*24])
		}
		// Dullest first among the cold days; then the rest by cold.
		slices.SortFunc(days, func(a, b int) int {
			coldA, coldB := air[a] < snowingBelow, air[b] < snowingBelow
			switch {
			case coldA != coldB && coldA:
				return -1
			case coldA != coldB:
				return 1
			case coldA:
				return sign(clear[a] - clear[b])
			}
			return sign(air[a] - air[b])
		})
		// A fall of about 4 cm a snowy day, our judgement, on ten days at most.
		some := int(clip(math.Round(falls[m]/0.04), 1, 10))
		// The dullest day has the most.
		parts := float64(some*(some+1)) / 2
		for i, d := range days[:some] {
			out[d] = falls[m] * float64(some-i) / parts
		}
	}
	return out
}

func sign(v float64) int {
	switch {
	case v < 0:
		return -1
	case v > 0:
		return 1
	}
	return 0
}

// evenSnow runs monthly depths, in m, from month to month, each month's mean as
// given.
func (y *Year) evenSnow(depth []float64) {
	for m := range 12 {
		from, to := daysOf(m)
		sum := 0.0
		for d := from; d < to; d++ {
			sum += between(depth, d) / float64(to-from)
		}
		for h := from * 24; h < to*24; h++ {
			if sum > 0 {
				y.Hours[h].Snow = units.Length(between(depth, h/24) * depth[m] / sum)
			}
		}
	}
}
