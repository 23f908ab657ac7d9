package service

import (
	"strings"
	"testing"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// A visit saw slopes of its own roof, or of its house where it is for no one roof,
// and found nothing on one that was out of sight.
func TestAVisitSeesItsOwnSlopes(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	mustRead(t, s, "slopes", "house_ref,structure,name\nH-0001,garage,shed\nH-0002,main,south\n")
	number := func(house, structure, name string) int64 {
		t.Helper()
		found, err := store.Rows[struct{ ID int64 }](s.Store.Query(t.Context()), `SELECT s.id FROM slopes s JOIN structures b ON b.id = s.structure_id
JOIN houses h ON h.id = b.house_id WHERE h.ref = ? AND b.name = ? AND s.name = ?`, house, structure, name)
		if err != nil || len(found) != 1 {
			t.Fatal(found, err)
		}
		return found[0].ID
	}
	south, north, shed, theirs := number("H-0001", "main", "south"), number("H-0001", "main", "north"), number("H-0001", "garage", "shed"), number("H-0002", "main", "south")
	roof, err := store.First[models.Roof](s.Store.Query(t.Context()), "ref = 'R-0001'")
	if err != nil {
		t.Fatal(err)
	}
	moss := func(slope int64, look string) models.Finding {
		f := models.Finding{Defect: "moss", Look: look, SlopeID: &slope}
		if look == "seen" {
			f.Severity = new(2)
		}
		return f
	}
	for _, c := range []struct {
		name    string
		roof    *int64
		inSight []int64
		found   []models.Finding
		field   string // that is refused
		rule    string
	}{
		{"its own", &roof.ID, []int64{south, north}, nil, "", ""},
		{"none", &roof.ID, []int64{}, nil, "", ""},
		{"found where it looked", &roof.ID, []int64{south}, []models.Finding{moss(south, "seen")}, "", ""},
		{"not looked where it could not", &roof.ID, []int64{south}, []models.Finding{moss(north, "not_looked")}, "", ""},
		{"of the house", nil, []int64{south, shed}, nil, "", ""},
		{"of the garage", &roof.ID, []int64{south, shed}, nil, "in_sight", "is not a slope of this roof"},
		{"of another house", nil, []int64{theirs}, nil, "in_sight", "is not a slope of this house"},
		{"of nobody", &roof.ID, []int64{999}, nil, "in_sight", "is not a slope of this roof"},
		{"twice", &roof.ID, []int64{south, south}, nil, "in_sight", "names a slope twice"},
		{"found on another house", &roof.ID, nil, []models.Finding{moss(theirs, "seen")}, "slope_id", "is not a slope of this roof"},
		{"found where it could not look", &roof.ID, []int64{south}, []models.Finding{moss(north, "seen")}, "slope_id", "was not in sight"},
		{"looked, none, where it could not", &roof.ID, []int64{}, []models.Finding{moss(north, "none")}, "slope_id", "was not in sight"},
	} {
		v := &models.Visit{HouseID: roof.HouseID, RoofID: c.roof, Purpose: "checkup", DoneOn: units.NewDate(2026, 6, 1), Method: "street", ByName: "Rolf"}
		if c.inSight != nil {
			v.InSight = new(models.JSON[int64](c.inSight))
		}
		err := s.RecordVisit(t.Context(), roofer, v, c.found)
		rules := wrong(err)
		if c.field == "" && err != nil || c.field != "" && !strings.Contains(rules[c.field], c.rule) {
			t.Errorf("%s: %v, %v", c.name, rules, err)
		}
		if c.field != "" {
			continue
		}
		kept, err := store.Get[models.Visit](s.Store.Query(t.Context()), v.ID)
		if err != nil || kept.InSight == nil || len(*kept.InSight) != len(c.inSight) {
			t.Errorf("%s: kept is %+v, %v", c.name, kept, err)
		}
	}
}

// What a visit had in sight changes what its roof is estimated from.
func TestEstimatesFollowWhatWasInSight(t *testing.T) {
	s := intakeService(t)
	templates(t, s)
	roof, err := store.First[models.Roof](s.Store.Query(t.Context()), "ref = 'R-0001'")
	if err != nil {
		t.Fatal(err)
	}
	slope, err := store.First[models.Slope](s.Store.Query(t.Context()), "name = 'south'")
	if err != nil {
		t.Fatal(err)
	}
	set, err := s.Settings(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	v := &models.Visit{HouseID: roof.HouseID, RoofID: &roof.ID, Purpose: "checkup", DoneOn: s.Today(set), Method: "street"}
	save := func(found ...models.Finding) string {
		t.Helper()
		if err := s.RecordVisit(t.Context(), roofer, v, found); err != nil {
			t.Fatal(err)
		}
		detail, err := s.RefreshEstimates(t.Context(), Program("a test"), s.Today(set), func(int, int) {})
		if err != nil {
			t.Fatal(err)
		}
		return detail
	}
	save(models.Finding{Defect: "granule_loss", Look: "seen", Severity: new(2), Extent: new(0.2)})
	if got := save(); !strings.Contains(got, " 0 estimated anew") {
		t.Fatalf("with nothing changed: %s", got)
	}
	v.InSight = &models.JSON[int64]{slope.ID}
	if got := save(); !strings.Contains(got, " 1 estimated anew") {
		t.Errorf("with one slope in sight: %s", got)
	}
	v.InSight = nil
	if got := save(); !strings.Contains(got, " 1 estimated anew") {
		t.Errorf("with nobody saying so: %s", got)
	}
}
