package promise

import (
	"strconv"
	"strings"

	"overhang/analytics/units"
)

// Reason is why something is so: a code that a page can word in its own
// language, and what the words need.
type Reason struct {
	Code   string       `json:"code"`
	On     []units.Date `json:"on,omitempty"`
	Number int          `json:"number,omitempty"`
	Text   string       `json:"text,omitempty"`
}

// Sentence words the reason in plain English.
func (r Reason) Sentence() string {
	sentence := sentences[r.Code]
	if !strings.Contains(sentence, "{") {
		return sentence
	}
	on := func(i int) string {
		if i < len(r.On) {
			return r.On[i].String()
		}
		return "an unknown day"
	}
	fill := func(mark string, words func() string) {
		if strings.Contains(sentence, mark) {
			sentence = strings.ReplaceAll(sentence, mark, words())
		}
	}
	fill("{day}", func() string { return on(0) })
	fill("{second day}", func() string { return on(1) })
	fill("{days}", func() string {
		var days []string
		for _, d := range r.On {
			days = append(days, d.String())
		}
		return strings.Join(days, ", ")
	})
	fill("{number}", func() string { return strconv.Itoa(r.Number) })
	fill("{text}", func() string { return r.Text }) // last, so that a mark in it stays as written
	return sentence
}

// Codes lists every code that a reason can have, with its English sentence. In
// a sentence {day}, {second day} and {days} stand for the reason's days,
// {number} and {text} for its number and text.
func Codes() map[string]string {
	out := make(map[string]string, len(sentences))
	for k, v := range sentences {
		out[k] = v
	}
	return out
}

var sentences = map[string]string{
	// The state and the share.
	"start_not_known":     "The start of the promise is not known, so neither is its share.",
	"begins":              "The promise begins on {day}.",
	"in_full_span":        "The full span runs to {day}.",
	"share_whole_term":    "The full span is over; {number} months are left, as a share of the whole term.",
	"share_prorated_span": "The full span is over; {number} months are left, as a share of the span after it.",
	"share_steps":         "The table of the terms gives this share after {number} completed months.",
	"term_over":           "The last day of the promise was {day}.",
	"ended_by_sale":       "The house was sold on {day}, and the promise does not go along with this sale.",
	"after_transfer_over": "After the sale of {day} the promise ran {number} months more, to {second day}.",
	"roof_ended":          "The roof was ended on {day}, and the promise with it.",
	"ended_early":         "The promise was ended by agreement on {day}.",
	"passed_on":           "The promise went along with the sale of {day}.",
	"passed_on_shorter":   "The promise went along with the sale of {day} and now ends on {second day} at the latest.",
	"sale_day_not_known":  "A sale of the house is known, its day is not.",
	"declined":            "Left out, as signed on {day}: {text}.",
	"declined_unsigned":   "Declined but not signed, so not left out: {text}.",
	// A sale that is looked at.
	"sale_nothing_left":  "Nothing is left of the promise on {day}, so that the sale changes nothing.",
	"sale_ends":          "The promise does not go along with this sale; its last day is {day}.",
	"sale_goes":          "The promise goes along with the house, to its last day, {day}.",
	"sale_goes_shorter":  "The promise goes along with the house, and ends on {day} instead of {second day}.",
	"sale_start_unknown": "The start of the promise is not known, so it cannot be said what the sale leaves of it.",
	// The conditions.
	"not_begun":                    "Nothing is due before the promise begins on {day}.",
	"paid":                         "Paid in full on {day}.",
	"payment_due":                  "Payment is due by {day}.",
	"payment_not_recorded":         "No payment in full is recorded.",
	"registered":                   "Registered on {day}.",
	"registered_late":              "Registered on {day}, after {second day}.",
	"registration_due":             "Registration is due by {day}.",
	"registration_not_recorded":    "No registration is recorded.",
	"ventilation_met":              "The ventilation was found to meet its code.",
	"ventilation_short":            "The ventilation was found short of its code.",
	"ventilation_not_known":        "The ventilation has not been judged.",
	"checkups_held":                "Check-ups are recorded for {number} years of the promise, and none is missing.",
	"checkups_not_given":           "No check-up was offered in {number} years, which does not count against the homeowner.",
	"checkup_not_recorded":         "No check-up is recorded for the years that ended on {days}.",
	"checkup_due":                  "The next check-up is due by {day}.",
	"no_checkup_due":               "No check-up falls due.",
	"others_worked":                "Others worked on the roof on {days}.",
	"no_others_seen":               "A look on {day} found nobody else's work.",
	"first_year_not_looked_at":     "The roof is in its first year; nobody need have looked yet.",
	"not_looked_at":                "Nobody of ours has looked at the roof since it was laid.",
	"no_fault_reported":            "No fault is reported; once seen, it is reported within {number} days.",
	"fault_day_not_known":          "We were told on {day}; when the fault was seen is not known.",
	"told_in_time":                 "We were told on {day}; it was due by {second day}.",
	"told_late":                    "We were told on {day}, after {second day}.",
	"report_due":                   "The fault is to be reported by {day}.",
	"report_not_recorded":          "No report of the fault by {day} is recorded.",
	"no_sale":                      "The house has not been sold; notice of a sale is due within {number} days of it.",
	"transfer_noticed":             "Notice of the sale came on {day}; it was due by {second day}.",
	"transfer_noticed_late":        "Notice of the sale came on {day}, after {second day}.",
	"transfer_notice_due":          "Notice of the sale is due by {day}.",
	"transfer_notice_not_recorded": "No notice of the sale by {day} is recorded.",
}
