package server

import (
	"crypto/rand"
	"strings"

	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) personRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/account", Need: SignedIn, Handle: s.showAccount},
		{Method: "POST", Path: "/account/password", Need: SignedIn, Handle: s.changePassword},
		{Method: "GET", Path: FirstOwnerPath, Need: Public, Handle: s.showFirstOwner},
		{Method: "POST", Path: FirstOwnerPath, Need: Public, Handle: s.addFirstOwner},
		{Method: "GET", Path: PasswordPath, Need: Public, Handle: s.showNewPassword},
		{Method: "POST", Path: PasswordPath, Need: Public, Handle: s.setNewPassword},
		{Method: "GET", Path: "/records/people", Need: service.EditPeople, Handle: s.listPeople},
		{Method: "POST", Path: "/records/people", Need: service.EditPeople, Handle: s.addPerson},
		{Method: "GET", Path: "/records/people/new", Need: service.EditPeople, Handle: s.newPerson},
		{Method: "GET", Path: "/records/people/:id", Need: service.EditPeople, Example: "/records/people/1", Handle: s.showPerson},
		{Method: "POST", Path: "/records/people/:id", Need: service.EditPeople, Example: "/records/people/1", Handle: s.changePerson},
		{Method: "POST", Path: "/records/people/:id/link", Need: service.EditPeople, Example: "/records/people/1/link", Handle: s.makePasswordLink},
		{Method: "POST", Path: "/records/people/:id/end", Need: service.EditPeople, Example: "/records/people/1/end", Handle: s.endPerson},
	}
}

// Where one-time links lead; Address adds their token.
const (
	FirstOwnerPath = "/first-owner"
	PasswordPath   = "/new-password"
)

func (s *Server) accountPage(r *Request) (views.AccountPage, error) {
	person, err := s.service.Person(r.ctx, r.Actor, r.Actor.PersonID)
	if err != nil {
		return views.AccountPage{}, err
	}
	browsers, err := s.service.Browsers(r.ctx, r.Actor)
	if err != nil {
		return views.AccountPage{}, err
	}
	roles := make([]string, len(person.Roles))
	for i, role := range person.Roles {
		roles[i] = string(role)
	}
	return views.NewAccountPage(r.Frame(""), person.Email, roles, browsers), nil
}

func (s *Server) showAccount(r *Request) error {
	page, err := s.accountPage(r)
	if err != nil {
		return err
	}
	return r.Render(page)
}

func (s *Server) changePassword(r *Request) error {
	form := r.Form()
	var in service.SignedIn
	err := s.slowly(r, func() (err error) {
		in, err = s.service.ChangePassword(r.ctx, r.Actor, service.PasswordChange{Current: form.Raw("password"),
			New: form.Raw("new_password"), Address: r.address(), Browser: r.browser()})
		return err
	})
	if err != nil {
		page, unread := s.accountPage(r)
		if unread != nil {
			return unread
		}
		return r.Refused(page, page.Password, err)
	}
	r.begin(in)
	return r.Redirect("/account", views.Say("account.password.done"))
}

func (s *Server) showFirstOwner(r *Request) error {
	token := r.Query("token")
	if err := s.service.CheckFirstOwnerLink(r.ctx, token); err != nil {
		return err
	}
	return r.Render(views.NewFirstOwnerPage(r.Frame(""), token))
}

func (s *Server) addFirstOwner(r *Request) error {
	form := r.Form()
	token := form.Text("token")
	var in service.SignedIn
	err := s.slowly(r, func() (err error) {
		in, err = s.service.UseFirstOwnerLink(r.ctx, token, service.FirstOwner{Company: form.Text("company"), Name: form.Text("name"),
			Email: form.Text("email"), Password: form.Raw("new_password"), TimeZone: form.Text("time_zone"), Browser: r.browser()})
		return err
	})
	if err != nil {
		page := views.NewFirstOwnerPage(r.Frame(""), token)
		return r.Refused(page, page.Form, err)
	}
	r.begin(in)
	return r.Redirect(firstPage, views.Phrase{})
}

func (s *Server) showNewPassword(r *Request) error {
	token := r.Query("token")
	if err := s.service.CheckPasswordLink(r.ctx, token); err != nil {
		return err
	}
	return r.Render(views.NewPasswordPage(r.Frame(""), token))
}

func (s *Server) setNewPassword(r *Request) error {
	form := r.Form()
	token := form.Text("token")
	err := s.slowly(r, func() error { return s.service.UsePasswordLink(r.ctx, token, form.Raw("new_password")) })
	if err != nil {
		page := views.NewPasswordPage(r.Frame(""), token)
		return r.Refused(page, page.Form, err)
	}
	return r.Redirect("/sign-in", views.Phrase{})
}

func (s *Server) listPeople(r *Request) error {
	people, err := s.service.People(r.ctx, r.Actor)
	if err != nil {
		return err
	}
	return r.Render(views.NewPeoplePage(r.Frame(views.Records), people))
}

func (s *Server) newPerson(r *Request) error {
	return r.Render(views.NewPersonPage(r.Frame(views.Records), &models.Person{}, ""))
}

// person reads whom the path names.
func (s *Server) person(r *Request) (*models.Person, error) {
	id, err := r.ID("id")
	if err != nil {
		return nil, err
	}
	return s.service.Person(r.ctx, r.Actor, id)
}

func (s *Server) showPerson(r *Request) error {
	person, err := s.person(r)
	if err != nil {
		return err
	}
	return r.Render(views.NewPersonPage(r.Frame(views.Records), person, ""))
}

// readRoles reads the roles that are ticked.
func readRoles(f *Form) models.Roles {
	roles, err := models.ParseRoles(strings.Join(f.Texts("roles"), ","))
	if err != nil {
		f.Refuse("roles", "must be of the list")
	}
	return roles
}

// addPerson lets somebody in with a password that nobody knows, and a link with
// which they choose their own. The link is told in this answer alone.
func (s *Server) addPerson(r *Request) error {
	f := r.Form()
	in := service.NewPerson{Name: f.Text("name"), Email: f.Text("email"), Roles: readRoles(f), Password: rand.Text()}
	var person *models.Person
	err := f.Err()
	if err == nil {
		err = s.slowly(r, func() (err error) {
			person, err = s.service.AddPerson(r.ctx, r.Actor, in)
			return err
		})
	}
	if err != nil {
		page := views.NewPersonPage(r.Frame(views.Records), &models.Person{}, "")
		return r.Refused(page, page.Change, err)
	}
	return s.showLink(r, person)
}

func (s *Server) changePerson(r *Request) error {
	person, err := s.person(r)
	if err != nil {
		return err
	}
	f := r.Form()
	change := service.PersonChange{ID: person.ID, Version: f.Version(), Name: f.Text("name"), Email: f.Text("email"), Roles: readRoles(f)}
	if err = f.Err(); err == nil {
		_, err = s.service.ChangePerson(r.ctx, r.Actor, change)
	}
	if err != nil {
		page := views.NewPersonPage(r.Frame(views.Records), person, "")
		if page.Change == nil {
			return err
		}
		return r.Refused(page, page.Change, err)
	}
	if person.ID == r.Actor.PersonID && !change.Roles.Has(models.Owner) {
		return r.Redirect(firstPage, views.Say("people.saved", "name", change.Name)) // this page is no longer theirs
	}
	return r.Redirect("/records/people", views.Say("people.saved", "name", change.Name))
}

func (s *Server) makePasswordLink(r *Request) error {
	person, err := s.person(r)
	if err != nil {
		return err
	}
	return s.showLink(r, person)
}

// showLink makes a link to set a password, and answers with it: it is told once,
// and is never kept in a cookie.
func (s *Server) showLink(r *Request, person *models.Person) error {
	token, err := s.service.PasswordLink(r.ctx, r.Actor, person.ID)
	if err != nil {
		return err
	}
	scheme := "http://"
	if s.options.HTTPS {
		scheme = "https://"
	}
	link := scheme + string(r.fiber.Context().Host()) + Address(PasswordPath, token)
	return r.Render(views.NewPersonPage(r.Frame(views.Records), person, link))
}

func (s *Server) endPerson(r *Request) error {
	person, err := s.person(r)
	if err != nil {
		return err
	}
	if err := s.service.EndPerson(r.ctx, r.Actor, person.ID, r.Form().Version()); err != nil {
		page := views.NewPersonPage(r.Frame(views.Records), person, "")
		if page.End == nil {
			return err
		}
		if e := publicError(err); e != nil && len(e.Fields) > 0 { // the form has no field to say it beside
			rule := e.Fields[0].Rule
			err = models.Errorf(e.Code, "%s.", strings.ToUpper(rule[:1])+rule[1:])
		}
		return r.Refused(page, page.End, err)
	}
	return r.Redirect("/records/people", views.Say("people.ended.done", "name", person.Name))
}
