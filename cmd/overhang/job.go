package main

import (
	"context"
	"fmt"
	"strings"

	"overhang/analytics/units"
	"overhang/server/jobs"
	"overhang/server/service"
)

func jobNames() string {
	var names []string
	for _, j := range service.Jobs {
		names = append(names, j.Name)
	}
	return strings.Join(names, ", ")
}

type jobCommand struct {
	Name string `arg:"" help:"Which: ${jobs}."`
	Day  string `placeholder:"YYYY-MM-DD" help:"The day to run it for; the last one that is due when it is not given."`
	database
}

// Run runs a nightly job for a day, unless it was done for that day.
func (c *jobCommand) Run(ctx context.Context, p *program) error {
	svc, closeStore, err := c.open(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	set, err := svc.Settings(ctx)
	if err != nil {
		return err
	}
	day := jobs.LastDue(p.now(), set.Branch.Location())
	if c.Day != "" {
		if day, err = units.ParseDate(c.Day); err != nil {
			return fmt.Errorf("%w: %w", errMisuse, err)
		}
	}
	run, err := svc.RunJob(ctx, service.Program("command line"), c.Name, day, p.progress(c.Name))
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.out, "%s for %s: %s. %s\n", run.Job, run.Day, run.Outcome, run.Detail)
	return err
}
