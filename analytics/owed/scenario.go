package owed

import (
	"fmt"
	"slices"

	"overhang/analytics/units"
)

// ScenarioKind is a thing that can go wrong, by its plain name.
type ScenarioKind string

// The kinds: each says what must be named for it.
const (
	BadLot    ScenarioKind = "bad_lot"    // material of one lot; lots
	LapHabit  ScenarioKind = "lap_habit"  // one crew's way of laying; crews
	HailLine  ScenarioKind = "hail_line"  // roofs along a storm's line; groups, and the one year
	IceWinter ScenarioKind = "ice_winter" // one hard winter; the one year
	OwnStory  ScenarioKind = "own"        // anything else
)

// BearerShare is how much of a cost one bearer takes.
type BearerShare struct {
	Bearer string  `json:"bearer"` // one of Bearers
	Share  float64 `json:"share"`
}

// Scenario is a change of rates and costs for some promises in some years. A
// promise is in it when it fits each of groups, lots and crews that is given.
type Scenario struct {
	Name   string       `json:"name"`
	Kind   ScenarioKind `json:"kind"`
	Groups []string     `json:"groups,omitempty"`
	Lots   []string     `json:"lots,omitempty"`
	Crews  []string     `json:"crews,omitempty"`
	Years  []int        `json:"years,omitempty"` // ahead, counted from 1; all when empty
	// RateTimes multiplies the rates (1 when nought), Added is callbacks of each
	// promise on top in each of the years, CostTimes multiplies costs (1 when
	// nought).
	RateTimes float64 `json:"rate_times,omitempty"`
	Added     float64 `json:"added_callbacks,omitempty"`
	CostTimes float64 `json:"cost_times,omitempty"`
	// Bearers say who bears the callbacks that come on top; empty: as promised.
	Bearers []BearerShare `json:"bearers,omitempty"`
}

// ScenarioInput is what is expected and what might come.
type ScenarioInput struct {
	Base      DistributionInput `json:"base"`
	Scenarios []Scenario        `json:"scenarios"`
}

// ScenarioResult sets each scenario beside what is expected without it.
type ScenarioResult struct {
	Base      ScenarioCost   `json:"base"`
	Scenarios []ScenarioCost `json:"scenarios"`
}

// ScenarioCost is what we bear in a scenario, and who bears what comes on top.
type ScenarioCost struct {
	Name      string       `json:"name"`
	Kind      ScenarioKind `json:"kind,omitempty"`
	Promises  float64      `json:"promises"` // in it
	Callbacks float64      `json:"callbacks"`
	Expected  units.Money  `json:"expected_cents"`
	Low       units.Money  `json:"low_cents"`  // 10 % point
	High      units.Money  `json:"high_cents"` // 90 % point
	Shortfall units.Money  `json:"shortfall_cents"`
	Change    units.Money  `json:"change_cents"` // of the expected cost that we bear
	// Bearers are the expected costs that come on top, whoever bears them; they add
	// up to OnTop.
	OnTop   units.Money  `json:"on_top_cents"`
	Bearers []BearerCost `json:"bearers,omitempty"`
	Says    string       `json:"says"`
}

// BearerCost is what one bearer takes of what comes on top. Not_ours is what a
// promise leaves to others without saying to whom.
type BearerCost struct {
	Bearer string      `json:"bearer"`
	Cents  units.Money `json:"cents"`
}

func (s Scenario) validate(years int) error {
	one := func() error {
		if len(s.Years) != 1 {
			return fmt.Errorf("years: %s happens in one year; name it", s.Kind)
		}
		return nil
	}
	switch s.Kind {
	case BadLot:
		if len(s.Lots) == 0 {
			return fmt.Errorf("lots: bad_lot needs the lots that are bad")
		}
	case LapHabit:
		if len(s.Crews) == 0 {
			return fmt.Errorf("crews: lap_habit needs the crew whose habit it is")
		}
	case HailLine:
		if len(s.Groups) == 0 {
			return fmt.Errorf("groups: hail_line needs the promises that lie along the line")
		}
		if err := one(); err != nil {
			return err
		}
	case IceWinter:
		if err := one(); err != nil {
			return err
		}
	case OwnStory:
	default:
		return fmt.Errorf("kind: must be bad_lot, lap_habit, hail_line, ice_winter or own, not %q", s.Kind)
	}
	for i, y := range s.Years {
		if y < 1 || y > years {
			return fmt.Errorf("years[%d]: must lie between 1 and %d, not %d", i, years, y)
		}
	}
	if !(s.RateTimes >= 0 && s.RateTimes <= 1000) {
		return fmt.Errorf("rate_times: must lie between 0 and 1000, not %v", s.RateTimes)
	}
	if !(s.CostTimes >= 0 && s.CostTimes <= 100) {
		return fmt.Errorf("cost_times: must lie between 0 and 100, not %v", s.CostTimes)
	}
	if !(s.Added >= 0 && s.Added <= 100) {
		return fmt.Errorf("added_callbacks: must lie between 0 and 100, not %v", s.Added)
	}
	sum := 0.0
	for i, b := range s.Bearers {
		if !slices.Contains(Bearers, b.Bearer) || !(b.Share >= 0 && b.Share <= 1) {
			return fmt.Errorf("bearers[%d]: must be one of %v with a share between 0 and 1, not %q with %v", i, Bearers, b.Bearer, b.Share)
		}
		sum += b.Share
	}
	if len(s.Bearers) > 0 && (sum < 1-1e-9 || sum > 1+1e-9) {
		return fmt.Errorf("bearers: the shares must add up to 1, not %v", sum)
	}
	return nil
}

func (s Scenario) holds(g *PromiseGroup) bool {
	fits := func(list []string, name string) bool { return len(list) == 0 || slices.Contains(list, name) }
	return fits(s.Groups, g.Name) && fits(s.Lots, g.Lot) && fits(s.Crews, g.Crew)
}

// dearer is the group with its costs multiplied.
func dearer(g PromiseGroup, times float64) PromiseGroup {
	g.CostMean, g.CostSD = g.CostMean.Times(times), g.CostSD.Times(times)
	g.Costs = slices.Clone(g.Costs)
	for i := range g.Costs {
		g.Costs[i].Cost = g.Costs[i].Cost.Times(times)
	}
	return g
}

// apply gives the input with the scenario in it, the number of promises in it,
// and the expected cost on top by bearer.
func (s Scenario) apply(in DistributionInput) (out DistributionInput, promises float64, bearers []string, costs []float64) {
	out = in
	out.Groups = nil
	times, cost := s.RateTimes, s.CostTimes
	if times == 0 {
		times = 1
	}
	if cost == 0 {
		cost = 1
	}
	take := func(bearer string, cents float64) {
		i := slices.Index(bearers, bearer)
		if i < 0 {
			i = len(bearers)
			bearers, costs = append(bearers, bearer), append(costs, 0)
		}
		costs[i] += cents
	}
	for i := range in.Groups {
		g := in.Groups[i]
		if !s.holds(&g) {
			out.Groups = append(out.Groups, g)
			continue
		}
		promises += g.count()
		kept, moved, extra := slices.Clone(g.Rates), make([]float64, len(g.Rates)), make([]float64, len(g.Rates))
		var base, more float64
		for y, r := range g.Rates {
			if len(s.Years) > 0 && !slices.Contains(s.Years, y+1) {
				continue
			}
			kept[y] = 0
			moved[y] = r * min(times, 1)
			extra[y] = r*max(times-1, 0) + s.Added
			base += moved[y]
			more += extra[y]
		}
		ours := 1.0
		if g.Share != nil {
			ours = *g.Share
		}
		whole := newSeverity(&PromiseGroup{CostMean: g.CostMean, CostSD: g.CostSD, Costs: g.Costs}).mean
		if cost == 1 { // what there was anyway is as it was
			for y := range kept {
				kept[y] += moved[y]
			}
			moved = nil
		}
		g.Rates = kept
		out.Groups = append(out.Groups, g)
		if moved != nil {
			d := dearer(g, cost)
			d.Rates = moved
			out.Groups = append(out.Groups, d)
			rise := g.count() * base * whole * (cost - 1)
			take("us", rise*ours)
			take("not_ours", rise*(1-ours))
		}
		if more == 0 {
			continue
		}
		d := dearer(g, cost)
		d.Rates = extra
		top := g.count() * more * whole * cost
		if len(s.Bearers) == 0 {
			take("us", top*ours)
			take("not_ours", top*(1-ours))
		} else {
			ours = 0
			for _, b := range s.Bearers {
				take(b.Bearer, top*b.Share)
				if byUs(b.Bearer) {
					ours += b.Share
				}
			}
		}
		ours = min(ours, 1)
		d.Share = &ours
		out.Groups = append(out.Groups, d)
	}
	return out, promises, bearers, costs
}

// byUs says whether it is we who pay what a bearer takes.
func byUs(bearer string) bool { return bearer == "us" || bearer == "goodwill" }

// Scenarios works out each scenario and sets it beside the base. It says what
// would come if the scenario did, and nothing of how likely that is. A scenario
// that no promise is in changes nothing and says so.
func Scenarios(in ScenarioInput) (ScenarioResult, error) {
	years := 0
	for i := range in.Base.Groups {
		years = max(years, len(in.Base.Groups[i].Rates))
	}
	in.Base.Levels, in.Base.EachYear = []float64{lowPoint, highPoint}, false
	outline := func(d DistributionInput) (ScenarioCost, error) {
		r, err := Distribution(d)
		if err != nil {
			return ScenarioCost{}, err
		}
		return ScenarioCost{Callbacks: r.Callbacks, Expected: r.Expected, Low: r.Quantiles[0].Cents, High: r.Quantiles[1].Cents, Shortfall: r.Shortfall}, nil
	}
	base, err := outline(in.Base)
	if err != nil {
		return ScenarioResult{}, fmt.Errorf("base.%w", err)
	}
	for i := range in.Base.Groups {
		base.Promises += in.Base.Groups[i].count()
	}
	base.Name = "as expected"
	base.Says = fmt.Sprintf("As expected, callbacks cost us %s, and between %s and %s eight times out of ten.", base.Expected.Round(), base.Low.Round(), base.High.Round())
	r := ScenarioResult{Base: base}
	for i, s := range in.Scenarios {
		if err := s.validate(years); err != nil {
			return ScenarioResult{}, fmt.Errorf("scenarios[%d].%w", i, err)
		}
		changed, promises, bearers, costs := s.apply(in.Base)
		c, err := outline(changed)
		if err != nil {
			return ScenarioResult{}, fmt.Errorf("scenarios[%d]: %w", i, err)
		}
		c.Name, c.Kind, c.Promises, c.Change = s.Name, s.Kind, promises, c.Expected-base.Expected
		parts := inParts(costs)
		if first := slices.IndexFunc(bearers, byUs); first >= 0 {
			// What we bear of it is the change of our cost, which is rounded whole.
			off := c.Change
			for k, cents := range parts {
				if byUs(bearers[k]) {
					off -= cents
				}
			}
			if off == 1 || off == -1 {
				parts[first] += off
			}
		}
		for k, cents := range parts {
			c.OnTop += cents
			if cents != 0 {
				c.Bearers = append(c.Bearers, BearerCost{bearers[k], cents})
			}
		}
		c.Says = fmt.Sprintf("%s: %.0f promises are in it. Callbacks would then cost us %s instead of %s, and between %s and %s eight times out of ten.",
			s.Name, promises, c.Expected.Round(), base.Expected.Round(), c.Low.Round(), c.High.Round())
		if promises == 0 {
			c.Says = s.Name + ": no promise is in it, so it changes nothing."
		}
		r.Scenarios = append(r.Scenarios, c)
	}
	return r, nil
}
