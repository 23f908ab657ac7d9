package owed

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

// By the definition, all sums anew, and what must hold of any means.
func TestCredibilityByDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"north", "south", "west", "shop"}
		var in CredibilityInput
		for range rapid.IntRange(1, 20).Draw(t, "observations") {
			weight := rapid.Float64Range(0.1, 50).Draw(t, "weight")
			in.Observations = append(in.Observations, Observation{Group: rapid.SampledFrom(names).Draw(t, "group"),
				Value: rapid.Float64Range(-1000, 1000).Draw(t, "value"), Weight: &weight})
		}
		r, err := Credibility(in)
		if err != nil {
			t.Fatal(err)
		}
		var within, between, all, weights, squares, freedom float64
		mean := func(of func(Observation) bool) (mean, weight float64) {
			for _, o := range in.Observations {
				if of(o) {
					mean, weight = mean+*o.Weight*o.Value, weight+*o.Weight
				}
			}
			return mean / weight, weight
		}
		all, weights = mean(func(Observation) bool { return true })
		for _, g := range r.Groups {
			m, w := mean(func(o Observation) bool { return o.Group == g.Group })
			if math.Abs(m-g.Observed) > 1e-9 || math.Abs(w-g.Weight) > 1e-9 {
				t.Fatalf("%s: %v by %v, want %v by %v", g.Group, g.Observed, g.Weight, m, w)
			}
			between += w * (m - all) * (m - all)
			squares += w * w
			for _, o := range in.Observations {
				if o.Group == g.Group {
					within += *o.Weight * (o.Value - m) * (o.Value - m)
					freedom++
				}
			}
			freedom--
		}
		groups := float64(len(r.Groups))
		if freedom == 0 {
			if r.Within != nil || r.Between != nil || r.Groups[0].Mean != nil || len(r.Notes) != 1 || r.Notes[0].Code != "no_spread_within" {
				t.Fatalf("of one observation each: %+v", r)
			}
			return
		}
		within /= freedom
		if math.Abs(*r.Within-within) > 1e-9*within+1e-6 {
			t.Fatalf("within %v, want %v", *r.Within, within)
		}
		if groups == 1 {
			if r.Between != nil || len(r.Notes) > 0 || r.Groups[0].Credibility != 0 || *r.Groups[0].Mean != r.Collective {
				t.Fatalf("of one group: %+v", r)
			}
			return
		}
		between = (between - (groups-1)*within) / (weights - squares/weights)
		if math.Abs(*r.Between-between) > 1e-8*(math.Abs(between)+within+1e3) {
			t.Fatalf("between %v, want %v", *r.Between, between)
		}
		// The variance of the collective mean, which is by credibility or of all alike.
		total, collective, credibilities := 0.0, within/weights, 0.0
		for _, g := range r.Groups {
			credibilities += g.Credibility
		}
		if credibilities > 0 {
			collective = *r.Between / credibilities
		}
		for _, g := range r.Groups {
			want := 0.0
			if *r.Between > 0 {
				want = g.Weight / (g.Weight + within / *r.Between)
			}
			if math.Abs(g.Credibility-want) > 1e-6 || math.Abs(*g.Mean-(want*g.Observed+(1-want)*r.Collective)) > 1e-3 {
				t.Fatalf("%+v, want a credibility of %v", g, want)
			}
			if se := math.Sqrt((1-want)*max(*r.Between, 0) + (1-want)*(1-want)*collective); math.Abs(*g.SE-se) > 1e-6*se+1e-3 {
				t.Fatalf("%+v, want an error of %v", g, se)
			}
			total += g.Weight * (*g.Mean - g.Observed)
		}
		// The company's total is kept: what some groups lose others gain.
		if math.Abs(total) > 1e-6*weights {
			t.Fatalf("groups gain %v on the whole", total)
		}
		// In dollars for cents all amounts change alike.
		for i := range in.Observations {
			in.Observations[i].Value /= 100
		}
		dollars, err := Credibility(in)
		if err != nil {
			t.Fatal(err)
		}
		for i, g := range dollars.Groups {
			if math.Abs(g.Credibility-r.Groups[i].Credibility) > 1e-6 || math.Abs(100**g.Mean-*r.Groups[i].Mean) > 1e-3 {
				t.Fatalf("in dollars %+v, in cents %+v", g, r.Groups[i])
			}
		}
	})
}

// Known truth: over many companies the estimates are right on the mean, and the
// error told is that of the means, to four standard errors of the simulation.
func TestCredibilityIsUnbiased(t *testing.T) {
	const companies, crews, mean, between, within = 4000, 12, 500., 90. * 90, 300. * 300
	rng := rand.New(rand.NewPCG(3, 9))
	var sums, squares [5]float64
	for range companies {
		var in CredibilityInput
		true := map[string]float64{}
		for k := range crews {
			crew := string(rune('a' + k))
			true[crew] = mean + math.Sqrt(between)*rng.NormFloat64()
			for range 1 + k {
				weight := float64(1 + rng.IntN(9))
				in.Observations = append(in.Observations, Observation{crew, true[crew] + math.Sqrt(within/weight)*rng.NormFloat64(), &weight})
			}
		}
		r, err := Credibility(in)
		if err != nil {
			t.Fatal(err)
		}
		missed, told := 0.0, 0.0
		for _, g := range r.Groups {
			missed += (*g.Mean - true[g.Group]) * (*g.Mean - true[g.Group]) / crews
			told += *g.SE * *g.SE / crews
		}
		for i, v := range []float64{r.Collective, *r.Between, *r.Within, missed, told} {
			sums[i], squares[i] = sums[i]+v/companies, squares[i]+v*v/companies
		}
	}
	for i, want := range []float64{mean, between, within} {
		if se := math.Sqrt((squares[i] - sums[i]*sums[i]) / companies); math.Abs(sums[i]-want) > 4*se {
			t.Errorf("estimate %d: %v on the mean, want %v", i, sums[i], want)
		}
	}
	// The variances are taken for known in what is told, which leaves out some.
	if ratio := sums[3] / sums[4]; ratio < 1 || ratio > 1.2 {
		t.Errorf("the squared error is %v times what is told", ratio)
	}
}

func TestCredibilityRefusals(t *testing.T) {
	weight := func(w float64) *float64 { return &w }
	for says, in := range map[string]CredibilityInput{
		"observations: give at least one":       {},
		"observations[1].value: must lie":       {Observations: []Observation{{"a", 1, nil}, {"a", math.NaN(), nil}}},
		"observations[0].weight: must lie":      {Observations: []Observation{{"a", 1, weight(0)}}},
		"observations[0].weight: must lie abov": {Observations: []Observation{{"a", 1, weight(math.Inf(1))}}},
	} {
		if _, err := Credibility(in); err == nil || !strings.HasPrefix(err.Error(), says) {
			t.Errorf("got %v, want %q", err, says)
		}
	}
	// All alike in every group: nothing varies within, and each mean is its own.
	r, err := Credibility(CredibilityInput{Observations: []Observation{{"a", 3, nil}, {"a", 3, nil}, {"b", 5, nil}, {"b", 5, nil}}})
	if err != nil || r.Groups[0].Credibility != 1 || *r.Groups[1].Mean != 5 || r.Collective != 4 {
		t.Errorf("%+v, %v", r, err)
	}
	r, err = Credibility(CredibilityInput{Observations: []Observation{{"a", 3, nil}, {"a", 3, nil}, {"b", 3, nil}}})
	if err != nil || r.Groups[0].Credibility != 0 || *r.Groups[1].Mean != 3 || *r.Groups[1].SE != 0 {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err := json.Marshal(r); err != nil {
		t.Error(err)
	}
}

// Costs by cause where little is known, by hand: within is the spread of logarithms in
// a cause, or what is assumed; a cause with one cost is drawn to all, the more the less
// they differ, and one with none takes the mean of all with what is not known of it.
func TestCostsByCause(t *testing.T) {
	type cause struct {
		logs         []float64
		free         int
		mean, spread float64 // of the logarithm
		se, pull     float64
		costs        float64 // how often it costs anything
	}
	alike := func(log float64) cause { return cause{[]float64{log}, 0, 10, 1, 0.408248, 1, 1} }
	for name, causes := range map[string][]cause{
		// Within 1.5/5; about 10.3 of all 3.34, so between (3.34 − 2·0.3)/(8 − 30/8) = 0.644706,
		// and credibilities 5/5.465329, 1/1.465329, 2/2.465329, by which all have 10.701410 in common.
		"one cost among more": {
			{[]float64{10.5, 9.5, 10.5, 9.5, 10}, 0, 10.059719, 0.3, 0.238394, 0.085142, 1},
			{[]float64{12}, 0, 11.587621, 0.3, 0.481379, 0.317559, 1},
			{[]float64{10.9, 9.9}, 0, 10.456891, 0.3, 0.362248, 0.188749, 1},
			{nil, 0, 10.701410, 0.3, 0.955186, 1, 1},
		},
		// What is assumed, 1, stands for within, and six differ by less.
		"one cost each": {alike(9), alike(11), alike(10), alike(10), alike(10), alike(10)},
		// Four that are alike are too few to say that costs are. A third of all cost nothing.
		"few, and some free": {{[]float64{10, 10, 10, 10}, 1, 10, 1, 0.5, 1, (2./3 + 4) / 6}, {nil, 1, 10, 1, 0.5, 1, (2. / 3) / 2}},
	} {
		t.Run(name, func(t *testing.T) {
			f := &Fitted{in: &ModelInput{AsOf: modelDay}, of: map[string]int{}}
			for k, c := range causes {
				name := string(rune('a' + k))
				f.causes, f.of[name] = append(f.causes, name), k
				costs := make([]units.Money, c.free)
				for _, log := range c.logs {
					costs = append(costs, units.Money(math.Round(math.Exp(log))))
				}
				for _, cents := range costs {
					f.in.Callbacks = append(f.in.Callbacks, ModelCallback{Cause: name, HappenedOn: modelDay - 1, CostCents: &cents})
				}
			}
			for k, got := range f.costs() {
				c := causes[k]
				mean := math.Exp(c.mean + c.spread/2)
				if got.Known != len(c.logs)+c.free || !near(float64(got.Mean), mean, 2e-4) || !near(float64(got.SD), mean*math.Sqrt(math.Expm1(c.spread)), 2e-4) ||
					!near(got.SE, c.se, 2e-4) || !near(got.Pull, c.pull, 5e-4) || !near(got.Costs, c.costs, 1e-12) {
					t.Errorf("%+v, want %+v", got, c)
				}
			}
		})
	}
}
