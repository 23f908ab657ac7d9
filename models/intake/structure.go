package intake

import (
	"errors"
	"slices"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// MainName is the name of a house's main structure and of its attic, where a
// file names none.
const MainName = "main"

// Place is the structure of a house that a part belongs to.
type Place struct {
	HouseRef  string
	Structure string
	HouseID   int64
}

func placeColumns[T any](at func(*T) *Place, first, second string) []column[T] {
	return []column[T]{
		refColumn("house_ref", "the house", func(t *T) *string { return &at(t).HouseRef }, key, example[T](first, second)),
		textColumn("structure", "of the house; main where it is empty", 80, func(t *T) *string { return &at(t).Structure },
			standing[T](MainName), field[T]("structure_id"), example[T]("main", "main")),
	}
}

// Structure is a row of a file of structures.
type Structure struct {
	models.Structure
	HouseRef string
}

// Structures are the buildings of a house.
var Structures = &Sheet[Structure]{
	name: "structures",
	about: "The buildings of a house that have roofs of their own. Main, garage, addition and porch are made where another file names them; " +
		"any other name is read in here first.",
	columns: slices.Concat([]column[Structure]{
		refColumn("house_ref", "the house", func(s *Structure) *string { return &s.HouseRef }, key, example[Structure]("H-0001", "H-0001")),
		textColumn("name", "", 80, func(s *Structure) *string { return &s.Name }, key, example[Structure]("main", "back garage")),
		wordColumn("kind", "", models.StructureKinds, func(s *Structure) *string { return &s.Kind }, example[Structure]("main", "garage")),
		yesNoColumn("heated", "a heated room lies below", func(s *Structure) **bool { return &s.Heated }, example[Structure]("yes", "no")),
	}, quantity("wall", "thickness of the outer walls", smallLengths, func(s *Structure) **units.Length { return &s.Wall }, example[Structure]("7.5", "5.5")),
		lifeColumns(func(s *Structure) *units.Date { return &s.InstalledOn }, func(s *Structure) *units.Date { return &s.EndedOn },
			example[Structure]("1998-06-01", "2005-09-15"))),
	check: func(s *Structure) []models.FieldError { return rules(&s.Structure) },
}

// Attic is a row of a file of attics.
type Attic struct {
	models.Attic
	Place
}

// Attics are the enclosed spaces under a roof.
var Attics = &Sheet[Attic]{
	name:  "attics",
	about: "The enclosed spaces under a roof, each judged for its ventilation alone.",
	columns: slices.Concat(placeColumns(func(a *Attic) *Place { return &a.Place }, "H-0001", "H-0002"), []column[Attic]{
		textColumn("name", "main where it is empty", 80, func(a *Attic) *string { return &a.Name }, standing[Attic](MainName), example[Attic]("main", "main")),
	},
		quantity("vented_area", "plan area of the space", floorAreas, func(a *Attic) **units.Area { return &a.VentedArea }, example[Attic]("1500", "1200")),
		quantity("ceiling_area", "insulated ceiling below it", floorAreas, func(a *Attic) **units.Area { return &a.CeilingArea }, example[Attic]("1450", "")),
		[]column[Attic]{
			yesNoColumn("cathedral", "the insulation lies in the rafters or joists", func(a *Attic) **bool { return &a.Cathedral }, example[Attic]("no", "no")),
		},
		quantity("insulation", "thermal resistance: R in ft²·°F·h/Btu, RSI in m²·K/W", resistances, func(a *Attic) **float64 { return &a.Insulation },
			example[Attic]("38", "")),
		[]column[Attic]{
			wordColumn("air_leaks", "through the ceiling", models.AirLeakWords, func(a *Attic) *string { return &a.AirLeaks }, example[Attic]("some", "")),
			yesNoColumn("kneewalls", "", func(a *Attic) **bool { return &a.Kneewalls }, example[Attic]("no", "")),
			wordColumn("ducts", "in the space", models.DuctWords, func(a *Attic) *string { return &a.Ducts }, example[Attic]("insulated", "")),
			wordColumn("retarder", "class of the vapour retarder", models.RetarderClasses, func(a *Attic) *string { return &a.Retarder }, example[Attic]("II", "")),
			yesNoColumn("frost_seen", "", func(a *Attic) **bool { return &a.FrostSeen }, example[Attic]("no", "yes")),
		},
		quantity("clear_space", "open between insulation and deck at the eave", smallLengths, func(a *Attic) **units.Length { return &a.ClearSpace }, example[Attic]("1.5", "")),
		[]column[Attic]{
			yesNoColumn("baffles", "that hold it open", func(a *Attic) **bool { return &a.Baffles }, example[Attic]("yes", "")),
			dayColumn("ended_on", "", func(a *Attic) *units.Date { return &a.EndedOn }),
		}),
	check: func(a *Attic) []models.FieldError { return rules(&a.Attic) },
}

// Slope is a row of a file of slopes.
type Slope struct {
	models.Slope
	Place
	Attic    string   // below it, by name
	RoofRefs []string // the roofs that lie on it, through time
}

// Slopes are the planes of a roof's shape.
var Slopes = &Sheet[Slope]{
	name:  "slopes",
	about: "The planes of a roof's shape, which outlive the coverings laid on them.",
	columns: slices.Concat(placeColumns(func(s *Slope) *Place { return &s.Place }, "H-0001", "H-0001"), []column[Slope]{
		textColumn("name", "", 80, func(s *Slope) *string { return &s.Name }, key, example[Slope]("south", "north")),
		textColumn("attic", "below it", 80, func(s *Slope) *string { return &s.Attic }, field[Slope]("attic_id"), example[Slope]("main", "main")),
		growingColumn("roof_refs", "the roofs that lie on it, with | between them; a roof that no slope names lies on all of its structure's", 40, nil,
			func(s *Slope) *[]string { return &s.RoofRefs }, example[Slope]("R-0001", "R-0001")),
		with(numberColumn("facing", "degrees clockwise from north that it looks towards, or n, ne, e …", func(s *Slope) **float64 { return &s.Facing },
			example[Slope]("180", "n")), []option[Slope]{func(c *column[Slope]) {
			degrees := c.read
			c.read = func(cell string, semicolon bool) (string, func(*Slope), error) {
				if point, found := compass[strings.ToLower(cell)]; found {
					cell = point
				}
				text, put, err := degrees(cell, semicolon)
				if err != nil {
					err = errors.New("write degrees clockwise from north, such as 180, or n, ne, e, se, s, sw, w, nw")
				}
				return text, put, err
			}
		}}),
	}, pitchColumns(func(s *Slope) **units.Pitch { return &s.Pitch }, example[Slope]("6", "6")),
		quantity("area", "along the slope", roofAreas, func(s *Slope) **units.Area { return &s.Area }, example[Slope]("1225", "1225")),
		quantity("eave", "length of the eave", lengths, func(s *Slope) **units.Length { return &s.Eave }, example[Slope]("50", "50")),
		quantity("overhang", "horizontal, from the edge to the wall's outer face", smallLengths, func(s *Slope) **units.Length { return &s.Overhang },
			example[Slope]("18", "18")),
		[]column[Slope]{outlineColumn("outline", "in plan: ft or m, then x,y of each corner and the line from it to the next ("+strings.Join(units.Edges, ", ")+
			"), on axes that the structure's slopes share", func(s *Slope) *units.Outline { return &s.Outline },
			example[Slope]("m 0,0 eave; 15.24,0 rake; 15.24,6.66 ridge; 0,6.66 rake", ""))},
		quantity("rafter", "along the slope, from edge to top", lengths, func(s *Slope) **units.Length { return &s.Rafter }, example[Slope]("24.5", "")),
		[]column[Slope]{wordColumn("eave_cover", "under the shingles at the eave", models.EaveCovers, func(s *Slope) *string { return &s.EaveCover }, example[Slope]("membrane", ""))},
		quantity("eave_reach", "how far it reaches up the slope from the edge", lengths, func(s *Slope) **units.Length { return &s.EaveReach }, example[Slope]("6", "")),
		lifeColumns(func(s *Slope) *units.Date { return &s.InstalledOn }, func(s *Slope) *units.Date { return &s.EndedOn })),
	check: func(s *Slope) []models.FieldError { return rules(&s.Slope) },
}

func lifeColumns[T any](installed, ended func(*T) *units.Date, options ...option[T]) []column[T] {
	return []column[T]{
		dayColumn("installed_on", "", installed, options...),
		dayColumn("ended_on", "", ended),
	}
}

// Vent is a row of a file of vents.
type Vent struct {
	models.Vent
	Place
	Attic string
}

// inARun says whether a vent is continuous: it has a length, and its free area
// is that of a metre.
func (v *Vent) inARun() bool { return v.Length != nil }

// Vents are the openings of attics.
var Vents = &Sheet[Vent]{
	name: "vents",
	about: "The openings that let air into or out of an attic. A continuous vent has a length, and is stamped with its free area a foot or metre " +
		"of run; the others with that of one vent.",
	columns: slices.Concat(placeColumns(func(v *Vent) *Place { return &v.Place }, "H-0001", "H-0001"), []column[Vent]{
		textColumn("attic", "main where it is empty", 80, func(v *Vent) *string { return &v.Attic }, standing[Vent](MainName), field[Vent]("attic_id"),
			example[Vent]("main", "main")),
		textColumn("name", "", 80, func(v *Vent) *string { return &v.Name }, key, example[Vent]("roof boxes", "soffit south")),
		wordColumn("kind", "", models.VentKinds, func(v *Vent) *string { return &v.Kind }, example[Vent]("box", "soffit_strip")),
		wordColumn("height", "low at the eave, high near the ridge", models.VentHeights, func(v *Vent) *string { return &v.Height }, example[Vent]("high", "low")),
		wholeColumn("count", "of single vents", func(v *Vent) **int { return &v.Count }, example[Vent]("6", "")),
	},
		quantity("length", "of a continuous vent", lengths, func(v *Vent) **units.Length { return &v.Length }, example[Vent]("", "48")),
		quantity("panel_area", "of soffit panels", floorAreas, func(v *Vent) **units.Area { return &v.PanelArea }),
		onlyWhere(func(v *Vent) bool { return !v.inARun() }, "a vent with a length is stamped by its run; use free_area_in2_per_ft or free_area_cm2_per_m",
			quantity("free_area", "net, of one vent, as stamped", ventAreas, func(v *Vent) **units.Area { return &v.FreeArea }, example[Vent]("50", ""))),
		onlyWhere((*Vent).inARun, "a vent without a length is stamped singly; use free_area_in2 or free_area_cm2, or give its length",
			quantity("free_area", "net, of a foot or metre of run, as stamped", ventRuns, func(v *Vent) **units.Area { return &v.FreeArea }, example[Vent]("", "9")), "free_area_run"),
		[]column[Vent]{
			numberColumn("blocked", "share shut by insulation, paint or snow, 0 to 1", func(v *Vent) **float64 { return &v.Blocked }, example[Vent]("0", "0.25")),
		},
		quantity("fan_flow", "of a fan, as stamped", flows, func(v *Vent) **units.Flow { return &v.FanFlow }),
		riseColumns("pitch_from", "the flattest roof that its maker allows", func(v *Vent) **units.Pitch { return &v.PitchFrom }),
		riseColumns("pitch_to", "the steepest roof that its maker allows", func(v *Vent) **units.Pitch { return &v.PitchTo }),
		quantity("least_run", "the shortest ridge that its maker allows", lengths, func(v *Vent) **units.Length { return &v.LeastRun }),
		lifeColumns(func(v *Vent) *units.Date { return &v.InstalledOn }, func(v *Vent) *units.Date { return &v.EndedOn })),
	apart: [2]string{"free_area", "free_area_run"},
	check: func(v *Vent) []models.FieldError { return rules(&v.Vent) },
}

// onlyWhere makes columns that speak of some rows only: in others they are
// written empty and must stay so.
func onlyWhere[T any](holds func(*T) bool, rule string, columns []column[T], as ...string) []column[T] {
	for i := range columns {
		c := &columns[i]
		get := c.get
		c.get = func(t *T) string {
			if holds(t) {
				return get(t)
			}
			return ""
		}
		c.where, c.whereRule = holds, rule
		if len(as) > 0 {
			c.Quantity = as[0]
		}
	}
	return columns
}

// Gutter is a row of a file of gutters.
type Gutter struct {
	models.GutterRun
	Place
	Slope string // that it drains, by name
}

// Gutters are the runs of gutter at the eaves.
var Gutters = &Sheet[Gutter]{
	name:  "gutters",
	about: "The runs of gutter at the eaves.",
	columns: slices.Concat(placeColumns(func(g *Gutter) *Place { return &g.Place }, "H-0001", "H-0001"), []column[Gutter]{
		textColumn("name", "", 80, func(g *Gutter) *string { return &g.Name }, key, example[Gutter]("front", "back")),
		textColumn("slope", "that it drains", 80, func(g *Gutter) *string { return &g.Slope }, field[Gutter]("slope_id"), example[Gutter]("south", "north")),
		wordColumn("kind", "shape of its section", models.GutterKinds, func(g *Gutter) *string { return &g.Kind }, example[Gutter]("k_style", "k_style")),
		wordColumn("material", "", models.GutterMaterials, func(g *Gutter) *string { return &g.Material }, example[Gutter]("aluminium", "")),
	},
		quantity("width", "at the top", smallLengths, func(g *Gutter) **units.Length { return &g.Width }, example[Gutter]("5", "5")),
		quantity("depth", "", smallLengths, func(g *Gutter) **units.Length { return &g.Depth }, example[Gutter]("3.5", "")),
		quantity("length", "", lengths, func(g *Gutter) **units.Length { return &g.Length }, example[Gutter]("50", "50")),
		[]column[Gutter]{
			numberColumn("fall", "drop over length, 0 is level", func(g *Gutter) **float64 { return &g.Fall }, example[Gutter]("0.005", "")),
		},
		quantity("lip_reach", "from the roof's edge out to the front lip, horizontal", smallLengths, func(g *Gutter) **units.Length { return &g.LipReach }, example[Gutter]("4.5", "")),
		quantity("lip_drop", "how far the lip lies below the roof's edge", smallLengths, func(g *Gutter) **units.Length { return &g.LipDrop }, example[Gutter]("1", "")),
		[]column[Gutter]{
			wholeColumn("downspouts", "", func(g *Gutter) **int { return &g.Downspouts }, example[Gutter]("2", "1")),
		},
		quantity("downspout_area", "open section of one", ventAreas, func(g *Gutter) **units.Area { return &g.DownspoutArea }, example[Gutter]("6", "")),
		[]column[Gutter]{
			yesNoColumn("guards", "against leaves", func(g *Gutter) **bool { return &g.Guards }, example[Gutter]("no", "yes")),
			numberColumn("blocked", "share of its depth that granules, leaves or plants fill, 0 to 1", func(g *Gutter) **float64 { return &g.Blocked }, example[Gutter]("0", "")),
		},
		lifeColumns(func(g *Gutter) *units.Date { return &g.InstalledOn }, func(g *Gutter) *units.Date { return &g.EndedOn })),
	check: func(g *Gutter) []models.FieldError { return rules(&g.GutterRun) },
}

// Detail is a row of a file of details.
type Detail struct {
	models.Detail
	Place
	Slope string
}

// Details are the places of a roof where water tends to find its way in.
var Details = &Sheet[Detail]{
	name:  "details",
	about: "Valleys, chimneys, skylights, penetrations and flashings: where water tends to find its way in.",
	columns: slices.Concat(placeColumns(func(d *Detail) *Place { return &d.Place }, "H-0001", "H-0001"), []column[Detail]{
		textColumn("name", "", 80, func(d *Detail) *string { return &d.Name }, key, example[Detail]("west valley", "chimney")),
		textColumn("slope", "on which it lies", 80, func(d *Detail) *string { return &d.Slope }, field[Detail]("slope_id"), example[Detail]("", "north")),
		wordColumn("kind", "", models.DetailKinds, func(d *Detail) *string { return &d.Kind }, example[Detail]("valley", "chimney")),
		wordColumn("form", "how it is made, or whether a flashing is new", models.DetailForms, func(d *Detail) *string { return &d.Form }, example[Detail]("open_metal", "new")),
		numberColumn("lap", "share of a flange that the courses cover, 0 to 1", func(d *Detail) **float64 { return &d.Lap }, example[Detail]("", "0.6")),
	},
		quantity("width", "", smallLengths, func(d *Detail) **units.Length { return &d.Width }, example[Detail]("24", "32")),
		[]column[Detail]{
			wholeColumn("drains", "slopes whose water a valley takes", func(d *Detail) **int { return &d.Drains }, example[Detail]("2", "")),
			yesNoColumn("lower_edge_out", "the lower edge of a flange lies on the courses, not under them", func(d *Detail) **bool { return &d.LowerEdgeOut }, example[Detail]("", "yes")),
			yesNoColumn("meets_ridge", "a chimney stands at the ridge, so that nothing drains to it", func(d *Detail) **bool { return &d.MeetsRidge }, example[Detail]("", "no")),
			textColumn("notes", "", 1000, func(d *Detail) *string { return &d.Notes }, example[Detail]("", "Saddle behind it")),
		},
		lifeColumns(func(d *Detail) *units.Date { return &d.InstalledOn }, func(d *Detail) *units.Date { return &d.EndedOn })),
	check: func(d *Detail) []models.FieldError { return rules(&d.Detail) },
}
