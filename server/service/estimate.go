package service

import (
	"context"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"overhang/analytics/lifespan"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// refreshDays is after how long an estimate is made anew although nothing but
// the roof's age has changed.
const refreshDays = 30

// refreshEstimates estimates the years left in each roof of ours, and in each
// other roof that somebody has looked at, where something has changed since its
// newest estimate.
func (s *Service) refreshEstimates(ctx context.Context, set Settings, day units.Date, progress func(done, total int)) (string, error) {
	q := s.Store.Query(ctx)
	ids, err := store.IDs(q, `SELECT id FROM roofs WHERE ended_on IS NULL AND laid_on <= ? AND (ours = 1
OR id IN (SELECT roof_id FROM visits WHERE done_on IS NOT NULL AND roof_id IS NOT NULL)) ORDER BY id`, day)
	if err != nil {
		return "", err
	}
	newest, err := store.NewestEstimates(q)
	if err != nil {
		return "", err
	}
	own, err := pooled(q)
	if err != nil {
		return "", err
	}
	made, faults := 0, []string{}
	results := make([]*models.Estimate, len(ids))
	err = s.eachRoof(ctx, ids, func(i int, f *models.RoofFile, e *lifespan.Estimator) (err error) {
		results[i], err = estimateOne(e, f, s.heat.tables.Look, own, set, day, newest)
		return err
	}, func(start int, files []models.RoofFile, errs []error) error {
		var fresh []models.Estimate
		for i, err := range errs {
			if r := results[start+i]; err != nil {
				faults = append(faults, files[i].Roof.Ref)
				s.Log.Warn("a roof could not be estimated", "roof", files[i].Roof.Ref, "error", err)
			} else if r != nil {
				r.MadeAt = s.Now().UTC()
				fresh = append(fresh, *r)
			}
			results[start+i] = nil
		}
		if err := s.Store.Write(ctx, Program("nightly job").By(), func(tx *store.Tx) error { return store.PutAll(tx, fresh) }); err != nil {
			return err
		}
		made += len(fresh)
		progress(start+len(files), len(ids))
		return nil
	})
	if err != nil {
		return "", err
	}
	detail := fmt.Sprintf("%d roofs looked through, %d estimated anew.", len(ids), made)
	if len(faults) > 0 {
		detail += fmt.Sprintf(" %d could not be: %s.", len(faults), listed(faults))
	}
	return detail, nil
}

// eachRoof reads the roofs a few hundred at a time, works on them, and comes to an
// end with each such part. The three go on beside each other: the next part is read
// and the last one ended while one is worked on. Work is done on roofs side by side,
// with an estimator of its own for each worker that tells of the roof alone; ends
// come one at a time, in order, each with what went wrong with its roofs.
func (s *Service) eachRoof(ctx context.Context, ids []int64, work func(i int, f *models.RoofFile, e *lifespan.Estimator) error,
	end func(start int, files []models.RoofFile, errs []error) error) error {
	const part = 500
	type portion struct {
		start int
		files []models.RoofFile
		errs  []error
	}
	estimators := make([]lifespan.Estimator, runtime.GOMAXPROCS(0))
	for i := range estimators {
		estimators[i].RoofAlone = true
	}
	stages, ctx := errgroup.WithContext(ctx)
	toWork, toEnd := make(chan portion), make(chan portion)
	pass := func(to chan<- portion, p portion) error {
		select {
		case to <- p:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	stages.Go(func() error {
		defer close(toWork)
		for start := 0; start < len(ids); start += part {
			files, err := store.RoofFiles(s.Store.Query(ctx), ids[start:min(start+part, len(ids))])
			if err != nil {
				return err
			}
			if err := pass(toWork, portion{start, files, make([]error, len(files))}); err != nil {
				return err
			}
		}
		return nil
	})
	stages.Go(func() error {
		defer close(toEnd)
		for here := range toWork {
			var workers sync.WaitGroup
			var next atomic.Int64
			for w := range estimators {
				workers.Go(func() {
					for i := int(next.Add(1)) - 1; i < len(here.files); i = int(next.Add(1)) - 1 {
						here.errs[i] = work(here.start+i, &here.files[i], &estimators[w])
					}
				})
			}
			workers.Wait()
			if err := pass(toEnd, here); err != nil {
				return err
			}
		}
		return nil
	})
	stages.Go(func() error {
		for here := range toEnd {
			if err := end(here.start, here.files, here.errs); err != nil {
				return err
			}
		}
		return nil
	})
	return stages.Wait()
}

func estimateOne(e *lifespan.Estimator, f *models.RoofFile, heat portfolio.Heat, own *portfolio.Pooled, set Settings, day units.Date, newest map[int64]store.EstimateMark) (*models.Estimate, error) {
	checks, err := portfolio.CheckVenting(f, &set.Branch)
	if err != nil {
		return nil, err
	}
	life, err := portfolio.EstimateLife(e, f, checks, heat, own, &set.Branch, day)
	if err != nil {
		return nil, err
	}
	record, err := life.Record(f, day)
	if err != nil {
		return nil, err
	}
	if mark, found := newest[f.Roof.ID]; found && mark.InputsHash == record.InputsHash && mark.AsOf <= day && day < mark.AsOf.AddDays(refreshDays) {
		return nil, nil
	}
	return &record, nil
}

// listed writes the first few of a list.
func listed(all []string) string {
	const most = 8
	if len(all) <= most {
		return strings.Join(all, ", ")
	}
	return strings.Join(all[:most], ", ") + fmt.Sprintf(" and %d more", len(all)-most)
}

// checkupsFallingDue finds the check-ups that fall due on the day.
func (s *Service) checkupsFallingDue(ctx context.Context, _ Settings, day units.Date, _ func(done, total int)) (string, error) {
	b, err := s.bookOn(ctx, day)
	if err != nil {
		return "", err
	}
	var refs []string
	for _, v := range b.due.Visits {
		if row, found := b.dueRow(v); found && v.DueOn == day {
			refs = append(refs, row.RoofRef)
		}
	}
	if len(refs) == 0 {
		return fmt.Sprintf("No check-up fell due; %d are due in all.", b.due.Counts.Due), nil
	}
	return fmt.Sprintf("%d fell due: %s. %d are due in all.", len(refs), listed(refs), b.due.Counts.Due), nil
}

// promisesEnding finds the promises that end, and the registrations that are
// due, in the weeks ahead.
func (s *Service) promisesEnding(ctx context.Context, _ Settings, day units.Date, _ func(done, total int)) (string, error) {
	b, err := s.bookOn(ctx, day)
	if err != nil {
		return "", err
	}
	ending, ended, registrations := 0, []string{}, 0
	for _, row := range b.promiseRows() {
		if row.shown("ending", day) {
			ending++
		}
		if row.EndsOn == day.AddDays(-1) {
			ended = append(ended, row.Warranty.Ref)
		}
		if row.registrationAhead(day) {
			registrations++
		}
	}
	detail := fmt.Sprintf("%d promises end within %d days, %d registrations are due within %d.", ending, EndingDays, registrations, RegistrationDays)
	if len(ended) > 0 {
		detail += fmt.Sprintf(" Yesterday was the last day of %s.", listed(ended))
	}
	return detail, nil
}

// RoofEstimate estimates the years left in one roof now, and what is ahead of it
// unless it is too new. Nothing is kept.
func (s *Service) RoofEstimate(ctx context.Context, who Actor, ref string) (*portfolio.Life, *portfolio.Ahead, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, nil, err
	}
	q := s.Store.Query(ctx)
	roof, err := store.First[models.Roof](q, "ref = ? COLLATE NOCASE", ref)
	if err != nil {
		return nil, nil, err
	}
	page, err := s.Roof(ctx, who, roof.ID, AsUsual)
	if err != nil {
		return nil, nil, err
	}
	if page.Life == nil && len(page.Faults) > 0 {
		return nil, nil, models.Errorf(models.Invalid, "The roof %s cannot be estimated: %s.", roof.Ref, strings.Join(page.Faults, "; "))
	}
	if page.Life == nil {
		return nil, nil, models.Errorf(models.Invalid, "The roof %s ended on %s; only a standing roof has years left.", roof.Ref, roof.EndedOn)
	}
	return page.Life, page.Ahead, nil
}

// RefreshEstimates does now what the nightly job does for a day.
func (s *Service) RefreshEstimates(ctx context.Context, who Actor, day units.Date, progress func(done, total int)) (string, error) {
	if !who.program {
		return "", models.Errorf(models.Forbidden, "Estimates are refreshed by the program itself.")
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return "", err
	}
	return s.refreshEstimates(ctx, set, day, progress)
}
