package server

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"overhang/models"
	"overhang/models/store"
)

func TestRoofsAreListedAndFound(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	list := owner.get("/roofs").want(http.StatusOK)
	if text := list.text("table"); !strings.Contains(text, "12 Larch Street") || strings.Contains(text, "14 Larch Street") {
		t.Errorf("our roofs: %s", text)
	}
	if text := owner.get("/roofs?ours=any&sort=-laid").text("table"); !strings.Contains(text, "14 Larch Street") {
		t.Errorf("all roofs: %s", text)
	}
	if text := owner.get("/roofs?family=metal").text("table"); strings.Contains(text, "Larch") {
		t.Errorf("metal roofs: %s", text)
	}
	owner.get("/search?q=" + url.QueryEscape("12 lárch st")).leads("/roofs/1")
	owner.get("/search?q=0134").leads("/roofs/1") // the owner's telephone number
	if text := s.as(models.Seller).get("/search?q=Marchetti").text("main"); strings.Contains(text, "12 Larch Street") {
		t.Errorf("the seller finds people by name: %s", text)
	}
}

func TestARoofsOwnPage(t *testing.T) {
	s := newSite(t)
	page := s.as(models.Owner).get("/roofs/1").want(http.StatusOK)
	text := page.text("main")
	for _, want := range []string{"12 Larch Street", "an estimate", "Past its line already", "Ten years on our work", "Odile Marchetti", "Take care."} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q: %s", want, text)
		}
	}
	// A seller sees the roof, and neither who holds the house nor what is promised.
	text = s.as(models.Seller).get("/roofs/1").want(http.StatusOK).text("main")
	for _, not := range []string{"Marchetti", "Ten years on our work", "Correct the roof"} {
		if strings.Contains(text, not) {
			t.Errorf("the seller reads %q", not)
		}
	}
	s.as(models.Owner).get("/roofs/999").want(http.StatusNotFound)
}

func TestARoofIsWrittenDown(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	typed := url.Values{"number": {"7"}, "street": {"Tarn Road"}, "laid_on": {"06/2008"}, "ours": {"no"}, "colour": {"dark brown"}}
	refused := owner.post("/roofs", typed).want(http.StatusUnprocessableEntity)
	if v, _ := refused.page().Find(`input[name="colour"]`).Attr("value"); v != "dark brown" {
		t.Errorf("the colour that was typed is gone: %q", v)
	}
	if text := refused.text("form"); !strings.Contains(text, "about 2014") {
		t.Errorf("the day's rule does not stand in the form: %s", text)
	}
	typed.Set("laid_on", "about 2008")
	done := owner.post("/roofs", typed)
	to := done.Header.Get("Location")
	done.leads(to)
	if text := owner.get(to).want(http.StatusOK).text("main"); !strings.Contains(text, "7 Tarn Road") || !strings.Contains(text, "about 2008") {
		t.Errorf("the roof reads %s", text)
	}
	s.as(models.Roofer).post("/roofs", typed).want(http.StatusForbidden)
}

func TestTheSecondEditorOfARoofIsTold(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	form := owner.get("/roofs/1/edit").want(http.StatusOK).page()
	version, _ := form.Find(`input[name="version"]`).Attr("value")
	typed := url.Values{"version": {version}, "laid_on": {"2015-08-03"}, "ours": {"yes"}, "covering_id": {"1"}, "colour": {"slate grey"}}
	owner.post("/roofs/1", typed).leads("/roofs/1")
	typed.Set("colour", "brown")
	second := owner.post("/roofs/1", typed).want(http.StatusConflict)
	if text := second.text("main"); !strings.Contains(text, "Somebody else changed this roof") {
		t.Errorf("the second editor reads %s", text)
	}
	if v, _ := second.page().Find(`input[name="colour"]`).Attr("value"); v != "brown" {
		t.Errorf("what the second editor typed is gone: %q", v)
	}
	kept, err := store.Get[models.Roof](s.service.Store.Query(t.Context()), 1)
	if err != nil || kept.Colour != "slate grey" {
		t.Errorf("kept is %q, %v", kept.Colour, err)
	}
}

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
