package owed

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"overhang/analytics/units"
)

// ModelResult is what callbacks of our own say: how often they come by cause and
// age, what one costs, and what is to be expected in the years ahead.
type ModelResult struct {
	AsOf        units.Date `json:"as_of"`
	Callbacks   int        `json:"callbacks"` // of our own, in the days kept
	RoofYears   float64    `json:"roof_years"`
	CostsKnown  int        `json:"costs_known"` // of them
	SmallSample bool       `json:"small_sample"`
	Assumed     bool       `json:"assumed_rate"`
	// Fades and Grows are the shape of the parts of every cause's rate, and
	// OldestAge the age up to which there is history of our own; wear is held at
	// what it is there for older roofs.
	Fades     float64       `json:"fades_years"`
	Grows     float64       `json:"grows_power"`
	OldestAge float64       `json:"oldest_age_years"`
	Rates     []CauseRate   `json:"rates,omitempty"`
	Spreads   []Spread      `json:"spreads,omitempty"`
	Effects   []LevelEffect `json:"effects,omitempty"`
	Costs     []CauseCost   `json:"costs,omitempty"`
	Years     []ModelYear   `json:"years,omitempty"`
	Total     ModelYear     `json:"total"`
	// By term, crew, covering, lot, neighbourhood and cause; each adds up to the
	// total, to the cent.
	By map[string][]ModelPart `json:"by,omitempty"`
	// Unsure is the relative standard error of the expected cost: of the rates and
	// of the mean costs.
	UnsureRates  float64             `json:"unsure_rates"`
	UnsureCosts  float64             `json:"unsure_costs"`
	Distribution *DistributionResult `json:"distribution,omitempty"`
	Base         *DistributionInput  `json:"base,omitempty"` // that it was made from, and scenarios may be
	cohorts      map[int]*cohort     // by year laid
	Promises     []PromiseAhead      `json:"-"` // with time ahead, in the order of the input
	Notes        []Note              `json:"notes,omitempty"`
}

// PromiseAhead is what is expected of one promise.
type PromiseAhead struct {
	Row       int     // of the input's roofs
	Callbacks float64 // expected
	Expected  float64 // cents
}

// Marked is the mark of the promises that a scenario is about.
const Marked = "in"

// CauseCost is what one callback of a cause costs us, in the money of as_of:
// log-normal, where it costs anything.
type CauseCost struct {
	Cause string `json:"cause"`
	Known int    `json:"known"` // costs of our own
	// Costs is the chance that a callback costs anything.
	Costs float64     `json:"costs"`
	Mean  units.Money `json:"mean_cents"`
	SD    units.Money `json:"sd_cents"` // of one
	SE    float64     `json:"se"`       // of the mean, as a part of it
	Low   units.Money `json:"low_cents"`
	High  units.Money `json:"high_cents"` // 10 and 90 % points of one
	Pull  float64     `json:"pull"`       // how much of the logarithm is that of all causes
}

// ModelYear is what one calendar year ahead is expected to bring, or all.
type ModelYear struct {
	Year       int          `json:"year,omitempty"`
	Promises   int          `json:"promises"`
	RoofYears  float64      `json:"roof_years"` // that stand, with the owner's right alive
	Callbacks  float64      `json:"callbacks"`
	Expected   *units.Money `json:"expected_cents,omitempty"`
	Low        *units.Money `json:"low_cents,omitempty"`
	High       *units.Money `json:"high_cents,omitempty"`
	Discounted *units.Money `json:"discounted_cents,omitempty"`
}

// ModelPart is what is expected of one crew, lot and so on.
type ModelPart struct {
	Name      string       `json:"name,omitempty"` // empty: not known
	Promises  int          `json:"promises"`
	Callbacks float64      `json:"callbacks"`
	Expected  *units.Money `json:"expected_cents,omitempty"`
	// Shortfall is its part of the mean cost of the worst tenth of outcomes.
	Shortfall *units.Money `json:"shortfall_cents,omitempty"`
}

// Dimensions are what the cost ahead is told by.
var Dimensions = []string{"terms", "crew", "covering", "lot", "neighbourhood", "cause"}

const (
	sharedCrews = 3 // whose rates vary together in the distribution
	sharedLots  = 3
	usualNotice = .5 // of sales, that come with notice in time: our judgement
	unknownCost = 1. // spread of the logarithm of a cost that is assumed: our judgement
	mostUnsure  = 1. // that rates and costs may be, beside their mean: our judgement
	costWeight  = 1. // callbacks that the chance of costing anything is worth beforehand
)

// costs fits the cost by cause: logarithms are normal with one spread within
// causes, and the causes' means are shrunk as in [Credibility].
func (f *Fitted) costs() []CauseCost {
	n := len(f.causes)
	// One group more, of causes that are not known: it counts among all.
	logs := make([]ownMean, n+1)
	known, free := make([]int, n+1), make([]int, n+1)
	count, allKnown, allFree := 0, 0, 0
	for i := range f.in.Callbacks {
		c := &f.in.Callbacks[i]
		if c.CostCents == nil || !f.counted(c) || !oursModel(c) {
			continue
		}
		k, found := f.of[c.Cause]
		if !found {
			k = n
		}
		known[k]++
		allKnown++
		if *c.CostCents == 0 {
			free[k]++
			allFree++
			continue
		}
		on := cmp.Or(c.CostOn, c.HappenedOn, f.in.AsOf)
		growth := math.Pow(1+f.in.CostGrowth, float64(f.in.AsOf-on)/daysAYear)
		logs[k].add(math.Log(float64(*c.CostCents)*growth), 1)
		count++
	}
	out := make([]CauseCost, n)
	if count == 0 {
		if f.in.AssumedCostCents == nil {
			return nil
		}
		mean := float64(*f.in.AssumedCostCents)
		for k := range out {
			out[k] = oneCost(f.causes[k], 0, 1, math.Log(mean)-unknownCost/2, unknownCost, 1, 1)
		}
		return out
	}
	variance, told := spreadWithin(logs)
	if !told {
		variance = unknownCost
	}
	if count < smallSample {
		variance = math.Max(variance, unknownCost)
	}
	between, _ := spreadBetween(logs, variance)
	all := collect(logs, variance, math.Max(0, between))
	costing := 1 - float64(allFree)/float64(allKnown)
	for k := range out {
		// The error of the mean of the logarithms, and of the mean cost by it.
		mean, se2 := all.shrink(logs[k])
		chance := (costWeight*costing + float64(known[k]-free[k])) / (costWeight + float64(known[k]))
		out[k] = oneCost(f.causes[k], known[k], chance, mean, variance, se2, 1-all.credibility(logs[k]))
	}
	return out
}

func oneCost(cause string, known int, chance, mu, variance, se2, pull float64) CauseCost {
	mean, z := math.Exp(mu+variance/2), 1.2815515655446004*math.Sqrt(variance)
	mean = math.Min(mean, float64(mostMoney)/10)
	return CauseCost{Cause: cause, Known: known, Costs: chance, Mean: max(1, units.Money(math.Round(mean))), SD: units.Money(math.Round(mean * math.Min(9, math.Sqrt(math.Expm1(variance))))),
		SE: math.Sqrt(se2), Low: units.Money(math.Exp(mu - z)), High: units.Money(math.Exp(mu + z)), Pull: pull}
}

// right is the chance that the owner's right to the promise has survived sales
// after so many years: sales come at a rate, and the terms say how many may pass.
func right(rule string, transferred bool, after *int, turnover, notice, years float64) float64 {
	if years <= 0 {
		return 1
	}
	x := turnover * years
	none := math.Exp(-x)
	first := 0.0
	switch rule {
	case "never":
		return none
	case "once":
		first = 1
	case "by_notice":
		first = notice
	default:
		if after == nil || turnover == 0 {
			return 1
		}
		// Every sale keeps the right, but none for longer than so after the first.
		return math.Exp(-turnover * math.Max(0, years-float64(*after)/12))
	}
	if transferred {
		return none
	}
	lasts := years
	if after != nil {
		lasts = math.Min(years, float64(*after)/12)
	}
	return none * (1 + first*turnover*lasts)
}

// stands is the chance that a covering still stands after so many years: the
// chance that it is gone runs straight between the points of its life left, and
// to 1 half as far beyond the last as that lies beyond the middle.
func (y *YearsLeft) stands(years float64) float64 {
	switch {
	case y == nil || years <= 0:
		return 1
	case years < y.Low:
		return 1 - .1*years/y.Low
	case years < y.Middle:
		return .9 - .4*(years-y.Low)/(y.Middle-y.Low)
	case years < y.High:
		return .5 - .4*(years-y.Middle)/(y.High-y.Middle)
	case years < y.High+(y.High-y.Middle)/2:
		return .1 - .1*(years-y.High)/((y.High-y.Middle)/2)
	}
	return 0
}

// ahead is what is gathered while the promises are walked through.
type ahead struct {
	f       *Fitted
	costs   []CauseCost
	first   int // calendar year
	years   int
	promise []int     // with time ahead, by year
	time    []float64 // by year
	count   []float64 // callbacks, by year
	cost    []float64 // cents, by year
	class   map[classKey]*aheadClass
	names   []sumOf          // of Fitted.names
	slope   [][parts]float64 // of the expected cost by each part of a cause
	byCause []float64        // expected cost
	counts  []float64        // callbacks by cause
	marked  int
	each    []PromiseAhead
	cohort  map[int]*cohort // by year laid
}

type classKey struct {
	crew, lot, mark string
	cause           int
}

// aheadClass is all callbacks of a cause that share lot, crew and mark.
type aheadClass struct {
	rates               []float64
	weight, cost, again float64 // Σ rate, Σ rate × factor, Σ rate × factor²
	expected            float64 // cents
	promises            int
}

// promised is one promise with time ahead, made ready for walks: names are
// numbers, and what its rates are multiplied by is worked out.
type promised struct {
	row              int32 // of the input
	laid, from, stop int32 // days, the last not among them
	pattern          int32
	cohort           int32
	right            int32
	names            [byName]int32 // of Fitted.names, one a dimension but the cause
	times            float64       // what all causes' rates are multiplied by
	life             *YearsLeft
	shares           []ShareSpan // nil: all of it, all the time
}

// pattern is what all causes' callbacks of a promise share: the crew by its
// habits, and the crew, the lot and the mark that keep it apart in the
// distribution.
type pattern struct {
	habits          int32 // of Fitted.crews
	crew, lot, mark string
}

// byName is how many of Dimensions are names that a promise has; the cause is the
// last, and of callbacks.
const byName = 5

// namesake is the promises of one pattern that share the name of a dimension, so
// that sums may be taken of time at risk instead of each cause's cost.
type namesake struct {
	dimension int
	name      string
	pattern   int32
	promises  int
}

// sumOf is the time at risk in each part of the rates, weighed by what callbacks
// of all causes are multiplied by: bare, with share and growth once, and twice.
type sumOf struct{ bare, once, twice [parts]float64 }

// rightRule is what a promise's survival of sales depends on.
type rightRule struct {
	transfer    string
	transferred bool
	months      int // −1: no limit
}

func (r *ModelRoof) rule() rightRule {
	out := rightRule{r.Transfer, r.Transferred, -1}
	if r.AfterTransferMonths != nil {
		out.months = *r.AfterTransferMonths
	}
	return out
}

// shares are what of a cost is promised, by day.
func (r *ModelRoof) shares() []ShareSpan {
	if len(r.Shares) == 0 {
		return []ShareSpan{{From: r.first(), Until: r.Until, Share: 1}}
	}
	return r.Shares
}

// ready makes the promises with time ahead ready for walks.
func (f *Fitted) ready() {
	in := f.in
	f.ahead, f.patterns, f.names, f.rights, f.laidIn = nil, nil, nil, nil, nil
	f.sharedCrews, f.sharedLots = f.shared("crew", sharedCrews), f.shared("lot", sharedLots)
	f.crewAt = map[string]int32{}
	for c, first := range f.crews {
		if first >= 0 {
			f.crewAt[f.levels[first].name] = int32(c)
		}
	}
	patterns, rights, cohorts := map[pattern]int32{}, map[rightRule]int32{}, map[int]int32{}
	type nameKey struct {
		name    string
		pattern int32
	}
	var named [byName]map[nameKey]int32
	for d := range named {
		named[d] = map[nameKey]int32{}
	}
	for i := range in.Roofs {
		r := &in.Roofs[i]
		p := promised{row: int32(i), laid: int32(r.laid()), from: int32(max(r.first(), in.AsOf+1)), stop: int32(r.Until) + 1, life: r.YearsLeft, shares: r.Shares}
		if r.first() == 0 || p.from >= p.stop {
			continue
		}
		p.times = f.common(r)
		of := pattern{habits: f.crewAt[r.Crew], mark: r.Mark}
		if f.sharedCrews[r.Crew] {
			of.crew = r.Crew
		}
		if f.sharedLots[r.Lot] {
			of.lot = r.Lot
		}
		p.pattern = number(patterns, of, &f.patterns)
		p.right = number(rights, r.rule(), &f.rights)
		p.cohort = number(cohorts, r.laid().Year(), &f.laidIn)
		for d, name := range [byName]string{r.Terms, r.Crew, r.Covering, r.Lot, r.Neighbourhood} {
			n, known := named[d][nameKey{name, p.pattern}]
			if !known {
				n = int32(len(f.names))
				named[d][nameKey{name, p.pattern}] = n
				f.names = append(f.names, namesake{dimension: d, name: name, pattern: p.pattern})
			}
			f.names[n].promises++
			p.names[d] = n
		}
		f.ahead = append(f.ahead, p)
	}
}

// number gives a thing its place in a list, at the end where it is new.
func number[K comparable](places map[K]int32, k K, list *[]K) int32 {
	n, known := places[k]
	if !known {
		n = int32(len(*list))
		places[k] = n
		*list = append(*list, k)
	}
	return n
}

// common is what a roof's rates are multiplied by for all causes.
func (f *Fitted) common(r *ModelRoof) float64 {
	u := 1.0
	times := func(factor, name string) {
		if n, known := f.byName[levelKey{factorAt[factor], name, -1}]; known && name != "" {
			u *= f.levels[n].times
		}
	}
	times("covering", r.Covering)
	times("crew", r.Crew)
	times("lot", r.Lot)
	times("neighbourhood", r.Neighbourhood)
	for _, d := range r.details() {
		times("detail", d)
	}
	return u
}

// right is the chance that the owner's right to a promise has survived sales
// after so many years.
func (f *Fitted) right(r *rightRule, years float64) float64 {
	turnover, notice := 0.0, usualNotice
	if f.in.Turnover != nil {
		turnover = *f.in.Turnover
	}
	if f.in.NoticeGiven != nil {
		notice = *f.in.NoticeGiven
	}
	var after *int
	if r.months >= 0 {
		after = &r.months
	}
	return right(r.transfer, r.transferred, after, turnover, notice, years)
}

// ages is the integral of each part of a rate from laying to each day; wear is
// held at what it is at the oldest age that there is history of.
func (f *Fitted) ages(days int) [][parts]float64 {
	table := f.shape.table(days)
	if limit := int(f.oldest * daysAYear); limit > 0 && limit < len(table) {
		at := f.shape.at(f.oldest)[wear]
		for d := limit + 1; d < len(table); d++ {
			table[d][wear] = table[d-1][wear] + at/daysAYear
		}
	}
	return table
}

// calendar is the years ahead, by day.
type calendar struct {
	begins, ends []int32   // of each year, the last not among them
	growth       []float64 // of costs, to the middle of each year
}

func (f *Fitted) calendar(first, years int) calendar {
	c := calendar{make([]int32, years), make([]int32, years), make([]float64, years)}
	for y := range years {
		c.begins[y] = int32(max(f.in.AsOf+1, units.NewDate(first+y, 1, 1)))
		c.ends[y] = int32(units.NewDate(first+y+1, 1, 1))
		c.growth[y] = math.Pow(1+f.in.CostGrowth, (float64(c.begins[y]+c.ends[y])/2-float64(f.in.AsOf))/daysAYear)
	}
	return c
}

// walk goes through the time ahead of each promise, from boundary to boundary: a
// new calendar year, or a new share. It gathers time at risk in the parts of the
// rates, by pattern, and makes callbacks and cost of it at the end, for all
// causes of a pattern at once.
func (f *Fitted) walk(costs []CauseCost, marked func(roof int) bool) *ahead {
	asOf := int32(f.in.AsOf)
	a := &ahead{f: f, costs: costs, first: (f.in.AsOf + 1).Year(), cohort: map[int]*cohort{}}
	last, oldest := asOf, int32(0)
	for i := range f.ahead {
		p := &f.ahead[i]
		last, oldest = max(last, p.stop-1), max(oldest, p.stop-p.laid)
	}
	if last > asOf {
		a.years = units.Date(last).Year() - a.first + 1
	}
	a.promise, a.time, a.count, a.cost = make([]int, a.years), make([]float64, a.years), make([]float64, a.years), make([]float64, a.years)
	a.each, a.names = make([]PromiseAhead, len(f.ahead)), make([]sumOf, len(f.names))
	laidIn := make([]cohort, len(f.laidIn))
	for i, year := range f.laidIn {
		laidIn[i] = cohort{year: year, expected: make([]float64, a.years)}
		a.cohort[year] = &laidIn[i]
	}
	table := f.ages(int(oldest) + 2)
	days := f.calendar(a.first, a.years)
	rights := make([][]float64, len(f.rights)) // of a whole year
	for i := range rights {
		rights[i] = make([]float64, a.years)
		for y := range rights[i] {
			rights[i][y] = f.right(&f.rights[i], yearsTo(days.begins[y], days.ends[y], asOf))
		}
	}
	rates, amounts := f.perPattern(costs)
	patterns := len(f.patterns)
	sums, promises := make([]sumOf, 2*patterns*a.years), make([]int, 2*patterns) // those that are marked behind the others
	all := [1]ShareSpan{{Share: 1}}
	for i := range f.ahead {
		p := &f.ahead[i]
		at := int(p.pattern)
		if marked != nil && marked(int(p.row)) {
			at += patterns
			a.marked++
		}
		promises[at]++
		laidIn[p.cohort].promises++
		mine, expected := sums[at*a.years:(at+1)*a.years], laidIn[p.cohort].expected
		rate, amount := &rates[p.pattern], &amounts[p.pattern]
		shares := p.shares
		if len(shares) == 0 {
			all[0].From, all[0].Until = units.Date(p.from), units.Date(p.stop-1)
			shares = all[:]
		}
		var bare, once [parts]float64
		y, seen := 0, -1
		for j := range shares {
			s := &shares[j]
			day, end := max(p.from, int32(s.From)), min(p.stop, int32(s.Until)+1)
			for day < end {
				for day >= days.ends[y] {
					y++
				}
				to := min(end, days.ends[y])
				if seen != y {
					a.promise[y]++
					seen = y
				}
				middle := yearsTo(day, to, asOf)
				alive := p.life.stands(middle)
				if day == days.begins[y] && to == days.ends[y] {
					alive *= rights[p.right][y]
				} else {
					alive *= f.right(&f.rights[p.right], middle)
				}
				a.time[y] += float64(to-day) / daysAYear * alive
				alive *= p.times
				factor := s.Share * days.growth[y]
				from, until, of := &table[day-p.laid], &table[to-p.laid], &mine[y]
				cost := 0.0
				for q := range parts {
					h := alive * (until[q] - from[q])
					g := h * factor
					bare[q] += h
					once[q] += g
					of.bare[q] += h
					of.once[q] += g
					of.twice[q] += g * factor
					cost += g * amount[q]
				}
				expected[y] += cost
				day = to
			}
		}
		one := &a.each[i]
		one.Row = int(p.row)
		one.Callbacks, one.Expected = dot(&bare, rate), dot(&once, amount)
		if marked != nil {
			continue // scenarios tell nothing by dimension
		}
		for _, n := range p.names {
			sum := &a.names[n]
			for q := range parts {
				sum.bare[q] += bare[q]
				sum.once[q] += once[q]
			}
		}
	}
	a.sumUp(sums, promises, marked != nil)
	return a
}

// yearsTo is from the day that is asked about to the middle of a span.
func yearsTo(from, to, asOf int32) float64 {
	return (float64(from+to)/2 - float64(asOf) - 1) / daysAYear
}

// perPattern is what a unit of time at risk in each part makes, by pattern: in
// callbacks, and in cents.
func (f *Fitted) perPattern(costs []CauseCost) (rates, amounts [][parts]float64) {
	for i := range f.patterns {
		rate, amount := f.makes(f.patterns[i].habits, costs)
		rates, amounts = append(rates, rate), append(amounts, amount)
	}
	return rates, amounts
}

func meanCost(costs []CauseCost, cause int) float64 {
	if costs == nil {
		return 0
	}
	return float64(costs[cause].Mean) * costs[cause].Costs
}

// sumUp makes callbacks and cost of time at risk, by year, by cause and by class.
func (a *ahead) sumUp(sums []sumOf, promises []int, marks bool) {
	f := a.f
	a.class, a.slope, a.byCause, a.counts = map[classKey]*aheadClass{}, make([][parts]float64, len(f.causes)), make([]float64, len(f.causes)), make([]float64, len(f.causes))
	for at, n := range promises {
		if n == 0 {
			continue
		}
		p := &f.patterns[at%len(f.patterns)]
		for k := range f.causes {
			key := classKey{p.crew, p.lot, p.mark, k}
			if marks {
				key.mark = ""
				if at >= len(f.patterns) {
					key.mark = Marked
				}
			}
			c := a.class[key]
			if c == nil {
				c = &aheadClass{rates: make([]float64, a.years)}
				a.class[key] = c
			}
			c.promises += n
			rate, mean, habit := f.rate(p.habits, k), meanCost(a.costs, k), f.habit(p.habits, k)
			for y := range a.years {
				s := &sums[at*a.years+y]
				bare, once := 0.0, 0.0
				for q, r := range rate {
					bare += r * s.bare[q]
					once += r * s.once[q]
					c.again += r * s.twice[q]
					a.slope[k][q] += habit * s.once[q] * mean
				}
				a.count[y] += bare
				a.cost[y] += once * mean
				a.counts[k] += bare
				a.byCause[k] += once * mean
				c.rates[y] += bare
				c.weight += bare
				c.cost += once
				c.expected += once * mean
			}
		}
	}
}

// shared are the crews or lots with the most time at risk, whose rates vary
// together in the distribution; none where the factor does not vary.
func (f *Fitted) shared(factor string, most int) map[string]bool {
	out := map[string]bool{}
	if f.spread[factor].SD == 0 {
		return out
	}
	time := map[string]float64{}
	var names []string
	for i := range f.in.Roofs {
		r := &f.in.Roofs[i]
		name := r.Crew
		if factor == "lot" {
			name = r.Lot
		}
		if name == "" || r.first() == 0 || r.Until <= f.in.AsOf {
			continue
		}
		if _, known := time[name]; !known {
			names = append(names, name)
		}
		time[name] += float64(r.Until - max(r.first(), f.in.AsOf))
	}
	slices.SortFunc(names, func(a, b string) int { return cmp.Or(cmp.Compare(time[b], time[a]), cmp.Compare(a, b)) })
	for _, name := range names[:min(most, len(names))] {
		out[name] = true
	}
	return out
}

// sure is how unsure a factor's levels are still, beside what is known of them:
// the mean over those that are shared.
func (f *Fitted) unsure(factor string, shared map[string]bool) float64 {
	sum, n := 0.0, 0
	for name := range shared {
		sd := f.spread[factor].SD
		if l, known := f.byName[levelKey{factorAt[factor], name, -1}]; known && f.levels[l].times > 0 {
			sd = f.levels[l].sd / f.levels[l].times
		}
		sum += sd * sd
		n++
	}
	if n == 0 {
		return 0
	}
	return spreadOK(math.Sqrt(sum / float64(n)))
}

// spreadOK brings a spread into what Distribution takes.
func spreadOK(sd float64) float64 {
	if sd < .001 {
		return 0
	}
	return math.Min(sd, 2)
}

// Model fits callbacks by cause and age to what happened and carries them
// forward. It refuses input that breaks a rule, never input that is missing.
func Model(in ModelInput) (ModelResult, error) {
	f, err := Fit(in)
	if err != nil {
		return ModelResult{}, err
	}
	return f.Result()
}

// Fit is the first half of Model: the rates. It keeps the input.
func Fit(in ModelInput) (*Fitted, error) {
	if err := in.validate(); err != nil {
		return nil, err
	}
	f := &Fitted{in: &in}
	f.fit()
	if len(f.events)+f.gaps.loose == 0 && in.AssumedRate != nil {
		f.assumed = true
		f.flat(*in.AssumedRate, *in.AssumedRate)
	}
	f.ready()
	return f, nil
}

// Result is the second half of Model: what was found, carried forward.
func (f *Fitted) Result() (ModelResult, error) { return f.result(true) }

func (f *Fitted) result(distribution bool) (ModelResult, error) {
	in := f.in
	r := ModelResult{AsOf: in.AsOf, Callbacks: f.own, CostsKnown: f.own - f.gaps.noCost, RoofYears: f.time, SmallSample: f.own < smallSample, OldestAge: f.oldest, Fades: f.shape.fades, Grows: f.shape.grows}
	for _, n := range []struct {
		code   string
		number int
	}{{"promises_without_days", f.gaps.days}, {"callbacks_without_days", f.gaps.loose}, {"callbacks_borne_by_others", f.gaps.others}, {"callbacks_outside_promise", f.gaps.outside},
		{"callbacks_without_cost", f.gaps.noCost}, {"callbacks_without_cause", f.gaps.noCause}} {
		if n.number > 0 {
			r.Notes = append(r.Notes, numbered(n.code, n.number))
		}
	}
	if r.SmallSample {
		r.Notes = append(r.Notes, numbered("small_sample", f.own))
	}
	if f.assumed {
		r.Assumed = true
		r.Notes = append(r.Notes, numbered("assumed_rate", 0))
	}
	if f.theta == nil {
		r.Notes = append(r.Notes, numbered("no_rate", 0))
		return r, nil
	}
	f.tell(&r)
	r.Costs = f.costs()
	switch {
	case r.Costs == nil:
		r.Notes = append(r.Notes, numbered("no_cost", 0))
	case f.own == f.gaps.noCost:
		r.Notes = append(r.Notes, numbered("assumed_cost", 0))
	}
	a := f.walk(r.Costs, nil)
	return r, f.carry(&r, a, distribution)
}

// tell writes down the rates and effects.
func (f *Fitted) tell(r *ModelResult) {
	counts, years := f.byAge()
	for k, cause := range f.causes {
		c := CauseRate{Cause: cause, Causes: slices.Sorted(slices.Values(f.joined[cause])), cov: f.cov[k]}
		for p, to := range []*PartRate{&c.Early, &c.Steady, &c.Wear} {
			*to = PartRate{Rate: f.theta[k][p], SE: math.Sqrt(math.Max(0, f.cov[k][p][p]))}
		}
		for y := range years {
			b, d := f.shape.sum(float64(y)), f.shape.sum(float64(y+1))
			rate := 0.0
			for p := range parts {
				b[p] = d[p] - b[p]
				rate += b[p] * f.theta[k][p]
			}
			sd := math.Sqrt(quadratic(&b, &f.cov[k]))
			c.Callbacks += counts[k][y]
			c.Years = append(c.Years, AgeAt{FromYear: y, Callbacks: counts[k][y], RoofYears: years[y], Rate: rate,
				Low: gammaQuantile(rate, sd, lowPoint), High: gammaQuantile(rate, sd, highPoint)})
		}
		r.Rates = append(r.Rates, c)
	}
	for _, name := range Factors {
		if s, known := f.spread[name]; known {
			r.Spreads = append(r.Spreads, s)
		}
	}
	for i := range f.levels {
		l := &f.levels[i]
		if l.years == 0 {
			continue
		}
		e := LevelEffect{Factor: Factors[l.factor], Name: l.name, Callbacks: l.count, Expected: l.expected, RoofYears: l.years, Times: l.times, SD: l.sd,
			Low: gammaQuantile(l.times, l.sd, lowPoint), High: gammaQuantile(l.times, l.sd, highPoint)}
		if l.cause >= 0 {
			e.Cause = f.causes[l.cause]
		}
		r.Effects = append(r.Effects, e)
	}
	slices.SortStableFunc(r.Effects, func(a, b LevelEffect) int {
		return cmp.Or(cmp.Compare(factorAt[a.Factor], factorAt[b.Factor]), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Cause, b.Cause))
	})
}

// ageYear is the year since laying that a day lies in.
func ageYear(days int) int { return int(float64(days) / daysAYear) }

// byAge counts callbacks by cause and the time at risk, by year since laid.
func (f *Fitted) byAge() (counts [][]float64, years []float64) {
	in := f.in
	for i := range in.Roofs {
		r := &in.Roofs[i]
		if r.first() == 0 || r.Until == 0 {
			continue
		}
		laid := int(r.laid())
		from, stop := max(int(r.first()), int(in.RecordsFrom))-laid, min(int(r.Until), int(in.AsOf))+1-laid
		for from < stop {
			y := ageYear(from)
			for len(years) <= y {
				years = append(years, 0)
			}
			to := min(stop, int(math.Ceil(daysAYear*float64(y+1))))
			years[y] += float64(to-from) / daysAYear
			from = to
		}
	}
	counts = make([][]float64, len(f.causes))
	for k := range counts {
		counts[k] = make([]float64, len(years))
	}
	for _, e := range f.events {
		y := min(int(e.age), len(years)-1)
		if e.cause >= 0 {
			counts[e.cause][y]++
			continue
		}
		for k, part := range f.parting(e) {
			counts[k][y] += part
		}
	}
	return counts, years
}

// carry writes down what is ahead, and its distribution.
func (f *Fitted) carry(r *ModelResult, a *ahead, distribution bool) error {
	total, discounted := ModelYear{Promises: len(f.ahead)}, units.Money(0)
	amounts := inParts(a.cost)
	for y := range a.years {
		out := ModelYear{Year: a.first + y, Promises: a.promise[y], RoofYears: a.time[y], Callbacks: a.count[y]}
		total.RoofYears += a.time[y]
		total.Callbacks += a.count[y]
		if a.costs != nil {
			from, to := max(f.in.AsOf+1, units.NewDate(out.Year, 1, 1)), units.NewDate(out.Year+1, 1, 1)
			d := amounts[y].Times(math.Pow(1+f.in.DiscountRate, -(float64(from+to)/2-float64(f.in.AsOf))/daysAYear))
			out.Expected, out.Discounted = &amounts[y], &d
			discounted += d
		}
		r.Years = append(r.Years, out)
	}
	r.Total = total
	r.Promises, r.cohorts = a.each, a.cohort
	if a.costs == nil {
		r.By = a.told(r.Total.Expected, nil, nil)
		return nil
	}
	var sum units.Money
	for _, m := range amounts {
		sum += m
	}
	r.Total.Expected, r.Total.Discounted = &sum, &discounted
	expected := f.unsureOf(r, a)
	base, keys := a.base(r, true)
	if len(base.Groups) == 0 || expected <= 0 {
		zero := units.Money(0)
		r.Total.Low, r.Total.High = &zero, &zero
		r.By = a.told(r.Total.Expected, nil, nil)
		return nil
	}
	r.Base = &base
	if !distribution {
		r.By = a.told(&sum, nil, nil)
		return nil
	}
	d, err := Distribution(base)
	if err != nil {
		return fmt.Errorf("the distribution of what is ahead: %w", err)
	}
	r.Distribution = &d
	if err := base.yearRanges(r.Years); err != nil {
		return err
	}
	for _, q := range d.Quantiles {
		switch q.Level {
		case lowPoint:
			r.Total.Low = &q.Cents
		case highPoint:
			r.Total.High = &q.Cents
		}
	}
	r.Notes = append(r.Notes, d.Notes...)
	if last := f.in.AsOf; a.years > 0 && a.first+a.years-1-last.Year() > 0 && f.oldest > 0 {
		r.Notes = append(r.Notes, numbered("beyond_own_history", int(f.oldest)))
	}
	r.By = a.told(&sum, keys, d.Groups)
	return nil
}

// unsureOf gives the expected cost, and notes how unsure its rates and its mean
// costs are.
func (f *Fitted) unsureOf(r *ModelResult, a *ahead) (expected float64) {
	rates, means := 0.0, 0.0
	for k := range f.causes {
		expected += a.byCause[k]
		rates += quadratic(&a.slope[k], &f.cov[k])
		means += math.Pow(a.byCause[k]*a.costs[k].SE, 2)
	}
	if expected > 0 {
		r.UnsureRates, r.UnsureCosts = math.Sqrt(rates)/expected, math.Sqrt(means)/expected
	}
	return expected
}

// yearRanges fills in the range of each year: all that varies is taken as one
// gamma factor of the year with the variance that they make together.
func (in DistributionInput) yearRanges(years []ModelYear) error {
	b, err := in.sort()
	if err != nil {
		return fmt.Errorf("the range of each year: %w", err)
	}
	for y := range years {
		one := b.only(y)
		count, mean, variance, mixing, _ := one.moments(in.WeatherSD*in.WeatherSD, in.LotSD*in.LotSD, in.CrewSD*in.CrewSD, in.RateSD*in.RateSD)
		low, high := units.Money(0), units.Money(0)
		if count > 1e-9 && mean > 1e-6 {
			cost := mean / count
			low, high = compoundRange(count, mixing/(mean*mean), cost, math.Sqrt(math.Max(0, (variance-mixing)/count-cost*cost)))
		}
		years[y].Low, years[y].High = &low, &high
	}
	return nil
}

// base is the input of the distribution: one group for each cause of those that
// share lot, crew and mark. Shares and growth are in the cost of a cause, which
// keeps its mean and its spread, and in the rates of a group beside the cause's,
// which keeps the expected cost of each. Names keep crews and lots apart where
// asked to.
func (a *ahead) base(r *ModelResult, apart bool) (DistributionInput, map[string]classKey) {
	f := a.f
	in := DistributionInput{FirstYear: a.first, Shortfall: highPoint, Step: f.in.Step, Nodes: f.in.Nodes,
		WeatherSD: spreadOK(f.spread["year"].SD), LotSD: f.unsure("lot", f.sharedLots), CrewSD: f.unsure("crew", f.sharedCrews),
		RateSD: math.Min(mostUnsure, spreadOK(math.Sqrt((1+r.UnsureRates*r.UnsureRates)*(1+r.UnsureCosts*r.UnsureCosts)-1)))}
	keys := map[string]classKey{}
	order := make([]classKey, 0, len(a.class))
	for k := range a.class {
		order = append(order, k)
	}
	slices.SortFunc(order, func(x, y classKey) int {
		return cmp.Or(cmp.Compare(x.cause, y.cause), cmp.Compare(x.mark, y.mark), cmp.Compare(x.crew, y.crew), cmp.Compare(x.lot, y.lot))
	})
	whole := make([]aheadClass, len(f.causes))
	for _, k := range order {
		c, w := a.class[k], &whole[k.cause]
		w.weight, w.cost, w.again = w.weight+c.weight, w.cost+c.cost, w.again+c.again
	}
	for _, k := range order {
		c, w, cost := a.class[k], &whole[k.cause], a.costs[k.cause]
		if (c.cost <= 0 && k.mark != Marked) || cost.Costs <= 0 {
			continue
		}
		m1, m2, beside := 1., 1., 0. // beside is the share and growth of the group beside the cause's
		if w.cost > 0 {
			m1, m2 = w.cost/w.weight, w.again/w.weight
		}
		if c.cost > 0 {
			beside = c.cost / c.weight / m1
		}
		mean, sd := float64(cost.Mean), float64(cost.SD)
		g := PromiseGroup{Name: GroupName(f.causes[k.cause], k.mark, k.crew, k.lot), Promises: float64(c.promises), Lot: k.lot, Crew: k.crew,
			CostMean: max(1, units.Money(math.Round(mean*m1))), CostSD: units.Money(math.Round(math.Sqrt(math.Max(0, (mean*mean+sd*sd)*m2-mean*mean*m1*m1))))}
		g.CostSD = min(g.CostSD, 9*g.CostMean)
		for _, rate := range c.rates {
			g.Rates = append(g.Rates, rate*beside*cost.Costs/float64(c.promises))
		}
		if !apart {
			g.Name = GroupName(f.causes[k.cause], k.mark, "", "")
		}
		keys[g.Name] = k
		in.Groups = append(in.Groups, g)
	}
	return in, keys
}

// GroupName is the name of a group of the base: cause, mark, and the crew and
// the lot whose rates vary together.
func GroupName(cause, mark, crew, lot string) string {
	return cause + "|" + mark + "|" + crew + "|" + lot
}

// told is what is ahead by each dimension. What a group adds to the worst tenth
// is shared out by expected cost.
func (a *ahead) told(total *units.Money, keys map[string]classKey, shares []GroupShare) map[string][]ModelPart {
	f := a.f
	worst, whole := map[classKey]float64{}, 0.0 // of a cent of expected cost
	for _, s := range shares {
		if c := a.class[keys[s.Name]]; c.expected > 0 {
			worst[keys[s.Name]] = float64(s.Shortfall) / c.expected
		}
		whole += float64(s.Shortfall)
	}
	rates, amounts := f.perPattern(a.costs)
	tails := make([][parts]float64, len(f.patterns))
	byCause := make([]float64, len(f.causes))
	for k, c := range a.class {
		byCause[k.cause] += worst[k] * c.expected
	}
	for i := range f.patterns {
		p := &f.patterns[i]
		for k := range f.causes {
			w := worst[classKey{p.crew, p.lot, p.mark, k}] * meanCost(a.costs, k)
			for q, r := range f.rate(p.habits, k) {
				tails[i][q] += w * r
			}
		}
	}
	type sum struct {
		ModelPart
		expected, worst float64
	}
	lists := make([]map[string]*sum, len(Dimensions))
	for d := range lists {
		lists[d] = map[string]*sum{}
	}
	for i := range f.names {
		p, s := &f.names[i], &a.names[i]
		to := lists[p.dimension][p.name]
		if to == nil {
			to = &sum{ModelPart: ModelPart{Name: p.name}}
			lists[p.dimension][p.name] = to
		}
		to.Promises += p.promises
		to.Callbacks += dot(&s.bare, &rates[p.pattern])
		to.expected += dot(&s.once, &amounts[p.pattern])
		to.worst += dot(&s.once, &tails[p.pattern])
	}
	for k, cause := range f.causes {
		if len(f.ahead) > 0 {
			lists[len(Dimensions)-1][cause] = &sum{ModelPart{Name: cause, Promises: len(f.ahead), Callbacks: a.counts[k]}, a.byCause[k], byCause[k]}
		}
	}
	out := map[string][]ModelPart{}
	for d, dimension := range Dimensions {
		var list []ModelPart
		var expected, shortfall []float64
		for _, name := range slices.Sorted(maps.Keys(lists[d])) {
			s := lists[d][name]
			list, expected, shortfall = append(list, s.ModelPart), append(expected, s.expected), append(shortfall, s.worst)
		}
		if a.costs != nil {
			cents := share(*total, expected)
			for i := range list {
				list[i].Expected = &cents[i]
			}
		}
		if shares != nil {
			cents := share(units.Money(math.Round(whole)), shortfall)
			for i := range list {
				list[i].Shortfall = &cents[i]
			}
		}
		slices.SortStableFunc(list, func(x, y ModelPart) int { return cmp.Compare(y.Callbacks, x.Callbacks) })
		out[dimension] = list
	}
	return out
}
