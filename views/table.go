package views

import (
	"cmp"
	"maps"
	"net/url"
	"slices"
)

// Table is a list with a caption. Its columns may be sorted by, its first cell
// of each row names the row, and it says in words when it is empty. Where Pick
// is set each row has a box before it: a field named Pick of the form with the
// id PickFor, which may stand elsewhere on the page.
type Table struct {
	ID      string
	Caption Phrase
	Columns []Column
	Rows    []Row
	Empty   Phrase
	Pager   *Pager
	Stacks  bool // on a phone each row is a block, where cells hold sentences
	Pick    string
	PickFor string
}

// Column is one column of a table.
type Column struct {
	Head    Phrase
	Numeric bool   // figures, set to the right
	URL     string // sorts by this column; it cannot be sorted by when empty
	Sorted  string // "ascending", "descending" or empty
}

// Row is one row of a table.
type Row struct {
	Cells  []Cell
	Pick   string // the value of its box; it has none when empty
	Picked bool
}

// Cell is one value of a row: a text, a Phrase, a whole number, a units value, a
// time or a YearsLeft, which is drawn. With a URL it is a link.
type Cell struct {
	Value any
	URL   string
	Phone string // below the value, smaller and in one line
	Note  Phrase // below the value, smaller
}

// Left is the years left in the cell, or nil when the cell holds something else.
func (c Cell) Left() *YearsLeft {
	if y, ok := c.Value.(YearsLeft); ok {
		return &y
	}
	return nil
}

// NewRow makes a row of values; a value that is a Cell already stays as it is.
func NewRow(values ...any) Row {
	cells := make([]Cell, len(values))
	for i, v := range values {
		if c, ok := v.(Cell); ok {
			cells[i] = c
			continue
		}
		cells[i] = Cell{Value: v}
	}
	return Row{Cells: cells}
}

// Pager leads through a long list. From and To count from 1.
type Pager struct {
	From, To, Total int
	Previous, Next  string // addresses; empty at the ends
}

// Here is the address of a list with what it is narrowed and sorted by, to make
// the addresses of its columns and pages from.
type Here struct {
	Path  string
	Query url.Values
}

// With gives the address with one parameter set, or left out when the value is
// empty. The page number goes, because another list has other pages.
func (h Here) With(name, value string) string {
	query := maps.Clone(h.Query)
	if query == nil {
		query = url.Values{}
	}
	query.Del("page")
	query.Del(name)
	if value != "" {
		query.Set(name, value)
	}
	if len(query) == 0 {
		return h.Path
	}
	return h.Path + "?" + query.Encode()
}

// Column makes a column that the list can be sorted by. The parameter "sort"
// holds the key, with a minus before it for the other direction.
func (h Here) Column(head Phrase, key string, numeric bool) Column {
	c := Column{Head: head, Numeric: numeric, URL: h.With("sort", key)}
	switch h.Query.Get("sort") {
	case key:
		c.Sorted, c.URL = "ascending", h.With("sort", "-"+key)
	case "-" + key:
		c.Sorted = "descending"
	}
	return c
}

func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }
