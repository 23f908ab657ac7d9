package models

import (
	"fmt"
	"math"
	"net/mail"
	"reflect"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"overhang/analytics/units"
)

// checks gathers every rule that a record breaks, so that a person is told all
// of them at once.
type checks struct{ fields []FieldError }

func (c *checks) that(ok bool, field string, value any, rule string, args ...any) {
	if ok {
		return
	}
	c.fields = append(c.fields, FieldError{Field: field, Value: show(value), Rule: fmt.Sprintf(rule, args...)})
}

func show(value any) string {
	if value == nil {
		return ""
	}
	if v := reflect.ValueOf(value); v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return ""
		}
		return show(v.Elem().Interface())
	}
	return fmt.Sprint(value)
}

// required refuses an empty text.
func (c *checks) required(field, value string) {
	c.that(strings.TrimSpace(value) != "", field, value, "is needed")
}

// text bounds the length of every text, so that a row stays a row.
func (c *checks) text(field, value string, most int) {
	c.that(utf8.RuneCountInString(value) <= most, field, string([]rune(value)[:min(40, utf8.RuneCountInString(value))])+"…",
		"may have at most %d characters", most)
	c.that(utf8.ValidString(value) && !strings.ContainsRune(value, 0), field, "", "must be readable text (UTF-8)")
}

// among refuses a value that is not in the list. An empty value is unknown and
// passes.
func (c *checks) among(field, value string, list []string) {
	c.that(value == "" || slices.Contains(list, value), field, value, "must be one of %s", strings.Join(list, ", "))
}

// number refuses a known number outside low to high.
func number[T ~int | ~int64 | ~float64](c *checks, field string, value *T, low, high T) {
	if value == nil {
		return
	}
	v := float64(*value)
	c.that(!math.IsNaN(v) && *value >= low && *value <= high, field, measured(*value), "must lie between %s and %s", measured(low), measured(high))
}

// measured writes a number with its unit, in both systems where it has one.
func measured(v any) string {
	switch v := v.(type) {
	case units.Length:
		return fmt.Sprintf("%.4g m (%.4g ft)", v.In(units.Metre), v.In(units.Foot))
	case units.Area:
		return fmt.Sprintf("%.4g m² (%.4g ft²)", v.In(units.SquareMetre), v.In(units.SquareFoot))
	}
	return fmt.Sprint(v)
}

// day refuses a known day outside the years that a roof can have seen.
func (c *checks) day(field string, d units.Date) {
	c.that(d.IsZero() || (d >= earliestDay && d <= latestDay), field, d, "must lie between %s and %s", earliestDay, latestDay)
}

// order refuses two known days in the wrong order.
func (c *checks) order(firstField string, first units.Date, field string, second units.Date) {
	c.that(first.IsZero() || second.IsZero() || second >= first, field, second, "must not be before %s (%s)", firstField, first)
}

func (c *checks) dated(field string, d units.Dated) {
	c.day(field, d.On)
	c.that(d.On.IsZero() || slices.Contains([]units.Precision{units.ToDay, units.ToMonth, units.ToYear, units.About}, d.Precision),
		field, d.Precision, "must be known to the day, month or year, or be about a year")
}

func (c *checks) email(field, value string) {
	if value == "" {
		return
	}
	a, err := mail.ParseAddress(value)
	c.that(err == nil && a.Address == value, field, value, "must be an email address such as name@example.org")
}

func (c *checks) position(lat, lon *float64) {
	number(c, "lat", lat, -90, 90)
	number(c, "lon", lon, -180, 180)
	c.that((lat == nil) == (lon == nil), "lon", "", "latitude and longitude go together")
}

func (c *checks) err() error {
	if len(c.fields) == 0 {
		return nil
	}
	return &Error{Code: Invalid, Message: "Something needs another look.", Fields: c.fields}
}

var (
	earliestDay = units.NewDate(1800, time.January, 1)
	latestDay   = units.NewDate(2200, time.December, 31)
)

// Same says whether two values that may be unknown are the same; unknown is the same
// as unknown.
func Same[T comparable](a, b *T) bool { return (a == nil) == (b == nil) && (a == nil || *a == *b) }
