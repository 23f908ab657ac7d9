package server

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"overhang/analytics/wear"
	"overhang/models"
	screens "overhang/views/browser"
)

// A roofer in front of the house ticks what is in sight, writes one defect down as it
// is on all slopes and as it is on one, in one save, and reads what each slope rates;
// on a phone and at a desk.
func TestSlopesInABrowser(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := visitSite(t)
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		enter(t, tab, models.Roofer)
		tab.Go(t, home+"/roofs/3/visits/new")
		asked := func(defect string) bool {
			return screens.Eval[bool](t, tab, `document.querySelector('[name="look.`+defect+`"]').closest("details").getBoundingClientRect().height > 0`)
		}
		if !asked("high_nails") || !asked("curling") {
			t.Errorf("%s: before the look is chosen something is not asked for", screen.Name)
		}
		press(t, tab, `#record input[name="method"][value="street"]`, "#record")
		press(t, tab, `#record input[name="in_sight"][value="1"]`, "#record")
		press(t, tab, `#record input[name="in_sight"][value="2"]`, "#record")
		for _, d := range wear.For("asphalt_laminated") {
			if got := asked(d.Key); got != d.ShownBy(wear.Street) {
				t.Errorf("%s: from the ground %s is asked for: %v", screen.Name, d.Key, got)
			}
		}
		press(t, tab, `#record input[name="wet"][value="yes"]`, "#record")
		if asked("granule_loss") || !asked("curling") {
			t.Errorf("%s: of a wet roof the form asks for the wrong things", screen.Name)
		}
		press(t, tab, `#record input[name="wet"][value="no"]`, "#record")
		if !asked("granule_loss") {
			t.Errorf("%s: of a dry roof granules are not asked for", screen.Name)
		}
		const fold = `details:has(> fieldset [name="look.curling"])`
		press(t, tab, fold+` > summary`, fold+`[open]`)
		press(t, tab, `[name="look.curling"][value="1"]`, "#record")
		if err := chromedp.Do(tab.Context, chromedp.SetValue(`[name="extent.curling"]`, "0.2"), chromedp.SendKeys(`[name="note.curling"]`, "all along the eave")); err != nil {
			t.Fatal(err)
		}
		press(t, tab, `button[name="more"][value="curling"]`, `[name="slope.curling.2"]`)
		inView := false
		for i := 0; i < 100 && !inView; i++ {
			inView = screens.Eval[bool](t, tab, `(() => {
  const line = document.querySelector('[name="slope.curling.2"]').closest("details");
  return line.getBoundingClientRect().top >= 0 && line.querySelector("select").getBoundingClientRect().bottom <= innerHeight;
})()`)
		}
		if !inView {
			t.Errorf("%s: the new line is not before one's eyes", screen.Name)
		}
		if got := screens.Eval[string](t, tab, `[document.querySelector('[name="look.curling"]:checked').value, document.querySelector('[name="note.curling"]').value, document.querySelectorAll('[name="in_sight"]:checked').length].join()`); got != "1,all along the eave,2" {
			t.Errorf("%s: with one more line the form holds %q", screen.Name, got)
		}
		if asked("high_nails") {
			t.Errorf("%s: drawn again, the form asks what the ground does not show", screen.Name)
		}
		press(t, tab, `[name="look.curling.2"][value="3"]`, "#record")
		if err := chromedp.Do(tab.Context, chromedp.SetValue(`[name="slope.curling.2"]`, "2"), chromedp.SetValue(`[name="extent.curling.2"]`, "0.4")); err != nil {
			t.Fatal(err)
		}
		press(t, tab, `[name="rest.covering"][value="none"]`, "#record")
		looksRight(t, tab, "visit-slopes-form")
		// The return key saves, and asks for no further line.
		if err := chromedp.Do(tab.Context, chromedp.SendKeys(`[name="note.curling.2"]`, "worst at the rake\r"), chromedp.WaitReady("#slope-rates")); err != nil {
			t.Fatal(err)
		}
		looksRight(t, tab, "visit-slopes-done")
		if got := s.found(2, "curling"); !slices.Equal(got, []string{"all seen 1 0.2", "2 seen 3 0.4"}) {
			t.Errorf("%s: kept are %q", screen.Name, got)
		}
		rows := screens.Eval[[]string](t, tab, `[...document.querySelectorAll("#slope-rates tbody tr")].map((r) => r.textContent.replace(/\s+/g, " ").trim())`)
		for i, slope := range []struct {
			name     string
			severity int
			extent   float64
		}{{"South", 1, .2}, {"North", 3, .4}} {
			alone, err := wear.Rate(wear.Input{Method: wear.Street, Covering: "asphalt_laminated", Findings: []wear.Finding{{Defect: "curling", Look: wear.Seen, Severity: &slope.severity, Extent: &slope.extent}}})
			if err != nil {
				t.Fatal(err)
			}
			want := fmt.Sprintf("%.0f, likely", *alone.Part(wear.Covering).Rating)
			// Rows are by the number of the slope: South was written down first.
			if len(rows) != 2 || !strings.Contains(rows[i], slope.name) || !strings.Contains(rows[i], want) || !strings.Contains(rows[i], "Edges curled up") {
				t.Errorf("%s: slope by slope it says %q, want of %s %q", screen.Name, rows, slope.name, want)
			}
		}
		tab.Go(t, home+"/roofs/3")
		if got := screens.Eval[string](t, tab, `document.querySelector(".history").textContent`); !strings.Contains(got, "Slope by slope: South") {
			t.Errorf("%s: the roof says %q", screen.Name, got)
		}
		looksRight(t, tab, "visit-slopes-roof")
		// Where something is missing it is told, and nothing is lost.
		tab.Go(t, home+"/visits/2")
		press(t, tab, `details:has(> fieldset [name="look.moss"]) > summary`, `button[name="more"][value="moss"]`)
		press(t, tab, `button[name="more"][value="moss"]`, `[name="slope.moss.2"]`)
		press(t, tab, `[name="look.moss.2"][value="3"]`, "#record")
		press(t, tab, `#record .send button`, ".wrong")
		if got := screens.Eval[string](t, tab, `document.querySelector(".wrong").textContent + document.querySelector('[name="look.moss.2"]:checked').value`); !strings.Contains(got, "say on which slope") || !strings.HasSuffix(got, "3") {
			t.Errorf("%s: refused, it says %q", screen.Name, got)
		}
		tab.Fits(t)
		tab.Labelled(t)
		tab.Reachable(t)
		tab.Shot(t, "visit-slopes-refused")
	}
}
