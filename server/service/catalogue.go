package service

import (
	"context"
	"slices"

	"overhang/analytics/climate"
	"overhang/models"
	"overhang/models/store"
)

// Coverings lists the catalogue of coverings; those that are no longer laid
// come last.
func (s *Service) Coverings(ctx context.Context, who Actor) ([]models.Covering, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	return store.List[models.Covering](s.Store.Query(ctx), "ended_on IS NOT NULL, name", "")
}

// Covering reads one covering of the catalogue.
func (s *Service) Covering(ctx context.Context, who Actor, id int64) (*models.Covering, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	return store.Get[models.Covering](s.Store.Query(ctx), id)
}

// SaveCovering adds a covering to the catalogue, or saves an edited one.
func (s *Service) SaveCovering(ctx context.Context, who Actor, c *models.Covering) error {
	return s.save(ctx, who, EditCatalogues, c)
}

// AllTerms lists the catalogue of warranty terms.
func (s *Service) AllTerms(ctx context.Context, who Actor) ([]models.Terms, error) {
	if err := who.need(SeePromises); err != nil {
		return nil, err
	}
	return store.List[models.Terms](s.Store.Query(ctx), "ended_on IS NOT NULL, name", "")
}

// Terms reads one entry of the catalogue of warranty terms.
func (s *Service) Terms(ctx context.Context, who Actor, id int64) (*models.Terms, error) {
	if err := who.need(SeePromises); err != nil {
		return nil, err
	}
	return store.Get[models.Terms](s.Store.Query(ctx), id)
}

// RestingOn counts the warranties that rest on terms.
func (s *Service) RestingOn(ctx context.Context, who Actor, terms int64) (int, error) {
	if err := who.need(SeePromises); err != nil {
		return 0, err
	}
	return restingOn(s.Store.Query(ctx), terms)
}

// SaveSettings saves the company and its branch's settings, both or neither. Every
// rule that is broken is told at once; the branch's name is branch_name there.
func (s *Service) SaveSettings(ctx context.Context, who Actor, set *Settings) error {
	if err := who.need(EditSettings); err != nil {
		return err
	}
	branch := set.Branch.Validate()
	if e, is := branch.(*models.Error); is {
		for i := range e.Fields {
			if e.Fields[i].Field == "name" {
				e.Fields[i].Field = "branch_name"
			}
		}
	}
	if key := set.Branch.ClimateStation; branch == nil && key != "" && !slices.Contains(climate.StationKeys(), key) {
		branch = models.FieldErrorf("climate_station", key, "is not in the list")
	}
	if err := together(set.Company.Validate(), branch); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if err := tx.Update(&set.Company); err != nil {
			return err
		}
		return tx.Update(&set.Branch)
	})
}

// save adds a record that has no number yet, and changes one that has.
func (s *Service) save(ctx context.Context, who Actor, need Permission, rec models.Record) error {
	if rec.Base().ID == 0 {
		return s.add(ctx, who, need, rec)
	}
	return s.change(ctx, who, need, rec)
}
