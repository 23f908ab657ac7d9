package models

import "overhang/analytics/units"

// Watch says that we watch a neighbourhood: from the first day to the last we
// know of every house in it what lies on it and when it is replaced, also of those
// that never call. So its houses can be counted as at risk.
type Watch struct {
	Row
	Neighbourhood string     `json:"neighbourhood"`
	FromOn        units.Date `json:"from_on"`
	ToOn          units.Date `json:"to_on"` // no day while it goes on
	Notes         string     `json:"notes"`
}

// Noun is "watch".
func (*Watch) Noun() string { return "watch" }

// Validate checks the rules of a watch.
func (w *Watch) Validate() error {
	var k checks
	k.required("neighbourhood", w.Neighbourhood)
	k.text("neighbourhood", w.Neighbourhood, 80)
	k.that(!w.FromOn.IsZero(), "from_on", "", "is needed")
	k.day("from_on", w.FromOn)
	k.day("to_on", w.ToOn)
	k.order("from_on", w.FromOn, "to_on", w.ToOn)
	k.text("notes", w.Notes, 2000)
	return k.err()
}

// Overlaps says whether two watches of one neighbourhood share a day.
func (w *Watch) Overlaps(o *Watch) bool {
	return w.Neighbourhood == o.Neighbourhood && (w.ToOn.IsZero() || o.FromOn <= w.ToOn) && (o.ToOn.IsZero() || w.FromOn <= o.ToOn)
}

// LivedRoof is a roof as own lives count it: with what its house has in common
// with others.
type LivedRoof struct {
	Roof
	Family        string
	Neighbourhood string
	BuildYear     *int
	RelaidOn      units.Date // when a repair first laid anew a part of it
}
