package models

import (
	"slices"

	"overhang/analytics/units"
)

// VisitPurposes are why somebody goes to a house.
var VisitPurposes = []string{"checkup", "storm_look", "callback_look", "repair", "estimate"}

// VisitMethods are how a roof was looked at.
var VisitMethods = []string{"walked", "ladder", "street", "photo"}

// Visit is a dated look at a house, offered, booked or done.
type Visit struct {
	Row
	Ref         string     `json:"ref"`
	HouseID     int64      `json:"house_id"`
	RoofID      *int64     `json:"roof_id"`
	Purpose     string     `json:"purpose"`
	OfferedOn   units.Date `json:"offered_on"`
	DeclinedOn  units.Date `json:"declined_on"` // by the homeowner
	BookedFor   units.Date `json:"booked_for"`
	PlaceInDay  *int       `json:"place_in_day"` // order of the day's route
	DoneOn      units.Date `json:"done_on"`
	CancelledOn units.Date `json:"cancelled_on"`
	ByName      string     `json:"by_name"` // who looks, or looked
	PersonID    *int64     `json:"person_id"`
	Method      string     `json:"method"`
	Gutters     *bool      `json:"gutters"`     // were the gutters looked at
	Wet         *bool      `json:"wet"`         // was the roof wet then
	SeenBefore  *bool      `json:"seen_before"` // had whoever looked been shown the roof's estimate before
	StormID     *int64     `json:"storm_id"`
	CallbackID  *int64     `json:"callback_id"`
	Notes       string     `json:"notes"`

	// InSight are the slopes that could be seen from where one looked, by their
	// numbers. Nil is that nobody said: what was found then stands on whichever slope it
	// was written down for, and what was found on the whole roof speaks of every slope. An
	// empty list says that none could be seen.
	InSight *JSON[int64] `json:"in_sight"`
}

// Saw says whether a slope could be seen, by its number; so could each where
// nobody said which.
func (v *Visit) Saw(slope int64) bool { return v.InSight == nil || slices.Contains(*v.InSight, slope) }

// Noun is "visit".
func (*Visit) Noun() string { return "visit" }

// Validate checks the rules of a visit.
func (v *Visit) Validate() error {
	var k checks
	k.required("ref", v.Ref)
	k.text("ref", v.Ref, 40)
	k.that(v.HouseID != 0, "house_id", "", "a visit needs its house")
	k.required("purpose", v.Purpose)
	k.among("purpose", v.Purpose, VisitPurposes)
	k.that(!v.OfferedOn.IsZero() || !v.BookedFor.IsZero() || !v.DoneOn.IsZero(), "booked_for", "", "a visit is offered, booked or done on a day")
	for _, d := range []struct {
		field string
		on    units.Date
	}{{"offered_on", v.OfferedOn}, {"declined_on", v.DeclinedOn}, {"booked_for", v.BookedFor}, {"done_on", v.DoneOn}, {"cancelled_on", v.CancelledOn}} {
		k.day(d.field, d.on)
	}
	k.that(v.DoneOn.IsZero() || v.CancelledOn.IsZero(), "cancelled_on", v.CancelledOn, "a visit that was done is not cancelled")
	k.that(v.DoneOn.IsZero() || v.Method != "", "method", "", "say how it was looked at")
	k.among("method", v.Method, VisitMethods)
	k.that(v.SeenBefore == nil || !v.DoneOn.IsZero(), "seen_before", "", "goes with a look that was done")
	k.text("by_name", v.ByName, 120)
	k.text("notes", v.Notes, 4000)
	number(&k, "place_in_day", v.PlaceInDay, 1, 200)
	if v.InSight != nil {
		for i, id := range *v.InSight {
			k.that(id > 0, "in_sight", id, "names slopes by their numbers")
			k.that(!slices.Contains((*v.InSight)[:i], id), "in_sight", id, "names a slope twice")
		}
	}
	return k.err()
}

// On is the day of the visit: when it was done, or else booked for, or else
// offered.
func (v *Visit) On() units.Date {
	switch {
	case !v.DoneOn.IsZero():
		return v.DoneOn
	case !v.BookedFor.IsZero():
		return v.BookedFor
	}
	return v.OfferedOn
}

// Open says whether the visit is still to come: not done, declined or called off.
func (v *Visit) Open() bool {
	return v.DoneOn.IsZero() && v.DeclinedOn.IsZero() && v.CancelledOn.IsZero()
}

// LookStates say what a look told about one defect. "Looked, none" and "not
// looked at" are different things.
var LookStates = []string{"seen", "none", "not_looked"}

// Finding is what a visit found of one defect on one slope, or on the whole
// roof where no slope is named: on the slopes that were in sight, but for those of
// which the visit says something of their own about that defect.
type Finding struct {
	Row
	VisitID  int64    `json:"visit_id"`
	SlopeID  *int64   `json:"slope_id"`
	Defect   string   `json:"defect"` // a key of the wear catalogue
	Look     string   `json:"look"`   // one of LookStates
	Severity *int     `json:"severity"`
	Extent   *float64 `json:"extent"` // share of the slope
	Note     string   `json:"note"`
}

// FindingOf gives what is written down of a defect on a slope, or on the whole roof
// where it is nil: of several the first that was looked for; nil where there is none.
func FindingOf(of []Finding, defect string, slope *int64) *Finding {
	var first *Finding
	for i := range of {
		switch f := &of[i]; {
		case f.Defect != defect || !Same(f.SlopeID, slope):
		case f.Look != "not_looked":
			return f
		case first == nil:
			first = f
		}
	}
	return first
}

// Noun is "finding".
func (*Finding) Noun() string { return "finding" }

// Validate checks the rules of a finding.
func (f *Finding) Validate() error {
	var k checks
	k.required("defect", f.Defect)
	k.required("look", f.Look)
	k.among("look", f.Look, LookStates)
	number(&k, "severity", f.Severity, 1, 3)
	number(&k, "extent", f.Extent, 0, 1)
	k.that(f.Look == "seen" || (f.Severity == nil && f.Extent == nil), "severity", f.Severity, "goes with a defect that was seen")
	k.that(f.Look != "seen" || f.Severity != nil, "severity", "", "a defect that was seen needs its severity, 1 to 3")
	k.text("note", f.Note, 1000)
	return k.err()
}
