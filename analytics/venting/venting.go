package venting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// Verdict is what can be said of a rule.
type Verdict = units.Verdict

// The verdicts.
const (
	Passes   = units.Passes
	Fails    = units.Fails
	NotKnown = units.NotKnown
)

// Input is one attic space. Of each pair of fields that differ only by unit at
// most one may be given; a field left out is not known.
type Input struct {
	// The vented plan area of the space, for the American rules, and the area
	// of insulated ceiling under it, for the Canadian ones. When one is left
	// out the other is taken for it, and the result says so.
	PlanAreaFt2    *float64 `json:"plan_area_ft2,omitempty"`
	PlanAreaM2     *float64 `json:"plan_area_m2,omitempty"`
	CeilingAreaFt2 *float64 `json:"insulated_ceiling_area_ft2,omitempty"`
	CeilingAreaM2  *float64 `json:"insulated_ceiling_area_m2,omitempty"`

	// RiseIn12 is the roof's slope, inches of rise in twelve; Joists says that
	// the roof is built with joists, a cathedral or flat ceiling without an
	// attic. Both are for the Canadian rules.
	RiseIn12 *float64 `json:"rise_in_12,omitempty"`
	Joists   *bool    `json:"built_with_joists,omitempty"`

	// Openings of this space: left out is not looked at, empty is looked and
	// none.
	Openings []Opening `json:"openings"`

	RetarderClass   string `json:"vapour_retarder_class,omitempty"` // I, II, III or none, on the warm-in-winter side
	ClimateZone     string `json:"climate_zone,omitempty"`          // 1 to 8, a moisture letter may follow: 6A
	FramingConflict bool   `json:"framing_conflict,omitempty"`      // framing keeps high vents lower than 3 ft below the ridge

	// ClearSpace is what is open between insulation and deck where the roof
	// passes over the wall, at its narrowest; Baffles says that something holds
	// it open. BaySpacing is that of the rafters or trusses.
	ClearSpaceIn *float64 `json:"clear_space_in,omitempty"`
	ClearSpaceMm *float64 `json:"clear_space_mm,omitempty"`
	Baffles      *bool    `json:"baffles,omitempty"`
	BaySpacingIn *float64 `json:"bay_spacing_in,omitempty"`
	BaySpacingMm *float64 `json:"bay_spacing_mm,omitempty"`
	Eaves        []Eave   `json:"eaves,omitempty"`

	// Ridge is the length of ridge that a ridge vent can use, all of it, also
	// where one lies. RidgeRises are the slopes that meet there; left out it is
	// RiseIn12.
	RidgeFt        *float64  `json:"ridge_ft,omitempty"`
	RidgeM         *float64  `json:"ridge_m,omitempty"`
	RidgeRisesIn12 []float64 `json:"ridge_rises_in_12,omitempty"`

	// Ducts is what is known of the ducts in the space: none, insulated, bare
	// or ends_in_attic. DuctsEnding names those that end there: bath, kitchen,
	// dryer or other; left out is not looked at, empty is looked and none.
	Ducts       string   `json:"ducts,omitempty"`
	DuctsEnding []string `json:"ducts_ending_in_attic"`
	Kneewalls   *bool    `json:"kneewalls,omitempty"` // walls under the slopes cut off part of the space

	// Products are the vents that a bill may use, in place of the generic ones
	// of their kind; Prices are of its items. See [Bill].
	Products []Product `json:"products,omitempty"`
	Prices   []Price   `json:"prices,omitempty"`

	Readings Readings     `json:"readings,omitzero"`
	Codes    []string     `json:"codes,omitempty"` // keys of the rules to check; empty is all
	Units    units.System `json:"units,omitempty"` // of the sentences: us (when empty) or metric
}

// Condition is one thing that a rule asks, with what is there.
type Condition struct {
	Key     string      `json:"key"` // total, high_at_least, high_at_most, balance, low_at_least, retarder
	OneIn   int         `json:"one_in,omitempty"`
	Verdict Verdict     `json:"verdict"`
	Asked   *units.Area `json:"asked_m2,omitempty"`
	There   *Bounds     `json:"there,omitempty"`
	Says    string      `json:"says"`
}

// RuleResult is one rule applied to the attic.
type RuleResult struct {
	Code    string  `json:"code"`  // the rule's key
	Cites   string  `json:"cites"` // code, edition and section
	Source  string  `json:"source"`
	Verdict Verdict `json:"verdict"`

	// OneIn is 150 or 300, or 0 when which of them applies is not known; Why
	// says why. Asked is the area asked for at that ratio, or both.
	OneIn int     `json:"one_in"`
	Why   string  `json:"why"`
	Asked *Bounds `json:"asked,omitempty"`
	// HighFrom and HighTo bound the high vents and LowFrom the low ones: at
	// 1/300 in the American rules, whose shares bind there only; at the ratio
	// that applies, once known, in the Canadian.
	HighFrom *units.Area `json:"high_from_m2,omitempty"`
	HighTo   *units.Area `json:"high_to_m2,omitempty"`
	LowFrom  *units.Area `json:"low_from_m2,omitempty"`

	Total Bounds `json:"total"`
	High  Bounds `json:"high"` // what counts as high under this rule
	Low   Bounds `json:"low"`
	// Margin is the total there less the area asked: negative is short. Its
	// bounds are those of both.
	Margin *Bounds `json:"margin,omitempty"`

	Conditions []Condition `json:"conditions,omitempty"`
	Ways       []Way       `json:"ways,omitempty"`    // to satisfy the rule, least work first
	Measure    []string    `json:"measure,omitempty"` // fields that would settle it
	Notes      []string    `json:"notes,omitempty"`
	Says       string      `json:"says"`
	// Bill is the work that puts the attic right under this rule; nil when
	// nothing is amiss, or when too little is known to say.
	Bill *Bill `json:"bill,omitempty"`
}

// Warning is something amiss with the vents that no ratio sees.
type Warning struct {
	Key  string `json:"key"`
	Says string `json:"says"`
}

// Result is the whole answer for one attic space.
type Result struct {
	Rules    []RuleResult    `json:"rules"`
	Openings []OpeningResult `json:"openings"`
	Total    Bounds          `json:"total"`
	High     Bounds          `json:"high"`
	Low      Bounds          `json:"low"`
	// HighShareLeast and HighShareMost bound the high part of high and low
	// together; nil when nothing bounds it.
	HighShareLeast *float64 `json:"high_share_least,omitempty"`
	HighShareMost  *float64 `json:"high_share_most,omitempty"`
	// Passage is the area over the walls through which intake reaches the
	// attic, which limits the vents at the eave; nil when it is not known.
	Passage  *units.Area   `json:"passage_m2,omitempty"`
	Checks   []CheckResult `json:"checks,omitempty"`
	Warnings []Warning     `json:"warnings,omitempty"`
	Cautions []string      `json:"cautions,omitempty"`
}

// attic is an Input read and in SI units.
type attic struct {
	plan, ceiling  float64 // m², NaN unknown
	swapped        string  // the area that was taken for the other
	rise           float64 // rise over run, NaN unknown
	joists         truth
	openings       []opening
	looked         bool
	cold           truth // zone 6, 7 or 8
	onePerm        truth // retarder of Class I or II
	framing        bool
	retarderMissed []string
	system         units.System

	clear, bay float64 // m, NaN unknown
	baffles    truth
	eaves      []eave
	passage    float64   // m², NaN unknown
	ridge      float64   // m, NaN unknown
	rises      []float64 // of the slopes at the ridge, rise over run; none is unknown
	ducts      string
	ending     []string // nil not looked at
	kneewalls  truth
	products   []product
	prices     map[Item]price
}

// Area of an attic space that is believed, in m²: a dog house to a large
// warehouse.
const (
	leastArea = 0.1
	mostArea  = 100_000
)

// Check applies the rules to one attic space. It refuses, by the field's name
// and the rule, values that cannot be: areas under 0.1 or over 100,000 m²,
// slopes over 36:12, negative sizes, two units for one thing, unknown keys.
func Check(in Input) (Result, error) {
	a, res, err := in.read()
	if err != nil {
		return Result{}, err
	}
	chosen, err := in.chosen()
	if err != nil {
		return Result{}, err
	}
	res.Checks = a.checks(chosen)
	for _, r := range chosen {
		rr := r.check(a)
		if a.amiss(rr, res.Checks) {
			rr.Bill = in.bill(a, r, rr, res.Checks)
		}
		if (len(rr.Ways) > 0 || rr.Bill != nil) && res.Cautions == nil {
			res.Cautions = Cautions()
		}
		res.Rules = append(res.Rules, rr)
	}
	if !math.IsNaN(a.passage) {
		passage := units.Area(a.passage)
		res.Passage = &passage
	}
	t := a.sums(Rule{})
	res.Total, res.High, res.Low = t.total.bounds(), t.high.bounds(), t.low.bounds()
	least, most := share(t.high.lo, t.low.hi), share(t.high.hi, t.low.lo)
	if !math.IsNaN(least) && !math.IsNaN(most) && (least > 0 || most < 1 || t.total.lo > 0) {
		res.HighShareLeast, res.HighShareMost = &least, &most
	}
	res.Warnings = append(a.warnings(t), warningsOf(res.Checks)...)
	return res, nil
}

// chosen are the rules asked for, as they are read.
func (in Input) chosen() ([]Rule, error) {
	wanted := in.Codes
	if len(wanted) == 0 {
		wanted = keys()
	}
	out := make([]Rule, 0, len(wanted))
	for i, key := range wanted {
		r, ok := ruleOf(key)
		if !ok {
			return nil, fmt.Errorf("codes[%d] %q: must be one of %s", i, key, strings.Join(keys(), ", "))
		}
		out = append(out, r.under(in.Readings))
	}
	return out, nil
}

// Cautions lists what stands with every remedy. The list is the caller's own.
func Cautions() []string {
	return []string{
		"Work on a roof needs fall protection, and never on frost, ice, or a wet or steep slope; an attic has wiring, nails and no floor.",
		"Local code and its official decide; wiring, ducts and structure belong to licensed trades.",
		"Vents do not cure air leaks: seal the ceiling and lead bath and kitchen ducts outdoors first.",
		"Never close, cover or move a pipe, flue or opening that serves a fuel-burning appliance, a bath or kitchen fan, a dryer or plumbing: learn what a hole serves first. A house under suction can draw flue gas back into its rooms; a licensed technician checks the appliances after a change.",
	}
}

func keys() []string {
	out := make([]string, len(rules))
	for i, r := range rules {
		out[i] = r.Key
	}
	return out
}

// share of a in a and b; NaN when both are nothing or a has no bound.
func share(a, b float64) float64 {
	switch {
	case math.IsInf(a, 1):
		return 1
	case math.IsInf(b, 1):
		return 0
	}
	return a / (a + b)
}

func (in Input) read() (attic, Result, error) {
	r := units.Reader{}
	a := attic{looked: in.Openings != nil, framing: in.FramingConflict, system: in.Units}
	a.plan = r.One(leastArea, mostArea, units.Alternative{Field: "plan_area_ft2", Value: in.PlanAreaFt2, Unit: float64(units.SquareFoot)}, units.Alternative{Field: "plan_area_m2", Value: in.PlanAreaM2, Unit: 1})
	a.ceiling = r.One(leastArea, mostArea, units.Alternative{Field: "insulated_ceiling_area_ft2", Value: in.CeilingAreaFt2, Unit: float64(units.SquareFoot)}, units.Alternative{Field: "insulated_ceiling_area_m2", Value: in.CeilingAreaM2, Unit: 1})
	a.rise = r.One(0, 3, units.Alternative{Field: "rise_in_12", Value: in.RiseIn12, Unit: 1.0 / 12})
	switch {
	case math.IsNaN(a.plan) && !math.IsNaN(a.ceiling):
		a.plan, a.swapped = a.ceiling, "plan_area"
	case math.IsNaN(a.ceiling) && !math.IsNaN(a.plan):
		a.ceiling, a.swapped = a.plan, "insulated_ceiling_area"
	}
	if in.Joists != nil {
		a.joists = is(*in.Joists)
	}
	switch in.RetarderClass {
	case "I", "II":
		a.onePerm = yes
	case "III", "none":
		a.onePerm = no
	case "":
		a.retarderMissed = append(a.retarderMissed, "vapour_retarder_class")
	default:
		r.Refuse("vapour_retarder_class", "must be I, II, III, none or left out")
	}
	switch z := in.ClimateZone; {
	case z == "":
		a.retarderMissed = append(a.retarderMissed, "climate_zone")
	case z[0] < '1' || z[0] > '8' || len(z) > 2 || (len(z) == 2 && !strings.Contains("ABC", z[1:])):
		r.Refuse("climate_zone", "must be 1 to 8, with or without a letter A, B or C, such as 6A")
	default:
		a.cold = is(z[0] >= '6')
	}
	switch in.Units {
	case "":
		a.system = units.US
	case units.US, units.Metric:
	default:
		r.Refuse("units", "must be us, metric or left out")
	}
	in.readMore(&r, &a)
	if r.Err != nil {
		return attic{}, Result{}, r.Err
	}
	res := Result{Rules: []RuleResult{}, Openings: []OpeningResult{}}
	for i, o := range in.Openings {
		read, out, err := o.read(fmt.Sprintf("openings[%d]", i))
		if err != nil {
			return attic{}, Result{}, err
		}
		a.openings = append(a.openings, read)
		res.Openings = append(res.Openings, out)
	}
	for i, e := range in.Eaves {
		read, err := e.read(fmt.Sprintf("eaves[%d]", i), a.clear)
		if err != nil {
			return attic{}, Result{}, err
		}
		a.eaves = append(a.eaves, read)
	}
	a.passage = passage(a.eaves)
	return a, res, nil
}

// readMore reads what only the checks and the bill need.
func (in Input) readMore(r *units.Reader, a *attic) {
	const inch, mm = float64(units.Inch), float64(units.Millimetre)
	a.clear = r.One(0, mostClear, units.Alternative{Field: "clear_space_in", Value: in.ClearSpaceIn, Unit: inch}, units.Alternative{Field: "clear_space_mm", Value: in.ClearSpaceMm, Unit: mm})
	a.bay = r.One(0.1, 3, units.Alternative{Field: "bay_spacing_in", Value: in.BaySpacingIn, Unit: inch}, units.Alternative{Field: "bay_spacing_mm", Value: in.BaySpacingMm, Unit: mm})
	a.ridge = r.One(0, mostRun, units.Alternative{Field: "ridge_ft", Value: in.RidgeFt, Unit: float64(units.Foot)}, units.Alternative{Field: "ridge_m", Value: in.RidgeM, Unit: 1})
	for i := range in.RidgeRisesIn12 {
		a.rises = append(a.rises, r.One(0, 3, units.Alternative{Field: fmt.Sprintf("ridge_rises_in_12[%d]", i), Value: &in.RidgeRisesIn12[i], Unit: 1.0 / 12}))
	}
	if len(a.rises) == 0 && !math.IsNaN(a.rise) {
		a.rises = []float64{a.rise}
	}
	if in.Baffles != nil {
		a.baffles = is(*in.Baffles)
	}
	if in.Kneewalls != nil {
		a.kneewalls = is(*in.Kneewalls)
	}
	a.ducts, a.ending = in.Ducts, in.DuctsEnding
	if !slices.Contains([]string{"", "none", "insulated", "bare", "ends_in_attic"}, in.Ducts) {
		r.Refuse("ducts", "must be none, insulated, bare, ends_in_attic or left out")
	}
	for i, d := range in.DuctsEnding {
		if !slices.Contains([]string{"bath", "kitchen", "dryer", "other"}, d) {
			r.Refuse(fmt.Sprintf("ducts_ending_in_attic[%d]", i), "must be bath, kitchen, dryer or other")
		}
	}
	switch {
	case in.Ducts == "none" && len(in.DuctsEnding) > 0:
		r.Refuse("ducts_ending_in_attic", "names ducts, and ducts says that there are none")
	case in.Ducts == "ends_in_attic" && in.DuctsEnding != nil && len(in.DuctsEnding) == 0:
		r.Refuse("ducts_ending_in_attic", "is empty, and ducts says that one ends in the attic")
	}
	in.Readings.read(r)
	a.products = readProducts(r, in.Products)
	a.prices = readPrices(r, in.Prices)
}

// sums are the areas there, as a rule sees them.
type sums struct {
	total, high, low span
	both             span // high and low together, without the rest
	rest             span // all but the high
	blockedLow       span
	// lowFitted is the low area before the passage over the walls limits it,
	// and lowElsewhere what of it does not pass there.
	lowFitted, lowElsewhere span
}

func (a attic) sums(r Rule) sums {
	if !a.looked {
		return sums{anything, anything, anything, anything, anything, anything, anything, anything}
	}
	var s sums
	var eaveLow, eaveRest span // of vents at the eave: what the rule counts as low, and what not
	for _, o := range a.openings {
		p := o.at(r, a.framing)
		add := func(to *span, n span, of place) {
			switch {
			case p&^of == 0:
				*to = to.plus(n)
			case p&of != 0:
				to.hi += n.hi
			}
		}
		add(&s.blockedLow, o.blocked, low)
		if o.atEave() {
			add(&eaveLow, o.net, low)
			add(&eaveRest, o.net, other)
			continue
		}
		s.total = s.total.plus(o.net)
		add(&s.high, o.net, high)
		add(&s.low, o.net, low)
		add(&s.both, o.net, high|low)
		add(&s.rest, o.net, low|other)
	}
	s.lowElsewhere, s.lowFitted = s.low, s.low.plus(eaveLow)
	all := eaveLow.plus(eaveRest)
	if !math.IsNaN(a.passage) {
		// what the rule does not count as low takes its part of the passage
		if all.lo > a.passage {
			eaveLow.lo *= a.passage / (eaveLow.lo + eaveRest.hi)
		}
		eaveLow.lo, eaveLow.hi = min(eaveLow.lo, a.passage), min(eaveLow.hi, a.passage)
		all = span{min(all.lo, a.passage), min(all.hi, a.passage)}
	}
	s.low, s.both = s.low.plus(eaveLow), s.both.plus(eaveLow)
	s.total, s.rest = s.total.plus(all), s.rest.plus(all)
	return s
}

func (r Rule) check(a attic) RuleResult {
	t := a.sums(r)
	out := RuleResult{
		Code: r.Key, Cites: r.Cite(), Source: r.Source, Notes: slices.Clone(r.Notes), Verdict: NotKnown,
		Total: t.total.bounds(), High: t.high.bounds(), Low: t.low.bounds(),
	}
	area, taken := a.plan, "plan_area"
	if r.Ceiling {
		area, taken = a.ceiling, "insulated_ceiling_area"
	}
	if math.IsNaN(area) {
		out.Measure = append(out.Measure, taken)
		out.Why = "the area of the space is not known"
		out.Says = fmt.Sprintf("%s: not known. Measure the area of the attic.", out.Cites)
		return out
	}
	if a.swapped == taken {
		if r.Ceiling {
			out.Notes = append(out.Notes, "The insulated ceiling area is not known; the vented plan area is taken for it.")
		} else {
			out.Notes = append(out.Notes, "The vented plan area is not known; the insulated ceiling area is taken for it.")
		}
	}
	c := checking{attic: a, rule: r, sums: t, area: area, out: &out}
	if r.Ceiling {
		c.canadian()
	} else {
		c.american()
	}
	c.finish()
	return out
}

// checking is one rule at work on one attic.
type checking struct {
	attic
	sums
	rule Rule
	area float64 // m², of the plan or the insulated ceiling
	out  *RuleResult
}

func (c *checking) asked(oneIn int) float64 { return c.area / float64(oneIn) }

// ask records a condition on an area and gives its truth.
func (c *checking) ask(key string, oneIn int, t truth, asked float64, there span, says string) truth {
	need, b := units.Area(asked), there.bounds()
	c.out.Conditions = append(c.out.Conditions, Condition{
		Key: key, OneIn: oneIn, Verdict: t.verdict(), Asked: &need, There: &b,
		Says: fmt.Sprintf("%s %s: %s there", says, c.system.VentArea(need), b.Write(c.system)),
	})
	return t
}

// american is the shape of IRC R806.2: 1/150, or 1/300 when a retarder, a
// share of high vents, or both, allow it.
func (c *checking) american() {
	r := c.rule
	full, half := c.asked(fullRatio), c.asked(halfRatio)
	retarder := c.retarder()
	from, to := c.shares()
	window := min(from, to)
	balance := c.ask("balance", halfRatio, atLeast(c.both, half), half, c.both, "high vents and the rest at the eave together at 1/300,")
	atHalf := c.ask("total", halfRatio, atLeast(c.total, half), half, c.total, "all vents at 1/300,")
	atFull := c.ask("total", fullRatio, atLeast(c.total, full), full, c.total, "all vents at 1/150,")

	allowed := max(retarder, window)
	reduced := max(min(retarder, atHalf), min(window, balance))
	if r.Both {
		allowed = min(retarder, window)
		reduced = min(allowed, balance)
	}
	c.out.Verdict = max(atFull, reduced).verdict()
	for _, b := range []struct {
		to    **units.Area
		share float64
	}{{&c.out.HighFrom, r.HighFrom}, {&c.out.HighTo, r.HighTo}, {&c.out.LowFrom, 1 - r.HighTo}} {
		of := half
		if r.OfThere {
			if of = c.total.lo; c.total.wide() {
				continue
			}
		}
		v := units.Area(b.share * of)
		*b.to = &v
	}
	c.out.Why = c.whyAmerican(retarder, from, to)
	switch allowed {
	case yes:
		c.ratio(halfRatio)
	case no:
		c.ratio(fullRatio)
	default:
		c.ratio(0)
	}
	if c.out.Verdict == NotKnown {
		if retarder == unknown {
			c.out.Measure = append(c.out.Measure, c.retarderMissed...)
		}
	}
	if c.out.Verdict == Passes {
		return
	}
	share := r.HighTo
	needs := ""
	if r.Both {
		switch {
		case retarder == unknown:
			needs = "a Class I or II vapour retarder shown on the warm side (zones 6, 7 and 8)"
		case retarder == no:
			needs = "a Class I or II vapour retarder laid on the warm side"
		}
	}
	if r.OfThere {
		c.wayOfThere(needs)
	} else {
		c.way(halfRatio, r.HighFrom, share, 0, needs)
	}
	if !r.Both && retarder != no {
		needs := ""
		if retarder == unknown {
			needs = "a Class I or II vapour retarder shown on the warm side"
			if r.Retarder == RetarderCold {
				needs += " in zone 6, 7 or 8"
			}
		}
		c.way(halfRatio, 0, math.Inf(1), 0, needs)
	}
	c.way(fullRatio, 0, math.Inf(1), 0, "")
}

// shares records whether the high vents hold their share at the least and at
// the most.
func (c *checking) shares() (from, to truth) {
	r, half := c.rule, c.asked(halfRatio)
	if !r.OfThere {
		from = c.ask("high_at_least", halfRatio, atLeast(c.high, r.HighFrom*half), r.HighFrom*half, c.high, fmt.Sprintf("high vents at least %.0f %% of what 1/300 asks,", 100*r.HighFrom))
		to = c.ask("high_at_most", halfRatio, atMost(c.high, r.HighTo*half), r.HighTo*half, c.high, fmt.Sprintf("high vents at most %.0f %% of what 1/300 asks,", 100*r.HighTo))
		return from, to
	}
	// high ≥ f·(high + rest) is high·(1 − f) ≥ f·rest: so the two spans stay
	// independent of each other.
	least, most := c.high.times(1-r.HighFrom), c.high.times(1-r.HighTo)
	needLeast, needMost := c.rest.times(r.HighFrom), c.rest.times(r.HighTo)
	switch {
	case least.lo >= needLeast.hi*(1-slack):
		from = yes
	case least.hi < needLeast.lo*(1-slack):
		from = no
	}
	switch {
	case most.hi <= needMost.lo*(1+slack):
		to = yes
	case most.lo > needMost.hi*(1+slack):
		to = no
	}
	there := c.high.bounds()
	for _, x := range []struct {
		key, word string
		share     float64
		t         truth
	}{{"high_at_least", "least", r.HighFrom, from}, {"high_at_most", "most", r.HighTo, to}} {
		cond := Condition{
			Key: x.key, OneIn: halfRatio, Verdict: x.t.verdict(), There: &there,
			Says: fmt.Sprintf("high vents at %s %.0f %% of the %s there: %s", x.word, 100*x.share, c.total.bounds().Write(c.system), there.Write(c.system)),
		}
		if !c.total.wide() {
			asked := units.Area(x.share * c.total.lo)
			cond.Asked = &asked
		}
		c.out.Conditions = append(c.out.Conditions, cond)
	}
	return from, to
}

// retarderMet says whether a rule's words on a vapour retarder are met.
func (a attic) retarderMet(r Rule) truth {
	switch {
	case r.Retarder != RetarderCold:
		return a.onePerm
	case r.Both:
		return max(-a.cold, a.onePerm)
	}
	return min(a.cold, a.onePerm)
}

// retarder records whether the rule's words on a vapour retarder are met.
func (c *checking) retarder() truth {
	t, says := c.retarderMet(c.rule), "a vapour retarder of at most 1 perm on the warm side"
	if c.rule.Retarder == RetarderCold {
		says = "a Class I or II vapour retarder on the warm side, in zones 6, 7 and 8"
	}
	word := map[truth]string{yes: "met", no: "not met", unknown: "not known"}[t]
	if t == yes && c.onePerm != yes {
		word = "not asked for in this zone"
	}
	c.out.Conditions = append(c.out.Conditions, Condition{Key: "retarder", OneIn: halfRatio, Verdict: t.verdict(), Says: says + ": " + word})
	return t
}

func (c *checking) whyAmerican(retarder, from, to truth) string {
	half := c.asked(halfRatio)
	shares := fmt.Sprintf("high vents must hold %.0f to %.0f %% of the %s that 1/300 asks", 100*c.rule.HighFrom, 100*c.rule.HighTo, c.system.VentArea(units.Area(half)))
	held := ""
	if !math.IsInf(c.high.hi, 1) {
		held = fmt.Sprintf(" and hold %s", percent(c.high.lo/half, c.high.hi/half))
	}
	if c.rule.OfThere {
		shares, held = fmt.Sprintf("high vents must hold %.0f to %.0f %% of the area there", 100*c.rule.HighFrom, 100*c.rule.HighTo), ""
		least, most := share(c.high.lo, c.rest.hi), share(c.high.hi, c.rest.lo)
		if !math.IsNaN(least) && !math.IsNaN(most) && !math.IsInf(c.high.hi, 1) {
			held = fmt.Sprintf(" and hold %s", percent(least, most))
		}
	}
	window := min(from, to)
	switch {
	case c.rule.Both && min(retarder, window) == yes:
		return "1/300: both conditions are met; " + shares + held
	case c.rule.Both && retarder == no && window == no:
		return "1/150: neither condition is met; no Class I or II retarder, and " + shares + held
	case c.rule.Both && retarder == no:
		return "1/150: no Class I or II retarder in a cold zone"
	case c.rule.Both && window == no:
		return "1/150: " + shares + held
	case !c.rule.Both && retarder == yes:
		return "1/300: the vapour retarder allows it"
	case !c.rule.Both && window == yes:
		return "1/300: " + shares + held
	case !c.rule.Both && retarder == no && window == no:
		return "1/150: no retarder allows less, and " + shares + held
	}
	return "1/150 or 1/300: the retarder or the share of high vents is not known; " + shares + held
}

func percent(least, most float64) string {
	a, b := fmt.Sprintf("%.0f", 100*least), fmt.Sprintf("%.0f", 100*most)
	if a == b {
		return a + " %"
	}
	return a + " to " + b + " %"
}

// oneInSix is the slope under which the Canadian rules double the area.
const oneInSix = 1.0 / 6

// canadian is the shape of 9.19.1.2.: 1/300, doubled for a low slope or joists,
// with shares of it at the top and bottom.
func (c *checking) canadian() {
	r := c.rule
	lowSlope := unknown
	if !math.IsNaN(c.rise) {
		lowSlope = is(c.rise < oneInSix*(1-slack))
	}
	double := max(lowSlope, c.joists)
	ratios := []int{halfRatio, fullRatio}
	switch {
	case lowSlope == yes:
		ratios, c.out.Why = ratios[1:], "1/150: the slope is under 1:6"
	case c.joists == yes:
		ratios, c.out.Why = ratios[1:], "1/150: the roof is built with joists"
	case double == no:
		ratios, c.out.Why = ratios[:1], "1/300: the slope is at least 1:6 and there is an attic"
	default:
		c.out.Why = "1/300, or 1/150 if the slope is under 1:6 or the roof is built with joists, which is not known"
	}
	verdict := yes
	worst := no
	for _, oneIn := range ratios {
		need := c.asked(oneIn)
		top, bottom := yes, yes
		if r.HighFrom > 0 {
			top = c.ask("high_at_least", oneIn, atLeast(c.high, r.HighFrom*need), r.HighFrom*need, c.high, fmt.Sprintf("vents at the top at least a quarter of 1/%d,", oneIn))
		}
		if r.LowFrom > 0 {
			bottom = c.ask("low_at_least", oneIn, atLeast(c.low, r.LowFrom*need), r.LowFrom*need, c.low, fmt.Sprintf("vents at the bottom at least a quarter of 1/%d,", oneIn))
		}
		total := c.ask("total", oneIn, atLeast(c.total, need), need, c.total, fmt.Sprintf("all vents at 1/%d,", oneIn))
		t := min(top, bottom, total)
		verdict, worst = min(verdict, t), max(worst, t)
	}
	if worst != no && verdict == no {
		verdict = unknown // fails at one ratio, and not at the other
	}
	c.out.Verdict = verdict.verdict()
	if len(ratios) == 1 {
		c.ratio(ratios[0])
		if r.HighFrom > 0 {
			need := c.asked(ratios[0])
			from, least := units.Area(r.HighFrom*need), units.Area(r.LowFrom*need)
			c.out.HighFrom, c.out.LowFrom = &from, &least
		}
	} else {
		c.ratio(0)
		if verdict == unknown {
			if lowSlope == unknown {
				c.out.Measure = append(c.out.Measure, "rise_in_12")
			}
			if c.joists == unknown {
				c.out.Measure = append(c.out.Measure, "built_with_joists")
			}
		}
	}
	if verdict == yes {
		return
	}
	for _, oneIn := range ratios {
		needs := ""
		if len(ratios) == 2 && oneIn == halfRatio {
			needs = "a slope of at least 1:6 and an attic, not joists"
		}
		c.way(oneIn, r.HighFrom, math.Inf(1), r.LowFrom, needs)
	}
}

// ratio records which ratio applies, what it asks and by how much that is met.
func (c *checking) ratio(oneIn int) {
	c.out.OneIn = oneIn
	need := span{c.asked(halfRatio), c.asked(fullRatio)}
	if oneIn != 0 {
		need = exactly(c.asked(oneIn))
	}
	asked, margin := need.bounds(), c.total.minus(need).bounds()
	c.out.Asked, c.out.Margin = &asked, &margin
}

// finish names what to measure and writes the rule's sentence.
func (c *checking) finish() {
	out := c.out
	if out.Verdict == NotKnown || out.Verdict == Fails && !slices.ContainsFunc(out.Ways, func(w Way) bool { return w.Needs == "" }) {
		if !c.looked {
			out.Measure = append(out.Measure, "openings")
		}
		for i, o := range c.openings {
			if o.net.wide() {
				out.Measure = append(out.Measure, fmt.Sprintf("openings[%d]: count, length or stamped net area", i))
			}
			if p := o.at(c.rule, c.framing); p != low && p != high && p != other && o.net.hi > 0 {
				out.Measure = append(out.Measure, fmt.Sprintf("openings[%d].height", i))
			}
		}
	}
	for _, o := range c.openings {
		if o.unlooked {
			out.Notes = append(out.Notes, "Nobody said of every opening whether it is blocked; the rule is judged on the vents as fitted.")
			break
		}
	}
	if c.looked && math.IsNaN(c.passage) {
		out.Notes = append(out.Notes, "The passage over the walls is not known; the vents at the eave are judged as fitted.")
	} else if c.lowFitted.hi > c.low.hi*(1+slack) {
		out.Notes = append(out.Notes, "The passage over the walls lets less through than the vents at the eave hold; the passage is counted.")
	}
	slices.SortStableFunc(out.Ways, func(a, b Way) int {
		switch {
		case a.effort() < b.effort():
			return -1
		case a.effort() > b.effort():
			return 1
		}
		return 0
	})
	out.Says = fmt.Sprintf("%s: %s. %s asked, %s there (%s).", out.Cites, out.Verdict, out.Asked.Write(c.system), out.Total.Write(c.system), out.Why)
	if len(out.Measure) > 0 {
		out.Says += " First learn " + strings.Join(out.Measure, ", ") + "."
	}
	if len(out.Ways) > 0 {
		out.Says += " " + out.Ways[0].Says
	}
}

// warnings are about the vents themselves, whatever the code.
func (a attic) warnings(t sums) []Warning {
	var out []Warning
	warn := func(key, format string, args ...any) {
		out = append(out, Warning{key, fmt.Sprintf(format, args...)})
	}
	if !a.looked {
		return nil
	}
	var kinds []string
	powered, exhausts, defaults := false, 0, false
	for _, o := range a.openings {
		defaults = defaults || o.net.hi > o.net.lo
		if !o.exhaust() {
			continue
		}
		exhausts++
		powered = powered || o.powered
		name := string(o.as())
		if !slices.Contains(kinds, name) {
			kinds = append(kinds, name)
		}
	}
	slices.Sort(kinds)
	if len(kinds) > 1 {
		warn("mixed_exhaust", "Several kinds of exhaust share this attic (%s): the stronger draws its air in through the weaker instead of from the eaves, and may draw in rain and snow. Keep one kind and close the others.", strings.Join(kinds, ", "))
	}
	if powered && exhausts > 1 {
		warn("powered_with_high", "A fan works beside other high vents: it takes its air from them and not from the eaves. Close the other high vents or take out the fan.")
	}
	if powered {
		warn("powered", "A fan draws about what 1 cfm per square foot of attic gives, near 1/150; with too little intake it pulls house air, and with it heat and damp, through leaks in the ceiling.")
	}
	exhaust, intake := t.high.bounds().Write(a.system), t.low.bounds().Write(a.system)
	switch {
	case t.high.lo > t.low.hi*(1+slack):
		warn("exhaust_above_intake", "Exhaust (%s) is larger than intake (%s): the lack is drawn from the house through leaks in the ceiling. Add intake first.", exhaust, intake)
	case t.high.hi > t.low.lo*(1+slack):
		warn("exhaust_may_exceed_intake", "Exhaust (%s) may be larger than intake (%s): measure before adding exhaust.", exhaust, intake)
	}
	if t.low.hi == 0 && t.total.hi > 0 {
		warn("no_intake", "No vent stands at the eave: air cannot cross the space.")
	}
	if t.high.hi == 0 && t.total.hi > 0 {
		warn("no_exhaust", "No vent stands high: air cannot cross the space from eave to top.")
	}
	if t.blockedLow.lo > 0 {
		warn("intake_blocked", "%s of intake is blocked. Clear it before any vent is added.", t.blockedLow.bounds().Write(a.system))
	}
	if defaults {
		warn("stamped_area", "Some areas are a range for their kind. The net free area stamped on the vent, or printed by its maker, is better.")
	}
	return out
}
