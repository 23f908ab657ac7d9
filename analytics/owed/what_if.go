package owed

import (
	"fmt"
	"slices"
)

// WhatIf is a scenario told of roofs instead of groups: what would happen to the
// promises that are in it.
type WhatIf struct {
	Name string
	Kind ScenarioKind
	In   func(roof int) bool // by its row of the input; nil is all
	// Cause is a cause, or a group of causes, that is hit; empty is all. Where it
	// is empty what is added is of the cost of a storm's, or else of the first
	// group's, and rates cannot be multiplied as well.
	Cause string
	Year  int // calendar year; 0 is every year ahead
	// RateTimes, Added and CostTimes are as in Scenario, and so are Bearers.
	RateTimes float64
	Added     float64
	CostTimes float64
	Bearers   []BearerShare
}

// WhatIf sets a scenario beside what is expected. It says nothing of how likely
// the scenario is.
func (f *Fitted) WhatIf(w WhatIf) (base, with ScenarioCost, err error) {
	if f.theta == nil {
		return base, with, fmt.Errorf("callbacks: there is no rate to begin from")
	}
	costs := f.costs()
	if costs == nil {
		return base, with, fmt.Errorf("callbacks: no cost of a callback is known")
	}
	if w.In == nil {
		w.In = func(int) bool { return true }
	}
	a := f.walk(costs, w.In)
	year := w.Year - a.first + 1
	if w.Year != 0 && (year < 1 || year > a.years) {
		return base, with, fmt.Errorf("year: must lie between %d and %d, not %d", a.first, a.first+a.years-1, w.Year)
	}
	r := ModelResult{}
	f.unsureOf(&r, a)
	in, _ := a.base(&r, false)
	if len(in.Groups) == 0 {
		return base, with, fmt.Errorf("roofs: no promise has time ahead")
	}
	hit := f.causes
	if w.Cause != "" {
		hit = []string{CauseGroup(w.Cause)}
		if !slices.Contains(f.causes, hit[0]) {
			hit = []string{OtherCauses}
		}
		if !slices.Contains(f.causes, hit[0]) { // nothing of the kind has come yet
			hit = []string{f.causes[0]}
		}
	}
	added := hit[0]
	if at := slices.Index(hit, CauseGroup("storm")); at >= 0 {
		added = hit[at]
	}
	if w.Added > 0 && len(hit) > 1 {
		// A promise is in one group of each cause, and what comes on top must come
		// once.
		if w.RateTimes != 0 && w.RateTimes != 1 {
			return base, with, fmt.Errorf("cause: must be named where callbacks come on top and rates are multiplied as well")
		}
		hit = []string{added}
	}
	s := Scenario{Name: w.Name, Kind: OwnStory, RateTimes: w.RateTimes, Added: w.Added, CostTimes: w.CostTimes, Bearers: w.Bearers}
	for _, c := range hit {
		s.Groups = append(s.Groups, GroupName(c, Marked, "", ""))
	}
	if w.Year != 0 {
		s.Years = []int{year}
	}
	t, err := Scenarios(ScenarioInput{Base: in, Scenarios: []Scenario{s}})
	if err != nil {
		return base, with, err
	}
	base, with = t.Base, t.Scenarios[0]
	base.Promises, with.Promises, with.Kind = float64(len(f.ahead)), float64(a.marked), w.Kind
	return base, with, nil
}
