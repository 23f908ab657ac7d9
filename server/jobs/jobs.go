// Package jobs runs the nightly jobs of package service on the company's clock.
//
// They start at half past three: in the places where clocks change, the hour
// before three is skipped in spring and told twice in autumn, and a job that
// stood there would be skipped or run twice. A run is a row for its day, so that
// even a second start changes nothing.
package jobs

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/robfig/cron/v3"

	"overhang/analytics/units"
	"overhang/server/service"
)

// nightly is when the jobs start, in the company's time zone.
const nightly = "30 3 * * *"

// Runner starts the jobs.
type Runner struct {
	svc *service.Service
	log *slog.Logger
}

// New makes a runner.
func New(svc *service.Service, log *slog.Logger) *Runner { return &Runner{svc, log} }

// Run catches up on the days that were missed while the program was not
// running, then runs the jobs every night until ctx ends, and waits for a run
// that goes on to stop. A database without a company has nothing to do yet; it
// is looked at again every night.
func (r *Runner) Run(ctx context.Context) error {
	zone := time.UTC
	if set, err := r.svc.Settings(ctx); err == nil {
		zone = set.Branch.Location()
	}
	log := cronLog{r.log}
	// A job that panics must not end the program, nor bar its next run: a run
	// that is skipped is decided outside of what recovers.
	c := cron.New(cron.WithLocation(zone), cron.WithLogger(log), cron.WithChain(cron.SkipIfStillRunning(log), cron.Recover(log)))
	if _, err := c.AddFunc(nightly, func() { r.CatchUp(ctx) }); err != nil {
		return fmt.Errorf("reading the schedule: %w", err)
	}
	r.CatchUp(ctx)
	c.Start()
	<-ctx.Done()
	<-c.Stop().Done()
	return nil
}

// CatchUp runs every job for each day up to now that has not been done.
func (r *Runner) CatchUp(ctx context.Context) {
	set, err := r.svc.Settings(ctx)
	if err != nil {
		r.log.Info("no company yet, so no jobs")
		return
	}
	last := LastDue(r.svc.Now(), set.Branch.Location())
	for _, job := range service.Jobs {
		days, err := r.svc.MissedDays(ctx, job.Name, last)
		if err != nil {
			r.log.Error("reading the runs of a job", "job", job.Name, "error", err)
			continue
		}
		for _, day := range days {
			if ctx.Err() != nil {
				return
			}
			run, err := r.svc.RunJob(ctx, service.Program("nightly job"), job.Name, day, nil)
			if err != nil {
				r.log.Error("a job failed", "job", job.Name, "day", day.String(), "error", err)
				continue
			}
			r.log.Info("job", "job", job.Name, "day", day.String(), "outcome", run.Outcome, "detail", run.Detail)
		}
	}
}

// LastDue is the newest day whose nightly run is due at a moment: the day that
// the clock in the zone shows, or the day before when it is not yet half past
// three.
func LastDue(now time.Time, zone *time.Location) units.Date {
	local := now.In(zone)
	day := units.DateOf(local)
	if local.Hour() < 3 || (local.Hour() == 3 && local.Minute() < 30) {
		return day - 1
	}
	return day
}

// cronLog writes what cron says to the program's own log.
type cronLog struct{ log *slog.Logger }

func (l cronLog) Info(msg string, args ...any) { l.log.Debug("cron: "+msg, args...) }

func (l cronLog) Error(err error, msg string, args ...any) {
	l.log.Error("cron: "+msg, append(args, "error", err)...)
}
