package takeoff

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// SlopeFactor is the true area of a plane over its plan area, √(1+p²).
func SlopeFactor(p units.Pitch) float64 { return math.Hypot(1, float64(p)) }

// HipFactor is the length of a hip or valley over the run of the common
// rafter, √(2+p²), where two slopes of one pitch meet at a square corner.
func HipFactor(p units.Pitch) float64 { return math.Hypot(math.Sqrt2, float64(p)) }

// The slopes at which the rules change, inches of rise in twelve.
const (
	leastRise   = 2  // asphalt shingles, IRC R905.2.2
	singleRise  = 4  // below it two layers of underlayment, IRC R905.2.2
	steepRise   = 20 // above it special fastening, IRC R905.2.6, older editions
	steeperRise = 21 // the same, newer editions, from memory
	mostRise    = 36 // steeper is a wall to this package
)

// leastNails go into a single shingle, and an interlocking one, whatever the
// maker's own count: IRC R905.2.6, a town's copy of R905.2 for interlocking.
const leastNails = 2

// usualWaste is taken when none is stated: about a tenth, trade pages.
const usualWaste = 0.10

// Underlayment of 36 in sheets: a 2 in head lap on one layer (IRC R905.1.1 and
// R905.2.7); on two layers 17 in show, over a 19 in starter at the eave (IRC
// R905.1.1; a navy builder's manual).
const (
	singleLap    = 36.0 / 34
	doubleLap    = 36.0 / 17
	starterSheet = 19 * float64(units.Inch)
)

// dripLap is how far pieces of drip edge lap, IRC R905.2.8.5; a piece is 10 ft
// long unless given (common practice, no source).
const (
	dripLap   = 2 * float64(units.Inch)
	dripPiece = 10 * float64(units.Foot)
)

// Slope is one plane of the roof. Its area is given by the plan area, or by
// the length along the eave and the rafter from eave to top along the slope,
// for a rectangle, or by its outline in plan. Of each pair that differs only by
// unit one may be given.
type Slope struct {
	Name     string   `json:"name,omitempty"`
	RiseIn12 *float64 `json:"rise_in_12,omitempty"` // 0 to 36

	// Outline is on axes that the slopes share; see [ReadPlan]. FacingDeg, the
	// compass bearing it looks towards, gives the fall of a slope whose outline
	// has no eave, ridge or headwall.
	Outline   units.Outline `json:"outline,omitempty"`
	FacingDeg *float64      `json:"facing_deg,omitempty"`

	PlanAreaFt2 *float64 `json:"plan_area_ft2,omitempty"` // with the overhang
	PlanAreaM2  *float64 `json:"plan_area_m2,omitempty"`
	LengthFt    *float64 `json:"length_ft,omitempty"` // along the eave
	LengthM     *float64 `json:"length_m,omitempty"`
	RafterFt    *float64 `json:"rafter_ft,omitempty"` // along the slope, with the overhang
	RafterM     *float64 `json:"rafter_m,omitempty"`
}

// Run is an edge or line of the roof: eave, rake, ridge, hip, valley, wall (it
// runs up beside the slope) or headwall (along its top). Its length is measured
// along the roof; for a rake, hip, valley or wall it may instead come from the
// run of the common rafter, in plan, and the rise.
type Run struct {
	Kind string `json:"kind"`
	Name string `json:"name,omitempty"`

	LengthFt *float64 `json:"length_ft,omitempty"`
	LengthM  *float64 `json:"length_m,omitempty"`

	CommonRunFt *float64 `json:"common_run_ft,omitempty"`
	CommonRunM  *float64 `json:"common_run_m,omitempty"`
	RiseIn12    *float64 `json:"rise_in_12,omitempty"`
}

// Input is a roof and what is to be laid on it.
type Input struct {
	Slopes   []Slope  `json:"slopes"`
	Runs     []Run    `json:"runs,omitempty"`
	Covering Covering `json:"covering"`

	// Code is a key of [units.EditionOf]; it draws the line of special fastening.
	Code string `json:"code,omitempty"`

	WasteShare     *float64 `json:"waste_share,omitempty"` // 0 to 0.5 of the area; left out, by rule: see [Waste]
	HighWind       bool     `json:"high_wind,omitempty"`   // asks for 6 nails a shingle
	StarterOnRakes bool     `json:"starter_on_rakes,omitempty"`

	UnderlaymentRollFt2 *float64 `json:"underlayment_roll_ft2,omitempty"` // sheet in one roll
	UnderlaymentRollM2  *float64 `json:"underlayment_roll_m2,omitempty"`
	DripEdgePieceFt     *float64 `json:"drip_edge_piece_ft,omitempty"` // left out, 10 ft
	DripEdgePieceM      *float64 `json:"drip_edge_piece_m,omitempty"`

	Fittings

	Units units.System `json:"units,omitempty"` // of the sentences: us (when empty) or metric
}

// SlopeResult is one slope. What is nil is not known.
type SlopeResult struct {
	Name    string      `json:"name,omitempty"`
	Factor  *float64    `json:"slope_factor,omitempty"`
	Area    *units.Area `json:"area_m2,omitempty"`
	Squares *float64    `json:"squares,omitempty"`
	// Layers of underlayment: 1, 2, or 0 where shingles may not be laid.
	Layers          *int `json:"underlayment_layers,omitempty"`
	NailsPerShingle *int `json:"nails_per_shingle,omitempty"`
}

// Lengths are the runs of the roof and what is cut from them, without waste.
// What is nil is not known.
type Lengths struct {
	Eave     *units.Length `json:"eave_m,omitempty"`
	Rake     *units.Length `json:"rake_m,omitempty"`
	Ridge    *units.Length `json:"ridge_m,omitempty"`
	Hip      *units.Length `json:"hip_m,omitempty"`
	Valley   *units.Length `json:"valley_m,omitempty"`
	Wall     *units.Length `json:"wall_m,omitempty"`
	Headwall *units.Length `json:"headwall_m,omitempty"`
	Starter  *units.Length `json:"starter_m,omitempty"`   // eaves, and rakes if asked
	Cap      *units.Length `json:"cap_m,omitempty"`       // ridges and hips
	DripEdge *units.Length `json:"drip_edge_m,omitempty"` // eaves and rakes

	DripEdgePieces *int `json:"drip_edge_pieces,omitempty"` // with laps of 2 in
}

// Order is what the shingled slopes need. What is nil is not known.
type Order struct {
	Area       units.Area `json:"area_m2"` // of the slopes that may be shingled
	Squares    float64    `json:"squares"`
	WasteShare float64    `json:"waste_share"`
	// SquaresWithWaste is Squares × (1 + WasteShare).
	SquaresWithWaste float64 `json:"squares_with_waste"`
	Bundles          *int    `json:"bundles,omitempty"` // whole, rounded up
	// Nails are those of the area with waste; NailsForBundles those of every
	// shingle in the bundles ordered.
	Nails           *int `json:"nails,omitempty"`
	NailsForBundles *int `json:"nails_for_bundles,omitempty"`
	// NailsLeast is for an interlocking shingle whose maker's count is not
	// known: the area with waste at 2 a shingle, the fewest of IRC R905.2.6.
	NailsLeast *int `json:"nails_least,omitempty"`
	// Sheet is the underlayment with its head laps and waste.
	Sheet *units.Area `json:"underlayment_m2,omitempty"`
	Rolls *int        `json:"underlayment_rolls,omitempty"`
}

// Warning is something a rule says of a slope or of the covering.
type Warning struct {
	Key  string `json:"key"`
	Says string `json:"says"`
}

// Result is the whole takeoff.
type Result struct {
	Slopes []SlopeResult `json:"slopes"`
	// Order is nil while the area of a slope is not known.
	Order *Order `json:"order,omitempty"`
	// LowSlopeArea lies under 2:12, takes no shingles, and is not in the order.
	LowSlopeArea units.Area `json:"low_slope_area_m2"`
	Lengths      Lengths    `json:"lengths"`
	Waste        Waste      `json:"waste"`
	Materials    Materials  `json:"materials"`
	// Plan is what the outlines say, where there are any.
	Plan *Plan `json:"plan,omitempty"`

	Warnings []Warning `json:"warnings,omitempty"`
	Measure  []string  `json:"measure,omitempty"` // fields that are missing
	Notes    []string  `json:"notes,omitempty"`
	Says     string    `json:"says"`
}

// plane is a Slope read; NaN is not known.
type plane struct {
	pitch, area, eave float64 // rise over run, m², m
	layers, nails     int     // layers -1 and nails 0 not known
}

// TakeOff figures the quantities. It refuses, by the field's name and the
// rule, what cannot be: slopes over 36:12, areas and lengths not above nought,
// two units or two ways for one thing, a roof without a slope.
func TakeOff(in Input) (Result, error) {
	r := units.Reader{}
	waste := r.One(0, 0.5, units.Alternative{Field: "waste_share", Value: in.WasteShare, Unit: 1})
	roll := r.One(1, 1000, units.Alternative{Field: "underlayment_roll_ft2", Value: in.UnderlaymentRollFt2, Unit: float64(units.SquareFoot)}, units.Alternative{Field: "underlayment_roll_m2", Value: in.UnderlaymentRollM2, Unit: 1})
	piece := r.One(0.5, 20, units.Alternative{Field: "drip_edge_piece_ft", Value: in.DripEdgePieceFt, Unit: float64(units.Foot)}, units.Alternative{Field: "drip_edge_piece_m", Value: in.DripEdgePieceM, Unit: 1})
	switch in.Units {
	case "", units.US, units.Metric:
	default:
		r.Refuse("units", "must be us, metric or left out")
	}
	if len(in.Slopes) == 0 {
		r.Refuse("slopes", "give at least one")
	}
	line, err := steepLine(in.Code)
	if err != nil {
		r.Refuse("code", err.Error())
	}
	if r.Err != nil {
		return Result{}, r.Err
	}
	covering, warnings, err := in.Covering.read()
	if err != nil {
		return Result{}, err
	}
	fit, err := in.Fittings.read(in.Slopes, covering, in.Code)
	if err != nil {
		return Result{}, err
	}
	res := Result{Warnings: warnings}
	if math.IsNaN(piece) {
		piece = dripPiece
	}
	if covering.format.Source != "" {
		res.Notes = append(res.Notes, "Covering: "+covering.format.Says+" ("+covering.format.Source+").")
	}

	planes := make([]plane, len(in.Slopes))
	outlines := 0
	for i, s := range in.Slopes {
		field := fmt.Sprintf("slopes[%d]", i)
		if planes[i], err = s.read(field, line, &res); err != nil {
			return Result{}, err
		}
		planes[i].nails = nailsPerShingle(planes[i].pitch, in.HighWind, line, covering)
		res.Slopes = append(res.Slopes, planes[i].result(s.Name))
		if len(s.Outline) > 0 {
			outlines++
		}
	}
	var lines []stretch
	if outlines > 0 {
		plan, err := readPlan(in.Slopes, in.Units)
		if err != nil {
			return Result{}, err
		}
		res.Plan = &plan
	}
	known := true
	switch {
	case in.Runs != nil:
		if lines, err = res.runs(in.Runs); err != nil {
			return Result{}, err
		}
	case outlines == len(in.Slopes):
		lines = res.Plan.stretches()
	default:
		known = false
		res.Measure = append(res.Measure, "runs")
	}
	res.lengths(lines, known, in.StarterOnRakes, piece)
	res.waste(planes, covering, waste)
	res.order(planes, covering, res.Waste.Share, roll)
	res.materials(fit, covering, lines, known, in.Units)
	res.Says = res.sentence(in.Units)
	return res, nil
}

// stretch is a line of the roof on one or two slopes; its length NaN not known.
type stretch struct {
	kind   string
	length float64
	rafter float64 // of an eave's slope, the longest way up it; NaN not known
}

// stretches are the plan's lines, but for the open ones.
func (p *Plan) stretches() []stretch {
	var out []stretch
	for _, l := range p.Lines {
		s := stretch{l.Kind, math.NaN(), math.NaN()}
		if l.Length != nil {
			s.length = float64(*l.Length)
		}
		if l.Kind == "eave" {
			for _, q := range p.Slopes {
				if q.Name == l.Slopes[0] && q.Rafter != nil && !(s.rafter >= float64(*q.Rafter)) {
					s.rafter = float64(*q.Rafter)
				}
			}
		}
		if l.Kind != "open" {
			out = append(out, s)
		}
	}
	return out
}

// steepLine is the slope above which a code asks for special fastening, inches
// in twelve: 20 in older editions of IRC R905.2.6 (read in a city's copy), 21
// in newer (from memory). Nought is not known.
func steepLine(code string) (float64, error) {
	if code == "" {
		return 0, nil
	}
	e, err := units.EditionOf(code)
	switch {
	case err != nil || e.Canadian:
		return 0, err
	case e.Year < 2012:
		return steepRise, nil
	}
	return steeperRise, nil
}

const (
	leastSize = 1e-3    // m or m²
	mostArea  = 100_000 // m²
	mostRun   = 2_000   // m
)

func (s Slope) read(field string, line float64, res *Result) (plane, error) {
	r := units.Reader{Field: field + "."}
	p := plane{layers: -1}
	p.pitch = r.One(0, mostRise/12.0, units.Alternative{Field: "rise_in_12", Value: s.RiseIn12, Unit: 1.0 / 12})
	plan := r.One(leastSize, mostArea, units.Alternative{Field: "plan_area_ft2", Value: s.PlanAreaFt2, Unit: float64(units.SquareFoot)}, units.Alternative{Field: "plan_area_m2", Value: s.PlanAreaM2, Unit: 1})
	p.eave = r.One(leastSize, mostRun, units.Alternative{Field: "length_ft", Value: s.LengthFt, Unit: float64(units.Foot)}, units.Alternative{Field: "length_m", Value: s.LengthM, Unit: 1})
	rafter := r.One(leastSize, mostRun, units.Alternative{Field: "rafter_ft", Value: s.RafterFt, Unit: float64(units.Foot)}, units.Alternative{Field: "rafter_m", Value: s.RafterM, Unit: 1})
	if !math.IsNaN(plan) && !math.IsNaN(rafter) {
		r.Refuse("rafter", "give either a plan area, or a length and a rafter, not both")
	}
	if len(s.Outline) > 0 {
		if !math.IsNaN(plan) || !math.IsNaN(rafter) || !math.IsNaN(p.eave) {
			r.Refuse("outline", "give either an outline, or a plan area, or a length and a rafter")
		}
		if err := s.Outline.Validate(); err != nil && r.Err == nil {
			r.Err = fmt.Errorf("%s.%w", field, err)
		}
		plan, p.eave = float64(s.Outline.PlanArea()), 0
		for i, c := range s.Outline {
			if next := s.Outline[(i+1)%len(s.Outline)]; c.Edge == "eave" {
				p.eave += math.Hypot(float64(next.X-c.X), float64(next.Y-c.Y))
			}
		}
	}
	r.One(0, 360, units.Alternative{Field: "facing_deg", Value: s.FacingDeg, Unit: 1})
	if !math.IsNaN(plan) {
		p.area = plan * SlopeFactor(units.Pitch(p.pitch)) // not known without the pitch
	} else {
		p.area = p.eave * rafter
	}
	missing := func(name string) { res.Measure = append(res.Measure, field+"."+name) }
	if math.IsNaN(p.pitch) {
		missing("rise_in_12")
	}
	if math.IsNaN(plan) && math.IsNaN(p.area) {
		switch {
		case !math.IsNaN(p.eave):
			missing("rafter")
		case !math.IsNaN(rafter):
			missing("length")
		default:
			missing("plan_area")
		}
	}
	name := s.Name
	if name == "" {
		name = field
	}
	warn := func(key, says string) { res.Warnings = append(res.Warnings, Warning{key, name + ": " + says}) }
	rise := units.Pitch(p.pitch).In12()
	switch {
	case math.IsNaN(rise):
	case rise < leastRise*(1-slack):
		p.layers = 0
		warn("below_2_in_12", "under 2:12 asphalt shingles are not to be laid (IRC R905.2.2); it takes a low-slope covering and is left out of the order.")
	case rise < singleRise*(1-slack):
		p.layers = 2
		warn("double_underlayment", "from 2:12 to under 4:12 two layers of underlayment are asked for (IRC R905.2.2).")
	default:
		p.layers = 1
	}
	switch {
	case line > 0:
		if rise > line*(1+slack) {
			warn("very_steep", fmt.Sprintf("steeper than %g:12 the fastening is special, by the maker's sheet (IRC R905.2.6 of the edition given; 21:12 in newer ones is from memory).", line))
		}
	case rise > steeperRise*(1+slack):
		warn("very_steep", "steeper than 21:12 the fastening is special, by the maker's sheet (IRC R905.2.6; 20:12 in older editions, 21:12 in newer from memory).")
	case rise > steepRise*(1+slack):
		warn("very_steep", "steeper than 20:12 the fastening is special in older editions of IRC R905.2.6; newer draw the line at 21:12 (from memory). Take the maker's sheet.")
	}
	return p, r.Err
}

// nailsPerShingle gives the maker's own number, or 4 to a strip, the fewest of
// IRC R905.2.6, and 6 for high wind or a very steep slope; 0 when not known.
func nailsPerShingle(pitch float64, wind bool, line float64, c laid) int {
	if line == 0 {
		line = steepRise
	}
	switch {
	case c.nails > 0:
		return c.nails
	case !c.format.NailsByRule:
		return 0
	case wind || pitch*12 > line*(1+slack):
		return 6
	case math.IsNaN(pitch):
		return 0
	}
	return 4
}

func (p plane) result(name string) SlopeResult {
	out := SlopeResult{Name: name}
	if !math.IsNaN(p.pitch) {
		f := SlopeFactor(units.Pitch(p.pitch))
		out.Factor = &f
	}
	if !math.IsNaN(p.area) {
		a := units.Area(p.area)
		squares := a.In(units.Square)
		out.Area, out.Squares = &a, &squares
	}
	if p.layers >= 0 {
		out.Layers = &p.layers
	}
	if p.nails > 0 && p.layers != 0 {
		out.NailsPerShingle = &p.nails
	}
	return out
}

var runKinds = []string{"eave", "rake", "ridge", "hip", "valley", "wall", "headwall"}

// runs reads the lengths that were given.
func (res *Result) runs(runs []Run) ([]stretch, error) {
	var out []stretch
	for i, run := range runs {
		field := fmt.Sprintf("runs[%d]", i)
		if !slices.Contains(runKinds, run.Kind) {
			return nil, fmt.Errorf("%s.kind %q: must be %s", field, run.Kind, strings.Join(runKinds, ", "))
		}
		length, err := run.read(field)
		if err != nil {
			return nil, err
		}
		if math.IsNaN(length) {
			res.Measure = append(res.Measure, field+".length")
		}
		out = append(out, stretch{run.Kind, length, math.NaN()})
	}
	return out, nil
}

// lengths adds up the lines of each kind. A kind with a line of unknown length
// is not known.
func (res *Result) lengths(lines []stretch, listed, starterOnRakes bool, piece float64) {
	sum := map[string]float64{}
	for _, kind := range runKinds {
		if !listed {
			sum[kind] = math.NaN()
		}
	}
	for _, l := range lines {
		sum[l.kind] += l.length
	}
	eave, rake := sum["eave"], sum["rake"]
	starter, drip := eave, eave+rake
	if starterOnRakes {
		starter += rake
	}
	res.Lengths = Lengths{
		Eave: lengthOf(eave), Rake: lengthOf(rake), Ridge: lengthOf(sum["ridge"]), Hip: lengthOf(sum["hip"]), Valley: lengthOf(sum["valley"]),
		Wall: lengthOf(sum["wall"]), Headwall: lengthOf(sum["headwall"]),
		Starter: lengthOf(starter), Cap: lengthOf(sum["ridge"] + sum["hip"]), DripEdge: lengthOf(drip),
	}
	if !math.IsNaN(drip) {
		n := up(drip / (piece - dripLap))
		res.Lengths.DripEdgePieces = &n
	}
}

func (run Run) read(field string) (float64, error) {
	r := units.Reader{Field: field + "."}
	length := r.One(0, mostRun, units.Alternative{Field: "length_ft", Value: run.LengthFt, Unit: float64(units.Foot)}, units.Alternative{Field: "length_m", Value: run.LengthM, Unit: 1})
	common := r.One(0, mostRun, units.Alternative{Field: "common_run_ft", Value: run.CommonRunFt, Unit: float64(units.Foot)}, units.Alternative{Field: "common_run_m", Value: run.CommonRunM, Unit: 1})
	pitch := units.Pitch(r.One(0, mostRise/12.0, units.Alternative{Field: "rise_in_12", Value: run.RiseIn12, Unit: 1.0 / 12}))
	level := run.Kind == "eave" || run.Kind == "ridge" || run.Kind == "headwall"
	switch {
	case !math.IsNaN(common) && level:
		r.Refuse("common_run", "an eave, ridge or headwall is level: give its length")
	case !math.IsNaN(common) && !math.IsNaN(length):
		r.Refuse("common_run", "give either a length or a common run, not both")
	case math.IsNaN(common):
	case run.Kind == "rake" || run.Kind == "wall":
		length = common * SlopeFactor(pitch)
	default:
		length = common * HipFactor(pitch)
	}
	return length, r.Err
}

// up rounds to whole pieces; a hair over a whole number is that number.
func up(v float64) int { return int(math.Ceil(v * (1 - slack))) }

// slack is the relative difference under which two quantities count as equal.
const slack = 1e-9

func (res *Result) order(planes []plane, c laid, waste, roll float64) {
	if slices.ContainsFunc(planes, func(p plane) bool { return math.IsNaN(p.area) }) {
		return
	}
	o := Order{WasteShare: waste}
	area, sheet, nails := 0.0, 0.0, 0.0
	withWaste := 1 + waste
	for _, p := range planes {
		if p.layers == 0 {
			res.LowSlopeArea += units.Area(p.area)
			continue
		}
		area += p.area
		squares := units.Area(p.area * withWaste).In(units.Square)
		if p.nails == 0 {
			nails = math.NaN()
		}
		nails += squares * c.shinglesPerSquare * float64(p.nails)
		switch p.layers {
		case 1:
			sheet += p.area * singleLap * withWaste
		case 2:
			sheet += p.area * doubleLap * withWaste
			if !math.IsNaN(p.eave) {
				sheet += p.eave * starterSheet * withWaste
			} else {
				res.note("The 19 in starter of doubled underlayment is not in the sheet where the length of a slope's eave is not given.")
			}
		default:
			sheet = math.NaN()
		}
	}
	o.Area = units.Area(area)
	o.Squares = o.Area.In(units.Square)
	o.SquaresWithWaste = o.Squares * withWaste
	if !math.IsNaN(nails) {
		n := int(math.Round(nails))
		o.Nails = &n
	}
	if c.format.Key == "interlocking" && c.nails == 0 && !math.IsNaN(c.shinglesPerSquare) {
		n := int(math.Round(o.SquaresWithWaste * c.shinglesPerSquare * leastNails))
		o.NailsLeast = &n
	}
	if !math.IsNaN(c.bundlesPerSquare) {
		n := up(o.SquaresWithWaste * c.bundlesPerSquare)
		o.Bundles = &n
		if o.Nails != nil {
			m := Nails(n, c.shinglesPerSquare/c.bundlesPerSquare, mostNails(planes))
			o.NailsForBundles = &m
		}
	}
	res.Measure = append(res.Measure, c.missing()...)
	if !math.IsNaN(sheet) {
		a := units.Area(sheet)
		o.Sheet = &a
		if !math.IsNaN(roll) {
			n := up(sheet / roll)
			o.Rolls = &n
		}
	}
	res.Order = &o
}

// mostNails is the largest count a shingle takes on any slope that is shingled:
// a bundle may end up on any of them.
func mostNails(planes []plane) int {
	most := 0
	for _, p := range planes {
		if p.layers != 0 {
			most = max(most, p.nails)
		}
	}
	return most
}

func (res *Result) note(says string) {
	if !slices.Contains(res.Notes, says) {
		res.Notes = append(res.Notes, says)
	}
}

func (res *Result) sentence(s units.System) string {
	o := res.Order
	if o == nil {
		return "The area is not known yet. Measure " + strings.Join(res.Measure, ", ") + "."
	}
	size := func(a units.Area) string {
		if s == units.Metric {
			return fmt.Sprintf("%.1f m²", a.In(units.SquareMetre))
		}
		return fmt.Sprintf("%.2f squares", a.In(units.Square))
	}
	out := fmt.Sprintf("%s to shingle; %s with %.3g %% waste", size(o.Area), size(o.Area*units.Area(1+o.WasteShare)), 100*o.WasteShare)
	if o.Bundles != nil {
		out += fmt.Sprintf(": %d bundles", *o.Bundles)
		if o.Nails != nil {
			out += fmt.Sprintf(" and %d nails", *o.Nails)
		}
	}
	return out + "."
}
