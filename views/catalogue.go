package views

import (
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// CoveringsPage is the catalogue of coverings.
type CoveringsPage struct {
	Frame
	Add   bool // this person may add to it
	Table Table
}

// Template is "coverings".
func (CoveringsPage) Template() string { return "coverings" }

// NewCoveringsPage makes the page. Money says whether prices are shown, edit
// whether the catalogue may be changed.
func NewCoveringsPage(f Frame, coverings []models.Covering, money, edit bool) CoveringsPage {
	f.Title = Say("covering.title")
	current := 0
	p := CoveringsPage{Add: edit, Table: Table{ID: "coverings", Caption: Say("covering.list"), Empty: Say("covering.none"),
		Columns: []Column{{Head: Say("covering.name")}, {Head: Say("covering.family")},
			{Head: Say("covering.bundles"), Numeric: true}, {Head: Say("covering.shingles"), Numeric: true}, {Head: Say("covering.nails"), Numeric: true}}}}
	if money {
		p.Table.Columns = append(p.Table.Columns, Column{Head: Say("covering.price"), Numeric: true})
	}
	p.Table.Columns = append(p.Table.Columns, Column{Head: Say("covering.ended")})
	for _, c := range coverings {
		if c.EndedOn.IsZero() {
			current++
		}
		name := Cell{Value: c.Name, Note: Plain(c.Key)}
		if edit {
			name.URL = fmt.Sprintf("/records/coverings/%d", c.ID)
		}
		row := NewRow(name, Term("covering_family", c.Family), known(typedNumber(c.BundlesPerSquare)), known(typedNumber(c.ShinglesPerBundle)), c.NailsPerShingle)
		if money {
			price := Cell{}
			if c.PricePerSquare != 0 {
				price.Value = c.PricePerSquare
			}
			row.Cells = append(row.Cells, price)
		}
		p.Table.Rows = append(p.Table.Rows, Row{Cells: append(row.Cells, endedCell(c.EndedOn))})
	}
	f.Opening = []Phrase{Say("covering.opening", "coverings", current).Link("coverings", "#coverings")}
	p.Frame = f
	return p
}

// endedCell is the day on which an entry of a catalogue ended, or nothing.
func endedCell(on units.Date) Cell {
	if on.IsZero() {
		return Cell{Value: Phrase{}}
	}
	return Cell{Value: on}
}

// known is a text of a figure, or nil when it is not known.
func known(text string) any {
	if text == "" {
		return nil
	}
	return text
}

// CoveringPage is the form of one covering.
type CoveringPage struct {
	Frame
	Form *Form
}

// Template is "covering".
func (CoveringPage) Template() string { return "covering" }

// NewCoveringPage makes the page of a covering, or of a new one when it has no
// number. Money says whether its price is asked for.
func NewCoveringPage(f Frame, c *models.Covering, money bool) CoveringPage {
	action := "/records/coverings"
	f.Title = Say("covering.new")
	if c.ID != 0 {
		action, f.Title = fmt.Sprintf("/records/coverings/%d", c.ID), Plain(c.Name)
	}
	families := []Option{{"", Say("catalogue.choose")}}
	for _, family := range models.Families {
		families = append(families, Option{family, Term("covering_family", family)})
	}
	form := f.Form("covering", action, Say("catalogue.save"),
		Field{Name: "name", Kind: Text, Label: Say("covering.name"), Value: c.Name, Required: true},
		Field{Name: "key", Kind: Text, Label: Say("covering.key"), Hint: Say("covering.key.hint"), Value: c.Key, Required: true},
		Field{Name: "family", Kind: Choice, Label: Say("covering.family"), Hint: Say("covering.family.hint"), Value: c.Family, Options: families, Required: true},
		Field{Name: "bundles_per_square", Kind: Number, Label: Say("covering.bundles"), Value: typedNumber(c.BundlesPerSquare)},
		Field{Name: "shingles_per_bundle", Kind: Number, Label: Say("covering.shingles"), Value: typedNumber(c.ShinglesPerBundle)},
		Field{Name: "nails_per_shingle", Kind: Number, Label: Say("covering.nails"), Value: wholeText(c.NailsPerShingle)})
	if money {
		form.Group(Phrase{}, Field{Name: "price_per_square", Kind: Number, Label: Say("covering.price"), Hint: Say("covering.price.hint"),
			Value: typedMoney(c.PricePerSquare), Unit: Plain(f.Currency)})
	}
	form.Group(Phrase{},
		Field{Name: "material_term_months", Kind: Number, Label: Say("covering.material"), Value: wholeText(c.MaterialTermMonths), Unit: Say("catalogue.months")},
		Field{Name: "ended_on", Kind: Day, Label: Say("covering.ended"), Hint: Say("covering.ended.hint"), Value: dayText(c.EndedOn)},
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(c.Version, 10)})
	form.Cancel = "/records/coverings"
	return CoveringPage{Frame: f, Form: form}
}

// TermsListPage is the catalogue of warranty terms.
type TermsListPage struct {
	Frame
	Add   bool
	Table Table
}

// Template is "terms_list".
func (TermsListPage) Template() string { return "terms_list" }

// NewTermsListPage makes the page.
func NewTermsListPage(f Frame, all []models.Terms, edit bool) TermsListPage {
	f.Title = Say("terms.title")
	current := 0
	p := TermsListPage{Add: edit, Table: Table{ID: "terms", Caption: Say("terms.list"), Empty: Say("terms.none"),
		Columns: []Column{{Head: Say("terms.name")}, {Head: Say("terms.kind")}, {Head: Say("terms.term"), Numeric: true},
			{Head: Say("terms.full"), Numeric: true}, {Head: Say("terms.conditions"), Numeric: true}, {Head: Say("terms.ended")}}}}
	for _, t := range all {
		if t.EndedOn.IsZero() {
			current++
		}
		p.Table.Rows = append(p.Table.Rows, NewRow(Cell{Value: t.Name, URL: fmt.Sprintf("/records/terms/%d", t.ID), Note: Plain(t.Key)}, Term("terms_kind", t.Kind),
			Say("catalogue.span", "months", t.TermMonths), Say("catalogue.span", "months", t.FullMonths), len(t.Conditions), endedCell(t.EndedOn)))
	}
	f.Opening = []Phrase{Say("terms.opening", "terms", current).Link("terms", "#terms")}
	p.Frame = f
	return p
}

// ConditionKind is one kind of condition that terms can set.
type ConditionKind struct {
	Key, Sentence, HowToShow, DaysMean string
	NeedsDays                          bool
}

// TermsPage is one entry of the catalogue of terms: in plain words, and as a
// form for those who may change it.
type TermsPage struct {
	Frame
	Facts      []Fact
	Shares     *Table // nil for new terms
	Conditions *Table
	Form       *Form // nil for those who only read
	Example    TermsExample
}

// TermsExample is what a claim under the terms would pay, worked out anew while
// they are typed: the fields it takes and what it says.
type TermsExample struct {
	Here   string
	Fields []Field
	Says   []Phrase
}

// NewTermsExample makes the example: its fields, as they were typed or as they
// are at first, and what it says.
func NewTermsExample(f Frame, here string, typed url.Values, says []Phrase) TermsExample {
	e := TermsExample{Here: here, Says: says}
	for _, d := range []struct {
		name, first string
		label       Phrase
		unit        Phrase
	}{
		{"example_months", "200", Say("terms.example.months"), Say("catalogue.months")},
		{"example_labour", "", Term("terms_covers", "labour"), Plain(f.Currency)},
		{"example_material", "9000", Term("terms_covers", "material"), Plain(f.Currency)},
		{"example_tear_off", "", Term("terms_covers", "tear_off"), Plain(f.Currency)},
		{"example_disposal", "", Term("terms_covers", "disposal"), Plain(f.Currency)},
	} {
		field := Field{Name: d.name, ID: d.name, Kind: Number, Label: d.label, Unit: d.unit, Value: d.first}
		if typed.Has(d.name) {
			field.Value = typed.Get(d.name)
		}
		e.Fields = append(e.Fields, field)
	}
	return e
}

// Template is "terms".
func (TermsPage) Template() string { return "terms" }

// NewTermsPage makes the page of terms, or of new ones when they have no number.
// Kinds are the conditions that there are, shares how the share falls, resting how
// many promises rest on the terms. Money says whether the cap is shown, edit
// whether there is a form.
func NewTermsPage(f Frame, t *models.Terms, kinds []ConditionKind, shares []models.Step, resting int, money, edit bool) TermsPage {
	p := TermsPage{}
	f.Title = Say("terms.new")
	f.Opening = []Phrase{Say("terms.new.opening")}
	if t.ID != 0 {
		f.Title = Plain(t.Name)
		f.Opening = []Phrase{Say("terms.runs", "months", t.TermMonths).Link("months", "#shares"), Term("terms_then", t.ShareMethod), Say("terms.resting", "promises", resting)}
		p.Facts = termsFacts(t, money)
		p.Shares = &Table{ID: "shares", Caption: Say("terms.shares"), Columns: []Column{{Head: Say("terms.frommonth")}, {Head: Say("terms.share")}}}
		for _, s := range shares {
			from := Say("catalogue.span", "months", s.FromMonth)
			if s.FromMonth == 0 {
				from = Say("terms.start")
			}
			p.Shares.Rows = append(p.Shares.Rows, NewRow(from, Say("percent", "share", typedShare(s.Share))))
		}
		p.Conditions = &Table{ID: "conditions", Caption: Say("terms.conditions"), Empty: Say("terms.conditions.none"),
			Columns: []Column{{Head: Say("terms.condition")}, {Head: Say("terms.howto")}}}
		for _, c := range t.Conditions {
			cell, how := Cell{Value: c.Kind}, ""
			for _, k := range kinds {
				if k.Key == c.Kind {
					cell.Value, how = k.Sentence, k.HowToShow
					if c.Days > 0 {
						cell.Note = Say("terms.days", "days", c.Days, "mean", k.DaysMean)
					}
				}
			}
			p.Conditions.Rows = append(p.Conditions.Rows, NewRow(cell, how))
		}
	}
	if edit {
		p.Form = termsForm(f, t, kinds, resting, money)
	}
	p.Frame = f
	return p
}

func termsFacts(t *models.Terms, money bool) []Fact {
	facts := []Fact{{Term: Say("terms.key"), Value: t.Key}, {Term: Say("terms.kind"), Value: Term("terms_kind", t.Kind)}}
	var covers []Phrase
	for _, c := range coversOf(t) {
		covers = append(covers, Term("terms_covers", c))
	}
	if len(covers) == 0 {
		covers = []Phrase{Say("terms.covers.none")}
	}
	facts = append(facts, Fact{Term: Say("terms.covers"), Value: covers}, Fact{Term: Say("terms.transfer"), Value: Term("terms_transfer", t.Transfer)})
	if t.NoticeDays > 0 {
		facts = append(facts, Fact{Term: Say("terms.notice"), Value: Say("catalogue.days", "days", t.NoticeDays)})
	}
	if t.AfterTransfer != nil {
		facts = append(facts, Fact{Term: Say("terms.after"), Value: Say("catalogue.span", "months", *t.AfterTransfer)})
	}
	if money {
		limit := Fact{Term: Say("terms.cap"), Value: Say("terms.cap.none")}
		if t.Cap != nil {
			limit.Value = *t.Cap
		}
		facts = append(facts, limit)
		if t.ClaimCap != nil {
			facts = append(facts, Fact{Term: Say("terms.claimcap"), Value: *t.ClaimCap})
		}
	}
	if t.CapOfPrice != nil {
		facts = append(facts, Fact{Term: Say("terms.capofprice"), Value: Say("percent", "share", typedShare(*t.CapOfPrice))})
	}
	if !t.EndedOn.IsZero() {
		facts = append(facts, Fact{Term: Say("terms.ended"), Value: t.EndedOn})
	}
	return facts
}

// Covers are the costs that terms can answer for, by their columns.
var Covers = []string{"labour", "material", "tear_off", "disposal"}

func coversOf(t *models.Terms) []string {
	var out []string
	for i, on := range []bool{t.Labour, t.Material, t.TearOff, t.Disposal} {
		if on {
			out = append(out, Covers[i])
		}
	}
	return out
}

func termsForm(f Frame, t *models.Terms, kinds []ConditionKind, resting int, money bool) *Form {
	action, heading := "/records/terms", Phrase{}
	if t.ID != 0 {
		action, heading = fmt.Sprintf("/records/terms/%d", t.ID), Say("terms.what")
	}
	among := func(list []string, term func(string) Phrase) []Option {
		options := make([]Option, len(list))
		for i, v := range list {
			options[i] = Option{v, term(v)}
		}
		return options
	}
	form := f.Form("terms-form", action, Say("catalogue.save"))
	if resting > 0 {
		form.Group(Phrase{}, Field{Name: "anew", Kind: Several, Label: Say("terms.anew"), Hint: Say("terms.anew.hint"), Options: []Option{{"yes", Say("terms.anew.do")}}})
	}
	form.Group(heading,
		Field{Name: "name", Kind: Text, Label: Say("terms.name"), Value: t.Name, Required: true},
		Field{Name: "key", Kind: Text, Label: Say("terms.key"), Hint: Say("terms.key.hint"), Value: t.Key, Required: true},
		Field{Name: "kind", Kind: One, Label: Say("terms.kind"), Value: t.Kind, Options: among(models.WarrantyKinds, func(v string) Phrase { return Term("terms_kind", v) })},
		Field{Name: "answers_for", Kind: Several, Label: Say("terms.covers"), Values: coversOf(t), Options: among(Covers, func(v string) Phrase { return Term("terms_covers", v) })})
	if money {
		limit := typedLimit(t.Cap)
		form.Group(Phrase{}, Field{Name: "cap", Kind: Number, Label: Say("terms.cap"), Hint: Say("terms.cap.hint"), Value: limit, Unit: Plain(f.Currency)},
			Field{Name: "claim_cap", Kind: Number, Label: Say("terms.claimcap"), Hint: Say("terms.claimcap.hint"), Value: typedLimit(t.ClaimCap), Unit: Plain(f.Currency)})
	}
	ofPrice := ""
	if t.CapOfPrice != nil {
		ofPrice = typedShare(*t.CapOfPrice)
	}
	form.Group(Phrase{}, Field{Name: "cap_of_price", Kind: Number, Label: Say("terms.capofprice"), Hint: Say("terms.capofprice.hint"), Value: ofPrice, Unit: Say("terms.hundredths")})
	months := func(n int) string {
		if n == 0 && t.ID == 0 {
			return ""
		}
		return strconv.Itoa(n)
	}
	steps := make([]string, len(t.Steps))
	for i, s := range t.Steps {
		steps[i] = fmt.Sprintf("%d: %s%%", s.FromMonth, typedShare(s.Share))
	}
	form.Group(Say("terms.howlong"),
		Field{Name: "term_months", Kind: Number, Label: Say("terms.term"), Hint: Say("terms.term.hint"), Value: months(t.TermMonths), Unit: Say("catalogue.months"), Required: true},
		Field{Name: "full_months", Kind: Number, Label: Say("terms.full"), Hint: Say("terms.full.hint"), Value: months(t.FullMonths), Unit: Say("catalogue.months")},
		Field{Name: "share_method", Kind: One, Label: Say("terms.method"), Value: t.ShareMethod, Options: among(models.ShareMethods, func(v string) Phrase { return Term("terms_method", v) })},
		Field{Name: "steps", Kind: Long, Label: Say("terms.steps"), Hint: Say("terms.steps.hint"), Value: strings.Join(steps, "\n")})
	notice := ""
	if t.NoticeDays != 0 {
		notice = strconv.Itoa(t.NoticeDays)
	}
	form.Group(Say("terms.sale"),
		Field{Name: "transfer", Kind: One, Label: Say("terms.transfer"), Value: t.Transfer, Options: among(models.TransferRules, func(v string) Phrase { return Term("terms_transfer", v) })},
		Field{Name: "notice_days", Kind: Number, Label: Say("terms.notice"), Hint: Say("terms.notice.hint"), Value: notice, Unit: Say("catalogue.day")},
		Field{Name: "after_transfer", Kind: Number, Label: Say("terms.after"), Hint: Say("terms.after.hint"), Value: wholeText(t.AfterTransfer), Unit: Say("catalogue.months")})
	conditions := Field{Name: "conditions", Kind: Several, Label: Say("terms.conditions.which"), Hint: Say("terms.conditions.hint")}
	fields := []Field{}
	for _, k := range kinds {
		conditions.Options = append(conditions.Options, Option{k.Key, Plain(k.Sentence)})
		days := ""
		for _, c := range t.Conditions {
			if c.Kind == k.Key {
				conditions.Values = append(conditions.Values, k.Key)
				if c.Days != 0 {
					days = strconv.Itoa(c.Days)
				}
			}
		}
		if k.DaysMean != "" {
			fields = append(fields, Field{Name: ConditionDays(k.Key), Kind: Number, Label: Say("terms.daysof", "condition", k.Sentence),
				Hint: Say("terms.daysof.hint", "mean", k.DaysMean), Value: days, Unit: Say("catalogue.day")})
		}
	}
	form.Group(Say("terms.conditions"), append([]Field{conditions}, fields...)...)
	titles := append([]Option{{"", Say("terms.heading.none")}}, among(models.WarrantyTitles, func(v string) Phrase { return Term("terms_title", v) })...)
	form.Group(Say("terms.paper"),
		Field{Name: "title", Kind: Choice, Label: Say("terms.heading"), Hint: Say("terms.heading.hint"), Value: t.Title, Options: titles},
		Field{Name: "remedy", Kind: Long, Label: Say("terms.remedy"), Hint: Say("terms.remedy.hint"), Value: t.Remedy},
		Field{Name: "excluded", Kind: Long, Label: Say("terms.excluded"), Hint: Say("terms.excluded.hint"), Value: t.Excluded},
		Field{Name: "how_to_claim", Kind: Long, Label: Say("terms.claim"), Hint: Say("terms.claim.hint"), Value: t.HowToClaim},
		Field{Name: "rights", Kind: Long, Label: Say("terms.rights"), Hint: Say("terms.rights.hint"), Value: t.Rights},
		Field{Name: "wording", Kind: Long, Label: Say("terms.wording"), Hint: Say("terms.wording.hint"), Value: t.Wording},
		Field{Name: "ended_on", Kind: Day, Label: Say("terms.ended"), Hint: Say("terms.ended.hint"), Value: dayText(t.EndedOn)},
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(t.Version, 10)})
	form.Cancel = "/records/terms"
	return form
}

// ConditionDays names the field with the days of a kind of condition.
func ConditionDays(kind string) string { return "days_" + kind }

// A value as it stands in a field of a form; what is unknown is empty.

func typedNumber(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(math.Round(*v*1e6)/1e6, 'f', -1, 64)
}

func typedMoney(m units.Money) string {
	if m == 0 {
		return ""
	}
	return strings.ReplaceAll(m.String(), ",", "")
}

func typedLimit(m *units.Money) string {
	if m == nil {
		return ""
	}
	return typedMoney(*m)
}

// typedShare writes a share as hundredths, such as 62.5.
func typedShare(share float64) string {
	return strconv.FormatFloat(math.Round(share*1e6)/1e4, 'f', -1, 64)
}
