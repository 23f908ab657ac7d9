package demo

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// ourHouse is a house whose roof we laid, once or twice.
type ourHouse struct {
	lot    int
	garage bool // a garage of its own, done along with the house
	works  []work
	id     int64
	shape  shape
	main   *building
	shed   *building
	owners []owner
	plan   models.Plan // the paid check-ups, if any
}

type work struct {
	layer int
	laid  units.Date
}

// owner is who holds a house, from a day on.
type owner struct {
	contact int64
	from    units.Date
}

// building is a structure as recorded.
type building struct {
	id      int64
	slopes  []plane
	first   int64 // number of the first slope; the others follow it
	squares float64
	pitch   float64
	shape   *shape
	lap     float64 // of the penetrations
	valley  bool
	chimney bool
	light   bool // a skylight
}

// ourRoof is one covering that we laid.
type ourRoof struct {
	house               *ourHouse
	main                bool
	on                  *building
	id, job             int64
	promise             int64 // our own work's
	promiseUntil        units.Date
	covering            int8
	crew                int64
	laid, closed, ended units.Date
	wears               float64 // the age in years at which it is worn out
}

// stands says whether the covering lay there, finished, on a day.
func (r *ourRoof) stands(day units.Date) bool {
	return r.closed != 0 && r.closed <= day && (r.ended == 0 || r.ended > day)
}

// settle writes the houses and, in the order of time, the jobs.
func (m *maker) settle() {
	m.houses()
	type event struct {
		house *ourHouse
		work  int
	}
	var events []event
	for _, o := range m.ours {
		for w := range o.works {
			events = append(events, event{o, w})
		}
	}
	slices.SortFunc(events, func(a, b event) int {
		return cmp.Or(int(a.house.works[a.work].laid)-int(b.house.works[b.work].laid), a.house.lot-b.house.lot)
	})
	for _, e := range events {
		d := m.dice.turn(forWork, 1<<30+e.house.lot*4+e.work)
		if e.work == 0 {
			m.moveIn(d, e.house)
			m.build(d, e.house)
		}
		m.lay(d, e.house, e.work)
	}
	m.assumed()
	m.justSold()
	m.unsent()
}

// delivery is the number of the lot that the yard had of a covering: a delivery
// lasts two months, and the second number of a job is that of the delivery
// before.
func (m *maker) delivery(covering int8, laid units.Date, before int) string {
	n := laid.Year()*6 + (int(laid.Time().Month())-1)/2 - before
	d := newDice(m.Seed).turn(forDelivery, n*64+int(covering))
	return strconv.Itoa(n/6%100) + one(d, []string{"A", "B", "D", "K"}) + strconv.Itoa(d.between(1000, 8999))
}

// unsent leaves one of the registrations that fall due within the month to be sent,
// where there is any.
func (m *maker) unsent() {
	var sent *models.Warranty
	for i := range m.c.Warranties {
		if w := &m.c.Warranties[i]; w.RegistrationDueOn > m.Today && w.RegistrationDueOn <= m.Today.AddDays(28) {
			if w.RegisteredOn == 0 {
				return
			}
			sent = w
		}
	}
	if sent != nil {
		sent.RegisteredOn, sent.RegistrationNo = 0, ""
	}
}

// justSold has one of the newest roofs with our ten years change hands a few
// days ago: the notice, without which the promise stays behind, has not come.
func (m *maker) justSold() {
	on := m.Today.AddDays(-12)
	for i := len(m.roofs) - 1; i >= 0; i-- {
		r := m.roofs[i]
		o := r.house
		if !r.main || !r.stands(on.AddDays(-200)) || m.c.Warranties[r.promise-1].TermsID != work10 || len(o.owners) != 1 {
			continue
		}
		seller := o.owners[0].contact
		d := m.dice.turn(forScene, 3)
		for h := range m.c.Holdings {
			if held := &m.c.Holdings[h]; held.HouseID == o.id && held.ContactID == seller && held.Role == "owner" {
				held.ToOn = on
			}
		}
		buyer := m.contact(d, d.fullName(), "buyer")
		add(&m.c.Holdings, models.Holding{HouseID: o.id, ContactID: buyer, Role: "owner", FromOn: on})
		o.owners = append(o.owners, owner{buyer, on})
		return
	}
}

// contact makes somebody to speak with.
func (m *maker) contact(d *dice, name, kind string) int64 {
	c := models.Contact{Ref: numbered("C-", 5, len(m.c.Contacts)+1), Name: name, Kind: kind, Phone: phone(d), Language: "en"}
	if d.chance(.2) {
		c.Phone2 = phone(d)
	}
	if d.chance(.6) {
		c.Email = strings.ToLower(strings.ReplaceAll(name, " ", ".")) + strconv.Itoa(d.between(1, 99)) + "@mail.example"
	}
	return add(&m.c.Contacts, c)
}

// phone gives a number that nobody has: 555-0100 to 555-0199 are kept for
// stories, and no area code ends in 00 but the ones for services (both from
// memory).
func phone(d *dice) string {
	return "(" + one(d, []string{"200", "300", "400"}) + ") 555-" + numbered("", 4, d.between(101, 199))
}

// moveIn makes the people of a house from before our first job until today,
// with the sales in between.
func (m *maker) moveIn(d *dice, o *ourHouse) {
	l := &m.lots[o.lot]
	o.id, o.shape = l.house, m.shapeOf(o.lot)
	d.turn(forHouse, 1<<30+o.lot)
	from := max(units.NewDate(int(l.built), 8, 1), o.works[0].laid.AddDays(-d.between(200, 6000)))
	if d.chance(.03) {
		name := m.hoods[l.hood].name + " condominium " + strconv.Itoa(int(l.number))
		o.owners = []owner{{m.contact(d, name, "condominium"), from}}
		add(&m.c.Holdings, models.Holding{HouseID: o.id, ContactID: o.owners[0].contact, Role: "owner", FromOn: from})
		add(&m.c.Holdings, models.Holding{HouseID: o.id, ContactID: m.contact(d, d.fullName(), "manager"), Role: "manager", FromOn: from})
		return
	}
	o.owners = []owner{{m.contact(d, d.fullName(), "person"), from}}
	id := add(&m.c.Holdings, models.Holding{HouseID: o.id, ContactID: o.owners[0].contact, Role: "owner", FromOn: from})
	sold := o.works[0].laid.AddDays(200)
	for {
		sold = sold.AddDays(int(d.ExpFloat64() * 25 * 365))
		if sold > m.Today.AddDays(-10) {
			break
		}
		m.c.Holdings[id-1].ToOn = sold
		buyer := models.Holding{HouseID: o.id, ContactID: m.contact(d, d.fullName(), "buyer"), Role: "owner", FromOn: sold}
		if d.chance(.55) {
			buyer.NoticeOn = m.past(sold.AddDays(d.between(2, 90)))
		}
		id = add(&m.c.Holdings, buyer)
		o.owners = append(o.owners, owner{buyer.ContactID, sold})
		sold = sold.AddDays(400)
	}
	if d.chance(.05) {
		add(&m.c.Holdings, models.Holding{HouseID: o.id, ContactID: m.contact(d, d.fullName(), "tenant"), Role: "tenant",
			FromOn: m.Today.AddDays(-d.between(100, 1500))})
	}
	if d.chance(.18) {
		begin := max(o.works[0].laid.AddDays(30), m.Today.AddDays(-d.between(100, 2500)))
		p := models.Plan{HouseID: o.id, ContactID: new(o.owners[len(o.owners)-1].contact), FromOn: begin, VisitsAYear: 1,
			PricePerYear: units.Money(10*d.between(14, 22)) * units.Dollar}
		if l.trees {
			p.VisitsAYear, p.PricePerYear = 2, p.PricePerYear*2
		}
		if d.chance(.2) {
			p.ToOn = begin.AddYears(1 + d.between(0, 3))
		}
		if begin <= m.Today {
			add(&m.c.Plans, p)
			o.plan = p
		}
	}
}

// owner gives who held the house on a day.
func (o *ourHouse) owner(day units.Date) int64 {
	who := o.owners[0].contact
	for _, h := range o.owners {
		if h.from <= day {
			who = h.contact
		}
	}
	return who
}

// build records the house's structures with their slopes, attic, gutters and
// details, as they are since our first job there.
func (m *maker) build(d *dice, o *ourHouse) {
	l := &m.lots[o.lot]
	d.turn(forHouse, 1<<31+o.lot)
	s := o.shape
	o.main = m.structure(d, o, "House", "main", s)
	attic := m.attic(d, o, o.main, s)
	for i := range o.main.slopes {
		m.c.Slopes[int(o.main.first)-1+i].AtticID = &attic
	}
	for i, p := range o.main.slopes {
		if p.eave < 10 || d.chance(.06) { // no gutter there
			continue
		}
		g := models.GutterRun{StructureID: o.main.id, SlopeID: new(o.main.first + int64(i)), Name: p.name + " gutter", Kind: "k_style",
			Width: new(5 * units.Inch), Length: new(units.Length(math.Round(p.eave)) * units.Foot),
			Downspouts: new(max(1, int(math.Ceil(p.eave/38)))), Guards: new(l.trees && d.chance(.4))}
		if d.chance(.15) {
			g.Width = new(6 * units.Inch)
		}
		if d.chance(.12) { // one downspout too few
			g.Downspouts = new(1)
		}
		add(&m.c.Gutters, g)
	}
	m.details(d, o)
	if o.garage {
		shed := shape{width: 22 + float64(d.between(0, 4)), depth: 22 + float64(d.between(0, 4)), pitch: s.pitch, overhang: min(s.overhang, 12), form: "gable"}
		o.shed = m.structure(d, o, "Garage", "garage", shed)
	}
	m.measure(d, o)
}

func (m *maker) structure(d *dice, o *ourHouse, name, kind string, s shape) *building {
	b := &building{slopes: s.planes(), squares: s.squares(), pitch: s.pitch, shape: &s}
	b.id = add(&m.c.Structures, models.Structure{HouseID: o.id, Name: name, Kind: kind})
	for i, p := range b.slopes {
		slope := models.Slope{StructureID: b.id, Name: p.name, Facing: new(math.Mod(m.lots[o.lot].front+p.towards, 360)),
			Pitch: new(units.PitchIn12(s.pitch)), Area: new(units.Area(math.Round(p.area)) * units.SquareFoot),
			Eave:     new(units.Length(round(p.eave, 1)) * units.Foot),
			Overhang: new(units.Length(s.overhang) * units.Inch)}
		if d.chance(.06) {
			slope.Overhang = nil // nobody measured it
		}
		id := add(&m.c.Slopes, slope)
		if i == 0 {
			b.first = id
		}
	}
	return b
}

// attic records the space below the main roof and its vents. What was fitted
// aims at the code's net free area (a 150th of the plan, or a 300th where a
// class I or II retarder is known: International Residential Code R806.2,
// edition 2021, from memory), and in part of the houses misses it.
func (m *maker) attic(d *dice, o *ourHouse, b *building, s shape) int64 {
	built := int(m.lots[o.lot].built)
	plan := s.width * s.depth
	if s.form == "cross" {
		plan += s.front * across
	}
	a := models.Attic{StructureID: b.id, Name: "Attic", VentedArea: new(units.Area(math.Round(plan)) * units.SquareFoot),
		CeilingArea: new(units.Area(math.Round(plan*.96)) * units.SquareFoot), Cathedral: new(false)}
	a.Retarder = []string{"II", "I", "III", "none", ""}[d.weighted(48, 8, 14, 12, 18)]
	a.Insulation = new(round(d.span(3.4, 5.5)+float64(max(0, built-1975))*.06, 1))
	a.AirLeaks = one(d, []string{"few", "some", "some", "many", ""})
	a.Ducts = []string{"none", "insulated", "bare", "ends_in_attic", ""}[d.weighted(50, 18, 8, 10, 14)]
	a.Kneewalls = new(d.chance(.08))
	if d.chance(.7) {
		a.FrostSeen = new(a.AirLeaks == "many" && d.chance(.4))
	}
	if d.chance(.05) {
		a.VentedArea, a.CeilingArea, a.Insulation = nil, nil, nil
	}
	id := add(&m.c.Attics, a)

	share := 150.0
	if a.Retarder == "I" || a.Retarder == "II" {
		share = 300
	}
	need := plan * 144 / share // square inches
	high, low := .46*need, .62*need
	var blocked *float64
	switch d.weighted(56, 22, 13, 9) {
	case 1: // too little at the top
		high *= d.span(.35, .65)
	case 2: // insulation pushed over the eave vents
		blocked = new(round(d.span(.4, .8), 1))
	case 3:
		high, low = high*.6, low*d.span(.4, .7)
	}
	if blocked == nil && d.chance(.85) {
		blocked = new(0.0) // looked at, and open
	}
	since := o.works[0].laid
	inch := func(v float64) *units.Area { return new(units.Area(v) * units.SquareInch) }
	boxes := math.Round(high / 50)
	ridge := high / 12.6
	fits := ridge < .85*s.width && s.form != "hip"
	if near := boxes * 50 / need; boxes > 8 || (boxes*50 >= high*.98 && (near < .4 || near > .5)) {
		fits = fits || s.form != "hip"
	}
	if fits && d.chance(.6) {
		v := models.Vent{AtticID: id, Name: "Ridge vent", Kind: "ridge", Height: "high", Length: new(units.Length(round(ridge, 1)) * units.Foot),
			FreeArea: inch(12.6 / units.Foot.In(units.Metre)), InstalledOn: since}
		add(&m.c.Vents, v)
	} else {
		v := models.Vent{AtticID: id, Name: "Boxes near the ridge", Kind: "box", Height: "high", Count: new(max(1, int(boxes))), FreeArea: inch(50), InstalledOn: since}
		if d.chance(.08) {
			v.Name, v.Kind, v.Count, v.FreeArea = "Turbines", "turbine", new(max(1, int(math.Round(high/115)))), inch(115)
		}
		if d.chance(.1) {
			v.FreeArea = nil // no stamp on it
		}
		if d.chance(.05) {
			v.Count = nil // nobody counted
		}
		add(&m.c.Vents, v)
	}
	run := math.Min(low/9, 2*s.width)
	strip := models.Vent{AtticID: id, Name: "Soffit strip", Kind: "soffit_strip", Height: "low", Length: new(units.Length(round(run, 1)) * units.Foot),
		FreeArea: inch(9 / units.Foot.In(units.Metre)), Blocked: blocked}
	if s.overhang >= 20 && d.chance(.4) {
		strip.Name, strip.Kind, strip.FreeArea = "Soffit panels", "soffit_panel", inch(10/units.Foot.In(units.Metre))
		strip.Length = new(units.Length(round(low/10, 1)) * units.Foot)
	}
	add(&m.c.Vents, strip)
	if s.form == "gable" && d.chance(.15) {
		add(&m.c.Vents, models.Vent{AtticID: id, Name: "Gable louvres", Kind: "gable", Height: "between", Count: new(2), FreeArea: inch(108)})
	}
	return id
}

// details records where water tends to find its way in.
func (m *maker) details(d *dice, o *ourHouse) {
	l, s, b := &m.lots[o.lot], o.shape, o.main
	since := o.works[0].laid
	put := func(slope int, x models.Detail) {
		x.StructureID = b.id
		if slope >= 0 {
			x.SlopeID = new(b.first + int64(slope))
		}
		if x.Form == "new" || x.Form == "open_metal" || x.Form == "closed_cut" || x.Form == "woven" {
			x.InstalledOn = since
		}
		add(&m.c.Details, x)
	}
	flashing := func(stucco bool) string { // who opens the stucco for a new flashing
		if stucco {
			return []string{"new", "reused", "missing", ""}[d.weighted(25, 50, 15, 10)]
		}
		return []string{"new", "reused", "missing", ""}[d.weighted(62, 25, 8, 5)]
	}
	if s.form == "cross" {
		b.valley = true
		form := []string{"open_metal", "closed_cut", "woven"}[d.weighted(55, 35, 10)]
		width := new(24 * units.Inch)
		if form != "open_metal" {
			width = new(36 * units.Inch)
		}
		put(2, models.Detail{Name: "Valley right of the entry", Kind: "valley", Form: form, Width: width, Drains: new(2)})
		put(3, models.Detail{Name: "Valley left of the entry", Kind: "valley", Form: form, Width: width, Drains: new(2)})
		if d.chance(.22) {
			put(0, models.Detail{Name: "Behind the entry wall", Kind: "dead_valley", Form: one(d, []string{"open_metal", "woven"}), Drains: new(2),
				Notes: "Water and snow meet a wall here."})
		}
	}
	// The lap of the flanges is the crew's way of working.
	b.lap = []float64{.67, .5}[d.weighted(78, 22)]
	if o.crew(m) == habitCrew && since < m.habitEnds() {
		b.lap = .33
	} else if d.chance(.04) {
		b.lap = .33
	}
	for i := range d.between(2, 4) {
		x := models.Detail{Name: "Pipe " + strconv.Itoa(i+1), Kind: "penetration", Form: []string{"new", "reused"}[d.weighted(90, 10)], Lap: new(b.lap),
			Width: new(units.Length(d.between(2, 4)) * units.Inch)}
		if d.chance(.05) {
			x.Lap = nil
		}
		put(d.IntN(2), x)
	}
	if d.chance(.4) {
		b.chimney = true
		wide := d.between(20, 44)
		put(1, models.Detail{Name: "Chimney", Kind: "chimney", Form: flashing(false), Width: new(units.Length(wide) * units.Inch)})
		put(1, models.Detail{Name: "Chimney steps", Kind: "step_flashing", Form: flashing(false)})
		if wide > 30 { // a saddle is asked for above 30 in: IRC R903.2.2, seen quoted
			put(1, models.Detail{Name: "Saddle behind the chimney", Kind: "saddle", Form: []string{"new", "reused", "missing"}[d.weighted(55, 25, 20)]})
		}
	}
	for i := range d.weighted(78, 15, 7) {
		b.light = true
		put(1, models.Detail{Name: "Skylight " + strconv.Itoa(i+1), Kind: "skylight", Form: flashing(false), Width: new(22.5 * units.Inch)})
	}
	if s.storeys == 2 && d.chance(.55) {
		put(0, models.Detail{Name: "Wall of the upper storey", Kind: "step_flashing", Form: flashing(l.stucco)})
		put(0, models.Detail{Name: "Foot of the upper wall", Kind: "kickout_flashing", Form: flashing(l.stucco)})
	}
	put(-1, models.Detail{Name: "Drip edge", Kind: "drip_edge", Form: []string{"new", "reused", ""}[d.weighted(85, 10, 5)]})
}

// crew gives the number of the crew that did the first job on the house.
func (o *ourHouse) crew(m *maker) int64 {
	var at []int64
	for i := range m.c.Crews {
		if m.crewBegins(i) <= o.works[0].laid {
			at = append(at, int64(i+1))
		}
	}
	if len(at) == 0 {
		return 1
	}
	return at[mix(m.Seed^uint64(o.lot))%uint64(len(at))]
}

// perSquare gives what a square of a covering cost in a year, at 3.5 % a year.
// It is invented.
func (m *maker) perSquare(covering int8, day units.Date) float64 {
	return m.c.Coverings[covering-1].PricePerSquare.Dollars() * math.Pow(1.035, -m.Today.YearsSince(day))
}

// lay records a job of ours with its roofs, lots and promises.
func (m *maker) lay(d *dice, o *ourHouse, w int) {
	d.turn(forWork, 1<<31+o.lot*4+w)
	l := &m.lots[o.lot]
	y := l.layers[o.works[w].layer]
	crew := o.crew(m)
	garage := w == 0 && o.garage
	squares := o.main.squares
	if garage {
		squares += o.shed.squares
	}
	job := models.Job{Ref: numbered("J-", 5, len(m.c.Jobs)+1), HouseID: o.id, StartedOn: y.laid, SoldOn: y.laid.AddDays(-d.between(9, 75)), CrewID: &crew,
		Foreman: m.foreman(crew, y.laid), Permit: "T" + strconv.Itoa(y.laid.Year()) + "-" + numbered("", 4, d.between(40, 1900))}
	days := 1 + int(squares/15)
	closed := nextWorkingDay(y.laid.AddDays(days + d.between(0, 2)))
	job.ClosedOn = m.past(closed)
	hard := 1 + .03*float64(len(o.main.slopes)-2)
	if o.shape.pitch > 8 {
		hard += .12
	}
	if o.shape.storeys > 1 {
		hard += .05
	}
	price := squares * m.perSquare(y.covering, y.laid) * hard * d.span(.94, 1.08)
	job.Price = units.Money(math.Round(price/10)*10) * units.Dollar
	if d.chance(.18) {
		job.Holdback = job.Price.Times(.1)
	}
	if job.ClosedOn != 0 {
		if d.chance(.93) {
			job.InspectedOn = m.past(nextWorkingDay(closed.AddDays(d.between(2, 21))))
		}
		late := d.between(3, 40)
		if job.Holdback > 0 {
			late += 35
		}
		job.PaidOn = m.past(nextWorkingDay(closed.AddDays(late)))
		if closed > m.Today.AddYears(-2) && d.chance(.03) {
			job.PaidOn, job.Notes = 0, "Part of the price is kept back until the gutter is hung again."
		}
	}
	if d.chance(.04) {
		job.Permit = ""
	}
	contact := o.owner(y.laid)
	job.Payer = m.c.Contacts[contact-1].Name
	if before := l.layers[o.works[w].layer-1]; before.reason == byStorm {
		job.Payer = one(d, []string{"Northlight Mutual", "Hearthstone Insurance Pool", "Plains Cover"})
	}
	id := add(&m.c.Jobs, job)

	lots := 1
	if squares > 25 || d.chance(.2) {
		lots = 2
	}
	if per := m.c.Coverings[y.covering-1].BundlesPerSquare; per != nil {
		bundles := math.Ceil(squares * 1.1 * *per)
		for i := range lots {
			add(&m.c.Lots, models.Lot{JobID: id, CoveringID: new(int64(y.covering)), Bundles: new(math.Round(bundles / float64(lots))),
				Number: m.delivery(y.covering, y.laid, i)})
		}
	}
	if d.chance(.12) {
		part := one(d, []string{"Gutters hung again", "Stucco patched at the wall", "Skylight set", "Chimney pointed"})
		add(&m.c.Subcontracts, models.Subcontract{JobID: id, Part: part, Who: one(d, []string{"Bench Sheet Metal", "Falgate Plaster", "Ulmwick Masonry"})})
	}
	if d.chance(.16) {
		what := []string{"New step flashing at the wall", "A second row of vents near the ridge", "New gutters and downspouts", "Baffles over the eave vents"}
		if l.stucco {
			what = append(what, "Opening the stucco for a kickout flashing", "Opening the stucco for a kickout flashing")
		}
		add(&m.c.Declined, models.Declined{JobID: id, What: one(d, what), SignedOn: job.SoldOn})
	}

	put := func(on *building, main bool) {
		r := models.Roof{Ref: numbered("R-", 5, len(m.c.Roofs)+1), HouseID: o.id, StructureID: &on.id, CoveringID: new(int64(y.covering)),
			Laid: units.Dated{On: y.laid, Precision: units.ToDay}, Layers: new(1), Ours: true, Pitch: new(units.PitchIn12(on.pitch)),
			Area: roofArea(on.squares), Colour: one(d, colours)}
		if main && y.ended != 0 {
			r.EndedOn, r.EndReason = y.ended, models.RoofEndReasons[y.reason]
		}
		roof := &ourRoof{house: o, main: main, on: on, job: id, covering: y.covering, crew: crew, laid: y.laid, closed: job.ClosedOn, ended: r.EndedOn, wears: float64(y.wears)}
		roof.id = add(&m.c.Roofs, r)
		for i := range on.slopes {
			m.c.RoofSlopes = append(m.c.RoofSlopes, models.RoofSlope{RoofID: roof.id, SlopeID: on.first + int64(i)})
		}
		m.c.JobRoofs = append(m.c.JobRoofs, models.JobRoof{JobID: id, RoofID: roof.id})
		m.promise(d, roof)
		m.roofs = append(m.roofs, roof)
	}
	put(o.main, true)
	if garage {
		put(o.shed, false)
	}
}

// promise records our own and the maker's promise on a finished roof.
func (m *maker) promise(d *dice, r *ourRoof) {
	if r.closed == 0 {
		return
	}
	terms := int64(work5)
	if r.closed > m.longer() && d.chance(.6) {
		terms = work10
	}
	give := func(w models.Warranty, terms int64) int64 {
		w.Ref, w.RoofID, w.JobID, w.TermsID = numbered("W-", 5, len(m.c.Warranties)+1), r.id, &r.job, terms
		w.StartOn, w.Wording = r.closed, m.c.Terms[terms-1].Wording
		if r.ended != 0 {
			w.EndedOn, w.EndReason = max(r.ended, r.closed), "The roof was replaced."
		}
		return add(&m.c.Warranties, w)
	}
	r.promise = give(models.Warranty{OwedBy: "us"}, terms)
	r.promiseUntil = r.closed.AddMonths(m.c.Terms[terms-1].TermMonths).AddDays(-1)

	maker := models.Warranty{OwedBy: one(d, []string{"Greystile Shingle", "Fellmark Roofing Felt"}), RegistrationDueOn: r.closed.AddDays(registrationDays)}
	if r.covering == ribbedMetal {
		maker.OwedBy = "Ribline Panel"
	}
	if day := r.closed.AddDays(d.between(4, registrationDays-3)); d.chance(.84) && day <= m.Today {
		maker.RegisteredOn, maker.RegistrationNo = day, strconv.Itoa(d.between(100000, 999999))
	}
	give(maker, materialOf[r.covering])
	m.makers[r.id] = maker.OwedBy
}

// assumed records the promises that the company took on from a roofer who
// retired, on roofs that he laid.
func (m *maker) assumed() {
	left := min(4, m.Roofs/40)
	d := m.dice.turn(forScene, 1)
	for i := range m.c.Roofs {
		r := &m.c.Roofs[i]
		if left == 0 {
			return
		}
		start := r.Laid.Latest()
		if r.Ours || r.EndedOn != 0 || start > m.Today.AddYears(-1) || start < m.Today.AddYears(-4) || r.Laid.Precision == units.About || !d.chance(.5) {
			continue
		}
		contact := m.contact(d, d.fullName(), "person")
		add(&m.c.Holdings, models.Holding{HouseID: r.HouseID, ContactID: contact, Role: "owner"})
		add(&m.c.Warranties, models.Warranty{Ref: numbered("W-", 5, len(m.c.Warranties)+1), RoofID: r.ID, TermsID: assumed5, OwedBy: "us",
			StartOn: r.Laid.On, Wording: m.c.Terms[assumed5-1].Wording, AssumedFrom: "Brandholt Roofs, retired"})
		left--
	}
}
