package promise

import (
	"fmt"
	"slices"

	"overhang/analytics/units"
)

// Facts are what is known of one promise. All but the as-of day may be
// unknown, which is zero or empty.
type Facts struct {
	AsOf         units.Date `json:"as_of"` // the day that is asked about
	StartOn      units.Date `json:"start_on,omitempty"`
	OwnerAtStart string     `json:"owner_at_start,omitempty"`
	Sales        []Sale     `json:"sales,omitempty"`
	PaidInFullOn units.Date `json:"paid_in_full_on,omitempty"`
	RegisteredOn units.Date `json:"registered_on,omitempty"`
	// RegistrationDueOn is the maker's own last day, where it is not the days of
	// the condition after the start.
	RegistrationDueOn units.Date   `json:"registration_due_on,omitempty"`
	Ventilation       Ventilation  `json:"ventilation,omitzero"`
	CheckupsHeld      []units.Date `json:"checkups_held,omitempty"`
	CheckupsNotGiven  []units.Date `json:"checkups_not_given,omitempty"` // we failed to offer them: a day in the year concerned
	OthersWorkedOn    []units.Date `json:"others_worked_on,omitempty"`   // on the roof
	Declined          []Declined   `json:"declined,omitempty"`
	FoundOn           units.Date   `json:"found_on,omitempty"` // the owner saw the fault that is claimed
	ToldOn            units.Date   `json:"told_on,omitempty"`  // and told us
	PaidSoFarCents    units.Money  `json:"paid_so_far_cents,omitempty"`
	PriceCents        *units.Money `json:"price_cents,omitempty"`   // paid for the roof
	RoofEndedOn       units.Date   `json:"roof_ended_on,omitempty"` // torn off, covered over or lost
	EndedOn           units.Date   `json:"ended_on,omitempty"`      // the promise was ended early, by agreement
}

// Sale is a sale of the house. The day of the sale is the buyer's first.
type Sale struct {
	On       units.Date `json:"on,omitempty"`
	To       string     `json:"to,omitempty"`
	NoticeOn units.Date `json:"notice_on,omitempty"` // we were told of it in writing
}

// Verdict is how the attic's ventilation stands against its code.
type Verdict string

// Met, short of the code, or not known.
const (
	VentilationMet     Verdict = "met"
	VentilationShort   Verdict = "not_met"
	VentilationUnknown Verdict = ""
)

// Ventilation is a verdict and its day.
type Ventilation struct {
	Verdict Verdict    `json:"verdict,omitempty"`
	On      units.Date `json:"on,omitempty"`
}

// Declined is work that the owner did not want. Signed, it is an exclusion.
type Declined struct {
	What     string     `json:"what"`
	SignedOn units.Date `json:"signed_on,omitempty"`
}

// Validate checks the facts and names the field and the rule that is broken.
func (f Facts) Validate() error {
	if f.AsOf <= 0 {
		return fmt.Errorf("as_of: the day that is asked about is needed")
	}
	switch f.Ventilation.Verdict {
	case VentilationMet, VentilationShort, VentilationUnknown:
	default:
		return fmt.Errorf("ventilation.verdict: must be met, not_met or empty, not %q", f.Ventilation.Verdict)
	}
	if f.PaidSoFarCents < 0 || f.PaidSoFarCents > mostMoney {
		return fmt.Errorf("paid_so_far_cents: must lie between 0 and %v, not %v", mostMoney, f.PaidSoFarCents)
	}
	if p := f.PriceCents; p != nil && (*p <= 0 || *p > mostMoney) {
		return fmt.Errorf("price_cents: must lie above 0 and up to %v, not %v", mostMoney, *p)
	}
	for i, d := range f.Declined {
		if d.What == "" {
			return fmt.Errorf("declined[%d].what: say what was declined", i)
		}
	}
	return nil
}

// known gives the facts without those that lie after the as-of day, in order of
// time, and without sales that were over when the promise began.
func (f Facts) known() Facts {
	till := func(d units.Date) units.Date {
		if d > f.AsOf {
			return 0
		}
		return d
	}
	days := func(in []units.Date) []units.Date {
		var out []units.Date
		for _, d := range in {
			if d != 0 && d <= f.AsOf {
				out = append(out, d)
			}
		}
		slices.Sort(out)
		return out
	}
	k := f
	k.PaidInFullOn, k.RegisteredOn = till(f.PaidInFullOn), till(f.RegisteredOn)
	k.FoundOn, k.ToldOn = till(f.FoundOn), till(f.ToldOn)
	k.RoofEndedOn, k.EndedOn = till(f.RoofEndedOn), till(f.EndedOn)
	k.CheckupsHeld, k.CheckupsNotGiven, k.OthersWorkedOn = days(f.CheckupsHeld), days(f.CheckupsNotGiven), days(f.OthersWorkedOn)
	if f.Ventilation.On > f.AsOf {
		k.Ventilation = Ventilation{}
	}
	k.Sales, k.Declined = nil, nil
	for _, s := range f.Sales {
		if s.On > f.AsOf || (s.On != 0 && s.On <= f.StartOn) {
			continue
		}
		s.NoticeOn = till(s.NoticeOn)
		k.Sales = append(k.Sales, s)
	}
	slices.SortStableFunc(k.Sales, func(a, b Sale) int { return int(a.On) - int(b.On) })
	for _, d := range f.Declined {
		d.SignedOn = till(d.SignedOn)
		k.Declined = append(k.Declined, d)
	}
	return k
}

// datedSales are the sales whose day is known.
func (f Facts) datedSales() []Sale {
	i := slices.IndexFunc(f.Sales, func(s Sale) bool { return s.On != 0 })
	if i < 0 {
		return nil
	}
	return f.Sales[i:]
}
