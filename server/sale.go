package server

import (
	"fmt"

	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) saleRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/houses/:id/sale", Need: service.EditRoofs, Example: "/houses/1/sale", Handle: s.askSale},
		{Method: "POST", Path: "/houses/:id/sale", Need: service.EditRoofs, Example: "/houses/1/sale", Handle: s.recordSale},
		{Method: "POST", Path: "/houses/:id/sale/notice", Need: service.EditRoofs, Example: "/houses/1/sale/notice", Handle: s.keepNotice},
	}
}

// seenField is named for the day that was looked at: a form that was typed for
// another day does not have it.
func seenField(on units.Date) string { return "seen_" + on.String() }

// salePage makes the page with what a sale on a day leaves of the promises.
func (s *Server) salePage(r *Request, f *service.HouseFile, on, noticeOn units.Date) (views.SalePage, error) {
	here := fmt.Sprintf("/houses/%d/sale", f.House.ID)
	p := views.SalePage{Frame: r.Frame(views.Roofs)}
	p.Title = views.Say("sale.title", "address", f.Address.Line())
	if f.Holder != nil {
		p.Opening = append(p.Opening, views.Say("sale.from", "name", f.Holder.Name))
	}
	p.Opening = append(p.Opening, views.Say("sale.why").Link("roof", back(f)))
	p.Look = views.SaleLook(p.Frame, here, on.String())
	p.Form = views.SaleForm(p.Frame, here, back(f), on.String())
	p.Form.Group(views.Phrase{}, views.Field{Name: seenField(on), Kind: views.Hidden, Value: "yes"})
	if !r.Actor.May(service.SeePromises) {
		return p, nil
	}
	ahead, err := s.service.SaleAhead(r.ctx, r.Actor, f.House.ID, on, noticeOn)
	if err != nil {
		return p, err
	}
	p.Ahead = saleTable("ahead", views.Say("sale.ahead", "day", on), ahead)
	last, err := s.service.LastSale(r.ctx, r.Actor, f.House.ID)
	if err != nil || last == nil {
		return p, err
	}
	left, err := s.service.SaleAhead(r.ctx, r.Actor, f.House.ID, last.FromOn, last.NoticeOn)
	if err != nil {
		return p, err
	}
	p.Kept, p.Day = saleTable("kept-sale", views.Say("sale.kept", "day", last.FromOn), left), last.FromOn
	waits, first, asked := 0, units.Date(0), false
	for _, row := range left {
		asked = asked || row.Sale.Notice != promise.NoNotice
		if row.Sale.Notice == promise.NoticeDue {
			waits++
			if first == 0 || row.Sale.NoticeDueOn < first {
				first = row.Sale.NoticeDueOn
			}
		}
	}
	if waits > 0 {
		p.Opening = append(p.Opening, views.Say("sale.notice.due", "count", waits, "day", first).Link("kept", "#kept"))
	}
	if asked && last.NoticeOn.IsZero() {
		p.Notice = views.NoticeForm(p.Frame, here+"/notice", last)
	}
	return p, nil
}

func saleTable(id string, caption views.Phrase, rows []service.SalePromise) *views.Table {
	t := &views.Table{ID: id, Stacks: true, Caption: caption, Empty: views.Say("sale.none"),
		Columns: []views.Column{{Head: views.Say("sale.promise")}, {Head: views.Say("sale.becomes")}, {Head: views.Say("sale.shared")},
			{Head: views.Say("sale.lastday")}, {Head: views.Say("sale.noticed")}}}
	for _, row := range rows {
		notice := views.Say("sale_notice.none")
		switch row.Sale.Notice {
		case promise.NoticeDue:
			notice = views.Say("sale_notice.due", "day", row.Sale.NoticeDueOn)
		case promise.NoticeGiven:
			notice = views.Say("sale_notice.given", "day", row.Sale.NoticeDueOn)
		case promise.NoticeLate:
			notice = views.Say("sale_notice.late", "day", row.Sale.NoticeDueOn)
		case promise.NoticeMissed:
			notice = views.Say("sale_notice.missed", "day", row.Sale.NoticeDueOn)
		}
		why := row.Sale.Reason
		t.Rows = append(t.Rows, views.NewRow(
			views.Cell{Value: row.Warranty.Ref, URL: fmt.Sprintf("/promises/%d", row.Warranty.ID),
				Note: views.Say("promise.by", "terms", row.Terms.Name, "who", views.OwedBy(row.Warranty.OwedBy))},
			views.Cell{Value: views.Term("sale_outcome", row.Sale.Outcome), Note: views.PromiseReason(why.Code, why.On, why.Number, why.Text)},
			views.PromiseShare(row.Sale.Share, row.Sale.Share), row.Sale.LastDay, notice))
	}
	return t
}

func (s *Server) askSale(r *Request) error {
	f, err := s.house(r)
	if err != nil {
		return err
	}
	on, err := r.QueryDay("sold_on")
	if err != nil {
		return err
	}
	p, err := s.salePage(r, f, on, 0)
	if err != nil {
		return err
	}
	return r.Render(p)
}

// recordSale keeps a sale whose outcome was seen: one that was typed for another
// day than the one looked at is shown first.
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
	if err = form.Err(); err == nil && !form.Has(seenField(sale.On)) && r.Actor.May(service.SeePromises) {
		form.Refuse("sold_on", "look above at what a sale on this day leaves of the promises, then keep it")
		err = form.Err()
	}
	if err == nil {
		err = s.service.RecordSale(r.ctx, r.Actor, sale)
	}
	if err != nil {
		on := sale.On
		if on.IsZero() {
			on = r.Today
		}
		p, unread := s.salePage(r, f, on, sale.NoticeOn)
		if unread != nil {
			return unread
		}
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect(fmt.Sprintf("/houses/%d/sale", f.House.ID), views.Say("sale.saved", "address", f.Address.Line(), "day", sale.On))
}

func (s *Server) keepNotice(r *Request) error {
	f, err := s.house(r)
	if err != nil {
		return err
	}
	form := r.Form()
	on := form.Day("notice_on")
	if on > r.Today {
		form.Refuse("notice_on", "must not be after today (%s)", r.Today)
	}
	if err = form.Err(); err == nil {
		err = s.service.KeepNotice(r.ctx, r.Actor, f.House.ID, form.Version(), on)
	}
	if err != nil {
		p, unread := s.salePage(r, f, r.Today, 0)
		if unread != nil {
			return unread
		}
		if p.Notice == nil {
			return err
		}
		return r.Refused(p, p.Notice, err)
	}
	return r.Redirect(fmt.Sprintf("/houses/%d/sale", f.House.ID), views.Say("sale.notice.saved", "day", on))
}
