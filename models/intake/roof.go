package intake

import (
	"slices"

	"overhang/analytics/units"
	"overhang/models"
)

// Roof is a row of a file of roofs.
type Roof struct {
	models.Roof
	HouseRef  string
	Structure string // empty for all structures of the house
	Covering  string // key in the catalogue
}

// Roofs are coverings laid at one time, ours and others', lying and ended.
var Roofs = &Sheet[Roof]{
	name:  "roofs",
	about: "Roofs: one covering laid at one time. An ended one keeps its row, with the day and the reason.",
	columns: slices.Concat([]column[Roof]{
		textColumn("ref", "our own number of the roof", 40, func(r *Roof) *string { return &r.Ref }, key, example[Roof]("R-0001", "R-0002")),
		refColumn("house_ref", "the house", func(r *Roof) *string { return &r.HouseRef }, example[Roof]("H-0001", "H-0001")),
		textColumn("structure", "where it lies on one structure only", 80, func(r *Roof) *string { return &r.Structure }, example[Roof]("main", "main")),
		textColumn("covering", "key in the catalogue of coverings", 40, func(r *Roof) *string { return &r.Covering },
			example[Roof]("laminated-30", "three-tab-20"), field[Roof]("covering_id")),
		datedColumn("laid", "2014-06-12, 2014-06, 2014 or about 2014", func(r *Roof) *units.Dated { return &r.Laid },
			example[Roof]("2019-05-11", "about 1998"), field[Roof]("laid_on"), func(c *column[Roof]) { c.number = false }),
		dayColumn("ended_on", "", func(r *Roof) *units.Date { return &r.EndedOn }, example[Roof]("", "2019-05-09")),
		wordColumn("end_reason", "why its life ended", models.RoofEndReasons, func(r *Roof) *string { return &r.EndReason }, example[Roof]("", "worn_out")),
		sureColumn("ours", "laid by us", func(r *Roof) *bool { return &r.Ours }, needed, example[Roof]("yes", "no")),
		wholeColumn("layers", "of covering that lie there", func(r *Roof) **int { return &r.Layers }, example[Roof]("1", "2")),
	}, pitchColumns(func(r *Roof) **units.Pitch { return &r.Pitch }, example[Roof]("6", "6")),
		quantity("area", "of covering, along the slopes", roofAreas, func(r *Roof) **units.Area { return &r.Area }, example[Roof]("2450", "2450")),
		[]column[Roof]{
			textColumn("colour", "", 60, func(r *Roof) *string { return &r.Colour }, example[Roof]("slate grey", "brown")),
			textColumn("notes", "", 4000, func(r *Roof) *string { return &r.Notes }, example[Roof]("", "Curled on the south side")),
		}),
	check: func(r *Roof) []models.FieldError { return rules(&r.Roof) },
}

// Covering is a row of a file of coverings.
type Covering struct{ models.Covering }

// Coverings are the catalogue of roof coverings.
var Coverings = &Sheet[Covering]{
	name:  "coverings",
	about: "The catalogue of roof coverings, which other files name by their key.",
	columns: []column[Covering]{
		textColumn("key", "short name in files", 40, func(c *Covering) *string { return &c.Key }, key, example[Covering]("laminated-30", "three-tab-20")),
		textColumn("name", "", 120, func(c *Covering) *string { return &c.Name }, example[Covering]("Laminated asphalt shingle", "Three-tab asphalt shingle")),
		wordColumn("family", "kind whose life it shares", models.Families, func(c *Covering) *string { return &c.Family }, example[Covering]("asphalt_laminated", "asphalt_strip")),
		numberColumn("bundles_per_square", "", func(c *Covering) **float64 { return &c.BundlesPerSquare }, example[Covering]("3", "3")),
		numberColumn("shingles_per_bundle", "", func(c *Covering) **float64 { return &c.ShinglesPerBundle }, example[Covering]("22", "26")),
		wholeColumn("nails_per_shingle", "", func(c *Covering) **int { return &c.NailsPerShingle }, example[Covering]("4", "4")),
		moneyColumn("price_per_square", "laid, for a first rough figure", func(c *Covering) *units.Money { return &c.PricePerSquare }, example[Covering]("480.00", "410.00")),
		wholeColumn("material_term_months", "of the maker's promise", func(c *Covering) **int { return &c.MaterialTermMonths }, example[Covering]("360", "240")),
		dayColumn("ended_on", "day from which it is laid no more", func(c *Covering) *units.Date { return &c.EndedOn }, example[Covering]("", "2016-12-31")),
	},
	check: func(c *Covering) []models.FieldError { return rules(&c.Covering) },
}
