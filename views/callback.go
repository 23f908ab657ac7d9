package views

import (
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
)

// CallbacksPage lists callbacks, the most pressing first.
type CallbacksPage struct {
	Frame
	New    string // where a call is written down; empty for those who do not
	Crews  string // how each crew's work holds; empty for those who may not see it
	Parts  []NavEntry
	Filter *Form
	Table  Table
}

// Template is "callbacks".
func (CallbacksPage) Template() string { return "callbacks" }

// CallPage takes a call in, all on one screen.
type CallPage struct {
	Frame
	Form  *Form
	Found Phrase // what the search found
}

// Who is what is asked first.
func (p CallPage) Who() []Field { return p.Form.Groups[0].Fields }

// Address is the address as said, by which houses are found.
func (p CallPage) Address() Field { return p.Form.Groups[1].Fields[0] }

// Place is the choice among the houses and open callbacks that were found.
func (p CallPage) Place() Field { return p.Form.Groups[1].Fields[1] }

// More is what can wait.
func (p CallPage) More() []Field { return p.Form.Groups[2].Fields }

// Template is "call".
func (CallPage) Template() string { return "call" }

// NewCallPage makes the page on which a call is written down. The places are the
// houses and open callbacks that were found; found says how many, and is empty
// before anything was looked for.
func NewCallPage(f Frame, places []Option, found Phrase) CallPage {
	f.Title = Say("call.title")
	options := append([]Option{{"", Say("call.place.later")}}, places...)
	p := CallPage{Frame: f, Found: found}
	p.Form = f.Form("call", "/callbacks", Say("call.submit"),
		Field{Name: "caller", Kind: Text, Label: Say("callback.caller"), Autofill: "off"},
		Field{Name: "phone", Kind: Phone, Label: Say("callback.phone"), Autofill: "off"},
		Field{Name: "about", Kind: Long, Label: Say("call.about"), Required: true},
		waterField(""),
	).Group(Say("call.house"),
		Field{Name: "address_given", Kind: Text, Label: Say("call.address"), Hint: Say("call.address.hint")},
		Field{Name: "place", Kind: One, Label: Say("call.place"), Options: options},
	).Group(Say("call.more"),
		Field{Name: "cause_reported", Kind: Choice, Label: Say("callback.cause.reported"), Options: causeOptions()},
		Field{Name: "happened_on", Kind: Day, Label: Say("callback.happened"), Hint: Say("callback.happened.hint")})
	p.Form.Cancel = "/callbacks"
	return p
}

func waterField(value string) Field {
	return Field{Name: "water_coming_in", Kind: One, Label: Say("callback.water.ask"), Value: value,
		Options: []Option{{"yes", Say("yes")}, {"no", Say("no")}}}
}

// CallbackPage is the whole story of one callback, and what can be done with it.
type CallbackPage struct {
	Frame
	Water bool   // coming in
	Climb bool   // somebody is still to go up
	Phone string // to ring back
	Facts []Fact
	Tried *Form // nothing but a button each; nil for those who do not take calls
	Got   *Form
	Find  *Form // the house, where it is not known yet
	Found Phrase
	House *Form // those that were found
	Step  *Form // through its states
	Said  *Form // what was written down when the call came
	Story []Event
	Looks *Table
	Costs *Table
	Total units.Money
	Cost  *Form

	History []Event
}

// Template is "callback".
func (CallbackPage) Template() string { return "callback" }

// CallbackFilter narrows the list: the part of it that is shown stays.
func CallbackFilter(f Frame, state, text string, contacts bool) *Form {
	label := Say("callback.search")
	if contacts {
		label = Say("callback.search.contacts")
	}
	return f.Filter("narrow", "/callbacks", "callbacks",
		Field{Name: "state", Kind: Hidden, Value: state},
		Field{Name: "q", Kind: Text, Label: label, Value: text})
}

// StepForm takes a callback through its states.
func StepForm(f Frame, action string, c *models.Callback) *Form {
	var states []Option
	for _, s := range models.CallbackStates {
		states = append(states, Option{s, Term("callback_state", s)})
	}
	waiting, bearers, places := []Option{{"", Say("callback.waiting.nothing")}}, []Option{{"", Say("unknown")}}, []Option{{"", Say("unknown")}}
	for _, w := range models.WaitingFor {
		waiting = append(waiting, Option{w, Term("waiting", w)})
	}
	for _, b := range models.Bearers {
		bearers = append(bearers, Option{b, Term("bearer", b)})
	}
	for _, p := range models.Places {
		places = append(places, Option{p, Place(p)})
	}
	return f.Form("step", action, Say("callback.save"),
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(c.Version, 10)},
		Field{Name: "state", Kind: Choice, Label: Say("callback.state"), Value: c.State, Options: states},
		Field{Name: "waiting_on", Kind: Choice, Label: Say("callback.waiting"), Value: c.WaitingOn, Options: waiting},
		Field{Name: "covered_on", Kind: Day, Label: Say("callback.covered"), Value: dayText(c.CoveredOn)},
	).Group(Say("callback.look"),
		Field{Name: "looked_on", Kind: Day, Label: Say("callback.looked"), Value: dayText(c.LookedOn)},
		Field{Name: "cause_found", Kind: Choice, Label: Say("callback.cause.found"), Value: c.CauseFound, Options: causeOptions()},
		Field{Name: "place", Kind: Choice, Label: Say("callback.place"), Value: c.Place, Options: places},
	).Group(Say("callback.decision"),
		Field{Name: "decided_on", Kind: Day, Label: Say("callback.decided"), Hint: Say("callback.today.hint"), Value: dayText(c.DecidedOn)},
		Field{Name: "refused_because", Kind: Long, Label: Say("callback.refused.because"), Value: c.RefusedBecause},
		Field{Name: "bearer", Kind: Choice, Label: Say("callback.bearer"), Value: c.Bearer, Options: bearers},
	).Group(Say("callback.repair"),
		Field{Name: "repaired_on", Kind: Day, Label: Say("callback.repaired"), Value: dayText(c.RepairedOn)},
		Field{Name: "closed_on", Kind: Day, Label: Say("callback.closed"), Hint: Say("callback.closed.hint"), Value: dayText(c.ClosedOn)})
}

// SaidForm corrects what was written down when the call came. Earlier are the
// earlier callbacks of the house, of which this may be the return.
func SaidForm(f Frame, action string, c *models.Callback, earlier []Option) *Form {
	water := "no"
	if c.WaterComingIn {
		water = "yes"
	}
	return f.Form("said", action, Say("callback.save"),
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(c.Version, 10)},
		Field{Name: "form", Kind: Hidden, Value: "said"},
		Field{Name: "caller", Kind: Text, Label: Say("callback.caller"), Value: c.Caller, Autofill: "off"},
		Field{Name: "phone", Kind: Phone, Label: Say("callback.phone"), Value: c.Phone, Autofill: "off"},
		Field{Name: "address_given", Kind: Text, Label: Say("callback.address.given"), Value: c.AddressGiven},
		Field{Name: "about", Kind: Long, Label: Say("call.about"), Value: c.About},
		waterField(water),
		Field{Name: "cause_reported", Kind: Choice, Label: Say("callback.cause.reported"), Value: c.CauseReported, Options: causeOptions()},
		Field{Name: "happened_on", Kind: Day, Label: Say("callback.happened"), Hint: Say("callback.happened.hint"), Value: dayText(c.HappenedOn)},
		Field{Name: "learned_on", Kind: Day, Label: Say("callback.learned"), Value: dayText(c.LearnedOn), Required: true},
		Field{Name: "return_of", Kind: Choice, Label: Say("callback.returnof"), Value: idText(c.ReturnOf), Options: append([]Option{{"", Say("callback.returnof.none")}}, earlier...)},
		Field{Name: "notes", Kind: Long, Label: Say("callback.notes"), Value: c.Notes})
}

// CostForm adds a cost line to a callback.
func CostForm(f Frame, action string) *Form {
	var kinds []Option
	for _, k := range models.CostKinds {
		kinds = append(kinds, Option{k, Term("cost_kind", k)})
	}
	return f.Form("cost", action, Say("callback.cost.add"),
		Field{Name: "kind", Kind: Choice, Label: Say("callback.cost.kind"), Value: "labour", Options: kinds},
		Field{Name: "on", Kind: Day, Label: Say("callback.cost.on"), Value: dayText(f.Today), Required: true},
		Field{Name: "hours", Kind: Number, Label: Say("callback.cost.hours"), Hint: Say("callback.cost.hours.hint"), Unit: Say("callback.cost.h")},
		Field{Name: "amount", Kind: Number, Label: Say("callback.cost.amount"), Hint: Say("callback.cost.amount.hint")},
		Field{Name: "note", Kind: Text, Label: Say("callback.cost.note")})
}

// ChosenHouseForm says which house a callback is about, of those that were found.
func ChosenHouseForm(f Frame, action string, version int64, houses []Option) *Form {
	return f.Form("house", action, Say("callback.house.submit"),
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(version, 10)},
		Field{Name: "house_id", Kind: One, Label: Say("callback.house.choose"), Options: houses})
}

// FindForm looks for the house of a callback, on the callback's own page.
func FindForm(f Frame, action, text string) *Form {
	form := f.Filter("find", action, "houses", Field{Name: "where", Kind: Text, Label: Say("call.find.label"), Value: text})
	form.Submit = Say("call.find")
	return form
}

// Place words where on a house a callback is.
func Place(place string) Phrase {
	switch place {
	case "slope", "eave", "ridge", "rake", "gutter", "attic", "yard":
		return Term("callback_place", place)
	}
	return Term("detail_kind", place)
}

func causeOptions() []Option {
	options := []Option{{"", Say("unknown")}}
	for _, c := range models.Causes {
		options = append(options, Option{c, Term("cause", c)})
	}
	return options
}
