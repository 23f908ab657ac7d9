package views

import "testing"

func visitSamples(f Frame) map[string]Page {
	f.Nav = Nav(Visits, AllSections...)
	due := Table{ID: "due", Caption: Say("visits.caption"), Pick: "roofs", PickFor: "book", Columns: []Column{{Head: Say("visits.address")}, {Head: Say("visits.since")}, {Head: Say("visits.why")}}}
	row := NewRow(Cell{Value: "14 Alder Lane", URL: "/roofs/1", Note: Plain("Ferry Flats")}, Cell{Value: galleryDay, Note: Say("visits.days", "days", 31)}, []Phrase{Say("due.since_closed", "on", galleryDay)})
	row.Pick, row.Picked = "1", true
	due.Rows = []Row{row, NewRow("16 Alder Lane", nil, nil)}
	by := Field{Name: "by_name", Kind: Choice, Label: Say("visits.by"), Options: []Option{{"", Say("visits.nobody")}}}
	day := Field{Name: "booked_for", Kind: Day, Label: Say("visits.on"), Required: true}

	list := VisitsPage{Frame: f, Ways: Say("visits.ways").Link("plan", "/visits/plan"), Table: due, Book: f.Form("book", "/visits/book", Say("visits.book.submit"), day, by),
		Unbooked: f.Filter("unbooked", "/search", "", Field{Name: "q", Kind: Text, Label: Say("visits.unbooked.where")}), Days: Table{ID: "days", Caption: Say("visits.bookeddays"), Empty: Say("visits.bookeddays.empty")}, Storms: Table{ID: "storms", Caption: Say("visits.storms"), Empty: Say("visits.storms.empty")}}
	list.Title = Say("visits.title")
	list.Opening = []Phrase{Say("visits.opening", "roofs", 46).Link("due", "/visits"), Say("visits.overdue", "roofs", 9).Link("overdue", "/visits?state=overdue"), Say("visits.closed", "opens", galleryDay)}

	stops := due
	stops.Pick, stops.ID = "", "day-1"
	plan := VisitPlanPage{Frame: f, Left: []Phrase{Say("visitplan.later", "roofs", 4).Link("due", "/visits")},
		Days: []ProposedDay{{Heading: Say("visitplan.day", "number", 1), Summary: Say("visitplan.summary", "stops", 2, "distance", "1.2 mi", "hours", Say("visitplan.hours", "hours", 3)),
			Stops: stops, Book: f.Form("book-1", "/visits/plan", Say("visitplan.book"), day, by)}}}
	plan.Title = Say("visitplan.title")

	sheet := VisitDayPage{Frame: f, Ways: Say("visitday.ways").Link("before", "/visits/day/2026-11-24").Link("after", "/visits/day/2026-11-26").Link("due", "/visits"),
		Routes: []RouteSheet{{Heading: Plain("Ines Marlow"), Summary: Say("visitday.summary", "stops", 1, "distance", "0 ft"), Stops: []RouteStop{{Name: "14 Alder Lane", What: Term("purpose", "checkup"),
			Phone: "+1 555-0134", Facts: []Fact{{Term: Say("visitday.notes"), Value: "A dog in the yard"},
				{Term: Say("visitday.slopes"), Value: []Phrase{Plain("South"), Plain("North")}, Note: Say("visitday.slopes.mark")}}, Ways: Say("visitday.ways.record").Link("record", "/visits/1")}}}}}
	sheet.Title = Say("visitday.title", "day", galleryDay)

	record := f.Form("record", "/visits/1", Say("visit.save"), Field{Name: "method", Kind: One, Label: Say("visit.method"), Options: []Option{{"street", Term("lookedby", "street")}}},
		Field{Name: "in_sight", Kind: Several, Label: Say("visit.sight"), Hint: Say("visit.sight.hint"), Values: []string{"1"}, Options: []Option{{"1", Plain("South")}, {"2", Plain("North")}, {"none", Say("visit.sight.none")}}}).
		Fold(Term("defect", "moss"), Field{Name: "look.moss", Kind: One, Label: Say("visit.look"), Value: "1", Options: []Option{{"1", Say("visit.step1", "step", Term("step", "moss.1"))}}}).
		Fold(Say("visit.line.on", "defect", Term("defect", "moss"), "slope", "North"), Field{Name: "slope.moss.2", Kind: Choice, Label: Say("visit.slope"), Error: "was not in sight", Value: "2",
			Options: []Option{{"", Say("visit.slope.choose")}, {"2", Plain("North")}, {"all", Say("visit.slope.rest")}}})
	line := record.Last()
	line.Line, line.Opened, line.Class, line.More = true, true, "not-ladder", &More{Label: Say("visit.more"), Value: "moss", At: "record-slope.moss.3"}
	record.Fold(Say("visit.line.none", "what", Term("defect", "stains")), Field{Name: "look.stains", Kind: One, Label: Say("visit.look"), Value: "none", Options: []Option{{"none", Say("visit.look.none")}}}).Last().Tucked = true
	one := VisitPage{Frame: f, Phone: "555-0134", Facts: []Fact{{Term: Say("visit.by"), Value: "Ines Marlow"}, {Term: Say("visit.sight.fact"), Value: []Phrase{Plain("South")}}, {Term: Say("visit.seen"), Value: Say("visit.yes"), Note: Say("visit.seen.note", "days", 30)}}, Record: record,
		Findings: Table{ID: "findings", Caption: Say("visit.findings.caption"), Columns: []Column{{Head: Say("visit.defect")}, {Head: Say("visit.severity")}}, Rows: []Row{NewRow(Term("defect", "moss"), Term("severity", "1"))}},
		Rates: Table{ID: "rates", Caption: Say("visit.rates.caption"), Columns: []Column{{Head: Say("visit.rates.part")}, {Head: Say("visit.rates.points")}, {Head: Say("visit.rates.cost")}},
			Rows: []Row{NewRow(Cell{Value: Term("part", "covering"), Note: Say("visit.rates.notlooked", "missed", 12, "all", 13)}, Cell{Value: Say("visit.rates.rating", "rating", 94, "low", 76, "high", 100), Note: Say("visit.rates.worst", "slope", "North")},
				Cell{Value: Say("visit.rates.takes", "defect", Term("defect", "moss"), "points", 6), Note: Say("visit.rates.gives", "gain", 6)})}},
		Slopes: Table{ID: "slope-rates", Caption: Say("visit.slopes.caption"), Columns: []Column{{Head: Say("visit.slope")}, {Head: Say("visit.rates.points")}, {Head: Say("visit.rates.cost")}},
			Rows: []Row{NewRow("South", Say("visit.rates.rating", "rating", 94, "low", 79, "high", 100), Term("defect", "moss")), NewRow("North", Say("visit.slopes.unseen"), nil)}},
		Aside: Say("visit.rates.aside", "findings", 1), Kept: []Phrase{Say("visit.kept", "day", galleryDay).Link("visit", "/visits/2")},
		Move: f.Form("moving", "/visits/1/move", Say("visit.move.submit"), day, by), Decline: f.Form("decline", "/visits/1/end", Say("visit.decline")), Cancel: f.Form("cancel", "/visits/1/end", Say("visit.cancel"))}
	one.Title = Say("visit.title", "purpose", Term("purpose", "checkup"), "address", "14 Alder Lane")

	unplanned := NewVisitPage{Frame: f, Record: record, Book: f.Form("book", "/roofs/1/visits/book", Say("newvisit.book.submit"), day, by)}
	unplanned.Title = Say("newvisit.title", "address", "14 Alder Lane")
	return map[string]Page{"visits": list, "visit_plan": plan, "visit_day": sheet, "visit": one, "new_visit": unplanned}
}

func TestCall(t *testing.T) {
	for phone, want := range map[string]string{"+1 (555) 0134": "tel:+15550134", "555-0134 javascript:alert(1)": "tel:55501341", "": "tel:"} {
		if got := string(RouteStop{Phone: phone}.Call()); got != want {
			t.Errorf("%q rings %q, want %q", phone, got, want)
		}
	}
}
