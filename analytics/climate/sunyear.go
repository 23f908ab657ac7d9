package climate

import (
	"math"
	"sync"

	"overhang/analytics/units"
)

// typicalYear lends a typical year its sun. Any common year does: over the four
// years of the calendar the declination of a day moves by up to 0.3°.
const typicalYear = 2021

// sunStep parts an hour; each part has the sun of its middle.
const sunStep = 12

// sunHour is the mean over an hour of the unit vector to the sun, seen through
// the air and taken only while the sun is up: beam times it is what the beam
// brings to a plane with that normal, so long as the plane has the sun before
// it for the whole of that time.
type sunHour struct {
	east, north, up float64
	lit             float64 // share of the hour in which the sun is up
}

// sunYear is the sun of each hour at a place.
type sunYear struct {
	lat, lon, zone float64
	elevation      units.Length
	hours          [HoursAYear]sunHour
}

// sunDays is the sun from the middle of the earth at each midnight of universal
// time, from 31 December of the year before to 3 January of the year after. In
// between a straight line is within 0.002° of the series.
var sunDays = sync.OnceValue(func() []geocentric {
	start := julianDay(units.NewDate(typicalYear, 1, 1).Time())
	days := make([]geocentric, 369)
	for i := range days {
		days[i] = geocentricAt(start+float64(i-1), usualDeltaT)
	}
	return days
})

// quickSun is the unit vector to the sun at days (and fractions) of universal
// time since the year's beginning, seen through standard air at 10 °C.
func quickSun(days float64, o Observer) (east, north, up float64) {
	table := sunDays()
	at := clip(days+1, 0, float64(len(table)-2))
	i := int(at)
	part := at - float64(i)
	a, b := &table[i], &table[i+1]
	declination := a.declination + part*(b.declination-a.declination)
	ascension := a.ascension + part*half(b.ascension-a.ascension)
	sidereal := a.sidereal + part*360.98564736629
	east, north, up = aboveHorizon(o.Lat, declination, sidereal+o.Lon-ascension)
	// The air lifts the sun in the vertical through it.
	height := math.Asin(clip(up, -1, 1)) / degree
	if lift := bend(height, o); lift > 0 {
		sin, cos := math.Sincos((height + lift) * degree)
		if level := math.Hypot(east, north); level > 0 {
			east, north = east*cos/level, north*cos/level
		}
		up = sin
	}
	return east, north, up
}

// observer looks from a place through its standard air.
func (p Place) observer() Observer {
	return Observer{Lat: p.Lat, Lon: p.Lon, Elevation: p.Elevation, Air: 10}.usual()
}

// sunOfHour takes the mean over an hour of the typical year.
func sunOfHour(hour int, zone float64, o Observer) sunHour {
	var s sunHour
	for k := range sunStep {
		east, north, up := quickSun((float64(hour)-zone+(float64(k)+0.5)/sunStep)/24, o)
		if up <= 0 {
			continue
		}
		s.east += east / sunStep
		s.north += north / sunStep
		s.up += up / sunStep
		s.lit += 1. / sunStep
	}
	return s
}

func newSunYear(p Place) *sunYear {
	y := &sunYear{lat: p.Lat, lon: p.Lon, zone: p.Zone, elevation: p.Elevation}
	o := p.observer()
	for h := range y.hours {
		y.hours[h] = sunOfHour(h, p.Zone, o)
	}
	return y
}

// at gives the sun of an hour, whether or not the place's year was made.
func (y *Year) at(hour int) sunHour {
	p := y.Place
	if s := y.sun; s != nil && s.lat == p.Lat && s.lon == p.Lon && s.zone == p.Zone && s.elevation == p.Elevation {
		return s.hours[hour]
	}
	return sunOfHour(hour, p.Zone, p.observer())
}

// extra is the sun outside the air in an hour, W/m².
func extra(hour int) float64 { return Extraterrestrial(hour/24 + 1) }

// OnSlope is the sun on a plane in an hour of the year, in W/m²: beam, sky (Hay
// and Davies) and ground together. tiltDeg is the angle with the horizontal, 0
// to 90, facingDeg the direction the plane faces, clockwise from north; albedo
// is the part of the sun that the ground throws back, 0 to 1: about 0.2, and
// 0.6 to 0.8 under snow. The sun's height is the mean over the hour. A horizon
// of hills, trees or houses is not known here. Hours outside the year panic.
func (y *Year) OnSlope(hour int, tiltDeg, facingDeg, albedo float64) float64 {
	h := &y.Hours[hour]
	if h.Global <= 0 && h.Beam <= 0 && h.Diffuse <= 0 {
		return 0
	}
	s := y.at(hour)
	sinT, cosT := math.Sincos(tiltDeg * degree)
	sinF, cosF := math.Sincos(facingDeg * degree)
	plane := max(0, s.up*cosT+sinT*(s.east*sinF+s.north*cosF))
	least := max(s.up, leastCosine*max(s.lit, 1./sunStep))
	return Sunshine{h.Global, h.Beam, h.Diffuse, extra(hour)}.on(plane, s.up, least, tiltDeg, albedo).Total()
}
