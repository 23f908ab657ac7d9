package demo

import (
	"math"
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
)

// The town lies in the cold and dry west, at no place that bears its name.
const (
	townLat      = 46.05
	townLon      = -111.2
	metresNorth  = 111_130.0 // a degree of latitude there; good to a metre over a town
	metresEquate = 111_320.0 // a degree of longitude at the equator
)

// stamp is what the houses of a neighbourhood have in common: when and how they
// were built. Years count back from today; pitches rise in twelve; overhangs
// are in inches, sizes in feet.
type stamp struct {
	share             float64 // of the town's houses
	oldest, newest    int
	stucco            float64 // share; the rest is sided
	pitch             []float64
	overhang          []float64
	widest, narrowest float64
	deepest, shallow  float64
	twoStoreys        float64
	gable, hip, cross float64 // forms of the roof, by weight
	layout            string  // of the streets
	trees             float64 // share of houses under trees
}

var stamps = []stamp{
	{share: .24, oldest: 58, newest: 46, stucco: .15, pitch: []float64{3, 4, 4, 5}, overhang: []float64{24, 24, 30, 36},
		narrowest: 42, widest: 54, shallow: 26, deepest: 30, twoStoreys: .05, gable: 7, hip: 3, layout: "grid", trees: .5},
	{share: .22, oldest: 45, newest: 35, stucco: .35, pitch: []float64{4, 5, 5, 6}, overhang: []float64{16, 18, 24},
		narrowest: 40, widest: 56, shallow: 28, deepest: 32, twoStoreys: .35, gable: 6, hip: 2, cross: 2, layout: "wave", trees: .4},
	{share: .22, oldest: 33, newest: 25, stucco: .65, pitch: []float64{5, 6, 7, 8}, overhang: []float64{6, 8, 12, 12},
		narrowest: 42, widest: 58, shallow: 28, deepest: 36, twoStoreys: .6, gable: 3, hip: 4, cross: 4, layout: "crescent", trees: .25},
	{share: .18, oldest: 26, newest: 17, stucco: .5, pitch: []float64{6, 7, 8, 9, 10}, overhang: []float64{12, 16, 18},
		narrowest: 44, widest: 62, shallow: 30, deepest: 38, twoStoreys: .7, gable: 2, hip: 3, cross: 6, layout: "wave", trees: .15},
	{share: .14, oldest: 16, newest: 6, stucco: .3, pitch: []float64{7, 8, 9, 10, 12}, overhang: []float64{12, 16, 24},
		narrowest: 42, widest: 60, shallow: 30, deepest: 38, twoStoreys: .75, gable: 3, hip: 1, cross: 7, layout: "crescent", trees: .05},
}

// shape is a house as its builder drew it.
type shape struct {
	name         string // of the plan; empty for a house of its own
	width, depth float64
	pitch        float64 // rise in twelve
	overhang     float64 // inches
	storeys      int
	form         string  // gable, hip, cross
	front        float64 // width of the cross gable towards the street, feet
}

type hood struct {
	name     string
	stamp    *stamp
	builder  string
	x, y     float64 // of its middle, metres east and north of the town's
	turned   float64 // degrees that its streets are turned by
	plans    []shape
	firstLot int
}

// lot is a parcel with its house.
type lot struct {
	hood, street int32
	number       int32
	plan         int8 // of the neighbourhood's; -1 for a house of its own
	stucco       bool
	trees        bool
	gone         bool // not part of the town after all
	ours         bool
	built        int32
	house        int64 // number of its record
	lat, lon     float64
	front        float64 // degrees that the front looks towards
	fares        float32 // what the house makes of its roofs' lives, about 1
	layers       []layer
}

// layOut lays the neighbourhoods, streets and houses. There are as many houses
// as could be needed; choose drops those that are too many.
func (m *maker) layOut() {
	total := m.Roofs + m.Houses
	groups := max(1, (total+2000)/4000) // of five neighbourhoods each
	share := total / groups
	m.lots = make([]lot, 0, total)
	streets := 0
	for g := range groups {
		left := share
		if g == groups-1 {
			left = total - share*(groups-1)
		}
		whole := left
		for k := range stamps {
			n := min(left, int(math.Round(float64(whole)*stamps[k].share)))
			if k == len(stamps)-1 {
				n = left
			}
			left -= n
			streets += m.layHood(len(m.hoods), &stamps[k], n, streets)
		}
	}
}

// layHood lays one neighbourhood of n houses and gives the number of its
// streets.
func (m *maker) layHood(index int, s *stamp, n, firstStreet int) int {
	d := m.dice.turn(forTown, index)
	h := hood{name: hoodNames[index%len(hoodNames)], stamp: s, firstLot: len(m.lots)}
	if round := index / len(hoodNames); round > 0 {
		h.name = hoodSides[(round-1)%len(hoodSides)] + h.name
		if again := (round - 1) / len(hoodSides); again > 0 {
			h.name += " " + strconv.Itoa(again+1)
		}
	}
	h.builder = d.familyName() + " " + one(d, builderEnds)
	h.x, h.y = spiral(index+1, 1350)
	h.x, h.y = h.x+d.span(-90, 90), h.y+d.span(-90, 90)
	h.turned = d.span(-25, 25)
	first := d.IntN(len(planNames))
	for i := range 5 {
		h.plans = append(h.plans, drawShape(d, s, planNames[(first+i*3)%len(planNames)]))
	}
	hoodIndex := int32(index)
	m.hoods = append(m.hoods, h)

	// Rows of houses so that the neighbourhood is about square: lots are some
	// 18.5 m wide with the crossings, streets 75 m apart.
	rows := max(1, int(math.Round(math.Sqrt(float64(n)*18.5/2/75))))
	placed := 0
	for row := range rows {
		count := (n - placed) / (rows - row)
		placed += count
		m.layStreet(hoodIndex, row, rows, firstStreet+row, count)
	}
	return rows
}

// layStreet lays the houses of one street, on both sides of it.
func (m *maker) layStreet(hoodIndex int32, row, rows, street, count int) {
	const setback, crossing, lotsInBlock = 14.0, 16.0, 10
	d := m.dice
	h := &m.hoods[hoodIndex]
	length := float64((count+1)/2)*18 + float64(count/2/lotsInBlock)*crossing
	phase, bend := float64(hoodIndex), 35.0
	along := [2]float64{} // of the two sides
	for i := range count {
		side := i % 2
		place := i / 2
		frontage := d.span(15, 20)
		if place%lotsInBlock == 0 && place > 0 {
			along[side] += crossing
		}
		t := along[side] + frontage/2 - length/2 // along the street from its middle
		along[side] += frontage
		offset := float64(row)*75 - float64(rows-1)*37.5

		// The point on the middle of the street, and the direction it runs in,
		// counter-clockwise from east.
		var x, y, runs float64
		switch h.stamp.layout {
		case "wave":
			x, y = t, offset+bend*math.Sin(t/67+phase)
			runs = math.Atan(bend / 67 * math.Cos(t/67+phase))
		case "crescent":
			radius := 420 + float64(row)*75
			a := math.Pi/2 - t/radius
			x, y = radius*math.Cos(a), radius*math.Sin(a)-420-float64(rows-1)*37.5
			runs = a - math.Pi/2
		default:
			x, y = t, offset
		}
		sign := 1.0 // the left side, looking along the street
		if side == 1 {
			sign = -1
		}
		back := setback + d.span(-1.2, 1.2)
		x += -sign * back * math.Sin(runs)
		y += sign * back * math.Cos(runs)
		turned := h.turned * math.Pi / 180
		east := h.x + x*math.Cos(turned) - y*math.Sin(turned)
		north := h.y + x*math.Sin(turned) + y*math.Cos(turned)
		towards := 90 - (runs+turned)*180/math.Pi // bearing of the street
		front := math.Mod(towards+sign*90+720, 360)

		l := lot{hood: hoodIndex, street: int32(street), plan: int8(d.IntN(len(h.plans))), front: math.Round(front)}
		l.lat, l.lon = position(east, north)
		l.number = int32(100*(1+place/lotsInBlock) + 4*(place%lotsInBlock) + 1 + side)
		if d.chance(.1) {
			l.plan = -1
		}
		l.stucco, l.trees = d.chance(h.stamp.stucco), d.chance(h.stamp.trees)
		// A street was built within a few years.
		span := h.stamp.oldest - h.stamp.newest
		back2 := h.stamp.oldest - row*span/max(rows, 2) - d.between(0, 2)
		l.built = int32(m.Today.Year() - max(back2, h.stamp.newest))
		m.lots = append(m.lots, l)
	}
}

// position turns metres east and north of the town's middle into degrees, to a
// tenth of a metre.
func position(east, north float64) (lat, lon float64) {
	lat = townLat + north/metresNorth
	lon = townLon + east/(metresEquate*math.Cos(townLat*math.Pi/180))
	return round(lat, 6), round(lon, 6)
}

// metres is the inverse of position.
func metres(lat, lon float64) (east, north float64) {
	return (lon - townLon) * metresEquate * math.Cos(townLat*math.Pi/180), (lat - townLat) * metresNorth
}

// spiral gives the n-th place of a square spiral round the middle, which is the
// 0th.
func spiral(n int, step float64) (x, y float64) {
	px, py, dx, dy := 0, 0, 1, 0
	leg, walked, turns := 1, 0, 0
	for range n {
		px, py = px+dx, py+dy
		if walked++; walked == leg {
			walked, dx, dy = 0, -dy, dx
			if turns++; turns%2 == 0 {
				leg++
			}
		}
	}
	return float64(px) * step, float64(py) * step
}

func drawShape(d *dice, s *stamp, name string) shape {
	p := shape{name: name, storeys: 1, front: 0}
	p.width, p.depth = math.Round(d.span(s.narrowest, s.widest)), math.Round(d.span(s.shallow, s.deepest))
	p.pitch, p.overhang = one(d, s.pitch), one(d, s.overhang)
	if d.chance(s.twoStoreys) {
		p.storeys = 2
	}
	p.form = []string{"gable", "hip", "cross"}[d.weighted(s.gable, s.hip, s.cross)]
	if p.form == "cross" {
		p.front = math.Round(d.span(14, 20))
	}
	return p
}

func (m *maker) shapeOf(i int) shape {
	l := &m.lots[i]
	h := &m.hoods[l.hood]
	if l.plan >= 0 {
		return h.plans[l.plan]
	}
	return drawShape(m.dice.turn(forLot, i), h.stamp, "")
}

// plane is one slope of a roof. Area is along the slope, in square feet; eave
// in feet; towards is counted from the front, clockwise.
type plane struct {
	name       string
	towards    float64
	area, eave float64
}

// across is how far the cross gable stands out before the front wall, feet.
const across = 6.0

// planes gives the slopes of a shape. The areas are those of equal pitches and
// level eaves: a plan area times √(1+(rise/12)²).
func (p shape) planes() []plane {
	factor := math.Sqrt(1 + p.pitch*p.pitch/144)
	w, dp := p.width+p.overhang/6, p.depth+p.overhang/6
	half := w * dp / 2
	switch p.form {
	case "hip":
		end := dp * dp / 4
		return []plane{{"Front", 0, (half - end) * factor, w}, {"Back", 180, (half - end) * factor, w},
			{"Right end", 90, end * factor, dp}, {"Left end", 270, end * factor, dp}}
	case "cross":
		c := p.front + p.overhang/6
		side := c/2*across + c*c/8
		return []plane{{"Front", 0, (half - c*c/4) * factor, w - c}, {"Back", 180, half * factor, w},
			{"Entry right", 90, side * factor, across}, {"Entry left", 270, side * factor, across}}
	}
	return []plane{{"Front", 0, half * factor, w}, {"Back", 180, half * factor, w}}
}

// squares of covering on a shape.
func (p shape) squares() float64 {
	sum := 0.0
	for _, q := range p.planes() {
		sum += q.area
	}
	return sum / 100
}

// area of the whole roof, as measured from above or on the roof.
func roofArea(squares float64) *units.Area { return new(units.Area(round(squares, 1)) * units.Square) }

// houses writes every house of the town with its address, and the coverings
// that we did not lay.
func (m *maker) houses() {
	// Room for all of them at once: the lists of a large town are long.
	m.c.Houses = make([]models.House, 0, len(m.lots))
	m.c.Addresses = make([]models.Address, 0, len(m.lots)+m.Roofs/8)
	m.c.Roofs = make([]models.Roof, 0, len(m.lots)*8/5)
	claddings := map[bool]string{true: "stucco", false: "siding"}
	notes := []string{"Decorative concrete drive: no truck on it.", "Air conditioner below the back eave.", "Dog in the yard, ring first.",
		"Raised beds along the back eave.", "Shared drive with the house behind."}
	for i := range m.lots {
		l := &m.lots[i]
		if l.gone {
			continue
		}
		h := &m.hoods[l.hood]
		p := m.shapeOf(i)
		d := m.dice.turn(forHouse, i)
		rec := models.House{Ref: numbered("H-", 5, len(m.c.Houses)+1), BranchID: 1, Neighbourhood: h.name, Plan: p.name,
			BuildYear: new(int(l.built)), Cladding: claddings[l.stucco], Storeys: new(p.storeys)}
		if p.name != "" {
			rec.Builder = h.builder
		}
		if d.chance(.05) {
			rec.Cladding = one(d, []string{"brick", "stone", "mixed"})
		}
		if l.ours || d.chance(.995) {
			rec.Lat, rec.Lon = new(l.lat), new(l.lon)
		}
		rec.Parcel = strconv.Itoa(int(l.hood)+1) + "-" + strconv.Itoa(int(l.street)+1) + "-" + strconv.Itoa(int(l.number))
		if l.ours {
			rec.Trees = new(l.trees)
			if d.chance(.15) {
				rec.SiteNotes = one(d, notes)
			}
		} else {
			switch x := d.Float64(); { // what is not known of a house that nobody of ours has been to
			case x < .04:
				rec.BuildYear = nil
			case x < .10:
				rec.Cladding = ""
			case x < .16:
				rec.Storeys = nil
			}
			if d.chance(.5) {
				rec.Trees = new(l.trees)
			}
		}
		l.house = add(&m.c.Houses, rec)
		street := streetName(m.Seed, int(l.street))
		a := models.Address{HouseID: l.house, Number: strconv.Itoa(int(l.number)), Street: street, Town: town, PostalCode: postalCode, Main: true}
		add(&m.c.Addresses, a)
		if l.ours && d.chance(.05) { // a duplex
			a.Main, a.Unit = false, "B"
			add(&m.c.Addresses, a)
		}
		if l.ours && d.chance(.04) { // how the street was called before
			a.Main, a.Alias, a.Unit, a.Street = false, true, "", "Old "+street
			add(&m.c.Addresses, a)
		}
		m.standing(d, l, p)
	}
}

// standing writes the coverings of a house that we did not lay.
func (m *maker) standing(d *dice, l *lot, p shape) {
	for j, y := range l.layers {
		if y.ours {
			continue
		}
		last := j == len(l.layers)-1
		if !last && !l.ours && !d.chance(.35) { // nobody wrote it down
			continue
		}
		r := models.Roof{Ref: numbered("R-", 5, len(m.c.Roofs)+1), HouseID: l.house, EndedOn: y.ended}
		r.Laid = dated(y.laid, units.ToYear)
		if j > 0 && d.chance(.25) {
			r.Laid = dated(y.laid, units.ToMonth)
		} else if d.chance(.3) {
			r.Laid = dated(y.laid.AddDays(d.between(-300, 300)), units.About)
			r.Laid.On = min(r.Laid.On, m.Today, units.NewDate(m.Today.Year(), 1, 1))
		}
		// A year's middle may lie ahead of today, or past the day it ended.
		if r.Laid.On > m.Today || (y.ended != 0 && r.Laid.On > y.ended) {
			r.Laid = units.Dated{On: y.laid, Precision: units.ToDay}
		}
		if y.ended != 0 {
			r.EndReason = models.RoofEndReasons[y.reason]
		}
		switch x := d.Float64(); {
		case x < .82 || l.ours:
			r.CoveringID = new(int64(y.covering))
		case x < .92:
			r.CoveringID = new(int64(unknownCovering))
		}
		if d.chance(.75) || l.ours {
			r.Pitch = new(units.PitchIn12(p.pitch))
		}
		if d.chance(.65) || l.ours {
			r.Area = roofArea(p.squares())
		}
		if last && d.chance(.6) {
			r.Colour = one(d, colours)
		}
		if j > 0 && d.chance(.2) {
			r.Layers = new(2)
		} else if d.chance(.5) {
			r.Layers = new(1)
		}
		add(&m.c.Roofs, r)
	}
}

// dated writes a day as it is known to a precision.
func dated(d units.Date, how units.Precision) units.Dated {
	switch how {
	case units.ToMonth:
		d = d.Month().First().AddDays(14)
	case units.ToYear, units.About:
		d = units.NewDate(d.Year(), 7, 1)
	}
	return units.Dated{On: d, Precision: how}
}

// numbered writes a number of our own with leading noughts.
func numbered(prefix string, digits, n int) string {
	s := strconv.Itoa(n)
	for len(s) < digits {
		s = "0" + s
	}
	return prefix + s
}
