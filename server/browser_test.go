package server

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"overhang/models"
	"overhang/models/demo"
	"overhang/server/service"
	screens "overhang/views/browser"
)

// demoSite is a server over an invented company on a Wednesday late in its
// season, with its nightly jobs done, and what each role signs in with.
func demoSite(t *testing.T) (*site, map[models.Role]service.DemoSignIn) {
	t.Helper()
	s := emptySite(t, Options{})
	s.clock.now = time.Date(2026, 11, 25, 17, 0, 0, 0, time.UTC)
	who := service.Program("a test")
	made, err := s.service.FillDemo(t.Context(), who, demo.Options{Seed: 1, Roofs: 60, Houses: 200}, nil)
	if err != nil {
		t.Fatal(err)
	}
	set, err := s.service.Settings(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, job := range service.Jobs {
		if _, err := s.service.RunJob(t.Context(), who, job.Name, s.service.Today(set), nil); err != nil {
			t.Fatal(err)
		}
	}
	signIns := map[models.Role]service.DemoSignIn{}
	for _, in := range made {
		signIns[in.Roles[0]] = in
	}
	return s, signIns
}

// signedIn opens a tab in which somebody of the demo is signed in.
func signedIn(t *testing.T, b *screens.Browser, home string, in service.DemoSignIn, screen screens.Screen) *screens.Tab {
	t.Helper()
	tab := b.Open(t, home+"/sign-in", screen)
	err := chromedp.Do(tab.Context, chromedp.SetValue(`input[name="email"]`, in.Email), chromedp.SetValue(`input[name="password"]`, in.Password),
		chromedp.Submit(`input[name="password"]`), chromedp.WaitReady(`nav`))
	if err != nil {
		t.Fatalf("signing %s in: %v", in.Email, err)
	}
	return tab
}

// Everybody's Today, the roofs and a roof's own page as they look with a real
// company in them, at a desk and on a telephone.
func TestTodayAndRoofsInABrowser(t *testing.T) {
	b := screens.Start(t)
	town, signIns := demoSite(t)
	address, _ := town.listen()
	home := "http://" + address
	for role, screen := range map[models.Role]screens.Screen{models.Owner: screens.Office, models.Seller: screens.Phone, models.Scheduler: screens.Office,
		models.Roofer: screens.Phone, models.Bookkeeper: screens.OfficeNight} {
		tab := signedIn(t, b, home, signIns[role], screen)
		if got := screens.Eval[string](t, tab, "location.pathname"); got != "/today" {
			t.Errorf("the %s is led to %s after signing in", role, got)
		}
		if n := screens.Eval[int](t, tab, `document.querySelectorAll(".opening a").length`); n == 0 {
			t.Errorf("the %s's Today opens without a number that leads on", role)
		}
		looksRight(t, tab, "today-"+string(role))
	}
	for _, screen := range []screens.Screen{screens.Office, screens.PhoneNight} {
		tab := signedIn(t, b, home, signIns[models.Owner], screen)
		tab.Go(t, home+"/roofs")
		if n := screens.Eval[int](t, tab, `document.querySelectorAll("#roofs tbody svg.range").length`); n == 0 {
			t.Errorf("%s: no years left are drawn", screen.Name)
		}
		looksRight(t, tab, "roofs")
		tab.Go(t, home+"/roofs?sort=left")
		roof := screens.Eval[string](t, tab, `document.querySelector("#roofs tbody a").href`)
		tab.Go(t, roof)
		if screens.Eval[int](t, tab, `document.querySelectorAll("#serves canvas, #serves svg").length`) == 0 {
			t.Errorf("%s: the chance year by year is not drawn", screen.Name)
		}
		looksRight(t, tab, "roof-old")
		tab.Go(t, home+"/roofs?sort=-laid")
		tab.Go(t, screens.Eval[string](t, tab, `document.querySelector("#roofs tbody a").href`))
		looksRight(t, tab, "roof-new")
		for name, path := range map[string]string{"roof_form-new": "/roofs/new", "roof_form-edit": strings.TrimPrefix(roof, home) + "/edit",
			"house_form": "/houses/1/edit", "sale_form": "/houses/1/sale", "search": "/search?q=larch"} {
			tab.Go(t, home+path)
			looksRight(t, tab, name)
		}
	}
}
