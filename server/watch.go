package server

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/lifespan"
	"overhang/analytics/portfolio"
	"overhang/analytics/survival"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
	"overhang/views/charts"
)

func (s *Server) watchRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/lives", Need: service.SeeRoofs, Handle: s.showLives},
		{Method: "POST", Path: "/lives/watches", Need: service.EditRoofs, Handle: s.beginWatch},
		{Method: "POST", Path: "/lives/watches/end", Need: service.EditRoofs, Handle: s.endWatch},
	}
}

func (s *Server) showLives(r *Request) error {
	p, err := s.livesPage(r)
	if err != nil {
		return err
	}
	return r.Render(p)
}

func (s *Server) beginWatch(r *Request) error {
	f := r.Form()
	w := &models.Watch{Neighbourhood: f.Text("neighbourhood"), FromOn: f.Day("from_on"), Notes: f.Text("notes")}
	err := f.Err()
	if err == nil {
		err = s.service.BeginWatch(r.ctx, r.Actor, w)
	}
	if err != nil {
		p, unread := s.livesPage(r)
		if unread != nil {
			return unread
		}
		return r.Refused(p, p.Begin, err)
	}
	return r.Redirect("/lives#watches", views.Say("lives.begun", "place", w.Neighbourhood, "day", w.FromOn))
}

func (s *Server) endWatch(r *Request) error {
	f := r.Form()
	number, read, _ := strings.Cut(f.Text("watch"), ".")
	id, unnumbered := strconv.ParseInt(number, 10, 64)
	version, unversioned := strconv.ParseInt(read, 10, 64)
	if unnumbered != nil || unversioned != nil {
		f.Refuse("watch", "choose one that goes on")
	}
	on := f.Day("to_on")
	err := f.Err()
	if err == nil {
		err = s.service.EndWatch(r.ctx, r.Actor, id, version, on)
	}
	if err != nil {
		p, unread := s.livesPage(r)
		if unread != nil {
			return unread
		}
		if p.End == nil {
			return err // it has ended meanwhile
		}
		return r.Refused(p, p.End, err)
	}
	return r.Redirect("/lives#watches", views.Say("lives.ended", "day", on))
}

// curvesFrom is how many roofs must have worn out for a curve to be drawn: with
// fewer it is a step or two.
const curvesFrom = 5

// curveYears is how many years a curve covers at the least.
const curveYears = 5

func (s *Server) livesPage(r *Request) (views.LivesPage, error) {
	report, err := s.service.LivesReport(r.ctx, r.Actor)
	if err != nil {
		return views.LivesPage{}, err
	}
	n := report.Lives.Counts
	p := views.LivesPage{Frame: r.Frame(views.Records)}
	p.Title = views.Say("lives.title")
	p.Opening = []views.Phrase{views.Say("lives.opening", "lives", n.Ours+n.Watched, "worn", n.Ended["worn_out"]).Link("counted", "#counted")}
	p.Coverings = views.Table{ID: "coverings", Stacks: true, Caption: views.Say("lives.coverings"), Empty: views.Say("lives.coverings.none"), Columns: []views.Column{
		{Head: views.Say("lives.covering")}, {Head: views.Say("lives.lives"), Numeric: true}, {Head: views.Say("lives.worn"), Numeric: true},
		{Head: views.Say("lives.table"), Numeric: true}, {Head: views.Say("lives.own"), Numeric: true}, {Head: views.Say("lives.weight"), Numeric: true}}}
	p.Groups = views.Table{ID: "groups", Caption: views.Say("lives.groups"), Empty: views.Say("lives.groups.none"), Columns: []views.Column{
		{Head: views.Say("lives.group")}, {Head: views.Say("lives.lives"), Numeric: true}, {Head: views.Say("lives.worn"), Numeric: true}, {Head: views.Say("lives.group.factor"), Numeric: true}}}
	if report.Fit == nil {
		p.Opening = append(p.Opening, views.Say("lives.opening.nofit"))
	} else {
		var most survival.PooledCovering
		for _, c := range report.Fit.Fit.Coverings {
			table, known := lifespan.For(c.Covering)
			if c.Lives == 0 || !known {
				continue
			}
			if c.Events > most.Events {
				most = c
			}
			p.Coverings.Rows = append(p.Coverings.Rows, views.NewRow(views.Term("covering_family", c.Covering), int(c.Lives), int(c.Events), oneDecimal(table.Quantile(0.5)),
				views.Say("lives.range", "middle", oneDecimal(c.MedianYears), "low", oneDecimal(c.Low), "high", oneDecimal(c.High)), share(c.Weight)))
		}
		if table, known := lifespan.For(most.Covering); known && most.Events > 0 {
			p.Opening = append(p.Opening, views.Say("lives.opening.moved", "covering", views.Term("covering_family", most.Covering), "median", oneDecimal(most.MedianYears),
				"low", oneDecimal(most.Low), "high", oneDecimal(most.High), "table", oneDecimal(table.Quantile(0.5))).Link("coverings", "#coverings"))
		}
		p.Opening = append(p.Opening, views.Say("lives.opening.fit", "day", report.Fit.AsOf))
		if c := report.Fit.Curve; c != nil {
			power := func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
			p.Curve = views.Say("lives.rating", "half", strconv.Itoa(int(math.Round(100-(100-lifespan.UsualLine)*math.Pow(0.5, c.Power)))), "usual", strconv.Itoa(int(math.Round(100-(100-lifespan.UsualLine)*math.Pow(0.5, lifespan.UsualPower)))),
				"power", power(c.Power), "low", power(c.Low), "high", power(c.High), "readings", c.Readings, "roofs", c.Coverings)
		}
		for _, g := range report.Fit.Fit.Groups {
			times := func(sd float64) string { return strconv.FormatFloat(math.Exp(g.Effect+sd*1.96*g.SD), 'f', 2, 64) }
			p.Groups.Rows = append(p.Groups.Rows, views.NewRow(g.Group, int(g.Lives), int(g.Events),
				views.Say("lives.range", "middle", times(0), "low", times(-1), "high", times(1))))
		}
	}
	if p.Curves, err = livesCurves(report); err != nil {
		return p, err
	}
	p.Counted = countedLives(n)
	p.Watches = views.Table{ID: "watches", Stacks: true, Caption: views.Say("lives.watches"), Empty: views.Say("lives.watches.none"), Columns: []views.Column{
		{Head: views.Say("lives.watch.place")}, {Head: views.Say("lives.watch.from")}, {Head: views.Say("lives.watch.to")}, {Head: views.Say("lives.watch.notes")}}}
	for _, w := range report.Watches {
		var until any = w.ToOn
		if w.ToOn.IsZero() {
			until = views.Say("lives.watch.on")
		}
		p.Watches.Rows = append(p.Watches.Rows, views.NewRow(w.Neighbourhood, w.FromOn, until, w.Notes))
	}
	if r.Actor.May(service.EditRoofs) {
		p.Begin, p.End = views.WatchForms(p.Frame, report.Neighbourhoods, report.Watches, report.Day)
	}
	return p, nil
}

// countedLives says how each roof counts, and why.
func countedLives(n portfolio.LivesCounts) views.Table {
	t := views.Table{ID: "counted", Stacks: true, Caption: views.Say("lives.counted"), Empty: views.Say("lives.counted.none"), Columns: []views.Column{
		{Head: views.Say("lives.counted.what")}, {Head: views.Say("lives.lives"), Numeric: true}, {Head: views.Say("lives.counted.how")}}}
	if n.Standing > 0 {
		t.Rows = append(t.Rows, views.NewRow(views.Say("lives.standing"), n.Standing, views.Say("lives.standing.how")))
	}
	for _, reason := range models.RoofEndReasons {
		how := views.Say("lives.storm.how")
		switch reason {
		case "worn_out":
			how = views.Say("lives.worn_out.how")
		case "unknown":
			how = views.Say("lives.unknown.how")
		}
		if n.Ended[reason] > 0 {
			t.Rows = append(t.Rows, views.NewRow(views.Term("end_reason", reason), n.Ended[reason], how))
		}
	}
	if n.TearOffs > 0 {
		t.Rows = append(t.Rows, views.NewRow(views.Say("lives.tear_off"), n.TearOffs, views.Say("lives.tear_off.how")))
	}
	return t
}

// livesCurves draws the share that still lies, for each kind of which enough wore
// out.
func livesCurves(report *service.LivesReport) ([]views.Chart, error) {
	if report.Fit == nil {
		return nil, nil
	}
	lag := report.Lives.Input.LagYears
	var out []views.Chart
	for _, f := range report.Lives.Families {
		table, known := lifespan.For(f.Family)
		_, found := report.Fit.Fit.Of(f.Family, nil)
		worn, oldest := 0, 0.0
		for _, row := range f.Rows {
			if bool(*row.Event) {
				worn++
			}
			oldest = max(oldest, row.Exit)
		}
		if !known || !found || worn < curvesFrom {
			continue
		}
		in := survival.CurveInput{Rows: f.Rows}
		for age := 0.0; age <= min(oldest, 60); age++ {
			in.At = append(in.At, age)
		}
		curve, err := survival.Curve(in)
		if err != nil {
			return nil, err
		}
		if ages := toldAges(curve.Groups[0].At); len(ages) <= curveYears {
			continue
		} else if ages[0] > curve.Groups[0].FromAge {
			in.At, in.FromAge = ages, &ages[0]
			if curve, err = survival.Curve(in); err != nil {
				return nil, err
			}
		}
		group := curve.Groups[0]
		prior := survival.Life{Distribution: survival.Weibull, Location: math.Log(table.ScaleYears), Sigma: 1 / table.Shape}
		byTable := func(age float64) float64 { return prior.Lying(age, lag) }
		// Of the places and eras that these roofs are of, each by its number.
		own := func(age float64) float64 {
			var sum, all float64
			for _, g := range f.Groups {
				pooled, _ := report.Fit.Fit.Of(f.Family, g.Groups)
				life := survival.Life{Distribution: survival.Weibull, Location: pooled.LogMedian - math.Log(math.Ln2)/pooled.Shape, Sigma: 1 / pooled.Shape}
				sum += float64(g.Lives) * life.Lying(age, lag)
				all += float64(g.Lives)
			}
			return sum / all
		}
		out = append(out, livesCurve(f.Family, group, byTable, own))
	}
	return out, nil
}

// toldAges are the ages of a curve from the one on after which enough roofs were
// watched. Before it the curve stands at all of few, as if it were known that none
// wears out so young.
func toldAges(at []survival.Step) (ages []float64) {
	for i := range at {
		if len(ages) > 0 || i+1 < len(at) && at[i+1].AtRisk >= curvesFrom {
			ages = append(ages, at[i].Age)
		}
	}
	return ages
}

// livesCurve draws one curve with its band. Where it begins above nought, the two
// that it is held against are given that this age was reached.
func livesCurve(family string, group survival.GroupCurve, prior, own func(age float64) float64) views.Chart {
	title := views.Say("lives.curve", "covering", views.Term("covering_family", family))
	id := "lying-" + strings.ReplaceAll(family, "_", "-")
	chart := views.Chart{ID: id, Title: title, Summary: title, Numbers: &views.Table{ID: id + "-numbers", Caption: title, Columns: []views.Column{
		{Head: views.Say("lives.curve.age"), Numeric: true}, {Head: views.Say("lives.curve.share"), Numeric: true}, {Head: views.Say("lives.curve.table"), Numeric: true},
		{Head: views.Say("lives.curve.pooled"), Numeric: true}, {Head: views.Say("lives.curve.risk"), Numeric: true}}}}
	var spans []charts.Span
	var tables, pools []float64
	figure := func(v float64) string { return strconv.FormatFloat(v, 'f', 0, 64) }
	for _, at := range group.At {
		low, high := at.Survival, at.Survival
		if at.Low != nil && at.High != nil {
			low, high = *at.Low, *at.High
		}
		span := charts.Span{Name: figure(at.Age), Low: 100 * low, Mid: 100 * at.Survival, High: 100 * high}
		t := 100 * prior(at.Age) / prior(group.FromAge)
		o := 100 * own(at.Age) / own(group.FromAge)
		spans, tables, pools = append(spans, span), append(tables, t), append(pools, o)
		if at.AtRisk > 0 && (math.Mod(at.Age, 5) == 0 || len(group.At) <= 10) {
			chart.Numbers.Rows = append(chart.Numbers.Rows, views.NewRow(int(at.Age),
				views.Say("lives.range", "middle", figure(span.Mid), "low", figure(span.Low), "high", figure(span.High)), figure(t), figure(o), int(math.Round(at.AtRisk))))
			if at.Survival == 1 {
				continue // nothing has worn out, so that there is no band yet
			}
			chart.Summary = views.Say("lives.curve.summary", "age", figure(at.Age), "share", figure(span.Mid), "low", figure(span.Low), "high", figure(span.High), "table", figure(t), "pooled", figure(o))
		}
	}
	chart.Draw = func(say func(any) string) (charts.Options, error) {
		drawn := slices.Clone(spans)
		for i := range drawn {
			s := &drawn[i]
			s.Said = say(views.Say("lives.curve.said", "age", s.Name, "share", figure(s.Mid), "low", figure(s.Low), "high", figure(s.High), "table", figure(tables[i]), "pooled", figure(pools[i])))
			if len(drawn) > 10 && !strings.HasSuffix(s.Name, "0") && !strings.HasSuffix(s.Name, "5") {
				s.Name = "" // every fifth year is named along the foot
			}
		}
		return charts.BandAgainst(charts.Unit{Name: say(views.Say("lives.curve.unit"))}, drawn, tables, pools)
	}
	return chart
}
