package service

import (
	"context"
	"slices"

	"overhang/analytics/portfolio"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// Sale is a house that was sold: to whom, when, and when we were told in
// writing.
type Sale struct {
	HouseID  int64
	On       units.Date
	NoticeOn units.Date
	Buyer    models.Contact
}

// RecordSale ends the present owner's holding of a house and starts the
// buyer's. What becomes of the promises follows from their terms.
func (s *Service) RecordSale(ctx context.Context, who Actor, sale Sale) error {
	if err := who.need(EditRoofs); err != nil {
		return err
	}
	if sale.On.IsZero() {
		return models.FieldErrorf("sold_on", "", "is needed")
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if _, err := store.Get[models.House](tx.Query, sale.HouseID); err != nil {
			return err
		}
		owners, err := store.List[models.Holding](tx.Query, "id", "house_id = ? AND role = 'owner' AND to_on IS NULL", sale.HouseID)
		if err != nil {
			return err
		}
		for i := range owners {
			if sale.On < owners[i].FromOn {
				return models.FieldErrorf("sold_on", sale.On.String(), "must not be before the present owner's first day (%s)", owners[i].FromOn)
			}
			owners[i].ToOn = sale.On
			if err := tx.Update(&owners[i]); err != nil {
				return err
			}
		}
		buyer := sale.Buyer
		if buyer.Kind == "" {
			buyer.Kind = "buyer"
		}
		if buyer.Ref, err = nextRef[models.Contact](tx.Query, "C"); err != nil {
			return err
		}
		if err := tx.Create(&buyer); err != nil {
			return err
		}
		return tx.Create(&models.Holding{HouseID: sale.HouseID, ContactID: buyer.ID, Role: "owner", FromOn: sale.On, NoticeOn: sale.NoticeOn})
	})
}

// SalePromise is one promise across a sale of the house.
type SalePromise struct {
	portfolio.Judged
	RoofID  int64
	RoofRef string
	Sale    promise.SaleResult
}

// SaleAhead says what a sale on a day, noticed in writing on another or not yet,
// leaves of each promise on the roofs of a house. A sale on that day that is kept
// already is looked at as if it were not.
func (s *Service) SaleAhead(ctx context.Context, who Actor, houseID int64, on, noticeOn units.Date) ([]SalePromise, error) {
	if err := who.need(SeePromises); err != nil {
		return nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	var out []SalePromise
	for i := range b.files {
		f := &b.files[i]
		if f.House.ID != houseID {
			continue
		}
		for _, j := range b.promises[f.Roof.ID] {
			in := portfolio.Promise(f, &j.Warranty, portfolio.Verdict(b.venting[f.Roof.ID]), b.day)
			in.Facts.Sales = slices.DeleteFunc(in.Facts.Sales, func(kept promise.Sale) bool { return kept.On == on })
			result, err := promise.AtSale(in.Terms, in.Facts, promise.Sale{On: on, NoticeOn: noticeOn})
			if err != nil {
				return nil, models.FieldErrorf("sold_on", on.String(), "%v", err)
			}
			out = append(out, SalePromise{Judged: j, RoofID: f.Roof.ID, RoofRef: f.Roof.Ref, Sale: result})
		}
	}
	return out, nil
}

// LastSale gives the holding that the last sale of a house began, or nil where
// no sale is kept.
func (s *Service) LastSale(ctx context.Context, who Actor, houseID int64) (*models.Holding, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	owners, err := store.List[models.Holding](s.Store.Query(ctx), "from_on DESC, id DESC", "house_id = ? AND role = 'owner' AND from_on IS NOT NULL", houseID)
	if err != nil || len(owners) == 0 {
		return nil, err
	}
	// The first owner that is known came to the house by no sale that is kept.
	before, err := store.List[models.Holding](s.Store.Query(ctx), "id", "house_id = ? AND role = 'owner' AND to_on IS NOT NULL AND to_on <= ?", houseID, owners[0].FromOn)
	if err != nil || len(before) == 0 {
		return nil, err
	}
	return &owners[0], nil
}

// KeepNotice writes down the day on which the notice of the last sale of a house
// came in writing.
func (s *Service) KeepNotice(ctx context.Context, who Actor, houseID, version int64, on units.Date) error {
	if err := who.need(EditRoofs); err != nil {
		return err
	}
	if on.IsZero() {
		return models.FieldErrorf("notice_on", "", "is needed")
	}
	sale, err := s.LastSale(ctx, who, houseID)
	if err != nil {
		return err
	}
	if sale == nil {
		return models.Errorf(models.NotFound, "No sale of this house is kept.")
	}
	sale.NoticeOn, sale.Version = on, version
	return s.change(ctx, who, EditRoofs, sale)
}
