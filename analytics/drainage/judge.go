package drainage

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/units"
)

// cornerShare is what a bend leaves of a gutter's capacity: 15 % less, a guide
// to EN 12056-3, second-hand; taken once, however many bends.
const cornerShare = 0.85

// config is a run's gutter as it is, or as a remedy would make it.
type config struct {
	kind               Kind
	width, depth, sole float64
	fall, n, blocked   float64
	outlets            []outlet // nil not known
	count              int
	spout              spout
}

// config fills what is not known with what makes the gutter carry least or most.
// The ranges are our judgement, but for the depth of K-style gutters, which is
// from memory of trade sizes.
func (r run) config(worst bool) config {
	pick := func(known, least, most float64) float64 {
		switch {
		case !math.IsNaN(known):
			return known
		case worst:
			return least
		}
		return most
	}
	c := config{kind: r.kind, width: r.width, blocked: r.blocked, outlets: r.outlets, count: r.count, spout: r.spout}
	if c.kind == "" {
		c.kind = Box
		if worst {
			c.kind = HalfRound
		}
	}
	c.depth = pick(r.depth, 0.5*r.width, r.width)
	switch c.kind {
	case HalfRound:
		c.depth = pick(r.depth, 0.5*r.width, 0.5*r.width)
	case KStyle:
		c.depth = pick(r.depth, 0.7*r.width, 0.8*r.width)
		c.sole = pick(r.sole, 0.66*r.width, 0.7*r.width)
	}
	c.fall = pick(r.fall, 0, 1.0/96)
	c.n = r.n.lo
	if worst {
		c.n = r.n.hi
	}
	return c
}

// vague names the fields that leave the gutter's capacity a range.
func (r run) vague() []string {
	var out []string
	add := func(is bool, name string) {
		if is {
			out = append(out, name)
		}
	}
	add(r.kind == "", "gutter.kind")
	add(!known(r.depth) && r.kind != HalfRound, r.field("gutter.depth_in", "gutter.depth_mm"))
	add(!known(r.sole) && r.kind == KStyle, r.field("gutter.bottom_in", "gutter.bottom_mm"))
	add(!known(r.fall), r.field("gutter.fall_in_per_10_ft", "gutter.fall_ratio"))
	add(r.n.wide(), r.roughness)
	add(r.corners < 0, "gutter.corners")
	add(r.outlets == nil, r.field("outlets.at_ft", "outlets.at_m"))
	for i, v := range r.valleys {
		add(!known(v.at), r.field(fmt.Sprintf("valleys[%d].at_ft", i), fmt.Sprintf("valleys[%d].at_m", i)))
	}
	add(r.rule != "plan" && !known(r.pitch), "rise_in_12")
	return out
}

// unweighed names the areas that are not known.
func (r run) unweighed() []string {
	var out []string
	if !known(r.plan) {
		out = append(out, r.field("plan_area_ft2", "plan_area_m2"))
	}
	if !r.looked {
		out = append(out, "valleys")
	}
	for i, v := range r.valleys {
		if !known(v.area) {
			out = append(out, r.field(fmt.Sprintf("valleys[%d].plan_area_ft2", i), fmt.Sprintf("valleys[%d].plan_area_m2", i)))
		}
	}
	return out
}

// field gives the name of a field in the reader's units.
func (r run) field(us, metric string) string {
	if r.system == units.Metric {
		return metric
	}
	return us
}

// factor is what the rule makes of plan area: a table by pitch as SMACNA's, read
// in a home magazine, a pitch between two rows taking the upper one; or half the
// rise added to the plan width (EN 12056-3 guide, second-hand).
func (r run) factor() span {
	switch {
	case r.rule == "plan":
		return exactly(1)
	case !known(r.pitch) && r.rule == "pitch_factor":
		return span{1, 1.3}
	case !known(r.pitch):
		return span{1, 1 + mostRise/2.0}
	case r.rule == "en_12056":
		return exactly(1 + r.pitch/2)
	}
	rise := r.pitch * 12 * (1 - 1e-9)
	for _, row := range []struct{ to, factor float64 }{{3, 1}, {5, 1.05}, {8, 1.1}, {11, 1.2}} {
		if rise <= row.to {
			return exactly(row.factor)
		}
	}
	return exactly(1.3)
}

// build lays out the run with a gutter: one network, or one for each end while
// nobody knows where the outlets are. Areas that are not known count nothing.
func (r run) build(c config, worst bool) []*network {
	factor := r.factor().lo
	if worst {
		factor = r.factor().hi
	}
	even := 0.0
	if known(r.plan) {
		even = r.plan / r.length * factor
	}
	var places [][]outlet
	switch {
	case c.outlets != nil:
		own := slices.Clone(c.outlets)
		for i := range own {
			own[i].at = min(own[i].at, r.length)
		}
		places = [][]outlet{own}
	case c.count > 0 && !worst:
		places = [][]outlet{evenly(c.count, r.length)}
	case worst:
		places = [][]outlet{{{0, max(1, c.count)}}, {{r.length, max(1, c.count)}}}
	default:
		return nil
	}
	section := newSection(c.kind, c.width, c.depth, c.sole, c.blocked)
	var out []*network
	for _, outlets := range places {
		var pours []pour
		for _, v := range r.valleys {
			if !known(v.area) {
				continue
			}
			at := v.at
			if !known(at) {
				at = outlets[0].at
				if worst {
					at = farthest(outlets, r.length)
				}
			}
			pours = append(pours, pour{at, v.area * factor})
		}
		out = append(out, newNetwork(channel{section, c.fall, c.n, steps}, r.length, even, pours, outlets, c.spout))
	}
	return out
}

// evenly stands n outlets so that each serves as long a run.
func evenly(n int, length float64) []outlet {
	out := make([]outlet, n)
	for i := range out {
		out[i] = outlet{(float64(i) + 0.5) / float64(n) * length, 1}
	}
	return out
}

// farthest gives the place that is farthest from any outlet.
func farthest(outlets []outlet, length float64) float64 {
	at, off := 0.0, outlets[0].at
	for i := range outlets[1:] {
		a, b := outlets[i].at, outlets[i+1].at
		if (b-a)/2 > off {
			at, off = (a+b)/2, (b-a)/2
		}
	}
	if length-outlets[len(outlets)-1].at > off {
		at = length
	}
	return at
}

// judging is one run at work.
type judging struct {
	run
	out   Result
	worst []*network // nil while the run or an area is not known
	tight *network   // the worst of them
	free  state      // of it, full and with free outlets
	full  float64    // the rain then
	can   span       // rain at which it overflows, m/s
	sized bool       // the gutter and the run are known at all
}

func (j *judging) cornerSpan() span {
	switch {
	case j.corners < 0:
		return span{cornerShare, 1}
	case j.corners == 0:
		return exactly(1)
	}
	return exactly(cornerShare)
}

func (j *judging) runoff() {
	f := &j.out.Runoff
	f.AreaRule, f.Factor = j.rule, j.factor().public()
	total := 0.0
	if known(j.plan) {
		a := units.Area(j.plan)
		f.Even = &a
		total += j.plan
	}
	if j.looked {
		sum := 0.0
		for _, v := range j.valleys {
			sum += v.area
		}
		if known(sum) {
			a := units.Area(sum)
			f.Valleys = &a
			total += sum
		}
	}
	if known(j.rain) {
		rain := j.rain / mmPerHour
		f.Rain = &rain
		if f.Even != nil && f.Valleys != nil {
			q := units.Flow(total * j.factor().hi * j.rain)
			f.Flow = &q
		}
		if known(j.rafter, j.pitch) {
			t := SheetMinutes(j.rafter, j.pitch, j.roofN.hi, rain)
			soon := t <= 5
			f.SheetTime, f.FiveMinute = &t, &soon
		}
	}
}

func (j *judging) hydraulics() {
	j.can = span{0, math.Inf(1)}
	j.sized = known(j.width, j.length)
	if !j.sized {
		return
	}
	corner := j.cornerSpan()
	missing, vague := j.unweighed(), j.vague()
	free := span{0, math.Inf(1)}
	if len(missing) == 0 {
		j.worst = j.build(j.config(true), true)
		j.can.lo, free.lo = math.Inf(1), math.Inf(1)
		for _, n := range j.worst {
			rain, full := n.capacity(true, 0)
			free.lo = min(free.lo, rain)
			held := rain
			if n.spout.known() {
				held, _ = n.capacity(false, rain)
			}
			if held < j.can.lo || j.tight == nil {
				j.can.lo, j.tight, j.free, j.full = held, n, full, rain
			}
		}
		j.can.lo *= corner.lo
		free.lo *= corner.lo
	}
	switch {
	case len(missing) == 0 && len(vague) == 0:
		j.can.hi, free.hi = j.can.lo, free.lo
	default:
		for _, n := range j.build(j.config(false), false) {
			rain, _ := n.capacity(true, 0)
			free.hi = rain * corner.hi
			j.can.hi = free.hi
			if n.spout.known() && n.area > 0 {
				held, _ := n.capacity(false, rain)
				j.can.hi = held * corner.hi
			}
		}
	}
	if j.can.lo > 0 || !math.IsInf(j.can.hi, 1) {
		j.out.Capacity, j.out.Free = j.can.times(1/mmPerHour).public(), free.times(1/mmPerHour).public()
	}
	if j.tight == nil {
		return
	}
	usable := units.Length(j.tight.depth)
	j.out.Usable = &usable
	if !known(j.rain) || j.outlets == nil {
		return
	}
	st := j.tight.at(j.rain/corner.lo, false)
	deep := units.Length(st.deepest)
	j.out.Deepest = &deep
	served := j.tight.served(j.rain)
	for i, o := range j.tight.outlets {
		s := OutletState{At: units.Length(o.at), Holes: o.holes, Area: units.Area(served[i]), Flow: units.Flow(served[i] * j.rain)}
		if j.spout.known() {
			head := units.Length(j.spout.head(served[i] * j.rain / float64(o.holes)))
			can := units.Flow(j.spout.flow(j.tight.depth) * float64(o.holes))
			trade := units.Flow(j.spout.area * tradeSpeed * float64(o.holes))
			s.Head, s.Capacity, s.Trade = &head, &can, &trade
		}
		j.out.Outlets = append(j.out.Outlets, s)
	}
}

// tradeSpeed is the trade's figure of 1 in² of downspout for 1,200 ft² at 1 in/h
// (trade pages, second-hand), as the speed in the downspout, m/s.
const tradeSpeed = 1200 * 144 * inPerHour

// judge compares a span with what is asked and names what would settle it.
func judge(have span, ask float64, measure []string) (Verdict, []string) {
	switch {
	case !known(ask):
		return NotKnown, measure
	case have.lo >= ask*(1-1e-9):
		return Passes, nil
	case have.hi < ask*(1-1e-9):
		return Fails, nil
	}
	return NotKnown, measure
}

func (j *judging) rainField() string { return j.field("rain_in_per_h", "rain_mm_per_h") }

func (j *judging) capacity() Judgement {
	out := Judgement{Key: "capacity", Verdict: NotKnown, Source: "spatially varied flow by momentum, after Beij (NBS RP 644, 1934) and Hager; Manning's friction"}
	var measure []string
	if !known(j.rain) {
		measure = append(measure, j.rainField())
	}
	if !known(j.length) {
		measure = append(measure, j.field("length_ft", "length_m"))
	}
	if !known(j.width) {
		measure = append(measure, j.field("gutter.width_in", "gutter.width_mm"))
	}
	measure = append(append(measure, j.unweighed()...), j.vague()...)
	if !j.sized || j.out.Capacity == nil {
		out.Measure = measure
		out.Says = "Whether the gutter carries the rain is not known. First learn " + strings.Join(measure, ", ") + "."
		return out
	}
	out.Verdict, out.Measure = judge(j.can, j.rain, measure)
	can := j.writeSpan(j.can, j.writeRain)
	if known(j.rain) {
		out.MarginShare = span{j.can.lo/j.rain - 1, j.can.hi/j.rain - 1}.public()
		out.Says = map[Verdict]string{
			Passes:   fmt.Sprintf("The gutter carries the design rain of %s: it would overflow at %s.", j.writeRain(j.rain), can),
			Fails:    fmt.Sprintf("The gutter overflows in the design rain of %s: it is full at %s.", j.writeRain(j.rain), can),
			NotKnown: fmt.Sprintf("The gutter may or may not carry the design rain of %s: it would overflow at %s.", j.writeRain(j.rain), can),
		}[out.Verdict]
	} else {
		out.Says = fmt.Sprintf("The gutter would overflow at %s.", can)
	}
	if len(out.Measure) > 0 {
		out.Says += " First learn " + strings.Join(out.Measure, ", ") + "."
	}
	if !j.spout.known() {
		out.Notes = append(out.Notes, "The downspouts' size is not known: the outlets are taken to let the water out freely.")
	}
	if out.Verdict != Passes && j.tight != nil && known(j.rain) {
		out.Remedies = j.capacityRemedies()
	}
	return out
}

// downspouts judges whether each outlet lets its share out under a full gutter.
func (j *judging) downspouts() Judgement {
	out := Judgement{Key: "downspouts", Verdict: NotKnown, Source: "weir, then orifice, with the coefficients of EN 12056-3, from memory"}
	var measure []string
	add := func(is bool, name string) {
		if is {
			measure = append(measure, name)
		}
	}
	add(!known(j.rain), j.rainField())
	add(!j.spout.known(), "downspout")
	add(!known(j.length), j.field("length_ft", "length_m"))
	add(!known(j.width), j.field("gutter.width_in", "gutter.width_mm"))
	measure = append(measure, j.unweighed()...)
	if len(measure) > 0 {
		out.Measure = measure
		if j.outlets == nil {
			out.Measure = append(out.Measure, j.field("outlets.at_ft", "outlets.at_m"))
		}
		out.Says = "Whether the downspouts let the rain out is not known. First learn " + strings.Join(out.Measure, ", ") + "."
		return out
	}
	total := j.tight.area * j.rain
	least := j.config(true)
	most := j.config(false)
	one := span{
		j.spout.flow(newSection(least.kind, least.width, least.depth, least.sole, least.blocked).depth),
		j.spout.flow(newSection(most.kind, most.width, most.depth, most.sole, most.blocked).depth),
	}
	need := int(math.Ceil(total / one.lo * (1 - 1e-9)))
	var load span // of the busiest downspout
	switch {
	case j.outlets != nil:
		for i, a := range j.tight.served(j.rain) {
			load.hi = max(load.hi, a*j.rain/float64(j.tight.outlets[i].holes))
		}
		load.lo = load.hi
	case j.count > 0:
		load = span{total / float64(j.count), total}
	default:
		load = span{0, total}
	}
	share := span{one.lo / load.hi, math.Inf(1)}
	if load.lo > 0 {
		share.hi = one.hi / load.lo
	}
	out.Verdict, out.Measure = judge(share, 1, j.vague())
	if !math.IsInf(share.lo, 0) {
		out.MarginShare = span{share.lo - 1, share.hi - 1}.public()
	}
	word := map[Verdict]string{Passes: "let the design rain out", Fails: "do not let the design rain out", NotKnown: "may or may not let the design rain out"}[out.Verdict]
	out.Says = fmt.Sprintf("The downspouts %s: under a full gutter each takes %s, and the busiest is brought %s.", word, j.writeSpan(one, j.writeFlow), j.writeSpan(load, j.writeFlow))
	trade := j.spout.area * tradeSpeed
	if (trade >= load.hi) != (out.Verdict == Passes) || trade > 1.2*one.lo {
		out.Notes = append(out.Notes, fmt.Sprintf("The trade's figure, 1 in² of downspout for 1,200 ft² at 1 in/h, gives %s each. It asks for about 8 in of water over the outlet, which no eave gutter holds: it disagrees with the hydraulics, and we judge by the hydraulics.", j.writeFlow(trade)))
	}
	if out.Verdict != Passes {
		out.Remedies = j.spoutRemedies(load.hi, need)
	}
	return out
}

// Lengths of run of the trade: trade pages, second-hand.
const (
	mostPerOutlet = 50 * foot
	mostOneWay    = 40 * foot
)

func (j *judging) runPerOutlet() Judgement {
	out := Judgement{Key: "run_per_outlet", Verdict: NotKnown, Source: "at most 50 ft of gutter for an outlet: trade pages, second-hand"}
	if !known(j.length) || (j.outlets == nil && j.count == 0) {
		if !known(j.length) {
			out.Measure = append(out.Measure, j.field("length_ft", "length_m"))
		}
		if j.outlets == nil && j.count == 0 {
			out.Measure = append(out.Measure, j.field("outlets.at_ft", "outlets.at_m"))
		}
		out.Says = "How much gutter an outlet serves is not known. First learn " + strings.Join(out.Measure, ", ") + "."
		return out
	}
	var each span
	if j.outlets != nil {
		for i, o := range j.outlets {
			at := min(o.at, j.length)
			from, to := 0.0, j.length
			if i > 0 {
				from = (j.outlets[i-1].at + at) / 2
			}
			if i+1 < len(j.outlets) {
				to = (min(j.outlets[i+1].at, j.length) + at) / 2
			}
			each.hi = max(each.hi, to-from)
		}
		each.lo = each.hi
	} else {
		each = span{j.length / float64(j.count), j.length}
		if j.count > 1 {
			each.hi = j.length * (1 - 1/float64(2*j.count))
		}
	}
	switch {
	case each.hi <= mostPerOutlet*(1+1e-9):
		out.Verdict = Passes
	case each.lo > mostPerOutlet*(1+1e-9):
		out.Verdict = Fails
		n := int(math.Ceil(j.length / mostPerOutlet * (1 - 1e-9)))
		out.Remedies = []Remedy{{Key: "more_outlets", Count: n, Cures: true, Says: fmt.Sprintf("Have %s, each serving as much of the run.", outletsWord(n))}}
	default:
		out.Measure = []string{j.field("outlets.at_ft", "outlets.at_m")}
	}
	out.Margin = span{mostPerOutlet - each.hi, mostPerOutlet - each.lo}.public()
	out.Says = fmt.Sprintf("An outlet serves %s of gutter; the trade's most is %s.", j.writeSpan(each, j.writeLength), j.writeLength(mostPerOutlet))
	return out
}

// leastFall is 1/4 in per 10 ft, the least fall in practice; tableFall is the
// 1/16 in per ft of the least row of the plumbing tables. Trade pages,
// second-hand.
const (
	leastFall = 0.25 / 120
	tableFall = 1.0 / 192
)

func (j *judging) fallCheck() Judgement {
	out := Judgement{Key: "fall", Verdict: NotKnown, Source: "1/4 in per 10 ft at the least, and both ways beyond 40 ft: trade pages, second-hand"}
	if !known(j.fall) {
		out.Measure = []string{j.field("gutter.fall_in_per_10_ft", "gutter.fall_ratio")}
		out.Says = "The gutter's fall is not known: measure it with a level, or see whether water stands in it after rain."
		return out
	}
	reach := math.NaN() // of the longest side of an outlet
	if known(j.length) && j.outlets != nil {
		last := len(j.outlets) - 1
		reach = max(j.outlets[0].at, j.length-min(j.outlets[last].at, j.length))
		for i := range last {
			reach = max(reach, (min(j.outlets[i+1].at, j.length)-j.outlets[i].at)/2)
		}
	}
	out.Margin = nil
	share := exactly(j.fall/leastFall - 1)
	out.MarginShare = share.public()
	says := fmt.Sprintf("The gutter falls %s", j.writeFall(j.fall))
	if j.fall == 0 {
		says = "The gutter is level"
	}
	steep := j.fall >= leastFall*(1-1e-9)
	long := known(reach) && reach > mostOneWay*(1+1e-9)
	switch {
	case !steep:
		out.Verdict = Fails
		out.Says = says + ": water and granules stay in it. The least in practice is " + j.writeFall(leastFall) + "."
		r := Remedy{Key: "fall", Cures: !long, Says: "Hang it with a fall of " + j.writeFall(leastFall) + " or more towards the outlets."}
		if known(reach) {
			h := units.Length(reach * leastFall)
			r.Height = &h
			r.Says = fmt.Sprintf("Hang it with a fall of %s or more towards the outlets: %s from the high point down.", j.writeFall(leastFall), j.writeSmall(float64(h)))
		}
		out.Remedies = append(out.Remedies, r)
	case long:
		out.Verdict = Fails
		out.Says = fmt.Sprintf("%s over %s one way; beyond %s it should fall both ways.", says, j.writeLength(reach), j.writeLength(mostOneWay))
	case !known(reach):
		out.Measure = []string{j.field("outlets.at_ft", "outlets.at_m")}
		out.Says = says + ", enough in practice. Whether any part falls more than " + j.writeLength(mostOneWay) + " one way is not known."
	default:
		out.Verdict = Passes
		out.Says = says + ", enough in practice."
	}
	if long {
		out.Remedies = append(out.Remedies, Remedy{Key: "more_outlets", Cures: steep, Says: "Put an outlet at the other end and let the gutter fall both ways."})
	}
	if steep && j.fall < tableFall*(1-1e-9) {
		out.Notes = append(out.Notes, "Sources disagree: the plumbing tables begin at 1/16 in per ft, 0.625 in per 10 ft, which is more than the 1/4 to 1/2 in per 10 ft of practice.")
	}
	return out
}

func outletsWord(n int) string {
	if n == 1 {
		return "1 outlet"
	}
	return strconv.Itoa(n) + " outlets"
}

// remarks are about the run as a whole.
func (j *judging) remarks() {
	note := func(is bool, says string) {
		if is {
			j.out.Notes = append(j.out.Notes, says)
		}
	}
	note(known(j.minutes) && j.minutes > 10, fmt.Sprintf("The rain given is for %.0f minutes. Gutters are sized by the five-minute rain, which is heavier: a pass here is not shown for it.", j.minutes))
	note(j.out.Runoff.FiveMinute != nil && *j.out.Runoff.FiveMinute, "Water is off the slope in under five minutes, so the five-minute rain applies.")
	note(j.out.Runoff.FiveMinute != nil && !*j.out.Runoff.FiveMinute, "Water takes over five minutes to leave the slope: the five-minute rain is on the safe side.")
	note(j.rule == "pitch_factor", "Plan area is multiplied by a table's factor for pitch, which stands for rain driven by wind; rain that falls straight needs none.")
	note(j.rule == "en_12056", "Half the rise is added to the plan width, for rain driven by wind.")
	note(j.derived == "plan_area", "The plan area is taken as run times length of slope in plan, as on a rectangular slope.")
	note(j.derived == "rafter", "The length of the slope is taken from its area, as on a rectangular slope.")
	note(j.kind == KStyle, "A K-style gutter is taken as a trapezoid.")
	note(j.kind != "" && j.kind != HalfRound && !known(j.depth) && known(j.width), "The gutter's depth is not known: a usual range for its width is taken.")
	note(!j.blockedKnown, "Nobody said how much of the gutter granules and plants fill: it is judged clean.")
	note(j.blockedKnown && j.blocked > 0, fmt.Sprintf("Granules and plants fill %.0f %% of the section; it is judged with that bed in it. Cleaning comes before any change.", 100*j.blocked))
	note(j.guard != "" && j.guard != "none", "What a gutter guard sheds or lets through is not known here: the gutter is judged as if open. Watch it in a hard rain.")
	seen := j.granules != nil && *j.granules
	// Shedding in the first year or two: common practice, no source.
	note(seen && known(j.age) && j.age < 2, "Granules in the gutter of a new roof are loose ones left from making and laying, and normal in its first year or two; wash them out.")
	note(seen && known(j.age) && j.age >= 2, "Granules that keep coming on an older roof are a sign of wear: look at the shingles.")
	note(seen && !known(j.age), "Granules are normal from a new roof and a sign of wear on an old one: the roof's age would tell.")
	over := j.overhang / inch
	note(over < 0.5-1e-9 || over > 0.75+1e-9, fmt.Sprintf("The shingles stand %s past the drip edge; 1/2 to 3/4 in (13 to 19 mm) is usual.", j.writeSmall(j.overhang)))
	remedies := false
	for _, c := range j.out.Checks {
		remedies = remedies || len(c.Remedies) > 0
	}
	if remedies {
		j.out.Cautions = []string{
			"Work at an eave needs fall protection and a footed ladder, and never on frost, ice, or a wet or steep slope; keep clear of electric lines.",
			"Local code and its official decide; downspouts must lead water away from the house and not onto a neighbour. Leave what you are not licensed for to those who are.",
			"Moving a gutter or trimming shingles can touch a warranty: ask its maker first.",
		}
	}
}

func (j *judging) writeRain(v float64) string {
	if j.system == units.Metric {
		return fmt.Sprintf("%.0f mm/h", v/mmPerHour)
	}
	return fmt.Sprintf("%.1f in/h", v/inPerHour)
}

func (j *judging) writeFlow(v float64) string {
	if j.system == units.Metric {
		return fmt.Sprintf("%.2f l/s", v*1000)
	}
	return fmt.Sprintf("%.1f gpm", units.Flow(v).In(units.GallonPerMinute))
}

func (j *judging) writeFall(v float64) string {
	if j.system == units.Metric {
		return fmt.Sprintf("%.1f mm per m", v*1000)
	}
	return strconv.FormatFloat(math.Round(v*12000)/100, 'f', -1, 64) + " in per 10 ft"
}

func (j *judging) writeLength(v float64) string { return j.system.Length(units.Length(v)) }

func (j *judging) writeSmall(v float64) string {
	if j.system == units.Metric {
		return j.system.SmallLength(units.Length(v))
	}
	return strconv.FormatFloat(math.Round(v/inch*10)/10, 'f', -1, 64) + " in"
}

// writeSpan writes a number or a range.
func (j *judging) writeSpan(s span, write func(float64) string) string {
	lo, hi := write(s.lo), ""
	if !math.IsInf(s.hi, 1) {
		hi = write(s.hi)
	}
	switch {
	case hi == lo:
		return lo
	case hi == "" && s.lo <= 0:
		return "an unknown figure"
	case hi == "":
		return lo + " or more"
	case s.lo <= 0:
		return "at most " + hi
	}
	return lo + " to " + hi
}
