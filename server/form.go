package server

import (
	"errors"
	"fmt"
	"io"
	"math"
	"mime/multipart"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// Form reads what was typed into a form, field by field. A field that cannot be
// read is noted, and Err gives all of them together. A field that is empty or
// not there is unknown: nil, or the zero of a type that has one.
type Form struct {
	values url.Values
	files  map[string][]*multipart.FileHeader
	system units.System
	wrong  []models.FieldError
}

// Form is what was sent with the request.
func (r *Request) Form() *Form {
	if r.form != nil {
		return r.form
	}
	f := &Form{values: url.Values{}, system: r.Units}
	r.form = f
	if m, err := r.fiber.MultipartForm(); err == nil {
		for name, values := range m.Value {
			f.values[name] = values
		}
		f.files = m.File
		return f
	}
	r.fiber.Context().PostArgs().VisitAll(func(k, v []byte) { f.values.Add(string(k), string(v)) })
	return f
}

// Values is everything as it was typed.
func (f *Form) Values() url.Values { return f.values }

// Has says whether a field was sent at all.
func (f *Form) Has(name string) bool { return f.values.Has(name) }

// Refuse notes that a field breaks a rule.
func (f *Form) Refuse(name, rule string, args ...any) {
	f.wrong = append(f.wrong, models.FieldError{Field: name, Value: f.Text(name), Rule: fmt.Sprintf(rule, args...)})
}

// Err gives what could not be read, or nil.
func (f *Form) Err() error {
	if len(f.wrong) == 0 {
		return nil
	}
	return &models.Error{Code: models.Invalid, Message: "Something needs another look.", Fields: slices.Clone(f.wrong)}
}

// Text reads a text, without spaces around it and with one kind of line end.
func (f *Form) Text(name string) string {
	return strings.TrimSpace(strings.ReplaceAll(f.values.Get(name), "\r\n", "\n"))
}

// Raw reads a text exactly as it was typed, for a password.
func (f *Form) Raw(name string) string { return f.values.Get(name) }

// Texts reads every value of a field of several boxes.
func (f *Form) Texts(name string) []string { return f.values[name] }

// Ticked says whether a single box is ticked.
func (f *Form) Ticked(name string) bool {
	v := f.Text(name)
	return v != "" && v != "no" && v != "false" && v != "0"
}

// YesNo reads a question that may be left open: yes, no or unknown.
func (f *Form) YesNo(name string) *bool {
	var answer bool
	switch f.Text(name) {
	case "":
		return nil
	case "yes", "true", "1":
		answer = true
	case "no", "false", "0":
	default:
		f.Refuse(name, "must be yes or no")
		return nil
	}
	return &answer
}

// Int reads a whole number.
func (f *Form) Int(name string) *int {
	v, ok := f.number(name)
	if !ok {
		return nil
	}
	if v != math.Trunc(v) || math.Abs(v) > 1e15 {
		f.Refuse(name, "must be a whole number")
		return nil
	}
	n := int(v)
	return &n
}

// ID reads the number of another record.
func (f *Form) ID(name string) *int64 {
	text := f.Text(name)
	if text == "" {
		return nil
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil || id <= 0 {
		f.Refuse(name, "is not in the list")
		return nil
	}
	return &id
}

// Version reads the hidden field "version": the one at which the record was
// read that the form changes. It is 0 for a new record.
func (f *Form) Version() int64 {
	v, err := strconv.ParseInt(f.Text("version"), 10, 64)
	if err != nil {
		return 0
	}
	return v
}

// Number reads a number.
func (f *Form) Number(name string) *float64 {
	v, ok := f.number(name)
	if !ok {
		return nil
	}
	return &v
}

// Length reads a length that was typed in one unit or the other, by the
// company's system.
func (f *Form) Length(name string, us, metric units.Length) *units.Length {
	v, ok := f.number(name)
	if !ok {
		return nil
	}
	unit := us
	if f.system == units.Metric {
		unit = metric
	}
	l := units.Length(v) * unit
	return &l
}

// Area reads an area that was typed in one unit or the other, by the company's
// system.
func (f *Form) Area(name string, us, metric units.Area) *units.Area {
	v, ok := f.number(name)
	if !ok {
		return nil
	}
	unit := us
	if f.system == units.Metric {
		unit = metric
	}
	a := units.Area(v) * unit
	return &a
}

// Pitch reads a roof's pitch, such as 6:12.
func (f *Form) Pitch(name string) *units.Pitch {
	text := f.Text(name)
	if text == "" {
		return nil
	}
	p, err := units.ParsePitch(text)
	if err != nil {
		f.Refuse(name, "write the rise in twelve, such as 6:12, up to 60:12")
		return nil
	}
	return &p
}

// Money reads an amount.
func (f *Form) Money(name string) *units.Money {
	text := f.Text(name)
	if text == "" {
		return nil
	}
	m, err := units.ParseMoney(text)
	if err != nil {
		f.Refuse(name, "write an amount such as 1234.50")
		return nil
	}
	return &m
}

// Day reads a day.
func (f *Form) Day(name string) units.Date {
	text := f.Text(name)
	if text == "" {
		return 0
	}
	d, err := units.ParseDate(text)
	if err != nil {
		f.Refuse(name, "write year, month and day, such as 2014-06-12")
		return 0
	}
	return d
}

// Dated reads a day that may be known less well than to the day.
func (f *Form) Dated(name string) units.Dated {
	d, err := units.ParseDated(f.Text(name))
	if err != nil && !errors.Is(err, units.ErrNoDate) {
		f.Refuse(name, "write 2014-06-12, 2014-06, 2014 or about 2014")
	}
	return d
}

// Upload is a file that was sent.
type Upload struct {
	Name string // the file's own name, without folders; it is only for showing
	Size int64
	open func() (multipart.File, error)
}

// Open begins reading the file.
func (u Upload) Open() (io.ReadCloser, error) { return u.open() }

// File gives the file of a field; there is none when the name is empty.
func (f *Form) File(name string) Upload {
	headers := f.files[name]
	if len(headers) == 0 || headers[0].Filename == "" {
		return Upload{}
	}
	h := headers[0]
	own := filepath.Base(strings.ReplaceAll(h.Filename, `\`, "/"))
	return Upload{Name: shorten(own, 120), Size: h.Size, open: h.Open}
}

var thousands = regexp.MustCompile(`^-?\d{1,3}(,\d{3})+(\.\d+)?$`)

func (f *Form) number(name string) (float64, bool) {
	text := f.Text(name)
	if text == "" {
		return 0, false
	}
	if thousands.MatchString(text) {
		text = strings.ReplaceAll(text, ",", "")
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		f.Refuse(name, "must be a number such as 12.5")
		return 0, false
	}
	return v, true
}
