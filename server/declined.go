package server

import (
	"fmt"

	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) declinedRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/roofs/:id/declined", Need: service.EditRoofs, Example: "/roofs/1/declined", Handle: s.askDeclined},
		{Method: "POST", Path: "/roofs/:id/declined", Need: service.EditRoofs, Example: "/roofs/1/declined", Handle: s.keepDeclined},
	}
}

func (s *Server) declinedPage(r *Request) (int64, views.PromiseFormPage, error) {
	p := views.PromiseFormPage{Frame: r.Frame(views.Roofs)}
	id, err := r.ID("id")
	if err != nil {
		return 0, p, err
	}
	d, err := s.service.DeclinedOn(r.ctx, r.Actor, id)
	if err != nil {
		return 0, p, err
	}
	p.Title = views.Say("declined.title", "roof", d.Address)
	p.Opening = []views.Phrase{views.Say("declined.why").Link("roof", roofURL(id))}
	if len(d.Jobs) == 0 {
		p.Opening = append(p.Opening, views.Say("declined.nojob"))
	}
	p.Form = views.DeclinedForm(p.Frame, fmt.Sprintf("/roofs/%d/declined", id), roofURL(id), d.Jobs)
	return id, p, nil
}

func (s *Server) askDeclined(r *Request) error {
	_, p, err := s.declinedPage(r)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) keepDeclined(r *Request) error {
	id, p, err := s.declinedPage(r)
	if err != nil {
		return err
	}
	f := r.Form()
	d := &models.Declined{What: f.Text("what"), SignedOn: f.Day("signed_on")}
	if job := f.ID("job_id"); job != nil {
		d.JobID = *job
	}
	if d.SignedOn > r.Today {
		f.Refuse("signed_on", "must not be after today (%s)", r.Today)
	}
	if err = f.Err(); err == nil {
		err = s.service.KeepDeclined(r.ctx, r.Actor, id, d)
	}
	if err != nil {
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect(roofURL(id), views.Say("declined.saved", "what", d.What))
}
