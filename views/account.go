package views

// AccountPage is a person's own page: who they are here, a new password, and
// signing out.
type AccountPage struct {
	Frame
	Facts      []Fact
	Password   *Form
	SignOut    *Form
	Everywhere *Form // ends every other browser's session too
}

// Template is "account".
func (AccountPage) Template() string { return "account" }

// NewAccountPage makes the page of the person in the frame, who signs in with
// that email, has those roles and is signed in in so many browsers.
func NewAccountPage(f Frame, email string, roles []string, browsers int) AccountPage {
	f.Title = Say("account.title")
	f.Opening = []Phrase{Say("account.opening", "browsers", browsers)}
	facts := []Fact{
		{Term: Say("person.name"), Value: f.Person},
		{Term: Say("person.email"), Value: email},
	}
	words := make([]Phrase, len(roles))
	for i, role := range roles {
		words[i] = Term("role", role)
	}
	facts = append(facts, Fact{Term: Say("person.roles"), Value: words})
	everywhere := f.Form("everywhere", "/account/sign-out-everywhere", Say("account.everywhere.submit"))
	everywhere.Plain = true
	signOut := f.Form("signout", "/sign-out", Say("account.signout"))
	signOut.Plain = true
	return AccountPage{Frame: f, Facts: facts, SignOut: signOut, Everywhere: everywhere,
		Password: f.Form("password", "/account/password", Say("account.password.submit"),
			Field{Name: "password", Kind: Password, Label: Say("person.password"), Required: true, Autofill: "current-password"},
			newPassword(),
		)}
}
