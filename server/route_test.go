package server

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"overhang/models"
	"overhang/server/service"
)

func (r Route) example() string {
	if r.Example != "" {
		return r.Example
	}
	return r.Path
}

// elsewhere are the pages that lead somebody who may see them to another.
var elsewhere = []string{"GET /", "GET /sign-in"}

// withLink are the pages that nobody sees without a one-time link.
var withLink = []string{"GET " + FirstOwnerPath, "GET " + PasswordPath, "POST " + FirstOwnerPath, "POST " + PasswordPath}

// TestEveryRouteWithEveryRole walks the table: each route is asked for by a
// stranger and by each role. What is asserted is the table of permissions
// itself, so a route that is added is tested without another line.
func TestEveryRouteWithEveryRole(t *testing.T) {
	for _, role := range append([]models.Role{""}, models.AllRoles...) {
		name := string(role)
		if role == "" {
			name = "stranger"
		}
		t.Run(name, func(t *testing.T) {
			s := newSite(t)
			for _, route := range s.routes {
				b := s.stranger()
				actor := service.Actor{}
				if role != "" {
					b, actor = s.as(role), service.Actor{PersonID: 1, Roles: models.Roles{role}}
				}
				is := route.Method + " " + route.Path
				open := route.Need == Public || route.Need == Bare
				allowed := open || (role != "" && (route.Need == SignedIn || actor.May(route.Need)))
				var got answer
				if changes(route.Method) {
					if role == "" {
						b.csrf = b.visit()
					}
					got = b.send(route.Method, route.example(), url.Values{"csrf": {b.csrf}})
				} else {
					got = b.send(route.Method, route.example(), nil)
				}
				switch {
				case !allowed && role == "" && !changes(route.Method):
					if got.Status != http.StatusSeeOther || !strings.HasPrefix(got.Header.Get("Location"), "/sign-in") {
						t.Errorf("%s sends a stranger %d %q, want to sign in", is, got.Status, got.Header.Get("Location"))
					}
				case !allowed && role == "":
					if got.Status != http.StatusUnauthorized {
						t.Errorf("%s answers a stranger %d, want 401", is, got.Status)
					}
				case !allowed:
					if got.Status != http.StatusForbidden {
						t.Errorf("%s, which needs %q, answers %s %d, want 403", is, route.Need, role, got.Status)
					}
				case slices.Contains(withLink, is):
					if got.Status != http.StatusNotFound {
						t.Errorf("%s answers %s without a link %d, want 404", is, name, got.Status)
					}
				case slices.Contains(elsewhere, is) && role != "":
					if got.Status != http.StatusSeeOther {
						t.Errorf("%s answers %s %d, want 303", is, name, got.Status)
					}
				case !changes(route.Method):
					if got.Status != http.StatusOK {
						t.Errorf("%s answers %s %d, want 200: %s", is, name, got.Status, got.text("main"))
					}
				default:
					// An empty form is refused for its fields, or does what needs none.
					if !slices.Contains([]int{http.StatusOK, http.StatusSeeOther, http.StatusUnprocessableEntity, http.StatusConflict}, got.Status) {
						t.Errorf("%s answers %s %d: %s", is, name, got.Status, got.text("main"))
					}
				}
			}
		})
	}
}

// visit opens the sign-in page and gives the token of its form.
func (b *browser) visit() string {
	token, _ := b.get("/sign-in").page().Find("input[name=csrf]").Attr("value")
	return token
}

// TestNoChangeWithoutToken walks every route that changes something, as whoever
// is allowed to, without the token of the session and with others.
func TestNoChangeWithoutToken(t *testing.T) {
	s := newSite(t)
	for _, route := range s.routes {
		if !changes(route.Method) || route.Need == Bare {
			continue
		}
		b := s.as(models.Owner)
		if route.Need == Public {
			b = s.stranger()
			b.visit()
		}
		for _, token := range []string{"", "x", strings.Repeat("x", 43), s.as(models.Seller).csrf} {
			if got := b.send(route.Method, route.example(), url.Values{"csrf": {token}}); got.Status != http.StatusForbidden {
				t.Errorf("%s %s with the token %q answers %d, want 403", route.Method, route.Path, token, got.Status)
			}
		}
		b.header.Set("X-CSRF-Token", "x")
		if got := b.send(route.Method, route.example(), url.Values{"csrf": {b.csrf}}); got.Status != http.StatusForbidden {
			t.Errorf("%s %s with a wrong token in the header answers %d, want 403", route.Method, route.Path, got.Status)
		}
	}
	// A stranger without the visitor's cookie, whatever the form says.
	if got := s.stranger().send("POST", "/sign-in", url.Values{"csrf": {""}}); got.Status != http.StatusForbidden {
		t.Errorf("without a cookie the sign-in answers %d, want 403", got.Status)
	}
}

// A script sends the token in a header.
func TestTokenInTheHeader(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	b.header.Set("X-CSRF-Token", b.csrf)
	b.send("POST", "/sign-out", url.Values{}).leads("/sign-in")
}

// Every change goes by a method that browsers do not repeat or fetch ahead.
func TestNoBareChange(t *testing.T) {
	s := newSite(t)
	for _, route := range s.routes {
		if route.Need == Bare && changes(route.Method) {
			t.Errorf("%s %s changes something without looking at who asks", route.Method, route.Path)
		}
	}
}

func TestTheTableIsTheOnlyWayIn(t *testing.T) {
	s := newSite(t)
	inTable := map[string]bool{}
	for _, route := range s.routes {
		inTable[route.Method+" "+route.Path] = true
		if route.Method == "GET" {
			inTable["HEAD "+route.Path] = true
		}
	}
	for _, route := range s.app.GetRoutes(true) {
		if !inTable[route.Method+" "+route.Path] {
			t.Errorf("%s %s is registered and not in the table", route.Method, route.Path)
		}
	}
}

func TestTableFaults(t *testing.T) {
	ok := func(*Request) error { return nil }
	for name, routes := range map[string][]Route{
		"twice":             {{Method: "GET", Path: "/a", Need: Public, Handle: ok}, {Method: "GET", Path: "/a", Need: SignedIn, Handle: ok}},
		"no permission":     {{Method: "GET", Path: "/a", Handle: ok}},
		"made-up":           {{Method: "GET", Path: "/a", Need: "fly", Handle: ok}},
		"no handler":        {{Method: "GET", Path: "/a", Need: Public}},
		"no slash":          {{Method: "GET", Path: "a", Need: Public, Handle: ok}},
		"slash at the end":  {{Method: "GET", Path: "/a/", Need: Public, Handle: ok}},
		"no example":        {{Method: "GET", Path: "/a/:id", Need: Public, Handle: ok}},
		"wrong example":     {{Method: "GET", Path: "/a/:id", Need: Public, Handle: ok, Example: "/b/1"}},
		"needless example":  {{Method: "GET", Path: "/a", Need: Public, Handle: ok, Example: "/a"}},
		"example too short": {{Method: "GET", Path: "/a/:id/b", Need: Public, Handle: ok, Example: "/a/1"}},
	} {
		if _, err := ordered(routes); err == nil {
			t.Errorf("%s: the table is taken", name)
		}
	}
}

func TestFixedPathsComeFirst(t *testing.T) {
	say := func(text string) Handler { return func(r *Request) error { return r.JSON(text) } }
	s := newSite(t,
		Route{Method: "GET", Path: "/x/:id", Need: Public, Example: "/x/1", Handle: say("one")},
		Route{Method: "GET", Path: "/x/new", Need: Public, Handle: say("new")},
		Route{Method: "GET", Path: "/x/:id/y", Need: Public, Example: "/x/1/y", Handle: say("part")})
	for path, want := range map[string]string{"/x/new": `"new"`, "/x/7": `"one"`, "/x/7/y": `"part"`} {
		if got := s.stranger().get(path).want(200).Body; got != want {
			t.Errorf("%s is answered by %s, want %s", path, got, want)
		}
	}
}
