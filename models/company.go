package models

import (
	"regexp"
	"time"

	"overhang/analytics/units"
)

// Company is whose records these are. There is one in a database.
type Company struct {
	Row
	Name   string `json:"name"`
	Street string `json:"street"`
	Town   string `json:"town"`
	Phone  string `json:"phone"`
	Email  string `json:"email"`
	// RingBackHours is how soon a caller is promised to be rung back.
	RingBackHours int `json:"ring_back_hours"`
	// LookDays and RepairDays are within how many days we promise to look, after
	// we learned of something, and to repair it, after we accepted it. Nought
	// promises nothing.
	LookDays   int  `json:"look_days"`
	RepairDays int  `json:"repair_days"`
	Demo       bool `json:"demo"` // an invented company, with sign-ins that anybody can read
	// ShownSince is since when it is written down to whom estimates are shown; zero is
	// from the first day.
	ShownSince units.Date `json:"shown_since"`
}

// Noun is "company".
func (*Company) Noun() string { return "company" }

// Validate checks the rules of a company.
func (c *Company) Validate() error {
	var k checks
	k.required("name", c.Name)
	k.text("name", c.Name, 120)
	k.email("email", c.Email)
	number(&k, "ring_back_hours", &c.RingBackHours, 1, 240)
	number(&k, "look_days", &c.LookDays, 0, 365)
	number(&k, "repair_days", &c.RepairDays, 0, 730)
	return k.err()
}

// Branch is one office of the company with its settings.
type Branch struct {
	Row
	Name              string       `json:"name"`
	Lat               *float64     `json:"lat"`
	Lon               *float64     `json:"lon"`
	Units             units.System `json:"units"`
	BuildingCode      string       `json:"building_code"`       // key of the edition that the town has adopted, of units.Editions
	HighVentsThere    bool         `json:"high_vents_there"`    // the share of high vents is read as one of the area there, not of the area asked for
	OneCondition      bool         `json:"one_condition"`       // IRC from 2018 on: one condition is read as enough for 1/300
	NoQuarters        bool         `json:"no_quarters"`         // NBC and OBC: no quarters at top and bottom are read as asked for
	SteepEavesRemoved bool         `json:"steep_eaves_removed"` // IRC 2024: the 36 in of steep eaves are read as removed
	HighWind          bool         `json:"high_wind"`           // where six nails a shingle are asked for
	DesignRain        *float64     `json:"design_rain"`         // mm an hour over five minutes, that gutters should take
	ClimateZone       string       `json:"climate_zone"`
	ClimateStation    string       `json:"climate_station"`
	SeasonFrom        string       `json:"season_from"` // MM-DD, first day that crews are on roofs
	SeasonTo          string       `json:"season_to"`
	LabourRate        units.Money  `json:"labour_rate"`        // an hour, burdened
	TaxRate           float64      `json:"tax_rate"`           // share, 0.05 is five in a hundred
	DiscountRate      float64      `json:"discount_rate"`      // share a year
	TurnoverRate      float64      `json:"turnover_rate"`      // sales of a house in a year
	CostGrowth        float64      `json:"cost_growth"`        // of repairs, share a year
	FiscalYearStart   int          `json:"fiscal_year_start"`  // month, 1 to 12
	TimeZone          string       `json:"time_zone"`          // IANA name
	Language          string       `json:"language"`           // of the pages
	Currency          string       `json:"currency"`           // sign before an amount
	VisitsPerDay      int          `json:"visits_per_day"`     // most check-ups in one person's day
	CheckupEveryMths  int          `json:"checkup_every_mths"` // months between gutter and roof check-ups
	StormLookDays     int          `json:"storm_look_days"`    // days within which a crossed roof is looked at
	NeighbourRadius   units.Length `json:"neighbour_radius"`   // how far round our roofs neighbours are called on
	StandingLagYears  float64      `json:"standing_lag_years"` // mean years that a worn-out covering still lies there
}

// Noun is "branch".
func (*Branch) Noun() string { return "branch" }

var monthDay = regexp.MustCompile(`^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$`)

// Validate checks the rules of a branch's settings.
func (b *Branch) Validate() error {
	var k checks
	k.required("name", b.Name)
	k.position(b.Lat, b.Lon)
	k.that(b.Units == units.US || b.Units == units.Metric, "units", b.Units, "must be us or metric")
	k.required("building_code", b.BuildingCode)
	k.among("building_code", b.BuildingCode, units.EditionKeys())
	k.text("climate_station", b.ClimateStation, 40)
	number(&k, "design_rain", b.DesignRain, 1, 600)
	k.that(monthDay.MatchString(b.SeasonFrom), "season_from", b.SeasonFrom, "write month-day, such as 04-15")
	k.that(monthDay.MatchString(b.SeasonTo), "season_to", b.SeasonTo, "write month-day, such as 11-15")
	k.that(b.SeasonTo > b.SeasonFrom, "season_to", b.SeasonTo, "must come after the season's first day (%s)", b.SeasonFrom)
	number(&k, "labour_rate", &b.LabourRate, 0, 1000*units.Dollar)
	number(&k, "tax_rate", &b.TaxRate, 0, 0.5)
	number(&k, "discount_rate", &b.DiscountRate, 0, 0.3)
	number(&k, "turnover_rate", &b.TurnoverRate, 0, 0.5)
	number(&k, "cost_growth", &b.CostGrowth, -0.1, 0.3)
	number(&k, "fiscal_year_start", &b.FiscalYearStart, 1, 12)
	_, err := time.LoadLocation(b.TimeZone)
	k.that(err == nil && b.TimeZone != "" && b.TimeZone != "Local", "time_zone", b.TimeZone, "must be a time zone name such as America/Denver")
	k.required("language", b.Language)
	k.text("currency", b.Currency, 4)
	number(&k, "visits_per_day", &b.VisitsPerDay, 1, 40)
	number(&k, "checkup_every_mths", &b.CheckupEveryMths, 1, 60)
	number(&k, "storm_look_days", &b.StormLookDays, 1, 365)
	number(&k, "neighbour_radius", &b.NeighbourRadius, 20*units.Metre, 5*units.Kilometre)
	number(&k, "standing_lag_years", &b.StandingLagYears, 0, 20)
	return k.err()
}

// Location gives the branch's time zone; Validate has checked the name.
func (b *Branch) Location() *time.Location {
	l, err := time.LoadLocation(b.TimeZone)
	if err != nil {
		return time.UTC
	}
	return l
}
