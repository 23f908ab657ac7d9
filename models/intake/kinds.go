package intake

import (
	"bytes"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// description is what every sheet can say of itself, whatever its rows are.
type description interface {
	Name() string
	Kind() Kind
	template() []byte
}

// all lists the kinds in an order in which they can be read in: what a kind
// names stands before it.
func all() []description {
	return []description{Coverings, TermsSheet, Contacts, Houses, Holdings, Structures, Roofs, Attics, Slopes, Vents, Gutters, Details, Jobs, Warranties,
		Storms, Callbacks, Calls, Costs, Claims, Steps, Visits, Findings, Watches}
}

// Kinds lists the kinds of file, each after those whose records it names.
func Kinds() []Kind {
	var out []Kind
	for _, d := range all() {
		out = append(out, d.Kind())
	}
	return out
}

// Template gives an example file of a kind: every column once, in US units
// where there are several, and two invented rows. The templates of all kinds,
// read in the order of Kinds, make one small company.
func Template(kind string) ([]byte, error) {
	for _, d := range all() {
		if d.Name() == kind {
			return d.template(), nil
		}
	}
	return nil, UnknownKind(kind)
}

// UnknownKind is the error about a kind of file that is not there.
func UnknownKind(kind string) error {
	var names []string
	for _, d := range all() {
		names = append(names, d.Name())
	}
	return models.Errorf(models.NotFound, "There is no kind of file %q; there are %s.", kind, strings.Join(names, ", "))
}

func (s *Sheet[T]) template() []byte {
	var b bytes.Buffer
	w := s.Writer(&b, units.US, true, true)
	for i := range 2 {
		record := make([]string, len(w.cols))
		for j, c := range w.cols {
			record[j] = c.example[i]
			if !c.number {
				record[j] = neutral(record[j])
			}
		}
		w.record(record)
	}
	w.Flush()
	return b.Bytes()
}
