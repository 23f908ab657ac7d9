package views

// NeighboursPage lists the houses to call on, the likeliest first.
type NeighboursPage struct {
	Frame
	Filter *Form
	Ways   Phrase // to the walk and the stop-list
	Table  Table
	Map    Map
}

// Template is "neighbours".
func (NeighboursPage) Template() string { return "neighbours" }

// WalkPage is the houses of one walk in their order, for paper and phone.
type WalkPage struct {
	Frame
	Filter *Form
	Stops  []WalkStop
	Map    Map
}

// WalkStop is one house of a walk.
type WalkStop struct {
	Name string // its address
	URL  string
	Leg  Phrase // from the house before
	Why  []Phrase
	Last Phrase // how the last call ended
}

// Template is "walk".
func (WalkPage) Template() string { return "walk" }

// NeighbourPage is one house to call on: facts of the address alone.
type NeighbourPage struct {
	Frame
	Facts  []Fact
	Why    []Phrase
	Knocks []Event
	Knock  *Form  // nil for who may not call on houses, or where none may
	Others Phrase // leads to the houses most like the same roof of ours
	Stop   Phrase // leads to the stop-list
}

// Template is "neighbour".
func (NeighbourPage) Template() string { return "neighbour" }

// StopCallingPage asks once more before an address goes on the stop-list.
type StopCallingPage struct {
	Frame
	Form *Form
}

// Template is "stop_calling".
func (StopCallingPage) Template() string { return "stop_calling" }

// StopListPage lists the addresses that asked not to be called on.
type StopListPage struct {
	Frame
	Form  *Form // nil for who may not add to it
	Table Table
}

// Template is "stop_list".
func (StopListPage) Template() string { return "stop_list" }
