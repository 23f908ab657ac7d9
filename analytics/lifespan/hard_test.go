package lifespan

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The inputs that break careless code, with what each must come to beside the same
// covering without what is hard about it.
func TestHardInputs(t *testing.T) {
	thousand := make([]Reading, 1000)
	for i := range thousand {
		thousand[i] = Reading{YearsAgo: float64(i%40) / 2, Rating: float64((i * 37) % 101), ErrorPoints: v(2), By: fmt.Sprint(i % 7)}
	}
	low, high := Factor{Name: "low", Low: 0.2, Mid: 0.3, High: 0.45}, Factor{Name: "high", Low: 3, Mid: 4.5, High: 5}
	for _, c := range []struct {
		name        string
		in, without Input
		right       func(r, without Result) bool
	}{
		{"age 0", Input{Material: "asphalt_strip", AgeYears: v(0)}, Input{Material: "asphalt_strip", AgeYears: v(0.01)},
			func(r, w Result) bool {
				return r.ChancePast == 0 && r.TooNew && math.Abs(r.YearsLeft.Middle-w.YearsLeft.Middle) < 0.02
			}},
		{"age 0, looked at", Input{AgeYears: v(0), Readings: []Reading{{Rating: 0}, {Rating: 100}}}, Input{AgeYears: v(0)},
			func(r, w Result) bool { return math.Abs(r.YearsLeft.Middle-w.YearsLeft.Middle) < 1e-6 }}, // the curve starts at 100 whatever T is
		{"age 200", Input{Material: "asphalt_strip", AgeYears: v(200)}, Input{Material: "asphalt_strip", AgeYears: v(60)},
			func(r, w Result) bool { return r.ChancePast > 0.99 && r.YearsLeft.High < w.YearsLeft.High+1 }},
		{"200 of a slate", Input{Material: "slate", AgeYears: v(200)}, Input{Material: "asphalt_strip", AgeYears: v(200)},
			func(r, w Result) bool { return r.YearsLeft.High >= w.YearsLeft.High }},
		{"1,000 readings", Input{Material: "asphalt_strip", AgeYears: v(25), Readings: thousand}, Input{Material: "asphalt_strip", AgeYears: v(25)},
			func(r, w Result) bool { return r.WornOutAge.SD > 0.1 && r.WornOutAge.SD < w.WornOutAge.SD/2 }},
		{"contradictory", Input{AgeYears: v(20), Readings: []Reading{{Rating: 0, ErrorPoints: v(2)}, {Rating: 100, ErrorPoints: v(2)}}}, Input{AgeYears: v(20), Readings: []Reading{{Rating: 0, ErrorPoints: v(2)}}},
			func(r, w Result) bool { return r.WornOutAge.SD > w.WornOutAge.SD }}, // the 0 is less sure to be no gross error than alone
		{"contradictory and none gross", Input{AgeYears: v(20), GrossShare: v(0), Readings: []Reading{{Rating: 0, ErrorPoints: v(2)}, {Rating: 100, ErrorPoints: v(2), By: "another"}}},
			Input{AgeYears: v(20)}, func(r, _ Result) bool { return r.WornOutAge.SD > 0 }},
		{"100 at 40", Input{Material: "asphalt_strip", AgeYears: v(40), Readings: []Reading{{Rating: 100, ErrorPoints: v(2)}}}, Input{Material: "asphalt_strip", AgeYears: v(40)},
			func(r, w Result) bool { return math.Abs(r.WornOutAge.Middle-w.WornOutAge.Middle) < 1e-6 }}, // taken for a gross error: no such covering is new at 40
		{"100 at 40 and none gross", Input{Material: "asphalt_strip", AgeYears: v(40), GrossShare: v(0), Readings: []Reading{{Rating: 100, ErrorPoints: v(8)}}}, Input{Material: "asphalt_strip", AgeYears: v(40)},
			func(r, w Result) bool { return r.ChancePast < 0.1 && r.YearsLeft.Middle > w.YearsLeft.Middle }},
		{"under its line and standing", Input{Material: "asphalt_strip", AgeYears: v(20), LineRating: v(40), Readings: []Reading{{Rating: 25, ErrorPoints: v(8)}}},
			Input{Material: "asphalt_strip", AgeYears: v(20), LineRating: v(40)},
			func(r, w Result) bool { return r.ChancePast >= 0.7 && w.ChancePast < 0.6 && r.YearsLeft.Low == 0 }}, // mostly past
		{"a factor at its low end", Input{AgeYears: v(20), Factors: []Factor{low}, ReplacementLagYears: v(1)}, Input{AgeYears: v(20), ReplacementLagYears: v(1)},
			func(r, w Result) bool { return r.YearsLeft.Middle < w.YearsLeft.Middle }},
		{"at its high end", Input{AgeYears: v(20), Factors: []Factor{high}, ReplacementLagYears: v(0)}, Input{AgeYears: v(20), ReplacementLagYears: v(0)},
			func(r, w Result) bool { return r.YearsLeft.Middle > 2*w.YearsLeft.Middle }},
		{"at the bounds themselves", Input{AgeYears: v(5), Factors: []Factor{{Name: "a", Low: 0.2, Mid: 0.2, High: 0.2}, {Name: "b", Low: 5, Mid: 5, High: 5}}}, Input{AgeYears: v(5)},
			func(r, w Result) bool { return math.Abs(r.YearsLeft.Middle-w.YearsLeft.Middle) < 1e-6 }}, // a fifth and five times
	} {
		t.Run(c.name, func(t *testing.T) {
			c.in.Explain = true
			r := estimate(t, c.in)
			if err := hard(c.in, r); err != nil {
				t.Fatal(err)
			}
			if without := estimate(t, c.without); !c.right(r, without) {
				t.Errorf("%+v left, past %v, T %+v\nwithout: %+v left, past %v, T %+v", r.YearsLeft, r.ChancePast, r.WornOutAge, without.YearsLeft, without.ChancePast, without.WornOutAge)
			}
		})
	}
}

// hard says what is wrong with what a hard input comes to: the estimate, its
// reasons, its fan, the worth of another look and of a change.
func hard(in Input, r Result) error {
	if err := sound(r); err != nil {
		return err
	}
	if in.Explain {
		sum := 0.0
		for _, reason := range r.Reasons {
			sum += reason.EffectYears
		}
		if !(math.Abs(sum-r.WornOutAge.Middle) < 1e-6*(1+r.WornOutAge.Middle)) {
			return fmt.Errorf("reasons add to %v, the median is %v", sum, r.WornOutAge.Middle)
		}
	}
	fan, err := Fan(in, []float64{0, 10, 40, 300})
	if err != nil {
		return err
	}
	for _, f := range fan.Ages {
		if !(0 <= f.Low && f.Low <= f.Lower && f.Lower <= f.Middle && f.Middle <= f.Upper && f.Upper <= f.High && f.High <= 100) {
			return fmt.Errorf("fan: %+v", f)
		}
	}
	if len(in.Readings) < mostReadings {
		worth, err := Worth(NextLook{Input: in, ErrorPoints: 2})
		if err != nil {
			return err
		}
		if _, err := json.Marshal(worth); err != nil {
			return err
		}
		if e := worth.Expected; !(worth.WidthNow >= 0 && worth.WidthAfter >= 0 && 0 <= e.Low && e.Low <= e.Middle && e.Middle <= e.High && e.High <= 100) {
			return fmt.Errorf("worth: %+v", worth)
		}
	}
	for _, end := range []float64{0.2, 5} {
		gain, err := WhatIf(r.YearsLeft, Change{Name: "an end", Then: []Factor{{Name: "end", Low: end, Mid: end, High: end}}})
		if err != nil {
			return err
		}
		if want := (end - 1) * r.YearsLeft.Middle; !(math.Abs(gain.Years.Middle-want) < 1e-9*(1+math.Abs(want))) || !(gain.Years.Low <= gain.Years.High) {
			return fmt.Errorf("gain at %v: %+v of %v", end, gain.Years, r.YearsLeft.Middle)
		}
	}
	return nil
}

// Every field at one of its bounds or on either side of something, all at once.
func TestAtTheBounds(t *testing.T) { rapid.Check(t, atTheBounds()) }

// FuzzAtTheBounds looks further, led by what the code does with it.
func FuzzAtTheBounds(f *testing.F) { f.Fuzz(rapid.MakeFuzz(atTheBounds())) }

func atTheBounds() func(*rapid.T) {
	var shared Estimator
	return func(t *rapid.T) {
		one := func(what string, values ...float64) float64 { return rapid.SampledFrom(values).Draw(t, what) }
		in := Input{Material: rapid.SampledFrom(append(tableKeys(), "")).Draw(t, "material"), Explain: rapid.Bool().Draw(t, "explain")}
		if rapid.Bool().Draw(t, "own prior") {
			in.Prior = &Prior{Shape: one("shape", 0.5, 1, 20), ScaleYears: one("scale", 1, 20, 500)}
		}
		latest := one("age", 0, 1e-9, 1, 20, 40, 200, 300)
		if rapid.Bool().Draw(t, "age known") {
			in.AgeYears = &latest
		} else {
			in.EarliestAgeYears, in.LatestAgeYears = v(latest*one("part", 0, 0.5, 1)), &latest
		}
		for range rapid.IntRange(0, 3).Draw(t, "factors") {
			f := Factor{Name: "f", Mid: one("mid", 0.2, 0.5, 1, 2, 5)}
			f.Low, f.High = max(0.2, f.Mid*one("low", 0.5, 0.99, 1)), min(5, f.Mid*one("high", 1, 1.01, 2))
			in.Factors = append(in.Factors, f)
		}
		in.ReplacementLagYears = v(one("lag", 0, 1e-9, 3, 1e9, math.Inf(1)))
		in.GrossShare, in.SharedShare = v(one("gross", 0, 0.05, 0.5)), v(one("shared", 0, 0.5, 0.95))
		in.LineRating, in.CurvePower = v(one("line", 0, 40, 90)), v(one("power", 0.5, 1.5, 5))
		for range rapid.SampledFrom([]int{0, 1, 2, 5, 30}).Draw(t, "readings") {
			in.Readings = append(in.Readings, Reading{YearsAgo: latest * one("ago", 0, 0, 0.5, 1), Rating: one("rating", 0, 25, 50, 100), ErrorPoints: v(one("error", 2, 8, 50)),
				By: rapid.SampledFrom([]string{"", "a", "b"}).Draw(t, "by"), Slope: rapid.SampledFrom([]string{"", "", "n", "s"}).Draw(t, "slope")})
		}
		in.HorizonsYears = []float64{0, 300}
		r, err := shared.Estimate(in)
		if err != nil {
			if strings.Contains(err.Error(), "factors: together they may move") {
				return
			}
			t.Fatal(err)
		}
		if err := hard(in, r); err != nil {
			t.Fatal(err)
		}
	}
}
