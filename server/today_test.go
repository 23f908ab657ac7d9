package server

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

func TestTodayIsEverybodysOwn(t *testing.T) {
	s := newSite(t)
	for role, c := range map[models.Role]struct{ has, lacks string }{
		models.Owner:      {"callback", ""},
		models.Seller:     {"near our roofs", "callback"},
		models.Scheduler:  {"due for a visit", "near our roofs"},
		models.Roofer:     {"due for a visit", "near our roofs"},
		models.Bookkeeper: {"callback", "near our roofs"},
	} {
		text := s.as(role).get("/today").want(http.StatusOK).text("main")
		if !strings.Contains(text, c.has) || (c.lacks != "" && strings.Contains(text, c.lacks)) {
			t.Errorf("the %s reads %s", role, text)
		}
	}
}

// A roof over which water comes in is named before all else, and every number
// of the opening leads to what it counts.
func TestTodaySaysFirstWhatPresses(t *testing.T) {
	s := newSite(t)
	day := units.NewDate(2026, time.June, 10)
	s.write(&models.Callback{Ref: "K-2", HouseID: ptr[int64](1), RoofID: ptr[int64](1), About: "It drips on the landing.", WaterComingIn: true,
		LearnedOn: day - 1, State: "new", RingBackBy: ptr(s.clock.Now().Add(-time.Hour))},
		&models.Visit{Ref: "V-2", HouseID: 2, Purpose: "repair", BookedFor: day, ByName: "The roofer"})
	page := s.as(models.Owner).get("/today").want(http.StatusOK)
	if got := page.text(".opening"); !strings.HasPrefix(got, "Water is coming in at one house, one of two with an open callback.") {
		t.Errorf("Today opens with %s", got)
	}
	if got := page.text("#callbacks tbody tr:first-child"); !strings.Contains(got, "It drips on the landing.") || !strings.Contains(got, "late: promised by Jun 10, 2026, 8:00 am") {
		t.Errorf("the first callback reads %s", got)
	}
	if got := page.text("main"); !strings.Contains(got, "One caller has waited longer than we promised.") {
		t.Errorf("nobody is told that a caller waits: %s", got)
	}
	for _, to := range page.page().Find(".opening a").Map(func(_ int, a *goquery.Selection) string { return a.AttrOr("href", "") }) {
		s.as(models.Owner).get(to).want(http.StatusOK)
	}
	// The roofer reads first where to go.
	roofer := s.as(models.Roofer).get("/today")
	if got, _ := roofer.page().Find("main section").First().Attr("id"); got != "route" {
		t.Errorf("the roofer's Today begins with %s", got)
	}
	if got := roofer.text("#route tbody"); !strings.Contains(got, "14 Larch Street") || !strings.Contains(got, "repair") {
		t.Errorf("the roofer's day reads %s", got)
	}
}

// Where nothing waits, Today says so, and what to do when something comes.
func TestAQuietToday(t *testing.T) {
	s := newSite(t)
	err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		c, err := store.Get[models.Callback](tx.Query, 1)
		if err != nil {
			return err
		}
		c.State, c.ClosedOn = "closed", units.NewDate(2026, time.June, 5)
		return tx.Update(c)
	})
	if err != nil {
		t.Fatal(err)
	}
	page := s.as(models.Office).get("/today").want(http.StatusOK)
	if got := page.text("main"); !strings.Contains(got, "No callback is open.") || !strings.Contains(got, "write the call down") ||
		!strings.Contains(got, "Nobody is booked to go out today.") || !strings.Contains(got, "no registration with a maker waits") {
		t.Errorf("a quiet Today reads %s", got)
	}
	// What is owed is money, which the office does not see.
	if got := page.text("main"); strings.Contains(got, "years ahead") {
		t.Error("the office reads what is owed")
	}
	if got := s.as(models.Bookkeeper).get("/today").text("main"); !strings.Contains(got, "What we owe in the years ahead") {
		t.Errorf("the bookkeeper does not read what is owed: %s", got)
	}
}
