package views

// RoofTopic is one thing that a roof says: whether it passes, by how much, and what
// would put it right, in words that its owner can read.
type RoofTopic struct {
	Key      string // its place on the page
	Title    Phrase
	Verdict  Phrase // in a word; zero where nothing is judged
	Says     []Phrase
	Facts    []RoofTopicFact
	Drawings []LineDrawing
	Remedies []RoofTopicStep // in the order in which they are to be done
	After    Phrase          // how it stands when they are done, where that can be told
	Measure  []Phrase        // what would settle what is not known
	Cautions []string        // its own
	Notes    []string
}

// RoofTopicFact is one number of a topic, which opens to its rule and source.
type RoofTopicFact struct {
	Term    any
	Value   any
	Verdict Phrase
	Note    Phrase
	Source  string
}

// RoofTopicStep is one step of what would put a topic right.
type RoofTopicStep struct {
	Does string
	Why  string
}
