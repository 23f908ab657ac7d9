package server

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// A visit is booked from a callback, says on the route sheet and on its own page
// what it is for, and what it saw stands with the callback.
func TestAVisitForACallback(t *testing.T) {
	s := courseSite(t)
	s.add(&models.Slope{StructureID: 1, Name: "South"}, &models.Callback{Ref: "K-2", HouseID: ptr[int64](1), RoofID: ptr[int64](1), LearnedOn: units.NewDate(2026, time.June, 2), State: "new", About: "Shingles on the lawn"},
		&models.Callback{Ref: "K-3", HouseID: ptr[int64](2), LearnedOn: units.NewDate(2026, time.June, 2), State: "new"})
	if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Put(&models.RoofSlope{RoofID: 1, SlopeID: 1}) }); err != nil {
		t.Fatal(err)
	}
	scheduler, roofer := s.as(models.Scheduler), s.as(models.Roofer)
	book, _ := scheduler.get("/callbacks/2").want(200).page().Find(`a.button[href*="/visits/new"]`).Attr("href")
	if book != "/roofs/1/visits/new?callback=2" {
		t.Fatalf("the callback leads to %q", book)
	}
	page := scheduler.get(book).want(200).page()
	for _, form := range []string{"#book", "#record"} {
		if got, _ := page.Find(form + `-callback_id option[selected]`).Attr("value"); got != "2" {
			t.Errorf("%s is for %q", form, got)
		}
		if got, _ := page.Find(form + `-purpose option[selected]`).Attr("value"); got != "callback_look" {
			t.Errorf("%s is a %q", form, got)
		}
		if got := page.Find(form + `-callback_id option[value="3"]`).Length(); got != 0 {
			t.Errorf("%s offers the callback of another house", form)
		}
	}
	booked := url.Values{"purpose": {"callback_look"}, "booked_for": {"2026-06-12"}, "by_name": {"The roofer"}, "callback_id": {"3"}}
	if got := scheduler.post("/roofs/1/visits/book", booked).want(422).text("#book-callback_id-error"); got == "" {
		t.Error("a visit for the callback of another house is booked")
	}
	booked.Set("callback_id", "2")
	scheduler.post("/roofs/1/visits/book", booked).leads("/visits/day/2026-06-12")
	// Another callback of the house is looked at by a visit of its own.
	booked.Set("callback_id", "1")
	scheduler.post("/roofs/1/visits/book", booked).want(303)
	// The same one is moved.
	booked.Set("callback_id", "2")
	booked.Set("booked_for", "2026-06-13")
	scheduler.post("/roofs/1/visits/book", booked).leads("/visits/day/2026-06-13")
	visits, err := store.List[models.Visit](s.service.Store.Query(t.Context()), "id", "purpose = 'callback_look'")
	if err != nil || len(visits) != 2 || *visits[0].CallbackID != 2 || *visits[1].CallbackID != 1 || visits[0].BookedFor != units.NewDate(2026, time.June, 13) {
		t.Fatalf("booked are %+v, %v", visits, err)
	}
	at := visitURL(visits[0].ID)
	for _, path := range []string{"/visits/day/2026-06-13", at} {
		if n := roofer.get(path).want(200).page().Find(`a[href="/callbacks/2"]`).Length(); n != 1 {
			t.Errorf("%s leads to the callback %d times", path, n)
		}
	}
	if got := roofer.get("/callbacks/2").want(200).text("#looks tbody"); !strings.Contains(got, "look for a callback") || !strings.Contains(got, "booked") || strings.Contains(got, "nothing") {
		t.Errorf("before the visit the callback says %q", got)
	}
	s.clock.pass(20 * time.Hour)
	form := edited(roofer.get(at).want(200), "#record")
	form.Set("done_on", "2026-06-11")
	form.Set("method", "walked")
	form.Set("notes", "Nails stand up along the ridge")
	form.Set("look.missing_shingles", "2")
	form.Set("slope.missing_shingles", "1")
	roofer.post(at, form).leads(at)
	got := roofer.get("/callbacks/2").want(200).text("#looks tbody")
	for _, want := range []string{"done", "2, plain; South", "Nails stand up along the ridge"} {
		if !strings.Contains(got, want) {
			t.Errorf("after the visit the callback does not say %q: %s", want, got)
		}
	}
	if n := roofer.get("/callbacks/2").page().Find(`#looks a[href="` + at + `"]`).Length(); n != 1 {
		t.Error("the callback does not lead to its visit")
	}
	v, err := store.Get[models.Visit](s.service.Store.Query(t.Context()), visits[0].ID)
	if err != nil || v.CallbackID == nil || *v.CallbackID != 2 {
		t.Errorf("after it was done the visit is for %+v, %v", v, err)
	}
}

// A callback is about one job of the roof; with another come its crew and lot.
func TestACallbackIsAboutAJob(t *testing.T) {
	s := courseSite(t)
	s.add(&models.Crew{Name: "Valley crew"}, &models.Job{Ref: "J-2", HouseID: 1, Part: "chimney", StartedOn: units.NewDate(2020, time.May, 4), ClosedOn: units.NewDate(2020, time.May, 6), CrewID: ptr[int64](2)},
		&models.Lot{JobID: 2, Number: "L-9"}, &models.Job{Ref: "J-3", HouseID: 2})
	if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Put(&models.JobRoof{JobID: 2, RoofID: 1}) }); err != nil {
		t.Fatal(err)
	}
	b := s.as(models.Office)
	b.post("/callbacks/1", url.Values{"version": {"1"}, "waiting_on": {"weather"}}).leads("/callbacks/1")
	page := b.get("/callbacks/1").want(200)
	for _, want := range []string{"J-1", "closed on August 5, 2015", "North crew", "L-2207"} {
		if got := page.text(".facts"); !strings.Contains(got, want) {
			t.Errorf("the facts do not say %q: %s", want, got)
		}
	}
	form := edited(page, "#step")
	if form.Get("job_id") != "1" || form.Get("crew_id") != "1" || form.Get("lot_id") != "1" {
		t.Fatalf("the form begins with %v", form)
	}
	form.Set("job_id", "2")
	b.post("/callbacks/1", form).leads("/callbacks/1")
	if c := s.callback(1); *c.JobID != 2 || c.CrewID == nil || *c.CrewID != 2 || c.LotID == nil || *c.LotID != 2 {
		t.Errorf("with the other job it is %+v", c)
	}
	form = edited(b.get("/callbacks/1"), "#step")
	form.Set("job_id", "3")
	if got := b.post("/callbacks/1", form).want(422).text("#step-job_id-error"); !strings.Contains(got, "not a job on this roof") {
		t.Errorf("a job on another house is answered by %q", got)
	}
}

// Who repaired it says what was laid anew, the page tells it, and the years left in
// the roof go by it.
func TestTheHouseTellsWhatWasLaidAnew(t *testing.T) {
	s := courseSite(t)
	s.add(&models.Slope{StructureID: 1, Name: "South", Area: ptr(1000 * units.SquareFoot)}, &models.Slope{StructureID: 1, Name: "North", Area: ptr(1000 * units.SquareFoot)})
	office, roofer := s.as(models.Office), s.as(models.Roofer)
	office.post("/callbacks/1", url.Values{"version": {"1"}, "state": {"accepted"}, "cause_found": {"wind"}}).leads("/callbacks/1")
	form := edited(roofer.get("/callbacks/1").want(200), "#onroof")
	for _, name := range []string{"relaid", "relaid_slope_id", "relaid_area"} {
		if !form.Has(name) {
			t.Errorf("%s is not asked for", name)
		}
	}
	form["done"] = []string{"repaired"}
	form.Set("relaid", "part")
	form.Set("relaid_slope_id", "1")
	if got := roofer.post("/callbacks/1/roof", form).want(422).text("#onroof-relaid_area-error"); !strings.Contains(got, "is needed") {
		t.Errorf("beside the area it says %q", got)
	}
	form.Set("relaid_area", "120.4")
	roofer.post("/callbacks/1/roof", form).leads("/callbacks/1")
	if got := office.get("/callbacks/1").want(200).text(".facts"); !strings.Contains(got, "120 ft² of South") {
		t.Errorf("the facts say %q", got)
	}
	was := *s.callback(1).RelaidArea
	form = edited(office.get("/callbacks/1").want(200), "#step")
	if form.Get("relaid") != "part" || form.Get("relaid_slope_id") != "1" || form.Get("relaid_area") != "120.4" {
		t.Errorf("the office is shown %v", form)
	}
	office.post("/callbacks/1", form).leads("/callbacks/1")
	if got := *s.callback(1).RelaidArea; got != was {
		t.Errorf("kept as it was it becomes %v, not %v", got, was)
	}
	form = edited(office.get("/callbacks/1").want(200), "#step")
	form.Set("relaid", "whole_slope")
	form.Set("relaid_area", "")
	office.post("/callbacks/1", form).leads("/callbacks/1")
	if got := office.get("/callbacks/1").want(200).text(".facts"); !strings.Contains(got, "the whole of South") {
		t.Errorf("the facts say %q", got)
	}
	s.clock.pass(365 * 24 * time.Hour)
	if got := s.as(models.Owner).get("/roofs/1").want(200).text("main"); !strings.Contains(got, "Of the covering about 50% is only 1.0 years old.") {
		t.Errorf("the roof does not say what is younger: %s", got)
	}
}

// A ring-back whose step was read in from a file stands once in the story, with who
// reached them.
func TestAStepThatWasReadInIsToldOnce(t *testing.T) {
	s := courseSite(t)
	back := time.Date(2026, 6, 4, 18, 30, 0, 0, time.UTC)
	s.add(&models.Callback{Ref: "K-2", HouseID: ptr[int64](1), LearnedOn: units.NewDate(2026, time.June, 3), State: "to_look", RungBackAt: &back},
		&models.CallbackStep{CallbackID: 2, Kind: "reached", On: units.NewDate(2026, time.June, 4), LearnedOn: units.NewDate(2026, time.June, 4), ByName: "Ines Marlow"},
		&models.CallbackStep{CallbackID: 2, Kind: "reached", On: units.NewDate(2026, time.June, 7), LearnedOn: units.NewDate(2026, time.June, 7), ByName: "Ines Marlow"})
	page := s.as(models.Office).get("/callbacks/2").want(200)
	story := page.text(".history")
	if n := strings.Count(story, "We rang back and reached them"); n != 2 {
		t.Errorf("they were reached on two days, and the story says it %d times: %s", n, story)
	}
	if !strings.Contains(story, "Jun 4, 2026, 12:30 pm · Ines Marlow") {
		t.Errorf("nobody is said to have reached them: %s", story)
	}
}
