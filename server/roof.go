package server

import (
	"fmt"
	"math"
	"strconv"

	"overhang/analytics/lifespan"
	"overhang/analytics/units"
	"overhang/analytics/venting"
	"overhang/analytics/wear"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
	"overhang/views/charts"
)

func (s *Server) roofRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/roofs", Need: service.SeeRoofs, Handle: s.listRoofs},
		{Method: "GET", Path: "/roofs/new", Need: service.EditRoofs, Handle: s.newRoof},
		{Method: "POST", Path: "/roofs", Need: service.EditRoofs, Handle: s.addRoof},
		{Method: "GET", Path: "/roofs/:id", Need: service.SeeRoofs, Example: "/roofs/1", Handle: s.showRoof},
		{Method: "GET", Path: "/roofs/:id/edit", Need: service.EditRoofs, Example: "/roofs/1/edit", Handle: s.editRoof},
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
	if r.Query("past") == "likely" {
		f.PastFrom = likelyPast
	}
	f.LaidFrom, _ = strconv.Atoi(r.Query("from"))
	f.LaidTo, _ = strconv.Atoi(r.Query("to"))
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
	here := r.Here()
	p := views.RoofsPage{Frame: r.Frame(views.Roofs), Add: r.Actor.May(service.EditRoofs)}
	p.Title = views.Say("roofs.title")
	p.Opening = []views.Phrase{views.Say("roofs.found", "count", list.Total).Link("all", "/roofs?ours=any&standing=any")}
	if list.LikelyPast > 0 {
		p.Opening = append(p.Opening, views.Say("roofs.past", "count", list.LikelyPast).Link("past", "/roofs?past=likely"))
	}
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
		views.Field{Name: "past", Kind: views.Choice, Label: views.Say("roofs.pastonly"), Value: r.Query("past"), Options: []views.Option{
			option("", views.Say("roofs.any")), option("likely", views.Say("roofs.pastonly.likely"))}},
		views.Field{Name: "from", Kind: views.Number, Label: views.Say("roofs.from"), Value: r.Query("from")},
		views.Field{Name: "to", Kind: views.Number, Label: views.Say("roofs.to"), Value: r.Query("to")})
	p.Table = views.Table{ID: "roofs", Caption: views.Say("roofs.caption"), Empty: views.Say("roofs.empty"), Pager: r.Pager(page, list.Total),
		Columns: []views.Column{here.Column(views.Say("roof.address"), "address", false), {Head: views.Say("roof.covering")},
			here.Column(views.Say("roof.laid"), "laid", false), here.Column(views.Say("roof.area"), "area", true), here.Column(views.Say("roof.left"), "left", false)}}
	for _, row := range list.Rows {
		p.Table.Rows = append(p.Table.Rows, views.NewRow(views.Cell{Value: row.Address(), URL: roofURL(row.ID), Note: views.Plain(row.Neighbourhood)},
			unknownOr(row.Covering), row.Laid(), areaOf(r, row.Area), leftOf(row)))
	}
	return r.Render(p)
}

// share writes a chance in whole hundredths.
func share(v float64) views.Phrase {
	if v > 0 && v < 0.005 {
		return views.Say("percent.under", "share", 1)
	}
	return views.Say("percent", "share", int(math.Round(100*v)))
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
	case row.Middle == nil:
		return views.Say("unknown")
	case row.TooNew:
		return views.Say("roof.left.toonew")
	}
	return views.YearsLeft{Low: *row.Low, Mid: *row.Middle, High: *row.High}
}

func (s *Server) search(r *Request) error {
	text := r.Query("q")
	hits, err := s.service.Search(r.ctx, r.Actor, text)
	if err != nil {
		return err
	}
	if len(hits) == 1 && hits[0].RoofID != nil {
		return r.Redirect(roofURL(*hits[0].RoofID), views.Phrase{})
	}
	p := views.SearchPage{Frame: r.Frame(views.Roofs)}
	p.Title = views.Say("search.title")
	p.Opening = []views.Phrase{views.Say("search.found", "count", len(hits), "text", text)}
	p.Table = views.Table{ID: "found", Caption: views.Say("search.caption"), Empty: views.Say("search.empty"),
		Columns: []views.Column{{Head: views.Say("roof.address")}, {Head: views.Say("search.roof")}, {Head: views.Say("roof.house")}}}
	if r.Actor.May(service.SeeContacts) {
		p.Table.Columns = append(p.Table.Columns, views.Column{Head: views.Say("search.holder")})
	}
	for _, h := range hits {
		cell := views.Cell{Value: h.Address()}
		if h.RoofID != nil {
			cell.URL = roofURL(*h.RoofID)
		}
		row := views.NewRow(cell, unknownOr(h.RoofRef), unknownOr(h.Neighbourhood))
		if r.Actor.May(service.SeeContacts) {
			row.Cells = append(row.Cells, views.Cell{Value: unknownOr(h.Holder), Note: views.Plain(h.Phone)})
		}
		p.Table.Rows = append(p.Table.Rows, row)
	}
	return r.Render(p)
}

func (s *Server) showRoof(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	page, err := s.service.Roof(r.ctx, r.Actor, id)
	if err != nil {
		return err
	}
	return r.Render(roofPage(r, page))
}

func roofPage(r *Request, page *service.RoofPage) views.RoofPage {
	f := page.File
	p := views.RoofPage{Frame: r.Frame(views.Roofs)}
	p.Title = views.Plain(f.Address.Line())
	covering := ""
	if f.Covering != nil {
		covering = f.Covering.Name
	}
	p.Opening = []views.Phrase{views.Say("roof.opening.unknown", "laid", f.Roof.Laid)}
	if covering != "" {
		p.Opening[0] = views.Say("roof.opening", "covering", covering, "laid", f.Roof.Laid)
	}
	p.Facts = roofFacts(r, page, covering)
	switch {
	case page.Life == nil && !f.Roof.EndedOn.IsZero():
		p.Opening = append(p.Opening, views.Say("roof.opening.ended"))
	case page.Life != nil:
		p.Life = roofLife(page.Life.Result)
		left := page.Life.Result.YearsLeft
		if page.Life.Result.TooNew {
			p.Opening = append(p.Opening, views.Say("roof.opening.new").Link("years", "#years"))
		} else {
			p.Opening = append(p.Opening, views.Say("roof.opening.left", "left", views.YearsLeft{Low: left.Low, Mid: left.Middle, High: left.High}).Link("years", "#years"))
		}
	}
	for _, fault := range page.Faults {
		p.Faults = append(p.Faults, views.Plain(fault))
	}
	for _, check := range page.Venting {
		if rule := check.Rule(); rule != nil {
			p.Attics = append(p.Attics, atticPart(r, check.Attic.Name, rule, check.Result.Warnings))
		}
	}
	p.Ways = roofWays(r, f)
	roofPromises(r, page, &p)
	roofVisits(page, &p)
	roofStructure(r, page, &p)
	for _, h := range page.Holders {
		p.Holders = append(p.Holders, views.Event{On: h.Holding.FromOn, What: views.Say("roof.holder", "name", h.Contact.Name, "role", views.Term("holding_role", h.Holding.Role)),
			Detail: views.Say("roof.holder.phone", "phone", h.Contact.Phone)})
	}
	p.Others = views.Table{ID: "other-roofs", Caption: views.Say("roof.others"), Empty: views.Say("roof.others.none"),
		Columns: []views.Column{{Head: views.Say("roof.ref")}, {Head: views.Say("roof.covering")}, {Head: views.Say("roof.laid")}, {Head: views.Say("roof.ended")}}}
	for _, o := range page.Others {
		ended := views.Cell{Value: o.Roof.EndedOn}
		if o.Roof.EndReason != "" {
			ended.Note = views.Say("roof.ended.because", "reason", views.Term("end_reason", o.Roof.EndReason))
		}
		p.Others.Rows = append(p.Others.Rows, views.NewRow(views.Cell{Value: o.Roof.Ref, URL: roofURL(o.Roof.ID)}, unknownOr(o.Covering), o.Roof.Laid, ended))
	}
	return p
}

func roofWays(r *Request, f *models.RoofFile) []views.RoofWay {
	var out []views.RoofWay
	add := func(need service.Permission, words views.Phrase, url string) {
		if r.Actor.May(need) {
			out = append(out, views.RoofWay{Words: words, URL: url})
		}
	}
	add(service.EditRoofs, views.Say("roof.edit"), fmt.Sprintf("/roofs/%d/edit", f.Roof.ID))
	add(service.EditRoofs, views.Say("roof.edithouse"), fmt.Sprintf("/houses/%d/edit", f.House.ID))
	add(service.EditRoofs, views.Say("roof.sale"), fmt.Sprintf("/houses/%d/sale", f.House.ID))
	add(service.EditPromises, views.Say("roof.addpromise"), fmt.Sprintf("/roofs/%d/promises/new", f.Roof.ID))
	add(service.AddFindings, views.Say("roof.addvisit"), fmt.Sprintf("/roofs/%d/visits/new", f.Roof.ID))
	return out
}

func roofFacts(r *Request, page *service.RoofPage, covering string) []views.Fact {
	f := page.File
	facts := []views.Fact{
		{Term: views.Say("roof.ref"), Value: f.Roof.Ref},
		{Term: views.Say("roof.covering"), Value: unknownOr(covering)},
		{Term: views.Say("roof.laid"), Value: f.Roof.Laid},
		{Term: views.Say("roof.area"), Value: areaOf(r, f.Roof.Area)},
		{Term: views.Say("roof.pitch"), Value: f.Roof.Pitch},
		{Term: views.Say("roof.colour"), Value: unknownOr(f.Roof.Colour)},
	}
	if !f.Roof.EndedOn.IsZero() {
		facts = append(facts, views.Fact{Term: views.Say("roof.ended"), Value: f.Roof.EndedOn, Note: views.Say("roof.ended.because", "reason", views.Term("end_reason", f.Roof.EndReason))})
	}
	if f.House.Cladding != "" {
		facts = append(facts, views.Fact{Term: views.Say("roof.cladding"), Value: views.Term("cladding", f.House.Cladding)})
	}
	if f.House.BuildYear != nil && f.House.Builder != "" {
		facts = append(facts, views.Fact{Term: views.Say("roof.house"), Value: views.Say("roof.house.said", "builder", f.House.Builder, "year", strconv.Itoa(*f.House.BuildYear))})
	}
	if f.House.SiteNotes != "" {
		facts = append(facts, views.Fact{Term: views.Say("roof.sitenotes"), Value: f.House.SiteNotes})
	}
	if f.Roof.Notes != "" {
		facts = append(facts, views.Fact{Term: views.Say("roof.notes"), Value: f.Roof.Notes})
	}
	if n := page.Next; n != nil {
		said := views.Say("roof.next.later", "day", n.DueOn)
		switch {
		case !n.BookedFor.IsZero():
			said = views.Say("roof.next.booked", "day", n.BookedFor)
		case n.DueOn <= r.Today:
			said = views.Say("roof.next.due", "day", n.DueOn)
		}
		facts = append(facts, views.Fact{Term: views.Say("roof.next"), Value: said, URL: "/visits"})
	}
	return facts
}

func roofLife(result lifespan.Result) *views.RoofLife {
	life := &views.RoofLife{TooNew: result.TooNew, Says: result.Says,
		Left: views.YearsLeft{Low: result.YearsLeft.Low, Mid: result.YearsLeft.Middle, High: result.YearsLeft.High}}
	for _, c := range []struct {
		term   views.Phrase
		chance float64
	}{{views.Say("roof.chance.past"), result.ChancePast}, {views.Say("roof.chance.1"), result.ChanceIn1},
		{views.Say("roof.chance.2"), result.ChanceIn2}, {views.Say("roof.chance.5"), result.ChanceIn5}} {
		life.Chances = append(life.Chances, views.Fact{Term: c.term, Value: share(c.chance)})
	}
	life.Reasons = views.Table{ID: "why", Caption: views.Say("roof.why.caption"), Columns: []views.Column{{Head: views.Say("roof.why.what")},
		{Head: views.Say("roof.why.effect"), Numeric: true}, {Head: views.Say("roof.why.median"), Numeric: true}, {Head: views.Say("roof.why.source")}}}
	for _, reason := range result.Reasons {
		words := views.Say("roof.why.factor", "name", reason.Name)
		switch reason.Kind {
		case "prior":
			words = views.Say("roof.why.prior", "name", views.Term("roofing", reason.Name))
		case "standing":
			words = views.Say("roof.why.standing")
		case "reading":
			words = views.Say("roof.why.reading", "name", reason.Name)
		}
		because := views.Cell{Value: reason.Because}
		if reason.Source != "" {
			because.Note = views.Plain(reason.Source)
		}
		life.Reasons.Rows = append(life.Reasons.Rows, views.NewRow(words, fmt.Sprintf("%+.1f", reason.EffectYears), fmt.Sprintf("%.1f", reason.AfterYears), because))
	}
	chances := result.Chances
	life.Chart = views.Chart{ID: "serves", Title: views.Say("roof.chart"), Summary: views.Say("roof.chart.summary"),
		Numbers: &views.Table{ID: "serves-numbers", Caption: views.Say("roof.chart"), Columns: []views.Column{{Head: views.Say("roof.chart.year")}, {Head: views.Say("roof.chart.chance"), Numeric: true}}},
		Draw: func(say func(any) string) (charts.Options, error) {
			amounts := make([]charts.Amount, len(chances))
			for i, c := range chances {
				amounts[i] = charts.Amount{Name: strconv.Itoa(int(c.Years)), Value: 100 * (1 - c.Chance),
					Said: say(views.Say("roof.chart.said", "years", int(c.Years), "chance", share(1-c.Chance)))}
			}
			return charts.Line(charts.Unit{Name: "%"}, amounts)
		}}
	for _, c := range chances {
		life.Chart.Numbers.Rows = append(life.Chart.Numbers.Rows, views.NewRow(int(c.Years), share(1-c.Chance)))
	}
	return life
}

func atticPart(r *Request, name string, rule *venting.RuleResult, warnings []venting.Warning) views.AtticPart {
	part := views.AtticPart{Name: name, Facts: []views.Fact{
		{Term: views.Say("roof.venting.rule"), Value: rule.Cites, Note: views.Plain(rule.Why)},
		{Term: views.Say("roof.venting.there"), Value: rule.Total.Write(r.Units)},
		{Term: views.Say("roof.venting.high"), Value: rule.High.Write(r.Units)},
		{Term: views.Say("roof.venting.low"), Value: rule.Low.Write(r.Units)},
		{Term: views.Say("roof.venting.verdict"), Value: string(rule.Verdict), Note: views.Plain(rule.Says)},
	}}
	if rule.Asked != nil {
		part.Facts = append(part.Facts[:1], append([]views.Fact{{Term: views.Say("roof.venting.asked"), Value: rule.Asked.Write(r.Units)}}, part.Facts[1:]...)...)
	}
	for _, way := range rule.Ways {
		part.Ways = append(part.Ways, way.Says)
	}
	for _, w := range warnings {
		part.Warnings = append(part.Warnings, w.Says)
	}
	return part
}

func roofPromises(r *Request, page *service.RoofPage, p *views.RoofPage) {
	if r.Actor.May(service.SeePromises) {
		t := views.Table{ID: "roof-promises", Caption: views.Say("roof.promises.caption"), Empty: views.Say("roof.promises.none"), Columns: []views.Column{
			{Head: views.Say("roof.promise")}, {Head: views.Say("roof.promise.owedby")}, {Head: views.Say("roof.promise.state")},
			{Head: views.Say("roof.promise.until")}, {Head: views.Say("roof.promise.conditions")}}}
		for _, j := range page.Promises {
			t.Rows = append(t.Rows, views.NewRow(views.Cell{Value: j.Terms.Name, URL: fmt.Sprintf("/promises/%d", j.Warranty.ID)}, j.Warranty.OwedBy,
				views.Term("promise_state", j.Result.State), j.Result.LastDay, views.Say("roof.promise.notshown", "count", j.NotShown())))
		}
		p.Promises = &t
	}
	if r.Actor.May(service.SeeCallbacks) {
		t := views.Table{ID: "roof-callbacks", Caption: views.Say("roof.callbacks.caption"), Empty: views.Say("roof.callbacks.none"), Columns: []views.Column{
			{Head: views.Say("roof.callback.about")}, {Head: views.Say("roof.callback.learned")}, {Head: views.Say("roof.callback.closed")}}}
		for _, c := range page.Callbacks {
			said := c.About
			if said == "" {
				said = c.Ref
			}
			var closed any = views.Say("roof.callback.open")
			if !c.ClosedOn.IsZero() {
				closed = c.ClosedOn
			}
			t.Rows = append(t.Rows, views.NewRow(views.Cell{Value: said, URL: fmt.Sprintf("/callbacks/%d", c.ID)}, c.LearnedOn, closed))
		}
		p.Callbacks = &t
	}
}

func roofVisits(page *service.RoofPage, p *views.RoofPage) {
	rating := map[int64]*float64{}
	for _, look := range page.Looks {
		rating[look.Visit.ID] = look.Result.Part(wear.Covering).Rating
	}
	visits := page.File.Visits
	for i := len(visits) - 1; i >= 0; i-- {
		v := &visits[i]
		switch {
		case !v.DoneOn.IsZero():
			detail := views.Plain(v.Notes)
			if points := rating[v.ID]; points != nil {
				detail = views.Say("roof.visit.rating", "rating", int(math.Round(*points)))
			}
			p.Visits = append(p.Visits, views.Event{On: v.DoneOn, Who: v.ByName, Detail: detail,
				What: views.Say("roof.visit.done", "purpose", views.Term("purpose", v.Purpose), "method", views.Term("lookedby", v.Method))})
		case v.Open() && !v.BookedFor.IsZero():
			p.Visits = append(p.Visits, views.Event{On: v.BookedFor, Who: v.ByName, What: views.Say("roof.visit.booked", "purpose", views.Term("purpose", v.Purpose))})
		}
	}
}

func compass(degrees *float64) any {
	if degrees == nil {
		return views.Say("unknown")
	}
	names := []string{"n", "ne", "e", "se", "s", "sw", "w", "nw"}
	return views.Term("compass", names[int(math.Round(math.Mod(*degrees, 360)/45))%8])
}

func roofStructure(r *Request, page *service.RoofPage, p *views.RoofPage) {
	f := page.File
	p.Slopes = views.Table{ID: "slopes", Caption: views.Say("roof.slopes"), Empty: views.Say("roof.slopes.none"), Columns: []views.Column{{Head: views.Say("roof.slope")},
		{Head: views.Say("roof.slope.facing")}, {Head: views.Say("roof.pitch"), Numeric: true}, {Head: views.Say("roof.area"), Numeric: true},
		{Head: views.Say("roof.slope.eave"), Numeric: true}, {Head: views.Say("roof.slope.overhang"), Numeric: true}}}
	for _, s := range f.Slopes {
		var overhang any = views.Say("unknown")
		if s.Overhang != nil {
			overhang = r.Units.SmallLength(*s.Overhang)
		}
		p.Slopes.Rows = append(p.Slopes.Rows, views.NewRow(s.Name, compass(s.Facing), s.Pitch, areaOf(r, s.Area), s.Eave, overhang))
	}
	p.Vents = views.Table{ID: "vents", Caption: views.Say("roof.vents"), Empty: views.Say("roof.vents.none"), Columns: []views.Column{{Head: views.Say("roof.vent")},
		{Head: views.Say("roof.vent.height")}, {Head: views.Say("roof.vent.count"), Numeric: true}, {Head: views.Say("roof.vent.length"), Numeric: true}}}
	for _, v := range f.Vents {
		if v.EndedOn.IsZero() {
			p.Vents.Rows = append(p.Vents.Rows, views.NewRow(views.Cell{Value: v.Name, Note: views.Term("vent_kind", v.Kind)}, views.Term("vent_height", v.Height), v.Count, v.Length))
		}
	}
	p.Details = views.Table{ID: "details", Caption: views.Say("roof.details"), Empty: views.Say("roof.details.none"), Columns: []views.Column{{Head: views.Say("roof.detail")},
		{Head: views.Say("roof.detail.form")}, {Head: views.Say("roof.detail.lap")}, {Head: views.Say("roof.notes")}}}
	for _, d := range f.Details {
		if !d.EndedOn.IsZero() {
			continue
		}
		var form, lap any = "", ""
		if d.Form != "" {
			form = views.Term("detail_form", d.Form)
		}
		if d.Lap != nil {
			key := "two_thirds"
			if *d.Lap < 0.42 {
				key = "third"
			} else if *d.Lap < 0.58 {
				key = "half"
			}
			lap = views.Term("roof.lap", key)
		}
		p.Details.Rows = append(p.Details.Rows, views.NewRow(views.Cell{Value: d.Name, Note: views.Term("detail_kind", d.Kind)}, form, lap, d.Notes))
	}
	if t := page.TakeOff; t != nil && t.Order != nil {
		o := t.Order
		p.Order = []views.Fact{{Term: views.Say("roof.order.area"), Value: r.Units.RoofArea(o.Area)},
			{Term: views.Say("roof.order.squares"), Value: fmt.Sprintf("%.1f", o.SquaresWithWaste)}}
		if o.Bundles != nil {
			p.Order = append(p.Order, views.Fact{Term: views.Say("roof.order.bundles"), Value: *o.Bundles})
		}
		if o.Nails != nil {
			p.Order = append(p.Order, views.Fact{Term: views.Say("roof.order.nails"), Value: *o.Nails})
		}
	}
	for _, j := range f.Jobs {
		what := views.Say("roof.job", "ref", j.Ref)
		if j.Part != "" {
			what = views.Say("roof.job.part", "ref", j.Ref, "part", j.Part)
		}
		crew := ""
		if j.CrewID != nil {
			crew = page.Crews[*j.CrewID]
		}
		p.Jobs = append(p.Jobs, views.Event{On: j.StartedOn, What: what, Detail: views.Plain(crew)})
	}
	for _, d := range f.Declined {
		p.Jobs = append(p.Jobs, views.Event{On: d.SignedOn, What: views.Say("roof.declined", "what", d.What)})
	}
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
	page, err := s.service.Roof(r.ctx, r.Actor, id)
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
	page, err := s.service.Roof(r.ctx, r.Actor, id)
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
