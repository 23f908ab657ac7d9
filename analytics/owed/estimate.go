package owed

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"overhang/analytics/units"
)

// Basis is what a rate is for.
type Basis string

// Callbacks a year for a roof, or for a square of roof.
const (
	ByRoof   Basis = "roofs"
	BySquare Basis = "squares"
)

// Input is what is estimated from.
type Input struct {
	AsOf units.Date `json:"as_of"`
	// Basis is by roof when empty.
	Basis Basis `json:"basis,omitempty"`
	// RecordsFrom is the first day from which callbacks are kept; time before it
	// is no time at risk. No date: all of it is.
	RecordsFrom units.Date `json:"records_from,omitempty"`
	// Promises are all that were ever given, ended ones too: their quiet years
	// are evidence.
	Promises  []Promise  `json:"promises"`
	Callbacks []Callback `json:"callbacks,omitempty"`
	// DiscountRate and CostGrowth are a year; nought is none.
	DiscountRate float64 `json:"discount_rate,omitempty"`
	CostGrowth   float64 `json:"cost_growth,omitempty"`
	// AssumedRate (callbacks a year, on the basis) and AssumedCostCents stand in
	// where there is little or no own history. Nil is none.
	AssumedRate      *float64     `json:"assumed_rate,omitempty"`
	AssumedCostCents *units.Money `json:"assumed_cost_cents,omitempty"`
}

// Promise is one promise of ours. One whose share falls is given as several,
// each with the days in which its share holds.
type Promise struct {
	ID      string     `json:"id,omitempty"`
	LaidOn  units.Date `json:"laid_on,omitempty"` // unknown: the first day
	From    units.Date `json:"from,omitempty"`    // first day in force; unknown: the day laid
	Until   units.Date `json:"until"`             // last day in force
	Squares float64    `json:"squares,omitempty"` // nought is unknown
	Share   *float64   `json:"share,omitempty"`   // promised, 0 to 1; nil counts as all
}

// Callback is one that happened.
type Callback struct {
	LaidOn     units.Date   `json:"laid_on,omitempty"` // of its roof
	HappenedOn units.Date   `json:"happened_on,omitempty"`
	CostCents  *units.Money `json:"cost_cents,omitempty"` // nil is not known yet
	Bearer     string       `json:"bearer,omitempty"`     // unknown counts as us
}

// Bearers are who can bear the cost of a callback; us and goodwill are ours.
var Bearers = []string{"us", "goodwill", "maker", "subcontractor", "insurer", "owner"}

// Result is what is owed.
type Result struct {
	AsOf        units.Date `json:"as_of"`
	Basis       Basis      `json:"basis"`
	SmallSample bool       `json:"small_sample"`
	Prior       *Prior     `json:"prior,omitempty"` // nil where no rate is known
	Rates       []YearRate `json:"rates,omitempty"`
	Cost        *MeanCost  `json:"cost,omitempty"` // nil where no cost is known
	Years       []Owed     `json:"years,omitempty"`
	Total       Owed       `json:"total"`
	Notes       []Note     `json:"notes,omitempty"`
}

// YearRate is the callback rate in one year since a roof was laid.
type YearRate struct {
	FromYear    int      `json:"from_year"` // 0 is the first year
	Callbacks   float64  `json:"callbacks"`
	YearsAtRisk float64  `json:"years_at_risk"`      // of roofs or squares
	Observed    *float64 `json:"observed,omitempty"` // count over time, nil without time
	Rate        float64  `json:"rate"`               // shrunk
	Low         float64  `json:"low"`                // 10 % point
	High        float64  `json:"high"`               // 90 % point
}

// MeanCost is the cost of one callback that we bear, in the money of the as-of
// day.
type MeanCost struct {
	Callbacks int         `json:"callbacks"`
	MeanCents units.Money `json:"mean_cents"`
	SDCents   units.Money `json:"sd_cents"` // of one cost, as used
	Assumed   bool        `json:"assumed"`
	// relative standard error of the mean
	unsure float64
}

// Owed is what is owed in one calendar year ahead, or in all. Amounts are nil
// where a rate or a cost is not known.
type Owed struct {
	Year        int          `json:"year,omitempty"`
	Promises    int          `json:"promises"` // with time ahead in it
	YearsAtRisk float64      `json:"years_at_risk"`
	Callbacks   *float64     `json:"callbacks,omitempty"`      // expected
	Expected    *units.Money `json:"expected_cents,omitempty"` // undiscounted
	Low         *units.Money `json:"low_cents,omitempty"`      // 10 % point, undiscounted
	High        *units.Money `json:"high_cents,omitempty"`     // 90 % point, undiscounted
	Discounted  *units.Money `json:"discounted_cents,omitempty"`
}

// Note is something that a reader must know, as a code and a sentence.
type Note struct {
	Code     string `json:"code"`
	Number   int    `json:"number,omitempty"`
	Sentence string `json:"sentence"`
}

// sentences of the notes; {number} stands for the note's number.
var sentences = map[string]string{
	"small_sample":              "Small sample: {number} callbacks of our own. The range is wide on purpose.",
	"no_rate":                   "There is no time at risk of our own yet and no assumed rate, so nothing can be expected.",
	"no_cost":                   "No cost of a callback of our own is known and none is assumed, so no amount can be given.",
	"assumed_rate":              "An assumed rate stands in for our own history.",
	"assumed_cost":              "An assumed cost stands in for our own costs.",
	"one_rate":                  "The years since laying differ no more than chance would make them, so all share one rate.",
	"promises_without_days":     "{number} promises lack a first or last day and are left out.",
	"squares_not_known":         "{number} promises lack their squares and take the mean of the others.",
	"no_squares":                "No squares are known, so rates are by roof.",
	"callbacks_without_days":    "{number} callbacks could not be placed in a year with time at risk and raise all years alike.",
	"callbacks_borne_by_others": "{number} callbacks were borne by others and are not counted.",
	"callbacks_without_cost":    "{number} callbacks have no cost yet; they count in the rates alone.",
	"one_group_rate":            "The groups differ no more than chance would make them, so all share one rate.",
	"joined_years":              "Single years cannot be carried forward, so years laid and years since are taken {number} at a time.",
	"part_year":                 "The year is not over, and the chain ladder takes what was paid in it for the whole year's.",
	"one_weather":               "With several lots and crews, the weather of all years is joined into one factor for the term; it keeps the mean and the spread, and the far ends are approximate.",
	"callbacks_outside_promise": "{number} callbacks happened on days on which nothing was promised and are not counted.",
	"callbacks_without_cause":   "{number} callbacks have no cause found yet and are shared out between the causes by their rates.",
	"beyond_own_history":        "Our own history reaches to roofs of {number} years; older ones are taken to wear no faster than that.",
	"no_standard_error":         "Four years laid or more are needed before a standard error can be given.",
	"nothing_paid_yet":          "{number} years laid have had nothing paid yet, so the chain ladder expects nothing for them; that is a limit of the method.",
}

const (
	smallSample = 5   // own callbacks below which the sample is small
	mostYears   = 100 // that a promise can run
	daysAYear   = 365.25
	lowPoint    = 0.10
	highPoint   = 0.90
)

func (in Input) validate() error {
	if in.AsOf <= 0 {
		return fmt.Errorf("as_of: the day that is asked about is needed")
	}
	switch in.Basis {
	case "", ByRoof, BySquare:
	default:
		return fmt.Errorf("basis: must be roofs or squares, not %q", in.Basis)
	}
	if !rateOK(in.DiscountRate) {
		return fmt.Errorf("discount_rate: must lie between -0.5 and 1, not %v", in.DiscountRate)
	}
	if !rateOK(in.CostGrowth) {
		return fmt.Errorf("cost_growth: must lie between -0.5 and 1, not %v", in.CostGrowth)
	}
	if r := in.AssumedRate; r != nil && !(*r > 0 && *r <= 100) {
		return fmt.Errorf("assumed_rate: must lie above 0 and up to 100 a year, not %v", *r)
	}
	if c := in.AssumedCostCents; c != nil && (*c <= 0 || *c > mostMoney) {
		return fmt.Errorf("assumed_cost_cents: must lie above 0 and up to %v, not %v", mostMoney, *c)
	}
	for i := range in.Promises {
		p := &in.Promises[i]
		if p.Share != nil && !(*p.Share >= 0 && *p.Share <= 1) {
			return fmt.Errorf("promises[%d].share: must lie between 0 and 1, not %v", i, *p.Share)
		}
		if !(p.Squares >= 0 && p.Squares <= 1e6) {
			return fmt.Errorf("promises[%d].squares: must lie between 0 and a million, not %v", i, p.Squares)
		}
		if p.LaidOn != 0 && p.From != 0 && p.From < p.LaidOn {
			return fmt.Errorf("promises[%d].from: %v is before the day laid, %v", i, p.From, p.LaidOn)
		}
		if first := p.first(); first != 0 && p.Until != 0 && (p.Until < first-1 || p.Until > p.laid()+mostYears*366) {
			return fmt.Errorf("promises[%d].until: %v must not be before the first day, %v, or more than %d years after laying", i, p.Until, first, mostYears)
		}
		if p.Until > in.AsOf+mostYears*366 {
			return fmt.Errorf("promises[%d].until: %v is more than %d years ahead", i, p.Until, mostYears)
		}
	}
	for i, c := range in.Callbacks {
		if c.CostCents != nil && (*c.CostCents < 0 || *c.CostCents > mostMoney) {
			return fmt.Errorf("callbacks[%d].cost_cents: must lie between 0 and %v, not %v", i, mostMoney, *c.CostCents)
		}
		known := c.Bearer == ""
		for _, b := range Bearers {
			known = known || c.Bearer == b
		}
		if !known {
			return fmt.Errorf("callbacks[%d].bearer: must be one of %s or empty, not %q", i, strings.Join(Bearers, ", "), c.Bearer)
		}
	}
	return nil
}

func (p *Promise) laid() units.Date {
	if p.LaidOn == 0 {
		return p.From
	}
	return p.LaidOn
}

func (p *Promise) first() units.Date {
	if p.From == 0 {
		return p.LaidOn
	}
	return p.From
}

// Estimate works out what is owed. It refuses input that breaks a rule, never
// input that is missing.
func Estimate(in Input) (Result, error) {
	if err := in.validate(); err != nil {
		return Result{}, err
	}
	r := Result{AsOf: in.AsOf, Basis: in.Basis}
	if r.Basis == "" {
		r.Basis = ByRoof
	}
	weights := r.weigh(in.Promises)
	time := timeAtRisk(in, weights)
	r.note("promises_without_days", time.left)
	groups, own := r.place(in, time)
	r.SmallSample = own < smallSample
	if r.SmallSample {
		r.Notes = append(r.Notes, numbered("small_sample", own))
	}
	r.fit(in, groups, own)
	r.cost(in)

	unsureMean := 0.0
	var shrunk []Shrunk
	if r.Prior != nil {
		unsureMean = r.Prior.MeanSD
		for k, g := range groups {
			s := r.Prior.Shrink(g)
			shrunk = append(shrunk, s)
			year := YearRate{FromYear: k, Callbacks: g.Count, YearsAtRisk: g.Years, Rate: s.Rate}
			if g.Years > 0 {
				observed := g.Count / g.Years
				year.Observed = &observed
			}
			sd := math.Hypot(s.SD, s.Pull*unsureMean)
			year.Low, year.High = gammaQuantile(s.Rate, sd, lowPoint), gammaQuantile(s.Rate, sd, highPoint)
			r.Rates = append(r.Rates, year)
		}
	}
	r.ahead(in, time, shrunk, unsureMean)
	return r, nil
}

// note adds a note with a number, where there is one.
func (r *Result) note(code string, number int) {
	if number > 0 {
		r.Notes = append(r.Notes, numbered(code, number))
	}
}

func numbered(code string, number int) Note {
	return Note{Code: code, Number: number, Sentence: strings.ReplaceAll(sentences[code], "{number}", strconv.Itoa(number))}
}

// weigh gives the weight of each promise on the basis.
func (r *Result) weigh(promises []Promise) []float64 {
	weights := make([]float64, len(promises))
	known, sum := 0, 0.0
	for i := range promises {
		weights[i] = 1
		if promises[i].Squares > 0 {
			known++
			sum += promises[i].Squares
		}
	}
	if r.Basis == ByRoof {
		return weights
	}
	if known == 0 {
		r.Basis = ByRoof
		r.note("no_squares", len(promises))
		return weights
	}
	for i := range promises {
		weights[i] = sum / float64(known)
		if promises[i].Squares > 0 {
			weights[i] = promises[i].Squares
		}
	}
	r.note("squares_not_known", len(promises)-known)
	return weights
}

// risk is weighted time in years: past by year since laying, and ahead by
// calendar year and year since laying, plain and times the share and its
// square.
type risk struct {
	past   []float64
	years  int // calendar years ahead
	ages   int
	plain  []float64 // years × ages
	share  []float64
	square []float64
	count  []int // promises with time ahead, by calendar year
	open   int   // and in all
	left   int   // promises left out
}

// ageYear is the year since laying that a day lies in.
func ageYear(days int) int { return int(float64(days) / daysAYear) }

// timeAtRisk walks each promise once from boundary to boundary: a boundary is a
// new year since laying, a new calendar year, or the as-of day.
func timeAtRisk(in Input, weights []float64) risk {
	t := risk{}
	asOf := int(in.AsOf)
	last, oldest := asOf, 0
	for i := range in.Promises {
		p := &in.Promises[i]
		if p.first() == 0 || p.Until == 0 {
			t.left++
			continue
		}
		last = max(last, int(p.Until))
		oldest = max(oldest, int(p.Until-p.laid()))
	}
	firstYear := (in.AsOf + 1).Year()
	t.years = max(0, units.Date(last).Year()-firstYear+1)
	t.ages = ageYear(oldest) + 1
	// ends[y] is the first day after calendar year y; starts[k] the first day,
	// counted from laying, of year k.
	ends := make([]int, t.years+1)
	for y := range ends {
		ends[y] = int(units.NewDate(firstYear+y+1, 1, 1))
	}
	starts := make([]int, t.ages+2)
	for k := range starts {
		starts[k] = int(math.Ceil(daysAYear * float64(k)))
	}
	t.past = make([]float64, t.ages)
	t.plain = make([]float64, t.years*t.ages)
	t.share = make([]float64, t.years*t.ages)
	t.square = make([]float64, t.years*t.ages)
	t.count = make([]int, t.years)

	for i := range in.Promises {
		p := &in.Promises[i]
		if p.first() == 0 || p.Until == 0 {
			continue
		}
		laid, stop := int(p.laid()), int(p.Until)+1
		weight := weights[i] / daysAYear

		from, to := max(int(p.first()), int(in.RecordsFrom)), min(stop, asOf+1)
		for k := ageYear(max(0, from-laid)); from < to; k++ {
			next := min(to, laid+starts[k+1])
			t.past[k] += weight * float64(next-from)
			from = next
		}

		from = max(int(p.first()), asOf+1)
		if from >= stop {
			continue
		}
		t.open++
		share := 1.0
		if p.Share != nil {
			share = *p.Share
		}
		k, y := ageYear(from-laid), 0
		for from >= ends[y] { // a promise that begins in a later year
			y++
		}
		t.count[y]++
		for from < stop {
			next := min(stop, laid+starts[k+1], ends[y])
			w := weight * float64(next-from)
			cell := y*t.ages + k
			t.plain[cell] += w
			t.share[cell] += w * share
			t.square[cell] += w * share * share
			from = next
			if from == laid+starts[k+1] {
				k++
			}
			if from == ends[y] && from < stop {
				y++
				t.count[y]++
			}
		}
	}
	return t
}

// place counts the callbacks that we bore by year since laying. Those that
// cannot be placed are spread as the placed ones are, or as the time is.
func (r *Result) place(in Input, t risk) (groups []Group, own int) {
	groups = make([]Group, t.ages)
	for k := range groups {
		groups[k].Years = t.past[k]
	}
	placed, loose, others := 0, 0, 0
	for _, c := range in.Callbacks {
		if c.HappenedOn > in.AsOf || (c.HappenedOn != 0 && c.HappenedOn < in.RecordsFrom) {
			continue
		}
		if !ours(c) {
			others++
			continue
		}
		if c.HappenedOn != 0 && c.LaidOn != 0 && c.HappenedOn >= c.LaidOn {
			if k := ageYear(int(c.HappenedOn - c.LaidOn)); k < len(groups) && groups[k].Years > 0 {
				groups[k].Count++
				placed++
				continue
			}
		}
		loose++
	}
	r.note("callbacks_borne_by_others", others)
	r.note("callbacks_without_days", loose)
	sum := 0.0
	for _, g := range groups {
		sum += g.Years
	}
	for k := range groups {
		switch {
		case loose == 0 || sum == 0:
		case placed > 0:
			groups[k].Count *= 1 + float64(loose)/float64(placed)
		default:
			groups[k].Count = float64(loose) * groups[k].Years / sum
		}
	}
	return groups, placed + loose
}

func ours(c Callback) bool { return c.Bearer == "" || c.Bearer == "us" || c.Bearer == "goodwill" }

// fit chooses the prior: the fitted one, or for a small sample an exponential
// one around the assumed or the overall rate.
func (r *Result) fit(in Input, groups []Group, own int) {
	years := 0.0
	for _, g := range groups {
		years += g.Years
	}
	switch {
	case years > 0 && own >= smallSample:
		if p, err := FitGamma(groups); err == nil {
			r.Prior = &p
			if p.Pooled {
				r.Notes = append(r.Notes, Note{Code: "one_rate", Sentence: sentences["one_rate"]})
			}
			return
		}
	case in.AssumedRate != nil:
		m := *in.AssumedRate
		r.Prior = &Prior{Alpha: 1, Beta: 1 / m, Mean: m, MeanSD: m}
		r.Notes = append(r.Notes, Note{Code: "assumed_rate", Sentence: sentences["assumed_rate"]})
	case years > 0:
		// Half a callback more than there were: the mean of the posterior under
		// Jeffreys' prior for a Poisson rate.
		m := (float64(own) + 0.5) / years
		r.Prior = &Prior{Alpha: 1, Beta: 1 / m, Mean: m, MeanSD: meanSD(1, m, groups)}
	}
	if r.Prior == nil {
		r.Notes = append(r.Notes, Note{Code: "no_rate", Sentence: sentences["no_rate"]})
	}
}

// cost takes the mean and spread of the costs that we bore.
func (r *Result) cost(in Input) {
	n, missing := 0, 0
	var mean, squares float64
	for _, c := range in.Callbacks {
		if !ours(c) || c.HappenedOn > in.AsOf {
			continue
		}
		if c.CostCents == nil {
			missing++
			continue
		}
		x := float64(*c.CostCents)
		if c.HappenedOn != 0 {
			x *= math.Pow(1+in.CostGrowth, in.AsOf.YearsSince(c.HappenedOn))
		}
		n++
		d := x - mean
		mean += d / float64(n)
		squares += d * (x - mean)
	}
	r.note("callbacks_without_cost", missing)
	if n == 0 {
		if in.AssumedCostCents == nil {
			r.Notes = append(r.Notes, Note{Code: "no_cost", Sentence: sentences["no_cost"]})
			return
		}
		r.Cost = &MeanCost{MeanCents: *in.AssumedCostCents, SDCents: *in.AssumedCostCents, Assumed: true, unsure: 1}
		r.Notes = append(r.Notes, Note{Code: "assumed_cost", Sentence: sentences["assumed_cost"]})
		return
	}
	sd := 0.0
	if n > 1 {
		sd = math.Sqrt(squares / float64(n-1))
	}
	if n < smallSample {
		sd = math.Max(sd, mean)
	}
	r.Cost = &MeanCost{Callbacks: n, MeanCents: units.Money(math.Round(mean)), SDCents: units.Money(math.Round(sd))}
	if mean > 0 {
		r.Cost.unsure = sd / mean / math.Sqrt(float64(n))
	}
}

// ahead fills the calendar years ahead and the total.
func (r *Result) ahead(in Input, t risk, shrunk []Shrunk, unsureMean float64) {
	all := make([]cell, t.ages)
	firstYear := (in.AsOf + 1).Year()
	r.Total.Promises = t.open
	var totalDiscounted units.Money
	for y := range t.years {
		year := firstYear + y
		begin, end := max(in.AsOf+1, units.NewDate(year, 1, 1)), units.NewDate(year, 12, 31)
		wait := (float64(begin-in.AsOf) + float64(end-in.AsOf)) / 2 / daysAYear
		growth := math.Pow(1+in.CostGrowth, wait)
		cells := make([]cell, t.ages)
		for k := range cells {
			i := y*t.ages + k
			cells[k] = cell{t.plain[i], t.share[i] * growth, t.square[i] * growth * growth}
			all[k].plain += cells[k].plain
			all[k].share += cells[k].share
			all[k].square += cells[k].square
		}
		o := r.expect(cells, shrunk, unsureMean)
		o.Year, o.Promises = year, t.count[y]
		if o.Expected != nil {
			d := o.Expected.Times(math.Pow(1+in.DiscountRate, -wait))
			o.Discounted = &d
			totalDiscounted += d
		}
		r.Years = append(r.Years, o)
	}
	total := r.expect(all, shrunk, unsureMean)
	total.Promises = t.open
	if total.Expected != nil {
		// The total is the sum of the years to the cent.
		var sum units.Money
		for _, o := range r.Years {
			sum += *o.Expected
		}
		total.Expected, total.Discounted = &sum, &totalDiscounted
	}
	r.Total = total
}

// cell is the time ahead in one year since laying: plain, and times the share
// and the growth of costs, and times their squares.
type cell struct{ plain, share, square float64 }

// expect gives the expected cost of the time ahead and its range.
func (r *Result) expect(cells []cell, shrunk []Shrunk, unsureMean float64) Owed {
	var o Owed
	var count, first, second, own, pulled float64
	for k, c := range cells {
		o.YearsAtRisk += c.plain
		if shrunk == nil {
			continue
		}
		s := shrunk[k]
		count += s.Rate * c.plain
		first += s.Rate * c.share
		second += s.Rate * c.square
		own += s.SD * s.SD * c.share * c.share
		pulled += s.Pull * c.share
	}
	if shrunk == nil {
		return o
	}
	o.Callbacks = &count
	if r.Cost == nil {
		return o
	}
	mean, sd := float64(r.Cost.MeanCents), float64(r.Cost.SDCents)
	expected := units.Money(math.Round(first * mean))
	o.Expected = &expected
	low, high := units.Money(0), units.Money(0)
	if first > 0 && mean > 0 {
		unsureRate := (own + pulled*pulled*unsureMean*unsureMean) / (first * first)
		unsureCost := r.Cost.unsure * r.Cost.unsure
		mixing := (1+unsureRate)*(1+unsureCost) - 1
		// One callback costs this on average, and this squared.
		one := mean * first / count
		oneSquared := (mean*mean + sd*sd) * second / count
		low, high = compoundRange(count, mixing, one, math.Sqrt(math.Max(0, oneSquared-one*one)))
	}
	o.Low, o.High = &low, &high
	return o
}

// compoundRange gives the 10 and 90 % points of so many callbacks, with that
// relative variance of their rate, of a log-normal cost with that mean and
// standard deviation.
func compoundRange(count, mixing, mean, sd float64) (low, high units.Money) {
	const cells = 1 << 14
	variance := count*(mean*mean+sd*sd) + mixing*count*count*mean*mean
	expected := count * mean
	reach := spreads * math.Sqrt(variance)
	width := expected + reach - math.Max(0, expected-reach)
	step := math.Max(mean/8, width/cells*1.01)
	cost := newLogNormal(mean, sd)
	most := math.Exp(cost.mu + 6*cost.sigma) // one in a thousand million lies beyond
	severity := Discretise(cost.limited, step, int(math.Min(4*cells, math.Ceil(most/step)+1)))
	c := Count{Mean: count}
	if mixing > 0 {
		c.Size = 1 / mixing
	}
	l, err := Compound(c, severity, step)
	if err != nil { // a lattice too wide for any plan of ours: the two moments alone
		sd := math.Sqrt(variance)
		return units.Money(gammaQuantile(expected, sd, lowPoint)), units.Money(gammaQuantile(expected, sd, highPoint))
	}
	return units.Money(math.Round(l.Quantile(lowPoint))), units.Money(math.Round(l.Quantile(highPoint)))
}
