package venting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// CheckResult is one thing beyond the area that an attic's vents must have:
// does it pass, by how much, and what would put it right.
type CheckResult struct {
	// Key is clear_space, passage, blocked_soffits, soffit_lights, ducts,
	// ducts_insulated, mixed_exhaust, powered_with_high, powered_flow,
	// exhaust_above_intake, maker_pitch, maker_run, opening_size or kneewalls.
	Key     string   `json:"key"`
	Codes   []string `json:"codes,omitempty"` // keys of the rules that ask for it; empty is none or all
	Cites   string   `json:"cites,omitempty"` // code, edition and section; empty where no code is cited
	Source  string   `json:"source"`
	Verdict Verdict  `json:"verdict"`

	// Asked and There are in Unit: mm, m, m2, m3_s or rise_in_12. Margin is
	// what is to spare, negative what is lacking. Nil is not known, or no
	// number is asked.
	Unit   string   `json:"unit,omitempty"`
	Asked  *float64 `json:"asked,omitempty"`
	There  *float64 `json:"there,omitempty"`
	Margin *float64 `json:"margin,omitempty"`

	Measure []string `json:"measure,omitempty"` // fields that would settle it
	Says    string   `json:"says"`
	Remedy  string   `json:"remedy,omitempty"`
	Caution string   `json:"caution,omitempty"`
}

const (
	judged = "our judgement"
	ladder = "Fall protection; no frost, wet or steep slopes. Work in the attic on the joists, away from wiring."

	oneInch   = float64(units.Inch) // R806.3
	leastHole = 1.0 / 16 * oneInch  // R806.1
	mostHole  = 0.0064              // R806.1: 1/4 in, 6.4 mm in its metric text; the larger is taken
	inchText  = 0.025               // R806.3's metric text for an inch; the smaller is taken
	baffleCA  = 0.025               // 9.19.1.3., m
	joistCA   = 0.063               // 9.19.1.3., m
	wideEaves = 24 * oneInch        // our judgement
	fullFlow  = 0.3048 / 60         // m/s: 1 cfm a square foot
	mmAMetre  = 1 / 0.001           // for results
	fanSource = "a roofing contractors' association's page for owners: 1 cfm a square foot of attic is about 1/150"
)

// known lists the numbers of a check whose margin is what is there above what
// is asked; upper says that less is better.
func (c *CheckResult) numbers(unit string, asked, there float64, upper bool) {
	c.Unit = unit
	if !math.IsNaN(asked) {
		c.Asked = &asked
	}
	if math.IsNaN(there) || math.IsInf(there, 0) {
		return
	}
	c.There = &there
	if !math.IsNaN(asked) {
		margin := there - asked
		if upper {
			margin = -margin
		}
		c.Margin = &margin
	}
}

// checks are about the attic and its vents, beyond the areas.
func (a attic) checks(rules []Rule) []CheckResult {
	var american, canadian []Rule
	for _, r := range rules {
		if r.Ceiling {
			canadian = append(canadian, r)
		} else {
			american = append(american, r)
		}
	}
	var out []CheckResult
	if len(american) > 0 {
		out = append(out, a.clearSpace(american, oneInch, inchText, "at a vent in the eave", "R806.3", "R806.3, read in one edition; the others from memory"))
	}
	if len(canadian) > 0 {
		need, what := baffleCA, "past a baffle"
		if a.joists == yes {
			need, what = joistCA, "in a roof built with joists"
		}
		c := a.clearSpace(canadian, need, need, what, "9.19.1.3.", "O. Reg. 332/12, 9.19.1.3., read; the national text from memory")
		if clear := a.leastClear(); a.joists == unknown && clear >= baffleCA*(1-slack) && clear < joistCA*(1-slack) {
			c.Verdict, c.Measure = NotKnown, []string{"built_with_joists"}
			c.Says = fmt.Sprintf("%s is clear over the wall: enough past a baffle in an attic, too little in a roof built with joists, which asks for %s.", a.system.SmallLength(units.Length(clear)), a.system.SmallLength(units.Length(joistCA)))
		}
		out = append(out, c)
	}
	out = append(out, a.checkPassage(), a.checkBlocked(), a.checkLights(), a.checkDucts())
	if a.ducts == "bare" || a.ducts == "insulated" {
		out = append(out, a.checkDuctsInsulated())
	}
	out = append(out, a.checkMixed(), a.checkExhaust())
	out = append(out, a.checkFans()...)
	out = append(out, a.checkMaker()...)
	if len(american) > 0 {
		out = append(out, a.checkHoles(american))
	}
	if a.kneewalls == yes {
		out = append(out, CheckResult{
			Key: "kneewalls", Cites: cite(american, "R806.1"), Source: "R806.1, second-hand: each separate space is to be cross-ventilated", Verdict: NotKnown,
			Measure: []string{"plan_area_ft2 and openings of each space"},
			Says:    "Walls under the slopes part this attic: the spaces behind them and the one above are separate wherever air cannot pass along the slope between them.",
			Remedy:  "Look whether the rafter bays are open from the eave to the top. Where not, check each space alone, with its own area and vents.",
			Caution: ladder,
		})
	}
	return out
}

// cite names a section of the editions: "IRC 2015, R806.3".
func cite(rules []Rule, section string) string {
	if len(rules) == 0 {
		return ""
	}
	var out []string
	for i, r := range rules {
		if i > 0 && rules[i-1].Code == r.Code {
			out = append(out, fmt.Sprint(r.Edition))
		} else {
			out = append(out, fmt.Sprintf("%s %d", r.Code, r.Edition))
		}
	}
	return strings.Join(out, ", ") + ", " + section
}

func keysOf(rules []Rule) []string {
	out := make([]string, len(rules))
	for i, r := range rules {
		out[i] = r.Key
	}
	return out
}

// leastClear is the narrowest clear space over the walls, NaN when one is not
// known and none of the known is narrower than any rule allows.
func (a attic) leastClear() float64 {
	if len(a.eaves) == 0 {
		return a.clear
	}
	least, missed := math.Inf(1), false
	for _, e := range a.eaves {
		if math.IsNaN(e.clear) {
			missed = true
			continue
		}
		least = min(least, e.clear)
	}
	if missed && least >= baffleCA*(1-slack) {
		return math.NaN()
	}
	return least
}

func (a attic) clearSpace(rules []Rule, need, enough float64, where, section, source string) CheckResult {
	clear := a.leastClear()
	c := CheckResult{
		Key: "clear_space", Codes: keysOf(rules), Cites: cite(rules, section), Source: source,
		Remedy: "Draw the insulation back from the eave and fit baffles in every bay that a vent feeds, deep enough to hold " + a.system.SmallLength(units.Length(need)) + " open.", Caution: ladder,
	}
	c.numbers("mm", need*mmAMetre, clear*mmAMetre, false)
	asked := a.system.SmallLength(units.Length(need))
	switch {
	case math.IsNaN(clear):
		c.Verdict, c.Measure = NotKnown, []string{"clear_space_in"}
		c.Says = fmt.Sprintf("Between insulation and deck %s must be clear %s; nobody measured it.", asked, where)
		if a.baffles == yes {
			c.Says += " Baffles are there, which as a rule hold it open: measure one."
		}
		c.Remedy = "Measure it in the attic, at the narrowest bay."
	case clear < enough*(1-slack):
		c.Verdict = Fails
		c.Says = fmt.Sprintf("Between insulation and deck %s must be clear %s; %s is: %s short.", asked, where, a.system.SmallLength(units.Length(clear)), a.system.SmallLength(units.Length(need-clear)))
	default:
		c.Verdict, c.Remedy, c.Caution = Passes, "", ""
		c.Says = fmt.Sprintf("Between insulation and deck %s must be clear %s; %s is.", asked, where, a.system.SmallLength(units.Length(clear)))
	}
	return c
}

// checkPassage compares the vents at the eave with the passage over the wall:
// under a wide overhang a soffit can hold far more open area than reaches the
// attic.
func (a attic) checkPassage() CheckResult {
	c := CheckResult{Key: "passage", Source: judged + ", geometry: clear space times the length of eave over which it is open", Caution: ladder}
	var fitted span
	for _, o := range a.openings {
		if o.atEave() {
			fitted = fitted.plus(o.net)
		}
	}
	wide := ""
	for _, e := range a.eaves {
		if e.overhang > wideEaves {
			wide = fmt.Sprintf(" Under an overhang of %s the intake stands far from the attic: what counts is what passes over the wall, not what the soffit holds.", a.system.SmallLength(units.Length(e.overhang)))
			break
		}
	}
	passage := a.system.VentArea(units.Area(a.passage))
	switch {
	case !a.looked:
		c.Verdict, c.Measure = NotKnown, []string{"openings"}
		c.Says = "Nobody looked at the vents." + wide
	case fitted.hi == 0:
		c.Verdict, c.Caution = Passes, ""
		c.Says = "No vent stands at the eave, so none is throttled there." + wide
	case math.IsNaN(a.passage):
		c.Verdict, c.Measure = NotKnown, a.passageFields()
		c.Says = "How much passes over the walls is not known; the vents at the eave are taken as fitted." + wide
		c.Remedy = "Measure the clear space over the wall and the length of each eave over which it is open."
	case fitted.hi <= a.passage*(1+slack):
		c.Verdict, c.Caution = Passes, ""
		c.Says = fmt.Sprintf("The passage over the walls (%s) holds all that the vents at the eave let in (%s).%s", passage, fitted.bounds().Write(a.system), wide)
	case fitted.lo > a.passage*(1+slack):
		c.Verdict = Fails
		c.Says = fmt.Sprintf("The vents at the eave hold %s, and only %s passes over the walls: that is what counts.%s", fitted.bounds().Write(a.system), passage, wide)
		c.Remedy = "Open the passage with baffles before any intake is added."
	default:
		c.Verdict, c.Measure = NotKnown, []string{"openings: count, length or stamped net area"}
		c.Says = fmt.Sprintf("The vents at the eave hold %s; %s passes over the walls.%s", fitted.bounds().Write(a.system), passage, wide)
	}
	c.numbers("m2", fitted.lo, a.passage, false)
	return c
}

func (a attic) checkBlocked() CheckResult {
	c := CheckResult{Key: "blocked_soffits", Source: "common practice, no source", Caution: ladder}
	blocked, missed := 0.0, []string(nil)
	for i, o := range a.openings {
		if o.declared != low || o.kind == SoffitLight {
			continue
		}
		blocked += o.blocked.lo
		if o.unlooked && o.net.hi > 0 {
			missed = append(missed, fmt.Sprintf("openings[%d].blocked_share", i))
		}
	}
	c.numbers("m2", 0, blocked, true)
	switch {
	case !a.looked:
		c.Verdict, c.Measure, c.There, c.Margin = NotKnown, []string{"openings"}, nil, nil
		c.Says = "Nobody looked whether paint, insulation or nests block the intake."
	case blocked > 0:
		c.Verdict = Fails
		c.Says = a.system.VentArea(units.Area(blocked)) + " of intake is blocked by paint, insulation or nests."
		c.Remedy = "Clear it before any vent is added."
	case missed != nil:
		c.Verdict, c.Measure, c.There, c.Margin = NotKnown, missed, nil, nil
		c.Says = "Nobody said of every intake whether paint, insulation or nests block it."
		c.Remedy = "Look from the attic by daylight: an open soffit shows light."
	default:
		c.Verdict, c.Caution = Passes, ""
		c.Says = "No intake is blocked."
	}
	return c
}

func (a attic) checkLights() CheckResult {
	c := CheckResult{Key: "soffit_lights", Source: judged}
	lights := slices.ContainsFunc(a.openings, func(o opening) bool { return o.kind == SoffitLight && o.count.hi > 0 })
	switch {
	case !a.looked:
		c.Verdict, c.Measure, c.Says = NotKnown, []string{"openings"}, "Nobody looked whether lights in the soffit serve as intake."
	case lights:
		c.Verdict = Fails
		c.Says = "Lights in the soffit let air in round their housings. They are no vents and are not counted, unless a net free area is stamped on them."
		c.Remedy = "Give the attic intake of its own. Leave the housings to an electrician, who also says what clearance to insulation they need."
		c.Caution = "Light housings are hot and wired: a licensed electrician opens, seals or moves them. " + ladder
	default:
		c.Verdict, c.Says = Passes, "No light in the soffit serves as intake."
	}
	return c
}

func (a attic) checkDucts() CheckResult {
	c := CheckResult{Key: "ducts", Source: "exhaust is led outdoors: IRC chapter 15 and NBC 9.32., from memory", Cites: ""}
	switch {
	case len(a.ending) > 0 || a.ducts == "ends_in_attic":
		what := "A duct"
		if len(a.ending) > 0 {
			what = "Ducts (" + strings.Join(a.ending, ", ") + ")"
		}
		c.Verdict = Fails
		c.Says = what + " blowing into the attic bring damp that no vent area makes good, and kitchen and dryer ducts bring grease and lint."
		if len(a.ending) == 0 {
			c.Says = what + " ends in the attic and brings damp that no vent area makes good."
		}
		c.Remedy = "Lead each outdoors through an insulated duct to its own hood on roof or wall, away from soffit vents that would draw the damp back in."
		c.Caution = "Ducts and fans are for licensed trades; a dryer's duct has rules of its own. " + ladder
	case a.ending != nil || a.ducts == "none":
		c.Verdict, c.Says = Passes, "No duct ends in the attic."
	case a.ducts != "":
		c.Verdict, c.Says = Passes, "Ducts cross the attic; none is said to end there."
	default:
		c.Verdict, c.Measure = NotKnown, []string{"ducts", "ducts_ending_in_attic"}
		c.Says = "Nobody looked whether bath, kitchen or dryer ducts end in the attic."
		c.Remedy = "Look in the attic, with each fan running."
	}
	return c
}

func (a attic) checkDuctsInsulated() CheckResult {
	c := CheckResult{Key: "ducts_insulated", Source: "common practice, no source", Verdict: Passes, Says: "The ducts in the attic are insulated."}
	if a.ducts == "bare" {
		c.Verdict = Fails
		c.Says = "Bare ducts in the attic warm the deck and sweat inside."
		c.Remedy, c.Caution = "Insulate and seal them.", "Ducts are for licensed trades."
	}
	return c
}

func (a attic) checkMixed() CheckResult {
	c := CheckResult{Key: "mixed_exhaust", Source: "common practice, no source; for fans the page of a roofing contractors' association"}
	var sure, maybe []string
	for _, o := range a.openings {
		if !o.exhaust() {
			continue
		}
		name := string(o.as())
		if o.declared&low == 0 && !slices.Contains(sure, name) {
			sure = append(sure, name)
		}
		if !slices.Contains(maybe, name) {
			maybe = append(maybe, name)
		}
	}
	slices.Sort(sure)
	slices.Sort(maybe)
	switch {
	case !a.looked:
		c.Verdict, c.Measure, c.Says = NotKnown, []string{"openings"}, "Nobody looked at the vents."
	case len(sure) > 1:
		c.Verdict = Fails
		c.Says = "Several kinds of exhaust share this attic (" + strings.Join(sure, ", ") + "): the stronger draws its air through the weaker instead of from the eaves, and may draw in rain and snow."
		c.Remedy, c.Caution = "Keep one kind, close the others and patch the deck.", ladder
	case len(maybe) > 1:
		c.Verdict = NotKnown
		for i, o := range a.openings {
			if o.exhaust() && o.declared&low != 0 {
				c.Measure = append(c.Measure, fmt.Sprintf("openings[%d].height", i))
			}
		}
		c.Says = "Several kinds of vents (" + strings.Join(maybe, ", ") + ") may all be exhaust; where each stands is not known."
	default:
		c.Verdict, c.Says = Passes, "One kind of exhaust at the most."
	}
	return c
}

func (a attic) checkExhaust() CheckResult {
	c := CheckResult{Key: "exhaust_above_intake", Source: "several trade pages, second-hand; common practice"}
	t := a.sums(Rule{})
	exhaust, intake := t.high.bounds().Write(a.system), t.low.bounds().Write(a.system)
	c.numbers("m2", t.high.hi, t.low.lo, false)
	if math.IsInf(t.high.hi, 1) {
		c.Asked, c.Margin = nil, nil
	}
	c.Remedy, c.Caution = "Add intake first; where there is no room for it, close exhaust.", ladder
	switch {
	case !a.looked:
		c = CheckResult{Key: c.Key, Source: c.Source, Verdict: NotKnown, Measure: []string{"openings"}, Says: "Nobody looked at the vents."}
	case t.high.lo > t.low.hi*(1+slack):
		c.Verdict = Fails
		c.Says = fmt.Sprintf("Exhaust (%s) is larger than intake (%s): the lack is drawn from the house through leaks in the ceiling.", exhaust, intake)
	case t.high.hi > t.low.lo*(1+slack):
		c.Verdict = NotKnown
		for i, o := range a.openings {
			if o.net.wide() {
				c.Measure = append(c.Measure, fmt.Sprintf("openings[%d]: count, length or stamped net area", i))
			}
			if p := o.declared; p != low && p != high && p != other && o.net.hi > 0 {
				c.Measure = append(c.Measure, fmt.Sprintf("openings[%d].height", i))
			}
		}
		c.Says = fmt.Sprintf("Exhaust (%s) may be larger than intake (%s).", exhaust, intake)
	default:
		c.Verdict, c.Remedy, c.Caution = Passes, "", ""
		c.Says = fmt.Sprintf("Exhaust (%s) is no larger than intake (%s).", exhaust, intake)
	}
	return c
}

// checkFans are two checks, of an attic with a fan only.
func (a attic) checkFans() []CheckResult {
	fans, others, flow, flowKnown := 0, 0, 0.0, true
	var measure []string
	for i, o := range a.openings {
		// the open area of a fan is seldom stamped, and a fan is there all the same
		switch {
		case o.powered && o.count.hi > 0 && o.declared != low:
			fans++
			switch {
			case math.IsNaN(o.flow):
				flowKnown, measure = false, append(measure, fmt.Sprintf("openings[%d].fan_cfm", i))
			case o.count.wide():
				flowKnown, measure = false, append(measure, fmt.Sprintf("openings[%d].count", i))
			default:
				flow += o.flow * o.count.lo
			}
		case o.exhaust():
			others++
		}
	}
	if fans == 0 {
		return nil
	}
	with := CheckResult{Key: "powered_with_high", Source: fanSource + ", and fans are not to be combined with other high vents", Verdict: Passes, Says: "The fan is the only exhaust."}
	if others > 0 {
		with.Verdict = Fails
		with.Says = "A fan works beside other high vents: it takes its air from them and not from the eaves, and may draw in rain."
		with.Remedy, with.Caution = "Close the other high vents or take out the fan.", ladder
	}
	c := CheckResult{Key: "powered_flow", Source: fanSource + "; half of that as intake, our judgement", Verdict: NotKnown}
	intake := a.sums(Rule{}).low
	if flowKnown {
		// 1 cfm a square foot is worth 1/150 of it, half of which comes in low
		need := flow / fullFlow / halfRatio
		c.numbers("m2", need, intake.lo, false)
		c.Verdict = atLeast(intake, need).verdict()
		c.Says = fmt.Sprintf("The fan serves about %s of attic and wants %s of intake; %s is there.", a.system.Area(units.Area(flow/fullFlow)), a.system.VentArea(units.Area(need)), intake.bounds().Write(a.system))
		if !math.IsNaN(a.plan) && flow < a.plan*fullFlow*(1-slack) {
			c.Says += fmt.Sprintf(" The attic's %s ask for more flow than it gives.", a.system.Area(units.Area(a.plan)))
		}
		switch c.Verdict {
		case Fails:
			c.Remedy = "Add intake before the fan runs again; with too little it pulls house air, heat and damp through the ceiling."
			c.Caution = "A fan can draw flue gas back into the house: a licensed technician checks fuel-burning appliances. " + ladder
		case NotKnown:
			c.Measure = []string{"openings: count, length or stamped net area of the intake"}
		}
	} else {
		c.Measure, c.Says = measure, "What the fan moves is not known; about 1 cfm a square foot of attic is worth 1/150."
	}
	return []CheckResult{with, c}
}

// checkMaker are the slope and run that the maker of a vent asks for.
func (a attic) checkMaker() []CheckResult {
	var out []CheckResult
	for i, o := range a.openings {
		if o.count.hi == 0 {
			continue
		}
		field := fmt.Sprintf("openings[%d]", i)
		if o.kind == Ridge || !math.IsNaN(o.leastRise) || !math.IsNaN(o.mostRise) {
			c := CheckResult{Key: "maker_pitch", Source: "the maker's range, as given", Unit: "rise_in_12"}
			t := inRange(a.rises, o.leastRise, o.mostRise)
			c.Verdict = t.verdict()
			name := string(o.kind) + " vent"
			switch {
			case t == unknown && len(a.rises) == 0:
				c.Measure, c.Says = []string{"rise_in_12"}, "The slope under the "+name+" is not known."
			case t == unknown:
				c.Measure, c.Says = []string{field + ".least_rise_in_12", field + ".most_rise_in_12"}, "For which slopes the "+name+" is made is not known."
			default:
				worst, limit, upper := worstRise(a.rises, o.leastRise, o.mostRise)
				c.numbers("rise_in_12", 12*limit, 12*worst, upper)
				word := "from"
				if upper {
					word = "up to"
				}
				c.Says = fmt.Sprintf("The %s is made for slopes %s %s, and lies on %s.", name, word, units.Pitch(limit), units.Pitch(worst))
			}
			switch t {
			case no:
				c.Remedy, c.Caution = "Close it and patch the deck; use a vent made for this slope.", ladder
			case unknown:
				c.Remedy = "Read the maker's sheet."
			}
			out = append(out, c)
		}
		if o.kind == Ridge || !math.IsNaN(o.leastRun) {
			c := CheckResult{Key: "maker_run", Source: "the maker's least run, as given"}
			run := o.size // of each: a short one does not draw for its neighbour
			if o.how != length {
				run = math.NaN()
			}
			c.numbers("m", o.leastRun, run, false)
			switch {
			case math.IsNaN(o.leastRun):
				c.Verdict, c.Measure = NotKnown, []string{field + ".least_run_ft"}
				c.Says, c.Remedy = "The least run that the vent's maker asks for is not known.", "Read the maker's sheet."
			case math.IsNaN(run):
				c.Verdict, c.Measure, c.Says = NotKnown, []string{field + ".length_ft"}, "The vent's run is not known."
			case run < o.leastRun*(1-slack):
				c.Verdict = Fails
				c.Says = fmt.Sprintf("The run is %s, and the maker asks for at least %s.", a.system.Length(units.Length(run)), a.system.Length(units.Length(o.leastRun)))
				c.Remedy, c.Caution = "Make it longer where the ridge allows, or close it and use single vents.", ladder
			default:
				c.Verdict = Passes
				c.Says = fmt.Sprintf("The run is %s; the maker asks for at least %s.", a.system.Length(units.Length(run)), a.system.Length(units.Length(o.leastRun)))
			}
			out = append(out, c)
		}
	}
	return out
}

// inRange says whether all slopes lie within a maker's range. A range that is
// given on one side only is open on the other; without any, or without slopes,
// nothing is known.
func inRange(rises []float64, least, most float64) truth {
	if len(rises) == 0 || math.IsNaN(least) && math.IsNaN(most) {
		return unknown
	}
	for _, r := range rises {
		if r < least*(1-slack) || r > most*(1+slack) {
			return no
		}
	}
	return yes
}

// worstRise gives the slope that lies nearest to or farthest outside a bound of
// the range, that bound, and whether it is the upper one.
func worstRise(rises []float64, least, most float64) (rise, limit float64, upper bool) {
	margin := math.Inf(1)
	for _, r := range rises {
		if m := r - least; m < margin {
			rise, limit, upper, margin = r, least, false, m
		}
		if m := most - r; m < margin {
			rise, limit, upper, margin = r, most, true, m
		}
	}
	return rise, limit, upper
}

// checkHoles is R806.1: holes of 1/16 to 1/4 in, and mesh of as much behind
// larger ones.
func (a attic) checkHoles(rules []Rule) CheckResult {
	c := CheckResult{Key: "opening_size", Codes: keysOf(rules), Cites: cite(rules, "R806.1"), Source: "R806.1 of 2012, second-hand; the other editions from memory"}
	within := func(v float64) bool { return v >= leastHole*(1-1e-6) && v <= mostHole*(1+1e-6) }
	t := yes
	for i, o := range a.openings {
		if o.net.hi == 0 {
			continue
		}
		one := unknown
		field := ""
		switch {
		case math.IsNaN(o.hole) && within(o.mesh):
			one = yes
		case math.IsNaN(o.hole):
			field = "least_dimension_in"
		case o.hole < leastHole*(1-1e-6):
			one = no
		case within(o.hole), within(o.mesh):
			one = yes
		case math.IsNaN(o.mesh):
			field = "mesh_in"
		default:
			one = no
		}
		if field != "" {
			c.Measure = append(c.Measure, fmt.Sprintf("openings[%d].%s", i, field))
		}
		if one == no && t != no {
			c.numbers("mm", mostHole*mmAMetre, o.hole*mmAMetre, true)
			if o.hole < leastHole {
				c.numbers("mm", leastHole*mmAMetre, o.hole*mmAMetre, false)
			}
		}
		t = min(t, one)
	}
	if !a.looked {
		t, c.Measure = unknown, []string{"openings"}
	}
	c.Verdict = t.verdict()
	least, most := a.system.SmallLength(units.Length(leastHole)), a.system.SmallLength(units.Length(mostHole))
	c.Says = fmt.Sprintf("Holes of a vent are to be %s to %s at their least, larger ones with mesh of that behind them", least, most)
	switch t {
	case yes:
		c.Says += ": they are."
	case no:
		c.Measure = nil
		c.Says += ": one is not."
		c.Remedy, c.Caution = "Fit mesh that rust does not eat behind the holes; count its own net free area.", ladder
	default:
		c.Says += ": not measured of all."
	}
	return c
}

// warned are the failing checks that are warnings too; the others have had
// theirs from the areas.
var warned = []string{"clear_space", "passage", "soffit_lights", "ducts", "maker_pitch", "maker_run", "opening_size", "powered_flow"}

func warningsOf(checks []CheckResult) []Warning {
	var out []Warning
	for _, c := range checks {
		if c.Verdict == Fails && slices.Contains(warned, c.Key) {
			out = append(out, Warning{c.Key, strings.TrimSpace(c.Says + " " + c.Remedy)})
		}
	}
	return out
}

// ordered are the failing checks that a bill of work puts right. A passage that
// lets less through than the soffit holds is one only where the rule then fails.
var ordered = []string{"clear_space", "blocked_soffits", "ducts", "mixed_exhaust", "powered_with_high", "exhaust_above_intake", "maker_pitch", "maker_run"}

// amiss says whether there is work to bill under a rule.
func (a attic) amiss(rr RuleResult, checks []CheckResult) bool {
	if rr.Verdict != Passes {
		return true
	}
	return slices.ContainsFunc(checks, func(c CheckResult) bool {
		return c.Verdict == Fails && slices.Contains(ordered, c.Key) && (len(c.Codes) == 0 || slices.Contains(c.Codes, rr.Code))
	})
}
