package storms

import (
	"cmp"
	"fmt"
	"slices"

	"overhang/analytics/geo"
	"overhang/analytics/units"
)

// Storm is weather that crossed the country. It has an area, or a track with a
// half-width. Hail and gust of 0 are unknown.
type Storm struct {
	ID        string       `json:"id"`
	On        units.Date   `json:"on"`
	Kind      Kind         `json:"kind"`
	Area      *geo.Polygon `json:"area"`
	Track     []geo.Point  `json:"track"`
	HalfWidth units.Length `json:"half_width_m"` // either side of the track
	HailMM    float64      `json:"hail_mm"`      // across the largest stones
	GustMPerS float64      `json:"gust_m_per_s"` // strongest, 3 seconds
}

// Kind is what a storm brought.
type Kind string

// Kinds of storm.
const (
	Hail        Kind = "hail"
	Wind        Kind = "wind"
	HailAndWind Kind = "hail_and_wind"
	Ice         Kind = "ice"
	Snow        Kind = "snow"
)

var kinds = []Kind{Hail, Wind, HailAndWind, Ice, Snow}

// Covering is how a roof covering takes hail.
type Covering string

// Coverings by how they take hail. The zero value is unknown.
const (
	RollRoofing    Covering = "roll_roofing"
	LightAsphalt   Covering = "light_asphalt" // strip shingles
	HeavyAsphalt   Covering = "heavy_asphalt" // laminated shingles
	Interlocking   Covering = "interlocking_asphalt"
	WoodShingle    Covering = "wood_shingle"
	MediumShake    Covering = "medium_shake"
	HeavyShake     Covering = "heavy_shake"
	ClayTile       Covering = "clay_tile"
	Slate          Covering = "slate"
	ConcreteTile   Covering = "concrete_tile"
	Metal          Covering = "metal"
	OtherCovering  Covering = "other"
	unknownForHail          = LightAsphalt
)

// thresholds is the size of hail, in inches, from which a covering begins to be
// harmed: ice-stone tests, second hand (see the package comment). Interlocking
// asphalt has no published size and takes that of light asphalt. Metal and other
// coverings have none here.
var thresholds = map[Covering]float64{
	RollRoofing: 0.75, LightAsphalt: 1, HeavyAsphalt: 1.25, Interlocking: 1, WoodShingle: 1.25,
	MediumShake: 1.5, HeavyShake: 1.75, ClayTile: 1.5, Slate: 1.5, ConcreteTile: 2,
}

const (
	wornThreshold   = 0.75         // inches; a deteriorated shingle (same tests)
	oldThreshold    = 1.0          // inches; asphalt of oldAsphaltYears or more
	oldAsphaltYears = 11           // National Weather Service research, second hand
	margin          = 0.25         // inches past the threshold at which a look comes first: common practice, no source
	severeGust      = 58 * 0.44704 // m/s; 58 mph, National Weather Service
	harmfulGust     = 33.0         // m/s; Marshall and others, 2010
	unsealedYears   = 4            // Dixon and others, University of Florida
)

// Roof is one that a storm may have crossed.
type Roof struct {
	ID       string      `json:"id"`
	At       geo.Point   `json:"at"`
	Covering Covering    `json:"covering"` // empty is unknown
	Laid     units.Dated `json:"laid"`
	EndedOn  units.Date  `json:"ended_on"`
	Worn     bool        `json:"worn"` // its shingles were found deteriorated
}

// Input is a storm and the roofs that it may have crossed.
type Input struct {
	Storm Storm  `json:"storm"`
	Roofs []Roof `json:"roofs"`
}

// Look is how soon a roof is worth a look. It is a likelihood of harm in an
// order, not a finding.
type Look string

// Looks, the most pressing first.
const (
	LookFirst Look = "look_first"      // well past what such a covering bears
	WorthLook Look = "worth_a_look"    // past what such a covering bears
	NotKnown  Look = "not_known"       // too little is known of the storm or the covering
	LookLater Look = "at_next_checkup" // below what such a covering bears: harm is not expected
)

var urgency = map[Look]int{LookFirst: 0, WorthLook: 1, NotKnown: 2, LookLater: 3}

// Crossing is one roof that a storm crossed.
type Crossing struct {
	ID       string        `json:"id"`
	Look     Look          `json:"look"`
	Hail     Look          `json:"hail"`       // by hail alone; empty where the storm brought none
	Gust     Look          `json:"gust"`       // by gust alone; empty where the storm brought none
	Distance *units.Length `json:"distance_m"` // from the middle of the track; none for an area
	MostAge  *int          `json:"age_years"`  // at the storm, in completed years, the most it can have been; none where unknown
	Reasons  []Reason      `json:"reasons"`
}

// Reason is one comparison that made a look. Code names it; Storm and Bears are
// the two sizes compared, in mm for hail and m/s for a gust.
type Reason struct {
	Code  string  `json:"code"`
	Storm float64 `json:"storm,omitempty"`
	Bears float64 `json:"bears,omitempty"`
}

// Codes of reasons.
const (
	HailPast          = "hail_past"          // hail reached the size that such a covering bears
	HailBelow         = "hail_below"         // it did not
	HailNotKnown      = "hail_not_known"     // its size is unknown
	CoveringNotKnown  = "covering_not_known" // taken as light asphalt
	NoThreshold       = "no_threshold"       // no published size for this covering
	BorrowedThreshold = "borrowed_threshold" // taken as light asphalt for want of a published size
	TakenAsOld        = "taken_as_old"       // asphalt that is old, or may be
	TakenAsWorn       = "taken_as_worn"      // found deteriorated
	GustPast          = "gust_past"          // the gust reached what has harmed shingles
	GustSevere        = "gust_severe"        // severe, on a covering that no seal holds
	GustUnsealed      = "gust_unsealed"      // severe, and the shingles may have come unsealed
	GustYoung         = "gust_young"         // severe, but the shingles are still sealed
	GustBelow         = "gust_below"         // not severe
	GustNotKnown      = "gust_not_known"     // its speed is unknown
	IceOrSnow         = "ice_or_snow"        // no published rule says what it does to a covering
	MayBeLaidLater    = "may_be_laid_later"  // the laid date may lie after the storm
)

// Result is the roofs crossed, those most worth a look first.
type Result struct {
	Crossings []Crossing   `json:"crossings"`
	Counts    map[Look]int `json:"counts"`
	NotThere  int          `json:"not_there"` // roofs within the storm that were laid after it or had ended before
	Caution   string       `json:"caution"`
}

// Validate names the first field of a storm that breaks a rule.
func (s *Storm) Validate() error {
	switch {
	case s.On.IsZero():
		return fmt.Errorf("on: is needed")
	case !slices.Contains(kinds, s.Kind):
		return fmt.Errorf("kind %q: must be one of %v", s.Kind, kinds)
	case (s.Area == nil) == (len(s.Track) == 0):
		return fmt.Errorf("area: a storm has an area or a track, and not both")
	case len(s.Track) > 0 && !(s.HalfWidth > 0 && s.HalfWidth <= 200*units.Kilometre):
		return fmt.Errorf("half_width_m %v: a track needs one above 0 and up to 200,000", float64(s.HalfWidth))
	case !(s.HailMM >= 0 && s.HailMM <= 300):
		return fmt.Errorf("hail_mm %v: must lie between 0 and 300", s.HailMM)
	case !(s.GustMPerS >= 0 && s.GustMPerS <= 150):
		return fmt.Errorf("gust_m_per_s %v: must lie between 0 and 150", s.GustMPerS)
	}
	if s.Area != nil {
		if err := s.Area.Validate(); err != nil {
			return fmt.Errorf("area: %w", err)
		}
	}
	for i, p := range s.Track {
		if err := p.Validate(); err != nil {
			return fmt.Errorf("track[%d]: %w", i, err)
		}
	}
	return nil
}

// crosses says whether a storm crossed a place, edge included, and for a track
// how far from its middle.
func (s *Storm) crosses(p geo.Point) (bool, *units.Length) {
	if s.Area != nil {
		return s.Area.Contains(p), nil
	}
	d := geo.DistanceToTrack(p, s.Track)
	return d <= s.HalfWidth, &d
}

// Crossed gives the roofs that a storm crossed and how soon each is worth a
// look. A roof is crossed when its position lies in the area, or no farther from
// the track than the half-width. Roofs that were not there on the day are left
// out; one whose laid date may lie after it stays in and says so.
func Crossed(in Input) (Result, error) {
	if err := in.Storm.Validate(); err != nil {
		return Result{}, fmt.Errorf("storm.%w", err)
	}
	s := &in.Storm
	out := Result{Crossings: []Crossing{}, Counts: map[Look]int{}, Caution: Caution}
	for i := range in.Roofs {
		r := &in.Roofs[i]
		if r.ID == "" {
			return Result{}, fmt.Errorf("roofs[%d].id: is needed", i)
		}
		if err := r.At.Validate(); err != nil {
			return Result{}, fmt.Errorf("roofs[%d].at: %w", i, err)
		}
		if _, known := thresholds[r.Covering]; !known && r.Covering != "" && r.Covering != Metal && r.Covering != OtherCovering {
			return Result{}, fmt.Errorf("roofs[%d].covering %q: is none that hail is known for; leave it empty where unknown, or write %q", i, r.Covering, OtherCovering)
		}
		inside, distance := s.crosses(r.At)
		if !inside {
			continue
		}
		if !r.Laid.IsZero() && r.Laid.Earliest() > s.On || !r.EndedOn.IsZero() && r.EndedOn < s.On {
			out.NotThere++
			continue
		}
		c := s.judge(r)
		c.Distance = distance
		out.Counts[c.Look]++
		out.Crossings = append(out.Crossings, c)
	}
	slices.SortFunc(out.Crossings, func(a, b Crossing) int {
		return cmp.Or(cmp.Compare(urgency[a.Look], urgency[b.Look]), cmp.Compare(a.ID, b.ID))
	})
	return out, nil
}

// judge says how soon a roof is worth a look after a storm.
func (s *Storm) judge(r *Roof) Crossing {
	c := Crossing{ID: r.ID}
	if !r.Laid.IsZero() {
		// The most it can have been: harm grows with age, and no roof is to be
		// passed over for a date that is not exact.
		age := max(0, s.On.MonthsSince(r.Laid.Earliest())/12)
		c.MostAge = &age
		if r.Laid.Latest() > s.On {
			c.Reasons = append(c.Reasons, Reason{Code: MayBeLaidLater})
		}
	}
	if s.Kind == Hail || s.Kind == HailAndWind || s.HailMM > 0 {
		c.hail(s.HailMM, r)
	}
	if s.Kind == Wind || s.Kind == HailAndWind || s.GustMPerS > 0 {
		c.gust(s.GustMPerS, r.Covering)
	}
	if c.Hail == "" && c.Gust == "" {
		c.Look = NotKnown
		c.Reasons = append(c.Reasons, Reason{Code: IceOrSnow})
		return c
	}
	for _, l := range []Look{c.Hail, c.Gust} {
		if l != "" && (c.Look == "" || urgency[l] < urgency[c.Look]) {
			c.Look = l
		}
	}
	return c
}

func (c *Crossing) because(code string, storm, bears float64) {
	c.Reasons = append(c.Reasons, Reason{code, storm, bears})
}

// hail compares the hail with what the roof's covering bears.
func (c *Crossing) hail(mm float64, r *Roof) {
	const inch = 25.4
	if mm == 0 {
		c.Hail = NotKnown
		c.because(HailNotKnown, 0, 0)
		return
	}
	covering := r.Covering
	if covering == "" {
		covering = unknownForHail
		c.because(CoveringNotKnown, 0, 0)
	}
	bears, known := thresholds[covering]
	if !known {
		c.Hail = NotKnown
		c.because(NoThreshold, mm, 0)
		return
	}
	asphalt := covering == LightAsphalt || covering == HeavyAsphalt || covering == Interlocking
	if covering == Interlocking {
		c.because(BorrowedThreshold, 0, bears*inch)
	}
	switch {
	case asphalt && r.Worn:
		bears = wornThreshold
		c.because(TakenAsWorn, 0, bears*inch)
	case asphalt && bears > oldThreshold && (c.MostAge == nil || *c.MostAge >= oldAsphaltYears):
		bears = oldThreshold
		c.because(TakenAsOld, 0, bears*inch)
	}
	// Sizes are reported in quarter inches and kept in millimetres: half a
	// millimetre is rounding.
	switch {
	case mm >= (bears+margin)*inch-0.5:
		c.Hail = LookFirst
		c.because(HailPast, mm, bears*inch)
	case mm >= bears*inch-0.5:
		c.Hail = WorthLook
		c.because(HailPast, mm, bears*inch)
	default:
		c.Hail = LookLater
		c.because(HailBelow, mm, bears*inch)
	}
}

// gust compares the strongest gust with what has harmed shingles. Only sealed
// shingles, and coverings that may be such, get the benefit of their first years.
func (c *Crossing) gust(speed float64, covering Covering) {
	sealed := covering == "" || covering == LightAsphalt || covering == HeavyAsphalt
	switch {
	case speed == 0:
		c.Gust = NotKnown
		c.because(GustNotKnown, 0, 0)
	case speed >= harmfulGust:
		c.Gust = LookFirst
		c.because(GustPast, speed, harmfulGust)
	case speed < severeGust-0.05: // as written to a tenth
		c.Gust = LookLater
		c.because(GustBelow, speed, severeGust)
	case !sealed:
		c.Gust = WorthLook
		c.because(GustSevere, speed, severeGust)
	case c.MostAge == nil || *c.MostAge >= unsealedYears:
		c.Gust = WorthLook
		c.because(GustUnsealed, speed, severeGust)
	default:
		c.Gust = LookLater
		c.because(GustYoung, speed, harmfulGust)
	}
}
