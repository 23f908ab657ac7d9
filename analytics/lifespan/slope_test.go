package lifespan

import (
	"math"
	"slices"
	"testing"
)

// What the grid and the nodes on which slopes are worked out cost: seeded roofs of two
// to four slopes, read by two people and a reading in twenty gross, beside the same
// on a grid four times as fine, with nodes twice as close and half as far again. The
// doc of the package says what is held here.
func TestGridOfSlopes(t *testing.T) {
	usual := Estimator{}
	fine := Estimator{slopes: slopes{grid: &slopeGrid{perSpread: 24, most: 4800, reach: 6, apart: 0.6, nodes: 121, nodesBoth: 37, farNode: 25, farBelow: 30}}}
	off := func(a, b Range) float64 {
		return max(math.Abs(a.Low-b.Low), math.Abs(a.Middle-b.Middle), math.Abs(a.High-b.High))
	}
	var roofs, each, chances []float64
	for _, k := range slopedCompanyOf(300, 77, 0.05) {
		a := estimateBy(t, &usual, k.in)
		if len(a.Slopes) == 0 {
			continue
		}
		b := estimateBy(t, &fine, k.in)
		roofs = append(roofs, off(a.WornOutAge.Range, b.WornOutAge.Range))
		for i := range a.Slopes {
			each = append(each, off(a.Slopes[i].WornOutAge, b.Slopes[i].WornOutAge))
			chances = append(chances, math.Abs(a.Slopes[i].ChanceWorst-b.Slopes[i].ChanceWorst))
		}
	}
	if len(roofs) < 200 {
		t.Fatalf("only %d roofs have slopes that were told apart", len(roofs))
	}
	for _, c := range []struct {
		what                string
		off                 []float64
		half, most, largest float64
	}{
		{"T of the roof, years", roofs, 0.001, 0.005, 0.02},
		{"T of a slope, years", each, 0.015, 0.03, 0.06},
		{"chance of being the worst", chances, 0.0001, 0.0005, 0.005},
	} {
		slices.Sort(c.off)
		n := len(c.off)
		half, most, largest := c.off[n/2], c.off[n*95/100], c.off[n-1]
		t.Logf("%s, of %d: half within %.5f, 95 %% within %.5f, all within %.5f", c.what, n, half, most, largest)
		if half > c.half || most > c.most || largest > c.largest {
			t.Errorf("%s: half within %.5f, 95 %% within %.5f, all within %.5f; wanted %v, %v and %v", c.what, half, most, largest, c.half, c.most, c.largest)
		}
	}
}

func estimateBy(t *testing.T, e *Estimator, in Input) Result {
	t.Helper()
	r, err := e.Estimate(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
