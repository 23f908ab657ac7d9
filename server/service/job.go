package service

import (
	"context"
	"errors"
	"fmt"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// Job is something that is done once for each day, at night.
type Job struct {
	Name  string
	About string
	do    func(s *Service, ctx context.Context, set Settings, day units.Date, progress func(done, total int)) (string, error)
}

// Jobs are the nightly jobs, in the order in which they run.
var Jobs = []Job{
	{"lives", "Tells own and watched lives to the priors, where they changed.", (*Service).refreshLives},
	{"estimates", "Estimates the years left anew for each roof of which something changed.", (*Service).refreshEstimates},
	{"checkups", "Finds the gutter and roof check-ups that fall due on the day.", (*Service).checkupsFallingDue},
	{"promises", "Finds the promises that end, and the registrations that are due, in the weeks ahead.", (*Service).promisesEnding},
}

// staleAfter is how long a run may go on before another may take its place: it
// must have died.
const staleAfter = 2 * time.Hour

// RunJob runs a job for a day, unless it has been done for that day: a day's run
// is one row, and a second start finds it and changes nothing. A run that
// failed, or that died, may be started again. It gives the day's row.
func (s *Service) RunJob(ctx context.Context, who Actor, name string, day units.Date, progress func(done, total int)) (*models.JobRun, error) {
	if !who.program {
		return nil, models.Errorf(models.Forbidden, "Jobs are started by the program itself.")
	}
	var job *Job
	for i := range Jobs {
		if Jobs[i].Name == name {
			job = &Jobs[i]
		}
	}
	if job == nil {
		return nil, models.Errorf(models.NotFound, "There is no job %q.", name)
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	run, claimed, err := s.claim(ctx, who, name, day)
	if err != nil || !claimed {
		return run, err
	}
	if progress == nil {
		progress = func(int, int) {}
	}
	detail, failure := job.do(s, ctx, set, day, progress)
	// The outcome is written even when the run was cancelled.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	finished := s.Now().UTC()
	run.FinishedAt, run.Outcome, run.Detail = &finished, "done", detail
	if failure != nil {
		run.Outcome, run.Detail = "failed", "It failed; the log says why."
		failure = fmt.Errorf("running the job %s for %s: %w", name, day, failure)
	}
	err = s.Store.Write(ctx, who.By(), func(tx *store.Tx) error { return tx.Put(run) })
	return run, errors.Join(failure, err)
}

// claim writes the row of a run that starts now. It is not claimed when the day
// is done, or when another run goes on.
func (s *Service) claim(ctx context.Context, who Actor, name string, day units.Date) (run *models.JobRun, claimed bool, err error) {
	err = s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		rows, err := store.List[models.JobRun](tx.Query, "id", "job = ? AND day = ?", name, day)
		if err != nil {
			return err
		}
		run = &models.JobRun{Job: name, Day: day}
		if len(rows) > 0 {
			run = &rows[0]
			if run.Outcome == "done" || (run.Outcome == "running" && tx.Now().Sub(run.StartedAt) < staleAfter) {
				return nil
			}
		}
		run.StartedAt, run.FinishedAt, run.Outcome, run.Detail = tx.Now(), nil, "running", ""
		claimed = true
		return tx.Put(run)
	})
	return run, claimed, err
}

// mostMissed is how many missed days are caught up at most; what is older says
// nothing that the newest run does not.
const mostMissed = 14

// MissedDays gives the days up to last for which the job has not been done, the
// oldest first: those since its newest run, or the last day alone when it never
// ran.
func (s *Service) MissedDays(ctx context.Context, name string, last units.Date) ([]units.Date, error) {
	runs, err := store.List[models.JobRun](s.Store.Query(ctx), "day", "job = ? AND day > ?", name, last.AddDays(-mostMissed))
	if err != nil {
		return nil, err
	}
	done := map[units.Date]bool{}
	first := last
	for _, r := range runs {
		done[r.Day] = r.Outcome == "done"
		first = min(first, r.Day)
	}
	older, err := store.Count[models.JobRun](s.Store.Query(ctx), "job = ? AND day <= ?", name, last.AddDays(-mostMissed))
	if err != nil {
		return nil, err
	}
	if older > 0 {
		first = last.AddDays(1 - mostMissed)
	}
	var missed []units.Date
	for day := first; day <= last; day++ {
		if !done[day] {
			missed = append(missed, day)
		}
	}
	return missed, nil
}

// LastRuns gives the newest run of each job that has one.
func (s *Service) LastRuns(ctx context.Context) (map[string]models.JobRun, error) {
	runs, err := store.List[models.JobRun](s.Store.Query(ctx), "day",
		"id IN (SELECT id FROM job_runs r WHERE day = (SELECT max(day) FROM job_runs WHERE job = r.job))")
	if err != nil {
		return nil, err
	}
	out := map[string]models.JobRun{}
	for _, r := range runs {
		out[r.Job] = r
	}
	return out, nil
}
