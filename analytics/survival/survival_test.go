package survival

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

var families = []Distribution{Weibull, Exponential, LogNormal, LogLogistic}

// anyRow draws a row of every kind, with ages from 1 to 40.
func anyRow(t *rapid.T) Row {
	age := func(name string, from, to float64) float64 { return rapid.Float64Range(from, to).Draw(t, name) }
	var r Row
	entry := 0.0
	if rapid.Bool().Draw(t, "late") {
		entry = age("entry", 1, 15)
		r.Entry = &entry
		r.EntryStanding = Flag(rapid.Bool().Draw(t, "entry standing"))
	}
	exit := entry + age("more", 1, 25)
	switch kind := rapid.IntRange(0, 6).Draw(t, "kind"); kind {
	case 0, 1:
		r.Exit, r.Event = &exit, ptr(Flag(kind == 1))
	case 2, 3:
		r.Exit, r.Event, r.Standing = &exit, ptr(Flag(kind == 3)), true
		if rapid.Bool().Draw(t, "looked at") {
			r.Lower = ptr(age("lower", 0.1, 0.9) * exit)
		}
	case 4:
		r.Upper = &exit
	case 5:
		r.Upper, r.Lower = &exit, ptr(age("lower", 0.1, 0.9)*exit)
	default:
		r.Lower = &exit
	}
	return r
}

// The analytic derivatives against central differences of the value, and of the
// gradient.
func TestDerivatives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(families).Draw(t, "family")
		c, err := anyRow(t).read(rapid.SampledFrom([]float64{0, 0.5, 3, 30}).Draw(t, "lag"))
		if err != nil {
			t.Fatal(err)
		}
		location := rapid.Float64Range(1, 4).Draw(t, "location")
		s := rapid.Float64Range(-1.5, 0.7).Draw(t, "log sigma")
		const h = 1e-5
		at := func(location, s float64) slopes { return c.of(d, location, math.Exp(s)) }
		here := at(location, s)
		if here.value < -300 {
			t.Skip("so unlikely that differences lose their digits")
		}
		up, down, right, left := at(location+h, s), at(location-h, s), at(location, s+h), at(location, s-h)
		for _, x := range []struct {
			name      string
			got, want float64
		}{
			{"e", here.e, (up.value - down.value) / (2 * h)}, {"s", here.s, (right.value - left.value) / (2 * h)},
			{"ee", here.ee, (up.e - down.e) / (2 * h)}, {"es", here.es, (up.s - down.s) / (2 * h)},
			{"es", here.es, (right.e - left.e) / (2 * h)}, {"ss", here.ss, (right.s - left.s) / (2 * h)},
		} {
			scale := 1 + math.Abs(x.want) + math.Abs(here.value) + here.e*here.e + here.s*here.s
			if !(math.Abs(x.got-x.want) <= 1e-5*scale) {
				t.Fatalf("%s: got %v, want %v (%+v)", x.name, x.got, x.want, here)
			}
		}
	})
}

// The chance to lie at an age through the lag, against adaptive integration of
// its definition: ∫ f(t)·exp(−(a−t)/τ) dt from l to a, and S(a).
func TestStanding(t *testing.T) {
	for _, sigma := range []float64{0.1, 0.25, 1} {
		for _, lag := range []float64{0.2, 2, 10, 200} {
			for _, from := range []float64{0, 5, 17.5} {
				const age, location = 18.0, 2.9
				w := distuv.Weibull{K: 1 / sigma, Lambda: math.Exp(location)}
				want := w.Survival(age)
				for i := range 180 { // pieces, since the integrand may be narrow
					a, b := from+(age-from)*float64(i)/180, from+(age-from)*float64(i+1)/180
					want += quad.Fixed(func(x float64) float64 { return w.Prob(x) * math.Exp(-(age-x)/lag) }, a, b, 20, nil, 0)
				}
				got := chance(Weibull, standing(from, age, lag), false, 0, location, sigma).value
				if !(math.Abs(got-math.Log(want)) <= 2e-9) {
					t.Errorf("σ %v, lag %v, from %v: got %.12g, want %.12g", sigma, lag, from, got, math.Log(want))
				}
			}
		}
	}
}

// simulated draws lives with late entry, an end of the watch and a covariate.
func simulated(seed uint64, n int, d Distribution, location, beta, sigma float64) (rows []Row) {
	rng := rand.New(rand.NewPCG(seed, 11))
	for len(rows) < n {
		x := float64(rng.IntN(2))
		life := math.Exp(location + beta*x + sigma*d.quantile(1-rng.Float64()))
		entry := max(0, 30*rng.Float64()-8)
		if life <= entry {
			continue // gone before it could be watched
		}
		end := entry + 3 + 12*rng.Float64()
		r := right(min(life, end), life <= end)
		r.Covariates = map[string]float64{"x": x}
		if entry > 0 {
			r.Entry = &entry
		}
		rows = append(rows, r)
	}
	return rows
}

// Known truth with late entry: the limits hold it about as often as they say,
// and the mean of the estimates is close to it.
func TestCoverage(t *testing.T) {
	const repeats = 300
	for _, d := range []Distribution{Weibull, LogNormal, LogLogistic} {
		truth := []float64{3, -0.2, math.Log(0.3)}
		held, sum := make([]float64, 3), make([]float64, 3)
		for i := range repeats {
			r := mustFit(t, FitInput{Rows: simulated(uint64(i), 150, d, truth[0], truth[1], 0.3), Distribution: d})
			for j, c := range r.Coefficients {
				sum[j] += c.Estimate / repeats
				if c.Low <= truth[j] && truth[j] <= c.High {
					held[j]++
				}
			}
		}
		for j := range truth {
			// Three standard errors of a share of 300 about 0.95, and a little for
			// so few rows.
			if share := held[j] / repeats; share < 0.90 || share > 0.985 {
				t.Errorf("%s, parameter %d: the limits held %v of the time", d, j, share)
			}
			within(t, string(d), sum[j], truth[j], 0.035)
		}
	}
}

// A watched town with a lag and looks: the lag, the looks and late entry together
// give the true life back, for one that fits through OwnRows.
func TestOwnRowsRecoverTheLife(t *testing.T) {
	const lag, scale, shape = 2.0, 24.0, 4.0
	for _, every := range []float64{0, 5} { // years between looks; 0 is none
		rng := rand.New(rand.NewPCG(3, 4))
		var own []Own
		for range 3000 {
			start := 5 + 25*rng.Float64()
			life := scale * math.Pow(rng.ExpFloat64(), 1/shape)
			replaced, stop := life+lag*rng.ExpFloat64(), start+6
			if replaced <= start {
				continue
			}
			o := Own{WatchedFrom: start, LastAge: min(replaced, stop)}
			if replaced < stop {
				o.Ended = Wear
			}
			for look := start; every > 0 && look < o.LastAge; look += every {
				if look >= life {
					o.WornOutAt = ptr(look)
					break
				}
				o.ServiceableAt = ptr(look)
			}
			own = append(own, o)
		}
		rows, out, err := OwnRows(own, lag)
		if err != nil || len(out) > 0 {
			t.Fatal(err, out)
		}
		r := mustFit(t, FitInput{Rows: rows, LagYears: lag})
		for i, want := range []float64{math.Log(scale), -math.Log(shape)} {
			if c := r.Coefficients[i]; math.Abs(c.Estimate-want) > 3*c.SE || c.SE > 0.1 {
				t.Errorf("looks every %v: %s %v with SE %v, want %v", every, c.Name, c.Estimate, c.SE, want)
			}
		}
		// Taking each replacement for the age at which it was worn out lengthens lives.
		if every > 0 {
			continue
		}
		for i := range rows {
			rows[i].Standing = false
		}
		if r := mustFit(t, FitInput{Rows: rows}); r.Coefficients[0].Low < math.Log(scale+1) {
			t.Errorf("ignoring the lag should be seen to lengthen lives: %+v", r.Coefficients[0])
		}
	}
}

func TestOwnRows(t *testing.T) {
	rows, out, err := OwnRows([]Own{
		{WatchedFrom: 10, LastAge: 15, Ended: Wear, ServiceableAt: ptr(12.0)},
		{WatchedFrom: 15, LastAge: 15, Ended: Wear},
		{LastAge: 9, Ended: Storm, ServiceableAt: ptr(8.0)},
		{WatchedFrom: 4, LastAge: 9},
		{WatchedFrom: 4, LastAge: 9, WornOutAt: ptr(4.0)},
		{WatchedFrom: 3, LastAge: 3},
	}, 0)
	if err != nil {
		t.Fatal(err)
	}
	got, err := json.Marshal(rows)
	if err != nil {
		t.Fatal(err)
	}
	want := `[{"entry":10,"exit":15,"event":true,"lower":12,"standing":true,"entry_standing":true},` +
		`{"exit":9,"event":false},{"entry":4,"exit":9,"event":false,"standing":true,"entry_standing":true}]`
	if string(got) != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
	if fmt.Sprint(out) != "[{1 it was first seen at its end, so it brings no time at risk}"+
		" {4 it was worn out when its watch began, and without a lag that tells nothing} {5 it was not watched for any time}]" {
		t.Errorf("left out: %v", out)
	}
	for _, c := range []struct {
		own  Own
		says string
	}{
		{Own{LastAge: math.NaN()}, "own[0].last_age: must be a number"},
		{Own{LastAge: 5, Ended: "fire"}, "own[0].ended: must be"},
		{Own{WatchedFrom: 6, LastAge: 5}, "own[0].last_age: must not come before"},
		{Own{LastAge: 5, ServiceableAt: ptr(6.0)}, "own[0].serviceable_at: must not come after"},
		{Own{LastAge: 5, Ended: Wear, ServiceableAt: ptr(5.0)}, "own[0].serviceable_at: one that ended for wear"},
		{Own{LastAge: 5, WornOutAt: ptr(6.0)}, "own[0].worn_out_at: must lie within"},
		{Own{LastAge: 5, WornOutAt: ptr(4.0), ServiceableAt: ptr(4.0)}, "own[0].serviceable_at: must come before"},
	} {
		if _, _, err := OwnRows([]Own{c.own}, 0); err == nil || !strings.HasPrefix(err.Error(), c.says) {
			t.Errorf("%+v: got %v, want %q", c.own, err, c.says)
		}
	}
}

// drawn is a sample with events on both sides of its covariate, from a seed that
// rapid draws.
func drawn(t *rapid.T) (Distribution, []Row) {
	d := rapid.SampledFrom([]Distribution{Weibull, LogNormal, LogLogistic}).Draw(t, "family")
	for seed := rapid.Uint64Range(0, 1e6).Draw(t, "seed"); ; seed += 1e6 + 1 {
		rows := simulated(seed, 60, d, 3, -0.3, 0.35)
		var events [2]int
		for _, r := range rows {
			if *r.Event {
				events[int(r.Covariates["x"])]++
			}
		}
		if events[0] > 0 && events[1] > 0 {
			return d, rows
		}
	}
}

func fitted(t *rapid.T, in FitInput) FitResult {
	r, err := Fit(in)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Status.Converged {
		t.Fatalf("not converged: %+v", r.Status)
	}
	return r
}

func same(t *rapid.T, what string, a, b FitResult, shift float64) {
	for i := range a.Coefficients {
		want := a.Coefficients[i].Estimate
		if i == 0 {
			want += shift
		}
		if got := b.Coefficients[i]; math.Abs(got.Estimate-want) > 1e-6 || math.Abs(got.SE/a.Coefficients[i].SE-1) > 1e-5 {
			t.Fatalf("%s: %s is %v (%v), want %v (%v)", what, got.Name, got.Estimate, got.SE, want, a.Coefficients[i].SE)
		}
	}
}

func TestFitProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, rows := drawn(t)
		r := fitted(t, FitInput{Rows: rows, Distribution: d})

		// A life cut in two where it is watched on says the same.
		var cut []Row
		for _, row := range rows {
			middle := (or(row.Entry, 0) + *row.Exit) / 2
			first, second := right(middle, false), row
			first.Entry, first.Covariates, second.Entry = row.Entry, row.Covariates, &middle
			cut = append(cut, first, second)
		}
		c := fitted(t, FitInput{Rows: cut, Distribution: d})
		same(t, "cut in two", r, c, 0)
		if math.Abs(*c.LogLikelihood-*r.LogLikelihood) > 1e-8*math.Abs(*r.LogLikelihood) {
			t.Fatalf("cut in two: log-likelihood %v, want %v", *c.LogLikelihood, *r.LogLikelihood)
		}

		// Months for years move the intercept by ln 12 and each exact age by −ln 12.
		var months []Row
		for _, row := range rows {
			m := row
			m.Exit = ptr(12 * *row.Exit)
			if row.Entry != nil {
				m.Entry = ptr(12 * *row.Entry)
			}
			months = append(months, m)
		}
		m := fitted(t, FitInput{Rows: months, Distribution: d})
		same(t, "in months", r, m, math.Log(12))
		if want := *r.LogLikelihood - float64(r.Counts.Exact)*math.Log(12); math.Abs(*m.LogLikelihood-want) > 1e-7 {
			t.Fatalf("in months: log-likelihood %v, want %v", *m.LogLikelihood, want)
		}

		// A row of weight 2 is two rows.
		twice := append(rows[1:len(rows):len(rows)], rows[0], rows[0])
		heavy := append([]Row{rows[0]}, rows[1:]...)
		heavy[0].Weight = ptr(2.0)
		same(t, "weight", fitted(t, FitInput{Rows: twice, Distribution: d}), fitted(t, FitInput{Rows: heavy, Distribution: d}), 0)

		// A narrow interval is all but its exact age, once its width is taken off.
		narrow := append([]Row{}, rows...)
		widths := 0.0
		for i, row := range narrow {
			if bool(*row.Event) {
				const half = 1e-4
				narrow[i] = Row{Entry: row.Entry, Lower: ptr(*row.Exit - half), Upper: ptr(*row.Exit + half), Covariates: row.Covariates}
				if *row.Exit-half <= or(row.Entry, 0) {
					narrow[i] = row
					continue
				}
				widths += math.Log(2 * half)
			}
		}
		n := fitted(t, FitInput{Rows: narrow, Distribution: d})
		if math.Abs(*n.LogLikelihood-widths-*r.LogLikelihood) > 1e-4 {
			t.Fatalf("narrow intervals: log-likelihood %v, want %v", *n.LogLikelihood-widths, *r.LogLikelihood)
		}
	})
}

// Where no greatest likelihood exists the fit says why and gives no estimates.
func TestStatus(t *testing.T) {
	with := func(r Row, x float64) Row {
		r.Covariates = map[string]float64{"south": x}
		return r
	}
	for _, c := range []struct {
		name, says string
		rows       []Row
	}{
		{"no events", "no events", []Row{right(5, false), right(9, false)}},
		{"one age, the greatest", "all events are at one age", []Row{right(9, true), right(9, true), right(4, false)}},
		{"events on one side alone", "monotone likelihood in south", []Row{with(right(5, true), 0), with(right(7, true), 0), with(right(9, false), 1), with(right(8, false), 0)}},
		{"one age but for the covariate", "monotone likelihood in sigma", []Row{with(right(5, true), 0), with(right(9, true), 1), with(right(5, true), 0)}},
		{"wide intervals", "", []Row{{Upper: ptr(10.0)}, {Lower: ptr(10.0)}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Fit(FitInput{Rows: c.rows})
			if err != nil {
				t.Fatal(err)
			}
			if r.Status.Converged || r.Status.Why == "" || !strings.HasPrefix(r.Status.Why, c.says) {
				t.Errorf("status: %+v", r.Status)
			}
			if r.Coefficients != nil || r.Covariance != nil || r.LogLikelihood != nil || r.Profiles != nil || !strings.Contains(r.Says, r.Status.Why) {
				t.Errorf("estimates beside it: %+v", r)
			}
			if _, err := r.Predict(Profile{}, nil, nil); err == nil {
				t.Error("a fit that did not converge foretold a life")
			}
		})
	}
	// Two covariates that part the events from the others only together.
	var rows []Row
	for i := range 12 {
		a, b := float64(i%2), float64(i/2%2)
		r := right(5+float64(i), a+b < 2)
		r.Covariates = map[string]float64{"a": a, "b": b, "both": a * b}
		rows = append(rows, r)
	}
	r, err := Fit(FitInput{Rows: rows, Covariates: []string{"a", "both"}})
	if err != nil || r.Status.Converged || !strings.Contains(r.Status.Why, "both") {
		t.Errorf("%v %+v", err, r.Status)
	}
}

func TestRefusals(t *testing.T) {
	fit := func(change func(*FitInput)) error {
		in := FitInput{Rows: []Row{right(5, true), right(9, true), right(7, false)}}
		change(&in)
		_, err := Fit(in)
		return err
	}
	row := func(r Row) func(*FitInput) { return func(in *FitInput) { in.Rows[1] = r } }
	yes, no := ptr(Flag(true)), ptr(Flag(false))
	for says, change := range map[string]func(*FitInput){
		"rows: give at least one":                func(in *FitInput) { in.Rows = nil },
		"distribution: must be":                  func(in *FitInput) { in.Distribution = "normal" },
		"lag_years: must be":                     func(in *FitInput) { in.LagYears = -1 },
		"level: must lie":                        func(in *FitInput) { in.Level = 95 },
		"quantiles[0]: must lie":                 func(in *FitInput) { in.Quantiles = []float64{1} },
		"within[0]: must be":                     func(in *FitInput) { in.Within = []float64{math.NaN()} },
		"profiles[0].age: must be":               func(in *FitInput) { in.Profiles = []Profile{{Age: math.Inf(1)}} },
		"profiles[0].covariates.x: the fit does": func(in *FitInput) { in.Profiles = []Profile{{Covariates: map[string]float64{"x": 1}}} },
		"covariates: x is the same in every row": func(in *FitInput) {
			same := map[string]float64{"x": 3}
			for i := range in.Rows {
				in.Rows[i].Covariates = same
			}
		},
		"covariates: y follows from those before": func(in *FitInput) {
			for i := range in.Rows {
				in.Rows[i].Covariates = map[string]float64{"x": float64(i), "y": 3 - 2*float64(i)}
			}
		},
		"covariates: \"log_sigma\" is empty, taken":      func(in *FitInput) { in.Covariates = []string{logSigma} },
		"rows: none has all the covariates":              func(in *FitInput) { in.Covariates = []string{"x"} },
		"rows[1].covariates.x: must be a number":         row(Row{Exit: ptr(3.0), Event: yes, Covariates: map[string]float64{"x": math.NaN()}}),
		"rows[1].exit: must be a number above 0, not 0":  row(right(0, true)),
		"rows[1].exit: must be a number above 0, not Na": row(right(math.NaN(), true)),
		"rows[1].entry: must be":                         row(Row{Entry: ptr(-1.0), Exit: ptr(3.0), Event: yes}),
		"rows[1].exit: must come after entry":            row(Row{Entry: ptr(3.0), Exit: ptr(3.0), Event: yes}),
		"rows[1].event: give 0 or 1":                     row(Row{Exit: ptr(3.0)}),
		"rows[1].upper: give either":                     row(Row{Exit: ptr(3.0), Event: yes, Upper: ptr(4.0)}),
		"rows[1].lower: goes with exit only":             row(Row{Exit: ptr(3.0), Event: no, Lower: ptr(2.0)}),
		"rows[1].lower: must come before exit":           row(Row{Exit: ptr(3.0), Event: yes, Lower: ptr(3.0), Standing: true}),
		"rows[1].exit: give exit and event, or":          row(Row{}),
		"rows[1].event: a row with an upper":             row(Row{Upper: ptr(3.0), Event: no}),
		"rows[1].standing: goes with exit":               row(Row{Upper: ptr(3.0), Standing: true}),
		"rows[1].lower: alone it must come":              row(Row{Entry: ptr(3.0), Lower: ptr(2.0)}),
		"rows[1].upper: must come after":                 row(Row{Lower: ptr(3.0), Upper: ptr(3.0)}),
		"rows[1].weight: must be":                        row(Row{Exit: ptr(3.0), Event: yes, Weight: ptr(0.0)}),
	} {
		if err := fit(change); err == nil || !strings.HasPrefix(err.Error(), says) {
			t.Errorf("got %v, want %q", err, says)
		}
	}
	curve := func(in CurveInput) error { _, err := Curve(in); return err }
	one := []CurveRow{{Exit: 5, Event: yes}}
	for says, in := range map[string]CurveInput{
		"rows: give at least one":             {},
		"bands: must be":                      {Rows: one, Bands: "wide"},
		"from_age: must be":                   {Rows: one, FromAge: ptr(-1.0)},
		"from_age: none":                      {Rows: one, FromAge: ptr(6.0)},
		"until: must not":                     {Rows: one, FromAge: ptr(4.0), Until: ptr(3.0)},
		"at[0]: must be":                      {Rows: one, At: []float64{math.NaN()}},
		"at: must not":                        {Rows: one, At: []float64{1}, FromAge: ptr(2.0)},
		"quantiles[0]: must":                  {Rows: one, Quantiles: []float64{0}},
		"rows[0].exit: must come after entry": {Rows: []CurveRow{{Exit: 0, Event: yes}}},
		"rows[0].event: give":                 {Rows: []CurveRow{{Exit: 5}}},
		"rows[0].weight: must":                {Rows: []CurveRow{{Exit: 5, Event: yes, Weight: ptr(-1.0)}}},
	} {
		if err := curve(in); err == nil || !strings.HasPrefix(err.Error(), says) {
			t.Errorf("got %v, want %q", err, says)
		}
	}
	end := EventRow{Unit: "a", Age: 9, Event: no}
	for says, rows := range map[string][]EventRow{
		"rows: give at least one":          nil,
		"rows[0].event: give 0 or 1":       {{Unit: "a", Age: 2}},
		"rows[0].age: must be":             {{Unit: "a", Age: math.Inf(1), Event: yes}},
		"rows[0].unit: \"a\" has no end":   {{Unit: "a", Age: 2, Event: yes}},
		"rows[1].event: unit \"a\" has":    {end, end},
		"rows[1].age: 10 lies outside":     {end, {Unit: "a", Age: 10, Event: yes}},
		"rows[1].entry: goes with the end": {end, {Unit: "a", Age: 2, Event: yes, Entry: ptr(1.0)}},
		"rows[0].entry: must be a number":  {{Unit: "a", Age: 9, Event: no, Entry: ptr(9.0)}},
	} {
		if _, err := Events(EventsInput{Rows: rows}); err == nil || !strings.HasPrefix(err.Error(), says) {
			t.Errorf("got %v, want %q", err, says)
		}
	}
}

func TestFlag(t *testing.T) {
	for text, want := range map[string]bool{`1`: true, `true`: true, `0`: false, `false`: false} {
		f := Flag(!want)
		if err := json.Unmarshal([]byte(text), &f); err != nil || bool(f) != want {
			t.Errorf("%s: %v %v", text, f, err)
		}
	}
	for _, text := range []string{`2`, `"1"`, `1.0`, `-1`} {
		var f Flag
		if json.Unmarshal([]byte(text), &f) == nil {
			t.Errorf("%s was read as %v", text, f)
		}
	}
	var in FitInput
	err := json.Unmarshal([]byte(`{"rows": [{"exit": 3, "event": 2}]}`), &in)
	if err == nil || !strings.Contains(err.Error(), "event") {
		t.Errorf("the refusal should name the field: %v", err)
	}
}

// The time left against integration of the survival, in the middle and the tail,
// and its quantiles against their definition.
func TestLifeAgainstIntegrals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Life{rapid.SampledFrom(families).Draw(t, "family"), rapid.Float64Range(1, 4).Draw(t, "location"), rapid.Float64Range(0.1, 0.6).Draw(t, "sigma")}
		if l.Distribution == Exponential {
			l.Sigma = 1
		}
		age := l.Quantile(rapid.Float64Range(0.001, 0.9999).Draw(t, "share gone"))
		left := func(x float64) float64 { // of the survival, given age
			return math.Exp(l.Distribution.logSurvival(l.z(x)) - l.Distribution.logSurvival(l.z(age)))
		}
		// ∫ S dx over ln x, in pieces until nothing is left.
		want, step := 0.0, 0.05*l.Sigma
		for u := math.Log(age); ; u += step {
			piece := quad.Fixed(func(u float64) float64 { return math.Exp(u) * left(math.Exp(u)) }, u, u+step, 10, nil, 0)
			want += piece
			if piece < 1e-12*want {
				break
			}
		}
		if got := l.MeanLeft(age); math.Abs(got-want) > 1e-7*want {
			t.Fatalf("%+v at %v: mean %v, want %v", l, age, got, want)
		}
		p := rapid.Float64Range(0.01, 0.99).Draw(t, "p")
		if got := left(age + l.QuantileLeft(age, p)); math.Abs(got-(1-p)) > 1e-9 {
			t.Fatalf("%+v at %v: %v are left after the %v quantile", l, age, got, p)
		}
		if got, want := l.ChanceWithin(age, l.QuantileLeft(age, p)), p; math.Abs(got-want) > 1e-9 {
			t.Fatalf("%+v at %v: chance %v, want %v", l, age, got, want)
		}
		if q := l.Quantile(p); math.Abs(l.Survival(q)-(1-p)) > 1e-12 || math.Abs(l.QuantileLeft(0, p)-q) > 1e-12*q {
			t.Fatalf("%+v: quantile %v", l, q)
		}
		h := 1e-5 * age
		slope := (math.Log(left(age-h)) - math.Log(left(age+h))) / (2 * h)
		if got := l.Hazard(age); math.Abs(got-slope) > 1e-6*slope {
			t.Fatalf("%+v at %v: hazard %v, want %v", l, age, got, slope)
		}
	})
	// Far out, where the survival itself is below the smallest number: Mills'
	// ratio makes a normal tail all but exponential there.
	far := Life{LogNormal, 0, 0.1}
	age := math.Exp(6)
	z := far.z(age)
	near(t, "mean left far out", far.MeanLeft(age), age*0.1/z, 0.01)
	near(t, "median left far out", far.QuantileLeft(age, 0.5), age*0.1/z*math.Ln2, 0.01)
	if m := (Life{LogLogistic, 3, 1}).MeanLeft(5); !math.IsInf(m, 1) {
		t.Errorf("log-logistic of σ 1 has no mean, not %v", m)
	}
}

// spoken draws lives with ties of ages and forecasts, late entry and weights.
func spoken(t *rapid.T) (lives []Spoken) {
	for range rapid.IntRange(2, 25).Draw(t, "n") {
		entry := float64(rapid.IntRange(0, 4).Draw(t, "entry"))
		lives = append(lives, Spoken{Entry: entry, Exit: entry + float64(rapid.IntRange(1, 6).Draw(t, "more")), Event: rapid.Bool().Draw(t, "event"),
			Forecast: float64(rapid.IntRange(0, 5).Draw(t, "forecast")), Weight: float64(rapid.IntRange(1, 3).Draw(t, "weight"))})
	}
	return lives
}

// Concordance against its definition, pair by pair, and its error against the
// change from leaving a little of each life out.
func TestConcordanceByPairs(t *testing.T) {
	count := func(lives []Spoken) (c Concordance) {
		for i, a := range lives {
			for j, b := range lives {
				w := a.Weight * b.Weight
				switch {
				case !a.Event || i == j:
				case b.Event && a.Exit == b.Exit && i < j && a.Forecast == b.Forecast:
					c.TiedBoth += w
				case b.Event && a.Exit == b.Exit && i < j:
					c.TiedAge += w
				case !(b.Entry < a.Exit && (b.Exit > a.Exit || b.Exit == a.Exit && !b.Event)):
				case b.Forecast > a.Forecast:
					c.Concordant += w
				case b.Forecast < a.Forecast:
					c.Discordant += w
				default:
					c.TiedFore += w
				}
			}
		}
		c.Estimate = (c.Concordant + c.TiedFore/2) / (c.Concordant + c.Discordant + c.TiedFore)
		return c
	}
	rapid.Check(t, func(t *rapid.T) {
		lives := spoken(t)
		want := count(lives)
		got, err := Concord(lives)
		if math.IsNaN(want.Estimate) {
			if err == nil {
				t.Fatalf("no pair is known, but got %+v", got)
			}
			return
		}
		for i, w := range lives {
			const h = 1e-5
			changed := append([]Spoken{}, lives...)
			changed[i].Weight = w.Weight * (1 + h)
			up := count(changed).Estimate
			changed[i].Weight = w.Weight * (1 - h)
			pull := (up - count(changed).Estimate) / (2 * h)
			want.SE += pull * pull
		}
		want.SE = math.Sqrt(want.SE)
		if err != nil || math.Abs(got.SE-want.SE) > 1e-7 {
			t.Fatalf("got %+v (%v), want %+v", got, err, want)
		}
		got.SE, want.SE = 0, 0
		if got != want {
			t.Fatalf("got %+v, want %+v", got, want)
		}
	})
}

// The curve against its definition, age by age.
func TestCurveByRiskSets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lives := spoken(t)
		var rows []CurveRow
		for _, l := range lives {
			rows = append(rows, CurveRow{Entry: ptr(l.Entry), Exit: l.Exit, Event: ptr(Flag(l.Event)), Weight: ptr(l.Weight), Group: []string{"a", "b", "c"}[int(l.Forecast)%3]})
		}
		together := append([]CurveRow{}, rows...)
		for i := range together {
			together[i].Group = ""
		}
		r, err := Curve(CurveInput{Rows: together, FromAge: ptr(0.0)})
		if err != nil {
			t.Fatal(err)
		}
		survival, hazard, i := 1.0, 0.0, 0
		for age := 1.0; age <= 10; age++ {
			risk, events := 0.0, 0.0
			for _, l := range lives {
				if l.Entry < age && age <= l.Exit {
					risk += l.Weight
					if l.Event && l.Exit == age {
						events += l.Weight
					}
				}
			}
			if events == 0 {
				continue
			}
			survival *= 1 - events/risk
			hazard += events / risk
			s := r.Groups[0].Steps[i]
			if s.Age != age || s.AtRisk != risk || s.Events != events || math.Abs(s.Survival-survival) > 1e-12 || math.Abs(s.Hazard-hazard) > 1e-12 {
				t.Fatalf("at %v: got %+v, want %v of %v, S %v", age, s, events, risk, survival)
			}
			if s.Low != nil && !(*s.Low <= s.Survival && s.Survival <= *s.High && *s.Low >= 0 && *s.High <= 1) {
				t.Fatalf("band at %v: %v to %v about %v", age, *s.Low, *s.High, s.Survival)
			}
			i++
		}
		if i != len(r.Groups[0].Steps) {
			t.Fatalf("%d steps, want %d", len(r.Groups[0].Steps), i)
		}
		g, err := Curve(CurveInput{Rows: rows, FromAge: ptr(0.0)})
		if err != nil {
			t.Fatal(err)
		}
		if g.LogRank != nil {
			o, e := 0.0, 0.0
			for i := range g.LogRank.Groups {
				o += g.LogRank.Observed[i]
				e += g.LogRank.Expected[i]
			}
			if math.Abs(o-e) > 1e-9 || !(g.LogRank.ChiSquare >= 0) || !(g.LogRank.P >= 0 && g.LogRank.P <= 1) {
				t.Fatalf("log-rank: %+v", *g.LogRank)
			}
		}
	})
}

// Without censoring the curve is the share left, and Greenwood's variance the
// binomial one.
func TestCurveWithoutCensoring(t *testing.T) {
	var rows []CurveRow
	for i := range 40 {
		rows = append(rows, CurveRow{Exit: float64(i + 1), Event: ptr(Flag(true))})
	}
	c := mustCurve(t, CurveInput{Rows: rows}).Groups[0]
	for i, s := range c.Steps {
		p := 1 - float64(i+1)/40
		within(t, "S", s.Survival, p, 1e-12)
		within(t, "SE", s.SE, math.Sqrt(p*(1-p)/40), 1e-12)
	}
	// The mean of 1 to 40, and half way between 20 and 21 as R has it.
	within(t, "mean", c.Mean.Mean, 20.5, 1e-12)
	within(t, "median", *c.Quantiles[1].Age, 20.5, 1e-12)
	if c.Steps[39].Low != nil {
		t.Error("a log-log band is not defined at nought")
	}
}

// One watched young alone, and worn out, must not end all.
func TestCurveOfALonelyEarlyDeath(t *testing.T) {
	yes, no := ptr(Flag(true)), ptr(Flag(false))
	rows := []CurveRow{{Exit: 3, Event: yes}}
	for i := range 10 {
		rows = append(rows, CurveRow{Entry: ptr(5.0), Exit: 10 + float64(i), Event: yes}, CurveRow{Entry: ptr(5.0), Exit: 20, Event: no})
	}
	r := mustCurve(t, CurveInput{Rows: rows})
	g := r.Groups[0]
	if g.FromAge != 3 || g.Rows != 20 || len(r.Warnings) != 2 || !strings.Contains(r.Warnings[0], "those that reach 3") || !strings.Contains(r.Warnings[1], "between ages 3 and 5") {
		t.Errorf("from %v, %d rows, %q", g.FromAge, g.Rows, r.Warnings)
	}
	within(t, "S at the end", g.Steps[len(g.Steps)-1].Survival, 0.5, 1e-12)
	if !strings.Contains(r.Says, "of those that reach 3") {
		t.Error(r.Says)
	}
	// Ages before it begins are left out of what is read from it.
	if at := mustCurve(t, CurveInput{Rows: rows, At: []float64{0, 2, 3, 12}}).Groups[0].At; len(at) != 2 || at[0].Age != 3 || at[1].Age != 12 {
		t.Errorf("read at %+v", at)
	}
	// Asked for nought, it is nought for ever, as in R, and warns.
	r = mustCurve(t, CurveInput{Rows: rows, FromAge: ptr(0.0)})
	if s := r.Groups[0].Steps; s[0].Survival != 0 || s[len(s)-1].Survival != 0 || !strings.Contains(r.Warnings[0], "Give a from_age of 3 or more") {
		t.Errorf("%+v %q", s[0], r.Warnings)
	}
	r = mustCurve(t, CurveInput{Rows: rows, FromAge: ptr(5.0)})
	if len(r.Warnings) != 0 || r.Groups[0].Steps[9].Survival != 0.5 {
		t.Errorf("from 5: %q", r.Warnings)
	}
}

// Three groups: our own run of survdiff(Surv(time, status) ~ ph.ecog, lung) on
// those below 3; a group less leaves the degrees of freedom right.
func TestLogRankOfThreeGroups(t *testing.T) {
	var rows []CurveRow
	for _, r := range table(t, "lung.csv") {
		if ecog, known := r["ph.ecog"]; known && ecog < 3 {
			rows = append(rows, CurveRow{Exit: r["time"], Event: ptr(Flag(r["status"] == 2)), Group: fmt.Sprint(ecog)})
		}
	}
	l := mustCurve(t, CurveInput{Rows: rows}).LogRank
	within(t, "chi-square", l.ChiSquare, 18.0120966947, 5e-7)
	within(t, "expected", l.Expected[1], 83.0929422349, 5e-7)
	if l.Freedom != 2 || l.Observed[1] != 82 {
		t.Errorf("%+v", *l)
	}
}

// nelson is the unbiased variance of the mean of events as it is defined, from
// the counts of every unit at every age up to one; nil where it has none.
func nelson(counts [][]float64, risk [][]bool) *float64 {
	total := 0.0
	for later := range counts {
		for age := range later + 1 {
			n, before, sums, product := 0.0, 0.0, [2]float64{}, 0.0
			for u, at := range risk[later] {
				if risk[age][u] {
					before++
				}
				if at {
					n++
					sums[0] += counts[age][u]
					sums[1] += counts[later][u]
					product += counts[age][u] * counts[later][u]
				}
			}
			if n < 2 {
				return nil
			}
			covariance := (product - sums[0]*sums[1]/n) / (n - 1)
			if age < later {
				covariance *= 2
			}
			total += covariance / before
		}
	}
	if total < 0 {
		return nil
	}
	se := math.Sqrt(total)
	return &se
}

// The mean of events and its errors against their definitions, unit by unit, with
// late entry, ties and units of different size.
func TestEventsByUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type own struct {
			entry, end, size float64
			at               []float64
		}
		var units []own
		var rows []EventRow
		latest, sizes := 4, []float64{1, 0.5, 24, 31}
		if rapid.Bool().Draw(t, "alike") {
			latest, sizes = 0, sizes[:1]
		}
		for i := range rapid.IntRange(1, 12).Draw(t, "units") {
			u := own{entry: float64(rapid.IntRange(0, latest).Draw(t, "entry"))}
			u.end = u.entry + float64(rapid.IntRange(1, 6).Draw(t, "more"))
			u.size = rapid.SampledFrom(sizes).Draw(t, "size")
			end := EventRow{Unit: fmt.Sprint(i), Age: u.end, Event: ptr(Flag(false)), Entry: ptr(u.entry), Size: ptr(u.size)}
			if u.size == 1 {
				end.Size = nil
			}
			rows = append(rows, end)
			for range rapid.IntRange(0, 4).Draw(t, "events") {
				age := float64(rapid.IntRange(int(u.entry)+1, int(u.end)).Draw(t, "age"))
				u.at = append(u.at, age)
				rows = append(rows, EventRow{Unit: fmt.Sprint(i), Age: age, Event: ptr(Flag(true))})
			}
			units = append(units, u)
		}
		got, err := Events(EventsInput{Rows: rows})
		if err != nil {
			t.Fatal(err)
		}
		mean, i := 0.0, 0
		part := make([]float64, len(units))
		alike := !slices.ContainsFunc(units, func(u own) bool { return u.entry > 0 || u.size != 1 })
		var counts [][]float64
		var risk [][]bool
		for age := 1.0; age <= 10; age++ {
			y, d, size := 0.0, 0.0, 0.0
			own, at := make([]float64, len(units)), make([]bool, len(units))
			for j, u := range units {
				if u.entry < age && age <= u.end {
					at[j] = true
					y++
					size += u.size
				}
				for _, a := range u.at {
					if a == age {
						own[j]++
						d++
					}
				}
			}
			if d == 0 {
				continue
			}
			mean += d / size
			variance := 0.0
			for j, u := range units {
				if u.entry < age && age <= u.end {
					part[j] += (own[j] - u.size*d/size) / size
				}
				variance += part[j] * part[j]
			}
			if s := got.Steps[i]; s.Age != age || float64(s.AtRisk) != y || math.Abs(s.Mean-mean) > 1e-12 || math.Abs(s.SE-math.Sqrt(variance)) > 1e-7 {
				t.Fatalf("at %v: got %+v, want %v and %v", age, s, mean, math.Sqrt(variance))
			}
			counts, risk = append(counts, own), append(risk, at)
			switch got, want := got.Steps[i].UnbiasedSE, nelson(counts, risk); {
			case !alike && got != nil:
				t.Fatalf("at %v: %v of units that are not alike", age, *got)
			case alike && got != nil && want != nil && math.Abs(*got-*want) > 1e-7,
				alike && got == nil && want != nil && *want > 1e-7, alike && got != nil && want == nil && *got > 1e-7:
				t.Fatalf("at %v: unbiased error %v, want %v", age, got, want)
			}
			i++
		}
		if i != len(got.Steps) {
			t.Fatalf("%d steps, want %d", len(got.Steps), i)
		}
	})
}

// A time in which all or none wear out to the last digit has a chance with limits, too.
func TestWithinFarTimes(t *testing.T) {
	for _, d := range []Distribution{Weibull, LogNormal, LogLogistic, Exponential} {
		for _, age := range []float64{0, 300} {
			r := mustFit(t, FitInput{Rows: nist(t), Distribution: d, Within: []float64{1e-20, 1e-6, 1e5, 1e7, 1e12}, Profiles: []Profile{{Age: age}}})
			if _, err := json.Marshal(r); err != nil {
				t.Errorf("%s: %v", d, err)
			}
			for _, f := range r.Profiles[0].Within {
				if !(0 <= f.Low && f.Low <= f.Estimate && f.Estimate <= f.High && f.High <= 1 && f.SE >= 0) {
					t.Errorf("%s from %v: %+v", d, age, f)
				}
			}
		}
	}
}

// A life far from all that the rows tell of is refused before no number holds it.
func TestProfilesFarFromTheRows(t *testing.T) {
	for _, d := range []Distribution{Weibull, LogNormal, LogLogistic, Exponential} {
		for _, age := range []float64{-1e300, -1e6, -5e3, 5e3, 1e6, 1e300} {
			for _, from := range []float64{0, 300} {
				r, err := Fit(FitInput{Rows: lung(t, "age", "sex"), Distribution: d, Within: []float64{1, 1000}, Profiles: []Profile{{Age: from, Covariates: map[string]float64{"age": age, "sex": 1}}}})
				if math.Abs(age) >= 1e6 {
					if err == nil || !strings.Contains(err.Error(), "covariates: lie so far") {
						t.Errorf("%s, age %v from %v: %v", d, age, from, err)
					}
					continue
				}
				if err != nil {
					t.Fatal(err)
				}
				if _, err := json.Marshal(r); err != nil {
					t.Errorf("%s, age %v from %v: %v", d, age, from, err)
				}
			}
		}
	}
}

// The chances within a time and their limits.
func TestWithin(t *testing.T) {
	r := mustFit(t, FitInput{Rows: nist(t), Within: []float64{50, 100}, Profiles: []Profile{{Name: "the type", Age: 300}}})
	p := r.Profiles[0]
	for i, f := range p.Within {
		near(t, "chance", f.Estimate, p.Life.ChanceWithin(300, f.Within), 1e-12)
		if !(0 < f.Low && f.Low < f.Estimate && f.Estimate < f.High && f.High < 1 && f.SE > 0) || (i > 0 && f.Estimate <= p.Within[0].Estimate) {
			t.Errorf("%+v", f)
		}
	}
	if !strings.Contains(r.Says, "Half the type are worn out by 490.2") {
		t.Error(r.Says)
	}
}

func TestJSON(t *testing.T) {
	for _, in := range []FitInput{{Rows: nist(t), Within: []float64{5}}, {Rows: []Row{right(5, false)}}, {Rows: simulated(1, 80, LogLogistic, 3, 0.2, 1.2), Distribution: LogLogistic,
		Profiles: []Profile{{Covariates: map[string]float64{"x": 1}}}}} {
		r, err := Fit(in)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(r); err != nil {
			t.Errorf("a result must be JSON: %v", err)
		}
	}
}

func BenchmarkFit(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 6))
	var rows []Row
	for range 10000 {
		x := map[string]float64{"south": float64(rng.IntN(2)), "pitch": 4 + 8*rng.Float64(), "vent": rng.NormFloat64()}
		life := math.Exp(3 - 0.2*x["south"] + 0.01*x["pitch"] + 0.05*x["vent"] + 0.3*math.Log(rng.ExpFloat64()))
		r := right(min(life, 30*rng.Float64()+0.01), false)
		*r.Event = Flag(life == *r.Exit)
		r.Covariates = x
		rows = append(rows, r)
	}
	for b.Loop() {
		if r, err := Fit(FitInput{Rows: rows}); err != nil || !r.Status.Converged {
			b.Fatal(err, r.Status)
		}
	}
}

func BenchmarkFitThroughLag(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 6))
	var rows []Row
	for range 1000 {
		entry, life := 5+20*rng.Float64(), 24*math.Pow(rng.ExpFloat64(), 0.25)
		if replaced := life + 2*rng.ExpFloat64(); replaced > entry {
			r := right(min(replaced, entry+6), replaced < entry+6)
			r.Entry, r.EntryStanding, r.Standing = &entry, true, true
			rows = append(rows, r)
		}
	}
	for b.Loop() {
		if r, err := Fit(FitInput{Rows: rows, LagYears: 2}); err != nil || !r.Status.Converged {
			b.Fatal(err, r.Status)
		}
	}
}

func BenchmarkCurve(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 6))
	var rows []CurveRow
	for range 100000 {
		entry := 20 * rng.Float64()
		rows = append(rows, CurveRow{Entry: &entry, Exit: entry + 10*rng.Float64() + 0.01, Event: ptr(Flag(rng.IntN(2) == 0))})
	}
	for b.Loop() {
		if _, err := Curve(CurveInput{Rows: rows}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEvents(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 6))
	var rows []EventRow
	for i := range 10000 {
		end := 1 + 20*rng.Float64()
		rows = append(rows, EventRow{Unit: fmt.Sprint(i), Age: end, Event: ptr(Flag(false))})
		for range rng.IntN(4) {
			rows = append(rows, EventRow{Unit: fmt.Sprint(i), Age: end * (1 - rng.Float64()), Event: ptr(Flag(true))})
		}
	}
	for b.Loop() {
		if _, err := Events(EventsInput{Rows: rows}); err != nil {
			b.Fatal(err)
		}
	}
}
