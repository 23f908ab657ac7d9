package service

import (
	"context"
	"fmt"
	"math/rand/v2"

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
// transaction, and gives its sign-ins, which are marked as the demo's. A
// database that holds a company already is refused.
func (s *Service) FillDemo(ctx context.Context, who Actor, o demo.Options, progress func(step string, done, total int)) ([]DemoSignIn, error) {
	if !who.program {
		return nil, models.Errorf(models.Forbidden, "The demo is made by the program itself.")
	}
	if progress == nil {
		progress = func(string, int, int) {}
	}
	var signIns []DemoSignIn
	var people []*models.Person
	dice := rand.New(rand.NewPCG(o.Seed, 7))
	staff := demo.AllStaff()
	for i, member := range staff {
		in := DemoSignIn{Name: member.Name, Email: member.Email(), Roles: models.Roles{member.Role},
			Password: fmt.Sprintf("%s-%s-%s-%d", demoWords[dice.IntN(len(demoWords))], demoWords[dice.IntN(len(demoWords))], demoWords[dice.IntN(len(demoWords))], 10+dice.IntN(90))}
		person, err := newPerson(NewPerson{Email: in.Email, Name: in.Name, Password: in.Password, Roles: in.Roles, Demo: true})
		if err != nil {
			return nil, fmt.Errorf("making the sign-in of %s: %w", in.Email, err)
		}
		signIns, people = append(signIns, in), append(people, person)
		progress("sign-ins", i+1, len(staff))
	}
	c := demo.Make(o)
	err := s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		there, err := store.Count[models.Company](tx.Query, "")
		if err != nil {
			return err
		}
		if there > 0 {
			return models.Errorf(models.Conflict, "This database holds a company already; the demo needs an empty one.")
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
		}
		return writeDemo(tx, c, func(done, total int) { progress("records", done, total) })
	})
	if err != nil {
		return nil, fmt.Errorf("writing the demo company: %w", err)
	}
	return signIns, nil
}

// writeDemo writes the records in an order in which each names only what is
// written already.
func writeDemo(tx *store.Tx, c *demo.Company, progress func(done, total int)) error {
	steps := []func() error{
		func() error { return store.CreateAll(tx, c.Coverings) },
		func() error { return store.CreateAll(tx, c.Terms) },
		func() error { return store.CreateAll(tx, c.Crews) },
		func() error { return store.CreateAll(tx, c.CrewMembers) },
		func() error { return store.CreateAll(tx, c.Houses) },
		func() error { return store.CreateAll(tx, c.Addresses) },
		func() error { return store.CreateAll(tx, c.Contacts) },
		func() error { return store.CreateAll(tx, c.Holdings) },
		func() error { return store.CreateAll(tx, c.Structures) },
		func() error { return store.CreateAll(tx, c.Attics) },
		func() error { return store.CreateAll(tx, c.Slopes) },
		func() error { return store.CreateAll(tx, c.Vents) },
		func() error { return store.CreateAll(tx, c.Gutters) },
		func() error { return store.CreateAll(tx, c.Details) },
		func() error { return store.CreateAll(tx, c.Roofs) },
		func() error { return store.PutAll(tx, c.RoofSlopes) },
		func() error { return store.CreateAll(tx, c.Jobs) },
		func() error { return store.PutAll(tx, c.JobRoofs) },
		func() error { return store.CreateAll(tx, c.Lots) },
		func() error { return store.CreateAll(tx, c.Subcontract) },
		func() error { return store.CreateAll(tx, c.Declined) },
		func() error { return store.CreateAll(tx, c.Warranties) },
		func() error { return store.CreateAll(tx, c.Plans) },
		func() error { return store.CreateAll(tx, c.Callbacks) },
		func() error { return store.CreateAll(tx, c.Calls) },
		func() error { return store.CreateAll(tx, c.CostLines) },
		func() error { return store.CreateAll(tx, c.Storms) },
		func() error { return store.CreateAll(tx, c.Visits) },
		func() error { return store.CreateAll(tx, c.Findings) },
		func() error { return store.CreateAll(tx, c.Prospects) },
		func() error { return store.CreateAll(tx, c.Knocks) },
		func() error { return store.CreateAll(tx, c.StopEntries) },
	}
	for i, step := range steps {
		if err := step(); err != nil {
			return err
		}
		progress(i+1, len(steps))
	}
	return nil
}
