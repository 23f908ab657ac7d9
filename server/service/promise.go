package service

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"overhang/analytics/owed"
	"overhang/analytics/portfolio"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// PromiseFilter says which promises to list.
type PromiseFilter struct {
	Show string // one of PromiseShows; "" is in force
	Ours bool   // only what we owe ourselves
	Text string // in the address, the ref
	Ends int    // only those that end in that year; 0 is every year
}

// PromiseShows are the parts of the list of promises.
var PromiseShows = []string{"in_force", "not_shown", "ending", "registration", "notice", "not_offered", "ended"}

// PromiseRow is one promise in a listing.
type PromiseRow struct {
	portfolio.Judged
	RoofID  int64
	RoofRef string
	HouseID int64
	Address string
	EndsOn  units.Date
}

// EndingDays is how far ahead a promise counts as ending: half a year, so that
// a last look still falls into a season. RegistrationDays is how far ahead a
// registration with the maker is called for, and how long after its last day it
// is still listed, for a maker may take it late.
const (
	EndingDays       = 180
	RegistrationDays = 30
)

func (r PromiseRow) shown(show string, day units.Date) bool {
	switch show {
	case "not_shown":
		return r.InForce() && r.NotShown() > 0
	case "ending":
		return r.InForce() && r.EndsOn <= day.AddDays(EndingDays)
	case "registration":
		return r.RegistrationWaits(day)
	case "notice":
		return r.InForce() && r.NoticeDue() != 0
	case "not_offered":
		return r.InForce() && len(r.NotGiven) > 0
	case "ended":
		return r.Result.State == promise.Ended
	}
	return r.InForce()
}

// RegistrationWaits says whether the promise waits for its registration with the
// maker, or has missed it not long ago.
func (r PromiseRow) RegistrationWaits(day units.Date) bool {
	due := r.RegistrationDue()
	return !due.IsZero() && due >= day.AddDays(-RegistrationDays) && r.Warranty.RegisteredOn.IsZero() && r.Warranty.EndedOn.IsZero() && r.Result.State != promise.Ended
}

// registrationAhead says whether the registration can still be in time and its
// last day is near.
func (r PromiseRow) registrationAhead(day units.Date) bool {
	due := r.RegistrationDue()
	return r.RegistrationWaits(day) && due >= day && due <= day.AddDays(RegistrationDays)
}

func (b *book) promiseRows() []PromiseRow {
	var rows []PromiseRow
	for i := range b.files {
		f := &b.files[i]
		for _, j := range b.promises[f.Roof.ID] {
			rows = append(rows, PromiseRow{Judged: j, RoofID: f.Roof.ID, RoofRef: f.Roof.Ref, HouseID: f.House.ID,
				Address: f.Address.Line(), EndsOn: j.Result.LastDay})
		}
	}
	return rows
}

// PromiseList is a page of promises, how many each part of the list has, and
// what is owed for those who may see money.
type PromiseList struct {
	Rows   []PromiseRow
	Total  int
	Counts map[string]int // by PromiseShows
	Roofs  int            // with a promise of ours in force
	Years  []PromiseYear
	Owed   *owed.ModelResult
}

// PromiseYear is how many promises in force end in a year, and how many of them
// are ours.
type PromiseYear struct{ Year, Ends, Ours int }

// Promises lists promises, those that end soonest first.
func (s *Service) Promises(ctx context.Context, who Actor, f PromiseFilter, page store.Page) (*PromiseList, error) {
	list, b, err := s.allPromises(ctx, who, f)
	if err != nil {
		return nil, err
	}
	offset, limit := page.Bounds()
	list.Rows = list.Rows[min(offset, len(list.Rows)):min(offset+limit, len(list.Rows))]
	if who.May(SeeMoney) {
		if err := b.lookAhead(s.Store.Query(ctx)); err != nil {
			return nil, err
		}
		list.Owed = &b.ahead.result
	}
	return list, nil
}

// EveryPromise gives every row of a listing of promises, for a file.
func (s *Service) EveryPromise(ctx context.Context, who Actor, f PromiseFilter) ([]PromiseRow, error) {
	if err := who.need(Export); err != nil {
		return nil, err
	}
	list, _, err := s.allPromises(ctx, who, f)
	if err != nil {
		return nil, err
	}
	return list.Rows, nil
}

func (s *Service) allPromises(ctx context.Context, who Actor, f PromiseFilter) (*PromiseList, *book, error) {
	if err := who.need(SeePromises); err != nil {
		return nil, nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, nil, err
	}
	list := &PromiseList{Counts: map[string]int{}}
	roofs, years := map[int64]bool{}, map[int]*PromiseYear{}
	text := models.Fold(f.Text)
	for _, row := range b.promiseRows() {
		for _, show := range PromiseShows {
			if row.shown(show, b.day) {
				list.Counts[show]++
			}
		}
		ours := row.Warranty.OwedBy == "us"
		if row.InForce() {
			year := years[row.EndsOn.Year()]
			if year == nil {
				year = &PromiseYear{Year: row.EndsOn.Year()}
				years[year.Year] = year
			}
			year.Ends++
			if ours {
				year.Ours++
				roofs[row.RoofID] = true
			}
		}
		if row.shown(f.Show, b.day) && (!f.Ours || ours) && (f.Ends == 0 || row.EndsOn.Year() == f.Ends) &&
			(text == "" || strings.Contains(models.Fold(row.Address+" "+row.Warranty.Ref+" "+row.RoofRef), text)) {
			list.Rows = append(list.Rows, row)
		}
	}
	list.Roofs, list.Total = len(roofs), len(list.Rows)
	for _, y := range years {
		list.Years = append(list.Years, *y)
	}
	slices.SortFunc(list.Years, func(a, c PromiseYear) int { return cmp.Compare(a.Year, c.Year) })
	slices.SortStableFunc(list.Rows, func(a, c PromiseRow) int {
		switch f.Show {
		case "registration":
			return cmp.Compare(a.RegistrationDue(), c.RegistrationDue())
		case "notice":
			return cmp.Compare(a.NoticeDue(), c.NoticeDue())
		case "ended":
			a, c = c, a
		}
		return cmp.Compare(a.EndsOn, c.EndsOn)
	})
	return list, b, nil
}

// PromiseFile is one warranty with what it rests on.
type PromiseFile struct {
	On       units.Date // the day it is judged for
	Warranty models.Warranty
	Holder   *models.Contact // of the house now; nil where nobody is known
	Terms    models.Terms
	Judged   *portfolio.Judged // nil where the records of the roof could not be judged
	Roof     *models.RoofFile
	Job      *models.Job // the one it was signed with, where known
	Trail    []models.AuditEntry
}

// Promise reads one warranty, judged as of a day by what is known today, or as of
// today where no day is given.
func (s *Service) Promise(ctx context.Context, who Actor, id int64, on units.Date) (*PromiseFile, error) {
	w, err := s.Warranty(ctx, who, id)
	if err != nil {
		return nil, err
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return nil, err
	}
	f := &PromiseFile{On: cmp.Or(on, b.day), Warranty: *w, Roof: b.file(w.RoofID)}
	if f.Roof == nil {
		return nil, models.Errorf(models.NotFound, "There is no such warranty.")
	}
	f.Terms = f.Roof.TermsOf(*w)
	if f.On == b.day {
		f.Judged = judgedOf(b.promises[w.RoofID], id)
	} else {
		f.Judged = s.judgedOn(f.Roof, portfolio.Verdict(b.venting[w.RoofID]), id, f.On)
	}
	for _, j := range f.Roof.Jobs {
		if w.JobID != nil && j.ID == *w.JobID {
			f.Job = &j
		}
	}
	q := s.Store.Query(ctx)
	if who.May(SeeContacts) {
		if f.Holder, err = store.Holder(q, f.Roof.House.ID); err != nil {
			return nil, err
		}
	}
	f.Trail, err = q.History(w.Noun(), id, store.Page{Size: 100})
	return f, err
}

// judgedOn judges one warranty of a roof for a day; nil where the records of the
// roof could not be judged.
func (s *Service) judgedOn(f *models.RoofFile, ventilation promise.Verdict, id int64, on units.Date) *portfolio.Judged {
	judged, err := portfolio.JudgePromises(f, ventilation, on)
	if err != nil {
		s.Log.Warn("a roof could not be judged", "roof", f.Roof.Ref, "day", on, "error", err)
	}
	return judgedOf(judged, id)
}

func judgedOf(judged []portfolio.Judged, id int64) *portfolio.Judged {
	for i := range judged {
		if judged[i].Warranty.ID == id {
			return &judged[i]
		}
	}
	return nil
}

// PromiseDraft is what a warranty on a roof is made from: the jobs of its house,
// and the catalogue of terms, those that are given no longer last.
type PromiseDraft struct {
	Roof    models.Roof
	Address string
	Jobs    []models.Job
	Terms   []models.Terms
}

// NewPromise reads what a warranty on a roof is made from. It needs the
// permission to add one.
func (s *Service) NewPromise(ctx context.Context, who Actor, roofID int64) (*PromiseDraft, error) {
	if err := who.need(EditPromises); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	f, err := store.RoofFile(q, roofID)
	if err != nil {
		return nil, err
	}
	d := &PromiseDraft{Roof: f.Roof, Address: f.Address.Line()}
	if d.Jobs, err = store.List[models.Job](q, "coalesce(closed_on, started_on, sold_on) DESC, id", "house_id = ?", f.House.ID); err != nil {
		return nil, err
	}
	d.Terms, err = store.List[models.Terms](q, "ended_on IS NOT NULL, name", "")
	return d, err
}

// Warranty reads one warranty.
func (s *Service) Warranty(ctx context.Context, who Actor, id int64) (*models.Warranty, error) {
	if err := who.need(SeePromises); err != nil {
		return nil, err
	}
	return store.Get[models.Warranty](s.Store.Query(ctx), id)
}

// SaveWarranty adds a warranty, or saves an edited one. A new one of a maker
// whose terms ask for registration in so many days gets its due day, and one
// without a wording that of its terms. What was signed stays as it was; only
// CorrectWarranty changes it.
func (s *Service) SaveWarranty(ctx context.Context, who Actor, w *models.Warranty) error {
	if err := who.need(EditPromises); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if w.ID != 0 {
			was, err := store.Get[models.Warranty](tx.Query, w.ID)
			if err != nil {
				return err
			}
			terms, err := store.Get[models.Terms](tx.Query, was.TermsID)
			if err != nil {
				return err
			}
			// Somebody else's change is told first: what was read is not what is kept.
			if err := w.StaysAs(was, terms); err != nil && was.Version == w.Version {
				return err
			}
			return tx.Update(w)
		}
		terms, err := store.Get[models.Terms](tx.Query, w.TermsID)
		if err != nil {
			return err
		}
		w.RegistrationDueOn = terms.RegistrationDue(w)
		if w.Wording == "" {
			w.Wording = terms.Wording
		}
		if w.Ref == "" {
			if w.Ref, err = nextRef[models.Warranty](tx.Query, "W"); err != nil {
				return err
			}
		}
		return tx.Create(w)
	})
}

// CorrectWarranty saves a warranty of which something was written down otherwise
// than it was signed. Why is what was wrong, and stands in the trail.
func (s *Service) CorrectWarranty(ctx context.Context, who Actor, w *models.Warranty, why string) error {
	if err := who.need(EditPromises); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error { return tx.Correct(w, why) })
}

// PaidInFull keeps the day on which the job of a warranty was paid in full, which
// its terms may ask for. The version is that of the job as it was read.
func (s *Service) PaidInFull(ctx context.Context, who Actor, warrantyID, version int64, on units.Date) error {
	if err := who.need(EditCosts); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		w, err := store.Get[models.Warranty](tx.Query, warrantyID)
		if err != nil {
			return err
		}
		f, err := store.RoofFile(tx.Query, w.RoofID)
		if err != nil {
			return err
		}
		job := f.JobOf(w)
		if job == nil {
			return models.Errorf(models.Conflict, "No job of ours is written down for this roof, so that its payment has no place.")
		}
		job.Version, job.PaidOn = version, on
		return tx.Update(job)
	})
}

// SaveTerms adds terms to the catalogue, or saves edited ones. Terms that the
// judging would refuse are refused here, before a promise rests on them. Once a
// warranty does, what they promise stays: SaveTermsAnew makes others.
func (s *Service) SaveTerms(ctx context.Context, who Actor, t *models.Terms) error {
	return s.writeTerms(ctx, who, t, func(tx *store.Tx) error {
		if t.ID == 0 {
			return tx.Create(t)
		}
		was, err := store.Get[models.Terms](tx.Query, t.ID)
		if err != nil {
			return err
		}
		resting, err := restingOn(tx.Query, t.ID)
		if err != nil {
			return err
		}
		if err := t.StaysAs(was, resting); err != nil && resting > 0 && was.Version == t.Version {
			return err
		}
		return tx.Update(t)
	})
}

// SaveTermsAnew adds terms in the place of former ones, which were read at the
// version that t has. Warranties that rest on the former go on as they were; they
// are given no longer from today.
func (s *Service) SaveTermsAnew(ctx context.Context, who Actor, former int64, t *models.Terms) error {
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	return s.writeTerms(ctx, who, t, func(tx *store.Tx) error {
		was, err := store.Get[models.Terms](tx.Query, former)
		if err != nil {
			return err
		}
		if t.Key == was.Key {
			return models.FieldErrorf("key", t.Key, "is that of the former terms; the new ones need one of their own")
		}
		if was.EndedOn.IsZero() {
			was.EndedOn = s.Today(set)
		}
		was.Version = t.Version
		if err := tx.Update(was); err != nil {
			return err
		}
		t.Row, t.EndedOn = models.Row{}, 0
		return tx.Create(t)
	})
}

func (s *Service) writeTerms(ctx context.Context, who Actor, t *models.Terms, write func(tx *store.Tx) error) error {
	if err := who.need(EditCatalogues); err != nil {
		return err
	}
	if err := t.Validate(); err != nil {
		return err
	}
	if err := portfolio.Terms(t).Validate(); err != nil {
		return models.FieldErrorf("conditions", "", "%v", err)
	}
	return s.Store.Write(ctx, who.By(), write)
}

// restingOn counts the warranties that rest on terms, ended ones too: what was
// paid under those was paid by their terms.
func restingOn(q store.Query, terms int64) (int, error) {
	return store.Count[models.Warranty](q, "terms_id = ?", terms)
}
