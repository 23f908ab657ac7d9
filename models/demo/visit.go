package demo

import (
	"math"
	"slices"
	"time"

	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
)

// visits invents the looks at our roofs: the yearly check-ups with what they
// found, the looks for callbacks and storms, and what is booked and due.
func (m *maker) visits() {
	var due []dueRoof
	for n, r := range m.roofs {
		if r.main && r.closed != 0 {
			due = m.rounds(m.dice.turn(forVisit, n), r, due)
		}
	}
	m.callbackLooks()
	m.stormLooks(&m.hail)
	m.stormLooks(&m.blow)
	m.offer(due)
}

// asked says whether a check-up is ours to offer on a day: while we answer for
// the work, or a plan runs.
func (r *ourRoof) asked(day units.Date) bool {
	p := r.house.plan
	return day <= r.promiseUntil || (p.FromOn != 0 && p.FromOn <= day && (p.ToOn == 0 || p.ToOn >= day))
}

type dueRoof struct {
	roof *ourRoof
	last units.Date // the last check-up, or the day the job was closed
}

// rounds writes the check-ups of one roof up to now. A roof whose check-up is
// due, or will be within the month, is passed on.
func (m *maker) rounds(d *dice, r *ourRoof, due []dueRoof) []dueRoof {
	keen := d.span(.55, .95) // how willing these people are
	spring := d.chance(.45)
	last := r.closed
	until := m.Today.AddDays(-1)
	if r.ended != 0 {
		until = min(until, r.ended.AddDays(-20))
	}
	for year := r.closed.Year() + 1; year <= m.Today.Year(); year++ {
		day := units.NewDate(year, time.September, 1).AddDays(d.between(0, 62))
		if spring {
			day = units.NewDate(year, time.April, 22).AddDays(d.between(0, 55))
		}
		day = nextWorkingDay(day)
		if day < r.closed.AddDays(270) || (!r.asked(day) && !d.chance(.2)) {
			continue
		}
		if day > until {
			break
		}
		v := models.Visit{Ref: m.visitRef(), HouseID: r.house.id, RoofID: &r.id, Purpose: "checkup", OfferedOn: day.AddDays(-d.between(12, 45))}
		switch d.weighted(keen*78, 11, (1-keen)*30, 4, 3, 4) {
		case 0:
			v.BookedFor, v.DoneOn = day, day
			if d.chance(.08) { // rain that day
				v.DoneOn = nextWorkingDay(day.AddDays(d.between(1, 6)))
			}
			if v.DoneOn > until {
				v.DoneOn = day
			}
			m.howLooked(d, r, &v)
			if d.chance(.6) { // whether it was wet was noted; a wet roof is not walked
				v.Wet = new(d.chance(.06))
				if *v.Wet && v.Method == "walked" {
					v.Method = "ladder"
				}
			}
			id := add(&m.c.Visits, v)
			m.findings(d, r, id, &v)
			last = v.DoneOn
			continue
		case 1:
			v.DeclinedOn = v.OfferedOn.AddDays(d.between(1, 10))
		case 2: // offered, and nobody answered
			v.CancelledOn = m.past(day.AddDays(45))
			v.Notes = "No answer to the offer."
		case 3: // not offered that year
			continue
		case 4:
			v.BookedFor, v.CancelledOn = day, day.AddDays(-d.between(0, 4))
			v.Notes = "Called off, sick child."
		case 5: // nobody was at home
			v.BookedFor, v.CancelledOn = day, day
			v.Notes = "Gate locked, nobody in."
		}
		add(&m.c.Visits, v)
	}
	if r.ended == 0 && r.asked(m.Today) && last.AddMonths(12) <= m.Today.AddDays(30) {
		due = append(due, dueRoof{r, last})
	}
	return due
}

func (m *maker) visitRef() string { return numbered("V-", 5, len(m.c.Visits)+1) }

// howLooked says who looked and from where: steep roofs are not walked.
func (m *maker) howLooked(d *dice, r *ourRoof, v *models.Visit) {
	v.ByName = checker
	if mo := v.DoneOn.Time().Month(); (mo == time.May || mo == time.October) && d.chance(.35) {
		v.ByName = helper
	}
	switch {
	case r.on.pitch >= 8:
		v.Method = []string{"ladder", "photo"}[d.weighted(70, 30)]
	case !inSeason(v.DoneOn):
		v.Method = []string{"street", "photo"}[d.weighted(50, 50)]
	default:
		v.Method = []string{"walked", "ladder", "photo", "street"}[d.weighted(68, 22, 6, 4)]
	}
	v.Gutters = new(v.Method == "walked" || v.Method == "ladder")
	if v.DoneOn >= m.Today.AddYears(-3) { // before that it was not kept
		v.SeenBefore = new(len(m.c.Visits)%5 == 0)
	}
	if v.Method == "street" && len(r.on.slopes) > 0 { // only the front can be seen from there
		v.InSight = &models.JSON[int64]{r.on.first}
	}
}

// The defects that a look notes, by their keys in the wear catalogue.
const (
	granules  = "granule_loss"
	curling   = "curling"
	cracks    = "cracking"
	missing   = "missing_shingles"
	loose     = "lifted_tabs"
	nailHeads = "popped_nails"
	bruises   = "hail_bruises"
	sealant   = "sealant_gone"
	shortLap  = "lap_short"
	valleys   = "valley_wear"
	rust      = "rust"
	moss      = "moss"
	debris    = "gutter_debris"
)

// hidden lists the defects that a method cannot show.
var hidden = map[string][]string{
	"ladder": {sealant, shortLap, valleys},
	"photo":  {loose, bruises, shortLap, debris},
	"street": {cracks, loose, nailHeads, bruises, sealant, shortLap, valleys, rust, debris},
}

// needDry are the defects that cannot be judged on a wet roof.
var needDry = func() map[string]bool {
	out := map[string]bool{}
	for _, x := range wear.Catalogue() {
		out[x.Key] = x.NeedsDry
	}
	return out
}()

// steps are the shares of its life from which a covering shows a defect in the
// second and the third severity, by an eye that draws the line where most do.
var steps = map[string][2]float64{granules: {.45, .9}, curling: {.6, 1}, cracks: {.9, 1.2}, valleys: {.8, 1.2}}

// findings writes what a look found. Wear grows with the age over the age at which
// the covering is worn out, faster on slopes that look south, so that the looks at
// one roof tell one story: about as far gone as the wear catalogue's line on its
// worst slope when it is worn out.
func (m *maker) findings(d *dice, r *ourRoof, visit int64, v *models.Visit) {
	l := &m.lots[r.house.lot]
	age := v.DoneOn.YearsSince(r.laid)
	eye := 1.12 // sees a little more than there is
	if v.ByName == helper {
		eye = .85
	}
	wet := v.Wet != nil && *v.Wet
	told := map[string]bool{}
	put := func(slope *int64, defect string, severity int, extent float64) {
		told[defect] = true
		f := models.Finding{VisitID: visit, SlopeID: slope, Defect: defect, Look: "none"}
		switch {
		case slices.Contains(hidden[v.Method], defect) || wet && needDry[defect]:
			f.Look, f.SlopeID = "not_looked", nil
		case extent >= .01:
			f.Look, f.Severity, f.Extent = "seen", new(severity), new(round(math.Min(extent, .95), 2))
		}
		add(&m.c.Findings, f)
	}
	sometimes := func(p, extent float64) float64 {
		if d.chance(p) {
			return extent
		}
		return 0
	}
	if r.covering == ribbedMetal {
		put(nil, rust, 1, sometimes(.5, .01*(age-6)))
	} else {
		// The roof is worn out when its worst slope is.
		south := func(p plane) float64 { // 1 to the south, -1 to the north
			return -math.Cos((l.front + p.towards) * math.Pi / 180)
		}
		pace := func(p plane) float64 { return 1 + .14*south(p) }
		fastest := 0.0
		for _, p := range r.on.slopes {
			fastest = max(fastest, pace(p))
		}
		for i, p := range r.on.slopes {
			if !v.Saw(r.on.first + int64(i)) {
				continue
			}
			worn := age / r.wears * pace(p) / fastest
			slope := new(r.on.first + int64(i))
			grows := func(defect string, extent float64, always bool) {
				severity := 1
				for _, from := range steps[defect] {
					if worn >= from*d.span(.7, 1.3) {
						severity++
					}
				}
				if always || extent >= .01 {
					put(slope, defect, severity, extent*eye*d.span(.7, 1.3))
				}
			}
			grows(granules, .48*math.Pow(worn, 1.9), true)
			// Where one slope shows them, each is told of.
			grows(curling, .32*math.Pow(worn, 2.5), worn > .18)
			grows(cracks, .2*math.Pow(worn, 4), worn > .35)
			if r.on.valley && i == 0 && worn > .3 {
				grows(valleys, .4*math.Pow(worn, 2), false)
			}
			if south(p) < -.5 && l.trees && age > 4 {
				put(slope, moss, 1, sometimes(.6, .012*age))
			}
		}
		put(nil, loose, 1, sometimes(.4, .012*(age-4)))
		if d.chance(.05) {
			put(nil, missing, 1, .02)
		}
		if d.chance(.1) {
			put(nil, nailHeads, 2, .02)
		}
		if r.on.lap < .4 && v.Method == "walked" && v.DoneOn > m.habitEnds() {
			put(nil, shortLap, 2, .03)
		}
	}
	put(nil, sealant, 1+int(math.Min(age/9, 1)), sometimes(.35, .02*(age-4)))
	full, severity := .15, 1
	if l.trees {
		full = .75
	}
	if d.chance(.4) {
		severity = 2
	}
	put(nil, debris, severity, sometimes(full, d.span(.05, .6)))
	if d.chance(.12) {
		return // in a hurry: the rest was not looked at
	}
	for _, x := range wear.For(m.c.Coverings[r.covering-1].Family) {
		switch {
		case told[x.Key] || !x.ShownBy(wear.Method(v.Method)) || wet && x.NeedsDry || x.Part == wear.Gutter && !*v.Gutters:
		case x.Key == shortLap && r.on.lap < .4: // nobody had lifted one yet
		default:
			put(nil, x.Key, 0, 0)
		}
	}
}

// callbackLooks writes the looks that belong to the callbacks, done, and booked
// for today and the next days where one is still to be looked at.
func (m *maker) callbackLooks() {
	d := m.dice.turn(forRound, 1)
	today := nextWorkingDay(m.Today)
	place := map[units.Date]int{}
	for i := range m.c.Callbacks {
		c := &m.c.Callbacks[i]
		if c.HouseID == nil {
			continue
		}
		v := models.Visit{Ref: m.visitRef(), HouseID: *c.HouseID, RoofID: c.RoofID, Purpose: "callback_look", CallbackID: &c.ID, ByName: checker}
		switch {
		case c.LookedOn != 0 && c.LookedOn > m.Today.AddYears(-3):
			v.DoneOn, v.Method = c.LookedOn, []string{"walked", "ladder"}[d.IntN(2)]
			if !inSeason(c.LookedOn) {
				v.Method = "ladder"
			}
		case c.LookedOn == 0 && (c.State == "to_look" || c.State == "new") && c.RungBackAt != nil:
			v.BookedFor = today
			if place[today] >= 3 {
				v.BookedFor = nextWorkingDay(today + 1)
			}
			place[v.BookedFor]++
			v.PlaceInDay = new(place[v.BookedFor])
			v.Notes = "From the ladder or the ground when there is frost."
		default:
			continue
		}
		add(&m.c.Visits, v)
	}
}

// stormLooks writes the looks at the roofs that a storm crossed: of an old one
// most are done, of a new one few.
func (m *maker) stormLooks(s *models.Storm) {
	d := m.dice.turn(forStorm, int(s.ID))
	old := m.Today.AddDays(-40) > s.On
	next := nextWorkingDay(m.Today.AddDays(1))
	booked := 0
	for _, r := range m.roofs {
		l := &m.lots[r.house.lot]
		if !r.main || !r.stands(s.On) || (r.ended != 0 && r.ended < m.Today) || !crossed(s, l.lat, l.lon) {
			continue
		}
		v := models.Visit{Ref: m.visitRef(), HouseID: r.house.id, RoofID: &r.id, Purpose: "storm_look", StormID: &s.ID, ByName: checker}
		x := d.Float64()
		switch {
		case old && x < .72 || !old && x < .25:
			last := min(s.On.AddDays(45), m.Today.AddDays(-1))
			if !old {
				last = min(s.On.AddDays(7), m.Today.AddDays(-1))
			}
			v.DoneOn = workingDay(s.On.AddDays(d.between(1, int(last-s.On))), s.On.AddDays(1))
			v.DoneOn = min(v.DoneOn, m.Today)
			m.howLooked(d, r, &v)
			id := add(&m.c.Visits, v)
			m.stormFindings(d, r, id, s, &v)
			continue
		case !old && x < .45 && booked < 10:
			v.BookedFor = next
			v.PlaceInDay = new(booked%5 + 1)
			if booked++; booked%5 == 0 {
				next = nextWorkingDay(next + 1)
			}
		case x < .6:
			v.OfferedOn = min(s.On.AddDays(d.between(1, 6)), m.Today)
		default:
			continue // nobody has thought of it yet
		}
		add(&m.c.Visits, v)
	}
}

func (m *maker) stormFindings(d *dice, r *ourRoof, visit int64, s *models.Storm, v *models.Visit) {
	defect := missing
	if s.Kind == "hail" {
		defect = bruises
	}
	f := models.Finding{VisitID: visit, Defect: defect, Look: "none"}
	switch {
	case slices.Contains(hidden[v.Method], defect):
		f.Look = "not_looked"
	case r.covering != ribbedMetal && d.chance(.3):
		f.SlopeID = new(r.on.first + int64(d.IntN(len(r.on.slopes))))
		if v.InSight != nil {
			f.SlopeID = new(r.on.first)
		}
		f.Look, f.Severity, f.Extent = "seen", new(1+d.IntN(2)), new(round(d.span(.02, .15), 2))
	}
	add(&m.c.Findings, f)
}

// offer writes the check-ups that are coming: some booked, for the next working
// days in the season and else for the spring, some offered, some declined, and
// the others not asked yet.
func (m *maker) offer(due []dueRoof) {
	d := m.dice.turn(forRound, 2)
	// Neighbours are booked for one day: the lots lie in order of the streets.
	slices.SortStableFunc(due, func(a, b dueRoof) int { return a.roof.house.lot - b.roof.house.lot })
	perDay := m.c.Branch.VisitsPerDay - 2
	day := nextSeasonDay(m.Today)
	booked := 0
	most := max(8, min(len(due)*3/10, 45))
	for _, x := range due {
		r := x.roof
		v := models.Visit{Ref: m.visitRef(), HouseID: r.house.id, RoofID: &r.id, Purpose: "checkup"}
		since := max(x.last.AddMonths(11), m.Today.AddDays(-50))
		switch d.weighted(34, 24, 9, 33) {
		case 0:
			if booked >= most {
				continue
			}
			v.OfferedOn = min(since, m.Today).AddDays(-d.between(2, 12))
			v.BookedFor, v.PlaceInDay, v.ByName = day, new(booked%perDay+1), checker
			if booked++; booked%perDay == 0 {
				day = nextSeasonDay(day + 1)
			}
		case 1:
			v.OfferedOn = m.Today.AddDays(-d.between(3, 35))
		case 2:
			v.OfferedOn = m.Today.AddDays(-d.between(14, 35))
			v.DeclinedOn = v.OfferedOn.AddDays(d.between(1, 12))
		default:
			continue
		}
		add(&m.c.Visits, v)
	}
}
