package server

import (
	"math"
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) roofRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/roofs", Need: service.SeeRoofs, Handle: s.listRoofs},
		{Method: "GET", Path: "/roofs/new", Need: service.EditRoofs, Handle: s.newRoof},
		{Method: "POST", Path: "/roofs", Need: service.EditRoofs, Handle: s.addRoof},
		{Method: "GET", Path: "/roofs/:id", Need: service.SeeRoofs, Example: "/roofs/1", Handle: s.showRoof},
		{Method: "GET", Path: "/roofs/:id/edit", Need: service.EditRoofs, Example: "/roofs/1/edit", Handle: s.editRoof},
		{Method: "POST", Path: "/roofs/:id/look", Need: service.AddFindings, Example: "/roofs/1/look", Handle: s.sayLook},
		{Method: "POST", Path: "/roofs/:id", Need: service.EditRoofs, Example: "/roofs/1", Handle: s.changeRoof},
		{Method: "GET", Path: "/search", Need: service.SeeRoofs, Handle: s.search},
	}
}

const roofsPerPage = 30

// likelyPast is the chance from which a roof is called likelier worn out than
// not.
const likelyPast = 0.5

func roofFilter(r *Request) service.RoofFilter {
	f := service.RoofFilter{Text: r.Query("q"), Neighbourhood: r.Query("neighbourhood"), Family: r.Query("family")}
	yes, no := true, false
	switch r.Query("ours") {
	case "":
		f.Ours = &yes
	case "no":
		f.Ours = &no
	}
	switch r.Query("standing") {
	case "":
		f.Standing = &yes
	case "no":
		f.Standing = &no
	}
	switch r.Query("past") {
	case "likely":
		f.PastFrom = likelyPast
	case "soon":
		f.SoonFrom = likelyPast
	}
	f.LaidFrom, f.LaidTo = year(r.Query("from")), year(r.Query("to"))
	f.Sort = r.Query("sort")
	if len(f.Sort) > 1 && f.Sort[0] == '-' {
		f.Sort, f.Down = f.Sort[1:], true
	}
	return f
}

func (s *Server) listRoofs(r *Request) error {
	page := r.Page(roofsPerPage)
	list, err := s.service.Roofs(r.ctx, r.Actor, roofFilter(r), page)
	if err != nil {
		return err
	}
	var told []int64
	for _, row := range list.Rows {
		if row.Middle != nil && !row.TooNew && row.EndedOn.IsZero() {
			told = append(told, row.ID)
		}
	}
	if err := s.service.EstimateShown(r.ctx, r.Actor, told...); err != nil {
		return err
	}
	here := r.Here()
	p := views.RoofsPage{Frame: r.Frame(views.Roofs), Add: r.Actor.May(service.EditRoofs), Told: !list.Kept}
	p.Title = views.Say("roofs.title")
	p.Opening = roofsOpening(here, list)
	option := func(value string, label views.Phrase) views.Option { return views.Option{Value: value, Label: label} }
	hoods := []views.Option{option("", views.Say("roofs.any"))}
	for _, n := range list.Neighbourhoods {
		hoods = append(hoods, option(n, views.Plain(n)))
	}
	families := []views.Option{option("", views.Say("roofs.any"))}
	for _, f := range models.Families {
		families = append(families, option(f, views.Term("roofing", f)))
	}
	p.Filter = p.Frame.Filter("narrow", "/roofs", "roofs",
		views.Field{Name: "q", Kind: views.Text, Label: views.Say("roofs.text"), Value: r.Query("q")},
		views.Field{Name: "neighbourhood", Kind: views.Choice, Label: views.Say("roofs.neighbourhood"), Value: r.Query("neighbourhood"), Options: hoods},
		views.Field{Name: "family", Kind: views.Choice, Label: views.Say("roofs.family"), Value: r.Query("family"), Options: families},
		views.Field{Name: "ours", Kind: views.Choice, Label: views.Say("roofs.whose"), Value: r.Query("ours"), Options: []views.Option{
			option("", views.Say("roofs.whose.us")), option("no", views.Say("roofs.whose.others")), option("any", views.Say("roofs.any"))}},
		views.Field{Name: "standing", Kind: views.Choice, Label: views.Say("roofs.standing"), Value: r.Query("standing"), Options: []views.Option{
			option("", views.Say("roofs.standing.yes")), option("no", views.Say("roofs.standing.no")), option("any", views.Say("roofs.any"))}},
		yearField("from", views.Say("roofs.from"), r.Query("from")), yearField("to", views.Say("roofs.to"), r.Query("to")))
	p.Table = views.Table{ID: "roofs", Stacks: true, Caption: views.Say("roofs.caption"), Empty: views.Say("roofs.empty"), Pager: r.Pager(page, list.Total),
		Columns: []views.Column{here.Column(views.Say("roof.address"), "address", false), {Head: views.Say("roof.covering")},
			here.Column(views.Say("roof.laid"), "laid", false), here.Column(views.Say("roof.area"), "area", true)}}
	for _, row := range list.Rows {
		p.Table.Rows = append(p.Table.Rows, views.NewRow(roofCell(row), unknownOr(row.Covering), row.Laid(), areaOf(r, row.Area)))
	}
	if !list.Kept {
		p.Filter.Group(views.Phrase{}, views.Field{Name: "past", Kind: views.Choice, Label: views.Say("roofs.pastonly"), Value: r.Query("past"), Options: []views.Option{
			option("", views.Say("roofs.any")), option("likely", views.Say("roofs.pastonly.likely")), option("soon", views.Say("roofs.pastonly.soon"))}})
		p.Table.Columns = append(p.Table.Columns, here.Column(views.Say("roof.left"), "left", false))
		for i, row := range list.Rows {
			p.Table.Rows[i].Cells = append(p.Table.Rows[i].Cells, views.Cell{Value: leftOf(row)})
		}
	}
	return r.Render(p)
}

// roofsOpening says how many roofs are listed and how ours stand.
func roofsOpening(here views.Here, list *service.RoofList) []views.Phrase {
	narrowed := false
	for name := range here.Query {
		narrowed = narrowed || (name != "sort" && name != "page" && here.Query.Get(name) != "")
	}
	if narrowed {
		return []views.Phrase{views.Say("roofs.found", "count", list.Total).Link("ours", here.Path)}
	}
	out := []views.Phrase{views.Say("roofs.ours", "count", list.Total).Link("all", "#roofs")}
	if list.Kept {
		return out
	}
	if list.LikelyPast > 0 {
		out = append(out, views.Say("roofs.past", "count", list.LikelyPast).Link("past", "/roofs?past=likely"))
	}
	return append(out, views.Say("roofs.soon", "count", list.Soon).Link("soon", "/roofs?past=soon"))
}

// roofCell names a roof by its street, with what tells it from others there.
func roofCell(row store.RoofRow) views.Cell {
	line := models.Address{Unit: row.Unit, Number: row.Number, Street: row.Street}
	return views.Cell{Value: line.Line(), URL: roofURL(row.ID), Note: place(row.Structure, row.Neighbourhood, row.Town)}
}

// place tells what of a place is known, the nearest first.
func place(parts ...string) views.Phrase {
	var known []views.Phrase
	for _, part := range parts {
		if part != "" {
			known = append(known, views.Plain(part))
		}
	}
	if len(known) == 0 {
		return views.Phrase{}
	}
	return views.Say("roofs.place", "place", known)
}

// year reads a year of the filter; what is none asks nothing.
func year(text string) int {
	y, err := strconv.Atoi(text)
	if err != nil || y < 1800 || y > 2200 {
		return 0
	}
	return y
}

func yearField(name string, label views.Phrase, typed string) views.Field {
	f := views.Field{Name: name, Kind: views.Number, Label: label, Value: typed}
	if typed != "" && year(typed) == 0 {
		f.Error = "write a year such as 2008"
	}
	return f
}

// whole rounds a number of points, or of years, for a page.
func whole(v float64) int { return int(math.Round(v)) }

// share writes a chance in whole hundredths.
func share(v float64) views.Phrase {
	if v > 0 && v < 0.005 {
		return views.Say("percent.under", "share", 1)
	}
	return views.Say("percent", "share", whole(100*v))
}

func unknownOr(text string) any {
	if text == "" {
		return views.Say("unknown")
	}
	return text
}

// areaOf is an area of covering, written in squares or square metres.
func areaOf(r *Request, a *units.Area) any {
	if a == nil {
		return views.Say("unknown")
	}
	return r.Units.RoofArea(*a)
}

func leftOf(row store.RoofRow) any {
	switch {
	case !row.EndedOn.IsZero():
		return views.Say("roof.left.ended", "day", row.EndedOn)
	case row.Blind:
		return views.Say("roof.left.kept")
	case row.Middle == nil:
		return views.Say("unknown")
	case row.TooNew:
		return views.Say("roof.left.toonew")
	}
	return views.YearsLeft{Low: *row.Low, Mid: *row.Middle, High: *row.High}
}

func (s *Server) search(r *Request) error {
	text := r.Query("q")
	// Who searches for a roof to look at is not shown its estimate first.
	before := ""
	if r.Query("for") == "look" {
		before = "?estimate=" + string(service.KeepIt)
	}
	hits, err := s.service.Search(r.ctx, r.Actor, text)
	if err != nil {
		return err
	}
	if len(hits) == 1 && hits[0].RoofID != nil {
		return r.Redirect(roofURL(*hits[0].RoofID)+before, views.Phrase{})
	}
	p := views.SearchPage{Frame: r.Frame(views.Roofs)}
	p.Title, p.Query = views.Say("search.title"), text
	p.Opening = []views.Phrase{views.Say("search.found", "count", len(hits), "text", text).Link("found", "#found")}
	switch {
	case text == "":
		p.Opening[0] = views.Say("search.nothing")
	case len(hits) == service.MostHits:
		p.Opening[0] = views.Say("search.most", "count", len(hits), "text", text).Link("found", "#found")
	}
	p.Table = views.Table{ID: "found", Stacks: true, Caption: views.Say("search.caption"), Empty: views.Say("search.empty"),
		Columns: []views.Column{{Head: views.Say("roof.address")}, {Head: views.Say("search.roof")}, {Head: views.Say("roof.house")}}}
	if r.Actor.May(service.SeeContacts) {
		p.Table.Columns = append(p.Table.Columns, views.Column{Head: views.Say("search.holder")})
	}
	for _, h := range hits {
		cell := views.Cell{Value: h.Address()}
		if h.RoofID != nil {
			cell.URL = roofURL(*h.RoofID) + before
		}
		row := views.NewRow(cell, unknownOr(h.RoofRef), unknownOr(h.Neighbourhood))
		if r.Actor.May(service.SeeContacts) {
			row.Cells = append(row.Cells, views.Cell{Value: unknownOr(h.Holder), Phone: h.Phone})
		}
		p.Table.Rows = append(p.Table.Rows, row)
	}
	return r.Render(p)
}

// roofForm asks for a roof. A new one also asks where it is.
func roofForm(r *Request, frame views.Frame, roof *models.Roof, coverings []models.Covering) *views.Form {
	isNew := roof.ID == 0
	action, cancel := "/roofs", "/roofs"
	if !isNew {
		action, cancel = roofURL(roof.ID), roofURL(roof.ID)
	}
	covering := []views.Option{{Label: views.Say("unknown")}}
	for _, c := range coverings {
		if c.EndedOn.IsZero() || (roof.CoveringID != nil && *roof.CoveringID == c.ID) {
			covering = append(covering, views.Option{Value: strconv.FormatInt(c.ID, 10), Label: views.Plain(c.Name)})
		}
	}
	number := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(math.Round(*v*100)/100, 'f', -1, 64)
	}
	var area, pitch *float64
	areaUnit := views.Say("unit.ft2")
	in := units.SquareFoot
	if r.Units == units.Metric {
		areaUnit, in = views.Say("unit.m2"), units.SquareMetre
	}
	if roof.Area != nil {
		v := roof.Area.In(in)
		area = &v
	}
	if roof.Pitch != nil {
		v := roof.Pitch.In12()
		pitch = &v
	}
	id := ""
	if roof.CoveringID != nil {
		id = strconv.FormatInt(*roof.CoveringID, 10)
	}
	var fields []views.Field
	if isNew {
		fields = append(fields, views.Field{Name: "number", Kind: views.Text, Label: views.Say("roof.number"), Required: true},
			views.Field{Name: "street", Kind: views.Text, Label: views.Say("roof.street"), Required: true},
			views.Field{Name: "town", Kind: views.Text, Label: views.Say("roof.town")})
	} else {
		fields = append(fields, views.Field{Name: "version", Kind: views.Hidden, Value: strconv.FormatInt(roof.Version, 10)})
	}
	yesNo := []views.Option{{Value: "yes", Label: views.Say("yesno.yes")}, {Value: "no", Label: views.Say("yesno.no")}}
	ours := "yes"
	if !roof.Ours && !isNew {
		ours = "no"
	}
	fields = append(fields,
		views.Field{Name: "laid_on", Kind: views.Text, Label: views.Say("roof.laid"), Hint: views.Say("roof.laid.hint"), Value: roof.Laid.String(), Required: true},
		views.Field{Name: "ours", Kind: views.One, Label: views.Say("roof.ours"), Value: ours, Options: yesNo, Required: true},
		views.Field{Name: "covering_id", Kind: views.Choice, Label: views.Say("roof.covering"), Value: id, Options: covering},
		views.Field{Name: "pitch", Kind: views.Text, Label: views.Say("roof.pitch"), Value: number(pitch), Unit: views.Say("unit.in12")},
		views.Field{Name: "area", Kind: views.Number, Label: views.Say("roof.area"), Value: number(area), Unit: areaUnit},
		views.Field{Name: "colour", Kind: views.Text, Label: views.Say("roof.colour"), Value: roof.Colour},
		views.Field{Name: "notes", Kind: views.Long, Label: views.Say("roof.notes"), Value: roof.Notes})
	form := frame.Form("roof", action, views.Say("roof.save"), fields...)
	if !isNew {
		reasons := []views.Option{{}}
		for _, reason := range models.RoofEndReasons {
			reasons = append(reasons, views.Option{Value: reason, Label: views.Term("end_reason", reason)})
		}
		ended := ""
		if !roof.EndedOn.IsZero() {
			ended = roof.EndedOn.String()
		}
		form.Fold(views.Say("roof.ended"),
			views.Field{Name: "ended_on", Kind: views.Day, Label: views.Say("roof.endedon"), Value: ended},
			views.Field{Name: "end_reason", Kind: views.Choice, Label: views.Say("roof.endreason"), Value: roof.EndReason, Options: reasons})
	}
	form.Cancel = cancel
	return form
}

// readRoof reads what roofForm asked for into a roof.
func readRoof(f *Form, roof *models.Roof) error {
	roof.Laid = f.Dated("laid_on")
	roof.Ours = f.Text("ours") == "yes"
	roof.CoveringID = f.ID("covering_id")
	roof.Pitch = f.Pitch("pitch")
	roof.Area = f.Area("area", units.SquareFoot, units.SquareMetre)
	roof.Colour, roof.Notes = f.Text("colour"), f.Text("notes")
	if roof.ID != 0 {
		roof.EndedOn, roof.EndReason = f.Day("ended_on"), f.Text("end_reason")
		roof.Version = f.Version()
	}
	return f.Err()
}

func (s *Server) roofFormPage(r *Request, roof *models.Roof) (views.RoofFormPage, error) {
	coverings, err := s.service.Coverings(r.ctx, r.Actor)
	p := views.RoofFormPage{Frame: r.Frame(views.Roofs)}
	p.Title = views.Say("roof.new.title")
	if roof.ID != 0 {
		p.Title = views.Say("roof.edit.title")
	}
	p.Form = roofForm(r, p.Frame, roof, coverings)
	return p, err
}

func (s *Server) newRoof(r *Request) error {
	p, err := s.roofFormPage(r, &models.Roof{})
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) addRoof(r *Request) error {
	f := r.Form()
	n := service.NewRoof{Address: models.Address{Number: f.Text("number"), Street: f.Text("street"), Town: f.Text("town")}}
	err := readRoof(f, &n.Roof)
	var roof *models.Roof
	if err == nil {
		roof, err = s.service.AddRoof(r.ctx, r.Actor, n)
	}
	if err != nil {
		p, failed := s.roofFormPage(r, &models.Roof{})
		if failed != nil {
			return failed
		}
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect(roofURL(roof.ID), views.Say("roof.saved"))
}

func (s *Server) editRoof(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	page, err := s.service.Roof(r.ctx, r.Actor, id, service.AsUsual)
	if err != nil {
		return err
	}
	p, err := s.roofFormPage(r, &page.File.Roof)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) changeRoof(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	page, err := s.service.Roof(r.ctx, r.Actor, id, service.AsUsual)
	if err != nil {
		return err
	}
	kept := page.File.Roof
	typed := kept
	err = readRoof(r.Form(), &typed)
	if err == nil {
		err = s.service.ChangeRoof(r.ctx, r.Actor, &typed)
	}
	if err != nil {
		p, failed := s.roofFormPage(r, &kept)
		if failed != nil {
			return failed
		}
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect(roofURL(id), views.Say("roof.saved"))
}
