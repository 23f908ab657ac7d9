package views

import (
	"slices"

	"overhang/models"
)

// CrewsPage says where workmanship goes wrong, and what cannot be known yet.
type CrewsPage struct {
	Frame
	Crews    Table
	Curve    Chart
	StandOut []Phrase
	Causes   Table
	Details  Table
	Aside    []Phrase // causes that do not lie in the laying, with their numbers
	Changes  Table
	Form     *Form // writes a change of practice down
	Cannot   []Phrase
}

// Template is "crews".
func (CrewsPage) Template() string { return "crews" }

// CrewPage is how the roofs of one crew hold.
type CrewPage struct {
	Frame
	Facts     []Fact
	Curve     Chart
	StandOut  []Phrase
	Callbacks Table
	Cannot    []Phrase
}

// Template is "crew".
func (CrewPage) Template() string { return "crew" }

// PracticeForm asks for a change of practice.
func PracticeForm(f Frame, crews []models.Crew) *Form {
	options := []Option{{"", Say("crew.practice.all")}}
	for _, c := range crews {
		options = append(options, Option{idText(&c.ID), Plain(c.Name)})
	}
	causes := make([]Option, len(models.LayingCauses))
	for i, c := range models.LayingCauses {
		causes[i] = Option{c, Term("cause", c)}
	}
	return f.Form("practice", "/crews/practices", Say("crew.practice.add"),
		Field{Name: "what", Kind: Text, Label: Say("crew.practice.what"), Hint: Say("crew.practice.what.hint"), Required: true},
		Field{Name: "from_on", Kind: Day, Label: Say("crew.practice.from"), Required: true},
		Field{Name: "crew_id", Kind: Choice, Label: Say("crew.practice.crew"), Options: options},
		Field{Name: "causes", Kind: Several, Label: Say("crew.practice.causes"), Hint: Say("crew.practice.causes.hint"), Options: causes},
		Field{Name: "notes", Kind: Long, Label: Say("crew.practice.notes")})
}

// IsPlace says whether a word names a place or detail where a callback can be.
func IsPlace(place string) bool { return slices.Contains(models.Places, place) }
