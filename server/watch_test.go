package server

import (
	"net/url"
	"strings"
	"testing"

	"overhang/models"
)

// A watch begins and ends on the page, and its roofs are counted from then on.
func TestAWatchBeginsAndEnds(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	if text := b.get("/lives").want(200).text("main"); !strings.Contains(text, "No neighbourhood is watched.") {
		t.Errorf("before any watch: %s", text)
	}
	b.post("/lives/watches", url.Values{"neighbourhood": {"Tarn Flats"}, "from_on": {"2999-01-01"}}).want(422)
	b.post("/lives/watches", url.Values{"neighbourhood": {"Tarn Flats"}, "from_on": {"2018-04-01"}, "notes": {"Walked in spring."}}).want(303)
	b.post("/lives/watches", url.Values{"neighbourhood": {"Tarn Flats"}, "from_on": {"2019-04-01"}}).want(422)
	if row := b.get("/lives").want(200).text("#watches tbody"); !strings.Contains(row, "Tarn Flats") || !strings.Contains(row, "goes on") || !strings.Contains(row, "Walked in spring.") {
		t.Errorf("the watch is not in the list: %s", row)
	}
	b.post("/lives/watches/end", url.Values{"watch": {"one"}, "to_on": {"2020-04-01"}}).want(422)
	b.post("/lives/watches/end", url.Values{"watch": {"1.1"}, "to_on": {"2017-04-01"}}).want(422)
	b.post("/lives/watches/end", url.Values{"watch": {"1.1"}, "to_on": {"2020-04-01"}}).want(303)
	page := b.get("/lives").want(200)
	if row := page.text("#watches tbody"); strings.Contains(row, "goes on") {
		t.Errorf("the watch goes on: %s", row)
	}
	if n := page.page().Find("form#watch-end").Length(); n != 0 {
		t.Error("there is a form to end what has ended")
	}
	// Whoever may not change roofs reads the page and finds no form.
	if n := s.as(models.Seller).get("/lives").want(200).page().Find("main form").Length(); n != 0 {
		t.Errorf("the seller finds %d forms", n)
	}
}
