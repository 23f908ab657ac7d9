package views

// PasswordPage lets somebody who forgot their password choose another, with
// the one-time link that the owner made them.
type PasswordPage struct {
	Frame
	Form *Form
}

// Template is "password".
func (PasswordPage) Template() string { return "password" }

// NewPasswordPage makes the page behind a one-time link with that token.
func NewPasswordPage(f Frame, token string) PasswordPage {
	f.Title = Say("newpassword.title")
	return PasswordPage{Frame: f, Form: f.Form("newpassword", "/new-password", Say("newpassword.submit"),
		Field{Name: "token", Kind: Hidden, Value: token},
		newPassword(),
	)}
}
