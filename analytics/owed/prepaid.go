package owed

import (
	"fmt"

	"overhang/analytics/units"
)

// PrepaidPlan is a plan that is paid a year ahead: the whole price of a plan year
// on its first day. A last plan year that is cut short is paid by its days.
type PrepaidPlan struct {
	From  units.Date  `json:"from"`
	Until units.Date  `json:"until,omitempty"` // last day; no date: it runs on
	Price units.Money `json:"price_per_year_cents"`
}

// PrepaidMonth is what was paid for plans and is not earned yet. It is no part of
// the provision: what is owed there is the check-ups themselves. Unearned is
// Opening + Billed − Earned to the cent.
type PrepaidMonth struct {
	Month    string      `json:"month"` // YYYY-MM
	Opening  units.Money `json:"opening_cents"`
	Billed   units.Money `json:"billed_cents"`
	Earned   units.Money `json:"earned_cents"`
	Unearned units.Money `json:"unearned_cents"`
}

// Prepaid earns what was paid for plans day by day over each plan year (a
// contract liability, recognised as time passes: IFRS 15.106 and 15.B18, ASC
// 606-10-45-2; from memory), and gives the movement of each month. The last
// month is given as of its last day.
func Prepaid(plans []PrepaidPlan, from, to units.Month) ([]PrepaidMonth, error) {
	for i, p := range plans {
		if p.From <= 0 {
			return nil, fmt.Errorf("plans[%d].from: a day is needed", i)
		}
		if p.Until != 0 && p.Until < p.From {
			return nil, fmt.Errorf("plans[%d].until: %v is before the first day, %v", i, p.Until, p.From)
		}
		if p.Price < 0 || p.Price > mostMoney {
			return nil, fmt.Errorf("plans[%d].price_per_year_cents: must lie between 0 and %v, not %v", i, mostMoney, p.Price)
		}
	}
	if to < from || to > from+12*mostYears {
		return nil, fmt.Errorf("to: must not be before %s, or more than %d years after it", from, mostYears)
	}
	out := make([]PrepaidMonth, 0, to-from+1)
	unearned, billed := prepaidBy(plans, from.First()-1)
	for m := from; m <= to; m++ {
		left, sum := prepaidBy(plans, m.Last())
		row := PrepaidMonth{Month: m.String(), Opening: unearned, Billed: sum - billed, Unearned: left}
		row.Earned = row.Opening + row.Billed - row.Unearned
		out = append(out, row)
		unearned, billed = left, sum
	}
	return out, nil
}

// prepaidBy gives what is unearned at the end of a day, and all that was paid by
// then.
func prepaidBy(plans []PrepaidPlan, day units.Date) (unearned, billed units.Money) {
	for _, p := range plans {
		for year := 0; ; year++ {
			begin, next := p.From.AddYears(year), p.From.AddYears(year+1)
			if begin > day || p.Until != 0 && begin > p.Until {
				break
			}
			days, end := float64(next-begin), next
			if p.Until != 0 && p.Until+1 < next {
				end = p.Until + 1
			}
			price := p.Price.Times(float64(end-begin) / days)
			billed += price
			if end > day+1 {
				unearned += price.Times(float64(end-day-1) / float64(end-begin))
			}
		}
	}
	return unearned, billed
}
