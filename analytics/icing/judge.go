package icing

import (
	"fmt"
	"math"
	"strings"

	"overhang/analytics/units"
)

// The figures of the texts.
const (
	insideOuter  = 24 * inch // IRC R905.1.2, level inside the wall line (second-hand)
	steepReach   = 36 * inch // IRC 2015 to 2021 R905.1.2, along the slope (second-hand)
	steepPitch   = 8.0 / 12  // IRC 2015 to 2021 R905.1.2 (second-hand)
	upSlope      = 0.9       // OBC 9.26.5.1.(1), along the slope (read); NBC same, from memory
	insideInner  = 0.3       // OBC 9.26.5.1.(1), level inside the inner face (read); NBC same, from memory
	overhangFree = 0.9       // OBC 9.26.5.1.(2), overhang along the slope to the inner face (read)
	pitchFree    = 1 / 1.5   // OBC 9.26.5.1.(2), slope 1:1.5 and steeper (read)
	daysFree     = 3500.0    // OBC 9.26.5.1.(2), degree-days in °C (read)
	lowPitch     = 1.0 / 3   // NBC 9.26.8., slopes that the method for low slopes is for (from memory)
	coldJanuary  = -35.0 / 9 // 25 °F, IRC 2003 R905.2.7.1 (second-hand)
)

// reason is a condition of a text: what it comes to, what it says, and the
// fields that would settle it.
type reason struct {
	is      Answer
	says    string
	measure []string
}

func (e eave) judge(edition units.Edition) EaveRule {
	out := EaveRule{Code: edition.Key}
	var a asked
	face, inside := e.outer, insideOuter
	if edition.Canadian {
		a = e.canadian(edition, &out)
		face, inside = e.inner, insideInner
	} else {
		a = e.american(edition, &out)
	}
	need, missed := a.need, a.missed
	switch {
	case e.rafter < need.lo-1e-9:
		out.Governs = "rafter"
	case e.rafter < need.hi:
		out.Governs = ""
	}
	need = span{min(need.lo, e.rafter), min(need.hi, e.rafter)}
	out.Need = need.lengths()
	out.NeedLevel = span{
		min(max(face.lo+inside, a.always/along(a.pitch.hi)), e.rafter/along(a.pitch.hi)),
		min(max(face.hi+inside, a.ever/along(a.pitch.lo)), e.rafter/along(a.pitch.lo)),
	}.lengths()

	out.There = e.there.lengths()
	past := span{e.there.lo/along(e.pitch.hi) - face.hi, e.there.hi/along(e.pitch.lo) - face.lo}
	if e.cover != "" && !math.IsInf(past.lo, 0) && !math.IsInf(past.hi, 0) {
		out.Inside = past.lengths()
	}
	margin := e.there.minus(need)
	switch {
	case out.Required == No:
		out.Verdict = Passes
	case margin.lo >= -tolerance:
		out.Verdict = Passes
	case margin.hi < -tolerance && out.Required == Yes:
		out.Verdict = Fails
	default:
		out.Verdict = NotKnown
		if math.IsInf(e.there.hi, 1) || e.there.hi > e.there.lo {
			out.Measure = append(out.Measure, e.thereMissed...)
		}
		if need.hi > need.lo && margin.hi >= -tolerance {
			missed = append(missed, e.missedPitch...)
			if edition.Canadian {
				missed = append(missed, e.missedInner...)
			} else {
				missed = append(missed, e.missedOuter...)
			}
		}
		for _, f := range missed {
			out.Measure = appendNew(out.Measure, f)
		}
	}
	if out.Required != No && e.cover != "" {
		out.Margin = margin.lengths()
	}
	out.Order = e.roll.order(need, e.length, e.system)
	e.say(edition, &out, need, inside, margin)
	return out
}

// asked is the reach that a text asks for. Always and ever are the least reach
// along the slope that it asks for whatever the overhang, at all and at any of
// the pitches.
type asked struct {
	need         span
	pitch        span // where it asks at all
	always, ever float64
	missed       []string // fields that would settle whether it asks
}

func appendNew(list []string, s string) []string {
	for _, have := range list {
		if have == s {
			return list
		}
	}
	return append(list, s)
}

// american fills in the rule of an edition of the IRC.
func (e eave) american(edition units.Edition, out *EaveRule) asked {
	out.Cites = edition.String() + ", R905.1.2"
	out.Source = "second-hand"
	if edition.Year < 2015 {
		// 2006 and 2012 have it with the covering; the words are alike.
		out.Cites = edition.String() + ", R905.2.7.1"
		out.Source = "second-hand; the section's number in this edition from memory"
	}
	ice := e.iceCountry()
	free := e.accessory()
	out.Required = and(ice.is, not(free.is))
	a := asked{pitch: e.pitch}
	switch {
	case free.is == Yes:
		out.Why = free.says
	case ice.is == No, out.Required == Yes:
		out.Why = ice.says
	default:
		var open []string
		for _, q := range []reason{ice, free} {
			if q.is == Unknown {
				open, a.missed = append(open, q.says), append(a.missed, q.measure...)
			}
		}
		out.Why = strings.Join(open, " ")
	}

	steep := edition.Year >= 2015 && (edition.Year != 2024 || e.steep2024)
	if edition.Year == 2024 {
		switch {
		case e.pitch.hi < steepPitch*(1-1e-9):
		case steep:
			out.Notes = append(out.Notes, "Sources disagree whether this edition keeps the 36 in along slopes of 8:12 or more; it is taken as kept (steep_rule_2024).")
		default:
			out.Notes = append(out.Notes, "Sources disagree whether this edition keeps the 36 in along slopes of 8:12 or more; it is taken as removed, as asked (steep_rule_2024).")
		}
	}
	reach := func(pitch, outer float64) (float64, string) {
		line := along(pitch) * (outer + insideOuter)
		if steep && pitch >= steepPitch*(1-1e-9) && steepReach > line {
			return steepReach, "steep_36_in"
		}
		return line, "wall_line"
	}
	a.need = ends(reach, e.pitch, e.outer, out)
	if steep {
		switch isOver(e.pitch, steepPitch, true) {
		case Yes:
			a.always, a.ever = steepReach, steepReach
		case Unknown:
			a.ever = steepReach
		}
	}
	return a
}

// ends gives the reach at both ends; it grows with pitch and with overhang.
func ends(reach func(pitch, level float64) (float64, string), pitch, level span, out *EaveRule) span {
	lo, by := reach(pitch.lo, level.lo)
	hi, byMost := reach(pitch.hi, level.hi)
	if by == byMost {
		out.Governs = by
	}
	return span{lo, hi}
}

// iceCountry is whether ice backs water up at eaves here, as the American
// texts ask.
func (e eave) iceCountry() reason {
	switch {
	case e.history == Yes:
		return reason{is: Yes, says: "Ice has backed water up at eaves here."}
	case e.history == No:
		return reason{is: No, says: "The local table names no history of ice that backs water up at eaves."}
	case e.january <= coldJanuary+1e-9:
		return reason{is: Yes, says: "The mean January temperature is 25 °F (−4 °C) or less, which the text of 2003 took for it; the local table decides."}
	}
	return reason{Unknown, "Whether ice backs water up at eaves here is for the local table, and not known.", []string{"ice_history"}}
}

// accessory is whether the American exemption holds: a detached accessory
// building with no heated room (from memory).
func (e eave) accessory() reason {
	var small Answer
	switch e.structure {
	case "main", "addition", "porch":
		small = No
	case "garage", "carport", "accessory":
		small = Yes
	default:
		small = Unknown
	}
	out := reason{is: and(small, e.detached, not(e.heated))}
	switch out.is {
	case Yes:
		out.says = "A detached accessory building without a heated room is exempt."
	case Unknown:
		out.says = "A detached accessory building without a heated room would be exempt."
		out.measure = e.fieldsOf(small, true)
	}
	return out
}

// fieldsOf names what would settle an exemption by structure.
func (e eave) fieldsOf(kind Answer, standsAlone bool) []string {
	var out []string
	if kind == Unknown {
		out = append(out, "structure")
	}
	if standsAlone && e.detached == Unknown {
		out = append(out, "detached")
	}
	if e.heated == Unknown {
		out = append(out, "heated")
	}
	return out
}

// canadian fills in the rule of a Canadian edition.
func (e eave) canadian(edition units.Edition, out *EaveRule) asked {
	out.Cites = edition.String() + ", 9.26.5.1."
	out.Source = "9.26.5.1. as in O. Reg. 332/12, read"
	if edition.Code != "OBC" {
		out.Source = "from memory, taken as Ontario's text, which was read"
	}
	// The ends of the overhang along the slope; both grow.
	slope := span{e.inner.lo * along(e.pitch.lo), e.inner.hi * along(e.pitch.hi)}
	wide := reason{is: isOver(slope, overhangFree, false), says: fmt.Sprintf("The overhang is more than %s along the slope, from the edge to the wall's inner face: there protection is not required.", e.system.SmallLength(overhangFree))}
	if wide.is == Unknown {
		wide.says = fmt.Sprintf("With more than %s of overhang along the slope, from the edge to the wall's inner face, none would be required.", e.system.SmallLength(overhangFree))
		wide.measure = append(append(wide.measure, e.missedInner...), e.missedPitch...)
	}
	steep := reason{is: isOver(e.pitch, pitchFree, true), says: "The slope is 1:1.5 (8:12) or steeper."}
	if steep.is == Unknown {
		steep.says, steep.measure = "On slopes of 1:1.5 (8:12) or steeper none would be required.", e.missedPitch
	}
	mild := reason{is: Unknown, says: "Where there are no more than 3,500 degree-days (°C) none would be required.", measure: []string{"degree_days_c"}}
	switch {
	case e.degreeDays <= daysFree*(1+1e-9):
		mild.is, mild.says = Yes, "There are no more than 3,500 degree-days (°C) here."
	case e.degreeDays > daysFree:
		mild.is = No
	}
	var shelter Answer
	switch e.structure {
	case "garage", "carport", "porch":
		shelter = Yes
	case "":
		shelter = Unknown
	default:
		shelter = No
	}
	cold := reason{is: and(shelter, not(e.heated)), says: "An unheated garage, carport or porch is exempt."}
	if cold.is == Unknown {
		cold.says, cold.measure = "An unheated garage, carport or porch would be exempt.", e.fieldsOf(shelter, false)
	}
	// The method is for slopes under 1:3 (9.26.8., from memory).
	low := reason{is: and(e.lowSlope, not(isOver(e.pitch, lowPitch, true))), says: "The shingles are laid by the method for low slopes (9.26.8.)."}
	if low.is == Unknown {
		low.says = "Shingles laid by the method for low slopes (9.26.8.) would need none besides."
		if low.measure = e.missedPitch; e.lowSlope == Unknown {
			low.measure = []string{"low_slope_method"}
		}
	}

	var open, missed []string
	out.Required = Yes
	for _, q := range []reason{cold, mild, wide, steep, low} {
		switch q.is {
		case Yes:
			if out.Required != No {
				out.Required, out.Why = No, q.says
			}
		case Unknown:
			open, missed = append(open, q.says), append(missed, q.measure...)
			if out.Required == Yes {
				out.Required = Unknown
			}
		}
	}
	switch out.Required {
	case Yes:
		out.Why = "None of the exemptions holds."
	case Unknown:
		out.Why = strings.Join(open, " ")
	case No:
		missed = nil
	}

	// Where it is asked for, slope and overhang keep within the exemptions.
	pitch, inner := e.pitch, e.inner
	if steep.is == Unknown {
		pitch.hi = pitchFree
	}
	reach := func(pitch, inner float64) (float64, string) {
		if line := along(pitch) * (inner + insideInner); line > upSlope {
			return line, "inner_face"
		}
		return upSlope, "slope_900_mm"
	}
	need := ends(reach, pitch, inner, out)
	if wide.is == Unknown {
		need.hi = min(need.hi, overhangFree+insideInner*along(pitch.hi))
	}
	return asked{need, pitch, upSlope, upSlope, missed}
}

// say writes the sentence of a rule and what would put it right.
func (e eave) say(edition units.Edition, out *EaveRule, need span, level float64, margin span) {
	write := func(s span) string { return s.write(e.system) }
	face := "inside the outer face of the wall"
	if edition.Canadian {
		face = "inside the inner face of the wall"
	}
	short := func(v float64) string { return e.system.SmallLength(units.Length(v)) }
	line := fmt.Sprintf("%s up the slope from the edge", write(need))
	switch out.Governs {
	case "wall_line", "inner_face":
		line += fmt.Sprintf(", to %s %s", short(level), face)
	case "rafter":
		line += ", the whole slope"
	}
	there := ""
	switch {
	case e.cover == "":
		there = " What lies there is not known."
	case e.cover == "poly":
		there = " A sheet of polyethylene lies there, which counts for nothing."
	case e.cover == "none":
		there = " None lies there."
	case e.cover == "felt" && e.there.hi == 0:
		there = " Felt lies there that is not cemented in two layers, which counts for nothing."
	case math.IsInf(e.there.hi, 1):
		there = " How far it reaches is not known."
	default:
		there = fmt.Sprintf(" It reaches %s.", write(e.there))
	}
	switch out.Verdict {
	case Passes:
		if out.Required == No {
			out.Says = fmt.Sprintf("%s: protection is not required. %s", out.Cites, out.Why)
			out.Notes = append(out.Notes, "Not required is not unwise: where ice has stood before, laying it at the next re-roof is cheap (our judgement).")
			return
		}
		out.Says = fmt.Sprintf("%s: passes. Protection must reach %s.%s", out.Cites, line, there)
	case Fails:
		out.Says = fmt.Sprintf("%s: fails. Protection must reach %s.%s", out.Cites, line, there)
		if e.there.hi > 0 {
			out.Says = strings.TrimSuffix(out.Says, ".") + fmt.Sprintf(": %s short.", write(span{-margin.hi, -margin.lo}))
		}
		order := *out.Order
		out.Remedies = []Remedy{{Key: "membrane", Cures: true, Says: fmt.Sprintf(
			"At the next re-roof, strip the eave to the deck and lay self-adhered membrane from the edge to at least %s up the slope: %s It cannot be slipped under shingles that stay.",
			upTo(need, e.system), lowerFirst(order.Says))}}
	default:
		out.Says = fmt.Sprintf("%s: not known. Where it is asked for, protection must reach %s.%s", out.Cites, line, there)
		if out.Required == Unknown {
			out.Says += " " + out.Why
		}
	}
}

// upTo writes the far end of a reach, which serves for all of it.
func upTo(need span, s units.System) string {
	if math.IsInf(need.hi, 1) {
		return s.SmallLength(units.Length(need.lo))
	}
	return s.SmallLength(units.Length(need.hi))
}

func lowerFirst(s string) string {
	if strings.HasPrefix(s, "At ") {
		return "at " + s[3:]
	}
	return s
}
