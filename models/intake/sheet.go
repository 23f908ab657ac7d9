package intake

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"overhang/analytics/units"
	"overhang/models"
)

// Kind is a kind of file.
type Kind struct {
	Name    string   `json:"name"` // as on the command line: "roofs"
	About   string   `json:"about"`
	Columns []Column `json:"columns"`
}

// Sheet is a kind of file whose rows are of type T.
type Sheet[T any] struct {
	name    string
	about   string
	columns []column[T]
	apart   [2]string                    // two quantities of which a row has one
	finish  func(*T)                     // fills in what follows from the cells of a new row
	check   func(*T) []models.FieldError // the rules of the records within
}

// Name is the kind's name.
func (s *Sheet[T]) Name() string { return s.name }

// Kind describes the sheet.
func (s *Sheet[T]) Kind() Kind {
	k := Kind{Name: s.name, About: s.about}
	for _, c := range s.columns {
		k.Columns = append(k.Columns, c.Column)
	}
	return k
}

// rules gives the fields at fault of a record's own rules.
func rules(records ...models.Record) []models.FieldError {
	var out []models.FieldError
	for _, r := range records {
		var e *models.Error
		if err := r.Validate(); errors.As(err, &e) {
			out = append(out, e.Fields...)
		}
	}
	return out
}

// Refusal is why a row, or a whole file, is not taken: where it stands, what it
// says and the rule that it breaks.
type Refusal struct {
	Line  int    `json:"line"`
	Field string `json:"field"` // the column, empty for a whole row
	Value string `json:"value"`
	Rule  string `json:"rule"`
}

// FileError is a file that cannot be read, or not be read on.
type FileError struct{ Refusals []Refusal }

// Error gives the first refusal.
func (e *FileError) Error() string {
	r := e.Refusals[0]
	return strings.TrimSpace(fmt.Sprintf("line %d: %s %s", r.Line, r.Field, r.Rule))
}

// Change is one field of a row that differs from what is kept.
type Change struct {
	Field string `json:"field"`
	From  string `json:"from"`
	To    string `json:"to"`
}

// shown cuts a value to what fits in a report.
func shown(s string) string {
	const most = 80
	s = strings.ToValidUTF8(s, "\ufffd")
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most-1]) + "…"
}

// Rows reads the rows of a file of one kind.
type Rows[T any] struct {
	sheet *Sheet[T]
	table *table
	cols  []*column[T] // of the file, in its order
	order []int        // of the cells, in the sheet's order
	lines map[string]int
}

// Open reads the header of a file. A file with a header that the kind does not
// allow gives a *FileError.
func (s *Sheet[T]) Open(r io.Reader) (*Rows[T], error) {
	t, err := openTable(r)
	if err != nil {
		return nil, fileError(err)
	}
	rows := &Rows[T]{sheet: s, table: t, lines: map[string]int{}}
	var refused []Refusal
	refuse := func(field, value, rule string, args ...any) {
		refused = append(refused, Refusal{Line: 1, Field: field, Value: shown(value), Rule: fmt.Sprintf(rule, args...)})
	}
	at := map[string]int{}
	measures := map[string]string{}
	unknown := false
	for i, name := range t.header {
		first, seen := at[name]
		at[name] = i
		c := s.column(name)
		switch {
		case name == "":
			refuse("", "", "column %d has no name", i+1)
		case !utf8.ValidString(name):
			refuse("", name, "is not UTF-8; save the file as CSV UTF-8")
		case seen:
			refuse(name, "", "names the columns %d and %d; each may stand once", first+1, i+1)
		case c == nil:
			unknown = true
			refuse(name, "", "is not a column of %s; these are %s", s.name, strings.Join(s.names(), ", "))
		case c.Quantity != "" && measures[c.Quantity] != "":
			refuse(name, "", "says the same as %s in another unit; keep one of them", measures[c.Quantity])
		case c.Quantity != "":
			measures[c.Quantity] = name
		}
		rows.cols = append(rows.cols, c)
	}
	for i := range s.columns {
		c := &s.columns[i]
		if place, found := at[c.Name]; found {
			rows.order = append(rows.order, place)
		} else if c.Key && c.Needed {
			unknown = true
			refuse(c.Name, "", "is missing: a file of %s needs this column", s.name)
		}
	}
	if unknown {
		if other := fits(t.header, s.name); other != nil {
			refused = append([]Refusal{{Line: 1, Value: shown(strings.Join(t.header, ", ")),
				Rule: fmt.Sprintf("these look like the columns of a file of %s, and it was read as one of %s", other.Name, s.name)}}, refused...)
		}
	}
	if len(refused) > 0 {
		return nil, &FileError{refused}
	}
	return rows, nil
}

func (s *Sheet[T]) column(name string) *column[T] {
	for i := range s.columns {
		if s.columns[i].Name == name {
			return &s.columns[i]
		}
	}
	return nil
}

func (s *Sheet[T]) names() []string {
	out := make([]string, len(s.columns))
	for i, c := range s.columns {
		out[i] = c.Name
	}
	return out
}

// fits finds the kind whose columns the header fits best, when it fits one
// better than the named kind.
func fits(header []string, named string) *Kind {
	var best *Kind
	most, mostOfNamed := 0, 0
	for _, k := range Kinds() {
		n := 0
		hasKey := true
		for _, c := range k.Columns {
			if slices.Contains(header, c.Name) {
				n++
			} else if c.Key && c.Needed {
				hasKey = false
			}
		}
		if k.Name == named {
			mostOfNamed = n
		} else if hasKey && n > most {
			most, best = n, &k
		}
	}
	if most > mostOfNamed {
		return best
	}
	return nil
}

func fileError(err error) error {
	var f *fault
	if errors.As(err, &f) {
		return &FileError{[]Refusal{{Line: f.line, Rule: f.rule}}}
	}
	return err
}

// cell is one cell of a row that says something.
type cell[T any] struct {
	col  *column[T]
	raw  string
	text string   // as the column would write it
	put  func(*T) // nil when the cell was refused
}

// Line is one row of a file.
type Line[T any] struct {
	Number   int // the line on which the row begins
	Refusals []Refusal

	sheet *Sheet[T]
	cells []cell[T]
	key   string
	name  string
}

// Next gives the next row, io.EOF after the last, or a *FileError when the file
// cannot be read on.
func (rows *Rows[T]) Next() (*Line[T], error) {
	record, number, err := rows.table.next()
	if err != nil {
		return nil, fileError(err)
	}
	l := &Line[T]{Number: number, sheet: rows.sheet}
	if len(record) != len(rows.cols) {
		l.Refuse("", strconv.Itoa(len(record))+" cells", "must have as many cells as the header names (%d)", len(rows.cols))
		return l, nil
	}
	l.cells = make([]cell[T], 0, len(rows.order))
	for _, i := range rows.order {
		c := rows.cols[i]
		line, _ := rows.table.csv.FieldPos(i)
		l.read(c, record[i], line, rows.table.semicolon)
	}
	s := rows.sheet
	if s.apart[0] != "" {
		var of [2]string
		for _, c := range l.cells {
			if i := slices.Index(s.apart[:], c.col.Quantity); i >= 0 {
				of[i] = c.col.Name
			}
		}
		if of[0] != "" && of[1] != "" {
			l.Refuse(of[1], l.Text(of[1]), "says the same as %s; a row has one of them", of[0])
		}
	}
	l.setKey()
	if l.key != "" {
		if first, seen := rows.lines[l.key]; seen {
			l.Refuse(rows.sheet.columns[0].Name, l.name, "is in line %d too; each may stand once in a file", first)
			l.key = ""
		} else {
			rows.lines[l.key] = number
		}
	}
	return l, nil
}

func (l *Line[T]) read(c *column[T], raw string, line int, semicolon bool) {
	refuse := func(rule string) {
		l.cells = append(l.cells, cell[T]{col: c, raw: raw})
		l.Refusals = append(l.Refusals, Refusal{Line: line, Field: c.Name, Value: shown(raw), Rule: rule})
	}
	if len(raw) > MaxField {
		refuse(fmt.Sprintf("is longer than %d bytes", MaxField))
		return
	}
	if !utf8.ValidString(raw) {
		refuse("is not UTF-8; save the file as CSV UTF-8")
		return
	}
	text := tidy(raw)
	if text == "" {
		if c.Key && c.Needed {
			refuse("is needed: it names the row")
		}
		return
	}
	if text == "-" {
		switch {
		case c.grows:
			refuse("is a list that only grows; it cannot be emptied")
		case c.clear == nil || c.Key:
			refuse("cannot be emptied")
		default:
			l.cells = append(l.cells, cell[T]{col: c, raw: raw, put: c.clear})
		}
		return
	}
	if c.number {
		text = strings.TrimPrefix(text, "'")
	}
	written, put, err := c.read(text, semicolon)
	if err != nil {
		refuse(err.Error())
		return
	}
	l.cells = append(l.cells, cell[T]{col: c, raw: raw, text: written, put: put})
}

// setKey finds what names the row; a row whose naming cells were refused has no
// key.
func (l *Line[T]) setKey() {
	var key, name strings.Builder
	for i := range l.sheet.columns {
		c := &l.sheet.columns[i]
		if !c.Key {
			continue
		}
		text := c.Default
		if given := l.cell(c.Name); given != nil {
			if given.put == nil {
				return
			}
			text = given.text
		} else if c.Needed {
			return
		}
		addKey(&key, text)
		if name.Len() > 0 && text != "" {
			name.WriteString(", ")
		}
		name.WriteString(text)
	}
	l.key, l.name = key.String(), name.String()
}

func addKey(b *strings.Builder, text string) { fmt.Fprintf(b, "%d:%s", len(text), text) }

// KeyOf gives the key of a kept record, which equals Line.Key of the row that
// speaks of it.
func (s *Sheet[T]) KeyOf(t *T) string {
	var b strings.Builder
	for i := range s.columns {
		if c := &s.columns[i]; c.Key {
			text := c.get(t)
			if text == "" {
				text = c.Default
			}
			addKey(&b, text)
		}
	}
	return b.String()
}

// Key names the row among those of its kind; it is empty when that was refused.
func (l *Line[T]) Key() string { return l.key }

// Name is the key for people: "H-0142, main, north".
func (l *Line[T]) Name() string { return l.name }

func (l *Line[T]) cell(name string) *cell[T] {
	for i := range l.cells {
		if l.cells[i].col.Name == name {
			return &l.cells[i]
		}
	}
	return nil
}

// Text is what the cell of a column says, or for a key its default, or nothing
// when it is empty, refused or not there.
func (l *Line[T]) Text(name string) string {
	if c := l.cell(name); c != nil {
		return c.text
	}
	if c := l.sheet.column(name); c != nil {
		return c.Default
	}
	return ""
}

// Given says whether the file has something in the cell of a column.
func (l *Line[T]) Given(name string) bool { return l.cell(name) != nil }

// Refuse notes why the row is not taken.
func (l *Line[T]) Refuse(field, value, rule string, args ...any) {
	l.Refusals = append(l.Refusals, Refusal{Line: l.Number, Field: field, Value: shown(value), Rule: fmt.Sprintf(rule, args...)})
}

func (l *Line[T]) refused(field string) bool {
	return slices.ContainsFunc(l.Refusals, func(r Refusal) bool { return r.Field == field })
}

// Apply puts what the row says into t, a new row or a kept one, and gives what
// changed. A cell that says what is kept already is left alone.
func (l *Line[T]) Apply(t *T, isNew bool) []Change {
	var changes []Change
	for i := range l.sheet.columns {
		c := &l.sheet.columns[i]
		given := l.cell(c.Name)
		if given == nil {
			if isNew && c.Key && c.Default != "" {
				if _, put, err := c.read(c.Default, false); err == nil {
					put(t)
				}
			}
			if isNew && c.Needed && !c.Key && !l.refused(c.Name) {
				l.Refuse(c.Name, "", "is needed in a new row")
			}
			continue
		}
		if given.put == nil {
			continue
		}
		if c.where != nil && !c.where(t) {
			if given.text != "" {
				l.Refuse(c.Name, given.raw, "%s", c.whereRule)
			}
			continue
		}
		from := c.get(t)
		if !c.grows && from == given.text {
			continue
		}
		given.put(t)
		to := c.get(t)
		if c.grows && from == to {
			continue
		}
		changes = append(changes, Change{Field: c.Name, From: shown(from), To: shown(to)})
	}
	if isNew && l.sheet.finish != nil {
		l.sheet.finish(t)
	}
	return changes
}

// Check holds the row against the rules of its records, and notes those that it
// breaks.
func (l *Line[T]) Check(t *T) { l.breaks(l.sheet.check(t)) }

// Breaks notes the rules about fields that an error of a record tells, if any.
func (l *Line[T]) Breaks(err error) {
	var e *models.Error
	if errors.As(err, &e) {
		l.breaks(e.Fields)
	}
}

// breaks notes broken rules under the names of the columns.
func (l *Line[T]) breaks(rules []models.FieldError) {
	for _, broken := range rules {
		name, value := broken.Field, broken.Value
		for i := range l.sheet.columns {
			c := &l.sheet.columns[i]
			if c.Name != broken.Field && !slices.Contains(c.fields, broken.Field) {
				continue
			}
			given := l.cell(c.Name)
			if given == nil && name != broken.Field {
				continue // another column of the same field stands in the file
			}
			name = c.Name
			if given != nil {
				value = tidy(given.raw)
				break
			}
		}
		if !l.refused(name) {
			l.Refuse(name, value, "%s", broken.Rule)
		}
	}
}

// IsMoney says whether a column holds money.
func (s *Sheet[T]) IsMoney(name string) bool {
	c := s.column(name)
	return c != nil && c.Money
}

// Writer writes rows to a file.
type Writer[T any] struct {
	w    *bufio.Writer
	cols []*column[T]
}

// Writer starts a file: the byte order mark by which spreadsheets know UTF-8,
// and the header. Quantities are written in the units of the system; columns of
// money and of contacts are left out unless they are asked for.
func (s *Sheet[T]) Writer(w io.Writer, system units.System, withMoney, withContacts bool) *Writer[T] {
	out := &Writer[T]{w: bufio.NewWriter(w)}
	for i := range s.columns {
		c := &s.columns[i]
		if c.second || (c.Units != "" && c.Units != system) || (c.Money && !withMoney) || (c.Contact && !withContacts) {
			continue
		}
		out.cols = append(out.cols, c)
	}
	out.w.WriteString("\ufeff")
	header := make([]string, len(out.cols))
	for i, c := range out.cols {
		header[i] = c.Name
	}
	out.record(header)
	return out
}

// Write writes one row.
func (w *Writer[T]) Write(t *T) error {
	record := make([]string, len(w.cols))
	for i, c := range w.cols {
		record[i] = c.get(t)
		if !c.number {
			record[i] = neutral(record[i])
		}
	}
	return w.record(record)
}

// Flush writes what is still held back.
func (w *Writer[T]) Flush() error { return w.w.Flush() }

// record writes one record as RFC 4180 has it: lines end in CRLF, also within a
// cell, which is how a spreadsheet expects them.
func (w *Writer[T]) record(cells []string) error {
	for i, text := range cells {
		if i > 0 {
			w.w.WriteByte(',')
		}
		if !strings.ContainsAny(text, ",;\"\r\n\t|") {
			w.w.WriteString(text)
			continue
		}
		w.w.WriteByte('"')
		text = strings.ReplaceAll(text, `"`, `""`)
		w.w.WriteString(strings.ReplaceAll(text, "\n", "\r\n"))
		w.w.WriteByte('"')
	}
	_, err := w.w.WriteString("\r\n")
	return err
}
