package server

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"overhang/analytics/survival"
	"overhang/analytics/units"
	"overhang/analytics/workmanship"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
	"overhang/views/charts"
)

func (s *Server) crewRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/crews", Need: service.SeeCrews, Handle: s.showCrews},
		{Method: "POST", Path: "/crews/practices", Need: service.SeeCrews, Handle: s.addPractice},
		{Method: "GET", Path: "/crews/:id", Need: service.SeeCrews, Example: "/crews/1", Handle: s.showCrew},
	}
}

func (s *Server) showCrews(r *Request) error {
	p, err := s.crewsPage(r)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) addPractice(r *Request) error {
	f := r.Form()
	practice := &models.Practice{What: f.Text("what"), FromOn: f.Day("from_on"), CrewID: f.ID("crew_id"), Causes: f.Texts("causes"), Notes: f.Text("notes")}
	err := f.Err()
	if err == nil {
		err = s.service.SavePractice(r.ctx, r.Actor, practice)
	}
	if err != nil {
		p, unread := s.crewsPage(r)
		if unread != nil {
			return unread
		}
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect("/crews#changes", views.Say("crew.practice.saved", "what", practice.What))
}

// crewName words a group of the review.
func crewName(review *service.CrewReview, group string) any {
	if c, found := review.Crews[group]; found {
		return c.Name
	}
	return views.Say("crew.unknown")
}

func (s *Server) crewsPage(r *Request) (views.CrewsPage, error) {
	review, err := s.service.CrewReview(r.ctx, r.Actor)
	if err != nil {
		return views.CrewsPage{}, err
	}
	res := &review.Result
	p := views.CrewsPage{Frame: r.Frame(views.Callbacks)}
	p.Title = views.Say("crew.title")
	p.Opening = []views.Phrase{views.Say("crew.opening", "callbacks", res.All.Callbacks, "roofs", res.All.Roofs, "years", int(math.Round(res.All.RoofYears))).
		Link("crews", "#crews").Link("causes", "#causes")}
	beyond := 0
	for _, g := range res.Crews {
		if g.Finding == workmanship.MoreThanAll || g.Finding == workmanship.FewerThan {
			beyond++
		}
	}
	if beyond > 0 {
		p.Opening = append(p.Opening, views.Say("crew.opening.beyond", "count", beyond).Link("crews", "#crews").Link("cannot", "#cannot"))
	} else if res.All.Callbacks > 0 {
		p.Opening = append(p.Opening, views.Say("crew.opening.alike").Link("cannot", "#cannot"))
	}
	p.Crews = views.Table{ID: "crews", Stacks: true, Caption: views.Say("crew.list"), Empty: views.Say("crew.none"), Columns: []views.Column{{Head: views.Say("crew.name")},
		{Head: views.Say("crew.roofs"), Numeric: true}, {Head: views.Say("crew.squares"), Numeric: true}, {Head: views.Say("crew.years"), Numeric: true},
		{Head: views.Say("crew.callbacks"), Numeric: true}, {Head: views.Say("crew.expected"), Numeric: true}, {Head: views.Say("crew.limits"), Numeric: true},
		{Head: views.Say("crew.pace"), Numeric: true}, {Head: views.Say("crew.finding")}}}
	groups := slices.Clone(res.Crews)
	slices.SortStableFunc(groups, func(a, b workmanship.Group) int {
		return cmp.Compare(review.Crews[a.Name].Name, review.Crews[b.Name].Name)
	})
	for _, g := range groups {
		name := views.Cell{Value: crewName(review, g.Name)}
		if c, found := review.Crews[g.Name]; found {
			name.URL = crewURL(c.ID)
		}
		p.Crews.Rows = append(p.Crews.Rows, views.NewRow(name, g.Roofs, int(math.Round(g.Squares)), int(math.Round(g.RoofYears)), g.Callbacks,
			oneDecimal(g.Expected), limitsOf(g), rangeOf(g.Pace, 1), views.Term("crew_finding", g.Finding)))
	}
	p.Curve = callbackCurve("curve", res.All.Per100Squares, false)
	p.StandOut = standOut(review, "")
	p.Causes = views.Table{ID: "causes", Stacks: true, Caption: views.Say("crew.causes"), Empty: views.Say("crew.causes.none"), Columns: []views.Column{{Head: views.Say("crew.cause")},
		{Head: views.Say("crew.callbacks"), Numeric: true}, {Head: views.Say("crew.cause.rate"), Numeric: true}, {Head: views.Say("crew.cause.age"), Numeric: true}}}
	for _, c := range res.Causes {
		p.Causes.Rows = append(p.Causes.Rows, views.NewRow(causeFound(c.Cause), c.Callbacks, rangeOf(&c.Per100, 1), oneDecimal(c.AgeMiddle)))
	}
	for _, cause := range models.Causes {
		if n := review.Aside[cause]; n > 0 {
			p.Aside = append(p.Aside, views.Say("crew.aside.one", "cause", views.Term("cause", cause), "count", n))
		}
	}
	p.Details = views.Table{ID: "details", Stacks: true, Caption: views.Say("crew.details"), Empty: views.Say("crew.details.none"), Columns: []views.Column{{Head: views.Say("crew.detail")},
		{Head: views.Say("crew.callbacks"), Numeric: true}, {Head: views.Say("crew.detail.have"), Numeric: true}, {Head: views.Say("crew.detail.rate"), Numeric: true}}}
	for _, d := range res.Details {
		if !views.IsPlace(d.Detail) {
			continue
		}
		have := views.Cell{Value: views.Plain("–")}
		if d.Details > 0 {
			have.Value = d.Details
		}
		rate := views.Cell{Value: rangeOf(d.Per100Years, 1)}
		if d.Per100Years != nil && d.Counted < d.Callbacks {
			rate.Note = views.Say("crew.detail.known", "count", d.Counted)
		}
		p.Details.Rows = append(p.Details.Rows, views.NewRow(views.Place(d.Detail), d.Callbacks, have, rate))
	}
	p.Changes = changesTable(review)
	crews := make([]models.Crew, 0, len(review.Crews))
	for _, c := range review.Crews {
		crews = append(crews, c)
	}
	slices.SortFunc(crews, func(a, b models.Crew) int { return cmp.Compare(a.Name, b.Name) })
	p.Form = views.PracticeForm(p.Frame, crews)
	p.Cannot = cannot(review)
	return p, nil
}

func crewURL(id int64) string { return "/crews/" + strconv.FormatInt(id, 10) }

func limitsOf(g workmanship.Group) any {
	return views.Say("crew.limits.from", "low", g.LimitLow, "high", g.LimitHigh)
}

func rangeOf(r *workmanship.Range, decimals int) any {
	if r == nil {
		return views.Plain("–")
	}
	figure := func(v float64) string { return strconv.FormatFloat(v, 'f', decimals, 64) }
	return views.Say("crew.range", "middle", figure(r.Middle), "low", figure(r.Low), "high", figure(r.High))
}

func ratioOf(r *workmanship.Ratio) any {
	if r == nil {
		return views.Plain("–")
	}
	figure := func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
	if r.High == nil {
		return views.Say("crew.range.from", "middle", figure(r.Middle), "low", figure(r.Low))
	}
	return views.Say("crew.range", "middle", figure(r.Middle), "low", figure(r.Low), "high", figure(*r.High))
}

func causeFound(cause string) views.Phrase {
	if cause == "" {
		return views.Say("crew.cause.open")
	}
	return views.Term("cause", cause)
}

// standOut words what stands out, of one group or of all when none is named.
func standOut(review *service.CrewReview, of string) []views.Phrase {
	var out []views.Phrase
	for _, c := range review.Result.StandOut {
		if of != "" && c.Crew != of {
			continue
		}
		switch {
		case c.Cause != "":
			out = append(out, views.Say("crew.standout.cause", "crew", crewName(review, c.Crew), "cause", views.Term("cause", c.Cause),
				"callbacks", c.Callbacks, "expected", oneDecimal(c.Expected), "high", c.LimitHigh))
		case views.IsPlace(c.Detail):
			out = append(out, views.Say("crew.standout.detail", "crew", crewName(review, c.Crew), "detail", views.Place(c.Detail),
				"callbacks", c.Callbacks, "expected", oneDecimal(c.Expected), "high", c.LimitHigh))
		}
	}
	return out
}

// changeSays words what can be said of a change of practice.
func changeSays(f workmanship.Finding) views.Phrase {
	switch f {
	case workmanship.MoreThanAll:
		return views.Say("crew.change.more")
	case workmanship.FewerThan:
		return views.Say("crew.change.fewer")
	case workmanship.WithinAll:
		return views.Say("crew.change.same")
	case workmanship.TooFew:
		return views.Say("crew.change.few")
	}
	return views.Say("crew.change.never")
}

func changesTable(review *service.CrewReview) views.Table {
	t := views.Table{ID: "practices", Stacks: true, Caption: views.Say("crew.changes.list"), Empty: views.Say("crew.changes.empty"), Columns: []views.Column{
		{Head: views.Say("crew.change")}, {Head: views.Say("crew.change.before")}, {Head: views.Say("crew.change.after")}, {Head: views.Say("crew.change.ratio")}, {Head: views.Say("crew.finding")}}}
	side := func(s workmanship.Side) views.Cell {
		return views.Cell{Value: views.Say("crew.change.side", "callbacks", s.Callbacks, "roofs", s.Roofs),
			Note: views.Say("crew.change.years", "years", int(math.Round(s.RoofYears)))}
	}
	for i, practice := range review.Practices {
		c := review.Result.Changes[i]
		var crew any = views.Say("crew.practice.all")
		if practice.CrewID != nil {
			crew = crewName(review, strconv.FormatInt(*practice.CrewID, 10))
		}
		ratio := views.Cell{Value: ratioOf(c.Ratio)}
		if c.Others != nil {
			ratio.Note = views.Say("crew.change.others", "ratio", ratioOf(c.Others))
		}
		said := views.Cell{Value: changeSays(c.Finding)}
		if c.UpToAge > 0 {
			said.Note = views.Say("crew.change.upto", "years", oneDecimal(c.UpToAge))
		}
		t.Rows = append(t.Rows, views.NewRow(views.Cell{Value: practice.What, Note: views.Say("crew.change.since", "day", practice.FromOn, "crew", crew)},
			side(c.Before), side(c.After), ratio, said))
	}
	return t
}

// cannot says what the numbers can be used for, and what not.
func cannot(review *service.CrewReview) []views.Phrase {
	res := &review.Result
	out := []views.Phrase{views.Say("crew.cannot.use"), views.Say("crew.cannot.chance", "crews", len(res.Crews))}
	if res.Clump >= 1.05 {
		out = append(out, views.Say("crew.cannot.clump", "clump", oneDecimal(res.Clump)))
	}
	out = append(out, views.Say("crew.cannot.roofs"), views.Say("crew.cannot.laid"), views.Say("crew.cannot.quiet"))
	for _, c := range res.Causes {
		if c.Cause == "" {
			out = append(out, views.Say("crew.cannot.open", "count", c.Callbacks))
		}
	}
	if res.LeftOut > 0 {
		out = append(out, views.Say("crew.cannot.left", "count", res.LeftOut))
	}
	return out
}

// callbackCurve draws a mean cumulative function by quarters of a year, for each
// 100 squares or, its figures times 100, for each 100 roofs.
func callbackCurve(id string, steps []survival.EventStep, roofs bool) views.Chart {
	title, unit, times := views.Say("crew.curve"), views.Say("crew.curve.unit"), 1.0
	if roofs {
		times = 100
		title, unit = views.Say("crew.curve.roof"), views.Say("crew.curve.unit.roof")
	}
	chart := views.Chart{ID: id, Title: title, Summary: views.Say("crew.curve.none"), Numbers: &views.Table{ID: id + "-numbers", Caption: title, Empty: views.Say("crew.curve.none"),
		Columns: []views.Column{{Head: views.Say("crew.curve.age"), Numeric: true}, {Head: views.Say("crew.curve.mean"), Numeric: true}, {Head: views.Say("crew.curve.range"), Numeric: true},
			{Head: views.Say("crew.curve.watched"), Numeric: true}}}}
	var spans []charts.Span
	if n := len(steps); n > 0 {
		last := steps[n-1]
		values := []any{"age", oneDecimal(last.Age), "mean", oneDecimal(last.Mean * times), "low", oneDecimal(last.Low * times), "high", oneDecimal(last.High * times)}
		if roofs {
			chart.Summary = views.Say("crew.curve.summary.roof", values...)
		} else {
			chart.Summary = views.Say("crew.curve.summary", values...)
		}
		at := 0
		for quarter := 0; float64(quarter-1)/4 < last.Age; quarter++ {
			age := float64(quarter) / 4
			for at < n && steps[at].Age <= age {
				at++
			}
			span := charts.Span{Name: strconv.FormatFloat(age, 'f', -1, 64)}
			if at > 0 {
				s := steps[at-1]
				span.Low, span.Mid, span.High = s.Low*times, s.Mean*times, s.High*times
			}
			spans = append(spans, span)
			if quarter%4 == 0 && at > 0 {
				s := steps[at-1]
				chart.Numbers.Rows = append(chart.Numbers.Rows, views.NewRow(quarter/4, oneDecimal(span.Mid),
					views.Say("crew.limits.from", "low", oneDecimal(span.Low), "high", oneDecimal(span.High)), s.AtRisk))
			}
		}
	}
	chart.Draw = func(say func(any) string) (charts.Options, error) {
		for i := range spans {
			spans[i].Said = say(views.Say("crew.curve.said", "age", spans[i].Name, "mean", oneDecimal(spans[i].Mid), "low", oneDecimal(spans[i].Low), "high", oneDecimal(spans[i].High)))
		}
		return charts.Band(charts.Unit{Name: say(unit)}, spans)
	}
	return chart
}

func (s *Server) showCrew(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	crew, err := s.service.Crew(r.ctx, r.Actor, id)
	if err != nil {
		return err
	}
	review, err := s.service.CrewReview(r.ctx, r.Actor)
	if err != nil {
		return err
	}
	calls, err := s.service.CrewCallbacks(r.ctx, r.Actor, id)
	if err != nil {
		return err
	}
	name := strconv.FormatInt(id, 10)
	var g workmanship.Group
	for _, of := range review.Result.Crews {
		if of.Name == name {
			g = of
		}
	}
	p := views.CrewPage{Frame: r.Frame(views.Callbacks)}
	p.Title = views.Say("crew.one", "name", crew.Name)
	p.Opening = []views.Phrase{views.Say("crew.page.opening", "callbacks", g.Callbacks, "roofs", g.Roofs, "low", g.LimitLow, "high", g.LimitHigh).Link("calls", "#calls")}
	p.Facts = []views.Fact{
		{Term: views.Say("crew.facts.roofs"), Value: g.Roofs},
		{Term: views.Say("crew.squares"), Value: int(math.Round(g.Squares))},
		{Term: views.Say("crew.years"), Value: int(math.Round(g.RoofYears))},
		{Term: views.Say("crew.facts.callbacks"), Value: g.Callbacks},
		{Term: views.Say("crew.facts.expected"), Value: oneDecimal(g.Expected)},
		{Term: views.Say("crew.limits"), Value: limitsOf(g)},
		{Term: views.Say("crew.pace"), Value: rangeOf(g.Pace, 1), Note: views.Say("crew.pace.note")},
		{Term: views.Say("crew.finding"), Value: views.Term("crew_finding", cmp.Or(g.Finding, workmanship.NotWatched))},
	}
	p.Curve = callbackCurve("curve", g.PerRoof, true)
	p.StandOut = standOut(review, name)
	p.Callbacks = views.Table{ID: "calls", Stacks: true, Caption: views.Say("crew.calls"), Empty: views.Say("crew.calls.none"), Columns: []views.Column{
		{Head: views.Say("crew.calls.where")}, {Head: views.Say("crew.calls.happened")}, {Head: views.Say("crew.calls.cause")}, {Head: views.Say("crew.calls.place")}}}
	slices.SortStableFunc(calls, func(a, b store.CallbackRow) int { return cmp.Compare(b.LearnedOn, a.LearnedOn) })
	for _, c := range calls {
		place := views.Plain("–")
		if c.Place != "" {
			place = views.Place(c.Place)
		}
		happened := cmp.Or(c.HappenedOn, c.LearnedOn)
		p.Callbacks.Rows = append(p.Callbacks.Rows, views.NewRow(views.Cell{Value: cmp.Or(c.Address(), c.Ref), URL: callbackURL(c.ID), Note: views.Plain(c.Ref)},
			units.Dated{On: happened, Precision: units.ToDay}, causeFound(c.CauseFound), place))
	}
	p.Cannot = cannot(review)
	return r.Render(p)
}
