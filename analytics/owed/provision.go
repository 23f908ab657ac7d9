package owed

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// Outcome is one thing that may come of what was sold: its chance, 0 to 1, and
// what it would cost.
type Outcome struct {
	Name      string      `json:"name,omitempty"`
	Chance    float64     `json:"chance"`
	CostCents units.Money `json:"cost_cents"`
}

// Payment is a share of the cost, paid so many years on and discounted at a
// rate a year.
type Payment struct {
	Share        float64 `json:"share"`
	AfterYears   float64 `json:"after_years"`
	DiscountRate float64 `json:"discount_rate"`
}

// ProvisionInput is what a provision is worked out from. Chances that add up to
// less than 1 leave the rest at no cost. Without payments nothing is discounted.
type ProvisionInput struct {
	Outcomes []Outcome `json:"outcomes"`
	Payments []Payment `json:"payments,omitempty"`
}

// ProvisionResult is a provision by expected value, whole and discounted.
type ProvisionResult struct {
	ExpectedCents   units.Money   `json:"expected_cents"`
	DiscountedCents units.Money   `json:"discounted_cents"`
	ByOutcomeCents  []units.Money `json:"by_outcome_cents"`
	ByPaymentCents  []units.Money `json:"by_payment_cents,omitempty"` // discounted
}

// Provision weighs each outcome's cost by its chance (the expected value of
// IAS 37.39), and discounts the payments where they are given. Each part is
// rounded to the cent and the totals are the sums of the parts.
func Provision(in ProvisionInput) (ProvisionResult, error) {
	var r ProvisionResult
	chances := 0.0
	for i, o := range in.Outcomes {
		if !(o.Chance >= 0 && o.Chance <= 1) {
			return r, fmt.Errorf("outcomes[%d].chance: must lie between 0 and 1, not %v", i, o.Chance)
		}
		if o.CostCents < 0 || o.CostCents > mostMoney {
			return r, fmt.Errorf("outcomes[%d].cost_cents: must lie between 0 and %v, not %v", i, mostMoney, o.CostCents)
		}
		chances += o.Chance
		part := o.CostCents.Times(o.Chance)
		r.ByOutcomeCents = append(r.ByOutcomeCents, part)
		r.ExpectedCents += part
	}
	if chances > 1+1e-9 {
		return r, fmt.Errorf("outcomes: the chances must not add up to more than 1, not %v", chances)
	}
	if len(in.Payments) == 0 {
		r.DiscountedCents = r.ExpectedCents
		return r, nil
	}
	shares := 0.0
	for i, p := range in.Payments {
		if !(p.Share >= 0 && p.Share <= 1) {
			return r, fmt.Errorf("payments[%d].share: must lie between 0 and 1, not %v", i, p.Share)
		}
		if !(p.AfterYears >= 0 && p.AfterYears <= 100) {
			return r, fmt.Errorf("payments[%d].after_years: must lie between 0 and 100, not %v", i, p.AfterYears)
		}
		if !rateOK(p.DiscountRate) {
			return r, fmt.Errorf("payments[%d].discount_rate: must lie between -0.5 and 1, not %v", i, p.DiscountRate)
		}
		shares += p.Share
		part := r.ExpectedCents.Times(p.Share * math.Pow(1+p.DiscountRate, -p.AfterYears))
		r.ByPaymentCents = append(r.ByPaymentCents, part)
		r.DiscountedCents += part
	}
	if math.Abs(shares-1) > 1e-9 {
		return r, fmt.Errorf("payments: the shares must add up to 1, not %v", shares)
	}
	return r, nil
}

const mostMoney = 1_000_000_000 * units.Dollar

func rateOK(rate float64) bool { return rate >= -0.5 && rate <= 1 }
