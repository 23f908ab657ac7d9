package server

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

// extents are the shares that the words for an extent stand for: the middle of
// each.
var extents = []string{"0.05", "0.2", "0.4", "0.75", "1"}

// findingForm asks what a look found: how it was looked at, and for each defect
// of the catalogue what was seen of it, on all slopes that were in sight and, line by
// line, on one on which it is different. Of a defect that the visit has already,
// the form holds what is kept; sent before, it has the lines that were sent.
func findingForm(r *Request, p views.Frame, file *service.VisitFile, action string) *views.Form {
	v := &file.Visit
	methods := make([]views.Option, 0, len(models.VisitMethods))
	for _, name := range models.VisitMethods {
		methods = append(methods, views.Option{Value: name, Label: views.Term("lookedby", name)})
	}
	doneOn := v.DoneOn
	if doneOn.IsZero() {
		doneOn = r.Today
	}
	yesNo := func(name string, label views.Phrase, value *bool) views.Field {
		f := views.Field{Name: name, Kind: views.One, Label: label, Options: []views.Option{
			{Value: "yes", Label: views.Say("visit.yes")}, {Value: "no", Label: views.Say("visit.no")}}}
		if value != nil {
			f.Value = map[bool]string{true: "yes", false: "no"}[*value]
		}
		return f
	}
	wet := yesNo("wet", views.Say("visit.wet"), v.Wet)
	wet.Hint = views.Say("visit.wet.hint")
	fields := []views.Field{}
	if v.ID == 0 {
		purposes := make([]views.Option, 0, len(models.VisitPurposes))
		for _, name := range models.VisitPurposes {
			purposes = append(purposes, views.Option{Value: name, Label: views.Term("purpose", name)})
		}
		fields = append(fields, views.Field{Name: "purpose", Kind: views.Choice, Label: views.Say("newvisit.purpose"), Value: cmp.Or(v.Purpose, "checkup"), Options: purposes})
	}
	fields = append(append(fields, callbackField(file)...),
		views.Field{Name: "done_on", Kind: views.Day, Label: views.Say("visit.doneon"), Value: doneOn.String(), Required: true},
		views.Field{Name: "method", Kind: views.One, Label: views.Say("visit.method"), Hint: views.Say("visit.method.hint"), Value: v.Method, Options: methods})
	slopes := slopesToSee(file, doneOn)
	if len(slopes) > 0 {
		fields = append(fields, sightField(v, slopes))
	}
	form := p.Form("record", action, views.Say("visit.save"), append(fields,
		wet, yesNo("gutters", views.Say("visit.gutters"), v.Gutters),
		views.Field{Name: "notes", Kind: views.Long, Label: views.Say("visit.notes"), Value: v.Notes},
		views.Field{Name: "version", Kind: views.Hidden, Value: strconv.FormatInt(v.Version, 10)})...)
	for _, part := range wear.Parts() {
		form.Group(views.Term("part", string(part)), views.Field{Name: "rest." + string(part), Kind: views.One, Label: views.Say("visit.rest"), Options: []views.Option{
			{Value: "", Label: views.Say("visit.rest.no")}, {Value: "none", Label: views.Say("visit.rest.none")}}})
		for _, d := range defectsOf(file) {
			if d.Part == part {
				foldDefect(r.Form(), form, d, file, slopes)
			}
		}
	}
	return form
}

// noSlope is what a form and a page say where no slope was in sight.
const noSlope = "none"

// slopesToSee are the slopes of the roof that lie there on a day, and those that the
// visit names all the same.
func slopesToSee(file *service.VisitFile, on units.Date) []models.Slope {
	return slices.DeleteFunc(slices.Clone(file.Slopes), func(s models.Slope) bool {
		lies := s.InstalledOn <= on && (s.EndedOn.IsZero() || s.EndedOn > on)
		named := file.Visit.InSight != nil && file.Visit.Saw(s.ID) ||
			slices.ContainsFunc(file.Findings, func(f models.Finding) bool { return models.Same(f.SlopeID, &s.ID) })
		return !lies && !named
	})
}

// sightField asks which slopes could be seen. Nothing ticked is that nobody said.
func sightField(v *models.Visit, slopes []models.Slope) views.Field {
	f := views.Field{Name: "in_sight", Kind: views.Several, Label: views.Say("visit.sight"), Hint: views.Say("visit.sight.hint")}
	for _, s := range slopes {
		option := views.Option{Value: strconv.FormatInt(s.ID, 10), Label: views.Plain(s.Name)}
		f.Options = append(f.Options, option)
		if v.InSight != nil && v.Saw(s.ID) {
			f.Values = append(f.Values, option.Value)
		}
	}
	f.Options = append(f.Options, views.Option{Value: noSlope, Label: views.Say("visit.sight.none")})
	if v.InSight != nil && len(*v.InSight) == 0 {
		f.Values = []string{noSlope}
	}
	return f
}

// readSight reads which slopes could be seen: nil where nothing is ticked.
func readSight(form *Form, slopes []models.Slope) *models.JSON[int64] {
	ticked := form.Texts("in_sight")
	if len(ticked) == 0 {
		return nil
	}
	seen := models.JSON[int64]{}
	for _, text := range ticked {
		id, _ := strconv.ParseInt(text, 10, 64)
		switch {
		case text == noSlope && len(ticked) > 1:
			form.Refuse("in_sight", "either none was in sight, or those that are ticked")
		case text == noSlope:
		case !slices.ContainsFunc(slopes, func(s models.Slope) bool { return s.ID == id }):
			form.Refuse("in_sight", "is not a slope of this roof")
		default:
			seen = append(seen, id)
		}
	}
	return &seen
}

// defectsOf are the defects that the roof's covering can have, and those that
// were written down all the same.
func defectsOf(file *service.VisitFile) []wear.Defect {
	family := file.Family
	if family == "" {
		family = wear.Unknown
	}
	return slices.DeleteFunc(wear.Catalogue(), func(d wear.Defect) bool {
		return !d.OccursOn(family) && !slices.ContainsFunc(file.Findings, func(f models.Finding) bool { return f.Defect == d.Key })
	})
}

// allSlopes is what a further line says that speaks of all slopes in sight.
const allSlopes = "all"

// line is what a form asks of a defect: on its first line of all slopes in sight, if
// no other place is chosen, and on each further one of a slope on which it is
// different.
type line struct {
	at   string          // what its fields are named by: moss, moss.2
	kept *models.Finding // what the visit has of it; nil is nothing
	more bool            // asked for just now
}

func lineOf(defect string, n int) string {
	if n == 0 {
		return defect
	}
	return fmt.Sprint(defect, ".", n+1)
}

// sentLines counts the lines of a defect that were sent.
func sentLines(form *Form, defect string) int {
	sent := func(n int) bool {
		return slices.ContainsFunc([]string{"look.", "extent.", "slope.", "note.", "was."}, func(field string) bool { return form.Has(field + lineOf(defect, n)) })
	}
	n := 0
	for sent(n) || (n == 0 && sent(1)) {
		n++
	}
	return n
}

// linesOf gives the lines of a defect: those that were sent, with what is kept of
// each, what is kept besides, and one more where it was asked for.
func linesOf(form *Form, d wear.Defect, file *service.VisitFile, slopes []models.Slope) []line {
	place := func(f *models.Finding) int { // the whole roof first; what is not of this roof is not asked
		if f.SlopeID == nil {
			return 0
		}
		i := slices.IndexFunc(slopes, func(s models.Slope) bool { return s.ID == *f.SlopeID })
		if i < 0 {
			return -1
		}
		return i + 1
	}
	var kept []*models.Finding
	for i := range file.Findings {
		f := &file.Findings[i]
		if f.Defect == d.Key && f.Look != "not_looked" && place(f) >= 0 && f == models.FindingOf(file.Findings, d.Key, f.SlopeID) {
			kept = append(kept, f)
		}
	}
	slices.SortFunc(kept, func(a, b *models.Finding) int { return cmp.Compare(place(a), place(b)) })
	var out []line
	for n := range sentLines(form, d.Key) {
		l := line{at: lineOf(d.Key, n)}
		of := form.Text("slope." + l.at)
		if form.Text("was."+l.at) != "" && form.Has("of."+l.at) {
			of = form.Text("of." + l.at)
		}
		if i := slices.IndexFunc(kept, func(f *models.Finding) bool { return slopeText(f.SlopeID) == strings.TrimPrefix(of, allSlopes) }); i >= 0 && (n == 0 || of != "") {
			l.kept = kept[i]
			kept = slices.Delete(kept, i, i+1)
		}
		out = append(out, l)
	}
	for _, f := range kept {
		out = append(out, line{at: lineOf(d.Key, len(out)), kept: f})
	}
	if len(out) == 0 {
		out = []line{{at: d.Key}}
	}
	if form.Text("more") == d.Key && len(out) <= len(slopes) {
		out = append(out, line{at: lineOf(d.Key, len(out)), more: true})
	}
	return out
}

func slopeText(id *int64) string {
	if id == nil {
		return ""
	}
	return strconv.FormatInt(*id, 10)
}

// foldDefect adds the lines of a defect to a form, and the button for one more.
func foldDefect(typed *Form, form *views.Form, d wear.Defect, file *service.VisitFile, slopes []models.Slope) {
	class := unjudged(d, file.Family)
	lines := linesOf(typed, d, file, slopes)
	for n, l := range lines {
		heading := views.Term("defect", d.Key)
		if n > 0 {
			on := ""
			if l.kept != nil {
				on = slopeText(l.kept.SlopeID)
			}
			if typed.Has("slope." + l.at) {
				on = typed.Text("slope." + l.at)
			}
			heading = views.Say("visit.line", "defect", heading)
			if i := slices.IndexFunc(slopes, func(s models.Slope) bool { return slopeText(&s.ID) == on }); i >= 0 {
				heading = views.Say("visit.line.on", "defect", views.Term("defect", d.Key), "slope", slopes[i].Name)
			}
		}
		none := l.kept != nil && l.kept.Look == "none" && l.kept.Note == ""
		if typed.Has("was." + l.at) {
			none = none && typed.Text("look."+l.at) == "none" && typed.Text("note."+l.at) == ""
		}
		if none {
			heading = views.Say("visit.line.none", "what", heading)
		}
		form.Fold(heading, lineFields(d, n, l, file, slopes)...)
		group := form.Last()
		group.Class, group.Line, group.Opened, group.Tucked = class, n > 0, l.more, none
	}
	if n := len(lines); len(slopes) > 1 && n <= len(slopes) {
		form.Last().More = &views.More{Label: views.Say("visit.more"), Value: d.Key, At: form.ID + "-slope." + lineOf(d.Key, n)}
	}
}

// unjudged names, for the style sheet, the looks that cannot judge a defect.
func unjudged(d wear.Defect, family string) string {
	var out []string
	for _, name := range models.VisitMethods {
		if !d.JudgedBy(wear.Method(name), family) {
			out = append(out, "not-"+name)
		}
	}
	if d.NeedsDry {
		out = append(out, "needs-dry")
	}
	return strings.Join(out, " ")
}

// lineFields are the questions of the nth line of a defect, from 0.
func lineFields(d wear.Defect, n int, l line, file *service.VisitFile, slopes []models.Slope) []views.Field {
	look, extent, note, of := "", "", "", ""
	if f := l.kept; f != nil {
		look, note, of = map[string]string{"none": "none"}[f.Look], f.Note, slopeText(f.SlopeID)
		if f.Severity != nil {
			look = strconv.Itoa(*f.Severity)
		}
		if f.Extent != nil {
			extent = nearestExtent(*f.Extent)
		}
	}
	shares := []views.Option{{Value: "", Label: views.Say("visit.unsaid")}}
	for _, share := range extents {
		shares = append(shares, views.Option{Value: share, Label: views.Term("extent", share)})
	}
	where := views.Field{Name: "slope." + l.at, Kind: views.Choice, Label: views.Say("visit.slope"), Value: of, Options: []views.Option{{Value: "", Label: views.Say("visit.slope.sight")}}}
	if n > 0 {
		where.Options = []views.Option{{Value: "", Label: views.Say("visit.slope.choose")}}
		if l.kept != nil && l.kept.SlopeID == nil {
			where.Value = allSlopes
		}
	}
	for _, s := range slopes {
		where.Options = append(where.Options, views.Option{Value: slopeText(&s.ID), Label: views.Plain(s.Name)})
	}
	if n > 0 {
		where.Options = append(where.Options, views.Option{Value: allSlopes, Label: views.Say("visit.slope.rest")})
	}
	fields := []views.Field{
		{Name: "look." + l.at, Kind: views.One, Label: views.Say("visit.look"), Hint: judgedBy(d, file.Family), Value: look, Options: []views.Option{
			{Value: "", Label: views.Say("visit.look.no")}, {Value: "none", Label: views.Say("visit.look.none")},
			{Value: "1", Label: views.Say("visit.step1", "step", views.Term("step", d.Key+".1"))},
			{Value: "2", Label: views.Say("visit.step2", "step", views.Term("step", d.Key+".2"))},
			{Value: "3", Label: views.Say("visit.step3", "step", views.Term("step", d.Key+".3"))}}},
		{Name: "extent." + l.at, Kind: views.Choice, Label: views.Say("visit.extent"), Value: extent, Options: shares},
	}
	switch {
	case len(slopes) == 0:
	case n == 0:
		fields = append(fields, where)
	default:
		fields[0].Label = views.Say("visit.look.slope")
		fields = append([]views.Field{where}, fields...)
	}
	return append(fields, views.Field{Name: "note." + l.at, Kind: views.Text, Label: views.Say("visit.notes"), Value: note},
		views.Field{Name: "was." + l.at, Kind: views.Hidden, Value: look}, views.Field{Name: "of." + l.at, Kind: views.Hidden, Value: of})
}

// readDefect reads the lines of a defect into what v found. What a line said before
// and says no more is taken back: it is not looked at, unless another line speaks of
// its place.
func readDefect(form *Form, d wear.Defect, file *service.VisitFile, v *models.Visit) []models.Finding {
	var out, back []models.Finding
	for n := range max(1, sentLines(form, d.Key)) {
		at := lineOf(d.Key, n)
		f := models.Finding{Defect: d.Key, Note: form.Text("note." + at), Look: "seen"}
		place := form.Text("slope." + at)
		if place != allSlopes {
			f.SlopeID = form.ID("slope." + at)
		}
		if f.SlopeID != nil && !slices.ContainsFunc(file.Slopes, func(s models.Slope) bool { return s.ID == *f.SlopeID }) {
			form.Refuse("slope."+at, "is not a slope of this roof")
		}
		look, was := form.Text("look."+at), form.Text("was."+at) != ""
		of := f.SlopeID
		if form.Has("of." + at) {
			of = form.ID("of." + at)
		}
		if was && (look == "" || !models.Same(of, f.SlopeID)) {
			taken := models.Finding{Defect: d.Key, SlopeID: of, Look: "not_looked"}
			if look == "" {
				taken.Note = f.Note
			}
			back = append(back, taken)
		}
		switch look {
		case "1", "2", "3":
			f.Severity, f.Extent = form.Int("look."+at), form.Number("extent."+at)
			// What was noted more finely than the form asks stays so.
			if kept := models.FindingOf(file.Findings, d.Key, of); kept != nil && kept.Extent != nil && nearestExtent(*kept.Extent) == form.Text("extent."+at) {
				f.Extent = kept.Extent
			}
		case "none":
			f.Look = look
		case "":
			if !was && (f.Note != "" || place != "" || form.Text("extent."+at) != "") {
				form.Refuse("look."+at, "say what was seen, or leave the line empty")
			}
			continue
		default:
			form.Refuse("look."+at, "is not in the list")
			continue
		}
		switch {
		case n > 0 && place == "":
			form.Refuse("slope."+at, "say on which slope")
		case slices.ContainsFunc(out, func(o models.Finding) bool { return models.Same(o.SlopeID, f.SlopeID) }):
			form.Refuse("slope."+at, "has a line of this defect already: choose another slope, or say of one of the two that it was not looked at")
		case f.SlopeID != nil && !v.Saw(*f.SlopeID):
			form.Refuse("slope."+at, "was not in sight, as it is ticked above: tick it there too, or say another place")
		}
		if e := publicError(f.Validate()); e != nil {
			for _, field := range e.Fields {
				name := field.Field
				if name == "severity" {
					name = "look"
				}
				form.Refuse(name+"."+at, "%s", field.Rule)
			}
		}
		out = append(out, f)
	}
	said := func(slope *int64) bool {
		return slices.ContainsFunc(out, func(o models.Finding) bool { return models.Same(o.SlopeID, slope) })
	}
	takenBack := slices.ContainsFunc(back, func(b models.Finding) bool { return b.SlopeID == nil })
	kept := models.FindingOf(file.Findings, d.Key, nil)
	// What somebody else wrote down since the form was opened stays.
	if form.Text("rest."+string(d.Part)) == "none" && !said(nil) && (takenBack || kept == nil || kept.Look == "not_looked") &&
		d.JudgedBy(wear.Method(v.Method), file.Family) && !(d.NeedsDry && v.Wet != nil && *v.Wet) {
		out = append(out, models.Finding{Defect: d.Key, Look: "none"})
	}
	for _, taken := range back {
		if !said(taken.SlopeID) {
			out = append(out, taken)
		}
	}
	return out
}

// judgedBy says by which looks a defect can be judged, where it is not by all.
func judgedBy(d wear.Defect, family string) views.Phrase {
	var by []views.Phrase
	for _, name := range models.VisitMethods {
		if d.JudgedBy(wear.Method(name), family) {
			by = append(by, views.Term("lookedby", name))
		}
	}
	switch all := len(by) == len(models.VisitMethods); {
	case all && d.NeedsDry:
		return views.Say("visit.judged.dry")
	case all:
		return views.Phrase{}
	case d.NeedsDry:
		return views.Say("visit.judged.by.dry", "methods", by)
	}
	return views.Say("visit.judged.by", "methods", by)
}

func nearestExtent(share float64) string {
	best, least := "", math.Inf(1)
	for _, text := range extents {
		v, _ := strconv.ParseFloat(text, 64)
		if d := math.Abs(v - share); d < least {
			best, least = text, d
		}
	}
	return best
}

// readVisit reads the form of findingForm into the visit of file, and what was
// found.
func readVisit(r *Request, file *service.VisitFile) (*models.Visit, []models.Finding, error) {
	form := r.Form()
	v := file.Visit
	v.Version = form.Version()
	if v.ID == 0 {
		v.Purpose = form.Text("purpose")
	}
	v.CallbackID = readCallbackField(form, file)
	v.DoneOn, v.Method, v.Gutters, v.Notes = form.Day("done_on"), form.Text("method"), form.YesNo("gutters"), form.Text("notes")
	v.Wet = form.YesNo("wet")
	if len(file.Slopes) > 0 {
		v.InSight = readSight(form, file.Slopes)
	}
	if v.ByName == "" {
		v.ByName, v.PersonID = r.Actor.Name, &r.Actor.PersonID
	}
	var findings []models.Finding
	for _, d := range defectsOf(file) {
		findings = append(findings, readDefect(form, d, file, &v)...)
	}
	if v.InSight != nil && len(*v.InSight) == 0 && slices.ContainsFunc(findings, func(f models.Finding) bool { return f.Look != "not_looked" }) {
		form.Refuse("in_sight", "where no slope was in sight, nothing can have been looked for: tick what was, or take away what was found")
	}
	return &v, findings, form.Err()
}
