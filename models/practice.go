package models

import "overhang/analytics/units"

// Practice is a change in how roofs are laid, from a day on, by one crew or by
// all.
type Practice struct {
	Row
	What   string       `json:"what"`
	FromOn units.Date   `json:"from_on"`
	CrewID *int64       `json:"crew_id"` // nil is every crew
	Causes JSON[string] `json:"causes"`  // that it should bear on; none is all
	Notes  string       `json:"notes"`
}

// Noun is "practice".
func (*Practice) Noun() string { return "practice" }

// Validate checks the rules of a change of practice.
func (p *Practice) Validate() error {
	var k checks
	k.required("what", p.What)
	k.text("what", p.What, 200)
	k.that(!p.FromOn.IsZero(), "from_on", "", "is needed")
	k.day("from_on", p.FromOn)
	for _, c := range p.Causes {
		k.among("causes", c, LayingCauses)
	}
	k.text("notes", p.Notes, 2000)
	return k.err()
}
