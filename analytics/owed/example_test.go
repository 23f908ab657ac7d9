package owed_test

import (
	"fmt"

	"overhang/analytics/owed"
	"overhang/analytics/units"
)

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

// Paid in all by year laid and year since, in thousands.
func ExampleChainLadder() {
	result, err := owed.ChainLadder(owed.TriangleInput{
		Cumulative: [][]float64{{10, 15, 18, 19}, {12, 20, 23}, {9, 14}, {11}},
		FirstYear:  2023, LastSigma: owed.MackSigma,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("still to pay %.1f, give or take %.1f (last σ² by the rule %q)\n", result.Total.Reserve, *result.Total.StandardError, result.LastSigma)
	// Output: still to pay 15.1, give or take 2.2 (last σ² by the rule "mack")
}

// A payment of December that is learned after December was closed.
func ExampleRollForward() {
	result, err := owed.RollForward(owed.LedgerInput{
		AsOf:     units.NewDate(2026, 1, 31),
		Closings: []owed.Closing{{Month: "2025-12", ClosedOn: units.NewDate(2026, 1, 10)}},
		Entries: []owed.Entry{
			{Kind: owed.Issued, HappenedOn: units.NewDate(2025, 12, 1), LaidYear: 2025, Amount: 900 * units.Dollar},
			{Kind: owed.Paid, HappenedOn: units.NewDate(2025, 12, 20), LearnedOn: units.NewDate(2026, 1, 12), LaidYear: 2025, Amount: 250 * units.Dollar},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, m := range result.Months {
		fmt.Println(m.Period, m.Opening, m.Issued, m.Paid, m.Changes, m.Closing)
	}
	// Output:
	// 2025-12 0.00 900.00 0.00 0.00 900.00
	// 2026-01 900.00 0.00 250.00 0.00 650.00
}

// Two years laid by two crews, with weather that hits all.
func ExampleDistribution() {
	result, err := owed.Distribution(owed.DistributionInput{
		WeatherSD: 0.3, CrewSD: 0.4,
		Groups: []owed.PromiseGroup{
			{Name: "2024", Promises: 80, Rates: []float64{0.03, 0.02}, Crew: "north", CostMean: 400 * units.Dollar, CostSD: 300 * units.Dollar},
			{Name: "2025", Promises: 60, Rates: []float64{0.05, 0.03}, Crew: "south", CostMean: 400 * units.Dollar, CostSD: 300 * units.Dollar},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(result.Expected, result.Quantiles[3].Cents > result.Expected)
	sum := units.Money(0)
	for _, g := range result.Groups {
		sum += g.Shortfall
	}
	fmt.Println(sum == result.Shortfall)
	// Output:
	// 3,520.00 true
	// true
}

func ExampleModel() {
	day := units.NewDate(2026, 6, 30)
	in := owed.ModelInput{AsOf: day, Spreads: map[string]float64{}}
	for _, f := range owed.Factors {
		in.Spreads[f] = 0
	}
	cost := 300 * units.Dollar
	for i := range 100 {
		id := fmt.Sprint(i)
		in.Roofs = append(in.Roofs, owed.ModelRoof{ID: id, LaidOn: day.AddYears(-5), Until: day.AddYears(5).AddDays(-1), Terms: "ten years"})
		if i < 10 { // two a year, at any age
			in.Callbacks = append(in.Callbacks, owed.ModelCallback{Roof: id, HappenedOn: day.AddDays(-90 - 180*i), Cause: "flashing", CostCents: &cost})
		}
	}
	r, err := owed.Model(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d callbacks in %.0f roof-years; %.0f more are expected, at %s\n", r.Callbacks, r.RoofYears, r.Total.Callbacks, r.Costs[0].Mean.Round())
	// Output: 10 callbacks in 500 roof-years; 10 more are expected, at 300
}

// Three crews. One callback in the few years of the second says little, so its rate
// is drawn towards that of all, and its range is the widest.
func ExampleRates() {
	r, err := owed.Rates(owed.RatesInput{Groups: []owed.NamedGroup{
		{Name: "Ash", Count: 30, Years: 900}, {Name: "Birch", Count: 1, Years: 12}, {Name: "Cedar", Count: 75, Years: 800},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, g := range r.Groups {
		fmt.Printf("%s: %.3f seen, %.3f taken (%.3f to %.3f)\n", g.Name, *g.Observed, *g.Rate, *g.Low, *g.High)
	}
	// Output:
	// Ash: 0.033 seen, 0.036 taken (0.028 to 0.044)
	// Birch: 0.083 seen, 0.067 taken (0.030 to 0.112)
	// Cedar: 0.094 seen, 0.091 taken (0.078 to 0.105)
}

// Mean costs of callbacks by crew and year, with how many there were: the new
// crew's one dear callback says little yet.
func ExampleCredibility() {
	var in owed.CredibilityInput
	for _, o := range []struct {
		crew        string
		cost, count float64
	}{
		{"Ash", 412, 6}, {"Ash", 388, 11}, {"Ash", 530, 9}, {"Ash", 467, 14}, {"Birch", 655, 3}, {"Birch", 701, 5}, {"Birch", 598, 4},
		{"Cedar", 520, 2}, {"Cedar", 95, 1}, {"Cedar", 1210, 3}, {"Cedar", 640, 2}, {"new", 1480, 1},
	} {
		in.Observations = append(in.Observations, owed.Observation{Group: o.crew, Value: o.cost, Weight: &o.count})
	}
	r, err := owed.Credibility(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, g := range r.Groups {
		fmt.Printf("%s: %.0f seen, %.0f taken, %.0f %% its own\n", g.Group, g.Observed, *g.Mean, 100*g.Credibility)
	}
	// Output:
	// Ash: 451 seen, 472 taken, 90 % its own
	// Birch: 655 seen, 659 taken, 74 % its own
	// Cedar: 756 seen, 726 taken, 65 % its own
	// new: 1480 seen, 825 taken, 19 % its own
}

// Three years laid: what is expected of the promises, and payments to date
// carried forward, side by side.
func ExampleReserve() {
	in := owed.ReserveInput{ModelInput: owed.ModelInput{AsOf: units.NewDate(2026, 12, 31), DiscountRate: 0.04}}
	cost := 400 * units.Dollar
	for year := 2023; year <= 2026; year++ {
		for i := range 50 {
			id, laid := fmt.Sprint(year, "-", i), units.NewDate(year, 5, 1)
			in.Roofs = append(in.Roofs, owed.ModelRoof{ID: id, LaidOn: laid, Until: laid.AddYears(5) - 1})
			if i < 4 {
				for on := laid.AddDays(60 + i); on <= in.AsOf; on = on.AddYears(1) {
					in.Callbacks = append(in.Callbacks, owed.ModelCallback{Roof: id, HappenedOn: on, Cause: "flashing", CostCents: &cost})
				}
			}
		}
	}
	r, err := owed.Reserve(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, sentence := range r.Says {
		fmt.Println(sentence)
	}
	t := r.Total
	fmt.Println(*t.ChainLadder == *t.Expected-t.Difference.AfterTriangle+t.Difference.OwnHistory+t.Difference.Pattern)
	// Output:
	// By expected value 20,363 is owed, or 19,038 at today's value.
	// Payments carried forward come to 9,600. From the one to the other: 10,247 less for years that no roof has reached yet, -185 for what each year laid has cost so far against what was expected, and -331 for the rest.
	// true
}
