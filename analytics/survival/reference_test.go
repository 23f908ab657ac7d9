package survival

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

func ptr[T any](v T) *T { return &v }

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*max(1e-300, math.Abs(want))) {
		t.Errorf("%s: got %.12g, want %.12g", what, got, want)
	}
}

func within(t *testing.T, what string, got, want, apart float64) {
	t.Helper()
	if !(math.Abs(got-want) <= apart) {
		t.Errorf("%s: got %.12g, want %.12g", what, got, want)
	}
}

// table reads a file of testdata, whose sources and licences are told in
// testdata/SOURCES.txt. Empty and textual cells are left out of a row.
func table(t testing.TB, name string) []map[string]float64 {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]float64
	for _, record := range records[1:] {
		row := map[string]float64{}
		for i, cell := range record {
			if v, err := strconv.ParseFloat(cell, 64); err == nil {
				row[records[0][i]] = v
			}
		}
		out = append(out, row)
	}
	return out
}

func right(exit float64, event bool) Row { return Row{Exit: &exit, Event: ptr(Flag(event))} }

func nist(t testing.TB) (rows []Row) {
	for _, r := range table(t, "nist20.csv") {
		rows = append(rows, right(r["t"], r["s"] == 1))
	}
	return rows
}

// The status of lung.csv is 1 for censored and 2 for dead.
func lung(t testing.TB, use ...string) (rows []Row) {
	for _, r := range table(t, "lung.csv") {
		row := right(r["time"], r["status"] == 2)
		row.Covariates = map[string]float64{}
		for _, name := range use {
			if v, known := r[name]; known {
				row.Covariates[name] = v
			}
		}
		rows = append(rows, row)
	}
	return rows
}

func ovarian(t testing.TB, use ...string) (rows []Row) {
	for _, r := range table(t, "ovarian.csv") {
		row := right(r["futime"], r["fustat"] == 1)
		row.Covariates = map[string]float64{}
		for _, name := range use {
			row.Covariates[name] = r[name]
		}
		rows = append(rows, row)
	}
	return rows
}

// Weeks of remission of 21 pairs of leukaemia patients, 6-MP against placebo:
// Freireich and others 1963, as printed in Cox and Oakes, Analysis of Survival
// Data, 1984. A plus is censored.
const (
	remission6MP     = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
	remissionPlacebo = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"
)

func remission(t testing.TB, text string, covariate float64) (rows []Row) {
	for _, w := range strings.Fields(text) {
		v, err := strconv.ParseFloat(strings.TrimSuffix(w, "+"), 64)
		if err != nil {
			t.Fatal(err)
		}
		r := right(v, !strings.HasSuffix(w, "+"))
		r.Covariates = map[string]float64{"control": covariate}
		rows = append(rows, r)
	}
	return rows
}

// deviceA is Device-A of Meeker and Escobar, Statistical Methods for Reliability Data,
// 1998, example 19.5: hours to failure by degrees Celsius; the number after
// the slash is how many were still running at 5000 h.
var deviceA = map[float64]string{
	10: "/30",
	40: "1298 1390 3187 3241 3261 3313 4501 4568 4841 4982 /90",
	60: "581 925 1432 1586 2452 2734 2772 4106 4674 /11",
	80: "283 361 515 638 854 1024 1030 1045 1767 1777 1856 1951 1964 2884 /1",
}

// device gives the rows; x is the Boltzmann factor over the kelvins: 11605 as the book has it.
func device(t testing.TB, factor float64) (rows []Row) {
	for celsius, text := range deviceA {
		for _, w := range strings.Fields(text) {
			many, running := strings.CutPrefix(w, "/")
			v, err := strconv.ParseFloat(many, 64)
			if err != nil {
				t.Fatal(err)
			}
			r := right(v, true)
			if running {
				r = right(5000, false)
				r.Weight = &v
			}
			r.Covariates = map[string]float64{"x": factor / (273.15 + celsius)}
			rows = append(rows, r)
		}
	}
	return rows
}

func mustFit(t testing.TB, in FitInput) FitResult {
	t.Helper()
	r, err := Fit(in)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Status.Converged {
		t.Fatalf("not converged: %+v", r.Status)
	}
	return r
}

// Our own runs of R 4.2.2, survival 3.5-3, survreg, kept at full precision.
func TestAgainstSurvreg(t *testing.T) {
	text, err := os.ReadFile("testdata/survreg.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		ID       string
		Dist     string
		Coef, SE map[string]float64
		Scale    float64
		Vcov     [][]float64
		Null     float64 `json:"loglik_null"`
		LogLik   float64
		AIC      float64
	}
	if err := json.Unmarshal(text, &cases); err != nil {
		t.Fatal(err)
	}
	genfan := []Row{}
	for _, r := range table(t, "genfan.csv") {
		genfan = append(genfan, right(r["hours"], r["status"] == 1))
	}
	data := map[string][]Row{
		"nist": nist(t), "lung_1": lung(t), "lung": lung(t, "age", "sex"), "ovarian_1": ovarian(t), "ovarian": ovarian(t, "ecog.ps", "rx"),
		"gehan": append(remission(t, remission6MP, 0), remission(t, remissionPlacebo, 1)...), "genfan": genfan,
	}
	if len(cases) < 10 {
		t.Fatalf("only %d cases", len(cases))
	}
	rename := map[string]string{intercept: "(Intercept)", logSigma: "log(scale)", "control": "treatcontrol"}
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			rows, known := data[c.ID]
			if !known {
				rows = data[strings.SplitN(c.ID, "_", 2)[0]]
			}
			r := mustFit(t, FitInput{Rows: rows, Distribution: Distribution(c.Dist)})
			for i, got := range r.Coefficients {
				name := got.Name
				if n, other := rename[name]; other {
					name = n
				}
				want, known := c.Coef[name]
				if name == "log(scale)" {
					want, known = math.Log(c.Scale), true
				}
				if !known {
					t.Fatalf("no coefficient %s in %v", name, c.Coef)
				}
				within(t, name, got.Estimate, want, 1e-8+1e-8*math.Abs(want))
				near(t, name+" SE", got.SE, c.SE[name], 1e-8)
				for j := range r.Coefficients {
					within(t, fmt.Sprintf("covariance %d %d", i, j), r.Covariance[i][j], c.Vcov[i][j],
						1e-8*math.Sqrt(c.Vcov[i][i]*c.Vcov[j][j]))
				}
			}
			near(t, "sigma", r.Sigma, c.Scale, 1e-8)
			within(t, "log-likelihood", *r.LogLikelihood, c.LogLik, 1e-9)
			within(t, "AIC", *r.AIC, c.AIC, 1e-9)
			if r.Null != nil {
				within(t, "null", r.Null.LogLikelihood, c.Null, 1e-9)
			} else {
				within(t, "null", *r.LogLikelihood, c.Null, 1e-9)
			}
		})
	}
}

// NIST/SEMATECH e-Handbook 8.4.1.3: scale 606.5280, shape 1.7208, AIC 154.27 and of
// a log-normal 154.39, mean 540.737 and spread 323.806. It searched to four digits: the
// greatest likelihood is at 606.5276. The rest is our own run of R's survreg and
// predict.
func TestNISTHandbook(t *testing.T) {
	r := mustFit(t, FitInput{Rows: nist(t)})
	within(t, "shape", r.Shape, 1.7208, 5e-5)
	within(t, "scale", r.Coefficients[0].LifeFactor, 606.5280, 1e-3)
	within(t, "shape by R", r.Shape, 1.720797261, 5e-10)
	within(t, "scale by R", r.Coefficients[0].LifeFactor, 606.527558, 5e-7)
	within(t, "AIC", *r.AIC, 154.27, 0.005)
	within(t, "AIC of a log-normal", *mustFit(t, FitInput{Rows: nist(t), Distribution: LogNormal}).AIC, 154.39, 0.005)
	within(t, "mean", r.Profiles[0].MeanLeft.Estimate, 540.7370255, 5e-8)
	for i, want := range [][2]float64{{164.02243866, 56.126338186}, {490.17378123, 91.335558435}, {984.78967440, 293.31748999}} {
		near(t, "quantile", r.Profiles[0].Ages[i].Estimate, want[0], 1e-10)
		near(t, "SE", r.Profiles[0].Ages[i].SE, want[1], 1e-9)
	}
	if r.Profiles[0].Ages[1].Beyond || !r.Profiles[0].Ages[2].Beyond {
		t.Error("500 h were watched: the median lies within, the 90 % point beyond")
	}
	e := mustFit(t, FitInput{Rows: nist(t), Distribution: Exponential})
	near(t, "rate 10/7771", 1/e.Coefficients[0].LifeFactor, 10.0/7771, 1e-10)
	within(t, "exponential log-likelihood", *e.LogLikelihood, -76.55569042, 5e-9)
	near(t, "SE 1/√10", e.Coefficients[0].SE, 1/math.Sqrt(10), 1e-12)

	// The spread of the life, 323.806 there, as the integral of what outlives.
	life := r.Profiles[0].Life
	square := 2 * quad.Fixed(func(age float64) float64 { return age * life.Survival(age) }, 0, 4000, 400, nil, 0)
	mean := quad.Fixed(life.Survival, 0, 4000, 400, nil, 0)
	within(t, "mean by integration", mean, 540.7370255, 5e-8)
	within(t, "sd", math.Sqrt(square-mean*mean), 323.8058243, 5e-8)
}

// 70 diesel fans (Nelson 1969) at one rate: our own run of survreg.
func TestFansAtOneRate(t *testing.T) {
	var rows []Row
	for _, r := range table(t, "genfan.csv") {
		rows = append(rows, right(r["hours"], r["status"] == 1))
	}
	r := mustFit(t, FitInput{Rows: rows, Distribution: Exponential})
	within(t, "location", r.Coefficients[0].Estimate, 10.26476854, 5e-9)
	within(t, "SE, 1/√12", r.Coefficients[0].SE, .28867513, 5e-9)
	within(t, "log-likelihood", *r.LogLikelihood, -135.1772225, 5e-8)
	// Scale 26,297 and shape 1.06 are in Nelson and in Meeker and Escobar too (from memory).
	w := mustFit(t, FitInput{Rows: rows})
	within(t, "Weibull scale", w.Coefficients[0].LifeFactor, 26297, 0.5)
	within(t, "Weibull shape", w.Shape, 1.05844585, 5e-9)
}

// 167 parts at 8 inspections (Nelson), our own run of survreg on the intervals.
func TestIntervals(t *testing.T) {
	var rows []Row
	last, left := 0.0, 167.0
	for _, r := range table(t, "cracks.csv") {
		row := Row{Upper: ptr(r["days"]), Weight: ptr(r["fail"])}
		if last > 0 {
			row.Lower = ptr(last)
		}
		rows = append(rows, row)
		last, left = r["days"], left-r["fail"]
	}
	rows = append(rows, Row{Lower: &last, Weight: &left})
	r := mustFit(t, FitInput{Rows: rows})
	within(t, "scale", r.Coefficients[0].LifeFactor, 2182.00414, 5e-6)
	within(t, "shape", r.Shape, 1.484767544, 5e-10)
	within(t, "log-likelihood", *r.LogLikelihood, -309.6311809, 5e-8)
	within(t, "SE", r.Coefficients[0].SE, 0.0744267, 5e-8)
	within(t, "SE", r.Coefficients[1].SE, 0.0986591, 5e-8)
}

// Device-A: -13.469, 0.628 and 0.978 are the book's; the rest our own run of
// survreg.
func TestDeviceA(t *testing.T) {
	r := mustFit(t, FitInput{Rows: device(t, 11605), Distribution: LogNormal, Quantiles: []float64{.01, .1, .5},
		Profiles: []Profile{{Covariates: map[string]float64{"x": 11605 / 283.15}}}})
	within(t, "b0", r.Coefficients[0].Estimate, -13.46864943, 5e-9)
	within(t, "activation energy", r.Coefficients[1].Estimate, 0.6278529575, 5e-11)
	within(t, "sigma", r.Sigma, 0.9778233, 5e-8)
	within(t, "log-likelihood", *r.LogLikelihood, -321.702778, 5e-7)
	within(t, "SE", r.Coefficients[0].SE, 2.887195, 5e-7)
	within(t, "SE", r.Coefficients[1].SE, 0.0828388, 5e-8)
	for i, want := range []float64{21793.40, 60535.71, 211952.97} {
		within(t, "quantile", r.Profiles[0].Ages[i].Estimate, want, 5e-3)
	}
	w := mustFit(t, FitInput{Rows: device(t, 11604.518)})
	within(t, "Weibull b0", w.Coefficients[0].Estimate, -13.31683246, 5e-9)
	within(t, "Weibull energy", w.Coefficients[1].Estimate, 0.63382472, 5e-9)
	within(t, "Weibull sigma", w.Sigma, 0.70698366, 5e-9)
	within(t, "Weibull log-likelihood", *w.LogLikelihood, -323.6187103, 5e-8)
}

// Our own run of R: a row without the covariate is left out, as there.
func TestMissingCovariate(t *testing.T) {
	r := mustFit(t, FitInput{Rows: lung(t, "age", "sex", "ph.karno"), Covariates: []string{"age", "sex", "ph.karno"}})
	for i, want := range []float64{5.326315831, -0.008910583, 0.370187051, 0.009264172} {
		within(t, r.Coefficients[i].Name, r.Coefficients[i].Estimate, want, 1e-9)
	}
	within(t, "sigma", r.Sigma, 0.7551445, 5e-8)
	within(t, "log-likelihood", *r.LogLikelihood, -1138.691784, 5e-7)
	within(t, "null", r.Null.LogLikelihood, -1147.488982, 5e-7)
	if r.Counts.LeftOut != 1 || r.Counts.Using != 227 || len(r.Notes) != 1 {
		t.Errorf("one row lacks ph.karno: %+v %v", r.Counts, r.Notes)
	}
}

// Our own run of predict(type = "quantile"), predict(type = "response") and
// concordance on survreg. The response is the scale of a life, which the share
// 1 − 1/e does not outlive.
func TestLungPrediction(t *testing.T) {
	r := mustFit(t, FitInput{Rows: lung(t, "age", "sex"), Quantiles: []float64{.1, .5, .9, 1 - 1/math.E}, Profiles: []Profile{
		{Covariates: map[string]float64{"age": 60, "sex": 1}}, {Covariates: map[string]float64{"age": 60, "sex": 2}}}})
	want := [][]float64{{68.34887113, 282.9152118, 699.5376511, 372.9769654}, {100.1541187, 414.5660818, 1025.0582899, 546.5368871}}
	se := []float64{9.247763, 22.450732, 57.288602}
	for i, p := range r.Profiles {
		for j, q := range p.Ages {
			near(t, "quantile", q.Estimate, want[i][j], 2.5e-10)
			if i == 0 && j < len(se) {
				within(t, "SE", q.SE, se[j], 5e-7)
			}
		}
	}
	within(t, "factor of sex", r.Coefficients[2].LifeFactor, 1.465337, 5e-7)
	c := r.Concordance
	if c.Concordant != 11911 || c.Discordant != 7792 || c.TiedFore != 311 || c.TiedAge+c.TiedBoth != 28 {
		t.Errorf("concordance: %+v", *c)
	}
	within(t, "concordance", c.Estimate, 0.602903, 5e-7)
	within(t, "SE", c.SE, 0.02548943, 5e-9)
}

// Our own run of concordance(Surv(futime, fustat) ~ age, ovarian): the older, the
// shorter, so the pairs are discordant.
func TestOvarianConcordance(t *testing.T) {
	var lives []Spoken
	for _, r := range table(t, "ovarian.csv") {
		lives = append(lives, Spoken{Exit: r["futime"], Event: r["fustat"] == 1, Forecast: r["age"], Weight: 1})
	}
	c, err := Concord(lives)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "concordance", c.Estimate, 0.2155963, 5e-8)
	if c.Concordant != 47 || c.Discordant != 171 {
		t.Errorf("%+v", c)
	}
}

// toy has ten lives with late entry; our own runs of optim and survfit in R.
func toy() (rows []Row) {
	entry := []float64{5, 10, 0, 12, 15, 20, 0, 8, 14, 3}
	exit := []float64{12, 18, 25, 25, 30, 30, 9, 22, 28, 16}
	for i, e := range []int{1, 1, 0, 1, 0, 0, 1, 1, 1, 0} {
		r := right(exit[i], e == 1)
		if entry[i] > 0 {
			r.Entry = ptr(entry[i])
		}
		rows = append(rows, r)
	}
	return rows
}

func withoutEntry(rows []Row) []Row {
	out := make([]Row, len(rows))
	for i, r := range rows {
		r.Entry = nil
		out[i] = r
	}
	return out
}

// The figures are those of optim; where it prints more digits than the differences
// by which it makes its matrix hold, as of Channing's errors, they are those of
// Newton's rule by the second derivatives, in R too.
func TestLateEntry(t *testing.T) {
	check := func(name string, r FitResult, figures, printed []float64) {
		t.Helper()
		got := []float64{r.Shape, r.Coefficients[0].LifeFactor, *r.LogLikelihood, r.Coefficients[len(r.Coefficients)-1].SE, r.Coefficients[0].SE}
		for i, want := range figures {
			within(t, fmt.Sprintf("%s: %s", name, []string{"shape", "scale", "log-likelihood", "SE of ln shape", "SE of ln scale"}[i]), got[i], want, printed[i])
		}
	}
	check("toy", mustFit(t, FitInput{Rows: toy()}), []float64{2.002018, 25.693639, -23.5799279, 0.474471, 0.212021}, []float64{5e-7, 5e-7, 5e-8, 5e-7, 5e-7})
	check("toy ignoring entry", mustFit(t, FitInput{Rows: withoutEntry(toy())}), []float64{2.663977, 28.165628, -24.8321054}, []float64{5e-7, 5e-7, 5e-8})

	women := channing(t)
	check("Channing", mustFit(t, FitInput{Rows: women}), []float64{9.615771, 1058.39495, -801.7470151, 0.115241741842, 0.010485579178}, []float64{5e-7, 5e-6, 5e-8, 5e-12, 5e-12})
	check("Channing ignoring entry", mustFit(t, FitInput{Rows: withoutEntry(women)}), []float64{14.84529, 1097.0022}, []float64{5e-6, 5e-5})
	e := mustFit(t, FitInput{Rows: women, Distribution: Exponential})
	near(t, "Channing rate", 1/e.Coefficients[0].LifeFactor, 129.0/29916, 1e-12)

	var own []Row
	for _, r := range table(t, "late200.csv") {
		row := right(r["exit"], r["event"] == 1)
		row.Entry, row.Covariates = ptr(r["entry"]), map[string]float64{"south": r["south"]}
		own = append(own, row)
	}
	r := mustFit(t, FitInput{Rows: own})
	check("late200", r, []float64{3.322719, 23.00645, -162.6170664, 0.135697, 0.069241}, []float64{5e-7, 5e-6, 5e-8, 5e-7, 5e-7})
	within(t, "location", r.Coefficients[0].Estimate, 3.135775, 5e-7)
	within(t, "south", r.Coefficients[1].Estimate, -0.359688, 5e-7)
	within(t, "south SE", r.Coefficients[1].SE, 0.095748, 5e-7)
	r = mustFit(t, FitInput{Rows: withoutEntry(own)})
	within(t, "ignoring entry, shape", r.Shape, 4.318915, 5e-7)
	within(t, "ignoring entry, location", r.Coefficients[0].Estimate, 3.172554, 5e-7)
	within(t, "ignoring entry, south", r.Coefficients[1].Estimate, -0.269145, 5e-7)
}

// channing is the women of Channing House, ages in months (Hyde 1980).
func channing(t testing.TB) (rows []Row) {
	for _, r := range table(t, "channing_women.csv") {
		if r["exit"] > r["entry"] {
			row := right(r["exit"], r["cens"] == 1)
			row.Entry = ptr(r["entry"])
			rows = append(rows, row)
		}
	}
	return rows
}

// Remaining life in closed form, checked by integration in R.
func TestTimeLeft(t *testing.T) {
	for _, c := range []struct{ k, eta, a, s, p10, p50, p90, mean, five, hazard float64 }{
		{2.5, 22, 15, 0.68122764327494, 1.5281445215693, 7.6626096741469, 17.665836763954, 8.8020555661068, 0.33244057082067, 0.063976458459047},
		{4, 25, 18, 0.76434305937816, 1.5517964600591, 6.758303379317, 13.657688018387, 7.2736432463482, 0.3608744723497, 0.05971968},
		{1.5, 30, 0, 1, 6.6922657691075, 23.49659306324, 52.311645407892, 27.082358788528, 0.065778186950586, 0},
		{1, 20, 10, 0.60653065971263, 2.1072103131565, 13.862943611199, 46.051701859881, 20, 0.2211992169286, 0.05},
	} {
		l := Life{Weibull, math.Log(c.eta), 1 / c.k}
		near(t, "survival", l.Survival(c.a), c.s, 1e-12)
		near(t, "p10", l.QuantileLeft(c.a, .1), c.p10, 1e-12)
		near(t, "p50", l.QuantileLeft(c.a, .5), c.p50, 1e-12)
		near(t, "p90", l.QuantileLeft(c.a, .9), c.p90, 1e-12)
		near(t, "mean", l.MeanLeft(c.a), c.mean, 1e-12)
		near(t, "within 5", l.ChanceWithin(c.a, 5), c.five, 1e-12)
		if c.a > 0 {
			near(t, "hazard", l.Hazard(c.a), c.hazard, 1e-12)
		}
	}
}

func curveRows(rows []Row, group string) (out []CurveRow) {
	for _, r := range rows {
		out = append(out, CurveRow{Entry: r.Entry, Exit: *r.Exit, Event: r.Event, Weight: r.Weight, Group: group})
	}
	return out
}

func mustCurve(t testing.TB, in CurveInput) CurveResult {
	t.Helper()
	r, err := Curve(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Our own runs of R's survfit.
func TestKaplanMeier(t *testing.T) {
	c := mustCurve(t, CurveInput{Rows: curveRows(nist(t), ""), Bands: Log}).Groups[0]
	for i, se := range []float64{.0487340, .0670820, .0798436, .0894427, .0968246, .1024695, .1066536, .1095445, .1112430, .1118034} {
		within(t, "S", c.Steps[i].Survival, 1-0.05*float64(i+1), 1e-12)
		within(t, "SE", c.Steps[i].SE, se, 5e-8)
	}
	within(t, "low at 386", *c.Steps[9].Low, .322579, 5e-7)
	within(t, "high at 386", *c.Steps[9].High, .775005, 5e-7)

	both := mustCurve(t, CurveInput{Rows: append(curveRows(remission(t, remission6MP, 0), "6-MP"), curveRows(remission(t, remissionPlacebo, 0), "placebo")...)})
	for i, want := range []struct{ age, s, se float64 }{{6, .857143, .0763604}, {7, .806723, .0869353}, {10, .752941, .0963497}, {13, .690196, .1068147},
		{16, .627451, .1140539}, {22, .537815, .1282338}, {23, .448179, .1345915}} {
		s := both.Groups[0].Steps[i]
		within(t, "age", s.Age, want.age, 0)
		within(t, "S", s.Survival, want.s, 5e-7)
		within(t, "SE", s.SE, want.se, 5e-8)
	}
	lr := both.LogRank
	if lr.Observed[0] != 9 || lr.Observed[1] != 21 || lr.Freedom != 1 {
		t.Errorf("log-rank: %+v", *lr)
	}
	within(t, "expected", lr.Expected[0], 19.2505, 5e-5)
	within(t, "expected", lr.Expected[1], 10.7495, 5e-5)
	within(t, "chi-square", lr.ChiSquare, 16.7929, 5e-5)
	within(t, "p", lr.P, 4.169e-05, 5e-9)

	for _, want := range []struct {
		bands                                Bands
		low180, high180, low365, high365     float64
		quartile, quartileLow, quartileUpper []float64
	}{
		{Log, .6655423, .7825326, .3447216, .4858376, []float64{170, 310, 550}, []float64{145, 285, 460}, []float64{197, 363, 654}},
		{LogLog, .6583045, .7753147, .3387143, .4783808, nil, nil, nil},
		{Plain, .6632394, .7801019, .3390286, .4794547, nil, nil, nil},
	} {
		c := mustCurve(t, CurveInput{Rows: curveRows(lung(t), ""), Bands: want.bands, At: []float64{180, 365}, Until: ptr(365.0)}).Groups[0]
		within(t, "S(180)", c.At[0].Survival, .7216706534, 5e-11)
		within(t, "SE", c.At[0].SE, .0298124195, 5e-11)
		within(t, "S(365)", c.At[1].Survival, .4092416245, 5e-11)
		within(t, "SE", c.At[1].SE, .0358236382, 5e-11)
		within(t, "low", *c.At[0].Low, want.low180, 5e-8)
		within(t, "high", *c.At[0].High, want.high180, 5e-8)
		within(t, "low", *c.At[1].Low, want.low365, 5e-8)
		within(t, "high", *c.At[1].High, want.high365, 5e-8)
		for i := range want.quartile {
			q := c.Quantiles[i]
			if *q.Age != want.quartile[i] || *q.Low != want.quartileLow[i] || *q.High != want.quartileUpper[i] {
				t.Errorf("quartile %d: %v (%v to %v)", i, *q.Age, *q.Low, *q.High)
			}
		}
		within(t, "H(180)", c.At[0].Hazard, .3248280895, 5e-11)
		within(t, "H(365)", c.At[1].Hazard, .8883245744, 5e-11)
		within(t, "SE", c.At[0].HazardSE, .0411366, 5e-8)
		within(t, "SE", c.At[1].HazardSE, .0869654, 5e-8)
		within(t, "mean", c.Mean.Mean, 263.221866, 5e-7)
		within(t, "SE", c.Mean.SE, 7.798859, 5e-7)
	}
}

// Our own runs of survfit(Surv(entry, exit, event) ~ 1).
func TestKaplanMeierLateEntry(t *testing.T) {
	c := mustCurve(t, CurveInput{Rows: curveRows(toy(), "")}).Groups[0]
	for i, want := range []struct{ age, risk, s, se, h float64 }{{9, 5, .8, .1788854, .2}, {12, 5, .64, .2023858, .4}, {18, 6, .5333333, .1947458, .5666667},
		{22, 6, .4444444, .1814437, .7333333}, {25, 5, .3555556, .1655021, .9333333}, {28, 3, .2370370, .1467589, 1.2666667}} {
		s := c.Steps[i]
		if s.Age != want.age || s.AtRisk != want.risk {
			t.Errorf("step %d: age %v with %v at risk", i, s.Age, s.AtRisk)
		}
		within(t, "S", s.Survival, want.s, 5e-8)
		within(t, "SE", s.SE, want.se, 5e-8)
		within(t, "H", s.Hazard, want.h, 5e-8)
	}
	c = mustCurve(t, CurveInput{Rows: curveRows(channing(t), ""), At: []float64{900, 1000, 1080}}).Groups[0]
	for i, want := range [][2]float64{{.8232748, .0568651}, {.5773341, .0490265}, {.2816222, .0400500}} {
		within(t, "S", c.At[i].Survival, want[0], 5e-8)
		within(t, "SE", c.At[i].SE, want[1], 5e-8)
	}
	var own []CurveRow
	for _, r := range table(t, "late200.csv") {
		own = append(own, CurveRow{Entry: ptr(r["entry"]), Exit: r["exit"], Event: ptr(Flag(r["event"] == 1))})
	}
	c = mustCurve(t, CurveInput{Rows: own, FromAge: ptr(5.0), At: []float64{10, 15, 20}}).Groups[0]
	for i, want := range []float64{.8828688, .6876486, .3068402} {
		within(t, "S from 5", c.At[i].Survival, want, 5e-8)
	}
}

// Valve seats of 41 engines (Nelson 1995): our own computation in R, the unbiased
// errors by the definition, each two ages at a time; R's survfit with units gives
// the same mean and robust error at 98, 166, 404 and 539.
func TestValveSeats(t *testing.T) {
	var rows []EventRow
	for _, r := range table(t, "valveSeat.csv") {
		rows = append(rows, EventRow{Unit: fmt.Sprint(r["id"]), Age: r["time"], Event: ptr(Flag(r["status"] == 1))})
	}
	got, err := Events(EventsInput{Rows: rows, At: []float64{60, 404.5}})
	if err != nil {
		t.Fatal(err)
	}
	want := table(t, "mcf_valve.csv")
	if len(got.Steps) != len(want) || got.Units != 41 || got.Events != 48 {
		t.Fatalf("%d steps of %d units with %d events", len(got.Steps), got.Units, got.Events)
	}
	for i, w := range want {
		s := got.Steps[i]
		if s.Age != w["t"] || float64(s.AtRisk) != w["n"] || float64(s.Events) != w["d"] {
			t.Errorf("step %d: %+v, want %v", i, s, w)
		}
		near(t, "mean", s.Mean, w["MCF"], 1e-12)
		near(t, "SE", s.SE, w["se_robust"], 1e-12)
		near(t, "Poisson SE", s.PoissonSE, w["se_poisson"], 1e-12)
		near(t, "unbiased SE", *s.UnbiasedSE, w["se_nelson"], 1e-12)
	}
	if got.At[0].Mean != 0 || got.At[0].AtRisk != 41 {
		t.Errorf("before the first event: %+v", got.At[0])
	}
	within(t, "at 404.5", got.At[1].Mean, .6835365854, 5e-11)

	// The last step was two seats of one engine at one age. Were one of them written
	// down a little later, after the watches that ended at that age, the mean would
	// be another: which is why events of one unit at one age are taken together.
	last := len(got.Steps) - 1
	within(t, "at 653", got.Steps[last].Mean, 1.5426875136, 5e-11)
	moved := false
	for i, r := range rows {
		if r.Age == 653 && bool(*r.Event) && !moved {
			rows[i].Age, moved = 653.1, true
		}
	}
	split, err := Events(EventsInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "one of two a little later", split.Steps[last+1].Mean, 1.574434, 5e-7)
}
