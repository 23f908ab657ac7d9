package survival

import (
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

func mustPool(t testing.TB, in PoolInput) PoolResult {
	t.Helper()
	r, err := Pool(in)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Status.Converged {
		t.Fatalf("not converged: %+v", r.Status)
	}
	return r
}

// company is an invented one whose lives are known.
type company struct {
	median, shape       map[string]float64
	neighbourhood, eras map[string]float64 // effects
	lag                 float64
}

// town is a company with two coverings, twelve neighbourhoods and five eras.
func town(seed uint64, spread float64) company {
	rng := rand.New(rand.NewPCG(seed, 91))
	c := company{median: map[string]float64{"strip": 18, "laminated": 26}, shape: map[string]float64{"strip": 4.5, "laminated": 5},
		neighbourhood: map[string]float64{}, eras: map[string]float64{}, lag: 2}
	for i := range 12 {
		c.neighbourhood[fmt.Sprint("n", i)] = spread * rng.NormFloat64()
	}
	for i := range 5 {
		c.eras[fmt.Sprint("era", i)] = spread * rng.NormFloat64()
	}
	return c
}

// watch gives n lives: houses of watched neighbourhoods, their coverings 0 to 20
// years old when the watch of 12 years began. A tenth ends for a storm.
func (c company) watch(t testing.TB, seed uint64, n int, first ...string) []PoolRow {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 92))
	var rows []PoolRow
	coverings := first
	if coverings == nil {
		coverings = []string{"strip", "laminated"}
	}
	for len(rows) < n {
		covering := coverings[rng.IntN(len(coverings))]
		place, era := fmt.Sprint("n", rng.IntN(12)), fmt.Sprint("era", rng.IntN(5))
		life := c.median[covering] * math.Pow(rng.ExpFloat64()/math.Ln2, 1/c.shape[covering]) * math.Exp(c.neighbourhood[place]+c.eras[era])
		end := life + c.lag*rng.ExpFloat64()
		o := Own{WatchedFrom: 20 * rng.Float64(), Ended: Wear}
		last := o.WatchedFrom + 12
		storm := rng.ExpFloat64() * 120
		if end <= o.WatchedFrom {
			continue // gone before the watch, and nobody knows of it
		}
		switch {
		case o.WatchedFrom+storm < min(end, last):
			o.LastAge, o.Ended = o.WatchedFrom+storm, Storm
		case end < last:
			o.LastAge = end
		default:
			o.LastAge, o.Ended = last, ""
		}
		made, _, err := OwnRows([]Own{o}, c.lag)
		if err != nil || len(made) != 1 {
			t.Fatal(err, made)
		}
		rows = append(rows, PoolRow{Row: made[0], Covering: covering, Groups: map[string]string{"neighbourhood": place, "era": era}})
	}
	return rows
}

var believed = []PoolPrior{
	{Covering: "strip", MedianYears: 18, LogMedianSD: 0.15, Shape: 4.8, LogShapeSD: 0.25},
	{Covering: "laminated", MedianYears: 26, LogMedianSD: 0.15, Shape: 4.9, LogShapeSD: 0.25},
	{Covering: "slate", MedianYears: 65, LogMedianSD: 0.2, Shape: 3.2, LogShapeSD: 0.25},
}

// The truth lies where the posterior says, as often as it says, over invented
// companies that differ in their neighbourhoods and eras.
func TestPoolRecoversTheTruth(t *testing.T) {
	var inside, all, effectsInside, effects int
	var squares, prior float64
	for seed := range uint64(6) {
		c := town(seed, 0.1)
		r := mustPool(t, PoolInput{Rows: c.watch(t, seed, 200), Coverings: believed, LagYears: c.lag})
		for _, p := range r.Coverings[:2] {
			// The median of a typical group is not quite that of these groups.
			all++
			if math.Abs(math.Log(p.MedianYears/c.median[p.Covering])) < 1.96*p.LogMedianSD {
				inside++
			}
		}
		for _, g := range r.Groups {
			truth := c.neighbourhood[g.Group]
			if g.Kind == "era" {
				truth = c.eras[g.Group]
			}
			effects++
			if math.Abs(g.Effect-truth) < 1.96*g.SD {
				effectsInside++
			}
			squares += (g.Effect - truth) * (g.Effect - truth)
			prior += truth * truth
		}
		for _, s := range r.Spreads {
			if !(s.Spread > 0.02 && s.Spread < 0.25) {
				t.Errorf("seed %d: the spread of %s is %.3f, invented with 0.1", seed, s.Kind, s.Spread)
			}
		}
	}
	t.Logf("medians inside their 95 %% limits: %d of %d; effects: %d of %d, with %.0f %% of the square error of none",
		inside, all, effectsInside, effects, 100*squares/prior)
	if inside < all-4 || float64(effectsInside) < 0.89*float64(effects) {
		t.Errorf("the limits hold too little")
	}
	if squares > 0.6*prior {
		t.Errorf("the effects are no nearer the truth than nought: %v of %v", squares, prior)
	}
}

// With a prior whose median is half as long again as the truth, own lives pull
// it right. How many that takes is printed.
func TestWrongPriorIsPulledRight(t *testing.T) {
	counts := []int{0, 10, 20, 40, 80, 160, 320}
	const companies = 12
	wrong := []PoolPrior{{Covering: "strip", MedianYears: 27, LogMedianSD: 0.15, Shape: 4.8, LogShapeSD: 0.25}}
	c := company{median: map[string]float64{"strip": 18}, shape: map[string]float64{"strip": 4.5}, lag: 2}
	errors := make([]float64, len(counts)) // root of the mean square of ln(median/true)
	ended := make([]float64, len(counts))
	for seed := range uint64(companies) {
		rows := c.watch(t, 100+seed, counts[len(counts)-1], "strip")
		for i := range rows {
			rows[i].Groups = nil
		}
		for i, n := range counts {
			p := mustPool(t, PoolInput{Rows: rows[:n], Coverings: wrong, LagYears: c.lag}).Coverings[0]
			e := math.Log(p.MedianYears / 18)
			errors[i] += e * e / companies
			ended[i] += p.Events / companies
		}
	}
	within := -1
	for i, n := range counts {
		errors[i] = math.Sqrt(errors[i])
		t.Logf("%3d lives, %5.1f of them worn out: the median is wrong by %4.1f %%", n, ended[i], 100*math.Expm1(errors[i]))
		if within < 0 && errors[i] < math.Log(1.1) {
			within = i
		}
	}
	if within < 0 {
		t.Fatal("the median is never within 10 %")
	}
	t.Logf("A prior half as long again as the truth is within 10 %% after %d watched lives, of which %.0f wore out.", counts[within], ended[within])
	if counts[within] > 80 {
		t.Errorf("it takes %d lives", counts[within])
	}
	if !(errors[0] > 0.4) || errors[len(errors)-1] > 0.05 {
		t.Errorf("from %v to %v", errors[0], errors[len(errors)-1])
	}
	for i := 1; i < len(errors); i++ {
		if errors[i] > errors[i-1] {
			t.Errorf("%d lives leave it more wrong than %d: %v, %v", counts[i], counts[i-1], errors[i], errors[i-1])
		}
	}
}

// Without rows the priors come back, to the digit.
func TestPoolWithoutRows(t *testing.T) {
	r := mustPool(t, PoolInput{Coverings: believed})
	for i, c := range r.Coverings {
		p := believed[i]
		if c.MedianYears != p.MedianYears || c.LogMedianSD != p.LogMedianSD || c.Shape != p.Shape || c.LogShapeSD != p.LogShapeSD || c.Moved != 1 || c.Weight != 0 {
			t.Errorf("%+v, want %+v", c, p)
		}
	}
	// One without rows keeps its prior where others have some.
	c := town(1, 0.1)
	r = mustPool(t, PoolInput{Rows: c.watch(t, 1, 50), Coverings: believed, LagYears: 2})
	if slate := r.Coverings[2]; slate.MedianYears != 65 || slate.LogMedianSD != 0.2 || slate.Weight != 0 {
		t.Errorf("%+v", slate)
	}
}

// With a flat prior and no groups the top is the fit's.
func TestPoolIsTheFitWhereThePriorIsFlat(t *testing.T) {
	c := town(3, 0)
	pooled := c.watch(t, 3, 400, "strip")
	rows := make([]Row, len(pooled))
	for i := range pooled {
		pooled[i].Groups = nil
		rows[i] = pooled[i].Row
	}
	flat := []PoolPrior{{Covering: "strip", MedianYears: 18, LogMedianSD: 1000, Shape: 4.8, LogShapeSD: 1000}}
	r := mustPool(t, PoolInput{Rows: pooled, Coverings: flat, LagYears: 2}).Coverings[0]
	f := mustFit(t, FitInput{Rows: rows, LagYears: 2, Quantiles: []float64{0.5}})
	half := f.Profiles[0].Ages[0]
	near(t, "median", r.MedianYears, half.Estimate, 1e-6)
	near(t, "its standard error", r.LogMedianSD*r.MedianYears, half.SE, 1e-5)
	near(t, "shape", r.Shape, f.Shape, 1e-6)
	last := len(f.Covariance) - 1
	near(t, "its standard error", r.LogShapeSD, math.Sqrt(f.Covariance[last][last]), 1e-5)
}

// schools are the effects of coaching on tests in eight schools and their
// standard errors: Rubin 1981, in Gelman and others, Bayesian Data Analysis,
// table 5.2 (from memory, as are the medians of table 5.3).
var schools = []struct{ effect, se, median float64 }{
	{28, 15, 10}, {8, 10, 8}, {-3, 16, 7}, {7, 11, 8}, {-1, 9, 5}, {1, 11, 6}, {18, 10, 10}, {12, 18, 8},
}

// The pooling itself, told normal means in place of lives: against the integrals
// of Bayesian Data Analysis, section 5.4, in closed form at a given spread, and
// against the book's own medians, which are from 200 draws; the first school's
// distribution is lopsided, and its mean lies above its median.
func TestPoolingOfEightSchools(t *testing.T) {
	const scale = 30.0 // near enough flat: the book's prior
	p := pooling{
		mean: make([]float64, 9), precision: []float64{1e-8}, kind: make([]int, 8), kinds: 1, scale: scale,
		longest: func([]float64, []float64) float64 { return 1 },
		likelihood: func(theta []float64) (float64, []float64, [][]float64) {
			value, gradient, information := 0.0, make([]float64, 9), square(9)
			for i, s := range schools {
				w := 1 / (s.se * s.se)
				d := s.effect - theta[0] - theta[1+i]
				value -= w * d * d / 2
				gradient[0] += w * d
				gradient[1+i] += w * d
				information[0][0] += w
				information[0][1+i] += w
				information[1+i][0] += w
				information[1+i][1+i] += w
			}
			return value, gradient, information
		},
	}
	got := p.posterior()
	if !got.status.Converged {
		t.Fatal(got.status)
	}
	// moments gives, at a spread, the weight of that spread, the mean of μ and of
	// each school.
	moments := func(spread float64) (weight, mu, variance float64, school [8]float64) {
		var sum, logWeight float64
		for _, s := range schools {
			w := 1 / (s.se*s.se + spread*spread)
			sum += w
			mu += w * s.effect
			logWeight += math.Log(w) / 2
		}
		mu /= sum
		for i, s := range schools {
			w := 1 / (s.se*s.se + spread*spread)
			logWeight -= w * (s.effect - mu) * (s.effect - mu) / 2
			keep := spread * spread * w
			school[i] = keep*s.effect + (1-keep)*mu
		}
		return math.Exp(logWeight-math.Log(sum)/2) * math.Exp(-spread*spread/(2*scale*scale)), mu, 1 / sum, school
	}
	integral := func(of func(spread float64) float64) float64 {
		// The grid's own range, in pieces, as the weight is flat at its start.
		total := 0.0
		for _, ends := range [][2]float64{{1, 5}, {5, 20}, {20, 60}, {60, 120}} {
			total += quad.Fixed(of, ends[0], ends[1], 60, quad.Legendre{}, 0)
		}
		return total
	}
	all := integral(func(s float64) float64 { w, _, _, _ := moments(s); return w })
	expect := func(of func(spread float64) float64) float64 {
		return integral(func(s float64) float64 { w, _, _, _ := moments(s); return w * of(s) }) / all
	}
	mu := expect(func(s float64) float64 { _, m, _, _ := moments(s); return m })
	square := expect(func(s float64) float64 { _, m, v, _ := moments(s); return v + m*m })
	within(t, "μ", got.mean[0], mu, 0.01)
	near(t, "its sd", math.Sqrt(got.covariance[0][0]), math.Sqrt(square-mu*mu), 0.01)
	near(t, "the spread", got.spread[0], expect(func(s float64) float64 { return s }), 0.01)
	for i, s := range schools {
		want := expect(func(s float64) float64 { _, _, _, school := moments(s); return school[i] })
		within(t, fmt.Sprint("school ", i), got.mean[0]+got.mean[1+i], want, 0.03)
		within(t, fmt.Sprint("school ", i, " of the book"), got.mean[0]+got.mean[1+i], s.median, 2)
	}
}

// At a spread that is known the shrinkage is that of Efron and Morris, Stein's
// paradox in statistics (1977), whose eighteen batting averages keep 0.212 of
// their distance from the mean of 0.265 (from memory): Clemente's .400 becomes
// .294, and Alvis's .156 becomes .242.
func TestPoolingOfBattingAverages(t *testing.T) {
	const keep, mean = 0.212, 0.265
	batted := []float64{0.400, 0.156}
	p := pooling{
		mean: []float64{mean, 0, 0}, precision: []float64{1e14}, kind: []int{0, 0}, kinds: 1, scale: 1,
		longest: func([]float64, []float64) float64 { return 1 },
		likelihood: func(theta []float64) (float64, []float64, [][]float64) {
			const w = 1 / 0.004332 // .265·(1 − .265)/45
			value, gradient, information := 0.0, make([]float64, 3), square(3)
			for i, y := range batted {
				d := y - theta[0] - theta[1+i]
				value -= w * d * d / 2
				gradient[0] += w * d
				gradient[1+i] += w * d
				information[0][0] += w
				information[0][1+i] += w
				information[1+i][0] += w
				information[1+i][1+i] += w
			}
			return value, gradient, information
		},
	}
	spread := math.Sqrt(0.004332 * keep / (1 - keep))
	c := p.top([]float64{math.Log(spread)}, p.mean)
	if !c.status.Converged {
		t.Fatal(c.status)
	}
	for i, want := range []float64{0.294, 0.242} {
		within(t, "the average", c.theta[0]+c.theta[1+i], want, 0.0006)
	}
}

// anyPool draws rows of every kind with two coverings and up to two kinds of
// groups.
func anyPool(t *rapid.T) PoolInput {
	in := PoolInput{Coverings: believed, LagYears: rapid.SampledFrom([]float64{0, 2, 30}).Draw(t, "lag"),
		SpreadScale: rapid.SampledFrom([]float64{0, 0.01, 1}).Draw(t, "scale")}
	for range rapid.IntRange(1, 25).Draw(t, "rows") {
		r := PoolRow{Row: anyRow(t), Covering: rapid.SampledFrom([]string{"strip", "laminated"}).Draw(t, "covering"), Groups: map[string]string{}}
		r.EntryStanding = r.EntryStanding && r.Entry != nil
		for _, kind := range []string{"neighbourhood", "era"} {
			if g := rapid.SampledFrom([]string{"", "a", "b", "c"}).Draw(t, kind); g != "" {
				r.Groups[kind] = g
			}
		}
		in.Rows = append(in.Rows, r)
	}
	return in
}

func TestPoolProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyPool(t)
		r, err := Pool(in)
		if err != nil {
			t.Fatal(err)
		}
		if !r.Status.Converged {
			t.Fatalf("not converged: %+v", r.Status)
		}
		finite := func(what string, values ...float64) {
			for _, v := range values {
				if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
					t.Fatalf("%s: %v", what, values)
				}
			}
		}
		for _, c := range r.Coverings {
			finite(c.Covering, c.MedianYears, c.Low, c.High, c.LogMedianSD, c.Shape, c.LogShapeSD, c.Moved, c.Weight, 1-c.Weight)
		}
		for _, g := range r.Groups {
			finite(g.Group, g.SD, g.LifeFactor)
		}
		// The order of rows, and with it of groups, does not matter, as far as each
		// cell of the grid is sought.
		const near = 1e-3
		turned := in
		turned.Rows = slices.Clone(in.Rows)
		slices.Reverse(turned.Rows)
		s, err := Pool(turned)
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range r.Coverings {
			if d := s.Coverings[i]; math.Abs(math.Log(c.MedianYears/d.MedianYears)) > near*c.LogMedianSD || math.Abs(c.LogMedianSD/d.LogMedianSD-1) > near {
				t.Fatalf("turned: %+v, %+v", c, d)
			}
		}
		for i, g := range r.Groups {
			if h := s.Groups[i]; h.Group != g.Group || math.Abs(g.Effect-h.Effect) > near*g.SD {
				t.Fatalf("turned: %+v, %+v", g, h)
			}
		}
		// Other names of groups, in another order, give the same effects.
		renamed := in
		renamed.Rows = slices.Clone(in.Rows)
		for i, row := range renamed.Rows {
			groups := map[string]string{}
			for k, g := range row.Groups {
				groups[k] = string('z' - g[0] + 'a')
			}
			renamed.Rows[i].Groups = groups
		}
		if s, err = Pool(renamed); err != nil {
			t.Fatal(err)
		}
		for _, g := range r.Groups {
			i := slices.IndexFunc(s.Groups, func(h PooledGroup) bool {
				return h.Kind == g.Kind && h.Group == string('z'-g.Group[0]+'a')
			})
			if math.Abs(g.Effect-s.Groups[i].Effect) > near*g.SD {
				t.Fatalf("renamed: %+v, %+v", g, s.Groups[i])
			}
		}
	})
}

// Twice the rows are the rows with twice the weight, and without groups, whose
// spread may come out larger, know more.
func TestPoolOfRowsTwice(t *testing.T) {
	c := town(5, 0.1)
	in := PoolInput{Rows: c.watch(t, 5, 100), Coverings: believed, LagYears: 2}
	for _, grouped := range []bool{true, false} {
		twice, weighed := in, in
		twice.Rows = slices.Concat(in.Rows, in.Rows)
		weighed.Rows = slices.Clone(in.Rows)
		for i := range weighed.Rows {
			weighed.Rows[i].Weight = ptr(2.0)
		}
		once, a, b := mustPool(t, in), mustPool(t, twice), mustPool(t, weighed)
		for i, c := range a.Coverings[:2] {
			near(t, "median", c.MedianYears, b.Coverings[i].MedianYears, 1e-5)
			near(t, "sd", c.LogMedianSD, b.Coverings[i].LogMedianSD, 1e-4)
			if o := once.Coverings[i]; !grouped && !(c.LogMedianSD < o.LogMedianSD && c.Weight > o.Weight && c.LogShapeSD < o.LogShapeSD) {
				t.Errorf("twice the rows know less: %+v, %+v", c, o)
			}
		}
		in.Rows = slices.Clone(in.Rows)
		for i := range in.Rows {
			in.Rows[i].Groups = nil
		}
	}
}

// The analytic derivatives against central differences.
func TestPoolDerivatives(t *testing.T) {
	c := town(7, 0.1)
	in := PoolInput{Rows: c.watch(t, 7, 60), Coverings: believed, LagYears: 2, SpreadScale: 0.1}
	l, _, err := in.read()
	if err != nil {
		t.Fatal(err)
	}
	theta := slices.Clone(l.start)
	rng := rand.New(rand.NewPCG(7, 7))
	for j := range theta {
		theta[j] += 0.1 * rng.NormFloat64()
	}
	_, gradient, information := l.at(theta)
	for j := range theta {
		const h = 1e-5
		up, down := slices.Clone(theta), slices.Clone(theta)
		up[j] += h
		down[j] -= h
		v, g, _ := l.at(up)
		w, f, _ := l.at(down)
		within(t, "slope", gradient[j], (v-w)/(2*h), 1e-5*(1+math.Abs(gradient[j])))
		for k := range theta {
			within(t, "bend", -information[j][k], (g[k]-f[k])/(2*h), 1e-4*(1+math.Abs(information[j][k])))
		}
	}
}

// Laplace's method and the grid against the whole integral, where that can be
// done: one covering and two groups.
func TestPoolAgainstTheIntegral(t *testing.T) {
	c := company{median: map[string]float64{"strip": 18}, shape: map[string]float64{"strip": 4.8},
		neighbourhood: map[string]float64{"n0": 0.15, "n1": -0.15}}
	rows := slices.DeleteFunc(c.watch(t, 9, 200, "strip"), func(r PoolRow) bool {
		n := r.Groups["neighbourhood"]
		delete(r.Groups, "era")
		return n != "n0" && n != "n1"
	})
	if len(rows) < 20 {
		t.Fatal(len(rows))
	}
	// A shape that is as good as known leaves three parameters and the spread.
	prior := []PoolPrior{{Covering: "strip", MedianYears: 18, LogMedianSD: 0.15, Shape: 4.8, LogShapeSD: 1e-6}}
	in := PoolInput{Rows: rows, Coverings: prior, SpreadScale: 0.1}
	r := mustPool(t, in)
	l, _, err := in.read()
	if err != nil {
		t.Fatal(err)
	}
	var sum, m, mm, u, s float64
	const n = 61
	normal := distuv.Normal{Mu: 0, Sigma: 1}
	shift, _, _ := l.at(l.start)
	likelihood := map[[2]int]float64{}
	for i := range n { // ln median, about the prior's
		for j := range n { // n0
			for k := range n { // n1
				a, b, d := 1.2*(float64(i)/(n-1)-0.5), 1.2*(float64(j)/(n-1)-0.5), 1.2*(float64(k)/(n-1)-0.5)
				// The rows of one group hang on the sum alone.
				of := func(which int, effect int) float64 {
					key := [2]int{which, i + effect}
					v, done := likelihood[key]
					if !done {
						for x := range l.rows {
							if l.groups[x][0] == 2+which {
								at := math.Log(18) + 1.2*(float64(i+effect)/(n-1)-1)
								v += l.rows[x].weight * l.rows[x].of(Weibull, at+belowMedian/4.8, 1/4.8).value
							}
						}
						likelihood[key] = v
					}
					return v
				}
				p := math.Exp(of(0, j)+of(1, k)-shift) * normal.Prob(a/0.15)
				for x := range 24 {
					spread := 0.4 * (float64(x) + 0.5) / 24
					w := p * normal.Prob(b/spread) / spread * normal.Prob(d/spread) / spread * normal.Prob(spread/0.1)
					sum, m, mm, u, s = sum+w, m+w*a, mm+w*a*a, u+w*b, s+w*spread
				}
			}
		}
	}
	m, mm, u, s = m/sum, mm/sum, u/sum, s/sum
	got := r.Coverings[0]
	within(t, "ln median", math.Log(got.MedianYears/18), m, 0.01)
	near(t, "its sd", got.LogMedianSD, math.Sqrt(mm-m*m), 0.1)
	i := slices.IndexFunc(r.Groups, func(g PooledGroup) bool { return g.Group == "n0" })
	within(t, "effect", r.Groups[i].Effect, u, 0.012)
	within(t, "spread", r.Spreads[0].Spread, s, 0.012)
}

func TestPooledOf(t *testing.T) {
	c := town(11, 0.1)
	r := mustPool(t, PoolInput{Rows: c.watch(t, 11, 200), Coverings: believed, LagYears: 2})
	if _, found := r.Of("thatch", nil); found {
		t.Error("a covering that is not there was found")
	}
	typical, _ := r.Of("strip", nil)
	here, _ := r.Of("strip", map[string]string{"neighbourhood": "n1", "era": "era1"})
	elsewhere, _ := r.Of("strip", map[string]string{"neighbourhood": "n1", "era": "never seen"})
	p := r.Coverings[0]
	within(t, "typical", typical.LogMedian, math.Log(p.MedianYears), 1e-12)
	if !(typical.SD > p.LogMedianSD && here.SD < elsewhere.SD) {
		t.Errorf("%+v %+v %+v", typical, here, elsewhere)
	}
	effects := 0.0
	for _, g := range r.Groups {
		if g.Group == "n1" || g.Group == "era1" {
			effects += g.Effect
		}
	}
	within(t, "here", here.LogMedian, typical.LogMedian+effects, 1e-12)
}

func TestPoolRefusals(t *testing.T) {
	row := PoolRow{Row: right(10, true), Covering: "strip"}
	with := func(change func(*PoolInput)) PoolInput {
		in := PoolInput{Rows: []PoolRow{row}, Coverings: slices.Clone(believed)}
		change(&in)
		return in
	}
	for want, in := range map[string]PoolInput{
		"coverings: give at least one": {},
		"lag_years: ":                  with(func(in *PoolInput) { in.LagYears = math.NaN() }),
		"spread_scale: ":               with(func(in *PoolInput) { in.SpreadScale = -1 }),
		"coverings[1].median_years: ":  with(func(in *PoolInput) { in.Coverings[1].MedianYears = math.Inf(1) }),
		"coverings[0].log_median_sd: ": with(func(in *PoolInput) { in.Coverings[0].LogMedianSD = 0 }),
		"coverings[0].log_shape_sd: ":  with(func(in *PoolInput) { in.Coverings[0].LogShapeSD = math.NaN() }),
		"coverings[2].shape: ":         with(func(in *PoolInput) { in.Coverings[2].Shape = 0 }),
		"coverings[1].covering: ":      with(func(in *PoolInput) { in.Coverings[1].Covering = "strip" }),
		"coverings[0].covering: ":      with(func(in *PoolInput) { in.Coverings[0].Covering = "" }),
		"rows[0].covering: ":           with(func(in *PoolInput) { in.Rows[0].Covering = "thatch" }),
		"rows[0].exit: ":               with(func(in *PoolInput) { in.Rows[0].Exit = ptr(-1.0) }),
		"rows[0].covariates: ":         with(func(in *PoolInput) { in.Rows[0].Covariates = map[string]float64{"x": 1} }),
		"groups: ":                     with(func(in *PoolInput) { in.Rows[0].Groups = map[string]string{"a": "1", "b": "2", "c": "3"} }),
	} {
		if _, err := Pool(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

func BenchmarkPool(b *testing.B) {
	c := town(1, 0.1)
	for _, n := range []int{100, 1000} {
		in := PoolInput{Rows: c.watch(b, 1, n), Coverings: believed, LagYears: 2}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				mustPool(b, in)
			}
		})
	}
}
