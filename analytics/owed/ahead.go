package owed

import (
	"cmp"
	"fmt"
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
// causes, and the causes' means are normal about that of all (moments).
func (f *Fitted) costs() []CauseCost {
	n := len(f.causes)
	// One group more, of causes that are not known: it counts among all.
	logs := make([][]float64, n+1)
	known, free := make([]int, n+1), make([]int, n+1)
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
		if *c.CostCents == 0 {
			free[k]++
			continue
		}
		on := cmp.Or(c.CostOn, c.HappenedOn, f.in.AsOf)
		growth := math.Pow(1+f.in.CostGrowth, float64(f.in.AsOf-on)/daysAYear)
		logs[k] = append(logs[k], math.Log(float64(*c.CostCents)*growth))
	}
	var all, within float64
	count, groups, squares, allKnown, allFree := 0, 0, 0., 0, 0
	for k, l := range logs {
		allKnown, allFree = allKnown+known[k], allFree+free[k]
		for _, x := range l {
			all += x
		}
		count += len(l)
		if len(l) > 0 {
			groups++
			squares += float64(len(l) * len(l))
		}
	}
	if count == 0 {
		if f.in.AssumedCostCents == nil {
			return nil
		}
		mean := float64(*f.in.AssumedCostCents)
		out := make([]CauseCost, n)
		for k := range out {
			out[k] = oneCost(f.causes[k], 0, 1, math.Log(mean)-unknownCost/2, unknownCost, 1, 1)
		}
		return out
	}
	mu := all / float64(count)
	means, between := make([]float64, n+1), 0.0
	for k, l := range logs {
		if len(l) == 0 {
			continue
		}
		for _, x := range l {
			means[k] += x / float64(len(l))
		}
		for _, x := range l {
			within += (x - means[k]) * (x - means[k])
		}
		between += float64(len(l)) * (means[k] - mu) * (means[k] - mu)
	}
	variance := unknownCost
	if count > groups {
		variance = within / float64(count-groups)
	}
	if count < smallSample {
		variance = math.Max(variance, unknownCost)
	}
	tau2 := 0.0
	if spread := float64(count) - squares/float64(count); groups > 1 && spread > 0 {
		tau2 = math.Max(0, (between-float64(groups-1)*variance)/spread)
	}
	costing := 1 - float64(allFree)/float64(max(1, allKnown))
	out := make([]CauseCost, n)
	for k, l := range logs[:n] {
		pull := 1.0
		if len(l) > 0 && tau2 > 0 {
			pull = variance / (variance + float64(len(l))*tau2)
		}
		m := pull*mu + (1-pull)*means[k]
		// The error of the mean of the logarithms, and of the mean cost by it.
		se2 := pull * pull * (variance/float64(count) + tau2/float64(groups))
		if len(l) > 0 {
			se2 += (1 - pull) * (1 - pull) * variance / float64(len(l))
		}
		chance := (costWeight*costing + float64(known[k]-free[k])) / (costWeight + float64(known[k]))
		out[k] = oneCost(f.causes[k], known[k], chance, m, variance, se2, pull)
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
// chance that it is gone runs straight between the points of its life left.
func (y *YearsLeft) stands(years float64) float64 {
	if y == nil || years <= 0 {
		return 1
	}
	at := [][2]float64{{0, 0}, {y.Low, .1}, {y.Middle, .5}, {y.High, .9}, {y.High + (y.High-y.Middle)/2, 1}}
	for i := 1; i < len(at); i++ {
		if years < at[i][0] {
			return 1 - at[i-1][1] - (at[i][1]-at[i-1][1])*(years-at[i-1][0])/(at[i][0]-at[i-1][0])
		}
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
	dims    []map[string]*aheadPart
	slope   [][parts]float64 // of the expected cost by each part of a cause
	byCause []float64        // expected cost
	open    int
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
	promises            int
}

type aheadPart struct {
	promises int
	count    float64
	by       map[classKey]float64 // expected cost
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
	details := slices.Clone(r.Details)
	slices.Sort(details)
	for _, d := range slices.Compact(details) {
		times("detail", d)
	}
	return u
}

// crewHabit is what the rate of one cause is multiplied by for the roof's crew.
func (f *Fitted) crewHabit(r *ModelRoof, cause int) float64 {
	if c, known := f.byName[levelKey{factorAt["crew_cause"], r.Crew, cause}]; known {
		return f.levels[c].times
	}
	return 1
}

// right is the chance that the owner's right to a promise has survived sales
// after so many years.
func (f *Fitted) right(r *ModelRoof, transferred bool, years float64) float64 {
	turnover, notice := 0.0, usualNotice
	if f.in.Turnover != nil {
		turnover = *f.in.Turnover
	}
	if f.in.NoticeGiven != nil {
		notice = *f.in.NoticeGiven
	}
	return right(r.Transfer, transferred, r.AfterTransferMonths, turnover, notice, years)
}

// shares are what of a cost is promised, by day.
func (r *ModelRoof) shares() []ShareSpan {
	if len(r.Shares) == 0 {
		return []ShareSpan{{From: r.first(), Until: r.Until, Share: 1}}
	}
	return r.Shares
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

// walk goes through the time ahead of each promise, from boundary to boundary: a
// new calendar year, or a new share.
func (f *Fitted) walk(costs []CauseCost, marked func(roof int) bool) *ahead {
	in := f.in
	a := &ahead{f: f, costs: costs, first: (in.AsOf + 1).Year(), class: map[classKey]*aheadClass{}, cohort: map[int]*cohort{}, slope: make([][parts]float64, len(f.causes)), byCause: make([]float64, len(f.causes))}
	last, oldest := in.AsOf, units.Date(0)
	for i := range in.Roofs {
		if r := &in.Roofs[i]; r.first() != 0 && r.Until > in.AsOf {
			last, oldest = max(last, r.Until), max(oldest, r.Until-r.laid())
		}
	}
	a.years = max(0, last.Year()-a.first+1)
	if last == in.AsOf {
		a.years = 0
	}
	a.promise, a.time, a.count, a.cost = make([]int, a.years), make([]float64, a.years), make([]float64, a.years), make([]float64, a.years)
	for range Dimensions {
		a.dims = append(a.dims, map[string]*aheadPart{})
	}
	table := f.ages(int(oldest) + 2)
	growth := make([]float64, a.years)
	ends := make([]int, a.years)
	for y := range growth {
		ends[y] = int(units.NewDate(a.first+y+1, 1, 1))
		middle := (float64(max(int(in.AsOf)+1, int(units.NewDate(a.first+y, 1, 1)))) + float64(ends[y])) / 2
		growth[y] = math.Pow(1+in.CostGrowth, (middle-float64(in.AsOf))/daysAYear)
	}
	crews, lots := f.shared("crew", sharedCrews), f.shared("lot", sharedLots)

	n := len(f.causes)
	counts := make([]float64, n)      // of one promise, by cause
	amounts := make([]float64, n)     // and cents
	byYear := make([]float64, n)      // of one piece
	habits := make([]float64, n)      // of the roof's crew
	classes := make([]*aheadClass, n) // the promise's
	for i := range in.Roofs {
		r := &in.Roofs[i]
		if r.first() == 0 || r.Until <= in.AsOf {
			continue
		}
		laid, from, stop := int(r.laid()), int(max(r.first(), in.AsOf+1)), int(r.Until)+1
		if from >= stop {
			continue
		}
		a.open++
		laidIn := a.cohort[r.laid().Year()]
		if laidIn == nil {
			laidIn = &cohort{year: r.laid().Year(), expected: make([]float64, a.years)}
			a.cohort[laidIn.year] = laidIn
		}
		laidIn.promises++
		u := f.common(r)
		mark := r.Mark
		if marked != nil {
			mark = ""
			if marked(i) {
				mark = Marked
				a.marked++
			}
		}
		for k := range n {
			habits[k], counts[k], amounts[k] = f.crewHabit(r, k), 0, 0
			key := classKey{mark: mark, cause: k}
			if crews[r.Crew] {
				key.crew = r.Crew
			}
			if lots[r.Lot] {
				key.lot = r.Lot
			}
			c := a.class[key]
			if c == nil {
				c = &aheadClass{rates: make([]float64, a.years)}
				a.class[key] = c
			}
			c.promises++
			classes[k] = c
		}
		y, seen := 0, -1
		for _, s := range r.shares() {
			at, end := max(from, int(s.From)), min(stop, int(s.Until)+1)
			for at < end {
				for at >= ends[y] {
					y++
				}
				to := min(end, ends[y])
				if seen != y {
					a.promise[y]++
					seen = y
				}
				middle := (float64(at+to)/2 - float64(in.AsOf) - 1) / daysAYear
				alive := u * r.YearsLeft.stands(middle) * f.right(r, r.Transferred, middle)
				if u > 0 {
					a.time[y] += float64(to-at) / daysAYear * alive / u
				}
				factor := s.Share * growth[y]
				from, to2 := &table[at-laid], &table[to-laid]
				for k := range n {
					sum := 0.0
					w := alive * habits[k]
					var mean float64
					if a.costs != nil {
						mean = float64(a.costs[k].Mean) * a.costs[k].Costs
					}
					for p := range parts {
						h := w * (to2[p] - from[p])
						a.slope[k][p] += h * factor * mean
						sum += h * f.theta[k][p]
					}
					byYear[k] = sum
					counts[k] += sum
					amounts[k] += sum * factor * mean
					a.count[y] += sum
					a.cost[y] += sum * factor * mean
					laidIn.expected[y] += sum * factor * mean
					c := classes[k]
					c.rates[y] += sum
					c.weight += sum
					c.cost += sum * factor
					c.again += sum * factor * factor
				}
				at = to
			}
		}
		one := PromiseAhead{Row: i}
		for k := range n {
			one.Callbacks += counts[k]
			one.Expected += amounts[k]
		}
		a.each = append(a.each, one)
		for d, name := range Dimensions {
			for k := range n {
				of := ""
				switch name {
				case "terms":
					of = r.Terms
				case "crew":
					of = r.Crew
				case "covering":
					of = r.Covering
				case "lot":
					of = r.Lot
				case "neighbourhood":
					of = r.Neighbourhood
				case "cause":
					of = f.causes[k]
				}
				part := a.dims[d][of]
				if part == nil {
					part = &aheadPart{by: map[classKey]float64{}}
					a.dims[d][of] = part
				}
				if k == 0 || name == "cause" {
					part.promises++
				}
				part.count += counts[k]
				key := classKey{mark: mark, cause: k}
				if crews[r.Crew] {
					key.crew = r.Crew
				}
				if lots[r.Lot] {
					key.lot = r.Lot
				}
				part.by[key] += amounts[k]
				if d == 0 {
					a.byCause[k] += amounts[k]
				}
			}
		}
	}
	return a
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
	total, discounted := ModelYear{Promises: a.open}, units.Money(0)
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
		WeatherSD: spreadOK(f.spread["year"].SD), LotSD: f.unsure("lot", f.shared("lot", sharedLots)), CrewSD: f.unsure("crew", f.shared("crew", sharedCrews)),
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
	class := map[classKey]float64{}
	whole := 0.0
	for _, s := range shares {
		class[keys[s.Name]] = float64(s.Shortfall)
		whole += float64(s.Shortfall)
	}
	sums := map[classKey]float64{}
	for _, part := range a.dims[0] {
		for k, x := range part.by {
			sums[k] += x
		}
	}
	out := map[string][]ModelPart{}
	for d, dimension := range Dimensions {
		var list []ModelPart
		var expected, shortfall []float64
		names := make([]string, 0, len(a.dims[d]))
		for name := range a.dims[d] {
			names = append(names, name)
		}
		slices.Sort(names)
		for _, name := range names {
			p := a.dims[d][name]
			sum, tail := 0.0, 0.0
			order := make([]classKey, 0, len(p.by))
			for k := range p.by {
				order = append(order, k)
			}
			slices.SortFunc(order, func(x, y classKey) int {
				return cmp.Or(cmp.Compare(x.cause, y.cause), cmp.Compare(x.mark, y.mark), cmp.Compare(x.crew, y.crew), cmp.Compare(x.lot, y.lot))
			})
			for _, k := range order {
				sum += p.by[k]
				if sums[k] > 0 {
					tail += class[k] * p.by[k] / sums[k]
				}
			}
			list = append(list, ModelPart{Name: name, Promises: p.promises, Callbacks: p.count})
			expected, shortfall = append(expected, sum), append(shortfall, tail)
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
