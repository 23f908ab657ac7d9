package service

import (
	"context"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// hiddenAfter is how long a house is left alone after each outcome when no day
// was agreed; common practice, no source.
var hiddenAfter = map[string]int{"nobody_home": 3, "spoke": 90, "come_back": 7, "wants_a_look": 0, "no": 365}

// Knock notes a call at a house's door, and sets when it may be called on next:
// on the day that was agreed, or else after a while that depends on what was
// said. A "no" stays a no for a year. A house on the stop-list is refused.
func (s *Service) Knock(ctx context.Context, who Actor, houseID int64, outcome, note string, next units.Date) error {
	if err := who.need(CallOn); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		address, err := store.First[models.Address](tx.Query, "house_id = ? AND main = 1", houseID)
		if err != nil {
			return err
		}
		if stopped, err := store.Stopped(tx.Query, address); err != nil {
			return err
		} else if stopped {
			return models.Errorf(models.Conflict, "%s asked not to be called on. Please leave it be.", address.Line())
		}
		knock := &models.Knock{HouseID: houseID, At: tx.Now(), Outcome: outcome, Note: note}
		if who.PersonID != 0 {
			knock.PersonID = &who.PersonID
		}
		if err := tx.Create(knock); err != nil {
			return err
		}
		today := s.Today(set)
		if !next.IsZero() && next < today {
			return models.FieldErrorf("next_on", next.String(), "must not be before today (%s)", today)
		}
		if next.IsZero() {
			next = today.AddDays(hiddenAfter[outcome])
		}
		p, err := store.First[models.Prospect](tx.Query, "house_id = ?", houseID)
		if models.CodeOf(err) == models.NotFound {
			return tx.Create(&models.Prospect{HouseID: houseID, State: outcome, NextOn: next, SellerID: knock.PersonID, Notes: note})
		}
		if err != nil {
			return err
		}
		p.State, p.NextOn, p.SellerID = outcome, next, knock.PersonID
		return tx.Update(p)
	})
}

// StopCalling puts an address on the stop-list. It holds from now on, whatever
// else is kept or erased of the house.
func (s *Service) StopCalling(ctx context.Context, who Actor, address, reason string) error {
	if err := who.need(EditStopList); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		entry := &models.StopEntry{Address: strings.TrimSpace(address), AskedOn: s.Today(set), Reason: reason}
		known, err := store.Count[models.StopEntry](tx.Query, "folded = ?", models.Fold(entry.Address))
		if err != nil || known > 0 {
			return err
		}
		return tx.Create(entry)
	})
}

// StopHouse puts the address of a house on the stop-list.
func (s *Service) StopHouse(ctx context.Context, who Actor, houseID int64, reason string) error {
	if err := who.need(EditStopList); err != nil {
		return err
	}
	address, err := store.First[models.Address](s.Store.Query(ctx), "house_id = ? AND main = 1", houseID)
	if err != nil {
		return err
	}
	return s.StopCalling(ctx, who, address.Line(), reason)
}

// StopList lists the addresses that are not to be called on.
func (s *Service) StopList(ctx context.Context, who Actor) ([]models.StopEntry, error) {
	if err := who.need(SeeNeighbours); err != nil {
		return nil, err
	}
	return store.List[models.StopEntry](s.Store.Query(ctx), "address", "")
}
