package views

// SignInPage asks who somebody is.
type SignInPage struct {
	Frame
	Form *Form
}

// Template is "sign_in".
func (SignInPage) Template() string { return "sign_in" }

// NewSignInPage makes the page. Next is the page that was asked for, to go on to.
func NewSignInPage(f Frame, next string) SignInPage {
	f.Title = Say("signin.title")
	return SignInPage{Frame: f, Form: f.Form("signin", "/sign-in", Say("signin.submit"),
		Field{Name: "email", Kind: Email, Label: Say("person.email"), Required: true, Autofill: "username"},
		Field{Name: "password", Kind: Password, Label: Say("person.password"), Required: true, Autofill: "current-password"},
		Field{Name: "next", Kind: Hidden, Value: next},
	)}
}
