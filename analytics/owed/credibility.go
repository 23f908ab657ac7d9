package owed

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Observation is a mean of a group and how much it rests on: the mean cost of a
// crew's callbacks in a year with their number, or one cost with a weight of 1.
type Observation struct {
	Group  string   `json:"group"`
	Value  float64  `json:"value"`
	Weight *float64 `json:"weight,omitempty"` // left out it is 1
}

// CredibilityInput is what means are compared from.
type CredibilityInput struct {
	Observations []Observation `json:"observations"`
}

// CredibilityResult is the mean of each group, shrunk towards the collective one.
type CredibilityResult struct {
	Collective float64 `json:"collective"`
	// Within is the variance of an observation of weight 1 about its group's mean,
	// and Between that of the groups' means, as estimated: without bias, so that it
	// may come out at nought or below, which shrinks all to one mean. They are nil
	// where nothing tells them.
	Within  *float64    `json:"within,omitempty"`
	Between *float64    `json:"between,omitempty"`
	Groups  []GroupMean `json:"groups"` // in the order in which they are first given
	Notes   []Note      `json:"notes,omitempty"`
}

// GroupMean is the mean of a group. Mean and SE are nil where the variances are
// not known.
type GroupMean struct {
	Group        string   `json:"group"`
	Observations int      `json:"observations"`
	Weight       float64  `json:"weight"`
	Observed     float64  `json:"observed"`
	Credibility  float64  `json:"credibility"`    // how much of the mean is the group's own
	Mean         *float64 `json:"mean,omitempty"` // the collective one and its own, by that
	SE           *float64 `json:"se,omitempty"`
}

// Credibility compares groups by means that few observations cannot make look
// extreme, after Bühlmann and Straub: each is drawn towards the collective mean,
// the more the less weight it has.
func Credibility(in CredibilityInput) (CredibilityResult, error) {
	if len(in.Observations) == 0 {
		return CredibilityResult{}, errors.New("observations: give at least one")
	}
	r := CredibilityResult{}
	var groups []ownMean
	for i, o := range in.Observations {
		weight := 1.0
		if o.Weight != nil {
			weight = *o.Weight
		}
		if !(math.Abs(o.Value) <= 1e12) {
			return CredibilityResult{}, fmt.Errorf("observations[%d].value: must lie between -1e12 and 1e12, not %v", i, o.Value)
		}
		if !(weight > 0 && weight <= 1e12) {
			return CredibilityResult{}, fmt.Errorf("observations[%d].weight: must lie above 0 and up to 1e12, not %v", i, weight)
		}
		k := slices.IndexFunc(r.Groups, func(g GroupMean) bool { return g.Group == o.Group })
		if k < 0 {
			k = len(r.Groups)
			r.Groups, groups = append(r.Groups, GroupMean{Group: o.Group}), append(groups, ownMean{})
		}
		groups[k].add(o.Value, weight)
	}
	within, known := spreadWithin(groups)
	between := 0.0
	if known {
		r.Within = &within
	} else {
		r.Notes = append(r.Notes, Note{Code: "no_spread_within", Sentence: sentences["no_spread_within"]})
	}
	if b, told := spreadBetween(groups, within); known && told {
		r.Between, between = &b, max(0, b)
	}
	if r.Between != nil && between == 0 {
		r.Notes = append(r.Notes, Note{Code: "one_group_mean", Sentence: sentences["one_group_mean"]})
	}
	c := collect(groups, within, between)
	r.Collective = c.mean
	for k, own := range groups {
		g := &r.Groups[k]
		g.Observations, g.Weight, g.Observed = own.count, own.weight, own.mean
		if known {
			mean, variance := c.shrink(own)
			se := math.Sqrt(variance)
			g.Credibility, g.Mean, g.SE = c.credibility(own), &mean, &se
		}
	}
	return r, nil
}

// ownMean is the observations of a group: their mean by weight, and the squares
// about it.
type ownMean struct {
	count                 int
	weight, mean, squares float64
}

// add takes one more in, moving the mean by its part.
func (o *ownMean) add(value, weight float64) {
	apart, part := value-o.mean, weight/(o.weight+weight)
	o.squares += o.weight * part * apart * apart
	o.mean += part * apart
	o.weight += weight
	o.count++
}

// spreadWithin is the variance of an observation of weight 1 about its group's
// mean, without bias. It is not known where no group has two.
func spreadWithin(groups []ownMean) (variance float64, known bool) {
	squares, freedom := 0.0, 0
	for _, g := range groups {
		if g.count > 0 {
			squares += g.squares
			freedom += g.count - 1
		}
	}
	if freedom == 0 {
		return 0, false
	}
	return squares / float64(freedom), true
}

// spreadBetween is the variance of the groups' own means, without bias, when that
// of an observation within them is known. One group does not tell it.
func spreadBetween(groups []ownMean, within float64) (variance float64, known bool) {
	var means ownMean
	weights := 0.0
	for _, g := range groups {
		if g.count > 0 {
			means.add(g.mean, g.weight)
			weights += g.weight * g.weight
		}
	}
	if means.count < 2 {
		return 0, false
	}
	return (means.squares - float64(means.count-1)*within) / (means.weight - weights/means.weight), true
}

// collective is the mean that groups are drawn towards, and the variances that
// say how far.
type collective struct{ mean, variance, within, between float64 }

// collect weighs the groups' means by their credibility, or where they do not
// differ all observations alike, which is of the least variance in both cases.
func collect(groups []ownMean, within, between float64) collective {
	out := collective{within: within, between: between}
	var means ownMean
	for _, g := range groups {
		weight := g.weight
		if between > 0 {
			weight = out.credibility(g)
		}
		if g.count > 0 {
			means.add(g.mean, weight)
		}
	}
	out.mean = means.mean
	out.variance = within / means.weight
	if between > 0 {
		out.variance = between / means.weight
	}
	return out
}

// credibility is how much of a group's mean is its own.
func (c collective) credibility(of ownMean) float64 {
	if !(c.between > 0) || of.count == 0 {
		return 0
	}
	return of.weight / (of.weight + c.within/c.between)
}

// shrink gives the mean of a group, which may have no observation, and the
// variance of what is not known of it: of its own mean, given what was observed,
// and of the collective one.
func (c collective) shrink(of ownMean) (mean, variance float64) {
	own := c.credibility(of)
	return own*of.mean + (1-own)*c.mean, (1-own)*c.between + (1-own)*(1-own)*c.variance
}
