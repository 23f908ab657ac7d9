package service

import (
	"context"
	"slices"

	"overhang/models"
	"overhang/models/store"
)

// DeclinedDraft is a roof with the jobs of which something can have been
// declined.
type DeclinedDraft struct {
	Address string
	Jobs    []models.Job
}

// DeclinedOn reads the jobs of a roof of which something can have been declined.
func (s *Service) DeclinedOn(ctx context.Context, who Actor, roofID int64) (*DeclinedDraft, error) {
	if err := who.need(EditRoofs); err != nil {
		return nil, err
	}
	f, err := store.RoofFile(s.Store.Query(ctx), roofID)
	if err != nil {
		return nil, err
	}
	return &DeclinedDraft{Address: f.Address.Line(), Jobs: f.Jobs}, nil
}

// KeepDeclined writes down work on a roof that we advised and the owner declined
// in writing. It is left out of every promise on the roof.
func (s *Service) KeepDeclined(ctx context.Context, who Actor, roofID int64, d *models.Declined) error {
	draft, err := s.DeclinedOn(ctx, who, roofID)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(draft.Jobs, func(j models.Job) bool { return j.ID == d.JobID }) {
		return models.FieldErrorf("job_id", "", "must be a job on this roof")
	}
	return s.add(ctx, who, EditRoofs, d)
}
