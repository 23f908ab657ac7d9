package views

import (
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

// RecordsPage leads to the parts of the records that a person may use, and tells
// which files came in last and how the nights went.
type RecordsPage struct {
	Frame
	Parts   []Part
	Imports Table
	Nights  Table
}

// Part is a link with a sentence that says what is there.
type Part struct {
	Label, About Phrase
	URL          string
}

// Template is "records".
func (RecordsPage) Template() string { return "records" }

// The parts of the records, for NewRecordsPage.
var (
	ImportPart    = Part{Say("records.import"), Say("records.import.about"), "/records/import"}
	ExportPart    = Part{Say("records.export"), Say("records.export.about"), "/records/export"}
	CoveringsPart = Part{Say("records.coverings"), Say("records.coverings.about"), "/records/coverings"}
	TermsPart     = Part{Say("records.terms"), Say("records.terms.about"), "/records/terms"}
	PeoplePart    = Part{Say("records.people"), Say("records.people.about"), "/records/people"}
	SettingsPart  = Part{Say("records.settings"), Say("records.settings.about"), "/records/settings"}
	TrailPart     = Part{Say("records.trail"), Say("records.trail.about"), "/records/trail"}
)

// NewRecordsPage makes the page. Roofs is how many lie there now.
func NewRecordsPage(f Frame, roofs int, imports []models.Import, runs []models.JobRun, parts ...Part) RecordsPage {
	f.Title = Say("records.title")
	f.Opening = []Phrase{Say("records.opening", "roofs", roofs).Link("roofs", Roofs.URL())}
	if len(imports) == 0 {
		f.Opening = append(f.Opening, Say("records.opening.nofile"))
	} else {
		newest := imports[0]
		f.Opening = append(f.Opening, Say("records.opening.file", "file", newest.FileName, "day", units.DateOf(newest.At.In(zoneOf(f))),
			"rows", newest.New+newest.Changed).Link("rows", "#imports"))
	}
	failed := 0
	for _, run := range runs {
		if run.Outcome == "failed" {
			failed++
		}
	}
	if failed > 0 {
		f.Opening = append(f.Opening, Say("records.opening.failed", "jobs", failed).Link("jobs", "#nights"))
	}
	p := RecordsPage{Frame: f, Parts: parts,
		Imports: Table{ID: "imports", Caption: Say("records.imports"), Empty: Say("records.imports.none"), Columns: []Column{
			{Head: Say("records.file")}, {Head: Say("records.kind")}, {Head: Say("records.when")}, {Head: Say("records.by")},
			{Head: Say("records.new"), Numeric: true}, {Head: Say("records.changed"), Numeric: true}, {Head: Say("records.same"), Numeric: true}}},
		Nights: Table{ID: "nights", Caption: Say("records.nights"), Empty: Say("records.nights.none"), Columns: []Column{
			{Head: Say("records.job")}, {Head: Say("records.day")}, {Head: Say("records.outcome")}, {Head: Say("records.finished")}}}}
	for _, i := range imports {
		p.Imports.Rows = append(p.Imports.Rows, NewRow(i.FileName, Term("file_kind", i.Kind), i.At, i.By, i.New, i.Changed, i.Unchanged))
	}
	for _, run := range runs {
		var finished any
		if run.FinishedAt != nil {
			finished = *run.FinishedAt
		}
		p.Nights.Rows = append(p.Nights.Rows, NewRow(Term("night", run.Job), run.Day,
			Cell{Value: Term("job_outcome", run.Outcome), Note: Plain(run.Detail)}, finished))
	}
	return p
}

func zoneOf(f Frame) *time.Location {
	if f.Zone == nil {
		return time.UTC
	}
	return f.Zone
}
