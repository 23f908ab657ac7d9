package store

import (
	"strings"

	"overhang/models"
)

// stops are the folded addresses that asked not to be called on.
type stops map[string]bool

func stopList(q Query) (stops, error) {
	entries, err := List[models.StopEntry](q, "id", "")
	out := make(stops, len(entries))
	for _, e := range entries {
		out[e.Folded] = true
	}
	return out, err
}

// has says whether a folded address is on the list. An entry may leave off the
// town and what follows: "12 Elm Street" stops every 12 Elm Street, since
// calling on one who asked not to be is the worse mistake.
func (s stops) has(folded string) bool {
	for at := len(folded); at > 0; at = strings.LastIndexByte(folded[:at], ' ') {
		if s[folded[:at]] {
			return true
		}
	}
	return false
}

// Stopped says whether an address asked not to be called on.
func Stopped(q Query, a *models.Address) (bool, error) {
	s, err := stopList(q)
	return s.has(a.Folded), err
}
