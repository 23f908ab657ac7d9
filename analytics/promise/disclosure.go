package promise

import "strings"

// Paper is what the document says that a homeowner is given, beside the terms
// themselves. What is not written is empty.
type Paper struct {
	Warrantor string // name
	Address   string // and where to write to
	Title     string // one of Titles
	StartSaid bool   // the first day is on it
	Remedy    string // what will be done
	Excluded  string // what is left out
	Claim     string // how to claim, step by step
	Rights    string // limits on implied warranties, and the notice of rights
}

// Titles are what a written warranty on goods can be headed.
var Titles = []string{"full", "limited"}

// Point is one thing that a written warranty on goods should say.
type Point struct {
	Key      string `json:"key"`
	Sentence string `json:"sentence"`
	Said     bool   `json:"said"`
	Lacks    string `json:"lacks,omitempty"` // what would put it right; empty when it is said
	Source   string `json:"source"`
}

// Disclosure says which of the things that the rule on written consumer
// warranties asks for (16 CFR 701.3, for goods above 15 dollars, in one
// document) the terms and the paper say, and which lack. That something stands
// there is all that is looked at, not whether it is worded well. Whether the rule
// holds for a promise at all local law decides: roofing that is bought with its
// laying counts as goods, labour alone does not (from memory, 700.1).
func Disclosure(t Terms, p Paper) []Point {
	covers := t.Covers != Covers{}
	written := func(s string) bool { return strings.TrimSpace(s) != "" }
	points := []Point{
		{Key: "title", Sentence: "It is headed “full” or “limited”.", Said: p.Title == Titles[0] || p.Title == Titles[1],
			Lacks: "Choose the heading with the terms; local law says which may be used.", Source: "Magnuson-Moss Warranty Act, title of written warranties (second-hand)"},
		{Key: "to_whom", Sentence: "To whom it runs: the first owner, or who buys the house.", Said: t.Transfer != "",
			Lacks: "Say in the terms what a sale does.", Source: "16 CFR 701.3(a)"},
		{Key: "covered", Sentence: "What is covered.", Said: covers,
			Lacks: "Tick in the terms which costs are paid for.", Source: "16 CFR 701.3(a)"},
		{Key: "excluded", Sentence: "What is left out.", Said: written(p.Excluded),
			Lacks: "Write in the terms what is left out.", Source: "16 CFR 701.3(a)"},
		{Key: "remedy", Sentence: "What will be done when something is wrong, and what will not be paid.", Said: written(p.Remedy),
			Lacks: "Write in the terms what will be done.", Source: "16 CFR 701.3(a)"},
		{Key: "start_and_length", Sentence: "When it starts and how long it lasts.", Said: p.StartSaid && t.TermMonths > 0,
			Lacks: "Enter the first day.", Source: "16 CFR 701.3(a)"},
		{Key: "claim_route", Sentence: "How to claim, step by step.", Said: written(p.Claim),
			Lacks: "Write in the terms how to claim.", Source: "16 CFR 701.3(a)"},
		{Key: "warrantor", Sentence: "The name and the address of whoever gives it.", Said: written(p.Warrantor) && written(p.Address),
			Lacks: "Enter the name and the address, for us in the settings.", Source: "16 CFR 701.3(a)"},
		{Key: "rights", Sentence: "Any limit on implied warranties, and the notice of the rights that the state gives.", Said: written(p.Rights),
			Lacks: "Write it in the terms, in the words that local law asks for.", Source: "16 CFR 701.3(a), from memory"},
	}
	for i := range points {
		if points[i].Said {
			points[i].Lacks = ""
		}
	}
	return points
}
