package intake

import (
	"errors"
	"fmt"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// Terms is a row of a file of warranty terms.
type Terms struct{ models.Terms }

// TermsSheet is the catalogue of warranty terms.
var TermsSheet = &Sheet[Terms]{
	name:  "terms",
	about: "The catalogue of warranty terms, which warranties name by their key.",
	columns: []column[Terms]{
		textColumn("key", "short name in files", 40, func(t *Terms) *string { return &t.Key }, key, example[Terms]("our-work-10", "maker-30")),
		textColumn("name", "", 120, func(t *Terms) *string { return &t.Name }, example[Terms]("Our work, ten years", "Maker's material, thirty years")),
		wordColumn("kind", "", models.WarrantyKinds, func(t *Terms) *string { return &t.Kind }, example[Terms]("workmanship", "material")),
		countColumn("term_months", "completed calendar months", func(t *Terms) *int { return &t.TermMonths }, example[Terms]("120", "360")),
		countColumn("full_months", "the full span", func(t *Terms) *int { return &t.FullMonths }, example[Terms]("120", "120")),
		wordColumn("share_method", "how the share falls after the full span", models.ShareMethods, func(t *Terms) *string { return &t.ShareMethod },
			example[Terms]("none", "steps")),
		listColumn("steps", "month:share with | between them, such as 120:0.6|240:0.3", mostOfItem,
			func(t *Terms, items []string) (err error) { t.Steps, err = parseSteps(items); return err },
			func(t *Terms) []string {
				var out []string
				for _, s := range t.Steps {
					out = append(out, fmt.Sprintf("%d:%s", s.FromMonth, writeNumber(s.Share)))
				}
				return out
			}, example[Terms]("", "120:0.6|240:0.3")),
		sureColumn("labour", "is answered for", func(t *Terms) *bool { return &t.Labour }, needed, example[Terms]("yes", "no")),
		sureColumn("material", "is answered for", func(t *Terms) *bool { return &t.Material }, needed, example[Terms]("yes", "yes")),
		sureColumn("tear_off", "is answered for", func(t *Terms) *bool { return &t.TearOff }, needed, example[Terms]("yes", "no")),
		sureColumn("disposal", "is answered for", func(t *Terms) *bool { return &t.Disposal }, needed, example[Terms]("yes", "no")),
		maybe("cap", "the most that it pays", parseMoney, writeMoney, func(t *Terms) **units.Money { return &t.Cap },
			[]option[Terms]{money[Terms], example[Terms]("", "9000.00")}),
		maybe("claim_cap", "the most that it pays for one claim", parseMoney, writeMoney, func(t *Terms) **units.Money { return &t.ClaimCap },
			[]option[Terms]{money[Terms]}),
		numberColumn("cap_of_price", "the most that it pays, as a share of the price paid: 1 is all of it", func(t *Terms) **float64 { return &t.CapOfPrice }),
		wordColumn("transfer", "whether it goes along with a sale", models.TransferRules, func(t *Terms) *string { return &t.Transfer }, example[Terms]("once", "by_notice")),
		countColumn("notice_days", "for a transfer by notice", func(t *Terms) *int { return &t.NoticeDays }, example[Terms]("", "30")),
		wholeColumn("after_transfer", "months that are left at most after a transfer", func(t *Terms) **int { return &t.AfterTransfer }, example[Terms]("", "60")),
		listColumn("conditions", "condition or condition:days, with | between them", mostOfItem,
			func(t *Terms, items []string) (err error) { t.Conditions, err = parseConditions(items); return err },
			func(t *Terms) []string {
				var out []string
				for _, c := range t.Conditions {
					if c.Days != 0 {
						out = append(out, fmt.Sprintf("%s:%d", c.Kind, c.Days))
					} else {
						out = append(out, c.Kind)
					}
				}
				return out
			}, example[Terms]("paid_in_full|yearly_checkup|notice_days:30", "registered:60|ventilation_to_code")),
		wordColumn("title", "of the paper", models.WarrantyTitles, func(t *Terms) *string { return &t.Title }, example[Terms]("limited", "limited")),
		textColumn("remedy", "what is done when something is wrong", 4000, func(t *Terms) *string { return &t.Remedy }, example[Terms]("We come, look and put it right.", "")),
		textColumn("excluded", "what is left out", 4000, func(t *Terms) *string { return &t.Excluded }, example[Terms]("Hail, and what others did.", "")),
		textColumn("how_to_claim", "step by step", 4000, func(t *Terms) *string { return &t.HowToClaim }, example[Terms]("Ring the office.", "")),
		textColumn("rights", "limits on implied warranties, and the notice of rights", 4000, func(t *Terms) *string { return &t.Rights }),
		textColumn("wording", "", 20000, func(t *Terms) *string { return &t.Wording }, example[Terms]("We answer for our own work.", "")),
		dayColumn("ended_on", "day from which it is given no more", func(t *Terms) *units.Date { return &t.EndedOn }),
	},
	check: func(t *Terms) []models.FieldError { return rules(&t.Terms) },
}

func parseSteps(items []string) (models.JSON[models.Step], error) {
	var out models.JSON[models.Step]
	for _, item := range items {
		month, share, found := strings.Cut(item, ":")
		m, errMonth := parseWhole(strings.TrimSpace(month))
		s, errShare := parseNumber(strings.TrimSpace(share), false)
		if !found || errMonth != nil || errShare != nil {
			return nil, errors.New("write month:share, such as 120:0.5, with | between them")
		}
		out = append(out, models.Step{FromMonth: m, Share: s})
	}
	return out, nil
}

func parseConditions(items []string) (models.JSON[models.Condition], error) {
	var out models.JSON[models.Condition]
	for _, item := range items {
		kind, days, found := strings.Cut(item, ":")
		c := models.Condition{Kind: strings.TrimSpace(kind)}
		n, err := parseWhole(strings.TrimSpace(days))
		if c.Kind == "" || found && (err != nil || n < 1 || n > 36500) {
			return nil, errors.New("write condition or condition:days, such as registered:60, with | between them")
		}
		c.Days = n
		out = append(out, c)
	}
	return out, nil
}

// Warranty is a row of a file of warranties.
type Warranty struct {
	models.Warranty
	RoofRef string
	JobRef  string
	Terms   string // key in the catalogue
}

// Warranties are the promises on roofs.
var Warranties = &Sheet[Warranty]{
	name:  "warranties",
	about: "Promises, each on one roof: our own, makers', and those assumed from another company.",
	columns: []column[Warranty]{
		textColumn("ref", "our own number of the warranty", 40, func(w *Warranty) *string { return &w.Ref }, key, example[Warranty]("W-0001", "W-0002")),
		refColumn("roof_ref", "the roof", func(w *Warranty) *string { return &w.RoofRef }, example[Warranty]("R-0001", "R-0001")),
		refColumn("job_ref", "the job that it came with", func(w *Warranty) *string { return &w.JobRef }, example[Warranty]("J-0001", "J-0001")),
		textColumn("terms", "key in the catalogue of terms", 40, func(w *Warranty) *string { return &w.Terms }, field[Warranty]("terms_id"),
			example[Warranty]("our-work-10", "maker-30")),
		textColumn("owed_by", "us where it is empty, or the maker's or other company's name", 120, func(w *Warranty) *string { return &w.OwedBy },
			example[Warranty]("us", "Invented Shingle Works")),
		dayColumn("start_on", "", func(w *Warranty) *units.Date { return &w.StartOn }, example[Warranty]("2019-05-20", "2019-05-20")),
		textColumn("wording", "as signed, where it is not that of the terms", 20000, func(w *Warranty) *string { return &w.Wording }),
		dayColumn("registration_due_on", "with the maker", func(w *Warranty) *units.Date { return &w.RegistrationDueOn }, example[Warranty]("", "2019-07-19")),
		dayColumn("registered_on", "", func(w *Warranty) *units.Date { return &w.RegisteredOn }, example[Warranty]("", "2019-06-10")),
		textColumn("registration_no", "", 60, func(w *Warranty) *string { return &w.RegistrationNo }, example[Warranty]("", "ISW-55012")),
		textColumn("assumed_from", "the company that first made it", 120, func(w *Warranty) *string { return &w.AssumedFrom }),
		dayColumn("ended_on", "before its term", func(w *Warranty) *units.Date { return &w.EndedOn }),
		textColumn("end_reason", "", 400, func(w *Warranty) *string { return &w.EndReason }),
	},
	finish: func(w *Warranty) {
		if w.OwedBy == "" {
			w.OwedBy = "us"
		}
	},
	check: func(w *Warranty) []models.FieldError { return rules(&w.Warranty) },
}
