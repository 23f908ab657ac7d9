package views

import (
	"overhang/models"
	"overhang/views/charts"
)

func crewSamples(f Frame) map[string]Page {
	f.Nav = Nav(Callbacks, AllSections...)
	curve := Chart{ID: "curve", Title: Say("crew.curve"),
		Summary: Say("crew.curve.summary", "age", "9.5", "mean", "1.2", "low", "0.8", "high", "1.7"),
		Draw: func(say func(any) string) (charts.Options, error) {
			return charts.Band(charts.Unit{Name: say(Say("crew.curve.unit"))}, []charts.Span{{Name: "0"}, {Name: "0.25", Low: 0.1, Mid: 0.3, High: 0.6, Said: "To 0.25 years: 0.3"}})
		},
		Numbers: &Table{ID: "curve-numbers", Caption: Say("crew.curve"), Columns: []Column{{Head: Say("crew.curve.age"), Numeric: true}, {Head: Say("crew.curve.mean"), Numeric: true}},
			Rows: []Row{NewRow(1, "0.3")}}}
	list := CrewsPage{Frame: f, Curve: curve, Form: PracticeForm(f, []models.Crew{{Row: models.Row{ID: 2}, Name: "Birch"}})}
	list.Title = Say("crew.title")
	list.Opening = []Phrase{Say("crew.opening", "callbacks", 57, "roofs", 412, "years", 1830).Link("crews", "#crews").Link("causes", "#causes"),
		Say("crew.opening.alike").Link("cannot", "#cannot")}
	list.Crews = Table{ID: "crews", Stacks: true, Caption: Say("crew.list"), Columns: []Column{{Head: Say("crew.name")}, {Head: Say("crew.callbacks"), Numeric: true},
		{Head: Say("crew.limits"), Numeric: true}, {Head: Say("crew.finding")}},
		Rows: []Row{NewRow(Cell{Value: "Birch", URL: "/crews/2"}, 14, Say("crew.limits.from", "low", 8, "high", 24), Term("crew_finding", "within"))}}
	list.StandOut = []Phrase{Say("crew.standout.cause", "crew", "Birch", "cause", Term("cause", "lap"), "callbacks", 9, "expected", "3.1", "high", 8)}
	list.Causes = Table{ID: "causes", Caption: Say("crew.causes"), Columns: []Column{{Head: Say("crew.cause")}, {Head: Say("crew.callbacks"), Numeric: true}},
		Rows: []Row{NewRow(Term("cause", "lap"), 14)}}
	list.Aside = []Phrase{Say("crew.aside.one", "cause", Term("cause", "ice"), "count", 4)}
	list.Details = Table{ID: "details", Caption: Say("crew.details"), Empty: Say("crew.details.none"), Columns: []Column{{Head: Say("crew.detail")}}}
	list.Changes = Table{ID: "practices", Stacks: true, Caption: Say("crew.changes.list"), Columns: []Column{{Head: Say("crew.change")}, {Head: Say("crew.change.ratio")}, {Head: Say("crew.finding")}},
		Rows: []Row{NewRow(Cell{Value: "Every flange lapped two thirds", Note: Say("crew.change.since", "day", galleryDay, "crew", Say("crew.practice.all"))},
			Say("crew.range", "middle", "0.41", "low", "0.20", "high", "0.83"), Say("crew.change.fewer"))}}
	list.Cannot = []Phrase{Say("crew.cannot.use"), Say("crew.cannot.chance", "crews", 4), Say("crew.cannot.roofs")}

	one := CrewPage{Frame: f, Curve: curve, Cannot: list.Cannot, Facts: []Fact{{Term: Say("crew.facts.roofs"), Value: 96}, {Term: Say("crew.facts.expected"), Value: "15.2"}}}
	one.Title = Say("crew.one", "name", "Birch")
	one.Opening = []Phrase{Say("crew.page.opening", "callbacks", 14, "roofs", 96, "low", 8, "high", 24).Link("calls", "#calls")}
	one.Callbacks = Table{ID: "calls", Stacks: true, Caption: Say("crew.calls"), Columns: []Column{{Head: Say("crew.calls.where")}, {Head: Say("crew.calls.cause")}},
		Rows: []Row{NewRow(Cell{Value: "14 Alder Lane", URL: "/callbacks/3", Note: Plain("B-00003")}, Term("cause", "lap"))}}
	return map[string]Page{"crews": list, "crew": one}
}
