package server

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strconv"

	"overhang/analytics/neighbours"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) neighbourRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/neighbours", Need: service.SeeNeighbours, Handle: s.listNeighbours},
		{Method: "GET", Path: "/neighbours/walk", Need: service.SeeNeighbours, Handle: s.showWalk},
		{Method: "GET", Path: "/neighbours/stop-list", Need: service.SeeNeighbours, Handle: s.showStopList},
		{Method: "POST", Path: "/neighbours/stop-list", Need: service.EditStopList, Handle: s.addToStopList},
		{Method: "GET", Path: "/neighbours/:id", Need: service.SeeNeighbours, Example: "/neighbours/2", Handle: s.showNeighbour},
		{Method: "POST", Path: "/neighbours/:id/knocks", Need: service.CallOn, Example: "/neighbours/2/knocks", Handle: s.addKnock},
		{Method: "GET", Path: "/neighbours/:id/stop", Need: service.EditStopList, Example: "/neighbours/2/stop", Handle: s.askStopCalling},
		{Method: "POST", Path: "/neighbours/:id/stop", Need: service.EditStopList, Example: "/neighbours/2/stop", Handle: s.stopCalling},
	}
}

const neighboursPerPage = 25

// doorWithin is how near a house is called next door.
const doorWithin = 30 * units.Metre

// walks are the numbers of houses that a walk may have.
var walks = []int{10, 20, 30, 40, service.MostWalked}

func neighbourFilter(r *Request) service.NeighbourFilter {
	f := service.NeighbourFilter{Neighbourhood: r.Query("neighbourhood"), Street: r.Query("street"), State: r.Query("state"), Only: r.Query("only")}
	f.NearRoof, _ = strconv.ParseInt(r.Query("near"), 10, 64)
	return f
}

// placeFields are the questions that narrow houses to a place.
func placeFields(f service.NeighbourFilter, neighbourhoods []string) []views.Field {
	options := []views.Option{{Value: "", Label: views.Say("neighbours.any")}}
	for _, n := range neighbourhoods {
		options = append(options, views.Option{Value: n, Label: views.Plain(n)})
	}
	fields := []views.Field{
		{Name: "neighbourhood", Kind: views.Choice, Label: views.Say("neighbours.neighbourhood"), Value: f.Neighbourhood, Options: options},
		{Name: "street", Kind: views.Text, Label: views.Say("neighbours.street"), Value: f.Street},
	}
	if f.NearRoof != 0 {
		fields = append(fields, views.Field{Name: "near", Kind: views.Hidden, Value: strconv.FormatInt(f.NearRoof, 10)})
	}
	return fields
}

func houseURL(id int64) string { return fmt.Sprintf("/neighbours/%d", id) }

func roofURL(id int64) string { return fmt.Sprintf("/roofs/%d", id) }

func (s *Server) listNeighbours(r *Request) error {
	f := neighbourFilter(r)
	page := r.Page(neighboursPerPage)
	list, err := s.service.Neighbours(r.ctx, r.Actor, f, page)
	if err != nil {
		return err
	}
	here := r.Here()
	p := views.NeighboursPage{Frame: r.Frame(views.Neighbours)}
	p.Title = views.Say("neighbours.title")
	state := func(name, value string) string {
		only := views.Here{Path: here.Path, Query: url.Values{}}
		for _, kept := range []string{"neighbourhood", "street", "near"} {
			if here.Query.Has(kept) {
				only.Query.Set(kept, here.Query.Get(kept))
			}
		}
		return only.With(name, value)
	}
	p.Opening = []views.Phrase{views.Say("neighbours.opening", "houses", list.Alike).Link("alike", state("only", "alike"))}
	if list.Alike > 0 {
		p.Opening = append(p.Opening, views.Say("neighbours.likely", "houses", list.Likely).Link("likely", state("only", "likely")))
	}
	if list.ComeBack > 0 {
		p.Opening = append(p.Opening, views.Say("neighbours.back", "houses", list.ComeBack).Link("back", state("state", "come_back")))
	}
	if list.WantsALook > 0 {
		p.Opening = append(p.Opening, views.Say("neighbours.look", "houses", list.WantsALook).Link("look", state("state", "wants_a_look")))
	}
	if f.NearRoof != 0 && len(list.Ours) > 0 {
		p.Opening = append(p.Opening, views.Say("neighbours.near", "address", list.Ours[0].Address()).
			Link("roof", roofURL(f.NearRoof)).Link("all", here.With("near", "")))
	}
	p.Ways = views.Say("neighbours.ways", "resting", list.LeftOut.Resting, "stopped", list.LeftOut.Stopped).
		Link("walk", views.Here{Path: "/neighbours/walk", Query: here.Query}.With("sort", "")).Link("stop", "/neighbours/stop-list")

	states := []views.Option{{Value: "", Label: views.Say("neighbours.any")}}
	for _, name := range models.ProspectStates {
		states = append(states, views.Option{Value: name, Label: views.Term("outcome", name)})
	}
	p.Filter = p.Frame.Filter("narrow", "/neighbours", "houses", append(placeFields(f, list.Neighbourhoods),
		views.Field{Name: "only", Kind: views.Choice, Label: views.Say("neighbours.only"), Value: f.Only, Options: []views.Option{
			{Value: "", Label: views.Say("only.all")}, {Value: "alike", Label: views.Say("only.alike")}, {Value: "likely", Label: views.Say("only.likely")}}},
		views.Field{Name: "state", Kind: views.Choice, Label: views.Say("neighbours.state"), Value: f.State, Options: states})...)

	p.Table = views.Table{ID: "houses", Stacks: true, Caption: views.Say("neighbours.caption"), Empty: views.Say("neighbours.empty"), Pager: r.Pager(page, list.Total),
		Columns: []views.Column{{Head: views.Say("neighbours.address")}, {Head: views.Say("neighbours.why")}, {Head: views.Say("neighbours.need")}, {Head: views.Say("neighbours.last")}}}
	for _, row := range list.Rows {
		p.Table.Rows = append(p.Table.Rows, views.NewRow(views.Cell{Value: row.House.Address(), URL: houseURL(row.House.HouseID), Note: views.Plain(row.House.Neighbourhood)},
			shortly(r, row), likelihood(row), lastCall(&row.House)))
	}
	p.Map = neighbourMap("near", list.Rows)
	return r.Render(p)
}

// needKeys are the words for a need, the most pressing first, and the steps that
// a map colours them by. The cuts are our own judgement, no source.
func needKey(row service.NeighbourRow) (key string, step int) {
	switch {
	case row.Kept:
		return "kept", 0
	case !row.NeedKnown:
		return "unknown", 0
	case row.Need >= 0.75:
		return "very", 1
	case row.Likely():
		return "likely", 2
	case row.Need >= 0.2:
		return "perhaps", 3
	}
	return "hardly", 4
}

func likelihood(row service.NeighbourRow) views.Phrase {
	key, _ := needKey(row)
	return views.Term("need", key)
}

func lastCall(h *models.Neighbour) views.Phrase {
	if h.CalledOn.IsZero() {
		return views.Say("neighbours.never")
	}
	return views.Say("neighbours.since", "outcome", views.Term("outcome", h.State), "on", h.CalledOn)
}

// neighbourMap draws houses to call on, in the order given, and the roofs of
// ours that they are compared with.
func neighbourMap(id string, rows []service.NeighbourRow) views.Map {
	m := views.Map{ID: id, Label: views.Say("neighbours.map.label"), Bare: true}
	for i := range rows {
		h := &rows[i].House
		_, step := needKey(rows[i])
		m.Houses = append(m.Houses, views.MapHouse{Lat: &h.Lat, Lon: &h.Lon, Name: h.Address(), URL: houseURL(h.HouseID),
			Said: likelihood(rows[i]), Step: step, Note: lastCall(h)})
	}
	seen := map[int64]bool{}
	for i := range rows {
		o := &rows[i].Near
		if !seen[o.HouseID] {
			seen[o.HouseID] = true
			m.Houses = append(m.Houses, views.MapHouse{Lat: &o.Lat, Lon: &o.Lon, Name: o.Address(), URL: roofURL(*o.RoofID), Said: views.Say("neighbours.map.ours"), Square: true})
		}
	}
	for step, key := range []string{1: "very", 2: "likely", 3: "perhaps", 4: "hardly"} {
		if step > 0 {
			m.Keys = append(m.Keys, views.MapKey{Step: step, Words: views.Term("need", key)})
		}
	}
	m.Keys = append(m.Keys, views.MapKey{Words: views.Say("need.unknown")}, views.MapKey{Square: true, Words: views.Say("neighbours.map.ours")})
	return m
}

// shortly says in a few words why a house has its place: where it stands, who
// built it and when, and what lies on it.
func shortly(r *Request, row service.NeighbourRow) []views.Phrase {
	by := map[string]neighbours.Reason{}
	for _, reason := range row.Reasons {
		by[reason.Code] = reason
	}
	var out []views.Phrase
	for _, code := range []string{"near", "same_plan", "same_builder", "built_about_then", "same_covering_as_taken_off", "same_covering_as_laid"} {
		if reason, found := by[code]; found {
			out = append(out, because(r, row, reason))
		}
	}
	return out
}

// because puts one reason into words. It is the zero Phrase for what speaks
// against a house or is not known, which wordless gathers.
func because(r *Request, row service.NeighbourRow, reason neighbours.Reason) views.Phrase {
	number := func(name string) int {
		switch v := reason.Params[name].(type) {
		case int:
			return v
		case float64:
			return int(v + 0.5)
		}
		return 0
	}
	text := func(name string) string { return fmt.Sprint(reason.Params[name]) }
	if row.Kept && slices.Contains([]string{"estimated", "age_of_roof", "age_of_house"}, reason.Code) {
		return views.Phrase{} // how likely it needs one
	}
	switch reason.Code {
	case "near":
		roof := roofURL(*row.Near.RoofID)
		if row.Distance <= doorWithin {
			return views.Say("why.door", "address", row.Near.Address()).Link("roof", roof)
		}
		return views.Say("why.near", "distance", r.Units.Distance(row.Distance), "address", row.Near.Address()).Link("roof", roof)
	case "same_plan":
		return views.Say("why.plan", "builder", text("builder"))
	case "same_builder":
		return views.Say("why.builder", "builder", text("builder"))
	case "built_about_then":
		year := strconv.Itoa(number("build_year"))
		if apart := number("years_apart"); apart > 0 {
			return views.Say("why.years", "year", year, "apart", apart)
		}
		return views.Say("why.year", "year", year)
	case "same_covering_as_taken_off":
		return views.Say("why.taken", "covering", views.Term("roofing", text("covering")))
	case "same_covering_as_laid":
		return views.Say("why.laid", "covering", views.Term("roofing", text("covering")))
	case "same_neighbourhood":
		return views.Say("why.neighbourhood", "neighbourhood", text("neighbourhood"))
	case "same_storeys":
		return views.Say("why.storeys")
	case "same_cladding":
		return views.Say("why.cladding")
	case "estimated":
		return views.Say("why.estimated", "likely", likelihood(row))
	case "age_of_roof":
		return views.Say("why.roofage", "likely", likelihood(row), "age", number("age_years"), "lasted", number("replaced_at_years"))
	case "age_of_house":
		return views.Say("why.houseage", "likely", likelihood(row), "age", number("age_years"), "lasted", number("replaced_at_years"))
	case "need_not_known":
		return views.Say("why.needunknown")
	}
	return views.Phrase{}
}

// unlike names the comparison of a reason that speaks against a house, or that
// is not known.
var unlike = map[string]string{
	"other_builder": "builder", "builder_not_known": "builder", "built_another_time": "build_year", "build_year_not_known": "build_year",
	"other_covering": "covering", "covering_not_known": "covering", "other_neighbourhood": "neighbourhood", "neighbourhood_not_known": "neighbourhood",
	"other_storeys": "storeys", "storeys_not_known": "storeys", "other_cladding": "cladding", "cladding_not_known": "cladding",
}

// reasons gives every reason of a house, the ones for it first.
func reasons(r *Request, row service.NeighbourRow) []views.Phrase {
	var out, differs, unknown []views.Phrase
	for _, reason := range row.Reasons {
		if words := because(r, row, reason); !words.IsZero() {
			out = append(out, words)
		} else if what := unlike[reason.Code]; what != "" && reason.Known {
			differs = append(differs, views.Term("unlike", what))
		} else if what != "" {
			unknown = append(unknown, views.Term("unlike", what))
		}
	}
	if len(differs) > 0 {
		out = append(out, views.Say("why.unlike", "what", differs))
	}
	if len(unknown) > 0 {
		out = append(out, views.Say("why.unknown", "what", unknown))
	}
	return out
}

func (s *Server) showWalk(r *Request) error {
	f := neighbourFilter(r)
	count, err := strconv.Atoi(r.Query("count"))
	if err != nil {
		count = 20
	}
	count = min(max(count, 1), service.MostWalked)
	list, err := s.service.Walk(r.ctx, r.Actor, f, count)
	if err != nil {
		return err
	}
	p := views.WalkPage{Frame: r.Frame(views.Neighbours)}
	p.Title = views.Say("walk.title")
	p.Opening = []views.Phrase{views.Say("walk.opening", "houses", len(list.Rows), "distance", r.Units.Distance(list.Distance)).
		Link("houses", views.Here{Path: "/neighbours", Query: r.Here().Query}.With("count", ""))}
	if list.Start != nil {
		p.Opening = append(p.Opening, views.Say("walk.start", "address", list.Start.Address()).Link("roof", roofURL(*list.Start.RoofID)))
	}
	options := []views.Option{}
	for _, n := range walks {
		options = append(options, views.Option{Value: strconv.Itoa(n), Label: views.Plain(strconv.Itoa(n))})
	}
	fields := []views.Field{{Name: "count", Kind: views.Choice, Label: views.Say("walk.count"), Value: strconv.Itoa(count), Options: options}}
	fields = append(fields, placeFields(f, list.Neighbourhoods)...)
	for name, value := range map[string]string{"only": f.Only, "state": f.State} {
		if value != "" {
			fields = append(fields, views.Field{Name: name, Kind: views.Hidden, Value: value})
		}
	}
	p.Filter = p.Frame.Filter("narrow", "/neighbours/walk", "", fields...)
	for _, row := range list.Rows {
		p.Stops = append(p.Stops, views.WalkStop{Name: row.House.Address(), URL: houseURL(row.House.HouseID),
			Leg: views.Say("walk.leg", "distance", r.Units.Distance(row.Leg)), Why: shortly(r, row), Last: lastCall(&row.House)})
	}
	p.Map = neighbourMap("walk", list.Rows)
	p.Map.Label, p.Map.Ordered = views.Say("walk.map"), true
	return r.Render(p)
}

func (s *Server) neighbourPage(r *Request) (views.NeighbourPage, *service.NeighbourFile, error) {
	id, err := r.ID("id")
	if err != nil {
		return views.NeighbourPage{}, nil, err
	}
	file, err := s.service.Neighbour(r.ctx, r.Actor, id)
	if err != nil {
		return views.NeighbourPage{}, nil, err
	}
	h := &file.House
	p := views.NeighbourPage{Frame: r.Frame(views.Neighbours)}
	p.Title = views.Plain(h.Address())
	p.Opening = []views.Phrase{views.Say("neighbour.opening", "calls", len(file.Knocks)).Link("calls", "#calls")}
	switch file.LeftOut {
	case "ours":
		p.Opening = append(p.Opening, views.Say("neighbour.left.ours"))
	case "stopped":
		p.Opening = append(p.Opening, views.Say("neighbour.left.stopped"))
	case "resting":
		p.Opening = append(p.Opening, views.Say("neighbour.left.resting", "on", h.NextOn))
	case "far":
		p.Opening = append(p.Opening, views.Say("neighbour.left.far"))
	default:
		if file.Ranked.Kept {
			p.Opening = append(p.Opening, views.Say("neighbour.kept").Link("roof", roofURL(*h.RoofID)+"#years"))
		} else if file.Ranked.NeedKnown {
			p.Opening = append(p.Opening, views.Say("neighbour.likely", "likely", likelihood(*file.Ranked)))
		} else {
			p.Opening = append(p.Opening, views.Say("neighbour.unsure"))
		}
		p.Why = reasons(r, *file.Ranked)
	}
	known := func(text string) any {
		if text == "" {
			return nil
		}
		return text
	}
	built := any(nil)
	if h.BuildYear != nil {
		built = strconv.Itoa(*h.BuildYear)
	}
	covering := any(nil)
	if h.Covering != "" {
		covering = h.Covering
	} else if h.Family != "" {
		covering = views.Term("roofing", h.Family)
	}
	cladding := any(nil)
	if h.Cladding != "" {
		cladding = views.Term("cladding", h.Cladding)
	}
	p.Facts = []views.Fact{
		{Term: views.Say("neighbours.neighbourhood"), Value: known(h.Neighbourhood)},
		{Term: views.Say("neighbour.built"), Value: built},
		{Term: views.Say("neighbour.builder"), Value: known(h.Builder)},
		{Term: views.Say("neighbour.plan"), Value: known(h.Plan)},
		{Term: views.Say("neighbour.covering"), Value: covering},
		{Term: views.Say("neighbour.laid"), Value: units.Dated{On: h.LaidOn, Precision: h.LaidPrecision}},
		{Term: views.Say("neighbour.storeys"), Value: h.Storeys},
		{Term: views.Say("neighbour.cladding"), Value: cladding},
	}
	if file.Ranked != nil {
		near := &file.Ranked.Near
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("neighbour.beside"), Value: near.Address(), URL: roofURL(*near.RoofID)})
		p.Others = views.Say("neighbour.others", "address", near.Address()).Link("near", fmt.Sprintf("/neighbours?near=%d", *near.RoofID))
	}
	if file.LeftOut == "" || file.LeftOut == "resting" {
		next := any(views.Say("neighbour.anytime"))
		if !h.NextOn.IsZero() {
			next = h.NextOn
		}
		p.Facts = append(p.Facts, views.Fact{Term: views.Say("neighbour.next"), Value: next})
	}
	for _, k := range file.Knocks {
		e := views.Event{On: k.At, What: views.Term("outcome", k.Outcome), Detail: views.Plain(k.Note)}
		if k.PersonID != nil {
			e.Who = file.Names[*k.PersonID]
		}
		p.Knocks = append(p.Knocks, e)
	}
	if file.LeftOut == "ours" || file.LeftOut == "stopped" {
		return p, file, nil
	}
	if r.Actor.May(service.CallOn) {
		options := make([]views.Option, 0, len(models.ProspectStates))
		for _, name := range models.ProspectStates[1:] {
			options = append(options, views.Option{Value: name, Label: views.Term("knock", name)})
		}
		p.Knock = p.Frame.Form("knock", houseURL(id)+"/knocks", views.Say("knock.submit"),
			views.Field{Name: "outcome", Kind: views.One, Label: views.Say("knock.outcome"), Options: options},
			views.Field{Name: "next_on", Kind: views.Day, Label: views.Say("knock.next"), Hint: views.Say("knock.next.hint")},
			views.Field{Name: "note", Kind: views.Long, Label: views.Say("knock.note"), Hint: views.Say("knock.note.hint")})
	}
	if r.Actor.May(service.EditStopList) {
		p.Stop = views.Say("neighbour.stop").Link("stop", houseURL(id)+"/stop")
	}
	return p, file, nil
}

func (s *Server) showNeighbour(r *Request) error {
	p, _, err := s.neighbourPage(r)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) addKnock(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	form := r.Form()
	outcome, next := form.Text("outcome"), form.Day("next_on")
	if err = form.Err(); err == nil {
		err = s.service.Knock(r.ctx, r.Actor, id, outcome, form.Text("note"), next)
	}
	p, file, unread := s.neighbourPage(r)
	if unread != nil {
		return cmp.Or(unread, err)
	}
	if err != nil {
		if p.Knock == nil {
			return err // its address is on the stop-list, or the roof is ours
		}
		return r.Refused(p, p.Knock, err)
	}
	return r.Redirect(houseURL(id), views.Say("knock.done", "address", file.House.Address(), "outcome", views.Term("outcome", outcome)))
}

func (s *Server) stopCallingPage(r *Request, id int64) (views.StopCallingPage, string, error) {
	file, err := s.service.Neighbour(r.ctx, r.Actor, id)
	if err != nil {
		return views.StopCallingPage{}, "", err
	}
	p := views.StopCallingPage{Frame: r.Frame(views.Neighbours)}
	p.Title = views.Say("stopcalling.title", "address", file.House.Address())
	p.Form = p.Frame.Form("stop", houseURL(id)+"/stop", views.Say("stopcalling.submit"),
		views.Field{Name: "reason", Kind: views.Text, Label: views.Say("stopcalling.reason")})
	p.Form.Cancel = houseURL(id)
	return p, file.House.Address(), nil
}

func (s *Server) askStopCalling(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	p, _, err := s.stopCallingPage(r, id)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) stopCalling(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	err = s.service.StopHouse(r.ctx, r.Actor, id, r.Form().Text("reason"))
	p, address, unread := s.stopCallingPage(r, id)
	if unread != nil {
		return unread
	}
	if err != nil {
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect("/neighbours/stop-list", views.Say("stopcalling.done", "address", address))
}

func (s *Server) stopListPage(r *Request) (views.StopListPage, error) {
	entries, err := s.service.StopList(r.ctx, r.Actor)
	if err != nil {
		return views.StopListPage{}, err
	}
	p := views.StopListPage{Frame: r.Frame(views.Neighbours)}
	p.Title = views.Say("stoplist.title")
	p.Opening = []views.Phrase{views.Say("stoplist.opening", "addresses", len(entries)).Link("list", "#stopped")}
	p.Table = views.Table{ID: "stopped", Caption: views.Say("stoplist.caption"), Empty: views.Say("stoplist.empty"), Columns: []views.Column{
		{Head: views.Say("stoplist.address")}, {Head: views.Say("stoplist.asked")}, {Head: views.Say("stoplist.reason")}}}
	page := store.Page{Number: r.Page(100).Number, Size: 100}
	offset, limit := page.Bounds()
	for _, e := range entries[min(offset, len(entries)):min(offset+limit, len(entries))] {
		p.Table.Rows = append(p.Table.Rows, views.NewRow(e.Address, e.AskedOn, e.Reason))
	}
	p.Table.Pager = r.Pager(page, len(entries))
	if r.Actor.May(service.EditStopList) {
		p.Form = p.Frame.Form("add", "/neighbours/stop-list", views.Say("stoplist.submit"),
			views.Field{Name: "address", Kind: views.Text, Label: views.Say("stoplist.address"), Hint: views.Say("stoplist.address.hint"), Required: true},
			views.Field{Name: "reason", Kind: views.Text, Label: views.Say("stoplist.reason")})
	}
	return p, nil
}

func (s *Server) showStopList(r *Request) error {
	p, err := s.stopListPage(r)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) addToStopList(r *Request) error {
	form := r.Form()
	if err := s.service.StopCalling(r.ctx, r.Actor, form.Text("address"), form.Text("reason")); err != nil {
		p, unread := s.stopListPage(r)
		if unread != nil {
			return unread
		}
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect("/neighbours/stop-list", views.Say("stopcalling.done", "address", form.Text("address")))
}
