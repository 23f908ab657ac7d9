package server

import (
	"crypto/rand"
	"crypto/subtle"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

// The cookies. All of them are out of reach of scripts, and are not sent with a
// form of another site.
const (
	sessionCookie = "session"
	visitorCookie = "visitor" // token of the forms of somebody who is not signed in
	flashCookie   = "done"    // what was done, told on the next page
)

const sessionCookieLasts = 30 * 24 * 60 * 60

func (s *Server) sessionRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/sign-in", Need: Public, Handle: s.showSignIn},
		{Method: "POST", Path: "/sign-in", Need: Public, Handle: s.signIn},
		{Method: "POST", Path: "/sign-out", Need: SignedIn, Handle: s.signOut},
		{Method: "POST", Path: "/account/sign-out-everywhere", Need: SignedIn, Handle: s.signOutEverywhere},
		{Method: "GET", Path: "/", Need: SignedIn, Handle: func(r *Request) error { return r.Redirect("/today", views.Phrase{}) }},
	}
}

// identify finds who asks, and by which settings the answer is written. A
// company that is not set up yet has the zero settings.
func (s *Server) identify(r *Request) error {
	settings, err := s.service.Settings(r.ctx)
	if err != nil && models.CodeOf(err) != models.NotFound {
		return err
	}
	r.Settings, r.Units, r.Today = settings, settings.Branch.Units, s.service.Today(settings)
	token := r.cookie(sessionCookie)
	if token == "" {
		return nil
	}
	in, err := s.service.Session(r.ctx, token)
	if models.CodeOf(err) == models.NoSession {
		return nil
	}
	if err != nil {
		return err
	}
	r.Actor, r.token, r.csrf = in.Actor, in.Token, in.CSRF
	return nil
}

// csrfToken goes into every form that changes something. It belongs to the
// session. Somebody who is not signed in has one in a cookie of its own, so that
// no other site can sign them in as somebody else.
func (r *Request) csrfToken() string {
	if r.csrf == "" {
		r.csrf = r.cookie(visitorCookie)
	}
	if len(r.csrf) < 26 && r.fiber.Method() == fiber.MethodGet {
		r.csrf = rand.Text()
		r.setCookie(visitorCookie, r.csrf, 24*60*60)
	}
	return r.csrf
}

// ownForm says whether a change comes from a form of ours: its field "csrf", or
// the header X-CSRF-Token, holds the token.
func (r *Request) ownForm() bool {
	want := r.csrf
	if want == "" {
		want = r.cookie(visitorCookie)
	}
	got := r.fiber.Get("X-CSRF-Token")
	if got == "" {
		got = r.Form().Raw("csrf")
	}
	return len(want) >= 26 && subtle.ConstantTimeCompare([]byte(got), []byte(want)) == 1
}

// cookieName begins with __Host- behind TLS, which a browser takes only from
// this host, for all its paths and over TLS (RFC 6265bis, section 4.1.3.2).
func (r *Request) cookieName(name string) string {
	if r.server.options.HTTPS {
		return "__Host-overhang_" + name
	}
	return "overhang_" + name
}

func (r *Request) cookie(name string) string { return r.fiber.Cookies(r.cookieName(name)) }

// setCookie keeps a value for so many seconds, or takes it away when they are
// negative.
func (r *Request) setCookie(name, value string, seconds int) {
	cookie := &fiber.Cookie{Name: r.cookieName(name), Value: value, Path: "/", MaxAge: seconds, HTTPOnly: true,
		SameSite: fiber.CookieSameSiteLaxMode, Secure: r.server.options.HTTPS}
	if seconds < 0 {
		cookie.MaxAge, cookie.Expires = 0, time.Unix(1, 0)
	}
	r.fiber.Cookie(cookie)
}

// begin gives the browser its session.
func (r *Request) begin(in service.SignedIn) {
	r.Actor, r.token, r.csrf = in.Actor, in.Token, in.CSRF
	r.setCookie(sessionCookie, in.Token, sessionCookieLasts)
	r.setCookie(visitorCookie, "", -1)
}

// address is the network address that a request comes from. Behind a trusted
// proxy it is the last one in X-Forwarded-For that is not a proxy of ours: what
// stands before it was sent by the visitor and may be invented. An IPv6 address
// counts as its network of 64 bits, which one visitor has to themselves
// (RFC 6177).
func (r *Request) address() string {
	at, _ := netip.AddrFromSlice(r.fiber.Context().RemoteIP())
	at = at.Unmap()
	hops := strings.Split(r.fiber.Get(fiber.HeaderXForwardedFor), ",")
	for len(hops) > 0 && r.server.trusts(at) {
		next, err := netip.ParseAddr(strings.TrimSpace(hops[len(hops)-1]))
		if err != nil {
			break
		}
		at, hops = next.Unmap(), hops[:len(hops)-1]
	}
	if at.Is6() {
		if network, err := at.WithZone("").Prefix(64); err == nil {
			return network.String()
		}
	}
	return at.String()
}

func (s *Server) trusts(at netip.Addr) bool {
	for _, network := range s.options.TrustedProxies {
		if network.Contains(at) {
			return true
		}
	}
	return false
}

func (r *Request) browser() string { return r.fiber.Get(fiber.HeaderUserAgent) }

// slowly waits for a place among those whose passwords are looked at.
func (s *Server) slowly(r *Request, do func() error) error {
	select {
	case s.hashing <- struct{}{}:
		defer func() { <-s.hashing }()
		return do()
	case <-r.ctx.Done():
		return r.ctx.Err()
	}
}

func (s *Server) showSignIn(r *Request) error {
	next := ownPath(r.Query("next"))
	if r.Actor.PersonID != 0 {
		return r.Redirect(next, views.Phrase{})
	}
	return r.Render(views.NewSignInPage(r.Frame(""), next))
}

func (s *Server) signIn(r *Request) error {
	form := r.Form()
	next := ownPath(form.Text("next"))
	var in service.SignedIn
	err := s.slowly(r, func() (err error) {
		in, err = s.service.SignIn(r.ctx, service.SignInTry{Email: form.Text("email"), Password: form.Raw("password"),
			Address: r.address(), Browser: r.browser(), Previous: r.cookie(sessionCookie)})
		return err
	})
	if err != nil {
		r.Actor = service.Actor{}
		page := views.NewSignInPage(r.Frame(""), next)
		return r.Refused(page, page.Form, err)
	}
	r.begin(in)
	return r.Redirect(next, views.Phrase{})
}

func (s *Server) signOut(r *Request) error {
	if err := s.service.SignOut(r.ctx, r.token); err != nil {
		return err
	}
	r.setCookie(sessionCookie, "", -1)
	return r.Redirect("/sign-in", views.Phrase{})
}

func (s *Server) signOutEverywhere(r *Request) error {
	if err := s.service.SignOutEverywhere(r.ctx, r.Actor); err != nil {
		return err
	}
	r.setCookie(sessionCookie, "", -1)
	return r.Redirect("/sign-in", views.Phrase{})
}

const firstPage = "/today"

func signInAddress(next string) string {
	if next = ownPath(next); next == firstPage {
		return "/sign-in"
	}
	return "/sign-in?next=" + url.QueryEscape(next)
}

// ownPath gives a path that was named as the one to go on to, when it leads to a
// page of ours, and the first page when it leads anywhere else. Browsers read a
// backslash as a slash, and drop tabs and line ends, so those are refused too.
func ownPath(next string) string {
	if !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") || len(next) > 1000 {
		return firstPage
	}
	for _, c := range next {
		if c == '\\' || c <= ' ' || c == 0x7f {
			return firstPage
		}
	}
	u, err := url.Parse(next)
	if err != nil || u.Host != "" || u.Scheme != "" || u.Path == "/" || strings.HasPrefix(u.Path, "/sign-") {
		return firstPage
	}
	return next
}

// Address gives a one-time link's path with its token, for the program to print.
func Address(path, token string) string { return path + "?token=" + url.QueryEscape(token) }
