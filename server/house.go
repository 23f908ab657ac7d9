package server

import (
	"fmt"

	"overhang/server/service"
	"overhang/views"
)

func (s *Server) houseRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/houses/:id/edit", Need: service.EditRoofs, Example: "/houses/1/edit", Handle: s.editHouse},
		{Method: "POST", Path: "/houses/:id", Need: service.EditRoofs, Example: "/houses/1", Handle: s.changeHouse},
	}
}

// house reads the house of the path.
func (s *Server) house(r *Request) (*service.HouseFile, error) {
	id, err := r.ID("id")
	if err != nil {
		return nil, err
	}
	return s.service.House(r.ctx, r.Actor, id)
}

// back is where one goes on from a house: its roof where it has one.
func back(f *service.HouseFile) string {
	if f.RoofID == nil {
		return "/roofs"
	}
	return roofURL(*f.RoofID)
}

func houseForm(frame views.Frame, f *service.HouseFile) views.RoofFormPage {
	p := views.RoofFormPage{Frame: frame}
	p.Title = views.Say("house.edit.title", "address", f.Address.Line())
	p.Form = views.EditHouseForm(p.Frame, fmt.Sprintf("/houses/%d", f.House.ID), back(f), &f.House)
	return p
}

func (s *Server) editHouse(r *Request) error {
	f, err := s.house(r)
	if err != nil {
		return err
	}
	return r.Render(houseForm(r.Frame(views.Roofs), f))
}

func (s *Server) changeHouse(r *Request) error {
	f, err := s.house(r)
	if err != nil {
		return err
	}
	form := r.Form()
	typed := f.House
	typed.Version = form.Version()
	typed.Neighbourhood, typed.Builder, typed.Plan = form.Text("neighbourhood"), form.Text("builder"), form.Text("plan")
	typed.BuildYear, typed.Storeys, typed.Trees = form.Int("build_year"), form.Int("storeys"), form.YesNo("trees")
	typed.Cladding, typed.SiteNotes = form.Text("cladding"), form.Text("site_notes")
	typed.Lat, typed.Lon = form.Number("lat"), form.Number("lon")
	err = form.Err()
	if err == nil {
		err = s.service.ChangeHouse(r.ctx, r.Actor, &typed)
	}
	if err != nil {
		p := houseForm(r.Frame(views.Roofs), f)
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect(back(f), views.Say("house.saved", "address", f.Address.Line()))
}
