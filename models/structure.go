package models

import "overhang/analytics/units"

// StructureKinds are what stands on a parcel.
var StructureKinds = []string{"main", "garage", "addition", "porch"}

// Structure is one building, or part of one, with roofs of its own.
type Structure struct {
	Row
	HouseID     int64      `json:"house_id"`
	Name        string     `json:"name"`
	Kind        string     `json:"kind"` // one of StructureKinds
	InstalledOn units.Date `json:"installed_on"`
	EndedOn     units.Date `json:"ended_on"`
}

// Noun is "structure".
func (*Structure) Noun() string { return "structure" }

// Validate checks the rules of a structure.
func (s *Structure) Validate() error {
	var k checks
	k.required("name", s.Name)
	k.text("name", s.Name, 80)
	k.required("kind", s.Kind)
	k.among("kind", s.Kind, StructureKinds)
	k.order("installed_on", s.InstalledOn, "ended_on", s.EndedOn)
	return k.err()
}

// RetarderClasses are the vapour retarder classes of the building codes; none
// is known to be absent, empty is not known.
var RetarderClasses = []string{"I", "II", "III", "none"}

// Attic is one enclosed space under a roof, judged for ventilation alone.
type Attic struct {
	Row
	StructureID int64       `json:"structure_id"`
	Name        string      `json:"name"`
	VentedArea  *units.Area `json:"vented_area"`  // plan area of the space
	CeilingArea *units.Area `json:"ceiling_area"` // insulated ceiling below it
	Cathedral   *bool       `json:"cathedral"`    // insulation in the rafters or joists
	Insulation  *float64    `json:"insulation"`   // thermal resistance, m²·K/W
	AirLeaks    string      `json:"air_leaks"`    // few, some, many
	Kneewalls   *bool       `json:"kneewalls"`
	Ducts       string      `json:"ducts"`    // none, insulated, bare, ends_in_attic
	Retarder    string      `json:"retarder"` // one of RetarderClasses
	FrostSeen   *bool       `json:"frost_seen"`
	EndedOn     units.Date  `json:"ended_on"`
}

// Noun is "attic".
func (*Attic) Noun() string { return "attic" }

// AirLeakWords and DuctWords are what can be said of an attic's ceiling and of
// the ducts in it.
var (
	AirLeakWords = []string{"few", "some", "many"}
	DuctWords    = []string{"none", "insulated", "bare", "ends_in_attic"}
)

// Validate checks the rules of an attic.
func (a *Attic) Validate() error {
	var k checks
	k.required("name", a.Name)
	number(&k, "vented_area", a.VentedArea, 0.5, 5000)
	number(&k, "ceiling_area", a.CeilingArea, 0.5, 5000)
	number(&k, "insulation", a.Insulation, 0, 30)
	k.among("air_leaks", a.AirLeaks, AirLeakWords)
	k.among("ducts", a.Ducts, DuctWords)
	k.among("retarder", a.Retarder, RetarderClasses)
	return k.err()
}

// Slope is one plane of a roof's shape. It outlives the coverings laid on it.
type Slope struct {
	Row
	StructureID int64         `json:"structure_id"`
	AtticID     *int64        `json:"attic_id"`
	Name        string        `json:"name"`
	Facing      *float64      `json:"facing"` // degrees clockwise from north that it looks towards
	Pitch       *units.Pitch  `json:"pitch"`
	Area        *units.Area   `json:"area"` // along the slope
	Eave        *units.Length `json:"eave"`
	Overhang    *units.Length `json:"overhang"` // horizontal, edge to the wall's outer face
	InstalledOn units.Date    `json:"installed_on"`
	EndedOn     units.Date    `json:"ended_on"`
}

// Noun is "slope".
func (*Slope) Noun() string { return "slope" }

// Validate checks the rules of a slope.
func (s *Slope) Validate() error {
	var k checks
	k.required("name", s.Name)
	k.text("name", s.Name, 80)
	number(&k, "facing", s.Facing, 0, 360)
	number(&k, "pitch", s.Pitch, 0, 5)
	number(&k, "area", s.Area, 0.1, 5000)
	number(&k, "eave", s.Eave, 0, 200)
	number(&k, "overhang", s.Overhang, 0, 5)
	k.order("installed_on", s.InstalledOn, "ended_on", s.EndedOn)
	return k.err()
}

// VentKinds are the openings that let air into or out of an attic.
var VentKinds = []string{"box", "turbine", "ridge", "gable", "soffit_strip", "soffit_panel", "drip_edge_vent", "powered"}

// VentHeights say where a vent sits: low at the eave, high near the ridge.
var VentHeights = []string{"low", "high", "between"}

// Vent is one kind of opening of one attic: a count of single vents, or a
// length or area of a continuous one.
type Vent struct {
	Row
	AtticID     int64         `json:"attic_id"`
	Name        string        `json:"name"`
	Kind        string        `json:"kind"`   // one of VentKinds
	Height      string        `json:"height"` // one of VentHeights
	Count       *int          `json:"count"`
	Length      *units.Length `json:"length"`
	PanelArea   *units.Area   `json:"panel_area"`
	FreeArea    *units.Area   `json:"free_area"` // net, of one vent or of one metre, as stamped
	Blocked     *float64      `json:"blocked"`   // share shut by insulation, paint or snow
	InstalledOn units.Date    `json:"installed_on"`
	EndedOn     units.Date    `json:"ended_on"`
}

// Noun is "vent".
func (*Vent) Noun() string { return "vent" }

// Validate checks the rules of a vent.
func (v *Vent) Validate() error {
	var k checks
	k.required("name", v.Name)
	k.required("kind", v.Kind)
	k.among("kind", v.Kind, VentKinds)
	k.required("height", v.Height)
	k.among("height", v.Height, VentHeights)
	number(&k, "count", v.Count, 0, 500)
	number(&k, "length", v.Length, 0, 500)
	number(&k, "panel_area", v.PanelArea, 0, 500)
	number(&k, "free_area", v.FreeArea, 0, 5)
	number(&k, "blocked", v.Blocked, 0, 1)
	k.order("installed_on", v.InstalledOn, "ended_on", v.EndedOn)
	return k.err()
}

// GutterKinds are the shapes of gutters.
var GutterKinds = []string{"k_style", "half_round", "box"}

// GutterRun is one run of gutter at an eave.
type GutterRun struct {
	Row
	StructureID int64         `json:"structure_id"`
	SlopeID     *int64        `json:"slope_id"`
	Name        string        `json:"name"`
	Kind        string        `json:"kind"` // one of GutterKinds
	Width       *units.Length `json:"width"`
	Length      *units.Length `json:"length"`
	Downspouts  *int          `json:"downspouts"`
	Guards      *bool         `json:"guards"`
	InstalledOn units.Date    `json:"installed_on"`
	EndedOn     units.Date    `json:"ended_on"`
}

// Noun is "gutter run".
func (*GutterRun) Noun() string { return "gutter run" }

// Validate checks the rules of a gutter run.
func (g *GutterRun) Validate() error {
	var k checks
	k.required("name", g.Name)
	k.among("kind", g.Kind, GutterKinds)
	number(&k, "width", g.Width, 0.03, 0.6)
	number(&k, "length", g.Length, 0, 200)
	number(&k, "downspouts", g.Downspouts, 0, 20)
	k.order("installed_on", g.InstalledOn, "ended_on", g.EndedOn)
	return k.err()
}

// DetailKinds are the places of a roof where water tends to find its way in.
var DetailKinds = []string{"valley", "dead_valley", "saddle", "chimney", "skylight", "penetration", "step_flashing", "kickout_flashing", "drip_edge"}

// DetailForms say how a detail is made: how a valley is laid, or whether a
// flashing is new.
var DetailForms = []string{"open_metal", "woven", "closed_cut", "new", "reused", "missing"}

// Detail is one such place.
type Detail struct {
	Row
	StructureID int64         `json:"structure_id"`
	SlopeID     *int64        `json:"slope_id"`
	Name        string        `json:"name"`
	Kind        string        `json:"kind"` // one of DetailKinds
	Form        string        `json:"form"` // one of DetailForms
	Lap         *float64      `json:"lap"`  // share of a flange that the courses cover
	Width       *units.Length `json:"width"`
	Drains      *int          `json:"drains"` // slopes whose water a valley takes
	Notes       string        `json:"notes"`
	InstalledOn units.Date    `json:"installed_on"`
	EndedOn     units.Date    `json:"ended_on"`
}

// Noun is "detail".
func (*Detail) Noun() string { return "detail" }

// Validate checks the rules of a detail.
func (d *Detail) Validate() error {
	var k checks
	k.required("name", d.Name)
	k.required("kind", d.Kind)
	k.among("kind", d.Kind, DetailKinds)
	k.among("form", d.Form, DetailForms)
	number(&k, "lap", d.Lap, 0, 1)
	number(&k, "width", d.Width, 0, 20)
	number(&k, "drains", d.Drains, 0, 8)
	k.text("notes", d.Notes, 1000)
	k.order("installed_on", d.InstalledOn, "ended_on", d.EndedOn)
	return k.err()
}
