package service

import (
	"cmp"
	"context"
	"slices"

	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/analytics/visits"
	"overhang/models"
	"overhang/models/store"
)

// Today is what needs a person now. What the person may not see is left empty.
type Today struct {
	Day units.Date

	// Callbacks that are open: how many, how many of them wait past our promise
	// to ring back, and how many have water coming in. The most pressing stand
	// in Callbacks.
	Open          int
	Late          int
	WaterComingIn int
	LateWork      int // not looked at or repaired by when we promised
	ClaimsDue     int // claims with a day to keep within ClaimDays
	Callbacks     []CallbackRow

	// Check-ups and storm looks that are due, the longest overdue first, and the
	// routes booked for today.
	Due      int
	Overdue  int // by more than a month
	Storm    int // due because a storm crossed
	DueRows  []DueRow
	Season   bool
	Route    []BookedDay
	NextDays []BookedDay

	// Promises, each list in the order of its days: registrations that must reach
	// the maker soon, notices of a sale that must reach us, and those that end.
	Registrations []PromiseRow
	Notices       []PromiseRow // of a sale, that are due
	Ending        []PromiseRow

	// Houses to call on: how many are ranked, how many agreed to a day that has
	// come, and the likeliest.
	ToCallOn   int
	ComeBack   int
	Neighbours []NeighbourRow

	// Roofs of ours that are likelier past their line than not.
	LikelyPast int

	Jobs map[string]models.JobRun
}

// mostToday is how many rows each part of Today shows; the rest is a link away.
const mostToday = 6

// TodayFor gathers what needs a person now, as far as they may see it.
func (s *Service) TodayFor(ctx context.Context, who Actor) (*Today, error) {
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	t := &Today{Day: b.day, Season: portfolio.InSeason(&b.set.Branch, b.day)}
	q := s.Store.Query(ctx)
	if who.May(SeeCallbacks) {
		rows, total, err := s.Callbacks(ctx, who, store.CallbackFilter{State: "open"}, store.Page{Size: 500})
		if err != nil {
			return nil, err
		}
		t.Open = total
		for _, r := range rows {
			if r.Late {
				t.Late++
			}
			if r.Wet() {
				t.WaterComingIn++
			}
		}
		counts, err := s.CallbackCounts(ctx, who)
		if err != nil {
			return nil, err
		}
		t.LateWork = counts.Overdue
		if who.May(EditCosts) {
			claims, err := s.Claims(ctx, who, false)
			if err != nil {
				return nil, err
			}
			for i := range claims {
				if by := claims[i].DueBy(); !by.IsZero() && by <= b.day.AddDays(ClaimDays) {
					t.ClaimsDue++
				}
			}
		}
		t.Callbacks = rows[:min(mostToday, len(rows))]
	}
	if who.May(SeeVisits) {
		for _, v := range b.due.Visits {
			row, found := b.dueRow(v)
			if !found || v.State != visits.Due {
				continue
			}
			t.Due++
			if v.OverdueDays != nil && *v.OverdueDays > 30 {
				t.Overdue++
			}
			if row.Purpose == "storm_look" {
				t.Storm++
			}
			if len(t.DueRows) < mostToday {
				t.DueRows = append(t.DueRows, row)
			}
		}
		days, err := s.booked(ctx, who, b.day, 0)
		if err != nil {
			return nil, err
		}
		for _, day := range days {
			if day.On == b.day {
				t.Route = append(t.Route, day)
			} else if len(t.NextDays) < mostToday {
				t.NextDays = append(t.NextDays, day)
			}
		}
	}
	if who.May(SeePromises) {
		for _, row := range b.promiseRows() {
			if row.registrationAhead(b.day) {
				t.Registrations = append(t.Registrations, row)
			}
			if row.shown("notice", b.day) {
				t.Notices = append(t.Notices, row)
			}
			if row.shown("ending", b.day) {
				t.Ending = append(t.Ending, row)
			}
		}
		slices.SortStableFunc(t.Registrations, func(a, c PromiseRow) int {
			return cmp.Compare(a.RegistrationDue(), c.RegistrationDue())
		})
		slices.SortStableFunc(t.Notices, func(a, c PromiseRow) int { return cmp.Compare(a.NoticeDue(), c.NoticeDue()) })
		slices.SortStableFunc(t.Ending, func(a, c PromiseRow) int { return cmp.Compare(a.EndsOn, c.EndsOn) })
	}
	if who.May(SeeNeighbours) {
		r, err := s.rank(ctx)
		if err != nil {
			return nil, err
		}
		t.ToCallOn = r.result.Ranked
		for _, ranked := range r.result.Houses {
			h := r.houses[portfolio.ID(ranked.ID)]
			if h.State == "come_back" {
				t.ComeBack++
			}
			if len(t.Neighbours) < mostToday {
				t.Neighbours = append(t.Neighbours, NeighbourRow{Ranked: ranked, House: *h, Near: *r.ours[portfolio.ID(ranked.RoofID)]})
			}
		}
	}
	if who.May(SeeRoofs) && !who.goesUp() { // to who goes up the list behind it tells nothing
		if t.LikelyPast, err = likelyPast(q); err != nil {
			return nil, err
		}
	}
	if t.Jobs, err = s.LastRuns(ctx); err != nil {
		return nil, err
	}
	return t, nil
}
