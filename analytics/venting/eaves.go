package venting

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// Eave is one eave of the attic space. Of each pair of fields that differ only
// by unit, at most one may be given; what is left out is not known.
type Eave struct {
	Name     string   `json:"name,omitempty"` // free text
	LengthFt *float64 `json:"length_ft,omitempty"`
	LengthM  *float64 `json:"length_m,omitempty"`
	// OpenFt is the length over which air can pass from the soffit over the
	// wall into the attic; left out it is the whole length.
	OpenFt *float64 `json:"open_ft,omitempty"`
	OpenM  *float64 `json:"open_m,omitempty"`
	// Overhang is the depth of the soffit, level, from the wall's outer face to
	// the roof's edge.
	OverhangIn *float64 `json:"overhang_in,omitempty"`
	OverhangMm *float64 `json:"overhang_mm,omitempty"`
	// FreeSoffit is the length of soffit in which intake can still be cut.
	FreeSoffitFt *float64 `json:"free_soffit_ft,omitempty"`
	FreeSoffitM  *float64 `json:"free_soffit_m,omitempty"`
	// ClearSpace overrules the attic's own for this eave.
	ClearSpaceIn *float64 `json:"clear_space_in,omitempty"`
	ClearSpaceMm *float64 `json:"clear_space_mm,omitempty"`
}

// eave is an Eave read, in metres; NaN is not known.
type eave struct {
	name                                 string
	length, open, overhang, clear, spare float64
}

const (
	mostClear    = 2.0
	mostOverhang = 5.0
	mostRun      = 10_000.0
)

func (e Eave) read(field string, clear float64) (eave, error) {
	r := units.Reader{Field: field + "."}
	out := eave{name: e.Name}
	run := func(ft, m string, a, b *float64) float64 {
		return r.One(0, mostRun, units.Alternative{Field: ft, Value: a, Unit: float64(units.Foot)}, units.Alternative{Field: m, Value: b, Unit: 1})
	}
	small := func(most float64, in, mm string, a, b *float64) float64 {
		return r.One(0, most, units.Alternative{Field: in, Value: a, Unit: float64(units.Inch)}, units.Alternative{Field: mm, Value: b, Unit: float64(units.Millimetre)})
	}
	out.length = run("length_ft", "length_m", e.LengthFt, e.LengthM)
	out.open = run("open_ft", "open_m", e.OpenFt, e.OpenM)
	out.overhang = small(mostOverhang, "overhang_in", "overhang_mm", e.OverhangIn, e.OverhangMm)
	out.spare = run("free_soffit_ft", "free_soffit_m", e.FreeSoffitFt, e.FreeSoffitM)
	out.clear = small(mostClear, "clear_space_in", "clear_space_mm", e.ClearSpaceIn, e.ClearSpaceMm)
	if math.IsNaN(out.clear) {
		out.clear = clear
	}
	if math.IsNaN(out.open) {
		out.open = out.length
	}
	if out.open > out.length*(1+slack) {
		r.Refuse("open_ft, open_m", "is longer than the eave")
	}
	if out.spare > out.length*(1+slack) {
		r.Refuse("free_soffit_ft, free_soffit_m", "is longer than the eave")
	}
	return out, r.Err
}

// passage is the area over the walls through which what comes in at the eaves
// reaches the attic: clear space times open length. It is NaN unless all of
// both are known.
func passage(eaves []eave) float64 {
	if len(eaves) == 0 {
		return math.NaN()
	}
	sum := 0.0
	for _, e := range eaves {
		sum += e.clear * e.open
	}
	return sum
}

// passageFields name what would settle the passage.
func (a attic) passageFields() []string {
	if len(a.eaves) == 0 {
		out := []string{"eaves"}
		if math.IsNaN(a.clear) {
			out = append(out, "clear_space_in")
		}
		return out
	}
	var out []string
	for i, e := range a.eaves {
		if math.IsNaN(e.open) {
			out = append(out, fmt.Sprintf("eaves[%d].length_ft", i))
		}
		if math.IsNaN(e.clear) {
			out = append(out, fmt.Sprintf("eaves[%d].clear_space_in", i))
		}
	}
	return out
}
