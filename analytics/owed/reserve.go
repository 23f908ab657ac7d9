package owed

import (
	"fmt"
	"math"
	"slices"

	"overhang/analytics/units"
)

// ReserveInput is the input of Model, with what the chain ladder needs. The
// triangle is made from the callbacks that we bore unless it is given, in cents
// and with its first year.
type ReserveInput struct {
	ModelInput
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
	// YearsEach is how many years a row and a column of the triangle that was
	// carried forward hold. Where it is more than one, the two views stand side by
	// side in Spans of so many years laid, and the cohorts have the expected value
	// alone.
	YearsEach int             `json:"years_each"`
	Spans     []CohortReserve `json:"spans,omitempty"`
	Low       *units.Money    `json:"low_cents,omitempty"`  // 10 % point of the total, undiscounted
	High      *units.Money    `json:"high_cents,omitempty"` // 90 % point
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
	LaidFrom    int          `json:"laid_from,omitempty"` // first year laid of a span; 0 where it is one year
	LaidYear    int          `json:"laid_year,omitempty"` // the last of a span
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
// ladder refuses year by year is tried with rows and columns of several years;
// where that is refused too it is no error: the reason is given and the expected
// value stands.
func Reserve(in ReserveInput) (ReserveResult, error) {
	f, err := Fit(in.ModelInput)
	if err != nil {
		return ReserveResult{}, err
	}
	if in.LastSigma != "" && in.LastSigma != MackSigma && in.LastSigma != LogLinearSigma {
		return ReserveResult{}, fmt.Errorf("last_sigma: must be mack or log_linear, not %q", in.LastSigma)
	}
	triangle := in.Triangle
	if triangle == nil {
		triangle = f.triangle()
	}
	if triangle != nil && in.LastSigma != "" {
		own := *triangle
		own.LastSigma = in.LastSigma
		triangle = &own
	}
	r, err := f.Result()
	if err != nil {
		return ReserveResult{}, err
	}
	return f.Reserve(&r, triangle)
}

// Reserve sets aside what a model expects, by year laid, whole and discounted,
// and sets the chain ladder of a triangle in cents with its first year beside it,
// as the function of the same name does. The result must be of these rates; no
// triangle is nil.
func (f *Fitted) Reserve(r *ModelResult, triangle *TriangleInput) (ReserveResult, error) {
	if triangle != nil {
		if err := triangle.besidePromises(); err != nil {
			return ReserveResult{}, err
		}
	}
	v := valued{asOf: f.in.AsOf, low: r.Total.Low, high: r.Total.High, notes: r.Notes, known: r.Total.Expected != nil, cohorts: f.cohorts(r)}
	for _, o := range r.Years {
		y := valuedYear{year: o.Year}
		if v.known {
			y.expected, y.discounted = *o.Expected, *o.Discounted
		}
		v.years = append(v.years, y)
	}
	return v.reserve(triangle), nil
}

// valued is what promises are expected to cost, by calendar year ahead and by
// year laid.
type valued struct {
	asOf      units.Date
	low, high *units.Money
	notes     []Note
	known     bool // a rate and a cost
	years     []valuedYear
	cohorts   []cohort
}

type valuedYear struct {
	year                 int
	expected, discounted units.Money
}

// mostEach is how many years a row and a column are joined to at most where
// single years cannot be carried forward.
const mostEach = 5

// carried carries a triangle forward, with the fewest years to a row and a column
// that the chain ladder takes; the error is that of single years.
func carried(t *TriangleInput) (*TriangleInput, *TriangleResult, error) {
	cl, err := ChainLadder(*t)
	if err == nil {
		return t, &cl, nil
	}
	for each := 2; each <= mostEach && len(t.IncrementalCents) >= 3*each; each++ {
		joined, wrong := t.Joined(each)
		if wrong != nil {
			break
		}
		if cl, wrong := ChainLadder(joined); wrong == nil {
			return &joined, &cl, nil
		}
	}
	return t, nil, err
}

func (v *valued) reserve(triangle *TriangleInput) ReserveResult {
	r := ReserveResult{AsOf: v.asOf, Low: v.low, High: v.high, Notes: slices.Clone(v.notes), YearsEach: 1}
	paid := map[int]units.Money{} // by year laid
	if triangle == nil {
		r.Why = "no callback that we bore has its days and its cost, so there is no triangle"
	} else {
		rows, _, _, _ := triangle.read()
		for i, row := range rows {
			if len(row) > 0 {
				paid[triangle.FirstYear+i*triangle.each()] = units.Money(math.Round(row[len(row)-1]))
			}
		}
		var err error
		if triangle, r.ChainLadder, err = carried(triangle); err != nil {
			r.Why = err.Error()
		}
		r.YearsEach = triangle.each()
		if r.ChainLadder != nil {
			if r.YearsEach > 1 {
				r.Notes = append(r.Notes, numbered("joined_years", r.YearsEach))
			}
			if v.asOf != units.NewDate(v.asOf.Year(), 12, 31) {
				r.Notes = append(r.Notes, Note{Code: "part_year", Sentence: sentences["part_year"]})
			}
		}
	}

	cohorts := slices.Clone(v.cohorts)
	for year := range paid {
		if !slices.ContainsFunc(cohorts, func(c cohort) bool { return c.year == year }) {
			cohorts = append(cohorts, cohort{year: year, expected: make([]float64, len(v.years))})
		}
	}
	slices.SortFunc(cohorts, func(a, b cohort) int { return a.year - b.year })

	// Each calendar year is shared out among the cohorts, so that the cohorts add
	// up to the estimate to the cent.
	whole, now, after := make([]units.Money, len(cohorts)), make([]units.Money, len(cohorts)), make([]units.Money, len(cohorts))
	if v.known {
		for y, o := range v.years {
			parts := make([]float64, len(cohorts))
			sum := 0.0
			for i, c := range cohorts {
				parts[i] = c.expected[y]
				sum += parts[i]
			}
			cents := share(o.expected, parts)
			if sum > 0 {
				for i := range parts {
					parts[i] *= float64(o.discounted) / sum
				}
			}
			discounted := share(o.discounted, parts)
			for i, c := range cohorts {
				whole[i] += cents[i]
				now[i] += discounted[i]
				if triangle == nil || triangle.row(o.year)-triangle.row(c.year) >= triangle.columns() {
					after[i] += cents[i]
				}
			}
		}
	}
	var spans []CohortReserve
	toDate, afterSpan := map[int]float64{}, map[int]units.Money{}
	for i, c := range cohorts {
		out := CohortReserve{LaidYear: c.year, Promises: c.promises}
		if v.known {
			out.Expected, out.Discounted = &whole[i], &now[i]
		}
		if p, found := paid[c.year]; found {
			out.Paid = &p
		}
		r.Total.Add(&out)
		r.Cohorts = append(r.Cohorts, out)
		if r.ChainLadder == nil {
			continue
		}
		row := triangle.row(c.year)
		toDate[row] += c.toDate
		afterSpan[row] += after[i]
		if n := len(spans); n == 0 || triangle.row(spans[n-1].LaidYear) != row {
			last := triangle.FirstYear + (row+1)*triangle.each() - 1
			spans = append(spans, CohortReserve{LaidYear: last})
			if triangle.each() > 1 {
				spans[n].LaidFrom = last - triangle.each() + 1
			}
		}
		spans[len(spans)-1].Add(&out)
	}
	if r.ChainLadder != nil {
		for i := range spans {
			out := &spans[i]
			row := triangle.row(out.LaidYear)
			if row < 0 || row >= len(r.ChainLadder.Origins) {
				continue
			}
			o := r.ChainLadder.Origins[row]
			out.ChainLadder, out.Error = o.ReserveCents, o.ErrorCents
			if v.known {
				d := Difference{AfterTriangle: afterSpan[row]}
				within := float64(*out.Expected - afterSpan[row])
				if toDate[row] > 0 {
					d.OwnHistory = units.Money(math.Round(within * (o.Latest/toDate[row] - 1)))
				}
				d.Pattern = *o.ReserveCents - *out.Expected + d.AfterTriangle - d.OwnHistory
				out.Difference = &d
			}
			r.Total.Carry(out)
		}
		r.Total.Error = r.ChainLadder.Total.ErrorCents
		// A cohort laid after the triangle's last row is in the one view alone; the
		// difference of the total must hold it.
		if d := r.Total.Difference; d != nil {
			d.Pattern = *r.Total.ChainLadder - *r.Total.Expected + d.AfterTriangle - d.OwnHistory
		}
		if r.YearsEach == 1 {
			r.Cohorts = spans
		} else {
			r.Spans = spans
		}
	}
	r.say()
	return r
}

// Add adds the promises of another year laid: what is expected of them, and paid.
func (c *CohortReserve) Add(x *CohortReserve) {
	c.Promises += x.Promises
	addTo(&c.Expected, x.Expected)
	addTo(&c.Discounted, x.Discounted)
	addTo(&c.Paid, x.Paid)
}

// Carry adds another's payments carried forward, and the difference; standard
// errors do not add up and are left alone.
func (c *CohortReserve) Carry(x *CohortReserve) {
	addTo(&c.ChainLadder, x.ChainLadder)
	if d := x.Difference; d != nil {
		if c.Difference == nil {
			c.Difference = &Difference{}
		}
		c.Difference.AfterTriangle += d.AfterTriangle
		c.Difference.OwnHistory += d.OwnHistory
		c.Difference.Pattern += d.Pattern
	}
}

func addTo(sum **units.Money, x *units.Money) {
	if x == nil {
		return
	}
	if *sum == nil {
		*sum = new(units.Money)
	}
	**sum += *x
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

// besidePromises refuses a triangle that cannot stand beside promises.
func (t *TriangleInput) besidePromises() error {
	if t.Cumulative != nil || t.Incremental != nil {
		return fmt.Errorf("triangle: must be in cents here")
	}
	if t.FirstYear == 0 {
		return fmt.Errorf("triangle.first_year: is needed, to set its rows beside the promises")
	}
	if _, _, _, err := t.read(); err != nil {
		return fmt.Errorf("triangle.%w", err)
	}
	return nil
}

// triangle is what the callbacks that we bore cost, by year laid and year since;
// nil where there is none.
func (f *Fitted) triangle() *TriangleInput {
	in := f.in
	laid := map[string]units.Date{} // of each roof
	last := in.AsOf.Year()
	begin, any := last, false
	for i := range in.Roofs {
		r := &in.Roofs[i]
		if d := r.laid(); d != 0 && d <= in.AsOf {
			begin = min(begin, d.Year())
			if laid[r.ID] == 0 {
				laid[r.ID] = d
			}
		}
	}
	cells := make([][]units.Money, last-begin+1)
	for i := range cells {
		cells[i] = make([]units.Money, len(cells)-i)
	}
	for i := range in.Callbacks {
		c := &in.Callbacks[i]
		if on := laid[c.Roof]; oursModel(c) && c.CostCents != nil && on != 0 && c.HappenedOn >= on && c.HappenedOn <= in.AsOf {
			any = true
			cells[on.Year()-begin][c.HappenedOn.Year()-on.Year()] += *c.CostCents
		}
	}
	if !any {
		return nil
	}
	return &TriangleInput{IncrementalCents: cells, FirstYear: begin}
}

// cohort is the promises of one year laid: what is expected of them by calendar
// year ahead, in cents, and what was to be expected of them to date.
type cohort struct {
	year     int
	promises int
	expected []float64
	toDate   float64
}

// Issue is what a promise was expected to cost on the day it was given.
type Issue struct {
	ID       string      `json:"id,omitempty"`
	On       units.Date  `json:"on"`
	LaidYear int         `json:"laid_year"`
	Amount   units.Money `json:"amount_cents"` // discounted at the input's rate
}

// AtIssue gives what each promise was expected to cost on its first day, by the
// rates and mean costs of a result of these rates, at the prices of its years and
// discounted to that day, in the order of the roofs; those without days are left
// out. A covering that stands today stood since. It gives none where no rate or
// no cost is known.
func (f *Fitted) AtIssue(r *ModelResult) []Issue {
	if r.Costs == nil || f.theta == nil {
		return nil
	}
	in := f.in
	oldest := units.Date(0)
	for i := range in.Roofs {
		if roof := &in.Roofs[i]; roof.first() != 0 {
			oldest = max(oldest, roof.Until-roof.laid())
		}
	}
	table := f.ages(int(oldest) + 2)
	var out []Issue
	for i := range in.Roofs {
		roof := &in.Roofs[i]
		if roof.first() == 0 || roof.Until == 0 {
			continue
		}
		sum := 0.0
		first, laid := int(roof.first()), int(roof.laid())
		_, amounts := f.makes(f.crewAt[roof.Crew], r.Costs)
		rule := roof.rule()
		rule.transferred = false // it was not, on the first day
		for _, s := range roof.shares() {
			for at, end := max(first, int(s.From)), min(int(roof.Until), int(s.Until))+1; at < end; {
				to := min(end, at+pieceDays)
				middle := float64(at+to) / 2
				since, ahead := (middle-float64(first))/daysAYear, (middle-float64(in.AsOf)-1)/daysAYear
				price := s.Share * roof.YearsLeft.stands(ahead) * f.right(&rule, since) *
					math.Pow(1+in.CostGrowth, ahead) * math.Pow(1+in.DiscountRate, -since)
				sum += price * between(&amounts, &table[at-laid], &table[to-laid])
				at = to
			}
		}
		out = append(out, Issue{ID: roof.ID, On: roof.first(), LaidYear: roof.laid().Year(), Amount: units.Money(math.Round(sum * f.common(roof)))})
	}
	return out
}

// pieceDays is how far prices and chances are taken to be those of the middle.
const pieceDays = 366

// between is what amounts make of the days from one since laying until another.
func between(amounts *[parts]float64, from, until *[parts]float64) float64 {
	sum := 0.0
	for p := range parts {
		sum += amounts[p] * (until[p] - from[p])
	}
	return sum
}

// cohorts are the years laid, with what is expected of each by calendar year
// ahead and what was to be expected to date.
func (f *Fitted) cohorts(r *ModelResult) []cohort {
	byYear := map[int]*cohort{}
	of := func(year int) *cohort {
		if byYear[year] == nil {
			byYear[year] = &cohort{year: year, expected: make([]float64, len(r.Years))}
		}
		return byYear[year]
	}
	for year, c := range r.cohorts {
		copied := *c
		byYear[year] = &copied
	}
	if r.Costs != nil && f.theta != nil {
		f.toDate(r, of)
	}
	out := make([]cohort, 0, len(byYear))
	for _, c := range byYear {
		out = append(out, *c)
	}
	return out
}

// toDate adds what was to be expected of each year laid to date.
func (f *Fitted) toDate(r *ModelResult, of func(year int) *cohort) {
	in := f.in
	days := 0
	for i := range in.Roofs {
		if roof := &in.Roofs[i]; roof.first() != 0 {
			days = max(days, int(min(roof.Until, in.AsOf)-roof.laid()))
		}
	}
	table := f.ages(days + 2)
	for i := range in.Roofs {
		roof := &in.Roofs[i]
		if roof.first() == 0 || roof.Until == 0 {
			continue
		}
		from, to := int(max(roof.first(), in.RecordsFrom)), int(min(roof.Until, in.AsOf))+1
		if from < to {
			_, amounts := f.makes(f.crewAt[roof.Crew], r.Costs)
			laid := int(roof.laid())
			of(roof.laid().Year()).toDate += f.common(roof) * between(&amounts, &table[from-laid], &table[to-laid])
		}
	}
}
