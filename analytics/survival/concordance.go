package survival

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Concordance is Harrell's: of the pairs whose order is known, the share in
// which the longer life was foretold, a tie of the forecast counting half.
//
// A pair is known where one wore out at an age at which the other was watched
// and went on, also by being censored at that very age. Pairs that wore out at
// the same age are counted as tied and left aside.
type Concordance struct {
	Estimate   float64 `json:"estimate"`
	SE         float64 `json:"se"` // infinitesimal jackknife, as R's concordance gives it
	Concordant float64 `json:"concordant"`
	Discordant float64 `json:"discordant"`
	TiedFore   float64 `json:"tied_forecast"`
	TiedAge    float64 `json:"tied_age"` // and not in the forecast
	TiedBoth   float64 `json:"tied_both"`
}

// Spoken is a life and a number that foretells it: the larger the longer.
type Spoken struct {
	Entry, Exit float64
	Event       bool
	Forecast    float64
	Weight      float64 // above 0
}

// Concord gives the concordance of forecasts with lives. It needs one known pair
// at least.
func Concord(lives []Spoken) (Concordance, error) {
	n := len(lives)
	forecasts := make([]float64, n)
	for i, l := range lives {
		if !(l.Entry >= 0) || !(l.Exit > l.Entry) || math.IsInf(l.Exit, 0) || !(l.Weight > 0) || math.IsInf(l.Weight, 0) || math.IsNaN(l.Forecast) {
			return Concordance{}, fmt.Errorf("lives[%d]: must have 0 ≤ entry < exit, a weight above 0 and a forecast, not %+v", i, l)
		}
		forecasts[i] = l.Forecast
	}
	slices.Sort(forecasts)
	forecasts = slices.Compact(forecasts)
	rank := make([]int, n)
	byExit, byEntry := make([]int, n), make([]int, n)
	for i, l := range lives {
		rank[i], _ = slices.BinarySearch(forecasts, l.Forecast)
		byExit[i], byEntry[i] = i, i
	}
	order := func(key func(Spoken) float64) func(a, b int) int {
		return func(a, b int) int {
			switch x, y := key(lives[a]), key(lives[b]); {
			case x < y:
				return -1
			case x > y:
				return 1
			}
			return a - b
		}
	}
	slices.SortFunc(byExit, order(func(l Spoken) float64 { return l.Exit }))
	slices.SortFunc(byEntry, order(func(l Spoken) float64 { return l.Entry }))

	var c Concordance
	// What each life's pairs add, for the standard error.
	concordant, discordant, tied := make([]float64, n), make([]float64, n), make([]float64, n)

	// Down in age: for each event, those that went on.
	on := newTally(len(forecasts))
	entered := n - 1
	for to := n; to > 0; {
		from := to - 1
		age := lives[byExit[from]].Exit
		for from > 0 && lives[byExit[from-1]].Exit == age {
			from--
		}
		same := byExit[from:to]
		for entered >= 0 && lives[byEntry[entered]].Entry >= age {
			i := byEntry[entered]
			on.add(rank[i], -lives[i].Weight)
			entered--
		}
		events := map[int]float64{}
		all := 0.0
		for _, i := range same {
			if !lives[i].Event {
				on.add(rank[i], lives[i].Weight)
				continue
			}
			c.TiedBoth += lives[i].Weight * events[rank[i]]
			c.TiedAge += lives[i].Weight * (all - events[rank[i]])
			events[rank[i]] += lives[i].Weight
			all += lives[i].Weight
		}
		for _, i := range same {
			if lives[i].Event {
				below, equal, above := on.split(rank[i])
				concordant[i] += above
				discordant[i] += below
				tied[i] += equal
				c.Concordant += lives[i].Weight * above
				c.Discordant += lives[i].Weight * below
				c.TiedFore += lives[i].Weight * equal
			}
		}
		for _, i := range same {
			if lives[i].Event {
				on.add(rank[i], lives[i].Weight)
			}
		}
		to = from
	}
	known := c.Concordant + c.Discordant + c.TiedFore
	if !(known > 0) {
		return c, errors.New("lives: no pair has a known order")
	}
	c.Estimate = (c.Concordant + c.TiedFore/2) / known

	// Up in age: for each life, the events at which it was watched and went on.
	gone := newTally(len(forecasts))
	count := func(i int, sign float64) {
		below, equal, above := gone.split(rank[i])
		concordant[i] += sign * below
		discordant[i] += sign * above
		tied[i] += sign * equal
	}
	entered = 0
	for from := 0; from < n; {
		to := from
		age := lives[byExit[from]].Exit
		for to < n && lives[byExit[to]].Exit == age {
			to++
		}
		for entered < n && lives[byEntry[entered]].Entry < age {
			count(byEntry[entered], -1) // what was over at its entry
			entered++
		}
		for _, i := range byExit[from:to] {
			if lives[i].Event {
				count(i, 1)
			}
		}
		for _, i := range byExit[from:to] {
			if lives[i].Event {
				gone.add(rank[i], lives[i].Weight)
			}
		}
		for _, i := range byExit[from:to] {
			if !lives[i].Event {
				count(i, 1)
			}
		}
		from = to
	}
	for i, l := range lives {
		pull := l.Weight * (concordant[i] + tied[i]/2 - c.Estimate*(concordant[i]+discordant[i]+tied[i])) / known
		c.SE += pull * pull
	}
	c.SE = math.Sqrt(c.SE)
	return c, nil
}

// tally sums weights by rank and tells sums of ranks below, at and above one in
// a time that grows with the logarithm of their number (a Fenwick tree).
type tally struct {
	tree, at []float64
	all      float64
}

func newTally(n int) *tally { return &tally{tree: make([]float64, n+1), at: make([]float64, n)} }

func (t *tally) add(rank int, weight float64) {
	t.at[rank] += weight
	t.all += weight
	for i := rank + 1; i < len(t.tree); i += i & -i {
		t.tree[i] += weight
	}
}

func (t *tally) split(rank int) (below, equal, above float64) {
	for i := rank; i > 0; i -= i & -i {
		below += t.tree[i]
	}
	return below, t.at[rank], t.all - below - t.at[rank]
}

// concordance of a fit with its own rows, of which the coefficients lengthen life,
// or nil where some have no exact age or no pair is known.
func (s sample) concordance(coefficients []float64) *Concordance {
	lives := make([]Spoken, 0, len(s.rows))
	for i, c := range s.rows {
		l := Spoken{Weight: c.weight, Event: c.exact}
		switch {
		case c.exact:
			l.Exit = math.Exp(c.logEvent)
		case c.bounded || len(c.at) > 1 || len(c.entry) > 1:
			return nil
		default:
			l.Exit = math.Exp(c.at[0].logAge)
		}
		if c.entry != nil {
			l.Entry = math.Exp(c.entry[0].logAge)
		}
		l.Forecast = dot(coefficients, s.x[i])
		lives = append(lives, l)
	}
	c, err := Concord(lives)
	if err != nil {
		return nil
	}
	return &c
}
