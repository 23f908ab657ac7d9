package takeoff

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// The rule for waste where none is stated; our judgement. Every course that
// ends at a rake, hip, valley or wall loses half a shingle's width on the
// average, and what is cut off on one side of a hip or valley is laid on the
// other; baseWaste is for what breaks, blows and is left over. A plain gable
// comes out near the tenth that the trade takes.
const (
	baseWaste  = 0.03
	usualWidth = 36.0 // in, of a shingle whose format is not known
	mostWaste  = 0.50
)

// Waste tells the share of waste that the order takes and how it came about.
type Waste struct {
	Share  float64 `json:"share"`
	Stated bool    `json:"stated"` // given; it overrides the rule
	// ByRule is 3 % and, over the area, half a shingle's width along every rake,
	// hip, valley and wall, at most a half: our judgement. Nil where the lines or
	// the area are not known; the usual tenth is taken then.
	ByRule *float64 `json:"by_rule,omitempty"`
	// Cut is the length of those lines.
	Cut  *units.Length `json:"cut_m,omitempty"`
	Says string        `json:"says"`
}

func (res *Result) waste(planes []plane, c laid, stated float64) {
	area := 0.0
	for _, p := range planes {
		if p.layers != 0 {
			area += p.area
		}
	}
	cut, lines := 0.0, 0.0
	for _, l := range []*units.Length{res.Lengths.Rake, res.Lengths.Hip, res.Lengths.Valley, res.Lengths.Wall} {
		if l == nil {
			cut = math.NaN()
			continue
		}
		cut += float64(*l)
	}
	lines = cut
	for _, l := range []*units.Length{res.Lengths.Ridge, res.Lengths.Headwall} {
		if l != nil {
			lines += float64(*l)
		}
	}
	w := &res.Waste
	// eaves alone bound no roof: such a list is not whole
	if area > 0 && lines > 0 {
		width := c.format.WidthIn
		if width == 0 {
			width = usualWidth
		}
		share := math.Min(mostWaste, baseWaste+cut*width/2*float64(units.Inch)/area)
		w.ByRule, w.Cut = &share, lengthOf(cut)
	}
	const rule = "3 %% and half a shingle's width along the rakes, hips, valleys and walls, our judgement"
	switch {
	case !math.IsNaN(stated):
		w.Share, w.Stated = stated, true
		w.Says = fmt.Sprintf("%.3g %% waste, as stated.", 100*stated)
		if w.ByRule != nil {
			w.Says = fmt.Sprintf("%.3g %% waste, as stated; the lines of the roof would give %.3g %% ("+rule+").", 100*stated, 100**w.ByRule)
		}
	case w.ByRule != nil:
		w.Share = *w.ByRule
		w.Says = fmt.Sprintf("%.3g %% waste: "+rule+".", 100*w.Share)
	default:
		w.Share = usualWaste
		w.Says = "No waste was stated; the usual tenth is taken. Hips, valleys and dormers need more."
	}
	if !w.Stated {
		res.Notes = append(res.Notes, w.Says)
	}
}
