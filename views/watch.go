package views

import (
	"fmt"

	"overhang/analytics/units"
	"overhang/models"
)

// LivesPage is what own and watched roofs say of how long coverings last.
type LivesPage struct {
	Frame
	Coverings Table
	Curve     Phrase // what our ratings are halfway, where looks have told it
	Curves    []Chart
	Groups    Table
	Counted   Table
	Watches   Table
	Begin     *Form // nil for who may not
	End       *Form // nil where no watch goes on
}

// Template is "lives".
func (LivesPage) Template() string { return "lives" }

// LivesPart leads to the page, for NewRecordsPage.
var LivesPart = Part{Say("records.lives"), Say("records.lives.about"), "/lives"}

// WatchForms ask for the beginning and for the end of a watch. There is none to end
// where no watch goes on.
func WatchForms(f Frame, neighbourhoods []string, watches []models.Watch, today units.Date) (begin, end *Form) {
	var places, open []Option
	for _, n := range neighbourhoods {
		if n != "" {
			places = append(places, Option{n, Plain(n)})
		}
	}
	for _, w := range watches {
		if w.ToOn.IsZero() {
			open = append(open, Option{WatchValue(&w), Plain(w.Neighbourhood)})
		}
	}
	begin = f.Form("watch", "/lives/watches", Say("lives.begin"),
		Field{Name: "neighbourhood", Kind: Choice, Label: Say("lives.watch.place"), Options: places, Required: true},
		Field{Name: "from_on", Kind: Day, Label: Say("lives.watch.from"), Hint: Say("lives.watch.from.hint"), Value: today.String(), Required: true},
		Field{Name: "notes", Kind: Long, Label: Say("lives.watch.notes")})
	if len(open) > 0 {
		end = f.Form("watch-end", "/lives/watches/end", Say("lives.end"),
			Field{Name: "watch", Kind: Choice, Label: Say("lives.watch.place"), Options: open, Required: true},
			Field{Name: "to_on", Kind: Day, Label: Say("lives.watch.to"), Hint: Say("lives.watch.to.hint"), Value: today.String(), Required: true})
	}
	return begin, end
}

// WatchValue names a watch as it was read: its number and its version.
func WatchValue(w *models.Watch) string { return fmt.Sprintf("%d.%d", w.ID, w.Version) }
