package views

// FirstOwnerPage lets the person with the one-time link become the first owner
// of a new company's records.
type FirstOwnerPage struct {
	Frame
	Form *Form
}

// Template is "first_owner".
func (FirstOwnerPage) Template() string { return "first_owner" }

// PasswordLength is the fewest characters of a password, as the page says it. A
// test of the server holds it to the rule.
const PasswordLength = 12

// NewFirstOwnerPage makes the page behind a one-time link with that token.
func NewFirstOwnerPage(f Frame, token string) FirstOwnerPage {
	f.Title = Say("firstowner.title")
	return FirstOwnerPage{Frame: f, Form: f.Form("firstowner", "/first-owner", Say("firstowner.submit"),
		Field{Name: "token", Kind: Hidden, Value: token},
		Field{Name: "company", Kind: Text, Label: Say("firstowner.company"), Required: true, Autofill: "organization"},
		Field{Name: "time_zone", Kind: Text, Label: Say("firstowner.timezone"), Hint: Say("firstowner.timezone.hint"), Required: true,
			Value: "America/Denver"},
		Field{Name: "name", Kind: Text, Label: Say("person.name"), Required: true, Autofill: "name"},
		Field{Name: "email", Kind: Email, Label: Say("person.email"), Hint: Say("person.email.hint"), Required: true, Autofill: "username"},
		newPassword(),
	)}
}

func newPassword() Field {
	return Field{Name: "new_password", Kind: Password, Label: Say("person.newpassword"),
		Hint: Say("person.newpassword.hint", "count", PasswordLength), Required: true, Autofill: "new-password"}
}
