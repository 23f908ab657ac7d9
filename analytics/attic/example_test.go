package attic_test

import (
	"encoding/json"
	"fmt"

	"overhang/analytics/attic"
)

// An attic of 1,500 ft² with all of its vents at the top: 60 in² of intake are
// left open of the eaves.
func Example() {
	var in attic.Input
	err := json.Unmarshal([]byte(`{
		"station": "duluth", "ceiling_area_ft2": 1500, "intake_in2": 60, "exhaust_in2": 720,
		"rise_in_12": 6, "vent_height_ft": 6, "facing_deg": 180, "shade": "dark",
		"insulation_r": 20, "ceiling_leaks": "some", "vapour_retarder_class": "II", "shelter": "some"
	}`), &in)
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := attic.Run(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, line := range append(r.Says, r.Warnings...) {
		fmt.Println(line)
	}
	for _, w := range r.Ways {
		fmt.Printf("%s: %.1f kg/m² melt instead of %.1f\n", w.Key, w.Melt, r.Winter.Melt)
	}
	// Output:
	// In the hottest hour of the year the covering reaches 168 °F and the attic's air 135 °F; with vents balanced to 1/300 the covering would be 1 °F cooler and the attic 10 °F.
	// So the covering ages 3 % faster than it would with balanced vents. Colour, direction and climate do more.
	// While it freezes outside, the house melts 3.9 lb of water a square foot from under the snow in a winter, over 527 hours, 129 of them colder than 22 °F, when it freezes at the eave; with balanced vents it would be 76 % less.
	// At 22 °F outside, calm and with 1 ft of snow on the ground, the attic is at 36 °F; to keep ice from growing at the eave it should be at 30 °F or less: it is too warm by 6 °F.
	// Most frost on the underside of the deck: 7 g a square foot; it comes with the house's air through the ceiling and wets the deck as it thaws.
	// The vents draw 16 % more of the house's heated air up through the ceiling than balanced vents would: more intake, or fewer leaks, comes before more exhaust.
	// There is more exhaust than intake: what the eaves do not let in is drawn from the house.
	// seal: 6.1 kg/m² melt instead of 19.1
	// insulate: 7.6 kg/m² melt instead of 19.1
	// balance: 4.6 kg/m² melt instead of 19.1
}
