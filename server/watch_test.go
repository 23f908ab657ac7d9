package server

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"overhang/analytics/survival"
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

// Along the foot of a curve of lives every fifth year is named, and the ages that
// are not named are told beside their points.
func TestTheFootOfACurveOfLives(t *testing.T) {
	group := survival.GroupCurve{}
	for age := range 24 {
		group.At = append(group.At, survival.Step{Age: float64(age), Survival: 1 - float64(age)/50, AtRisk: 9})
	}
	lying := func(float64) float64 { return 1 }
	var told []string
	chart := livesCurve("metal", group, lying, lying)
	for range 2 { // drawn twice, it is the same
		told = nil
		options, err := chart.Draw(func(v any) string { told = append(told, fmt.Sprintf("%+v", v)); return told[len(told)-1] })
		if err != nil {
			t.Fatal(err)
		}
		drawn, err := json.Marshal(options)
		if err != nil {
			t.Fatal(err)
		}
		if want := `["0","","","","","5","","","","","10","","","","","15","","","","","20","","",""]`; !strings.Contains(string(drawn), want) {
			t.Errorf("the foot is not %s in %s", want, drawn)
		}
	}
	if !strings.Contains(told[7], "7") {
		t.Errorf("the point of seven years says %s", told[7])
	}
}
