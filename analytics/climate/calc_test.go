package climate

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"

	"pgregory.net/rapid"
)

// Minneapolis, 21 December 2026, 10:00 (the same figures as in the table of US
// cities): a 6:12 slope that faces south-west.
func decemberInput() SunInput {
	return SunInput{
		Time: "2026-12-21T10:00:00-06:00", Lat: of(44.9778), Lon: of(-93.265), ElevationM: of(252.0), AirC: of(15.0),
		RiseIn12: of(6.0), Facing: of(225.0), Beam: of(600.0), Diffuse: of(60.0),
	}
}

func TestSun(t *testing.T) {
	got, err := Sun(decemberInput())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "zenith", got.Zenith, 74.61413, 1e-5)
	near(t, "elevation", got.Elevation, 90-74.61413, 1e-5)
	near(t, "azimuth", got.Azimuth, 148.97722, 1e-5)
	near(t, "incidence", *got.Incidence, 70.03447, 1e-4)
	near(t, "beam", got.Slope.Beam, 600*math.Cos(70.03447*degree), 1e-2)
	near(t, "global", got.Shine.Global, 60+600*math.Cos(74.61413*degree), 1e-2)
	near(t, "total", *got.Total, got.Slope.Beam+got.Slope.Ground+got.Slope.HayDavies, 1e-9)
	if got.Rise != "2026-12-21T07:48:10-06:00" || got.Transit[:16] != "2026-12-21T12:11" || got.Set[:16] != "2026-12-21T16:34" || len(got.Measure) != 0 {
		t.Errorf("%+v", got)
	}
	want := []string{
		"The sun stands 15° over the horizon in the south-east.",
		"It rises at 07:48, is highest at 12:11 and sets at 16:34.",
		"It meets the slope at 70° from straight on.",
	}
	if !slices.Equal(got.Says[:3], want) || !strings.Contains(got.Says[3], "straight from the sun") {
		t.Errorf("%q", got.Says)
	}

	in := decemberInput()
	in.Units = units.Metric
	if got, err = Sun(in); err != nil || !strings.Contains(got.Says[3], "W/m²") {
		t.Errorf("%q, %v", got.Says, err)
	}
	// One Btu an hour and square foot is 3.1546 W/m² (NIST SP 811).
	near(t, "Btu", 1/btuPerHourFt2, 3.154591, 1e-5)
	in = decemberInput()
	in.RiseIn12, in.Facing, in.Beam, in.Diffuse = nil, nil, nil, nil
	if got, err = Sun(in); err != nil || !slices.Equal(got.Measure, []string{"rise_in_12", "facing_deg", "global_w_m2"}) || got.Incidence != nil || got.Slope != nil || got.Shine != nil {
		t.Errorf("%+v, %v", got, err)
	}
	in = decemberInput()
	in.Facing = of(0.0)
	if got, err = Sun(in); err != nil || *got.Incidence < 90 || got.Slope.Beam != 0 || !strings.Contains(strings.Join(got.Says, " "), "own shade") {
		t.Errorf("%+v, %v", got, err)
	}
	in.Time = "2026-12-21T22:00:00-06:00"
	if got, err = Sun(in); err != nil || got.Says[0] != "The sun is below the horizon." {
		t.Errorf("%+v, %v", got, err)
	}
	in.Lat, in.Lon, in.Time = of(69.65), of(18.96), "2026-06-21T00:30:00+01:00"
	if got, err = Sun(in); err != nil || got.Elevation <= 0 || got.Rise != "" || got.Says[1] != "It stays up all day." {
		t.Errorf("%+v, %v", got, err)
	}
	in.Time = "2026-12-21T12:00:00+01:00"
	if got, err = Sun(in); err != nil || got.Elevation > 0 || got.Says[1] != "It stays down all day." {
		t.Errorf("%+v, %v", got, err)
	}
}

// However the sun is given, its three parts agree.
func TestSunFromAnyTwoParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := decemberInput()
		beam, diffuse := rapid.Float64Range(0, 900).Draw(t, "beam"), rapid.Float64Range(0, 200).Draw(t, "diffuse")
		in.Beam, in.Diffuse = &beam, &diffuse
		both, err := Sun(in)
		if err != nil {
			t.Fatal(err)
		}
		global := both.Shine.Global
		in.Global = &global
		for _, drop := range []**float64{&in.Beam, &in.Diffuse} {
			kept := *drop
			*drop = nil
			got, err := Sun(in)
			*drop = kept
			if err != nil || math.Abs(*got.Total-*both.Total) > 1e-6 {
				t.Fatalf("%+v, not %+v: %v", got.Shine, both.Shine, err)
			}
		}
		in.Beam, in.Diffuse = nil, nil
		alone, err := Sun(in)
		if err != nil {
			t.Fatal(err)
		}
		up := math.Cos(alone.Zenith * degree)
		if s := alone.Shine; math.Abs(s.Diffuse+s.Beam*up-global) > 1e-6 {
			t.Fatalf("%+v does not add up", s)
		}
	})
}

func TestSunRefused(t *testing.T) {
	for want, change := range map[string]func(*SunInput){
		"time: write it with its zone":   func(in *SunInput) { in.Time = "2026-12-21T10:00:00" },
		"time: must lie between":         func(in *SunInput) { in.Time = "1800-12-21T10:00:00Z" },
		"lat: must be given":             func(in *SunInput) { in.Lat = nil },
		"lat: 91 is too large":           func(in *SunInput) { in.Lat = of(91.0) },
		"lon: must be given":             func(in *SunInput) { in.Lon = nil },
		"lon: must be a number":          func(in *SunInput) { in.Lon = of(math.NaN()) },
		"elevation_m: give either":       func(in *SunInput) { in.ElevationFt = of(800.0) },
		"pressure_pa: 10 is too small":   func(in *SunInput) { in.PressurePa = of(10.0) },
		"air_f: give either":             func(in *SunInput) { in.AirF = of(50.0) },
		"air_f: 500 must lie between":    func(in *SunInput) { in.AirC, in.AirF = nil, of(500.0) },
		"air_c: -100 is too small":       func(in *SunInput) { in.AirC = of(-100.0) },
		"rise_in_12: 90 is too large":    func(in *SunInput) { in.RiseIn12 = of(90.0) },
		"tilt_deg: give either":          func(in *SunInput) { in.TiltDeg = of(20.0) },
		"facing_deg: 400 is too large":   func(in *SunInput) { in.Facing = of(400.0) },
		"beam_w_m2: -5 is too small":     func(in *SunInput) { in.Beam = of(-5.0) },
		"global_w_m2: 1700 is too large": func(in *SunInput) { in.Global = of(1700.0) },
		"albedo: 2 is too large":         func(in *SunInput) { in.Albedo = of(2.0) },
		"units: must be us or metric":    func(in *SunInput) { in.Units = "cubits" },
		"diffuse_w_m2: must be a number": func(in *SunInput) { in.Diffuse = of(math.Inf(1)) },
	} {
		in := decemberInput()
		change(&in)
		if _, err := Sun(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%v, not %s", err, want)
		}
	}
}

func TestTypical(t *testing.T) {
	got, err := Typical(TypicalInput{Station: "ottawa", Units: units.Metric})
	if err != nil {
		t.Fatal(err)
	}
	y, err := StationYear("ottawa")
	if err != nil {
		t.Fatal(err)
	}
	if got.JanuaryMean != y.JanuaryMean() || got.DegreeDays != y.DegreeDays(18) || got.ColdDesign != y.Design(0.01) || got.Base != 18 || len(got.Months) != 12 {
		t.Errorf("%+v", got)
	}
	sum := 0.0
	given := stations[6].normals
	for i, m := range got.Months {
		sum += m.Days
		near(t, "highest", m.Max.Celsius(), given.MaxC[i], 1e-6)
		near(t, "lowest", m.Min.Celsius(), given.MinC[i], 1e-6)
		near(t, "sun", m.Sun, given.SunKWh[i], 1e-6)
		near(t, "wind", m.Wind, given.WindMS[i], 1e-6)
		near(t, "humidity", m.Humidity, given.Humidity[i], 1e-6)
		if m.Month != i+1 || m.Lowest >= m.Min || m.Highest <= m.Max || m.Diffuse >= m.Sun || m.DewPoint >= m.Mean {
			t.Errorf("%+v", m)
		}
	}
	near(t, "the months' degree-days", sum, got.DegreeDays, 1e-6)
	if got.Months[0].Thaw >= 200 || got.Months[6].Thaw != 744 {
		t.Errorf("%d and %d hours over freezing", got.Months[0].Thaw, got.Months[6].Thaw)
	}
	if s := strings.Join(got.Says, " "); !strings.Contains(s, "Ottawa") || !strings.Contains(s, "-11 °C") || !strings.Contains(s, "deepest in February") || !strings.Contains(s, "cm") {
		t.Errorf("%s", s)
	}
	us, err := Typical(TypicalInput{Station: "ottawa", BaseF: of(65.0)})
	if err != nil {
		t.Fatal(err)
	}
	if s := strings.Join(us.Says, " "); !strings.Contains(s, "13 °F") || !strings.Contains(s, "under 65 °F") || !strings.Contains(s, " in on the ground") {
		t.Errorf("%s", s)
	}
	if us.DegreeDays <= got.DegreeDays {
		t.Error("a higher base has fewer degree-days")
	}

	n := stations[0].given()
	n.SnowfallIn = nil
	mine, err := Typical(TypicalInput{Normals: &n})
	if err != nil || len(mine.Notes) != 1 || strings.Contains(strings.Join(mine.Says, " "), "deepest") {
		t.Errorf("%+v, %v", mine.Notes, err)
	}
	if _, err := json.Marshal(mine); err != nil {
		t.Error(err)
	}
	for want, in := range map[string]TypicalInput{
		"station: give a station or normals":      {},
		"normals: give either station or normals": {Station: "ottawa", Normals: &n},
		"station \"x\": must be one of":           {Station: "x"},
		"normals: lat: must be given":             {Normals: &Normals{}},
		"base_c: must be a number":                {Station: "ottawa", BaseC: of(math.NaN())},
		"units: must be us or metric":             {Station: "ottawa", Units: "x"},
	} {
		if _, err := Typical(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%v, not %s", err, want)
		}
	}
}

func TestYearFigures(t *testing.T) {
	y := &Year{Hours: make([]Hour, HoursAYear)}
	for i := range y.Hours {
		y.Hours[i].Air = 20
		if MonthOf(i) == time.January {
			y.Hours[i].Air = -10
		}
	}
	near(t, "January", y.JanuaryMean().Celsius(), -10, 1e-9)
	near(t, "degree-days", y.DegreeDays(18), 31*28, 1e-9)
	near(t, "coldest", y.Design(0).Celsius(), -10, 0)
	near(t, "warmest", y.Design(1).Celsius(), 20, 0)
	for _, bad := range []float64{-0.1, 1.1, math.NaN()} {
		if !math.IsNaN(y.Design(bad).Celsius()) {
			t.Errorf("a design at %v", bad)
		}
	}
	for hour, want := range map[int]time.Month{0: 1, 743: 1, 744: 2, 59*24 - 1: 2, 59 * 24: 3, HoursAYear - 1: 12} {
		if got := MonthOf(hour); got != want {
			t.Errorf("hour %d is in %s", hour, got)
		}
	}
	if empty := (&Year{}); !math.IsNaN(empty.JanuaryMean().Celsius()) || !math.IsNaN(empty.Design(0.5).Celsius()) || empty.DegreeDays(18) != 0 || len(empty.Months(18)) != 0 {
		t.Error("a year without hours has figures")
	}
}

// A year made by hand, or moved, has the sun of its own place all the same.
func TestOnSlopeWithoutATable(t *testing.T) {
	made := minneapolis(t)
	byHand := &Year{Place: made.Place, Hours: made.Hours}
	moved := *made
	moved.Place.Lon -= 15 // an hour later by the sun
	late := 0.0
	for h := range made.Hours {
		a, b := made.OnSlope(h, 30, 200, 0.3), byHand.OnSlope(h, 30, 200, 0.3)
		if a != b {
			t.Fatalf("hour %d: %v and %v", h, a, b)
		}
		late += math.Abs(a - moved.OnSlope(h, 30, 200, 0.3))
	}
	if late < 1000 {
		t.Error("the moved year has the old place's sun")
	}
}

// A slope to the south has more sun over the winter than one to the north, and
// east and west share the day.
func TestSlopesDiffer(t *testing.T) {
	y := minneapolis(t)
	sum := func(facing float64) (winter float64) {
		for h := range y.Hours {
			if m := MonthOf(h); m == time.December || m <= time.February {
				winter += y.OnSlope(h, 26.565, facing, 0.6) / 1000
			}
		}
		return winter
	}
	north, east, south, west := sum(0), sum(90), sum(180), sum(270)
	if !(south > 1.3*east && east > 1.2*north && math.Abs(east-west) < 0.12*east) {
		t.Errorf("north %.0f, east %.0f, south %.0f, west %.0f kWh/m²", north, east, south, west)
	}
	// NREL's Solar Radiation Data Manual gives 3.2 kWh/m² a day in January on a
	// plane tilted by the latitude less 15° to the south at Minneapolis, and 3.5
	// by the latitude (from memory, with ground of 0.2).
	january := 0.0
	for h := range 744 {
		january += y.OnSlope(h, 30, 180, 0.2) / 1000 / 31
	}
	near(t, "January at 30° south", january, 3.2, 0.35)
}
