package drainage

import (
	"overhang/analytics/units"
)

// Verdict is what can be said of a check.
type Verdict = units.Verdict

// The verdicts.
const (
	Passes   = units.Passes
	Fails    = units.Fails
	NotKnown = units.NotKnown
)

// Kind is a kind of gutter.
type Kind string

// The kinds of gutters. A K-style gutter is taken as a trapezoid: the back
// upright, the front a straight line instead of its moulding.
const (
	HalfRound Kind = "half_round"
	KStyle    Kind = "k_style"
	Box       Kind = "box"
)

// Input is one run of gutter and the roof that drains to it. Of each pair of
// fields that differ only by unit at most one may be given; a field left out is
// not known. Places along the run are measured from its left end, as seen from
// the ground.
type Input struct {
	// The design rain: the intensity of a five-minute fall. RainMinutes is the
	// length of fall that the figure is for, where it is another.
	RainInH     *float64 `json:"rain_in_per_h,omitempty"`
	RainMmH     *float64 `json:"rain_mm_per_h,omitempty"`
	RainMinutes *float64 `json:"rain_minutes,omitempty"`

	// AreaRule turns plan area into the area that catches rain: plan (when
	// empty), pitch_factor (a table by pitch) or en_12056 (half the rise is
	// added to the plan width).
	AreaRule string `json:"area_rule,omitempty"`

	// The slope that drains over the eave, evenly along the run: its plan area,
	// rise and length along the slope. An area left out is taken from run and
	// length along the slope.
	PlanAreaFt2  *float64 `json:"plan_area_ft2,omitempty"`
	PlanAreaM2   *float64 `json:"plan_area_m2,omitempty"`
	RiseIn12     *float64 `json:"rise_in_12,omitempty"`
	RafterFt     *float64 `json:"rafter_ft,omitempty"`
	RafterM      *float64 `json:"rafter_m,omitempty"`
	RoofManningN *float64 `json:"roof_manning_n,omitempty"` // left out: 0.011 to 0.016

	// Valleys that pour into the run: left out is not looked at, empty is none.
	Valleys []Valley `json:"valleys"`

	LengthFt  *float64   `json:"length_ft,omitempty"`
	LengthM   *float64   `json:"length_m,omitempty"`
	Gutter    Gutter     `json:"gutter"`
	Outlets   *Outlets   `json:"outlets,omitempty"`
	Downspout *Downspout `json:"downspout,omitempty"` // each of them
	Lip       Lip        `json:"lip"`

	ShingleOverhangIn *float64 `json:"shingle_overhang_in,omitempty"` // past the drip edge
	ShingleOverhangMm *float64 `json:"shingle_overhang_mm,omitempty"`
	RoofAgeYears      *float64 `json:"roof_age_years,omitempty"`
	Granules          *bool    `json:"granules,omitempty"` // granules were seen in the gutter

	Units units.System `json:"units,omitempty"` // of the sentences: us (when empty) or metric
}

// Valley is a valley that pours into the run at one place. Its own rise is less
// than that of its slopes; left out, it is theirs over √2, as where equal slopes
// meet at a square corner. Width is the flat of an open valley; left out, the
// water runs in the trough between the slopes.
type Valley struct {
	AtFt        *float64 `json:"at_ft,omitempty"`
	AtM         *float64 `json:"at_m,omitempty"`
	PlanAreaFt2 *float64 `json:"plan_area_ft2,omitempty"`
	PlanAreaM2  *float64 `json:"plan_area_m2,omitempty"`
	RiseIn12    *float64 `json:"valley_rise_in_12,omitempty"`
	WidthIn     *float64 `json:"width_in,omitempty"`
	WidthMm     *float64 `json:"width_mm,omitempty"`
}

// Gutter is the run's section and state. Width is at the top, from back to lip;
// depth is to the lip; bottom is the sole of a K-style gutter.
type Gutter struct {
	Kind     Kind     `json:"kind,omitempty"`
	WidthIn  *float64 `json:"width_in,omitempty"`
	WidthMm  *float64 `json:"width_mm,omitempty"`
	DepthIn  *float64 `json:"depth_in,omitempty"`
	DepthMm  *float64 `json:"depth_mm,omitempty"`
	BottomIn *float64 `json:"bottom_in,omitempty"`
	BottomMm *float64 `json:"bottom_mm,omitempty"`

	// Fall towards the outlets; 0 is level. Between two outlets the run is
	// taken to fall both ways from the middle.
	FallInPer10Ft *float64 `json:"fall_in_per_10_ft,omitempty"`
	FallRatio     *float64 `json:"fall_ratio,omitempty"` // rise over run

	Material     string   `json:"material,omitempty"` // aluminium, copper, steel, galvanised or pvc
	ManningN     *float64 `json:"manning_n,omitempty"`
	Corners      *int     `json:"corners,omitempty"`       // bends in plan
	Guard        string   `json:"guard,omitempty"`         // none, screen, mesh, hood or foam
	BlockedShare *float64 `json:"blocked_share,omitempty"` // of the section: granules, plants; 0 to 0.9
}

// Outlets are where the downspouts stand: at the ends (left, right or both), at
// places along the run, or a count of unknown places.
type Outlets struct {
	Ends  string    `json:"ends,omitempty"`
	AtFt  []float64 `json:"at_ft,omitempty"`
	AtM   []float64 `json:"at_m,omitempty"`
	Count *int      `json:"count,omitempty"`
}

// Downspout is the inner size of each downspout: rectangular by width and
// depth, or round by diameter.
type Downspout struct {
	Kind         string   `json:"kind"` // rectangular or round
	WidthIn      *float64 `json:"width_in,omitempty"`
	WidthMm      *float64 `json:"width_mm,omitempty"`
	DepthIn      *float64 `json:"depth_in,omitempty"`
	DepthMm      *float64 `json:"depth_mm,omitempty"`
	DiameterIn   *float64 `json:"diameter_in,omitempty"`
	DiameterMm   *float64 `json:"diameter_mm,omitempty"`
	BlockedShare *float64 `json:"blocked_share,omitempty"` // of the outlet, 0 to 0.9
}

// Lip is where the gutter's front lip stands from the drip edge: how far out,
// level, and how far down (negative is above it).
type Lip struct {
	ReachIn *float64 `json:"reach_in,omitempty"`
	ReachMm *float64 `json:"reach_mm,omitempty"`
	DropIn  *float64 `json:"drop_in,omitempty"`
	DropMm  *float64 `json:"drop_mm,omitempty"`
	// BelowRoofPlane says whether a straight edge laid down the slope clears the
	// lip. Measures above overrule it.
	BelowRoofPlane *bool `json:"below_roof_plane,omitempty"`
}

// Span is a number known to lie between two; Most is nil when nothing bounds it.
type Span struct {
	Least float64  `json:"least"`
	Most  *float64 `json:"most,omitempty"`
}

// Judgement is one check.
type Judgement struct {
	Key     string  `json:"key"`
	Verdict Verdict `json:"verdict"`
	// MarginShare is what is there over what is asked, less one; Margin is the
	// same as a length. Negative is short.
	MarginShare *Span    `json:"margin_share,omitempty"`
	Margin      *Span    `json:"margin_m,omitempty"`
	Says        string   `json:"says"`
	Source      string   `json:"source"`
	Measure     []string `json:"measure,omitempty"` // fields that would settle it
	Remedies    []Remedy `json:"remedies,omitempty"`
	Notes       []string `json:"notes,omitempty"`
}

// Remedy is one thing that would put a check right, or help to. Remedies stand
// in the order in which they are to be thought of.
type Remedy struct {
	Key    string        `json:"key"`
	Raise  *units.Length `json:"raise_m,omitempty"`  // of the gutter; negative is lower
	Height *units.Length `json:"height_m,omitempty"` // of a guard, an apron or a total fall
	Length *units.Length `json:"length_m,omitempty"` // of a guard along the lip, each way
	Width  *units.Length `json:"width_m,omitempty"`  // of a larger gutter
	Count  int           `json:"count,omitempty"`    // of outlets, in all
	Cures  bool          `json:"cures"`              // it is enough alone
	Says   string        `json:"says"`
}

// Table is a published figure for one side of an outlet, free to run out, beside
// ours. Ratio is ours over the table's.
type Table struct {
	Key    string     `json:"key"`
	Flow   units.Flow `json:"flow_m3_s"`
	Ratio  float64    `json:"ratio"`
	Agrees bool       `json:"agrees"` // within a fifth
	// Asks is the width that a formula asks for at the design rain.
	Asks   *units.Length `json:"asks_width_m,omitempty"`
	Source string        `json:"source"`
	Says   string        `json:"says"`
}

// OutletState is one outlet at the design rain.
type OutletState struct {
	At       units.Length  `json:"at_m"`
	Holes    int           `json:"downspouts"`
	Area     units.Area    `json:"area_m2"` // that it serves
	Flow     units.Flow    `json:"flow_m3_s"`
	Head     *units.Length `json:"head_m,omitempty"`            // that the flow needs over the hole
	Capacity *units.Flow   `json:"capacity_m3_s,omitempty"`     // of the holes under a full gutter
	Trade    *units.Flow   `json:"trade_figure_m3_s,omitempty"` // 1 in² for 1,200 ft² at 1 in/h
}

// Stream is the water that leaves an edge at the design rain, and where it goes.
type Stream struct {
	Where string     `json:"where"` // eave, or valleys[0]
	Flow  units.Flow `json:"flow_m3_s"`
	Unit  float64    `json:"unit_flow_m2_s,omitempty"` // of a sheet: flow a metre of eave
	Speed Span       `json:"speed_m_s"`
	Depth Span       `json:"depth_m"`
	Width *Span      `json:"width_m,omitempty"` // of a valley's stream
	// Throw is how far out its upper face is when level with the lip, and Reach
	// how far out the lip is, both along the stream's own direction.
	Throw *Span `json:"throw_m,omitempty"`
	Reach *Span `json:"reach_m,omitempty"`
	// Lands is inside, lip (the stream strikes it), over, or not known.
	Lands string `json:"lands"`
	// Begins is the rain at which the upper face first passes the lip; its most
	// is nil when that is more than any rain believed.
	Begins *Span `json:"begins_mm_per_h,omitempty"`
	// MostDrop is the lowest that the lip may hang under the edge for the stream
	// to land inside.
	MostDrop *units.Length `json:"most_drop_m,omitempty"`
}

// Runoff is the water that the rain brings to the run.
type Runoff struct {
	Rain       *float64    `json:"rain_mm_per_h,omitempty"`
	Even       *units.Area `json:"even_area_m2,omitempty"`   // plan
	Valleys    *units.Area `json:"valley_area_m2,omitempty"` // plan
	AreaRule   string      `json:"area_rule"`
	Factor     *Span       `json:"factor,omitempty"` // of the rule on the even area
	Flow       *units.Flow `json:"flow_m3_s,omitempty"`
	SheetTime  *float64    `json:"sheet_minutes,omitempty"`
	FiveMinute *bool       `json:"five_minute_rain_applies,omitempty"`
}

// Result is the whole answer for one run.
type Result struct {
	// Checks are capacity, downspouts, run_per_outlet, fall, overshoot_eave,
	// overshoot_valleys and lip_below_snow_line, in that order.
	Checks []Judgement `json:"checks"`
	Runoff Runoff      `json:"runoff"`
	// Capacity is the rain at which the water reaches the lip, and Free the
	// same were the outlets no hindrance, both with corners counted.
	Capacity *Span         `json:"capacity_mm_per_h,omitempty"`
	Free     *Span         `json:"free_capacity_mm_per_h,omitempty"`
	Deepest  *units.Length `json:"deepest_m,omitempty"` // water at the design rain, walls thought higher
	Usable   *units.Length `json:"usable_depth_m,omitempty"`
	Outlets  []OutletState `json:"outlets,omitempty"`
	Streams  []Stream      `json:"streams,omitempty"`
	Tables   []Table       `json:"tables,omitempty"`
	Notes    []string      `json:"notes,omitempty"`
	Cautions []string      `json:"cautions,omitempty"`
}

// Check judges one run of gutter. It refuses, by the field's name and the rule,
// values that cannot be: rain over 1,000 mm/h, pitches under 0.25:12 or over
// 36:12, areas of nothing, places off the run, two units for one thing, unknown
// words.
func Check(in Input) (Result, error) {
	r, err := in.read()
	if err != nil {
		return Result{}, err
	}
	j := judging{run: r}
	j.runoff()
	j.hydraulics()
	j.out.Checks = []Judgement{j.capacity(), j.downspouts(), j.runPerOutlet(), j.fallCheck(), j.overEave(), j.overValleys(), j.snowLine()}
	j.tables()
	j.remarks()
	return j.out, nil
}
