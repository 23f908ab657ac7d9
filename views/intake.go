package views

import (
	"strconv"
	"strings"

	"overhang/models/intake"
)

// ImportPage takes a file in: it tells what the last one sent does or would do,
// and asks for the next.
type ImportPage struct {
	Frame
	Outcome *ImportOutcome // nil before a file was sent
	Form    *Form
	Kinds   []FilePart
}

// FilePart is one kind of file: a link, what stands in it, and where its template
// is, or nothing.
type FilePart struct {
	Part
	Template, File string
}

// Template is "import".
func (ImportPage) Template() string { return "import" }

// ImportOutcome is what a file did, or would do. A table is nil when there is
// nothing in it.
type ImportOutcome struct {
	Facts                    []Fact
	Refused, Changed, Added  *Table
	MoreRefused, MoreChanged Phrase
	MoreAdded                Phrase
}

// What to do with a file.
const (
	CheckOnly     = "check"
	CheckAndWrite = "write"
)

// MostUpload is how many megabytes a file may have.
const MostUpload = 64

// NewImportPage makes the page for reading in one of the kinds. A report tells
// of the file that was sent and may be nil; after a check that refused nothing
// the form is ready to write.
func NewImportPage(f Frame, kinds []intake.Kind, kind string, report *intake.Report) ImportPage {
	f.Title = Say("import.title")
	f.Opening = []Phrase{Say("import.opening")}
	do := CheckOnly
	p := ImportPage{}
	if report != nil {
		kind = report.Kind
		f.Opening = importOpening(report)
		p.Outcome = importOutcome(report)
		if report.OK() && report.DryRun {
			do = CheckAndWrite
		}
	}
	p.Frame = f
	options := []Option{{"", Say("import.choose")}}
	for _, k := range kinds {
		options = append(options, Option{k.Name, Term("file_kind", k.Name)})
		p.Kinds = append(p.Kinds, FilePart{Part{Term("file_kind", k.Name), Plain(k.About), "/records/kinds/" + k.Name}, "/records/templates/" + k.Name, k.Name + ".csv"})
	}
	p.Form = f.Form("import", "/records/import", Say("import.submit"),
		Field{Name: "kind", Kind: Choice, Label: Say("import.kind"), Value: kind, Options: options, Required: true},
		Field{Name: "file", Kind: File, Label: Say("import.file"), Hint: Say("import.file.hint", "megabytes", MostUpload), Accept: ".csv,text/csv", Required: true},
		Field{Name: "do", Kind: One, Label: Say("import.do"), Hint: Say("import.do.hint"), Value: do, Options: []Option{
			{CheckOnly, Say("import.do.check")}, {CheckAndWrite, Say("import.do.write")}}})
	p.Form.Cancel = Records.URL()
	return p
}

func importOpening(r *intake.Report) []Phrase {
	touched := r.New + r.Changed
	switch {
	case r.Refused > 0:
		return []Phrase{Say("import.refused", "file", r.FileName, "rows", r.Refused).Link("rows", "#refused"), Say("import.mend")}
	case !r.OK():
		return []Phrase{Say("import.unreadable", "file", r.FileName, "kind", Term("file_kind", r.Kind)).Link("why", "#refused"), Say("import.mend")}
	case touched == 0:
		return []Phrase{Say("import.nothing", "file", r.FileName)}
	case r.Written:
		return []Phrase{Say("import.written", "file", r.FileName, "rows", touched).Link("rows", "#outcome")}
	}
	return []Phrase{Say("import.would", "file", r.FileName, "rows", touched).Link("rows", "#outcome"), Say("import.again").Link("again", "#import")}
}

func importOutcome(r *intake.Report) *ImportOutcome {
	o := &ImportOutcome{Facts: []Fact{
		{Term: Say("import.read"), Value: r.Total},
		{Term: Say("import.new"), Value: r.New},
		{Term: Say("import.changed"), Value: r.Changed},
		{Term: Say("import.same"), Value: r.Same, Note: Say("import.same.note")},
		{Term: Say("import.refusedrows"), Value: r.Refused},
	}}
	var made []Phrase
	for _, m := range r.MadeList {
		made = append(made, Say("import.made.one", "record", Term("record", m.Noun), "count", m.Count))
	}
	if len(made) > 0 {
		o.Facts = append(o.Facts, Fact{Term: Say("import.made"), Value: made})
	}
	if len(r.RefusalList) > 0 {
		t := &Table{ID: "refused", Caption: Say("import.table.refused"), Columns: []Column{{Head: Say("import.where")}, {Head: Say("import.rule")}}}
		for _, x := range r.RefusalList {
			place := Cell{Value: Say("import.line.column", "line", strconv.Itoa(x.Line), "column", x.Field), Note: typed(x.Value)}
			if x.Field == "" {
				place = Cell{Value: Say("import.line", "line", strconv.Itoa(x.Line)), Note: Plain(x.Value)}
			}
			t.Rows = append(t.Rows, NewRow(place, x.Rule))
		}
		o.Refused = t
		if more := r.Refusals - len(r.RefusalList); more > 0 {
			o.MoreRefused = Say("import.more", "count", more)
		}
	}
	changed := &Table{ID: "changed", Caption: Say("import.table.changed"), Columns: []Column{
		{Head: Say("import.where")}, {Head: Say("import.from")}, {Head: Say("import.to")}}}
	added := &Table{ID: "added", Caption: Say("import.table.added"), Columns: []Column{{Head: Say("import.where")}}}
	rows := 0
	for _, row := range r.RowList {
		switch row.State {
		case intake.New:
			added.Rows = append(added.Rows, NewRow(Say("import.line.row", "line", strconv.Itoa(row.Line), "row", row.Name)))
		case intake.Changed:
			rows++
			for _, c := range row.Changes {
				changed.Rows = append(changed.Rows, NewRow(Cell{Value: Say("import.line.row", "line", strconv.Itoa(row.Line), "row", row.Name),
					Note: Plain(c.Field)}, typed(c.From), typed(c.To)))
			}
		}
	}
	if len(changed.Rows) > 0 {
		o.Changed = changed
		if more := r.Changed - rows; more > 0 {
			o.MoreChanged = Say("import.more", "count", more)
		}
	}
	if len(added.Rows) > 0 {
		o.Added = added
		if more := r.New - len(added.Rows); more > 0 {
			o.MoreAdded = Say("import.more", "count", more)
		}
	}
	return o
}

// typed is what stands in a cell of a file, or that it is empty.
func typed(text string) Phrase {
	if text == "" {
		return Say("import.empty")
	}
	return Plain(text)
}

// KindPage is one kind of file: its columns, and how to write them.
type KindPage struct {
	Frame
	Example string // where its template is
	Name    string
	Columns Table
}

// Template is "kind".
func (KindPage) Template() string { return "kind" }

// NewKindPage makes the page.
func NewKindPage(f Frame, k intake.Kind) KindPage {
	f.Title = Say("kind.title", "kind", Term("file_kind", k.Name))
	f.Opening = []Phrase{Plain(k.About)}
	p := KindPage{Frame: f, Name: k.Name, Example: "/records/templates/" + k.Name,
		Columns: Table{ID: "columns", Caption: Say("kind.columns"), Columns: []Column{{Head: Say("kind.column")}, {Head: Say("kind.holds")}}}}
	for _, c := range k.Columns {
		about := c.About
		if about == "" {
			about = strings.ReplaceAll(c.Name, "_", " ")
		}
		holds := Cell{Value: about}
		if len(c.Values) > 0 {
			holds.Note = Say("kind.values", "values", strings.Join(c.Values, ", "))
		}
		needed := Phrase{}
		switch {
		case c.Key && c.Default != "":
			needed = Say("kind.key.default", "value", c.Default)
		case c.Key:
			needed = Say("kind.key")
		case c.Needed:
			needed = Say("kind.new")
		}
		p.Columns.Rows = append(p.Columns.Rows, NewRow(Cell{Value: c.Name, Note: needed}, holds))
	}
	return p
}

// ExportPage lists the kinds of file that a person may take out.
type ExportPage struct {
	Frame
	Kinds []Part
}

// Template is "export".
func (ExportPage) Template() string { return "export" }

// NewExportPage makes the page.
func NewExportPage(f Frame, kinds []intake.Kind) ExportPage {
	f.Title = Say("export.title")
	f.Opening = []Phrase{Say("export.opening", "kinds", len(kinds)).Link("kinds", "#kinds")}
	p := ExportPage{Frame: f}
	for _, k := range kinds {
		p.Kinds = append(p.Kinds, Part{Term("file_kind", k.Name), Plain(k.About), "/records/export/" + k.Name})
	}
	return p
}
