package intake

import (
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

// Call is a row of a file of telephone calls.
type Call struct {
	models.Call
	Nth         int // of several at one moment
	ContactRef  string
	HouseRef    string
	CallbackRef string
}

// Calls are who rang, about what, and when we promised to ring back.
var Calls = &Sheet[Call]{
	name:  "calls",
	about: "Telephone calls: who rang, about what, and when we promised to ring back. Several at one moment are numbered by nth.",
	columns: []column[Call]{
		always("rang_at", "day and time, with the offset from UTC", func(s string, _ bool) (time.Time, error) { return parseMoment(s) }, writeMoment,
			func(c *Call) *time.Time { return &c.RangAt }, []option[Call]{key[Call], example[Call]("2021-03-02T16:40:00Z", "2021-04-10T18:05:00Z")}),
		nthColumn(func(c *Call) *int { return &c.Nth }),
		textColumn("caller", "", 120, func(c *Call) *string { return &c.Caller }, contact, example[Call]("Robin Sample", "Kim Sample")),
		textColumn("phone", "", 40, func(c *Call) *string { return &c.Phone }, contact, example[Call]("555-010-0101", "555-010-0102")),
		textColumn("about", "", 2000, func(c *Call) *string { return &c.About }, example[Call]("Stain beside the chimney after the thaw", "Shingles on the lawn")),
		momentColumn("ring_back_by", "promised to the caller", func(c *Call) **time.Time { return &c.RingBackBy }, example[Call]("2021-03-03T17:00:00Z", "2021-04-11T18:05:00Z")),
		momentColumn("rung_back_at", "", func(c *Call) **time.Time { return &c.RungBackAt }, example[Call]("2021-03-02T20:15:00Z", "")),
		countColumn("attempts", "to ring back", func(c *Call) *int { return &c.Attempts }, example[Call]("1", "")),
		refColumn("contact_ref", "", func(c *Call) *string { return &c.ContactRef }, contact, example[Call]("C-0001", "")),
		refColumn("house_ref", "", func(c *Call) *string { return &c.HouseRef }, example[Call]("H-0001", "")),
		refColumn("callback_ref", "the callback that it belongs to", func(c *Call) *string { return &c.CallbackRef }, example[Call]("B-0001", "B-0002")),
	},
	check: func(c *Call) []models.FieldError { return rules(&c.Call) },
}

// Step is a row of a file of the steps of callbacks.
type Step struct {
	models.CallbackStep
	CallbackRef string
	ClaimRef    string
	Nth         int // of several of one kind on one day
}

// Steps are the courses of callbacks, step by step.
var Steps = &Sheet[Step]{
	name: "callback_steps",
	about: "The courses of callbacks, step by step: what happened when, and when we learned of it. A step that is kept is never changed; a later one says what was wrong. " +
		"Several of one kind on one day are numbered by nth.",
	columns: []column[Step]{
		refColumn("callback_ref", "the callback", func(s *Step) *string { return &s.CallbackRef }, key, example[Step]("B-0001", "B-0001")),
		dayColumn("on", "", func(s *Step) *units.Date { return &s.On }, key, example[Step]("2021-03-05", "2021-04-01")),
		wordColumn("kind", "", models.StepKinds, func(s *Step) *string { return &s.Kind }, key, example[Step]("looked", "claim_filed")),
		nthColumn(func(s *Step) *int { return &s.Nth }),
		dayColumn("learned_on", "day on which we learned of it; the day itself where it is empty", func(s *Step) *units.Date { return &s.LearnedOn },
			example[Step]("2021-03-05", "2021-04-02")),
		textColumn("by_name", "who wrote it down", 120, func(s *Step) *string { return &s.ByName }, example[Step]("Sam Sample", "")),
		refColumn("claim_ref", "of a step of a claim", func(s *Step) *string { return &s.ClaimRef }, example[Step]("", "K-0001")),
		textColumn("note", "what was said; what it waits on, of waits and goes_on", 1000, func(s *Step) *string { return &s.Note }, example[Step]("flashing", "")),
	},
	finish: func(s *Step) {
		if s.LearnedOn.IsZero() {
			s.LearnedOn = s.On
		}
	},
	check: func(s *Step) []models.FieldError { return rules(&s.CallbackStep) },
}
