package views

import (
	"maps"
	"net/url"
	"slices"
	"strings"
)

// FieldKind says how a field is filled in.
type FieldKind string

// The kinds of field.
const (
	Text     FieldKind = "text"
	Email    FieldKind = "email"
	Phone    FieldKind = "tel"
	Password FieldKind = "password" // never keeps what was typed
	Number   FieldKind = "number"   // with its Unit; kept as typed, even when it is no number
	Day      FieldKind = "date"     // a day known to the day; use Text for "about 2014"
	Choice   FieldKind = "choice"   // one of Options, in a list
	One      FieldKind = "one"      // one of Options, all in sight, for a thumb
	Several  FieldKind = "several"  // any of Options, as boxes to tick
	Long     FieldKind = "long"     // a few lines of text
	File     FieldKind = "file"
	Hidden   FieldKind = "hidden"
)

// Option is one choice of a field.
type Option struct {
	Value string
	Label Phrase
}

// Field is one question of a form. Name is the record's column, so that an error
// about laid_on finds the field laid_on.
type Field struct {
	Name     string
	Kind     FieldKind
	Label    Phrase
	Hint     Phrase
	Unit     Phrase   // after a Number
	Value    string   // what is in the field
	Values   []string // what is ticked, for Several
	Options  []Option // for Choice, One and Several
	Required bool
	Autofill string // the HTML autocomplete token, such as "current-password"
	Accept   string // kinds of File, such as "image/*"
	Error    string // the rule that was broken, beside the field
	Kept     Phrase // what is kept by now, where somebody else changed the record meanwhile
	ID       string // set by the form
}

// Described gives the ids of the texts that belong to the field.
func (f Field) Described() string {
	ids := ""
	if !f.Hint.IsZero() {
		ids = f.ID + "-hint"
	}
	if f.Error != "" {
		if ids != "" {
			ids += " "
		}
		ids += f.ID + "-error"
	}
	if !f.Kept.IsZero() {
		ids = strings.TrimSpace(ids + " " + f.ID + "-kept")
	}
	return ids
}

// Ticked says whether an option of the field is chosen.
func (f Field) Ticked(value string) bool {
	if f.Kind == Several {
		return slices.Contains(f.Values, value)
	}
	return f.Value == value
}

// Group is some fields of a form under one heading; the heading may be empty. A
// folded group shows its heading alone until it is opened.
type Group struct {
	Heading Phrase
	Fields  []Field
	Folded  bool
	Tucked  bool   // folded, and shut also when it is filled in
	Line    bool   // one more line of the group before
	Opened  bool   // folded, and open also when it is empty
	Class   string // further classes of a folded group, for the style sheet
	More    *More  // below the fields
}

// More is a button for one more line of a group: it sends the form to be drawn again
// with that line and all that was typed, and saves nothing.
type More struct {
	Label Phrase
	Value string // of the field "more"
	At    string // id of the field at which the form goes on
}

// Open says whether a folded group is shown open: something in it is wrong, or
// filled in where it is not tucked away.
func (g Group) Open() bool {
	return g.Opened || slices.ContainsFunc(g.Fields, func(f Field) bool {
		return f.Error != "" || !f.Kept.IsZero() || (!g.Tucked && f.Kind != Hidden && f.Value != "")
	})
}

// Form is a set of questions and the button that sends them. It is made by
// Frame.Form or Frame.Filter.
type Form struct {
	ID     string
	Action string
	Groups []Group
	Submit Phrase // on the button
	Cancel string // where giving up leads; no such link when empty
	Error  string // what is wrong with the whole
	Plain  bool   // a secondary form: its button is drawn quietly
	Region string // of a filter: the id of the Table that it narrows

	method string
	csrf   string
}

// Form makes a form that changes something. It posts to action, with the token
// of the session. Its id tells it from other forms on the page.
func (f Frame) Form(id, action string, submit Phrase, fields ...Field) *Form {
	form := &Form{ID: id, Action: action, Submit: submit, method: "post", csrf: f.CSRF}
	return form.Group(Phrase{}, fields...)
}

// Filter makes a form that narrows a list and changes nothing. Where scripts
// run, only the Table with the id region is fetched anew.
func (f Frame) Filter(id, action, region string, fields ...Field) *Form {
	form := &Form{ID: id, Action: action, Submit: Say("filter.apply"), Region: region, method: "get"}
	return form.Group(Phrase{}, fields...)
}

// Group adds fields under a heading.
func (f *Form) Group(heading Phrase, fields ...Field) *Form {
	for i := range fields {
		fields[i].ID = f.ID + "-" + fields[i].Name
	}
	f.Groups = append(f.Groups, Group{Heading: heading, Fields: fields})
	return f
}

// Fold adds fields under a heading that opens.
func (f *Form) Fold(heading Phrase, fields ...Field) *Form {
	f.Group(heading, fields...)
	f.Last().Folded = true
	return f
}

// Last is the group that was added last, to say more of it.
func (f *Form) Last() *Group { return &f.Groups[len(f.Groups)-1] }

// Grows says whether a group has a button for one more line.
func (f *Form) Grows() bool {
	return slices.ContainsFunc(f.Groups, func(g Group) bool { return g.More != nil })
}

// Keep puts back what was typed, so that a refused form is not typed twice. A
// password is never put back, nor a file.
func (f *Form) Keep(values url.Values) *Form {
	f.each(func(field *Field) {
		switch field.Kind {
		case Password, File:
		case Several:
			field.Values = values[field.Name]
		default:
			if values.Has(field.Name) {
				field.Value = values.Get(field.Name)
			}
		}
	})
	return f
}

// Compare puts back what was typed, as Keep does, into a form that was filled
// from the newest record: where somebody else changed the record meanwhile, what
// is kept now stands beside each field that was typed otherwise, and the form
// goes on from the newest version, so that sending it again saves it.
func (f *Form) Compare(typed url.Values) *Form {
	newer := false
	f.each(func(field *Field) {
		newer = newer || (field.Name == "version" && field.Kind == Hidden && typed.Has("version") && typed.Get("version") != field.Value)
	})
	if !newer {
		return f.Keep(typed)
	}
	f.each(func(field *Field) {
		if field.Kind == Several {
			field.compareTicks(typed[field.Name])
			return
		}
		same := strings.TrimSpace(strings.ReplaceAll(typed.Get(field.Name), "\r\n", "\n")) == field.Value
		switch {
		case !typed.Has(field.Name) || same || slices.Contains([]FieldKind{Hidden, Password, File}, field.Kind):
			return
		case field.Value == "":
			field.Kept = Say("form.kept.nothing")
		default:
			kept := Plain(field.Value)
			for _, o := range field.Options {
				if o.Value == field.Value {
					kept = o.Label
				}
			}
			field.Kept = Say("form.kept", "value", kept)
		}
	})
	rest := maps.Clone(typed)
	rest.Del("version")
	return f.Keep(rest)
}

// compareTicks says what is ticked now where it was ticked otherwise.
func (f *Field) compareTicks(typed []string) {
	var kept []Phrase
	same := len(typed) == len(f.Values)
	for _, o := range f.Options {
		same = same && slices.Contains(typed, o.Value) == f.Ticked(o.Value)
		if f.Ticked(o.Value) {
			kept = append(kept, o.Label)
		}
	}
	switch {
	case same:
	case len(kept) == 0:
		f.Kept = Say("form.kept.nothing")
	default:
		f.Kept = Say("form.kept", "value", kept)
	}
}

// Refuse shows which rules were broken: a message about the whole, and for each
// field by its name the rule beside it. A rule about a field that the form does
// not have is added to the message, so that none is lost.
func (f *Form) Refuse(message string, rules map[string]string) *Form {
	f.Error = message
	shown := map[string]bool{}
	f.each(func(field *Field) {
		if rule, broken := rules[field.Name]; broken && field.Kind != Hidden {
			field.Error, shown[field.Name] = rule, true
		}
	})
	for _, name := range sortedKeys(rules) {
		if !shown[name] {
			f.Error += " " + name + ": " + rules[name]
		}
	}
	return f
}

// Tuck adds fields that do not matter at this step under a heading that opens.
// What they hold is sent along, and can be corrected.
func (f *Form) Tuck(heading Phrase, fields ...Field) *Form {
	f.Fold(heading, fields...)
	f.Last().Tucked = true
	return f
}

func (f *Form) each(do func(*Field)) {
	for g := range f.Groups {
		for i := range f.Groups[g].Fields {
			do(&f.Groups[g].Fields[i])
		}
	}
}

// Wrong lists the fields with an error, for the summary above the form; one of a
// folded group says of which.
func (f *Form) Wrong() []Field {
	var wrong []Field
	for _, g := range f.Groups {
		for _, field := range g.Fields {
			if field.Error == "" {
				continue
			}
			if g.Folded && !g.Heading.IsZero() {
				field.Label = Say("form.wrong.in", "group", g.Heading, "field", field.Label)
			}
			wrong = append(wrong, field)
		}
	}
	return wrong
}

// Method is get or post.
func (f *Form) Method() string { return f.method }

// CSRF is the token of a form that posts.
func (f *Form) CSRF() string { return f.csrf }

// Uploads says whether the form sends files.
func (f *Form) Uploads() bool {
	uploads := false
	f.each(func(field *Field) { uploads = uploads || field.Kind == File })
	return uploads
}
