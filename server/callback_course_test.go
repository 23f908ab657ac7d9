package server

import (
	"fmt"
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
	press(t, tab, form+` .send button`, `body:not([data-left]) main`)
}

// shows fails the test when a part of the page does not say something.
func shows(t *testing.T, tab *screens.Tab, part string, want ...string) {
	t.Helper()
	got := screens.Eval[string](t, tab, `[...document.querySelectorAll('`+part+`')].map((e) => e.textContent).join(" ").replace(/\s+/g, " ")`)
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
		looksRight(t, office, "course-02-taken")

		// Two tries to ring back.
		submit(t, office, "#tried")
		s.clock.pass(time.Hour)
		looksRight(t, office, "course-03-tried")
		submit(t, office, "#got")
		shows(t, office, ".opening", "Lay a temporary cover")
		shows(t, office, "#times", "ring back", "in time")
		looksRight(t, office, "course-04-reached")

		// The roofer covers it, and on the next day finds out why.
		roofer.Go(t, here)
		shows(t, roofer, ".caution", "ladder")
		looksRight(t, roofer, "course-05-roofer")
		submit(t, roofer, "#onroof", "done", "covered", "hours", "1.5")
		shows(t, roofer, ".opening", "Look at it by June 13, 2026", "a temporary cover lies over it since June 10, 2026")
		looksRight(t, roofer, "course-06-covered")
		s.clock.pass(days)
		roofer.Go(t, here)
		submit(t, roofer, "#onroof", "done", "looked", "cause_found", "flashing", "place", "chimney", "hours", "1", "note", "The step flashing is nailed through twice")
		looksRight(t, roofer, "course-07-looked")

		// The office accepts it; it waits on the weather, then on parts.
		office.Go(t, here)
		shows(t, office, ".opening", "Accept or refuse it", "It was looked at on June 11, 2026.")
		shows(t, office, "#step > fieldset legend", "The decision")
		looksRight(t, office, "course-08-decide")
		submit(t, office, "#step", "state", "accepted", "accepted_for", "The chimney flashing laid anew", "bearer", "us", "waiting_on", "weather")
		shows(t, office, ".opening", "It waits on the weather since June 11, 2026")
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
		submit(t, roofer, "#onroof", "done", "repaired", "hours", "4")
		looksRight(t, roofer, "course-13-repaired")

		// What it cost: 6.5 h of ours at 86 are 559; 2 h more are 172.
		office.Go(t, here)
		shows(t, office, ".opening", "Settle what it cost")
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
		shows(t, office, ".opening", "Close it")
		looksRight(t, office, "course-22-all-paid")
		submit(t, office, "#step", "state", "closed")
		shows(t, office, ".opening", "It is closed.")
		looksRight(t, office, "course-23-closed")

		// It comes back.
		s.clock.pass(6 * days)
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
