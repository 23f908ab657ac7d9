package owed

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// LastSigma is the rule for the last σ² of a triangle, which one ratio alone
// cannot show. The standard errors depend on it, so a result names it.
type LastSigma string

// MackSigma takes min(σ⁴ of the column before over σ² of the one before that,
// the smaller of the two): Mack 1993, page 219. LogLinearSigma carries on the
// straight line through the logarithms of the earlier σ².
const (
	MackSigma      LastSigma = "mack"
	LogLinearSigma LastSigma = "log_linear"
)

// TriangleInput is what was paid by year laid (rows, the oldest first) and year
// since (columns). Exactly one of the four is given. The first row is complete;
// each later row stops at the same calendar year, so that it has one cell less
// than the row above it until a row is shorter than all the columns.
type TriangleInput struct {
	CumulativeCents  [][]units.Money `json:"cumulative_cents,omitempty"`
	IncrementalCents [][]units.Money `json:"incremental_cents,omitempty"`
	Cumulative       [][]float64     `json:"cumulative,omitempty"` // any unit, such as callbacks
	Incremental      [][]float64     `json:"incremental,omitempty"`
	FirstYear        int             `json:"first_year,omitempty"` // laid, of the first row; 0 is not known
	YearsEach        int             `json:"years_each,omitempty"` // of a row and a column; 1 when nought
	LastSigma        LastSigma       `json:"last_sigma,omitempty"` // mack when empty
}

func (in *TriangleInput) each() int { return max(1, in.YearsEach) }

// row is where a year laid stands, or would: below nought before the first, and
// beyond the last for years to come. A calendar year less a year laid, so placed,
// is the column.
func (in *TriangleInput) row(year int) int {
	return int(math.Floor(float64(year-in.FirstYear) / float64(in.each())))
}

func (in *TriangleInput) columns() int {
	n := 0
	for _, cells := range []int{width(in.CumulativeCents), width(in.IncrementalCents), width(in.Cumulative), width(in.Incremental)} {
		n = max(n, cells)
	}
	return n
}

func width[T any](rows [][]T) int {
	n := 0
	for _, row := range rows {
		n = max(n, len(row))
	}
	return n
}

// Joined is the triangle with rows and columns of several years each, the last
// ending with its last calendar year, for one whose single years have gaps. It
// takes payments of each year in cents, all columns of single years that the rows
// can have, and the first year.
func (in TriangleInput) Joined(each int) (TriangleInput, error) {
	n := len(in.IncrementalCents)
	if in.each() != 1 || in.FirstYear == 0 || n == 0 || each < 1 {
		return TriangleInput{}, fmt.Errorf("incremental_cents: payments of single years with their first year are needed to join %d of them", each)
	}
	blocks := (n + each - 1) / each
	out := TriangleInput{FirstYear: in.FirstYear + n - blocks*each, YearsEach: each, LastSigma: in.LastSigma}
	for i := range blocks {
		out.IncrementalCents = append(out.IncrementalCents, make([]units.Money, blocks-i))
	}
	for i, cells := range in.IncrementalCents {
		if len(cells) != n-i {
			return TriangleInput{}, fmt.Errorf("incremental_cents: row %d must have %d columns to be joined, not %d", i+1, n-i, len(cells))
		}
		row := out.row(in.FirstYear + i)
		for k, x := range cells {
			out.IncrementalCents[row][out.row(in.FirstYear+i+k)-row] += x
		}
	}
	return out, nil
}

// TriangleResult is the chain ladder of a triangle. Amounts are in the unit of
// the input; those in cents are given in whole cents too, and the total is the
// sum of the rows to the cent.
type TriangleResult struct {
	Unit      string    `json:"unit"` // cents or units
	LastSigma LastSigma `json:"last_sigma"`
	// LastSigmaUsed says whether the rule was needed: a last column that two
	// rows have reached shows its own σ².
	LastSigmaUsed bool      `json:"last_sigma_used"`
	Factors       []float64 `json:"factors"`                 // from each column to the next
	SigmaSquared  []float64 `json:"sigma_squared,omitempty"` // of each factor; none with three rows
	Origins       []Origin  `json:"origins"`
	Total         Origin    `json:"total"`
	Notes         []Note    `json:"notes,omitempty"`
}

// Origin is one row of the triangle, or all. The standard error is that of the
// reserve, with the chance of what is to come and the error of the factors; nil
// is not known.
type Origin struct {
	Year          int          `json:"year,omitempty"` // laid; the first of several
	Latest        float64      `json:"latest"`
	Ultimate      float64      `json:"ultimate"`
	Reserve       float64      `json:"reserve"`
	StandardError *float64     `json:"standard_error,omitempty"`
	ReserveCents  *units.Money `json:"reserve_cents,omitempty"`
	ErrorCents    *units.Money `json:"standard_error_cents,omitempty"`
}

// mostRows bounds a triangle: a promise runs a hundred years at most.
const mostRows = mostYears

// read gives the cumulative triangle and its unit.
func (in TriangleInput) read() (rows [][]float64, unit, field string, err error) {
	given := 0
	take := func(name string, cells [][]float64, add bool, of string) {
		if cells == nil {
			return
		}
		given++
		field, unit, rows = name, of, cells
		if !add {
			return
		}
		rows = make([][]float64, len(cells))
		for i, row := range cells {
			sum := 0.0
			for _, x := range row {
				sum += x
				rows[i] = append(rows[i], sum)
			}
		}
	}
	take("cumulative_cents", plain(in.CumulativeCents), false, "cents")
	take("incremental_cents", plain(in.IncrementalCents), true, "cents")
	take("cumulative", in.Cumulative, false, "units")
	take("incremental", in.Incremental, true, "units")
	if given != 1 {
		return nil, "", "", fmt.Errorf("cumulative_cents: give exactly one of cumulative_cents, incremental_cents, cumulative and incremental, not %d", given)
	}
	return rows, unit, field, nil
}

func plain(cells [][]units.Money) [][]float64 {
	if cells == nil {
		return nil
	}
	out := make([][]float64, len(cells))
	for i, row := range cells {
		out[i] = make([]float64, len(row))
		for k, x := range row {
			out[i][k] = float64(x)
		}
	}
	return out
}

// checkTriangle refuses what the method cannot take, by row and column counted
// from 1.
func checkTriangle(field string, rows [][]float64) error {
	n := len(rows)
	if n < 3 || n > mostRows {
		return fmt.Errorf("%s: must have 3 to %d rows, not %d", field, mostRows, n)
	}
	m := len(rows[0])
	if m < 2 || m > n {
		return fmt.Errorf("%s: row 1 must have 2 to %d columns, one for each year since at most, not %d", field, n, m)
	}
	for i, row := range rows {
		if want := min(m, n-i); len(row) != want {
			return fmt.Errorf("%s: row %d must have %d columns, as all rows end in the same calendar year, not %d", field, i+1, want, len(row))
		}
		for k, x := range row {
			at := fmt.Sprintf("%s: row %d, column %d", field, i+1, k+1)
			switch {
			case math.IsNaN(x) || math.Abs(x) > 1e15:
				return fmt.Errorf("%s: must be a number up to 1e15, not %v", at, x)
			case x < 0:
				return fmt.Errorf("%s: what was paid in all must not be below nought, not %v", at, x)
			}
		}
	}
	for k := range m - 1 {
		sum := 0.0
		for i := range n - k - 1 {
			sum += rows[i][k]
		}
		if sum == 0 {
			return fmt.Errorf("%s: column %d: is all nought, and nothing can be carried forward from it", field, k+1)
		}
		for i := range n - k - 1 {
			if rows[i][k] == 0 && rows[i][k+1] > 0 {
				return fmt.Errorf("%s: row %d, column %d: is nought while the next is not; a factor cannot grow from nothing", field, i+1, k+1)
			}
		}
	}
	return nil
}

// ChainLadder carries a triangle forward by the chain ladder, with the standard
// errors of Mack 1993, which suppose that what comes next depends on the amount
// to date alone, with a variance in proportion to it, and that rows are
// independent. Nothing is added for years after the last column. It refuses
// ragged shapes, cumulative amounts below nought, a column that is all nought
// and a nought that later grows, by row and column.
func ChainLadder(in TriangleInput) (TriangleResult, error) {
	rule := in.LastSigma
	if rule == "" {
		rule = MackSigma
	}
	if rule != MackSigma && rule != LogLinearSigma {
		return TriangleResult{}, fmt.Errorf("last_sigma: must be mack or log_linear, not %q", rule)
	}
	if in.FirstYear < 0 || in.FirstYear > 9999 {
		return TriangleResult{}, fmt.Errorf("first_year: must be a year up to 9999, not %d", in.FirstYear)
	}
	if in.YearsEach < 0 || in.YearsEach > mostYears {
		return TriangleResult{}, fmt.Errorf("years_each: must lie between 1 and %d, not %d", mostYears, in.YearsEach)
	}
	rows, unit, field, err := in.read()
	if err != nil {
		return TriangleResult{}, err
	}
	if err := checkTriangle(field, rows); err != nil {
		return TriangleResult{}, err
	}
	r := TriangleResult{Unit: unit, LastSigma: rule}
	n, m := len(rows), len(rows[0])
	below := make([]float64, m-1) // what each factor rests on
	for k := range m - 1 {
		next := 0.0
		for i := range n - k - 1 {
			below[k] += rows[i][k]
			next += rows[i][k+1]
		}
		r.Factors = append(r.Factors, next/below[k])
	}
	var known bool
	if r.SigmaSquared, r.LastSigmaUsed, known = sigmas(rows, r.Factors, rule); !known {
		r.SigmaSquared = nil
		r.Notes = append(r.Notes, Note{Code: "no_standard_error", Sentence: sentences["no_standard_error"]})
	}

	nothing := 0
	var total, squares, covariance, later float64
	relative := func(k int) float64 { return r.SigmaSquared[k] / (r.Factors[k] * r.Factors[k]) }
	r.Origins = make([]Origin, n)
	for i := n - 1; i >= 0; i-- { // from the youngest, so that "later" is known
		row := rows[i]
		o := Origin{Latest: row[len(row)-1]}
		if in.FirstYear > 0 {
			o.Year = in.FirstYear + i*in.each()
		}
		if o.Latest == 0 && len(row) < m {
			nothing++
		}
		amount, own, shared := o.Latest, 0.0, 0.0
		for k := len(row) - 1; k < m-1; k++ {
			if known && amount > 0 {
				own += relative(k) * (1/amount + 1/below[k])
				shared += 2 * relative(k) / below[k]
			}
			amount *= r.Factors[k]
		}
		o.Ultimate, o.Reserve = amount, amount-o.Latest
		if known {
			mse := amount * amount * own
			se := math.Sqrt(mse)
			o.StandardError = &se
			squares += mse
			covariance += amount * later * shared
		}
		later += amount
		total += o.Reserve
		r.Total.Latest += o.Latest
		r.Total.Ultimate += amount
		r.Origins[i] = o
	}
	r.Total.Reserve = total
	if known {
		se := math.Sqrt(squares + covariance)
		r.Total.StandardError = &se
	}
	if unit == "cents" {
		r.wholeCents()
	}
	if nothing > 0 {
		r.Notes = append(r.Notes, numbered("nothing_paid_yet", nothing))
	}
	return r, nil
}

func (r *TriangleResult) wholeCents() {
	cents := func(x *float64) *units.Money {
		if x == nil {
			return nil
		}
		m := units.Money(math.Round(*x))
		return &m
	}
	reserves := make([]float64, len(r.Origins))
	for i, o := range r.Origins {
		reserves[i] = o.Reserve
	}
	whole, sum := inParts(reserves), units.Money(0)
	for i := range r.Origins {
		r.Origins[i].ReserveCents, r.Origins[i].ErrorCents = &whole[i], cents(r.Origins[i].StandardError)
		sum += whole[i]
	}
	r.Total.ReserveCents, r.Total.ErrorCents = &sum, cents(r.Total.StandardError)
}

// sigmas gives σ² of each factor, whether the rule for the last was used, and
// whether they are known at all.
func sigmas(rows [][]float64, factors []float64, rule LastSigma) (out []float64, ruled, known bool) {
	n := len(rows)
	out = make([]float64, len(factors))
	for k, f := range factors {
		pairs, sum := 0, 0.0
		for i := range n - k - 1 {
			// A row without a payment has no weight and shows no ratio.
			if c := rows[i][k]; c > 0 {
				d := rows[i][k+1]/c - f
				sum += c * d * d
				pairs++
			}
		}
		switch {
		case pairs > 1:
			out[k] = sum / float64(pairs-1)
		case k < 2: // two earlier ones are needed to carry on from
			return nil, false, false
		case rule == MackSigma:
			ruled = true
			a, b := out[k-2], out[k-1]
			out[k] = math.Min(a, b)
			if a > 0 {
				out[k] = math.Min(out[k], b*b/a)
			}
		default:
			ruled = true
			out[k] = alongLine(out[:k], k)
		}
	}
	return out, ruled, true
}

// alongLine carries the straight line through the logarithms on to place k.
// Noughts have no logarithm and are passed over; with fewer than two others it
// gives the mean of what there is.
func alongLine(y []float64, k int) float64 {
	var n, sx, sy, sxx, sxy float64
	for i, v := range y {
		if v > 0 {
			x, l := float64(i), math.Log(v)
			n, sx, sy, sxx, sxy = n+1, sx+x, sy+l, sxx+x*x, sxy+x*l
		}
	}
	switch n {
	case 0:
		return 0
	case 1:
		return math.Exp(sy)
	}
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	return math.Exp((sy-slope*sx)/n + slope*float64(k))
}
