package service

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"

	"overhang/analytics/attic"
	"overhang/analytics/climate"
	"overhang/analytics/portfolio"
	"overhang/models"
)

// ClimateStations lists the climates that a branch can choose from.
func ClimateStations() []climate.Place { return climate.Stations() }

// keptAttics is how many attics' years are kept: one takes up to a quarter of a
// second where little is known of it, and a page is often opened again.
const keptAttics = 1000

// heatCache keeps the years of attics that were asked for, and the tables from
// which the nightly estimates read theirs.
type heatCache struct {
	tables attic.Tables
	mu     sync.Mutex
	kept   map[string]attic.Result
}

func (c *heatCache) run(in attic.Input) (attic.Result, error) {
	key, err := json.Marshal(in)
	if err != nil {
		return attic.Result{}, fmt.Errorf("marking an attic's year: %w", err)
	}
	c.mu.Lock()
	r, found := c.kept[string(key)]
	c.mu.Unlock()
	if found {
		return r, nil
	}
	if r, err = attic.Run(in); err != nil {
		return attic.Result{}, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.kept) >= keptAttics || c.kept == nil {
		c.kept = map[string]attic.Result{}
	}
	c.kept[string(key)] = r
	return r, nil
}

// WarmUp makes what the first pages would wait for: the table of attics in the
// branch's climate, the book of our roofs, and the order of the houses to call on.
func (s *Service) WarmUp(ctx context.Context) error {
	set, err := s.Settings(ctx)
	if models.CodeOf(err) == models.NotFound { // nobody has set it up yet
		return nil
	}
	if err != nil {
		return err
	}
	if _, err := s.openBook(ctx); err != nil {
		return err
	}
	if _, err := s.rank(ctx); err != nil {
		return err
	}
	return portfolio.WarmUp(s.heat.tables.Look, &set.Branch)
}
