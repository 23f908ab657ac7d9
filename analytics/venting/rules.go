package venting

import (
	"fmt"
	"slices"
)

// Every rule here asks for one of two shares of the attic's area. The American
// texts start at 1/150 and may be reduced to 1/300; the Canadian start at 1/300
// and double it for low slopes and joist roofs.
const (
	fullRatio = 150
	halfRatio = 300
)

// Retarder says how a rule uses a vapour retarder on the side of the ceiling
// that is warm in winter.
type Retarder string

// The uses of a retarder.
const (
	RetarderIgnored  Retarder = ""                 // the rule does not name it
	RetarderAnywhere Retarder = "any zone"         // at most 1 perm (Class I or II), any climate
	RetarderCold     Retarder = "zones 6, 7 and 8" // Class I or II, in the cold zones only
)

// Rule is one edition of one code, as numbers.
type Rule struct {
	Key     string `json:"key"`
	Code    string `json:"code"`
	Edition int    `json:"edition"` // the year of the edition
	Section string `json:"section"`
	Summary string `json:"summary"` // what it asks, in our words
	Source  string `json:"source"`  // where that was read, or "from memory"

	// HighFrom and HighTo bound the high vents as shares of the area asked;
	// LowFrom bounds the low ones. HighTo 1 is no upper bound.
	HighFrom float64 `json:"high_from_share"`
	HighTo   float64 `json:"high_to_share"`
	LowFrom  float64 `json:"low_from_share,omitempty"`

	Retarder Retarder `json:"retarder,omitempty"`
	// Both says that retarder and share of high vents are needed together for
	// the reduction; otherwise one of them is enough.
	Both bool `json:"both_needed,omitempty"`
	// BelowRidge says that a high vent stands no more than 3 ft below the
	// ridge; AboveEave that it stands at least 3 ft above the eave vents;
	// BottomThird that low vents stand in the bottom third of the space.
	BelowRidge  bool `json:"high_within_3_ft_of_ridge,omitempty"`
	AboveEave   bool `json:"high_3_ft_above_eave,omitempty"`
	BottomThird bool `json:"low_in_bottom_third,omitempty"`
	// Ceiling says that the area is that of the insulated ceiling, and that
	// slope and joists decide the ratio.
	Ceiling bool `json:"by_insulated_ceiling,omitempty"`
	// OfThere says that the share of high vents is measured on the area there;
	// otherwise on the area asked for. It is a reading, see [Readings].
	OfThere bool `json:"high_share_of_area_there,omitempty"`

	Notes []string `json:"notes,omitempty"`
}

// Cite names code, edition and section in one line.
func (r Rule) Cite() string { return fmt.Sprintf("%s %d, %s", r.Code, r.Edition, r.Section) }

const (
	irc         = "IRC"
	splitOnNeed = "The share of high vents is measured on the area asked, not on the area there; an official may read it otherwise."
	coldOnly    = "In zones 1 to 5 the retarder is read as not counting toward the reduction."
	warmFree    = "In zones 1 to 5 the retarder is read as not asked for, so that the share of high vents decides alone."
	framing     = "Where framing is in the way a high vent may stand lower than 3 ft below the ridge."
)

var rules = []Rule{
	{
		Key: "irc_2006", Code: irc, Edition: 2006, Section: "R806.2",
		Summary:  "1/150 of the vented plan area; 1/300 if 50 to 80 % of it is high, at least 3 ft above the eave vents, and the rest at the eave, or if a retarder of at most 1 perm is on the warm side.",
		Source:   "R806.2 as copied in a Minnesota city's handout; UBC 1997 §1505.3 is alike. Wording of 2000 to 2009.",
		HighFrom: 0.5, HighTo: 0.8,
		Retarder: RetarderAnywhere, AboveEave: true,
		Notes: []string{splitOnNeed},
	},
	{
		Key: "irc_2012", Code: irc, Edition: 2012, Section: "R806.2",
		Summary:  "1/150 of the vented plan area; 1/300 if one or more hold: Class I or II retarder in zones 6, 7 and 8; or 40 to 50 % of it high, no more than 3 ft below the ridge, and the rest at the eave.",
		Source:   "R806.2, second-hand",
		HighFrom: 0.4, HighTo: 0.5,
		Retarder: RetarderCold, BelowRidge: true,
		Notes: []string{splitOnNeed, coldOnly, framing},
	},
	{
		Key: "irc_2015", Code: irc, Edition: 2015, Section: "R806.2",
		Summary:  "As 2012: 1/150; 1/300 if one or more hold: Class I or II retarder in zones 6, 7 and 8; or 40 to 50 % high, no more than 3 ft below the ridge, and the rest at the eave.",
		Source:   "R806.2, second-hand",
		HighFrom: 0.4, HighTo: 0.5,
		Retarder: RetarderCold, BelowRidge: true,
		Notes: []string{splitOnNeed, coldOnly, framing},
	},
	{
		Key: "irc_2018", Code: irc, Edition: 2018, Section: "R806.2",
		Summary:  "1/150; 1/300 only if both hold: Class I or II retarder (in zones 6, 7 and 8), and 40 to 50 % high, no more than 3 ft below the ridge, with the rest in the bottom third of the space.",
		Source:   "from memory; a code trainer says that the minimum about doubled from 2015 to 2018 and that the place of the low vents changed",
		HighFrom: 0.4, HighTo: 0.5,
		Retarder: RetarderCold, Both: true, BelowRidge: true, BottomThird: true,
		Notes: []string{splitOnNeed, warmFree, framing},
	},
	{
		Key: "irc_2021", Code: irc, Edition: 2021, Section: "R806.2",
		Summary:  "As 2018: 1/150; 1/300 only if both the retarder (in zones 6, 7 and 8) and the 40 to 50 % of high vents hold.",
		Source:   "from memory; a vent maker's bulletin on the 2021 code says second-hand that two conditions must be met",
		HighFrom: 0.4, HighTo: 0.5,
		Retarder: RetarderCold, Both: true, BelowRidge: true, BottomThird: true,
		Notes: []string{splitOnNeed, warmFree, framing},
	},
	{
		Key: "irc_2024", Code: irc, Edition: 2024, Section: "R806.2",
		Summary:  "Taken as 2021: 1/150; 1/300 only if both the retarder (in zones 6, 7 and 8) and the 40 to 50 % of high vents hold.",
		Source:   "from memory: taken as the 2021 wording",
		HighFrom: 0.4, HighTo: 0.5,
		Retarder: RetarderCold, Both: true, BelowRidge: true, BottomThird: true,
		Notes: []string{"No text of this edition was seen; ask the local official whether it differs from 2021.", splitOnNeed, warmFree, framing},
	},
	{
		Key: "nbc_2015", Code: "NBC", Edition: 2015, Section: "9.19.1.2.",
		Summary:  "1/300 of the insulated ceiling area; 1/150 where the slope is under 1:6 or the roof is built with joists; at least a quarter of it at the top of the space and a quarter at the bottom.",
		Source:   "from memory; the ratios are those of Ontario's text, which was read",
		HighFrom: 0.25, HighTo: 1, LowFrom: 0.25, Ceiling: true,
	},
	{
		Key: "obc_2012", Code: "OBC", Edition: 2012, Section: "9.19.1.2.",
		Summary:  "1/300 of the insulated ceiling area; 1/150 where the slope is under 1:6 or the roof is built with joists; at least a quarter of it at the top of the space and a quarter at the bottom.",
		Source:   "ratios: O. Reg. 332/12, 9.19.1.2.(1) and (2), read; quarters at top and bottom: from memory",
		HighFrom: 0.25, HighTo: 1, LowFrom: 0.25, Ceiling: true,
		Notes: []string{"The quarters at top and bottom were not seen in Ontario's text; Quebec's regulation on energy conservation, s. 14, asks for vents on opposite sides, high and low, without shares."},
	},
}

// Codes lists the rules known here, the oldest of each code first. The result
// is the caller's own.
func Codes() []Rule {
	out := slices.Clone(rules)
	for i := range out {
		out[i].Notes = slices.Clone(out[i].Notes)
	}
	return out
}

func ruleOf(key string) (Rule, bool) {
	i := slices.IndexFunc(rules, func(r Rule) bool { return r.Key == key })
	if i < 0 {
		return Rule{}, false
	}
	return rules[i], true
}
