package attic

import (
	"math"
	"sync"

	"overhang/analytics/climate"
	"overhang/analytics/units"
)

// snowy is a year of the snow country shaped by sines, so that these tests stand
// whatever the stations of package climate say: mean 8 °C, months from −7 to
// 23 °C, at 43° north, with clear and cloudy days by turns and snow that comes
// and melts.
var snowy = sync.OnceValue(func() *climate.Year {
	const lat = 43.1
	y := &climate.Year{Place: climate.Place{Name: "snow country", Lat: lat, Lon: -90, Zone: -6}, Hours: make([]climate.Hour, climate.HoursAYear)}
	snow := 0.0
	for range 2 { // the second winter begins with the first one's snow
		for i := range y.Hours {
			day, clock := float64(i/24), float64(i%24)+0.5
			daily := math.Cos(2 * math.Pi * (clock - 15) / 24)
			air := 8 - 15*math.Cos(2*math.Pi*(day-20)/365) + 5.5*daily + 2.5*(math.Sin(2.3*day)+math.Sin(0.9*day)+math.Sin(0.37*day))
			cloud := min(1, max(0, 0.5+0.35*math.Sin(1.7*day)+0.2*math.Sin(0.61*day)))
			height := sinHeight(lat, day, clock)
			beam, diffuse := 0.0, 0.0
			if height > 0.02 {
				beam = 1353 * math.Pow(0.74, math.Pow(1/height, 0.678)) * (1 - cloud)
				diffuse = height * (120*(1-cloud) + 330*cloud)
			}
			dew := air - 4 - 2*daily
			clear := 0.741 + 0.0062*dew
			if air < 0 {
				snow += 0.0012 * cloud
			} else {
				snow = max(0, snow-0.0005*air)
			}
			y.Hours[i] = climate.Hour{
				Air: units.Temperature(air), DewPoint: units.Temperature(dew),
				Wind:     max(0.5, 4+1.5*math.Sin(1.1*day)+1.5*math.Cos(2*math.Pi*(clock-14)/24)),
				Pressure: 98_000, Global: beam*height + diffuse, Beam: beam, Diffuse: diffuse,
				Sky:  (clear + (1-clear)*cloud*0.8) * stefan * math.Pow(air+kelvin, 4),
				Snow: units.Length(snow),
			}
		}
	}
	return y
})

// sinHeight is the sine of the sun's height, for the beam of the year above.
func sinHeight(lat, day, clock float64) float64 {
	decline := 23.45 * math.Pi / 180 * math.Sin(2*math.Pi*(285+day)/365)
	l, turn := lat*math.Pi/180, (clock-12)*math.Pi/12
	return math.Sin(l)*math.Sin(decline) + math.Cos(l)*math.Cos(decline)*math.Cos(turn)
}
