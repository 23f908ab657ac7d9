package promise

import (
	"strings"
	"testing"

	"overhang/analytics/units"
)

// The rules: a maker's text for the first transferee only, by written notice;
// 30 to 60 days are common practice, no source.
func TestAtSale(t *testing.T) {
	start := day(t, "2020-06-01")
	two := 24
	for _, c := range []struct {
		name     string
		transfer Transfer
		shorter  *int
		before   []Sale
		sale     Sale
		asOf     string
		outcome  Outcome
		last     string
		notice   Notice
		due      string
	}{
		{"never", Never, nil, nil, Sale{On: day(t, "2024-03-15")}, "2024-03-10", EndsWithSale, "2024-03-14", NoNotice, ""},
		{"once", Once, nil, nil, Sale{On: day(t, "2024-03-15")}, "2024-03-10", GoesAlong, "2030-05-31", NoNotice, ""},
		{"the second of once", Once, nil, []Sale{{On: day(t, "2022-01-01")}}, Sale{On: day(t, "2024-03-15")}, "2024-03-10", EndsWithSale, "2024-03-14", NoNotice, ""},
		{"always", Always, nil, []Sale{{On: day(t, "2022-01-01")}}, Sale{On: day(t, "2024-03-15")}, "2024-03-10", GoesAlong, "2030-05-31", NoNotice, ""},
		{"shorter after", Once, &two, nil, Sale{On: day(t, "2024-03-15")}, "2024-03-10", GoesAlongShorter, "2026-03-14", NoNotice, ""},
		{"shorter after, near the end", Once, &two, nil, Sale{On: day(t, "2029-03-15")}, "2029-03-10", GoesAlong, "2030-05-31", NoNotice, ""},
		{"ended before", Once, nil, nil, Sale{On: day(t, "2031-03-15")}, "2031-03-10", NothingLeft, "2030-05-31", NoNotice, ""},
		{"by notice, before the sale", ByNotice, nil, nil, Sale{On: day(t, "2024-03-15")}, "2024-03-10", GoesAlong, "2030-05-31", NoticeDue, "2024-05-14"},
		{"by notice, the last day", ByNotice, nil, nil, Sale{On: day(t, "2024-03-15")}, "2024-05-14", GoesAlong, "2030-05-31", NoticeDue, "2024-05-14"},
		{"by notice, over", ByNotice, nil, nil, Sale{On: day(t, "2024-03-15")}, "2024-05-15", GoesAlong, "2030-05-31", NoticeMissed, "2024-05-14"},
		{"by notice, given", ByNotice, nil, nil, Sale{On: day(t, "2024-03-15"), NoticeOn: day(t, "2024-05-14")}, "2024-06-01", GoesAlong, "2030-05-31", NoticeGiven, "2024-05-14"},
		{"by notice, given before the sale", ByNotice, nil, nil, Sale{On: day(t, "2024-03-15"), NoticeOn: day(t, "2024-03-01")}, "2024-03-10", GoesAlong, "2030-05-31", NoticeGiven, "2024-05-14"},
		{"by notice, late", ByNotice, nil, nil, Sale{On: day(t, "2024-03-15"), NoticeOn: day(t, "2024-05-15")}, "2024-06-01", GoesAlong, "2030-05-31", NoticeLate, "2024-05-14"},
		{"by notice, not written yet", ByNotice, nil, nil, Sale{On: day(t, "2024-03-15"), NoticeOn: day(t, "2024-05-10")}, "2024-04-01", GoesAlong, "2030-05-31", NoticeDue, "2024-05-14"},
		{"a leap day", Once, &two, nil, Sale{On: day(t, "2024-02-29")}, "2024-02-29", GoesAlongShorter, "2026-02-27", NoNotice, ""},
	} {
		terms := Terms{Kind: Workmanship, TermMonths: 120, Method: None, Transfer: c.transfer, TransferNoticeDays: 60, AfterTransferMonths: c.shorter}
		got, err := AtSale(terms, Facts{AsOf: day(t, c.asOf), StartOn: start, Sales: c.before}, c.sale)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if got.Outcome != c.outcome || got.LastDay.String() != c.last || got.Notice != c.notice || got.NoticeDueOn.String() != c.due {
			t.Errorf("%s: %s to %v, notice %q by %v; want %s to %s, %q by %s", c.name, got.Outcome, got.LastDay, got.Notice, got.NoticeDueOn, c.outcome, c.last, c.notice, c.due)
		}
		if got.Reason.Sentence == "" || strings.Contains(got.Reason.Sentence, "{") {
			t.Errorf("%s: it says %q", c.name, got.Reason.Sentence)
		}
	}
	got, err := AtSale(Terms{Kind: Workmanship, TermMonths: 120, Method: None, Transfer: Once}, Facts{AsOf: start}, Sale{On: start})
	if err != nil || got.Outcome != OutcomeUnknown {
		t.Errorf("an unknown start: %+v, %v", got, err)
	}
}

func TestCapsOfAClaim(t *testing.T) {
	start, half := day(t, "2020-06-01"), 0.5
	for _, c := range []struct {
		name                 string
		terms                Terms
		paid                 units.Money
		price                *units.Money
		pays, least, left    units.Money
		capped, leftUnlimits bool
		measure              string
	}{
		{"no cap", Terms{}, 0, nil, 900_00, 900_00, 0, false, true, ""},
		{"per claim", Terms{ClaimCapCents: 400_00}, 800_00, nil, 400_00, 400_00, 0, true, true, ""},
		{"over its life", Terms{CapCents: 1000_00}, 300_00, nil, 700_00, 700_00, 0, true, false, ""},
		{"the smaller of both", Terms{CapCents: 1000_00, ClaimCapCents: 500_00}, 300_00, nil, 500_00, 500_00, 200_00, true, false, ""},
		{"half of the price", Terms{CapOfPrice: &half}, 100_00, new(units.Money(1200_00)), 500_00, 500_00, 0, true, false, ""},
		{"half of a price not known", Terms{CapOfPrice: &half}, 100_00, nil, 900_00, 0, 0, false, true, "facts.price_cents"},
		{"used up", Terms{CapCents: 200_00}, 300_00, nil, 0, 0, 0, true, false, ""},
	} {
		terms := c.terms
		terms.Kind, terms.TermMonths, terms.Method, terms.Transfer, terms.Covers = Workmanship, 120, None, Once, all
		r, err := Judge(Input{Terms: terms, Facts: Facts{AsOf: start, StartOn: start, PaidSoFarCents: c.paid, PriceCents: c.price}, Cost: &Cost{LabourCents: 600_00, TearOffCents: 300_00}})
		if err != nil {
			t.Fatal(err)
		}
		got := r.Claim
		if got.PaysCents != c.pays || got.PaysLeast != c.least || got.Capped != c.capped || (got.LeftCents == nil) != c.leftUnlimits || strings.Join(got.Measure, " ") != c.measure {
			t.Errorf("%s: %+v", c.name, got)
		}
		if got.LeftCents != nil && *got.LeftCents != c.left {
			t.Errorf("%s: %v left, want %v", c.name, *got.LeftCents, c.left)
		}
	}
}

func TestScheduleAndSaleFromJudge(t *testing.T) {
	start := day(t, "2020-06-01")
	r, err := Judge(Input{Terms: Terms{Kind: Workmanship, TermMonths: 120, Method: None, Transfer: Never}, Facts: Facts{AsOf: start, StartOn: start},
		Sale: &Sale{On: start + 400}, Schedule: true})
	if err != nil || r.Sale.Outcome != EndsWithSale || len(r.Schedule) != 1 || r.Schedule[0].Until != day(t, "2030-05-31") {
		t.Errorf("%+v, %+v, %v", r.Sale, r.Schedule, err)
	}
}

// Each point of 16 CFR 701.3 lacks until its own part is written.
func TestDisclosure(t *testing.T) {
	terms := Terms{Kind: Workmanship, TermMonths: 120, Method: None, Transfer: Once, Covers: all}
	whole := Paper{Warrantor: "A roofer", Address: "12 Sawpit Yard", Title: "limited", StartSaid: true, Remedy: "We repair it.", Excluded: "Hail.", Claim: "Ring us.", Rights: "You may have other rights."}
	lacking := func(terms Terms, p Paper) string {
		var out []string
		for _, point := range Disclosure(terms, p) {
			if point.Sentence == "" || point.Source == "" || point.Said != (point.Lacks == "") {
				t.Errorf("the point %+v", point)
			}
			if !point.Said {
				out = append(out, point.Key)
			}
		}
		return strings.Join(out, " ")
	}
	if got := lacking(terms, whole); got != "" {
		t.Errorf("a whole paper lacks %s", got)
	}
	for want, spoil := range map[string]func(*Terms, *Paper){
		"title":            func(_ *Terms, p *Paper) { p.Title = "lifetime" },
		"to_whom":          func(t *Terms, _ *Paper) { t.Transfer = "" },
		"covered":          func(t *Terms, _ *Paper) { t.Covers = Covers{} },
		"excluded":         func(_ *Terms, p *Paper) { p.Excluded = " " },
		"remedy":           func(_ *Terms, p *Paper) { p.Remedy = "" },
		"start_and_length": func(_ *Terms, p *Paper) { p.StartSaid = false },
		"claim_route":      func(_ *Terms, p *Paper) { p.Claim = "" },
		"warrantor":        func(_ *Terms, p *Paper) { p.Address = "" },
		"rights":           func(_ *Terms, p *Paper) { p.Rights = "" },
	} {
		spoilt, paper := terms, whole
		spoil(&spoilt, &paper)
		if got := lacking(spoilt, paper); got != want {
			t.Errorf("lacks %q, want %s", got, want)
		}
	}
}
