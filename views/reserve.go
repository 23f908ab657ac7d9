package views

// ReservePage is the year-end drawer: what to set aside, how it came to that, and
// the files for the bookkeeper.
type ReservePage struct {
	Frame
	Views     Table  // the expected value beside payments carried forward
	Leads     *Table // from the one to the other
	Alone     Phrase // why there is only one
	Years     Table  // the roll-forward
	Months    Table
	Ties      Phrase
	Differ    *Table // cost lines that are not booked to the cent
	Triangle  *Table
	Prepaid   Table
	Notes     []Phrase
	Workbook  string     // its address
	Files     []NavEntry // tables as CSV
	Close     *Form      // nil where nothing can be closed, or not by this reader
	Closed    Table
	OpenAgain string // the address of the drawer as of today, from that of a closed month
}

// Template is "reserve".
func (ReservePage) Template() string { return "reserve" }

// CloseMonthForm closes a month for good.
func CloseMonthForm(f Frame, action string, months []Option) *Form {
	last := ""
	if n := len(months); n > 0 {
		last = months[n-1].Value
	}
	return f.Form("close", action, Say("reserve.close.do"), Field{Name: "month", Kind: Choice, Label: Say("reserve.close.month"), Hint: Say("reserve.close.hint"), Value: last, Options: months, Required: true})
}
