package service

import (
	"context"
	"slices"

	"overhang/models"
	"overhang/models/store"
)

// RoofParts reads a roof with the parts of the building below it.
func (s *Service) RoofParts(ctx context.Context, who Actor, roofID int64) (*models.RoofFile, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	return store.RoofFile(s.Store.Query(ctx), roofID)
}

// SavePart saves a part of the building below a roof: a structure, attic,
// slope, vent, gutter run or detail. A new part has no number yet. The part's
// structure or attic must be one of the roof's, and a new slope is one that the
// roof lies on.
func (s *Service) SavePart(ctx context.Context, who Actor, roofID int64, part models.Record) error {
	if err := who.need(EditRoofs); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		f, err := store.RoofFile(tx.Query, roofID)
		if err != nil {
			return err
		}
		if !belongs(f, part) {
			return models.Errorf(models.NotFound, "There is no such part of this roof.")
		}
		if part.Base().ID != 0 {
			return tx.Update(part)
		}
		if err := tx.Create(part); err != nil {
			return err
		}
		slope, is := part.(*models.Slope)
		if !is {
			return nil
		}
		// A roof that names no slope lies on all of its structure's, and would
		// lie on this one alone.
		links, err := store.List[models.RoofSlope](tx.Query, "slope_id", "roof_id = ?", roofID)
		if err != nil || len(links) == 0 {
			return err
		}
		return tx.Put(&models.RoofSlope{RoofID: roofID, SlopeID: slope.ID})
	})
}

// belongs says whether a part lies below a roof, and what it names does too.
func belongs(f *models.RoofFile, part models.Record) bool {
	onHouse := func(id int64) bool {
		return slices.ContainsFunc(f.Structures, func(s models.Structure) bool { return s.ID == id })
	}
	structure := func(id int64) bool {
		return onHouse(id) && (f.Roof.StructureID == nil || *f.Roof.StructureID == id)
	}
	attic := func(id *int64) bool {
		return id == nil || slices.ContainsFunc(f.Attics, func(a models.Attic) bool { return a.ID == *id })
	}
	slope := func(id *int64) bool {
		return id == nil || slices.ContainsFunc(f.Slopes, func(s models.Slope) bool { return s.ID == *id })
	}
	switch p := part.(type) {
	case *models.Structure:
		return p.HouseID == f.House.ID && (p.ID == 0 || onHouse(p.ID))
	case *models.Attic:
		return structure(p.StructureID)
	case *models.Slope:
		return structure(p.StructureID) && attic(p.AtticID)
	case *models.Vent:
		return attic(&p.AtticID)
	case *models.GutterRun:
		return structure(p.StructureID) && slope(p.SlopeID)
	case *models.Detail:
		return structure(p.StructureID) && slope(p.SlopeID)
	}
	return false
}
