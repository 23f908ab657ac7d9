package server

import (
	"fmt"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) claimRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/claims", Need: service.EditCosts, Handle: s.listClaims},
		{Method: "POST", Path: "/callbacks/:id/claims", Need: service.EditCosts, Example: "/callbacks/1/claims", Handle: s.startClaim},
		{Method: "GET", Path: "/claims/:id", Need: service.EditCosts, Example: "/claims/1", Handle: s.showClaim},
		{Method: "POST", Path: "/claims/:id", Need: service.EditCosts, Example: "/claims/1", Handle: s.changeClaim},
	}
}

func claimURL(id int64) string { return fmt.Sprintf("/claims/%d", id) }

// claimState says how a claim stands, and the day that is to be kept next.
func claimState(c *models.Claim) views.Cell {
	state := views.Cell{}
	switch {
	case c.Paid != nil:
		state.Value = views.Say("claim.state.paid")
	case c.FiledOn.IsZero():
		state.Value = views.Say("claim.state.to_file")
	case c.Answer == "accepted" && c.ReleaseAsked && c.ReleaseSignedOn.IsZero():
		state.Value = views.Say("claim.state.to_sign")
	case c.Answer == "accepted":
		state.Value = views.Say("claim.state.to_pay")
	case c.Answer != "":
		state.Value = views.Term("claim_answer", c.Answer)
	case !c.OfferedOn.IsZero():
		state.Value = views.Say("claim.state.to_answer")
	default:
		state.Value = views.Say("claim.state.filed")
	}
	if by := c.DueBy(); !by.IsZero() && c.Open() {
		state.Note = views.Say("callback.ahead.by", "by", by)
	}
	return state
}

func claimColumns() []views.Column {
	return []views.Column{{Head: views.Say("claim")}, {Head: views.Say("claim.against")}, {Head: views.Say("claim.stands")},
		{Head: views.Say("claim.filed")}, {Head: views.Say("claim.offer"), Numeric: true}, {Head: views.Say("claim.paid"), Numeric: true}}
}

func claimCells(c *models.Claim) []any {
	amount := func(m *units.Money) any {
		if m == nil {
			return views.Plain("–")
		}
		return views.Cents(*m)
	}
	return []any{views.Cell{Value: c.Who, Note: views.Term("bearer", c.Against)}, claimState(c), c.FiledOn, amount(c.Offer), amount(c.Paid)}
}

func claimsOfCallback(claims []models.Claim) *views.Table {
	t := &views.Table{ID: "claims", Stacks: true, Caption: views.Say("claim.title.many"), Columns: claimColumns()}
	for i := range claims {
		c := &claims[i]
		t.Rows = append(t.Rows, views.NewRow(append([]any{views.Cell{Value: c.Ref, URL: claimURL(c.ID), Note: views.Plain(c.Number)}}, claimCells(c)...)...))
	}
	return t
}

func (s *Server) listClaims(r *Request) error {
	every := r.Query("show") == "all"
	rows, err := s.service.Claims(r.Context(), r.Actor, every)
	if err != nil {
		return err
	}
	p := views.ClaimsPage{Frame: r.Frame(views.Callbacks)}
	p.Title = views.Say("claim.title.many")
	open := 0
	for i := range rows {
		if rows[i].Claim.Open() {
			open++
		}
	}
	p.Opening = []views.Phrase{views.Say("claim.open", "count", open).Link("claims", "/claims")}
	p.Parts = []views.NavEntry{{Label: views.Term("claim_part", "open"), URL: "/claims", Current: !every}, {Label: views.Term("claim_part", "all"), URL: "/claims?show=all", Current: every}}
	p.Table = views.Table{ID: "claims", Stacks: true, Caption: views.Say("claim.title.many"), Empty: views.Say("callback.empty"), Columns: claimColumns()}
	p.Table.Columns[0].Head = views.Say("callback.where")
	for i := range rows {
		c := &rows[i]
		where := views.Cell{Value: c.Address(), URL: claimURL(c.ID), Note: views.Plain(c.Ref)}
		if c.Address() == "" {
			where.Value = c.CallbackRef
		}
		p.Table.Rows = append(p.Table.Rows, views.NewRow(append([]any{where}, claimCells(&c.Claim)...)...))
	}
	return r.Render(p)
}

// newClaim is the claim that a callback suggests: on who bears it.
func newClaim(f *service.CallbackFile) *models.Claim {
	c := &models.Claim{Against: "maker", CallbackID: f.Callback.ID}
	switch f.Callback.Bearer {
	case "subcontractor", "insurer":
		c.Against = f.Callback.Bearer
	}
	if c.Against == "subcontractor" {
		for _, sub := range f.Subcontracts {
			if f.Callback.SubcontractID != nil && sub.ID == *f.Callback.SubcontractID {
				c.Who = sub.Who
			}
		}
	}
	return c
}

func (s *Server) startClaim(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	f := r.Form()
	c := &models.Claim{CallbackID: id, Against: f.Text("against"), Who: f.Text("who"), Number: f.Text("number"), FileBy: f.Day("file_by"), FiledOn: f.Day("filed_on")}
	if err = f.Err(); err == nil {
		err = s.service.NewClaim(r.Context(), r.Actor, c)
	}
	if err != nil {
		return s.refuseCallback(r, err, func(p *views.CallbackPage) *views.Form { return p.Claim })
	}
	return r.Redirect(claimURL(c.ID), views.Say("claim.started", "ref", c.Ref))
}

func (s *Server) claimPage(r *Request) (*views.ClaimPage, *service.ClaimFile, error) {
	id, err := r.ID("id")
	if err != nil {
		return nil, nil, err
	}
	f, err := s.service.Claim(r.Context(), r.Actor, id)
	if err != nil {
		return nil, nil, err
	}
	c := &f.Claim
	p := &views.ClaimPage{Frame: r.Frame(views.Callbacks), Sign: c.ReleaseAsked && c.ReleaseSignedOn.IsZero() && c.Open()}
	p.Title = views.Say("claim.title", "ref", c.Ref)
	state := claimState(c)
	p.Opening = []views.Phrase{views.Say("claim.is", "state", state.Value)}
	switch by := c.DueBy(); {
	case by.IsZero():
	case by < f.Today:
		p.Opening = append(p.Opening, views.Say("claim.over", "day", by))
	default:
		p.Opening = append(p.Opening, views.Say("claim.by", "day", by, "count", int(by-f.Today)))
	}
	left := views.Say("claim.left", "left", views.Cents(f.Left))
	switch {
	case f.Left == 0:
		left = views.Say("claim.left.none")
	case f.Left < 0:
		left = views.Say("claim.left.over")
	}
	p.Opening = append(p.Opening, left.Link("callback", callbackURL(f.Callback.ID)+"#costs"))
	p.Facts = []views.Fact{{Term: views.Say("callback"), Value: f.Callback.Ref, URL: callbackURL(f.Callback.ID), Note: views.Plain(shorten(f.Callback.About, 100))},
		{Term: views.Say("claim.against"), Value: c.Who, Note: views.Term("bearer", c.Against)}}
	if c.Number != "" {
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("claim.number"), Value: c.Number})
	}
	if c.WarrantyID != nil && r.Actor.May(service.SeePromises) {
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("callback.promise"), Value: views.Say("claim.warranty"), URL: fmt.Sprintf("/promises/%d", *c.WarrantyID)})
	}
	if c.Notes != "" {
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("callback.notes"), Value: c.Notes})
	}
	if r.Actor.May(service.EditCosts) {
		p.Form = views.ClaimForm(p.Frame, claimURL(id), c)
	}
	for i := len(f.Steps) - 1; i >= 0; i-- {
		p.Story = append(p.Story, stepEvent(&f.Steps[i]))
	}
	return p, f, nil
}

func (s *Server) showClaim(r *Request) error {
	p, _, err := s.claimPage(r)
	if err != nil {
		return err
	}
	return r.Render(*p)
}

func (s *Server) changeClaim(r *Request) error {
	p, file, err := s.claimPage(r)
	if err != nil {
		return err
	}
	c, f := file.Claim, r.Form()
	c.Version = f.Version()
	for name, text := range map[string]*string{"against": &c.Against, "who": &c.Who, "number": &c.Number, "answer": &c.Answer, "release_read_by": &c.ReleaseReadBy, "notes": &c.Notes} {
		if f.Has(name) {
			*text = f.Text(name)
		}
	}
	for name, on := range map[string]*units.Date{"file_by": &c.FileBy, "filed_on": &c.FiledOn, "samples_sent_on": &c.SamplesSentOn, "visited_on": &c.VisitedOn,
		"offered_on": &c.OfferedOn, "answer_by": &c.AnswerBy, "answered_on": &c.AnsweredOn, "release_signed_on": &c.ReleaseSignedOn, "paid_on": &c.PaidOn} {
		if f.Has(name) {
			*on = f.Day(name)
		}
	}
	for name, amount := range map[string]**units.Money{"offer": &c.Offer, "paid": &c.Paid} {
		if f.Has(name) {
			*amount = f.Money(name)
		}
	}
	if asked := f.YesNo("release_asked"); asked != nil {
		c.ReleaseAsked = *asked
	}
	if err = f.Err(); err == nil {
		err = s.service.ChangeClaim(r.Context(), r.Actor, &c)
	}
	if err != nil {
		return r.Refused(*p, p.Form, err)
	}
	return r.Redirect(claimURL(c.ID), views.Say("claim.saved", "ref", c.Ref))
}
