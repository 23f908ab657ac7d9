package lifespan

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func estimate(t interface {
	Helper()
	Fatal(...any)
}, in Input) Result {
	t.Helper()
	r, err := Estimate(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*max(math.Abs(want), 1e-300)) {
		t.Errorf("%s = %.12g, want %.12g (off by %.2g of it)", what, got, want, math.Abs(got-want)/math.Abs(want))
	}
}

// Conditional Weibull: quantiles left, mean left, chance within 5 years, hazard.
// Source: computed in R 4.2.2 for this table, the mean by integrate() and by the
// incomplete gamma function.
var conditional = []struct {
	k, eta, age                            float64
	survival, p10, p50, p90, mean, in5, hz float64
}{
	{2.5, 22, 15, 0.68122764327494, 1.5281445215693, 7.6626096741469, 17.665836763954, 8.8020555661068, 0.33244057082067, 0.063976458459047},
	{4, 25, 18, 0.76434305937816, 1.5517964600591, 6.758303379317, 13.657688018387, 7.2736432463482, 0.3608744723497, 0.05971968},
	{1.5, 30, 0, 1, 6.6922657691075, 23.49659306324, 52.311645407892, 27.082358788528, 0.065778186950586, 0},
	{1, 20, 10, 0.60653065971263, 2.1072103131565, 13.862943611199, 46.051701859881, 20, 0.2211992169286, 0.05},
}

func TestClosedForms(t *testing.T) {
	for _, c := range conditional {
		p := Prior{Shape: c.k, ScaleYears: c.eta}
		near(t, "survival", p.Survival(c.age), c.survival, 1e-12)
		near(t, "p10", p.QuantileLeft(c.age, 0.1), c.p10, 1e-12)
		near(t, "p50", p.QuantileLeft(c.age, 0.5), c.p50, 1e-12)
		near(t, "p90", p.QuantileLeft(c.age, 0.9), c.p90, 1e-12)
		near(t, "mean", p.MeanLeft(c.age), c.mean, 1e-12)
		near(t, "in 5", p.ChanceWithin(c.age, 5), c.in5, 1e-12)
		near(t, "hazard", p.Hazard(c.age), c.hz, 1e-12)
		// The published closed form of the median left.
		near(t, "median", p.QuantileLeft(c.age, 0.5), c.eta*math.Pow(math.Pow(c.age/c.eta, c.k)+math.Ln2, 1/c.k)-c.age, 1e-12)
	}
	// Constructed case: η 20, k 4 has mean 18.13, median 18.25, S(15) 0.729 and
	// P(5 more | 15) 0.505, to the digits printed.
	p := Prior{Shape: 4, ScaleYears: 20}
	for _, c := range []struct{ got, want, half float64 }{
		{p.MeanLeft(0), 18.13, 0.005}, {p.Quantile(0.5), 18.25, 0.005}, {p.Survival(15), 0.729, 0.0005}, {1 - p.ChanceWithin(15, 5), 0.505, 0.0005},
	} {
		if math.Abs(c.got-c.want) > c.half {
			t.Errorf("got %v, want %v", c.got, c.want)
		}
	}
	// Far out the mean left falls like 1/hazard, without 0/0.
	near(t, "far mean", p.MeanLeft(200), 1/p.Hazard(200), 1e-4)
	near(t, "across the switch", p.MeanLeft(20*math.Pow(500.001, 0.25)), p.MeanLeft(20*math.Pow(499.999, 0.25)), 1e-5)
}

// The grid against the same table: lag 0, no readings.
func TestGridAgainstClosedForms(t *testing.T) {
	for _, c := range conditional {
		tolerance := 1e-12
		if c.age == 0 {
			tolerance = 1e-6 // the grid begins above nought
		}
		prior, lag := Prior{Shape: c.k, ScaleYears: c.eta}, 0.0
		r := estimate(t, Input{Prior: &prior, AgeYears: &c.age, ReplacementLagYears: &lag, HorizonsYears: []float64{5}})
		near(t, "p10", r.YearsLeft.Low, c.p10, tolerance)
		near(t, "p50", r.YearsLeft.Middle, c.p50, tolerance)
		near(t, "p90", r.YearsLeft.High, c.p90, tolerance)
		near(t, "mean", r.MeanYearsLeft, c.mean, tolerance)
		near(t, "in 5", r.ChanceIn5, c.in5, tolerance)
		near(t, "horizon 5", r.Chances[0].Chance, c.in5, tolerance)
		near(t, "age at the line", r.WornOutAge.Middle, c.p50+c.age, tolerance)
		if r.ChancePast != 0 {
			t.Errorf("past %v with lag 0", r.ChancePast)
		}
	}
	prior, age, lag := Prior{Shape: 4, ScaleYears: 20}, 15.0, 0.0
	r := estimate(t, Input{Prior: &prior, AgeYears: &age, ReplacementLagYears: &lag})
	near(t, "P(5 more | 15)", 1-r.ChanceIn5, prior.Survival(20)/prior.Survival(15), 1e-12)
}

func v(x float64) *float64 { return &x }

// T ~ Weibull(4, 22), alive at 15, readings 62 at 12 and 50 at 15 with error 8
// on 100·(1−(a/T)^1.5). Source: a run of R, integrate() to a relative 1e-12;
// testdata/fixtures.R.
func TestReadingsFixture(t *testing.T) {
	prior := Prior{Shape: 4, ScaleYears: 22}
	in := Input{Prior: &prior, AgeYears: v(15), ReplacementLagYears: v(0), LineRating: v(0), GrossShare: v(0), SharedShare: v(0), NearNewShare: v(1)}
	r := estimate(t, in)
	near(t, "mean without readings", r.WornOutAge.Mean, 21.89151499, 3e-10)
	near(t, "median without readings", r.WornOutAge.Middle, 21.48297054, 3e-10)
	in.Readings = []Reading{{YearsAgo: 3, Rating: 62, ErrorPoints: v(8)}, {YearsAgo: 0, Rating: 50, ErrorPoints: v(8)}}
	r = estimate(t, in)
	near(t, "mean", r.WornOutAge.Mean, 23.62283284, 3e-10)
	near(t, "sd", r.WornOutAge.SD, 1.886799329, 3e-10)
	near(t, "p10", r.WornOutAge.Low, 21.33413483, 2e-10)
	near(t, "p50", r.WornOutAge.Middle, 23.46988044, 2e-10)
	near(t, "p90", r.WornOutAge.High, 26.10842911, 2e-10)
	near(t, "P(T<=20)", r.ChanceIn5, 0.01259453043, 3e-9)
	near(t, "left", r.YearsLeft.Middle, 23.46988044-15, 5e-10)

	// ∫ f(T)·L(T) dT from 15 on, with L the product of the two normal densities: the
	// chance of the readings of one that stands, times S(15).
	d, err := in.taken()
	if err != nil {
		t.Fatal(err)
	}
	density := 1 / (8 * math.Sqrt(2*math.Pi))
	near(t, "integral", math.Exp(new(Estimator).evidence(&d, 0))*prior.Survival(15)*density*density, 6.78543385e-4, 1e-10)
}

// A straight fall y = 100 − θ·t with an error of 4 points, θ normal about 3.5 with 1,
// readings 84 at 5, 70 at 8 and 66 at 10, worn out at 40, so T = 60/θ. In closed
// form, a run of R: testdata/fixtures.R. A prior of the table's kind does not make θ
// normal, so that density is laid on the grids here; readings, integrals and
// quantiles are those of every estimate.
func TestStraightFallFixture(t *testing.T) {
	prior := Prior{Shape: 6, ScaleYears: 19} // sets how far the grid reaches, to 35 years, and nothing else
	d, err := Input{Prior: &prior, AgeYears: v(10), ReplacementLagYears: v(0), LineRating: v(40), CurvePower: v(1), GrossShare: v(0), SharedShare: v(0), NearNewShare: v(1),
		Readings: []Reading{{YearsAgo: 5, Rating: 84, ErrorPoints: v(4)}, {YearsAgo: 2, Rating: 70, ErrorPoints: v(4)}, {YearsAgo: 0, Rating: 66, ErrorPoints: v(4)}}}.taken()
	if err != nil {
		t.Fatal(err)
	}
	p := new(Estimator).before(&d, groups{standing: true, readings: d.readings})
	normal := func(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
	grid := &p.lives[0].onward
	for i, years := range grid.years {
		grid.density[i] = normal(60/years-3.5) * 60 / years // of ln T
	}
	for i := range d.readings {
		var few eyeFew
		few.lay(d.readings[i:i+1], 10, &d)
		few.times(grid.slowness[:], grid.density[:])
	}
	p.close()
	var slope, square float64
	for i, density := range grid.density {
		w := density * weightAt(i) * grid.step / p.total
		slope, square = slope+w*60/grid.years[i], square+w*3600/(grid.years[i]*grid.years[i])
	}
	near(t, "mean of θ", slope, 3.492682927, 1e-9)
	near(t, "its sd", math.Sqrt(square-slope*slope), .2793721183, 1e-8)
	for years, want := range map[float64]float64{15: .03469141686, 17: .4477020622, 20: .9610949763} {
		got := p.chance(years, 0)
		near(t, fmt.Sprint("P(T ≤ ", years, ")"), got, want, 1e-9)
	}
	for q, want := range map[float64]float64{.1: 15.58153117, .5: 17.17877095, .9: 19.14087368} {
		near(t, fmt.Sprint("quantile ", q), p.quantile(q, 0), want, 1e-9)
	}
	near(t, "log marginal likelihood", math.Log(p.total)-3*math.Log(4*math.Sqrt(2*math.Pi)), -8.417128824, 1e-9)
}

// naive integrates the model as it is written down, by the trapezoidal rule
// over T with an inner one over the factors and an outer one over the age. It
// shares nothing with the grids but the input.
func naive(in Input, points, factorPoints, agePoints int) (chancePast float64, quantile func(q, from float64) float64) {
	t, err := in.taken()
	if err != nil {
		panic(err)
	}
	sd := math.Sqrt(t.logVariance)
	if sd == 0 {
		factorPoints = 1
	}
	scale := t.prior.ScaleYears * math.Exp(t.logMean)
	most := max(scale*math.Pow(40, 1/t.prior.Shape)*math.Exp(4*sd), 2*t.latest+40*t.prior.Hazard(t.latest))
	type point struct{ years, age, mass float64 }
	var all []point
	total, past := 0.0, 0.0
	dx := most / float64(points)
	if t.latest == t.earliest {
		agePoints = 1
	}
	for j := range agePoints {
		age := t.earliest + (float64(j)+0.5)/float64(agePoints)*(t.latest-t.earliest)
		for i := range points {
			T := (float64(i) + 0.5) * dx
			f := 0.0
			for z := range factorPoints {
				s, w := scale, 1.0
				if factorPoints > 1 {
					at := -6 + 12*float64(z)/float64(factorPoints-1)
					s, w = scale*math.Exp(sd*at), math.Exp(-at*at/2)
				}
				f += w * t.prior.Shape / s * math.Pow(T/s, t.prior.Shape-1) * math.Exp(-math.Pow(T/s, t.prior.Shape))
			}
			if T < age {
				f *= math.Exp(-(age - T) / t.lag)
			}
			for _, r := range t.readings {
				mean := max(100-(100-t.line)*math.Pow((age-r.yearsAgo)/T, t.power), 0)
				z := (t.scale.Stretched(100-mean) - r.fallen) / r.sd
				f *= (1-t.gross)*math.Exp(-z*z/2)/(r.sd*math.Sqrt(2*math.Pi)) + t.gross/t.scale.Most
			}
			total += f
			if T < age {
				past += f
			}
			all = append(all, point{T, age, f})
		}
	}
	// Of the years left when from is 1, of T when it is 0.
	return past / total, func(q, from float64) float64 {
		low, high := 0.0, most
		for range 50 {
			mid := (low + high) / 2
			below := 0.0
			for _, p := range all {
				if max(p.years-from*p.age, 0) <= mid {
					below += p.mass
				}
			}
			if below < q*total {
				low = mid
			} else {
				high = mid
			}
		}
		return (low + high) / 2
	}
}

func TestAgainstPlainIntegration(t *testing.T) {
	factors := []Factor{{Name: "a", Low: 0.8, Mid: 0.93, High: 1.02}, {Name: "b", Low: 0.9, Mid: 1.05, High: 1.2}}
	readings := []Reading{{YearsAgo: 6, Rating: 70, ErrorPoints: v(8)}, {YearsAgo: 1, Rating: 30}, {YearsAgo: 0, Rating: 95, ErrorPoints: v(12)}}
	for i, in := range []Input{
		{Material: "asphalt_strip", AgeYears: v(14)},
		{Material: "asphalt_strip", AgeYears: v(24), ReplacementLagYears: v(5)},
		{Material: "asphalt_laminated", AgeYears: v(14), Factors: factors},
		{Material: "asphalt_interlocking", AgeYears: v(22), Factors: factors, Readings: readings},
		{Material: "asphalt_strip", AgeYears: v(16), Readings: readings, GrossShare: v(0)},
		{EarliestAgeYears: v(10), LatestAgeYears: v(20), Readings: readings[2:], Factors: factors[:1]},
		{Material: "asphalt_strip", AgeYears: v(26), ReplacementLagYears: v(10), GrossShare: v(0), // far down, where the curve lies flat on 0
			Readings: []Reading{{Rating: 3, ErrorPoints: v(4)}}},
		{Material: "wood_shake", EarliestAgeYears: v(10), LatestAgeYears: v(11), ReplacementLagYears: v(0.2)},
	} {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			in.SharedShare = v(0)
			past, quantile := naive(in, 4000, 25, 20)
			r := estimate(t, in)
			if math.Abs(r.ChancePast-past) > 2e-3 {
				t.Errorf("past %v, plainly %v", r.ChancePast, past)
			}
			for q, got := range map[float64]float64{0.1: r.YearsLeft.Low, 0.5: r.YearsLeft.Middle, 0.9: r.YearsLeft.High} {
				if want := quantile(q, 1); math.Abs(got-want) > 0.04 {
					t.Errorf("quantile %v: %v, plainly %v", q, got, want)
				}
			}
			if want := quantile(0.1, 0); math.Abs(r.WornOutAge.Low-want) > 0.04 {
				t.Errorf("low age at the line: %v, plainly %v", r.WornOutAge.Low, want)
			}
		})
	}
}

func TestLagLimits(t *testing.T) {
	prior := Prior{Shape: 4, ScaleYears: 20}
	at := func(lag float64) Result {
		return estimate(t, Input{Prior: &prior, AgeYears: v(22), ReplacementLagYears: &lag})
	}
	zero, almost := at(0), at(1e-6)
	near(t, "lag to 0, low", almost.YearsLeft.Low, zero.YearsLeft.Low, 1e-5)
	near(t, "lag to 0, middle", almost.YearsLeft.Middle, zero.YearsLeft.Middle, 1e-5)
	near(t, "lag to 0, mean", almost.WornOutAge.Mean, zero.WornOutAge.Mean, 1e-6)
	for _, lag := range []float64{1e9, math.Inf(1)} {
		endless := at(lag)
		near(t, "low", endless.WornOutAge.Low, prior.Quantile(0.1), 1e-6)
		near(t, "middle", endless.WornOutAge.Middle, prior.Quantile(0.5), 1e-6)
		near(t, "high", endless.WornOutAge.High, prior.Quantile(0.9), 1e-6)
		near(t, "mean", endless.WornOutAge.Mean, prior.MeanLeft(0), 1e-6)
		near(t, "past", endless.ChancePast, 1-prior.Survival(22), 1e-6)
	}
	// Closed form with a lag: exponential life, hazard 1/20, age 10, lag 5:
	// ∫₀¹⁰ e^(−T/20)/20·e^(−(10−T)/5) dT = (e^−½ − e^−2)/3.
	exponential, lag := Prior{Shape: 1, ScaleYears: 20}, 5.0
	r := estimate(t, Input{Prior: &exponential, AgeYears: v(10), ReplacementLagYears: &lag})
	worn, alive := (math.Exp(-0.5)-math.Exp(-2))/3, math.Exp(-0.5)
	near(t, "past with lag", r.ChancePast, worn/(worn+alive), 2e-6)
	near(t, "in 5 with lag", r.ChanceIn5, 1-math.Exp(-0.75)/(worn+alive), 2e-6)
}

// With an endless lag the moments of T are those of a Weibull variable times
// those of a log-normal one, both textbook results:
// E(Tⁿ) = ηⁿ·Γ(1+n/k)·Midⁿ·e^(n²s²/2).
func TestFactorsMultiply(t *testing.T) {
	// The 90 % point of the standard normal is 1.2816 (any table of it).
	even := Factor{Name: "even", Low: 0.8, Mid: 1, High: 1.25}
	near(t, "90 % point", math.Exp(1.2816*math.Sqrt(even.logVariance())), even.High, 1e-4)
	prior := Prior{Shape: 3, ScaleYears: 25}
	f := Factor{Name: "a", Low: 0.7, Mid: 0.95, High: 1.3}
	g := Factor{Name: "b", Low: 0.9, Mid: 1.05, High: 1.15}
	variance := f.logVariance() + g.logVariance()
	r := estimate(t, Input{Prior: &prior, AgeYears: v(10), Factors: []Factor{f, g}, ReplacementLagYears: v(math.Inf(1))})
	mean := 25 * math.Gamma(1+1.0/3) * 0.95 * 1.05 * math.Exp(variance/2)
	near(t, "mean", r.WornOutAge.Mean, mean, 1e-6)
	second := 25 * 25 * math.Gamma(1+2.0/3) * math.Pow(0.95*1.05, 2) * math.Exp(2*variance)
	near(t, "sd", r.WornOutAge.SD, math.Sqrt(second-mean*mean), 1e-5)
	// A factor that is known only scales.
	exact := estimate(t, Input{Prior: &prior, AgeYears: v(10), Factors: []Factor{{Name: "a", Low: 0.8, Mid: 0.8, High: 0.8}}, ReplacementLagYears: v(0)})
	scaled := Prior{Shape: 3, ScaleYears: 20}
	near(t, "scaled", exact.YearsLeft.Middle, scaled.QuantileLeft(10, 0.5), 1e-6)
	// No cliff between a factor that is known and one that nearly is.
	almost := estimate(t, Input{Prior: &prior, AgeYears: v(10), Factors: []Factor{{Name: "a", Low: 0.7999, Mid: 0.8, High: 0.8001}}, ReplacementLagYears: v(0)})
	near(t, "almost known", almost.YearsLeft.Middle, exact.YearsLeft.Middle, 1e-6)
}

func TestMixtureTable(t *testing.T) {
	for _, ks := range []float64{0.02, 0.5, 1.3, 4} {
		m := newMixture(ks)
		m.tabulate(ks)
		for x := m.from + 0.013; x < m.from+m.step*float64(len(m.knots)-1); x += 0.37 {
			k := m.sum(x)
			if d := math.Abs(m.logDensity(x) - k.density); !(d < 1e-5) {
				t.Errorf("ks %v x %v: density off by %v", ks, x, d)
			}
			if h, _ := m.hazards(x); !(math.Abs(h-(m.least*math.Exp(x)-k.survival)) < 1e-5) {
				t.Errorf("ks %v x %v: hazard off", ks, x)
			}
		}
		for _, h := range []float64{1e-8, 0.1, 0.7, 5, 200} {
			got, _ := m.hazards(m.at(h))
			near(t, fmt.Sprintf("H at its own inverse, ks %v", ks), got, h, 1e-9)
		}
	}
}

// Published reading of attic ventilation: alone it moves life by 3 to 10 %.
func TestVentilationMovesLittle(t *testing.T) {
	met, err := Ventilation(v(1))
	if err != nil {
		t.Fatal(err)
	}
	none, err := Ventilation(v(0))
	if err != nil {
		t.Fatal(err)
	}
	at := func(f Factor) float64 {
		return estimate(t, Input{Material: "asphalt_strip", AgeYears: v(6), ReplacementLagYears: v(1e15), Factors: []Factor{f}}).WornOutAge.Middle
	}
	loss := 1 - at(none)/at(met)
	if !(loss >= 0.03 && loss <= 0.10) {
		t.Errorf("no ventilation costs %.1f %% of life", 100*loss)
	}
	if !(1-none.High >= 0.03-1e-9 && 1-none.Low <= 0.10+1e-9) {
		t.Errorf("the factor runs from %v to %v", none.Low, none.High)
	}
	last := 0.0
	for share := 0.0; share <= 1.5; share += 0.1 {
		f, err := Ventilation(&share)
		if err != nil {
			t.Fatal(err)
		}
		if f.Mid < last-1e-12 {
			t.Errorf("more vent area shortens life at %v", share)
		}
		last = f.Mid
	}
}

func TestFactorMakers(t *testing.T) {
	var all []Factor
	keep := func(f Factor, err error) Factor {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		if err := f.validate(); err != nil {
			t.Errorf("%s: %v", f.Name, err)
		}
		if f.Reason == "" || f.Source == "" {
			t.Errorf("%s: no reason or source", f.Name)
		}
		all = append(all, f)
		return f
	}
	width := func(f Factor) float64 { return f.High / f.Low }
	south, north := keep(Facing(v(180))), keep(Facing(v(0)))
	east, west := keep(Facing(v(90))), keep(Facing(v(270)))
	if !(west.Mid < south.Mid && south.Mid < east.Mid && east.Mid < north.Mid) {
		t.Error("west, south, east, north is not the order of heat")
	}
	if full := keep(Facing(v(360))); full.Mid != north.Mid {
		t.Error("360 is not north")
	}
	// E to W at least 1.44 °C, numerical study seen quoted; at 10 °C double.
	near(t, "east over west", east.Mid/west.Mid, math.Exp2(0.144), 1e-12)
	if width(keep(Facing(nil))) <= width(south) {
		t.Error("unknown is not wider than known")
	}
	some := keep(Ventilation(v(0.5)))
	if width(keep(Ventilation(nil))) <= width(some) {
		t.Error("unknown ventilation is not wider")
	}
	for name, err := range map[string]error{
		"ventilation share": second(Ventilation(v(-1))), "azimuth": second(Facing(v(400))),
	} {
		if err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: error %v", name, err)
		}
	}
}

func second(_ Factor, err error) error { return err }

func TestTable(t *testing.T) {
	keys := "asphalt_strip asphalt_laminated asphalt_interlocking asphalt_organic wood_shake metal tile slate low_slope_membrane unknown"
	if got := strings.Join(tableKeys(), " "); got != keys {
		t.Errorf("keys %s", got)
	}
	ratio := func(p Prior) float64 { return p.Quantile(0.9) / p.Quantile(0.1) }
	strip, _ := For("asphalt_strip")
	for _, k := range Table() {
		if err := k.Prior.validate(); err != nil {
			t.Errorf("%s: %v", k.Key, err)
		}
		if len(k.Prior.Source) < 40 {
			t.Errorf("%s: no source", k.Key)
		}
	}
	for _, key := range []string{"asphalt_interlocking", Unknown} {
		p, _ := For(key)
		if ratio(p) < 1.5*ratio(strip) {
			t.Errorf("%s is not wide", key)
		}
	}
	interlocking, _ := For("asphalt_interlocking")
	if !strings.Contains(interlocking.Source, "No published figure was found") {
		t.Error("interlocking does not say that nothing was published")
	}
	p := Spread(18, 12, 25, "")
	near(t, "median", p.Quantile(0.5), 18, 1e-12)
	near(t, "spread", ratio(p), 25.0/12, 1e-12)
	Table()[0].Key = "changed"
	if table[0].Key != "asphalt_strip" {
		t.Error("the table can be changed from outside")
	}
}

func TestReasonsAddUp(t *testing.T) {
	vent, _ := Ventilation(v(0.2))
	in := Input{Material: "asphalt_strip", AgeYears: v(16), Factors: []Factor{vent},
		Readings: []Reading{{YearsAgo: 0, Rating: 20, Name: "this spring"}, {YearsAgo: 5, Rating: 60}}}
	r := estimate(t, in)
	if r.Reasons != nil {
		t.Error("reasons are given to who did not ask")
	}
	in.Explain = true
	r = estimate(t, in)
	var kinds, names []string
	sum := 0.0
	for _, reason := range r.Reasons {
		kinds, names = append(kinds, reason.Kind), append(names, reason.Name)
		sum += reason.EffectYears
	}
	if got := strings.Join(kinds, " "); got != "prior factor standing reading reading" {
		t.Errorf("kinds %s", got)
	}
	if names[3] != "reading 2" || names[4] != "this spring" {
		t.Errorf("readings are not in the order of time: %v", names)
	}
	near(t, "the sum of the reasons", sum, r.WornOutAge.Middle, 1e-12)
	if r.Reasons[1].EffectYears >= 0 || r.Reasons[2].EffectYears <= 0 {
		t.Errorf("signs: ventilation %v, standing %v", r.Reasons[1].EffectYears, r.Reasons[2].EffectYears)
	}
	if !strings.Contains(r.Says, "estimate") || !strings.Contains(r.Says, "fall protection") {
		t.Error("the result does not say what it is")
	}
}

// One rating typed wrong does not carry the estimate away.
func TestGrossError(t *testing.T) {
	base := Input{Material: "asphalt_strip", AgeYears: v(16), Readings: []Reading{
		{YearsAgo: 4, Rating: 55}, {YearsAgo: 2, Rating: 47}, {YearsAgo: 0, Rating: 38}}}
	wrong := base
	wrong.Readings = append(append([]Reading{}, base.Readings...), Reading{YearsAgo: 0, Rating: 100, ErrorPoints: v(6)})
	plain := wrong
	plain.GrossShare = v(0)
	without, robust, carried := estimate(t, base), estimate(t, wrong), estimate(t, plain)
	moved := math.Abs(robust.WornOutAge.Middle - without.WornOutAge.Middle)
	pure := math.Abs(carried.WornOutAge.Middle - without.WornOutAge.Middle)
	if !(moved < 0.5 && pure > 3*moved) {
		t.Errorf("moved by %v, %v without the mixture", moved, pure)
	}
}

func TestTooNewAndUnknownAge(t *testing.T) {
	for age, want := range map[float64]bool{0: true, 4.9: true, 5: false, 12: false} {
		if r := estimate(t, Input{AgeYears: &age}); r.TooNew != want {
			t.Errorf("age %v: too new %v", age, r.TooNew)
		}
	}
	r := estimate(t, Input{})
	if r.Material != Unknown || r.EarliestAge != 0 || !(r.LatestAge > 20) {
		t.Errorf("nothing known: %+v", r)
	}
	known := estimate(t, Input{AgeYears: v((r.EarliestAge + r.LatestAge) / 2)})
	if r.YearsLeft.High-r.YearsLeft.Low <= known.YearsLeft.High-known.YearsLeft.Low {
		t.Error("an unknown age is not wider than a known one")
	}
	// A look eight years ago means that it is eight at the least.
	if r := estimate(t, Input{EarliestAgeYears: v(2), LatestAgeYears: v(12), Readings: []Reading{{YearsAgo: 8, Rating: 80}}}); r.EarliestAge != 8 {
		t.Errorf("earliest %v", r.EarliestAge)
	}
}

func TestLessPrecisionIsWider(t *testing.T) {
	for _, material := range []string{"asphalt_strip", "asphalt_laminated", "metal", Unknown} {
		for _, middle := range []float64{8, 14, 20} {
			last := 0.0
			for _, half := range []float64{0, 0.5, 2, 4} {
				r := estimate(t, Input{Material: material, EarliestAgeYears: v(middle - half), LatestAgeYears: v(middle + half), ReplacementLagYears: v(1e9)})
				width := r.WornOutAge.High - r.WornOutAge.Low
				left := 0.0
				if r.YearsLeft.Low > 0 { // else the floor of 0 cuts the range
					left = r.YearsLeft.High - r.YearsLeft.Low
				}
				if width <= 0 || (left > 0 && left < last-1e-6) {
					t.Errorf("%s at %v ± %v: %v wide, was %v", material, middle, half, left, last)
				}
				last = left
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	nan := math.NaN()
	many := make([]Reading, mostReadings+1)
	for _, c := range []struct {
		in    Input
		field string
	}{
		{Input{Material: "straw"}, "material:"},
		{Input{Prior: &Prior{Shape: 0, ScaleYears: 20}}, "prior.shape:"},
		{Input{Prior: &Prior{Shape: 3, ScaleYears: nan}}, "prior.scale_years:"},
		{Input{AgeYears: v(-1)}, "age_years:"},
		{Input{AgeYears: &nan}, "age_years:"},
		{Input{AgeYears: v(3), LatestAgeYears: v(5)}, "age_years:"},
		{Input{EarliestAgeYears: v(-2)}, "age_at_least_years:"},
		{Input{EarliestAgeYears: v(9), LatestAgeYears: v(5)}, "age_at_most_years:"},
		{Input{Factors: []Factor{{Low: 1, Mid: 1, High: 1}}}, "factors[0].name:"},
		{Input{Factors: []Factor{{Name: "a", Low: 0, Mid: 1, High: 1}}}, "factors[0].low:"},
		{Input{Factors: []Factor{{Name: "a", Low: 1, Mid: 0.9, High: 1}}}, "factors[0].mid:"},
		{Input{Factors: []Factor{{Name: "a", Low: 1, Mid: 1.1, High: 1}}}, "factors[0].high:"},
		{Input{Factors: []Factor{{Name: "a", Low: 0.2, Mid: 1, High: 5}}}, "factors:"},
		{Input{Factors: make([]Factor, mostFactors+1)}, "factors:"},
		{Input{ReplacementLagYears: v(-1)}, "replacement_lag_years:"},
		{Input{ReplacementLagYears: &nan}, "replacement_lag_years:"},
		{Input{LineRating: v(95)}, "line_rating:"},
		{Input{CurvePower: v(0)}, "curve_power:"},
		{Input{GrossShare: v(0.9)}, "gross_share:"},
		{Input{AgeYears: v(10), Readings: []Reading{{YearsAgo: 11, Rating: 50}}}, "readings[0].years_ago:"},
		{Input{AgeYears: v(10), Readings: []Reading{{YearsAgo: 1, Rating: 101}}}, "readings[0].rating:"},
		{Input{AgeYears: v(10), Readings: []Reading{{YearsAgo: 1, Rating: 50, ErrorPoints: v(0)}}}, "readings[0].error_points:"},
		{Input{AgeYears: v(10), Readings: many}, "readings:"},
		{Input{HorizonsYears: []float64{1, -1}}, "horizons_years[1]:"},
		{Input{HorizonsYears: make([]float64, mostHorizons+1)}, "horizons_years:"},
	} {
		if _, err := Estimate(c.in); err == nil || !strings.Contains(err.Error(), ": "+c.field) {
			t.Errorf("error %v does not name %s", err, c.field)
		}
	}
}

func drawInput(t *rapid.T) Input {
	age := func(label string) float64 { return rapid.Float64Range(0, 200).Draw(t, label) }
	in := Input{Material: rapid.SampledFrom(append(tableKeys(), "")).Draw(t, "material")}
	if rapid.IntRange(0, 3).Draw(t, "own prior") == 0 {
		in.Prior = &Prior{Shape: rapid.Float64Range(0.5, 20).Draw(t, "shape"), ScaleYears: rapid.Float64Range(1, 500).Draw(t, "scale")}
	}
	latest := age("latest")
	switch rapid.IntRange(0, 2).Draw(t, "age") {
	case 0:
		in.AgeYears = &latest
	case 1:
		earliest := latest * rapid.Float64Range(0, 1).Draw(t, "part")
		in.EarliestAgeYears, in.LatestAgeYears = &earliest, &latest
	default:
		latest = 0
	}
	for range rapid.IntRange(0, 3).Draw(t, "factors") {
		mid := rapid.Float64Range(0.7, 1.3).Draw(t, "mid")
		in.Factors = append(in.Factors, Factor{Name: "f", Low: mid * rapid.Float64Range(0.7, 1).Draw(t, "low"), Mid: mid, High: mid * rapid.Float64Range(1, 1.4).Draw(t, "high")})
	}
	in.ReplacementLagYears = rapid.SampledFrom([]*float64{nil, v(0), v(1e-9), v(0.1), v(2), v(10), v(1e6), v(math.Inf(1))}).Draw(t, "lag")
	in.GrossShare = rapid.SampledFrom([]*float64{nil, v(0), v(1e-9), v(0.5)}).Draw(t, "gross")
	for range rapid.IntRange(0, 6).Draw(t, "readings") {
		in.Readings = append(in.Readings, Reading{YearsAgo: latest * rapid.Float64Range(0, 1).Draw(t, "ago"),
			Rating: rapid.Float64Range(0, 100).Draw(t, "rating"), ErrorPoints: v(rapid.Float64Range(2, 50).Draw(t, "error"))})
	}
	in.HorizonsYears = []float64{0, 3, 30}
	return in
}

// Every input within the bounds gives finite numbers in their places.
func TestFiniteAndOrdered(t *testing.T) {
	var shared Estimator
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t)
		r, err := shared.Estimate(in)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(r); err != nil { // refuses NaN and infinities
			t.Fatal(err)
		}
		if y := r.YearsLeft; !(0 <= y.Low && y.Low <= y.Middle && y.Middle <= y.High) || r.MeanYearsLeft < 0 {
			t.Fatalf("years left %+v, mean %v", y, r.MeanYearsLeft)
		}
		if a := r.WornOutAge; !(0 < a.Low && a.Low <= a.Middle && a.Middle <= a.High && a.SD >= 0) {
			t.Fatalf("age %+v", a)
		}
		const slack = 1e-9
		if !(0 <= r.ChancePast && r.ChancePast <= r.ChanceIn1+slack && r.ChanceIn1 <= r.ChanceIn2+slack && r.ChanceIn2 <= r.ChanceIn5+slack && r.ChanceIn5 <= 1+slack) {
			t.Fatalf("chances %v %v %v %v", r.ChancePast, r.ChanceIn1, r.ChanceIn2, r.ChanceIn5)
		}
		if math.Abs(r.Chances[0].Chance-r.ChancePast) > slack {
			t.Fatalf("within 0 years %v, past %v", r.Chances[0].Chance, r.ChancePast)
		}
	})
}

// The estimator that keeps its tables gives what a fresh one gives.
func TestSharedEstimator(t *testing.T) {
	var shared Estimator
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t)
		a, err := shared.Estimate(in)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Estimate(in)
		if err != nil {
			t.Fatal(err)
		}
		x, _ := json.Marshal(a)
		y, _ := json.Marshal(b)
		if string(x) != string(y) {
			t.Fatalf("shared %s\nfresh %s", x, y)
		}
	})
}

// plausible draws roofs whose age lies within what its covering can reach.
func plausible(t *rapid.T) Input {
	in := Input{Material: rapid.SampledFrom(tableKeys()).Draw(t, "material"), GrossShare: v(0)}
	prior, _ := For(in.Material)
	in.AgeYears = v(prior.Quantile(0.5) * rapid.Float64Range(0.05, 1.5).Draw(t, "age"))
	in.ReplacementLagYears = v(rapid.SampledFrom([]float64{0, 0.5, 3, 10, 1e9}).Draw(t, "lag"))
	return in
}

// With normal errors a better reading never shortens T: the likelihoods of two
// ratings have a monotone ratio in T.
func TestBetterReadingNeverShortens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := plausible(t)
		rating, better := rapid.Float64Range(0, 100).Draw(t, "rating"), 0.0
		better = rapid.Float64Range(rating, 100).Draw(t, "better")
		ago, sd := *in.AgeYears*rapid.Float64Range(0, 0.9).Draw(t, "ago"), rapid.Float64Range(4, 20).Draw(t, "sd")
		at := func(rating float64) Result {
			in.Readings = []Reading{{YearsAgo: ago, Rating: rating, ErrorPoints: &sd}}
			return estimate(t, in)
		}
		a, b := at(rating), at(better)
		for _, pair := range [][2]float64{{a.WornOutAge.Low, b.WornOutAge.Low}, {a.WornOutAge.Middle, b.WornOutAge.Middle}, {a.WornOutAge.High, b.WornOutAge.High},
			{a.YearsLeft.Low, b.YearsLeft.Low}, {a.YearsLeft.Middle, b.YearsLeft.Middle}, {a.YearsLeft.High, b.YearsLeft.High}, {b.ChanceIn5, a.ChanceIn5}} {
			if pair[1] < pair[0]-1e-3 {
				t.Fatalf("rating %v gives %v, %v gives %v", rating, pair[0], better, pair[1])
			}
		}
	})
}

// An older covering that stands has no shorter T, and, since its hazard rises
// (shape ≥ 1, no factors), no more years left. Both hold for every lag.
func TestOlder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := plausible(t)
		older := in
		older.AgeYears = v(*in.AgeYears * rapid.Float64Range(1, 1.5).Draw(t, "older"))
		a, b := estimate(t, in), estimate(t, older)
		for _, pair := range [][2]float64{{a.WornOutAge.Low, b.WornOutAge.Low}, {a.WornOutAge.Middle, b.WornOutAge.Middle}, {a.WornOutAge.High, b.WornOutAge.High},
			{b.YearsLeft.Low, a.YearsLeft.Low}, {b.YearsLeft.Middle, a.YearsLeft.Middle}, {b.YearsLeft.High, a.YearsLeft.High},
			{a.ChancePast, b.ChancePast}, {a.ChanceIn5, b.ChanceIn5}} {
			if pair[1] < pair[0]-1e-5*max(1, pair[0]) {
				t.Fatalf("%v years: %+v\n%v years: %+v", *in.AgeYears, a, *older.AgeYears, b)
			}
		}
	})
}

// A factor known less well widens T as a ratio.
func TestWiderFactorWidens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := plausible(t)
		in.ReplacementLagYears = v(math.Inf(1))
		at := func(spread float64) float64 {
			in.Factors = []Factor{{Name: "f", Low: 1 / spread, Mid: 1, High: spread}}
			r := estimate(t, in)
			return r.WornOutAge.High / r.WornOutAge.Low
		}
		narrow := rapid.Float64Range(1, 1.5).Draw(t, "narrow")
		wide := rapid.Float64Range(narrow, 1.6).Draw(t, "wide")
		if a, b := at(narrow), at(wide); b < a*(1-1e-6) {
			t.Fatalf("spread %v gives %v, %v gives %v", narrow, a, wide, b)
		}
	})
}

// The effects are those of the definition, the mean over every order, and do
// not depend on the order in which evidence is told; evidence that says nothing
// has none, and two readings alike share alike.
func TestReasonsAreShapleyValues(t *testing.T) {
	in := Input{Material: "asphalt_laminated", AgeYears: v(21), Explain: true, SharedShare: v(0.4), Factors: []Factor{
		{Name: "a", Class: Design, Low: 0.9, Mid: 0.95, High: 1}, {Name: "b", Class: Outdoor, Low: 0.9, Mid: 1.1, High: 1.2}, {Name: "c", Class: Use, Low: 1, Mid: 1, High: 1}},
		Readings: []Reading{{YearsAgo: 1, Rating: 50, By: "x"}, {YearsAgo: 1, Rating: 50, By: "y"}, {YearsAgo: 6, Rating: 70, By: "x"}}}
	reasons := estimate(t, in).Reasons
	effect := map[string]float64{}
	for _, r := range reasons[1:] {
		effect[r.Name] = r.EffectYears
	}
	near(t, "a factor of 1 with no doubt", effect["c"]+1, 1, 1e-9)

	// All orders of the five that matter, by the estimate itself.
	names := []string{"a", "b", "standing today", "reading 1", "reading 2", "reading 3"}
	median := func(told map[string]bool) float64 {
		x := in
		x.Explain, x.Factors, x.Readings = false, nil, nil
		for _, f := range in.Factors {
			if told[f.Name] {
				x.Factors = append(x.Factors, f)
			}
		}
		for i, r := range in.Readings {
			if told[fmt.Sprintf("reading %d", i+1)] {
				x.Readings = append(x.Readings, r)
			}
		}
		if !told["standing today"] {
			x.ReplacementLagYears = v(1e15)
		}
		return estimate(t, x).WornOutAge.Middle
	}
	want, orders := map[string]float64{}, 0
	var walk func(rest []string, told map[string]bool, before float64)
	walk = func(rest []string, told map[string]bool, before float64) {
		if len(rest) == 0 {
			orders++
			return
		}
		for i, name := range rest {
			told[name] = true
			after := median(told)
			others := slices.Concat(rest[:i], rest[i+1:])
			n := 1.0
			for k := range len(others) {
				n *= float64(k + 1)
			}
			want[name] += n * (after - before)
			walk(others, told, after)
			delete(told, name)
		}
	}
	walk(names, map[string]bool{}, median(map[string]bool{}))
	for _, name := range names {
		near(t, name, effect[name], want[name]/float64(orders), 2e-4)
	}

	slices.Reverse(in.Factors)
	slices.Reverse(in.Readings)
	in.Readings[0].Name, in.Readings[1].Name, in.Readings[2].Name = "reading 3", "reading 2", "reading 1"
	for _, r := range estimate(t, in).Reasons[1:] {
		near(t, r.Name+" told in another order", r.EffectYears+10, effect[r.Name]+10, 1e-9)
	}
}

// However many readings there are, the effects are told and add up.
func TestManyReasonsAreGrouped(t *testing.T) {
	in := Input{Material: "asphalt_strip", AgeYears: v(15), Explain: true}
	for i := range 9 {
		in.Factors = append(in.Factors, Factor{Name: fmt.Sprint("f", i), Low: 0.97, Mid: 0.99 + 0.005*float64(i%4), High: 1.03})
	}
	for i := range 30 {
		in.Readings = append(in.Readings, Reading{YearsAgo: float64(i % 10), Rating: 60, By: fmt.Sprint("p", i%3)})
	}
	r := estimate(t, in)
	if len(r.Reasons) > mostPlayers(30)+1 {
		t.Errorf("%d reasons", len(r.Reasons))
	}
	sum := 0.0
	for _, reason := range r.Reasons {
		sum += reason.EffectYears
	}
	near(t, "sum", sum, r.WornOutAge.Middle, 1e-12)
}

// Readings of one eye against integration over what they share on two hundred
// points, and over T on a thousand.
func TestReadingsOfOneEye(t *testing.T) {
	check := func(readings []Reading, gross float64) {
		in := Input{Material: "asphalt_laminated", AgeYears: v(20), ReplacementLagYears: v(0), GrossShare: v(gross), Readings: readings}
		r := estimate(t, in)
		prior, _ := For("asphalt_laminated")
		const n, m = 1000, 200
		var zero, one, two float64
		off := make([]float64, len(readings))
		for i := range n {
			T := 20 + (float64(i)+0.5)*60/n
			like := 0.0
			for k, x := range readings {
				off[k] = above(max(100-(100-UsualLine)*math.Pow((20-x.YearsAgo)/T, UsualPower), 0), x.Rating)
			}
			for j := range m {
				u := -8 + (float64(j)+0.5)*16/m
				v := math.Exp(-u * u / 2)
				for k, x := range readings {
					own, shared := *x.ErrorPoints*math.Sqrt(1-UsualSharedShare), *x.ErrorPoints*math.Sqrt(UsualSharedShare)
					z := (off[k] - u*shared) / own
					v *= (1-gross)*math.Exp(-z*z/2) + grossBeside(gross, own)
				}
				like += v
			}
			w := prior.Hazard(T) * prior.Survival(T) * like
			zero, one, two = zero+w, one+w*T, two+w*T*T
		}
		mean := one / zero
		near(t, "mean", r.WornOutAge.Mean, mean, 2e-3)
		near(t, "sd", r.WornOutAge.SD, math.Sqrt(two/zero-mean*mean), 2e-2)
	}
	check([]Reading{{YearsAgo: 0, Rating: 40, ErrorPoints: v(8)}, {YearsAgo: 2, Rating: 47, ErrorPoints: v(8)}}, 0)
	check([]Reading{{YearsAgo: 0, Rating: 40, ErrorPoints: v(8)}, {YearsAgo: 2, Rating: 47, ErrorPoints: v(8)}, {YearsAgo: 5, Rating: 60, ErrorPoints: v(8)}}, 0.05)
	check([]Reading{{YearsAgo: 0, Rating: 95, ErrorPoints: v(8)}, {YearsAgo: 2, Rating: 47, ErrorPoints: v(8)}, {YearsAgo: 3, Rating: 50, ErrorPoints: v(8)}}, 0.05)
	check([]Reading{{YearsAgo: 0, Rating: 70, ErrorPoints: v(10)}, {YearsAgo: 1, Rating: 50, ErrorPoints: v(10)}}, 0.05)
	// So many that nodes are laid where they agree, of what is worn and of what is nearly new.
	dice := rand.New(rand.NewPCG(60, 1))
	for _, T := range []float64{28, 60} {
		for _, gross := range []float64{0, 0.05} {
			var many []Reading
			for range evenReadings + 20 {
				ago := 10 * dice.Float64()
				rating := readAs(100-(100-UsualLine)*math.Pow((20-ago)/T, UsualPower), 4+6*dice.NormFloat64())
				if dice.Float64() < gross {
					rating = grossRead(dice)
				}
				many = append(many, Reading{YearsAgo: ago, Rating: rating, ErrorPoints: v(8)})
			}
			check(many, gross)
		}
	}
}

// A thousand readings by one eye do not make certainty; by a thousand eyes they
// all but do.
func TestOneEyeIsNeverCertain(t *testing.T) {
	width := func(eyes int) float64 {
		in := Input{Material: "asphalt_laminated", AgeYears: v(18), ReplacementLagYears: v(0), GrossShare: v(0.02)}
		for i := range 1000 {
			in.Readings = append(in.Readings, Reading{YearsAgo: 0, Rating: 55 + 6*math.Sin(float64(i)), ErrorPoints: v(8), By: fmt.Sprint(i % eyes)})
		}
		r := estimate(t, in)
		return r.WornOutAge.High - r.WornOutAge.Low
	}
	if one, many := width(1), width(1000); !(one > 1.5 && many < one/5) {
		t.Errorf("a thousand readings leave %.3f years by one eye, %.3f by a thousand", one, many)
	}
}

// Readings all along the scale of errors, whose corners the grids do not know of,
// against the trapezoidal rule on forty thousand ages: quantiles of T to 5e-5 of them.
func TestCornersOfTheScale(t *testing.T) {
	dice := rand.New(rand.NewPCG(5, 5))
	const n = 40_000
	from, to := math.Log(0.2), math.Log(120.0)
	at := func(i int) float64 { return math.Exp(from + (to-from)*float64(i)/n) }
	for range 40 {
		in := Input{Material: "asphalt_strip", AgeYears: v(2 + 25*dice.Float64()), ReplacementLagYears: v(2), SharedShare: v(0)}
		for range 1 + dice.IntN(3) {
			in.Readings = append(in.Readings, Reading{YearsAgo: *in.AgeYears * 0.7 * dice.Float64(), Rating: 60 + 40*dice.Float64(), ErrorPoints: v(5 + 5*dice.Float64())})
		}
		r := estimate(t, in)
		var below [n + 1]float64
		last := 0.0
		for i := range below {
			T := at(i)
			f := r.Prior.Hazard(T) * r.Prior.Survival(T) * T * math.Exp(-max(*in.AgeYears-T, 0)/2)
			for _, x := range in.Readings {
				z := above(max(100-(100-UsualLine)*math.Pow((*in.AgeYears-x.YearsAgo)/T, UsualPower), 0), x.Rating) / *x.ErrorPoints
				f *= (1-UsualGrossShare)*math.Exp(-z*z/2) + grossBeside(UsualGrossShare, *x.ErrorPoints)
			}
			if i > 0 {
				below[i] = below[i-1] + (last+f)/2
			}
			last = f
		}
		for q, got := range map[float64]float64{0.1: r.WornOutAge.Low, 0.5: r.WornOutAge.Middle, 0.9: r.WornOutAge.High} {
			want := q * below[n]
			i, _ := slices.BinarySearch(below[:], want)
			part := (want - below[i-1]) / (below[i] - below[i-1])
			near(t, fmt.Sprint("quantile ", q, " of ", in.Readings), got, at(i-1)+part*(at(i)-at(i-1)), 5e-5)
		}
	}
}

// Looks that show a share of the fall are full ones of a curve that falls by so much
// less: readings, slopes, many by one eye, and the next look. With next to nothing
// shown it is as if nobody had looked.
func TestShownShare(t *testing.T) {
	const share = 0.4
	line := 100 - share*(100-UsualLine)
	many := []Reading{}
	for i := range 9 {
		many = append(many, Reading{YearsAgo: float64(i), Rating: 70 + 3*float64(i), By: "a"})
	}
	for name, readings := range map[string][]Reading{
		"few":    {{YearsAgo: 1, Rating: 78, By: "a"}, {YearsAgo: 4, Rating: 90, By: "a"}, {YearsAgo: 5, Rating: 85, By: "b"}},
		"many":   many,
		"slopes": {{YearsAgo: 1, Rating: 78, By: "a", Slope: "south"}, {YearsAgo: 1, Rating: 90, By: "a", Slope: "north"}},
	} {
		part := Input{Material: "asphalt_strip", AgeYears: v(17)}
		for _, r := range readings {
			r.ShownShare = v(share)
			part.Readings = append(part.Readings, r)
		}
		whole := part
		whole.Readings, whole.LineRating = readings, &line
		got, want := estimate(t, part).WornOutAge, estimate(t, whole).WornOutAge
		near(t, name+": low", got.Low, want.Low, 1e-9)
		near(t, name+": middle", got.Middle, want.Middle, 1e-9)
		near(t, name+": high", got.High, want.High, 1e-9)
		if plain := estimate(t, Input{Material: "asphalt_strip", AgeYears: v(17), Readings: readings}).WornOutAge; plain.Middle < got.Middle+0.3 {
			t.Errorf("%s: looks that show all give %v, such that show less %v", name, plain, got)
		}
		ahead, err := Worth(NextLook{Input: part, ErrorPoints: 8, ShownShare: v(share)})
		if err != nil {
			t.Fatal(err)
		}
		full, err := Worth(NextLook{Input: whole, ErrorPoints: 8})
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+": width after a look", ahead.WidthAfter, full.WidthAfter, 1e-9)
		near(t, name+": what it shows", ahead.Expected.Middle, full.Expected.Middle, 1e-9)
	}
	alone := estimate(t, Input{Material: "asphalt_strip", AgeYears: v(17)})
	hardly := estimate(t, Input{Material: "asphalt_strip", AgeYears: v(17), Readings: []Reading{{Rating: 100, ShownShare: v(0.01)}, {Rating: 100, ShownShare: v(0.01), By: "b"}}})
	near(t, "with next to nothing shown", hardly.WornOutAge.Middle, alone.WornOutAge.Middle, 4e-3)
	for _, share := range []float64{0, 1.01, math.NaN()} {
		if _, err := Estimate(Input{AgeYears: v(10), Readings: []Reading{{ShownShare: &share}}}); err == nil || !strings.Contains(err.Error(), "shown_share") {
			t.Errorf("a share of %v: %v", share, err)
		}
		if _, err := Worth(NextLook{Input: Input{AgeYears: v(10)}, ErrorPoints: 8, ShownShare: &share}); err == nil || !strings.Contains(err.Error(), "shown_share") {
			t.Errorf("a next look that shows %v: %v", share, err)
		}
	}
}
