package visits

import (
	"fmt"
	"time"

	"overhang/analytics/units"
)

// MonthDay is a day of any year, such as 15 April. The zero value is none. It
// is written MM-DD.
type MonthDay struct {
	Month time.Month
	Day   int
}

// IsZero says whether there is no day.
func (m MonthDay) IsZero() bool { return m == MonthDay{} }

// String writes MM-DD, or nothing for none.
func (m MonthDay) String() string {
	if m.IsZero() {
		return ""
	}
	return fmt.Sprintf("%02d-%02d", int(m.Month), m.Day)
}

// MarshalText writes MM-DD; none is the empty text.
func (m MonthDay) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads MM-DD and nothing else. 29 February is refused, as most
// years lack it.
func (m *MonthDay) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*m = MonthDay{}
		return nil
	}
	t, err := time.Parse("2006-01-02", "2001-"+string(b))
	if err != nil {
		return fmt.Errorf("day of the year %q: write month-day, such as 04-15", b)
	}
	*m = MonthDay{t.Month(), t.Day()}
	return nil
}

// in gives the day in a year.
func (m MonthDay) in(year int) units.Date { return units.NewDate(year, m.Month, m.Day) }

func (m MonthDay) before(o MonthDay) bool {
	return m.Month < o.Month || m.Month == o.Month && m.Day < o.Day
}

// Season is the part of the year in which roofs are visited, both days
// included. One that begins later in the year than it ends runs over the new
// year. The zero value is open all year.
type Season struct {
	From MonthDay `json:"from"`
	To   MonthDay `json:"to"`
}

// Open says whether a day lies in the season.
func (s Season) Open(d units.Date) bool {
	if s.From.IsZero() || s.To.IsZero() {
		return true
	}
	t := d.Time()
	day := MonthDay{t.Month(), t.Day()}
	if s.To.before(s.From) {
		return !day.before(s.From) || !s.To.before(day)
	}
	return !day.before(s.From) && !s.To.before(day)
}

// Next gives the day itself when the season is open, or the next day that it
// opens.
func (s Season) Next(d units.Date) units.Date {
	if s.Open(d) {
		return d
	}
	opens := s.From.in(d.Year())
	if opens < d {
		opens = s.From.in(d.Year() + 1)
	}
	return opens
}

func (s Season) validate() error {
	for _, m := range []MonthDay{s.From, s.To} {
		if !m.IsZero() && (m.Month < 1 || m.Month > 12 || m.Day < 1 || m.in(2001).Time().Month() != m.Month) {
			return fmt.Errorf("%02d-%02d: is no day of every year", int(m.Month), m.Day)
		}
	}
	if s.From.IsZero() != s.To.IsZero() {
		return fmt.Errorf("needs both from and to, or neither")
	}
	return nil
}
