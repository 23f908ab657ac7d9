package owed

import (
	"encoding/json"
	"fmt"
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
		name                string
		got, want, relative float64
	}{
		{"alpha", prior.Alpha, 0.822269, 1e-5},
		{"beta", prior.Beta, 1.258954, 1e-5},
		{"log-likelihood", prior.LogLikelihood, -32.263067, 1e-7},
		{"mean", prior.Mean, .653136, 1e-5},
	} {
		if !near(c.got, c.want, c.relative) {
			t.Errorf("%s: got %.7f, want %.7f", c.name, c.got, c.want)
		}
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
			if math.Abs(c.got-c.want) > 1e-5*c.want+5e-8 {
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

// naiveRisk asks each promise about each calendar year and each year since
// laying: slow, plain, and what timeAtRisk must agree with.
func naiveRisk(in Input, weights []float64, years, ages int) (past, plain []float64, count []int) {
	past, plain, count = make([]float64, ages), make([]float64, years*ages), make([]int, years)
	overlap := func(from, to units.Date) float64 { return math.Max(0, float64(to-from+1)) / daysAYear }
	firstYear := (in.AsOf + 1).Year()
	for i := range in.Promises {
		p := &in.Promises[i]
		for k := range ages {
			from := max(p.first(), p.laid()+units.Date(math.Ceil(daysAYear*float64(k))))
			to := min(p.Until, p.laid()+units.Date(math.Ceil(daysAYear*float64(k+1)))-1)
			past[k] += weights[i] * overlap(max(from, in.RecordsFrom), min(to, in.AsOf))
			for y := range years {
				plain[y*ages+k] += weights[i] * overlap(max(from, in.AsOf+1, units.NewDate(firstYear+y, 1, 1)), min(to, units.NewDate(firstYear+y, 12, 31)))
			}
		}
		for y := range years {
			if overlap(max(p.first(), in.AsOf+1, units.NewDate(firstYear+y, 1, 1)), min(p.Until, units.NewDate(firstYear+y, 12, 31))) > 0 {
				count[y]++
			}
		}
	}
	return past, plain, count
}

func TestTimeAtRisk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		asOf := units.NewDate(2026, 1, 1) + units.Date(rapid.IntRange(0, 800).Draw(t, "as of"))
		in := Input{AsOf: asOf, RecordsFrom: asOf - units.Date(rapid.IntRange(0, 8000).Draw(t, "records"))}
		var weights []float64
		var days, got float64
		for range rapid.IntRange(1, 6).Draw(t, "promises") {
			p := Promise{LaidOn: asOf + units.Date(rapid.IntRange(-8000, 900).Draw(t, "laid"))}
			if rapid.Bool().Draw(t, "later") {
				p.From = p.LaidOn + units.Date(rapid.IntRange(0, 2000).Draw(t, "from"))
			}
			p.Until = p.first() - 1 + units.Date(rapid.IntRange(0, 8000).Draw(t, "length"))
			in.Promises = append(in.Promises, p)
			w := rapid.Float64Range(.5, 40).Draw(t, "weight")
			weights = append(weights, w)
			days += w * math.Max(0, float64(p.Until-max(p.first(), asOf+1)+1)) / daysAYear
		}
		r := timeAtRisk(in, weights)
		past, plain, count := naiveRisk(in, weights, r.years, r.ages)
		for k := range past {
			if math.Abs(past[k]-r.past[k]) > 1e-9 {
				t.Fatalf("past year %d: %v, want %v", k, r.past[k], past[k])
			}
		}
		for i := range plain {
			got += r.plain[i]
			if math.Abs(plain[i]-r.plain[i]) > 1e-9 || math.Abs(plain[i]-r.share[i]) > 1e-9 {
				t.Fatalf("cell %d: %v, want %v", i, r.plain[i], plain[i])
			}
		}
		if math.Abs(got-days) > 1e-8 {
			t.Fatalf("time ahead is %v, want %v", got, days)
		}
		for y := range count {
			if count[y] != r.count[y] {
				t.Fatalf("calendar year %d: %d promises, want %d", y, r.count[y], count[y])
			}
		}
	})
}

func money(dollars float64) *units.Money {
	m := units.Money(dollars * 100)
	return &m
}

// company gives n roofs laid over ten years with five-year promises, and a
// callback for every tenth in its first year.
func company(n int) Input {
	in := Input{AsOf: units.NewDate(2026, 11, 25)}
	for i := range n {
		laid := units.NewDate(2017, 1, 1) + units.Date(i*3650/n)
		in.Promises = append(in.Promises, Promise{ID: fmt.Sprint(i), LaidOn: laid, Until: laid.AddMonths(60) - 1, Squares: float64(15 + i%20)})
		if i%10 == 0 && laid+200 < in.AsOf {
			in.Callbacks = append(in.Callbacks, Callback{LaidOn: laid, HappenedOn: laid + 100, CostCents: money(float64(300 + i%500)), Bearer: "us"})
		}
	}
	return in
}

func TestEstimate(t *testing.T) {
	in := company(400)
	r, err := Estimate(in)
	if err != nil {
		t.Fatal(err)
	}
	if r.SmallSample || r.Prior.Pooled || len(r.Years) != 6 || r.Years[0].Year != 2026 {
		t.Fatalf("%+v", r)
	}
	// All callbacks came in the first year since laying: 39 or so on about 390
	// roof-years, and none later.
	if first := r.Rates[0]; !near(first.Rate, .1, .1) || first.Low > first.Rate || first.High < first.Rate {
		t.Errorf("first year: %+v", first)
	}
	if second := r.Rates[1]; second.Rate > .01 || second.Rate <= 0 || *second.Observed != 0 {
		t.Errorf("second year: %+v", second)
	}
	var sum units.Money
	var count float64
	for _, y := range r.Years {
		sum += *y.Expected
		count += *y.Callbacks
		if *y.Low > *y.High || *y.Discounted != *y.Expected {
			t.Errorf("year %d: %v to %v", y.Year, *y.Low, *y.High)
		}
	}
	if sum != *r.Total.Expected || !near(count, *r.Total.Callbacks, 1e-9) {
		t.Errorf("the years add up to %v, the total is %v", sum, *r.Total.Expected)
	}
	if !near(float64(sum), count*float64(r.Cost.MeanCents), 1e-4) {
		t.Errorf("%v callbacks of %v are not %v", count, r.Cost.MeanCents, sum)
	}
	if *r.Total.Low >= sum || *r.Total.High <= sum {
		t.Errorf("%v lies outside %v to %v", sum, *r.Total.Low, *r.Total.High)
	}

	// Half the share is half the cost; discount lowers it and growth raises it.
	half := .5
	shared, later, dearer := company(400), company(400), company(400)
	for i := range shared.Promises {
		shared.Promises[i].Share = &half
	}
	later.DiscountRate, dearer.CostGrowth = .05, .05
	s, _ := Estimate(shared)
	l, _ := Estimate(later)
	d, _ := Estimate(dearer)
	if !near(float64(*s.Total.Expected), float64(sum)/2, 1e-4) || !near(float64(*s.Total.High), float64(*r.Total.High)/2, .02) {
		t.Errorf("half the share: %v up to %v", *s.Total.Expected, *s.Total.High)
	}
	if *l.Total.Expected != sum || *l.Total.Discounted >= sum || *d.Total.Expected <= sum {
		t.Errorf("discounted %v, with growth %v, plain %v", *l.Total.Discounted, *d.Total.Expected, sum)
	}

	// By square: the same roofs, a rate for a square.
	squares := company(400)
	squares.Basis = BySquare
	q, _ := Estimate(squares)
	if !near(float64(*q.Total.Expected), float64(sum), .1) || q.Rates[0].Rate > r.Rates[0].Rate/15 {
		t.Errorf("by square %v, by roof %v", *q.Total.Expected, sum)
	}
}

func codes(r Result) string {
	var out []string
	for _, n := range r.Notes {
		out = append(out, n.Code)
		if n.Sentence == "" || strings.Contains(n.Sentence, "{") {
			out = append(out, "WITHOUT SENTENCE")
		}
	}
	return strings.Join(out, " ")
}

func TestSmallAndUnknown(t *testing.T) {
	asOf := units.NewDate(2026, 11, 25)
	roof := Promise{LaidOn: asOf - 800, Until: asOf + 1000, Squares: 20}
	rate := .05
	for _, c := range []struct {
		name   string
		in     Input
		notes  string
		amount bool
	}{
		{"nothing at all", Input{}, "small_sample no_rate no_cost", false},
		{"a roof of today", Input{Promises: []Promise{{LaidOn: asOf + 1, Until: asOf + 900}}}, "small_sample no_rate no_cost", false},
		{"no callbacks", Input{Promises: []Promise{roof}}, "small_sample no_cost", false},
		{"no callbacks, an assumed cost", Input{Promises: []Promise{roof}, AssumedCostCents: money(450)}, "small_sample assumed_cost", true},
		{"all assumed", Input{Promises: []Promise{{LaidOn: asOf + 1, Until: asOf + 900}}, AssumedRate: &rate, AssumedCostCents: money(450)},
			"small_sample assumed_rate assumed_cost", true},
		{"one callback", Input{Promises: []Promise{roof}, Callbacks: []Callback{{LaidOn: roof.LaidOn, HappenedOn: asOf - 300, CostCents: money(400)}}},
			"small_sample", true},
		{"a callback of unknown day", Input{Promises: []Promise{roof}, Callbacks: []Callback{{CostCents: money(400)}}},
			"callbacks_without_days small_sample", true},
		{"a callback without cost", Input{Promises: []Promise{roof}, Callbacks: []Callback{{LaidOn: roof.LaidOn, HappenedOn: asOf - 300}}},
			"small_sample callbacks_without_cost no_cost", false},
		{"borne by the maker", Input{Promises: []Promise{roof}, Callbacks: []Callback{{LaidOn: roof.LaidOn, HappenedOn: asOf - 300, CostCents: money(400), Bearer: "maker"}}},
			"callbacks_borne_by_others small_sample no_cost", false},
		{"a callback of tomorrow", Input{Promises: []Promise{roof}, Callbacks: []Callback{{LaidOn: roof.LaidOn, HappenedOn: asOf + 1, CostCents: money(400)}}},
			"small_sample no_cost", false},
		{"a cost of nothing", Input{Promises: []Promise{roof}, Callbacks: []Callback{{LaidOn: roof.LaidOn, HappenedOn: asOf - 300, CostCents: money(0)}}},
			"small_sample", true},
		{"a promise without days", Input{Promises: []Promise{roof, {}}, AssumedCostCents: money(450)}, "promises_without_days small_sample assumed_cost", true},
		{"some squares", Input{Basis: BySquare, Promises: []Promise{roof, {LaidOn: asOf - 800, Until: asOf}}, AssumedCostCents: money(450)},
			"squares_not_known small_sample assumed_cost", true},
		{"no squares", Input{Basis: BySquare, Promises: []Promise{{LaidOn: asOf - 800, Until: asOf + 9}}, AssumedCostCents: money(450)},
			"no_squares small_sample assumed_cost", true},
	} {
		c.in.AsOf = asOf
		r, err := Estimate(c.in)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := codes(r); got != c.notes {
			t.Errorf("%s: notes %q, want %q", c.name, got, c.notes)
		}
		if (r.Total.Expected != nil) != c.amount || !r.SmallSample {
			t.Errorf("%s: amount %v, small sample %v", c.name, r.Total.Expected, r.SmallSample)
		}
		if _, err := json.Marshal(r); err != nil { // no NaN, no infinity
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// A tenth of the roofs and callbacks gives a wider range for its expected cost.
func TestSmallSamplesAreWider(t *testing.T) {
	width := func(n int) float64 {
		r, err := Estimate(company(n))
		if err != nil {
			t.Fatal(err)
		}
		return float64(*r.Total.High-*r.Total.Low) / float64(*r.Total.Expected)
	}
	if large, middle, small := width(4000), width(400), width(30); !(large < middle && middle < small) {
		t.Errorf("relative widths %v, %v, %v", large, middle, small)
	}
	few, _ := Estimate(company(30))
	if !few.SmallSample || few.Cost.SDCents < few.Cost.MeanCents {
		t.Errorf("three callbacks: %+v", few.Cost)
	}
}

// Each thing that is not known for sure widens the range by its own variance:
// the shrunk rates, the overall rate they lean on, and the mean cost.
func TestWhatIsUnsureWidens(t *testing.T) {
	r := Result{Cost: &MeanCost{MeanCents: 400_00, SDCents: 300_00, unsure: 0.3}}
	cells := []cell{{10, 10, 10}, {5, 5, 5}}
	shrunk := []Shrunk{{Rate: 2, SD: 0.5, Pull: 0.2}, {Rate: 1, SD: 0.4, Pull: 0.6}}
	got := r.expect(cells, shrunk, 0.7)
	rates := (0.25*100 + 0.16*25 + (0.2*10+0.6*5)*(0.2*10+0.6*5)*0.49) / (25 * 25)
	low, high := compoundRange(25, (1+rates)*(1+0.09)-1, 400_00, 300_00)
	if *got.Callbacks != 25 || *got.Expected != 10_000_00 || *got.Low != low || *got.High != high {
		t.Errorf("%v callbacks, %v, %v to %v; want 25, 10,000.00, %v to %v", *got.Callbacks, *got.Expected, *got.Low, *got.High, low, high)
	}
	if sure, _ := compoundRange(25, 0, 400_00, 300_00); sure <= low {
		t.Errorf("the range from %v is no wider than that from %v", low, sure)
	}
}

// Callbacks at the same pace in every year give one rate for all, and say so.
func TestOneRate(t *testing.T) {
	asOf := units.NewDate(2026, 11, 25)
	in := Input{AsOf: asOf}
	for i := range 200 {
		laid := asOf - 1461
		in.Promises = append(in.Promises, Promise{LaidOn: laid, Until: asOf + 1461})
		if i%5 == 0 {
			for year := range 4 {
				in.Callbacks = append(in.Callbacks, Callback{LaidOn: laid, HappenedOn: laid + units.Date(365*year+100), CostCents: money(400)})
			}
		}
	}
	r, err := Estimate(in)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Prior.Pooled || codes(r) != "one_rate" || !near(*r.Total.Callbacks, 160, 0.01) {
		t.Errorf("prior %+v, notes %q, %v callbacks ahead", r.Prior, codes(r), *r.Total.Callbacks)
	}
	if ahead := r.Rates[6]; ahead.Rate != r.Rates[0].Rate || ahead.Observed != nil {
		t.Errorf("a year without time at risk: %+v", ahead)
	}
}

// A promise given in pieces with one share is the promise given whole.
func TestPiecesAddUp(t *testing.T) {
	whole, pieces := company(60), company(60)
	pieces.Promises = nil
	for _, p := range whole.Promises {
		a, b := p, p
		a.Until = p.LaidOn + 1000
		b.From = p.LaidOn + 1001
		pieces.Promises = append(pieces.Promises, a, b)
	}
	w, _ := Estimate(whole)
	p, _ := Estimate(pieces)
	if *w.Total.Expected != *p.Total.Expected || *w.Total.Low != *p.Total.Low || *w.Total.High != *p.Total.High {
		t.Errorf("whole %v (%v to %v), in pieces %v (%v to %v)", *w.Total.Expected, *w.Total.Low, *w.Total.High, *p.Total.Expected, *p.Total.Low, *p.Total.High)
	}
}

// Time before the records begin is no evidence of quiet.
func TestRecordsFrom(t *testing.T) {
	in := company(400)
	in.RecordsFrom = units.NewDate(2022, 1, 1)
	r, _ := Estimate(in)
	if !near(r.Rates[0].Rate, .1, .15) || r.Rates[0].YearsAtRisk > 210 {
		t.Errorf("first year with records from 2022: %+v", r.Rates[0])
	}
}

func TestRefusals(t *testing.T) {
	asOf := units.NewDate(2026, 11, 25)
	share, rate := 1.5, -1.0
	for want, spoil := range map[string]func(*Input){
		"as_of":                   func(in *Input) { in.AsOf = 0 },
		"basis":                   func(in *Input) { in.Basis = "houses" },
		"discount_rate":           func(in *Input) { in.DiscountRate = math.NaN() },
		"cost_growth":             func(in *Input) { in.CostGrowth = 2 },
		"assumed_rate":            func(in *Input) { in.AssumedRate = &rate },
		"assumed_cost_cents":      func(in *Input) { in.AssumedCostCents = money(0) },
		"promises[0].share":       func(in *Input) { in.Promises = []Promise{{Share: &share}} },
		"promises[0].squares":     func(in *Input) { in.Promises = []Promise{{Squares: -1}} },
		"promises[0].from":        func(in *Input) { in.Promises = []Promise{{LaidOn: asOf, From: asOf - 1}} },
		"promises[0].until":       func(in *Input) { in.Promises = []Promise{{LaidOn: asOf, Until: asOf - 2}} },
		"promises[0].until: 2226": func(in *Input) { in.Promises = []Promise{{LaidOn: asOf, Until: asOf.AddYears(200)}} },
		"promises[0].until: 2326": func(in *Input) { in.Promises = []Promise{{Until: asOf.AddYears(300)}} },
		"callbacks[0].cost_cents": func(in *Input) { in.Callbacks = []Callback{{CostCents: money(-1)}} },
		"callbacks[0].bearer":     func(in *Input) { in.Callbacks = []Callback{{Bearer: "nobody"}} },
	} {
		in := Input{AsOf: asOf}
		spoil(&in)
		if _, err := Estimate(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
}

func TestJSON(t *testing.T) {
	text := `{"as_of":"2026-11-25","basis":"roofs","records_from":"2015-01-01","discount_rate":0.04,"assumed_rate":0.03,"assumed_cost_cents":45000,
		"promises":[{"id":"a","laid_on":"2024-06-12","until":"2029-06-11","squares":22.5,"share":1}],
		"callbacks":[{"laid_on":"2024-06-12","happened_on":"2025-03-01","cost_cents":38000,"bearer":"us"}]}`
	decoder := json.NewDecoder(strings.NewReader(text))
	decoder.DisallowUnknownFields()
	var in Input
	if err := decoder.Decode(&in); err != nil {
		t.Fatal(err)
	}
	r, err := Estimate(in)
	if err != nil {
		t.Fatal(err)
	}
	out, _ := json.Marshal(r)
	for _, part := range []string{`"as_of":"2026-11-25"`, `"small_sample":true`, `"mean_cents":38000`, `"year":2029`, `"expected_cents":`} {
		if !strings.Contains(string(out), part) {
			t.Errorf("%s is not in %s", part, out)
		}
	}
}

// many gives 100,000 promises with 15 years ahead.
func many() Input {
	in := Input{AsOf: units.NewDate(2026, 11, 25)}
	for i := range 100_000 {
		laid := in.AsOf - units.Date(i%3650)
		in.Promises = append(in.Promises, Promise{LaidOn: laid, Until: in.AsOf + 15*365})
		if i%50 == 0 {
			in.Callbacks = append(in.Callbacks, Callback{LaidOn: laid, HappenedOn: laid + units.Date(i%3650)/2, CostCents: money(float64(200 + i%700))})
		}
	}
	return in
}

func BenchmarkEstimate(b *testing.B) {
	in := many()
	for b.Loop() {
		if _, err := Estimate(in); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTimeAtRisk and BenchmarkNaiveRisk do the same work; their ratio is
// what walking from boundary to boundary gains.
func BenchmarkTimeAtRisk(b *testing.B) {
	in := many()
	weights := new(Result).weigh(in.Promises)
	for b.Loop() {
		timeAtRisk(in, weights)
	}
}

func BenchmarkNaiveRisk(b *testing.B) {
	in := many()
	weights := make([]float64, len(in.Promises))
	r := timeAtRisk(in, weights)
	for b.Loop() {
		naiveRisk(in, weights, r.years, r.ages)
	}
}

func BenchmarkCompound(b *testing.B) {
	for b.Loop() {
		if _, err := Compound(Count{Mean: 1e4, Size: 40}, klugman, 500); err != nil {
			b.Fatal(err)
		}
	}
}
