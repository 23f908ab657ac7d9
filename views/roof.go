package views

// RoofsPage lists roofs.
type RoofsPage struct {
	Frame
	Filter *Form
	Table  Table
	Add    bool // the person may write a roof down
	Told   bool // the list tells the years left, as it does to all but those who go up
}

// Template is "roofs".
func (RoofsPage) Template() string { return "roofs" }

// RoofPage is a roof's own page.
type RoofPage struct {
	Frame
	Ways        []NavEntry // what can be done with it
	Facts       []Fact
	Faults      []Phrase    // which records stood in the way of a calculation
	Life        *RoofLife   // nil for a roof that has ended
	Topics      []RoofTopic // what the roof itself says
	Promises    *Table      // nil for those who may not see promises
	Callbacks   *Table
	ShowVisits  bool
	Visits      []RoofVisit // the newest first
	Parts       []NavEntry  // parts of the building that the person may write down
	Structures  Table
	Spaces      Table // attics
	Slopes      Table
	Vents       Table
	Gutters     Table
	Details     Table
	Jobs        []Event
	ShowHolders bool
	Holders     []Event
	Others      Table
	Changes     []Event
}

// Template is "roof".
func (RoofPage) Template() string { return "roof" }

// newVisits is how many visits a roof's page shows before the rest is folded.
const newVisits = 4

// Newest are the visits that are shown at once.
func (p RoofPage) Newest() []RoofVisit { return p.Visits[:min(newVisits, len(p.Visits))] }

// Older are the visits that open below them.
func (p RoofPage) Older() []RoofVisit { return p.Visits[min(newVisits, len(p.Visits)):] }

// RoofLife is the years left in a roof, and why. Of a roof that is too new only
// Table and its source are shown; where the estimate is kept from the person,
// only Kept.
type RoofLife struct {
	Kept     []Phrase // why the estimate is not shown, and what shows it
	Looks    *Form    // says that one is going to look; nil for who writes no looks down
	LooksNot *Form    // says that one is not
	Before   Phrase   // how a look of one's own is begun
	Lifted   Phrase   // said to who is to look at it and asked for it all the same
	TooNew   bool
	Table    Phrase // what coverings of its kind do
	Source   string // of the table
	Left     YearsLeft
	Younger  []Phrase // what of the covering is younger than the roof
	Slopes   *Table   // the years left in each slope, where looks told slopes apart
	Fan      *Chart   // the rating against age
	Chances  []Fact
	Ask      *Form  // for the chance within any number of years
	Asked    Phrase // the answer
	Chart    Chart
	Reasons  []RoofReason
	Total    Phrase // what the reasons come to
	Next     *Table // what the next look would be worth
	Gains    *Table // what could be gained by putting something right
	NoGains  Phrase // said where nothing can be
	Says     string // what an estimate is and is not
	Version  string // of the model
}

// RoofReason is what one group of evidence does to the estimate. A class of
// factors tells its parts, and in one sentence those that nobody knows.
type RoofReason struct {
	What    Phrase
	Effect  Phrase // on the years
	Because string
	Source  string
	Parts   []RoofFactor
	Unknown Phrase
}

// RoofFactor is one factor of a class.
type RoofFactor struct {
	What    Phrase
	Effect  Phrase
	Because string
	Source  string
}

// RoofVisit is one visit to a roof's house with what it found.
type RoofVisit struct {
	On     any
	Who    string
	What   Phrase
	URL    string
	Rating Phrase
	Slopes Phrase // what it rates each slope, where it told them apart
	Seen   Phrase // that who looked had been shown the estimate before
	Found  []Phrase
	Notes  string
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
