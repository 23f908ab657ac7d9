package server

import (
	"context"
	"encoding/base64"
	"fmt"
	"io"
	"mime"
	"net/url"
	"strconv"
	"strings"

	"github.com/gofiber/fiber/v2"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
)

// Request is one request on its way through a handler. It is good until the
// handler returns; nothing may keep it or hand it to a goroutine that lives
// longer.
type Request struct {
	Actor    service.Actor // whoever asks; PersonID is 0 when nobody is signed in
	Settings service.Settings
	Today    units.Date // the company's day
	Units    units.System

	server *Server
	fiber  *fiber.Ctx
	ctx    context.Context
	token  string // of the session; empty when nobody is signed in
	csrf   string // of the session or of the visitor
	form   *Form
}

type key int

const requestKey key = iota

// Context ends at the route's deadline. Every use case takes it.
func (r *Request) Context() context.Context { return r.ctx }

// Param is a parameter of the path.
func (r *Request) Param(name string) string {
	value := r.fiber.Params(name)
	if unescaped, err := url.PathUnescape(value); err == nil {
		return unescaped
	}
	return value
}

// ID reads a parameter of the path that is a record's number. Anything else is a
// page that does not exist.
func (r *Request) ID(name string) (int64, error) {
	id, err := strconv.ParseInt(r.Param(name), 10, 64)
	if err != nil || id <= 0 {
		return 0, models.Errorf(models.NotFound, "There is no such page.")
	}
	return id, nil
}

// Query is a parameter after the question mark, without spaces around it.
func (r *Request) Query(name string) string { return strings.TrimSpace(r.fiber.Query(name)) }

// QueryDay is a day after the question mark; today where it is left out.
func (r *Request) QueryDay(name string) (units.Date, error) {
	text := r.Query(name)
	if text == "" {
		return r.Today, nil
	}
	on, err := units.ParseDate(text)
	if err != nil {
		return 0, models.Errorf(models.Invalid, "The day of this page could not be read: %s must be a day like %s, not %q.", name, r.Today, text)
	}
	return on, nil
}

// Here is the address of the page with all its parameters, for the links of a
// list that narrow, sort and page it.
func (r *Request) Here() views.Here {
	query := url.Values{}
	r.fiber.Context().QueryArgs().VisitAll(func(k, v []byte) { query.Add(string(k), string(v)) })
	return views.Here{Path: r.fiber.Path(), Query: query}
}

// Page is which part of a list is asked for, by the parameter "page".
func (r *Request) Page(size int) store.Page {
	number, err := strconv.Atoi(r.Query("page"))
	if err != nil || number < 1 || number > 1_000_000 {
		number = 1
	}
	return store.Page{Number: number, Size: size}
}

// Pager makes the links to the pages before and after.
func (r *Request) Pager(page store.Page, total int) *views.Pager {
	offset, limit := page.Bounds()
	if total == 0 {
		return nil
	}
	p := &views.Pager{From: min(offset+1, total), To: min(offset+limit, total), Total: total}
	number := offset/limit + 1
	if number > 1 {
		p.Previous = r.Here().With("page", strconv.Itoa(number-1))
	}
	if offset+limit < total {
		p.Next = r.Here().With("page", strconv.Itoa(number+1))
	}
	return p
}

// Frame is what goes around a page of a section. Title and Opening are for the
// page to set. The section of a page outside all of them is empty.
func (r *Request) Frame(section views.Section) views.Frame {
	f := views.Frame{
		Company:  r.Settings.Company.Name,
		Person:   r.Actor.Name,
		CSRF:     r.csrfToken(),
		Language: r.Settings.Branch.Language,
		Units:    r.Units,
		Currency: r.Settings.Branch.Currency,
		Zone:     r.Settings.Branch.Location(),
		Today:    r.Today,
	}
	if r.Actor.PersonID != 0 {
		f.Nav = views.Nav(section, sections(r.Actor)...)
		f.Flash = r.takeFlash()
	}
	return f
}

// sectionNeeds is what one must be allowed to, to see a section.
var sectionNeeds = map[views.Section]service.Permission{
	views.Today:      SignedIn,
	views.Roofs:      service.SeeRoofs,
	views.Promises:   service.SeePromises,
	views.Callbacks:  service.SeeCallbacks,
	views.Neighbours: service.SeeNeighbours,
	views.Visits:     service.SeeVisits,
	views.Records:    service.SeeRecords,
}

func sections(a service.Actor) []views.Section {
	var out []views.Section
	for _, s := range views.AllSections {
		if need := sectionNeeds[s]; need == SignedIn || a.May(need) {
			out = append(out, s)
		}
	}
	return out
}

// Render answers with a page.
func (r *Request) Render(page views.Page) error { return r.render(fiber.StatusOK, page) }

func (r *Request) render(status int, page views.Page) error {
	var body strings.Builder
	if err := r.server.renderer.Render(&body, page); err != nil {
		return err
	}
	r.fiber.Status(status).Type("html", "utf-8")
	return r.fiber.SendString(body.String())
}

// Refused answers with the page of a form that was refused: what was typed is
// still in it, and the rules that were broken stand beside their fields. The
// page is made from the record as it is now, so that somebody whose record was
// changed meanwhile sees both and can save again. Errors that typing again does
// not mend are returned as they are.
func (r *Request) Refused(page views.Page, form *views.Form, err error) error {
	e := publicError(err)
	if e == nil || (e.Code != models.Invalid && e.Code != models.Conflict && e.Code != models.TooMany) {
		return err
	}
	if r.wantsJSON() {
		return err
	}
	rules := map[string]string{}
	for _, f := range e.Fields {
		if rules[f.Field] != "" {
			rules[f.Field] += "; "
		}
		rules[f.Field] += f.Rule
	}
	form.Compare(r.Form().Values()).Refuse(e.Message, rules)
	return r.render(statuses[e.Code], page)
}

// Redirect leads on to a page of ours after a change; done says there what was
// done and may be the zero Phrase.
func (r *Request) Redirect(to string, done views.Phrase) error {
	if !done.IsZero() {
		text, err := r.server.renderer.Text(views.Frame{Language: r.Settings.Branch.Language, Units: r.Units,
			Currency: r.Settings.Branch.Currency, Zone: r.Settings.Branch.Location()}, done)
		if err != nil {
			return fmt.Errorf("saying what was done: %w", err)
		}
		r.setCookie(flashCookie, base64.RawURLEncoding.EncodeToString([]byte(shorten(text, 500))), 60)
	}
	if r.partial() {
		r.fiber.Set("HX-Redirect", to)
		return r.fiber.SendStatus(fiber.StatusOK)
	}
	return r.fiber.Redirect(to, fiber.StatusSeeOther)
}

// takeFlash reads what the request before said was done, once.
func (r *Request) takeFlash() views.Phrase {
	kept := r.fiber.Cookies(r.cookieName(flashCookie))
	if kept == "" || r.partial() || r.fiber.Method() != fiber.MethodGet {
		return views.Phrase{}
	}
	r.setCookie(flashCookie, "", -1)
	text, err := base64.RawURLEncoding.DecodeString(kept)
	if err != nil {
		return views.Phrase{}
	}
	return views.Plain(shorten(strings.ToValidUTF8(string(text), ""), 500))
}

func shorten(text string, most int) string {
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// JSON answers with a value as JSON.
func (r *Request) JSON(value any) error { return r.fiber.JSON(value) }

// Download answers with a file that write writes. The file is made in memory
// before anything is sent, so that a failure is told and no half a file is kept.
func (r *Request) Download(name, contentType string, write func(io.Writer) error) error {
	var body strings.Builder
	if err := write(&body); err != nil {
		return fmt.Errorf("making the file %s: %w", name, err)
	}
	r.fiber.Set(fiber.HeaderContentType, contentType)
	r.fiber.Set(fiber.HeaderContentDisposition, mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	return r.fiber.SendString(body.String())
}

// partial says whether a script asks for a part of a page.
func (r *Request) partial() bool { return r.fiber.Get("HX-Request") == "true" }

func (r *Request) wantsJSON() bool { return wantsJSON(r.fiber) }

// wantsJSON says whether an answer other than the one asked for is to be JSON: a
// program asks, or reads a feed.
func wantsJSON(c *fiber.Ctx) bool {
	if strings.HasPrefix(c.Path(), "/feeds/") {
		return true
	}
	return c.Get(fiber.HeaderAccept) != "" && c.Accepts(fiber.MIMETextHTML, fiber.MIMEApplicationJSON) == fiber.MIMEApplicationJSON
}
