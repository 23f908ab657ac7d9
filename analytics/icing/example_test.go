package icing_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"overhang/analytics/icing"
)

// One course of membrane at an eave of 6:12 with 16 in of overhang, judged by
// an American and a Canadian text.
func ExampleEave() {
	var in icing.EaveInput
	err := json.Unmarshal([]byte(`{
		"codes": ["irc_2021", "nbc_2015"],
		"structure": "main", "heated": true, "ice_history": true, "degree_days_c": 4600,
		"rise_in_12": 6, "overhang_in": 16, "wall_in": 6,
		"cover": "membrane", "reach_in": 36, "eave_ft": 42
	}`), &in)
	if err != nil {
		fmt.Println(err)
		return
	}
	result, err := icing.Eave(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, rule := range result.Rules {
		fmt.Println(rule.Says)
	}
	fmt.Println(result.Rules[0].Order.Says)
	fmt.Println(result.Plainly)
	// Output:
	// IRC 2021, R905.1.2: fails. Protection must reach 44.72 in up the slope from the edge, to 24 in inside the outer face of the wall. It reaches 36 in: 8.72 in short.
	// NBC 2015, 9.26.5.1.: fails. Protection must reach 37.8 in up the slope from the edge, to 11.81 in inside the inner face of the wall. It reaches 36 in: 1.8 in short.
	// 2 courses of membrane 36 in wide, lapped 3.5 in, reach 68.5 in; 84 ft along the eave, 2 rolls of 65 ft. The maker's laps and roll sizes rule.
	// Membrane limits leaks; it does not stop ice dams. A ceiling that lets neither air nor heat through does.
}

// A leaky house over an eave with a wide overhang and a valley that drains to
// it.
func ExampleIndex() {
	var in icing.IndexInput
	err := json.Unmarshal([]byte(`{
		"winter": {"melt_kg_m2": 12, "melt_cold_kg_m2": 7}, "heated_slope_m": 5,
		"overhang_in": 24, "rise_in_12": 6, "facing_deg": 180,
		"valley_to_short_eave": true, "dead_valley": false, "ducts_end_in_attic": false, "past_leaks": true,
		"recessed_lights": false, "knee_walls": false, "skylights": false
	}`), &in)
	if err != nil {
		fmt.Println(err)
		return
	}
	result, err := icing.Index(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(result.Says)
	fmt.Println(result.Remedies[0].Key, "first,", result.Remedies[len(result.Remedies)-1].Key, "last")
	// Output:
	// Eave-icing index 61 of 100: high. 43 points are physics: about 25 lb a foot of melt reaches the eave in a winter and can freeze there. Our judgement adds 18: 3 for the wide overhang, 9 for the valley that drains to a short eave, 6 for past leaks.
	// air_sealing first, heat_cables last
}

func value[T any](v T) *T { return &v }

// roofs is as many as a large company has kept.
const roofs = 100_000

func BenchmarkEaveOfManyRoofs(b *testing.B) {
	in := icing.EaveInput{Codes: []string{"irc_2021"}, Structure: "main", Heated: value(true), IceHistory: value(true), RiseIn12: value(6.0), Cover: "membrane", ReachIn: value(36.0), EaveFt: value(40.0)}
	for b.Loop() {
		for i := range roofs {
			overhang := float64(i % 36)
			in.OverhangIn = &overhang
			if _, err := icing.Eave(in); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkIndexOfManyRoofs(b *testing.B) {
	in := icing.IndexInput{HeatedSlopeM: value(5.0), OverhangIn: value(20.0), PastLeaks: value(true)}
	for b.Loop() {
		for i := range roofs {
			melt := float64(i % 50)
			cold := melt / 2
			in.Winter = &icing.Winter{Melt: &melt, MeltCold: &cold}
			if _, err := icing.Index(in); err != nil {
				b.Fatal(err)
			}
		}
	}
}
