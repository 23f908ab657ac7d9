package intake

import (
	"fmt"
	"slices"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// Visit is a row of a file of visits.
type Visit struct {
	models.Visit
	HouseRef    string
	RoofRef     string
	StormRef    string
	CallbackRef string
	Sight       []string // the slopes in sight, as the column writes them
}

// NoSlope is what the column of the slopes in sight says where none was; it is
// empty where nobody said.
const NoSlope = "none"

// Visits are dated looks at houses.
var Visits = &Sheet[Visit]{
	name:  "visits",
	about: "Looks at a house, offered, booked or done.",
	columns: []column[Visit]{
		textColumn("ref", "our own number of the visit", 40, func(v *Visit) *string { return &v.Ref }, key, example[Visit]("V-0001", "V-0002")),
		refColumn("house_ref", "the house", func(v *Visit) *string { return &v.HouseRef }, example[Visit]("H-0001", "H-0001")),
		refColumn("roof_ref", "", func(v *Visit) *string { return &v.RoofRef }, example[Visit]("R-0001", "")),
		wordColumn("purpose", "", models.VisitPurposes, func(v *Visit) *string { return &v.Purpose }, example[Visit]("checkup", "storm_look")),
		dayColumn("offered_on", "", func(v *Visit) *units.Date { return &v.OfferedOn }, example[Visit]("2022-08-20", "")),
		dayColumn("declined_on", "by the homeowner", func(v *Visit) *units.Date { return &v.DeclinedOn }),
		dayColumn("booked_for", "", func(v *Visit) *units.Date { return &v.BookedFor }, example[Visit]("2022-09-15", "2023-06-20")),
		wholeColumn("place_in_day", "order of the day's route", func(v *Visit) **int { return &v.PlaceInDay }, example[Visit]("1", "")),
		dayColumn("done_on", "", func(v *Visit) *units.Date { return &v.DoneOn }, example[Visit]("2022-09-15", "")),
		dayColumn("cancelled_on", "", func(v *Visit) *units.Date { return &v.CancelledOn }),
		textColumn("by_name", "who looks, or looked", 120, func(v *Visit) *string { return &v.ByName }, example[Visit]("Sam Sample", "")),
		wordColumn("method", "how it was looked at", models.VisitMethods, func(v *Visit) *string { return &v.Method }, example[Visit]("ladder", "")),
		yesNoColumn("gutters", "were they looked at", func(v *Visit) **bool { return &v.Gutters }, example[Visit]("yes", "")),
		yesNoColumn("wet", "was the roof wet then", func(v *Visit) **bool { return &v.Wet }, example[Visit]("no", "")),
		yesNoColumn("seen_before", "had whoever looked been shown the roof's estimate before; empty where it is not known", func(v *Visit) **bool { return &v.SeenBefore },
			example[Visit]("no", "")),
		refColumn("storm_ref", "", func(v *Visit) *string { return &v.StormRef }, example[Visit]("", "S-0001")),
		refColumn("callback_ref", "", func(v *Visit) *string { return &v.CallbackRef }),
		textColumn("notes", "", 4000, func(v *Visit) *string { return &v.Notes }, example[Visit]("", "Dog in the yard")),
		listColumn("in_sight", "the slopes that could be seen, by name, with | between them, of another building than main as garage/south; none where none could; empty is not said", mostOfItem,
			parseSight, func(v *Visit) []string { return v.Sight }, example[Visit]("south|north", "")),
	},
	check: func(v *Visit) []models.FieldError { return rules(&v.Visit) },
}

func parseSight(v *Visit, names []string) error {
	for i, name := range names {
		if slices.Contains(names[:i], name) {
			return fmt.Errorf("names %q twice", name)
		}
		if name == NoSlope && len(names) > 1 {
			return fmt.Errorf("%s stands alone: either no slope was in sight, or those that are named", NoSlope)
		}
	}
	v.Sight = names
	return nil
}

// SightName is how a file of visits names a slope, by that of its building.
func SightName(structure, slope string) string {
	if structure == MainName && slope != NoSlope && !strings.Contains(slope, "/") {
		return slope
	}
	return structure + "/" + slope
}

// Finding is a row of a file of findings.
type Finding struct {
	models.Finding
	VisitRef  string
	Structure string
	Slope     string // by name; empty for the whole roof
	Nth       int    // of several of one defect on one slope
}

// Findings are what visits found.
var Findings = &Sheet[Finding]{
	name: "findings",
	about: "What visits found, of one defect on one slope, or on the whole roof where no slope is named: on those that were in sight, " +
		"but for those of which the visit says something of their own about that defect. Looked and none is said so; " +
		"what was not looked at is not a none.",
	columns: []column[Finding]{
		refColumn("visit_ref", "the visit", func(f *Finding) *string { return &f.VisitRef }, key, example[Finding]("V-0001", "V-0001")),
		textColumn("structure", "of the slope; main where it is empty", 80, func(f *Finding) *string { return &f.Structure }, standing[Finding](MainName),
			example[Finding]("main", "main")),
		textColumn("slope", "by its name; empty for the whole roof", 80, func(f *Finding) *string { return &f.Slope }, partOfKey, field[Finding]("slope_id"),
			example[Finding]("south", "")),
		textColumn("defect", "key in the catalogue of defects", 60, func(f *Finding) *string { return &f.Defect }, key, example[Finding]("granule_loss", "popped_nails")),
		nthColumn(func(f *Finding) *int { return &f.Nth }),
		wordColumn("look", "", models.LookStates, func(f *Finding) *string { return &f.Look }, example[Finding]("seen", "none")),
		wholeColumn("severity", "1 to 3, of what was seen", func(f *Finding) **int { return &f.Severity }, example[Finding]("1", "")),
		numberColumn("extent", "share of the slope, 0 to 1", func(f *Finding) **float64 { return &f.Extent }, example[Finding]("0.2", "")),
		textColumn("note", "", 1000, func(f *Finding) *string { return &f.Note }, example[Finding]("Grit in the gutter", "")),
	},
	check: func(f *Finding) []models.FieldError { return rules(&f.Finding) },
}
