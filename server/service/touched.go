package service

import (
	"overhang/models"
	"overhang/models/store"
)

// reach is how far a change of a record goes in what is kept ready for the pages.
type reach int

const (
	everywhere reach = iota // all has to be made anew
	oneHouse
	nowhere
)

// touch says what a change of a record of some kind reaches.
type touch struct {
	files  reach                                         // the files of our roofs
	street reach                                         // what tells houses to call on apart: who lives there, what lies on them, who called
	house  func(q store.Query, id int64) (*int64, error) // that the record belongs to, where it reaches but one; nil is none that is known
}

// touches is the one table of it, by the kind's name; of a kind that is not here a
// change reaches everywhere.
var touches = map[string]touch{
	(*models.Call)(nil).Noun():         {nowhere, nowhere, nil},
	(*models.CallbackStep)(nil).Noun(): {nowhere, nowhere, nil},
	(*models.Claim)(nil).Noun():        {nowhere, nowhere, nil},
	(*models.Certificate)(nil).Noun():  {nowhere, nowhere, nil},
	(*models.Scenario)(nil).Noun():     {nowhere, nowhere, nil},
	(*models.Practice)(nil).Noun():     {nowhere, nowhere, nil},
	(*models.ClosedMonth)(nil).Noun():  {nowhere, nowhere, nil},
	(*models.Person)(nil).Noun():       {nowhere, nowhere, nil},
	(*models.Photo)(nil).Noun():        {nowhere, nowhere, nil},

	(*models.Contact)(nil).Noun():  {everywhere, nowhere, nil},
	(*models.Holding)(nil).Noun():  {everywhere, nowhere, nil},
	(*models.Warranty)(nil).Noun(): {everywhere, nowhere, nil},

	(*models.Callback)(nil).Noun(): {oneHouse, nowhere, callbackHouse},
	(*models.CostLine)(nil).Noun(): {oneHouse, nowhere, through(func(l *models.CostLine) int64 { return l.CallbackID }, callbackHouse)},
	(*models.Visit)(nil).Noun():    {oneHouse, nowhere, visitHouse},
	(*models.Finding)(nil).Noun():  {oneHouse, nowhere, through(func(f *models.Finding) int64 { return f.VisitID }, visitHouse)},

	(*models.StopEntry)(nil).Noun(): {nowhere, everywhere, nil},
	(*models.Prospect)(nil).Noun():  {nowhere, oneHouse, houseOf(func(p *models.Prospect) *int64 { return &p.HouseID })},
	(*models.Knock)(nil).Noun():     {nowhere, oneHouse, houseOf(func(k *models.Knock) *int64 { return &k.HouseID })},
}

var (
	callbackHouse = houseOf(func(c *models.Callback) *int64 { return c.HouseID })
	visitHouse    = houseOf(func(v *models.Visit) *int64 { return &v.HouseID })
)

func houseOf[T any](of func(*T) *int64) func(store.Query, int64) (*int64, error) {
	return func(q store.Query, id int64) (*int64, error) {
		rec, err := store.Get[T](q, id)
		if err != nil {
			return nil, err
		}
		return of(rec), nil
	}
}

// through is the house of what a record belongs to.
func through[T any](to func(*T) int64, house func(store.Query, int64) (*int64, error)) func(store.Query, int64) (*int64, error) {
	return func(q store.Query, id int64) (*int64, error) {
		rec, err := store.Get[T](q, id)
		if err != nil {
			return nil, err
		}
		return house(q, to(rec))
	}
}

// mostTouched is how many changed records are looked through before all is made
// anew.
const mostTouched = 500

// touchedSince gives the records that changed after a revision and the houses that
// they reach by one of the table's columns. It is false where a change reaches
// everywhere, or there are too many.
func touchedSince(q store.Query, revision int64, column func(touch) reach) (changed []store.Changed, houses map[int64]bool, few bool, err error) {
	changed, err = store.ChangedSince(q, revision)
	if err != nil || len(changed) > mostTouched {
		return nil, nil, false, err
	}
	houses = map[int64]bool{}
	for _, x := range changed {
		t := touches[x.Record]
		switch column(t) {
		case everywhere:
			return nil, nil, false, nil
		case oneHouse:
			house, err := t.house(q, x.RecordID)
			if err != nil {
				return nil, nil, false, err
			}
			if house != nil {
				houses[*house] = true
			}
		}
	}
	return changed, houses, true, nil
}
