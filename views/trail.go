package views

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"
	"time"

	"overhang/analytics/units"
)

// TrailPage is who changed what, newest first.
type TrailPage struct {
	Frame
	Filter  *Form
	History []Event
	Pager   *Pager
}

// Template is "trail".
func (TrailPage) Template() string { return "trail" }

// TrailLine is one change of one record.
type TrailLine struct {
	At     time.Time
	By     string
	Record string // its kind
	ID     int64
	Action string // added or changed
	Fields []TrailField
}

// TrailField is a column before and after the change; nil is unknown.
type TrailField struct {
	Column   string
	From, To any
}

// mostTrailFields is how many columns of a change are written out.
const mostTrailFields = 12

// NewTrailPage makes the page of changes of a kind of record, or of all when it
// is empty. Kinds are those that can be chosen, and total how many changes there
// are.
func NewTrailPage(f Frame, kind string, kinds []string, lines []TrailLine, total int, pager *Pager) TrailPage {
	f.Title = Say("changes.title")
	f.Opening = []Phrase{Say("changes.opening", "changes", total).Link("changes", "#changes")}
	options := []Option{{"", Say("changes.every")}}
	for _, k := range kinds {
		options = append(options, Option{k, Term("record", k)})
	}
	p := TrailPage{Frame: f, Pager: pager,
		Filter: f.Filter("trail", "/records/trail", "", Field{Name: "record", Kind: Choice, Label: Say("changes.record"), Value: kind, Options: options})}
	for _, l := range lines {
		p.History = append(p.History, l.event())
	}
	return p
}

func (l TrailLine) event() Event {
	what := Say("changes.changed", "record", Term("record", l.Record), "id", strconv.FormatInt(l.ID, 10))
	switch l.Action {
	case "added":
		what = Say("changes.added", "record", Term("record", l.Record), "id", strconv.FormatInt(l.ID, 10))
	case "changed":
	default: // a note, which says itself what was done
		what = Say("changes.noted", "record", Term("record", l.Record), "id", strconv.FormatInt(l.ID, 10), "what", l.Action)
	}
	var parts []Phrase
	for _, f := range l.Fields {
		if len(parts) == mostTrailFields {
			parts = append(parts, Say("changes.more", "columns", len(l.Fields)-mostTrailFields))
			break
		}
		name := Term("column", f.Column)
		if from, to := Readable(f.From), Readable(f.To); l.Action == "added" || reflect.DeepEqual(from, to) { // a secret says nothing twice
			parts = append(parts, Say("changes.value", "column", name, "to", to))
		} else {
			parts = append(parts, Say("changes.fromto", "column", name, "from", from, "to", to))
		}
	}
	e := Event{On: l.At, Who: l.By, What: what.Link("record", recordURL(l.Record, l.ID))}
	if len(parts) > 0 {
		e.Detail = Say("changes.fields", "fields", parts)
	}
	return e
}

// recordURL is the page of a record, or empty when its kind has none.
func recordURL(kind string, id int64) string {
	switch kind {
	case "roof":
		return fmt.Sprintf("/roofs/%d", id)
	case "covering":
		return fmt.Sprintf("/records/coverings/%d", id)
	case "terms":
		return fmt.Sprintf("/records/terms/%d", id)
	case "person":
		return fmt.Sprintf("/records/people/%d", id)
	case "company", "branch":
		return "/records/settings"
	}
	return ""
}

// Readable makes a value of any record's field one that a page can write.
func Readable(v any) any {
	switch v := v.(type) {
	case units.Date:
		if v.IsZero() {
			return nil
		}
		return v
	case nil, units.Money, units.Length, units.Area, units.Pitch, time.Time:
		return v
	case bool:
		if v {
			return Say("changes.yes")
		}
		return Say("changes.no")
	case fmt.Stringer:
		return v.String()
	}
	switch r := reflect.ValueOf(v); r.Kind() {
	case reflect.Pointer:
		if r.IsNil() {
			return nil
		}
		return Readable(r.Elem().Interface())
	case reflect.String:
		if r.String() == "" {
			return nil
		}
		return Say("changes.text", "text", shortened(r.String(), 160))
	case reflect.Int, reflect.Int64:
		return strconv.FormatInt(r.Int(), 10)
	case reflect.Float64:
		return strconv.FormatFloat(r.Float(), 'g', 6, 64)
	}
	b, err := json.Marshal(v)
	if err != nil {
		return nil
	}
	return shortened(string(b), 160)
}

func shortened(s string, most int) string {
	if runes := []rune(s); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return s
}
