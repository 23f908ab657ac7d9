package server

import (
	"fmt"

	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) houseRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/houses/:id/edit", Need: service.EditRoofs, Example: "/houses/1/edit", Handle: s.editHouse},
		{Method: "POST", Path: "/houses/:id", Need: service.EditRoofs, Example: "/houses/1", Handle: s.changeHouse},
		{Method: "GET", Path: "/houses/:id/sale", Need: service.EditRoofs, Example: "/houses/1/sale", Handle: s.askSale},
		{Method: "POST", Path: "/houses/:id/sale", Need: service.EditRoofs, Example: "/houses/1/sale", Handle: s.recordSale},
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

func saleForm(r *Request, f *service.HouseFile) views.RoofFormPage {
	p := views.RoofFormPage{Frame: r.Frame(views.Roofs)}
	p.Title = views.Say("sale.title", "address", f.Address.Line())
	p.Opening = []views.Phrase{views.Say("sale.why").Link("roof", back(f))}
	if f.Holder != nil {
		p.Opening = append([]views.Phrase{views.Say("sale.from", "name", f.Holder.Name)}, p.Opening...)
	}
	p.Form = views.SaleForm(p.Frame, fmt.Sprintf("/houses/%d/sale", f.House.ID), back(f))
	return p
}

func (s *Server) askSale(r *Request) error {
	f, err := s.house(r)
	if err != nil {
		return err
	}
	return r.Render(saleForm(r, f))
}

func (s *Server) recordSale(r *Request) error {
	f, err := s.house(r)
	if err != nil {
		return err
	}
	form := r.Form()
	sale := service.Sale{HouseID: f.House.ID, On: form.Day("sold_on"), NoticeOn: form.Day("notice_on"),
		Buyer: models.Contact{Name: form.Text("name"), Phone: form.Text("phone"), Email: form.Text("email")}}
	if sale.On > r.Today {
		form.Refuse("sold_on", "must not be after today (%s); write the sale down once it has happened", r.Today)
	}
	if !sale.NoticeOn.IsZero() && sale.NoticeOn > r.Today {
		form.Refuse("notice_on", "must not be after today (%s)", r.Today)
	}
	err = form.Err()
	if err == nil {
		err = s.service.RecordSale(r.ctx, r.Actor, sale)
	}
	if err != nil {
		p := saleForm(r, f)
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect(back(f), views.Say("sale.saved", "address", f.Address.Line(), "day", sale.On))
}
