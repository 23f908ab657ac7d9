package geo

import (
	"math"

	"overhang/analytics/units"
)

// order is the order of the series in the flattening that the integrals below
// are cut at; what is left out is of the size f⁷, nanometres on the earth.
const order = 6

// settled is the change of longitude, in radians, at which the iteration stops:
// 13 nm at the equator.
const settled = 2e-15

// ellipsoid is an oblate ellipsoid of revolution with what its series need.
type ellipsoid struct {
	a, b, f float64 // metres, metres, flattening
	second  float64 // square of the second eccentricity
	a3      [order]float64
	c3      [order][order]float64 // c3[l] is C3l as a polynomial in ε
}

// wgs84 is the ellipsoid of satellite positions and web maps.
var wgs84 = newEllipsoid(6378137, 1/298.257223563)

func newEllipsoid(a, f float64) *ellipsoid {
	n := f / (2 - f)
	e2 := f * (2 - f)
	return &ellipsoid{
		a: a, b: a * (1 - f), f: f, second: e2 / (1 - e2),
		a3: [order]float64{ // Karney 2013, equation 24
			1,
			-(1./2 - n/2),
			-(1./4 + n/8 - 3*n*n/8),
			-(1./16 + 3*n/16 + n*n/16),
			-(3./64 + n/32),
			-3. / 128,
		},
		c3: [order][order]float64{ // Karney 2013, equation 25
			1: {1: 1./4 - n/4, 2: 1./8 - n*n/8, 3: 3./64 + 3*n/64 - n*n/64, 4: 5./128 + n/64, 5: 3. / 128},
			2: {2: 1./16 - 3*n/32 + n*n/32, 3: 3./64 - n/32 - 3*n*n/64, 4: 3./128 + n/128, 5: 5. / 256},
			3: {3: 5./192 - 3*n/64 + 5*n*n/192, 4: 3./128 - 5*n/192, 5: 7. / 512},
			4: {4: 7./512 - 7*n/256, 5: 7. / 512},
			5: {5: 21. / 2560},
		},
	}
}

// expansion gives ε for a geodesic whose azimuth at the equator has this
// cosine.
func (e *ellipsoid) expansion(cosAzi0 float64) float64 {
	k2 := e.second * cosAzi0 * cosAzi0
	return k2 / (2*(1+math.Sqrt(1+k2)) + k2)
}

// arc is a stretch of the auxiliary sphere from sigma1 to sigma2, the angles
// measured from the northward crossing of the equator.
type arc struct {
	sin1, cos1, sin2, cos2 float64
	length                 float64 // sigma2 − sigma1, 0 to π
}

// sineSum gives Σ c[l] (sin 2lσ2 − sin 2lσ1) by Clenshaw's recurrence.
func (a arc) sineSum(c *[order + 1]float64) float64 {
	sum := func(sin, cos float64) float64 {
		double := 2 * (cos - sin) * (cos + sin)
		var b1, b2 float64
		for l := order; l >= 1; l-- {
			b1, b2 = c[l]+double*b1-b2, b1
		}
		return 2 * sin * cos * b1
	}
	return sum(a.sin2, a.cos2) - sum(a.sin1, a.cos1)
}

// distance gives the length in metres of a geodesic over the arc: b·(I1(σ2) −
// I1(σ1)), Karney 2013 equations 15, 17 and 18.
func (e *ellipsoid) distance(cosAzi0 float64, a arc) float64 {
	x := e.expansion(cosAzi0)
	x2 := x * x
	c := [order + 1]float64{
		1: x * (-1./2 + x2*(3./16-x2/32)),
		2: x2 * (-1./16 + x2*(1./32-9*x2/2048)),
		3: x * x2 * (-1./48 + 3*x2/256),
		4: x2 * x2 * (-5./512 + 3*x2/512),
		5: x * x2 * x2 * (-7. / 1280),
		6: x2 * x2 * x2 * (-7. / 2048),
	}
	a1 := (1 + x2*(1./4+x2*(1./64+x2/256))) / (1 - x)
	return e.b * a1 * (a.length + a.sineSum(&c))
}

// lag gives how far the longitude on the sphere runs ahead of the longitude on
// the ellipsoid over the arc, in radians: f·sin α0·(I3(σ2) − I3(σ1)), Karney
// 2013 equations 8, 23 to 25.
func (e *ellipsoid) lag(sinAzi0, cosAzi0 float64, a arc) float64 {
	x := e.expansion(cosAzi0)
	var c [order + 1]float64
	a3 := 0.0
	for j := order - 1; j >= 0; j-- {
		a3 = a3*x + e.a3[j]
	}
	for l := 1; l < order; l++ {
		for j := order - 1; j >= l; j-- {
			c[l] = c[l]*x + e.c3[l][j]
		}
		for range l {
			c[l] *= x
		}
	}
	return e.f * sinAzi0 * a3 * (a.length + a.sineSum(&c))
}

// Distance gives the length of the shortest line between two points on the
// WGS84 ellipsoid, for any pair of points: antipodal ones, across the date line,
// over a pole. It is right to a micrometre for lines of a house's or a town's
// size and to 10 µm around the globe.
func Distance(a, b Point) units.Length {
	d, _, _ := wgs84.inverse(a, b)
	return units.Length(d)
}

// Inverse gives the shortest line between two points on the WGS84 ellipsoid:
// its length, and its direction in degrees clockwise from north (over −180 to
// 180) at the first and at the second point, both forward along the line.
// Coincident points have length 0 and directions 0. Where several lines are
// equally short, such as between opposite points of the equator, one of them is
// given.
func Inverse(a, b Point) (distance units.Length, azi1, azi2 float64) {
	d, azi1, azi2 := wgs84.inverse(a, b)
	return units.Length(d), azi1, azi2
}

func (e *ellipsoid) inverse(p, q Point) (metres, azi1, azi2 float64) {
	if p == q {
		return 0, 0, 0
	}
	east := lonBetween(p.Lon, q.Lon)
	sin1, cos1 := e.reduced(p.Lat)
	sin2, cos2 := e.reduced(q.Lat)
	l, ok := e.iterate(sin1, cos1, sin2, cos2, math.Abs(east))
	if !ok {
		l = e.search(sin1, cos1, sin2, cos2, math.Abs(east)*(math.Pi/180))
	}
	if east < 0 {
		l.sinAzi1, l.sinAzi2 = -l.sinAzi1, -l.sinAzi2
	}
	degrees := func(sin, cos float64) float64 { return math.Atan2(sin, cos)*(180/math.Pi) + 0 }
	return l.metres, degrees(l.sinAzi1, l.cosAzi1), degrees(l.sinAzi2, l.cosAzi2)
}

// reduced gives sine and cosine of the reduced latitude, tan β = (1−f) tan φ.
func (e *ellipsoid) reduced(lat float64) (sin, cos float64) {
	sin, cos = sincosDegrees(lat)
	sin *= 1 - e.f
	h := math.Hypot(sin, cos)
	// A pole keeps a cosine just above nothing, so that directions there are
	// the limit of those beside it.
	return sin / h, max(cos/h, 1e-150)
}

// line is a solved geodesic that runs east.
type line struct{ metres, sinAzi1, cosAzi1, sinAzi2, cosAzi2 float64 }

// iterate is Vincenty's iteration on the longitude of the auxiliary sphere. The
// longitude runs 0 to 180 degrees east. It reports false where the iteration
// does not settle, which happens only close to the opposite side of the earth.
func (e *ellipsoid) iterate(sinU1, cosU1, sinU2, cosU2, east float64) (line, bool) {
	meridian := east == 0 || east == 180
	target := east * (math.Pi / 180)
	lambda := target
	sinL, cosL := sincosDegrees(east)
	for range 20 {
		x, y := cosU2*sinL, cosU1*sinU2-sinU1*cosU2*cosL
		sinS, cosS := math.Hypot(x, y), sinU1*sinU2+cosU1*cosU2*cosL
		if sinS == 0 && cosS > 0 {
			return line{cosAzi1: 1, cosAzi2: 1}, true // closer than the digits tell
		}
		sinA1, cosA1 := 0.0, 1.0
		if sinS > 0 {
			sinA1, cosA1 = x/sinS, y/sinS
		}
		sinA0 := sinA1 * cosU1
		cosA0 := math.Hypot(cosA1, sinA1*sinU1)
		a := arcFrom(sinU1, cosA1*cosU1, sinS, cosS)
		next := target
		if !meridian {
			next += e.lag(sinA0, cosA0, a)
		}
		if next > math.Pi {
			return line{}, false
		}
		if math.Abs(next-lambda) <= settled {
			sinA2, cosA2 := cosU1*sinL, cosU1*sinU2*cosL-sinU1*cosU2
			if sinS == 0 { // exactly opposite, over the north pole
				sinA2, cosA2 = 0, -1
			}
			return line{e.distance(cosA0, a), sinA1, cosA1, sinA2, cosA2}, true
		}
		lambda = next
		sinL, cosL = math.Sincos(lambda)
	}
	return line{}, false
}

// arcFrom gives the arc that starts where sin σ1 : cos σ1 is as given (not
// normalised) and runs on by the angle with that sine and cosine.
func arcFrom(s1, c1, sin, cos float64) arc {
	h := math.Hypot(s1, c1)
	a := arc{sin1: s1 / h, cos1: c1 / h, length: math.Atan2(sin, cos)}
	if h == 0 {
		a.sin1, a.cos1 = 0, 1
	}
	a.sin2, a.cos2 = a.sin1*cos+a.cos1*sin, a.cos1*cos-a.sin1*sin
	return a
}

// search finds the first azimuth whose geodesic gains the wanted longitude (0 to
// π) by halving. In the order that it first brings the points to, the first one
// south and the farther from the equator, the longitude gained rises from 0 to π
// as the azimuth goes from north to south, so there is one root (Karney 2013,
// section 4) and halving cannot miss it.
func (e *ellipsoid) search(sin1, cos1, sin2, cos2, target float64) line {
	swapped := math.Abs(sin1) < math.Abs(sin2)
	if swapped {
		sin1, cos1, sin2, cos2 = sin2, cos2, sin1, cos1
	}
	mirrored := sin1 > 0
	if mirrored {
		sin1, sin2 = -sin1, -sin2
	}
	if sin1 == 0 { // both on the equator: lean south, so that the arc has a side
		sin1 = -1e-150
	}
	// The azimuth is sought as its lean south of east, which keeps its digits for
	// lines that nearly follow the equator; those need the many rounds.
	low, high := -math.Pi/2, math.Pi/2
	var l line
	for range 200 {
		lean := low + (high-low)/2
		cosA1, sinA1 := math.Sincos(-lean)
		sinA0 := sinA1 * cos1
		cosA0 := math.Hypot(cosA1, sinA1*sin1)
		sinA2, cosA2 := sinA1, math.Abs(cosA1)
		if cos2 != cos1 || math.Abs(sin2) != -sin1 {
			sinA2 = sinA0 / cos2
			gap := (sin1 - sin2) * (sin1 + sin2)
			if cos1 < -sin1 {
				gap = (cos2 - cos1) * (cos1 + cos2)
			}
			cosA2 = math.Sqrt(max(0, cosA1*cosA1*cos1*cos1+gap)) / cos2
		}
		s1, c1 := unit(sin1, cosA1*cos1)
		s2, c2 := unit(sin2, cosA2*cos2)
		a := arc{s1, c1, s2, c2, math.Atan2(max(0, c1*s2-s1*c2), c1*c2+s1*s2)}
		w1s, w1c := unit(sinA0*s1, c1)
		w2s, w2c := unit(sinA0*s2, c2)
		omega := math.Atan2(max(0, w1c*w2s-w1s*w2c), w1c*w2c+w1s*w2s)
		l = line{e.distance(cosA0, a), sinA1, cosA1, sinA2, cosA2}
		short := target - (omega - e.lag(sinA0, cosA0, a))
		if math.Abs(short) <= settled/8 || lean == low || lean == high {
			break
		}
		if short > 0 {
			low = lean
		} else {
			high = lean
		}
	}
	if swapped {
		l.sinAzi1, l.cosAzi1, l.sinAzi2, l.cosAzi2 = l.sinAzi2, l.cosAzi2, l.sinAzi1, l.cosAzi1
	}
	if swapped != mirrored {
		l.cosAzi1, l.cosAzi2 = -l.cosAzi1, -l.cosAzi2
	}
	return l
}

func unit(s, c float64) (float64, float64) {
	h := math.Hypot(s, c)
	return s / h, c / h
}

// NearDistance gives the distance between two points of one town: a plane with
// the ellipsoid's two radii of curvature at the middle latitude (Gauss's
// mid-latitude formula without its third-order terms). Up to 10 km apart and
// between 70° south and north it is within 2 cm of Distance, and up to 1 km apart
// within 0.02 mm; the error grows with the cube of the distance and the square
// of the tangent of the latitude. It takes about a twentieth of the time. Do not use
// it near a pole.
func NearDistance(a, b Point) units.Length {
	north, east := wgs84.local((a.Lat + b.Lat) / 2)
	return units.Length(math.Hypot((b.Lat-a.Lat)*north, lonBetween(a.Lon, b.Lon)*east))
}

// local gives the metres of a degree north and of a degree east at a latitude.
func (e *ellipsoid) local(lat float64) (north, east float64) {
	sin, cos := math.Sincos(lat * (math.Pi / 180))
	e2 := e.f * (2 - e.f)
	w := 1 - e2*sin*sin
	n := e.a / math.Sqrt(w)
	return n * (1 - e2) / w * (math.Pi / 180), n * cos * (math.Pi / 180)
}
