package climate

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"overhang/analytics/units"
)

// The lines before the hours of an EPW file, in order.
var epwHeader = []string{"LOCATION", "DESIGN CONDITIONS", "TYPICAL/EXTREME PERIODS", "GROUND TEMPERATURES", "HOLIDAYS/DAYLIGHT SAVING", "COMMENTS 1", "COMMENTS 2", "DATA PERIODS"}

// epwFields are the fields that are read of the 35 of each hour, counted from 1
// as the format's description does, with the value from which on a number means
// "missing" and the range that is believed.
var epwFields = []epwField{
	{7, "dry bulb temperature", 99.9, -70, 70},
	{8, "dew point temperature", 99.9, -90, 70},
	{9, "relative humidity", 999, 0, 110},
	{10, "atmospheric station pressure", 999_999, 31_000, 120_000},
	{13, "horizontal infrared radiation", 9999, 0, 1000},
	{14, "global horizontal radiation", 9999, 0, 1600},
	{15, "direct normal radiation", 9999, 0, 1600},
	{16, "diffuse horizontal radiation", 9999, 0, 1600},
	{22, "wind speed", 999, 0, 75},
	{23, "total sky cover", 99, 0, 10},
	{24, "opaque sky cover", 99, 0, 10},
	{31, "snow depth", 999, 0, 900},
}

const (
	dryBulb = iota
	dewBulb
	humidity
	pressure
	infrared
	global
	direct
	diffuse
	windSpeed
	cover
	opaque
	snowDepth
	epwKinds
)

type epwField struct {
	number      int
	name        string
	missing     float64
	least, most float64
}

// longestGap is how many hours in a row a straight line may bridge. Our
// judgement.
const longestGap = 6

// epwHour holds the read fields of an hour; NaN is missing.
type epwHour [epwKinds]float64

// ReadEPW reads a typical year in the open EPW format: eight header lines, then
// 8,760 hours of 35 fields (the last three may be absent, as in older files).
// The 29 February of a leap year is left out. Errors name the line, the field
// and the rule.
//
// What is missing is filled plainly, and the year's notes tell it: temperature,
// dew point and wind by a straight line over gaps of up to six hours (the dew
// point by the humidity where that is given; longer gaps are refused), pressure
// by the standard atmosphere, one part of the sun by the two others or by
// Erbs's split of the global (a lack of more in daylight is refused), the sky's
// long-wave by temperature, dew point and cover, and snow by the last depth
// measured, or none.
func ReadEPW(r io.Reader) (*Year, error) {
	lines := bufio.NewScanner(r)
	lines.Buffer(make([]byte, 0, 64*1024), 1<<20)
	number := 0
	next := func() (string, error) {
		if !lines.Scan() {
			if err := lines.Err(); err != nil {
				return "", fmt.Errorf("line %d: %w", number+1, err)
			}
			return "", io.EOF
		}
		number++
		return strings.TrimRight(lines.Text(), "\r"), nil
	}

	y := &Year{}
	for i, want := range epwHeader {
		line, err := next()
		if err == io.EOF {
			return nil, fmt.Errorf("line %d: %s is missing", i+1, want)
		}
		if err != nil {
			return nil, err
		}
		if i == 0 {
			line = strings.TrimPrefix(line, "\uFEFF")
		}
		if !strings.HasPrefix(strings.ToUpper(line), want) {
			return nil, fmt.Errorf("line %d: must begin with %s", number, want)
		}
		switch want {
		case "LOCATION":
			if err := y.readLocation(line); err != nil {
				return nil, fmt.Errorf("line %d: %w", number, err)
			}
		case "DATA PERIODS":
			if f := strings.Split(line, ","); len(f) > 2 && strings.TrimSpace(f[2]) != "1" {
				return nil, fmt.Errorf("line %d: field 3, records an hour: must be 1, not %q", number, f[2])
			}
		}
	}

	hours := make([]epwHour, 0, HoursAYear)
	at := make([]int, 0, HoursAYear) // the line of each
	leap := false
	for {
		line, err := next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if strings.TrimSpace(line) == "" {
			continue
		}
		fields := strings.Split(line, ",")
		if len(fields) < 32 || len(fields) > 35 {
			return nil, fmt.Errorf("line %d: must have 35 fields, not %d", number, len(fields))
		}
		var date [3]int
		for i, name := range []string{"month", "day", "hour"} {
			if date[i], err = strconv.Atoi(strings.TrimSpace(fields[i+1])); err != nil {
				return nil, fmt.Errorf("line %d: field %d, %s: must be a whole number, not %q", number, i+2, name, fields[i+1])
			}
		}
		if date[0] == 2 && date[1] == 29 {
			leap = true
			continue
		}
		if len(hours) == HoursAYear {
			return nil, fmt.Errorf("line %d: more than %d hours", number, HoursAYear)
		}
		month := int(MonthOf(len(hours)))
		day, hour := len(hours)/24-daysBefore[month-1]+1, len(hours)%24+1
		if date != [3]int{month, day, hour} {
			return nil, fmt.Errorf("line %d: fields 2 to 4, month, day and hour: must be %d, %d and %d, not %d, %d and %d", number, month, day, hour, date[0], date[1], date[2])
		}
		h, err := readEPWHour(fields)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", number, err)
		}
		hours, at = append(hours, h), append(at, number)
	}
	if len(hours) != HoursAYear {
		return nil, fmt.Errorf("line %d: ends after %d of %d hours", number, len(hours), HoursAYear)
	}
	if leap {
		y.Notes = append(y.Notes, "29 February is left out.")
	}
	y.sun = newSunYear(y.Place)
	if err := y.fill(hours, at); err != nil {
		return nil, err
	}
	return y, nil
}

func (y *Year) readLocation(line string) error {
	f := strings.Split(line, ",")
	if len(f) < 10 {
		return fmt.Errorf("LOCATION: must have 10 fields, not %d", len(f))
	}
	var v [4]float64
	for i, q := range []struct {
		name        string
		least, most float64
	}{{"latitude", -90, 90}, {"longitude", -180, 180}, {"time zone", -12, 14}, {"elevation", -1000, 9999.9}} {
		n, err := strconv.ParseFloat(strings.TrimSpace(f[i+6]), 64)
		if err != nil || !(n >= q.least && n <= q.most) {
			return fmt.Errorf("LOCATION field %d, %s: must be a number from %g to %g, not %q", i+7, q.name, q.least, q.most, f[i+6])
		}
		v[i] = n
	}
	var name []string
	for _, part := range f[1:4] {
		if part = strings.TrimSpace(part); part != "" && part != "-" {
			name = append(name, part)
		}
	}
	y.Source = strings.TrimSpace("EPW file, " + strings.TrimSpace(f[4]) + " " + strings.TrimSpace(f[5]))
	y.Place = Place{Name: strings.Join(name, ", "), Lat: v[0], Lon: v[1], Zone: v[2], Elevation: units.Length(v[3]), Source: y.Source}
	return nil
}

func readEPWHour(fields []string) (epwHour, error) {
	var h epwHour
	for kind, f := range epwFields {
		text := strings.TrimSpace(fields[f.number-1])
		if text == "" {
			h[kind] = math.NaN()
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return h, fmt.Errorf("field %d, %s: must be a number, not %q", f.number, f.name, text)
		}
		if v >= f.missing {
			v = math.NaN()
		} else if v < f.least || v > f.most {
			return h, fmt.Errorf("field %d, %s: %s must lie between %g and %g", f.number, f.name, text, f.least, f.most)
		}
		h[kind] = v
	}
	return h, nil
}

// fill makes the year's hours of what was read. at gives the line of each hour.
func (y *Year) fill(read []epwHour, at []int) error {
	y.Hours = make([]Hour, HoursAYear)
	counts := map[string]int{}
	var order []string
	note := func(what string) {
		if counts[what] == 0 {
			order = append(order, what)
		}
		counts[what]++
	}
	lack := func(i, kind int, rule string) error {
		return fmt.Errorf("line %d: field %d, %s: is missing: %s", at[i], epwFields[kind].number, epwFields[kind].name, rule)
	}
	column := func(kind int, what string) ([]float64, error) {
		v := make([]float64, HoursAYear)
		for i := range v {
			v[i] = read[i][kind]
		}
		bad, bridged := bridge(v)
		if bad >= 0 {
			return nil, lack(bad, kind, fmt.Sprintf("a gap of more than %d hours is not bridged", longestGap))
		}
		for range bridged {
			note(what)
		}
		return v, nil
	}
	air, err := column(dryBulb, "temperature by a straight line between its neighbours")
	if err != nil {
		return err
	}
	for i := range read {
		if wet := read[i][humidity]; math.IsNaN(read[i][dewBulb]) && wet > 0 {
			read[i][dewBulb] = dewPoint(vapour(air[i]) * min(wet, 100) / 100)
			note("dew point by temperature and humidity")
		}
	}
	dew, err := column(dewBulb, "dew point by a straight line between its neighbours")
	if err != nil {
		return err
	}
	wind, err := column(windSpeed, "wind by a straight line between its neighbours")
	if err != nil {
		return err
	}

	snow, measured := 0.0, false
	for i := range read {
		if !math.IsNaN(read[i][snowDepth]) {
			measured = true
		}
	}
	for i := range y.Hours {
		in, h := &read[i], &y.Hours[i]
		h.Air, h.DewPoint, h.Wind = units.Temperature(air[i]), units.Temperature(min(dew[i], air[i])), wind[i]
		h.Pressure = in[pressure]
		if math.IsNaN(h.Pressure) {
			h.Pressure = StandardPressure(y.Place.Elevation)
			note("pressure by the standard atmosphere at the elevation")
		}
		switch filled, kind := h.sunOf(in, y.sun.hours[i], extra(i)); {
		case kind >= 0:
			return lack(i, kind, "the sun is up and the other parts do not tell it")
		case filled != "":
			note(filled)
		}
		h.Sky = in[infrared]
		if math.IsNaN(h.Sky) {
			clouds := in[opaque]
			if math.IsNaN(clouds) {
				clouds = in[cover]
			}
			if math.IsNaN(clouds) {
				clouds = 5
				note("cloud as half of the sky")
			}
			h.Sky = skyRadiation(air[i], dew[i], clouds/10)
			note("long-wave from the sky by temperature, dew point and cloud (Clark and Allen)")
		}
		switch {
		case !math.IsNaN(in[snowDepth]):
			snow = in[snowDepth] / 100
		case measured:
			note("snow by the last depth measured")
		}
		h.Snow = units.Length(snow)
	}
	for _, what := range order {
		hours := "hours"
		if counts[what] == 1 {
			hours = "hour"
		}
		y.Notes = append(y.Notes, fmt.Sprintf("Filled for %d %s: %s.", counts[what], hours, what))
	}
	if !measured {
		y.Notes = append(y.Notes, "The file has no depth of snow: the ground is taken to be bare all year.")
	}
	return nil
}

// sunOf fills the hour's sun, tells how when something was missing, and gives
// the kind of field that is needed and not there, or -1.
func (h *Hour) sunOf(in *epwHour, s sunHour, extra float64) (filled string, lacks int) {
	g, b, d := in[global], in[direct], in[diffuse]
	hasG, hasB, hasD := !math.IsNaN(g), !math.IsNaN(b), !math.IsNaN(d)
	switch {
	case hasG && hasB && hasD:
	case s.lit == 0:
		g, b, d = 0, 0, 0
		filled = "sun as none, the sun being down"
	case hasB && hasD:
		g = d + b*s.up
		filled = "global sun by beam and sky"
	case hasG && hasD:
		b = clip((g-d)/max(s.up, 3*leastCosine*s.lit), 0, extra)
		filled = "beam by global sun and sky"
	case hasG && hasB:
		d = clip(g-b*s.up, 0, g)
		filled = "sky's sun by global sun and beam"
	case hasG:
		h.shine(g, s, extra)
		return "beam and sky by the global sun (Erbs)", -1
	default:
		return "", global
	}
	h.Global, h.Beam, h.Diffuse = g, b, d
	return filled, -1
}

// bridge fills gaps in place by a straight line between their neighbours,
// around the year's end. It gives the first hour of a gap that is too long, or
// -1, and how many hours it filled.
func bridge(v []float64) (tooLong, filled int) {
	n := len(v)
	for i := 0; i < n; i++ {
		if !math.IsNaN(v[i]) {
			continue
		}
		before := i - 1
		for k := 0; k < longestGap && math.IsNaN(v[(before+n)%n]); k++ {
			before--
		}
		after := i + 1
		for math.IsNaN(v[after%n]) && after-before <= longestGap+1 {
			after++
		}
		a, b := v[(before+n)%n], v[after%n]
		if after-before-1 > longestGap || math.IsNaN(a) || math.IsNaN(b) {
			return i, filled
		}
		for k := before + 1; k < after; k++ {
			v[(k+n)%n] = a + (b-a)*float64(k-before)/float64(after-before)
			filled++
		}
	}
	return -1, filled
}
