package service

import (
	"context"
	"fmt"
	"maps"
	"strings"
	"sync"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// Keeping is why the estimate of a roof, and what earlier looks found, are kept from
// a person: a look tells more where no number led it.
//
// From whom they are kept is chosen so that nobody's ordinary day is the worse for it.
// A roofer goes up and does not choose the roofs: of every roof that lies there they
// are kept until the roofer's own look is saved, or until the roofer says that they
// are not going to look, which takes one press. Owner, office and scheduler choose
// roofs by the estimate and tell customers of it all day, and some of them climb as
// well: to them it is shown, unless a look is booked for them or they say, before they
// open it or after, that they are going to look. Whoever has one of those roles beside
// a roofer's is taken for one of them. Seller and bookkeeper write no look down, and
// have nothing to say. Who looked all the same after they had been shown it has that
// written on the visit.
type Keeping struct {
	Booked *models.Visit // the look that is booked for them, or for anybody; nil where none is
	Said   units.Date    // when they said that they are going to look; zero where they did not
	// With neither, they have not said yet whether they are going to.
}

// Wish is what a person asks of a page that tells the estimate of a roof.
type Wish string

// The wishes.
const (
	AsUsual Wish = ""
	KeepIt  Wish = "keep" // not to be shown yet, before a look
	ShowIt  Wish = "show" // to be shown although a look is booked for them, where they book visits
)

// shownDays is for how many days the estimate is shown to who goes up after they looked,
// or said that they are not going to. In these days they may correct what they found,
// though they are to look again: they have not forgotten it anyway. Our own judgement.
const shownDays = 7

// looks says whether a person goes to look at roofs.
func (a Actor) looks() bool { return !a.program && a.May(AddFindings) }

// goesUp says whether it is a person's work to look at roofs and not to choose them.
func (a Actor) goesUp() bool { return a.looks() && !a.May(BookVisits) }

// blind gives from whom lists keep the estimates of roofs, or nil. The looks that are
// booked for who books visits do not count there: they choose the roofs by the list.
func (a Actor) blind() *store.Blind {
	if !a.looks() {
		return nil
	}
	return &store.Blind{PersonID: a.PersonID, All: a.goesUp()}
}

// roofsKept are the roofs of which lists keep the estimate from a person.
func roofsKept(q store.Query, who Actor) (map[int64]bool, error) {
	blind := who.blind()
	if blind == nil {
		return nil, nil
	}
	ids, err := store.RoofsKept(q, *blind)
	out := make(map[int64]bool, len(ids))
	for _, id := range ids {
		out[id] = true
	}
	return out, err
}

// goes says whether a visit is the person's.
func (a Actor) goes(v *models.Visit) bool {
	return (v.PersonID != nil && *v.PersonID == a.PersonID) || (v.ByName != "" && strings.EqualFold(v.ByName, a.Name))
}

// looking gives the first of a house's visits that is a booked look at a roof, which
// may be unknown, that waits for the person, or for anybody where they do not book
// visits; or nil.
func looking(who Actor, of []models.Visit, roof *int64) *models.Visit {
	if !who.looks() {
		return nil
	}
	for i := range of {
		v := &of[i]
		if !v.Open() || v.BookedFor.IsZero() || (v.RoofID != nil && roof != nil && *v.RoofID != *roof) {
			continue
		}
		anybody := v.PersonID == nil && v.ByName == "" && !who.May(BookVisits)
		if anybody || who.goes(v) {
			return v
		}
	}
	return nil
}

// keeping says why the estimate of a roof is kept from a person, nil where it is not.
// Of are the visits to its house. The roof may be nil where it is not known.
func keeping(who Actor, of []models.Visit, roof *models.Roof, showings map[int64]models.Showing, today units.Date) *Keeping {
	var id *int64
	if roof != nil {
		id = &roof.ID
	}
	if v := looking(who, of, id); v != nil {
		return &Keeping{Booked: v}
	}
	if !who.looks() || roof == nil || !roof.EndedOn.IsZero() {
		return nil
	}
	said := showings[roof.ID]
	switch {
	case said.Said == models.SaidLooks:
		return &Keeping{Said: said.SaidOn}
	case !who.goesUp() || said.Said == models.SaidLooksNot && today <= said.SaidOn.AddDays(shownDays):
		return nil
	}
	for i := range of {
		v := &of[i]
		if !v.DoneOn.IsZero() && today <= v.DoneOn.AddDays(shownDays) && who.goes(v) && (v.RoofID == nil || *v.RoofID == roof.ID) {
			return nil
		}
	}
	return &Keeping{}
}

// wished is what is kept with a wish of the person's, and the booked look for which it
// would be without it.
func (k *Keeping) wished(who Actor, roof *models.Roof, wish Wish) (*Keeping, *models.Visit) {
	switch {
	case k == nil && wish == KeepIt && who.looks() && roof.EndedOn.IsZero():
		return &Keeping{}, nil
	case k != nil && k.Booked != nil && wish == ShowIt && who.May(BookVisits):
		return nil, k.Booked
	}
	return k, nil
}

// found says whether what a visit found is kept with the estimate from the person: not
// what they saw themselves in these days, and not what they are to repair, nor, where
// they are neither booked nor said that they are going to look, what was seen for a
// callback: it tells what broke. Notes are not kept, since they may warn.
func (k *Keeping) found(who Actor, v *models.Visit, today units.Date) bool {
	switch {
	case k == nil || v.DoneOn.IsZero():
		return false
	case who.goes(v) && today <= v.DoneOn.AddDays(shownDays):
		return false
	case k.Booked != nil:
		return k.Booked.Purpose != "repair" || k.Booked.CallbackID == nil || !models.Same(k.Booked.CallbackID, v.CallbackID)
	}
	return !k.Said.IsZero() || v.CallbackID == nil
}

// SayLook writes down that a person is going to look at a roof, or that they are not.
// The first holds until their look is saved or they say otherwise, the second for
// shownDays.
func (s *Service) SayLook(ctx context.Context, who Actor, roofID int64, looks bool) error {
	if err := who.need(AddFindings); err != nil {
		return err
	}
	q := s.Store.Query(ctx)
	set, err := settings(q)
	if err != nil {
		return err
	}
	roof, err := store.Get[models.Roof](q, roofID)
	if err != nil {
		return err
	}
	if !roof.EndedOn.IsZero() {
		return models.Errorf(models.Invalid, "This roof ended on %s: there is nothing left of it to look at.", roof.EndedOn)
	}
	said := models.SaidLooksNot
	if looks {
		said = models.SaidLooks
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error { return tx.SayLook(who.PersonID, roofID, said, s.Today(set)) })
}

// SeenDays is for how many days before a look the estimate counts as seen, where it
// was shown: our own judgement, no source. How far it leads an eye we do not know
// yet, so such a reading weighs as much as any other; it is only kept apart, and the
// page of how right the estimates have been tells the two sorts of readings apart.
const SeenDays = 30

// showingsWaiting are the estimates that were shown while something long held the one
// writer. They are written down with the next.
type showingsWaiting struct {
	mu sync.Mutex
	of map[shown]units.Date
}

type shown struct{ person, roof int64 }

// EstimateShown writes down that a page shows the person the years left in some
// roofs, or how looks rated them: on a page of its own or in a list, by which roofs
// are chosen too. It is written of everybody, since anybody may be named as who
// looks, once a day, and the page does not wait for a long import.
func (s *Service) EstimateShown(ctx context.Context, who Actor, roofs ...int64) error {
	if who.PersonID == 0 || len(roofs) == 0 {
		return nil
	}
	q := s.Store.Query(ctx)
	set, err := settings(q)
	if err != nil {
		return err
	}
	today := s.Today(set)
	known, err := store.ShownSince(q, who.PersonID, roofs, today)
	if err != nil {
		return err
	}
	s.showings.mu.Lock()
	if s.showings.of == nil {
		s.showings.of = map[shown]units.Date{}
	}
	for _, roof := range roofs {
		if !known[roof] {
			s.showings.of[shown{who.PersonID, roof}] = today
		}
	}
	waiting := maps.Clone(s.showings.of)
	s.showings.mu.Unlock()
	if len(waiting) == 0 {
		return nil
	}
	brief, cancel := context.WithTimeout(ctx, 200*time.Millisecond)
	defer cancel()
	err = s.Store.Write(brief, store.By{}, func(tx *store.Tx) error { return writeShown(tx, waiting) })
	switch {
	case err != nil && brief.Err() != nil:
		return nil
	case err != nil:
		return fmt.Errorf("writing down that an estimate was shown: %w", err)
	}
	s.showings.mu.Lock()
	defer s.showings.mu.Unlock()
	for key, day := range waiting {
		if s.showings.of[key] == day {
			delete(s.showings.of, key)
		}
	}
	return nil
}

func writeShown(tx *store.Tx, waiting map[shown]units.Date) error {
	for key, day := range waiting {
		if err := tx.Shown(key.person, key.roof, day); err != nil {
			return err
		}
	}
	return nil
}

// lookSaved says of a look that is being saved whether whoever made it had been shown
// the estimate, and forgets what they had said of going to look. It counts from
// SeenDays before the look until now, since what is written down after that is led as
// well. It is not known of somebody who does not sign in, nor, where nothing says that
// it was seen, of a look that is written down later than those days, or before which it
// was not yet written down all those days what was shown.
func (s *Service) lookSaved(tx *store.Tx, v *models.Visit, set Settings) error {
	if v.PersonID == nil {
		return nil
	}
	s.showings.mu.Lock()
	waiting := maps.Clone(s.showings.of)
	s.showings.mu.Unlock()
	if err := writeShown(tx, waiting); err != nil {
		return err
	}
	roofs, err := roofsOf(tx.Query, v)
	if err != nil {
		return err
	}
	since := v.DoneOn.AddDays(-SeenDays)
	seen, err := store.ShownSince(tx.Query, *v.PersonID, roofs, since)
	switch {
	case err != nil:
		return err
	case len(seen) > 0:
		v.SeenBefore = new(true)
	case s.Today(set) <= v.DoneOn.AddDays(SeenDays) && set.Company.ShownSince <= since:
		v.SeenBefore = new(false)
	}
	return tx.SaidNothing(*v.PersonID, roofs)
}

// roofsOf are the roofs that a visit may be to.
func roofsOf(q store.Query, v *models.Visit) ([]int64, error) {
	if v.RoofID != nil {
		return []int64{*v.RoofID}, nil
	}
	return store.IDs(q, "SELECT id FROM roofs WHERE house_id = ?", v.HouseID)
}
