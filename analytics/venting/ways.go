package venting

import (
	"math"
	"strings"

	"overhang/analytics/units"
)

// Way is one set of changes that satisfies a rule, in the order in which they
// are safe: clear the intake that is blocked, open the passage over the walls,
// add intake, then close exhaust above the rule's upper bound, then add exhaust. After it exhaust is never
// above intake. Areas are net free areas, exact: rounding up to whole vents is
// left to whoever orders them, intake up first.
type Way struct {
	OneIn    int        `json:"one_in"`          // the ratio that it reaches
	Needs    string     `json:"needs,omitempty"` // what must also be shown or done; empty is nothing
	ClearLow units.Area `json:"clear_low_m2"`    // blocked intake to clear
	// OpenPassage is what the passage over the walls must grow by, where it is
	// known and lets less through than the intake needs.
	OpenPassage units.Area `json:"open_passage_m2,omitempty"`
	AddLow      units.Area `json:"add_low_m2"`            // intake to add
	CloseHigh   units.Area `json:"close_high_m2"`         // exhaust to close
	AddHigh     units.Area `json:"add_high_m2"`           // exhaust to add
	LowAfter    units.Area `json:"low_after_m2"`          // at the least
	HighAfter   units.Area `json:"high_after_m2"`         // at the most
	HighShare   float64    `json:"high_share_after"`      // of high and low together, at the most
	Bounded     bool       `json:"from_bounds,omitempty"` // areas are known by bounds only: less may do
	Says        string     `json:"says"`
}

// effort orders ways: those that hang on nothing else first, then by the area
// opened and closed.
func (w Way) effort() float64 {
	e := float64(w.ClearLow + w.OpenPassage + w.AddLow + w.CloseHigh + w.AddHigh)
	if w.Needs != "" {
		e += 1e9
	}
	return e
}

// way records what would satisfy the rule at a ratio whose high vents must
// hold from to to shares of the area asked, and low vents lowFrom of it. Where
// to is finite the balance must stand at the eave, and other vents do not
// count.
//
// It must hold wherever in their bounds the areas lie: it counts on the least
// of each, and guards against the most of the exhaust. So nothing is recorded
// while an area has no bound or the place of an opening is not known, since
// more exhaust could then do harm, nor where the high vents are known too
// loosely to bring them surely between their bounds.
func (c *checking) way(oneIn int, from, to, lowFrom float64, needs string) {
	if math.IsInf(c.total.hi, 1) || !c.placed() {
		return
	}
	need := c.asked(oneIn)
	lack, room := from*need-c.high.lo, to*need-c.high.hi
	if lack > room+slack*need {
		return
	}
	change := min(max(0, lack), room) // of high vents; below nought they close
	low := max(c.low.lo, lowFrom*need)
	if !math.IsInf(to, 1) {
		low = max(low, need-c.high.lo-change)
	} else {
		// the lack goes to the eave until it holds half, then to the top until
		// that holds as much, and what bounds leave open to the eave
		rest := max(0, c.total.lo-c.high.lo-c.low.lo)
		lack := max(0, need-c.high.lo-change-low-rest)
		more := min(lack, max(0, max(need/2, c.high.hi+change)-low))
		low += more
		lack -= more
		more = min(lack, max(0, low-c.high.hi-change))
		change += more
		lack -= more
		low += lack
	}
	c.record(oneIn, needs, change, max(low, c.high.hi+change))
}

// wayOfThere is the way into the bounds of the high vents when they are shares
// of the area there: no exhaust need close for it, since intake lowers its
// share. Where an area is known by bounds only none is recorded.
func (c *checking) wayOfThere(needs string) {
	if math.IsInf(c.total.hi, 1) || !c.placed() || c.high.wide() || c.low.wide() || c.rest.wide() {
		return
	}
	r, half := c.rule, c.asked(halfRatio)
	rest := max(0, c.rest.lo-c.low.lo) // neither high nor low
	// the least high area with which the most intake that its share allows
	// holds what is there and the balance
	high := max(c.high.lo, r.HighFrom/(1-r.HighFrom)*(c.low.lo+rest), r.HighFrom*(half+rest))
	if r.HighFrom < 0.5 {
		high = max(high, rest*r.HighFrom/(1-2*r.HighFrom))
	}
	low := max(c.low.lo, high, half-high, high*(1-r.HighTo)/r.HighTo-rest)
	if low > (high*(1-r.HighFrom)/r.HighFrom-rest)*(1+slack) {
		return
	}
	c.record(halfRatio, needs, high-c.high.lo, low)
}

// record keeps a way that changes the high vents and brings the low ones up to
// an area.
func (c *checking) record(oneIn int, needs string, change, low float64) {
	w := Way{
		OneIn: oneIn, Needs: needs,
		CloseHigh: units.Area(max(0, -change)), AddHigh: units.Area(max(0, change)),
		HighAfter: units.Area(c.high.hi + change),
		Bounded:   c.high.wide() || c.low.wide() || c.total.wide(),
	}
	tiny := slack * c.asked(oneIn)
	if add := low - c.lowFitted.lo; add > tiny {
		w.ClearLow = units.Area(c.blockedLow.lo)
		w.AddLow = units.Area(max(0, add-c.blockedLow.lo))
	}
	w.LowAfter = units.Area(c.lowFitted.lo) + w.ClearLow + w.AddLow
	if !math.IsNaN(c.passage) {
		if more := low - c.lowElsewhere.lo - c.passage; more > tiny {
			w.OpenPassage = units.Area(more)
		}
		w.LowAfter = min(w.LowAfter, units.Area(c.lowElsewhere.lo+c.passage)+w.OpenPassage)
	}
	w.HighShare = share(float64(w.HighAfter), float64(w.LowAfter))
	w.Says = w.says(c.system)
	c.out.Ways = append(c.out.Ways, w)
}

// placed says whether every opening that lets air through has one known place
// in the eyes of the rule.
func (c *checking) placed() bool {
	for _, o := range c.openings {
		if p := o.at(c.rule, c.framing); o.net.hi > 0 && p != low && p != high && p != other {
			return false
		}
	}
	return true
}

func (w Way) says(s units.System) string {
	var steps []string
	if w.ClearLow > 0 {
		steps = append(steps, "clear the "+s.VentArea(w.ClearLow)+" of intake that is blocked")
	}
	if w.OpenPassage > 0 {
		steps = append(steps, "open "+s.VentArea(w.OpenPassage)+" more of passage over the walls")
	}
	if w.AddLow > 0 {
		steps = append(steps, "add "+s.VentArea(w.AddLow)+" of intake at the eave")
	}
	if w.CloseHigh > 0 {
		steps = append(steps, "close "+s.VentArea(w.CloseHigh)+" of high vents")
	}
	if w.AddHigh > 0 {
		steps = append(steps, "add "+s.VentArea(w.AddHigh)+" of high vents")
	}
	out := "To satisfy it: "
	if len(steps) == 0 {
		out += "no vent need change"
	} else {
		out += "first " + strings.Join(steps, ", then ")
	}
	if w.Needs != "" {
		out += "; with " + w.Needs
	}
	if w.Bounded {
		out += " (enough wherever in their bounds the areas lie; read the stamped areas first, less may do)"
	}
	return out + "."
}
