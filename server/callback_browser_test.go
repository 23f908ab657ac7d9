package server

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"overhang/models"
	"overhang/models/store"
	screens "overhang/views/browser"
)

// What is owed is drawn, and a promise is read and corrected, at a desk and on
// a telephone.
func TestPromisesInABrowser(t *testing.T) {
	b := screens.Start(t)
	town, signIns := demoSite(t)
	address, _ := town.listen()
	home := "http://" + address
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		tab := signedIn(t, b, home, signIns[models.Owner], screen)
		tab.Go(t, home+"/promises")
		if screens.Eval[int](t, tab, `document.querySelectorAll("#owed canvas, #owed svg").length`) == 0 {
			t.Errorf("%s: what is owed is not drawn", screen.Name)
		}
		looksRight(t, tab, "town-promises")
		tab.Go(t, home+"/promises?show=not_shown")
		press(t, tab, "#promises tbody a", "#conditions")
		if n := screens.Eval[int](t, tab, `document.querySelectorAll("#conditions tbody tr").length`); n == 0 {
			t.Errorf("%s: a promise with conditions not shown met lists none", screen.Name)
		}
		looksRight(t, tab, "town-promise")
		tab.Go(t, screens.Eval[string](t, tab, `document.querySelector("a[href$='/edit']").href`))
		looksRight(t, tab, "town-promise-edit")
		tab.Go(t, home+"/roofs/1/promises/new")
		looksRight(t, tab, "town-promise-new")
	}
}

// A call is taken in: the roof is found as one types, and what is written down
// is there. The caller is tried, then reached.
func TestACallInABrowser(t *testing.T) {
	b := screens.Start(t)
	town, signIns := demoSite(t)
	address, _ := town.listen()
	home := "http://" + address
	roofs, err := store.List[models.Roof](town.service.Store.Query(t.Context()), "id", "ours = 1 AND ended_on IS NULL")
	if err != nil || len(roofs) == 0 {
		t.Fatalf("the town has %d roofs of ours, %v", len(roofs), err)
	}
	place, err := store.First[models.Address](town.service.Store.Query(t.Context()), "house_id = ? AND main = 1", roofs[0].HouseID)
	if err != nil {
		t.Fatal(err)
	}
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		tab := signedIn(t, b, home, signIns[models.Office], screen)
		tab.Go(t, home+"/callbacks")
		looksRight(t, tab, "town-callbacks")
		tab.Go(t, home+"/callbacks/new")
		house := `#houses input[value^="house:"]`
		if err := chromedp.Do(tab.Context, chromedp.SendKeys(`#call-caller`, "Ida Berg"), chromedp.SendKeys(`#call-about`, "Water beside the chimney"),
			chromedp.Click(`#call-water_coming_in input[value=yes]`), chromedp.SendKeys(`#call-address_given`, place.Number+" "+place.Street),
			chromedp.WaitReady(house)); err != nil {
			t.Fatalf("%s: typing a call down: %v", screen.Name, err)
		}
		looksRight(t, tab, "town-call")
		if got := screens.Eval[string](t, tab, `document.querySelector("#call-caller").value`); got != "Ida Berg" {
			t.Errorf("%s: finding the house left %q as the caller", screen.Name, got)
		}
		if err := chromedp.Do(tab.Context, chromedp.Click(house)); err != nil {
			t.Fatal(err)
		}
		press(t, tab, "#call .send button", "#ring-back")
		if got := screens.Eval[string](t, tab, `document.querySelector(".facts").textContent`); !strings.Contains(got, place.Line()) {
			t.Errorf("%s: the call is not at %s: %s", screen.Name, place.Line(), got)
		}
		looksRight(t, tab, "town-callback")
		here := screens.Eval[string](t, tab, "location.href")
		tab.Go(t, here) // the page anew, without what was said to be done before
		press(t, tab, "#tried button", ".flash")
		tab.Go(t, here)
		// Somebody who was reached is not to be tried any more.
		if err := chromedp.Do(tab.Context, chromedp.Click("#got button"), chromedp.WaitNotPresent("#tried")); err != nil {
			t.Fatalf("%s: somebody who was reached is still to be tried: %v", screen.Name, err)
		}
		tab.NoProblems(t)
	}
}
