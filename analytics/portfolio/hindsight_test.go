package portfolio

import (
	"encoding/json"
	"math"
	"testing"

	"overhang/analytics/hindsight"
	"overhang/analytics/lifespan"
	"overhang/models"
)

// lookedAt gives the file a look at a day; worn ones see the granules gone and
// shingles curled all over, and more.
func lookedAt(f *models.RoofFile, on, method string, worn bool) {
	id := int64(100 + len(f.Visits))
	f.Visits = append(f.Visits, models.Visit{Row: models.Row{ID: id}, HouseID: 3, RoofID: ptr(int64(7)), DoneOn: day(on), Method: method, ByName: "A. Person"})
	for _, defect := range []string{"granule_loss", "curling", "cracking", "missing_shingles", "lifted_tabs", "blisters", "clawing"} {
		finding := models.Finding{VisitID: id, Defect: defect, Look: "seen", Severity: ptr(1), Extent: ptr(0.02)}
		if worn {
			finding.Severity, finding.Extent = ptr(3), ptr(0.9)
		}
		f.Findings[id] = append(f.Findings[id], finding)
	}
}

func TestKnownBefore(t *testing.T) {
	f := file()
	lookedAt(&f, "2021-05-01", "walked", false)
	lookedAt(&f, "2024-05-01", "walked", false)
	f.Roof.EndedOn, f.Roof.EndReason = day("2025-06-01"), "worn_out"
	f.Vents[0].EndedOn = day("2023-01-01")
	f.Vents[1].InstalledOn = day("2022-01-01")
	f.Storms = []models.Storm{{On: day("2020-07-01")}, {On: day("2022-07-01")}}
	f.Troubles = []models.Trouble{{On: day("2022-07-01")}}
	f.Callbacks = []models.Callback{{LearnedOn: day("2022-07-01")}}
	known, lay := KnownBefore(&f, day("2021-05-02"))
	if len(known.Storms) != 1 || len(known.Troubles) != 0 || len(known.Callbacks) != 0 {
		t.Errorf("what came later was known: %v, %v, %v", known.Storms, known.Troubles, known.Callbacks)
	}
	if !lay || len(known.Visits) != 1 || !known.Roof.EndedOn.IsZero() || known.Roof.EndReason != "" || len(known.Vents) != 1 || !known.Vents[0].EndedOn.IsZero() {
		t.Errorf("on that day were known %d visits, %+v, %+v", len(known.Visits), known.Roof, known.Vents)
	}
	if f.Roof.EndedOn.IsZero() || f.Vents[0].EndedOn.IsZero() || len(f.Visits) != 2 {
		t.Error("the file itself was changed")
	}
	if known, _ := KnownBefore(&f, day("2021-05-01")); len(known.Visits) != 0 {
		t.Error("a look of the very day was known before it")
	}
	for _, on := range []string{"2019-06-10", "2025-06-02"} {
		if _, lay := KnownBefore(&f, day(on)); lay {
			t.Errorf("it lay on %s", on)
		}
	}
}

func TestForetoldFromRecords(t *testing.T) {
	f := file()
	lookedAt(&f, "2021-05-01", "walked", false)
	lookedAt(&f, "2023-05-01", "walked", false)
	lookedAt(&f, "2025-05-01", "walked", true)
	looks, err := Looks(&f)
	if err != nil || len(looks) != 3 {
		t.Fatalf("%d looks, %v", len(looks), err)
	}
	var e lifespan.Estimator
	today := day("2026-11-25")
	days := HindcastDays(&f, looks, today)
	if len(days) != 6 || days[0] != day("2021-05-02") || days[5] != day("2026-05-02") {
		t.Fatalf("hindcast on %v", days)
	}
	of, lay, err := Hindcast(&e, &f, nil, &branch, days[0])
	if err != nil || !lay || of.AsOf != days[0] || math.Abs(of.AgeYears-days[0].YearsSince(day("2019-06-10"))) > 1e-9 {
		t.Fatalf("%+v, %v", of, err)
	}
	c, err := Foretold(&e, &f, looks, &of, &branch, today)
	if err != nil {
		t.Fatal(err)
	}
	age := func(on string) float64 { return day(on).YearsSince(day("2019-06-10")) }
	if c.Readings != 1 || c.Method != "walked" || c.LastRating == nil || c.Next == nil || math.Abs(c.Next.AgeYears-age("2023-05-01")) > 1e-9 {
		t.Errorf("the case is %+v, next %+v", c, c.Next)
	}
	if s := c.Seen; s.ServiceableAgeYears == nil || s.WornAgeYears == nil || math.Abs(*s.ServiceableAgeYears-age("2023-05-01")) > 1e-9 ||
		math.Abs(*s.WornAgeYears-age("2025-05-01")) > 1e-9 || s.StandsAgeYears == nil {
		t.Errorf("seen %+v", s)
	}
	if len(c.Quantiles) < 20 || len(c.AgeOnly) < 20 || *c.TableAgeYears < 15 {
		t.Errorf("quantiles %v, age only %v", c.Quantiles, c.AgeOnly)
	}
	// One kept before its quantiles were is read by its range and chances.
	var old lifespan.Result
	if err := json.Unmarshal([]byte(of.Result), &old); err != nil {
		t.Fatal(err)
	}
	old.AgeQuantiles = nil
	text, _ := json.Marshal(old)
	before := of
	before.Result = string(text)
	few, err := Foretold(&e, &f, looks, &before, &branch, today)
	if err != nil || len(few.Quantiles) < 3 {
		t.Fatalf("%v, %v", few.Quantiles, err)
	}
	// A storm is no wear, and a reason that is not known no more than standing.
	for reason, want := range map[string]string{"worn_out": "wear", "storm": "other", "unknown": ""} {
		f.Roof.EndedOn, f.Roof.EndReason = day("2026-01-10"), reason
		if c, err := Foretold(&e, &f, looks, &of, &branch, today); err != nil || c.Seen.EndedFor != want || c.Seen.EndedAgeYears == nil || c.Seen.StandsAgeYears != nil {
			t.Errorf("%s: seen %+v, %v", reason, c.Seen, err)
		}
	}
	if r, err := Hindsight([]hindsight.Case{c, few}, &branch); err != nil || r.Lives.Cases != 2 || r.Lives.Roofs != 1 {
		t.Errorf("%+v, %v", r.Lives, err)
	}
	if Settled(&models.Estimate{AsOf: today.AddDays(-SettleDays + 1)}, today) || !Settled(&models.Estimate{AsOf: today.AddDays(-SettleDays)}, today) {
		t.Error("an estimate settles on another day")
	}
}
