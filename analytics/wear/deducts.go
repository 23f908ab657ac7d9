package wear

import (
	"math"
	"slices"
)

// A deduct is what a defect takes off by itself, in points from 0 to 100.

// small is the deduct, in points, up to which a defect does not count as one of
// many: as published, ASTM D6433.
const small = 2.0

// Total is the sum of deducts of which all but the Count largest are taken for
// small.
type Total struct {
	Count  int     `json:"count"`
	Points float64 `json:"points"`
}

// Totals gives the sums that the published method corrects (ASTM D6433): first
// all of the deducts, with the count of those above 2 points; then again and
// again with the smallest of these set to 2, until one is left. Deducts are in
// points and any order, which is left as it is. The last total has a count of 1,
// be no deduct above 2; without deducts there is none.
func Totals(deducts []float64) []Total { return appendTotals(nil, deducts) }

func appendTotals(out []Total, deducts []float64) []Total {
	var few [48]float64
	sorted := append(few[:0], deducts...)
	slices.Sort(sorted)
	sum, count := 0.0, 0
	for _, d := range sorted {
		sum += d
		if d > small {
			count++
		}
	}
	if len(sorted) == 0 {
		return out
	}
	out = append(out, Total{max(count, 1), sum})
	for i := len(sorted) - count; i < len(sorted)-1; i++ {
		sum -= sorted[i] - small
		count--
		out = append(out, Total{count, sum})
	}
	return out
}

// Corrected gives the points that a total takes off, when count deducts share in
// it. It is the curve of count equal deducts that each take their share of what
// the others leave, 100·(1 − (1 − total/(100·count))^count): the total itself
// for one, and less the more share in it. It rises with the total and is never
// above 100. The curves are our own and not those of the published method,
// which take less: see the package comment.
func Corrected(total float64, count int) float64 {
	if count <= 1 {
		return min(total, 100)
	}
	left := 1 - total/(100*float64(count))
	if left <= 0 {
		return 100
	}
	return 100 * (1 - math.Pow(left, float64(count)))
}

// Combined gives the points that deducts take off together: the most that any of
// their [Totals] takes after [Corrected]. One more deduct, or a larger one, never
// makes it less; the package comment has the proof.
func Combined(deducts []float64) float64 {
	var few [48]Total
	most := 0.0
	for _, t := range appendTotals(few[:0], deducts) {
		most = max(most, Corrected(t.Points, t.Count))
	}
	return most
}

// The spans of the published cap on the number of deducts: 98 for roads and
// parking lots (ASTM D6433), 95 for airfields (D5340).
const (
	RoadSpan     = 98.0
	AirfieldSpan = 95.0
)

// Allowance gives how many deducts the published method keeps when the highest
// is known: 1 + (9/span)·(100 − highest), at most 10. [Rate] keeps all of them,
// for under this cap a worse defect can raise a rating: it leaves less room for
// the others.
func Allowance(highest, span float64) float64 {
	return min(10, 1+9/span*(100-highest))
}

// Kept gives the largest deducts as the published cap keeps them: as many as the
// whole part of the allowance, and the next one times its fraction. The largest
// stand first.
func Kept(deducts []float64, allowance float64) []float64 {
	out := slices.Clone(deducts)
	slices.SortFunc(out, func(a, b float64) int {
		switch {
		case a > b:
			return -1
		case a < b:
			return 1
		}
		return 0
	})
	whole := int(allowance)
	if len(out) <= whole {
		return out
	}
	out = out[:whole+1]
	out[whole] *= allowance - float64(whole)
	return out
}
