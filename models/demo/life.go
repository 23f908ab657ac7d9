package demo

import (
	"cmp"
	"math"
	"slices"
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

// layer is one covering of a house's main roof. Reason is an index into
// models.RoofEndReasons.
type layer struct {
	laid, ended units.Date
	covering    int8
	reason      int8
	ours        bool
}

// The reasons by index.
var (
	wornOut    = int8(slices.Index(models.RoofEndReasons, "worn_out"))
	byStorm    = int8(slices.Index(models.RoofEndReasons, "storm"))
	bySale     = int8(slices.Index(models.RoofEndReasons, "sale"))
	alteration = int8(slices.Index(models.RoofEndReasons, "alteration"))
	byTaste    = int8(slices.Index(models.RoofEndReasons, "taste"))
	byUnknown  = int8(slices.Index(models.RoofEndReasons, "unknown"))
)

// wearsOut are the scale (years) and shape of the age at which a covering is
// worn out in this town, by number in the catalogue; see the package's
// description for where they come from.
var wearsOut = [...]struct{ eta, k float64 }{
	strip25: {19.5, 4}, laminated30: {24, 4.5}, laminated50: {27, 4.5}, oldInterlocking: {22, 4}, oldOrganic: {17.5, 4},
	ribbedMetal: {46, 4}, splitShake: {28, 4}, lowSlope: {18, 4}, unknownCovering: {20, 4},
}

// coveringOf draws what was laid in a year.
func coveringOf(d *dice, year int) int8 {
	switch {
	case year < 1986:
		return []int8{oldOrganic, oldInterlocking, strip25, splitShake}[d.weighted(35, 35, 15, 15)]
	case year < 2000:
		return []int8{strip25, oldInterlocking, oldOrganic, laminated30, splitShake}[d.weighted(50, 18, 12, 14, 6)]
	case year < 2010:
		return []int8{laminated30, strip25, laminated50, ribbedMetal}[d.weighted(60, 32, 5, 3)]
	}
	return []int8{laminated30, strip25, laminated50, ribbedMetal}[d.weighted(72, 12, 11, 5)]
}

// live lets every house have its coverings from the build year until today.
func (m *maker) live() {
	for i := range m.lots {
		l := &m.lots[i]
		d := m.dice.turn(forLife, i)
		day := seasonStart(int(l.built)).AddDays(d.between(0, 200))
		var layers [8]layer // a house sees few
		n := 0
		for n < len(layers) {
			y := layer{laid: day, covering: coveringOf(d, day.Year())}
			years, reason := m.lasts(d, y.covering)
			end := day.AddDays(int(years * 365.25))
			if n < len(layers)-1 && end < m.Today {
				y.ended, y.reason = end, reason
			} else if m.hailEnds(d, l, day) {
				y.ended, y.reason = m.hail.On.AddDays(d.between(20, 90)), byStorm
			}
			if y.ended >= m.Today || (y.ended != 0 && y.ended-y.laid < 365) {
				y.ended = 0
			}
			layers[n] = y
			n++
			if y.ended == 0 {
				break
			}
			day = y.ended
		}
		l.layers = slices.Clone(layers[:n])
	}
}

// lasts draws how many years a covering lies, and why it goes: the wear plus
// the years that a worn-out roof is left lying, or earlier for another reason.
func (m *maker) lasts(d *dice, covering int8) (float64, int8) {
	w := wearsOut[covering]
	years, reason := d.weibull(w.eta, w.k)+2*d.ExpFloat64(), wornOut
	for _, other := range []struct {
		perYear float64
		reason  int8
	}{{.005, byStorm}, {.004, bySale}, {.003, alteration}, {.0025, byTaste}, {.004, byUnknown}} {
		if t := 5 + d.ExpFloat64()/other.perYear; t < years {
			years, reason = t, other.reason
		}
	}
	return max(years, 4), reason
}

// hailEnds says whether last summer's hail ends a covering: older ones in its
// track that were replaced soon after.
func (m *maker) hailEnds(d *dice, l *lot, laid units.Date) bool {
	return m.hail.On.YearsSince(laid) > 11 && crossed(&m.hail, l.lat, l.lon) && d.chance(.08)
}

// choose picks the houses whose roofs we laid: of the ones that got a new roof
// while the company has been at work, more of the later years and more on the
// streets where we are known.
func (m *maker) choose() {
	type candidate struct {
		lot, layer int
		key        float64
	}
	candidates := make([]candidate, 0, len(m.lots))
	var rest []candidate
	for i := range m.lots {
		l := &m.lots[i]
		d := m.dice.turn(forChoice, i)
		known := math.Exp(.8 * unitNormal(mix(m.Seed^uint64(l.street)<<20)))
		at := -1
		for j := 1; j < len(l.layers); j++ {
			if l.layers[j].laid > m.begins.AddDays(60) {
				at = j
				break
			}
		}
		key := d.ExpFloat64() / known
		if at < 0 {
			rest = append(rest, candidate{i, -1, key})
			continue
		}
		years := l.layers[at].laid.YearsSince(m.begins)
		candidates = append(candidates, candidate{i, at, key / (.5 + years/storyYears)})
	}
	byKey := func(a, b candidate) int { return cmp.Or(cmp.Compare(a.key, b.key), a.lot-b.lot) }
	slices.SortFunc(candidates, byKey)
	slices.SortFunc(rest, byKey)

	left, taken := m.Roofs, 0
	for _, c := range append(candidates, rest...) {
		if left == 0 {
			break
		}
		l := &m.lots[c.lot]
		d := m.dice.turn(forWork, c.lot)
		if c.layer < 0 {
			c.layer = m.forceWork(d, l)
		}
		n := m.take(d, c.lot, c.layer, left)
		if n == 0 {
			n = m.take(d, c.lot, m.forceWork(d, l), left)
		}
		if n > 0 {
			left -= n
			taken++
		}
	}
	// Drop the houses that are too many, evenly over the town.
	surplus := len(m.lots) - taken - m.Houses
	others := len(m.lots) - taken
	seen := 0
	for i := range m.lots {
		l := &m.lots[i]
		if l.ours {
			continue
		}
		if (seen+1)*surplus/others > seen*surplus/others {
			l.gone = true
		}
		seen++
	}
}

// forceWork gives a house a new roof within the story where it had none, and
// makes the house older when it would be too new for one.
func (m *maker) forceWork(d *dice, l *lot) int {
	year := m.begins.Year() + 1 + d.between(0, storyYears-1)
	day := m.seasonDay(year)
	first := l.layers[0]
	if day.YearsSince(first.laid) < 13 {
		l.built = int32(day.Year() - d.between(13, 24))
		first.laid = seasonStart(int(l.built)).AddDays(d.between(0, 200))
		first.covering = coveringOf(d, int(l.built))
		l.layers = []layer{first}
	}
	j := slices.IndexFunc(l.layers, func(y layer) bool { return y.laid >= day.AddDays(-365*6) })
	if j < 0 {
		j = len(l.layers)
	}
	l.layers = append(l.layers[:max(j, 1)], layer{laid: day})
	j = len(l.layers) - 1
	l.layers[j-1].ended, l.layers[j-1].reason = day, wornOut
	return j
}

// take makes a covering of a house ours, moved to a working day, and gives the
// number of our roofs that this makes, none when it does not fit. Later
// coverings of the house are ours as well, or somebody else's.
func (m *maker) take(d *dice, i, j, left int) int {
	l := &m.lots[i]
	y := &l.layers[j]
	day := m.seasonDay(y.laid.Year())
	if day.YearsSince(l.layers[j-1].laid) < 4 || day < m.begins {
		return 0
	}
	o := &ourHouse{lot: i, frail: math.Exp(.22 * d.NormFloat64()), garage: d.chance(.1)}
	n := 0
	for ; j < len(l.layers); j++ {
		y := &l.layers[j]
		if j > 0 && l.layers[j-1].ours && (left == n || d.chance(.4)) {
			break // the next one is somebody else's
		}
		if y.laid != day && l.layers[j-1].ours {
			day = m.seasonDay(y.laid.Year())
			if day.YearsSince(l.layers[j-1].laid) < 1 { // too soon after: it never happened
				l.layers = l.layers[:j]
				l.layers[j-1].ended, l.layers[j-1].reason = 0, 0
				break
			}
		}
		was := y.covering
		y.laid, y.ours, y.covering = day, true, ourCovering(d, day, m.Today)
		l.layers[j-1].ended = day
		if y.ended != 0 && y.reason == wornOut {
			// It lies as long as what we laid would, and its looks will tell so.
			years := y.ended.YearsSince(day) * wearsOut[y.covering].eta / wearsOut[was].eta
			if n == 0 {
				o.frail = min(2.2, wearsOut[y.covering].eta/max(1, years-1))
			}
			if y.ended = day.AddDays(int(years * 365.25)); y.ended >= m.Today.AddDays(-30) {
				y.ended, y.reason, l.layers = 0, 0, l.layers[:j+1]
			} else if j+1 < len(l.layers) {
				l.layers[j+1].laid = y.ended
			}
		}
		o.works = append(o.works, work{layer: j, laid: day})
		n++
		if y.ended != 0 && y.ended.YearsSince(day) < 1 {
			y.ended, y.reason = 0, 0
			l.layers = l.layers[:j+1]
			break
		}
	}
	if o.garage && n < left {
		n++
	} else {
		o.garage = false
	}
	l.ours = true
	m.ours = append(m.ours, o)
	return n
}

// ourCovering draws what we lay: the strip went out of favour.
func ourCovering(d *dice, day, today units.Date) int8 {
	strip := 8.0
	if day < today.AddYears(-7) {
		strip = 26
	}
	return []int8{laminated30, strip25, laminated50, ribbedMetal}[d.weighted(66, strip, 14, 5)]
}

// unitNormal turns a mixed number into a draw from the unit normal
// distribution, by the sum of twelve uniform parts less six.
func unitNormal(z uint64) float64 {
	sum := -6.0
	for range 12 {
		z = mix(z)
		sum += float64(z>>11) / (1 << 53)
	}
	return sum
}

// storms makes last summer's hail, which crossed the two oldest neighbourhoods,
// and a blow nine days ago over two others, with ice in the cold half of the
// year. Sizes of hail: 1¼ in harms shingles old and new (National Weather
// Service research, seen quoted); a gust of 58 mph makes a storm severe
// (National Weather Service, seen quoted).
func (m *maker) storms() {
	d := m.dice.turn(forStorm, 0)
	year := m.Today.Year()
	if m.Today < units.NewDate(year, time.August, 12) {
		year--
	}
	on := units.NewDate(year, time.July, 10).AddDays(d.between(0, 12))
	corner := func(h *hood, east, north float64) models.LatLon {
		lat, lon := position(h.x+east, h.y+north)
		return models.LatLon{Lat: lat, Lon: lon}
	}
	a, b := &m.hoods[0], &m.hoods[1]
	m.hail = models.Storm{Ref: numbered("S-", 4, year), Name: "July hail", On: on, Kind: "hail",
		Shape:     models.JSON[models.LatLon]{corner(a, 500, -1900), corner(a, 60, 80), corner(b, -40, -60), corner(b, -700, 1700)},
		HalfWidth: 330, HailSize: new(1.25 * units.Inch),
		Notes: "Stones the size of a half-dollar on two porches; the edges of the track are a guess."}
	blew := m.Today.AddDays(-9)
	h := &m.hoods[2]
	far := &m.hoods[3]
	m.blow = models.Storm{Ref: numbered("S-", 4, blew.Year()) + "-2", Name: blew.Time().Month().String() + " blow", On: blew, Kind: "wind", Closed: true,
		Shape: models.JSON[models.LatLon]{corner(h, -500, -420), corner(h, 450, -420), corner(h, 450, 420), corner(far, 0, 300),
			corner(far, -350, 0), corner(h, -500, 300)},
		HalfWidth: 0, Gust: new(27.5), Notes: "Gusts of about 62 mph at the company's yard."}
	if mo := blew.Time().Month(); mo >= time.November || mo <= time.March {
		m.blow.Kind, m.blow.Notes = "ice", "Freezing rain, then gusts of about 62 mph at the company's yard."
	}
	add(&m.c.Storms, m.hail)
	add(&m.c.Storms, m.blow)
	m.hail, m.blow = m.c.Storms[0], m.c.Storms[1]
}

// crossed says whether a storm passed over a place: within the half width of
// its line, or inside its area.
func crossed(s *models.Storm, lat, lon float64) bool {
	x, y := metres(lat, lon)
	inside := false
	for i := range s.Shape {
		j := i + 1
		if j == len(s.Shape) {
			if !s.Closed {
				break
			}
			j = 0
		}
		ax, ay := metres(s.Shape[i].Lat, s.Shape[i].Lon)
		bx, by := metres(s.Shape[j].Lat, s.Shape[j].Lon)
		if s.Closed {
			if (ay > y) != (by > y) && x < (bx-ax)*(y-ay)/(by-ay)+ax {
				inside = !inside
			}
			continue
		}
		t := ((x-ax)*(bx-ax) + (y-ay)*(by-ay)) / ((bx-ax)*(bx-ax) + (by-ay)*(by-ay))
		t = max(0, min(1, t))
		if math.Hypot(x-ax-t*(bx-ax), y-ay-t*(by-ay)) <= s.HalfWidth.In(units.Metre) {
			return true
		}
	}
	return inside
}
