package climate

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"overhang/analytics/units"
)

// asEPW writes a year as an EPW file's lines.
func asEPW(y *Year) []string {
	p := y.Place
	lines := []string{
		fmt.Sprintf("LOCATION,Minneapolis,MN,USA,invented,726580,%g,%g,%g,%g", p.Lat, p.Lon, p.Zone, float64(p.Elevation)),
		"DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0", "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
		"COMMENTS 1,made for a test", "COMMENTS 2,", "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
	}
	for i, h := range y.Hours {
		m := int(MonthOf(i))
		wet := 100 * vapour(h.DewPoint.Celsius()) / vapour(h.Air.Celsius())
		lines = append(lines, fmt.Sprintf("2001,%d,%d,%d,60,A7A7,%.3f,%.3f,%.3f,%.0f,9999,9999,%.2f,%.3f,%.3f,%.3f,999999,999999,999999,9999,180,%.3f,5,5,16.1,77777,9,999999999,10,0.1,%.2f,88,0.2,0,1",
			m, i/24-daysBefore[m-1]+1, i%24+1, h.Air, h.DewPoint, wet, h.Pressure, h.Sky, h.Global, h.Beam, h.Diffuse, h.Wind, h.Snow.In(units.Centimetre)))
	}
	return lines
}

func minneapolis(t testing.TB) *Year {
	t.Helper()
	y, err := StationYear("minneapolis")
	if err != nil {
		t.Fatal(err)
	}
	return y
}

func TestReadEPW(t *testing.T) {
	want := minneapolis(t)
	lines := asEPW(want)
	// As files have it: a mark of byte order, carriage returns, an empty end.
	got, err := ReadEPW(strings.NewReader("\uFEFF" + strings.Join(lines, "\r\n") + "\r\n\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	if p := got.Place; p.Name != "Minneapolis, MN, USA" || p.Lat != want.Place.Lat || p.Lon != want.Place.Lon || p.Zone != -6 || p.Elevation != 255 || got.Source != "EPW file, invented 726580" {
		t.Errorf("%+v, %s", p, got.Source)
	}
	if len(got.Notes) != 0 || len(got.Hours) != HoursAYear {
		t.Errorf("%d hours, %v", len(got.Hours), got.Notes)
	}
	for i, w := range want.Hours {
		g := got.Hours[i]
		for _, d := range []float64{float64(g.Air - w.Air), float64(g.DewPoint - w.DewPoint), g.Wind - w.Wind, (g.Pressure - w.Pressure) / 1000, (g.Sky - w.Sky) / 10, g.Global - w.Global, g.Beam - w.Beam, g.Diffuse - w.Diffuse, float64(g.Snow - w.Snow)} {
			if math.Abs(d) > 6e-4 {
				t.Fatalf("hour %d is %+v, not %+v", i, g, w)
			}
		}
	}
}

// set changes fields, counted from 1, of the line of an hour.
func set(lines []string, hour int, values map[int]string) []string {
	out := append([]string(nil), lines...)
	f := strings.Split(out[8+hour], ",")
	for at, v := range values {
		f[at-1] = v
	}
	out[8+hour] = strings.Join(f, ",")
	return out
}

func TestEPWFillsWhatIsMissing(t *testing.T) {
	want := minneapolis(t)
	lines := asEPW(want)
	noon, night := 180*24+12, 180*24
	for h := 100; h < 106; h++ {
		lines = set(lines, h, map[int]string{7: "99.9", 8: "99.9", 9: "999", 22: "999"})
	}
	lines = set(lines, 0, map[int]string{22: "999"}) // around the year's end
	lines = set(lines, HoursAYear-1, map[int]string{22: ""})
	lines = set(lines, 200, map[int]string{8: "99.9", 10: "999999", 13: "9999", 31: "999"})
	lines = set(lines, noon, map[int]string{14: "9999"})
	lines = set(lines, noon+24, map[int]string{15: "9999"})
	lines = set(lines, noon+48, map[int]string{16: "9999"})
	lines = set(lines, noon+72, map[int]string{15: "9999", 16: "9999"})
	lines = set(lines, night, map[int]string{14: "9999", 15: "9999", 16: "9999"})
	lines = set(lines, 300, map[int]string{13: "9999", 23: "99", 24: "99"})
	// Older files stop at field 32.
	lines[8+400] = strings.Join(strings.Split(lines[8+400], ",")[:32], ",")
	// A 29 February.
	leap := strings.Replace(lines[8+59*24], "2001,3,1,1,", "2000,2,29,1,", 1)
	lines = append(lines[:8+59*24:8+59*24], append([]string{leap}, lines[8+59*24:]...)...)

	y, err := ReadEPW(strings.NewReader(strings.Join(lines, "\n")))
	if err != nil {
		t.Fatal(err)
	}
	a, b := want.Hours[99].Air.Celsius(), want.Hours[106].Air.Celsius()
	near(t, "bridged air", y.Hours[101].Air.Celsius(), a+(b-a)*2/7, 1e-3)
	near(t, "bridged wind", y.Hours[0].Wind, want.Hours[HoursAYear-2].Wind+(want.Hours[1].Wind-want.Hours[HoursAYear-2].Wind)*2/3, 1e-3)
	near(t, "dew point", y.Hours[200].DewPoint.Celsius(), want.Hours[200].DewPoint.Celsius(), 2e-3)
	near(t, "pressure", y.Hours[200].Pressure, StandardPressure(255), 1e-6)
	near(t, "snow", float64(y.Hours[200].Snow), float64(want.Hours[199].Snow), 1e-4)
	near(t, "sky", y.Hours[200].Sky, skyRadiation(want.Hours[200].Air.Celsius(), want.Hours[200].DewPoint.Celsius(), 0.5), 0.1)
	near(t, "global", y.Hours[noon].Global, want.Hours[noon].Global, 0.01)
	near(t, "beam", y.Hours[noon+24].Beam, want.Hours[noon+24].Beam, 0.01)
	near(t, "diffuse", y.Hours[noon+48].Diffuse, want.Hours[noon+48].Diffuse, 0.01)
	near(t, "split", y.Hours[noon+72].Beam, want.Hours[noon+72].Beam, 0.01)
	if h := y.Hours[night]; h.Global+h.Beam+h.Diffuse != 0 {
		t.Errorf("%+v at night", h)
	}
	notes := strings.Join(y.Notes, "\n")
	for _, line := range []string{
		"29 February is left out.",
		"Filled for 6 hours: temperature by a straight line",
		"Filled for 6 hours: dew point by a straight line",
		"Filled for 1 hour: dew point by temperature and humidity",
		"Filled for 8 hours: wind by a straight line",
		"Filled for 1 hour: pressure",
		"Filled for 2 hours: long-wave",
		"Filled for 1 hour: cloud as half",
		"Filled for 1 hour: global sun by beam",
		"Filled for 1 hour: beam by global",
		"Filled for 1 hour: sky's sun",
		"Filled for 1 hour: beam and sky by the global sun (Erbs)",
		"Filled for 1 hour: sun as none",
		"Filled for 1 hour: snow by the last",
	} {
		if !strings.Contains(notes, line) {
			t.Errorf("%q is not told in\n%s", line, notes)
		}
	}
}

func TestEPWRefused(t *testing.T) {
	lines := asEPW(minneapolis(t))
	noon := 180*24 + 12
	gap := lines
	for h := 100; h < 107; h++ {
		gap = set(gap, h, map[int]string{7: "99.9"})
	}
	head := func(at int, line string) []string {
		out := append([]string(nil), lines...)
		out[at] = line
		return out
	}
	for want, file := range map[string][]string{
		"line 1: LOCATION is missing":                                                     nil,
		"line 3: TYPICAL/EXTREME PERIODS is missing":                                      lines[:2],
		"line 2: must begin with DESIGN CONDITIONS":                                       head(1, "DESIGN,0"),
		"line 1: LOCATION: must have 10 fields, not 3":                                    head(0, "LOCATION,a,b"),
		"line 1: LOCATION field 7, latitude: must be a number from -90 to 90, not \"95\"": head(0, "LOCATION,a,b,c,d,1,95,0,0,0"),
		"line 1: LOCATION field 10, elevation: must be a number":                          head(0, "LOCATION,a,b,c,d,1,45,0,0,NaN"),
		"line 8: field 3, records an hour: must be 1, not \"4\"":                          head(7, "DATA PERIODS,1,4,Data,Sunday, 1/ 1,12/31"),
		"line 8767: ends after 8759 of 8760 hours":                                        lines[:len(lines)-1],
		"line 8769: more than 8760 hours":                                                 append(append([]string(nil), lines...), lines[len(lines)-1]),
		"line 10: must have 35 fields, not 3":                                             head(9, "2001,1,1"),
		"line 9: field 3, day: must be a whole number, not \"x\"":                         set(lines, 0, map[int]string{3: "x"}),
		"line 11: fields 2 to 4, month, day and hour: must be 1, 1 and 3, not 1, 1 and 4": set(lines, 2, map[int]string{4: "4"}),
		"line 10: field 7, dry bulb temperature: must be a number, not \"warm\"":          set(lines, 1, map[int]string{7: "warm"}),
		"line 10: field 7, dry bulb temperature: -80 must lie between -70 and 70":         set(lines, 1, map[int]string{7: "-80"}),
		"line 10: field 15, direct normal radiation: must be a number, not \"Inf\"":       set(lines, 1, map[int]string{15: "Inf"}),
		"line 10: field 22, wind speed: -1 must lie between 0 and 75":                     set(lines, 1, map[int]string{22: "-1"}),
		"line 109: field 7, dry bulb temperature: is missing: a gap of more than 6 hours": gap,
		fmt.Sprintf("line %d: field 14, global horizontal radiation: is missing", 9+noon): set(lines, noon, map[int]string{14: "9999", 15: "9999"}),
	} {
		if _, err := ReadEPW(strings.NewReader(strings.Join(file, "\n"))); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%v, not %s", err, want)
		}
	}
}

func FuzzReadEPW(f *testing.F) {
	lines := asEPW(&Year{Place: Place{Lat: 45}, Hours: make([]Hour, 30)})
	f.Add(strings.Join(lines, "\n"))
	f.Add("LOCATION,a,b,c,d,1,45,0,0,0")
	f.Fuzz(func(t *testing.T, text string) {
		y, err := ReadEPW(strings.NewReader(text))
		if (y == nil) == (err == nil) {
			t.Errorf("%v, %v", y, err)
		}
	})
}
