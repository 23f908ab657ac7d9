package portfolio

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"overhang/analytics/hindsight"
	"overhang/analytics/lifespan"
	"overhang/analytics/wear"
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
	f.Visits[len(f.Visits)-3].SeenBefore, f.Visits[len(f.Visits)-2].SeenBefore = ptr(true), ptr(false)
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
	of, lay, err := Hindcast(&e, &f, nil, nil, &branch, days[0])
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
	if c.Estimate != hindsight.SeenBefore || c.Next.Estimate != hindsight.NotSeen {
		t.Errorf("seen before the looks: %q, %q", c.Estimate, c.Next.Estimate)
	}
	if s := c.Seen; s.ServiceableAgeYears == nil || s.WornAgeYears == nil || math.Abs(*s.ServiceableAgeYears-age("2023-05-01")) > 1e-9 ||
		math.Abs(*s.WornAgeYears-age("2025-05-01")) > 1e-9 || s.StandsAgeYears == nil {
		t.Errorf("seen %+v", s)
	}
	if len(c.Quantiles) < 20 || len(c.AgeOnly) < 20 || *c.TableAgeYears < 15 {
		t.Errorf("quantiles %v, age only %v", c.Quantiles, c.AgeOnly)
	}
	// What a repair laid anew was not foretold: looks after it are held against nothing.
	for relaid, want := range map[string]struct{ next, worn bool }{"2025-05-01": {true, true}, "2024-01-01": {true, false}, "2022-01-01": {false, false}} {
		g := f
		relaidBy(relaid, "part", 0, 5)(&g)
		c, err := Foretold(&e, &g, looks, &of, &branch, today)
		if err != nil || (c.Next != nil) != want.next || (c.Seen.ServiceableAgeYears != nil) != want.next || (c.Seen.WornAgeYears != nil) != want.worn || c.Seen.StandsAgeYears == nil {
			t.Errorf("laid anew in part on %s: next %+v, seen %+v, %v", relaid, c.Next, c.Seen, err)
		}
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

// A company of known truth: T by the table, readings by three eyes on the curve
// with what each shares and the gross share, estimates by the estimator and the
// next reading by one of the same eyes. The range that should hold four of five
// next readings does, also where the eye has read the roof before, and where there
// are readings ours beats the forecast by age alone.
func TestNextReadingIsForetoldRight(t *testing.T) {
	const roofs, lag = 1500, 3.0
	dice := rand.New(rand.NewPCG(8, 8))
	prior, _ := lifespan.For("asphalt_laminated")
	errors, err := wear.ScaleOf(wear.UsualNearNewShare)
	if err != nil {
		t.Fatal(err)
	}
	var e lifespan.Estimator
	var cases []hindsight.Case
	for roof := 0; len(cases) < roofs; roof++ {
		T, age := prior.Quantile(dice.Float64()), 3+25*dice.Float64()
		if T < age && dice.Float64() > math.Exp(-(age-T)/lag) {
			continue
		}
		eyes := [3]float64{dice.NormFloat64(), dice.NormFloat64(), dice.NormFloat64()}
		read := func(at, sd float64, eye int) float64 {
			if dice.Float64() < lifespan.UsualGrossShare {
				return 100 - errors.Fall(errors.Most*dice.Float64())
			}
			fallen := errors.Stretched(min((100-wear.Line)*math.Pow(at/T, lifespan.UsualPower), 100))
			return 100 - errors.Fall(min(max(fallen-sd*(eyes[eye]+dice.NormFloat64())*math.Sqrt(0.5), 0), errors.Most))
		}
		in := lifespan.Input{Material: "asphalt_laminated", AgeYears: &age, ReplacementLagYears: ptr(lag)}
		plain, err := e.Estimate(in)
		if err != nil {
			t.Fatal(err)
		}
		c := hindsight.Case{Roof: strconv.Itoa(roof), AgeYears: age, Readings: dice.IntN(4), AgeOnly: keptQuantiles(&plain), Seen: hindsight.Seen{StandsAgeYears: ptr(age)}}
		sds := []float64{7, 10, 14}
		next := dice.IntN(3)
		at := age + 0.5 + dice.Float64()
		c.Next = &hindsight.Next{AgeYears: at, Rating: read(at, sds[next], next), ErrorPoints: &sds[next]}
		for range c.Readings {
			eye := dice.IntN(3)
			ago := age * dice.Float64() * 0.5
			r := lifespan.Reading{YearsAgo: ago, Rating: read(age-ago, sds[eye], eye), ErrorPoints: &sds[eye], By: strconv.Itoa(eye)}
			in.Readings = append(in.Readings, r)
			if eye == next {
				c.Next.Before = append(c.Next.Before, hindsight.Earlier{AgeYears: age - ago, Rating: r.Rating, ErrorPoints: r.ErrorPoints})
			}
		}
		r, err := e.Estimate(in)
		if err != nil {
			t.Fatal(err)
		}
		c.Quantiles = keptQuantiles(&r)
		cases = append(cases, c)
	}
	check := func(name string, which func(hindsight.Case) bool, better bool) {
		var of []hindsight.Case
		for _, c := range cases {
			if which(c) {
				of = append(of, c)
			}
		}
		b := branch
		b.StandingLagYears = lag
		r, err := Hindsight(of, &b)
		if err != nil {
			t.Fatal(err)
		}
		inside := 0.0
		for _, row := range r.Rows {
			if *row.Next >= 0.1 && *row.Next <= 0.9 {
				inside++
			}
		}
		share := inside / float64(len(of))
		slack := max(0.04, 3*math.Sqrt(0.16/float64(len(of))))
		t.Logf("%s: %d roofs, %.1f %% inside, off by %.2f, against age only %+v", name, len(of), 100*share, r.Readings.Error.Value, r.Readings.Rivals[0].Difference.Value)
		if math.Abs(share-0.8) > slack {
			t.Errorf("%s: the range holds %.1f %% of %d next readings", name, 100*share, len(of))
		}
		if off := r.Readings.Error; *off.Low > 1 || *off.High < -1 {
			t.Errorf("%s: off by %.2f points", name, off.Value)
		}
		if d := r.Readings.Rivals[0].Difference; better && *d.Low <= 0 {
			t.Errorf("%s: age alone is as good: better by %.2f (from %.2f)", name, d.Value, *d.Low)
		}
	}
	check("all", func(hindsight.Case) bool { return true }, true)
	check("with readings", func(c hindsight.Case) bool { return c.Readings > 0 }, true)
	check("read by the same eye", func(c hindsight.Case) bool { return len(c.Next.Before) > 0 }, true)
	check("without readings", func(c hindsight.Case) bool { return c.Readings == 0 }, false)
}

// A look for one defect is a reading whatever it found, of an error that says how
// little that is, and does not say whether the covering is serviceable.
func TestLookForOneDefectWeighsLittle(t *testing.T) {
	for _, found := range []models.Finding{{Defect: "hail_bruises", Look: "none"}, {Defect: "hail_bruises", Look: "seen", Severity: ptr(1), Extent: ptr(0.1)}} {
		f := file()
		f.Visits = append(f.Visits, models.Visit{Row: models.Row{ID: 90}, HouseID: 3, RoofID: ptr(int64(7)), DoneOn: day("2024-05-01"), Method: "walked", ByName: "A. Person"})
		found.VisitID = 90
		f.Findings[90] = []models.Finding{found}
		looks, err := Looks(&f)
		if err != nil || len(looks) != 1 {
			t.Fatalf("%d looks, %v", len(looks), err)
		}
		in, err := Lifespan(&f, nil, looks, nil, &branch, day("2026-11-25"))
		if err != nil || len(in.Readings) != 1 || *in.Readings[0].ErrorPoints < 20 || judges(looks[0].Worn) {
			t.Errorf("%s: readings %+v, %v", found.Look, in.Readings, err)
		}
		// It shows as little of the wear, so that it does not call an old covering sound.
		if share := in.Readings[0].ShownShare; share == nil || *share > 0.35 {
			t.Errorf("%s: it shows %v of the fall", found.Look, share)
		}
	}
}
