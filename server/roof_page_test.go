package server

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// write adds records to a site.
func (s *site) write(records ...models.Record) {
	s.t.Helper()
	err := s.service.Store.Write(s.t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error {
		for _, rec := range records {
			if err := tx.Create(rec); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		s.t.Fatal(err)
	}
}

// The example of the American rule that is easily got wrong: 1,500 ft² of attic
// ask for 1,440 in² at 1/150. 500 in² high and 220 in² low are 720 in², which
// is 1/300, but the high vents hold more than half of it (IRC 2021, R806.2, from
// memory).
func TestAnAtticIsJudgedOnTheRoofsPage(t *testing.T) {
	s := newSite(t)
	s.write(
		&models.Structure{HouseID: 1, Name: "Garage", Kind: "garage"},
		&models.Attic{StructureID: 1, Name: "Loft", VentedArea: ptr(1500 * units.SquareFoot), Retarder: "none"},
		&models.Vent{AtticID: 2, Name: "Ridge boxes", Kind: "box", Height: "high", Count: ptr(10), FreeArea: ptr(50 * units.SquareInch)},
		&models.Vent{AtticID: 2, Name: "Soffit", Kind: "soffit_panel", Height: "low", Count: ptr(10), FreeArea: ptr(22 * units.SquareInch)},
	)
	page := s.as(models.Owner).get("/roofs/1").want(http.StatusOK)
	text := page.text("main")
	for _, want := range []string{"Ventilation: Loft: falls short", "1,440 in²", "720 in²", "500 in²", "220 in²", "IRC 2021, R806.2",
		"What would put it right", "fall protection", "licensed", "less vent area than the code asks for",
		// The other attic was never measured, which is said and is no verdict.
		"Main attic", "Nobody has measured this attic"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if got := page.text("#vents"); !strings.Contains(got, "50 in² each") || !strings.Contains(got, "10 vents") {
		t.Errorf("the vents read %s", got)
	}
}

// A flange is covered for two thirds as it should be (common practice, no
// source).
func TestLapsAreSaidAsARooferSaysThem(t *testing.T) {
	for _, c := range []struct {
		share *float64
		want  string
	}{{ptr(0.667), "two thirds"}, {ptr(0.5), "half"}, {ptr(0.33), "a third"}, {ptr(0.1), "less than a third"}, {ptr(1.0), "all of it"}, {nil, "not known"}} {
		s := newSite(t)
		s.write(&models.Detail{StructureID: 1, Name: "Stack", Kind: "penetration", Form: "new", Lap: c.share})
		if got := s.as(models.Owner).get("/roofs/1").text("#details tbody"); !strings.Contains(got, c.want) {
			t.Errorf("the lap reads %s, want %s", got, c.want)
		}
	}
}

func TestVisitsTellWhatTheyFound(t *testing.T) {
	s := newSite(t)
	day := units.NewDate(2025, time.May, 6)
	s.write(
		&models.Slope{StructureID: 1, Name: "South slope", Pitch: ptr(units.PitchIn12(6)), Area: ptr(900 * units.SquareFoot)},
		&models.Visit{Ref: "V-9", HouseID: 1, RoofID: ptr[int64](1), Purpose: "checkup", DoneOn: day, Method: "ladder", ByName: "Ned"},
		&models.Finding{VisitID: 2, SlopeID: ptr[int64](1), Defect: "granule_loss", Look: "seen", Severity: ptr(2), Extent: ptr(0.2)},
		&models.Finding{VisitID: 2, Defect: "moss", Look: "none"},
	)
	page := s.as(models.Owner).get("/roofs/1").want(http.StatusOK)
	if got := page.text("#visits + ol"); !strings.Contains(got, "Granules lost (2, plain), South slope") || strings.Contains(got, "Moss") {
		t.Errorf("the visits read %s", got)
	}
	// The estimate counts the look as a reason of its own.
	if got := page.text(".reasons"); !strings.Contains(got, "Looked at on May 6, 2025, from a ladder") {
		t.Errorf("the reasons are %s", got)
	}
	if got := page.text("#quantities"); !strings.Contains(got, "9 squares") {
		t.Errorf("the quantities are %s", got)
	}
}

// Under five years only the table speaks: no chances, no chart, no range of
// years left.
func TestANewRoofSaysNoMoreThanItsTable(t *testing.T) {
	s := newSite(t)
	s.write(&models.Roof{Ref: "R-3", HouseID: 1, CoveringID: ptr[int64](1), Ours: true, Laid: units.Dated{On: units.NewDate(2024, time.May, 2), Precision: units.ToDay}})
	page := s.as(models.Owner).get("/roofs/3").want(http.StatusOK)
	if got := page.text(".opening"); !strings.Contains(got, "too new") {
		t.Errorf("the page opens with %s", got)
	}
	if got := page.text("main"); !strings.Contains(got, "Coverings of this kind") || strings.Contains(got, "Past its line already") {
		t.Errorf("the page says %s", got)
	}
	if n := page.page().Find("#serves, .reasons, svg.range").Length(); n != 0 {
		t.Errorf("%d drawings of years left stand on the page of a new roof", n)
	}
}

// An ended roof tells how it ended and is not estimated.
func TestAnEndedRoof(t *testing.T) {
	s := newSite(t)
	s.write(&models.Roof{Ref: "R-3", HouseID: 1, Laid: units.Dated{On: units.NewDate(1994, time.July, 1), Precision: units.ToYear},
		EndedOn: units.NewDate(2015, time.August, 3), EndReason: "worn_out"})
	page := s.as(models.Owner).get("/roofs/3").want(http.StatusOK)
	if got := page.text(".opening"); !strings.Contains(got, "It ended on August 3, 2015: worn out") {
		t.Errorf("the page opens with %s", got)
	}
	if page.page().Find("#years").Length() != 0 {
		t.Error("an ended roof has years left")
	}
	if got := s.as(models.Owner).get("/roofs/1").text("#other-roofs"); !strings.Contains(got, "August 3, 2015: worn out") {
		t.Errorf("the other roofs read %s", got)
	}
	// Nobody said that we laid it, so it is listed among all ended roofs only.
	if got := s.as(models.Owner).get("/roofs?standing=no").text("#roofs"); !strings.Contains(got, "No roof is like that") {
		t.Errorf("our ended roofs are %s", got)
	}
	if got := s.as(models.Owner).get("/roofs?standing=no&ours=any").text("#roofs tbody"); !strings.Contains(got, "12 Larch Street") || !strings.Contains(got, "ended August 3, 2015") {
		t.Errorf("the ended roofs are %s", got)
	}
}

// Each role reads on a roof's page what its work needs, and no more.
func TestARoofsPageByRole(t *testing.T) {
	s := newSite(t)
	s.write(&models.Crew{Name: "South crew"},
		&models.Job{Ref: "J-9", HouseID: 1, CrewID: ptr[int64](1), Price: 18_400 * units.Dollar, StartedOn: units.NewDate(2015, time.August, 1), Foreman: "Tam Verrick"})
	if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error {
		return tx.Put(&models.JobRoof{JobID: 2, RoofID: 1})
	}); err != nil {
		t.Fatal(err)
	}
	parts := map[string]string{"promises": "#promises", "callbacks": "#callbacks", "visits": "#visits", "holders": "#holders"}
	for role, sees := range map[models.Role][]string{
		models.Owner: {"promises", "callbacks", "visits", "holders"}, models.Office: {"promises", "callbacks", "visits", "holders"},
		models.Seller: nil, models.Scheduler: {"callbacks", "visits", "holders"}, models.Roofer: {"callbacks", "visits"},
		models.Bookkeeper: {"promises", "callbacks"},
	} {
		page := s.as(role).get("/roofs/1").want(http.StatusOK)
		doc := page.page()
		shown := " " + strings.Join(sees, " ") + " "
		for name, selector := range parts {
			if got, want := doc.Find(selector).Length() > 0, strings.Contains(shown, " "+name+" "); got != want {
				t.Errorf("the %s sees the part %s: %v, want %v", role, name, got, want)
			}
		}
		text := page.text("main")
		if money := role == models.Owner || role == models.Bookkeeper; strings.Contains(text, "$18,400") != money {
			t.Errorf("the %s reads the price: %v, want %v", role, !money, money)
		}
		if strings.Contains(text, "555-0134") != strings.Contains(shown, " holders ") {
			t.Errorf("the telephone number and the %s", role)
		}
		if edits := role == models.Owner || role == models.Office; strings.Contains(text, "Correct the roof") != edits {
			t.Errorf("the %s is led to the form: %v, want %v", role, !edits, edits)
		}
		if !strings.Contains(text, "North crew") || strings.Contains(text, "Tam Verrick") {
			t.Errorf("the %s reads of the work: a crew and never a person is named", role)
		}
	}
}

// Every change of a roof is told at the foot of its page.
func TestARoofsChangesAreTold(t *testing.T) {
	s := newSite(t)
	owner := s.as(models.Owner)
	typed := edited(owner.get("/roofs/1/edit"), "#roof")
	typed.Set("colour", "charcoal")
	owner.post("/roofs/1", typed).leads("/roofs/1")
	if got := owner.get("/roofs/1").text("#changes"); !strings.Contains(got, "charcoal") || !strings.Contains(got, "The owner") {
		t.Errorf("the changes are %s", got)
	}
}
