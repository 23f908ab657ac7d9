package intake

import (
	"errors"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// Job is a row of a file of jobs.
type Job struct {
	models.Job
	HouseRef string
	Crew     string   // by name
	RoofRefs []string // that it laid or worked on
	Lots     []string // numbers of the maker's lots
	Declined []string // each as DeclinedText writes it
}

// DeclinedText writes declined work on one line, its signing day first.
func DeclinedText(d *models.Declined) string { return d.SignedOn.String() + " " + tidy(d.What) }

// ParseDeclined reads what DeclinedText wrote.
func ParseDeclined(s string) (models.Declined, error) {
	day, what, found := strings.Cut(s, " ")
	on, err := parseDay(day)
	d := models.Declined{What: strings.TrimSpace(what), SignedOn: on}
	if err != nil || !found {
		return d, errors.New("write the day of signing and then what was declined, such as 2019-05-02 new kickout flashing")
	}
	if broken := rules(&d); len(broken) > 0 {
		return d, errors.New(broken[0].Field + " " + broken[0].Rule)
	}
	return d, nil
}

// Jobs are our work on roofs.
var Jobs = &Sheet[Job]{
	name:  "jobs",
	about: "Our work on the roofs of a house, whole or part. A crew that is not kept yet is made.",
	columns: []column[Job]{
		textColumn("ref", "our own number of the job", 40, func(j *Job) *string { return &j.Ref }, key, example[Job]("J-0001", "J-0002")),
		refColumn("house_ref", "the house", func(j *Job) *string { return &j.HouseRef }, example[Job]("H-0001", "H-0001")),
		growingColumn("roof_refs", "the roofs that it laid or worked on, with | between them", 40, nil, func(j *Job) *[]string { return &j.RoofRefs },
			example[Job]("R-0001", "R-0001")),
		textColumn("part", "what was done when not the whole roof", 200, func(j *Job) *string { return &j.Part }, example[Job]("", "Two vents added")),
		dayColumn("sold_on", "", func(j *Job) *units.Date { return &j.SoldOn }, example[Job]("2019-04-20", "2020-09-01")),
		dayColumn("started_on", "", func(j *Job) *units.Date { return &j.StartedOn }, example[Job]("2019-05-09", "2020-09-14")),
		dayColumn("inspected_on", "final inspection by the authority", func(j *Job) *units.Date { return &j.InspectedOn }, example[Job]("2019-05-16", "")),
		dayColumn("closed_on", "", func(j *Job) *units.Date { return &j.ClosedOn }, example[Job]("2019-05-20", "2020-09-14")),
		dayColumn("paid_on", "in full", func(j *Job) *units.Date { return &j.PaidOn }, example[Job]("2019-06-03", "")),
		textColumn("permit", "", 60, func(j *Job) *string { return &j.Permit }, example[Job]("B19-0412", "")),
		moneyColumn("price", "", func(j *Job) *units.Money { return &j.Price }, example[Job]("11760.00", "640.00")),
		moneyColumn("holdback", "", func(j *Job) *units.Money { return &j.Holdback }, example[Job]("500.00", "")),
		textColumn("payer", "", 120, func(j *Job) *string { return &j.Payer }, example[Job]("Robin Sample", "")),
		textColumn("crew", "by its name", 80, func(j *Job) *string { return &j.Crew }, field[Job]("crew_id"), example[Job]("Ridge crew", "Ridge crew")),
		textColumn("foreman", "", 120, func(j *Job) *string { return &j.Foreman }, example[Job]("Sam Sample", "")),
		growingColumn("lots", "numbers of the maker's lots, with | between them", 60, nil, func(j *Job) *[]string { return &j.Lots },
			example[Job]("L-7741|L-7742", "")),
		growingColumn("declined", "work that we advised and the owner declined in writing: the day of signing and what, with | between them", 420,
			func(s string) error { _, err := ParseDeclined(s); return err }, func(j *Job) *[]string { return &j.Declined },
			example[Job]("2019-05-02 new kickout flashing at the porch", "")),
		textColumn("notes", "", 4000, func(j *Job) *string { return &j.Notes }, example[Job]("", "Asked for after the first winter")),
	},
	check: func(j *Job) []models.FieldError { return rules(&j.Job) },
}
