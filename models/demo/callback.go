package demo

import (
	"cmp"
	"math"
	"slices"
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

// trouble is one cause of a callback, as it is told on the telephone and as it
// is mended.
type trouble struct {
	cause            string
	early, late      float64 // how often, in the first eighteen months and after
	reported         string  // what the caller takes it for
	places           []string
	says             []string
	months           []time.Month // when it shows; any when empty
	hoursLow, hours  float64
	materialLow, mat int // dollars
	bearer           string
	refused          string // why it is not for us to mend, when it is not
	notes            string
	wet              bool // water may come in
}

var winter = []time.Month{time.January, time.February, time.March, time.December}

var troubles = []trouble{
	{cause: "flashing", early: 14, late: 14, reported: "flashing", places: []string{"step_flashing", "chimney", "kickout_flashing", "skylight"},
		says:     []string{"Stain on the bedroom ceiling next to the chimney.", "Wet spot inside, below the wall of the upper floor.", "Drip at the corner of the skylight after rain."},
		hoursLow: 3, hours: 9, materialLow: 40, mat: 260, wet: true},
	{cause: "lap", early: 6, late: 5, reported: "flashing", places: []string{"penetration"},
		says:     []string{"Brown ring round the bathroom fan.", "Drip beside the plumbing pipe in the closet.", "Stain at the pipe in the laundry."},
		hoursLow: 2, hours: 5, materialLow: 30, mat: 120, notes: "The courses cover a third of the flange only. Taken up and laid to two thirds.", wet: true},
	{cause: "valley", early: 8, late: 8, reported: "valley", places: []string{"valley", "dead_valley"},
		says:     []string{"Leak over the entry after the heavy rain.", "Stain where the two roofs meet over the hall."},
		hoursLow: 4, hours: 11, materialLow: 80, mat: 380, wet: true},
	{cause: "nail", early: 16, late: 6, places: []string{"slope", "ridge"},
		says:     []string{"A shingle is standing up at the front.", "Bumps in the roof, two can be seen from the street."},
		hoursLow: 1, hours: 4, materialLow: 10, mat: 60},
	{cause: "seal", early: 4, late: 10, reported: "wind", places: []string{"slope", "rake"},
		says:     []string{"Shingles flutter along the edge when it blows.", "Some tabs have come loose on the west side."},
		hoursLow: 1.5, hours: 5, materialLow: 20, mat: 90},
	{cause: "ice", early: 4, late: 8, reported: "flashing", places: []string{"eave", "valley"}, months: winter[:3],
		says:     []string{"Water runs down inside the window, with ice at the eave.", "Icicles as thick as an arm at the back, and a wet ceiling."},
		hoursLow: 2, hours: 6, materialLow: 0, mat: 60, bearer: "goodwill", notes: "Told how warm air reaches the roof there; attic to be looked at.", wet: true},
	{cause: "condensation", early: 4, late: 5, reported: "flashing", places: []string{"attic"}, months: winter,
		says:     []string{"Damp boards in the attic, no rain for weeks.", "It drips in the attic when the sun comes out."},
		hoursLow: 1, hours: 2.5, materialLow: 0, mat: 0, refused: "No leak: frost under the boards, from air out of the house. Vents and fan duct named to the owner.", bearer: "goodwill"},
	{cause: "wind", early: 5, late: 9, reported: "wind", places: []string{"ridge", "rake", "slope"}, months: []time.Month{10, 11, 12, 1, 2, 3, 4},
		says:     []string{"Two ridge pieces lie in the yard.", "Shingles blew off at the corner last night."},
		hoursLow: 2, hours: 5, materialLow: 30, mat: 140, wet: true},
	{cause: "material", early: 1, late: 5, reported: "material", places: []string{"slope"},
		says:     []string{"Bare patches on the south side, grit in the gutter.", "Colour differs in stripes since the second year."},
		hoursLow: 2, hours: 8, materialLow: 150, mat: 900, bearer: "maker"},
	{cause: "gutter", early: 9, late: 6, reported: "gutter", places: []string{"gutter", "eave"}, months: []time.Month{4, 5, 6, 9, 10, 11},
		says:     []string{"The gutter runs over at the corner.", "A gutter has come down at one end."},
		hoursLow: 1, hours: 3, materialLow: 10, mat: 90, bearer: "subcontractor"},
	{cause: "other_trade", early: 2, late: 5, reported: "flashing", places: []string{"slope", "penetration"},
		says:     []string{"Leak since the antenna was put up.", "Wet since the new furnace pipe."},
		hoursLow: 1, hours: 2, materialLow: 0, mat: 0, refused: "Another trade cut through the covering after us. An offer to mend it was given.", bearer: "owner", wet: true},
	{cause: "storm", early: 1, late: 5, reported: "storm", places: []string{"slope"}, months: []time.Month{5, 6, 7, 8},
		says:     []string{"Dents everywhere after the hail.", "A branch came down on the roof."},
		hoursLow: 2, hours: 7, materialLow: 90, mat: 600, bearer: "insurer", wet: true},
	{cause: "nails_in_yard", early: 12, late: .2, reported: "nails_in_yard", places: []string{"yard"},
		says:     []string{"Found nails in the lawn, the dog walks there.", "A nail in a tyre, it stood in the drive."},
		hoursLow: 1, hours: 2, materialLow: 0, mat: 180, bearer: "goodwill"},
	{cause: "nothing_wrong", early: 5, late: 6, reported: "flashing", places: []string{"slope", "eave"},
		says:     []string{"Thinks the roof sags at the back.", "An old stain, may have grown."},
		hoursLow: .5, hours: 1.5, materialLow: 0, mat: 0, refused: "Looked at from above and below: nothing wrong found."},
}

// lapTrouble is the index of the cause that one crew had by habit.
var lapTrouble = slices.IndexFunc(troubles, func(t trouble) bool { return t.cause == "lap" })

// told is a callback before it is written down.
type told struct {
	roof  *ourRoof
	on    units.Date
	what  int
	order int // in which it was invented, to keep the order stable
	dice  int
}

// callbacks invents what people rang about since the first job: faults of the
// laying show early, wear later, and a third of a lap shows for years.
func (m *maker) callbacks() {
	var all []told
	for n, r := range m.roofs {
		if r.closed == 0 {
			continue
		}
		d := m.dice.turn(forCallback, n)
		until := m.Today.AddDays(-6)
		if r.ended != 0 {
			until = min(until, r.ended.AddDays(-1))
		}
		years := until.YearsSince(r.closed)
		put := func(after float64, what int) {
			if after > 0 && after < years {
				all = append(all, told{roof: r, on: m.shows(r.closed.AddDays(int(after*365.25)+1), what, until), what: what, order: len(all), dice: n*16 + len(all)%16})
			}
		}
		size := 1.0
		if !r.main {
			size = .3
		}
		for range d.count(.10 * size) { // faults of the laying
			put(math.Min(d.ExpFloat64()*.45, 1.5), m.which(d, r, true))
		}
		for range d.count(.011 * size * max(years, 0)) {
			put(d.span(.5, max(years, .5)), m.which(d, r, false))
		}
		for range d.count(.0009 * size * max(years, 0) * max(years, 0)) { // wear: later years weigh more
			put(years*math.Sqrt(d.Float64()), m.which(d, r, false))
		}
		if r.main && r.on.lap < .4 {
			for range d.count(.03 * max(years, 0)) {
				put(d.span(.4, max(years, .5)), lapTrouble)
			}
		}
	}
	slices.SortFunc(all, func(a, b told) int { return cmp.Or(int(a.on)-int(b.on), a.order-b.order) })
	everyCause(all)
	for i, t := range all {
		m.callback(m.dice.turn(forCallback, 1<<30+t.dice), t, i, all)
	}
	m.waiting()
}

// which draws a cause that the roof can have.
func (m *maker) which(d *dice, r *ourRoof, early bool) int {
	for {
		weights := make([]float64, len(troubles))
		for i := range troubles {
			weights[i] = troubles[i].late
			if early {
				weights[i] = troubles[i].early
			}
		}
		i := d.weighted(weights...)
		if (troubles[i].cause != "valley" || r.on.valley) && (troubles[i].cause != "lap" || r.main) {
			return i
		}
	}
}

// shows moves a day into the months in which a cause shows.
func (m *maker) shows(day units.Date, what int, until units.Date) units.Date {
	months := troubles[what].months
	for range 365 {
		if len(months) == 0 || slices.Contains(months, day.Time().Month()) {
			break
		}
		day++
	}
	return min(day, until)
}

// everyCause gives each cause that nobody rang about to the callback of the
// most frequent one that lies in the right month, oldest first.
func everyCause(all []told) {
	counts := make([]int, len(troubles))
	for _, t := range all {
		counts[t.what]++
	}
	for want := range troubles {
		if counts[want] > 0 {
			continue
		}
		most := 0
		for i := range counts {
			if counts[i] > counts[most] {
				most = i
			}
		}
		if counts[most] < 2 {
			return
		}
		for i := range all {
			months := troubles[want].months
			fits := len(months) == 0 || slices.Contains(months, all[i].on.Time().Month())
			if all[i].what == most && fits && (troubles[want].cause != "valley" || all[i].roof.on.valley) {
				all[i].what = want
				counts[most]--
				counts[want]++
				break
			}
		}
	}
}

// callback writes one callback down, as far as the story has come with it.
func (m *maker) callback(d *dice, t told, i int, all []told) {
	w, r := &troubles[t.what], t.roof
	who := &m.c.Contacts[r.house.owner(t.on)-1]
	rang := m.at(t.on, d.between(8, 17), d.between(0, 59))
	by := rang.Add(time.Duration(m.c.Company.RingBackHours) * time.Hour)
	back := rang.Add(time.Duration(d.between(20, 22*60)) * time.Minute)
	if d.chance(.15) {
		back = rang.Add(time.Duration(d.between(25, 80)) * time.Hour)
	}
	c := models.Callback{Ref: numbered("B-", 5, len(m.c.Callbacks)+1), HouseID: &r.house.id, RoofID: &r.id, JobID: &r.job,
		ContactID: &who.ID, Caller: who.Name, Phone: who.Phone, About: one(d, w.says), LearnedOn: t.on, RingBackBy: &by, RungBackAt: &back,
		Attempts: d.between(1, 3), CauseReported: w.reported, Place: m.where(d, r, w)}
	if r.promise != 0 && t.on <= r.promiseUntil {
		c.WarrantyID = &r.promise
	}
	if d.chance(.8) {
		c.HappenedOn = max(t.on.AddDays(-d.between(0, 14)), r.closed)
	}
	c.WaterComingIn = w.wet && d.chance(.35)
	wait := d.between(1, 16)
	if c.WaterComingIn {
		wait = d.between(0, 2)
		c.CoveredOn = m.past(nextWorkingDay(t.on.AddDays(d.between(0, 1))))
	}
	looked := nextWorkingDay(t.on.AddDays(wait))
	decided := nextWorkingDay(looked.AddDays(d.between(0, 5)))
	repaired := nextWorkingDay(decided.AddDays(d.between(0, 24)))
	if !inSeason(repaired) && d.chance(.55) {
		repaired = nextSeasonDay(repaired).AddDays(d.between(0, 9))
	}
	repaired = nextWorkingDay(repaired)
	closed := nextWorkingDay(repaired.AddDays(d.between(1, 21)))

	c.State = "to_look"
	if c.LookedOn = m.past(looked); c.LookedOn != 0 {
		c.CauseFound = w.cause
		c.Notes = w.notes
	}
	hours := round(d.span(w.hoursLow, w.hours), 1)
	mat := d.between(w.materialLow, w.mat)
	c.Bearer = cmp.Or(w.bearer, "us")
	if c.Bearer == "us" && c.WarrantyID == nil {
		c.Bearer = "goodwill"
	}
	if c.DecidedOn = m.past(decided); c.DecidedOn != 0 {
		if w.refused != "" {
			c.State, c.RefusedBecause = "refused", w.refused
			if c.ClosedOn = m.past(nextWorkingDay(decided.AddDays(d.between(1, 12)))); c.ClosedOn != 0 {
				c.State = "closed"
			}
		} else {
			c.State = "accepted"
			if c.RepairedOn = m.past(repaired); c.RepairedOn != 0 {
				c.State = "repaired"
				if c.Place == "slope" && mat >= 30 && (w.cause == "material" || w.cause == "wind") { // shingles at some three dollars a square foot
					c.Relaid, c.RelaidArea = "part", new(units.Area(mat/3)*units.SquareFoot)
				}
				if c.ClosedOn = m.past(closed); c.ClosedOn != 0 {
					c.State = "closed"
				}
			}
		}
	}
	switch {
	case c.State == "accepted" && !inSeason(m.Today):
		c.WaitingOn = "weather"
	case c.State == "accepted" && c.Bearer == "maker":
		c.WaitingOn = "maker"
	case c.State == "accepted" && c.Bearer == "insurer":
		c.WaitingOn = "insurer"
	case c.State == "accepted":
		c.WaitingOn = one(d, []string{"parts", "crew", "owner"})
	}
	if c.WaitingOn != "" {
		c.WaitingSince = c.DecidedOn
	}
	if c.CauseFound == "" {
		c.Bearer = ""
	}
	// The same fault once more within a year and a half is a return.
	for j := i - 1; j >= 0 && all[j].on > t.on.AddDays(-540); j-- {
		before := &m.c.Callbacks[j]
		if all[j].roof == r && all[j].what == t.what && before.RepairedOn != 0 && before.RepairedOn < t.on {
			c.ReturnOf = &before.ID
			break
		}
	}
	m.work(&c)
	// A call of the last months is still in the book of calls.
	id := add(&m.c.Callbacks, c)
	c.ID = id
	if t.on > m.Today.AddDays(-150) {
		add(&m.c.Calls, models.Call{Caller: c.Caller, Phone: c.Phone, About: c.About, RangAt: rang, RingBackBy: &by, RungBackAt: &back,
			Attempts: c.Attempts, ContactID: c.ContactID, HouseID: c.HouseID, CallbackID: &id})
	}
	m.costs(d, id, &c, hours, mat)
	m.course(newDice(m.Seed).turn(forCallback, 1<<28+int(id)), &c)
}

// work ties a callback to who did the job and with what, and gives it the days
// that were promised.
func (m *maker) work(c *models.Callback) {
	c.LookBy = c.LearnedOn.AddDays(m.c.Company.LookDays)
	if c.DecidedOn != 0 && c.RefusedBecause == "" {
		c.RepairBy = c.DecidedOn.AddDays(m.c.Company.RepairDays)
		c.AcceptedFor = "To mend it"
		if c.Bearer == "goodwill" {
			c.AcceptedFor = "To mend it once, out of goodwill"
		}
	}
	if c.ClosedOn != 0 && c.RepairedOn != 0 {
		c.PaidOn = c.ClosedOn
	}
	if c.JobID == nil {
		return
	}
	c.CrewID = m.c.Jobs[*c.JobID-1].CrewID
	for i := range m.c.Lots {
		if m.c.Lots[i].JobID == *c.JobID && c.CauseFound == "material" && c.LotID == nil {
			c.LotID = &m.c.Lots[i].ID
		}
	}
	for i := range m.c.Subcontracts {
		if m.c.Subcontracts[i].JobID == *c.JobID && c.Bearer == "subcontractor" {
			c.SubcontractID = &m.c.Subcontracts[i].ID
		}
	}
}

// course writes down the steps that a callback has gone, some of them only days
// after they happened, and the claim on who bears it.
func (m *maker) course(d *dice, c *models.Callback) {
	office := AllStaff()[1].Name
	put := func(kind, by string, on units.Date, claim *int64, note string) {
		if on == 0 {
			return
		}
		learned := on
		if by == checker && d.chance(.2) {
			learned = min(on.AddDays(d.between(1, 4)), m.Today)
		}
		add(&m.c.Steps, models.CallbackStep{CallbackID: c.ID, ClaimID: claim, Kind: kind, On: on, LearnedOn: learned, ByName: by, Note: note})
	}
	put("covered", checker, c.CoveredOn, nil, "")
	put("looked", checker, c.LookedOn, nil, c.CauseFound)
	if c.RefusedBecause != "" {
		put("refused", office, c.DecidedOn, nil, c.RefusedBecause)
	} else {
		put("accepted", office, c.DecidedOn, nil, c.AcceptedFor)
	}
	if c.WaitingOn != "" {
		put("waits", office, c.WaitingSince, nil, c.WaitingOn)
	}
	put("repaired", checker, c.RepairedOn, nil, "")
	put("paid", office, c.PaidOn, nil, "")
	put("closed", office, c.ClosedOn, nil, "")

	if c.DecidedOn == 0 || c.RefusedBecause != "" || (c.Bearer != "maker" && c.Bearer != "insurer" && c.Bearer != "subcontractor") {
		return
	}
	who := map[string]string{"maker": m.makers[*c.RoofID], "insurer": "Invented Mutual", "subcontractor": "Bench Sheet Metal"}[c.Bearer]
	if c.SubcontractID != nil {
		who = m.c.Subcontracts[*c.SubcontractID-1].Who
	}
	claim := models.Claim{Ref: numbered("K-", 5, len(m.c.Claims)+1), CallbackID: c.ID, Against: c.Bearer, Who: who, FileBy: c.LearnedOn.AddDays(30)}
	claim.FiledOn = m.past(nextWorkingDay(c.DecidedOn.AddDays(d.between(1, 9))))
	if claim.FiledOn != 0 {
		claim.Number = numbered("", 6, d.between(100000, 999999))
	}
	if c.Bearer == "maker" && claim.FiledOn != 0 {
		claim.SamplesSentOn = m.past(nextWorkingDay(claim.FiledOn.AddDays(d.between(0, 6))))
		claim.VisitedOn = m.past(nextWorkingDay(claim.FiledOn.AddDays(d.between(8, 20))))
		if c.WaitingOn == "maker" && claim.VisitedOn == 0 { // they come soon when the roof waits for them
			claim.VisitedOn = m.past(nextWorkingDay(claim.FiledOn.AddDays(8)))
		}
	}
	for i := range m.c.CostLines {
		line := &m.c.CostLines[i]
		if line.CallbackID != c.ID || line.Kind != "recovery" || line.On < claim.FiledOn || claim.FiledOn == 0 || line.Reverses() || claim.CostLineID != nil {
			continue
		}
		claim.OfferedOn = max(line.On.AddDays(-d.between(8, 15)), claim.FiledOn, claim.VisitedOn)
		claim.Offer, claim.Paid, claim.PaidOn, claim.CostLineID = new(-line.Amount), new(-line.Amount), line.On, &line.ID
		claim.AnsweredOn, claim.Answer = max(line.On.AddDays(-5), claim.OfferedOn), "accepted"
		if c.Bearer != "subcontractor" {
			claim.ReleaseAsked, claim.ReleaseReadBy, claim.ReleaseSignedOn = true, AllStaff()[0].Name, claim.AnsweredOn
		}
	}
	if claim.Paid == nil && claim.FiledOn != 0 && claim.FiledOn < m.Today.AddDays(-60) {
		claim.Answer, claim.AnsweredOn = "refused", m.past(claim.FiledOn.AddDays(50))
		claim.Notes = "They say that it was not laid by their instructions. Photographs are kept."
	}
	if c.State == "accepted" && c.WaitingOn == "maker" && claim.VisitedOn != 0 && claim.Answer == "" {
		claim.OfferedOn, claim.Offer, claim.AnswerBy, claim.ReleaseAsked = m.past(max(m.Today.AddDays(-3), claim.VisitedOn)), new(640*units.Dollar), m.Today.AddDays(9), true
	}
	id := add(&m.c.Claims, claim)
	put("claim_filed", office, claim.FiledOn, &id, claim.Who)
	put("claim_samples", office, claim.SamplesSentOn, &id, "")
	put("claim_visited", office, claim.VisitedOn, &id, "")
	put("claim_offered", office, claim.OfferedOn, &id, "")
	put("claim_answered", office, claim.AnsweredOn, &id, claim.Answer)
	put("claim_signed", office, claim.ReleaseSignedOn, &id, claim.ReleaseReadBy)
	put("claim_paid", office, claim.PaidOn, &id, "")
}

// where gives the place of a fault that the roof has.
func (m *maker) where(d *dice, r *ourRoof, w *trouble) string {
	var at []string
	for _, p := range w.places {
		if (p == "valley" || p == "dead_valley") && !r.on.valley || p == "chimney" && !r.on.chimney || p == "skylight" && !r.on.light {
			continue
		}
		at = append(at, p)
	}
	if len(at) == 0 {
		return "slope"
	}
	return one(d, at)
}

// costs writes what a callback cost up to today.
func (m *maker) costs(d *dice, id int64, c *models.Callback, hours float64, mat int) {
	put := func(on units.Date, kind string, amount units.Money, hours *float64, note string) {
		paid := m.past(on.AddDays(14))
		if kind == "labour" || kind == "recovery" {
			paid = on
		}
		line := models.CostLine{CallbackID: id, On: on, LearnedOn: on, PaidOn: paid, Kind: kind, Hours: hours, Note: note}
		m.price(&line, amount)
		add(&m.c.CostLines, line)
	}
	material := -1
	own := newDice(m.Seed).turn(forCallback, 1<<29+int(id))
	labour := func(on units.Date, hours float64, note string) {
		rate := m.c.Branch.LabourRate.Dollars() * math.Pow(1.03, -m.Today.YearsSince(on))
		put(on, "labour", units.Money(math.Round(rate*hours))*units.Dollar, &hours, note)
	}
	if c.LookedOn != 0 {
		labour(c.LookedOn, round(d.span(.7, 1.8), 1), "Drive and look")
	}
	if c.CoveredOn != 0 {
		put(c.CoveredOn, "material", units.Money(d.between(15, 60))*units.Dollar, nil, "Temporary cover")
	}
	if c.RepairedOn == 0 {
		return
	}
	labour(c.RepairedOn, hours, "Mending")
	if mat > 0 {
		put(c.RepairedOn, "material", units.Money(mat)*units.Dollar, nil, "")
		material = len(m.c.CostLines) - 1
	}
	if d.chance(.12) {
		put(c.RepairedOn, "access", units.Money(d.between(80, 320))*units.Dollar, nil, "Lift")
	}
	if back := m.past(c.RepairedOn.AddDays(d.between(20, 90))); back != 0 && (c.Bearer == "maker" || c.Bearer == "insurer" || c.Bearer == "subcontractor") {
		put(back, "recovery", -units.Money(math.Round(float64(mat)*.9+hours*30))*units.Dollar, nil, "Paid back to us")
	}
	// Now and then a bill was typed wrong; the wrong line stays, is taken back and
	// written anew when somebody has noticed.
	if noticed := m.past(c.RepairedOn.AddDays(own.between(10, 40))); material >= 0 && noticed != 0 && own.chance(.06) {
		anew := m.c.CostLines[material]
		wrong := &m.c.CostLines[material]
		m.price(wrong, 10*wrong.Amount)
		anew.LearnedOn, anew.Corrects = noticed, new(wrong.ID)
		back := wrong.Reversal(noticed)
		back.Note = "Typed wrong"
		add(&m.c.CostLines, back)
		add(&m.c.CostLines, anew)
	}
}

// price gives a line its amount and the company's tax on it. An amount that is
// given is never refused.
func (m *maker) price(line *models.CostLine, amount units.Money) {
	_ = m.c.Branch.Price(line, &amount, nil)
}

// waiting makes the morning of today: what stands open and asks for somebody.
func (m *maker) waiting() {
	d := m.dice.turn(forScene, 2)
	// Roofs of the last ten years whose owners have not just rung.
	var roofs []*ourRoof
	for _, r := range m.roofs {
		if r.main && r.stands(m.Today.AddDays(-40)) && r.closed > m.Today.AddYears(-10) {
			roofs = append(roofs, r)
		}
	}
	if len(roofs) == 0 {
		return
	}
	d.Shuffle(len(roofs), func(i, j int) { roofs[i], roofs[j] = roofs[j], roofs[i] })
	next := 0
	pick := func(fits func(*ourRoof) bool) *ourRoof {
		for i := next; i < len(roofs); i++ {
			if fits == nil || fits(roofs[i]) {
				roofs[i], roofs[next] = roofs[next], roofs[i]
				break
			}
		}
		r := roofs[next%len(roofs)]
		next = min(next+1, len(roofs)-1)
		return r
	}
	open := func(r *ourRoof, days, hour, ringHours int, c models.Callback) {
		c.Ref, c.LearnedOn = numbered("B-", 5, len(m.c.Callbacks)+1), m.Today.AddDays(-days)
		rang := m.at(c.LearnedOn, hour, 20)
		by := rang.Add(time.Duration(m.c.Company.RingBackHours) * time.Hour)
		c.RingBackBy = &by
		if ringHours > 0 {
			c.RungBackAt = new(rang.Add(time.Duration(ringHours) * time.Hour))
			c.Attempts = max(c.Attempts, 1)
		}
		call := models.Call{About: c.About, RangAt: rang, RingBackBy: &by, RungBackAt: c.RungBackAt, Attempts: c.Attempts}
		if r != nil {
			who := &m.c.Contacts[r.house.owner(m.Today)-1]
			c.HouseID, c.RoofID, c.JobID, c.ContactID, c.Caller, c.Phone = &r.house.id, &r.id, &r.job, &who.ID, who.Name, who.Phone
			if r.promise != 0 && c.LearnedOn <= r.promiseUntil {
				c.WarrantyID = &r.promise
			}
			c.HappenedOn = max(c.LearnedOn.AddDays(-1), r.closed)
			call.ContactID, call.HouseID = &who.ID, &r.house.id
		}
		call.Caller, call.Phone = c.Caller, c.Phone
		if c.WaitingOn != "" {
			c.WaitingSince = max(c.DecidedOn, c.LookedOn, c.LearnedOn)
		}
		m.work(&c)
		id := add(&m.c.Callbacks, c)
		c.ID = id
		call.CallbackID = &id
		add(&m.c.Calls, call)
		m.costs(d, id, &c, 3, 60)
		m.course(newDice(m.Seed).turn(forCallback, 1<<28+int(id)), &c)
	}
	ago := func(days int) units.Date { return workingDay(m.Today.AddDays(-days), 0) }
	yesterday := m.Today.AddDays(-1)
	habit := func(r *ourRoof) bool { return r.on.lap < .4 }
	chimney := func(r *ourRoof) bool { return r.on.chimney }

	open(pick(nil), 34, 9, 4, models.Callback{State: "accepted", WaitingOn: "maker", About: "Bare patches on the south side, grit in the gutter.",
		CauseReported: "material", CauseFound: "material", Place: "slope", LookedOn: ago(28), DecidedOn: ago(25), Bearer: "maker",
		Notes: "Samples and photographs went to the maker; lot number asked for."})
	open(pick(chimney), 19, 11, 3, models.Callback{State: "accepted", WaitingOn: "parts", About: "Stain beside the chimney after the last rain.",
		CauseReported: "flashing", CauseFound: "flashing", Place: "chimney", LookedOn: ago(15), DecidedOn: ago(14), CoveredOn: ago(15), Bearer: "us",
		Notes: "Counterflashing is being bent."})
	open(pick(nil), 8, 14, 20, models.Callback{State: "to_look", WaitingOn: "owner", About: "Some tabs have come loose on the west side since the blow.",
		CauseReported: "wind", Place: "slope", Attempts: 2, Notes: "Wants somebody on a Friday only."})
	open(pick(habit), 3, 10, 0, models.Callback{State: "new", About: "Brown ring round the bathroom fan.", CauseReported: "flashing", Place: "penetration"})
	open(pick(nil), 2, 15, 0, models.Callback{State: "new", About: "The gutter has come down at one end.", CauseReported: "gutter", Place: "gutter", Attempts: 1})
	open(nil, 1, 16, 0, models.Callback{State: "new", Caller: d.fullName(), Phone: phone(d), AddressGiven: "the corner house with the green door, " + streetName(m.Seed, 1),
		About: "Says we did the roof for the people before. Shingles flutter along the edge, and water drips into the porch.", WaterComingIn: true, CauseReported: "wind"})
	open(pick(func(r *ourRoof) bool { return r.on.valley }), 1, 11, 1, models.Callback{State: "to_look", WaterComingIn: true, About: "Water is running down the wall in the hall.",
		CauseReported: "valley", Place: "valley", WaitingOn: "crew", CoveredOn: yesterday, Notes: "Covered from the ladder the same afternoon. Nobody goes up on frost."})
	// Calls that are about no fault.
	for i, about := range []string{"Asks what a roof would cost.", "Wants the certificate once more, the house is for sale.", "Asks when the yearly check-up is."} {
		rang := m.at(ago(i+1), 9+i, 5)
		call := models.Call{Caller: d.fullName(), Phone: phone(d), About: about, RangAt: rang, RingBackBy: new(rang.Add(24 * time.Hour)), Attempts: 1}
		if i > 0 {
			r := pick(nil)
			who := &m.c.Contacts[r.house.owner(m.Today)-1]
			call.Caller, call.Phone, call.ContactID, call.HouseID = who.Name, who.Phone, &who.ID, &r.house.id
			call.RungBackAt = new(rang.Add(3 * time.Hour))
		}
		add(&m.c.Calls, call)
	}
}
