package drainage

import (
	"fmt"
	"math"
	"strings"

	"overhang/analytics/units"
)

// edge is one place where water leaves the roof.
type edge struct {
	where string
	jet   func(rain, n float64) jet
	pitch float64 // along the stream
	reach span    // along the stream
	out   float64 // reach square to the eave for each along the stream
	flow  func(rain float64) float64
	sheet bool
}

// stream gives where an edge's water goes, and what can be said of it.
func (j *judging) stream(e edge) (Stream, Judgement) {
	out := Judgement{Verdict: NotKnown}
	slow, fast := e.jet(j.rain, j.roofN.hi), e.jet(j.rain, j.roofN.lo)
	s := Stream{Where: e.where, Flow: units.Flow(e.flow(j.rain)), Lands: "not known"}
	s.Speed = *span{slow.speed, fast.speed}.public()
	s.Depth = *span{fast.depth, slow.depth}.public()
	if e.sheet {
		s.Unit = slow.speed * slow.depth
	} else {
		s.Width = span{fast.width, slow.width}.public()
	}
	if !known(e.reach.lo) {
		out.Measure = append(out.Measure, j.field("lip.reach_in", "lip.reach_mm"))
	} else {
		s.Reach = e.reach.public()
		most := units.Length(min(slow.drop(e.reach.lo, true), fast.drop(e.reach.lo, true)))
		s.MostDrop = &most
	}
	if !known(j.drop) {
		out.Measure = append(out.Measure, j.field("lip.drop_in", "lip.drop_mm"))
	}
	name := "The sheet off the slope"
	if !e.sheet {
		name = "The stream from the valley"
	}
	if len(out.Measure) > 0 {
		out.Says = name + " may or may not land in the gutter. First learn " + strings.Join(out.Measure, ", ") + "."
		if s.MostDrop != nil {
			out.Says += fmt.Sprintf(" It lands inside while the lip hangs no lower than %s under the drip edge.", j.writeSmall(float64(*s.MostDrop)))
		}
		return s, out
	}
	a, b := slow.throw(j.drop, true), fast.throw(j.drop, true)
	upper := span{min(a, b), max(a, b)}
	a, b = slow.throw(j.drop, false), fast.throw(j.drop, false)
	lower := span{min(a, b), max(a, b)}
	s.Throw = upper.public()
	switch {
	case upper.hi <= e.reach.lo:
		s.Lands, out.Verdict = "inside", Passes
	case lower.lo > e.reach.hi:
		s.Lands, out.Verdict = "over", Fails
	case upper.lo > e.reach.hi && lower.hi <= e.reach.lo:
		s.Lands, out.Verdict = "lip", Fails
	case upper.lo > e.reach.hi:
		out.Verdict = Fails
	}
	first := span{math.Inf(1), 0}
	for _, n := range []float64{j.roofN.lo, j.roofN.hi} {
		at := func(rain float64) jet { return e.jet(rain, n) }
		first.lo = min(first.lo, begins(at, e.reach.lo, j.drop, mostRain))
		hi := first.lo
		if e.reach.wide() || j.roofN.wide() {
			hi = begins(at, e.reach.hi, j.drop, mostRain)
		}
		first.hi = max(first.hi, hi)
	}
	if !math.IsInf(first.lo, 1) {
		s.Begins = first.times(1 / mmPerHour).public()
	}
	out.Margin = span{e.reach.lo - upper.hi, e.reach.hi - upper.lo}.public()
	word := map[Verdict]string{Passes: "lands in the gutter", Fails: "passes the front lip", NotKnown: "may or may not land in the gutter"}[out.Verdict]
	if s.Lands == "lip" {
		word = "strikes the front lip"
	}
	out.Says = fmt.Sprintf("%s %s: it goes out %s by the height of the lip, which stands %s out.", name, word, j.writeSpan(upper, j.writeSmall), j.writeSpan(e.reach, j.writeSmall))
	if out.Verdict == NotKnown {
		if !j.reachKnown {
			out.Measure = append(out.Measure, j.field("lip.reach_in", "lip.reach_mm"))
		}
		if j.roofN.wide() {
			out.Measure = append(out.Measure, "roof_manning_n")
		}
		out.Says += " Watch it in a hard rain."
	}
	if out.Verdict != Passes {
		out.Remedies = j.overRemedies(e, float64(*s.MostDrop), upper.hi, max(slow.width, fast.width))
	}
	return s, out
}

const overSource = "kinematic sheet and Manning's friction, then free fall from the drip edge; first principles, our judgement in the use"

func (j *judging) overEave() Judgement {
	out := Judgement{Key: "overshoot_eave", Verdict: NotKnown}
	run := math.NaN() // of the slope, in plan
	switch {
	case known(j.rafter, j.pitch):
		run = j.rafter / math.Hypot(1, j.pitch)
	case known(j.plan, j.length):
		run = j.plan / j.length
	}
	if !known(j.rain) {
		out.Measure = append(out.Measure, j.rainField())
	}
	if !known(j.pitch) {
		out.Measure = append(out.Measure, "rise_in_12")
	}
	if !known(run) {
		out.Measure = append(out.Measure, j.field("rafter_ft", "rafter_m"))
	}
	if len(out.Measure) > 0 {
		out.Source = overSource
		out.Says = "Whether the sheet off the slope lands in the gutter is not known. First learn " + strings.Join(out.Measure, ", ") + "."
		return out
	}
	length := 1.0
	if known(j.length) {
		length = j.length
	}
	s, out := j.stream(edge{
		where: "eave", pitch: j.pitch, reach: j.reach, out: 1, sheet: true,
		jet:  func(rain, n float64) jet { return sheetOff(rain*run, j.pitch, n) },
		flow: func(rain float64) float64 { return rain * run * length },
	})
	out.Key, out.Source = "overshoot_eave", overSource
	out.Notes = append(out.Notes, "In light rain water clings to the edge and can run back behind the gutter; a drip edge or an apron stops that, and no figure here shows it.")
	j.out.Streams = append(j.out.Streams, s)
	return out
}

func (j *judging) overValleys() Judgement {
	all := Judgement{Key: "overshoot_valleys", Verdict: Passes, Source: overSource, Says: "No valley pours into this run."}
	if !j.looked {
		all.Verdict, all.Measure = NotKnown, []string{"valleys"}
		all.Says = "Whether valleys pour into this run is not known."
		return all
	}
	var says []string
	for i, v := range j.valleys {
		field := fmt.Sprintf("valleys[%d]", i)
		one := Judgement{Verdict: NotKnown}
		if !known(j.rain) {
			one.Measure = append(one.Measure, j.rainField())
		}
		if !known(v.pitch) {
			one.Measure = append(one.Measure, "rise_in_12")
		}
		if !known(v.area) {
			one.Measure = append(one.Measure, j.field(field+".plan_area_ft2", field+".plan_area_m2"))
		}
		if len(one.Measure) > 0 {
			one.Says = "Whether the stream from the valley lands in the gutter is not known. First learn " + strings.Join(one.Measure, ", ") + "."
		} else {
			e := edge{
				where: field, pitch: v.pitch, reach: j.reach.times(math.Sqrt2), out: 1 / math.Sqrt2,
				flow: func(rain float64) float64 { return rain * v.area },
				jet:  func(rain, n float64) jet { return valleyOff(rain*v.area, v.pitch, n) },
			}
			if known(v.width) {
				e.jet = func(rain, n float64) jet {
					out := sheetOff(rain*v.area/v.width, v.pitch, n)
					out.width = v.width
					return out
				}
			}
			var s Stream
			s, one = j.stream(e)
			j.out.Streams = append(j.out.Streams, s)
		}
		switch {
		case one.Verdict == Fails || all.Verdict == Fails:
			all.Verdict = Fails
		case one.Verdict == NotKnown:
			all.Verdict = NotKnown
		}
		for _, m := range one.Measure {
			if !strings.Contains(" "+strings.Join(all.Measure, " ")+" ", " "+m+" ") {
				all.Measure = append(all.Measure, m)
			}
		}
		if one.Margin != nil && (all.Margin == nil || one.Margin.Least < all.Margin.Least) {
			all.Margin, all.Remedies = one.Margin, one.Remedies
		}
		says = append(says, fmt.Sprintf("Valley %d: %s", i+1, one.Says))
	}
	if len(says) > 0 {
		all.Says = strings.Join(says, " ")
	}
	return all
}

// clearance is how far under the line of the slope the lip should stand for
// snow to slide over it, by rise in twelve: 3/4 in to 5, 1/2 in to 7, 1/4 in at
// 12; handbooks of sheet metal work, from memory.
func clearance(pitch float64) float64 {
	switch rise := pitch * 12; {
	case rise <= 5:
		return 0.75 * inch
	case rise <= 7:
		return (0.75 - 0.25*(rise-5)/2) * inch
	case rise < 12:
		return (0.5 - 0.25*(rise-7)/5) * inch
	}
	return 0.25 * inch
}

func (j *judging) snowLine() Judgement {
	out := Judgement{Key: "lip_below_snow_line", Verdict: NotKnown, Source: "the lip stands below the line of the slope carried on: common practice, no source; clearances from memory of sheet metal handbooks"}
	if !known(j.drop, j.pitch, j.reach.lo) {
		if j.below != nil {
			out.Verdict, out.Says = Passes, "A straight edge laid down the slope clears the front lip: sliding snow passes over it."
			if !*j.below {
				out.Verdict, out.Says = Fails, "A straight edge laid down the slope meets the front lip: sliding snow can take the gutter with it."
				out.Remedies = []Remedy{{Key: "lower_gutter", Says: "Lower the gutter until the straight edge clears the lip, or hold the snow with guards laid out for the roof."}}
			}
			return out
		}
		if !known(j.pitch) {
			out.Measure = append(out.Measure, "rise_in_12")
		}
		if !known(j.reach.lo) {
			out.Measure = append(out.Measure, j.field("lip.reach_in", "lip.reach_mm"))
		}
		if !known(j.drop) {
			out.Measure = append(out.Measure, j.field("lip.drop_in", "lip.drop_mm"))
		}
		out.Says = "Whether the lip stands below the line of sliding snow is not known: lay a straight edge down the slope. First learn " + strings.Join(out.Measure, ", ") + "."
		return out
	}
	under := span{j.drop - j.reach.hi*j.pitch, j.drop - j.reach.lo*j.pitch}
	out.Margin = under.public()
	switch {
	case under.lo >= -1e-9:
		out.Verdict = Passes
		out.Says = fmt.Sprintf("The front lip stands %s below the line of the slope: sliding snow passes over it.", j.writeSpan(under, j.writeSmall))
		if under.lo < clearance(j.pitch)-1e-9 {
			out.Notes = append(out.Notes, fmt.Sprintf("Handbooks leave %s at this pitch.", j.writeSmall(clearance(j.pitch))))
		}
	case under.hi < -1e-9:
		out.Verdict = Fails
		out.Says = fmt.Sprintf("The front lip stands %s above the line of the slope: sliding snow can take the gutter with it.", j.writeSpan(span{-under.hi, -under.lo}, j.writeSmall))
	default:
		out.Measure = []string{j.field("lip.reach_in", "lip.reach_mm")}
		out.Says = "The front lip may or may not stand below the line of the slope: lay a straight edge down it."
	}
	if out.Verdict != Passes {
		by := units.Length(under.lo - clearance(j.pitch))
		out.Remedies = []Remedy{{Key: "lower_gutter", Raise: &by, Cures: true, Says: fmt.Sprintf("Lower the gutter by %s, then see that the rain still lands in it; or hold the snow with guards laid out for the roof.", j.writeSmall(float64(-by)))}}
	}
	if j.below != nil && out.Verdict != NotKnown && *j.below != (out.Verdict == Passes) {
		out.Notes = append(out.Notes, "The measures and the straight edge do not agree; the measures are judged. Measure again.")
	}
	return out
}
