package attic

import "math"

// doubling is the rise in K that doubles the pace of ageing: rule of thumb, from
// memory. reference is the constant temperature in °C whose pace is 1.
const (
	doubling  = 10.0
	reference = 25.0
)

// activation is the activation energy over the gas constant, in K, that doubles
// the rate between 25 and 35 °C: about 52.9 kJ/mol.
var activation = math.Ln2 / (1/(reference+kelvin) - 1/(reference+doubling+kelvin))

// pace of ageing at a covering's temperature in °C, against that at 25 °C.
func pace(celsius float64) float64 {
	return math.Exp(activation * (1/(reference+kelvin) - 1/(celsius+kelvin)))
}

// effective is the constant temperature in °C at which a covering ages at a
// pace.
func effective(pace float64) float64 {
	return 1/(1/(reference+kelvin)-math.Log(pace)/activation) - kelvin
}
