package owed

import (
	"fmt"
	"math"
)

// NamedGroup is a count and the time in which it came about, for a crew, a lot,
// a kind of detail or whatever is compared.
type NamedGroup struct {
	Name  string  `json:"name"`
	Count float64 `json:"count"`
	Years float64 `json:"years"` // at risk, of roofs or squares
}

// RatesInput is what rates are compared from.
type RatesInput struct {
	Groups []NamedGroup `json:"groups"`
	Level  float64      `json:"level,omitempty"` // of the intervals; 0.8 when nought
}

// RatesResult is the rate of each group, shrunk towards the overall one.
type RatesResult struct {
	Level  float64     `json:"level"`
	Prior  *Prior      `json:"prior,omitempty"` // nil without time at risk
	Groups []GroupRate `json:"groups"`
	Notes  []Note      `json:"notes,omitempty"`
}

// GroupRate is the rate of a group a year, with the interval that holds it with
// the chance asked for. Rate, Low and High are nil where there is no time at
// risk in any group.
type GroupRate struct {
	NamedGroup
	Observed *float64 `json:"observed,omitempty"`
	Rate     *float64 `json:"rate,omitempty"`
	Low      *float64 `json:"low,omitempty"`
	High     *float64 `json:"high,omitempty"`
	Pull     float64  `json:"pull"` // how much of the rate is the overall one
}

// Rates compares groups by rates that few callbacks cannot make look extreme:
// each is drawn towards the overall rate, the more the less time there is
// (FitGamma). The interval holds the spread of the group's own rate and the
// error of the overall one.
func Rates(in RatesInput) (RatesResult, error) {
	r := RatesResult{Level: in.Level, Groups: []GroupRate{}}
	if r.Level == 0 {
		r.Level = highPoint - lowPoint
	}
	if !(r.Level > 0 && r.Level < 1) {
		return RatesResult{}, fmt.Errorf("level: must lie between 0 and 1, not %v", in.Level)
	}
	var groups []Group
	var count, years float64
	for i, g := range in.Groups {
		if !(g.Count >= 0 && g.Count <= 1e9) || !(g.Years >= 0 && g.Years <= 1e9) {
			return RatesResult{}, fmt.Errorf("groups[%d]: count and years must lie between 0 and 1e9, not %v and %v", i, g.Count, g.Years)
		}
		if g.Years == 0 && g.Count > 0 {
			return RatesResult{}, fmt.Errorf("groups[%d].years: must be above nought where something was counted", i)
		}
		groups = append(groups, Group{g.Count, g.Years})
		count, years = count+g.Count, years+g.Years
	}
	switch {
	case years == 0:
		r.Notes = append(r.Notes, Note{Code: "no_rate", Sentence: sentences["no_rate"]})
	case count == 0:
		// Half a callback: the mean under Jeffreys' prior for a Poisson rate.
		m := 0.5 / years
		r.Prior = &Prior{Alpha: 1, Beta: 1 / m, Mean: m, MeanSD: meanSD(1, m, groups)}
	default:
		p, err := FitGamma(groups)
		if err != nil {
			return RatesResult{}, err
		}
		r.Prior = &p
		if p.Pooled {
			r.Notes = append(r.Notes, Note{Code: "one_group_rate", Sentence: sentences["one_group_rate"]})
		}
	}
	if count < smallSample {
		r.Notes = append(r.Notes, numbered("small_sample", int(count)))
	}
	for i, g := range in.Groups {
		out := GroupRate{NamedGroup: g}
		if g.Years > 0 {
			observed := g.Count / g.Years
			out.Observed = &observed
		}
		if r.Prior != nil {
			s := r.Prior.Shrink(groups[i])
			sd := math.Hypot(s.SD, s.Pull*r.Prior.MeanSD)
			low, high := gammaQuantile(s.Rate, sd, (1-r.Level)/2), gammaQuantile(s.Rate, sd, (1+r.Level)/2)
			out.Rate, out.Low, out.High, out.Pull = &s.Rate, &low, &high, s.Pull
		}
		r.Groups = append(r.Groups, out)
	}
	return r, nil
}
