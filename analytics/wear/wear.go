package wear

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// Line is the rating of a covering at the end of its life, in points. Our own
// judgement, no source: at this rating most of a slope is bald, cracked or
// curled past bending back.
const Line = 20.0

// Looked says what a look told about a defect.
type Looked string

// The states of a look. None and NotLooked differ: the first is knowledge.
const (
	Seen      Looked = "seen"
	None      Looked = "none"
	NotLooked Looked = "not_looked"
)

// Finding is what one look told about one defect on one slope.
type Finding struct {
	Defect string `json:"defect"`          // a key of the catalogue
	Slope  string `json:"slope,omitempty"` // any name; empty speaks of all slopes
	Look   Looked `json:"look"`

	// Of a defect that was seen; left out is not known.
	Severity *int `json:"severity,omitempty"` // 1 to 3

	// How much of the slope shows it: its share, 0 to 1, or its class, 1 to 5
	// (see [Extents]), not both.
	Extent      *float64 `json:"extent,omitempty"`
	ExtentClass *int     `json:"extent_class,omitempty"`
}

// Input is one look at one roof.
type Input struct {
	Method   Method    `json:"method,omitempty"`   // walked, ladder, street or photo; empty is not known
	Covering string    `json:"covering,omitempty"` // one of [Families]; empty is not known
	Findings []Finding `json:"findings"`

	// VisibleSlopes names the slopes that could be seen; left out, they are not
	// known and every finding is taken.
	VisibleSlopes []string `json:"visible_slopes,omitempty"`

	Wet *bool `json:"wet,omitempty"` // whether the roof was wet; left out is not known

	// SlopeAreas weighs the slopes for the mean: areas by name in any one unit,
	// since only their ratios count.
	SlopeAreas map[string]float64 `json:"slope_areas,omitempty"`
}

// Cost is what a finding took off its slope.
type Cost struct {
	Finding int     `json:"finding"` // its place in the input, from 0
	Defect  string  `json:"defect"`
	Name    string  `json:"name"`
	Slope   string  `json:"slope,omitempty"`
	Points  float64 `json:"points"` // 0 to 100, taken off a slope without other defects

	// GivesBack is what the rating of its slope would gain if the defect alone
	// were put right, in points. Among many it is less than Points.
	GivesBack float64 `json:"gives_back"`
}

// SlopeRating is the rating of one part on one slope.
type SlopeRating struct {
	Slope string `json:"slope"`

	// As in [PartRating]; nil when nothing of the part was looked at on it.
	Rating *float64 `json:"rating"`
	Least  *float64 `json:"least"`
	Most   *float64 `json:"most"`

	// ErrorPoints is that of [PartRating] for this slope alone: what was looked at
	// on it, written down for it or for all slopes.
	ErrorPoints *float64 `json:"error_points"`
	ShownShare  *float64 `json:"shown_share"` // as in [PartRating], of this slope

	Dearest   string   `json:"dearest"`    // key of the defect that took most; empty when there is none
	AreaShare *float64 `json:"area_share"` // of all slope areas given; nil where its own is not
}

// Errors are the standard deviations, in points, that make up ErrorPoints: its
// square is the sum of theirs.
type Errors struct {
	Method    float64 `json:"method_points"`     // between two careful looks by this method
	NotLooked float64 `json:"not_looked_points"` // of defects and slopes that nobody looked at
	NotKnown  float64 `json:"not_known_points"`  // of severities and extents that were not noted, or as a class
}

// PartRating is the rating of one part of the roof.
type PartRating struct {
	Part Part `json:"part"`

	// Rating is 0 to 100, nil when nothing of the part was looked at. Where a
	// severity or an extent is not known, Rating takes a usual one (severity 2,
	// a tenth of the slope; the middle of a class) and Least and Most take the
	// worst and the best.
	Rating *float64 `json:"rating"`
	Least  *float64 `json:"least"`
	Most   *float64 `json:"most"`

	// ErrorPoints is the standard deviation to read the rating with, in points:
	// of the method, of what was not looked at, and of what is not known.
	ErrorPoints *float64 `json:"error_points"`
	Errors      *Errors  `json:"errors"`

	// ShownShare is what of its wear the look shows, as the mean over coverings: what
	// was not looked at can only lower a rating, so that a look for a few defects rates an
	// old covering too well. Nil when nothing of the part was looked at.
	ShownShare *float64 `json:"shown_share"`

	WorstSlope string `json:"worst_slope,omitempty"` // the slope that the rating is of

	// Slopes are the named slopes, by name. Mean weighs those that are rated by
	// their areas; only of the covering, and nil unless each has its area.
	Slopes []SlopeRating `json:"slopes"`
	Mean   *float64      `json:"mean"`

	Costs      []Cost   `json:"costs"`      // on the worst slope, the dearest first
	NotLooked  []string `json:"not_looked"` // keys of the defects that nobody looked at
	Catalogued int      `json:"catalogued"` // defects of this part to look for on this covering

	Says string `json:"says"`
}

// SetAside is a finding that cannot stand: the method cannot have made it, or
// the covering cannot have it.
type SetAside struct {
	Finding int    `json:"finding"`
	Defect  string `json:"defect"`
	Reason  string `json:"reason"` // covering, method, wet or slope
	Why     string `json:"why"`
}

// Result is what a look says about the roof.
type Result struct {
	Parts     []PartRating `json:"parts"` // covering, flashing, gutter
	Dearest   *Cost        `json:"dearest"`
	NotLooked int          `json:"not_looked"` // defects to look for on this roof that nobody looked at
	SetAside  []SetAside   `json:"set_aside"`
	Measure   []string     `json:"measure"` // fields that would make the result narrower or whole
	Cautions  []string     `json:"cautions"`
}

// Part gives the rating of one part.
func (r Result) Part(p Part) PartRating {
	for _, rating := range r.Parts {
		if rating.Part == p {
			return rating
		}
	}
	return PartRating{Part: p}
}

// Validate checks the input and names the field and the rule that is broken.
func (in Input) Validate() error {
	switch in.Method {
	case "", Walked, Ladder, Street, Photo:
	default:
		return fmt.Errorf("method: must be walked, ladder, street, photo or empty, not %q", in.Method)
	}
	if in.Covering != "" && !slices.Contains(every, in.Covering) {
		return fmt.Errorf("covering: must be one of %s, not %q", strings.Join(every, ", "), in.Covering)
	}
	for i, f := range in.Findings {
		if err := f.validate(i); err != nil {
			return err
		}
	}
	for i, name := range in.VisibleSlopes {
		if name == "" {
			return fmt.Errorf("visible_slopes[%d]: must be the name of a slope", i)
		}
	}
	sum := 0.0
	for _, name := range slices.Sorted(maps.Keys(in.SlopeAreas)) {
		a := in.SlopeAreas[name]
		if name == "" {
			return fmt.Errorf("slope_areas: must be named by slope")
		}
		if !(a > 0) || math.IsInf(a, 1) {
			return fmt.Errorf("slope_areas.%s: must be an area above 0, not %v", name, a)
		}
		if sum += a; math.IsInf(sum, 1) {
			return fmt.Errorf("slope_areas.%s: together the areas are too large", name)
		}
	}
	return nil
}

func (f Finding) validate(i int) error {
	if _, known := find(f.Defect); !known {
		return fmt.Errorf("findings[%d].defect: %q is not in the catalogue", i, f.Defect)
	}
	switch f.Look {
	case Seen, None, NotLooked:
	default:
		return fmt.Errorf("findings[%d].look: must be seen, none or not_looked, not %q", i, f.Look)
	}
	if f.Look != Seen && (f.Severity != nil || f.Extent != nil || f.ExtentClass != nil) {
		return fmt.Errorf("findings[%d].severity: severity and extent go with a defect that was seen", i)
	}
	if f.Severity != nil && (*f.Severity < 1 || *f.Severity > 3) {
		return fmt.Errorf("findings[%d].severity: must be 1, 2 or 3, not %d", i, *f.Severity)
	}
	if f.Extent != nil && !(*f.Extent >= 0 && *f.Extent <= 1) {
		return fmt.Errorf("findings[%d].extent: must be a share from 0 to 1, not %v", i, *f.Extent)
	}
	if f.ExtentClass != nil {
		if f.Extent != nil {
			return fmt.Errorf("findings[%d].extent_class: give either extent or extent_class, not both", i)
		}
		if *f.ExtentClass < 1 || *f.ExtentClass > len(classes) {
			return fmt.Errorf("findings[%d].extent_class: must be 1 to %d, not %d", i, len(classes), *f.ExtentClass)
		}
	}
	return nil
}

// Extent is a class of how much of a slope shows a defect.
type Extent struct {
	Class int     `json:"class"`
	From  float64 `json:"from"` // share of the slope, 0 to 1
	To    float64 `json:"to"`   // below this, and with it in the last class
	Usual float64 `json:"usual"`
	Name  string  `json:"name"`
}

// The bounds of the classes are those of NEN 2767-1, from memory; the usual
// shares are their middles.
var classes = [5]Extent{
	{1, 0, 0.02, 0.01, "less than 2 %: a spot or two"},
	{2, 0.02, 0.1, 0.06, "2 to 10 %: here and there"},
	{3, 0.1, 0.3, 0.2, "10 to 30 %: often"},
	{4, 0.3, 0.7, 0.5, "30 to 70 %: about half"},
	{5, 0.7, 1, 0.85, "70 % or more: nearly everywhere"},
}

// Extents lists the classes of extent, the least first.
func Extents() []Extent { return slices.Clone(classes[:]) }

// ExtentClass gives the class, 1 to 5, of a share of the slope from 0 to 1.
func ExtentClass(share float64) int {
	class := 1
	for _, c := range classes[1:] {
		if share >= c.From {
			class = c.Class
		}
	}
	return class
}

// The curve of the extent: a defect that is there at all takes a tenth of its
// points. Ours; no source.
const atATrace = 0.1

// What is taken for a severity or an extent that is not known. Ours; no source.
const (
	usualSeverity = 2
	usualExtent   = 0.1
)

// taken gives the points that a defect takes off a slope.
func (d *Defect) taken(severity int, extent float64) float64 {
	return d.Points[severity-1] * (atATrace + (1-atATrace)*math.Sqrt(extent))
}

// deduct gives what a finding takes off at best, as it is read, and at worst.
func (f Finding) deduct(d *Defect) points {
	mild, read, grave := 1, usualSeverity, 3
	if f.Severity != nil {
		mild, read, grave = *f.Severity, *f.Severity, *f.Severity
	}
	few, usual, many := 0.0, usualExtent, 1.0
	switch {
	case f.Extent != nil:
		few, usual, many = *f.Extent, *f.Extent, *f.Extent
	case f.ExtentClass != nil:
		c := classes[*f.ExtentClass-1]
		few, usual, many = c.From, c.Usual, c.To
	}
	return points{d.taken(mild, few), d.taken(read, usual), d.taken(grave, many)}
}

// slip is the standard deviation, in points, between two careful looks by one
// method. Ours; no source.
func slip(m Method) float64 {
	switch m {
	case Walked:
		return 6
	case Ladder:
		return 8
	case Photo:
		return 10
	}
	return 12
}

// The standard deviation of what nobody looked at: unseen points when half of the
// catalogue, or of the slopes, was looked at, and more without an end the less it
// was, up to mostUnseen, at which a rating tells next to nothing. So a look at one
// defect need not be left out: it weighs as little as it knows, whatever it found.
// Ours; no source.
const (
	unseen     = 8
	mostUnseen = 40
)

// unlooked is the error that goes with a share that was looked at: what each
// piece of it tells of the rest is taken as one independent measure.
func unlooked(share float64) float64 {
	return min(mostUnseen, unseen*math.Sqrt(max(1-share, 0)/share))
}

// shown is what of its fall a covering shows to a look at a share of the catalogue: the
// defect that costs most is among them with the chance of the share, else the next one,
// which costs about as much, and with neither next to nothing shows. Ours; no source.
func shown(share float64) float64 { return 1 - (1-share)*(1-share) }
