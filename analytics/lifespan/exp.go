package lifespan

import "math"

// Steps of the table in which expo looks up 2^(i/steps).
const expParts = 128

var expTable = func() (t [expParts]float64) {
	for i := range t {
		t[i] = math.Exp2(float64(i) / expParts)
	}
	return t
}()

const (
	expScale = expParts / math.Ln2
	// ln 2/128 in two pieces, so that whole multiples of the first are exact.
	expHigh = 0.005415212333900854
	expLow  = 1.4223718738313642e-11
	// 1.5·2⁵²: adding it rounds to a whole number, which stands in the last bits.
	expRound = 6755399441055744.0
	expLeast = -700.0
)

// expo is e^x for x of at most 700, and 0 below −700. It is off by less than
// 1e-14 of its value and twice as fast as math.Exp: the likelihood of readings is
// little else.
func expo(x float64) float64 {
	if x < expLeast {
		return 0
	}
	whole := x*expScale + expRound
	k := int64(math.Float64bits(whole)<<13) >> 13
	n := whole - expRound
	r := (x - n*expHigh) - n*expLow
	p := 1 + r*(1+r*(0.5+r*(1.0/6+r*(1.0/24))))
	return math.Float64frombits(math.Float64bits(expTable[k&(expParts-1)]*p) + uint64(k>>7)<<52)
}
