package attic

import (
	"math"
	"math/rand/v2"
	"reflect"
	"sync"
	"testing"

	"overhang/analytics/climate"
)

// tableError is how far a look-up may be from a full run of the same kind of
// roof: the worst seen over a year of snow country with insulation from RSI 0.7
// to 9 and vents from 1/6,000 to 1/100, and the mean.
var tableError = []struct {
	name        string
	figure      int
	worst, mean float64
}{
	{"peak of the covering, K", peakCovering, 0.15, 0.04},
	{"peak of the deck, K", peakDeck, 0.6, 0.18},
	{"peak of the attic, K", peakAttic, 1.2, 0.35},
	{"mean of the covering, K", meanCovering, 0.1, 0.03},
	{"pace against 25 °C", ageing, 0.008, 0.002},
	{"melt, kg/m²", melt, 4, 0.8},
	{"melt in the cold, kg/m²", meltCold, 2.5, 0.4},
	{"hours of melt", meltHours, 90, 20},
	{"hours of icing", icingHours, 60, 15},
	{"frost, kg/m²", frost + 2, 0.03, 0.002},
	{"hours of damp", dampHours + 2, 220, 45},
	{"attic in icy weather, K", icyAttic, 0.4, 0.12},
	{"air from outside, m³/s", meanOutside, 2e-4, 4e-5},
	{"air from the house, m³/s", meanHouse, 4e-6, 1e-6},
}

// shared is one kind's table, built once for all tests.
var shared Tables

func TestTableAgainstFullRuns(t *testing.T) {
	y := snowy()
	var p point
	p[rise], p[facing], p[height], p[shade], p[shelter] = 0.5, 180, 2, 0.95, 0.7
	w := newWeather(y, p[rise], p[facing], p[shelter])
	random := rand.New(rand.NewPCG(1, 2))
	const n = 40
	var worst, sum figures
	worstPace := 0.0
	for range n {
		vents := func() float64 { return Code / 20 * math.Pow(60, random.Float64()) }
		p[intake], p[exhaust] = vents(), vents()
		p[rsi] = 0.7 * math.Pow(9/0.7, random.Float64())
		p[leak] = leaks[random.IntN(3)].value
		look, full := shared.at(y, p), w.year(p.roof())[0]
		for i := range full {
			off := math.Abs(look[i] - full[i])
			worst[i], sum[i] = max(worst[i], off), sum[i]+off
		}
		code := p.balanced()
		worstPace = max(worstPace, math.Abs(look[ageing]/shared.at(y, code)[ageing]-full[ageing]/w.year(code.roof())[0][ageing]))
	}
	for _, c := range tableError {
		t.Logf("%s: off by %.2g at worst, %.2g in the mean", c.name, worst[c.figure], sum[c.figure]/n)
		if worst[c.figure] > c.worst || sum[c.figure]/n > c.mean {
			t.Errorf("%s: off by %v at worst and %v in the mean, more than the %v and %v that are stated", c.name, worst[c.figure], sum[c.figure]/n, c.worst, c.mean)
		}
	}
	t.Logf("pace against balanced vents: off by %.2g at worst", worstPace)
	if worstPace > 0.008 {
		t.Errorf("the pace against balanced vents is off by %v", worstPace)
	}
}

// At its own nodes a table is the full run, and the opposite slope is read from
// the same table.
func TestTableAtItsNodes(t *testing.T) {
	y := snowy()
	var p point
	p[rise], p[facing], p[height], p[shade], p[shelter] = 0.5, 0, 2, 0.95, 0.7
	p[intake], p[exhaust], p[rsi], p[leak] = Code/2, Code/10, 1.9, 1e-4
	both := newWeather(y, p[rise], p[facing], p[shelter]).year(p.roof())
	for slope, turn := range []float64{0, 180} {
		p[facing] = turn
		for i, v := range shared.at(y, p) {
			// South as asked and north's opposite meet the same sun.
			if want := both[slope][i]; math.Abs(v-want) > 1e-6*(1+math.Abs(want)) {
				t.Errorf("facing %v: figure %d is %v, run %v", turn, i, v, want)
			}
		}
	}
	if n := len(shared.kinds); n != 1 {
		t.Errorf("%d kinds for the two slopes of one roof", n)
	}
}

// The nearest kind of roof instead of the roof itself: the error of the kinds'
// steps at their widest, half-way between, on top of tableError.
func TestStepOfTheKinds(t *testing.T) {
	y := snowy()
	var p point
	p[rise], p[facing], p[height], p[shade], p[shelter] = 0.5, 180, 2, 0.95, 0.7
	p[intake], p[exhaust], p[rsi], p[leak] = Code/4, Code/4, 3.5, 1e-4
	at := func(p point) pair {
		w := newWeather(y, p[rise], p[facing], p[shelter])
		return pair{w.year(p.roof())[0], w.year(p.balanced().roof())[0]}
	}
	kind := at(p)
	for name, move := range map[string]func(p *point){
		"rise":   func(p *point) { p[rise] = 7.0 / 12 },
		"facing": func(p *point) { p[facing] = 202.5 },
		"height": func(p *point) { p[height] = 2 * math.Sqrt2 },
	} {
		q := p
		move(&q)
		got := at(q)
		pace := math.Abs(got.own[ageing]/got.code[ageing] - kind.own[ageing]/kind.code[ageing])
		t.Logf("%s: peak %+.2f K, attic %+.2f K, pace %.4f, melt %+.2f of %.2f kg/m²", name, got.own[peakCovering]-kind.own[peakCovering],
			got.own[peakAttic]-kind.own[peakAttic], pace, got.own[melt]-kind.own[melt], kind.own[melt])
		if pace > 0.005 || math.Abs(got.own[peakCovering]-kind.own[peakCovering]) > 1.5 || math.Abs(got.own[melt]-kind.own[melt]) > 1+0.25*kind.own[melt] {
			t.Errorf("half a step of %s moves the pace by %v, the peak from %v to %v and melt from %v to %v", name, pace,
				kind.own[peakCovering], got.own[peakCovering], kind.own[melt], got.own[melt])
		}
	}
}

// short is a few days of a year, so that many kinds are built in no time.
func short() *climate.Year {
	y := copyOf()
	y.Hours = y.Hours[:72]
	return y
}

// Asked from many goroutines in any order, the answers are those of one.
func TestTablesAreSafeAndSteady(t *testing.T) {
	y := short()
	ask := func(i int) Input {
		in := full()
		in.Year = y
		in.FacingDeg = number(float64(i%4) * 90)
		in.IntakeIn2 = number(float64(40 * i))
		if i%3 == 0 {
			in.InsulationR, in.Shelter = nil, ""
		}
		return in
	}
	var alone, together Tables
	const n = 12
	want := make([]Summary, n)
	for i := range want {
		var err error
		if want[i], err = alone.Look(ask(i)); err != nil {
			t.Fatal(err)
		}
	}
	got := make([]Summary, n)
	var wg sync.WaitGroup
	for i := n - 1; i >= 0; i-- {
		wg.Go(func() { got[i], _ = together.Look(ask(i)) })
	}
	wg.Wait()
	for i := range got {
		if !reflect.DeepEqual(got[i], want[i]) {
			t.Errorf("attic %d: %+v, alone %+v", i, got[i], want[i])
		}
	}
}

// Look tells nearly what Run tells.
func TestLookIsNearRun(t *testing.T) {
	in := full()
	in.IntakeIn2, in.VentHeightFt, in.VentHeightM = number(150), nil, number(2)
	look, err := shared.Look(in)
	if err != nil {
		t.Fatal(err)
	}
	run, err := Run(in)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := look.Ageing.Pace.Likely, run.Ageing.Pace.Likely; math.Abs(a-b) > 0.01 {
		t.Errorf("pace %v by the table, %v by the run", a, b)
	}
	if a, b := look.Winter.Melt, run.Winter.Melt; math.Abs(a-b) > 3+0.2*b {
		t.Errorf("melt %v by the table, %v by the run", a, b)
	}
	if a, b := look.Heat.PeakCovering.Likely, run.Heat.PeakCovering.Likely; math.Abs(a-b) > 0.5 {
		t.Errorf("peak %v by the table, %v by the run", a, b)
	}
}
