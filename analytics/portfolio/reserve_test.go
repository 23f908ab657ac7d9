package portfolio

import (
	"reflect"
	"testing"

	"overhang/analytics/owed"
	"overhang/analytics/units"
	"overhang/models"

	"pgregory.net/rapid"
)

// company draws the records of a company: roofs with a promise of ours each,
// callbacks, and cost lines with credits and recoveries.
func company(t *rapid.T) Books {
	begin := units.NewDate(2018, 3, 1)
	b := Books{Lives: map[int64]KnownLife{}, Branch: &models.Branch{DiscountRate: rapid.SampledFrom([]float64{0, .04}).Draw(t, "rate")}}
	terms := models.Terms{Row: models.Row{ID: 1}, Kind: "workmanship", TermMonths: 120, FullMonths: 120, ShareMethod: "none", Labour: true, Transfer: "always"}
	for i := range rapid.IntRange(0, 6).Draw(t, "roofs") {
		id := int64(i + 1)
		laid := begin + units.Date(rapid.IntRange(0, 2500).Draw(t, "laid"))
		f := models.RoofFile{Roof: models.Roof{Row: models.Row{ID: id}, Ref: "R", Ours: true}}
		if rapid.IntRange(0, 4).Draw(t, "day known") > 0 {
			f.Roof.Laid = units.Dated{On: laid, Precision: units.ToDay}
		}
		f.Terms = map[int64]models.Terms{1: terms}
		f.Warranties = []models.Warranty{{Row: models.Row{ID: id}, Ref: "W-" + string(rune('a'+i)), RoofID: id, TermsID: 1, OwedBy: "us", StartOn: laid}}
		if rapid.Bool().Draw(t, "life known") {
			b.Lives[id] = KnownLife{AsOf: begin + 2000, Low: 2, Middle: 6, High: 11}
		}
		b.Files = append(b.Files, f)
	}
	for i := range rapid.IntRange(0, 10).Draw(t, "callbacks") {
		c := models.Callback{Row: models.Row{ID: int64(i + 1)}, Ref: "B-" + string(rune('a'+i)), State: "closed",
			Bearer: rapid.SampledFrom(append([]string{""}, models.Bearers...)).Draw(t, "bearer")}
		c.LearnedOn = begin + units.Date(rapid.IntRange(0, 3000).Draw(t, "told"))
		c.ClosedOn = c.LearnedOn + units.Date(rapid.IntRange(0, 90).Draw(t, "closed"))
		if n := rapid.IntRange(0, len(b.Files)).Draw(t, "roof"); n > 0 {
			c.RoofID = &b.Files[n-1].Roof.ID
			b.Files[n-1].Callbacks = append(b.Files[n-1].Callbacks, c)
		}
		b.Callbacks = append(b.Callbacks, c)
		for range rapid.IntRange(0, 4).Draw(t, "lines") {
			b.Lines = append(b.Lines, line(t, int64(len(b.Lines)+1), &c))
		}
	}
	for range rapid.IntRange(0, 3).Draw(t, "plans") {
		b.Plans = append(b.Plans, models.Plan{FromOn: begin + units.Date(rapid.IntRange(0, 2000).Draw(t, "plan")), VisitsAYear: 1,
			PricePerYear: units.Money(rapid.IntRange(0, 500_00).Draw(t, "price"))})
	}
	return b
}

func line(t *rapid.T, id int64, c *models.Callback) models.CostLine {
	l := models.CostLine{Row: models.Row{ID: id}, CallbackID: c.ID, On: c.LearnedOn + units.Date(rapid.IntRange(0, 200).Draw(t, "on")),
		Kind: rapid.SampledFrom(models.CostKinds).Draw(t, "kind"), Amount: units.Money(rapid.IntRange(0, 2_000_00).Draw(t, "amount"))}
	if l.Kind == "recovery" || l.Kind == "credit" {
		l.Amount = -l.Amount
	}
	l.LearnedOn = l.On + units.Date(rapid.IntRange(0, 60).Draw(t, "learned"))
	if rapid.IntRange(0, 5).Draw(t, "takes back") == 0 { // a line that corrects another
		l.Amount, l.Corrects = -l.Amount, &l.ID
	}
	return l
}

// From records to a roll-forward that balances and holds the cost lines to the
// cent, while months are closed and lines are added, changed and taken out behind
// their back; and what was closed is the same ever after.
func TestReserveOfRecords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := company(t)
		day := units.NewDate(2024, 1, 5) + units.Date(rapid.IntRange(0, 700).Draw(t, "today"))
		provisions := map[string][]models.ClosedProvision{}
		kept := map[string]*ReserveBook{}
		for range rapid.IntRange(1, 4).Draw(t, "months") {
			month := day.Month() - 1
			closing, err := Reserve(b, month.Last(), day, "")
			if err != nil {
				t.Fatal(err)
			}
			holds(t, b, closing, month.Last(), day)
			m, ps, es := closing.Close()
			m.ID, m.ClosedOn, m.ClosedBy = int64(len(b.Closed)+1), day, "a test"
			if err := m.Validate(); err != nil {
				t.Fatal(err)
			}
			b.Closed, b.Booked = append(b.Closed, m), append(b.Booked, es...)
			provisions[m.Month] = ps
			was, err := ClosedReserve(b.Closed, b.Booked, ps, m.Month)
			if err != nil {
				t.Fatal(err)
			}
			kept[m.Month] = was
			// As it was computed, so it is kept.
			last := closing.Ledger.Months
			for _, roll := range last {
				if roll.Period == m.Month && roll.Closing != was.Ledger.Closing {
					t.Fatalf("closed %v, kept %v", roll.Closing, was.Ledger.Closing)
				}
			}
			for _, p := range ps {
				if p.Discounted != nil && p.Booked != *p.Discounted {
					t.Fatalf("year %d: booked %v, needed %v", p.LaidYear, p.Booked, *p.Discounted)
				}
			}

			// Later somebody corrects what was booked.
			if n := len(b.Lines); n > 0 && rapid.Bool().Draw(t, "corrected") {
				at := rapid.IntRange(0, n-1).Draw(t, "which")
				switch rapid.IntRange(0, 2).Draw(t, "how") {
				case 0:
					b.Lines[at].Amount /= 2
				case 1:
					b.Lines = append(b.Lines[:at:at], b.Lines[at+1:]...)
				case 2:
					b.Lines[at] = line(t, b.Lines[at].ID, &b.Callbacks[b.Lines[at].CallbackID-1])
				}
			}
			day = (day.Month() + 1).First() + units.Date(rapid.IntRange(0, 20).Draw(t, "closed after"))
		}
		now, err := Reserve(b, day, day, "")
		if err != nil {
			t.Fatal(err)
		}
		holds(t, b, now, day, day)
		for month, was := range kept {
			again, err := ClosedReserve(b.Closed, b.Booked, provisions[month], month)
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(again, was) {
				t.Fatalf("%s is no longer what was closed", month)
			}
			for _, roll := range now.Ledger.Months {
				for _, then := range was.Ledger.Months {
					if roll.Period == then.Period && roll != then {
						t.Fatalf("closed as %+v, now %+v", then, roll)
					}
				}
			}
		}
	})
}

func holds(t *rapid.T, b Books, r *ReserveBook, asOf, known units.Date) {
	var sum, net units.Money
	for _, l := range b.Lines {
		if l.On <= asOf && l.LearnedOn <= known {
			sum += l.Amount
		}
	}
	moved := map[int64]bool{}
	for _, d := range r.Tie.Differ {
		moved[d.CostLineID] = true
	}
	for _, e := range r.Entries {
		if e.CostLineID != 0 {
			net += netOf(e.Entry)
		}
	}
	// A booked line that was moved to a day ahead is named, and nothing else is.
	for id := range moved {
		ahead := false
		for _, l := range b.Lines {
			ahead = ahead || l.ID == id && (l.On > asOf || l.LearnedOn > known)
		}
		if !ahead {
			t.Fatalf("cost line %d is not booked to the cent", id)
		}
	}
	if len(moved) == 0 && (net != sum || r.Tie.Sum != sum || !r.Tie.Ties()) {
		t.Fatalf("the lines make %v, the ledger %v: %+v", sum, net, r.Tie)
	}
	opening := units.Money(0)
	for _, m := range r.Ledger.Months {
		if m.Opening != opening || m.Closing != m.Opening+m.Issued-m.Paid+m.Changes {
			t.Fatalf("%+v does not follow from %v", m, opening)
		}
		opening = m.Closing
	}
	if d := r.Reserve.Total.Discounted; d != nil && r.Ledger.Closing != *d {
		t.Fatalf("as of %v closing %v, needed %v", asOf, r.Ledger.Closing, *d)
	}
	for i, p := range r.Prepaid {
		if p.Unearned != p.Opening+p.Billed-p.Earned || i > 0 && p.Opening != r.Prepaid[i-1].Unearned {
			t.Fatalf("prepaid %+v", r.Prepaid)
		}
	}
}

// netOf is what an entry is in the sum of the cost lines, told apart from net.
func netOf(e owed.Entry) units.Money {
	switch {
	case e.Kind == owed.Paid, e.Kind == owed.Corrected && (e.Corrects == owed.Paid || e.Corrects == ""):
		return e.Amount
	case e.Kind == owed.Returned, e.Kind == owed.Recovered, e.Corrects == owed.Returned, e.Corrects == owed.Recovered:
		return -e.Amount
	}
	return 0
}
