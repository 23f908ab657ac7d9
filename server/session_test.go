package server

import (
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/valyala/fasthttp"

	"overhang/models"
	"overhang/models/store"
)

// signIn passes the sign-in page.
func (b *browser) signIn(email, password, next string) answer {
	b.s.t.Helper()
	return b.send("POST", "/sign-in", url.Values{"csrf": {b.visit()}, "email": {email}, "password": {password}, "next": {next}})
}

func TestSignIn(t *testing.T) {
	s := newSite(t)
	b := s.stranger()
	b.get("/account").leads("/sign-in?next=%2Faccount")
	form := b.get("/sign-in?next=%2Faccount").want(200).page().Find("form#signin")
	if next, _ := form.Find("input[name=next]").Attr("value"); next != "/account" {
		t.Errorf("the form goes on to %q", next)
	}
	b.signIn("office@example.org", testPassword, "/account").leads("/account")
	page := b.get("/account").want(200)
	if got := page.text("footer"); !strings.Contains(got, "The office") {
		t.Errorf("the footer says %q", got)
	}
	if nav := page.text("nav"); strings.Contains(nav, "Sign in") || !strings.Contains(nav, "Roofs") {
		t.Errorf("the navigation says %q", nav)
	}
	b.get("/sign-in").leads("/today")
}

func TestNavigationHasOnlyWhatOneMaySee(t *testing.T) {
	s := newSite(t)
	for role, row := range map[models.Role]struct{ sees, not []string }{
		models.Owner:  {sees: []string{"Today", "Roofs", "Promises", "Callbacks", "Neighbours", "Visits", "Records"}},
		models.Seller: {[]string{"Today", "Roofs", "Neighbours"}, []string{"Promises", "Callbacks", "Visits", "Records"}},
		models.Roofer: {[]string{"Today", "Roofs", "Callbacks", "Visits"}, []string{"Promises", "Neighbours", "Records"}},
	} {
		nav := strings.Fields(s.as(role).get("/account").want(200).text("nav"))
		for _, section := range row.sees {
			if !slices.Contains(nav, section) {
				t.Errorf("%s does not see %s among %q", role, section, nav)
			}
		}
		for _, section := range row.not {
			if slices.Contains(nav, section) {
				t.Errorf("%s sees %s among %q", role, section, nav)
			}
		}
	}
}

// A wrong password and an unknown email get the same page; what was typed is
// kept, the password is not.
func TestSignInRefused(t *testing.T) {
	s := newSite(t)
	wrong := s.stranger().signIn("office@example.org", "not the password", "/roofs/1").want(422)
	unknown := s.stranger().signIn("nobody@example.org", "not the password", "/roofs/1").want(422)
	if a, b := wrong.text(".wrong"), unknown.text(".wrong"); a != b || a == "" {
		t.Errorf("a known and an unknown email are told apart: %q and %q", a, b)
	}
	for name, want := range map[string]string{"email": "office@example.org", "password": "", "next": "/roofs/1"} {
		if got, _ := wrong.page().Find("input[name=" + name + "]").Attr("value"); got != want {
			t.Errorf("the field %s holds %q, want %q", name, got, want)
		}
	}
	if strings.Contains(wrong.Body, "not the password") {
		t.Error("the page shows the password")
	}
}

func TestTriesToSignInAreSlowedDown(t *testing.T) {
	s := newSite(t)
	for range 5 {
		s.stranger().signIn("office@example.org", "not the password", "").want(422)
	}
	waits := s.stranger().signIn("office@example.org", testPassword, "").want(http.StatusTooManyRequests)
	if got := waits.text(".wrong"); !strings.Contains(got, "Wait 30 seconds") {
		t.Errorf("the page says %q", got)
	}
	s.clock.pass(31 * time.Second)
	s.stranger().signIn("office@example.org", testPassword, "").leads("/today")
}

// The session's token is new at each sign-in, whatever the browser brought: one
// that somebody else planted there is worth nothing.
func TestSessionFixation(t *testing.T) {
	s := newSite(t)
	b := s.stranger()
	planted := strings.Repeat("p", 43)
	b.cookies["overhang_session"] = planted
	b.signIn("office@example.org", testPassword, "").leads("/today")
	first := b.cookies["overhang_session"]
	if first == planted || len(first) != 43 {
		t.Fatalf("the token after signing in is %q", first)
	}
	before := b.get("/account").want(200)
	token, _ := before.page().Find("input[name=csrf]").Attr("value")

	// Signing in again in the same browser ends the session before.
	again := s.stranger()
	csrf := again.visit()
	again.cookies["overhang_session"] = first
	again.csrf = token
	again.send("POST", "/sign-in", url.Values{"csrf": {token}, "email": {"office@example.org"}, "password": {testPassword}}).leads("/today")
	if again.cookies["overhang_session"] == first {
		t.Error("the token is the same after signing in again")
	}
	b.get("/account").leads("/sign-in?next=%2Faccount")
	// The token of the forms went with the session.
	again.send("POST", "/sign-out", url.Values{"csrf": {token}}).want(403)
	again.send("POST", "/sign-out", url.Values{"csrf": {csrf}}).want(403)
}

func TestSessionExpires(t *testing.T) {
	s := newSite(t)
	b := s.stranger()
	b.signIn("office@example.org", testPassword, "").leads("/today")
	s.clock.pass(6 * 24 * time.Hour)
	b.get("/account").want(200)
	s.clock.pass(6 * 24 * time.Hour) // seen six days ago, so still in
	b.get("/account").want(200)
	s.clock.pass(7 * 24 * time.Hour)
	b.get("/account").leads("/sign-in?next=%2Faccount")
	csrf := b.csrf
	b.send("POST", "/account/password", url.Values{"csrf": {csrf}}).want(401)
}

func TestSignOut(t *testing.T) {
	s := newSite(t)
	b, other := s.stranger(), s.stranger()
	b.signIn("office@example.org", testPassword, "")
	other.signIn("office@example.org", testPassword, "")
	token := b.cookies["overhang_session"]
	b.csrf, _ = b.get("/account").page().Find("input[name=csrf]").Attr("value")
	b.post("/sign-out", nil).leads("/sign-in")
	if _, there := b.cookies["overhang_session"]; there {
		t.Error("the cookie is still there")
	}
	b.cookies["overhang_session"] = token
	b.get("/account").leads("/sign-in?next=%2Faccount")

	other.get("/account").want(200)
	third := s.stranger()
	third.signIn("office@example.org", testPassword, "")
	third.csrf, _ = third.get("/account").page().Find("input[name=csrf]").Attr("value")
	third.post("/account/sign-out-everywhere", nil).leads("/sign-in")
	other.get("/account").leads("/sign-in?next=%2Faccount")
}

// Roles hold from the next request, and so does an end.
func TestRolesHoldAtOnce(t *testing.T) {
	s := newSite(t, Route{Method: "GET", Path: "/x", Need: "see money", Handle: func(r *Request) error { return r.JSON("money") }})
	b := s.as(models.Bookkeeper)
	b.get("/x").want(200)
	p := s.people[models.Bookkeeper]
	change := func(do func(*models.Person)) {
		t.Helper()
		do(p)
		if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Update(p) }); err != nil {
			t.Fatal(err)
		}
	}
	change(func(p *models.Person) { p.Roles = models.Roles{models.Roofer} })
	b.get("/x").want(403)
	change(func(p *models.Person) { p.EndedOn = 739000 })
	b.get("/x").leads("/sign-in?next=%2Fx")
}

func TestOwnPath(t *testing.T) {
	for next, want := range map[string]string{
		"/roofs": "/roofs", "/roofs?sort=-laid_on&page=2": "/roofs?sort=-laid_on&page=2", "/roofs/1#years": "/roofs/1#years",
		"": firstPage, "/": firstPage, "roofs": firstPage, "https://evil.example/": firstPage, "//evil.example": firstPage,
		"///evil.example": firstPage, `/\evil.example`: firstPage, `\\evil.example`: firstPage, "/\t/evil.example": firstPage,
		"/\n/evil.example": firstPage, " //evil.example": firstPage, "javascript:alert(1)": firstPage, "/sign-in": firstPage,
		"/sign-out": firstPage, "/%zz": firstPage, "/" + strings.Repeat("x", 1000): firstPage, "/a\\b": firstPage, "/a\x00b": firstPage,
	} {
		if got := ownPath(next); got != want {
			t.Errorf("after signing in, %q leads to %q, want %q", next, got, want)
		}
	}
	s := newSite(t)
	s.stranger().signIn("office@example.org", testPassword, "//evil.example/").leads("/today")
	form := s.stranger().get("/sign-in?next=https%3A%2F%2Fevil.example").want(200)
	if strings.Contains(form.Body, "evil") {
		t.Error("the form repeats the address of another site")
	}
}

func TestCookies(t *testing.T) {
	for _, https := range []bool{false, true} {
		s := emptySite(t, Options{HTTPS: https})
		if err := s.service.Store.Write(t.Context(), store.By{Name: "a test"}, s.seed); err != nil {
			t.Fatal(err)
		}
		b := s.stranger()
		got := b.get("/sign-in").Header.Values("Set-Cookie")
		got = append(got, b.signIn("office@example.org", testPassword, "").Header.Values("Set-Cookie")...)
		if len(got) < 3 {
			t.Fatalf("the cookies are %q", got)
		}
		for _, c := range got {
			low := strings.ToLower(c)
			if !strings.Contains(low, "httponly") || !strings.Contains(low, "samesite=lax") || !strings.Contains(low, "path=/") {
				t.Errorf("a cookie within reach of others: %s", c)
			}
			if strings.Contains(low, "secure") != https || strings.HasPrefix(c, "__Host-") != https || strings.Contains(low, "domain=") {
				t.Errorf("with TLS %v the cookie is %s", https, c)
			}
		}
		if hsts := b.get("/sign-in").Header.Get("Strict-Transport-Security"); (hsts != "") != https {
			t.Errorf("with TLS %v the header is %q", https, hsts)
		}
	}
}

func TestAddress(t *testing.T) {
	s := emptySite(t, Options{TrustedProxies: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}})
	for _, row := range []struct{ remote, forwarded, want string }{
		{"192.0.2.1", "", "192.0.2.1"},
		{"192.0.2.1", "198.51.100.9", "192.0.2.1"}, // not from a proxy of ours: invented
		{"10.0.0.1", "198.51.100.9", "198.51.100.9"},
		{"10.0.0.1", "203.0.113.5, 198.51.100.9", "198.51.100.9"}, // the first was sent by the visitor
		{"10.0.0.1", "198.51.100.9, 10.0.0.2", "198.51.100.9"},
		{"10.0.0.1", "", "10.0.0.1"},
		{"10.0.0.1", "nonsense", "10.0.0.1"},
		{"2001:db8:1:2:3:4:5:6", "", "2001:db8:1:2::/64"},
		{"10.0.0.1", "::ffff:198.51.100.9", "198.51.100.9"},
	} {
		var ctx fasthttp.RequestCtx
		ctx.Init(&fasthttp.Request{}, &net.TCPAddr{IP: net.ParseIP(row.remote)}, nil)
		ctx.Request.Header.Set("X-Forwarded-For", row.forwarded)
		c := s.app.AcquireCtx(&ctx)
		if got := (&Request{server: s.Server, fiber: c}).address(); got != row.want {
			t.Errorf("from %s, forwarded for %q: %s, want %s", row.remote, row.forwarded, got, row.want)
		}
		s.app.ReleaseCtx(c)
	}
}

// One form of another site cannot sign a visitor in: it has no token, and the
// token of another visitor is not theirs.
func TestAnotherSiteCannotSignIn(t *testing.T) {
	s := newSite(t)
	attacker := s.stranger()
	token := attacker.visit()
	victim := s.stranger()
	victim.visit()
	victim.send("POST", "/sign-in", url.Values{"csrf": {token}, "email": {"office@example.org"}, "password": {testPassword}}).want(403)
	req := httptest.NewRequest("POST", "/sign-in", strings.NewReader("email=a&password=b"))
	req.Header.Set("Content-Type", fiber.MIMEApplicationForm)
	s.stranger().do(req).want(403)
}
