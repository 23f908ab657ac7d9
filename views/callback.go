package views

import (
	"fmt"
	"math"
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
)

// CallbacksPage lists callbacks, the most pressing first.
type CallbacksPage struct {
	Frame
	New    string // where a call is written down; empty for those who do not
	Claims Phrase // the way to them; zero for those who do not see money
	Crews  string // how each crew's work holds; empty for those who may not see it
	Parts  []NavEntry
	Filter *Form
	Table  Table
	Kept   *Table // how often promised times were kept; nil for a part of the callbacks
}

// LeastForShare is of how many promised times a share is told.
func (CallbacksPage) LeastForShare() int { return models.LeastForShare }

// KeptTable tells how often promised times were kept.
func KeptTable(from units.Date, ringBack, look models.Kept) *Table {
	t := &Table{ID: "kept", Stacks: true, Caption: Say("callback.kept", "from", from), Columns: []Column{{Head: Say("callback.times.what")},
		{Head: Say("callback.kept.due"), Numeric: true}, {Head: Say("callback.kept.kept"), Numeric: true}, {Head: Say("callback.kept.notyet"), Numeric: true}}}
	for _, row := range []struct {
		what Phrase
		kept models.Kept
	}{{Say("callback.times.ringback"), ringBack}, {Say("callback.times.look"), look}} {
		kept := Cell{Value: row.kept.Kept}
		if percent, told := row.kept.Share(); told {
			kept.Note = Say("percent", "share", percent)
		}
		t.Rows = append(t.Rows, NewRow(row.what, row.kept.Due, kept, row.kept.NotYet))
	}
	return t
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
	Where []Fact // for who goes there, before all else
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
	Visit string // where a visit for it is booked or written down
	Costs *Table
	Total units.Money
	Cost  *Form

	OnRoof *Form // what the person at the house did and found
	Goer   bool  // who reads goes there, and wants it first
	There  bool  // what is next is done at the house
	Settle bool  // what is next is to settle the costs
	Times  *Table
	Borne  *Table
	Paid   *Form // all that it has cost so far
	Claims *Table
	Claim  *Form // a new one
	Again  *Form // it came back

	History []Event
}

// Template is "callback".
func (CallbackPage) Template() string { return "callback" }

// CallbackFilter narrows the list: the part of it that is shown, and the group,
// stay as kept says.
func CallbackFilter(f Frame, kept map[string]string, text string, contacts bool) *Form {
	label := Say("callback.search")
	if contacts {
		label = Say("callback.search.contacts")
	}
	var fields []Field
	for _, name := range sortedKeys(kept) {
		fields = append(fields, Field{Name: name, Kind: Hidden, Value: kept[name]})
	}
	return f.Filter("narrow", "/callbacks", "callbacks", append(fields, Field{Name: "q", Kind: Text, Label: label, Value: text})...)
}

// StepChoices are what a callback can be tied to: the crews, and what its job
// and its house have.
type StepChoices struct{ Jobs, Crews, Lots, Subcontracts, Details, Slopes []Option }

func orUnknown(options []Option) []Option { return append([]Option{{"", Say("unknown")}}, options...) }

func options(values []string, word func(string) Phrase) []Option {
	var out []Option
	for _, v := range values {
		out = append(out, Option{v, word(v)})
	}
	return out
}

func bearerTerm(v string) Phrase { return Term("bearer", v) }

func placeOptions() []Option {
	var places []Option
	for _, p := range models.Places {
		places = append(places, Option{p, Place(p)})
	}
	return orUnknown(places)
}

// relaidFields ask what a repair laid anew. The slopes are those of the roof.
func relaidFields(f Frame, c *models.Callback, slopes []Option) []Field {
	kinds := []Option{{"", Say("callback.relaid.nothing")}, {"part", Say("callback.relaid.part")}}
	fields := []Field{{Name: "relaid", Kind: Choice, Label: Say("callback.relaid.what"), Hint: Say("callback.relaid.hint"), Value: c.Relaid}}
	if len(slopes) > 0 {
		kinds = append(kinds, Option{"whole_slope", Say("callback.relaid.slope")})
		fields = append(fields, Field{Name: "relaid_slope_id", Kind: Choice, Label: Say("callback.relaid.where"), Value: idText(c.RelaidSlopeID), Options: orUnknown(slopes)})
	}
	fields[0].Options = kinds
	unit := Say("unit.ft2")
	if f.Units == units.Metric {
		unit = Say("unit.m2")
	}
	return append(fields, Field{Name: "relaid_area", Kind: Number, Label: Say("callback.relaid.area"), Hint: Say("callback.relaid.area.hint"), Unit: unit, Value: RelaidAreaText(f.Units, c)})
}

// RelaidAreaText writes the area that a repair laid anew as it stands in a field.
func RelaidAreaText(system units.System, c *models.Callback) string {
	unit := units.SquareFoot
	if system == units.Metric {
		unit = units.SquareMetre
	}
	if c.RelaidArea == nil {
		return ""
	}
	return strconv.FormatFloat(math.Round(c.RelaidArea.In(unit)*1e4)/1e4, 'f', -1, 64)
}

// Relaid says what a callback's repair laid anew; slope is the name of its slope,
// empty where it is not known. It is zero where it was nothing.
func Relaid(c *models.Callback, slope string) Phrase {
	switch {
	case c.Relaid == "whole_slope":
		return Say("callback.relaid.is.slope", "slope", slope)
	case c.Relaid != "" && slope != "":
		return Say("callback.relaid.is.part", "area", c.RelaidArea, "slope", slope)
	case c.Relaid != "":
		return Say("callback.relaid.is.area", "area", c.RelaidArea)
	}
	return Phrase{}
}

// StepForm takes a callback through its states: it offers those that may follow,
// and asks for what matters now. What is known already is tucked away, to be
// corrected.
func StepForm(f Frame, action string, c *models.Callback, choices StepChoices) *Form {
	states := []Option{{c.State, Say("callback.state.stays", "state", Term("callback_state", c.State))}}
	states = append(states, options(models.NextStates(c.State), func(v string) Phrase { return Term("callback_state", v) })...)
	waiting := append([]Option{{"", Say("callback.waiting.nothing")}}, options(models.WaitingFor, func(v string) Phrase { return Term("waiting", v) })...)
	work := []Field{
		{Name: "crew_id", Kind: Choice, Label: Say("callback.crew"), Hint: Say("callback.crew.hint"), Value: idText(c.CrewID), Options: orUnknown(choices.Crews)},
	}
	if len(choices.Jobs) > 1 {
		work = append([]Field{{Name: "job_id", Kind: Choice, Label: Say("callback.job"), Hint: Say("callback.job.hint"), Value: idText(c.JobID), Options: choices.Jobs}}, work...)
	}
	if len(choices.Lots) > 0 {
		work = append(work, Field{Name: "lot_id", Kind: Choice, Label: Say("callback.lot"), Value: idText(c.LotID), Options: orUnknown(choices.Lots)})
	}
	if len(choices.Subcontracts) > 0 {
		work = append(work, Field{Name: "subcontract_id", Kind: Choice, Label: Say("callback.subcontract"), Value: idText(c.SubcontractID), Options: orUnknown(choices.Subcontracts)})
	}
	look := []Field{
		{Name: "covered_on", Kind: Day, Label: Say("callback.covered"), Value: dayText(c.CoveredOn)},
		{Name: "looked_on", Kind: Day, Label: Say("callback.looked"), Value: dayText(c.LookedOn)},
		{Name: "cause_found", Kind: Choice, Label: Say("callback.cause.found"), Value: c.CauseFound, Options: causeOptions()},
		{Name: "place", Kind: Choice, Label: Say("callback.place"), Value: c.Place, Options: placeOptions()},
	}
	if len(choices.Details) > 0 {
		look = append(look, Field{Name: "detail_id", Kind: Choice, Label: Say("callback.detail"), Value: idText(c.DetailID), Options: orUnknown(choices.Details)})
	}
	decision := []Field{
		{Name: "accepted_for", Kind: Text, Label: Say("callback.accepted.for"), Value: c.AcceptedFor},
		{Name: "refused_because", Kind: Long, Label: Say("callback.refused.because"), Hint: Say("callback.refused.hint"), Value: c.RefusedBecause},
		{Name: "bearer", Kind: Choice, Label: Say("callback.bearer"), Value: c.Bearer, Options: orUnknown(options(models.Bearers, bearerTerm))},
		{Name: "decided_on", Kind: Day, Label: Say("callback.decided"), Hint: Say("callback.today.hint"), Value: dayText(c.DecidedOn)},
	}
	repaired := Field{Name: "repaired_on", Kind: Day, Label: Say("callback.repaired"), Hint: Say("callback.repaired.hint"), Value: dayText(c.RepairedOn)}
	closed := Field{Name: "closed_on", Kind: Day, Label: Say("callback.closed"), Hint: Say("callback.closed.hint"), Value: dayText(c.ClosedOn)}
	repair := []Field{{Name: "paid_on", Kind: Day, Label: Say("callback.paid"), Hint: Say("callback.paid.hint"), Value: dayText(c.PaidOn)}}
	now := []Field{
		{Name: "version", Kind: Hidden, Value: strconv.FormatInt(c.Version, 10)},
		{Name: "state", Kind: Choice, Label: Say("callback.state"), Value: c.State, Options: states},
	}
	if c.Open() && c.State != "repaired" {
		now = append(now, Field{Name: "waiting_on", Kind: Choice, Label: Say("callback.waiting"), Value: c.WaitingOn, Options: waiting})
	}
	if c.State == "accepted" {
		now = append(now, repaired)
	} else {
		repair = append([]Field{repaired}, repair...)
	}
	if c.State == "repaired" || c.State == "refused" {
		now = append(now, closed)
	} else {
		repair = append(repair, closed)
	}
	form := f.Form("step", action, Say("callback.save"), now...)
	if toDecide := c.State == "to_look" && !c.LookedOn.IsZero(); toDecide || c.State == "refused" {
		form.Group(Say("callback.decision"), decision...).Tuck(Say("callback.look"), look...)
	} else {
		form.Tuck(Say("callback.look"), look...).Tuck(Say("callback.decision"), decision...)
	}
	form.Tuck(Say("callback.repair"), append(repair, relaidFields(f, c, choices.Slopes)...)...)
	if c.JobID == nil {
		return form
	}
	return form.Tuck(Say("callback.work"), work...)
}

// OnRoofForm is for the person at the house, with a thumb: what was done, what
// was found, and how long it took. The slopes are those of the roof.
func OnRoofForm(f Frame, action string, c *models.Callback, slopes []Option) *Form {
	done := []Option{{"looked", Say("callback.roof.looked")}, {"covered", Say("callback.roof.covered")}}
	if c.State == "accepted" || c.State == "repaired" {
		done = append(done, Option{"repaired", Say("callback.roof.repaired")})
	}
	found := []Field{
		{Name: "cause_found", Kind: Choice, Label: Say("callback.cause.found"), Value: c.CauseFound, Options: causeOptions()},
		{Name: "place", Kind: Choice, Label: Say("callback.place"), Value: c.Place, Options: placeOptions()},
	}
	form := f.Form("onroof", action, Say("callback.roof.submit"), Field{Name: "done", Kind: Several, Label: Say("callback.roof.done"), Options: done})
	if c.CauseFound == "" || c.Place == "" {
		form.Group(Phrase{}, found...)
	} else {
		form.Tuck(Say("callback.roof.found"), found...)
	}
	if c.State == "accepted" || c.State == "repaired" {
		form.Tuck(Say("callback.relaid"), relaidFields(f, c, slopes)...)
	}
	return form.Group(Phrase{},
		Field{Name: "hours", Kind: Number, Label: Say("callback.cost.hours"), Hint: Say("callback.roof.hours.hint"), Unit: Say("callback.cost.h")},
		Field{Name: "on", Kind: Day, Label: Say("callback.cost.on"), Value: dayText(f.Today)},
		Field{Name: "note", Kind: Long, Label: Say("callback.cost.note")})
}

// AgainForm takes in that something came back after it was repaired, refused or
// closed.
func AgainForm(f Frame, action string) *Form {
	return f.Form("again", action, Say("callback.again.submit"),
		Field{Name: "about", Kind: Long, Label: Say("call.about"), Required: true},
		waterField(""),
		Field{Name: "happened_on", Kind: Day, Label: Say("callback.happened"), Hint: Say("callback.happened.hint")})
}

// PaidForm notes that all that a callback has cost so far is paid.
func PaidForm(f Frame, action string) *Form {
	form := f.Form("paid", action, Say("callback.paid.submit"),
		Field{Name: "paid_on", Kind: Day, Label: Say("callback.paid"), Value: dayText(f.Today), Required: true})
	form.Plain = true
	return form
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
	return f.Form("cost", action, Say("callback.cost.add"), costFields(&models.CostLine{Kind: "labour", On: f.Today}, "", "")...)
}

// costFields are the fields of a cost line. An amount or a tax that is left
// empty is worked out, so that of a line that is kept says its nought.
func costFields(l *models.CostLine, amount, tax string) []Field {
	hours := ""
	if l.Hours != nil {
		hours = strconv.FormatFloat(*l.Hours, 'f', -1, 64)
	}
	return []Field{
		{Name: "kind", Kind: Choice, Label: Say("callback.cost.kind"), Value: l.Kind, Options: options(models.CostKinds, func(v string) Phrase { return Term("cost_kind", v) })},
		{Name: "on", Kind: Day, Label: Say("callback.cost.on"), Value: dayText(l.On), Required: true},
		{Name: "hours", Kind: Number, Label: Say("callback.cost.hours"), Hint: Say("callback.cost.hours.hint"), Unit: Say("callback.cost.h"), Value: hours},
		{Name: "amount", Kind: Number, Label: Say("callback.cost.amount"), Hint: Say("callback.cost.amount.hint"), Value: amount},
		{Name: "tax", Kind: Number, Label: Say("callback.cost.tax"), Hint: Say("callback.cost.tax.hint"), Value: tax},
		{Name: "bearer", Kind: Choice, Label: Say("callback.cost.bearer"), Value: l.Bearer,
			Options: append([]Option{{"", Say("callback.cost.bearer.same")}}, options(models.Bearers, bearerTerm)...)},
		{Name: "paid_on", Kind: Day, Label: Say("callback.cost.paid"), Value: dayText(l.PaidOn)},
		{Name: "note", Kind: Text, Label: Say("callback.cost.note"), Value: l.Note},
	}
}

// plainMoney writes an amount as it is typed, without its sign.
func plainMoney(m units.Money) string {
	if m < 0 {
		m = -m
	}
	return fmt.Sprintf("%d.%02d", int64(m)/100, int64(m)%100)
}

// CostPage corrects one cost line.
type CostPage struct {
	Frame
	Facts []Fact
	Form  *Form // nil when the line is corrected already
}

// Template is "cost".
func (CostPage) Template() string { return "cost" }

// CorrectForm writes a wrong cost line anew, or takes it back.
func CorrectForm(f Frame, action, back string, l *models.CostLine) *Form {
	form := f.Form("correct", action, Say("callback.correct.submit"),
		Field{Name: "how", Kind: One, Label: Say("callback.correct.how"), Value: "anew",
			Options: []Option{{"anew", Say("callback.correct.anew")}, {"away", Say("callback.correct.away")}}},
		Field{Name: "why", Kind: Text, Label: Say("callback.correct.why"), Required: true},
	).Group(Say("callback.correct.right"), costFields(l, plainMoney(l.Amount), plainMoney(l.Tax))...)
	form.Cancel = back
	return form
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
