package server

import (
	"testing"

	"overhang/models"
	"overhang/models/demo"
	"overhang/server/service"
)

// Each figure of the page leads to the estimates behind it, and who looked is
// for the owner alone.
func TestTheHindsightPage(t *testing.T) {
	s := emptySite(t, Options{})
	who := service.Program("a test")
	if _, err := s.service.FillDemo(t.Context(), who, demo.Options{Seed: 1, Roofs: 40, Houses: 60}, nil); err != nil {
		t.Fatal(err)
	}
	if err := s.service.KeepHindcast(t.Context(), who); err != nil {
		t.Fatal(err)
	}
	h, err := s.service.Hindsight(t.Context(), who)
	if err != nil || h.Result == nil {
		t.Fatalf("%+v, %v", h, err)
	}
	hasInspector := false
	for _, split := range h.Result.Splits {
		if hindsightBy[split.By] == nil {
			t.Errorf("the split by %s has no caption", split.By)
		}
		hasInspector = hasInspector || split.By == "inspector"
	}
	if !hasInspector {
		t.Error("the program does not see who looked")
	}
	roofer, err := s.service.Hindsight(t.Context(), service.Actor{Name: "Rolf", Roles: models.Roles{models.Roofer}})
	if err != nil || len(roofer.Result.Splits) != len(h.Result.Splits)-1 {
		t.Errorf("a roofer sees %d splits of %d, %v", len(roofer.Result.Splits), len(h.Result.Splits), err)
	}
}

// A company without old estimates is told so, and the lists are empty.
func TestTheHindsightPageWithNothingToSay(t *testing.T) {
	s := newSite(t)
	b := s.as(models.Owner)
	if opening := b.get("/estimates/check").want(200).text(".opening"); opening == "" {
		t.Error("the page has no opening")
	}
	b.get("/estimates/check/cases?by=covering&group=metal&show=next&page=9").want(200)
}
