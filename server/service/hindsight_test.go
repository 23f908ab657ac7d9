package service

import (
	"io"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"overhang/models"
	"overhang/models/demo"
	"overhang/models/store"
)

// The invented company's estimates of past days are held against what came, the
// kept ones and those made anew alike; who looked is for the owner alone, and a
// real company's past is not made up.
func TestHindsight(t *testing.T) {
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "demo.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	svc := New(st, slog.New(slog.NewTextHandler(io.Discard, nil)), func() time.Time { return time.Date(2026, 11, 25, 17, 0, 0, 0, time.UTC) })
	if _, err := svc.FillDemo(t.Context(), Program("a test"), demo.Options{Seed: 1, Roofs: 60, Houses: 100}, nil); err != nil {
		t.Fatal(err)
	}
	if h, err := svc.Hindsight(t.Context(), owner); err != nil || h.Result != nil || len(h.Cases) != 0 {
		t.Fatalf("with no estimates: %+v, %v", h, err)
	}
	if err := svc.KeepHindcast(t.Context(), owner); models.CodeOf(err) != models.Forbidden {
		t.Errorf("a person made the past up: %v", err)
	}
	if err := svc.KeepHindcast(t.Context(), Program("a test")); err != nil {
		t.Fatal(err)
	}
	h, err := svc.Hindsight(t.Context(), owner)
	if err != nil || h.Result == nil || len(h.Cases) < 100 || len(h.Result.Rows) != len(h.Cases) || len(h.Faults) != 0 {
		t.Fatalf("%+v, %v", h, err)
	}
	if h.Result.Readings == nil || h.Result.Readings.Cases < 30 {
		t.Errorf("next readings: %+v", h.Result.Readings)
	}
	if again, _ := svc.Hindsight(t.Context(), owner); again != h {
		t.Error("it is worked out again though nothing has changed")
	}
	anew, err := svc.Hindcast(t.Context(), owner)
	if err != nil || anew.Result == nil || anew.Result.Lives.Score.Value != h.Result.Lives.Score.Value {
		t.Errorf("made anew it says %+v, %v", anew.Result, err)
	}
	other, err := svc.Hindsight(t.Context(), roofer)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range other.Result.Splits {
		if s.By == "inspector" {
			t.Error("a roofer sees the split by who looked")
		}
	}
	for _, c := range other.Cases {
		if c.Inspector != "" || (c.Next != nil && c.Next.By != "") {
			t.Fatal("a roofer sees who looked")
		}
	}
	if got := h.Result.Splits[len(h.Result.Splits)-1]; got.By != "inspector" {
		t.Errorf("the owner does not see the split by who looked: %s", got.By)
	}
	if err := st.Write(t.Context(), store.By{Name: "a test"}, func(tx *store.Tx) error {
		_, err := tx.Exec("UPDATE companies SET demo = 0")
		return err
	}); err != nil {
		t.Fatal(err)
	}
	if err := svc.KeepHindcast(t.Context(), Program("a test")); models.CodeOf(err) != models.Forbidden {
		t.Errorf("a real company's past was made up: %v", err)
	}
}
