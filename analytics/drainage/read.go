package drainage

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

const (
	mmPerHour = 0.001 / 3600 // m/s
	inPerHour = 0.0254 / 3600
	mostRain  = 1000 * mmPerHour
	inch      = float64(units.Inch)
	foot      = float64(units.Foot)
	mm        = float64(units.Millimetre)
	squareFt  = float64(units.SquareFoot)
	mostRise  = 3
	// believed sizes of holes and sections, m
	leastSize, mostSize = 0.02, 1
	mostLength          = 300
)

// span is a number between two bounds.
type span struct{ lo, hi float64 }

func exactly(v float64) span { return span{v, v} }
func (s span) wide() bool    { return s.hi > s.lo*(1+1e-9) }

func (s span) public() *Span {
	out := &Span{Least: s.lo}
	if !math.IsInf(s.hi, 1) {
		hi := s.hi
		out.Most = &hi
	}
	return out
}

func (s span) times(f float64) span { return span{s.lo * f, s.hi * f} }

func known(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) {
			return false
		}
	}
	return true
}

// valley is a Valley read.
type valley struct{ at, area, pitch, width float64 }

// run is an Input read and in SI; NaN is not known.
type run struct {
	rain, minutes       float64 // m/s; min
	rule                string
	plan, pitch, rafter float64
	derived             string // the field that was taken from the others
	roofN               span
	valleys             []valley
	looked              bool // at the valleys
	length              float64
	kind                Kind
	width, depth, sole  float64
	fall                float64
	n                   span
	roughness           string // the field that would settle it
	corners             int    // -1 not known
	guard               string
	blocked             float64
	blockedKnown        bool
	outlets             []outlet // nil not known
	count               int      // of outlets of unknown place, 0 not known
	spout               spout
	spoutRound          bool
	reach               span
	reachKnown          bool
	drop                float64
	below               *bool
	overhang, age       float64
	granules            *bool
	system              units.System
}

// Manning's n by material: handbook tables, second-hand; aluminium from memory.
var manning = map[string]span{
	"aluminium":  exactly(0.012),
	"copper":     exactly(0.011),
	"steel":      exactly(0.012),
	"galvanised": exactly(0.016),
	"pvc":        {0.009, 0.011},
}

// roofRoughness is Manning's n of asphalt: smooth for sheet flow 0.011 (FHWA
// HEC-22, from memory) to 0.016 (handbook tables, second-hand).
var roofRoughness = span{0.011, 0.016}

// given names the field of a pair that was given.
func given(first *float64, name, other string) string {
	if first != nil {
		return name
	}
	return other
}

func alt(field string, v *float64, unit float64) units.Alternative {
	return units.Alternative{Field: field, Value: v, Unit: unit}
}

func (in Input) read() (run, error) {
	r := units.Reader{}
	o := run{rule: in.AreaRule, looked: in.Valleys != nil, guard: in.Gutter.Guard, below: in.Lip.BelowRoofPlane, granules: in.Granules, system: in.Units}
	o.rain = r.One(0.1*mmPerHour, mostRain, alt("rain_in_per_h", in.RainInH, inPerHour), alt("rain_mm_per_h", in.RainMmH, mmPerHour))
	o.minutes = r.One(1, 1440, alt("rain_minutes", in.RainMinutes, 1))
	o.plan = r.One(0.1, 10_000, alt("plan_area_ft2", in.PlanAreaFt2, squareFt), alt("plan_area_m2", in.PlanAreaM2, 1))
	o.pitch = r.One(0.25/12, mostRise, alt("rise_in_12", in.RiseIn12, 1.0/12))
	o.rafter = r.One(0.1, 100, alt("rafter_ft", in.RafterFt, foot), alt("rafter_m", in.RafterM, 1))
	o.length = r.One(0.2, mostLength, alt("length_ft", in.LengthFt, foot), alt("length_m", in.LengthM, 1))
	o.roofN = roofRoughness
	if n := r.One(0.005, 0.1, alt("roof_manning_n", in.RoofManningN, 1)); known(n) {
		o.roofN = exactly(n)
	}
	choice := func(field, value string, allowed ...string) {
		if value != "" && !slices.Contains(allowed, value) {
			r.Refuse(field, fmt.Sprintf("%q: must be %s or left out", value, strings.Join(allowed, ", ")))
		}
	}
	choice("area_rule", in.AreaRule, "plan", "pitch_factor", "en_12056")
	if o.rule == "" {
		o.rule = "plan"
	}
	choice("units", string(in.Units), "us", "metric")
	if o.system == "" {
		o.system = units.US
	}
	o.overhang = r.One(0, 0.3, alt("shingle_overhang_in", in.ShingleOverhangIn, inch), alt("shingle_overhang_mm", in.ShingleOverhangMm, mm))
	o.age = r.One(0, 200, alt("roof_age_years", in.RoofAgeYears, 1))

	in.readGutter(&r, &o, choice)
	in.readOutlets(&r, &o)
	r.Field = "lip."
	reach := r.One(0, 1, alt("reach_in", in.Lip.ReachIn, inch), alt("reach_mm", in.Lip.ReachMm, mm))
	o.drop = r.One(-0.2, 1, alt("drop_in", in.Lip.DropIn, inch), alt("drop_mm", in.Lip.DropMm, mm))
	switch {
	case known(reach):
		o.reach, o.reachKnown = exactly(reach), true
	case known(o.width):
		// the drip edge stands over the gutter's back; how far is our judgement
		o.reach = span{max(0, o.width-1.25*inch), o.width}
	default:
		o.reach = span{math.NaN(), math.NaN()}
	}
	for i, v := range in.Valleys {
		r.Field = fmt.Sprintf("valleys[%d].", i)
		w := valley{
			at:    r.One(0, mostLength, alt("at_ft", v.AtFt, foot), alt("at_m", v.AtM, 1)),
			area:  r.One(0.1, 10_000, alt("plan_area_ft2", v.PlanAreaFt2, squareFt), alt("plan_area_m2", v.PlanAreaM2, 1)),
			pitch: r.One(0.1/12, mostRise, alt("valley_rise_in_12", v.RiseIn12, 1.0/12)),
			width: r.One(0.02, 2, alt("width_in", v.WidthIn, inch), alt("width_mm", v.WidthMm, mm)),
		}
		if known(w.at, o.length) {
			if w.at > o.length*(1+1e-6) {
				r.Refuse(given(v.AtFt, "at_ft", "at_m"), "must lie on the run, from 0 to its length")
			}
			w.at = min(w.at, o.length)
		}
		if !known(w.pitch) && known(o.pitch) {
			w.pitch = o.pitch / math.Sqrt2
		}
		o.valleys = append(o.valleys, w)
	}
	if r.Err != nil {
		return run{}, fmt.Errorf("gutter run: %w", r.Err)
	}
	// the slope's three measures give one another on a rectangle
	cos := 1 / math.Hypot(1, o.pitch)
	switch {
	case !known(o.plan) && known(o.length, o.rafter, o.pitch):
		o.plan, o.derived = o.length*o.rafter*cos, "plan_area"
	case !known(o.rafter) && known(o.length, o.plan, o.pitch):
		o.rafter, o.derived = o.plan/o.length/cos, "rafter"
	}
	return o, nil
}

func (in Input) readGutter(r *units.Reader, o *run, choice func(string, string, ...string)) {
	r.Field = "gutter."
	g := in.Gutter
	choice("kind", string(g.Kind), string(HalfRound), string(KStyle), string(Box))
	choice("material", g.Material, "aluminium", "copper", "steel", "galvanised", "pvc")
	choice("guard", g.Guard, "none", "screen", "mesh", "hood", "foam")
	o.kind = g.Kind
	o.width = r.One(leastSize, mostSize, alt("width_in", g.WidthIn, inch), alt("width_mm", g.WidthMm, mm))
	o.depth = r.One(leastSize, mostSize, alt("depth_in", g.DepthIn, inch), alt("depth_mm", g.DepthMm, mm))
	o.sole = r.One(0.005, mostSize, alt("bottom_in", g.BottomIn, inch), alt("bottom_mm", g.BottomMm, mm))
	if known(o.sole) && o.kind != KStyle && o.kind != "" {
		r.Refuse(given(g.BottomIn, "bottom_in", "bottom_mm"), "only a k_style gutter has a sole of its own")
	}
	if known(o.sole, o.width) && o.sole > o.width {
		r.Refuse(given(g.BottomIn, "bottom_in", "bottom_mm"), "must not be wider than the top")
	}
	if known(o.depth, o.width) && (o.depth > 4*o.width || o.depth < o.width/10) {
		r.Refuse(given(g.DepthIn, "depth_in", "depth_mm"), "must lie between a tenth of the width and four times it")
	}
	o.fall = r.One(0, 0.1, alt("fall_in_per_10_ft", g.FallInPer10Ft, 1.0/120), alt("fall_ratio", g.FallRatio, 1))
	o.n, o.roughness = span{0.009, 0.016}, "gutter.material"
	if n, ok := manning[g.Material]; ok {
		o.n, o.roughness = n, "gutter.manning_n"
	}
	if n := r.One(0.005, 0.05, alt("manning_n", g.ManningN, 1)); known(n) {
		o.n = exactly(n)
	}
	o.corners = -1
	if g.Corners != nil {
		o.corners = *g.Corners
		if o.corners < 0 || o.corners > 50 {
			r.Refuse("corners", "must lie between 0 and 50")
		}
	}
	if b := r.One(0, 0.9, alt("blocked_share", g.BlockedShare, 1)); known(b) {
		o.blocked, o.blockedKnown = b, true
	}
}

func (in Input) readOutlets(r *units.Reader, o *run) {
	if in.Outlets != nil {
		r.Field = "outlets."
		ways := 0
		q := *in.Outlets
		for _, given := range []bool{q.Ends != "", q.AtFt != nil, q.AtM != nil, q.Count != nil} {
			if given {
				ways++
			}
		}
		if ways > 1 {
			r.Refuse("ends", "give one of ends, at_ft, at_m and count")
		}
		var at []float64
		switch q.Ends {
		case "":
		case "left":
			at = []float64{0}
		case "right":
			at = []float64{math.Inf(1)}
		case "both":
			at = []float64{0, math.Inf(1)}
		default:
			r.Refuse("ends", "must be left, right, both or left out")
		}
		unit, list, field := 1.0, q.AtM, "at_m"
		if q.AtFt != nil {
			unit, list, field = foot, q.AtFt, "at_ft"
		}
		if list != nil && len(list) == 0 || len(list) > 40 {
			r.Refuse(field, "must have 1 to 40 places; a gutter without an outlet only overflows")
		}
		for i, x := range list {
			x *= unit
			if !(x >= 0 && x <= mostLength) || known(o.length) && x > o.length*(1+1e-6) {
				r.Refuse(fmt.Sprintf("%s[%d]", field, i), "must lie on the run, from 0 to its length")
			}
			at = append(at, x)
		}
		if q.Count != nil {
			o.count = *q.Count
			if o.count < 1 || o.count > 40 {
				r.Refuse("count", "must lie between 1 and 40; a gutter without an outlet only overflows")
			}
		}
		slices.Sort(at)
		for _, x := range at {
			if known(o.length) {
				x = min(x, o.length)
			}
			if last := len(o.outlets) - 1; last >= 0 && x-o.outlets[last].at < 0.01 {
				o.outlets[last].holes++
				continue
			}
			o.outlets = append(o.outlets, outlet{x, 1})
		}
	}
	if in.Downspout == nil {
		return
	}
	r.Field = "downspout."
	d := *in.Downspout
	w := r.One(leastSize, mostSize, alt("width_in", d.WidthIn, inch), alt("width_mm", d.WidthMm, mm))
	h := r.One(leastSize, mostSize, alt("depth_in", d.DepthIn, inch), alt("depth_mm", d.DepthMm, mm))
	dia := r.One(leastSize, mostSize, alt("diameter_in", d.DiameterIn, inch), alt("diameter_mm", d.DiameterMm, mm))
	switch d.Kind {
	case "rectangular":
		if known(dia) {
			r.Refuse(given(d.DiameterIn, "diameter_in", "diameter_mm"), "is for a round downspout")
		}
		if known(w, h) {
			o.spout = rectangular(w, h)
		}
	case "round":
		if known(w) {
			r.Refuse(given(d.WidthIn, "width_in", "width_mm"), "is for a rectangular downspout")
		}
		if known(h) {
			r.Refuse(given(d.DepthIn, "depth_in", "depth_mm"), "is for a rectangular downspout")
		}
		if known(dia) {
			o.spout, o.spoutRound = roundHole(dia), true
		}
	default:
		r.Refuse("kind", "must be rectangular or round")
	}
	if b := r.One(0, 0.9, alt("blocked_share", d.BlockedShare, 1)); known(b) {
		o.spout.rim *= 1 - b
		o.spout.area *= 1 - b
	}
}

func rectangular(w, h float64) spout { return spout{2 * (w + h), w * h} }
func roundHole(d float64) spout      { return spout{math.Pi * d, math.Pi * d * d / 4} }
