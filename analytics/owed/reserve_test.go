package owed

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

// yearly gives a company whose callbacks fill a triangle: roofs of eight years,
// ten-year promises, fewer callbacks each year since laying.
func yearly() ReserveInput {
	in := ReserveInput{ModelInput: ModelInput{AsOf: units.NewDate(2026, 12, 31), DiscountRate: .04}}
	for year := 2019; year <= 2026; year++ {
		for i := range 60 {
			laid := units.NewDate(year, 4, 1) + units.Date(i*3)
			id := fmt.Sprint(year, "-", i)
			in.Roofs = append(in.Roofs, ModelRoof{ID: id, LaidOn: laid, Until: laid.AddYears(10) - 1})
			for age := range 8 {
				happened := laid.AddYears(age) + 60
				if i < 6-age/2 && happened <= in.AsOf {
					in.Callbacks = append(in.Callbacks, ModelCallback{Roof: id, HappenedOn: happened, Cause: "flashing", CostCents: money(300 + float64((i*37+year*13+age*91)%200))})
				}
			}
		}
	}
	return in
}

func TestReserve(t *testing.T) {
	in := yearly()
	r, err := Reserve(in)
	if err != nil {
		t.Fatal(err)
	}
	e, _ := Model(in.ModelInput)
	if *r.Total.Expected != *e.Total.Expected || *r.Total.Discounted != *e.Total.Discounted || r.Total.Promises != e.Total.Promises {
		t.Errorf("the cohorts make %v (%v), the estimate is %v (%v)", *r.Total.Expected, *r.Total.Discounted, *e.Total.Expected, *e.Total.Discounted)
	}
	if r.ChainLadder == nil || r.Why != "" || len(r.Cohorts) != 8 || *r.Total.ChainLadder != *r.ChainLadder.Total.ReserveCents {
		t.Fatalf("chain ladder %v, %q, %d cohorts", r.ChainLadder, r.Why, len(r.Cohorts))
	}
	var paid, sum units.Money
	for _, c := range in.Callbacks {
		sum += *c.CostCents
	}
	for _, c := range append(r.Cohorts, r.Total) {
		d := c.Difference
		if *c.ChainLadder != *c.Expected-d.AfterTriangle+d.OwnHistory+d.Pattern {
			t.Errorf("%d: %v is not explained by %v and %+v", c.LaidYear, *c.ChainLadder, *c.Expected, *d)
		}
		if c.LaidYear > 0 {
			paid += *c.Paid
		}
	}
	if paid != sum || *r.Total.Paid != sum {
		t.Errorf("paid %v, the callbacks came to %v", paid, sum)
	}
	// Promises of ten years in a triangle of eight: the rest is expected after it.
	if r.Total.Difference.AfterTriangle <= 0 || *r.Total.Discounted >= *r.Total.Expected {
		t.Errorf("%+v", r.Total)
	}
	if len(r.Says) != 2 || !strings.Contains(r.Says[1], r.Total.ChainLadder.Round()) {
		t.Errorf("%q", r.Says)
	}
	// The given triangle is the one that the callbacks make.
	in.Triangle = (&Fitted{in: &in.ModelInput}).triangle()
	again, err := Reserve(in)
	if err != nil || *again.Total.ChainLadder != *r.Total.ChainLadder {
		t.Errorf("%v, %v", again.Total, err)
	}
	// A year that is not over is said to be so.
	part := yearly()
	part.AsOf = units.NewDate(2026, 11, 25)
	p, err := Reserve(part)
	if err != nil || p.Notes[len(p.Notes)-1].Code != "part_year" {
		t.Errorf("%+v, %v", p.Notes, err)
	}
}

// Where single years have gaps, years are joined; where that cannot be carried
// forward either, the expected value stands.
func TestReserveWithoutSingleYears(t *testing.T) {
	late := func(years int) ReserveInput {
		in := yearly()
		for i := range in.Callbacks {
			in.Callbacks[i].HappenedOn = in.Callbacks[i].HappenedOn.AddYears(years) // none in the first calendar years
		}
		return in
	}
	in := late(1)
	two, err := Reserve(in)
	if err != nil || two.YearsEach != 2 || two.Why != "" || two.Total.Difference == nil || len(two.Cohorts) != 8 || len(two.Spans) != 4 {
		t.Fatalf("%+v, %v", two, err)
	}
	var sum CohortReserve
	for i, c := range two.Spans {
		if d := c.Difference; c.LaidFrom != 2019+2*i || c.LaidYear != 2020+2*i || *c.ChainLadder != *c.Expected-d.AfterTriangle+d.OwnHistory+d.Pattern {
			t.Errorf("%+v, %+v", c, c.Difference)
		}
		sum.Add(&c)
		sum.Carry(&c)
	}
	total := two.Total
	if sum.Promises != total.Promises || *sum.Expected != *total.Expected || *sum.Discounted != *total.Discounted || *sum.Paid != *total.Paid || *sum.ChainLadder != *total.ChainLadder || *sum.Difference != *total.Difference {
		t.Errorf("the spans make %+v, the total is %+v", sum, total)
	}
	in = late(3)
	r, err := Reserve(in)
	if err != nil || r.ChainLadder != nil || !strings.Contains(r.Why, "column 1: is all nought") || r.Total.Expected == nil || r.Total.Difference != nil {
		t.Errorf("%+v, %v", r, err)
	}
	empty, err := Reserve(ReserveInput{ModelInput: ModelInput{AsOf: in.AsOf}})
	if err != nil || empty.Total.Expected != nil || empty.Why == "" || len(empty.Says) != 2 {
		t.Errorf("%+v, %v", empty, err)
	}
	for want, spoil := range map[string]func(*ReserveInput){
		"as_of":                  func(in *ReserveInput) { in.AsOf = 0 },
		"last_sigma":             func(in *ReserveInput) { in.LastSigma = "x" },
		"triangle: must":         func(in *ReserveInput) { in.Triangle = &TriangleInput{Cumulative: taylorAshe} },
		"triangle.first_year":    func(in *ReserveInput) { in.Triangle = &TriangleInput{CumulativeCents: inCents(taylorAshe)} },
		"triangle.cumulative_ce": func(in *ReserveInput) { in.Triangle = &TriangleInput{FirstYear: 2019} },
	} {
		in := yearly()
		spoil(&in)
		if _, err := Reserve(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
}

// The pump data of Gaver and O'Muircheartaigh 1987, as in TestPumps: 95 %
// intervals of the gamma posterior, widened by the error of the overall rate.
func TestRates(t *testing.T) {
	in := RatesInput{Level: .95}
	for i, x := range []float64{5, 1, 5, 14, 3, 19, 1, 1, 4, 22} {
		in.Groups = append(in.Groups, NamedGroup{string(rune('a' + i)), x, []float64{94.320, 15.720, 62.880, 125.760, 5.240, 31.440, 1.048, 1.048, 2.096, 10.480}[i]})
	}
	r, err := Rates(in)
	if err != nil {
		t.Fatal(err)
	}
	if g := r.Groups[5]; !near(*g.Rate, .6062050, 1e-5) || *g.Low > .3693683 || *g.High < .9007594 || !near(*g.Low, .3693683, .02) || !near(*g.High, .9007594, .02) {
		t.Errorf("%v (%v to %v)", *g.Rate, *g.Low, *g.High)
	}
	none, err := Rates(RatesInput{Groups: []NamedGroup{{"a", 0, 50}, {"b", 0, 0}}})
	if err != nil || !near(none.Prior.Mean, .01, 1e-12) || *none.Groups[0].Rate >= *none.Groups[1].Rate || none.Groups[1].Observed != nil {
		t.Errorf("%+v, %v", none, err)
	}
	even, err := Rates(RatesInput{Groups: []NamedGroup{{"a", 10, 100}, {"b", 11, 100}}})
	if err != nil || len(even.Notes) != 1 || even.Notes[0].Code != "one_group_rate" || *even.Groups[0].Low >= *even.Groups[0].Rate {
		t.Errorf("%+v, %v", even, err)
	}
	nothing, err := Rates(RatesInput{Groups: []NamedGroup{{"a", 0, 0}}})
	if err != nil || nothing.Prior != nil || nothing.Groups[0].Rate != nil {
		t.Errorf("%+v, %v", nothing, err)
	}
	for want, in := range map[string]RatesInput{
		"level":           {Level: 1},
		"groups[0]:":      {Groups: []NamedGroup{{"a", math.NaN(), 1}}},
		"groups[0].years": {Groups: []NamedGroup{{"a", 1, 0}}},
	} {
		if _, err := Rates(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
}

func TestScenarios(t *testing.T) {
	half := .5
	in := ScenarioInput{
		Base: DistributionInput{WeatherSD: .2, Groups: []PromiseGroup{
			{Name: "2024", Promises: 100, Rates: []float64{.02, .02}, Lot: "A", Crew: "north", CostMean: 400_00, CostSD: 300_00},
			{Name: "2025", Promises: 50, Rates: []float64{.04, .02}, Lot: "B", Crew: "south", CostMean: 400_00, CostSD: 300_00, Share: &half},
		}},
		Scenarios: []Scenario{
			{Name: "lot A is bad", Kind: BadLot, Lots: []string{"A"}, RateTimes: 3, Bearers: []BearerShare{{"maker", .75}, {"us", .25}}},
			{Name: "the south crew laps short", Kind: LapHabit, Crews: []string{"south"}, Added: .1},
			{Name: "hail along the river", Kind: HailLine, Groups: []string{"2024"}, Years: []int{2}, Added: .5, Bearers: []BearerShare{{"insurer", .9}, {"goodwill", .1}}},
			{Name: "an ice winter", Kind: IceWinter, Years: []int{1}, CostTimes: 2},
			{Name: "nobody", Kind: OwnStory, Groups: []string{"1999"}, RateTimes: 9},
			{Name: "a good crew", Kind: OwnStory, RateTimes: .5},
		},
	}
	r, err := Scenarios(in)
	if err != nil {
		t.Fatal(err)
	}
	// Expected: 100 × 0.04 × 400 + 50 × 0.06 × 400/2 = 2200.
	if r.Base.Expected != 2200_00 {
		t.Errorf("base %+v", r.Base)
	}
	for i, want := range []struct {
		change, top units.Money
		bearers     []BearerCost
	}{
		// 8 more callbacks of 400, a quarter ours.
		{800_00, 3200_00, []BearerCost{{"maker", 2400_00}, {"us", 800_00}}},
		// 10 more of 400, half ours as promised.
		{2000_00, 4000_00, []BearerCost{{"us", 2000_00}, {"not_ours", 2000_00}}},
		// 50 more of 400, a tenth by goodwill.
		{2000_00, 20000_00, []BearerCost{{"insurer", 18000_00}, {"goodwill", 2000_00}}},
		// 2 and 2 callbacks at 400 more, the second half ours.
		{1200_00, 1600_00, []BearerCost{{"us", 1200_00}, {"not_ours", 400_00}}},
		{0, 0, nil},
		{-1100_00, 0, nil},
	} {
		s := r.Scenarios[i]
		if s.Change != want.change || s.OnTop != want.top || len(s.Bearers) != len(want.bearers) || s.Says == "" {
			t.Errorf("%s: %+v, want %+v", s.Name, s, want)
			continue
		}
		for k, b := range want.bearers {
			if s.Bearers[k] != b {
				t.Errorf("%s: %+v, want %+v", s.Name, s.Bearers, want.bearers)
			}
		}
		if s.Change > 0 && (s.High <= r.Base.High || s.Shortfall <= r.Base.Shortfall) {
			t.Errorf("%s: %+v is no worse than %+v", s.Name, s, r.Base)
		}
	}
	for want, spoil := range map[string]func(*Scenario){
		"scenarios[0].kind":            func(s *Scenario) { s.Kind = "flood" },
		"scenarios[0].lots":            func(s *Scenario) { s.Kind = BadLot },
		"scenarios[0].crews":           func(s *Scenario) { s.Kind = LapHabit },
		"scenarios[0].groups":          func(s *Scenario) { s.Kind = HailLine },
		"scenarios[0].years: ice":      func(s *Scenario) { s.Kind = IceWinter },
		"scenarios[0].years[0]":        func(s *Scenario) { s.Years = []int{3} },
		"scenarios[0].rate_times":      func(s *Scenario) { s.RateTimes = math.NaN() },
		"scenarios[0].cost_times":      func(s *Scenario) { s.CostTimes = -1 },
		"scenarios[0].added_callbacks": func(s *Scenario) { s.Added = -1 },
		"scenarios[0].bearers[0]":      func(s *Scenario) { s.Bearers = []BearerShare{{"nobody", 1}} },
		"scenarios[0].bearers: the":    func(s *Scenario) { s.Bearers = []BearerShare{{"us", .5}} },
	} {
		s := Scenario{Kind: OwnStory}
		spoil(&s)
		if _, err := Scenarios(ScenarioInput{in.Base, []Scenario{s}}); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
	if _, err := Scenarios(ScenarioInput{}); err == nil || !strings.HasPrefix(err.Error(), "base.groups") {
		t.Errorf("an empty base: %v", err)
	}
}

// What we bear of a scenario is the change of our cost, to the cent.
func TestScenarioBearersAddUpToTheChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(.3, 1).Draw(t, "share")
		in := ScenarioInput{
			Base: DistributionInput{Groups: []PromiseGroup{
				{Promises: 134, Rates: []float64{rapid.Float64Range(.001, .2).Draw(t, "rate")}, CostMean: units.Money(rapid.IntRange(90_00, 900_00).Draw(t, "cost")), CostSD: 300_00},
				{Promises: 7, Rates: []float64{.03}, CostMean: units.Money(rapid.IntRange(90_00, 900_00).Draw(t, "other cost")), CostSD: 300_00, Share: &share},
			}},
			Scenarios: []Scenario{{Name: "ice", Kind: IceWinter, Years: []int{1}, RateTimes: rapid.Float64Range(1.01, 4).Draw(t, "times")}},
		}
		r, err := Scenarios(in)
		if err != nil {
			t.Fatal(err)
		}
		var us, all units.Money
		for _, b := range r.Scenarios[0].Bearers {
			if all += b.Cents; byUs(b.Bearer) {
				us += b.Cents
			}
		}
		if s := r.Scenarios[0]; us != s.Change || all != s.OnTop || us <= 0 {
			t.Fatalf("%v by us of %v, the change %v: %+v", us, all, s.Change, s.Bearers)
		}
	})
}

// Joining years moves every payment to the span of its year laid and of its
// calendar year, and loses none.
func TestJoined(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 14).Draw(t, "rows")
		each := rapid.IntRange(1, 5).Draw(t, "each")
		in := TriangleInput{FirstYear: 2010}
		for i := range n {
			in.IncrementalCents = append(in.IncrementalCents, rapid.SliceOfN(rapid.Map(rapid.Int64Range(0, 9), func(x int64) units.Money { return units.Money(x) }), n-i, n-i).Draw(t, "row"))
		}
		out, err := in.Joined(each)
		if err != nil {
			t.Fatal(err)
		}
		last := out.FirstYear + each*len(out.IncrementalCents) - 1
		if last != 2010+n-1 || out.FirstYear > 2010 || out.FirstYear <= 2010-each {
			t.Fatalf("%d rows of %d years from %d", len(out.IncrementalCents), each, out.FirstYear)
		}
		for row, cells := range out.IncrementalCents {
			for column, got := range cells {
				from, until := out.FirstYear+row*each, out.FirstYear+(row+column)*each
				want := units.Money(0)
				for i := range n {
					for k := range n - i {
						if laid, on := 2010+i, 2010+i+k; laid >= from && laid < from+each && on >= until && on < until+each {
							want += in.IncrementalCents[i][k]
						}
					}
				}
				if got != want {
					t.Fatalf("row %d, column %d: %d, want %d", row, column, got, want)
				}
			}
		}
	})
	// Two rows of Taylor and Ashe are no triangle of two years each by themselves.
	for want, in := range map[string]TriangleInput{
		"incremental_cents: payments": {CumulativeCents: inCents(taylorAshe), FirstYear: 2010},
		"incremental_cents: row 2":    {IncrementalCents: [][]units.Money{{1, 2}, {1, 2}}, FirstYear: 2010},
	} {
		if _, err := in.Joined(2); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
}

// What a model expects is set aside by year laid to the cent, and beside it the
// payments to date; a promise that is given tomorrow is expected to cost on its
// first day what it is expected to cost today.
func TestReserveOfAModel(t *testing.T) {
	in := invent(usualTruth(), 5)
	in.DiscountRate, in.CostGrowth = .04, .03
	f, err := Fit(in)
	if err != nil {
		t.Fatal(err)
	}
	m, err := f.Result()
	if err != nil {
		t.Fatal(err)
	}
	first, last := in.RecordsFrom.Year(), in.AsOf.Year() // of older roofs the first years are not known
	triangle := TriangleInput{FirstYear: first, LastSigma: LogLinearSigma}
	for i := range last - first + 1 {
		triangle.IncrementalCents = append(triangle.IncrementalCents, make([]units.Money, last-first-i+1))
	}
	laid := map[string]int{}
	for _, r := range in.Roofs {
		laid[r.ID] = r.laid().Year()
	}
	for _, c := range in.Callbacks {
		if laid[c.Roof] >= first {
			triangle.IncrementalCents[laid[c.Roof]-first][c.HappenedOn.Year()-laid[c.Roof]] += *c.CostCents
		}
	}
	r, err := f.Reserve(&m, &triangle)
	if err != nil {
		t.Fatal(err)
	}
	if r.Total.Promises != m.Total.Promises || *r.Total.Expected != *m.Total.Expected || *r.Total.Discounted != *m.Total.Discounted || *r.Low != *m.Total.Low || *r.High != *m.Total.High {
		t.Errorf("set aside %+v, expected %+v", r.Total, m.Total)
	}
	byYear := map[int]float64{}
	for _, p := range m.Promises {
		byYear[in.Roofs[p.Row].laid().Year()] += p.Expected
	}
	for _, c := range r.Cohorts {
		// Each calendar year is rounded for itself.
		if math.Abs(byYear[c.LaidYear]-float64(*c.Expected)) > float64(len(m.Years)) {
			t.Errorf("%d: %v set aside, its promises make %v", c.LaidYear, *c.Expected, byYear[c.LaidYear])
		}
	}
	if r.ChainLadder == nil || r.ChainLadder.LastSigma != LogLinearSigma || r.Total.Difference == nil {
		t.Fatalf("%+v", r)
	}
	without, err := f.Reserve(&m, nil)
	if err != nil || without.Why == "" || *without.Total.Expected != *r.Total.Expected {
		t.Errorf("%+v, %v", without, err)
	}

	// The fit is held, and one promise more begins on the day after.
	f.in.Roofs = append(f.in.Roofs, ModelRoof{ID: "new", LaidOn: in.AsOf + 1, From: in.AsOf + 1, Until: (in.AsOf + 1).AddYears(10) - 1, Transfer: "always", Crew: in.Roofs[0].Crew,
		Shares: []ShareSpan{{in.AsOf + 1, in.AsOf + 2000, 1}, {in.AsOf + 2001, in.AsOf + 3600, .4}}})
	f.in.CostGrowth, f.in.DiscountRate, f.in.Turnover = 0, 0, nil
	f.ready()
	again, err := f.Result()
	if err != nil {
		t.Fatal(err)
	}
	issues := f.AtIssue(&again)
	ahead := again.Promises[len(again.Promises)-1]
	if is := issues[len(issues)-1]; is.ID != "new" || is.On != in.AsOf+1 || math.Abs(float64(is.Amount)-ahead.Expected) > 1 || ahead.Expected < 100 {
		t.Errorf("at issue %+v, ahead %v", is, ahead.Expected)
	}
	// With prices that grow as fast as money loses they cancel out; with sales that
	// end the right it is less.
	f.in.CostGrowth, f.in.DiscountRate = .05, .05
	if is := f.AtIssue(&again); math.Abs(float64(is[len(is)-1].Amount)-ahead.Expected) > 2 {
		t.Errorf("at issue %v, without growth and discount %v", is[len(is)-1].Amount, ahead.Expected)
	}
	f.in.CostGrowth, f.in.DiscountRate, f.in.Turnover = 0, 0, new(float64)
	*f.in.Turnover, f.in.Roofs[len(f.in.Roofs)-1].Transfer = .1, "never"
	f.ready()
	fewer, err := f.Result()
	if err != nil {
		t.Fatal(err)
	}
	p := fewer.Promises[len(fewer.Promises)-1]
	if is := f.AtIssue(&fewer); p.Expected > .9*ahead.Expected || !near(float64(is[len(is)-1].Amount), p.Expected, .01) {
		t.Errorf("at issue %v, ahead %v of %v", is[len(is)-1].Amount, p.Expected, ahead.Expected)
	}
}
