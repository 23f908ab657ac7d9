package owed

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"overhang/analytics/units"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// near says whether two numbers agree to a relative difference.
func near(got, want, relative float64) bool {
	return math.Abs(got-want) <= relative*math.Max(math.Abs(want), 1e-300)
}

// The pump data of Gaver and O'Muircheartaigh 1987, and the fit of dnbinom by
// optim in R 4.2 (own run; digits as printed).
func TestPumps(t *testing.T) {
	pumps := []struct{ x, t, rate, sd, low, high float64 }{
		{5, 94.320, .0609158, .0252455, .0219332, .1194576},
		{1, 15.720, .1073251, .0795051, .0111545, .3097904},
		{5, 62.880, .0907759, .0376205, .0326846, .1780139},
		{14, 125.760, .1166934, .0303102, .0650529, .1831732},
		{3, 5.240, .5881359, .3008272, .1540078, 1.3077342},
		{19, 31.440, .6062050, .1361579, .3693683, .9007594},
		{1, 1.048, .7899023, .5851500, .0820956, 2.2800266},
		{1, 1.048, .7899023, .5851500, .0820956, 2.2800266},
		{4, 2.096, 1.4373574, .6545443, .4545467, 2.9757407},
		{22, 10.480, 1.9441483, .4069584, 1.2299899, 2.8191596},
	}
	var groups []Group
	for _, p := range pumps {
		groups = append(groups, Group{p.x, p.t})
	}
	prior, err := FitGamma(groups)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"alpha", prior.Alpha, 0.822269},
		{"beta", prior.Beta, 1.258954},
		{"log-likelihood", prior.LogLikelihood, -32.263067},
		{"mean", prior.Mean, .653136},
	} {
		same(t, c.name, c.got, c.want, 6)
	}
	for i, p := range pumps {
		s := prior.Shrink(groups[i])
		for _, c := range []struct {
			name      string
			got, want float64
		}{
			{"rate", s.Rate, p.rate}, {"sd", s.SD, p.sd},
			{"2.5 %", gammaQuantile(s.Rate, s.SD, .025), p.low}, {"97.5 %", gammaQuantile(s.Rate, s.SD, .975), p.high},
		} {
			// α and β are known to 1e-7 of themselves, as flat as the top is.
			if math.Abs(c.got-c.want) > 5e-8+1e-8*c.want {
				t.Errorf("pump %d, %s: got %.7f, want %.7f", i+1, c.name, c.got, c.want)
			}
		}
	}
}

// Klugman, Panjer and Willmot, Loss Models, as in the help of the R package
// actuar: ten claims, in steps of 500. Values: own run of aggregateDist.
var klugman = []float64{0, .15, .2, .25, .125, .075, .05, .05, .05, .025, .025}

func TestKlugman(t *testing.T) {
	l, err := Compound(Count{Mean: 10}, klugman, 500)
	if err != nil {
		t.Fatal(err)
	}
	mean, sd := l.Moments()
	// Theory: 18500 and 500·√(10·19.05).
	if !near(mean, 18500, 1e-10) || !near(sd, 6901.086871, 1e-9) {
		t.Errorf("mean %.6f, sd %.6f", mean, sd)
	}
	for x, want := range map[float64]float64{0: 4.539992976e-05, 2500: .001624147019, 5000: .01152614009, 10000: .1070327338,
		15000: .3424602213, 20000: .6271396524, 30000: .9442263458, 40000: .9964763896,
		10499: .1070327338, // between two points the function stays where it is
		-1:    0} {
		if !near(l.At(x), want, 1e-9) {
			t.Errorf("F(%v): got %.12g, want %.12g", x, l.At(x), want)
		}
	}
	for p, want := range map[float64]float64{.5: 18000, .75: 23000, .9: 27500, .95: 30500, .99: 37000, .995: 39000} {
		if got := l.Quantile(p); got != want {
			t.Errorf("quantile %v: got %v, want %v", p, got, want)
		}
	}
	// Negative binomial of size 4 and probability 4/14.
	l, err = Compound(Count{Mean: 10, Size: 4}, klugman, 500)
	if err != nil {
		t.Fatal(err)
	}
	if !near(l.At(0), .006663890046, 1e-9) || !near(l.At(10000), .2598992705, 1e-9) {
		t.Errorf("negative binomial: F(0) %.12g, F(10000) %.12g", l.At(0), l.At(10000))
	}
	for p, want := range map[float64]float64{.5: 16500, .9: 34000, .95: 40500, .99: 53500} {
		if got := l.Quantile(p); got != want {
			t.Errorf("negative binomial quantile %v: got %v, want %v", p, got, want)
		}
	}
}

// Gamma(2, 1) on steps of a half, keeping the mean; values: own run of
// actuar's discretize(method = "unbiased") and aggregateDist("recursive").
func TestDiscretise(t *testing.T) {
	gamma := func(u float64) float64 { // mean of the cost cut off at u
		e := math.Exp(-u)
		return 2 - e*(u*u+2*u+2) + u*e*(1+u)
	}
	got := Discretise(gamma, .5, 44)
	for i, want := range []float64{.03265329856, .1419700499, .1800111255, .1661366708} {
		if !near(got[i], want, 1e-8) {
			t.Errorf("probability %d: got %.10f, want %.10f", i, got[i], want)
		}
	}
	l, err := Compound(Count{Mean: 10}, got, .5)
	if err != nil {
		t.Fatal(err)
	}
	if !near(l.At(20), .5470771014, 1e-7) {
		t.Errorf("F(20): got %.10f", l.At(20))
	}
	if mean, _ := l.Moments(); !near(mean, 20, 1e-8) {
		t.Errorf("mean %.8f", mean)
	}
	for p, want := range map[float64]float64{.5: 19.5, .9: 30.5, .95: 34, .99: 41} {
		if q := l.Quantile(p); q != want {
			t.Errorf("quantile %v: got %v, want %v", p, q, want)
		}
	}
}

// panjer is the recursion of Panjer 1981 for Poisson and negative binomial
// counts: another way to the same distribution.
func panjer(c Count, severity []float64, n int) []float64 {
	var a, b, f0 float64
	if c.Size == 0 {
		a, b, f0 = 0, c.Mean, math.Exp(c.Mean*(severity[0]-1))
	} else {
		a = c.Mean / (c.Mean + c.Size)
		b = (c.Size - 1) * a
		f0 = math.Pow(1+c.Mean/c.Size*(1-severity[0]), -c.Size)
	}
	out := make([]float64, n)
	out[0] = f0
	for s := 1; s < n; s++ {
		for x := 1; x <= min(s, len(severity)-1); x++ {
			out[s] += (a + b*float64(x)/float64(s)) * severity[x] * out[s-x]
		}
		out[s] /= 1 - a*severity[0]
	}
	return out
}

func TestCompoundAgainstPanjer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Count{Mean: rapid.Float64Range(0.01, 60).Draw(t, "mean")}
		if rapid.Bool().Draw(t, "mixed") {
			c.Size = rapid.Float64Range(2, 50).Draw(t, "size")
		}
		severity := rapid.SliceOfN(rapid.Float64Range(0, 1), 2, 12).Draw(t, "severity")
		sum := 1e-3
		severity[1] += 1e-3
		for i, p := range severity {
			if i != 1 {
				sum += p
			} else {
				sum += p - 1e-3
			}
		}
		for i := range severity {
			severity[i] /= sum
		}
		l, err := Compound(c, severity, 1)
		if err != nil {
			t.Fatal(err)
		}
		// What lies beyond the lattice is folded back; its size bounds the rest.
		want := panjer(c, severity, l.First+len(l.P))
		mass := 0.0
		for _, p := range want {
			mass += p
		}
		for i, p := range l.P {
			if math.Abs(p-want[l.First+i]) > 1e-12+2*math.Abs(1-mass) {
				t.Fatalf("point %d: %v by transform, %v by recursion, mass %v", i, p, want[l.First+i], mass)
			}
		}
	})
}

func TestManyClaimsDoNotUnderflow(t *testing.T) {
	l, err := Compound(Count{Mean: 1e4}, klugman, 500) // exp(−10⁴) is nought
	if err != nil {
		t.Fatal(err)
	}
	mean, sd := l.Moments()
	if !near(mean, 1.85e7, 1e-10) || !near(sd, 6901.086871*math.Sqrt(1000), 1e-7) {
		t.Errorf("mean %v, sd %v", mean, sd)
	}
	if q := l.Quantile(.9); !near(q, 1.85e7+1.2815515655*sd, 1e-4) {
		t.Errorf("the 90 %% point %v is far from the normal one", q)
	}
	if l.At(0) != 0 || l.At(1e9) < 1-1e-9 {
		t.Errorf("F(0) %v, F(far) %v", l.At(0), l.At(1e9))
	}
}

func TestCompoundRefusals(t *testing.T) {
	for name, c := range map[string]struct {
		count    Count
		severity []float64
		step     float64
	}{
		"count:":       {Count{Mean: -1}, klugman, 1},
		"count: mean":  {Count{Mean: math.NaN()}, klugman, 1},
		"step:":        {Count{Mean: 1}, klugman, 0},
		"severity[1]":  {Count{Mean: 1}, []float64{1.5, -.5}, 1},
		"severity:":    {Count{Mean: 1}, []float64{.5}, 1},
		"step: the la": {Count{Mean: 1e14}, klugman, 1},
	} {
		if _, err := Compound(c.count, c.severity, c.step); err == nil || !strings.HasPrefix(err.Error(), name) {
			t.Errorf("want a refusal of %s, got %v", name, err)
		}
	}
}

// The range against 200,000 simulated periods: a gamma rate, Poisson counts,
// log-normal costs.
func TestRangeAgainstSimulation(t *testing.T) {
	source := rand.NewPCG(7, 11)
	random := rand.New(source)
	for _, c := range []struct{ count, mixing, mean, sd float64 }{{3, 0.4, 50_000, 60_000}, {40, 0.05, 30_000, 20_000}, {0.05, 1, 50_000, 50_000}} {
		cost := newLogNormal(c.mean, c.sd)
		rate := distuv.Gamma{Alpha: 1 / c.mixing, Beta: 1 / c.mixing / c.count, Src: source}
		low, high := compoundRange(c.count, c.mixing, c.mean, c.sd)
		const trials = 200_000
		atLow, atHigh := 0, 0
		step := c.mean / 8
		for range trials {
			n := int(distuv.Poisson{Lambda: rate.Rand(), Src: source}.Rand())
			sum := 0.0
			for range n {
				sum += math.Exp(cost.mu + cost.sigma*random.NormFloat64())
			}
			if sum <= float64(low)+step/2 {
				atLow++
			}
			if sum <= float64(high)+step/2 {
				atHigh++
			}
		}
		for _, q := range []struct{ got, want float64 }{{float64(atLow) / trials, lowPoint}, {float64(atHigh) / trials, highPoint}} {
			if q.want == lowPoint && low == 0 {
				if q.got < lowPoint {
					t.Errorf("%+v: nothing happens in %v of the trials only", c, q.got)
				}
				continue
			}
			if high == 0 && q.got >= highPoint {
				continue
			}
			if math.Abs(q.got-q.want) > 0.015 {
				t.Errorf("%+v: %v lie at or below the %v point (%v to %v)", c, q.got, q.want, low, high)
			}
		}
	}
}

// IAS 37.39 (from memory); Ind AS 37, its example; IFRS for SMEs standard,
// section 21, example 4. The sums follow from the inputs.
func TestProvision(t *testing.T) {
	million := 1_000_000 * units.Dollar
	for _, c := range []struct {
		name       string
		in         ProvisionInput
		expected   units.Money
		discounted string // whole units
	}{
		{"IAS 37.39", ProvisionInput{Outcomes: []Outcome{{"none", .75, 0}, {"minor", .20, million}, {"major", .05, 4 * million}}}, 400_000_00, "400,000"},
		{"Ind AS 37", ProvisionInput{Outcomes: []Outcome{{"none", .80, 0}, {"minor", .15, 2 * million}, {"major", .05, 5 * million}}}, 550_000_00, "550,000"},
		{"IFRS for SMEs", ProvisionInput{
			Outcomes: []Outcome{{"none", .90, 0}, {"minor", .06, 300_000_00}, {"major", .04, 700_000_00}},
			Payments: []Payment{{.60, 1, .06}, {.30, 2, .07}, {.10, 3, .07}},
		}, 46_000_00, "41,846"},
	} {
		r, err := Provision(c.in)
		if err != nil {
			t.Fatal(err)
		}
		if r.ExpectedCents != c.expected || r.DiscountedCents.Round() != c.discounted {
			t.Errorf("%s: %v and %v, want %v and %s", c.name, r.ExpectedCents, r.DiscountedCents, c.expected, c.discounted)
		}
		if c.name == "IFRS for SMEs" {
			for i, want := range []string{"26,038", "12,053", "3,755"} {
				if got := r.ByPaymentCents[i].Round(); got != want {
					t.Errorf("payment %d: %s, want %s", i+1, got, want)
				}
			}
		}
	}
	one := []Outcome{{"", 1, 100}}
	for want, in := range map[string]ProvisionInput{
		"outcomes[0].chance":        {Outcomes: []Outcome{{"", 1.5, 1}}},
		"outcomes[0].cost_cents":    {Outcomes: []Outcome{{"", .5, -1}}},
		"outcomes: the chances":     {Outcomes: []Outcome{{"", .6, 1}, {"", .6, 1}}},
		"payments: the shares":      {Outcomes: one, Payments: []Payment{{.5, 1, 0}}},
		"payments[0].share":         {Outcomes: one, Payments: []Payment{{math.NaN(), 1, 0}}},
		"payments[0].after_years":   {Outcomes: one, Payments: []Payment{{1, -1, 0}}},
		"payments[0].discount_rate": {Outcomes: one, Payments: []Payment{{1, 1, -2}}},
	} {
		if _, err := Provision(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
}

func TestFitGamma(t *testing.T) {
	// Counts that vary less than Poisson counts do share one rate.
	p, err := FitGamma([]Group{{10, 100}, {11, 100}, {9, 100}, {0, 0}})
	if err != nil || !p.Pooled || !near(p.Mean, .1, 1e-12) || !near(p.MeanSD, math.Sqrt(.1/300), 1e-12) {
		t.Errorf("even counts: %+v, %v", p, err)
	}
	if s := p.Shrink(Group{50, 1}); s.Rate != p.Mean || s.Pull != 1 {
		t.Errorf("a pooled rate moved: %+v", s)
	}
	for _, groups := range [][]Group{nil, {{0, 10}}, {{3, 0}}, {{-1, 10}}, {{1, math.Inf(1)}}, {{math.NaN(), 1}}} {
		if p, err := FitGamma(groups); err == nil {
			t.Errorf("%v was fitted as %+v", groups, p)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		groups := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Group {
			return Group{float64(rapid.IntRange(0, 40).Draw(t, "count")), rapid.Float64Range(0.1, 3000).Draw(t, "years")}
		}), 1, 12).Draw(t, "groups")
		groups[0].Count++
		p, err := FitGamma(groups)
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range groups {
			s := p.Shrink(g)
			raw := g.Count / g.Years
			low, high := math.Min(raw, p.Mean), math.Max(raw, p.Mean)
			if !p.Pooled && (s.Rate < low*(1-1e-9) || s.Rate > high*(1+1e-9)) || !(p.Mean > 0) || !(p.MeanSD > 0) || math.IsNaN(s.SD) {
				t.Fatalf("%+v shrank to %+v under %+v", g, s, p)
			}
		}
	})
}

func money(dollars float64) *units.Money {
	m := units.Money(dollars * 100)
	return &m
}

func BenchmarkCompound(b *testing.B) {
	for b.Loop() {
		if _, err := Compound(Count{Mean: 1e4, Size: 40}, klugman, 500); err != nil {
			b.Fatal(err)
		}
	}
}
