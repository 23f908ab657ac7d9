package server

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/views"
)

// changesOf tells the changes of one record in plain words. Value words what a
// column holds; days, moments and free texts need no words.
func changesOf(entries []models.AuditEntry, value func(column, text string) views.Phrase) ([]views.Event, error) {
	var events []views.Event
	for _, e := range entries {
		var changes map[string][2]any
		if err := json.Unmarshal([]byte(e.Changes), &changes); err != nil {
			return nil, fmt.Errorf("reading the change %d: %w", e.ID, err)
		}
		event := views.Event{On: e.At, Who: e.By}
		if e.Action == "added" {
			event.What = views.Say("change.added")
			events = append(events, event)
			continue
		}
		var said []views.Phrase
		for _, column := range slices.Sorted(maps.Keys(changes)) {
			name := views.Term("column", column)
			before, after := heldIn(column, changes[column][0], value), heldIn(column, changes[column][1], value)
			switch {
			case before == nil && after == nil:
			case before == nil:
				said = append(said, views.Say("change.given", "field", name, "after", after))
			case after == nil:
				said = append(said, views.Say("change.taken", "field", name, "before", before))
			default:
				said = append(said, views.Say("change.changed", "field", name, "before", before, "after", after))
			}
		}
		if len(said) == 0 {
			continue
		}
		event.What = views.Say("change.list", "changes", said)
		events = append(events, event)
	}
	return events, nil
}

// heldIn gives what a column of the audit trail holds, or nil for nothing.
func heldIn(column string, held any, value func(column, text string) views.Phrase) any {
	switch v := held.(type) {
	case nil:
		return nil
	case bool:
		if v {
			return views.Say("yes")
		}
		return views.Say("no")
	case float64:
		return fmt.Sprint(int64(v))
	case string:
		if v == "" {
			return nil
		}
		if p := value(column, v); !p.IsZero() {
			return p
		}
		if d, err := units.ParseDate(v); err == nil {
			return d
		}
		if at, err := time.Parse(time.RFC3339Nano, v); err == nil {
			return at
		}
		return shorten(v, 120)
	}
	return fmt.Sprint(held)
}
