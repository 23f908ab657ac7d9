package service

import (
	"context"
	"strings"

	"overhang/models"
	"overhang/models/store"
)

// NewRoof is a roof that is written down on a page: an address and a year, and
// whatever else is known.
type NewRoof struct {
	HouseID *int64 // where the house is kept already
	Address models.Address
	Roof    models.Roof
}

// AddRoof writes down a roof, and its house when it is not kept yet. A house
// with the same address is found and used.
func (s *Service) AddRoof(ctx context.Context, who Actor, n NewRoof) (*models.Roof, error) {
	if err := who.need(EditRoofs); err != nil {
		return nil, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	roof := n.Roof
	err = s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if n.HouseID != nil {
			roof.HouseID = *n.HouseID
		} else {
			n.Address.Main = true
			if err := n.Address.Validate(); err != nil {
				return err
			}
			kept, err := store.First[models.Address](tx.Query, "folded = ?", n.Address.Folded)
			switch {
			case err == nil:
				roof.HouseID = kept.HouseID
			case models.CodeOf(err) != models.NotFound:
				return err
			default:
				house := &models.House{BranchID: set.Branch.ID}
				if house.Ref, err = nextRef[models.House](tx.Query, "H"); err != nil {
					return err
				}
				if err := tx.Create(house); err != nil {
					return err
				}
				n.Address.HouseID, roof.HouseID = house.ID, house.ID
				if err := tx.Create(&n.Address); err != nil {
					return err
				}
			}
		}
		if strings.TrimSpace(roof.Ref) == "" {
			if roof.Ref, err = nextRef[models.Roof](tx.Query, "R"); err != nil {
				return err
			}
		}
		return tx.Create(&roof)
	})
	return &roof, err
}

// ChangeRoof saves an edited roof. Its version is the one it was read at.
func (s *Service) ChangeRoof(ctx context.Context, who Actor, roof *models.Roof) error {
	return s.change(ctx, who, EditRoofs, roof)
}

// ChangeHouse saves an edited house. Its version is the one it was read at.
func (s *Service) ChangeHouse(ctx context.Context, who Actor, house *models.House) error {
	return s.change(ctx, who, EditRoofs, house)
}

// change saves one edited record under one permission.
func (s *Service) change(ctx context.Context, who Actor, need Permission, rec models.Record) error {
	if err := who.need(need); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error { return tx.Update(rec) })
}

// add saves one new record under one permission.
func (s *Service) add(ctx context.Context, who Actor, need Permission, rec models.Record) error {
	if err := who.need(need); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error { return tx.Create(rec) })
}
