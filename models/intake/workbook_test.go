package intake

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"overhang/analytics/units"
)

// Amounts, days and counts go out as numbers that can be added up, to the cent;
// what is not known is empty, and text that begins like a formula stays text.
func TestWorkbookAndTable(t *testing.T) {
	amount, none := units.Money(-1234_05), (*units.Money)(nil)
	sheet := Extract{Name: "Entries", Remarks: []string{"An estimate."}, Heads: []string{"Month", "Kind", "Amount", "Known", "Not known", "Happened on", "Lines", "Share"},
		Rows: [][]any{
			{units.NewDate(2026, 3, 1).Month(), "=HYPERLINK(1)", units.Money(100_10), &amount, none, units.NewDate(2026, 3, 7), 3, .25},
			{"2026-04", "paid", units.Money(0), units.Money(7), nil, units.Date(0), 0, 0.},
		}}
	var out bytes.Buffer
	if err := WriteTable(&out, sheet); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Fatalf("%v, %v", rows, err)
	}
	want := []string{"2026-03", "'=HYPERLINK(1)", "100.10", "-1234.05", "", "2026-03-07", "3", "0.25"}
	for i, cell := range rows[1] {
		if cell != want[i] {
			t.Errorf("CSV, %s: %q, want %q", rows[0][i], cell, want[i])
		}
	}
	if got := strings.Join(rows[2], "|"); got != "2026-04|paid|0.00|0.07|||0|0" {
		t.Errorf("CSV: %s", got)
	}

	out.Reset()
	other := Extract{Name: "Prepaid", Heads: []string{"Month"}}
	if err := WriteWorkbook(&out, []Extract{sheet, other}); err != nil {
		t.Fatal(err)
	}
	book, err := excelize.OpenReader(bytes.NewReader(out.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if got := book.GetSheetList(); len(got) != 2 || got[0] != "Entries" || got[1] != "Prepaid" {
		t.Fatalf("sheets %v", got)
	}
	cells, err := book.GetRows("Entries", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	head := -1
	for i, row := range cells {
		if len(row) > 0 && row[0] == "Month" {
			head = i
		}
	}
	if head < 0 || !strings.Contains(strings.Join(cells[0], ""), "An estimate.") && !strings.Contains(strings.Join(cells[len(cells)-1], ""), "An estimate.") {
		t.Fatalf("no heads, or no remark: %v", cells)
	}
	for at, want := range map[int]string{2: "100.1", 3: "-1234.05", 6: "3", 7: "0.25"} {
		name, _ := excelize.CoordinatesToCellName(at+1, head+2)
		kind, err := book.GetCellType("Entries", name)
		if got := cells[head+1][at]; got != want || err != nil || kind == excelize.CellTypeSharedString || kind == excelize.CellTypeInlineString {
			t.Errorf("%s of the workbook: %q of type %v, want the number %s", name, got, kind, want)
		}
	}
	name, _ := excelize.CoordinatesToCellName(2, head+2)
	if formula, _ := book.GetCellFormula("Entries", name); formula != "" {
		t.Errorf("%s became a formula: %s", name, formula)
	}
	if got := cells[head+1][4]; got != "" {
		t.Errorf("what is not known is written %q", got)
	}
	if err := WriteTable(&out, Extract{Name: "X", Heads: []string{"A"}, Rows: [][]any{{struct{}{}}}}); err == nil {
		t.Error("a struct was written")
	}
}
