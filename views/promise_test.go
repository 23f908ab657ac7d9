package views

import (
	"testing"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/views/charts"
)

func promiseSamples(f Frame) map[string]Page {
	f.Nav = Nav(Promises, AllSections...)
	list := PromisesPage{Frame: f, Owed: &OwedPart{Records: 12, Notes: []Phrase{OwedNote("small_sample", 3)}}}
	list.Title = Say("section.promises")
	list.Opening = []Phrase{Say("promise.roofs", "count", 231).Link("ours", "/promises?owed_by=us"),
		Say("promise.ending", "count", 14, "days", 90).Link("ending", "/promises?show=ending")}
	list.Owed.Chart = Chart{ID: "owed", Title: Say("promise.owed.by"),
		Summary: Say("promise.owed.summary", "expected", units.Money(8410000), "low", units.Money(4120000), "high", units.Money(13450000)),
		Draw: func(say func(any) string) (charts.Options, error) {
			return charts.OwedByYear(charts.Unit{Before: "$"}, sampleSpans(say))
		},
		Numbers: &Table{ID: "owed-numbers", Caption: Say("promise.owed.by"), Columns: []Column{{Head: Say("promise.owed.year")}, {Head: Say("promise.owed.expected"), Numeric: true}},
			Rows: []Row{NewRow("2027", units.Money(900000))}}}
	list.Parts = []NavEntry{{Label: Say("parts.count", "part", Term("promise_part", "in_force"), "count", 240), URL: "/promises", Current: true},
		{Label: Say("parts.count", "part", Term("promise_part", "ended"), "count", 31), URL: "/promises?show=ended"}}
	list.Filter = PromiseFilter(f, "in_force", "", "", "")
	list.File = "/promises.csv?show=in_force"
	list.Years = Table{ID: "years", Caption: Say("promise.years"), Columns: []Column{{Head: Say("promise.owed.year")}, {Head: Say("promise.years.all"), Numeric: true}},
		Rows: []Row{NewRow("2027", Cell{Value: 9, URL: "/promises?ends=2027"})}}
	list.Table = Table{ID: "promises", Caption: Term("promise_part", "in_force"),
		Columns: []Column{{Head: Say("promise.number")}, {Head: Say("promise.roof")}, {Head: Say("promise.stands")}},
		Rows: []Row{NewRow(Cell{Value: "W-00014", URL: "/promises/14", Note: Say("promise.by", "terms", "Ten years on our work", "who", OwedBy("us"))},
			Cell{Value: "14 Alder Lane", URL: "/roofs/7"}, Say("promise.standsat", "state", Term("promise_state", "in_part"), "share", PromiseShare(0.6, 0.6)))}}

	sc := &models.Scenario{Kind: "hail_line", RateTimes: 1, CostTimes: 1, Added: .3, Bearers: models.JSON[models.BearerPart]{{Bearer: "us", Share: 1}}}
	ahead := OwedPage{Frame: f, Years: list.Owed.Chart, Notes: list.Owed.Notes, Levels: []Phrase{Say("owed.level", "chance", "90", "amount", units.Money(4100000))},
		Build: []NavEntry{{Label: Term("scenario_kind", "bad_lot"), URL: "/owed/scenarios/new?kind=bad_lot"}}}
	ahead.Title = Say("owed.title")
	ahead.Opening = []Phrase{Say("owed.opening.worst", "shortfall", units.Money(5100000)).Link("could", "#could")}
	part := Table{ID: "by-terms", Caption: Term("owed_by", "terms"), Columns: []Column{{Head: Term("owed_by", "terms")}, {Head: Say("owed.expected"), Numeric: true}}, Rows: []Row{NewRow("Ten years", units.Money(900000))}}
	ahead.Parts, ahead.Scenarios, ahead.Rates, ahead.Costs = []Table{part}, part, part, part
	behind := OwedListPage{Frame: f, Table: part}
	behind.Title = Say("owed.list.title")
	behind.Opening = []Phrase{Say("owed.list.opening", "count", 3, "expected", units.Money(900000))}
	whatIf := ScenarioPage{Frame: f, Beside: &part, Bearers: &part, Away: AwayForm(f, "/owed/scenarios/1/away", sc),
		Form: ScenarioForm(f, "/owed/scenarios/1", sc, nil, nil, []Option{{"", Say("owed.scenario.storm.none")}}, []Option{{"2027", Plain("2027")}})}
	aside := ReservePage{Frame: f, Views: part, Leads: &part, Alone: Say("reserve.leads.not", "reason", "column 1 is all nought"), Years: part, Months: part, Ties: Say("reserve.ties", "count", 3, "sum", units.Money(900000)),
		Triangle: &part, Prepaid: part, Notes: list.Owed.Notes, Workbook: "/reserve.xlsx", Files: []NavEntry{{Label: Say("reserve.file", "table", Term("reserve_table", "cohorts")), URL: "/reserve.csv?part=cohorts"}},
		Closed: part, Close: CloseMonthForm(f, "/reserve/close", []Option{{"2026-10", Plain("2026-10")}})}
	aside.Title = Say("reserve.title")
	aside.Opening = []Phrase{Say("reserve.opening.closed", "month", "2026-09", "booked", units.Money(900000), "count", 3).Link("rolls", "#rolls").Link("views", "#views")}
	whatIf.Title = Say("owed.scenario.title", "name", "A hailstorm over the south side")

	w := &models.Warranty{Row: models.Row{ID: 14, Version: 2}, Ref: "W-00014", OwedBy: "us", TermsID: 1, StartOn: units.NewDate(2019, 6, 1)}
	one := PromisePage{Frame: f, On: PromiseDay(f, "/promises/14", galleryDay), Wording: "We answer for our work for ten years.\nWhat others did is left out.", Change: "/promises/14/edit", Paper: "/promises/14/certificate", Decline: "/roofs/7/declined",
		Register: RegisterForm(f, "/promises/14", w), Pay: JobPaidForm(f, "/promises/14/paid", &models.Job{Row: models.Row{Version: 1}, Ref: "J-00003"}), End: EndForm(f, "/promises/14", w)}
	one.Title = Say("promise.title", "ref", w.Ref)
	one.Opening = []Phrase{Say("promise.is.full", "day", galleryDay, "full", units.NewDate(2029, 5, 31), "last", units.NewDate(2034, 5, 31))}
	one.Facts = []Fact{{Term: Say("promise.roof"), Value: "14 Alder Lane", URL: "/roofs/7"}, {Term: Say("promise.owedby"), Value: OwedBy("us")}}
	one.Reasons = []Phrase{PromiseReason("in_full_span", []units.Date{units.NewDate(2029, 5, 31)}, 0, "")}
	one.LeftOut = []Phrase{PromiseReason("declined", []units.Date{units.NewDate(2019, 5, 2)}, 0, "New step flashing at the chimney")}
	one.Conditions = Table{ID: "conditions", Caption: Say("promise.conditions"),
		Columns: []Column{{Head: Say("promise.condition")}, {Head: Say("promise.standing")}, {Head: Say("promise.howto")}},
		Rows:    []Row{NewRow(Term("promise_condition", "yearly_checkup"), Term("standing", "not_shown_met"), Term("promise_howto", "yearly_checkup"))}}
	one.Next = Table{ID: "next", Caption: Say("promise.next"), Columns: []Column{{Head: Say("promise.next.day")}, {Head: Say("promise.next.what")}},
		Rows: []Row{NewRow(units.NewDate(2029, 5, 31), Term("promise_next", "full_span_ends"))}}
	one.History = []Event{{On: galleryDay, Who: "Ines Marlow", What: Say("change.added")}}

	form := PromiseFormPage{Frame: f}
	form.Title = Say("promise.edit.title", "ref", w.Ref)
	form.Form = WarrantyForm(f, "/promises/14", "/promises/14", w, []models.Job{{Row: models.Row{ID: 3}, Ref: "J-3", ClosedOn: units.NewDate(2019, 5, 31)}},
		[]models.Terms{{Row: models.Row{ID: 1}, Name: "Ten years on our work"}})
	sale := SalePage{Frame: f, Look: SaleLook(f, "/houses/3/sale", galleryDay.String()), Form: SaleForm(f, "/houses/3/sale", "/roofs/7", galleryDay.String()),
		Day: galleryDay, Notice: NoticeForm(f, "/houses/3/sale/notice", &models.Holding{Row: models.Row{Version: 1}})}
	sale.Title = Say("sale.title", "address", "14 Alder Lane")
	across := func(id string) *Table {
		return &Table{ID: id, Stacks: true, Caption: Say("sale.ahead", "day", galleryDay), Columns: []Column{{Head: Say("sale.promise")}, {Head: Say("sale.becomes")}, {Head: Say("sale.noticed")}},
			Rows: []Row{NewRow(Cell{Value: "W-00014", URL: "/promises/14"}, Term("sale_outcome", "goes_along"), Say("sale_notice.due", "day", galleryDay+60))}}
	}
	sale.Ahead, sale.Kept = across("ahead"), across("kept-sale")
	paper := CertificatePage{Frame: f, Back: Say("certificate.back", "ref", "W-00014").Link("promise", "/promises/14"), Give: GiveForm(f, "/promises/14/certificate", "Tove Lindqvist"),
		Parts: []models.CertificatePart{{Heading: "What is promised", Paragraphs: []string{"We put it right."}, List: []string{"It pays for labour."}},
			{Heading: "How much", Heads: []string{"From", "Through", "Share"}, Rows: [][]string{{"June 1, 2019", "May 31, 2029", "100%"}}}},
		Points: &Table{ID: "points", Stacks: true, Caption: Say("certificate.lacking", "count", 1), Columns: []Column{{Head: Say("certificate.point")}, {Head: Say("certificate.there")}},
			Rows: []Row{NewRow(Term("certificate_point", "excluded"), Cell{Value: Say("certificate.lacks"), Note: Term("certificate_lacks", "excluded"), URL: "/records/terms/1"})}},
		Given: &Table{ID: "given", Caption: Say("certificate.given"), Empty: Say("certificate.given.none"), Columns: []Column{{Head: Say("certificate.givenon")}}}}
	paper.Title = Say("certificate.title", "ref", "W-00014")
	return map[string]Page{"owed": ahead, "owed_list": behind, "scenario": whatIf, "reserve": aside, "certificate": paper, "sale": sale, "promises": list, "promise": one, "promise_form": form}
}

// Terms that are given no longer are offered only where they hold already.
func TestEndedTermsAreNotGivenAnew(t *testing.T) {
	terms := []models.Terms{{Row: models.Row{ID: 1}, Name: "now"}, {Row: models.Row{ID: 2}, Name: "once", EndedOn: galleryDay}}
	for id, want := range map[int64]int{0: 2, 1: 1, 2: 2} { // of a new one nothing is chosen yet
		form := WarrantyForm(Frame{}, "/", "/", &models.Warranty{TermsID: id}, nil, terms)
		for _, field := range form.Groups[0].Fields {
			if field.Name == "terms_id" && len(field.Options) != want {
				t.Errorf("a warranty on terms %d may choose among %d, want %d", id, len(field.Options), want)
			}
		}
	}
}

func TestShareInWords(t *testing.T) {
	w := &writer{words: testWords(t)[DefaultLanguage], currency: "$"}
	for want, share := range map[string][2]float64{"all of it": {1, 1}, "0% to 100%": {0, 1}, "58%": {0.583, 0.583}} {
		if got, err := w.say(PromiseShare(share[0], share[1])); err != nil || got != want {
			t.Errorf("a share from %g to %g is written %q, %v; want %q", share[0], share[1], got, err, want)
		}
	}
}
