package lifespan

import (
	"math"

	"overhang/analytics/wear"
)

// The likelihood of readings for each T of a grid. It is where an estimate's time
// goes: for each T and set of readings an exponential, and far more of one eye's many.
// So the loops run along the grid over plain slices, with the constants of a
// reading outside, and take their exponentials from a table.

// leastLikelihood keeps one reading from ruling out every T: with a share of
// gross errors of nothing, a reading 30 standard deviations off stops counting.
const leastLikelihood = 1e-200

// The standard normal in seven points, exact for polynomials of the thirteenth
// degree (Gauss and Hermite; checked against gonum's rule in a test).
var (
	normalAt     = [...]float64{-3.750439717725742, -2.366759410734541, -1.154405394739968, 0, 1.154405394739968, 2.366759410734541, 3.750439717725742}
	normalWeight = [...]float64{0.000548268855972218, 0.0307571239675865, 0.2401231786050127, 0.4571428571428571, 0.2401231786050127, 0.0307571239675865, 0.000548268855972218}
)

// asRead is a reading of a covering of one age: the rating that the curve
// foretells is 100 − drop/T^power, and never below nought. Slowness is 1/T^power.
// What was read, fallen, and its errors are on the scale of errors.
type asRead struct {
	fallen, drop, sd, shared, gross float64
}

// grossOf is the likelihood of a gross reading, which lies anywhere on the scale of
// errors alike, beside that of one right on a curve that is known.
func (t *taken) grossOf(sd float64) float64 {
	return max(t.gross*sd*math.Sqrt(2*math.Pi)/t.scale.Most, leastLikelihood)
}

// bench is room to work out likelihoods in.
type bench struct {
	middle, value, sum []float64
	up, lifted         []int32
	scale              wear.Scale
	of                 []asRead
	left               []float64
}

func (b *bench) grow(n int) {
	if len(b.sum) < n {
		b.middle, b.value, b.sum = make([]float64, n), make([]float64, n), make([]float64, n)
		b.up, b.lifted = make([]int32, n), make([]int32, n)
	}
}

// liftBy: a product of likelihoods is taken up by it again whenever it falls
// below its inverse.
const liftBy = 1e100

var logLift = math.Log(liftBy)

// evenReadings is up to how many readings of one eye what they share is integrated
// over even nodes.
const evenReadings = 40

// together gives the likelihood of several readings of one eye for each T, as
// sum·liftBy^−lifted; lifted is nil where nothing was. What they share is
// integrated over even nodes, six deviations to either side and close enough for
// the sharpest integrand that so many readings make: good to 2e-4 of it. That is
// too many nodes for hundreds of readings. Those agree on a middle, if any do, so
// for each T seven nodes are laid where the readings put the shared error, as wide
// as they leave it in doubt.
func (b *bench) together(slowness []float64, keep float64) (sum []float64, lifted []int32) {
	n := len(slowness)
	b.grow(n)
	middle, value := b.middle[:n], b.value[:n]
	sum = b.sum[:n]
	precision := 1.0
	for _, r := range b.of {
		precision += r.shared * r.shared / (r.sd * r.sd)
	}
	spread := 1 / math.Sqrt(precision)
	even := len(b.of) <= evenReadings
	half := (len(normalAt) - 1) / 2
	if even {
		half = int(math.Ceil(6 / (1.2 * spread)))
		clear(middle)
	} else {
		b.middles(slowness, middle)
	}
	clear(sum)
	any := false
	for k := range 2*half + 1 {
		by := 6 * float64(k-half) / float64(half)
		if even {
			w := 6 / float64(half) * math.Exp(-by*by/2) / math.Sqrt(2*math.Pi)
			for j := range value {
				value[j] = w
			}
		} else {
			x := normalAt[k]
			by = spread * x
			for j, m := range middle {
				u := m + by
				value[j] = spread * normalWeight[k] * math.Exp((x*x-u*u)/2)
			}
		}
		clear(b.up[:n])
		least, up := -40.0, false // of ln value; the weights and (x²−u²)/2 are above it where it matters
		for i := range b.of {
			r := &b.of[i]
			b.timesShifted(r, slowness, middle, value, by, keep)
			if least += math.Log(r.gross); least < -300 {
				for j, v := range value {
					// Two at the most bring back what the least likelihood takes; a nought
					// rises with the others.
					for lifts := 0; v < 1/liftBy && lifts < 2; lifts++ {
						v *= liftBy
						b.up[j]++
						up = true
					}
					value[j] = v
				}
				least = math.Log(1 / liftBy)
			}
		}
		if k == 0 {
			copy(sum, value)
			copy(b.lifted[:n], b.up[:n])
			any = up
			continue
		}
		if !any && !up {
			for j, v := range value {
				sum[j] += v
			}
			continue
		}
		any = true
		for j, v := range value {
			switch up, had := b.up[j], b.lifted[j]; {
			case sum[j] == 0 || up < had-1:
				sum[j], b.lifted[j] = v, up
			case up == had:
				sum[j] += v
			case up == had-1:
				sum[j], b.lifted[j] = v+sum[j]/liftBy, up
			case up == had+1:
				sum[j] += v / liftBy
			}
		}
	}
	if !any {
		return sum, nil
	}
	return sum, b.lifted[:n]
}

// timesShifted multiplies values by the likelihood of a reading whose error is
// shifted, for each T, by its share of middle + by standard deviations.
func (b *bench) timesShifted(r *asRead, slowness, middle, values []float64, by, keep float64) {
	inverse := 1 / r.sd
	drop, pull := r.drop, r.shared*inverse
	offset, gross := -r.fallen*inverse-by*pull, r.gross
	near, between := b.scale.NearNew*inverse, b.scale.Between*inverse
	fromBetween, fromWhole, most := b.scale.FromBetween*inverse, b.scale.FromWhole*inverse, b.scale.Most*inverse
	slowness, middle = slowness[:len(values)], middle[:len(values)]
	for j, slow := range slowness {
		z, fall := offset-pull*middle[j], drop*slow
		switch {
		case fall < wear.NearNewFall:
			z += near * fall
		case fall < wear.FullErrorFall:
			z += fromBetween + between*fall
		case fall < 100:
			z += fromWhole + inverse*fall
		default:
			z += most
		}
		x := -0.5 * z * z
		e := 0.0
		if x > expLeast {
			n := int(x*expScale - 0.5)
			d := x - float64(n)*(1/expScale)
			e = expTable[n&(expParts-1)] * (1 + d*(1+d*(1.0/2+d*(1.0/6+d*(1.0/24)))))
			e = math.Float64frombits(math.Float64bits(e) + uint64(n>>7)<<52)
		}
		values[j] *= keep*e + gross
	}
}

// middles gives, in standard deviations, where the shared error most likely lies
// for each T, by three rounds in which a reading counts the less the further it
// is off: what such a one is, is for the mixture to say.
func (b *bench) middles(slowness, middle []float64) {
	of := b.of
	if len(b.left) < len(of) {
		b.left = make([]float64, len(of))
	}
	left := b.left[:len(of)]
	for j, slow := range slowness {
		for i := range of {
			left[i] = (b.scale.Stretched(min(of[i].drop*slow, 100)) - of[i].fallen) / of[i].sd
		}
		u := 0.0
		for range 3 {
			pull, precision := 0.0, 1.0
			for i := range of {
				weight := of[i].shared / of[i].sd
				z := left[i] - u*weight
				weight *= 9 / (9 + z*z)
				pull += weight * left[i]
				precision += weight * of[i].shared / of[i].sd
			}
			u = pull / precision
		}
		middle[j] = u
	}
}

// take takes readings for a covering of one age.
func (b *bench) take(of []reading, age float64, t *taken) {
	b.of, b.scale = b.of[:0], t.scale
	for _, r := range of {
		sd, shared := r.sd, r.shared
		if len(of) == 1 { // what it shares is then more of its own error
			sd, shared = math.Hypot(sd, shared), 0
		}
		b.of = append(b.of, asRead{fallen: r.fallen, drop: r.drop(t, age), sd: sd, shared: shared, gross: t.grossOf(sd)})
	}
}

// read multiplies by the likelihood of the readings of one eye, up to a factor
// that is the same for every T. What they share is integrated over; of one
// reading alone it is more of its own error.
func (p *posterior) read(of []reading, t *taken) {
	if len(of) > 1 && of[0].shared == 0 {
		for i := range of {
			p.read(of[i:i+1], t)
		}
		return
	}
	if opens(of, t.gross) {
		var few eyeFew
		for j := range p.lives {
			l := &p.lives[j]
			few.lay(of, l.age, t)
			l.each(func(s *stretch) { few.times(s.slowness[:], s.density[:]) })
		}
		p.scale()
		return
	}
	keep := 1 - t.gross
	any := false
	for j := range p.lives {
		l := &p.lives[j]
		p.room.take(of, l.age, t)
		l.each(func(s *stretch) {
			sum, lifted := p.room.together(s.slowness[:], keep)
			copy(s.likelihood[:], sum)
			clear(s.lifts[:])
			if lifted != nil {
				any = true
				copy(s.lifts[:], lifted)
			}
		})
	}
	if !any {
		for j := range p.lives {
			p.lives[j].each(func(s *stretch) {
				for i, v := range &s.likelihood {
					s.density[i] *= v
				}
			})
		}
		p.scale()
		return
	}
	most := math.Inf(-1)
	for j := range p.lives {
		p.lives[j].each(func(s *stretch) {
			for i, v := range &s.likelihood {
				s.density[i] = math.Log(s.density[i]) + math.Log(v) - float64(s.lifts[i])*logLift
				most = max(most, s.density[i])
			}
		})
	}
	for j := range p.lives {
		p.lives[j].each(func(s *stretch) {
			for i, v := range &s.density {
				s.density[i] = math.Exp(v - most)
			}
		})
	}
}

// scale brings the densities back to a peak of 1, so that no number of readings
// makes them vanish.
func (p *posterior) scale() {
	peak := 0.0
	for i := range p.lives {
		p.lives[i].each(func(s *stretch) {
			for _, v := range s.density {
				peak = max(peak, v)
			}
		})
	}
	for i := range p.lives {
		p.lives[i].each(func(s *stretch) {
			for j := range s.density {
				s.density[j] /= peak
			}
		})
	}
}
