package views

import "overhang/models"

// CertificatePage is what a homeowner is given about one warranty, to be printed:
// as it would read today, with what the office needs beside it, or as it was
// given once.
type CertificatePage struct {
	Frame
	Parts  []models.CertificatePart
	Back   Phrase // leads to the promise
	Given  *Table // nil on one that was given
	Give   *Form
	Points *Table
	// Lacking says where what the points lack can still be written.
	Lacking Phrase
}

// Template is "certificate".
func (CertificatePage) Template() string { return "certificate" }

// GiveForm keeps what is given, and to whom.
func GiveForm(f Frame, action, to string) *Form {
	return f.Form("give", action, Say("certificate.give"),
		Field{Name: "given_to", Kind: Text, Label: Say("certificate.givento"), Value: to, Required: true, Autofill: "off"},
		Field{Name: "given_on", Kind: Day, Label: Say("certificate.givenon"), Value: f.Today.String(), Required: true})
}

// CertificateDays words the number of days of a condition.
func CertificateDays(kind string, days int) Phrase {
	p := Term("certificate_days", kind)
	p.values = map[string]any{"days": days}
	return p
}
