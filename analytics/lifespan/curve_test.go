package lifespan

import (
	"math"
	"math/rand/v2"
	"testing"
)

// curvedCompany makes standing roofs whose readings follow a curve of a power.
func curvedCompany(n int, seed uint64, power, longer float64) []Input {
	dice := rand.New(rand.NewPCG(seed, 3))
	var out []Input
	for len(out) < n {
		in := Input{Material: "asphalt_laminated", ReplacementLagYears: v(0.0), SharedShare: v(0.0), AgeYears: v(8 + 20*dice.Float64())}
		prior, _ := For(in.Material)
		T := longer * prior.Quantile(dice.Float64())
		if T < *in.AgeYears {
			continue
		}
		for range 1 + dice.IntN(3) {
			ago := *in.AgeYears * 0.5 * dice.Float64()
			r := readAs(100-(100-UsualLine)*math.Pow((*in.AgeYears-ago)/T, power), 8*dice.NormFloat64())
			if dice.Float64() < UsualGrossShare {
				r = grossRead(dice)
			}
			in.Readings = append(in.Readings, Reading{YearsAgo: ago, Rating: r, ErrorPoints: v(8.0)})
		}
		out = append(out, in)
	}
	return out
}

// Readings of many roofs tell the company's own curve, also where its roofs last
// longer than the table's; a handful hardly moves it.
func TestFitCurve(t *testing.T) {
	var e Estimator
	for _, c := range []struct {
		power, longer float64
		n             int
		low, high     float64
	}{
		{1.0, 1, 400, 0.93, 1.07},
		{1.5, 1, 400, 1.4, 1.6},
		{2.5, 1, 400, 2.3, 2.7},
		{2.5, 1.15, 400, 2.3, 2.7},
		{2.5, 1, 3, 1.5, 2.4},
	} {
		var sum, inside float64
		const times = 5
		for seed := range uint64(times) {
			f, err := e.FitCurve(curvedCompany(c.n, seed, c.power, c.longer))
			if err != nil {
				t.Fatal(err)
			}
			sum += f.Power
			if f.Low <= c.power && c.power <= f.High {
				inside++
			}
			if f.Coverings != c.n || f.Readings < c.n || f.Low >= f.Power || f.High <= f.Power {
				t.Errorf("%+v", f)
			}
		}
		t.Logf("power %v, lives %v times the table's, %d roofs: found %.3f on average, %v of %d ranges hold it", c.power, c.longer, c.n, sum/times, inside, times)
		if mean := sum / times; mean < c.low || mean > c.high {
			t.Errorf("power %v of %d roofs: %.3f", c.power, c.n, mean)
		}
	}
	if f, err := e.FitCurve(nil); f != nil || err != nil {
		t.Errorf("of nothing: %+v, %v", f, err)
	}
	if f, err := e.FitCurve([]Input{{AgeYears: v(5.0)}}); f != nil || err != nil {
		t.Errorf("without readings: %+v, %v", f, err)
	}
	if _, err := e.FitCurve([]Input{{AgeYears: v(5.0)}, {AgeYears: v(-1.0)}}); err == nil || err.Error() != "fitting the rating curve: coverings[1].age_years: must lie between 0 and 300, not -1" {
		t.Errorf("%v", err)
	}
}

func BenchmarkFitCurve(b *testing.B) {
	of := curvedCompany(600, 1, 2, 1)
	var e Estimator
	for b.Loop() {
		if _, err := e.FitCurve(of); err != nil {
			b.Fatal(err)
		}
	}
}
