package lifespan

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"overhang/analytics/wear"
)

// errors is the usual scale of errors.
var errors = func() wear.Scale {
	s, err := wear.ScaleOf(wear.UsualNearNewShare)
	if err != nil {
		panic(err)
	}
	return s
}()

// above is how far above a rating another lies that was read, on the scale of errors.
func above(rating, read float64) float64 {
	return errors.Stretched(100-rating) - errors.Stretched(100-read)
}

// readAs is what is read of a rating by an error on that scale; one off its ends is
// written as the end. grossRead is any, alike on it.
func readAs(rating, off float64) float64 {
	return 100 - errors.Fall(min(max(errors.Stretched(100-rating)-off, 0), errors.Most))
}

func grossRead(dice *rand.Rand) float64 { return 100 - errors.Fall(errors.Most*dice.Float64()) }

// grossBeside is the likelihood of a gross reading beside that of one right on the curve.
func grossBeside(gross, sd float64) float64 { return gross * sd * math.Sqrt(2*math.Pi) / errors.Most }

// known is a roof of a company whose truth is known.
type known struct {
	in    Input
	T     float64
	count int // readings
}

// companyOf makes standing roofs by the model as the documentation writes it
// down: T by the prior times its factors, an age given beforehand, standing
// through the lag, readings by a few people with what their eyes share. Gross is
// the share of readings that show any rating alike.
func companyOf(n int, seed uint64, gross float64) []known {
	const lag = 2.0
	dice := rand.New(rand.NewPCG(seed, 7))
	kinds := []string{"asphalt_strip", "asphalt_laminated", "asphalt_interlocking"}
	var out []known
	for len(out) < n {
		in := Input{Material: kinds[dice.IntN(len(kinds))], ReplacementLagYears: v(lag)}
		prior, _ := For(in.Material)
		T := prior.Quantile(dice.Float64())
		for f := range 3 {
			mid := 0.88 + 0.2*dice.Float64()
			factor := Factor{Name: fmt.Sprint(f), Low: mid * 0.93, Mid: mid, High: mid * 1.08}
			T *= math.Exp(factor.logMean() + math.Sqrt(factor.logVariance())*dice.NormFloat64())
			in.Factors = append(in.Factors, factor)
		}
		age := 1 + 34*dice.Float64()
		if T < age && dice.Float64() > math.Exp(-(age-T)/lag) {
			continue // torn off by then
		}
		in.AgeYears = &age
		k := known{T: T, count: dice.IntN(6)}
		eyes := [3]float64{dice.NormFloat64(), dice.NormFloat64(), dice.NormFloat64()}
		for range k.count {
			eye := dice.IntN(len(eyes))
			r := Reading{YearsAgo: age * dice.Float64() * 0.6, By: fmt.Sprint(eye), ErrorPoints: v([]float64{6, 8, 10, 14}[dice.IntN(4)])}
			sd := *r.ErrorPoints
			r.Rating = readAs(max(100-(100-UsualLine)*math.Pow((age-r.YearsAgo)/T, UsualPower), 0),
				sd*(math.Sqrt(UsualSharedShare)*eyes[eye]+math.Sqrt(1-UsualSharedShare)*dice.NormFloat64()))
			if dice.Float64() < gross {
				r.Rating = grossRead(dice)
			}
			in.Readings = append(in.Readings, r)
		}
		k.in = in
		out = append(out, k)
	}
	return out
}

// slopedCompanyOf makes standing roofs of two to four slopes by the model as the
// documentation writes it down: the roof's T by the prior times its factors is that
// of its worst slope, which is any of them alike; the others outlast it by their own
// part, half-normal on ln T. Looks by a few people tell all slopes apart or read the
// roof as a whole, which is its worst slope.
func slopedCompanyOf(n int, seed uint64, gross float64) []known {
	const lag = 2.0
	dice := rand.New(rand.NewPCG(seed, 8))
	kinds := []string{"asphalt_strip", "asphalt_laminated", "asphalt_interlocking"}
	var out []known
	for len(out) < n {
		in := Input{Material: kinds[dice.IntN(len(kinds))], ReplacementLagYears: v(lag)}
		prior, _ := For(in.Material)
		mid := 0.85 + 0.25*dice.Float64()
		factor := Factor{Name: "all", Low: mid * 0.88, Mid: mid, High: mid * 1.13}
		in.Factors = []Factor{factor}
		T := prior.Quantile(dice.Float64()) * math.Exp(factor.logMean()+math.Sqrt(factor.logVariance())*dice.NormFloat64())
		age := 1 + 34*dice.Float64()
		if T < age && dice.Float64() > math.Exp(-(age-T)/lag) {
			continue // torn off by then
		}
		in.AgeYears = &age
		slopes := make([]float64, 2+dice.IntN(3))
		worst := dice.IntN(len(slopes))
		for i := range slopes {
			if slopes[i] = T; i != worst {
				slopes[i] *= math.Exp(SlopeSpread * math.Abs(dice.NormFloat64()))
			}
		}
		eyes := [2]float64{dice.NormFloat64(), dice.NormFloat64()}
		read := func(ago, life float64, eye int, slope string, sd float64) {
			r := Reading{YearsAgo: ago, By: fmt.Sprint(eye), ErrorPoints: &sd, Slope: slope}
			r.Rating = readAs(max(100-(100-UsualLine)*math.Pow((age-ago)/life, UsualPower), 0),
				sd*(math.Sqrt(UsualSharedShare)*eyes[eye]+math.Sqrt(1-UsualSharedShare)*dice.NormFloat64()))
			if dice.Float64() < gross {
				r.Rating = grossRead(dice)
			}
			in.Readings = append(in.Readings, r)
		}
		for range dice.IntN(4) {
			ago, eye, sd := age*dice.Float64()*0.6, dice.IntN(len(eyes)), []float64{6, 8, 10, 14}[dice.IntN(4)]
			if dice.Float64() < 0.3 {
				read(ago, T, eye, "", sd)
				continue
			}
			for i, life := range slopes {
				read(ago, life, eye, fmt.Sprint("slope ", i), sd)
			}
		}
		out = append(out, known{in: in, T: T, count: len(in.Readings)})
	}
	return out
}

// covered says how often T lies in the range that is said to hold it eight times
// in ten, by a key.
func covered(t *testing.T, roofs []known, by func(known) string) map[string][2]float64 {
	t.Helper()
	inside := make([]bool, len(roofs))
	var all sync.WaitGroup
	var next atomic.Int64
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			var e Estimator
			for i := int(next.Add(1)) - 1; i < len(roofs); i = int(next.Add(1)) - 1 {
				r, err := e.Estimate(roofs[i].in)
				if err != nil {
					t.Error(err)
				}
				inside[i] = roofs[i].T >= r.WornOutAge.Low && roofs[i].T <= r.WornOutAge.High
			}
		})
	}
	all.Wait()
	out := map[string][2]float64{} // hits, roofs
	for i, k := range roofs {
		c := out[by(k)]
		if inside[i] {
			c[0]++
		}
		c[1]++
		out[by(k)] = c
	}
	return out
}

// A synthetic company of 20,000 roofs with known truth: the 80 % range covers 78
// to 82 % of all, and 76 to 84 % in each band of age and count of readings; with
// a tenth of the readings grossly wrong, twice what the model takes, still 77 to
// 83 %.
func TestCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("takes many estimates")
	}
	all := func(known) string { return "all" }
	coveredEverywhere(t, companyOf(20_000, 1, UsualGrossShare), func(k known) string { return fmt.Sprint(k.count, " readings") })
	c := covered(t, companyOf(20_000, 2, 0.1), all)["all"]
	if share := c[0] / c[1]; share < 0.77 || share > 0.83 {
		t.Errorf("with a tenth grossly wrong %.1f %% covered", 100*share)
	}
	t.Logf("with a tenth grossly wrong covered %.2f %%", 100*c[0]/c[1])
}

// The same of roofs whose slopes were told apart.
func TestCoverageWithSlopes(t *testing.T) {
	if testing.Short() {
		t.Skip("takes many estimates")
	}
	coveredEverywhere(t, slopedCompanyOf(20_000, 11, UsualGrossShare), func(k known) string {
		switch {
		case k.count > 6:
			return "7 readings and more"
		case k.count > 3:
			return "4 to 6 readings"
		case k.count > 0:
			return "1 to 3 readings"
		}
		return "no readings"
	})
}

// coveredEverywhere holds the cover of the 80 % range to 78 to 82 % of all roofs and
// 76 to 84 % of each band of seven years of age and of each count of readings, and
// prints it. Where both are told apart a small cell is held to four standard errors.
func coveredEverywhere(t *testing.T, roofs []known, counts func(known) string) {
	t.Helper()
	bands := func(k known) string {
		from := math.Floor(*k.in.AgeYears/7) * 7
		return fmt.Sprintf("age %2.0f to %2.0f", from, from+7)
	}
	all := map[string][2]float64{}
	byCell := covered(t, roofs, func(k known) string { return bands(k) + ", " + counts(k) })
	for cell, c := range byCell {
		band, count, _ := strings.Cut(cell, ", ")
		for _, key := range []string{"all", band, count} {
			all[key] = [2]float64{all[key][0] + c[0], all[key][1] + c[1]}
		}
	}
	hold := func(of map[string][2]float64, slack func(key string, roofs float64) float64) {
		for _, key := range slices.Sorted(maps.Keys(of)) {
			c := of[key]
			t.Logf("%s: covered %.2f %% of %v", key, 100*c[0]/c[1], c[1])
			if share := c[0] / c[1]; math.Abs(share-0.8) > slack(key, c[1]) {
				t.Errorf("%s: %.1f %% of %v covered", key, 100*share, c[1])
			}
		}
	}
	hold(byCell, func(_ string, roofs float64) float64 { return max(0.04, 4*math.Sqrt(0.8*0.2/roofs)) })
	hold(all, func(key string, _ float64) float64 {
		if key == "all" {
			return 0.02
		}
		return 0.04
	})
}

// The width of the range against that of the true model's own posterior, by
// sampling: T drawn from the prior, weighed by how likely all that was seen is,
// with it which slope is the worst, by how much the others outlast it, and what the
// eyes share. The mean width is within a twentieth of the model's own.
func TestWidthIsTheModelsOwn(t *testing.T) {
	if testing.Short() {
		t.Skip("takes many draws")
	}
	for name, roofs := range map[string][]known{"as a whole": companyOf(400, 4, UsualGrossShare), "slope by slope": slopedCompanyOf(400, 12, UsualGrossShare)} {
		var ours, own float64
		looked := 0
		for i, k := range roofs {
			if k.count == 0 {
				continue
			}
			looked++
			r := estimate(t, k.in)
			ours += r.WornOutAge.High - r.WornOutAge.Low
			own += ownWidth(k.in, rand.New(rand.NewPCG(3, uint64(i))))
		}
		ratio := ours / own
		t.Logf("%s: the ranges of %d roofs that were looked at are %.4f times as wide as the model's own", name, looked, ratio)
		if looked < 250 || math.Abs(ratio-1) > 0.05 {
			t.Errorf("%s: our ranges are %.3f times as wide as the model's own, over %d roofs", name, ratio, looked)
		}
	}
}

// ownWidth is the width of the range as the model has it, by draws.
func ownWidth(in Input, dice *rand.Rand) float64 {
	prior, _ := For(in.Material)
	slopes, eyes := map[string]int{}, map[string]int{}
	type seen struct {
		Reading
		slope, eye int // slope −1: the roof
		sd         float64
	}
	var readings []seen
	for _, x := range in.Readings {
		s := seen{Reading: x, slope: -1, sd: *x.ErrorPoints}
		if x.Slope != "" {
			if _, known := slopes[x.Slope]; !known {
				slopes[x.Slope] = len(slopes)
			}
			s.slope = slopes[x.Slope]
		}
		if _, known := eyes[x.By]; !known {
			eyes[x.By] = len(eyes)
		}
		s.eye = eyes[x.By]
		readings = append(readings, s)
	}
	const draws = 60_000
	type draw struct{ T, w float64 }
	all := make([]draw, draws)
	total := 0.0
	longer, shares := make([]float64, len(slopes)), make([]float64, len(eyes))
	for i := range all {
		T := prior.Quantile((float64(i) + dice.Float64()) / draws)
		for _, f := range in.Factors {
			T *= math.Exp(f.logMean() + math.Sqrt(f.logVariance())*dice.NormFloat64())
		}
		w := math.Exp(-max(*in.AgeYears-T, 0) / *in.ReplacementLagYears)
		for s := range longer {
			longer[s] = math.Exp(SlopeSpread * math.Abs(dice.NormFloat64()))
		}
		if len(slopes) > 0 {
			longer[dice.IntN(len(slopes))] = 1
		}
		for e := range shares {
			shares[e] = dice.NormFloat64()
		}
		for _, x := range readings {
			life := T
			if x.slope >= 0 {
				life *= longer[x.slope]
			}
			own := x.sd * math.Sqrt(1-UsualSharedShare)
			z := (above(max(100-(100-UsualLine)*math.Pow((*in.AgeYears-x.YearsAgo)/life, UsualPower), 0), x.Rating) - shares[x.eye]*x.sd*math.Sqrt(UsualSharedShare)) / own
			w *= (1-UsualGrossShare)*math.Exp(-z*z/2) + grossBeside(UsualGrossShare, own)
		}
		all[i] = draw{T, w}
		total += w
	}
	sortBy(all, func(d draw) float64 { return d.T })
	at := func(q float64) float64 {
		sum := 0.0
		for _, d := range all {
			if sum += d.w; sum >= q*total {
				return d.T
			}
		}
		return all[draws-1].T
	}
	return at(0.9) - at(0.1)
}

func sortBy[T any](list []T, key func(T) float64) {
	slices.SortFunc(list, func(a, b T) int {
		switch {
		case key(a) < key(b):
			return -1
		case key(a) > key(b):
			return 1
		}
		return 0
	})
}

func TestNextLook(t *testing.T) {
	in := Input{Material: "asphalt_laminated", AgeYears: v(20)}
	street, err := Worth(NextLook{Input: in, ErrorPoints: 16})
	if err != nil {
		t.Fatal(err)
	}
	walk, err := Worth(NextLook{Input: in, ErrorPoints: 6})
	if err != nil {
		t.Fatal(err)
	}
	if !(walk.Narrowing > street.Narrowing && street.Narrowing > 0 && walk.Narrowing < walk.WidthNow) {
		t.Errorf("a walk is worth %v, a look from the street %v", walk, street)
	}
	// The mean over what may be found, by drawing what is found.
	dice := rand.New(rand.NewPCG(5, 5))
	now := estimate(t, in)
	sum, n := 0.0, 0
	prior, _ := For(in.Material)
	var e Estimator
	for n < 1500 {
		T := prior.Quantile(dice.Float64())
		if T < 20 && dice.Float64() > math.Exp(-(20-T)/UsualLagYears) {
			continue
		}
		next := in
		rating := readAs(max(100-(100-UsualLine)*math.Pow(20/T, UsualPower), 0), 6*dice.NormFloat64())
		next.Readings = []Reading{{Rating: rating, ErrorPoints: v(6)}}
		r, err := e.Estimate(next)
		if err != nil {
			t.Fatal(err)
		}
		sum, n = sum+r.YearsLeft.High-r.YearsLeft.Low, n+1
	}
	near(t, "width now", walk.WidthNow, now.YearsLeft.High-now.YearsLeft.Low, 1e-12)
	near(t, "width after a walk", walk.WidthAfter, sum/float64(n), 0.05)
	// Another look by the same eye is worth less than one by another.
	in.Readings = []Reading{{Rating: 50, ErrorPoints: v(6), By: "a"}}
	same, _ := Worth(NextLook{Input: in, ErrorPoints: 6, By: "a"})
	other, _ := Worth(NextLook{Input: in, ErrorPoints: 6, By: "b"})
	if same.Narrowing >= other.Narrowing {
		t.Errorf("the same eye narrows by %v, another by %v", same.Narrowing, other.Narrowing)
	}
	if _, err := Worth(NextLook{Input: in}); err == nil {
		t.Error("a look without its error is weighed")
	}
}

func TestWhatIf(t *testing.T) {
	none, _ := Ventilation(v(0))
	met, _ := Ventilation(v(1))
	left := Range{Low: 3, Middle: 10, High: 18}
	g, err := WhatIf(left, Change{Name: "ventilation", Now: []Factor{none}, Then: []Factor{met}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "gain", g.Years.Middle, 10*(1/0.935-1), 1e-9)
	if !(g.Years.Low < g.Years.Middle && g.Years.Middle < g.Years.High && g.Years.Low > 0) {
		t.Errorf("gain %+v", g.Years)
	}
	if g, _ := WhatIf(Range{}, Change{Now: []Factor{none}, Then: []Factor{met}}); g.Years != (Range{}) {
		t.Errorf("a covering past its line gains %+v", g.Years)
	}
	if _, err := WhatIf(left, Change{Then: []Factor{{Name: "x"}}}); err == nil {
		t.Error("a factor of nought is taken")
	}
}
