package lifespan_test

import (
	"encoding/json"
	"fmt"

	"overhang/analytics/lifespan"
)

// A strip-shingle roof laid sixteen years ago, looked at this spring.
func Example() {
	var in lifespan.Input
	if err := json.Unmarshal([]byte(`{
		"explain": true, "material": "asphalt_strip", "age_years": 16, "replacement_lag_years": 3,
		"factors": [{"name": "attic ventilation", "low": 0.90, "mid": 0.935, "high": 0.97}],
		"readings": [{"name": "walked in spring", "years_ago": 0, "rating": 45, "error_points": 8}]
	}`), &in); err != nil {
		fmt.Println(err)
		return
	}
	r, err := lifespan.Estimate(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, why := range r.Reasons {
		fmt.Printf("%-8s %-17s %+.1f years\n", why.Kind, why.Name, why.EffectYears)
	}
	fmt.Printf("years left: %.0f to %.0f, middle %.0f; past its line already: %.0f %%\n",
		r.YearsLeft.Low, r.YearsLeft.High, r.YearsLeft.Middle, 100*r.ChancePast)
	// Output:
	// prior    asphalt_strip     +18.0 years
	// factor   attic ventilation -0.7 years
	// standing standing today    +0.7 years
	// reading  walked in spring  +2.3 years
	// years left: 2 to 7, middle 4; past its line already: 1 %
}

// estimate reads an input from JSON and gives its estimate.
func estimate(text string) lifespan.Result {
	var in lifespan.Input
	if err := json.Unmarshal([]byte(text), &in); err != nil {
		panic(err)
	}
	r, err := lifespan.Estimate(in)
	if err != nil {
		panic(err)
	}
	return r
}

// One look that told three slopes apart. The roof ends with its worst slope, and
// by this look that is likely the south one, but it need not be.
func Example_slopes() {
	r := estimate(`{"material": "asphalt_strip", "age_years": 14, "readings": [
		{"years_ago": 0, "rating": 48, "by": "1", "method": "walked", "slope": "south"},
		{"years_ago": 0, "rating": 60, "by": "1", "method": "walked", "slope": "north"},
		{"years_ago": 0, "rating": 58, "by": "1", "method": "walked", "slope": "porch"}]}`)
	for _, s := range r.Slopes {
		fmt.Printf("%-5s worn out at %.0f to %.0f, the worst of the roof at %.0f %%\n", s.Slope, s.WornOutAge.Low, s.WornOutAge.High, 100*s.ChanceWorst)
	}
	fmt.Printf("the roof at %.0f to %.0f, most likely with the slope to the %s\n", r.WornOutAge.Low, r.WornOutAge.High, r.WorstSlope)
	// Output:
	// north worn out at 19 to 26, the worst of the roof at 16 %
	// porch worn out at 18 to 26, the worst of the roof at 21 %
	// south worn out at 17 to 24, the worst of the roof at 62 %
	// the roof at 17 to 23, most likely with the slope to the south
}

// Half of the north slope was relaid four years ago, and a look rates it no better
// than the south, where all is old: so what is old of the north is worse worn. Were
// it relaid whole the roof would not end with it.
func Example_repairs() {
	for _, relaid := range []struct{ much, share string }{{"half", "0.5"}, {"all", "1"}} {
		r := estimate(`{"material": "asphalt_laminated", "age_years": 20,
			"repairs": [{"years_ago": 4, "share": ` + relaid.share + `, "slope": "north"}],
			"readings": [
				{"years_ago": 0, "rating": 62, "by": "1", "slope": "south"},
				{"years_ago": 0, "rating": 62, "by": "1", "slope": "north"}]}`)
		for _, s := range r.Slopes {
			fmt.Printf("%s of the north relaid: the %s is worst at %.0f %%\n", relaid.much, s.Slope, 100*s.ChanceWorst)
		}
	}
	// Output:
	// half of the north relaid: the north is worst at 84 %
	// half of the north relaid: the south is worst at 16 %
	// all of the north relaid: the north is worst at 0 %
	// all of the north relaid: the south is worst at 100 %
}

// A look found the covering serviceable at seventeen years; the next, at twenty,
// found it worn out. Where between it came to its end nobody saw.
func Example_endSeen() {
	r := estimate(`{"material": "asphalt_strip", "age_years": 21,
		"worn_between": {"from_age_years": 17, "to_age_years": 20}}`)
	fmt.Printf("worn out at %.1f, from %.1f to %.1f; it has %.0f years left\n", r.WornOutAge.Middle, r.WornOutAge.Low, r.WornOutAge.High, r.YearsLeft.High)
	// Output:
	// worn out at 18.8, from 17.5 to 19.8; it has 0 years left
}

// Four looks in one year. Readings by one person with one method share part of
// their error, so four by one eye tell less than four by four.
func Example_oneEye() {
	reading := func(by int) string {
		return fmt.Sprintf(`{"years_ago": 0, "rating": 55, "by": "%d", "method": "walked"}`, by)
	}
	for _, c := range []struct {
		name     string
		readings string
	}{
		{"none", ""},
		{"one", reading(1)},
		{"four by one eye", reading(1) + "," + reading(1) + "," + reading(1) + "," + reading(1)},
		{"four by four eyes", reading(1) + "," + reading(2) + "," + reading(3) + "," + reading(4)},
	} {
		r := estimate(`{"material": "asphalt_strip", "age_years": 14, "readings": [` + c.readings + `]}`)
		fmt.Printf("%-17s %.1f to %.1f years left\n", c.name, r.YearsLeft.Low, r.YearsLeft.High)
	}
	// Output:
	// none              0.0 to 10.2 years left
	// one               3.6 to 9.9 years left
	// four by one eye   4.2 to 9.5 years left
	// four by four eyes 4.9 to 8.6 years left
}

// What it would bring to cut vents in an attic that has none, for a covering with
// nine years left: what is past is past.
func ExampleWhatIf() {
	none, there := 0.0, 1.0
	now, err := lifespan.Ventilation(&none)
	if err != nil {
		panic(err)
	}
	then, err := lifespan.Ventilation(&there)
	if err != nil {
		panic(err)
	}
	gain, err := lifespan.WhatIf(lifespan.Range{Low: 5, Middle: 9, High: 14},
		lifespan.Change{Name: "vents put right", Now: []lifespan.Factor{now}, Then: []lifespan.Factor{then}})
	if err != nil {
		panic(err)
	}
	fmt.Printf("%s: %.1f years more, from %.1f to %.1f\n", gain.Name, gain.Years.Middle, gain.Years.Low, gain.Years.High)
	// Output:
	// vents put right: 0.6 years more, from 0.3 to 1.0
}

// What a look from the street and a walk on the roof would be worth.
func ExampleWorth() {
	age := 15.0
	roof := lifespan.Input{Material: "asphalt_strip", AgeYears: &age}
	for _, look := range []lifespan.NextLook{
		{Input: roof, Method: "street", ErrorPoints: 20},
		{Input: roof, Method: "walked", ErrorPoints: 8},
	} {
		w, err := lifespan.Worth(look)
		if err != nil {
			panic(err)
		}
		fmt.Printf("%s: %.1f years wide now, %.1f after it\n", look.Method, w.WidthNow, w.WidthAfter)
	}
	// Output:
	// street: 9.3 years wide now, 7.2 after it
	// walked: 9.3 years wide now, 4.1 after it
}

// The share of coverings that last five more years, of those that are
// serviceable at fifteen.
func ExamplePrior_ChanceWithin() {
	p := lifespan.Prior{Shape: 4, ScaleYears: 20}
	fmt.Printf("%.3f\n", 1-p.ChanceWithin(15, 5))
	// Output: 0.505
}
