package portfolio

import (
	"fmt"
	"slices"

	"overhang/analytics/attic"
	"overhang/analytics/climate"
	"overhang/analytics/details"
	"overhang/analytics/drainage"
	"overhang/analytics/icing"
	"overhang/analytics/takeoff"
	"overhang/analytics/units"
	"overhang/models"
)

// RoofSays is what the roof itself says: its quantities, the heat and winter of
// its attics, ice at its eaves, water in its gutters, and its details. How its
// attics are ventilated stands in their checks.
type RoofSays struct {
	TakeOff *takeoff.Result // nil where no slope is measured
	Attics  []AtticHeat
	Eaves   []EaveSays
	Gutters []GutterSays
	Details *details.Result // nil where none could be judged
}

// AtticHeat is one attic through the year, under its largest slope.
type AtticHeat struct {
	Attic  models.Attic
	Slope  string
	Result attic.Result
}

// EaveSays is the ice at one slope's eave: how far protection reaches, and how
// likely ice is.
type EaveSays struct {
	Slope      models.Slope
	Protection icing.EaveResult
	Index      icing.IndexResult
}

// Rule is the protection under the branch's code, or nil.
func (e EaveSays) Rule() *icing.EaveRule {
	if len(e.Protection.Rules) == 0 {
		return nil
	}
	return &e.Protection.Rules[0]
}

// GutterSays is the water in one run of gutter.
type GutterSays struct {
	Run    models.GutterRun
	Slope  models.Slope
	Input  drainage.Input
	Result drainage.Result
}

// ClimateOf is what the checks need to know of a branch's place, from its
// station; the zero value where none is chosen.
func ClimateOf(b *models.Branch) (Climate, error) {
	if b.ClimateStation == "" {
		return Climate{}, nil
	}
	year, err := climate.StationYear(b.ClimateStation)
	if err != nil {
		return Climate{}, wrap("reading the climate of the branch "+b.Name, err)
	}
	return Climate{January: new(year.JanuaryMean()), DegreeDays: new(year.DegreeDays(18)), Name: year.Place.Name}, nil
}

// shortEave is the length under which an eave that a valley pours onto is short:
// our judgement.
const shortEave = 3 * units.Metre

// Say works out what a roof says on a day. Heat runs an attic through the year.
// What cannot be worked out is left out and told among the faults.
func Say(f *models.RoofFile, checks []AtticVenting, heat func(attic.Input) (attic.Result, error), b *models.Branch, today units.Date) (says RoofSays, faults []error) {
	fault := func(doing string, err error) bool {
		if err != nil {
			faults = append(faults, wrap(doing, err))
		}
		return err != nil
	}
	place, err := ClimateOf(b)
	fault("reading the climate", err)

	winters := map[int64]*attic.Summary{}
	for i := range f.Attics {
		space := &f.Attics[i]
		if !space.EndedOn.IsZero() {
			continue
		}
		slope := largestSlope(f, space)
		if slope == nil {
			continue // nothing is known of the roof above it
		}
		in, known := Attic(f, space, slope, checkOf(checks, space.ID), b)
		if !known {
			continue
		}
		r, err := heat(in)
		if fault(fmt.Sprintf("working out the heat of the attic %s", space.Name), err) {
			continue
		}
		winters[space.ID] = &r.Summary
		says.Attics = append(says.Attics, AtticHeat{*space, slope.Name, r})
	}

	slopes := StandingSlopes(f)
	var membrane *units.Length
	for i := range slopes {
		s := &slopes[i]
		if s.Eave == nil && s.Outline == nil && s.Overhang == nil && s.EaveCover == "" {
			continue // nobody measured an eave there
		}
		protection, err := icing.Eave(Eave(f, s, b, place))
		if fault("judging the eave of the slope "+s.Name, err) {
			continue
		}
		if len(protection.Rules) > 0 {
			if need := protection.Rules[0].Need; need != nil && need.Most != nil && protection.Rules[0].Required != icing.No && (membrane == nil || *need.Most > *membrane) {
				membrane = need.Most
			}
		}
		says.Eaves = append(says.Eaves, EaveSays{Slope: *s, Protection: protection})
	}

	var plan *takeoff.Plan
	if in, known := TakeOff(f, b, membrane); known {
		r, err := takeoff.TakeOff(in)
		if !fault("figuring the quantities", err) {
			says.TakeOff, plan = &r, r.Plan
		}
	}

	for i := range says.Eaves {
		e := &says.Eaves[i]
		space := atticAbove(f, e.Slope.AtticID)
		var winter *attic.Summary
		if space != nil {
			winter = winters[space.ID]
		}
		e.Index, err = icing.Index(IceIndex(f, &e.Slope, space, winter, poursOnShortEave(plan, slopes, e.Slope.Name), deadValley(plan, slopes), b))
		fault("weighing the ice at the eave of the slope "+e.Slope.Name, err)
	}

	for i := range f.Gutters {
		g := &f.Gutters[i]
		if !g.EndedOn.IsZero() {
			continue
		}
		in, known := Drainage(f, g, plan, b, today)
		if !known {
			continue
		}
		r, err := drainage.Check(in)
		if fault("judging the gutter "+g.Name, err) {
			continue
		}
		of := GutterSays{Run: *g, Input: in, Result: r}
		for _, s := range slopes {
			if s.ID == *g.SlopeID {
				of.Slope = s
			}
		}
		says.Gutters = append(says.Gutters, of)
	}

	if r, err := details.Check(Details(f, b)); !fault("judging the details", err) {
		says.Details = &r
	}
	return says, faults
}

// atticAbove gives the attic that a slope lies above: the one that is named, or
// the only one.
func atticAbove(f *models.RoofFile, id *int64) *models.Attic {
	var only *models.Attic
	for i := range f.Attics {
		a := &f.Attics[i]
		if !a.EndedOn.IsZero() {
			continue
		}
		if id != nil && a.ID == *id {
			return a
		}
		if only != nil {
			return nil
		}
		only = a
	}
	if id != nil {
		return nil
	}
	return only
}

// drawn says whether all slopes have their outlines, so that what the plan does
// not show is not there.
func drawn(plan *takeoff.Plan, slopes []models.Slope) bool {
	return plan != nil && !slices.ContainsFunc(slopes, func(s models.Slope) bool { return s.Outline == nil })
}

// poursOnShortEave says whether a valley pours onto a short eave of a slope; nil
// where the outlines do not tell.
func poursOnShortEave(plan *takeoff.Plan, slopes []models.Slope, slope string) *bool {
	if !drawn(plan, slopes) {
		return nil
	}
	return new(slices.ContainsFunc(plan.Drains, func(d takeoff.Drain) bool {
		return d.Name == slope && len(d.Pours) > 0 && d.Length < shortEave
	}))
}

// deadValley says whether the outlines show a valley whose water has nowhere to
// go; nil where they do not tell.
func deadValley(plan *takeoff.Plan, slopes []models.Slope) *bool {
	if !drawn(plan, slopes) {
		return nil
	}
	return new(slices.ContainsFunc(plan.Warnings, func(w takeoff.Warning) bool { return w.Key == "dead_valley" }))
}
