package models

import (
	"regexp"

	"overhang/analytics/units"
)

// ClosedMonth is a month whose books are closed, and all months before it. It
// is never changed and never opened again; what is learned later lands in the
// month that is open then. With it are kept its BookedEntry and ClosedProvision
// rows, and what the reserve said on the day.
type ClosedMonth struct {
	Row
	Month        string     `json:"month"` // YYYY-MM
	ClosedOn     units.Date `json:"closed_on"`
	PersonID     *int64     `json:"person_id"`
	ClosedBy     string     `json:"closed_by"`
	DiscountRate float64    `json:"discount_rate"` // share a year
	// CallbacksAhead and MeanCost are what was expected of the promises in force.
	CallbacksAhead *float64     `json:"callbacks_ahead"`
	MeanCost       *units.Money `json:"mean_cost"`
	Low            *units.Money `json:"low"`         // 10 % point of what was owed
	High           *units.Money `json:"high"`        // 90 % point
	ChainError     *units.Money `json:"chain_error"` // standard error of the payments carried forward
	YearsEach      int          `json:"years_each"`  // of a row and a column of the triangle that was carried forward
	// NoChainBecause says why payments could not be carried forward.
	NoChainBecause  string      `json:"no_chain_because"`
	PrepaidOpening  units.Money `json:"prepaid_opening"` // paid for plans and not earned, since the closing before
	PrepaidBilled   units.Money `json:"prepaid_billed"`
	PrepaidEarned   units.Money `json:"prepaid_earned"`
	PrepaidUnearned units.Money `json:"prepaid_unearned"`
}

// Noun is "closed month".
func (*ClosedMonth) Noun() string { return "closed month" }

// ClosedMonth is the month itself; 0 where it cannot be read.
func (m *ClosedMonth) ClosedMonth() units.Month {
	first, err := units.ParseDate(m.Month + "-01")
	if err != nil {
		return 0
	}
	return first.Month()
}

var yearMonth = regexp.MustCompile(`^[0-9]{4}-(0[1-9]|1[0-2])$`)

// Validate checks the rules of a closed month.
func (m *ClosedMonth) Validate() error {
	var k checks
	k.that(yearMonth.MatchString(m.Month), "month", m.Month, "write year-month, such as 2026-11")
	k.that(!m.ClosedOn.IsZero(), "closed_on", "", "is needed")
	k.day("closed_on", m.ClosedOn)
	if month := m.ClosedMonth(); month != 0 {
		last := month.Last()
		k.that(m.ClosedOn > last, "closed_on", m.ClosedOn, "a month is closed after its last day, %s", last)
	}
	k.required("closed_by", m.ClosedBy)
	number(&k, "discount_rate", &m.DiscountRate, 0, 0.3)
	number(&k, "years_each", &m.YearsEach, 1, 10)
	k.that(m.PrepaidUnearned == m.PrepaidOpening+m.PrepaidBilled-m.PrepaidEarned, "prepaid_unearned", m.PrepaidUnearned,
		"must be what was unearned, and paid for, less what was earned")
	return k.err()
}

// ClosedProvision is what was said and booked for the roofs of one year laid when
// a month was closed. Amounts are nil where they were not known.
type ClosedProvision struct {
	ID            int64 `gorm:"primaryKey"`
	ClosedMonthID int64
	LaidYear      int
	Promises      int
	Expected      *units.Money
	Discounted    *units.Money
	Paid          *units.Money // in the triangle
	ChainLadder   *units.Money
	ChainError    *units.Money
	AfterTriangle *units.Money
	OwnHistory    *units.Money
	Pattern       *units.Money
	Booked        units.Money // the closing of the roll-forward
}

// BookedEntry is one entry of a closed month's ledger, as package owed takes it.
type BookedEntry struct {
	ID            int64 `gorm:"primaryKey"`
	ClosedMonthID int64
	Month         string // YYYY-MM, in which it was booked
	Kind          string
	Corrects      string // what a correction changes
	Ref           string // of the warranty or the callback
	CostLineID    *int64
	Bearer        string // of the callback, where a cost line is booked
	LaidYear      int
	HappenedOn    units.Date
	LearnedOn     units.Date
	Amount        units.Money
}
