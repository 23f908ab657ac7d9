package lifespan

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Without readings, factors or standing, the quantiles are the prior's closed
// form, and the fan is the rating curve at them.
func TestFanOfThePrior(t *testing.T) {
	lag := 1e9 // standing tells nothing
	in := Input{Material: "asphalt_strip", AgeYears: v(12), ReplacementLagYears: &lag}
	prior, _ := For("asphalt_strip")
	r, err := Estimate(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range r.AgeQuantiles {
		if want := prior.Quantile(q.P); math.Abs(q.AgeYears-want) > 2e-5*want {
			t.Errorf("the %v quantile is %v, want %v", q.P, q.AgeYears, want)
		}
	}
	fan, err := Fan(in, []float64{0, 6, 12, 40})
	if err != nil {
		t.Fatal(err)
	}
	if fan.Ages[0].Low != 100 || fan.TodayYears != 12 || fan.Line != UsualLine {
		t.Errorf("%+v", fan)
	}
	want := 100 - (100-UsualLine)*math.Pow(6/prior.Quantile(0.5), UsualPower)
	if math.Abs(fan.Ages[1].Middle-want) > 1e-3 {
		t.Errorf("at 6 years %v, want %v", fan.Ages[1].Middle, want)
	}
	if _, err := Fan(in, []float64{1, -1}); err == nil || !strings.Contains(err.Error(), "ages[1]") {
		t.Errorf("got %v", err)
	}
}

// The fan is in order, never rises with age, and each quantile of T is above the
// one before.
func TestFanIsInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := Input{Material: "asphalt_laminated", EarliestAgeYears: v(rapid.Float64Range(0, 40).Draw(t, "age"))}
		in.LatestAgeYears = v(*in.EarliestAgeYears + rapid.SampledFrom([]float64{0, 1, 10}).Draw(t, "width"))
		for range rapid.IntRange(0, 4).Draw(t, "readings") {
			in.Readings = append(in.Readings, Reading{YearsAgo: rapid.Float64Range(0, *in.EarliestAgeYears).Draw(t, "ago"), Rating: rapid.Float64Range(0, 100).Draw(t, "rating")})
		}
		r, err := Estimate(in)
		if err != nil {
			t.Fatal(err)
		}
		for i := 1; i < len(r.AgeQuantiles); i++ {
			if !(r.AgeQuantiles[i].AgeYears > r.AgeQuantiles[i-1].AgeYears) {
				t.Fatalf("quantiles %+v", r.AgeQuantiles[i-1:i+1])
			}
		}
		fan, err := Fan(in, []float64{0, 1, 5, 20, 80, 300})
		if err != nil || len(fan.Readings) != len(in.Readings) {
			t.Fatalf("%+v, %v", fan, err)
		}
		for i, f := range fan.Ages {
			if !(f.Low <= f.Lower && f.Lower <= f.Middle && f.Middle <= f.Upper && f.Upper <= f.High && f.High <= 100 && f.Low >= 0) {
				t.Fatalf("out of order: %+v", f)
			}
			if i > 0 && (f.High > fan.Ages[i-1].High || f.Low > fan.Ages[i-1].Low) {
				t.Fatalf("rises with age: %+v, %+v", fan.Ages[i-1], f)
			}
		}
	})
}

// A reading stands in the fan with eight in ten of what it may have been, on the scale
// of errors. By hand: 98 lies at 4 of it, 3 at 6, and from there the rest is by √2 to the point.
func TestFanReadingsOnTheScale(t *testing.T) {
	in := Input{AgeYears: v(20), Readings: []Reading{{Name: "new", YearsAgo: 18, Rating: 98}, {Name: "worn", Rating: 60, ErrorPoints: v(12)}}}
	for _, c := range []struct {
		nearNew   *float64
		low, high [2]float64
	}{
		{nil, [2]float64{97 - (4+10*z90-6)/math.Sqrt2, 60 - 12*z90}, [2]float64{100, 60 + 12*z90}},
		{v(1), [2]float64{98 - 10*z90, 60 - 12*z90}, [2]float64{100, 60 + 12*z90}},
	} {
		in.NearNewShare = c.nearNew
		fan, err := Fan(in, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, r := range fan.Readings {
			near(t, r.Name+" low", r.Low, c.low[i], 1e-12)
			near(t, r.Name+" high", r.High, c.high[i], 1e-12)
		}
	}
}
