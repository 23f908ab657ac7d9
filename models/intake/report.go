package intake

import (
	"bufio"
	"fmt"
	"io"
)

// How many rows and refusals a report lists; all are counted.
const (
	mostListed  = 500
	mostRefused = 500
)

// The states of a row.
const (
	New     = "new"
	Changed = "changed"
	Same    = "same"
)

// RowReport is what a row does, or would do.
type RowReport struct {
	Line    int      `json:"line"`
	Name    string   `json:"name"`
	State   string   `json:"state"` // new, changed or same
	Changes []Change `json:"changes,omitempty"`
}

// Made counts records that were made because a row named them.
type Made struct {
	Noun  string `json:"noun"`
	Count int    `json:"count"`
}

// Report is what a file does, or would do. It is written in one piece or not at
// all: a file with a refusal writes nothing.
type Report struct {
	Kind     string `json:"kind"`
	FileName string `json:"file_name"`
	SHA256   string `json:"sha256"`
	DryRun   bool   `json:"dry_run"`
	Written  bool   `json:"written"`

	Total   int `json:"total"` // rows read
	New     int `json:"new"`
	Changed int `json:"changed"`
	Same    int `json:"same"`
	Refused int `json:"refused"` // rows
	// Refusals counts every rule that was broken, RefusalList holds the first of
	// them.
	Refusals    int         `json:"refusals"`
	RefusalList []Refusal   `json:"refusal_list"`
	RowList     []RowReport `json:"row_list"` // the first of each state
	MadeList    []Made      `json:"made"`
}

// OK says whether nothing was refused.
func (r *Report) OK() bool { return r.Refusals == 0 }

// Refuse notes refusals.
func (r *Report) Refuse(refusals ...Refusal) {
	r.Refusals += len(refusals)
	room := max(mostRefused-len(r.RefusalList), 0)
	r.RefusalList = append(r.RefusalList, refusals[:min(room, len(refusals))]...)
}

// Row notes a row that was not refused.
func (r *Report) Row(row RowReport) {
	n := &r.Same
	switch row.State {
	case New:
		n = &r.New
	case Changed:
		n = &r.Changed
	}
	if *n++; *n <= mostListed {
		r.RowList = append(r.RowList, row)
	}
}

// Make notes records that were made beside the rows.
func (r *Report) Make(noun string, count int) {
	if count == 0 {
		return
	}
	for i := range r.MadeList {
		if r.MadeList[i].Noun == noun {
			r.MadeList[i].Count += count
			return
		}
	}
	r.MadeList = append(r.MadeList, Made{Noun: noun, Count: count})
}

// WriteText writes the report for a terminal.
func (r *Report) WriteText(w io.Writer) error {
	b := bufio.NewWriter(w)
	outcome := "written"
	switch {
	case !r.OK():
		outcome = "nothing is written"
	case r.DryRun:
		outcome = "checked only, nothing is written"
	}
	fmt.Fprintf(b, "%s as %s: %d rows: %d new, %d changed, %d same, %d refused; %s\n", r.FileName, r.Kind,
		r.Total, r.New, r.Changed, r.Same, r.Refused, outcome)
	for _, m := range r.MadeList {
		fmt.Fprintf(b, "  made because a row names it: %s (%d)\n", m.Noun, m.Count)
	}
	for _, f := range r.RefusalList {
		fmt.Fprintf(b, "  line %d", f.Line)
		if f.Field != "" {
			fmt.Fprintf(b, ", %s", f.Field)
		}
		if f.Value != "" {
			fmt.Fprintf(b, " %q", f.Value)
		}
		fmt.Fprintf(b, ": %s\n", f.Rule)
	}
	if more := r.Refusals - len(r.RefusalList); more > 0 {
		fmt.Fprintf(b, "  and %d refusals more\n", more)
	}
	listed := 0
	for _, row := range r.RowList {
		if row.State == Same {
			continue
		}
		listed++
		fmt.Fprintf(b, "  line %d: %s %s", row.Line, row.State, row.Name)
		if row.State == Changed {
			for i, c := range row.Changes {
				fmt.Fprintf(b, "%s %s %q → %q", map[bool]string{true: ":", false: ","}[i == 0], c.Field, c.From, c.To)
			}
		}
		fmt.Fprintln(b)
	}
	if more := r.New + r.Changed - listed; more > 0 {
		fmt.Fprintf(b, "  and %d rows more\n", more)
	}
	return b.Flush()
}
