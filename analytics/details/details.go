package details

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// Verdict is what can be said of a detail.
type Verdict = units.Verdict

// The verdicts.
const (
	Passes   = units.Passes
	Fails    = units.Fails
	NotKnown = units.NotKnown
)

// The words that an input may use.
var (
	Kinds     = []string{"penetration", "kickout_flashing", "step_flashing", "headwall", "drip_edge", "eave_cover", "valley", "dead_valley", "chimney", "skylight"}
	Forms     = []string{"new", "reused", "missing"}                    // of flashing
	Valleys   = []string{"open_metal", "woven", "closed_cut"}           // forms of a valley, besides those of flashing
	Covers    = []string{"membrane", "felt", "poly", "none"}            // forms of an eave's cover
	Linings   = []string{"metal", "roll", "membrane"}                   // of a valley
	Claddings = []string{"stucco", "siding", "brick", "stone", "mixed"} // of walls
	Coverings = []string{"asphalt_strip", "asphalt_laminated", "asphalt_interlocking", "asphalt_organic", "wood_shake", "metal", "tile", "slate", "low_slope_membrane", "unknown"}
)

// Input is the details of one roof.
type Input struct {
	Edition      string   `json:"edition,omitempty"` // key of the code's edition (see units.Editions)
	WallCladding string   `json:"wall_cladding,omitempty"`
	Covering     string   `json:"covering,omitempty"` // its family
	RiseIn12     *float64 `json:"rise_in_12,omitempty"`

	Details []Detail     `json:"details"`
	Units   units.System `json:"units,omitempty"` // of the sentences: us (when empty) or metric
}

// Detail is one of them. Of each pair of fields that differ only by unit at most
// one may be given; a field left out is not known.
type Detail struct {
	Kind string `json:"kind"` // one of Kinds
	Name string `json:"name,omitempty"`
	// Form is one of Forms; of a valley one of Valleys too, of an eave's cover
	// one of Covers.
	Form string `json:"form,omitempty"`

	// Of a penetration: the share of its flange that the courses cover, whether
	// the lower edge lies on the courses, and whether top and sides lie under
	// them. Where a share is known and nobody says otherwise, they do.
	LapShare         *float64 `json:"lap_share,omitempty"`
	LowerEdgeOnTop   *bool    `json:"lower_edge_on_top,omitempty"`
	TopAndSidesUnder *bool    `json:"top_and_sides_under,omitempty"`

	// Width is across the slope: of a penetration, chimney or skylight, or of a
	// valley's lining.
	WidthIn *float64 `json:"width_in,omitempty"`
	WidthMm *float64 `json:"width_mm,omitempty"`
	Lining  string   `json:"lining,omitempty"` // of a valley: one of Linings

	Saddle     *bool    `json:"saddle,omitempty"`      // stands above it, or in the dead valley
	MeetsRidge *bool    `json:"meets_ridge,omitempty"` // stands at the ridge, so that nothing drains to it
	Drains     *int     `json:"drains,omitempty"`      // slopes whose water a valley takes
	RiseIn12   *float64 `json:"rise_in_12,omitempty"`  // of the slope here, where it is not the roof's

	// Step flashing: how far each piece reaches up the wall and onto the roof.
	WallLegIn *float64 `json:"wall_leg_in,omitempty"`
	WallLegMm *float64 `json:"wall_leg_mm,omitempty"`
	RoofLegIn *float64 `json:"roof_leg_in,omitempty"`
	RoofLegMm *float64 `json:"roof_leg_mm,omitempty"`

	// Drip edge: lap at joints, how far it reaches below and onto the deck, and
	// its fasteners' spacing.
	LapIn       *float64 `json:"lap_in,omitempty"`
	LapMm       *float64 `json:"lap_mm,omitempty"`
	BelowDeckIn *float64 `json:"below_deck_in,omitempty"`
	BelowDeckMm *float64 `json:"below_deck_mm,omitempty"`
	OntoDeckIn  *float64 `json:"onto_deck_in,omitempty"`
	OntoDeckMm  *float64 `json:"onto_deck_mm,omitempty"`
	SpacingIn   *float64 `json:"spacing_in,omitempty"`
	SpacingMm   *float64 `json:"spacing_mm,omitempty"`
}

// Severity is how bad a fault is, or would be: our judgement.
type Severity int

// The severities.
const (
	Minor   Severity = 1 // shortens a life or falls short of a rule
	Serious Severity = 2 // leaks sooner or later
	Grave   Severity = 3 // lets water into wall, deck or house, often unseen
)

// Finding is one check of one detail.
type Finding struct {
	Key      string   `json:"key"`
	Detail   string   `json:"detail"` // its name, or its kind and place in the list
	At       int      `json:"at"`     // place in the list, from 0
	Kind     string   `json:"kind"`
	Verdict  Verdict  `json:"verdict"`
	Severity Severity `json:"severity"` // of the fault, where there is or may be one
	Says     string   `json:"says"`

	// Margin is by how much a measure meets the rule, MarginShare the same of a
	// share: negative is short.
	Margin      *units.Length `json:"margin_m,omitempty"`
	MarginShare *float64      `json:"margin_share,omitempty"`
	// SaddleHeight is how high a saddle must be, where one is asked for.
	SaddleHeight *units.Length `json:"saddle_height_m,omitempty"`

	Why     string `json:"why"`
	Remedy  string `json:"remedy,omitempty"`
	Caution string `json:"caution,omitempty"`

	Cites     string   `json:"cites"` // code, edition and section, or common practice
	Source    string   `json:"source"`
	Judgement bool     `json:"judgement,omitempty"` // ours, not a rule's
	Measure   []string `json:"measure,omitempty"`   // fields that would settle it
}

// Result is all findings, the worst first: what fails, then what is not known,
// then what passes, each by severity, and in the order of the list.
type Result struct {
	Findings []Finding `json:"findings"`
	Failing  int       `json:"failing"`
	NotKnown int       `json:"not_known"`
	Passing  int       `json:"passing"`
	Says     string    `json:"says"`
	Notes    []string  `json:"notes,omitempty"`
	Cautions []string  `json:"cautions"`
}

// roof is an Input read.
type roof struct {
	edition  *units.Edition
	cladding string
	covering string
	pitch    float64 // rise over run, NaN not known
	system   units.System
}

// detail is a Detail read, in metres; NaN is not known.
type detail struct {
	Detail
	roof
	at    int
	label string

	share, width                    float64
	wallLeg, roofLeg                float64
	lap, belowDeck, ontoDeck, apart float64
}

const (
	inch = float64(units.Inch)
	mm   = float64(units.Millimetre)
)

// steepest pitch that is believed: 36:12.
const steepest = 3

// Check judges the details of one roof. It refuses, by the field's name and the
// rule, values that cannot be: shares outside 0 to 1, pitches over 36:12,
// negative lengths, two units for one thing, unknown words.
func Check(in Input) (Result, error) {
	r := units.Reader{}
	shared, err := in.read(&r)
	if err != nil {
		return Result{}, err
	}
	out := Result{Findings: []Finding{}, Cautions: slices.Clone(cautions)}
	for i, d := range in.Details {
		read, err := d.read(i, shared)
		if err != nil {
			return Result{}, err
		}
		for _, f := range read.check() {
			f.Detail, f.At, f.Kind = read.label, i, d.Kind
			switch f.Verdict {
			case Fails:
				out.Failing++
			case NotKnown:
				out.NotKnown++
			default:
				out.Passing++
				f.Remedy, f.Caution = "", ""
			}
			out.Findings = append(out.Findings, f)
		}
	}
	rank := map[Verdict]int{Fails: 0, NotKnown: 1, Passes: 2}
	slices.SortStableFunc(out.Findings, func(a, b Finding) int {
		if c := rank[a.Verdict] - rank[b.Verdict]; c != 0 {
			return c
		}
		return int(b.Severity - a.Severity)
	})
	switch {
	case len(in.Details) == 0:
		out.Says = "No details are written down, so nothing is known of them."
	case out.Failing == 0 && out.NotKnown == 0:
		out.Says = fmt.Sprintf("All %s pass.", plural(out.Passing, "check"))
	case out.Failing == 0:
		out.Says = fmt.Sprintf("Nothing fails; %s cannot be settled yet.", plural(out.NotKnown, "check"))
	default:
		worst := out.Findings[0]
		out.Says = fmt.Sprintf("%s: %s. The worst: %s", plural(out.Failing, "fault"), countsOf(out), worst.Says)
	}
	out.Notes = []string{"Only what is written down is judged; what is not in the list is not known to be missing."}
	return out, nil
}

func countsOf(r Result) string {
	return fmt.Sprintf("%d fail, %d not known, %d pass", r.Failing, r.NotKnown, r.Passing)
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

var cautions = []string{
	"Work on a roof needs fall protection, and never on frost, ice, or a wet or steep slope; a look from the ground or a photograph comes first.",
	"Local code and its official decide, and the maker's sheet goes before common practice; wiring, flues and structure belong to licensed trades.",
	"A detail that looks right can leak and one that looks wrong can hold: stains, soft sheathing and damp in the wall settle it.",
}

func (in Input) read(r *units.Reader) (roof, error) {
	out := roof{cladding: in.WallCladding, covering: in.Covering, system: in.Units}
	if in.Edition != "" {
		e, err := units.EditionOf(in.Edition)
		if err != nil {
			return roof{}, fmt.Errorf("edition %w", err)
		}
		out.edition = &e
	}
	among(r, "wall_cladding", in.WallCladding, Claddings)
	among(r, "covering", in.Covering, Coverings)
	if out.covering == "unknown" {
		out.covering = ""
	}
	out.pitch = r.One(0, steepest, alt("rise_in_12", in.RiseIn12, 1.0/12))
	switch in.Units {
	case "":
		out.system = units.US
	case units.US, units.Metric:
	default:
		r.Refuse("units", "must be us, metric or left out")
	}
	return out, r.Err
}

// among refuses a word that is none of the list; an empty one is not known.
func among(r *units.Reader, field, word string, list []string) {
	if word != "" && !slices.Contains(list, word) {
		r.Refuse(field, "must be "+strings.Join(list, ", ")+" or left out")
	}
}

func alt(field string, v *float64, unit float64) units.Alternative {
	return units.Alternative{Field: field, Value: v, Unit: unit}
}

func (in Detail) read(at int, shared roof) (detail, error) {
	r := units.Reader{Field: fmt.Sprintf("details[%d].", at)}
	d := detail{Detail: in, roof: shared, at: at, label: in.Name}
	if !slices.Contains(Kinds, in.Kind) {
		r.Refuse("kind", "must be one of "+strings.Join(Kinds, ", "))
	}
	if d.label == "" {
		d.label = fmt.Sprintf("%s %d", strings.ReplaceAll(in.Kind, "_", " "), at+1)
	}
	switch in.Kind {
	case "valley":
		among(&r, "form", in.Form, append(slices.Clone(Valleys), Forms...))
	case "eave_cover":
		among(&r, "form", in.Form, Covers)
	default:
		among(&r, "form", in.Form, Forms)
	}
	among(&r, "lining", in.Lining, Linings)
	pair := func(name string, most float64, inches, millimetres *float64) float64 {
		return r.One(0, most, alt(name+"_in", inches, inch), alt(name+"_mm", millimetres, mm))
	}
	d.share = r.One(0, 1, alt("lap_share", in.LapShare, 1))
	d.width = pair("width", 20, in.WidthIn, in.WidthMm)
	d.wallLeg = pair("wall_leg", 1, in.WallLegIn, in.WallLegMm)
	d.roofLeg = pair("roof_leg", 1, in.RoofLegIn, in.RoofLegMm)
	d.lap = pair("lap", 3, in.LapIn, in.LapMm)
	d.belowDeck = pair("below_deck", 1, in.BelowDeckIn, in.BelowDeckMm)
	d.ontoDeck = pair("onto_deck", 1, in.OntoDeckIn, in.OntoDeckMm)
	d.apart = pair("spacing", 3, in.SpacingIn, in.SpacingMm)
	if own := r.One(0, steepest, alt("rise_in_12", in.RiseIn12, 1.0/12)); !math.IsNaN(own) {
		d.pitch = own
	}
	if in.Drains != nil && (*in.Drains < 0 || *in.Drains > 8) {
		r.Refuse("drains", "must lie between 0 and 8")
	}
	return d, r.Err
}

// SaddleHeight is how high a saddle above a chimney of that width stands: half
// the width times rise over run. For 12, 8, 6, 4 and 3:12 that is a half, a
// third, a quarter, a sixth and an eighth of the width (IRC Table R1003.20, from
// memory).
func SaddleHeight(width units.Length, pitch units.Pitch) units.Length {
	return width / 2 * units.Length(pitch)
}
