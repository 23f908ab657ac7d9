package server

import (
	"cmp"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/analytics/visits"
	"overhang/analytics/wear"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) visitRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/visits", Need: service.SeeVisits, Handle: s.listVisits},
		{Method: "POST", Path: "/visits/book", Need: service.BookVisits, Handle: s.bookVisits},
		{Method: "GET", Path: "/visits/plan", Need: service.BookVisits, Handle: s.showVisitPlan},
		{Method: "POST", Path: "/visits/plan", Need: service.BookVisits, Handle: s.bookProposedDay},
		{Method: "GET", Path: "/visits/day/:day", Need: service.SeeVisits, Example: "/visits/day/2026-06-15", Handle: s.showVisitDay},
		{Method: "GET", Path: "/visits/:id", Need: service.SeeVisits, Example: "/visits/1", Handle: s.showVisit},
		{Method: "POST", Path: "/visits/:id", Need: service.AddFindings, Example: "/visits/1", Handle: s.recordVisit},
		{Method: "POST", Path: "/visits/:id/move", Need: service.BookVisits, Example: "/visits/1/move", Handle: s.moveVisit},
		{Method: "POST", Path: "/visits/:id/end", Need: service.BookVisits, Example: "/visits/1/end", Handle: s.endVisit},
		{Method: "GET", Path: "/roofs/:id/visits/new", Need: service.AddFindings, Example: "/roofs/1/visits/new", Handle: s.askNewVisit},
		{Method: "POST", Path: "/roofs/:id/visits", Need: service.AddFindings, Example: "/roofs/1/visits", Handle: s.recordNewVisit},
		{Method: "POST", Path: "/roofs/:id/visits/book", Need: service.BookVisits, Example: "/roofs/1/visits/book", Handle: s.bookNewVisit},
	}
}

const visitsPerPage = 50

// dueStates are the states that the list may be narrowed to.
var dueStates = []visits.State{visits.Due, service.Overdue, service.Soon, visits.Booked, visits.Declined}

// lift asks, at the end of an address, for what is kept from who is to look.
const lift = "?estimate=show"

func newVisitURL(roof int64) string { return roofURL(roof) + "/visits/new" }

func visitURL(id int64) string { return fmt.Sprintf("/visits/%d", id) }

func dayURL(day units.Date) string { return "/visits/day/" + day.String() }

func dueFilter(query url.Values) service.DueFilter {
	f := service.DueFilter{Neighbourhood: query.Get("neighbourhood"), Purpose: query.Get("purpose")}
	if state := visits.State(query.Get("state")); slices.Contains(dueStates, state) {
		f.State = state
	}
	f.Storm, _ = strconv.ParseInt(query.Get("storm"), 10, 64)
	return f
}

// byField asks who looks.
func (s *Server) byField(r *Request, value string) (views.Field, error) {
	names, err := s.service.Lookers(r.ctx, r.Actor)
	if err != nil {
		return views.Field{}, err
	}
	options := []views.Option{{Value: "", Label: views.Say("visits.nobody")}}
	if value != "" && !slices.Contains(names, value) {
		names = append(names, value)
	}
	for _, name := range names {
		options = append(options, views.Option{Value: name, Label: views.Plain(name)})
	}
	return views.Field{Name: "by_name", Kind: views.Choice, Label: views.Say("visits.by"), Value: value, Options: options}, nil
}

func dayField(value string) views.Field {
	return views.Field{Name: "booked_for", Kind: views.Day, Label: views.Say("visits.on"), Value: value, Required: true}
}

// visitsPage makes the list that a query asks for, with the roofs of picked
// chosen in it.
func (s *Server) visitsPage(r *Request, query url.Values, picked []string) (views.VisitsPage, error) {
	f := dueFilter(query)
	number, _ := strconv.Atoi(query.Get("page"))
	page := store.Page{Number: min(max(number, 1), 1_000_000), Size: visitsPerPage}
	list, err := s.service.Due(r.ctx, r.Actor, f, page)
	if err != nil {
		return views.VisitsPage{}, err
	}
	storms, err := s.service.Storms(r.ctx, r.Actor)
	if err != nil {
		return views.VisitsPage{}, err
	}
	here := views.Here{Path: "/visits", Query: query}
	p := views.VisitsPage{Frame: r.Frame(views.Visits)}
	p.Title = views.Say("visits.title")
	p.Opening = []views.Phrase{views.Say("visits.opening", "roofs", list.Counts.Due).Link("due", "/visits")}
	if list.Overdue > 0 {
		p.Opening = append(p.Opening, views.Say("visits.overdue", "roofs", list.Overdue).Link("overdue", "/visits?state=overdue"))
	}
	if !list.Season {
		p.Opening = append(p.Opening, views.Say("visits.closed", "opens", list.Opens))
	}
	if list.Soon > 0 {
		p.Opening = append(p.Opening, views.Say("visits.soon", "roofs", list.Soon, "until", list.SoonUntil).Link("soon", "/visits?state=soon"))
	}
	books := r.Actor.May(service.BookVisits)
	if books {
		p.Ways = views.Say("visits.ways").Link("plan", "/visits/plan")
	}

	states := make([]views.Option, 0, len(dueStates))
	if f.Storm != 0 {
		states = append(states, views.Option{Value: "", Label: views.Say("visits.any")})
	}
	for _, state := range dueStates {
		states = append(states, views.Option{Value: string(state), Label: views.Term("duestate", string(state))})
	}
	fields := append(dueFields(f, list.Neighbourhoods), views.Field{Name: "state", Kind: views.Choice, Label: views.Say("visits.state"), Value: string(f.State), Options: states})
	if len(storms) > 0 {
		options := []views.Option{{Value: "", Label: views.Say("visits.any")}}
		for _, storm := range storms {
			options = append(options, views.Option{Value: strconv.FormatInt(storm.Storm.ID, 10), Label: views.Plain(storm.Storm.Name)})
		}
		value := ""
		if f.Storm != 0 {
			value = strconv.FormatInt(f.Storm, 10)
		}
		fields = append(fields, views.Field{Name: "storm", Kind: views.Choice, Label: views.Say("visits.storm"), Value: value, Options: options})
	}
	p.Filter = p.Frame.Filter("narrow", "/visits", "due", fields...)

	p.Table = views.Table{ID: "due", Stacks: true, Caption: views.Say("visits.caption"), Empty: views.Say("visits.empty"), Columns: []views.Column{
		{Head: views.Say("visits.address")}, {Head: views.Say("visits.since")}, {Head: views.Say("visits.what")}, {Head: views.Say("visits.why")}}}
	if p.Table.Pager = r.Pager(page, list.Total); p.Table.Pager != nil {
		if p.Table.Pager.Previous != "" {
			p.Table.Pager.Previous = here.With("page", strconv.Itoa(page.Number-1))
		}
		if p.Table.Pager.Next != "" {
			p.Table.Pager.Next = here.With("page", strconv.Itoa(page.Number+1))
		}
	}
	waiting := false
	for _, row := range list.Rows {
		line := views.NewRow(views.Cell{Value: row.Address, URL: roofURL(row.RoofID), Note: place(row.Building, row.Neighbourhood)},
			views.Cell{Value: row.DueOn, Note: waited(row.Visit)}, lookAt(row), dueReasons(row.Visit))
		if books && (row.State == visits.Due || row.State == visits.OK) {
			line.Pick, waiting = strconv.FormatInt(row.RoofID, 10), true
			line.Picked = slices.Contains(picked, line.Pick)
		}
		p.Table.Rows = append(p.Table.Rows, line)
	}
	if waiting {
		p.Table.Pick, p.Table.PickFor = "roofs", "book"
		by, err := s.byField(r, "")
		if err != nil {
			return views.VisitsPage{}, err
		}
		p.Book = p.Frame.Form("book", "/visits/book", views.Say("visits.book.submit"), dayField(""), by,
			views.Field{Name: "list", Kind: views.Hidden, Value: query.Encode()})
	}

	if r.Actor.May(service.AddFindings) {
		p.Unbooked = p.Frame.Filter("unbooked", "/search", "", views.Field{Name: "q", Kind: views.Text, Label: views.Say("visits.unbooked.where")},
			views.Field{Name: "for", Kind: views.Hidden, Value: "look"})
		p.Unbooked.Submit = views.Say("visits.unbooked.submit")
	}

	p.Days = views.Table{ID: "days", Caption: views.Say("visits.bookeddays"), Empty: views.Say("visits.bookeddays.empty"), Columns: []views.Column{
		{Head: views.Say("visits.day")}, {Head: views.Say("visits.by")}, {Head: views.Say("visits.stops"), Numeric: true}, {Head: views.Say("visits.way"), Numeric: true}}}
	for _, day := range list.Bookings {
		p.Days.Rows = append(p.Days.Rows, views.NewRow(views.Cell{Value: day.On, URL: dayURL(day.On)}, looker(day.By), len(day.Stops), r.Units.Distance(day.Distance)))
	}
	p.Storms = views.Table{ID: "storms", Caption: views.Say("visits.storms"), Empty: views.Say("visits.storms.empty"), Columns: []views.Column{
		{Head: views.Say("visits.stormname")}, {Head: views.Say("visits.stormday")}, {Head: views.Say("visits.stormkind")},
		{Head: views.Say("visits.crossed"), Numeric: true}, {Head: views.Say("visits.notlooked"), Numeric: true}}}
	for _, storm := range storms {
		notLooked := views.Cell{Value: storm.NotLooked}
		if storm.NotLooked > 0 {
			notLooked.URL = fmt.Sprintf("/visits?storm=%d", storm.Storm.ID)
		}
		p.Storms.Rows = append(p.Storms.Rows, views.NewRow(storm.Storm.Name, storm.Storm.On, views.Term("brought", storm.Storm.Kind), storm.Crossed, notLooked))
	}
	return p, nil
}

// dueFields are the questions that narrow what is due to a place and a purpose.
func dueFields(f service.DueFilter, neighbourhoods []string) []views.Field {
	places := []views.Option{{Value: "", Label: views.Say("visits.any")}}
	for _, n := range neighbourhoods {
		places = append(places, views.Option{Value: n, Label: views.Plain(n)})
	}
	purposes := []views.Option{{Value: "", Label: views.Say("visits.any")}}
	for _, name := range []string{"checkup", "storm_look"} {
		purposes = append(purposes, views.Option{Value: name, Label: views.Term("purpose", name)})
	}
	return []views.Field{
		{Name: "neighbourhood", Kind: views.Choice, Label: views.Say("visits.neighbourhood"), Value: f.Neighbourhood, Options: places},
		{Name: "purpose", Kind: views.Choice, Label: views.Say("visits.purpose"), Value: f.Purpose, Options: purposes},
	}
}

func looker(name string) views.Phrase {
	if name == "" {
		return views.Say("visits.nobody")
	}
	return views.Plain(name)
}

// waited says for how many days a visit has been due.
func waited(v visits.Visit) views.Phrase {
	switch {
	case v.OverdueMost == nil || *v.OverdueMost == 0:
		return views.Phrase{}
	case v.Storm && *v.OverdueDays == 0: // within the days that a look may take
		return views.Phrase{}
	case *v.OverdueDays == *v.OverdueMost:
	case v.Storm: // a look may take some days, and the day of a check-up may not be exact
		return views.Say("visits.days.after", "days", *v.OverdueDays, "day", v.DueLatest)
	default:
		return views.Say("visits.days.about", "least", *v.OverdueDays, "most", *v.OverdueMost)
	}
	return views.Say("visits.days", "days", *v.OverdueDays)
}

func lookAt(row service.DueRow) []views.Phrase {
	var out []views.Phrase
	for _, part := range []struct {
		name  string
		asked bool
	}{{"gutters", row.Gutters}, {"roof", row.Roof}, {"storm", row.Storm}} {
		if part.asked {
			out = append(out, views.Term("look", part.name))
		}
	}
	return out
}

// dueReasons says why a visit is due, in the order of the rules.
func dueReasons(v visits.Visit) []views.Phrase {
	var out []views.Phrase
	for _, why := range v.Why {
		switch why.Code {
		case visits.SinceClosed:
			out = append(out, views.Say("due.since_closed", "on", why.On))
		case visits.SinceLaid:
			out = append(out, views.Say("due.since_laid", "on", why.On))
		case visits.SinceCheckUp:
			out = append(out, views.Say("due.since_checkup", "part", views.Term("duepart", why.Note), "on", why.On))
		case visits.NoDateKnown:
			out = append(out, views.Say("due.no_date_known"))
		case visits.LaidNotExact:
			out = append(out, views.Say("due.laid_not_exact", "on", why.On, "to", why.To))
		case visits.MovedToSeason:
			out = append(out, views.Say("due.moved_to_season", "on", why.On, "to", why.To))
		case visits.AfterStorm:
			out = append(out, views.Say("due.after_storm", "on", why.On, "to", why.To))
		case visits.BookedPassed:
			out = append(out, views.Say("due.booked_passed", "on", why.On))
		case visits.DeclinedOffer:
			out = append(out, views.Say("due.declined_offer", "on", why.On, "to", why.To))
		case visits.PromiseRunsOut:
			out = append(out, views.Say("due.promise_runs_out", "on", why.On))
		}
	}
	if v.State == visits.Booked {
		out = append(out, views.Say("due.booked", "on", v.BookedFor))
	}
	return out
}

func (s *Server) listVisits(r *Request) error {
	p, err := s.visitsPage(r, r.Here().Query, nil)
	if err != nil {
		return err
	}
	return r.Render(p)
}

// roofNumbers reads the roofs that were chosen.
func roofNumbers(form *Form) []int64 {
	var out []int64
	for _, text := range form.Texts("roofs") {
		for _, one := range strings.Split(text, ",") {
			if id, err := strconv.ParseInt(one, 10, 64); err == nil && id > 0 {
				out = append(out, id)
			}
		}
	}
	return out
}

func (s *Server) bookVisits(r *Request) error {
	form := r.Form()
	roofs, on := roofNumbers(form), form.Day("booked_for")
	err := form.Err()
	if err == nil {
		err = s.service.BookDue(r.ctx, r.Actor, roofs, false, on, form.Text("by_name"))
	}
	if err != nil {
		query, unread := url.ParseQuery(form.Text("list"))
		if unread != nil {
			query = url.Values{}
		}
		p, unread := s.visitsPage(r, query, form.Texts("roofs"))
		if unread != nil {
			return unread
		}
		if p.Book == nil {
			return err // nothing is due any more
		}
		return r.Refused(p, p.Book, err)
	}
	return r.Redirect(dayURL(on), views.Say("visits.booked", "roofs", len(roofs), "on", on))
}

// visitPlanPage proposes days. Of the day that was refused, by its number from
// 1, the form is given too.
func (s *Server) visitPlanPage(r *Request, query url.Values, refused string) (views.VisitPlanPage, *views.Form, error) {
	f := dueFilter(query)
	days, err := strconv.Atoi(query.Get("days"))
	if err != nil {
		days = 3
	}
	days = min(max(days, 1), 10)
	plan, err := s.service.PlanDays(r.ctx, r.Actor, f, days)
	if err != nil {
		return views.VisitPlanPage{}, nil, err
	}
	list, err := s.service.Due(r.ctx, r.Actor, f, store.Page{Size: 1})
	if err != nil {
		return views.VisitPlanPage{}, nil, err
	}
	by, err := s.byField(r, "")
	if err != nil {
		return views.VisitPlanPage{}, nil, err
	}
	p := views.VisitPlanPage{Frame: r.Frame(views.Visits)}
	p.Title = views.Say("visitplan.title")
	planned := 0
	for _, day := range plan.Days {
		planned += len(day.Stops)
	}
	due := views.Here{Path: "/visits", Query: query}.With("days", "")
	p.Opening = []views.Phrase{views.Say("visitplan.opening", "roofs", planned, "days", views.Say("visitplan.dayscount", "days", len(plan.Days)), "distance", r.Units.Distance(plan.Distance)).Link("due", due)}
	if !list.Season {
		p.Opening = append(p.Opening, views.Say("visits.closed", "opens", list.Opens))
	}
	p.Filter = p.Frame.Filter("narrow", "/visits/plan", "", append([]views.Field{{Name: "days", Kind: views.Number, Label: views.Say("visitplan.days"), Value: strconv.Itoa(days)}},
		dueFields(f, list.Neighbourhoods)...)...)
	names := func(rows []service.DueRow) string {
		out := make([]string, 0, 6)
		for _, row := range rows[:min(5, len(rows))] {
			out = append(out, row.Address)
		}
		if len(rows) > 5 {
			out = append(out, "…")
		}
		return strings.Join(out, "; ")
	}
	if n := len(plan.Later); n > 0 {
		p.Left = append(p.Left, views.Say("visitplan.later", "roofs", n).Link("due", due))
	}
	if n := len(plan.TooFar); n > 0 {
		var far []service.DueRow
		for _, id := range plan.TooFar {
			far = append(far, plan.Row(id))
		}
		p.Left = append(p.Left, views.Say("visitplan.far", "roofs", n, "names", names(far)))
	}
	if n := len(plan.Unplaced); n > 0 {
		p.Left = append(p.Left, views.Say("visitplan.unplaced", "roofs", n, "names", names(plan.Unplaced)))
	}
	var form *views.Form
	for i, day := range plan.Days {
		number := strconv.Itoa(i + 1)
		proposed := views.ProposedDay{Heading: views.Say("visitplan.day", "number", i+1),
			Summary: views.Say("visitplan.summary", "stops", len(day.Stops), "distance", r.Units.Distance(day.Distance),
				"hours", views.Say("visitplan.hours", "hours", int(math.Ceil(day.Minutes/60)))),
			Stops: views.Table{ID: "day-" + number, Stacks: true, Caption: views.Say("visitplan.stops"), Columns: []views.Column{
				{Head: views.Say("visits.address")}, {Head: views.Say("visits.since")}, {Head: views.Say("visits.what")}, {Head: views.Say("visitplan.leg"), Numeric: true}}}}
		roofs := make([]string, len(day.Stops))
		for k, stop := range day.Stops {
			row := plan.Row(stop.ID)
			roofs[k] = strconv.FormatInt(row.RoofID, 10)
			proposed.Stops.Rows = append(proposed.Stops.Rows, views.NewRow(views.Cell{Value: row.Address, URL: roofURL(row.RoofID), Note: place(row.Building, row.Neighbourhood)},
				views.Cell{Value: row.DueOn, Note: waited(row.Visit)}, lookAt(row), r.Units.Distance(stop.Leg)))
		}
		proposed.Book = p.Frame.Form("book-"+number, "/visits/plan", views.Say("visitplan.book"), dayField(plan.Offered[i].String()), by,
			views.Field{Name: "roofs", Kind: views.Hidden, Value: strings.Join(roofs, ",")},
			views.Field{Name: "day", Kind: views.Hidden, Value: number},
			views.Field{Name: "list", Kind: views.Hidden, Value: query.Encode()})
		if number == refused || form == nil {
			form = proposed.Book
		}
		p.Days = append(p.Days, proposed)
	}
	return p, form, nil
}

func (s *Server) showVisitPlan(r *Request) error {
	p, _, err := s.visitPlanPage(r, r.Here().Query, "")
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) bookProposedDay(r *Request) error {
	form := r.Form()
	roofs, on := roofNumbers(form), form.Day("booked_for")
	err := form.Err()
	if err == nil {
		err = s.service.BookDue(r.ctx, r.Actor, roofs, true, on, form.Text("by_name"))
	}
	if err != nil {
		query, unread := url.ParseQuery(form.Text("list"))
		if unread != nil {
			query = url.Values{}
		}
		p, refused, unread := s.visitPlanPage(r, query, form.Text("day"))
		if unread != nil {
			return unread
		}
		if refused == nil {
			return err
		}
		return r.Refused(p, refused, err)
	}
	return r.Redirect(dayURL(on), views.Say("visits.booked", "roofs", len(roofs), "on", on))
}

// steepFrom is the pitch above which a roof is steep: 29 CFR 1926.500(b).
var steepFrom = units.PitchIn12(4)

func (s *Server) showVisitDay(r *Request) error {
	day, err := units.ParseDate(r.Param("day"))
	if err != nil {
		return models.Errorf(models.NotFound, "There is no such day. Write it as year, month and day, such as 2026-06-15.")
	}
	routes, err := s.service.BookedOn(r.ctx, r.Actor, day)
	if err != nil {
		return err
	}
	p := views.VisitDayPage{Frame: r.Frame(views.Visits)}
	p.Title = views.Say("visitday.title", "day", day)
	total := 0
	for _, route := range routes {
		total += len(route.Stops)
		sheet := views.RouteSheet{Heading: views.Plain(route.By), Summary: views.Say("visitday.summary", "stops", len(route.Stops), "distance", r.Units.Distance(route.Distance))}
		if route.By == "" {
			sheet.Heading = views.Say("visitday.nobody")
		}
		for i := range route.Stops {
			sheet.Stops = append(sheet.Stops, s.routeStop(r, &route.Stops[i]))
		}
		p.Routes = append(p.Routes, sheet)
	}
	p.Opening = []views.Phrase{views.Say("visitday.opening", "visits", total).Link("visits", "#main")}
	p.Ways = views.Say("visitday.ways").Link("before", dayURL(day-1)).Link("after", dayURL(day+1)).Link("due", "/visits")
	return r.Render(p)
}

func (s *Server) routeStop(r *Request, stop *service.BookedStop) views.RouteStop {
	v := &stop.Visit
	out := views.RouteStop{Name: stop.Address, What: views.Term("purpose", v.Purpose), Phone: stop.Phone}
	if stop.Leg > 0 {
		out.Leg = views.Say("visitday.leg", "distance", r.Units.Distance(stop.Leg))
	}
	add := func(term views.Phrase, value any, known bool) {
		if known {
			out.Facts = append(out.Facts, views.Fact{Term: term, Value: value})
		}
	}
	add(views.Say("roof.on"), stop.Roof, stop.Roof != "")
	add(views.Say("visitday.holder"), stop.Holder, stop.Holder != "")
	if stop.Callback != nil {
		out.Facts = append(out.Facts, callbackFact(stop.Callback))
	}
	add(views.Say("visitday.notes"), stop.Notes, stop.Notes != "")
	add(views.Say("visitday.wish"), v.Notes, v.Notes != "")
	var look []views.Phrase
	if v.Purpose == "checkup" {
		look = append(look, views.Say("look.gutters"), views.Say("look.roof"))
	}
	if v.Purpose == "storm_look" {
		look = append(look, views.Say("look.roof"), views.Say("look.storm"))
	}
	if stop.Trees {
		look = append(look, views.Say("visitday.trees"))
	}
	add(views.Say("visitday.look"), look, len(look) > 0)
	var earlier []views.Phrase
	told := map[string]bool{}
	for _, f := range stop.Earlier {
		if !told[f.Defect] {
			earlier = append(earlier, views.Term("defect", f.Defect))
		}
		told[f.Defect] = true
	}
	add(views.Say("visitday.earlier"), earlier, len(earlier) > 0)
	if stop.Pitch != nil {
		out.Facts = append(out.Facts, pitchFact(*stop.Pitch))
	}
	var slopes []views.Phrase
	for _, name := range stop.Slopes {
		slopes = append(slopes, views.Plain(name))
	}
	if len(slopes) > 1 {
		out.Facts = append(out.Facts, views.Fact{Term: views.Say("visitday.slopes"), Value: slopes, Note: views.Say("visitday.slopes.mark")})
	}
	switch {
	case r.Actor.May(service.BookVisits):
		out.Ways = views.Say("visitday.ways.both").Link("record", visitURL(v.ID)).Link("move", visitURL(v.ID)+"#move")
	case r.Actor.May(service.AddFindings):
		out.Ways = views.Say("visitday.ways.record").Link("record", visitURL(v.ID))
	}
	return out
}

func pitchFact(pitch units.Pitch) views.Fact {
	fact := views.Fact{Term: views.Say("visitday.pitch"), Value: pitch}
	if pitch > steepFrom {
		fact.Note = views.Say("visitday.steep")
	}
	return fact
}

func (s *Server) visitPage(r *Request) (views.VisitPage, *service.VisitFile, error) {
	id, err := r.ID("id")
	if err != nil {
		return views.VisitPage{}, nil, err
	}
	file, err := s.service.Visit(r.ctx, r.Actor, id, service.Wish(r.Query("estimate")))
	if err != nil {
		return views.VisitPage{}, nil, err
	}
	v := &file.Visit
	p := views.VisitPage{Frame: r.Frame(views.Visits)}
	p.Title = views.Say("visit.title", "purpose", views.Term("purpose", v.Purpose), "address", file.Address.Line())
	switch {
	case !v.CancelledOn.IsZero():
		p.Opening = []views.Phrase{views.Say("visit.opening.cancelled", "on", v.CancelledOn)}
	case file.Kept:
		p.Opening = []views.Phrase{views.Say("visit.opening.done", "on", v.DoneOn)}
		p.Kept = visitKept(file)
		if file.Keeping.Booked != nil && r.Actor.May(service.BookVisits) {
			p.Kept = append(p.Kept, views.Say("roof.kept.lift").Link("lift", visitURL(id)+lift))
		}
	case !v.DoneOn.IsZero():
		defects := map[string]bool{}
		for _, f := range file.Findings {
			if f.Look == "seen" {
				defects[f.Defect] = true
			}
		}
		seen := len(defects)
		p.Opening = []views.Phrase{views.Say("visit.opening.done", "on", v.DoneOn), views.Say("visit.findings", "findings", seen).Link("findings", "#findings")}
	case !v.DeclinedOn.IsZero():
		p.Opening = []views.Phrase{views.Say("visit.opening.declined", "on", v.DeclinedOn)}
	case !v.BookedFor.IsZero():
		p.Opening = []views.Phrase{views.Say("visit.opening.booked", "on", v.BookedFor).Link("day", dayURL(v.BookedFor))}
	default:
		p.Opening = []views.Phrase{views.Say("visit.opening.offered", "on", v.OfferedOn)}
	}
	who := views.Say("visits.by")
	if !v.DoneOn.IsZero() {
		who = views.Say("visit.by")
	}
	p.Facts = append(p.Facts, views.Fact{Term: who, Value: looker(v.ByName)})
	if v.RoofID != nil {
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("visit.roof"), Value: views.Say("visit.roof.open"), URL: roofURL(*v.RoofID)})
	}
	if file.Pitch != nil {
		p.Facts = append(p.Facts, pitchFact(*file.Pitch))
	}
	if file.House.SiteNotes != "" {
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("visitday.notes"), Value: file.House.SiteNotes})
	}
	for i := range file.About {
		if c := &file.About[i]; v.CallbackID != nil && c.ID == *v.CallbackID {
			p.Facts = append(p.Facts, callbackFact(c))
		}
	}
	if v.Method != "" {
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("visit.method"), Value: views.Term("lookedby", v.Method)})
	}
	if !v.DoneOn.IsZero() && !file.Kept {
		p.Facts = append(p.Facts, sightFact(v, file.Slopes)...)
	}
	if v.Wet != nil && *v.Wet {
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("visit.wet"), Value: views.Say("visit.yes")})
	}
	if v.SeenBefore != nil {
		p.Facts = append(p.Facts, seenFact(*v.SeenBefore))
	}
	if v.Notes != "" {
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("visit.notes"), Value: v.Notes})
	}
	if file.Holder != nil {
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("visitday.holder"), Value: file.Holder.Name})
		p.Phone = file.Holder.Phone
	}
	slopes := map[int64]string{}
	for _, slope := range file.Slopes {
		slopes[slope.ID] = slope.Name
	}
	p.Findings = views.Table{ID: "findings", Stacks: true, Caption: views.Say("visit.findings.caption"), Empty: views.Say("visit.findings.empty"), Columns: []views.Column{
		{Head: views.Say("visit.defect")}, {Head: views.Say("visit.severity")}, {Head: views.Say("visit.extent")}, {Head: views.Say("visit.slope")}}}
	defects := map[string]int{} // in the order in which they were written down
	for _, f := range file.Findings {
		if _, told := defects[f.Defect]; !told {
			defects[f.Defect] = len(defects)
		}
	}
	slices.SortStableFunc(file.Findings, func(a, b models.Finding) int { return cmp.Compare(defects[a.Defect], defects[b.Defect]) })
	for _, f := range file.Findings {
		bad, extent, where := views.Term("foundlook", f.Look), views.Phrase{}, views.Say("visit.slope.all")
		apart := f.SlopeID == nil && slices.ContainsFunc(file.Findings, func(o models.Finding) bool {
			return o.Defect == f.Defect && o.SlopeID != nil && o.Look != "not_looked"
		})
		switch {
		case apart && v.InSight != nil:
			where = views.Say("visit.slope.rest")
		case apart:
			where = views.Say("visit.slope.others")
		case v.InSight != nil:
			where = views.Say("visit.slope.sight")
		}
		if f.Severity != nil {
			bad = views.Term("severity", strconv.Itoa(*f.Severity))
		}
		if f.Look == "seen" {
			extent = views.Say("visit.unsaid")
		}
		if f.Extent != nil {
			extent = views.Term("extent", nearestExtent(*f.Extent))
		}
		if f.SlopeID != nil {
			where = views.Plain(slopes[*f.SlopeID])
		}
		p.Findings.Rows = append(p.Findings.Rows, views.NewRow(views.Cell{Value: views.Term("defect", f.Defect), Note: views.Plain(f.Note)}, bad, extent, where))
	}
	if file.Look != nil {
		rateVisit(&p, file.Look, slopes)
	}
	if r.Actor.May(service.AddFindings) && (v.Open() || !v.DoneOn.IsZero()) && !file.Kept {
		action := visitURL(id)
		if file.Lifted {
			action += lift
		}
		p.Record = findingForm(r, p.Frame, file, action)
	}
	if r.Actor.May(service.BookVisits) && v.Open() {
		by, err := s.byField(r, v.ByName)
		if err != nil {
			return views.VisitPage{}, nil, err
		}
		version := views.Field{Name: "version", Kind: views.Hidden, Value: strconv.FormatInt(v.Version, 10)}
		p.Move = p.Frame.Form("moving", visitURL(id)+"/move", views.Say("visit.move.submit"), dayField(v.BookedFor.String()), by, version)
		p.Decline = p.Frame.Form("decline", visitURL(id)+"/end", views.Say("visit.decline"), version, views.Field{Name: "how", Kind: views.Hidden, Value: "declined"})
		p.Cancel = p.Frame.Form("cancel", visitURL(id)+"/end", views.Say("visit.cancel"), version, views.Field{Name: "how", Kind: views.Hidden, Value: "cancelled"})
		p.Decline.Plain, p.Cancel.Plain = true, true
	}
	return p, file, nil
}

// sightFact tells which slopes were in sight. From the roof or a ladder it is only
// told where somebody said so.
func sightFact(v *models.Visit, slopes []models.Slope) []views.Fact {
	fact := views.Fact{Term: views.Say("visit.sight.fact"), Value: views.Say("visit.sight.unsaid")}
	afar := v.Method == string(wear.Street) || v.Method == string(wear.Photo)
	switch {
	case v.InSight == nil && (!afar || len(slopes) == 0):
		return nil
	case v.InSight == nil:
	case len(*v.InSight) == 0:
		fact.Value = views.Say("visit.sight.none")
	default:
		var seen []views.Phrase
		for _, s := range slopes {
			if v.Saw(s.ID) {
				seen = append(seen, views.Plain(s.Name))
			}
		}
		fact.Value = seen
		if len(seen) == 0 {
			fact.Value = views.Say("visit.sight.elsewhere")
		}
	}
	return []views.Fact{fact}
}

// visitKept says why what a visit found is kept from the person.
func visitKept(file *service.VisitFile) []views.Phrase {
	roof := roofURL(*file.Visit.RoofID) + "#years"
	switch kept := file.Keeping; {
	case kept.Booked != nil:
		return []views.Phrase{views.Say("visit.kept", "day", kept.Booked.BookedFor).Link("visit", visitURL(kept.Booked.ID))}
	case !kept.Said.IsZero():
		return []views.Phrase{views.Say("visit.kept.said", "day", kept.Said).Link("visit", newVisitURL(*file.Visit.RoofID)).Link("roof", roof)}
	}
	return []views.Phrase{views.Say("visit.kept.ask").Link("roof", roof)}
}

// seenFact says whether whoever looked had been shown the estimate before.
func seenFact(seen bool) views.Fact {
	fact := views.Fact{Term: views.Say("visit.seen"), Value: views.Say("visit.no")}
	if seen {
		fact.Value, fact.Note = views.Say("visit.yes"), views.Say("visit.seen.note", "days", service.SeenDays)
	}
	return fact
}

// ratedLikely tells a rating and between which two it lies eight times in ten.
func ratedLikely(rating, low, high float64) views.Phrase {
	return views.Say("visit.rates.rating", "rating", whole(rating), "low", whole(low), "high", whole(high))
}

// rateVisit tells what a look rates and what cost most. Its slopes go by their
// numbers.
func rateVisit(p *views.VisitPage, look *portfolio.Look, slopes map[int64]string) {
	defect := func(c *wear.Cost) views.Phrase { return views.Term("defect", c.Defect) }
	if most := look.Result.Dearest; most != nil {
		said := views.Say("visit.costmost", "defect", defect(most), "points", whole(most.Points))
		if slope := slopes[portfolio.ID(most.Slope)]; slope != "" {
			said = views.Say("visit.costmost.on", "defect", defect(most), "points", whole(most.Points), "slope", slope)
		}
		p.Opening = append(p.Opening, said.Link("rates", "#rates"))
	}
	p.Rates = views.Table{ID: "rates", Stacks: true, Caption: views.Say("visit.rates.caption"), Columns: []views.Column{
		{Head: views.Say("visit.rates.part")}, {Head: views.Say("visit.rates.points")}, {Head: views.Say("visit.rates.cost")}}}
	for i := range look.Result.Parts {
		of := &look.Result.Parts[i]
		part := views.Cell{Value: views.Term("part", string(of.Part))}
		if missed := len(of.NotLooked); missed > 0 {
			part.Note = views.Say("visit.rates.notlooked", "missed", missed, "all", of.Catalogued)
		}
		rated, cost := views.Cell{Value: views.Say("visit.rates.none")}, views.Cell{}
		if of.Rating != nil {
			low, high := of.Likely()
			rated.Value = ratedLikely(*of.Rating, low, high)
			if slope := slopes[portfolio.ID(of.WorstSlope)]; slope != "" {
				rated.Note = views.Say("visit.rates.worst", "slope", slope)
			}
			cost.Value = views.Say("visit.rates.sound")
			if len(of.Costs) > 0 {
				most := &of.Costs[0]
				cost.Value = views.Say("visit.rates.takes", "defect", defect(most), "points", whole(most.Points))
				cost.Note = views.Say("visit.rates.gives", "gain", whole(most.GivesBack))
			}
		}
		p.Rates.Rows = append(p.Rates.Rows, views.NewRow(part, rated, cost))
	}
	p.Slopes = slopeRates(look, slopes)
	if n := look.Aside; n > 0 {
		p.Aside = views.Say("visit.rates.aside", "findings", n)
	}
}

// slopeRates tells what a look rates the covering of each slope that it told apart
// from the others; none where it spoke of the roof alone.
func slopeRates(look *portfolio.Look, slopes map[int64]string) views.Table {
	t := views.Table{ID: "slope-rates", Stacks: true, Caption: views.Say("visit.slopes.caption"), Columns: []views.Column{
		{Head: views.Say("visit.slope")}, {Head: views.Say("visit.rates.points")}, {Head: views.Say("visit.rates.cost")}}}
	covering := look.Result.Part(wear.Covering)
	for _, s := range covering.Slopes {
		rated, cost := views.Say("visit.slopes.notlooked"), views.Phrase{}
		switch {
		case s.Rating != nil:
			low, high := wear.Likely(*s.Rating, *s.ErrorPoints)
			rated, cost = ratedLikely(*s.Rating, low, high), views.Say("visit.rates.sound")
			if s.Dearest != "" {
				cost = views.Term("defect", s.Dearest)
			}
		case !look.Visit.Saw(portfolio.ID(s.Slope)):
			rated = views.Say("visit.slopes.unseen")
		}
		t.Rows = append(t.Rows, views.NewRow(slopes[portfolio.ID(s.Slope)], rated, cost))
	}
	return t
}

// callbackFact leads to the callback that a visit is for.
func callbackFact(c *models.Callback) views.Fact {
	return views.Fact{Term: views.Say("visit.callback"), Value: c.Ref, URL: callbackURL(c.ID), Note: views.Plain(shorten(c.About, 100))}
}

// callbackField asks which callback a visit is for. There is no such question
// where the house has none.
func callbackField(file *service.VisitFile) []views.Field {
	if len(file.About) == 0 {
		return nil
	}
	options := []views.Option{{Value: "", Label: views.Say("visit.callback.none")}}
	for i := range file.About {
		c := &file.About[i]
		options = append(options, views.Option{Value: strconv.FormatInt(c.ID, 10),
			Label: views.Say("visit.callback.option", "ref", c.Ref, "day", c.LearnedOn, "about", shorten(c.About, 60))})
	}
	value := ""
	if file.Visit.CallbackID != nil {
		value = strconv.FormatInt(*file.Visit.CallbackID, 10)
	}
	return []views.Field{{Name: "callback_id", Kind: views.Choice, Label: views.Say("visit.callback"), Value: value, Options: options}}
}

// readCallbackField reads which callback a visit is for.
func readCallbackField(form *Form, file *service.VisitFile) *int64 {
	if !form.Has("callback_id") {
		return file.Visit.CallbackID
	}
	id := form.ID("callback_id")
	if id != nil && !slices.ContainsFunc(file.About, func(c models.Callback) bool { return c.ID == *id }) {
		form.Refuse("callback_id", "is not in the list")
	}
	return id
}

func (s *Server) showVisit(r *Request) error {
	p, file, err := s.visitPage(r)
	if err != nil {
		return err
	}
	if file.Look != nil {
		if err := s.service.EstimateShown(r.ctx, r.Actor, *file.Visit.RoofID); err != nil {
			return err
		}
	}
	return r.Render(p)
}

func (s *Server) recordVisit(r *Request) error {
	p, file, err := s.visitPage(r)
	if err != nil {
		return err
	}
	if file.Kept {
		if booked := file.Keeping.Booked; booked != nil {
			return models.Errorf(models.Conflict, "You are booked to look at this roof on %s. What this visit found can be corrected once your own look is saved.", booked.BookedFor)
		}
		return models.Errorf(models.Conflict, "What this visit found is kept from you. It can be corrected once your own look is saved, or once you have said on the roof's page that you are not going to look.")
	}
	return s.saveVisit(r, file, p, p.Record)
}

// saveVisit saves what was found, or shows the page again with its form where it
// was refused or asked for one more line. A page without the form has nothing to show again.
func (s *Server) saveVisit(r *Request, file *service.VisitFile, page views.Page, form *views.Form) error {
	if r.Form().Has("more") && form != nil {
		form.Keep(r.Form().Values())
		return r.Render(page)
	}
	v, findings, err := readVisit(r, file)
	if err == nil {
		err = s.service.RecordVisit(r.ctx, r.Actor, v, findings)
	}
	switch {
	case err == nil:
		return r.Redirect(visitURL(v.ID), views.Say("visit.saved", "address", file.Address.Line(), "on", v.DoneOn))
	case form == nil:
		return err
	}
	return r.Refused(page, form, err)
}

func (s *Server) moveVisit(r *Request) error {
	form := r.Form()
	p, file, err := s.visitPage(r)
	if err != nil {
		return err
	}
	on := form.Day("booked_for")
	if err = form.Err(); err == nil {
		err = s.service.MoveVisit(r.ctx, r.Actor, file.Visit.ID, form.Version(), on, form.Text("by_name"))
	}
	if err != nil {
		if p.Move == nil {
			return err
		}
		return r.Refused(p, p.Move, err)
	}
	return r.Redirect(dayURL(on), views.Say("visit.moved", "on", on))
}

func (s *Server) endVisit(r *Request) error {
	form := r.Form()
	p, file, err := s.visitPage(r)
	if err != nil {
		return err
	}
	declined := form.Text("how") == "declined"
	if !declined && form.Text("how") != "cancelled" {
		form.Refuse("how", "must be declined or cancelled")
	}
	if err = form.Err(); err == nil {
		err = s.service.EndVisit(r.ctx, r.Actor, file.Visit.ID, form.Version(), declined)
	}
	if err != nil {
		refused := p.Cancel
		if declined {
			refused = p.Decline
		}
		if refused == nil {
			return err
		}
		return r.Refused(p, refused, err)
	}
	said := views.Say("visit.cancelled", "address", file.Address.Line())
	if declined {
		said = views.Say("visit.declined", "address", file.Address.Line())
	}
	return r.Redirect("/visits", said)
}

func (s *Server) newVisitPage(r *Request) (views.NewVisitPage, *service.VisitFile, error) {
	id, err := r.ID("id")
	if err != nil {
		return views.NewVisitPage{}, nil, err
	}
	file, err := s.service.VisitOf(r.ctx, r.Actor, id)
	if err != nil {
		return views.NewVisitPage{}, nil, err
	}
	// Somebody who comes from a callback goes there for it.
	if from, err := strconv.ParseInt(r.Query("callback"), 10, 64); err == nil {
		for i := range file.About {
			if c := &file.About[i]; c.ID == from {
				file.Visit.CallbackID, file.Visit.Purpose = &c.ID, "callback_look"
				if c.State == "accepted" {
					file.Visit.Purpose = "repair"
				}
			}
		}
	}
	p := views.NewVisitPage{Frame: r.Frame(views.Visits)}
	p.Title = views.Say("newvisit.title", "address", file.Address.Line())
	p.Record = findingForm(r, p.Frame, file, roofURL(id)+"/visits")
	p.Record.Cancel = roofURL(id)
	if r.Actor.May(service.BookVisits) {
		by, err := s.byField(r, "")
		if err != nil {
			return views.NewVisitPage{}, nil, err
		}
		purposes := make([]views.Option, 0, len(models.VisitPurposes))
		for _, name := range models.VisitPurposes {
			purposes = append(purposes, views.Option{Value: name, Label: views.Term("purpose", name)})
		}
		p.Book = p.Frame.Form("book", roofURL(id)+"/visits/book", views.Say("newvisit.book.submit"),
			views.Field{Name: "purpose", Kind: views.Choice, Label: views.Say("newvisit.purpose"), Value: cmp.Or(file.Visit.Purpose, "checkup"), Options: purposes},
			dayField(""), by, views.Field{Name: "notes", Kind: views.Long, Label: views.Say("visit.notes")})
		if about := callbackField(file); about != nil {
			p.Book.Group(views.Phrase{}, about...)
		}
	}
	return p, file, nil
}

func (s *Server) askNewVisit(r *Request) error {
	p, _, err := s.newVisitPage(r)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) recordNewVisit(r *Request) error {
	p, file, err := s.newVisitPage(r)
	if err != nil {
		return err
	}
	return s.saveVisit(r, file, p, p.Record)
}

func (s *Server) bookNewVisit(r *Request) error {
	form := r.Form()
	p, file, err := s.newVisitPage(r)
	if err != nil {
		return err
	}
	on, about := form.Day("booked_for"), readCallbackField(form, file)
	if err = form.Err(); err == nil {
		err = s.service.Book(r.ctx, r.Actor, []service.Booking{{HouseID: file.House.ID, RoofID: file.Visit.RoofID, Purpose: form.Text("purpose"),
			On: on, ByName: form.Text("by_name"), CallbackID: about, Notes: form.Text("notes")}})
	}
	if err != nil {
		return r.Refused(p, p.Book, err)
	}
	return r.Redirect(dayURL(on), views.Say("visits.booked", "roofs", 1, "on", on))
}
