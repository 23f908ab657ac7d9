package server

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"overhang/models"
	"overhang/models/store"
)

// edited is the form of a page as a browser would send it back.
func edited(a answer, form string) url.Values {
	a.t.Helper()
	values := url.Values{}
	doc := a.page()
	doc.Find(form + " input:not([type=radio]):not([type=checkbox]), " + form + " textarea").Each(func(_ int, field *goquery.Selection) {
		name, _ := field.Attr("name")
		value, has := field.Attr("value")
		if !has {
			value = field.Text()
		}
		values.Set(name, value)
	})
	doc.Find(form + " option[selected], " + form + " input[checked]").Each(func(_ int, field *goquery.Selection) {
		name, has := field.Attr("name")
		if !has {
			name, _ = field.Closest("select").Attr("name")
		}
		value, _ := field.Attr("value")
		values.Set(name, value)
	})
	values.Del("csrf")
	return values
}

func TestAHouseIsCorrected(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	form := owner.get("/houses/1/edit").want(http.StatusOK)
	typed := edited(form, "#house")
	if typed.Get("cladding") != "stucco" || typed.Get("build_year") != "1996" {
		t.Fatalf("the form holds %v", typed)
	}
	typed.Set("site_notes", "The drive is stamped concrete: no truck on it.")
	typed.Set("build_year", "twelve")
	refused := owner.post("/houses/1", typed).want(http.StatusUnprocessableEntity)
	if got := refused.text("#house-build_year-error"); !strings.Contains(got, "number") {
		t.Errorf("beside the year stands %q", got)
	}
	if got := refused.text("#house-site_notes"); !strings.Contains(got, "stamped concrete") {
		t.Errorf("the notes that were typed are gone: %q", got)
	}
	typed.Set("build_year", "1997")
	owner.post("/houses/1", typed).leads("/roofs/1")
	if text := owner.get("/roofs/1").text("main"); !strings.Contains(text, "stamped concrete") || !strings.Contains(text, "built 1997") {
		t.Errorf("the roof's page does not tell of the house: %s", text)
	}
	// The second editor had the form open all the while.
	typed.Set("site_notes", "Ring first.")
	second := owner.post("/houses/1", typed).want(http.StatusConflict)
	if got := second.text("#house-site_notes-kept"); !strings.Contains(got, "stamped concrete") {
		t.Errorf("what is kept by now is not told: %q", got)
	}
	if got := second.text("#house-site_notes"); !strings.Contains(got, "Ring first.") {
		t.Errorf("what the second editor typed is gone: %q", got)
	}
	owner.post("/houses/1", edited(second, "#house")).leads("/roofs/1")
	kept, err := store.Get[models.House](s.service.Store.Query(t.Context()), 1)
	if err != nil || kept.SiteNotes != "Ring first." {
		t.Errorf("kept is %q, %v", kept.SiteNotes, err)
	}
	owner.get("/houses/99/edit").want(http.StatusNotFound)
}

func TestASaleIsWrittenDown(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	if text := owner.get("/houses/1/sale").want(http.StatusOK).text(".opening"); !strings.Contains(text, "Odile Marchetti") {
		t.Errorf("the present owner is not named: %s", text)
	}
	sale := url.Values{"seen_2026-05-20": {"yes"}, "seen_2026-05-01": {"yes"}, "sold_on": {"2027-01-05"}, "name": {"Bram Tilsley"}, "phone": {"555-0199"}}
	refused := owner.post("/houses/1/sale", sale).want(http.StatusUnprocessableEntity)
	if got := refused.text("#sale-sold_on-error"); !strings.Contains(got, "after today") {
		t.Errorf("beside the day stands %q", got)
	}
	if got, _ := refused.page().Find("#sale-name").Attr("value"); got != "Bram Tilsley" {
		t.Errorf("the buyer that was typed is gone: %q", got)
	}
	sale.Set("sold_on", "2026-05-20")
	sale.Set("name", "")
	if got := owner.post("/houses/1/sale", sale).want(http.StatusUnprocessableEntity).text("#sale-name-error"); got == "" {
		t.Error("a sale to nobody is kept")
	}
	sale.Set("name", "Bram Tilsley")
	sale.Set("notice_on", "2026-05-22")
	owner.post("/houses/1/sale", sale).leads("/houses/1/sale")
	holders := owner.get("/roofs/1").text("#holders + ol")
	if !strings.Contains(holders, "Bram Tilsley") || !strings.Contains(holders, "Odile Marchetti, owner until May 20, 2026") {
		t.Errorf("the house is held by %s", holders)
	}
	// A sale before the present owner's first day is a slip of the pen.
	sale.Set("sold_on", "2026-05-01")
	if got := owner.post("/houses/1/sale", sale).want(http.StatusUnprocessableEntity).text("#sale-sold_on-error"); !strings.Contains(got, "2026-05-20") {
		t.Errorf("beside the day stands %q", got)
	}
	s.as(models.Scheduler).post("/houses/1/sale", sale).want(http.StatusForbidden)
}
