package geo_test

import (
	"fmt"

	"overhang/analytics/geo"
	"overhang/analytics/units"
)

func ExampleInverse() {
	// Flinders Peak to Buninyong, the worked line of Geoscience Australia.
	distance, there, onwards := geo.Inverse(
		geo.Point{Lat: -37.95103341666667, Lon: 144.42486788888888},
		geo.Point{Lat: -37.65282113888889, Lon: 143.92649552777777})
	fmt.Printf("%.3f m, %.4f°, %.4f°\n", distance.In(units.Metre), there+360, onwards+360)
	// Output: 54972.271 m, 306.8682°, 307.1736°
}

func ExampleIndex_Within() {
	houses := geo.NewIndex([]geo.Point{{Lat: 45, Lon: -93}, {Lat: 45.0009, Lon: -93}, {Lat: 45.01, Lon: -93}})
	for _, f := range houses.Within(geo.Point{Lat: 45, Lon: -93}, 250) {
		fmt.Printf("house %d, %.2f m away\n", f.ID, f.Distance.In(units.Metre))
	}
	// Output:
	// house 0, 0.00 m away
	// house 1, 100.02 m away
}

func ExampleNewTour() {
	street := []geo.Point{{Lat: 45.003, Lon: -93}, {Lat: 45.001, Lon: -93}, {Lat: 45.002, Lon: -93}}
	tour, err := geo.NewTour(geo.Point{Lat: 45, Lon: -93}, street, false)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%v, %.0f m\n", tour.Order, tour.Distance.In(units.Metre))
	// Output: [1 2 0], 333 m
}
