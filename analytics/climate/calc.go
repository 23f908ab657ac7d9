package climate

import (
	"fmt"
	"math"
	"time"

	"overhang/analytics/units"
)

// btuPerHourFt2 is one W/m² in Btu (International Table) an hour and square foot.
const btuPerHourFt2 = 3600 / 1055.05585262 * float64(units.SquareFoot)

// SunInput asks where the sun stands over a place at a moment, and what it
// brings to a slope. Of each pair of fields that differ only by unit at most one
// may be given; the slope and the sun's strength may be left out.
type SunInput struct {
	Time string   `json:"time"`          // RFC 3339 with its zone: 2026-12-21T10:00:00-06:00
	Lat  *float64 `json:"lat,omitempty"` // degrees, north positive
	Lon  *float64 `json:"lon,omitempty"` // degrees, east positive

	ElevationFt *float64 `json:"elevation_ft,omitempty"` // left out, sea level
	ElevationM  *float64 `json:"elevation_m,omitempty"`
	PressurePa  *float64 `json:"pressure_pa,omitempty"` // left out, the standard atmosphere's
	AirC        *float64 `json:"air_c,omitempty"`       // left out, 10 °C
	AirF        *float64 `json:"air_f,omitempty"`

	RiseIn12 *float64 `json:"rise_in_12,omitempty"` // of the slope
	TiltDeg  *float64 `json:"tilt_deg,omitempty"`
	Facing   *float64 `json:"facing_deg,omitempty"` // clockwise from north

	// The sun in W/m²: on the horizontal, at right angles to it, and from the
	// sky on the horizontal. Global alone is parted by the hour's clearness;
	// of two the third follows.
	Global  *float64 `json:"global_w_m2,omitempty"`
	Beam    *float64 `json:"beam_w_m2,omitempty"`
	Diffuse *float64 `json:"diffuse_w_m2,omitempty"`
	Albedo  *float64 `json:"albedo,omitempty"` // of the ground; left out, 0.2

	Units units.System `json:"units,omitempty"` // of the sentences: us (when empty) or metric
}

// SunResult is where the sun stands and what falls on the slope.
type SunResult struct {
	Zenith    float64 `json:"zenith_deg"`    // from straight up, seen through the air
	Elevation float64 `json:"elevation_deg"` // over the horizon
	Azimuth   float64 `json:"azimuth_deg"`   // clockwise from north
	// EquationOfTime is the sundial less the mean sun, in minutes.
	EquationOfTime float64 `json:"equation_of_time_min"`

	// Rise, Transit and Set in the zone of the time given; empty when the sun
	// does not cross the horizon that day.
	Rise    string `json:"rise,omitempty"`
	Transit string `json:"transit"`
	Set     string `json:"set,omitempty"`

	Incidence *float64  `json:"incidence_deg,omitempty"` // between the sun and the slope's normal
	Shine     *Sunshine `json:"sun,omitempty"`           // as given or parted
	Slope     *Slope    `json:"on_slope,omitempty"`
	Total     *float64  `json:"on_slope_total_w_m2,omitempty"` // beam, ground and sky (Hay and Davies)

	Measure []string `json:"measure,omitempty"` // fields that would tell more
	Says    []string `json:"says"`
}

// Sun tells where the sun stands and what it brings to a slope. It refuses, by
// field and rule, a time without its zone, a place that is not given, and values
// that cannot be.
func Sun(in SunInput) (SunResult, error) {
	r := &units.Reader{}
	one := func(field string, v *float64, least, most float64) float64 {
		return r.One(least, most, units.Alternative{Field: field, Value: v, Unit: 1})
	}
	when, err := time.Parse(time.RFC3339, in.Time)
	if err != nil {
		r.Refuse("time", "write it with its zone, such as 2026-12-21T10:00:00-06:00")
	} else if when.Year() < 1900 || when.Year() > 2100 {
		r.Refuse("time", "must lie between 1900 and 2100")
	}
	from := Observer{Lat: one("lat", in.Lat, -90, 90), Lon: one("lon", in.Lon, -180, 180), Air: 10}
	if in.Lat == nil {
		r.Refuse("lat", "must be given")
	}
	if in.Lon == nil {
		r.Refuse("lon", "must be given")
	}
	if v := r.One(-450, 6000, units.Alternative{Field: "elevation_ft", Value: in.ElevationFt, Unit: float64(units.Foot)}, units.Alternative{Field: "elevation_m", Value: in.ElevationM, Unit: 1}); !math.IsNaN(v) {
		from.Elevation = units.Length(v)
	}
	if v := one("pressure_pa", in.PressurePa, 31_000, 120_000); !math.IsNaN(v) {
		from.Pressure = v
	}
	if v := temperature(r, -80, 65, "air", in.AirC, in.AirF); !math.IsNaN(v) {
		from.Air = units.Temperature(v)
	}
	tilt := one("tilt_deg", in.TiltDeg, 0, 90)
	if rise := one("rise_in_12", in.RiseIn12, 0, 60); !math.IsNaN(rise) {
		if in.TiltDeg != nil {
			r.Refuse("tilt_deg", "give either rise_in_12 or tilt_deg, not both")
		}
		tilt = units.PitchIn12(rise).Degrees()
	}
	facing := one("facing_deg", in.Facing, 0, 360)
	global, beam, diffuse := one("global_w_m2", in.Global, 0, 1600), one("beam_w_m2", in.Beam, 0, 1600), one("diffuse_w_m2", in.Diffuse, 0, 1600)
	albedo := one("albedo", in.Albedo, 0, 1)
	if math.IsNaN(albedo) {
		albedo = 0.2 // bare ground, common practice, no source
	}
	if in.Units != "" && in.Units != units.US && in.Units != units.Metric {
		r.Refuse("units", "must be us or metric")
	}
	if r.Err != nil {
		return SunResult{}, r.Err
	}

	at := SunAt(when, from)
	_, offset := when.Zone()
	day := SunOn(units.DateOf(when), float64(offset)/3600, from)
	clock := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.In(when.Location()).Format(time.RFC3339)
	}
	out := SunResult{
		Zenith: at.Zenith, Elevation: 90 - at.Zenith, Azimuth: at.Azimuth, EquationOfTime: at.EquationOfTime,
		Rise: clock(day.Rise), Transit: clock(day.Transit), Set: clock(day.Set),
	}
	if out.Elevation > 0 {
		out.says("The sun stands %.0f° over the horizon in the %s.", out.Elevation, compass(at.Azimuth))
	} else {
		out.says("The sun is below the horizon.")
	}
	switch {
	case !day.Rise.IsZero() && !day.Set.IsZero():
		const short = "15:04"
		out.says("It rises at %s, is highest at %s and sets at %s.", day.Rise.In(when.Location()).Format(short), day.Transit.In(when.Location()).Format(short), day.Set.In(when.Location()).Format(short))
	case day.Rise.IsZero() && day.Set.IsZero() && day.Up:
		out.says("It stays up all day.")
	case day.Rise.IsZero() && day.Set.IsZero():
		out.says("It stays down all day.")
	}

	// A level roof faces anywhere.
	if tilt == 0 && math.IsNaN(facing) {
		facing = 180
	}
	if math.IsNaN(tilt) {
		out.Measure = append(out.Measure, "rise_in_12")
	}
	if math.IsNaN(facing) {
		out.Measure = append(out.Measure, "facing_deg")
	}
	known := len(out.Measure) == 0
	if known {
		angle := at.Incidence(tilt, facing)
		out.Incidence = &angle
		switch {
		case out.Elevation <= 0:
		case angle >= 90:
			out.says("The slope lies in its own shade: the sun is behind it.")
		default:
			out.says("It meets the slope at %.0f° from straight on.", angle)
		}
	}
	shine, told := shineOf(at, units.DateOf(when), global, beam, diffuse)
	if !told {
		out.Measure = append(out.Measure, "global_w_m2")
		return out, nil
	}
	out.Shine = &shine
	if known {
		slope := shine.On(at.Zenith, at.Azimuth, tilt, facing, albedo)
		total := slope.Total()
		out.Slope, out.Total = &slope, &total
		if in.Units == units.Metric {
			out.says("The slope takes in %.0f W/m², %.0f of them straight from the sun.", total, slope.Beam)
		} else {
			out.says("Each square foot of the slope takes in %.0f Btu an hour, %.0f of them straight from the sun.", total*btuPerHourFt2, slope.Beam*btuPerHourFt2)
		}
	}
	return out, nil
}

func (r *SunResult) says(format string, values ...any) {
	r.Says = append(r.Says, fmt.Sprintf(format, values...))
}

// shineOf makes the sun's three parts of what is given; NaN is not known.
func shineOf(at Position, day units.Date, global, beam, diffuse float64) (Sunshine, bool) {
	above := Extraterrestrial(min(365, int(day-units.NewDate(day.Year(), 1, 1))+1))
	up := max(0, math.Cos(at.Zenith*degree))
	hasG, hasB, hasD := !math.IsNaN(global), !math.IsNaN(beam), !math.IsNaN(diffuse)
	switch {
	case hasG && hasB && hasD:
	case hasB && hasD:
		global = diffuse + beam*up
	case hasG && hasB:
		diffuse = max(0, global-beam*up)
	case hasG && hasD:
		beam = 0
		if up > 0 {
			beam = clip((global-diffuse)/max(up, leastCosine), 0, above)
		}
	case hasG:
		s, _ := Split(global, at.Zenith, above)
		return s, true
	default:
		return Sunshine{}, false
	}
	return Sunshine{global, beam, diffuse, above}, true
}

// temperature reads a temperature in either scale, in °C, or NaN.
func temperature(r *units.Reader, least, most float64, field string, c, f *float64) float64 {
	if f != nil {
		if c != nil {
			r.Refuse(field+"_f", "give either "+field+"_c or "+field+"_f, not both")
		}
		v := units.Fahrenheit(*f).Celsius()
		if !(v >= least && v <= most) {
			r.Refuse(field+"_f", fmt.Sprintf("%v must lie between %.4g and %.4g", *f, units.Temperature(least).Fahrenheit(), units.Temperature(most).Fahrenheit()))
		}
		return v
	}
	return r.One(least, most, units.Alternative{Field: field + "_c", Value: c, Unit: 1})
}

// compass names a direction by the nearest of eight.
func compass(azimuth float64) string {
	return []string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}[int(math.Round(turn(azimuth)/45))%8]
}

// TypicalInput asks for the typical year of a station (see Stations), or of a
// place by its own normals.
type TypicalInput struct {
	// Year is a year read from a file; it takes the place of the other two.
	Year *Year `json:"-"`

	Station string   `json:"station,omitempty"`
	Normals *Normals `json:"normals,omitempty"`

	// Base of the degree-days; left out, 18 °C.
	BaseC *float64 `json:"base_c,omitempty"`
	BaseF *float64 `json:"base_f,omitempty"`

	Units units.System `json:"units,omitempty"` // of the sentences: us (when empty) or metric
}

// MonthSummary is one month of a typical year.
type MonthSummary struct {
	Month    int               `json:"month"` // 1 is January
	Mean     units.Temperature `json:"mean_c"`
	Max      units.Temperature `json:"max_c"` // mean of the days' highest and lowest hours
	Min      units.Temperature `json:"min_c"`
	Highest  units.Temperature `json:"highest_c"`
	Lowest   units.Temperature `json:"lowest_c"`
	DewPoint units.Temperature `json:"dew_point_c"`
	Humidity float64           `json:"humidity_percent"`
	Wind     float64           `json:"wind_m_per_s"`
	Sun      float64           `json:"sun_kwh_m2_day"`     // on the horizontal
	Diffuse  float64           `json:"diffuse_kwh_m2_day"` // of that from the sky
	Snow     units.Length      `json:"snow_m"`             // mean depth on the ground
	Thaw     int               `json:"hours_over_freezing"`
	Days     float64           `json:"degree_days_c"` // heating degree-days
}

// Months sums the year up month by month, with degree-days under a base. Months
// that a short year does not have are left out.
func (y *Year) Months(base units.Temperature) []MonthSummary {
	var out []MonthSummary
	for m := time.January; m <= time.December; m++ {
		hours := y.of(m)
		days := len(hours) / 24
		if days == 0 {
			continue
		}
		s := MonthSummary{Month: int(m), Highest: hours[0].Air, Lowest: hours[0].Air}
		n, d := float64(days*24), float64(days)
		for from := 0; from < days*24; from += 24 {
			most, least := hours[from].Air, hours[from].Air
			for _, h := range hours[from : from+24] {
				most, least = max(most, h.Air), min(least, h.Air)
				s.Mean += h.Air / units.Temperature(n)
				s.DewPoint += h.DewPoint / units.Temperature(n)
				s.Humidity += 100 * vapour(h.DewPoint.Celsius()) / vapour(h.Air.Celsius()) / n
				s.Wind += h.Wind / n
				s.Sun += h.Global / 1000 / d
				s.Diffuse += h.Diffuse / 1000 / d
				s.Snow += h.Snow / units.Length(n)
				if h.Air > 0 {
					s.Thaw++
				}
			}
			s.Max += most / units.Temperature(d)
			s.Min += least / units.Temperature(d)
			s.Highest, s.Lowest = max(s.Highest, most), min(s.Lowest, least)
			s.Days += max(0, base.Celsius()-meanAir(hours[from:from+24]))
		}
		out = append(out, s)
	}
	return out
}

// TypicalResult is a typical year summed up.
type TypicalResult struct {
	Place  Place          `json:"place"`
	Source string         `json:"source,omitempty"`
	Notes  []string       `json:"notes,omitempty"` // what was not given and what was taken
	Months []MonthSummary `json:"months"`

	JanuaryMean units.Temperature `json:"january_mean_c"`
	Base        units.Temperature `json:"base_c"`
	DegreeDays  float64           `json:"degree_days_c"` // heating degree-days, °C·days
	// ColdDesign and WarmDesign are the temperatures that 1 % and 99 % of the
	// hours stay below.
	ColdDesign units.Temperature `json:"cold_design_c"`
	WarmDesign units.Temperature `json:"warm_design_c"`

	Says []string `json:"says"`
}

// Typical sums up the typical year of a station or of given normals. It refuses
// a station that is not known, both or neither of the two, and what FromNormals
// refuses.
func Typical(in TypicalInput) (TypicalResult, error) {
	r := &units.Reader{}
	base := temperature(r, -20, 40, "base", in.BaseC, in.BaseF)
	if math.IsNaN(base) {
		base = 18
	}
	if in.Units != "" && in.Units != units.US && in.Units != units.Metric {
		r.Refuse("units", "must be us or metric")
	}
	switch {
	case in.Year != nil && (in.Station != "" || in.Normals != nil):
		r.Refuse("station", "the year comes from a file: give neither station nor normals")
	case in.Year != nil:
	case in.Station == "" && in.Normals == nil:
		r.Refuse("station", "give a station or normals")
	case in.Station != "" && in.Normals != nil:
		r.Refuse("normals", "give either station or normals, not both")
	}
	if r.Err != nil {
		return TypicalResult{}, r.Err
	}
	y, err := in.Year, error(nil)
	switch {
	case y != nil:
	case in.Normals != nil:
		y, err = FromNormals(*in.Normals)
	default:
		y, err = StationYear(in.Station)
	}
	if err != nil {
		return TypicalResult{}, err
	}
	out := TypicalResult{
		Place: y.Place, Source: y.Source, Notes: y.Notes, Months: y.Months(units.Temperature(base)),
		JanuaryMean: y.JanuaryMean(), Base: units.Temperature(base), DegreeDays: y.DegreeDays(units.Temperature(base)),
		ColdDesign: y.Design(0.01), WarmDesign: y.Design(0.99),
	}
	system := in.Units
	if system == "" {
		system = units.US
	}
	name := y.Place.Name
	if name == "" {
		name = "the place"
	}
	days := fmt.Sprintf("%.0f degree-days under %s", out.DegreeDays, system.Temperature(out.Base))
	if system == units.US {
		days = fmt.Sprintf("%.0f degree-days (°F) under %s", out.DegreeDays*1.8, system.Temperature(out.Base))
	}
	out.Says = append(out.Says,
		fmt.Sprintf("January at %s has a mean of %s, and the year %s.", name, system.Temperature(out.JanuaryMean), days),
		fmt.Sprintf("One hour in a hundred is colder than %s, and one is warmer than %s.", system.Temperature(out.ColdDesign), system.Temperature(out.WarmDesign)))
	deepest := out.Months[0]
	for _, m := range out.Months {
		if m.Snow > deepest.Snow {
			deepest = m
		}
	}
	if deepest.Snow > 0 {
		depth := fmt.Sprintf("%.0f cm", deepest.Snow.In(units.Centimetre))
		if system == units.US {
			depth = fmt.Sprintf("%.0f in", deepest.Snow.In(units.Inch))
		}
		out.Says = append(out.Says, fmt.Sprintf("Snow lies deepest in %s, %s on the ground on average.", time.Month(deepest.Month), depth))
	}
	out.Says = append(out.Says, "These are the hours of a typical year shaped from averages, not of any real one: a hard winter is colder and deeper.")
	return out, nil
}
