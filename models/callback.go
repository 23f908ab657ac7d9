package models

import (
	"time"

	"overhang/analytics/units"
)

// What a callback can be about: the trade's list of causes.
var Causes = []string{"flashing", "lap", "valley", "nail", "seal", "ice", "condensation", "wind", "material",
	"gutter", "other_trade", "storm", "nails_in_yard", "nothing_wrong"}

// LayingCauses are those of Causes that lie in how a roof was laid, and not in its
// design, its material, the weather or others' work. Our own judgement: wind takes
// what was not nailed or sealed well, ice and condensation come from the attic.
var LayingCauses = []string{"flashing", "lap", "valley", "nail", "seal", "wind", "gutter", "nails_in_yard"}

// CallbackStates, in the order that a callback passes them.
var CallbackStates = []string{"new", "to_look", "accepted", "refused", "repaired", "closed"}

// WaitingFor are what a callback can wait on.
var WaitingFor = []string{"weather", "owner", "maker", "insurer", "parts", "crew"}

// Bearers are who can bear the cost of a callback.
var Bearers = []string{"us", "goodwill", "maker", "subcontractor", "insurer", "owner"}

// Callback is something wrong with our work, or said to be, from the call to
// its closing. House, roof, job and warranty may stay unknown at first.
type Callback struct {
	Row
	Ref            string     `json:"ref"`
	HouseID        *int64     `json:"house_id"`
	RoofID         *int64     `json:"roof_id"`
	JobID          *int64     `json:"job_id"`
	WarrantyID     *int64     `json:"warranty_id"`
	ContactID      *int64     `json:"contact_id"`
	Caller         string     `json:"caller"`
	Phone          string     `json:"phone"`
	AddressGiven   string     `json:"address_given"` // as said on the telephone
	About          string     `json:"about"`
	WaterComingIn  bool       `json:"water_coming_in"`
	HappenedOn     units.Date `json:"happened_on"`
	LearnedOn      units.Date `json:"learned_on"`
	RingBackBy     *time.Time `json:"ring_back_by"`
	RungBackAt     *time.Time `json:"rung_back_at"`
	Attempts       int        `json:"attempts"` // to ring back
	State          string     `json:"state"`
	WaitingOn      string     `json:"waiting_on"`
	CauseReported  string     `json:"cause_reported"`
	CauseFound     string     `json:"cause_found"`
	Place          string     `json:"place"`      // one of DetailKinds, or slope, eave, ridge, gutter, yard
	CoveredOn      units.Date `json:"covered_on"` // temporary cover
	LookedOn       units.Date `json:"looked_on"`
	DecidedOn      units.Date `json:"decided_on"` // accepted or refused
	RefusedBecause string     `json:"refused_because"`
	RepairedOn     units.Date `json:"repaired_on"`
	ClosedOn       units.Date `json:"closed_on"`
	Bearer         string     `json:"bearer"`
	ReturnOf       *int64     `json:"return_of"` // the earlier callback that this one is the return of
	Notes          string     `json:"notes"`
}

// Noun is "callback".
func (*Callback) Noun() string { return "callback" }

// Places are where on a house a callback can be.
var Places = append([]string{"slope", "eave", "ridge", "rake", "gutter", "attic", "yard"}, DetailKinds...)

// Validate checks the rules of a callback.
func (c *Callback) Validate() error {
	var k checks
	k.required("ref", c.Ref)
	k.that(c.HouseID != nil || c.Caller != "" || c.Phone != "" || c.AddressGiven != "", "caller", "",
		"a house, or a caller's name, telephone or address is needed")
	k.text("caller", c.Caller, 120)
	k.phone("phone", c.Phone)
	k.text("address_given", c.AddressGiven, 200)
	k.text("about", c.About, 4000)
	k.text("notes", c.Notes, 4000)
	k.that(!c.LearnedOn.IsZero(), "learned_on", "", "is needed")
	for _, d := range []struct {
		field string
		on    units.Date
	}{{"happened_on", c.HappenedOn}, {"learned_on", c.LearnedOn}, {"covered_on", c.CoveredOn}, {"looked_on", c.LookedOn},
		{"decided_on", c.DecidedOn}, {"repaired_on", c.RepairedOn}, {"closed_on", c.ClosedOn}} {
		k.day(d.field, d.on)
	}
	k.order("happened_on", c.HappenedOn, "learned_on", c.LearnedOn)
	k.order("learned_on", c.LearnedOn, "closed_on", c.ClosedOn)
	k.order("looked_on", c.LookedOn, "repaired_on", c.RepairedOn)
	k.required("state", c.State)
	k.among("state", c.State, CallbackStates)
	k.that((c.State == "closed") == !c.ClosedOn.IsZero(), "closed_on", c.ClosedOn, "is set when the callback is closed, and only then")
	k.that(c.State != "refused" || c.RefusedBecause != "", "refused_because", "", "a refusal needs its reason")
	k.among("waiting_on", c.WaitingOn, WaitingFor)
	k.among("cause_reported", c.CauseReported, Causes)
	k.among("cause_found", c.CauseFound, Causes)
	k.among("place", c.Place, Places)
	k.among("bearer", c.Bearer, Bearers)
	number(&k, "attempts", &c.Attempts, 0, 100)
	return k.err()
}

// CostKinds are what a cost line can be. A recovery or credit lowers the cost.
var CostKinds = []string{"labour", "material", "subcontractor", "access", "disposal", "tax", "recovery", "credit"}

// CostLine is one cost of a callback.
type CostLine struct {
	Row
	CallbackID int64       `json:"callback_id"`
	On         units.Date  `gorm:"column:on_day" json:"on"`
	Kind       string      `json:"kind"` // one of CostKinds
	Hours      *float64    `json:"hours"`
	Amount     units.Money `json:"amount"` // a recovery or credit is negative
	Note       string      `json:"note"`
}

// Noun is "cost line".
func (*CostLine) Noun() string { return "cost line" }

// Validate checks the rules of a cost line.
func (c *CostLine) Validate() error {
	var k checks
	k.that(!c.On.IsZero(), "on", "", "is needed")
	k.day("on", c.On)
	k.required("kind", c.Kind)
	k.among("kind", c.Kind, CostKinds)
	number(&k, "hours", c.Hours, 0, 10000)
	number(&k, "amount", &c.Amount, -10_000_000*units.Dollar, 10_000_000*units.Dollar)
	lowers := c.Kind == "recovery" || c.Kind == "credit"
	k.that(!lowers || c.Amount <= 0, "amount", c.Amount, "a recovery or credit is written as a negative amount")
	k.that(lowers || c.Amount >= 0, "amount", c.Amount, "a cost is not negative; use recovery or credit")
	k.text("note", c.Note, 400)
	return k.err()
}
