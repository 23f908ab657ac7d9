package survival

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustCox(t testing.TB, in CoxInput) CoxResult {
	t.Helper()
	r, err := Cox(in)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Status.Converged {
		t.Fatalf("not converged: %+v", r.Status)
	}
	return r
}

// inWholeYears is late200.csv with late entry and ties: entries rounded down to
// whole years and ends rounded up.
func inWholeYears(t testing.TB) (rows []Row) {
	for _, r := range table(t, "late200.csv") {
		row := right(math.Ceil(r["exit"]), r["event"] == 1)
		row.Entry, row.Covariates = ptr(math.Floor(r["entry"])), map[string]float64{"south": r["south"]}
		rows = append(rows, row)
	}
	return rows
}

// Our own runs of R 4.2.2, survival 3.5-3, coxph and survfit, kept at full
// precision; see testdata/figures.R. South thrice is written out there, and here a
// row of weight 3.
func TestAgainstCoxph(t *testing.T) {
	thrice := inWholeYears(t)
	for i := range thrice {
		thrice[i].Weight = ptr(1 + 2*thrice[i].Covariates["south"])
	}
	type at struct{ survival, se, low, high, hazard float64 }
	for _, c := range []struct {
		name                       string
		rows                       []Row
		ties                       Ties
		estimates                  []float64
		covariance                 [][]float64
		null, logLikelihood, score float64
		profiles                   []map[string]float64
		ages                       []float64
		curves                     [][]at
	}{
		{"lung", lung(t, "age", "sex"), Efron, []float64{0.017045331845411, -0.513218517108384},
			[][]float64{{8.5068773630962e-05, 8.5106339320022e-05}, {8.5106339320022e-05, 2.8042169156346e-02}},
			-749.909801390394705, -742.848245783770381, 13.722321489515268,
			[]map[string]float64{{"age": 60, "sex": 1}, {"age": 60, "sex": 2}}, []float64{180, 365}, [][]at{
				{{0.68826386938692, 0.036104289558043, 0.61144091686742, 0.75298985553844, 0.3735829834924},
					{0.35522622541290, 0.043318918237654, 0.27148091390082, 0.43973707048067, 1.0350004377830}},
				{{0.79962367776871, 0.031225218218920, 0.72987645223575, 0.85316614743839, 0.22361406477742},
					{0.53820483786186, 0.050623237802783, 0.43420672591875, 0.63124410499269, 0.61951605176306}}}},
		{"lung by Breslow", lung(t, "age", "sex"), Breslow, []float64{0.017012889198443, -0.512564791518719},
			[][]float64{{8.5044429766490e-05, 8.5409485537307e-05}, {8.5409485537307e-05, 2.8043542591894e-02}},
			-750.122018895318774, -743.079654197999048, 13.685299378345722,
			[]map[string]float64{{"age": 60, "sex": 1}, {"age": 60, "sex": 2}}, []float64{180, 365}, [][]at{
				{{0.68874138413719, 0.036059712869629, 0.61200544008393, 0.75338240114204, 0.37288942801294},
					{0.35586737485435, 0.043318194220618, 0.27210457257899, 0.44036062228464, 1.03319716008529}},
				{{0.79983894957258, 0.031198517637187, 0.73014688303101, 0.85333295361610, 0.22334488461467},
					{0.53856822756145, 0.050600245224172, 0.43460577455842, 0.63155720455677, 0.61884109113290}}}},
		{"gehan", append(remission(t, remission6MP, 0), remission(t, remissionPlacebo, 1)...), "", []float64{1.5721251488291},
			[][]float64{{0.17007105277753}}, -93.1842699968477, -85.0084245773717, 17.2465367957166,
			[]map[string]float64{{"control": 0}, {"control": 1}}, []float64{6, 12}, [][]at{
				{{0.88042506466532, 0.048575988057624, 0.74252589952955, 0.94697878934374, 0.12735046010160},
					{0.73136133631520, 0.087605361832476, 0.51551568181099, 0.86267756339276, 0.31284763723563}},
				{{0.54148976864035, 0.101817675805105, 0.32673162885721, 0.71434034718925, 0.61343110719725},
					{0.22158530977428, 0.083294335871549, 0.08568110918206, 0.39684584260681, 1.50694761793869}}}},
		{"late200 in whole years", inWholeYears(t), Efron, []float64{1.1745455385405}, [][]float64{{0.09059928414834}},
			-177.6949818015869, -170.1035955195767, 16.9520452094072,
			[]map[string]float64{{"south": 0}, {"south": 1}}, []float64{10, 15, 20}, [][]at{
				{{0.93633303632698, 0.023944343427361, 0.86854792924653, 0.96976016844888, 0.065784057747572},
					{0.82403779004740, 0.044153133092951, 0.71678116427408, 0.89360667770582, 0.193538888416268},
					{0.53552160364646, 0.082280519271782, 0.36367941544232, 0.68004912228954, 0.624514046964186}},
				{{0.80821966413717, 0.060278152426691, 0.65505631311943, 0.89837514683791, 0.21292139585279},
					{0.53450091501918, 0.081667197769962, 0.36408059445689, 0.67815934473518, 0.62642183660237},
					{0.13247690886483, 0.060970073191028, 0.04249982394272, 0.27425343051349, 2.02134692146138}}}},
		{"late200 in whole years by Breslow", inWholeYears(t), Breslow, []float64{1.0969758192211}, [][]float64{{0.090206936506518}},
			-179.5670048245301, -172.8941617913582, 14.6689939433787,
			[]map[string]float64{{"south": 0}, {"south": 1}}, []float64{10, 15, 20}, [][]at{
				{{0.93379897429438, 0.024715819617609, 0.86409136069589, 0.96839398096176, 0.068494094866999},
					{0.81904404189938, 0.044707021063280, 0.71094672953326, 0.88976342333860, 0.199617421361985},
					{0.55909926606120, 0.078683552289979, 0.39282681336866, 0.69642328722657, 0.581428243665117}},
				{{0.81452814702080, 0.058772058313511, 0.664484510156119, 0.90216140514936, 0.20514629411441},
					{0.54998016662474, 0.080887161198862, 0.379737276116460, 0.69131224836323, 0.59787306208811},
					{0.17526913070134, 0.065193581511380, 0.070878250679397, 0.31798222143531, 1.74143259667805}}}},
		{"late200 in whole years, thrice where south", thrice, Efron, []float64{1.189611815825}, [][]float64{{0.064050924964875}},
			-420.788081460217, -407.403860965187, 24.652059757664,
			[]map[string]float64{{"south": 0}, {"south": 1}}, []float64{10, 15, 20}, [][]at{
				{{0.93770871867822, 0.018540207632143, 0.88915143523966, 0.96540435156823, 0.064315912659908},
					{0.83550359535132, 0.038071910761755, 0.74423028706243, 0.89642574221215, 0.179720627722771},
					{0.51475701928006, 0.080854538651497, 0.34794405901546, 0.65855694525311, 0.664060296877632}},
				{{0.80950722785238, 0.038001477822322, 0.721357674734538, 0.87220191792387, 0.21132957711816},
					{0.55403522001332, 0.049968867784722, 0.450856894454494, 0.64548049586826, 0.59052702022434},
					{0.11281872514380, 0.035477680244483, 0.055344718240135, 0.19300658435579, 2.18197295064729}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := CoxInput{Rows: c.rows, Ties: c.ties, At: c.ages}
			for _, x := range c.profiles {
				in.Profiles = append(in.Profiles, Profile{Covariates: x})
			}
			r := mustCox(t, in)
			for i, want := range c.estimates {
				near(t, r.Coefficients[i].Name, r.Coefficients[i].Estimate, want, 1e-8)
				near(t, "SE", r.Coefficients[i].SE, math.Sqrt(c.covariance[i][i]), 1e-8)
				for j := range c.estimates {
					near(t, fmt.Sprintf("covariance %d %d", i, j), r.Covariance[i][j], c.covariance[i][j], 1e-8)
				}
			}
			within(t, "log-likelihood", *r.LogLikelihood, c.logLikelihood, 1e-9)
			within(t, "null", r.Null.LogLikelihood, c.null, 1e-9)
			within(t, "likelihood ratio", r.Null.ChiSquare, 2*(c.logLikelihood-c.null), 1e-9)
			near(t, "score", r.Score.ChiSquare, c.score, 1e-10)
			if r.Null.Freedom != len(c.estimates) || r.Score.Freedom != len(c.estimates) {
				t.Errorf("degrees of freedom: %+v %+v", r.Null, r.Score)
			}
			for i, curve := range c.curves {
				for j, want := range curve {
					got := r.Profiles[i].At[j]
					near(t, "survival", got.Survival, want.survival, 1e-8)
					near(t, "SE", got.SE, want.se, 1e-8)
					near(t, "low", *got.Low, want.low, 1e-8)
					near(t, "high", *got.High, want.high, 1e-8)
					near(t, "hazard gathered", got.Hazard, want.hazard, 1e-8)
				}
			}
		})
	}
}

// Our own runs of concordance(coxph(...)): of lung without late entry, of late200
// in whole years with it, where those tied at one age are tied in both.
func TestCoxConcordance(t *testing.T) {
	c := mustCox(t, CoxInput{Rows: lung(t, "age", "sex")}).Concordance
	if c.Concordant != 11910 || c.Discordant != 7793 || c.TiedFore != 311 || c.TiedAge+c.TiedBoth != 28 {
		t.Errorf("%+v", *c)
	}
	within(t, "concordance", c.Estimate, .602853, 5e-7)
	within(t, "SE", c.SE, .02549868, 5e-9)
	c = mustCox(t, CoxInput{Rows: inWholeYears(t)}).Concordance
	if c.Concordant != 914 || c.Discordant != 288 || c.TiedFore != 1127 || c.TiedAge != 34 || c.TiedBoth != 32 {
		t.Errorf("%+v", *c)
	}
	within(t, "concordance", c.Estimate, .63439244311, 5e-12)
	within(t, "SE", c.SE, .038334792039, 5e-12)
}

// A Weibull regression says the same of hazards, −coefficient/σ, and lies within a
// tenth of a standard error of Cox's where lives are near to Weibull.
func TestCoxBesideWeibull(t *testing.T) {
	cox, weibull := mustCox(t, CoxInput{Rows: lung(t, "age", "sex")}), mustFit(t, FitInput{Rows: lung(t, "age", "sex")})
	for i, c := range cox.Coefficients {
		within(t, c.Name, -weibull.Coefficients[1+i].Estimate/weibull.Sigma, c.Estimate, c.SE/10)
	}
}

// The score test of two groups without ties is the log-rank test, and with no
// effect the hazard gathered is Nelson and Aalen's.
func TestCoxWithoutEffect(t *testing.T) {
	var rows []Row
	for _, r := range table(t, "late200.csv") {
		row := right(r["exit"], r["event"] == 1)
		row.Entry, row.Covariates = ptr(r["entry"]), map[string]float64{"south": r["south"]}
		rows = append(rows, row)
	}
	curves := append([]CurveRow{}, curveRows(rows, "")...)
	for i, row := range rows {
		curves[i].Group = fmt.Sprint(row.Covariates["south"])
	}
	near(t, "score", mustCox(t, CoxInput{Rows: rows}).Score.ChiSquare, mustCurve(t, CurveInput{Rows: curves}).LogRank.ChiSquare, 1e-12)

	rows = inWholeYears(t)
	_, o, err := CoxInput{Rows: rows, Ties: Breslow, Level: 0.95}.read()
	if err != nil {
		t.Fatal(err)
	}
	for i := range o.x {
		o.x[i] = []float64{rows[i].Covariates["south"]}
	}
	// From 9, since the younger ones were watched by few.
	got := o.baseline([]float64{0}).of(9, []float64{0}, []float64{0}, square(1))
	want := mustCurve(t, CurveInput{Rows: curveRows(rows, ""), FromAge: ptr(9.0)}).Groups[0].Steps
	if len(got) != len(want) {
		t.Fatalf("%d steps, want %d", len(got), len(want))
	}
	for i, s := range got {
		if s.Age != want[i].Age || s.AtRisk != want[i].AtRisk || s.Events != want[i].Events {
			t.Errorf("%+v, want %+v", s, want[i])
		}
		near(t, "hazard gathered", s.Hazard, want[i].Hazard, 1e-12)
		near(t, "SE", s.HazardSE, want[i].HazardSE, 1e-12)
	}
}

// written gives a row for each of those that a weight stands for.
func written(o partial) (rows []watched, x [][]float64) {
	for i, w := range o.rows {
		n := int(w.weight)
		w.weight = 1
		for range n {
			rows, x = append(rows, w), append(x, o.x[i])
		}
	}
	return rows, x
}

// byPairs is the partial likelihood and the hazard gathered by their definition,
// each age with each row, from the sets themselves.
func byPairs(o partial, theta []float64) (value float64, hazard map[float64]float64) {
	rows, xs := written(o)
	hazard = map[float64]float64{}
	for i, w := range rows {
		if !w.event {
			continue
		}
		var all, ended, count, before float64
		for j, v := range rows {
			r := math.Exp(dot(theta, xs[j]))
			if v.entry < w.exit && w.exit <= v.exit {
				all += r
			}
			if v.event && v.exit == w.exit {
				ended += r
				count++
				if j < i {
					before++
				}
			}
		}
		if o.ties == Efron {
			all -= before / count * ended
		}
		value += dot(theta, xs[i]) - math.Log(all)
		hazard[w.exit] += 1 / all
	}
	return value, hazard
}

// anyLives draws lives with ties, late entry, weights and covariates.
func anyLives(t *rapid.T) (o partial, theta []float64) {
	p := rapid.IntRange(1, 3).Draw(t, "covariates")
	// Sometimes so steep that taking one life out of a sum leaves no digit.
	steep := rapid.SampledFrom([]float64{1, 1, 20}).Draw(t, "steep")
	for range p {
		theta = append(theta, steep*rapid.Float64Range(-1, 1).Draw(t, "coefficient"))
	}
	in := CoxInput{Ties: rapid.SampledFrom([]Ties{Efron, Breslow}).Draw(t, "ties"), Level: 0.95}
	var xs [][]float64
	for range rapid.IntRange(2, 30).Draw(t, "lives") {
		entry := float64(rapid.IntRange(0, 8).Draw(t, "entry"))
		row := right(entry+float64(rapid.IntRange(1, 6).Draw(t, "more")), rapid.Bool().Draw(t, "event"))
		row.Entry, row.Weight, row.Covariates = &entry, ptr(float64(rapid.IntRange(1, 3).Draw(t, "weight"))), map[string]float64{"x": 0}
		in.Rows = append(in.Rows, row)
		var x []float64
		for range p {
			x = append(x, rapid.Float64Range(-2, 2).Draw(t, "x"))
		}
		xs = append(xs, x)
	}
	_, o, err := in.read()
	if err != nil {
		t.Fatal(err)
	}
	copy(o.x, xs)
	return o, theta
}

// Against the definition, and the slopes against differences.
func TestCoxByPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o, theta := anyLives(t)
		value, gradient, information := o.at(theta)
		want, hazard := byPairs(o, theta)
		if math.Abs(value-want) > 1e-9*(1+math.Abs(want)) {
			t.Fatalf("log-likelihood %.15g, want %.15g", value, want)
		}
		b := o.baseline(theta)
		if len(b.increments) != len(hazard) {
			t.Fatalf("%d ages, want %d", len(b.increments), len(hazard))
		}
		for _, i := range b.increments {
			if got := i.hazard * math.Exp(-b.most); math.Abs(got/hazard[i.Age]-1) > 1e-9 {
				t.Fatalf("hazard at %v: %v, want %v", i.Age, got, hazard[i.Age])
			}
		}
		const h = 1e-5
		for j := range theta {
			moved := func(by float64) []float64 {
				out := append([]float64{}, theta...)
				out[j] += by
				return out
			}
			up, slopeUp, _ := o.at(moved(h))
			down, slopeDown, _ := o.at(moved(-h))
			if got := (up - down) / (2 * h); math.Abs(got-gradient[j]) > 1e-5*(1+math.Abs(value)) {
				t.Fatalf("slope in %d: %v, by differences %v", j, gradient[j], got)
			}
			for k := range theta {
				if got := -(slopeUp[k] - slopeDown[k]) / (2 * h); math.Abs(got-information[j][k]) > 1e-5*(1+math.Abs(information[j][k])) {
					t.Fatalf("bend in %d and %d: %v, by differences %v", j, k, information[j][k], got)
				}
			}
			// And of the hazard, for its error.
			bUp, bDown := o.baseline(moved(h)), o.baseline(moved(-h))
			for i, inc := range b.increments {
				got := (bDown.increments[i].hazard*math.Exp(b.most-bDown.most) - bUp.increments[i].hazard*math.Exp(b.most-bUp.most)) / (2 * h)
				if math.Abs(got-inc.slope[j]) > 1e-5*(1+math.Abs(inc.slope[j])+inc.hazard) {
					t.Fatalf("slope of the hazard in %d: %v, by differences %v", j, inc.slope[j], got)
				}
			}
		}
	})
}

// A life watched later than the others, of a hazard so great beside theirs that taking
// it out of a sum leaves no digit of them; and what stands for several counts as several.
func TestCoxTakesOutTheGreat(t *testing.T) {
	late := right(9, true)
	late.Entry, late.Weight = ptr(6.0), ptr(3.0)
	others := []Row{right(2, true), right(4, true), right(5, false), right(8, false)}
	in := CoxInput{Ties: Efron, Level: 0.95, Rows: append(others, late)}
	for i := range in.Rows {
		in.Rows[i].Covariates = map[string]float64{"x": 0}
	}
	in.Rows[3].Weight = ptr(2.0)
	_, o, err := in.read()
	if err != nil {
		t.Fatal(err)
	}
	o.x = [][]float64{{-0.5}, {-1}, {0.5}, {0}, {50}}
	for _, coefficient := range []float64{0, 1} {
		theta := []float64{coefficient}
		value, _, _ := o.at(theta)
		want, hazard := byPairs(o, theta)
		within(t, "log-likelihood", value, want, 1e-12)
		b := o.baseline(theta)
		watched := []float64{5, 4, 3} // at 9 the three that the late one stands for are left
		for i, inc := range b.increments {
			near(t, fmt.Sprint("hazard at ", inc.Age), inc.hazard*math.Exp(-b.most), hazard[inc.Age], 1e-12)
			if inc.AtRisk != watched[i] {
				t.Errorf("at %v %v are watched, want %v", inc.Age, inc.AtRisk, watched[i])
			}
		}
	}
}

func coxed(t *rapid.T, in CoxInput) CoxResult {
	r, err := Cox(in)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Status.Converged {
		t.Fatalf("not converged: %+v", r.Status)
	}
	return r
}

// What must make no difference: where and by what unit a covariate is counted,
// the clock as long as it keeps the order, lives cut in two, rows written out, and
// their order.
func TestCoxProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, rows := drawn(t)
		in := CoxInput{Rows: rows, Ties: rapid.SampledFrom([]Ties{Efron, Breslow}).Draw(t, "ties"), At: []float64{20}, Profiles: []Profile{{Covariates: map[string]float64{"x": 1}}}}
		if r, err := Cox(in); err == nil && strings.HasPrefix(r.Status.Why, "monotone") {
			t.Skip("an event that only tells that its side is the worse")
		}
		r := coxed(t, in)
		check := func(what string, in CoxInput, scale float64) {
			got := coxed(t, in)
			g, want := got.Coefficients[0], r.Coefficients[0]
			if math.Abs(g.Estimate*scale-want.Estimate) > 1e-8 || math.Abs(g.SE*scale-want.SE) > 1e-8*want.SE || math.Abs(*got.LogLikelihood-*r.LogLikelihood) > 1e-8 ||
				math.Abs(got.Score.ChiSquare-r.Score.ChiSquare) > 1e-8 || math.Abs(got.Concordance.Estimate-r.Concordance.Estimate) > 1e-12 && what != "cut in two" {
				t.Fatalf("%s: %+v %v, want %+v %v", what, g, *got.LogLikelihood, want, *r.LogLikelihood)
			}
			if a, b := got.Profiles[0].At[0], r.Profiles[0].At[0]; math.Abs(a.Survival-b.Survival) > 1e-8 || math.Abs(a.SE-b.SE) > 1e-8 {
				t.Fatalf("%s: survival %v (%v), want %v (%v)", what, a.Survival, a.SE, b.Survival, b.SE)
			}
		}
		changed := func(change func(*Row)) CoxInput {
			out := in
			out.Rows = nil
			for _, row := range rows {
				change(&row)
				out.Rows = append(out.Rows, row)
			}
			return out
		}
		shift, scale := rapid.Float64Range(-50, 50).Draw(t, "shift"), rapid.Float64Range(0.01, 100).Draw(t, "scale")
		other := changed(func(row *Row) { row.Covariates = map[string]float64{"x": shift + scale*row.Covariates["x"]} })
		other.Profiles = []Profile{{Covariates: map[string]float64{"x": shift + scale}}}
		check("another unit", other, scale)

		clock := func(age float64) float64 { return math.Expm1(age / 10) }
		other = changed(func(row *Row) {
			row.Exit = ptr(clock(*row.Exit))
			if row.Entry != nil {
				row.Entry = ptr(clock(*row.Entry))
			}
		})
		other.At = []float64{clock(20)}
		check("another clock", other, 1)

		other = in
		other.Rows = nil
		for _, row := range rows {
			middle := (or(row.Entry, 0) + *row.Exit) / 2
			first, second := right(middle, false), row
			first.Entry, first.Covariates, second.Entry = row.Entry, row.Covariates, &middle
			other.Rows = append(other.Rows, second, first)
		}
		check("cut in two", other, 1)

		// Three lives of the first row, of weight 3 and written out.
		in.Rows = append(rows[1:len(rows):len(rows)], rows[0], rows[0], rows[0])
		r = coxed(t, in)
		first := true
		check("weight", changed(func(row *Row) {
			if first {
				row.Weight = ptr(3.0)
			}
			first = false
		}), 1)
	})
}

// Known truth with late entry: the limits hold it about as often as they say.
// Weibull lives of σ have hazards in proportion, with the coefficient −β/σ.
func TestCoxCoverage(t *testing.T) {
	const runs, truth = 400, 0.3 / 0.35
	held, sum := 0, 0.0
	for seed := range uint64(runs) {
		c := mustCox(t, CoxInput{Rows: simulated(seed, 200, Weibull, 3, -0.3, 0.35)}).Coefficients[0]
		if c.Low <= truth && truth <= c.High {
			held++
		}
		sum += c.Estimate
	}
	// Four standard errors of a binomial at 0.95, and of the mean where a run has 0.2.
	if share := float64(held) / runs; math.Abs(share-0.95) > 4*math.Sqrt(0.95*0.05/runs) {
		t.Errorf("the limits hold the truth in %.3f of runs", share)
	}
	within(t, "mean of the estimates", sum/runs, truth, 0.04)
}

// From an age on the curve is that of those who reach it: their ratio.
func TestCoxFromAge(t *testing.T) {
	south := map[string]float64{"south": 1}
	r := mustCox(t, CoxInput{Rows: inWholeYears(t), At: []float64{18}, Profiles: []Profile{{Covariates: south}, {Name: "at 12", Age: 12, Covariates: south}}})
	whole, later := r.Profiles[0], r.Profiles[1]
	reached := readAt(whole.Steps, nil, 12).Survival
	near(t, "survival from 12", later.At[0].Survival, whole.At[0].Survival/reached, 1e-12)
	if later.FromAge != 12 || later.Steps[0].Age <= 12 || !(later.At[0].SE < whole.At[0].SE/reached) {
		t.Errorf("%+v, and of all %+v", later.At[0], whole.At[0])
	}
	if q := whole.Quantiles[1]; q.P != 0.5 || q.Age == nil || readAt(whole.Steps, nil, *q.Age).Survival > 0.5 || readAt(whole.Steps, nil, *q.Age-1e-9).Survival <= 0.5 || !(*q.Low < *q.Age) {
		t.Errorf("half: %+v", q)
	}
	if _, err := Cox(CoxInput{Rows: inWholeYears(t), At: []float64{11}, Profiles: []Profile{{Age: 12, Covariates: south}}}); err == nil || !strings.HasPrefix(err.Error(), "at: must not come before the age of profiles[0]") {
		t.Error(err)
	}
}

// Profiles far from the rows, and covariates that vary by next to nothing: what is told
// can be written down, and what cannot is refused.
func TestCoxFarFromTheRows(t *testing.T) {
	for _, age := range []float64{-5000, 5000, -1e6, 1e6, 1e300, -1e300} {
		r, err := Cox(CoxInput{Rows: lung(t, "age", "sex"), At: []float64{180}, Profiles: []Profile{{Covariates: map[string]float64{"age": age, "sex": 1}}}})
		if math.Abs(age) > 5000 {
			if err == nil || !strings.HasPrefix(err.Error(), "profiles[0].covariates: lie so far") {
				t.Errorf("age %v: %v", age, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(r); err != nil {
			t.Errorf("age %v: %v", age, err)
		}
		for _, s := range r.Profiles[0].Steps {
			if !(0 <= *s.Low && *s.Low <= s.Survival && s.Survival <= *s.High && *s.High <= 1) {
				t.Fatalf("age %v: %+v, %v to %v", age, s, *s.Low, *s.High)
			}
		}
	}
	rows := lung(t, "age", "sex")
	for i := range rows {
		rows[i].Covariates["age"] *= 1e-6
	}
	r := mustCox(t, CoxInput{Rows: rows})
	near(t, "estimate", r.Coefficients[0].Estimate, 17045.331845411, 1e-8)
	if _, err := json.Marshal(r); err != nil || r.Coefficients[0].HazardRatio != math.MaxFloat64 || r.Coefficients[0].HazardRatioLow != 0 {
		t.Errorf("%+v, %v", r.Coefficients[0], err)
	}
}

// Where those that were watched young had all worn out before others came to be
// watched, or none was watched for a while, the curves say so; from later on they do not.
func TestCoxOfFewSaysSo(t *testing.T) {
	row := func(entry, exit float64, event bool, x float64) Row {
		r := right(exit, event)
		r.Entry, r.Covariates = &entry, map[string]float64{"x": x}
		return r
	}
	in := CoxInput{Rows: []Row{row(0, 2, true, 1), row(5, 9, true, 0), row(5, 8, true, 1), row(6, 12, true, 0), row(6, 11, false, 1)}}
	for age, want := range map[float64][]string{0: {"All that were watched at age 2 had worn out", "None was watched between ages 2 and 5"}, 5: nil} {
		in.Profiles = []Profile{{Age: age, Covariates: map[string]float64{"x": 0}}, {Age: age, Covariates: map[string]float64{"x": 1}}}
		notes := mustCox(t, in).Notes
		if len(notes) != len(want) {
			t.Fatalf("from %v: %q", age, notes)
		}
		for i, note := range notes {
			if !strings.HasPrefix(note, want[i]) {
				t.Errorf("from %v: %q, want %q", age, note, want[i])
			}
		}
	}
}

func TestCoxStatus(t *testing.T) {
	with := func(r Row, south, west float64) Row {
		r.Covariates = map[string]float64{"south": south, "west": west}
		return r
	}
	late := func(r Row, entry float64) Row {
		r.Entry = &entry
		return r
	}
	for _, c := range []struct {
		name, says string
		rows       []Row
	}{
		{"no events", "no events", []Row{with(right(5, false), 0, 0), with(right(9, false), 1, 2), with(right(9, false), 0, 3)}},
		{"events on one side alone", "monotone likelihood in south", []Row{with(right(5, true), 0, 1), with(right(7, true), 0, 2), with(right(9, false), 1, 3), with(right(8, false), 0, 1)}},
		{"the greatest of each risk set", "monotone likelihood in south", []Row{with(right(5, true), 5, 0), with(right(6, true), 4, 1), with(right(7, true), 3, 0), with(right(8, true), 2, 0), with(right(9, true), 1, 1)}},
		{"parted by both together", "monotone likelihood in", []Row{with(right(5, true), 2, 0), with(right(6, true), 0, 2), with(right(7, true), 1, 1), with(right(9, false), 1, 0), with(right(9, false), 0, 1), with(right(8, false), 1.5, -1), with(right(8, false), -1, 1.5)}},
		{"alike whenever one wore out", "the rows do not settle west", []Row{with(right(5, true), 0, 1), with(right(6, false), 1, 1), with(late(right(12, true), 7), 1, 2), with(late(right(13, false), 7), 2, 2)}},
		{"alone whenever one wore out", "the rows do not settle south", []Row{with(right(5, true), 0, 1), with(late(right(12, true), 7), 1, 2), with(late(right(15, true), 13), 1, 1)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Cox(CoxInput{Rows: c.rows})
			if err != nil {
				t.Fatal(err)
			}
			if r.Status.Converged || !strings.HasPrefix(r.Status.Why, c.says) {
				t.Errorf("status: %+v", r.Status)
			}
			if r.Coefficients != nil || r.Covariance != nil || r.LogLikelihood != nil || r.Profiles != nil || !strings.Contains(r.Says, r.Status.Why) {
				t.Errorf("estimates beside it: %+v", r)
			}
		})
	}
}

func TestCoxRefusals(t *testing.T) {
	south := func(r Row, x float64) Row {
		r.Covariates = map[string]float64{"south": x}
		return r
	}
	for says, change := range map[string]func(*CoxInput){
		"rows: give at least one":                     func(in *CoxInput) { in.Rows = nil },
		"ties: must be efron or breslow":              func(in *CoxInput) { in.Ties = "exact" },
		"level: must lie":                             func(in *CoxInput) { in.Level = 95 },
		"quantiles[0]: must lie":                      func(in *CoxInput) { in.Quantiles = []float64{1} },
		"at[0]: must be":                              func(in *CoxInput) { in.At = []float64{-1} },
		"profiles[0].age: must be":                    func(in *CoxInput) { in.Profiles = []Profile{{Age: math.NaN()}} },
		"profiles[0].covariates.south: must be given": func(in *CoxInput) { in.Profiles = []Profile{{}} },
		"covariates: there are none":                  func(in *CoxInput) { in.Covariates = []string{} },
		"rows[1].upper: the hazards are compared":     func(in *CoxInput) { in.Rows[1] = south(Row{Lower: ptr(3.0), Upper: ptr(4.0)}, 1) },
		"rows[1].standing: the hazards are compared":  func(in *CoxInput) { in.Rows[1].Standing = true },
		"rows[1].weight: of one that wore out":        func(in *CoxInput) { in.Rows[1].Weight = ptr(1.5) },
		"rows[0].weight: of one that wore out":        func(in *CoxInput) { in.Rows[0].Weight = ptr(1e9) },
	} {
		in := CoxInput{Rows: []Row{south(right(5, true), 1), south(right(6, true), 0), south(right(7, false), 0), south(right(8, false), 1)}}
		if _, err := Cox(in); err != nil {
			t.Fatal(err)
		}
		change(&in)
		if _, err := Cox(in); err == nil || !strings.HasPrefix(err.Error(), says) {
			t.Errorf("got %v, want %q", err, says)
		}
	}
	// A row without the covariate is left out and counted; a censored one may have
	// any weight, be given by its lower bound, or be standing.
	r := mustCox(t, CoxInput{Rows: []Row{south(right(5, true), 1), south(right(6, true), 0), right(6, true), south(Row{Lower: ptr(7.0), Weight: ptr(0.5)}, 0),
		south(Row{Exit: ptr(8.0), Event: ptr(Flag(false)), Standing: true}, 1)}})
	if r.Counts.LeftOut != 1 || r.Counts.Using != 4 || len(r.Notes) != 1 {
		t.Errorf("%+v %v", r.Counts, r.Notes)
	}
	if _, err := json.Marshal(r); err != nil {
		t.Errorf("a result must be JSON: %v", err)
	}
}

func BenchmarkCox(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 6))
	var rows []Row
	for range 10000 {
		x := map[string]float64{"south": float64(rng.IntN(2)), "pitch": 4 + 8*rng.Float64(), "vent": rng.NormFloat64()}
		life := math.Exp(3 - 0.2*x["south"] + 0.01*x["pitch"] + 0.05*x["vent"] + 0.3*math.Log(rng.ExpFloat64()))
		entry := 10 * rng.Float64()
		if life <= entry {
			continue
		}
		r := right(min(life, entry+15), life <= entry+15)
		r.Entry, r.Covariates = &entry, x
		rows = append(rows, r)
	}
	for b.Loop() {
		if r, err := Cox(CoxInput{Rows: rows}); err != nil || !r.Status.Converged {
			b.Fatal(err, r.Status)
		}
	}
}
