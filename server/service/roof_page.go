package service

import (
	"context"
	"slices"

	"overhang/analytics/lifespan"
	"overhang/analytics/portfolio"
	"overhang/analytics/wear"
	"overhang/models"
	"overhang/models/store"
)

// RoofPage is everything for a roof's own page. What the person may not see is
// left out.
type RoofPage struct {
	File      *models.RoofFile
	Life      *portfolio.Life // nil for a roof that has ended
	Ahead     *portfolio.Ahead
	Venting   []portfolio.AtticVenting
	Promises  []portfolio.Judged
	Next      *DueRow // its next visit, where one is to come
	Says      portfolio.RoofSays
	Looks     []portfolio.Look
	Crews     map[int64]string // names of the crews of its jobs
	Holders   []Holder
	Others    []OtherRoof // the house's other roofs, the newest first
	Callbacks []models.Callback
	// Faults say which records stood in the way of a calculation. The page
	// shows the rest.
	Faults []string

	// Kept is why the estimate and what earlier looks found are kept from the person;
	// nil where they are shown. Lifted is the booked look for which they would be, had
	// the person not asked for them all the same.
	Kept   *Keeping
	Lifted *models.Visit
}

// Told says whether the page tells how long the roof may last, or how looks rated it.
func (p *RoofPage) Told() bool {
	return p.Life != nil && !p.Life.Result.TooNew || slices.ContainsFunc(p.Looks, func(l portfolio.Look) bool { return l.Result.Part(wear.Covering).Rating != nil })
}

// Holder is whoever holds or held the house.
type Holder struct {
	Holding models.Holding
	Contact models.Contact
}

// OtherRoof is another roof of the same house.
type OtherRoof struct {
	Roof     models.Roof
	Covering string
}

// mostYearsAhead is the farthest year ahead that a roof's page can be asked for.
const mostYearsAhead = 99

// horizons are the years ahead for which a roof's page knows the chance that it
// still does its work.
var horizons = func() []float64 {
	var out []float64
	for years := range mostYearsAhead + 1 {
		out = append(out, float64(years))
	}
	return out
}()

// RoofFilter says which roofs to list.
type RoofFilter = store.RoofFilter

// RoofList is a page of roofs.
type RoofList struct {
	Rows           []store.RoofRow
	Total          int
	LikelyPast     int // standing roofs of ours that are likelier past their line than not
	Soon           int // standing roofs of ours that are likelier worn out within five years than not, those included
	Neighbourhoods []string
	// Kept says that the list tells of no roof how long it may last, to who goes up.
	Kept bool
}

// Roofs lists roofs with the years left as they were last estimated.
func (s *Service) Roofs(ctx context.Context, who Actor, f RoofFilter, page store.Page) (*RoofList, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	list := &RoofList{}
	var err error
	f.Blind, list.Kept = who.blind(), who.goesUp()
	if list.Rows, list.Total, err = store.Roofs(q, f, page); err != nil {
		return nil, err
	}
	if list.Neighbourhoods, err = store.Neighbourhoods(q); err != nil || list.Kept {
		return list, err
	}
	yes := true
	if _, list.LikelyPast, err = store.Roofs(q, RoofFilter{Ours: &yes, Standing: &yes, PastFrom: 0.5, Blind: f.Blind}, store.Page{Size: 1}); err != nil {
		return nil, err
	}
	_, list.Soon, err = store.Roofs(q, RoofFilter{Ours: &yes, Standing: &yes, SoonFrom: 0.5, Blind: f.Blind}, store.Page{Size: 1})
	return list, err
}

// likelyPast counts the standing roofs of ours that are likelier past their line
// than not.
func likelyPast(q store.Query) (int, error) {
	yes := true
	_, n, err := store.Roofs(q, RoofFilter{Ours: &yes, Standing: &yes, PastFrom: 0.5}, store.Page{Size: 1})
	return n, err
}

// Roof reads everything for a roof's own page, as of today.
func (s *Service) Roof(ctx context.Context, who Actor, id int64, wish Wish) (*RoofPage, error) {
	if err := who.need(SeeRoofs); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	set, err := settings(q)
	if err != nil {
		return nil, err
	}
	today := s.Today(set)
	f, err := store.RoofFile(q, id)
	if err != nil {
		return nil, err
	}
	p := &RoofPage{File: f, Crews: map[int64]string{}}
	fault := func(err error) {
		if err != nil {
			p.Faults = append(p.Faults, err.Error())
		}
	}
	p.Venting, err = portfolio.CheckVenting(f, &set.Branch)
	fault(err)
	showings, err := store.ShowingsOf(q, who.PersonID, f.House.ID)
	if err != nil {
		return nil, err
	}
	p.Kept, p.Lifted = keeping(who, f.Visits, &f.Roof, showings, today).wished(who, &f.Roof, wish)
	if p.Kept == nil {
		p.Looks, err = portfolio.Looks(f)
		fault(err)
	}
	if f.Roof.EndedOn.IsZero() && len(p.Faults) == 0 && p.Kept == nil {
		own, err := pooled(q)
		if err != nil {
			return nil, err
		}
		p.Life, err = portfolio.EstimateLife(new(lifespan.Estimator), f, p.Venting, s.heat.tables.Look, own, &set.Branch, today, horizons...)
		fault(err)
	}
	if p.Life != nil && !p.Life.Result.TooNew {
		p.Ahead, err = p.Life.LookAhead()
		fault(err)
	}
	if who.May(SeePromises) {
		p.Promises, err = portfolio.JudgePromises(f, portfolio.Verdict(p.Venting), today)
		fault(err)
	}
	says, faults := portfolio.Say(f, p.Venting, s.heat.run, &set.Branch, today)
	p.Says = says
	for _, err := range faults {
		fault(err)
	}
	if who.May(SeeVisits) {
		if p.Next, err = s.nextVisit(ctx, id); err != nil {
			return nil, err
		}
	}
	if who.May(SeeCallbacks) {
		p.Callbacks = f.Callbacks
		if !who.May(SeeContacts) {
			p.Callbacks = withoutCallers(p.Callbacks)
		}
	}
	if !who.May(SeeMoney) {
		for i := range f.Jobs {
			f.Jobs[i].Price, f.Jobs[i].Holdback = 0, 0
		}
	}
	crews, err := store.List[models.Crew](q, "name", "")
	if err != nil {
		return nil, err
	}
	for _, c := range crews {
		p.Crews[c.ID] = c.Name
	}
	if who.May(SeeContacts) {
		if p.Holders, err = holders(q, f.Holdings); err != nil {
			return nil, err
		}
	}
	roofs, err := store.List[models.Roof](q, "laid_on DESC", "house_id = ? AND id <> ?", f.House.ID, id)
	if err != nil {
		return nil, err
	}
	for _, r := range roofs {
		other := OtherRoof{Roof: r}
		if r.CoveringID != nil {
			c, err := store.Get[models.Covering](q, *r.CoveringID)
			if err != nil {
				return nil, err
			}
			other.Covering = c.Name
		}
		p.Others = append(p.Others, other)
	}
	return p, nil
}

func withoutCallers(in []models.Callback) []models.Callback {
	out := make([]models.Callback, len(in))
	for i, c := range in {
		c.Caller, c.Phone, c.AddressGiven = "", "", ""
		out[i] = c
	}
	return out
}

func holders(q store.Query, holdings []models.Holding) ([]Holder, error) {
	ids := make([]int64, len(holdings))
	for i, h := range holdings {
		ids[i] = h.ContactID
	}
	contacts, err := store.ListIn[models.Contact](q, "id", ids)
	if err != nil {
		return nil, err
	}
	byID := map[int64]models.Contact{}
	for _, c := range contacts {
		byID[c.ID] = c
	}
	var out []Holder
	for i := len(holdings) - 1; i >= 0; i-- {
		out = append(out, Holder{holdings[i], byID[holdings[i].ContactID]})
	}
	return out, nil
}

// nextVisit gives the next visit of a roof that is in the book, or nil.
func (s *Service) nextVisit(ctx context.Context, roofID int64) (*DueRow, error) {
	b, err := s.openBook(ctx)
	if err != nil || b.file(roofID) == nil {
		return nil, err
	}
	for _, v := range b.due.Visits {
		if portfolio.ID(v.ID) == roofID {
			row, found := b.dueRow(v)
			if found {
				return &row, nil
			}
		}
	}
	return nil, nil
}
