package views

// TodayPage is what needs a person now. A part that they may not see is nil.
type TodayPage struct {
	Frame
	Parts  []TodayPart
	Nights []Phrase // what the jobs of last night did
}

// Template is "today".
func (TodayPage) Template() string { return "today" }

// TodayPart is one list of Today with the way to the rest of it.
type TodayPart struct {
	Heading Phrase   // of a part without a table
	Lead    []Phrase // what of it presses
	Table   Table
	More    Phrase
	Caution string // of the caution part; empty for none
}
