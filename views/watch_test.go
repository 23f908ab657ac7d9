package views

import (
	"overhang/analytics/units"
	"overhang/models"
	"overhang/views/charts"
)

func livesSamples(f Frame) map[string]Page {
	day := units.NewDate(2026, 11, 25)
	f.Title = Say("lives.title")
	f.Opening = []Phrase{
		Say("lives.opening", "lives", 2217, "worn", 136).Link("counted", "#counted"),
		Say("lives.opening.moved", "covering", Term("covering_family", "asphalt_laminated"), "median", "22.7", "low", "19.8", "high", "26.1", "table", "26.0").Link("coverings", "#coverings"),
		Say("lives.opening.fit", "day", day),
	}
	p := LivesPage{Frame: f, Curves: []Chart{{ID: "lying", Title: Say("lives.curve", "covering", Term("covering_family", "asphalt_laminated")),
		Summary: Say("lives.curve.summary", "age", "25", "share", "60", "low", "52", "high", "67", "table", "64", "pooled", "58"),
		Draw: func(say func(any) string) (charts.Options, error) {
			return charts.BandAgainst(charts.Unit{Name: say(Say("lives.curve.unit"))}, []charts.Span{{Name: "0", Low: 100, Mid: 100, High: 100}, {Name: "20", Low: 60, Mid: 70, High: 80}},
				[]float64{100, 75}, []float64{100, 68})
		}}}}
	p.Curve = Say("lives.rating", "half", "84", "usual", "72", "power", "2.30", "low", "2.11", "high", "2.52", "readings", 640, "roofs", 183)
	p.Coverings = Table{ID: "coverings", Caption: Say("lives.coverings"), Empty: Say("lives.coverings.none"), Columns: []Column{{Head: Say("lives.covering")}, {Head: Say("lives.lives"), Numeric: true}}}
	p.Groups = Table{ID: "groups", Caption: Say("lives.groups"), Empty: Say("lives.groups.none"), Columns: []Column{{Head: Say("lives.group")}, {Head: Say("lives.lives"), Numeric: true}}}
	p.Counted = Table{ID: "counted", Caption: Say("lives.counted"), Empty: Say("lives.counted.none"), Columns: []Column{{Head: Say("lives.counted.what")}, {Head: Say("lives.counted.how")}}}
	p.Watches = Table{ID: "watches", Caption: Say("lives.watches"), Empty: Say("lives.watches.none"), Columns: []Column{{Head: Say("lives.watch.place")}, {Head: Say("lives.watch.from")}}}
	p.Watches.Rows = append(p.Watches.Rows, NewRow("Alderbank", day))
	p.Begin, p.End = WatchForms(f, []string{"Alderbank", "Fernside"}, []models.Watch{{Row: models.Row{ID: 1, Version: 1}, Neighbourhood: "Alderbank", FromOn: day}}, day)
	return map[string]Page{"lives": p}
}
