package service

import (
	"cmp"
	"context"
	"slices"

	"overhang/analytics/owed"
	"overhang/analytics/portfolio"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// ReserveFile is the year-end drawer: the reserve on a day, which months are
// closed, and which may be closed next.
type ReserveFile struct {
	*portfolio.ReserveBook
	Closed []models.ClosedMonth
	// Closable are the months that may be closed now, the one to choose last: any
	// that is over where none was closed yet, the next one after that.
	Closable []units.Month
}

// FirstClosed is the first month that was closed (YYYY-MM); empty where none was.
func (f *ReserveFile) FirstClosed() string {
	if len(f.Closed) == 0 {
		return ""
	}
	return f.Closed[0].Month
}

// mostClosable is how many months back a first closing may be.
const mostClosable = 24

// Reserve reads the drawer as of today, or as it stood when a month (YYYY-MM) was
// closed. The rule is that for the last σ² of the chain ladder; empty is Mack's,
// and a closed month keeps that.
func (s *Service) Reserve(ctx context.Context, who Actor, month string, rule owed.LastSigma) (*ReserveFile, error) {
	if err := who.need(SeeMoney); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	closed, booked, err := store.Closed(q)
	if err != nil {
		return nil, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	today := s.Today(set)
	file := &ReserveFile{Closed: closed, Closable: closable(closed, today)}
	if month != "" {
		var provisions []models.ClosedProvision
		for _, m := range closed {
			if m.Month == month {
				if provisions, err = store.Provisions(q, m.ID); err != nil {
					return nil, err
				}
			}
		}
		file.ReserveBook, err = portfolio.ClosedReserve(closed, booked, provisions, month)
		return file, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	file.ReserveBook, err = b.reserveToday(q, rule, closed, booked)
	return file, err
}

// reserveToday finds what to set aside on the book's day, once for the book.
func (b *book) reserveToday(q store.Query, rule owed.LastSigma, closed []models.ClosedMonth, booked []models.BookedEntry) (*portfolio.ReserveBook, error) {
	rule = cmp.Or(rule, owed.MackSigma)
	b.reserve.mu.Lock()
	defer b.reserve.mu.Unlock()
	if r := b.reserve.found[rule]; r != nil {
		return r, nil
	}
	books, err := reserveBooks(q, b.files, b.verdicts(), &b.set.Branch)
	if err != nil {
		return nil, err
	}
	books.Closed, books.Booked = closed, booked
	r, err := portfolio.Reserve(*books, b.day, b.day, rule)
	if err != nil {
		return nil, err
	}
	if b.reserve.found == nil {
		b.reserve.found = map[owed.LastSigma]*portfolio.ReserveBook{}
	}
	b.reserve.found[rule] = r
	return r, nil
}

// verdicts are those on the ventilation of each roof.
func (b *book) verdicts() map[int64]promise.Verdict {
	out := make(map[int64]promise.Verdict, len(b.venting))
	for roof, checks := range b.venting {
		out[roof] = portfolio.Verdict(checks)
	}
	return out
}

// verdictsOf finds them without a book.
func verdictsOf(files []models.RoofFile, branch *models.Branch) map[int64]promise.Verdict {
	out := make(map[int64]promise.Verdict, len(files))
	for i := range files {
		checks, err := portfolio.CheckVenting(&files[i], branch)
		if err == nil { // where the measurements are odd the verdict is not known
			out[files[i].Roof.ID] = portfolio.Verdict(checks)
		}
	}
	return out
}

func reserveBooks(q store.Query, files []models.RoofFile, verdicts map[int64]promise.Verdict, branch *models.Branch) (*portfolio.Books, error) {
	b := &portfolio.Books{Files: files, Verdicts: verdicts, Branch: branch}
	var err error
	if b.Lots, b.Lives, err = lotsAndLives(q); err != nil {
		return nil, err
	}
	if b.Callbacks, err = store.List[models.Callback](q, "id", ""); err != nil {
		return nil, err
	}
	if b.Lines, err = store.List[models.CostLine](q, "id", ""); err != nil {
		return nil, err
	}
	b.Plans, err = store.List[models.Plan](q, "id", "")
	return b, err
}

func closable(closed []models.ClosedMonth, today units.Date) []units.Month {
	last := today.Month() - 1
	if n := len(closed); n > 0 {
		if next := closed[n-1].ClosedMonth() + 1; next <= last {
			return []units.Month{next}
		}
		return nil
	}
	var out []units.Month
	for m := last - mostClosable + 1; m <= last; m++ {
		out = append(out, m)
	}
	return out
}

// CloseMonth closes a month for good, with all before it. The first may be any of
// the last two years; after that they are closed one by one.
func (s *Service) CloseMonth(ctx context.Context, who Actor, month string) error {
	if err := who.need(CloseMonths); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		set, err := settings(tx.Query)
		if err != nil {
			return err
		}
		today := s.Today(set)
		closed, booked, err := store.Closed(tx.Query)
		if err != nil {
			return err
		}
		may := closable(closed, today)
		at := slices.IndexFunc(may, func(m units.Month) bool { return m.String() == month })
		if slices.ContainsFunc(closed, func(m models.ClosedMonth) bool { return m.Month == month }) {
			return models.Errorf(models.Conflict, "The month %s is closed already.", month)
		}
		if at < 0 {
			return models.FieldErrorf("month", month, "choose a month that is over and comes next after the last one closed")
		}
		files, err := bookFiles(tx.Query)
		if err != nil {
			return err
		}
		books, err := reserveBooks(tx.Query, files, verdictsOf(files, &set.Branch), &set.Branch)
		if err != nil {
			return err
		}
		books.Closed, books.Booked = closed, booked
		return closeMonth(tx, books, may[at], today, who)
	})
}

// closeMonth closes a month on a day and adds it to the books.
func closeMonth(tx *store.Tx, b *portfolio.Books, month units.Month, on units.Date, who Actor) error {
	r, err := portfolio.Reserve(*b, month.Last(), on, owed.MackSigma)
	if err != nil {
		return err
	}
	if !r.Tie.Ties() {
		return models.Errorf(models.Conflict, "The ledger does not hold the cost lines to the cent; the reserve page names the lines. Nothing was closed.")
	}
	m, provisions, entries := r.Close()
	m.ClosedOn, m.PersonID, m.ClosedBy = on, who.By().PersonID, who.By().Name
	if err := store.CloseMonth(tx, &m, provisions, entries); err != nil {
		return err
	}
	b.Closed, b.Booked = append(b.Closed, m), append(b.Booked, entries...)
	return nil
}
