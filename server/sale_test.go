package server

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	"overhang/server/service"
)

// A sale is looked at before it is kept; the notice that it calls for stands on
// Today until it is there.
func TestASaleIsSeenBeforeItIsKept(t *testing.T) {
	s := promiseSite(t)
	err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		terms := &models.Terms{Key: "by-notice", Name: "With notice", Kind: "workmanship", TermMonths: 240, FullMonths: 240, ShareMethod: "none",
			Labour: true, Transfer: "by_notice", NoticeDays: 60, AfterTransfer: ptr(36)}
		if err := tx.Create(terms); err != nil {
			return err
		}
		return tx.Create(&models.Warranty{Ref: "W-N", RoofID: 1, TermsID: terms.ID, OwedBy: "us", StartOn: units.NewDate(2015, 8, 5)})
	})
	if err != nil {
		t.Fatal(err)
	}
	b := s.as(models.Office)
	b.get("/houses/1/sale?sold_on=soon").want(422)
	look := b.get("/houses/1/sale?sold_on=2026-06-01").want(200)
	for _, want := range []string{"W-N", "goes along, and ends sooner", "ends on May 31, 2029 instead of August 4, 2035", "in writing, by July 31, 2026", "W-1", "goes along"} {
		if !strings.Contains(look.text("#ahead"), want) {
			t.Errorf("the sale ahead does not say %q: %s", want, look.text("#ahead"))
		}
	}
	sale := url.Values{"sold_on": {"2026-06-02"}, "name": {"Bram Tilsley"}, "seen_2026-06-01": {"yes"}}
	refused := b.post("/houses/1/sale", sale).want(422)
	if got := refused.text("#sale-sold_on-error"); !strings.Contains(got, "look above") {
		t.Errorf("a sale on a day that was not looked at: %q", got)
	}
	if got := refused.text("#ahead"); !strings.Contains(got, "June 2, 2026") || refused.page().Find(`input[name="seen_2026-06-02"]`).Length() != 1 {
		t.Errorf("the day that was typed is not shown: %s", got)
	}
	sale.Set("seen_2026-06-02", "yes")
	b.post("/houses/1/sale", sale).leads("/houses/1/sale")
	kept := b.get("/houses/1/sale").want(200)
	if !strings.Contains(kept.text("#kept-sale"), "in writing, by August 1, 2026") || kept.page().Find("form#notice").Length() != 1 {
		t.Errorf("after the sale: %s", kept.text("#kept-sale"))
	}
	if got := b.get("/today").want(200).text("#promises"); !strings.Contains(got, "notice of the sale, in writing") {
		t.Errorf("Today does not call for the notice: %s", got)
	}
	if got := b.get("/promises?show=notice").want(200).text("#promises"); !strings.Contains(got, "W-N") || strings.Contains(got, "W-1") {
		t.Errorf("the notices that wait: %s", got)
	}
	version, _ := kept.page().Find("#notice input[name=version]").Attr("value")
	refused = b.post("/houses/1/sale/notice", url.Values{"version": {version}, "notice_on": {"2026-07-09"}}).want(422)
	if got := refused.text("#notice-notice_on-error"); !strings.Contains(got, "after today") {
		t.Errorf("a notice of tomorrow: %q", got)
	}
	b.post("/houses/1/sale/notice", url.Values{"version": {version}, "notice_on": {"2026-06-09"}}).leads("/houses/1/sale")
	if got := b.get("/houses/1/sale").want(200); !strings.Contains(got.text("#kept-sale"), "came in time") || got.page().Find("form#notice").Length() != 0 {
		t.Errorf("after the notice: %s", got.text("#kept-sale"))
	}
	if got := b.get("/promises?show=notice").want(200).text("#promises"); strings.Contains(got, "W-N") {
		t.Errorf("a notice that came still waits: %s", got)
	}
	b.post("/houses/2/sale/notice", url.Values{"version": {"1"}, "notice_on": {"2026-06-09"}}).want(404)
}

// The registration stands on Today with a way to write its number down.
func TestARegistrationIsOneClickFromToday(t *testing.T) {
	s := promiseSite(t)
	link := s.as(models.Office).get("/today").want(200).page().Find(`#promises a[href$="#register"]`)
	if link.Length() != 1 {
		t.Fatalf("Today has %d ways to a registration", link.Length())
	}
	to, _ := link.Attr("href")
	if s.as(models.Office).get(strings.TrimSuffix(to, "#register")).want(200).page().Find("form#register input[name=registration_no]").Length() != 1 {
		t.Error("there is no place for the number")
	}
}

// A registration stands on Today in the days before its last one and on that
// day, and leaves once it is registered, once it is past, and once the promise
// is over. Afterwards the list of promises still names it for a while. W-3 says
// itself by when; W-4 leaves it to its terms, 60 days after the start.
func TestARegistrationLeavesToday(t *testing.T) {
	at := func(m time.Month, d int) units.Date { return units.NewDate(2026, m, d) }
	registered := func(w *models.Warranty) { w.RegisteredOn = at(6, 5) }
	ended := func(w *models.Warranty) { w.EndedOn, w.EndReason = at(6, 5), "bought out" }
	for name, c := range map[string]struct {
		on                   units.Date
		change               func(w *models.Warranty)
		today, listed, night int
	}{
		"long before":       {at(5, 30), nil, 0, 2, 0},
		"a month before":    {at(5, 31), nil, 2, 2, 2},
		"its last day":      {at(6, 30), nil, 2, 2, 2},
		"the day after":     {at(7, 1), nil, 0, 2, 0},
		"a month after":     {at(7, 30), nil, 0, 2, 0},
		"long after":        {at(7, 31), nil, 0, 0, 0},
		"registered":        {at(6, 20), registered, 0, 0, 0},
		"ended":             {at(6, 20), ended, 0, 0, 0},
		"the roof torn off": {at(6, 20), func(*models.Warranty) {}, 0, 0, 0},
	} {
		s := promiseSite(t)
		s.add(&models.Warranty{Ref: "W-4", RoofID: 4, TermsID: 2, OwedBy: "Tarn Shingle Mill", StartOn: at(5, 1)})
		s.clock.now = c.on.Time().Add(18 * time.Hour)
		if c.change != nil {
			err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
				if name == "the roof torn off" {
					roof, err := store.Get[models.Roof](tx.Query, 4)
					if err != nil {
						return err
					}
					roof.EndedOn, roof.EndReason = at(6, 5), "storm"
					return tx.Update(roof)
				}
				for _, id := range []int64{3, 4} {
					w, err := store.Get[models.Warranty](tx.Query, id)
					if err != nil {
						return err
					}
					c.change(w)
					if err := tx.Update(w); err != nil {
						return err
					}
				}
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
		}
		b := s.as(models.Office)
		page := b.get("/today").want(200)
		if got := page.page().Find(`#promises a[href$="#register"]`).Length(); got != c.today {
			t.Errorf("%s: Today names %d registrations, want %d", name, got, c.today)
		}
		if says := strings.Contains(page.text("main"), "registrations with makers are due"); says != (c.today == 2) {
			t.Errorf("%s: Today says %q", name, page.text("main"))
		}
		list := b.get("/promises?show=registration").want(200)
		if got := strings.Count(list.text("#promises tbody"), "Tarn Shingle Mill"); got != c.listed {
			t.Errorf("%s: %d registrations are listed, want %d", name, got, c.listed)
		}
		past := strings.Contains(list.text("#promises tbody"), "registration was due by June 30, 2026")
		if past != (c.listed == 2 && c.on > at(6, 30)) {
			t.Errorf("%s: the list reads %q", name, list.text("#promises tbody"))
		}
		// Once nothing can be done about it any more, only its condition tells.
		if all := b.get("/promises").want(200).text("#promises tbody"); strings.Contains(all, "registration was due") != past {
			t.Errorf("%s: the list of all reads %q", name, all)
		}
		run, err := s.service.RunJob(t.Context(), service.Program("a test"), "promises", c.on, nil)
		if err != nil || !strings.Contains(run.Detail, fmt.Sprintf("%d registrations are due", c.night)) {
			t.Errorf("%s: the night says %q, %v", name, run.Detail, err)
		}
	}
}

// Whoever reads the list learns with each condition that is not shown met how
// to show it, before a claim asks for it; on the promise's own page also with
// those that are not due yet.
func TestWhatIsNotShownMetSaysHowToShowIt(t *testing.T) {
	s := promiseSite(t)
	s.clock.now = units.NewDate(2027, time.July, 15).Time().Add(18 * time.Hour)
	b := s.as(models.Office)
	row := b.get("/promises?show=not_shown").want(200).text("#promises tbody")
	for _, want := range []string{"W-3", "The promise is registered with the maker in time.", "Register with the maker, and enter its number and day with the promise."} {
		if !strings.Contains(row, want) {
			t.Errorf("the list does not say %q: %s", want, row)
		}
	}
	// In its first year no check-up was offered, which is ours to answer for.
	if strings.Contains(row, "checked once in every year") {
		t.Errorf("a check-up that we failed to offer is held against the homeowner: %s", row)
	}
	if got := b.get("/promises?show=not_offered").want(200).text("#promises tbody"); !strings.Contains(got, "W-3") || !strings.Contains(got, "none was offered in the year to April 30, 2027") {
		t.Errorf("that we failed to offer a check-up is not told: %s", got)
	}
	page := b.get("/promises/3").want(200)
	if got := page.text("#conditions"); !strings.Contains(got, "does not count against the homeowner") || !strings.Contains(got, "due by April 30, 2028") {
		t.Errorf("the check-ups of the promise read %s", got)
	}
	if got := page.text("#next"); !strings.Contains(got, "The roof is checked once in every year") {
		t.Errorf("what comes next leaves out the check-up: %s", got)
	}
}

// The notice of a sale stands on Today to its last day. Once that is past the
// promise goes on, and its condition says that no notice is shown.
func TestANoticeLeavesToday(t *testing.T) {
	s := promiseSite(t)
	s.add(&models.Terms{Key: "by-notice", Name: "With notice", Kind: "workmanship", TermMonths: 240, FullMonths: 240, ShareMethod: "none", Labour: true, Transfer: "by_notice", NoticeDays: 60},
		&models.Warranty{Ref: "W-N", RoofID: 1, TermsID: 4, OwedBy: "us", StartOn: units.NewDate(2015, time.August, 5)})
	s.as(models.Office).post("/houses/1/sale", url.Values{"sold_on": {"2026-06-02"}, "name": {"Bram Tilsley"}, "seen_2026-06-02": {"yes"}}).want(303)
	for on, waits := range map[units.Date]bool{units.NewDate(2026, time.June, 10): true, units.NewDate(2026, time.August, 1): true, units.NewDate(2026, time.August, 2): false} {
		s.clock.now = on.Time().Add(18 * time.Hour)
		b := s.as(models.Office)
		if got := b.get("/today").want(200).text("#promises"); strings.Contains(got, "notice of the sale, in writing") != waits {
			t.Errorf("%v: Today reads %s", on, got)
		}
		row := func(show string) string {
			return b.get("/promises?q=W-N&show=" + show).want(200).text("#promises tbody")
		}
		if got := row("notice"); strings.Contains(got, "W-N") != waits {
			t.Errorf("%v: the notices that wait are %q", on, got)
		}
		if got := row("not_shown"); strings.Contains(got, "Notice of a sale is given in time.") == waits {
			t.Errorf("%v: not shown met is %q", on, got)
		}
		if got := row("in_force"); !strings.Contains(got, "in force, all of it") {
			t.Errorf("%v: the promise reads %q", on, got)
		}
	}
}
