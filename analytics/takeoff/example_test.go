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

// house is a main wing of 40 by 24 ft with a wing of 24 by 16 ft in an L: hips
// at the ends, a valley in the inner corner, all at 6:12.
const house = `{
	"slopes": [
		{"name": "south", "rise_in_12": 6, "outline": "ft 0,0 eave; 40,0 hip; 28,12 ridge; 12,12 hip"},
		{"name": "west", "rise_in_12": 6, "outline": "ft 0,40 eave; 0,0 hip; 12,12 ridge; 12,28 hip"},
		{"name": "wing end", "rise_in_12": 6, "outline": "ft 24,40 eave; 0,40 hip; 12,28 hip"},
		{"name": "wing east", "rise_in_12": 6, "outline": "ft 24,24 eave; 24,40 hip; 12,28 ridge; 12,12 valley"},
		{"name": "north", "rise_in_12": 6, "outline": "ft 40,24 eave; 24,24 valley; 12,12 ridge; 28,12 hip"},
		{"name": "east end", "rise_in_12": 6, "outline": "ft 40,0 eave; 40,24 hip; 28,12 hip"}
	],
	"covering": {"format": "strip_36"},
	"eave_membrane_ft": 3.7, "valley": "open_metal", "starter_bundle_ft": 100, "cap_from_strips": true,
	"penetrations": [{"kind": "chimney", "name": "The chimney", "slope": "south", "width_in": 48, "length_in": 24, "saddle": false}]
}`

// An L-shaped roof with hips and a valley, given by its outlines.
func Example_outlines() {
	var in takeoff.Input
	if err := json.Unmarshal([]byte(house), &in); err != nil {
		fmt.Println(err)
		return
	}
	result, err := takeoff.TakeOff(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(result.Plan.Says)
	for _, d := range result.Plan.Drains {
		for _, p := range d.Pours {
			fmt.Printf("%s: %s at %s, beside %s straight\n", d.Name, in.Units.Area(p.PlanArea), in.Units.Length(p.At), in.Units.Area(d.Sheet))
		}
	}
	fmt.Println(result.Waste.Says)
	for _, says := range result.Materials.Says {
		fmt.Println(says)
	}
	saddle := result.Materials.Saddles[0]
	fmt.Println(saddle.Name, saddle.Verdict, "the rule; its saddle is to be", in.Units.SmallLength(*saddle.Height), "high")
	// Output:
	// 6 slopes over 1,344 ft² in plan, 15 squares along the roof: 160 ft of eave, 32 ft of ridge, 90 ft of hip, 18 ft of valley. Valley water comes over the eaves at 2 points.
	// wing east: 72 ft² at 0 ft, beside 120 ft² straight
	// north: 72 ft² at 16 ft, beside 120 ft² straight
	// 13.8 % waste: 3 % and half a shingle's width along the rakes, hips, valleys and walls, our judgement.
	// Membrane 36 in wide: 320 ft at the eaves in 2 courses, 18 ft in valleys, 9 ft round chimneys and skylights: 6 rolls.
	// 2 pieces of valley metal, at least 24 in wide (IRC R905.2.8.2), for 18 ft of open valley.
	// 160 ft of starter: 2 bundles.
	// 122 ft of cap: 98 strips cut in three, 4 bundles.
	// The chimney fails the rule; its saddle is to be 12 in high
}

func BenchmarkOutlines(b *testing.B) {
	var in takeoff.Input
	if err := json.Unmarshal([]byte(house), &in); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := takeoff.TakeOff(in); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "roofs/s")
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
