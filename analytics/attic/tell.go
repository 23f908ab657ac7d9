package attic

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// tell puts a summary into words.
func (h house) tell(s Summary) Result {
	r := Result{Summary: s, Place: h.place}
	peak := s.Heat.PeakCovering
	heat := "In the hottest hour of the year the covering reaches " + temperatures(h.system, peak) + " and the attic's air " +
		temperatures(h.system, s.Heat.PeakAttic)
	switch over := s.Hotter.PeakCovering.Likely; {
	case over > 0.3:
		heat += fmt.Sprintf("; with vents balanced to 1/300 the covering would be %s cooler and the attic %s.",
			degrees(h.system, over), degrees(h.system, s.Hotter.PeakAttic.Likely))
	case over < -0.3:
		heat += fmt.Sprintf("; that is %s cooler than with vents balanced to 1/300.", degrees(h.system, over))
	default:
		heat += ", as with vents balanced to 1/300."
	}
	r.Says = append(r.Says, heat)
	switch pace := s.Ageing.Pace; {
	case pace.Likely > 1.005:
		r.Says = append(r.Says, fmt.Sprintf("So the covering ages %s faster than it would with balanced vents. Colour, direction and climate do more.", share(Range{pace.Least - 1, pace.Likely - 1, pace.Most - 1})))
	case pace.Likely < 0.995:
		r.Says = append(r.Says, fmt.Sprintf("So the covering ages %s slower than it would with balanced vents.", share(Range{1 - pace.Most, 1 - pace.Likely, 1 - pace.Least})))
	default:
		r.Says = append(r.Says, "The vents make no difference to the covering's ageing that is worth naming.")
	}
	if s.WinterMost.SnowHours > 0 {
		r.Says = append(r.Says, h.icy(s))
	}
	if s.WinterMost.SnowHours > 0 {
		r.Says = append(r.Says, h.cold(s.Coldness))
	}
	if s.WinterMost.Frost >= 0.01 {
		says := "Most frost on the underside of the deck: "
		if h.system == units.Metric {
			says += between(s.WinterLeast.Frost*1000, s.WinterMost.Frost*1000, 10) + " g/m²"
		} else {
			says += between(s.WinterLeast.Frost*1000*perFoot, s.WinterMost.Frost*1000*perFoot, 1) + " g a square foot"
		}
		r.Says = append(r.Says, says+"; it comes with the house's air through the ceiling and wets the deck as it thaws.")
	}
	house, balanced := s.Air.House, s.Air.HouseBalanced
	if house.Likely > balanced.Likely*1.1 && house.Likely > 0.01 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("The vents draw %.0f %% more of the house's heated air up through the ceiling than balanced vents would: more intake, or fewer leaks, comes before more exhaust.",
			100*(house.Likely/balanced.Likely-1)))
	}
	if low, high := h.span[intake], h.span[exhaust]; high.least > low.most*(1+1e-9) {
		r.Warnings = append(r.Warnings, "There is more exhaust than intake: what the eaves do not let in is drawn from the house.")
	}
	r.Cautions = []string{
		"A calculation from a typical year of weather and a simple attic, not a measurement.",
		"Seal the ceiling and insulate before adding vents. Local code and its official decide on vents; wiring, ducts and structure belong to licensed trades.",
		"Work on a roof needs fall protection, and never on frost, ice, or a wet or steep slope; an attic has wiring, nails and no floor.",
	}
	return r
}

// perFoot is square metres in a square foot.
const perFoot = float64(units.SquareFoot)

// icy tells of melt under snow.
func (h house) icy(s Summary) string {
	least, most := s.WinterLeast.Melt, s.WinterMost.Melt
	if most < 0.5 {
		return "Snow on this slope hardly melts from below while it freezes outside."
	}
	var amount string
	if h.system == units.Metric {
		amount = between(least, most, 1) + " kg of water a square metre"
	} else {
		amount = between(least*perFoot/0.45359237, most*perFoot/0.45359237, 0.1) + " lb of water a square foot"
	}
	says := fmt.Sprintf("While it freezes outside, the house melts %s from under the snow in a winter, over %s hours", amount, between(s.WinterLeast.MeltHours, s.WinterMost.MeltHours, 1))
	if s.WinterMost.IcingHours >= 1 {
		says += fmt.Sprintf(", %s of them colder than %s, when it freezes at the eave", between(s.WinterLeast.IcingHours, s.WinterMost.IcingHours, 1), h.system.Temperature(icing))
	}
	if b := s.WinterBalanced.Melt; b < 0.8*s.Winter.Melt {
		says += fmt.Sprintf("; with balanced vents it would be %.0f %% less", 100*(1-b/s.Winter.Melt))
	}
	return says + "."
}

// cold tells whether the attic stays cold in the weather of icings.
func (h house) cold(c Coldness) string {
	says := fmt.Sprintf("At %s outside, calm and with %s of snow on the ground, the attic is at %s; to keep ice from growing at the eave it should be at %s or less",
		h.system.Temperature(icing), h.system.Length(0.3*units.Metre), temperatures(h.system, c.Attic), h.system.Temperature(coldEnough))
	switch c.Verdict {
	case units.Passes:
		return says + ": it is."
	case units.Fails:
		return says + ": it is too warm by " + degrees(h.system, max(-c.Margin.Likely, 0.6)) + "."
	}
	return says + ": it may be or not, for want of measurements."
}

func temperatures(s units.System, r Range) string {
	a, b := s.Temperature(units.Temperature(r.Least)), s.Temperature(units.Temperature(r.Most))
	if a == b {
		return a
	}
	return a + " to " + b
}

// between writes a number or a range to the nearest step.
func between(a, b, step float64) string {
	write := func(v float64) string {
		v = math.Round(v/step) * step
		if step < 1 {
			return fmt.Sprintf("%.1f", v)
		}
		return fmt.Sprintf("%.0f", v)
	}
	if write(a) == write(b) {
		return write(a)
	}
	return write(a) + " to " + write(b)
}
