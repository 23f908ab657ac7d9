package service

import (
	"testing"

	"overhang/models"
	"overhang/models/demo"
	"overhang/models/store"
)

// BenchmarkRoof reads the pages of the demo's standing roofs, each for the first
// time since the server started: with the reasons of its estimate, what looks would be
// worth and the year of its attic.
func BenchmarkRoof(b *testing.B) {
	s := emptyService(b)
	who := Program("a benchmark")
	if _, err := s.FillDemo(b.Context(), who, demo.Options{Seed: 1}, nil); err != nil {
		b.Fatal(err)
	}
	ids, err := store.IDs(s.Store.Query(b.Context()), "SELECT id FROM roofs WHERE ours = 1 AND ended_on IS NULL ORDER BY id")
	if err != nil {
		b.Fatal(err)
	}
	if err := s.WarmUp(b.Context()); err != nil {
		b.Fatal(err)
	}
	owner := Actor{Roles: models.Roles{models.Owner}}
	for i := 0; b.Loop(); i++ {
		if i%len(ids) == 0 {
			b.StopTimer()
			s.heat.kept = nil
			b.StartTimer()
		}
		if _, err := s.Roof(b.Context(), owner, ids[i%len(ids)], AsUsual); err != nil {
			b.Fatal(err)
		}
	}
}
