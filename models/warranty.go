package models

import (
	"cmp"
	"database/sql/driver"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"overhang/analytics/units"
)

// WarrantyKinds are what a warranty answers for: our own work, the maker's
// material, or a warranty assumed from another company.
var WarrantyKinds = []string{"workmanship", "material", "assumed"}

// ShareMethods are how the share falls after the full span.
var ShareMethods = []string{"none", "whole_term", "prorated_span", "steps"}

// TransferRules are whether a warranty goes along with a sale.
var TransferRules = []string{"never", "once", "by_notice", "always"}

// WarrantyTitles are what the paper of a warranty on goods can be headed.
var WarrantyTitles = []string{"full", "limited"}

// Step is a share that holds from a month of the term on.
type Step struct {
	FromMonth int     `json:"from_month"`
	Share     float64 `json:"share"`
}

// Condition is one condition of the terms, with its number of days or months
// where it has one. The kinds are kept in package promise.
type Condition struct {
	Kind string `json:"kind"`
	Days int    `json:"days,omitempty"`
}

// Terms is one entry of the catalogue of warranty terms.
type Terms struct {
	Row
	Key           string          `json:"key"`
	Name          string          `json:"name"`
	Kind          string          `json:"kind"`        // one of WarrantyKinds
	TermMonths    int             `json:"term_months"` // completed calendar months
	FullMonths    int             `json:"full_months"` // the full span
	ShareMethod   string          `json:"share_method"`
	Steps         JSON[Step]      `json:"steps"`
	Labour        bool            `json:"labour"` // what is covered
	Material      bool            `json:"material"`
	TearOff       bool            `json:"tear_off"`
	Disposal      bool            `json:"disposal"`
	Cap           *units.Money    `json:"cap"`          // over its life
	ClaimCap      *units.Money    `json:"claim_cap"`    // for one claim
	CapOfPrice    *float64        `json:"cap_of_price"` // over its life, as a share of the price paid
	Transfer      string          `json:"transfer"`
	NoticeDays    int             `json:"notice_days"`    // for a transfer by notice
	AfterTransfer *int            `json:"after_transfer"` // months that are left at most after a transfer
	Conditions    JSON[Condition] `json:"conditions"`
	Title         string          `json:"title"`        // of the paper: one of WarrantyTitles or empty
	Remedy        string          `json:"remedy"`       // what is done when something is wrong
	Excluded      string          `json:"excluded"`     // what is left out
	HowToClaim    string          `json:"how_to_claim"` // step by step
	Rights        string          `json:"rights"`       // limits on implied warranties, and the notice of rights
	Wording       string          `json:"wording"`
	EndedOn       units.Date      `json:"ended_on"`
}

// TableName is the one name that has no other plural.
func (Terms) TableName() string { return "terms" }

// Noun is "terms".
func (*Terms) Noun() string { return "terms" }

// Validate checks the rules of terms.
func (t *Terms) Validate() error {
	var k checks
	k.required("key", t.Key)
	k.text("key", t.Key, 40)
	k.required("name", t.Name)
	k.text("name", t.Name, 120)
	k.required("kind", t.Kind)
	k.among("kind", t.Kind, WarrantyKinds)
	number(&k, "term_months", &t.TermMonths, 1, 1200)
	number(&k, "full_months", &t.FullMonths, 0, 1200)
	k.that(t.FullMonths <= t.TermMonths, "full_months", t.FullMonths, "must not be longer than the term (%d)", t.TermMonths)
	k.required("share_method", t.ShareMethod)
	k.among("share_method", t.ShareMethod, ShareMethods)
	k.that((t.ShareMethod == "steps") == (len(t.Steps) > 0), "steps", len(t.Steps), "a table of shares goes with the method steps, and only with it")
	last := Step{FromMonth: -1, Share: 1}
	for _, s := range t.Steps {
		k.that(s.FromMonth > last.FromMonth && s.FromMonth <= t.TermMonths, "steps", s.FromMonth, "months must rise and lie within the term")
		k.that(s.Share >= 0 && s.Share <= last.Share, "steps", s.Share, "shares lie between 0 and 1 and never rise")
		last = s
	}
	if t.Cap != nil { // a promise that pays nothing is none; no cap is left empty
		number(&k, "cap", t.Cap, 1, 100_000_000*units.Dollar)
	}
	if t.ClaimCap != nil {
		number(&k, "claim_cap", t.ClaimCap, 1, 100_000_000*units.Dollar)
	}
	if t.CapOfPrice != nil {
		number(&k, "cap_of_price", t.CapOfPrice, 0.01, 10)
	}
	k.among("title", t.Title, WarrantyTitles)
	k.text("remedy", t.Remedy, 4000)
	k.text("excluded", t.Excluded, 4000)
	k.text("how_to_claim", t.HowToClaim, 4000)
	k.text("rights", t.Rights, 4000)
	k.required("transfer", t.Transfer)
	k.among("transfer", t.Transfer, TransferRules)
	number(&k, "notice_days", &t.NoticeDays, 0, 3650)
	number(&k, "after_transfer", t.AfterTransfer, 0, 1200)
	k.text("wording", t.Wording, 20000)
	return k.err()
}

// offered are the columns of terms that say how the catalogue calls and offers
// them, and nothing of what is promised.
var offered = []string{"key", "name", "ended_on"}

// StaysAs checks changed terms on which warranties rest: all but their key, their
// name and the day from which they are given no longer is as it was. Another
// order of the conditions changes nothing, nor does an end of line.
func (t *Terms) StaysAs(was *Terms, resting int) error {
	var k checks
	rest := fmt.Sprintf("%d warranties rest", resting)
	if resting == 1 {
		rest = "one warranty rests"
	}
	now, then := reflect.ValueOf(t.plain()), reflect.ValueOf(was.plain())
	for i := range now.NumField() {
		field := now.Type().Field(i).Tag.Get("json")
		if field == "" || slices.Contains(offered, field) {
			continue // the row itself has no name
		}
		k.that(reflect.DeepEqual(now.Field(i).Interface(), then.Field(i).Interface()), field, now.Field(i).Interface(),
			"cannot change: %s on these terms; make new terms with a key of their own", rest)
	}
	return k.err()
}

// plain gives the terms with what means the same written the same.
func (t *Terms) plain() Terms {
	out := *t
	for _, text := range []*string{&out.Remedy, &out.Excluded, &out.HowToClaim, &out.Rights, &out.Wording} {
		*text = plainText(*text)
	}
	out.Steps, out.Conditions = append(JSON[Step]{}, t.Steps...), append(JSON[Condition]{}, t.Conditions...)
	slices.SortFunc(out.Conditions, func(a, b Condition) int { return cmp.Compare(a.Kind, b.Kind) })
	if t.Cap != nil && *t.Cap == 0 {
		out.Cap = nil // kept so in earlier days, and never counted as a cap
	}
	return out
}

func plainText(text string) string { return strings.TrimSpace(strings.ReplaceAll(text, "\r\n", "\n")) }

// Warranty is one promise on one roof.
type Warranty struct {
	Row
	Ref               string     `json:"ref"`
	RoofID            int64      `json:"roof_id"`
	JobID             *int64     `json:"job_id"`
	TermsID           int64      `json:"terms_id"`
	OwedBy            string     `json:"owed_by"` // "us", or the maker's or other company's name
	StartOn           units.Date `json:"start_on"`
	Wording           string     `json:"wording"` // as signed
	RegistrationDueOn units.Date `json:"registration_due_on"`
	RegisteredOn      units.Date `json:"registered_on"`
	RegistrationNo    string     `json:"registration_no"`
	AssumedFrom       string     `json:"assumed_from"`
	EndedOn           units.Date `json:"ended_on"` // before its term
	EndReason         string     `json:"end_reason"`
}

// Noun is "warranty".
func (*Warranty) Noun() string { return "warranty" }

// Validate checks the rules of a warranty.
func (w *Warranty) Validate() error {
	var k checks
	k.required("ref", w.Ref)
	k.text("ref", w.Ref, 40)
	k.that(w.RoofID != 0, "roof_id", "", "a warranty needs its roof")
	k.that(w.TermsID != 0, "terms_id", "", "a warranty needs its terms")
	k.required("owed_by", w.OwedBy)
	k.text("owed_by", w.OwedBy, 120)
	k.that(!w.StartOn.IsZero(), "start_on", "", "is needed")
	for _, d := range []struct {
		field string
		on    units.Date
	}{{"start_on", w.StartOn}, {"registration_due_on", w.RegistrationDueOn}, {"registered_on", w.RegisteredOn}, {"ended_on", w.EndedOn}} {
		k.day(d.field, d.on)
	}
	k.order("start_on", w.StartOn, "ended_on", w.EndedOn)
	k.that(w.EndedOn.IsZero() || w.EndReason != "", "end_reason", "", "a promise that ends early needs its reason")
	k.text("registration_no", w.RegistrationNo, 60)
	k.text("wording", w.Wording, 20000)
	return k.err()
}

// StaysAs checks a changed warranty, given on terms, against what was signed: its
// roof, its terms, who owes it, its first day, its wording, the job, the company
// it was taken over from, the day its registration is due, and the day on which
// it was ended early. What was not known may be filled in, as long as it changes
// nothing that was promised: a job tells the price that a cap can rest on.
func (w *Warranty) StaysAs(was *Warranty, terms *Terms) error {
	var k checks
	signed := func(field string, value any, same bool) {
		k.that(same, field, value, "is what was signed; it changes only by a correction that says what was wrong")
	}
	day := func(field string, is, was units.Date) { signed(field, is, was.IsZero() || is == was) }
	signed("roof_id", w.RoofID, w.RoofID == was.RoofID)
	signed("terms_id", w.TermsID, w.TermsID == was.TermsID)
	signed("owed_by", w.OwedBy, w.OwedBy == was.OwedBy)
	day("start_on", w.StartOn, was.StartOn)
	signed("wording", w.Wording, plainText(was.Wording) == "" || plainText(w.Wording) == plainText(was.Wording))
	signed("assumed_from", w.AssumedFrom, was.AssumedFrom == "" || w.AssumedFrom == was.AssumedFrom)
	switch {
	case was.JobID == nil:
		signed("job_id", w.JobID, w.JobID == nil || terms.CapOfPrice == nil)
	default:
		signed("job_id", w.JobID, w.JobID != nil && *w.JobID == *was.JobID)
	}
	day("registration_due_on", terms.RegistrationDue(w), terms.RegistrationDue(was))
	day("ended_on", w.EndedOn, was.EndedOn)
	return k.err()
}

// RegistrationDue gives the last day on which a warranty on these terms is to be
// registered with the maker: the one written down, or so many days after its
// start; zero where there is none.
func (t *Terms) RegistrationDue(w *Warranty) units.Date {
	if !w.RegistrationDueOn.IsZero() {
		return w.RegistrationDueOn
	}
	for _, c := range t.Conditions {
		if c.Kind == "registered" && c.Days > 0 && !w.StartOn.IsZero() {
			return w.StartOn.AddDays(c.Days)
		}
	}
	return 0
}

// Plan is a paid check-up plan.
type Plan struct {
	Row
	HouseID      int64       `json:"house_id"`
	ContactID    *int64      `json:"contact_id"`
	FromOn       units.Date  `json:"from_on"`
	ToOn         units.Date  `json:"to_on"`
	VisitsAYear  int         `json:"visits_a_year"`
	PricePerYear units.Money `json:"price_per_year"`
}

// Noun is "plan".
func (*Plan) Noun() string { return "plan" }

// Validate checks the rules of a plan.
func (p *Plan) Validate() error {
	var k checks
	k.that(!p.FromOn.IsZero(), "from_on", "", "is needed")
	k.order("from_on", p.FromOn, "to_on", p.ToOn)
	number(&k, "visits_a_year", &p.VisitsAYear, 1, 12)
	number(&k, "price_per_year", &p.PricePerYear, 0, 100_000*units.Dollar)
	return k.err()
}

// JSON is a short list kept in one column, as JSON.
type JSON[T any] []T

// Value writes the list to a column.
func (j JSON[T]) Value() (driver.Value, error) {
	if len(j) == 0 {
		return "[]", nil
	}
	b, err := json.Marshal([]T(j))
	return string(b), err
}

// Scan reads the list from a column.
func (j *JSON[T]) Scan(v any) error {
	switch v := v.(type) {
	case nil:
		*j = nil
		return nil
	case string:
		return json.Unmarshal([]byte(v), (*[]T)(j))
	case []byte:
		return json.Unmarshal(v, (*[]T)(j))
	}
	return fmt.Errorf("list from a column of type %T", v)
}
