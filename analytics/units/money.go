package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Money is an amount in whole cents of the company's currency.
type Money int64

// Cent, and the whole unit of currency.
const (
	Cent   Money = 1
	Dollar Money = 100
)

// Dollars reads the amount in whole units of currency, for charts and
// calculations that are not book-keeping.
func (m Money) Dollars() float64 { return float64(m) / 100 }

// Times multiplies the amount by a share or count and rounds half away from
// zero to the cent.
func (m Money) Times(f float64) Money { return Money(math.Round(float64(m) * f)) }

// String writes the amount with its cents: "1,234.50".
func (m Money) String() string {
	sign, cents := "", uint64(m)
	if m < 0 {
		sign, cents = "-", -uint64(m)
	}
	return sign + groupDigits(strconv.FormatUint(cents/100, 10)) + fmt.Sprintf(".%02d", cents%100)
}

// Round writes the amount to the whole unit of currency: "1,235".
func (m Money) Round() string { return grouped(math.Round(m.Dollars())) }

// ParseMoney reads "1234", "1,234.5" or "$1,234.50". It refuses more than two
// decimals (a cent is never guessed), commas that do not separate thousands,
// and amounts past a hundred billion.
func ParseMoney(s string) (Money, error) {
	bad := func(rule string) (Money, error) { return 0, fmt.Errorf("amount %q: %s", s, rule) }
	text := strings.TrimSpace(s)
	negative := strings.HasPrefix(text, "-")
	text = strings.TrimSpace(strings.TrimPrefix(strings.TrimPrefix(text, "-"), "$"))
	whole, part, hasPart := strings.Cut(text, ".")
	if hasPart && (len(part) == 0 || len(part) > 2) {
		return bad("write at most two decimals after the point")
	}
	if strings.Contains(whole, ",") {
		groups := strings.Split(whole, ",")
		for i, g := range groups {
			if (i == 0 && (len(g) == 0 || len(g) > 3)) || (i > 0 && len(g) != 3) {
				return bad("a comma may only separate thousands")
			}
		}
		whole = strings.Join(groups, "")
	}
	if len(part) == 1 {
		part += "0"
	}
	units, err := strconv.ParseUint(whole, 10, 64)
	if err != nil {
		return bad("write an amount such as 1234.50")
	}
	if units > 100_000_000_000 {
		return bad("is larger than any amount kept here")
	}
	cents := uint64(0)
	if part != "" {
		if cents, err = strconv.ParseUint(part, 10, 8); err != nil {
			return bad("write an amount such as 1234.50")
		}
	}
	m := Money(units*100 + cents)
	if negative {
		m = -m
	}
	return m, nil
}
