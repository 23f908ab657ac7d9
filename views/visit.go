package views

import (
	"html/template"
	"strings"
)

// VisitsPage lists who is due, the days that are booked, and the storms.
type VisitsPage struct {
	Frame
	Filter   *Form
	Ways     Phrase // to the plan
	Table    Table
	Book     *Form // books the rows that are chosen; nil for who may not
	Unbooked *Form // finds a roof to look at that nobody booked; nil for who may not
	Days     Table
	Storms   Table
}

// Template is "visits".
func (VisitsPage) Template() string { return "visits" }

// VisitPlanPage proposes days of visits.
type VisitPlanPage struct {
	Frame
	Filter *Form
	Days   []ProposedDay
	Left   []Phrase // what is not in them
}

// ProposedDay is one proposed day with the form that books it.
type ProposedDay struct {
	Heading Phrase
	Summary Phrase
	Stops   Table
	Book    *Form
}

// Template is "visit_plan".
func (VisitPlanPage) Template() string { return "visit_plan" }

// VisitDayPage is the route sheets of one day, a person each.
type VisitDayPage struct {
	Frame
	Ways   Phrase // to the days before and after
	Routes []RouteSheet
}

// RouteSheet is one person's day.
type RouteSheet struct {
	Heading Phrase
	Summary Phrase
	Stops   []RouteStop
}

// RouteStop is one visit of a route sheet.
type RouteStop struct {
	Name  string // its address
	Leg   Phrase // from the stop before
	What  Phrase // the visit's purpose
	Phone string // of whoever holds the house, for those who may see it
	Facts []Fact
	Ways  Phrase // to what can be done with the visit
}

// Call is the address that rings the phone.
func (s RouteStop) Call() template.URL { return call(s.Phone) }

func call(phone string) template.URL {
	return template.URL("tel:" + strings.Map(func(r rune) rune {
		if (r >= '0' && r <= '9') || r == '+' {
			return r
		}
		return -1
	}, phone))
}

// Template is "visit_day".
func (VisitDayPage) Template() string { return "visit_day" }

// VisitPage is one visit: what it is for, what was found, and the form that
// says so.
type VisitPage struct {
	Frame
	Facts    []Fact
	Phone    string // for those who may see it
	Findings Table
	Rates    Table    // what the findings rate, a row a part; empty where they rate nothing
	Slopes   Table    // what the covering rates, a row a slope; empty where they were not told apart
	Aside    Phrase   // that some findings count for nothing
	Kept     []Phrase // that what was found is kept from who is still to look
	Record   *Form    // nil where nothing can be recorded
	Move     *Form    // nil for who may not book, or when the visit is over
	Decline  *Form
	Cancel   *Form
}

// Call is the address that rings the phone.
func (p VisitPage) Call() template.URL { return call(p.Phone) }

// Template is "visit".
func (VisitPage) Template() string { return "visit" }

// NewVisitPage records or books a visit that nobody had planned.
type NewVisitPage struct {
	Frame
	Record *Form
	Book   *Form // nil for who may not book
}

// Template is "new_visit".
func (NewVisitPage) Template() string { return "new_visit" }
