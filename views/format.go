package views

import (
	"errors"
	"fmt"
	"html"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"overhang/analytics/units"
)

// writer writes values for one kind of reader: a language, a system of units, a
// currency and a time zone. Its methods are the functions of the templates.
type writer struct {
	words    *words
	units    units.System
	currency string
	zone     *time.Location
}

// errUnsaid is returned for a number whose rounding nobody chose.
var errUnsaid = errors.New("a fraction must be given as a units value or as text, so that somebody has chosen its rounding")

func (w *writer) functions() template.FuncMap {
	return template.FuncMap{
		"word": func(key string, pairs ...any) (string, error) { return w.say(Say(key, pairs...)) },
		"term": func(family string, value any) (string, error) { return w.say(Term(family, fmt.Sprint(value))) },
		"say":  w.say, "pieces": w.pieces, "show": w.show, "content": w.content,
		"date": w.date, "shortdate": w.shortDate, "weekday": w.weekday, "moment": w.moment,
		"money": w.money, "cents": w.cents, "number": w.number, "percent": w.percent,
		"length":      measure(w, w.units.Length),
		"smalllength": measure(w, w.units.SmallLength),
		"distance":    measure(w, w.units.Distance),
		"area":        measure(w, w.units.Area),
		"roofarea":    measure(w, w.units.RoofArea),
		"ventarea":    measure(w, w.units.VentArea),
		"temperature": measure(w, w.units.Temperature),
		"pitch":       measure(w, units.Pitch.String),
		"years":       w.years, "sample": w.sample,
		"static": StaticPath, "scale": func() []int { return []int{1, 2, 3, 4, 0} },
		"draw": func(c Chart) (any, error) { return c.draw(w) }, "drawmap": w.drawMap,
	}
}

// measure makes a template function of a units formatter. It takes the value or
// a pointer to it; no value is written as not known.
func measure[T ~float64](w *writer, format func(T) string) func(any) (string, error) {
	return func(v any) (string, error) {
		switch v := v.(type) {
		case T:
			return format(v), nil
		case *T:
			if v != nil {
				return format(*v), nil
			}
			return w.say(Say("unknown"))
		case nil:
			return w.say(Say("unknown"))
		}
		return "", fmt.Errorf("a %T is wanted here, got %T", *new(T), v)
	}
}

// show writes any value as text. What is not known is written so.
func (w *writer) show(v any) (string, error) {
	switch v := v.(type) {
	case nil:
		return w.say(Say("unknown"))
	case Phrase:
		return w.say(v)
	case []Phrase:
		said := make([]string, len(v))
		for i, p := range v {
			var err error
			if said[i], err = w.say(p); err != nil {
				return "", err
			}
		}
		// What has commas of its own is told apart by semicolons.
		if slices.ContainsFunc(said, func(s string) bool { return strings.Contains(s, ",") }) {
			return strings.Join(said, "; "), nil
		}
		return strings.Join(said, ", "), nil
	case string:
		return v, nil
	case int, int64, int32, *int, *int64:
		return w.number(v)
	case units.Money, *units.Money:
		return w.money(v)
	case Cents:
		return w.cents(units.Money(v))
	case units.Date:
		return w.dateText(units.Dated{On: v, Precision: units.ToDay}, "date.long")
	case units.Dated:
		return w.dateText(v, "date.long")
	case time.Time:
		return w.momentText(v)
	case units.Length, *units.Length:
		return measure(w, w.units.Length)(v)
	case units.Area, *units.Area:
		return measure(w, w.units.Area)(v)
	case units.Temperature, *units.Temperature:
		return measure(w, w.units.Temperature)(v)
	case units.Pitch, *units.Pitch:
		return measure(w, units.Pitch.String)(v)
	case YearsLeft:
		return w.years(v)
	case float64, float32, *float64:
		return "", errUnsaid
	case fmt.Stringer:
		return v.String(), nil
	}
	return "", fmt.Errorf("there is no way to write a %T", v)
}

// content writes a value for the body of a page: as show, with days and moments
// inside a time element.
func (w *writer) content(v any) (template.HTML, error) {
	switch v := v.(type) {
	case units.Date, units.Dated:
		return w.shortDate(v)
	case time.Time:
		return w.moment(v)
	}
	s, err := w.show(v)
	return template.HTML(html.EscapeString(s)), err
}

func (w *writer) dateText(d units.Dated, key string) (string, error) {
	if d.IsZero() {
		return w.say(Say("unknown"))
	}
	t := d.On.Time()
	month := "month."
	if key == "date.short" {
		month = "month_short."
	}
	year, day := Plain(strconv.Itoa(t.Year())), Plain(strconv.Itoa(t.Day()))
	name := Phrase{key: month + strconv.Itoa(int(t.Month()))}
	switch d.Precision {
	case units.ToMonth:
		return w.say(Say("date.month", "month", name, "year", year))
	case units.ToYear:
		return w.say(year)
	case units.About:
		return w.say(Say("date.about", "year", year))
	}
	return w.say(Phrase{key: key, values: map[string]any{"month": name, "day": day, "year": year,
		"weekday": Phrase{key: "weekday." + strconv.Itoa(int(t.Weekday()))}}})
}

func (w *writer) timeElement(v any, key string) (template.HTML, error) {
	var d units.Dated
	switch v := v.(type) {
	case units.Date:
		d = units.Dated{On: v, Precision: units.ToDay}
	case units.Dated:
		d = v
	default:
		return "", fmt.Errorf("a day is wanted here, got %T", v)
	}
	s, err := w.dateText(d, key)
	if err != nil || d.IsZero() {
		return template.HTML(html.EscapeString(s)), err
	}
	machine := d.String()
	if d.Precision == units.About {
		machine = strconv.Itoa(d.On.Year())
	}
	return template.HTML(`<time datetime="` + html.EscapeString(machine) + `">` + html.EscapeString(s) + `</time>`), nil
}

// date writes "November 25, 2026", or as much of a day as is known.
func (w *writer) date(v any) (template.HTML, error) { return w.timeElement(v, "date.long") }

// shortDate writes "Nov 25, 2026", for tables.
func (w *writer) shortDate(v any) (template.HTML, error) { return w.timeElement(v, "date.short") }

// weekday writes "Wednesday, November 25", for a day's work.
func (w *writer) weekday(v any) (template.HTML, error) { return w.timeElement(v, "date.weekday") }

func (w *writer) momentText(t time.Time) (string, error) {
	if t.IsZero() {
		return w.say(Say("unknown"))
	}
	t = t.In(w.zone)
	day, err := w.dateText(units.Dated{On: units.DateOf(t), Precision: units.ToDay}, "date.short")
	if err != nil {
		return "", err
	}
	half := "clock.am"
	if t.Hour() >= 12 {
		half = "clock.pm"
	}
	return w.say(Phrase{key: half, values: map[string]any{"day": day, "minute": t.Format("04"),
		"hour": t.Format("3"), "hour24": t.Format("15")}})
}

// moment writes a moment in the reader's time zone: "Nov 25, 2026, 2:05 pm".
func (w *writer) moment(t time.Time) (template.HTML, error) {
	s, err := w.momentText(t)
	if err != nil || t.IsZero() {
		return template.HTML(html.EscapeString(s)), err
	}
	return template.HTML(`<time datetime="` + t.UTC().Format(time.RFC3339) + `">` + html.EscapeString(s) + `</time>`), nil
}

func (w *writer) amount(v any, format func(units.Money) string) (string, error) {
	var m units.Money
	switch v := v.(type) {
	case units.Money:
		m = v
	case *units.Money:
		if v == nil {
			return w.say(Say("unknown"))
		}
		m = *v
	case nil:
		return w.say(Say("unknown"))
	default:
		return "", fmt.Errorf("an amount of money is wanted here, got %T", v)
	}
	s := format(m)
	if rest, negative := strings.CutPrefix(s, "-"); negative {
		return "−" + w.currency + rest, nil
	}
	return w.currency + s, nil
}

// Cents is an amount that is written with its cents where a value is shown: in
// a list of costs.
type Cents units.Money

// money writes an amount in whole units of currency: "$1,235".
func (w *writer) money(v any) (string, error) { return w.amount(v, units.Money.Round) }

// cents writes an amount with its cents, for bills: "$1,234.50".
func (w *writer) cents(v any) (string, error) { return w.amount(v, units.Money.String) }

// number writes a whole number with its thousands apart.
func (w *writer) number(v any) (string, error) {
	switch n := v.(type) {
	case *int:
		if n == nil {
			return w.say(Say("unknown"))
		}
		v = *n
	case *int64:
		if n == nil {
			return w.say(Say("unknown"))
		}
		v = *n
	}
	n, ok := whole(v)
	if !ok {
		return "", fmt.Errorf("a whole number is wanted here, got %T", v)
	}
	// Money of n whole units writes the same figures with the same separators.
	if n > math.MaxInt64/100 || n < math.MinInt64/100 {
		return strconv.FormatInt(n, 10), nil
	}
	return strings.TrimSuffix((units.Money(n) * units.Dollar).String(), ".00"), nil
}

// percent writes a share from 0 to 1 in whole hundredths: "12%". A share that is
// above nothing and rounds to it is written "under 1%".
func (w *writer) percent(share float64) (string, error) {
	switch {
	case math.IsNaN(share):
		return w.say(Say("unknown"))
	case share > 0 && share < 0.005:
		return w.say(Say("percent.under", "share", 1))
	}
	return w.say(Say("percent", "share", int(math.Round(share*100))))
}

// sample says what a figure rests on. A figure from fewer than 20 records is
// called a small sample, from fewer than 5 hardly more than a guess (common
// practice, no source).
func (w *writer) sample(n int) (string, error) {
	switch {
	case n < 5:
		return w.say(Say("sample.few", "count", n))
	case n < 20:
		return w.say(Say("sample.small", "count", n))
	}
	return w.say(Say("sample.enough", "count", n))
}

// YearsLeft is an estimate of the years a roof has left: the ends of its range
// and its middle. It is written in whole years and never as one number.
type YearsLeft struct{ Low, Mid, High float64 }

// Unknown says whether nothing is known. A range of noughts is known: so worn is a
// covering that is past its line with nine chances in ten.
func (y YearsLeft) Unknown() bool { return math.IsNaN(y.Low + y.Mid + y.High) }

// YearsUnknown is what is not known of the years left.
func YearsUnknown() YearsLeft { return YearsLeft{math.NaN(), math.NaN(), math.NaN()} }

// The steps of the scale that years left are coloured and worded by.
var stepBelow = []float64{3, 8, 15, math.Inf(1)}

// Step gives the step of the one scale for years left, from its middle: 1 under
// 3 years, 2 from 3 to 7, 3 from 8 to 14, 4 for 15 or more, and 0 for not known.
func (y YearsLeft) Step() int {
	if y.Unknown() {
		return 0
	}
	for i, below := range stepBelow {
		if y.Mid < below {
			return i + 1
		}
	}
	return len(stepBelow)
}

// years writes "6 to 11 years, about 8". The range is rounded outwards, so that
// whole years never claim more than the estimate does.
func (w *writer) years(y YearsLeft) (string, error) {
	if y.Unknown() {
		return w.say(Say("years.unknown"))
	}
	low, mid := int(math.Floor(max(y.Low, 0))), int(math.Round(max(y.Mid, 0)))
	switch {
	case y.High > 100:
		return w.say(Say("years.over", "low", low))
	case y.High <= 1:
		return w.say(Say("years.under"))
	}
	high := int(math.Ceil(y.High))
	switch {
	case low == 0 && mid == 0:
		return w.say(Say("years.soon", "high", high))
	case low == 0:
		return w.say(Say("years.upto", "high", high, "mid", mid))
	}
	return w.say(Say("years.range", "low", low, "high", high, "mid", min(max(mid, low), high)))
}
