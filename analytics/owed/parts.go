package owed

import (
	"math"
	"slices"

	"overhang/analytics/units"
)

// inParts rounds amounts in cents to whole cents so that they add up to the
// rounded sum: each is rounded down, and the cents that are left go to the
// largest remainders, the first of equal ones first.
func inParts(amounts []float64) []units.Money {
	sum := 0.0
	for _, x := range amounts {
		sum += x
	}
	return share(units.Money(math.Round(sum)), amounts)
}

// share rounds amounts in cents so that they add up to a total that is their
// sum but for rounding.
func share(total units.Money, amounts []float64) []units.Money {
	out := make([]units.Money, len(amounts))
	if len(out) == 0 {
		return out
	}
	order := make([]int, len(amounts))
	left := total
	for i, x := range amounts {
		out[i] = units.Money(math.Floor(x))
		left -= out[i]
		order[i] = i
	}
	rest := func(i int) float64 { return amounts[i] - math.Floor(amounts[i]) }
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case rest(a) > rest(b):
			return -1
		case rest(a) < rest(b):
			return 1
		}
		return 0
	})
	n := units.Money(len(out))
	for k, i := range order {
		out[i] += left / n
		switch over := left % n; {
		case over > 0 && units.Money(k) < over:
			out[i]++
		case over < 0 && units.Money(k) >= n+over:
			out[i]--
		}
	}
	return out
}
