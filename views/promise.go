package views

import (
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
)

// PromisesPage lists what is promised. What is owed is shown to those who may see
// money.
type PromisesPage struct {
	Frame
	Owed   *OwedPart
	Parts  []NavEntry
	Filter *Form
	Table  Table
	File   string // the same rows for a spreadsheet; empty for those who may not
	Years  Table  // how many end in each year
}

// Template is "promises".
func (PromisesPage) Template() string { return "promises" }

// OwedPart is what is owed in the years ahead: the drawing, the same figures in a
// table, and what a reader must know about them.
type OwedPart struct {
	Chart   Chart
	Records int // callbacks whose cost is known
	Notes   []Phrase
}

// PromisePage is one warranty as it stands on a day.
type PromisePage struct {
	Frame
	On         *Form // asks for another day
	Facts      []Fact
	Reasons    []Phrase
	Conditions Table
	Next       Table
	LeftOut    []Phrase // declined work
	Wording    string   // as signed
	Change     string   // where it is corrected; empty for those who may not
	Paper      string   // where a certificate of it is made; empty for those who may not
	Decline    string   // where work that was declined is written down
	Register   *Form    // nil where it is not called for
	Pay        *Form    // nil where it is not called for
	End        *Form
	History    []Event
}

// Template is "promise".
func (PromisePage) Template() string { return "promise" }

// PromiseFormPage adds or corrects a warranty.
type PromiseFormPage struct {
	Frame
	Form *Form
}

// Template is "promise_form".
func (PromiseFormPage) Template() string { return "promise_form" }

// PromiseFilter narrows the list: the part of it that is shown stays.
func PromiseFilter(f Frame, show, whose, text, ends string) *Form {
	return f.Filter("narrow", "/promises", "promises",
		Field{Name: "show", Kind: Hidden, Value: show},
		Field{Name: "q", Kind: Text, Label: Say("promise.search"), Value: text},
		Field{Name: "owed_by", Kind: Choice, Label: Say("promise.whose"), Value: whose,
			Options: []Option{{"", Say("promise.whose.any")}, {"us", Say("promise.us")}}},
		Field{Name: "ends", Kind: Text, Label: Say("promise.endsin"), Value: ends})
}

// WarrantyForm asks for a warranty: a new one when it has no number yet. Terms
// that are given no longer are offered only where they hold already.
func WarrantyForm(f Frame, action, cancel string, w *models.Warranty, jobs []models.Job, terms []models.Terms) *Form {
	jobOptions, termOptions := []Option{{"", Say("unknown")}}, []Option{}
	for _, j := range jobs {
		said := Plain(j.Ref)
		if !j.ClosedOn.IsZero() {
			said = Say("promise.job.closed", "job", j.Ref, "day", j.ClosedOn)
		}
		jobOptions = append(jobOptions, Option{strconv.FormatInt(j.ID, 10), said})
	}
	if w.TermsID == 0 { // none are taken unchosen
		termOptions = append(termOptions, Option{"", Say("catalogue.choose")})
	}
	for _, t := range terms {
		if t.EndedOn.IsZero() || t.ID == w.TermsID {
			termOptions = append(termOptions, Option{strconv.FormatInt(t.ID, 10), Plain(t.Name)})
		}
	}
	submit, wording := Say("promise.save"), Say("promise.wording.kept.hint")
	if w.ID == 0 {
		submit, wording = Say("promise.add"), Say("promise.wording.hint")
	}
	form := f.Form("warranty", action, submit,
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(w.Version, 10)},
		Field{Name: "terms_id", Kind: Choice, Label: Say("promise.terms"), Value: idText(&w.TermsID), Options: termOptions, Required: true},
		Field{Name: "owed_by", Kind: Text, Label: Say("promise.owedby"), Hint: Say("promise.owedby.hint"), Value: w.OwedBy, Required: true},
		Field{Name: "start_on", Kind: Day, Label: Say("promise.start"), Hint: Say("promise.start.hint"), Value: dayText(w.StartOn), Required: true},
		Field{Name: "job_id", Kind: Choice, Label: Say("promise.job"), Value: idText(w.JobID), Options: jobOptions},
		Field{Name: "wording", Kind: Long, Label: Say("promise.wording"), Hint: wording, Value: w.Wording},
		Field{Name: "assumed_from", Kind: Text, Label: Say("promise.assumed"), Hint: Say("promise.assumed.hint"), Value: w.AssumedFrom},
	).Group(Say("promise.registration"),
		Field{Name: "registration_due_on", Kind: Day, Label: Say("promise.registration.due"), Hint: Say("promise.registration.due.hint"), Value: dayText(w.RegistrationDueOn)},
		Field{Name: "registered_on", Kind: Day, Label: Say("promise.registered"), Value: dayText(w.RegisteredOn)},
		Field{Name: "registration_no", Kind: Text, Label: Say("promise.registration.number"), Value: w.RegistrationNo})
	if w.ID != 0 {
		form.Group(Say("promise.end.early"), endFields(w)...).
			Group(Say("promise.correction"), Field{Name: "why", Kind: Long, Label: Say("promise.correction.why"), Hint: Say("promise.correction.hint")})
	}
	form.Cancel = cancel
	return form
}

func endFields(w *models.Warranty) []Field {
	return []Field{
		{Name: "ended_on", Kind: Day, Label: Say("promise.ended"), Hint: Say("promise.ended.hint"), Value: dayText(w.EndedOn)},
		{Name: "end_reason", Kind: Text, Label: Say("promise.end.reason"), Value: w.EndReason},
	}
}

// PromiseDay asks how a promise stands on another day.
func PromiseDay(f Frame, here string, on units.Date) *Form {
	form := f.Filter("on", here, "", Field{Name: "on", Kind: Day, Label: Say("promise.on"), Value: on.String()})
	form.Submit = Say("promise.on.look")
	return form
}

// RegisterForm notes that the maker has taken the registration.
func RegisterForm(f Frame, action string, w *models.Warranty) *Form {
	return f.Form("register", action, Say("promise.register"),
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(w.Version, 10)},
		Field{Name: "registered_on", Kind: Day, Label: Say("promise.registered"), Value: f.Today.String(), Required: true},
		Field{Name: "registration_no", Kind: Text, Label: Say("promise.registration.number"), Required: true})
}

// JobPaidForm keeps the day on which a job was paid in full.
func JobPaidForm(f Frame, action string, job *models.Job) *Form {
	return f.Form("paid", action, Say("promise.paidinfull"),
		Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(job.Version, 10)},
		Field{Name: "paid_on", Kind: Day, Label: Say("promise.paidinfull.on"), Hint: Say("promise.paidinfull.hint", "job", job.Ref), Required: true})
}

// EndForm ends a warranty before its term.
func EndForm(f Frame, action string, w *models.Warranty) *Form {
	fields := endFields(w)
	fields[0].Required, fields[1].Required = true, true
	return f.Form("end", action, Say("promise.end"),
		append([]Field{{Name: "version", Kind: Hidden, Value: strconv.FormatInt(w.Version, 10)}}, fields...)...)
}

// PromiseReason words a reason of package promise by its code, days, number and
// text.
func PromiseReason(code string, on []units.Date, number int, text string) Phrase {
	day := func(i int) any {
		if i < len(on) {
			return on[i]
		}
		return nil
	}
	days := make([]Phrase, len(on))
	for i, d := range on {
		days[i] = Say("promise.day", "day", d)
	}
	p := Term("promise_reason", code)
	p.values = map[string]any{"day": day(0), "second": day(1), "days": days, "number": number, "text": text}
	return p
}

// OwedNote words a note of package owed by its code and number.
func OwedNote(code string, number int) Phrase {
	p := Term("owed_note", code)
	p.values = map[string]any{"number": number}
	return p
}

// PromiseShare words the share that is promised, given from 0 to 1: from the
// least to the most where they differ.
func PromiseShare(least, most float64) Phrase {
	hundredths := func(share float64) int { return int(share*100 + 0.5) }
	switch {
	case least < most:
		return Say("promise.share.between", "least", hundredths(least), "most", hundredths(most))
	case most >= 1:
		return Say("promise.share.all")
	}
	return Say("percent", "share", hundredths(most))
}

// OwedBy words who owes a promise.
func OwedBy(who string) Phrase {
	if who == "us" {
		return Say("promise.us")
	}
	return Plain(who)
}

func dayText(d units.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}

func idText(id *int64) string {
	if id == nil || *id == 0 {
		return ""
	}
	return strconv.FormatInt(*id, 10)
}
