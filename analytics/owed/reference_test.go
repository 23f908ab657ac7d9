package owed

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mathext"
)

// Figures of published models that are made of the pieces here. testdata/figures.R
// makes those again that are own runs of R.

// same says of a figure printed to so many decimals whether it is that one.
func same(t *testing.T, what string, got, printed float64, decimals int) {
	t.Helper()
	if !(math.Abs(got-printed) <= 0.5001*math.Pow(10, -float64(decimals))) {
		t.Errorf("%s: got %.12g, want %.*f", what, got, decimals, printed)
	}
}

// The pumps of Gaver and O'Muircheartaigh 1987 where the prior itself is not known:
// α exponential of mean 1, β gamma of shape 0.1 and rate 1 (the model of the BUGS
// manual, whose own tables give α about 0.70 and β about 0.93, from memory). The
// figures are own runs of R by quadrature, from e^−12 to e^4 of α and e^−20 to e^5
// of β (cut at e^−5 they come out up to 3e-5 of themselves apart: α .69689, β
// .92549); here the likelihood of [FitGamma] and the rates of [Prior.Shrink] are
// integrated on an even grid of ln α and ln β.
func TestPumpsOfAnUnknownPrior(t *testing.T) {
	pumps := []Group{{5, 94.320}, {1, 15.720}, {5, 62.880}, {14, 125.760}, {3, 5.240}, {19, 31.440}, {1, 1.048}, {1, 1.048}, {4, 2.096}, {22, 10.480}}
	for i, raw := range []float64{.0530110, .0636132, .0795165, .1113232, .5725191, .6043257, .9541985, .9541985, 1.9083969, 2.0992366} {
		same(t, "a pump's own rate", pumps[i].Count/pumps[i].Years, raw, 7)
	}
	const steps = 200
	var sum, alpha, alpha2, beta, beta2 float64
	rates := make([]float64, len(pumps))
	for i := range steps + 1 {
		for j := range steps + 1 {
			logAlpha, logBeta := -12+16*float64(i)/steps, -20+25*float64(j)/steps
			p := Prior{Alpha: math.Exp(logAlpha), Beta: math.Exp(logBeta)}
			w := math.Exp(logLikelihood(p.Alpha, p.Beta, pumps) + 32 + logAlpha - p.Alpha + 0.1*logBeta - p.Beta)
			sum += w
			alpha, alpha2 = alpha+w*p.Alpha, alpha2+w*p.Alpha*p.Alpha
			beta, beta2 = beta+w*p.Beta, beta2+w*p.Beta*p.Beta
			for k, g := range pumps {
				rates[k] += w * p.Shrink(g).Rate
			}
		}
	}
	alpha, beta = alpha/sum, beta/sum
	same(t, "α", alpha, .6968723, 7)
	same(t, "its spread", math.Sqrt(alpha2/sum-alpha*alpha), .2706540, 7)
	same(t, "β", beta, .9254578, 7)
	same(t, "its spread", math.Sqrt(beta2/sum-beta*beta), .5421486, 7)
	for i, want := range []float64{.0598035, .1016949, .0892670, .1160066, .6014167, .6086502, .8939421, .8939421, 1.5890635, 1.9935387} {
		same(t, "a pump's rate", rates[i]/sum, want, 7)
	}
}

// Credibility after Bühlmann and Straub on Hachemeister's bodily injury claims of
// five states over twelve quarters (1975): an own run of cm of the R package actuar.
// Of its data, which are GPL, the totals alone are here, with the variances of that
// run; OVERHANG_CREDIBILITY names a folder that holds them all, hachemeister.csv.
func TestHachemeister(t *testing.T) {
	const collective, between, within = 1683.713437, 89638.7262328, 139120025.9252855
	states := []struct{ claims, amount, credibility, premium float64 }{
		{100155, 206411582, .9847404, 2055.165350}, {19895, 30065804, .9276352, 1523.706278}, {13735, 24803250, .8984754, 1793.443604},
		{4152, 5617556, .7279092, 1442.966549}, {36110, 57769811, .9587911, 1603.285404},
	}
	groups := make([]ownMean, len(states))
	for i, s := range states {
		groups[i].add(s.amount/s.claims, s.claims)
	}
	c := collect(groups, within, between)
	same(t, "collective", c.mean, collective, 6)
	for i, s := range states {
		mean, _ := c.shrink(groups[i])
		same(t, "credibility", c.credibility(groups[i]), s.credibility, 7)
		same(t, "premium", mean, s.premium, 6)
	}

	records := notKeptHere(t, "OVERHANG_CREDIBILITY", "hachemeister.csv")
	if records == nil {
		t.Log("OVERHANG_CREDIBILITY names no folder with Hachemeister's data; the totals stand in")
		return
	}
	var in CredibilityInput
	for _, record := range records { // the state, twelve ratios, twelve weights
		for q := range 12 {
			value, err := strconv.ParseFloat(record[1+q], 64)
			if err != nil {
				t.Fatal(err)
			}
			weight, err := strconv.ParseFloat(record[13+q], 64)
			if err != nil {
				t.Fatal(err)
			}
			in.Observations = append(in.Observations, Observation{Group: record[0], Value: value, Weight: &weight})
		}
	}
	r, err := Credibility(in)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "collective", r.Collective, collective, 6)
	same(t, "between", *r.Between, between, 7)
	same(t, "within", *r.Within, within, 5)
	for i, s := range states {
		same(t, "credibility", r.Groups[i].Credibility, s.credibility, 7)
		same(t, "premium", *r.Groups[i].Mean, s.premium, 6)
		same(t, "weight", r.Groups[i].Weight, s.claims, 0)
	}
}

// Invented mean costs of callbacks by crew and year, with their numbers, of crews
// that were not all there every year: own runs of actuar's cm. The second company's crews are alike,
// and the variance between them comes out below nought.
func TestCredibilityAgainstActuar(t *testing.T) {
	observe := func(crew string, pairs ...float64) (out []Observation) {
		for i := 0; i < len(pairs); i += 2 {
			out = append(out, Observation{Group: crew, Value: pairs[i], Weight: &pairs[i+1]})
		}
		return out
	}
	for _, c := range []struct {
		name                        string
		observations                [][]Observation
		collective, between, within float64
		credibility, mean           []float64
		note                        string
	}{
		{"crews that differ", [][]Observation{observe("a", 412, 6, 388, 11, 530, 9, 467, 14), observe("b", 655, 3, 701, 5, 598, 4),
			observe("c", 520, 2, 95, 1, 1210, 3, 640, 2), observe("d", 1480, 1)}, 670.65574268306, 39161.32290413616, 166210.49270833333,
			[]float64{.90407225554768, .73872287702218, .65336784201786, .19068499145001},
			[]float64{472.25189440270, 659.21360788582, 726.17192297409, 824.98554546966}, ""},
		{"crews alike", [][]Observation{observe("a", 400, 4, 700, 1, 500, 2), observe("b", 620, 2, 380, 3, 590, 6), observe("c", 510, 3, 530, 5, 560, 4)},
			521.33333333333, -1961.73041975090, 30558.22510822511, []float64{0, 0, 0}, []float64{521.33333333333, 521.33333333333, 521.33333333333}, "one_group_mean"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var in CredibilityInput
			for i := range 4 { // year by year, as a company would have them
				for _, o := range c.observations {
					if i < len(o) {
						in.Observations = append(in.Observations, o[i])
					}
				}
			}
			r, err := Credibility(in)
			if err != nil {
				t.Fatal(err)
			}
			same(t, "collective", r.Collective, c.collective, 11)
			same(t, "between", *r.Between, c.between, 9)
			same(t, "within", *r.Within, c.within, 9)
			for i, g := range r.Groups {
				same(t, "credibility of "+g.Group, g.Credibility, c.credibility[i], 12)
				same(t, "mean of "+g.Group, *g.Mean, c.mean[i], 11)
				if g.Observations != len(c.observations[i]) {
					t.Errorf("%s has %d observations", g.Group, g.Observations)
				}
			}
			if (c.note == "") != (len(r.Notes) == 0) || c.note != "" && r.Notes[0].Code != c.note {
				t.Errorf("notes: %+v", r.Notes)
			}
		})
	}
}

// Five coverings of a Weibull life of shape 4, three of them worn out, whose λ, the
// scale to the power −4, is gamma of shape 3 and rate 3·22⁴: worn out are so many in the
// fourth powers of their ages, as callbacks are in years. An own run of R, in closed form.
func TestGammaOfAWeibull(t *testing.T) {
	prior := Prior{Alpha: 3, Beta: 3 * math.Pow(22, 4)}
	var lived Group
	for i, age := range []float64{17, 19.5, 21, 16, 20} {
		lived.Years += math.Pow(age, 4)
		lived.Count += []float64{1, 1, 0, 0, 1}[i]
	}
	s := prior.Shrink(lived)
	same(t, "rate of the posterior", s.Rate/(s.SD*s.SD), 1350896.0625, 4)
	same(t, "its shape", s.Rate*s.Rate/(s.SD*s.SD), 6, 9)
	same(t, "λ", s.Rate*1e6, 4.441496, 6)
	// The chance of none worn out up to an age.
	outlives := func(age float64) float64 {
		return math.Exp(logLikelihood(6, 1350896.0625, []Group{{0, math.Pow(age, 4)}}))
	}
	same(t, "S(20)", outlives(20), .5108860905, 10)
	same(t, "S(25) of those that reach 20", outlives(25)/outlives(20), .4264176265, 10)
	same(t, "what half outlive", outlives(20.16767638), .5, 8)
}

// What the run of actuar's aggregateDist prints of the example of Loss Models is
// cut where its chances add up to 0.999999, at 62,000; so cut, ours are the same.
func TestKlugmanAsPrinted(t *testing.T) {
	l, err := Compound(Count{Mean: 10}, klugman, 500)
	if err != nil {
		t.Fatal(err)
	}
	sum := func(from, power float64) (out float64) {
		for i, p := range l.P[:62000/500+1] {
			if x := 500 * float64(l.First+i); x > from {
				out += p * math.Pow(x, power)
			}
		}
		return out
	}
	mean := sum(-1, 1)
	same(t, "mean", mean, 18499.94392, 5)
	// It takes the spread about that mean, over what is left.
	same(t, "spread", math.Sqrt(sum(-1, 2)-2*mean*mean+mean*mean*sum(-1, 0)), 6900.953215, 6)
	for q, want := range map[float64]float64{.9: 31828.03696, .95: 34487.60004, .99: 40453.18391} {
		same(t, "mean beyond a quantile", sum(l.Quantile(q), 1)/sum(l.Quantile(q), 0), want, 5)
	}
}

// Gamma(2, 1) on steps of a half up to 22 by the ways of actuar's discretize:
// [Discretise] keeps the mean, rounding and the bounds from below and above are made
// here of its distribution. All are compounded by [Compound]. Values: own run of
// aggregateDist, which lets go of what lies beyond 22 and of the last millionth.
func TestDiscretisedAsPrinted(t *testing.T) {
	below := func(x float64) float64 { return 1 - math.Exp(-x)*(1+x) }
	unbiased := Discretise(func(u float64) float64 { return 2 - math.Exp(-u)*(2+u) }, .5, 44)
	unbiased[44] -= 1 - below(22)
	rounding, lower, upper := make([]float64, 44), make([]float64, 45), make([]float64, 44)
	for i := range 44 {
		x := float64(i) / 2
		rounding[i] = below(x+.25) - below(max(0, x-.25))
		upper[i] = below(x+.5) - below(x)
		lower[i+1] = upper[i]
	}
	for _, c := range []struct {
		name            string
		severity, first []float64
		end             float64
		f20             float64
		f20Decimals     int
		mean            float64
		meanDecimals    int
		quantiles       []float64
	}{
		{"unbiased", unbiased, []float64{.03265329856, .1419700499, .1800111255, .1661366708}, 71, .5470771014, 10, 19.99993673, 8, []float64{19.5, 30.5, 34, 41}},
		{"rounding", rounding, []float64{.02649902116, .1468595115, .1820056744}, 71, .5471730011, 10, 19.998438568672, 8, []float64{19.5, 30.5, 34, 41}},
		{"lower", lower, []float64{0, .09020401043, .1740371072}, 76.5, .4248835, 7, 22.50164, 5, []float64{22, 33.5, 37.5, 45}},
		{"upper", upper, []float64{.09020401043, .1740371072}, 65, .6776865, 7, 17.50165, 5, []float64{17, 27, 30.5, 37}},
	} {
		total := 0.0
		for _, p := range c.severity {
			total += p
		}
		for i, want := range c.first {
			same(t, c.name, c.severity[i], want, 10)
		}
		// So many claims with a cost that is told, and none beyond.
		l, err := Compound(Count{Mean: 10 * total}, c.severity, .5)
		if err != nil {
			t.Fatal(err)
		}
		told := math.Exp(10 * (total - 1))
		same(t, c.name+", F(20)", told*l.At(20), c.f20, c.f20Decimals)
		mean := 0.0
		for i, p := range l.P[:int(2*c.end)+1] {
			mean += told * p * float64(i) / 2
		}
		same(t, c.name+", mean", mean, c.mean, c.meanDecimals)
		for i, q := range []float64{.5, .9, .95, .99} {
			if got := l.Quantile(q); got != c.quantiles[i] {
				t.Errorf("%s, quantile %v: got %v, want %v", c.name, q, got, c.quantiles[i])
			}
		}
	}
}

// Approximations of ten such claims by their first moments, mean 20, variance 60,
// skewness 0.516398: the normal's 95 % point 32.74098141, the normal power's 33.87801086 and
// 40.96107736 (own run of aggregateDist). They are not offered here: the lattice
// is exact. Made of the lattice's moments they are those, and the normal power
// lies within a step of the lattice's own points, the normal not.
func TestMomentsAlone(t *testing.T) {
	const step = .01
	l, err := Compound(Count{Mean: 10}, Discretise(func(u float64) float64 { return 2 - math.Exp(-u)*(2+u) }, step, 4000), step)
	if err != nil {
		t.Fatal(err)
	}
	mean, sd := l.Moments()
	skew := 0.0
	for i, p := range l.P {
		skew += p * math.Pow((float64(l.First+i)*step-mean)/sd, 3)
	}
	same(t, "mean", mean, 20, 7)
	same(t, "variance", sd*sd, 60, 3)
	same(t, "skewness", skew, .516398, 5)
	for _, c := range []struct{ level, normal, power float64 }{{.95, 32.74098141, 33.87801086}, {.99, math.NaN(), 40.96107736}} {
		z := mathext.NormalQuantile(c.level)
		if c.level == .95 {
			same(t, "normal", mean+sd*z, c.normal, 3)
			if l.Quantile(c.level)-c.normal < 1 {
				t.Errorf("the normal's point %v does not fall short of %v", c.normal, l.Quantile(c.level))
			}
		}
		same(t, "normal power", mean+sd*(z+skew/6*(z*z-1)), c.power, 3)
		if math.Abs(l.Quantile(c.level)-c.power) > .25 {
			t.Errorf("the normal power's point %v, the lattice's %v", c.power, l.Quantile(c.level))
		}
	}
}

// The triangle of the Reinsurance Association of America that Mack 1994 uses: 26880.74
// is in the tests of the R package ChainLadder, the rest own runs of Mack's
// formulae in R. The file is that package's (GPL), so it is not here:
// OVERHANG_TRIANGLES names a folder that holds it, tri_RAA.csv.
func TestRAA(t *testing.T) {
	records := notKeptHere(t, "OVERHANG_TRIANGLES", "tri_RAA.csv")
	if records == nil {
		t.Log("OVERHANG_TRIANGLES names no folder with triangles; that of Taylor and Ashe stands in")
		return
	}
	var rows [][]float64
	for _, record := range records {
		var row []float64
		for _, cell := range record {
			if cell == "" {
				break
			}
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, v)
		}
		rows = append(rows, row)
	}
	for rule, want := range map[LastSigma]float64{MackSigma: 26909.0111556, LogLinearSigma: 26880.7403299} {
		r, err := ChainLadder(TriangleInput{Cumulative: rows, LastSigma: rule})
		if err != nil {
			t.Fatal(err)
		}
		same(t, "reserve", r.Total.Reserve, 52135.2282612, 7)
		same(t, "standard error", *r.Total.StandardError, want, 7)
	}
}

// notKeptHere reads the rows below the head of a file that may not be kept here, from a
// folder that the environment names; nil where it names none.
func notKeptHere(t *testing.T, folder, name string) [][]string {
	t.Helper()
	at := os.Getenv(folder)
	if at == "" {
		return nil
	}
	file, err := os.Open(filepath.Join(at, name))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return records[1:]
}
