package portfolio

import (
	"slices"
	"strconv"

	"overhang/analytics/owed"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
)

// OwedRecords are what the cost ahead is found from besides the roofs.
type OwedRecords struct {
	Costs    map[int64]units.Money    // borne by us, by callback
	CostOn   map[int64]units.Date     // the day of the last cost
	Lots     map[int64]string         // by job: the lot that most of it was laid with
	Lives    map[int64]owed.YearsLeft // by roof, from today
	Promises map[int64][]Judged       // by roof, as of today
	Branch   *models.Branch
}

const (
	// salesWeight is how many house-years of our own the company's setting of
	// sales a year is worth: our judgement.
	salesWeight = 200
	daysInAYear = 365.25
)

// OwedModel is the input of the cost ahead by cause, age, crew and so on. Each
// roof is at risk under one promise of ours, the one that ends last. Crews,
// terms and coverings are named by their number, so that a name can be given
// twice.
//
// Callbacks count from the first day of the year in which the first of all was
// told to us: what came before was not written down. One that we refused counts
// only where it has cost us something.
func OwedModel(files []models.RoofFile, rec OwedRecords, asOf units.Date) owed.ModelInput {
	b := rec.Branch
	in := owed.ModelInput{AsOf: asOf, CostGrowth: b.CostGrowth, DiscountRate: b.DiscountRate, Turnover: turnover(files, b.TurnoverRate, asOf)}
	first := units.Date(0)
	for i := range files {
		f := &files[i]
		held := held(rec.Promises[f.Roof.ID])
		if held == nil {
			continue
		}
		until := held.Result.LastDay
		if !f.Roof.EndedOn.IsZero() {
			until = min(until, f.Roof.EndedOn)
		}
		if until < held.Warranty.StartOn {
			continue
		}
		terms := Terms(&held.Terms)
		r := owed.ModelRoof{ID: id(f.Roof.ID), LaidOn: f.Roof.Laid.On, From: held.Warranty.StartOn, Until: until, Terms: id(held.Terms.ID),
			Neighbourhood: f.House.Neighbourhood, Transfer: held.Terms.Transfer, AfterTransferMonths: held.Terms.AfterTransfer}
		r.LaidOn = min(r.LaidOn, r.From)
		if f.Covering != nil {
			r.Covering = id(f.Covering.ID)
		}
		if job := f.LaidBy(); job != nil && f.Roof.Ours {
			if job.CrewID != nil {
				r.Crew = id(*job.CrewID)
			}
			r.Lot = rec.Lots[job.ID]
		}
		for _, d := range f.Details {
			if !slices.Contains(r.Details, d.Kind) {
				r.Details = append(r.Details, d.Kind)
			}
		}
		for _, h := range f.Holdings {
			r.Transferred = r.Transferred || h.Role == "owner" && h.FromOn > held.Warranty.StartOn && h.FromOn <= asOf
		}
		for _, s := range promise.Shares(terms, held.Warranty.StartOn, 0, until) {
			r.Shares = append(r.Shares, owed.ShareSpan{From: s.From, Until: s.Until, Share: s.Share})
		}
		if l, known := rec.Lives[f.Roof.ID]; known {
			r.YearsLeft = &l
		}
		in.Roofs = append(in.Roofs, r)
		for _, c := range f.Callbacks {
			if c.RoofID == nil || *c.RoofID != f.Roof.ID {
				continue
			}
			cost, costed := rec.Costs[c.ID]
			cost = max(cost, 0) // more may have come back than it cost
			if c.State == "refused" && cost == 0 {
				continue
			}
			if first == 0 || c.LearnedOn < first {
				first = c.LearnedOn
			}
			happened := c.HappenedOn
			if happened.IsZero() {
				happened = c.LearnedOn
			}
			m := owed.ModelCallback{Roof: r.ID, HappenedOn: happened, Cause: c.CauseFound, Bearer: c.Bearer, CostOn: rec.CostOn[c.ID]}
			if cost > 0 {
				m.Bearer = "us"
			}
			if costed && (c.State == "closed" || c.State == "refused") {
				m.CostCents = &cost
			}
			in.Callbacks = append(in.Callbacks, m)
		}
	}
	if first != 0 {
		in.RecordsFrom = units.NewDate(first.Year(), 1, 1)
	}
	return in
}

// held is the promise of ours on a roof that ends last; nil where there is none.
func held(promises []Judged) *Judged {
	var out *Judged
	for j := range promises {
		p := &promises[j]
		if p.Warranty.OwedBy == us && !p.Result.LastDay.IsZero() && p.Result.LastDay >= p.Warranty.StartOn && (out == nil || p.Result.LastDay > out.Result.LastDay) {
			out = p
		}
	}
	return out
}

// KnownLife is the years left in a roof by an estimate of some day: the 10, 50 and
// 90 % points.
type KnownLife struct {
	AsOf              units.Date
	Low, Middle, High float64
}

// Left gives the years that the covering still stands from another day on: what
// was left less what has passed, and then the years that a worn covering stands
// until it is replaced.
func (l KnownLife) Left(on units.Date, lag float64) owed.YearsLeft {
	since := on.YearsSince(l.AsOf)
	left := func(years float64) float64 { return max(0, years-since) + lag }
	return owed.YearsLeft{Low: left(l.Low), Middle: left(l.Middle), High: left(l.High)}
}

// turnover is how many sales a house has in a year: the company's setting, moved
// by the owners that our records have seen come.
func turnover(files []models.RoofFile, setting float64, asOf units.Date) *float64 {
	sales, years := setting*salesWeight, float64(salesWeight)
	seen := map[int64]bool{}
	for i := range files {
		f := &files[i]
		if seen[f.House.ID] {
			continue
		}
		seen[f.House.ID] = true
		first := units.Date(0)
		for _, h := range f.Holdings {
			if h.Role != "owner" || h.FromOn.IsZero() || h.FromOn > asOf {
				continue
			}
			if first == 0 {
				first = h.FromOn
				continue
			}
			if h.FromOn > first {
				sales++
			}
		}
		if first != 0 {
			years += float64(asOf-first) / daysInAYear
		}
	}
	rate := sales / years
	return &rate
}

// InScenario gives the roofs that a scenario is about, by their number. A storm
// is needed where the scenario names one.
func InScenario(files []models.RoofFile, in *owed.ModelInput, s *models.Scenario, storm *models.Storm) (map[string]bool, error) {
	out := map[string]bool{}
	if s.Kind == "hail_line" {
		path := models.Storm{Name: s.Name, Kind: "hail", Shape: s.Shape, HalfWidth: s.HalfWidth, On: in.AsOf}
		if storm != nil {
			path.Shape, path.HalfWidth, path.Closed = storm.Shape, storm.HalfWidth, storm.Closed
		}
		crossed, err := crossedBy(files, &path)
		if err != nil {
			return nil, err
		}
		return crossed, nil
	}
	for i := range in.Roofs {
		r := &in.Roofs[i]
		switch s.Kind {
		case "bad_lot":
			out[r.ID] = r.Lot == s.Lot
		case "lap_habit":
			out[r.ID] = s.CrewID != nil && r.Crew == strconv.FormatInt(*s.CrewID, 10)
		default:
			out[r.ID] = true
		}
	}
	return out, nil
}

// WhatIf is a scenario as it is worked out.
func WhatIf(s *models.Scenario, in *owed.ModelInput, about map[string]bool) owed.WhatIf {
	w := owed.WhatIf{Name: s.Name, Kind: owed.ScenarioKind(s.Kind), In: func(i int) bool { return about[in.Roofs[i].ID] }, Cause: s.Cause,
		RateTimes: s.RateTimes, Added: s.Added, CostTimes: s.CostTimes}
	if s.Year != nil {
		w.Year = *s.Year
	}
	for _, b := range s.Bearers {
		w.Bearers = append(w.Bearers, owed.BearerShare{Bearer: b.Bearer, Share: b.Share})
	}
	return w
}
