package lifespan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Repair is a share of the covering, above 0 and up to 1, that was relaid so many
// years ago. The oldest of what lies is taken to be relaid first. Where a slope is
// named the share is of that slope, and readings of it alone see what was relaid;
// one that was relaid whole is not what the roof ends with.
type Repair struct {
	YearsAgo float64 `json:"years_ago"`
	Share    float64 `json:"share"`
	Slope    string  `json:"slope,omitempty"` // as in Reading; left out, spread over the roof
}

// part is a share of the covering that was laid at a time.
type part struct {
	share, laidYearsAgo float64
	first               bool // laid with the roof
}

// sight is what a look at the covering, or at a slope of it, sees of old and new:
// the share that is as old as the roof, and the younger ones with their ages then.
type sight struct {
	old     float64
	younger []part // laidYearsAgo is counted from the look
	present bool   // the roof's oldest part is that of today
}

// leastShare of the covering counts as gone.
const leastShare = 1e-9

// takeRepairs reads the repairs. Where they have relaid all that was laid with
// the roof, the covering is as old as its oldest part.
func (t *taken) takeRepairs(repairs []Repair) error {
	if len(repairs) > mostRepairs {
		return fmt.Errorf("repairs: at most %d, not %d", mostRepairs, len(repairs))
	}
	for i, r := range repairs {
		if err := within(fmt.Sprintf("repairs[%d].years_ago", i), r.YearsAgo, 0, t.latest); err != nil {
			return err
		}
		if !(r.Share > leastShare && r.Share <= 1) {
			return fmt.Errorf("repairs[%d].share: must lie above 0 and up to 1, not %v", i, r.Share)
		}
		t.earliest = max(t.earliest, r.YearsAgo)
	}
	t.repairs = slices.Clone(repairs)
	slices.SortStableFunc(t.repairs, func(a, b Repair) int { return cmp.Compare(b.YearsAgo, a.YearsAgo) })
	if oldest := t.parts(math.Inf(-1), "")[0]; !oldest.first {
		t.relaid, t.earliest, t.latest = true, oldest.laidYearsAgo, oldest.laidYearsAgo
	}
	return nil
}

// parts gives what lay so many years ago on a slope, or on the roof as a whole
// where none is named, the oldest first. A look on the day of a repair saw what was
// there before.
func (t *taken) parts(yearsAgo float64, slope string) []part {
	lies := []part{{share: 1, first: true}}
	for _, r := range t.repairs {
		if r.YearsAgo <= yearsAgo {
			break
		}
		if r.Slope != "" && r.Slope != slope {
			continue
		}
		left := r.Share
		for left > 0 && len(lies) > 0 {
			if lies[0].share > left+leastShare {
				lies[0].share -= left
				break
			}
			left -= lies[0].share
			lies = lies[1:]
		}
		lies = append(lies, part{share: r.Share, laidYearsAgo: r.YearsAgo})
	}
	return lies
}

// gone says whether nothing that a reading of a slope saw lies there any more. What
// lies there now does not end the roof, so that the old tells nothing of how long
// the other slopes last.
func (t *taken) gone(r Reading) bool {
	return r.Slope != "" && !slices.ContainsFunc(t.parts(math.Inf(-1), r.Slope), func(p part) bool {
		return p.first || p.laidYearsAgo > r.YearsAgo
	})
}

// ofAge says whether a part is as old as the covering counts today.
func (t *taken) ofAge(p part) bool {
	return p.first == !t.relaid && (p.first || p.laidYearsAgo == t.earliest)
}

// seen gives what a look at a slope, or at the roof where none is named, saw so many
// years ago; below 0 is a time to come.
func (t *taken) seen(yearsAgo float64, slope string) sight {
	if len(t.repairs) == 0 {
		return sight{old: 1, present: true}
	}
	s := sight{present: t.ofAge(t.parts(yearsAgo, "")[0])}
	for _, p := range t.parts(yearsAgo, slope) {
		if t.ofAge(p) {
			s.old += p.share
			continue
		}
		p.laidYearsAgo -= yearsAgo
		s.younger = append(s.younger, p)
	}
	return s
}

// drop is what the rating curve falls by, for T of 1 year, up to a look so many
// years ago that saw that: each part of the covering wears at its own age by the
// one T, and the rating is of them all.
func (t *taken) drop(age, yearsAgo float64, s sight) float64 {
	worn := s.old * math.Pow(max(age-yearsAgo, 0), t.power)
	for _, p := range s.younger {
		worn += p.share * math.Pow(max(p.laidYearsAgo, 0), t.power)
	}
	return (100 - t.line) * worn
}

// drop is that of the rating which the reading foretells.
func (r *reading) drop(t *taken, age float64) float64 {
	return (1 - r.hidden) * t.drop(age, r.yearsAgo, r.sight)
}
