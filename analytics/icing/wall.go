package icing

import (
	"slices"

	"overhang/analytics/units"
)

// Wall is a usual way to build an outer wall, and its thickness from face to
// face.
type Wall struct {
	Key    string       `json:"key"`
	Says   string       `json:"says"`
	Least  units.Length `json:"least_m"`
	Most   units.Length `json:"most_m"`
	Source string       `json:"source"`
}

// A stud of 3½ or 5½ in (American softwood lumber standard, from memory), ½ in
// of gypsum board, 7/16 to ½ in of sheathing, and siding of 3/8 to ¾ in or
// three coats of stucco, 7/8 in (ASTM C926, from memory), with room for plaster
// in place of the board.
const wallSource = "sum of its layers, each from memory; measure the wall at a window or a door"

var walls = []Wall{
	{"2x4_sided", "2×4 studs with siding", 4.75 * units.Inch, 5.25 * units.Inch, wallSource},
	{"2x4_stucco", "2×4 studs with stucco", 5.25 * units.Inch, 5.75 * units.Inch, wallSource},
	{"2x6_sided", "2×6 studs with siding", 6.75 * units.Inch, 7.25 * units.Inch, wallSource},
	{"2x6_stucco", "2×6 studs with stucco", 7.25 * units.Inch, 7.75 * units.Inch, wallSource},
}

// Walls lists the usual walls; one of unknown thickness lies between the
// thinnest and the thickest. Brick and stone are thicker: measure them. The
// list is the caller's own.
func Walls() []Wall { return slices.Clone(walls) }

// wallOf gives the thickness of a usual wall, or of any of them.
func wallOf(key string) (span, bool) {
	if key == "" {
		return span{float64(walls[0].Least), float64(walls[len(walls)-1].Most)}, true
	}
	for _, w := range walls {
		if w.Key == key {
			return span{float64(w.Least), float64(w.Most)}, true
		}
	}
	return span{}, false
}
