package server

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) certificateRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/promises/:id/certificate", Need: service.EditPromises, Example: "/promises/1/certificate", Handle: s.draftCertificate},
		{Method: "POST", Path: "/promises/:id/certificate", Need: service.EditPromises, Example: "/promises/1/certificate", Handle: s.giveCertificate},
		{Method: "GET", Path: "/certificates/:id", Need: service.EditPromises, Example: "/certificates/1", Handle: s.showCertificate},
	}
}

// certificate writes the parts of a certificate in the reader's language, so
// that what is kept is what was read.
type certificate struct {
	words func(views.Phrase) (string, error)
	parts []models.CertificatePart
	err   error
}

func (c *certificate) say(p views.Phrase) string {
	text, err := c.words(p)
	if c.err == nil {
		c.err = err
	}
	return text
}

// part begins a part under its heading.
func (c *certificate) part(heading views.Phrase) *models.CertificatePart {
	c.parts = append(c.parts, models.CertificatePart{Heading: c.say(heading)})
	return &c.parts[len(c.parts)-1]
}

// written are the paragraphs that somebody wrote, or what stands for nothing.
func (c *certificate) written(text string, otherwise views.Phrase) []string {
	if text = strings.TrimSpace(text); text != "" {
		return []string{text}
	}
	return []string{c.say(otherwise)}
}

// certificateParts writes what a homeowner is told about a promise: who promises
// what to whom, from when to when, at what share, with what left out, on which
// conditions, across a sale, and how to claim.
func (s *Server) certificateParts(r *Request, d *service.CertificateDraft, to string, on units.Date) ([]models.CertificatePart, error) {
	frame := r.Frame(views.Promises)
	c := &certificate{words: func(p views.Phrase) (string, error) { return s.renderer.Text(frame, p) }}
	w, t := &d.Warranty, &d.Terms

	heading := views.Say("certificate.who")
	if t.Title != "" {
		heading = views.Term("certificate_headed", t.Title)
	}
	who := c.part(heading)
	fact := func(part *models.CertificatePart, term views.Phrase, value string) {
		if value != "" {
			part.Rows = append(part.Rows, []string{c.say(term), value})
		}
	}
	company := strings.Join(filled(d.Company.Name, d.Company.Street, d.Company.Town, d.Company.Phone, d.Company.Email), ", ")
	if w.OwedBy == "us" {
		fact(who, views.Say("certificate.by"), company)
	} else {
		fact(who, views.Say("certificate.by"), w.OwedBy)
		fact(who, views.Say("certificate.handed"), company)
	}
	fact(who, views.Say("promise.assumed"), w.AssumedFrom)
	fact(who, views.Say("certificate.to"), to)
	fact(who, views.Say("certificate.givenon"), c.say(views.Say("promise.day", "day", on)))
	fact(who, views.Say("certificate.house"), d.Roof.Address.Line())
	if d.Roof.Covering != nil {
		fact(who, views.Say("certificate.covering"), d.Roof.Covering.Name)
	}
	if !d.Roof.Roof.Laid.IsZero() {
		fact(who, views.Say("certificate.laid"), c.say(views.Say("promise.day", "day", d.Roof.Roof.Laid)))
	}
	fact(who, views.Say("promise.number"), w.Ref)
	fact(who, views.Say("promise.terms"), t.Name)
	fact(who, views.Say("promise.kind"), c.say(views.Term("promise_kind", t.Kind)))

	remedy, excluded := views.Say("certificate.remedy.none"), views.Say("certificate.excluded.none")
	if w.Wording == "" {
		remedy, excluded = views.Say("certificate.unwritten"), views.Say("certificate.unwritten")
	}
	what := c.part(views.Say("certificate.what"))
	what.Paragraphs = c.written(t.Remedy, remedy)
	var pays, not []views.Phrase
	for i, on := range []bool{t.Labour, t.Material, t.TearOff, t.Disposal} {
		part := views.Term("promise_covers", views.Covers[i])
		if on {
			pays = append(pays, part)
		} else {
			not = append(not, part)
		}
	}
	if len(pays) > 0 {
		what.List = append(what.List, c.say(views.Say("certificate.pays", "parts", pays)))
	}
	if len(not) > 0 {
		what.List = append(what.List, c.say(views.Say("certificate.paysnot", "parts", not)))
	}
	if t.ClaimCap != nil {
		what.List = append(what.List, c.say(views.Say("certificate.claimcap", "cap", *t.ClaimCap)))
	}
	if t.Cap != nil {
		what.List = append(what.List, c.say(views.Say("certificate.cap", "cap", *t.Cap)))
	}
	if t.CapOfPrice != nil {
		what.List = append(what.List, c.say(views.Say("certificate.capofprice", "share", int(math.Round(*t.CapOfPrice*100)))))
	}
	if d.Judged != nil && d.Judged.Paid > 0 && (t.Cap != nil || t.CapOfPrice != nil) {
		what.List = append(what.List, c.say(views.Say("certificate.paid", "paid", units.Money(d.Judged.Paid), "day", r.Today)))
	}

	when := c.part(views.Say("certificate.when"))
	if len(d.Shares) == 0 {
		when.Paragraphs = []string{c.say(views.Say("certificate.when.unknown"))}
	} else {
		when.Paragraphs = []string{c.say(views.Say("certificate.from", "from", w.StartOn, "until", d.Shares[len(d.Shares)-1].Until, "months", t.TermMonths)), c.say(views.Say("certificate.month"))}
		when.Heads = []string{c.say(views.Say("certificate.share.from")), c.say(views.Say("certificate.share.until")), c.say(views.Say("certificate.share"))}
		when.Rows = shareRows(c, d.Shares, w.StartOn)
		if last := d.Shares[len(d.Shares)-1].Until; last < d.FullLast {
			when.Paragraphs = append(when.Paragraphs, c.say(views.Say("certificate.sooner", "last", d.FullLast)))
		}
	}

	out := c.part(views.Say("promise.leftout"))
	out.Paragraphs = c.written(t.Excluded, excluded)
	for _, declined := range d.Roof.Declined {
		out.List = append(out.List, c.say(views.PromiseReason("declined", []units.Date{declined.SignedOn}, 0, declined.What)))
	}

	conditions := c.part(views.Say("promise.conditions"))
	if d.Judged == nil || len(d.Judged.Result.Conditions) == 0 {
		conditions.Paragraphs = []string{c.say(views.Say("promise.conditions.none"))}
	} else {
		conditions.Paragraphs = []string{c.say(views.Say("certificate.conditions"))}
		conditions.Heads = []string{c.say(views.Say("promise.condition")), c.say(views.Say("certificate.howto"))}
		for _, cond := range d.Judged.Result.Conditions {
			said := c.say(views.Term("promise_condition", cond.Kind))
			if days := conditionDays(t, cond.Kind); days > 0 {
				said += " " + c.say(views.CertificateDays(cond.Kind, days))
			}
			stands := c.say(views.PromiseReason(cond.Reason.Code, cond.Reason.On, cond.Reason.Number, cond.Reason.Text))
			stands = c.say(views.Say("certificate.stands", "day", r.Today, "reason", stands))
			conditions.Rows = append(conditions.Rows, []string{said, c.say(views.Term("certificate_howto", cond.Kind)) + "\n" + stands})
		}
	}

	sale := c.part(views.Say("certificate.sale"))
	sale.Paragraphs = []string{c.say(views.Term("certificate_transfer", t.Transfer))}
	if t.Transfer == "by_notice" {
		sale.Paragraphs = append(sale.Paragraphs, c.say(views.Say("certificate.notice", "days", t.NoticeDays)))
	}
	if t.AfterTransfer != nil && t.Transfer != "never" {
		sale.Paragraphs = append(sale.Paragraphs, c.say(views.Say("certificate.after", "months", *t.AfterTransfer)))
	}

	if d.Judged != nil {
		// Whoever bought the house reads which sale of it that was.
		for _, reason := range d.Judged.Result.Reasons {
			if reason.Code == "passed_on" || reason.Code == "passed_on_shorter" {
				sale.Paragraphs = append(sale.Paragraphs, c.say(views.PromiseReason(reason.Code, reason.On, reason.Number, reason.Text)))
			}
		}
	}

	claim := c.part(views.Say("certificate.claim"))
	claim.Paragraphs = append(c.written(t.HowToClaim, views.Say("certificate.claim.none")), c.say(views.Say("certificate.write", "to", company)))

	if w.Wording != "" {
		c.part(views.Say("promise.wording")).Paragraphs = []string{w.Wording}
	}
	rights := c.part(views.Say("certificate.rights"))
	if t.Rights != "" {
		rights.Paragraphs = []string{t.Rights}
	}
	rights.Paragraphs = append(rights.Paragraphs, c.say(views.Say("certificate.decides")))
	return c.parts, c.err
}

func filled(texts ...string) []string {
	var out []string
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

func conditionDays(t *models.Terms, kind string) int {
	for _, c := range t.Conditions {
		if c.Kind == kind {
			return c.Days
		}
	}
	return 0
}

// mostShareRows is how many lines the shares of a certificate take at most before
// those that fall with every month are told by the year.
const mostShareRows = 24

// shareRows writes the shares: each span, or, where a share falls with every
// month, each year of the promise with the first and the last share in it.
func shareRows(c *certificate, spans []promise.ShareSpan, start units.Date) [][]string {
	percent := func(share float64) string { return strconv.FormatFloat(math.Round(share*1000)/10, 'f', -1, 64) }
	day := func(d units.Date) string { return c.say(views.Say("promise.day", "day", d)) }
	var rows [][]string
	for i := 0; i < len(spans); {
		last := i
		if len(spans) > mostShareRows {
			year := spans[i].From.MonthsSince(start) / 12
			for last+1 < len(spans) && spans[last+1].From.MonthsSince(start)/12 == year {
				last++
			}
		}
		said := c.say(views.Say("certificate.percent", "share", percent(spans[i].Share)))
		if last > i {
			said = c.say(views.Say("certificate.falls", "first", percent(spans[i].Share), "last", percent(spans[last].Share)))
		}
		rows = append(rows, []string{day(spans[i].From), day(spans[last].Until), said})
		i = last + 1
	}
	return rows
}

func (s *Server) certificatePage(r *Request) (*service.CertificateDraft, views.CertificatePage, error) {
	p := views.CertificatePage{Frame: r.Frame(views.Promises)}
	id, err := r.ID("id")
	if err != nil {
		return nil, p, err
	}
	d, err := s.service.CertificateFor(r.ctx, r.Actor, id)
	if err != nil {
		return nil, p, err
	}
	to := ""
	if d.Holder != nil {
		to = d.Holder.Name
	}
	if p.Parts, err = s.certificateParts(r, d, to, r.Today); err != nil {
		return nil, p, err
	}
	p.Title = views.Say("certificate.title", "ref", d.Warranty.Ref)
	p.Back = views.Say("certificate.back", "ref", d.Warranty.Ref).Link("promise", fmt.Sprintf("/promises/%d", id))
	p.Give = views.GiveForm(p.Frame, fmt.Sprintf("/promises/%d/certificate", id), to)
	lacking := 0
	p.Points = &views.Table{ID: "points", Stacks: true,
		Columns: []views.Column{{Head: views.Say("certificate.point")}, {Head: views.Say("certificate.there")}, {Head: views.Say("certificate.source")}}}
	for _, point := range d.Points {
		there := views.Cell{Value: views.Say("certificate.said")}
		if !point.Said {
			lacking++
			there = views.Cell{Value: views.Say("certificate.lacks"), Note: views.Term("certificate_lacks", point.Key), URL: s.pointURL(r, d, point.Key)}
		}
		p.Points.Rows = append(p.Points.Rows, views.NewRow(views.Term("certificate_point", point.Key), there, point.Source))
	}
	p.Points.Caption = views.Say("certificate.lacking", "count", lacking)
	if lacking > 0 {
		p.Lacking = views.Say("certificate.signed")
	}
	p.Given = &views.Table{ID: "given", Caption: views.Say("certificate.given"), Empty: views.Say("certificate.given.none"),
		Columns: []views.Column{{Head: views.Say("certificate.givenon")}, {Head: views.Say("certificate.givento")}}}
	for _, given := range d.Given {
		p.Given.Rows = append(p.Given.Rows, views.NewRow(views.Cell{Value: given.GivenOn, URL: fmt.Sprintf("/certificates/%d", given.ID)}, given.GivenTo))
	}
	return d, p, nil
}

// pointURL leads to where what lacks of a point can be written.
func (s *Server) pointURL(r *Request, d *service.CertificateDraft, point string) string {
	switch {
	case point == "start_and_length":
		return fmt.Sprintf("/promises/%d/edit", d.Warranty.ID)
	case point != "warrantor" || d.Warranty.OwedBy != "us":
		return fmt.Sprintf("/records/terms/%d", d.Terms.ID)
	case r.Actor.May(service.EditSettings):
		return "/records/settings"
	}
	return ""
}

func (s *Server) draftCertificate(r *Request) error {
	_, p, err := s.certificatePage(r)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) giveCertificate(r *Request) error {
	d, p, err := s.certificatePage(r)
	if err != nil {
		return err
	}
	f := r.Form()
	given := &models.Certificate{WarrantyID: d.Warranty.ID, GivenOn: f.Day("given_on"), GivenTo: f.Text("given_to")}
	if given.GivenOn > r.Today {
		f.Refuse("given_on", "must not be after today (%s)", r.Today)
	}
	if err = f.Err(); err == nil {
		given.Body, err = s.certificateParts(r, d, given.GivenTo, given.GivenOn)
	}
	if err == nil {
		err = s.service.GiveCertificate(r.ctx, r.Actor, given)
	}
	if err != nil {
		return r.Refused(p, p.Give, err)
	}
	return r.Redirect(fmt.Sprintf("/certificates/%d", given.ID), views.Say("certificate.kept", "to", given.GivenTo))
}

func (s *Server) showCertificate(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	c, w, err := s.service.Certificate(r.ctx, r.Actor, id)
	if err != nil {
		return err
	}
	p := views.CertificatePage{Frame: r.Frame(views.Promises), Parts: c.Body}
	p.Title = views.Say("certificate.title", "ref", w.Ref)
	p.Opening = []views.Phrase{views.Say("certificate.asgiven", "to", c.GivenTo, "day", c.GivenOn)}
	p.Back = views.Say("certificate.back", "ref", w.Ref).Link("promise", fmt.Sprintf("/promises/%d", w.ID))
	return r.Render(p)
}
