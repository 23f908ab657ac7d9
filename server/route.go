package server

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"overhang/models"
	"overhang/server/service"
)

// Besides the permissions of package service, a route may need one of these.
const (
	// Public is for everybody, signed in or not.
	Public service.Permission = "public"
	// SignedIn is for everybody who is signed in, whatever their roles.
	SignedIn service.Permission = "signed in"
	// Bare is for everybody, and its handler does not learn who asks: Actor,
	// Settings and Today are empty. It is for what is not a page.
	Bare service.Permission = "bare"
)

const smallBody = 256 << 10

// Handler answers one request: it parses, judges, acts and renders, or returns
// an error, which becomes an error page.
type Handler func(*Request) error

// Route is one line of the route table.
type Route struct {
	Method string
	Path   string             // as fiber writes it: /roofs/:id
	Need   service.Permission // what one must be allowed to; see also Public, SignedIn and Bare
	Handle Handler
	// Example is the path with its parameters filled in, as the records that the
	// tests begin with have them. A path without parameters needs none.
	Example string
	// BodyLimit is how many bytes a body may have; 256 KiB when it is not set.
	BodyLimit int
	// Deadline is how long the request may take; Options.Deadline when it is not
	// set.
	Deadline time.Duration
}

// table is every route there is. A noun lists its own in its file.
func (s *Server) table() []Route {
	return slices.Concat(
		s.staticRoutes(),
		s.healthRoutes(),
		s.sessionRoutes(),
		s.personRoutes(),
		s.promiseRoutes(),
		s.owedRoutes(),
		s.reserveRoutes(),
		s.certificateRoutes(),
		s.declinedRoutes(),
		s.callbackRoutes(),
		s.claimRoutes(),
		s.crewRoutes(),
		s.watchRoutes(),
		s.hindsightRoutes(),
		s.neighbourRoutes(),
		s.visitRoutes(),
		s.todayRoutes(),
		s.roofRoutes(),
		s.partRoutes(),
		s.houseRoutes(),
		s.saleRoutes(),
		s.recordsRoutes(),
		s.intakeRoutes(),
		s.catalogueRoutes(),
		s.settingsRoutes(),
	)
}

// ordered checks the table and puts fixed paths before those with a parameter in
// the same place, so that /roofs/new is never taken for a roof named new.
func ordered(routes []Route) ([]Route, error) {
	known := append(service.Permissions(), Public, SignedIn, Bare)
	seen := map[string]bool{}
	for _, r := range routes {
		name := r.Method + " " + r.Path
		switch {
		case seen[name]:
			return nil, fmt.Errorf("%s is there twice", name)
		case !slices.Contains(known, r.Need):
			return nil, fmt.Errorf("%s needs %q, which is no permission", name, r.Need)
		case r.Handle == nil:
			return nil, fmt.Errorf("%s has no handler", name)
		case !strings.HasPrefix(r.Path, "/") || (r.Path != "/" && strings.HasSuffix(r.Path, "/")):
			return nil, fmt.Errorf("%s: a path begins with a slash and does not end with one", name)
		case strings.ContainsAny(r.Path, ":*") != (r.Example != ""):
			return nil, fmt.Errorf("%s: a path with parameters, and no other, has an example", name)
		case r.Example != "" && !fiber.RoutePatternMatch(r.Example, r.Path, fiber.Config{CaseSensitive: true}):
			return nil, fmt.Errorf("%s: %s is no example of it", name, r.Example)
		}
		seen[name] = true
	}
	routes = slices.Clone(routes)
	place := func(path string) string { return strings.NewReplacer(":", "\uffff", "*", "\uffff\uffff").Replace(path) }
	slices.SortStableFunc(routes, func(a, b Route) int { return cmp.Compare(place(a.Path), place(b.Path)) })
	return routes, nil
}

// handle wraps a route's handler in what holds for all of them: a deadline, who
// asks, the token of a change, and the permission.
func (s *Server) handle(route Route) fiber.Handler {
	deadline := route.Deadline
	if deadline <= 0 {
		deadline = s.options.Deadline
	}
	return func(c *fiber.Ctx) error {
		ctx, cancel := context.WithTimeout(context.Background(), deadline)
		defer cancel()
		c.SetUserContext(ctx)
		r := &Request{server: s, fiber: c, ctx: ctx}
		c.Locals(requestKey, r)
		if route.Need == Bare {
			return route.Handle(r)
		}
		if err := s.identify(r); err != nil {
			return err
		}
		signedIn := r.Actor.PersonID != 0
		if route.Need != Public && !signedIn {
			return models.Errorf(models.NoSession, "You are not signed in. Sign in, then do this again.")
		}
		if changes(route.Method) && !r.ownForm() {
			return models.Errorf(models.Forbidden, "This form is no longer good: it was opened before you last signed in, or cookies are turned off. Open it again.")
		}
		if route.Need != Public && route.Need != SignedIn && !r.Actor.May(route.Need) {
			return models.Errorf(models.Forbidden, "This is not part of your work here. Ask the owner if it should be.")
		}
		return route.Handle(r)
	}
}

// changes says whether a method may change something (RFC 9110, section 9.2.1).
func changes(method string) bool {
	return method != fiber.MethodGet && method != fiber.MethodHead && method != fiber.MethodOptions
}
