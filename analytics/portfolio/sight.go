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
	in = wear.Input{Method: wear.Method(v.Method), Covering: family(f), Wet: v.Wet, Findings: make([]wear.Finding, 0, len(found))}
	from = make([]int, 0, len(found))
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
	var seen, unseen []int64
	for i := range f.Slopes {
		s := &f.Slopes[i]
		lay := s.InstalledOn <= v.DoneOn && standing(s.EndedOn, v.DoneOn)
		switch {
		case v.InSight == nil && lay, v.InSight != nil && v.Saw(s.ID):
			seen = append(seen, s.ID)
		case lay:
			unseen = append(unseen, s.ID)
		}
	}
	if v.InSight != nil {
		in.VisibleSlopes = make([]string, len(seen))
		for i, slope := range seen {
			in.VisibleSlopes[i] = id(slope)
		}
	}
	var own []*models.Finding // of one slope each
	for i := range found {
		if x := &found[i]; x.SlopeID != nil && x.Look != "not_looked" {
			own = append(own, x)
		}
	}
	for i := range found {
		x := &found[i]
		if x.SlopeID != nil {
			add(i, x, id(*x.SlopeID))
			continue
		}
		owned := func(slope int64) bool {
			return x.Look != "not_looked" && slices.ContainsFunc(own, func(o *models.Finding) bool { return *o.SlopeID == slope && o.Defect == x.Defect })
		}
		if len(seen) == 0 || (len(unseen) == 0 && !slices.ContainsFunc(seen, owned)) {
			add(i, x, "")
			continue
		}
		for _, slope := range seen {
			if !owned(slope) {
				add(i, x, id(slope))
			}
		}
	}
	for _, slope := range unseen {
		for i := range found {
			in.Findings = append(in.Findings, wear.Finding{Defect: found[i].Defect, Slope: id(slope), Look: wear.NotLooked})
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
