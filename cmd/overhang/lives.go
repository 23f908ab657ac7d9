package main

import (
	"context"
	"fmt"

	"overhang/analytics/hindsight"
	"overhang/server/service"
)

// livesCommand is what there is to say of lives and of their estimates as a whole.
type livesCommand struct {
	Fit   livesFitCommand   `cmd:"" help:"Tell own lives to the priors now, as the nightly job does, and print what they say as JSON."`
	Check livesCheckCommand `cmd:"" help:"Hold past estimates against what was seen later."`
}

type livesCheckCommand struct {
	JSON     bool `name:"json" help:"Print the whole result as JSON."`
	Hindcast bool `help:"Judge what the present estimator would have said on past days, from the records dated before them. Nothing is kept."`
	database
}

// Run prints how right the estimates have been.
func (c *livesCheckCommand) Run(ctx context.Context, p *program) error {
	svc, closeStore, err := c.open(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	ask := svc.Hindsight
	if c.Hindcast {
		ask = svc.Hindcast
	}
	h, err := ask(ctx, service.Program("command line"))
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(p.out, struct {
			Result *hindsight.Result       `json:"result"`
			Cases  []service.HindsightCase `json:"cases"`
			Fresh  int                     `json:"too_fresh"`
			Faults []string                `json:"faults"`
		}{h.Result, h.Cases, h.Fresh, h.Faults})
	}
	if h.Result == nil {
		_, err = fmt.Fprintf(p.out, "None of the estimates is old enough to be held against what came; %d are still fresh.\n", h.Fresh)
		return err
	}
	for _, sentence := range h.Result.Says {
		fmt.Fprintln(p.out, sentence)
	}
	if h.Fresh > 0 {
		fmt.Fprintf(p.out, "%d estimates are too fresh to be counted.\n", h.Fresh)
	}
	for _, s := range h.Result.Splits {
		fmt.Fprintf(p.out, "\nby %s\n", s.By)
		for _, g := range s.Groups {
			name := g.Name
			if name == "" {
				name = "not known"
			}
			fmt.Fprintf(p.out, "  %-22s", name)
			if l := g.Lives; l != nil {
				fmt.Fprintf(p.out, " %4d estimates of %3d roofs, worn out %d, foretold %.1f: %s.", l.Cases, l.Roofs, l.WornOut, l.Foretold, l.Verdict)
			}
			if r := g.Readings; r != nil {
				fmt.Fprintf(p.out, " Next reading %d times, off by %+.1f points: %s.", r.Cases, r.Error.Value, r.Verdict)
			}
			fmt.Fprintln(p.out)
		}
	}
	if len(h.Faults) > 0 {
		_, err = fmt.Fprintf(p.out, "\nLeft out for their records: %v\n", h.Faults)
	}
	return err
}
