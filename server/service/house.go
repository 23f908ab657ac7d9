package service

import (
	"context"

	"overhang/models"
	"overhang/models/store"
)

// HouseFile is one house with its main address and the roof that lies there.
type HouseFile struct {
	House   models.House
	Address models.Address
	RoofID  *int64          // the newest that stands; nil where no roof is known
	Holder  *models.Contact // for those who may see contacts
}

// House reads one house.
func (s *Service) House(ctx context.Context, who Actor, id int64) (*HouseFile, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	house, err := store.Get[models.House](q, id)
	if err != nil {
		return nil, err
	}
	f := &HouseFile{House: *house}
	address, err := store.First[models.Address](q, "house_id = ? AND main = 1", id)
	if err == nil {
		f.Address = *address
	} else if models.CodeOf(err) != models.NotFound {
		return nil, err
	}
	roofs, err := store.List[models.Roof](q, "ended_on IS NOT NULL, ours DESC, laid_on DESC", "house_id = ?", id)
	if err != nil {
		return nil, err
	}
	if len(roofs) > 0 {
		f.RoofID = &roofs[0].ID
	}
	if who.May(SeeContacts) {
		f.Holder, err = store.Holder(q, id)
	}
	return f, err
}
