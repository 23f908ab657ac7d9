package lifespan_test

import (
	"encoding/json"
	"fmt"

	"overhang/analytics/lifespan"
)

// A strip-shingle roof laid sixteen years ago, looked at this spring.
func Example() {
	var in lifespan.Input
	if err := json.Unmarshal([]byte(`{
		"explain": true, "material": "asphalt_strip", "age_years": 16, "replacement_lag_years": 3,
		"factors": [{"name": "attic ventilation", "low": 0.90, "mid": 0.935, "high": 0.97}],
		"readings": [{"name": "walked in spring", "years_ago": 0, "rating": 45, "error_points": 8}]
	}`), &in); err != nil {
		fmt.Println(err)
		return
	}
	r, err := lifespan.Estimate(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, why := range r.Reasons {
		fmt.Printf("%-8s %-17s %+.1f years\n", why.Kind, why.Name, why.EffectYears)
	}
	fmt.Printf("years left: %.0f to %.0f, middle %.0f; past its line already: %.0f %%\n",
		r.YearsLeft.Low, r.YearsLeft.High, r.YearsLeft.Middle, 100*r.ChancePast)
	// Output:
	// prior    asphalt_strip     +18.0 years
	// factor   attic ventilation -0.7 years
	// standing standing today    +0.7 years
	// reading  walked in spring  +2.3 years
	// years left: 2 to 7, middle 4; past its line already: 1 %
}

// The share of coverings that last five more years, of those that are
// serviceable at fifteen.
func ExamplePrior_ChanceWithin() {
	p := lifespan.Prior{Shape: 4, ScaleYears: 20}
	fmt.Printf("%.3f\n", 1-p.ChanceWithin(15, 5))
	// Output: 0.505
}
