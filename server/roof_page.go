package server

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/lifespan"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/analytics/venting"
	"overhang/analytics/wear"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) showRoof(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	page, err := s.service.Roof(r.ctx, r.Actor, id, service.Wish(r.Query("estimate")))
	if err != nil {
		return err
	}
	if page.Told() {
		if err := s.service.EstimateShown(r.ctx, r.Actor, id); err != nil {
			return err
		}
	}
	p := roofPage(r, page)
	entries, err := s.service.History(r.ctx, r.Actor, page.File.Roof.Noun(), id, store.Page{Size: 50})
	if err != nil {
		return err
	}
	p.Changes, err = changesOf(entries, func(column, text string) views.Phrase {
		if column == "end_reason" {
			return views.Term("end_reason", text)
		}
		return views.Phrase{}
	})
	if err != nil {
		return err
	}
	return r.Render(p)
}

func roofPage(r *Request, page *service.RoofPage) views.RoofPage {
	f := page.File
	p := views.RoofPage{Frame: r.Frame(views.Roofs), Ways: roofWays(r, f), Facts: roofFacts(r, page)}
	p.Title = views.Plain(f.Address.Line())
	p.Opening = roofOpening(r, page)
	p.Life = roofLife(r, p.Frame, page)
	for _, fault := range page.Faults {
		p.Faults = append(p.Faults, views.Plain(fault))
	}
	if r.Actor.May(service.SeePromises) {
		t := roofPromises(page.Promises)
		p.Promises = &t
	}
	if r.Actor.May(service.SeeCallbacks) {
		t := roofCallbacks(page.Callbacks)
		p.Callbacks = &t
	}
	if r.Actor.May(service.SeeVisits) {
		p.ShowVisits = true
		p.Visits = roofVisits(page)
	}
	roofStructure(r, f, &p)
	p.Topics = roofTopics(r, page)
	p.Jobs = roofJobs(r, page)
	if r.Actor.May(service.SeeContacts) {
		p.ShowHolders = true
		p.Holders = roofHolders(page.Holders)
	}
	p.Others = views.Table{ID: "other-roofs", Stacks: true, Caption: views.Say("roof.others"), Empty: views.Say("roof.others.none"),
		Columns: []views.Column{{Head: views.Say("roof.ref")}, {Head: views.Say("roof.covering")}, {Head: views.Say("roof.laid")}, {Head: views.Say("roof.howended")}}}
	for _, o := range page.Others {
		p.Others.Rows = append(p.Others.Rows, views.NewRow(views.Cell{Value: o.Roof.Ref, URL: roofURL(o.Roof.ID)}, unknownOr(o.Covering), o.Roof.Laid, ended(&o.Roof)))
	}
	return p
}

// ended says when and why a roof ended, or that it still lies there.
func ended(roof *models.Roof) views.Phrase {
	if roof.EndedOn.IsZero() {
		return views.Say("roof.ended.not")
	}
	return views.Say("roof.ended.said", "day", roof.EndedOn, "reason", views.Term("end_reason", roof.EndReason))
}

// roofOpening says in a few sentences what lies there, what is left of it, and
// what of it presses.
func roofOpening(r *Request, page *service.RoofPage) []views.Phrase {
	f := page.File
	out := []views.Phrase{views.Say("roof.opening.unknown", "laid", f.Roof.Laid)}
	if f.Covering != nil {
		out[0] = views.Say("roof.opening", "covering", f.Covering.Name, "laid", f.Roof.Laid)
	}
	switch {
	case !f.Roof.EndedOn.IsZero():
		out = append(out, views.Say("roof.opening.ended", "day", f.Roof.EndedOn, "reason", views.Term("end_reason", f.Roof.EndReason)))
	case page.Kept != nil && page.Kept.Booked == nil && page.Kept.Said.IsZero():
		out = append(out, views.Say("roof.opening.ask").Link("years", "#years"))
	case page.Kept != nil:
		out = append(out, views.Say("roof.opening.kept").Link("years", "#years"))
	case page.Life == nil:
		out = append(out, views.Say("roof.opening.unestimated"))
	case page.Life.Result.TooNew:
		out = append(out, views.Say("roof.opening.new").Link("years", "#years"))
	default:
		out = append(out, views.Say("roof.opening.left", "left", yearsLeft(page.Life.Result.YearsLeft)).Link("years", "#years"))
	}
	open := 0
	for _, c := range page.Callbacks {
		if c.ClosedOn.IsZero() && c.State != "refused" {
			open++
		}
	}
	if open > 0 {
		out = append(out, views.Say("roof.opening.callbacks", "count", open).Link("callbacks", "#callbacks"))
	}
	for _, check := range page.Venting {
		if rule := check.Rule(); rule != nil && rule.Verdict == venting.Fails {
			return append(out, views.Say("roof.opening.short").Link("ventilation", "#says"))
		}
	}
	return out
}

func yearsLeft(of lifespan.Range) views.YearsLeft {
	return views.YearsLeft{Low: of.Low, Mid: of.Middle, High: of.High}
}

func roofWays(r *Request, f *models.RoofFile) []views.NavEntry {
	var out []views.NavEntry
	add := func(need service.Permission, words views.Phrase, url string) {
		if r.Actor.May(need) {
			out = append(out, views.NavEntry{Label: words, URL: url})
		}
	}
	add(service.EditRoofs, views.Say("roof.edit"), fmt.Sprintf("/roofs/%d/edit", f.Roof.ID))
	add(service.EditRoofs, views.Say("roof.edithouse"), fmt.Sprintf("/houses/%d/edit", f.House.ID))
	add(service.EditRoofs, views.Say("roof.sale"), fmt.Sprintf("/houses/%d/sale", f.House.ID))
	add(service.EditPromises, views.Say("roof.addpromise"), fmt.Sprintf("/roofs/%d/promises/new", f.Roof.ID))
	add(service.EditRoofs, views.Say("declined.add"), fmt.Sprintf("/roofs/%d/declined", f.Roof.ID))
	add(service.AddFindings, views.Say("roof.addvisit"), fmt.Sprintf("/roofs/%d/visits/new", f.Roof.ID))
	if f.Roof.Ours {
		add(service.SeeNeighbours, views.Say("roof.neighbours"), fmt.Sprintf("/neighbours?near=%d", f.Roof.ID))
	}
	return out
}

func roofFacts(r *Request, page *service.RoofPage) []views.Fact {
	f := page.File
	covering := views.Fact{Term: views.Say("roof.covering"), Value: views.Say("unknown")}
	if f.Covering != nil {
		covering.Value, covering.Note = f.Covering.Name, views.Term("roofing", f.Covering.Family)
	}
	by := views.Say("roof.by.others")
	if f.Roof.Ours {
		by = views.Say("roof.by.us")
	}
	facts := []views.Fact{
		{Term: views.Say("roof.ref"), Value: f.Roof.Ref},
		covering,
		{Term: views.Say("roof.laid"), Value: f.Roof.Laid, Note: by},
		{Term: views.Say("roof.area"), Value: areaOf(r, f.Roof.Area)},
		{Term: views.Say("roof.pitch"), Value: f.Roof.Pitch},
		{Term: views.Say("roof.colour"), Value: unknownOr(f.Roof.Colour)},
		{Term: views.Say("roof.layers"), Value: f.Roof.Layers},
	}
	if on := f.Building(); on != "" {
		facts = append(facts, views.Fact{Term: views.Say("roof.on"), Value: on})
	}
	if !f.Roof.EndedOn.IsZero() {
		facts = append(facts, views.Fact{Term: views.Say("roof.ended"), Value: f.Roof.EndedOn, Note: views.Term("end_reason", f.Roof.EndReason)})
	}
	facts = append(facts, houseFact(f))
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
		case n.DueOn.IsZero():
			said = views.Say("roof.next.unknown")
		case n.DueOn <= r.Today:
			said = views.Say("roof.next.due", "day", n.DueOn)
		}
		url := "/visits"
		if !n.BookedFor.IsZero() {
			url = "/visits/day/" + n.BookedFor.String()
		}
		facts = append(facts, views.Fact{Term: views.Say("roof.next"), Value: said, URL: url})
	}
	return facts
}

// houseFact tells what is known of the house below the roof.
func houseFact(f *models.RoofFile) views.Fact {
	var said []views.Phrase
	if f.House.BuildYear != nil {
		said = append(said, views.Say("roof.house.built", "year", strconv.Itoa(*f.House.BuildYear)))
	}
	if f.House.Builder != "" {
		said = append(said, views.Say("roof.house.by", "builder", f.House.Builder))
	}
	if f.House.Cladding != "" {
		said = append(said, views.Term("cladding", f.House.Cladding))
	}
	if f.House.Trees != nil && *f.House.Trees {
		said = append(said, views.Say("roof.house.trees"))
	}
	fact := views.Fact{Term: views.Say("roof.house"), Value: views.Say("unknown"), Note: views.Plain(f.House.Neighbourhood)}
	if len(said) > 0 {
		fact.Value = said
	}
	return fact
}

func oneDecimal(v float64) string  { return decimals(v, 1) }
func twoDecimals(v float64) string { return decimals(v, 2) }

// decimals writes a number with so many decimals and a true minus, and none before
// a nought.
func decimals(v float64, n int) string {
	text := strconv.FormatFloat(v, 'f', n, 64)
	if digits, below := strings.CutPrefix(text, "-"); below {
		if strings.Trim(digits, "0.") == "" {
			return digits
		}
		return "−" + digits
	}
	return text
}

func yesOrNo(v bool) views.Phrase {
	if v {
		return views.Say("yes")
	}
	return views.Say("no")
}

func roofPromises(promises []portfolio.Judged) views.Table {
	t := views.Table{ID: "promises", Stacks: true, Caption: views.Say("roof.promises.caption"), Empty: views.Say("roof.promises.none"), Columns: []views.Column{
		{Head: views.Say("roof.promise")}, {Head: views.Say("roof.promise.state")}, {Head: views.Say("roof.promise.until")}, {Head: views.Say("roof.promise.conditions")}}}
	for _, j := range promises {
		url := fmt.Sprintf("/promises/%d", j.Warranty.ID)
		state := views.Cell{Value: views.Term("promise_state", j.Result.State)}
		conditions := views.Cell{Value: views.Say("roof.promise.over")}
		if j.InForce() {
			state.Note = views.Say("roof.promise.share", "share", views.PromiseShare(j.Result.ShareLeast, j.Result.Share))
			conditions = views.Cell{Value: views.Say("roof.promise.notshown", "count", j.NotShown())}
			if j.NotShown() > 0 {
				conditions.URL = url + "#conditions"
			}
		}
		t.Rows = append(t.Rows, views.NewRow(views.Cell{Value: j.Terms.Name, URL: url, Note: views.Say("roof.promise.by", "who", views.OwedBy(j.Warranty.OwedBy))},
			state, j.Result.LastDay, conditions))
	}
	return t
}

func roofCallbacks(callbacks []models.Callback) views.Table {
	t := views.Table{ID: "callbacks", Stacks: true, Caption: views.Say("roof.callbacks.caption"), Empty: views.Say("roof.callbacks.none"), Columns: []views.Column{
		{Head: views.Say("roof.callback.about")}, {Head: views.Say("roof.callback.learned")}, {Head: views.Say("roof.callback.cause")}, {Head: views.Say("roof.callback.closed")}}}
	for i := len(callbacks) - 1; i >= 0; i-- {
		c := &callbacks[i]
		said := c.About
		if said == "" {
			said = c.Ref
		}
		var cause any = views.Say("unknown")
		if c.CauseFound != "" {
			cause = views.Term("cause", c.CauseFound)
		}
		var closed any = views.Say("roof.callback.open")
		switch {
		case !c.ClosedOn.IsZero():
			closed = c.ClosedOn
		case c.State == "refused":
			closed = views.Say("roof.callback.refused")
		}
		t.Rows = append(t.Rows, views.NewRow(views.Cell{Value: said, URL: fmt.Sprintf("/callbacks/%d", c.ID)}, c.LearnedOn, cause, closed))
	}
	return t
}

// roofVisits tells the visits to the house, the newest first, each with what it
// found, also of what lay there before and of its other roofs, and that it was so.
func roofVisits(page *service.RoofPage) []views.RoofVisit {
	rated := map[int64]*portfolio.Look{}
	for i := range page.Looks {
		rated[page.Looks[i].Visit.ID] = &page.Looks[i]
	}
	slope := map[int64]string{}
	for _, s := range page.File.Slopes {
		slope[s.ID] = s.Name
	}
	var out []views.RoofVisit
	for i := len(page.File.Visits) - 1; i >= 0; i-- {
		v := &page.File.Visits[i]
		shown := views.RoofVisit{On: v.On(), Who: v.ByName, URL: fmt.Sprintf("/visits/%d", v.ID), Notes: v.Notes}
		purpose := views.Term("purpose", v.Purpose)
		switch {
		case !v.DoneOn.IsZero():
			method := views.Term("looked", v.Method)
			switch {
			case v.DoneOn < page.File.Roof.Laid.Earliest():
				shown.What = views.Say("roof.visit.before", "purpose", purpose, "method", method)
			case v.RoofID != nil && *v.RoofID != page.File.Roof.ID:
				shown.What = views.Say("roof.visit.other", "purpose", purpose, "method", method)
			default:
				shown.What = views.Say("roof.visit.done", "purpose", purpose, "method", method)
			}
		case !v.CancelledOn.IsZero():
			continue
		case !v.DeclinedOn.IsZero():
			shown.On, shown.What = v.DeclinedOn, views.Say("roof.visit.declined", "purpose", purpose)
		case !v.BookedFor.IsZero():
			shown.What = views.Say("roof.visit.booked", "purpose", purpose)
		default:
			shown.What = views.Say("roof.visit.offered", "purpose", purpose)
		}
		if v.SeenBefore != nil && *v.SeenBefore {
			shown.Seen = views.Say("roof.visit.seen")
		}
		if look := rated[v.ID]; look != nil {
			if covering := look.Result.Part(wear.Covering); covering.Rating != nil {
				shown.Rating, shown.Slopes = views.Say("roof.visit.rating", "rating", whole(*covering.Rating)), slopesRated(look, covering.Slopes, slope)
			}
		}
		if page.Kept == nil {
			shown.Found = findings(page.File.Findings[v.ID], slope)
		}
		out = append(out, shown)
	}
	return out
}

// slopesRated tells what a look rates each slope that it told apart.
func slopesRated(look *portfolio.Look, of []wear.SlopeRating, names map[int64]string) views.Phrase {
	var out []views.Phrase
	for _, s := range of {
		name := names[portfolio.ID(s.Slope)]
		switch {
		case s.Rating != nil:
			out = append(out, views.Say("roof.visit.slope", "slope", name, "rating", whole(*s.Rating)))
		case !look.Visit.Saw(portfolio.ID(s.Slope)):
			out = append(out, views.Say("roof.visit.slope.unseen", "slope", name))
		default:
			out = append(out, views.Say("roof.visit.slope.notlooked", "slope", name))
		}
	}
	if len(out) == 0 {
		return views.Phrase{}
	}
	return views.Say("roof.visit.slopes", "slopes", out)
}

// findings words the defects that a visit saw, the worst first.
func findings(of []models.Finding, slope map[int64]string) []views.Phrase {
	seen := slices.DeleteFunc(slices.Clone(of), func(f models.Finding) bool { return f.Look != "seen" || f.Severity == nil })
	slices.SortStableFunc(seen, func(a, b models.Finding) int { return cmp.Compare(*b.Severity, *a.Severity) })
	var out []views.Phrase
	for _, f := range seen {
		said := views.Say("roof.found", "defect", views.Term("defect", f.Defect), "severity", views.Term("severity", strconv.Itoa(*f.Severity)))
		if f.SlopeID != nil && slope[*f.SlopeID] != "" {
			said = views.Say("roof.found.on", "defect", views.Term("defect", f.Defect), "severity", views.Term("severity", strconv.Itoa(*f.Severity)), "slope", slope[*f.SlopeID])
		}
		out = append(out, said)
	}
	return out
}

func compass(degrees *float64) any {
	if degrees == nil {
		return views.Say("unknown")
	}
	names := []string{"n", "ne", "e", "se", "s", "sw", "w", "nw"}
	return views.Term("compass", names[int(math.Round(math.Mod(*degrees, 360)/45))%8])
}

// lapShares are the shares of a flange that its courses cover, as a roofer says
// them. Two thirds is how it should be (common practice, no source).
var lapShares = []struct {
	from float64
	key  string
}{{0.83, "all"}, {0.585, "two_thirds"}, {0.415, "half"}, {0.2, "third"}, {0, "less"}}

func lap(share *float64) any {
	if share == nil {
		return views.Say("unknown")
	}
	for _, l := range lapShares {
		if *share >= l.from {
			return views.Term("roof.lap", l.key)
		}
	}
	return views.Say("unknown")
}

// small writes a length of hand size, in inches or millimetres.
func small(r *Request, l *units.Length) any {
	if l == nil {
		return views.Say("unknown")
	}
	return r.Units.SmallLength(*l)
}

// yesNoOr says yes, no, or that it is not known.
func yesNoOr(v *bool) any {
	if v == nil {
		return views.Say("unknown")
	}
	return yesOrNo(*v)
}

// floor writes an area of floor.
func floor(r *Request, a *units.Area) any {
	if a == nil {
		return views.Say("unknown")
	}
	return r.Units.Area(*a)
}

// insulation writes a thermal resistance in the company's units.
func insulation(r *Request, v *float64) any {
	switch {
	case v == nil:
		return views.Say("unknown")
	case r.Units == units.Metric:
		return views.Say("roof.insulation.rsi", "value", oneDecimal(*v))
	}
	return views.Say("roof.insulation.r", "value", int(math.Round(*v/ohm)))
}

func termOr[S ~string](known S, words views.Phrase) any {
	if known == "" {
		return views.Say("unknown")
	}
	return words
}

// partCell names a part of the building, with the way to correct it for those
// who may.
func partCell(r *Request, f *models.RoofFile, kind string, id int64, name string) views.Cell {
	cell := views.Cell{Value: name}
	if r.Actor.May(service.EditRoofs) {
		cell.URL = partURL(f.Roof.ID, kind, id)
	}
	return cell
}

func noted(c views.Cell, note views.Phrase) views.Cell {
	c.Note = note
	return c
}

func roofStructure(r *Request, f *models.RoofFile, p *views.RoofPage) {
	if r.Actor.May(service.EditRoofs) {
		for _, kind := range []string{"structures", "attics", "slopes", "vents", "gutters", "details"} {
			p.Parts = append(p.Parts, views.NavEntry{Label: views.Term("part.title", kind), URL: partURL(f.Roof.ID, kind, "new")})
		}
	}
	p.Structures = views.Table{ID: "structures", Stacks: true, Caption: views.Say("roof.structures"), Empty: views.Say("roof.structures.none"), Columns: []views.Column{{Head: views.Say("roof.structure.name")},
		{Head: views.Say("roof.structure.heated")}, {Head: views.Say("roof.structure.wall"), Numeric: true}}}
	for i := range f.Structures {
		b := &f.Structures[i]
		p.Structures.Rows = append(p.Structures.Rows, views.NewRow(noted(partCell(r, f, "structures", b.ID, b.Name), views.Term("structure_kind", b.Kind)), yesNoOr(b.Heated), small(r, b.Wall)))
	}
	p.Spaces = views.Table{ID: "attics", Stacks: true, Caption: views.Say("roof.attics"), Empty: views.Say("roof.attics.none"), Columns: []views.Column{{Head: views.Say("roof.attic")},
		{Head: views.Say("roof.attic.floor"), Numeric: true}, {Head: views.Say("roof.attic.insulation"), Numeric: true}, {Head: views.Say("roof.attic.clear"), Numeric: true},
		{Head: views.Say("roof.attic.leaks")}, {Head: views.Say("roof.attic.ducts")}, {Head: views.Say("roof.attic.retarder")}, {Head: views.Say("roof.attic.frost")}}}
	for i := range f.Attics {
		a := &f.Attics[i]
		if a.EndedOn.IsZero() {
			p.Spaces.Rows = append(p.Spaces.Rows, views.NewRow(partCell(r, f, "attics", a.ID, a.Name), floor(r, a.VentedArea), insulation(r, a.Insulation), small(r, a.ClearSpace),
				termOr(a.AirLeaks, views.Term("air_leaks", a.AirLeaks)), termOr(a.Ducts, views.Term("ducts", a.Ducts)), termOr(a.Retarder, views.Term("retarder", a.Retarder)), yesNoOr(a.FrostSeen)))
		}
	}
	p.Slopes = views.Table{ID: "slopes", Stacks: true, Caption: views.Say("roof.slopes"), Empty: views.Say("roof.slopes.none"), Columns: []views.Column{{Head: views.Say("roof.slope")},
		{Head: views.Say("roof.slope.facing")}, {Head: views.Say("roof.pitch"), Numeric: true}, {Head: views.Say("roof.area"), Numeric: true},
		{Head: views.Say("roof.slope.eave"), Numeric: true}, {Head: views.Say("roof.slope.overhang"), Numeric: true}, {Head: views.Say("roof.slope.cover")}}}
	for _, s := range f.Slopes {
		p.Slopes.Rows = append(p.Slopes.Rows, views.NewRow(partCell(r, f, "slopes", s.ID, s.Name), compass(s.Facing), s.Pitch, areaOf(r, s.Area), s.Eave, small(r, s.Overhang), eaveCover(r, &s)))
	}
	p.Vents = views.Table{ID: "vents", Stacks: true, Caption: views.Say("roof.vents"), Empty: views.Say("roof.vents.none"), Columns: []views.Column{{Head: views.Say("roof.vent")},
		{Head: views.Say("roof.vent.height")}, {Head: views.Say("roof.vent.many"), Numeric: true}, {Head: views.Say("roof.vent.free"), Numeric: true}, {Head: views.Say("roof.vent.blocked"), Numeric: true}}}
	for i := range f.Vents {
		v := &f.Vents[i]
		if v.EndedOn.IsZero() {
			p.Vents.Rows = append(p.Vents.Rows, views.NewRow(noted(partCell(r, f, "vents", v.ID, v.Name), views.Term("vent_kind", v.Kind)), views.Term("vent_height", v.Height),
				ventSize(v), ventFree(r, v), blocked(v.Blocked)))
		}
	}
	p.Gutters = views.Table{ID: "gutters", Stacks: true, Caption: views.Say("roof.gutters"), Empty: views.Say("roof.gutters.none"), Columns: []views.Column{{Head: views.Say("roof.gutter")},
		{Head: views.Say("roof.gutter.kind")}, {Head: views.Say("roof.gutter.size"), Numeric: true}, {Head: views.Say("roof.gutter.length"), Numeric: true}, {Head: views.Say("roof.gutter.lip")},
		{Head: views.Say("roof.gutter.downspouts"), Numeric: true}, {Head: views.Say("roof.gutter.guards")}}}
	for _, g := range f.Gutters {
		if !g.EndedOn.IsZero() {
			continue
		}
		p.Gutters.Rows = append(p.Gutters.Rows, views.NewRow(partCell(r, f, "gutters", g.ID, g.Name), termOr(g.Kind, views.Term("gutter_kind", g.Kind)), gutterSize(r, &g), g.Length, gutterLip(r, &g), g.Downspouts, yesNoOr(g.Guards)))
	}
	p.Details = views.Table{ID: "details", Stacks: true, Caption: views.Say("roof.details"), Empty: views.Say("roof.details.none"), Columns: []views.Column{{Head: views.Say("roof.detail")},
		{Head: views.Say("roof.detail.form")}, {Head: views.Say("roof.detail.lap")}}}
	for _, d := range f.Details {
		if !d.EndedOn.IsZero() {
			continue
		}
		// Only the flange of what comes through the roof has a lap.
		var covered any = views.Say("roof.lap.none")
		if d.Lap != nil || d.Kind == "penetration" || d.Kind == "skylight" {
			covered = lap(d.Lap)
		}
		if d.LowerEdgeOut != nil && !*d.LowerEdgeOut {
			covered = views.Cell{Value: covered, Note: views.Say("roof.lap.buried")}
		}
		p.Details.Rows = append(p.Details.Rows, views.NewRow(noted(partCell(r, f, "details", d.ID, d.Name), detailNote(&d)), termOr(d.Form, views.Term("detail_form", d.Form)), covered))
	}
}

// eaveCover says what lies under the shingles at an eave, and how far up.
func eaveCover(r *Request, s *models.Slope) any {
	kind := termOr(s.EaveCover, views.Term("eave_cover", s.EaveCover))
	if s.EaveReach == nil {
		return kind
	}
	return views.Say("roof.slope.cover.to", "cover", kind, "reach", r.Units.SmallLength(*s.EaveReach))
}

// gutterSize is a gutter's width, by its depth where that is known.
func gutterSize(r *Request, g *models.GutterRun) any {
	if g.Width == nil || g.Depth == nil {
		return small(r, g.Width)
	}
	return views.Say("roof.gutter.by", "width", r.Units.SmallLength(*g.Width), "depth", r.Units.SmallLength(*g.Depth))
}

// gutterLip says where the front lip stands from the roof's edge.
func gutterLip(r *Request, g *models.GutterRun) any {
	if g.LipReach == nil || g.LipDrop == nil {
		return views.Say("unknown")
	}
	return views.Say("roof.gutter.lip.at", "reach", r.Units.SmallLength(*g.LipReach), "drop", r.Units.SmallLength(*g.LipDrop))
}

func detailNote(d *models.Detail) views.Phrase {
	if d.Notes != "" {
		return views.Say("roof.detail.note", "kind", views.Term("detail_kind", d.Kind), "note", d.Notes)
	}
	return views.Term("detail_kind", d.Kind)
}

// ventSize says how many or how much there is of a vent.
func ventSize(v *models.Vent) any {
	switch {
	case v.Count != nil:
		return views.Say("roof.vent.count", "count", *v.Count)
	case v.Length != nil:
		return *v.Length
	case v.PanelArea != nil:
		return *v.PanelArea
	}
	return views.Say("unknown")
}

// ventFree is the stamped net free area of one vent, or of one metre or foot of
// a run.
func ventFree(r *Request, v *models.Vent) any {
	switch {
	case v.FreeArea == nil:
		return views.Say("unknown")
	case v.Length == nil:
		return views.Say("roof.vent.each", "area", r.Units.VentArea(*v.FreeArea))
	case r.Units == units.Metric:
		return views.Say("roof.vent.metre", "area", r.Units.VentArea(*v.FreeArea))
	}
	return views.Say("roof.vent.foot", "area", r.Units.VentArea(*v.FreeArea*units.Area(units.Foot.In(units.Metre))))
}

func blocked(of *float64) any {
	if of == nil {
		return views.Say("roof.vent.blocked.unsaid")
	}
	return share(*of)
}

// roofJobs tells our work on the roof, the newest first: by crews, and never a
// person.
func roofJobs(r *Request, page *service.RoofPage) []views.Event {
	var out []views.Event
	for _, j := range page.File.Jobs {
		event := views.Event{On: max(j.StartedOn, j.ClosedOn), What: views.Say("roof.job", "ref", j.Ref)}
		if j.Part != "" {
			event.What = views.Say("roof.job.part", "ref", j.Ref, "part", j.Part)
		}
		var said []views.Phrase
		if j.CrewID != nil && page.Crews[*j.CrewID] != "" {
			said = append(said, views.Plain(page.Crews[*j.CrewID]))
		}
		if j.Permit != "" {
			said = append(said, views.Say("roof.job.permit", "permit", j.Permit))
		}
		if !j.InspectedOn.IsZero() {
			said = append(said, views.Say("roof.job.inspected", "day", j.InspectedOn))
		}
		if r.Actor.May(service.SeeMoney) && j.Price > 0 {
			said = append(said, views.Say("roof.job.price", "price", j.Price))
		}
		if r.Actor.May(service.SeeMoney) && !j.PaidOn.IsZero() {
			said = append(said, views.Say("roof.job.paid", "day", j.PaidOn))
		}
		if len(said) > 0 {
			event.Detail = views.Say("roof.job.said", "what", said)
		}
		out = append(out, event)
	}
	for _, d := range page.File.Declined {
		out = append(out, views.Event{On: d.SignedOn, What: views.Say("roof.declined", "what", d.What)})
	}
	slices.SortStableFunc(out, func(a, b views.Event) int { return cmp.Compare(b.On.(units.Date), a.On.(units.Date)) })
	return out
}

func roofHolders(holders []service.Holder) []views.Event {
	var out []views.Event
	for _, h := range holders {
		event := views.Event{On: h.Holding.FromOn, What: views.Say("roof.holder", "name", h.Contact.Name, "role", views.Term("holding_role", h.Holding.Role))}
		if !h.Holding.ToOn.IsZero() {
			event.What = views.Say("roof.holder.past", "name", h.Contact.Name, "role", views.Term("holding_role", h.Holding.Role), "day", h.Holding.ToOn)
		} else if h.Contact.Phone != "" {
			event.Detail = views.Say("roof.holder.phone", "phone", h.Contact.Phone)
		}
		out = append(out, event)
	}
	return out
}
