package wear

import (
	"fmt"
	"math"
	"slices"
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
	Severity *int     `json:"severity,omitempty"` // 1 to 3
	Extent   *float64 `json:"extent,omitempty"`   // share of the slope, 0 to 1
}

// Input is one look at one roof.
type Input struct {
	Method   Method    `json:"method,omitempty"` // walked, ladder, street or photo; empty is not known
	Findings []Finding `json:"findings"`
}

// Cost is what a finding took off its slope.
type Cost struct {
	Finding int     `json:"finding"` // its place in the input, from 0
	Defect  string  `json:"defect"`
	Name    string  `json:"name"`
	Slope   string  `json:"slope,omitempty"`
	Points  float64 `json:"points"` // 0 to 100, taken off a slope without other defects
}

// PartRating is the rating of one part of the roof.
type PartRating struct {
	Part Part `json:"part"`

	// Rating is 0 to 100, nil when nothing of the part was looked at. Where a
	// severity or an extent is not known, Rating takes a usual one (severity 2,
	// a tenth of the slope) and Least and Most take the worst and the best.
	Rating *float64 `json:"rating"`
	Least  *float64 `json:"least"`
	Most   *float64 `json:"most"`

	// ErrorPoints is the standard deviation to read the rating with, in points:
	// of the method, of what was not looked at, and of what is not known.
	ErrorPoints *float64 `json:"error_points"`

	WorstSlope string   `json:"worst_slope,omitempty"` // the slope that the rating is of
	Costs      []Cost   `json:"costs"`                 // on that slope, the dearest first
	NotLooked  []string `json:"not_looked"`            // keys of the defects that nobody looked at
	Catalogued int      `json:"catalogued"`            // defects of this part in the catalogue
}

// SetAside is a finding that the method cannot have made.
type SetAside struct {
	Finding int    `json:"finding"`
	Defect  string `json:"defect"`
	Why     string `json:"why"`
}

// Result is what a look says about the roof.
type Result struct {
	Parts     []PartRating `json:"parts"` // covering, flashing, gutter
	Dearest   *Cost        `json:"dearest"`
	NotLooked int          `json:"not_looked"` // defects of the whole catalogue that nobody looked at
	SetAside  []SetAside   `json:"set_aside"`
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
	for i, f := range in.Findings {
		if _, known := find(f.Defect); !known {
			return fmt.Errorf("findings[%d].defect: %q is not in the catalogue", i, f.Defect)
		}
		switch f.Look {
		case Seen, None, NotLooked:
		default:
			return fmt.Errorf("findings[%d].look: must be seen, none or not_looked, not %q", i, f.Look)
		}
		if f.Look != Seen && (f.Severity != nil || f.Extent != nil) {
			return fmt.Errorf("findings[%d].severity: severity and extent go with a defect that was seen", i)
		}
		if f.Severity != nil && (*f.Severity < 1 || *f.Severity > 3) {
			return fmt.Errorf("findings[%d].severity: must be 1, 2 or 3, not %d", i, *f.Severity)
		}
		if f.Extent != nil && !(*f.Extent >= 0 && *f.Extent <= 1) {
			return fmt.Errorf("findings[%d].extent: must be a share from 0 to 1, not %v", i, *f.Extent)
		}
	}
	return nil
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
func (d Defect) taken(severity int, extent float64) float64 {
	return d.Points[severity-1] * (atATrace + (1-atATrace)*math.Sqrt(extent))
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

// unseen is how many points of standard deviation are added when nothing but a
// vanishing part of the catalogue was looked at. Ours; no source.
const unseen = 16

// points is what a defect takes off at best, as it is read, and at worst.
type points struct{ best, read, worst float64 }

// slope gathers the worst of each defect on one slope.
type slope struct {
	name  string
	costs []Cost
	taken []points // beside costs
}

func (s *slope) add(c Cost, p points) {
	i := slices.IndexFunc(s.costs, func(have Cost) bool { return have.Defect == c.Defect })
	if i < 0 {
		s.costs, s.taken = append(s.costs, c), append(s.taken, p)
		return
	}
	if p.read > s.taken[i].read {
		s.costs[i] = c
	}
	t := &s.taken[i]
	t.best, t.read, t.worst = max(t.best, p.best), max(t.read, p.read), max(t.worst, p.worst)
}

func (s *slope) rating() (least, read, most float64) {
	least, read, most = 100, 100, 100
	for _, p := range s.taken {
		least *= 1 - p.worst/100
		read *= 1 - p.read/100
		most *= 1 - p.best/100
	}
	return least, read, most
}

// Rate gives the rating of each part from one look, on a scale from 0 to 100.
// It fails only on an input that [Input.Validate] refuses.
func Rate(in Input) (Result, error) {
	if err := in.Validate(); err != nil {
		return Result{}, fmt.Errorf("rating the findings: %w", err)
	}
	result := Result{SetAside: []SetAside{}}
	looked := map[string]bool{}
	kept := make([]bool, len(in.Findings))
	for i, f := range in.Findings {
		d, _ := find(f.Defect)
		switch {
		case f.Look == NotLooked:
		case !d.ShownBy(in.Method):
			result.SetAside = append(result.SetAside, SetAside{i, f.Defect,
				fmt.Sprintf("%s cannot be judged by this method (%s)", d.Name, in.Method)})
		default:
			looked[f.Defect] = true
			kept[i] = f.Look == Seen
		}
	}
	for _, part := range Parts() {
		rating := PartRating{Part: part, Costs: []Cost{}, NotLooked: []string{}}
		for _, d := range catalogue {
			if d.Part != part {
				continue
			}
			rating.Catalogued++
			if !looked[d.Key] {
				rating.NotLooked = append(rating.NotLooked, d.Key)
			}
		}
		result.NotLooked += len(rating.NotLooked)
		if len(rating.NotLooked) < rating.Catalogued {
			rating.rate(in, kept)
		}
		if len(rating.Costs) > 0 && (result.Dearest == nil || rating.Costs[0].Points > result.Dearest.Points) {
			dearest := rating.Costs[0]
			result.Dearest = &dearest
		}
		result.Parts = append(result.Parts, rating)
	}
	return result, nil
}

// rate fills in the ratings of a part of which something was looked at.
func (r *PartRating) rate(in Input, kept []bool) {
	var slopes []*slope
	for i, f := range in.Findings {
		if d, _ := find(f.Defect); !kept[i] || d.Part != r.Part || f.Slope == "" {
			continue
		}
		if !slices.ContainsFunc(slopes, func(s *slope) bool { return s.name == f.Slope }) {
			slopes = append(slopes, &slope{name: f.Slope})
		}
	}
	if len(slopes) == 0 {
		slopes = []*slope{{}}
	}
	for i, f := range in.Findings {
		d, _ := find(f.Defect)
		if !kept[i] || d.Part != r.Part {
			continue
		}
		mild, read, grave := 1, usualSeverity, 3
		if f.Severity != nil {
			mild, read, grave = *f.Severity, *f.Severity, *f.Severity
		}
		small, usual, large := 0.0, usualExtent, 1.0
		if f.Extent != nil {
			small, usual, large = *f.Extent, *f.Extent, *f.Extent
		}
		p := points{d.taken(mild, small), d.taken(read, usual), d.taken(grave, large)}
		for _, s := range slopes {
			if f.Slope == "" || f.Slope == s.name {
				s.add(Cost{i, d.Key, d.Name, f.Slope, p.read}, p)
			}
		}
	}
	least, rating, most := slopes[0].rating()
	worst := slopes[0]
	for _, s := range slopes[1:] {
		l, x, m := s.rating()
		least, most = min(least, l), min(most, m)
		if x < rating {
			rating, worst = x, s
		}
	}
	spread := math.Hypot(math.Hypot(slip(in.Method), unseen*float64(len(r.NotLooked))/float64(r.Catalogued)),
		(most-least)/(2*math.Sqrt(3))) // that of a uniform between the two
	r.Rating, r.Least, r.Most, r.ErrorPoints = &rating, &least, &most, &spread
	r.WorstSlope = worst.name
	r.Costs = append(r.Costs, worst.costs...)
	slices.SortStableFunc(r.Costs, func(a, b Cost) int {
		switch {
		case a.Points > b.Points:
			return -1
		case a.Points < b.Points:
			return 1
		}
		return a.Finding - b.Finding
	})
}
