package owed

import (
	"math"
	"strings"
	"testing"

	"overhang/analytics/units"

	"pgregory.net/rapid"
)

// The triangle of Taylor and Ashe as printed by T. Mack, "Distribution-free
// calculation of the standard error of chain ladder reserve estimates", ASTIN
// Bulletin 23 (1993), table 1.
var taylorAshe = [][]float64{
	{357848, 1124788, 1735330, 2218270, 2745596, 3319994, 3466336, 3606286, 3833515, 3901463},
	{352118, 1236139, 2170033, 3353322, 3799067, 4120063, 4647867, 4914039, 5339085},
	{290507, 1292306, 2218525, 3235179, 3985995, 4132918, 4628910, 4909315},
	{310608, 1418858, 2195047, 3757447, 4029929, 4381982, 4588268},
	{443160, 1136350, 2128333, 2897821, 3402672, 3873311},
	{396132, 1333217, 2180715, 2985752, 3691712},
	{440832, 1288463, 2419861, 3483130},
	{359480, 1421128, 2864498},
	{376686, 1363294},
	{344014},
}

// inCents gives a triangle of whole units in cents.
func inCents(rows [][]float64) [][]units.Money {
	out := make([][]units.Money, len(rows))
	for i, row := range rows {
		for _, x := range row {
			out[i] = append(out[i], units.Money(x*100))
		}
	}
	return out
}

// Reserve 18,681 and standard error 2,447 thousand are in Mack 1993; further
// digits, the rows and the other rule: own run of his formulae in R 4.2.
func TestTaylorAshe(t *testing.T) {
	r, err := ChainLadder(TriangleInput{CumulativeCents: inCents(taylorAshe), FirstYear: 1972})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{3.49060654793, 1.7473326421, 1.45741283602, 1.1738517094, 1.10382353224, 1.08626936444, 1.0538743555, 1.07655517835, 1.01772472522} {
		if !near(r.Factors[i], want, 1e-11) {
			t.Errorf("factor %d: %.11f, want %.11f", i+1, r.Factors[i], want)
		}
	}
	// σ² is in the unit of the amounts, here cents.
	for i, want := range []float64{160280.32748, 37736.855048, 41965.2130174, 15182.902681, 13731.323892, 8185.77162001, 446.616550105, 1147.36596843, 446.616550105} {
		if !near(r.SigmaSquared[i]/100, want, 1e-10) {
			t.Errorf("σ² %d: %.7f, want %.7f", i+1, r.SigmaSquared[i]/100, want)
		}
	}
	for i, want := range []struct{ ultimate, reserve, se float64 }{
		{3901463, 0, 0},
		{5433718.815, 94633.81, 75535.04}, {5378826.290, 469511.29, 121698.56}, {5297905.821, 709637.82, 133548.85},
		{4858199.639, 984888.64, 261406.45}, {5111171.458, 1419459.46, 411009.70}, {5660770.620, 2177640.62, 558316.86},
		{6784799.012, 3920301.01, 875327.51}, {5642266.263, 4278972.26, 971257.81}, {4969824.694, 4625810.69, 1363154.91},
	} {
		o := r.Origins[i]
		if o.Year != 1972+i || math.Abs(o.Ultimate/100-want.ultimate) > .001 || math.Abs(o.Reserve/100-want.reserve) > .0051 ||
			math.Abs(*o.StandardError/100-want.se) > .0051 || math.Abs(float64(*o.ReserveCents)-want.reserve*100) > 1.01 {
			t.Errorf("row %d: %+v, want %+v", i+1, o, want)
		}
	}
	if !near(r.Total.Reserve, 1868085561.19, 1e-11) || !near(*r.Total.StandardError, 244709486.083, 1e-11) || r.LastSigma != MackSigma || !r.LastSigmaUsed {
		t.Errorf("total %+v by the rule %s", r.Total, r.LastSigma)
	}
	if *r.Total.ReserveCents != 1868085561 || r.Total.ErrorCents.Round() != "2,447,095" {
		t.Errorf("in cents %v with %v", *r.Total.ReserveCents, *r.Total.ErrorCents)
	}

	other, err := ChainLadder(TriangleInput{Cumulative: taylorAshe, LastSigma: LogLinearSigma})
	if err != nil {
		t.Fatal(err)
	}
	if !near(*other.Total.StandardError, 2441364.128, 1e-9) || !near(other.SigmaSquared[8], 403.935787822, 1e-10) || other.LastSigma != LogLinearSigma || other.Total.ReserveCents != nil {
		t.Errorf("log-linear: %v with last σ² %v", *other.Total.StandardError, other.SigmaSquared[8])
	}
}

// The same payments, each given for its own year, are the same triangle.
func TestIncrementalTriangle(t *testing.T) {
	increments := make([][]units.Money, len(taylorAshe))
	for i, row := range inCents(taylorAshe) {
		before := units.Money(0)
		for _, x := range row {
			increments[i] = append(increments[i], x-before)
			before = x
		}
	}
	r, err := ChainLadder(TriangleInput{IncrementalCents: increments})
	if err != nil {
		t.Fatal(err)
	}
	if r.Unit != "cents" || *r.Total.ReserveCents != 1868085561 {
		t.Errorf("%+v", r.Total)
	}
}

func TestTriangleRefusals(t *testing.T) {
	change := func(at func(rows [][]float64) [][]float64) [][]float64 {
		rows := make([][]float64, len(taylorAshe))
		for i, row := range taylorAshe {
			rows[i] = append([]float64(nil), row...)
		}
		return at(rows)
	}
	for want, in := range map[string]TriangleInput{
		"cumulative_cents: give exactly one": {},
		"cumulative_cents: give exactly":     {Cumulative: taylorAshe, Incremental: taylorAshe},
		"last_sigma":                         {Cumulative: taylorAshe, LastSigma: "guess"},
		"first_year":                         {Cumulative: taylorAshe, FirstYear: -1},
		"cumulative: must have 3":            {Cumulative: [][]float64{{1, 2}, {1}}},
		"cumulative: row 1 must have 2 to":   {Cumulative: [][]float64{{1}, {1}, {1}}},
		"cumulative: row 3 must have 8": {Cumulative: change(func(r [][]float64) [][]float64 {
			r[2] = r[2][:7]
			return r
		})},
		"cumulative: row 2, column 3": {Cumulative: change(func(r [][]float64) [][]float64 { r[1][2] = -1; return r })},
		"cumulative: row 1, column 1": {Cumulative: change(func(r [][]float64) [][]float64 { r[0][0] = math.NaN(); return r })},
		"cumulative: column 1: is all nought": {Cumulative: change(func(r [][]float64) [][]float64 {
			for i := range r {
				r[i][0] = 0
			}
			return r
		})},
		"cumulative: row 4, column 1: is nought": {Cumulative: change(func(r [][]float64) [][]float64 { r[3][0] = 0; return r })},
		"incremental: row 2, column 2":           {Incremental: [][]float64{{5, 5, 5}, {5, -6}, {5}}},
	} {
		if _, err := ChainLadder(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
}

func TestSmallTriangles(t *testing.T) {
	three, err := ChainLadder(TriangleInput{Cumulative: [][]float64{{10, 15, 18}, {20, 30}, {0}}})
	if err != nil {
		t.Fatal(err)
	}
	if three.Total.StandardError != nil || three.SigmaSquared != nil || len(three.Notes) != 2 || three.Notes[0].Code != "no_standard_error" || three.Notes[1].Number != 1 {
		t.Errorf("three rows: %+v", three)
	}
	if !near(three.Total.Reserve, 6, 1e-12) { // 30 × 18/15 − 30; nothing from a row of nought
		t.Errorf("reserve %v", three.Total.Reserve)
	}
	// Old rows that are all run off: no rule is needed for the last σ².
	full, err := ChainLadder(TriangleInput{Cumulative: [][]float64{{10, 15}, {20, 28}, {20, 33}, {12}}})
	if err != nil || full.LastSigmaUsed || full.Total.StandardError == nil || len(full.Factors) != 1 {
		t.Fatalf("%+v, %v", full, err)
	}
	// By hand: f = 76/50; σ² = (10·(1.5−f)² + 20·(1.4−f)² + 20·(1.65−f)²)/2.
	f := 76.0 / 50
	s2 := (10*(1.5-f)*(1.5-f) + 20*(1.4-f)*(1.4-f) + 20*(1.65-f)*(1.65-f)) / 2
	want := 12 * f * math.Sqrt(s2/f/f*(1.0/12+1.0/50))
	if !near(*full.Total.StandardError, want, 1e-12) {
		t.Errorf("standard error %v, want %v", *full.Total.StandardError, want)
	}
	// A triangle that grows by the same factors in every row has no error, by
	// either rule.
	even := [][]float64{{100, 200, 300, 330}, {10, 20, 30}, {50, 100}, {7}}
	for _, rule := range []LastSigma{MackSigma, LogLinearSigma} {
		r, err := ChainLadder(TriangleInput{Cumulative: even, LastSigma: rule})
		if err != nil || *r.Total.StandardError != 0 || !near(r.Origins[3].Ultimate, 7*3.3, 1e-12) {
			t.Errorf("%s: %+v, %v", rule, r.Total, err)
		}
	}
}

// Twice the money is twice the reserve and twice its error, and rows add up.
func TestTriangleScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 9).Draw(t, "rows")
		once, twice := make([][]units.Money, n), make([][]units.Money, n)
		for i := range n {
			for range n - i {
				x := units.Money(rapid.IntRange(1, 1_000_000).Draw(t, "paid"))
				once[i], twice[i] = append(once[i], x), append(twice[i], 2*x)
			}
		}
		a, err := ChainLadder(TriangleInput{IncrementalCents: once})
		if err != nil {
			t.Fatal(err)
		}
		b, err := ChainLadder(TriangleInput{IncrementalCents: twice})
		if err != nil {
			t.Fatal(err)
		}
		var sum units.Money
		for _, o := range a.Origins {
			sum += *o.ReserveCents
		}
		if sum != *a.Total.ReserveCents || !near(b.Total.Reserve, 2*a.Total.Reserve, 1e-12) || !near(*b.Total.StandardError, 2**a.Total.StandardError, 1e-9) {
			t.Fatalf("%+v and %+v, rows add up to %v", a.Total, b.Total, sum)
		}
	})
}

func BenchmarkChainLadder(b *testing.B) {
	in := TriangleInput{CumulativeCents: inCents(taylorAshe)}
	for b.Loop() {
		if _, err := ChainLadder(in); err != nil {
			b.Fatal(err)
		}
	}
}
