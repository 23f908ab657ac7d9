package promise

import (
	"slices"

	"overhang/analytics/units"
)

// A new kind of condition goes here: write its judging function below and add
// one entry to conditionKinds. The terms accept its key from then on, and every
// result lists it with its sentence and how to show it met.

// ConditionKind is one kind of condition that terms can set.
type ConditionKind struct {
	Key       string `json:"key"`         // as kept in the terms
	Sentence  string `json:"sentence"`    // the condition, plainly
	HowToShow string `json:"how_to_show"` // what the homeowner or the office can do
	DaysMean  string `json:"days_mean"`   // what the number of days is, empty when there is none
	NeedsDays bool   `json:"needs_days"`
	// FromTransfer marks the kind that the transfer rule by_notice brings along.
	FromTransfer bool `json:"from_transfer"`

	judge func(c Condition, f Facts, last units.Date) judgement
}

// Standing is how a condition stands on a day.
type Standing string

// Met, not shown met (which refuses nothing), or not due yet.
const (
	Met         Standing = "met"
	NotShownMet Standing = "not_shown_met"
	NotDue      Standing = "not_due"
)

// judgement is what a judging function finds: how the condition stands, why,
// and the next day by which something is due (zero for none).
type judgement struct {
	standing Standing
	reason   Reason
	due      units.Date
}

// conditionKinds are all kinds, in the order in which they are shown. The
// judging functions are given the facts known on the as-of day, with a start,
// and the last day in force.
var conditionKinds = []ConditionKind{
	{
		Key: "paid_in_full", Sentence: "The job is paid in full.",
		HowToShow: "A receipt, or the bookkeeper enters the day of the last payment.",
		DaysMean:  "days after the start in which payment is due",
		judge:     judgePaid,
	},
	{
		Key: "registered", Sentence: "The promise is registered with the maker in time.",
		HowToShow: "Register with the maker and keep its number and day.",
		DaysMean:  "days after the start in which registration is due",
		judge:     judgeRegistered,
	},
	{
		Key: "ventilation_to_code", Sentence: "The attic is ventilated to the code that applies.",
		HowToShow: "Count the net free area, high and low, and keep the result with its day; the local code decides.",
		judge:     judgeVentilation,
	},
	{
		Key: "yearly_checkup", Sentence: "The roof is checked once in every year of the promise.",
		HowToShow: "Book the check-up before the year of the promise is over, and keep its findings.",
		DaysMean:  "days after the end of a year in which its check-up may still be held",
		judge:     judgeCheckups,
	},
	{
		Key: "only_our_people", Sentence: "Only our people work on the roof.",
		HowToShow: "A look by us that finds nobody else's work.",
		judge:     judgeOthers,
	},
	{
		Key: "notice_days", Sentence: "A fault is reported in time.",
		HowToShow: "Keep the day on which the owner saw the fault and the day on which we were told.",
		DaysMean:  "days after the fault is seen in which we are told", NeedsDays: true,
		judge: judgeTold,
	},
	{
		Key: "transfer_notice", Sentence: "Notice of a sale is given in time.",
		HowToShow: "Keep the buyer's or seller's written notice with its day.",
		DaysMean:  "days after the sale in which notice is due", FromTransfer: true,
		judge: judgeTransferNotice,
	},
}

// ConditionKinds lists every kind of condition, for catalogues and forms.
func ConditionKinds() []ConditionKind { return slices.Clone(conditionKinds) }

func kindOf(key string) (ConditionKind, bool) {
	for _, k := range conditionKinds {
		if k.Key == key {
			return k, true
		}
	}
	return ConditionKind{}, false
}

func keys() []string {
	var out []string
	for _, k := range conditionKinds {
		if !k.FromTransfer {
			out = append(out, k.Key)
		}
	}
	return out
}

func judgePaid(c Condition, f Facts, _ units.Date) judgement {
	switch due := f.StartOn.AddDays(c.Days); {
	case f.PaidInFullOn != 0:
		return judgement{standing: Met, reason: Reason{Code: "paid", On: []units.Date{f.PaidInFullOn}}}
	case c.Days > 0 && f.AsOf <= due:
		return judgement{NotDue, Reason{Code: "payment_due", On: []units.Date{due}}, due}
	}
	return judgement{standing: NotShownMet, reason: Reason{Code: "payment_not_recorded"}}
}

func judgeRegistered(c Condition, f Facts, _ units.Date) judgement {
	due := f.RegistrationDueOn
	if due == 0 && c.Days > 0 {
		due = f.StartOn.AddDays(c.Days)
	}
	switch {
	case f.RegisteredOn != 0 && (due == 0 || f.RegisteredOn <= due):
		return judgement{standing: Met, reason: Reason{Code: "registered", On: []units.Date{f.RegisteredOn}}}
	case f.RegisteredOn != 0:
		return judgement{standing: NotShownMet, reason: Reason{Code: "registered_late", On: []units.Date{f.RegisteredOn, due}}}
	case due != 0 && f.AsOf <= due:
		return judgement{NotDue, Reason{Code: "registration_due", On: []units.Date{due}}, due}
	}
	return judgement{standing: NotShownMet, reason: Reason{Code: "registration_not_recorded"}}
}

func judgeVentilation(_ Condition, f Facts, _ units.Date) judgement {
	r := Reason{Code: "ventilation_not_known"}
	if f.Ventilation.On != 0 {
		r.On = []units.Date{f.Ventilation.On}
	}
	switch f.Ventilation.Verdict {
	case VentilationMet:
		r.Code = "ventilation_met"
		return judgement{standing: Met, reason: r}
	case VentilationShort:
		r.Code = "ventilation_short"
	}
	return judgement{standing: NotShownMet, reason: r}
}

// judgeCheckups asks for one check-up in each year of the promise that is over.
// A year in which we failed to offer one asks for nothing. A check-up in the
// days of grace counts for the year before and for its own.
func judgeCheckups(c Condition, f Facts, last units.Date) judgement {
	within := func(days []units.Date, from, to units.Date) bool {
		return slices.ContainsFunc(days, func(d units.Date) bool { return d >= from && d <= to })
	}
	var missing []units.Date
	var next units.Date
	held, notGiven := 0, 0
	for year := 0; next == 0; year++ {
		from := f.StartOn.AddYears(year)
		end := f.StartOn.AddYears(year + 1).AddDays(-1)
		if end > last { // a year that does not run out asks for nothing
			break
		}
		due := end.AddDays(c.Days)
		switch {
		case within(f.CheckupsHeld, from, due):
			held++
		case within(f.CheckupsNotGiven, from, end):
			notGiven++
		case due < f.AsOf:
			missing = append(missing, end)
		default:
			next = due
		}
	}
	switch {
	case len(missing) > 0:
		return judgement{NotShownMet, Reason{Code: "checkup_not_recorded", On: missing, Number: len(missing)}, next}
	case held > 0:
		return judgement{Met, Reason{Code: "checkups_held", Number: held}, next}
	case notGiven > 0:
		return judgement{Met, Reason{Code: "checkups_not_given", Number: notGiven}, next}
	case next != 0:
		return judgement{NotDue, Reason{Code: "checkup_due", On: []units.Date{next}}, next}
	}
	return judgement{standing: NotDue, reason: Reason{Code: "no_checkup_due"}}
}

// judgeOthers takes a look by us as what shows that nobody else worked there;
// in the first year nobody need have looked.
func judgeOthers(_ Condition, f Facts, _ units.Date) judgement {
	var others []units.Date
	for _, d := range f.OthersWorkedOn {
		if d >= f.StartOn {
			others = append(others, d)
		}
	}
	looked := units.Date(0)
	for _, d := range f.CheckupsHeld {
		if d >= f.StartOn {
			looked = d
		}
	}
	switch {
	case len(others) > 0:
		return judgement{standing: NotShownMet, reason: Reason{Code: "others_worked", On: others}}
	case looked != 0:
		return judgement{standing: Met, reason: Reason{Code: "no_others_seen", On: []units.Date{looked}}}
	case f.AsOf < f.StartOn.AddYears(1):
		return judgement{standing: NotDue, reason: Reason{Code: "first_year_not_looked_at"}}
	}
	return judgement{standing: NotShownMet, reason: Reason{Code: "not_looked_at"}}
}

func judgeTold(c Condition, f Facts, _ units.Date) judgement {
	due := f.FoundOn.AddDays(c.Days)
	switch {
	case f.FoundOn == 0 && f.ToldOn == 0:
		return judgement{standing: NotDue, reason: Reason{Code: "no_fault_reported", Number: c.Days}}
	case f.FoundOn == 0:
		return judgement{standing: NotShownMet, reason: Reason{Code: "fault_day_not_known", On: []units.Date{f.ToldOn}}}
	case f.ToldOn != 0 && f.ToldOn <= due:
		return judgement{standing: Met, reason: Reason{Code: "told_in_time", On: []units.Date{f.ToldOn, due}}}
	case f.ToldOn != 0:
		return judgement{standing: NotShownMet, reason: Reason{Code: "told_late", On: []units.Date{f.ToldOn, due}}}
	case f.AsOf <= due:
		return judgement{NotDue, Reason{Code: "report_due", On: []units.Date{due}}, due}
	}
	return judgement{standing: NotShownMet, reason: Reason{Code: "report_not_recorded", On: []units.Date{due}}}
}

// judgeTransferNotice looks at the first sale, the only one that passes a
// promise on by notice. Notice before the sale is in time.
func judgeTransferNotice(c Condition, f Facts, _ units.Date) judgement {
	if len(f.Sales) == 0 {
		return judgement{standing: NotDue, reason: Reason{Code: "no_sale", Number: c.Days}}
	}
	sale := f.Sales[0]
	due := sale.On.AddDays(c.Days)
	switch {
	case sale.On == 0:
		return judgement{standing: NotShownMet, reason: Reason{Code: "sale_day_not_known"}}
	case sale.NoticeOn != 0 && sale.NoticeOn <= due:
		return judgement{standing: Met, reason: Reason{Code: "transfer_noticed", On: []units.Date{sale.NoticeOn, due}}}
	case sale.NoticeOn != 0:
		return judgement{standing: NotShownMet, reason: Reason{Code: "transfer_noticed_late", On: []units.Date{sale.NoticeOn, due}}}
	case f.AsOf <= due:
		return judgement{NotDue, Reason{Code: "transfer_notice_due", On: []units.Date{due}}, due}
	}
	return judgement{standing: NotShownMet, reason: Reason{Code: "transfer_notice_not_recorded", On: []units.Date{due}}}
}
