package portfolio

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"overhang/analytics/lifespan"
	"overhang/analytics/takeoff"
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
	// Slopes are those that the look told apart, by name: each has a finding of its
	// own that is part of the reading, or was in sight while others were not. None
	// where it spoke of the roof as a whole.
	Slopes []SlopeLook
	Aside  int // findings of the visit that count for nothing
}

// SlopeLook is what a look told of one slope: by what was found on it, and by what
// was found on all slopes alike.
type SlopeLook struct {
	SlopeID int64
	Worn    wear.SlopeRating
}

// findingsOf gives what a visit found on this roof: what was found on a slope that
// the roof does not lie on is another's.
func findingsOf(f *models.RoofFile, visit int64) []models.Finding {
	all := f.Findings[visit]
	elsewhere := func(x models.Finding) bool {
		return x.SlopeID != nil && !slices.ContainsFunc(f.Slopes, func(s models.Slope) bool { return s.ID == *x.SlopeID })
	}
	if !slices.ContainsFunc(all, elsewhere) {
		return all
	}
	return slices.DeleteFunc(slices.Clone(all), elsewhere)
}

// Looks rates the covering, flashings and gutters by the findings of each visit
// since the roof was laid, the oldest first.
func Looks(f *models.RoofFile) ([]Look, error) {
	var out []Look
	for _, v := range f.Visits {
		findings := findingsOf(f, v.ID)
		if v.DoneOn.IsZero() || len(findings) == 0 || v.DoneOn < f.Roof.Laid.Earliest() || (v.RoofID != nil && *v.RoofID != f.Roof.ID) {
			continue
		}
		if !f.Roof.EndedOn.IsZero() && v.DoneOn > f.Roof.EndedOn {
			continue
		}
		in, from := lookInput(f, &v, findings)
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
		out = append(out, Look{v, r, worn, toldApart(in.Findings, r.SetAside, worn), asideOf(r.SetAside, from)})
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

// toldApart gives the slopes of which a look told something of their own.
func toldApart(of []wear.Finding, aside []wear.SetAside, worn wear.PartRating) []SlopeLook {
	var out []SlopeLook
	for _, rating := range worn.Slopes {
		if rating.Rating == nil {
			continue
		}
		for i, x := range of {
			if x.Slope == rating.Slope && x.Look != wear.NotLooked && InReading(x.Defect) &&
				!slices.ContainsFunc(aside, func(a wear.SetAside) bool { return a.Finding == i }) {
				out = append(out, SlopeLook{ID(rating.Slope), rating})
				break
			}
		}
	}
	return out
}

// Lifespan is the input of estimating the years left in a standing roof. Of one that
// has ended it is the input of estimating how old it became: by what was known on its
// last day, and for one that was worn out by the looks between which it was.
func Lifespan(f *models.RoofFile, checks []AtticVenting, looks []Look, heat Heat, b *models.Branch, today units.Date) (lifespan.Input, error) {
	in := lifespan.Input{Material: family(f), ReplacementLagYears: &b.StandingLagYears}
	ended := !f.Roof.EndedOn.IsZero() && f.Roof.EndedOn <= today
	if ended {
		today = f.Roof.EndedOn
	}
	least, most := ages(f.Roof.Laid, today)
	in.EarliestAgeYears, in.LatestAgeYears = &least, &most
	var err error
	if in.Factors, err = factors(f, checks, heat, b, today); err != nil {
		return in, err
	}
	told := looks
	if ended && f.Roof.EndReason == "worn_out" {
		told = foundWornOut(&in, looks, f.Roof.EndedOn, most)
	}
	in.Readings = lookReadings(f, told, today, most)
	in.Repairs = relaid(f, in.Readings, today, most)
	return in, nil
}

// reading is a look's reading of the roof, as of a day on which the covering has at
// most so many years.
func (l *Look) reading(asOf units.Date, most float64) lifespan.Reading {
	return lifespan.Reading{Name: l.Visit.DoneOn.String() + " " + l.Visit.Method, YearsAgo: min(asOf.YearsSince(l.Visit.DoneOn), most),
		Rating: *l.Worn.Rating, ErrorPoints: l.Worn.ErrorPoints, ShownShare: l.Worn.ShownShare, By: l.Visit.ByName, Method: l.Visit.Method}
}

// lookReadings gives what looks up to a day read: one for each slope that still lies
// there where a look told slopes apart, and one for the roof where it did not, so
// that no look counts both ways. Of a roof with more slopes than can be told apart
// each look reads the worst.
func lookReadings(f *models.RoofFile, looks []Look, today units.Date, most float64) (out []lifespan.Reading) {
	lies := map[int64]bool{}
	for _, s := range f.Slopes {
		lies[s.ID] = standing(s.EndedOn, today)
	}
	apart := map[int64]bool{}
	for _, look := range looks {
		for _, s := range look.Slopes {
			if lies[s.SlopeID] && look.Visit.DoneOn <= today {
				apart[s.SlopeID] = true
			}
		}
	}
	for _, look := range looks {
		if look.Worn.Rating == nil || look.Visit.DoneOn > today {
			continue
		}
		of := look.reading(today, most)
		if len(look.Slopes) == 0 || len(apart) > lifespan.MostSlopes {
			out = append(out, of)
			continue
		}
		name := of.Name
		for _, s := range look.Slopes {
			if !lies[s.SlopeID] {
				continue
			}
			of.Slope = s.Worn.Slope
			of.Name, of.Rating, of.ErrorPoints, of.ShownShare = name+" "+of.Slope, *s.Worn.Rating, s.Worn.ErrorPoints, s.Worn.ShownShare
			out = append(out, of)
		}
	}
	return out
}

// relaid gives what of a roof's covering is younger than the roof: a slope that was
// built after the roof was laid cannot have been covered before, and repairs of
// callbacks laid anew what they say.
func relaid(f *models.RoofFile, readings []lifespan.Reading, today units.Date, most float64) (out []lifespan.Repair) {
	add := func(on units.Date, share float64, slope string) {
		if on > f.Roof.Laid.Latest() && on < today && share > 0 {
			out = append(out, lifespan.Repair{YearsAgo: min(today.YearsSince(on), most), Share: min(share, 1), Slope: slope})
		}
	}
	for _, s := range f.Slopes {
		if standing(s.EndedOn, today) {
			add(s.InstalledOn, 1, id(s.ID))
		}
	}
	apart := toldSlopes(readings) > 1
	for _, c := range relayings(f) {
		if !apart && laidOver(f, c, today) {
			continue
		}
		share, slope := relaidShare(f, c, apart, today)
		add(c.RepairedOn, share, slope)
	}
	if oldest, all := allRelaid(f, out, today); all {
		out = append(out, lifespan.Repair{YearsAgo: oldest, Share: 1})
	}
	return out
}

// relayings are the callbacks whose repair laid anew something of this roof.
func relayings(f *models.RoofFile) (out []*models.Callback) {
	for i := range f.Callbacks {
		if c := &f.Callbacks[i]; c.Relaid != "" && c.RoofID != nil && *c.RoofID == f.Roof.ID {
			out = append(out, c)
		}
	}
	return out
}

// laidOver says whether the whole slope that a callback's repair was on has been laid
// anew since: of the roof both would count, though but one of them lies there.
func laidOver(f *models.RoofFile, c *models.Callback, today units.Date) bool {
	return c.RelaidSlopeID != nil && slices.ContainsFunc(relayings(f), func(later *models.Callback) bool {
		return later.Relaid == "whole_slope" && later.RelaidSlopeID != nil && *later.RelaidSlopeID == *c.RelaidSlopeID && later.RepairedOn > c.RepairedOn && later.RepairedOn < today
	})
}

// firstRelaid is the day on which a repair first laid anew a part of a roof, zero
// where none did.
func firstRelaid(f *models.RoofFile) (first units.Date) {
	for _, c := range relayings(f) {
		if c.RepairedOn > f.Roof.Laid.On && (first.IsZero() || c.RepairedOn < first) {
			first = c.RepairedOn
		}
	}
	return first
}

// sawOldAlone gives the looks that saw what was laid with the roof and nothing
// newer: those up to the day of the first repair that laid anew a part, on which
// what was there before was seen. Later ones tell little of how long the old lasts.
func sawOldAlone(looks []Look, relaid units.Date) []Look {
	if relaid.IsZero() {
		return looks
	}
	return slices.DeleteFunc(slices.Clone(looks), func(l Look) bool { return l.Visit.DoneOn > relaid })
}

// toldSlopes counts the slopes that readings tell apart.
func toldSlopes(readings []lifespan.Reading) int {
	told := map[string]bool{}
	for _, r := range readings {
		if r.Slope != "" {
			told[r.Slope] = true
		}
	}
	return len(told)
}

// relaidShare gives what share a callback's repair laid anew, and of which slope.
// Where readings tell slopes apart it is of the slope that was repaired, which they
// alone see; where they are of the roof it is of the roof. It is 0 where no share
// can be told, since areas are not known, and of a slope that lies there no more.
func relaidShare(f *models.RoofFile, c *models.Callback, apart bool, today units.Date) (share float64, slope string) {
	all := coveredArea(f, today)
	if c.RelaidSlopeID == nil {
		return over(c.RelaidArea, all), ""
	}
	i := slices.IndexFunc(f.Slopes, func(s models.Slope) bool { return s.ID == *c.RelaidSlopeID && standing(s.EndedOn, today) })
	if i < 0 {
		return 0, ""
	}
	of := slopeArea(&f.Slopes[i])
	laid := c.RelaidArea
	if c.Relaid == "whole_slope" {
		laid = of
	}
	switch {
	case !apart && over(laid, all) > 0:
		return over(laid, all), ""
	case c.Relaid == "whole_slope":
		return 1, id(f.Slopes[i].ID)
	}
	return over(laid, of), id(f.Slopes[i].ID)
}

// over gives a part of a whole, 0 where either is not known.
func over(part, whole *units.Area) float64 {
	if part == nil || whole == nil || *whole <= 0 {
		return 0
	}
	return float64(*part / *whole)
}

// allRelaid says whether every slope of a roof was relaid whole, each for itself,
// and how long ago the first of what lies there now: as old is the roof then.
func allRelaid(f *models.RoofFile, repairs []lifespan.Repair, today units.Date) (oldest float64, all bool) {
	for _, s := range f.Slopes {
		if !standing(s.EndedOn, today) {
			continue
		}
		youngest := math.Inf(1)
		for _, r := range repairs {
			if r.Slope == id(s.ID) && r.Share == 1 {
				youngest = min(youngest, r.YearsAgo)
			}
		}
		if math.IsInf(youngest, 1) {
			return 0, false
		}
		oldest, all = max(oldest, youngest), true
	}
	return oldest, all
}

// coveredArea is the area of a roof's covering: of its slopes, where each is
// measured, or else as it was written down; nil where neither is known.
func coveredArea(f *models.RoofFile, today units.Date) *units.Area {
	sum := units.Area(0)
	for i := range f.Slopes {
		s := &f.Slopes[i]
		if !standing(s.EndedOn, today) {
			continue
		}
		area := slopeArea(s)
		if area == nil {
			return f.Roof.Area
		}
		sum += *area
	}
	if sum == 0 {
		return f.Roof.Area
	}
	return &sum
}

// slopeArea is a slope's area along the slope, as it was measured; nil where it was
// not.
func slopeArea(s *models.Slope) *units.Area {
	switch {
	case s.Area != nil:
		return s.Area
	case s.Outline != nil && s.Pitch != nil:
		return new(s.Outline.PlanArea() * units.Area(takeoff.SlopeFactor(*s.Pitch)))
	case s.Eave != nil && s.Rafter != nil:
		return new(units.Area(*s.Eave * *s.Rafter))
	}
	return nil
}

// leastLagYears is the replacement lag that is taken at the least of a roof that was
// found worn out: it lay there so for some time. Our own judgement.
const leastLagYears = 0.1

// foundWornOut says between which looks a roof that came off worn out was so, and
// gives the looks that are left to be readings: those that bound its end do not
// count again.
func foundWornOut(in *lifespan.Input, looks []Look, ended units.Date, most float64) []Look {
	const day = 1 / 365.25
	serviceable, worn := bounding(looks, 0, ended, true)
	span := lifespan.Span{ToYearsAgo: new(0.0)}
	if worn >= 0 {
		*span.ToYearsAgo = ended.YearsSince(looks[worn].Visit.DoneOn)
	}
	if serviceable >= 0 {
		span.FromYearsAgo = new(min(ended.YearsSince(looks[serviceable].Visit.DoneOn), most))
	}
	if most < *span.ToYearsAgo+day || (span.FromYearsAgo != nil && *span.FromYearsAgo < *span.ToYearsAgo+day) {
		return looks // laid and worn out within a day says nothing
	}
	in.WornBetween, in.ReplacementLagYears = &span, new(max(*in.ReplacementLagYears, leastLagYears))
	var left []Look
	for i, look := range looks {
		if i != serviceable && i != worn {
			left = append(left, look)
		}
	}
	return left
}

// bounding gives the last look, from one day to another, that found a covering
// serviceable and the first after it that found it worn out, by their places; −1
// where there is none. A look on the day on which a worn-out one ended is left out.
func bounding(looks []Look, from, to units.Date, worn bool) (serviceable, wornOut int) {
	serviceable, wornOut = -1, -1
	for i, look := range looks {
		on, rating := look.Visit.DoneOn, look.Worn
		switch {
		case rating.Rating == nil || !judges(rating) || on < from || on > to || (on == to && worn):
		case *rating.Rating >= wear.Line:
			// Looks come in order: one that finds it serviceable again takes back
			// the one that did not.
			serviceable, wornOut = i, -1
		case wornOut < 0 && (serviceable < 0 || looks[serviceable].Visit.DoneOn < on):
			wornOut = i
		}
	}
	return serviceable, wornOut
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

// EstimateLife estimates the years left in a roof as [Lifespan] takes it, with what
// own lives said, which may be nil. With further horizons, in years, it gives the
// chance of each, and the reasons.
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
	in.Repairs, in.WornBetween = nil, nil
	type reading struct {
		On     units.Date
		Rating wear.PartRating
		Slopes []SlopeLook
	}
	type built struct {
		SlopeID     int64
		On, EndedOn units.Date
	}
	type anew struct {
		On             units.Date
		Kind           string
		SlopeID        *int64
		Laid, Of, Roof *units.Area
	}
	made := struct {
		Version  string
		Input    lifespan.Input
		Laid     units.Dated
		Ended    units.Date
		Reason   string
		Readings []reading
		Slopes   []built
		Relaid   []anew `json:",omitempty"`
	}{lifespan.ModelVersion, in, f.Roof.Laid, f.Roof.EndedOn, f.Roof.EndReason, nil, nil, nil}
	for _, look := range l.Looks {
		made.Readings = append(made.Readings, reading{look.Visit.DoneOn, look.Worn, look.Slopes})
	}
	for _, slope := range f.Slopes {
		made.Slopes = append(made.Slopes, built{slope.ID, slope.InstalledOn, slope.EndedOn})
	}
	for _, c := range relayings(f) {
		laid := anew{On: c.RepairedOn, Kind: c.Relaid, SlopeID: c.RelaidSlopeID, Laid: c.RelaidArea, Roof: coveredArea(f, f.Roof.EndedOn)}
		if i := slices.IndexFunc(f.Slopes, func(s models.Slope) bool { return c.RelaidSlopeID != nil && s.ID == *c.RelaidSlopeID }); i >= 0 {
			laid.Of = slopeArea(&f.Slopes[i])
		}
		made.Relaid = append(made.Relaid, laid)
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
// than its kind and year, what own lives said and the climate of the branch where one
// is chosen, is worn out within five years.
// Houses of one kind, year, neighbourhood and era share one answer.
type Need struct {
	own       *Pooled
	lag       float64
	place     map[bool][]lifespan.Factor // by whether a covering is of bitumen; none where no climate is chosen
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
func NewNeed(own *Pooled, b *models.Branch, today units.Date) (*Need, error) {
	n := &Need{own: own, lag: b.StandingLagYears, place: map[bool][]lifespan.Factor{}, today: today, known: map[needKey]*float64{}}
	if b.ClimateStation == "" {
		return n, nil
	}
	climate, err := climateOf(b)
	for _, bitumen := range []bool{false, true} {
		if err == nil {
			n.place[bitumen], err = climate.factors(bitumen)
		}
	}
	return n, err
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
	kind := cmp.Or(h.Family, lifespan.Unknown)
	in.Factors = n.place[ofBitumen(kind)]
	n.own.apply(&in, kind, h.Neighbourhood, h.BuildYear)
	var chance *float64
	// A roof older than any that is known, say of a church, has no answer.
	if r, err := n.estimator.Estimate(in); err == nil {
		chance = &r.ChanceIn5
	}
	n.known[key] = chance
	return chance
}
