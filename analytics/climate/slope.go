package climate

import "math"

const (
	// solarConstant is the sun outside the air at its mean distance, in W/m²
	// (ASTM E490-00a).
	solarConstant = 1366.1

	// leastCosine keeps the quotient of the slope's sun to the level's within
	// bounds as the sun goes down: 89°, as the models are usually run.
	leastCosine = 0.01745
)

// Extraterrestrial is the sun outside the air, at right angles to it, in W/m²
// on a day of the year (1 is 1 January). J. W. Spencer, Fourier series
// representation of the position of the sun, Search 2(5), 1971.
func Extraterrestrial(day int) float64 {
	b := 2 * math.Pi * float64(day-1) / 365
	return solarConstant * (1.00011 + 0.034221*math.Cos(b) + 0.00128*math.Sin(b) + 0.000719*math.Cos(2*b) + 0.000077*math.Sin(2*b))
}

// Sunshine is the sun of a moment in W/m², and outside the air.
type Sunshine struct {
	Global  float64 `json:"global_w_m2"`      // on the horizontal
	Beam    float64 `json:"beam_w_m2"`        // at right angles to the sun
	Diffuse float64 `json:"diffuse_w_m2"`     // from the sky, on the horizontal
	Extra   float64 `json:"outside_air_w_m2"` // at right angles to the sun
}

// Split parts the global sun into beam and sky by the hour's clearness, after
// D. G. Erbs, S. A. Klein and J. A. Duffie, Estimation of the diffuse radiation
// fraction for hourly, daily and monthly-average global radiation, Solar Energy
// 28, 1982. clearness is the global sun by the sun outside the air on the same
// plane. global and extra are in W/m², zenith is in degrees. At a zenith past
// 87° everything is counted as sky.
func Split(global, zenith, extra float64) (s Sunshine, clearness float64) {
	cos := math.Cos(zenith * degree)
	if global > 0 {
		clearness = clip(global/(extra*max(cos, 0.065)), 0, 1)
	}
	s = Sunshine{Global: global, Diffuse: global * cloudy(clearness), Extra: extra}
	if zenith > 87 {
		s.Diffuse = global
	} else {
		s.Beam = (global - s.Diffuse) / cos
	}
	return s, clearness
}

// cloudy is the part of the global sun that comes from the sky (Erbs).
func cloudy(clearness float64) float64 {
	switch {
	case clearness <= 0.22:
		return 1 - 0.09*clearness
	case clearness <= 0.8:
		return power(clearness, 0.9511, -0.1604, 4.388, -16.638, 12.336)
	}
	return 0.165
}

// Slope is what falls on a plane, in W/m²: straight from the sun, from the
// ground, and from the sky by three models.
type Slope struct {
	Beam      float64 `json:"beam_w_m2"`
	Ground    float64 `json:"ground_w_m2"`
	Isotropic float64 `json:"sky_isotropic_w_m2"`
	HayDavies float64 `json:"sky_hay_davies_w_m2"`
	Reindl    float64 `json:"sky_reindl_w_m2"`
}

// Total is beam, ground and sky together, the sky by Hay and Davies.
func (s Slope) Total() float64 { return s.Beam + s.Ground + s.HayDavies }

// On puts the sun on a plane. All angles are in degrees: the sun's zenith and
// azimuth, the plane's tilt from the horizontal and the direction it faces,
// clockwise from north. albedo is the part of the sun that the ground throws
// back, 0 to 1.
//
// The ground and the even sky are after B. Y. H. Liu and R. C. Jordan, Solar
// Energy 7, 1963; the sky that is brighter round the sun after J. E. Hay and
// J. A. Davies, 1980; and at the horizon too after D. T. Reindl, W. A. Beckman
// and J. A. Duffie, Solar Energy 45, 1990.
func (s Sunshine) On(zenith, azimuth, tilt, facing, albedo float64) Slope {
	level := math.Cos(zenith * degree)
	return s.on(max(0, cosIncidence(zenith, azimuth, tilt, facing)), max(0, level), max(level, leastCosine), tilt, albedo)
}

// on takes the cosines of the plane's and the level's angle with the sun. least
// is what the level's is taken for in the quotient of both.
func (s Sunshine) on(plane, level, least, tilt, albedo float64) Slope {
	cosTilt := math.Cos(tilt * degree)
	ground := s.Global * albedo * (1 - cosTilt) / 2
	even := s.Diffuse * (1 + cosTilt) / 2
	around := 0.0 // the share of the sky's light that comes from round the sun
	if s.Extra > 0 {
		around = s.Beam / s.Extra
	}
	near := s.Diffuse * around * plane / least
	out := Slope{Beam: s.Beam * plane, Ground: ground, Isotropic: even, HayDavies: near + (1-around)*even}
	brighter := 0.0
	if s.Global > 0 {
		brighter = math.Sqrt(s.Beam*level/s.Global) * math.Pow(math.Sin(tilt/2*degree), 3)
	}
	out.Reindl = near + (1-around)*even*(1+brighter)
	return out
}
