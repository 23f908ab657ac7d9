package intake

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The limits of a file.
const (
	MaxRows   = 1_000_000 // below the header
	MaxFile   = 1 << 29   // bytes
	MaxField  = 100_000   // bytes in one cell
	maxRecord = 1 << 20   // bytes in one row
)

// fault is a file that cannot be read on: the line, and the rule it breaks.
type fault struct {
	line int
	rule string
}

func (f *fault) Error() string { return fmt.Sprintf("line %d: %s", f.line, f.rule) }

// guard passes bytes on and stops a file that a CSV reader would choke on or
// swallow whole: bytes of nought, a row or a file without an end.
type guard struct {
	r      io.Reader
	line   int // of the byte to come
	start  int // line at which the record began
	record int
	total  int64
	quoted bool
	err    error
}

func (g *guard) Read(p []byte) (int, error) {
	if g.err != nil {
		return 0, g.err
	}
	n, err := g.r.Read(p)
	if g.total += int64(n); g.total > MaxFile {
		g.err = &fault{g.line, fmt.Sprintf("the file is larger than %d MiB; split it", MaxFile>>20)}
		return 0, g.err
	}
	for _, b := range p[:n] {
		g.record++
		switch b {
		case 0:
			g.err = &fault{g.line, "holds a byte of nought, so it is not text; save the file as CSV UTF-8"}
			return 0, g.err
		case '"':
			g.quoted = !g.quoted
		case '\n':
			g.line++
			if !g.quoted {
				g.record, g.start = 0, g.line
			}
		}
		if g.record > maxRecord {
			g.err = &fault{g.start, fmt.Sprintf("the row that begins here is longer than %d KiB; a quote may not be closed", maxRecord>>10)}
			return 0, g.err
		}
	}
	return n, err
}

// table reads the records of a file with their line numbers.
type table struct {
	csv       *csv.Reader
	semicolon bool
	header    []string
	rows      int
}

// openTable reads as far as the header line and finds the separator.
func openTable(r io.Reader) (*table, error) {
	raw := bufio.NewReader(r)
	// An error shows again when the file is read on.
	mark, _ := raw.Peek(3)
	switch {
	case bytes.HasPrefix(mark, []byte{0xff, 0xfe}) || bytes.HasPrefix(mark, []byte{0xfe, 0xff}):
		return nil, &fault{1, "is written in UTF-16; save the file as CSV UTF-8"}
	case string(mark) == "\ufeff":
		raw.Discard(len(mark))
	}
	b := bufio.NewReaderSize(&guard{r: raw, line: 1, start: 1}, 64<<10)
	head, err := b.Peek(b.Size())
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	// The first line that is not empty is the header.
	first := bytes.TrimLeft(head, "\r\n")
	if end := bytes.IndexByte(first, '\n'); end >= 0 {
		first = first[:end]
	}
	first = bytes.TrimRight(first, "\r")
	t := &table{}
	commas, semicolons := bytes.ContainsRune(first, ','), bytes.ContainsRune(first, ';')
	switch {
	case len(bytes.TrimSpace(first)) == 0:
		return nil, &fault{1, "the file is empty; the first line names the columns"}
	case !utf8.Valid(first):
		return nil, &fault{1, "is not UTF-8; save the file as CSV UTF-8"}
	case bytes.IndexByte(first, '\r') >= 0:
		return nil, &fault{1, "lines end in a carriage return alone; save the file with LF or CRLF"}
	case commas && semicolons:
		return nil, &fault{1, "has both commas and semicolons between the columns' names; use one of them"}
	case !commas && !semicolons && bytes.IndexByte(first, '\t') >= 0:
		return nil, &fault{1, "has tabs between the columns' names; use commas or semicolons"}
	}
	t.semicolon = semicolons
	t.csv = csv.NewReader(b)
	t.csv.FieldsPerRecord = -1
	if t.semicolon {
		t.csv.Comma = ';'
	}
	t.header, err = t.read()
	if err != nil {
		return nil, err
	}
	for i, name := range t.header {
		t.header[i] = strings.ToLower(strings.TrimSpace(name))
	}
	return t, nil
}

// read gives the next record, or io.EOF, or a *fault after which the file
// cannot be read on.
func (t *table) read() ([]string, error) {
	record, err := t.csv.Read()
	if err == nil || errors.Is(err, io.EOF) {
		return record, err
	}
	var broken *csv.ParseError
	if !errors.As(err, &broken) {
		return nil, err
	}
	rule := "has a quote that is not closed"
	switch {
	case errors.As(broken.Err, new(*fault)):
		return nil, broken.Err
	case errors.Is(broken.Err, csv.ErrBareQuote):
		rule = `has a quote within a cell; put quotes round the whole cell, and write a quote in it twice ("")`
	case errors.Is(broken.Err, csv.ErrQuote) && broken.Line == broken.StartLine:
		rule = `has text after a closing quote, or a quote that is not closed; write a quote within a cell twice ("")`
	}
	return nil, &fault{broken.StartLine, rule + "; the rows from here on were not checked"}
}

// next gives the next row that is not wholly empty, and the line on which it
// begins.
func (t *table) next() (record []string, line int, err error) {
	for {
		record, err = t.read()
		if err != nil {
			return nil, 0, err
		}
		line, _ = t.csv.FieldPos(0)
		for _, cell := range record {
			if strings.TrimSpace(cell) != "" {
				t.rows++
				if t.rows > MaxRows {
					return nil, 0, &fault{line, fmt.Sprintf("the file has more than %d rows; split it", MaxRows)}
				}
				return record, line, nil
			}
		}
	}
}

// CountRows reads a file as far as it can be read and gives the number of its
// rows. What is wrong with the file is left for reading it.
func CountRows(r io.Reader) (int, error) {
	t, err := openTable(r)
	for err == nil {
		t.csv.ReuseRecord = true
		_, _, err = t.next()
	}
	if t == nil || t.rows > MaxRows {
		t = &table{}
	}
	if errors.Is(err, io.EOF) || errors.As(err, new(*fault)) {
		return t.rows, nil
	}
	return 0, err
}

// runs says whether a spreadsheet could take the text for a formula. What is
// said of a text holds for it with apostrophes before it too, so that the one
// that neutral puts there can be told.
func runs(s string) bool {
	if bare := strings.TrimLeft(s, "'"); strings.HasPrefix(bare, "\t") || strings.HasPrefix(bare, "\r") {
		return true
	}
	for _, r := range s {
		switch {
		case strings.ContainsRune("=+-@＝＋－＠", r):
			return true
		case unicode.IsSpace(r) || unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || strings.ContainsRune("'\"`´‘’“”«»", r):
		default:
			return false
		}
	}
	return false
}

// WriteList writes a listing for a spreadsheet: its heads and its rows, no text of
// which is run as a formula there.
func WriteList(w io.Writer, heads []string, rows [][]string) error {
	out := csv.NewWriter(w)
	for _, row := range append([][]string{heads}, rows...) {
		safe := make([]string, len(row))
		for i, cell := range row {
			safe[i] = neutral(cell)
		}
		if err := out.Write(safe); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// neutral writes a text so that no spreadsheet runs it; plain reads it back.
func neutral(s string) string {
	if runs(s) {
		return "'" + s
	}
	return s
}

func plain(s string) string {
	if rest, found := strings.CutPrefix(s, "'"); found && runs(rest) {
		return rest
	}
	return s
}

// tidy gives a text as it is written and compared: without blanks around it,
// lines ended by LF alone.
func tidy(s string) string {
	if strings.ContainsRune(s, '\r') {
		s = strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
	}
	return strings.TrimSpace(s)
}

// joinItems and splitItems write a list in one cell, with a bar between items.
func joinItems(items []string) string {
	out := make([]string, len(items))
	for i, item := range items {
		out[i] = strings.ReplaceAll(strings.ReplaceAll(tidy(item), `\`, `\\`), "|", `\|`)
	}
	return strings.Join(out, "|")
}

func splitItems(s string) []string {
	var items []string
	var item strings.Builder
	escaped := false
	end := func() {
		if text := tidy(item.String()); text != "" {
			items = append(items, text)
		}
		item.Reset()
	}
	for _, r := range s {
		switch {
		case escaped && r != '|' && r != '\\':
			item.WriteRune('\\')
			item.WriteRune(r)
			escaped = false
		case escaped:
			item.WriteRune(r)
			escaped = false
		case r == '\\':
			escaped = true
		case r == '|':
			end()
		default:
			item.WriteRune(r)
		}
	}
	if escaped {
		item.WriteRune('\\')
	}
	end()
	return items
}
