package venting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// Step is one line of a bill.
type Step struct {
	// Key is clear_soffit, look_over_wall, baffles, ducts, add_intake,
	// close_exhaust or add_exhaust, in that order.
	Key  string `json:"key"`
	Kind Kind   `json:"kind,omitempty"` // of the vent
	Name string `json:"name,omitempty"` // of the product, or of the opening as given

	Count  *int          `json:"count,omitempty"`
	Length *units.Length `json:"length_m,omitempty"`
	Clear  *units.Length `json:"clear_space_m,omitempty"` // that baffles are to hold
	Net    *Bounds       `json:"net,omitempty"`           // net free area opened, or closed

	Price   *float64 `json:"price,omitempty"` // nil when none was given
	Says    string   `json:"says"`
	Caution string   `json:"caution,omitempty"`

	item   Item
	perRun bool
}

// Bill is the work that puts an attic right under one rule, in the order in
// which it is safe to do: clear the soffits, open the passage over the walls,
// lead ducts outdoors, add intake, close exhaust of other kinds and patch the
// deck, add exhaust. Amounts are whole vents and whole feet (quarter metres in
// the metric system), intake rounded up. After it one kind of exhaust is left,
// and it is nowhere in its bounds above the intake.
type Bill struct {
	OneIn int    `json:"one_in,omitempty"`       // the ratio it aims at; 0 where no vent is counted
	Keeps Kind   `json:"exhaust_kind,omitempty"` // the one kind of exhaust after it
	Steps []Step `json:"steps"`

	// The attic after it, by the check done anew. Intake is what reaches the
	// attic, exhaust all that stands elsewhere than low.
	Verdict        Verdict `json:"verdict"`
	Asked          *Bounds `json:"asked,omitempty"`
	IntakeAfter    *Bounds `json:"intake_after,omitempty"`
	ExhaustAfter   *Bounds `json:"exhaust_after,omitempty"`
	TotalAfter     *Bounds `json:"total_after,omitempty"`
	Margin         *Bounds `json:"margin,omitempty"`
	HighShareLeast float64 `json:"high_share_least_after"`
	HighShareMost  float64 `json:"high_share_most_after"`

	Price    *float64 `json:"price,omitempty"`     // of all steps; nil when one has none
	Unknown  []Item   `json:"unpriced,omitempty"`  // items that have none, where prices were given
	ChosenBy string   `json:"chosen_by,omitempty"` // price or least work, among bills that are safe

	Lacks   []string `json:"lacks,omitempty"`   // what stands in the way, and what else may do
	Measure []string `json:"measure,omitempty"` // fields to learn first
	Notes   []string `json:"notes,omitempty"`
	Says    string   `json:"says"`

	// After is the attic as the bill leaves it, ready for [Check].
	After Input `json:"-"`
}

const (
	// A baffle is believed to hold this at most, m: our judgement. What the
	// rafters leave over the wall decides.
	mostBaffle = 0.1
	// Under a narrower overhang no strip or panel fits, m: our judgement.
	narrow = 4 * oneInch
	// The spacing of bays taken where it is not known, m: common practice, no
	// source.
	usualBay = 16 * oneInch
	// A vent with less open, m², is not ordered again, nor more vents than this.
	leastVent = float64(units.SquareInch)
	mostVents = 20_000
	// What stands high at the least where a rule leaves it open: the share of
	// the IRC from 2012 on and that of the Canadian rules. Our judgement.
	highShareUS, highShareCA = 0.4, 0.25
)

// Work of one vent and of a metre of run, only to order bills without prices:
// a box cut in and flashed is 1. Our judgement.
var work = map[Item]price{
	Item(Box): {each: 1}, Item(Turbine): {each: 1.5}, Item(Ridge): {perM: 0.3},
	Item(SoffitStrip): {0.5, 0.3}, Item(SoffitPanel): {0.5, 0.3}, Item(DripEdgeVent): {0.5, 0.5},
	ItemClose: {1, 0.3},
}

// step is the length by which runs are ordered, m.
func (a attic) step() float64 {
	if a.system == units.Metric {
		return 0.25
	}
	return float64(units.Foot)
}

// target is one set of areas that satisfies a rule.
type target struct {
	oneIn             int
	from, to, lowFrom float64
	there             bool    // from and to are of the area there
	all               bool    // vents that are neither high nor low count toward the total
	highShare         float64 // our least, where the rule has none
}

func (r Rule) targets(a attic) []target {
	if r.Ceiling {
		oneIn := fullRatio
		if !math.IsNaN(a.rise) && a.rise >= oneInSix*(1-slack) && a.joists == no {
			oneIn = halfRatio
		}
		return []target{{oneIn: oneIn, from: r.HighFrom, to: math.Inf(1), lowFrom: r.LowFrom, all: true, highShare: highShareCA}}
	}
	var out []target
	retarder := a.retarderMet(r)
	if !r.Both || retarder == yes {
		out = append(out, target{oneIn: halfRatio, from: r.HighFrom, to: r.HighTo, there: r.OfThere})
	}
	if !r.Both && retarder == yes {
		out = append(out, target{oneIn: halfRatio, to: math.Inf(1), all: true, highShare: highShareUS})
	}
	return append(out, target{oneIn: fullRatio, to: math.Inf(1), all: true, highShare: highShareUS})
}

// fill is so much of a product.
type fill struct {
	product
	amount float64 // vents, or metres
}

// keeping is an attic whose exhaust is brought to one kind.
type keeping struct {
	a          attic // with soffits cleared, and nothing of the kept kind
	rule       Rule
	area       float64
	kind       Kind
	kept       []int // indices of openings that stay, or close last to first
	closed     []int
	fixed      sums
	fixedHigh  float64 // m² at the most, whatever the rule
	add        *product
	leastUnits int // units to add so that a short run is long enough
	mostUnits  int // units that there is room for

	vents []unit // kept, in the order in which they close
	// what the vents left hold once the first so many are closed
	highAfter, otherAfter []span
	price, work           float64 // of closing what is not kept
}

// ready lists the kept vents and what closing costs.
func (k *keeping) ready(a attic) {
	k.vents = k.unitsOf(a.openings, a.step())
	k.highAfter, k.otherAfter = make([]span, len(k.vents)+1), make([]span, len(k.vents)+1)
	for i := len(k.vents) - 1; i >= 0; i-- {
		k.highAfter[i], k.otherAfter[i] = k.highAfter[i+1], k.otherAfter[i+1]
		if v := k.vents[i]; v.high {
			k.highAfter[i] = k.highAfter[i].plus(v.net)
		} else {
			k.otherAfter[i] = k.otherAfter[i].plus(v.net)
		}
	}
	k.price, k.work = k.closingCost(a)
}

// option is one bill before it is written.
type option struct {
	k       *keeping
	t       target
	n       int // units of the kept kind to add, or below nought to close
	plan    plan
	wanted  float64 // intake, m²
	needLow float64
	price   float64 // NaN when something has no price
	work    float64
	there   float64 // area reached, where the whole cannot be
}

// unitsOf lists what one unit of the kept vents is, in the order in which they
// close: first what the rule does not count as high, then the smallest.
type unit struct {
	index  int
	amount float64 // 1, or metres
	net    span
	high   bool
}

func (k *keeping) unitsOf(all []opening, step float64) []unit {
	var out []unit
	for _, i := range k.kept {
		o := all[i]
		counted := o.at(k.rule, k.a.framing) == high
		if run := o.run(); !math.IsNaN(run) {
			// several runs close one by one; a single one is cut back to what
			// its maker asks for, and then closes whole
			for left := run; left > 1e-9; {
				amount := min(step, left)
				switch {
				case o.count.lo != 1:
					amount = o.size
				case left-amount < o.leastRun*(1-slack):
					amount = left
				}
				out = append(out, unit{i, amount, o.unit.times(amount), counted})
				left -= amount
			}
			continue
		}
		for range int(o.count.lo) {
			out = append(out, unit{i, 1, o.net.times(1 / o.count.lo), counted})
		}
	}
	slices.SortStableFunc(out, func(x, y unit) int {
		switch {
		case x.high != y.high:
			if x.high {
				return 1
			}
			return -1
		case x.net.hi/x.amount != y.net.hi/y.amount:
			if x.net.hi/x.amount < y.net.hi/y.amount {
				return -1
			}
			return 1
		case x.amount < y.amount:
			return -1
		case x.amount > y.amount:
			return 1
		}
		return 0
	})
	return out
}

// Bill of work of one rule; nil when there is nothing to say.
func (in Input) bill(a attic, r Rule, rr RuleResult, checks []CheckResult) *Bill {
	b := &Bill{Verdict: NotKnown, Steps: []Step{}}
	base := in
	base.Codes, base.Openings = []string{r.Key}, slices.Clone(in.Openings)
	a.clearSoffits(b, &base)
	area := a.plan
	if r.Ceiling {
		area = a.ceiling
	}
	var best *option
	var baseAttic attic
	if a.looked && !math.IsNaN(area) {
		baseAttic, _, _ = base.read()
		best = baseAttic.best(b, base, r, area)
	} else {
		b.Measure = slices.Clone(rr.Measure)
	}
	needPassage := 0.0
	if best != nil {
		needPassage = best.needLow - best.k.fixed.lowElsewhere.lo
	}
	a.openPassage(b, &base, r, checks, needPassage)
	a.leadDucts(b, &base)
	if best == nil {
		if len(b.Steps) == 0 {
			return nil
		}
		b.price(a)
		b.After = base
		b.Says = b.says(a, r)
		return b
	}
	best.write(b, baseAttic, &base)
	b.After = base
	b.judge(r)
	if len(b.Steps) == 0 && b.Verdict == Passes {
		return nil // what is amiss, more vent at the eave than passes, needs no work
	}
	b.price(a)
	for _, m := range rr.Measure {
		if rr.Verdict == NotKnown && !slices.Contains(b.Measure, m) {
			b.Measure = append(b.Measure, m)
		}
	}
	b.Says = b.says(a, r)
	return b
}

// clearSoffits is the first step: what is fitted is made to work before
// anything is cut.
func (a attic) clearSoffits(b *Bill, after *Input) {
	for i, o := range a.openings {
		if o.declared != low || o.blocked.hi <= 0 {
			continue
		}
		free := 0.0
		share := *after.Openings[i].BlockedShare
		after.Openings[i].BlockedShare = &free
		net := o.blocked.bounds()
		s := Step{Key: "clear_soffit", Kind: o.kind, Name: after.Openings[i].Name, Net: &net, item: ItemClear, Caution: ladder}
		what := names[o.kind]
		if run := o.run(); !math.IsNaN(run) {
			l := units.Length(run * share)
			s.Length, s.perRun = &l, true
			what = a.system.Length(l) + " of " + what
		} else if !o.count.wide() && !math.IsInf(o.count.lo, 0) {
			n := int(math.Ceil(o.count.lo*share - 1e-9))
			s.Count = &n
			what = many(n, what)
		}
		s.Says = fmt.Sprintf("Clear %s of paint, insulation and nests: %s opens.", what, net.Write(a.system))
		b.Steps = append(b.Steps, s)
	}
}

// openPassage is the second step: baffles where the insulation lies too near
// the deck, or where more intake must pass.
func (a attic) openPassage(b *Bill, after *Input, r Rule, checks []CheckResult, passing float64) {
	i := slices.IndexFunc(checks, func(c CheckResult) bool { return c.Key == "clear_space" && slices.Contains(c.Codes, r.Key) })
	if i < 0 {
		return
	}
	check := checks[i]
	hold, enough := oneInch, inchText
	if r.Ceiling {
		hold = baffleCA
		if a.joists == yes {
			hold = joistCA
		}
		enough = hold
	}
	long := 0.0
	for _, e := range a.eaves {
		long += e.length
	}
	more := !math.IsNaN(a.passage) && passing > a.passage*(1+slack)
	if more && long > 0 {
		// to the next eighth of an inch, or 5 mm
		round := oneInch / 8
		if a.system == units.Metric {
			round = 5 * float64(units.Millimetre)
		}
		hold = max(hold, math.Ceil(passing/long/round-1e-9)*round)
	}
	// Where an eave was not measured somebody looks first: a baffle is not
	// ordered on a guess.
	missed := len(a.eaves) == 0 && math.IsNaN(a.clear) || slices.ContainsFunc(a.eaves, func(e eave) bool { return math.IsNaN(e.clear) })
	if missed {
		b.Steps = append(b.Steps, Step{
			Key: "look_over_wall", Says: fmt.Sprintf("Measure from the attic what is clear between insulation and deck over the wall where nobody did; where it is under %s fit baffles before anything else.", a.system.SmallLength(units.Length(hold))),
			Caution: ladder,
		})
	}
	if check.Verdict == NotKnown && !more {
		return
	}
	if check.Verdict == Passes && !more {
		return
	}
	clear := units.Length(hold)
	s := Step{Key: "baffles", Clear: &clear, item: ItemBaffle, Caution: ladder + " Where the rafters leave no room for it, a licensed designer decides."}
	mm := hold / float64(units.Millimetre)
	held := true
	after.Baffles = &held
	bays, counted := 0, true
	spacing := a.bay
	if math.IsNaN(spacing) {
		spacing = usualBay
	}
	after.Eaves = slices.Clone(after.Eaves)
	for i, e := range a.eaves {
		if math.IsNaN(e.clear) || !more && e.clear >= enough*(1-slack) {
			continue
		}
		if more && e.clear >= hold*(1-slack) && e.open >= e.length*(1-slack) {
			continue
		}
		if math.IsNaN(e.length) {
			counted = false
		} else {
			bays += int(math.Ceil(e.length/spacing - 1e-9))
		}
		q := &after.Eaves[i]
		q.ClearSpaceIn, q.ClearSpaceMm = nil, &mm
		if more {
			q.OpenFt, q.OpenM = nil, nil
		}
	}
	if len(a.eaves) == 0 {
		counted = false
		after.ClearSpaceIn, after.ClearSpaceMm = nil, &mm
	}
	what := "baffles in every bay that intake feeds"
	if counted {
		s.Count = &bays
		what = many(bays, "baffle")
		if math.IsNaN(a.bay) {
			what += ", for bays of " + a.system.SmallLength(units.Length(usualBay)) + ","
		}
	}
	s.Says = fmt.Sprintf("Draw the insulation back and fit %s that hold %s clear over the wall.", what, a.system.SmallLength(clear))
	if more {
		s.Says += " So much must pass for the intake to reach the attic."
	}
	b.Steps = append(b.Steps, s)
}

// leadDucts is the third step: damp goes outdoors before air is asked to carry
// it off.
func (a attic) leadDucts(b *Bill, after *Input) {
	if len(a.ending) == 0 && a.ducts != "ends_in_attic" {
		return
	}
	s := Step{Key: "ducts", item: ItemDuct, Caution: "Ducts and fans are for licensed trades; a dryer's duct has rules of its own. " + ladder}
	what := "the ducts that end in the attic"
	if len(a.ending) > 0 {
		n := len(a.ending)
		s.Count = &n
		what = many(n, "duct") + " (" + strings.Join(a.ending, ", ") + ")"
	}
	s.Says = "Lead " + what + " outdoors through insulated duct, to hoods away from the soffit vents."
	after.DuctsEnding = []string{}
	if after.Ducts == "ends_in_attic" {
		after.Ducts = "insulated"
	}
	b.Steps = append(b.Steps, s)
}

// best finds the bill among those that are safe: by price where prices are
// given, else by least work. Without any that satisfies the rule it finds the
// one that comes nearest to it. Nil is too little known to say.
func (a attic) best(b *Bill, base Input, r Rule, area float64) *option {
	for i, o := range a.openings {
		if p := o.at(r, a.framing); o.net.hi > 0 && p != low && p != high && p != other {
			b.Measure = append(b.Measure, fmt.Sprintf("openings[%d].height", i))
		}
	}
	if len(b.Measure) > 0 {
		return nil
	}
	var all, near []option
	targets, plans := r.targets(a), a.plans()
	keepings := a.keepings(base, r, area)
	for _, k := range keepings {
		for _, t := range targets {
			for _, plan := range plans {
				if o, ok := k.search(t, plan, a, false); ok {
					all = append(all, o)
				}
			}
		}
	}
	priced := slices.ContainsFunc(all, func(o option) bool { return !math.IsNaN(o.price) })
	b.ChosenBy = "least work"
	if priced {
		b.ChosenBy = "price"
	}
	slices.SortStableFunc(all, func(x, y option) int {
		switch {
		case x.cheaper(y):
			return -1
		case y.cheaper(x):
			return 1
		}
		return 0
	})
	if len(all) > 0 {
		return &all[0]
	}
	b.ChosenBy = ""
	for _, k := range keepings {
		for _, plan := range plans {
			if o, ok := k.search(targets[len(targets)-1], plan, a, true); ok {
				near = append(near, o)
			}
		}
	}
	if len(near) == 0 {
		for i, o := range a.openings {
			if math.IsInf(o.net.hi, 1) {
				b.Measure = append(b.Measure, fmt.Sprintf("openings[%d]: count, length or stamped net area", i))
			}
		}
		return nil
	}
	best := near[0]
	for _, o := range near[1:] {
		if o.nearer(best) {
			best = o
		}
	}
	a.tell(b, best)
	return &best
}

// tell says why no bill satisfies the rule, and what else may.
func (a attic) tell(b *Bill, o option) {
	soffit, edge := a.room()
	if !math.IsNaN(soffit) || !math.IsNaN(edge) {
		b.Lacks = append(b.Lacks, fmt.Sprintf("The eaves are too small for the intake that the rule asks for: %s of soffit and %s of edge are free.", a.system.Length(units.Length(zeroed(soffit))), a.system.Length(units.Length(zeroed(edge)))))
	}
	if most := a.mostPassage(); !math.IsNaN(most) {
		b.Lacks = append(b.Lacks, fmt.Sprintf("Over the walls no more than about %s can be made to pass with baffles of at most %s.", a.system.VentArea(units.Area(most)), a.system.SmallLength(mostBaffle)))
	}
	b.Lacks = append(b.Lacks, "What else may do: vented drip edge where the soffit is too small, intake vents low on the slope, a vapour retarder where the rule lets it count, or an unvented roof. That is design: a licensed designer and the official decide. Exhaust is never raised above the intake to make up the area.")
}

func zeroed(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// keepings are the kinds of exhaust to which the attic can be brought.
func (a attic) keepings(base Input, r Rule, area float64) []*keeping {
	var fitted []Kind
	for _, o := range a.openings {
		if o.exhaust() && !slices.Contains(fitted, o.as()) {
			fitted = append(fitted, o.as())
		}
	}
	// of bills that are alike the first is taken, and a fan last
	slices.SortFunc(fitted, func(x, y Kind) int {
		switch {
		case x == y:
			return 0
		case x == Powered:
			return 1
		case y == Powered:
			return -1
		}
		return strings.Compare(string(x), string(y))
	})
	kinds := slices.Clone(fitted)
	offer := func(k Kind) {
		if !slices.Contains(kinds, k) {
			kinds = append(kinds, k)
		}
	}
	offer(Box)
	if !math.IsNaN(a.ridge) {
		offer(Ridge)
	}
	for _, p := range a.products {
		if p.kind == Turbine || p.kind == Ridge {
			offer(p.kind)
		}
	}
	var out []*keeping
	for _, kind := range kinds {
		out = append(out, a.keep(base, r, area, kind)...)
	}
	return out
}

// keep closes all exhaust of other kinds, and of this what its maker does not
// want on such a roof.
func (a attic) keep(base Input, r Rule, area float64, kind Kind) []*keeping {
	k := keeping{rule: r, area: area, kind: kind, mostUnits: math.MaxInt32}
	rest := base
	rest.Openings, rest.Eaves = []Opening{}, nil
	run, short := 0.0, 0
	wrongPitch := false
	for i, o := range a.openings {
		switch {
		case !o.exhaust():
			rest.Openings = append(rest.Openings, base.Openings[i])
		case o.as() != kind:
			k.closed = append(k.closed, i)
		case inRange(a.rises, o.leastRise, o.mostRise) == no:
			k.closed = append(k.closed, i)
			wrongPitch = true
		default:
			k.kept = append(k.kept, i)
			if math.IsInf(o.net.hi, 1) || o.count.wide() {
				return nil
			}
			if o.size < o.leastRun*(1-slack) {
				short++
				k.leastUnits = int(math.Ceil((o.leastRun-o.size)/a.step() - 1e-9))
			}
			run += zeroed(o.run())
		}
	}
	if short > 0 && !(len(k.kept) == 1 && a.extendable(a.openings[k.kept[0]])) {
		// only a run that lies alone is made longer, and with more of itself: a
		// second would stay short
		k.leastUnits = 0
		k.kept = slices.DeleteFunc(k.kept, func(i int) bool {
			if o := a.openings[i]; o.size < o.leastRun*(1-slack) {
				k.closed = append(k.closed, i)
				run -= zeroed(o.run())
				return true
			}
			return false
		})
	}
	k.a, _, _ = rest.read()
	k.fixed = k.a.sums(r)
	k.fixedHigh = k.a.sums(Rule{}).high.hi
	if math.IsInf(k.fixed.total.hi, 1) {
		return nil
	}
	// what is added is the vent that lies there, as far as that is known
	var adds []*product
	switch {
	case kind == Powered || kind == Gable:
	case len(k.kept) > 0:
		o := a.openings[k.kept[0]]
		same := !slices.ContainsFunc(k.kept, func(i int) bool { return a.openings[i].unit != o.unit || a.openings[i].how != o.how })
		p := genericOf(kind)
		switch net := o.unit; {
		case kind == Ridge && o.how != length:
			k.add = nil
		case same && !net.wide() && o.how == length && net.lo*a.step() >= leastVent:
			v := units.Area(net.lo).In(units.SquareCentimetre)
			p.net, p.source, p.netIn2 = net, "as fitted", &Product{Kind: kind, NetPerMCm2: &v}
			adds = append(adds, &p)
		case same && !net.wide() && o.how == each && net.lo >= leastVent:
			v := units.Area(net.lo).In(units.SquareCentimetre)
			p.net, p.source, p.netIn2 = net, "as fitted", &Product{Kind: kind, NetEachCm2: &v}
			adds = append(adds, &p)
		case kind == Ridge:
			adds = append(adds, &p)
		default:
			for _, p := range a.productsOf(kind) {
				adds = append(adds, &p)
			}
		}
	default:
		for _, p := range a.productsOf(kind) {
			if wrongPitch && math.IsNaN(p.leastRise) && math.IsNaN(p.mostRise) || inRange(a.rises, p.leastRise, p.mostRise) == no {
				continue
			}
			adds = append(adds, &p)
		}
	}
	if kind == Ridge && !math.IsNaN(a.ridge) {
		k.mostUnits = int(max(0, a.ridge-run)/a.step() + 1e-9)
	}
	if len(adds) == 0 {
		k.mostUnits = 0
		if len(k.kept) == 0 {
			return nil
		}
		k.ready(a)
		return []*keeping{&k}
	}
	var out []*keeping
	for _, p := range adds {
		q := k
		q.add = p
		if len(k.kept) == 0 && !math.IsNaN(p.leastRun) {
			q.leastUnits = int(math.Ceil(p.leastRun/a.step() - 1e-9))
		}
		q.ready(a)
		out = append(out, &q)
	}
	return out
}

// extendable says whether a ridge vent can be made longer with more of itself:
// it is one run, and its net area is stamped or the range of its kind.
func (a attic) extendable(o opening) bool {
	return o.kind == Ridge && !o.powered && o.how == length && o.count.lo == 1 &&
		(o.unit == genericOf(Ridge).net || !o.unit.wide() && o.unit.lo*a.step() >= leastVent)
}

// room is the length of soffit and of roof edge in which intake can still be
// fitted, m; NaN is not known, and then no limit.
func (a attic) room() (soffit, edge float64) {
	if len(a.eaves) == 0 {
		return math.NaN(), math.NaN()
	}
	strips, drips := 0.0, 0.0
	for _, o := range a.openings {
		switch o.kind {
		case SoffitStrip, SoffitPanel:
			strips += zeroed(o.run())
		case DripEdgeVent:
			drips += zeroed(o.run())
		}
	}
	guessed := 0.0
	for _, e := range a.eaves {
		edge += e.length
		switch {
		case !math.IsNaN(e.spare):
			soffit += e.spare
		case e.overhang < narrow:
		default:
			guessed += e.length
		}
	}
	soffit += max(0, guessed-strips)
	if math.IsNaN(guessed) {
		soffit = math.NaN()
	}
	return soffit, max(0, edge-drips)
}

// mostPassage is what could pass over the walls at the most, m²; NaN is not
// known.
func (a attic) mostPassage() float64 {
	if math.IsNaN(a.passage) {
		return math.NaN()
	}
	sum := 0.0
	for _, e := range a.eaves {
		sum += e.length * max(mostBaffle, e.clear)
	}
	return sum
}

// plan is the intake products in the order in which they are used up.
type plan []planned

type planned struct {
	product
	limit float64 // vents or metres
}

// plans are the ways to fit intake: each product alone, and a soffit's with
// vented drip edge for what it cannot hold.
func (a attic) plans() []plan {
	soffit, edge := a.room()
	limit := func(p product) float64 {
		room := soffit
		if p.kind == DripEdgeVent {
			room = edge
		}
		switch {
		case math.IsNaN(room):
			return math.Inf(1)
		case p.how == length:
			return room
		}
		spacing := a.bay
		if math.IsNaN(spacing) {
			spacing = usualBay
		}
		return math.Floor(room/spacing + 1e-9) // one vent a bay
	}
	var edges []planned
	for _, p := range a.productsOf(DripEdgeVent) {
		edges = append(edges, planned{p, limit(p)})
	}
	var out []plan
	for _, kind := range []Kind{SoffitPanel, SoffitStrip} {
		for _, p := range a.productsOf(kind) {
			first := planned{p, limit(p)}
			out = append(out, plan{first})
			if !math.IsInf(first.limit, 1) {
				for _, e := range edges {
					out = append(out, plan{first, e})
				}
			}
		}
	}
	for _, e := range edges {
		out = append(out, plan{e})
	}
	return out
}

// fills fits so much intake, m², or all that there is room for.
func (p plan) fills(need, step float64) []fill {
	var out []fill
	least := 0.0
	for _, q := range p {
		amount := q.amount(need-least, step)
		if amount > 0 {
			out = append(out, fill{q.product, amount})
			least += amount * q.net.lo
		}
	}
	return out
}

// take is what fills would hold, m², and what that costs.
func (p plan) take(need, step float64, prices map[Item]price) (least, most, price, effort float64) {
	for _, q := range p {
		amount := q.amount(need-least, step)
		if amount <= 0 {
			continue
		}
		least += amount * q.net.lo
		most += amount * q.net.hi
		price += costOf(prices, Item(q.kind), amount, q.how == length)
		effort += zeroed(costOf(work, Item(q.kind), amount, q.how == length))
	}
	return least, most, price, effort
}

// amount is how much of the product holds an area, whole vents or steps of run,
// as far as there is room.
func (q planned) amount(need, step float64) float64 {
	// under a square millimetre nothing lacks but the rounding of sums
	if need <= float64(units.SquareMillimetre) {
		return 0
	}
	size := 1.0
	if q.how == length {
		size = step
	}
	amount := math.Ceil(need/q.net.lo/size-1e-9) * size
	if amount > q.limit {
		amount = math.Floor(q.limit/size+1e-9) * size
	}
	return amount
}

// search finds the best number of units of the kept kind to add or close, with
// the intake that it needs. In place of a number that satisfies the target,
// nearest finds that which comes nearest to it.
func (k *keeping) search(t target, p plan, a attic, nearest bool) (option, bool) {
	need := k.area / float64(t.oneIn)
	step := a.step()
	vents, highAfter, otherAfter := k.vents, k.highAfter, k.otherAfter
	fixedOther := span{max(0, k.fixed.rest.lo-k.fixed.low.lo), max(0, k.fixed.rest.hi-k.fixed.low.lo)}
	passes := k.fixed.lowElsewhere.lo + a.mostPassage()
	unitPrice, unitWork := math.NaN(), 0.0
	if k.add != nil {
		one, run := 1.0, k.add.how == length
		if run {
			one = step
		}
		unitPrice, unitWork = costOf(a.prices, Item(k.kind), one, run), zeroed(costOf(work, Item(k.kind), one, run))
	}
	closePrice, closeWork := 0.0, 0.0 // of all kept vents from here on
	costs := make([]struct{ price, work float64 }, len(vents)+1)
	for i, v := range vents {
		run := !math.IsNaN(a.openings[v.index].run())
		closePrice += costOf(a.prices, ItemClose, v.amount, run)
		closeWork += zeroed(costOf(work, ItemClose, v.amount, run))
		costs[i+1].price, costs[i+1].work = closePrice, closeWork
	}
	best, found, enough := option{}, false, false
	for n := -len(vents); n <= k.mostUnits; n++ {
		if n > 0 && (k.add == nil || enough || n > mostVents) {
			break
		}
		if k.leastUnits > 0 && n < k.leastUnits && (len(k.kept) > 0 || n > 0) {
			continue
		}
		closed := max(0, -n)
		highs := k.fixed.high.plus(highAfter[closed])
		added := 0.0
		if n > 0 {
			added = float64(n)
			if k.add.how == length {
				added *= step
			}
			highs = highs.plus(k.add.net.times(added))
		}
		// more exhaust than half of what is asked only asks for more intake
		enough = n >= k.leastUnits && highs.lo >= max(0.5, t.from)*need
		if t.there {
			enough = n >= k.leastUnits && highs.lo*(1-t.from) >= t.from*max(k.fixed.rest.hi, need)
		}
		others := fixedOther.plus(otherAfter[closed])
		exhaust := k.fixedHigh + highs.hi - k.fixed.high.hi + otherAfter[closed].hi

		low := max(exhaust, t.lowFrom*need)
		lacking := need - highs.lo
		if t.all {
			lacking -= others.lo
		}
		low = max(low, lacking)
		if t.there {
			low = max(low, highs.hi*(1-t.to)/t.to-others.lo)
		}
		if !nearest {
			switch {
			case !t.there && highs.lo < t.from*need*(1-slack):
				continue
			case !t.there && highs.hi > t.to*need*(1+slack):
				continue
			case t.highShare > 0 && highs.lo < t.highShare*need*(1-slack) && !(n == 0 && highs.lo > 0 && low <= k.fixed.low.lo*(1+slack)):
				continue
			case low > passes*(1+slack):
				continue
			}
		} else if !math.IsNaN(passes) {
			low = min(low, passes)
		}
		least, most, intakePrice, intakeWork := p.take(low-k.fixed.low.lo, step, a.prices)
		reached := k.fixed.low.lo + least
		if !math.IsNaN(passes) {
			reached = min(reached, passes)
		}
		o := option{k: k, t: t, n: n, plan: p, wanted: low - k.fixed.low.lo, needLow: min(low, reached), price: k.price + costs[closed].price, work: k.work + costs[closed].work}
		if nearest {
			if exhaust > reached*(1+slack) {
				continue
			}
			o.there = min(need, reached+highs.lo+others.lo)
		} else {
			if reached < low*(1-slack) {
				continue
			}
			if t.there && (k.fixed.low.hi+most+others.hi)*t.from > highs.lo*(1-t.from)*(1+slack) {
				continue
			}
		}
		if n > 0 {
			o.price += float64(n) * unitPrice
			o.work += float64(n) * unitWork
		}
		o.price += intakePrice
		o.work += intakeWork
		if a.prices == nil {
			o.price = math.NaN()
		}
		better := !found || o.cheaper(best)
		if nearest && found {
			better = o.nearer(best)
		}
		if better {
			best, found = o, true
		}
	}
	return best, found
}

// cheaper orders options: those with a price first, by it, and else by work.
func (o option) cheaper(than option) bool {
	priced := !math.IsNaN(o.price)
	switch {
	case priced != !math.IsNaN(than.price):
		return priced
	case priced && whole(o.price) != whole(than.price):
		return o.price < than.price
	}
	return whole(o.work) < whole(than.work)
}

// whole rounds a sum, so that the order in which it was summed up makes no
// difference.
func whole(v float64) float64 { return math.Round(v * 1e6) }

// nearer orders options that do not satisfy the rule.
func (o option) nearer(than option) bool {
	return o.there > than.there*(1+slack) || (o.there > than.there*(1-slack) && whole(o.work) < whole(than.work))
}

// closingCost is the price and work of closing what is not kept.
func (k *keeping) closingCost(a attic) (cost, effort float64) {
	for _, i := range k.closed {
		o := a.openings[i]
		amount, run := o.count.lo, false
		if l := o.run(); !math.IsNaN(l) {
			amount, run = l, true
		} else if o.count.wide() {
			amount = math.NaN()
		}
		cost += costOf(a.prices, ItemClose, amount, run)
		effort += zeroed(costOf(work, ItemClose, amount, run))
	}
	return cost, effort
}

// costOf prices an amount; NaN when there is no price for it.
func costOf(prices map[Item]price, i Item, amount float64, run bool) float64 {
	p, ok := prices[i]
	if !ok || prices == nil {
		return math.NaN()
	}
	if run {
		return p.perM * amount
	}
	return p.each * amount
}

// write puts the option's steps into the bill, and its vents into the attic
// after it.
func (o *option) write(b *Bill, a attic, after *Input) {
	k := o.k
	b.OneIn, b.Keeps = o.t.oneIn, k.kind
	step := a.step()
	var openings []Opening
	intake := o.plan.fills(o.wanted, step)
	for _, f := range intake {
		net := f.net.times(f.amount).bounds()
		s := Step{Key: "add_intake", Kind: f.kind, Name: f.name, Net: &net, item: Item(f.kind), Caution: ladder}
		s.amount(f.amount, f.how == length)
		s.Says = fmt.Sprintf("Add %s, shared among the eaves by their length, over bays that are open: %s.", s.what(a.system, f.called()), net.Write(a.system))
		if f.kind == DripEdgeVent {
			s.Says += " Its maker says how it goes with gutter and ice barrier."
		}
		b.Steps = append(b.Steps, s)
		openings = append(openings, f.opening(f.amount, Low))
		if f.net.wide() || f.netIn2 == nil {
			b.note("The " + f.called() + " is taken at " + f.unitText(a.system) + " (" + f.source + "); count again by what is stamped on the vent bought.")
		}
	}
	closed := map[int]float64{}
	for _, i := range k.closed {
		closed[i] = math.Inf(1)
	}
	if o.n < 0 {
		for _, v := range k.vents[:-o.n] {
			closed[v.index] += v.amount
		}
	}
	kept := after.Openings[:0:0]
	extended := false
	for i, g := range after.Openings {
		away, hit := closed[i]
		op := a.openings[i]
		if !hit {
			if k.kind == Ridge && o.n > 0 && !extended && slices.Contains(k.kept, i) && (k.leastUnits == 0 || op.size < op.leastRun*(1-slack)) && op.count.lo == 1 && op.unit == k.add.net {
				// a run made longer stays one run
				run := op.run() + float64(o.n)*step
				g.LengthFt, g.LengthM, extended = nil, &run, true
			}
			kept = append(kept, g)
			continue
		}
		s := Step{Key: "close_exhaust", Kind: op.as(), Name: g.Name, item: ItemClose, Caution: "Learn first what a hole serves: never close one that serves a flue, a fan or plumbing. " + ladder}
		net := op.net.bounds()
		whole := true
		if run := op.run(); !math.IsNaN(run) {
			whole = away >= run*(1-slack)
			away = min(away, run)
			s.amount(away, true)
			if !whole {
				if left := run - away; op.count.lo == 1 {
					g.LengthFt, g.LengthM = nil, &left
				} else {
					runs := int(math.Round(left / op.size))
					g.Count = &runs
				}
				net = op.unit.times(away).bounds()
			}
		} else if !op.count.wide() {
			whole = away >= op.count.lo-1e-9
			away = min(away, op.count.lo)
			s.amount(away, false)
			if !whole {
				left := int(math.Round(op.count.lo - away))
				g.Count = &left
				net = op.net.times(away / op.count.lo).bounds()
			}
		}
		s.Net = &net
		if !whole {
			kept = append(kept, g)
		}
		s.Says = fmt.Sprintf("Close %s and patch the deck: %s goes.", s.what(a.system, names[op.as()]), net.Write(a.system))
		if op.as() != k.kind {
			s.Says += " One kind of exhaust stays."
		}
		b.Steps = append(b.Steps, s)
	}
	if o.n > 0 {
		amount := float64(o.n)
		if k.add.how == length {
			amount *= step
		}
		net := k.add.net.times(amount).bounds()
		s := Step{Key: "add_exhaust", Kind: k.kind, Name: k.add.name, Net: &net, item: Item(k.kind), Caution: ladder}
		s.amount(amount, k.add.how == length)
		s.Says = fmt.Sprintf("Only then add %s, within 3 ft of the ridge: %s.", s.what(a.system, k.add.called()), net.Write(a.system))
		if a.system == units.Metric {
			s.Says = strings.Replace(s.Says, "3 ft", "900 mm", 1)
		}
		b.Steps = append(b.Steps, s)
		if !extended {
			openings = append(openings, k.add.opening(amount, High))
		}
		if k.add.net.wide() {
			b.note("The " + k.add.called() + " is taken at " + k.add.unitText(a.system) + " (" + k.add.source + "); count again by what is stamped on the vent bought.")
		}
		if k.kind == Ridge && inRange(a.rises, k.add.leastRise, k.add.mostRise) == unknown {
			b.note("Read for which slopes, and for which least run, the ridge vent is made before it is bought.")
		}
		if k.kind == Ridge && math.IsNaN(a.ridge) {
			b.Measure = append(b.Measure, "ridge_ft")
		}
	}
	after.Openings = append(append([]Opening{}, kept...), openings...)
	if k.kind == Ridge && k.mostUnits == o.n && o.n > 0 {
		b.note("The ridge is used up.")
	}
	if k.kind != Ridge && !math.IsNaN(a.ridge) && slices.ContainsFunc(a.openings, func(o opening) bool { return o.exhaust() && o.kind == Ridge }) {
		b.note(fmt.Sprintf("The ridge vent goes: %s of ridge is too short for it, its maker does not want it on such a roof, or another kind asks for less.", a.system.Length(units.Length(a.ridge))))
	}
	if len(intake) > 0 {
		if soffit, _ := a.room(); math.IsNaN(soffit) {
			b.Measure = append(b.Measure, "eaves: length_ft, free_soffit_ft")
			b.note("How much soffit is free is not known: measure it before ordering.")
		}
	}
}

func (b *Bill) note(s string) {
	if !slices.Contains(b.Notes, s) {
		b.Notes = append(b.Notes, s)
	}
}

func (s *Step) amount(v float64, run bool) {
	if run {
		l := units.Length(v)
		s.Length, s.perRun = &l, true
		return
	}
	n := int(math.Round(v))
	s.Count = &n
}

func (s Step) what(system units.System, name string) string {
	switch {
	case s.Length != nil:
		return system.Length(*s.Length) + " of " + name
	case s.Count != nil:
		return many(*s.Count, name)
	}
	return "every " + name
}

// unitText writes the net area of one, or of a foot or metre.
func (p product) unitText(s units.System) string {
	switch {
	case p.how == length && s == units.Metric:
		return p.net.bounds().Write(s) + " a metre"
	case p.how == length:
		return p.net.times(float64(units.Foot)).bounds().Write(s) + " a foot"
	}
	return p.net.bounds().Write(s) + " each"
}

func many(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// judge checks the attic after the bill anew.
func (b *Bill) judge(r Rule) {
	a, _, err := b.After.read()
	if err != nil { // what a bill fits is always in range
		b.Lacks = append(b.Lacks, err.Error())
		return
	}
	res := r.check(a)
	b.Verdict, b.Asked, b.Margin = res.Verdict, res.Asked, res.Margin
	t := a.sums(Rule{})
	exhaust := t.high
	for _, o := range a.openings {
		if o.exhaust() && o.declared == other {
			exhaust = exhaust.plus(o.net)
		}
	}
	in, out, total := t.low.bounds(), exhaust.bounds(), t.total.bounds()
	b.IntakeAfter, b.ExhaustAfter, b.TotalAfter = &in, &out, &total
	if t.total.hi > 0 {
		b.HighShareLeast, b.HighShareMost = zeroed(share(exhaust.lo, t.low.hi)), zeroed(share(exhaust.hi, t.low.lo))
	}
}

// price sums the steps up.
func (b *Bill) price(a attic) {
	if a.prices == nil {
		return
	}
	sum := 0.0
	for i := range b.Steps {
		s := &b.Steps[i]
		if s.item == "" {
			continue
		}
		amount := math.NaN()
		switch {
		case s.Length != nil:
			amount = float64(*s.Length)
		case s.Count != nil:
			amount = float64(*s.Count)
		}
		v := costOf(a.prices, s.item, amount, s.perRun)
		if math.IsNaN(v) {
			if !slices.Contains(b.Unknown, s.item) {
				b.Unknown = append(b.Unknown, s.item)
			}
			continue
		}
		s.Price = &v
		sum += v
	}
	if b.Unknown == nil {
		b.Price = &sum
	}
}

func (b *Bill) says(a attic, r Rule) string {
	var out strings.Builder
	if len(b.Measure) > 0 {
		out.WriteString("First learn " + strings.Join(b.Measure, ", ") + "; less may do. ")
	}
	for i, s := range b.Steps {
		fmt.Fprintf(&out, "%d. %s ", i+1, s.Says)
	}
	switch {
	case b.IntakeAfter == nil:
		out.WriteString("What vents to add or close cannot be said yet.")
	case len(b.Steps) == 0:
		out.WriteString("Nothing can be added here.")
	default:
		fmt.Fprintf(&out, "After it: intake %s, exhaust %s", b.IntakeAfter.Write(a.system), b.ExhaustAfter.Write(a.system))
		if b.Asked != nil {
			fmt.Fprintf(&out, "; %s asks for %s: %s.", r.Cite(), b.Asked.Write(a.system), b.Verdict)
		} else {
			out.WriteString(".")
		}
	}
	for _, s := range b.Lacks {
		out.WriteString(" " + s)
	}
	return strings.TrimSpace(out.String())
}
