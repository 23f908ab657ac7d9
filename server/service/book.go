package service

import (
	"context"
	"maps"
	"slices"
	"sync"

	"overhang/analytics/owed"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/analytics/visits"
	"overhang/models"
	"overhang/models/store"
)

// book is what every listing of promises and visits is read from: all roofs
// that we laid or promised something on, judged for one day. When a record has
// changed a new one is made, which takes over the roofs that the change does not
// touch; one is shared by whoever asks in between, and nobody changes it.
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
	faults   map[int64][]string // why records could not be judged, by the roof's number

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
	b, err := s.renewBook(q, day)
	if err != nil {
		return nil, err
	}
	b.revision = revision
	s.shelf.book = b
	return b, nil
}

// renewBook makes the book of a day, with what can be taken over of the newest one:
// the roofs that nothing has touched since, and of the same day what was judged of
// them.
func (s *Service) renewBook(q store.Query, day units.Date) (*book, error) {
	was := s.shelf.book
	if was == nil {
		return s.makeBook(q, day)
	}
	houses, few, err := was.touched(q)
	if err != nil {
		return nil, err
	}
	if !few {
		return s.makeBook(q, day)
	}
	b := &book{day: day, set: was.set, files: slices.Clone(was.files), place: was.place}
	var ids []int64
	for i := range b.files {
		if houses[b.files[i].House.ID] {
			ids = append(ids, b.files[i].Roof.ID)
		}
	}
	anew, err := store.RoofFiles(q, ids)
	if err != nil {
		return nil, err
	}
	for _, f := range anew {
		b.files[b.place[f.Roof.ID]] = f
	}
	if was.day != day {
		s.judgeAll(b)
		return b, b.gather(q)
	}
	b.venting, b.promises, b.faults = maps.Clone(was.venting), maps.Clone(was.promises), maps.Clone(was.faults)
	for i := range anew {
		s.judge(b, &anew[i])
	}
	return b, b.gather(q)
}

// touched gives the houses that records touch which changed since the book was made.
// It is false where that cannot be told, or is too much: then all is read again.
func (b *book) touched(q store.Query) (houses map[int64]bool, few bool, err error) {
	changed, houses, few, err := touchedSince(q, b.revision, func(t touch) reach { return t.files })
	if err != nil || !few {
		return nil, false, err
	}
	callbacks, visits := map[int64]bool{}, map[int64]bool{}
	for _, x := range changed {
		switch x.Record {
		case (*models.Callback)(nil).Noun():
			callbacks[x.RecordID] = true
		case (*models.Visit)(nil).Noun():
			visits[x.RecordID] = true
		}
	}
	// The material of a roof is judged by the callbacks of all roofs that have it, also
	// of those that the book has no file of.
	material, err := store.Count[models.Callback](q, "id IN ? AND cause_found = 'material'", slices.Collect(maps.Keys(callbacks)))
	if err != nil || material > 0 {
		return nil, false, err
	}
	// Where a record lay before it was changed is told by the book itself.
	for i := range b.files {
		f := &b.files[i]
		if slices.ContainsFunc(f.Troubles, func(t models.Trouble) bool { return callbacks[t.CallbackID] }) {
			return nil, false, nil
		}
		if slices.ContainsFunc(f.Callbacks, func(c models.Callback) bool { return callbacks[c.ID] }) ||
			slices.ContainsFunc(f.Visits, func(v models.Visit) bool { return visits[v.ID] }) {
			houses[f.House.ID] = true
		}
	}
	return houses, true, nil
}

func (s *Service) makeBook(q store.Query, day units.Date) (*book, error) {
	set, err := settings(q)
	if err != nil {
		return nil, err
	}
	b := &book{day: day, set: set, place: map[int64]int{}}
	if b.files, err = bookFiles(q); err != nil {
		return nil, err
	}
	for i := range b.files {
		b.place[b.files[i].Roof.ID] = i
	}
	s.judgeAll(b)
	return b, b.gather(q)
}

func (s *Service) judgeAll(b *book) {
	b.venting, b.promises, b.faults = map[int64][]portfolio.AtticVenting{}, map[int64][]portfolio.Judged{}, map[int64][]string{}
	for i := range b.files {
		s.judge(b, &b.files[i])
	}
}

// judge judges one roof of the book.
func (s *Service) judge(b *book, f *models.RoofFile) {
	id := f.Roof.ID
	delete(b.faults, id)
	fault := func(err error) {
		if err != nil {
			// One roof's odd measurements must not hide every other roof.
			b.faults[id] = append(b.faults[id], err.Error())
			s.Log.Warn("a roof could not be judged", "roof", f.Roof.Ref, "error", err)
		}
	}
	checks, err := portfolio.CheckVenting(f, &b.set.Branch)
	fault(err)
	b.venting[id] = checks
	b.promises[id], err = portfolio.JudgePromises(f, portfolio.Verdict(checks), b.day)
	fault(err)
}

// gather reads what the book says of all roofs together.
func (b *book) gather(q store.Query) (err error) {
	if b.storms, err = store.List[models.Storm](q, "on_day DESC, id", ""); err != nil {
		return err
	}
	lines, err := store.Rows[struct {
		CallbackID int64
		Cost       units.Money
	}](q, "SELECT callback_id, sum(amount + tax) AS cost FROM cost_lines GROUP BY callback_id")
	if err != nil {
		return err
	}
	b.costs = make(map[int64]units.Money, len(lines))
	for _, l := range lines {
		b.costs[l.CallbackID] = l.Cost
	}
	crossed, err := portfolio.Crossed(b.files, b.storms)
	if err != nil {
		return err
	}
	b.due, err = visits.WhoIsDue(portfolio.Visits(b.files, crossed, &b.set.Branch, b.day))
	return err
}

// bookFiles reads all roofs that we laid or promised something on.
func bookFiles(q store.Query) ([]models.RoofFile, error) {
	ids, err := store.IDs(q, "SELECT id FROM roofs WHERE ours = 1 UNION SELECT roof_id FROM warranties ORDER BY 1")
	if err != nil {
		return nil, err
	}
	return store.RoofFiles(q, ids)
}
