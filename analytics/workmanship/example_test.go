package workmanship_test

import (
	"fmt"
	"time"

	"overhang/analytics/units"
	"overhang/analytics/workmanship"
)

func ExampleReview() {
	laid := units.NewDate(2023, time.May, 2)
	in := workmanship.Input{AsOf: units.NewDate(2026, time.May, 1)}
	for i := range 40 {
		in.Roofs = append(in.Roofs, workmanship.Roof{ID: fmt.Sprint(i), Crew: []string{"Ash", "Birch"}[i%2], LaidOn: laid, Squares: 25})
	}
	for _, roof := range []string{"1", "3", "5", "7", "9", "11", "13", "4"} {
		in.Callbacks = append(in.Callbacks, workmanship.Callback{Roof: roof, On: laid.AddDays(200), Cause: "lap"})
	}
	r, err := workmanship.Review(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, g := range r.Crews {
		fmt.Printf("%s: %d callbacks, chance alone gives %d to %d: %s\n", g.Name, g.Callbacks, g.LimitLow, g.LimitHigh, g.Finding)
	}
	// Output:
	// Ash: 1 callbacks, chance alone gives 1 to 7: too_few
	// Birch: 7 callbacks, chance alone gives 1 to 7: within
}
