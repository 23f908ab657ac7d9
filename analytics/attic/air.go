package attic

import "math"

// Air and its flow.
const (
	gravity   = 9.80665 // m/s²
	gasOfAir  = 287.05  // J/(kg·K)
	heatOfAir = 1006.0  // J/(kg·K)
	kelvin    = 273.15

	discharge = 0.6 // of a vent's net free area: ASHRAE Fundamentals, from memory
	leakPower = 2.0 / 3
)

// Mean pressure coefficients over the directions of the wind, on the wind at
// the eave: our judgement, from 0.6 on the windward wall, −0.3 on the leeward
// one, −0.65 on the sides and about −0.5 at a ridge (Walker and Wilson, from
// memory).
const (
	windwardCp = 0.25
	leewardCp  = -0.40
	topCp      = -0.50
	wallsCp    = -0.20
)

// Leaks that are no vents, m² of effective leakage at 4 Pa by the m² of
// ceiling: our judgement.
const (
	roofLeaks  = 0.6e-4 // gaps of the roof and the eaves, half low and half high
	wallLeaks  = 3.0e-4 // walls of the house below, windows and doors
	wallMiddle = 2.5    // m from the middle of these leaks up to the ceiling
)

// opening is a sharp-edged opening of the attic to the outside.
type opening struct {
	area   float64 // effective, m² by the m² of ceiling: Cd·A
	height float64 // m above the ceiling
	cp     float64
}

// network is the openings of one attic and the leaks of its ceiling.
type network struct {
	openings [3]opening // eave to windward, eave to lee, top
	// ceiling is the leak of ceiling and walls in series:
	// m = ceiling·(ρ/1.2)^½·Δp^(2/3) kg/s by the m².
	ceiling float64
}

// newNetwork lays out vents of low and high net free area, by the m² of ceiling
// and height metres apart, over a ceiling that leaks as leaks m² at 4 Pa by the
// m². Two leaks in series with one exponent n are one leak, of the coefficient
// c₁/(1+(c₁/c₂)^(1/n))^n.
func newNetwork(low, high, height, leaks float64) network {
	eave, top := discharge*low+roofLeaks/2, discharge*high+roofLeaks/2
	n := network{openings: [3]opening{
		{eave / 2, 0, windwardCp}, {eave / 2, 0, leewardCp}, {top, height, topCp},
	}}
	if leaks > 0 {
		at4 := func(area float64) float64 { return 1.2 * area * math.Sqrt(2*4/1.2) / math.Pow(4, leakPower) }
		c := at4(leaks)
		n.ceiling = c / math.Pow(1+math.Pow(c/at4(wallLeaks), 1/leakPower), leakPower)
	}
	return n
}

// flow is the air through an attic in kg/s by the m² of ceiling.
type flow struct {
	outside float64 // comes in from outside
	house   float64 // comes up through the ceiling; negative goes down
	attic   float64 // leaves the attic, to the outside or down
}

// smooth is the pressure in Pa under which flow is taken as proportional to
// it, so that the slope stays finite.
const smooth = 1e-3

var rootOfSmooth, cubeRootOfSmooth = math.Sqrt(smooth), math.Cbrt(smooth)

// balance finds the attic's pressure in Pa, as against the outside at the
// ceiling, at which as much air comes in as leaves, and the flows. q is the
// wind's pressure ρU²/2 at the eave; densities are in kg/m³. near is where to
// begin. The net flow in falls with the pressure everywhere, so the root is the
// only one: Newton's step is taken where it stays between the bounds and the last
// one did its work, and they are halved elsewhere.
func (n network) balance(q, outside, attic, house, near float64) (float64, flow) {
	// What a root of the pressure drives through an opening: in, and out.
	var drive [len(n.openings)]float64
	var coefficient [len(n.openings)][2]float64
	inward, outward := math.Sqrt(2*outside), math.Sqrt(2*attic)
	lift := (attic - outside) * gravity
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range n.openings {
		o := &n.openings[i]
		drive[i] = o.cp*q + lift*o.height
		coefficient[i] = [2]float64{o.area * inward, o.area * outward}
		lo, hi = min(lo, drive[i]), max(hi, drive[i])
	}
	up := wallsCp*q + (outside-house)*gravity*wallMiddle
	if n.ceiling > 0 {
		lo, hi = min(lo, up), max(hi, up)
	}
	ceiling := [2]float64{n.ceiling * math.Sqrt(house/1.2), n.ceiling * math.Sqrt(attic/1.2)}
	p, before := near, math.Inf(1)
	var f flow
	for range 100 {
		if !(p >= lo && p <= hi) {
			p = (lo + hi) / 2
		}
		// Flows in count as positive; all is what moves either way.
		net, all, slope := 0.0, 0.0, 0.0
		for i := range n.openings {
			d := drive[i] - p
			a, by := math.Abs(d), coefficient[i][negative(d)]
			if a > smooth {
				by /= math.Sqrt(a)
				slope += by / 2
			} else {
				by /= rootOfSmooth
				slope += by
			}
			net += by * d
			all += by * a
		}
		f = flow{}
		if d := up - p; n.ceiling > 0 {
			a, by := math.Abs(d), ceiling[negative(d)]
			if a > smooth {
				by *= inverseCubeRoot(a)
				slope += leakPower * by
			} else {
				by /= cubeRootOfSmooth
				slope += by
			}
			f.house = by * d
		}
		f.outside = max(0, (all+net)/2)
		f.attic = f.outside - net + math.Abs(min(f.house, 0))
		net += f.house
		if net > 0 {
			lo = p
		} else {
			hi = p
		}
		if math.Abs(net) <= 1e-9+3e-5*f.attic || hi-lo < 1e-9 {
			return p, f
		}
		if math.Abs(net) > before/2 {
			p = (lo + hi) / 2
		} else {
			p += net / slope
		}
		before = math.Abs(net)
	}
	return p, f
}

// negative is 1 for a negative number and 0 for others, without a branch that the
// processor would guess wrong.
func negative(v float64) int { return int(math.Float64bits(v) >> 63) }

func density(pressure, celsius float64) float64 { return pressure / (gasOfAir * (celsius + kelvin)) }
