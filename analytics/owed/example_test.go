package owed_test

import (
	"fmt"

	"overhang/analytics/owed"
	"overhang/analytics/units"
)

// Two roofs under a five-year promise, one callback so far, and what the owner
// takes a callback to come to.
func ExampleEstimate() {
	cost := 420 * units.Dollar
	rate := 0.04
	result, err := owed.Estimate(owed.Input{
		AsOf: units.NewDate(2026, 11, 25),
		Promises: []owed.Promise{
			{ID: "first", LaidOn: units.NewDate(2024, 6, 12), Until: units.NewDate(2029, 6, 11)},
			{ID: "second", LaidOn: units.NewDate(2025, 9, 3), Until: units.NewDate(2030, 9, 2)},
		},
		Callbacks:   []owed.Callback{{LaidOn: units.NewDate(2024, 6, 12), HappenedOn: units.NewDate(2025, 3, 1), CostCents: &cost, Bearer: "us"}},
		AssumedRate: &rate,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d promises, %.1f roof-years ahead\n", result.Total.Promises, result.Total.YearsAtRisk)
	for _, n := range result.Notes {
		fmt.Println(n.Sentence)
	}
	// Output:
	// 2 promises, 6.3 roof-years ahead
	// Small sample: 1 callbacks of our own. The range is wide on purpose.
	// An assumed rate stands in for our own history.
}

// The example of IAS 37.39 (from memory): of what was sold, 75 % has nothing
// wrong, 20 % something small, 5 % something large.
func ExampleProvision() {
	result, err := owed.Provision(owed.ProvisionInput{Outcomes: []owed.Outcome{
		{Name: "nothing wrong", Chance: 0.75},
		{Name: "minor", Chance: 0.20, CostCents: 1_000_000 * units.Dollar},
		{Name: "major", Chance: 0.05, CostCents: 4_000_000 * units.Dollar},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(result.ExpectedCents)
	// Output: 400,000.00
}
