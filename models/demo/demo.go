package demo

import (
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

// Sizes that Make takes when none are given, and the most it takes.
const (
	DefaultRoofs  = 260
	DefaultHouses = 3500
	MostRoofs     = 100_000
	MostHouses    = 1_000_000
)

// storyYears is how long the company has been laying roofs.
const storyYears = 14

// Options say which company to invent.
type Options struct {
	Seed   uint64
	Roofs  int        // roofs laid by the company; 0 is DefaultRoofs, at most MostRoofs
	Houses int        // other houses of the town; 0 is DefaultHouses, at most MostHouses
	Today  units.Date // the day on which the story ends; no date is 25 November 2026, a Wednesday
}

func (o Options) settled() Options {
	if o.Roofs <= 0 {
		o.Roofs = DefaultRoofs
	}
	if o.Houses <= 0 {
		o.Houses = DefaultHouses
	}
	o.Roofs, o.Houses = min(o.Roofs, MostRoofs), min(o.Houses, MostHouses)
	if o.Today.IsZero() {
		o.Today = units.NewDate(2026, time.November, 25)
	}
	return o
}

// Company is all that is kept about an invented company, in the order in which
// it can be written: a record names only records that stand before it. Every
// record has its number already, counted from 1 within its kind.
type Company struct {
	Company      models.Company
	Branch       models.Branch
	Coverings    []models.Covering
	Terms        []models.Terms
	Crews        []models.Crew
	CrewMembers  []models.CrewMember
	Practices    []models.Practice
	Watches      []models.Watch
	Houses       []models.House
	Addresses    []models.Address
	Contacts     []models.Contact
	Holdings     []models.Holding
	Structures   []models.Structure
	Attics       []models.Attic
	Slopes       []models.Slope
	Vents        []models.Vent
	Gutters      []models.GutterRun
	Details      []models.Detail
	Roofs        []models.Roof
	RoofSlopes   []models.RoofSlope
	Jobs         []models.Job
	JobRoofs     []models.JobRoof
	Lots         []models.Lot
	Subcontracts []models.Subcontract
	Declined     []models.Declined
	Warranties   []models.Warranty
	Certificates []models.Certificate
	Plans        []models.Plan
	Callbacks    []models.Callback
	Calls        []models.Call
	CostLines    []models.CostLine
	Claims       []models.Claim
	Steps        []models.CallbackStep
	Storms       []models.Storm
	Scenarios    []models.Scenario
	Visits       []models.Visit
	Findings     []models.Finding
	Prospects    []models.Prospect
	Knocks       []models.Knock
	StopEntries  []models.StopEntry
}

// Staff is one member of the invented staff who signs in.
type Staff struct {
	Name string
	Role models.Role
}

// Email is what the member signs in with. The domain ends in .example, which
// no real one does (RFC 2606).
func (s Staff) Email() string { return string(s.Role) + "@" + domain }

// AllStaff lists who signs in, one for each role. Visits name the roofer or the
// scheduler in ByName; all knocks are the seller's.
func AllStaff() []Staff {
	return []Staff{
		{"Maren Holtbeck", models.Owner},
		{"Ilka Dunvale", models.Office},
		{"Joren Pellwick", models.Seller},
		{"Tamsa Quargate", models.Scheduler},
		{checker, models.Roofer},
		{"Wendel Ostmere", models.Bookkeeper},
	}
}

const (
	town       = "Tarnwick"
	postalCode = "00461"
	domain     = "tarnwick.example"
	checker    = "Corin Ravbrand" // the roofer who goes round for check-ups
	helper     = "Nevin Eskholt"  // and the one who helps out in the busy months
)

// maker holds what is invented so far.
type maker struct {
	Options
	c      *Company
	dice   *dice
	begins units.Date // of the story
	place  *time.Location
	hoods  []hood
	lots   []lot
	ours   []*ourHouse
	roofs  []*ourRoof       // in the order they were laid
	makers map[int64]string // of the material, by the roof's number
	hail   models.Storm
	blow   models.Storm
}

// Make invents a company. It takes well under a second for the default size
// and at the largest, a million houses, under a minute and some 4 GB.
func Make(o Options) *Company { return tell(o).c }

// tell invents it, and keeps what the records do not tell.
func tell(o Options) *maker {
	o = o.settled()
	m := &maker{Options: o, c: &Company{}, dice: newDice(o.Seed), makers: map[int64]string{}, begins: o.Today.AddYears(-storyYears)}
	m.settings()
	m.place = m.c.Branch.Location()
	m.catalogues()
	m.layOut()
	m.storms()
	m.live()
	m.choose()
	m.settle()
	m.certificates()
	m.callbacks()
	m.visits()
	m.prospects()
	m.watches()
	m.scenarios()
	return m
}

// add appends a record, gives it its number, and returns the number.
func add[T any, P interface {
	*T
	models.Record
}](list *[]T, rec T) int64 {
	id := int64(len(*list) + 1)
	P(&rec).Base().ID = id
	*list = append(*list, rec)
	return id
}

// at is a moment of a day in the company's town.
func (m *maker) at(day units.Date, hour, minute int) time.Time {
	y, mo, d := day.Time().Date()
	return time.Date(y, mo, d, hour, minute, 0, 0, m.place).UTC()
}

// past gives the day when the story has reached it, or no day.
func (m *maker) past(d units.Date) units.Date {
	if d > m.Today {
		return 0
	}
	return d
}

// The working season, as the branch's settings have it.
func seasonStart(year int) units.Date { return units.NewDate(year, time.April, 15) }
func seasonEnd(year int) units.Date   { return units.NewDate(year, time.November, 15) }

func inSeason(d units.Date) bool { return d >= seasonStart(d.Year()) && d <= seasonEnd(d.Year()) }

// seasonDay gives a working day in the season of that year, or of the last
// season that has begun by today.
func (m *maker) seasonDay(year int) units.Date {
	year = min(year, m.Today.Year())
	if seasonStart(year).AddDays(3) > m.Today {
		year--
	}
	from, to := seasonStart(year), min(seasonEnd(year), m.Today)
	return workingDay(from.AddDays(m.dice.between(0, int(to-from))), from)
}

// workingDay moves a weekend day to the Friday before, or to the Monday after
// when that would lie before the first day allowed.
func workingDay(d, first units.Date) units.Date {
	back := 0
	switch d.Weekday() {
	case time.Saturday:
		back = 1
	case time.Sunday:
		back = 2
	}
	if d.AddDays(-back) >= first {
		return d.AddDays(-back)
	}
	return d.AddDays(3 - back)
}

// nextWorkingDay gives the first working day from d on.
func nextWorkingDay(d units.Date) units.Date {
	for d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		d++
	}
	return d
}

// nextSeasonDay gives the first day from d on on which crews are on roofs.
func nextSeasonDay(d units.Date) units.Date {
	switch {
	case d < seasonStart(d.Year()):
		d = seasonStart(d.Year())
	case d > seasonEnd(d.Year()):
		d = seasonStart(d.Year() + 1)
	}
	if next := nextWorkingDay(d); inSeason(next) {
		return next
	}
	return nextWorkingDay(seasonStart(d.Year() + 1))
}
