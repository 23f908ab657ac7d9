package hindsight_test

import (
	"encoding/json"
	"fmt"

	"overhang/analytics/hindsight"
)

// Two estimates: one roof wore out about as foretold, the other stands.
func Example() {
	var in hindsight.Input
	if err := json.Unmarshal([]byte(`{"cases": [
		{"roof": "R-1", "as_of": "2019-05-01", "age_years": 15, "table_age_years": 18,
		 "quantiles": [{"p": 0.1, "age_years": 16}, {"p": 0.5, "age_years": 20}, {"p": 0.9, "age_years": 25}],
		 "seen": {"serviceable_at_age_years": 18, "worn_at_age_years": 20},
		 "next_reading": {"age_years": 18, "rating": 34, "error_points": 8}},
		{"roof": "R-2", "as_of": "2019-05-01", "age_years": 10, "table_age_years": 18,
		 "quantiles": [{"p": 0.1, "age_years": 14}, {"p": 0.5, "age_years": 19}, {"p": 0.9, "age_years": 26}],
		 "seen": {"stands_at_age_years": 17}}
	]}`), &in); err != nil {
		fmt.Println(err)
		return
	}
	r, err := hindsight.Check(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range r.Says[:3] {
		fmt.Println(s)
	}
	fmt.Printf("R-1: between %.2f and %.2f of the foretold; reading foretold %.0f\n", r.Rows[0].Low, r.Rows[0].High, *r.Rows[0].Mean)
	// Output:
	// 2 estimates of 2 roofs are held against what was seen later; 1 of these roofs have worn out.
	// Worn out by now were foretold 0.6 times and seen 1 times.
	// That is too few to say how right the years were.
	// R-1: between 0.27 and 0.50 of the foretold; reading foretold 32
}
