package service

import (
	"context"
	"sync"

	"overhang/analytics/owed"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/analytics/visits"
	"overhang/models"
	"overhang/models/store"
)

// book is what every listing of promises and visits is read from: all roofs
// that we laid or promised something on, judged for one day. It is made anew
// when a record has changed or the day has, and shared by whoever asks in
// between; nobody changes it.
type book struct {
	revision int64
	day      units.Date
	set      Settings
	files    []models.RoofFile
	place    map[int64]int // in files, by the roof's number
	venting  map[int64][]portfolio.AtticVenting
	promises map[int64][]portfolio.Judged
	due      visits.Result
	storms   []models.Storm
	faults   []string // roofs whose records could not be judged, and why

	costs map[int64]units.Money // of callbacks, by their number

	ahead   ahead
	reserve reserve
}

// reserve is what to set aside, by the rule for the last σ², found once for the
// book.
type reserve struct {
	mu    sync.Mutex
	found map[owed.LastSigma]*portfolio.ReserveBook
}

func (b *book) file(roofID int64) *models.RoofFile {
	i, found := b.place[roofID]
	if !found {
		return nil
	}
	return &b.files[i]
}

// shelf keeps the newest book.
type shelf struct {
	mu   sync.Mutex
	book *book
}

func (s *Service) openBook(ctx context.Context) (*book, error) {
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	return s.bookOn(ctx, s.Today(set))
}

// bookOn gives the book of a day. While one is made others wait for it.
func (s *Service) bookOn(ctx context.Context, day units.Date) (*book, error) {
	s.shelf.mu.Lock()
	defer s.shelf.mu.Unlock()
	q := s.Store.Query(ctx)
	revision, err := store.Revision(q)
	if err != nil {
		return nil, err
	}
	if b := s.shelf.book; b != nil && b.revision == revision && b.day == day {
		return b, nil
	}
	b, err := s.makeBook(q, day)
	if err != nil {
		return nil, err
	}
	b.revision = revision
	s.shelf.book = b
	return b, nil
}

func (s *Service) makeBook(q store.Query, day units.Date) (*book, error) {
	set, err := settings(q)
	if err != nil {
		return nil, err
	}
	b := &book{day: day, set: set, place: map[int64]int{}, venting: map[int64][]portfolio.AtticVenting{}, promises: map[int64][]portfolio.Judged{}}
	if b.files, err = bookFiles(q); err != nil {
		return nil, err
	}
	if b.storms, err = store.List[models.Storm](q, "on_day DESC, id", ""); err != nil {
		return nil, err
	}
	lines, err := store.Rows[struct {
		CallbackID int64
		Cost       units.Money
	}](q, "SELECT callback_id, sum(amount + tax) AS cost FROM cost_lines GROUP BY callback_id")
	if err != nil {
		return nil, err
	}
	b.costs = make(map[int64]units.Money, len(lines))
	for _, l := range lines {
		b.costs[l.CallbackID] = l.Cost
	}
	for i := range b.files {
		f := &b.files[i]
		b.place[f.Roof.ID] = i
		checks, err := portfolio.CheckVenting(f, &set.Branch)
		if err != nil {
			// One roof's odd measurements must not hide every other roof.
			b.faults = append(b.faults, f.Roof.Ref+": "+err.Error())
		}
		b.venting[f.Roof.ID] = checks
		judged, err := portfolio.JudgePromises(f, portfolio.Verdict(checks), day)
		if err != nil {
			b.faults = append(b.faults, f.Roof.Ref+": "+err.Error())
		}
		b.promises[f.Roof.ID] = judged
	}
	crossed, err := portfolio.Crossed(b.files, b.storms)
	if err != nil {
		return nil, err
	}
	if b.due, err = visits.WhoIsDue(portfolio.Visits(b.files, crossed, &set.Branch, day)); err != nil {
		return nil, err
	}
	for _, fault := range b.faults {
		s.Log.Warn("a roof could not be judged", "fault", fault)
	}
	return b, nil
}

// bookFiles reads all roofs that we laid or promised something on.
func bookFiles(q store.Query) ([]models.RoofFile, error) {
	ids, err := store.IDs(q, "SELECT id FROM roofs WHERE ours = 1 UNION SELECT roof_id FROM warranties ORDER BY 1")
	if err != nil {
		return nil, err
	}
	return store.RoofFiles(q, ids)
}
