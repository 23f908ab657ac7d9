package views

import (
	"fmt"
	"strconv"

	"overhang/models"
)

// PeoplePage lists whoever signs in.
type PeoplePage struct {
	Frame
	Table Table
}

// Template is "people".
func (PeoplePage) Template() string { return "people" }

// NewPeoplePage makes the page.
func NewPeoplePage(f Frame, people []models.Person) PeoplePage {
	f.Title = Say("people.title")
	p := PeoplePage{Table: Table{ID: "people", Caption: Say("people.list"), Empty: Say("people.none"),
		Columns: []Column{{Head: Say("person.name")}, {Head: Say("person.roles")}, {Head: Say("people.until")}}}}
	current := 0
	for _, person := range people {
		if person.EndedOn.IsZero() {
			current++
		}
		p.Table.Rows = append(p.Table.Rows, NewRow(Cell{Value: person.Name, URL: fmt.Sprintf("/records/people/%d", person.ID), Note: Plain(person.Email)},
			rolesOf(person.Roles), endedCell(person.EndedOn)))
	}
	f.Opening = []Phrase{Say("people.opening", "people", current).Link("people", "#people")}
	p.Frame = f
	return p
}

func rolesOf(roles models.Roles) []Phrase {
	words := make([]Phrase, len(roles))
	for i, role := range roles {
		words[i] = Term("role", role)
	}
	return words
}

// PersonPage is one person who signs in, or a new one.
type PersonPage struct {
	Frame
	Facts  []Fact
	Link   string // a link to set a password, told once
	Change *Form  // nil for one whose sign-in has ended
	Reset  *Form
	End    *Form
}

// Template is "person".
func (PersonPage) Template() string { return "person" }

// NewPersonPage makes the page of a person, or of a new one when they have no
// number. Link is a link that was just made for them, or empty.
func NewPersonPage(f Frame, person *models.Person, link string) PersonPage {
	if person.ID == 0 {
		f.Title, f.Opening = Say("people.new"), []Phrase{Say("people.new.opening")}
		return PersonPage{Frame: f, Change: personForm(f, "/records/people", Say("people.new.submit"), person)}
	}
	f.Title = Plain(person.Name)
	p := PersonPage{Frame: f, Link: link}
	if !person.EndedOn.IsZero() {
		p.Opening = []Phrase{Say("people.ended", "day", person.EndedOn)}
		p.Facts = []Fact{{Term: Say("person.email"), Value: person.Email}, {Term: Say("person.roles"), Value: rolesOf(person.Roles)}}
		return p
	}
	p.Opening = []Phrase{Say("people.signsin", "name", person.Name)}
	here := fmt.Sprintf("/records/people/%d", person.ID)
	version := Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(person.Version, 10)}
	p.Change = personForm(f, here, Say("people.save"), person)
	p.Change.Group(Phrase{}, version)
	p.Reset = f.Form("link", here+"/link", Say("people.link.submit"))
	p.Reset.Plain = true
	p.End = f.Form("end", here+"/end", Say("people.end.submit"), version)
	p.End.Plain = true
	return p
}

func personForm(f Frame, action string, submit Phrase, person *models.Person) *Form {
	roles := Field{Name: "roles", Kind: Several, Label: Say("person.roles"), Hint: Say("people.roles.hint")}
	for _, role := range models.AllRoles {
		roles.Options = append(roles.Options, Option{string(role), Say("people.role", "role", Term("role", role), "does", Term("role_does", role))})
	}
	for _, role := range person.Roles {
		roles.Values = append(roles.Values, string(role))
	}
	form := f.Form("person", action, submit,
		Field{Name: "name", Kind: Text, Label: Say("person.name"), Value: person.Name, Required: true, Autofill: "off"},
		Field{Name: "email", Kind: Email, Label: Say("person.email"), Hint: Say("people.email.hint"), Value: person.Email, Required: true, Autofill: "off"},
		roles)
	form.Cancel = "/records/people"
	return form
}
