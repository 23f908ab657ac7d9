package climate

import (
	"fmt"
	"math"
	"time"

	"overhang/analytics/units"
)

// Normals are the monthly normals of a place, twelve values a field from
// January on. Of each pair of fields that differ only by unit at most one may
// be given. Highest and lowest temperatures and the latitude are needed; what
// else is left out is filled as the year's notes tell.
type Normals struct {
	Key    string `json:"key,omitempty"`
	Name   string `json:"name,omitempty"`
	Source string `json:"source,omitempty"`

	Lat         *float64 `json:"lat,omitempty"`          // degrees, north positive
	Lon         *float64 `json:"lon,omitempty"`          // degrees, east positive; left out, noon by the sun is noon by the clock
	Zone        *float64 `json:"zone,omitempty"`         // hours of standard time ahead of UTC; left out, by the longitude
	ElevationFt *float64 `json:"elevation_ft,omitempty"` // left out, sea level
	ElevationM  *float64 `json:"elevation_m,omitempty"`
	Seed        uint64   `json:"variation_seed,omitempty"` // another run of weather days; 0 is the usual one

	MaxC []float64 `json:"max_c,omitempty"` // mean daily highest
	MaxF []float64 `json:"max_f,omitempty"`
	MinC []float64 `json:"min_c,omitempty"` // mean daily lowest
	MinF []float64 `json:"min_f,omitempty"`

	// Global sun on the horizontal a day, or as a share of the sun outside the
	// air (clearness index).
	SunKWh    []float64 `json:"sun_kwh_m2_day,omitempty"`
	Clearness []float64 `json:"clearness,omitempty"`

	WindMS   []float64 `json:"wind_m_per_s,omitempty"` // at 10 m
	WindMPH  []float64 `json:"wind_mph,omitempty"`
	Humidity []float64 `json:"humidity_percent,omitempty"` // mean relative humidity over water
	DewC     []float64 `json:"dew_point_c,omitempty"`
	DewF     []float64 `json:"dew_point_f,omitempty"`

	SnowfallCm  []float64 `json:"snowfall_cm,omitempty"` // fresh snow in the month
	SnowfallIn  []float64 `json:"snowfall_in,omitempty"`
	SnowDepthCm []float64 `json:"snow_depth_cm,omitempty"` // mean depth on the ground
	SnowDepthIn []float64 `json:"snow_depth_in,omitempty"`
}

// normals are Normals read, in SI; a nil series is not known.
type normals struct {
	place                                                 Place
	source                                                string
	high, low, sun, clearness, wind, humidity, dew, falls []float64
	depth                                                 []float64
	seed                                                  uint64
	notes                                                 []string
}

// monthly is one field of twelve values with the way to SI.
type monthly struct {
	field  string
	values []float64
	scale  float64
	offset float64 // taken away before scaling
}

// series12 reads the one field that is given, or nil.
func series12(r *units.Reader, least, most float64, fields ...monthly) []float64 {
	var out []float64
	from := ""
	for _, f := range fields {
		if len(f.values) == 0 {
			continue
		}
		if from != "" {
			r.Refuse(f.field, "give either "+from+" or "+f.field+", not both")
			continue
		}
		from = f.field
		if len(f.values) != 12 {
			r.Refuse(f.field, fmt.Sprintf("must have 12 values, January first, not %d", len(f.values)))
			continue
		}
		out = make([]float64, 12)
		for i, v := range f.values {
			out[i] = (v - f.offset) * f.scale
			at := fmt.Sprintf("%s[%d]", f.field, i)
			switch {
			case math.IsNaN(v) || math.IsInf(v, 0):
				r.Refuse(at, "must be a number")
			case out[i] < least || out[i] > most:
				r.Refuse(at, fmt.Sprintf("%v must lie between %.4g and %.4g", v, least/f.scale+f.offset, most/f.scale+f.offset))
			}
		}
	}
	return out
}

func (in Normals) read() (normals, error) {
	r := &units.Reader{}
	n := normals{source: in.Source, seed: in.Seed}
	note := func(s string) { n.notes = append(n.notes, s) }
	f := func(field string, values []float64, scale float64) monthly {
		return monthly{field: field, values: values, scale: scale}
	}
	fahrenheit := func(field string, values []float64) monthly {
		return monthly{field: field, values: values, scale: 1 / 1.8, offset: 32}
	}

	n.place = Place{Key: in.Key, Name: in.Name, Source: in.Source}
	n.place.Lat = r.One(-90, 90, units.Alternative{Field: "lat", Value: in.Lat, Unit: 1})
	if in.Lat == nil {
		r.Refuse("lat", "must be given: the sun depends on it")
	}
	n.place.Lon = r.One(-180, 180, units.Alternative{Field: "lon", Value: in.Lon, Unit: 1})
	n.place.Zone = r.One(-12, 14, units.Alternative{Field: "zone", Value: in.Zone, Unit: 1})
	switch {
	case in.Lon == nil && in.Zone == nil:
		n.place.Lon, n.place.Zone = 0, 0
		note("Longitude and zone are not given: noon by the sun is taken to be noon by the clock.")
	case in.Lon == nil:
		n.place.Lon = 15 * n.place.Zone
		note("The longitude is not given: noon by the sun is taken to be noon by the clock.")
	case in.Zone == nil:
		n.place.Zone = math.Round(n.place.Lon / 15)
		note(fmt.Sprintf("The zone is not given: %+g hours by the longitude.", n.place.Zone))
	}
	elevation := r.One(-450, 6000, units.Alternative{Field: "elevation_ft", Value: in.ElevationFt, Unit: float64(units.Foot)}, units.Alternative{Field: "elevation_m", Value: in.ElevationM, Unit: 1})
	if math.IsNaN(elevation) {
		elevation = 0
		note("The elevation is not given: the pressure is that of sea level.")
	}
	n.place.Elevation = units.Length(elevation)

	n.high = series12(r, -60, 55, f("max_c", in.MaxC, 1), fahrenheit("max_f", in.MaxF))
	n.low = series12(r, -65, 45, f("min_c", in.MinC, 1), fahrenheit("min_f", in.MinF))
	if n.high == nil {
		r.Refuse("max_c", "must be given, in °C or °F")
	}
	if n.low == nil {
		r.Refuse("min_c", "must be given, in °C or °F")
	}
	n.sun = series12(r, 0, 12, f("sun_kwh_m2_day", in.SunKWh, 1))
	n.clearness = series12(r, 0, 0.85, f("clearness", in.Clearness, 1))
	if n.sun != nil && n.clearness != nil {
		r.Refuse("clearness", "give either sun_kwh_m2_day or clearness, not both")
	}
	n.wind = series12(r, 0, 30, f("wind_m_per_s", in.WindMS, 1), f("wind_mph", in.WindMPH, 0.44704))
	n.humidity = series12(r, 5, 100, f("humidity_percent", in.Humidity, 1))
	n.dew = series12(r, -70, 35, f("dew_point_c", in.DewC, 1), fahrenheit("dew_point_f", in.DewF))
	if n.humidity != nil && n.dew != nil {
		r.Refuse("dew_point_c", "give either humidity_percent or a dew point, not both")
	}
	n.falls = series12(r, 0, 10, f("snowfall_cm", in.SnowfallCm, 0.01), f("snowfall_in", in.SnowfallIn, 0.0254))
	n.depth = series12(r, 0, 10, f("snow_depth_cm", in.SnowDepthCm, 0.01), f("snow_depth_in", in.SnowDepthIn, 0.0254))
	if r.Err != nil {
		return n, r.Err
	}
	for i := range n.high {
		if n.high[i]-n.low[i] < 0.5 {
			return n, fmt.Errorf("max_c[%d]: must be at least 0.5 °C over the lowest of the month", i)
		}
	}

	if n.sun == nil && n.clearness == nil {
		n.clearness = make([]float64, 12)
		for i := range n.clearness {
			n.clearness[i] = clip(0.16*math.Sqrt(n.high[i]-n.low[i]), 0.15, 0.75)
		}
		note("The sun is not given: it is reckoned from the day's span of temperature (Hargreaves, FAO Irrigation and Drainage Paper 56, equation 50, inland). Near a lake or the sea that is too little.")
	}
	if n.wind == nil {
		n.wind = make([]float64, 12)
		for i := range n.wind {
			n.wind[i] = 3.5
		}
		note("The wind is not given: 3.5 m/s is taken all year, our judgement.")
	}
	if n.humidity == nil && n.dew == nil {
		n.dew = make([]float64, 12)
		for i := range n.dew {
			n.dew[i] = n.low[i]
		}
		note("Humidity is not given: the dew point is taken to be the day's lowest temperature (FAO Irrigation and Drainage Paper 56, equation 48).")
	}
	switch {
	case n.falls == nil && n.depth == nil:
		note("Snow is not given: the ground is taken to be bare all year.")
	case n.falls == nil:
		note("Snowfall is not given: the depth of snow goes evenly from month to month and does not follow the thaws.")
	}
	return n, nil
}

// FromNormals shapes monthly normals into a typical year, hour by hour. The
// same normals always give the same year. Each month's mean daily highest and
// lowest temperature (over the day's hours), sun, wind, and dew point or
// humidity come back as given; the days between vary by a fixed run of chance,
// so that there are cold snaps, thaws and dull days. doc.go tells how.
//
// It refuses values that cannot be, by field and rule, and sun that no clear
// sky gives.
func FromNormals(in Normals) (*Year, error) {
	n, err := in.read()
	if err != nil {
		return nil, fmt.Errorf("normals: %w", err)
	}
	y := &Year{Place: n.place, Source: n.source, Notes: n.notes, Hours: make([]Hour, HoursAYear), sun: newSunYear(n.place)}
	chance := newChance(n.seed)
	clear, warm, windy := chance.days(0.35), chance.days(0.72), chance.days(0.3)

	cover, err := y.shapeSun(n, clear)
	if err != nil {
		return nil, fmt.Errorf("normals: %w", err)
	}
	y.shapeAir(n, clear, warm)
	if err := y.shapeDew(n); err != nil {
		return nil, fmt.Errorf("normals: %w", err)
	}
	y.shapeWind(n, windy)
	pressure := StandardPressure(n.place.Elevation)
	for i := range y.Hours {
		h := &y.Hours[i]
		h.Pressure = pressure
		h.Sky = skyRadiation(h.Air.Celsius(), h.DewPoint.Celsius(), cover[i/24])
	}
	y.shapeSnow(n, clear)
	return y, nil
}

// days of a month as a range of days of the year.
func daysOf(month int) (from, to int) { return daysBefore[month], daysBefore[month+1] }

// level finds x between least and most where f, which grows with x, is zero.
func level(least, most float64, f func(float64) float64) float64 {
	for range 100 {
		mid := (least + most) / 2
		if f(mid) < 0 {
			least = mid
		} else {
			most = mid
		}
	}
	return (least + most) / 2
}

const (
	// A day's sun as a share of a clear day's: the dullest and, as Haurwitz's
	// clear sky is that of low ground and hazy air, the brightest. Our judgement.
	dullest   = 0.06
	brightest = 1.06
	// How far a day's share swings about the month's. Our judgement.
	swing = 0.28
)

// shapeSun fills the sun and gives each day's cloud cover, 0 to 1.
func (y *Year) shapeSun(n normals, clear []float64) (cover []float64, err error) {
	cleared := make([]float64, HoursAYear) // W/m² under a clear sky
	for i := range cleared {
		// B. Haurwitz, Insolation in relation to cloud type, Journal of
		// Meteorology 3, 1946 (coefficients as usually quoted, from memory).
		if s := y.sun.hours[i]; s.lit > 0 {
			height := s.up / s.lit
			cleared[i] = s.lit * 1098 * height * math.Exp(-0.057/height)
		}
	}
	cover = make([]float64, 365)
	for m := range 12 {
		from, to := daysOf(m)
		day := func(values func(hour int) float64, d int) float64 {
			sum := 0.0
			for h := d * 24; h < (d+1)*24; h++ {
				sum += values(h)
			}
			return sum
		}
		bright := make([]float64, to-from) // Wh/m² of each clear day
		most, outside := 0.0, 0.0
		for d := from; d < to; d++ {
			bright[d-from] = day(func(h int) float64 { return cleared[h] }, d)
			most += bright[d-from]
			outside += day(func(h int) float64 { return extra(h) * y.sun.hours[h].up }, d)
		}
		want, field := 0.0, "sun_kwh_m2_day"
		if n.sun != nil {
			want = n.sun[m] * 1000 * float64(to-from)
		} else {
			want, field = n.clearness[m]*outside, "clearness"
		}
		if want > brightest*most {
			return nil, fmt.Errorf("%s[%d]: is more than a clear sky gives in %s, %.3g kWh/m² a day", field, m, time.Month(m+1), brightest*most/1000/float64(to-from))
		}
		share := func(d int, shift float64) float64 { return clip(shift+swing*clear[d], dullest, brightest) }
		total := func(shift float64) float64 {
			sum := 0.0
			for d := from; d < to; d++ {
				sum += share(d, shift) * bright[d-from]
			}
			return sum - want
		}
		shift := level(-3, 3, total)
		if want <= dullest*most {
			share = func(int, float64) float64 { return want / max(most, 1) }
		}
		for d := from; d < to; d++ {
			k := share(d, shift)
			// F. Kasten and G. Czeplak, Solar Energy 24, 1980: the sun under a
			// cloud cover of N eighths is 1 - 0.75·(N/8)^3.4 of the clear sky's.
			cover[d] = math.Pow(clip((1-k)/0.75, 0, 1), 1/3.4)
			for h := d * 24; h < (d+1)*24; h++ {
				y.Hours[h].shine(k*cleared[h], y.sun.hours[h], extra(h))
			}
		}
	}
	return cover, nil
}

// shine parts an hour's global sun so that global is sky and beam together.
func (h *Hour) shine(global float64, s sunHour, extra float64) {
	if global <= 0 || s.lit <= 0 {
		return
	}
	clearness := clip(global/(extra*max(s.up, 0.065*s.lit)), 0, 1)
	h.Global = global
	h.Diffuse = global * cloudy(clearness)
	h.Beam = (global - h.Diffuse) / s.up
	// In the first and last minutes of the sun the quotient says little.
	if s.up < leastCosine*3*s.lit || h.Beam > extra {
		h.Beam, h.Diffuse = 0, global
	}
}

// shapeAir fills the air's temperature: from the day's lowest at sunrise to its
// highest at three in the afternoon and down again, along half a cosine.
//
// Where days are to differ by more than their own span, no day can have so
// narrow a one: the difference is then made smaller until the normals come
// back.
func (y *Year) shapeAir(n normals, clear, warm []float64) {
	var air []float64
	for part := 1.0; ; part *= 0.7 {
		met := false
		if air, met = y.airOf(n, clear, warm, part); met || part < 0.001 {
			break
		}
	}
	for i := range air {
		y.Hours[i].Air = units.Temperature(air[i])
	}
}

// airOf shapes the air with a part of the usual variation between days, and says
// whether the normals came back.
func (y *Year) airOf(n normals, clear, warm []float64, part float64) (air []float64, met bool) {
	highs, lows := make([]float64, 365), make([]float64, 365)
	coldest := make([]int, 365)
	for d := range 365 {
		m := int(MonthOf(d*24)) - 1
		// Through the months' middles, or towards steps from month to month.
		high := n.high[m] + part*(between(n.high, d)-n.high[m])
		low := n.low[m] + part*(between(n.low, d)-n.low[m])
		// The colder the month, the further its days lie apart: 3 °C in July, 6 to
		// 7 in January. Clear days are the warmer in summer and the colder in
		// winter, and have the wider span. Our judgement, after the daily records
		// of northern stations.
		apart := clip(3+0.13*(20-(n.high[m]+n.low[m])/2), 2.5, 7)
		summer := -math.Cos(2 * math.Pi * float64(d-15) / 365)
		if n.place.Lat < 0 {
			summer = -summer
		}
		mean := (high+low)/2 + part*apart*(0.95*warm[d]+0.3*summer*clear[d])
		span := (high - low) / 2 * clip(1+part*0.25*clear[d], 0.4, 1.7)
		highs[d], lows[d] = mean+span, mean-span

		coldest[d] = 6
		for h := range 12 {
			if y.sun.hours[d*24+h].lit > 0 {
				coldest[d] = int(clip(float64(h), 3, 9))
				break
			}
		}
	}
	const warmest = 14 // the hour that ends at three
	air = make([]float64, HoursAYear)
	// A day that is much colder or warmer than the next has its extreme at
	// midnight, so the means of the days' extremes drift from those of the
	// nodes: each month's nodes are moved until the means come back.
	for range 60 {
		for d := range 365 {
			next := (d + 1) % 365
			ease(air, d*24+coldest[d], lows[d], d*24+warmest, highs[d])
			ease(air, d*24+warmest, highs[d], (d+1)*24+coldest[next], lows[next])
		}
		off := 0.0
		for m := range 12 {
			from, to := daysOf(m)
			high, low := 0.0, 0.0
			for d := from; d < to; d++ {
				most, least := extremes(air[d*24 : (d+1)*24])
				high += most
				low += least
			}
			days := float64(to - from)
			up, down := n.high[m]-high/days, n.low[m]-low/days
			for d := from; d < to; d++ {
				highs[d] += up
				lows[d] += down
			}
			off = max(off, math.Abs(up), math.Abs(down))
		}
		switch {
		case off < 1e-9:
			return air, true
		case off > 50:
			return air, false
		}
	}
	return air, false
}

// between runs monthly values through the middles of the months to a day.
func between(values []float64, day int) float64 {
	m := int(MonthOf(day*24)) - 1
	middle := func(m int) float64 {
		from, to := daysOf((m + 12) % 12)
		return float64(from+to)/2 + 365*math.Floor(float64(m)/12)
	}
	at := float64(day) + 0.5
	if at < middle(m) {
		m--
	}
	part := (at - middle(m)) / (middle(m+1) - middle(m))
	a, b := values[(m+12)%12], values[(m+1)%12]
	return a + part*(b-a)
}

// ease fills the hours from one to another along half a cosine, around the
// year's end.
func ease(values []float64, from int, a float64, to int, b float64) {
	for h := from; h <= to; h++ {
		part := (1 - math.Cos(math.Pi*float64(h-from)/float64(to-from))) / 2
		values[h%len(values)] = a + part*(b-a)
	}
}

func extremes(values []float64) (most, least float64) {
	most, least = values[0], values[0]
	for _, v := range values {
		most, least = max(most, v), min(least, v)
	}
	return most, least
}

// shapeDew fills the dew point: a month's depth below the mean of the day
// around, and never over the air.
func (y *Year) shapeDew(n normals) error {
	around := make([]float64, HoursAYear)
	sum := 0.0
	for h := -12; h < 12; h++ {
		sum += y.Hours[(h+HoursAYear)%HoursAYear].Air.Celsius()
	}
	for h := range around {
		around[h] = sum / 24
		sum += y.Hours[(h+12)%HoursAYear].Air.Celsius() - y.Hours[(h-12+HoursAYear)%HoursAYear].Air.Celsius()
	}
	for m := range 12 {
		from, to := daysOf(m)
		hours := float64(to-from) * 24
		dew := func(h int, shift float64) float64 {
			return min(around[h]+shift, y.Hours[h].Air.Celsius())
		}
		// mean of the month's dew points or humidities, less what is wanted.
		mean := func(shift float64) float64 {
			sum := 0.0
			for h := from * 24; h < to*24; h++ {
				if n.dew != nil {
					sum += dew(h, shift)
				} else {
					sum += 100 * vapour(dew(h, shift)) / vapour(y.Hours[h].Air.Celsius())
				}
			}
			if n.dew != nil {
				return sum/hours - n.dew[m]
			}
			return sum/hours - n.humidity[m]
		}
		if n.dew != nil && mean(60) < 0 {
			return fmt.Errorf("dew_point_c[%d]: must not lie over the air's mean of %.1f °C", m, mean(60)+n.dew[m])
		}
		shift := level(-60, 60, mean)
		for h := from * 24; h < to*24; h++ {
			y.Hours[h].DewPoint = units.Temperature(dew(h, shift))
		}
	}
	return nil
}

// vapour is the pressure of saturated vapour over water in Pa, t in °C: Magnus'
// formula as in the WMO's Guide to Instruments, annex 4.B, -45 to 60 °C.
func vapour(t float64) float64 { return 611.2 * math.Exp(17.62*t/(243.12+t)) }

// dewPoint is the temperature at which vapour of that pressure in Pa saturates.
func dewPoint(pressure float64) float64 {
	l := math.Log(pressure / 611.2)
	return 243.12 * l / (17.62 - l)
}

// skyRadiation is the long-wave that comes down from the sky in W/m², air and
// dew point in °C, cover 0 to 1: G. Clark and C. Allen, 1978, with G. Walton's
// cover of 1983, as building simulations use them.
func skyRadiation(air, dew, cover float64) float64 {
	n := cover * 10
	emissivity := (0.787 + 0.764*math.Log((dew+273.15)/273)) * (1 + 0.0224*n - 0.0035*n*n + 0.00028*n*n*n)
	k := air + 273.15
	return clip(emissivity, 0.3, 1) * 5.670374e-8 * k * k * k * k
}

// shapeWind fills the wind: windier and calmer days, strongest at three.
func (y *Year) shapeWind(n normals, windy []float64) {
	for m := range 12 {
		from, to := daysOf(m)
		sum := 0.0
		at := func(h int) float64 {
			return math.Exp(0.35*windy[h/24]) * (1 + 0.25*math.Cos(2*math.Pi*float64(h%24-14)/24))
		}
		for h := from * 24; h < to*24; h++ {
			sum += at(h)
		}
		for h := from * 24; h < to*24; h++ {
			y.Hours[h].Wind = n.wind[m] * at(h) / sum * float64(to-from) * 24
		}
	}
}

// chance is a run of numbers that is the same on every machine: G. Steele and
// others, Fast splittable pseudorandom number generators, 2014 (SplitMix64).
type chance uint64

func newChance(seed uint64) *chance {
	c := chance(seed + 20_240_229)
	return &c
}

// uniform is over 0 and at most 1.
func (c *chance) uniform() float64 {
	*c += 0x9e3779b97f4a7c15
	z := uint64(*c)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	z ^= z >> 31
	return (float64(z>>11) + 1) / (1 << 53)
}

// normal has mean 0 and spread 1 (Box and Muller), held within 2.5.
func (c *chance) normal() float64 {
	radius := math.Sqrt(-2 * math.Log(c.uniform()))
	return clip(radius*math.Cos(2*math.Pi*c.uniform()), -2.5, 2.5)
}

// days is a value a day that remembers the day before by a part, with mean 0
// and spread 1 within each month.
func (c *chance) days(memory float64) []float64 {
	out := make([]float64, 365)
	at := c.normal()
	for d := range out {
		at = memory*at + math.Sqrt(1-memory*memory)*c.normal()
		out[d] = at
	}
	for m := range 12 {
		from, to := daysOf(m)
		mean, spread := 0.0, 0.0
		for _, v := range out[from:to] {
			mean += v / float64(to-from)
		}
		for _, v := range out[from:to] {
			spread += (v - mean) * (v - mean) / float64(to-from)
		}
		for d := from; d < to; d++ {
			out[d] = (out[d] - mean) / math.Sqrt(spread)
		}
	}
	return out
}
