package models

import "overhang/analytics/units"

// Job is our work on one or more roofs of a house, whole or part.
type Job struct {
	Row
	Ref         string      `json:"ref"`
	HouseID     int64       `json:"house_id"`
	Part        string      `json:"part"` // what was done when not the whole roof
	SoldOn      units.Date  `json:"sold_on"`
	StartedOn   units.Date  `json:"started_on"`
	InspectedOn units.Date  `json:"inspected_on"` // final inspection by the authority
	ClosedOn    units.Date  `json:"closed_on"`
	PaidOn      units.Date  `json:"paid_on"` // in full
	Permit      string      `json:"permit"`
	Price       units.Money `json:"price"`
	Holdback    units.Money `json:"holdback"`
	Payer       string      `json:"payer"`
	CrewID      *int64      `json:"crew_id"`
	Foreman     string      `json:"foreman"`
	Notes       string      `json:"notes"`
}

// Noun is "job".
func (*Job) Noun() string { return "job" }

// Validate checks the rules of a job.
func (j *Job) Validate() error {
	var k checks
	k.required("ref", j.Ref)
	k.text("ref", j.Ref, 40)
	k.that(j.HouseID != 0, "house_id", "", "a job needs its house")
	for _, d := range []struct {
		field string
		on    units.Date
	}{{"sold_on", j.SoldOn}, {"started_on", j.StartedOn}, {"inspected_on", j.InspectedOn}, {"closed_on", j.ClosedOn}, {"paid_on", j.PaidOn}} {
		k.day(d.field, d.on)
	}
	k.order("sold_on", j.SoldOn, "started_on", j.StartedOn)
	k.order("started_on", j.StartedOn, "closed_on", j.ClosedOn)
	number(&k, "price", &j.Price, 0, 100_000_000*units.Dollar)
	number(&k, "holdback", &j.Holdback, 0, 100_000_000*units.Dollar)
	k.that(j.Holdback <= j.Price, "holdback", j.Holdback, "must not be more than the price")
	k.text("part", j.Part, 200)
	k.text("permit", j.Permit, 60)
	k.text("payer", j.Payer, 120)
	k.text("foreman", j.Foreman, 120)
	k.text("notes", j.Notes, 4000)
	return k.err()
}

// JobRoof says which roofs a job laid or worked on.
type JobRoof struct {
	JobID  int64 `gorm:"primaryKey" json:"job_id"`
	RoofID int64 `gorm:"primaryKey" json:"roof_id"`
}

// Crew is a group of people who lay roofs together.
type Crew struct {
	Row
	Name    string     `json:"name"`
	EndedOn units.Date `json:"ended_on"`
}

// Noun is "crew".
func (*Crew) Noun() string { return "crew" }

// Validate checks the rules of a crew.
func (c *Crew) Validate() error {
	var k checks
	k.required("name", c.Name)
	k.text("name", c.Name, 80)
	return k.err()
}

// CrewMember says who worked in a crew from when to when.
type CrewMember struct {
	Row
	CrewID int64      `json:"crew_id"`
	Name   string     `json:"name"`
	FromOn units.Date `json:"from_on"`
	ToOn   units.Date `json:"to_on"`
}

// Noun is "crew member".
func (*CrewMember) Noun() string { return "crew member" }

// Validate checks the rules of a crew member.
func (c *CrewMember) Validate() error {
	var k checks
	k.required("name", c.Name)
	k.order("from_on", c.FromOn, "to_on", c.ToOn)
	return k.err()
}

// Lot is a maker's lot of material used on a job.
type Lot struct {
	Row
	JobID      int64    `json:"job_id"`
	CoveringID *int64   `json:"covering_id"`
	Number     string   `json:"number"`
	Bundles    *float64 `json:"bundles"`
}

// Noun is "lot".
func (*Lot) Noun() string { return "lot" }

// Validate checks the rules of a lot.
func (l *Lot) Validate() error {
	var k checks
	k.required("number", l.Number)
	number(&k, "bundles", l.Bundles, 0, 10000)
	return k.err()
}

// Subcontract is a part of a job that somebody else did for us.
type Subcontract struct {
	Row
	JobID int64  `json:"job_id"`
	Part  string `json:"part"`
	Who   string `json:"who"`
}

// Noun is "subcontract".
func (*Subcontract) Noun() string { return "subcontract" }

// Validate checks the rules of a subcontract.
func (s *Subcontract) Validate() error {
	var k checks
	k.required("part", s.Part)
	k.required("who", s.Who)
	return k.err()
}

// Declined is work that we advised and the owner declined in writing. It is an
// exclusion from what we promised.
type Declined struct {
	Row
	JobID    int64      `json:"job_id"`
	What     string     `json:"what"`
	SignedOn units.Date `json:"signed_on"`
}

// Noun is "declined work".
func (*Declined) Noun() string { return "declined work" }

// Validate checks the rules of declined work.
func (d *Declined) Validate() error {
	var k checks
	k.required("what", d.What)
	k.text("what", d.What, 400)
	k.that(!d.SignedOn.IsZero(), "signed_on", "", "declined work counts only when it is signed")
	return k.err()
}
