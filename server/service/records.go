package service

import (
	"context"

	"overhang/models"
	"overhang/models/store"
)

// RecordsState is how the records stand: how many roofs lie there now, the newest
// files that were read in, and the newest run of each nightly job.
type RecordsState struct {
	Roofs   int
	Imports []models.Import
	Runs    []models.JobRun // in the order of Jobs; a job that never ran has none
}

// mostImports is how many files RecordsState tells of.
const mostImports = 10

// Records tells how the records stand. It needs SeeRecords.
func (s *Service) Records(ctx context.Context, who Actor) (*RecordsState, error) {
	if err := who.need(SeeRecords); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	state := &RecordsState{}
	var err error
	if state.Roofs, err = store.Count[models.Roof](q, "ended_on IS NULL"); err != nil {
		return nil, err
	}
	if state.Imports, err = store.Imports(q, mostImports); err != nil {
		return nil, err
	}
	runs, err := s.LastRuns(ctx)
	if err != nil {
		return nil, err
	}
	for _, job := range Jobs {
		if run, ran := runs[job.Name]; ran {
			state.Runs = append(state.Runs, run)
		}
	}
	return state, nil
}
