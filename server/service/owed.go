package service

import (
	"cmp"
	"context"
	"slices"
	"strconv"
	"sync"

	"overhang/analytics/owed"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// ahead is what callbacks ahead are expected to cost, found once for the book.
type ahead struct {
	mu     sync.Mutex
	found  bool
	in     owed.ModelInput
	fit    *owed.Fitted
	result owed.ModelResult
	names  OwedNames

	scenarios map[[2]int64]ScenarioOutcome // by number and version
}

// OwedNames are the names of what is kept by number in the result.
type OwedNames struct {
	Terms, Crews, Coverings map[string]string
}

// lookAhead finds it; others wait meanwhile. A reading that was broken off is
// not kept.
func (b *book) lookAhead(q store.Query) error {
	b.ahead.mu.Lock()
	defer b.ahead.mu.Unlock()
	if b.ahead.found {
		return nil
	}
	err := b.findAhead(q)
	b.ahead.found = err == nil
	return err
}

func (b *book) findAhead(q store.Query) error {
	rec := portfolio.OwedRecords{Costs: map[int64]units.Money{}, CostOn: map[int64]units.Date{}, Lives: map[int64]owed.YearsLeft{},
		Promises: b.promises, Branch: &b.set.Branch}
	borne, err := store.BorneByUs(q)
	if err != nil {
		return err
	}
	for number, c := range borne {
		rec.Costs[number], rec.CostOn[number] = c.Cost, c.LastOn
	}
	lots, lives, err := lotsAndLives(q)
	if err != nil {
		return err
	}
	rec.Lots = lots
	for roof, l := range lives {
		rec.Lives[roof] = l.Left(b.day, b.set.Branch.StandingLagYears)
	}
	crews, err := store.List[models.Crew](q, "id", "")
	if err != nil {
		return err
	}
	b.ahead.names = OwedNames{Terms: map[string]string{}, Crews: map[string]string{}, Coverings: map[string]string{}}
	for _, c := range crews {
		b.ahead.names.Crews[number(c.ID)] = c.Name
	}
	for i := range b.files {
		f := &b.files[i]
		for _, t := range f.Terms {
			b.ahead.names.Terms[number(t.ID)] = t.Name
		}
		if f.Covering != nil {
			b.ahead.names.Coverings[number(f.Covering.ID)] = f.Covering.Name
		}
	}
	b.ahead.in = portfolio.OwedModel(b.files, rec, b.day)
	b.ahead.scenarios = map[[2]int64]ScenarioOutcome{}
	if b.ahead.fit, err = owed.Fit(b.ahead.in); err != nil {
		return err
	}
	b.ahead.result, err = b.ahead.fit.Result()
	return err
}

// lotsAndLives reads the lot that most of each job was laid with, and the newest
// estimate of each roof.
func lotsAndLives(q store.Query) (map[int64]string, map[int64]portfolio.KnownLife, error) {
	list, err := store.List[models.Lot](q, "job_id, coalesce(bundles, 0), number DESC", "number <> ''")
	if err != nil {
		return nil, nil, err
	}
	lots := make(map[int64]string, len(list))
	for _, l := range list { // the one with most bundles is last
		lots[l.JobID] = l.Number
	}
	newest, err := store.NewestLives(q)
	if err != nil {
		return nil, nil, err
	}
	lives := make(map[int64]portfolio.KnownLife, len(newest))
	for roof, l := range newest {
		lives[roof] = portfolio.KnownLife{AsOf: l.AsOf, Low: l.Low, Middle: l.Middle, High: l.High}
	}
	return lots, lives, nil
}

func number(id int64) string { return strconv.FormatInt(id, 10) }

// OwedReview is what is owed in the years ahead, by everything that it is told
// by, with what it rests on.
type OwedReview struct {
	Result    owed.ModelResult
	Names     OwedNames
	Scenarios []ScenarioOutcome
	Crews     bool // may be seen by crew
}

// OwedReview finds what is owed in the years ahead. What belongs to a crew is
// left out for those who may not see crews.
func (s *Service) OwedReview(ctx context.Context, who Actor) (*OwedReview, error) {
	b, err := s.bookAhead(ctx, who)
	if err != nil {
		return nil, err
	}
	r := &OwedReview{Result: b.ahead.result, Names: b.ahead.names, Crews: who.May(SeeCrews)}
	kept, err := store.List[models.Scenario](s.Store.Query(ctx), "name, id", "ended_on IS NULL")
	if err != nil {
		return nil, err
	}
	for i := range kept {
		if kept[i].Kind == "lap_habit" && !r.Crews {
			continue
		}
		o, err := b.outcome(&kept[i])
		if err != nil {
			return nil, err
		}
		r.Scenarios = append(r.Scenarios, o)
	}
	if !r.Crews {
		by := map[string][]owed.ModelPart{}
		for name, list := range r.Result.By {
			if name != "crew" {
				by[name] = list
			}
		}
		r.Result.By = by
		r.Result.Effects = slices.DeleteFunc(slices.Clone(r.Result.Effects), func(e owed.LevelEffect) bool { return e.Factor == "crew" || e.Factor == "crew_cause" })
	}
	return r, nil
}

// bookAhead opens the book with what is ahead for those who may see money.
func (s *Service) bookAhead(ctx context.Context, who Actor) (*book, error) {
	if err := who.need(SeeMoney); err != nil {
		return nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	return b, b.lookAhead(s.Store.Query(ctx))
}

// ScenarioOutcome is a scenario beside what is expected without it.
type ScenarioOutcome struct {
	Scenario models.Scenario
	Base     owed.ScenarioCost
	With     owed.ScenarioCost
	Wrong    string // why it could not be worked out
	Roofs    []string
}

// outcome works a scenario out, once for the book.
func (b *book) outcome(sc *models.Scenario) (ScenarioOutcome, error) {
	key := [2]int64{sc.ID, sc.Version}
	b.ahead.mu.Lock()
	defer b.ahead.mu.Unlock()
	if o, known := b.ahead.scenarios[key]; known && sc.ID != 0 {
		return o, nil
	}
	o := ScenarioOutcome{Scenario: *sc}
	var storm *models.Storm
	for i := range b.storms {
		if sc.StormID != nil && b.storms[i].ID == *sc.StormID {
			storm = &b.storms[i]
		}
	}
	about, err := portfolio.InScenario(b.files, &b.ahead.in, sc, storm)
	if err != nil {
		return o, err
	}
	for i := range b.ahead.in.Roofs {
		if r := &b.ahead.in.Roofs[i]; about[r.ID] && r.Until > b.day {
			o.Roofs = append(o.Roofs, r.ID)
		}
	}
	o.Base, o.With, err = b.ahead.fit.WhatIf(portfolio.WhatIf(sc, &b.ahead.in, about))
	if err != nil {
		o.Wrong = err.Error()
	}
	b.ahead.scenarios[key] = o
	return o, nil
}

// OwedRow is what is expected of one promise.
type OwedRow struct {
	PromiseRow
	Callbacks float64
	Expected  units.Money
}

// OwedBy lists the promises behind a figure of the review, those that are
// expected to cost most first: of the terms, crew, covering, lot or
// neighbourhood named, with time ahead in a year, or in a scenario. Empty is all.
func (s *Service) OwedBy(ctx context.Context, who Actor, by, of string, page store.Page) (rows []OwedRow, total int, sum units.Money, err error) {
	b, err := s.bookAhead(ctx, who)
	if err != nil {
		return nil, 0, 0, err
	}
	if by == "crew" {
		if err := who.need(SeeCrews); err != nil {
			return nil, 0, 0, err
		}
	}
	if by == "scenario" {
		if _, err := s.Scenario(ctx, who, portfolio.ID(of)); err != nil {
			return nil, 0, 0, err
		}
	}
	in, err := b.behind(s.Store.Query(ctx), by, of)
	if err != nil {
		return nil, 0, 0, err
	}
	expected := 0.0
	for _, p := range b.ahead.result.Promises {
		r := &b.ahead.in.Roofs[p.Row]
		if !in(r) {
			continue
		}
		row := OwedRow{Callbacks: p.Callbacks, Expected: units.Money(p.Expected + .5)}
		expected += p.Expected
		for _, j := range b.promises[portfolio.ID(r.ID)] {
			if j.Warranty.OwedBy == "us" && number(j.Terms.ID) == r.Terms && j.Warranty.StartOn == r.From {
				f := b.file(portfolio.ID(r.ID))
				row.PromiseRow = PromiseRow{Judged: j, RoofID: f.Roof.ID, RoofRef: f.Roof.Ref, HouseID: f.House.ID, Address: f.Address.Line(), EndsOn: j.Result.LastDay}
			}
		}
		rows = append(rows, row)
	}
	slices.SortStableFunc(rows, func(a, c OwedRow) int { return cmp.Compare(c.Expected, a.Expected) })
	total = len(rows)
	offset, limit := page.Bounds()
	return rows[min(offset, total):min(offset+limit, total)], total, units.Money(expected + .5), nil
}

// behind says which roofs are behind a figure.
func (b *book) behind(q store.Query, by, of string) (func(*owed.ModelRoof) bool, error) {
	switch by {
	case "":
		return func(*owed.ModelRoof) bool { return true }, nil
	case "terms":
		return func(r *owed.ModelRoof) bool { return r.Terms == of }, nil
	case "crew":
		return func(r *owed.ModelRoof) bool { return r.Crew == of }, nil
	case "covering":
		return func(r *owed.ModelRoof) bool { return r.Covering == of }, nil
	case "lot":
		return func(r *owed.ModelRoof) bool { return r.Lot == of }, nil
	case "neighbourhood":
		return func(r *owed.ModelRoof) bool { return r.Neighbourhood == of }, nil
	case "year":
		year := portfolio.ID(of)
		return func(r *owed.ModelRoof) bool {
			return r.Until >= units.NewDate(int(year), 1, 1) && r.From <= units.NewDate(int(year), 12, 31)
		}, nil
	case "scenario":
		sc, err := store.Get[models.Scenario](q, portfolio.ID(of))
		if err != nil {
			return nil, err
		}
		o, err := b.outcome(sc)
		if err != nil {
			return nil, err
		}
		return func(r *owed.ModelRoof) bool { return slices.Contains(o.Roofs, r.ID) }, nil
	}
	return nil, models.Errorf(models.NotFound, "There is no such list.")
}

// ScenarioDraft is what a scenario can be built from.
type ScenarioDraft struct {
	Lots   []LotCount // those on most roofs first
	Crews  []models.Crew
	Storms []models.Storm
	Causes []string // fitted together as one
	Years  []int    // ahead
}

// LotCount is a lot and how many roofs under promises it lies on.
type LotCount struct {
	Number string
	Roofs  int
}

// NewScenario reads what a scenario can be built from.
func (s *Service) NewScenario(ctx context.Context, who Actor) (*ScenarioDraft, error) {
	b, err := s.bookAhead(ctx, who)
	if err != nil {
		return nil, err
	}
	d := &ScenarioDraft{Storms: b.storms}
	lots := map[string]int{}
	for i := range b.ahead.in.Roofs {
		if r := &b.ahead.in.Roofs[i]; r.Lot != "" && r.Until > b.day {
			lots[r.Lot]++
		}
	}
	for name, n := range lots {
		d.Lots = append(d.Lots, LotCount{name, n})
	}
	slices.SortFunc(d.Lots, func(a, c LotCount) int { return cmp.Or(cmp.Compare(c.Roofs, a.Roofs), cmp.Compare(a.Number, c.Number)) })
	for _, y := range b.ahead.result.Years {
		d.Years = append(d.Years, y.Year)
	}
	if who.May(SeeCrews) {
		d.Crews, err = store.List[models.Crew](s.Store.Query(ctx), "name", "")
	}
	return d, err
}

// Scenario reads one scenario with its outcome.
func (s *Service) Scenario(ctx context.Context, who Actor, id int64) (*ScenarioOutcome, error) {
	b, err := s.bookAhead(ctx, who)
	if err != nil {
		return nil, err
	}
	sc, err := store.Get[models.Scenario](s.Store.Query(ctx), id)
	if err != nil {
		return nil, err
	}
	if sc.Kind == "lap_habit" {
		if err := who.need(SeeCrews); err != nil {
			return nil, err
		}
	}
	o, err := b.outcome(sc)
	return &o, err
}

// SaveScenario keeps a new scenario or a changed one.
func (s *Service) SaveScenario(ctx context.Context, who Actor, sc *models.Scenario) error {
	if sc.Kind == "lap_habit" {
		if err := who.need(SeeCrews); err != nil {
			return err
		}
	}
	return s.save(ctx, who, SeeMoney, sc)
}
