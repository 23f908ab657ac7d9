package icing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// EaveInput is one eave. Of each pair of fields that differ only by unit at most
// one may be given; a field left out is not known.
type EaveInput struct {
	Name string `json:"name,omitempty"`
	// Codes are the keys of the editions to judge by (see units.Editions);
	// empty is all.
	Codes []string `json:"codes,omitempty"`
	// SteepRule2024 says whether IRC 2024 keeps the 36 in on slopes of 8:12 or
	// more: kept (when empty) or removed.
	SteepRule2024 string `json:"steep_rule_2024,omitempty"`

	Structure string `json:"structure,omitempty"` // main, addition, garage, carport, porch or accessory (a detached shed or workshop)
	Heated    *bool  `json:"heated,omitempty"`    // a heated room lies below
	Detached  *bool  `json:"detached,omitempty"`  // a garage or carport that stands alone, as an accessory building does

	IceHistory  *bool    `json:"ice_history,omitempty"` // ice has backed water up at eaves here, by the local table
	JanuaryF    *float64 `json:"mean_january_f,omitempty"`
	JanuaryC    *float64 `json:"mean_january_c,omitempty"`
	DegreeDaysC *float64 `json:"degree_days_c,omitempty"` // of heating, below 18 °C
	DegreeDaysF *float64 `json:"degree_days_f,omitempty"` // of heating, below 65 °F

	RiseIn12 *float64 `json:"rise_in_12,omitempty"`
	// Level from the roof's edge to the wall's outer face, or to its inner
	// face, and the wall's thickness between them. WallBuild is a key of Walls,
	// for a thickness that nobody has measured.
	OverhangIn *float64 `json:"overhang_in,omitempty"`
	OverhangMm *float64 `json:"overhang_mm,omitempty"`
	InnerIn    *float64 `json:"edge_to_inner_face_in,omitempty"`
	InnerMm    *float64 `json:"edge_to_inner_face_mm,omitempty"`
	WallIn     *float64 `json:"wall_in,omitempty"`
	WallMm     *float64 `json:"wall_mm,omitempty"`
	WallBuild  string   `json:"wall_build,omitempty"`
	RafterFt   *float64 `json:"rafter_ft,omitempty"` // along the slope from edge to top: no membrane reaches farther
	RafterM    *float64 `json:"rafter_m,omitempty"`

	// LowSlopeMethod says that the shingles were laid by the method for low
	// slopes (NBC 9.26.8.); it counts under 1:3.
	LowSlopeMethod *bool `json:"low_slope_method,omitempty"`

	// What lies under the shingles, how far it reaches along the slope from the
	// edge, and how many layers of felt are cemented together.
	Cover          string   `json:"cover,omitempty"` // membrane, felt, poly or none
	ReachIn        *float64 `json:"reach_in,omitempty"`
	ReachMm        *float64 `json:"reach_mm,omitempty"`
	CementedLayers *int     `json:"cemented_layers,omitempty"`

	EaveFt *float64 `json:"eave_ft,omitempty"` // length of the eave
	EaveM  *float64 `json:"eave_m,omitempty"`
	Roll   Roll     `json:"roll"`

	Units units.System `json:"units,omitempty"` // of the sentences: us (when empty) or metric
}

// EaveRule is one edition's rule applied to the eave.
type EaveRule struct {
	Code   string `json:"code"`  // the edition's key
	Cites  string `json:"cites"` // code, edition and section
	Source string `json:"source"`

	// Required says whether the text asks for protection here, and Why.
	Required Answer `json:"required"`
	Why      string `json:"why"`

	// Need is how far along the slope from the edge the protection must reach
	// where it is asked for, NeedLevel the same seen from above. Governs is
	// what decides it: wall_line, steep_36_in, slope_900_mm, inner_face, rafter
	// (the whole slope), or empty while that is not known.
	Need      *Span  `json:"need,omitempty"`
	NeedLevel *Span  `json:"need_level,omitempty"`
	Governs   string `json:"governs,omitempty"`

	// There is how far protection that counts does reach; Inside how far that
	// is, level, inside the face of the wall from which the code measures.
	// Margin is There less Need: negative is short.
	There  *Span `json:"there,omitempty"`
	Inside *Span `json:"inside,omitempty"`
	Margin *Span `json:"margin,omitempty"`

	Verdict Verdict `json:"verdict"`
	Says    string  `json:"says"`

	// Order is the membrane for this eave, laid new.
	Order *Order `json:"order,omitempty"`

	Remedies []Remedy `json:"remedies,omitempty"`
	Measure  []string `json:"measure,omitempty"` // fields that would settle it
	Notes    []string `json:"notes,omitempty"`
}

// Remedy is one thing that would put a matter right, or help to.
type Remedy struct {
	Key   string `json:"key"`
	Cures bool   `json:"cures"` // it is enough alone
	Says  string `json:"says"`
	// Index is what the index would likely be with this done, where that can be
	// told.
	Index *int `json:"index_after,omitempty"`
}

// EaveResult is the answer for one eave.
type EaveResult struct {
	Name     string     `json:"name,omitempty"`
	Rules    []EaveRule `json:"rules"`
	Plainly  string     `json:"plainly"`
	Notes    []string   `json:"notes,omitempty"`
	Cautions []Caution  `json:"cautions"`
}

// eave is an EaveInput read, in metres; pitch is rise over run.
type eave struct {
	structure        string
	heated, detached Answer
	history          Answer
	january          float64 // °C, NaN not known
	degreeDays       float64 // °C·days, NaN not known
	pitch            span
	outer, inner     span    // level from the edge to the wall's faces
	rafter           float64 // +Inf not known
	lowSlope         Answer
	there            span
	thereMissed      []string
	cover            string
	steep2024        bool
	roll             roll
	length           float64 // NaN not known
	system           units.System
	missedOuter      []string
	missedInner      []string
	missedPitch      []string
}

// Structures are what an eave may belong to.
var Structures = []string{"main", "addition", "garage", "carport", "porch", "accessory"}

// Covers are what may lie under the shingles at an eave.
var Covers = []string{"membrane", "felt", "poly", "none"}

// steepest pitch that is believed: 36:12.
const steepest = 3

// Eave says how far up the slope protection against ice must reach at one eave,
// by each edition asked, and how far it does. It refuses, by the field's name
// and the rule, values that cannot be: pitches over 36:12, overhangs over 5 m,
// walls under 50 mm or over 1 m, an inner face nearer than the outer, two units
// for one thing, unknown words.
func Eave(in EaveInput) (EaveResult, error) {
	e, err := in.read()
	if err != nil {
		return EaveResult{}, err
	}
	chosen := in.Codes
	if len(chosen) == 0 {
		chosen = units.EditionKeys()
	}
	out := EaveResult{Name: in.Name, Rules: make([]EaveRule, 0, len(chosen)), Plainly: Plainly, Cautions: Cautions()}
	for i, key := range chosen {
		edition, err := units.EditionOf(key)
		if err != nil {
			return EaveResult{}, fmt.Errorf("codes[%d] %w", i, err)
		}
		out.Rules = append(out.Rules, e.judge(edition))
	}
	out.Notes = e.notes()
	return out, nil
}

func (in EaveInput) read() (eave, error) {
	r := units.Reader{}
	e := eave{structure: in.Structure, heated: told(in.Heated), detached: told(in.Detached), history: told(in.IceHistory),
		lowSlope: told(in.LowSlopeMethod), cover: in.Cover, steep2024: in.SteepRule2024 != "removed"}
	if !slices.Contains([]string{"", "kept", "removed"}, in.SteepRule2024) {
		r.Refuse("steep_rule_2024", "must be kept, removed or left out")
	}
	if in.Structure != "" && !slices.Contains(Structures, in.Structure) {
		r.Refuse("structure", "must be "+strings.Join(Structures, ", ")+" or left out")
	}
	if in.Structure == "accessory" {
		if e.detached == No {
			r.Refuse("detached", "an accessory building stands alone; one that is attached is a garage, a carport or an addition")
		}
		e.detached = Yes
	}
	if in.JanuaryF != nil && in.JanuaryC != nil {
		r.Refuse("mean_january_c", "give either mean_january_f or mean_january_c, not both")
	}
	e.january = r.One(-60, 40, alt("mean_january_c", in.JanuaryC, 1))
	if in.JanuaryF != nil {
		c := units.Fahrenheit(*in.JanuaryF).Celsius()
		if e.january = c; !(c >= -60 && c <= 40) {
			r.Refuse("mean_january_f", fmt.Sprintf("%v must lie between -76 and 104", *in.JanuaryF))
		}
	}
	e.degreeDays = r.One(0, 20_000, alt("degree_days_f", in.DegreeDaysF, 1/1.8), alt("degree_days_c", in.DegreeDaysC, 1))

	pitch := r.One(0, steepest, alt("rise_in_12", in.RiseIn12, 1.0/12))
	if e.pitch = given(pitch, span{0, steepest}); math.IsNaN(pitch) {
		e.missedPitch = []string{"rise_in_12"}
	}
	overhang := r.One(0, 5, alt("overhang_in", in.OverhangIn, inch), alt("overhang_mm", in.OverhangMm, mm))
	inner := r.One(0, 6, alt("edge_to_inner_face_in", in.InnerIn, inch), alt("edge_to_inner_face_mm", in.InnerMm, mm))
	wall := r.One(0.05, 1, alt("wall_in", in.WallIn, inch), alt("wall_mm", in.WallMm, mm))
	e.faces(&r, in.WallBuild, overhang, inner, wall)
	rafter := r.One(0.1, 100, alt("rafter_ft", in.RafterFt, foot), alt("rafter_m", in.RafterM, 1))
	e.rafter = given(rafter, span{hi: math.Inf(1)}).hi

	reach := r.One(0, 100, alt("reach_in", in.ReachIn, inch), alt("reach_mm", in.ReachMm, mm))
	if reach > e.rafter+tolerance {
		r.Refuse("reach_in", "must not be longer than the slope, rafter_ft")
	}
	if in.CementedLayers != nil && (*in.CementedLayers < 0 || *in.CementedLayers > 10) {
		r.Refuse("cemented_layers", "must lie between 0 and 10")
	}
	e.there, e.thereMissed = protection(&r, in.Cover, reach, e.rafter, in.CementedLayers)
	e.length = r.One(0.1, 1000, alt("eave_ft", in.EaveFt, foot), alt("eave_m", in.EaveM, 1))
	e.roll = in.Roll.read(&r)
	e.system = system(&r, in.Units)
	return e, r.Err
}

// faces settles how far from the edge the wall's faces stand.
func (e *eave) faces(r *units.Reader, build string, overhang, inner, wall float64) {
	usual, ok := wallOf(build)
	if !ok {
		r.Refuse("wall_build", "must be "+strings.Join(wallKeys(), ", ")+" or left out")
	}
	if !math.IsNaN(wall) && build != "" {
		r.Refuse("wall_build", "give either the wall's thickness or how it is built, not both")
	}
	thick := given(wall, usual)
	hasOuter, hasInner := !math.IsNaN(overhang), !math.IsNaN(inner)
	switch {
	case hasOuter && hasInner:
		switch {
		case inner < overhang+0.05:
			r.Refuse("edge_to_inner_face_in", "must lie at least 2 in farther in than the overhang: the wall is between them")
		case !math.IsNaN(wall) && math.Abs(inner-overhang-wall) > 0.0127:
			r.Refuse("wall_in", "must be the way to the inner face less the overhang, to half an inch; give two of the three")
		}
		e.outer, e.inner = exactly(overhang), exactly(inner)
	case hasOuter:
		e.outer, e.inner = exactly(overhang), exactly(overhang).plus(thick)
		if math.IsNaN(wall) {
			e.missedInner = []string{"wall_in"}
		}
	case hasInner:
		if inner < thick.lo {
			r.Refuse("edge_to_inner_face_in", "must be at least the wall's thickness: the edge does not lie inside the wall")
		}
		e.inner, e.outer = exactly(inner), exactly(inner).minus(thick)
		e.outer.lo = max(0, e.outer.lo)
		if math.IsNaN(wall) {
			e.missedOuter = []string{"wall_in"}
		}
	default:
		e.outer = span{0, math.Inf(1)}
		e.inner = e.outer.plus(thick)
		e.missedOuter, e.missedInner = []string{"overhang_in"}, []string{"overhang_in"}
		if math.IsNaN(wall) {
			e.missedInner = []string{"overhang_in", "wall_in"}
		}
	}
}

func wallKeys() []string {
	out := make([]string, len(walls))
	for i, w := range walls {
		out[i] = w.Key
	}
	return out
}

// protection is how far what counts as protection reaches: self-adhered
// membrane, or two layers of felt cemented together (IRC R905.1.2; NBC
// 9.26.5.2., from memory). A sheet of polyethylene is named by neither.
func protection(r *units.Reader, cover string, reach, rafter float64, layers *int) (span, []string) {
	far, missed := given(reach, span{0, rafter}), []string(nil)
	if math.IsNaN(reach) {
		missed = []string{"reach_in"}
	}
	switch cover {
	case "membrane":
		return far, missed
	case "felt":
		if layers == nil {
			return span{0, far.hi}, append(missed, "cemented_layers")
		}
		if *layers >= 2 {
			return far, missed
		}
		return exactly(0), nil
	case "poly":
		return exactly(0), nil
	case "none":
		if reach > 0 {
			r.Refuse("reach_in", "cannot be given where the cover is none")
		}
		return exactly(0), nil
	case "":
		return span{0, far.hi}, append([]string{"cover"}, missed...)
	}
	r.Refuse("cover", "must be "+strings.Join(Covers, ", ")+" or left out")
	return span{}, nil
}

// along is the slope's length over its level one.
func along(pitch float64) float64 { return math.Sqrt(1 + pitch*pitch) }

// notes are remarks that hold by every code.
func (e eave) notes() []string {
	var out []string
	if e.pitch.hi < 2.0/12*(1-1e-9) {
		out = append(out, "This slope is under 2:12, too low for asphalt shingles (IRC R905.2.2); it wants a covering for low slopes, membrane under all of it.")
	} else if e.pitch.hi < 4.0/12*(1-1e-9) {
		out = append(out, "Between 2:12 and 4:12 the whole slope wants two layers of underlayment (IRC R905.2.2), with the membrane at the eave besides.")
	}
	switch e.cover {
	case "poly":
		out = append(out, "A sheet of polyethylene at the eave does not seal round nails and holds water against the deck; it counts for nothing.")
	case "felt":
		out = append(out, "Felt counts only as two layers cemented together.")
	}
	return out
}
