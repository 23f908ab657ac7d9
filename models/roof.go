package models

import "overhang/analytics/units"

// RoofEndReasons are why a covering's life ended.
var RoofEndReasons = []string{"worn_out", "storm", "sale", "alteration", "taste", "unknown"}

// Roof is one covering laid at one time. A house has many through time; the
// ended ones tell how long coverings live.
type Roof struct {
	Row
	Ref         string       `json:"ref"`
	HouseID     int64        `json:"house_id"`
	StructureID *int64       `json:"structure_id"`
	CoveringID  *int64       `json:"covering_id"`
	Laid        units.Dated  `gorm:"embedded;embeddedPrefix:laid_" json:"laid"`
	EndedOn     units.Date   `json:"ended_on"`
	EndReason   string       `json:"end_reason"`
	Layers      *int         `json:"layers"`
	Ours        bool         `json:"ours"` // laid by us
	Pitch       *units.Pitch `json:"pitch"`
	Area        *units.Area  `json:"area"` // of covering, along the slopes
	Colour      string       `json:"colour"`
	Notes       string       `json:"notes"`
}

// Noun is "roof".
func (*Roof) Noun() string { return "roof" }

// Validate checks the rules of a roof.
func (r *Roof) Validate() error {
	var k checks
	k.required("ref", r.Ref)
	k.text("ref", r.Ref, 40)
	k.that(r.HouseID != 0, "house_id", "", "a roof needs its house")
	k.that(!r.Laid.IsZero(), "laid_on", "", "the year it was laid is needed; write about 2008 when it is not known well")
	k.dated("laid_on", r.Laid)
	k.day("ended_on", r.EndedOn)
	k.that(r.EndedOn.IsZero() || r.Laid.IsZero() || r.EndedOn >= r.Laid.Earliest(), "ended_on", r.EndedOn,
		"must not be before it was laid (%s)", r.Laid)
	k.that(r.EndedOn.IsZero() == (r.EndReason == ""), "end_reason", r.EndReason, "an ended roof has a reason, and only an ended one")
	k.among("end_reason", r.EndReason, RoofEndReasons)
	number(&k, "layers", r.Layers, 1, 5)
	number(&k, "pitch", r.Pitch, 0, 5)
	number(&k, "area", r.Area, 0.5, 20000)
	k.text("colour", r.Colour, 60)
	k.text("notes", r.Notes, 4000)
	return k.err()
}

// RoofSlope says that a roof lies on a slope.
type RoofSlope struct {
	RoofID  int64 `gorm:"primaryKey" json:"roof_id"`
	SlopeID int64 `gorm:"primaryKey" json:"slope_id"`
}

// Families are the kinds of covering whose lives differ.
var Families = []string{"asphalt_strip", "asphalt_laminated", "asphalt_interlocking", "asphalt_organic", "wood_shake", "metal", "tile",
	"slate", "low_slope_membrane", "unknown"}

// Covering is one entry of the catalogue of roof coverings.
type Covering struct {
	Row
	Key                string      `json:"key"` // short name in files: "laminated-30"
	Name               string      `json:"name"`
	Family             string      `json:"family"` // one of Families
	BundlesPerSquare   *float64    `json:"bundles_per_square"`
	ShinglesPerBundle  *float64    `json:"shingles_per_bundle"`
	NailsPerShingle    *int        `json:"nails_per_shingle"`
	PricePerSquare     units.Money `json:"price_per_square"` // laid, for a first rough figure
	MaterialTermMonths *int        `json:"material_term_months"`
	EndedOn            units.Date  `json:"ended_on"`
}

// Noun is "covering".
func (*Covering) Noun() string { return "covering" }

// Validate checks the rules of a covering.
func (c *Covering) Validate() error {
	var k checks
	k.required("key", c.Key)
	k.text("key", c.Key, 40)
	k.required("name", c.Name)
	k.text("name", c.Name, 120)
	k.required("family", c.Family)
	k.among("family", c.Family, Families)
	number(&k, "bundles_per_square", c.BundlesPerSquare, 0.5, 12)
	number(&k, "shingles_per_bundle", c.ShinglesPerBundle, 1, 100)
	number(&k, "nails_per_shingle", c.NailsPerShingle, 1, 12)
	number(&k, "price_per_square", &c.PricePerSquare, 0, 100_000*units.Dollar)
	number(&k, "material_term_months", c.MaterialTermMonths, 0, 1200)
	return k.err()
}
