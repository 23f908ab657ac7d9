package models

import "overhang/analytics/units"

// Neighbour is a house as one line of what sales walks along: facts of the
// address alone, none about its people.
type Neighbour struct {
	HouseID       int64
	Lat           float64
	Lon           float64
	Number        string
	Street        string
	Unit          string
	Town          string
	Folded        string // of the address, for search
	Neighbourhood string
	Builder       string
	Plan          string
	BuildYear     *int
	Cladding      string
	Storeys       *int
	RoofID        *int64
	Family        string // of its covering
	Covering      string
	LaidOn        units.Date
	LaidPrecision units.Precision
	Ours          bool // we laid the roof that lies there
	Stopped       bool // on the stop-list, or a sign asks not to be called on
	State         string
	NextOn        units.Date
	CalledOn      units.Date
	OldFamily     string // of the covering that ours replaced
	OldLaidOn     units.Date
}

// Address writes where the house is.
func (n *Neighbour) Address() string {
	a := Address{Unit: n.Unit, Number: n.Number, Street: n.Street, Town: n.Town}
	return a.Line()
}
