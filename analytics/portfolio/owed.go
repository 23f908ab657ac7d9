package portfolio

import (
	"overhang/analytics/owed"
	"overhang/analytics/units"
	"overhang/models"
)

// Owed is the input of what is still owed under the promises that are ours:
// workmanship, and warranties assumed from others. The callbacks are all that
// happened on the roofs, with their cost by number where it is known.
func Owed(files []models.RoofFile, costs map[int64]units.Money, b *models.Branch, asOf units.Date) owed.Input {
	in := owed.Input{AsOf: asOf, DiscountRate: b.DiscountRate}
	for i := range files {
		f := &files[i]
		laid := f.Roof.Laid.On
		ours := false
		for _, w := range f.Warranties {
			terms := f.TermsOf(w)
			if w.OwedBy != "us" || ours {
				continue // one roof is at risk once, however many papers promise it
			}
			ours = true
			until := Terms(&terms).LastDay(w.StartOn)
			for _, end := range []units.Date{w.EndedOn, f.Roof.EndedOn} {
				if !end.IsZero() {
					until = min(until, end)
				}
			}
			if until < w.StartOn {
				continue
			}
			p := owed.Promise{ID: w.Ref, LaidOn: laid, From: w.StartOn, Until: until}
			if f.Roof.Area != nil {
				p.Squares = f.Roof.Area.In(units.Square)
			}
			in.Promises = append(in.Promises, p)
		}
		for _, c := range f.Callbacks {
			if !ours || c.RoofID == nil || *c.RoofID != f.Roof.ID || c.State == "refused" {
				continue
			}
			happened := c.HappenedOn
			if happened.IsZero() {
				happened = c.LearnedOn
			}
			callback := owed.Callback{LaidOn: laid, HappenedOn: happened, Bearer: c.Bearer}
			if cost, known := costs[c.ID]; known && c.State == "closed" {
				callback.CostCents = &cost
			}
			in.Callbacks = append(in.Callbacks, callback)
		}
	}
	return in
}
