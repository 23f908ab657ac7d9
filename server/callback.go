package server

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) callbackRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/callbacks", Need: service.SeeCallbacks, Handle: s.listCallbacks},
		{Method: "GET", Path: "/callbacks/new", Need: service.TakeCalls, Handle: s.askCall},
		{Method: "POST", Path: "/callbacks", Need: service.TakeCalls, Handle: s.takeCall},
		{Method: "GET", Path: "/callbacks/:id", Need: service.SeeCallbacks, Example: "/callbacks/1", Handle: s.showCallback},
		{Method: "POST", Path: "/callbacks/:id", Need: service.EditCallbacks, Example: "/callbacks/1", Handle: s.changeCallback},
		{Method: "POST", Path: "/callbacks/:id/ring-back", Need: service.TakeCalls, Example: "/callbacks/1/ring-back", Handle: s.ringBack},
		{Method: "POST", Path: "/callbacks/:id/house", Need: service.EditCallbacks, Example: "/callbacks/1/house", Handle: s.chooseHouse},
		{Method: "POST", Path: "/callbacks/:id/roof", Need: service.AddFindings, Example: "/callbacks/1/roof", Handle: s.noteOnRoof},
		{Method: "POST", Path: "/callbacks/:id/return", Need: service.TakeCalls, Example: "/callbacks/1/return", Handle: s.takeReturn},
		{Method: "POST", Path: "/callbacks/:id/costs", Need: service.EditCosts, Example: "/callbacks/1/costs", Handle: s.addCost},
		{Method: "POST", Path: "/callbacks/:id/paid", Need: service.EditCosts, Example: "/callbacks/1/paid", Handle: s.settleCosts},
		{Method: "GET", Path: "/callbacks/:id/costs/:line", Need: service.EditCosts, Example: "/callbacks/1/costs/1", Handle: s.askCorrection},
		{Method: "POST", Path: "/callbacks/:id/costs/:line", Need: service.EditCosts, Example: "/callbacks/1/costs/1", Handle: s.correctCost},
	}
}

func callbackURL(id int64) string { return fmt.Sprintf("/callbacks/%d", id) }

// callbackParts are the parts of the list, the most asked for first.
var callbackParts = append([]string{"open", "water", "late", "overdue", "waiting"}, append(slices.Clone(models.CallbackStates), "returns", "all")...)

// callbackGroups are the groups by which callbacks can be listed: the names in
// an address, as in owed.Dimensions.
var callbackGroups = []string{"cause", "crew", "covering", "lot", "neighbourhood"}

// callbacksOf is the address of the callbacks of a group, ended ones too.
func callbacksOf(group string, values ...string) string {
	return "/callbacks?" + url.Values{"state": {"all"}, group: {strings.Join(values, ",")}}.Encode()
}

// callbackGroup reads of which group callbacks are asked for, and says it; the
// sentence is zero where all are.
func (s *Server) callbackGroup(r *Request, f *store.CallbackFilter) (said views.Phrase, err error) {
	number := func(name string) int64 {
		id, err := strconv.ParseInt(r.Query(name), 10, 64)
		if err != nil || id < 0 {
			return 0
		}
		return id
	}
	for _, cause := range strings.Split(r.Query("cause"), ",") {
		if slices.Contains(models.Causes, cause) {
			f.Causes = append(f.Causes, cause)
		}
	}
	f.CrewID, f.CoveringID, f.Lot, f.Neighbourhood = number("crew"), number("covering"), r.Query("lot"), r.Query("neighbourhood")
	name, err := s.service.GroupName(r.Context(), r.Actor, *f)
	if err != nil {
		return said, err
	}
	switch {
	case len(f.Causes) > 0:
		said = views.Term("cause", f.Causes[0])
		for _, cause := range f.Causes[1:] {
			said = views.Say("callback.group.or", "first", said, "next", views.Term("cause", cause))
		}
		said = views.Say("callback.group.cause", "cause", said)
	case f.CrewID != 0:
		said = views.Say("callback.group.crew", "crew", name)
	case f.CoveringID != 0:
		said = views.Say("callback.group.covering", "covering", name)
	case f.Lot != "":
		said = views.Say("callback.group.lot", "lot", f.Lot)
	case f.Neighbourhood != "":
		said = views.Say("callback.group.neighbourhood", "neighbourhood", f.Neighbourhood)
	default:
		return said, nil
	}
	return said.Link("every", "/callbacks?state=all"), nil
}

func (s *Server) listCallbacks(r *Request) error {
	f := store.CallbackFilter{State: r.Query("state"), Text: r.Query("q")}
	if !slices.Contains(callbackParts, f.State) {
		f.State = "open"
	}
	part := f.State
	if part == "all" {
		f.State = ""
	}
	group, err := s.callbackGroup(r, &f)
	if err != nil {
		return err
	}
	page := r.Page(50)
	rows, total, err := s.service.Callbacks(r.Context(), r.Actor, f, page)
	if err != nil {
		return err
	}
	counts, err := s.service.CallbackCounts(r.Context(), r.Actor)
	if err != nil {
		return err
	}
	contacts := r.Actor.May(service.SeeContacts)
	money := r.Actor.May(service.SeeMoney) || r.Actor.May(service.EditCosts)
	p := views.CallbacksPage{Frame: r.Frame(views.Callbacks)}
	p.Title = views.Say("section.callbacks")
	p.Opening = []views.Phrase{views.Say("callback.open", "count", counts.Open).Link("open", "/callbacks?state=open")}
	if counts.Late > 0 {
		p.Opening = append(p.Opening, views.Say("callback.late", "count", counts.Late).Link("late", "/callbacks?state=late"))
	}
	if counts.Overdue > 0 {
		p.Opening = append(p.Opening, views.Say("callback.overdue", "count", counts.Overdue).Link("overdue", "/callbacks?state=overdue"))
	}
	if counts.Water > 0 {
		p.Opening = append(p.Opening, views.Say("callback.water", "count", counts.Water).Link("water", "/callbacks?state=water"))
	}
	if counts.Waiting > 0 {
		p.Opening = append(p.Opening, views.Say("callback.waiting.count", "count", counts.Waiting).Link("waiting", "/callbacks?state=waiting"))
	}
	if !group.IsZero() {
		p.Opening = []views.Phrase{group}
	}
	if r.Actor.May(service.TakeCalls) {
		p.New = "/callbacks/new"
	}
	if r.Actor.May(service.EditCosts) {
		claims, err := s.service.Claims(r.Context(), r.Actor, false)
		if err != nil {
			return err
		}
		p.Claims = views.Say("claim.open", "count", len(claims)).Link("claims", "/claims")
	}
	if group.IsZero() {
		times, err := s.service.PromisedTimes(r.Context(), r.Actor)
		if err != nil {
			return err
		}
		p.Kept = views.KeptTable(times.From, times.RingBack, times.Look)
	}
	if r.Actor.May(service.SeeCrews) {
		p.Crews = "/crews"
	}
	here := r.Here()
	for _, name := range callbackParts {
		p.Parts = append(p.Parts, views.NavEntry{Label: views.Term("callback_part", name), URL: here.With("state", name), Current: name == part})
	}
	kept := map[string]string{"state": part}
	for _, name := range callbackGroups {
		if value := r.Query(name); value != "" {
			kept[name] = value
		}
	}
	p.Filter = views.CallbackFilter(p.Frame, kept, f.Text, contacts)
	p.Table = views.Table{ID: "callbacks", Stacks: true, Caption: views.Term("callback_part", part), Empty: views.Say("callback.empty"), Pager: r.Pager(page, total),
		Columns: []views.Column{{Head: views.Say("callback.where")}, {Head: views.Say("callback.about")}, {Head: views.Say("callback.state")},
			{Head: views.Say("callback.learned")}, {Head: views.Say("callback.ahead")}}}
	if contacts {
		p.Table.Columns = slices.Insert(p.Table.Columns, 1, views.Column{Head: views.Say("callback.caller")})
	}
	if money {
		p.Table.Columns = append(p.Table.Columns, views.Column{Head: views.Say("callback.cost"), Numeric: true})
	}
	for _, c := range rows {
		p.Table.Rows = append(p.Table.Rows, callbackRow(c, contacts, money))
	}
	return r.Render(p)
}

func callbackRow(c service.CallbackRow, contacts, money bool) views.Row {
	where := views.Cell{Value: c.Address(), URL: callbackURL(c.ID), Note: views.Plain(c.Ref)}
	if c.Address() == "" {
		where.Value = views.Say("callback.where.later")
	} else if c.HouseID == nil {
		where.Note = views.Say("promise.and", "first", c.Ref+",", "next", views.Say("callback.where.later"))
	}
	state := views.Cell{Value: views.Term("callback_state", c.State)}
	if c.Wet() {
		state.Note = views.Say("callback.wet")
	} else if c.ReturnOf != nil {
		state.Note = views.Say("callback.isreturn")
	}
	about := views.Cell{Value: shorten(c.About, 100)}
	if c.WaitingOn != "" && c.Open() {
		about.Note = waits(&c.Callback)
	}
	cells := []any{where}
	if contacts {
		cells = append(cells, views.Cell{Value: c.Caller, Phone: c.Phone})
	}
	cells = append(cells, about, state, c.LearnedOn, aheadCell(&c))
	if money {
		var cost any = views.Plain("–") // none is kept, which is not nought
		if c.Cost != 0 {
			cost = views.Cents(c.Cost)
		}
		cells = append(cells, cost)
	}
	return views.NewRow(cells...)
}

// waits says what a callback waits on, and since when.
func waits(c *models.Callback) views.Phrase {
	if c.WaitingSince.IsZero() {
		return views.Say("callback.waits", "on", views.Term("waiting", c.WaitingOn))
	}
	return views.Say("callback.waits.since", "on", views.Term("waiting", c.WaitingOn), "since", c.WaitingSince)
}

// aheadCell says what is next for a callback, and by when we promised it.
func aheadCell(c *service.CallbackRow) views.Cell {
	cell := views.Cell{Value: views.Term("callback_ahead", c.Ahead.Do)}
	var by any = c.Ahead.On
	if c.Ahead.By != nil {
		by = *c.Ahead.By
	} else if c.Ahead.On.IsZero() {
		return cell
	}
	if c.Ahead.Late {
		cell.Note = views.Say("callback.ahead.late", "by", by)
	} else {
		cell.Note = views.Say("callback.ahead.by", "by", by)
	}
	return cell
}

// aheadSentence says at the top of a callback's page what somebody is to do
// next, and leads to where it is done.
func aheadSentence(r *Request, f *service.CallbackFile) views.Phrase {
	c, a := &f.Callback, f.Ahead
	where, need := "#next", service.EditCallbacks
	switch a.Do {
	case "ring_back":
		where, need = "#ring-back", service.TakeCalls
	case "find":
		where = "#find-house"
	case "cover", "look", "repair":
		where, need = "#on-roof", service.AddFindings
	case "settle":
		where, need = "#costs", service.EditCosts
	}
	if !r.Actor.May(need) {
		where = "#story" // somebody else does it; this is how far it has come
	}
	var who any = views.Say("callback.thecaller")
	if c.Caller != "" {
		who = c.Caller
	}
	var said views.Phrase
	dated := !a.On.IsZero()
	switch a.Do {
	case "ring_back":
		if f.Late {
			said = views.Say("callback_next.ring_back.late", "who", who, "by", *a.By)
			break
		}
		said = views.Say("callback_next.ring_back", "who", who, "by", *a.By)
	case "cover":
		said = views.Say("callback_next.cover")
	case "find":
		said = views.Say("callback_next.find")
	case "look":
		switch {
		case a.Late:
			said = views.Say("callback_next.look.late", "by", a.On)
		case dated:
			said = views.Say("callback_next.look.by", "by", a.On)
		default:
			said = views.Say("callback_next.look")
		}
	case "decide":
		said = views.Say("callback_next.decide")
	case "wait":
		said = views.Say("callback_next.wait", "waits", waits(c))
	case "repair":
		switch {
		case a.Late:
			said = views.Say("callback_next.repair.late", "by", a.On)
		case dated:
			said = views.Say("callback_next.repair.by", "by", a.On)
		default:
			said = views.Say("callback_next.repair")
		}
	case "settle":
		said = views.Say("callback_next.settle")
	case "close":
		said = views.Say("callback_next.close")
	case "tell":
		said = views.Say("callback_next.tell", "who", who)
	default:
		return views.Phrase{}
	}
	return said.Link("go", where)
}

// callPage makes the page on which a call is written down, with the houses that
// the text finds.
func (s *Server) callPage(r *Request, text string) (views.CallPage, error) {
	found, loose, err := s.service.FindCaller(r.Context(), r.Actor, text)
	if err != nil {
		return views.CallPage{}, err
	}
	var places []views.Option
	joins := func(c store.CallbackRow) views.Option {
		return views.Option{Value: "callback:" + strconv.FormatInt(c.ID, 10),
			Label: views.Say("call.place.joins", "address", cmp.Or(c.Address(), c.Caller, c.Phone), "ref", c.Ref, "day", c.LearnedOn)}
	}
	for _, h := range found {
		for _, c := range h.Open {
			places = append(places, joins(c))
		}
		places = append(places, views.Option{Value: "house:" + strconv.FormatInt(h.HouseID, 10), Label: houseLabel(h.Hit)})
	}
	for _, c := range loose {
		places = append(places, joins(c))
	}
	said := views.Phrase{}
	if text != "" {
		said = housesFound(len(found))
	}
	return views.NewCallPage(r.Frame(views.Callbacks), places, said), nil
}

func houseLabel(h store.Hit) views.Phrase {
	label := views.Say("call.place.other", "address", h.Address())
	if h.Ours {
		label = views.Say("call.place.ours", "address", h.Address(), "roof", h.RoofRef)
	}
	if h.Holder != "" {
		label = views.Say("call.place.held", "place", label, "holder", h.Holder)
	}
	return label
}

func (s *Server) askCall(r *Request) error {
	text := r.Query("address_given")
	p, err := s.callPage(r, text)
	if err != nil {
		return err
	}
	p.Form.Keep(map[string][]string{"address_given": {text}})
	return r.Render(p)
}

// takeCall writes a call down. The button that only looks for the house shows
// the same page again, with what was typed and the houses that are found; it
// needs no script.
func (s *Server) takeCall(r *Request) error {
	f := r.Form()
	said := f.Text("address_given")
	if f.Has("find") {
		p, err := s.callPage(r, said)
		if err != nil {
			return err
		}
		p.Form.Keep(f.Values())
		return r.Render(p)
	}
	n := service.NewCall{Caller: f.Text("caller"), Phone: f.Text("phone"), AddressGiven: said, About: f.Text("about"),
		CauseReported: f.Text("cause_reported"), HappenedOn: f.Day("happened_on")}
	if n.About == "" {
		f.Refuse("about", "is needed; a few words will do")
	}
	if water := f.YesNo("water_coming_in"); water != nil {
		n.WaterComingIn = *water
	} else if f.Text("water_coming_in") == "" {
		f.Refuse("water_coming_in", "ask the caller, and choose yes or no")
	}
	kind, number, _ := strings.Cut(f.Text("place"), ":")
	if id, err := strconv.ParseInt(number, 10, 64); kind != "" && err == nil && id > 0 && kind == "house" {
		n.HouseID, n.AddressGiven = &id, ""
	} else if kind != "" && err == nil && id > 0 && kind == "callback" {
		n.JoinTo = &id
	} else if kind != "" {
		f.Refuse("place", "is not in the list")
	}
	err := f.Err()
	var c *models.Callback
	if err == nil {
		c, err = s.service.TakeCall(r.Context(), r.Actor, n)
	}
	if err != nil {
		p, unread := s.callPage(r, said)
		if unread != nil {
			return unread
		}
		return r.Refused(p, p.Form, err)
	}
	done := views.Say("call.joined", "ref", c.Ref)
	if n.JoinTo == nil && c.RingBackBy != nil {
		done = views.Say("call.done", "ref", c.Ref, "by", *c.RingBackBy)
	}
	return r.Redirect(callbackURL(c.ID), done)
}

// callbackPage makes a callback's own page from what is kept now. Where looks
// for its house.
func (s *Server) callbackPage(r *Request, where string) (*views.CallbackPage, *service.CallbackFile, error) {
	id, err := r.ID("id")
	if err != nil {
		return nil, nil, err
	}
	f, err := s.service.Callback(r.Context(), r.Actor, id)
	if err != nil {
		return nil, nil, err
	}
	c := &f.Callback
	here := callbackURL(id)
	p := &views.CallbackPage{Frame: r.Frame(views.Callbacks), Phone: c.Phone}
	open := c.Open()
	p.Title = views.Say("callback.title", "ref", c.Ref)
	if next := aheadSentence(r, f); !next.IsZero() {
		p.Opening = append(p.Opening, next)
	}
	if c.State == "to_look" && !c.LookedOn.IsZero() {
		p.Opening = append(p.Opening, views.Say("callback.is.looked", "day", c.LookedOn))
	} else {
		p.Opening = append(p.Opening, views.Term("callback_is", c.State))
	}
	switch {
	case c.Wet() && f.Ahead.Do != "cover":
		p.Opening = append(p.Opening, views.Say("callback.is.wet"))
	case c.WaterComingIn && !c.CoveredOn.IsZero() && open && c.State != "repaired":
		p.Opening = append(p.Opening, views.Say("callback.is.covered", "day", c.CoveredOn))
	}
	if f.Late && f.Ahead.Do != "ring_back" {
		p.Opening = append(p.Opening, views.Say("callback.is.late", "by", *c.RingBackBy).Link("ring-back", "#ring-back"))
	}
	if c.WaitingOn != "" && open && f.Ahead.Do != "wait" {
		p.Opening = append(p.Opening, views.Say("callback.is.waiting", "waits", waits(c)))
	}
	for _, back := range f.Returns {
		p.Opening = append(p.Opening, views.Say("callback.is.back", "ref", back.Ref, "day", back.LearnedOn).Link("return", callbackURL(back.ID)))
	}
	p.Water = c.Wet() && r.Actor.May(service.TakeCalls)
	p.Where, p.Facts = callbackFacts(r, f)
	p.Story = callbackStory(f, r.Settings.Branch.Location())
	if r.Actor.May(service.TakeCalls) && open && c.RungBackAt == nil {
		p.Tried = p.Frame.Form("tried", here+"/ring-back", views.Say("callback.tried"), views.Field{Name: "reached", Kind: views.Hidden, Value: "no"})
		p.Got = p.Frame.Form("got", here+"/ring-back", views.Say("callback.got"), views.Field{Name: "reached", Kind: views.Hidden, Value: "yes"})
		p.Tried.Plain, p.Got.Plain = true, true
	}
	p.Climb = open && c.State != "repaired"
	p.Times = timesTable(r, f)
	if open && r.Actor.May(service.AddFindings) {
		p.OnRoof, p.Goer = views.OnRoofForm(p.Frame, here+"/roof", c, slopeOptions(f.Roof)), !r.Actor.May(service.TakeCalls)
		p.There = slices.Contains([]string{"cover", "look", "repair"}, f.Ahead.Do) || p.Goer && c.State != "repaired"
	}
	if !p.Goer {
		p.Where, p.Facts = nil, append(p.Where, p.Facts...)
	}
	if (!open || c.State == "repaired") && r.Actor.May(service.TakeCalls) {
		p.Again = views.AgainForm(p.Frame, here+"/return")
	}
	if r.Actor.May(service.EditCallbacks) {
		choices, err := s.stepChoices(r, f)
		if err != nil {
			return nil, nil, err
		}
		p.Step = views.StepForm(p.Frame, here, c, choices)
		var earlier []views.Option
		if f.Roof != nil {
			for _, e := range f.Roof.Callbacks {
				if e.ID != c.ID && e.LearnedOn <= c.LearnedOn {
					earlier = append(earlier, views.Option{Value: strconv.FormatInt(e.ID, 10), Label: views.Say("callback.returnof.day", "ref", e.Ref, "day", e.LearnedOn)})
				}
			}
		}
		p.Said = views.SaidForm(p.Frame, here, c, earlier)
		if c.HouseID == nil {
			if err := s.findHouse(r, p, c, here, where); err != nil {
				return nil, nil, err
			}
		}
	}
	if r.Actor.May(service.SeeVisits) {
		p.Looks = looksTable(f)
		if open && f.Roof != nil && (r.Actor.May(service.BookVisits) || r.Actor.May(service.AddFindings)) {
			p.Visit = fmt.Sprintf("%s/visits/new?callback=%d", roofURL(f.Roof.Roof.ID), id)
		}
	}
	if r.Actor.May(service.SeeMoney) || r.Actor.May(service.EditCosts) {
		p.Costs, p.Total = costsTable(f, r.Actor.May(service.EditCosts)), f.Cost
		if len(f.Borne) > 0 {
			p.Borne = borneTable(f.Borne)
		}
		if len(f.Claims) > 0 {
			p.Claims = claimsOfCallback(f.Claims)
		}
	}
	if r.Actor.May(service.EditCosts) {
		p.Cost = views.CostForm(p.Frame, here+"/costs")
		p.Settle = f.Ahead.Do == "settle"
		if p.Settle || slices.ContainsFunc(f.Costs, func(l models.CostLine) bool { return l.PaidOn.IsZero() }) {
			p.Paid = views.PaidForm(p.Frame, here+"/paid")
		}
		p.Claim = views.NewClaimForm(p.Frame, here+"/claims", newClaim(f))
	}
	p.History, err = changesOf(f.Trail, callbackValue)
	return p, f, err
}

// housesFound says how many houses a search found, which gives no more than some.
func housesFound(n int) views.Phrase {
	if n == service.MostHits {
		return views.Say("call.found.most", "count", n)
	}
	return views.Say("call.found", "count", n)
}

// findHouse fills the part of the page that looks for the house: by what is
// typed, or at first by the address as it was said.
func (s *Server) findHouse(r *Request, p *views.CallbackPage, c *models.Callback, here, where string) error {
	where = cmp.Or(where, c.AddressGiven)
	p.Find = views.FindForm(p.Frame, here, where)
	if where == "" {
		return nil
	}
	hits, err := s.service.Search(r.Context(), r.Actor, where)
	if err != nil {
		return err
	}
	p.Found = housesFound(len(hits))
	var options []views.Option
	for _, h := range hits {
		options = append(options, views.Option{Value: strconv.FormatInt(h.HouseID, 10), Label: houseLabel(h)})
	}
	if options != nil {
		p.House = views.ChosenHouseForm(p.Frame, here+"/house", c.Version, options)
	}
	return nil
}

// promiseThen says how the promise stood on the day of the fault, and what the
// owner had declined.
func promiseThen(f *service.CallbackFile) views.Phrase {
	res := &f.Promise.Result
	stands := views.Term("promise_state", res.State)
	if f.Promise.InForce() {
		stands = views.Say("promise.standsat", "state", stands, "share", views.PromiseShare(res.ShareLeast, res.Share))
	}
	said := []views.Phrase{views.Say("callback.promise.then", "day", cmp.Or(f.Callback.HappenedOn, f.Callback.LearnedOn), "stands", stands)}
	for _, reason := range res.Reasons {
		if reason.Code == "declined" {
			said = append(said, views.Say("callback.promise.leftout", "what", views.PromiseReason(reason.Code, reason.On, reason.Number, reason.Text)))
		}
	}
	return sentences(said)
}

// callbackFacts tells what is known of a callback: first what whoever goes there
// has to know, then the rest.
func callbackFacts(r *Request, f *service.CallbackFile) (there, facts []views.Fact) {
	c := &f.Callback
	roof := views.Fact{Term: views.Say("promise.roof"), Value: views.Say("callback.where.later")}
	if c.HouseID != nil || c.AddressGiven != "" {
		roof.Value = f.Address
		if c.HouseID == nil {
			roof.Note = views.Say("callback.where.later")
		}
	}
	if f.Roof != nil {
		roof.URL, roof.Note = fmt.Sprintf("/roofs/%d", f.Roof.Roof.ID), views.Plain(f.Roof.Roof.Ref)
	}
	there = append(there, roof)
	if c.About != "" {
		there = append(there, views.Fact{Term: views.Say("callback.about"), Value: c.About})
	}
	for _, known := range []struct{ term, value views.Phrase }{
		{views.Say("callback.cause.found"), views.Term("cause", c.CauseFound)},
		{views.Say("callback.place"), views.Place(c.Place)},
		{views.Say("callback.accepted.for"), views.Plain(c.AcceptedFor)},
		{views.Say("callback.relaid"), views.Relaid(c, relaidSlope(c, f.Roof))},
	} {
		if !known.value.IsZero() {
			there = append(there, views.Fact{Term: known.term, Value: known.value})
		}
	}
	if r.Actor.May(service.SeeContacts) && (c.Caller != "" || c.Phone != "") {
		facts = append(facts, views.Fact{Term: views.Say("callback.caller"), Value: cmp.Or(c.Caller, c.Phone), Phone: c.Phone})
	}
	add := func(term views.Phrase, value any) { facts = append(facts, views.Fact{Term: term, Value: value}) }
	add(views.Say("callback.happened"), c.HappenedOn)
	add(views.Say("callback.learned"), c.LearnedOn)
	if c.RungBackAt != nil {
		add(views.Say("callback.ringback"), views.Say("callback.rungback", "at", *c.RungBackAt))
	} else if c.RingBackBy != nil {
		add(views.Say("callback.ringbackby"), *c.RingBackBy)
	}
	add(views.Say("callback.attempts"), c.Attempts)
	if c.WarrantyID != nil && r.Actor.May(service.SeePromises) {
		said := views.Fact{Term: views.Say("callback.promise"), Value: views.Say("callback.promise.is"), URL: fmt.Sprintf("/promises/%d", *c.WarrantyID)}
		if f.Promise != nil {
			said.Value = f.Promise.Terms.Name
			said.Note = promiseThen(f)
		}
		facts = append(facts, said)
	}
	for _, known := range []struct{ term, value views.Phrase }{
		{views.Say("callback.waiting"), waitingTerm(c)},
		{views.Say("callback.cause.reported"), views.Term("cause", c.CauseReported)},
		{views.Say("callback.bearer"), views.Term("bearer", c.Bearer)},
	} {
		if !known.value.IsZero() {
			add(known.term, known.value)
		}
	}
	if f.Job != nil {
		job := views.Fact{Term: views.Say("callback.job"), Value: f.Job.Ref}
		if !f.Job.ClosedOn.IsZero() {
			job.Note = views.Say("callback.job.closed", "day", f.Job.ClosedOn)
		}
		facts = append(facts, job)
	}
	if f.Crew != nil {
		crew := views.Fact{Term: views.Say("callback.crew"), Value: f.Crew.Name}
		if len(f.People) > 0 {
			crew.Note = views.Plain(strings.Join(f.People, ", "))
		}
		facts = append(facts, crew)
	}
	for _, l := range f.Lots {
		if c.LotID != nil && l.ID == *c.LotID {
			add(views.Say("callback.lot"), l.Number)
		}
	}
	for _, sub := range f.Subcontracts {
		if c.SubcontractID != nil && sub.ID == *c.SubcontractID {
			facts = append(facts, views.Fact{Term: views.Say("callback.subcontract"), Value: sub.Who, Note: views.Plain(sub.Part)})
		}
	}
	if c.DetailID != nil && f.Roof != nil {
		for _, d := range f.Roof.Details {
			if d.ID == *c.DetailID {
				add(views.Say("callback.detail"), d.Name)
			}
		}
	}
	if c.ReturnOf != nil {
		of := views.Fact{Term: views.Say("callback.returnof"), Value: fmt.Sprint(*c.ReturnOf), URL: callbackURL(*c.ReturnOf)}
		if f.Roof != nil {
			for _, e := range f.Roof.Callbacks {
				if e.ID == *c.ReturnOf {
					of.Value = views.Say("callback.returnof.day", "ref", e.Ref, "day", e.LearnedOn)
				}
			}
		}
		facts = append(facts, of)
	}
	if c.Notes != "" {
		there = append(there, views.Fact{Term: views.Say("callback.notes"), Value: c.Notes})
	}
	return there, facts
}

func waitingTerm(c *models.Callback) views.Phrase {
	if c.WaitingOn == "" || c.WaitingSince.IsZero() {
		return views.Term("waiting", c.WaitingOn)
	}
	return views.Say("callback.since", "what", views.Term("waiting", c.WaitingOn), "since", c.WaitingSince)
}

// callbackStory tells what happened in the order of time, the newest first. What
// is kept as a step says who wrote it down, and when we learned of it where that
// was later. Of one day, what was written down on that day stands by its moment;
// of the rest only the day is known, and it stands in the order of the course.
func callbackStory(f *service.CallbackFile, zone *time.Location) []views.Event {
	c := &f.Callback
	type step struct {
		on    units.Date
		after time.Duration // midnight
		kept  int64         // the number of the step, in the order of writing
		event views.Event
	}
	var steps []step
	within := func(d units.Date, at time.Time) (time.Duration, bool) {
		at = at.In(zone)
		if units.NewDate(at.Year(), at.Month(), at.Day()) != d {
			return 0, false
		}
		return time.Duration(at.Hour())*time.Hour + time.Duration(at.Minute())*time.Minute + time.Duration(at.Second())*time.Second, true
	}
	course := time.Duration(0) // how far the course is, where no moment is known
	told := map[int64]bool{}
	on := func(d units.Date, what views.Phrase, kinds ...string) {
		course++
		if d.IsZero() {
			return
		}
		s := step{on: d, after: course, event: views.Event{On: d, What: what}}
		for i := range f.Steps {
			if kept := &f.Steps[i]; kept.On == d && slices.Contains(kinds, kept.Kind) {
				told[kept.ID], s.kept = true, kept.ID
				s.event.Who, s.event.Detail = kept.ByName, learnedLater(kept)
				if at, known := within(d, kept.CreatedAt); known {
					s.after = at
				}
			}
		}
		steps = append(steps, s)
	}
	moment := func(t time.Time, event views.Event) {
		local := t.In(zone)
		d := units.NewDate(local.Year(), local.Month(), local.Day())
		event.On = t
		after, _ := within(d, t)
		steps = append(steps, step{on: d, after: after, event: event})
	}
	on(c.HappenedOn, views.Say("callback.story.happened"))
	on(c.LearnedOn, views.Say("callback.story.learned"))
	for _, call := range f.Calls {
		what := views.Say("callback.story.somebody")
		if call.Caller != "" && call.Caller != "not said" {
			what = views.Say("callback.story.rang", "caller", call.Caller)
		}
		moment(call.RangAt, views.Event{What: what, Detail: views.Plain(call.About)})
	}
	if c.RungBackAt != nil {
		event := views.Event{What: views.Say("callback.story.reached")}
		for i := range f.Steps {
			kept := &f.Steps[i]
			_, known := within(kept.On, kept.CreatedAt) // not of one that was read in later
			_, then := within(kept.On, *c.RungBackAt)
			if kept.Kind == "reached" && (kept.CreatedAt.Sub(*c.RungBackAt).Abs() < time.Minute || then && !known) {
				told[kept.ID], event.Who = true, kept.ByName
			}
		}
		moment(*c.RungBackAt, event)
	}
	on(c.CoveredOn, views.Say("callback.story.covered"), "covered")
	on(c.LookedOn, views.Say("callback.story.looked"), "looked")
	switch {
	case c.RefusedBecause != "" && (c.State == "refused" || c.State == "closed" && c.RepairedOn.IsZero()):
		on(c.DecidedOn, views.Say("callback.story.refused", "reason", c.RefusedBecause), "refused")
	case c.State == "accepted" || c.State == "repaired" || !c.RepairedOn.IsZero():
		on(c.DecidedOn, views.Say("callback.story.accepted"), "accepted")
	default:
		on(c.DecidedOn, views.Say("callback.story.decided"), "accepted", "refused")
	}
	course += time.Duration(len(f.Steps)) // the steps below lie between
	on(c.RepairedOn, views.Say("callback.story.repaired"), "repaired")
	on(c.PaidOn, views.Say("callback.story.paid"), "paid")
	on(c.ClosedOn, views.Say("callback.story.closed"), "closed")
	for i := range f.Steps {
		kept := &f.Steps[i]
		if told[kept.ID] || kept.ClaimID != nil && f.Claims == nil {
			continue
		}
		s := step{kept.On, 6 + time.Duration(i), kept.ID, stepEvent(kept)}
		if at, known := within(kept.On, kept.CreatedAt); known {
			s.after = at
		}
		steps = append(steps, s)
	}
	slices.SortStableFunc(steps, func(a, b step) int {
		return cmp.Or(cmp.Compare(a.on, b.on), cmp.Compare(a.after, b.after), cmp.Compare(a.kept, b.kept))
	})
	slices.Reverse(steps)
	events := make([]views.Event, len(steps))
	for i := range steps {
		events[i] = steps[i].event
	}
	return events
}

// stepEvent tells a step that is kept.
func stepEvent(kept *models.CallbackStep) views.Event {
	what := views.Term("callback_step", kept.Kind)
	switch kept.Kind {
	case "waits":
		what = views.Say("callback_step.waits", "on", views.Term("waiting", kept.Note))
	case "goes_on":
		what = views.Say("callback_step.goes_on", "on", views.Term("waiting", kept.Note))
	case "claim_answered":
		what = views.Say("callback_step.claim_answered", "answer", views.Term("claim_answer", kept.Note))
	}
	return views.Event{On: kept.On, Who: kept.ByName, What: what, Detail: learnedLater(kept)}
}

func learnedLater(kept *models.CallbackStep) views.Phrase {
	if kept.LearnedOn == kept.On {
		return views.Phrase{}
	}
	return views.Say("callback.story.later", "day", kept.LearnedOn)
}

// timesTable holds what was done against what we promised: rung back, looked
// and repaired.
func timesTable(r *Request, f *service.CallbackFile) *views.Table {
	c := &f.Callback
	t := &views.Table{ID: "times", Stacks: true, Caption: views.Say("callback.times"), Columns: []views.Column{{Head: views.Say("callback.times.what")},
		{Head: views.Say("callback.times.by")}, {Head: views.Say("callback.times.done")}, {Head: views.Say("callback.times.kept")}}}
	row := func(what views.Phrase, by, done any, late, over bool) {
		kept := views.Say("callback.times.kept.yes")
		switch {
		case late:
			kept = views.Say("callback.times.kept.no")
		case !over:
			kept = views.Say("callback.times.kept.open")
		}
		if done == nil {
			done = views.Say("callback.rungback.none")
		}
		t.Rows = append(t.Rows, views.NewRow(what, by, done, kept))
	}
	if c.RingBackBy != nil {
		if c.RungBackAt != nil {
			row(views.Say("callback.times.ringback"), *c.RingBackBy, *c.RungBackAt, c.RungBackAt.After(*c.RingBackBy), true)
		} else {
			row(views.Say("callback.times.ringback"), *c.RingBackBy, nil, f.Late, false)
		}
	}
	day := func(what views.Phrase, by, done units.Date, asked bool) {
		if by.IsZero() || done.IsZero() && !asked {
			return
		}
		if done.IsZero() {
			row(what, by, nil, by < r.Today, false)
		} else {
			row(what, by, done, done > by, true)
		}
	}
	day(views.Say("callback.times.look"), c.LookBy, c.LookedOn, c.Open())
	day(views.Say("callback.times.repair"), c.RepairBy, c.RepairedOn, c.State == "accepted")
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

// stepChoices are what a callback can be tied to.
func (s *Server) stepChoices(r *Request, f *service.CallbackFile) (views.StepChoices, error) {
	var out views.StepChoices
	crews, err := s.service.CrewNames(r.Context(), r.Actor)
	if err != nil {
		return out, err
	}
	option := func(id int64, label string) views.Option {
		return views.Option{Value: strconv.FormatInt(id, 10), Label: views.Plain(label)}
	}
	for _, crew := range crews {
		out.Crews = append(out.Crews, option(crew.ID, crew.Name))
	}
	for _, l := range f.Lots {
		out.Lots = append(out.Lots, option(l.ID, l.Number))
	}
	for _, sub := range f.Subcontracts {
		out.Subcontracts = append(out.Subcontracts, option(sub.ID, sub.Who+", "+sub.Part))
	}
	out.Slopes = slopeOptions(f.Roof)
	if f.Roof != nil {
		jobs := f.Roof.Jobs
		if f.Job != nil && !slices.ContainsFunc(jobs, func(j models.Job) bool { return j.ID == f.Job.ID }) {
			jobs = append([]models.Job{*f.Job}, jobs...)
		}
		for _, j := range jobs {
			out.Jobs = append(out.Jobs, option(j.ID, strings.Join(slices.DeleteFunc([]string{j.Ref, j.Part}, func(v string) bool { return v == "" }), ", ")))
		}
		for _, d := range f.Roof.Details {
			out.Details = append(out.Details, option(d.ID, d.Name))
		}
	}
	return out, nil
}

// slopeOptions are the slopes of a roof that stand; none where it is not known.
func slopeOptions(f *models.RoofFile) (out []views.Option) {
	if f == nil {
		return nil
	}
	for _, s := range f.Slopes {
		if s.EndedOn.IsZero() {
			out = append(out, views.Option{Value: strconv.FormatInt(s.ID, 10), Label: views.Plain(s.Name)})
		}
	}
	return out
}

// relaidSlope is the name of the slope that a callback's repair laid anew.
func relaidSlope(c *models.Callback, f *models.RoofFile) string {
	if c.RelaidSlopeID == nil || f == nil {
		return ""
	}
	return slopeNames(f)[strconv.FormatInt(*c.RelaidSlopeID, 10)]
}

// looksTable lists the visits that were made for a callback, with what each saw.
func looksTable(f *service.CallbackFile) *views.Table {
	t := &views.Table{ID: "looks", Stacks: true, Caption: views.Say("callback.looks"), Empty: views.Say("callback.looks.none"),
		Columns: []views.Column{{Head: views.Say("callback.looks.purpose")}, {Head: views.Say("callback.looks.day")}, {Head: views.Say("callback.looks.by")}, {Head: views.Say("callback.looks.found")}}}
	for _, v := range f.Visits {
		var found []views.Phrase
		for _, x := range f.Findings[v.ID] {
			if x.Look != "seen" || x.Severity == nil {
				continue
			}
			where := views.Say("visit.slope.all")
			if x.SlopeID != nil {
				where = views.Plain(f.Slopes[*x.SlopeID])
			}
			found = append(found, views.Say("callback.looks.finding", "defect", views.Term("defect", x.Defect), "severity", views.Term("severity", strconv.Itoa(*x.Severity)), "where", where))
		}
		var saw any = found
		switch {
		case found != nil:
		case v.DoneOn.IsZero():
			saw = views.Phrase{}
		case f.Kept[v.ID]:
			saw = views.Say("callback.looks.kept")
		case len(f.Findings[v.ID]) > 0:
			saw = views.Say("callback.looks.nothing")
		default:
			saw = views.Say("callback.looks.unsaid")
		}
		if v.Notes != "" && !v.DoneOn.IsZero() {
			saw = views.Cell{Value: saw, Note: views.Plain(v.Notes)}
		}
		day := views.Cell{Value: v.BookedFor, Note: views.Say("callback.looks.booked")}
		switch {
		case !v.DoneOn.IsZero():
			day = views.Cell{Value: v.DoneOn, Note: views.Say("callback.looks.done")}
		case !v.CancelledOn.IsZero() || !v.DeclinedOn.IsZero():
			day.Note = views.Say("callback.looks.off")
		}
		t.Rows = append(t.Rows, views.NewRow(views.Cell{Value: views.Term("purpose", v.Purpose), URL: visitURL(v.ID)}, day, v.ByName, saw))
	}
	return t
}

// costsTable lists the cost lines; the day of one leads to where it is
// corrected, for those who may and while it stands.
func costsTable(f *service.CallbackFile, edits bool) *views.Table {
	t := &views.Table{ID: "costs", Stacks: true, Caption: views.Say("callback.costs"), Empty: views.Say("callback.costs.none"),
		Columns: []views.Column{{Head: views.Say("callback.cost.kind")}, {Head: views.Say("callback.cost.on")}, {Head: views.Say("callback.cost.hours"), Numeric: true},
			{Head: views.Say("callback.cost.amount"), Numeric: true}, {Head: views.Say("callback.cost.tax"), Numeric: true},
			{Head: views.Say("callback.cost.bearer")}, {Head: views.Say("callback.cost.paid")}, {Head: views.Say("callback.cost.note")}}}
	corrected := map[int64]bool{}
	for _, l := range f.Costs {
		if l.Corrects != nil {
			corrected[*l.Corrects] = true
		}
	}
	for _, l := range f.Costs {
		hours, tax := "", any("")
		if l.Hours != nil {
			hours = strings.Replace(strconv.FormatFloat(*l.Hours, 'g', 6, 64), "-", "−", 1)
		}
		if l.Tax != 0 {
			tax = views.Cents(l.Tax)
		}
		kind, on := views.Cell{Value: views.Term("cost_kind", l.Kind)}, views.Cell{Value: l.On}
		switch {
		case l.Reverses():
			kind.Note = views.Say("callback.cost.reverses")
		case corrected[l.ID]:
			kind.Note = views.Say("callback.cost.corrected")
		case l.Corrects != nil:
			kind.Note = views.Say("callback.cost.anew")
		}
		if l.LearnedOn != l.On {
			on.Note = views.Say("callback.cost.learned", "day", l.LearnedOn)
		}
		if edits && !l.Reverses() && !corrected[l.ID] {
			kind.URL = fmt.Sprintf("%s/costs/%d", callbackURL(l.CallbackID), l.ID)
		}
		bearer := views.Term("bearer", cmp.Or(l.Bearer, f.Callback.Bearer))
		if bearer.IsZero() {
			bearer = views.Say("unknown")
		}
		var paid any = l.PaidOn
		if l.PaidOn.IsZero() {
			paid = views.Say("callback.rungback.none")
		}
		t.Rows = append(t.Rows, views.NewRow(kind, on, hours, views.Cents(l.Amount), tax, bearer, paid, l.Note))
	}
	return t
}

// borneTable says who bears what of the cost.
func borneTable(borne []models.Borne) *views.Table {
	t := &views.Table{ID: "borne", Stacks: true, Caption: views.Say("callback.borne"), Columns: []views.Column{{Head: views.Say("callback.borne.who")},
		{Head: views.Say("callback.cost"), Numeric: true}, {Head: views.Say("callback.borne.back"), Numeric: true}, {Head: views.Say("callback.borne.left"), Numeric: true}}}
	for _, b := range borne {
		who := views.Term("bearer", b.Bearer)
		if b.Bearer == "" {
			who = views.Say("callback.borne.nobody")
		}
		left := views.Cell{Value: views.Cents(b.Left())}
		if b.Left() < 0 {
			left.Note = views.Say("callback.borne.over")
		}
		t.Rows = append(t.Rows, views.NewRow(who, views.Cents(b.Cost), views.Cents(b.Back), left))
	}
	return t
}

// callbackValue words what a column of a callback holds.
func callbackValue(column, text string) views.Phrase {
	switch column {
	case "state":
		return views.Term("callback_state", text)
	case "waiting_on":
		return views.Term("waiting", text)
	case "cause_reported", "cause_found":
		return views.Term("cause", text)
	case "place":
		return views.Place(text)
	case "bearer":
		return views.Term("bearer", text)
	case "relaid":
		return views.Term("relaid", text)
	}
	return views.Phrase{}
}

func (s *Server) showCallback(r *Request) error {
	p, _, err := s.callbackPage(r, r.Query("where"))
	if err != nil {
		return err
	}
	return r.Render(*p)
}

// readCallback takes over those fields of a callback that the form has.
func readCallback(f *Form, c *models.Callback) {
	c.Version = f.Version()
	for name, text := range map[string]*string{"state": &c.State, "waiting_on": &c.WaitingOn, "cause_found": &c.CauseFound, "place": &c.Place,
		"refused_because": &c.RefusedBecause, "bearer": &c.Bearer, "caller": &c.Caller, "phone": &c.Phone, "address_given": &c.AddressGiven,
		"about": &c.About, "cause_reported": &c.CauseReported, "notes": &c.Notes, "accepted_for": &c.AcceptedFor, "relaid": &c.Relaid} {
		if f.Has(name) {
			*text = f.Text(name)
		}
	}
	for name, on := range map[string]*units.Date{"covered_on": &c.CoveredOn, "looked_on": &c.LookedOn, "decided_on": &c.DecidedOn,
		"repaired_on": &c.RepairedOn, "closed_on": &c.ClosedOn, "happened_on": &c.HappenedOn, "learned_on": &c.LearnedOn, "paid_on": &c.PaidOn} {
		if f.Has(name) {
			*on = f.Day(name)
		}
	}
	for name, id := range map[string]**int64{"job_id": &c.JobID, "crew_id": &c.CrewID, "lot_id": &c.LotID, "subcontract_id": &c.SubcontractID, "detail_id": &c.DetailID,
		"relaid_slope_id": &c.RelaidSlopeID} {
		if f.Has(name) {
			*id = f.ID(name)
		}
	}
	// What is left as it was shown is kept to its last digit.
	if f.Has("relaid_area") && f.Text("relaid_area") != views.RelaidAreaText(f.system, c) {
		c.RelaidArea = f.Area("relaid_area", units.SquareFoot, units.SquareMetre)
	}
	if water := f.YesNo("water_coming_in"); water != nil {
		c.WaterComingIn = *water
	}
	if f.Has("return_of") {
		if c.ReturnOf = f.ID("return_of"); c.ReturnOf != nil && *c.ReturnOf == c.ID {
			f.Refuse("return_of", "cannot be the return of itself")
		}
	}
}

func (s *Server) changeCallback(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	file, err := s.service.Callback(r.Context(), r.Actor, id)
	if err != nil {
		return err
	}
	c, f := &file.Callback, r.Form()
	readCallback(f, c)
	if err = f.Err(); err == nil {
		err = s.service.ChangeCallback(r.Context(), r.Actor, c)
	}
	if err != nil {
		return s.refuseCallback(r, err, func(p *views.CallbackPage) *views.Form {
			if f.Text("form") == "said" {
				return p.Said
			}
			return p.Step
		})
	}
	return r.Redirect(callbackURL(id), views.Say("callback.saved", "ref", c.Ref))
}

// refuseCallback shows the callback's page again with the refused form in it.
func (s *Server) refuseCallback(r *Request, err error, form func(*views.CallbackPage) *views.Form) error {
	p, _, unread := s.callbackPage(r, "")
	if unread != nil {
		return unread
	}
	if f := form(p); f != nil {
		return r.Refused(*p, f, err)
	}
	return err
}

func (s *Server) ringBack(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	f := r.Form()
	reached := f.YesNo("reached")
	if err := f.Err(); err != nil {
		return err
	}
	if reached == nil {
		return models.FieldErrorf("reached", "", "say whether somebody answered")
	}
	if err := s.service.RingBack(r.Context(), r.Actor, id, *reached); err != nil {
		return err
	}
	done := views.Say("callback.tried.done")
	if *reached {
		done = views.Say("callback.got.done")
	}
	return r.Redirect(callbackURL(id), done)
}

func (s *Server) chooseHouse(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	file, err := s.service.Callback(r.Context(), r.Actor, id)
	if err != nil {
		return err
	}
	c, f := &file.Callback, r.Form()
	c.Version = f.Version()
	if house := f.ID("house_id"); house != nil {
		c.HouseID = house
	} else if f.Text("house_id") == "" {
		f.Refuse("house_id", "choose one of the houses")
	}
	if err = f.Err(); err == nil {
		err = s.service.ChangeCallback(r.Context(), r.Actor, c)
	}
	if err != nil {
		return s.refuseCallback(r, err, func(p *views.CallbackPage) *views.Form { return p.House })
	}
	return r.Redirect(callbackURL(id), views.Say("callback.house.done"))
}

// readCost reads a cost line from a form. What is left empty stays empty, and is
// worked out by the service.
func readCost(f *Form) service.NewCost {
	n := service.NewCost{Line: models.CostLine{On: f.Day("on"), Kind: f.Text("kind"), Hours: f.Number("hours"), Bearer: f.Text("bearer"),
		PaidOn: f.Day("paid_on"), Note: f.Text("note")}}
	n.Amount, n.Tax = f.Money("amount"), f.Money("tax")
	// What came back is typed as an amount like any other.
	for _, m := range []*units.Money{n.Amount, n.Tax} {
		if m != nil && *m > 0 && n.Line.Lowers() {
			*m = -*m
		}
	}
	return n
}

func (s *Server) addCost(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	f := r.Form()
	cost := readCost(f)
	cost.Line.CallbackID = id
	if err = f.Err(); err == nil {
		err = s.service.AddCost(r.Context(), r.Actor, &cost)
	}
	if err != nil {
		return s.refuseCallback(r, err, func(p *views.CallbackPage) *views.Form { return p.Cost })
	}
	return r.Redirect(callbackURL(id), views.Say("callback.cost.added"))
}

func (s *Server) settleCosts(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	f := r.Form()
	on := f.Day("paid_on")
	if err = f.Err(); err == nil {
		err = s.service.SettleCosts(r.Context(), r.Actor, id, on)
	}
	if err != nil {
		return s.refuseCallback(r, err, func(p *views.CallbackPage) *views.Form { return p.Paid })
	}
	return r.Redirect(callbackURL(id), views.Say("callback.paid.done"))
}

// costPage makes the page on which a cost line is corrected.
func (s *Server) costPage(r *Request) (*views.CostPage, *models.CostLine, error) {
	id, err := r.ID("id")
	if err != nil {
		return nil, nil, err
	}
	number, err := r.ID("line")
	if err != nil {
		return nil, nil, err
	}
	line, corrected, err := s.service.CostLine(r.Context(), r.Actor, id, number)
	if err != nil {
		return nil, nil, err
	}
	back := callbackURL(id)
	p := &views.CostPage{Frame: r.Frame(views.Callbacks)}
	p.Title = views.Say("callback.correct.title")
	p.Facts = []views.Fact{{Term: views.Say("callback.cost.kind"), Value: views.Term("cost_kind", line.Kind), URL: back}, {Term: views.Say("callback.cost.on"), Value: line.On},
		{Term: views.Say("callback.cost.amount"), Value: views.Cents(line.Amount)}, {Term: views.Say("callback.cost.tax"), Value: views.Cents(line.Tax)}}
	p.Opening = []views.Phrase{views.Say("callback.correct.opening")}
	if corrected {
		p.Opening = []views.Phrase{views.Say("callback.correct.already").Link("costs", back+"#costs")}
	} else {
		p.Form = views.CorrectForm(p.Frame, fmt.Sprintf("%s/costs/%d", back, number), back, line)
	}
	return p, line, nil
}

func (s *Server) askCorrection(r *Request) error {
	p, _, err := s.costPage(r)
	if err != nil {
		return err
	}
	return r.Render(*p)
}

func (s *Server) correctCost(r *Request) error {
	p, line, err := s.costPage(r)
	if err != nil {
		return err
	}
	f := r.Form()
	var right *service.NewCost
	if f.Text("how") != "away" {
		read := readCost(f)
		right = &read
	}
	if f.Text("why") == "" {
		f.Refuse("why", "is needed; a few words will do")
	}
	if err = f.Err(); err == nil {
		err = s.service.CorrectCost(r.Context(), r.Actor, line.CallbackID, line.ID, right, f.Text("why"))
	}
	if err != nil && p.Form != nil {
		return r.Refused(*p, p.Form, err)
	}
	if err != nil {
		return err
	}
	return r.Redirect(callbackURL(line.CallbackID), views.Say("callback.correct.done"))
}

func (s *Server) noteOnRoof(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	f := r.Form()
	done := f.Texts("done")
	n := service.OnRoof{On: f.Day("on"), Looked: slices.Contains(done, "looked"), Covered: slices.Contains(done, "covered"), Repaired: slices.Contains(done, "repaired"),
		CauseFound: f.Text("cause_found"), Place: f.Text("place"), Hours: f.Number("hours"), Note: f.Text("note"),
		Relaid: f.Text("relaid"), RelaidSlopeID: f.ID("relaid_slope_id"), RelaidArea: f.Area("relaid_area", units.SquareFoot, units.SquareMetre)}
	if err = f.Err(); err == nil {
		err = s.service.NoteOnRoof(r.Context(), r.Actor, id, n)
	}
	if err != nil {
		return s.refuseCallback(r, err, func(p *views.CallbackPage) *views.Form { return p.OnRoof })
	}
	return r.Redirect(callbackURL(id), views.Say("callback.roof.kept"))
}

// takeReturn opens a callback for something that came back.
func (s *Server) takeReturn(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	f := r.Form()
	n := service.NewCall{ReturnOf: &id, About: f.Text("about"), HappenedOn: f.Day("happened_on")}
	if n.About == "" {
		f.Refuse("about", "is needed; a few words will do")
	}
	if water := f.YesNo("water_coming_in"); water != nil {
		n.WaterComingIn = *water
	} else if f.Text("water_coming_in") == "" {
		f.Refuse("water_coming_in", "ask the caller, and choose yes or no")
	}
	err = f.Err()
	var c *models.Callback
	if err == nil {
		c, err = s.service.TakeCall(r.Context(), r.Actor, n)
	}
	if err != nil {
		return s.refuseCallback(r, err, func(p *views.CallbackPage) *views.Form { return p.Again })
	}
	return r.Redirect(callbackURL(c.ID), views.Say("call.done", "ref", c.Ref, "by", *c.RingBackBy))
}
