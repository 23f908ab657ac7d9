package views

import (
	"overhang/models/intake"
)

var sampleKinds = intake.Kinds()

var sampleRefusedReport = intake.Report{Kind: "roofs", FileName: "roofs of 2026.csv", DryRun: true, Total: 261, Same: 259, Refused: 2, Refusals: 1203,
	RefusalList: []intake.Refusal{
		{Line: 14, Field: "laid", Value: "06/07/2014", Rule: "write year-month-day; 06/07/2014 could be June 7 or July 6"},
		{Line: 88, Field: "house_ref", Value: "H-9999", Rule: "there is no such house"},
		{Line: 90, Value: "9 cells", Rule: "must have as many cells as the header names (12)"}}}

var sampleCheckedReport = intake.Report{Kind: "roofs", FileName: "roofs of 2026.csv", DryRun: true, Total: 3, New: 1, Changed: 1, Same: 1,
	MadeList: []intake.Made{{Noun: "structure", Count: 1}},
	RowList: []intake.RowReport{{Line: 2, Name: "R-0412", State: intake.New},
		{Line: 3, Name: "R-0077", State: intake.Changed, Changes: []intake.Change{{Field: "colour", From: "brown", To: "slate grey"}, {Field: "layers", To: "1"}}}}}

func sampleImport(f Frame, report *intake.Report) Page {
	return NewImportPage(recordsFrame(f), sampleKinds, "roofs", report)
}

func sampleKind(f Frame) Page { return NewKindPage(recordsFrame(f), sampleKinds[3]) }

func sampleExport(f Frame) Page { return NewExportPage(recordsFrame(f), sampleKinds) }
