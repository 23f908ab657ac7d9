package server

import (
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/survival"
	"overhang/models"
	"overhang/views"
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

// A curve begins where enough roofs are watched on to the next year, and goes on to
// its end however few are left then.
func TestWhereACurveOfLivesBegins(t *testing.T) {
	for _, c := range []struct {
		name   string
		atRisk []float64 // by age
		want   []float64
	}{
		{"all from the start", []float64{0, 9, 9, 4}, []float64{0, 1, 2, 3}},
		{"few while young", []float64{0, 1, 4, 5, 2, 1}, []float64{2, 3, 4, 5}},
		{"never enough", []float64{0, 1, 4, 4}, nil},
	} {
		var at []survival.Step
		for age, n := range c.atRisk {
			at = append(at, survival.Step{Age: float64(age), AtRisk: n})
		}
		if got := toldAges(at); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// What is said of a curve is said of an age at which something has worn out, and a
// short one is told year by year.
func TestWhatIsSaidOfACurveOfLives(t *testing.T) {
	lying := func(float64) float64 { return 1 }
	curve := func(ends int, survivals ...float64) views.Chart {
		group := survival.GroupCurve{FromAge: 17}
		for i, s := range survivals {
			group.At = append(group.At, survival.Step{Age: 17 + float64(i), Survival: s, AtRisk: float64(max(0, ends-i))})
		}
		return livesCurve("metal", group, lying, lying)
	}
	short := curve(9, 1, 1, 1, 1, 0.8, 0.6)
	if said := fmt.Sprintf("%+v", short.Summary); !strings.Contains(said, "22") || !strings.Contains(said, "60") {
		t.Errorf("of a short curve it says %s", said)
	}
	if n := len(short.Numbers.Rows); n != 6 {
		t.Errorf("of six years %d are told", n)
	}
	long := curve(20, 1, 1, 1, 1, 1, 1, 1, 1, 1, 0.9, 0.9, 0.9)
	if said := fmt.Sprintf("%+v", long.Summary); strings.Contains(said, "25") {
		t.Errorf("of an age at which none has worn out it says %s", said)
	}
	if n := len(long.Numbers.Rows); n != 2 {
		t.Errorf("of twelve years two are fifths, %d are told", n)
	}
}
