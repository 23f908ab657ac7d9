package lifespan

import (
	"fmt"
	"slices"
)

// Aspect is something about a covering that is sorted into a few states, each
// with its factor. The state with the empty key is not known, and is wider than
// the usual one.
type Aspect struct {
	Name   string  `json:"name"`
	Class  Class   `json:"class"`
	Source string  `json:"source"`
	States []State `json:"states"`
}

// State is one state of an aspect: the 10, 50 and 90 % points of its factor.
type State struct {
	Key    string  `json:"key"`
	Low    float64 `json:"low"`
	Mid    float64 `json:"mid"`
	High   float64 `json:"high"`
	Reason string  `json:"reason"`
}

const (
	grid      = "The narrow grid of 0.9, 1.0 and 1.1 of ISO 15686-8 bounds it (grid from memory). "
	practice  = grid + "That it matters is common practice, no source; how much is our own judgement."
	judgement = grid + "Our own judgement, no source."
)

// Every factor is modest: what is seen of the covering itself, its readings,
// shall weigh more than what is guessed from around it.
var aspects = []Aspect{
	{"colour", Quality, "White to black is 1.45 °C (numerical study seen quoted), 10 % of life by the rule that 10 °C double the pace of ageing (from memory). The spread is our own.", []State{
		{"dark", 0.92, 0.95, 0.98, "a dark covering runs warmer"},
		{"middle", 0.97, 1, 1.03, "of a middling colour"},
		{"light", 1.02, 1.05, 1.09, "a light covering runs cooler"},
		{"", 0.95, 0.99, 1.05, "nobody noted the colour"}}},
	{"mat", Quality, "That strip and interlocking shingles of those years lay on organic felt more often than on glass is from memory; how much it takes is our own judgement. Means of 14.7 years on organic felt against 17.7 on glass fibre bound it (engineer's survey page, seen quoted).", []State{
		{"glass", 0.98, 1, 1.02, "of years when the mat is glass fibre"},
		{"organic", 0.83, 0.93, 1.01, "of years when the mat was often organic felt"},
		{"", 0.92, 0.99, 1.02, "the years do not tell its mat"}}},
	{"matching stock", Quality, practice, []State{
		{"made", 0.98, 1, 1.02, "matching shingles can be had"},
		{"gone", 0.88, 0.96, 1, "it is no longer made: a repair finds no matching shingle"},
		{"", 0.95, 1, 1.02, "nobody knows whether matching shingles can be had"}}},
	{"material", Quality, judgement, []State{
		{"failed", 0.72, 0.87, 0.97, "its own material was found at fault"},
		{"lot", 0.82, 0.93, 1, "other roofs of its lot were found with material at fault"},
		{"covering", 0.87, 0.96, 1.01, "more roofs of its covering than usual were found with material at fault"},
		{"sound", 0.98, 1, 1.03, "no roof of its covering was found with material at fault"},
		{"", 0.94, 1, 1.04, "nothing is known of its lot"}}},
	{"pitch", Design, practice, []State{
		{"low", 0.86, 0.94, 1, "water and snow leave a low slope slowly"},
		{"usual", 0.98, 1, 1.02, "of a usual pitch"},
		{"steep", 0.99, 1.02, 1.05, "a steep slope sheds water and snow"},
		{"", 0.94, 1, 1.03, "nobody noted the pitch"}}},
	{"drainage", Design, practice, []State{
		{"gathers", 0.87, 0.96, 1, "a valley takes the water of several slopes, or leads nowhere"},
		{"sheds", 0.98, 1, 1.02, "no valley takes the water of more than two slopes"},
		{"", 0.94, 1, 1.02, "nobody noted where the valleys take their water"}}},
	{"laps", Execution, practice, []State{
		{"short", 0.82, 0.92, 0.99, "laps fall well short of what they should cover"},
		{"right", 0.97, 1, 1.03, "the laps that were looked at are right"},
		{"", 0.92, 1, 1.05, "nobody measured the laps"}}},
	{"nailing", Execution, practice, []State{
		{"wrong", 0.84, 0.93, 0.99, "nails sit high or in the weather"},
		{"right", 0.97, 1, 1.03, "nails were looked for and sit right"},
		{"", 0.93, 1, 1.04, "nobody looked at the nails"}}},
	{"flashings", Execution, practice, []State{
		{"reused", 0.86, 0.95, 1, "flashings of the covering before were kept"},
		{"new", 0.98, 1, 1.02, "the flashings were laid new"},
		{"", 0.95, 1, 1.02, "nobody noted whether the flashings were laid new"}}},
	{"damp from below", Indoor, "Frost, wet decks and rusted nails from damp are common practice, no source; how much they take is our own judgement. What heat from below does is counted with the ventilation and not here.", []State{
		{"frost", 0.84, 0.93, 0.99, "frost was seen in the attic"},
		{"damp", 0.88, 0.96, 1, "damp air reaches the attic by leaks or by a duct that ends there"},
		{"dry", 0.98, 1, 1.02, "little damp air reaches the attic"},
		{"", 0.93, 0.99, 1.02, "nobody noted how tight the ceiling is"}}},
	{"hail", Outdoor, "What each covering bears is from tests with ice stones, seen second-hand; what is left of a life afterwards is our own judgement.", []State{
		{"past", 0.78, 0.92, 1, "a hail storm well past what it bears crossed it, and nobody has felt for bruises since"},
		{"near", 0.87, 0.96, 1, "a hail storm about at what it bears crossed it, and nobody has felt for bruises since"},
		{"none", 0.98, 1, 1.01, "no hail that could harm it is known to have crossed it unlooked-at"},
		{"", 0.93, 0.99, 1.01, "nobody knows what hail crossed it"}}},
	{"trees", Outdoor, judgement, []State{
		{"over", 0.92, 0.98, 1.03, "trees over it keep it shaded, damp and littered"},
		{"clear", 0.98, 1, 1.02, "no trees stand over it"},
		{"", 0.95, 1, 1.03, "nobody noted the trees"}}},
	{"walked on", Use, judgement, []State{
		{"often", 0.93, 0.98, 1, "it is walked on twice a year or more"},
		{"seldom", 0.98, 1, 1.01, "it is seldom walked on, as far as is written down"},
		{"", 0.95, 1, 1.01, "nobody knows who walks on it"}}},
	{"gutters", Upkeep, practice, []State{
		{"kept", 0.99, 1.01, 1.04, "its gutters were looked at in each of the last years"},
		{"lapsed", 0.91, 0.98, 1.01, "its gutters were not looked at every year"},
		{"filled", 0.88, 0.96, 1, "its gutters were found filled or running over"},
		{"", 0.92, 0.99, 1.02, "nobody knows whether its gutters are cleaned"}}},
	{"moss", Upkeep, practice, []State{
		{"grown", 0.87, 0.95, 1, "moss in cushions holds water on it"},
		{"film", 0.94, 0.98, 1.01, "a film of moss is in the joints"},
		{"none", 0.99, 1, 1.01, "moss was looked for and there was none"},
		{"", 0.95, 1, 1.01, "nobody looked for moss"}}},
}

// Aspects lists the aspects, in the order of their classes. The result is the
// caller's own.
func Aspects() []Aspect {
	out := slices.Clone(aspects)
	for i := range out {
		out[i].States = slices.Clone(out[i].States)
	}
	return out
}

// Of gives the factor of an aspect in a state; the empty state is not known.
func Of(aspect, state string) (Factor, error) {
	for i := range aspects {
		a := &aspects[i]
		if a.Name != aspect {
			continue
		}
		var keys []string
		for _, s := range a.States {
			if s.Key == state {
				return Factor{Name: a.Name, Class: a.Class, Low: s.Low, Mid: s.Mid, High: s.High, Reason: s.Reason, Source: a.Source, NotKnown: state == ""}, nil
			}
			keys = append(keys, fmt.Sprintf("%q", s.Key))
		}
		return Factor{}, fmt.Errorf("%s: must be one of %v, not %q", aspect, keys, state)
	}
	return Factor{}, fmt.Errorf("aspect: %q is not in the table", aspect)
}
