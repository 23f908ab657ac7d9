package server

import (
	"fmt"
	"math"
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) partRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/roofs/:id/parts/:kind/new", Need: service.EditRoofs, Example: "/roofs/1/parts/slopes/new", Handle: s.newPart},
		{Method: "POST", Path: "/roofs/:id/parts/:kind", Need: service.EditRoofs, Example: "/roofs/1/parts/slopes", Handle: s.addPart},
		{Method: "GET", Path: "/roofs/:id/parts/:kind/:part", Need: service.EditRoofs, Example: "/roofs/1/parts/attics/1", Handle: s.editPart},
		{Method: "POST", Path: "/roofs/:id/parts/:kind/:part", Need: service.EditRoofs, Example: "/roofs/1/parts/attics/1", Handle: s.changePart},
	}
}

func partURL(roofID int64, kind string, part any) string {
	return fmt.Sprintf("/roofs/%d/parts/%s/%v", roofID, kind, part)
}

// The words of what can be chosen.
var (
	structureKindWord  = func(w string) views.Phrase { return views.Term("structure_kind", w) }
	airLeaksWord       = func(w string) views.Phrase { return views.Term("air_leaks", w) }
	ductsWord          = func(w string) views.Phrase { return views.Term("ducts", w) }
	retarderWord       = func(w string) views.Phrase { return views.Term("retarder", w) }
	eaveCoverWord      = func(w string) views.Phrase { return views.Term("eave_cover", w) }
	ventKindWord       = func(w string) views.Phrase { return views.Term("vent_kind", w) }
	ventHeightWord     = func(w string) views.Phrase { return views.Term("vent_height", w) }
	gutterKindWord     = func(w string) views.Phrase { return views.Term("gutter_kind", w) }
	gutterMaterialWord = func(w string) views.Phrase { return views.Term("gutter_material", w) }
	detailKindWord     = func(w string) views.Phrase { return views.Term("detail_kind", w) }
	detailFormWord     = func(w string) views.Phrase { return views.Term("detail_form", w) }
)

// partField is one measure of a part: how it is asked, and how the answer is
// taken.
type partField struct {
	views.Field
	read func(*Form)
}

// partKinds are the parts that a page can write down, by the word in the path.
// Find gives the part of that number, or a new one for 0; nil when there is
// none. Fields lists what is asked of it.
var partKinds = map[string]struct {
	find   func(f *models.RoofFile, id int64) models.Record
	fields func(a asking, part models.Record) []partField
}{
	"structures": {
		func(f *models.RoofFile, id int64) models.Record {
			return findPart(f.Structures, id, &models.Structure{HouseID: f.House.ID})
		},
		func(a asking, part models.Record) []partField {
			s := part.(*models.Structure)
			return []partField{a.text("name", &s.Name, true), a.word("kind", &s.Kind, structureKindWord, models.StructureKinds), a.yesNo("heated", &s.Heated),
				a.small("wall", &s.Wall), a.day("installed_on", &s.InstalledOn), a.day("ended_on", &s.EndedOn)}
		}},
	"attics": {
		func(f *models.RoofFile, id int64) models.Record {
			return findPart(f.Attics, id, &models.Attic{StructureID: structureOf(f)})
		},
		func(a asking, part models.Record) []partField {
			s := part.(*models.Attic)
			return []partField{a.text("name", &s.Name, true), a.area("vented_area", &s.VentedArea), a.area("ceiling_area", &s.CeilingArea), a.yesNo("cathedral", &s.Cathedral),
				a.resistance("insulation", &s.Insulation), a.small("clear_space", &s.ClearSpace), a.yesNo("baffles", &s.Baffles),
				a.word("air_leaks", &s.AirLeaks, airLeaksWord, models.AirLeakWords), a.yesNo("kneewalls", &s.Kneewalls), a.word("ducts", &s.Ducts, ductsWord, models.DuctWords),
				a.word("retarder", &s.Retarder, retarderWord, models.RetarderClasses), a.yesNo("frost_seen", &s.FrostSeen), a.day("ended_on", &s.EndedOn)}
		}},
	"slopes": {
		func(f *models.RoofFile, id int64) models.Record {
			return findPart(f.Slopes, id, &models.Slope{StructureID: structureOf(f)})
		},
		func(a asking, part models.Record) []partField {
			s := part.(*models.Slope)
			return []partField{a.text("name", &s.Name, true), a.attic("attic_id", &s.AtticID), a.number("facing", &s.Facing), a.pitch("pitch", &s.Pitch), a.area("area", &s.Area),
				a.long("eave", &s.Eave), a.long("rafter", &s.Rafter), a.small("overhang", &s.Overhang), a.word("eave_cover", &s.EaveCover, eaveCoverWord, models.EaveCovers),
				a.small("eave_reach", &s.EaveReach), a.outline("outline", &s.Outline), a.day("installed_on", &s.InstalledOn), a.day("ended_on", &s.EndedOn)}
		}},
	"vents": {
		func(f *models.RoofFile, id int64) models.Record {
			v := &models.Vent{}
			if len(f.Attics) > 0 {
				v.AtticID = f.Attics[0].ID
			}
			return findPart(f.Vents, id, v)
		},
		func(a asking, part models.Record) []partField {
			v := part.(*models.Vent)
			return []partField{a.text("name", &v.Name, true), a.itsAttic("attic_id", &v.AtticID), a.word("kind", &v.Kind, ventKindWord, models.VentKinds),
				a.word("height", &v.Height, ventHeightWord, models.VentHeights), a.whole("count", &v.Count), a.long("length", &v.Length), a.area("panel_area", &v.PanelArea),
				a.freeArea("free_area", v), a.hundredths("blocked", &v.Blocked), a.flow("fan_flow", &v.FanFlow),
				a.pitch("pitch_from", &v.PitchFrom), a.pitch("pitch_to", &v.PitchTo), a.long("least_run", &v.LeastRun), a.day("installed_on", &v.InstalledOn), a.day("ended_on", &v.EndedOn)}
		}},
	"gutters": {
		func(f *models.RoofFile, id int64) models.Record {
			return findPart(f.Gutters, id, &models.GutterRun{StructureID: structureOf(f)})
		},
		func(a asking, part models.Record) []partField {
			g := part.(*models.GutterRun)
			return []partField{a.text("name", &g.Name, true), a.slope("slope_id", &g.SlopeID), a.word("kind", &g.Kind, gutterKindWord, models.GutterKinds),
				a.word("material", &g.Material, gutterMaterialWord, models.GutterMaterials), a.small("width", &g.Width), a.small("depth", &g.Depth), a.long("length", &g.Length),
				a.fall("fall", &g.Fall), a.small("lip_reach", &g.LipReach), a.small("lip_drop", &g.LipDrop), a.whole("downspouts", &g.Downspouts),
				a.section("downspout_area", &g.DownspoutArea), a.yesNo("guards", &g.Guards), a.hundredths("blocked", &g.Blocked),
				a.day("installed_on", &g.InstalledOn), a.day("ended_on", &g.EndedOn)}
		}},
	"details": {
		func(f *models.RoofFile, id int64) models.Record {
			return findPart(f.Details, id, &models.Detail{StructureID: structureOf(f)})
		},
		func(a asking, part models.Record) []partField {
			d := part.(*models.Detail)
			return []partField{a.text("name", &d.Name, true), a.slope("slope_id", &d.SlopeID), a.word("kind", &d.Kind, detailKindWord, models.DetailKinds),
				a.word("form", &d.Form, detailFormWord, models.DetailForms), a.hundredths("lap", &d.Lap), a.yesNo("lower_edge_out", &d.LowerEdgeOut), a.small("width", &d.Width),
				a.whole("drains", &d.Drains), a.yesNo("meets_ridge", &d.MeetsRidge), a.notes("notes", &d.Notes), a.day("installed_on", &d.InstalledOn), a.day("ended_on", &d.EndedOn)}
		}},
}

// findPart gives a copy of the part with that number, or the new one for 0.
func findPart[T any, P interface {
	*T
	models.Record
}](list []T, id int64, fresh P) models.Record {
	if id == 0 {
		return fresh
	}
	for _, v := range list {
		if P(&v).Base().ID == id {
			return P(&v)
		}
	}
	return nil
}

// structureOf is the structure that a new part belongs to: the roof's, or the
// house's first.
func structureOf(f *models.RoofFile) int64 {
	switch {
	case f.Roof.StructureID != nil:
		return *f.Roof.StructureID
	case len(f.Structures) > 0:
		return f.Structures[0].ID
	}
	return 0
}

// asking makes fields in the company's units, for one kind of part.
type asking struct {
	kind  string
	units units.System
	file  *models.RoofFile
}

func (a asking) label(name string) views.Phrase { return views.Term("part", a.kind+"."+name) }

func (a asking) field(name string, kind views.FieldKind, value string, read func(*Form)) partField {
	return partField{views.Field{Name: name, Kind: kind, Label: a.label(name), Value: value}, read}
}

func (a asking) text(name string, at *string, required bool) partField {
	f := a.field(name, views.Text, *at, func(f *Form) { *at = f.Text(name) })
	f.Required = required
	return f
}

func (a asking) notes(name string, at *string) partField {
	return a.field(name, views.Long, *at, func(f *Form) { *at = f.Text(name) })
}

func (a asking) word(name string, at *string, said func(string) views.Phrase, list []string) partField {
	f := a.field(name, views.Choice, *at, func(f *Form) { *at = f.Text(name) })
	f.Options = []views.Option{{Label: views.Say("unknown")}}
	for _, w := range list {
		f.Options = append(f.Options, views.Option{Value: w, Label: said(w)})
	}
	return f
}

func (a asking) yesNo(name string, at **bool) partField {
	value := ""
	if *at != nil {
		value = map[bool]string{true: "yes", false: "no"}[**at]
	}
	f := a.field(name, views.One, value, func(f *Form) { *at = f.YesNo(name) })
	f.Options = []views.Option{{Value: "", Label: views.Say("unknown")}, {Value: "yes", Label: views.Say("yesno.yes")}, {Value: "no", Label: views.Say("yesno.no")}}
	return f
}

// typed writes a measure with as many digits as were measured.
func typed(v float64) string { return strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64) }

// measure asks for a quantity in one unit or the other. What is left as it was
// shown is kept to its last digit.
func measure[V ~float64](a asking, name string, at **V, us, metric V, usUnit, metricUnit views.Phrase) partField {
	unit, word := us, usUnit
	if a.units == units.Metric {
		unit, word = metric, metricUnit
	}
	shown := ""
	if *at != nil {
		shown = typed(float64(**at / unit))
	}
	f := a.field(name, views.Number, shown, func(f *Form) {
		if shown != "" && f.Text(name) == shown {
			return
		}
		*at = nil
		if v := f.Number(name); v != nil {
			*at = new(V(*v) * unit)
		}
	})
	f.Unit = word
	return f
}

func (a asking) long(name string, at **units.Length) partField {
	return measure(a, name, at, units.Foot, units.Metre, views.Say("unit.ft"), views.Say("unit.m"))
}

func (a asking) small(name string, at **units.Length) partField {
	return measure(a, name, at, units.Inch, units.Millimetre, views.Say("unit.in"), views.Say("unit.mm"))
}

func (a asking) area(name string, at **units.Area) partField {
	return measure(a, name, at, units.SquareFoot, units.SquareMetre, views.Say("unit.ft2"), views.Say("unit.m2"))
}

func (a asking) section(name string, at **units.Area) partField {
	return measure(a, name, at, units.SquareInch, units.SquareCentimetre, views.Say("unit.in2"), views.Say("unit.cm2"))
}

// freeArea is of one vent, or of a foot or metre of one that runs on: the
// length, which is read before it, tells which.
func (a asking) freeArea(name string, v *models.Vent) partField {
	f := a.section(name, &v.FreeArea)
	f.Hint = views.Say("part.vents.free_area.hint")
	read, perFoot := f.read, units.Area(units.Foot.In(units.Metre))
	if a.units == units.Metric {
		return f
	}
	had := v.Length != nil
	if had && v.FreeArea != nil {
		f.Value = typed((*v.FreeArea * perFoot).In(units.SquareInch))
	}
	shown := f.Value
	f.read = func(form *Form) {
		if shown != "" && form.Text(name) == shown && had == (v.Length != nil) {
			return
		}
		v.FreeArea = nil
		read(form)
		if v.FreeArea != nil && v.Length != nil {
			*v.FreeArea /= perFoot
		}
	}
	return f
}

// ohm is 1 ft²·°F·h/Btu in m²·K/W (NIST SP 811, appendix B.8).
const ohm = 0.1761102

func (a asking) resistance(name string, at **float64) partField {
	return measure(a, name, at, ohm, 1, views.Say("unit.r"), views.Say("unit.rsi"))
}

func (a asking) flow(name string, at **units.Flow) partField {
	return measure(a, name, at, units.CubicFootPerMinute, units.LitrePerSecond, views.Say("unit.cfm"), views.Say("unit.ls"))
}

func (a asking) fall(name string, at **float64) partField {
	return measure(a, name, at, 1.0/12, 0.01, views.Say("unit.inft"), views.Say("unit.cmm"))
}

func (a asking) hundredths(name string, at **float64) partField {
	return measure(a, name, at, 0.01, 0.01, views.Say("unit.hundredths"), views.Say("unit.hundredths"))
}

func (a asking) number(name string, at **float64) partField {
	return measure(a, name, at, 1, 1, views.Say("unit.degrees"), views.Say("unit.degrees"))
}

func (a asking) whole(name string, at **int) partField {
	shown := ""
	if *at != nil {
		shown = strconv.Itoa(**at)
	}
	return a.field(name, views.Number, shown, func(f *Form) { *at = f.Int(name) })
}

func (a asking) pitch(name string, at **units.Pitch) partField {
	shown := ""
	if *at != nil {
		shown = typed((*at).In12())
	}
	f := a.field(name, views.Text, shown, func(f *Form) {
		if shown == "" || f.Text(name) != shown {
			*at = f.Pitch(name)
		}
	})
	f.Unit = views.Say("unit.in12")
	return f
}

func (a asking) day(name string, at *units.Date) partField {
	shown := ""
	if !at.IsZero() {
		shown = at.String()
	}
	return a.field(name, views.Day, shown, func(f *Form) { *at = f.Day(name) })
}

func (a asking) outline(name string, at *units.Outline) partField {
	f := a.field(name, views.Long, at.String(), func(f *Form) {
		read, err := units.ParseOutline(f.Text(name))
		if err != nil {
			f.Refuse(name, "%v", err)
			return
		}
		*at = read
	})
	f.Hint = views.Say("part.slopes.outline.hint")
	return f
}

// attic asks below which attic a slope lies.
func (a asking) attic(name string, at **int64) partField {
	f := a.field(name, views.Choice, number(*at), func(f *Form) { *at = f.ID(name) })
	f.Options = []views.Option{{Label: views.Say("unknown")}}
	for _, x := range a.file.Attics {
		f.Options = append(f.Options, views.Option{Value: strconv.FormatInt(x.ID, 10), Label: views.Plain(x.Name)})
	}
	return f
}

// itsAttic is attic where there must be one.
func (a asking) itsAttic(name string, at *int64) partField {
	id := at
	f := a.attic(name, &id)
	f.Options, f.Required = f.Options[1:], true
	f.read = func(f *Form) {
		if v := f.ID(name); v != nil {
			*at = *v
		}
	}
	return f
}

func (a asking) slope(name string, at **int64) partField {
	f := a.field(name, views.Choice, number(*at), func(f *Form) { *at = f.ID(name) })
	f.Options = []views.Option{{Label: views.Say("unknown")}}
	for _, x := range a.file.Slopes {
		f.Options = append(f.Options, views.Option{Value: strconv.FormatInt(x.ID, 10), Label: views.Plain(x.Name)})
	}
	return f
}

func number(id *int64) string {
	if id == nil || *id == 0 {
		return ""
	}
	return strconv.FormatInt(*id, 10)
}

// part reads the roof and the part that the path names, with what is asked of
// it. A vent needs an attic to be in, and the rest a building to be on.
func (s *Server) part(r *Request, id int64) (f *models.RoofFile, part models.Record, fields []partField, err error) {
	roofID, err := r.ID("id")
	if err != nil {
		return nil, nil, nil, err
	}
	if f, err = s.service.RoofParts(r.ctx, r.Actor, roofID); err != nil {
		return nil, nil, nil, err
	}
	kind, known := partKinds[r.Param("kind")]
	if known {
		part = kind.find(f, id)
	}
	switch {
	case part == nil:
		return nil, nil, nil, models.Errorf(models.NotFound, "There is no such part of this roof.")
	case id == 0 && r.Param("kind") == "vents" && len(f.Attics) == 0:
		return nil, nil, nil, models.Errorf(models.Invalid, "Write the attic down first: a vent belongs to one.")
	case id == 0 && r.Param("kind") != "structures" && structureOf(f) == 0:
		return nil, nil, nil, models.Errorf(models.Invalid, "Write the building down first: its parts belong to it.")
	}
	return f, part, kind.fields(asking{r.Param("kind"), r.Units, f}, part), nil
}

func partForm(r *Request, f *models.RoofFile, part models.Record, fields []partField) views.RoofFormPage {
	kind := r.Param("kind")
	p := views.RoofFormPage{Frame: r.Frame(views.Roofs)}
	p.Title = views.Term("part.title", kind)
	p.Opening = []views.Phrase{views.Say("part.opening", "address", f.Address.Line()).Link("address", roofURL(f.Roof.ID)+"#structure")}
	asked := make([]views.Field, 0, len(fields)+1)
	for _, field := range fields {
		asked = append(asked, field.Field)
	}
	action := fmt.Sprintf("/roofs/%d/parts/%s", f.Roof.ID, kind)
	if id := part.Base().ID; id != 0 {
		action = partURL(f.Roof.ID, kind, id)
		asked = append(asked, views.Field{Name: "version", Kind: views.Hidden, Value: strconv.FormatInt(part.Base().Version, 10)})
	}
	p.Form = p.Frame.Form("part", action, views.Say("roof.save"), asked...)
	p.Form.Cancel = roofURL(f.Roof.ID) + "#structure"
	return p
}

func (s *Server) newPart(r *Request) error { return s.askPart(r, 0) }

func (s *Server) editPart(r *Request) error {
	id, err := r.ID("part")
	if err != nil {
		return err
	}
	return s.askPart(r, id)
}

func (s *Server) askPart(r *Request, id int64) error {
	f, part, fields, err := s.part(r, id)
	if err != nil {
		return err
	}
	return r.Render(partForm(r, f, part, fields))
}

func (s *Server) addPart(r *Request) error { return s.savePart(r, 0) }

func (s *Server) changePart(r *Request) error {
	id, err := r.ID("part")
	if err != nil {
		return err
	}
	return s.savePart(r, id)
}

func (s *Server) savePart(r *Request, id int64) error {
	f, part, fields, err := s.part(r, id)
	if err != nil {
		return err
	}
	form := r.Form()
	for _, field := range fields {
		field.read(form)
	}
	part.Base().Version = form.Version()
	err = form.Err()
	if err == nil {
		err = s.service.SavePart(r.ctx, r.Actor, f.Roof.ID, part)
	}
	if err != nil {
		p := partForm(r, f, part, fields)
		return r.Refused(p, p.Form, err)
	}
	return r.Redirect(roofURL(f.Roof.ID)+"#structure", views.Say("part.saved"))
}
