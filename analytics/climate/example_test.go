package climate_test

import (
	"fmt"

	"overhang/analytics/climate"
	"overhang/analytics/units"
)

// A winter noon over a 6:12 roof in Minneapolis.
func ExampleSun() {
	lat, lon, rise, facing, global := 44.98, -93.27, 6.0, 180.0, 400.0
	got, err := climate.Sun(climate.SunInput{
		Time: "2026-01-15T12:00:00-06:00", Lat: &lat, Lon: &lon,
		RiseIn12: &rise, Facing: &facing, Global: &global,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range got.Says {
		fmt.Println(s)
	}
	// Output:
	// The sun stands 24° over the horizon in the south.
	// It rises at 07:47, is highest at 12:22 and sets at 16:57.
	// It meets the slope at 40° from straight on.
	// Each square foot of the slope takes in 229 Btu an hour, 183 of them straight from the sun.
}

func ExampleTypical() {
	got, err := climate.Typical(climate.TypicalInput{Station: "ottawa", Units: units.Metric})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range got.Says {
		fmt.Println(s)
	}
	// Output:
	// January at Ottawa, Ontario has a mean of -11 °C, and the year 4534 degree-days under 18 °C.
	// One hour in a hundred is colder than -22 °C, and one is warmer than 29 °C.
	// Snow lies deepest in February, 39 cm on the ground on average.
	// These are the hours of a typical year shaped from averages, not of any real one: a hard winter is colder and deeper.
}

// The sun of a year on the two sides of a roof.
func ExampleYear_OnSlope() {
	year, err := climate.StationYear("burlington")
	if err != nil {
		fmt.Println(err)
		return
	}
	var south, north float64
	for hour := range year.Hours {
		south += year.OnSlope(hour, 26.57, 180, 0.2) / 1000
		north += year.OnSlope(hour, 26.57, 0, 0.2) / 1000
	}
	fmt.Printf("south %.0f kWh/m², north %.0f kWh/m²\n", south, north)
	// Output:
	// south 1523 kWh/m², north 1011 kWh/m²
}
