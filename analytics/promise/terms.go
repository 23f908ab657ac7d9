package promise

import (
	"fmt"
	"math"
	"strings"

	"overhang/analytics/units"
)

// Kind is what a warranty answers for.
type Kind string

// Our own work, the maker's material, or a promise assumed from another
// company.
const (
	Workmanship Kind = "workmanship"
	Material    Kind = "material"
	Assumed     Kind = "assumed"
)

// Method is how the share falls after the full span.
type Method string

// The methods; their formulas are in the package's description.
const (
	None         Method = "none"
	WholeTerm    Method = "whole_term"
	ProratedSpan Method = "prorated_span"
	Steps        Method = "steps"
)

// Transfer is what a sale of the house does to the promise.
type Transfer string

// A sale ends it; the first sale passes it on and the second ends it; the same,
// with a notice due in a set number of days; every sale passes it on.
const (
	Never    Transfer = "never"
	Once     Transfer = "once"
	ByNotice Transfer = "by_notice"
	Always   Transfer = "always"
)

// Step is a share, 0 to 1, that holds once so many months are completed.
type Step struct {
	FromMonth int     `json:"from_month"`
	Share     float64 `json:"share"`
}

// Covers is which costs the promise answers for.
type Covers struct {
	Labour   bool `json:"labour"`
	Material bool `json:"material"`
	TearOff  bool `json:"tear_off"`
	Disposal bool `json:"disposal"`
}

// Condition is one condition of the terms: the key of its kind, and its number
// of days where the kind has one.
type Condition struct {
	Kind string `json:"kind"`
	Days int    `json:"days,omitempty"`
}

// Terms are what was promised.
type Terms struct {
	Kind       Kind `json:"kind"`
	TermMonths int  `json:"term_months"` // completed calendar months, 1 to 1200
	// FullMonths is the full span. With the method none, 0 means the whole term.
	FullMonths int    `json:"full_months"`
	Method     Method `json:"share_method"`
	Steps      []Step `json:"steps,omitempty"`
	Covers     Covers `json:"covers"`
	// CapCents is the most that the promise pays over its life, ClaimCapCents the
	// most for one claim; 0 is no cap. CapOfPrice is the most over its life as a
	// share of the price paid for the roof, 1 for all of it; nil is no cap.
	CapCents      units.Money `json:"cap_cents,omitempty"`
	ClaimCapCents units.Money `json:"claim_cap_cents,omitempty"`
	CapOfPrice    *float64    `json:"cap_of_price,omitempty"`
	Transfer      Transfer    `json:"transfer"`
	// TransferNoticeDays are the days after a sale in which notice is due.
	TransferNoticeDays int `json:"transfer_notice_days,omitempty"`
	// AfterTransferMonths are the months left at most from the first sale; nil
	// leaves the term as it is.
	AfterTransferMonths *int        `json:"after_transfer_months,omitempty"`
	Conditions          []Condition `json:"conditions,omitempty"`
}

const longestMonths = 1200

// Validate checks the terms and names the field and the rule that is broken.
func (t Terms) Validate() error {
	switch t.Kind {
	case Workmanship, Material, Assumed:
	default:
		return fmt.Errorf("kind: must be workmanship, material or assumed, not %q", t.Kind)
	}
	if t.TermMonths < 1 || t.TermMonths > longestMonths {
		return fmt.Errorf("term_months: must lie between 1 and %d, not %d", longestMonths, t.TermMonths)
	}
	if t.FullMonths < 0 || t.FullMonths > t.TermMonths {
		return fmt.Errorf("full_months: must lie between 0 and the term of %d, not %d", t.TermMonths, t.FullMonths)
	}
	switch t.Method {
	case None, WholeTerm, ProratedSpan:
		if len(t.Steps) > 0 {
			return fmt.Errorf("steps: go with the method steps, not with %s", t.Method)
		}
	case Steps:
		if len(t.Steps) == 0 {
			return fmt.Errorf("steps: the method steps needs its table of months and shares")
		}
	default:
		return fmt.Errorf("share_method: must be none, whole_term, prorated_span or steps, not %q", t.Method)
	}
	last := Step{FromMonth: -1, Share: 1}
	for i, s := range t.Steps {
		if s.FromMonth <= last.FromMonth || s.FromMonth > t.TermMonths {
			return fmt.Errorf("steps[%d].from_month: must rise and lie within the term of %d months, not %d", i, t.TermMonths, s.FromMonth)
		}
		if !(s.Share >= 0 && s.Share <= last.Share) {
			return fmt.Errorf("steps[%d].share: must lie between 0 and 1 and never rise, not %v", i, s.Share)
		}
		last = s
	}
	if t.CapCents < 0 {
		return fmt.Errorf("cap_cents: must not be negative, not %d", t.CapCents)
	}
	if t.ClaimCapCents < 0 {
		return fmt.Errorf("claim_cap_cents: must not be negative, not %d", t.ClaimCapCents)
	}
	if c := t.CapOfPrice; c != nil && !(*c > 0 && *c <= 10) {
		return fmt.Errorf("cap_of_price: must lie above 0 and up to 10 times the price, not %v", *c)
	}
	switch t.Transfer {
	case Never, Once, ByNotice, Always:
	default:
		return fmt.Errorf("transfer: must be never, once, by_notice or always, not %q", t.Transfer)
	}
	if t.TransferNoticeDays < 0 || t.TransferNoticeDays > 3650 {
		return fmt.Errorf("transfer_notice_days: must lie between 0 and 3650, not %d", t.TransferNoticeDays)
	}
	if n := t.AfterTransferMonths; n != nil && (*n < 0 || *n > longestMonths) {
		return fmt.Errorf("after_transfer_months: must lie between 0 and %d, not %d", longestMonths, *n)
	}
	seen := map[string]bool{}
	for i, c := range t.Conditions {
		k, known := kindOf(c.Kind)
		switch {
		case !known:
			return fmt.Errorf("conditions[%d].kind: must be one of %s, not %q", i, strings.Join(keys(), ", "), c.Kind)
		case k.FromTransfer:
			return fmt.Errorf("conditions[%d].kind: %s comes with the transfer rule by_notice and is not listed", i, c.Kind)
		case seen[c.Kind]:
			return fmt.Errorf("conditions[%d].kind: %s is there twice", i, c.Kind)
		case k.NeedsDays && c.Days < 1:
			return fmt.Errorf("conditions[%d].days: %s needs its number of days", i, c.Kind)
		case c.Days < 0 || c.Days > 3650:
			return fmt.Errorf("conditions[%d].days: must lie between 0 and 3650, not %d", i, c.Days)
		}
		seen[c.Kind] = true
	}
	return nil
}

// full is the full span in months.
func (t Terms) full() int {
	if t.Method == None && t.FullMonths == 0 {
		return t.TermMonths
	}
	return t.FullMonths
}

// Share gives the share, 0 to 1, once so many months are completed since the
// start. It never rises with the months.
func (t Terms) Share(months int) float64 {
	switch {
	case months < 0 || months >= t.TermMonths:
		return 0
	case months < t.full():
		return 1
	}
	left := float64(t.TermMonths - months)
	switch t.Method {
	case WholeTerm:
		return left / float64(t.TermMonths)
	case ProratedSpan:
		return math.Min(1, left/float64(t.TermMonths-t.full()))
	case Steps:
		share := 1.0
		for _, s := range t.Steps {
			if s.FromMonth <= months {
				share = s.Share
			}
		}
		return share
	}
	return 0
}

// length is how many months have any share at all.
func (t Terms) length() int {
	if t.Method == None {
		return t.full()
	}
	for _, s := range t.Steps {
		if s.Share == 0 {
			return max(s.FromMonth, t.full())
		}
	}
	return t.TermMonths
}

// LastDay gives the last day in force when nothing ends the promise early:
// the start plus the months that have a share, minus one day.
func (t Terms) LastDay(start units.Date) units.Date { return start.AddMonths(t.length()).AddDays(-1) }

// LastFullDay gives the last day of the full span, or the day before the start
// when there is none.
func (t Terms) LastFullDay(start units.Date) units.Date {
	return start.AddMonths(t.full()).AddDays(-1)
}

// Cost is what a claim costs, in its parts.
type Cost struct {
	LabourCents   units.Money `json:"labour_cents,omitempty"`
	MaterialCents units.Money `json:"material_cents,omitempty"`
	TearOffCents  units.Money `json:"tear_off_cents,omitempty"`
	DisposalCents units.Money `json:"disposal_cents,omitempty"`
}

// Validate refuses a part that is negative or past any amount kept here.
func (c Cost) Validate() error {
	for _, p := range []struct {
		field string
		cents units.Money
	}{{"labour_cents", c.LabourCents}, {"material_cents", c.MaterialCents}, {"tear_off_cents", c.TearOffCents}, {"disposal_cents", c.DisposalCents}} {
		if p.cents < 0 || p.cents > mostMoney {
			return fmt.Errorf("cost.%s: must lie between 0 and %v, not %v", p.field, mostMoney, p.cents)
		}
	}
	return nil
}

const mostMoney = 1_000_000_000 * units.Dollar

// Covered gives the part of a cost that the promise answers for at all.
func (t Terms) Covered(c Cost) units.Money {
	var sum units.Money
	for _, p := range []struct {
		covered bool
		cents   units.Money
	}{{t.Covers.Labour, c.LabourCents}, {t.Covers.Material, c.MaterialCents}, {t.Covers.TearOff, c.TearOffCents}, {t.Covers.Disposal, c.DisposalCents}} {
		if p.covered {
			sum += p.cents
		}
	}
	return sum
}

// Left gives what the caps leave for one claim after paidSoFar: the least and
// the most, which differ where the price paid for the roof is not known (nil)
// and a cap rests on it.
func (t Terms) Left(paidSoFar units.Money, price *units.Money) (least, most units.Money) {
	most = math.MaxInt64
	if t.CapCents > 0 {
		most = max(0, t.CapCents-paidSoFar)
	}
	if t.ClaimCapCents > 0 {
		most = min(most, t.ClaimCapCents)
	}
	switch {
	case t.CapOfPrice == nil:
		return most, most
	case price == nil:
		return 0, most
	}
	most = min(most, max(0, price.Times(*t.CapOfPrice)-paidSoFar))
	return most, most
}

// Claim gives what a claim pays at a share: the covered cost times the share,
// to the cent half away from zero, and no more than what the caps leave.
func (t Terms) Claim(c Cost, share float64, left units.Money) units.Money {
	return min(t.Covered(c).Times(share), left)
}
