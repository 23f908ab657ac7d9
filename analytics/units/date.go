package units

import (
	"database/sql/driver"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Date is a calendar day of the proleptic Gregorian calendar, without a time
// or a zone. The zero value is no date. Dates compare with < and >, and the
// difference of two is a number of days.
//
// It is kept in a database, in JSON and in files as YYYY-MM-DD (ISO 8601).
type Date int32

// daysToUnix is the Date of 1970-01-01: days since 0001-01-01, counted from 1.
const daysToUnix = 719163

// NewDate gives the day of that year, month and day of month. Overflow is
// normalised as by time.Date: 31 February is 3 March (2 March in a leap year).
func NewDate(year int, month time.Month, day int) Date {
	return DateOf(time.Date(year, month, day, 0, 0, 0, 0, time.UTC))
}

// DateOf gives the calendar day that t shows in its own zone.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix()/86400 + daysToUnix)
}

// IsZero says whether there is no date.
func (d Date) IsZero() bool { return d == 0 }

// Time gives midnight UTC at the start of the day.
func (d Date) Time() time.Time { return time.Unix((int64(d)-daysToUnix)*86400, 0).UTC() }

// In gives midnight at the start of the day in a zone.
func (d Date) In(zone *time.Location) time.Time {
	y, m, day := d.Time().Date()
	return time.Date(y, m, day, 0, 0, 0, 0, zone)
}

// Year of the day.
func (d Date) Year() int { return d.Time().Year() }

// Month of the day.
func (d Date) Month() Month {
	t := d.Time()
	return NewMonth(t.Year(), t.Month())
}

// Weekday of the day.
func (d Date) Weekday() time.Weekday { return d.Time().Weekday() }

// AddDays moves the day by n days.
func (d Date) AddDays(n int) Date { return d + Date(n) }

// AddMonths moves the day by n calendar months and keeps the day of the month,
// or takes the last day of a month that is too short: 31 January plus one month
// is 28 or 29 February.
func (d Date) AddMonths(n int) Date {
	t := d.Time()
	m := NewMonth(t.Year(), t.Month()) + Month(n)
	return min(m.First().AddDays(t.Day()-1), m.Last())
}

// AddYears moves the day by n years; 29 February becomes 28 in a common year.
func (d Date) AddYears(n int) Date { return d.AddMonths(12 * n) }

// YearsSince gives the years from an earlier day to this one, as days over
// 365.25.
func (d Date) YearsSince(earlier Date) float64 { return float64(d-earlier) / 365.25 }

// MonthsSince gives the completed calendar months from an earlier day to this
// one: the largest n for which earlier.AddMonths(n) is not after it. It is
// negative when "earlier" is later.
func (d Date) MonthsSince(earlier Date) int {
	n := int(d.Month() - earlier.Month())
	if earlier.AddMonths(n) > d {
		n--
	}
	return n
}

// String writes YYYY-MM-DD, or nothing for no date.
func (d Date) String() string {
	if d == 0 {
		return ""
	}
	return d.Time().Format(time.DateOnly)
}

// ParseDate reads YYYY-MM-DD and nothing else; a day written in another order
// is never guessed.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, strings.TrimSpace(s))
	if err != nil {
		return 0, fmt.Errorf("date %q: write year-month-day, such as 2026-11-25", s)
	}
	return DateOf(t), nil
}

// MarshalText writes YYYY-MM-DD; no date is the empty text.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = 0
		return nil
	}
	v, err := ParseDate(string(b))
	*d = v
	return err
}

// Value writes the day to a database column: YYYY-MM-DD, or NULL for no date.
func (d Date) Value() (driver.Value, error) {
	if d == 0 {
		return nil, nil
	}
	return d.String(), nil
}

// Scan reads the day from a database column.
func (d *Date) Scan(v any) error {
	switch v := v.(type) {
	case nil:
		*d = 0
		return nil
	case string:
		return d.UnmarshalText([]byte(v))
	case []byte:
		return d.UnmarshalText(v)
	case time.Time:
		*d = DateOf(v)
		return nil
	}
	return fmt.Errorf("date from a column of type %T", v)
}

// Month is a calendar month, counted from January of year 0. The zero value
// is no month.
type Month int32

// NewMonth gives the month of a year.
func NewMonth(year int, month time.Month) Month { return Month(year*12 + int(month) - 1) }

// Year of the month.
func (m Month) Year() int { return int(m) / 12 }

// Of gives the month within its year.
func (m Month) Of() time.Month { return time.Month(int(m)%12 + 1) }

// First day of the month.
func (m Month) First() Date { return NewDate(m.Year(), m.Of(), 1) }

// Last day of the month.
func (m Month) Last() Date { return (m + 1).First() - 1 }

// String writes YYYY-MM.
func (m Month) String() string { return fmt.Sprintf("%04d-%02d", m.Year(), int(m.Of())) }

// Precision says how well a day is known.
type Precision string

// How well a day is known: to the day, to its calendar month, to its calendar
// year, or to within two years either side.
const (
	ToDay   Precision = "day"
	ToMonth Precision = "month"
	ToYear  Precision = "year"
	About   Precision = "about"
)

// AboutYears is how far an "about" year may be off, either way.
const AboutYears = 2

// Dated is a day and how well it is known. On is the day itself, or the middle
// of what is known: the 15th of a month, 1 July of a year. The zero value is no
// date.
type Dated struct {
	On        Date      `json:"on"`
	Precision Precision `json:"precision"`
}

// ErrNoDate is returned when a date is asked for and there is none.
var ErrNoDate = errors.New("no date given")

// IsZero says whether there is no date.
func (d Dated) IsZero() bool { return d.On == 0 }

// Earliest is the first day it can have been.
func (d Dated) Earliest() Date {
	switch d.Precision {
	case ToMonth:
		return d.On.Month().First()
	case ToYear:
		return NewDate(d.On.Year(), 1, 1)
	case About:
		return NewDate(d.On.Year()-AboutYears, 1, 1)
	}
	return d.On
}

// Latest is the last day it can have been.
func (d Dated) Latest() Date {
	switch d.Precision {
	case ToMonth:
		return d.On.Month().Last()
	case ToYear:
		return NewDate(d.On.Year(), 12, 31)
	case About:
		return NewDate(d.On.Year()+AboutYears, 12, 31)
	}
	return d.On
}

// String writes it as it is read: "2014-06-12", "2014-06", "2014" or "about
// 2014".
func (d Dated) String() string {
	switch {
	case d.On == 0:
		return ""
	case d.Precision == ToMonth:
		return d.On.Month().String()
	case d.Precision == ToYear:
		return strconv.Itoa(d.On.Year())
	case d.Precision == About:
		return "about " + strconv.Itoa(d.On.Year())
	}
	return d.On.String()
}

// ParseDated reads "2014-06-12", "2014-06", "2014", and "about 2014" or the
// ISO 8601-2 form "2014~". Anything else is refused, never guessed.
func ParseDated(s string) (Dated, error) {
	text := strings.TrimSpace(s)
	if text == "" {
		return Dated{}, ErrNoDate
	}
	about := false
	for _, mark := range []string{"about ", "c. ", "ca. "} {
		if rest, found := strings.CutPrefix(strings.ToLower(text), mark); found {
			text, about = strings.TrimSpace(rest), true
		}
	}
	if rest, found := strings.CutSuffix(text, "~"); found {
		text, about = rest, true
	}
	if t, err := time.Parse("2006", text); err == nil {
		d := Dated{On: NewDate(t.Year(), 7, 1), Precision: ToYear}
		if about {
			d.Precision = About
		}
		return d, nil
	}
	if !about {
		if t, err := time.Parse("2006-01", text); err == nil {
			return Dated{On: NewDate(t.Year(), t.Month(), 15), Precision: ToMonth}, nil
		}
		if d, err := ParseDate(text); err == nil {
			return Dated{On: d, Precision: ToDay}, nil
		}
	}
	return Dated{}, fmt.Errorf("date %q: write 2014-06-12, 2014-06, 2014 or about 2014", s)
}
