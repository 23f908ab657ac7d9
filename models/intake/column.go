package intake

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"overhang/analytics/units"
)

// Column is one column of a kind of file, as a page or a manual shows it.
type Column struct {
	Name     string       `json:"name"`
	About    string       `json:"about"`
	Quantity string       `json:"quantity,omitempty"` // what it measures, where columns with other units measure the same
	Units    units.System `json:"units,omitempty"`    // the system of its unit; empty for both
	Key      bool         `json:"key"`                // is part of what names the row
	Default  string       `json:"default,omitempty"`  // what an empty cell of a key column stands for
	Needed   bool         `json:"needed"`             // in every row, where it is a key, or in a new one
	Money    bool         `json:"money"`              // is for those who may see money
	Contact  bool         `json:"contact"`            // is for those who may see contacts
	Values   []string     `json:"values,omitempty"`   // the only ones, where there is a list
}

// column is a Column of the rows T, with how a cell is read and written.
type column[T any] struct {
	Column
	// read gives what the cell says as get would write it, and a function that
	// puts it into a row.
	read    func(cell string, semicolon bool) (text string, put func(*T), err error)
	get     func(*T) string
	clear   func(*T) // nil when the field cannot be emptied
	number  bool     // written as it is, never neutralised
	grows   bool     // a list to which a file adds
	second  bool     // an alternative that is never written out
	fields  []string // names of the record's fields that a rule may speak of
	example [2]string

	where     func(*T) bool // the rows that the column speaks of; nil for all
	whereRule string
}

// The options of a column.
type option[T any] func(*column[T])

func key[T any](c *column[T]) { c.Key, c.Needed, c.clear = true, true, nil }

// partOfKey is a key that may be empty.
func partOfKey[T any](c *column[T]) { c.Key = true }

func needed[T any](c *column[T]) { c.Needed = true }

func money[T any](c *column[T]) { c.Money = true }

func contact[T any](c *column[T]) { c.Contact = true }

// standing is a key whose empty cell stands for a value.
func standing[T any](value string) option[T] {
	return func(c *column[T]) { c.Key, c.Default, c.clear = true, value, nil }
}

func field[T any](names ...string) option[T] { return func(c *column[T]) { c.fields = names } }

func example[T any](first, second string) option[T] {
	return func(c *column[T]) { c.example = [2]string{first, second} }
}

func with[T any](c column[T], options []option[T]) column[T] {
	for _, o := range options {
		o(&c)
	}
	return c
}

// textColumn holds free text of at most so many characters.
func textColumn[T any](name, about string, most int, at func(*T) *string, options ...option[T]) column[T] {
	return with(column[T]{Column: Column{Name: name, About: about},
		read: func(cell string, _ bool) (string, func(*T), error) {
			text := plain(cell)
			if utf8.RuneCountInString(text) > most {
				return "", nil, fmt.Errorf("may have at most %d characters", most)
			}
			return text, func(t *T) { *at(t) = text }, nil
		},
		get:   func(t *T) string { return tidy(*at(t)) },
		clear: func(t *T) { *at(t) = "" },
	}, options)
}

// wordColumn holds one word of a list.
func wordColumn[T any](name, about string, list []string, at func(*T) *string, options ...option[T]) column[T] {
	c := textColumn(name, about, 40, at)
	c.Values = list
	c.read = func(cell string, _ bool) (string, func(*T), error) {
		word := strings.ToLower(plain(cell))
		for _, w := range list {
			if strings.ToLower(w) == word {
				return w, func(t *T) { *at(t) = w }, nil
			}
		}
		return "", nil, errors.New("must be one of " + strings.Join(list, ", "))
	}
	return with(c, options)
}

// maybe makes a column of a field that is nil when unknown.
func maybe[T, V any](name, about string, parse func(string, bool) (V, error), write func(V) string, at func(*T) **V, options []option[T]) column[T] {
	return with(column[T]{Column: Column{Name: name, About: about}, number: true,
		read: func(cell string, semicolon bool) (string, func(*T), error) {
			v, err := parse(cell, semicolon)
			if err != nil {
				return "", nil, err
			}
			return write(v), func(t *T) { *at(t) = &v }, nil
		},
		get: func(t *T) string {
			if v := *at(t); v != nil {
				return write(*v)
			}
			return ""
		},
		clear: func(t *T) { *at(t) = nil },
	}, options)
}

// always makes a column of a field whose zero value is unknown.
func always[T any, V comparable](name, about string, parse func(string, bool) (V, error), write func(V) string, at func(*T) *V, options []option[T]) column[T] {
	var zero V
	writeKnown := func(v V) string {
		if v == zero {
			return ""
		}
		return write(v)
	}
	return with(column[T]{Column: Column{Name: name, About: about}, number: true,
		read: func(cell string, semicolon bool) (string, func(*T), error) {
			v, err := parse(cell, semicolon)
			if err != nil {
				return "", nil, err
			}
			return writeKnown(v), func(t *T) { *at(t) = v }, nil
		},
		get:   func(t *T) string { return writeKnown(*at(t)) },
		clear: func(t *T) { *at(t) = zero },
	}, options)
}

func numberColumn[T any](name, about string, at func(*T) **float64, options ...option[T]) column[T] {
	return maybe(name, about, parseNumber, writeNumber, at, options)
}

// measure reads a number in a unit as an SI quantity.
func measure[V ~float64](unit V) func(string, bool) (V, error) {
	return func(s string, semicolon bool) (V, error) {
		v, err := parseNumber(s, semicolon)
		return V(v) * unit, err
	}
}

func measured[V ~float64](unit V) func(V) string {
	return func(v V) string { return writeMeasured(float64(v / unit)) }
}

// unit is one way to write a quantity. The first of each system is written out.
type unit[V ~float64] struct {
	suffix string
	system units.System
	size   V
}

var (
	roofAreas  = []unit[units.Area]{{"ft2", units.US, units.SquareFoot}, {"squares", units.US, units.Square}, {"m2", units.Metric, units.SquareMetre}}
	floorAreas = []unit[units.Area]{{"ft2", units.US, units.SquareFoot}, {"m2", units.Metric, units.SquareMetre}}
	ventAreas  = []unit[units.Area]{{"in2", units.US, units.SquareInch}, {"cm2", units.Metric, units.SquareCentimetre}}
	// A continuous vent is stamped with its free area a foot or a metre of run.
	ventRuns = []unit[units.Area]{{"in2_per_ft", units.US, units.SquareInch / units.Area(units.Foot)},
		{"cm2_per_m", units.Metric, units.SquareCentimetre}}
	lengths      = []unit[units.Length]{{"ft", units.US, units.Foot}, {"m", units.Metric, units.Metre}}
	smallLengths = []unit[units.Length]{{"in", units.US, units.Inch}, {"mm", units.Metric, units.Millimetre}}
	flows        = []unit[units.Flow]{{"cfm", units.US, units.CubicFootPerMinute}, {"l_s", units.Metric, units.LitrePerSecond}}
	tracks       = []unit[units.Length]{{"mi", units.US, units.Mile}, {"km", units.Metric, units.Kilometre}}
	gusts        = []unit[float64]{{"mph", units.US, 0.44704}, {"km_h", units.Metric, 1 / 3.6}, {"m_s", units.Metric, 1}}
	// Thermal resistance: R in ft²·°F·h/Btu, RSI in m²·K/W; 1 ft²·°F·h/Btu is
	// 0.1761102 m²·K/W (NIST SP 811, appendix B.8).
	resistances = []unit[float64]{{"r", units.US, 0.1761102}, {"rsi", units.Metric, 1}}
)

// quantity makes a column for each unit of a quantity that may be unknown. The
// examples are in the first unit.
func quantity[T any, V ~float64](name, about string, list []unit[V], at func(*T) **V, options ...option[T]) []column[T] {
	out := make([]column[T], len(list))
	for i, u := range list {
		out[i] = maybe(name+"_"+u.suffix, about, measure(u.size), measured(u.size), at, options)
		asUnit(&out[i], name, i, list)
	}
	return out
}

// quantityAlways is quantity for a field that is nought when unknown.
func quantityAlways[T any, V ~float64](name, about string, list []unit[V], at func(*T) *V, options ...option[T]) []column[T] {
	out := make([]column[T], len(list))
	for i, u := range list {
		out[i] = always(name+"_"+u.suffix, about, measure(u.size), measured(u.size), at, options)
		asUnit(&out[i], name, i, list)
	}
	return out
}

func asUnit[T any, V ~float64](c *column[T], name string, i int, list []unit[V]) {
	c.Quantity, c.Units, c.fields = name, list[i].system, append(c.fields, name)
	c.second = slices.IndexFunc(list, func(u unit[V]) bool { return u.system == c.Units }) != i
	if i > 0 {
		c.example = [2]string{}
	}
}

func wholeColumn[T any](name, about string, at func(*T) **int, options ...option[T]) column[T] {
	return maybe(name, about, func(s string, _ bool) (int, error) { return parseWhole(s) }, func(v int) string { return fmt.Sprint(v) }, at, options)
}

// countColumn holds a whole number that is nought when nothing is said.
func countColumn[T any](name, about string, at func(*T) *int, options ...option[T]) column[T] {
	return always(name, about, func(s string, _ bool) (int, error) { return parseWhole(s) }, func(v int) string { return fmt.Sprint(v) }, at, options)
}

func yesNoColumn[T any](name, about string, at func(*T) **bool, options ...option[T]) column[T] {
	c := maybe(name, about, func(s string, _ bool) (bool, error) { return parseYesNo(s) }, writeYesNo, at, nil)
	c.Values = []string{"yes", "no"}
	return with(c, options)
}

// sureColumn holds a yes or a no that is never unknown.
func sureColumn[T any](name, about string, at func(*T) *bool, options ...option[T]) column[T] {
	return with(column[T]{Column: Column{Name: name, About: about, Values: []string{"yes", "no"}},
		read: func(cell string, _ bool) (string, func(*T), error) {
			v, err := parseYesNo(cell)
			if err != nil {
				return "", nil, err
			}
			return writeYesNo(v), func(t *T) { *at(t) = v }, nil
		},
		get: func(t *T) string { return writeYesNo(*at(t)) },
	}, options)
}

func dayColumn[T any](name, about string, at func(*T) *units.Date, options ...option[T]) column[T] {
	return always(name, about, func(s string, _ bool) (units.Date, error) { return parseDay(s) }, units.Date.String, at, options)
}

func datedColumn[T any](name, about string, at func(*T) *units.Dated, options ...option[T]) column[T] {
	return always(name, about, func(s string, _ bool) (units.Dated, error) { return parseDated(s) }, units.Dated.String, at, options)
}

func momentColumn[T any](name, about string, at func(*T) **time.Time, options ...option[T]) column[T] {
	return maybe(name, about, func(s string, _ bool) (time.Time, error) { return parseMoment(s) }, writeMoment, at, options)
}

func moneyColumn[T any](name, about string, at func(*T) *units.Money, options ...option[T]) column[T] {
	return always(name, about, parseMoney, writeMoney, at, append(options, money[T]))
}

// pitchColumns hold a roof's pitch, as its rise in twelve or in degrees.
func pitchColumns[T any](at func(*T) **units.Pitch, options ...option[T]) []column[T] {
	return riseColumns("pitch", "", at, options...)
}

// riseColumns hold a pitch of any name.
func riseColumns[T any](name, about string, at func(*T) **units.Pitch, options ...option[T]) []column[T] {
	if about != "" {
		about += ": "
	}
	inTwelve := maybe(name, about+"rise in twelve of run: 6 or 6:12", func(s string, semicolon bool) (units.Pitch, error) {
		p, err := units.ParsePitch(s)
		if err != nil || strings.ContainsAny(s, "eExX_") {
			if v, numberErr := parseNumber(s, semicolon); numberErr == nil {
				p, err = units.PitchIn12(v), nil
			}
		}
		if err != nil || p < 0 || p > 5 {
			return 0, errors.New("write the rise in twelve, such as 6 or 6:12, at most 60")
		}
		return p, nil
	}, func(p units.Pitch) string { return writeMeasured(p.In12()) }, at, options)
	degrees := maybe(name+"_deg", about+"angle with the horizontal, in degrees", func(s string, semicolon bool) (units.Pitch, error) {
		v, err := parseNumber(s, semicolon)
		if err == nil && (v < 0 || v > 78) {
			err = errors.New("must lie between 0 and 78 degrees")
		}
		return pitchOfDegrees(v), err
	}, func(p units.Pitch) string { return writeMeasured(p.Degrees()) }, at, options)
	inTwelve.Quantity, degrees.Quantity = name, name
	inTwelve.fields, degrees.fields = []string{name}, []string{name}
	degrees.second, degrees.example = true, [2]string{}
	return []column[T]{inTwelve, degrees}
}

// outlineColumn holds the outline of a slope.
func outlineColumn[T any](name, about string, at func(*T) *units.Outline, options ...option[T]) column[T] {
	return with(column[T]{Column: Column{Name: name, About: about},
		read: func(cell string, _ bool) (string, func(*T), error) {
			o, err := units.ParseOutline(cell)
			if err != nil {
				return "", nil, err
			}
			return o.String(), func(t *T) { *at(t) = o }, nil
		},
		get:   func(t *T) string { return at(t).String() },
		clear: func(t *T) { *at(t) = nil },
	}, options)
}

// refColumn names another record by its ref.
func refColumn[T any](name, about string, at func(*T) *string, options ...option[T]) column[T] {
	c := textColumn(name, about, 40, at)
	base := strings.TrimSuffix(name, "_ref")
	c.fields = []string{base + "_id"}
	return with(c, options)
}

// mostOfItem bounds an item that is read as numbers and words.
const mostOfItem = 800

// listColumn holds a list that is kept whole, item by item.
func listColumn[T any](name, about string, most int, parse func(*T, []string) error, items func(*T) []string, options ...option[T]) column[T] {
	return with(column[T]{Column: Column{Name: name, About: about},
		read: func(cell string, _ bool) (string, func(*T), error) {
			list := splitItems(plain(cell))
			for _, item := range list {
				if utf8.RuneCountInString(item) > most {
					return "", nil, fmt.Errorf("each may have at most %d characters", most)
				}
			}
			var scratch T
			if err := parse(&scratch, list); err != nil {
				return "", nil, err
			}
			return joinItems(items(&scratch)), func(t *T) { _ = parse(t, list) }, nil
		},
		get:   func(t *T) string { return joinItems(items(t)) },
		clear: func(t *T) { _ = parse(t, nil) },
	}, options)
}

// growingColumn holds a list of texts to which a file adds: what it does not
// name stays.
func growingColumn[T any](name, about string, most int, check func(string) error, at func(*T) *[]string, options ...option[T]) column[T] {
	c := column[T]{Column: Column{Name: name, About: about}, grows: true}
	c.get = func(t *T) string { return joinItems(*at(t)) }
	c.read = func(cell string, _ bool) (string, func(*T), error) {
		list := splitItems(plain(cell))
		for i, item := range list {
			if utf8.RuneCountInString(item) > most {
				return "", nil, fmt.Errorf("each may have at most %d characters", most)
			}
			if slices.Contains(list[:i], item) {
				return "", nil, fmt.Errorf("names %q twice", item)
			}
			if check != nil {
				if err := check(item); err != nil {
					return "", nil, err
				}
			}
		}
		return joinItems(list), func(t *T) {
			all := slices.Clone(*at(t))
			for _, item := range list {
				if !slices.ContainsFunc(all, func(kept string) bool { return tidy(kept) == item }) {
					all = append(all, item)
				}
			}
			*at(t) = all
		}, nil
	}
	return with(c, options)
}
