package store

import (
	"fmt"
	"testing"

	"overhang/models"
)

func TestUpdateAllWritesWhatChangedAndOnlyThat(t *testing.T) {
	s := openTest(t)
	addHouse(t, s, "H-0")
	write(t, s, func(tx *Tx) error {
		houses := make([]models.House, 2*batch)
		for i := range houses {
			houses[i] = models.House{Ref: fmt.Sprintf("H-%d", i+1), BranchID: 1}
		}
		return CreateAll(tx, houses)
	})
	before, err := Count[models.AuditEntry](s.Query(t.Context()), "")
	if err != nil {
		t.Fatal(err)
	}
	var houses []models.House
	write(t, s, func(tx *Tx) error {
		if houses, err = List[models.House](tx.Query, "id", ""); err != nil {
			return err
		}
		for i := range houses {
			if i%2 == 0 {
				houses[i].Builder = "Invented Homes"
			}
		}
		return UpdateAll(tx, houses)
	})
	changed := len(houses)/2 + len(houses)%2
	if n, _ := Count[models.House](s.Query(t.Context()), "builder = 'Invented Homes' AND version = 2"); n != changed {
		t.Errorf("%d houses are changed, not %d", n, changed)
	}
	if n, _ := Count[models.House](s.Query(t.Context()), "builder = '' AND version = 1"); n != len(houses)-changed {
		t.Errorf("%d houses are left alone", n)
	}
	after, _ := Count[models.AuditEntry](s.Query(t.Context()), "")
	entry, err := First[models.AuditEntry](s.Query(t.Context()), "action = 'changed'")
	if err != nil || after-before != changed || entry.Changes != `{"builder":["","Invented Homes"]}` || entry.By != tester.Name {
		t.Errorf("%d audit entries, the first %+v, %v", after-before, entry, err)
	}
	kept, err := Get[models.House](s.Query(t.Context()), houses[0].ID)
	if err != nil || !kept.CreatedAt.Equal(houses[0].CreatedAt) {
		t.Errorf("kept: %+v %v", kept, err)
	}
	// The rows given stand at the version they were read at, which is no longer
	// the newest for the changed ones.
	houses[0].Version, houses[0].Plan = 1, "Aspen"
	refuse := func(rec models.House, code models.Code) {
		t.Helper()
		err := s.Write(t.Context(), tester, func(tx *Tx) error { return UpdateAll(tx, []models.House{rec}) })
		if models.CodeOf(err) != code {
			t.Errorf("want %s, have %v", code, err)
		}
	}
	refuse(houses[0], models.Conflict)
	refuse(models.House{Row: models.Row{ID: 1e6}, Ref: "H-x", BranchID: 1}, models.NotFound)
	houses[1].Ref = ""
	refuse(houses[1], models.Invalid)
	houses[1].Ref = "H-0"
	refuse(houses[1], models.Conflict)
}

func TestASnapshotStaysAsItWas(t *testing.T) {
	s := openTest(t)
	addHouse(t, s, "H-1")
	err := s.Snapshot(t.Context(), func(q Query) error {
		first, err := After[models.House](q, 0, 10)
		if err != nil {
			return err
		}
		addHouse(t, s, "H-2")
		again, err := After[models.House](q, 0, 10)
		if len(first) != 1 || len(again) != 1 {
			t.Errorf("%d houses and then %d", len(first), len(again))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	rest, err := After[models.House](s.Query(t.Context()), 1, 10)
	if err != nil || len(rest) != 1 || rest[0].Ref != "H-2" {
		t.Errorf("after the first: %+v %v", rest, err)
	}
}

func TestNamesAreFoundBothWays(t *testing.T) {
	s := openTest(t)
	h := addHouse(t, s, "H-1")
	for name, table := range map[string]NameTable{"houses": HouseNames, "roofs": RoofNames, "jobs": JobNames, "warranties": WarrantyNames,
		"callbacks": CallbackNames, "visits": VisitNames, "storms": StormNames, "contacts": ContactNames, "coverings": CoveringNames,
		"terms": TermsNames, "crews": CrewNames} {
		byName, err := table.ByName(s.Query(t.Context()), []string{"H-1", "H-9"})
		byID, otherErr := table.ByID(s.Query(t.Context()), []int64{h.ID, 99})
		if err != nil || otherErr != nil {
			t.Errorf("%s: %v %v", name, err, otherErr)
		}
		want := Named{ID: h.ID, Name: "H-1", House: h.ID}
		if name == "houses" && (len(byName) != 1 || byName[0] != want || len(byID) != 1 || byID[0] != want) {
			t.Errorf("found %+v and %+v", byName, byID)
		}
	}
}
