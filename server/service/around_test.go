package service

import (
	"io"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"overhang/models/demo"
	"overhang/models/store"
)

// A roof's file knows what happened to others of its covering and its lots, and
// the storms: what moves its life beside what is on record of itself.
func TestRoofFilesKnowWhatIsAround(t *testing.T) {
	ctx := t.Context()
	st, err := store.Open(ctx, filepath.Join(t.TempDir(), "demo.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	s := New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), func() time.Time { return time.Date(2026, 11, 25, 17, 0, 0, 0, time.UTC) })
	if _, err := s.FillDemo(ctx, Program("a test"), demo.Options{Seed: 1, Roofs: 120, Houses: 150}, nil); err != nil {
		t.Fatal(err)
	}
	q := st.Query(ctx)
	ids, err := store.IDs(q, "SELECT id FROM roofs ORDER BY id")
	if err != nil {
		t.Fatal(err)
	}
	files, err := store.RoofFiles(q, ids)
	if err != nil {
		t.Fatal(err)
	}
	counted := func(statement string) int {
		t.Helper()
		n, err := store.IDs(q, statement)
		if err != nil || len(n) == 0 {
			t.Fatalf("the invented company has nothing to look for: %v, %v", n, err)
		}
		return len(n)
	}
	lots, storms := counted("SELECT l.id FROM lots l JOIN job_roofs j ON j.job_id = l.job_id"), counted("SELECT id FROM storms")
	troubled := counted("SELECT c.id FROM callbacks c JOIN roofs r ON r.id = c.roof_id WHERE c.cause_found = 'material' AND c.state IN ('accepted', 'repaired', 'closed') AND r.covering_id IS NOT NULL AND c.refused_because = ''")
	own := 0
	for i := range files {
		f := &files[i]
		lots -= len(f.Lots)
		if len(f.Storms) != storms {
			t.Errorf("%s knows %d storms of %d", f.Roof.Ref, len(f.Storms), storms)
		}
		for _, trouble := range f.Troubles {
			if trouble.On.IsZero() {
				t.Errorf("a trouble of %s has no day", f.Roof.Ref)
			}
			if trouble.RoofID == f.Roof.ID {
				own++
				if len(f.Lots) != len(trouble.Lots) {
					t.Errorf("%s: the lots of its trouble are %v, its own %v", f.Roof.Ref, trouble.Lots, f.Lots)
				}
			}
		}
		if f.Covering != nil && f.CoveringLaid < 1 {
			t.Errorf("%s: its covering was laid on no roof", f.Roof.Ref)
		}
	}
	if lots != 0 || own != troubled {
		t.Errorf("%d lots are left over; %d troubles of %d", lots, own, troubled)
	}
}
