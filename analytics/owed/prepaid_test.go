package owed

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

// What is paid a year ahead is earned by the day: of 365 days from July 1, 184
// have passed at the end of the year.
func TestPrepaid(t *testing.T) {
	july, december := units.NewDate(2025, 7, 1), units.NewDate(2025, 12, 31)
	for _, c := range []struct {
		name             string
		plan             PrepaidPlan
		billed, unearned units.Money // in the second half of 2025, and at its end
	}{
		{"half a year is left", PrepaidPlan{From: july, Price: 365 * units.Dollar}, 365 * units.Dollar, 181 * units.Dollar},
		{"begun before", PrepaidPlan{From: july.AddYears(-1), Price: 365 * units.Dollar}, 365 * units.Dollar, 181 * units.Dollar},
		{"it begins on the last day", PrepaidPlan{From: december, Price: 365 * units.Dollar}, 365 * units.Dollar, 364 * units.Dollar},
		{"cut short: paid by its days", PrepaidPlan{From: july, Until: july + 99, Price: 365 * units.Dollar}, 100 * units.Dollar, 0},
		{"it ends after the year", PrepaidPlan{From: july, Until: december + 16, Price: 365 * units.Dollar}, 200 * units.Dollar, 16 * units.Dollar},
		{"later", PrepaidPlan{From: december + 1, Price: 365 * units.Dollar}, 0, 0},
	} {
		rows, err := Prepaid([]PrepaidPlan{c.plan}, july.Month(), december.Month())
		if err != nil || len(rows) != 6 {
			t.Fatalf("%s: %+v, %v", c.name, rows, err)
		}
		var billed units.Money
		for _, r := range rows {
			billed += r.Billed
		}
		if last := rows[5]; billed != c.billed || last.Unearned != c.unearned || last.Month != "2025-12" {
			t.Errorf("%s: billed %v, unearned %v; want %v and %v", c.name, billed, last.Unearned, c.billed, c.unearned)
		}
	}
	for want, c := range map[string]struct {
		plan     PrepaidPlan
		from, to units.Month
	}{
		"plans[0].from":                 {PrepaidPlan{}, july.Month(), july.Month()},
		"plans[0].until":                {PrepaidPlan{From: july, Until: july - 1}, july.Month(), july.Month()},
		"plans[0].price_per_year_cents": {PrepaidPlan{From: july, Price: -1}, july.Month(), july.Month()},
		"to":                            {PrepaidPlan{From: july}, july.Month(), july.Month() - 1},
	} {
		if _, err := Prepaid([]PrepaidPlan{c.plan}, c.from, c.to); err == nil || !strings.HasPrefix(err.Error(), want+":") {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
}

// All that was billed is earned in the end, and never more than that before.
func TestPrepaidIsEarned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		begin := units.NewDate(2020, 1, 1)
		var plans []PrepaidPlan
		for range rapid.IntRange(1, 4).Draw(t, "plans") {
			from := begin + units.Date(rapid.IntRange(0, 900).Draw(t, "from"))
			plans = append(plans, PrepaidPlan{From: from, Until: from + units.Date(rapid.IntRange(0, 1200).Draw(t, "days")), Price: units.Money(rapid.IntRange(0, 900_00).Draw(t, "price"))})
		}
		rows, err := Prepaid(plans, begin.Month(), (begin + 2500).Month())
		if err != nil {
			t.Fatal(err)
		}
		var billed, earned units.Money
		for i, r := range rows {
			billed, earned = billed+r.Billed, earned+r.Earned
			if r.Unearned != billed-earned || r.Unearned < 0 || r.Earned < -units.Money(len(plans)) || i > 0 && r.Opening != rows[i-1].Unearned {
				t.Fatalf("%s: %+v of %v billed and %v earned", r.Month, r, billed, earned)
			}
		}
		if last := rows[len(rows)-1]; last.Unearned != 0 {
			t.Fatalf("%v is never earned", last.Unearned)
		}
	})
}
