package server

import (
	"net/url"
	"strings"
	"testing"

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
		"August 5, 2025", "50%, less with each month, down to 45.4%", "goes along with the first sale", "local law and licensed advice decide", "lack it", "Larch Valley Roofing"} {
		if !strings.Contains(draft.text("main"), want) {
			t.Errorf("the certificate does not say %q: %s", want, draft.text("main"))
		}
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
	b.post("/records/terms/1", form).leads("/records/terms/1")
	kept, err := store.Get[models.Terms](s.service.Store.Query(t.Context()), 1)
	if err != nil || kept.ClaimCap == nil || *kept.ClaimCap != 1500*units.Dollar || kept.CapOfPrice == nil || *kept.CapOfPrice != 1.5 || kept.Title != "limited" ||
		kept.Remedy != "We come and mend it." || kept.Excluded != "Hail." || kept.HowToClaim != "Ring us." || kept.Rights != "You may have others." {
		t.Errorf("kept: %+v, %v", kept, err)
	}
	page := b.get("/records/terms/1").want(200)
	if got, _ := page.page().Find("#terms-form-cap_of_price").Attr("value"); got != "150" {
		t.Errorf("the share of the price is shown as %q", got)
	}
	form.Set("version", "2")
	form.Set("cap_of_price", "0")
	if got := b.post("/records/terms/1", form).want(422).text("#terms-form-cap_of_price-error"); got == "" {
		t.Error("a cap of nothing is taken")
	}
}
