package server

import (
	"fmt"

	"overhang/server/service"
	"overhang/views"
)

func (s *Server) todayRoutes() []Route {
	return []Route{{Method: "GET", Path: "/today", Need: SignedIn, Handle: s.showToday}}
}

func (s *Server) showToday(r *Request) error {
	t, err := s.service.TodayFor(r.ctx, r.Actor)
	if err != nil {
		return err
	}
	p := views.TodayPage{Frame: r.Frame(views.Today)}
	p.Title = views.Say("today.title")
	p.Opening = todayOpening(r.Actor, t)
	if r.Actor.May(service.SeeCallbacks) {
		p.Parts = append(p.Parts, todayCallbacks(r, t))
	}
	if r.Actor.May(service.SeeVisits) {
		p.Parts = append(p.Parts, todayVisits(r, t)...)
	}
	if r.Actor.May(service.SeePromises) && len(t.Registrations)+len(t.Ending) > 0 {
		p.Parts = append(p.Parts, todayPromises(t))
	}
	if r.Actor.May(service.SeeNeighbours) {
		p.Parts = append(p.Parts, todayNeighbours(r, t))
	}
	for _, job := range service.Jobs {
		run, found := t.Jobs[job.Name]
		if !found || !r.Actor.May(service.SeeRecords) {
			continue
		}
		said := views.Say("today.night", "job", views.Term("today.job", job.Name), "day", run.Day, "detail", run.Detail)
		if run.Outcome == "failed" {
			said = views.Say("today.night.failed", "job", views.Term("today.job", job.Name), "day", run.Day)
		}
		p.Nights = append(p.Nights, said)
	}
	return r.Render(p)
}

// todayOpening says in a few sentences what waits, each number a link.
func todayOpening(who service.Actor, t *service.Today) []views.Phrase {
	var out []views.Phrase
	if who.May(service.SeeCallbacks) {
		out = append(out, views.Say("today.callbacks", "count", t.Open).Link("open", "/callbacks?state=open"))
		if t.WaterComingIn > 0 {
			out = append(out, views.Say("today.water", "count", t.WaterComingIn).Link("water", "/callbacks?state=water"))
		}
		if t.Late > 0 {
			out = append(out, views.Say("today.late", "count", t.Late).Link("late", "/callbacks?state=late"))
		}
	}
	if who.May(service.SeeVisits) {
		out = append(out, views.Say("today.due", "count", t.Due).Link("due", "/visits"))
		if t.Overdue > 0 {
			out = append(out, views.Say("today.overdue", "count", t.Overdue).Link("due", "/visits"))
		}
		if !t.Season {
			out = append(out, views.Say("today.closed"))
		}
	}
	if who.May(service.SeePromises) {
		if n := len(t.Registrations); n > 0 {
			out = append(out, views.Say("today.registrations", "count", n, "days", service.RegistrationDays).Link("registration", "/promises?show=registration"))
		}
		if n := len(t.Ending); n > 0 {
			out = append(out, views.Say("today.ending", "count", n, "days", service.EndingDays).Link("ending", "/promises?show=ending"))
		}
	}
	if who.May(service.SeeNeighbours) {
		out = append(out, views.Say("today.neighbours", "count", t.ToCallOn).Link("houses", "/neighbours"))
		if t.ComeBack > 0 {
			out = append(out, views.Say("today.back", "count", t.ComeBack).Link("back", "/neighbours?state=come_back"))
		}
	}
	if t.LikelyPast > 0 {
		out = append(out, views.Say("today.roofs", "count", t.LikelyPast).Link("roofs", "/roofs?past=likely"))
	}
	if len(out) == 0 {
		out = append(out, views.Say("today.quiet"))
	}
	return out
}

// ringBack says how a callback's ring-back stands.
func ringBack(c *service.CallbackRow) views.Phrase {
	switch {
	case c.RungBackAt != nil:
		return views.Say("today.ringback.done", "moment", *c.RungBackAt)
	case c.RingBackBy == nil:
		return views.Say("today.ringback.none")
	case c.Late:
		return views.Say("today.ringback.late", "moment", *c.RingBackBy)
	}
	return views.Say("today.ringback.by", "moment", *c.RingBackBy)
}

func todayCallbacks(r *Request, t *service.Today) views.TodayPart {
	part := views.TodayPart{More: views.Say("today.more.callbacks.only").Link("all", "/callbacks"),
		Table: views.Table{ID: "callbacks", Caption: views.Say("today.part.callbacks"), Empty: views.Say("today.none.callbacks"),
			Columns: []views.Column{{Head: views.Say("today.address")}, {Head: views.Say("today.about")}, {Head: views.Say("today.since")}, {Head: views.Say("today.ringback")}}}}
	if r.Actor.May(service.TakeCalls) {
		part.More = views.Say("today.more.callbacks").Link("all", "/callbacks").Link("new", "/callbacks/new")
	}
	for i := range t.Callbacks {
		c := &t.Callbacks[i]
		said := views.Cell{Value: c.About}
		if c.WaterComingIn {
			said.Note = views.Say("today.wet")
		}
		address := c.Address()
		if address == "" {
			address = c.Ref
		}
		part.Table.Rows = append(part.Table.Rows, views.NewRow(views.Cell{Value: address, URL: fmt.Sprintf("/callbacks/%d", c.ID)}, said, c.LearnedOn, ringBack(c)))
	}
	return part
}

func todayVisits(r *Request, t *service.Today) []views.TodayPart {
	var parts []views.TodayPart
	route := func(caption views.Phrase, id string, days []service.BookedDay) {
		if len(days) == 0 {
			return
		}
		table := views.Table{ID: id, Caption: caption, Columns: []views.Column{{Head: views.Say("today.day")}, {Head: views.Say("today.who")},
			{Head: views.Say("today.stops"), Numeric: true}, {Head: views.Say("today.distance"), Numeric: true}}}
		for _, d := range days {
			var who any = d.By
			if d.By == "" {
				who = views.Say("today.who.none")
			}
			apart := ""
			if len(d.Stops) > 1 {
				apart = r.Units.Distance(d.Distance)
			}
			table.Rows = append(table.Rows, views.NewRow(views.Cell{Value: d.On, URL: "/visits/day/" + d.On.String()}, who, len(d.Stops), apart))
		}
		// The caution stands once, with the first list that sends somebody out.
		caution := ""
		if len(parts) == 0 {
			caution = "climb"
		}
		parts = append(parts, views.TodayPart{Table: table, Caution: caution})
	}
	route(views.Say("today.part.route"), "route", t.Route)
	route(views.Say("today.part.next"), "next", t.NextDays)
	due := views.TodayPart{More: views.Say("today.more.visits").Link("all", "/visits"),
		Table: views.Table{ID: "due", Caption: views.Say("today.part.due"), Empty: views.Say("today.none.due"),
			Columns: []views.Column{{Head: views.Say("today.address")}, {Head: views.Say("today.hood")}, {Head: views.Say("today.for")}, {Head: views.Say("today.dueon")}}}}
	for _, row := range t.DueRows {
		due.Table.Rows = append(due.Table.Rows, views.NewRow(views.Cell{Value: row.Address, URL: roofURL(row.RoofID)}, row.Neighbourhood,
			views.Term("today.purpose", row.Purpose), row.DueOn))
	}
	return append(parts, due)
}

func todayPromises(t *service.Today) views.TodayPart {
	part := views.TodayPart{More: views.Say("today.more.promises").Link("all", "/promises"),
		Table: views.Table{ID: "promises", Caption: views.Say("today.part.promises"),
			Columns: []views.Column{{Head: views.Say("today.address")}, {Head: views.Say("today.promise")}, {Head: views.Say("today.what")}, {Head: views.Say("today.on")}}}}
	row := func(p service.PromiseRow, what views.Phrase, on any) {
		part.Table.Rows = append(part.Table.Rows, views.NewRow(views.Cell{Value: p.Address, URL: fmt.Sprintf("/promises/%d", p.Warranty.ID)}, p.Terms.Name, what, on))
	}
	for _, p := range t.Registrations {
		row(p, views.Say("today.what.registration", "owedby", p.Warranty.OwedBy), p.Warranty.RegistrationDueOn)
	}
	for _, p := range t.Ending[:min(len(t.Ending), 8)] {
		row(p, views.Say("today.what.ending"), p.EndsOn)
	}
	return part
}

func todayNeighbours(r *Request, t *service.Today) views.TodayPart {
	part := views.TodayPart{More: views.Say("today.more.neighbours").Link("all", "/neighbours").Link("walk", "/neighbours/walk"),
		Table: views.Table{ID: "houses", Caption: views.Say("today.part.neighbours"), Empty: views.Say("today.none.neighbours"),
			Columns: []views.Column{{Head: views.Say("today.address")}, {Head: views.Say("today.why")}, {Head: views.Say("today.need")}}}}
	for _, row := range t.Neighbours {
		part.Table.Rows = append(part.Table.Rows, views.NewRow(views.Cell{Value: row.House.Address(), URL: houseURL(row.House.HouseID), Note: views.Plain(row.House.Neighbourhood)},
			shortly(r, row), likelihood(row)))
	}
	return part
}
