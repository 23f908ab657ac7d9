package promise

import (
	"encoding/json"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/units"

	"pgregory.net/rapid"
)

func day(t *testing.T, s string) units.Date {
	t.Helper()
	d, err := units.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func judge(t *testing.T, terms Terms, f Facts) Result {
	t.Helper()
	r, err := Judge(Input{Terms: terms, Facts: f})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

var all = Covers{Labour: true, Material: true, TearOff: true, Disposal: true}

// 360 months, 120 full, a claim of 9,000: computed from the two formulas of
// proration; the shape (full, then a share) as in Professional Roofing, 2011.
func TestProration(t *testing.T) {
	start := day(t, "1994-05-10")
	cost := Cost{LabourCents: 4_000 * units.Dollar, MaterialCents: 5_000 * units.Dollar}
	for _, c := range []struct {
		method Method
		on     units.Date
		share  float64
		pays   string
		state  State
	}{
		{WholeTerm, start.AddMonths(200), 160.0 / 360, "4,000.00", InPart},
		{ProratedSpan, start.AddMonths(200), 160.0 / 240, "6,000.00", InPart},
		{WholeTerm, start.AddMonths(120).AddDays(-1), 1, "9,000.00", InFull}, // the last day of month 120
		{ProratedSpan, start.AddMonths(120).AddDays(-1), 1, "9,000.00", InFull},
		{WholeTerm, start.AddMonths(120), 240.0 / 360, "6,000.00", InPart}, // after month 120, the drop to 66.7 %
		{ProratedSpan, start.AddMonths(120), 1, "9,000.00", InFull},
		{WholeTerm, start.AddMonths(360).AddDays(-1), 1.0 / 360, "25.00", InPart},
		{WholeTerm, start.AddMonths(360), 0, "0.00", Ended},
		{ProratedSpan, start.AddMonths(360), 0, "0.00", Ended},
		{None, start.AddMonths(120).AddDays(-1), 1, "9,000.00", InFull},
		{None, start.AddMonths(120), 0, "0.00", Ended},
		{None, start.AddDays(-1), 0, "0.00", NotBegun},
		{None, start, 1, "9,000.00", InFull},
	} {
		terms := Terms{Kind: Material, TermMonths: 360, FullMonths: 120, Method: c.method, Covers: all, Transfer: Never}
		r, err := Judge(Input{Terms: terms, Facts: Facts{StartOn: start, AsOf: c.on}, Cost: &cost})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.Share-c.share) > 1e-12 || r.ShareLeast != r.Share || r.Claim.PaysCents.String() != c.pays || r.State != c.state {
			t.Errorf("%s on %v: share %v pays %v, %s; want %v, %s, %s", c.method, c.on, r.Share, r.Claim.PaysCents, r.State, c.share, c.pays, c.state)
		}
	}
}

// A 20-year schedule quoted in a secondary page: full to year 10, 80 % in year
// 11, 40 % in year 13. Year 12 keeps the step before it.
func TestSteps(t *testing.T) {
	terms := Terms{Kind: Material, TermMonths: 240, FullMonths: 120, Method: Steps, Covers: all, Transfer: Once,
		Steps: []Step{{120, 0.8}, {144, 0.4}}}
	start := day(t, "2000-07-01")
	for months, want := range map[int]float64{0: 1, 119: 1, 120: 0.8, 131: 0.8, 143: 0.8, 144: 0.4, 239: 0.4, 240: 0} {
		if got := judge(t, terms, Facts{StartOn: start, AsOf: start.AddMonths(months)}).Share; got != want {
			t.Errorf("after %d months: share %v, want %v", months, got, want)
		}
	}
	terms.Steps = []Step{{120, 0.5}, {180, 0}}
	if r := judge(t, terms, Facts{StartOn: start, AsOf: start.AddMonths(180)}); r.State != Ended || r.LastDay.String() != "2015-06-30" {
		t.Errorf("a share of nothing is %s, last day %v", r.State, r.LastDay)
	}
}

func TestMonthEnds(t *testing.T) {
	for _, c := range []struct {
		start  string
		months int
		last   string
	}{
		{"2026-01-31", 1, "2026-02-27"},
		{"2023-01-31", 13, "2024-02-28"},
		{"2024-02-29", 12, "2025-02-27"},
		{"2024-02-29", 48, "2028-02-28"},
		{"2026-05-10", 24, "2028-05-09"},
	} {
		terms := Terms{Kind: Workmanship, TermMonths: c.months, Method: None, Transfer: Never}
		start, last := day(t, c.start), day(t, c.last)
		if got := terms.LastDay(start); got != last {
			t.Errorf("%d months from %s: last day %v, want %v", c.months, c.start, got, last)
		}
		if judge(t, terms, Facts{StartOn: start, AsOf: last}).State != InFull || judge(t, terms, Facts{StartOn: start, AsOf: last + 1}).State != Ended {
			t.Errorf("%d months from %s: not in full on its last day, or not ended after it", c.months, c.start)
		}
	}
}

func TestCoversAndCap(t *testing.T) {
	cost := Cost{LabourCents: 100_00, MaterialCents: 200_00, TearOffCents: 40_00, DisposalCents: 8_00}
	for _, c := range []struct {
		covers Covers
		cap    units.Money
		paid   units.Money
		share  float64
		want   units.Money
	}{
		{Covers{}, 0, 0, 1, 0},
		{Covers{Material: true}, 0, 0, 1, 200_00},
		{Covers{Labour: true, Disposal: true}, 0, 0, 1, 108_00},
		{all, 0, 0, 1, 348_00},
		{all, 0, 0, 0.333333, 116_00},
		{all, 300_00, 0, 1, 300_00},
		{all, 300_00, 0, 0.5, 174_00}, // the cap is on what is paid, not on the cost
		{all, 300_00, 250_00, 1, 50_00},
		{all, 300_00, 400_00, 1, 0},
	} {
		terms := Terms{Covers: c.covers, CapCents: c.cap}
		least, most := terms.Left(c.paid, nil)
		if got := terms.Claim(cost, c.share, most); got != c.want || least != most {
			t.Errorf("%+v: pays %v, want %v", c, got, c.want)
		}
	}
}

func TestSales(t *testing.T) {
	start := day(t, "2020-06-01")
	two, after := 24, start.AddYears(9)
	sale := func(s string) Sale { return Sale{On: day(t, s), To: "the buyer of " + s} }
	for _, c := range []struct {
		name     string
		transfer Transfer
		shorter  *int
		sales    []Sale
		last     string
		heldBy   string // four years in
	}{
		{"no sale", Never, nil, nil, "2030-05-31", "first owner"},
		{"never ends on the sale", Never, nil, []Sale{sale("2023-03-15")}, "2023-03-14", ""},
		{"once goes along", Once, nil, []Sale{sale("2023-03-15")}, "2030-05-31", "the buyer of 2023-03-15"},
		{"once ends on the second", Once, nil, []Sale{sale("2026-01-10"), sale("2023-03-15")}, "2026-01-09", "the buyer of 2023-03-15"},
		{"by notice, none recorded", ByNotice, nil, []Sale{sale("2023-03-15")}, "2030-05-31", "the buyer of 2023-03-15"},
		{"always", Always, nil, []Sale{sale("2023-03-15"), sale("2026-01-10")}, "2030-05-31", "the buyer of 2023-03-15"},
		{"shorter after", Once, &two, []Sale{sale("2023-03-15")}, "2025-03-14", "the buyer of 2023-03-15"},
		{"shorter never lengthens", Once, &two, []Sale{sale("2029-03-15")}, "2030-05-31", "first owner"},
		{"a sale before the start is none", Never, nil, []Sale{sale("2020-06-01")}, "2030-05-31", "first owner"},
	} {
		terms := Terms{Kind: Workmanship, TermMonths: 120, Method: None, Transfer: c.transfer, TransferNoticeDays: 30, AfterTransferMonths: c.shorter}
		f := Facts{StartOn: start, AsOf: after, OwnerAtStart: "first owner", Sales: c.sales}
		if r := judge(t, terms, f); r.LastDay.String() != c.last || (r.State == Ended) != (r.LastDay < after) {
			t.Errorf("%s: last day %v, want %s; %s", c.name, r.LastDay, c.last, r.State)
		}
		f.AsOf = start.AddYears(4)
		if r := judge(t, terms, f); r.HeldBy != c.heldBy {
			t.Errorf("%s: held by %q, want %q", c.name, r.HeldBy, c.heldBy)
		}
	}

	r := judge(t, Terms{Kind: Workmanship, TermMonths: 120, Method: None, Transfer: Never},
		Facts{StartOn: start, AsOf: after, Sales: []Sale{{To: "somebody"}}})
	if r.State != InFull || r.Share != 1 || r.ShareLeast != 0 {
		t.Errorf("a sale without its day: %s, %v to %v", r.State, r.ShareLeast, r.Share)
	}
}

func TestEndsEarly(t *testing.T) {
	start := day(t, "2020-06-01")
	terms := Terms{Kind: Workmanship, TermMonths: 120, Method: None, Transfer: Once}
	for code, f := range map[string]Facts{
		"roof_ended":  {RoofEndedOn: day(t, "2024-09-01")},
		"ended_early": {EndedOn: day(t, "2024-09-01")},
	} {
		f.StartOn, f.AsOf = start, day(t, "2024-08-31")
		if r := judge(t, terms, f); r.State != InFull || r.LastDay != terms.LastDay(start) {
			t.Errorf("%s: the day before: %s to %v", code, r.State, r.LastDay)
		}
		f.AsOf++
		if r := judge(t, terms, f); r.State != Ended || r.Reasons[0].Code != code || r.Share != 0 {
			t.Errorf("%s: on the day: %s, %v", code, r.State, r.Reasons)
		}
	}
}

func TestConditions(t *testing.T) {
	start := day(t, "2020-06-01")
	d := func(s string) units.Date { return day(t, s) }
	ds := func(s ...string) (out []units.Date) {
		for _, x := range s {
			out = append(out, day(t, x))
		}
		return out
	}
	for _, c := range []struct {
		kind     string
		days     int
		asOf     string
		facts    Facts
		standing Standing
		code     string
		due      string
	}{
		{"paid_in_full", 0, "2020-06-02", Facts{}, NotShownMet, "payment_not_recorded", ""},
		{"paid_in_full", 30, "2020-07-01", Facts{}, NotDue, "payment_due", "2020-07-01"},
		{"paid_in_full", 30, "2020-07-02", Facts{}, NotShownMet, "payment_not_recorded", ""},
		{"paid_in_full", 30, "2021-01-01", Facts{PaidInFullOn: d("2020-12-01")}, Met, "paid", ""},
		{"paid_in_full", 0, "2020-11-30", Facts{PaidInFullOn: d("2020-12-01")}, NotShownMet, "payment_not_recorded", ""},

		{"registered", 60, "2020-07-31", Facts{}, NotDue, "registration_due", "2020-07-31"},
		{"registered", 60, "2020-08-01", Facts{}, NotShownMet, "registration_not_recorded", ""},
		{"registered", 60, "2021-01-01", Facts{RegisteredOn: d("2020-07-31")}, Met, "registered", ""},
		{"registered", 60, "2021-01-01", Facts{RegisteredOn: d("2020-08-01")}, NotShownMet, "registered_late", ""},
		{"registered", 60, "2020-08-20", Facts{RegistrationDueOn: d("2020-08-31")}, NotDue, "registration_due", "2020-08-31"}, // the maker's own day
		{"registered", 60, "2021-01-01", Facts{RegistrationDueOn: d("2020-08-31"), RegisteredOn: d("2020-08-15")}, Met, "registered", ""},
		{"registered", 0, "2025-01-01", Facts{RegisteredOn: d("2024-08-01")}, Met, "registered", ""},

		{"ventilation_to_code", 0, "2021-01-01", Facts{}, NotShownMet, "ventilation_not_known", ""},
		{"ventilation_to_code", 0, "2021-01-01", Facts{Ventilation: Ventilation{VentilationMet, d("2020-06-01")}}, Met, "ventilation_met", ""},
		{"ventilation_to_code", 0, "2021-01-01", Facts{Ventilation: Ventilation{Verdict: VentilationMet}}, Met, "ventilation_met", ""},
		{"ventilation_to_code", 0, "2021-01-01", Facts{Ventilation: Ventilation{VentilationShort, d("2020-06-01")}}, NotShownMet, "ventilation_short", ""},
		{"ventilation_to_code", 0, "2021-01-01", Facts{Ventilation: Ventilation{VentilationMet, d("2021-06-01")}}, NotShownMet, "ventilation_not_known", ""},

		{"yearly_checkup", 0, "2021-05-31", Facts{}, NotDue, "checkup_due", "2021-05-31"},
		{"yearly_checkup", 0, "2021-06-01", Facts{}, NotShownMet, "checkup_not_recorded", "2022-05-31"},
		{"yearly_checkup", 30, "2021-06-30", Facts{}, NotDue, "checkup_due", "2021-06-30"},
		{"yearly_checkup", 30, "2021-07-30", Facts{CheckupsHeld: ds("2021-06-20")}, Met, "checkups_held", "2023-06-30"},
		{"yearly_checkup", 0, "2021-06-01", Facts{CheckupsHeld: ds("2021-04-20")}, Met, "checkups_held", "2022-05-31"},
		{"yearly_checkup", 0, "2020-09-01", Facts{CheckupsHeld: ds("2020-08-20")}, Met, "checkups_held", "2022-05-31"},
		{"yearly_checkup", 0, "2021-06-01", Facts{CheckupsNotGiven: ds("2021-04-20")}, Met, "checkups_not_given", "2022-05-31"},
		{"yearly_checkup", 0, "2023-01-01", Facts{CheckupsNotGiven: ds("2021-04-20"), CheckupsHeld: ds("2022-05-31")}, Met, "checkups_held", "2023-05-31"},
		{"yearly_checkup", 0, "2023-07-01", Facts{CheckupsHeld: ds("2021-04-20", "2023-05-30")}, NotShownMet, "checkup_not_recorded", "2024-05-31"},
		{"yearly_checkup", 0, "2024-06-01", Facts{CheckupsHeld: ds("2021-04-20", "2022-05-30", "2023-05-30", "2024-05-01")}, Met, "checkups_held", "2025-05-31"},

		{"only_our_people", 0, "2021-05-31", Facts{}, NotDue, "first_year_not_looked_at", ""},
		{"only_our_people", 0, "2021-06-01", Facts{}, NotShownMet, "not_looked_at", ""},
		{"only_our_people", 0, "2021-06-01", Facts{CheckupsHeld: ds("2021-04-20")}, Met, "no_others_seen", ""},
		{"only_our_people", 0, "2021-06-01", Facts{CheckupsHeld: ds("2021-04-20"), OthersWorkedOn: ds("2020-09-09")}, NotShownMet, "others_worked", ""},
		{"only_our_people", 0, "2021-06-01", Facts{CheckupsHeld: ds("2021-04-20"), OthersWorkedOn: ds("2019-09-09")}, Met, "no_others_seen", ""},

		{"notice_days", 30, "2021-06-01", Facts{}, NotDue, "no_fault_reported", ""},
		{"notice_days", 30, "2021-06-01", Facts{FoundOn: d("2021-05-02")}, NotDue, "report_due", "2021-06-01"},
		{"notice_days", 30, "2021-06-02", Facts{FoundOn: d("2021-05-02")}, NotShownMet, "report_not_recorded", ""},
		{"notice_days", 30, "2021-07-01", Facts{FoundOn: d("2021-05-02"), ToldOn: d("2021-06-01")}, Met, "told_in_time", ""},
		{"notice_days", 30, "2021-07-01", Facts{FoundOn: d("2021-05-02"), ToldOn: d("2021-06-02")}, NotShownMet, "told_late", ""},
		{"notice_days", 30, "2021-07-01", Facts{ToldOn: d("2021-06-02")}, NotShownMet, "fault_day_not_known", ""},

		{"transfer_notice", 30, "2021-07-01", Facts{}, NotDue, "no_sale", ""},
		{"transfer_notice", 30, "2021-07-01", Facts{Sales: []Sale{{On: d("2021-06-01")}}}, NotDue, "transfer_notice_due", "2021-07-01"},
		{"transfer_notice", 30, "2021-07-02", Facts{Sales: []Sale{{On: d("2021-06-01")}}}, NotShownMet, "transfer_notice_not_recorded", ""},
		{"transfer_notice", 30, "2021-07-02", Facts{Sales: []Sale{{On: d("2021-06-01"), NoticeOn: d("2021-07-01")}}}, Met, "transfer_noticed", ""},
		{"transfer_notice", 30, "2021-09-02", Facts{Sales: []Sale{{On: d("2021-06-01"), NoticeOn: d("2021-07-02")}}}, NotShownMet, "transfer_noticed_late", ""},
		{"transfer_notice", 30, "2021-09-02", Facts{Sales: []Sale{{NoticeOn: d("2021-07-02")}}}, NotShownMet, "sale_day_not_known", ""},
	} {
		terms := Terms{Kind: Workmanship, TermMonths: 60, Method: None, Transfer: Once, Conditions: []Condition{{c.kind, c.days}}}
		if c.kind == "transfer_notice" {
			terms.Conditions, terms.Transfer, terms.TransferNoticeDays = nil, ByNotice, c.days
		}
		f := c.facts
		f.StartOn, f.AsOf = start, day(t, c.asOf)
		r := judge(t, terms, f)
		got := r.Conditions[0]
		if got.Standing != c.standing || got.Reason.Code != c.code || got.DueOn.String() != c.due {
			t.Errorf("%s on %s: %s because %s, due %v; want %s, %s, %s", c.kind, c.asOf, got.Standing, got.Reason.Code, got.DueOn, c.standing, c.code, c.due)
		}
		if r.State != InFull || r.Share != 1 {
			t.Errorf("%s on %s: the condition changed the share to %v", c.kind, c.asOf, r.Share)
		}
		if r.AllShown != (c.standing != NotShownMet) || (got.HowToShow == "") != (c.standing == Met) {
			t.Errorf("%s on %s: all shown %v, how to show it %q", c.kind, c.asOf, r.AllShown, got.HowToShow)
		}
		if strings.ContainsAny(got.Reason.Sentence, "{}") || got.Reason.Sentence == "" || strings.Contains(got.Reason.Sentence, "unknown day") {
			t.Errorf("%s: %q", c.code, got.Reason.Sentence)
		}
	}
}

func TestCheckupsOfLastYear(t *testing.T) {
	start := day(t, "2020-06-01")
	terms := Terms{Kind: Workmanship, TermMonths: 30, Method: None, Transfer: Once, Conditions: []Condition{{Kind: "yearly_checkup"}}}
	held := []units.Date{day(t, "2021-05-01"), day(t, "2022-05-01")}
	r := judge(t, terms, Facts{StartOn: start, AsOf: day(t, "2022-09-01"), CheckupsHeld: held})
	if c := r.Conditions[0]; c.Standing != Met || c.DueOn != 0 {
		t.Errorf("half a last year asks for a check-up: %+v", c)
	}
}

func TestNextDays(t *testing.T) {
	start := day(t, "2024-03-01")
	terms := Terms{Kind: Material, TermMonths: 360, FullMonths: 120, Method: WholeTerm, Covers: all, Transfer: ByNotice, TransferNoticeDays: 60,
		Conditions: []Condition{{"registered", 45}, {"yearly_checkup", 0}}}
	r := judge(t, terms, Facts{StartOn: start, AsOf: day(t, "2024-03-20"), Sales: []Sale{{On: day(t, "2024-03-15")}}})
	var got []string
	for _, n := range r.Next {
		got = append(got, strings.TrimSpace(n.On.String()+" "+n.What+" "+n.Condition))
		if !slices.Contains(NextDays, n.What) {
			t.Errorf("%s is not among the kinds of next days", n.What)
		}
	}
	want := []string{"2024-04-15 condition_due registered", "2024-05-14 condition_due transfer_notice", "2025-02-28 condition_due yearly_checkup",
		"2034-02-28 full_span_ends", "2054-02-28 promise_ends"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if r := judge(t, terms, Facts{StartOn: start, AsOf: start.AddYears(30)}); len(r.Next) != 0 {
		t.Errorf("an ended promise has next days: %v", r.Next)
	}
}

func TestUnknownFailsNothing(t *testing.T) {
	terms := Terms{Kind: Workmanship, TermMonths: 60, Method: None, Covers: all, Transfer: ByNotice, CapCents: 50_00}
	for _, k := range keys() {
		terms.Conditions = append(terms.Conditions, Condition{k, 30})
	}
	r, err := Judge(Input{Terms: terms, Facts: Facts{AsOf: day(t, "2026-11-25")}, Cost: &Cost{LabourCents: 80_00}})
	if err != nil {
		t.Fatal(err)
	}
	if r.State != StartUnknown || r.Share != 1 || r.ShareLeast != 0 || r.Claim.PaysCents != 50_00 || r.Claim.PaysLeast != 0 || !r.Claim.Capped {
		t.Errorf("with nothing known: %+v, claim %+v", r, r.Claim)
	}
	for _, c := range r.Conditions {
		if c.Standing != NotShownMet {
			t.Errorf("%s is %s with nothing known", c.Kind, c.Standing)
		}
	}
	// Before the start nothing is asked for.
	r = judge(t, terms, Facts{AsOf: day(t, "2026-11-25"), StartOn: day(t, "2026-12-01")})
	for _, c := range r.Conditions {
		if c.Standing != NotDue {
			t.Errorf("%s is %s before the start", c.Kind, c.Standing)
		}
	}
	if r.State != NotBegun || r.Share != 0 {
		t.Errorf("before the start: %s, share %v", r.State, r.Share)
	}
}

func TestDeclined(t *testing.T) {
	f := Facts{StartOn: day(t, "2026-01-01"), AsOf: day(t, "2026-11-25"), Declined: []Declined{
		{"new step flashing at the chimney", day(t, "2025-12-20")}, {"a saddle", 0}}}
	r := judge(t, Terms{Kind: Workmanship, TermMonths: 60, Method: None, Transfer: Once}, f)
	got := []string{r.Reasons[1].Sentence, r.Reasons[2].Sentence}
	want := []string{"Left out, as signed on 2025-12-20: new step flashing at the chimney.", "Declined but not signed, so not left out: a saddle."}
	if !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
}

func TestRefusals(t *testing.T) {
	good := func() Input {
		return Input{Terms: Terms{Kind: Workmanship, TermMonths: 60, Method: None, Transfer: Once}, Facts: Facts{AsOf: 739000}}
	}
	minus := -1
	for want, spoil := range map[string]func(*Input){
		"terms.kind":                                func(in *Input) { in.Terms.Kind = "other" },
		"terms.term_months":                         func(in *Input) { in.Terms.TermMonths = 0 },
		"terms.full_months":                         func(in *Input) { in.Terms.FullMonths = 61 },
		"terms.steps:":                              func(in *Input) { in.Terms.Steps = []Step{{1, 1}} },
		"terms.steps: the":                          func(in *Input) { in.Terms.Method = Steps },
		"terms.share_method":                        func(in *Input) { in.Terms.Method = "" },
		"terms.steps[1].from_month":                 func(in *Input) { in.Terms.Method, in.Terms.Steps = Steps, []Step{{5, 1}, {5, .5}} },
		"terms.steps[1].share":                      func(in *Input) { in.Terms.Method, in.Terms.Steps = Steps, []Step{{5, .5}, {6, .6}} },
		"terms.steps[0].share":                      func(in *Input) { in.Terms.Method, in.Terms.Steps = Steps, []Step{{5, math.NaN()}} },
		"terms.cap_cents":                           func(in *Input) { in.Terms.CapCents = -1 },
		"terms.transfer:":                           func(in *Input) { in.Terms.Transfer = "" },
		"terms.transfer_notice_days":                func(in *Input) { in.Terms.TransferNoticeDays = -1 },
		"terms.after_transfer_months":               func(in *Input) { in.Terms.AfterTransferMonths = &minus },
		"terms.conditions[0].kind":                  func(in *Input) { in.Terms.Conditions = []Condition{{"sunny", 0}} },
		"terms.conditions[1].kind":                  func(in *Input) { in.Terms.Conditions = []Condition{{"registered", 0}, {"registered", 0}} },
		"terms.conditions[0].kind: transfer_notice": func(in *Input) { in.Terms.Conditions = []Condition{{"transfer_notice", 9}} },
		"terms.conditions[0].days":                  func(in *Input) { in.Terms.Conditions = []Condition{{"notice_days", 0}} },
		"terms.conditions[0].days: must":            func(in *Input) { in.Terms.Conditions = []Condition{{"registered", -1}} },
		"facts.as_of":                               func(in *Input) { in.Facts.AsOf = 0 },
		"facts.ventilation.verdict":                 func(in *Input) { in.Facts.Ventilation.Verdict = "maybe" },
		"facts.paid_so_far_cents":                   func(in *Input) { in.Facts.PaidSoFarCents = -1 },
		"terms.claim_cap_cents":                     func(in *Input) { in.Terms.ClaimCapCents = -1 },
		"terms.cap_of_price":                        func(in *Input) { in.Terms.CapOfPrice = new(math.NaN()) },
		"terms.cap_of_price: must lie above 0":      func(in *Input) { in.Terms.CapOfPrice = new(0.0) },
		"facts.price_cents":                         func(in *Input) { in.Facts.PriceCents = new(units.Money(0)) },
		"sale.on":                                   func(in *Input) { in.Sale = &Sale{} },
		"facts.declined[0].what":                    func(in *Input) { in.Facts.Declined = []Declined{{}} },
		"cost.labour_cents":                         func(in *Input) { in.Cost = &Cost{LabourCents: -1} },
	} {
		in := good()
		if _, err := Judge(in); err != nil {
			t.Fatal(err)
		}
		spoil(&in)
		if _, err := Judge(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("want a refusal of %s, got %v", want, err)
		}
	}
}

// Every code in the source has a sentence, and every sentence is used.
func TestEveryReasonHasItsSentence(t *testing.T) {
	used := map[string]bool{"share_none": true}
	for _, m := range []Method{WholeTerm, ProratedSpan, Steps} {
		used["share_"+string(m)] = true
	}
	code := regexp.MustCompile(`(?:Code: |r\.Code = )"(\w+)"`)
	for _, name := range []string{"conditions.go", "judge.go", "sale.go"} {
		source, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range code.FindAllStringSubmatch(string(source), -1) {
			if m[1] != "share_" {
				used[m[1]] = true
			}
		}
	}
	delete(used, "share_none") // nothing is left after the full span
	for c := range used {
		if Codes()[c] == "" {
			t.Errorf("%s has no sentence", c)
		}
	}
	for c := range Codes() {
		if !used[c] {
			t.Errorf("the sentence %s is never used", c)
		}
	}
	for _, k := range ConditionKinds() {
		if k.Sentence == "" || k.HowToShow == "" || (k.NeedsDays && k.DaysMean == "") {
			t.Errorf("the kind %s is not described", k.Key)
		}
	}
}

func TestJSON(t *testing.T) {
	text := `{"terms":{"kind":"workmanship","term_months":60,"full_months":60,"share_method":"none","covers":{"labour":true},"transfer":"once",
		"conditions":[{"kind":"registered","days":30}]},
		"facts":{"as_of":"2026-11-25","start_on":"2024-06-12","sales":[{"on":"2025-01-02"}]},"cost":{"labour_cents":12500}}`
	decoder := json.NewDecoder(strings.NewReader(text))
	decoder.DisallowUnknownFields()
	var in Input
	if err := decoder.Decode(&in); err != nil {
		t.Fatal(err)
	}
	r, err := Judge(in)
	if err != nil {
		t.Fatal(err)
	}
	out, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{`"state":"in_full"`, `"last_day":"2029-06-11"`, `"pays_cents":12500`, `"code":"passed_on","on":["2025-01-02"],"sentence":"The promise went along`} {
		if !strings.Contains(string(out), part) {
			t.Errorf("%s is not in %s", part, out)
		}
	}
}

// drawTerms draws terms that are within their rules.
func drawTerms(t *rapid.T) Terms {
	terms := Terms{Kind: Workmanship, Covers: all, TermMonths: rapid.IntRange(1, 480).Draw(t, "term")}
	terms.FullMonths = rapid.IntRange(0, terms.TermMonths).Draw(t, "full")
	terms.Method = rapid.SampledFrom([]Method{None, WholeTerm, ProratedSpan, Steps}).Draw(t, "method")
	terms.Transfer = rapid.SampledFrom([]Transfer{Never, Once, ByNotice, Always}).Draw(t, "transfer")
	terms.TransferNoticeDays = rapid.IntRange(0, 90).Draw(t, "notice")
	if rapid.Bool().Draw(t, "shorter") {
		n := rapid.IntRange(0, 120).Draw(t, "after transfer")
		terms.AfterTransferMonths = &n
	}
	if terms.Method == Steps {
		month, share := 0, 1.0
		for range rapid.IntRange(1, 4).Draw(t, "steps") {
			month += rapid.IntRange(1, 100).Draw(t, "month")
			share *= rapid.Float64Range(0, 1).Draw(t, "share")
			if month <= terms.TermMonths {
				terms.Steps = append(terms.Steps, Step{month, share})
			}
		}
		if len(terms.Steps) == 0 {
			terms.Steps = []Step{{terms.TermMonths, 0}}
		}
	}
	for _, k := range conditionKinds {
		if !k.FromTransfer && rapid.Bool().Draw(t, k.Key) {
			terms.Conditions = append(terms.Conditions, Condition{k.Key, rapid.IntRange(1, 90).Draw(t, "days")})
		}
	}
	return terms
}

func drawFacts(t *rapid.T, start units.Date) Facts {
	at := rapid.Custom(func(t *rapid.T) units.Date { return start + units.Date(rapid.IntRange(-400, 15000).Draw(t, "day")) })
	maybe := func(name string) units.Date {
		if rapid.Bool().Draw(t, name) {
			return at.Draw(t, name)
		}
		return 0
	}
	f := Facts{StartOn: start, AsOf: at.Draw(t, "as of"), PaidInFullOn: maybe("paid"), RegisteredOn: maybe("registered"),
		FoundOn: maybe("found"), ToldOn: maybe("told"), RoofEndedOn: maybe("roof ended"), EndedOn: maybe("ended"),
		CheckupsHeld:     rapid.SliceOfN(at, 0, 12).Draw(t, "held"),
		CheckupsNotGiven: rapid.SliceOfN(at, 0, 3).Draw(t, "not given"),
		OthersWorkedOn:   rapid.SliceOfN(at, 0, 1).Draw(t, "others")}
	for _, d := range rapid.SliceOfN(at, 0, 3).Draw(t, "sales") {
		f.Sales = append(f.Sales, Sale{On: d, NoticeOn: maybe("notice")})
	}
	return f
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		terms := drawTerms(t)
		start := units.NewDate(1980, 1, 1) + units.Date(rapid.IntRange(0, 15000).Draw(t, "start"))
		f := drawFacts(t, start)
		ask := func(f Facts) Result {
			r, err := Judge(Input{Terms: terms, Facts: f, Cost: &Cost{LabourCents: 1_000_00}})
			if err != nil {
				t.Fatal(err)
			}
			return r
		}
		r := ask(f)
		if !(r.Share >= 0 && r.Share <= 1) || r.ShareLeast > r.Share || r.Claim.PaysCents > 1_000_00 || r.Claim.PaysCents < 0 {
			t.Fatalf("share %v to %v, claim %+v", r.ShareLeast, r.Share, r.Claim)
		}
		if (r.Share > 0) != (r.State == InFull || r.State == InPart) {
			t.Fatalf("%s with share %v", r.State, r.Share)
		}

		// The share never rises with time once the promise has begun, and the
		// later day's last day is no later than the earlier day's.
		later := f
		later.AsOf += units.Date(rapid.IntRange(0, 5000).Draw(t, "later"))
		if l := ask(later); f.AsOf >= start && l.Share > r.Share {
			t.Fatalf("share rose from %v on %v to %v on %v", r.Share, f.AsOf, l.Share, later.AsOf)
		} else if l.LastDay > r.LastDay {
			t.Fatalf("the last day moved from %v to %v", r.LastDay, l.LastDay)
		}

		// A sale under "never" leaves nothing from its day on.
		if terms.Transfer == Never {
			for _, s := range f.Sales {
				if s.On > start && s.On <= f.AsOf && r.State != Ended {
					t.Fatalf("sold on %v, and on %v it is %s", s.On, f.AsOf, r.State)
				}
			}
		}

		// Facts after the as-of day change nothing.
		known, _ := json.Marshal(r)
		more := f
		more.CheckupsHeld = append(slices.Clone(f.CheckupsHeld), f.AsOf+10)
		more.Sales = append(slices.Clone(f.Sales), Sale{On: f.AsOf + 10})
		more.OthersWorkedOn = append(slices.Clone(f.OthersWorkedOn), f.AsOf+10)
		if again, _ := json.Marshal(ask(more)); string(again) != string(known) {
			t.Fatalf("facts of later days changed\n%s to\n%s", known, again)
		}

		// A check-up that we failed to offer never counts against the homeowner,
		// nor does a check-up held.
		failed := f
		failed.CheckupsNotGiven = append(slices.Clone(f.CheckupsNotGiven), start+units.Date(rapid.IntRange(0, 15000).Draw(t, "failed")))
		held := f
		held.CheckupsHeld = append(slices.Clone(f.CheckupsHeld), start+units.Date(rapid.IntRange(0, 15000).Draw(t, "one more")))
		for _, better := range []Facts{failed, held} {
			b := ask(better)
			for i, c := range r.Conditions {
				if c.Standing != NotShownMet && b.Conditions[i].Standing == NotShownMet {
					t.Fatalf("%s went from %s to %s", c.Kind, c.Standing, b.Conditions[i].Standing)
				}
			}
			if b.Share != r.Share {
				t.Fatalf("share went from %v to %v", r.Share, b.Share)
			}
		}

		// What nobody wrote down never leaves the homeowner worse off than what was
		// shown met.
		unknown := f
		unknown.PaidInFullOn, unknown.RegisteredOn, unknown.FoundOn, unknown.ToldOn = 0, 0, 0, 0
		unknown.CheckupsHeld, unknown.Ventilation = nil, Ventilation{}
		met := unknown
		met.PaidInFullOn, met.RegisteredOn, met.Ventilation = start, start, Ventilation{Verdict: VentilationMet}
		if u, m := ask(unknown), ask(met); u.Share < m.Share || u.ShareLeast < m.ShareLeast || u.Claim.PaysLeast < m.Claim.PaysLeast || u.LastDay < m.LastDay {
			t.Fatalf("unknown: %v to %v; met: %v to %v", u.ShareLeast, u.Share, m.ShareLeast, m.Share)
		}

		// Looking ahead at a sale says what judging with it says.
		sale := Sale{On: start + units.Date(rapid.IntRange(-100, 15000).Draw(t, "ahead"))}
		if s, err := AtSale(terms, f, sale); err != nil {
			t.Fatal(err)
		} else {
			with := f
			with.Sales, with.AsOf = append(slices.Clone(f.Sales), sale), sale.On
			w := ask(with)
			if s.Share != w.Share || s.LastDay != w.LastDay || s.LastDay > s.LastDayBefore || (s.Outcome == EndsWithSale) != (w.State == Ended && s.LastDayBefore >= sale.On) {
				t.Fatalf("ahead %+v, with it %s to %v at %v", s, w.State, w.LastDay, w.Share)
			}
			if (s.Notice != NoNotice) != (s.NoticeDueOn != 0) || (s.Notice != NoNotice && terms.Transfer != ByNotice) {
				t.Fatalf("notice %q by %v under %s", s.Notice, s.NoticeDueOn, terms.Transfer)
			}
		}

		// Next days lie ahead and in order.
		for i, n := range r.Next {
			if n.On < f.AsOf || (i > 0 && n.On < r.Next[i-1].On) {
				t.Fatalf("next days on %v: %v", f.AsOf, r.Next)
			}
		}
	})
}

func BenchmarkJudge(b *testing.B) {
	start := units.NewDate(2016, 5, 10)
	in := Input{
		Terms: Terms{Kind: Material, TermMonths: 360, FullMonths: 120, Method: ProratedSpan, Covers: all, Transfer: ByNotice, TransferNoticeDays: 60,
			Conditions: []Condition{{"paid_in_full", 0}, {"registered", 45}, {"yearly_checkup", 30}, {"only_our_people", 0}}},
		Facts: Facts{AsOf: units.NewDate(2026, 11, 25), StartOn: start, CheckupsHeld: []units.Date{start + 300, start + 700, start + 1000}},
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Judge(in); err != nil {
			b.Fatal(err)
		}
	}
}
