package main

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/lifespan"
	"overhang/analytics/portfolio"
	"overhang/analytics/wear"
	"overhang/server/jobs"
	"overhang/server/service"
)

type estimateCommand struct {
	Roof string `arg:"" optional:"" help:"The roof's number, such as R-0142; all roofs of which something changed when it is not given."`
	JSON bool   `name:"json" help:"Print the whole result of one roof as JSON."`

	Within int `help:"Print the chance that one roof is worn out within so many years, 1 to 99, too."`
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
	if c.Within < 0 || c.Within > 99 {
		return fmt.Errorf("within: must be whole years from 1 to 99, not %d", c.Within)
	}
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
	life, ahead, err := svc.RoofEstimate(ctx, who, c.Roof)
	if err != nil {
		return err
	}
	r := life.Result
	if c.JSON {
		return writeJSON(p.out, struct {
			lifespan.Result
			Factors []lifespan.Factor `json:"factors"`
			Looks   []nextLook        `json:"next_looks,omitempty"`
			Gains   []lifespan.Gain   `json:"what_if,omitempty"`
		}{r, life.Input.Factors, nextLooks(ahead), gains(ahead)})
	}
	out := new(strings.Builder)
	say := func(format string, a ...any) { fmt.Fprintf(out, format, a...) }
	if r.TooNew {
		say("%s: too new to say more than what such coverings do: they are worn out at an age of %.0f to %.0f years, about %.0f.\n",
			c.Roof, r.Prior.Quantile(0.1), r.Prior.Quantile(0.9), r.Prior.Quantile(0.5))
		say("%s\n", r.Says)
		_, err = fmt.Fprint(p.out, out)
		return err
	}
	say("%s: %.0f to %.0f years left, about %.0f (8 times in 10)\n", c.Roof, r.YearsLeft.Low, r.YearsLeft.High, r.YearsLeft.Middle)
	say("chance that it is past its line already %.0f %%, within 1 year %.0f %%, 2 years %.0f %%, 5 years %.0f %%\n",
		100*r.ChancePast, 100*r.ChanceIn1, 100*r.ChanceIn2, 100*r.ChanceIn5)
	if at := slices.IndexFunc(r.Chances, func(of lifespan.Chance) bool { return of.Years == float64(c.Within) }); c.Within != 0 && at >= 0 {
		say("within %d years %.0f %%\n", c.Within, 100*r.Chances[at].Chance)
	}
	say("why:\n")
	total := 0.0
	for _, reason := range r.Reasons {
		total += reason.EffectYears
		say("  %+5.1f years  %s: %s\n", math.Round(10*reason.EffectYears)/10+0, reason.Name, reason.Because)
	}
	say("  %5.1f years  together: half of such coverings with all this are worn out by that age\n", total)
	for _, l := range nextLooks(ahead) {
		how := "a look from the street"
		if l.Method == string(wear.Walked) {
			how = "a walk on it"
		}
		say("%s today would narrow the range from %.1f to %.1f years as a mean\n", how, l.Worth.WidthNow, l.Worth.WidthAfter)
	}
	for _, g := range gains(ahead) {
		say("with the %s put right: %+.1f years, from %+.1f to %+.1f. %s\n", g.Name, g.Years.Middle, g.Years.Low, g.Years.High, g.Says)
	}
	if len(gains(ahead)) > 0 {
		say("A licensed person checks a remedy against the local code and the maker's instructions first. Nobody goes up without fall protection, nor on frosted, wet or steep slopes.\n")
	}
	say("%s\n", r.Says)
	_, err = fmt.Fprint(p.out, out)
	return err
}

// nextLook is what a look by a method would be worth.
type nextLook struct {
	Method string             `json:"method"`
	Worth  lifespan.LookWorth `json:"worth"`
}

func nextLooks(of *portfolio.Ahead) []nextLook {
	if of == nil {
		return nil
	}
	var out []nextLook
	for _, l := range of.Looks {
		out = append(out, nextLook{string(l.Method), l.Worth})
	}
	return out
}

func gains(of *portfolio.Ahead) []lifespan.Gain {
	if of == nil {
		return nil
	}
	return of.Gains
}
