package attic

import (
	"fmt"
	"math"

	"overhang/analytics/climate"
)

const (
	// The wind at the eave as a part of that at the mast, from 10 m in the open
	// to 5 m among houses: (270/10)^0.14·(5/370)^0.22, ASHRAE Fundamentals,
	// from memory.
	windAtEave = 0.615

	// Convection by a wind of 1 m/s over a slope of 10 by 5 m as rough as
	// shingles are: 2.537·2.17·√(perimeter/area) (Walton 1983, from memory).
	forced = 4.27

	bareGround  = 0.2 // of the sun thrown back: usual value
	snowyGround = 0.6 // our judgement, between old and new snow
)

// believable refuses a year that is not one.
func believable(y *climate.Year) error {
	if len(y.Hours) < 24 {
		return fmt.Errorf("year: must have at least 24 hours, not %d", len(y.Hours))
	}
	for i := range y.Hours {
		h := &y.Hours[i]
		bad := func(v, least, most float64) bool { return !(v >= least && v <= most) }
		switch {
		case bad(h.Air.Celsius(), -80, 65):
			return fmt.Errorf("year: hour %d: air must lie between -80 and 65 °C", i)
		case bad(h.DewPoint.Celsius(), -100, 40):
			return fmt.Errorf("year: hour %d: dew point must lie between -100 and 40 °C", i)
		case bad(h.Wind, 0, 100):
			return fmt.Errorf("year: hour %d: wind must lie between 0 and 100 m/s", i)
		case bad(h.Pressure, 50_000, 110_000):
			return fmt.Errorf("year: hour %d: pressure must lie between 50,000 and 110,000 Pa", i)
		case bad(h.Sky, 0, 800):
			return fmt.Errorf("year: hour %d: sky must lie between 0 and 800 W/m²", i)
		case bad(h.Beam, 0, 1500), bad(h.Diffuse, 0, 1500), bad(h.Global, 0, 1500):
			return fmt.Errorf("year: hour %d: sun must lie between 0 and 1,500 W/m²", i)
		case bad(float64(h.Snow), 0, 20):
			return fmt.Errorf("year: hour %d: snow must lie between 0 and 20 m", i)
		}
	}
	return nil
}

// onRoof is the part of the snow on the ground that lies on a slope.
func onRoof(degrees float64) float64 {
	return roofSnow * min(1, max(0, (70-degrees)/40))
}

// newWeather is a year as a slope of that rise over run, its opposite, and the
// shelter meet it. facing is in degrees from north by east.
func newWeather(y *climate.Year, rise, facing, shelter float64) *weather {
	tilt := math.Atan(rise)
	degrees := tilt * 180 / math.Pi
	w := &weather{hours: make([]hour, len(y.Hours)), lean: math.Cos(tilt)}
	up := (1 + w.lean) / 2 // of the sky that the slope sees
	room := humidity(mostRoom*overWater(inside), 101_325)
	opposite := math.Mod(facing+180, 360)
	for i := range y.Hours {
		from := &y.Hours[i]
		h := &w.hours[i]
		h.air = from.Air.Celsius()
		h.pressure = from.Pressure
		h.density = density(h.pressure, h.air)
		wind := from.Wind * windAtEave
		h.wind = forced * math.Sqrt(wind)
		h.gust = h.density * wind * wind * shelter * shelter / 2
		ground := bareGround
		if float64(from.Snow) >= leastSnow {
			ground = snowyGround
			h.snow = float64(from.Snow) * onRoof(degrees)
		}
		h.sun[0] = max(0, y.OnSlope(i, degrees, facing, ground))
		h.sun[1] = max(0, y.OnSlope(i, degrees, opposite, ground))
		k := h.air + kelvin
		h.sky = up*from.Sky + (1-up)*stefan*k*k*k*k
		h.vapour = humidity(overWater(min(from.DewPoint.Celsius(), h.air)), h.pressure)
		h.room = min(h.vapour+gain, max(room, h.vapour))
	}
	w.still = stillWeather(w.lean, degrees)
	return w
}

// stillWeather is the one that vents are sized for against icings: 22 °F
// outside, calm, no sun, a foot of snow on the ground.
func stillWeather(lean, degrees float64) *weather {
	k := icing + kelvin
	h := hour{air: icing, pressure: 101_325, density: density(101_325, icing),
		sky: stefan * k * k * k * k, snow: 0.3 * onRoof(degrees),
		vapour: humidity(damp*overWater(icing), 101_325), room: humidity(mostRoom/2*overWater(inside), 101_325)}
	w := &weather{lean: lean, hours: make([]hour, 36)}
	for i := range w.hours {
		w.hours[i] = h
	}
	return w
}
