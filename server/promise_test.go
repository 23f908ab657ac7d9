package server

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"overhang/analytics/owed"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
	"overhang/views"
)

// add writes more records into the site.
func (s *site) add(records ...models.Record) {
	s.t.Helper()
	err := s.service.Store.Write(s.t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error {
		for _, rec := range records {
			if err := tx.Create(rec); err != nil {
				return fmt.Errorf("%s: %w", rec.Noun(), err)
			}
		}
		return nil
	})
	if err != nil {
		s.t.Fatal(err)
	}
}

// promiseSite adds a promise of a maker that waits for its registration, one
// that ends soon, work that was declined, and three callbacks with their costs.
func promiseSite(t *testing.T) *site {
	s := newSite(t)
	day := func(y int, m time.Month, d int) units.Date { return units.NewDate(y, m, d) }
	s.add(
		&models.Terms{Key: "maker-25", Name: "Twenty-five years on the material", Kind: "material", TermMonths: 300, FullMonths: 120, ShareMethod: "whole_term",
			Material: true, Transfer: "by_notice", NoticeDays: 60, Conditions: models.JSON[models.Condition]{{Kind: "registered", Days: 60}, {Kind: "yearly_checkup"}}},
		&models.Terms{Key: "work-5", Name: "Five years on our work", Kind: "workmanship", TermMonths: 60, FullMonths: 60, ShareMethod: "none",
			Labour: true, Transfer: "never", Wording: "Five years <b>on our work</b>."},
		&models.Roof{Ref: "R-3", HouseID: 2, Ours: true, Laid: units.Dated{On: day(2021, 7, 1), Precision: units.ToDay}},
		&models.Roof{Ref: "R-4", HouseID: 2, Ours: true, Laid: units.Dated{On: day(2026, 5, 1), Precision: units.ToDay}},
		&models.Warranty{Ref: "W-2", RoofID: 3, TermsID: 3, OwedBy: "us", StartOn: day(2021, 7, 1), Wording: "Five years, <i>as signed</i>."},
		&models.Warranty{Ref: "W-3", RoofID: 4, TermsID: 2, OwedBy: "Tarn Shingle Mill", StartOn: day(2026, 5, 1), RegistrationDueOn: day(2026, 6, 30)},
		&models.Declined{JobID: 1, What: "New step flashing", SignedOn: day(2015, 7, 1)},
	)
	for i := range 3 {
		id := int64(i + 2)
		on := day(2018+i, 4, 3)
		s.add(&models.Callback{Ref: fmt.Sprint("K-", id), HouseID: ptr[int64](1), RoofID: ptr[int64](1), HappenedOn: on, LearnedOn: on, State: "closed", ClosedOn: on, Bearer: "us"},
			&models.CostLine{CallbackID: id, On: on, LearnedOn: on, Kind: "labour", Amount: 400 * units.Dollar})
	}
	err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Put(&models.JobRoof{JobID: 1, RoofID: 1}) })
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Every number of the opening opens the rows that it counts.
func TestThePromisesOpenWithTheirNumbers(t *testing.T) {
	s := promiseSite(t)
	page := s.as(models.Owner).get("/promises").want(200)
	opening := page.text(".opening")
	for _, want := range []string{"We still answer for 2 roofs.", fmt.Sprintf("One promise ends within %d days.", service.EndingDays), "One registration waits."} {
		if !strings.Contains(opening, want) {
			t.Errorf("the opening is %q, without %q", opening, want)
		}
	}
	for show, ref := range map[string]string{"ending": "W-2", "registration": "W-3"} {
		link := page.page().Find(`.opening a[href="/promises?show=` + show + `"]`)
		if link.Length() != 1 {
			t.Errorf("the opening has %d links to the part %s", link.Length(), show)
		}
		rows := s.as(models.Owner).get("/promises?show=" + show).want(200).page().Find("#promises tbody tr")
		if rows.Length() != 1 || !strings.Contains(rows.Text(), ref) {
			t.Errorf("the part %s has %d rows: %s", show, rows.Length(), rows.Text())
		}
	}
	if got := s.as(models.Owner).get("/promises?q=14+larch").want(200).text("#promises tbody"); !strings.Contains(got, "W-2") || strings.Contains(got, "W-1 ") {
		t.Errorf("searching for 14 Larch gives %q", got)
	}
	if got := s.as(models.Owner).get("/promises?owed_by=us").want(200).text("#promises tbody"); strings.Contains(got, "W-3") || !strings.Contains(got, "W-1") {
		t.Errorf("what we owe ourselves is %q", got)
	}
}

// What is owed is for those who may see money.
func TestWhatIsOwedIsForThoseWhoSeeMoney(t *testing.T) {
	s := promiseSite(t)
	for role, sees := range map[models.Role]bool{models.Owner: true, models.Bookkeeper: true, models.Office: false} {
		page := s.as(role).get("/promises").want(200)
		if got := page.page().Find("#owed").Length() == 1; got != sees {
			t.Errorf("%s sees what is owed: %v, want %v", role, got, sees)
		}
		if strings.Contains(page.text("main"), "$") != sees {
			t.Errorf("%s: amounts in %q", role, page.text("main"))
		}
	}
	if s.as(models.Owner).get("/promises?show=ending").want(200).page().Find("#owed").Length() != 0 {
		t.Error("what is owed stands before the part of the list that was asked for")
	}
	page := s.as(models.Owner).get("/promises").want(200)
	if rows := page.page().Find("#owed-numbers tbody tr").Length(); rows < 5 {
		t.Errorf("the table under the drawing has %d years", rows)
	}
	for _, want := range []string{"A small sample: 4 callbacks", "hardly more than a guess", "an estimate"} {
		if !strings.Contains(page.text("main"), want) {
			t.Errorf("the page does not say %q: %s", want, page.text("main"))
		}
	}
}

// Every reason and note that the calculations give has its words here, so that
// none is shown as a bare code.
func TestReasonsAndNotesHaveWords(t *testing.T) {
	r, err := testRenderer()
	if err != nil {
		t.Fatal(err)
	}
	frame := views.Frame{}
	on := []units.Date{units.NewDate(2026, 5, 1), units.NewDate(2026, 6, 1)}
	for code := range promise.Codes() {
		if got, err := r.Text(frame, views.PromiseReason(code, on, 3, "a chimney")); err != nil || got == strings.ReplaceAll(code, "_", " ") || strings.Contains(got, "{") {
			t.Errorf("the reason %s is written %q, %v", code, got, err)
		}
	}
	for _, kind := range promise.ConditionKinds() {
		for _, p := range []views.Phrase{views.Term("promise_condition", kind.Key), views.Term("promise_howto", kind.Key)} {
			if got, err := r.Text(frame, p); err != nil || got == strings.ReplaceAll(kind.Key, "_", " ") {
				t.Errorf("the condition %s is written %q, %v", kind.Key, got, err)
			}
		}
	}
	for _, next := range promise.NextDays {
		if got, _ := r.Text(frame, views.Term("promise_next", next)); got == strings.ReplaceAll(next, "_", " ") {
			t.Errorf("the next day %s has no words", next)
		}
	}
	for _, job := range service.Jobs {
		if got, err := r.Text(frame, views.Term("today.job", job.Name)); err != nil || got == job.Name {
			t.Errorf("the nightly job %s is written %q, %v", job.Name, got, err)
		}
	}
	result, err := owed.Model(owed.ModelInput{AsOf: on[0]})
	if err != nil || len(result.Notes) == 0 {
		t.Fatalf("an estimate from nothing has %d notes, %v", len(result.Notes), err)
	}
	for _, n := range result.Notes {
		if got, err := r.Text(frame, views.OwedNote(n.Code, n.Number)); err != nil || got == strings.ReplaceAll(n.Code, "_", " ") {
			t.Errorf("the note %s is written %q, %v", n.Code, got, err)
		}
	}
}

func TestAPromiseExplainsItself(t *testing.T) {
	s := promiseSite(t)
	page := s.as(models.Bookkeeper).get("/promises/1").want(200)
	for _, want := range []string{"covers 46% of what its terms name", "New step flashing, declined in writing on July 1, 2015",
		// 110 of 240 months are left: 45.8 %.
		"The full span is over; 110 months are left, as a share of the whole term", "local law and licensed advice decide"} {
		if !strings.Contains(page.text("main"), want) {
			t.Errorf("the promise does not say %q: %s", want, page.text("main"))
		}
	}
	if page.page().Find("form#end, form#register, a[href$='/edit']").Length() != 0 {
		t.Error("a bookkeeper is shown how to change a promise")
	}
	page = s.as(models.Office).get("/promises/3").want(200)
	for _, want := range []string{"Registration is due by June 30, 2026", "not due yet", "Register with the maker"} {
		if !strings.Contains(page.text("#conditions"), want) {
			t.Errorf("the conditions do not say %q: %s", want, page.text("#conditions"))
		}
	}
	if page.page().Find("form#register").Length() != 1 {
		t.Error("the office is not asked for the registration")
	}
	if got := s.as(models.Owner).get("/promises/2").want(200); !strings.Contains(got.text(".wording"), "<i>as signed</i>") {
		t.Errorf("the wording as signed is shown as %q", got.text(".wording"))
	}
}

func TestRegisteringAndEndingAPromise(t *testing.T) {
	s := promiseSite(t)
	b := s.as(models.Office)
	// The first day that is typed breaks a rule: nothing is saved, all is kept.
	refused := b.post("/promises/3", url.Values{"version": {"1"}, "registered_on": {"the sixth"}, "registration_no": {"A-77"}}).want(422)
	if got, _ := refused.page().Find("#warranty-registration_no").Attr("value"); got != "A-77" {
		t.Errorf("the number that was typed is now %q", got)
	}
	if got := refused.text("#warranty-registered_on-error"); !strings.Contains(got, "write year, month and day") {
		t.Errorf("beside the day it says %q", got)
	}
	b.post("/promises/3", url.Values{"version": {"1"}, "registered_on": {"2026-06-09"}, "registration_no": {"A-77"}}).leads("/promises/3")
	after := b.get("/promises/3").want(200)
	for _, want := range []string{"The registration of W-3 is kept.", "on June 9, 2026, number A-77", "registered on: June 9, 2026"} {
		if !strings.Contains(after.text("main"), want) {
			t.Errorf("after the registration the page does not say %q: %s", want, after.text("main"))
		}
	}
	w, err := store.Get[models.Warranty](s.service.Store.Query(t.Context()), 3)
	if err != nil || w.OwedBy != "Tarn Shingle Mill" || w.RegistrationDueOn.IsZero() || w.TermsID != 2 {
		t.Errorf("a part of the form changed the rest: %+v, %v", w, err)
	}
	// A promise that ends early needs its reason.
	refused = b.post("/promises/2", url.Values{"version": {"1"}, "ended_on": {"2026-06-01"}, "end_reason": {""}}).want(422)
	if got := refused.text("#warranty-end_reason-error"); !strings.Contains(got, "needs its reason") {
		t.Errorf("beside the reason it says %q", got)
	}
	b.post("/promises/2", url.Values{"version": {"1"}, "ended_on": {"2026-06-01"}, "end_reason": {"bought out"}}).leads("/promises/2")
	if got := b.get("/promises/2").want(200).text(".opening"); !strings.Contains(got, "This promise has ended. Its last day was May 31, 2026.") {
		t.Errorf("the opening of an ended promise is %q", got)
	}
}

// Two people open one promise: the second is told, sees both, and can save.
func TestTwoEditorsOfAPromise(t *testing.T) {
	s := promiseSite(t)
	one, two := s.as(models.Owner), s.as(models.Office)
	one.post("/promises/3", url.Values{"version": {"1"}, "owed_by": {"Other Mill"}, "wording": {"theirs"}, "why": {"The paper names another."}}).leads("/promises/3")
	second := two.post("/promises/3", url.Values{"version": {"1"}, "owed_by": {"Third Mill"}, "wording": {"mine"}, "why": {"Neither of them."}}).want(409)
	if got := second.text("#warranty-wording"); got != "mine" {
		t.Errorf("what the second typed is now %q", got)
	}
	if got := second.text("#warranty-owed_by-kept"); got != "Kept now: Other Mill" {
		t.Errorf("beside the name it says %q", got)
	}
	version, _ := second.page().Find("#warranty input[name=version]").Attr("value")
	two.post("/promises/3", url.Values{"version": {version}, "owed_by": {"Third Mill"}, "wording": {"mine"}, "why": {"Neither of them."}}).leads("/promises/3")
}

// What was signed changes only with what was wrong, which stands in the history.
func TestCorrectingAPromise(t *testing.T) {
	s := promiseSite(t)
	b := s.as(models.Office)
	form := b.get("/promises/1/edit").want(200).fields("#warranty")
	b.post("/promises/1", form).leads("/promises/1") // as it stands
	form.Set("start_on", "2016-08-05")
	form.Set("terms_id", "3")
	refused := b.post("/promises/1", form).want(422)
	for _, field := range []string{"start_on", "terms_id"} {
		if got := refused.text("#warranty-" + field + "-error"); !strings.Contains(got, "a correction that says what was wrong") {
			t.Errorf("beside %s it says %q", field, got)
		}
	}
	if w, err := store.Get[models.Warranty](s.service.Store.Query(t.Context()), 1); err != nil || w.Version != 1 {
		t.Errorf("kept: %+v, %v", w, err)
	}
	again := refused.fields("#warranty")
	again.Set("terms_id", "1")
	again.Set("why", "The paper has August 5, 2016.")
	b.post("/promises/1", again).leads("/promises/1")
	page := b.get("/promises/1").want(200)
	for _, want := range []string{"Promise W-1 is corrected.", "start on from August 5, 2015 to August 5, 2016", "why: “The paper has August 5, 2016.”"} {
		if !strings.Contains(page.text("main"), want) {
			t.Errorf("the page does not say %q: %s", want, page.text("main"))
		}
	}
	if got := s.as(models.Owner).get("/records/trail?record=warranty").want(200).text("main"); !strings.Contains(got, "The paper has August 5, 2016.") {
		t.Errorf("the trail does not say why: %s", got)
	}
}

// What the hint beside the wording says is what happens: a new promise takes the
// wording of its terms, and one that is kept keeps its own where the field is
// emptied, with a correction and without.
func TestTheWordingLeftEmpty(t *testing.T) {
	s := promiseSite(t)
	b := s.as(models.Office)
	terms := &models.Terms{Key: "worded", Name: "With words", Kind: "workmanship", TermMonths: 120, FullMonths: 120, ShareMethod: "none", Labour: true, Transfer: "never", Wording: "We mend what we laid."}
	s.add(terms)
	kept := func() *models.Warranty {
		t.Helper()
		w, err := store.Get[models.Warranty](s.service.Store.Query(t.Context()), 4)
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	hint := func(a answer) string { return a.text("#warranty-wording-hint") }
	if got := hint(b.get("/roofs/4/promises/new").want(200)); got != "Leave it empty to take the wording of the terms." {
		t.Errorf("of a new one it says %q", got)
	}
	at := b.post("/roofs/4/promises", url.Values{"terms_id": {idOf(terms.ID)}, "owed_by": {"us"}, "start_on": {"2026-05-20"}, "wording": {""}}).leads("/promises/4").Header.Get("Location")
	if got := kept().Wording; got != "We mend what we laid." {
		t.Fatalf("left empty it is %q", got)
	}
	for _, c := range []struct{ wording, why, want string }{
		{"", "", "We mend what we laid."},
		{"", "The day was another.", "We mend what we laid."},
		{"We mend all.", "The paper has other words.", "We mend all."},
		{"  ", "Once more.", "We mend all."},
	} {
		page := b.get(at + "/edit").want(200)
		if got := hint(page); !strings.Contains(got, "Left empty, the wording that is kept stays") {
			t.Errorf("of one that is kept it says %q", got)
		}
		form := page.fields("#warranty")
		form.Set("wording", c.wording)
		form.Set("why", c.why)
		b.post(at, form).leads(at)
		if got := kept().Wording; got != c.want {
			t.Errorf("written %q, because %q, it is kept as %q", c.wording, c.why, got)
		}
	}
	form := b.get(at + "/edit").want(200).fields("#warranty")
	form.Set("wording", "We mend nothing.")
	if got := b.post(at, form).want(422).text("#warranty-wording-error"); !strings.Contains(got, "is what was signed") {
		t.Errorf("another wording without a reason: %q", got)
	}
}

func TestAddingAPromise(t *testing.T) {
	s := promiseSite(t)
	b := s.as(models.Office)
	form := b.get("/roofs/1/promises/new").want(200)
	if got, _ := form.page().Find("#warranty-start_on").Attr("value"); got != "2015-08-05" {
		t.Errorf("the first day offered is %q, want the day on which the one job was closed", got)
	}
	if got := form.page().Find("#warranty-terms_id option[selected], #warranty-terms_id option:first-child").First().AttrOr("value", "none"); got != "" {
		t.Errorf("terms %s are taken unchosen", got)
	}
	refused := b.post("/roofs/4/promises", url.Values{"terms_id": {""}, "owed_by": {""}, "start_on": {"2026-02-30"}, "wording": {"As agreed."}}).want(422)
	for field, want := range map[string]string{"terms_id": "is needed", "start_on": "write year, month and day"} {
		if got := refused.text("#warranty-" + field + "-error"); !strings.Contains(got, want) {
			t.Errorf("beside %s it says %q, want %q", field, got, want)
		}
	}
	if got := refused.text("#warranty-wording"); got != "As agreed." {
		t.Errorf("the wording that was typed is now %q", got)
	}
	b.post("/roofs/4/promises", url.Values{"terms_id": {"2"}, "owed_by": {"Tarn Shingle Mill"}, "start_on": {"2026-05-20"}}).leads("/promises/4")
	w, err := store.Get[models.Warranty](s.service.Store.Query(t.Context()), 4)
	if err != nil || w.RegistrationDueOn != units.NewDate(2026, time.July, 19) {
		t.Errorf("the registration of a promise from May 20 with 60 days is due on %v, %v", w.RegistrationDueOn, err)
	}
	s.as(models.Bookkeeper).get("/roofs/1/promises/new").want(403)
	s.as(models.Seller).get("/promises").want(403)
	b.get("/promises/99").want(404)
}

// Each condition leads to where it can be shown met, for those who may: that the
// job is paid in full is written down on the promise's own page.
func TestConditionsLeadToWhereTheyAreShown(t *testing.T) {
	s := promiseSite(t)
	s.add(&models.Terms{Key: "asks", Name: "Asks for much", Kind: "workmanship", TermMonths: 240, FullMonths: 240, ShareMethod: "none", Labour: true, Transfer: "by_notice", NoticeDays: 60,
		Conditions: models.JSON[models.Condition]{{Kind: "paid_in_full", Days: 60}, {Kind: "registered"}, {Kind: "ventilation_to_code"}, {Kind: "yearly_checkup"}, {Kind: "only_our_people"}, {Kind: "notice_days", Days: 30}}},
		&models.Warranty{Ref: "W-A", RoofID: 1, JobID: ptr[int64](1), TermsID: 4, OwedBy: "us", StartOn: units.NewDate(2024, time.August, 5)},
		&models.Visit{Ref: "V-D", HouseID: 1, RoofID: ptr[int64](1), Purpose: "checkup", OfferedOn: units.NewDate(2025, time.May, 1), DeclinedOn: units.NewDate(2025, time.May, 2)})
	s.as(models.Office).post("/houses/1/sale", url.Values{"sold_on": {"2026-06-01"}, "name": {"Bram Tilsley"}, "seen_2026-06-01": {"yes"}}).want(303)
	ways := map[models.Role]string{
		models.Office:     "#paid #register /roofs/1#structure /roofs/1#visits /roofs/1#visits /houses/1/sale#kept",
		models.Bookkeeper: "#paid /roofs/1#structure",
	}
	for role, want := range ways {
		page := s.as(role).get("/promises/4").want(200)
		var got []string
		page.page().Find("#conditions td:last-child a").Each(func(_ int, a *goquery.Selection) { got = append(got, a.AttrOr("href", "")) })
		if strings.Join(got, " ") != want {
			t.Errorf("the %s is led to %q, want %s", role, got, want)
		}
		for _, to := range got {
			to, at, _ := strings.Cut(to, "#")
			there := page
			if to != "" {
				there = s.as(role).get(to).want(200)
			}
			if at != "" && there.page().Find("#"+at).Length() != 1 {
				t.Errorf("there is no %s on %s", at, to)
			}
		}
	}

	b := s.as(models.Bookkeeper)
	for day, want := range map[string]string{"": "is needed", "2026-06-11": "after today", "the tenth": "write year, month and day"} {
		if got := b.post("/promises/4/paid", url.Values{"version": {"1"}, "paid_on": {day}}).want(422).text("#paid-paid_on-error"); !strings.Contains(got, want) {
			t.Errorf("paid on %q: %q, want %q", day, got, want)
		}
	}
	b.post("/promises/4/paid", url.Values{"version": {"7"}, "paid_on": {"2024-09-01"}}).want(409)
	b.post("/promises/4/paid", url.Values{"version": {"1"}, "paid_on": {"2024-09-01"}}).leads("/promises/4")
	page := b.get("/promises/4").want(200)
	if got := page.text("#conditions tbody tr:first-child"); !strings.Contains(got, "met") || !strings.Contains(got, "Paid in full on September 1, 2024.") || page.page().Find("#paid").Length() != 0 {
		t.Errorf("after the payment the condition reads %q", got)
	}
	// A promise that came with no job, on a roof that no job of ours is known for,
	// has no place for it.
	s.add(&models.Warranty{Ref: "W-B", RoofID: 2, TermsID: 4, OwedBy: "us", StartOn: units.NewDate(2024, time.August, 5)})
	b.post("/promises/5/paid", url.Values{"version": {"1"}, "paid_on": {"2024-09-01"}}).want(409)
	s.as(models.Seller).post("/promises/4/paid", url.Values{"version": {"2"}, "paid_on": {"2024-09-01"}}).want(403)
}

// A promise stands otherwise on another day, which can be asked for: 240 months
// from August 5, 2015, of which 120 in full, then the months left of the whole
// term.
func TestAPromiseOnAnyDay(t *testing.T) {
	s := promiseSite(t)
	for on, want := range map[string]string{
		"":           "On June 10, 2026 this promise covers 46% of what its terms name.", // 110 of 240
		"2014-01-01": "This promise begins on August 5, 2015. Its last day is August 4, 2035. It is read from what is known today.",
		"2025-08-04": "On August 4, 2025 this promise covers all that its terms name. Its full span runs to August 4, 2025, and its last day is August 4, 2035.",
		"2030-08-05": "On August 5, 2030 this promise covers 25% of what its terms name.", // 60 of 240
		"2035-08-05": "This promise has ended. Its last day was August 4, 2035.",
	} {
		page := s.as(models.Office).get("/promises/1?on=" + on).want(200)
		if got := page.text(".opening"); !strings.Contains(got, want) {
			t.Errorf("on %q: %q, want %q", on, got, want)
		}
		if today := on == ""; strings.Contains(page.text(".facts"), "Odile Marchetti") != today {
			t.Errorf("on %q the facts are %q", on, page.text(".facts"))
		}
	}
	if got := s.as(models.Office).get("/promises/1?on=4.8.2025").want(422).text("main"); !strings.Contains(got, `on must be a day like 2026-06-10, not "4.8.2025"`) {
		t.Errorf("of a day that cannot be read it says %q", got)
	}
	if got := s.as(models.Bookkeeper).get("/promises/1").want(200).text("main"); strings.Contains(got, "Odile Marchetti") {
		t.Error("the bookkeeper is told whose promise it is")
	}
}

// Whoever takes a callback up reads how the promise stood when the fault was
// seen, or else when we were told, and what the owner had declined in writing.
func TestACallbackSaysHowThePromiseStood(t *testing.T) {
	s := promiseSite(t)
	at := func(y int) units.Date { return units.NewDate(y, time.May, 4) }
	for i, c := range []struct {
		happened, learned units.Date
		want, not         string
	}{
		{0, at(2026), "On May 4, 2026: in force in part, 47%. Left out of it: New step flashing, declined in writing on July 1, 2015.", ""}, // 112 of 240 months
		{at(2020), at(2026), "On May 4, 2020: in force, all of it. Left out of it: New step flashing", ""},
		{at(2015), at(2026), "On May 4, 2015: not begun.", "Left out"}, // it was declined in July
	} {
		id := int64(i + 5)
		s.add(&models.Callback{Ref: fmt.Sprint("K-", id), HouseID: ptr[int64](1), RoofID: ptr[int64](1), WarrantyID: ptr[int64](1), HappenedOn: c.happened, LearnedOn: c.learned, State: "to_look"})
		page := s.as(models.Office).get(fmt.Sprintf("/callbacks/%d", id)).want(200)
		if got := page.text("main"); !strings.Contains(got, c.want) || (c.not != "" && strings.Contains(got, c.not)) {
			t.Errorf("seen %v, told %v: %s", c.happened, c.learned, got)
		}
		if got := s.as(models.Roofer).get(fmt.Sprintf("/callbacks/%d", id)).want(200).text("main"); strings.Contains(got, "in force") {
			t.Errorf("the roofer reads the promise: %s", got)
		}
	}
}
