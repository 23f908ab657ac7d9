package lifespan

import (
	"fmt"
	"math"
	"math/bits"
)

// groups is some of the evidence about a covering. Without any of it, T is the
// table's.
type groups struct {
	logMean, logVariance float64 // of the factors
	standing             bool
	readings             []reading
	slopes               bool // each slope is wanted too
	told                 uint // marks the readings, where what slopes say of them is held
}

// posterior gives the distribution of T, and of the age, from the table and the
// groups. It lives in the estimator's room until the next one.
func (e *Estimator) posterior(t *taken, g groups) posterior {
	p := e.before(t, g)
	if len(t.slopes) > 0 {
		e.slopes.read(&p, g, t)
		p.close()
		return p
	}
	for i := 0; i < len(g.readings); {
		to := eyeEnds(g.readings, i)
		p.read(g.readings[i:to], t)
		i = to
	}
	if len(g.readings) > 0 {
		p.close()
	}
	return p
}

// before is the distribution before the readings are told: that of the table, the
// factors and standing.
func (e *Estimator) before(t *taken, g groups) posterior {
	p := posterior{lives: e.lay(t, g), room: &e.room}
	p.open()
	return p
}

// lay lays the lives of each age, with prior × standing as the groups have them.
func (e *Estimator) lay(t *taken, g groups) []life {
	all := ageing{shape: t.prior.Shape, logScale: math.Log(t.prior.ScaleYears) + g.logMean,
		mixture: e.mixture(t.prior.Shape * math.Sqrt(g.logVariance))}
	ages := e.ageRule(t.latest - t.earliest)
	for len(e.lives) < len(ages.at) {
		e.lives = append(e.lives, life{})
	}
	lag := t.lag
	if !g.standing {
		lag = endless
	}
	lives := e.lives[:len(ages.at)]
	for i := range lives {
		l := &lives[i]
		l.age, l.weight = t.earliest+ages.at[i]*(t.latest-t.earliest), ages.weight[i]
		if t.worn != nil && g.standing {
			l.layEnd(all, lag, t)
		} else {
			l.lay(all, lag, t.power, len(g.readings))
		}
	}
	return lives
}

// endless is a replacement lag, in years, with which standing tells nothing.
const endless = 1e15

// mostPlayers bounds the groups whose effects are told apart, by the number of
// readings: n groups take 2ⁿ estimates, each as long as it has readings.
func mostPlayers(readings int) int {
	switch {
	case readings <= 12:
		return 10
	case readings <= 100:
		return 8
	}
	return 6
}

// mostSlopePlayers bounds the groups of readings of slopes: what they say takes far
// longer than all else, and is worked out once for each set of the groups.
const mostSlopePlayers = 4

// player is a group of evidence whose effect is told.
type player struct {
	Reason
	logMean, logVariance float64
	standing             bool
	readings             []int // of the input as read
}

// reasons gives the Shapley values of the groups: each class of factors,
// standing, and each reading; the readings of one eye are one group where there
// are too many. Middle is the median with all of them.
func (e *Estimator) reasons(t *taken, factors []Factor, middle float64) []Reason {
	players := t.players(factors)
	if len(t.slopes) > 0 {
		e.holdSlopes(t, players)
		defer e.slopes.release()
	}
	median := t.prior.Quantile(0.5)
	out := []Reason{{Kind: "prior", Name: t.material, EffectYears: median, Because: "what coverings of this kind do", Source: t.prior.Source}}

	n := len(players)
	value := make([]float64, 1<<n)
	for set := range value {
		g := t.told(players, set)
		switch {
		case set == 0:
			value[set] = median
		case set == len(value)-1:
			value[set] = middle
		case !g.standing && len(g.readings) == 0:
			a := ageing{shape: t.prior.Shape, logScale: math.Log(t.prior.ScaleYears) + g.logMean, mixture: e.mixture(t.prior.Shape * math.Sqrt(g.logVariance))}
			value[set] = math.Exp(a.logYears(math.Ln2))
		default:
			p := e.posterior(t, g)
			value[set] = p.quantile(0.5, 0)
		}
	}

	// What a group adds to a set of k others counts k!·(n−1−k)!/n! times.
	weight := make([]float64, n)
	for k := range weight {
		weight[k] = 1 / (float64(n) * binomial(n-1, k))
	}
	for i, p := range players {
		for set := range value {
			if set&(1<<i) == 0 {
				p.EffectYears += weight[bits.OnesCount(uint(set))] * (value[set|1<<i] - value[set])
			}
		}
		out = append(out, p.Reason)
	}
	return out
}

// told gathers the evidence of some of the groups.
func (t *taken) told(players []player, set int) (g groups) {
	in := make([]bool, len(t.readings))
	for i, p := range players {
		if set&(1<<i) == 0 {
			continue
		}
		g.logMean += p.logMean
		g.logVariance += p.logVariance
		g.standing = g.standing || p.standing
		for _, r := range p.readings {
			in[r] = true
		}
		if len(p.readings) > 0 {
			g.told |= 1 << i
		}
	}
	for i, r := range t.readings {
		if in[i] {
			g.readings = append(g.readings, r)
		}
	}
	return g
}

func binomial(n, k int) float64 {
	out := 1.0
	for i := range k {
		out = out * float64(n-i) / float64(i+1)
	}
	return out
}

// players sorts the evidence into groups.
func (t *taken) players(factors []Factor) []player {
	var out []player
	at := map[string]int{}
	for _, f := range factors {
		key := string(f.Class)
		if key == "" {
			key = "\x00" + f.Name
		}
		i, seen := at[key]
		if !seen {
			i = len(out)
			at[key] = i
			out = append(out, player{Reason: Reason{Kind: "factor", Name: f.Name, Class: f.Class, Because: f.Reason, Source: f.Source}})
		} else {
			p := &out[i]
			p.Name, p.Because, p.Source = p.Name+", "+f.Name, p.Because+"; "+f.Reason, p.Source+" "+f.Source
		}
		out[i].logMean += f.logMean()
		out[i].logVariance += f.logVariance()
	}
	stands := Reason{Kind: "standing", Name: "standing today",
		Because: "it is still on the roof at its age, and a worn-out covering is not left on for ever"}
	if t.worn != nil {
		stands.Name, stands.Because = "found worn out", "one look found it serviceable and a later one worn out, so its end lies between them"
	}
	out = append(out, player{standing: true, Reason: stands})
	// Factors of more groups than can be told apart go together.
	most := mostPlayers(len(t.readings))
	if len(t.slopes) > 0 {
		most = mostPlayers(0) // what the readings say is held
	}
	for len(out) > most-1 {
		a, b := &out[len(out)-3], out[len(out)-2]
		a.Name, a.Class, a.Because, a.Source = a.Name+", "+b.Name, "", a.Because+"; "+b.Because, a.Source+" "+b.Source
		a.logMean, a.logVariance = a.logMean+b.logMean, a.logVariance+b.logVariance
		out = append(out[:len(out)-2], out[len(out)-1])
	}
	const why = "how worn it was found, against how worn it should be at that age"
	room := most - len(out)
	if len(t.slopes) > 0 {
		room = min(room, mostSlopePlayers)
	}
	// Where all cannot be told apart those of one look go together, or of one eye, or
	// all of them. Slopes that one look told apart always do.
	whole := func(a, b reading) bool { return true }
	oneEye := func(a, b reading) bool { return a.eye == b.eye }
	oneLook := func(a, b reading) bool {
		return a.eye == b.eye && a.yearsAgo == b.yearsAgo && a.slope >= 0 && b.slope >= 0
	}
	parts := func(together func(a, b reading) bool) (n int) {
		for i, r := range t.readings {
			if i == 0 || !together(t.readings[i-1], r) {
				n++
			}
		}
		return n
	}
	together := oneLook
	for _, wider := range []func(a, b reading) bool{oneEye, whole} {
		if parts(together) > room {
			together = wider
		}
	}
	for i, r := range t.readings {
		if i == 0 || !together(t.readings[i-1], r) {
			out = append(out, player{Reason: Reason{Kind: "reading", Name: r.name, Because: why}})
		}
		last := &out[len(out)-1]
		if len(last.readings) > 0 {
			last.Name = fmt.Sprintf("%d readings", len(last.readings)+1)
		}
		last.readings, last.Readings = append(last.readings, i), append(last.Readings, r.of)
	}
	return out
}
