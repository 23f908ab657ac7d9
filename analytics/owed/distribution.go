package owed

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"overhang/analytics/units"
)

// CostChance is one cost that a callback may have, with its chance.
type CostChance struct {
	Cost   units.Money `json:"cost_cents"`
	Chance float64     `json:"chance"`
}

// PromiseGroup is a number of promises alike: how many callbacks each is expected
// to have in each year ahead, what one costs, and the lot and crew they share.
// Groups of one name are reported together.
type PromiseGroup struct {
	Name     string    `json:"name,omitempty"`
	Promises float64   `json:"promises,omitempty"` // nought counts as one
	Rates    []float64 `json:"rates"`              // callbacks of one promise, by year ahead
	Lot      string    `json:"lot,omitempty"`
	Crew     string    `json:"crew,omitempty"`
	// The cost of one callback is log-normal with this mean and standard
	// deviation, or one of Costs.
	CostMean units.Money  `json:"cost_mean_cents,omitempty"`
	CostSD   units.Money  `json:"cost_sd_cents,omitempty"`
	Costs    []CostChance `json:"costs,omitempty"`
	Share    *float64     `json:"share,omitempty"` // of the cost that we bear, 0 to 1; nil is all
}

// DistributionInput is what the whole distribution of the cost ahead is made
// from. The rate of a year is multiplied by gamma factors of mean 1 and the
// standard deviations given: one for each calendar year, for weather that hits
// all; one for each lot and one for each crew, which last the whole term.
type DistributionInput struct {
	FirstYear int            `json:"first_year,omitempty"` // ahead; 0 numbers the years from 1
	Groups    []PromiseGroup `json:"groups"`
	WeatherSD float64        `json:"weather_sd,omitempty"`
	LotSD     float64        `json:"lot_sd,omitempty"`
	CrewSD    float64        `json:"crew_sd,omitempty"`
	// RateSD is how unsure all rates are together, as a part of the mean: one
	// gamma factor for all groups and years.
	RateSD float64 `json:"rate_sd,omitempty"`
	// Levels are the points asked for, 0.1 0.5 0.75 0.9 0.95 0.99 0.995 when
	// empty; Shortfall the level whose shortfall is shared out, 0.9 when nought.
	Levels    []float64 `json:"levels,omitempty"`
	Shortfall float64   `json:"shortfall_level,omitempty"`
	EachYear  bool      `json:"each_year,omitempty"` // the range of each year, too
	// Step is the step of the lattice, and Nodes the nodes of each quadrature;
	// both are chosen when nought.
	Step  units.Money `json:"step_cents,omitempty"`
	Nodes int         `json:"nodes,omitempty"`
}

// DistributionResult is the distribution of the cost ahead, undiscounted.
type DistributionResult struct {
	Callbacks float64     `json:"callbacks"` // expected
	Expected  units.Money `json:"expected_cents"`
	SD        units.Money `json:"sd_cents"` // by the formula, not from the lattice
	None      float64     `json:"chance_of_no_cost"`
	Quantiles []Quantile  `json:"quantiles"`
	// Shortfall is the mean cost of the worst (1 − level) of all outcomes. The
	// groups' shares of it add up to it, to the cent.
	Level     float64      `json:"shortfall_level"`
	Shortfall units.Money  `json:"shortfall_cents"`
	Groups    []GroupShare `json:"groups"`
	Years     []YearRange  `json:"years,omitempty"`
	Method    Method       `json:"method"`
	Notes     []Note       `json:"notes,omitempty"`
	Lattice   Lattice      `json:"-"` // the whole distribution, in cents
}

// Quantile is the amount that is not exceeded with a chance.
type Quantile struct {
	Level float64     `json:"level"`
	Cents units.Money `json:"cents"`
}

// GroupShare is what the promises of one name add to the mean and to the
// shortfall.
type GroupShare struct {
	Name      string      `json:"name,omitempty"`
	Callbacks float64     `json:"callbacks"`
	Expected  units.Money `json:"expected_cents"`
	Shortfall units.Money `json:"shortfall_cents"`
}

// YearRange is the range of one year ahead, eight times out of ten.
type YearRange struct {
	Year     int         `json:"year"`
	Expected units.Money `json:"expected_cents"`
	Low      units.Money `json:"low_cents"`  // 10 % point
	High     units.Money `json:"high_cents"` // 90 % point
}

// Method says how the distribution was found.
type Method struct {
	Step  units.Money `json:"step_cents"`
	Cells int         `json:"cells"`
	// Cap is the largest single cost on the lattice. Costs beyond it count as it,
	// which leaves BeyondCap of the expected cost out of the distribution.
	Cap       units.Money `json:"cap_cents"`
	BeyondCap units.Money `json:"beyond_cap_cents"`
	// Mixing is closed_form or quadrature, with Nodes for each of Together
	// effects. OneWeather: the years' weather is joined into one factor for the
	// term that keeps the mean and the variance; it is then the one approximation.
	Mixing     string `json:"mixing"`
	Nodes      int    `json:"nodes,omitempty"`
	Together   int    `json:"together,omitempty"`
	OneWeather bool   `json:"one_weather"`
}

const (
	mostCallbacks = 1e7
	mostClasses   = 1024
	mostGroupRows = 1_000_000
	idealCells    = 1 << 16 // a lattice that needs more takes larger steps
	capCells      = 1 << 17
	stepsAMean    = 8
	leastWeight   = 1e-18 // of a transform that counts
)

var usualLevels = []float64{0.1, 0.5, 0.75, 0.9, 0.95, 0.99, 0.995}

func (in DistributionInput) validate() error {
	if len(in.Groups) == 0 || len(in.Groups) > mostGroupRows {
		return fmt.Errorf("groups: must be 1 to %d, not %d", mostGroupRows, len(in.Groups))
	}
	for name, sd := range map[string]float64{"weather_sd": in.WeatherSD, "lot_sd": in.LotSD, "crew_sd": in.CrewSD, "rate_sd": in.RateSD} {
		if !(sd == 0 || sd >= 0.001 && sd <= 2) {
			return fmt.Errorf("%s: must be nought or lie between 0.001 and 2, as a part of the mean, not %v", name, sd)
		}
	}
	if in.FirstYear < 0 || in.FirstYear > 9999 {
		return fmt.Errorf("first_year: must be a year up to 9999, not %d", in.FirstYear)
	}
	for i, p := range in.Levels {
		if !(p > 0 && p < 1) {
			return fmt.Errorf("levels[%d]: must lie between 0 and 1, not %v", i, p)
		}
	}
	if in.Shortfall != 0 && !(in.Shortfall > 0 && in.Shortfall < 0.99999) {
		return fmt.Errorf("shortfall_level: must lie above 0 and below 0.99999, not %v", in.Shortfall)
	}
	if in.Step < 0 || in.Step > mostMoney {
		return fmt.Errorf("step_cents: must lie between 0 and %v, not %v", mostMoney, in.Step)
	}
	if in.Nodes < 0 || in.Nodes > 128 {
		return fmt.Errorf("nodes: must lie between 0 and 128, not %d", in.Nodes)
	}
	for i := range in.Groups {
		if err := in.Groups[i].validate(); err != nil {
			return fmt.Errorf("groups[%d].%w", i, err)
		}
	}
	return nil
}

func (g *PromiseGroup) validate() error {
	if !(g.Promises >= 0 && g.Promises <= 1e7) {
		return fmt.Errorf("promises: must lie between 0 and ten million, not %v", g.Promises)
	}
	if len(g.Rates) > mostYears {
		return fmt.Errorf("rates: must be at most %d years, not %d", mostYears, len(g.Rates))
	}
	for y, r := range g.Rates {
		if !(r >= 0 && r <= 1e6) {
			return fmt.Errorf("rates[%d]: must lie between 0 and a million, not %v", y, r)
		}
	}
	if g.Share != nil && !(*g.Share >= 0 && *g.Share <= 1) {
		return fmt.Errorf("share: must lie between 0 and 1, not %v", *g.Share)
	}
	if len(g.Costs) > 0 {
		if g.CostMean != 0 || g.CostSD != 0 {
			return fmt.Errorf("costs: give either costs or cost_mean_cents, not both")
		}
		sum := 0.0
		for i, c := range g.Costs {
			if c.Cost < 0 || c.Cost > mostMoney || !(c.Chance >= 0 && c.Chance <= 1) {
				return fmt.Errorf("costs[%d]: must lie between 0 and %v with a chance between 0 and 1, not %v and %v", i, mostMoney, c.Cost, c.Chance)
			}
			sum += c.Chance
		}
		if math.Abs(sum-1) > 1e-9 {
			return fmt.Errorf("costs: the chances must add up to 1, not %v", sum)
		}
		return nil
	}
	if g.CostMean <= 0 || g.CostMean > mostMoney {
		return fmt.Errorf("cost_mean_cents: must lie above 0 and up to %v, not %v", mostMoney, g.CostMean)
	}
	if g.CostSD < 0 || float64(g.CostSD) > 10*float64(g.CostMean) {
		return fmt.Errorf("cost_sd_cents: must lie between 0 and ten times the mean, not %v", g.CostSD)
	}
	return nil
}

func (g *PromiseGroup) count() float64 {
	if g.Promises == 0 {
		return 1
	}
	return g.Promises
}

// severity is the cost of one callback in cents, with the share taken.
type severity struct {
	law         logNormal // where there are no costs
	costs       []CostChance
	share       float64
	mean        float64
	square      float64 // mean of the square
	most        float64 // the cap
	p           []float64
	kept        float64 // mean on the lattice
	cost, times []complex128
}

func newSeverity(g *PromiseGroup) *severity {
	s := &severity{costs: g.Costs, share: 1}
	if g.Share != nil {
		s.share = *g.Share
	}
	if len(g.Costs) > 0 {
		for _, c := range g.Costs {
			x := float64(c.Cost) * s.share
			s.mean += c.Chance * x
			s.square += c.Chance * x * x
			s.most = math.Max(s.most, x)
		}
		return s
	}
	s.mean = float64(g.CostMean) * s.share
	sd := float64(g.CostSD) * s.share
	s.square = s.mean*s.mean + sd*sd
	if s.mean > 0 {
		s.law = newLogNormal(s.mean, sd)
		s.most = math.Exp(s.law.mu + 6*s.law.sigma) // one in a thousand million lies beyond
	}
	return s
}

// onLattice puts the cost on the lattice with its mean kept.
func (s *severity) onLattice(step float64) {
	switch {
	case s.mean == 0:
		s.p = []float64{1}
	case len(s.costs) > 0:
		s.p = make([]float64, int(s.most/step)+2)
		for _, c := range s.costs {
			at, part := math.Modf(float64(c.Cost) * s.share / step)
			s.p[int(at)] += c.Chance * (1 - part)
			s.p[int(at)+1] += c.Chance * part
		}
	case s.law.sigma < 1e-6: // one cost, between two points
		at, part := math.Modf(s.mean / step)
		s.p = make([]float64, int(at)+2)
		s.p[int(at)], s.p[int(at)+1] = 1-part, part
	default:
		s.p = Discretise(s.law.limited, step, min(capCells, int(math.Ceil(s.most/step))+1))
	}
	s.kept = 0
	for i, p := range s.p {
		s.kept += p * float64(i) * step
	}
}

// transform takes the transforms of the cost and of the cost times its chance,
// folded onto n points.
func (s *severity) transform(fft *fourier.FFT, n int) {
	a, b := make([]float64, n), make([]float64, n)
	for i, p := range s.p {
		a[i%n] += p
		b[i%n] += p * float64(i)
	}
	s.cost, s.times = fft.Coefficients(nil, a), fft.Coefficients(nil, b)
}

// class is all callbacks of one name, cost, lot and crew.
type class struct {
	name  int
	cell  int
	cost  *severity
	rates []float64
}

// book is the input sorted into classes.
type book struct {
	names   []string
	cells   []mixCell
	classes []class
	costs   []*severity
	years   int
}

type costKey struct {
	mean, sd units.Money
	share    float64
}

func (in DistributionInput) sort() (*book, error) {
	b := &book{}
	for i := range in.Groups {
		b.years = max(b.years, len(in.Groups[i].Rates))
	}
	if b.years == 0 {
		return nil, fmt.Errorf("groups[0].rates: at least one year ahead is needed")
	}
	costs := map[costKey]*severity{}
	names, lots, crews := map[string]int{}, map[string]int{}, map[string]int{}
	number := func(of map[string]int, name string) int {
		n, found := of[name]
		if !found {
			n = len(of)
			of[name] = n
		}
		return n
	}
	cells := map[mixCell]int{}
	type key struct {
		name int
		cell int
		cost *severity
	}
	places := map[key]int{}
	for i := range in.Groups {
		g := &in.Groups[i]
		share := 1.0
		if g.Share != nil {
			share = *g.Share
		}
		k := costKey{g.CostMean, g.CostSD, share}
		cost := costs[k]
		if cost == nil || len(g.Costs) > 0 {
			cost = newSeverity(g)
			for _, other := range b.costs {
				if len(g.Costs) > 0 && other.share == cost.share && slices.Equal(other.costs, cost.costs) {
					cost = other
				}
			}
			if !slices.Contains(b.costs, cost) {
				b.costs = append(b.costs, cost)
			}
			if len(g.Costs) == 0 {
				costs[k] = cost
			}
		}
		name := number(names, g.Name)
		if name == len(b.names) {
			b.names = append(b.names, g.Name)
		}
		c := mixCell{-1, -1}
		if in.LotSD > 0 && g.Lot != "" {
			c.lot = number(lots, g.Lot)
		}
		if in.CrewSD > 0 && g.Crew != "" {
			c.crew = number(crews, g.Crew)
		}
		cell, found := cells[c]
		if !found {
			cell = len(b.cells)
			cells[c] = cell
			b.cells = append(b.cells, c)
		}
		at, found := places[key{name, cell, cost}]
		if !found {
			at = len(b.classes)
			if at == mostClasses {
				return nil, fmt.Errorf("groups: at most %d different names, costs, lots and crews; give groups that are reported together one name", mostClasses)
			}
			places[key{name, cell, cost}] = at
			b.classes = append(b.classes, class{name, cell, cost, make([]float64, b.years)})
		}
		n := g.count()
		for y, r := range g.Rates {
			b.classes[at].rates[y] += n * r
		}
	}
	return b, nil
}

// only is the book of one year.
func (b *book) only(year int) *book {
	out := *b
	out.years = 1
	out.classes = make([]class, len(b.classes))
	for i, c := range b.classes {
		out.classes[i] = class{c.name, c.cell, c.cost, c.rates[year : year+1]}
	}
	return &out
}

// moments are the count, the mean and the variance by their formulae, the part
// of the variance that is mixing, and the weather of the whole term: the
// variance of the one factor that gives the same.
func (b *book) moments(weather, lot, crew, all float64) (count, mean, variance, mixing, term float64) {
	by := make([][]float64, len(b.cells)) // mean by cell and year
	sums := make([]float64, len(b.cells))
	for i := range by {
		by[i] = make([]float64, b.years)
	}
	poisson := 0.0
	for _, c := range b.classes {
		for y, r := range c.rates {
			count += r
			by[c.cell][y] += r * c.cost.mean
			sums[c.cell] += r * c.cost.mean
			poisson += r * c.cost.square
		}
	}
	together, yearly := 0.0, 0.0
	for i, a := range b.cells {
		mean += sums[i]
		for j, c := range b.cells {
			e := 1.0
			if a.lot >= 0 && a.lot == c.lot {
				e *= 1 + lot
			}
			if a.crew >= 0 && a.crew == c.crew {
				e *= 1 + crew
			}
			together += e * sums[i] * sums[j]
			for y := range b.years {
				yearly += e * weather * by[i][y] * by[j][y]
			}
		}
	}
	mixing = math.Max(0, (1+all)*(together+yearly)-mean*mean)
	if together > 0 {
		term = yearly / together
	}
	return count, mean, poisson + mixing, mixing, term
}

// found is a distribution with what each name adds at each point.
type found struct {
	lattice  Lattice
	mixer    *mixer
	expected float64
	variance float64
	count    float64
	// adds is, by name, the transform of the mean of the name's cost where the
	// total is a point, times the point's chance, in steps.
	adds [][]complex128
}

func (in DistributionInput) distribute(b *book, adds bool) (found, error) {
	weather, lot, crew, all := in.WeatherSD*in.WeatherSD, in.LotSD*in.LotSD, in.CrewSD*in.CrewSD, in.RateSD*in.RateSD
	var f found
	var mixing, term float64
	f.count, f.expected, f.variance, mixing, term = b.moments(weather, lot, crew, all)
	if f.count > mostCallbacks {
		return f, fmt.Errorf("groups: at most %.0f callbacks may be expected, not %.0f", float64(mostCallbacks), f.count)
	}
	byYear := make([]float64, b.years)
	for y := range byYear {
		byYear[y] = weather
	}
	var err error
	if f.mixer, err = newMixer(b.cells, lot, crew, byYear, term, all, in.Nodes); err != nil {
		return f, err
	}
	if f.mixer.shared != nil && b.years > 1 {
		whole := *b
		whole.years = 1
		whole.classes = slices.Clone(b.classes)
		for i := range whole.classes {
			sum := 0.0
			for _, r := range whole.classes[i].rates {
				sum += r
			}
			whole.classes[i].rates = []float64{sum}
		}
		b = &whole
	}
	if f.count == 0 || f.expected == 0 {
		f.lattice = Lattice{Step: 1, P: []float64{1}, below: []float64{1}}
		f.adds = make([][]complex128, len(b.names))
		return f, nil
	}

	// The lattice: from 12 standard deviations below the mean to as far above as
	// mixed rates, whose tails fall more slowly, reach with a chance of 1e-15 (our
	// judgement, from the gamma's own tail).
	sd := math.Sqrt(f.variance)
	most := 0.0
	for _, c := range b.costs {
		most = math.Max(most, c.most)
	}
	// A few large costs reach further than that: a dozen more of the size that an
	// average dollar belongs to.
	low := math.Max(0, f.expected-spreads*sd)
	high := f.expected + (spreads+2*spreads*math.Min(2, math.Sqrt(mixing)/f.expected))*sd + spreads*(f.variance-mixing)/f.expected
	high = math.Max(high, math.Min(most+f.expected, 4*high))
	step := float64(in.Step)
	if step == 0 {
		steps := float64(stepsAMean)
		if f.mixer.shared != nil || f.mixer.around > 0 {
			steps /= 2 // each point costs many times more then
		}
		step = math.Max(1, math.Round(math.Max(f.expected/f.count/steps, (high-low)/idealCells)))
	}
	first := math.Floor(low / step)
	width := high/step - first + 2
	if width > mostCells/4 {
		return f, fmt.Errorf("step_cents: the lattice would need %.0f points, more than %d; take a larger step", width, mostCells/4)
	}
	n := 64
	for float64(n) < width {
		n *= 2
	}
	fft := fourier.NewFFT(n)
	for _, c := range b.costs {
		c.onLattice(step)
		c.transform(fft, n)
	}

	years := b.years
	u := make([]complex128, len(b.cells)*years)
	var d, sureAt []complex128
	if adds {
		d = make([]complex128, len(u))
	}
	g := make([]complex128, n/2+1)
	var by [][]complex128
	if adds {
		by = make([][]complex128, len(b.names))
		for i := range by {
			by[i] = make([]complex128, n/2+1)
		}
	}
	real0 := make([]complex128, len(u))
	for k := range g {
		clear(u)
		for i := range b.classes {
			c := &b.classes[i]
			x := c.cost.cost[k] - 1
			for y, r := range c.rates {
				u[c.cell*years+y] += complex(r, 0) * x
			}
		}
		// The transform is no larger than it is for the real parts alone, and that
		// falls with each of them: where it has once come to nothing, it needs no
		// working out for parts that lie lower still.
		if sureAt != nil && lower(u, sureAt) {
			continue
		}
		g[k] = f.mixer.at(u, d)
		if a := g[k]; math.Abs(real(a))+math.Abs(imag(a)) < leastWeight {
			for i := range u {
				real0[i] = complex(real(u[i]), 0)
			}
			if real(f.mixer.at(real0, nil)) < leastWeight && (sureAt == nil || lower(sureAt, real0)) {
				sureAt = slices.Clone(real0)
			}
		}
		if adds {
			for i := range b.classes {
				c := &b.classes[i]
				var sum complex128
				for y, r := range c.rates {
					sum += complex(r, 0) * d[c.cell*years+y]
				}
				by[c.name][k] += sum * c.cost.times[k]
			}
		}
	}
	f.lattice = Lattice{Step: step, First: int(first), P: make([]float64, n), below: make([]float64, n)}
	back := fft.Sequence(nil, g)
	sum := 0.0
	for i := range f.lattice.P {
		f.lattice.P[i] = math.Max(0, back[(f.lattice.First+i)%n]/float64(n))
		sum += f.lattice.P[i]
		f.lattice.below[i] = sum
	}
	f.adds = by
	return f, nil
}

// lower says whether all real parts of u are at or below those of v.
func lower(u, v []complex128) bool {
	for i := range u {
		if real(u[i]) > real(v[i]) {
			return false
		}
	}
	return true
}

// Distribution gives the whole distribution of the cost ahead: counts are
// Poisson given their rates, rates vary together with the weather of a calendar
// year, a lot and a crew, and costs are independent. The transform is mixed over
// those effects before it is turned back, so that nothing is drawn by chance.
// The shares of the shortfall are each group's mean cost in the worst outcomes.
func Distribution(in DistributionInput) (DistributionResult, error) {
	if err := in.validate(); err != nil {
		return DistributionResult{}, err
	}
	b, err := in.sort()
	if err != nil {
		return DistributionResult{}, err
	}
	f, err := in.distribute(b, true)
	if err != nil {
		return DistributionResult{}, err
	}
	r := DistributionResult{Callbacks: f.count, SD: units.Money(math.Round(math.Sqrt(f.variance))), Lattice: f.lattice, Level: in.Shortfall}
	if f.lattice.First == 0 {
		r.None = f.lattice.P[0]
	}
	levels := in.Levels
	if len(levels) == 0 {
		levels = usualLevels
	}
	for _, p := range levels {
		r.Quantiles = append(r.Quantiles, Quantile{p, units.Money(math.Round(f.lattice.Quantile(p)))})
	}
	if r.Level == 0 {
		r.Level = highPoint
	}
	r.Groups = make([]GroupShare, len(b.names))
	means := make([]float64, len(b.names))
	beyond, most := 0.0, 0.0
	for i, name := range b.names {
		r.Groups[i].Name = name
	}
	for _, c := range b.classes {
		for _, rate := range c.rates {
			r.Groups[c.name].Callbacks += rate
			means[c.name] += rate * c.cost.mean
			beyond += rate * (c.cost.mean - c.cost.kept)
		}
		most = math.Max(most, float64(len(c.cost.p)-1)*f.lattice.Step)
	}
	for i, m := range inParts(means) {
		r.Groups[i].Expected = m
		r.Expected += m
	}
	tails := f.tails(r.Level)
	for i, m := range inParts(tails) {
		r.Groups[i].Shortfall = m
		r.Shortfall += m
	}
	r.Method = Method{Step: units.Money(f.lattice.Step), Cells: len(f.lattice.P), Cap: units.Money(most), Mixing: f.mixer.how,
		Together: f.mixer.around, OneWeather: f.mixer.shared != nil && in.WeatherSD > 0 && b.years > 1}
	if f.expected > 0 {
		r.Method.BeyondCap = units.Money(math.Round(beyond))
	}
	if f.mixer.around > 0 {
		r.Method.Nodes = f.mixer.nodes
	}
	if r.Method.OneWeather {
		r.Notes = append(r.Notes, Note{Code: "one_weather", Sentence: sentences["one_weather"]})
	}
	if in.EachYear {
		if err := r.eachYear(in, b); err != nil {
			return DistributionResult{}, err
		}
	}
	return r, nil
}

func (r *DistributionResult) eachYear(in DistributionInput, b *book) error {
	means := make([]float64, b.years)
	for y := range b.years {
		f, err := in.distribute(b.only(y), false)
		if err != nil {
			return fmt.Errorf("year %d: %w", y+1, err)
		}
		means[y] = f.expected
		year := YearRange{Year: y + max(1, in.FirstYear), Low: units.Money(math.Round(f.lattice.Quantile(lowPoint))), High: units.Money(math.Round(f.lattice.Quantile(highPoint)))}
		r.Years = append(r.Years, year)
	}
	for y, m := range share(r.Expected, means) {
		r.Years[y].Expected = m
	}
	return nil
}

// tails gives what each name adds to the shortfall at a level: its mean cost
// where the total is beyond the level's point, and at that point for as much of
// its chance as is needed.
func (f *found) tails(level float64) []float64 {
	l := f.lattice
	at := 0
	for at < len(l.P)-1 && l.below[at] < level {
		at++
	}
	needed := 0.0
	if l.P[at] > 0 {
		needed = math.Max(0, l.below[at]-level) / l.P[at]
	}
	out := make([]float64, len(f.adds))
	n := len(l.P)
	if n < 2 {
		return out
	}
	// A sum over points is one over frequencies (Parseval), so the names need no
	// turning back one by one.
	weights := make([]float64, n)
	weights[(l.First+at)%n] = needed
	for k := at + 1; k < n; k++ {
		weights[(l.First+k)%n] = 1
	}
	tail := fourier.NewFFT(n).Coefficients(nil, weights)
	for i, a := range f.adds {
		sum := 0.0
		for k, x := range a {
			part := real(x)*real(tail[k]) + imag(x)*imag(tail[k])
			if k > 0 && k < n/2 {
				part *= 2
			}
			sum += part
		}
		out[i] = sum / float64(n) * l.Step / (1 - level)
	}
	return out
}
