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

	// What is to come of it, drawn when it is laid: the age in years at which it is
	// worn out, and how long it lies there then; the age at which it would go for
	// another reason; and, of those that last summer's hail ends where it crosses them,
	// how many days later.
	wears, lies, other float32
	otherwise          int8
	hail               int8
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

// wearsOut are the median (years) and the shape of the Weibull distribution of the age
// at which a covering is worn out in this town, by number in the catalogue; see the
// package's description for where they come from.
var wearsOut = [...]struct{ median, k float64 }{
	strip25: {18, 4.2}, laminated30: {26, 4.3}, laminated50: {30, 4.3}, oldInterlocking: {20, 3.5}, oldOrganic: {14.5, 3.6},
	ribbedMetal: {42, 4}, splitShake: {26, 4}, lowSlope: {17, 4}, unknownCovering: {20, 3.5},
}

// fares draws what a house makes of its roofs' lives: how they are built, how they lie
// and what their people do, of which the records tell little but the trees.
func fares(d *dice, trees bool) float32 {
	own := math.Exp(.1 * d.NormFloat64())
	if trees {
		own *= .97
	}
	return float32(own)
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
		l.fares = fares(d, l.trees)
		day := seasonStart(int(l.built)).AddDays(d.between(0, 200))
		l.layers = append(make([]layer, 0, 4), cover(d, l, day))
		m.follow(d, l, 0)
	}
}

// cover lays a covering and draws what is to come of it.
func cover(d *dice, l *lot, day units.Date) layer {
	y := layer{laid: day, covering: coveringOf(d, day.Year())}
	w := wearsOut[y.covering]
	y.wears = max(4, l.fares*float32(w.median/math.Pow(math.Ln2, 1/w.k)*d.weibull(1, w.k)))
	y.lies = float32(2 * d.ExpFloat64())
	y.other = float32(math.Inf(1))
	for _, other := range []struct {
		perYear float64
		reason  int8
	}{{.005, byStorm}, {.004, bySale}, {.003, alteration}, {.0025, byTaste}, {.004, byUnknown}} {
		if t := float32(5 + d.ExpFloat64()/other.perYear); t < y.other {
			y.other, y.otherwise = t, other.reason
		}
	}
	if days := d.between(20, 90); d.chance(.08) {
		y.hail = int8(days)
	}
	return y
}

// mostLayers is how many coverings a house sees at most.
const mostLayers = 8

// follow tells when a covering of a house ended, and what was laid after it, until
// today. It is told anew when the covering became another.
func (m *maker) follow(d *dice, l *lot, j int) {
	for ; ; j++ {
		y := &l.layers[j]
		if y.ended, y.reason = m.end(l, y); y.ended == 0 || j+1 == mostLayers {
			y.ended, y.reason, l.layers = 0, 0, l.layers[:j+1]
			return
		}
		if j+1 == len(l.layers) {
			l.layers = append(l.layers, cover(d, l, y.ended))
		}
		l.layers[j+1].laid = l.layers[j].ended
	}
}

// end tells when a covering that was laid on a day ended, and why; it has no day where
// it lies there still. What ended in the last weeks is not known yet.
func (m *maker) end(l *lot, y *layer) (units.Date, int8) {
	known := m.Today.AddDays(-30)
	years, reason := y.wears+y.lies, wornOut
	if y.other < years {
		years, reason = y.other, y.otherwise
	}
	if on := y.laid.AddDays(int(years * 365.25)); on < known {
		return on, reason
	}
	// Older coverings in its track that were replaced soon after.
	if on := m.hail.On.AddDays(int(y.hail)); y.hail > 0 && on < known && m.hail.On.YearsSince(y.laid) > 11 && crossed(&m.hail, l.lat, l.lon) {
		return on, byStorm
	}
	return 0, 0
}

// become makes a covering another, which wears as much faster or slower than the one
// that lay there as their kinds do.
func (y *layer) become(covering int8) {
	y.wears = max(4, y.wears*float32(wearsOut[covering].median/wearsOut[y.covering].median))
	y.covering = covering
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
		l.layers = []layer{cover(d, l, seasonStart(int(l.built)).AddDays(d.between(0, 200)))}
	}
	j := slices.IndexFunc(l.layers, func(y layer) bool { return y.laid >= day.AddDays(-365*6) })
	if j < 0 {
		j = len(l.layers)
	}
	l.layers = append(l.layers[:max(j, 1)], cover(d, l, day))
	j = len(l.layers) - 1
	before := &l.layers[j-1]
	before.ended, before.reason = day, byUnknown
	if day.YearsSince(before.laid) >= float64(before.wears) {
		before.reason = wornOut
	}
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
	o := &ourHouse{lot: i, garage: d.chance(.1)}
	n := 0
	for ; j < len(l.layers); j++ {
		if l.layers[j-1].ours {
			if left == n || d.chance(.4) {
				break // the next one is somebody else's
			}
			end := l.layers[j].laid
			if day = m.seasonDay(end.Year()); day < end {
				day = nextSeasonDay(end)
			}
			if day >= m.Today {
				break
			}
		}
		y := &l.layers[j]
		y.laid, y.ours = day, true
		y.become(ourCovering(d, day, m.Today))
		l.layers[j-1].ended = day
		m.follow(d, l, j)
		o.works = append(o.works, work{layer: j, laid: day})
		n++
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
