package views

// ErrorPage says what went wrong and what to do next.
type ErrorPage struct {
	Frame
	Message   string // a sentence that may be shown; empty for a failure of ours
	Reference string // finds the failure in the log; shown for a failure of ours
	Back      string // where to go on; the first page when empty
}

// Template is "error".
func (ErrorPage) Template() string { return "error" }
