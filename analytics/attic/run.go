package attic

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"overhang/analytics/units"
)

// Range is a figure whose inputs are not all known: its least and most over the
// ends that matter, and the likely one between.
type Range struct {
	Least  float64 `json:"least"`
	Likely float64 `json:"likely"`
	Most   float64 `json:"most"`
}

func (r *Range) take(v float64) {
	r.Least, r.Most = min(r.Least, v), max(r.Most, v)
}

// Heat is how hot the slope runs, in °C; AtticOver and the figures of Hotter
// are differences in K.
type Heat struct {
	PeakCovering Range `json:"peak_covering_c"`
	PeakDeck     Range `json:"peak_deck_c"`
	PeakAttic    Range `json:"peak_attic_c"`
	AtticOver    Range `json:"attic_over_outside_k"` // most that the attic is over the outside
	MeanCovering Range `json:"mean_covering_c"`      // over the year
}

// Air is what moves through the attic, in litres a second by the m² of ceiling.
type Air struct {
	Outside Range `json:"outside_l_s_m2"` // comes in by the vents, mean of the year
	// House comes up through the ceiling, mean of the hours under 5 °C outside;
	// HouseBalanced is the same with balanced vents.
	House         Range `json:"house_l_s_m2"`
	HouseBalanced Range `json:"house_balanced_l_s_m2"`
}

// Ageing is the pace at which the covering ages.
type Ageing struct {
	// Pace is against the same covering on the same roof with vents balanced to
	// code: 1.05 ages 5 % faster.
	Pace Range `json:"pace"`
	// Effective is the constant temperature in °C at which it would age alike.
	Effective Range `json:"effective_c"`
	// Reference is the pace against a covering at 25 °C all year.
	Reference Range `json:"pace_against_25c"`
	// LifeFactor is 1 over Pace, with the model's own doubt: half as little and
	// half as much again, our judgement.
	LifeFactor Range `json:"life_factor"`
}

// Summary is what is told of one attic and slope.
type Summary struct {
	Heat   Heat   `json:"heat"`
	Hotter Heat   `json:"hotter_than_balanced"` // differences in K; negative is cooler
	Air    Air    `json:"air"`
	Ageing Ageing `json:"ageing"`

	// Winter is the likely one; its least and most hold each figure's own.
	Winter         Winter `json:"winter"`
	WinterLeast    Winter `json:"winter_least"`
	WinterMost     Winter `json:"winter_most"`
	WinterBalanced Winter `json:"winter_balanced"` // with vents balanced to code

	Coldness Coldness `json:"coldness"`

	Ways    []Way    `json:"ways,omitempty"`    // what would help, the ceiling before the vents
	Measure []string `json:"measure,omitempty"` // what would narrow it, the most telling first
}

// Way is one thing done to the attic, and what the likely figures then are.
type Way struct {
	Key  string `json:"key"` // seal, insulate or balance
	Says string `json:"says"`

	PeakCovering float64 `json:"peak_covering_c"`
	// LifeFactor is against the attic as it is: 1.02 lives 2 % longer.
	LifeFactor float64 `json:"life_factor"`
	Melt       float64 `json:"melt_kg_m2"`
	MeltCold   float64 `json:"melt_cold_kg_m2"`
	Frost      float64 `json:"frost_kg_m2"`
	// IcyAttic is the attic in the weather of Coldness.
	IcyAttic float64 `json:"icy_attic_c"`
}

// wellInsulated is R-49 in m²K/W, what newer editions ask of ceilings in the
// cold zones (IRC table of insulation, from memory).
const wellInsulated = 49 * rValue

// Result is a Summary with its words.
type Result struct {
	Summary
	Place    string   `json:"place"`
	Says     []string `json:"says"`
	Warnings []string `json:"warnings,omitempty"`
	Cautions []string `json:"cautions"`
}

// Run computes one attic over its year of weather. A year of one roof takes some
// thousandths of a second; five of them are run when all is known, and some dozens when
// nothing is, side by side. It refuses, by field and rule, what cannot be.
func Run(in Input) (Result, error) {
	h, err := in.read()
	if err != nil {
		return Result{}, err
	}
	if err := believable(h.year); err != nil {
		return Result{}, err
	}
	type slopes struct{ rise, facing, shelter float64 }
	weathers := map[slopes]func() *weather{}
	of := func(p point) func() *weather {
		key := slopes{p[rise], p[facing], p[shelter]}
		if weathers[key] == nil {
			weathers[key] = sync.OnceValue(func() *weather { return newWeather(h.year, key.rise, key.facing, key.shelter) })
		}
		return weathers[key]
	}
	return h.tell(h.summarise(func(points []point) []figures {
		out, under := make([]figures, len(points)), make([]func() *weather, len(points))
		for i, p := range points {
			under[i] = of(p)
		}
		sideBySide(len(points), func(i int) { out[i] = under[i]().year(points[i].roof())[0] })
		return out
	})), nil
}

// sideBySide does so many things that know nothing of each other, as many at once as
// there are processors.
func sideBySide(n int, do func(i int)) {
	var workers sync.WaitGroup
	var next atomic.Int64
	for range min(n, runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	workers.Wait()
}

func (p point) roof() roof {
	return roof{low: p[intake], high: p[exhaust], height: p[height], insulation: p[rsi], leaks: p[leak], absorbs: p[shade]}
}

// balanced is the same attic with vents balanced to code.
func (p point) balanced() point {
	p[intake], p[exhaust] = Code/2, Code/2
	return p
}

// pair is one point run with its own vents and with balanced ones.
type pair struct{ own, code figures }

// telling are the figures whose ends are sought: the signs of what each unknown
// does to them say which ends belong together.
var telling = []func(p pair) float64{
	func(p pair) float64 { return p.own[peakCovering] },
	func(p pair) float64 { return p.own[ageing] / p.code[ageing] },
	func(p pair) float64 { return p.own[melt] },
	func(p pair) float64 { return p.own[frost+len(retarders)-1] },
	func(p pair) float64 { return p.own[icyAttic] },
}

// worth is a difference of each telling figure that is worth measuring for:
// our judgement.
var worth = [...]float64{3, 0.01, 2, 0.1, 0.5}

// summarise runs the likely point, each unknown at its ends and what would help, and
// then the ends together that make each telling figure least and most. Run is asked for
// many points at once, each of them one time.
func (h house) summarise(run func([]point) []figures) Summary {
	rows := map[point]figures{}
	ask := func(points []point) {
		fresh := points[:0]
		for _, p := range points {
			if _, asked := rows[p]; !asked {
				rows[p] = figures{}
				fresh = append(fresh, p)
			}
		}
		for i, f := range run(fresh) {
			rows[fresh[i]] = f
		}
	}
	of := func(p point) pair { return pair{rows[p], rows[p.balanced()]} }

	var likely point
	for i, s := range h.span {
		likely[i] = s.likely
	}
	ends := func(i int) [2]point {
		out := [2]point{likely, likely}
		out[0][i], out[1][i] = h.span[i].least, h.span[i].most
		return out
	}
	points := []point{likely, likely.balanced()}
	for i, s := range h.span {
		if s.known() {
			continue
		}
		for _, p := range ends(i) {
			points = append(points, p, p.balanced())
		}
	}
	remedies := remedies(likely)
	for _, r := range remedies {
		points = append(points, r.then)
	}
	ask(points)

	middle := of(likely)
	all := []pair{middle}
	least, most := make([]point, len(telling)), make([]point, len(telling))
	for k := range telling {
		least[k], most[k] = likely, likely
	}
	type need struct {
		field string
		score float64
	}
	var needs []need
	unknown := 0
	for i, s := range h.span {
		if s.known() {
			continue
		}
		unknown++
		at := ends(i)
		a, b := of(at[0]), of(at[1])
		all = append(all, a, b)
		score := 0.0
		for k, figure := range telling {
			from, to := figure(a), figure(b)
			score = max(score, math.Abs(to-from)/worth[k])
			if from > to {
				least[k][i], most[k][i] = s.most, s.least
			} else {
				least[k][i], most[k][i] = s.least, s.most
			}
		}
		if score >= 1 {
			needs = append(needs, need{fields[i], score})
		}
	}
	if unknown > 1 {
		points = nil
		for _, p := range slices.Concat(least, most) {
			points = append(points, p, p.balanced())
		}
		ask(points)
		for k := range telling {
			all = append(all, of(least[k]), of(most[k]))
		}
	}
	s := h.gather(middle, all)
	for _, r := range remedies {
		s.Ways = append(s.Ways, h.way(r, middle.own, rows[r.then]))
	}
	if n := s.WinterMost.Frost - s.WinterLeast.Frost; h.retarder < 0 && n > worth[3] {
		needs = append(needs, need{"vapour_retarder_class", n / worth[3] / 2})
	}
	slices.SortStableFunc(needs, func(a, b need) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return 0
	})
	s.Measure = slices.Clone(h.measure)
	for _, n := range needs {
		s.Measure = append(s.Measure, n.field)
	}
	return s
}

// remedy is one thing put right, and the attic then.
type remedy struct {
	key, says string
	then      point
}

// remedies are the likely attic with one thing put right at a time.
func remedies(likely point) []remedy {
	var out []remedy
	if tight := leaks[0].value; likely[leak] > tight {
		p := likely
		p[leak] = tight
		out = append(out, remedy{"seal", "Seal the leaks of the ceiling, until few are left.", p})
	}
	if likely[rsi] < wellInsulated {
		p := likely
		p[rsi] = wellInsulated
		out = append(out, remedy{"insulate", "Insulate the ceiling to R-49 (RSI 8.6).", p})
	}
	const slack = 1 - 1e-9
	if likely[intake] < Code/2*slack || likely[exhaust] < Code/2*slack || likely[intake] < likely[exhaust]*slack {
		out = append(out, remedy{"balance", "Bring the vents to 1/300 of the ceiling, half low and half high, the intake first.", likely.balanced()})
	}
	return out
}

func (h house) way(r remedy, now, then figures) Way {
	w := h.winter(then, likelyRetarder)
	return Way{Key: r.key, Says: r.says, PeakCovering: then[peakCovering], LifeFactor: now[ageing] / then[ageing],
		Melt: w.Melt, MeltCold: w.MeltCold, Frost: w.Frost, IcyAttic: then[icyAttic]}
}

// gather makes ranges of the pairs.
func (h house) gather(middle pair, all []pair) Summary {
	over := func(figure func(p pair) float64) Range {
		v := figure(middle)
		r := Range{v, v, v}
		for _, p := range all {
			r.take(figure(p))
		}
		return r
	}
	own := func(i int, times float64) Range { return over(func(p pair) float64 { return p.own[i] * times }) }
	less := func(i int) Range { return over(func(p pair) float64 { return p.own[i] - p.code[i] }) }
	s := Summary{
		Heat:   Heat{own(peakCovering, 1), own(peakDeck, 1), own(peakAttic, 1), own(atticOver, 1), own(meanCovering, 1)},
		Hotter: Heat{less(peakCovering), less(peakDeck), less(peakAttic), less(atticOver), less(meanCovering)},
		Air: Air{own(meanOutside, 1000), own(meanHouse, 1000),
			over(func(p pair) float64 { return p.code[meanHouse] * 1000 })},
		Ageing: Ageing{
			Pace:      over(func(p pair) float64 { return p.own[ageing] / p.code[ageing] }),
			Effective: over(func(p pair) float64 { return effective(p.own[ageing]) }),
			Reference: own(ageing, 1),
		},
	}
	s.Coldness = newColdness(own(icyAttic, 1))
	doubt := func(v, power float64) float64 { return math.Pow(v, power) }
	pace := s.Ageing.Pace
	s.Ageing.LifeFactor = Range{Likely: 1 / pace.Likely}
	s.Ageing.LifeFactor.Least, s.Ageing.LifeFactor.Most = s.Ageing.LifeFactor.Likely, s.Ageing.LifeFactor.Likely
	for _, v := range []float64{1 / pace.Least, 1 / pace.Likely, 1 / pace.Most} {
		s.Ageing.LifeFactor.take(doubt(v, 0.5))
		s.Ageing.LifeFactor.take(doubt(v, 1.5))
	}
	s.Winter = h.winter(middle.own, likelyRetarder)
	s.WinterBalanced = h.winter(middle.code, likelyRetarder)
	s.WinterLeast, s.WinterMost = s.Winter, s.Winter
	for _, p := range all {
		for class := range retarders {
			w := h.winter(p.own, class)
			s.WinterLeast = s.WinterLeast.with(w, math.Min)
			s.WinterMost = s.WinterMost.with(w, math.Max)
		}
	}
	return s
}

// likelyRetarder is Class III, painted board over paper: our judgement.
const likelyRetarder = 2

// winter reads the winter of one row. The class is taken where it is not known.
func (h house) winter(f figures, class int) Winter {
	if h.retarder >= 0 {
		class = h.retarder
	}
	return Winter{
		SnowHours: f[snowHours], MeltHours: f[meltHours], IcingHours: f[icingHours],
		Melt: f[melt], MeltCold: f[meltCold], Freeze: f[freeze], FreezeCold: f[freezeCold],
		DampHours: f[dampHours+class], Frost: f[frost+class],
	}
}

// with takes the least or the most of each figure of two winters.
func (w Winter) with(o Winter, end func(a, b float64) float64) Winter {
	return Winter{
		SnowHours: end(w.SnowHours, o.SnowHours), MeltHours: end(w.MeltHours, o.MeltHours), IcingHours: end(w.IcingHours, o.IcingHours),
		Melt: end(w.Melt, o.Melt), MeltCold: end(w.MeltCold, o.MeltCold), Freeze: end(w.Freeze, o.Freeze), FreezeCold: end(w.FreezeCold, o.FreezeCold),
		DampHours: end(w.DampHours, o.DampHours), Frost: end(w.Frost, o.Frost),
	}
}

// degrees writes a difference of temperature in whole degrees.
func degrees(s units.System, k float64) string {
	if s == units.Metric {
		return fmt.Sprintf("%.0f °C", math.Abs(k))
	}
	return fmt.Sprintf("%.0f °F", math.Abs(k)*1.8)
}

// share writes a part as per cent, with its range where that is not one.
func share(r Range) string {
	in100 := func(v float64) string { return fmt.Sprintf("%.0f", math.Round(100*v)+0) } // no minus before a nought
	a, b := in100(r.Least), in100(r.Most)
	if a == b {
		return a + " %"
	}
	return a + " to " + b + " %"
}
