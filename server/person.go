package server

import (
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
