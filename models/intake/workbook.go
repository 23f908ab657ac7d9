package intake

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"overhang/analytics/units"
)

// Extract is a table that goes out for others to work on: the bookkeeper's
// workbook has one a sheet, a CSV file holds one. It is not read in again.
type Extract struct {
	Name    string // at most 31 letters
	Heads   []string
	Rows    [][]any // text, int, units.Money, units.Date, units.Month or float64; nil is not known
	Remarks []string
}

// WriteTable writes a sheet as CSV. Amounts are written with a point and no
// commas, days as YYYY-MM-DD; what is not known is empty.
func WriteTable(w io.Writer, s Extract) error {
	out := csv.NewWriter(w)
	if err := out.Write(s.Heads); err != nil {
		return err
	}
	for _, row := range s.Rows {
		cells := make([]string, len(row))
		for i, v := range row {
			switch v := v.(type) {
			case nil:
			case string:
				cells[i] = neutral(v)
			case units.Money:
				cells[i] = amountText(v)
			case *units.Money:
				if v != nil {
					cells[i] = amountText(*v)
				}
			case units.Date:
				if !v.IsZero() {
					cells[i] = v.String()
				}
			case int, units.Month, float64:
				cells[i] = fmt.Sprint(v)
			default:
				return fmt.Errorf("sheet %s: there is no way to write a %T", s.Name, v)
			}
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// amountText writes every cent, without commas.
func amountText(m units.Money) string { return strings.ReplaceAll(m.String(), ",", "") }

// WriteWorkbook writes sheets as XLSX: amounts and counts are numbers with their
// format, days are dates, and text is text whatever it begins with. The same
// sheets give the same bytes.
func WriteWorkbook(w io.Writer, sheets []Extract) error {
	f := excelize.NewFile()
	defer f.Close()
	style := func(number string, bold bool) (int, error) {
		s := &excelize.Style{Font: &excelize.Font{Bold: bold}}
		if number != "" {
			s.CustomNumFmt = &number
		}
		return f.NewStyle(s)
	}
	money, err := style("#,##0.00;[Red]-#,##0.00", false)
	if err != nil {
		return fmt.Errorf("making the workbook: %w", err)
	}
	day, err := style("yyyy-mm-dd", false)
	if err != nil {
		return fmt.Errorf("making the workbook: %w", err)
	}
	fraction, err := style("0.0000", false)
	if err != nil {
		return fmt.Errorf("making the workbook: %w", err)
	}
	head, err := style("", true)
	if err != nil {
		return fmt.Errorf("making the workbook: %w", err)
	}
	for n, s := range sheets {
		if n == 0 {
			err = f.SetSheetName("Sheet1", s.Name)
		} else {
			_, err = f.NewSheet(s.Name)
		}
		if err != nil {
			return fmt.Errorf("sheet %s: %w", s.Name, err)
		}
		if err := writeSheet(f, s, money, day, fraction, head); err != nil {
			return fmt.Errorf("sheet %s: %w", s.Name, err)
		}
	}
	f.SetActiveSheet(0)
	if _, err := f.WriteTo(w); err != nil {
		return fmt.Errorf("writing the workbook: %w", err)
	}
	return nil
}

func writeSheet(f *excelize.File, s Extract, money, day, fraction, head int) error {
	out, err := f.NewStreamWriter(s.Name)
	if err != nil {
		return err
	}
	rows := make([][]any, 0, len(s.Rows)+1)
	widths := make([]int, len(s.Heads))
	heads := make([]any, len(s.Heads))
	for i, h := range s.Heads {
		heads[i] = excelize.Cell{StyleID: head, Value: h}
		widths[i] = utf8.RuneCountInString(h)
	}
	rows = append(rows, heads)
	for _, row := range s.Rows {
		cells := make([]any, len(row))
		for i, v := range row {
			said := 0
			switch v := v.(type) {
			case nil:
			case string:
				// A cell of the type text is never worked out; the apostrophe is for
				// whoever saves the sheet as CSV.
				cells[i] = excelize.Cell{Value: neutral(v)}
				said = utf8.RuneCountInString(v)
			case int:
				cells[i] = excelize.Cell{Value: v}
				said = len(fmt.Sprint(v))
			case float64:
				cells[i] = excelize.Cell{StyleID: fraction, Value: v}
				said = 10
			case units.Money:
				cells[i] = excelize.Cell{StyleID: money, Value: v.Dollars()}
				said = len(v.String())
			case *units.Money:
				if v != nil {
					cells[i] = excelize.Cell{StyleID: money, Value: v.Dollars()}
					said = len(v.String())
				}
			case units.Date:
				if !v.IsZero() {
					cells[i] = excelize.Cell{StyleID: day, Value: v.Time()}
					said = len("2026-11-25")
				}
			case units.Month:
				cells[i] = excelize.Cell{Value: v.String()}
				said = len("2026-11")
			default:
				return fmt.Errorf("there is no way to write a %T", v)
			}
			widths[i] = max(widths[i], said)
		}
		rows = append(rows, cells)
	}
	for i, width := range widths {
		if err := out.SetColWidth(i+1, i+1, float64(min(max(width, 8), 60)+2)); err != nil {
			return err
		}
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	for _, r := range s.Remarks {
		rows = append(rows, []any{excelize.Cell{Value: neutral(r)}})
	}
	for i, cells := range rows {
		at, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			return err
		}
		if err := out.SetRow(at, cells); err != nil {
			return err
		}
	}
	return out.Flush()
}
