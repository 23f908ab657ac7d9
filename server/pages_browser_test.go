package server

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"overhang/models"
	screens "overhang/views/browser"
)

// enter signs the role's person in through the page.
func enter(t *testing.T, tab *screens.Tab, role models.Role) {
	t.Helper()
	err := chromedp.Do(tab.Context, chromedp.SetValue(`input[name="email"]`, string(role)+"@example.org"),
		chromedp.SetValue(`input[name="password"]`, testPassword), chromedp.Submit(`input[name="password"]`), chromedp.WaitReady("nav"))
	if err != nil {
		t.Fatal(err)
	}
}

// press presses what the selector finds and waits for what comes of it.
func press(t *testing.T, tab *screens.Tab, selector, then string) {
	t.Helper()
	if err := chromedp.Do(tab.Context, chromedp.Click(selector), chromedp.WaitReady(then)); err != nil {
		t.Fatalf("pressing %s: %v", selector, err)
	}
}

func looksRight(t *testing.T, tab *screens.Tab, name string) {
	t.Helper()
	tab.Fits(t)
	tab.Labelled(t)
	tab.Reachable(t)
	tab.NoProblems(t)
	tab.Shot(t, name)
}

// A seller opens the list, the map and the walk, and writes a call down at the
// door; at a desk and on a phone.
func TestNeighboursInABrowser(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := neighbourSite(t)
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		enter(t, tab, models.Seller)
		tab.Go(t, home+"/neighbours")
		looksRight(t, tab, "neighbours")
		if n := screens.Eval[int](t, tab, `document.querySelectorAll("#near path.house[tabindex='0'][aria-label]").length`); n != 5 {
			t.Errorf("%s: the map has %d marks that a keyboard reaches, want 5", screen.Name, n)
		}
		if n := screens.Eval[int](t, tab, `[...document.querySelectorAll("#near path.house")].filter((e) => !/a/.test(e.getAttribute("d"))).length`); n != 1 {
			t.Errorf("%s: %d marks are square, want our one roof", screen.Name, n)
		}
		tab.Go(t, home+"/neighbours/walk")
		looksRight(t, tab, "neighbours-walk")
		tab.Go(t, home+"/neighbours/3")
		looksRight(t, tab, "neighbour")
		press(t, tab, `#knock input[value="spoke"]`, "#knock")
		press(t, tab, `#knock button`, ".flash")
		if got := screens.Eval[string](t, tab, `document.querySelector(".history").textContent`); got == "" {
			t.Errorf("%s: the call is not in the history", screen.Name)
		}
		tab.Go(t, home+"/neighbours/stop-list")
		looksRight(t, tab, "stop-list")
	}
}

// A scheduler chooses roofs and books them, reads the route sheet, and writes
// down what was found.
func TestVisitsInABrowser(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := visitSite(t)
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		enter(t, tab, models.Scheduler)
		tab.Go(t, home+"/visits/plan")
		looksRight(t, tab, "visit-plan")
		tab.Go(t, home+"/visits")
		looksRight(t, tab, "visits")
		press(t, tab, `#due input[value="3"]`, "#book")
		press(t, tab, `#due input[value="4"]`, "#book")
		if err := chromedp.Do(tab.Context, chromedp.SetValue(`#book-booked_for`, "2026-06-22"), chromedp.SetValue(`#book-by_name`, "The roofer")); err != nil {
			t.Fatal(err)
		}
		press(t, tab, `#book button`, ".stops")
		if n := screens.Eval[int](t, tab, `document.querySelectorAll(".stops > li").length`); n != 2 {
			t.Errorf("%s: the day has %d stops, want 2", screen.Name, n)
		}
		looksRight(t, tab, "visit-day")
		tab.Go(t, home+"/visits/2")
		looksRight(t, tab, "visit")
		press(t, tab, `#record input[name="method"][value="walked"]`, "#record")
		press(t, tab, `#record details.fold summary`, "#record details[open]")
		press(t, tab, `#record details[open] input[value="2"]`, "#record")
		looksRight(t, tab, "visit-open")
		press(t, tab, `#record .send button`, "#findings table")
		looksRight(t, tab, "visit-done")
		tab.Go(t, home+"/roofs/4/visits/new")
		looksRight(t, tab, "new-visit")
	}
}

// A roofer opens a roof that nobody booked, reads no number of it in any part of the
// page, says that they are going to look, saves what they saw, and is shown it. The
// owner sees the estimate first and looks then, which is marked.
func TestALookThatNothingLedInABrowser(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := newSite(t)
		lookedAt(s)
		if err := s.service.EndVisit(t.Context(), s.actor(models.Owner), 1, 1, true); err != nil {
			t.Fatal(err)
		}
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		enter(t, tab, models.Roofer)
		kept := func(when string) {
			t.Helper()
			whole := screens.Eval[string](t, tab, `document.documentElement.outerHTML + document.documentElement.innerText`)
			if saidLeft.MatchString(whole) || saidRated.MatchString(whole) || strings.Contains(whole, "Granules lost") || screens.Eval[int](t, tab, `document.querySelectorAll("canvas, svg.range, #fan, #serves").length`) > 0 {
				t.Errorf("%s, %s: the roofer is led: %s", screen.Name, when, screens.Eval[string](t, tab, `document.querySelector("main").innerText`))
			}
		}
		look := func() {
			t.Helper()
			press(t, tab, `#record input[name="method"][value="walked"]`, "#record")
			press(t, tab, `#record details.fold summary`, "#record details[open]")
			press(t, tab, `#record details[open] input[value="2"]`, "#record")
			press(t, tab, `#record .send button`, "#findings table")
		}
		text := func(selector string) string {
			t.Helper()
			return screens.Eval[string](t, tab, `document.querySelector("`+selector+`").innerText`)
		}
		tab.Go(t, home+"/visits")
		looksRight(t, tab, "visits-unbooked")
		if err := chromedp.Do(tab.Context, chromedp.SetValue(`#unbooked input[name="q"]`, "R-1")); err != nil {
			t.Fatal(err)
		}
		press(t, tab, `#unbooked button`, "#looks")
		kept("asked")
		looksRight(t, tab, "roof-asked")
		press(t, tab, `#looks button`, ".flash")
		kept("going to look")
		looksRight(t, tab, "roof-going")
		tab.Go(t, home+"/roofs")
		kept("in the list")
		tab.Go(t, home+"/roofs/1")
		press(t, tab, `#years ~ p a[href="/roofs/1/visits/new"]`, "#record")
		if whole := screens.Eval[string](t, tab, `document.documentElement.outerHTML`); saidLeft.MatchString(whole) || saidRated.MatchString(whole) {
			t.Errorf("%s: the form leads", screen.Name)
		}
		look()
		if got := text("main"); !strings.Contains(got, "What it rates") || !strings.Contains(got, "Was the estimate seen before the look?") || strings.Contains(got, "may have led") {
			t.Errorf("%s: the saved look says %s", screen.Name, got)
		}
		tab.Go(t, home+"/roofs/1")
		if got := text("main"); !saidLeft.MatchString(got) || strings.Contains(got, "was seen before") {
			t.Errorf("%s: after the look the roofer reads %s", screen.Name, got)
		}

		owner := b.Open(t, home+"/sign-in", screen)
		tab = owner
		if err := chromedp.Do(tab.Context, chromedp.Navigate(home+"/sign-in")); err != nil {
			t.Fatal(err)
		}
		if screens.Eval[int](t, tab, `document.querySelectorAll("input[name='email']").length`) == 0 {
			press(t, tab, `form[action="/sign-out"] button`, `input[name="email"]`)
		}
		enter(t, tab, models.Owner)
		tab.Go(t, home+"/roofs/1")
		if got := text("main"); !saidLeft.MatchString(got) || !strings.Contains(got, "I am going to look at this roof") {
			t.Errorf("%s: the owner reads %s", screen.Name, got)
		}
		looksRight(t, tab, "roof-shown")
		press(t, tab, `#looks button`, ".flash")
		kept("the owner, going to look")
		press(t, tab, `#years ~ p a[href="/roofs/1/visits/new"]`, "#record")
		look()
		if got := text("main"); !strings.Contains(got, "may have led the eyes") {
			t.Errorf("%s: the look that was led says %s", screen.Name, got)
		}
		looksRight(t, tab, "visit-led")
		tab.Go(t, home+"/roofs/1#visits")
		if got := text("#visits + ol"); !strings.Contains(got, "The estimate was seen before the look.") {
			t.Errorf("%s: the roof's page says %s", screen.Name, got)
		}
		looksRight(t, tab, "roof-led")
	}
}
