package venting

import (
	"math"
	"strings"

	"overhang/analytics/units"
)

// Way is one set of changes that satisfies a rule, in the order in which they
// are safe: clear the intake that is blocked, add intake, then close exhaust
// above the rule's upper bound, then add exhaust. After it exhaust is never
// above intake. Areas are net free areas, exact: rounding up to whole vents is
// left to whoever orders them, intake up first.
type Way struct {
	OneIn     int        `json:"one_in"`                // the ratio that it reaches
	Needs     string     `json:"needs,omitempty"`       // what must also be shown or done; empty is nothing
	ClearLow  units.Area `json:"clear_low_m2"`          // blocked intake to clear
	AddLow    units.Area `json:"add_low_m2"`            // intake to add
	CloseHigh units.Area `json:"close_high_m2"`         // exhaust to close
	AddHigh   units.Area `json:"add_high_m2"`           // exhaust to add
	LowAfter  units.Area `json:"low_after_m2"`          //
	HighAfter units.Area `json:"high_after_m2"`         //
	HighShare float64    `json:"high_share_after"`      // of high and low together
	Estimate  bool       `json:"from_bounds,omitempty"` // figured on the middle of areas or places not known exactly
	Says      string     `json:"says"`
}

// effort orders ways: those that hang on nothing else first, then by the area
// opened and closed.
func (w Way) effort() float64 {
	e := float64(w.ClearLow + w.AddLow + w.CloseHigh + w.AddHigh)
	if w.Needs != "" {
		e += 1e9
	}
	return e
}

// way records what would satisfy the rule at a ratio whose high vents must
// hold from to to shares of the area asked, and low vents lowFrom of it. Where
// to is finite the balance must stand at the eave, and other vents do not
// count. Nothing is recorded while an area has no bound.
func (c *checking) way(oneIn int, from, to, lowFrom float64, needs string) {
	if math.IsInf(c.total.hi, 1) {
		return
	}
	need := c.asked(oneIn)
	h, l := c.high.middle(), c.low.middle()
	rest := max(0, c.total.middle()-h-l)
	if !math.IsInf(to, 1) {
		rest = 0
	}
	high := min(max(h, from*need), to*need)
	low := max(l, lowFrom*need)
	if !math.IsInf(to, 1) {
		low = max(low, need-high)
	} else {
		// the lack goes to the eave until it holds half, then to the top until
		// that holds as much
		lack := max(0, need-high-low-rest)
		more := min(lack, max(0, max(need/2, high)-low))
		low += more
		lack -= more
		more = min(lack, max(0, low-high))
		high += more
		lack -= more
		low += lack / 2
		high += lack / 2
	}
	low = max(low, high)

	w := Way{
		OneIn: oneIn, Needs: needs,
		CloseHigh: units.Area(max(0, h-high)), AddHigh: units.Area(max(0, high-h)),
		HighAfter: units.Area(high),
		Estimate:  c.high.wide() || c.low.wide() || c.total.wide(),
	}
	if add := max(0, low-l); add > slack*need {
		w.ClearLow = units.Area(c.blockedLow.middle())
		w.AddLow = units.Area(max(0, add-float64(w.ClearLow)))
	}
	w.LowAfter = units.Area(l) + w.ClearLow + w.AddLow
	w.HighShare = share(high, float64(w.LowAfter))
	w.Says = w.says(c.system)
	c.out.Ways = append(c.out.Ways, w)
}

func (w Way) says(s units.System) string {
	var steps []string
	if w.ClearLow > 0 {
		steps = append(steps, "clear the "+s.VentArea(w.ClearLow)+" of intake that is blocked")
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
	if w.Estimate {
		out += " (figured on the middle of what is known; measure first)"
	}
	return out + "."
}
