package views

import (
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

// recordsFrame is the frame of a page of the records.
func recordsFrame(f Frame) Frame {
	f.Nav = Nav(Records, AllSections...)
	return f
}

var sampleMoment = time.Date(2026, 11, 24, 17, 20, 0, 0, time.UTC)

func sampleRecords(f Frame) Page {
	finished := sampleMoment.Add(-6 * time.Hour)
	return NewRecordsPage(recordsFrame(f), 261,
		[]models.Import{{At: sampleMoment, By: "Ines Marlow", Kind: "roofs", FileName: "roofs of 2026.csv", New: 12, Changed: 3, Unchanged: 246}},
		[]models.JobRun{{Job: "estimates", Day: galleryDay, FinishedAt: &finished, Outcome: "done", Detail: "14 roofs"},
			{Job: "checkups", Day: galleryDay, FinishedAt: &finished, Outcome: "failed", Detail: "It failed; the log says why."}},
		ImportPart, ExportPart, CoveringsPart, TermsPart, PeoplePart, SettingsPart, TrailPart)
}

func sampleTrail(f Frame) Page {
	return NewTrailPage(recordsFrame(f), "", []string{"branch", "roof"}, []TrailLine{
		{At: sampleMoment, By: "Ines Marlow", Record: "branch", ID: 1, Action: "changed", Fields: []TrailField{
			{Column: "labour_rate", From: units.Money(5800), To: units.Money(6200)}, {Column: "neighbour_radius", From: nil, To: 300 * units.Metre}}},
		{At: sampleMoment, By: "Ines Marlow", Record: "roof", ID: 1412, Action: "added", Fields: []TrailField{
			{Column: "laid_on", To: galleryDay}, {Column: "ours", To: true}, {Column: "colour", To: "slate grey"}}},
		{At: sampleMoment, By: "nightly job", Record: "person", ID: 3, Action: "link to set a password made"},
	}, 3, nil)
}
