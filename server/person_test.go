package server

import (
	"net/url"
	"strings"
	"testing"

	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func TestPasswordLengthIsSaidAsItIs(t *testing.T) {
	if views.PasswordLength != service.PasswordLength {
		t.Errorf("the page asks for %d characters, the rule for %d", views.PasswordLength, service.PasswordLength)
	}
}

func TestAccount(t *testing.T) {
	s := newSite(t)
	page := s.as(models.Bookkeeper).get("/account").want(200)
	for _, want := range []string{"bookkeeper@example.org", "Bookkeeper", "one browser"} {
		if !strings.Contains(page.text("main"), want) {
			t.Errorf("the page does not say %q: %s", want, page.text("main"))
		}
	}
}

func TestChangePassword(t *testing.T) {
	s := newSite(t)
	b, other := s.stranger(), s.stranger()
	b.signIn("office@example.org", testPassword, "")
	other.signIn("office@example.org", testPassword, "")
	b.csrf, _ = b.get("/account").page().Find("input[name=csrf]").Attr("value")
	before := b.cookies["overhang_session"]

	refused := b.post("/account/password", url.Values{"password": {testPassword}, "new_password": {"office@example.org"}}).want(422)
	if got := refused.text("#password-new_password-error"); !strings.Contains(got, "more than your name or email") {
		t.Errorf("beside the field it says %q", got)
	}
	wrong := b.post("/account/password", url.Values{"password": {"not it"}, "new_password": {"a lid and four walls"}}).want(422)
	if got := wrong.text("#password-password-error"); got == "" {
		t.Error("nothing is said beside the current password")
	}
	b.post("/account/password", url.Values{"password": {testPassword}, "new_password": {"a lid and four walls"}}).leads("/account")
	if b.cookies["overhang_session"] == before {
		t.Error("the session's token is the one from before")
	}
	if got := b.get("/account").want(200).text(".flash"); !strings.Contains(got, "password is changed") {
		t.Errorf("the next page says %q", got)
	}
	if got := b.get("/account").want(200).text(".flash"); got != "" {
		t.Errorf("the page after it still says %q", got)
	}
	other.get("/account").leads("/sign-in?next=%2Faccount")
	s.stranger().signIn("office@example.org", testPassword, "").want(422)
	s.stranger().signIn("office@example.org", "a lid and four walls", "").leads("/today")
}

func TestFirstOwner(t *testing.T) {
	s := emptySite(t, Options{})
	token, err := s.service.FirstOwnerLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	b := s.stranger()
	b.get("/sign-in").want(200) // before there is a company
	b.get(FirstOwnerPath + "?token=wrong").want(404)
	b.csrf, _ = b.get(Address(FirstOwnerPath, token)).want(200).page().Find("input[name=csrf]").Attr("value")
	fields := url.Values{"token": {token}, "company": {"Larch Valley Roofing"}, "time_zone": {"Mars/Base"}, "name": {"Wren Holloway"},
		"email": {"wren@example.org"}, "new_password": {"short"}}
	refused := b.post(FirstOwnerPath, fields).want(422)
	for _, field := range []string{"time_zone", "new_password"} {
		if refused.text("#firstowner-"+field+"-error") == "" {
			t.Errorf("nothing is said beside %s", field)
		}
	}
	if got, _ := refused.page().Find("input[name=company]").Attr("value"); got != "Larch Valley Roofing" {
		t.Errorf("the company is %q after the refusal", got)
	}
	fields.Set("time_zone", "America/Boise")
	fields.Set("new_password", "a lid and four walls")
	b.post(FirstOwnerPath, fields).leads("/today")
	if got := b.get("/account").want(200).text("header"); !strings.Contains(got, "Larch Valley Roofing") || !strings.Contains(got, "Records") {
		t.Errorf("the first owner sees %q", got)
	}
	// The link works once.
	late := s.stranger()
	late.get(Address(FirstOwnerPath, token)).want(404)
	late.csrf = late.visit()
	late.post(FirstOwnerPath, fields).want(404)
}

func TestNewPassword(t *testing.T) {
	s := newSite(t)
	token, err := s.service.PasswordLink(t.Context(), service.Program("a test"), s.people[models.Seller].ID)
	if err != nil {
		t.Fatal(err)
	}
	b := s.stranger()
	b.csrf, _ = b.get(Address(PasswordPath, token)).want(200).page().Find("input[name=csrf]").Attr("value")
	b.post(PasswordPath, url.Values{"token": {token}, "new_password": {"short"}}).want(422)
	b.post(PasswordPath, url.Values{"token": {token}, "new_password": {"a lid and four walls"}}).leads("/sign-in")
	b.get(Address(PasswordPath, token)).want(404)
	s.stranger().signIn("seller@example.org", "a lid and four walls", "").leads("/today")
	if strings.Contains(s.log.String(), token) || strings.Contains(s.log.String(), "four walls") {
		t.Error("the log holds a secret")
	}
}
