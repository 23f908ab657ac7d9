package service

import (
	"context"

	"overhang/models/store"
)

// MostHits is how many houses a search gives; past that a person types more.
const MostHits = 30

// Search finds houses by address, number, and, for those who may see contacts,
// by name and telephone number.
func (s *Service) Search(ctx context.Context, who Actor, text string) ([]store.Hit, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	return store.Search(s.Store.Query(ctx), text, who.May(SeeContacts), MostHits)
}
