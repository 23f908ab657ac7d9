package server

import (
	"encoding/csv"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// A certificate says what is promised; what was given reads the same after the
// terms are changed.
func TestACertificateIsKeptAsItWasGiven(t *testing.T) {
	s := promiseSite(t)
	b := s.as(models.Office)
	draft := b.get("/promises/1/certificate").want(200)
	for _, want := range []string{"Ten years on our work", "Odile Marchetti", "12 Larch Street", "From August 5, 2015 through August 4, 2035, both days counted; its term is 240 months.",
		"completed calendar month", "It pays for: labour.", "It does not pay for: material, tear-off, disposal.", "New step flashing, declined in writing on July 1, 2015",
		// The month after the full span: 120 of 240 are left, a year later 109.
		"August 5, 2025", "50%, by the month down to 45.4%", "goes along with the first sale", "local law and licensed advice decide", "lack it", "Larch Valley Roofing",
		"What is promised This is not written down here; ask us for the papers as signed."} {
		if !strings.Contains(draft.text("main"), want) {
			t.Errorf("the certificate does not say %q: %s", want, draft.text("main"))
		}
	}
	if strings.Contains(draft.text("main"), "stands in the wording as signed") {
		t.Error("the certificate points to a wording that is not kept")
	}
	if got := draft.text("#points caption"); !strings.Contains(got, "six things are lacking") {
		t.Errorf("the points: %q, %s", got, draft.text("#points"))
	}
	refused := b.post("/promises/1/certificate", url.Values{"given_to": {""}, "given_on": {"2026-06-11"}}).want(422)
	if got := refused.text("#give-given_on-error"); !strings.Contains(got, "after today") {
		t.Errorf("given tomorrow: %q", got)
	}
	b.post("/promises/1/certificate", url.Values{"given_to": {"Odile Marchetti"}, "given_on": {"2026-06-10"}}).leads("/certificates/2")
	was := b.get("/certificates/2").want(200)
	if !strings.Contains(was.text(".opening"), "As it was given to Odile Marchetti on June 10, 2026.") || was.page().Find("form#give").Length() != 0 {
		t.Errorf("as given: %s", was.text(".opening"))
	}
	err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		terms, err := store.Get[models.Terms](tx.Query, 1)
		if err != nil {
			return err
		}
		terms.Name, terms.Material, terms.Remedy = "Something else", true, "We send a letter."
		return tx.Update(terms)
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := b.get("/certificates/2").want(200).text(".certificate"); got != was.text(".certificate") || strings.Contains(got, "a letter") {
		t.Errorf("a change of the terms changed what was given:\n%s\n%s", was.text(".certificate"), got)
	}
	if got := b.get("/promises/1/certificate").want(200); !strings.Contains(got.text("main"), "We send a letter.") || !strings.Contains(got.text("#given"), "Odile Marchetti") {
		t.Errorf("the next one does not read the new terms, or forgets the last: %s", got.text("main"))
	}
	s.as(models.Bookkeeper).get("/promises/1/certificate").want(403)
	b.get("/certificates/99").want(404)
}

// Who bought the house reads on the certificate that the first sale is behind it.
func TestACertificateForTheBuyer(t *testing.T) {
	s := promiseSite(t)
	b := s.as(models.Office)
	const passed = "The promise went along with the sale of June 1, 2026."
	if got := b.get("/promises/1/certificate").want(200).text("main"); strings.Contains(got, "went along") {
		t.Errorf("before the sale: %s", got)
	}
	b.post("/houses/1/sale", url.Values{"sold_on": {"2026-06-01"}, "name": {"Bram Tilsley"}, "seen_2026-06-01": {"yes"}}).want(303)
	if got := b.get("/promises/1/certificate").want(200).text("main"); !strings.Contains(got, passed) || !strings.Contains(got, "Bram Tilsley") || strings.Contains(got, "Given toOdile") {
		t.Errorf("after the sale: %s", got)
	}
}

func TestDeclinedWorkIsLeftOut(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Office)
	err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Put(&models.JobRoof{JobID: 1, RoofID: 1}) })
	if err != nil {
		t.Fatal(err)
	}
	refused := b.post("/roofs/1/declined", url.Values{"what": {"A saddle"}, "signed_on": {""}, "job_id": {"1"}}).want(422)
	if got := refused.text("#declined-signed_on-error"); !strings.Contains(got, "signed") {
		t.Errorf("unsigned: %q", got)
	}
	if got := b.post("/roofs/2/declined", url.Values{"what": {"A saddle"}, "signed_on": {"2026-06-01"}, "job_id": {"1"}}).want(422).text("main"); !strings.Contains(got, "a job on this roof") {
		t.Errorf("another house's job: %s", got)
	}
	b.post("/roofs/1/declined", url.Values{"what": {"A saddle"}, "signed_on": {"2026-06-01"}, "job_id": {"1"}}).leads("/roofs/1")
	if got := b.get("/promises/1").want(200).text("main"); !strings.Contains(got, "A saddle, declined in writing on June 1, 2026") {
		t.Errorf("the promise does not leave it out: %s", got)
	}
}

// What terms say on paper is typed, kept and read back.
func TestTermsOnPaper(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	form := url.Values{"version": {"1"}, "key": {"work-10"}, "name": {"Ten years"}, "kind": {"workmanship"}, "term_months": {"240"}, "full_months": {"120"},
		"share_method": {"whole_term"}, "answers_for": {"labour"}, "transfer": {"once"}, "claim_cap": {"1500"}, "cap_of_price": {"150"}, "title": {"limited"},
		"remedy": {"We come and mend it."}, "excluded": {"Hail."}, "how_to_claim": {"Ring us."}, "rights": {"You may have others."}}
	b.post("/records/terms", form).want(409) // there are terms with that key
	form.Set("key", "work-10-paper")
	b.post("/records/terms", form).leads("/records/terms/2")
	kept, err := store.Get[models.Terms](s.service.Store.Query(t.Context()), 2)
	if err != nil || kept.ClaimCap == nil || *kept.ClaimCap != 1500*units.Dollar || kept.CapOfPrice == nil || *kept.CapOfPrice != 1.5 || kept.Title != "limited" ||
		kept.Remedy != "We come and mend it." || kept.Excluded != "Hail." || kept.HowToClaim != "Ring us." || kept.Rights != "You may have others." {
		t.Errorf("kept: %+v, %v", kept, err)
	}
	page := b.get("/records/terms/2").want(200)
	if got, _ := page.page().Find("#terms-form-cap_of_price").Attr("value"); got != "150" {
		t.Errorf("the share of the price is shown as %q", got)
	}
	form.Set("cap_of_price", "0")
	if got := b.post("/records/terms/2", form).want(422).text("#terms-form-cap_of_price-error"); got == "" {
		t.Error("a cap of nothing is taken")
	}
}

// The listing goes out as it is narrowed, and no text in it runs as a formula.
func TestPromisesForASpreadsheet(t *testing.T) {
	s := promiseSite(t)
	b := s.as(models.Office)
	page := b.get("/promises?show=ending").want(200)
	to, _ := page.page().Find(`a[href^="/promises.csv"]`).Attr("href")
	file := b.get(to).want(200)
	rows, err := csv.NewReader(strings.NewReader(file.Body)).ReadAll()
	if err != nil || len(rows) != 2 || rows[0][0] != "ref" || rows[1][0] != "W-2" {
		t.Errorf("%s gives %q, %v", to, rows, err)
	}
	// Each year's number opens as many rows.
	page.page().Find("#years tbody a").Each(func(_ int, link *goquery.Selection) {
		href, _ := link.Attr("href")
		got := b.get(href).want(200).page().Find("#promises tbody tr").Length()
		if strings.TrimSpace(link.Text()) != strconv.Itoa(got) {
			t.Errorf("%s says %s and opens %d rows", href, link.Text(), got)
		}
	})
	if page.page().Find("#years tbody a").Length() < 3 {
		t.Error("the years have no links")
	}
	s.as(models.Seller).get("/promises.csv").want(403)
}

// The terms of 360 months, 120 in full: a claim of 9,000 after 200 months pays
// 4,000 by the whole term and 6,000 by the span after the full one (computed from
// the two formulas), as they are typed and before they are kept.
func TestAnExampleClaimWhileTermsAreTyped(t *testing.T) {
	s := newSite(t)
	typed := url.Values{"term_months": {"360"}, "full_months": {"120"}, "kind": {"material"}, "answers_for": {"material"}, "transfer": {"once"},
		"example_months": {"200"}, "example_material": {"9000"}, "example_labour": {"500"}}
	for method, want := range map[string]string{"whole_term": "would pay $4,000.00", "prorated_span": "would pay $6,000.00", "none": "nothing is promised any more", "": "cannot be worked out yet"} {
		typed.Set("share_method", method)
		if got := s.as(models.Owner).get("/records/terms/new?" + typed.Encode()).want(200).text("#example-says"); !strings.Contains(got, want) {
			t.Errorf("%s: the example says %q, want %q", method, got, want)
		}
	}
	typed.Set("share_method", "whole_term")
	typed.Set("claim_cap", "2500")
	if got := s.as(models.Owner).get("/records/terms/1?" + typed.Encode()).want(200).text("#example-says"); !strings.Contains(got, "would pay $2,500.00") || !strings.Contains(got, "A cap holds it there.") {
		t.Errorf("with a cap: %q", got)
	}
}
