package server

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"runtime/debug"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"overhang/models"
	"overhang/views"
)

// statuses is the answer to each kind of failure that a person may be told of.
var statuses = map[models.Code]int{
	models.Invalid:   fiber.StatusUnprocessableEntity,
	models.NotFound:  fiber.StatusNotFound,
	models.Conflict:  fiber.StatusConflict,
	models.Forbidden: fiber.StatusForbidden,
	models.NoSession: fiber.StatusUnauthorized,
	models.TooMany:   fiber.StatusTooManyRequests,
	models.TooLarge:  fiber.StatusRequestEntityTooLarge,
}

// refusals are the failures that the router and the protocol find before a
// handler does, in words of ours.
var refusals = map[int]*models.Error{
	fiber.StatusNotFound:              models.Errorf(models.NotFound, "There is no such page."),
	fiber.StatusMethodNotAllowed:      models.Errorf("method_not_allowed", "This page does not do that."),
	fiber.StatusRequestEntityTooLarge: models.Errorf(models.TooLarge, "What you sent is too large. Send a smaller file, or split it."),
	fiber.StatusRequestTimeout:        models.Errorf("timeout", "It took too long to arrive. Check the connection, then try again."),
	fiber.StatusBadRequest:            models.Errorf("bad_request", "This could not be read."),
	fiber.StatusNotImplemented:        models.Errorf("method_not_allowed", "This page does not do that."),
	fiber.StatusRequestHeaderFieldsTooLarge: models.Errorf("bad_request",
		"The address or the cookies are too long. Clear the cookies of this site, then try again."),
}

// titles are the words above an error page.
var titles = map[int]views.Phrase{
	fiber.StatusNotFound:              views.Say("error.notfound"),
	fiber.StatusForbidden:             views.Say("error.forbidden"),
	fiber.StatusUnauthorized:          views.Say("error.nosession"),
	fiber.StatusRequestEntityTooLarge: views.Say("error.toolarge"),
	fiber.StatusTooManyRequests:       views.Say("error.toomany"),
	fiber.StatusServiceUnavailable:    views.Say("error.slow"),
	fiber.StatusInternalServerError:   views.Say("error.failed"),
}

// failure is what a visitor is told of an error.
type failure struct {
	status    int
	code      string
	message   string // empty for a failure of ours, which the page has words for
	reference string // of a failure of ours, in the log
	fields    []models.FieldError
}

// panicked is a panic of a handler, with where it happened.
type panicked struct {
	value any
	stack []byte
}

func (p panicked) Error() string { return fmt.Sprintf("panic: %v", p.value) }

// publicError gives the Error inside err, or nil when err is internal.
func publicError(err error) *models.Error {
	var e *models.Error
	if errors.As(err, &e) {
		return e
	}
	return nil
}

// judge decides what a visitor is told, and writes what they are not told to
// the log under a short reference.
func (s *Server) judge(c *fiber.Ctx, err error) failure {
	var protocol *fiber.Error
	if e := publicError(err); e != nil {
		if status := statuses[e.Code]; status != 0 {
			return failure{status: status, code: string(e.Code), message: e.Message, fields: e.Fields}
		}
	} else if errors.As(err, &protocol) && refusals[protocol.Code] != nil {
		e := refusals[protocol.Code]
		return failure{status: protocol.Code, code: string(e.Code), message: e.Message}
	}
	f := failure{status: fiber.StatusInternalServerError, code: "failed", reference: strings.ToLower(rand.Text()[:8])}
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(c.UserContext().Err(), context.DeadlineExceeded) {
		f.status, f.code = fiber.StatusServiceUnavailable, "slow"
		f.message = "This took too long, and was given up. Nothing was changed. Try again in a minute."
	}
	about := []any{"reference", f.reference, "error", err.Error(), "method", c.Method(), "route", pattern(c)}
	var p panicked
	if errors.As(err, &p) {
		about = append(about, "stack", string(p.stack))
	}
	s.service.Log.Error("a request failed", about...)
	return f
}

// fail answers a request that failed. It is also what fiber calls for those that
// fail before they reach a route.
func (s *Server) fail(c *fiber.Ctx, err error) error {
	s.headers(c)
	f := s.judge(c, err)
	r, _ := c.Locals(requestKey).(*Request)
	if r == nil {
		r = &Request{server: s, fiber: c, ctx: c.UserContext()}
	}
	c.Response().ResetBody()
	c.Response().Header.Del(fiber.HeaderContentDisposition)
	if f.status == fiber.StatusUnauthorized && !wantsJSON(c) {
		to := signInAddress(r.wanted())
		if r.partial() {
			c.Set("HX-Redirect", to)
		} else if !changes(c.Method()) {
			return c.Redirect(to, fiber.StatusSeeOther)
		}
	}
	if conn, is := c.Context().Conn().(*lingeringConn); is && f.status == fiber.StatusRequestEntityTooLarge {
		conn.linger = true
	}
	c.Status(f.status)
	if wantsJSON(c) {
		return r.sendFailure(f)
	}
	frame := r.Frame("")
	frame.Title = title(f.status)
	if r.partial() {
		// The failure takes the place of the whole page's content, not of the part
		// that was asked for.
		c.Set("HX-Retarget", "#main")
		c.Set("HX-Reselect", "#main")
		c.Set("HX-Reswap", "outerHTML")
	}
	page := views.ErrorPage{Frame: frame, Message: f.said(), Reference: f.reference}
	if unrendered := r.render(f.status, page); unrendered != nil {
		s.service.Log.Error("an error page failed", "reference", f.reference, "error", unrendered.Error())
		c.Set(fiber.HeaderContentType, fiber.MIMETextPlainCharsetUTF8)
		return c.Status(f.status).SendString("Something went wrong. " + f.reference)
	}
	return nil
}

// said joins the message and the fields at fault, for a page without the form.
func (f failure) said() string {
	parts := []string{f.message}
	for _, field := range f.fields {
		parts = append(parts, strings.ReplaceAll(field.Field, "_", " ")+": "+field.Rule+".")
	}
	return strings.Join(parts, " ")
}

func (r *Request) sendFailure(f failure) error {
	message := f.message
	if message == "" {
		message = "Something went wrong on our side."
	}
	return r.fiber.JSON(map[string]any{"error": struct {
		Code      string              `json:"code"`
		Message   string              `json:"message"`
		Reference string              `json:"reference,omitempty"`
		Fields    []models.FieldError `json:"fields,omitempty"`
	}{f.code, message, f.reference, f.fields}})
}

func title(status int) views.Phrase {
	if words, found := titles[status]; found {
		return words
	}
	return views.Say("error.refused")
}

// wanted is the page that somebody was on or asked for, to come back to after
// signing in.
func (r *Request) wanted() string {
	if r.partial() {
		if u, err := url.Parse(r.fiber.Get("HX-Current-URL")); err == nil {
			return u.RequestURI()
		}
		return ""
	}
	return r.fiber.OriginalURL()
}

// around is what every request passes: headers, a net for panics, the answer to
// an error, and one line in the log.
func (s *Server) around(c *fiber.Ctx) error {
	begun := time.Now()
	s.headers(c)
	if err := caught(c); err != nil {
		if unsent := s.fail(c, err); unsent != nil {
			return unsent
		}
	}
	status := c.Response().StatusCode()
	level := slog.LevelInfo
	if quiet := c.Route().Path; status < 400 && (quiet == "/healthz" || strings.HasPrefix(quiet, "/static/")) {
		level = slog.LevelDebug
	}
	var person int64
	if r, is := c.Locals(requestKey).(*Request); is {
		person = r.Actor.PersonID
	}
	// Neither the address nor its parameters are written: they hold names.
	s.service.Log.Log(c.UserContext(), level, "request", "method", c.Method(), "route", pattern(c), "status", status,
		"ms", time.Since(begun).Milliseconds(), "bytes", len(c.Response().Body()), "person", person)
	return nil
}

func caught(c *fiber.Ctx) (err error) {
	defer func() {
		if value := recover(); value != nil {
			err = panicked{value, debug.Stack()}
		}
	}()
	return c.Next()
}

// pattern is the route's path as the table has it.
func pattern(c *fiber.Ctx) string {
	if path := c.Route().Path; path != "" && c.Locals(requestKey) != nil {
		return path
	}
	return "none"
}

// headers says what a browser may do with an answer. A page is never kept: it
// shows customers, and the next person at the computer may be another.
func (s *Server) headers(c *fiber.Ctx) {
	c.Set(fiber.HeaderContentSecurityPolicy, views.ContentSecurityPolicy)
	c.Set(fiber.HeaderXContentTypeOptions, "nosniff")
	c.Set(fiber.HeaderReferrerPolicy, "no-referrer")
	c.Set(fiber.HeaderPermissionsPolicy, "camera=(self), geolocation=(self), microphone=()")
	c.Set("Cross-Origin-Opener-Policy", "same-origin")
	c.Set("Cross-Origin-Resource-Policy", "same-origin")
	c.Set(fiber.HeaderCacheControl, "no-store")
	if s.options.HTTPS {
		c.Set(fiber.HeaderStrictTransportSecurity, "max-age=31536000")
	}
}
