package service

import (
	"context"
	"errors"
	"fmt"

	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// refitDays is after how long own lives are fitted anew although no record has
// changed: those that stand have been watched for longer.
const refitDays = 90

// refreshLives tells own lives to the priors, where they changed since it was last
// done.
func (s *Service) refreshLives(ctx context.Context, set Settings, day units.Date, _ func(done, total int)) (string, error) {
	q := s.Store.Query(ctx)
	lives, err := ownLives(q, set, day)
	if err != nil {
		return "", err
	}
	if len(lives.Input.Rows) == 0 {
		return "No roof has been watched yet, so the table alone speaks.", nil
	}
	newest, err := store.NewestLifeFit(q)
	if err != nil {
		return "", err
	}
	if newest != nil && newest.DataHash == lives.Hash && newest.ModelVersion == portfolio.LivesVersion && newest.AsOf <= day && day < newest.AsOf.AddDays(refitDays) {
		return fmt.Sprintf("%d lives, nothing changed since %s.", newest.Rows, newest.AsOf), nil
	}
	fit, err := lives.Record(day)
	if err != nil {
		return "", err
	}
	fit.MadeAt = s.Now().UTC()
	if err := s.Store.Write(ctx, Program("nightly job").By(), func(tx *store.Tx) error { return tx.Put(&fit) }); err != nil {
		return "", err
	}
	return fmt.Sprintf("%d lives, %d of them worn out, fitted anew.", fit.Rows, fit.Events), nil
}

// ownLives reads and counts own lives as of a day.
func ownLives(q store.Query, set Settings, day units.Date) (*portfolio.Lives, error) {
	watches, err := store.List[models.Watch](q, "neighbourhood, from_on", "")
	if err != nil {
		return nil, err
	}
	roofs, err := store.LivedRoofs(q)
	if err != nil {
		return nil, err
	}
	ids, err := store.IDs(q, `SELECT id FROM roofs WHERE id IN (SELECT roof_id FROM visits WHERE done_on IS NOT NULL AND roof_id IS NOT NULL) OR ours = 1 ORDER BY id`)
	if err != nil {
		return nil, err
	}
	looks := map[int64][]portfolio.Look{}
	const part = 500
	for start := 0; start < len(ids); start += part {
		files, err := store.RoofFiles(q, ids[start:min(start+part, len(ids))])
		if err != nil {
			return nil, err
		}
		for i := range files {
			found, err := portfolio.Looks(&files[i])
			if err != nil {
				return nil, err
			}
			if len(found) > 0 {
				looks[files[i].Roof.ID] = found
			}
		}
	}
	return portfolio.OwnLives(roofs, looks, watches, &set.Branch, day)
}

// pooled reads what own lives said last; nil before they have said anything.
func pooled(q store.Query) (*portfolio.Pooled, error) {
	fit, err := store.NewestLifeFit(q)
	if err != nil {
		return nil, err
	}
	return portfolio.ReadPooled(fit)
}

// LivesReport is what is known of own lives: what they are today, and what they
// said when they were last fitted.
type LivesReport struct {
	Lives   *portfolio.Lives
	Fit     *portfolio.Pooled // nil before the first night
	Kept    *models.LifeFit
	Watches []models.Watch // the newest first
	Day     units.Date
	// Neighbourhoods that houses lie in, for a new watch.
	Neighbourhoods []string
}

// LivesReport tells of own lives as of today.
func (s *Service) LivesReport(ctx context.Context, who Actor) (*LivesReport, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	set, err := settings(q)
	if err != nil {
		return nil, err
	}
	r := &LivesReport{Day: s.Today(set)}
	if r.Lives, err = ownLives(q, set, r.Day); err != nil {
		return nil, err
	}
	if r.Kept, err = store.NewestLifeFit(q); err != nil {
		return nil, err
	}
	if r.Fit, err = portfolio.ReadPooled(r.Kept); err != nil {
		return nil, err
	}
	if r.Watches, err = store.List[models.Watch](q, "to_on IS NOT NULL, from_on DESC, neighbourhood", ""); err != nil {
		return nil, err
	}
	r.Neighbourhoods, err = store.Neighbourhoods(q)
	return r, err
}

// FitLives does now what the nightly job does for a day, and gives what own lives
// say.
func (s *Service) FitLives(ctx context.Context, who Actor, day units.Date) (*LivesReport, error) {
	if !who.program {
		return nil, models.Errorf(models.Forbidden, "Own lives are fitted by the program itself.")
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := s.refreshLives(ctx, set, day, nil); err != nil {
		return nil, err
	}
	r, err := s.LivesReport(ctx, who)
	if err == nil && r.Fit == nil {
		err = errors.New("no roof has been watched yet: watch a neighbourhood first, or read our own roofs in")
	}
	return r, err
}
