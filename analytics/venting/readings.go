package venting

import (
	"slices"

	"overhang/analytics/units"
)

// Readings are how passages are read on which sources conflict or whose text
// was not seen. Each reading is told in the notes of the rules it touches.
type Readings struct {
	// ShareOf is what the American shares of high vents are measured on: the
	// area "asked" for (when empty), or the area "there".
	ShareOf string `json:"share_of,omitempty"`
	// BothConditions says whether the IRC from 2018 on needs retarder and share
	// of high vents together for 1/300: "yes" (when empty) or "no".
	BothConditions string `json:"both_conditions,omitempty"`
	// QuarterSplit says whether the Canadian rules need a quarter of the area
	// at the top and a quarter at the bottom: "yes" (when empty) or "no".
	QuarterSplit string `json:"quarter_split,omitempty"`
}

func (d Readings) read(r *units.Reader) {
	for _, x := range []struct{ field, value, first, second string }{
		{"readings.share_of", d.ShareOf, "asked", "there"},
		{"readings.both_conditions", d.BothConditions, "yes", "no"},
		{"readings.quarter_split", d.QuarterSplit, "yes", "no"},
	} {
		if x.value != "" && x.value != x.first && x.value != x.second {
			r.Refuse(x.field, "must be "+x.first+", "+x.second+" or left out")
		}
	}
}

const (
	splitOnThere = "As chosen, the share of high vents is measured on the area there. The text, as quoted second-hand, speaks of the area asked for; under this reading more intake can turn a pass into a fail."
	bothNeeded   = "Retarder and share of high vents are read as needed together, from memory of the text from 2018 on; a code trainer and a vent maker say the same second-hand. The official may have it otherwise: both_conditions is the switch."
	oneEnough    = "As chosen, one of the two conditions is enough for 1/300, as it was until 2015. From memory the text from 2018 on needs both, and a code trainer says that the least area about doubled then."
	quarters     = "A quarter of the area at the top and a quarter at the bottom are read as asked for: from memory of the national text, not seen in Ontario's. quarter_split is the switch."
	noQuarters   = "As chosen, no quarters at top and bottom are asked for. From memory the national text asks for them; Ontario's was not seen on this."
)

// under is the rule as it is read.
func (r Rule) under(d Readings) Rule {
	r.Notes = slices.Clone(r.Notes)
	swap := func(old, with string) {
		if i := slices.Index(r.Notes, old); i >= 0 {
			r.Notes[i] = with
		}
	}
	if r.Ceiling {
		if d.QuarterSplit == "no" {
			r.HighFrom, r.LowFrom = 0, 0
			r.Notes = append(r.Notes, noQuarters)
		} else {
			r.Notes = append(r.Notes, quarters)
		}
		return r
	}
	if d.ShareOf == "there" {
		r.OfThere = true
		swap(splitOnNeed, splitOnThere)
	}
	if r.Both {
		if d.BothConditions == "no" {
			r.Both = false
			swap(warmFree, coldOnly)
			r.Notes = append(r.Notes, oneEnough)
		} else {
			r.Notes = append(r.Notes, bothNeeded)
		}
	}
	return r
}
