package models

import (
	"slices"

	"overhang/analytics/units"
)

// RoofFile is everything that is kept about one roof and the house below it:
// what the calculations are made from.
type RoofFile struct {
	Roof     Roof
	House    House
	Address  Address // the main one
	Covering *Covering

	Structures []Structure
	Attics     []Attic
	Slopes     []Slope // that the roof lies on
	Vents      []Vent
	Gutters    []GutterRun
	Details    []Detail

	Jobs       []Job // that laid or worked on this roof
	Declined   []Declined
	Warranties []Warranty
	Terms      map[int64]Terms // by number, of the warranties

	Visits    []Visit // to the house, oldest first
	Findings  map[int64][]Finding
	Callbacks []Callback           // of the house, oldest first
	Holdings  []Holding            // of the house, oldest first
	Costs     map[int64][]CostLine // of the callbacks, by their number
	Plans     []Plan

	Lots         []string  // numbers of the lots that its jobs used
	Troubles     []Trouble // with the material of its covering, the first to be decided first
	CoveringLaid int       // roofs of its covering that are written down
	Storms       []Storm   // that are kept, wherever they crossed; shared by all files
}

// Trouble is a callback that was accepted and whose cause was found to be the
// material of a roof's covering.
type Trouble struct {
	CallbackID int64
	RoofID     int64
	Lots       []string // of the roof's jobs
	On         units.Date
}

// Building names what the roof lies on, where that is not the house itself: a
// house may have two roofs.
func (f *RoofFile) Building() string {
	for _, s := range f.Structures {
		if f.Roof.StructureID != nil && s.ID == *f.Roof.StructureID && s.Kind != "main" {
			return s.Name
		}
	}
	return ""
}

// TermsOf gives the terms of a warranty of this roof.
func (f *RoofFile) TermsOf(w Warranty) Terms { return f.Terms[w.TermsID] }

// JobOf gives the job that a warranty of this roof came with, or, where that is
// not written down, the one that laid the roof; nil where there is neither.
func (f *RoofFile) JobOf(w *Warranty) *Job {
	for i := range f.Jobs {
		if w.JobID != nil && f.Jobs[i].ID == *w.JobID {
			return &f.Jobs[i]
		}
	}
	return f.LaidBy()
}

// LaidBy gives the job that laid the roof: the earliest that is linked to it,
// or nil when none is.
func (f *RoofFile) LaidBy() *Job {
	if len(f.Jobs) == 0 {
		return nil
	}
	first := slices.MinFunc(f.Jobs, func(a, b Job) int { return int(a.StartedOn) - int(b.StartedOn) })
	return &first
}
