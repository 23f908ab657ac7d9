package models

import (
	"time"

	"overhang/analytics/units"
)

// ProspectStates are how far we have come with a house to call on.
var ProspectStates = []string{"not_called", "nobody_home", "spoke", "come_back", "wants_a_look", "no"}

// Prospect is a house to call on: how far we have come, and what its people
// allowed.
type Prospect struct {
	Row
	HouseID     int64      `json:"house_id"`
	State       string     `json:"state"`
	NextOn      units.Date `json:"next_on"` // not to be called on before
	SellerID    *int64     `json:"seller_id"`
	ConsentOn   units.Date `json:"consent_on"` // to be written to or rung
	ConsentFor  string     `json:"consent_for"`
	SignsPosted bool       `json:"signs_posted"` // a sign asks not to be called on
	Notes       string     `json:"notes"`
}

// Noun is "house to call on".
func (*Prospect) Noun() string { return "house to call on" }

// Validate checks the rules of a house to call on.
func (p *Prospect) Validate() error {
	var k checks
	k.that(p.HouseID != 0, "house_id", "", "is needed")
	k.required("state", p.State)
	k.among("state", p.State, ProspectStates)
	k.day("next_on", p.NextOn)
	k.text("notes", p.Notes, 2000)
	return k.err()
}

// Knock is one call at a door.
type Knock struct {
	Row
	HouseID  int64     `json:"house_id"`
	PersonID *int64    `json:"person_id"`
	At       time.Time `json:"at"`
	Outcome  string    `json:"outcome"` // one of ProspectStates, but not not_called
	Note     string    `json:"note"`
}

// Noun is "knock".
func (*Knock) Noun() string { return "knock" }

// Validate checks the rules of a knock.
func (n *Knock) Validate() error {
	var k checks
	k.required("outcome", n.Outcome)
	k.among("outcome", n.Outcome, ProspectStates[1:])
	k.that(!n.At.IsZero(), "at", "", "is needed")
	k.text("note", n.Note, 1000)
	return k.err()
}

// StopEntry is an address that asked not to be called on. It holds the bare
// address, so that it outlives the erasure of everything else.
type StopEntry struct {
	Row
	Folded  string     `json:"folded"` // Fold of number, street and town
	Address string     `json:"address"`
	AskedOn units.Date `json:"asked_on"`
	Reason  string     `json:"reason"`
}

// Noun is "stop-list entry".
func (*StopEntry) Noun() string { return "stop-list entry" }

// Validate checks the rules of a stop-list entry and sets its folded form.
func (s *StopEntry) Validate() error {
	var k checks
	k.required("address", s.Address)
	k.text("address", s.Address, 200)
	k.that(!s.AskedOn.IsZero(), "asked_on", "", "is needed")
	s.Folded = Fold(s.Address)
	return k.err()
}
