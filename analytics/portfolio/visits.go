package portfolio

import (
	"time"

	"overhang/analytics/units"
	"overhang/analytics/visits"
	"overhang/models"
)

// season reads the branch's working season; Validate has checked how it is
// written, and what cannot be read is open all year.
func season(b *models.Branch) visits.Season {
	read := func(s string) visits.MonthDay {
		t, err := time.Parse("01-02", s)
		if err != nil {
			return visits.MonthDay{}
		}
		return visits.MonthDay{Month: t.Month(), Day: t.Day()}
	}
	return visits.Season{From: read(b.SeasonFrom), To: read(b.SeasonTo)}
}

// InSeason says whether crews are on roofs on a day.
func InSeason(b *models.Branch, d units.Date) bool { return season(b).Open(d) }

// SeasonOpens gives the day itself where crews are on roofs on it, or the next
// day on which they are.
func SeasonOpens(b *models.Branch, d units.Date) units.Date { return season(b).Next(d) }

// Visits is the input of the due rule for roofs of ours, on a day. Crossed gives
// the days of the storms that crossed each roof, by its number.
func Visits(files []models.RoofFile, crossed map[int64][]units.Date, b *models.Branch, today units.Date) visits.Input {
	in := visits.Input{Today: today, Settings: visits.Settings{Season: season(b), EveryMonths: b.CheckupEveryMths, StormDays: b.StormLookDays}}
	for i := range files {
		in.Roofs = append(in.Roofs, visitRoof(&files[i], crossed[files[i].Roof.ID]))
	}
	return in
}

func visitRoof(f *models.RoofFile, crossed []units.Date) visits.Roof {
	r := visits.Roof{ID: id(f.Roof.ID), EndedOn: f.Roof.EndedOn, Laid: f.Roof.Laid, StormsCrossed: crossed}
	if job := f.LaidBy(); job != nil {
		r.ClosedOn = job.ClosedOn
	}
	// The check-up is asked for as long as we answer for the work, or a maker's
	// promise rests on it, or a plan runs. A plan without an end runs on.
	forever := false
	until := func(d units.Date) {
		r.Promised = true
		r.PromisedUntil = max(r.PromisedUntil, d)
	}
	for _, w := range f.Warranties {
		terms := f.TermsOf(w)
		asked := w.OwedBy == "us"
		for _, c := range terms.Conditions {
			asked = asked || c.Kind == "yearly_checkup"
		}
		if asked && w.EndedOn.IsZero() {
			until(Terms(&terms).LastDay(w.StartOn))
		}
	}
	for _, p := range f.Plans {
		if p.ToOn.IsZero() {
			r.Promised, forever = true, true
		} else {
			until(p.ToOn)
		}
	}
	if forever {
		r.PromisedUntil = 0
	}
	for _, v := range f.Visits {
		if v.RoofID != nil && *v.RoofID != f.Roof.ID {
			continue
		}
		switch {
		case !v.DoneOn.IsZero():
			r.RoofLookedOn = max(r.RoofLookedOn, v.DoneOn)
			// A check-up is of gutters and roof, unless it says otherwise.
			if (v.Gutters == nil && v.Purpose == "checkup") || (v.Gutters != nil && *v.Gutters) {
				r.GuttersOn = max(r.GuttersOn, v.DoneOn)
			}
		case !v.CancelledOn.IsZero() || (v.Purpose != "checkup" && v.Purpose != "storm_look"):
		case !v.DeclinedOn.IsZero():
			r.OfferedOn = max(r.OfferedOn, v.OfferedOn)
			r.DeclinedOn = max(r.DeclinedOn, v.DeclinedOn)
		default:
			r.OfferedOn = max(r.OfferedOn, v.OfferedOn)
			r.BookedFor = max(r.BookedFor, v.BookedFor)
		}
	}
	return r
}
