package portfolio

import (
	"math"
	"testing"

	"overhang/analytics/owed"
	"overhang/analytics/units"
	"overhang/models"
)

// What records become in the input of what is owed, row by row.
func TestOwedModel(t *testing.T) {
	asOf := units.NewDate(2026, 6, 30)
	laid := units.NewDate(2019, 5, 4)
	ten := models.Terms{Row: models.Row{ID: 1}, Kind: "workmanship", TermMonths: 120, FullMonths: 60, ShareMethod: "whole_term", Labour: true, Transfer: "once"}
	two := models.Terms{Row: models.Row{ID: 2}, Kind: "workmanship", TermMonths: 24, FullMonths: 24, ShareMethod: "none", Labour: true, Transfer: "never"}
	crew, one := int64(7), int64(1)
	cost := func(dollars int) units.Money { return units.Money(dollars) * units.Dollar }
	usual := func() (models.RoofFile, OwedRecords) {
		f := models.RoofFile{House: models.House{Row: models.Row{ID: 3}, Neighbourhood: "Mill Rise"},
			Roof:    models.Roof{Row: models.Row{ID: one}, Ours: true, Laid: units.Dated{On: laid, Precision: units.ToDay}},
			Jobs:    []models.Job{{Row: models.Row{ID: 5}, StartedOn: laid - 2, CrewID: &crew}},
			Details: []models.Detail{{Kind: "pipe"}, {Kind: "valley"}, {Kind: "pipe"}},
			Terms:   map[int64]models.Terms{1: ten, 2: two},
			Warranties: []models.Warranty{
				{Row: models.Row{ID: 11}, RoofID: one, TermsID: 1, OwedBy: "us", StartOn: laid},
				{Row: models.Row{ID: 12}, RoofID: one, TermsID: 2, OwedBy: "us", StartOn: laid},
				{Row: models.Row{ID: 13}, RoofID: one, TermsID: 1, OwedBy: "maker", StartOn: laid + 900},
			},
			Callbacks: []models.Callback{{Row: models.Row{ID: 21}, RoofID: &one, State: "closed", LearnedOn: laid + 420, HappenedOn: laid + 400, CauseFound: "lap", Bearer: "goodwill"}},
		}
		return f, OwedRecords{Costs: map[int64]units.Money{21: cost(300)}, CostOn: map[int64]units.Date{21: laid + 440}, Lots: map[int64]string{5: "L-9"},
			Lives: map[int64]owed.YearsLeft{one: {Low: 4, Middle: 9, High: 15}}, Branch: &models.Branch{CostGrowth: .03, DiscountRate: .04, TurnoverRate: .05}}
	}
	model := func(change func(f *models.RoofFile, rec *OwedRecords)) owed.ModelInput {
		f, rec := usual()
		change(&f, &rec)
		if rec.Promises == nil {
			judged, err := JudgePromises(&f, "", asOf)
			if err != nil {
				t.Fatal(err)
			}
			rec.Promises = map[int64][]Judged{f.Roof.ID: judged}
		}
		return OwedModel([]models.RoofFile{f}, rec, asOf)
	}

	in := model(func(*models.RoofFile, *OwedRecords) {})
	if in.CostGrowth != .03 || in.DiscountRate != .04 || in.RecordsFrom != units.NewDate(2020, 1, 1) || len(in.Roofs) != 1 || len(in.Callbacks) != 1 {
		t.Fatalf("%+v", in)
	}
	// The promise of ours that ends last, and not the maker's, which ends later.
	r := in.Roofs[0]
	if r.ID != "1" || r.LaidOn != laid || r.From != laid || r.Until != laid.AddYears(10)-1 || r.Terms != "1" || r.Crew != "7" || r.Lot != "L-9" || r.Neighbourhood != "Mill Rise" ||
		len(r.Details) != 2 || r.Transfer != "once" || r.Transferred || r.YearsLeft == nil || r.YearsLeft.Middle != 9 {
		t.Errorf("%+v", r)
	}
	// Five years in full, and then a share that falls each month.
	if s := r.Shares; len(s) < 50 || s[0].Share != 1 || s[0].Until != laid.AddYears(5)-1 || math.Abs(s[1].Share-.5) > .01 || s[len(s)-1].Until != r.Until || s[len(s)-1].Share > .02 {
		t.Errorf("shares %+v", s)
	}
	c := in.Callbacks[0]
	if c.Roof != "1" || c.HappenedOn != laid+400 || c.Cause != "lap" || c.CostCents == nil || *c.CostCents != cost(300) || c.CostOn != laid+440 || c.Bearer != "us" {
		t.Errorf("%+v", c)
	}

	for _, c := range []struct {
		rule   string
		change func(f *models.RoofFile, rec *OwedRecords)
		holds  func(in owed.ModelInput) bool
	}{
		{"a roof that is gone owes nothing more", func(f *models.RoofFile, _ *OwedRecords) { f.Roof.EndedOn = laid + 2000 },
			func(in owed.ModelInput) bool { return in.Roofs[0].Until <= laid+2000 }},
		{"an owner who came later makes the one transfer", func(f *models.RoofFile, _ *OwedRecords) {
			f.Holdings = []models.Holding{{Role: "owner", FromOn: laid - 900}, {Role: "owner", FromOn: laid + 700}}
		}, func(in owed.ModelInput) bool { return in.Roofs[0].Transferred && *in.Turnover > .05 }},
		{"an owner of before the work makes none", func(f *models.RoofFile, _ *OwedRecords) {
			f.Holdings = []models.Holding{{Role: "owner", FromOn: laid - 900}}
		}, func(in owed.ModelInput) bool { return !in.Roofs[0].Transferred && *in.Turnover < .05 }},
		{"a roof that others laid has none of our crews", func(f *models.RoofFile, _ *OwedRecords) { f.Roof.Ours = false },
			func(in owed.ModelInput) bool { return in.Roofs[0].Crew == "" && in.Roofs[0].Lot == "" }},
		{"no life known: it counts as standing", func(_ *models.RoofFile, rec *OwedRecords) { rec.Lives = nil },
			func(in owed.ModelInput) bool { return in.Roofs[0].YearsLeft == nil }},
		{"no promise of ours is no row, and its callbacks are none", func(f *models.RoofFile, _ *OwedRecords) { f.Warranties = f.Warranties[2:] },
			func(in owed.ModelInput) bool {
				return len(in.Roofs) == 0 && len(in.Callbacks) == 0 && in.RecordsFrom == 0
			}},
		{"a refusal that cost nothing does not count", func(f *models.RoofFile, rec *OwedRecords) { f.Callbacks[0].State, rec.Costs = "refused", nil },
			func(in owed.ModelInput) bool { return len(in.Callbacks) == 0 }},
		{"a refusal that cost something does", func(f *models.RoofFile, _ *OwedRecords) { f.Callbacks[0].State = "refused" },
			func(in owed.ModelInput) bool { return len(in.Callbacks) == 1 && in.Callbacks[0].CostCents != nil }},
		{"the cost of an open one is not known yet", func(f *models.RoofFile, _ *OwedRecords) { f.Callbacks[0].State = "accepted" },
			func(in owed.ModelInput) bool { return in.Callbacks[0].CostCents == nil }},
		{"more came back than it cost: it cost us nothing", func(_ *models.RoofFile, rec *OwedRecords) { rec.Costs[21] = -cost(20) },
			func(in owed.ModelInput) bool {
				return *in.Callbacks[0].CostCents == 0 && in.Callbacks[0].Bearer == "goodwill"
			}},
		{"of unknown day: the day it was told", func(f *models.RoofFile, _ *OwedRecords) { f.Callbacks[0].HappenedOn = 0 },
			func(in owed.ModelInput) bool { return in.Callbacks[0].HappenedOn == laid+420 }},
		{"another roof's callback is not this one's", func(f *models.RoofFile, _ *OwedRecords) { other := int64(99); f.Callbacks[0].RoofID = &other },
			func(in owed.ModelInput) bool { return len(in.Callbacks) == 0 }},
	} {
		if in := model(c.change); !c.holds(in) {
			t.Errorf("%s: %+v", c.rule, in)
		} else if _, err := owed.Model(in); err != nil {
			t.Errorf("%s: %v", c.rule, err)
		}
	}
}

// The years left in a covering are what was left less what has passed, and then
// the years for which a worn one stands.
func TestKnownLifeLeft(t *testing.T) {
	asOf := units.NewDate(2024, 6, 30)
	l := KnownLife{AsOf: asOf, Low: 1, Middle: 5, High: 9}
	for _, c := range []struct {
		years, lag float64
		want       owed.YearsLeft
	}{{0, 0, owed.YearsLeft{Low: 1, Middle: 5, High: 9}}, {2, 3, owed.YearsLeft{Low: 3, Middle: 6, High: 10}}, {20, 1, owed.YearsLeft{Low: 1, Middle: 1, High: 1}}} {
		got := l.Left(asOf.AddYears(int(c.years)), c.lag)
		if math.Abs(got.Low-c.want.Low) > .01 || math.Abs(got.Middle-c.want.Middle) > .01 || math.Abs(got.High-c.want.High) > .01 {
			t.Errorf("after %v years with a lag of %v: %+v, want %+v", c.years, c.lag, got, c.want)
		}
	}
}
