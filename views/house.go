package views

import (
	"strconv"

	"overhang/models"
)

// EditHouseForm asks for what is known of a house besides its address.
func EditHouseForm(f Frame, action, cancel string, h *models.House) *Form {
	claddings := []Option{{"", Say("unknown")}}
	for _, c := range models.Claddings {
		claddings = append(claddings, Option{c, Term("cladding", c)})
	}
	trees := ""
	if h.Trees != nil {
		trees = map[bool]string{true: "yes", false: "no"}[*h.Trees]
	}
	form := f.Form("house", action, Say("house.save"),
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(h.Version, 10)},
		Field{Name: "site_notes", Kind: Long, Label: Say("house.sitenotes"), Hint: Say("house.sitenotes.hint"), Value: h.SiteNotes},
		Field{Name: "neighbourhood", Kind: Text, Label: Say("house.neighbourhood"), Value: h.Neighbourhood},
		Field{Name: "build_year", Kind: Number, Label: Say("house.buildyear"), Value: wholeText(h.BuildYear)},
		Field{Name: "cladding", Kind: Choice, Label: Say("house.cladding"), Value: h.Cladding, Options: claddings},
		Field{Name: "storeys", Kind: Number, Label: Say("house.storeys"), Value: wholeText(h.Storeys)},
		Field{Name: "trees", Kind: One, Label: Say("house.trees"), Value: trees,
			Options: []Option{{"yes", Say("yesno.yes")}, {"no", Say("yesno.no")}, {"", Say("unknown")}}},
	).Fold(Say("house.builtby"),
		Field{Name: "builder", Kind: Text, Label: Say("house.builder"), Value: h.Builder},
		Field{Name: "plan", Kind: Text, Label: Say("house.plan"), Hint: Say("house.plan.hint"), Value: h.Plan},
	).Fold(Say("house.place"),
		Field{Name: "lat", Kind: Number, Label: Say("house.lat"), Unit: Say("house.degrees"), Value: degreesText(h.Lat)},
		Field{Name: "lon", Kind: Number, Label: Say("house.lon"), Unit: Say("house.degrees"), Hint: Say("house.lon.hint"), Value: degreesText(h.Lon)})
	form.Cancel = cancel
	return form
}

func wholeText(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

func degreesText(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}
