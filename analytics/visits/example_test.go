package visits_test

import (
	"fmt"

	"overhang/analytics/geo"
	"overhang/analytics/units"
	"overhang/analytics/visits"
)

func ExampleWhoIsDue() {
	result, err := visits.WhoIsDue(visits.Input{
		Today:    units.NewDate(2026, 11, 25),
		Settings: visits.Settings{Season: visits.Season{From: visits.MonthDay{Month: 4, Day: 15}, To: visits.MonthDay{Month: 11, Day: 15}}},
		Roofs: []visits.Roof{
			{ID: "4 Quarry Lane", Promised: true, ClosedOn: units.NewDate(2025, 8, 20)},
			{ID: "9 Mill Rise", Promised: true, ClosedOn: units.NewDate(2024, 12, 4), RoofLookedOn: units.NewDate(2025, 12, 1), GuttersOn: units.NewDate(2025, 12, 1)},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range result.Visits {
		fmt.Printf("%s: %s, due on %s, %d days overdue", v.ID, v.State, v.DueOn, *v.OverdueDays)
		for _, why := range v.Why {
			fmt.Printf("; %s %s", why.Code, why.On)
		}
		fmt.Println()
	}
	// Output:
	// 4 Quarry Lane: due, due on 2026-08-20, 97 days overdue; since_closed 2025-08-20
	// 9 Mill Rise: ok, due on 2027-04-15, 0 days overdue; since_checkup 2025-12-01; moved_to_season 2026-12-01
}

func ExamplePlanDays() {
	plan, err := visits.PlanDays(visits.PlanInput{
		Settings: visits.PlanSettings{Start: geo.Point{Lat: 45, Lon: -93}, Back: true, MaxStops: 2},
		Stops: []visits.Stop{
			{ID: "4 Quarry Lane", At: geo.Point{Lat: 45.02, Lon: -93}, OverdueDays: 97},
			{ID: "9 Mill Rise", At: geo.Point{Lat: 44.98, Lon: -93}, OverdueDays: 40},
			{ID: "6 Quarry Lane", At: geo.Point{Lat: 45.021, Lon: -93}, OverdueDays: 3},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, d := range plan.Days {
		fmt.Printf("day %d, %.1f km, %.0f minutes:", i+1, d.Distance.In(units.Kilometre), d.Minutes)
		for _, s := range d.Stops {
			fmt.Printf(" [%s]", s.ID)
		}
		fmt.Println()
	}
	// Output:
	// day 1, 4.7 km, 99 minutes: [4 Quarry Lane] [6 Quarry Lane]
	// day 2, 4.4 km, 54 minutes: [9 Mill Rise]
}
