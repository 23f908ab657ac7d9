package owed

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/units"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// klugmanCosts is the table of costs of the Loss Models example in steps of 500.
func klugmanCosts() []CostChance {
	var out []CostChance
	for i, p := range klugman {
		if p > 0 {
			out = append(out, CostChance{units.Money(i) * 500 * units.Dollar, p})
		}
	}
	return out
}

// Loss Models as in the help of the R package actuar; values: own run of
// aggregateDist("recursive").
func TestDistributionOfLossModels(t *testing.T) {
	r, err := Distribution(DistributionInput{Groups: []PromiseGroup{{Rates: []float64{10}, Costs: klugmanCosts()}}, Step: 500 * units.Dollar, Shortfall: .9,
		Levels: []float64{.5, .75, .9, .95, .99, .995}})
	if err != nil {
		t.Fatal(err)
	}
	if r.Expected != 18500*units.Dollar || !near(r.SD.Dollars(), 6901.086871, 1e-6) || !near(r.None, 4.539992976e-05, 1e-9) {
		t.Errorf("%v, %v, %v", r.Expected, r.SD, r.None)
	}
	for i, want := range []float64{18000, 23000, 27500, 30500, 37000, 39000} {
		if r.Quantiles[i].Cents.Dollars() != want {
			t.Errorf("quantile %v: %v, want %v", r.Quantiles[i].Level, r.Quantiles[i].Cents, want)
		}
	}
	for x, want := range map[float64]float64{2500: .001624147019, 10000: .1070327338, 20000: .6271396524, 40000: .9964763896} {
		if !near(r.Lattice.At(x*100), want, 1e-9) {
			t.Errorf("F(%v) = %v, want %v", x, r.Lattice.At(x*100), want)
		}
	}
	// The published tail mean beyond the 90 % point counts that point's whole
	// upper side: 31828.03696 = E[S | S > 27500].
	beyond, chance := 0.0, 0.0
	for i, p := range r.Lattice.P {
		if x := float64(i) * 500; x > 27500 {
			beyond, chance = beyond+p*x, chance+p
		}
	}
	if !near(beyond/chance, 31828.03696, 2e-5) { // that run stops at a sum of 0.99999
		t.Errorf("mean beyond the 90 %% point %v", beyond/chance)
	}
	want := (beyond + 27500*(1-.9-chance)) / .1
	if math.Abs(r.Shortfall.Dollars()-want) > .006 {
		t.Errorf("shortfall %v, want %v", r.Shortfall, want)
	}
	negative, err := Distribution(DistributionInput{Groups: []PromiseGroup{{Rates: []float64{10}, Costs: klugmanCosts()}}, Step: 500 * units.Dollar, WeatherSD: .5})
	if err != nil {
		t.Fatal(err)
	}
	if !near(negative.None, .006663890046, 1e-9) || negative.Quantiles[3].Cents != 34000*units.Dollar {
		t.Errorf("negative binomial of size 4: F(0) %v, %+v", negative.None, negative.Quantiles)
	}
}

// Against the recursion of Panjer 1981 on the same lattice: with weather it is
// negative binomial in each year, and the years are convolved.
func TestDistributionAgainstPanjer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := DistributionInput{Step: 100, WeatherSD: rapid.SampledFrom([]float64{0, .2, .5}).Draw(t, "weather")}
		var costs []CostChance
		n := rapid.IntRange(1, 8).Draw(t, "costs")
		for i := range n {
			costs = append(costs, CostChance{units.Money(100 * (i + 1)), 1 / float64(n)})
		}
		severity := make([]float64, n+1)
		for i := range n {
			severity[i+1] = 1 / float64(n)
		}
		rates := rapid.SliceOfN(rapid.Float64Range(.01, 8), 1, 3).Draw(t, "rates")
		in.Groups = []PromiseGroup{{Rates: rates, Costs: costs}}
		r, err := Distribution(in)
		if err != nil {
			t.Fatal(err)
		}
		if r.Lattice.First != 0 {
			return // the recursion starts at nought
		}
		want := []float64{1}
		for _, rate := range rates {
			c := Count{Mean: rate}
			if in.WeatherSD > 0 {
				c.Size = 1 / (in.WeatherSD * in.WeatherSD)
			}
			year := panjer(c, severity, len(r.Lattice.P))
			next := make([]float64, len(r.Lattice.P))
			for i, p := range want {
				for j, q := range year[:len(next)-i] {
					next[i+j] += p * q
				}
			}
			want = next
		}
		for i, p := range r.Lattice.P {
			if math.Abs(p-want[i]) > 1e-13 {
				t.Fatalf("point %d: %v by transform, %v by recursion", i, p, want[i])
			}
		}
	})
}

// mixed is a term of three years with weather, lots and crews as asked for.
func mixed(lots, crews int, weather, lot, crew float64) DistributionInput {
	in := DistributionInput{WeatherSD: weather, LotSD: lot, CrewSD: crew}
	for i := range max(lots, 1) {
		for j := range max(crews, 1) {
			g := PromiseGroup{Name: fmt.Sprintf("%d", 2020+i), Promises: 40, Rates: []float64{.03, .02 + .004*float64(i), .01}, CostMean: 40000 + units.Money(5000*j), CostSD: 30000}
			if lots > 0 {
				g.Lot = fmt.Sprint("lot ", i)
			}
			if crews > 0 {
				g.Crew = fmt.Sprint("crew ", j)
			}
			in.Groups = append(in.Groups, g)
		}
	}
	return in
}

func unsureRates(in DistributionInput) DistributionInput {
	in.RateSD = .35
	return in
}

// theory is the mean and variance of the cost, written out cell by cell.
func theory(in DistributionInput) (mean, variance float64) {
	for _, g := range in.Groups {
		m, sd := float64(g.CostMean), float64(g.CostSD)
		for y, r := range g.Rates {
			mean += g.Promises * r * m
			variance += g.Promises * r * (m*m + sd*sd)
			for _, h := range in.Groups {
				for z, q := range h.Rates {
					e := 1 + in.RateSD*in.RateSD
					if y == z {
						e *= 1 + in.WeatherSD*in.WeatherSD
					}
					if g.Lot != "" && g.Lot == h.Lot {
						e *= 1 + in.LotSD*in.LotSD
					}
					if g.Crew != "" && g.Crew == h.Crew {
						e *= 1 + in.CrewSD*in.CrewSD
					}
					variance += g.Promises * r * m * h.Promises * q * float64(h.CostMean) * (e - 1)
				}
			}
		}
	}
	return mean, variance
}

var mixes = []struct {
	name string
	in   DistributionInput
	how  string
	one  bool
}{
	{"nothing varies", mixed(3, 2, 0, 0, 0), "closed_form", false},
	{"weather", mixed(3, 2, .4, 0, 0), "closed_form", false},
	{"one lot", mixed(1, 0, .3, .5, 0), "quadrature", false},
	{"a lot and a crew", mixed(1, 1, .3, .5, .4), "quadrature", false},
	{"lots alone", mixed(6, 0, 0, .6, 0), "closed_form", false},
	{"lots crossing crews", mixed(3, 2, 0, .5, .4), "quadrature", false},
	{"lots and weather", mixed(5, 0, .4, .5, 0), "quadrature", true},
	{"lots crossing crews, and weather", mixed(3, 2, .3, .5, .4), "quadrature", true},
	{"unsure rates", unsureRates(mixed(3, 0, 0, 0, 0)), "quadrature", false},
	{"unsure rates, weather and lots crossing crews", unsureRates(mixed(3, 2, .3, .5, .4)), "quadrature", true},
}

// Mean and variance are those of the theory, to rounding and to the lattice's
// own spread, which keeping the mean adds: at most a quarter of a step squared
// a callback.
func TestDistributionHasTheMeanAndVarianceOfTheory(t *testing.T) {
	for _, c := range mixes {
		r, err := Distribution(c.in)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		mean, variance := theory(c.in)
		gotMean, gotSD := r.Lattice.Moments()
		if !near(gotMean, mean-float64(r.Method.BeyondCap), 1e-8) || math.Abs(float64(r.Expected)-mean) > 1 {
			t.Errorf("%s: mean %.6f on the lattice and %v, want %.6f", c.name, gotMean, r.Expected, mean)
		}
		step := float64(r.Method.Step)
		if d := gotSD*gotSD - variance; d < -1e-5*variance || d > r.Callbacks*step*step/4+1e-5*variance || math.Abs(float64(r.SD)-math.Sqrt(variance)) > 1 {
			t.Errorf("%s: variance %v, want %v, and the lattice may add %v", c.name, gotSD*gotSD, variance, r.Callbacks*step*step/4)
		}
		if r.Method.Mixing != c.how || r.Method.OneWeather != c.one {
			t.Errorf("%s: by %+v", c.name, r.Method)
		}
		sum := 0.0
		for _, p := range r.Lattice.P {
			sum += p
		}
		if !near(sum, 1, 1e-9) {
			t.Errorf("%s: the chances add up to %v", c.name, sum)
		}
		// The shortfall from the distribution alone.
		q, tail, beyond := r.Lattice.Quantile(.9), 0.0, 0.0
		for i, p := range r.Lattice.P {
			if x := float64(r.Lattice.First+i) * step; x > q+step/2 {
				tail, beyond = tail+p*x, beyond+p
			}
		}
		if want := (tail + q*(.1-beyond)) / .1; math.Abs(float64(r.Shortfall)-want) > 1e-8*want+1 {
			t.Errorf("%s: shortfall %v, want %.2f", c.name, r.Shortfall, want)
		}
		var expected, shortfall units.Money
		for _, g := range r.Groups {
			expected += g.Expected
			shortfall += g.Shortfall
			if g.Shortfall < g.Expected {
				t.Errorf("%s: %s is expected to cost %v and %v in the worst years", c.name, g.Name, g.Expected, g.Shortfall)
			}
		}
		if expected != r.Expected || shortfall != r.Shortfall {
			t.Errorf("%s: the groups add up to %v and %v, not %v and %v", c.name, expected, shortfall, r.Expected, r.Shortfall)
		}
	}
}

// What each group adds is its own cost at each point: in all they make the point
// times its chance.
func TestSharesMakeTheWhole(t *testing.T) {
	for _, c := range mixes {
		b, err := c.in.sort()
		if err != nil {
			t.Fatal(err)
		}
		f, err := c.in.distribute(b, true)
		if err != nil {
			t.Fatal(err)
		}
		n := len(f.lattice.P)
		adds := make([][]float64, len(f.adds))
		for i, a := range f.adds {
			adds[i] = fourier.NewFFT(n).Sequence(nil, a)
		}
		for i, p := range f.lattice.P {
			sum := 0.0
			for _, a := range adds {
				sum += a[(f.lattice.First+i)%n] / float64(n)
			}
			if x := float64(f.lattice.First + i); math.Abs(sum-x*p) > 1e-10*math.Max(1, x) {
				t.Errorf("%s: at point %d the groups make %v, not %v", c.name, i, sum, x*p)
				break
			}
		}
	}
}

// More nodes than are taken change no quantile and next to nothing of the mean
// in the tail.
func TestMoreNodes(t *testing.T) {
	for _, c := range mixes {
		if c.how != "quadrature" {
			continue
		}
		usual, err := Distribution(c.in)
		if err != nil {
			t.Fatal(err)
		}
		c.in.Nodes = usual.Method.Nodes + 4
		more, err := Distribution(c.in)
		if err != nil {
			t.Fatal(err)
		}
		if more.Method.Nodes <= usual.Method.Nodes {
			t.Fatalf("%s: %d nodes are no more than %d", c.name, more.Method.Nodes, usual.Method.Nodes)
		}
		for i, q := range usual.Quantiles {
			if d := q.Cents - more.Quantiles[i].Cents; d > usual.Method.Step || d < -usual.Method.Step {
				t.Errorf("%s: %v with %d nodes, %v with %d", c.name, q, usual.Method.Nodes, more.Quantiles[i], more.Method.Nodes)
			}
		}
		worst := 0.0
		for i := range usual.Lattice.P {
			worst = math.Max(worst, math.Abs(usual.Lattice.below[i]-more.Lattice.below[i]))
		}
		if worst > 1e-5 {
			t.Errorf("%s: the distributions differ by %v", c.name, worst)
		}
	}
}

// simulate draws the whole term so many times.
func simulate(in DistributionInput, trials int) []float64 {
	source := rand.NewPCG(3, 5)
	random := rand.New(source)
	factor := func(sd float64) float64 {
		if sd == 0 {
			return 1
		}
		return distuv.Gamma{Alpha: 1 / sd / sd, Beta: 1 / sd / sd, Src: source}.Rand()
	}
	out := make([]float64, trials)
	laws := make([]logNormal, len(in.Groups))
	for i, g := range in.Groups {
		laws[i] = newLogNormal(float64(g.CostMean), float64(g.CostSD))
	}
	lots, crews := map[string]float64{}, map[string]float64{}
	for n := range out {
		clear(lots)
		clear(crews)
		weather := []float64{factor(in.WeatherSD), factor(in.WeatherSD), factor(in.WeatherSD)}
		all := factor(in.RateSD)
		for i, g := range in.Groups {
			times := all
			if g.Lot != "" {
				if _, drawn := lots[g.Lot]; !drawn {
					lots[g.Lot] = factor(in.LotSD)
				}
				times *= lots[g.Lot]
			}
			if g.Crew != "" {
				if _, drawn := crews[g.Crew]; !drawn {
					crews[g.Crew] = factor(in.CrewSD)
				}
				times *= crews[g.Crew]
			}
			rate := 0.0
			for y, r := range g.Rates {
				rate += g.Promises * r * times * weather[y]
			}
			for range int(distuv.Poisson{Lambda: rate, Src: source}.Rand()) {
				out[n] += math.Exp(laws[i].mu + laws[i].sigma*random.NormFloat64())
			}
		}
	}
	slices.Sort(out)
	return out
}

// Quantiles within a step and four standard errors of a simulation: a million
// terms where only the weather varies, fewer where much does.
func TestDistributionAgainstSimulation(t *testing.T) {
	weather := DistributionInput{WeatherSD: .4, Groups: []PromiseGroup{{Promises: 100, Rates: []float64{.012, .01, .008}, CostMean: 40000, CostSD: 45000}}}
	for _, c := range []struct {
		name   string
		in     DistributionInput
		trials int
	}{{"weather", weather, 1_000_000}, {"a lot and a crew", mixes[3].in, 200_000}, {"lots crossing crews", mixes[5].in, 60_000}, {"lots crossing crews, and weather", mixes[7].in, 60_000},
		{"unsure rates", mixes[8].in, 60_000}} {
		r, err := Distribution(c.in)
		if err != nil {
			t.Fatal(err)
		}
		drawn := simulate(c.in, c.trials)
		for _, q := range r.Quantiles {
			error4 := 4 * math.Sqrt(q.Level*(1-q.Level)/float64(c.trials))
			part := func(x float64) float64 { return float64(sortedBelow(drawn, x)) / float64(c.trials) }
			x, step := float64(q.Cents), float64(r.Method.Step)
			if part(x+step) < q.Level-error4 || part(x-step) > q.Level+error4 {
				t.Errorf("%s: of the draws %.5f lie below the %v point less a step, %.5f below it and a step", c.name, part(x-step), q.Level, part(x+step))
			}
		}
	}
}

func sortedBelow(x []float64, most float64) int {
	n, _ := slices.BinarySearch(x, math.Nextafter(most, math.Inf(1)))
	return n
}

// exp(−10⁴) is nought, and the distribution stands all the same.
func TestDistributionOfManyCallbacks(t *testing.T) {
	r, err := Distribution(DistributionInput{Groups: []PromiseGroup{{Promises: 1e5, Rates: []float64{.1}, CostMean: 40000, CostSD: 30000}}})
	if err != nil {
		t.Fatal(err)
	}
	mean, sd := r.Lattice.Moments()
	if !near(mean+float64(r.Method.BeyondCap), 4e8, 1e-10) || !near(sd, 50000*100, 2e-3) {
		t.Errorf("mean %v, sd %v", mean, sd)
	}
	if q := float64(r.Quantiles[3].Cents); !near(q, 4e8+1.2815515655*5e6, 1e-4) {
		t.Errorf("the 90 %% point %v is far from the normal one", q)
	}
}

func TestDistributionEachYear(t *testing.T) {
	in := mixes[7].in
	in.EachYear, in.FirstYear = true, 2027
	r, err := Distribution(in)
	if err != nil {
		t.Fatal(err)
	}
	var sum units.Money
	for i, y := range r.Years {
		sum += y.Expected
		if y.Year != 2027+i || !(y.Low <= y.Expected && y.Expected <= y.High) {
			t.Errorf("%+v", y)
		}
	}
	if sum != r.Expected || len(r.Years) != 3 {
		t.Errorf("years %+v make %v, not %v", r.Years, sum, r.Expected)
	}
	out, err := json.Marshal(r)
	if err != nil || !strings.Contains(string(out), `"shortfall_cents"`) || strings.Contains(string(out), `"lattice"`) {
		t.Errorf("%s, %v", out, err)
	}
}

func TestDistributionRefusals(t *testing.T) {
	half := 1.5
	for want, spoil := range map[string]func(*DistributionInput){
		"groups: must be":              func(in *DistributionInput) { in.Groups = nil },
		"weather_sd":                   func(in *DistributionInput) { in.WeatherSD = math.NaN() },
		"lot_sd":                       func(in *DistributionInput) { in.LotSD = 3 },
		"crew_sd":                      func(in *DistributionInput) { in.CrewSD = -1 },
		"levels[0]":                    func(in *DistributionInput) { in.Levels = []float64{1} },
		"shortfall_level":              func(in *DistributionInput) { in.Shortfall = 1 },
		"step_cents: must":             func(in *DistributionInput) { in.Step = -1 },
		"step_cents: the lattice":      func(in *DistributionInput) { in.Step = 1; in.Groups[0].Promises = 1e6 },
		"nodes":                        func(in *DistributionInput) { in.Nodes = 500 },
		"first_year":                   func(in *DistributionInput) { in.FirstYear = -3 },
		"groups[0].rates[0]":           func(in *DistributionInput) { in.Groups[0].Rates = []float64{math.Inf(1)} },
		"groups[0].rates: at least":    func(in *DistributionInput) { in.Groups[0].Rates = nil },
		"groups[0].promises":           func(in *DistributionInput) { in.Groups[0].Promises = -1 },
		"groups[0].share":              func(in *DistributionInput) { in.Groups[0].Share = &half },
		"groups[0].cost_mean_cents":    func(in *DistributionInput) { in.Groups[0].CostMean = 0 },
		"groups[0].cost_sd_cents":      func(in *DistributionInput) { in.Groups[0].CostSD = -1 },
		"groups[0].costs: give either": func(in *DistributionInput) { in.Groups[0].Costs = klugmanCosts() },
		"groups[0].costs[0]": func(in *DistributionInput) {
			in.Groups[0] = PromiseGroup{Rates: []float64{1}, Costs: []CostChance{{-1, 1}}}
		},
		"groups[0].costs: the chances": func(in *DistributionInput) {
			in.Groups[0] = PromiseGroup{Rates: []float64{1}, Costs: []CostChance{{1, .5}}}
		},
		"groups: lots and crews that":   func(in *DistributionInput) { *in = mixed(6, 6, .3, .3, .3) },
		"groups: at most 10000000 call": func(in *DistributionInput) { in.Groups[0].Promises, in.Groups[0].Rates = 1e7, []float64{2} },
	} {
		in := DistributionInput{Groups: []PromiseGroup{{Promises: 10, Rates: []float64{.1}, CostMean: 40000, CostSD: 30000}}}
		spoil(&in)
		if _, err := Distribution(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
	none, err := Distribution(DistributionInput{Groups: []PromiseGroup{{Rates: []float64{0}, CostMean: 100}}})
	if err != nil || none.None != 1 || none.Expected != 0 || none.Shortfall != 0 {
		t.Errorf("no callback to expect: %+v, %v", none, err)
	}
}

// The moments of a gamma by its nodes, up to the degree they are exact for.
func TestGammaNodes(t *testing.T) {
	for _, variance := range []float64{1e-6, .09, .25, 1, 4} {
		for _, n := range []int{2, 8, 32, 64} {
			moment := 1.0
			for k := range 4 {
				sum := 0.0
				for _, p := range gammaNodes(variance, n) {
					sum += p.weight * math.Pow(p.at, float64(k))
				}
				if !near(sum, moment, 1e-9) {
					t.Errorf("variance %v, %d nodes: moment %d is %v, want %v", variance, n, k, sum, moment)
				}
				moment *= 1 + float64(k)*variance
			}
		}
	}
}

// warranties are 100,000 of ten years, in ten cohorts, each with its own rate.
func warranties() DistributionInput {
	in := DistributionInput{WeatherSD: .25}
	rates := make([][]float64, 1000)
	for i := range rates {
		for y := range 10 {
			rates[i] = append(rates[i], .002+.002*float64(i%7)/7-.0001*float64(y))
		}
	}
	for i := range 100_000 {
		in.Groups = append(in.Groups, PromiseGroup{Name: fmt.Sprint(2017 + i%10), Rates: rates[i%1000], CostMean: 45000, CostSD: 40000})
	}
	return in
}

func BenchmarkDistribution100000(b *testing.B) {
	in := warranties()
	for b.Loop() {
		if _, err := Distribution(in); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTrials draws the same total 10,000 times: the count of each year from
// its gamma and a Poisson, and so many log-normal costs.
func BenchmarkTrials10000(b *testing.B) {
	in := warranties()
	totals := make([]float64, 10)
	for _, g := range in.Groups {
		for y, r := range g.Rates {
			totals[y] += r
		}
	}
	source := rand.NewPCG(1, 2)
	random := rand.New(source)
	cost := newLogNormal(45000, 40000)
	for b.Loop() {
		sums := make([]float64, 10_000)
		for n := range sums {
			for _, rate := range totals {
				w := distuv.Gamma{Alpha: 16, Beta: 16, Src: source}.Rand()
				for range int(distuv.Poisson{Lambda: rate * w, Src: source}.Rand()) {
					sums[n] += math.Exp(cost.mu + cost.sigma*random.NormFloat64())
				}
			}
		}
		slices.Sort(sums)
	}
}

func BenchmarkDistributionCrossed(b *testing.B) {
	for _, c := range mixes {
		b.Run(strings.ReplaceAll(c.name, " ", "_"), func(b *testing.B) {
			for b.Loop() {
				if _, err := Distribution(c.in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// Compound distributions by the recursion of the R package actuar 3.3-2, made by
// testdata/actuar.R: chances of at most so many steps.
func TestAgainstActuar(t *testing.T) {
	klugman := []float64{0, .15, .2, .25, .125, .075, .05, .05, .05, .025, .025}
	cost := logNormal{mu: 1, sigma: .8, mean: math.Exp(1 + .32)}
	for _, c := range []struct {
		name     string
		count    Count
		severity []float64
		below    []struct{ at, p float64 }
	}{
		{"poisson", Count{Mean: 25}, klugman, []struct{ at, p float64 }{{0, 1.3887943864964021e-11}, {5, 4.4277263922029836e-09}, {20, 1.5114760470284217e-05}, {50, 0.017836034304921942}, {100, 0.6583556916812684}, {150, 0.99238487104411854}, {200, 0.99998550311683643}, {300, 0.99999999999973277}}},
		{"negative binomial", Count{Mean: 25, Size: 4}, klugman, []struct{ at, p float64 }{{0, 0.00036194949390694797}, {5, 0.0025247060110874797}, {20, 0.031475298999052138}, {50, 0.2127768952191347}, {100, 0.62568858594461552}, {150, 0.87113977119239494}, {200, 0.96345974445593352}, {300, 0.99790785055705677}}},
		{"log-normal", Count{Mean: 12}, Discretise(cost.limited, 1, 2000), []struct{ at, p float64 }{{0, 8.8171739327284618e-06}, {5, 0.00061113722915139695}, {20, 0.059743887297417704}, {50, 0.66329431526491622}, {100, 0.99329650616610998}, {150, 0.99990658737762361}, {200, 0.99999570118202219}, {300, 0.99999990216541512}}},
	} {
		l, err := Compound(c.count, c.severity, 1)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range c.below {
			if got := l.At(b.at); math.Abs(got-b.p) > 1e-10 {
				t.Errorf("%s, at most %v: %.15f, want %.15f", c.name, b.at, got, b.p)
			}
		}
	}
}
