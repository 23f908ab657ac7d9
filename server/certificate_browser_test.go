package server

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
	screens "overhang/views/browser"
)

// What a written warranty should say (16 CFR 701.3(a); the heading after the
// Magnuson-Moss Warranty Act, and the notice of rights, both second-hand) stands
// on the paper that a homeowner is handed, with its words; and nothing stands on
// it that is the office's.
func TestACertificateOnPaper(t *testing.T) {
	b := screens.Start(t)
	for _, screen := range []screens.Screen{screens.Office, screens.Phone} {
		s := promiseSite(t)
		err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
			company, err := store.Get[models.Company](tx.Query, 1)
			if err != nil {
				return err
			}
			company.Street, company.Town, company.Phone = "3 Sawpit Lane", "Tarn", "555-0101"
			return tx.Update(company)
		})
		if err != nil {
			t.Fatal(err)
		}
		s.add(&models.Terms{Key: "paper", Name: "Ten years, on paper", Kind: "workmanship", TermMonths: 120, FullMonths: 60, ShareMethod: "whole_term", Title: "limited",
			Labour: true, Material: true, Transfer: "by_notice", NoticeDays: 60, Conditions: models.JSON[models.Condition]{{Kind: "yearly_checkup"}, {Kind: "registered", Days: 60}},
			Remedy: "We come and mend it.", Excluded: "Hail is left out.", HowToClaim: "First ring us. Then write.", Rights: "The state may give you other rights."},
			&models.Warranty{Ref: "W-P", RoofID: 1, JobID: ptr[int64](1), TermsID: 4, OwedBy: "us", StartOn: units.NewDate(2025, time.August, 5), Wording: "As we signed it."})
		at, _ := s.listen()
		home := "http://" + at
		tab := b.Open(t, home+"/sign-in", screen)
		enter(t, tab, models.Office)
		tab.Go(t, home+"/promises/4/certificate")
		looksRight(t, tab, "certificate")
		if got := screens.Eval[string](t, tab, `document.querySelector("#points caption").textContent`); got != "What a written warranty should say: all of it is there" {
			t.Errorf("%s: %q", screen.Name, got)
		}

		paper, sheets := printed(t, tab)
		told := map[string][]string{
			"title":            {"Limited warranty"},
			"to_whom":          {"goes along with the first sale, of which notice is due in writing, and ends with the second", "within 60 days of the sale"},
			"covered":          {"It pays for: labour, material.", "It does not pay for: tear-off, disposal."},
			"excluded":         {"Hail is left out.", "New step flashing, declined in writing on July 1, 2015"},
			"remedy":           {"We come and mend it."},
			"start_and_length": {"From August 5, 2025 through August 4, 2035, both days counted; its term is 120 months."},
			"claim_route":      {"First ring us. Then write."},
			"warrantor":        {"Larch Valley Roofing, 3 Sawpit Lane, Tarn, 555-0101"},
			"rights":           {"The state may give you other rights.", "local law and licensed advice decide"},
		}
		for _, point := range promise.Disclosure(promise.Terms{}, promise.Paper{}) {
			if len(told[point.Key]) == 0 {
				t.Errorf("nothing is asked for of the point %s", point.Key)
			}
			for _, want := range told[point.Key] {
				if !strings.Contains(paper, want) {
					t.Errorf("%s: the paper does not say %q (%s): %s", screen.Name, want, point.Key, paper)
				}
			}
		}
		// Whom it is for and since when, how each condition is shown and stands, and
		// what was signed.
		for _, want := range []string{"Odile Marchetti", "12 Larch Street", "Given on", "June 10, 2026", "Take up the check-up that is offered each year", "by August 4, 2026", "As we signed it."} {
			if !strings.Contains(paper, want) {
				t.Errorf("%s: the paper does not say %q: %s", screen.Name, want, paper)
			}
		}
		for _, not := range []string{"Signed in", "For the office", "701.3", "Keep it as given", "To promise", "Search", "Today is"} {
			if strings.Contains(paper, not) {
				t.Errorf("%s: on the paper stands %q: %s", screen.Name, not, paper)
			}
		}
		if sheets < 1 || sheets > 2 {
			t.Errorf("%s: it takes %d sheets of paper", screen.Name, sheets)
		}

		// As it was given it reads the same, on a page of its own.
		tab.Go(t, home+"/promises/4/certificate")
		press(t, tab, "#give button", ".flash")
		looksRight(t, tab, "certificate-given")
		given, _ := printed(t, tab)
		for _, wants := range told {
			for _, want := range wants {
				if !strings.Contains(given, want) {
					t.Errorf("%s: as given, the paper does not say %q: %s", screen.Name, want, given)
				}
			}
		}
		if strings.Contains(given, "Signed in") || strings.Contains(given, "is kept as it reads here") || !strings.Contains(given, "As it was given to Odile Marchetti on June 10, 2026.") {
			t.Errorf("%s: as given: %s", screen.Name, given)
		}

		// Of a promise whose terms say little, the office reads what lacks and where
		// it can be written.
		tab.Go(t, home+"/promises/1/certificate")
		looksRight(t, tab, "certificate-lacking")
		lacks := screens.Eval[[]string](t, tab, `[...document.querySelectorAll("#points tbody tr")].filter((r) => r.cells[1].innerText.includes("lack it")).map((r) => r.cells[0].innerText)`)
		if len(lacks) != 5 || !slices.Contains(lacks, "What is left out.") || !slices.Contains(lacks, "How to claim, step by step.") {
			t.Errorf("%s: lacking are %q", screen.Name, lacks)
		}
		if got := screens.Eval[string](t, tab, `document.querySelector("main").innerText`); !strings.Contains(got, "is written in new terms") {
			t.Errorf("%s: where what lacks is written is not said: %s", screen.Name, got)
		}
	}
}

// printed gives what a page says on paper, and on how many sheets of letter size.
func printed(t *testing.T, tab *screens.Tab) (said string, sheets int) {
	t.Helper()
	media := func(m string) {
		if _, err := chromedp.Call(tab.Context, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: m}); err != nil {
			t.Fatal(err)
		}
	}
	media("print")
	said = screens.Eval[string](t, tab, "document.body.innerText")
	media("")
	pdf, err := chromedp.Call(tab.Context, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.5, PaperHeight: 11})
	if err != nil {
		t.Fatal(err)
	}
	return said, bytes.Count(pdf.Data, []byte("/Type /Page\n"))
}
