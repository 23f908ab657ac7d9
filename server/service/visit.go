package service

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"overhang/analytics/geo"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/analytics/visits"
	"overhang/models"
	"overhang/models/store"
)

// Booking is a visit to be booked.
type Booking struct {
	HouseID    int64
	RoofID     *int64
	Purpose    string
	On         units.Date
	PlaceInDay *int
	ByName     string
	StormID    *int64
	CallbackID *int64
	Notes      string
}

// Book books visits, all or none. A house that has an open visit for the same
// purpose has it moved to the new day instead of a second one.
func (s *Service) Book(ctx context.Context, who Actor, bookings []Booking) error {
	if err := who.need(BookVisits); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		for _, b := range bookings {
			looker, err := lookerNumber(tx.Query, b.ByName)
			if err != nil {
				return err
			}
			if b.On.IsZero() {
				return models.FieldErrorf("booked_for", "", "is needed")
			}
			if b.On < s.Today(set) {
				return models.FieldErrorf("booked_for", b.On.String(), "must not be before today (%s)", s.Today(set))
			}
			open, err := store.List[models.Visit](tx.Query, "id",
				"house_id = ? AND purpose = ? AND done_on IS NULL AND cancelled_on IS NULL AND declined_on IS NULL", b.HouseID, b.Purpose)
			if err != nil {
				return err
			}
			if err := ofHouse(tx.Query, b.CallbackID, b.HouseID); err != nil {
				return err
			}
			// A look for one callback is not the look for another, nor one at the house the
			// one at its garage.
			other := func(a, b *int64) bool { return a != nil && b != nil && *a != *b }
			i := slices.IndexFunc(open, func(v models.Visit) bool {
				return !other(v.CallbackID, b.CallbackID) && !other(v.RoofID, b.RoofID)
			})
			if i >= 0 {
				v := &open[i]
				if b.CallbackID != nil {
					v.CallbackID = b.CallbackID
				}
				if b.RoofID != nil {
					v.RoofID = b.RoofID
				}
				v.BookedFor, v.PlaceInDay, v.ByName, v.PersonID = b.On, b.PlaceInDay, b.ByName, looker
				if err := tx.Update(v); err != nil {
					return err
				}
				continue
			}
			v := &models.Visit{HouseID: b.HouseID, RoofID: b.RoofID, Purpose: b.Purpose, BookedFor: b.On, PlaceInDay: b.PlaceInDay,
				ByName: b.ByName, PersonID: looker, StormID: b.StormID, CallbackID: b.CallbackID, Notes: b.Notes}
			if v.Ref, err = nextRef[models.Visit](tx.Query, "V"); err != nil {
				return err
			}
			if err := tx.Create(v); err != nil {
				return err
			}
		}
		return nil
	})
}

// ofHouse checks that the callback that a visit is for is about that house.
func ofHouse(q store.Query, callback *int64, house int64) error {
	if callback == nil {
		return nil
	}
	c, err := store.Get[models.Callback](q, *callback)
	if err != nil {
		return err
	}
	if c.HouseID == nil || *c.HouseID != house {
		return models.FieldErrorf("callback_id", c.Ref, "is about another house")
	}
	return nil
}

// lookerNumber gives the number of the person with that name, where there is
// one and only one; a visit may also be by somebody who does not sign in.
func lookerNumber(q store.Query, name string) (*int64, error) {
	people, err := store.List[models.Person](q, "id", "name = ? AND ended_on IS NULL", name)
	if err != nil || len(people) != 1 || name == "" {
		return nil, err
	}
	return &people[0].ID, nil
}

// Lookers lists the names of those who look at roofs: whoever signs in and may
// add findings, and whoever has visits booked.
func (s *Service) Lookers(ctx context.Context, who Actor) ([]string, error) {
	if err := who.need(SeeVisits); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	people, err := q.CurrentPeople()
	if err != nil {
		return nil, err
	}
	var names []string
	for _, p := range people {
		if p.Roles.Has(models.Roofer) || p.Roles.Has(models.Scheduler) {
			names = append(names, p.Name)
		}
	}
	booked, err := store.Rows[struct{ ByName string }](q,
		"SELECT DISTINCT by_name FROM visits WHERE by_name <> '' AND booked_for IS NOT NULL AND done_on IS NULL AND cancelled_on IS NULL AND declined_on IS NULL")
	if err != nil {
		return nil, err
	}
	for _, b := range booked {
		names = append(names, b.ByName)
	}
	slices.Sort(names)
	return slices.Compact(names), nil
}

// BookDue books the visits that are due on roofs, on one day for one person, in
// the order given or, unless it is kept, in a short one. They come after what
// that person has that day already. A roof that has been booked or looked at in
// the meantime refuses them all.
func (s *Service) BookDue(ctx context.Context, who Actor, roofs []int64, keepOrder bool, on units.Date, byName string) error {
	if err := who.need(BookVisits); err != nil {
		return err
	}
	if len(roofs) == 0 {
		return models.Errorf(models.Invalid, "Choose at least one roof in the list, then book again.")
	}
	if len(roofs) > 200 {
		return models.Errorf(models.Invalid, "More than 200 roofs are not for one day.")
	}
	b, err := s.openBook(ctx)
	if err != nil {
		return err
	}
	rows := map[int64]DueRow{}
	for _, v := range b.due.Visits {
		if row, found := b.dueRow(v); found && slices.Contains(roofs, row.RoofID) {
			rows[row.RoofID] = row
		}
	}
	var order []int64
	for _, id := range roofs {
		row, found := rows[id]
		if !found || (row.State != visits.Due && row.State != visits.OK) {
			name := "One of the roofs"
			if found {
				name = row.Address
			}
			return models.Errorf(models.Conflict, "%s is not waiting for a visit any more: somebody has booked or ended it in the meantime. Look at the list again.", name)
		}
		if !slices.Contains(order, id) {
			order = append(order, id)
		}
	}
	if !keepOrder {
		if order, err = b.shortOrder(order); err != nil {
			return err
		}
	}
	q := s.Store.Query(ctx)
	last, err := store.Rows[struct{ Place int }](q, `SELECT coalesce(max(place_in_day), 0) AS place FROM visits
WHERE booked_for = ? AND by_name = ? AND done_on IS NULL AND cancelled_on IS NULL AND declined_on IS NULL`, on, byName)
	if err != nil {
		return err
	}
	bookings := make([]Booking, len(order))
	for i, id := range order {
		row, place := rows[id], last[0].Place+i+1
		bookings[i] = Booking{HouseID: row.HouseID, RoofID: &row.RoofID, Purpose: row.Purpose, On: on, PlaceInDay: &place, ByName: byName}
	}
	return s.Book(ctx, who, bookings)
}

// shortOrder puts roofs in an order that makes a short way from the branch;
// those without a position come last.
func (b *book) shortOrder(roofs []int64) ([]int64, error) {
	var placed, out, unplaced []int64
	var places []geo.Point
	for _, id := range roofs {
		h := &b.file(id).House
		if h.Lat == nil {
			unplaced = append(unplaced, id)
			continue
		}
		placed, places = append(placed, id), append(places, geo.Point{Lat: *h.Lat, Lon: *h.Lon})
	}
	if len(places) > 0 {
		start := places[0]
		if b.set.Branch.Lat != nil {
			start = geo.Point{Lat: *b.set.Branch.Lat, Lon: *b.set.Branch.Lon}
		}
		tour, err := geo.NewTour(start, places, true)
		if err != nil {
			return nil, err
		}
		for _, i := range tour.Order {
			out = append(out, placed[i])
		}
	}
	return append(out, unplaced...), nil
}

// MoveVisit books an open visit for another day or another person. Its place in
// the day's order is kept only within the same day.
func (s *Service) MoveVisit(ctx context.Context, who Actor, id, version int64, on units.Date, byName string) error {
	if err := who.need(BookVisits); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	if on.IsZero() {
		return models.FieldErrorf("booked_for", "", "is needed")
	}
	if today := s.Today(set); on < today {
		return models.FieldErrorf("booked_for", on.String(), "must not be before today (%s)", today)
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		v, err := openVisit(tx.Query, id)
		if err != nil {
			return err
		}
		v.Version = version
		if v.BookedFor != on || v.ByName != byName {
			v.PlaceInDay = nil
		}
		v.BookedFor, v.ByName = on, byName
		if v.PersonID, err = lookerNumber(tx.Query, byName); err != nil {
			return err
		}
		return tx.Update(v)
	})
}

func openVisit(q store.Query, id int64) (*models.Visit, error) {
	v, err := store.Get[models.Visit](q, id)
	if err == nil && !v.Open() {
		return nil, models.Errorf(models.Conflict, "This visit is over: it was done, declined or called off in the meantime.")
	}
	return v, err
}

// EndVisit takes a booked or offered visit off the list: declined when the
// homeowner said no, cancelled otherwise.
func (s *Service) EndVisit(ctx context.Context, who Actor, id, version int64, declined bool) error {
	if err := who.need(BookVisits); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		v, err := openVisit(tx.Query, id)
		if err != nil {
			return err
		}
		v.Version = version
		if declined {
			v.DeclinedOn = s.Today(set)
		} else {
			v.CancelledOn = s.Today(set)
		}
		return tx.Update(v)
	})
}

// VisitFile is one visit with its house and what it found.
type VisitFile struct {
	Visit    models.Visit
	Address  models.Address
	House    models.House
	Holder   *models.Contact // for those who may see contacts
	Pitch    *units.Pitch
	Family   string // of the roof's covering; empty is not known
	Slopes   []models.Slope
	Findings []models.Finding
	About    []models.Callback // of the house, that the visit is or can be for; for those who may see callbacks
	// Look is what the findings of a visit that was done rate; nil where they rate
	// nothing, and for who is still to look at the roof.
	Look *portfolio.Look
	// Keeping is why the estimate of the roof and what looks rate are kept from the
	// person; nil where they are not. Kept says that what this visit found is kept with
	// them; Lifted, that it would be, had the person not asked for it all the same.
	Keeping      *Keeping
	Kept, Lifted bool
}

// readAbout reads which callbacks a visit can be for: the one that it is for,
// and those of its house that are open.
func (f *VisitFile) readAbout(q store.Query, who Actor) error {
	if !who.May(SeeCallbacks) {
		return nil
	}
	all, err := store.List[models.Callback](q, "learned_on, id", "house_id = ?", f.House.ID)
	for _, c := range all {
		if c.Open() || models.Same(&c.ID, f.Visit.CallbackID) {
			f.About = append(f.About, c)
		}
	}
	return err
}

func familyOf(f *models.RoofFile) string {
	if f.Covering == nil {
		return ""
	}
	return f.Covering.Family
}

// Visit reads one visit.
func (s *Service) Visit(ctx context.Context, who Actor, id int64, wish Wish) (*VisitFile, error) {
	if err := who.need(SeeVisits); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	set, err := settings(q)
	if err != nil {
		return nil, err
	}
	v, err := store.Get[models.Visit](q, id)
	if err != nil {
		return nil, err
	}
	f := &VisitFile{Visit: *v}
	house, err := store.Get[models.House](q, v.HouseID)
	if err != nil {
		return nil, err
	}
	f.House = *house
	address, err := store.First[models.Address](q, "house_id = ? AND main = 1", v.HouseID)
	if err != nil {
		return nil, err
	}
	f.Address = *address
	roofID := v.RoofID
	if roofID == nil {
		roofs, err := store.List[models.Roof](q, "ours DESC, laid_on DESC", "house_id = ? AND ended_on IS NULL", v.HouseID)
		if err != nil {
			return nil, err
		}
		if len(roofs) > 0 {
			roofID = &roofs[0].ID
		}
	}
	if roofID != nil {
		file, err := store.RoofFile(q, *roofID)
		if err != nil {
			return nil, err
		}
		f.Slopes, f.Pitch, f.Family = file.Slopes, file.Roof.Pitch, familyOf(file)
		f.Visit.RoofID = roofID
		showings, err := store.ShowingsOf(q, who.PersonID, v.HouseID)
		if err != nil {
			return nil, err
		}
		keeping, lifted := keeping(who, file.Visits, &file.Roof, showings, s.Today(set)).wished(who, &file.Roof, wish)
		f.Keeping, f.Kept, f.Lifted = keeping, keeping.found(who, v, s.Today(set)), lifted != nil
		if f.Keeping == nil {
			looks, err := portfolio.Looks(file)
			if err != nil {
				return nil, err
			}
			if i := slices.IndexFunc(looks, func(l portfolio.Look) bool { return l.Visit.ID == id }); i >= 0 {
				f.Look = &looks[i]
			}
		}
	}
	if !f.Kept {
		if f.Findings, err = store.List[models.Finding](q, "id", "visit_id = ?", id); err != nil {
			return nil, err
		}
	}
	if err := f.readAbout(q, who); err != nil {
		return nil, err
	}
	if who.May(SeeContacts) {
		if f.Holder, err = store.Holder(q, v.HouseID); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// VisitOf reads what a visit to a roof that nobody has booked begins with.
func (s *Service) VisitOf(ctx context.Context, who Actor, roofID int64) (*VisitFile, error) {
	if err := who.need(SeeVisits); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	file, err := store.RoofFile(q, roofID)
	if err != nil {
		return nil, err
	}
	f := &VisitFile{Visit: models.Visit{HouseID: file.House.ID, RoofID: &roofID}, Family: familyOf(file), Address: file.Address, House: file.House,
		Pitch: file.Roof.Pitch, Slopes: file.Slopes}
	return f, f.readAbout(q, who)
}

// seesItsSlopes checks that what a visit had in sight and found are slopes of its
// roof, or of its house where it is for no one roof, and that it found nothing on
// a slope that was out of sight.
func seesItsSlopes(q store.Query, v *models.Visit, findings []models.Finding) error {
	named := map[int64]string{} // the field that names each
	for _, f := range findings {
		if f.SlopeID == nil {
			continue
		}
		if f.Look != "not_looked" && !v.Saw(*f.SlopeID) {
			return models.FieldErrorf("slope_id", fmt.Sprint(*f.SlopeID), "was not in sight, and %s cannot have been looked for on it", f.Defect)
		}
		named[*f.SlopeID] = "slope_id"
	}
	if v.InSight != nil {
		for _, id := range *v.InSight {
			named[id] = "in_sight"
		}
	}
	if len(named) == 0 {
		return nil
	}
	of, slopes := "house", []models.Slope(nil)
	if v.RoofID != nil {
		file, err := store.RoofFile(q, *v.RoofID)
		if err != nil {
			return err
		}
		of, slopes = "roof", file.Slopes
	} else {
		var err error
		if slopes, err = store.List[models.Slope](q, "id", "structure_id IN (SELECT id FROM structures WHERE house_id = ?)", v.HouseID); err != nil {
			return err
		}
	}
	for _, s := range slopes {
		delete(named, s.ID)
	}
	for _, id := range slices.Sorted(maps.Keys(named)) {
		return models.FieldErrorf(named[id], fmt.Sprint(id), "is not a slope of this %s", of)
	}
	return nil
}

// RecordVisit saves that a visit was done and what it found, all or nothing. A
// finding that the visit already had, of the same defect on the same slope, is
// changed; the others stay. The callback that it was made for is looked at by it.
// Whether the estimate had been seen before is judged when a look is first saved, and
// stays as it was then.
func (s *Service) RecordVisit(ctx context.Context, who Actor, v *models.Visit, findings []models.Finding) error {
	if err := who.need(AddFindings); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	if v.DoneOn.IsZero() {
		v.DoneOn = s.Today(set)
	}
	if v.DoneOn > s.Today(set) {
		return models.FieldErrorf("done_on", v.DoneOn.String(), "must not be after today (%s)", s.Today(set))
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if err := seesItsSlopes(tx.Query, v, findings); err != nil {
			return err
		}
		var was *models.Visit
		if v.ID != 0 {
			if was, err = store.Get[models.Visit](tx.Query, v.ID); err != nil {
				return err
			}
		}
		if was != nil && !was.DoneOn.IsZero() {
			v.SeenBefore = was.SeenBefore
		} else if err := s.lookSaved(tx, v, set); err != nil {
			return err
		}
		if was == nil {
			if v.Ref, err = nextRef[models.Visit](tx.Query, "V"); err != nil {
				return err
			}
			if err := tx.Create(v); err != nil {
				return err
			}
		} else {
			if !was.Open() && was.DoneOn.IsZero() {
				return models.Errorf(models.Conflict, "This visit was declined or called off in the meantime. Write the look down as a new visit.")
			}
			if err := tx.Update(v); err != nil {
				return err
			}
		}
		kept, err := store.List[models.Finding](tx.Query, "id", "visit_id = ?", v.ID)
		if err != nil {
			return err
		}
		for i := range findings {
			f := &findings[i]
			f.VisitID = v.ID
			if same := models.FindingOf(kept, f.Defect, f.SlopeID); same != nil {
				f.Row = same.Row
				err = tx.Update(f)
			} else {
				err = tx.Create(f)
			}
			if err != nil {
				return err
			}
		}
		return s.lookFor(tx, who, set, was, v)
	})
}
