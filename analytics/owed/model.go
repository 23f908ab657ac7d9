package owed

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// ModelInput is what callbacks by cause and age are fitted to, and what is
// carried forward from the fit.
type ModelInput struct {
	AsOf units.Date `json:"as_of"`
	// RecordsFrom is the first day from which callbacks are kept; time before it
	// is no time at risk (late entry). No date: all of it is.
	RecordsFrom units.Date `json:"records_from,omitempty"`
	// Roofs are all that were ever under a promise of ours, ended ones too.
	Roofs     []ModelRoof     `json:"roofs"`
	Callbacks []ModelCallback `json:"callbacks,omitempty"`
	// CostGrowth and DiscountRate are a year; nought is none.
	CostGrowth   float64 `json:"cost_growth,omitempty"`
	DiscountRate float64 `json:"discount_rate,omitempty"`
	// Turnover is how many sales a house has in a year; nil is none. NoticeGiven
	// is the chance that a sale comes with the notice that the terms ask for, one
	// half where nil: our judgement.
	Turnover    *float64 `json:"turnover,omitempty"`
	NoticeGiven *float64 `json:"notice_given,omitempty"`
	// AssumedRate is callbacks of a roof in a year, and AssumedCostCents the cost
	// of one. They stand in where there is no history of our own. Nil is none.
	AssumedRate      *float64     `json:"assumed_rate,omitempty"`
	AssumedCostCents *units.Money `json:"assumed_cost_cents,omitempty"`
	// Spreads fixes how widely roofs' rates vary with a factor, as a standard
	// deviation beside a mean of 1, instead of fitting it: covering, crew, lot,
	// neighbourhood, detail, crew_cause or year.
	Spreads map[string]float64 `json:"spreads,omitempty"`
	// Step is the step of the lattice of the distribution, and Nodes the nodes of
	// each quadrature; both are chosen when nought.
	Step  units.Money `json:"step_cents,omitempty"`
	Nodes int         `json:"nodes,omitempty"`
}

// ModelRoof is one roof under one promise of ours. Empty names are not known
// and add nothing of their own.
type ModelRoof struct {
	ID            string     `json:"id"`
	LaidOn        units.Date `json:"laid_on,omitempty"` // unknown: the first day
	From          units.Date `json:"from,omitempty"`    // of the promise; unknown: the day laid
	Until         units.Date `json:"until"`             // last day
	Covering      string     `json:"covering,omitempty"`
	Crew          string     `json:"crew,omitempty"`
	Lot           string     `json:"lot,omitempty"`
	Neighbourhood string     `json:"neighbourhood,omitempty"`
	Terms         string     `json:"terms,omitempty"`
	Details       []string   `json:"details,omitempty"` // kinds on the roof
	// Shares are what of a cost is promised, by day; empty is all. Days between
	// or beyond them count as nothing.
	Shares []ShareSpan `json:"shares,omitempty"`
	// Transfer is whether the owner's right survives a sale: never, once,
	// by_notice or always (also where empty). AfterTransferMonths is how long it
	// lasts at most after one; nil is no limit. Transferred: the one transfer has
	// been.
	Transfer            string `json:"transfer,omitempty"`
	AfterTransferMonths *int   `json:"after_transfer_months,omitempty"`
	Transferred         bool   `json:"transferred,omitempty"`
	// YearsLeft is the life that is left in the covering; nil counts as standing
	// to the end of the promise.
	YearsLeft *YearsLeft `json:"years_left,omitempty"`
	// Mark keeps the roofs of one mark apart in the base of scenarios.
	Mark string `json:"mark,omitempty"`
}

// ShareSpan is the share promised from one day to another, both included.
type ShareSpan struct {
	From  units.Date `json:"from"`
	Until units.Date `json:"until"`
	Share float64    `json:"share"`
}

// YearsLeft is a life left: the 10, 50 and 90 % points, in years from as_of.
type YearsLeft struct {
	Low    float64 `json:"low"`
	Middle float64 `json:"middle"`
	High   float64 `json:"high"`
}

// ModelCallback is one callback that happened.
type ModelCallback struct {
	Roof       string       `json:"roof"` // its ID
	HappenedOn units.Date   `json:"happened_on,omitempty"`
	Cause      string       `json:"cause,omitempty"` // one of the trade's; unknown is shared out
	CostCents  *units.Money `json:"cost_cents,omitempty"`
	CostOn     units.Date   `json:"cost_on,omitempty"` // whose prices; unknown: the day it happened
	Bearer     string       `json:"bearer,omitempty"`  // unknown counts as us
}

// Bearers are who can bear the cost of a callback; us and goodwill are ours.
var Bearers = []string{"us", "goodwill", "maker", "subcontractor", "insurer", "owner"}

// causeGroups joins causes that come of one thing, so that each group has
// callbacks enough to fit. A cause that is not named here stands alone.
var causeGroups = map[string]string{
	"flashing": "joints", "valley": "joints", "lap": "lap",
	"nail": "fastening", "seal": "fastening", "wind": "fastening",
	"ice": "cold", "condensation": "cold",
	"material": "material", "gutter": "gutter", "nails_in_yard": "yard",
	"storm": "outside", "other_trade": "outside", "nothing_wrong": "nothing_wrong",
}

// CauseGroup is the group that a cause is fitted with.
func CauseGroup(cause string) string {
	if g, known := causeGroups[cause]; known {
		return g
	}
	return cause
}

// OtherCauses is the group of the causes that have too few callbacks for a rate
// of their own.
const OtherCauses = "other"

// Factors are what roofs' rates are shrunk by, in the order of the results.
// crew_cause is a crew with one cause: a habit. year is a calendar year: its
// weather.
var Factors = []string{"covering", "detail", "crew", "crew_cause", "lot", "neighbourhood", "year"}

// The parts of a rate, by age: faults of the laying that fade, what comes at any
// age, and wear that grows.
const (
	early = iota
	steady
	wear
	parts
)

const (
	smallSample = 5   // own callbacks below which the sample is small
	mostYears   = 100 // that a promise can run
	daysAYear   = 365.25
	lowPoint    = 0.10
	highPoint   = 0.90
)

const (
	leastOfCause  = 5   // own callbacks below which a cause is fitted with others
	wearUnit      = 10. // years
	oldForSquare  = 10. // years of history before wear may be taken to grow with the square
	mostRounds    = 200
	mostModelRows = 1_000_000
)

// shape is how the parts run with age in years: exp(−t/fades), 1, and
// (t/10)^grows.
type shape struct {
	fades float64
	grows float64
}

func (s shape) at(t float64) [parts]float64 {
	return [parts]float64{math.Exp(-t / s.fades), 1, math.Pow(t/wearUnit, s.grows)}
}

// sum is each part's integral from laying to an age.
func (s shape) sum(t float64) [parts]float64 {
	return [parts]float64{-s.fades * math.Expm1(-t/s.fades), t, math.Pow(t/wearUnit, s.grows+1) * wearUnit / (s.grows + 1)}
}

// table is each part's integral from laying to each day.
func (s shape) table(days int) [][parts]float64 {
	out := make([][parts]float64, days+1)
	for d := range out {
		out[d] = s.sum(float64(d) / daysAYear)
	}
	return out
}

func (in *ModelInput) validate() error {
	if in.AsOf <= 0 {
		return fmt.Errorf("as_of: the day that is asked about is needed")
	}
	if len(in.Roofs) > mostModelRows || len(in.Callbacks) > mostModelRows {
		return fmt.Errorf("roofs: at most %d roofs and as many callbacks, not %d and %d", mostModelRows, len(in.Roofs), len(in.Callbacks))
	}
	if !rateOK(in.CostGrowth) {
		return fmt.Errorf("cost_growth: must lie between -0.5 and 1, not %v", in.CostGrowth)
	}
	if !rateOK(in.DiscountRate) {
		return fmt.Errorf("discount_rate: must lie between -0.5 and 1, not %v", in.DiscountRate)
	}
	if t := in.Turnover; t != nil && !(*t >= 0 && *t <= 2) {
		return fmt.Errorf("turnover: must lie between 0 and 2 sales a year, not %v", *t)
	}
	if n := in.NoticeGiven; n != nil && !(*n >= 0 && *n <= 1) {
		return fmt.Errorf("notice_given: must lie between 0 and 1, not %v", *n)
	}
	if r := in.AssumedRate; r != nil && !(*r > 0 && *r <= 100) {
		return fmt.Errorf("assumed_rate: must lie above 0 and up to 100 a year, not %v", *r)
	}
	if c := in.AssumedCostCents; c != nil && (*c <= 0 || *c > mostMoney) {
		return fmt.Errorf("assumed_cost_cents: must lie above 0 and up to %v, not %v", mostMoney, *c)
	}
	if in.Nodes < 0 || in.Nodes > 128 {
		return fmt.Errorf("nodes: must lie between 0 and 128, not %d", in.Nodes)
	}
	if in.Step < 0 || in.Step > mostMoney {
		return fmt.Errorf("step_cents: must lie between 0 and %v, not %v", mostMoney, in.Step)
	}
	for name, sd := range in.Spreads {
		if !slices.Contains(Factors, name) || !(sd >= 0 && sd <= 1e6) {
			return fmt.Errorf("spreads: must be of %v, between 0 and a million, not %q with %v", Factors, name, sd)
		}
	}
	for i := range in.Roofs {
		if err := in.Roofs[i].validate(in.AsOf); err != nil {
			return fmt.Errorf("roofs[%d].%w", i, err)
		}
	}
	for i, c := range in.Callbacks {
		if c.CostCents != nil && (*c.CostCents < 0 || *c.CostCents > mostMoney) {
			return fmt.Errorf("callbacks[%d].cost_cents: must lie between 0 and %v, not %v", i, mostMoney, *c.CostCents)
		}
		if c.Bearer != "" && !slices.Contains(Bearers, c.Bearer) {
			return fmt.Errorf("callbacks[%d].bearer: must be one of %v or empty, not %q", i, Bearers, c.Bearer)
		}
	}
	return nil
}

func (r *ModelRoof) validate(asOf units.Date) error {
	if r.LaidOn != 0 && r.From != 0 && r.From < r.LaidOn {
		return fmt.Errorf("from: %v is before the day laid, %v", r.From, r.LaidOn)
	}
	if first := r.first(); first != 0 && r.Until != 0 && (r.Until < first-1 || r.Until > r.laid()+mostYears*366 || r.Until > asOf+mostYears*366) {
		return fmt.Errorf("until: %v must not be before the first day, %v, or more than %d years after laying or ahead", r.Until, first, mostYears)
	}
	for i, s := range r.Shares {
		if !(s.Share >= 0 && s.Share <= 1) {
			return fmt.Errorf("shares[%d].share: must lie between 0 and 1, not %v", i, s.Share)
		}
		if s.Until < s.From || i > 0 && s.From <= r.Shares[i-1].Until {
			return fmt.Errorf("shares[%d]: spans must follow one another, and %v to %v does not", i, s.From, s.Until)
		}
	}
	if !slices.Contains([]string{"", "never", "once", "by_notice", "always"}, r.Transfer) {
		return fmt.Errorf("transfer: must be never, once, by_notice or always, not %q", r.Transfer)
	}
	if m := r.AfterTransferMonths; m != nil && (*m < 0 || *m > 12*mostYears) {
		return fmt.Errorf("after_transfer_months: must lie between 0 and %d, not %d", 12*mostYears, *m)
	}
	if y := r.YearsLeft; y != nil && !(y.Low >= 0 && y.Low <= y.Middle && y.Middle <= y.High && y.High <= 1000) {
		return fmt.Errorf("years_left: low, middle and high must rise between 0 and 1000, not %v, %v, %v", y.Low, y.Middle, y.High)
	}
	return nil
}

func (r *ModelRoof) laid() units.Date  { return cmp.Or(r.LaidOn, r.From) }
func (r *ModelRoof) first() units.Date { return cmp.Or(r.From, r.LaidOn) }

// PartRate is one part of the rate of a cause, callbacks of a roof in a year.
type PartRate struct {
	Rate float64 `json:"rate"`
	SE   float64 `json:"se"` // standard error, the other effects given
}

// CauseRate is the rate of a cause with the age of a roof: early × exp(−t/fades)
// + steady + wear × (t/10)^grows, t in years.
type CauseRate struct {
	Cause     string   `json:"cause"`
	Causes    []string `json:"causes,omitempty"` // as found, that are fitted together
	Callbacks float64  `json:"callbacks"`        // with its part of those whose cause is not known
	Early     PartRate `json:"early"`
	Steady    PartRate `json:"steady"`
	Wear      PartRate `json:"wear"`
	Years     []AgeAt  `json:"years"`

	cov [parts][parts]float64
}

// AgeAt is the mean rate in one year since laying, with its 10 and 90 % points.
type AgeAt struct {
	FromYear  int     `json:"from_year"`
	Callbacks float64 `json:"callbacks"`
	RoofYears float64 `json:"roof_years"`
	Rate      float64 `json:"rate"`
	Low       float64 `json:"low"`
	High      float64 `json:"high"`
}

// Spread is how widely rates vary with a factor beyond what chance would make.
type Spread struct {
	Factor string  `json:"factor"`
	SD     float64 `json:"sd"`     // beside a mean of 1; 0: no more than chance
	Gain   float64 `json:"gain"`   // of the log-likelihood over no spread
	Levels int     `json:"levels"` // with time at risk
	Fixed  bool    `json:"fixed,omitempty"`
}

// LevelEffect is what the rates of one crew, lot and so on are multiplied by.
// With little time at risk it stays near 1.
type LevelEffect struct {
	Factor    string  `json:"factor"`
	Name      string  `json:"name"`
	Cause     string  `json:"cause,omitempty"` // of crew_cause
	Callbacks float64 `json:"callbacks"`
	Expected  float64 `json:"expected"` // by everything but this
	RoofYears float64 `json:"roof_years"`
	Times     float64 `json:"times"`
	SD        float64 `json:"sd"`
	Low       float64 `json:"low"` // 10 % point
	High      float64 `json:"high"`
}

// Fitted is the rates as they were found.
type Fitted struct {
	in     *ModelInput
	causes []string
	joined map[string][]string // by group, the causes in it
	of     map[string]int      // group by cause as found
	shape  shape
	theta  [][parts]float64
	cov    [][parts][parts]float64
	events []event
	kinds  []riskKind
	cells  [][parts]float64 // time at risk of a kind in a calendar year, in the parts of the shape
	spans  []span
	levels []level
	byName map[levelKey]int
	crews  []int // the first of a crew's crew_cause levels, one a cause; −1 for no crew, which is first
	years  []int // the level of each calendar year from firstYear on; −1: no time at risk
	spread map[string]Spread
	// What is ahead, made ready for walks.
	ahead    []promised
	patterns []pattern
	names    []namesake
	rights   []rightRule
	laidIn   []int            // calendar years
	crewAt   map[string]int32 // of crews, by name
	// Crews and lots that vary together in the distribution.
	sharedCrews, sharedLots map[string]bool

	scale   float64 // for callbacks that could not be placed
	oldest  float64 // age in years that all but a twentieth of the time at risk is below
	time    float64 // roof-years
	own     int
	gaps    gaps
	assumed bool
}

// gaps are what was missing, by number.
type gaps struct{ days, loose, others, outside, noCost, noCause int }

type levelKey struct {
	factor int
	name   string
	cause  int // −1 for all
}

// level is one crew, lot and so on.
type level struct {
	levelKey
	count, expected, years float64
	times, sd              float64
}

// riskKind is the roofs that share every level but that of the year, which each
// of its cells has for itself: a company of 100,000 roofs has as many kinds as
// roofs, each with a dozen cells, so that a round of the fit goes through the
// cells once and through the kinds for all else.
type riskKind struct {
	at      [single]int32 // levels of the factors of which a roof has one; −1: not known
	details []int32
	crew    int32 // of Fitted.crews
	year    int32 // of Fitted.years, of the first of its cells
	cell    int32 // the first of Fitted.cells, one for each year
	cells   int32
	times   float64        // what its rates are multiplied by, but for the year and the habit
	sum     [parts]float64 // its time at risk, each year's as often as the year multiplies it
}

// single are the factors of which a roof has one level for all causes and years.
const single = 4

// singles are their places in Factors: covering, crew, lot and neighbourhood.
var singles = [single]int{0, 2, 4, 5}

// span is days of age of one roof in one cell.
type span struct{ from, to, cell int32 }

// event is one callback of ours that is placed.
type event struct {
	kind, year int32
	cause      int // −1: not known
	age        float64
}

func (f *Fitted) level(factor int, name string, cause int) int {
	k := levelKey{factor, name, cause}
	n, found := f.byName[k]
	if !found {
		n = len(f.levels)
		f.byName[k] = n
		f.levels = append(f.levels, level{levelKey: k, times: 1})
	}
	return n
}

var factorAt = func() map[string]int {
	out := map[string]int{}
	for i, name := range Factors {
		out[name] = i
	}
	return out
}()

// kindOf gives the levels of a roof.
func (f *Fitted) kindOf(r *ModelRoof, crews map[string]int32) riskKind {
	k := riskKind{times: 1}
	for i, name := range [single]string{r.Covering, r.Crew, r.Lot, r.Neighbourhood} {
		k.at[i] = -1
		if name != "" {
			k.at[i] = int32(f.level(singles[i], name, -1))
		}
	}
	for _, d := range r.details() {
		k.details = append(k.details, int32(f.level(factorAt["detail"], d, -1)))
	}
	if r.Crew == "" {
		return k
	}
	place, known := crews[r.Crew]
	if !known {
		place = int32(len(f.crews))
		crews[r.Crew] = place
		f.crews = append(f.crews, f.level(factorAt["crew_cause"], r.Crew, 0))
		for c := 1; c < len(f.causes); c++ {
			f.level(factorAt["crew_cause"], r.Crew, c)
		}
	}
	k.crew = place
	return k
}

// details are the kinds of detail on the roof, each once.
func (r *ModelRoof) details() []string {
	if len(r.Details) == 0 {
		return nil
	}
	out := slices.Clone(r.Details)
	slices.Sort(out)
	return slices.DeleteFunc(slices.Compact(out), func(d string) bool { return d == "" })
}

func oursModel(c *ModelCallback) bool {
	return c.Bearer == "" || c.Bearer == "us" || c.Bearer == "goodwill"
}

// sortCauses groups the causes of our callbacks; those with few are joined.
func (f *Fitted) sortCauses() {
	counts := map[string]int{}
	for i := range f.in.Callbacks {
		c := &f.in.Callbacks[i]
		if oursModel(c) && c.Cause != "" && f.counted(c) {
			counts[CauseGroup(c.Cause)]++
		}
	}
	for g, n := range counts {
		if n >= leastOfCause {
			f.causes = append(f.causes, g)
		}
	}
	slices.Sort(f.causes)
	if len(f.causes) < len(counts) || len(f.causes) == 0 {
		f.causes = append(f.causes, OtherCauses)
	}
	f.of, f.joined = map[string]int{}, map[string][]string{}
	for i := range f.in.Callbacks {
		cause := f.in.Callbacks[i].Cause
		if _, known := f.of[cause]; known || cause == "" {
			continue
		}
		at := slices.Index(f.causes, CauseGroup(cause))
		if at < 0 {
			at = slices.Index(f.causes, OtherCauses)
		}
		if at < 0 { // only others bore it
			continue
		}
		f.of[cause] = at
		f.joined[f.causes[at]] = append(f.joined[f.causes[at]], cause)
	}
}

// counted says whether a callback lies in the days that are kept.
func (f *Fitted) counted(c *ModelCallback) bool {
	return c.HappenedOn <= f.in.AsOf && (c.HappenedOn == 0 || c.HappenedOn >= f.in.RecordsFrom)
}

// gather counts the time at risk, in days, by cell, and places the callbacks.
func (f *Fitted) gather() {
	in := f.in
	type kindKey struct{ covering, crew, lot, neighbourhood, details string }
	places, crews := map[kindKey]int32{}, map[string]int32{}
	f.crews = []int{-1}
	byRoof := make(map[string][]int, len(in.Roofs)) // rows by the roof's name
	kindOf := make([]int32, len(in.Roofs))
	days := func(r *ModelRoof) (from, stop int) { // at risk, the last not among them
		return max(int(r.first()), int(in.RecordsFrom)), min(int(r.Until), int(in.AsOf)) + 1
	}
	firstYear, lastYear, oldest := math.MaxInt, math.MinInt, 1
	for i := range in.Roofs {
		r := &in.Roofs[i]
		kindOf[i] = -1
		if r.first() == 0 || r.Until == 0 {
			f.gaps.days++
			continue
		}
		byRoof[r.ID] = append(byRoof[r.ID], i)
		oldest = max(oldest, int(in.AsOf-r.laid())+2)
		from, stop := days(r)
		if from >= stop {
			continue
		}
		year, last := units.Date(from).Year(), units.Date(stop-1).Year()
		firstYear, lastYear = min(firstYear, year), max(lastYear, last)
		sign := kindKey{r.Covering, r.Crew, r.Lot, r.Neighbourhood, strings.Join(r.Details, "|")}
		n, found := places[sign]
		if !found {
			n = int32(len(f.kinds))
			places[sign] = n
			f.kinds = append(f.kinds, f.kindOf(r, crews))
			f.kinds[n].year, f.kinds[n].cells = int32(year), int32(last-year+1)
		}
		k := &f.kinds[n]
		end := max(int(k.year+k.cells), last+1)
		k.year = min(k.year, int32(year))
		k.cells = int32(end) - k.year
		kindOf[i] = n
	}
	var begins []int // of each year from the first on, and the one after the last
	for y := firstYear; y <= lastYear+1 && len(f.kinds) > 0; y++ {
		begins = append(begins, int(units.NewDate(y, 1, 1)))
	}
	cells := int32(0)
	for i := range f.kinds {
		k := &f.kinds[i]
		k.year -= int32(firstYear)
		k.cell = cells
		cells += k.cells
	}
	f.cells = make([][parts]float64, cells)
	yearTime := make([]float64, max(0, len(begins)-1))
	first := make([]int, len(in.Roofs)+1) // of each roof's spans
	byAge := make([]float64, oldest/365+2)
	f.spans = make([]span, 0, cells)
	for i := range in.Roofs {
		r := &in.Roofs[i]
		first[i+1] = len(f.spans)
		if kindOf[i] < 0 {
			continue
		}
		k, laid, all := &f.kinds[kindOf[i]], int(r.laid()), 0.0
		from, stop := days(r)
		y := units.Date(from).Year() - firstYear
		for ; from < stop; y++ {
			to := min(stop, begins[y+1])
			t := float64(to-from) / daysAYear
			all += t
			yearTime[y] += t
			byAge[(from-laid)/365] += t
			f.spans = append(f.spans, span{int32(from - laid), int32(to - laid), k.cell + int32(y) - k.year})
			from = to
		}
		f.time += all
		f.eachLevel(k, func(l *level) { l.years += all })
		if c := f.crews[k.crew]; c >= 0 {
			for cause := range f.causes {
				f.levels[c+cause].years += all
			}
		}
		first[i+1] = len(f.spans)
	}
	f.years = make([]int, len(yearTime))
	for y, t := range yearTime {
		f.years[y] = -1
		if t > 0 {
			f.years[y] = f.level(factorAt["year"], fmt.Sprint(firstYear+y), -1)
			f.levels[f.years[y]].years = t
		}
	}
	sofar := 0.0
	for age, y := range byAge {
		if sofar += y; sofar >= .95*f.time && f.time > 0 {
			f.oldest = float64(age + 1)
			break
		}
	}
	placed, loose := 0, 0
	for i := range in.Callbacks {
		c := &in.Callbacks[i]
		if !f.counted(c) {
			continue
		}
		if !oursModel(c) {
			f.gaps.others++
			continue
		}
		// On a day on which nothing was promised it was no callback under a promise.
		if rows := byRoof[c.Roof]; c.HappenedOn != 0 && len(rows) > 0 && !slices.ContainsFunc(rows, func(row int) bool {
			r := &in.Roofs[row]
			return c.HappenedOn >= r.first() && c.HappenedOn <= r.Until
		}) {
			f.gaps.outside++
			continue
		}
		f.own++
		if c.CostCents == nil {
			f.gaps.noCost++
		}
		cause, known := f.of[c.Cause]
		if !known {
			f.gaps.noCause++
			cause = -1
		}
		found := false
		for _, row := range byRoof[c.Roof] {
			for _, s := range f.spans[first[row]:first[row+1]] {
				if d := int32(c.HappenedOn - in.Roofs[row].laid()); !found && d >= s.from && d < s.to {
					k := &f.kinds[kindOf[row]]
					f.events = append(f.events, event{kindOf[row], k.year + s.cell - k.cell, cause, (float64(d) + .5) / daysAYear})
					found = true
				}
			}
		}
		if found {
			placed++
		} else {
			loose++
		}
	}
	for _, e := range f.events {
		f.eachLevel(&f.kinds[e.kind], func(l *level) { l.count++ })
		f.levels[f.years[e.year]].count++
	}
	f.gaps.loose = loose
	f.scale = 1
	if placed > 0 {
		f.scale = float64(placed+loose) / float64(placed)
	}
}

// eachLevel gives the levels of a kind that all causes and years share.
func (f *Fitted) eachLevel(k *riskKind, do func(*level)) {
	for _, n := range k.at {
		if n >= 0 {
			do(&f.levels[n])
		}
	}
	for _, n := range k.details {
		do(&f.levels[n])
	}
}

// fill gives each cell its time at risk in the parts of the shape.
func (f *Fitted) fill() {
	table := f.shape.table(f.lastAge())
	for _, s := range f.spans {
		for p := range parts {
			f.cells[s.cell][p] += table[s.to][p] - table[s.from][p]
		}
	}
}

// lastAge is the greatest age at risk, in days.
func (f *Fitted) lastAge() int {
	last := int32(0)
	for _, s := range f.spans {
		last = max(last, s.to)
	}
	return int(last)
}

// multiply works out what each kind's rates are multiplied by.
func (f *Fitted) multiply() {
	for i := range f.kinds {
		k := &f.kinds[i]
		k.times = 1
		f.eachLevel(k, func(l *level) { k.times *= l.times })
	}
}

// weigh works out each kind's time at risk, weighed by the years.
func (f *Fitted) weigh() {
	times := make([]float64, len(f.years))
	for y, n := range f.years {
		if n >= 0 {
			times[y] = f.levels[n].times
		}
	}
	for i := range f.kinds {
		k := &f.kinds[i]
		var sum [parts]float64
		for y, c := range f.cells[k.cell : k.cell+k.cells] {
			t := times[int(k.year)+y]
			for p := range parts {
				sum[p] += t * c[p]
			}
		}
		k.sum = sum
	}
}

// byCrew is the time at risk of each of f.crews, weighed by everything but the
// habit.
func (f *Fitted) byCrew() [][parts]float64 {
	out := make([][parts]float64, len(f.crews))
	for i := range f.kinds {
		k := &f.kinds[i]
		o := &out[k.crew]
		for p := range parts {
			o[p] += k.times * k.sum[p]
		}
	}
	return out
}

// habit is what the rate of one cause is multiplied by for one of f.crews.
func (f *Fitted) habit(crew int32, cause int) float64 {
	if first := f.crews[crew]; first >= 0 {
		return f.levels[first+cause].times
	}
	return 1
}

// rate is the rate of a cause with the habit of one of f.crews, in parts.
func (f *Fitted) rate(crew int32, cause int) (out [parts]float64) {
	h := f.habit(crew, cause)
	for p := range parts {
		out[p] = h * f.theta[cause][p]
	}
	return out
}

// makes is what a unit of time at risk in each part makes with one of f.crews,
// all causes together: in callbacks, and in cents.
func (f *Fitted) makes(crew int32, costs []CauseCost) (rate, amount [parts]float64) {
	for k := range f.theta {
		for p, x := range f.rate(crew, k) {
			rate[p] += x
			amount[p] += x * meanCost(costs, k)
		}
	}
	return rate, amount
}

// dot is the sum of the products, part by part.
func dot(a, b *[parts]float64) float64 {
	return a[early]*b[early] + a[steady]*b[steady] + a[wear]*b[wear]
}

// choose takes the likeliest shape, by age alone and all causes together.
func (f *Fitted) choose() {
	f.shape = shape{1, 1}
	if len(f.events) == 0 || f.time == 0 {
		return
	}
	// How many roofs are at risk at each day of age.
	at := make([]float64, f.lastAge()+1)
	for _, s := range f.spans {
		at[s.from]++
		at[s.to]--
	}
	best, chosen := math.Inf(-1), f.shape
	for _, fades := range []float64{.25, .5, 1, 2} {
		for _, grows := range []float64{1, 2} {
			if grows > 1 && f.oldest < oldForSquare {
				continue
			}
			f.shape = shape{fades, grows}
			var time [parts]float64
			for d, t := range f.shape.table(len(at) - 1) {
				for p := range parts {
					time[p] -= at[d] * t[p]
				}
			}
			if l := f.likely(time); l > best {
				best, chosen = l, f.shape
			}
		}
	}
	f.shape = chosen
}

// likely is the greatest log-likelihood of the callbacks' ages under a shape.
func (f *Fitted) likely(time [parts]float64) float64 {
	var theta [parts]float64
	for p := range parts {
		theta[p] = float64(len(f.events)) / parts / time[p]
	}
	ages := make([][parts]float64, len(f.events))
	for i, e := range f.events {
		ages[i] = f.shape.at(e.age)
	}
	sum := 0.0
	for range 60 {
		var made [parts]float64
		sum = 0
		for i := range ages {
			all := 0.0
			for p := range parts {
				all += theta[p] * ages[i][p]
			}
			sum += math.Log(all)
			for p := range parts {
				made[p] += theta[p] * ages[i][p] / all
			}
		}
		for p := range parts {
			sum -= theta[p] * time[p]
			theta[p] = made[p] / time[p]
		}
	}
	return sum
}

// quiet is the quiet time, in roof-years, that is added to a short history, so
// that one callback in the first weeks of a company does not make hundreds a year
// of every roof: ten years where there is none of our own, and nothing to speak
// of from a hundred on. Our judgement.
func (f *Fitted) quiet() float64 { return quietYears * math.Exp(-f.time/quietYears) }

const quietYears = 10

// em finds the parts of each cause's rate, given the effects of all levels: each
// callback is shared out between the parts (and causes, where its own is not
// known) that may have made it, and each part's rate is its callbacks over its
// time. The likelihood rises with each round.
func (f *Fitted) em(rounds int) [][parts]float64 {
	n := len(f.causes)
	time := make([][parts]float64, n)
	for c, at := range f.byCrew() {
		for k := range time {
			h := f.habit(int32(c), k)
			for p := range parts {
				time[k][p] += h * at[p]
			}
		}
	}
	for k := range time {
		for p := range parts {
			time[k][p] += f.quiet()
		}
	}
	theta := slices.Clone(f.theta)
	if len(theta) == 0 {
		theta = make([][parts]float64, n)
		share := math.Max(float64(len(f.events)), .5) / float64(n)
		for k := range theta {
			for p := range parts {
				if time[k][p] > 0 {
					theta[k][p] = share / parts / time[k][p]
				}
			}
		}
	}
	ages := make([][parts]float64, len(f.events))
	for i, e := range f.events {
		ages[i] = f.shape.at(e.age)
	}
	for range rounds {
		made := make([][parts]float64, n)
		for i, e := range f.events {
			from, to := 0, n
			if e.cause >= 0 {
				from, to = e.cause, e.cause+1
			}
			all := 0.0
			for k := from; k < to; k++ {
				w := f.habit(f.kinds[e.kind].crew, k)
				for p := range parts {
					all += w * theta[k][p] * ages[i][p]
				}
			}
			if all == 0 {
				continue
			}
			for k := from; k < to; k++ {
				w := f.habit(f.kinds[e.kind].crew, k)
				for p := range parts {
					made[k][p] += w * theta[k][p] * ages[i][p] / all
				}
			}
		}
		most := 0.0
		for k := range theta {
			for p := range parts {
				was := theta[k][p]
				if time[k][p] > 0 {
					theta[k][p] = made[k][p] / time[k][p]
				}
				most = math.Max(most, math.Abs(theta[k][p]-was)*time[k][p])
			}
		}
		if most < 1e-7 {
			break
		}
	}
	return theta
}

// parting is the chance of each cause of an event whose own is not known.
func (f *Fitted) parting(e event) []float64 {
	out := make([]float64, len(f.causes))
	b, all := f.shape.at(e.age), 0.0
	for k := range out {
		for p := range parts {
			out[k] += f.theta[k][p] * b[p]
		}
		out[k] *= f.habit(f.kinds[e.kind].crew, k)
		all += out[k]
	}
	for k := range out {
		if all > 0 {
			out[k] /= all
		} else {
			out[k] = 1 / float64(len(out))
		}
	}
	return out
}

// effects finds what each level of one factor multiplies rates by, given all
// others: the count on top of 1/v over the expected count on top of 1/v, and v,
// the variance of the levels, by the likelihood of the counts, which are
// negative binomial once the effects are integrated out. It gives how much the
// effects moved.
func (f *Fitted) effects(factor int) float64 {
	name := Factors[factor]
	var members []int
	for i := range f.levels {
		if l := &f.levels[i]; l.factor == factor {
			l.expected = 0
			members = append(members, i)
		}
	}
	if len(members) == 0 {
		return 0
	}
	rates := make([][parts]float64, len(f.crews))
	for c := range rates {
		rates[c], _ = f.makes(int32(c), nil)
	}
	switch name {
	case "crew_cause":
		f.expectHabits(members)
	case "year":
		by := make([][][parts]float64, len(f.crews))
		for c := range by {
			by[c] = make([][parts]float64, len(f.years))
		}
		for i := range f.kinds {
			k := &f.kinds[i]
			of := by[k.crew][k.year:]
			for y, c := range f.cells[k.cell : k.cell+k.cells] {
				for p := range parts {
					of[y][p] += k.times * c[p]
				}
			}
		}
		for c := range by {
			for y, n := range f.years {
				if n >= 0 {
					f.levels[n].expected += dot(&rates[c], &by[c][y])
				}
			}
		}
	case "detail":
		for i := range f.kinds {
			k := &f.kinds[i]
			for _, n := range k.details {
				l := &f.levels[n]
				l.expected += k.expected(rates) / l.times
			}
		}
	default:
		at := slices.Index(singles[:], factor)
		for i := range f.kinds {
			k := &f.kinds[i]
			if n := k.at[at]; n >= 0 {
				l := &f.levels[n]
				l.expected += k.expected(rates) / l.times
			}
		}
	}
	s := f.spread[name]
	if sd, fixed := f.in.Spreads[name]; fixed {
		s = Spread{Factor: name, SD: sd, Fixed: true}
	} else {
		s = Spread{Factor: name}
		s.SD, s.Gain = f.fitSpread(members)
	}
	s.Levels = len(members)
	f.spread[name] = s
	was := make([]float64, len(members))
	for i, n := range members {
		l := &f.levels[n]
		was[i] = l.times
		l.times, l.sd = 1, 0
		if s.SD > 0 {
			a := 1 / (s.SD * s.SD)
			l.times = (a + l.count) / (a + l.expected)
			l.sd = math.Sqrt(a+l.count) / (a + l.expected)
		}
	}
	switch {
	case name == "crew_cause":
		f.centreHabits(members)
	case f.everywhere(factor):
		f.centre(members)
	}
	switch name {
	case "crew_cause":
	case "year":
		f.weigh()
	default:
		f.multiply()
	}
	moved := 0.0
	for i, n := range members {
		moved = math.Max(moved, math.Abs(f.levels[n].times-was[i]))
	}
	return moved
}

// expected is how many callbacks the time at risk of a kind would make.
func (k *riskKind) expected(rates [][parts]float64) float64 {
	return k.times * dot(&rates[k.crew], &k.sum)
}

// expectHabits counts the callbacks by crew and cause, those of unknown cause in
// parts, and how many are expected by everything but the habit.
func (f *Fitted) expectHabits(members []int) {
	for _, n := range members {
		f.levels[n].count = 0
	}
	for c, at := range f.byCrew() {
		if first := f.crews[c]; first >= 0 {
			for k := range f.causes {
				f.levels[first+k].expected = dot(&f.theta[k], &at)
			}
		}
	}
	for _, e := range f.events {
		first := f.crews[f.kinds[e.kind].crew]
		switch {
		case first < 0:
		case e.cause >= 0:
			f.levels[first+e.cause].count++
		default:
			for k, part := range f.parting(e) {
				f.levels[first+k].count += part
			}
		}
	}
}

// everywhere says whether each kind has one level of a factor.
func (f *Fitted) everywhere(factor int) bool {
	at := slices.Index(singles[:], factor)
	if at < 0 {
		return Factors[factor] == "year"
	}
	return !slices.ContainsFunc(f.kinds, func(k riskKind) bool { return k.at[at] < 0 })
}

// centre gives the levels of a factor that every kind has a mean of 1, which is
// where the rounds lead (the counts on top of 1/v over the expected on top of 1/v
// add up to it once the rates fit), but slowly: what levels have in common would
// else pass to the rates by a part of it a round.
func (f *Fitted) centre(members []int) {
	mean := 0.0
	for _, n := range members {
		mean += f.levels[n].times / float64(len(members))
	}
	if mean <= 0 {
		return
	}
	for _, n := range members {
		f.levels[n].times /= mean
		f.levels[n].sd /= mean
	}
	for k := range f.theta {
		for p := range parts {
			f.theta[k][p] *= mean
		}
	}
}

// centreHabits gives the habits of each crew a mean of 1, so that what all its causes
// have in common stands with the crew.
func (f *Fitted) centreHabits(members []int) {
	n := len(f.causes)
	for i := 0; i+n <= len(members); i += n { // a crew's causes follow one another
		expected, made := 0.0, 0.0
		for _, m := range members[i : i+n] {
			l := &f.levels[m]
			expected += l.expected
			made += l.expected * l.times
		}
		if expected == 0 || made == 0 {
			continue
		}
		for _, m := range members[i : i+n] {
			l := &f.levels[m]
			l.times *= expected / made
			l.sd *= expected / made
		}
	}
}

// fitSpread gives the standard deviation of a factor's levels, and how much more
// likely it makes the counts than none.
func (f *Fitted) fitSpread(members []int) (sd, gain float64) {
	if len(members) < 2 {
		return 0, 0 // one level cannot tell how levels vary
	}
	likely := func(a float64) float64 {
		sum := 0.0
		lga, _ := math.Lgamma(a)
		for _, n := range members {
			l := &f.levels[n]
			if l.expected <= 0 {
				continue
			}
			if l.count > 0 {
				lgy, _ := math.Lgamma(a + l.count)
				sum += lgy - lga + l.count*math.Log(l.expected/(a+l.expected))
			}
			sum -= a * math.Log1p(l.expected/a)
			if l.count > 0 {
				sum -= l.count*math.Log(l.expected) - l.expected
			} else {
				sum += l.expected
			}
		}
		return sum
	}
	// The best by golden section on the logarithm of 1/variance.
	const golden = 0.6180339887498949
	low, high := math.Log(.05), math.Log(1e5)
	x, y := high-golden*(high-low), low+golden*(high-low)
	fx, fy := likely(math.Exp(x)), likely(math.Exp(y))
	for high-low > 1e-8 {
		if fx > fy {
			high, y, fy = y, x, fx
			x = high - golden*(high-low)
			fx = likely(math.Exp(x))
		} else {
			low, x, fx = x, y, fy
			y = low + golden*(high-low)
			fy = likely(math.Exp(y))
		}
	}
	a := math.Exp((low + high) / 2)
	if gain = likely(a); gain < 1e-4 {
		return 0, 0
	}
	return 1 / math.Sqrt(a), gain
}

// fit finds it all.
func (f *Fitted) fit() {
	f.byName, f.spread = map[levelKey]int{}, map[string]Spread{}
	f.sortCauses()
	f.gather()
	f.choose()
	if f.time == 0 {
		return
	}
	f.fill()
	f.multiply()
	f.weigh()
	if len(f.events) == 0 {
		// Half a callback: the mean under Jeffreys' prior for a Poisson rate.
		time := f.time + f.quiet()
		f.flat((.5+float64(f.gaps.loose))/time, math.Sqrt(.5+float64(f.gaps.loose))/time)
		return
	}
	f.theta = f.em(300)
	for round := range mostRounds {
		moved := 0.0
		for factor := range Factors {
			moved = math.Max(moved, f.effects(factor))
		}
		f.theta = f.em(20)
		if round > 3 && moved < 1e-6 {
			break
		}
	}
	f.errors()
	if f.scale != 1 {
		for k := range f.theta {
			for p := range parts {
				f.theta[k][p] *= f.scale
				for q := range parts {
					f.cov[k][p][q] *= f.scale * f.scale
				}
			}
		}
	}
}

// flat is one rate for all ages, of the first cause.
func (f *Fitted) flat(rate, se float64) {
	f.theta, f.cov = make([][parts]float64, len(f.causes)), make([][parts][parts]float64, len(f.causes))
	f.theta[0][steady], f.cov[0][steady][steady] = rate, se*se
}

// errors gives the covariances of each cause's parts from the observed
// information, the effects given. A part at its bound of nought has none.
func (f *Fitted) errors() {
	f.cov = make([][parts][parts]float64, len(f.causes))
	info := make([][parts][parts]float64, len(f.causes))
	for _, e := range f.events {
		weights := []float64{1}
		from := e.cause
		if e.cause < 0 {
			weights, from = f.parting(e), 0
		}
		b := f.shape.at(e.age)
		for i, w := range weights {
			k := from + i
			rate := 0.0
			for p := range parts {
				rate += f.theta[k][p] * b[p]
			}
			if rate <= 0 {
				continue
			}
			for p := range parts {
				for q := range parts {
					info[k][p][q] += w * b[p] * b[q] / (rate * rate)
				}
			}
		}
	}
	for k := range f.causes {
		var on []int
		total := 0.0
		for p := range parts {
			total += f.theta[k][p]
		}
		for p := range parts {
			if f.theta[k][p] > 1e-6*total {
				on = append(on, p)
			}
		}
		inverse(&info[k], on, &f.cov[k])
	}
}

// inverse inverts the rows and columns named of a small symmetric matrix, by
// Gauss and Jordan; a ridge of one part in 10¹² keeps nearly like ones apart.
func inverse(m *[parts][parts]float64, on []int, out *[parts][parts]float64) {
	n := len(on)
	a := make([][]float64, n)
	for i := range a {
		a[i] = make([]float64, 2*n)
		for j := range n {
			a[i][j] = m[on[i]][on[j]]
		}
		a[i][i] *= 1 + 1e-12
		a[i][n+i] = 1
	}
	for c := range n {
		best := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[best][c]) {
				best = r
			}
		}
		if a[best][c] == 0 {
			return
		}
		a[c], a[best] = a[best], a[c]
		for j := 2*n - 1; j >= c; j-- {
			a[c][j] /= a[c][c]
		}
		for r := range n {
			if r != c {
				t := a[r][c]
				for j := c; j < 2*n; j++ {
					a[r][j] -= t * a[c][j]
				}
			}
		}
	}
	for i := range n {
		for j := range n {
			out[on[i]][on[j]] = a[i][n+j]
		}
	}
}

// quadratic is x′ m x.
func quadratic(x *[parts]float64, m *[parts][parts]float64) float64 {
	sum := 0.0
	for p := range parts {
		for q := range parts {
			sum += x[p] * m[p][q] * x[q]
		}
	}
	return math.Max(0, sum)
}
