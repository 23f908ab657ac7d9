package details_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"overhang/analytics/details"
)

// Three details of an old roof on a stucco house.
func ExampleCheck() {
	var in details.Input
	err := json.Unmarshal([]byte(`{
		"edition": "irc_2018", "wall_cladding": "stucco", "covering": "asphalt_interlocking", "rise_in_12": 6,
		"details": [
			{"kind": "penetration", "name": "plumbing vent", "lap_share": 0.5, "lower_edge_on_top": true},
			{"kind": "chimney", "name": "chimney", "form": "new", "width_in": 48, "saddle": false, "meets_ridge": false},
			{"kind": "kickout_flashing", "name": "porch roof", "form": "missing"}
		]
	}`), &in)
	if err != nil {
		fmt.Println(err)
		return
	}
	result, err := details.Check(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range result.Findings {
		fmt.Printf("%s (%s) %s\n", f.Verdict, f.Cites, f.Says)
	}
	fmt.Println(result.Findings[0].Remedy)
	// Output:
	// fails (IRC 2018, R1003.20) chimney: it is 48 in wide, 18 in more than goes without a saddle, and has none.
	// fails (IRC 2018, R903.2.1) porch roof: the kickout flashing above a stucco wall is missing.
	// fails (common practice, no source) plumbing vent: the courses cover 50 % of the flange, 17 % short of the two thirds that are right.
	// passes (common practice, no source) chimney: the flashing is new.
	// Have a saddle built above it, flashed into the courses, 12 in high on this slope (half its width times the slope).
}

// roofs is as many as a large company has kept.
const roofs = 100_000

func BenchmarkCheckOfManyRoofs(b *testing.B) {
	width, rise, no := 48.0, 6.0, false
	in := details.Input{Edition: "irc_2021", WallCladding: "stucco", Covering: "asphalt_strip", RiseIn12: &rise, Details: []details.Detail{
		{Kind: "chimney", Form: "reused", WidthIn: &width, Saddle: &no},
		{Kind: "kickout_flashing", Form: "missing"},
		{Kind: "valley", Form: "woven"},
	}}
	for b.Loop() {
		for i := range roofs {
			share := float64(i%100) / 100
			in.Details[0].LapShare = &share
			if _, err := details.Check(in); err != nil {
				b.Fatal(err)
			}
		}
	}
}
