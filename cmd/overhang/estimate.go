package main

import (
	"context"
	"fmt"

	"overhang/server/jobs"
	"overhang/server/service"
)

type estimateCommand struct {
	Roof string `arg:"" optional:"" help:"The roof's number, such as R-0142; all roofs of which something changed when it is not given."`
	JSON bool   `name:"json" help:"Print the whole result of one roof as JSON."`
	database
}

// Run estimates one roof and prints it, or all that changed and keeps them.
func (c *estimateCommand) Run(ctx context.Context, p *program) error {
	svc, closeStore, err := c.open(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	who := service.Program("command line")
	if c.Roof == "" {
		set, err := svc.Settings(ctx)
		if err != nil {
			return err
		}
		detail, err := svc.RefreshEstimates(ctx, who, jobs.LastDue(p.now(), set.Branch.Location()), p.progress("roofs"))
		if err != nil {
			return err
		}
		_, err = fmt.Fprintln(p.out, detail)
		return err
	}
	life, err := svc.RoofEstimate(ctx, who, c.Roof)
	if err != nil {
		return err
	}
	r := life.Result
	if c.JSON {
		return writeJSON(p.out, r)
	}
	fmt.Fprintf(p.out, "%s: %.0f to %.0f years left, about %.0f (8 times in 10)\n", c.Roof, r.YearsLeft.Low, r.YearsLeft.High, r.YearsLeft.Middle)
	if r.TooNew {
		fmt.Fprintln(p.out, "It is too new to say more than what such coverings do.")
	}
	fmt.Fprintf(p.out, "chance that it is past its line already %.0f %%, within 1 year %.0f %%, 2 years %.0f %%, 5 years %.0f %%\n",
		100*r.ChancePast, 100*r.ChanceIn1, 100*r.ChanceIn2, 100*r.ChanceIn5)
	for _, reason := range r.Reasons {
		fmt.Fprintf(p.out, "  %+5.1f years  %s: %s\n", reason.EffectYears, reason.Name, reason.Because)
	}
	_, err = fmt.Fprintln(p.out, r.Says)
	return err
}
