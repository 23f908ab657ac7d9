package portfolio

import (
	"cmp"
	"fmt"
	"slices"

	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
)

func wrap(doing string, err error) error { return fmt.Errorf("%s: %w", doing, err) }

// Terms are the terms of the catalogue as the judging takes them.
func Terms(t *models.Terms) promise.Terms {
	out := promise.Terms{
		Kind: promise.Kind(t.Kind), TermMonths: t.TermMonths, FullMonths: t.FullMonths, Method: promise.Method(t.ShareMethod),
		Covers:   promise.Covers{Labour: t.Labour, Material: t.Material, TearOff: t.TearOff, Disposal: t.Disposal},
		Transfer: promise.Transfer(t.Transfer), TransferNoticeDays: t.NoticeDays, AfterTransferMonths: t.AfterTransfer,
	}
	for _, s := range t.Steps {
		out.Steps = append(out.Steps, promise.Step{FromMonth: s.FromMonth, Share: s.Share})
	}
	if t.Cap != nil {
		out.CapCents = *t.Cap
	}
	if t.ClaimCap != nil {
		out.ClaimCapCents = *t.ClaimCap
	}
	out.CapOfPrice = t.CapOfPrice
	for _, c := range t.Conditions {
		out.Conditions = append(out.Conditions, promise.Condition{Kind: c.Kind, Days: c.Days})
	}
	return out
}

// Promise is the input of judging one warranty of a roof on a day. The verdict
// on the ventilation is that of Verdict, or empty where it is not known.
func Promise(f *models.RoofFile, w *models.Warranty, ventilation promise.Verdict, asOf units.Date) promise.Input {
	terms := f.TermsOf(*w)
	facts := promise.Facts{AsOf: asOf, StartOn: w.StartOn, RegistrationDueOn: w.RegistrationDueOn, RegisteredOn: w.RegisteredOn, EndedOn: w.EndedOn, RoofEndedOn: f.Roof.EndedOn,
		Ventilation: promise.Ventilation{Verdict: ventilation}, PaidSoFarCents: PaidUnder(f, w), PriceCents: pricePaid(f, w)}
	for _, j := range f.Jobs {
		if (w.JobID == nil || *w.JobID == j.ID) && j.PaidOn > facts.PaidInFullOn {
			facts.PaidInFullOn = j.PaidOn
		}
	}
	for _, h := range f.Holdings {
		if h.Role == "owner" && h.FromOn > w.StartOn {
			facts.Sales = append(facts.Sales, promise.Sale{On: h.FromOn, NoticeOn: h.NoticeOn})
		}
	}
	for _, v := range f.Visits {
		if v.Purpose == "checkup" && !v.DoneOn.IsZero() {
			facts.CheckupsHeld = append(facts.CheckupsHeld, v.DoneOn)
		}
	}
	facts.CheckupsNotGiven = notOffered(f, w.StartOn, asOf)
	for _, c := range f.Callbacks {
		if c.CauseFound == "other_trade" && c.LearnedOn >= w.StartOn {
			facts.OthersWorkedOn = append(facts.OthersWorkedOn, c.LearnedOn)
		}
		// The condition on notice is about the fault that is open now.
		if c.RoofID != nil && *c.RoofID == f.Roof.ID && c.ClosedOn.IsZero() && c.State != "refused" {
			facts.FoundOn, facts.ToldOn = c.HappenedOn, c.LearnedOn
		}
	}
	for _, d := range f.Declined {
		facts.Declined = append(facts.Declined, promise.Declined{What: d.What, SignedOn: d.SignedOn})
	}
	return promise.Input{Terms: Terms(&terms), Facts: facts}
}

// PaidUnder gives what has been paid under a warranty: the cost lines of its
// closed callbacks, as far as the terms answer for such a cost. What we bore as
// goodwill was not paid under it, and what we recovered from others does not give
// the homeowner a second claim to it. Of a warranty that others owe, what they
// paid is what we recovered.
func PaidUnder(f *models.RoofFile, w *models.Warranty) units.Money {
	t := f.TermsOf(*w)
	var sum units.Money
	for _, c := range f.Callbacks {
		if c.WarrantyID == nil || *c.WarrantyID != w.ID || c.State != "closed" {
			continue
		}
		for _, l := range f.Costs[c.ID] {
			bearer := cmp.Or(l.Bearer, c.Bearer)
			switch {
			case w.OwedBy != "us":
				if l.Kind == "recovery" && bearer == "maker" {
					sum -= l.Cost()
				}
			case (bearer == "us" || bearer == "subcontractor" || bearer == "insurer") && answersFor(&t, l.Kind):
				sum += l.Cost()
			}
		}
	}
	return max(0, sum)
}

// answersFor says whether terms answer for a kind of cost line. What is needed
// for any of the work, and what takes a cost back, counts with it.
func answersFor(t *models.Terms, kind string) bool {
	switch kind {
	case "labour", "subcontractor":
		return t.Labour
	case "material":
		return t.Material
	case "disposal":
		return t.Disposal
	}
	return kind != "recovery"
}

// pricePaid is the price of the job that a warranty came with, or of the one that
// laid the roof; nil where it is not known.
func pricePaid(f *models.RoofFile, w *models.Warranty) *units.Money {
	job := f.JobOf(w)
	if job == nil || job.Price <= 0 {
		return nil
	}
	return &job.Price
}

// notOffered gives a day in each year of a promise, over by a day, in which we
// neither held a check-up nor offered one that was left lying. One that was
// booked and then not held is one that we failed to give, unless the owner
// declined it: nobody wrote down that it was the owner.
func notOffered(f *models.RoofFile, start, asOf units.Date) []units.Date {
	if start.IsZero() {
		return nil
	}
	var out []units.Date
	for year := 0; year < 100; year++ {
		from, end := start.AddYears(year), start.AddYears(year+1).AddDays(-1)
		if end >= asOf {
			break
		}
		given := false
		for _, v := range f.Visits {
			if v.Purpose != "checkup" {
				continue
			}
			in := func(d units.Date) bool { return d >= from && d <= end }
			offered := in(v.OfferedOn) && v.BookedFor.IsZero() && v.CancelledOn.IsZero()
			given = given || in(v.DoneOn) || in(v.DeclinedOn) || offered
		}
		if !given {
			out = append(out, end)
		}
	}
	return out
}

// Judged is one warranty with what it covers on a day.
type Judged struct {
	Warranty models.Warranty
	Terms    models.Terms
	Result   promise.Result
	// NotGiven are days in the years in which the terms ask for a check-up and we
	// failed to offer one.
	NotGiven []units.Date
	Paid     units.Money // under it so far
}

// InForce says whether the promise covers anything on the day.
func (j Judged) InForce() bool {
	return j.Result.State == promise.InFull || j.Result.State == promise.InPart
}

// NoticeDue gives the last day for the notice of a sale that is not given yet;
// zero where none is due.
func (j Judged) NoticeDue() units.Date {
	for _, c := range j.Result.Conditions {
		if c.Kind == "transfer_notice" && c.Standing == promise.NotDue {
			return c.DueOn
		}
	}
	return 0
}

// RegistrationDue gives the last day for the registration with the maker; zero
// where there is none.
func (j Judged) RegistrationDue() units.Date { return j.Terms.RegistrationDue(&j.Warranty) }

// NotShown counts the conditions that are not shown met.
func (j Judged) NotShown() int {
	n := 0
	for _, c := range j.Result.Conditions {
		if c.Standing == promise.NotShownMet {
			n++
		}
	}
	return n
}

// JudgePromises judges every warranty of a roof on a day.
func JudgePromises(f *models.RoofFile, ventilation promise.Verdict, asOf units.Date) ([]Judged, error) {
	out := make([]Judged, 0, len(f.Warranties))
	for i := range f.Warranties {
		w := &f.Warranties[i]
		in := Promise(f, w, ventilation, asOf)
		r, err := promise.Judge(in)
		if err != nil {
			return nil, wrap("judging the warranty "+w.Ref, err)
		}
		j := Judged{Warranty: *w, Terms: f.TermsOf(*w), Result: r, Paid: in.Facts.PaidSoFarCents}
		for _, c := range in.Terms.Conditions {
			if c.Kind != "yearly_checkup" {
				continue
			}
			for _, d := range in.Facts.CheckupsNotGiven {
				// One that was held in the days of grace was given.
				inGrace := func(held units.Date) bool { return held > d && held <= d.AddDays(c.Days) }
				if d <= r.LastDay && !slices.ContainsFunc(in.Facts.CheckupsHeld, inGrace) {
					j.NotGiven = append(j.NotGiven, d)
				}
			}
		}
		out = append(out, j)
	}
	return out, nil
}
