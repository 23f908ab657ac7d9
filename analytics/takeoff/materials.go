package takeoff

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// What the fittings are reckoned with unless the maker's own is given.
const (
	inch = float64(units.Inch)
	foot = float64(units.Foot)

	membraneWide    = 36 * inch  // common practice, no source
	membraneRoll    = 65 * foot  // shorter of the common rolls, 65 and 66.7 ft; trade pages
	membraneSideLap = 3.5 * inch // makers ask 3 to 4 in; common practice, no source
	membraneEndLap  = 6 * inch   // common practice, no source
	aroundWide      = 18 * inch  // strip round a penetration, half a roll; a trade guide

	valleyMetalWide = 24 * inch // least width of an open valley's metal, IRC R905.2.8.2
	valleyPiece     = 10 * foot // common practice, no source
	valleyLap       = 6 * inch  // common practice, no source

	stepLeast = 4 * units.Inch // of step flashing, high and wide, IRC R905.2.8.3

	// Feet of edge that a bundle covers, least and most of trade pages.
	starterLeast, starterMost = 80 * foot, 120 * foot
	capLeast, capMost         = 20 * foot, 35 * foot
	capsToStrip               = 3 // a 36 in strip is cut in three; geometry

	starterNails = 4 // to a strip; common practice, no source
	capNails     = 2 // one to each side; common practice, no source

	saddleWide         = 30 * inch // IRC R903.2.2
	saddleWideCanadian = 0.750     // NBC and OBC 9.26, from memory
)

// Fittings is what goes on beside the shingles. What is left out is not known;
// an empty list says there are none.
type Fittings struct {
	// EaveMembrane is how far a membrane is to reach up the slope from the edge,
	// along the slope: what the code asks, or more. Nought says none is laid.
	EaveMembraneFt *float64 `json:"eave_membrane_ft,omitempty"`
	EaveMembraneM  *float64 `json:"eave_membrane_m,omitempty"`
	MembraneRollFt *float64 `json:"membrane_roll_ft,omitempty"` // length; left out, 65 ft
	MembraneRollM  *float64 `json:"membrane_roll_m,omitempty"`

	Valley        string   `json:"valley,omitempty"`          // open_metal, open_roll, closed or woven
	ValleyPieceFt *float64 `json:"valley_piece_ft,omitempty"` // of metal; left out, 10 ft
	ValleyPieceM  *float64 `json:"valley_piece_m,omitempty"`

	// Length of edge that a bundle of starter, and of caps, covers: the maker's.
	StarterBundleFt *float64 `json:"starter_bundle_ft,omitempty"`
	StarterBundleM  *float64 `json:"starter_bundle_m,omitempty"`
	CapBundleFt     *float64 `json:"cap_bundle_ft,omitempty"`
	CapBundleM      *float64 `json:"cap_bundle_m,omitempty"`
	CapFromStrips   bool     `json:"cap_from_strips,omitempty"` // cut from strip_36

	Penetrations []Penetration `json:"penetrations,omitempty"`
}

// Penetration is a chimney or skylight. Its slope is named, or its rise given.
type Penetration struct {
	Kind     string   `json:"kind"` // chimney or skylight
	Name     string   `json:"name,omitempty"`
	Slope    string   `json:"slope,omitempty"` // name of one of the slopes
	RiseIn12 *float64 `json:"rise_in_12,omitempty"`

	WidthIn  *float64 `json:"width_in,omitempty"` // across the slope
	WidthMm  *float64 `json:"width_mm,omitempty"`
	LengthIn *float64 `json:"length_in,omitempty"` // along the slope
	LengthMm *float64 `json:"length_mm,omitempty"`

	MeetsRidge bool  `json:"meets_ridge,omitempty"` // no slope above it
	Saddle     *bool `json:"saddle,omitempty"`      // whether it has, or is to have, a saddle
}

// Membrane is self-adhered sheet 36 in wide, lengths of it without end laps.
// What is nil is not known.
type Membrane struct {
	// EaveCourses is how many sheets lie above one another at an eave, at most,
	// with side laps of 3½ in.
	EaveCourses  *int          `json:"eave_courses,omitempty"`
	Eave         *units.Length `json:"eave_m,omitempty"`
	Valley       *units.Length `json:"valley_m,omitempty"`       // one sheet, centred
	Penetrations *units.Length `json:"penetrations_m,omitempty"` // half sheets round them
	Total        *units.Length `json:"total_m,omitempty"`
	Rolls        *int          `json:"rolls,omitempty"` // whole, with end laps of 6 in
}

// ValleyLining is what lies in the valleys. What is nil is not known or not of
// this kind.
type ValleyLining struct {
	Kind   string        `json:"kind"`
	Pieces *int          `json:"pieces,omitempty"`      // of metal, each valley by itself, with laps of 6 in
	Width  *units.Length `json:"width_m,omitempty"`     // least width of the metal, 24 in
	Metal  *units.Area   `json:"metal_m2,omitempty"`    // without laps
	Roll18 *units.Length `json:"roll_18in_m,omitempty"` // bottom ply of an open valley of roll roofing
	Roll36 *units.Length `json:"roll_36in_m,omitempty"` // its top ply, or the lining of a closed or woven valley
}

// Span is a count that lies between two bounds, equal where it is known.
type Span struct {
	Least int `json:"least"`
	Most  int `json:"most"`
}

// Saddle is the check of one chimney against the rule for saddles (crickets),
// and the size of the saddle. What is nil is not known or not wanted.
type Saddle struct {
	Name    string        `json:"name"`
	Verdict units.Verdict `json:"verdict"`
	// Over is how much wider the chimney is than the rule lets go without;
	// negative where it is narrower.
	Over *units.Length `json:"over_m,omitempty"`
	// Height over the slope at the chimney's back, half the width times the
	// pitch; PlanArea and Area of its two sides.
	Height   *units.Length `json:"height_m,omitempty"`
	PlanArea *units.Area   `json:"plan_area_m2,omitempty"`
	Area     *units.Area   `json:"area_m2,omitempty"`
	Says     string        `json:"says"`
}

// Materials is what goes on beside the shingles. What is nil is not known.
type Materials struct {
	Membrane Membrane      `json:"membrane"`
	Valley   *ValleyLining `json:"valley,omitempty"`
	// StepFlashing is one piece a course along the walls, at least 4 by 4 in
	// (IRC R905.2.8.3); Headwall the flashing along the headwalls.
	StepFlashing   *int          `json:"step_flashing_pieces,omitempty"`
	Headwall       *units.Length `json:"headwall_flashing_m,omitempty"`
	StarterBundles *Span         `json:"starter_bundles,omitempty"`
	CapBundles     *Span         `json:"cap_bundles,omitempty"`
	CapStrips      *int          `json:"cap_strips,omitempty"` // shingles cut for caps
	StarterNails   *int          `json:"starter_nails,omitempty"`
	CapNails       *int          `json:"cap_nails,omitempty"`
	Saddles        []Saddle      `json:"saddles,omitempty"`
	Says           []string      `json:"says,omitempty"`
	Measure        []string      `json:"measure,omitempty"`
}

// fittings are Fittings read, in metres; NaN is not known.
type fittings struct {
	Fittings
	reach, roll, piece, starter, caps float64
	penetrations                      []penetration
	saddleWide                        float64
}

type penetration struct {
	Penetration
	field, name          string
	width, length, pitch float64
}

// lengths is the pair of alternatives of a length in feet or metres.
func lengths(name string, ft, m *float64) []units.Alternative {
	return []units.Alternative{{Field: name + "_ft", Value: ft, Unit: foot}, {Field: name + "_m", Value: m, Unit: 1}}
}

// sizes is the pair of alternatives of a length in inches or millimetres.
func sizes(name string, in, mm *float64) []units.Alternative {
	return []units.Alternative{{Field: name + "_in", Value: in, Unit: inch}, {Field: name + "_mm", Value: mm, Unit: float64(units.Millimetre)}}
}

func (f Fittings) read(slopes []Slope, c laid, code string) (fittings, error) {
	r := units.Reader{}
	out := fittings{Fittings: f, saddleWide: saddleWide}
	if e, err := units.EditionOf(code); err == nil && e.Canadian {
		out.saddleWide = saddleWideCanadian
	}
	out.reach = r.One(0, 30, lengths("eave_membrane", f.EaveMembraneFt, f.EaveMembraneM)...)
	out.roll = r.One(2, 100, lengths("membrane_roll", f.MembraneRollFt, f.MembraneRollM)...)
	out.piece = r.One(0.5, 50, lengths("valley_piece", f.ValleyPieceFt, f.ValleyPieceM)...)
	out.starter = r.One(1, 200, lengths("starter_bundle", f.StarterBundleFt, f.StarterBundleM)...)
	out.caps = r.One(1, 200, lengths("cap_bundle", f.CapBundleFt, f.CapBundleM)...)
	if math.IsNaN(out.roll) {
		out.roll = membraneRoll
	}
	if math.IsNaN(out.piece) {
		out.piece = valleyPiece
	}
	switch f.Valley {
	case "", "open_metal", "open_roll", "closed", "woven":
	default:
		r.Refuse(fmt.Sprintf("valley %q", f.Valley), "must be open_metal, open_roll, closed, woven or left out")
	}
	if f.CapFromStrips && c.format.Key != "strip_36" {
		r.Refuse("cap_from_strips", "only the strip_36 format is cut in three")
	}
	if f.CapFromStrips && !math.IsNaN(out.caps) {
		r.Refuse("cap_bundle", "give either cap_from_strips or what a bundle of caps covers, not both")
	}
	for i, q := range f.Penetrations {
		p := penetration{Penetration: q, field: fmt.Sprintf("penetrations[%d]", i)}
		if p.name = q.Name; p.name == "" {
			p.name = p.field
		}
		pr := units.Reader{Field: p.field + "."}
		if q.Kind != "chimney" && q.Kind != "skylight" {
			pr.Refuse(fmt.Sprintf("kind %q", q.Kind), "must be chimney or skylight")
		}
		p.width = pr.One(0.05, 15, sizes("width", q.WidthIn, q.WidthMm)...)
		p.length = pr.One(0.05, 15, sizes("length", q.LengthIn, q.LengthMm)...)
		p.pitch = pr.One(0, mostRise/12.0, units.Alternative{Field: "rise_in_12", Value: q.RiseIn12, Unit: 1.0 / 12})
		if q.Slope != "" {
			k := slices.IndexFunc(slopes, func(s Slope) bool { return s.Name == q.Slope })
			switch {
			case k < 0:
				pr.Refuse("slope", fmt.Sprintf("there is no slope named %q", q.Slope))
			case !math.IsNaN(p.pitch):
				pr.Refuse("rise_in_12", "give either the slope or its rise, not both")
			case slopes[k].RiseIn12 != nil:
				p.pitch = *slopes[k].RiseIn12 / 12
			}
		}
		if r.Err == nil {
			r.Err = pr.Err
		}
		out.penetrations = append(out.penetrations, p)
	}
	return out, r.Err
}

func (res *Result) materials(f fittings, c laid, lines []stretch, listed bool, s units.System) {
	m := &res.Materials
	m.membrane(f, lines, listed, s)
	m.valley(f, lines, listed, res.Lengths.Valley, s)
	l := res.Lengths
	if l.Wall != nil {
		switch {
		case *l.Wall == 0:
			m.StepFlashing = new(int)
		case math.IsNaN(c.exposure):
			m.missing("covering.exposure")
		default:
			n := 0
			for _, line := range lines {
				if line.kind == "wall" {
					n += up(line.length / c.exposure)
				}
			}
			m.StepFlashing = &n
			m.say("%d pieces of step flashing, one a course, each at least %s high and wide (IRC R905.2.8.3).", n, s.SmallLength(stepLeast))
		}
	}
	if m.Headwall = l.Headwall; l.Headwall != nil && *l.Headwall > 0 {
		m.say("%s of headwall flashing.", s.Length(*l.Headwall))
	}
	if l.Starter != nil {
		m.StarterBundles = bundles(float64(*l.Starter), f.starter, starterLeast, starterMost)
		m.tellBundles("starter", "starter_bundle", *l.Starter, m.StarterBundles, f.starter, starterLeast, starterMost, s)
		if c.format.WidthIn > 0 {
			n := up(float64(*l.Starter)/(c.format.WidthIn*inch)) * starterNails
			m.StarterNails = &n
		}
	}
	if l.Cap != nil {
		switch {
		case f.CapFromStrips:
			n := up(float64(*l.Cap) / (capsToStrip * c.exposure))
			b := up(float64(n) * c.bundlesPerSquare / c.shinglesPerSquare)
			m.CapStrips, m.CapBundles = &n, &Span{b, b}
			m.say("%s of cap: %d strips cut in three, %d bundles.", s.Length(*l.Cap), n, b)
		default:
			m.CapBundles = bundles(float64(*l.Cap), f.caps, capLeast, capMost)
			m.tellBundles("cap", "cap_bundle", *l.Cap, m.CapBundles, f.caps, capLeast, capMost, s)
		}
		if !math.IsNaN(c.exposure) {
			n := up(float64(*l.Cap)/c.exposure) * capNails
			m.CapNails = &n
		}
	}
	for _, p := range f.penetrations {
		if p.Kind == "chimney" {
			m.Saddles = append(m.Saddles, m.saddle(p, f.saddleWide, s))
		}
	}
}

func (m *Materials) missing(field string) { m.Measure = append(m.Measure, field) }
func (m *Materials) say(format string, of ...any) {
	m.Says = append(m.Says, fmt.Sprintf(format, of...))
}

func bundles(length, covers, least, most float64) *Span {
	if !math.IsNaN(covers) {
		least, most = covers, covers
	}
	return &Span{up(length / most), up(length / least)}
}

func (m *Materials) tellBundles(what, field string, length units.Length, n *Span, covers, least, most float64, s units.System) {
	switch {
	case length == 0:
	case n.Least == n.Most:
		m.say("%s of %s: %s.", s.Length(length), what, count(n.Least, "bundle"))
	default:
		m.say("%s of %s: %d to %d bundles, for a bundle covers %s to %s.", s.Length(length), what, n.Least, n.Most, s.Length(units.Length(least)), s.Length(units.Length(most)))
	}
	if length > 0 && math.IsNaN(covers) {
		m.missing(field)
	}
}

func count(n int, of string) string {
	if n == 1 {
		return "1 " + of
	}
	return fmt.Sprintf("%d %ss", n, of)
}

// courses is how many sheets reach so far up a slope.
func courses(reach float64) int {
	if reach <= 0 {
		return 0
	}
	return 1 + max(0, up((reach-membraneWide)/(membraneWide-membraneSideLap)))
}

func (m *Materials) membrane(f fittings, lines []stretch, listed bool, s units.System) {
	eave, valley, around := 0.0, 0.0, 0.0
	most := 0
	for _, l := range lines {
		switch l.kind {
		case "eave":
			n := courses(f.reach)
			if l.rafter < f.reach {
				n = courses(l.rafter)
			}
			most = max(most, n)
			eave += float64(n) * l.length
		case "valley":
			valley += l.length
		}
	}
	if !listed {
		eave, valley = math.NaN(), math.NaN()
	}
	switch {
	case math.IsNaN(f.reach):
		eave = math.NaN()
		m.missing("eave_membrane")
	case f.reach == 0:
		eave = 0
	}
	if f.Penetrations == nil {
		around = math.NaN()
		m.missing("penetrations")
	}
	for _, p := range f.penetrations {
		if math.IsNaN(p.width) {
			m.missing(p.field + ".width")
		}
		if math.IsNaN(p.length) {
			m.missing(p.field + ".length")
		}
		// each of four strips goes on past one corner by its own width
		around += (2*(p.width+p.length) + 4*aroundWide) * aroundWide / membraneWide
	}
	total := eave + valley + around
	m.Membrane = Membrane{Eave: lengthOf(eave), Valley: lengthOf(valley), Penetrations: lengthOf(around), Total: lengthOf(total)}
	if m.Membrane.Eave != nil {
		m.Membrane.EaveCourses = &most
	}
	if m.Membrane.Total != nil {
		n := up(total / (f.roll - membraneEndLap))
		m.Membrane.Rolls = &n
		if n > 0 {
			m.say("Membrane %s wide: %s at the eaves in %s, %s in valleys, %s round chimneys and skylights: %s.", s.SmallLength(units.Length(membraneWide)),
				s.Length(units.Length(eave)), count(most, "course"), s.Length(units.Length(valley)), s.Length(units.Length(around)), count(n, "roll"))
		}
	}
}

func (m *Materials) valley(f fittings, lines []stretch, listed bool, length *units.Length, s units.System) {
	switch {
	case f.Valley == "" && length != nil && *length > 0:
		m.missing("valley")
		return
	case f.Valley == "" || length == nil:
		return
	}
	v := &ValleyLining{Kind: f.Valley}
	m.Valley = v
	switch f.Valley {
	case "open_metal":
		n := 0
		for _, l := range lines {
			if l.kind == "valley" && l.length > 0 {
				n += max(1, up((l.length-valleyLap)/(f.piece-valleyLap)))
			}
		}
		width, area := units.Length(valleyMetalWide), units.Area(float64(*length)*valleyMetalWide)
		v.Pieces, v.Width, v.Metal = &n, &width, &area
		if n > 0 {
			m.say("%s of valley metal, at least %s wide (IRC R905.2.8.2), for %s of open valley.", count(n, "piece"), s.SmallLength(width), s.Length(*length))
		}
	case "open_roll":
		v.Pieces, v.Roll18, v.Roll36 = new(int), length, length
		if *length > 0 {
			m.say("%s of roll roofing %s wide and as much %s wide over it, in the open valleys (IRC R905.2.8.2).", s.Length(*length), s.SmallLength(18*units.Inch), s.SmallLength(36*units.Inch))
		}
	default:
		v.Pieces, v.Roll36 = new(int), length
		if *length > 0 {
			m.say("No metal in %s valleys; %s of smooth roll or membrane at least %s wide lies under them (IRC R905.2.8.2): the membrane's strip serves.", f.Valley, s.Length(*length), s.SmallLength(36*units.Inch))
		}
	}
}

// saddleCaution goes with every saddle that is wanted.
const saddleCaution = " A saddle is built and flashed by a licensed roofer, to the local code; nobody should go up for it without fall protection, or on a frosty, wet or steep roof."

func (m *Materials) saddle(p penetration, wide float64, s units.System) Saddle {
	out := Saddle{Name: p.name, Verdict: units.NotKnown, Over: lengthOf(p.width - wide)}
	limit := s.SmallLength(units.Length(wide))
	rule := "IRC R903.2.2"
	if wide != saddleWide {
		rule = "NBC and OBC 9.26, from memory"
	}
	over := p.width > wide*(1+slack)
	switch {
	case p.MeetsRidge:
		out.Verdict = units.Passes
		out.Says = fmt.Sprintf("%s meets the ridge and needs no saddle (%s).", p.name, rule)
		return out
	case math.IsNaN(p.width):
		out.Says = fmt.Sprintf("Whether %s needs a saddle is not known: it does if it is wider than %s across the slope (%s).", p.name, limit, rule)
		return out
	case !over:
		out.Verdict = units.Passes
		out.Says = fmt.Sprintf("%s is %s wide and needs no saddle up to %s (%s).", p.name, s.SmallLength(units.Length(p.width)), limit, rule)
		return out
	}
	size := ""
	switch {
	case math.IsNaN(p.pitch):
		m.missing(p.field + ".rise_in_12")
	default:
		height := units.Length(p.width / 2 * p.pitch)
		// it goes back up the slope by half its width, where its level ridge meets the slope
		plan := units.Area(p.width * p.width / 4)
		area := units.Area(float64(plan) * SlopeFactor(units.Pitch(p.pitch)))
		out.Height, out.PlanArea, out.Area = &height, &plan, &area
		size = fmt.Sprintf(" It is to be %s high at the chimney's back (IRC Table R1003.20), about %s to cover.", s.SmallLength(height), s.Area(area))
	}
	says := fmt.Sprintf("%s is %s wide, %s over %s: it needs a saddle on its ridge side (%s).", p.name, s.SmallLength(units.Length(p.width)), s.SmallLength(units.Length(p.width-wide)), limit, rule)
	switch {
	case p.Saddle == nil:
		m.missing(p.field + ".saddle")
		says += " Whether it has one is not known."
	case *p.Saddle:
		out.Verdict = units.Passes
		says += " It has one."
	default:
		out.Verdict = units.Fails
		says += " It has none; building one puts it right."
	}
	out.Says = strings.TrimSpace(says + size + saddleCaution)
	return out
}
