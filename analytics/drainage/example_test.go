package drainage_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"overhang/analytics/drainage"
)

// A 12:12 slope with a valley that pours into the right half of a 5 in K-style
// gutter: the gutter and its downspouts carry the rain, but the valley's stream
// goes over the lip.
func Example() {
	var in drainage.Input
	err := json.Unmarshal([]byte(`{
		"rain_in_per_h": 6.8, "plan_area_ft2": 400, "rise_in_12": 12, "length_ft": 30,
		"valleys": [{"at_ft": 25, "plan_area_ft2": 250}],
		"gutter": {"kind": "k_style", "width_in": 5, "depth_in": 3.5, "bottom_in": 3.4, "fall_in_per_10_ft": 0.5, "material": "aluminium", "corners": 0, "blocked_share": 0},
		"outlets": {"ends": "both"}, "downspout": {"kind": "rectangular", "width_in": 3, "depth_in": 4},
		"lip": {"reach_in": 4, "drop_in": 6}}`), &in)
	if err != nil {
		fmt.Println(err)
		return
	}
	result, err := drainage.Check(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range result.Checks {
		fmt.Println(c.Key+":", c.Verdict)
	}
	over := result.Checks[5]
	fmt.Println(over.Says)
	for _, r := range over.Remedies {
		fmt.Println(r.Says)
	}
	// Output:
	// capacity: passes
	// downspouts: passes
	// run_per_outlet: passes
	// fall: passes
	// overshoot_eave: passes
	// overshoot_valleys: fails
	// lip_below_snow_line: passes
	// Valley 1: The stream from the valley passes the front lip: it goes out 6.7 in to 7.5 in by the height of the lip, which stands 5.7 in out.
	// Raise the gutter by 1.7 in, its back with it; it is not enough alone. Higher, sliding snow would catch the lip.
	// Fix a splash guard on the lip at the valley, 3 in high and 12 in each way. It would stand in the way of sliding snow.
	// Fix an apron under the first course that carries the water 1.9 in farther down, to no more than 4.1 in above the lip.
	// Hang a gutter 7 in wide with its back where it is now and its lip no lower.
	// Last, look at the shingles' overhang past the drip edge: 1/2 to 3/4 in (13 to 19 mm) is usual.
}

func BenchmarkCheck(b *testing.B) {
	v := func(x float64) *float64 { return &x }
	none := 0
	in := drainage.Input{
		RainInH: v(6), PlanAreaFt2: v(600), RiseIn12: v(6), LengthFt: v(40), Valleys: []drainage.Valley{},
		Gutter:  drainage.Gutter{Kind: drainage.KStyle, WidthIn: v(5), DepthIn: v(3.5), BottomIn: v(3.4), FallInPer10Ft: v(0.5), Material: "aluminium", Corners: &none},
		Outlets: &drainage.Outlets{Ends: "both"}, Downspout: &drainage.Downspout{Kind: "rectangular", WidthIn: v(2), DepthIn: v(3)},
		Lip: drainage.Lip{ReachIn: v(4), DropIn: v(3)},
	}
	valley := in
	valley.Valleys = []drainage.Valley{{AtFt: v(30), PlanAreaFt2: v(200)}}
	fails := valley
	fails.RainInH = v(12)
	vague := in
	vague.Gutter = drainage.Gutter{Kind: drainage.KStyle, WidthIn: v(5)}
	for _, c := range []struct {
		name string
		in   drainage.Input
	}{{"plain", in}, {"valley", valley}, {"fails", fails}, {"vague", vague}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := drainage.Check(c.in); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "checks/s")
		})
	}
}
