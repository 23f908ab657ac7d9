package server

import (
	"net/url"
	"strings"
	"testing"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
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
