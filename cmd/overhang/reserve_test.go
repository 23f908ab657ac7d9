package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"overhang/analytics/units"
	"overhang/models/demo"
	"overhang/server/service"
)

// A company without records is told that nothing can be said; the demo company is
// told the same amount by both commands, on paper and as JSON.
func TestOwedAndReserve(t *testing.T) {
	path := company(t)
	for _, c := range []struct {
		name   string
		args   []string
		status int
		says   string
	}{
		{"owed of nothing", []string{"owed", "--db", path}, done, "No amount can be given yet."},
		{"reserve of nothing", []string{"reserve", "--db", path}, done, "nothing can be set aside"},
		{"an estimate is one", []string{"reserve", "--db", path}, done, "no substitute for the judgement"},
		{"an unknown table", []string{"reserve", "--csv", "-", "--part", "other", "--db", path}, misuse, "--part must be one of"},
		{"an unknown rule", []string{"reserve", "--last-sigma", "other", "--db", path}, misuse, "last-sigma"},
		{"two files", []string{"reserve", "--csv", "-", "--xlsx", "-", "--db", path}, misuse, "xlsx"},
		{"a month that was not closed", []string{"reserve", "--month", "2020-01", "--db", path}, failed, "2020-01"},
		{"no month", []string{"reserve", "--month", "January", "--db", path}, failed, "January"},
	} {
		status, out, errs := command(t, "", c.args...)
		if status != c.status || !strings.Contains(out+errs, c.says) {
			t.Errorf("%s: status %d, want %d; %s%s, want %q", c.name, status, c.status, out, errs, c.says)
		}
	}

	p := &program{in: strings.NewReader(""), out: new(strings.Builder), err: new(strings.Builder), now: func() time.Time { return time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC) }}
	path = filepath.Join(t.TempDir(), "demo.db")
	svc, closeStore, err := database{DB: path}.openOrMake(t.Context(), p)
	if err != nil {
		t.Fatal(err)
	}
	_, err = svc.FillDemo(t.Context(), service.Program("a test"), demo.Options{Today: units.NewDate(2026, 11, 25), Roofs: 120}, nil)
	closeStore()
	if err != nil {
		t.Fatal(err)
	}
	var owes struct {
		Total struct {
			Discounted int64 `json:"discounted_cents"`
		} `json:"total"`
		Scenarios []struct {
			Wrong string `json:"wrong"`
		} `json:"scenarios"`
	}
	var reserve struct {
		Ledger struct {
			Closing int64 `json:"closing_cents"`
		}
	}
	for args, into := range map[string]any{"owed": &owes, "reserve": &reserve} {
		status, out, errs := command(t, "", args, "--json", "--db", path)
		if err := json.Unmarshal([]byte(out), into); status != done || err != nil {
			t.Fatalf("%s: %d, %s, %v", args, status, errs, err)
		}
	}
	if owes.Total.Discounted == 0 || owes.Total.Discounted != reserve.Ledger.Closing {
		t.Errorf("owed %d, booked %d", owes.Total.Discounted, reserve.Ledger.Closing)
	}
	for _, s := range owes.Scenarios {
		if s.Wrong != "" {
			t.Errorf("a scenario: %s", s.Wrong)
		}
	}
	for _, part := range service.ReserveParts {
		status, out, errs := command(t, "", "reserve", "--csv", "-", "--part", part, "--db", path)
		if lines := strings.Count(out, "\n"); status != done || lines < 2 && part != "prepaid" {
			t.Errorf("%s: %d, %d lines, %s", part, status, lines, errs)
		}
	}
	file := filepath.Join(t.TempDir(), "reserve.xlsx")
	if status, _, errs := command(t, "", "reserve", "--xlsx", file, "--db", path); status != done {
		t.Fatalf("the workbook: %d, %s", status, errs)
	}
	book, err := excelize.OpenFile(file)
	if err != nil || len(book.GetSheetList()) != len(service.ReserveParts) {
		t.Errorf("the workbook: %v", err)
	}
	was, _ := os.ReadFile(file)
	if status, _, errs := command(t, "", "reserve", "--xlsx", file, "--db", path); status != failed || !strings.Contains(errs, "exists") {
		t.Errorf("over a file: %d, %s", status, errs)
	}
	if now, _ := os.ReadFile(file); string(now) != string(was) {
		t.Error("the file was changed")
	}
}
