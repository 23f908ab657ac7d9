package intake

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"overhang/analytics/units"
)

var (
	pointNumber  = regexp.MustCompile(`^[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]{1,3})?$`)
	wholeNumber  = regexp.MustCompile(`^[+-]?[0-9]{1,9}$`)
	commaNumber  = regexp.MustCompile(`^[+-]?[0-9]+,[0-9]+$`)
	maybeGrouped = regexp.MustCompile(`^[+-]?[1-9][0-9]{0,2},[0-9]{3}$`)
	threePartDay = regexp.MustCompile(`^([0-9]{1,4})[./ -]([0-9]{1,2})[./ -]([0-9]{1,4})$`)
)

// parseNumber reads a number with a decimal point, or in a file with semicolons
// with a decimal comma.
func parseNumber(s string, semicolon bool) (float64, error) {
	if semicolon && strings.Contains(s, ",") {
		if !commaNumber.MatchString(s) {
			return 0, errors.New("write a number without separators between thousands, such as 1234,5 or 1234.5")
		}
		if maybeGrouped.MatchString(s) {
			return 0, fmt.Errorf("may be %s or %s; write a decimal point, and nothing between thousands",
				strings.Replace(s, ",", ".", 1), strings.Replace(s, ",", "", 1))
		}
		s = strings.Replace(s, ",", ".", 1)
	}
	if !pointNumber.MatchString(s) {
		return 0, errors.New("write a number such as 1234.5, without its unit and with nothing between thousands")
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, errors.New("is larger than any number kept here")
	}
	return v, nil
}

// writeNumber writes a number exactly, writeMeasured one that went through a
// change of units: ten digits, so that it reads back as the same text.
func writeNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func writeMeasured(v float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 10, 64), 64)
	if err != nil || rounded == 0 {
		return "0"
	}
	return writeNumber(rounded)
}

func parseWhole(s string) (int, error) {
	if !wholeNumber.MatchString(s) {
		return 0, errors.New("write a whole number")
	}
	return strconv.Atoi(s)
}

func parseYesNo(s string) (bool, error) {
	switch strings.ToLower(s) {
	case "yes":
		return true, nil
	case "no":
		return false, nil
	}
	return false, errors.New("write yes or no")
}

func writeYesNo(v bool) string {
	if v {
		return "yes"
	}
	return "no"
}

// The days that a roof can have seen; what lies outside is a slip of the pen.
var (
	earliestDay = units.NewDate(1800, time.January, 1)
	latestDay   = units.NewDate(2200, time.December, 31)
)

func inRange(d units.Date) error {
	if d < earliestDay || d > latestDay {
		return fmt.Errorf("must lie between %s and %s", earliestDay, latestDay)
	}
	return nil
}

// parseDay reads year-month-day. It guesses nothing, but says what a day written
// in another order could mean.
func parseDay(s string) (units.Date, error) {
	d, err := units.ParseDate(s)
	if err == nil {
		return d, inRange(d)
	}
	if could := meanings(s); could != "" {
		return 0, errors.New(could)
	}
	return 0, errors.New("write year-month-day, such as 2019-05-11")
}

func parseDated(s string) (units.Dated, error) {
	d, err := units.ParseDated(s)
	if err == nil {
		return d, inRange(d.On)
	}
	if could := meanings(s); could != "" {
		return units.Dated{}, errors.New(could)
	}
	return units.Dated{}, errors.New("write 2014-06-12, 2014-06, 2014 or about 2014")
}

// meanings names the days that a text such as 11/05/2019 may stand for.
func meanings(s string) string {
	part := threePartDay.FindStringSubmatch(s)
	if part == nil {
		return ""
	}
	var could []string
	for _, order := range [][3]int{{3, 1, 2}, {3, 2, 1}, {1, 2, 3}} { // month first, day first, year first
		year := part[order[0]]
		month, _ := strconv.Atoi(part[order[1]])
		day, _ := strconv.Atoi(part[order[2]])
		if len(year) != 4 || len(part[order[1]]) > 2 || len(part[order[2]]) > 2 {
			continue
		}
		d, err := units.ParseDate(fmt.Sprintf("%s-%02d-%02d", year, month, day))
		if err == nil && (len(could) == 0 || could[len(could)-1] != d.String()) {
			could = append(could, d.String())
		}
	}
	switch len(could) {
	case 0:
		return ""
	case 1:
		return "write year-month-day: " + could[0]
	}
	return "may be " + strings.Join(could, " or ") + "; write year-month-day"
}

// parseMoney reads an amount; in a file with semicolons a decimal comma too.
func parseMoney(s string, semicolon bool) (units.Money, error) {
	if semicolon && strings.Contains(s, ",") {
		if _, err := parseNumber(s, true); err != nil {
			return 0, err
		}
		s = strings.Replace(s, ",", ".", 1)
	}
	m, err := units.ParseMoney(strings.TrimPrefix(s, "+"))
	if err != nil {
		_, rule, _ := strings.Cut(err.Error(), ": ")
		return 0, errors.New(rule)
	}
	return m, nil
}

func writeMoney(m units.Money) string {
	sign, cents := "", uint64(m)
	if m < 0 {
		sign, cents = "-", -cents
	}
	return fmt.Sprintf("%s%d.%02d", sign, cents/100, cents%100)
}

// parseMoment reads an instant with its offset from UTC (RFC 3339).
func parseMoment(s string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return t, errors.New("write day, time and offset from UTC, such as 2026-11-25T15:30:00Z or 2026-11-25T08:30:00-07:00")
	}
	return t.UTC(), inRange(units.DateOf(t))
}

func writeMoment(t time.Time) string { return t.UTC().Format(time.RFC3339Nano) }

// compass points are read as degrees clockwise from north.
var compass = map[string]string{"n": "0", "ne": "45", "e": "90", "se": "135", "s": "180", "sw": "225", "w": "270", "nw": "315",
	"north": "0", "northeast": "45", "east": "90", "southeast": "135", "south": "180", "southwest": "225", "west": "270", "northwest": "315"}

func pitchOfDegrees(degrees float64) units.Pitch {
	return units.Pitch(math.Tan(degrees * math.Pi / 180))
}
