package server

import (
	"bytes"
	"net/url"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"overhang/models"
	screens "overhang/views/browser"
)

// What is set aside is what the other pages expect; a month is closed once and
// for good, and the files say what the page says.
func TestReservePage(t *testing.T) {
	s := owedSite(t)
	b := s.as(models.Bookkeeper)
	page := b.get("/reserve").want(200)
	review, err := s.service.OwedReview(t.Context(), s.actor(models.Owner))
	if err != nil {
		t.Fatal(err)
	}
	total := review.Result.Total
	whole := "$" + total.Discounted.Round()
	if got := page.text(".opening"); !strings.Contains(got, "41 promises") || !strings.Contains(page.text("#two"), whole) {
		t.Errorf("%q and %q do not say %v", got, page.text("#two tr:last-child"), total.Discounted)
	}
	if got := page.text("#ties"); !strings.Contains(got, "11 cost lines") || !strings.Contains(got, "to the cent") {
		t.Errorf("the lines: %q", got)
	}
	s.as(models.Seller).get("/reserve").want(403)
	s.as(models.Seller).post("/reserve/close", url.Values{"month": {"2026-01"}}).want(403)

	book, err := excelize.OpenReader(bytes.NewReader([]byte(b.get("/reserve.xlsx").want(200).Body)))
	if err != nil {
		t.Fatal(err)
	}
	if sheets := book.GetSheetList(); len(sheets) != 5 || sheets[0] != "Roll-forward" {
		t.Errorf("sheets %v", sheets)
	}
	for _, part := range []string{"roll_forward", "entries", "cohorts", "triangle", "prepaid"} {
		if csv := b.get("/reserve.csv?part=" + part).want(200).Body; len(strings.TrimSpace(csv)) == 0 {
			t.Errorf("%s is empty", part)
		}
	}
	b.get("/reserve.csv?part=other").want(404)
	b.get("/reserve?month=1999-01").want(404)

	months := page.page().Find("#close select option")
	month := months.Last().AttrOr("value", "")
	b.post("/reserve/close", url.Values{"month": {"2099-01"}}).want(422)
	b.post("/reserve/close", url.Values{"month": {month}}).want(303)
	if got := b.get("/reserve").want(200).text("#closed"); !strings.Contains(got, month) {
		t.Errorf("%s is not among the closed months: %q", month, got)
	}
	if got := b.get("/reserve?month=" + month).want(200).text(".opening"); !strings.Contains(got, month) {
		t.Errorf("the closed month: %q", got)
	}
	b.post("/reserve/close", url.Values{"month": {month}}).want(409)
}

// The bookkeeper reads what is set aside and closes a month, at a desk and on a
// phone.
func TestReserveInABrowser(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := owedSite(t)
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		enter(t, tab, models.Bookkeeper)
		tab.Go(t, home+"/reserve")
		looksRight(t, tab, "reserve")
		press(t, tab, `form[action="/reserve/close"] button`, ".flash")
		press(t, tab, `#closed a`, `a[href="/reserve"]`)
		looksRight(t, tab, "reserve-closed")
	}
}
