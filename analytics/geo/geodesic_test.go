package geo

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

// dms reads degrees, minutes and seconds; the sign is that of the degrees.
func dms(d, m, s float64) float64 {
	return math.Copysign(math.Abs(d)+m/60+s/3600, d)
}

// apart gives the difference of two directions in degrees.
func apart(a, b float64) float64 { return math.Abs(math.Remainder(a-b, 360)) }

func TestVincentyTableII(t *testing.T) {
	// T. Vincenty, Survey Review 23(176), 1975, Table II; from memory, and each
	// line checked with GeographicLib 2.0. The table prints lengths to 1 mm and
	// angles to 0.00001 second, which is 0.3 mm.
	bessel := newEllipsoid(6377397.155, 1/299.1528128)
	international := newEllipsoid(6378388, 1./297)
	for _, c := range []struct {
		name             string
		e                *ellipsoid
		lat1, lat2, east float64
		metres           float64
		azi1, azi2       float64
	}{
		{"a", bessel, 55.75, -dms(33, 26, 0), dms(108, 13, 0), 14110526.170, dms(96, 36, 8.79960), dms(137, 52, 22.01454)},
		{"b", international, dms(37, 19, 54.95367), dms(26, 7, 42.83946), dms(41, 28, 35.50729), 4085966.703, dms(95, 27, 59.63089), dms(118, 5, 58.96161)},
		{"c", international, dms(35, 16, 11.24862), dms(67, 22, 14.77638), dms(137, 47, 28.31435), 8084823.839, dms(15, 44, 23.74850), dms(144, 55, 39.92147)},
		{"d", international, 1, -dms(0, 59, 53.83076), dms(179, 17, 48.02997), 19959999.998, 89, dms(91, 0, 6.11733)},
		{"e", international, 1, dms(1, 1, 15.18952), dms(179, 46, 17.84244), 19780006.558, dms(4, 59, 59.99995), dms(174, 59, 59.88481)},
	} {
		s, azi1, azi2 := c.e.inverse(Point{c.lat1, 0}, Point{c.lat2, c.east})
		length, angle := 1e-3, 1e-4/3600
		if c.name == "d" {
			// So nearly opposite that half of the last printed digit of the
			// longitude (0.000005 second) turns the line by 0.001 second.
			length, angle = 2e-3, 2e-3/3600
		}
		if math.Abs(s-c.metres) > length {
			t.Errorf("line %s: length %.4f m, want %.3f", c.name, s, c.metres)
		}
		if apart(azi1, c.azi1) > angle || apart(azi2, c.azi2) > angle {
			t.Errorf("line %s: directions %.9f %.9f, want %.9f %.9f", c.name, azi1, azi2, c.azi1, c.azi2)
		}
	}
}

func TestGeographicLibLines(t *testing.T) {
	// The test lines that GeographicLib's Python package ships (version 2.0, MIT
	// licence, copyright C. F. F. Karney): lat1, lon1, azi1, lat2, lon2, azi2,
	// s12.
	for _, l := range [][7]float64{
		{35.60777, -139.44815, 111.09874842956033, -11.17491, -69.95921, 129.28927088970877, 8935244.56048183},
		{55.52454, 106.05087, 22.0200598809828, 77.03196, 197.18234, 109.11204111067151, 4105086.171392441},
		{-21.97856, 142.59065, -32.44456876433189, 41.84138, 98.56635, -41.84359951440466, 8394328.894657671},
		{-66.99028, 112.2363, 173.73491240878403, -12.70631, 285.90344, 2.512956620913668, 11150344.231208025},
		{-17.42761, 173.34268, -159.03355766119293, -15.84784, 5.93557, -20.78748465153699, 16076603.163118068},
		{32.84994, 48.28919, 150.492927788122, -56.28556, 202.29132, 48.11344939981676, 16727068.943816446},
		{6.96833, 52.74123, 92.58158538631771, -7.39675, 206.17291, 90.72169216592391, 17102477.249695837},
		{-50.56724, -16.30485, -105.43967990759016, -33.56571, -94.97412, -47.34854783565033, 6455670.511866869},
		{-58.93002, -8.90775, 140.96539790250068, -8.91104, 133.13503, 19.255429433416598, 11756066.021986462},
		{-68.82867, -74.28391, 93.77434776311487, -50.63005, -8.36685, 34.65564085411343, 3956936.926063544},
		{-10.62672, -32.0898, -86.42671328674776, 5.883, -134.31681, -80.47378097103487, 11470869.386456301},
		{-21.76221, 166.90563, 29.31942120693643, 48.72884, 213.97627, 43.50867194641017, 9098627.398655491},
		{-19.79938, -174.47484, 71.16727578017154, -11.99349, -154.35109, 65.58909977519923, 2319004.860116939},
		{-11.95887, -116.94513, 92.71261983045255, 4.57352, 7.16501, 78.64960934409585, 13834722.580140138},
		{-87.85331, 85.66836, -65.12031304024275, 66.48646, 16.09921, -4.888658719272296, 17286615.314714465},
		{1.74708, 128.32011, -101.58484363117385, -11.16617, 11.87109, -86.32579329643748, 12942901.124134742},
		{-25.72959, -144.90758, -153.6474686931172, -57.70581, -269.17879, -48.34398315887649, 9413446.745245311},
		{-41.22777, 122.32875, 14.285113402275739, -7.57291, 130.37946, 10.805303085187369, 3812686.035106021},
		{11.01307, 138.25278, 79.43682622782374, 6.62726, 247.05981, 103.70809021552266, 11911190.819018409},
		{-29.47124, 95.14681, -163.77913044168838, -27.46601, -69.15955, -15.90933594555497, 13487015.838114548},
	} {
		s, azi1, azi2 := Inverse(Point{l[0], l[1]}, Point{l[3], l[4]})
		if math.Abs(float64(s)-l[6]) > 1e-6 || apart(azi1, l[2]) > 1e-10 || apart(azi2, l[5]) > 1e-10 {
			t.Errorf("%v: got %.9f m, %.12f, %.12f", l, float64(s), azi1, azi2)
		}
	}
}

func TestOwnLines(t *testing.T) {
	// Computed with GeographicLib 2.0, Geodesic.WGS84.Inverse; the first three
	// lengths are also printed: Land's End to John o'Groats 969,954.166, Flinders
	// Peak to Buninyong 54,972.271 (Geoscience Australia) and Wellington to
	// Salamanca 19,959,679.267 (GeographicLib's manual; from memory).
	anyDirection := math.NaN()
	for _, c := range []struct {
		name       string
		a, b       Point
		metres     float64
		azi1, azi2 float64
	}{
		{"Land's End to John o'Groats", Point{50.06632, -5.71475}, Point{58.64402, -3.07009}, 969954.166314, 9.141877489, 11.297220414},
		{"Flinders Peak to Buninyong", Point{-37.95103341666667, 144.42486788888888}, Point{-37.65282113888889, 143.92649552777777}, 54972.271139, -53.131840797, -52.826369371},
		{"Wellington to Salamanca", Point{-41.32, 174.81}, Point{40.96, -5.5}, 19959679.267354, 161.067669986, 18.825195123},
		{"nearly opposite", Point{0, 0}, Point{0.5, 179.5}, 19936288.578965, 25.671872868, 154.327085470},
		{"nearly opposite, iteration does not settle", Point{0, 0}, Point{0.5, 179.7}, 19944127.420750, 15.556882793, 164.442513891},
		{"a degree of the equator", Point{0, 0}, Point{0, 1}, 111319.490793, 90, 90},
		{"a degree of the meridian", Point{0, 0}, Point{1, 0}, 110574.388558, 0, 0},
		{"pole to pole", Point{90, 0}, Point{-90, 0}, 20003931.458625, 180, 180},
		{"opposite on the equator", Point{0, 0}, Point{0, 180}, 20003931.458625, 0, 180},
		{"exactly opposite", Point{30, 10}, Point{-30, -170}, 20003931.458625, anyDirection, anyDirection},
		{"one point", Point{35, -97}, Point{35, -97}, 0, 0, 0},
		{"one pole twice", Point{90, 5}, Point{90, -120}, 0, anyDirection, anyDirection},
		{"a hundred metres", Point{35.4676, -97.5164}, Point{35.4685, -97.5164}, 99.854254, 0, 0},
		{"Oklahoma City to Dallas", Point{35.4676, -97.5164}, Point{32.7767, -96.797}, 305773.042721, 167.261551708, 167.665220948},
		{"Denver to Minneapolis", Point{39.7392, -104.9903}, Point{44.9778, -93.265}, 1126042.325758, 55.070710207, 62.994236555},
		{"across the date line", Point{-17.7, 179.9}, Point{-17.7, -179.9}, 21216.522636, 90.030403334, 89.969596666},
		{"one place written two ways", Point{20, 180}, Point{20, -180}, 0, anyDirection, anyDirection},
	} {
		s, azi1, azi2 := Inverse(c.a, c.b)
		if math.Abs(float64(s)-c.metres) > 1.5e-6 {
			t.Errorf("%s: %.7f m, want %.6f", c.name, float64(s), c.metres)
		}
		if apart(azi1, c.azi1) > 2e-9 || apart(azi2, c.azi2) > 2e-9 {
			t.Errorf("%s: directions %.9f %.9f, want %.9f %.9f", c.name, azi1, azi2, c.azi1, c.azi2)
		}
	}
}

func TestHouseNeighbours(t *testing.T) {
	// Building centres in Newark, Delaware: © OpenStreetMap contributors, Open
	// Database Licence 1.0; distances by GeographicLib 2.0.
	first := Point{39.6527877, -75.7672621}
	for _, c := range []struct {
		at     Point
		metres float64
	}{
		{Point{39.6528288, -75.7669891}, 23.8704},
		{Point{39.6528675, -75.7667057}, 48.5679},
	} {
		if got := float64(Distance(first, c.at)); math.Abs(got-c.metres) > 1e-4 {
			t.Errorf("got %.4f m, want %.4f", got, c.metres)
		}
		if got := float64(NearDistance(first, c.at)); math.Abs(got-c.metres) > 1e-4 {
			t.Errorf("near: got %.4f m, want %.4f", got, c.metres)
		}
	}
}

// quadrature solves the same line with no series at all: the first azimuth by
// halving and the integrals by Simpson's rule, so that a wrong coefficient
// cannot hide. Only for pairs south and east in search's order.
func quadrature(e *ellipsoid, sinA0, cosA0, from, to float64) (metres, lag float64) {
	k2 := e.second * cosA0 * cosA0
	const steps = 4000
	h := (to - from) / steps
	for i := 0; i <= steps; i++ {
		weight := h / 3
		switch {
		case i == 0 || i == steps:
		case i%2 == 1:
			weight *= 4
		default:
			weight *= 2
		}
		s := math.Sin(from + float64(i)*h)
		root := math.Sqrt(1 + k2*s*s)
		metres += weight * e.b * root                                // Karney 2013, equation 7
		lag += weight * e.f * sinA0 * (2 - e.f) / (1 + (1-e.f)*root) // equation 8
	}
	return metres, lag
}

func TestSeriesAgainstQuadrature(t *testing.T) {
	// The integrals as printed in C. F. F. Karney, Algorithms for geodesics, J.
	// Geodesy 87, 2013, equations 7 and 8.
	rapid.Check(t, func(t *rapid.T) {
		azi0 := rapid.Float64Range(0, math.Pi/2).Draw(t, "azi0")
		from := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "from")
		length := rapid.Float64Range(1e-6, math.Pi).Draw(t, "length")
		sinA0, cosA0 := math.Sincos(azi0)
		a := arcFrom(math.Sin(from), math.Cos(from), math.Sin(length), math.Cos(length))
		metres, lag := quadrature(wgs84, sinA0, cosA0, from, from+length)
		if got := wgs84.distance(cosA0, a); math.Abs(got-metres) > 5e-6 { // what adding 4,001 terms leaves
			t.Fatalf("length %.9f, by quadrature %.9f", got, metres)
		}
		if got := wgs84.lag(sinA0, cosA0, a); math.Abs(got-lag) > 1e-13 {
			t.Fatalf("lag %.16f, by quadrature %.16f", got, lag)
		}
	})
}

func anyPoint(t *rapid.T, name string) Point {
	return Point{
		Lat: rapid.Float64Range(-90, 90).Draw(t, name+" lat"),
		Lon: rapid.Float64Range(-180, 180).Draw(t, name+" lon"),
	}
}

func TestInverseProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := anyPoint(t, "a"), anyPoint(t, "b"), anyPoint(t, "c")
		if rapid.Bool().Draw(t, "nearly opposite") {
			b = Point{-a.Lat + rapid.Float64Range(-1, 1).Draw(t, "off lat"), math.Remainder(a.Lon+180+rapid.Float64Range(-1, 1).Draw(t, "off lon"), 360)}
			b.Lat = min(max(b.Lat, -90), 90)
		}
		ab, there, _ := Inverse(a, b)
		ba, _, back := Inverse(b, a)
		if math.Abs(float64(ab-ba)) > 1e-5 {
			t.Fatalf("there %.9f, back %.9f", float64(ab), float64(ba))
		}
		if math.IsNaN(there) || math.IsNaN(back) || ab < 0 || ab > 20003931.4587 {
			t.Fatalf("length %v, directions %v %v", ab, there, back)
		}
		if ac, cb := Distance(a, c), Distance(c, b); ab > ac+cb+1e-5 {
			t.Fatalf("a detour is shorter: %v against %v", ac+cb, ab)
		}
	})
}

func TestSearchAgreesWithIteration(t *testing.T) {
	// Both ways must give the same line wherever the iteration settles.
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyPoint(t, "a"), anyPoint(t, "b")
		east := math.Abs(lonBetween(a.Lon, b.Lon))
		if east < 90 || east == 180 || math.Abs(a.Lat)+math.Abs(b.Lat) < 1e-6 {
			t.Skip("on one meridian, or where the search is neither used nor well conditioned")
		}
		s1, c1 := wgs84.reduced(a.Lat)
		s2, c2 := wgs84.reduced(b.Lat)
		l, ok := wgs84.iterate(s1, c1, s2, c2, east)
		if !ok {
			t.Skip("does not settle")
		}
		if by := wgs84.search(s1, c1, s2, c2, east*math.Pi/180); math.Abs(by.metres-l.metres) > 5e-5 {
			t.Fatalf("iteration %.9f, search %.9f", l.metres, by.metres)
		}
	})
}

func TestNearDistanceError(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Point{rapid.Float64Range(-69.8, 69.8).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")}
		within, allowed := 10_000.0, 0.02
		if rapid.Bool().Draw(t, "short") {
			within, allowed = 1000, 0.00002
		}
		north, east := wgs84.local(a.Lat)
		sin, cos := math.Sincos(rapid.Float64Range(0, 2*math.Pi).Draw(t, "towards"))
		r := rapid.Float64Range(0, within).Draw(t, "metres")
		b := Point{a.Lat + r*cos/north, math.Remainder(a.Lon+r*sin/east, 360)}
		if off := math.Abs(float64(NearDistance(a, b) - Distance(a, b))); off > allowed {
			t.Fatalf("%v to %v, %.0f m: off by %v m", a, b, r, off)
		}
	})
}

func TestPointValidate(t *testing.T) {
	for _, p := range []Point{{91, 0}, {-90.1, 0}, {0, 181}, {0, -180.5}, {math.NaN(), 0}, {0, math.NaN()}, {0, math.Inf(1)}} {
		if p.Validate() == nil {
			t.Errorf("%v was taken", p)
		}
	}
	for _, p := range []Point{{}, {90, 180}, {-90, -180}, {39.65, -75.77}} {
		if err := p.Validate(); err != nil {
			t.Errorf("%v: %v", p, err)
		}
	}
}

var sink units.Length

func BenchmarkDistanceNextDoor(b *testing.B) {
	p, q := Point{39.6527877, -75.7672621}, Point{39.6528288, -75.7669891}
	for b.Loop() {
		sink = Distance(p, q)
	}
}

func BenchmarkDistanceAcrossContinent(b *testing.B) {
	p, q := Point{39.7392, -104.9903}, Point{44.9778, -93.265}
	for b.Loop() {
		sink = Distance(p, q)
	}
}

func BenchmarkDistanceNearlyOpposite(b *testing.B) {
	p, q := Point{0, 0}, Point{0.5, 179.7}
	for b.Loop() {
		sink = Distance(p, q)
	}
}

func BenchmarkNearDistance(b *testing.B) {
	p, q := Point{39.6527877, -75.7672621}, Point{39.6528288, -75.7669891}
	for b.Loop() {
		sink = NearDistance(p, q)
	}
}
