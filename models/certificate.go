package models

import "overhang/analytics/units"

// Certificate is what a homeowner was given on a day about one warranty: its
// words as they were, which later changes of the terms leave as they are.
type Certificate struct {
	Row
	WarrantyID int64                 `json:"warranty_id"`
	GivenOn    units.Date            `json:"given_on"`
	GivenTo    string                `json:"given_to"`
	Body       JSON[CertificatePart] `json:"body"`
}

// CertificatePart is one part of a certificate under its heading: paragraphs,
// then a list, then a table with its heads.
type CertificatePart struct {
	Heading    string     `json:"heading"`
	Paragraphs []string   `json:"paragraphs,omitempty"`
	List       []string   `json:"list,omitempty"`
	Heads      []string   `json:"heads,omitempty"`
	Rows       [][]string `json:"rows,omitempty"`
}

// Noun is "certificate".
func (*Certificate) Noun() string { return "certificate" }

// Validate checks the rules of a certificate.
func (c *Certificate) Validate() error {
	var k checks
	k.that(c.WarrantyID != 0, "warranty_id", "", "a certificate needs its warranty")
	k.that(!c.GivenOn.IsZero(), "given_on", "", "is needed")
	k.day("given_on", c.GivenOn)
	k.required("given_to", c.GivenTo)
	k.text("given_to", c.GivenTo, 120)
	k.that(len(c.Body) > 0, "body", "", "a certificate says something")
	return k.err()
}
