package main

import (
	"context"

	"overhang/analytics/lifespan"
	"overhang/analytics/survival"
	"overhang/analytics/units"
	"overhang/server/jobs"
	"overhang/server/service"
)

type livesFitCommand struct {
	database
}

// livesFit is what is printed.
type livesFit struct {
	AsOf         units.Date          `json:"as_of"`
	ModelVersion string              `json:"model_version"`
	DataHash     string              `json:"data_hash"`
	Ours         int                 `json:"ours"`
	Watched      int                 `json:"watched"`
	Standing     int                 `json:"standing"`
	Ended        map[string]int      `json:"ended"`
	TearOffs     int                 `json:"tear_offs_left_out"`
	Fit          survival.PoolResult `json:"fit"`
	Curve        *lifespan.CurveFit  `json:"rating_curve,omitempty"`
}

// Run fits own lives where they changed and prints what they say.
func (c *livesFitCommand) Run(ctx context.Context, p *program) error {
	svc, closeStore, err := c.open(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	set, err := svc.Settings(ctx)
	if err != nil {
		return err
	}
	r, err := svc.FitLives(ctx, service.Program("command line"), jobs.LastDue(p.now(), set.Branch.Location()))
	if err != nil {
		return err
	}
	n := r.Lives.Counts
	return writeJSON(p.out, livesFit{r.Fit.AsOf, r.Kept.ModelVersion, r.Kept.DataHash, n.Ours, n.Watched, n.Standing, n.Ended, n.TearOffs, r.Fit.Fit, r.Fit.Curve})
}
