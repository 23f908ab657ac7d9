package views

import (
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

func callbackSamples(f Frame) map[string]Page {
	f.Nav = Nav(Callbacks, AllSections...)
	list := CallbacksPage{Frame: f, New: "/callbacks/new", Filter: CallbackFilter(f, map[string]string{"state": "open"}, "", true)}
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

	list.Kept = KeptTable(galleryDay.AddYears(-1), models.Kept{Due: 31, Kept: 27, NotYet: 2}, models.Kept{Due: 4, Kept: 4, NotYet: 1})

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
	one.Step, one.Said, one.Cost = StepForm(f, "/callbacks/3", c, StepChoices{Crews: []Option{{"1", Plain("North")}}, Lots: []Option{{"1", Plain("L-7")}}}), SaidForm(f, "/callbacks/3", c, nil), CostForm(f, "/callbacks/3/costs")
	one.Story = []Event{{On: time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC), What: Say("callback.story.rang", "caller", "Tove Lindqvist"), Detail: Plain(c.About)},
		{On: units.NewDate(2026, 11, 23), What: Say("callback.story.happened")}}
	one.Looks = &Table{ID: "looks", Caption: Say("callback.looks"), Empty: Say("callback.looks.none"), Columns: []Column{{Head: Say("callback.looks.day")}}}
	one.Costs = &Table{ID: "costs", Caption: Say("callback.costs"), Columns: []Column{{Head: Say("callback.cost.kind")}, {Head: Say("callback.cost.amount"), Numeric: true}},
		Rows: []Row{NewRow(Term("cost_kind", "labour"), Cents(41250))}}
	one.History = []Event{{On: galleryDay, Who: "Ines Marlow", What: Say("change.given", "field", Term("column", "looked_on"), "after", galleryDay)}}
	one.OnRoof, one.Again, one.Paid = OnRoofForm(f, "/callbacks/3/roof", c, []Option{{"4", Plain("South")}}), AgainForm(f, "/callbacks/3/return"), PaidForm(f, "/callbacks/3/paid")
	one.Claim = NewClaimForm(f, "/callbacks/3/claims", &models.Claim{Against: "maker"})
	one.Times = &Table{ID: "times", Caption: Say("callback.times"), Columns: []Column{{Head: Say("callback.times.what")}, {Head: Say("callback.times.by")}},
		Rows: []Row{NewRow(Say("callback.times.look"), galleryDay)}}
	one.Borne = &Table{ID: "borne", Caption: Say("callback.borne"), Columns: []Column{{Head: Say("callback.borne.who")}, {Head: Say("callback.borne.left"), Numeric: true}},
		Rows: []Row{NewRow(Term("bearer", "us"), Cents(41250))}}
	hours := 4.5
	cost := CostPage{Frame: f, Facts: []Fact{{Term: Say("callback.cost.kind"), Value: Term("cost_kind", "labour")}},
		Form: CorrectForm(f, "/callbacks/3/costs/1", "/callbacks/3", &models.CostLine{Kind: "labour", On: galleryDay, Hours: &hours, Amount: 41250})}
	cost.Title = Say("callback.correct.title")
	cost.Opening = []Phrase{Say("callback.correct.opening")}
	return map[string]Page{"callbacks": list, "call": call, "callback": one, "cost": cost, "claims": claimsSample(f), "claim": claimSample(f)}
}

func claimsSample(f Frame) ClaimsPage {
	p := ClaimsPage{Frame: f, Parts: []NavEntry{{Label: Term("claim_part", "open"), URL: "/claims", Current: true}}}
	p.Title = Say("claim.title.many")
	p.Opening = []Phrase{Say("claim.open", "count", 1).Link("claims", "/claims")}
	p.Table = Table{ID: "claims", Caption: Say("claim.title.many"), Columns: []Column{{Head: Say("claim")}, {Head: Say("claim.stands")}},
		Rows: []Row{NewRow(Cell{Value: "K-00001", URL: "/claims/1"}, Say("claim.state.filed"))}}
	return p
}

func claimSample(f Frame) ClaimPage {
	offer := units.Money(90000)
	p := ClaimPage{Frame: f, Sign: true, Form: ClaimForm(f, "/claims/1", &models.Claim{Against: "maker", Who: "Invented Shingle Works", FiledOn: galleryDay, Offer: &offer, ReleaseAsked: true})}
	p.Title = Say("claim.title", "ref", "K-00001")
	p.Opening = []Phrase{Say("claim.is", "state", Say("claim.state.to_sign")), Say("claim.by", "day", galleryDay, "count", 3), Say("claim.left", "left", offer).Link("callback", "/callbacks/3")}
	p.Facts = []Fact{{Term: Say("claim.against"), Value: "Invented Shingle Works", Note: Term("bearer", "maker")}}
	p.Story = []Event{{On: galleryDay, Who: "Ines Marlow", What: Term("callback_step", "claim_filed")}}
	return p
}
