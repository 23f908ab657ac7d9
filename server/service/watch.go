package service

import (
	"context"

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
		if today := s.Today(set); w.FromOn > today {
			return models.FieldErrorf("from_on", w.FromOn.String(), "must not lie ahead: what is not watched yet cannot be counted")
		}
		others, err := store.List[models.Watch](tx.Query, "id", "neighbourhood = ?", w.Neighbourhood)
		if err != nil {
			return err
		}
		for i := range others {
			if others[i].Overlaps(w) {
				return models.FieldErrorf("from_on", w.FromOn.String(), "is in a watch of %s already, which began on %s", w.Neighbourhood, others[i].FromOn)
			}
		}
		return tx.Create(w)
	})
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
		if on > s.Today(set) {
			return models.FieldErrorf("to_on", on.String(), "must not lie ahead")
		}
		w.Version, w.ToOn = version, on
		return tx.Update(w)
	})
}
