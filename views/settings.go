package views

import (
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
)

// SettingsPage is the form of the company's settings.
type SettingsPage struct {
	Frame
	Form *Form
}

// Template is "settings".
func (SettingsPage) Template() string { return "settings" }

// Readings are the ways in which a branch reads what the codes leave in doubt,
// and what else it asks of its roofs: yes or no, by their columns.
var Readings = []struct {
	Column string
	At     func(*models.Branch) *bool
}{
	{"high_vents_there", func(b *models.Branch) *bool { return &b.HighVentsThere }},
	{"one_condition", func(b *models.Branch) *bool { return &b.OneCondition }},
	{"no_quarters", func(b *models.Branch) *bool { return &b.NoQuarters }},
	{"steep_eaves_removed", func(b *models.Branch) *bool { return &b.SteepEavesRemoved }},
	{"high_wind", func(b *models.Branch) *bool { return &b.HighWind }},
}

// NewSettingsPage makes the page. The form's version rises when the company or
// the branch is changed. Languages are those that there are words for.
func NewSettingsPage(f Frame, c models.Company, b models.Branch, languages []string, stations []Option) SettingsPage {
	f.Title = Say("settings.title")
	f.Opening = []Phrase{Say("settings.opening", "units", Term("unit_system", b.Units), "code", Term("building_code", b.BuildingCode)).
		Link("units", "#settings-units").Link("code", "#settings-building_code")}
	codes := make([]Option, len(units.EditionKeys()))
	for i, code := range units.EditionKeys() {
		codes[i] = Option{code, Term("building_code", code)}
	}
	months := make([]Option, 12)
	for i := range months {
		n := strconv.Itoa(i + 1)
		months[i] = Option{n, Term("month", n)}
	}
	spoken := make([]Option, len(languages))
	for i, l := range languages {
		spoken[i] = Option{l, Term("language_name", l)}
	}
	inches := Say("settings.millimetres")
	if b.Units != units.Metric {
		inches = Say("settings.inches")
	}
	stations = append([]Option{{"", Say("settings.station.none")}}, stations...)
	var ticked []string
	readings := make([]Option, len(Readings))
	for i, r := range Readings {
		readings[i] = Option{r.Column, Term("reading", r.Column)}
		if *r.At(&b) {
			ticked = append(ticked, r.Column)
		}
	}
	rate := ""
	if b.LabourRate != 0 {
		rate = typedMoney(b.LabourRate)
	}
	form := f.Form("settings", "/records/settings", Say("settings.save")).
		Group(Say("settings.company"),
			Field{Name: "name", Kind: Text, Label: Say("settings.name"), Value: c.Name, Required: true},
			Field{Name: "street", Kind: Text, Label: Say("settings.street"), Value: c.Street},
			Field{Name: "town", Kind: Text, Label: Say("settings.town"), Value: c.Town},
			Field{Name: "phone", Kind: Phone, Label: Say("settings.phone"), Value: c.Phone},
			Field{Name: "email", Kind: Email, Label: Say("settings.email"), Value: c.Email},
			Field{Name: "ring_back_hours", Kind: Number, Label: Say("settings.ringback"), Hint: Say("settings.ringback.hint"), Value: strconv.Itoa(c.RingBackHours),
				Unit: Say("settings.hours"), Required: true},
			Field{Name: "look_days", Kind: Number, Label: Say("settings.look"), Hint: Say("settings.look.hint"), Value: strconv.Itoa(c.LookDays), Unit: Say("settings.days")},
			Field{Name: "repair_days", Kind: Number, Label: Say("settings.repair"), Hint: Say("settings.look.hint"), Value: strconv.Itoa(c.RepairDays), Unit: Say("settings.days")}).
		Group(Say("settings.writing"),
			Field{Name: "units", Kind: One, Label: Say("settings.units"), Hint: Say("settings.units.hint"), Value: string(b.Units), Options: []Option{
				{string(units.US), Term("unit_system", units.US)}, {string(units.Metric), Term("unit_system", units.Metric)}}},
			Field{Name: "language", Kind: Choice, Label: Say("settings.language"), Value: b.Language, Options: spoken},
			Field{Name: "currency", Kind: Text, Label: Say("settings.currency"), Hint: Say("settings.currency.hint"), Value: b.Currency, Required: true},
			Field{Name: "time_zone", Kind: Text, Label: Say("settings.timezone"), Hint: Say("settings.timezone.hint"), Value: b.TimeZone, Required: true}).
		Group(Say("settings.place"),
			Field{Name: "branch_name", Kind: Text, Label: Say("settings.branch"), Value: b.Name, Required: true},
			Field{Name: "lat", Kind: Number, Label: Say("settings.lat"), Hint: Say("settings.lat.hint"), Value: typedNumber(b.Lat), Unit: Say("settings.degrees")},
			Field{Name: "lon", Kind: Number, Label: Say("settings.lon"), Value: typedNumber(b.Lon), Unit: Say("settings.degrees")},
			Field{Name: "building_code", Kind: Choice, Label: Say("settings.code"), Hint: Say("settings.code.hint"), Value: b.BuildingCode, Options: codes},
			Field{Name: "climate_zone", Kind: Text, Label: Say("settings.zone"), Hint: Say("settings.zone.hint"), Value: b.ClimateZone},
			Field{Name: "climate_station", Kind: Choice, Label: Say("settings.station"), Hint: Say("settings.station.hint"), Value: b.ClimateStation, Options: stations},
			Field{Name: "design_rain", Kind: Number, Label: Say("settings.rain"), Hint: Say("settings.rain.hint"), Value: TypedRain(b), Unit: inches},
			Field{Name: "readings", Kind: Several, Label: Say("settings.readings"), Hint: Say("settings.readings.hint"), Values: ticked, Options: readings}).
		Group(Say("settings.work"),
			Field{Name: "season_from", Kind: Text, Label: Say("settings.seasonfrom"), Hint: Say("settings.season.hint"), Value: b.SeasonFrom, Required: true},
			Field{Name: "season_to", Kind: Text, Label: Say("settings.seasonto"), Value: b.SeasonTo, Required: true},
			Field{Name: "visits_per_day", Kind: Number, Label: Say("settings.visits"), Hint: Say("settings.visits.hint"), Value: strconv.Itoa(b.VisitsPerDay), Required: true},
			Field{Name: "checkup_every_mths", Kind: Number, Label: Say("settings.checkups"), Value: strconv.Itoa(b.CheckupEveryMths), Unit: Say("catalogue.months"), Required: true},
			Field{Name: "storm_look_days", Kind: Number, Label: Say("settings.storm"), Value: strconv.Itoa(b.StormLookDays), Unit: Say("catalogue.day"), Required: true},
			Field{Name: "neighbour_radius", Kind: Number, Label: Say("settings.radius"), Hint: Say("settings.radius.hint"), Value: TypedReach(b.NeighbourRadius, b.Units), Unit: reachUnit(b.Units), Required: true}).
		Group(Say("settings.money"),
			Field{Name: "labour_rate", Kind: Number, Label: Say("settings.labour"), Hint: Say("settings.labour.hint"), Value: rate, Unit: Plain(b.Currency)},
			Field{Name: "tax_rate", Kind: Number, Label: Say("settings.tax"), Value: typedShare(b.TaxRate), Unit: Say("settings.hundredths")},
			Field{Name: "discount_rate", Kind: Number, Label: Say("settings.discount"), Hint: Say("settings.discount.hint"), Value: typedShare(b.DiscountRate), Unit: Say("settings.hundredths")},
			Field{Name: "cost_growth", Kind: Number, Label: Say("settings.growth"), Hint: Say("settings.growth.hint"), Value: typedShare(b.CostGrowth), Unit: Say("settings.hundredths")},
			Field{Name: "turnover_rate", Kind: Number, Label: Say("settings.turnover"), Hint: Say("settings.turnover.hint"), Value: typedShare(b.TurnoverRate), Unit: Say("settings.hundredths")},
			Field{Name: "fiscal_year_start", Kind: Choice, Label: Say("settings.fiscal"), Value: strconv.Itoa(b.FiscalYearStart), Options: months}).
		Group(Say("settings.estimates"),
			Field{Name: "standing_lag_years", Kind: Number, Label: Say("settings.lag"), Hint: Say("settings.lag.hint"), Value: typedNumber(&b.StandingLagYears), Unit: Say("settings.years"), Required: true},
			Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(SettingsVersion(c, b), 10)})
	form.Cancel = Records.URL()
	return SettingsPage{Frame: f, Form: form}
}

// SettingsVersion is a number that rises with every change of the company or of
// the branch.
func SettingsVersion(c models.Company, b models.Branch) int64 { return c.Version + b.Version }

// TypedReach is a reach over the ground as it stands in a form, in whole feet or
// metres.
func TypedReach(l units.Length, system units.System) string {
	v := l.In(units.Foot)
	if system == units.Metric {
		v = l.In(units.Metre)
	}
	return strconv.FormatFloat(v, 'f', 0, 64)
}

func reachUnit(system units.System) Phrase {
	if system == units.Metric {
		return Say("settings.metres")
	}
	return Say("settings.feet")
}

// millimetresAnInch turns an intensity of rain.
const millimetresAnInch = 25.4

// TypedRain is the design rain as it stands in the form, in the branch's units.
func TypedRain(b models.Branch) string {
	if b.DesignRain == nil {
		return ""
	}
	v := *b.DesignRain
	if b.Units != units.Metric {
		v /= millimetresAnInch
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// ReadRain takes the design rain that was typed, in the branch's units.
func ReadRain(b models.Branch, typed *float64) *float64 {
	if typed == nil || b.Units == units.Metric {
		return typed
	}
	return new(*typed * millimetresAnInch)
}
