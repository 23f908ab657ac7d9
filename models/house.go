package models

import (
	"overhang/analytics/units"
)

// Claddings are what the walls of a house are clad with.
var Claddings = []string{"stucco", "siding", "brick", "stone", "mixed"}

// House is a parcel with a house on it, ours to look after or a neighbour's.
type House struct {
	Row
	Ref           string     `json:"ref"`
	BranchID      int64      `json:"branch_id"`
	Parcel        string     `json:"parcel"`
	Lat           *float64   `json:"lat"`
	Lon           *float64   `json:"lon"`
	Neighbourhood string     `json:"neighbourhood"`
	Builder       string     `json:"builder"`
	Plan          string     `json:"plan"` // the builder's plan, where houses were built alike
	BuildYear     *int       `json:"build_year"`
	Cladding      string     `json:"cladding"`
	Storeys       *int       `json:"storeys"`
	Trees         *bool      `json:"trees"` // trees over the roof or its gutters
	SiteNotes     string     `json:"site_notes"`
	EndedOn       units.Date `json:"ended_on"`
}

// Noun is "house".
func (*House) Noun() string { return "house" }

// Validate checks the rules of a house.
func (h *House) Validate() error {
	var k checks
	k.required("ref", h.Ref)
	k.text("ref", h.Ref, 40)
	k.position(h.Lat, h.Lon)
	number(&k, "build_year", h.BuildYear, 1800, 2200)
	k.among("cladding", h.Cladding, Claddings)
	number(&k, "storeys", h.Storeys, 1, 6)
	k.text("neighbourhood", h.Neighbourhood, 80)
	k.text("builder", h.Builder, 80)
	k.text("plan", h.Plan, 80)
	k.text("site_notes", h.SiteNotes, 2000)
	k.day("ended_on", h.EndedOn)
	return k.err()
}

// Address is one way to write where a house is. A house has a main one, may
// have several (units, a duplex), and keeps old spellings as aliases.
type Address struct {
	Row
	HouseID    int64  `json:"house_id"`
	Unit       string `json:"unit"`
	Number     string `json:"number"`
	Street     string `json:"street"`
	Town       string `json:"town"`
	Region     string `json:"region"`
	PostalCode string `json:"postal_code"`
	Main       bool   `json:"main"`
	Alias      bool   `json:"alias"`  // an old or other spelling, kept for search
	Folded     string `json:"folded"` // Fold of the whole line, for search
}

// Noun is "address".
func (*Address) Noun() string { return "address" }

// Line writes the address on one line.
func (a *Address) Line() string {
	line := a.Number + " " + a.Street
	if a.Unit != "" {
		line = a.Unit + "-" + line
	}
	if a.Town != "" {
		line += ", " + a.Town
	}
	return line
}

// Validate checks the rules of an address and sets its folded form.
func (a *Address) Validate() error {
	var k checks
	k.required("number", a.Number)
	k.required("street", a.Street)
	k.text("number", a.Number, 20)
	k.text("street", a.Street, 120)
	k.text("unit", a.Unit, 20)
	k.text("town", a.Town, 80)
	k.text("region", a.Region, 40)
	k.text("postal_code", a.PostalCode, 16)
	k.that(!a.Main || !a.Alias, "alias", "", "the main address is not an alias")
	a.Folded = Fold(a.Line() + " " + a.PostalCode)
	return k.err()
}
