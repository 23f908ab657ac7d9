package venting

import (
	"fmt"
	"math"
	"slices"

	"overhang/analytics/units"
)

// Kind is a kind of vent.
type Kind string

// The kinds of vents.
const (
	Box          Kind = "box"            // static or square vent on the slope
	Turbine      Kind = "turbine"        // turned by the wind
	Ridge        Kind = "ridge"          // continuous vent along the ridge
	Gable        Kind = "gable"          // louvre in a gable wall
	SoffitStrip  Kind = "soffit_strip"   // continuous strip in the soffit
	SoffitPanel  Kind = "soffit_panel"   // vented or perforated soffit panels
	SoffitLight  Kind = "soffit_light"   // light fixture in the soffit that leaks air: no vent
	DripEdgeVent Kind = "drip_edge_vent" // vented drip edge
	Powered      Kind = "powered"        // fan
)

// Height is where an opening stands in the attic space.
type Height string

// The heights of an opening. The empty text is not known; a ridge vent is then
// taken as high, and soffit and drip edge vents as low.
const (
	Low   Height = "low"   // at the eave
	High  Height = "high"  // at the top of the space
	Other Height = "other" // looked at, and neither
)

// measure is how the area of an opening is arrived at.
type measure string

const (
	each   measure = "each"
	length measure = "length"
	gross  measure = "gross"
	panel  measure = "panel"
)

// Default is the range of net free area of a kind of vent whose own figure is
// not known. The figure stamped on the vent, or printed by its maker, is
// always to be preferred. Exactly one pair of bounds is filled in.
type Default struct {
	Kind Kind `json:"kind"`

	EachLeastIn2  float64 `json:"each_least_in2,omitempty"` // in² a vent
	EachMostIn2   float64 `json:"each_most_in2,omitempty"`
	PerFtLeastIn2 float64 `json:"per_ft_least_in2,omitempty"` // in² a foot of run
	PerFtMostIn2  float64 `json:"per_ft_most_in2,omitempty"`
	ShareLeast    float64 `json:"share_least,omitempty"` // of the gross size or panel area
	ShareMost     float64 `json:"share_most,omitempty"`

	Source string `json:"source"`
}

var defaults = []Default{
	{Kind: Box, EachLeastIn2: 50, EachMostIn2: 60, Source: "trade pages; one plan seen used 50"},
	{Kind: Turbine, EachLeastIn2: 110, EachMostIn2: 150, Source: "12 in throat is π·6² = 113 in²; makers' 110 to 150 from memory"},
	{Kind: Ridge, PerFtLeastIn2: 9, PerFtMostIn2: 18, Source: "9 to 18 from memory; one product seen at 15.2"},
	{Kind: Gable, ShareLeast: 0.4, ShareMost: 0.6, Source: "40 to 60 % of the gross size, from memory"},
	{Kind: SoffitStrip, PerFtLeastIn2: 9, PerFtMostIn2: 9, Source: "9 in² a foot, trade pages"},
	{Kind: DripEdgeVent, PerFtLeastIn2: 9, PerFtMostIn2: 9, Source: "9 in² a foot, trade pages"},
	{Kind: SoffitPanel, PerFtLeastIn2: 10, PerFtMostIn2: 10, Source: "vented panel 10 in² a foot (0.069 ft²), trade pages"},
	{Kind: SoffitPanel, ShareLeast: 4.0 / 144, ShareMost: 12.0 / 144, Source: "perforated panel 4 to 12 in² a square foot by pattern, from memory"},
}

// Defaults lists the ranges used for vents whose own figure is not known. A
// fan has none. The result is the caller's own.
func Defaults() []Default { return slices.Clone(defaults) }

// byDefault gives the range of a kind in SI: m² a vent, m² a metre, or a share.
func byDefault(k Kind, how measure) (span, string) {
	for _, d := range defaults {
		if d.Kind != k {
			continue
		}
		switch {
		case how == each && d.EachMostIn2 > 0:
			return span{d.EachLeastIn2, d.EachMostIn2}.times(float64(units.SquareInch)), d.Source
		case how == length && d.PerFtMostIn2 > 0:
			return span{d.PerFtLeastIn2, d.PerFtMostIn2}.times(float64(units.SquareInch) / float64(units.Foot)), d.Source
		case (how == gross || how == panel) && d.ShareMost > 0:
			return span{d.ShareLeast, d.ShareMost}, d.Source
		}
	}
	return anything, ""
}

// Opening is one vent, or several alike, of one attic space. Of each pair of
// fields that differ only by unit, at most one may be given.
//
// The size is given in one of four ways: a count of vents, a length of run, a
// gross size (of each of a count), or an area of panel. What is open of it is
// the stamped net area each, the net area per length, or a share of the gross
// size or panel; without these the kind's range is taken.
type Opening struct {
	Kind Kind   `json:"kind"`
	Name string `json:"name,omitempty"` // free text, repeated in the result

	Count        *int     `json:"count,omitempty"` // 0 is looked and none; a run or panel without it is one
	LengthFt     *float64 `json:"length_ft,omitempty"`
	LengthM      *float64 `json:"length_m,omitempty"`
	GrossIn2     *float64 `json:"gross_in2,omitempty"` // outside size of one vent
	GrossCm2     *float64 `json:"gross_cm2,omitempty"`
	PanelAreaFt2 *float64 `json:"panel_area_ft2,omitempty"`
	PanelAreaM2  *float64 `json:"panel_area_m2,omitempty"`

	NetEachIn2  *float64 `json:"net_each_in2,omitempty"`   // stamped net free area of one vent
	NetEachCm2  *float64 `json:"net_each_cm2,omitempty"`   //
	NetPerFtIn2 *float64 `json:"net_per_ft_in2,omitempty"` // net free area in in² per foot of run
	NetPerMCm2  *float64 `json:"net_per_m_cm2,omitempty"`  // net free area in cm² per metre of run
	NetShare    *float64 `json:"net_share,omitempty"`      // open share of gross size or panel, 0 to 1

	Height Height `json:"height,omitempty"`
	// Measured vertically to the opening. They overrule Height where a rule
	// draws a line between high and not high.
	BelowRidgeFt *float64 `json:"below_ridge_ft,omitempty"`
	BelowRidgeM  *float64 `json:"below_ridge_m,omitempty"`
	AboveEaveFt  *float64 `json:"above_eave_ft,omitempty"`
	AboveEaveM   *float64 `json:"above_eave_m,omitempty"`

	Powered      bool     `json:"powered,omitempty"`       // has a fan
	BlockedShare *float64 `json:"blocked_share,omitempty"` // paint, insulation, nests: 0 to 1
	FanCfm       *float64 `json:"fan_cfm,omitempty"`       // flow of one fan, as stamped
	FanLs        *float64 `json:"fan_l_s,omitempty"`

	// What the maker asks of the roof: the slopes and the shortest run.
	LeastRiseIn12 *float64 `json:"least_rise_in_12,omitempty"`
	MostRiseIn12  *float64 `json:"most_rise_in_12,omitempty"`
	LeastRunFt    *float64 `json:"least_run_ft,omitempty"`
	LeastRunM     *float64 `json:"least_run_m,omitempty"`

	// The least dimension of the vent's own holes, and that of the mesh behind
	// them; a mesh of 0 is looked and none.
	LeastDimensionIn *float64 `json:"least_dimension_in,omitempty"`
	LeastDimensionMm *float64 `json:"least_dimension_mm,omitempty"`
	MeshIn           *float64 `json:"mesh_in,omitempty"`
	MeshMm           *float64 `json:"mesh_mm,omitempty"`
}

// A fan moves at most this, in m³/s; a slope is believed up to 60:12.
const (
	mostFlow  = 10
	mostRange = 5
)

// OpeningResult is what one opening counts for.
type OpeningResult struct {
	Kind      Kind   `json:"kind"`
	Name      string `json:"name,omitempty"`
	Height    Height `json:"height,omitempty"` // as given or taken by kind; empty is not known
	Net       Bounds `json:"net"`              // net free area, what is blocked taken away
	Blocked   Bounds `json:"blocked"`          // net free area lost to blockage
	ByDefault bool   `json:"by_default,omitempty"`
	Source    string `json:"source"`
}

// place is a set of the heights at which an opening may stand.
type place uint8

const (
	low place = 1 << iota
	high
	other
	anywhere = low | high | other
)

// opening is an Opening read and in SI units.
type opening struct {
	kind       Kind
	net        span // m²
	blocked    span // m²
	declared   place
	belowRidge float64 // m, NaN unknown
	aboveEave  float64 // m, NaN unknown
	powered    bool
	unlooked   bool // nobody said whether it is blocked

	how   measure
	count span
	size  float64 // m of run or m², of one; NaN unknown
	unit  span    // m² a vent, m² a metre, or a share: what is blocked taken away

	leastRise, mostRise, leastRun float64 // NaN not given
	flow                          float64 // m³/s of one fan, NaN unknown
	hole, mesh                    float64 // m, NaN unknown
}

// atEave says whether air comes in by it through the soffit or the edge of the
// roof, and so over the wall.
func (o opening) atEave() bool {
	return o.declared == low && (o.kind == SoffitStrip || o.kind == SoffitPanel || o.kind == SoffitLight || o.kind == DripEdgeVent)
}

// exhaust says whether it lets air out, or may: it stands elsewhere than low
// and is made to.
func (o opening) exhaust() bool {
	return o.declared != low && o.net.hi > 0 && o.kind != SoffitStrip && o.kind != SoffitPanel && o.kind != SoffitLight && o.kind != DripEdgeVent
}

// as is the kind by which exhaust is told apart: a fan in a gable is a fan.
func (o opening) as() Kind {
	if o.powered {
		return Powered
	}
	return o.kind
}

// run is the whole length, m; NaN when it is not known or not a run.
func (o opening) run() float64 {
	if o.how != length || o.count.wide() {
		return math.NaN()
	}
	return o.count.lo * o.size
}

func (o Opening) read(field string) (opening, OpeningResult, error) {
	r := units.Reader{Field: field + "."}
	known := slices.Contains([]Kind{Box, Turbine, Ridge, Gable, SoffitStrip, SoffitPanel, SoffitLight, DripEdgeVent, Powered}, o.Kind)
	if !known {
		return opening{}, OpeningResult{}, fmt.Errorf("%s.kind %q: must be box, turbine, ridge, gable, soffit_strip, soffit_panel, soffit_light, drip_edge_vent or powered", field, o.Kind)
	}
	const most = 1e6
	run := r.One(0, most, units.Alternative{Field: "length_ft", Value: o.LengthFt, Unit: float64(units.Foot)}, units.Alternative{Field: "length_m", Value: o.LengthM, Unit: 1})
	grossSize := r.One(0, most, units.Alternative{Field: "gross_in2", Value: o.GrossIn2, Unit: float64(units.SquareInch)}, units.Alternative{Field: "gross_cm2", Value: o.GrossCm2, Unit: float64(units.SquareCentimetre)})
	panelArea := r.One(0, most, units.Alternative{Field: "panel_area_ft2", Value: o.PanelAreaFt2, Unit: float64(units.SquareFoot)}, units.Alternative{Field: "panel_area_m2", Value: o.PanelAreaM2, Unit: 1})
	netEach := r.One(0, most, units.Alternative{Field: "net_each_in2", Value: o.NetEachIn2, Unit: float64(units.SquareInch)}, units.Alternative{Field: "net_each_cm2", Value: o.NetEachCm2, Unit: float64(units.SquareCentimetre)})
	netPer := r.One(0, most, units.Alternative{Field: "net_per_ft_in2", Value: o.NetPerFtIn2, Unit: float64(units.SquareInch) / float64(units.Foot)}, units.Alternative{Field: "net_per_m_cm2", Value: o.NetPerMCm2, Unit: float64(units.SquareCentimetre)})
	netShare := r.One(0, 1, units.Alternative{Field: "net_share", Value: o.NetShare, Unit: 1})
	blocked := r.One(0, 1, units.Alternative{Field: "blocked_share", Value: o.BlockedShare, Unit: 1})
	out := opening{kind: o.Kind, powered: o.Powered || o.Kind == Powered, unlooked: math.IsNaN(blocked)}
	out.belowRidge = r.One(0, most, units.Alternative{Field: "below_ridge_ft", Value: o.BelowRidgeFt, Unit: float64(units.Foot)}, units.Alternative{Field: "below_ridge_m", Value: o.BelowRidgeM, Unit: 1})
	out.aboveEave = r.One(0, most, units.Alternative{Field: "above_eave_ft", Value: o.AboveEaveFt, Unit: float64(units.Foot)}, units.Alternative{Field: "above_eave_m", Value: o.AboveEaveM, Unit: 1})

	out.flow = r.One(0, mostFlow, units.Alternative{Field: "fan_cfm", Value: o.FanCfm, Unit: float64(units.CubicFootPerMinute)}, units.Alternative{Field: "fan_l_s", Value: o.FanLs, Unit: float64(units.LitrePerSecond)})
	if !math.IsNaN(out.flow) && !out.powered {
		r.Refuse("fan_cfm, fan_l_s", "goes with a fan")
	}
	out.leastRise, out.mostRise, out.leastRun = readMaker(&r, o.LeastRiseIn12, o.MostRiseIn12, o.LeastRunFt, o.LeastRunM)
	out.hole = r.One(0, 1, units.Alternative{Field: "least_dimension_in", Value: o.LeastDimensionIn, Unit: float64(units.Inch)}, units.Alternative{Field: "least_dimension_mm", Value: o.LeastDimensionMm, Unit: float64(units.Millimetre)})
	out.mesh = r.One(0, 1, units.Alternative{Field: "mesh_in", Value: o.MeshIn, Unit: float64(units.Inch)}, units.Alternative{Field: "mesh_mm", Value: o.MeshMm, Unit: float64(units.Millimetre)})

	how, size := each, math.NaN()
	for _, w := range []struct {
		how  measure
		size float64
	}{{length, run}, {gross, grossSize}, {panel, panelArea}} {
		if math.IsNaN(w.size) {
			continue
		}
		if how != each {
			r.Refuse("length, gross, panel_area", "give one of them, not several")
		}
		how, size = w.how, w.size
	}
	if o.Count == nil && how == each && (o.Kind == Ridge || o.Kind == SoffitStrip || o.Kind == DripEdgeVent || o.Kind == SoffitPanel) && math.IsNaN(netEach) {
		how = length // a run that nobody has measured
	}
	if !math.IsNaN(netEach) && (how == length || how == panel) {
		r.Refuse("net_each", "goes with a count, not with a length or panel area")
	}
	if !math.IsNaN(netPer) && how != length {
		r.Refuse("net_per_ft, net_per_m", "goes with a length")
	}
	if !math.IsNaN(netShare) && how != gross && how != panel {
		r.Refuse("net_share", "goes with a gross size or a panel area")
	}

	count := anything
	switch {
	case o.Count != nil && (*o.Count < 0 || *o.Count > 10_000):
		r.Refuse("count", "must lie between 0 and 10,000")
	case o.Count != nil:
		count = exactly(float64(*o.Count))
	case how == length || how == panel:
		count = exactly(1)
	}
	var unit span
	res := OpeningResult{Kind: o.Kind, Name: o.Name, Source: "stamped or measured, as given"}
	switch {
	case !math.IsNaN(netEach):
		unit, size = exactly(netEach), 1
	case how == length && !math.IsNaN(netPer):
		unit = exactly(netPer)
	case !math.IsNaN(netShare):
		unit = exactly(netShare)
	case o.Kind == SoffitLight:
		unit, size, res.Source = exactly(0), 1, "a light fixture is no vent: not counted unless its net free area is stamped"
		if o.Count == nil {
			count = exactly(1) // however many, they count for nothing
		}
	default:
		unit, res.Source = byDefault(o.Kind, how)
		res.ByDefault = res.Source != ""
		if !res.ByDefault {
			res.Source = "not known; read the net free area stamped on the vent"
		}
		if how == each {
			size = 1
		}
	}
	if math.IsNaN(netEach) && (how == gross || how == panel) {
		unit.hi = min(unit.hi, 1) // no more is open than the whole of it
	}
	fitted := count.of(unit)
	if math.IsNaN(size) {
		fitted = fitted.of(anything)
	} else {
		fitted = fitted.of(exactly(size))
	}
	if how == gross && !math.IsNaN(grossSize) && !math.IsNaN(netEach) && netEach > grossSize*(1+slack) {
		r.Refuse("net_each", "is larger than the gross size")
	}
	share := 0.0
	if !out.unlooked {
		share = blocked
	}
	out.how, out.count, out.size, out.unit = how, count, size, unit.times(1-share)
	out.net, out.blocked = fitted.of(exactly(1-share)), fitted.of(exactly(share))

	switch o.Height {
	case Low:
		out.declared = low
	case High:
		out.declared = high
	case Other:
		out.declared = other
	case "":
		switch o.Kind {
		case Ridge:
			out.declared = high
		case SoffitStrip, SoffitPanel, SoffitLight, DripEdgeVent:
			out.declared = low
		default:
			out.declared = anywhere
		}
	default:
		r.Refuse("height", "must be low, high, other or left out")
	}
	switch out.declared {
	case low:
		res.Height = Low
	case high:
		res.Height = High
	case other:
		res.Height = Other
	}
	res.Net, res.Blocked = out.net.bounds(), out.blocked.bounds()
	return out, res, r.Err
}

// readMaker reads what a maker asks of the roof: least and most rise over run,
// and the least run in metres; NaN is not given.
func readMaker(r *units.Reader, least, most, runFt, runM *float64) (float64, float64, float64) {
	from := r.One(0, mostRange, units.Alternative{Field: "least_rise_in_12", Value: least, Unit: 1.0 / 12})
	to := r.One(0, mostRange, units.Alternative{Field: "most_rise_in_12", Value: most, Unit: 1.0 / 12})
	if from > to {
		r.Refuse("least_rise_in_12", "is more than most_rise_in_12")
	}
	run := r.One(0, 1000, units.Alternative{Field: "least_run_ft", Value: runFt, Unit: float64(units.Foot)}, units.Alternative{Field: "least_run_m", Value: runM, Unit: 1})
	return from, to, run
}

// threeFeet is the line that the American rules draw, 914 mm in their metric
// text and 3 ft in the other; the larger is taken.
const threeFeet = 3 * float64(units.Foot) * (1 + slack)

// at gives where the opening may stand in the eyes of a rule.
func (o opening) at(r Rule, framingConflict bool) place {
	p := o.declared
	if r.BelowRidge && !math.IsNaN(o.belowRidge) && !framingConflict {
		p = o.judged(p, o.belowRidge <= threeFeet)
	}
	if r.AboveEave && !math.IsNaN(o.aboveEave) {
		p = o.judged(p, o.aboveEave >= 3*float64(units.Foot)*(1-slack))
	}
	if r.BottomThird && p&low != 0 && !math.IsNaN(o.aboveEave) && !math.IsNaN(o.belowRidge) {
		if o.aboveEave > (o.aboveEave+o.belowRidge)/3*(1+slack) {
			p = p&^low | other
		}
	}
	return p
}

// judged narrows a place once a measured height says whether it counts as
// high. A height given by hand as low or other stands.
func (o opening) judged(p place, isHigh bool) place {
	switch {
	case p == high && !isHigh:
		return other
	case p == anywhere && isHigh:
		return high
	case p == anywhere:
		return low | other
	}
	return p
}
