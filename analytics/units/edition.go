package units

import (
	"fmt"
	"slices"
	"strings"
)

// Edition is one edition of one building code. A company is judged by one of
// them, its setting; which is in force is for the local building official.
type Edition struct {
	Key  string `json:"key"`
	Code string `json:"code"`
	Year int    `json:"year"`
	// Canadian codes ask for areas by the insulated ceiling and for eave
	// protection by the inner face of the wall.
	Canadian bool `json:"canadian,omitempty"`
}

// String writes the edition as it is cited: "IRC 2015".
func (e Edition) String() string { return fmt.Sprintf("%s %d", e.Code, e.Year) }

var editions = []Edition{
	{"irc_2006", "IRC", 2006, false},
	{"irc_2012", "IRC", 2012, false},
	{"irc_2015", "IRC", 2015, false},
	{"irc_2018", "IRC", 2018, false},
	{"irc_2021", "IRC", 2021, false},
	{"irc_2024", "IRC", 2024, false},
	{"nbc_2015", "NBC", 2015, true},
	{"obc_2012", "OBC", 2012, true},
}

// Editions lists the editions that are known, the oldest of each code first.
// The result is the caller's own.
func Editions() []Edition { return slices.Clone(editions) }

// EditionKeys lists their keys.
func EditionKeys() []string {
	out := make([]string, len(editions))
	for i, e := range editions {
		out[i] = e.Key
	}
	return out
}

// EditionOf finds an edition by its key and refuses one that is not known.
func EditionOf(key string) (Edition, error) {
	for _, e := range editions {
		if e.Key == key {
			return e, nil
		}
	}
	return Edition{}, fmt.Errorf("%q: must be one of %s", key, strings.Join(EditionKeys(), ", "))
}
