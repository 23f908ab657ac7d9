package demo

import (
	"math"
	"math/rand/v2"
)

// dice are the random draws. Each part of the story reseeds them for each
// thing it invents, so that one more draw in one place changes nothing in
// another.
type dice struct {
	*rand.Rand
	source *rand.PCG
	seed   uint64
}

// The parts of the story that draw.
const (
	forTown = iota + 1
	forCrews
	forLot
	forLife
	forChoice
	forHouse
	forWork
	forCallback
	forScene
	forVisit
	forRound
	forProspect
	forStorm
	forDelivery
	forCertificate
)

func newDice(seed uint64) *dice {
	source := rand.NewPCG(seed, 0)
	return &dice{rand.New(source), source, seed}
}

// turn reseeds the dice for the i-th thing of a part of the story.
func (d *dice) turn(part, i int) *dice {
	d.source.Seed(d.seed, mix(uint64(part)<<48+uint64(i)))
	return d
}

// mix spreads neighbouring numbers far apart. Method: the finaliser of
// SplitMix64 (Steele, Lea and Flood 2014, from memory).
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// chance is true with probability p.
func (d *dice) chance(p float64) bool { return d.Float64() < p }

// between gives a whole number from low to high, both included.
func (d *dice) between(low, high int) int {
	if high <= low {
		return low
	}
	return low + d.IntN(high-low+1)
}

// span gives a number from low to high.
func (d *dice) span(low, high float64) float64 { return low + (high-low)*d.Float64() }

// weighted gives an index with a chance in proportion to its weight.
func (d *dice) weighted(weights ...float64) int {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	x := d.Float64() * sum
	for i, w := range weights {
		if x -= w; x < 0 {
			return i
		}
	}
	return len(weights) - 1
}

// weibull gives a life with scale eta and shape k.
func (d *dice) weibull(eta, k float64) float64 { return eta * math.Pow(d.ExpFloat64(), 1/k) }

// count gives a Poisson number by multiplying uniform draws (Knuth, from
// memory); mean is small.
func (d *dice) count(mean float64) int {
	limit, n := math.Exp(-mean), 0
	for p := d.Float64(); p > limit; p *= d.Float64() {
		n++
	}
	return n
}

func one[T any](d *dice, list []T) T { return list[d.IntN(len(list))] }

// round keeps n decimals, as a person writes a measured number.
func round(v float64, n int) float64 {
	p := math.Pow10(n)
	return math.Round(v*p) / p
}
