package portfolio

import (
	"slices"

	"overhang/analytics/wear"
	"overhang/models"
)

// lookInput gives what a visit found as it is rated. What was found on the whole
// roof is written out slope by slope where the visit tells slopes apart: where some
// were out of sight it speaks of the others alone, and where a slope has a finding of
// its own of the same defect it speaks of the rest. Of the findings, from tells which
// of the visit's each was; -1 is that a slope was out of sight.
func lookInput(f *models.RoofFile, v *models.Visit, found []models.Finding) (in wear.Input, from []int) {
	in = wear.Input{Method: wear.Method(v.Method), Covering: family(f), Wet: v.Wet}
	add := func(i int, x *models.Finding, slope string) {
		in.Findings = append(in.Findings, wear.Finding{Defect: x.Defect, Slope: slope, Look: wear.Looked(x.Look), Severity: x.Severity, Extent: x.Extent})
		from = append(from, i)
	}
	if v.InSight == nil && !slices.ContainsFunc(found, func(x models.Finding) bool { return x.SlopeID != nil }) {
		for i := range found {
			add(i, &found[i], "")
		}
		return in, from
	}
	var seen, unseen []string
	for i := range f.Slopes {
		s := &f.Slopes[i]
		lay := s.InstalledOn <= v.DoneOn && standing(s.EndedOn, v.DoneOn)
		switch {
		case v.InSight == nil && lay, v.InSight != nil && v.Saw(s.ID):
			seen = append(seen, id(s.ID))
		case lay:
			unseen = append(unseen, id(s.ID))
		}
	}
	if v.InSight != nil {
		in.VisibleSlopes = append([]string{}, seen...)
	}
	for i := range found {
		x := &found[i]
		if x.SlopeID != nil {
			add(i, x, id(*x.SlopeID))
			continue
		}
		rest := seen
		if x.Look != "not_looked" {
			rest = slices.DeleteFunc(slices.Clone(seen), func(slope string) bool {
				return slices.ContainsFunc(found, func(o models.Finding) bool {
					return o.SlopeID != nil && id(*o.SlopeID) == slope && o.Defect == x.Defect && o.Look != "not_looked"
				})
			})
		}
		if len(seen) == 0 || (len(unseen) == 0 && len(rest) == len(seen)) {
			add(i, x, "")
			continue
		}
		for _, slope := range rest {
			add(i, x, slope)
		}
	}
	for _, slope := range unseen {
		for i := range found {
			in.Findings = append(in.Findings, wear.Finding{Defect: found[i].Defect, Slope: slope, Look: wear.NotLooked})
			from = append(from, -1)
		}
	}
	return in, from
}

// asideOf counts the findings of a visit that were set aside.
func asideOf(aside []wear.SetAside, from []int) int {
	var of []int
	for _, a := range aside {
		of = append(of, from[a.Finding])
	}
	return len(slices.Compact(of))
}
