package promise

import (
	"fmt"

	"overhang/analytics/units"
)

// Outcome is what a sale of the house leaves of a promise.
type Outcome string

// It goes along with the house, goes along and ends sooner, ends with the sale,
// had ended before, or its start is not known.
const (
	GoesAlong        Outcome = "goes_along"
	GoesAlongShorter Outcome = "goes_along_shorter"
	EndsWithSale     Outcome = "ends"
	NothingLeft      Outcome = "nothing_left"
	OutcomeUnknown   Outcome = "not_known"
)

// Outcomes lists what a sale can leave of a promise.
var Outcomes = []Outcome{GoesAlong, GoesAlongShorter, EndsWithSale, NothingLeft, OutcomeUnknown}

// Notice is how the notice of a sale stands, where the terms ask for one.
type Notice string

// None is asked for; it is due; it came in time; it came late; its last day is
// over and none is recorded. The last two are pointed out and take nothing away.
const (
	NoNotice     Notice = ""
	NoticeDue    Notice = "due"
	NoticeGiven  Notice = "given"
	NoticeLate   Notice = "late"
	NoticeMissed Notice = "missed"
)

// SaleResult is a promise across a sale of the house.
type SaleResult struct {
	Outcome       Outcome      `json:"outcome"`
	Share         float64      `json:"share"`                     // on the day of the sale, for the buyer
	LastDayBefore units.Date   `json:"last_day_before,omitempty"` // without the sale
	LastDay       units.Date   `json:"last_day,omitempty"`
	Notice        Notice       `json:"notice,omitempty"`
	NoticeDueOn   units.Date   `json:"notice_due_on,omitempty"`
	Reason        WordedReason `json:"reason"`
}

// AtSale says what a sale leaves of a promise: judged on the day of the sale,
// with its notice as it stands on the as-of day of the facts. The facts have the
// earlier sales and not this one.
func AtSale(t Terms, f Facts, sale Sale) (SaleResult, error) {
	if sale.On <= 0 {
		return SaleResult{}, fmt.Errorf("sale.on: the day of the sale is needed")
	}
	asOf := f.AsOf
	f.AsOf = sale.On
	before, err := Judge(Input{Terms: t, Facts: f})
	if err != nil {
		return SaleResult{}, fmt.Errorf("before the sale: %w", err)
	}
	f.Sales = append(f.Sales[:len(f.Sales):len(f.Sales)], sale)
	after, err := Judge(Input{Terms: t, Facts: f})
	if err != nil {
		return SaleResult{}, fmt.Errorf("after the sale: %w", err)
	}
	out := SaleResult{Share: after.Share, LastDayBefore: before.LastDay, LastDay: after.LastDay}
	say := func(outcome Outcome, why Reason) { out.Outcome, out.Reason = outcome, worded(why) }
	switch {
	case before.State == StartUnknown:
		say(OutcomeUnknown, Reason{Code: "sale_start_unknown"})
		return out, nil
	case before.State == Ended:
		say(NothingLeft, Reason{Code: "sale_nothing_left", On: []units.Date{sale.On}})
		return out, nil
	case after.State == Ended:
		say(EndsWithSale, Reason{Code: "sale_ends", On: []units.Date{after.LastDay}})
		return out, nil
	case after.LastDay < before.LastDay:
		say(GoesAlongShorter, Reason{Code: "sale_goes_shorter", On: []units.Date{after.LastDay, before.LastDay}})
	default:
		say(GoesAlong, Reason{Code: "sale_goes", On: []units.Date{after.LastDay}})
	}
	// A promise that begins only after the sale is the buyer's from its start.
	if t.Transfer != ByNotice || sale.On <= f.StartOn {
		return out, nil
	}
	out.NoticeDueOn = sale.On.AddDays(t.TransferNoticeDays)
	given := sale.NoticeOn != 0 && sale.NoticeOn <= max(asOf, sale.On)
	switch {
	case given && sale.NoticeOn <= out.NoticeDueOn:
		out.Notice = NoticeGiven
	case given:
		out.Notice = NoticeLate
	case asOf <= out.NoticeDueOn:
		out.Notice = NoticeDue
	default:
		out.Notice = NoticeMissed
	}
	return out, nil
}
