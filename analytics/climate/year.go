package climate

import (
	"math"
	"slices"
	"time"

	"overhang/analytics/units"
)

// HoursAYear is the length of a typical year, which has no 29 February.
const HoursAYear = 8760

// Hour is one hour of a typical year, the mean of the hour that ends at
// (index+1) o'clock, local standard time.
type Hour struct {
	Air      units.Temperature `json:"air_c"`
	DewPoint units.Temperature `json:"dew_point_c"`
	Wind     float64           `json:"wind_m_per_s"` // at 10 m over open ground
	Pressure float64           `json:"pressure_pa"`  // at the station, not at sea level
	// The sun in W/m²: on the horizontal, at right angles to the sun, and from
	// the sky on the horizontal.
	Global  float64      `json:"global_w_m2"`
	Beam    float64      `json:"beam_w_m2"`
	Diffuse float64      `json:"diffuse_w_m2"`
	Sky     float64      `json:"sky_w_m2"` // downward long-wave on the horizontal
	Snow    units.Length `json:"snow_m"`   // depth on the ground
}

// Place is where a year was measured or is told of.
type Place struct {
	Key       string       `json:"key,omitempty"`
	Name      string       `json:"name"`
	Lat       float64      `json:"lat"`  // degrees, north positive
	Lon       float64      `json:"lon"`  // degrees, east positive
	Zone      float64      `json:"zone"` // hours of standard time ahead of UTC
	Elevation units.Length `json:"elevation_m"`
	// Source tells where the figures were read, and which were only remembered.
	Source string `json:"source,omitempty"`
}

// Year is a typical year, hour by hour from 1 January, local standard time.
type Year struct {
	Place  Place
	Source string
	Hours  []Hour // HoursAYear of them, no leap day
	// Notes tell what was not given or measured, and what was taken for it.
	Notes []string

	// sun is worked out beforehand by those who make years here. A year made
	// by hand has none, and one that was moved has another's: both are then
	// worked out hour by hour, which is slower and the same.
	sun *sunYear
}

// daysBefore is the days of a common year before each month, and its length.
var daysBefore = [13]int{0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365}

// MonthOf gives the month in which an hour of the year lies.
func MonthOf(hour int) time.Month {
	day := hour / 24
	for m := 1; m < 12; m++ {
		if day < daysBefore[m] {
			return time.Month(m)
		}
	}
	return time.December
}

// of gives the hours of a month, fewer when the year is short.
func (y *Year) of(m time.Month) []Hour {
	from, to := daysBefore[m-1]*24, daysBefore[m]*24
	return y.Hours[min(from, len(y.Hours)):min(to, len(y.Hours))]
}

// JanuaryMean is the mean air temperature of January, NaN when the year has no
// hours.
func (y *Year) JanuaryMean() units.Temperature { return units.Temperature(meanAir(y.of(time.January))) }

func meanAir(hours []Hour) float64 {
	if len(hours) == 0 {
		return math.NaN()
	}
	sum := 0.0
	for i := range hours {
		sum += hours[i].Air.Celsius()
	}
	return sum / float64(len(hours))
}

// DegreeDays sums over the days of the year how far the mean of the day's hours
// lies below a base, in °C·days. Canadian codes ask for base 18 °C. The normals
// of the weather services take the middle of the day's highest and lowest
// instead of the mean, which differs by a per cent or two.
func (y *Year) DegreeDays(base units.Temperature) float64 {
	sum := 0.0
	for from := 0; from+24 <= len(y.Hours); from += 24 {
		sum += max(0, base.Celsius()-meanAir(y.Hours[from:from+24]))
	}
	return sum
}

// FreezeThawDays counts the days of the year of which some hours lie below 0 °C
// and some above.
func (y *Year) FreezeThawDays() int {
	n := 0
	for from := 0; from+24 <= len(y.Hours); from += 24 {
		below, above := false, false
		for i := range y.Hours[from : from+24] {
			air := y.Hours[from+i].Air.Celsius()
			below, above = below || air < 0, above || air > 0
		}
		if below && above {
			n++
		}
	}
	return n
}

// Design is the air temperature that a share of the year's hours stays below:
// 0.01 for the design of heating (99 % of hours are warmer), 0.99 for cooling.
// It is NaN for a share outside 0 to 1 or a year without hours. A year shaped
// from normals has milder extremes than a run of real ones.
func (y *Year) Design(share float64) units.Temperature {
	if !(share >= 0 && share <= 1) || len(y.Hours) == 0 {
		return units.Temperature(math.NaN())
	}
	air := make([]float64, len(y.Hours))
	for i := range y.Hours {
		air[i] = y.Hours[i].Air.Celsius()
	}
	slices.Sort(air)
	at := share * float64(len(air)-1)
	low := int(at)
	high := min(low+1, len(air)-1)
	return units.Temperature(air[low] + (at-float64(low))*(air[high]-air[low]))
}
