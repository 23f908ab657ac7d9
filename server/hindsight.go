package server

import (
	"cmp"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"

	"overhang/analytics/hindsight"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
	"overhang/views/charts"
)

const (
	hindsightURL      = "/estimates/check"
	hindsightCasesURL = "/estimates/check/cases"
)

func (s *Server) hindsightRoutes() []Route {
	return []Route{
		{Method: "GET", Path: hindsightURL, Need: service.SeeRoofs, Handle: s.showHindsight},
		{Method: "GET", Path: hindsightCasesURL, Need: service.SeeRoofs, Handle: s.listHindsightCases},
	}
}

// hindsightVerdicts are the words of the verdicts.
var hindsightVerdicts = map[hindsight.Verdict]string{hindsight.TooFew: "few", hindsight.NotRefuted: "fits", hindsight.TooLate: "hopeful",
	hindsight.TooEarly: "gloomy", hindsight.TooSure: "sure", hindsight.TooUnsure: "unsure", hindsight.Off: "off"}

func verdictOf(v hindsight.Verdict) views.Phrase {
	return views.Term("hindsight_verdict", hindsightVerdicts[v])
}

var hindsightRivals = map[string]string{hindsight.AgeOnly: "age", hindsight.TableMinusAge: "table", hindsight.StraightLine: "line"}

// hindsightBy are the captions of the splits.
var hindsightBy = map[string]func() views.Phrase{
	"covering":  func() views.Phrase { return views.Say("hindsight.by.covering") },
	"age":       func() views.Phrase { return views.Say("hindsight.by.age") },
	"readings":  func() views.Phrase { return views.Say("hindsight.by.readings") },
	"method":    func() views.Phrase { return views.Say("hindsight.by.method") },
	"estimate":  func() views.Phrase { return views.Say("hindsight.by.estimate") },
	"inspector": func() views.Phrase { return views.Say("hindsight.by.inspector") },
}

// hindsightGroup names a group of a split.
func hindsightGroup(by, name string) views.Phrase {
	switch {
	case name == "":
		return views.Say("hindsight.unknown")
	case by == "covering" && slices.Contains(models.Families, name):
		return views.Term("roofing", name)
	case by == "method" && slices.Contains(models.VisitMethods, name):
		return views.Term("lookedby", name)
	case by == "estimate":
		return views.Term("hindsight_estimate", name)
	}
	return views.Plain(name)
}

func casesURL(pairs ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		q.Set(pairs[i], pairs[i+1])
	}
	if len(q) == 0 {
		return hindsightCasesURL
	}
	return hindsightCasesURL + "?" + q.Encode()
}

func (s *Server) showHindsight(r *Request) error {
	h, err := s.service.Hindsight(r.ctx, r.Actor)
	if err != nil {
		return err
	}
	p := views.HindsightPage{Frame: r.Frame(views.Roofs)}
	p.Title = views.Say("hindsight.title")
	p.Rivals = views.Table{ID: "rivals", Stacks: true, Caption: views.Say("hindsight.rivals"), Empty: views.Say("hindsight.rivals.empty"), Columns: []views.Column{
		{Head: views.Say("hindsight.rival")}, {Head: views.Say("hindsight.rival.what")}, {Head: views.Say("hindsight.rival.cases"), Numeric: true},
		{Head: views.Say("hindsight.rival.ours"), Numeric: true}, {Head: views.Say("hindsight.rival.theirs"), Numeric: true}, {Head: views.Say("hindsight.rival.difference"), Numeric: true}}}
	if h.Result == nil {
		p.Opening = []views.Phrase{views.Say("hindsight.none")}
	} else {
		fillHindsight(&p, h)
	}
	p.Cannot = append(p.Cannot, views.Say("hindsight.cannot.counts"), views.Say("hindsight.cannot.proof"), views.Say("hindsight.cannot.standing"), views.Say("hindsight.cannot.looks"))
	if r.Actor.May(service.SeeCrews) {
		p.Cannot = append(p.Cannot, views.Say("hindsight.cannot.people"))
	}
	if h.Fresh > 0 {
		p.Cannot = append(p.Cannot, views.Say("hindsight.cannot.fresh", "count", h.Fresh))
	}
	if n := len(h.Faults); n > 0 {
		p.Cannot = append(p.Cannot, views.Say("hindsight.cannot.faults", "count", n))
	}
	return r.Render(p)
}

func fillHindsight(p *views.HindsightPage, h *service.Hindsight) {
	res := h.Result
	p.Opening = []views.Phrase{
		views.Say("hindsight.opening", "cases", res.Lives.Cases, "roofs", res.Lives.Roofs, "worn", res.Lives.WornOutRoofs).
			Link("cases", casesURL()).Link("worn", casesURL("show", "worn")),
		views.Say("hindsight.opening.lives", "verdict", verdictOf(res.Lives.Verdict)).Link("cannot", "#cannot")}
	if res.Lives.Verdict != hindsight.TooFew {
		p.Curve = hindsightCurve("curve", views.Say("hindsight.curve"), res.Curve)
	}
	if n := res.Readings; n != nil {
		way := views.Say("hindsight.higher")
		if n.Error.Value < 0 {
			way = views.Say("hindsight.lower")
		}
		why := "#cannot"
		if n.Verdict != hindsight.TooFew {
			why = "#readings"
			p.ReadingsCurve = hindsightCurve("readings", views.Say("hindsight.curve.readings"), *res.ReadingsCurve)
		}
		p.Opening = append(p.Opening, views.Say("hindsight.opening.next", "count", n.Cases, "points", oneDecimal(math.Abs(n.Error.Value)), "way", way, "verdict", verdictOf(n.Verdict)).
			Link("next", casesURL("show", "next")).Link("readings", why))
	}
	rivals := func(what views.Phrase, all []hindsight.Versus, show ...string) {
		for _, v := range all {
			behind := casesURL(append(show, "rival", hindsightRivals[v.Rival])...)
			p.Rivals.Rows = append(p.Rivals.Rows, views.NewRow(views.Term("hindsight_rival", hindsightRivals[v.Rival]), what, views.Cell{Value: v.Cases, URL: behind}, twoDecimals(v.Ours), twoDecimals(v.Theirs), rangedOf(v.Difference)))
		}
	}
	rivals(views.Say("hindsight.rival.years"), res.Lives.Rivals)
	if res.Readings != nil {
		rivals(views.Say("hindsight.rival.points"), res.Readings.Rivals, "show", "next")
	}
	for _, split := range res.Splits {
		t := views.Table{ID: "by-" + split.By, Stacks: true, Caption: hindsightBy[split.By](), Empty: views.Say("hindsight.group.empty"), Columns: []views.Column{
			{Head: views.Say("hindsight.group")}, {Head: views.Say("hindsight.group.cases"), Numeric: true}, {Head: views.Say("hindsight.group.worn"), Numeric: true},
			{Head: views.Say("hindsight.group.lives")}, {Head: views.Say("hindsight.group.next"), Numeric: true}, {Head: views.Say("hindsight.group.error"), Numeric: true},
			{Head: views.Say("hindsight.group.readings")}}}
		for _, g := range split.Groups {
			dash := any(views.Plain("–"))
			cells := []any{hindsightGroup(split.By, g.Name), dash, dash, dash, dash, dash, dash}
			if l := g.Lives; l != nil {
				cells[1] = views.Cell{Value: l.Cases, URL: casesURL("by", split.By, "group", g.Name), Note: views.Say("hindsight.group.roofs", "count", l.Roofs)}
				cells[2] = views.Cell{Value: views.Say("hindsight.group.worn.both", "seen", l.WornOut, "foretold", oneDecimal(l.Foretold)), URL: casesURL("by", split.By, "group", g.Name, "show", "worn")}
				cells[3] = verdictOf(l.Verdict)
			}
			if n := g.Readings; n != nil {
				cells[4] = views.Cell{Value: n.Cases, URL: casesURL("by", split.By, "group", g.Name, "show", "next")}
				cells[5], cells[6] = rangedOf(n.Error), verdictOf(n.Verdict)
			}
			t.Rows = append(t.Rows, views.NewRow(cells...))
		}
		p.Groups = append(p.Groups, t)
	}
}

// rangedOf writes a figure with its range, or alone where there are too few roofs
// for one.
func rangedOf(v hindsight.Ranged) any {
	if v.Low == nil {
		return twoDecimals(v.Value)
	}
	return views.Say("hindsight.range", "middle", twoDecimals(v.Value), "low", twoDecimals(*v.Low), "high", twoDecimals(*v.High))
}

func hindsightCurve(id string, title views.Phrase, c hindsight.Curve) *views.Chart {
	in100 := func(v float64) string { return strconv.Itoa(int(math.Round(100 * v))) }
	chart := &views.Chart{ID: id, Title: title, Summary: views.Say("hindsight.curve.summary", "furthest", in100(c.Furthest), "allowed", in100(c.Allowed)), Numbers: &views.Table{ID: id + "-numbers", Caption: title, Empty: views.Say("hindsight.curve.empty"),
		Columns: []views.Column{{Head: views.Say("hindsight.curve.foretold"), Numeric: true}, {Head: views.Say("hindsight.curve.seen"), Numeric: true}, {Head: views.Say("hindsight.curve.range"), Numeric: true}}}}
	for i, p := range c.Points {
		if i%4 == 0 {
			chart.Numbers.Rows = append(chart.Numbers.Rows, views.NewRow(in100(p.Foretold), in100(p.Seen), views.Say("hindsight.span", "low", in100(p.Low), "high", in100(p.High))))
		}
	}
	chart.Draw = func(say func(any) string) (charts.Options, error) {
		var spans []charts.Span
		var right []float64
		for i, p := range c.Points {
			name := ""
			if i%8 == 0 { // a fifth
				name = in100(p.Foretold)
			}
			spans = append(spans, charts.Span{Name: name, Low: 100 * p.Low, Mid: 100 * min(max(p.Seen, p.Low), p.High), High: 100 * p.High,
				Said: say(views.Say("hindsight.curve.said", "foretold", in100(p.Foretold), "seen", in100(p.Seen), "low", in100(p.Low), "high", in100(p.High)))})
			right = append(right, 100*p.Foretold)
		}
		return charts.BandAgainst(charts.Unit{Name: say(views.Say("hindsight.curve.unit"))}, spans, right)
	}
	return chart
}

const hindsightCasesPerPage = 40

func (s *Server) listHindsightCases(r *Request) error {
	h, err := s.service.Hindsight(r.ctx, r.Actor)
	if err != nil {
		return err
	}
	by, group, show, rival := r.Query("by"), r.Query("group"), r.Query("show"), r.Query("rival")
	var picked []int
	kept := 0
	for i := range h.Cases {
		c := h.Cases[i].Case
		if show == "next" && c.Next == nil || show == "worn" && c.Seen.WornAgeYears == nil && c.Seen.EndedFor != "wear" {
			continue
		}
		if show == "next" {
			c.Method, c.Inspector, c.Estimate = c.Next.Method, c.Next.By, c.Next.Estimate // readings are sorted by their own
		}
		if rival == "age" && c.AgeOnly == nil || rival == "table" && c.TableAgeYears == nil || rival == "line" && c.LastRating == nil {
			continue // the simpler way says nothing of it
		}
		if by != "" && !hindsight.In(&c, by, group) {
			continue
		}
		if h.Cases[i].Kept {
			kept++
			continue
		}
		picked = append(picked, i)
	}
	slices.SortStableFunc(picked, func(a, b int) int { return cmp.Compare(h.Cases[b].AsOf, h.Cases[a].AsOf) })
	page := r.Page(hindsightCasesPerPage)
	from, size := page.Bounds()
	from = min(from, len(picked))
	p := views.HindsightCasesPage{Frame: r.Frame(views.Roofs)}
	p.Title = views.Say("hindsight.cases")
	p.Opening = []views.Phrase{views.Say("hindsight.cases.opening", "count", len(picked)).Link("all", hindsightURL)}
	if kept > 0 {
		p.Opening = append(p.Opening, views.Say("hindsight.cases.kept", "count", kept).Link("roofs", "/roofs"))
	}
	p.Table = views.Table{ID: "cases", Stacks: true, Caption: views.Say("hindsight.cases"), Empty: views.Say("hindsight.cases.empty"), Pager: r.Pager(page, len(picked)), Columns: []views.Column{
		{Head: views.Say("hindsight.cases.roof")}, {Head: views.Say("hindsight.cases.on")}, {Head: views.Say("hindsight.cases.age"), Numeric: true}, {Head: views.Say("hindsight.cases.said")},
		{Head: views.Say("hindsight.cases.seen")}, {Head: views.Say("hindsight.cases.next"), Numeric: true}}}
	var told []int64
	for _, i := range picked[from:min(from+size, len(picked))] {
		c := &h.Cases[i]
		told = append(told, c.RoofID)
		var next any = views.Plain("–")
		if c.Next != nil {
			next = views.Say("hindsight.cases.both", "read", fmt.Sprintf("%.0f", c.Next.Rating), "foretold", fmt.Sprintf("%.0f", *h.Result.Rows[i].Mean))
		}
		var said any = views.YearsLeft{Low: c.Low, Mid: c.Middle, High: c.High}
		if c.TooNew {
			said = views.Say("roof.left.toonew")
		}
		p.Table.Rows = append(p.Table.Rows, views.NewRow(views.Cell{Value: c.Address, URL: roofURL(c.RoofID), Note: views.Plain(c.Roof)}, c.AsOf, oneDecimal(c.AgeYears),
			said, seenSince(c.Seen), next))
	}
	if err := s.service.EstimateShown(r.ctx, r.Actor, told...); err != nil {
		return err
	}
	return r.Render(p)
}

// seenSince words what was seen of a covering after an estimate.
func seenSince(s hindsight.Seen) views.Phrase {
	switch {
	case s.WornAgeYears != nil:
		return views.Say("hindsight.cases.worn", "age", oneDecimal(*s.WornAgeYears))
	case s.EndedAgeYears != nil && s.EndedFor == "wear":
		return views.Say("hindsight.cases.ended.wear", "age", oneDecimal(*s.EndedAgeYears))
	case s.EndedAgeYears != nil && s.EndedFor == "other":
		return views.Say("hindsight.cases.ended.other", "age", oneDecimal(*s.EndedAgeYears))
	case s.EndedAgeYears != nil:
		return views.Say("hindsight.cases.ended", "age", oneDecimal(*s.EndedAgeYears))
	}
	return views.Say("hindsight.cases.stands", "age", oneDecimal(*s.StandsAgeYears))
}
