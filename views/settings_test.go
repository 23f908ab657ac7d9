package views

import (
	"overhang/analytics/units"
	"overhang/models"
)

func sampleSettings(f Frame) Page {
	return NewSettingsPage(recordsFrame(f), models.Company{Row: models.Row{Version: 1}, Name: f.Company, RingBackHours: 24},
		models.Branch{Row: models.Row{Version: 4}, Name: "Main", Units: units.US, BuildingCode: "irc_2021", SeasonFrom: "04-15", SeasonTo: "11-15",
			LabourRate: 6200, TaxRate: 0.0625, DiscountRate: 0.03, FiscalYearStart: 1, TimeZone: "America/Denver", Language: "en", Currency: "$",
			VisitsPerDay: 8, CheckupEveryMths: 12, StormLookDays: 14, NeighbourRadius: 300 * units.Metre, StandingLagYears: 2}, []string{"en"}, []Option{{"colford", Plain("Colford")}})
}
