package owed

import (
	"fmt"
	"math"
	"slices"

	"overhang/analytics/units"
)

// ReserveInput is the input of Estimate, with what the chain ladder needs. The
// triangle is made from the callbacks that we bore unless it is given, in cents
// and with its first year.
type ReserveInput struct {
	Input
	LastSigma LastSigma      `json:"last_sigma,omitempty"`
	Triangle  *TriangleInput `json:"triangle,omitempty"`
}

// ReserveResult is what to set aside, by two views side by side: the expected
// value of the promises in force, and what payments to date carried forward come
// to.
type ReserveResult struct {
	AsOf    units.Date      `json:"as_of"`
	Cohorts []CohortReserve `json:"cohorts"`
	Total   CohortReserve   `json:"total"`
	Low     *units.Money    `json:"low_cents,omitempty"`  // 10 % point of the total, undiscounted
	High    *units.Money    `json:"high_cents,omitempty"` // 90 % point
	// ChainLadder is nil where the triangle could not be carried forward; Why says
	// why.
	ChainLadder *TriangleResult `json:"chain_ladder,omitempty"`
	Why         string          `json:"no_chain_ladder_because,omitempty"`
	Notes       []Note          `json:"notes,omitempty"`
	Says        []string        `json:"says"`
}

// CohortReserve is the promises of one year laid, or all. Amounts are nil where
// they are not known. To the cent,
//
//	chain ladder = expected − after triangle + own history + pattern
type CohortReserve struct {
	LaidYear    int          `json:"laid_year,omitempty"`
	Promises    int          `json:"promises"`
	Expected    *units.Money `json:"expected_cents,omitempty"`
	Discounted  *units.Money `json:"discounted_cents,omitempty"`
	Paid        *units.Money `json:"paid_cents,omitempty"` // in the triangle
	ChainLadder *units.Money `json:"chain_ladder_cents,omitempty"`
	Error       *units.Money `json:"standard_error_cents,omitempty"`
	Difference  *Difference  `json:"difference,omitempty"`
}

// Difference is how one gets from the expected value to the chain ladder.
type Difference struct {
	// AfterTriangle is expected in years since laying that no cohort has reached
	// yet, which the chain ladder leaves out.
	AfterTriangle units.Money `json:"after_triangle_cents"`
	// OwnHistory: the cohort has cost more (or less) to date than its promises
	// were expected to; the chain ladder supposes that it goes on.
	OwnHistory units.Money `json:"own_history_cents"`
	// Pattern is the rest: rates shrunk towards the overall one, prices of the day
	// instead of those paid, shares that fall, and promises that end.
	Pattern units.Money `json:"pattern_cents"`
}

// Reserve works out a provision by expected value, by year laid, whole and
// discounted, and sets the chain ladder beside it. A triangle that the chain
// ladder refuses is no error: the reason is given and the expected value stands.
func Reserve(in ReserveInput) (ReserveResult, error) {
	e, err := Estimate(in.Input)
	if err != nil {
		return ReserveResult{}, err
	}
	r := ReserveResult{AsOf: in.AsOf, Low: e.Total.Low, High: e.Total.High, Notes: e.Notes}
	if in.LastSigma != "" && in.LastSigma != MackSigma && in.LastSigma != LogLinearSigma {
		return ReserveResult{}, fmt.Errorf("last_sigma: must be mack or log_linear, not %q", in.LastSigma)
	}
	triangle, err := in.triangle()
	if err != nil {
		return ReserveResult{}, err
	}
	columns := 0
	paid := map[int]units.Money{}
	if triangle != nil {
		rows, _, _, _ := triangle.read()
		for i, row := range rows {
			columns = max(columns, len(row))
			if len(row) > 0 {
				paid[triangle.FirstYear+i] = units.Money(math.Round(row[len(row)-1]))
			}
		}
		cl, err := ChainLadder(*triangle)
		if err != nil {
			r.Why = err.Error()
		} else {
			r.ChainLadder = &cl
			if in.Triangle == nil && in.AsOf != units.NewDate(in.AsOf.Year(), 12, 31) {
				r.Notes = append(r.Notes, Note{Code: "part_year", Sentence: sentences["part_year"]})
			}
		}
	} else {
		r.Why = "no callback that we bore has its days and its cost, so there is no triangle"
	}

	cohorts := in.cohorts(e)
	for year := range paid {
		if !slices.ContainsFunc(cohorts, func(c cohort) bool { return c.year == year }) {
			cohorts = append(cohorts, cohort{year: year, expected: make([]float64, len(e.Years))})
		}
	}
	slices.SortFunc(cohorts, func(a, b cohort) int { return a.year - b.year })

	// Each calendar year is shared out among the cohorts, so that the cohorts add
	// up to the estimate to the cent.
	whole, now, after := make([]units.Money, len(cohorts)), make([]units.Money, len(cohorts)), make([]units.Money, len(cohorts))
	known := e.Total.Expected != nil
	if known {
		for y, o := range e.Years {
			parts := make([]float64, len(cohorts))
			sum := 0.0
			for i, c := range cohorts {
				parts[i] = c.expected[y]
				sum += parts[i]
			}
			cents := share(*o.Expected, parts)
			if sum > 0 {
				for i := range parts {
					parts[i] *= float64(*o.Discounted) / sum
				}
			}
			discounted := share(*o.Discounted, parts)
			for i, c := range cohorts {
				whole[i] += cents[i]
				now[i] += discounted[i]
				if o.Year-c.year >= columns {
					after[i] += cents[i]
				}
			}
		}
	}
	var total CohortReserve
	add := func(sum **units.Money, x *units.Money) {
		if x == nil {
			return
		}
		if *sum == nil {
			*sum = new(units.Money)
		}
		**sum += *x
	}
	for i, c := range cohorts {
		out := CohortReserve{LaidYear: c.year, Promises: c.promises}
		if known {
			out.Expected, out.Discounted = &whole[i], &now[i]
		}
		if p, found := paid[c.year]; found {
			out.Paid = &p
		}
		if row := c.year - first(triangle); r.ChainLadder != nil && row >= 0 && row < len(r.ChainLadder.Origins) {
			o := r.ChainLadder.Origins[row]
			out.ChainLadder, out.Error = o.ReserveCents, o.ErrorCents
			if known {
				d := Difference{AfterTriangle: after[i]}
				within := float64(whole[i] - after[i])
				if c.toDate > 0 {
					d.OwnHistory = units.Money(math.Round(within * (o.Latest/c.toDate - 1)))
				}
				d.Pattern = *o.ReserveCents - whole[i] + d.AfterTriangle - d.OwnHistory
				out.Difference = &d
				if total.Difference == nil {
					total.Difference = &Difference{}
				}
				total.Difference.AfterTriangle += d.AfterTriangle
				total.Difference.OwnHistory += d.OwnHistory
				total.Difference.Pattern += d.Pattern
			}
		}
		total.Promises += out.Promises
		add(&total.Expected, out.Expected)
		add(&total.Discounted, out.Discounted)
		add(&total.Paid, out.Paid)
		add(&total.ChainLadder, out.ChainLadder)
		r.Cohorts = append(r.Cohorts, out)
	}
	if r.ChainLadder != nil {
		total.Error = r.ChainLadder.Total.ErrorCents
		// A cohort laid after the triangle's last row is in the one view alone; the
		// difference of the total must hold it.
		if d := total.Difference; d != nil {
			d.Pattern = *total.ChainLadder - *total.Expected + d.AfterTriangle - d.OwnHistory
		}
	}
	r.Total = total
	r.say()
	return r, nil
}

func first(t *TriangleInput) int {
	if t == nil {
		return 0
	}
	return t.FirstYear
}

func (r *ReserveResult) say() {
	t := r.Total
	if t.Expected == nil {
		r.Says = append(r.Says, "No rate or no cost is known, so nothing can be set aside by expected value.")
	} else {
		r.Says = append(r.Says, fmt.Sprintf("By expected value %s is owed, or %s at today's value.", t.Expected.Round(), t.Discounted.Round()))
	}
	switch {
	case r.ChainLadder == nil:
		r.Says = append(r.Says, "Payments cannot be carried forward: "+r.Why+".")
	case t.Difference != nil:
		r.Says = append(r.Says, fmt.Sprintf("Payments carried forward come to %s. From the one to the other: %s less for years that no roof has reached yet, %s for what each year laid has cost so far against what was expected, and %s for the rest.",
			t.ChainLadder.Round(), t.Difference.AfterTriangle.Round(), t.Difference.OwnHistory.Round(), t.Difference.Pattern.Round()))
	default:
		r.Says = append(r.Says, fmt.Sprintf("Payments carried forward come to %s.", t.ChainLadder.Round()))
	}
}

// triangle is the one that is given, or what the callbacks that we bore cost, by
// year laid and year since; nil where there is none.
func (in ReserveInput) triangle() (*TriangleInput, error) {
	if t := in.Triangle; t != nil {
		if t.Cumulative != nil || t.Incremental != nil {
			return nil, fmt.Errorf("triangle: must be in cents here")
		}
		if t.FirstYear == 0 {
			return nil, fmt.Errorf("triangle.first_year: is needed, to set its rows beside the promises")
		}
		if _, _, _, err := t.read(); err != nil {
			return nil, fmt.Errorf("triangle.%w", err)
		}
		out := *t
		if in.LastSigma != "" {
			out.LastSigma = in.LastSigma
		}
		return &out, nil
	}
	last := in.AsOf.Year()
	begin, any := last, false
	for i := range in.Promises {
		if laid := in.Promises[i].laid(); laid != 0 && laid <= in.AsOf {
			begin = min(begin, laid.Year())
		}
	}
	counts := func(c Callback) bool {
		return ours(c) && c.CostCents != nil && c.LaidOn != 0 && c.HappenedOn >= c.LaidOn && c.HappenedOn <= in.AsOf
	}
	for _, c := range in.Callbacks {
		if counts(c) {
			any = true
			begin = min(begin, c.LaidOn.Year())
		}
	}
	if !any {
		return nil, nil
	}
	cells := make([][]units.Money, last-begin+1)
	for i := range cells {
		cells[i] = make([]units.Money, len(cells)-i)
	}
	for _, c := range in.Callbacks {
		if counts(c) {
			cells[c.LaidOn.Year()-begin][c.HappenedOn.Year()-c.LaidOn.Year()] += *c.CostCents
		}
	}
	return &TriangleInput{IncrementalCents: cells, FirstYear: begin, LastSigma: in.LastSigma}, nil
}

// cohort is the promises of one year laid: what is expected of them by calendar
// year ahead, in cents, and what was to be expected of them to date.
type cohort struct {
	year     int
	promises int
	expected []float64
	toDate   float64
}

func (in ReserveInput) cohorts(e Result) []cohort {
	weights := (&Result{Basis: e.Basis}).weigh(in.Promises)
	members := map[int][]int{}
	for i := range in.Promises {
		if p := &in.Promises[i]; p.first() != 0 && p.Until != 0 {
			members[p.laid().Year()] = append(members[p.laid().Year()], i)
		}
	}
	var out []cohort
	for year, list := range members {
		part := in.Input
		part.Promises = nil
		var w []float64
		for _, i := range list {
			part.Promises = append(part.Promises, in.Promises[i])
			w = append(w, weights[i])
		}
		t := timeAtRisk(part, w)
		c := cohort{year: year, promises: t.open, expected: make([]float64, len(e.Years))}
		if e.Cost != nil && e.Prior != nil {
			for k, x := range t.past {
				c.toDate += x * e.Rates[k].Rate * float64(e.Cost.MeanCents)
			}
			copy(c.expected, part.expected(t, e, 0))
		}
		out = append(out, c)
	}
	return out
}

// expected gives the cost of each calendar year ahead, in cents, at the rates and
// the mean cost of an estimate, discounted at a rate.
func (in Input) expected(t risk, e Result, rate float64) []float64 {
	out := make([]float64, t.years)
	for y := range out {
		year := (in.AsOf + 1).Year() + y
		begin, end := max(in.AsOf+1, units.NewDate(year, 1, 1)), units.NewDate(year, 12, 31)
		mid := (float64(begin-in.AsOf) + float64(end-in.AsOf)) / 2 / daysAYear
		price := float64(e.Cost.MeanCents) * math.Pow((1+in.CostGrowth)/(1+rate), mid)
		for k := range t.ages {
			out[y] += t.share[y*t.ages+k] * e.Rates[k].Rate * price
		}
	}
	return out
}

// Issue is what a promise was expected to cost on the day it was given.
type Issue struct {
	ID       string      `json:"id,omitempty"`
	On       units.Date  `json:"on"`
	LaidYear int         `json:"laid_year"`
	Amount   units.Money `json:"amount_cents"` // discounted at the input's rate
}

// AtIssue gives what each promise was expected to cost on its first day, by the
// rates and the mean cost of an estimate, in the order of the promises. Those of
// one ID are one. It gives none where no rate or no cost is known.
func AtIssue(in Input, e Result) []Issue {
	if e.Cost == nil || e.Prior == nil {
		return nil
	}
	weights := (&Result{Basis: e.Basis}).weigh(in.Promises)
	var out []Issue
	place := map[string]int{}
	members := [][]int{}
	for i := range in.Promises {
		p := &in.Promises[i]
		if p.first() == 0 || p.Until == 0 {
			continue
		}
		at, found := place[p.ID]
		if !found || p.ID == "" {
			at = len(out)
			place[p.ID] = at
			out = append(out, Issue{ID: p.ID, On: p.first(), LaidYear: p.laid().Year()})
			members = append(members, nil)
		}
		out[at].On = min(out[at].On, p.first())
		members[at] = append(members[at], i)
	}
	for at := range out {
		part := Input{AsOf: out[at].On - 1, CostGrowth: in.CostGrowth}
		var w []float64
		for _, i := range members[at] {
			part.Promises = append(part.Promises, in.Promises[i])
			w = append(w, weights[i])
		}
		sum := 0.0
		for _, x := range part.expected(timeAtRisk(part, w), e, in.DiscountRate) {
			sum += x
		}
		out[at].Amount = units.Money(math.Round(sum))
	}
	return out
}
