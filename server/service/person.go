package service

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// What a one-time link is for.
const (
	forFirstOwner = "first_owner"
	forPassword   = "reset"
)

const linkLasts = 24 * time.Hour

// NewPerson is what is needed to let somebody in.
type NewPerson struct {
	Email    string
	Name     string
	Password string
	Roles    models.Roles
	Demo     bool // the password is one that anybody can read
}

// AddPerson lets somebody in. It needs EditPeople. In a database without a
// company it begins one, so that whoever is let in finds their pages.
func (s *Service) AddPerson(ctx context.Context, a Actor, in NewPerson) (*models.Person, error) {
	if err := a.need(EditPeople); err != nil {
		return nil, err
	}
	person, err := newPerson(in)
	if err != nil {
		return nil, err
	}
	err = s.Store.Write(ctx, a.By(), func(tx *store.Tx) error {
		if err := beginCompany(tx, firstCompany()); err != nil {
			return err
		}
		return addPerson(tx, person)
	})
	if err != nil {
		return nil, fmt.Errorf("adding a person: %w", err)
	}
	return person, nil
}

func newPerson(in NewPerson) (*models.Person, error) {
	p := &models.Person{Email: foldEmail(in.Email), Name: strings.TrimSpace(in.Name), Roles: in.Roles, Demo: in.Demo,
		PasswordHash: "not made yet"}
	// Every rule that is broken is told at once, and hashing comes last because it
	// is slow.
	if err := together(p.Validate(), checkPassword(in.Password, p.Email, p.Name)); err != nil {
		return nil, err
	}
	var err error
	p.PasswordHash, err = hashPassword(in.Password)
	return p, err
}

// together joins the fields at fault of several Invalid errors; another kind of
// error goes first.
func together(errs ...error) error {
	var all *models.Error
	for _, err := range errs {
		if err == nil {
			continue
		}
		if models.CodeOf(err) != models.Invalid {
			return err
		}
		e := err.(*models.Error)
		if all == nil {
			all = &models.Error{Code: e.Code, Message: e.Message}
		}
		all.Fields = append(all.Fields, e.Fields...)
	}
	if all == nil {
		return nil
	}
	return all
}

func addPerson(tx *store.Tx, p *models.Person) error {
	if _, err := tx.PersonByEmail(p.Email); err == nil {
		return models.FieldErrorf("email", p.Email, "is somebody's already")
	} else if models.CodeOf(err) != models.NotFound {
		return err
	}
	return tx.Create(p)
}

// People lists everybody who signs in, and those who have ended after them. It
// needs EditPeople.
func (s *Service) People(ctx context.Context, a Actor) ([]models.Person, error) {
	if err := a.need(EditPeople); err != nil {
		return nil, err
	}
	return s.Store.Query(ctx).People()
}

// Person reads one person. Everybody may read themselves; others need
// EditPeople.
func (s *Service) Person(ctx context.Context, a Actor, id int64) (*models.Person, error) {
	if a.PersonID != id || id == 0 {
		if err := a.need(EditPeople); err != nil {
			return nil, err
		}
	}
	return store.Get[models.Person](s.Store.Query(ctx), id)
}

// PersonByEmail finds whoever signs in with an email. It needs EditPeople.
func (s *Service) PersonByEmail(ctx context.Context, a Actor, email string) (*models.Person, error) {
	if err := a.need(EditPeople); err != nil {
		return nil, err
	}
	return s.Store.Query(ctx).PersonByEmail(foldEmail(email))
}

// PersonChange is how a person is to be. Version is the one they were read at.
type PersonChange struct {
	ID, Version int64
	Email       string
	Name        string
	Roles       models.Roles
}

// ChangePerson changes a person's email, name and roles. It needs EditPeople,
// and refuses to take the owner's role from the last owner. Roles hold from the
// person's next request.
func (s *Service) ChangePerson(ctx context.Context, a Actor, change PersonChange) (*models.Person, error) {
	if err := a.need(EditPeople); err != nil {
		return nil, err
	}
	var person *models.Person
	err := s.Store.Write(ctx, a.By(), func(tx *store.Tx) (err error) {
		if person, err = store.Get[models.Person](tx.Query, change.ID); err != nil {
			return err
		}
		person.Version = change.Version
		person.Email, person.Name, person.Roles = foldEmail(change.Email), strings.TrimSpace(change.Name), change.Roles
		if other, err := tx.PersonByEmail(person.Email); err == nil && other.ID != person.ID {
			return models.FieldErrorf("email", person.Email, "is somebody else's already")
		} else if err != nil && models.CodeOf(err) != models.NotFound {
			return err
		}
		if err := tx.Update(person); err != nil {
			return err
		}
		return keepAnOwner(tx, "roles")
	})
	if err != nil {
		return nil, fmt.Errorf("changing a person: %w", err)
	}
	return person, nil
}

// EndPerson takes somebody's sign-in away: their sessions end at once. Nothing
// that they did is lost. It needs EditPeople, and refuses to end the last owner.
func (s *Service) EndPerson(ctx context.Context, a Actor, id, version int64) error {
	if err := a.need(EditPeople); err != nil {
		return err
	}
	err := s.Store.Write(ctx, a.By(), func(tx *store.Tx) error {
		person, err := store.Get[models.Person](tx.Query, id)
		if err != nil {
			return err
		}
		if !person.EndedOn.IsZero() {
			return nil
		}
		set, err := settings(tx.Query)
		if err != nil {
			return err
		}
		person.Version = version
		if err := tx.EndPerson(person, s.Today(set)); err != nil {
			return err
		}
		return keepAnOwner(tx, "ended_on")
	})
	if err != nil {
		return fmt.Errorf("ending a person's sign-in: %w", err)
	}
	return nil
}

// keepAnOwner refuses a change after which nobody could let others in.
func keepAnOwner(tx *store.Tx, field string) error {
	people, err := tx.CurrentPeople()
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(people, func(p models.Person) bool { return p.Roles.Has(models.Owner) }) {
		return models.FieldErrorf(field, "", "this is the last owner: make somebody else an owner first")
	}
	return nil
}

// ResetPassword gives somebody a new password and ends their sessions. It needs
// EditPeople. Their tries to sign in are forgotten.
func (s *Service) ResetPassword(ctx context.Context, a Actor, id int64, password string) error {
	if err := a.need(EditPeople); err != nil {
		return err
	}
	return s.setPassword(ctx, a.By(), password, func(q store.Query) (*models.Person, error) {
		return store.Get[models.Person](q, id)
	}, nil)
}

// PasswordLink makes a link with which somebody can choose a new password, once
// and within a day, and gives its token. It needs EditPeople. Earlier links of
// theirs no longer work.
func (s *Service) PasswordLink(ctx context.Context, a Actor, id int64) (string, error) {
	if err := a.need(EditPeople); err != nil {
		return "", err
	}
	token := newToken()
	err := s.Store.Write(ctx, a.By(), func(tx *store.Tx) error {
		person, err := store.Get[models.Person](tx.Query, id)
		if err != nil {
			return err
		}
		if !person.EndedOn.IsZero() {
			return models.Errorf(models.Conflict, "This person's sign-in has ended.")
		}
		err = tx.ReplaceOneTimeLink(models.OneTimeLink{TokenHash: tokenHash(token), Purpose: forPassword, PersonID: &person.ID,
			ExpiresAt: tx.Now().Add(linkLasts)})
		if err != nil {
			return err
		}
		return tx.Note(person, "link to set a password made")
	})
	if err != nil {
		return "", fmt.Errorf("making a link to set a password: %w", err)
	}
	return token, nil
}

// UsePasswordLink sets the password of the person whose link it is, and ends
// their sessions. A link that is used, old or not ours is a
// NotFound error.
func (s *Service) UsePasswordLink(ctx context.Context, token, password string) error {
	return s.setPassword(ctx, store.By{Name: "a one-time link"}, password, func(q store.Query) (*models.Person, error) {
		link, err := s.goodLink(q, token, forPassword)
		if err != nil {
			return nil, err
		}
		return store.Get[models.Person](q, *link.PersonID)
	}, func(tx *store.Tx) error { return s.useLink(tx, token, forPassword) })
}

// setPassword hashes outside the transaction, because it is slow, and looks
// again inside it.
func (s *Service) setPassword(ctx context.Context, by store.By, password string,
	find func(store.Query) (*models.Person, error), also func(*store.Tx) error) error {
	person, err := find(s.Store.Query(ctx))
	if err != nil {
		return err
	}
	if !person.EndedOn.IsZero() {
		return models.Errorf(models.Conflict, "This person's sign-in has ended.")
	}
	if err := checkPassword(password, person.Email, person.Name); err != nil {
		return err
	}
	hash, err := hashPassword(password)
	if err != nil {
		return err
	}
	err = s.Store.Write(ctx, by, func(tx *store.Tx) error {
		if person, err = find(tx.Query); err != nil {
			return err
		}
		if also != nil {
			if err := also(tx); err != nil {
				return err
			}
		}
		person.PasswordHash, person.Demo = hash, false
		if err := tx.SetPassword(person); err != nil {
			return err
		}
		return tx.ForgetTries(accountKey(person.Email), 0)
	})
	if err != nil {
		return fmt.Errorf("setting a password: %w", err)
	}
	return nil
}

// HasDemoSignIns says whether somebody can sign in with a password that the demo
// prints.
func (s *Service) HasDemoSignIns(ctx context.Context) (bool, error) {
	people, err := s.Store.Query(ctx).CurrentPeople()
	return slices.ContainsFunc(people, func(p models.Person) bool { return p.Demo }), err
}

// FirstOwnerLink makes the link with which the first owner begins, valid once and
// for a day, and gives its token. It is empty when somebody can sign in already.
// An earlier link no longer works.
func (s *Service) FirstOwnerLink(ctx context.Context) (string, error) {
	token := newToken()
	err := s.Store.Write(ctx, store.By{Name: "starting"}, func(tx *store.Tx) error {
		people, err := tx.CurrentPeople()
		if err != nil {
			return err
		}
		if len(people) > 0 {
			token = ""
			return nil
		}
		return tx.ReplaceOneTimeLink(models.OneTimeLink{TokenHash: tokenHash(token), Purpose: forFirstOwner, ExpiresAt: tx.Now().Add(linkLasts)})
	})
	if err != nil {
		return "", fmt.Errorf("making the first owner's link: %w", err)
	}
	return token, nil
}

// CheckFirstOwnerLink returns a NotFound error for a link that is used, old or
// not ours.
func (s *Service) CheckFirstOwnerLink(ctx context.Context, token string) error {
	_, err := s.goodLink(s.Store.Query(ctx), token, forFirstOwner)
	return err
}

// CheckPasswordLink returns a NotFound error for a link that is used, old or not
// ours.
func (s *Service) CheckPasswordLink(ctx context.Context, token string) error {
	_, err := s.goodLink(s.Store.Query(ctx), token, forPassword)
	return err
}

// FirstOwner is what the first owner gives.
type FirstOwner struct {
	Company  string
	Email    string
	Name     string
	Password string
	TimeZone string // IANA name
	Browser  string
}

// UseFirstOwnerLink begins the company's records with its first owner, who is
// then signed in. A link that is used, old or not ours is a NotFound error.
func (s *Service) UseFirstOwnerLink(ctx context.Context, token string, in FirstOwner) (SignedIn, error) {
	if err := s.CheckFirstOwnerLink(ctx, token); err != nil {
		return SignedIn{}, err
	}
	set := firstCompany()
	set.Company.Name = strings.TrimSpace(in.Company)
	if in.TimeZone != "" {
		set.Branch.TimeZone = strings.TrimSpace(in.TimeZone)
	}
	company := set.Company.Validate()
	if company != nil {
		company = models.FieldErrorf("company", in.Company, "must be a name of at most 120 characters")
	}
	person, err := newPerson(NewPerson{Email: in.Email, Name: in.Name, Password: in.Password, Roles: models.Roles{models.Owner}})
	if err := together(company, set.Branch.Validate(), err); err != nil {
		return SignedIn{}, err
	}
	var signedIn SignedIn
	err = s.Store.Write(ctx, store.By{Name: "a one-time link"}, func(tx *store.Tx) error {
		if err := s.useLink(tx, token, forFirstOwner); err != nil {
			return err
		}
		if err := beginCompany(tx, set); err != nil {
			return err
		}
		if err := addPerson(tx, person); err != nil {
			return err
		}
		signedIn, err = beginSession(tx, person.ID, in.Browser)
		return err
	})
	if err != nil {
		return SignedIn{}, fmt.Errorf("adding the first owner: %w", err)
	}
	return signedIn, nil
}

func (s *Service) goodLink(q store.Query, token, purpose string) (*models.OneTimeLink, error) {
	dead := models.Errorf(models.NotFound, "This link has been used, or is older than a day. Ask for a new one.")
	link, err := q.OneTimeLink(tokenHash(token))
	if models.CodeOf(err) == models.NotFound {
		return nil, dead
	}
	if err != nil {
		return nil, err
	}
	if link.Purpose != purpose || link.UsedAt != nil || !s.Now().Before(link.ExpiresAt) {
		return nil, dead
	}
	if purpose == forFirstOwner {
		// Somebody was let in another way since.
		people, err := q.CurrentPeople()
		if err != nil {
			return nil, err
		}
		if len(people) > 0 {
			return nil, dead
		}
	}
	return link, nil
}

func (s *Service) useLink(tx *store.Tx, token, purpose string) error {
	link, err := s.goodLink(tx.Query, token, purpose)
	if err != nil {
		return err
	}
	now := tx.Now()
	link.UsedAt = &now
	return tx.Put(link)
}

// firstCompany is what a new database begins with. The settings page changes it.
func firstCompany() Settings {
	return Settings{
		Company: models.Company{Name: "Our company", RingBackHours: 24},
		Branch: models.Branch{Name: "Main", Units: units.US, BuildingCode: "irc_2021", SeasonFrom: "04-15", SeasonTo: "11-15",
			FiscalYearStart: 1, TimeZone: "America/Denver", Language: "en", Currency: "$", VisitsPerDay: 8, CheckupEveryMths: 12,
			StormLookDays: 14, NeighbourRadius: 300 * units.Metre, StandingLagYears: 2},
	}
}

// beginCompany writes the company and its branch, unless there is one.
func beginCompany(tx *store.Tx, set Settings) error {
	there, err := store.Count[models.Company](tx.Query, "")
	if err != nil || there > 0 {
		return err
	}
	if err := tx.Create(&set.Company); err != nil {
		return err
	}
	return tx.Create(&set.Branch)
}
