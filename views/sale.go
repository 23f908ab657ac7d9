package views

import (
	"strconv"

	"overhang/models"
)

// SalePage is the sale of a house: what one on a day leaves of the promises, the
// form that keeps it, and what the last one left.
type SalePage struct {
	Frame
	Look   *Form  // chooses the day that is looked at
	Ahead  *Table // nil for those who may not see promises
	Form   *Form
	Kept   *Table // of the last sale; nil where none is kept
	Day    any    // of the last sale
	Notice *Form  // of the last sale; nil where none is called for
}

// Template is "sale".
func (SalePage) Template() string { return "sale" }

// SaleLook chooses the day whose sale is looked at before it is kept.
func SaleLook(f Frame, here, day string) *Form {
	form := f.Filter("look", here, "ahead", Field{Name: "sold_on", Kind: Day, Label: Say("sale.soldon"), Value: day})
	form.Submit = Say("sale.look")
	return form
}

// SaleForm asks to whom and when a house was sold. Seen is the day whose outcome
// stands on the page, so that no other is kept unseen.
func SaleForm(f Frame, action, cancel, seen string) *Form {
	form := f.Form("sale", action, Say("sale.submit"),
		Field{Name: "sold_on", Kind: Day, Label: Say("sale.soldon"), Value: seen, Required: true},
		Field{Name: "name", Kind: Text, Label: Say("sale.buyer"), Required: true, Autofill: "off"},
		Field{Name: "phone", Kind: Phone, Label: Say("sale.phone"), Autofill: "off"},
		Field{Name: "email", Kind: Email, Label: Say("sale.email"), Autofill: "off"},
		Field{Name: "notice_on", Kind: Day, Label: Say("sale.notice"), Hint: Say("sale.notice.hint")})
	form.Cancel = cancel
	return form
}

// NoticeForm keeps the day on which the notice of the last sale came.
func NoticeForm(f Frame, action string, sale *models.Holding) *Form {
	return f.Form("notice", action, Say("sale.notice.keep"),
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(sale.Version, 10)},
		Field{Name: "notice_on", Kind: Day, Label: Say("sale.notice"), Value: f.Today.String(), Required: true})
}
