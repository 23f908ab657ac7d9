package views

import (
	"strconv"

	"overhang/models"
)

// OwedPage is what callbacks could cost us in the years ahead, and what it rests
// on.
type OwedPage struct {
	Frame
	Years     Chart
	Curve     *Chart // nil where no amount can be given
	Levels    []Phrase
	Parts     []Table // by terms, crew, covering and so on
	Scenarios Table
	Build     []NavEntry // a scenario of each kind
	Rates     Table
	Costs     Table
	Vary      []Phrase // how widely rates vary, and how unsure they are
	Notes     []Phrase
}

// Template is "owed".
func (OwedPage) Template() string { return "owed" }

// OwedListPage lists the promises behind a figure.
type OwedListPage struct {
	Frame
	Table Table
}

// Template is "owed_list".
func (OwedListPage) Template() string { return "owed_list" }

// ScenarioPage is one scenario beside what is expected without it. A new one
// has a form alone.
type ScenarioPage struct {
	Frame
	Beside  *Table
	Bearers *Table
	Wrong   Phrase
	Form    *Form
	Away    *Form
}

// Template is "scenario".
func (ScenarioPage) Template() string { return "scenario" }

// ScenarioForm asks for a scenario of its kind. The choices are those that the
// records offer.
func ScenarioForm(f Frame, action string, s *models.Scenario, lots []Option, crews, storms, years []Option) *Form {
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	fields := []Field{{Name: "version", Kind: Hidden, Value: strconv.FormatInt(s.Version, 10)}, {Name: "kind", Kind: Hidden, Value: s.Kind},
		{Name: "name", Kind: Text, Label: Say("owed.scenario.name"), Value: s.Name, Required: true}}
	year := ""
	if s.Year != nil {
		year = strconv.Itoa(*s.Year)
	}
	switch s.Kind {
	case "bad_lot":
		fields = append(fields, Field{Name: "lot", Kind: Choice, Label: Say("owed.scenario.lot"), Value: s.Lot, Options: lots, Required: true})
	case "lap_habit":
		fields = append(fields, Field{Name: "crew_id", Kind: Choice, Label: Say("owed.scenario.crew"), Value: idText(s.CrewID), Options: crews, Required: true})
	case "hail_line":
		fields = append(fields, Field{Name: "storm_id", Kind: Choice, Label: Say("owed.scenario.storm"), Hint: Say("owed.scenario.storm.hint"), Value: idText(s.StormID), Options: storms},
			Field{Name: "shape", Kind: Long, Label: Say("owed.scenario.line"), Hint: Say("owed.scenario.line.hint"), Value: ShapeText(s.Shape)},
			Field{Name: "half_width", Kind: Number, Label: Say("owed.scenario.width"), Value: TypedReach(s.HalfWidth, f.Units), Unit: reachUnit(f.Units)})
	}
	causes := []Option{{"", Say("owed.scenario.anycause")}}
	for _, c := range models.Causes {
		causes = append(causes, Option{c, Term("cause", c)})
	}
	fields = append(fields,
		Field{Name: "year", Kind: Choice, Label: Say("owed.scenario.year"), Value: year, Options: years},
		Field{Name: "cause", Kind: Choice, Label: Say("owed.scenario.cause"), Hint: Say("owed.scenario.cause.hint"), Value: s.Cause, Options: causes},
		Field{Name: "rate_times", Kind: Number, Label: Say("owed.scenario.rate"), Hint: Say("owed.scenario.rate.hint"), Value: number(s.RateTimes), Unit: Say("owed.scenario.times")},
		Field{Name: "added", Kind: Number, Label: Say("owed.scenario.added"), Hint: Say("owed.scenario.added.hint"), Value: number(100 * s.Added), Unit: Say("owed.scenario.hundred")},
		Field{Name: "cost_times", Kind: Number, Label: Say("owed.scenario.dear"), Hint: Say("owed.scenario.dear.hint"), Value: number(s.CostTimes), Unit: Say("owed.scenario.times")})
	form := f.Form("scenario", action, Say("owed.scenario.keep"), fields...)
	var bear []Field
	for _, b := range models.Bearers {
		share := ""
		for _, p := range s.Bearers {
			if p.Bearer == b {
				share = number(100 * p.Share)
			}
		}
		bear = append(bear, Field{Name: "bear_" + b, Kind: Number, Label: Term("bearer", b), Value: share, Unit: Say("settings.hundredths")})
	}
	form.Group(Say("owed.scenario.bearers"), bear...)
	form.Group(Phrase{}, Field{Name: "notes", Kind: Long, Label: Say("owed.scenario.notes"), Value: s.Notes})
	form.Cancel = "/owed"
	return form
}

// AwayForm puts a scenario away.
func AwayForm(f Frame, action string, s *models.Scenario) *Form {
	form := f.Form("away", action, Say("owed.scenario.away"), Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(s.Version, 10)})
	form.Plain = true
	return form
}

// ShapeText writes a line as it is typed: a point a line, latitude and longitude.
func ShapeText(shape []models.LatLon) string {
	out := ""
	for _, p := range shape {
		out += strconv.FormatFloat(p.Lat, 'f', -1, 64) + ", " + strconv.FormatFloat(p.Lon, 'f', -1, 64) + "\n"
	}
	return out
}
