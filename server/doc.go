// Package server answers requests: it knows who asks, what they may do, and which
// page tells it. What is done stands in package service, how it looks in views.
//
// # Adding a page
//
// A noun has a file of its name here, with its lines of the route table and their
// handlers:
//
//	func (s *Server) roofRoutes() []Route {
//		return []Route{
//			{Method: "GET", Path: "/roofs", Need: service.SeeRoofs, Handle: s.listRoofs},
//			{Method: "GET", Path: "/roofs/:id", Need: service.SeeRoofs, Example: "/roofs/1", Handle: s.showRoof},
//			{Method: "POST", Path: "/roofs/:id", Need: service.EditRoofs, Example: "/roofs/1", Handle: s.changeRoof},
//		}
//	}
//
// The function is named once more in Server.table. A route says what one must be
// allowed to (a permission of service, or Public or SignedIn), and before the
// handler runs this has been checked, and with it the token of every change. A
// path with parameters gives an Example for the tests, which walk the table with
// every role: their records begin with number 1 of each kind (harness_test.go).
// A route that takes files sets BodyLimit, a slow one Deadline. What only reads
// is a GET; what changes is a POST that redirects to a GET.
//
// # Writing a handler
//
// A handler parses, judges, acts and renders:
//
//	func (s *Server) changeRoof(r *Request) error {
//		id, err := r.ID("id") // parse
//		if err != nil {
//			return err
//		}
//		f := r.Form()
//		change := service.RoofChange{ID: id, Version: f.Version(), Laid: f.Dated("laid_on"), Area: f.Area("area", units.Square, units.SquareMetre)}
//		err = f.Err() // judge: what could not be read
//		if err == nil {
//			err = s.service.ChangeRoof(r.Context(), r.Actor, change) // act; the record's own rules hold there
//		}
//		if err != nil {
//			page, form, unread := s.roofForm(r, id)
//			if unread != nil {
//				return unread
//			}
//			return r.Refused(page, form, err) // the form again, with what was typed and the rules beside it
//		}
//		return r.Redirect(fmt.Sprintf("/roofs/%d", id), views.Say("roof.changed")) // render
//	}
//
// A page is filled from r.Frame(section), with the title and the opening set by
// the page, and sent with r.Render. The fields of a form bear the names of the
// record's columns, so that a rule finds its field. r.Here, r.Page and r.Pager
// serve lists; r.JSON and r.Download what is not a page. Every use case gets
// r.Context(), which ends at the route's deadline. Nothing of a Request is kept
// after the handler returns, nor handed to a goroutine.
//
// # Errors
//
// A handler returns an error and writes none. A models.Error is told to the
// visitor with its status (the table is statuses); the text of any other goes to
// the log, and the visitor gets a sentence with a reference that finds it there.
// An error is a page, JSON where a program asks for JSON or reads a feed, and
// for a script a page whose main part takes the place of the one that is shown.
//
// # Signing in
//
// A session is a random token in a cookie; the database keeps its SHA-256. Each
// form that changes something holds the session's token "csrf", or a script
// sends it in the header X-CSRF-Token. The forms of somebody who is not signed
// in, the sign-in itself among them, hold a token that must equal the one in a
// cookie of their own (double submission): another site can neither read nor, by
// SameSite, send it.
package server
