package views

import (
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

func callbackSamples(f Frame) map[string]Page {
	f.Nav = Nav(Callbacks, AllSections...)
	list := CallbacksPage{Frame: f, New: "/callbacks/new", Filter: CallbackFilter(f, "open", "", true)}
	list.Title = Say("section.callbacks")
	list.Opening = []Phrase{Say("callback.open", "count", 7).Link("open", "/callbacks"), Say("callback.late", "count", 2).Link("late", "/callbacks?state=late"),
		Say("callback.water", "count", 1).Link("water", "/callbacks?state=water")}
	for _, part := range []string{"open", "water", "late", "new", "to_look", "accepted", "refused", "repaired", "closed"} {
		list.Parts = append(list.Parts, NavEntry{Label: Term("callback_part", part), URL: "/callbacks?state=" + part, Current: part == "open"})
	}
	list.Table = Table{ID: "callbacks", Caption: Term("callback_part", "open"),
		Columns: []Column{{Head: Say("callback.where")}, {Head: Say("callback.about")}, {Head: Say("callback.state")}, {Head: Say("callback.cost"), Numeric: true}},
		Rows: []Row{NewRow(Cell{Value: "14 Alder Lane", URL: "/callbacks/3", Note: Plain("B-00003")}, "A stain beside the chimney",
			Cell{Value: Term("callback_state", "new"), Note: Say("callback.wet")}, Cents(41250))}}

	call := NewCallPage(f, []Option{{"callback:3", Say("call.place.joins", "address", "14 Alder Lane", "ref", "B-00003", "day", galleryDay)},
		{"house:7", Say("call.place.ours", "address", "14 Alder Lane", "roof", "R-00007")}}, Say("call.found", "count", 1))
	call.Form.Keep(map[string][]string{"caller": {"Tove Lindqvist"}, "address_given": {"alder"}, "phone": {"none"}}).Refuse("Something needs another look.",
		map[string]string{"phone": "write a telephone number", "water_coming_in": "ask the caller, and choose yes or no"})

	c := &models.Callback{Row: models.Row{ID: 3, Version: 2}, Ref: "B-00003", State: "to_look", About: "A stain beside the chimney", LearnedOn: galleryDay}
	one := CallbackPage{Frame: f, Water: true, Climb: true, Phone: "555-0134", Total: 41250}
	one.Title = Say("callback.title", "ref", c.Ref)
	one.Opening = []Phrase{Term("callback_is", "to_look"), Say("callback.is.wet")}
	one.Facts = []Fact{{Term: Say("promise.roof"), Value: "14 Alder Lane", Note: Say("callback.where.later")}, {Term: Say("callback.about"), Value: c.About}}
	one.Tried, one.Got = f.Form("tried", "/callbacks/3/ring-back", Say("callback.tried")), f.Form("got", "/callbacks/3/ring-back", Say("callback.got"))
	one.Tried.Plain, one.Got.Plain = true, true
	one.Find, one.Found = FindForm(f, "/callbacks/3", "14 Alder"), Say("call.found", "count", 1)
	one.House = ChosenHouseForm(f, "/callbacks/3/house", 2, []Option{{"7", Say("call.place.ours", "address", "14 Alder Lane", "roof", "R-00007")}})
	one.Step, one.Said, one.Cost = StepForm(f, "/callbacks/3", c), SaidForm(f, "/callbacks/3", c, nil), CostForm(f, "/callbacks/3/costs")
	one.Story = []Event{{On: time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC), What: Say("callback.story.rang", "caller", "Tove Lindqvist"), Detail: Plain(c.About)},
		{On: units.NewDate(2026, 11, 23), What: Say("callback.story.happened")}}
	one.Looks = &Table{ID: "looks", Caption: Say("callback.looks"), Empty: Say("callback.looks.none"), Columns: []Column{{Head: Say("callback.looks.day")}}}
	one.Costs = &Table{ID: "costs", Caption: Say("callback.costs"), Columns: []Column{{Head: Say("callback.cost.kind")}, {Head: Say("callback.cost.amount"), Numeric: true}},
		Rows: []Row{NewRow(Term("cost_kind", "labour"), Cents(41250))}}
	one.History = []Event{{On: galleryDay, Who: "Ines Marlow", What: Say("change.given", "field", Term("column", "looked_on"), "after", galleryDay)}}
	return map[string]Page{"callbacks": list, "call": call, "callback": one}
}
