package wear

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Shahin, Pavement Management for Airports, Roads, and Parking Lots: highest
// deduct 21 on an airfield, m 8.48. ASTM D6433, a worked example read
// second-hand: highest deduct 48, m 5.7755.
func TestAllowance(t *testing.T) {
	for _, c := range []struct{ highest, span, want float64 }{
		{48, RoadSpan, 5.7755}, {21, AirfieldSpan, 8.4842}, {0, RoadSpan, 10}, {100, RoadSpan, 1}, {2, RoadSpan, 10},
	} {
		if got := Allowance(c.highest, c.span); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("highest %v of %v: %v, want %v", c.highest, c.span, got, c.want)
		}
	}
}

// ASTM D6433, worked examples read second-hand: the deducts 48, 23, 18, 6 and
// 0.77·5 make 98.85; eight deducts of which the last is kept by its fraction,
// 0.879·5.3, make 104.56.
func TestTotalsOfPublishedRows(t *testing.T) {
	eight := []float64{25.1, 23.4, 17.9, 11.2, 7.9, 7.5, 6.9, 5.3}
	m := Allowance(25.1, RoadSpan)
	kept := Kept(eight, m)
	if math.Abs(m-7.879) > 5e-4 || len(kept) != 8 || math.Abs(kept[7]-4.66) > 5e-3 {
		t.Errorf("m %v keeps %v", m, kept)
	}
	for _, c := range []struct {
		deducts []float64
		count   int
		points  float64
	}{
		{[]float64{48, 23, 18, 6, 0.77 * 5}, 5, 98.85},
		{kept, 8, 104.56},
	} {
		totals := Totals(c.deducts)
		if totals[0].Count != c.count || math.Abs(totals[0].Points-c.points) > 5e-3 {
			t.Errorf("%v: %+v, want %d and %v", c.deducts, totals[0], c.count, c.points)
		}
		if len(totals) != c.count || totals[len(totals)-1].Count != 1 {
			t.Errorf("%v: %d steps %+v", c.deducts, len(totals), totals)
		}
	}
	// By hand, each step with the next smallest set to 2.
	want := []Total{{5, 98.85}, {4, 97}, {3, 93}, {2, 77}, {1, 56}}
	for i, got := range Totals([]float64{6, 48, 3.85, 23, 18}) {
		if got.Count != want[i].Count || math.Abs(got.Points-want[i].Points) > 1e-9 {
			t.Errorf("step %d: %+v, want %+v", i, got, want[i])
		}
	}
	if got := Totals([]float64{2, 1, 0.5}); !slices.Equal(got, []Total{{1, 3.5}}) {
		t.Errorf("small ones only: %+v", got)
	}
	if Totals(nil) != nil || Combined(nil) != 0 {
		t.Error("nothing takes something")
	}
	if got := Kept([]float64{3, 5, 4}, 1.5); !slices.Equal(got, []float64{5, 2}) {
		t.Errorf("kept %v", got)
	}
}

// TM 5-623, table of deducts: a total of 45 of which two count is corrected to
// 33. Ours takes more, as the package comment says, and less than the sum.
func TestCorrectedNearThePublished(t *testing.T) {
	got := Corrected(45, 2) // 100·(1 − 0.775²)
	if math.Abs(got-39.9375) > 1e-12 || got <= 33 || got >= 45 {
		t.Errorf("45 of two: %v", got)
	}
}

func TestCorrectedCurves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total, more := rapid.Float64Range(0, 400).Draw(t, "total"), rapid.Float64Range(0, 100).Draw(t, "more")
		count := rapid.IntRange(1, 40).Draw(t, "count")
		got := Corrected(total, count)
		if count == 1 && got != min(total, 100) {
			t.Fatalf("one is not itself: %v", got)
		}
		if got < 0 || got > 100 || Corrected(total+more, count) < got-1e-9 {
			t.Fatalf("%v and %v of %d: %v", total, more, count, got)
		}
		if Corrected(total, count+1) > got+1e-9 {
			t.Fatalf("%v: %d take %v, one more of them %v", total, count, got, Corrected(total, count+1))
		}
	})
}

// combinedOfAllSets is the definition that the proof in the package comment
// rests on.
func combinedOfAllSets(deducts []float64) float64 {
	most := 0.0
	for set := 1; set < 1<<len(deducts); set++ {
		total, count := 0.0, 0
		for i, d := range deducts {
			if set&(1<<i) != 0 {
				total += d
				count++
			} else {
				total += min(d, small)
			}
		}
		most = max(most, Corrected(total, count))
	}
	return most
}

func drawDeducts(t *rapid.T, most int) []float64 {
	one := rapid.OneOf(rapid.Float64Range(0, 100), rapid.Float64Range(0, 6), rapid.SampledFrom([]float64{0, 2, 100}))
	return rapid.SliceOfN(one, 1, most).Draw(t, "deducts")
}

func TestCombinedIsTheMostOfAllSets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		deducts := drawDeducts(t, 9)
		if got, want := Combined(deducts), combinedOfAllSets(deducts); math.Abs(got-want) > 1e-9 {
			t.Fatalf("%v: %v, want %v", deducts, got, want)
		}
	})
}

// With more deducts than the published cap would keep, too.
func TestCombinedNeverFalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		deducts := drawDeducts(t, 40)
		before := Combined(deducts)
		worse := slices.Clone(deducts)
		i := rapid.IntRange(0, len(worse)-1).Draw(t, "which")
		worse[i] = rapid.Float64Range(worse[i], 100).Draw(t, "worse")
		if after := Combined(worse); after < before-1e-9 || after > 100 {
			t.Fatalf("worse: from %v to %v", before, after)
		}
		one := rapid.Float64Range(0, 100).Draw(t, "one more")
		if after := Combined(append(slices.Clone(deducts), one)); after < before-1e-9 || after < one-1e-9 {
			t.Fatalf("one more: from %v to %v", before, after)
		}
		if Combined(deducts) > min(100, Totals(deducts)[0].Points)+1e-9 {
			t.Fatal("together they take more than their sum")
		}
	})
}

// Why there is no cap: under it two deducts of 90 take more than 95 and 90.
func TestTheCapWouldRaise(t *testing.T) {
	capped := func(deducts ...float64) float64 {
		return Combined(Kept(deducts, Allowance(slices.Max(deducts), RoadSpan)))
	}
	if mild, grave := capped(90, 90), capped(95, 90); mild <= grave {
		t.Errorf("the cap does no harm: %v and %v", mild, grave)
	}
	if mild, grave := Combined([]float64{90, 90}), Combined([]float64{95, 90}); mild >= grave {
		t.Errorf("without it: %v and %v", mild, grave)
	}
}
