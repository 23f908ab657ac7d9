package views

import (
	"overhang/analytics/units"
	"overhang/models"
)

var galleryCoverings = []models.Covering{
	{Row: models.Row{ID: 1, Version: 2}, Key: "laminated-30", Name: "Laminated shingle, thirty years", Family: "asphalt_laminated", BundlesPerSquare: ptr(3.0),
		ShinglesPerBundle: ptr(22.0), NailsPerShingle: ptr(4), PricePerSquare: 480 * units.Dollar, MaterialTermMonths: ptr(360)},
	{Row: models.Row{ID: 2, Version: 1}, Key: "lock", Name: "Interlocking shingle", Family: "asphalt_interlocking", EndedOn: galleryDay}}

var galleryTerms = models.Terms{Row: models.Row{ID: 3, Version: 1}, Key: "maker-30", Name: "Maker's material, thirty years", Kind: "material", TermMonths: 360,
	FullMonths: 120, ShareMethod: "steps", Steps: models.JSON[models.Step]{{FromMonth: 120, Share: 0.6}, {FromMonth: 240, Share: 0.3}}, Material: true,
	Transfer: "by_notice", NoticeDays: 30, AfterTransfer: ptr(60), Cap: ptr(9000 * units.Dollar),
	Conditions: models.JSON[models.Condition]{{Kind: "registered", Days: 60}}}

var galleryConditions = []ConditionKind{
	{Key: "registered", Sentence: "The promise is registered with the maker in time.", HowToShow: "Register with the maker and keep its number and day.",
		DaysMean: "days after the start in which registration is due"},
	{Key: "ventilation_to_code", Sentence: "The attic is ventilated to the code that applies.", HowToShow: "Count the net free area, high and low."}}

func ptr[T any](v T) *T { return &v }

func sampleCoverings(f Frame) Page {
	return NewCoveringsPage(recordsFrame(f), galleryCoverings, true, true)
}

func sampleCovering(f Frame) Page {
	return NewCoveringPage(recordsFrame(f), &galleryCoverings[0], true)
}

func sampleTermsList(f Frame) Page {
	return NewTermsListPage(recordsFrame(f), []models.Terms{galleryTerms}, true)
}

func sampleTerms(f Frame) Page {
	return NewTermsPage(recordsFrame(f), &galleryTerms, galleryConditions, append(models.JSON[models.Step]{{FromMonth: 0, Share: 1}}, galleryTerms.Steps...), 12, true, true)
}
