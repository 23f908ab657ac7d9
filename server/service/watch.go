package service

import (
	"context"
	"slices"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// BeginWatch writes down that a neighbourhood is watched from a day on.
func (s *Service) BeginWatch(ctx context.Context, who Actor, w *models.Watch) error {
	if err := who.need(EditRoofs); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		set, err := settings(tx.Query)
		if err != nil {
			return err
		}
		others, err := store.List[models.Watch](tx.Query, "id", "neighbourhood = ?", w.Neighbourhood)
		if err != nil {
			return err
		}
		places, err := store.Neighbourhoods(tx.Query)
		if err != nil {
			return err
		}
		if err := watchFits(w, places, others, s.Today(set)); err != nil {
			return err
		}
		return tx.Create(w)
	})
}

// watchFits refuses a watch of none of the places that have houses, one that lies
// ahead, and one that shares a day with another of the same neighbourhood.
func watchFits(w *models.Watch, places []string, others []models.Watch, today units.Date) error {
	if w.Neighbourhood != "" && !slices.Contains(places, w.Neighbourhood) {
		return models.FieldErrorf("neighbourhood", w.Neighbourhood, "has no houses: write it as the houses do")
	}
	for _, d := range []struct {
		field string
		on    units.Date
	}{{"from_on", w.FromOn}, {"to_on", w.ToOn}} {
		if d.on > today {
			return models.FieldErrorf(d.field, d.on.String(), "must not lie ahead: what is not watched yet cannot be counted")
		}
	}
	for i := range others {
		if others[i].Overlaps(w) {
			return models.FieldErrorf("from_on", w.FromOn.String(), "is in a watch of %s already, which began on %s", w.Neighbourhood, others[i].FromOn)
		}
	}
	return nil
}

// EndWatch ends a watch on a day: from then on its houses are no longer counted.
func (s *Service) EndWatch(ctx context.Context, who Actor, id, version int64, on units.Date) error {
	if err := who.need(EditRoofs); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		w, err := store.Get[models.Watch](tx.Query, id)
		if err != nil {
			return err
		}
		if !w.ToOn.IsZero() {
			return models.FieldErrorf("to_on", on.String(), "the watch ended on %s", w.ToOn)
		}
		if on.IsZero() {
			return models.FieldErrorf("to_on", "", "is needed")
		}
		set, err := settings(tx.Query)
		if err != nil {
			return err
		}
		w.Version, w.ToOn = version, on
		if err := watchFits(w, []string{w.Neighbourhood}, nil, s.Today(set)); err != nil {
			return err
		}
		return tx.Update(w)
	})
}
