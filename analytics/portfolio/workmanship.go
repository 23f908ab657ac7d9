package portfolio

import (
	"slices"

	"overhang/analytics/units"
	"overhang/analytics/workmanship"
	"overhang/models"
)

// Workmanship is the input of asking where workmanship goes wrong: the roofs that
// we laid, by the number of the crew that laid each, and the callbacks whose
// cause lies in the laying or is not found yet. Aside counts the others by their
// cause.
//
// A roof is watched from the day it was laid to the end of our promise on the
// work, where there is one, or of the roof: who has no promise any more may ring
// somebody else. One that is laid anew in part is still one roof.
func Workmanship(files []models.RoofFile, practices []models.Practice, asOf units.Date) (in workmanship.Input, aside map[string]int) {
	in, aside = workmanship.Input{AsOf: asOf}, map[string]int{}
	for i := range files {
		f := &files[i]
		if !f.Roof.Ours || f.Roof.Laid.IsZero() || f.Roof.Laid.On > asOf {
			continue
		}
		roof := workmanship.Roof{ID: id(f.Roof.ID), LaidOn: f.Roof.Laid.On, Until: f.Roof.EndedOn, Details: map[string]int{}}
		if job := f.LaidBy(); job != nil && job.CrewID != nil {
			roof.Crew = id(*job.CrewID)
		}
		if f.Roof.Area != nil {
			roof.Squares = f.Roof.Area.In(units.Square)
		}
		for _, d := range f.Details {
			if d.EndedOn.IsZero() {
				roof.Details[d.Kind]++
			}
		}
		var promised units.Date
		for _, w := range f.Warranties {
			if terms := f.TermsOf(w); w.OwedBy == "us" && terms.Kind == "workmanship" {
				last := Terms(&terms).LastDay(w.StartOn)
				if !w.EndedOn.IsZero() {
					last = min(last, w.EndedOn)
				}
				promised = max(promised, last)
			}
		}
		if !promised.IsZero() && (roof.Until.IsZero() || promised < roof.Until) {
			roof.Until = promised
		}
		in.Roofs = append(in.Roofs, roof)
		for _, c := range f.Callbacks {
			if c.RoofID == nil || *c.RoofID != f.Roof.ID || c.State == "refused" {
				continue
			}
			on := c.HappenedOn
			if on.IsZero() {
				on = c.LearnedOn
			}
			if on > asOf {
				continue
			}
			if c.CauseFound != "" && !slices.Contains(models.LayingCauses, c.CauseFound) {
				aside[c.CauseFound]++
				continue
			}
			in.Callbacks = append(in.Callbacks, workmanship.Callback{Roof: roof.ID, On: on, Cause: c.CauseFound, Detail: c.Place})
		}
	}
	for _, p := range practices {
		change := workmanship.Change{Name: id(p.ID), On: p.FromOn, Causes: p.Causes}
		if p.CrewID != nil {
			change.Crew = id(*p.CrewID)
		}
		in.Changes = append(in.Changes, change)
	}
	return in, aside
}
