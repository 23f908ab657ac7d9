package workmanship

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"overhang/analytics/units"
)

var today = units.NewDate(2026, time.June, 30)

func mustReview(t testing.TB, in Input) Result {
	t.Helper()
	r, err := Review(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// The limits of 4 of 20 are those that R's binom.test prints (from memory), those
// of a Poisson number of 10 are Garwood's (Biometrika 28, 1936).
func TestExactLimits(t *testing.T) {
	low, high := clopperPearson(4, 20, 0.95)
	near(t, "4 of 20, low", low, 0.057334, 5e-7)
	near(t, "4 of 20, high", high, 0.436614, 5e-7)
	if low, high := clopperPearson(0, 5, 0.95); low != 0 || math.Abs(high-(1-math.Pow(0.025, 0.2))) > 1e-9 {
		t.Errorf("0 of 5: %v to %v", low, high)
	}
	r := Result{Level: 0.95, Clump: 1}
	rate := r.per(1, 10, 1)
	near(t, "10, low", rate.Low, 4.795, 5e-4)
	near(t, "10, high", rate.High, 18.390, 5e-4)
}

// The limits of a group against the binomial distribution, number by number.
func TestLimitsAreBinomial(t *testing.T) {
	for _, c := range []struct {
		expected, level float64
		total           int
	}{{5, 0.95, 20}, {0.4, 0.99, 30}, {12.5, 0.9875, 50}, {49, 0.95, 50}, {1, 0.95, 1}} {
		b := distuv.Binomial{N: float64(c.total), P: c.expected / float64(c.total)}
		low, high := limits(c.expected, c.total, 1, c.level)
		out := (1 - c.level) / 2
		if b.CDF(float64(low)) <= out-1e-12 || (low > 0 && b.CDF(float64(low-1)) > out+1e-12) {
			t.Errorf("%+v: low %d", c, low)
		}
		if b.CDF(float64(high)) < 1-out-1e-12 || (high > 0 && b.CDF(float64(high-1)) >= 1-out+1e-12) {
			t.Errorf("%+v: high %d", c, high)
		}
	}
	if low, high := limits(7, 7, 1, 0.95); low != 7 || high != 7 {
		t.Errorf("all there is: %d to %d", low, high)
	}
}

// company lays roofs by several crews, each crew's callbacks at a pace times
// 0.3/year in the first year since laying and a sixth of that later.
func company(rng *rand.Rand, pace map[string]float64, perCrew int, oldest map[string]float64) Input {
	in := Input{AsOf: today}
	for _, crew := range sortedKeys(pace) {
		for i := range perCrew {
			years := rng.Float64() * oldest[crew]
			laid := today.AddDays(-int(years * 365.25))
			id := fmt.Sprintf("%s%d", crew, i)
			in.Roofs = append(in.Roofs, Roof{ID: id, Crew: crew, LaidOn: laid, Squares: 15 + 20*rng.Float64()})
			for day := laid; day <= today; day++ {
				rate := 0.05
				if day.YearsSince(laid) < 1 {
					rate = 0.3
				}
				if rng.Float64() < pace[crew]*rate/365.25 {
					in.Callbacks = append(in.Callbacks, Callback{Roof: id, On: day, Cause: "flashing"})
				}
			}
		}
	}
	return in
}

func crewOf(t testing.TB, r Result, name string) Group {
	t.Helper()
	for _, g := range r.Crews {
		if g.Name == name {
			return g
		}
	}
	t.Fatalf("there is no crew %q", name)
	return Group{}
}

// A crew with three times the callbacks is found, and the one whose roofs are the
// youngest, so that its plain rate is the highest, is not called out for it.
func TestAgeIsTakenOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	alike := map[string]float64{"Ash": 1, "Birch": 1, "Cedar": 1}
	ages := map[string]float64{"Ash": 1.2, "Birch": 8, "Cedar": 8}
	young := mustReview(t, company(rng, alike, 150, ages))
	ash, birch := crewOf(t, young, "Ash"), crewOf(t, young, "Birch")
	if plain := (float64(ash.Callbacks) / ash.RoofYears) / (float64(birch.Callbacks) / birch.RoofYears); plain < 1.8 {
		t.Errorf("the plain rates differ %.2f times only: the test shows nothing", plain)
	}
	if ash.Finding != WithinAll {
		t.Errorf("the crew of the youngest roofs: %+v", ash)
	}
	worse := mustReview(t, company(rng, map[string]float64{"Ash": 1, "Birch": 3, "Cedar": 1}, 150, map[string]float64{"Ash": 6, "Birch": 6, "Cedar": 6}))
	if b := crewOf(t, worse, "Birch"); b.Finding != MoreThanAll || b.Pace.Low <= 1 {
		t.Errorf("the crew at three times the pace: %+v", b)
	}
	if len(worse.StandOut) != 1 || worse.StandOut[0].Crew != "Birch" || worse.StandOut[0].Cause != "flashing" {
		t.Errorf("what stands out: %+v", worse.StandOut)
	}
	if worse.Crews[0].Name != "Ash" || worse.Crews[2].Name != "Cedar" {
		t.Error("crews are not in the order of their names")
	}
}

// Among companies whose crews are all alike, about one in twenty has a crew
// called out, and never many more.
func TestFalseAlarms(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	pace, ages := map[string]float64{}, map[string]float64{}
	for _, crew := range []string{"A", "B", "C", "D", "E", "F"} {
		pace[crew], ages[crew] = 1, 5
	}
	const companies = 120
	called := 0
	for range companies {
		for _, g := range mustReview(t, company(rng, pace, 25, ages)).Crews {
			if g.Finding == MoreThanAll || g.Finding == FewerThan {
				called++
				break
			}
		}
	}
	t.Logf("a crew was called out in %d of %d companies with crews alike", called, companies)
	if called > companies*12/100 { // 5 % and three standard errors
		t.Errorf("%d of %d companies had a crew called out", called, companies)
	}
}

// One roof that calls again and again is one bad roof and no bad crew.
func TestOneRoofIsNoCrew(t *testing.T) {
	in := Input{AsOf: today}
	laid := today.AddYears(-4)
	for i := range 80 {
		in.Roofs = append(in.Roofs, Roof{ID: fmt.Sprint(i), Crew: []string{"Ash", "Birch"}[i%2], LaidOn: laid})
	}
	for i := range 8 {
		in.Callbacks = append(in.Callbacks, Callback{Roof: fmt.Sprint(i), On: laid.AddDays(100 * (i + 1)), Cause: "nail"})
	}
	for i := range 12 {
		in.Callbacks = append(in.Callbacks, Callback{Roof: "10", On: laid.AddDays(50 + 30*i), Cause: "valley"})
	}
	r := mustReview(t, in)
	ash := crewOf(t, r, "Ash")
	if ash.Callbacks != 16 || ash.Finding != WithinAll || r.Clump < 2 {
		t.Errorf("clump %.2f, %+v", r.Clump, ash)
	}
	// Without the clumps the same numbers would be beyond the limits.
	if _, high := limits(ash.Expected, 20, 1, 0.975); high >= 16 {
		t.Errorf("the limit for single callbacks is %d: the test shows nothing", high)
	}
}

func TestBeforeAndAfter(t *testing.T) {
	changed := units.NewDate(2024, time.July, 1)
	lay := func(rng *rand.Rand, after float64, n int) Input {
		in := Input{AsOf: today, Changes: []Change{{Name: "two thirds of every flange lapped", On: changed, Crew: "Ash"}}}
		for i := range n {
			for _, crew := range []string{"Ash", "Birch"} {
				laid := changed.AddDays(rng.IntN(4*365) - 2*365)
				id := fmt.Sprintf("%s%d", crew, i)
				in.Roofs = append(in.Roofs, Roof{ID: id, Crew: crew, LaidOn: laid})
				for day := laid; day <= today; day++ {
					rate := 0.4
					if crew == "Ash" && laid >= changed {
						rate *= after
					}
					if rng.Float64() < rate/365.25 {
						in.Callbacks = append(in.Callbacks, Callback{Roof: id, On: day, Cause: "lap"})
					}
				}
			}
		}
		return in
	}
	r := mustReview(t, lay(rand.New(rand.NewPCG(5, 6)), 0.3, 250)).Changes[0]
	if r.Finding != FewerThan || r.Ratio.Low > 0.3 || *r.Ratio.High < 0.3 {
		t.Errorf("a habit put right: %+v %+v", r, *r.Ratio)
	}
	if r.Others == nil || r.Others.Low > 1 || *r.Others.High < 1 {
		t.Errorf("the others did not change: %+v", r.Others)
	}
	near(t, "up to age", r.UpToAge, (today + 1).YearsSince(changed), 1e-12)
	small := mustReview(t, lay(rand.New(rand.NewPCG(7, 8)), 0.3, 4)).Changes[0]
	if small.Finding == FewerThan || small.Finding == MoreThanAll {
		t.Errorf("from four roofs: %+v", small)
	}
	// A change that lies ahead, and one after which nothing was laid.
	in := lay(rand.New(rand.NewPCG(9, 10)), 1, 20)
	in.Changes = []Change{{Name: "next year", On: today.AddYears(1)}, {Name: "today", On: today.AddDays(1)}, {Name: "long ago", On: today.AddYears(-30)}}
	for _, c := range mustReview(t, in).Changes {
		if c.Ratio != nil || c.Finding != NotWatched {
			t.Errorf("%s: %+v", c.Name, c)
		}
	}
}

// The limits of the ratio of two Poisson rates, 11 in 1,000 years against 4 in
// 1,000: the exact limits of the odds of 11 in 15, in their textbook form by
// quantiles of the F distribution (Johnson, Kemp and Kotz, from memory).
func TestRatioOfTwoRates(t *testing.T) {
	r := Result{Level: 0.95, Clump: 1}
	var roofs []*watched
	day := units.NewDate(2020, time.January, 1)
	for i := range 2000 {
		w := &watched{Roof: Roof{ID: fmt.Sprint(i), LaidOn: day.AddDays(i%2 - 1)}, end: 1}
		roofs = append(roofs, w)
	}
	for i := range 4 {
		roofs[2*i].calls = []call{{age: 0.5}}
	}
	for i := range 11 {
		roofs[2*i+1].calls = []call{{age: 0.5}}
	}
	before, after, ratio := r.sides(roofs, day)
	if before.Callbacks != 4 || after.Callbacks != 11 || math.Abs(before.Expected-7.5) > 1e-9 {
		t.Fatalf("%+v %+v", before, after)
	}
	// p/(1−p) at the F quantiles: low = 11/(5·F(0.975; 10, 22)), high = 12·F(0.975; 24, 8)/4.
	low := 11 / (5 * distuv.F{D1: 10, D2: 22}.Quantile(0.975))
	high := 12 * distuv.F{D1: 24, D2: 8}.Quantile(0.975) / 4
	near(t, "low", ratio.Low, low, 1e-6)
	near(t, "high", *ratio.High, high, 1e-6)
}

func TestDetails(t *testing.T) {
	laid := today.AddYears(-2)
	in := Input{AsOf: today, Roofs: []Roof{
		{ID: "1", Crew: "Ash", LaidOn: laid, Details: map[string]int{"chimney": 2}},
		{ID: "2", Crew: "Birch", LaidOn: laid, Details: map[string]int{"valley": 1}},
		{ID: "3", Crew: "Birch", LaidOn: laid}},
		Callbacks: []Callback{{Roof: "1", On: laid.AddDays(9), Detail: "chimney"}, {Roof: "3", On: laid.AddDays(9), Detail: "chimney"},
			{Roof: "2", On: laid, Detail: "eave"}, {Roof: "2", On: laid.AddDays(-1)}, {Roof: "9", On: today}, {Roof: "2", On: today.AddDays(1)}}}
	r := mustReview(t, in)
	if r.LeftOut != 3 || r.All.Callbacks != 3 || len(r.Details) != 3 {
		t.Fatalf("%+v", r)
	}
	chimney, eave, valley := r.Details[0], r.Details[1], r.Details[2]
	if chimney.Callbacks != 2 || chimney.Counted != 1 || chimney.Details != 2 || eave.Per100Years != nil || valley.Callbacks != 0 {
		t.Errorf("%+v", r.Details)
	}
	near(t, "chimneys", chimney.Per100Years.Middle, 100/(2*r.Crews[0].RoofYears), 1e-9)
	if valley.Per100Years.Low != 0 || !(valley.Per100Years.High > 0) {
		t.Errorf("no callback at all: %+v", valley.Per100Years)
	}
}

func random(t *rapid.T) Input {
	in := Input{AsOf: today}
	for i := range rapid.IntRange(0, 12).Draw(t, "roofs") {
		roof := Roof{ID: fmt.Sprint(i), Crew: rapid.SampledFrom([]string{"", "Ash", "Birch", "Cedar"}).Draw(t, "crew"),
			LaidOn: today.AddDays(-rapid.IntRange(-200, 4000).Draw(t, "laid")), Squares: rapid.SampledFrom([]float64{0, 12, 31}).Draw(t, "squares")}
		if rapid.Bool().Draw(t, "ended") {
			roof.Until = roof.LaidOn.AddDays(rapid.IntRange(-5, 2000).Draw(t, "until"))
		}
		if rapid.Bool().Draw(t, "chimneys") {
			roof.Details = map[string]int{"chimney": rapid.IntRange(0, 3).Draw(t, "chimney")}
		}
		in.Roofs = append(in.Roofs, roof)
	}
	for range rapid.IntRange(0, 20).Draw(t, "callbacks") {
		in.Callbacks = append(in.Callbacks, Callback{Roof: fmt.Sprint(rapid.IntRange(0, 13).Draw(t, "roof")), On: today.AddDays(-rapid.IntRange(0, 4000).Draw(t, "on")),
			Cause: rapid.SampledFrom([]string{"", "lap", "nail"}).Draw(t, "cause"), Detail: rapid.SampledFrom([]string{"", "chimney", "eave"}).Draw(t, "detail")})
	}
	for range rapid.IntRange(0, 2).Draw(t, "changes") {
		in.Changes = append(in.Changes, Change{Name: "change", On: today.AddDays(-rapid.IntRange(-50, 4000).Draw(t, "changed")), Crew: rapid.SampledFrom([]string{"", "Ash"}).Draw(t, "of")})
	}
	return in
}

// Whatever happened: the expected numbers add up to those that came, nobody's
// callbacks are lost, every range is in order and finite, and the order of the
// rows changes nothing.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := random(t)
		r, err := Review(in)
		if err != nil {
			t.Fatal(err)
		}
		expected, came := 0.0, 0
		finite := func(what string, v ...float64) {
			for i, x := range v {
				if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 || (i > 0 && x < v[i-1]-1e-12) {
					t.Fatalf("%s: %v", what, v)
				}
			}
		}
		for _, g := range r.Crews {
			expected += g.Expected
			came += g.Callbacks
			finite("limits", float64(g.LimitLow), float64(g.LimitHigh), float64(r.All.Callbacks))
			if g.Pace != nil {
				finite("pace", g.Pace.Low, g.Pace.Middle, g.Pace.High)
			}
			for _, s := range slices.Concat(g.PerRoof, g.Per100Squares) {
				finite("curve", s.Low, s.Mean, s.High)
			}
		}
		if math.Abs(expected-float64(came)) > 1e-9 || came != r.All.Callbacks || came+r.LeftOut != len(in.Callbacks) {
			t.Fatalf("%v expected, %d came to crews, %d in all, %d left out of %d", expected, came, r.All.Callbacks, r.LeftOut, len(in.Callbacks))
		}
		for _, c := range r.Causes {
			finite("cause", c.Per100.Low, c.Per100.Middle, c.Per100.High)
		}
		for _, d := range r.Details {
			if d.Per100Years != nil {
				finite("detail", d.Per100Years.Low, d.Per100Years.Middle, d.Per100Years.High)
			}
		}
		for _, c := range r.Changes {
			for _, ratio := range []*Ratio{c.Ratio, c.Others} {
				if ratio != nil && ratio.High != nil {
					finite("ratio", ratio.Low, ratio.Middle, *ratio.High)
				} else if ratio != nil {
					finite("ratio", ratio.Low, ratio.Middle)
				}
			}
		}
		turned := in
		turned.Roofs, turned.Callbacks = slices.Clone(in.Roofs), slices.Clone(in.Callbacks)
		slices.Reverse(turned.Roofs)
		slices.Reverse(turned.Callbacks)
		other, err := Review(turned)
		if err != nil {
			t.Fatal(err)
		}
		for i, g := range r.Crews {
			o := other.Crews[i]
			if g.Name != o.Name || g.Finding != o.Finding || g.Callbacks != o.Callbacks || math.Abs(g.Expected-o.Expected) > 1e-9 {
				t.Fatalf("turned round: %+v, was %+v", o, g)
			}
		}
	})
}

func TestRefused(t *testing.T) {
	ok := Roof{ID: "1", LaidOn: today}
	for _, c := range []struct {
		in   Input
		says string
	}{
		{Input{}, "as_of: is needed"},
		{Input{AsOf: today, Level: 0.3}, "level:"},
		{Input{AsOf: today, Level: math.NaN()}, "level:"},
		{Input{AsOf: today, Roofs: []Roof{{LaidOn: today}}}, "roofs[0].id"},
		{Input{AsOf: today, Roofs: []Roof{ok, ok}}, "roofs[1].id: \"1\" is there twice"},
		{Input{AsOf: today, Roofs: []Roof{{ID: "1"}}}, "roofs[0].laid_on"},
		{Input{AsOf: today, Roofs: []Roof{{ID: "1", LaidOn: today, Squares: math.NaN()}}}, "roofs[0].squares"},
		{Input{AsOf: today, Roofs: []Roof{{ID: "1", LaidOn: today, Details: map[string]int{"valley": -1}}}}, "roofs[0].details: valley"},
		{Input{AsOf: today, Roofs: []Roof{ok}, Callbacks: []Callback{{Roof: "1"}}}, "callbacks[0]"},
		{Input{AsOf: today, Changes: []Change{{On: today}}}, "changes[0]"},
		{Input{AsOf: today, Changes: []Change{{Name: "x", On: today, YearsBefore: -1}}}, "changes[0].years_before"},
	} {
		if _, err := Review(c.in); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("got %v, want %q", err, c.says)
		}
	}
}

func BenchmarkReview5000Roofs(b *testing.B) {
	rng := rand.New(rand.NewPCG(11, 12))
	pace, ages := map[string]float64{}, map[string]float64{}
	for i := range 10 {
		pace[fmt.Sprint(i)], ages[fmt.Sprint(i)] = 1, 10
	}
	in := company(rng, pace, 500, ages)
	b.ResetTimer()
	for b.Loop() {
		mustReview(b, in)
	}
}
