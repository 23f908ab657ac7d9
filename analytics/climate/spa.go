package climate

import (
	"fmt"
	"math"
	"time"

	"overhang/analytics/units"
)

const (
	degree = math.Pi / 180

	// sunRadius is half the sun's width, in degrees, and usualRefraction what
	// the air lifts it by at the horizon (NREL/TP-560-34302).
	sunRadius       = 0.26667
	usualRefraction = 0.5667

	// usualDeltaT is terrestrial time less universal time in seconds, as it has
	// been since 2017 (IERS, from memory). Ten seconds move the sun by 0.0001°.
	usualDeltaT = 69.2
)

// Observer is who looks at the sun.
type Observer struct {
	Lat, Lon  float64 // degrees, north and east positive
	Elevation units.Length
	// Pressure in Pa and Air bend the light; a zero pressure is the standard
	// atmosphere's at the elevation.
	Pressure float64
	Air      units.Temperature
	// Refraction at sunrise and sunset in degrees, and DeltaT, terrestrial less
	// universal time in seconds: zero is the usual, 0.5667° and 69.2 s.
	Refraction, DeltaT float64
}

func (o Observer) usual() Observer {
	if o.Pressure == 0 {
		o.Pressure = StandardPressure(o.Elevation)
	}
	if o.Refraction == 0 {
		o.Refraction = usualRefraction
	}
	if o.DeltaT == 0 {
		o.DeltaT = usualDeltaT
	}
	return o
}

// StandardPressure is the pressure of the standard atmosphere in Pa (ISO 2533,
// the troposphere, good to 11 km).
func StandardPressure(elevation units.Length) float64 {
	return 101_325 * math.Pow(1-2.25577e-5*float64(elevation), 5.25588)
}

// Position is where the sun stands, in degrees.
type Position struct {
	Zenith  float64 // from straight up, seen through the air
	Azimuth float64 // clockwise from north
	// Distance to the sun in astronomical units.
	Distance float64
	// EquationOfTime is the sundial less the mean sun, in minutes.
	EquationOfTime float64
}

// Incidence is the angle in degrees between the sun and the normal of a plane,
// 0 to 180: more than 90 is behind it. tiltDeg is the plane's angle with the
// horizontal, facingDeg where it faces, clockwise from north.
func (p Position) Incidence(tiltDeg, facingDeg float64) float64 {
	return math.Acos(clip(cosIncidence(p.Zenith, p.Azimuth, tiltDeg, facingDeg), -1, 1)) / degree
}

func cosIncidence(zenith, azimuth, tilt, facing float64) float64 {
	return math.Cos(zenith*degree)*math.Cos(tilt*degree) + math.Sin(zenith*degree)*math.Sin(tilt*degree)*math.Cos((azimuth-facing)*degree)
}

// SunAt tells where the sun stands at a moment, by the solar position algorithm
// of I. Reda and A. Andreas, NREL/TP-560-34302 (2008). The report gives ±0.0003°
// for the years -2000 to 6000; the light's bending near the horizon is known
// far worse than that.
func SunAt(t time.Time, from Observer) Position {
	from = from.usual()
	g := geocentricAt(julianDay(t), from.DeltaT)
	return g.seen(from).Position
}

// julianDay of a moment. Unix time leaves out leap seconds, as universal time
// does to within a second.
func julianDay(t time.Time) float64 {
	return float64(t.Unix())/86400 + float64(t.Nanosecond())/86400e9 + 2440587.5
}

// geocentric is the sun as seen from the middle of the earth, in degrees: steps
// 3.1 to 3.10 of the report, whose letters stand beside.
type geocentric struct {
	longitude, latitude, radius float64 // L, B, R: heliocentric, R in au
	nutation, tipping           float64 // Δψ, Δε
	obliquity                   float64 // ε
	sidereal                    float64 // ν, at Greenwich
	ascension, declination      float64 // α, δ
	equation                    float64 // E, of time, minutes
}

// series sums the periodic terms as a polynomial in x.
func series(terms [][][3]float64, x float64) float64 {
	sum := 0.0
	for k := len(terms) - 1; k >= 0; k-- {
		at := 0.0
		for _, t := range terms[k] {
			at += t[0] * math.Cos(t[1]+t[2]*x)
		}
		sum = sum*x + at
	}
	return sum / 1e8
}

// power sums the coefficients as a polynomial in x, the constant first.
func power(x float64, coefficients ...float64) float64 {
	sum := 0.0
	for k := len(coefficients) - 1; k >= 0; k-- {
		sum = sum*x + coefficients[k]
	}
	return sum
}

func geocentricAt(julian, deltaT float64) geocentric {
	var g geocentric
	ephemeris := (julian + deltaT/86400 - 2451545) / 36525 // JCE
	millennia := ephemeris / 10                            // JME
	g.longitude = turn(series(longitudeTerms, millennia) / degree)
	g.latitude = series(latitudeTerms, millennia) / degree
	g.radius = series(radiusTerms, millennia)

	x := [5]float64{
		power(ephemeris, 297.85036, 445267.111480, -0.0019142, 1./189474),
		power(ephemeris, 357.52772, 35999.050340, -0.0001603, -1./300000),
		power(ephemeris, 134.96298, 477198.867398, 0.0086972, 1./56250),
		power(ephemeris, 93.27191, 483202.017538, -0.0036825, 1./327270),
		power(ephemeris, 125.04452, -1934.136261, 0.0020708, 1./450000),
	}
	for _, t := range nutationTerms {
		sin, cos := math.Sincos((x[0]*t[0] + x[1]*t[1] + x[2]*t[2] + x[3]*t[3] + x[4]*t[4]) * degree)
		g.nutation += (t[5] + t[6]*ephemeris) * sin
		g.tipping += (t[7] + t[8]*ephemeris) * cos
	}
	g.nutation /= 36e6
	g.tipping /= 36e6
	g.obliquity = g.tipping + power(millennia/10, 84381.448, -4680.93, -1.55, 1999.25, -51.38, -249.67, -39.05, 7.12, 27.87, 5.79, 2.45)/3600

	aberration := -20.4898 / (3600 * g.radius)
	sinL, cosL := math.Sincos((g.longitude + 180 + g.nutation + aberration) * degree) // λ
	sinE, cosE := math.Sincos(g.obliquity * degree)
	sinB, cosB := math.Sincos(-g.latitude * degree) // β
	since := julian - 2451545
	century := since / 36525
	g.sidereal = turn(280.46061837 + 360.98564736629*since + power(century, 0, 0, 0.000387933, -1./38710000) + g.nutation*cosE)
	g.ascension = turn(math.Atan2(sinL*cosE-sinB/cosB*sinE, cosL) / degree)
	g.declination = math.Asin(sinB*cosE+cosB*sinE*sinL) / degree

	mean := power(millennia, 280.4664567, 360007.6982779, 0.03032028, 1./49931, -1./15300, -1./2000000) // M
	g.equation = 4 * half(mean-0.0057183-g.ascension+g.nutation*cosE)
	return g
}

// topocentric is the sun as seen from a place, in degrees: steps 3.11 to 3.14.
type topocentric struct {
	hourAngle   float64 // H, of the middle of the earth
	ascension   float64 // α'
	declination float64 // δ'
	local       float64 // H'
	unbent      float64 // e0, elevation without the air
	elevation   float64 // e
	Position
}

func (g geocentric) seen(o Observer) topocentric {
	var t topocentric
	t.hourAngle = turn(g.sidereal + o.Lon - g.ascension)
	sinLat, cosLat := math.Sincos(o.Lat * degree)
	sinH, cosH := math.Sincos(t.hourAngle * degree)
	sinD, cosD := math.Sincos(g.declination * degree)
	sinX := math.Sin(8.794 / (3600 * g.radius) * degree) // ξ, the sun's parallax

	const flat = 0.99664719 // the earth's lesser radius by its greater
	u := math.Atan(flat * math.Tan(o.Lat*degree))
	out := math.Cos(u) + float64(o.Elevation)/6378140*cosLat     // x
	up := flat*math.Sin(u) + float64(o.Elevation)/6378140*sinLat // y
	across := cosD - out*sinX*cosH
	shift := math.Atan2(-out*sinX*sinH, across) // Δα
	t.ascension = g.ascension + shift/degree
	t.local = t.hourAngle - shift/degree
	declination := math.Atan2((sinD-up*sinX)*math.Cos(shift), across)
	t.declination = declination / degree

	east, north, above := aboveHorizon(o.Lat, t.declination, t.local)
	t.unbent = math.Asin(clip(above, -1, 1)) / degree
	t.elevation = t.unbent + bend(t.unbent, o)
	t.Position = Position{Zenith: 90 - t.elevation, Azimuth: turn(math.Atan2(east, north) / degree), Distance: g.radius, EquationOfTime: g.equation}
	return t
}

// aboveHorizon turns declination and hour angle (degrees, west positive) into a
// unit vector to the east, the north and straight up.
func aboveHorizon(lat, declination, hourAngle float64) (east, north, up float64) {
	sinLat, cosLat := math.Sincos(lat * degree)
	sinD, cosD := math.Sincos(declination * degree)
	sinH, cosH := math.Sincos(hourAngle * degree)
	return -cosD * sinH, sinD*cosLat - cosD*cosH*sinLat, sinLat*sinD + cosLat*cosD*cosH
}

// bend is what the air lifts the sun by at an elevation, both in degrees. It is
// left out once the sun's upper edge is below the horizon (step 3.14.2).
func bend(elevation float64, o Observer) float64 {
	if elevation < -(sunRadius + o.Refraction) {
		return 0
	}
	return o.Pressure / 101_000 * 283 / (273 + o.Air.Celsius()) * 1.02 / (60 * math.Tan((elevation+10.3/(elevation+5.11))*degree))
}

// SunDay is the sun's day at a place. Rise and Set are zero when the sun does
// not cross the horizon on that day; Up then says whether it stays up.
type SunDay struct {
	Rise, Transit, Set time.Time
	Up                 bool
}

// SunOn gives sunrise, the sun's highest and sunset of a calendar day, by
// appendix A.2 of the report; the real sunrise is off by a minute or more with
// the air and the hills. Zone is hours ahead of UTC.
//
// The report reckons by the day of universal time, so what it prints for an
// evening in America is the sunset of the evening before, up to three minutes
// off. Here each is that of the day in the zone.
func SunOn(day units.Date, zone float64, from Observer) SunDay {
	local := time.FixedZone(fmt.Sprintf("UTC%+g", zone), int(math.Round(zone*3600)))
	for i := range 5 {
		d := sunAround(day.AddDays(i-2), from, func(m float64) float64 { return m }, 3)
		if units.DateOf(d.Transit.In(local)) != day {
			continue
		}
		out := SunDay{Transit: d.Transit.In(local), Up: d.Up}
		if !d.Rise.IsZero() {
			out.Rise, out.Set = d.Rise.In(local), d.Set.In(local)
		}
		return out
	}
	return SunDay{}
}

// sunOfUniversalDay is appendix A.2 as it stands: rise, transit and set within
// a day of universal time, in no particular order.
func sunOfUniversalDay(day units.Date, from Observer) SunDay { return sunAround(day, from, share, 1) }

// sunAround gives the transit of a day of universal time and the crossings
// beside it. Within brings a crossing's share of the day back into it, as the
// report does, or leaves it where it is; it is set right in so many rounds, of
// which the report has one.
func sunAround(day units.Date, from Observer, within func(float64) float64, rounds int) SunDay {
	from = from.usual()
	zero := day.Time()
	sidereal := geocentricAt(julianDay(zero), from.DeltaT).sidereal
	var a, d [3]float64
	for i := range a {
		g := geocentricAt(julianDay(zero)+float64(i-1), 0)
		a[i], d[i] = g.ascension, g.declination
	}
	// between takes the quantity between the days; right ascension starts again
	// once a year.
	between := func(v [3]float64, n float64) float64 {
		before, after := v[1]-v[0], v[2]-v[1]
		if math.Abs(before) > 2 {
			before = share(before)
		}
		if math.Abs(after) > 2 {
			after = share(after)
		}
		return v[1] + n*(before+after+(after-before)*n)/2
	}
	at := func(m float64) time.Time {
		return zero.Add(time.Duration(math.Round(within(m)*86400)) * time.Second)
	}
	horizon := -(sunRadius + from.Refraction)
	sinLat, cosLat := math.Sincos(from.Lat * degree)
	// Beside noon by mean time, so that each day has one and no two the same.
	transit := within(0.5 - from.Lon/360 + half(a[1]-sidereal-180)/360)
	cosH := (math.Sin(horizon*degree) - sinLat*math.Sin(d[1]*degree)) / (cosLat * math.Cos(d[1]*degree))
	hourAngle := func(m float64) float64 {
		return half(sidereal + 360.985647*m + from.Lon - between(a, m+from.DeltaT/86400))
	}
	out := SunDay{Transit: at(transit - hourAngle(transit)/360), Up: cosH < -1}
	if math.Abs(cosH) > 1 {
		return out
	}
	arc := math.Acos(cosH) / degree / 360
	crossing := func(m float64) time.Time {
		m = within(m)
		for range rounds {
			h := hourAngle(m)
			sinD, cosD := math.Sincos(between(d, m+from.DeltaT/86400) * degree)
			height := math.Asin(clip(sinLat*sinD+cosLat*cosD*math.Cos(h*degree), -1, 1)) / degree
			m += (height - horizon) / (360 * cosD * cosLat * math.Sin(h*degree))
		}
		return at(m)
	}
	out.Rise, out.Set = crossing(transit-arc), crossing(transit+arc)
	return out
}

// turn brings degrees to 0 up to 360, half to -180 up to 180, and share a
// fraction of a day to 0 up to 1.
func turn(v float64) float64 { return v - 360*math.Floor(v/360) }

func half(v float64) float64 { return turn(v+180) - 180 }

func share(v float64) float64 { return v - math.Floor(v) }

func clip(v, least, most float64) float64 { return min(max(v, least), most) }
