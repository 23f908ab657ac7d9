package portfolio

import (
	"overhang/analytics/lifespan"
	"overhang/analytics/units"
	"overhang/models"
)

// Read is a roof that somebody has looked at, for the rating curve.
type Read struct {
	Family, Neighbourhood string
	BuildYear             *int
	Laid                  units.Dated
	Looks                 []Look // the oldest first; of what was laid with the roof alone
}

// ReadOf is a roof with the looks at it.
func ReadOf(f *models.RoofFile, looks []Look) Read {
	return Read{Family: family(f), Neighbourhood: f.House.Neighbourhood, BuildYear: f.House.BuildYear, Laid: f.Roof.Laid, Looks: sawOldAlone(looks, firstRelaid(f))}
}

// before is what the looks before a day tell of the covering as it lay at the last
// of them; false where there is none.
func (r *Read) before(day units.Date, lag float64) (in lifespan.Input, found bool) {
	in = lifespan.Input{Material: r.Family, ReplacementLagYears: &lag}
	last := units.Date(0)
	for _, look := range r.Looks {
		if look.Worn.Rating != nil && look.Visit.DoneOn < day {
			last = look.Visit.DoneOn
		}
	}
	if last == 0 || r.Laid.IsZero() || last < r.Laid.Earliest() {
		return in, false
	}
	least, most := ages(r.Laid, last)
	in.EarliestAgeYears, in.LatestAgeYears = &least, &most
	for _, look := range r.Looks {
		if look.Worn.Rating != nil && look.Visit.DoneOn < day {
			// Of slopes told apart it is the worst that is the roof's.
			in.Readings = append(in.Readings, look.reading(last, most))
		}
	}
	return in, true
}

// FitCurve finds the company's rating curve from all looks before a day, with what
// own lives said, which may be nil. It is nil where there were none.
func FitCurve(roofs []Read, own *Pooled, b *models.Branch, day units.Date) (*lifespan.CurveFit, error) {
	var of []lifespan.Input
	for i := range roofs {
		r := &roofs[i]
		in, found := r.before(day, b.StandingLagYears)
		if !found {
			continue
		}
		own.prior(&in, r.Family, r.Neighbourhood, r.BuildYear)
		of = append(of, in)
	}
	return new(lifespan.Estimator).FitCurve(of)
}
