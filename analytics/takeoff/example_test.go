package takeoff_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"overhang/analytics/takeoff"
)

// A gable roof over a plan of 42 by 32 ft, overhang counted, at 6:12.
func Example() {
	var in takeoff.Input
	err := json.Unmarshal([]byte(`{
		"slopes": [
			{"name": "north", "plan_area_ft2": 672, "rise_in_12": 6},
			{"name": "south", "plan_area_ft2": 672, "rise_in_12": 6}
		],
		"runs": [
			{"kind": "eave", "length_ft": 84},
			{"kind": "rake", "common_run_ft": 64, "rise_in_12": 6},
			{"kind": "ridge", "length_ft": 42}
		],
		"covering": {"format": "strip_36"},
		"waste_share": 0.10
	}`), &in)
	if err != nil {
		fmt.Println(err)
		return
	}
	result, err := takeoff.TakeOff(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(result.Says)
	fmt.Println(*result.Lengths.DripEdgePieces, "pieces of drip edge")
	// Output:
	// 15.03 squares to shingle; 16.53 squares with 10 % waste: 50 bundles and 5289 nails.
	// 16 pieces of drip edge
}

func BenchmarkTakeOff(b *testing.B) {
	plan, rise, eave := 672.0, 6.0, 84.0
	in := takeoff.Input{
		Slopes: []takeoff.Slope{
			{PlanAreaFt2: &plan, RiseIn12: &rise},
			{PlanAreaFt2: &plan, RiseIn12: &rise},
		},
		Runs:     []takeoff.Run{{Kind: "eave", LengthFt: &eave}},
		Covering: takeoff.Covering{Format: "strip_36"},
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := takeoff.TakeOff(in); err != nil {
			b.Fatal(err)
		}
	}
}
