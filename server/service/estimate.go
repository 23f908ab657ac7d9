package service

import (
	"context"
	"fmt"
	"runtime"
	"strings"
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
	const part = 500
	made, faults := 0, []string{}
	for start := 0; start < len(ids); start += part {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		files, err := store.RoofFiles(q, ids[start:min(start+part, len(ids))])
		if err != nil {
			return "", err
		}
		fresh, failed := s.estimateAll(files, own, set, day, newest)
		faults = append(faults, failed...)
		if err := s.Store.Write(ctx, Program("nightly job").By(), func(tx *store.Tx) error { return store.PutAll(tx, fresh) }); err != nil {
			return "", err
		}
		made += len(fresh)
		progress(min(start+part, len(ids)), len(ids))
	}
	detail := fmt.Sprintf("%d roofs looked through, %d estimated anew.", len(ids), made)
	if len(faults) > 0 {
		detail += fmt.Sprintf(" %d could not be: %s.", len(faults), listed(faults))
	}
	return detail, nil
}

// estimateAll estimates the files side by side and gives what must be kept, in
// their order, and the roofs whose records stood in the way.
func (s *Service) estimateAll(files []models.RoofFile, own *portfolio.Pooled, set Settings, day units.Date, newest map[int64]store.EstimateMark) (fresh []models.Estimate, faults []string) {
	results := make([]*models.Estimate, len(files))
	errs := make([]error, len(files))
	var g errgroup.Group
	workers := runtime.GOMAXPROCS(0)
	var next atomic.Int64
	for range workers {
		g.Go(func() error {
			e := lifespan.Estimator{RoofAlone: true} // one a worker: it keeps tables and is not shared
			for i := int(next.Add(1)) - 1; i < len(files); i = int(next.Add(1)) - 1 {
				results[i], errs[i] = estimateOne(&e, &files[i], s.heat.tables.Look, own, set, day, newest)
			}
			return nil
		})
	}
	_ = g.Wait() // the workers give no errors
	for i := range files {
		if errs[i] != nil {
			faults = append(faults, files[i].Roof.Ref)
			s.Log.Warn("a roof could not be estimated", "roof", files[i].Roof.Ref, "error", errs[i])
		} else if results[i] != nil {
			results[i].MadeAt = s.Now().UTC()
			fresh = append(fresh, *results[i])
		}
	}
	return fresh, faults
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
		if row.registrationOpen() && row.Warranty.RegistrationDueOn >= day && row.Warranty.RegistrationDueOn <= day.AddDays(RegistrationDays) {
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
	page, err := s.Roof(ctx, who, roof.ID, false)
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
