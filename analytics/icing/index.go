package icing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// Winter is what one winter does under the snow of one slope, by the square
// metre of slope over the heated ceiling: the figures of an attic's winter
// balance. A figure left out is not known.
type Winter struct {
	MeltHours  *float64 `json:"melt_hours,omitempty"`  // snow melts from below while it freezes outside
	IcingHours *float64 `json:"icing_hours,omitempty"` // of these, with −5.6 °C or less outside
	Melt       *float64 `json:"melt_kg_m2,omitempty"`  // melted in MeltHours
	MeltCold   *float64 `json:"melt_cold_kg_m2,omitempty"`
	DampHours  *float64 `json:"damp_hours,omitempty"`  // the deck's underside at 80 % of saturation or more
	Frost      *float64 `json:"frost_kg_m2,omitempty"` // most frost on it
}

// IndexInput is one eave with the slope above it. Of each pair of fields that
// differ only by unit at most one may be given; a field left out is not known.
type IndexInput struct {
	Name string `json:"name,omitempty"`

	// Winter is the likely one; WinterLeast and WinterMost hold the least and
	// the most of each figure.
	Winter      *Winter `json:"winter,omitempty"`
	WinterLeast *Winter `json:"winter_least,omitempty"`
	WinterMost  *Winter `json:"winter_most,omitempty"`
	// The likely winter as it would be with the ceiling sealed, insulated, or
	// with balanced vents: each tells what that remedy would do.
	WinterSealed    *Winter `json:"winter_sealed,omitempty"`
	WinterInsulated *Winter `json:"winter_insulated,omitempty"`
	WinterBalanced  *Winter `json:"winter_balanced,omitempty"`

	// HeatedSlope is the length of slope over the heated ceiling that drains to
	// this eave: the rafter less the overhang. Not known: 3 to 8 m, likely 5.
	HeatedSlopeFt *float64 `json:"heated_slope_ft,omitempty"`
	HeatedSlopeM  *float64 `json:"heated_slope_m,omitempty"`

	OverhangIn *float64 `json:"overhang_in,omitempty"` // level, edge to the wall's outer face
	OverhangMm *float64 `json:"overhang_mm,omitempty"`
	RiseIn12   *float64 `json:"rise_in_12,omitempty"`
	FacingDeg  *float64 `json:"facing_deg,omitempty"` // that the slope looks towards, from north by east

	ValleyToShortEave *bool `json:"valley_to_short_eave,omitempty"`
	DeadValley        *bool `json:"dead_valley,omitempty"`
	Saddle            *bool `json:"saddle,omitempty"` // stands in the dead valley
	DuctsEndInAttic   *bool `json:"ducts_end_in_attic,omitempty"`
	PastLeaks         *bool `json:"past_leaks,omitempty"` // at this eave, in winter
	RecessedLights    *bool `json:"recessed_lights,omitempty"`
	KneeWalls         *bool `json:"knee_walls,omitempty"`
	Skylights         *bool `json:"skylights,omitempty"`

	Units units.System `json:"units,omitempty"` // of the sentences: us (when empty) or metric
}

// Range is a figure with its least, likely and most; what is nil is not known.
type Range struct {
	Least  *float64 `json:"least,omitempty"`
	Likely *float64 `json:"likely,omitempty"`
	Most   *float64 `json:"most,omitempty"`
}

// Physics is the share of the index that comes from melt.
type Physics struct {
	Points *int   `json:"points,omitempty"` // of the likely index
	Water  Range  `json:"water_kg_m"`       // that can freeze, by the metre of eave
	Says   string `json:"says"`
	Source string `json:"source"`
}

// Share is the share of the index that one thing adds by our judgement.
type Share struct {
	Key string `json:"key"`
	// There says whether it is there; Factor is what it multiplies the water
	// by, or would.
	There  Answer  `json:"there"`
	Factor float64 `json:"factor"`
	Points *int    `json:"points,omitempty"` // of the likely index
	Why    string  `json:"why"`
}

// Cut is where a word begins.
type Cut struct {
	From int    `json:"from"`
	Word string `json:"word"`
	Says string `json:"says"`
}

// Cuts are our judgement, by the ice that so much water makes along the eave.
var cuts = []Cut{
	{0, "low", "up to about 12 kg of water a metre of eave: a rim of ice"},
	{20, "raised", "from about 12 kg a metre: a strip of ice two inches thick and ten wide"},
	{45, "high", "from about 40 kg a metre: ice that backs water up in most winters"},
	{70, "severe", "from about 115 kg a metre: ice that backs water up far behind the wall"},
}

// Cuts lists the words of the index and where they begin. The list is the
// caller's own.
func Cuts() []Cut { return slices.Clone(cuts) }

// NoWord stands for the word of an index that is not known.
const NoWord = "not known"

func wordOf(index int) string {
	out := cuts[0].Word
	for _, c := range cuts {
		if index >= c.From {
			out = c.Word
		}
	}
	return out
}

// IndexResult is the eave-icing index of one eave.
type IndexResult struct {
	Name string `json:"name,omitempty"`
	// Index is the likely one, 0 to 100, nil while melt is not known; it is the
	// sum of the points of physics and judgement, exactly. Least and Most take
	// every unknown at its ends.
	Index *int `json:"index,omitempty"`
	Least int  `json:"least"`
	Most  int  `json:"most"`
	// Word is low, raised, high, severe or not known.
	Word      string `json:"word"`
	WordLeast string `json:"word_least"`
	WordMost  string `json:"word_most"`

	Physics   Physics `json:"physics"`
	Judgement []Share `json:"judgement"` // what is there or may be

	Remedies []Remedy  `json:"remedies,omitempty"` // in the order to be thought of
	Measure  []string  `json:"measure,omitempty"`  // fields that would narrow it, the most telling first
	Notes    []string  `json:"notes,omitempty"`
	Says     string    `json:"says"`
	Cuts     []Cut     `json:"cut_points"`
	Plainly  string    `json:"plainly"`
	Cautions []Caution `json:"cautions"`
}

const (
	half      = 50.0 // kg/m of water at which the index is 50: our judgement
	mildShare = 0.1  // of the melt in milder air that counts: our judgement
	// Overhang at which its factor leaves 1 and at which it is whole: our
	// judgement.
	overhangFrom, overhangTo = 0.3, 0.9
)

// Factor is a thing that raises the index by our judgement.
type Factor struct {
	Key string `json:"key"`
	// Most is what it multiplies the water by; a wide overhang grows to it
	// between 0.3 and 0.9 m.
	Most float64 `json:"most"`
	Why  string  `json:"why"`
}

var factors = []Factor{
	{"wide_overhang", 1.3, "A wide overhang is cold for longer, so that more of the water freezes before it drips off."},
	{"valley_to_short_eave", 1.4, "A valley brings the melt of two slopes to a short eave, more than its own share."},
	{"dead_valley", 1.5, "In a dead valley without a saddle water and snow stand against a wall and cannot drain off."},
	{"ducts_end_in_attic", 1.3, "A bath or kitchen duct that ends in the attic warms and wets the deck."},
	{"past_leaks", 1.3, "What has leaked in winter before has shown that ice builds there."},
	{"recessed_lights", 1.2, "Recessed lights leak air and heat through the ceiling right below the deck."},
	{"knee_walls", 1.2, "Behind a knee wall the heated room comes close to the deck, often without insulation."},
	{"skylights", 1.1, "Snow melts around a skylight, and its shaft leaks heat into the attic."},
	{"low_slope", 1.1, "On a slope under 4:12 ice of the same height backs water up farther."},
	{"north_facing", 1.05, "On the north side snow stays when it has gone elsewhere; most of that is in the winter balance already."},
}

// Factors lists what raises the index and by how much. That each counts is
// common practice, no source; how much is our judgement. The list is the
// caller's own.
func Factors() []Factor { return slices.Clone(factors) }

// raised is a factor as it stands at one eave.
type raised struct {
	Factor
	there  Answer
	now    float64 // the factor that is there; 1 when it is not or not known
	most   float64 // what it may be
	fields []string
}

// indexed is an IndexInput read.
type indexed struct {
	water  [3]float64 // kg a metre: least, likely, most; likely NaN and most +Inf not known
	slope  span
	likely float64 // of slope
	raised []raised
	missed []string
	system units.System
}

// Index gives the eave-icing index of one eave, told apart into what comes from
// melt (physics) and what raises it (judgement). It refuses, by the field's name
// and the rule, values that cannot be: negative amounts, cold melt above all
// melt, hours above those of a year, two units for one thing.
func Index(in IndexInput) (IndexResult, error) {
	x, err := in.read()
	if err != nil {
		return IndexResult{}, err
	}
	now, most := 1.0, 1.0
	for _, f := range x.raised {
		now *= f.now
		most *= f.most
	}
	out := IndexResult{Name: in.Name, Cuts: Cuts(), Plainly: Plainly, Cautions: Cautions(),
		Least: points(x.water[0], now), Most: points(x.water[2], most), Judgement: []Share{}}
	out.WordLeast, out.WordMost, out.Word = wordOf(out.Least), wordOf(out.Most), NoWord
	out.Physics = Physics{
		Source: "winter balance of the attic; icings seldom grow above 22 °F (−5.6 °C) outside (W. Tobiasson, CRREL); the scale is our judgement",
		Water:  ranged(x.water),
	}
	if !math.IsNaN(x.water[1]) {
		likely := points(x.water[1], now)
		out.Index, out.Word = &likely, wordOf(likely)
	} else if out.WordLeast == out.WordMost {
		out.Word = out.WordLeast
	}
	out.share(x, now)
	if out.Least != out.Most {
		out.Measure = x.measure()
	}
	out.Remedies = in.remedies(x, now, out)
	out.Notes = in.notes()
	out.say(x)
	return out, nil
}

// scale is the index, 0 to 100, of water times what raises it.
func scale(water, factor float64) float64 {
	if math.IsInf(water, 1) {
		return 100
	}
	return 100 * water * factor / (water*factor + half)
}

func points(water, factor float64) int { return int(math.Round(scale(water, factor))) }

func ranged(v [3]float64) Range {
	var out Range
	for i, p := range []**float64{&out.Least, &out.Likely, &out.Most} {
		if !math.IsNaN(v[i]) && !math.IsInf(v[i], 0) {
			w := v[i]
			*p = &w
		}
	}
	return out
}

// share parts the likely index into whole points that add to it exactly: those
// of physics, and those of each factor by its logarithm.
func (out *IndexResult) share(x indexed, now float64) {
	from := math.NaN()
	before := 0
	if out.Index != nil {
		from = scale(x.water[1], 1)
		before = int(math.Round(from))
		physics := before
		out.Physics.Points = &physics
	}
	whole := scale(x.water[1], now) - from
	done := 0.0
	last := -1
	for i, f := range x.raised {
		if f.now > 1 {
			last = i
		}
	}
	for i, f := range x.raised {
		if f.there == No {
			continue
		}
		s := Share{Key: f.Key, There: f.there, Factor: f.now, Why: f.Why}
		if f.there == Unknown {
			s.Factor = f.most
		}
		if out.Index != nil {
			var own int
			if f.now > 1 {
				done += math.Log(f.now) / math.Log(now)
				to := int(math.Round(from + whole*done))
				if i == last {
					to = *out.Index
				}
				own, before = to-before, to
			}
			s.Points = &own
		}
		out.Judgement = append(out.Judgement, s)
	}
}

// measure names the unknown fields by what each may add to the most, the most
// telling first. Melt comes first of all, and is the winter balance's to give.
func (x indexed) measure() []string {
	type need struct {
		fields []string
		worth  float64
	}
	var needs []need
	for _, f := range x.raised {
		if f.there == Unknown {
			needs = append(needs, need{f.fields, f.most})
		}
	}
	slices.SortStableFunc(needs, func(a, b need) int {
		switch {
		case a.worth > b.worth:
			return -1
		case a.worth < b.worth:
			return 1
		}
		return 0
	})
	out := slices.Clone(x.missed)
	for _, n := range needs {
		for _, f := range n.fields {
			out = appendNew(out, f)
		}
	}
	return out
}

func (out *IndexResult) say(x indexed) {
	var parts []string
	for _, s := range out.Judgement {
		if s.Points != nil && *s.Points > 0 {
			parts = append(parts, fmt.Sprintf("%d for %s", *s.Points, named[s.Key]))
		}
	}
	if out.Index == nil {
		out.Physics.Says = "How much snow the house melts from below is not known."
		out.Says = fmt.Sprintf("Eave-icing index %d to %d of 100: %s. How much snow the house melts from below is not known; the winter balance of the attic tells.", out.Least, out.Most, out.Word)
		return
	}
	out.Physics.Says = fmt.Sprintf("In a winter the house sends %s of melt to the eave that can freeze there.", perEave(x.water[1], x.system))
	out.Says = fmt.Sprintf("Eave-icing index %d of 100: %s", *out.Index, out.Word)
	if out.WordLeast != out.WordMost {
		out.Says += fmt.Sprintf(" (%d to %d, %s to %s, for want of measures)", out.Least, out.Most, out.WordLeast, out.WordMost)
	}
	points := "points are"
	if *out.Physics.Points == 1 {
		points = "point is"
	}
	out.Says += fmt.Sprintf(". %d %s physics: %s of melt reaches the eave in a winter and can freeze there.", *out.Physics.Points, points, perEave(x.water[1], x.system))
	if len(parts) > 0 {
		added := *out.Index - *out.Physics.Points
		out.Says += fmt.Sprintf(" Our judgement adds %d: %s.", added, strings.Join(parts, ", "))
	}
}

// named is how a sentence names a factor.
var named = map[string]string{
	"wide_overhang":        "the wide overhang",
	"valley_to_short_eave": "the valley that drains to a short eave",
	"dead_valley":          "the dead valley without a saddle",
	"ducts_end_in_attic":   "the duct that ends in the attic",
	"past_leaks":           "past leaks",
	"recessed_lights":      "recessed lights",
	"knee_walls":           "knee walls",
	"skylights":            "skylights",
	"low_slope":            "the low slope",
	"north_facing":         "facing north",
}

// perEave writes an amount of water by the length of eave.
func perEave(kg float64, s units.System) string {
	unit := "kg a metre"
	if s != units.Metric {
		kg, unit = kg/0.45359237*foot, "lb a foot"
	}
	if kg < 0.5 {
		return "under 1 " + unit
	}
	return fmt.Sprintf("about %.0f %s", kg, unit)
}
