package service

import (
	"context"
	"slices"
	"time"

	"overhang/analytics/geo"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/analytics/visits"
	"overhang/models"
	"overhang/models/store"
)

// DueRow is a roof with its next visit.
type DueRow struct {
	visits.Visit
	RoofID        int64
	RoofRef       string
	HouseID       int64
	Address       string
	Building      string // that the roof lies on, where it is not the house itself
	Neighbourhood string
	Placed        bool // its position is known, so it can stand in a day's route
	Trees         bool
	Purpose       string // storm_look when a storm asks for it, else checkup
}

func (b *book) dueRow(v visits.Visit) (DueRow, bool) {
	f := b.file(portfolio.ID(v.ID))
	if f == nil {
		return DueRow{}, false
	}
	row := DueRow{Visit: v, RoofID: f.Roof.ID, RoofRef: f.Roof.Ref, HouseID: f.House.ID, Address: f.Address.Line(), Building: f.Building(),
		Neighbourhood: f.House.Neighbourhood, Placed: f.House.Lat != nil, Trees: f.House.Trees != nil && *f.House.Trees, Purpose: "checkup"}
	if v.Storm {
		row.Purpose = "storm_look"
	}
	return row, true
}

// DueFilter says which roofs with a visit to come to list.
type DueFilter struct {
	State         visits.State // "" is due, or with a storm any; see also Soon
	Neighbourhood string
	Purpose       string
	Storm         int64 // only roofs that it crossed and that have not been looked at since
}

// The states that a list may ask for, beside those of package visits.
const (
	Overdue visits.State = "overdue" // due, and waited longer than a month
	Soon    visits.State = "soon"    // falls due within SoonDays, or when the season opens
)

// overdue says whether a visit is due and has waited longer than a month.
func overdue(v visits.Visit) bool {
	return v.State == visits.Due && v.OverdueDays != nil && *v.OverdueDays > 30
}

// SoonDays is how far ahead of the day a roof is listed as due soon.
const SoonDays = 45

// soonUntil is the last day on which a roof counts as due soon.
func (b *book) soonUntil() units.Date {
	return max(b.day.AddDays(SoonDays), portfolio.SeasonOpens(&b.set.Branch, b.day))
}

// choose lists the roofs with a visit to come that a filter lets through.
func (b *book) choose(f DueFilter) ([]DueRow, error) {
	var crossed map[int64]bool
	if f.Storm != 0 {
		at := slices.IndexFunc(b.storms, func(s models.Storm) bool { return s.ID == f.Storm })
		if at < 0 {
			return nil, models.Errorf(models.NotFound, "There is no such storm.")
		}
		_, notLooked, err := b.crossedBy(b.storms[at])
		if err != nil {
			return nil, err
		}
		crossed = notLooked
	}
	var rows []DueRow
	for _, v := range b.due.Visits {
		row, found := b.dueRow(v)
		switch {
		case !found, f.Neighbourhood != "" && row.Neighbourhood != f.Neighbourhood, f.Purpose != "" && row.Purpose != f.Purpose,
			f.Storm != 0 && !crossed[row.RoofID]:
			continue
		case f.State == "" && f.Storm != 0:
		case f.State == Overdue:
			if !overdue(v) {
				continue
			}
		case f.State == Soon:
			if v.State != visits.OK || v.DueOn > b.soonUntil() {
				continue
			}
		case f.State != "" && v.State != f.State, f.State == "" && v.State != visits.Due:
			continue
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// DueList is who is due, and who is booked on which day.
type DueList struct {
	Rows     []DueRow
	Total    int
	Counts   visits.Counts
	Overdue  int  // of those due, that have waited longer than a month
	Soon     int  // that fall due by SoonUntil
	Season   bool // crews are on roofs today
	Opens    units.Date
	Bookings []BookedDay

	SoonUntil      units.Date
	Neighbourhoods []string
}

// BookedDay is one day's route as booked.
type BookedDay struct {
	On       units.Date
	By       string
	Stops    []BookedStop
	Distance units.Length // from stop to stop as the crow flies, where positions are known
}

// BookedStop is one visit of a booked day.
type BookedStop struct {
	Visit   models.Visit
	Address string
	Roof    string // what it lies on, where that is not the house itself
	Notes   string // site notes of the house
	Phone   string
	Holder  string
	At      *geo.Point
	Leg     units.Length
	Trees   bool
	Pitch   *units.Pitch
	Slopes  []string         // that lie there, by name
	Earlier []models.Finding // of a repair: what was seen at the last visit that was done

	Callback *models.Callback // that the visit is for, for those who may see callbacks
}

// Due lists the roofs with a visit to come, the longest overdue first, and the
// days that are booked from today on.
func (s *Service) Due(ctx context.Context, who Actor, f DueFilter, page store.Page) (*DueList, error) {
	if err := who.need(SeeVisits); err != nil {
		return nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	list := &DueList{Counts: b.due.Counts, Season: portfolio.InSeason(&b.set.Branch, b.day), SoonUntil: b.soonUntil(),
		Opens: portfolio.SeasonOpens(&b.set.Branch, b.day)}
	if list.Rows, err = b.choose(f); err != nil {
		return nil, err
	}
	for _, v := range b.due.Visits {
		switch {
		case overdue(v):
			list.Overdue++
		case v.State == visits.OK && v.DueOn <= list.SoonUntil:
			list.Soon++
		}
	}
	for i := range b.files {
		if n := b.files[i].House.Neighbourhood; n != "" {
			list.Neighbourhoods = append(list.Neighbourhoods, n)
		}
	}
	slices.Sort(list.Neighbourhoods)
	list.Neighbourhoods = slices.Compact(list.Neighbourhoods)
	list.Total = len(list.Rows)
	offset, limit := page.Bounds()
	list.Rows = list.Rows[min(offset, len(list.Rows)):min(offset+limit, len(list.Rows))]
	list.Bookings, err = s.booked(ctx, who, b.day, 0)
	return list, err
}

// BookedOn reads one booked day, a route for each person who goes out.
func (s *Service) BookedOn(ctx context.Context, who Actor, day units.Date) ([]BookedDay, error) {
	if err := who.need(SeeVisits); err != nil {
		return nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	days, err := s.booked(ctx, who, day, day)
	if err != nil {
		return nil, err
	}
	for i := range days {
		for j := range days[i].Stops {
			b.prepare(&days[i].Stops[j])
		}
	}
	return days, nil
}

// prepare adds to a stop what whoever looks should know before.
func (b *book) prepare(stop *BookedStop) {
	for i := range b.files {
		f := &b.files[i]
		if f.House.ID != stop.Visit.HouseID || !f.Roof.EndedOn.IsZero() || (stop.Visit.RoofID != nil && *stop.Visit.RoofID != f.Roof.ID) {
			continue
		}
		stop.Trees = f.House.Trees != nil && *f.House.Trees
		stop.Pitch = f.Roof.Pitch
		if stop.Visit.RoofID != nil {
			stop.Roof = f.Building()
		}
		for _, s := range f.Slopes {
			if s.EndedOn.IsZero() {
				stop.Slopes = append(stop.Slopes, s.Name)
			}
		}
		if stop.Visit.Purpose != "repair" {
			return // what was seen last time would lead the eyes
		}
		for _, v := range slices.Backward(f.Visits) {
			if v.DoneOn.IsZero() {
				continue
			}
			for _, found := range f.Findings[v.ID] {
				if found.Look == "seen" {
					stop.Earlier = append(stop.Earlier, found)
				}
			}
			break
		}
		return
	}
}

// booked reads the days from first to last, or all from first on when last is
// none. A roofer sees them all: whoever is ill is stood in for.
func (s *Service) booked(ctx context.Context, who Actor, first, last units.Date) ([]BookedDay, error) {
	if last.IsZero() {
		last = first.AddYears(2)
	}
	q := s.Store.Query(ctx)
	booked, err := store.List[models.Visit](q, "booked_for, by_name, place_in_day, id",
		"booked_for BETWEEN ? AND ? AND done_on IS NULL AND cancelled_on IS NULL AND declined_on IS NULL", first, last)
	if err != nil {
		return nil, err
	}
	lines, err := store.HouseLines(q, booked, who.May(SeeContacts))
	if err != nil {
		return nil, err
	}
	about := map[int64]*models.Callback{}
	if who.May(SeeCallbacks) {
		var ids []int64
		for _, v := range booked {
			if v.CallbackID != nil {
				ids = append(ids, *v.CallbackID)
			}
		}
		callbacks, err := store.ListIn[models.Callback](q, "id", ids)
		if err != nil {
			return nil, err
		}
		for i := range callbacks {
			about[callbacks[i].ID] = &callbacks[i]
		}
	}
	var out []BookedDay
	for _, v := range booked {
		if n := len(out); n == 0 || out[n-1].On != v.BookedFor || out[n-1].By != v.ByName {
			out = append(out, BookedDay{On: v.BookedFor, By: v.ByName})
		}
		day := &out[len(out)-1]
		line := lines[v.HouseID]
		stop := BookedStop{Visit: v, Address: line.Address(), Notes: line.SiteNotes, Phone: line.Phone, Holder: line.Holder}
		if v.CallbackID != nil {
			stop.Callback = about[*v.CallbackID]
		}
		if line.Lat != nil {
			stop.At = &geo.Point{Lat: *line.Lat, Lon: *line.Lon}
			if n := len(day.Stops); n > 0 && day.Stops[n-1].At != nil {
				stop.Leg = geo.Distance(*day.Stops[n-1].At, *stop.At)
				day.Distance += stop.Leg
			}
		}
		day.Stops = append(day.Stops, stop)
	}
	return out, nil
}

// PlanDays proposes days for roofs that are due: which to visit together and in
// which order, from the branch's place. Nothing is booked yet.
func (s *Service) PlanDays(ctx context.Context, who Actor, f DueFilter, days int) (*DayPlan, error) {
	if err := who.need(BookVisits); err != nil {
		return nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	in := visits.PlanInput{Settings: visits.PlanSettings{MaxStops: b.set.Branch.VisitsPerDay, DayMinutes: 8 * 60, Back: true, Days: days}}
	plan := &DayPlan{rows: map[string]DueRow{}}
	f.State = visits.Due
	rows, err := b.choose(f)
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		if !row.Placed {
			plan.Unplaced = append(plan.Unplaced, row)
			continue
		}
		file := b.file(row.RoofID)
		stop := visits.Stop{ID: row.ID, At: geo.Point{Lat: *file.House.Lat, Lon: *file.House.Lon}}
		if row.OverdueDays != nil {
			stop.OverdueDays = *row.OverdueDays
		}
		in.Stops = append(in.Stops, stop)
		plan.rows[row.ID] = row
	}
	if len(in.Stops) == 0 {
		return plan, nil
	}
	in.Settings.Start = in.Stops[0].At
	if b.set.Branch.Lat != nil {
		in.Settings.Start = geo.Point{Lat: *b.set.Branch.Lat, Lon: *b.set.Branch.Lon}
	}
	if plan.Plan, err = visits.PlanDays(in); err != nil {
		return nil, err
	}
	// The days to offer are the next ones that crews are on roofs, Monday to
	// Friday.
	day := b.day
	for range plan.Days {
		day = portfolio.SeasonOpens(&b.set.Branch, day.AddDays(1))
		for day.Weekday() == time.Saturday || day.Weekday() == time.Sunday {
			day = portfolio.SeasonOpens(&b.set.Branch, day.AddDays(1))
		}
		plan.Offered = append(plan.Offered, day)
	}
	return plan, nil
}

// DayPlan is a proposal of days.
type DayPlan struct {
	visits.Plan
	Unplaced []DueRow     // due, but with no known position
	Offered  []units.Date // a day for each of Days
	rows     map[string]DueRow
}

// Row gives the roof of a stop.
func (p *DayPlan) Row(stop string) DueRow { return p.rows[stop] }

// Storms lists the storms, newest first, with the roofs of ours that each
// crossed and that have not been looked at since.
func (s *Service) Storms(ctx context.Context, who Actor) ([]StormRow, error) {
	if err := who.need(SeeVisits); err != nil {
		return nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	var out []StormRow
	for _, storm := range b.storms {
		crossed, notLooked, err := b.crossedBy(storm)
		if err != nil {
			return nil, err
		}
		out = append(out, StormRow{Storm: storm, Crossed: crossed, NotLooked: len(notLooked)})
	}
	return out, nil
}

// crossedBy counts the roofs that a storm crossed and that still lie, and names
// those of them that nobody has looked at since the day of the storm.
func (b *book) crossedBy(storm models.Storm) (crossed int, notLooked map[int64]bool, err error) {
	days, err := portfolio.Crossed(b.files, []models.Storm{storm})
	if err != nil {
		return 0, nil, err
	}
	notLooked = map[int64]bool{}
	for i := range b.files {
		f := &b.files[i]
		if len(days[f.Roof.ID]) == 0 || !f.Roof.EndedOn.IsZero() {
			continue
		}
		crossed++
		looked := func(v models.Visit) bool {
			return v.DoneOn > storm.On && (v.RoofID == nil || *v.RoofID == f.Roof.ID)
		}
		if !slices.ContainsFunc(f.Visits, looked) {
			notLooked[f.Roof.ID] = true
		}
	}
	return crossed, notLooked, nil
}

// StormRow is a storm with how many of our roofs it crossed.
type StormRow struct {
	Storm     models.Storm
	Crossed   int
	NotLooked int // not looked at since
}
