package workmanship

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/mathext"

	"overhang/analytics/owed"
	"overhang/analytics/units"
)

// limits gives the least and the most callbacks that chance alone leaves a group
// of which so many were expected among a total, at a level, half of the rest on
// either side.
func limits(expected float64, total int, clump, level float64) (low, high int) {
	if total == 0 || expected <= 0 {
		return 0, 0
	}
	share := min(1, expected/float64(total))
	out := (1 - level) / 2
	atMost := func(n int) float64 { return binomialAtMost(float64(n)/clump, float64(total)/clump, share) }
	low = sort.Search(total, func(n int) bool { return atMost(n) > out })
	high = sort.Search(total, func(n int) bool { return atMost(n) >= 1-out })
	return low, high
}

// binomialAtMost is the chance of at most x of n with a chance each, continued
// between whole numbers by the incomplete beta function.
func binomialAtMost(x, n, chance float64) float64 {
	if x >= n || chance <= 0 {
		return 1
	}
	if chance >= 1 {
		return 0
	}
	return mathext.RegIncBeta(n-x, x+1, 1-chance)
}

// clopperPearson gives the limits of a proportion of which x of n were seen.
func clopperPearson(x, n, level float64) (low, high float64) {
	out := (1 - level) / 2
	low, high = 0, 1
	if x > 0 {
		low = mathext.InvRegIncBeta(x, n-x+1, out)
	}
	if x < n {
		high = mathext.InvRegIncBeta(x+1, n-x, 1-out)
	}
	return low, high
}

// causes counts the callbacks by cause, in the order of their names. The range
// of a rate is the exact one of a Poisson number, in clumps.
func (r *Result) causes(roofs []*watched) []CauseCount {
	ages := map[string][]float64{}
	for _, w := range roofs {
		for _, c := range w.calls {
			ages[c.cause] = append(ages[c.cause], c.age)
		}
	}
	out := []CauseCount{}
	for _, name := range sortedKeys(ages) {
		came := ages[name]
		slices.Sort(came)
		out = append(out, CauseCount{Cause: name, Callbacks: len(came), AgeMiddle: came[(len(came)-1)/2],
			Per100: r.per(100, float64(len(came)), r.All.RoofYears)})
	}
	return out
}

// per is a rate for so many at a time, with the exact limits of a Poisson number
// counted in clumps.
func (r *Result) per(many, count, time float64) Range {
	x, scale := count/r.Clump, many*r.Clump/time
	out := (1 - r.Level) / 2
	rate := Range{Middle: many * count / time, High: mathext.GammaIncRegInv(x+1, 1-out) * scale}
	if x > 0 {
		rate.Low = mathext.GammaIncRegInv(x, out) * scale
	}
	return rate
}

// details counts the callbacks by the detail or place where they were, in the
// order of their names.
func (r *Result) details(roofs []*watched) []DetailRate {
	found := map[string]*DetailRate{}
	at := func(kind string) *DetailRate {
		if found[kind] == nil {
			found[kind] = &DetailRate{Detail: kind}
		}
		return found[kind]
	}
	for _, w := range roofs {
		for kind, n := range w.Details {
			if n > 0 {
				d := at(kind)
				d.Details += n
				d.DetailYears += float64(n) * w.end
			}
		}
		for _, c := range w.calls {
			if c.detail == "" {
				continue
			}
			d := at(c.detail)
			d.Callbacks++
			if w.Details[c.detail] > 0 {
				d.Counted++
			}
		}
	}
	out := []DetailRate{}
	for _, kind := range sortedKeys(found) {
		d := *found[kind]
		if d.DetailYears > 0 {
			rate := r.per(100, float64(d.Counted), d.DetailYears)
			d.Per100Years = &rate
		}
		out = append(out, d)
	}
	return out
}

// standOut gives the crews and causes, and the crews and details, of which more
// came than chance alone would give were all crews alike: of all that came of the
// cause, a crew's number is binomial with its share of the expected one. The
// level is shared out over all that are compared. The pace beside it is drawn
// towards 1 by how much paces differ at all.
func (r *Result) standOut(roofs []*watched, crews []string) ([]Cell, error) {
	var byCause, byDetail []Cell
	for _, cause := range r.Causes {
		if cause.Cause == "" {
			continue
		}
		rate := rates(roofs, func(c call) bool { return c.cause == cause.Cause })
		cells := map[string]*Cell{}
		for _, crew := range crews {
			cells[crew] = &Cell{Crew: crew, Cause: cause.Cause}
		}
		for _, w := range roofs {
			cell := cells[w.Crew]
			cell.Expected += rate.expected(w.end)
			cell.Callbacks += count([]*watched{w}, func(c call) bool { return c.cause == cause.Cause })
		}
		for _, crew := range crews {
			byCause = append(byCause, *cells[crew])
		}
	}
	for _, detail := range r.Details {
		if detail.Per100Years == nil {
			continue
		}
		cells := map[string]*Cell{}
		for _, crew := range crews {
			cells[crew] = &Cell{Crew: crew, Detail: detail.Detail}
		}
		for _, w := range roofs {
			if n := w.Details[detail.Detail]; n > 0 {
				cell := cells[w.Crew]
				cell.Expected += detail.Per100Years.Middle / 100 * float64(n) * w.end
				cell.Callbacks += count([]*watched{w}, func(c call) bool { return c.detail == detail.Detail })
			}
		}
		for _, crew := range crews {
			byDetail = append(byDetail, *cells[crew])
		}
	}
	out := []Cell{}
	compared := 0
	for _, c := range slices.Concat(byCause, byDetail) {
		if c.Expected > 0 {
			compared++
		}
	}
	for _, cells := range [][]Cell{byCause, byDetail} {
		groups := make([]owed.NamedGroup, len(cells))
		for i, c := range cells {
			if c.Expected > 0 {
				groups[i] = owed.NamedGroup{Count: float64(c.Callbacks) / r.Clump, Years: c.Expected / r.Clump}
			}
		}
		paces, err := shrink(groups, r.Level)
		if err != nil {
			return nil, err
		}
		together := map[string]int{}
		for _, c := range cells {
			together[c.Cause+c.Detail] += c.Callbacks
		}
		for i, p := range paces {
			if p.pace == nil {
				continue
			}
			c := cells[i]
			_, c.LimitHigh = limits(c.Expected, together[c.Cause+c.Detail], r.Clump, 1-2*falseAlarm/float64(compared))
			if c.Callbacks > c.LimitHigh {
				c.Pace = *p.pace
				out = append(out, c)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Cell) int {
		if a.Crew != b.Crew {
			if a.Crew < b.Crew {
				return -1
			}
			return 1
		}
		return 0
	})
	return out, nil
}

// beforeAfter holds the roofs laid since a change against those laid before it.
func (r *Result) beforeAfter(c Change, roofs []*watched, asOf units.Date) BeforeAfter {
	out := BeforeAfter{Name: c.Name, Finding: NotWatched}
	if asOf < c.On {
		return out
	}
	out.UpToAge = (asOf + 1).YearsSince(c.On)
	years := c.YearsBefore
	if years == 0 {
		years = UsualYearsBefore
	}
	from := c.On.AddDays(-int(math.Round(years * 365.25)))
	var own, others []*watched
	for _, w := range roofs {
		if w.LaidOn < from {
			continue
		}
		cut := *w
		cut.end, cut.calls = min(w.end, out.UpToAge), nil
		for _, call := range w.calls {
			if call.age <= cut.end && (len(c.Causes) == 0 || slices.Contains(c.Causes, call.cause)) {
				cut.calls = append(cut.calls, call)
			}
		}
		if c.Crew == "" || w.Crew == c.Crew {
			own = append(own, &cut)
		} else {
			others = append(others, &cut)
		}
	}
	out.Before, out.After, out.Ratio = r.sides(own, c.On)
	if out.Ratio != nil {
		switch {
		case out.Ratio.High != nil && *out.Ratio.High < 1:
			out.Finding = FewerThan
		case out.Ratio.Low > 1:
			out.Finding = MoreThanAll
		case out.Before.Callbacks+out.After.Callbacks < few:
			out.Finding = TooFew
		default:
			out.Finding = WithinAll
		}
	}
	if c.Crew != "" {
		_, _, out.Others = r.sides(others, c.On)
	}
	return out
}

// sides parts roofs by whether they were laid before a day, and compares them.
func (r *Result) sides(roofs []*watched, day units.Date) (before, after Side, ratio *Ratio) {
	rate := rates(roofs, nil)
	for _, w := range roofs {
		side := &after
		if w.LaidOn < day {
			side = &before
		}
		side.Roofs++
		side.RoofYears += w.end
		side.Callbacks += len(w.calls)
		side.Expected += rate.expected(w.end)
	}
	if before.Roofs == 0 || after.Roofs == 0 || before.Callbacks+after.Callbacks == 0 {
		return before, after, nil
	}
	// Years of age that only one side has seen say nothing of the other: with a
	// pooled rate they are expected on that side alone, as they came.
	if before.Expected <= 0 || after.Expected <= 0 {
		return before, after, nil
	}
	odds := func(p float64) float64 { return p / (1 - p) * before.Expected / after.Expected }
	a, b := float64(after.Callbacks)/r.Clump, float64(before.Callbacks)/r.Clump
	low, high := clopperPearson(a, a+b, r.Level)
	ratio = &Ratio{Low: odds(low), Middle: (a + 0.5) / (b + 0.5) * before.Expected / after.Expected}
	ratio.Middle = max(ratio.Middle, ratio.Low)
	if high < 1 {
		top := odds(high)
		ratio.High, ratio.Middle = &top, min(ratio.Middle, top)
	}
	return before, after, ratio
}
