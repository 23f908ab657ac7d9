package server

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"overhang/models"
	"overhang/models/demo"
	"overhang/models/store"
	"overhang/server/service"
)

// Each figure of the page leads to the estimates behind it, as many as it says,
// and who looked is for the owner alone.
func TestTheHindsightPage(t *testing.T) {
	s := emptySite(t, Options{})
	who := service.Program("a test")
	made, err := s.service.FillDemo(t.Context(), who, demo.Options{Seed: 1, Roofs: 60, Houses: 60}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.service.KeepHindcast(t.Context(), who); err != nil {
		t.Fatal(err)
	}
	for _, in := range made {
		if s.people[in.Roles[0]], err = s.service.PersonByEmail(t.Context(), who, in.Email); err != nil {
			t.Fatal(err)
		}
	}
	owner := s.as(models.Owner)
	page := owner.get("/estimates/check").want(200)
	if text := page.text(".opening"); !strings.Contains(text, "past estimates of") || !strings.Contains(text, "The next look was foretold") {
		t.Errorf("the opening says %q", text)
	}
	for _, table := range []string{"#rivals", "#by-covering", "#by-age", "#by-readings", "#by-method", "#by-estimate", "#by-inspector"} {
		if page.page().Find(table+" tbody tr").Length() == 0 {
			t.Errorf("the table %s is empty", table)
		}
	}
	// Of too few ends no curve is drawn.
	if page.page().Find("#curve").Length() != 0 || page.page().Find("#readings").Length() == 0 || !strings.Contains(page.text(".opening"), "too few roofs have been seen") {
		t.Errorf("curves of too few roofs: %q", page.text(".opening"))
	}
	followed := 0
	page.page().Find(`#rivals a, #by-method a, #by-estimate a, #by-readings a, #by-inspector a`).Each(func(_ int, a *goquery.Selection) {
		url, _ := a.Attr("href")
		if strings.Contains(url, "show=worn") {
			return
		}
		followed++
		// The figure is the link's text.
		if opening := owner.get(url).want(200).text(".opening"); !strings.Contains(opening, strings.TrimSpace(a.Text())+" past estimate") {
			t.Errorf("%s was said to be %q and opens to %q", url, a.Text(), opening)
		}
	})
	if followed < 12 {
		t.Errorf("only %d figures lead anywhere", followed)
	}
	roofer := s.as(models.Roofer).get("/estimates/check").want(200)
	if roofer.page().Find("#by-inspector").Length() != 0 {
		t.Error("a roofer sees the table by who looked")
	}
	if text := page.text("main"); strings.Contains(text, "-") && regexp.MustCompile(`[( ]-\d`).MatchString(text) {
		t.Errorf("a hyphen stands for a minus: %s", regexp.MustCompile(`.{20}[( ]-\d.{10}`).FindString(text))
	}
	// What was foretold of a roof that lies there, and how it was read, is kept from who
	// goes up, and from the owner of a roof that they said they are going to look at; that
	// it is, is said.
	cases := "/estimates/check/cases"
	first := owner.get(cases).want(200)
	url, _ := first.page().Find("#cases tbody th a").First().Attr("href")
	id, err := strconv.ParseInt(strings.TrimPrefix(url, "/roofs/"), 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	listed := func(b *browser) (roofs map[string]bool) {
		roofs = map[string]bool{}
		for page := 1; ; page++ {
			a := b.get(fmt.Sprint(cases, "?page=", page)).want(200)
			a.page().Find("#cases tbody tr").Each(func(_ int, row *goquery.Selection) {
				// What a page of the roof would not have said is not told as said.
				age, said := strings.TrimSpace(row.Find("td").Eq(1).Text()), strings.TrimSpace(row.Find("td").Eq(2).Text())
				if years, err := strconv.ParseFloat(age, 64); err != nil || years != 5 && (years < 5) != (said == "too new to say") {
					t.Errorf("at the age of %s years was said %q (%v)", age, said, err)
				}
			})
			links := a.page().Find("#cases tbody th a").Map(func(_ int, l *goquery.Selection) string { return l.AttrOr("href", "") })
			if len(links) == 0 {
				return roofs
			}
			if kept := strings.Contains(a.text(".opening"), "kept from you"); kept != (b != owner) {
				t.Errorf("page %d says that some are kept: %v", page, kept)
			}
			for _, link := range links {
				roofs[link] = true
			}
		}
	}
	all := listed(owner)
	if !all[url] {
		t.Fatalf("the owner is not told of %s", url)
	}
	if got := s.as(models.Roofer).get(cases).want(200).text(".opening"); !strings.Contains(got, "kept from you") {
		t.Errorf("the roofer is told %q", got)
	}
	standing, err := store.StandingRoofIDs(s.service.Store.Query(t.Context()))
	if err != nil {
		t.Fatal(err)
	}
	told := listed(s.as(models.Roofer))
	for _, id := range standing {
		if told[roofURL(id)] {
			t.Fatalf("the roofer is told of %s", roofURL(id))
		}
	}
	if err := s.service.SayLook(t.Context(), s.actor(models.Owner), id, true); err != nil {
		t.Fatal(err)
	}
	a := owner.get(cases)
	if slices.Contains(a.page().Find("#cases tbody th a").Map(func(_ int, l *goquery.Selection) string { return l.AttrOr("href", "") }), url) || !strings.Contains(a.text("main"), "kept from you") {
		t.Errorf("the owner who is going to look at %s is told %s", url, a.text("main"))
	}
	if a.page().Find("#cases tbody tr").Length() == 0 || owner.get("/estimates/check").page().Find("#by-inspector").Length() == 0 {
		t.Error("with one roof kept the owner is told of none, or not by who looked")
	}
}

// A company without old estimates is told so, and the lists are empty.
func TestTheHindsightPageWithNothingToSay(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	if opening := b.get("/estimates/check").want(200).text(".opening"); !strings.Contains(opening, "No estimate is old enough") {
		t.Errorf("the opening says %q", opening)
	}
	b.get("/estimates/check/cases?by=covering&group=metal&show=next&page=9").want(200)
}
