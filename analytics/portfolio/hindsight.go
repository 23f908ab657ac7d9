package portfolio

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"

	"overhang/analytics/hindsight"
	"overhang/analytics/lifespan"
	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
)

// SettleDays is how old an estimate must be before it is held against what was
// seen since. It goes by the day alone: to count a fresh one only where something
// came of it would make estimates look worse than they are. Our own judgement.
const SettleDays = 180

// standsOn keeps of some parts of a house those that were there on a day: what has
// no day is taken as it is.
func standsOn[T any](parts []T, day units.Date, days func(*T) (installed units.Date, ended *units.Date)) []T {
	var out []T
	for _, p := range parts {
		installed, ended := days(&p)
		if installed >= day || (!ended.IsZero() && *ended < day) {
			continue
		}
		*ended = 0
		out = append(out, p)
	}
	return out
}

// keptBefore keeps what came before a day.
func keptBefore[T any](all []T, day units.Date, on func(*T) units.Date) []T {
	var out []T
	for _, v := range all {
		if on(&v) < day {
			out = append(out, v)
		}
	}
	return out
}

// KnownBefore gives the file as it was known before a day, and false where the
// roof did not lie then. What bears no day, such as a measurement, is taken as it
// is now.
func KnownBefore(f *models.RoofFile, day units.Date) (*models.RoofFile, bool) {
	if f.Roof.Laid.Earliest() >= day || (!f.Roof.EndedOn.IsZero() && f.Roof.EndedOn < day) {
		return nil, false
	}
	known := *f
	known.Roof.EndedOn, known.Roof.EndReason = 0, ""
	known.Visits = nil
	for _, v := range f.Visits {
		if v.DoneOn.IsZero() || v.DoneOn < day {
			known.Visits = append(known.Visits, v)
		}
	}
	known.Storms = keptBefore(f.Storms, day, func(s *models.Storm) units.Date { return s.On })
	known.Troubles = keptBefore(f.Troubles, day, func(t *models.Trouble) units.Date { return t.On })
	known.Callbacks = keptBefore(f.Callbacks, day, func(c *models.Callback) units.Date { return c.LearnedOn })
	known.Slopes = standsOn(f.Slopes, day, func(p *models.Slope) (units.Date, *units.Date) { return p.InstalledOn, &p.EndedOn })
	known.Vents = standsOn(f.Vents, day, func(p *models.Vent) (units.Date, *units.Date) { return p.InstalledOn, &p.EndedOn })
	known.Details = standsOn(f.Details, day, func(p *models.Detail) (units.Date, *units.Date) { return p.InstalledOn, &p.EndedOn })
	known.Gutters = standsOn(f.Gutters, day, func(p *models.GutterRun) (units.Date, *units.Date) { return p.InstalledOn, &p.EndedOn })
	known.Attics = standsOn(f.Attics, day, func(p *models.Attic) (units.Date, *units.Date) { return 0, &p.EndedOn })
	return &known, true
}

// HindcastDays are the days on which the past of a roof is estimated: the day
// after its first look and each year after, as long as it lay and until today.
func HindcastDays(f *models.RoofFile, looks []Look, today units.Date) (days []units.Date) {
	if len(looks) == 0 {
		return nil
	}
	for day := looks[0].Visit.DoneOn.AddDays(1); day < today && (f.Roof.EndedOn.IsZero() || day <= f.Roof.EndedOn); day = day.AddYears(1) {
		days = append(days, day)
	}
	return days
}

// Hindcast is what the estimator says today of a roof as it was known before a
// day, and false where it did not lie then. The rating curve is that which looks
// before the day told; nil is the usual one.
func Hindcast(e *lifespan.Estimator, f *models.RoofFile, heat Heat, curve *lifespan.CurveFit, b *models.Branch, day units.Date) (models.Estimate, bool, error) {
	known, lay := KnownBefore(f, day)
	if !lay {
		return models.Estimate{}, false, nil
	}
	checks, err := CheckVenting(known, b)
	if err != nil {
		return models.Estimate{}, false, err
	}
	// Own lives as they are told today know what came; without them it is the
	// table that is judged.
	life, err := EstimateLife(e, known, checks, heat, &Pooled{Curve: curve}, b, day)
	if err != nil {
		return models.Estimate{}, false, err
	}
	record, err := life.Record(known, day)
	return record, true, err
}

// Settled says whether an estimate is old enough to be held against what came.
func Settled(e *models.Estimate, today units.Date) bool { return e.AsOf.AddDays(SettleDays) <= today }

// endedFor says for what a roof ended, in the words of hindsight. Where the reason is
// not known, no more is than that it lay until then.
func endedFor(reason string) string {
	switch reason {
	case "worn_out":
		return "wear"
	case "storm", "sale", "alteration", "taste":
		return "other"
	}
	return ""
}

// Foretold makes the case of one estimate of a roof: what was said, what the
// rivals would have said, and what was seen since. Looks are all of the roof's. A
// look counts as serviceable, or as worn out, when its rating is further from the
// line than its error.
func Foretold(e *lifespan.Estimator, f *models.RoofFile, looks []Look, of *models.Estimate, b *models.Branch, today units.Date) (hindsight.Case, error) {
	var r lifespan.Result
	if err := json.Unmarshal([]byte(of.Result), &r); err != nil {
		return hindsight.Case{}, fmt.Errorf("reading the estimate of %s of %s: %w", f.Roof.Ref, of.AsOf, err)
	}
	ageOn := func(day units.Date) float64 { return max(of.AgeYears+day.YearsSince(of.AsOf), 0) }
	c := hindsight.Case{Roof: f.Roof.Ref, AsOf: of.AsOf, AgeYears: of.AgeYears, Quantiles: keptQuantiles(&r), Covering: r.Material}
	if r.CurvePower > 0 { // one kept before it was has the usual one
		c.CurvePower = &r.CurvePower
	}

	only := lifespan.Input{Material: r.Material, Prior: &r.Prior, EarliestAgeYears: &r.EarliestAge, LatestAgeYears: &r.LatestAge, ReplacementLagYears: &b.StandingLagYears}
	plain, err := e.Estimate(only)
	if err != nil {
		return c, wrap("estimating by age only what was said of "+f.Roof.Ref, err)
	}
	c.AgeOnly = keptQuantiles(&plain)
	c.TableAgeYears = new(r.Prior.Quantile(0.5))

	relaid := firstRelaid(f)
	var known []*Look // on that day
	for _, look := range looks {
		// What is foretold is the reading that an estimate is made from, without what
		// counts as a factor, and every look that rates the covering is one: to leave
		// out looks by what they found would make the rest a selection.
		rating := look.Worn
		if rating.Rating == nil {
			continue
		}
		age := ageOn(look.Visit.DoneOn)
		if look.Visit.DoneOn < of.AsOf {
			c.Readings++
			c.LastRating, c.LastRatingAgeYears = rating.Rating, new(min(age, c.AgeYears))
			c.Method, c.Inspector, c.Estimate = look.Visit.Method, look.Visit.ByName, seenBefore(look.Visit.SeenBefore)
			known = append(known, &look)
			continue
		}
		if look.Visit.DoneOn > today || !relaid.IsZero() && look.Visit.DoneOn > relaid {
			break // what was laid anew was not foretold
		}
		off := lifespan.UsualErrorPoints
		if rating.ErrorPoints != nil {
			off = *rating.ErrorPoints
		}
		if c.Next == nil {
			c.Next = &hindsight.Next{AgeYears: max(age, c.AgeYears), Rating: *rating.Rating, ErrorPoints: &off, ShownShare: rating.ShownShare, Method: look.Visit.Method, By: look.Visit.ByName, Estimate: seenBefore(look.Visit.SeenBefore)}
			for _, k := range known {
				if k.Visit.Method == look.Visit.Method && k.Visit.ByName == look.Visit.ByName {
					c.Next.Before = append(c.Next.Before, hindsight.Earlier{AgeYears: min(ageOn(k.Visit.DoneOn), c.AgeYears), Rating: *k.Worn.Rating, ErrorPoints: k.Worn.ErrorPoints, ShownShare: k.Worn.ShownShare})
				}
			}
		}
		switch {
		case !judges(rating):
		case *rating.Rating <= wear.Line-off && c.Seen.WornAgeYears == nil && age > 0:
			c.Seen.WornAgeYears = &age
		case *rating.Rating >= wear.Line+off && c.Seen.WornAgeYears == nil:
			c.Seen.ServiceableAgeYears = &age
		}
	}
	// Two looks of one day that say otherwise: the worse one stands.
	if w, s := c.Seen.WornAgeYears, c.Seen.ServiceableAgeYears; w != nil && s != nil && *s >= *w {
		c.Seen.ServiceableAgeYears = nil
	}
	if f.Roof.EndedOn.IsZero() || f.Roof.EndedOn > today {
		c.Seen.StandsAgeYears = new(ageOn(today))
	} else {
		c.Seen.EndedAgeYears, c.Seen.EndedFor = new(max(ageOn(f.Roof.EndedOn), or0(c.Seen.ServiceableAgeYears))), endedFor(f.Roof.EndReason)
	}
	return c, nil
}

// seenBefore says in the words of hindsight whether the estimate had been seen before
// a look; empty where that is not known.
func seenBefore(v *bool) string {
	switch {
	case v == nil:
		return ""
	case *v:
		return hindsight.SeenBefore
	}
	return hindsight.NotSeen
}

func or0(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

// keptQuantiles gives the distribution of T of a result. One kept before its
// quantiles were has the three of its range and the chances for one, two and five
// years.
func keptQuantiles(r *lifespan.Result) []hindsight.Quantile {
	var out []hindsight.Quantile
	for _, q := range r.AgeQuantiles {
		out = append(out, hindsight.Quantile(q))
	}
	if len(out) == 0 {
		out = []hindsight.Quantile{{P: 0.1, AgeYears: r.WornOutAge.Low}, {P: 0.5, AgeYears: r.WornOutAge.Middle}, {P: 0.9, AgeYears: r.WornOutAge.High}}
		if r.EarliestAge == r.LatestAge {
			for _, in := range []hindsight.Quantile{{P: r.ChanceIn1, AgeYears: r.LatestAge + 1}, {P: r.ChanceIn2, AgeYears: r.LatestAge + 2}, {P: r.ChanceIn5, AgeYears: r.LatestAge + 5}} {
				if in.P > 0.005 && in.P < 0.995 {
					out = append(out, in)
				}
			}
		}
		slices.SortFunc(out, func(a, b hindsight.Quantile) int { return cmp.Compare(a.AgeYears, b.AgeYears) })
	}
	// What does not rise, or lies at the start, says nothing that its neighbours
	// do not.
	rising := out[:0]
	for _, q := range out {
		if q.AgeYears < 0.01 || (len(rising) > 0 && (q.AgeYears < rising[len(rising)-1].AgeYears*(1+1e-6) || q.P <= rising[len(rising)-1].P)) {
			continue
		}
		rising = append(rising, q)
	}
	return rising
}

// Hindsight holds cases against what was seen, with the constants of lifespan.
func Hindsight(cases []hindsight.Case, b *models.Branch) (hindsight.Result, error) {
	line, power, gross, shared := wear.Line, lifespan.UsualPower, lifespan.UsualGrossShare, lifespan.UsualSharedShare
	return hindsight.Check(hindsight.Input{Cases: cases, ReplacementLagYears: &b.StandingLagYears, LineRating: &line, CurvePower: &power, GrossShare: &gross, SharedShare: &shared})
}
