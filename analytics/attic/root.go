package attic

import "math"

const rootBits = 7

// cubeRoots are 1/∛x at the middle of each of so many equal parts of 1 to 2, 2 to 4
// and 4 to 8.
var cubeRoots = func() (table [3 << rootBits]float64) {
	for i := range table {
		octave, part := i>>rootBits, i&(1<<rootBits-1)
		table[i] = 1 / math.Cbrt(math.Ldexp(1+(float64(part)+0.5)/(1<<rootBits), octave))
	}
	return table
}()

// inverseCubeRoot is 1/∛x of a positive normal number, to some units of the last place
// and in less time than math.Cbrt: such roots are much of a year's work. The
// table gives it to a thousandth, and the series of (1 − h)^(−1/3) the rest.
func inverseCubeRoot(x float64) float64 {
	bits := math.Float64bits(x)
	exponent := uint(bits >> 52)
	thirds := exponent / 3 // from 1023, a multiple of three
	y := cubeRoots[(exponent-3*thirds)<<rootBits|uint(bits>>(52-rootBits))&(1<<rootBits-1)]
	y *= math.Float64frombits(uint64(1023+341-thirds) << 52)
	h := 1 - x*y*y*y
	hh := h * h
	return y + y*(h*(1./3)+hh*(2./9+h*(14./81))+hh*hh*(35./243+h*(91./729)))
}

// cubeRoot is ∛x of the same.
func cubeRoot(x float64) float64 {
	y := inverseCubeRoot(x)
	return x * y * y
}
