// Package service holds the use cases: each loads records, computes through
// package portfolio, saves in one transaction, and checks that whoever asks is
// allowed to. Pages, jobs and the command line all go through it, so a rule
// that stands here holds everywhere.
//
// A use case is a method of Service that takes a context and the Actor who
// asks. It begins with the permission it needs. One noun has one file, of the
// same name in every room.
package service

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// Service is the company's use cases over one store.
type Service struct {
	Store *store.Store
	Log   *slog.Logger
	Now   func() time.Time

	shelf  shelf  // the newest book of promises and visits
	street street // the newest ranking of neighbours
	heat   heatCache

	hindsight hindsightKept
	showings  showingsWaiting
}

// New makes a service on a store, which takes its clock from it.
func New(st *store.Store, log *slog.Logger, now func() time.Time) *Service {
	st.Now = now
	return &Service{Store: st, Log: log, Now: now}
}

// Actor is whoever asks: a person with roles, or the program itself.
type Actor struct {
	PersonID int64
	Name     string
	Roles    models.Roles
	program  bool
}

// Program is the program itself, for jobs and the command line on the machine
// of the company. It may do everything; name says what it does.
func Program(name string) Actor { return Actor{Name: name, program: true} }

// By names the actor in the audit trail.
func (a Actor) By() store.By {
	by := store.By{Name: a.Name}
	if a.PersonID != 0 {
		by.PersonID = &a.PersonID
	}
	return by
}

// May says whether the actor has the permission.
func (a Actor) May(p Permission) bool {
	if a.program {
		return true
	}
	for _, role := range a.Roles {
		if permits(role, p) {
			return true
		}
	}
	return false
}

// need gives a Forbidden error when the actor lacks the permission.
func (a Actor) need(p Permission) error {
	if a.May(p) {
		return nil
	}
	return models.Errorf(models.Forbidden, "This is not part of your work here. Ask the owner if it should be.")
}

// Settings are the company and the branch whose rules hold.
type Settings struct {
	Company models.Company
	Branch  models.Branch
}

// Settings reads the company and its main branch. A database that has none yet
// gives a NotFound error.
func (s *Service) Settings(ctx context.Context) (Settings, error) {
	return settings(s.Store.Query(ctx))
}

func settings(q store.Query) (Settings, error) {
	company, err := store.First[models.Company](q, "1 = 1")
	if err != nil {
		return Settings{}, fmt.Errorf("reading the settings: %w", err)
	}
	branch, err := store.First[models.Branch](q, "1 = 1")
	if err != nil {
		return Settings{}, fmt.Errorf("reading the settings: %w", err)
	}
	return Settings{Company: *company, Branch: *branch}, nil
}

// Today is the company's calendar day, in its own time zone.
func (s *Service) Today(set Settings) units.Date {
	return units.DateOf(s.Now().In(set.Branch.Location()))
}
