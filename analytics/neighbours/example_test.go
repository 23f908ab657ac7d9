package neighbours_test

import (
	"fmt"

	"overhang/analytics/geo"
	"overhang/analytics/neighbours"
	"overhang/analytics/units"
)

func ExampleRank() {
	alike := neighbours.Building{BuildYear: 2004, Builder: "Hollis Homes", Plan: "B"}
	result, err := neighbours.Rank(neighbours.Input{
		Today: units.NewDate(2026, 11, 25),
		Roofs: []neighbours.Roof{{ID: "12 Mill Rise", At: geo.Point{Lat: 45, Lon: -93}, Building: alike, OldCovering: "strip", LaidYear: 2024}},
		Houses: []neighbours.House{
			{ID: "14 Mill Rise", At: geo.Point{Lat: 45, Lon: -92.9997}, Building: alike, Covering: "strip"},
			{ID: "16 Mill Rise", At: geo.Point{Lat: 45, Lon: -92.9994}, Building: alike, Covering: "strip", RoofYear: 2021},
			{ID: "18 Mill Rise", At: geo.Point{Lat: 45, Lon: -92.9991}, Building: alike, Stopped: true},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, h := range result.Houses {
		fmt.Printf("%s: likeness %.2f, need %.2f, score %.2f\n", h.ID, h.Likeness, h.Need, h.Score)
	}
	fmt.Println("on the stop-list:", result.LeftOut.Stopped)
	// Output:
	// 14 Mill Rise: likeness 0.89, need 0.72, score 0.65
	// 16 Mill Rise: likeness 0.87, need 0.04, score 0.03
	// on the stop-list: 1
}

func ExampleWalk() {
	walk, err := neighbours.Walk(neighbours.WalkInput{
		Start: geo.Point{Lat: 45, Lon: -93},
		Stops: []neighbours.Stop{
			{ID: "9 Mill Rise", At: geo.Point{Lat: 45.0006, Lon: -93}},
			{ID: "3 Mill Rise", At: geo.Point{Lat: 45.0002, Lon: -93}},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range walk.Stops {
		fmt.Printf("%s after %.0f m\n", s.ID, s.SoFar.In(units.Metre))
	}
	// Output:
	// 3 Mill Rise after 22 m
	// 9 Mill Rise after 67 m
}
