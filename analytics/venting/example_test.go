package venting_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"overhang/analytics/venting"
)

// An attic of 1,500 ft² with 40 ft of ridge vent stamped 12.5 in² a foot and
// 220 in² of soffit: the 2006 text is met, the 2015 text is not.
func Example() {
	var in venting.Input
	err := json.Unmarshal([]byte(`{
		"plan_area_ft2": 1500, "vapour_retarder_class": "none", "climate_zone": "6A",
		"codes": ["irc_2006", "irc_2015"],
		"openings": [
			{"kind": "ridge", "length_ft": 40, "net_per_ft_in2": 12.5},
			{"kind": "soffit_strip", "count": 1, "net_each_in2": 220}
		]}`), &in)
	if err != nil {
		fmt.Println(err)
		return
	}
	result, err := venting.Check(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, rule := range result.Rules {
		fmt.Println(rule.Says)
	}
	for _, w := range result.Warnings {
		fmt.Println(w.Key)
	}
	// Output:
	// IRC 2006, R806.2: passes. 720 in² asked, 720 in² there (1/300: high vents must hold 50 to 80 % of the 720 in² that 1/300 asks and hold 69 %).
	// IRC 2015, R806.2: fails. 1,440 in² asked, 720 in² there (1/150: no retarder allows less, and high vents must hold 40 to 50 % of the 720 in² that 1/300 asks and hold 69 %). To satisfy it: first add 140 in² of intake at the eave, then close 140 in² of high vents.
	// exhaust_above_intake
}

// The same attic's bill under the 2015 text: intake first, then the ridge vent
// is cut back. Twelve feet less leave 350 in², which 370 in² of intake must
// make up to 720.
func ExampleBill() {
	var in venting.Input
	err := json.Unmarshal([]byte(`{
		"plan_area_ft2": 1500, "vapour_retarder_class": "none", "climate_zone": "6A",
		"codes": ["irc_2015"], "clear_space_in": 2, "ridge_ft": 40,
		"eaves": [{"length_ft": 50, "overhang_in": 16}, {"length_ft": 50, "overhang_in": 16}],
		"openings": [
			{"kind": "ridge", "length_ft": 40, "net_per_ft_in2": 12.5},
			{"kind": "soffit_strip", "count": 1, "net_each_in2": 220}
		]}`), &in)
	if err != nil {
		fmt.Println(err)
		return
	}
	result, err := venting.Check(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	bill := result.Rules[0].Bill
	for _, s := range bill.Steps {
		fmt.Println(s.Says)
	}
	fmt.Println(bill.Verdict)
	// Output:
	// Add 15 ft of vented soffit panel, shared among the eaves by their length, over bays that are open: 150 in².
	// Close 12 ft of ridge vent and patch the deck: 150 in² goes.
	// passes
}

func BenchmarkCheck(b *testing.B) {
	area, rise, run, joists := 1500.0, 6.0, 40.0, false
	in := venting.Input{
		PlanAreaFt2: &area, RiseIn12: &rise, Joists: &joists, RetarderClass: "none", ClimateZone: "6A",
		Openings: []venting.Opening{
			{Kind: venting.Ridge, LengthFt: &run},
			{Kind: venting.SoffitStrip, LengthFt: &run},
		},
	}
	for _, codes := range [][]string{{"irc_2015"}, nil} {
		in.Codes = codes
		b.Run(fmt.Sprintf("codes=%d", len(codes)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := venting.Check(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
