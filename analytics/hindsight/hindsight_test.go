package hindsight

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"pgregory.net/rapid"

	"overhang/analytics/wear"
)

// The knots at which estimates are kept.
var knots = []float64{0.01, 0.025, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.975, 0.99}

func quantilesOf(at func(p float64) float64) (out []Quantile) {
	for _, p := range knots {
		out = append(out, Quantile{p, at(p)})
	}
	return out
}

func weibull(shape, scale float64) func(p float64) float64 {
	return func(p float64) float64 { return scale * math.Pow(-math.Log1p(-p), 1/shape) }
}

func logNormal(mean, sd float64) func(p float64) float64 {
	return func(p float64) float64 { return math.Exp(mean + sd*mathext.NormalQuantile(p)) }
}

func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// exactly is a covering that wore out at an age.
func exactly(T float64) Seen {
	return Seen{ServiceableAgeYears: new(T - 1e-6), WornAgeYears: new(T + 1e-6)}
}

// The score of log-normal and Weibull distributions in closed form: E|X − y| less
// half of E|X − X'| (Gneiting and Raftery 2007, JASA 102, equation 21; the
// log-normal one is Baran and Lerch's of 2015, from memory).
func TestScoreAgainstClosedForms(t *testing.T) {
	const mean, sd = 3.0, 0.25
	for _, y := range []float64{8, 15, 20, 26, 40} {
		in := Input{Cases: []Case{{Roof: "a", AgeYears: 5, Quantiles: quantilesOf(logNormal(mean, sd)), TableAgeYears: new(23.0), Seen: exactly(y)}}}
		r, err := Check(in)
		if err != nil {
			t.Fatal(err)
		}
		w := (math.Log(y) - mean) / sd
		want := y*(2*normal(w)-1) - 2*math.Exp(mean+sd*sd/2)*(normal(w-sd)+normal(sd/math.Sqrt2)-1)
		near(t, fmt.Sprintf("log-normal at %v", y), r.Lives.Score.Value, want, 2e-3)
		near(t, fmt.Sprintf("a point at %v", y), r.Lives.Rivals[0].Theirs, math.Abs(23-y), 0.051) // a step of a tenth of a year

		const shape, scale = 4.0, 22.0
		in.Cases[0].Quantiles = quantilesOf(weibull(shape, scale))
		if r, err = Check(in); err != nil {
			t.Fatal(err)
		}
		mu := scale * math.Gamma(1+1/shape)
		F := -math.Expm1(-math.Pow(y/scale, shape))
		want = y*(2*F-1) + mu - 2*mu*mathext.GammaIncReg(1+1/shape, math.Pow(y/scale, shape)) - mu*(1-math.Pow(2, -1/shape))
		near(t, fmt.Sprintf("Weibull at %v", y), r.Lives.Score.Value, want, 0.02) // the pieces between quantiles are log-normal
	}
}

// The normal score (Gneiting and Raftery 2007, equation 5 of section 4.2):
// σ(z(2Φ(z) − 1) + 2φ(z) − 1/√π), for a rating foretold far from the ends.
func TestRatingScoreAgainstTheNormal(t *testing.T) {
	even, err := wear.ScaleOf(1)
	if err != nil {
		t.Fatal(err)
	}
	f := ratings(point(20), 14, 6, 1, nil, curveOf{20, 1.5, 0, 0.5, even})
	m := 100 - 80*math.Pow(0.7, 1.5)
	near(t, "mean", f.mean, m, 1e-3)
	for _, y := range []float64{35, 50, 53, 60.5, 75} {
		z := (y - m) / 6
		want := 6 * (z*(2*normal(z)-1) + 2*math.Exp(-z*z/2)/math.Sqrt(2*math.Pi) - 1/math.Sqrt(math.Pi))
		near(t, fmt.Sprint("score at ", y), f.score(y), want, 0.02)
		low, high := f.share(y)
		near(t, fmt.Sprint("share at ", y), low, normal(z), 1e-9)
		near(t, "width", high-low, 0, 0)
	}
	// At an end of the scale the whole stretch beyond it is foretold alike.
	if low, high := f.share(0); low != 0 || high <= 0 {
		t.Errorf("a rating of nought was foretold from %v to %v", low, high)
	}
}

// With exact and right-censored chances the self-consistent estimate is Kaplan
// and Meier's (Efron 1967), here worked out by hand: events at 0.0625, 0.3125 and
// 0.5625, lost at 0.25 (two) and 0.5: 5/6 · 2/3 · 0.
func TestCurveIsKaplanMeier(t *testing.T) {
	event := func(v float64) place { return place{stretches: []stretch{stretch{v, v}.wide()}} }
	lost := func(v float64) place { return place{stretches: []stretch{{v, 1}}} }
	d := even()
	d.settle([]place{event(0.0625), lost(0.25), lost(0.25), event(0.3125), lost(0.5), event(0.5625)}, []float64{1}, 5000, 1e-12)
	c := d.cumulative()
	near(t, "at 0.2", c[8], 1.0/6, 1e-6)
	near(t, "at 0.45", c[18], 1-5.0/6*2/3, 1e-6)
	near(t, "at 0.6", c[24], 1, 1e-6)
}

// known is how the invented company is made.
type company struct {
	roofs  int
	seed   uint64
	shift  float64 // the estimates' T over the true one
	narrow float64 // the estimates' spread over the true one
	lag    float64
	looks  bool // else only ends and standing are seen
}

// made invents roofs whose T is log-normal around a middle that the estimate
// knows; each is estimated at up to three ages, lies on for a lag after it wears
// out, and is watched for some years.
func (c company) made() (out []Case) {
	const table, all, own = 3.0, 0.3, 0.18
	dice := rand.New(rand.NewPCG(c.seed, 11))
	for roof := 0; len(out) < c.roofs*2; roof++ {
		knownMean := table + math.Sqrt(all*all-own*own)*dice.NormFloat64()
		T := math.Exp(knownMean + own*dice.NormFloat64())
		ends := T + c.lag*dice.ExpFloat64()
		begin := 4 + 16*dice.Float64()
		until := begin + 6 + 18*dice.Float64()
		method := []string{"walked", "street"}[dice.IntN(2)]
		for k := range 3 {
			age := begin + 2*float64(k)
			if ends < age || age >= until {
				break
			}
			// Given standing at the age: T is weighed by the chance to lie on.
			at := func(mean, sd float64) func(float64) float64 { return standing(mean, sd, age, c.lag) }
			x := Case{Roof: fmt.Sprint(roof), AgeYears: age, Method: method, Covering: "asphalt_strip", Readings: k,
				AgeOnly: quantilesOf(at(table, all)), TableAgeYears: new(math.Exp(table))}
			x.Quantiles = quantilesOf(at(knownMean+math.Log(c.shift), own*c.narrow))
			rate := func(age float64) float64 {
				return min(max(100-80*math.Pow(age/T, 1.5)+8*dice.NormFloat64(), 0), 100)
			}
			x.LastRating, x.LastRatingAgeYears = new(rate(age)), &age
			seen := min(until, ends)
			if look := age + 1 + dice.Float64(); look < seen {
				x.Next = &Next{AgeYears: look, Rating: rate(look), ErrorPoints: new(8.0), Method: "walked", By: "A. Person"}
			}
			if c.looks {
				// Looked at each year without error.
				for look := age; look <= until; look++ {
					if look < T {
						x.Seen.ServiceableAgeYears = new(look)
					} else if look <= ends {
						x.Seen.WornAgeYears = new(look)
						break
					}
				}
			}
			switch {
			case ends < until:
				x.Seen.EndedAgeYears, x.Seen.EndedFor = &ends, "wear"
			default:
				x.Seen.StandsAgeYears = &until
			}
			out = append(out, x)
		}
	}
	return out
}

// standing gives the quantiles of a log-normal T given that the covering lies at
// an age, by adding up.
func standing(mean, sd, age, lag float64) func(p float64) float64 {
	const n = 600
	var T, sum [n]float64
	total := 0.0
	for i := range n {
		z := -6 + 12*(float64(i)+0.5)/n
		T[i] = math.Exp(mean + sd*z)
		w := math.Exp(-z * z / 2)
		if T[i] < age {
			if lag == 0 {
				w = 0
			} else {
				w *= math.Exp(-(age - T[i]) / lag)
			}
		}
		total += w
		sum[i] = total
	}
	return func(p float64) float64 {
		for i := range n {
			if sum[i] >= p*total {
				before := 0.0
				low := math.Exp(mean - 6*sd)
				if i > 0 {
					before, low = sum[i-1], T[i-1]
				}
				return low + (T[i]-low)*(p*total-before)/(sum[i]-before)
			}
		}
		return T[n-1]
	}
}

func check(t *testing.T, c company) Result {
	t.Helper()
	r, err := Check(Input{Cases: c.made(), ReplacementLagYears: &c.lag, GrossShare: new(0.0)})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Right estimates are not refuted, though only part of the lives is seen, and
// their 80 % range holds; rivals that know less lose. Of 16 verdicts more than four
// are wrong once in a thousand times at a true rate of 5 in 100.
func TestRightEstimatesAreNotRefuted(t *testing.T) {
	for _, looks := range []bool{false, true} {
		wrong, covered, seen, ratio := 0, 0.0, 0.0, 0.0
		const companies = 8
		gain := map[string]float64{}
		for seed := range uint64(companies) {
			r := check(t, company{roofs: 150, seed: seed, shift: 1, narrow: 1, lag: 2, looks: looks})
			if r.Lives.Verdict != NotRefuted {
				wrong++
			}
			if s := r.Lives.Within.Share; s != nil {
				covered, seen = covered+s.Value, seen+1
			}
			ratio += r.Lives.Ratio.Value / companies
			for _, v := range r.Lives.Rivals {
				gain["years, "+v.Rival] += v.Difference.Value / companies
			}
			if r.Readings.Verdict != NotRefuted {
				wrong++
			}
			for _, v := range r.Readings.Rivals {
				gain["points, "+v.Rival] += v.Difference.Value / companies
			}
		}
		for rival, by := range gain {
			if !(by > 0) {
				t.Errorf("looks %v: the rival in %s wins by %v", looks, rival, -by)
			}
		}
		if len(gain) != 2*len(rivalNames) {
			t.Errorf("only %v were compared", gain)
		}
		if wrong > 4 {
			t.Errorf("looks %v: %d of %d right estimates were refuted", looks, wrong, 2*companies)
		}
		covered /= seen
		// Where only ends are seen the lag is taken back out of them, which leaves
		// the curve rougher.
		slack := 0.07
		if looks {
			slack = 0.03
		}
		near(t, "covered", covered, 0.8, slack)
		near(t, "ratio", ratio, 1, 0.06)
		t.Logf("looks %v: refuted %d of %d, covered %.3f, worn out over foretold %.3f, better by %v", looks, wrong, 2*companies, covered, ratio, gain)
	}
}

func TestWrongEstimatesAreFoundOut(t *testing.T) {
	for _, c := range []struct {
		company
		want Verdict
	}{
		{company{roofs: 200, shift: 1, narrow: 0.5, lag: 2, looks: true}, TooSure},
		{company{roofs: 200, shift: 1, narrow: 1.8, lag: 2, looks: true}, TooUnsure},
		{company{roofs: 200, shift: 1.2, narrow: 1, lag: 2, looks: true}, TooLate},
		{company{roofs: 200, shift: 0.82, narrow: 1, lag: 2, looks: true}, TooEarly},
		{company{roofs: 200, shift: 1.3, narrow: 1, lag: 2}, TooLate},
	} {
		r := check(t, c.company)
		if r.Lives.Verdict != c.want {
			t.Errorf("%+v is judged %s, not %s: furthest %.3f, allowed %.3f, within %+v", c.company, r.Lives.Verdict, c.want, r.Curve.Furthest, r.Curve.Allowed, r.Lives.Within.Share)
		}
		right := check(t, company{roofs: c.roofs, seed: c.seed, shift: 1, narrow: 1, lag: c.lag, looks: c.looks})
		if !(r.Lives.Score.Value > right.Lives.Score.Value) {
			t.Errorf("%+v scores %v, the truth %v", c.company, r.Lives.Score.Value, right.Lives.Score.Value)
		}
	}
}

// Weights make good what was not seen: the score of half-watched lives is that of
// the same lives watched to their end, cut at the same horizon.
func TestWeightedScoreIsTheFullOne(t *testing.T) {
	dice := rand.New(rand.NewPCG(5, 5))
	var half, whole []taken
	q := quantilesOf(weibull(4, 22))
	f, _ := through("q", q)
	for i := range 4000 {
		T := weibull(4, 22)(dice.Float64())
		lost := 30 * dice.Float64()
		c := taken{Case: &Case{}, roof: i, ours: f, proxy: T, worn: true}
		whole = append(whole, c)
		if lost < T {
			c.proxy, c.worn = lost, false
		}
		half = append(half, c)
	}
	w := watchedFor(half)
	full := w
	full.weight = make([]float64, len(w.weight))
	for i := range full.weight {
		full.weight[i] = 1
	}
	seen, true_ := 0.0, 0.0
	for i := range half {
		seen += w.score(&half[i]).ours / 4000
		true_ += full.score(&whole[i]).ours / 4000
	}
	near(t, "weighted score", seen, true_, 0.06*true_)
	if w.horizon < 15 {
		t.Errorf("the horizon is %v", w.horizon)
	}
}

func TestSmallSamplesSaySo(t *testing.T) {
	r := check(t, company{roofs: 4, seed: 3, shift: 1, narrow: 1, lag: 2})
	if r.Lives.Verdict != TooFew || r.Lives.Score.Low != nil || r.Lives.Note == "" {
		t.Errorf("a handful of roofs is judged: %+v", r.Lives)
	}
	if !strings.Contains(strings.Join(r.Says, " "), "too few") {
		t.Errorf("it does not say so: %q", r.Says)
	}
	if c := r.ReadingsCurve; c == nil || r.Readings.Roofs >= fewWatched || c.SeenTo != 0 {
		t.Errorf("a curve is drawn of the readings of a handful of roofs: %+v", c)
	}
}

// Next readings are told apart by whether whoever read had seen the estimate, and not
// by whether the one before had: those that were led lie nearer to what was foretold.
func TestReadingsThatWereLedAreToldApart(t *testing.T) {
	cases := company{roofs: 80, seed: 4, shift: 1, narrow: 1, lag: 2}.made()
	led, by := map[string]int{}, []string{SeenBefore, NotSeen, ""}
	for i := range cases {
		c := &cases[i]
		c.Estimate = by[i%2]
		if c.Next == nil {
			continue
		}
		c.Next.Estimate = by[i%3]
		led[c.Next.Estimate]++
		if c.Next.Estimate == SeenBefore { // nine tenths of the way to the number
			foretold := 100 - 80*math.Pow(c.Next.AgeYears/c.Quantiles[len(c.Quantiles)/2].AgeYears, 1.5)
			c.Next.Rating = max(foretold+(c.Next.Rating-foretold)/10, 0)
		}
	}
	r, err := Check(Input{Cases: cases, ReplacementLagYears: new(2.0), GrossShare: new(0.0)})
	if err != nil {
		t.Fatal(err)
	}
	score := map[string]float64{}
	for _, s := range r.Splits {
		if s.By != "estimate" {
			continue
		}
		for _, g := range s.Groups {
			if g.Readings == nil || g.Readings.Cases != led[g.Name] {
				t.Errorf("%q: %+v, want %d readings", g.Name, g.Readings, led[g.Name])
				continue
			}
			score[g.Name] = g.Readings.Score.Value
		}
	}
	if len(score) != 3 || score[SeenBefore] > 0.7*score[NotSeen] {
		t.Errorf("the scores are %v", score)
	}
}

// A range by roofs is wider than one that takes the estimates of a roof for
// independent: here each roof is there four times over.
func TestEstimatesOfARoofHangTogether(t *testing.T) {
	var values []float64
	var roofs, apart []int
	dice := rand.New(rand.NewPCG(9, 9))
	for roof := range 50 {
		v := dice.NormFloat64()
		for range 4 {
			values, roofs, apart = append(values, v), append(roofs, roof), append(apart, len(apart))
		}
	}
	near(t, "ratio of errors", *byRoof(values, roofs).SE / *byRoof(values, apart).SE, 2, 0.03)
}

func TestRefused(t *testing.T) {
	good := func() Input {
		return Input{Cases: []Case{{Roof: "a", AgeYears: 10, Quantiles: []Quantile{{0.1, 12}, {0.9, 30}}, Seen: Seen{StandsAgeYears: new(12.0)}}}}
	}
	if _, err := Check(good()); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		change func(*Input)
		says   string
	}{
		{func(in *Input) { in.Cases = nil }, "cases: give 1"},
		{func(in *Input) { in.ReplacementLagYears = new(math.NaN()) }, "replacement_lag_years: must lie"},
		{func(in *Input) { in.Cases[0].Roof = "" }, "cases[0].roof: is needed"},
		{func(in *Input) { in.Cases[0].AgeYears = math.NaN() }, "cases[0].age_years"},
		{func(in *Input) { in.Cases[0].Quantiles = in.Cases[0].Quantiles[:1] }, "cases[0].quantiles: give at least two"},
		{func(in *Input) { in.Cases[0].Quantiles[1].AgeYears = 11 }, "ages must rise with p"},
		{func(in *Input) { in.Cases[0].Quantiles[1].P = 1 }, "quantiles.p: must lie"},
		{func(in *Input) { in.Cases[0].Quantiles[1].AgeYears = math.Inf(1) }, "quantiles.age_years"},
		{func(in *Input) { in.Cases[0].LastRating = new(50.0) }, "last_rating: goes with"},
		{func(in *Input) { in.Cases[0].Next = &Next{AgeYears: 9, Rating: 50} }, "next_reading.age_years: must lie"},
		{func(in *Input) { in.Cases[0].Next = &Next{AgeYears: 11, Rating: 150} }, "next_reading.rating"},
		{func(in *Input) { in.Cases[0].Seen = Seen{} }, "seen.stands_at_age_years: say how far"},
		{func(in *Input) { in.Cases[0].Seen.EndedAgeYears = new(12.0) }, "goes without"},
		{func(in *Input) { in.Cases[0].Seen = Seen{EndedAgeYears: new(12.0), EndedFor: "boredom"} }, "ended_for: must be wear"},
		{func(in *Input) { in.Cases[0].Seen.EndedFor = "wear" }, "ended_for: goes with"},
		{func(in *Input) { in.Cases[0].Seen = Seen{ServiceableAgeYears: new(12.0), WornAgeYears: new(12.0)} }, "worn_at_age_years: must come after"},
	} {
		in := good()
		c.change(&in)
		if _, err := Check(in); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("got %v, want %q", err, c.says)
		}
	}
}

// Whatever was seen, the figures are finite, the curve rises from 0, groups add
// up and the order of the cases does not matter to the scores.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in Input
		age := rapid.Float64Range(0, 120)
		for i := range rapid.IntRange(1, 30).Draw(t, "cases") {
			a := age.Draw(t, "age")
			c := Case{Roof: fmt.Sprint(rapid.IntRange(0, 12).Draw(t, "roof")), AgeYears: a, Readings: i % 5, Covering: fmt.Sprint(i % 3)}
			mid, spread := rapid.Float64Range(1, 100).Draw(t, "middle"), rapid.Float64Range(1.01, 3).Draw(t, "spread")
			c.Quantiles = []Quantile{{0.1, mid / spread}, {0.5, mid}, {0.9, mid * spread}}
			later := rapid.Float64Range(0, 40)
			switch rapid.IntRange(0, 4).Draw(t, "seen") {
			case 0:
				c.Seen.StandsAgeYears = new(a + later.Draw(t, "later"))
			case 1:
				c.Seen.EndedAgeYears, c.Seen.EndedFor = new(a+later.Draw(t, "later")), rapid.SampledFrom([]string{"", "wear", "other"}).Draw(t, "for")
			case 2:
				c.Seen.WornAgeYears = new(a + 0.1 + later.Draw(t, "later"))
			case 3:
				c.Seen.ServiceableAgeYears = new(a + later.Draw(t, "later"))
			default:
				c.Seen.ServiceableAgeYears = new(a)
				c.Seen.WornAgeYears = new(a + 0.1 + later.Draw(t, "later"))
			}
			if rapid.Bool().Draw(t, "next") {
				c.Next = &Next{AgeYears: a + later.Draw(t, "next later"), Rating: rapid.Float64Range(0, 100).Draw(t, "rating")}
			}
			if rapid.Bool().Draw(t, "rivals") {
				c.TableAgeYears, c.LastRating, c.LastRatingAgeYears = new(20.0), new(rapid.Float64Range(0, 100).Draw(t, "last")), &a
				c.AgeOnly = c.Quantiles
			}
			in.Cases = append(in.Cases, c)
		}
		r, err := Check(in)
		if err != nil {
			t.Fatal(err)
		}
		finite(t, "result", reflect.ValueOf(r))
		last := 0.0
		for _, p := range r.Curve.Points {
			if p.Seen < last-1e-9 || p.Seen > 1+1e-9 {
				t.Fatalf("the curve goes %v", r.Curve.Points)
			}
			last = p.Seen
		}
		for _, s := range r.Splits {
			cases, worn := 0, 0
			for _, g := range s.Groups {
				if g.Lives != nil {
					cases, worn = cases+g.Lives.Cases, worn+g.Lives.WornOut
				}
			}
			if cases != r.Lives.Cases || worn != r.Lives.WornOut {
				t.Fatalf("groups by %s add up to %d and %d, not %d and %d", s.By, cases, worn, r.Lives.Cases, r.Lives.WornOut)
			}
		}
		if r.Lives.Score.Value < 0 {
			t.Fatalf("the score is %v", r.Lives.Score.Value)
		}
		turned := Input{}
		for i := range in.Cases {
			turned.Cases = append(turned.Cases, in.Cases[len(in.Cases)-1-i])
		}
		again, err := Check(turned)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(again.Lives.Score.Value-r.Lives.Score.Value) > 1e-9*(1+r.Lives.Score.Value) || math.Abs(again.Lives.Foretold-r.Lives.Foretold) > 1e-9 {
			t.Fatalf("turned about it scores %v, not %v", again.Lives.Score.Value, r.Lives.Score.Value)
		}
	})
}

// finite goes through a value and finds what is not a number.
func finite(t interface{ Fatalf(string, ...any) }, path string, v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			t.Fatalf("%s is %v", path, f)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			finite(t, path, v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			finite(t, fmt.Sprintf("%s[%d]", path, i), v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			finite(t, path+"."+v.Type().Field(i).Name, v.Field(i))
		}
	}
}

// A company of 1,000 roofs with some three estimates each.
func BenchmarkCheck(b *testing.B) {
	in := Input{Cases: company{roofs: 1000, seed: 1, shift: 1, narrow: 1, lag: 2, looks: true}.made()}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Check(in); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(in.Cases)), "ns/case")
}

// Roofs so new that most of their readings are 100, foretold by what made them: the
// forecasts are not refuted, and the range holds four in five.
func TestReadingsAtTheEndOfTheScale(t *testing.T) {
	dice := rand.New(rand.NewPCG(31, 1))
	scale, err := wear.ScaleOf(wear.UsualNearNewShare)
	if err != nil {
		t.Fatal(err)
	}
	made := func(eye float64) Input {
		var in Input
		cut := 0
		for roof := range 900 {
			middle, age := 22*math.Exp(0.1*dice.NormFloat64()), 1+4*dice.Float64()
			at := func(p float64) float64 { return middle * math.Exp(0.25*mathext.NormalQuantile(p)) }
			fallen := scale.Stretched(80 * math.Pow(age/at(dice.Float64()), UsualPower))
			rating := 100 - scale.Fall(min(max(fallen-10*(eye+dice.NormFloat64()), 0), scale.Most))
			if rating == 100 {
				cut++
			}
			in.Cases = append(in.Cases, Case{Roof: fmt.Sprint(roof), AgeYears: age, Quantiles: quantilesOf(at), Seen: Seen{StandsAgeYears: &age},
				Next: &Next{AgeYears: age, Rating: rating}})
		}
		if cut < 150 {
			t.Fatalf("only %d of 900 readings are 100", cut)
		}
		in.GrossShare = new(0.0)
		return in
	}
	r, err := Check(made(0))
	if err != nil {
		t.Fatal(err)
	}
	if r.Readings.Verdict != NotRefuted {
		t.Errorf("right forecasts are called %s: furthest %.3f, allowed %.3f", r.Readings.Verdict, r.ReadingsCurve.Furthest, r.ReadingsCurve.Allowed)
	}
	if share := r.Readings.Within.Share; share == nil || math.Abs(share.Value-0.8) > 0.04 {
		t.Errorf("the range holds %+v of them", share)
	}
	if off := r.Readings.Error; *off.Low > 0 || *off.High < 0 {
		t.Errorf("right forecasts are off by %+v", off)
	}
	// Ranges that are too wide by far, and readings that lean: the lean is what is said.
	unsure := made(0.4)
	for i := range unsure.Cases {
		unsure.Cases[i].Next.ErrorPoints = new(25.0)
	}
	if r, err = Check(unsure); err != nil || r.Readings.Verdict != TooEarly || r.Readings.Within.Share.Value < 0.85 {
		t.Errorf("a lean within ranges that are too wide: %s, %+v, %v", r.Readings.Verdict, r.Readings.Within.Share, err)
	}
	// An eye that sees half an error less than there is.
	if r, err = Check(made(0.5)); err != nil || r.Readings.Verdict != TooEarly {
		t.Errorf("readings half an error higher than foretold: %s, %v", r.Readings.Verdict, err)
	}
}

// What is foretold of the next reading by its definition: what an eye shares is
// integrated over, as the readings that the estimate was made from leave it in doubt.
func TestForecastByDefinition(t *testing.T) {
	for _, c := range []struct {
		name          string
		gross, shared float64
		nearNew       float64
		before        []Earlier
		shown         float64
	}{
		{"nothing read before", 0.1, 0.5, 0.5, nil, 1},
		{"a look that shows half", 0.1, 0.5, 0.5, []Earlier{{AgeYears: 10, Rating: 85, ErrorPoints: new(8.0)}}, 0.5},
		{"after one that showed a fifth", 0, 0.5, 0.5, []Earlier{{AgeYears: 10, Rating: 97, ErrorPoints: new(8.0), ShownShare: new(0.2)}}, 1},
		{"a sunny eye", 0, 0.5, 0.5, []Earlier{{AgeYears: 10, Rating: 85, ErrorPoints: new(8.0)}}, 1},
		{"a gloomy eye", 0, 0.9, 1, []Earlier{{AgeYears: 10, Rating: 50, ErrorPoints: new(8.0)}, {AgeYears: 12, Rating: 40}}, 1},
		{"near new", 0, 0.5, 0.25, []Earlier{{AgeYears: 2, Rating: 99, ErrorPoints: new(6.0)}, {AgeYears: 4, Rating: 88, ErrorPoints: new(6.0)}}, 1},
		{"one of them likely gross", 0.2, 0.5, 0.25, []Earlier{{AgeYears: 2, Rating: 97, ErrorPoints: new(6.0)}, {AgeYears: 4, Rating: 40, ErrorPoints: new(6.0)}}, 1},
		{"hardly to tell", 0.5, 0.5, 0.1, []Earlier{{AgeYears: 6, Rating: 66}}, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			const T, age, sd = 22.0, 14.0, 9.0
			scale, err := wear.ScaleOf(c.nearNew)
			if err != nil {
				t.Fatal(err)
			}
			place := func(age, shown float64) float64 { return scale.Stretched(shown * 80 * math.Pow(age/T, 1.5)) }
			below := [...]float64{20, 45, 60, 75, 95, 99}
			var weight, mean, square float64
			var chance [len(below)]float64
			const points = 4000
			for i := range points { // u is how far up the eye reads, in deviations of what it shares
				u := -9 + 18*(float64(i)+0.5)/points
				w := math.Exp(-u * u / 2)
				for _, b := range c.before {
					off := or(b.ErrorPoints, 10)
					own := off * math.Sqrt(1-c.shared)
					z := (scale.Stretched(100-b.Rating) - place(b.AgeYears, or(b.ShownShare, 1)) + u*off*math.Sqrt(c.shared)) / own
					w *= (1-c.gross)*math.Exp(-z*z/2)/(own*math.Sqrt(2*math.Pi)) + c.gross/scale.Most
				}
				weight, mean, square = weight+w, mean+w*u, square+w*u*u
				for k, r := range below {
					z := (scale.Stretched(100-r) - place(age, c.shown) + u*sd*math.Sqrt(c.shared)) / (sd * math.Sqrt(1-c.shared))
					chance[k] += w * ((1-c.gross)*math.Erfc(z/math.Sqrt2)/2 + c.gross*(1-scale.Stretched(100-r)/scale.Most))
				}
			}
			mean /= weight
			of := curveOf{20, 1.5, c.gross, c.shared, scale}
			gotMean, gotVariance := of.eye(c.before, T)
			near(t, "what the eye shares", gotMean, mean, 1e-7)
			near(t, "its variance", gotVariance, square/weight-mean*mean, 1e-7)
			within := 1e-7
			if c.gross > 0 && len(c.before) > 0 {
				within = 0.01 // that it is two or more normals, one for each set of those that are gross, is left out
			}
			f := ratings(point(T), age, sd, c.shown, c.before, of)
			for k, r := range below {
				near(t, fmt.Sprint("the chance of less than ", r), f.uncut(r), chance[k]/weight, within)
			}
		})
	}
}

// Readings that are all 100, one for each of so many roofs, each foretold with another
// chance: every one is spread evenly over its own lump, by the definition, and none is
// heaped where the lumps overlap.
func TestLumpsAreSpreadEvenly(t *testing.T) {
	for _, nearNew := range []float64{0.25, 1} {
		in := Input{GrossShare: new(0.0), NearNewShare: &nearNew}
		scale, err := wear.ScaleOf(nearNew)
		if err != nil {
			t.Fatal(err)
		}
		const roofs = 12
		var lows [roofs]float64 // the chances that were foretold for less than 100
		for roof := range roofs {
			age := 1 + float64(roof)/2
			sure := func(p float64) float64 { return 20 * math.Exp(1e-6*mathext.NormalQuantile(p)) }
			in.Cases = append(in.Cases, Case{Roof: fmt.Sprint(roof), Quantiles: quantilesOf(sure), Seen: Seen{StandsAgeYears: &age}, Next: &Next{AgeYears: age, Rating: 100}})
			lows[roof] = math.Erfc(-scale.Stretched(80*math.Pow(age/20, 1.5))/10/math.Sqrt2) / 2
		}
		r, err := Check(in)
		if err != nil {
			t.Fatal(err)
		}
		for i, low := range lows {
			near(t, "the middle of the lump", *r.Rows[i].Next, (low+1)/2, 1e-5)
		}
		for _, p := range r.ReadingsCurve.Points {
			want := 0.0
			for _, low := range lows {
				want += max(p.Foretold-low, 0) / (1 - low) / roofs
			}
			near(t, fmt.Sprintf("seen at %v", p.Foretold), p.Seen, want, 5e-3) // within a step all are taken alike
		}
	}
}
