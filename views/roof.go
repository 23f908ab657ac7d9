package views

// RoofsPage lists roofs.
type RoofsPage struct {
	Frame
	Filter *Form
	Table  Table
	Add    bool // the person may write a roof down
}

// Template is "roofs".
func (RoofsPage) Template() string { return "roofs" }

// RoofPage is a roof's own page.
type RoofPage struct {
	Frame
	Facts     []Fact
	Life      *RoofLife // nil for a roof that has ended
	Attics    []AtticPart
	Promises  *Table // nil for those who may not see promises
	Callbacks *Table
	Visits    []Event
	Slopes    Table
	Vents     Table
	Details   Table
	Order     []Fact // what it takes to lay; empty where no slope is measured
	Jobs      []Event
	Others    Table
	Holders   []Event
	Faults    []Phrase
	Ways      []RoofWay
}

// Template is "roof".
func (RoofPage) Template() string { return "roof" }

// RoofWay leads from a roof to what can be done with it.
type RoofWay struct {
	Words Phrase
	URL   string
}

// RoofLife is the years left in a roof, and why.
type RoofLife struct {
	TooNew  bool
	Left    YearsLeft
	Chances []Fact
	Chart   Chart
	Reasons Table
	Says    string
}

// AtticPart is the ventilation of one attic.
type AtticPart struct {
	Name     string
	Facts    []Fact
	Ways     []string // to put it right, in a safe order
	Warnings []string
}

// RoofFormPage adds a roof or corrects one, or its house, or writes down a sale.
type RoofFormPage struct {
	Frame
	Form *Form
}

// Template is "roof_form".
func (RoofFormPage) Template() string { return "roof_form" }

// SearchPage lists the houses that a search found.
type SearchPage struct {
	Frame
	Table Table
}

// Template is "search".
func (SearchPage) Template() string { return "search" }
