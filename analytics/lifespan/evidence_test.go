package lifespan

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func first(sum []float64, _ []int32) []float64 { return sum }

func TestExpo(t *testing.T) {
	for x := -699.9; x < 600; x += 0.0371 {
		near(t, fmt.Sprint("e^", x), expo(x), math.Exp(x), 1e-14)
	}
	if expo(-701) != 0 || expo(math.Inf(-1)) != 0 || expo(0) != 1 {
		t.Errorf("ends: %v %v %v", expo(-701), expo(math.Inf(-1)), expo(0))
	}
}

// A reading of what was new at the look tells nothing of T, whatever it says.
func TestReadingOfTheNew(t *testing.T) {
	without := estimate(t, Input{AgeYears: v(12)})
	for _, rating := range []float64{100, 97, 40} {
		for _, nearNew := range []float64{0.5, 1} {
			r := estimate(t, Input{AgeYears: v(12), NearNewShare: &nearNew, Readings: []Reading{{YearsAgo: 12, Rating: rating}}})
			for i, q := range r.AgeQuantiles {
				near(t, fmt.Sprint("quantile ", q.P), q.AgeYears, without.AgeQuantiles[i].AgeYears, 1e-9)
			}
		}
	}
}

// The likelihood of a few readings of one eye against the model as it is written
// down, integrated over what the eye shares on four thousand points; and the rule
// for many readings against it.
func TestFewReadingsInClosedForm(t *testing.T) {
	dice := rand.New(rand.NewPCG(11, 1))
	for n := 1; n <= fewReadings; n++ {
		in := Input{AgeYears: v(20)}
		for range n {
			in.Readings = append(in.Readings, Reading{YearsAgo: float64(dice.IntN(15)), Rating: 100 * dice.Float64(), ErrorPoints: v(6 + 8*dice.Float64())})
		}
		d, err := in.taken()
		if err != nil {
			t.Fatal(err)
		}
		var few eyeFew
		few.lay(d.readings, 20, &d)
		var slowness, density, rule []float64
		for T := 4.0; T < 70; T *= 1.09 { // from where curves lie on 0
			slowness, density, rule = append(slowness, math.Pow(T, -d.power)), append(density, 1), append(rule, 0)
		}
		few.times(slowness, density)
		var room bench
		room.take(d.readings, 20, &d)
		copy(rule, first(room.together(slowness, 1-d.gross)))
		for j, x := range slowness {
			const points = 4000
			want := 0.0
			for i := range points {
				u := -9 + 18*(float64(i)+0.5)/points
				w := math.Exp(-u*u/2) / math.Sqrt(2*math.Pi) * 18 / points
				for _, r := range d.readings {
					z := (errors.Stretched(min((100-UsualLine)*math.Pow(20-r.yearsAgo, 1.5)*x, 100)) - r.fallen - u*r.shared) / r.sd
					w *= (1-d.gross)*math.Exp(-z*z/2) + grossBeside(d.gross, r.sd)
				}
				want += w
			}
			if n == 1 { // its own error and the shared are one, and its gross share with it
				r := d.readings[0]
				sd := math.Hypot(r.sd, r.shared)
				z := (errors.Stretched(min((100-UsualLine)*math.Pow(20-r.yearsAgo, 1.5)*x, 100)) - r.fallen) / sd
				want = (1-d.gross)*math.Exp(-z*z/2) + grossBeside(d.gross, sd)
			}
			near(t, fmt.Sprintf("%d readings at %d", n, j), density[j], want, 1e-9)
			if n > 1 {
				near(t, fmt.Sprintf("the rule for many, %d readings at %d", n, j), rule[j], want, 2e-4)
			}
		}
	}
}

// With an endless lag T is the Weibull cut to the two looks, a closed form; with
// one, against plain integration.
func TestWornBetween(t *testing.T) {
	prior := Prior{Shape: 4, ScaleYears: 22}
	in := Input{Prior: &prior, AgeYears: v(24), ReplacementLagYears: v(math.Inf(1)), WornBetween: &Span{FromAgeYears: v(15), ToAgeYears: v(22)}}
	r := estimate(t, in)
	at := func(q float64) float64 {
		a, b := 1-prior.Survival(15), 1-prior.Survival(22)
		return prior.Quantile(a + q*(b-a))
	}
	near(t, "low", r.WornOutAge.Low, at(0.1), 1e-7)
	near(t, "middle", r.WornOutAge.Middle, at(0.5), 1e-7)
	near(t, "high", r.WornOutAge.High, at(0.9), 1e-7)
	if r.ChancePast != 1 || r.YearsLeft != (Range{}) || r.MeanYearsLeft != 0 {
		t.Errorf("a covering found worn out has years left: %+v, past %v", r.YearsLeft, r.ChancePast)
	}
	in.WornBetween = &Span{FromYearsAgo: v(9), ToYearsAgo: v(2)}
	if ago := estimate(t, in); ago.WornOutAge != r.WornOutAge {
		t.Errorf("by years ago %+v, by ages %+v", ago.WornOutAge, r.WornOutAge)
	}

	for _, lag := range []float64{0.05, 3} {
		in.ReplacementLagYears = v(lag)
		r := estimate(t, in)
		const n = 200_000
		var zero, one float64
		for i := range n {
			T := 15 + 7*(float64(i)+0.5)/n
			w := prior.Hazard(T) * prior.Survival(T) * math.Exp((T-22)/lag)
			zero, one = zero+w, one+w*T
		}
		near(t, fmt.Sprint("mean with a lag of ", lag), r.WornOutAge.Mean, one/zero, 1e-6)
	}

	// Never looked at before, and found today.
	in.ReplacementLagYears, in.WornBetween = v(math.Inf(1)), &Span{}
	near(t, "found today", estimate(t, in).WornOutAge.Middle, prior.Quantile(0.5*(1-prior.Survival(24))), 1e-6)

	for field, in := range map[string]Input{
		"worn_between: by ages":       {AgeYears: v(20), WornBetween: &Span{FromAgeYears: v(1), ToYearsAgo: v(1)}},
		"worn_between: must end":      {AgeYears: v(20), WornBetween: &Span{FromAgeYears: v(8), ToAgeYears: v(8)}},
		"worn_between.to_age_years":   {AgeYears: v(20), WornBetween: &Span{ToAgeYears: v(21)}},
		"worn_between.from_years_ago": {AgeYears: v(20), WornBetween: &Span{FromYearsAgo: v(math.NaN())}},
		"replacement_lag_years":       {AgeYears: v(20), ReplacementLagYears: v(0), WornBetween: &Span{}},
	} {
		if _, err := Estimate(in); err == nil || !strings.Contains(err.Error(), field) {
			t.Errorf("error %v does not name %s", err, field)
		}
	}
}

func TestRepairs(t *testing.T) {
	base := Input{Material: "asphalt_strip", AgeYears: v(20), ReplacementLagYears: v(2), Readings: []Reading{{YearsAgo: 10, Rating: 78}, {Rating: 62}}}
	with := func(repairs ...Repair) Input { in := base; in.Repairs = repairs; return in }
	// Of a rating of 62 the relaid third was lent: the old part is worse.
	plain, third := estimate(t, base), estimate(t, with(Repair{YearsAgo: 5, Share: 1.0 / 3}))
	if !(third.WornOutAge.Middle < plain.WornOutAge.Middle-0.3) {
		t.Errorf("T %v with a third relaid, %v without", third.WornOutAge.Middle, plain.WornOutAge.Middle)
	}
	// A repair after the last look tells nothing.
	if late := estimate(t, with(Repair{YearsAgo: 0, Share: 0.5})); late.WornOutAge != plain.WornOutAge {
		t.Errorf("a repair of today moves T: %+v", late.WornOutAge)
	}
	// Against the model as it is written down.
	const n = 100_000
	prior, _ := For("asphalt_strip")
	var zero, one float64
	for i := range n {
		T := 2 + 78*(float64(i)+0.5)/n
		w := prior.Hazard(T) * prior.Survival(T) * math.Exp(-max(20-T, 0)/2)
		rating := func(worn float64) float64 { return max(0, 100-(100-UsualLine)*worn/math.Pow(T, 1.5)) }
		// Of one eye: the shared error in the closed form of two normals, gross left out.
		a, b := above(rating(math.Pow(10, 1.5)), 78), above(rating(2.0/3*math.Pow(20, 1.5)+math.Pow(5, 1.5)/3), 62)
		w *= math.Exp(-((a*a+b*b)/50 - (a+b)*(a+b)/50/3) / 2)
		zero, one = zero+w, one+w*T
	}
	pure := with(Repair{YearsAgo: 5, Share: 1.0 / 3})
	pure.GrossShare = v(1e-12)
	near(t, "mean", estimate(t, pure).WornOutAge.Mean, one/zero, 1e-6)

	// All of it relaid is a covering as old as that, and earlier looks were of another.
	whole := estimate(t, with(Repair{YearsAgo: 6, Share: 1}))
	anew := base
	anew.AgeYears, anew.Readings = v(6), base.Readings[1:]
	if got, want := whole.WornOutAge, estimate(t, anew).WornOutAge; got != want {
		t.Errorf("relaid as a whole %+v, laid then %+v", got, want)
	}
	// Two halves: the oldest that lies is that of ten years ago.
	if halves := estimate(t, with(Repair{YearsAgo: 10, Share: 0.5}, Repair{YearsAgo: 4, Share: 0.5})); halves.EarliestAge != 10 || halves.LatestAge != 10 {
		t.Errorf("two halves are %v to %v years old", halves.EarliestAge, halves.LatestAge)
	}
	for field, in := range map[string]Input{
		"repairs[0].share":     with(Repair{YearsAgo: 1, Share: 0}),
		"repairs[0].years_ago": with(Repair{YearsAgo: 21, Share: 0.5}),
		"repairs: at most":     with(make([]Repair, mostRepairs+1)...),
	} {
		if _, err := Estimate(in); err == nil || !strings.Contains(err.Error(), field) {
			t.Errorf("error %v does not name %s", err, field)
		}
	}
}

// A slope that was relaid whole wears at its own age, does not end the roof, and
// outlasts it by what slopes do: against the model as it is written down, in which
// a reading from before it was relaid has no place. One that no reading names moves
// nothing.
func TestRepairsOfASlope(t *testing.T) {
	base := Input{Material: "asphalt_strip", AgeYears: v(20), ReplacementLagYears: v(2), GrossShare: v(1e-12), SharedShare: v(0), Readings: []Reading{
		{Rating: 55, Slope: "south", ErrorPoints: v(8)}, {YearsAgo: 8, Rating: 70, Slope: "north", ErrorPoints: v(8)}, {YearsAgo: 1, Rating: 80, Slope: "north", ErrorPoints: v(8)}}}
	in := base
	in.Repairs = []Repair{{YearsAgo: 6, Share: 1, Slope: "north"}}
	r := estimate(t, in)
	prior, _ := For("asphalt_strip")
	const n = 4000
	const spread = SlopeSpread
	var zero, one float64
	for i := range n {
		T := 4 + 66*(float64(i)+0.5)/n
		w := prior.Hazard(T) * prior.Survival(T) * math.Exp(-max(20-T, 0)/2)
		like := func(rating, worn, T float64) float64 {
			z := above(max(0, 100-(100-UsualLine)*math.Pow(worn/T, UsualPower)), rating) / 8
			return math.Exp(-z * z / 2)
		}
		north := 0.0
		const steps = 200
		for k := range steps {
			delta := 5 * spread * (float64(k) + 0.5) / steps
			longer := T * math.Exp(delta)
			north += math.Exp(-delta*delta/(2*spread*spread)) * like(80, 5, longer)
		}
		w *= like(55, 20, T) * north
		zero, one = zero+w, one+w*T
	}
	near(t, "mean", r.WornOutAge.Mean, one/zero, 2e-3*one/zero)
	if len(r.Slopes) != 2 || r.Slopes[0].ChanceWorst != 0 || r.WorstSlope != "south" {
		t.Errorf("the roof may end with the slope that was relaid: %+v", r.Slopes)
	}
	elsewhere := base
	elsewhere.Repairs = []Repair{{YearsAgo: 6, Share: 1, Slope: "porch"}}
	if got, want := estimate(t, elsewhere).WornOutAge, estimate(t, base).WornOutAge; got != want {
		t.Errorf("a slope that nobody read moves T: %+v, without %+v", got, want)
	}
	// Half of it relaid: the rest is as old as the roof, which may end there.
	in.Repairs[0].Share = 0.5
	if half := estimate(t, in); half.Slopes[0].ChanceWorst <= 0 {
		t.Errorf("half relaid: %+v", half.Slopes)
	}
	// The rest of it relaid before: nothing lies that the old reading saw.
	in.Repairs = []Repair{{YearsAgo: 7, Share: 0.5, Slope: "north"}, {YearsAgo: 6, Share: 0.5}}
	old, without := estimate(t, in), in
	without.Readings = []Reading{base.Readings[0], base.Readings[2]}
	if want := estimate(t, without); old.WornOutAge != want.WornOutAge || len(old.Slopes) != 2 {
		t.Errorf("what lies there no more moves T: %+v, without %+v", old.WornOutAge, want.WornOutAge)
	}
	if fan, err := Fan(in, []float64{20}); err != nil || len(fan.Readings) != 2 {
		t.Errorf("the fan shows what lies there no more: %+v, %v", fan.Readings, err)
	}
	// On the day on which it was relaid a look saw what was there before.
	in.Repairs = []Repair{{YearsAgo: 1, Share: 1, Slope: "north"}}
	without.Readings, without.Repairs = base.Readings[:1], in.Repairs
	if got, want := estimate(t, in), estimate(t, without); got.WornOutAge != want.WornOutAge || got.Slopes != nil {
		t.Errorf("read before it was relaid: %+v, without %+v", got, want)
	}
	// All that were read relaid: some slope is still the one that it ends with.
	in.Repairs = []Repair{{YearsAgo: 6, Share: 1, Slope: "north"}, {YearsAgo: 6, Share: 1, Slope: "south"}}
	if all := estimate(t, in); math.Abs(all.Slopes[0].ChanceWorst+all.Slopes[1].ChanceWorst-1) > 1e-9 {
		t.Errorf("both relaid: %+v", all.Slopes)
	}
}

// The more was relaid the better the rating that is foretold, at every age after.
func TestMoreRelaidNeverLowersTheRating(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := Input{Material: "asphalt_laminated", AgeYears: v(24), Repairs: []Repair{
			{YearsAgo: rapid.Float64Range(0, 24).Draw(t, "first"), Share: rapid.Float64Range(0.01, 0.6).Draw(t, "share")},
			{YearsAgo: rapid.Float64Range(0, 24).Draw(t, "second"), Share: rapid.Float64Range(0.01, 0.3).Draw(t, "other")}}}
		more := in
		more.Repairs = []Repair{in.Repairs[0], in.Repairs[1]}
		more.Repairs[rapid.IntRange(0, 1).Draw(t, "of")].Share += rapid.Float64Range(0, 0.09).Draw(t, "more")
		ages := []float64{1, 8, 16, 24, 30, 40}
		a, err := Fan(in, ages)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Fan(more, ages)
		if err != nil {
			t.Fatal(err)
		}
		for i := range ages {
			if b.Ages[i].Middle < a.Ages[i].Middle-1e-9 || b.Ages[i].Low < a.Ages[i].Low-1e-9 {
				t.Fatalf("%+v, with more relaid %+v", a.Ages[i], b.Ages[i])
			}
		}
	})
}

// Two slopes read by one eye, against integration of the model as it is written
// down over T, over how much longer the better slope lasts and what the eye shares.
func TestSlopesAgainstPlainIntegration(t *testing.T) {
	in := Input{Material: "asphalt_laminated", AgeYears: v(21), ReplacementLagYears: v(2), Readings: []Reading{
		{Slope: "south", Rating: 44, ErrorPoints: v(8), By: "a"}, {Slope: "north", Rating: 66, ErrorPoints: v(8), By: "a"},
		{YearsAgo: 3, Slope: "north", Rating: 70, ErrorPoints: v(10), By: "a"}, {YearsAgo: 4, Rating: 60, ErrorPoints: v(9), By: "b"}}}
	prior, _ := For("asphalt_laminated")
	type sum struct{ zero, one float64 }
	var roof, south, north sum
	worst := 0.0
	add := func(s *sum, T, w float64) { s.zero, s.one = s.zero+w, s.one+w*T }
	const nT, nD, nU = 300, 60, 80
	left := func(T, ago, rating float64) float64 {
		return above(max(100-(100-UsualLine)*math.Pow((21-ago)/T, 1.5), 0), rating)
	}
	mixed := func(z, sd float64) float64 {
		return (1-UsualGrossShare)*math.Exp(-z*z/2) + grossBeside(UsualGrossShare, sd)
	}
	for i := range nT {
		T := 8 + 72*(float64(i)+0.5)/nT
		base := prior.Hazard(T) * prior.Survival(T) * math.Exp(-max(21-T, 0)/2) * mixed(left(T, 4, 60)/9, 9)
		for d := range nD {
			delta := 0.75 * (float64(d) + 0.5) / nD
			h := math.Exp(-delta * delta / (2 * SlopeSpread * SlopeSpread))
			for which := range 2 {
				s, n := T, T*math.Exp(delta)
				if which == 1 {
					s, n = n, s
				}
				like := 0.0
				for k := range nU {
					u := -5 + 10*(float64(k)+0.5)/nU
					own := math.Sqrt(0.5)
					v := math.Exp(-u * u / 2)
					for _, x := range [3][3]float64{{left(s, 0, 44), 8}, {left(n, 0, 66), 8}, {left(n, 3, 70), 10}} {
						v *= mixed((x[0]-u*x[1]*own)/(x[1]*own), x[1]*own)
					}
					like += v
				}
				w := base * h * like
				add(&roof, T, w)
				add(&south, s, w)
				add(&north, n, w)
				if which == 0 {
					worst += w
				}
			}
		}
	}
	r := estimate(t, in)
	near(t, "mean of the roof", r.WornOutAge.Mean, roof.one/roof.zero, 2e-3)
	if len(r.Slopes) != 2 || r.WorstSlope != "south" || r.Slopes[0].Slope != "north" {
		t.Fatalf("slopes %+v, worst %s", r.Slopes, r.WorstSlope)
	}
	near(t, "chance that the south is the worst", r.Slopes[1].ChanceWorst, worst/roof.zero, 5e-3)
	// Nearly symmetric: the middle is near the mean.
	near(t, "middle of the south", r.Slopes[1].WornOutAge.Middle, south.one/south.zero, 0.03)
	near(t, "middle of the north", r.Slopes[0].WornOutAge.Middle, north.one/north.zero, 0.03)
	if !(r.Slopes[0].WornOutAge.Middle > r.Slopes[1].WornOutAge.Middle && r.Slopes[1].WornOutAge.Middle >= r.WornOutAge.Middle) {
		t.Errorf("out of order: %+v, roof %+v", r.Slopes, r.WornOutAge)
	}
	t.Logf("roof %.3f (plainly %.3f), south worst %.4f (%.4f), slopes %+v (%.2f, %.2f)", r.WornOutAge.Mean, roof.one/roof.zero,
		r.Slopes[1].ChanceWorst, worst/roof.zero, r.Slopes, north.one/north.zero, south.one/south.zero)
}

// A single slope named is the roof; slopes that tell nothing leave the roof as its
// prior has it, so the worst of several is not counted twice; slopes alike are
// as likely the worst.
func TestSlopesKeepTheRoofsPrior(t *testing.T) {
	one := Input{Material: "asphalt_strip", AgeYears: v(15), Readings: []Reading{{Rating: 55, Slope: "east"}, {YearsAgo: 4, Rating: 70}}}
	none := one
	none.Readings = []Reading{{Rating: 55}, {YearsAgo: 4, Rating: 70}}
	a, b := estimate(t, one), estimate(t, none)
	if a.WornOutAge != b.WornOutAge || a.Slopes != nil {
		t.Errorf("one slope named %+v, none %+v", a.WornOutAge, b.WornOutAge)
	}
	silent := Input{Material: "asphalt_strip", AgeYears: v(15), GrossShare: v(0.5)}
	prior := estimate(t, silent)
	for i := range 5 {
		silent.Readings = append(silent.Readings, Reading{YearsAgo: 14.99, Rating: 99, ErrorPoints: v(50), Slope: fmt.Sprint(i), By: fmt.Sprint(i)})
	}
	r := estimate(t, silent)
	near(t, "low", r.WornOutAge.Low, prior.WornOutAge.Low, 1e-4)
	near(t, "middle", r.WornOutAge.Middle, prior.WornOutAge.Middle, 1e-4)
	for _, s := range r.Slopes {
		near(t, s.Slope, s.ChanceWorst, 0.2, 1e-3)
	}
}

// Where every slope is found better the roof's T is no shorter.
func TestBetterSlopesNeverShorten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := plausible(t)
		better := in
		up := rapid.Float64Range(0, 20).Draw(t, "up")
		for i := range rapid.IntRange(2, 3).Draw(t, "slopes") {
			r := Reading{Slope: fmt.Sprint(i), Rating: rapid.Float64Range(10, 80).Draw(t, "rating"), ErrorPoints: v(rapid.Float64Range(6, 14).Draw(t, "sd")), By: "a"}
			in.Readings = append(in.Readings, r)
			r.Rating += up
			better.Readings = append(better.Readings, r)
		}
		a, b := estimate(t, in), estimate(t, better)
		if b.WornOutAge.Middle < a.WornOutAge.Middle*(1-1e-3) {
			t.Fatalf("%+v; better by %v: %+v", a.WornOutAge, up, b.WornOutAge)
		}
	})
}

// sound says what is wrong with a result.
func sound(r Result) error {
	if _, err := json.Marshal(r); err != nil { // refuses NaN and infinities
		return err
	}
	ordered := func(what string, v Range) error {
		if !(0 <= v.Low && v.Low <= v.Middle && v.Middle <= v.High) {
			return fmt.Errorf("%s: %+v", what, v)
		}
		return nil
	}
	if err := ordered("T", r.WornOutAge.Range); err != nil {
		return err
	}
	if err := ordered("years left", r.YearsLeft); err != nil {
		return err
	}
	last := 0.0
	for _, q := range r.AgeQuantiles {
		if !(q.AgeYears > last) {
			return fmt.Errorf("quantile %+v after %v", q, last)
		}
		last = q.AgeYears
	}
	sum := 0.0
	for _, s := range r.Slopes {
		if err := ordered(s.Slope, s.WornOutAge); err != nil {
			return err
		}
		sum += s.ChanceWorst
	}
	if len(r.Slopes) > 0 && math.Abs(sum-1) > 1e-9 {
		return fmt.Errorf("the chances of being the worst add to %v", sum)
	}
	const slack = 1e-9
	if !(0 <= r.ChancePast && r.ChancePast <= r.ChanceIn1+slack && r.ChanceIn1 <= r.ChanceIn2+slack && r.ChanceIn2 <= r.ChanceIn5+slack && r.ChanceIn5 <= 1+slack) {
		return fmt.Errorf("chances %v %v %v %v", r.ChancePast, r.ChanceIn1, r.ChanceIn2, r.ChanceIn5)
	}
	return nil
}

// FuzzEstimate reads inputs as calc does: whatever is not refused is finite and in
// order, and so is its fan.
func FuzzEstimate(f *testing.F) {
	list := func(n int, of func(i int) string) string {
		var out []string
		for i := range n {
			out = append(out, of(i))
		}
		return strings.Join(out, ",")
	}
	for _, seed := range []string{
		`{}`,
		`{"age_years":0}`,
		`{"material":"asphalt_strip","age_years":200}`,
		`{"age_years":0,"readings":[{"years_ago":0,"rating":0},{"years_ago":0,"rating":100}]}`,
		`{"material":"asphalt_strip","age_years":25,"readings":[` + list(1000, func(i int) string {
			return fmt.Sprintf(`{"years_ago":%v,"rating":%d,"error_points":2,"by":"%d"}`, float64(i%40)/2, i*37%101, i%7)
		}) + `]}`,
		`{"age_years":20,"gross_share":0,"readings":[{"years_ago":0,"rating":0,"error_points":2},{"years_ago":0,"rating":100,"error_points":2}]}`,
		`{"age_years":20,"gross_share":0,"readings":[` + list(40, func(i int) string {
			return fmt.Sprintf(`{"years_ago":0,"rating":%d,"error_points":2,"by":"%d","slope":"%d"}`, i%2*100, i%3, i%4)
		}) + `]}`,
		`{"material":"asphalt_strip","age_years":40,"readings":[{"years_ago":0,"rating":100,"error_points":2}]}`,
		`{"material":"asphalt_strip","age_years":20,"line_rating":40,"readings":[{"years_ago":0,"rating":25,"error_points":8}]}`,
		`{"age_years":20,"replacement_lag_years":0,"factors":[{"name":"a","low":0.2,"mid":0.3,"high":0.45}]}`,
		`{"age_years":20,"factors":[{"name":"a","low":3,"mid":4.5,"high":5}]}`,
		`{"age_at_most_years":30,"readings":[{"years_ago":3,"rating":70,"slope":"a"},{"years_ago":0,"rating":40,"slope":"b"},{"years_ago":1,"rating":50}],"repairs":[{"years_ago":2,"share":0.4}]}`,
		`{"age_years":24,"worn_between":{"from_age_years":15,"to_age_years":22},"readings":[{"years_ago":9,"rating":60,"slope":"a"},{"years_ago":9,"rating":30,"slope":"b"}]}`,
		`{"age_years":200,"worn_between":{"from_age_years":150,"to_age_years":199},"replacement_lag_years":0.001}`,
		`{"age_years":0.01,"worn_between":{},"replacement_lag_years":1e-9}`,
		`{"age_at_most_years":30,"repairs":[{"years_ago":9,"share":1},{"years_ago":2,"share":0.9},{"years_ago":1,"share":0.3}],"readings":[{"years_ago":20,"rating":3},{"years_ago":0,"rating":80}]}`,
		`{"prior":{"shape":0.5,"scale_years":1},"age_years":300,"readings":[{"years_ago":300,"rating":0,"slope":"a"},{"years_ago":0,"rating":99,"slope":"b"}]}`,
		`{"prior":{"shape":20,"scale_years":500},"age_years":300,"worn_between":{"to_years_ago":299},"readings":[{"years_ago":0,"rating":99,"slope":"b"},{"years_ago":300,"rating":99,"slope":"c"}]}`,
	} {
		f.Add(seed)
	}
	var shared Estimator
	f.Fuzz(func(t *testing.T, text string) {
		var in Input
		if json.Unmarshal([]byte(text), &in) != nil || len(in.Readings) > 50 && len(text) > 100_000 {
			return
		}
		in.Explain = false
		r, err := shared.Estimate(in)
		if err != nil {
			return
		}
		if err := sound(r); err != nil {
			t.Fatal(err)
		}
		fan, err := Fan(in, []float64{0, 10, 300})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(fan); err != nil {
			t.Fatal(err)
		}
	})
}

// Every input within the bounds, with slopes, repairs and an end that was seen.
func TestFiniteAndOrderedWithMoreEvidence(t *testing.T) {
	var shared Estimator
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t)
		for i := range in.Readings {
			in.Readings[i].Slope = rapid.SampledFrom([]string{"", "a", "b", "c"}).Draw(t, "slope")
			in.Readings[i].By = rapid.SampledFrom([]string{"", "x", "y"}).Draw(t, "by")
		}
		latest := 0.0
		if in.AgeYears != nil {
			latest = *in.AgeYears
		} else if in.LatestAgeYears != nil {
			latest = *in.LatestAgeYears
		}
		for range rapid.IntRange(0, 2).Draw(t, "repairs") {
			in.Repairs = append(in.Repairs, Repair{YearsAgo: latest * rapid.Float64Range(0, 1).Draw(t, "ago"), Share: rapid.Float64Range(0.01, 1).Draw(t, "share")})
		}
		ended := rapid.IntRange(0, 3).Draw(t, "ended") == 0
		if ended {
			from := latest * rapid.Float64Range(0, 1).Draw(t, "from")
			to := from * rapid.Float64Range(0, 1).Draw(t, "to")
			in.WornBetween = &Span{FromYearsAgo: &from, ToYearsAgo: &to}
		}
		r, err := shared.Estimate(in)
		if err != nil {
			if ended && (strings.Contains(err.Error(), "worn_between") || strings.Contains(err.Error(), "replacement_lag_years")) {
				return
			}
			t.Fatal(err)
		}
		if err := sound(r); err != nil {
			t.Fatal(err)
		}
	})
}

// What is said of the roof does not hang on whether its slopes are told of.
func TestRoofAlone(t *testing.T) {
	told, alone := Estimator{}, Estimator{RoofAlone: true}
	sloped := 0
	for i, k := range slopedCompanyOf(60, 21, UsualGrossShare) {
		a, err := told.Estimate(k.in)
		if err != nil {
			t.Fatal(err)
		}
		b, err := alone.Estimate(k.in)
		if err != nil {
			t.Fatal(err)
		}
		if len(a.Slopes) > 0 {
			sloped++
		}
		if len(b.Slopes) > 0 || b.WorstSlope != "" {
			t.Errorf("roof %d: slopes %+v", i, b.Slopes)
		}
		a.Slopes, a.WorstSlope = nil, ""
		if !reflect.DeepEqual(a, b) {
			t.Errorf("roof %d alone: %+v, with its slopes %+v", i, b, a)
		}
	}
	if sloped < 20 {
		t.Errorf("%d roofs with slopes", sloped)
	}
}
