package service

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/demo"
	"overhang/models/store"
)

// DemoSignIn is somebody of the invented company, with the password that the
// demo prints.
type DemoSignIn struct {
	Name     string
	Email    string
	Roles    models.Roles
	Password string
}

// demoWords make passwords that are long enough to keep the rules and easy to
// type from a terminal.
var demoWords = []string{"amber", "birch", "cedar", "dormer", "ember", "fern", "gable", "hazel", "ivory", "juniper", "kestrel", "larch", "maple", "north",
	"oak", "purlin", "quartz", "rafter", "spruce", "timber", "umber", "valley", "willow", "yarrow"}

// FillDemo writes an invented company into an empty database, in one
// transaction, and gives its sign-ins, which are marked as the demo's. The same
// options give the same records and passwords. Without Options.Today the story
// ends on the company's own calendar day. It is refused for a person, for a
// database that holds a company already, and for more roofs or houses than
// package demo makes. Progress may be nil.
func (s *Service) FillDemo(ctx context.Context, who Actor, o demo.Options, progress func(step string, done, total int)) ([]DemoSignIn, error) {
	if !who.program {
		return nil, models.Errorf(models.Forbidden, "The demo is made by the program itself.")
	}
	if o.Roofs < 0 || o.Roofs > demo.MostRoofs {
		return nil, models.FieldErrorf("roofs", strconv.Itoa(o.Roofs), "must lie between 1 and %d", demo.MostRoofs)
	}
	if o.Houses < 0 || o.Houses > demo.MostHouses {
		return nil, models.FieldErrorf("houses", strconv.Itoa(o.Houses), "must lie between 1 and %d", demo.MostHouses)
	}
	// Asked before the records are made, which takes a while for a large town,
	// and once more inside the transaction.
	if err := noCompany(s.Store.Query(ctx)); err != nil {
		return nil, err
	}
	if progress == nil {
		progress = func(string, int, int) {}
	}
	if o.Today.IsZero() {
		o.Today = units.DateOf(s.Now().In(demo.Zone()))
	}
	signIns, people, err := demoPeople(o.Seed, progress)
	if err != nil {
		return nil, err
	}
	c := demo.Make(o)
	err = s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if err := noCompany(tx.Query); err != nil {
			return err
		}
		if err := tx.Create(&c.Company); err != nil {
			return err
		}
		if err := tx.Create(&c.Branch); err != nil {
			return err
		}
		for _, p := range people {
			if err := addPerson(tx, p); err != nil {
				return err
			}
			assignDemo(c, p)
		}
		if err := writeDemo(tx, c, func(done, total int) { progress("records", done, total) }); err != nil {
			return err
		}
		return closeDemo(tx, c, o.Today, people)
	})
	if err != nil {
		return nil, fmt.Errorf("writing the demo company: %w", err)
	}
	return signIns, nil
}

func noCompany(q store.Query) error {
	there, err := store.Count[models.Company](q, "")
	if err == nil && there > 0 {
		err = models.Errorf(models.Conflict, "This database holds a company already; the demo needs an empty one.")
	}
	return err
}

// demoPeople makes the sign-ins of the invented staff. Their passwords follow
// from the seed, because they are printed for anybody to read.
func demoPeople(seed uint64, progress func(step string, done, total int)) ([]DemoSignIn, []*models.Person, error) {
	dice := rand.New(rand.NewPCG(seed, 7))
	word := func() string { return demoWords[dice.IntN(len(demoWords))] }
	var signIns []DemoSignIn
	var people []*models.Person
	staff := demo.AllStaff()
	for i, member := range staff {
		in := DemoSignIn{Name: member.Name, Email: member.Email(), Roles: models.Roles{member.Role},
			Password: fmt.Sprintf("%s-%s-%s-%d", word(), word(), word(), 10+dice.IntN(90))}
		person, err := newPerson(NewPerson{Email: in.Email, Name: in.Name, Password: in.Password, Roles: in.Roles, Demo: true})
		if err != nil {
			return nil, nil, fmt.Errorf("making the sign-in of %s: %w", in.Email, err)
		}
		signIns, people = append(signIns, in), append(people, person)
		progress("sign-ins", i+1, len(staff))
	}
	return signIns, people, nil
}

// assignDemo makes a person of the staff the one who knocked, or who looks.
func assignDemo(c *demo.Company, p *models.Person) {
	if p.Roles.Has(models.Seller) {
		for i := range c.Knocks {
			c.Knocks[i].PersonID = &p.ID
		}
		for i := range c.Prospects {
			if c.Prospects[i].State != "not_called" {
				c.Prospects[i].SellerID = &p.ID
			}
		}
	}
	for i := range c.Visits {
		if c.Visits[i].ByName == p.Name {
			c.Visits[i].PersonID = &p.ID
		}
	}
}

// demoChunk is how many rows are written between two reports of progress.
const demoChunk = 4000

// demoStep is one list of records to write.
type demoStep struct {
	rows  int
	write func(from, to int) error
}

func demoRecords[T any, P interface {
	*T
	models.Record
}](tx *store.Tx, recs []T) demoStep {
	return demoStep{len(recs), func(from, to int) error { return store.CreateAll[T, P](tx, recs[from:to]) }}
}

func demoLinks[T any](tx *store.Tx, rows []T) demoStep {
	return demoStep{len(rows), func(from, to int) error { return store.PutAll(tx, rows[from:to]) }}
}

// writeDemo writes the records in an order in which each names only what is
// written already.
func writeDemo(tx *store.Tx, c *demo.Company, progress func(done, total int)) error {
	steps := []demoStep{
		demoRecords(tx, c.Coverings),
		demoRecords(tx, c.Terms),
		demoRecords(tx, c.Crews),
		demoRecords(tx, c.CrewMembers),
		demoRecords(tx, c.Practices),
		demoRecords(tx, c.Watches),
		demoRecords(tx, c.Houses),
		demoRecords(tx, c.Addresses),
		demoRecords(tx, c.Contacts),
		demoRecords(tx, c.Holdings),
		demoRecords(tx, c.Structures),
		demoRecords(tx, c.Attics),
		demoRecords(tx, c.Slopes),
		demoRecords(tx, c.Vents),
		demoRecords(tx, c.Gutters),
		demoRecords(tx, c.Details),
		demoRecords(tx, c.Roofs),
		demoLinks(tx, c.RoofSlopes),
		demoRecords(tx, c.Jobs),
		demoLinks(tx, c.JobRoofs),
		demoRecords(tx, c.Lots),
		demoRecords(tx, c.Subcontracts),
		demoRecords(tx, c.Declined),
		demoRecords(tx, c.Warranties),
		demoRecords(tx, c.Certificates),
		demoRecords(tx, c.Plans),
		demoRecords(tx, c.Callbacks),
		demoRecords(tx, c.Calls),
		demoRecords(tx, c.CostLines),
		demoRecords(tx, c.Claims),
		demoRecords(tx, c.Steps),
		demoRecords(tx, c.Storms),
		demoRecords(tx, c.Scenarios),
		demoRecords(tx, c.Visits),
		demoRecords(tx, c.Findings),
		demoRecords(tx, c.Prospects),
		demoRecords(tx, c.Knocks),
		demoRecords(tx, c.StopEntries),
	}
	total, done := 0, 0
	for _, s := range steps {
		total += s.rows
	}
	for _, s := range steps {
		for from := 0; from < s.rows; from += demoChunk {
			to := min(from+demoChunk, s.rows)
			if err := s.write(from, to); err != nil {
				return err
			}
			done += to - from
			progress(done, total)
		}
	}
	return nil
}

// demoClosed is how many months of the invented company are closed; the newest of
// those that are over is open still.
const demoClosed = 14

// closeDemo closes months as the bookkeeper would have, each on the tenth day
// after, by what was known then.
func closeDemo(tx *store.Tx, c *demo.Company, today units.Date, people []*models.Person) error {
	files, err := bookFiles(tx.Query)
	if err != nil {
		return err
	}
	books, err := reserveBooks(tx.Query, files, verdictsOf(files, &c.Branch), &c.Branch)
	if err != nil {
		return err
	}
	who := Program("demo")
	for _, p := range people {
		if p.Roles.Has(models.Bookkeeper) {
			who = Actor{PersonID: p.ID, Name: p.Name, Roles: p.Roles}
		}
	}
	for n := demoClosed; n >= 1; n-- {
		month := today.Month() - 1 - units.Month(n)
		if err := closeMonth(tx, books, month, month.Last().AddDays(10), who); err != nil {
			return fmt.Errorf("closing %s: %w", month, err)
		}
	}
	return nil
}
