package main

import (
	"context"
	"fmt"

	"overhang/analytics/owed"
	"overhang/server/service"
)

type owedCommand struct {
	JSON bool `name:"json" help:"Print the whole result as JSON."`
	database
}

// owedOutput is the result with the scenarios that are kept.
type owedOutput struct {
	owed.ModelResult
	Scenarios []owedScenario `json:"scenarios,omitempty"`
}

type owedScenario struct {
	owed.ScenarioCost
	Base  owed.ScenarioCost `json:"base"`
	Wrong string            `json:"wrong,omitempty"`
}

// Run says what callbacks under our own promises are expected to cost.
func (c *owedCommand) Run(ctx context.Context, p *program) error {
	svc, closeStore, err := c.open(ctx, p)
	if err != nil {
		return err
	}
	defer closeStore()
	review, err := svc.OwedReview(ctx, service.Program("command line"))
	if err != nil {
		return err
	}
	r := &review.Result
	if c.JSON {
		out := owedOutput{ModelResult: *r}
		for _, s := range review.Scenarios {
			s.With.Name = s.Scenario.Name
			out.Scenarios = append(out.Scenarios, owedScenario{s.With, s.Base, s.Wrong})
		}
		return writeJSON(p.out, out)
	}
	fmt.Fprintf(p.out, "%d promises of ours run on; %.1f callbacks are expected under them.\n", r.Total.Promises, r.Total.Callbacks)
	t := r.Total
	if t.Expected == nil || t.Low == nil || t.High == nil {
		fmt.Fprintln(p.out, "No amount can be given yet.")
	} else {
		fmt.Fprintf(p.out, "They cost us about %s, from %s to %s eight times in ten.\n", t.Expected.Round(), t.Low.Round(), t.High.Round())
		if r.Distribution != nil {
			fmt.Fprintf(p.out, "The worst tenth of outcomes costs %s on average.\n", r.Distribution.Shortfall.Round())
		}
		for _, y := range r.Years {
			if y.Low != nil && y.High != nil {
				fmt.Fprintf(p.out, "  %d  %6d promises  %8s  %s to %s\n", y.Year, y.Promises, y.Expected.Round(), y.Low.Round(), y.High.Round())
			}
		}
	}
	for _, s := range review.Scenarios {
		if s.Wrong != "" {
			fmt.Fprintf(p.out, "%s: %s\n", s.Scenario.Name, s.Wrong)
			continue
		}
		fmt.Fprintf(p.out, "%s: %s on top for us, %.0f promises in it\n", s.Scenario.Name, s.With.Change.Round(), s.With.Promises)
	}
	for _, n := range r.Notes {
		fmt.Fprintln(p.out, n.Sentence)
	}
	_, err = fmt.Fprintln(p.out, "This is an estimate from our own callbacks so far; it is no bill and no limit.")
	return err
}
