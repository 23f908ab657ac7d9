package service

import (
	"context"
	"os"
	"strconv"
	"syscall"
	"testing"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/demo"
	"overhang/models/store"
)

// BenchmarkRefresh estimates every roof of a company anew as the night does, and
// in the same run reads the same roofs and writes the same rows alone. It prints
// how many times the one takes the other, by the clock and by the processor: the
// night is meant for a machine that has nothing else to do, and where it has, the
// clock says less. OVERHANG_ROOFS is the number of roofs; a hundred thousand want some
// minutes to be made first.
func BenchmarkRefresh(b *testing.B) {
	roofs := 2000
	if n, err := strconv.Atoi(os.Getenv("OVERHANG_ROOFS")); err == nil {
		roofs = n
	}
	ctx := b.Context()
	s := townOf(b, roofs)
	st := s.Store
	set, err := s.Settings(ctx)
	if err != nil {
		b.Fatal(err)
	}
	refresh := func(day units.Date) {
		if _, err := s.refreshEstimates(ctx, set, day, func(int, int) {}); err != nil {
			b.Fatal(err)
		}
	}
	day := units.NewDate(2026, time.November, 25)
	refresh(day) // makes the tables of the attics, once for the life of the program
	var nights, alone, nightsWork, aloneWork time.Duration
	timed := func(do func(), took, worked *time.Duration) {
		began, before := time.Now(), processorTime(b)
		do()
		*took += time.Since(began)
		*worked += processorTime(b) - before
	}
	rows := 0
	b.ResetTimer()
	for b.Loop() {
		day = day.AddDays(refreshDays + 1) // so that every roof is estimated
		timed(func() { refresh(day) }, &nights, &nightsWork)
		kept, err := store.List[models.Estimate](st.Query(ctx), "roof_id", "as_of = ?", day)
		if err != nil {
			b.Fatal(err)
		}
		timed(func() {
			if err := s.copyEstimates(ctx, kept); err != nil {
				b.Fatal(err)
			}
		}, &alone, &aloneWork)
		rows += len(kept)
	}
	b.ReportMetric(float64(nights)/float64(alone), "times-read-and-write-alone")
	b.ReportMetric(float64(nightsWork)/float64(aloneWork), "times-its-processor-time")
	b.ReportMetric(float64(rows)/nights.Seconds(), "roofs/s")
}

// townOf is the service of a demo company of so many roofs, whose months are not
// closed.
func townOf(b *testing.B, roofs int) *Service {
	b.Helper()
	s := emptyService(b)
	c := demo.Make(demo.Options{Seed: 1, Roofs: roofs, Houses: 1, Today: units.DateOf(s.Now())})
	if err := s.Store.Write(b.Context(), Program("a benchmark").By(), func(tx *store.Tx) error {
		if err := tx.Create(&c.Company); err != nil {
			return err
		}
		if err := tx.Create(&c.Branch); err != nil {
			return err
		}
		return writeDemo(tx, c, func(int, int) {})
	}); err != nil {
		b.Fatal(err)
	}
	return s
}

// processorTime is what the process has used of all processors.
func processorTime(b *testing.B) time.Duration {
	var use syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &use); err != nil {
		b.Fatal(err)
	}
	return time.Duration(use.Utime.Nano() + use.Stime.Nano())
}

// copyEstimates reads the roofs of estimates as the night does and writes the
// estimates once more, with nothing worked out in between.
func (s *Service) copyEstimates(ctx context.Context, kept []models.Estimate) error {
	q := s.Store.Query(ctx)
	if _, err := store.NewestEstimates(q); err != nil {
		return err
	}
	const part = 500
	for start := 0; start < len(kept); start += part {
		rows := kept[start:min(start+part, len(kept))]
		ids := make([]int64, len(rows))
		for i := range rows {
			ids[i], rows[i].ID = rows[i].RoofID, 0
		}
		if _, err := store.RoofFiles(q, ids); err != nil {
			return err
		}
		if err := s.Store.Write(ctx, Program("a benchmark").By(), func(tx *store.Tx) error { return store.PutAll(tx, rows) }); err != nil {
			return err
		}
	}
	return nil
}
