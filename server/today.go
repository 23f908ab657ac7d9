package server

import (
	"fmt"

	"overhang/analytics/units"
	"overhang/models/store"
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
	var route []views.TodayPart
	if r.Actor.May(service.SeeVisits) {
		route = todayRoute(r, t)
	}
	// Whoever goes out reads first where to; whoever answers the telephone reads
	// first who waits.
	if !r.Actor.May(service.TakeCalls) {
		p.Parts = append(p.Parts, route...)
	}
	if r.Actor.May(service.SeeCallbacks) {
		p.Parts = append(p.Parts, todayCallbacks(r, t))
	}
	if r.Actor.May(service.TakeCalls) {
		p.Parts = append(p.Parts, route...)
	}
	if r.Actor.May(service.SeeVisits) {
		p.Parts = append(p.Parts, todayDue(t))
	}
	if r.Actor.May(service.SeePromises) {
		p.Parts = append(p.Parts, todayPromises(r, t))
	}
	if r.Actor.May(service.SeePromises) && r.Actor.May(service.SeeMoney) {
		part, err := s.todayOwed(r)
		if err != nil {
			return err
		}
		p.Parts = append(p.Parts, part)
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
		switch run.Outcome {
		case "failed":
			said = views.Say("today.night.failed", "job", views.Term("today.job", job.Name), "day", run.Day)
		case "running":
			said = views.Say("today.night.running", "job", views.Term("today.job", job.Name), "day", run.Day)
		}
		p.Nights = append(p.Nights, said)
	}
	return r.Render(p)
}

// mostOpening is how many sentences Today opens with; the rest stands with its
// list.
const mostOpening = 3

// todayOpening says in a few sentences what waits for whoever reads it, each
// number a link.
func todayOpening(who service.Actor, t *service.Today) []views.Phrase {
	var out []views.Phrase
	if who.May(service.SeeCallbacks) {
		said := views.Say("today.callbacks", "count", t.Open)
		if t.WaterComingIn > 0 {
			said = views.Say("today.callbacks.water", "count", t.Open, "wet", t.WaterComingIn).Link("water", "/callbacks?state=water")
		}
		out = append(out, said.Link("open", "/callbacks?state=open"))
	}
	if who.May(service.SeeVisits) {
		out = append(out, views.Say("today.booked", "count", stops(t.Route)).Link("route", "/visits/day/"+t.Day.String()),
			views.Say("today.due", "count", t.Due).Link("due", "/visits"))
	}
	if who.May(service.SeePromises) {
		out = append(out, promiseDates(t)...)
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
	return out[:min(mostOpening, len(out))]
}

func stops(days []service.BookedDay) int {
	n := 0
	for _, d := range days {
		n += len(d.Stops)
	}
	return n
}

// promiseDates says which promises have a day ahead.
func promiseDates(t *service.Today) []views.Phrase {
	var out []views.Phrase
	if n := len(t.Registrations); n > 0 {
		out = append(out, views.Say("today.registrations", "count", n, "days", service.RegistrationDays).Link("registration", "/promises?show=registration"))
	}
	if n := len(t.Notices); n > 0 {
		out = append(out, views.Say("today.notices", "count", n).Link("notice", "/promises?show=notice"))
	}
	return append(out, views.Say("today.ending", "count", len(t.Ending), "days", service.EndingDays).Link("ending", "/promises?show=ending"))
}

func todayCallbacks(r *Request, t *service.Today) views.TodayPart {
	money := r.Actor.May(service.SeeMoney) || r.Actor.May(service.EditCosts)
	part := views.TodayPart{More: views.Say("today.more.callbacks.only").Link("all", "/callbacks"),
		Table: views.Table{ID: "callbacks", Stacks: true, Caption: views.Say("today.part.callbacks"), Empty: views.Say("today.none.callbacks"),
			Columns: []views.Column{{Head: views.Say("today.address")}, {Head: views.Say("today.about")}, {Head: views.Say("today.since")}, {Head: views.Say("callback.ahead")}}}}
	if t.Late > 0 {
		part.Lead = append(part.Lead, views.Say("today.late", "count", t.Late).Link("late", "/callbacks?state=late"))
	}
	if t.LateWork > 0 {
		part.Lead = append(part.Lead, views.Say("callback.overdue", "count", t.LateWork).Link("overdue", "/callbacks?state=overdue"))
	}
	if t.ClaimsDue > 0 {
		part.Lead = append(part.Lead, views.Say("claim.due", "count", t.ClaimsDue, "days", service.ClaimDays).Link("claims", "/claims"))
	}
	if r.Actor.May(service.TakeCalls) {
		part.More = views.Say("today.more.callbacks").Link("all", "/callbacks").Link("new", "/callbacks/new")
	}
	if money {
		part.Table.Columns = append(part.Table.Columns, views.Column{Head: views.Say("today.cost"), Numeric: true})
	}
	for i := range t.Callbacks {
		c := &t.Callbacks[i]
		said := views.Cell{Value: c.About}
		if c.Wet() {
			said.Note = views.Say("today.wet")
		} else if c.WaitingOn != "" {
			said.Note = waits(&c.Callback)
		}
		address := c.Address()
		if address == "" {
			address = c.Ref
		}
		row := views.NewRow(views.Cell{Value: address, URL: callbackURL(c.ID)}, said, c.LearnedOn, aheadCell(c))
		if money {
			cost := views.Cell{Value: views.Say("today.cost.none")}
			if c.Cost != 0 {
				cost.Value = units.Money(c.Cost)
			}
			row.Cells = append(row.Cells, cost)
		}
		part.Table.Rows = append(part.Table.Rows, row)
	}
	return part
}

// todayRoute is where people go today, house by house, and the days booked next.
func todayRoute(r *Request, t *service.Today) []views.TodayPart {
	today := views.TodayPart{Caution: "climb",
		Table: views.Table{ID: "route", Stacks: true, Caption: views.Say("today.part.route"), Empty: views.Say("today.none.route"),
			Columns: []views.Column{{Head: views.Say("today.address")}, {Head: views.Say("today.for")}, {Head: views.Say("today.who")}, {Head: views.Say("today.site")}}}}
	for _, d := range t.Route {
		for _, stop := range d.Stops {
			today.Table.Rows = append(today.Table.Rows, views.NewRow(views.Cell{Value: stop.Address, URL: fmt.Sprintf("/visits/%d", stop.Visit.ID)},
				views.Term("purpose", stop.Visit.Purpose), named(d.By), stop.Notes))
		}
	}
	if len(today.Table.Rows) == 0 {
		today.Caution = ""
	} else {
		today.More = views.Say("today.more.route").Link("sheet", "/visits/day/"+t.Day.String())
	}
	if len(t.NextDays) == 0 {
		return []views.TodayPart{today}
	}
	next := views.TodayPart{Table: views.Table{ID: "next", Stacks: true, Caption: views.Say("today.part.next"), Columns: []views.Column{{Head: views.Say("today.day")},
		{Head: views.Say("today.who")}, {Head: views.Say("today.stops"), Numeric: true}, {Head: views.Say("today.distance"), Numeric: true}}}}
	for _, d := range t.NextDays {
		apart := ""
		if len(d.Stops) > 1 {
			apart = r.Units.Distance(d.Distance)
		}
		next.Table.Rows = append(next.Table.Rows, views.NewRow(views.Cell{Value: d.On, URL: "/visits/day/" + d.On.String()}, named(d.By), len(d.Stops), apart))
	}
	return []views.TodayPart{today, next}
}

// named is who goes out, or that nobody is named.
func named(who string) any {
	if who == "" {
		return views.Say("today.who.none")
	}
	return who
}

func todayDue(t *service.Today) views.TodayPart {
	part := views.TodayPart{More: views.Say("today.more.visits").Link("all", "/visits"),
		Table: views.Table{ID: "due", Stacks: true, Caption: views.Say("today.part.due"), Empty: views.Say("today.none.due"),
			Columns: []views.Column{{Head: views.Say("today.address")}, {Head: views.Say("today.hood")}, {Head: views.Say("today.for")}, {Head: views.Say("today.dueon")}}}}
	if t.Overdue > 0 {
		part.Lead = append(part.Lead, views.Say("today.overdue", "count", t.Overdue).Link("due", "/visits"))
	}
	if !t.Season {
		part.Lead = append(part.Lead, views.Say("today.closed"))
	}
	if t.LikelyPast > 0 {
		part.Lead = append(part.Lead, views.Say("today.roofs", "count", t.LikelyPast).Link("roofs", "/roofs?past=likely"))
	}
	for _, row := range t.DueRows {
		purpose := row.Purpose
		if row.Storm && row.Gutters {
			purpose = "both"
		}
		part.Table.Rows = append(part.Table.Rows, views.NewRow(views.Cell{Value: row.Address, URL: roofURL(row.RoofID), Note: views.Plain(row.Building)}, row.Neighbourhood,
			views.Term("today.purpose", purpose), views.Cell{Value: row.DueOn, Note: waited(row.Visit)}))
	}
	return part
}

// todayOwed says what our promises are expected to cost.
func (s *Server) todayOwed(r *Request) (views.TodayPart, error) {
	part := views.TodayPart{Heading: views.Say("promise.owed")}
	list, err := s.service.Promises(r.ctx, r.Actor, service.PromiseFilter{}, store.Page{Size: 1})
	if err != nil {
		return part, err
	}
	part.Lead = []views.Phrase{views.Say("promise.roofs", "count", list.Roofs).Link("ours", "/promises?owed_by=us")}
	said := views.Say("promise.owed.unknown")
	if o := list.Owed; o != nil && o.Total.Expected != nil && o.Total.Low != nil && o.Total.High != nil {
		said = views.Say("today.owed", "expected", *o.Total.Expected, "low", *o.Total.Low, "high", *o.Total.High).Link("owed", "/promises")
	}
	part.Lead = append(part.Lead, said)
	return part, nil
}

func todayPromises(r *Request, t *service.Today) views.TodayPart {
	part := views.TodayPart{More: views.Say("today.more.promises").Link("all", "/promises"),
		Table: views.Table{ID: "promises", Stacks: true, Caption: views.Say("today.part.promises"), Empty: views.Say("today.none.promises"),
			Columns: []views.Column{{Head: views.Say("today.address")}, {Head: views.Say("today.promise")}, {Head: views.Say("today.what")}, {Head: views.Say("today.on")}}}}
	row := func(p service.PromiseRow, what any, on any) {
		part.Table.Rows = append(part.Table.Rows, views.NewRow(views.Cell{Value: p.Address, URL: fmt.Sprintf("/promises/%d", p.Warranty.ID)},
			views.Cell{Value: p.Terms.Name, Note: views.Plain(p.Warranty.Ref)}, what, on))
	}
	// What must reach somebody by a day stands first, in the order of the days.
	notices := t.Notices
	for _, p := range t.Registrations {
		for len(notices) > 0 && notices[0].NoticeDue() < p.RegistrationDue() {
			row(notices[0], todayNotice(r, notices[0]), notices[0].NoticeDue())
			notices = notices[1:]
		}
		what := views.Cell{Value: views.Say("today.what.registration", "owedby", p.Warranty.OwedBy)}
		if r.Actor.May(service.EditPromises) {
			what.URL = fmt.Sprintf("/promises/%d#register", p.Warranty.ID)
		}
		row(p, what, p.RegistrationDue())
	}
	for _, p := range notices {
		row(p, todayNotice(r, p), p.NoticeDue())
	}
	for _, p := range t.Ending[:min(len(t.Ending), 8)] {
		row(p, views.Say("today.what.ending"), p.EndsOn)
	}
	if len(part.Table.Rows) > 0 {
		part.Lead = promiseDates(t)
	}
	return part
}

func todayNotice(r *Request, p service.PromiseRow) views.Cell {
	what := views.Cell{Value: views.Say("today.what.notice")}
	if r.Actor.May(service.EditRoofs) {
		what.URL = fmt.Sprintf("/houses/%d/sale#kept", p.HouseID)
	}
	return what
}

func todayNeighbours(r *Request, t *service.Today) views.TodayPart {
	part := views.TodayPart{More: views.Say("today.more.neighbours").Link("all", "/neighbours").Link("walk", "/neighbours/walk"),
		Table: views.Table{ID: "houses", Stacks: true, Caption: views.Say("today.part.neighbours"), Empty: views.Say("today.none.neighbours"),
			Columns: []views.Column{{Head: views.Say("today.address")}, {Head: views.Say("today.why")}, {Head: views.Say("today.need")}}}}
	if t.ComeBack > 0 {
		part.Lead = append(part.Lead, views.Say("today.back", "count", t.ComeBack).Link("back", "/neighbours?state=come_back"))
	}
	for _, row := range t.Neighbours {
		part.Table.Rows = append(part.Table.Rows, views.NewRow(views.Cell{Value: row.House.Address(), URL: houseURL(row.House.HouseID), Note: views.Plain(row.House.Neighbourhood)},
			shortly(r, row), likelihood(row)))
	}
	return part
}
