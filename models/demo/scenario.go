package demo

import "overhang/models"

// scenarios are what the owner has asked about, one of each kind. How much more
// often callbacks come in each is an owner's guess, and invented.
func (m *maker) scenarios() {
	next := m.Today.Year() + 1
	if lot := m.widestLot(); lot != "" {
		add(&m.c.Scenarios, models.Scenario{Name: "Lot " + lot + " sheds its grit", Kind: "bad_lot", Lot: lot, RateTimes: 4, CostTimes: 1.5,
			Bearers: models.JSON[models.BearerPart]{{Bearer: "us", Share: .5}, {Bearer: "maker", Share: .5}},
			Notes:   "If the whole lot is as bad as the worst roof. The maker paid half the last time."})
	}
	habit := int64(habitCrew)
	add(&m.c.Scenarios, models.Scenario{Name: "The short laps come up", Kind: "lap_habit", CrewID: &habit, Cause: "lap", RateTimes: 3, CostTimes: 1,
		Notes: "Flanges lapped a third only, until the crew was shown."})
	if len(m.c.Storms) > 0 {
		add(&m.c.Scenarios, models.Scenario{Name: "Hail once more where it fell", Kind: "hail_line", StormID: &m.c.Storms[0].ID, HalfWidth: m.hail.HalfWidth, Cause: "storm", Year: &next,
			RateTimes: 1, Added: .3, CostTimes: 1, Bearers: models.JSON[models.BearerPart]{{Bearer: "us", Share: .1}, {Bearer: "insurer", Share: .9}},
			Notes: "Three roofs in ten call us; the insurers bear most."})
	}
	add(&m.c.Scenarios, models.Scenario{Name: "An ice winter", Kind: "ice_winter", Cause: "ice", Year: &next, RateTimes: 4, CostTimes: 1})
}

// widestLot is the lot on most roofs under a promise of our own, the first of
// them by number.
func (m *maker) widestLot() string {
	promised := map[int64]bool{}
	for _, r := range m.roofs {
		if r.promise != 0 && r.promiseUntil > m.Today && r.stands(m.Today) {
			promised[r.job] = true
		}
	}
	jobs := map[string]int{}
	widest := ""
	for _, l := range m.c.Lots {
		if !promised[l.JobID] {
			continue
		}
		jobs[l.Number]++
		if n := jobs[l.Number]; n > jobs[widest] || n == jobs[widest] && l.Number < widest {
			widest = l.Number
		}
	}
	return widest
}
