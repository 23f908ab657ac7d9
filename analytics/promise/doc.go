// Package promise says what a warranty covers on a date: whether it is in
// force, at what share and why, which of its conditions are met or not shown
// met and how to show them, which dates come next, and what a claim would pay.
//
// # Where things go
//
// A new kind of condition goes in conditions.go: one entry in the table
// conditionKinds with its key, its sentence, how to show it met, and the
// function that judges it. Nothing else has to change. A new way for the share
// to fall goes in terms.go, in Terms.Share and Terms.Validate. A new sentence
// goes in reasons.go.
//
// # What a month is
//
// Months are completed calendar months counted from the start day by
// units.Date.AddMonths, so a term that starts on 31 January has its months end
// by the last day of a short month. A term of n months has its last day in
// force on start.AddMonths(n) minus one day: two years from 2024-02-29 run to
// 2026-02-27. "Month 200" means that 200 months are completed. The full span of
// 120 months is full through the last day of the 120th month; on the next day
// 120 months are completed and the method of the terms applies.
//
// # How the share falls
//
// After the full span the share is
//
//	none           0
//	whole_term     (term − completed months) / term
//	prorated_span  (term − completed months) / (term − full span)
//	steps          that of the last step begun, 1 before the first
//
// The two prorations are both in use and differ by half for the same claim, so
// the terms say which: a 360-month promise, 120 full, claimed after 200 months
// for 9,000 pays 4,000.00 by whole_term and 6,000.00 by prorated_span. (The
// arithmetic follows from the formulas; the shape, full and then a share of the
// shingle's cost, is described in Professional Roofing, 2011.)
//
// Shares gives the spans of days on which one share holds, and Schedule all of
// them, for a certificate and for what is owed.
//
// # What a claim pays
//
// The costs that the terms answer for, in four parts (labour, material, tear-off,
// disposal), times the share, up to what the caps leave: one for a claim, one
// over the promise's life, and one that is a share of the price paid for the
// roof. What was paid before counts towards the two last. Where the price is not
// known and a cap rests on it, the claim is a range from nothing.
//
// # A sale
//
// AtSale says what a sale leaves of a promise: whether it goes along, to which
// day, and which notice is due until when. A notice that came late or never is
// pointed out and ends nothing here; the wording signed decides.
//
// # What a written warranty says
//
// Disclosure lists what a rule on written consumer warranties asks for (16 CFR
// 701.3) and which of it the terms and the paper have. It reads no sense into
// the words.
//
// # What is unknown
//
// A fact that is not known is zero, and is never held against the homeowner: a
// condition is met, not shown met, or not due yet, and it leaves the share as
// it is. A check-up that we failed to offer never counts against the homeowner.
// With an unknown start or an undated sale the share is a range, from
// share_least to share. Facts dated after the as-of day are left out, so a past
// day can be asked about.
//
// The result is arithmetic on the terms as entered. It is no legal opinion:
// the wording signed, local law and licensed advice decide.
//
// # Sources
//
// Conditions usual in workmanship and material warranties (paid, registered,
// vented to code, kept up, nobody else's work, notice in time): NRCA
// steep-slope guide 2005-06 for the maker's list, a roof consultant's page for
// workmanship. A transfer once, with the house, by written notice in a set time:
// a maker's text for the first transferee; the 30 to 60 days usual for notice
// are common practice, no source. That a sale's first day belongs to the buyer,
// and that a transferred promise keeps its own proration, are this package's
// readings; terms that say otherwise need other terms here.
package promise
