package promise_test

import (
	"fmt"

	"overhang/analytics/promise"
	"overhang/analytics/units"
)

// A maker's promise on the material, 30 years, the first 10 in full, then a
// share of the whole term; claimed after 200 completed months.
func ExampleJudge() {
	start := units.NewDate(2010, 3, 20)
	result, err := promise.Judge(promise.Input{
		Terms: promise.Terms{
			Kind: promise.Material, TermMonths: 360, FullMonths: 120, Method: promise.WholeTerm,
			Covers: promise.Covers{Material: true}, Transfer: promise.Once,
			Conditions: []promise.Condition{{Kind: "registered", Days: 60}},
		},
		Facts: promise.Facts{AsOf: start.AddMonths(200), StartOn: start},
		Cost:  &promise.Cost{MaterialCents: 9_000 * units.Dollar, LabourCents: 2_500 * units.Dollar},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(result.State, "until", result.LastDay)
	fmt.Println(result.Reasons[0].Sentence)
	fmt.Println("pays", result.Claim.PaysCents)
	for _, c := range result.Conditions {
		fmt.Println(c.Sentence, c.Standing, "-", c.Reason.Sentence, c.HowToShow)
	}
	// Output:
	// in_part until 2040-03-19
	// The full span is over; 160 months are left, as a share of the whole term.
	// pays 4,000.00
	// The promise is registered with the maker in time. not_shown_met - No registration is recorded. Register with the maker and keep its number and day.
}
