package server

import (
	"cmp"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/owed"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
	"overhang/views/charts"
)

func (s *Server) owedRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/owed", Need: service.SeeMoney, Handle: s.showOwed},
		{Method: "GET", Path: "/owed/promises", Need: service.SeeMoney, Handle: s.owedPromises},
		{Method: "GET", Path: "/owed/scenarios/new", Need: service.SeeMoney, Handle: s.newScenario},
		{Method: "POST", Path: "/owed/scenarios", Need: service.SeeMoney, Handle: s.addScenario},
		{Method: "GET", Path: "/owed/scenarios/:id", Need: service.SeeMoney, Example: "/owed/scenarios/1", Handle: s.showScenario},
		{Method: "POST", Path: "/owed/scenarios/:id", Need: service.SeeMoney, Example: "/owed/scenarios/1", Handle: s.changeScenario},
		{Method: "POST", Path: "/owed/scenarios/:id/away", Need: service.SeeMoney, Example: "/owed/scenarios/1/away", Handle: s.awayScenario},
	}
}

// mostParts is how many parts a table of the page shows before it joins the
// rest.
const mostParts = 12

func (s *Server) showOwed(r *Request) error {
	review, err := s.service.OwedReview(r.ctx, r.Actor)
	if err != nil {
		return err
	}
	res := &review.Result
	p := views.OwedPage{Frame: r.Frame(views.Promises)}
	p.Title = views.Say("owed.title")
	t := res.Total
	calls := oneDecimal(t.Callbacks)
	if t.Expected != nil && t.Low != nil && t.High != nil && t.Promises > 0 {
		p.Opening = []views.Phrase{views.Say("owed.opening", "promises", t.Promises, "callbacks", calls, "expected", *t.Expected, "low", *t.Low, "high", *t.High).
			Link("all", "/owed/promises").Link("rests", "#rests").Link("years", "#owed").Link("could", "#could")}
		if res.Distribution != nil {
			p.Opening = append(p.Opening, views.Say("owed.opening.worst", "shortfall", res.Distribution.Shortfall).Link("could", "#could"))
		}
	} else {
		p.Opening = []views.Phrase{views.Say("owed.opening.unknown", "promises", t.Promises, "callbacks", calls).Link("all", "/owed/promises").Link("rests", "#rests")}
	}
	part := owedPart(res)
	p.Years, p.Notes = part.Chart, part.Notes
	if d := res.Distribution; d != nil {
		curve := owedCurve(d)
		p.Curve = &curve
		for _, q := range d.Quantiles {
			p.Levels = append(p.Levels, views.Say("owed.level", "chance", strconv.FormatFloat(100*q.Level, 'f', -1, 64), "amount", q.Cents))
		}
	}
	for _, by := range owed.Dimensions {
		if list, told := res.By[by]; told {
			p.Parts = append(p.Parts, owedTable(review, by, list))
		}
	}
	p.Scenarios = scenarioTable(review.Scenarios)
	for _, kind := range models.ScenarioKinds {
		if kind != "lap_habit" || review.Crews {
			p.Build = append(p.Build, views.NavEntry{Label: views.Term("scenario_kind", kind), URL: "/owed/scenarios/new?kind=" + kind})
		}
	}
	p.Rates, p.Costs = ratesTable(res), causeCosts(res)
	share := func(v float64) int { return int(math.Round(100 * v)) }
	for _, spread := range res.Spreads {
		switch {
		case share(spread.SD) == 0:
		case spread.Factor == "year":
			p.Vary = append(p.Vary, views.Say("owed.vary.year", "share", share(spread.SD)))
		case spread.Factor == "lot":
			p.Vary = append(p.Vary, views.Say("owed.vary.lot", "share", share(spread.SD)))
		}
	}
	if unsure := math.Hypot(res.UnsureRates, res.UnsureCosts); share(unsure) > 0 {
		p.Vary = append(p.Vary, views.Say("owed.vary.unsure", "share", share(unsure)))
	}
	return r.Render(p)
}

// owedCurve draws the distribution, in some thirty steps of a round amount from
// nothing to what 995 in a thousand cases cost.
func owedCurve(d *owed.DistributionResult) views.Chart {
	last := d.Lattice.Quantile(.995)
	step := roundStep(last / 40)
	steps := max(1, int(math.Ceil(last/step)))
	type point struct {
		amount units.Money
		chance float64
	}
	points := make([]point, 0, steps+1)
	for i := range steps + 1 {
		x := step * float64(i)
		points = append(points, point{units.Money(math.Round(x)), 100 * d.Lattice.At(x)})
	}
	chance := func(p point) string { return strconv.FormatFloat(p.chance, 'f', 1, 64) }
	numbers := &views.Table{ID: "curve-numbers", Caption: views.Say("owed.curve"), Columns: []views.Column{{Head: views.Say("owed.curve.amount"), Numeric: true},
		{Head: views.Say("owed.curve.chance"), Numeric: true}}}
	for i, p := range points {
		if i%4 == 0 {
			numbers.Rows = append(numbers.Rows, views.NewRow(p.amount, views.Say("percent", "share", chance(p))))
		}
	}
	return views.Chart{ID: "curve", Title: views.Say("owed.curve"), Numbers: numbers,
		Summary: views.Say("owed.curve.summary", "middle", units.Money(d.Lattice.Quantile(.5)), "high", units.Money(d.Lattice.Quantile(.9))),
		Draw: func(say func(any) string) (charts.Options, error) {
			amounts := make([]charts.Amount, len(points))
			for i, p := range points {
				amounts[i] = charts.Amount{Name: say(p.amount), Value: p.chance, Said: say(views.Say("owed.curve.said", "chance", chance(p), "amount", p.amount))}
			}
			return charts.Line(charts.Unit{Name: say(views.Say("owed.curve.chance"))}, amounts)
		}}
}

// roundStep is the next 1, 2 or 5 with noughts from x on, and a dollar at least.
func roundStep(x float64) float64 {
	for step := float64(units.Dollar); ; step *= 10 {
		for _, times := range []float64{1, 2, 5} {
			if step*times >= x {
				return step * times
			}
		}
	}
}

// owedName words a part of what is ahead.
func owedName(names service.OwedNames, by, name string) any {
	if name == "" {
		return views.Say("owed.unnamed")
	}
	switch by {
	case "terms":
		return names.Terms[name]
	case "crew":
		return names.Crews[name]
	case "covering":
		return names.Coverings[name]
	case "cause":
		return views.Term("owed_cause", name)
	}
	return name
}

// causeURL leads to the callbacks that a rate of a cause, or of causes that are
// fitted together, rests on; it is empty where there are none.
func causeURL(res *owed.ModelResult, cause string) string {
	for i := range res.Rates {
		if c := &res.Rates[i]; c.Cause == cause && len(c.Causes) > 0 {
			return callbacksOf("cause", c.Causes...)
		}
	}
	return ""
}

func owedTable(review *service.OwedReview, by string, list []owed.ModelPart) views.Table {
	t := views.Table{ID: "by-" + by, Stacks: true, Caption: views.Term("owed_by", by), Empty: views.Say("owed.none"), Columns: []views.Column{{Head: views.Term("owed_by", by)},
		{Head: views.Say("owed.promises"), Numeric: true}, {Head: views.Say("owed.callbacks"), Numeric: true}, {Head: views.Say("owed.expected"), Numeric: true}, {Head: views.Say("owed.worst"), Numeric: true}}}
	list = slices.Clone(list)
	if by == "crew" { // no league table
		slices.SortStableFunc(list, func(a, b owed.ModelPart) int {
			return cmp.Compare(review.Names.Crews[a.Name], review.Names.Crews[b.Name])
		})
	}
	money := func(m *units.Money) any {
		if m == nil {
			return views.Plain("–")
		}
		return *m
	}
	for _, part := range list[:min(mostParts, len(list))] {
		name := views.Cell{Value: owedName(review.Names, by, part.Name)}
		calls := views.Cell{Value: oneDecimal(part.Callbacks)}
		if by == "cause" {
			name.URL = causeURL(&review.Result, part.Name)
		} else {
			name.URL = "/owed/promises?by=" + by + "&of=" + url.QueryEscape(part.Name)
			if part.Name != "" && slices.Contains(callbackGroups, by) {
				calls.URL = callbacksOf(by, part.Name) // those that have come already
			}
		}
		t.Rows = append(t.Rows, views.NewRow(name, part.Promises, calls, money(part.Expected), money(part.Shortfall)))
	}
	if rest := list[min(mostParts, len(list)):]; len(rest) > 0 {
		var sum owed.ModelPart
		var expected, shortfall units.Money
		for _, part := range rest {
			sum.Promises += part.Promises
			sum.Callbacks += part.Callbacks
			if part.Expected != nil {
				expected += *part.Expected
			}
			if part.Shortfall != nil {
				shortfall += *part.Shortfall
			}
		}
		t.Rows = append(t.Rows, views.NewRow(views.Say("owed.rest", "count", len(rest)), sum.Promises, oneDecimal(sum.Callbacks), expected, shortfall))
	}
	return t
}

func ratesTable(res *owed.ModelResult) views.Table {
	t := views.Table{ID: "rates", Caption: views.Say("owed.rates"), Empty: views.Say("owed.rates.none"), Columns: []views.Column{{Head: views.Say("owed.cause")}, {Head: views.Say("owed.known"), Numeric: true}}}
	var ages []int
	for _, y := range []int{0, 1, 3, 6, 9, 14} {
		if len(res.Rates) > 0 && y < len(res.Rates[0].Years) {
			ages = append(ages, y)
			t.Columns = append(t.Columns, views.Column{Head: views.Say("owed.age", "year", y), Numeric: true})
		}
	}
	figure := func(v float64) string { return strconv.FormatFloat(100*v, 'f', 1, 64) }
	for _, c := range res.Rates {
		cells := []any{views.Cell{Value: views.Term("owed_cause", c.Cause), URL: causeURL(res, c.Cause)}, oneDecimal(c.Callbacks)}
		for _, y := range ages {
			a := c.Years[y]
			cells = append(cells, views.Say("owed.rate", "middle", figure(a.Rate), "low", figure(a.Low), "high", figure(a.High)))
		}
		t.Rows = append(t.Rows, views.NewRow(cells...))
	}
	return t
}

func causeCosts(res *owed.ModelResult) views.Table {
	t := views.Table{ID: "costs", Caption: views.Say("owed.costs"), Empty: views.Say("owed.costs.none"), Columns: []views.Column{{Head: views.Say("owed.cause")},
		{Head: views.Say("owed.cost.mean"), Numeric: true}, {Head: views.Say("owed.cost.range"), Numeric: true}, {Head: views.Say("owed.cost.known"), Numeric: true}}}
	for _, c := range res.Costs {
		t.Rows = append(t.Rows, views.NewRow(views.Cell{Value: views.Term("owed_cause", c.Cause), URL: causeURL(res, c.Cause)}, c.Mean, views.Say("promise.owed.between", "low", c.Low, "high", c.High), c.Known))
	}
	return t
}

func scenarioURL(id int64) string { return fmt.Sprintf("/owed/scenarios/%d", id) }

func bearer(who string) views.Phrase {
	if who == "not_ours" {
		return views.Term("owed_bearer", who)
	}
	return views.Term("bearer", who)
}

func scenarioTable(list []service.ScenarioOutcome) views.Table {
	t := views.Table{ID: "what-if", Stacks: true, Caption: views.Say("owed.scenarios"), Empty: views.Say("owed.scenarios.none"), Columns: []views.Column{{Head: views.Say("owed.scenario")},
		{Head: views.Say("owed.scenario.roofs"), Numeric: true}, {Head: views.Say("owed.scenario.change"), Numeric: true}, {Head: views.Say("owed.scenario.ontop"), Numeric: true}, {Head: views.Say("owed.scenario.who")}}}
	for _, o := range list {
		name := views.Cell{Value: o.Scenario.Name, URL: scenarioURL(o.Scenario.ID), Note: views.Term("scenario_kind", o.Scenario.Kind)}
		if o.Wrong != "" {
			t.Rows = append(t.Rows, views.NewRow(name, len(o.Roofs), views.Plain("–"), views.Plain("–"), views.Say("owed.scenario.wrong", "reason", o.Wrong)))
			continue
		}
		who := views.Say("owed.scenario.nobody")
		for i, b := range o.With.Bearers {
			said := views.Say("owed.scenario.part", "bearer", bearer(b.Bearer), "amount", b.Cents)
			if i == 0 {
				who = said
			} else {
				who = views.Say("promise.and", "first", who, "next", said)
			}
		}
		t.Rows = append(t.Rows, views.NewRow(name, int(o.With.Promises), o.With.Change, o.With.OnTop, who))
	}
	return t
}

func (s *Server) owedPromises(r *Request) error {
	by, of := r.Query("by"), r.Query("of")
	page := r.Page(25)
	rows, total, sum, err := s.service.OwedBy(r.ctx, r.Actor, by, of, page)
	if err != nil {
		return err
	}
	p := views.OwedListPage{Frame: r.Frame(views.Promises)}
	p.Title = views.Say("owed.list.title")
	if by == "" {
		p.Title = views.Say("owed.list.all")
	}
	p.Opening = []views.Phrase{views.Say("owed.list.opening", "count", total, "expected", sum)}
	p.Table = views.Table{ID: "behind", Stacks: true, Caption: views.Say("owed.promises"), Empty: views.Say("owed.none"), Pager: r.Pager(page, total), Columns: []views.Column{
		{Head: views.Say("promise.number")}, {Head: views.Say("promise.roof")}, {Head: views.Say("promise.ends")}, {Head: views.Say("owed.callbacks"), Numeric: true}, {Head: views.Say("owed.expected"), Numeric: true}}}
	for _, row := range rows {
		p.Table.Rows = append(p.Table.Rows, views.NewRow(views.Cell{Value: row.Warranty.Ref, URL: fmt.Sprintf("/promises/%d", row.Warranty.ID), Note: views.Plain(row.Terms.Name)},
			views.Cell{Value: row.Address, URL: fmt.Sprintf("/roofs/%d", row.RoofID)}, row.EndsOn, strconv.FormatFloat(row.Callbacks, 'f', 2, 64), row.Expected))
	}
	return r.Render(p)
}

// startScenario is a new scenario of a kind, with multiples to begin from: our
// own judgement.
func startScenario(kind string, next int) *models.Scenario {
	sc := &models.Scenario{Kind: kind, RateTimes: 1, CostTimes: 1, HalfWidth: 500}
	switch kind {
	case "bad_lot":
		sc.RateTimes, sc.Bearers = 4, models.JSON[models.BearerPart]{{Bearer: "us", Share: .5}, {Bearer: "maker", Share: .5}}
	case "lap_habit":
		sc.RateTimes, sc.Cause = 4, "lap"
	case "hail_line":
		sc.Added, sc.Cause, sc.Year = .3, "storm", &next
		sc.Bearers = models.JSON[models.BearerPart]{{Bearer: "us", Share: .1}, {Bearer: "insurer", Share: .9}}
	case "ice_winter":
		sc.RateTimes, sc.Cause, sc.Year = 4, "ice", &next
	}
	return sc
}

func (s *Server) scenarioForm(r *Request, sc *models.Scenario) (*views.Form, error) {
	d, err := s.service.NewScenario(r.ctx, r.Actor)
	if err != nil {
		return nil, err
	}
	var lots, crews []views.Option
	for _, l := range d.Lots {
		lots = append(lots, views.Option{Value: l.Number, Label: views.Say("owed.scenario.lot.roofs", "lot", l.Number, "roofs", l.Roofs)})
	}
	for _, c := range d.Crews {
		crews = append(crews, views.Option{Value: strconv.FormatInt(c.ID, 10), Label: views.Plain(c.Name)})
	}
	storms := []views.Option{{Value: "", Label: views.Say("owed.scenario.storm.none")}}
	for _, st := range d.Storms {
		storms = append(storms, views.Option{Value: strconv.FormatInt(st.ID, 10), Label: views.Plain(st.Name)})
	}
	var years []views.Option
	if sc.Kind == "bad_lot" || sc.Kind == "lap_habit" {
		years = append(years, views.Option{Value: "", Label: views.Say("owed.scenario.everyyear")})
	}
	for _, y := range d.Years {
		years = append(years, views.Option{Value: strconv.Itoa(y), Label: views.Plain(strconv.Itoa(y))})
	}
	action := "/owed/scenarios"
	if sc.ID != 0 {
		action = scenarioURL(sc.ID)
	}
	return views.ScenarioForm(r.Frame(views.Promises), action, sc, lots, crews, storms, years), nil
}

func (s *Server) newScenarioPage(r *Request, kind string) (views.ScenarioPage, error) {
	if !slices.Contains(models.ScenarioKinds, kind) {
		kind = models.ScenarioKinds[0]
	}
	p := views.ScenarioPage{Frame: r.Frame(views.Promises)}
	p.Title = views.Say("owed.scenario.new", "kind", views.Term("scenario_kind", kind))
	var err error
	p.Form, err = s.scenarioForm(r, startScenario(kind, r.Today.Year()+1))
	return p, err
}

func (s *Server) newScenario(r *Request) error {
	p, err := s.newScenarioPage(r, r.Query("kind"))
	if err != nil {
		return err
	}
	return r.Render(p)
}

// readScenario takes over what was typed.
func readScenario(f *Form, sc *models.Scenario) {
	sc.Version = f.Version()
	sc.Name, sc.Kind, sc.Lot, sc.CrewID, sc.StormID = f.Text("name"), f.Text("kind"), f.Text("lot"), f.ID("crew_id"), f.ID("storm_id")
	sc.Cause, sc.Year, sc.Notes = f.Text("cause"), f.Int("year"), f.Text("notes")
	times := func(name string) float64 {
		if v := f.Number(name); v != nil {
			return *v
		}
		return 1
	}
	sc.RateTimes, sc.CostTimes, sc.Added = times("rate_times"), times("cost_times"), 0
	if v := f.Number("added"); v != nil {
		sc.Added = *v / 100
	}
	if f.Text("half_width") != views.TypedReach(sc.HalfWidth, f.system) {
		sc.HalfWidth = 0
		if v := f.Length("half_width", units.Foot, units.Metre); v != nil {
			sc.HalfWidth = *v
		}
	}
	sc.Shape, sc.Bearers = nil, nil
	for line := range strings.Lines(f.Text("shape")) {
		var p models.LatLon
		if strings.TrimSpace(line) == "" {
			continue
		}
		if _, err := fmt.Sscanf(strings.ReplaceAll(strings.TrimSpace(line), ",", " "), "%f %f", &p.Lat, &p.Lon); err != nil {
			f.Refuse("shape", "write a latitude and a longitude on each line, such as 44.01, -114.02")
			break
		}
		sc.Shape = append(sc.Shape, p)
	}
	for _, b := range models.Bearers {
		if v := f.Number("bear_" + b); v != nil && *v != 0 {
			sc.Bearers = append(sc.Bearers, models.BearerPart{Bearer: b, Share: *v / 100})
		}
	}
}

func (s *Server) addScenario(r *Request) error {
	sc := &models.Scenario{}
	f := r.Form()
	readScenario(f, sc)
	err := f.Err()
	if err == nil {
		err = s.service.SaveScenario(r.ctx, r.Actor, sc)
	}
	if err != nil {
		p, unread := s.newScenarioPage(r, sc.Kind)
		if unread != nil {
			return unread
		}
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect(scenarioURL(sc.ID), views.Say("owed.scenario.kept", "name", sc.Name))
}

func (s *Server) scenarioPage(r *Request, id int64) (*models.Scenario, views.ScenarioPage, error) {
	o, err := s.service.Scenario(r.ctx, r.Actor, id)
	if err != nil {
		return nil, views.ScenarioPage{}, err
	}
	sc := o.Scenario
	p := views.ScenarioPage{Frame: r.Frame(views.Promises)}
	p.Title = views.Say("owed.scenario.title", "name", sc.Name)
	if o.Wrong != "" {
		p.Wrong = views.Say("owed.scenario.wrong", "reason", o.Wrong)
	} else {
		p.Opening = []views.Phrase{views.Say("owed.scenario.opening", "promises", int(o.With.Promises), "expected", o.With.Expected, "base", o.Base.Expected).
			Link("roofs", fmt.Sprintf("/owed/promises?by=scenario&of=%d", id))}
		p.Beside = &views.Table{ID: "beside", Caption: views.Say("owed.scenario.beside"), Columns: []views.Column{{Head: views.Say("owed.scenario.what")},
			{Head: views.Say("owed.scenario.base"), Numeric: true}, {Head: views.Say("owed.scenario.with"), Numeric: true}}, Rows: []views.Row{
			views.NewRow(views.Say("owed.scenario.expected"), o.Base.Expected, o.With.Expected),
			views.NewRow(views.Say("owed.scenario.low"), o.Base.Low, o.With.Low),
			views.NewRow(views.Say("owed.scenario.high"), o.Base.High, o.With.High),
			views.NewRow(views.Say("owed.scenario.shortfall"), o.Base.Shortfall, o.With.Shortfall),
			views.NewRow(views.Say("owed.scenario.callbacks"), oneDecimal(o.Base.Callbacks), oneDecimal(o.With.Callbacks))}}
		p.Bearers = &views.Table{ID: "bearers", Caption: views.Say("owed.scenario.bears"), Empty: views.Say("owed.scenario.nobody"), Columns: []views.Column{
			{Head: views.Say("owed.scenario.bearer")}, {Head: views.Say("owed.scenario.amount"), Numeric: true}}}
		for _, b := range o.With.Bearers {
			p.Bearers.Rows = append(p.Bearers.Rows, views.NewRow(bearer(b.Bearer), b.Cents))
		}
	}
	if p.Form, err = s.scenarioForm(r, &sc); err != nil {
		return nil, p, err
	}
	if sc.EndedOn.IsZero() {
		p.Away = views.AwayForm(p.Frame, scenarioURL(id)+"/away", &sc)
	}
	return &sc, p, nil
}

func (s *Server) showScenario(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	_, p, err := s.scenarioPage(r, id)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) changeScenario(r *Request) error {
	return s.saveScenario(r, readScenario, func(sc *models.Scenario) (string, views.Phrase) {
		return scenarioURL(sc.ID), views.Say("owed.scenario.kept", "name", sc.Name)
	})
}

func (s *Server) awayScenario(r *Request) error {
	away := func(f *Form, sc *models.Scenario) { sc.Version, sc.EndedOn = f.Version(), r.Today }
	return s.saveScenario(r, away, func(sc *models.Scenario) (string, views.Phrase) {
		return "/owed#scenarios", views.Say("owed.scenario.gone", "name", sc.Name)
	})
}

func (s *Server) saveScenario(r *Request, read func(*Form, *models.Scenario), done func(*models.Scenario) (string, views.Phrase)) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	sc, page, err := s.scenarioPage(r, id)
	if err != nil {
		return err
	}
	f := r.Form()
	read(f, sc)
	if err = f.Err(); err == nil {
		err = s.service.SaveScenario(r.ctx, r.Actor, sc)
	}
	if err != nil {
		return r.Refused(page, page.Form, err)
	}
	to, said := done(sc)
	return r.Redirect(to, said)
}
