package storms_test

import (
	"fmt"

	"overhang/analytics/geo"
	"overhang/analytics/storms"
	"overhang/analytics/units"
)

func ExampleCrossed() {
	result, err := storms.Crossed(storms.Input{
		Storm: storms.Storm{
			On: units.NewDate(2026, 7, 4), Kind: storms.Hail, HailMM: 32, // 1¼ in
			Track: []geo.Point{{Lat: 45, Lon: -93.2}, {Lat: 45, Lon: -92.8}}, HalfWidth: 3 * units.Kilometre,
		},
		Roofs: []storms.Roof{
			{ID: "4 Quarry Lane", At: geo.Point{Lat: 45.01, Lon: -93}, Covering: storms.LightAsphalt},
			{ID: "9 Mill Rise", At: geo.Point{Lat: 44.99, Lon: -93}, Covering: storms.Slate},
			{ID: "1 Far Road", At: geo.Point{Lat: 45.1, Lon: -93}, Covering: storms.LightAsphalt},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range result.Crossings {
		fmt.Printf("%s, %.1f km from its middle: %s\n", c.ID, c.Distance.In(units.Kilometre), c.Look)
	}
	// Output:
	// 4 Quarry Lane, 1.1 km from its middle: look_first
	// 9 Mill Rise, 1.1 km from its middle: at_next_checkup
}
