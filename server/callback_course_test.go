package server

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	screens "overhang/views/browser"
)

// courseSite is a small company in which a callback can go its whole course:
// crew and lot of the job are known, an hour costs something, looks and repairs
// are promised, and the maker wants to be told within thirty days.
func courseSite(t *testing.T) *site {
	t.Helper()
	s := newSite(t)
	began := units.NewDate(2015, time.August, 3)
	s.add(
		&models.CrewMember{CrewID: 1, Name: "Arvid Holm", FromOn: began - 400},
		&models.CrewMember{CrewID: 1, Name: "Sami Roth", FromOn: began + 300},
		&models.Lot{JobID: 1, CoveringID: ptr[int64](1), Number: "L-2207"},
		&models.Terms{Key: "maker-30", Name: "The maker's thirty years", Kind: "material", TermMonths: 360, FullMonths: 120, ShareMethod: "whole_term",
			Material: true, Transfer: "once", Conditions: models.JSON[models.Condition]{{Kind: "notice_days", Days: 30}}},
		&models.Warranty{Ref: "W-2", RoofID: 1, TermsID: 2, OwedBy: "Invented Shingle Works", StartOn: began},
	)
	err := s.service.Store.Write(t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error {
		if err := tx.Put(&models.JobRoof{JobID: 1, RoofID: 1}); err != nil {
			return err
		}
		company, err := store.Get[models.Company](tx.Query, 1)
		if err != nil {
			return err
		}
		company.LookDays, company.RepairDays = 3, 21
		if err := tx.Update(company); err != nil {
			return err
		}
		branch, err := store.Get[models.Branch](tx.Query, 1)
		if err != nil {
			return err
		}
		branch.LabourRate = 86 * units.Dollar
		if err := tx.Update(branch); err != nil {
			return err
		}
		job, err := store.Get[models.Job](tx.Query, 1)
		if err != nil {
			return err
		}
		job.StartedOn, job.CrewID = began, ptr[int64](1)
		return tx.Update(job)
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// submit fills in the fields of a form, each by its name, with what is folded
// away around them opened first; then it sends the form and waits for the page
// that comes of it. A field that is chosen among buttons or boxes is clicked.
func submit(t *testing.T, tab *screens.Tab, form string, fields ...string) {
	t.Helper()
	for i := 0; i+1 < len(fields); i += 2 {
		name, value := fields[i], fields[i+1]
		in := form + ` [name="` + name + `"]`
		switch screens.Eval[string](t, tab, `(() => { const e = document.querySelector('`+in+`'); if (!e) return "";
  for (let up = e; up; up = up.parentElement) if (up.tagName == "DETAILS") up.open = true; return e.type; })()`) {
		case "":
			t.Fatalf("%s: %s asks for no %s", tab.Screen.Name, form, name)
		case "radio", "checkbox":
			in += `[value="` + value + `"]`
			if err := chromedp.Do(tab.Context, chromedp.Click(in)); err != nil {
				t.Fatalf("%s: choosing %s: %v", tab.Screen.Name, in, err)
			}
		default:
			// Set as by hand; an empty choice is one, too.
			if got := screens.Eval[string](t, tab, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.value = %q; return e.value; })()`, in, value)); got != value {
				t.Fatalf("%s: %s takes %q for %q", tab.Screen.Name, in, got, value)
			}
		}
	}
	screens.Eval[string](t, tab, `(() => { for (let up = document.querySelector('`+form+`'); up; up = up.parentElement) if (up.tagName == "DETAILS") up.open = true;
  return document.body.dataset.left = "yes"; })()`)
	press(t, tab, form+` .send button`, `body:not([data-left]) footer`) // all before it is there then
}

// shows fails the test when a part of the page does not say something.
func shows(t *testing.T, tab *screens.Tab, part string, want ...string) {
	t.Helper()
	// A space between what stands in neighbouring cells and lines.
	got := screens.Eval[string](t, tab, `[...document.querySelectorAll('`+part+`')].flatMap((e) => { const out = [];
  for (const w = document.createTreeWalker(e, NodeFilter.SHOW_TEXT); w.nextNode();) out.push(w.currentNode.data); return out; }).join(" ").replace(/\s+/g, " ")`)
	for _, w := range want {
		if !strings.Contains(got, w) {
			t.Errorf("%s: %s does not say %q: %s", tab.Screen.Name, part, w, got)
		}
	}
}

// A callback's whole course, from the call to the day on which it comes back:
// the office at a desk and the roofer at the house, and both on a telephone.
func TestACallbacksWholeCourseInABrowser(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := courseSite(t)
		s.add(&models.Slope{StructureID: 1, Name: "South"})
		at, _ := s.listen()
		home := "http://" + at
		office, roofer := b.Open(t, home+"/sign-in", screen), b.Open(t, home+"/sign-in", screen)
		enter(t, office, models.Office)
		enter(t, roofer, models.Roofer)
		here, days := home+"/callbacks/2", 24*time.Hour

		// The call.
		office.Go(t, home+"/callbacks/new?address_given=12+larch")
		looksRight(t, office, "course-01-call")
		submit(t, office, "#call", "caller", "Odile Marchetti", "phone", "555-0134", "about", "A drip beside the chimney since last night",
			"water_coming_in", "yes", "place", "house:1")
		shows(t, office, ".flash", "We promised to ring back by Jun 11, 2026, 9:00 am")
		shows(t, office, ".opening", "Ring Odile Marchetti back by", "Water is coming in.")
		shows(t, office, ".caution", "keep away from lights")
		shows(t, office, ".facts", "12 Larch Street", "North crew", "Arvid Holm", "L-2207")
		shows(t, office, "#times", "ring back Jun 11, 2026, 9:00 am not yet", "look at it Jun 13, 2026 not yet", "there is still time")
		shows(t, office, ".history", "We learned of it", "Odile Marchetti rang", "A drip beside the chimney since last night")
		looksRight(t, office, "course-02-taken")

		// Two tries to ring back.
		submit(t, office, "#tried")
		shows(t, office, ".flash", "One more try is noted.")
		shows(t, office, ".opening", "Ring Odile Marchetti back by", "Water is coming in.")
		shows(t, office, ".facts", "Tries to ring back 1")
		shows(t, office, ".history", "We rang, and nobody answered")
		s.clock.pass(time.Hour)
		looksRight(t, office, "course-03-tried")
		submit(t, office, "#got")
		shows(t, office, ".flash", "It is noted that they were reached.")
		shows(t, office, ".opening", "Lay a temporary cover")
		shows(t, office, ".facts", "Tries to ring back 2", "reached Jun 10, 2026, 10:00 am")
		shows(t, office, "#times", "in time", "there is still time")
		shows(t, office, ".history", "We rang back and reached them")
		looksRight(t, office, "course-04-reached")

		// The roofer covers it, and on the next day finds out why.
		roofer.Go(t, here)
		shows(t, roofer, ".caution", "ladder")
		looksRight(t, roofer, "course-05-roofer")
		submit(t, roofer, "#onroof", "done", "covered", "hours", "1.5")
		shows(t, roofer, ".opening", "Look at it by June 13, 2026", "a temporary cover lies over it since June 10, 2026")
		shows(t, roofer, ".history", "The roofer Temporary cover laid")
		looksRight(t, roofer, "course-06-covered")
		s.clock.pass(days)
		roofer.Go(t, here)
		submit(t, roofer, "#onroof", "done", "looked", "cause_found", "flashing", "place", "chimney", "hours", "1", "note", "The step flashing is nailed through twice")
		shows(t, roofer, ".facts", "Cause found flashing", "Place chimney", "nailed through twice")
		shows(t, roofer, "#times", "look at it Jun 13, 2026 Jun 11, 2026 in time")
		shows(t, roofer, ".history", "The roofer We looked at it")
		looksRight(t, roofer, "course-07-looked")

		// The office accepts it; it waits on the weather, then on parts.
		office.Go(t, here)
		shows(t, office, ".opening", "Accept or refuse it", "It was looked at on June 11, 2026.")
		shows(t, office, "#step > fieldset legend", "The decision")
		looksRight(t, office, "course-08-decide")
		submit(t, office, "#step", "state", "accepted", "accepted_for", "The chimney flashing laid anew", "bearer", "us", "waiting_on", "weather")
		shows(t, office, ".opening", "It waits on the weather since June 11, 2026", "We have accepted it and are to repair it.")
		shows(t, office, ".facts", "What is accepted The chimney flashing laid anew", "Who bears the cost us", "Waiting on the weather, since")
		shows(t, office, "#times", "repair it Jul 2, 2026 not yet")
		shows(t, office, ".history", "Accepted")
		looksRight(t, office, "course-09-weather")
		s.clock.pass(2 * days)
		submit(t, office, "#step", "waiting_on", "parts")
		shows(t, office, ".history", "Waits on the weather", "Waits on material")
		looksRight(t, office, "course-10-parts")
		s.clock.pass(3 * days)
		submit(t, office, "#step", "waiting_on", "")
		shows(t, office, ".opening", "Repair it by July 2, 2026")
		looksRight(t, office, "course-11-to-repair")

		// The repair.
		roofer.Go(t, here)
		shows(t, roofer, ".facts", "The chimney flashing laid anew", "nailed through twice")
		looksRight(t, roofer, "course-12-roofer-repairs")
		screens.Eval[bool](t, roofer, `(() => { for (const d of document.querySelectorAll("#onroof details")) d.open = true; return true; })()`)
		looksRight(t, roofer, "course-12-laid-anew")
		submit(t, roofer, "#onroof", "done", "repaired", "hours", "4", "relaid", "part", "relaid_slope_id", "1", "relaid_area", "60")
		shows(t, roofer, ".opening", "It is repaired and not closed yet.")
		shows(t, roofer, ".facts", "Laid anew by the repair 60 ft² of South")
		shows(t, roofer, "#times", "repair it Jul 2, 2026 Jun 16, 2026 in time")
		shows(t, roofer, ".history", "The roofer Repaired")
		looksRight(t, roofer, "course-13-repaired")

		// What it cost: 6.5 h of ours at 86 are 559; 2 h more are 172.
		office.Go(t, here)
		shows(t, office, ".opening", "Settle what it cost", "It is repaired and not closed yet.")
		shows(t, office, "#costs", "labour", "1.5", "$129.00", "$86.00", "$344.00", "not yet") // 1.5, 1 and 4 h at 86
		shows(t, office, "main", "In all $559.00")
		looksRight(t, office, "course-14-settle")
		submit(t, office, "#cost", "kind", "labour", "hours", "2", "note", "The mason")
		shows(t, office, "#costs", "$172.00")
		submit(t, office, "#cost", "kind", "material", "amount", "240", "tax", "19.80", "bearer", "maker", "note", "Flashing and a bundle")
		submit(t, office, "#cost", "kind", "credit", "amount", "40", "tax", "3.30", "bearer", "maker", "note", "Flashing sent back")
		submit(t, office, "#cost", "kind", "recovery", "amount", "50", "note", "From the mason")
		shows(t, office, "#costs", "−$40.00", "−$3.30", "−$50.00")
		shows(t, office, "main", "In all $897.50") // 559 + 172 + 259.80 - 43.30 - 50
		looksRight(t, office, "course-15-costs")

		// The claim on the maker.
		submit(t, office, "#claim", "against", "maker")
		shows(t, office, ".facts", "Invented Shingle Works", "the warranty on the roof")
		shows(t, office, ".opening", "until July 10, 2026", "$216.50 is theirs to bear") // thirty days from Jun 10; 259.80 - 43.30
		looksRight(t, office, "course-16-claim")
		claim := screens.Eval[string](t, office, "location.href")
		submit(t, office, "#claim", "number", "ISW 4471", "filed_on", "2026-06-16")
		submit(t, office, "#claim", "samples_sent_on", "2026-06-17")
		looksRight(t, office, "course-17-filed")
		s.clock.pass(5 * days)
		submit(t, office, "#claim", "visited_on", "2026-06-21")
		s.clock.pass(5 * days)
		submit(t, office, "#claim", "offered_on", "2026-06-24", "offer", "216.50", "answer_by", "2026-07-08", "release_asked", "yes")
		shows(t, office, ".caution", "Have it read before signing")
		shows(t, office, ".opening", "until July 8, 2026")
		looksRight(t, office, "course-18-offer")
		// Unread it is not signed. The browser itself notes that it was refused.
		hasty := b.Open(t, home+"/sign-in", screen)
		enter(t, hasty, models.Bookkeeper)
		hasty.Go(t, claim)
		submit(t, hasty, "#claim", "answer", "accepted", "release_signed_on", "2026-06-26")
		shows(t, hasty, ".wrong", "have it read")
		hasty.Fits(t)
		hasty.Reachable(t)
		hasty.Shot(t, "course-19-unread")
		submit(t, office, "#claim", "answer", "accepted", "release_read_by", "Our lawyer", "release_signed_on", "2026-06-26")
		shows(t, office, ".opening", "accepted, not paid yet")
		looksRight(t, office, "course-20-signed")
		submit(t, office, "#claim", "paid_on", "2026-06-26", "paid", "216.50")
		shows(t, office, ".opening", "It stands so: paid.", "nothing is left that is theirs to bear")
		shows(t, office, ".history", "A claim was filed", "Samples were sent", "They came to look", "They made an offer", "The release was signed", "The claim was paid")
		looksRight(t, office, "course-21-claim-paid")

		// Paid and closed.
		office.Go(t, here)
		shows(t, office, "main", "In all $681.00")
		shows(t, office, "#borne", "the maker", "$216.50")
		submit(t, office, "#paid", "paid_on", "2026-06-26")
		shows(t, office, ".flash", "The costs so far are noted as paid.")
		shows(t, office, ".opening", "Close it")
		shows(t, office, ".history", "The last of it was paid")
		looksRight(t, office, "course-22-all-paid")
		submit(t, office, "#step", "state", "closed")
		shows(t, office, ".opening", "It is closed.")
		shows(t, office, ".history", "Closed")
		looksRight(t, office, "course-23-closed")
		s.clock.pass(days)
		office.Go(t, home+"/callbacks")
		shows(t, office, "#kept", "ring back 1 1 0", "look at it 1 1 0")
		shows(t, office, "#callbacks tbody", "K-1")
		looksRight(t, office, "course-23-kept")

		// It comes back.
		s.clock.pass(5 * days)
		office.Go(t, here)
		submit(t, office, "#again", "about", "The same drip, after the rain", "water_coming_in", "no")
		shows(t, office, ".facts", "B-00002, June 10, 2026", "12 Larch Street", "chimney")
		looksRight(t, office, "course-24-return")
		office.Go(t, here)
		shows(t, office, ".opening", "It came back as")
		looksRight(t, office, "course-25-came-back")
		office.Go(t, home+"/callbacks?state=returns")
		shows(t, office, "#callbacks tbody", "came back")
		looksRight(t, office, "course-26-returns")

		c := s.callback(2)
		if c.Attempts != 2 || c.State != "closed" || c.CoveredOn != units.NewDate(2026, time.June, 10) || c.LookedOn != units.NewDate(2026, time.June, 11) ||
			c.DecidedOn != c.LookedOn || c.RepairedOn != units.NewDate(2026, time.June, 16) || c.PaidOn != units.NewDate(2026, time.June, 26) || c.ClosedOn != c.PaidOn {
			t.Errorf("%s: the course is kept as %+v", screen.Name, c)
		}
		if back := s.callback(3); back.ReturnOf == nil || *back.ReturnOf != 2 || back.State != "new" {
			t.Errorf("%s: the return is kept as %+v", screen.Name, back)
		}
	}
}

func idOf(id int64) string { return strconv.FormatInt(id, 10) }

// What the person at the house writes down: what was done and found, on its day,
// and the hours, which cost what an hour of ours costs.
func TestAtTheHouse(t *testing.T) {
	s := courseSite(t)
	b := s.as(models.Roofer)
	page := b.get("/callbacks/1").want(200)
	if n := page.page().Find(`#onroof input[value=repaired]`).Length(); n != 0 {
		t.Error("a repair is offered before the callback is accepted")
	}
	if got := page.text("main .caution"); !strings.Contains(got, "Nobody goes up without fall protection") {
		t.Errorf("whoever goes up is told %q", got)
	}
	for what, c := range map[string]struct {
		fields url.Values
		field  string
		says   string
	}{
		"nothing at all":            {url.Values{"on": {"2026-06-10"}}, "done", "say what was done"},
		"tomorrow":                  {url.Values{"done": {"looked"}, "on": {"2026-06-11"}}, "on", "is not over yet"},
		"repaired and not accepted": {url.Values{"done": {"repaired"}}, "done", "ask the office to accept it first"},
		"no such cause":             {url.Values{"done": {"looked"}, "cause_found": {"gremlins"}}, "cause_found", ""},
		"no such place":             {url.Values{"done": {"looked"}, "place": {"moon"}}, "place", ""},
		"hours that are no number":  {url.Values{"done": {"looked"}, "hours": {"a few"}}, "hours", "must be a number"},
	} {
		refused := b.post("/callbacks/1/roof", c.fields).want(422)
		if got := refused.text("#onroof-" + c.field + "-error"); got == "" || !strings.Contains(got, c.says) {
			t.Errorf("%s: beside %s it says %q, want %q", what, c.field, got, c.says)
		}
		if k := s.callback(1); k.Version != 1 {
			t.Fatalf("%s: something was kept: %+v", what, k)
		}
	}
	b.post("/callbacks/1/roof", url.Values{"done": {"covered", "looked"}, "cause_found": {"valley"}, "place": {"valley"}, "hours": {"1.5"}, "on": {"2026-06-09"}, "note": {"Cut short above the eave"}}).leads("/callbacks/1")
	day := units.NewDate(2026, time.June, 9)
	k := s.callback(1)
	if k.CoveredOn != day || k.LookedOn != day || k.State != "to_look" || k.CauseFound != "valley" || k.Place != "valley" || k.Notes != "Cut short above the eave" {
		t.Errorf("the look is kept as %+v", k)
	}
	// 1.5 h at 86 are 129. They were worked on the ninth and are known since the tenth.
	lines := s.costs(1)
	if l := lines[len(lines)-1]; l.Kind != "labour" || l.Amount != 129_00 || l.On != day || l.LearnedOn != day+1 || l.Note != "The roofer" {
		t.Errorf("the hours are kept as %+v", l)
	}
	if strings.Contains(b.get("/callbacks/1").want(200).Body, "129.00") {
		t.Error("the roofer sees what the hours cost")
	}
	steps, err := store.List[models.CallbackStep](s.service.Store.Query(t.Context()), "id", "callback_id = 1")
	if err != nil {
		t.Fatal(err)
	}
	for i, kind := range []string{"covered", "looked"} {
		if i >= len(steps) || steps[i].Kind != kind || steps[i].On != day || steps[i].LearnedOn != day+1 || steps[i].ByName != "The roofer" {
			t.Errorf("step %d of %+v is not %s on its day", i, steps, kind)
		}
	}
	s.as(models.Office).post("/callbacks/1", url.Values{"version": {idOf(k.Version)}, "state": {"accepted"}}).leads("/callbacks/1")
	if n := b.get("/callbacks/1").want(200).page().Find(`#onroof input[value=repaired]`).Length(); n != 1 {
		t.Error("a repair is not offered after the callback is accepted")
	}
	b.post("/callbacks/1/roof", url.Values{"done": {"repaired"}}).leads("/callbacks/1")
	if k = s.callback(1); k.State != "repaired" || k.RepairedOn != day+1 {
		t.Errorf("the repair is kept as %+v", k)
	}
	s.as(models.Office).post("/callbacks/1", url.Values{"version": {idOf(k.Version)}, "state": {"closed"}}).leads("/callbacks/1")
	if n := b.get("/callbacks/1").want(200).page().Find("#onroof").Length(); n != 0 {
		t.Error("the form is still there after the callback is closed")
	}
	b.post("/callbacks/1/roof", url.Values{"done": {"looked"}}).want(409)
}

// A fault that comes back is a callback of its own that knows the first one, and
// where it is; what is still open does not come back.
func TestACallbackComesBack(t *testing.T) {
	s := courseSite(t)
	b := s.as(models.Scheduler)
	again := url.Values{"about": {"The same drip"}, "water_coming_in": {"yes"}, "happened_on": {"2026-06-08"}}
	if n := b.get("/callbacks/1").want(200).page().Find("#again").Length(); n != 0 {
		t.Error("an open callback is said to be able to come back")
	}
	b.post("/callbacks/1/return", again).want(409)
	office := s.as(models.Office)
	office.post("/callbacks/1", url.Values{"version": {"1"}, "state": {"accepted"}, "looked_on": {"2026-06-02"}, "place": {"valley"}, "lot_id": {"1"}, "crew_id": {"1"}}).leads("/callbacks/1")
	office.post("/callbacks/1", url.Values{"version": {"2"}, "state": {"repaired"}, "repaired_on": {"2026-06-04"}}).leads("/callbacks/1")
	for field, fields := range map[string]url.Values{
		"about":           {"about": {""}, "water_coming_in": {"no"}},
		"water_coming_in": {"about": {"A drip, again"}},
		"happened_on":     {"about": {"A drip, again"}, "water_coming_in": {"no"}, "happened_on": {"last week"}},
	} {
		refused := b.post("/callbacks/1/return", fields).want(422)
		if got := refused.text("#again-" + field + "-error"); got == "" || refused.page().Find("details[open] #again").Length() != 1 {
			t.Errorf("beside %s it says %q", field, got)
		}
	}
	b.post("/callbacks/1/return", again).leads("/callbacks/2")
	first, back := s.callback(1), s.callback(2)
	if back.ReturnOf == nil || *back.ReturnOf != 1 || *back.HouseID != *first.HouseID || *back.RoofID != *first.RoofID || *back.JobID != *first.JobID || *back.WarrantyID != *first.WarrantyID ||
		*back.CrewID != *first.CrewID || *back.LotID != *first.LotID || back.Place != "valley" || back.Caller != "Odile Marchetti" ||
		back.State != "new" || !back.WaterComingIn || back.LookedOn != 0 || back.CauseFound != "" ||
		back.LearnedOn != units.NewDate(2026, time.June, 10) || back.HappenedOn != units.NewDate(2026, time.June, 8) || back.LookBy != back.LearnedOn+3 || back.RingBackBy == nil {
		t.Errorf("of %+v comes %+v", first, back)
	}
	if first.State != "repaired" || first.RepairedOn != units.NewDate(2026, time.June, 4) {
		t.Errorf("the return changes the first one: %+v", first)
	}
	if got := b.get("/callbacks/1").want(200).text(".opening"); !strings.Contains(got, "It came back as B-00002 on June 10, 2026.") {
		t.Errorf("the first one says %q", got)
	}
	page := b.get("/callbacks/2").want(200)
	if n := page.page().Find(`.facts a[href="/callbacks/1"]`).Length(); n != 1 || !strings.Contains(page.text(".facts"), "K-1, June 1, 2026") {
		t.Errorf("the return does not lead to the first one: %s", page.text(".facts"))
	}
	if got := b.get("/callbacks?state=returns").want(200).text("#callbacks tbody"); !strings.Contains(got, "B-00002") || strings.Contains(got, "K-1") {
		t.Errorf("what came back is %q", got)
	}
}

// A wrong line is never changed: it is taken back to the cent, with the reason,
// and the right one stands in its place.
func TestAWrongCostIsCorrected(t *testing.T) {
	s := courseSite(t)
	b := s.as(models.Bookkeeper)
	b.post("/callbacks/1/costs", url.Values{"kind": {"material"}, "on": {"2026-06-05"}, "amount": {"240"}, "tax": {"19.80"}, "bearer": {"maker"}, "note": {"two bundles"}}).leads("/callbacks/1")
	wrong := s.costs(1)[1]
	at := "/callbacks/1/costs/" + idOf(wrong.ID)
	form := b.get(at).want(200)
	for name, want := range map[string]string{"amount": "240.00", "tax": "19.80", "note": "two bundles", "on": "2026-06-05"} {
		if got, _ := form.page().Find("#correct-" + name).Attr("value"); got != want {
			t.Errorf("the form begins with %s %q, want %q", name, got, want)
		}
	}
	right := url.Values{"how": {"anew"}, "why": {"a digit was turned"}, "kind": {"material"}, "on": {"2026-06-05"}, "amount": {"204"}, "tax": {"16.83"}, "bearer": {"maker"}}
	for field, value := range map[string]string{"why": "", "amount": "many", "tax": "-3", "on": ""} {
		fields := url.Values{}
		for k, v := range right {
			fields[k] = v
		}
		fields.Set(field, value)
		if got := b.post(at, fields).want(422).text("#correct-" + field + "-error"); got == "" {
			t.Errorf("nothing is said beside %s %q", field, value)
		}
	}
	if n := len(s.costs(1)); n != 2 {
		t.Fatalf("a refused correction leaves %d lines", n)
	}
	s.clock.pass(20 * time.Hour)
	b.post(at, right).leads("/callbacks/1")
	lines := s.costs(1)
	if len(lines) != 4 || lines[1].Amount != wrong.Amount || lines[1].Version != wrong.Version {
		t.Fatalf("the correction leaves %+v", lines)
	}
	back, anew, today := lines[2], lines[3], units.NewDate(2026, time.June, 11)
	if back.Amount != -240_00 || back.Tax != -19_80 || back.On != wrong.On || back.LearnedOn != today || back.Note != "a digit was turned" || !back.Reverses() || *back.Corrects != wrong.ID {
		t.Errorf("it is taken back by %+v", back)
	}
	if anew.Amount != 204_00 || anew.Tax != 16_83 || anew.On != wrong.On || anew.LearnedOn != today || anew.Reverses() || *anew.Corrects != wrong.ID || costOf(lines) != 220_83 {
		t.Errorf("in its place stands %+v, and all adds up to %d", anew, costOf(lines))
	}
	page := b.get("/callbacks/1").want(200)
	if got := page.text("main"); !strings.Contains(got, "In all $220.83") {
		t.Errorf("the page does not add up: %s", page.text("#costs"))
	}
	for _, said := range []string{"was wrong", "takes a wrong line back", "written anew", "learned on June 11, 2026"} {
		if got := page.text("#costs"); !strings.Contains(got, said) {
			t.Errorf("the lines do not say %q: %s", said, got)
		}
	}
	// Neither of the two is corrected again; the line in its place can be.
	for _, id := range []int64{wrong.ID, back.ID} {
		if n := b.get("/callbacks/1/costs/" + idOf(id)).want(200).page().Find("#correct").Length(); n != 0 {
			t.Errorf("line %d can be corrected again", id)
		}
		b.post("/callbacks/1/costs/"+idOf(id), right).want(409)
	}
	b.post("/callbacks/1/costs/"+idOf(anew.ID), url.Values{"how": {"away"}, "why": {"it was for another roof"}}).leads("/callbacks/1")
	if got := costOf(s.costs(1)); got != 0 {
		t.Errorf("without the line the costs add up to %d", got)
	}
	b.get("/callbacks/1/costs/99").want(404)
	s.add(&models.Callback{Ref: "K-2", HouseID: ptr[int64](2), LearnedOn: today, State: "new"})
	b.post("/callbacks/2/costs/"+idOf(anew.ID), right).want(404) // another callback's line
}

// A refusal needs its reason, is told to the caller, and can be taken back.
func TestARefusalHasItsReason(t *testing.T) {
	s := courseSite(t)
	b := s.as(models.Office)
	refused := b.post("/callbacks/1", url.Values{"version": {"1"}, "state": {"refused"}, "cause_found": {"nothing_wrong"}}).want(422)
	if got := refused.text("#step-refused_because-error"); !strings.Contains(got, "needs its reason") {
		t.Errorf("beside the reason it says %q", got)
	}
	if _, open := refused.page().Find("#step-refused_because").Closest("details").Attr("open"); !open {
		t.Error("the reason is asked for in a part that is shut")
	}
	if k := s.callback(1); k.State != "new" || k.DecidedOn != 0 {
		t.Errorf("a refusal without a reason is kept: %+v", k)
	}
	b.post("/callbacks/1", url.Values{"version": {"1"}, "state": {"refused"}, "looked_on": {"2026-06-09"}, "cause_found": {"nothing_wrong"}, "refused_because": {"The drip is a pipe in the attic"}}).leads("/callbacks/1")
	k := s.callback(1)
	if k.State != "refused" || k.DecidedOn != units.NewDate(2026, time.June, 10) || k.Open() || k.RepairBy != 0 {
		t.Errorf("the refusal is kept as %+v", k)
	}
	page := b.get("/callbacks/1").want(200)
	for part, want := range map[string]string{".opening": "Tell Odile Marchetti that it is refused and why", ".history": "Refused: The drip is a pipe in the attic", "#step-refused_because": "The drip is a pipe"} {
		if got := page.text(part); !strings.Contains(got, want) {
			t.Errorf("%s says %q, want %q", part, got, want)
		}
	}
	if got := b.get("/callbacks?state=refused").want(200).text("#callbacks tbody"); !strings.Contains(got, "K-1") || !strings.Contains(got, "tell the caller, then close it") {
		t.Errorf("among the refused it says %q", got)
	}
	if got := b.get("/callbacks").want(200).text("#callbacks tbody"); strings.Contains(got, "K-1") {
		t.Error("a refused callback is still open")
	}
	// Nothing wrong cannot be accepted; something else that was found can.
	if got := b.post("/callbacks/1", url.Values{"version": {idOf(k.Version)}, "state": {"accepted"}}).want(422).text("#step-cause_found-error"); !strings.Contains(got, "nothing wrong is refused") {
		t.Errorf("accepting nothing wrong says %q", got)
	}
	b.post("/callbacks/1", url.Values{"version": {idOf(k.Version)}, "state": {"accepted"}, "cause_found": {"lap"}, "decided_on": {"2026-06-10"}}).leads("/callbacks/1")
	k = s.callback(1)
	if k.State != "accepted" || k.RepairBy != units.NewDate(2026, time.July, 1) { // 21 days
		t.Errorf("the refusal is taken back to %+v", k)
	}
	if got := b.get("/callbacks/1").want(200).text(".history"); !strings.Contains(got, "Opened again") || !strings.Contains(got, "Refused") {
		t.Errorf("the story leaves the refusal out: %q", got)
	}
}

// Who may do what with a callback, by hand and not by the table of permissions:
// each route with a form that is right, by each role.
func TestEveryRouteOfACallbackByRole(t *testing.T) {
	s := courseSite(t)
	s.add(&models.Callback{Ref: "K-2", HouseID: ptr[int64](1), RoofID: ptr[int64](1), LearnedOn: units.NewDate(2026, time.May, 2), State: "refused", RefusedBecause: "hail"})
	version := func() string { return idOf(s.callback(1).Version) }
	const owner, office, scheduler, roofer, bookkeeper = models.Owner, models.Office, models.Scheduler, models.Roofer, models.Bookkeeper
	see := []models.Role{owner, office, scheduler, roofer, bookkeeper}
	calls, edits, costs := []models.Role{owner, office, scheduler}, []models.Role{owner, office}, []models.Role{owner, office, bookkeeper}
	get := func(path string) func(*browser) answer { return func(b *browser) answer { return b.get(path) } }
	post := func(path string, fields url.Values) func(*browser) answer {
		return func(b *browser) answer { return b.post(path, fields) }
	}
	asked := map[string]bool{}
	for _, c := range []struct {
		route string
		may   []models.Role
		do    func(*browser) answer
	}{
		{"GET /callbacks", see, get("/callbacks")},
		{"GET /callbacks/new", calls, get("/callbacks/new")},
		{"POST /callbacks", calls, post("/callbacks", url.Values{"caller": {"Ida Berg"}, "about": {"A stain"}, "water_coming_in": {"no"}})},
		{"GET /callbacks/:id", see, get("/callbacks/1")},
		{"POST /callbacks/:id", edits, func(b *browser) answer {
			return b.post("/callbacks/1", url.Values{"version": {version()}, "waiting_on": {"weather"}})
		}},
		{"POST /callbacks/:id/ring-back", calls, post("/callbacks/1/ring-back", url.Values{"reached": {"no"}})},
		{"POST /callbacks/:id/house", edits, func(b *browser) answer {
			return b.post("/callbacks/1/house", url.Values{"version": {version()}, "house_id": {"1"}})
		}},
		{"POST /callbacks/:id/roof", []models.Role{owner, office, scheduler, roofer}, post("/callbacks/1/roof", url.Values{"done": {"looked"}})},
		{"POST /callbacks/:id/return", calls, post("/callbacks/2/return", url.Values{"about": {"Again"}, "water_coming_in": {"no"}})},
		{"POST /callbacks/:id/costs", costs, post("/callbacks/1/costs", url.Values{"kind": {"material"}, "on": {"2026-06-09"}, "amount": {"12"}})},
		{"POST /callbacks/:id/paid", costs, post("/callbacks/1/paid", url.Values{"paid_on": {"2026-06-10"}})},
		{"GET /callbacks/:id/costs/:line", costs, get("/callbacks/1/costs/1")},
		{"POST /callbacks/:id/costs/:line", costs, func(b *browser) answer {
			line := &models.CostLine{CallbackID: 1, On: units.NewDate(2026, time.June, 5), LearnedOn: units.NewDate(2026, time.June, 5), Kind: "access", Amount: 5}
			s.add(line)
			return b.post("/callbacks/1/costs/"+idOf(line.ID), url.Values{"how": {"away"}, "why": {"a test"}})
		}},
		{"GET /claims", costs, get("/claims")},
		{"POST /callbacks/:id/claims", costs, post("/callbacks/1/claims", url.Values{"against": {"insurer"}, "who": {"Invented Mutual"}})},
		{"GET /claims/:id", costs, get("/claims/1")},
		{"POST /claims/:id", costs, func(b *browser) answer {
			return b.post("/claims/1", url.Values{"version": {idOf(s.claim(1).Version)}, "number": {"7"}})
		}},
	} {
		asked[c.route] = true
		for _, role := range models.AllRoles {
			want := 403
			if slices.Contains(c.may, role) {
				if want = 200; strings.HasPrefix(c.route, "POST") {
					want = 303
				}
			}
			if got := c.do(s.as(role)); got.Status != want {
				t.Errorf("%s answers the %s %d, want %d: %s", c.route, role, got.Status, want, got.text("main"))
			}
		}
	}
	for _, route := range append(s.callbackRoutes(), s.claimRoutes()...) {
		if is := route.Method + " " + route.Path; !asked[is] {
			t.Errorf("%s is not asked for here", is)
		}
	}
}
