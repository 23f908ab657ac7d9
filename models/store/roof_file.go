package store

import (
	"cmp"
	"slices"

	"overhang/analytics/units"
	"overhang/models"
)

// RoofFiles reads everything that is kept about the given roofs, a few
// statements for each five hundred of them, in the order of the ids.
func RoofFiles(q Query, ids []int64) ([]models.RoofFile, error) {
	coverings, err := List[models.Covering](q, "id", "")
	if err != nil {
		return nil, err
	}
	terms, err := List[models.Terms](q, "id", "")
	if err != nil {
		return nil, err
	}
	around, err := readAround(q)
	if err != nil {
		return nil, err
	}
	covering, term := index(coverings), index(terms)
	files := make([]models.RoofFile, 0, len(ids))
	for start := 0; start < len(ids); start += batch {
		part, err := roofFiles(q, ids[start:min(start+batch, len(ids))], covering, term, around)
		if err != nil {
			return nil, err
		}
		files = append(files, part...)
	}
	return files, nil
}

// RoofFile reads everything that is kept about one roof.
func RoofFile(q Query, id int64) (*models.RoofFile, error) {
	files, err := RoofFiles(q, []int64{id})
	if err != nil {
		return nil, err
	}
	if len(files) == 0 {
		return nil, models.Errorf(models.NotFound, "There is no such roof.")
	}
	return &files[0], nil
}

// around is what the files share of the world beyond one roof.
type around struct {
	storms   []models.Storm
	troubles map[int64][]models.Trouble // by covering
	laid     map[int64]int              // roofs that are written down, by covering
}

func readAround(q Query) (*around, error) {
	a := &around{troubles: map[int64][]models.Trouble{}, laid: map[int64]int{}}
	var err error
	if a.storms, err = List[models.Storm](q, "on_day, id", ""); err != nil {
		return nil, err
	}
	rows, err := Rows[struct {
		ID, RoofID, CoveringID int64
		DecidedOn              units.Date
	}](q, `SELECT c.id, c.roof_id, r.covering_id, COALESCE(c.decided_on, c.learned_on) AS decided_on FROM callbacks c JOIN roofs r ON r.id = c.roof_id
WHERE c.state IN ('accepted', 'repaired', 'closed') AND c.cause_found = 'material' AND c.refused_because = '' AND r.covering_id IS NOT NULL
ORDER BY decided_on, c.id`)
	if err != nil {
		return nil, err
	}
	roofs := make([]int64, 0, len(rows))
	for _, row := range rows {
		roofs = append(roofs, row.RoofID)
	}
	lots := map[int64][]string{}
	for start := 0; start < len(roofs); start += batch {
		used, err := Rows[struct {
			RoofID int64
			Number string
		}](q, `SELECT jr.roof_id, l.number FROM job_roofs jr JOIN lots l ON l.job_id = jr.job_id WHERE jr.roof_id IN ?`, roofs[start:min(start+batch, len(roofs))])
		if err != nil {
			return nil, err
		}
		for _, u := range used {
			lots[u.RoofID] = append(lots[u.RoofID], u.Number)
		}
	}
	for _, row := range rows {
		a.troubles[row.CoveringID] = append(a.troubles[row.CoveringID], models.Trouble{CallbackID: row.ID, RoofID: row.RoofID, Lots: lots[row.RoofID], On: row.DecidedOn})
	}
	counts, err := Rows[struct {
		CoveringID int64
		Laid       int
	}](q, `SELECT covering_id, COUNT(*) AS laid FROM roofs WHERE covering_id IS NOT NULL GROUP BY covering_id`)
	for _, c := range counts {
		a.laid[c.CoveringID] = c.Laid
	}
	return a, err
}

func roofFiles(q Query, ids []int64, covering map[int64]models.Covering, terms map[int64]models.Terms, around *around) ([]models.RoofFile, error) {
	var r reading
	roofs := in[models.Roof](&r, q, "id", ids)
	houseIDs := keysOf(roofs, func(v models.Roof) int64 { return v.HouseID })
	houses := index(in[models.House](&r, q, "id", houseIDs))
	addresses := group(in[models.Address](&r, q, "house_id", houseIDs), func(v models.Address) int64 { return v.HouseID })
	allStructures := in[models.Structure](&r, q, "house_id", houseIDs)
	structures := group(allStructures, func(v models.Structure) int64 { return v.HouseID })
	structureIDs := keysOf(allStructures, func(v models.Structure) int64 { return v.ID })
	allAttics := in[models.Attic](&r, q, "structure_id", structureIDs)
	attics := group(allAttics, func(v models.Attic) int64 { return v.StructureID })
	slopes := group(in[models.Slope](&r, q, "structure_id", structureIDs), func(v models.Slope) int64 { return v.StructureID })
	vents := group(in[models.Vent](&r, q, "attic_id", keysOf(allAttics, func(v models.Attic) int64 { return v.ID })),
		func(v models.Vent) int64 { return v.AtticID })
	gutters := group(in[models.GutterRun](&r, q, "structure_id", structureIDs), func(v models.GutterRun) int64 { return v.StructureID })
	details := group(in[models.Detail](&r, q, "structure_id", structureIDs), func(v models.Detail) int64 { return v.StructureID })
	lies := map[int64]map[int64]bool{}
	for _, l := range in[models.RoofSlope](&r, q, "roof_id", ids) {
		if lies[l.RoofID] == nil {
			lies[l.RoofID] = map[int64]bool{}
		}
		lies[l.RoofID][l.SlopeID] = true
	}
	jobLinks := in[models.JobRoof](&r, q, "roof_id", ids)
	jobsOf := group(jobLinks, func(v models.JobRoof) int64 { return v.RoofID })
	jobs := index(in[models.Job](&r, q, "id", keysOf(jobLinks, func(v models.JobRoof) int64 { return v.JobID })))
	declined := group(in[models.Declined](&r, q, "job_id", keysOf(jobLinks, func(v models.JobRoof) int64 { return v.JobID })),
		func(v models.Declined) int64 { return v.JobID })
	lots := group(in[models.Lot](&r, q, "job_id", keysOf(jobLinks, func(v models.JobRoof) int64 { return v.JobID })), func(v models.Lot) int64 { return v.JobID })
	warranties := group(in[models.Warranty](&r, q, "roof_id", ids), func(v models.Warranty) int64 { return v.RoofID })
	allVisits := in[models.Visit](&r, q, "house_id", houseIDs)
	visits := group(allVisits, func(v models.Visit) int64 { return v.HouseID })
	findings := group(in[models.Finding](&r, q, "visit_id", keysOf(allVisits, func(v models.Visit) int64 { return v.ID })),
		func(v models.Finding) int64 { return v.VisitID })
	allCallbacks := in[models.Callback](&r, q, "house_id", houseIDs)
	callbacks := group(allCallbacks, func(v models.Callback) int64 { return *v.HouseID })
	costs := group(in[models.CostLine](&r, q, "callback_id", keysOf(allCallbacks, func(v models.Callback) int64 { return v.ID })),
		func(v models.CostLine) int64 { return v.CallbackID })
	holdings := group(in[models.Holding](&r, q, "house_id", houseIDs), func(v models.Holding) int64 { return v.HouseID })
	plans := group(in[models.Plan](&r, q, "house_id", houseIDs), func(v models.Plan) int64 { return v.HouseID })
	if r.err != nil {
		return nil, r.err
	}

	byID := make(map[int64]models.RoofFile, len(roofs))
	for _, roof := range roofs {
		f := models.RoofFile{Roof: roof, House: houses[roof.HouseID], Structures: structures[roof.HouseID],
			Warranties: warranties[roof.ID], Terms: map[int64]models.Terms{}, Visits: visits[roof.HouseID], Findings: map[int64][]models.Finding{},
			Callbacks: callbacks[roof.HouseID], Costs: map[int64][]models.CostLine{}, Holdings: holdings[roof.HouseID], Plans: plans[roof.HouseID],
			Storms: around.storms}
		slices.SortStableFunc(f.Visits, func(a, b models.Visit) int { return cmp.Compare(a.On(), b.On()) })
		slices.SortStableFunc(f.Callbacks, func(a, b models.Callback) int { return cmp.Compare(a.LearnedOn, b.LearnedOn) })
		slices.SortStableFunc(f.Holdings, func(a, b models.Holding) int { return cmp.Compare(a.FromOn, b.FromOn) })
		for _, a := range addresses[roof.HouseID] {
			if a.Main || f.Address.ID == 0 {
				f.Address = a
			}
		}
		if roof.CoveringID != nil {
			if c, found := covering[*roof.CoveringID]; found {
				f.Covering = &c
				f.Troubles, f.CoveringLaid = around.troubles[c.ID], around.laid[c.ID]
			}
		}
		for _, s := range f.Structures {
			if roof.StructureID != nil && *roof.StructureID != s.ID {
				continue
			}
			f.Attics = append(f.Attics, attics[s.ID]...)
			f.Gutters = append(f.Gutters, gutters[s.ID]...)
			f.Details = append(f.Details, details[s.ID]...)
			for _, a := range attics[s.ID] {
				f.Vents = append(f.Vents, vents[a.ID]...)
			}
			for _, slope := range slopes[s.ID] {
				// A roof with no slopes named lies on all of its structure's.
				if lies[roof.ID] == nil || lies[roof.ID][slope.ID] {
					f.Slopes = append(f.Slopes, slope)
				}
			}
		}
		for _, l := range jobsOf[roof.ID] {
			f.Jobs = append(f.Jobs, jobs[l.JobID])
			f.Declined = append(f.Declined, declined[l.JobID]...)
			for _, lot := range lots[l.JobID] {
				f.Lots = append(f.Lots, lot.Number)
			}
		}
		for _, c := range f.Callbacks {
			if len(costs[c.ID]) > 0 {
				f.Costs[c.ID] = costs[c.ID]
			}
		}
		for _, w := range f.Warranties {
			f.Terms[w.TermsID] = terms[w.TermsID]
		}
		for _, v := range f.Visits {
			if len(findings[v.ID]) > 0 {
				f.Findings[v.ID] = findings[v.ID]
			}
		}
		byID[roof.ID] = f
	}
	out := make([]models.RoofFile, 0, len(ids))
	for _, id := range ids {
		if f, found := byID[id]; found {
			out = append(out, f)
		}
	}
	return out, nil
}

// reading gathers the first error of many reads, so that each need not be
// looked at alone.
type reading struct{ err error }

func (r *reading) keep(err error) {
	if r.err == nil {
		r.err = err
	}
}

func in[T any](r *reading, q Query, column string, ids []int64) []T {
	if r.err != nil || len(ids) == 0 {
		return nil
	}
	out, err := ListIn[T](q, column, ids)
	r.keep(err)
	return out
}

// keysOf gives the different keys of the rows, in the order they first stand.
func keysOf[T any](rows []T, key func(T) int64) []int64 {
	seen := make(map[int64]bool, len(rows))
	var out []int64
	for _, row := range rows {
		if k := key(row); !seen[k] {
			seen[k] = true
			out = append(out, k)
		}
	}
	return out
}

func group[T any](rows []T, key func(T) int64) map[int64][]T {
	out := map[int64][]T{}
	for _, row := range rows {
		out[key(row)] = append(out[key(row)], row)
	}
	return out
}

// index gives the records by their number.
func index[T any, P interface {
	*T
	models.Record
}](rows []T) map[int64]T {
	out := make(map[int64]T, len(rows))
	for i := range rows {
		out[P(&rows[i]).Base().ID] = rows[i]
	}
	return out
}
