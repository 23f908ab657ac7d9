package intake

import (
	"overhang/analytics/units"
	"overhang/models"
)

// Watch is a row of a file of watches.
type Watch struct{ models.Watch }

// Watches are the neighbourhoods of which we know what becomes of every roof.
var Watches = &Sheet[Watch]{
	name: "watches",
	about: "Neighbourhoods that are or were watched: of each house in them we know what lies on it and when it is replaced, also of those that never call. " +
		"Their roofs count as at risk from the first day on.",
	columns: []column[Watch]{
		textColumn("neighbourhood", "as the houses name it", 80, func(w *Watch) *string { return &w.Neighbourhood }, key, example[Watch]("Larkspur", "Larkspur")),
		dayColumn("from_on", "first day of the watch", func(w *Watch) *units.Date { return &w.FromOn }, key, example[Watch]("2019-04-01", "2016-05-01")),
		dayColumn("to_on", "last day; empty while it goes on", func(w *Watch) *units.Date { return &w.ToOn }, example[Watch]("", "2018-10-31")),
		textColumn("notes", "", 2000, func(w *Watch) *string { return &w.Notes }, example[Watch]("Walked in spring and in autumn", "")),
	},
	check: func(w *Watch) []models.FieldError { return rules(&w.Watch) },
}
