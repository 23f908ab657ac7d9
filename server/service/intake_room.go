package service

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
	"overhang/models/intake"
	"overhang/models/store"
)

// The names that rows find other records by.
var (
	byHouse    = func(w *work) *names { return w.houses }
	byRoof     = func(w *work) *names { return w.roofs }
	byJob      = func(w *work) *names { return w.jobs }
	byWarranty = func(w *work) *names { return w.warranties }
	byCallback = func(w *work) *names { return w.callbacks }
	byVisit    = func(w *work) *names { return w.visits }
	byStorm    = func(w *work) *names { return w.storms }
	byContact  = func(w *work) *names { return w.contacts }
	byCovering = func(w *work) *names { return w.coverings }
	byTerms    = func(w *work) *names { return w.terms }
	byCrew     = func(w *work) *names { return w.crews }
	byLot      = func(w *work) *names { return w.lots }
	bySub      = func(w *work) *names { return w.subcontracts }
	byDetail   = func(w *work) *names { return w.details }
	byClaim    = func(w *work) *names { return w.claims }
	bySlope    = func(w *work) *names { return w.slopeNames }
)

// doors are the kinds of file.
var doors = []door{
	plainRoom[intake.Covering, models.Covering, *models.Covering]{sheet: intake.Coverings, key: "key",
		inner: func(c *intake.Covering) *models.Covering { return &c.Covering }}.room(),
	plainRoom[intake.Terms, models.Terms, *models.Terms]{sheet: intake.TermsSheet, key: "key",
		inner: func(t *intake.Terms) *models.Terms { return &t.Terms }, link: linkTerms}.room(),
	plainRoom[intake.Contact, models.Contact, *models.Contact]{sheet: intake.Contacts, key: "ref",
		inner: func(c *intake.Contact) *models.Contact { return &c.Contact }}.room(),
	houseRoom,
	alikeRoom[intake.Holding, models.Holding, *models.Holding]{sheet: intake.Holdings, of: byHouse, table: "holdings", column: "house_id", refColumn: "house_ref",
		inner: func(h *intake.Holding) *models.Holding { return &h.Holding },
		ref:   func(h *intake.Holding) *string { return &h.HouseRef },
		id:    func(h *intake.Holding) *int64 { return &h.HouseID },
		nth:   func(h *intake.Holding) *int { return &h.Nth },
		alike: func(h *intake.Holding) string { return fmt.Sprint(h.HouseID, h.ContactID, h.Role) },
		fill:  holder.fill, link: holder.link}.room(),
	structureRoom,
	plainRoom[intake.Roof, models.Roof, *models.Roof]{sheet: intake.Roofs, key: "ref",
		inner: func(r *intake.Roof) *models.Roof { return &r.Roof },
		refs: []ref[intake.Roof]{
			must("house_ref", byHouse, func(r *intake.Roof) *string { return &r.HouseRef }, func(r *intake.Roof) *int64 { return &r.HouseID }),
			may("covering", byCovering, func(r *intake.Roof) *string { return &r.Covering }, func(r *intake.Roof) **int64 { return &r.CoveringID }),
		}, fill: fillRoofStructures, link: linkRoofStructures}.room(),
	partRoom[intake.Attic, models.Attic, *models.Attic]{sheet: intake.Attics,
		inner:  func(a *intake.Attic) *models.Attic { return &a.Attic },
		place:  func(a *intake.Attic) *intake.Place { return &a.Place },
		parent: func(a *intake.Attic) *int64 { return &a.StructureID }}.room(),
	partRoom[intake.Slope, models.Slope, *models.Slope]{sheet: intake.Slopes,
		inner:   func(s *intake.Slope) *models.Slope { return &s.Slope },
		place:   func(s *intake.Slope) *intake.Place { return &s.Place },
		parent:  func(s *intake.Slope) *int64 { return &s.StructureID },
		attic:   func(s *intake.Slope) *string { return &s.Attic },
		atticID: func(s *intake.Slope) **int64 { return &s.AtticID },
		fill:    fillSlopeRoofs, link: linkSlopeRoofs, after: saveSlopeRoofs}.room(),
	partRoom[intake.Vent, models.Vent, *models.Vent]{sheet: intake.Vents,
		inner:   func(v *intake.Vent) *models.Vent { return &v.Vent },
		place:   func(v *intake.Vent) *intake.Place { return &v.Place },
		parent:  func(v *intake.Vent) *int64 { return &v.AtticID },
		attic:   func(v *intake.Vent) *string { return &v.Attic },
		inAttic: true}.room(),
	partRoom[intake.Gutter, models.GutterRun, *models.GutterRun]{sheet: intake.Gutters,
		inner:   func(g *intake.Gutter) *models.GutterRun { return &g.GutterRun },
		place:   func(g *intake.Gutter) *intake.Place { return &g.Place },
		parent:  func(g *intake.Gutter) *int64 { return &g.StructureID },
		slope:   func(g *intake.Gutter) *string { return &g.Slope },
		slopeID: func(g *intake.Gutter) **int64 { return &g.SlopeID }}.room(),
	partRoom[intake.Detail, models.Detail, *models.Detail]{sheet: intake.Details,
		inner:   func(d *intake.Detail) *models.Detail { return &d.Detail },
		place:   func(d *intake.Detail) *intake.Place { return &d.Place },
		parent:  func(d *intake.Detail) *int64 { return &d.StructureID },
		slope:   func(d *intake.Detail) *string { return &d.Slope },
		slopeID: func(d *intake.Detail) **int64 { return &d.SlopeID }}.room(),
	plainRoom[intake.Job, models.Job, *models.Job]{sheet: intake.Jobs, key: "ref",
		inner: func(j *intake.Job) *models.Job { return &j.Job },
		refs: []ref[intake.Job]{
			must("house_ref", byHouse, func(j *intake.Job) *string { return &j.HouseRef }, func(j *intake.Job) *int64 { return &j.HouseID }),
		}, fill: fillJobs, link: linkJobs, after: saveJobParts}.room(),
	plainRoom[intake.Warranty, models.Warranty, *models.Warranty]{sheet: intake.Warranties, key: "ref",
		inner: func(v *intake.Warranty) *models.Warranty { return &v.Warranty },
		refs: []ref[intake.Warranty]{
			must("roof_ref", byRoof, func(v *intake.Warranty) *string { return &v.RoofRef }, func(v *intake.Warranty) *int64 { return &v.RoofID }),
			may("job_ref", byJob, func(v *intake.Warranty) *string { return &v.JobRef }, func(v *intake.Warranty) **int64 { return &v.JobID }),
			must("terms", byTerms, func(v *intake.Warranty) *string { return &v.Terms }, func(v *intake.Warranty) *int64 { return &v.TermsID }),
		}, link: linkWarranties}.room(),
	plainRoom[intake.Storm, models.Storm, *models.Storm]{sheet: intake.Storms, key: "ref",
		inner: func(s *intake.Storm) *models.Storm { return &s.Storm }}.room(),
	callbackRoom(),
	callRoom(),
	alikeRoom[intake.Cost, models.CostLine, *models.CostLine]{sheet: intake.Costs, of: byCallback, table: "cost_lines", column: "callback_id", refColumn: "callback_ref",
		inner:   func(c *intake.Cost) *models.CostLine { return &c.CostLine },
		ref:     func(c *intake.Cost) *string { return &c.CallbackRef },
		id:      func(c *intake.Cost) *int64 { return &c.CallbackID },
		nth:     func(c *intake.Cost) *int { return &c.Nth },
		alike:   func(c *intake.Cost) string { return fmt.Sprint(c.CallbackID, c.On, c.Kind) },
		link:    linkCosts,
		counted: nameCorrected, save: saveCosts,
	}.room(),
	plainRoom[intake.Claim, models.Claim, *models.Claim]{sheet: intake.Claims, key: "ref",
		inner: func(c *intake.Claim) *models.Claim { return &c.Claim },
		refs: []ref[intake.Claim]{
			must("callback_ref", byCallback, func(c *intake.Claim) *string { return &c.CallbackRef }, func(c *intake.Claim) *int64 { return &c.CallbackID }),
			may("warranty_ref", byWarranty, func(c *intake.Claim) *string { return &c.WarrantyRef }, func(c *intake.Claim) **int64 { return &c.WarrantyID }),
		}, names: byClaim}.room(),
	alikeRoom[intake.Step, models.CallbackStep, *models.CallbackStep]{sheet: intake.Steps, of: byCallback, table: "callback_steps", column: "callback_id", refColumn: "callback_ref",
		inner: func(s *intake.Step) *models.CallbackStep { return &s.CallbackStep },
		ref:   func(s *intake.Step) *string { return &s.CallbackRef },
		id:    func(s *intake.Step) *int64 { return &s.CallbackID },
		nth:   func(s *intake.Step) *int { return &s.Nth },
		alike: func(s *intake.Step) string { return fmt.Sprint(s.CallbackID, s.On, s.Kind) },
		fill:  func(w *work, ts []*intake.Step) error { return claimOfStep.fill(w, ts) }, link: linkSteps,
	}.room(),
	plainRoom[intake.Visit, models.Visit, *models.Visit]{sheet: intake.Visits, key: "ref",
		inner: func(v *intake.Visit) *models.Visit { return &v.Visit },
		refs: []ref[intake.Visit]{
			must("house_ref", byHouse, func(v *intake.Visit) *string { return &v.HouseRef }, func(v *intake.Visit) *int64 { return &v.HouseID }),
			may("roof_ref", byRoof, func(v *intake.Visit) *string { return &v.RoofRef }, func(v *intake.Visit) **int64 { return &v.RoofID }).
				ofHouse(func(v *intake.Visit) int64 { return v.HouseID }),
			may("storm_ref", byStorm, func(v *intake.Visit) *string { return &v.StormRef }, func(v *intake.Visit) **int64 { return &v.StormID }),
			may("callback_ref", byCallback, func(v *intake.Visit) *string { return &v.CallbackRef }, func(v *intake.Visit) **int64 { return &v.CallbackID }).
				ofHouse(func(v *intake.Visit) int64 { return v.HouseID }),
		}, fill: fillSight, link: linkSight}.room(),
	alikeRoom[intake.Finding, models.Finding, *models.Finding]{sheet: intake.Findings, of: byVisit, table: "findings", column: "visit_id", refColumn: "visit_ref",
		inner: func(f *intake.Finding) *models.Finding { return &f.Finding },
		ref:   func(f *intake.Finding) *string { return &f.VisitRef },
		id:    func(f *intake.Finding) *int64 { return &f.VisitID },
		nth:   func(f *intake.Finding) *int { return &f.Nth },
		alike: func(f *intake.Finding) string {
			slope := int64(0)
			if f.SlopeID != nil {
				slope = *f.SlopeID
			}
			return fmt.Sprint(f.VisitID, slope, f.Defect)
		},
		fill: fillFindingSlopes, link: linkFindings,
	}.room(),
	plainRoom[intake.Watch, models.Watch, *models.Watch]{sheet: intake.Watches, key: "neighbourhood",
		inner: func(v *intake.Watch) *models.Watch { return &v.Watch }, link: linkWatches}.room(),
}

var holder = must("contact_ref", byContact, func(h *intake.Holding) *string { return &h.ContactRef }, func(h *intake.Holding) *int64 { return &h.ContactID })

// linkWatches refuses what cannot be watched yet or is already, by a watch that is
// kept as well as by an earlier row.
func linkWatches(w *work, rows []row[intake.Watch]) error {
	var places []string
	for _, row := range rows {
		places = append(places, row.t.Neighbourhood)
	}
	all, err := store.ListIn[models.Watch](w.q, "neighbourhood", places)
	if err != nil {
		return err
	}
	for _, row := range rows {
		// What the file says of a kept one stands for it.
		all = slices.DeleteFunc(all, func(o models.Watch) bool { return o.ID != 0 && o.ID == row.t.ID })
	}
	lived, err := store.Neighbourhoods(w.q)
	if err != nil {
		return err
	}
	for _, row := range rows {
		row.line.Breaks(watchFits(&row.t.Watch, lived, all, w.today))
		all = append(all, row.t.Watch)
	}
	return nil
}

// linkTerms refuses terms that the judging would refuse, and changes of what is
// promised where warranties rest on it.
func linkTerms(w *work, rows []row[intake.Terms]) error {
	kept, err := keptBefore[models.Terms](w, rows, func(t *intake.Terms) int64 { return t.ID })
	if err != nil {
		return err
	}
	for _, row := range rows {
		if row.t.Terms.Validate() != nil {
			continue // Check tells what is wrong
		}
		if err := portfolio.Terms(&row.t.Terms).Validate(); err != nil {
			row.line.Refuse("conditions", row.line.Text("conditions"), "%v", err)
		}
		was, found := kept[row.t.ID]
		if !found {
			continue
		}
		resting, err := restingOn(w.q, was.ID)
		if err != nil {
			return err
		}
		if resting > 0 {
			row.line.Breaks(row.t.Terms.StaysAs(was, resting))
		}
	}
	return nil
}

// keptBefore reads the records of changed rows as they are kept, by their
// numbers.
func keptBefore[M, T any, P record[M]](w *work, rows []row[T], id func(*T) int64) (map[int64]P, error) {
	var ids []int64
	for _, row := range rows {
		if !row.new {
			ids = append(ids, id(row.t))
		}
	}
	ms, err := store.ListIn[M](w.q, "id", ids)
	out := make(map[int64]P, len(ms))
	for i := range ms {
		out[P(&ms[i]).Base().ID] = &ms[i]
	}
	return out, err
}

// callbackRoom has the one kind whose rows may name earlier ones.
func callbackRoom() *room[intake.Callback] {
	house := func(c *intake.Callback) int64 {
		if c.HouseID == nil {
			return 0
		}
		return *c.HouseID
	}
	return plainRoom[intake.Callback, models.Callback, *models.Callback]{sheet: intake.Callbacks, key: "ref",
		inner: func(c *intake.Callback) *models.Callback { return &c.Callback },
		refs: []ref[intake.Callback]{
			may("house_ref", byHouse, func(c *intake.Callback) *string { return &c.HouseRef }, func(c *intake.Callback) **int64 { return &c.HouseID }),
			may("roof_ref", byRoof, func(c *intake.Callback) *string { return &c.RoofRef }, func(c *intake.Callback) **int64 { return &c.RoofID }).ofHouse(house),
			may("job_ref", byJob, func(c *intake.Callback) *string { return &c.JobRef }, func(c *intake.Callback) **int64 { return &c.JobID }).ofHouse(house),
			may("warranty_ref", byWarranty, func(c *intake.Callback) *string { return &c.WarrantyRef }, func(c *intake.Callback) **int64 { return &c.WarrantyID }).ofHouse(house),
			may("contact_ref", byContact, func(c *intake.Callback) *string { return &c.ContactRef }, func(c *intake.Callback) **int64 { return &c.ContactID }),
			may("crew", byCrew, func(c *intake.Callback) *string { return &c.Crew }, func(c *intake.Callback) **int64 { return &c.CrewID }),
			may("lot", byLot, func(c *intake.Callback) *string { return &c.Lot }, func(c *intake.Callback) **int64 { return &c.LotID }).ofHouse(house),
			may("subcontract", bySub, func(c *intake.Callback) *string { return &c.Subcontract }, func(c *intake.Callback) **int64 { return &c.SubcontractID }).ofHouse(house),
			may("detail", byDetail, func(c *intake.Callback) *string { return &c.Detail }, func(c *intake.Callback) **int64 { return &c.DetailID }).ofHouse(house),
			may("relaid_slope", bySlope, func(c *intake.Callback) *string { return &c.RelaidSlope }, func(c *intake.Callback) **int64 { return &c.RelaidSlopeID }).ofHouse(house),
			may("return_of", byCallback, func(c *intake.Callback) *string { return &c.ReturnOfRef }, func(c *intake.Callback) **int64 { return &c.ReturnOf }),
		},
		names: byCallback, house: func(c *models.Callback) int64 {
			if c.HouseID == nil {
				return 0
			}
			return *c.HouseID
		},
		itself: func(l *intake.Line[intake.Callback]) string { return l.Text("return_of") },
		link: func(w *work, rows []row[intake.Callback]) error {
			for _, row := range rows {
				if row.t.ReturnOfRef != "" && row.t.ReturnOfRef == row.t.Ref {
					row.line.Refuse("return_of", row.t.Ref, "a callback is not the return of itself")
				}
				// A roof tells its house.
				if of := w.roofs.byName[row.t.RoofRef].House; row.t.RoofRef != "" && row.t.HouseRef == "" && of != 0 {
					row.t.HouseID = &of
				}
			}
			return nil
		}}.room()
}

// linkWarranties refuses a job of another house than the roof's, and changes of
// what was signed. A new warranty without a wording takes that of its terms.
func linkWarranties(w *work, rows []row[intake.Warranty]) error {
	kept, err := keptBefore[models.Warranty](w, rows, func(v *intake.Warranty) int64 { return v.ID })
	if err != nil {
		return err
	}
	var named []int64
	for _, row := range rows {
		named = append(named, row.t.TermsID)
	}
	for _, was := range kept {
		named = append(named, was.TermsID)
	}
	terms, err := store.ListIn[models.Terms](w.q, "id", slices.Compact(slices.Sorted(slices.Values(named))))
	if err != nil {
		return err
	}
	of := map[int64]*models.Terms{}
	for i := range terms {
		of[terms[i].ID] = &terms[i]
	}
	for _, row := range rows {
		if row.t.JobRef != "" {
			sameHouse(w, row.line, "job_ref", w.jobs.byName[row.t.JobRef], w.roofs.byName[row.t.RoofRef].House)
		}
		if was := kept[row.t.ID]; !row.new {
			row.line.Breaks(row.t.StaysAs(was, of[was.TermsID]))
		} else if t := of[row.t.TermsID]; t != nil && !row.line.Given("wording") {
			row.t.Wording = t.Wording
		}
	}
	return nil
}

// placeIn finds the structures of houses by name, and makes those that have one
// of the names of the kinds. It gives 0 where there is none.
func placeIn[T any](w *work, rows []row[T], place func(*T) (house int64, name string)) ([]int64, error) {
	var houses []int64
	for _, row := range rows {
		house, _ := place(row.t)
		houses = append(houses, house)
	}
	if _, err := w.structures.find(w.q, houses); err != nil {
		return nil, err
	}
	var made []*models.Structure
	asked := map[placed]bool{}
	for _, row := range rows {
		house, name := place(row.t)
		at := placed{house, name}
		if house == 0 || name == "" || w.structures.ids[at] != 0 || asked[at] {
			continue
		}
		if slices.Contains(models.StructureKinds, name) {
			asked[at] = true
			made = append(made, &models.Structure{HouseID: house, Name: name, Kind: name})
		}
	}
	if err := keepRecords[models.Structure](w, made, nil); err != nil {
		return nil, err
	}
	for _, m := range made {
		w.structures.add(m)
	}
	w.report.Make("structure", len(made))
	out := make([]int64, len(rows))
	for i, row := range rows {
		house, name := place(row.t)
		out[i] = w.structures.ids[placed{house, name}]
		if house != 0 && name != "" && out[i] == 0 {
			row.line.Refuse("structure", name, "is not kept: the house has no such structure; read it in as one of structures first, or name %s",
				strings.Join(models.StructureKinds, ", "))
		}
	}
	return out, nil
}

func fillRoofStructures(w *work, ts []*intake.Roof) error {
	var ids []int64
	for _, t := range ts {
		if t.StructureID != nil {
			ids = append(ids, *t.StructureID)
		}
	}
	if err := w.structures.findIDs(w.q, ids); err != nil {
		return err
	}
	for _, t := range ts {
		if t.StructureID != nil {
			t.Structure = w.structures.byID[*t.StructureID].Name
		}
	}
	return nil
}

func linkRoofStructures(w *work, rows []row[intake.Roof]) error {
	ids, err := placeIn(w, rows, func(r *intake.Roof) (int64, string) { return r.HouseID, strings.TrimSpace(r.Structure) })
	if err != nil {
		return err
	}
	for i, row := range rows {
		row.t.StructureID = nil
		if ids[i] != 0 {
			row.t.StructureID = &ids[i]
		}
	}
	return nil
}

// structureRoom has the structures of houses.
var structureRoom = &room[intake.Structure]{sheet: intake.Structures,
	load: func(w *work, lines []*intake.Line[intake.Structure]) ([]*intake.Structure, error) {
		houses, err := w.houseIDs(texts(lines, "house_ref"))
		if err != nil {
			return nil, err
		}
		ms, err := store.ListIn[models.Structure](w.q, "house_id", houses)
		if err != nil {
			return nil, err
		}
		return fillStructures(w, ms)
	},
	link: structureHouse.link,
	save: func(w *work, rows []row[intake.Structure]) error {
		return keep[intake.Structure, models.Structure](w, rows, innerStructure)
	},
	pages: func(w *work, fn func([]*intake.Structure) error) error {
		return pagesOf[models.Structure](w.q, func(ms []models.Structure) error {
			ts, err := fillStructures(w, ms)
			if err != nil {
				return err
			}
			return fn(ts)
		})
	},
}

var structureHouse = must("house_ref", byHouse, func(s *intake.Structure) *string { return &s.HouseRef },
	func(s *intake.Structure) *int64 { return &s.HouseID })

func innerStructure(s *intake.Structure) *models.Structure { return &s.Structure }

func fillStructures(w *work, ms []models.Structure) ([]*intake.Structure, error) {
	ts := wrap(innerStructure, ms)
	return ts, structureHouse.fill(w, ts)
}

// houseIDs finds the numbers of houses; those that are not kept are left out.
func (w *work) houseIDs(refs []string) ([]int64, error) { return w.idsOf(w.houses, refs) }

func (w *work) idsOf(n *names, refs []string) ([]int64, error) {
	if err := n.find(w.q, refs); err != nil {
		return nil, err
	}
	seen := map[int64]bool{0: true}
	var out []int64
	for _, ref := range refs {
		if id := n.byName[ref].ID; !seen[id] {
			seen[id] = true
			out = append(out, id)
		}
	}
	return out, nil
}

// partRoom is the room of a kind whose record is a part of a structure, or of
// an attic within one.
type partRoom[T, M any, P record[M]] struct {
	sheet   *intake.Sheet[T]
	inner   func(*T) *M
	place   func(*T) *intake.Place
	parent  func(*T) *int64 // the number of the structure or attic
	attic   func(*T) *string
	atticID func(*T) **int64 // of a part that names an attic
	inAttic bool             // of a part that belongs to one
	slope   func(*T) *string // of a part that names a slope
	slopeID func(*T) **int64
	fill    func(w *work, ts []*T) error
	link    func(w *work, rows []row[T]) error
	after   func(w *work, rows []row[T]) error
}

func (p partRoom[T, M, P]) room() *room[T] {
	column := "structure_id"
	if p.inAttic {
		column = "attic_id"
	}
	return &room[T]{sheet: p.sheet,
		load: func(w *work, lines []*intake.Line[T]) ([]*T, error) {
			houses, err := w.houseIDs(texts(lines, "house_ref"))
			if err != nil {
				return nil, err
			}
			parents, err := w.structures.find(w.q, houses)
			if err == nil && p.inAttic {
				parents, err = w.attics.find(w.q, parents)
			}
			if err != nil {
				return nil, err
			}
			ms, err := store.ListIn[M](w.q, column, parents)
			if err != nil {
				return nil, err
			}
			return p.filled(w, ms)
		},
		link: p.linkPlace,
		save: func(w *work, rows []row[T]) error {
			if err := keep[T, M, P](w, rows, p.inner); err != nil {
				return err
			}
			if p.after != nil {
				return p.after(w, rows)
			}
			return nil
		},
		pages: func(w *work, fn func([]*T) error) error {
			return pagesOf[M, P](w.q, func(ms []M) error {
				ts, err := p.filled(w, ms)
				if err != nil {
					return err
				}
				return fn(ts)
			})
		},
	}
}

// filled writes the names into rows: house, structure, attic and slope.
func (p partRoom[T, M, P]) filled(w *work, ms []M) ([]*T, error) {
	ts := wrap(p.inner, ms)
	structureOf := make([]int64, len(ts))
	var attics, slopes []int64
	for i, t := range ts {
		structureOf[i] = *p.parent(t)
		if p.inAttic {
			attics = append(attics, *p.parent(t))
		} else if p.atticID != nil && *p.atticID(t) != nil {
			attics = append(attics, **p.atticID(t))
		}
		if p.slopeID != nil && *p.slopeID(t) != nil {
			slopes = append(slopes, **p.slopeID(t))
		}
	}
	if err := w.attics.findIDs(w.q, attics); err != nil {
		return nil, err
	}
	if err := w.slopes.findIDs(w.q, slopes); err != nil {
		return nil, err
	}
	if p.inAttic {
		for i, t := range ts {
			attic := w.attics.byID[*p.parent(t)]
			structureOf[i], *p.attic(t) = attic.StructureID, attic.Name
		}
	}
	if err := w.structures.findIDs(w.q, structureOf); err != nil {
		return nil, err
	}
	houses := make([]int64, len(ts))
	for i := range ts {
		houses[i] = w.structures.byID[structureOf[i]].HouseID
	}
	if err := w.houses.findIDs(w.q, houses); err != nil {
		return nil, err
	}
	for i, t := range ts {
		*p.place(t) = intake.Place{HouseRef: w.houses.byID[houses[i]].Name, HouseID: houses[i],
			Structure: w.structures.byID[structureOf[i]].Name}
		if p.atticID != nil && *p.atticID(t) != nil {
			*p.attic(t) = w.attics.byID[**p.atticID(t)].Name
		}
		if p.slopeID != nil && *p.slopeID(t) != nil {
			*p.slope(t) = w.slopes.byID[**p.slopeID(t)].Name
		}
	}
	if p.fill != nil {
		return ts, p.fill(w, ts)
	}
	return ts, nil
}

// linkPlace turns the names of house, structure, attic and slope into numbers.
func (p partRoom[T, M, P]) linkPlace(w *work, rows []row[T]) error {
	house := must("house_ref", byHouse, func(t *T) *string { return &p.place(t).HouseRef }, func(t *T) *int64 { return &p.place(t).HouseID })
	if err := house.link(w, rows); err != nil {
		return err
	}
	structures, err := placeIn(w, rows, func(t *T) (int64, string) { return p.place(t).HouseID, strings.TrimSpace(p.place(t).Structure) })
	if err != nil {
		return err
	}
	if !p.inAttic {
		for i, row := range rows {
			*p.parent(row.t) = structures[i]
		}
	}
	if p.attic != nil {
		if err := p.linkAttics(w, rows, structures); err != nil {
			return err
		}
	}
	if p.slope != nil {
		if _, err := w.slopes.find(w.q, structures); err != nil {
			return err
		}
		for i, row := range rows {
			name := strings.TrimSpace(*p.slope(row.t))
			id := w.slopes.ids[placed{structures[i], name}]
			*p.slopeID(row.t) = nil
			if id != 0 && name != "" {
				*p.slopeID(row.t) = &id
			} else if name != "" && structures[i] != 0 {
				row.line.Refuse("slope", name, "is not kept: the structure has no such slope")
			}
		}
	}
	if p.link != nil {
		return p.link(w, rows)
	}
	return nil
}

// linkAttics finds attics by name within their structures, and makes the main
// one where it is named and not there.
func (p partRoom[T, M, P]) linkAttics(w *work, rows []row[T], structures []int64) error {
	if _, err := w.attics.find(w.q, structures); err != nil {
		return err
	}
	var made []*models.Attic
	asked := map[int64]bool{}
	for i, row := range rows {
		name := strings.TrimSpace(*p.attic(row.t))
		if name == intake.MainName && structures[i] != 0 && !asked[structures[i]] && w.attics.ids[placed{structures[i], name}] == 0 {
			asked[structures[i]] = true
			made = append(made, &models.Attic{StructureID: structures[i], Name: name})
		}
	}
	if err := keepRecords[models.Attic](w, made, nil); err != nil {
		return err
	}
	for _, m := range made {
		w.attics.add(m)
	}
	w.report.Make("attic", len(made))
	for i, row := range rows {
		name := strings.TrimSpace(*p.attic(row.t))
		id := w.attics.ids[placed{structures[i], name}]
		if name != "" && structures[i] != 0 && id == 0 {
			row.line.Refuse("attic", name, "is not kept: the structure has no such attic")
		}
		if p.inAttic {
			*p.parent(row.t) = id
			continue
		}
		*p.atticID(row.t) = nil
		if name != "" && id != 0 {
			*p.atticID(row.t) = &id
		}
	}
	return nil
}

// linkRoofRefs finds the roofs that rows name, which must be of their house.
func linkRoofRefs[T any](w *work, rows []row[T], refs func(*T) []string, house func(*T) int64) error {
	var wanted []string
	for _, row := range rows {
		wanted = append(wanted, refs(row.t)...)
	}
	if err := w.roofs.find(w.q, wanted); err != nil {
		return err
	}
	for _, row := range rows {
		for _, ref := range refs(row.t) {
			roof := w.roofs.byName[ref]
			if roof.ID == 0 {
				row.line.Refuse("roof_refs", ref, "is not kept: there is no such roof")
				continue
			}
			sameHouse(w, row.line, "roof_refs", roof, house(row.t))
		}
	}
	return nil
}

func fillSlopeRoofs(w *work, ts []*intake.Slope) error {
	ids, of := numbered(ts, func(s *intake.Slope) int64 { return s.ID })
	links, err := store.ListIn[models.RoofSlope](w.q, "slope_id", ids)
	if err != nil {
		return err
	}
	var roofs []int64
	for _, l := range links {
		roofs = append(roofs, l.RoofID)
	}
	if err := w.roofs.findIDs(w.q, roofs); err != nil {
		return err
	}
	for _, l := range links {
		of[l.SlopeID].RoofRefs = append(of[l.SlopeID].RoofRefs, w.roofs.byID[l.RoofID].Name)
	}
	return nil
}

func linkSlopeRoofs(w *work, rows []row[intake.Slope]) error {
	return linkRoofRefs(w, rows, func(s *intake.Slope) []string { return s.RoofRefs }, func(s *intake.Slope) int64 { return s.HouseID })
}

func saveSlopeRoofs(w *work, rows []row[intake.Slope]) error {
	ids := make([]int64, len(rows))
	for i, row := range rows {
		ids[i] = row.t.ID
	}
	kept, err := store.ListIn[models.RoofSlope](w.q, "slope_id", ids)
	if err != nil {
		return err
	}
	there := map[models.RoofSlope]bool{}
	for _, l := range kept {
		there[l] = true
	}
	var added []models.RoofSlope
	for _, row := range rows {
		var linked []string
		for _, ref := range row.t.RoofRefs {
			l := models.RoofSlope{RoofID: w.roofs.byName[ref].ID, SlopeID: row.t.ID}
			if !there[l] {
				there[l] = true
				added, linked = append(added, l), append(linked, ref)
			}
		}
		if len(linked) > 0 && !row.new {
			if err := w.tx.Linked(&row.t.Slope, "roofs", linked...); err != nil {
				return err
			}
		}
	}
	return store.PutAll(w.tx, added)
}

// numbered gives the numbers of rows, and the rows by them.
func numbered[T any](ts []*T, id func(*T) int64) ([]int64, map[int64]*T) {
	ids, of := make([]int64, len(ts)), make(map[int64]*T, len(ts))
	for i, t := range ts {
		ids[i] = id(t)
		of[ids[i]] = t
	}
	return ids, of
}

func fillJobs(w *work, ts []*intake.Job) error {
	ids, of := numbered(ts, func(j *intake.Job) int64 { return j.ID })
	var crews, roofs []int64
	for _, t := range ts {
		if t.CrewID != nil {
			crews = append(crews, *t.CrewID)
		}
	}
	if err := w.crews.findIDs(w.q, crews); err != nil {
		return err
	}
	for _, t := range ts {
		if t.CrewID != nil {
			t.Crew = w.crews.byID[*t.CrewID].Name
		}
	}
	links, err := store.ListIn[models.JobRoof](w.q, "job_id", ids)
	if err != nil {
		return err
	}
	for _, l := range links {
		roofs = append(roofs, l.RoofID)
	}
	if err := w.roofs.findIDs(w.q, roofs); err != nil {
		return err
	}
	for _, l := range links {
		of[l.JobID].RoofRefs = append(of[l.JobID].RoofRefs, w.roofs.byID[l.RoofID].Name)
	}
	lots, err := store.ListIn[models.Lot](w.q, "job_id", ids)
	if err != nil {
		return err
	}
	for _, l := range lots {
		of[l.JobID].Lots = append(of[l.JobID].Lots, l.Number)
	}
	declined, err := store.ListIn[models.Declined](w.q, "job_id", ids)
	for _, d := range declined {
		of[d.JobID].Declined = append(of[d.JobID].Declined, intake.DeclinedText(&d))
	}
	return err
}

// linkJobs finds the crews, makes those that are not kept, and checks the roofs.
func linkJobs(w *work, rows []row[intake.Job]) error {
	var wanted []string
	for _, row := range rows {
		wanted = append(wanted, row.t.Crew)
	}
	if err := w.crews.find(w.q, wanted); err != nil {
		return err
	}
	var made []*models.Crew
	asked := map[string]bool{"": true}
	for _, name := range wanted {
		if w.crews.byName[name].ID == 0 && !asked[name] {
			asked[name] = true
			made = append(made, &models.Crew{Name: name})
		}
	}
	if err := keepRecords[models.Crew](w, made, nil); err != nil {
		return err
	}
	for _, m := range made {
		w.crews.add(store.Named{ID: m.ID, Name: m.Name})
	}
	w.report.Make("crew", len(made))
	for _, row := range rows {
		row.t.CrewID = nil
		if crew := w.crews.byName[row.t.Crew]; row.t.Crew != "" {
			row.t.CrewID = &crew.ID
		}
	}
	return linkRoofRefs(w, rows, func(j *intake.Job) []string { return j.RoofRefs }, func(j *intake.Job) int64 { return j.HouseID })
}

// saveJobParts adds the roofs, lots and declined work that rows name and that
// are not kept.
func saveJobParts(w *work, rows []row[intake.Job]) error {
	kept := make([]*intake.Job, len(rows))
	for i, row := range rows {
		kept[i] = &intake.Job{Job: row.t.Job}
	}
	if err := fillJobs(w, kept); err != nil {
		return err
	}
	var roofs []models.JobRoof
	var lots []*models.Lot
	var declined []*models.Declined
	for i, row := range rows {
		linked := added(row.t.RoofRefs, kept[i].RoofRefs)
		for _, ref := range linked {
			roofs = append(roofs, models.JobRoof{JobID: row.t.ID, RoofID: w.roofs.byName[ref].ID})
		}
		if len(linked) > 0 && !row.new {
			if err := w.tx.Linked(&row.t.Job, "roofs", linked...); err != nil {
				return err
			}
		}
		for _, number := range added(row.t.Lots, kept[i].Lots) {
			lots = append(lots, &models.Lot{JobID: row.t.ID, Number: number})
		}
		for _, text := range added(row.t.Declined, kept[i].Declined) {
			d, err := intake.ParseDeclined(text)
			if err != nil {
				return err
			}
			d.JobID = row.t.ID
			declined = append(declined, &d)
		}
	}
	if err := store.PutAll(w.tx, roofs); err != nil {
		return err
	}
	if err := keepRecords[models.Lot](w, lots, nil); err != nil {
		return err
	}
	return keepRecords[models.Declined](w, declined, nil)
}

// added gives the items that are not among the kept ones.
func added(items, kept []string) []string {
	var out []string
	for _, item := range items {
		if !slices.ContainsFunc(kept, func(k string) bool { return strings.TrimSpace(k) == strings.TrimSpace(item) }) {
			out = append(out, item)
		}
	}
	return out
}

// alikeRoom is the room of a kind whose records have no name of their own but
// belong to one that has, and are told apart by what they say and by nth.
type alikeRoom[T, M any, P record[M]] struct {
	sheet     *intake.Sheet[T]
	of        func(*work) *names
	table     string
	column    string // of the number of what it belongs to
	refColumn string
	inner     func(*T) *M
	ref       func(*T) *string
	id        func(*T) *int64
	nth       func(*T) *int
	alike     func(*T) string
	fill      func(w *work, ts []*T) error
	link      func(w *work, rows []row[T]) error
	counted   func(w *work, ts []*T) error       // after nth is known; may be nil
	save      func(w *work, rows []row[T]) error // nil for the plain way
}

func (a alikeRoom[T, M, P]) room() *room[T] {
	owner := must(a.refColumn, a.of, a.ref, a.id)
	filled := func(w *work, ids []int64) ([]*T, error) {
		ms, err := store.ListIn[M](w.q, a.column, ids)
		if err != nil {
			return nil, err
		}
		ts := wrap(a.inner, ms)
		if err := owner.fill(w, ts); err != nil {
			return nil, err
		}
		if a.fill != nil {
			if err := a.fill(w, ts); err != nil {
				return nil, err
			}
		}
		w.alike = map[string]int{}
		for _, t := range ts {
			w.alike[a.alike(t)]++
			*a.nth(t) = w.alike[a.alike(t)]
		}
		if a.counted != nil {
			return ts, a.counted(w, ts)
		}
		return ts, nil
	}
	save := a.save
	if save == nil {
		save = func(w *work, rows []row[T]) error { return keep[T, M, P](w, rows, a.inner) }
	}
	return &room[T]{sheet: a.sheet,
		load: func(w *work, lines []*intake.Line[T]) ([]*T, error) {
			ids, err := w.idsOf(a.of(w), texts(lines, a.refColumn))
			if err != nil {
				return nil, err
			}
			return filled(w, ids)
		},
		link: func(w *work, rows []row[T]) error {
			if err := owner.link(w, rows); err != nil {
				return err
			}
			if a.link != nil {
				if err := a.link(w, rows); err != nil {
					return err
				}
			}
			owned := slices.DeleteFunc(slices.Clone(rows), func(r row[T]) bool { return *a.id(r.t) == 0 })
			nextOfAlike(w, owned, a.alike, func(t *T) int { return *a.nth(t) })
			return nil
		},
		save: save,
		pages: func(w *work, fn func([]*T) error) error {
			for after := int64(0); ; {
				// Whole owners at a time, so that nth counts all that are alike.
				ids, err := store.IDs(w.q, "SELECT DISTINCT "+a.column+" AS id FROM "+a.table+" WHERE "+a.column+" > ? ORDER BY "+a.column+" LIMIT ?", after, chunk)
				if err != nil || len(ids) == 0 {
					return err
				}
				ts, err := filled(w, ids)
				if err != nil {
					return err
				}
				if err := fn(ts); err != nil {
					return err
				}
				after = ids[len(ids)-1]
			}
		},
	}
}

// readSlopes reads slopes by their numbers, with their structures.
func (w *work) readSlopes(ids []int64) error {
	if err := w.slopes.findIDs(w.q, ids); err != nil {
		return err
	}
	var structures []int64
	for _, id := range ids {
		structures = append(structures, w.slopes.byID[id].StructureID)
	}
	return w.structures.findIDs(w.q, structures)
}

// fillSight names the slopes that visits had in sight.
func fillSight(w *work, ts []*intake.Visit) error {
	var slopes []int64
	for _, t := range ts {
		if t.InSight != nil {
			slopes = append(slopes, *t.InSight...)
		}
	}
	if err := w.readSlopes(slopes); err != nil {
		return err
	}
	for _, t := range ts {
		switch {
		case t.InSight == nil:
		case len(*t.InSight) == 0:
			t.Sight = []string{intake.NoSlope}
		default:
			for _, id := range *t.InSight {
				slope := w.slopes.byID[id]
				t.Sight = append(t.Sight, intake.SightName(w.structures.byID[slope.StructureID].Name, slope.Name))
			}
		}
	}
	return nil
}

// linkSight finds the slopes in sight by name in the visited house. A look that is
// still to come has not been done.
func linkSight(w *work, rows []row[intake.Visit]) error {
	var houses []int64
	for _, row := range rows {
		if row.t.DoneOn > w.today {
			row.line.Refuse("done_on", row.t.DoneOn.String(), "must not lie ahead: a look that is to come is booked")
		}
		if len(row.t.Sight) > 0 {
			houses = append(houses, row.t.HouseID)
		}
	}
	structures, err := w.structures.find(w.q, houses)
	if err != nil {
		return err
	}
	if _, err := w.slopes.find(w.q, structures); err != nil {
		return err
	}
	for _, row := range rows {
		t := row.t
		t.InSight = nil
		if len(t.Sight) == 0 || t.HouseID == 0 {
			continue
		}
		t.InSight = &models.JSON[int64]{}
		if slices.Equal(t.Sight, []string{intake.NoSlope}) {
			continue
		}
		for _, name := range t.Sight {
			slope := w.slopes.ids[placed{w.structures.ids[placed{t.HouseID, intake.MainName}], name}]
			for at := 0; slope == 0 && at < len(name); at++ {
				if name[at] == '/' {
					slope = w.slopes.ids[placed{w.structures.ids[placed{t.HouseID, name[:at]}], name[at+1:]}]
				}
			}
			if slope == 0 {
				row.line.Refuse("in_sight", name, "is not kept: the house has no such slope; write its name, of another building than main as garage/south")
				continue
			}
			*t.InSight = append(*t.InSight, slope)
		}
	}
	return nil
}

func fillFindingSlopes(w *work, ts []*intake.Finding) error {
	var slopes []int64
	for _, t := range ts {
		if t.SlopeID != nil {
			slopes = append(slopes, *t.SlopeID)
		}
	}
	if err := w.readSlopes(slopes); err != nil {
		return err
	}
	for _, t := range ts {
		t.Structure = intake.MainName
		if t.SlopeID != nil {
			slope := w.slopes.byID[*t.SlopeID]
			t.Slope, t.Structure = slope.Name, w.structures.byID[slope.StructureID].Name
		}
	}
	return nil
}

// linkFindings finds the slopes by name in the visited house, and the defects in
// their catalogue.
func linkFindings(w *work, rows []row[intake.Finding]) error {
	if w.defectKeys == nil {
		w.defectKeys = map[string]bool{}
		for _, d := range wear.Catalogue() {
			w.defectKeys[d.Key] = true
		}
	}
	houses, ids := make([]int64, len(rows)), make([]int64, len(rows))
	for i, row := range rows {
		houses[i], ids[i] = w.visits.byName[row.t.VisitRef].House, row.t.VisitID
	}
	structures, err := w.structures.find(w.q, houses)
	if err != nil {
		return err
	}
	if _, err := w.slopes.find(w.q, structures); err != nil {
		return err
	}
	visited, err := store.ListIn[models.Visit](w.q, "id", ids)
	if err != nil {
		return fmt.Errorf("reading the visits of the findings: %w", err)
	}
	visits := map[int64]*models.Visit{}
	for i := range visited {
		visits[visited[i].ID] = &visited[i]
	}
	for i, row := range rows {
		if !w.defectKeys[row.t.Defect] {
			var all []string
			for _, d := range wear.Catalogue() {
				all = append(all, d.Key)
			}
			row.line.Refuse("defect", row.t.Defect, "is not in the catalogue of defects: %s", strings.Join(all, ", "))
		}
		row.t.SlopeID = nil
		if row.t.Slope == "" || houses[i] == 0 {
			continue
		}
		structure := w.structures.ids[placed{houses[i], strings.TrimSpace(row.t.Structure)}]
		slope := w.slopes.ids[placed{structure, strings.TrimSpace(row.t.Slope)}]
		if structure == 0 || slope == 0 {
			row.line.Refuse("slope", row.t.Slope, "is not kept: the house has no such slope on the structure %s", row.t.Structure)
			continue
		}
		row.t.SlopeID = &slope
		if v := visits[row.t.VisitID]; v != nil && row.t.ID == 0 && row.t.Look != "not_looked" && !v.Saw(slope) {
			row.line.Refuse("slope", row.t.Slope, "was not in sight at the visit, and %s cannot have been looked for on it", row.t.Defect)
		}
	}
	return nil
}

// linkCosts works out what a new cost line leaves empty, by the branch's rates, and
// refuses changes of what a kept one cost.
func linkCosts(w *work, rows []row[intake.Cost]) error {
	kept, err := keptBefore[models.CostLine](w, rows, func(c *intake.Cost) int64 { return c.ID })
	if err != nil {
		return err
	}
	branch, err := store.Get[models.Branch](w.q, w.branch)
	if err != nil {
		return fmt.Errorf("reading the rates of the branch: %w", err)
	}
	for _, row := range rows {
		if was := kept[row.t.ID]; !row.new {
			if row.t.CorrectsName == "" {
				row.t.Corrects = nil
			}
			row.line.Breaks(row.t.StaysAs(was))
			continue
		}
		typed := func(column string, is units.Money) *units.Money {
			if row.line.Text(column) == "" {
				return nil
			}
			return &is
		}
		line := &row.t.CostLine
		row.line.Breaks(branch.Price(line, typed("amount", line.Amount), typed("tax", line.Tax)))
	}
	return nil
}

// costName is what a file calls a cost line within its callback.
func costName(c *models.CostLine, nth int) string { return fmt.Sprintf("%s %s %d", c.On, c.Kind, nth) }

// nameCorrected says which line of its callback a cost line corrects.
func nameCorrected(_ *work, ts []*intake.Cost) error {
	called := map[int64]string{}
	for _, t := range ts {
		called[t.ID] = costName(&t.CostLine, t.Nth)
	}
	for _, t := range ts {
		if t.Corrects != nil {
			t.CorrectsName = called[*t.Corrects]
		}
	}
	return nil
}

// saveCosts keeps cost lines, each after the one that it corrects.
func saveCosts(w *work, rows []row[intake.Cost]) error {
	inner := func(c *intake.Cost) *models.CostLine { return &c.CostLine }
	var left []row[intake.Cost]
	var plain []row[intake.Cost]
	ids := map[int64]bool{}
	for _, row := range rows {
		if row.t.CorrectsName == "" {
			row.t.Corrects = nil
			plain = append(plain, row)
		} else {
			left = append(left, row)
			ids[row.t.CallbackID] = true
		}
	}
	if err := keep[intake.Cost, models.CostLine](w, plain, inner); err != nil {
		return err
	}
	for len(left) > 0 {
		kept, err := store.ListIn[models.CostLine](w.tx.Query, "callback_id", slices.Collect(maps.Keys(ids)))
		if err != nil {
			return err
		}
		type name struct {
			callback int64
			is       string
		}
		at, nth := map[name]int64{}, map[string]int{}
		for i := range kept {
			alike := fmt.Sprint(kept[i].CallbackID, kept[i].On, kept[i].Kind)
			nth[alike]++
			at[name{kept[i].CallbackID, costName(&kept[i], nth[alike])}] = kept[i].ID
		}
		var now, later []row[intake.Cost]
		for _, row := range left {
			if id := at[name{row.t.CallbackID, row.t.CorrectsName}]; id != 0 && id != row.t.ID {
				row.t.Corrects = &id
				now = append(now, row)
			} else {
				later = append(later, row)
			}
		}
		if len(now) == 0 {
			return models.FieldErrorf("corrects", later[0].t.CorrectsName, "names no cost line of the callback; write its day, kind and number, such as 2021-03-12 labour 1")
		}
		if err := keep[intake.Cost, models.CostLine](w, now, inner); err != nil {
			return err
		}
		left = later
	}
	return nil
}
