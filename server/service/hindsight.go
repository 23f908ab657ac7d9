package service

import (
	"context"
	"maps"
	"slices"
	"sync"

	"overhang/analytics/hindsight"
	"overhang/analytics/lifespan"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// Hindsight is how right the estimates have been, with the cases behind it.
type Hindsight struct {
	Day    units.Date
	Result *hindsight.Result // nil where no estimate is old enough yet
	Cases  []HindsightCase   // in the order of the result's rows
	Fresh  int               // estimates too young to be held against anything
	Faults []string          // roofs whose records stood in the way
}

// HindsightCase is one past estimate.
type HindsightCase struct {
	hindsight.Case
	RoofID       int64
	Address      string
	ModelVersion string
	Low          float64 // years left as they were said
	Middle       float64
	High         float64
	TooNew       bool // and nothing of them was said
	Kept         bool // from the person, who is to look at the roof
}

// hindsightKept keeps the newest answer until a record or the day changes.
type hindsightKept struct {
	mu       sync.Mutex
	revision int64
	newest   int64 // estimate
	answer   *Hindsight
}

// Hindsight holds the estimates that were kept against what was seen later: of
// each roof one a calendar year, the first, since more of them hang together.
// Names of who looked are for the owner alone.
func (s *Service) Hindsight(ctx context.Context, who Actor) (*Hindsight, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	today := s.Today(set)
	q := s.Store.Query(ctx)
	s.hindsight.mu.Lock()
	defer s.hindsight.mu.Unlock()
	revision, err := store.Revision(q)
	if err != nil {
		return nil, err
	}
	newest, err := store.Highest[models.Estimate](q)
	if err != nil {
		return nil, err
	}
	kept := &s.hindsight
	if kept.answer == nil || kept.revision != revision || kept.newest != newest || kept.answer.Day != today {
		estimates, err := store.YearlyEstimates(q)
		if err != nil {
			return nil, err
		}
		answer, err := s.hindsightOf(ctx, set, today, func(f *models.RoofFile, _ []portfolio.Look, _ *lifespan.Estimator) ([]models.Estimate, error) {
			return estimates[f.Roof.ID], nil
		}, slices.Sorted(maps.Keys(estimates)))
		if err != nil {
			return nil, err
		}
		kept.answer, kept.revision, kept.newest = answer, revision, newest
	}
	return kept.answer.seenBy(q, who)
}

// Hindcast says how right the present estimator would have been: what it says of
// each roof as it was known on past days, against what was seen later. Nothing is
// kept.
func (s *Service) Hindcast(ctx context.Context, who Actor) (*Hindsight, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	ids, err := store.LookedAtRoofs(s.Store.Query(ctx))
	if err != nil {
		return nil, err
	}
	today := s.Today(set)
	past, err := s.hindcaster(ctx, set, ids, today)
	if err != nil {
		return nil, err
	}
	answer, err := s.hindsightOf(ctx, set, today, past, ids)
	if err != nil {
		return nil, err
	}
	return answer.seenBy(s.Store.Query(ctx), who)
}

// hindcaster estimates a roof on its past days, each with the rating curve that the
// looks of the years before told.
func (s *Service) hindcaster(ctx context.Context, set Settings, ids []int64, today units.Date) (func(*models.RoofFile, []portfolio.Look, *lifespan.Estimator) ([]models.Estimate, error), error) {
	reads := make([]portfolio.Read, len(ids))
	err := s.eachFile(ctx, ids, func(i int, f *models.RoofFile, looks []portfolio.Look, _ *lifespan.Estimator) error {
		reads[i] = portfolio.ReadOf(f, looks)
		return nil
	}, func(f *models.RoofFile, err error) {
		s.Log.Warn("a roof's looks could not be read for the rating curve", "roof", f.Roof.Ref, "error", err)
	})
	if err != nil {
		return nil, err
	}
	first := today.Year()
	for _, r := range reads {
		if len(r.Looks) > 0 {
			first = min(first, r.Looks[0].Visit.DoneOn.Year())
		}
	}
	curves := make([]*lifespan.CurveFit, today.Year()-first+1)
	for i := range curves {
		if curves[i], err = portfolio.FitCurve(reads, nil, &set.Branch, units.NewDate(first+i, 1, 1)); err != nil {
			return nil, err
		}
	}
	return func(f *models.RoofFile, looks []portfolio.Look, e *lifespan.Estimator) (out []models.Estimate, err error) {
		for _, day := range portfolio.HindcastDays(f, looks, today) {
			record, lay, err := portfolio.Hindcast(e, f, s.heat.tables.Look, curves[day.Year()-first], &set.Branch, day)
			if err != nil {
				return nil, err
			}
			if lay {
				record.MadeAt = s.Now().UTC()
				out = append(out, record)
			}
		}
		return out, nil
	}, nil
}

// KeepHindcast writes what the estimator says of past days into the database of an
// invented company, so that there is something to hold against what came. A real
// company's past estimates are those that were made then.
func (s *Service) KeepHindcast(ctx context.Context, who Actor) error {
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	if !who.program || !set.Company.Demo {
		return models.Errorf(models.Forbidden, "Past estimates are made up afterwards for the invented company only.")
	}
	q := s.Store.Query(ctx)
	ids, err := store.LookedAtRoofs(q)
	if err != nil {
		return err
	}
	past, err := s.hindcaster(ctx, set, ids, s.Today(set))
	if err != nil {
		return err
	}
	all := make([][]models.Estimate, len(ids))
	err = s.eachFile(ctx, ids, func(i int, f *models.RoofFile, looks []portfolio.Look, e *lifespan.Estimator) (err error) {
		all[i], err = past(f, looks, e)
		return err
	}, func(f *models.RoofFile, err error) {
		s.Log.Warn("a roof's past could not be estimated", "roof", f.Roof.Ref, "error", err)
	})
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		for _, of := range all {
			if err := store.PutAll(tx, of); err != nil {
				return err
			}
		}
		return nil
	})
}

// eachFile works on each roof with its looks. A roof that fails is told of and does
// not stop the others.
func (s *Service) eachFile(ctx context.Context, ids []int64, work func(i int, f *models.RoofFile, looks []portfolio.Look, e *lifespan.Estimator) error,
	failed func(f *models.RoofFile, err error)) error {
	return s.eachRoof(ctx, ids, func(i int, f *models.RoofFile, e *lifespan.Estimator) error {
		looks, err := portfolio.Looks(f)
		if err != nil {
			return err
		}
		return work(i, f, looks, e)
	}, func(_ int, files []models.RoofFile, errs []error) error {
		for i, err := range errs {
			if err != nil {
				failed(&files[i], err)
			}
		}
		return nil
	})
}

// hindsightOf makes the cases of the estimates of some roofs and holds them
// against what was seen.
func (s *Service) hindsightOf(ctx context.Context, set Settings, today units.Date,
	estimates func(*models.RoofFile, []portfolio.Look, *lifespan.Estimator) ([]models.Estimate, error), ids []int64) (*Hindsight, error) {
	out := &Hindsight{Day: today}
	cases := make([][]HindsightCase, len(ids))
	fresh := make([]int, len(ids))
	err := s.eachFile(ctx, ids, func(i int, f *models.RoofFile, looks []portfolio.Look, e *lifespan.Estimator) error {
		all, err := estimates(f, looks, e)
		if err != nil {
			return err
		}
		for k := range all {
			if !portfolio.Settled(&all[k], today) {
				fresh[i]++
				continue
			}
			c, err := portfolio.Foretold(e, f, looks, &all[k], &set.Branch, today)
			if err != nil {
				return err
			}
			cases[i] = append(cases[i], HindsightCase{Case: c, RoofID: f.Roof.ID, Address: f.Address.Line(), ModelVersion: all[k].ModelVersion,
				Low: all[k].Low, Middle: all[k].Middle, High: all[k].High, TooNew: all[k].TooNew})
		}
		return nil
	}, func(f *models.RoofFile, err error) {
		out.Faults = append(out.Faults, f.Roof.Ref)
		s.Log.Warn("a roof's past estimates could not be judged", "roof", f.Roof.Ref, "error", err)
	})
	if err != nil {
		return nil, err
	}
	var in []hindsight.Case
	for i := range cases {
		out.Fresh += fresh[i]
		out.Cases = append(out.Cases, cases[i]...)
		for _, c := range cases[i] {
			in = append(in, c.Case)
		}
	}
	if len(in) == 0 {
		return out, nil
	}
	r, err := portfolio.Hindsight(in, &set.Branch)
	out.Result = &r
	return out, err
}

// seenBy takes the names of who looked out for all but the owner, and marks what is
// kept from who is to look at a roof.
func (h *Hindsight) seenBy(q store.Query, who Actor) (*Hindsight, error) {
	if h.Result == nil {
		return h, nil
	}
	kept, err := roofsKept(q, who)
	if err != nil {
		return nil, err
	}
	names := who.May(SeeCrews)
	if names && len(kept) == 0 {
		return h, nil
	}
	out, result := *h, *h.Result
	result.Splits = nil
	for _, s := range h.Result.Splits {
		if names || s.By != "inspector" {
			result.Splits = append(result.Splits, s)
		}
	}
	out.Result, out.Cases = &result, nil
	for _, c := range h.Cases {
		if !names {
			c.Inspector = ""
		}
		if c.Next != nil && !names {
			next := *c.Next
			next.By = ""
			c.Next = &next
		}
		c.Kept = kept[c.RoofID]
		out.Cases = append(out.Cases, c)
	}
	return &out, nil
}
