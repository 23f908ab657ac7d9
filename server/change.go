package server

import (
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

// changesOf tells the changes of one record in plain words. Value words what a
// column of text holds; what it leaves as it is, and all that is no text, needs
// no words.
func changesOf(entries []models.AuditEntry, value func(column, text string) views.Phrase) ([]views.Event, error) {
	var events []views.Event
	for _, e := range entries {
		event := views.Event{On: e.At, Who: e.By}
		if e.Action == "added" {
			event.What = views.Say("change.added")
			events = append(events, event)
			continue
		}
		fields, err := service.TrailFields(e)
		if err != nil {
			return nil, err
		}
		held := func(column string, v any) any {
			if text, is := v.(string); is {
				if p := value(column, text); !p.IsZero() {
					return p
				}
			}
			return views.Readable(v)
		}
		var said []views.Phrase
		for _, f := range fields {
			name, before, after := views.Term("column", f.Column), held(f.Column, f.From), held(f.Column, f.To)
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
