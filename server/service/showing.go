package service

import (
	"context"
	"fmt"
	"maps"
	"sync"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// SeenDays is for how many days before a look the estimate counts as seen, where it
// was shown: our own judgement, no source. How far it leads an eye we do not know
// yet, so such a reading weighs as much as any other; it is only kept apart, and the
// page of how right the estimates have been tells the two sorts of readings apart.
const SeenDays = 30

// showingsWaiting are the estimates that were shown while something long held the one
// writer. They are written down with the next.
type showingsWaiting struct {
	mu sync.Mutex
	of map[shown]units.Date
}

type shown struct{ person, roof int64 }

// EstimateShown writes down that a page shows the person the years left in some
// roofs, or how looks rated them: on a page of its own or in a list, by which roofs
// are chosen too. It is written of everybody, since anybody may be named as who
// looks, once a day, and the page does not wait for a long import.
func (s *Service) EstimateShown(ctx context.Context, who Actor, roofs ...int64) error {
	if who.PersonID == 0 || len(roofs) == 0 {
		return nil
	}
	q := s.Store.Query(ctx)
	set, err := settings(q)
	if err != nil {
		return err
	}
	today := s.Today(set)
	known, err := store.ShownSince(q, who.PersonID, roofs, today)
	if err != nil {
		return err
	}
	s.showings.mu.Lock()
	if s.showings.of == nil {
		s.showings.of = map[shown]units.Date{}
	}
	for _, roof := range roofs {
		if !known[roof] {
			s.showings.of[shown{who.PersonID, roof}] = today
		}
	}
	waiting := maps.Clone(s.showings.of)
	s.showings.mu.Unlock()
	if len(waiting) == 0 {
		return nil
	}
	brief, cancel := context.WithTimeout(ctx, 200*time.Millisecond)
	defer cancel()
	err = s.Store.Write(brief, store.By{}, func(tx *store.Tx) error { return writeShown(tx, waiting) })
	switch {
	case err != nil && brief.Err() != nil:
		return nil
	case err != nil:
		return fmt.Errorf("writing down that an estimate was shown: %w", err)
	}
	s.showings.mu.Lock()
	defer s.showings.mu.Unlock()
	for key, day := range waiting {
		if s.showings.of[key] == day {
			delete(s.showings.of, key)
		}
	}
	return nil
}

func writeShown(tx *store.Tx, waiting map[shown]units.Date) error {
	for key, day := range waiting {
		if err := tx.Shown(key.person, key.roof, day); err != nil {
			return err
		}
	}
	return nil
}

// markSeen says of a look that is being saved whether whoever made it had been shown
// the estimate: from SeenDays before it until now, since what is written down after
// that is led as well. It is not known of somebody who does not sign in, nor, where
// nothing says so, of a look that is written down later than those days.
func (s *Service) markSeen(tx *store.Tx, v *models.Visit, today units.Date) error {
	if v.PersonID == nil {
		return nil
	}
	s.showings.mu.Lock()
	waiting := maps.Clone(s.showings.of)
	s.showings.mu.Unlock()
	if err := writeShown(tx, waiting); err != nil {
		return err
	}
	roofs, err := roofsOf(tx.Query, v)
	if err != nil {
		return err
	}
	since := v.DoneOn.AddDays(-SeenDays)
	seen, err := store.ShownSince(tx.Query, *v.PersonID, roofs, since)
	switch {
	case err != nil:
		return err
	case len(seen) > 0:
		v.SeenBefore = new(true)
	case today <= v.DoneOn.AddDays(SeenDays):
		v.SeenBefore = new(false)
	}
	return nil
}

// roofsOf are the roofs that a visit may be to.
func roofsOf(q store.Query, v *models.Visit) ([]int64, error) {
	if v.RoofID != nil {
		return []int64{*v.RoofID}, nil
	}
	return store.IDs(q, "SELECT id FROM roofs WHERE house_id = ?", v.HouseID)
}
