package owed

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"overhang/analytics/units"
)

var modelDay = units.NewDate(2026, 6, 30)

// sameAge is so many roofs that are at risk for one day each, all at the age of
// a year, with so many callbacks: rates then cannot depend on age, and the fit
// is the one of counts with an offset.
func sameAge(in *ModelInput, roofs, callbacks int, r ModelRoof) {
	for i := range roofs {
		r.ID = fmt.Sprint(len(in.Roofs))
		r.LaidOn = modelDay - 4000
		r.From = r.LaidOn + 365
		r.Until = r.From
		if i < callbacks%roofs+0 || callbacks >= roofs {
			for range max(1, callbacks/roofs) {
				in.Callbacks = append(in.Callbacks, ModelCallback{Roof: r.ID, HappenedOn: r.From, Cause: "nail"})
			}
		}
		in.Roofs = append(in.Roofs, r)
	}
}

func alone(factor string, sd float64) map[string]float64 {
	out := map[string]float64{}
	for _, f := range Factors {
		out[f] = 0
	}
	delete(out, factor)
	if sd > 0 {
		out[factor] = sd
	}
	return out
}

// Pumps: Gaver and O'Muircheartaigh 1987, as in TestPumps: with one factor the
// fit is the gamma-Poisson one, whose mean and shape FitGamma finds another way.
func TestModelOfThePumps(t *testing.T) {
	counts := []int{5, 1, 5, 14, 3, 19, 1, 1, 4, 22}
	times := []float64{94.32, 15.72, 62.88, 125.76, 5.24, 31.44, 1.048, 1.048, 2.096, 10.48}
	in := ModelInput{AsOf: modelDay, Spreads: alone("crew", 0)}
	groups := make([]Group, len(counts))
	for i := range counts {
		n := int(math.Round(times[i] * 100))
		sameAge(&in, n, counts[i], ModelRoof{Crew: fmt.Sprint(i)})
		groups[i] = Group{float64(counts[i]), float64(n) / daysAYear}
	}
	want, err := FitGamma(groups)
	if err != nil {
		t.Fatal(err)
	}
	f := &Fitted{in: &in}
	f.fit()
	s := f.spread["crew"]
	if !near(1/(s.SD*s.SD), want.Alpha, 2e-3) || s.Gain < 10 {
		t.Errorf("shape %v, want %v", 1/(s.SD*s.SD), want.Alpha)
	}
	mean := f.em(100)
	at := f.shape.at(1 + .5/daysAYear)
	rate := 0.0
	for p := range parts {
		rate += mean[0][p] * at[p]
	}
	if !near(rate, want.Mean, 2e-3) {
		t.Errorf("mean %v, want %v", rate, want.Mean)
	}
	for i := range counts {
		l := f.levels[f.byName[levelKey{factorAt["crew"], fmt.Sprint(i), -1}]]
		if got, want := l.times*rate, want.Shrink(groups[i]).Rate; !near(got, want, 2e-3) {
			t.Errorf("pump %d: %v, want %v", i, got, want)
		}
	}
}

// The damage of ships by type, year of construction and period: a Poisson
// regression with offset, McCullagh and Nelder 1989, section 6.3.2, whose
// coefficients R's glm gives as below (table of the ships of the R package
// MASS). Factors that are not shrunk make the fit that regression.
func TestModelIsAPoissonRegression(t *testing.T) {
	const table = `A60a 127 0|A60b 63 0|A65a 1095 3|A65b 1095 4|A70a 1512 6|A70b 3353 18|A75b 2244 11|
B60a 44882 39|B60b 17176 29|B65a 28609 58|B65b 20370 53|B70a 7064 12|B70b 13099 44|B75b 7117 18|
C60a 1179 1|C60b 552 1|C65a 781 0|C65b 676 1|C70a 783 6|C70b 1948 2|C75b 274 1|
D60a 251 0|D60b 105 0|D65a 288 0|D65b 192 0|D70a 349 2|D70b 1208 11|D75b 2051 4|
E60a 45 0|E65a 789 7|E65b 437 7|E70a 1157 5|E70b 2161 12|E75b 542 1`
	in := ModelInput{AsOf: modelDay, Spreads: alone("", 0)}
	for _, name := range []string{"covering", "crew", "neighbourhood"} {
		in.Spreads[name] = 1e4
	}
	for row := range strings.SplitSeq(strings.ReplaceAll(table, "\n", ""), "|") {
		var key string
		var months, damaged int
		if _, err := fmt.Sscan(row, &key, &months, &damaged); err != nil {
			t.Fatal(err)
		}
		sameAge(&in, months, damaged, ModelRoof{Covering: key[:1], Crew: key[1:3], Neighbourhood: key[3:]})
	}
	f := &Fitted{in: &in}
	f.fit()
	log := func(factor, name string) float64 {
		return math.Log(f.levels[f.byName[levelKey{factorAt[factor], name, -1}]].times)
	}
	for _, c := range []struct {
		factor, name, beside string
		want                 float64
	}{
		{"covering", "B", "A", -0.5433}, {"covering", "C", "A", -0.6874}, {"covering", "D", "A", -0.0760}, {"covering", "E", "A", 0.3256},
		{"crew", "65", "60", 0.6971}, {"crew", "70", "60", 0.8184}, {"crew", "75", "60", 0.4534}, {"neighbourhood", "b", "a", 0.3845},
	} {
		if got := log(c.factor, c.name) - log(c.factor, c.beside); math.Abs(got-c.want) > 6e-4 {
			t.Errorf("%s %s: %.4f, want %.4f", c.factor, c.name, got, c.want)
		}
	}
}

// truth is how an invented company's callbacks come about.
type truth struct {
	roofs   int
	joints  shape
	theta   map[string][parts]float64
	crew    map[string]float64
	habit   string // of crew A with this cause, five times as often
	weather float64
}

func invent(tr truth, seed uint64) ModelInput {
	source := rand.NewPCG(seed, 1)
	random := rand.New(source)
	in := ModelInput{AsOf: modelDay, RecordsFrom: units.NewDate(2008, 1, 1)}
	weather := map[int]float64{}
	for y := 2000; y <= 2026; y++ {
		weather[y] = 1
		if tr.weather > 0 {
			weather[y] = distuv.Gamma{Alpha: 1 / (tr.weather * tr.weather), Beta: 1 / (tr.weather * tr.weather), Src: source}.Rand()
		}
	}
	crews := []string{"A", "B", "C", "D"}
	causes := []string{"flashing", "nail", "lap"}
	for i := range tr.roofs {
		laid := units.NewDate(2001, 1, 1).AddDays(random.IntN(9000))
		r := ModelRoof{ID: fmt.Sprint(i), LaidOn: laid, Until: laid.AddYears(15), Crew: crews[random.IntN(4)], Covering: []string{"strip", "laminated"}[random.IntN(2)],
			Lot: fmt.Sprint(random.IntN(40)), Neighbourhood: fmt.Sprint(random.IntN(12))}
		in.Roofs = append(in.Roofs, r)
		for _, cause := range causes {
			th, u := tr.theta[cause], tr.crew[r.Crew]
			if r.Crew == "A" && cause == tr.habit {
				u *= 5
			}
			for d := laid; d < min(r.Until, modelDay); d += 7 {
				if d < in.RecordsFrom {
					continue
				}
				b, rate := tr.joints.at((float64(d-laid)+3.5)/daysAYear), 0.0
				for p := range parts {
					rate += th[p] * b[p]
				}
				if random.Float64() < rate*u*weather[d.Year()]*7/daysAYear {
					cost := units.Money(math.Round(math.Exp(10.5 + .8*random.NormFloat64())))
					c := ModelCallback{Roof: r.ID, HappenedOn: d, Cause: cause, CostCents: &cost}
					if random.IntN(10) == 0 {
						c.Cause = ""
					}
					in.Callbacks = append(in.Callbacks, c)
				}
			}
		}
	}
	return in
}

func usualTruth() truth {
	return truth{roofs: 2500, joints: shape{1, 1}, habit: "lap", weather: .25,
		theta: map[string][parts]float64{"flashing": {.02, .004, .01}, "nail": {.05, .001, 0}, "lap": {0, .004, 0}},
		crew:  map[string]float64{"A": 1.1, "B": .6, "C": 1.5, "D": .8}}
}

// The fit finds again what the invented company was made from.
func TestModelFindsTheTruth(t *testing.T) {
	tr := usualTruth()
	in := invent(tr, 5)
	r, err := Model(in)
	if err != nil {
		t.Fatal(err)
	}
	mean := (1.1 + .6 + 1.5 + .8) / 4
	for _, c := range r.Rates {
		want := map[string]string{"joints": "flashing", "fastening": "nail", "lap": "lap"}[c.Cause]
		th, found := tr.theta[want]
		if !found {
			t.Fatalf("a cause %q", c.Cause)
		}
		// What the levels multiply by has a mean of 1; of the truth's crews it is 1 too.
		for _, y := range []int{0, 3, 8, 12} {
			b, d := tr.joints.sum(float64(y)), tr.joints.sum(float64(y+1))
			rate := 0.0
			for p := range parts {
				rate += th[p] * (d[p] - b[p]) * mean
			}
			if want == "lap" {
				continue // its crews differ: below
			}
			got := c.Years[y]
			if sd := (got.High - got.Low) / 2.56; math.Abs(got.Rate-rate) > 4*sd+.3*rate {
				t.Errorf("%s, year %d: %.5f (%.5f to %.5f), want %.5f", c.Cause, y, got.Rate, got.Low, got.High, rate)
			}
		}
	}
	times := map[string]float64{}
	for _, e := range r.Effects {
		times[e.Factor+e.Name+e.Cause] = e.Times
	}
	for name, u := range tr.crew {
		if name == "A" {
			continue
		}
		if got, want := times["crew"+name]/times["crewD"], u/tr.crew["D"]; math.Abs(got-want) > .3*want {
			t.Errorf("crew %s: %.2f times crew D, want %.2f", name, got, want)
		}
	}
	if got := times["crew_causeAlap"] / times["crew_causeAfastening"]; got < 2 {
		t.Errorf("the habit of crew A shows as %.2f times, made as 5", got)
	}
	for _, s := range r.Spreads {
		switch s.Factor {
		case "year":
			if s.SD < .1 || s.SD > .5 {
				t.Errorf("weather %+v, made with .25", s)
			}
		case "lot", "neighbourhood", "covering":
			if s.SD > .2 {
				t.Errorf("%+v, and nothing varied by it", s)
			}
		}
	}
	for _, c := range r.Costs {
		if want := math.Exp(10.5 + .32); math.Abs(float64(c.Mean)-want) > .25*want {
			t.Errorf("cost of %s: %v, want %.0f", c.Cause, c.Mean, want)
		}
	}
}

// At the best point what each part of a rate is expected to have made is what it
// is taken to have made: the score is nought, or the part is.
func TestModelIsAtTheTop(t *testing.T) {
	tr := usualTruth()
	tr.roofs = 600
	in := invent(tr, 9)
	f := &Fitted{in: &in}
	f.fit()
	f.theta = f.em(20000)
	for k := range f.causes {
		for p := range parts {
			time, made := 0.0, 0.0
			for i := range f.kinds {
				kind := &f.kinds[i]
				u := f.habit(kind.crew, k)
				f.eachLevel(kind, func(l *level) { u *= l.times })
				for y, c := range f.cells[kind.cell : kind.cell+kind.cells] {
					if n := f.years[int(kind.year)+y]; n >= 0 {
						time += u * f.levels[n].times * c[p]
					}
				}
			}
			for _, e := range f.events {
				w := 1.0
				if e.cause >= 0 && e.cause != k {
					continue
				}
				b, rate := f.shape.at(e.age), 0.0
				if e.cause < 0 {
					w = f.parting(e)[k]
				}
				for q := range parts {
					rate += f.theta[k][q] * b[q]
				}
				if rate > 0 {
					made += w * b[p] / rate
				}
			}
			if score := made - time; score > 1e-2*time || (f.theta[k][p]*time > .5 && math.Abs(score) > 1e-2*time) {
				t.Errorf("%s, part %d: %v where the time is %v", f.causes[k], p, made, time)
			}
		}
	}
}

// One callback in the first days of a company is not taken for hundreds a year.
func TestModelOfAFewDays(t *testing.T) {
	cost := units.Money(900_00)
	in := ModelInput{AsOf: modelDay, Roofs: []ModelRoof{{ID: "1", LaidOn: modelDay - 10, From: modelDay - 10, Until: (modelDay - 10).AddYears(10) - 1}},
		Callbacks: []ModelCallback{{Roof: "1", HappenedOn: modelDay - 9, Cause: "nail", CostCents: &cost}}}
	r, err := Model(in)
	if err != nil || !(r.Total.Callbacks > .05 && r.Total.Callbacks < 2) || !r.SmallSample {
		t.Errorf("%v callbacks of one roof in ten years (%v)", r.Total.Callbacks, err)
	}
	in.Callbacks = nil
	if r, err = Model(in); err != nil || !(r.Total.Callbacks > .05 && r.Total.Callbacks < 2) {
		t.Errorf("%v callbacks without any (%v)", r.Total.Callbacks, err)
	}
}

func TestModelWithoutHistory(t *testing.T) {
	quiet := ModelInput{AsOf: modelDay, Roofs: []ModelRoof{{ID: "1", LaidOn: modelDay.AddYears(-2), Until: modelDay.AddYears(8)}}}
	r, err := Model(quiet)
	if err != nil {
		t.Fatal(err)
	}
	// Half a callback (the mean under Jeffreys' prior) in two years and the quiet
	// time beside so short a history, for eight years.
	if got := r.Total.Callbacks; !near(got, .5*8/(2+10*math.Exp(-.2)), .01) || r.Total.Expected != nil || !strings.Contains(fmt.Sprint(r.Notes), "no_cost") {
		t.Errorf("a quiet roof: %v callbacks, %v, %v", got, r.Total.Expected, r.Notes)
	}
	fresh := quiet
	fresh.Roofs = []ModelRoof{{ID: "1", LaidOn: modelDay + 1, Until: modelDay.AddYears(10)}}
	if r, err = Model(fresh); err != nil || len(r.Rates) != 0 || !strings.Contains(fmt.Sprint(r.Notes), "no_rate") {
		t.Errorf("no history: %+v, %v", r, err)
	}
	rate, cost := .02, units.Money(50000)
	fresh.AssumedRate, fresh.AssumedCostCents = &rate, &cost
	if r, err = Model(fresh); err != nil || !near(r.Total.Callbacks, .2, .01) || r.Total.Expected == nil || !near(float64(*r.Total.Expected), 10000, .02) {
		t.Errorf("assumed: %+v, %v", r.Total, err)
	}
	// A crew without time at risk is as all are.
	few := usualTruth()
	few.roofs = 200
	in := invent(few, 3)
	in.Roofs = append(in.Roofs, ModelRoof{ID: "new", LaidOn: modelDay + 10, Until: modelDay + 3000, Crew: "new"})
	f := &Fitted{in: &in}
	f.fit()
	if u := f.common(&in.Roofs[len(in.Roofs)-1]); u != 1 {
		t.Errorf("a new crew's rates are multiplied by %v", u)
	}
}

func TestRightSurvives(t *testing.T) {
	year := 12
	for _, c := range []struct {
		rule        string
		transferred bool
		after       *int
		want        float64
	}{
		{"always", false, nil, 1}, {"", false, nil, 1}, {"never", false, nil, math.Exp(-.5)},
		{"once", false, nil, math.Exp(-.5) * 1.5}, {"once", true, nil, math.Exp(-.5)},
		{"by_notice", false, nil, math.Exp(-.5) * 1.25}, {"once", false, &year, math.Exp(-.5) * 1.1},
		{"always", false, &year, math.Exp(-.4)},
	} {
		if got := right(c.rule, c.transferred, c.after, .1, .5, 5); !near(got, c.want, 1e-12) {
			t.Errorf("%+v: %v, want %v", c, got, c.want)
		}
	}
	y := &YearsLeft{Low: 4, Middle: 10, High: 18}
	for at, want := range map[float64]float64{0: 1, 4: .9, 10: .5, 14: .3, 18: .1, 30: 0} {
		if got := y.stands(at); !near(got, want, 1e-12) && math.Abs(got-want) > 1e-12 {
			t.Errorf("stands after %v years: %v, want %v", at, got, want)
		}
	}
}

// What is ahead adds up in every way it is told, and more promised is more owed.
func TestModelAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := ModelInput{AsOf: modelDay}
		n := rapid.IntRange(1, 30).Draw(t, "roofs")
		name := func(of string, most int) string {
			if i := rapid.IntRange(0, most).Draw(t, of); i > 0 {
				return fmt.Sprint(of, i)
			}
			return ""
		}
		for i := range n {
			laid := modelDay.AddDays(-rapid.IntRange(0, 9000).Draw(t, "age"))
			r := ModelRoof{ID: fmt.Sprint(i), LaidOn: laid, Until: laid.AddDays(rapid.IntRange(0, 9000).Draw(t, "term")), Covering: name("covering", 2), Crew: name("crew", 3),
				Lot: name("lot", 5), Neighbourhood: name("area", 3), Terms: name("terms", 2), Transfer: rapid.SampledFrom([]string{"", "never", "once", "by_notice", "always"}).Draw(t, "transfer")}
			if rapid.Bool().Draw(t, "spans") {
				half := r.LaidOn + (r.Until-r.LaidOn)/2
				r.Shares = []ShareSpan{{r.LaidOn, half, 1}, {half + 1, max(half+1, r.Until), rapid.Float64Range(0, 1).Draw(t, "share")}}
			}
			if rapid.Bool().Draw(t, "life") {
				low := rapid.Float64Range(0, 10).Draw(t, "left")
				r.YearsLeft = &YearsLeft{low, low + 3, low + 9}
			}
			in.Roofs = append(in.Roofs, r)
		}
		for range rapid.IntRange(0, 20).Draw(t, "callbacks") {
			r := in.Roofs[rapid.IntRange(0, n-1).Draw(t, "roof")]
			cost := units.Money(rapid.IntRange(0, 50).Draw(t, "cost")) * 100 * units.Dollar
			in.Callbacks = append(in.Callbacks, ModelCallback{Roof: r.ID, HappenedOn: r.LaidOn.AddDays(rapid.IntRange(0, 3000).Draw(t, "day")), CostCents: &cost,
				Cause: rapid.SampledFrom([]string{"", "flashing", "nail", "lap", "ice", "storm"}).Draw(t, "cause")})
		}
		turnover := rapid.Float64Range(0, .3).Draw(t, "turnover")
		in.Turnover = &turnover
		r, err := sums(in)
		if err != nil {
			t.Fatal(err)
		}
		if r.Total.Expected == nil {
			return
		}
		var sum units.Money
		for _, y := range r.Years {
			sum += *y.Expected
		}
		if sum != *r.Total.Expected {
			t.Fatalf("the years add up to %v, not %v", sum, *r.Total.Expected)
		}
		for dimension, list := range r.By {
			var sum units.Money
			count := 0.0
			for _, p := range list {
				sum += *p.Expected
				count += p.Callbacks
			}
			if len(list) > 0 && (sum != *r.Total.Expected || !near(count, r.Total.Callbacks, 1e-9) && count > 1e-12) {
				t.Fatalf("by %s: %v and %v, not %v and %v", dimension, sum, count, *r.Total.Expected, r.Total.Callbacks)
			}
		}
		// Nobody may sell: the rights live on, and no less is owed.
		none := 0.0
		in.Turnover = &none
		if more, err := sums(in); err != nil || *more.Total.Expected < *r.Total.Expected {
			t.Fatalf("without sales %v is owed, with them %v; %v", more.Total.Expected, r.Total.Expected, err)
		}
	})
}

// The distribution is of the same expected cost, and what each part adds to the
// worst tenth makes the whole of it.
func TestModelsDistribution(t *testing.T) {
	for seed := range uint64(3) {
		tr := usualTruth()
		tr.roofs = 300 * (1 + int(seed))
		in := invent(tr, seed)
		in.CostGrowth = .03
		r, err := Model(in)
		if err != nil {
			t.Fatal(err)
		}
		d := r.Distribution
		if diff := math.Abs(float64(d.Expected - *r.Total.Expected)); diff > 2+1e-3*float64(*r.Total.Expected) {
			t.Errorf("the distribution's mean is %v, not %v", d.Expected, *r.Total.Expected)
		}
		if low, high := *r.Total.Low, *r.Total.High; low > *r.Total.Expected || high < *r.Total.Expected || low <= 0 {
			t.Errorf("from %v to %v about %v", low, high, *r.Total.Expected)
		}
		for dimension, list := range r.By {
			var sum units.Money
			for _, p := range list {
				sum += *p.Shortfall
			}
			if diff := sum - d.Shortfall; diff < -1 || diff > 1 {
				t.Errorf("by %s: the worst tenth adds up to %v, not %v", dimension, sum, d.Shortfall)
			}
		}
	}
}

// fitted is the rates, and the result without the distribution.
func fitted(in ModelInput) (*Fitted, ModelResult, error) {
	f, err := Fit(in)
	if err != nil {
		return nil, ModelResult{}, err
	}
	r, err := f.result(false)
	return f, r, err
}

func sums(in ModelInput) (ModelResult, error) {
	_, r, err := fitted(in)
	return r, err
}

// What is ahead of a promise is its rates, summed day by day, times what each
// day's callbacks cost and what of it is promised.
func TestAheadDayByDay(t *testing.T) {
	tr := usualTruth()
	tr.roofs = 400
	in := invent(tr, 11)
	in.CostGrowth = .03
	turnover, after := .08, 30
	in.Turnover = &turnover
	for i := range in.Roofs {
		r := &in.Roofs[i]
		r.Transfer = []string{"", "never", "once", "by_notice"}[i%4]
		r.Details = [][]string{nil, {"valley"}, {"skylight", "valley"}}[i%3]
		switch i % 5 {
		case 1:
			r.AfterTransferMonths = &after
		case 2:
			half := r.LaidOn + (r.Until-r.LaidOn)*2/3
			r.Shares = []ShareSpan{{r.LaidOn, half, 1}, {half + 1, r.Until - 200, .6}}
		case 3:
			r.YearsLeft = &YearsLeft{3, 6, 11}
		case 4:
			r.LaidOn, r.Until = in.AsOf+units.Date(i), in.AsOf.AddYears(9)
		}
	}
	f, r, err := fitted(in)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Promises) < 200 {
		t.Fatalf("%d promises ahead", len(r.Promises))
	}
	for _, got := range r.Promises {
		roof := &in.Roofs[got.Row]
		callbacks, cost := 0.0, 0.0
		for d := max(roof.first(), in.AsOf+1); d <= roof.Until; d++ {
			share := 0.0
			for _, s := range roof.shares() {
				if d >= s.From && d <= s.Until {
					share = s.Share
				}
			}
			years := (float64(d-in.AsOf) - .5) / daysAYear
			alive := f.common(roof) * roof.YearsLeft.stands(years) * right(roof.Transfer, roof.Transferred, roof.AfterTransferMonths, turnover, usualNotice, years)
			age := f.shape.at((float64(d-roof.laid()) + .5) / daysAYear)
			if oldest := f.shape.at(f.oldest); age[wear] > oldest[wear] {
				age[wear] = oldest[wear]
			}
			for k, cause := range f.causes {
				rate := 0.0
				for p := range parts {
					rate += f.theta[k][p] * age[p]
				}
				if n, known := f.byName[levelKey{factorAt["crew_cause"], roof.Crew, k}]; known {
					rate *= f.levels[n].times
				}
				if r.Costs[k].Cause != cause {
					t.Fatalf("costs of %s for %s", r.Costs[k].Cause, cause)
				}
				day := rate * alive / daysAYear
				if share > 0 { // without a share nothing is promised
					callbacks += day
				}
				cost += day * share * math.Pow(1.03, years) * float64(r.Costs[k].Mean) * r.Costs[k].Costs
			}
		}
		if !near(got.Callbacks, callbacks, .01) || !near(got.Expected, cost, .01) {
			t.Errorf("roof %d: %.5f callbacks and %.0f, by day %.5f and %.0f", got.Row, got.Callbacks, got.Expected, callbacks, cost)
		}
	}
}

func codes(r ModelResult) string {
	var out []string
	for _, n := range r.Notes {
		out = append(out, n.Code)
		if n.Sentence == "" || strings.Contains(n.Sentence, "{") {
			out = append(out, "WITHOUT SENTENCE")
		}
	}
	return strings.Join(out, " ")
}

// What is not known is said, and no amount is made of it.
func TestSmallAndUnknown(t *testing.T) {
	roof := ModelRoof{ID: "1", LaidOn: modelDay - 800, Until: modelDay + 1000}
	tomorrows := ModelRoof{LaidOn: modelDay + 1, Until: modelDay + 900}
	rate := .05
	callback := func(cost *units.Money) []ModelCallback {
		return []ModelCallback{{Roof: "1", HappenedOn: modelDay - 300, Cause: "flashing", CostCents: cost}}
	}
	makers := callback(money(400))
	makers[0].Bearer = "maker"
	later := callback(money(400))
	later[0].HappenedOn = modelDay + 1
	for _, c := range []struct {
		name   string
		in     ModelInput
		notes  string
		amount bool
	}{
		{"nothing at all", ModelInput{}, "small_sample no_rate", false},
		{"a roof of today", ModelInput{Roofs: []ModelRoof{tomorrows}}, "small_sample no_rate", false},
		{"no callbacks", ModelInput{Roofs: []ModelRoof{roof}}, "small_sample no_cost", false},
		{"no callbacks, an assumed cost", ModelInput{Roofs: []ModelRoof{roof}, AssumedCostCents: money(450)}, "small_sample assumed_cost beyond_own_history", true},
		{"all assumed", ModelInput{Roofs: []ModelRoof{tomorrows}, AssumedRate: &rate, AssumedCostCents: money(450)}, "small_sample assumed_rate assumed_cost", true},
		{"one callback", ModelInput{Roofs: []ModelRoof{roof}, Callbacks: callback(money(400))}, "small_sample beyond_own_history", true},
		{"a callback of unknown day", ModelInput{Roofs: []ModelRoof{roof}, Callbacks: []ModelCallback{{Roof: "1", CostCents: money(400)}}}, "callbacks_without_days callbacks_without_cause small_sample beyond_own_history", true},
		{"a callback without cost", ModelInput{Roofs: []ModelRoof{roof}, Callbacks: callback(nil)}, "callbacks_without_cost small_sample no_cost", false},
		{"borne by the maker", ModelInput{Roofs: []ModelRoof{roof}, Callbacks: makers}, "callbacks_borne_by_others small_sample no_cost", false},
		{"a callback of tomorrow", ModelInput{Roofs: []ModelRoof{roof}, Callbacks: later}, "small_sample no_cost", false},
		{"a promise without days", ModelInput{Roofs: []ModelRoof{roof, {}}, AssumedCostCents: money(450)}, "promises_without_days small_sample assumed_cost beyond_own_history", true},
	} {
		c.in.AsOf = modelDay
		r, err := Model(c.in)
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
	width := func(roofs int) float64 {
		tr := usualTruth()
		tr.roofs, tr.weather = roofs, 0
		r, err := Model(invent(tr, 21))
		if err != nil {
			t.Fatal(err)
		}
		return float64(*r.Total.High-*r.Total.Low) / float64(*r.Total.Expected)
	}
	if large, middle, small := width(3000), width(300), width(30); !(1.5*large < middle && 1.5*middle < small) {
		t.Errorf("relative widths %v, %v, %v", large, middle, small)
	}
}

// Time before the records begin is no evidence of quiet.
func TestRecordsFrom(t *testing.T) {
	tr := usualTruth()
	tr.habit = ""
	in := invent(tr, 13)
	whole, err := sums(in)
	if err != nil {
		t.Fatal(err)
	}
	in.RecordsFrom = units.NewDate(2018, 1, 1)
	late, err := sums(in)
	if err != nil {
		t.Fatal(err)
	}
	if late.RoofYears > .7*whole.RoofYears || late.Callbacks > 3*whole.Callbacks/4 || !near(late.Total.Callbacks, whole.Total.Callbacks, .15) {
		t.Errorf("%v callbacks ahead from %d in %.0f roof-years, %v from %d in %.0f", late.Total.Callbacks, late.Callbacks, late.RoofYears, whole.Total.Callbacks, whole.Callbacks, whole.RoofYears)
	}
}

// The fields are read by these names.
func TestModelJSON(t *testing.T) {
	text := `{"as_of":"2026-11-25","records_from":"2015-01-01","discount_rate":0.04,"assumed_rate":0.03,"assumed_cost_cents":45000,"turnover":0.05,
		"roofs":[{"id":"a","laid_on":"2024-06-12","until":"2029-06-11","crew":"north","details":["valley"],"transfer":"once","shares":[{"from":"2024-06-12","until":"2029-06-11","share":1}]}],
		"callbacks":[{"roof":"a","happened_on":"2025-03-01","cause":"flashing","cost_cents":38000,"bearer":"us"}]}`
	decoder := json.NewDecoder(strings.NewReader(text))
	decoder.DisallowUnknownFields()
	var in ModelInput
	if err := decoder.Decode(&in); err != nil {
		t.Fatal(err)
	}
	r, err := Model(in)
	if err != nil {
		t.Fatal(err)
	}
	out, _ := json.Marshal(r)
	for _, part := range []string{`"as_of":"2026-11-25"`, `"small_sample":true`, `"year":2029`, `"expected_cents":`} {
		if !strings.Contains(string(out), part) {
			t.Errorf("%s is not in %s", part, out)
		}
	}
}

func TestModelRefusals(t *testing.T) {
	nan, big := math.NaN(), 3.0
	for _, c := range []struct {
		rule   string
		change func(*ModelInput)
	}{
		{"as_of", func(in *ModelInput) { in.AsOf = 0 }},
		{"cost_growth", func(in *ModelInput) { in.CostGrowth = nan }},
		{"discount_rate", func(in *ModelInput) { in.DiscountRate = 2 }},
		{"turnover", func(in *ModelInput) { in.Turnover = &big }},
		{"turnover", func(in *ModelInput) { in.Turnover = &nan }},
		{"notice_given", func(in *ModelInput) { in.NoticeGiven = &big }},
		{"assumed_rate", func(in *ModelInput) { in.AssumedRate = &nan }},
		{"spreads", func(in *ModelInput) { in.Spreads = map[string]float64{"colour": 1} }},
		{"roofs[0].until", func(in *ModelInput) { in.Roofs[0].Until = in.Roofs[0].LaidOn - 5 }},
		{"roofs[0].transfer", func(in *ModelInput) { in.Roofs[0].Transfer = "twice" }},
		{"roofs[0].shares[0].share", func(in *ModelInput) { in.Roofs[0].Shares = []ShareSpan{{modelDay, modelDay, 1.5}} }},
		{"roofs[0].years_left", func(in *ModelInput) { in.Roofs[0].YearsLeft = &YearsLeft{5, 4, 9} }},
		{"callbacks[0].bearer", func(in *ModelInput) { in.Callbacks = []ModelCallback{{Bearer: "nobody"}} }},
	} {
		in := ModelInput{AsOf: modelDay, Roofs: []ModelRoof{{ID: "1", LaidOn: modelDay - 100, Until: modelDay + 100}}}
		c.change(&in)
		if _, err := Model(in); err == nil || !strings.HasPrefix(err.Error(), c.rule+":") {
			t.Errorf("%s: %v", c.rule, err)
		}
	}
}

func BenchmarkModel(b *testing.B) {
	in := invent(usualTruth(), 5)
	for b.Loop() {
		if _, err := Model(in); err != nil {
			b.Fatal(err)
		}
	}
}

// fewCallbacks is the usual truth with one of a roof in some 200 years.
func fewCallbacks(roofs int) truth {
	tr := usualTruth()
	tr.roofs = roofs
	for cause, th := range tr.theta {
		for p := range th {
			th[p] /= 5
		}
		tr.theta[cause] = th
	}
	return tr
}

// BenchmarkFit100000 is the fit to some 5,000 callbacks of 100,000 roofs of 30
// crews, 1,700 lots and 400 neighbourhoods.
func BenchmarkFit100000(b *testing.B) {
	in := invent(fewCallbacks(100_000), 5)
	for i := range in.Roofs {
		r := &in.Roofs[i]
		r.Lot, r.Neighbourhood, r.Crew = fmt.Sprint(i/60), fmt.Sprint(i%400), fmt.Sprint(i%30)
	}
	for b.Loop() {
		if _, err := Fit(in); err != nil {
			b.Fatal(err)
		}
	}
}

// manyPromises are 100,000 given in the last months for ten years, with the rates
// that 10,000 roofs told.
func manyPromises(b *testing.B) *Fitted {
	b.Helper()
	in := invent(fewCallbacks(10_000), 5)
	f, err := Fit(in)
	if err != nil {
		b.Fatal(err)
	}
	ahead := ModelInput{AsOf: in.AsOf, Callbacks: in.Callbacks, RecordsFrom: in.RecordsFrom, Turnover: in.Turnover}
	for i := range 100_000 {
		r := in.Roofs[i%len(in.Roofs)]
		r.ID, r.LaidOn = fmt.Sprint(i), in.AsOf-units.Date(i%300)
		r.From, r.Until = r.LaidOn, in.AsOf.AddYears(10)
		ahead.Roofs = append(ahead.Roofs, r)
	}
	f.in = &ahead
	f.ready()
	return f
}

// BenchmarkAhead100000 is the expected cost of 100,000 promises of ten years, by
// year and all that it comes from, with its whole distribution.
func BenchmarkAhead100000(b *testing.B) {
	f := manyPromises(b)
	for b.Loop() {
		if _, err := f.Result(); err != nil {
			b.Fatal(err)
		}
	}
}

// A scenario changes what it is about and by how much it says.
func TestWhatIf(t *testing.T) {
	tr := usualTruth()
	tr.roofs = 400
	in := invent(tr, 4)
	f, r, err := fitted(in)
	if err != nil {
		t.Fatal(err)
	}
	base, same, err := f.WhatIf(WhatIf{Name: "as it is"})
	if err != nil || same.Change != 0 || same.OnTop != 0 || math.Abs(float64(base.Expected-*r.Total.Expected)) > 2+1e-3*float64(*r.Total.Expected) {
		t.Fatalf("nothing changes, and %v becomes %v beside %v; %v", base.Expected, same.Expected, *r.Total.Expected, err)
	}
	_, twice, err := f.WhatIf(WhatIf{RateTimes: 2, Bearers: []BearerShare{{"maker", .75}, {"us", .25}}})
	if err != nil || !near(float64(twice.Change), float64(base.Expected)*.25, .01) || len(twice.Bearers) != 2 {
		t.Errorf("twice as often, a quarter of it ours: %v on top of %v, %+v; %v", twice.Change, base.Expected, twice.Bearers, err)
	}
	ours := 0.0
	for _, p := range r.Promises {
		if in.Roofs[p.Row].Crew == "A" {
			ours += p.Expected
		}
	}
	_, crew, err := f.WhatIf(WhatIf{RateTimes: 3, In: func(i int) bool { return in.Roofs[i].Crew == "A" }})
	if err != nil || !near(float64(crew.Change), 2*ours, .02) {
		t.Errorf("crew A three times as often: %v, want %v; %v", crew.Change, 2*ours, err)
	}
	hail := WhatIf{Added: .5, Year: 2027, In: func(i int) bool { return i < 100 }, Bearers: []BearerShare{{"insurer", 1}}}
	_, storm, err := f.WhatIf(hail)
	ahead := 0
	for i := range 100 {
		if in.Roofs[i].Until > in.AsOf {
			ahead++
		}
	}
	if err != nil || storm.Change != 0 || !near(storm.Callbacks-base.Callbacks, .5*float64(ahead), 1e-6) || storm.Promises != float64(ahead) {
		t.Errorf("hail: %+v beside %+v with %d promises; %v", storm, base, ahead, err)
	}
	for rule, w := range map[string]WhatIf{"year": {Year: 1999}, "cause": {Added: 1, RateTimes: 2}} {
		if _, _, err := f.WhatIf(w); err == nil || !strings.HasPrefix(err.Error(), rule) {
			t.Errorf("%s: %v", rule, err)
		}
	}
}
