package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Length is a distance in metres.
type Length float64

// Lengths to build from and to read in.
const (
	Millimetre Length = 0.001
	Centimetre Length = 0.01
	Metre      Length = 1
	Kilometre  Length = 1000
	Inch       Length = 0.0254
	Foot       Length = 12 * Inch
	Mile       Length = 5280 * Foot
)

// In reads the length in the given unit.
func (l Length) In(unit Length) float64 { return float64(l / unit) }

// Area is a surface in square metres.
type Area float64

// Areas to build from and to read in. Square is the roofer's square, 100 ft².
const (
	SquareMillimetre Area = 1e-6
	SquareCentimetre Area = 1e-4
	SquareMetre      Area = 1
	SquareInch       Area = 0.0254 * 0.0254
	SquareFoot       Area = 144 * SquareInch
	Square           Area = 100 * SquareFoot
)

// In reads the area in the given unit.
func (a Area) In(unit Area) float64 { return float64(a / unit) }

// Flow is a volume a second, in cubic metres a second.
type Flow float64

// Flows to build from and to read in. A US gallon is 231 cubic inches.
const (
	CubicMetrePerSecond Flow = 1
	LitrePerSecond      Flow = 1e-3
	GallonPerMinute     Flow = 231 * 0.0254 * 0.0254 * 0.0254 / 60
	CubicFootPerMinute  Flow = 0.3048 * 0.3048 * 0.3048 / 60
)

// In reads the flow in the given unit.
func (f Flow) In(unit Flow) float64 { return float64(f / unit) }

// Temperature is in degrees Celsius. It is a point on the scale, not a
// difference.
type Temperature float64

// Fahrenheit builds a temperature from degrees Fahrenheit.
func Fahrenheit(f float64) Temperature { return Temperature((f - 32) / 1.8) }

// Celsius reads the temperature in degrees Celsius.
func (t Temperature) Celsius() float64 { return float64(t) }

// Fahrenheit reads the temperature in degrees Fahrenheit.
func (t Temperature) Fahrenheit() float64 { return float64(t)*1.8 + 32 }

// Pitch is the steepness of a roof plane as rise over run: 6:12 is 0.5.
type Pitch float64

// PitchIn12 builds a pitch from the inches it rises in twelve inches of run.
func PitchIn12(rise float64) Pitch { return Pitch(rise / 12) }

// In12 reads the pitch as inches of rise in twelve inches of run.
func (p Pitch) In12() float64 { return float64(p) * 12 }

// Degrees reads the pitch as the angle with the horizontal.
func (p Pitch) Degrees() float64 { return math.Atan(float64(p)) * 180 / math.Pi }

// String writes the pitch as the trade says it, "6:12".
func (p Pitch) String() string {
	return strconv.FormatFloat(math.Round(p.In12()*100)/100, 'f', -1, 64) + ":12"
}

// ParsePitch reads a pitch written "6:12", "6/12" or as a bare rise in twelve,
// "6". It refuses a negative rise and anything steeper than 60:12.
func ParsePitch(s string) (Pitch, error) {
	text := strings.TrimSpace(s)
	rise, run, divided := strings.Cut(strings.ReplaceAll(text, "/", ":"), ":")
	over := 12.0
	r, err := strconv.ParseFloat(strings.TrimSpace(rise), 64)
	if err == nil && divided {
		over, err = strconv.ParseFloat(strings.TrimSpace(run), 64)
	}
	if err != nil || over <= 0 || math.IsNaN(r) || math.IsNaN(over) {
		return 0, fmt.Errorf("pitch %q: write the rise in twelve, such as 6:12", s)
	}
	p := Pitch(r / over)
	if p < 0 || p > 5 {
		return 0, fmt.Errorf("pitch %q: must lie between 0:12 and 60:12", s)
	}
	return p, nil
}

// System is the set of units that a company reads and writes.
type System string

// The two systems of units.
const (
	US     System = "us"
	Metric System = "metric"
)

// Length writes a length of house size: feet or metres, one decimal.
func (s System) Length(l Length) string {
	if s == Metric {
		return decimal(l.In(Metre), 1) + " m"
	}
	return decimal(l.In(Foot), 1) + " ft"
}

// SmallLength writes a length of hand size: inches or millimetres.
func (s System) SmallLength(l Length) string {
	if s == Metric {
		return decimal(l.In(Millimetre), 0) + " mm"
	}
	return decimal(l.In(Inch), 2) + " in"
}

// Distance writes a walking or driving distance: feet below a quarter mile and
// miles above, or metres below a kilometre and kilometres above.
func (s System) Distance(l Length) string {
	switch {
	case s == Metric && l < Kilometre:
		return decimal(l.In(Metre), 0) + " m"
	case s == Metric:
		return decimal(l.In(Kilometre), 1) + " km"
	case l < Mile/4:
		return decimal(l.In(Foot), 0) + " ft"
	default:
		return decimal(l.In(Mile), 1) + " mi"
	}
}

// Area writes a floor or roof area in whole square feet or square metres.
func (s System) Area(a Area) string {
	if s == Metric {
		return grouped(a.In(SquareMetre)) + " m²"
	}
	return grouped(a.In(SquareFoot)) + " ft²"
}

// RoofArea writes a covering's area: squares with one decimal, or whole square
// metres.
func (s System) RoofArea(a Area) string {
	if s == Metric {
		return grouped(a.In(SquareMetre)) + " m²"
	}
	if s := decimal(a.In(Square), 1); s != "1" {
		return s + " squares"
	}
	return "1 square"
}

// VentArea writes a net free area in whole square inches or square
// centimetres.
func (s System) VentArea(a Area) string {
	if s == Metric {
		return grouped(a.In(SquareCentimetre)) + " cm²"
	}
	return grouped(a.In(SquareInch)) + " in²"
}

// Temperature writes a temperature in whole degrees.
func (s System) Temperature(t Temperature) string {
	if s == Metric {
		return decimal(t.Celsius(), 0) + " °C"
	}
	return decimal(t.Fahrenheit(), 0) + " °F"
}

// decimal writes v with at most n decimals and no trailing noughts.
func decimal(v float64, n int) string {
	s := strconv.FormatFloat(v, 'f', n, 64)
	if n > 0 {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// grouped writes v as a whole number with a comma between thousands.
func grouped(v float64) string { return groupDigits(strconv.FormatFloat(v, 'f', 0, 64)) }

func groupDigits(s string) string {
	sign := ""
	if strings.HasPrefix(s, "-") {
		sign, s = "-", s[1:]
	}
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	if sign != "" && strings.Trim(s, "0,") == "" {
		sign = ""
	}
	return sign + s
}
