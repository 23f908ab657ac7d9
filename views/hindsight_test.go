package views

import "overhang/views/charts"

func hindsightSamples(f Frame) map[string]Page {
	curve := Chart{ID: "curve", Title: Say("hindsight.curve"), Summary: Say("hindsight.curve.summary", "furthest", "6", "allowed", "9"),
		Draw: func(say func(any) string) (charts.Options, error) {
			return charts.BandAgainst(charts.Unit{Name: say(Say("hindsight.curve.unit"))}, []charts.Span{{Name: "0"}, {Name: "50", Low: 40, Mid: 53, High: 66}}, []float64{0, 50})
		},
		Numbers: &Table{ID: "curve-numbers", Caption: Say("hindsight.curve"), Columns: []Column{{Head: Say("hindsight.curve.foretold"), Numeric: true}}, Rows: []Row{NewRow("50")}}}
	page := HindsightPage{Frame: f, Curve: &curve, Cannot: []Phrase{Say("hindsight.cannot.proof"), Say("hindsight.cannot.fresh", "count", 12)}}
	page.Title = Say("hindsight.title")
	page.Opening = []Phrase{Say("hindsight.opening", "cases", 967, "roofs", 182, "worn", 6).Link("cases", "/estimates/check/cases").Link("worn", "/estimates/check/cases?show=worn"),
		Say("hindsight.opening.lives", "verdict", Term("hindsight_verdict", "few")).Link("cannot", "#cannot")}
	page.Rivals = Table{ID: "rivals", Stacks: true, Caption: Say("hindsight.rivals"), Columns: []Column{{Head: Say("hindsight.rival")}, {Head: Say("hindsight.rival.difference"), Numeric: true}},
		Rows: []Row{NewRow(Term("hindsight_rival", "age"), Say("hindsight.range", "middle", "0.31", "low", "0.12", "high", "0.50"))}}
	page.Groups = []Table{{ID: "by-covering", Stacks: true, Caption: Say("hindsight.by.covering"), Columns: []Column{{Head: Say("hindsight.group")}, {Head: Say("hindsight.group.lives")}},
		Rows: []Row{NewRow(Term("roofing", "metal"), Term("hindsight_verdict", "fits"))}}}
	cases := HindsightCasesPage{Frame: f, Table: Table{ID: "cases", Stacks: true, Caption: Say("hindsight.cases"), Columns: []Column{{Head: Say("hindsight.cases.roof")}, {Head: Say("hindsight.cases.said")}, {Head: Say("hindsight.cases.seen")}},
		Rows: []Row{NewRow(Cell{Value: "14 Alder Lane", URL: "/roofs/3"}, YearsLeft{3, 8, 14}, Say("hindsight.cases.stands", "age", "14.2"))}}}
	cases.Title = Say("hindsight.cases")
	cases.Opening = []Phrase{Say("hindsight.cases.opening", "count", 40).Link("all", "/estimates/check")}
	return map[string]Page{"hindsight": page, "hindsight_cases": cases}
}
