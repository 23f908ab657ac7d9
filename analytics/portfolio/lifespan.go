package portfolio

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"

	"overhang/analytics/lifespan"
	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
)

// Look is a done visit whose findings rate the covering.
type Look struct {
	Visit  models.Visit
	Result wear.Result
	// Worn is the rating of the covering without the findings that count as
	// factors of its life: the reading that the years left are estimated from.
	Worn wear.PartRating
}

// Looks rates the covering, flashings and gutters by the findings of each visit
// since the roof was laid, the oldest first.
func Looks(f *models.RoofFile) ([]Look, error) {
	var out []Look
	for _, v := range f.Visits {
		findings := f.Findings[v.ID]
		if v.DoneOn.IsZero() || len(findings) == 0 || v.DoneOn < f.Roof.Laid.Earliest() || (v.RoofID != nil && *v.RoofID != f.Roof.ID) {
			continue
		}
		if !f.Roof.EndedOn.IsZero() && v.DoneOn > f.Roof.EndedOn {
			continue
		}
		in := wear.Input{Method: wear.Method(v.Method), Covering: family(f)}
		for _, finding := range findings {
			slope := ""
			if finding.SlopeID != nil {
				slope = id(*finding.SlopeID)
			}
			in.Findings = append(in.Findings, wear.Finding{Defect: finding.Defect, Slope: slope, Look: wear.Looked(finding.Look),
				Severity: finding.Severity, Extent: finding.Extent})
		}
		r, err := wear.Rate(in)
		if err != nil {
			return nil, wrap("rating the findings of the visit "+v.Ref, err)
		}
		worn := r.Part(wear.Covering)
		if aside := withoutFactors(in.Findings); aside != nil {
			in.Findings = aside
			again, err := wear.Rate(in)
			if err != nil {
				return nil, wrap("reading the wear from the visit "+v.Ref, err)
			}
			worn = again.Part(wear.Covering)
		}
		out = append(out, Look{v, r, worn})
	}
	return out, nil
}

// withoutFactors gives findings in which what counts as a factor costs the
// covering nothing, though it was looked at; nil where there is no such.
func withoutFactors(of []wear.Finding) []wear.Finding {
	var out []wear.Finding
	for i, f := range of {
		if f.Look == wear.Seen && !InReading(f.Defect) {
			if out == nil {
				out = slices.Clone(of)
			}
			out[i] = wear.Finding{Defect: f.Defect, Slope: f.Slope, Look: wear.None}
		}
	}
	return out
}

// ages gives the least and the most age in years that a covering can have.
func ages(laid units.Dated, today units.Date) (least, most float64) {
	return max(0, today.YearsSince(laid.Latest())), max(0, today.YearsSince(laid.Earliest()))
}

// Lifespan is the input of estimating the years left in a standing roof.
func Lifespan(f *models.RoofFile, checks []AtticVenting, looks []Look, heat Heat, b *models.Branch, today units.Date) (lifespan.Input, error) {
	in := lifespan.Input{Material: family(f), ReplacementLagYears: &b.StandingLagYears}
	least, most := ages(f.Roof.Laid, today)
	in.EarliestAgeYears, in.LatestAgeYears = &least, &most
	var err error
	if in.Factors, err = factors(f, checks, heat, b, today); err != nil {
		return in, err
	}
	in.Readings = readingsBefore(looks, today+1, today, most)
	return in, nil
}

// readingsBefore are the readings of the looks before a day, as of another on which
// the covering has at most so many years.
func readingsBefore(looks []Look, before, asOf units.Date, most float64) (out []lifespan.Reading) {
	for _, look := range looks {
		rating := look.Worn
		if rating.Rating == nil || look.Visit.DoneOn >= before {
			continue
		}
		out = append(out, lifespan.Reading{Name: look.Visit.DoneOn.String() + " " + look.Visit.Method, YearsAgo: min(asOf.YearsSince(look.Visit.DoneOn), most),
			Rating: *rating.Rating, ErrorPoints: rating.ErrorPoints, By: look.Visit.ByName, Method: look.Visit.Method})
	}
	return out
}

// mostJudgingError is the error, in points, up to which a look says whether a
// covering is serviceable: one for hail bruises alone says nothing of that. It
// goes by what was looked at and never by what was found. Our own judgement.
const mostJudgingError = 20.0

// judges says whether a rating says how serviceable the covering is.
func judges(rating wear.PartRating) bool {
	return rating.Rating != nil && rating.ErrorPoints != nil && *rating.ErrorPoints <= mostJudgingError
}

func family(f *models.RoofFile) string {
	if f.Covering == nil {
		return lifespan.Unknown
	}
	return f.Covering.Family
}

// Life is the estimate of one roof with what it was made from.
type Life struct {
	Input  lifespan.Input
	Result lifespan.Result
	Looks  []Look
	FitID  *int64 // of what own lives said, where it rests on that
}

// EstimateLife estimates the years left in a standing roof, with what own lives
// said, which may be nil. With further
// horizons, in years, it gives the chance of each, and the reasons.
func EstimateLife(e *lifespan.Estimator, f *models.RoofFile, checks []AtticVenting, heat Heat, own *Pooled, b *models.Branch, today units.Date, horizons ...float64) (*Life, error) {
	looks, err := Looks(f)
	if err != nil {
		return nil, err
	}
	in, err := Lifespan(f, checks, looks, heat, b, today)
	if err != nil {
		return nil, wrap("estimating the years left in "+f.Roof.Ref, err)
	}
	fit := own.apply(&in, in.Material, f.House.Neighbourhood, f.House.BuildYear)
	in.HorizonsYears, in.Explain = horizons, len(horizons) > 0
	r, err := e.Estimate(in)
	if err != nil {
		return nil, wrap("estimating the years left in "+f.Roof.Ref, err)
	}
	return &Life{in, r, looks, fit}, nil
}

// Hash marks what an estimate was made from, but for the day: two estimates
// with the same hash differ only by the age of the roof.
func (l *Life) Hash(f *models.RoofFile) (string, error) {
	in := l.Input
	in.EarliestAgeYears, in.LatestAgeYears, in.Readings, in.HorizonsYears, in.Explain = nil, nil, nil, nil, false
	type reading struct {
		On     units.Date
		Rating wear.PartRating
	}
	made := struct {
		Version  string
		Input    lifespan.Input
		Laid     units.Dated
		Readings []reading
	}{lifespan.ModelVersion, in, f.Roof.Laid, nil}
	for _, look := range l.Looks {
		made.Readings = append(made.Readings, reading{look.Visit.DoneOn, look.Worn})
	}
	b, err := json.Marshal(made)
	if err != nil {
		return "", fmt.Errorf("marking what the estimate of %s was made from: %w", f.Roof.Ref, err)
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:]), nil
}

// Record is the estimate as it is kept.
func (l *Life) Record(f *models.RoofFile, today units.Date) (models.Estimate, error) {
	hash, err := l.Hash(f)
	if err != nil {
		return models.Estimate{}, err
	}
	whole, err := json.Marshal(l.Result)
	if err != nil {
		return models.Estimate{}, fmt.Errorf("keeping the estimate of %s: %w", f.Roof.Ref, err)
	}
	r := l.Result
	return models.Estimate{RoofID: f.Roof.ID, AsOf: today, ModelVersion: r.ModelVersion, InputsHash: hash,
		AgeYears: (r.EarliestAge + r.LatestAge) / 2, Low: r.YearsLeft.Low, Middle: r.YearsLeft.Middle, High: r.YearsLeft.High,
		ChancePast: r.ChancePast, ChanceIn1: r.ChanceIn1, ChanceIn2: r.ChanceIn2, ChanceIn5: r.ChanceIn5,
		TooNew: r.TooNew, LifeFitID: l.FitID, Result: string(whole)}, nil
}

// Need gives the chance that a neighbour's covering, of which no more is known
// than its kind and year and what own lives said, is worn out within five years.
// Houses of one kind, year, neighbourhood and era share one answer.
type Need struct {
	own       *Pooled
	lag       float64
	today     units.Date
	estimator lifespan.Estimator
	known     map[needKey]*float64
}

type needKey struct {
	family             string
	on                 units.Date
	precision          units.Precision
	neighbourhood, era string
}

// NewNeed makes a Need for a day, with what own lives said, which may be nil.
func NewNeed(own *Pooled, b *models.Branch, today units.Date) *Need {
	return &Need{own: own, lag: b.StandingLagYears, today: today, known: map[needKey]*float64{}}
}

// Of gives the chance for a house, or nil where its roof's year is not known.
func (n *Need) Of(h *models.Neighbour) *float64 {
	if h.LaidOn.IsZero() {
		return nil
	}
	key := needKey{family: h.Family, on: h.LaidOn, precision: h.LaidPrecision}
	if n.own != nil {
		key.neighbourhood, key.era = h.Neighbourhood, era(h.BuildYear)
	}
	if chance, found := n.known[key]; found {
		return chance
	}
	least, most := ages(units.Dated{On: h.LaidOn, Precision: h.LaidPrecision}, n.today)
	in := lifespan.Input{Material: h.Family, EarliestAgeYears: &least, LatestAgeYears: &most, ReplacementLagYears: &n.lag}
	n.own.apply(&in, cmp.Or(h.Family, lifespan.Unknown), h.Neighbourhood, h.BuildYear)
	var chance *float64
	// A roof older than any that is known, say of a church, has no answer.
	if r, err := n.estimator.Estimate(in); err == nil {
		chance = &r.ChanceIn5
	}
	n.known[key] = chance
	return chance
}
