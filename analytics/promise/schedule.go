package promise

import (
	"fmt"

	"overhang/analytics/units"
)

// ShareSpan is a run of days on which one share holds: From and Until are its
// first and last day, both counted.
type ShareSpan struct {
	From  units.Date `json:"from"`
	Until units.Date `json:"until"`
	Share float64    `json:"share"` // of the covered cost, above 0 and up to 1
}

// Shares gives the shares that the terms promise from one day until another,
// both counted, when nothing ends the promise early: spans in order of time
// that do not overlap, a new one for each change. Days on which nothing is
// promised are in none. A zero from is the start and a zero until the last day
// in force. An unknown start gives none. The terms must be valid.
func Shares(t Terms, start, from, until units.Date) []ShareSpan {
	if start == 0 {
		return nil
	}
	from = max(from, start)
	if last := t.LastDay(start); until == 0 || until > last {
		until = last
	}
	if from > until {
		return nil
	}
	var spans []ShareSpan
	for month := from.MonthsSince(start); ; {
		share, next := t.Share(month), t.change(month)
		span := ShareSpan{From: max(from, start.AddMonths(month)), Until: min(until, start.AddMonths(next).AddDays(-1)), Share: share}
		if share > 0 && span.From <= span.Until {
			spans = append(spans, span)
		}
		if span.Until >= until {
			return spans
		}
		month = next
	}
}

// Schedule gives every share of the terms from the start to the last day in
// force, as Shares does.
func Schedule(t Terms, start units.Date) ([]ShareSpan, error) {
	if err := t.Validate(); err != nil {
		return nil, fmt.Errorf("terms.%w", err)
	}
	return Shares(t, start, 0, 0), nil
}

// change gives the first month after the given one at which the share is
// another.
func (t Terms) change(month int) int {
	share := t.Share(month)
	next := month + 1
	for next < t.TermMonths && t.Share(next) == share {
		next++
	}
	return next
}
