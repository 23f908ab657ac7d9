package neighbours

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"overhang/analytics/geo"
	"overhang/analytics/units"
)

// Settings of a ranking. A zero takes the default.
type Settings struct {
	Radius          units.Length `json:"radius_m"`          // how far from our roofs to look; 250 m
	LikeYears       int          `json:"like_years"`        // build years this far apart still count as alike; 3
	HorizonYears    float64      `json:"horizon_years"`     // how far ahead a need counts; 5
	TypicalAgeYears float64      `json:"typical_age_years"` // age at replacement where ours is unknown; 20
	RestMonths      int          `json:"rest_months"`       // rest after "no" or "come back" without a next date; 12
	Limit           int          `json:"limit"`             // most houses to give; 0 gives all
}

func (s Settings) withDefaults() Settings {
	return Settings{
		Radius:          cmp.Or(s.Radius, 250),
		LikeYears:       cmp.Or(s.LikeYears, 3),
		HorizonYears:    cmp.Or(s.HorizonYears, 5),
		TypicalAgeYears: cmp.Or(s.TypicalAgeYears, 20),
		RestMonths:      cmp.Or(s.RestMonths, 12),
		Limit:           s.Limit,
	}
}

// Building is what is compared between two houses. Zero and empty are unknown.
type Building struct {
	BuildYear     int    `json:"build_year"`
	Builder       string `json:"builder"`
	Plan          string `json:"plan"` // the builder's plan
	Neighbourhood string `json:"neighbourhood"`
	Storeys       int    `json:"storeys"`
	Cladding      string `json:"cladding"`
}

// Roof is one that we laid. Zero and empty are unknown.
type Roof struct {
	ID      string    `json:"id"`
	HouseID string    `json:"house_id"` // the house it is on, which is left out
	At      geo.Point `json:"at"`
	Building
	Covering    string `json:"covering"`      // what we laid
	LaidYear    int    `json:"laid_year"`     // when
	OldCovering string `json:"old_covering"`  // what we took off
	OldLaidYear int    `json:"old_laid_year"` // when that had been laid
}

// House is one around our roofs. Zero and empty are unknown.
type House struct {
	ID string    `json:"id"`
	At geo.Point `json:"at"`
	Building
	Covering string     `json:"covering"`
	RoofYear int        `json:"roof_year"` // when its covering was laid
	Need     *float64   `json:"need"`      // chance that the covering is worn out within the horizon, where estimated
	Outcome  Outcome    `json:"outcome"`   // of the last call
	CalledOn units.Date `json:"called_on"` // the last call
	NextOn   units.Date `json:"next_on"`   // not to be called on before
	Stopped  bool       `json:"stopped"`   // on the stop-list
	Ours     bool       `json:"ours"`      // we laid its roof
}

// Outcome is how the last call at a house ended.
type Outcome string

// Outcomes of a call. The zero value is no call yet.
const (
	NotCalled  Outcome = "not_called"
	NobodyHome Outcome = "nobody_home"
	Spoke      Outcome = "spoke"
	ComeBack   Outcome = "come_back"
	WantsALook Outcome = "wants_a_look"
	No         Outcome = "no"
)

var outcomes = []Outcome{"", NotCalled, NobodyHome, Spoke, ComeBack, WantsALook, No}

// Input of a ranking.
type Input struct {
	Today    units.Date `json:"today"`
	Settings Settings   `json:"settings"`
	Roofs    []Roof     `json:"roofs"`
	Houses   []House    `json:"houses"`
}

// Result is the houses to call on, the best first, and how many were left out
// and why.
type Result struct {
	Houses  []Ranked `json:"houses"`
	Ranked  int      `json:"ranked"` // how many there are, also past the limit
	LeftOut LeftOut  `json:"left_out"`
}

// LeftOut counts the houses that are not in a ranking, each under the first rule
// that left it out.
type LeftOut struct {
	Ours    int `json:"ours"`
	Stopped int `json:"stopped"`
	Resting int `json:"resting"` // until their next date
	Far     int `json:"far"`     // no roof of ours within the radius
}

// Ranked is one house to call on.
type Ranked struct {
	ID        string       `json:"id"`
	Score     float64      `json:"score"`      // likeness × need
	Likeness  float64      `json:"likeness"`   // 0 to 1
	Need      float64      `json:"need"`       // 0 to 1
	NeedKnown bool         `json:"need_known"` // false where need counts half for want of facts
	Known     float64      `json:"known"`      // share of the likeness, by weight, that rests on known facts
	RoofID    string       `json:"roof_id"`    // our roof that it is most like
	Distance  units.Length `json:"distance_m"` // to that roof
	RoofsNear int          `json:"roofs_near"` // our roofs within the radius
	Reasons   []Reason     `json:"reasons"`
}

// Reason is one fact that made a house's place. Code names it, Params fill in
// its words.
type Reason struct {
	About  string         `json:"about"` // likeness, need or call
	Code   string         `json:"code"`
	Value  float64        `json:"value"`  // 0 to 1
	Weight float64        `json:"weight"` // in the likeness; 0 otherwise
	Known  bool           `json:"known"`
	Params map[string]any `json:"params,omitempty"`
}

// unknown is what a comparison counts when one side of it is unknown.
const unknown = 0.5

// Weights of the comparisons: common practice, no source.
const (
	weightPlan          = 3
	weightBuildYear     = 2
	weightCovering      = 2
	weightDistance      = 2
	weightNeighbourhood = 1
	weightStoreys       = 0.5
	weightCladding      = 0.5
	weightAll           = weightPlan + weightBuildYear + weightCovering + weightDistance + weightNeighbourhood + weightStoreys + weightCladding
)

// shape of the Weibull distribution of the age at replacement.
const shape = 4

// comparison is one part of a likeness, before it is put in words.
type comparison struct {
	code          string
	value, weight float64
	known         bool
	years         int // build years apart
}

// compare gives the seven parts of a likeness.
func (s *Settings) compare(r *Roof, h *House, d units.Length) [7]comparison {
	return [7]comparison{
		comparePlan(&r.Building, &h.Building),
		s.compareBuildYear(r.BuildYear, h.BuildYear),
		compareCovering(r, h),
		{code: "near", value: max(0, 1-float64(d/s.Radius)), weight: weightDistance, known: true},
		compareText("neighbourhood", r.Neighbourhood, h.Neighbourhood, weightNeighbourhood),
		compareStoreys(r.Storeys, h.Storeys),
		compareText("cladding", r.Cladding, h.Cladding, weightCladding),
	}
}

func comparePlan(r, h *Building) comparison {
	switch {
	case r.Builder == "" || h.Builder == "":
		return comparison{code: "builder_not_known", value: unknown, weight: weightPlan}
	case !strings.EqualFold(r.Builder, h.Builder):
		return comparison{code: "other_builder", weight: weightPlan, known: true}
	case r.Plan != "" && strings.EqualFold(r.Plan, h.Plan):
		return comparison{code: "same_plan", value: 1, weight: weightPlan, known: true}
	}
	return comparison{code: "same_builder", value: 0.8, weight: weightPlan, known: true}
}

func (s *Settings) compareBuildYear(r, h int) comparison {
	if r == 0 || h == 0 {
		return comparison{code: "build_year_not_known", value: unknown, weight: weightBuildYear}
	}
	apart := max(r-h, h-r)
	c := comparison{code: "built_about_then", value: max(0, 1-float64(apart)/float64(s.LikeYears+1)), weight: weightBuildYear, known: true, years: apart}
	if apart > s.LikeYears {
		c.code = "built_another_time"
	}
	return c
}

// compareCovering sets a house's covering against the one we took off, or where
// that is unknown against the one we laid.
func compareCovering(r *Roof, h *House) comparison {
	ours, same := r.OldCovering, "same_covering_as_taken_off"
	if ours == "" {
		ours, same = r.Covering, "same_covering_as_laid"
	}
	switch {
	case ours == "" || h.Covering == "":
		return comparison{code: "covering_not_known", value: unknown, weight: weightCovering}
	case strings.EqualFold(ours, h.Covering):
		return comparison{code: same, value: 1, weight: weightCovering, known: true}
	}
	return comparison{code: "other_covering", weight: weightCovering, known: true}
}

func compareText(what, r, h string, weight float64) comparison {
	switch {
	case r == "" || h == "":
		return comparison{code: what + "_not_known", value: unknown, weight: weight}
	case strings.EqualFold(r, h):
		return comparison{code: "same_" + what, value: 1, weight: weight, known: true}
	}
	return comparison{code: "other_" + what, weight: weight, known: true}
}

func compareStoreys(r, h int) comparison {
	switch {
	case r == 0 || h == 0:
		return comparison{code: "storeys_not_known", value: unknown, weight: weightStoreys}
	case r == h:
		return comparison{code: "same_storeys", value: 1, weight: weightStoreys, known: true}
	}
	return comparison{code: "other_storeys", weight: weightStoreys, known: true}
}

func likeness(parts *[7]comparison) float64 {
	sum := 0.0
	for i := range parts {
		sum += parts[i].value * parts[i].weight
	}
	return sum / weightAll
}

// need gives a house's need and why.
func (s *Settings) need(r *Roof, h *House, year int) Reason {
	if h.Need != nil {
		return Reason{About: "need", Code: "estimated", Value: *h.Need, Known: true, Params: map[string]any{"horizon_years": s.HorizonYears}}
	}
	median, from := s.replacedAt(r)
	age, code := year-h.RoofYear, "age_of_roof"
	if h.RoofYear == 0 {
		age, code = year-h.BuildYear, "age_of_house"
		if h.BuildYear == 0 || float64(age) > 1.5*median {
			return Reason{About: "need", Code: "need_not_known", Value: unknown}
		}
	}
	a, then := float64(max(age, 0))/median, (float64(max(age, 0))+s.HorizonYears)/median
	v := -math.Expm1(math.Ln2 * (math.Pow(a, shape) - math.Pow(then, shape)))
	return Reason{About: "need", Code: code, Value: v, Known: true, Params: map[string]any{
		"age_years": max(age, 0), "horizon_years": s.HorizonYears, "replaced_at_years": median, "replaced_at_from": from,
	}}
}

// replacedAt gives the age at which the covering that we took off was replaced,
// and where that comes from. Without its year, it is taken for the house's first
// roof when that makes it 8 to 45 years old.
func (s *Settings) replacedAt(r *Roof) (years float64, from string) {
	if r.LaidYear != 0 {
		if age := r.LaidYear - r.OldLaidYear; r.OldLaidYear != 0 && age >= 1 {
			return float64(age), "covering_taken_off"
		}
		if age := r.LaidYear - r.BuildYear; r.OldLaidYear == 0 && r.BuildYear != 0 && age >= 8 && age <= 45 {
			return float64(age), "first_roof_taken_off"
		}
	}
	return s.TypicalAgeYears, "typical"
}

// rests says whether a house is not to be called on yet.
func (s *Settings) rests(h *House, today units.Date) bool {
	switch {
	case !h.NextOn.IsZero():
		return h.NextOn > today
	case h.Outcome != No && h.Outcome != ComeBack:
		return false
	case h.CalledOn.IsZero():
		return true // when it was asked is unknown, so it is left in peace
	}
	return h.CalledOn.AddMonths(s.RestMonths) > today
}

// Validate names the first field that breaks a rule.
func (in *Input) Validate() error {
	s := &in.Settings
	switch {
	case in.Today.IsZero():
		return fmt.Errorf("today: is needed")
	case !(s.Radius >= 0 && s.Radius <= 10*units.Kilometre):
		return fmt.Errorf("settings.radius_m %v: must lie between 0 and 10,000", float64(s.Radius))
	case s.LikeYears < 0 || s.LikeYears > 50:
		return fmt.Errorf("settings.like_years %d: must lie between 0 and 50", s.LikeYears)
	case !(s.HorizonYears >= 0 && s.HorizonYears <= 30):
		return fmt.Errorf("settings.horizon_years %v: must lie between 0 and 30", s.HorizonYears)
	case s.TypicalAgeYears != 0 && !(s.TypicalAgeYears >= 5 && s.TypicalAgeYears <= 150):
		return fmt.Errorf("settings.typical_age_years %v: must lie between 5 and 150", s.TypicalAgeYears)
	case s.RestMonths < 0 || s.RestMonths > 240:
		return fmt.Errorf("settings.rest_months %d: must lie between 0 and 240", s.RestMonths)
	case s.Limit < 0:
		return fmt.Errorf("settings.limit %d: must not be negative", s.Limit)
	}
	for i := range in.Roofs {
		r := &in.Roofs[i]
		if r.ID == "" {
			return fmt.Errorf("roofs[%d].id: is needed", i)
		}
		if err := r.At.Validate(); err != nil {
			return fmt.Errorf("roofs[%d].at: %w", i, err)
		}
	}
	for i := range in.Houses {
		h := &in.Houses[i]
		if h.ID == "" {
			return fmt.Errorf("houses[%d].id: is needed", i)
		}
		if err := h.At.Validate(); err != nil {
			return fmt.Errorf("houses[%d].at: %w", i, err)
		}
		if h.Need != nil && !(*h.Need >= 0 && *h.Need <= 1) {
			return fmt.Errorf("houses[%d].need %v: must lie between 0 and 1", i, *h.Need)
		}
		if !slices.Contains(outcomes, h.Outcome) {
			return fmt.Errorf("houses[%d].outcome %q: must be one of %v", i, h.Outcome, outcomes[1:])
		}
	}
	return nil
}

// candidate is a house in the ranking before its reasons are written out.
type candidate struct {
	house, roof, near int
	distance          units.Length
	likeness, need    float64
}

// Rank gives the houses near our roofs in the order of their score, equal scores
// in the order of their ids. Each house is compared with the roofs within the
// radius alone, so the work grows with the houses and not with houses times
// roofs.
func Rank(in Input) (Result, error) {
	if err := in.Validate(); err != nil {
		return Result{}, err
	}
	s := in.Settings.withDefaults()
	places := make([]geo.Point, len(in.Roofs))
	ours := make(map[string]bool, len(in.Roofs))
	for i, r := range in.Roofs {
		places[i] = r.At
		if r.HouseID != "" {
			ours[r.HouseID] = true
		}
	}
	index := geo.NewIndex(places)
	var result Result
	var list []candidate
	for i := range in.Houses {
		h := &in.Houses[i]
		switch {
		case h.Ours || ours[h.ID]:
			result.LeftOut.Ours++
			continue
		case h.Stopped:
			result.LeftOut.Stopped++
			continue
		case s.rests(h, in.Today):
			result.LeftOut.Resting++
			continue
		}
		found := index.Within(h.At, s.Radius)
		if len(found) == 0 {
			result.LeftOut.Far++
			continue
		}
		best := candidate{house: i, near: len(found), likeness: -1}
		for _, f := range found {
			parts := s.compare(&in.Roofs[f.ID], h, f.Distance)
			l := likeness(&parts)
			if l > best.likeness || l == best.likeness && f.Distance == best.distance && in.Roofs[f.ID].ID < in.Roofs[best.roof].ID {
				best.roof, best.distance, best.likeness = f.ID, f.Distance, l
			}
		}
		best.need = s.need(&in.Roofs[best.roof], h, in.Today.Year()).Value
		list = append(list, best)
	}
	slices.SortFunc(list, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(b.likeness*b.need, a.likeness*a.need), cmp.Compare(in.Houses[a.house].ID, in.Houses[b.house].ID))
	})
	result.Ranked = len(list)
	if s.Limit > 0 && len(list) > s.Limit {
		list = list[:s.Limit]
	}
	result.Houses = make([]Ranked, len(list))
	for i, c := range list {
		result.Houses[i] = s.explain(&in, c)
	}
	return result, nil
}

// Rerank gives the ranking of all houses where some have changed: was and now hold
// these alone, as they were and as they are, with the same roofs, settings and day as
// the ranking, which has no limit. It is that of [Rank] for all.
func Rerank(of Result, was, now Input) (Result, error) {
	gone, err := Rank(was)
	if err != nil {
		return Result{}, fmt.Errorf("was: %w", err)
	}
	came, err := Rank(now)
	if err != nil {
		return Result{}, fmt.Errorf("now: %w", err)
	}
	changed := map[string]bool{}
	for _, h := range was.Houses {
		changed[h.ID] = true
	}
	out := Result{Ranked: of.Ranked - gone.Ranked + came.Ranked, LeftOut: LeftOut{
		Ours:    of.LeftOut.Ours - gone.LeftOut.Ours + came.LeftOut.Ours,
		Stopped: of.LeftOut.Stopped - gone.LeftOut.Stopped + came.LeftOut.Stopped,
		Resting: of.LeftOut.Resting - gone.LeftOut.Resting + came.LeftOut.Resting,
		Far:     of.LeftOut.Far - gone.LeftOut.Far + came.LeftOut.Far,
	}}
	out.Houses = make([]Ranked, 0, out.Ranked)
	for _, h := range of.Houses {
		if !changed[h.ID] {
			out.Houses = append(out.Houses, h)
		}
	}
	out.Houses = append(out.Houses, came.Houses...)
	slices.SortFunc(out.Houses, func(a, b Ranked) int {
		return cmp.Or(cmp.Compare(b.Score, a.Score), cmp.Compare(a.ID, b.ID))
	})
	return out, nil
}

func (s *Settings) explain(in *Input, c candidate) Ranked {
	r, h := &in.Roofs[c.roof], &in.Houses[c.house]
	need := s.need(r, h, in.Today.Year())
	out := Ranked{
		ID: h.ID, Score: c.likeness * c.need, Likeness: c.likeness, Need: c.need, NeedKnown: need.Known,
		RoofID: r.ID, Distance: c.distance, RoofsNear: c.near,
	}
	for _, p := range s.compare(r, h, c.distance) {
		reason := Reason{About: "likeness", Code: p.code, Value: p.value, Weight: p.weight, Known: p.known}
		switch p.code {
		case "near":
			reason.Params = map[string]any{"distance_m": float64(c.distance), "roofs_near": c.near}
		case "built_about_then", "built_another_time":
			reason.Params = map[string]any{"years_apart": p.years, "build_year": h.BuildYear}
		case "same_builder", "same_plan":
			reason.Params = map[string]any{"builder": h.Builder, "plan": h.Plan}
		case "same_covering_as_taken_off", "same_covering_as_laid":
			reason.Params = map[string]any{"covering": h.Covering}
		case "same_neighbourhood":
			reason.Params = map[string]any{"neighbourhood": h.Neighbourhood}
		}
		if p.known {
			out.Known += p.weight / weightAll
		}
		out.Reasons = append(out.Reasons, reason)
	}
	out.Reasons = append(out.Reasons, need)
	if h.Outcome != "" && h.Outcome != NotCalled {
		reason := Reason{About: "call", Code: "called_" + string(h.Outcome), Known: true}
		if !h.CalledOn.IsZero() {
			reason.Params = map[string]any{"called_on": h.CalledOn.String()}
		}
		out.Reasons = append(out.Reasons, reason)
	}
	return out
}
