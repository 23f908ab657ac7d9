package promise

import (
	"fmt"
	"slices"

	"overhang/analytics/units"
)

// Input is what Judge is asked about. Without a cost no claim is worked out,
// without a sale none is looked ahead at, and the shares over the whole term are
// given when they are asked for.
type Input struct {
	Terms    Terms `json:"terms"`
	Facts    Facts `json:"facts"`
	Cost     *Cost `json:"cost,omitempty"`
	Sale     *Sale `json:"sale,omitempty"`
	Schedule bool  `json:"schedule,omitempty"`
}

// State is how a promise stands on a day.
type State string

// The start lies ahead; all of the covered cost, a part of it, or nothing more
// is promised; or the start is not known.
const (
	NotBegun     State = "not_begun"
	InFull       State = "in_full"
	InPart       State = "in_part"
	Ended        State = "ended"
	StartUnknown State = "start_unknown"
)

// Result is a promise on a day.
type Result struct {
	State State `json:"state"`
	// Share of the covered cost that is promised, 0 to 1. Where a start or the
	// day of a sale is unknown this is the most, and ShareLeast the least;
	// otherwise the two are the same.
	Share      float64 `json:"share"`
	ShareLeast float64 `json:"share_least"`
	// Months are the completed months since the start.
	Months      int        `json:"months"`
	LastFullDay units.Date `json:"last_full_day,omitempty"`
	LastDay     units.Date `json:"last_day,omitempty"`
	HeldBy      string     `json:"held_by,omitempty"` // whose promise it is, where known
	// AllShown says that no condition is not shown met.
	AllShown   bool              `json:"all_shown"`
	Conditions []ConditionResult `json:"conditions,omitempty"`
	Reasons    []WordedReason    `json:"reasons"`
	Next       []Next            `json:"next,omitempty"`
	Claim      *Claim            `json:"claim,omitempty"`
	Sale       *SaleResult       `json:"sale,omitempty"`
	Schedule   []ShareSpan       `json:"schedule,omitempty"`
}

// ConditionResult is how one condition stands and how to show it met.
type ConditionResult struct {
	Kind      string       `json:"kind"`
	Sentence  string       `json:"sentence"`
	Standing  Standing     `json:"standing"`
	Reason    WordedReason `json:"reason"`
	HowToShow string       `json:"how_to_show,omitempty"` // empty when met
	DueOn     units.Date   `json:"due_on,omitempty"`      // the next day by which something is due
}

// WordedReason is a reason with its English sentence.
type WordedReason struct {
	Reason
	Sentence string `json:"sentence"`
}

// Next is a day that lies ahead: the full span ends, the promise ends, or
// something is due for a condition.
type Next struct {
	On        units.Date `json:"on"`
	What      string     `json:"what"` // one of NextDays
	Condition string     `json:"condition,omitempty"`
}

// NextDays are what a next day can be.
var NextDays = []string{"full_span_ends", "promise_ends", "condition_due"}

// Claim is what a claim pays.
type Claim struct {
	CostCents    units.Money `json:"cost_cents"`
	CoveredCents units.Money `json:"covered_cents"`
	PaysCents    units.Money `json:"pays_cents"`       // at the share
	PaysLeast    units.Money `json:"pays_least_cents"` // at the least share
	Capped       bool        `json:"capped"`
	// LeftCents is what the caps would pay on a later claim, at most; nil without
	// a cap over the promise's life.
	LeftCents *units.Money `json:"left_cents,omitempty"`
	Measure   []string     `json:"measure,omitempty"` // the facts that would narrow it
}

// Judge says how a promise stands on the as-of day. It refuses terms and facts
// that break their rules, never facts that are missing.
func Judge(in Input) (Result, error) {
	if err := in.Terms.Validate(); err != nil {
		return Result{}, fmt.Errorf("terms.%w", err)
	}
	if err := in.Facts.Validate(); err != nil {
		return Result{}, fmt.Errorf("facts.%w", err)
	}
	if in.Cost != nil {
		if err := in.Cost.Validate(); err != nil {
			return Result{}, err
		}
	}
	t, f := in.Terms, in.Facts.known()
	r := Result{HeldBy: f.OwnerAtStart}
	last := r.state(t, f)
	r.conditions(t, f, last)
	r.exclusions(f)
	r.next(f)
	if in.Cost != nil {
		r.Claim = claim(t, f, *in.Cost, r)
	}
	if in.Schedule {
		r.Schedule = Shares(t, f.StartOn, 0, 0)
	}
	if in.Sale != nil {
		sale, err := AtSale(t, in.Facts, *in.Sale)
		if err != nil {
			return Result{}, err
		}
		r.Sale = &sale
	}
	return r, nil
}

func worded(r Reason) WordedReason { return WordedReason{r, r.Sentence()} }

func (r *Result) because(reasons ...Reason) {
	for _, x := range reasons {
		r.Reasons = append(r.Reasons, worded(x))
	}
}

// state fills the state, share and days, and returns the last day in force.
func (r *Result) state(t Terms, f Facts) units.Date {
	if f.StartOn == 0 {
		r.State, r.Share = StartUnknown, 1
		r.because(Reason{Code: "start_not_known"})
		return 0
	}
	r.LastDay, r.LastFullDay = t.LastDay(f.StartOn), t.LastFullDay(f.StartOn)
	over := Reason{Code: "term_over", On: []units.Date{r.LastDay}}
	cut := func(lastDay units.Date, why Reason) {
		if lastDay < r.LastDay {
			r.LastDay, over = lastDay, why
		}
	}
	var passed []Reason
	for i, s := range f.datedSales() {
		if t.Transfer == Never || (i > 0 && t.Transfer != Always) {
			cut(s.On.AddDays(-1), Reason{Code: "ended_by_sale", On: []units.Date{s.On}})
			r.HeldBy = ""
			break
		}
		why := Reason{Code: "passed_on", On: []units.Date{s.On}}
		if n := t.AfterTransferMonths; n != nil && i == 0 {
			end := s.On.AddMonths(*n).AddDays(-1)
			if end < r.LastDay {
				why = Reason{Code: "passed_on_shorter", On: []units.Date{s.On, end}}
			}
			cut(end, Reason{Code: "after_transfer_over", On: []units.Date{s.On, end}, Number: *n})
		}
		passed = append(passed, why)
		r.HeldBy = s.To
	}
	if f.RoofEndedOn != 0 {
		cut(f.RoofEndedOn.AddDays(-1), Reason{Code: "roof_ended", On: []units.Date{f.RoofEndedOn}})
	}
	if f.EndedOn != 0 {
		cut(f.EndedOn.AddDays(-1), Reason{Code: "ended_early", On: []units.Date{f.EndedOn}})
	}
	r.LastFullDay = min(r.LastFullDay, r.LastDay)
	r.Months = max(0, f.AsOf.MonthsSince(f.StartOn))
	if f.AsOf >= f.StartOn && f.AsOf <= r.LastDay {
		r.Share = t.Share(r.Months)
	}
	r.ShareLeast = r.Share

	switch {
	case f.AsOf > r.LastDay:
		r.State, r.HeldBy = Ended, ""
		r.because(over)
	case f.AsOf < f.StartOn:
		r.State = NotBegun
		r.because(Reason{Code: "begins", On: []units.Date{f.StartOn}})
	case f.AsOf <= r.LastFullDay:
		r.State = InFull
		r.because(Reason{Code: "in_full_span", On: []units.Date{r.LastFullDay}})
	default:
		r.State = InPart
		if r.Share == 1 {
			r.State = InFull
		}
		number := t.TermMonths - r.Months
		if t.Method == Steps {
			number = r.Months
		}
		r.because(Reason{Code: "share_" + string(t.Method), Number: number})
	}
	if r.State == InFull || r.State == InPart {
		r.because(passed...)
		if len(f.Sales) > len(f.datedSales()) {
			r.ShareLeast, r.HeldBy = 0, ""
			r.because(Reason{Code: "sale_day_not_known"})
		}
	}
	return r.LastDay
}

// conditions judges each condition of the terms.
func (r *Result) conditions(t Terms, f Facts, last units.Date) {
	r.AllShown = true
	conditions := slices.Clone(t.Conditions)
	if t.Transfer == ByNotice {
		conditions = append(conditions, Condition{Kind: "transfer_notice", Days: t.TransferNoticeDays})
	}
	for _, c := range conditions {
		kind, _ := kindOf(c.Kind)
		j := judgement{standing: NotShownMet, reason: Reason{Code: "start_not_known"}}
		if f.StartOn != 0 {
			j = kind.judge(c, f, last)
		}
		if f.AsOf < f.StartOn && j.standing == NotShownMet {
			j = judgement{NotDue, Reason{Code: "not_begun", On: []units.Date{f.StartOn}}, j.due}
		}
		out := ConditionResult{Kind: c.Kind, Sentence: kind.Sentence, Standing: j.standing, Reason: worded(j.reason), DueOn: j.due}
		if j.standing != Met {
			out.HowToShow = kind.HowToShow
		}
		r.AllShown = r.AllShown && j.standing != NotShownMet
		r.Conditions = append(r.Conditions, out)
	}
}

// exclusions adds the declined work.
func (r *Result) exclusions(f Facts) {
	for _, d := range f.Declined {
		if d.SignedOn == 0 {
			r.because(Reason{Code: "declined_unsigned", Text: d.What})
			continue
		}
		r.because(Reason{Code: "declined", On: []units.Date{d.SignedOn}, Text: d.What})
	}
}

// next collects the days from the as-of day on, in order of time.
func (r *Result) next(f Facts) {
	if r.State == Ended || r.State == StartUnknown {
		return
	}
	if r.LastFullDay >= f.StartOn && r.LastFullDay >= f.AsOf && r.LastFullDay < r.LastDay {
		r.Next = append(r.Next, Next{On: r.LastFullDay, What: "full_span_ends"})
	}
	r.Next = append(r.Next, Next{On: r.LastDay, What: "promise_ends"})
	for _, c := range r.Conditions {
		if c.DueOn >= f.AsOf {
			r.Next = append(r.Next, Next{On: c.DueOn, What: "condition_due", Condition: c.Kind})
		}
	}
	slices.SortStableFunc(r.Next, func(a, b Next) int { return int(a.On) - int(b.On) })
}

func claim(t Terms, f Facts, c Cost, r Result) *Claim {
	covered := t.Covered(c)
	least, most := t.Left(f.PaidSoFarCents, f.PriceCents)
	out := &Claim{
		CostCents:    c.LabourCents + c.MaterialCents + c.TearOffCents + c.DisposalCents,
		CoveredCents: covered,
		PaysCents:    t.Claim(c, r.Share, most),
		PaysLeast:    t.Claim(c, r.ShareLeast, least),
	}
	out.Capped = out.PaysCents < covered.Times(r.Share)
	if t.CapCents > 0 || (t.CapOfPrice != nil && f.PriceCents != nil) {
		overLife := t
		overLife.ClaimCapCents = 0
		_, left := overLife.Left(f.PaidSoFarCents+out.PaysCents, f.PriceCents)
		out.LeftCents = &left
	}
	if least != most {
		out.Measure = append(out.Measure, "facts.price_cents")
	}
	if f.StartOn == 0 {
		out.Measure = append(out.Measure, "facts.start_on")
	}
	return out
}
