package intake

import (
	"slices"
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

// Callback is a row of a file of callbacks.
type Callback struct {
	models.Callback
	HouseRef    string
	RoofRef     string
	JobRef      string
	WarrantyRef string
	ContactRef  string
	ReturnOfRef string
	Crew        string
	Lot         string
	Subcontract string
	Detail      string
	RelaidSlope string
}

// Callbacks are what is wrong with our work, or said to be.
var Callbacks = &Sheet[Callback]{
	name: "callbacks",
	about: "What is wrong with our work, or said to be, from the call to its closing. Where no state is given it follows from the days: " +
		"closed, repaired, refused, accepted, or new.",
	columns: slices.Concat([]column[Callback]{
		textColumn("ref", "our own number of the callback", 40, func(c *Callback) *string { return &c.Ref }, key, example[Callback]("B-0001", "B-0002")),
		refColumn("house_ref", "", func(c *Callback) *string { return &c.HouseRef }, example[Callback]("H-0001", "")),
		refColumn("roof_ref", "", func(c *Callback) *string { return &c.RoofRef }, example[Callback]("R-0001", "")),
		refColumn("job_ref", "", func(c *Callback) *string { return &c.JobRef }, example[Callback]("J-0001", "")),
		refColumn("warranty_ref", "", func(c *Callback) *string { return &c.WarrantyRef }, example[Callback]("W-0001", "")),
		refColumn("contact_ref", "", func(c *Callback) *string { return &c.ContactRef }, contact, example[Callback]("C-0001", "")),
		textColumn("caller", "", 120, func(c *Callback) *string { return &c.Caller }, contact, example[Callback]("Robin Sample", "Kim Sample")),
		textColumn("phone", "", 40, func(c *Callback) *string { return &c.Phone }, contact, example[Callback]("555-010-0101", "555-010-0102")),
		textColumn("address_given", "as said on the telephone", 200, func(c *Callback) *string { return &c.AddressGiven }, example[Callback]("", "Larkspur, near the mill")),
		textColumn("about", "", 4000, func(c *Callback) *string { return &c.About }, example[Callback]("Stain beside the chimney after the thaw", "Shingles on the lawn")),
		sureColumn("water_coming_in", "no where it is empty", func(c *Callback) *bool { return &c.WaterComingIn }, example[Callback]("yes", "no")),
		dayColumn("happened_on", "", func(c *Callback) *units.Date { return &c.HappenedOn }, example[Callback]("2021-03-01", "")),
		dayColumn("learned_on", "day on which we were told", func(c *Callback) *units.Date { return &c.LearnedOn }, example[Callback]("2021-03-02", "2021-04-10")),
		momentColumn("ring_back_by", "promised to the caller, with the offset from UTC", func(c *Callback) **time.Time { return &c.RingBackBy },
			example[Callback]("2021-03-03T17:00:00Z", "")),
		momentColumn("rung_back_at", "", func(c *Callback) **time.Time { return &c.RungBackAt }, example[Callback]("2021-03-02T20:15:00Z", "")),
		countColumn("attempts", "to ring back", func(c *Callback) *int { return &c.Attempts }, example[Callback]("1", "")),
		wordColumn("state", "", models.CallbackStates, func(c *Callback) *string { return &c.State }, example[Callback]("closed", "")),
		wordColumn("waiting_on", "", models.WaitingFor, func(c *Callback) *string { return &c.WaitingOn }, example[Callback]("", "weather")),
		wordColumn("cause_reported", "", models.Causes, func(c *Callback) *string { return &c.CauseReported }, example[Callback]("flashing", "wind")),
		wordColumn("cause_found", "", models.Causes, func(c *Callback) *string { return &c.CauseFound }, example[Callback]("flashing", "")),
		wordColumn("place", "", models.Places, func(c *Callback) *string { return &c.Place }, example[Callback]("chimney", "slope")),
		dayColumn("covered_on", "temporary cover", func(c *Callback) *units.Date { return &c.CoveredOn }, example[Callback]("2021-03-03", "")),
		dayColumn("looked_on", "", func(c *Callback) *units.Date { return &c.LookedOn }, example[Callback]("2021-03-05", "")),
		dayColumn("decided_on", "accepted or refused", func(c *Callback) *units.Date { return &c.DecidedOn }, example[Callback]("2021-03-05", "")),
		textColumn("refused_because", "", 1000, func(c *Callback) *string { return &c.RefusedBecause }),
		dayColumn("repaired_on", "", func(c *Callback) *units.Date { return &c.RepairedOn }, example[Callback]("2021-03-12", "")),
		dayColumn("closed_on", "", func(c *Callback) *units.Date { return &c.ClosedOn }, example[Callback]("2021-03-15", "")),
		wordColumn("bearer", "who bears the cost", models.Bearers, func(c *Callback) *string { return &c.Bearer }, example[Callback]("us", "")),
		textColumn("return_of", "ref of the earlier callback that this one is the return of", 40, func(c *Callback) *string { return &c.ReturnOfRef },
			example[Callback]("", "B-0001")),
		textColumn("crew", "of the job, as it was then", 80, func(c *Callback) *string { return &c.Crew }, field[Callback]("crew_id")),
		textColumn("lot", "job and number, such as J-0001/L-7", 120, func(c *Callback) *string { return &c.Lot }, field[Callback]("lot_id")),
		textColumn("subcontract", "job, part and who, with / between them", 300, func(c *Callback) *string { return &c.Subcontract }, field[Callback]("subcontract_id")),
		textColumn("detail", "house, building and name, such as H-0001/main/chimney", 200, func(c *Callback) *string { return &c.Detail }, field[Callback]("detail_id")),
		dayColumn("waiting_since", "", func(c *Callback) *units.Date { return &c.WaitingSince }, example[Callback]("", "2021-04-11")),
		dayColumn("look_by", "promised to the caller", func(c *Callback) *units.Date { return &c.LookBy }, example[Callback]("2021-03-09", "2021-04-17")),
		dayColumn("repair_by", "promised when it was accepted", func(c *Callback) *units.Date { return &c.RepairBy }, example[Callback]("2021-04-04", "")),
		textColumn("accepted_for", "what is accepted", 400, func(c *Callback) *string { return &c.AcceptedFor }, example[Callback]("New step flashing at the chimney", "")),
		dayColumn("paid_on", "the last of what it cost", func(c *Callback) *units.Date { return &c.PaidOn }, example[Callback]("2021-04-06", "")),
		textColumn("notes", "", 4000, func(c *Callback) *string { return &c.Notes }, example[Callback]("", "Ring after five")),
		wordColumn("relaid", "what of the covering the repair laid anew; empty is nothing", models.RelaidKinds, func(c *Callback) *string { return &c.Relaid }, example[Callback]("part", "")),
		textColumn("relaid_slope", "on which slope: house, building and name, such as H-0001/main/south", 200, func(c *Callback) *string { return &c.RelaidSlope }, field[Callback]("relaid_slope_id"), example[Callback]("H-0001/main/south", "")),
	}, quantity("relaid_area", "of a part, along the slope", roofAreas, func(c *Callback) **units.Area { return &c.RelaidArea }, example[Callback]("40", ""))),
	finish: func(c *Callback) {
		switch {
		case c.State != "":
		case !c.ClosedOn.IsZero():
			c.State = "closed"
		case !c.RepairedOn.IsZero():
			c.State = "repaired"
		case c.RefusedBecause != "":
			c.State = "refused"
		case !c.DecidedOn.IsZero():
			c.State = "accepted"
		default:
			c.State = "new"
		}
	},
	check: func(c *Callback) []models.FieldError { return rules(&c.Callback) },
}

// Cost is a row of a file of costs.
type Cost struct {
	models.CostLine
	CallbackRef  string
	Nth          int    // of several of one kind on one day
	CorrectsName string // of the line of the same callback: its day, kind and nth
}

// nthColumn tells alike rows apart.
func nthColumn[T any](at func(*T) *int) column[T] {
	return countColumn("nth", "which of several alike, from 1", at, standing[T]("1"), example[T]("1", "1"))
}

// sumColumn holds an amount of a cost line, of which nought is known: an empty
// cell of a new row is worked out by the branch's rates.
func sumColumn(name, about string, at func(*Cost) *units.Money, options ...option[Cost]) column[Cost] {
	return with(column[Cost]{Column: Column{Name: name, About: about}, number: true,
		read: func(cell string, semicolon bool) (string, func(*Cost), error) {
			m, err := parseMoney(cell, semicolon)
			return writeMoney(m), func(c *Cost) { *at(c) = m }, err
		},
		get: func(c *Cost) string { return writeMoney(*at(c)) },
	}, append(options, money[Cost]))
}

// Costs are the costs of callbacks.
var Costs = &Sheet[Cost]{
	name:  "costs",
	about: "The costs of callbacks. A line is never changed for another amount: one that corrects it takes it back with the opposite sign, and another stands in its place. A recovery or credit lowers the cost and is negative. Several of one kind on one day are numbered by nth.",
	columns: []column[Cost]{
		refColumn("callback_ref", "the callback", func(c *Cost) *string { return &c.CallbackRef }, key, example[Cost]("B-0001", "B-0001")),
		dayColumn("on", "", func(c *Cost) *units.Date { return &c.On }, key, example[Cost]("2021-03-12", "2021-04-02")),
		wordColumn("kind", "", models.CostKinds, func(c *Cost) *string { return &c.Kind }, key, example[Cost]("labour", "recovery")),
		nthColumn(func(c *Cost) *int { return &c.Nth }),
		numberColumn("hours", "", func(c *Cost) **float64 { return &c.Hours }, example[Cost]("4.5", "")),
		sumColumn("amount", "without the tax; empty for hours of labour at our own rate; 0 is nothing", func(c *Cost) *units.Money { return &c.Amount },
			example[Cost]("292.50", "-100.00")),
		sumColumn("tax", "on the amount; empty, or without the column, for our sales tax on what is bought or credited; 0 is none", func(c *Cost) *units.Money { return &c.Tax },
			example[Cost]("", "-5.00")),
		dayColumn("learned_on", "day on which we learned of it; the day itself where it is empty", func(c *Cost) *units.Date { return &c.LearnedOn },
			example[Cost]("2021-03-12", "2021-04-06")),
		dayColumn("paid_on", "", func(c *Cost) *units.Date { return &c.PaidOn }, example[Cost]("2021-03-31", "2021-04-06")),
		wordColumn("bearer", "who bears this line, where it is not who bears the callback", models.Bearers, func(c *Cost) *string { return &c.Bearer },
			example[Cost]("", "subcontractor")),
		with(textColumn("corrects", "the line of the same callback that it takes back or stands in the place of: its day, kind and nth, such as 2021-03-12 labour 1", 60,
			func(c *Cost) *string { return &c.CorrectsName }), []option[Cost]{func(c *column[Cost]) {
			read := c.read
			c.read = func(cell string, semicolon bool) (string, func(*Cost), error) {
				text, put, err := read(cell, semicolon)
				if err != nil || text == "" {
					return text, put, err
				}
				// Which line it is is found when the rows are kept.
				return text, func(c *Cost) { put(c); c.Corrects = new(int64) }, nil
			}
		}}),
		textColumn("note", "", 400, func(c *Cost) *string { return &c.Note }, example[Cost]("Two people", "Subcontractor's share")),
	},
	finish: func(c *Cost) {
		if c.LearnedOn.IsZero() {
			c.LearnedOn = c.On
		}
	},
	check: func(c *Cost) []models.FieldError { return rules(&c.CostLine) },
}
