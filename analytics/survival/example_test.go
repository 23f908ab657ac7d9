package survival_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"overhang/analytics/survival"
)

// A street with late entry: ages when it came to be watched, ages at the end of
// the watch, and whether the roof was worn out then.
func Example() {
	var in survival.FitInput
	if err := json.Unmarshal([]byte(`{
		"rows": [
			{"entry": 5, "exit": 12, "event": 1}, {"entry": 10, "exit": 18, "event": 1}, {"exit": 25, "event": 0},
			{"entry": 12, "exit": 25, "event": 1}, {"entry": 15, "exit": 30, "event": 0}, {"entry": 20, "exit": 30, "event": 0},
			{"exit": 9, "event": 1}, {"entry": 8, "exit": 22, "event": 1}, {"entry": 14, "exit": 28, "event": 1},
			{"entry": 3, "exit": 16, "event": 0}
		],
		"profiles": [{"age": 15}], "quantiles": [0.5]
	}`), &in); err != nil {
		fmt.Println(err)
		return
	}
	r, err := survival.Fit(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Says)
	left := r.Profiles[0].Left[0]
	fmt.Printf("shape %.2f; at 15 half have %.0f years left or more (%.0f to %.0f)\n", r.Shape, left.Estimate, left.Low, left.High)
	// Output:
	// Of 10 lives 6 ended worn out. Half are worn out by 21.4 (13.1 to 34.94).
	// shape 2.00; at 15 half have 11 years left or more (6 to 22)
}

// Tear-offs that were found because they happened make roofs look short-lived.
// This town was built 5 to 20 years before it was watched for 6 years; its roofs
// have a Weibull life of shape 4 and scale 24 years. Every house of half its
// streets is watched from the start; in the other half only tear-offs are seen.
func Example_tearOffs() {
	rng := rand.New(rand.NewPCG(1, 2))
	yes, no := survival.Flag(true), survival.Flag(false)
	var tearOffs, watched []survival.Row
	for i := range 6000 {
		start := 5 + 15*rng.Float64() // the house's age when the watch begins
		life := 24 * math.Pow(rng.ExpFloat64(), 1.0/4)
		end := start + 6
		switch seen := life > start && life <= end; {
		case life <= start: // its first roof is gone, and nobody knows of it
		case i%2 == 0 && seen:
			tearOffs = append(tearOffs, survival.Row{Exit: &life, Event: &yes})
		case seen:
			watched = append(watched, survival.Row{Entry: &start, Exit: &life, Event: &yes})
		case i%2 == 1:
			watched = append(watched, survival.Row{Entry: &start, Exit: &end, Event: &no})
		}
	}
	fmt.Printf("%-34s %.1f\n", "true median", 24*math.Pow(math.Ln2, 1.0/4))
	for _, c := range []struct {
		name string
		rows []survival.Row
	}{
		{"tear-offs alone", tearOffs},
		{"watched houses and other tear-offs", append(slices.Clone(watched), tearOffs...)},
		{"watched houses", watched},
	} {
		r, err := survival.Fit(survival.FitInput{Rows: c.rows, Quantiles: []float64{0.5}})
		if err != nil {
			fmt.Println(err)
			return
		}
		half := r.Profiles[0].Ages[0]
		fmt.Printf("%-34s %.1f (%.1f to %.1f)\n", c.name, half.Estimate, half.Low, half.High)
	}
	// Output:
	// true median                        21.9
	// tear-offs alone                    18.3 (18.0 to 18.6)
	// watched houses and other tear-offs 20.3 (20.1 to 20.6)
	// watched houses                     21.9 (21.6 to 22.3)
}

// Ends that looks bounded: most were serviceable at one look and worn out at the
// next, one was worn out when it was first looked at, and two still lie, of which nobody
// knows whether they are serviceable.
func Example_endsSeen() {
	var in survival.FitInput
	if err := json.Unmarshal([]byte(`{
		"rows": [
			{"lower": 15, "upper": 18}, {"lower": 18, "upper": 19.5}, {"lower": 14, "upper": 20}, {"lower": 21, "upper": 22},
			{"lower": 16, "upper": 17}, {"lower": 22, "upper": 26}, {"upper": 19},
			{"lower": 19, "exit": 24, "event": 1, "standing": 1},
			{"entry": 12, "entry_standing": 1, "exit": 21, "event": 0, "standing": 1},
			{"exit": 23, "event": 0, "standing": 1}
		],
		"lag_years": 3, "quantiles": [0.5]
	}`), &in); err != nil {
		fmt.Println(err)
		return
	}
	for _, lag := range []float64{3, 0} {
		in.LagYears = lag
		r, err := survival.Fit(in)
		if err != nil {
			fmt.Println(err)
			return
		}
		half := r.Profiles[0].Ages[0]
		fmt.Printf("with a lag of %.0f years half are worn out by %.1f (%.1f to %.1f)\n", lag, half.Estimate, half.Low, half.High)
	}
	// Output:
	// with a lag of 3 years half are worn out by 19.8 (17.8 to 22.0)
	// with a lag of 0 years half are worn out by 20.3 (18.1 to 22.7)
}

// Roofs with and without a ridge vent, watched from different ages on, compared
// without a shape of life.
func ExampleCox() {
	var in survival.CoxInput
	if err := json.Unmarshal([]byte(`{"rows": [
		{"entry": 5, "exit": 12, "event": 1, "covariates": {"vented": 0}}, {"entry": 10, "exit": 18, "event": 1, "covariates": {"vented": 0}},
		{"exit": 25, "event": 0, "covariates": {"vented": 1}}, {"entry": 12, "exit": 25, "event": 1, "covariates": {"vented": 1}},
		{"entry": 15, "exit": 30, "event": 0, "covariates": {"vented": 1}}, {"entry": 8, "exit": 22, "event": 1, "covariates": {"vented": 0}},
		{"entry": 3, "exit": 16, "event": 1, "covariates": {"vented": 1}}, {"entry": 2, "exit": 19, "event": 1, "covariates": {"vented": 0}}
	]}`), &in); err != nil {
		fmt.Println(err)
		return
	}
	r, err := survival.Cox(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Says)
	// Output:
	// Of 8 lives 6 ended worn out. One more of vented multiplies the hazard by 0.1819 (0.01923 to 1.722).
}

// Callbacks of four roofs by age, per square of roof: one was watched from its
// second year on, and their sizes differ.
func ExampleEvents() {
	var in survival.EventsInput
	if err := json.Unmarshal([]byte(`{"rows": [
		{"unit": "1", "age": 0.5, "event": 1}, {"unit": "1", "age": 3, "event": 1}, {"unit": "1", "age": 6, "event": 0, "size": 24},
		{"unit": "2", "age": 2, "event": 1}, {"unit": "2", "age": 5, "event": 0, "size": 31},
		{"unit": "3", "age": 4, "event": 0, "size": 18},
		{"unit": "4", "age": 3.5, "event": 1}, {"unit": "4", "age": 7, "event": 0, "entry": 2, "size": 40}
	], "at": [1, 4]}`), &in); err != nil {
		fmt.Println(err)
		return
	}
	r, err := survival.Events(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range r.At {
		fmt.Printf("by age %.0f: %.2f a hundred squares (%.2f to %.2f), %d roofs watched\n", s.Age, 100*s.Mean, 100*s.Low, 100*s.High, s.AtRisk)
	}
	// Output:
	// by age 1: 1.37 a hundred squares (0.27 to 6.99), 3 roofs watched
	// by age 4: 4.51 a hundred squares (2.43 to 8.36), 4 roofs watched
}

// Lives that were watched from different ages on, read as a curve: of those that
// reach ten, how many reach twenty.
func ExampleCurve() {
	var in survival.CurveInput
	if err := json.Unmarshal([]byte(`{"rows": [
		{"entry": 5, "exit": 12, "event": 1}, {"entry": 10, "exit": 18, "event": 1}, {"exit": 25, "event": 0},
		{"entry": 12, "exit": 25, "event": 1}, {"entry": 15, "exit": 30, "event": 0}, {"entry": 8, "exit": 22, "event": 1},
		{"entry": 3, "exit": 16, "event": 0}, {"entry": 2, "exit": 19, "event": 1}
	], "from_age": 10, "at": [20]}`), &in); err != nil {
		fmt.Println(err)
		return
	}
	r, err := survival.Curve(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	at := r.Groups[0].At[0]
	fmt.Printf("%.0f %% (%.0f to %.0f) of those that reach 10 reach 20\n", 100*at.Survival, 100**at.Low, 100**at.High)
	// Output:
	// 56 % (16 to 83) of those that reach 10 reach 20
}

// A chart gave 27 years for a covering. Forty roofs watched from new tell another
// story: half of them wore out between 12 and 21.5 years.
func ExamplePool() {
	var rows []survival.PoolRow
	yes, no := survival.Flag(true), survival.Flag(false)
	for i := range 20 {
		age := 12 + float64(i)/2
		street := []string{"Birch Street", "Mill Lane"}[i%2]
		rows = append(rows, survival.PoolRow{Covering: "strip", Groups: map[string]string{"neighbourhood": street},
			Row: survival.Row{Exit: &age, Event: &yes}})
		rows = append(rows, survival.PoolRow{Covering: "strip", Groups: map[string]string{"neighbourhood": street},
			Row: survival.Row{Exit: &age, Event: &no}})
	}
	r, err := survival.Pool(survival.PoolInput{Rows: rows, Coverings: []survival.PoolPrior{
		{Covering: "strip", MedianYears: 27, LogMedianSD: 0.15, Shape: 4.8, LogShapeSD: 0.25},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Says)
	// Output:
	// Of 40 own lives 20 ended worn out. Half of strip are worn out by 20.1 (17.2 to 23.6), where 27.0 was believed; own lives took away 71 % of the doubt.
}
