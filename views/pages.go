package views

// pages declares every page there is. A page is a struct that embeds Frame, in a
// file of its noun, and the template that its Template method names.
var pages = []Page{
	ErrorPage{},
	SignInPage{},
	FirstOwnerPage{},
	AccountPage{},
	PasswordPage{},
	RecordsPage{},
	TrailPage{},
	ImportPage{},
	KindPage{},
	ExportPage{},
	CoveringsPage{},
	CoveringPage{},
	TermsListPage{},
	TermsPage{},
	SettingsPage{},
	PromisesPage{},
	PromisePage{},
	PromiseFormPage{},
	CallbacksPage{},
	CallPage{},
	CallbackPage{},
	PeoplePage{},
	PersonPage{},
}
