package units

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestMeasures(t *testing.T) {
	// NIST Special Publication 811, appendix B.8: exact conversion factors.
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"foot in metres", (1 * Foot).In(Metre), 0.3048},
		{"square foot in square metres", (1 * SquareFoot).In(SquareMetre), 9.290304e-2},
		{"square inch in square metres", (1 * SquareInch).In(SquareMetre), 6.4516e-4},
		{"gallon a minute in litres a second", (1 * GallonPerMinute).In(LitrePerSecond), 6.30901964e-2},
		{"square in square feet", (1 * Square).In(SquareFoot), 100},
		{"22 °F in °C", Fahrenheit(22).Celsius(), -50.0 / 9},
		{"6:12 in degrees", PitchIn12(6).Degrees(), 26.56505117707799},
	} {
		if math.Abs(c.got-c.want) > 1e-9*math.Abs(c.want) {
			t.Errorf("%s: got %v, want %v", c.name, c.got, c.want)
		}
	}
}

func TestWriting(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{US.Area(1500 * SquareFoot), "1,500 ft²"},
		{Metric.Area(140), "140 m²"},
		{US.RoofArea(15.03 * Square), "15 squares"},
		{US.RoofArea(1.04 * Square), "1 square"},
		{US.VentArea(1440 * SquareInch), "1,440 in²"},
		{Metric.VentArea(4667 * SquareCentimetre), "4,667 cm²"},
		{US.SmallLength(44.72 * Inch), "44.72 in"},
		{US.Distance(400 * Foot), "400 ft"},
		{US.Distance(2 * Mile), "2 mi"},
		{Metric.Distance(950), "950 m"},
		{Metric.Temperature(-5.6), "-6 °C"},
		{Metric.Temperature(-0.2), "0 °C"},
		{PitchIn12(6).String(), "6:12"},
		{Money(123450).String(), "1,234.50"},
		{Money(-5).String(), "-0.05"},
		{Money(123450).Round(), "1,235"},
		{Money(-20).Round(), "0"},
		{Money(math.MinInt64).String(), "-92,233,720,368,547,758.08"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestParsing(t *testing.T) {
	for _, s := range []string{"", "six", "-1:12", "6:0", "6:-12", "90:1", "NaN:12"} {
		if p, err := ParsePitch(s); err == nil {
			t.Errorf("pitch %q was read as %v", s, p)
		}
	}
	for s, want := range map[string]float64{"6:12": 0.5, "6/12": 0.5, "6": 0.5, "1:6": 1.0 / 6, " 4.5 : 12 ": 0.375} {
		if p, err := ParsePitch(s); err != nil || math.Abs(float64(p)-want) > 1e-12 {
			t.Errorf("pitch %q: got %v, %v", s, p, err)
		}
	}
	for s, want := range map[string]Money{"12": 1200, "$1,234.5": 123450, "-0.05": -5, "1,000,000.00": 100000000} {
		if m, err := ParseMoney(s); err != nil || m != want {
			t.Errorf("amount %q: got %v, %v", s, m, err)
		}
	}
	for _, s := range []string{"", "1.234", "12,34", "1,23.00", "a", "1.", "--1", "1.-5", "999999999999"} {
		if m, err := ParseMoney(s); err == nil {
			t.Errorf("amount %q was read as %v", s, m)
		}
	}
}

func TestDates(t *testing.T) {
	if d := NewDate(1970, 1, 1); d != daysToUnix || NewDate(1, 1, 1) != 1 {
		t.Fatalf("the count of days is off: %d", d)
	}
	for _, c := range []struct{ got, want string }{
		{NewDate(2026, 1, 31).AddMonths(1).String(), "2026-02-28"},
		{NewDate(2024, 2, 29).AddYears(1).String(), "2025-02-28"},
		{NewDate(2024, 1, 31).AddMonths(1).String(), "2024-02-29"},
		{NewDate(2026, 3, 15).AddMonths(-3).String(), "2025-12-15"},
		{Date(0).String(), ""},
		{DateOf(time.Date(2026, 11, 25, 23, 30, 0, 0, time.FixedZone("", -5*3600))).String(), "2026-11-25"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	if NewDate(2026, 11, 25).Weekday() != time.Wednesday {
		t.Error("25 November 2026 is a Wednesday")
	}
	for _, c := range []struct {
		from, to string
		want     int
	}{
		{"2020-01-31", "2020-02-29", 1}, // the month end counts as the full month
		{"2020-01-31", "2020-02-28", 0},
		{"2020-05-10", "2021-05-09", 11},
		{"2020-05-10", "2021-05-10", 12},
		{"2020-05-10", "2020-04-10", -1},
		{"2020-05-10", "2020-05-09", -1},
	} {
		from, _ := ParseDate(c.from)
		to, _ := ParseDate(c.to)
		if got := to.MonthsSince(from); got != c.want {
			t.Errorf("months from %s to %s: got %d, want %d", c.from, c.to, got, c.want)
		}
	}
	for _, s := range []string{"11/25/2026", "25.11.2026", "2026-13-01", "2026-02-30", "2026"} {
		if d, err := ParseDate(s); err == nil {
			t.Errorf("%q was read as %v", s, d)
		}
	}
}

func TestDated(t *testing.T) {
	for _, c := range []struct{ in, out, first, last string }{
		{"2014-06-12", "2014-06-12", "2014-06-12", "2014-06-12"},
		{"2014-02", "2014-02", "2014-02-01", "2014-02-28"},
		{"2014", "2014", "2014-01-01", "2014-12-31"},
		{"about 2014", "about 2014", "2012-01-01", "2016-12-31"},
		{"2014~", "about 2014", "2012-01-01", "2016-12-31"},
	} {
		d, err := ParseDated(c.in)
		if err != nil || d.String() != c.out || d.Earliest().String() != c.first || d.Latest().String() != c.last {
			t.Errorf("%q: got %q, %v to %v, %v", c.in, d, d.Earliest(), d.Latest(), err)
		}
	}
	for _, s := range []string{"", "06/2014", "6/12/14", "about 2014-06", "12", "soon"} {
		if d, err := ParseDated(s); err == nil {
			t.Errorf("%q was read as %v", s, d)
		}
	}
}

func TestDateRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Date(rapid.IntRange(1, 3_000_000).Draw(t, "day"))
		if back, err := ParseDate(d.String()); err != nil || back != d {
			t.Fatalf("%v came back as %v, %v", d, back, err)
		}
		stored, _ := d.Value()
		var scanned Date
		if err := scanned.Scan(stored); err != nil || scanned != d {
			t.Fatalf("%v was scanned as %v, %v", d, scanned, err)
		}
		text, _ := json.Marshal(d)
		var read Date
		if err := json.Unmarshal(text, &read); err != nil || read != d {
			t.Fatalf("%v was read from JSON as %v, %v", d, read, err)
		}
		n := rapid.IntRange(-2000, 2000).Draw(t, "months")
		moved := d.AddMonths(n)
		if moved > 0 && (moved.Month() != d.Month()+Month(n) || moved.MonthsSince(d) != n) {
			t.Fatalf("%v plus %d months is %v, %d months since", d, n, moved, moved.MonthsSince(d))
		}
	})
}

func TestAlternatives(t *testing.T) {
	v := func(x float64) *float64 { return &x }
	foot := Alternative{Field: "length_ft", Unit: float64(Foot)}
	metre := Alternative{Field: "length_m", Unit: 1}
	for _, c := range []struct {
		feet, metres *float64
		want         float64
		refusal      string
	}{
		{nil, nil, math.NaN(), ""},
		{v(10), nil, 3.048, ""},
		{nil, v(3), 3, ""},
		{v(10), v(3), 0, "slopes[0].length_m: give either length_ft or length_m, not both"},
		{v(-1), nil, 0, "slopes[0].length_ft: -1 is too small: must be at least 3.281"},
		{v(1000), nil, 0, "slopes[0].length_ft: 1000 is too large: must be at most 328.1"},
		{nil, v(math.NaN()), 0, "slopes[0].length_m: must be a number"},
		{nil, v(math.Inf(1)), 0, "slopes[0].length_m: must be a number"},
	} {
		foot.Value, metre.Value = c.feet, c.metres
		r := Reader{Field: "slopes[0]."}
		got := r.One(1, 100, foot, metre)
		switch {
		case c.refusal != "":
			if r.Err == nil || r.Err.Error() != c.refusal {
				t.Errorf("got %v, want %q", r.Err, c.refusal)
			}
		case r.Err != nil || (math.Abs(got-c.want) > 1e-12 && !(math.IsNaN(got) && math.IsNaN(c.want))):
			t.Errorf("got %v, %v, want %v", got, r.Err, c.want)
		}
	}
	r := Reader{}
	r.Refuse("a", "first")
	r.Refuse("b", "second")
	if r.Err.Error() != "a: first" {
		t.Errorf("the refusal kept is %v", r.Err)
	}
}
