package service

import (
	"context"
	"strconv"

	"overhang/analytics/portfolio"
	"overhang/analytics/workmanship"
	"overhang/models"
	"overhang/models/store"
)

// CrewReview is where workmanship goes wrong, with what its numbers stand for.
type CrewReview struct {
	Result    workmanship.Result
	Crews     map[string]models.Crew // by the name of a group; the empty one is not known
	Aside     map[string]int         // callbacks whose cause does not lie in the laying
	Practices []models.Practice      // in the order of the result's changes
}

// CrewReview says where workmanship goes wrong. It is for the owner: what is said
// of a crew is for those who answer for it.
func (s *Service) CrewReview(ctx context.Context, who Actor) (*CrewReview, error) {
	if err := who.need(SeeCrews); err != nil {
		return nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	r := &CrewReview{Crews: map[string]models.Crew{}}
	crews, err := store.List[models.Crew](q, "name", "")
	if err != nil {
		return nil, err
	}
	for _, c := range crews {
		r.Crews[strconv.FormatInt(c.ID, 10)] = c
	}
	if r.Practices, err = store.List[models.Practice](q, "from_on DESC, id", ""); err != nil {
		return nil, err
	}
	in, aside := portfolio.Workmanship(b.files, r.Practices, b.day)
	r.Aside = aside
	r.Result, err = workmanship.Review(in)
	return r, err
}

// Crew reads one crew.
func (s *Service) Crew(ctx context.Context, who Actor, id int64) (*models.Crew, error) {
	if err := who.need(SeeCrews); err != nil {
		return nil, err
	}
	return store.Get[models.Crew](s.Store.Query(ctx), id)
}

// CrewCallbacks lists the callbacks on roofs that a crew laid, the newest first.
func (s *Service) CrewCallbacks(ctx context.Context, who Actor, crew int64) ([]store.CallbackRow, error) {
	if err := who.need(SeeCrews); err != nil {
		return nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	var out []store.CallbackRow
	for i := range b.files {
		f := &b.files[i]
		job := f.LaidBy()
		if !f.Roof.Ours || job == nil || job.CrewID == nil || *job.CrewID != crew {
			continue
		}
		for _, c := range f.Callbacks {
			if c.RoofID != nil && *c.RoofID == f.Roof.ID {
				out = append(out, store.CallbackRow{Callback: c, Number: f.Address.Number, Street: f.Address.Street, Town: f.Address.Town})
			}
		}
	}
	return out, nil
}

// SavePractice writes down a change of practice.
func (s *Service) SavePractice(ctx context.Context, who Actor, p *models.Practice) error {
	return s.save(ctx, who, SeeCrews, p)
}
