package models

import "overhang/analytics/units"

// StructureKinds are what stands on a parcel.
var StructureKinds = []string{"main", "garage", "addition", "porch"}

// Structure is one building, or part of one, with roofs of its own.
type Structure struct {
	Row
	HouseID int64  `json:"house_id"`
	Name    string `json:"name"`
	Kind    string `json:"kind"` // one of StructureKinds
	// Heated says whether there is a heated room below; nil is taken by the kind.
	Heated      *bool         `json:"heated"`
	Wall        *units.Length `json:"wall"` // thickness of the outer walls, from face to face
	InstalledOn units.Date    `json:"installed_on"`
	EndedOn     units.Date    `json:"ended_on"`
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
	number(&k, "wall", s.Wall, 0.05, 1)
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
	// ClearSpace is what is open between insulation and deck at the eave, and
	// Baffles whether something holds it open.
	ClearSpace *units.Length `json:"clear_space"`
	Baffles    *bool         `json:"baffles"`
	EndedOn    units.Date    `json:"ended_on"`
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
	number(&k, "clear_space", a.ClearSpace, 0, 2)
	k.among("air_leaks", a.AirLeaks, AirLeakWords)
	k.among("ducts", a.Ducts, DuctWords)
	k.among("retarder", a.Retarder, RetarderClasses)
	return k.err()
}

// EaveCovers are what lies under the shingles at an eave: a self-adhered
// membrane, felt, a sheet of polyethylene, or nothing.
var EaveCovers = []string{"membrane", "felt", "poly", "none"}

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
	Overhang    *units.Length `json:"overhang"`   // horizontal, edge to the wall's outer face
	Outline     units.Outline `json:"outline"`    // in plan, on axes that the structure's slopes share
	Rafter      *units.Length `json:"rafter"`     // along the slope, from edge to top
	EaveCover   string        `json:"eave_cover"` // one of EaveCovers
	EaveReach   *units.Length `json:"eave_reach"` // how far it reaches up the slope from the edge
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
	if err := s.Outline.Validate(); err != nil {
		k.that(false, "outline", s.Outline, "%v", err)
	}
	number(&k, "rafter", s.Rafter, 0, 200)
	k.among("eave_cover", s.EaveCover, EaveCovers)
	number(&k, "eave_reach", s.EaveReach, 0, 50)
	k.order("installed_on", s.InstalledOn, "ended_on", s.EndedOn)
	return k.err()
}

// VentKinds are the openings that let air into or out of an attic.
var VentKinds = []string{"box", "turbine", "ridge", "gable", "soffit_strip", "soffit_panel", "soffit_light", "drip_edge_vent", "powered"}

// VentHeights say where a vent sits: low at the eave, high near the ridge.
var VentHeights = []string{"low", "high", "between"}

// Vent is one kind of opening of one attic: a count of single vents, or a
// length or area of a continuous one.
type Vent struct {
	Row
	AtticID   int64         `json:"attic_id"`
	Name      string        `json:"name"`
	Kind      string        `json:"kind"`   // one of VentKinds
	Height    string        `json:"height"` // one of VentHeights
	Count     *int          `json:"count"`
	Length    *units.Length `json:"length"`
	PanelArea *units.Area   `json:"panel_area"`
	FreeArea  *units.Area   `json:"free_area"` // net, of one vent or of one metre, as stamped
	Blocked   *float64      `json:"blocked"`   // share shut by insulation, paint or snow
	FanFlow   *units.Flow   `json:"fan_flow"`  // of a fan, as stamped
	// What its maker asks of the roof: the pitches and the shortest run.
	PitchFrom   *units.Pitch  `json:"pitch_from"`
	PitchTo     *units.Pitch  `json:"pitch_to"`
	LeastRun    *units.Length `json:"least_run"`
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
	number(&k, "fan_flow", v.FanFlow, 0, 10)
	number(&k, "pitch_from", v.PitchFrom, 0, 5)
	number(&k, "pitch_to", v.PitchTo, 0, 5)
	number(&k, "least_run", v.LeastRun, 0, 100)
	k.order("installed_on", v.InstalledOn, "ended_on", v.EndedOn)
	return k.err()
}

// GutterKinds are the shapes of gutters.
var GutterKinds = []string{"k_style", "half_round", "box"}

// GutterMaterials are what gutters are made of.
var GutterMaterials = []string{"aluminium", "copper", "steel", "galvanised", "pvc"}

// GutterRun is one run of gutter at an eave.
type GutterRun struct {
	Row
	StructureID   int64         `json:"structure_id"`
	SlopeID       *int64        `json:"slope_id"`
	Name          string        `json:"name"`
	Kind          string        `json:"kind"`     // one of GutterKinds
	Material      string        `json:"material"` // one of GutterMaterials
	Width         *units.Length `json:"width"`
	Depth         *units.Length `json:"depth"`
	Length        *units.Length `json:"length"`
	Fall          *float64      `json:"fall"`      // drop over length; nought is level
	LipReach      *units.Length `json:"lip_reach"` // horizontal, from the roof's edge out to the front lip
	LipDrop       *units.Length `json:"lip_drop"`  // how far the lip lies below the roof's edge
	Downspouts    *int          `json:"downspouts"`
	DownspoutArea *units.Area   `json:"downspout_area"` // open section of one
	Guards        *bool         `json:"guards"`
	Blocked       *float64      `json:"blocked"` // share of its depth that granules, leaves or plants fill
	InstalledOn   units.Date    `json:"installed_on"`
	EndedOn       units.Date    `json:"ended_on"`
}

// Noun is "gutter run".
func (*GutterRun) Noun() string { return "gutter run" }

// Validate checks the rules of a gutter run.
func (g *GutterRun) Validate() error {
	var k checks
	k.required("name", g.Name)
	k.among("kind", g.Kind, GutterKinds)
	number(&k, "width", g.Width, 0.03, 0.6)
	k.among("material", g.Material, GutterMaterials)
	number(&k, "depth", g.Depth, 0.02, 0.6)
	number(&k, "length", g.Length, 0, 200)
	number(&k, "fall", g.Fall, 0, 0.1)
	number(&k, "lip_reach", g.LipReach, -0.1, 0.6)
	number(&k, "lip_drop", g.LipDrop, -0.1, 0.6)
	number(&k, "downspouts", g.Downspouts, 0, 20)
	number(&k, "downspout_area", g.DownspoutArea, 0.0002, 0.1)
	number(&k, "blocked", g.Blocked, 0, 1)
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
	StructureID  int64         `json:"structure_id"`
	SlopeID      *int64        `json:"slope_id"`
	Name         string        `json:"name"`
	Kind         string        `json:"kind"` // one of DetailKinds
	Form         string        `json:"form"` // one of DetailForms
	Lap          *float64      `json:"lap"`  // share of a flange that the courses cover
	Width        *units.Length `json:"width"`
	Drains       *int          `json:"drains"`         // slopes whose water a valley takes
	LowerEdgeOut *bool         `json:"lower_edge_out"` // the lower edge of the flange lies on the courses, not under them
	MeetsRidge   *bool         `json:"meets_ridge"`    // a chimney that stands at the ridge, so that nothing drains to it
	Notes        string        `json:"notes"`
	InstalledOn  units.Date    `json:"installed_on"`
	EndedOn      units.Date    `json:"ended_on"`
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
