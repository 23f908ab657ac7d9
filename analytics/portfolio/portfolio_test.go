package portfolio

import (
	"fmt"
	"math"
	"testing"

	"overhang/analytics/lifespan"
	"overhang/analytics/promise"
	"overhang/analytics/takeoff"
	"overhang/analytics/units"
	"overhang/analytics/venting"
	"overhang/analytics/visits"
	"overhang/models"
)

func day(s string) units.Date {
	d, err := units.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func ptr[T any](v T) *T { return &v }

var branch = models.Branch{Units: units.US, BuildingCode: "irc_2015", SeasonFrom: "04-15", SeasonTo: "11-15", CheckupEveryMths: 12,
	StormLookDays: 14, NeighbourRadius: 300, StandingLagYears: 0}

// file is a roof with what a test needs of each kind of record.
func file() models.RoofFile {
	laid := units.Dated{On: day("2019-06-10"), Precision: units.ToDay}
	return models.RoofFile{
		Roof:     models.Roof{Row: models.Row{ID: 7}, Ref: "R-7", HouseID: 3, Laid: laid, Ours: true, Area: ptr(24 * units.Square)},
		House:    models.House{Row: models.Row{ID: 3}, Lat: ptr(46.0), Lon: ptr(-111.0)},
		Covering: &models.Covering{Family: "asphalt_strip", BundlesPerSquare: ptr(3.0), ShinglesPerBundle: ptr(80.0 / 3), NailsPerShingle: ptr(4)},
		Attics:   []models.Attic{{Row: models.Row{ID: 1}, Name: "main", VentedArea: ptr(1500 * units.SquareFoot), Cathedral: ptr(false), Retarder: "none"}},
		Vents: []models.Vent{
			{AtticID: 1, Kind: "box", Height: "high", Count: ptr(10), FreeArea: ptr(50 * units.SquareInch)},
			{AtticID: 1, Kind: "soffit_panel", Height: "low", Count: ptr(22), FreeArea: ptr(10 * units.SquareInch)},
		},
		Slopes: []models.Slope{
			{Row: models.Row{ID: 1}, Name: "south", Facing: ptr(180.0), Pitch: ptr(units.PitchIn12(6)), Area: ptr(units.Area(672*takeoff.SlopeFactor(0.5)) * units.SquareFoot)},
			{Row: models.Row{ID: 2}, Name: "north", Facing: ptr(0.0), Pitch: ptr(units.PitchIn12(6)), Area: ptr(units.Area(671.9*takeoff.SlopeFactor(0.5)) * units.SquareFoot)},
		},
		Jobs:       []models.Job{{Row: models.Row{ID: 5}, StartedOn: day("2019-06-10"), ClosedOn: day("2019-06-13"), PaidOn: day("2019-06-20")}},
		Warranties: []models.Warranty{{Row: models.Row{ID: 9}, Ref: "W-9", RoofID: 7, TermsID: 2, OwedBy: "us", StartOn: day("2019-06-13")}},
		Terms: map[int64]models.Terms{2: {Kind: "workmanship", TermMonths: 120, FullMonths: 120, ShareMethod: "none", Labour: true, Transfer: "once",
			Conditions: models.JSON[models.Condition]{{Kind: "paid_in_full"}, {Kind: "yearly_checkup"}, {Kind: "ventilation_to_code"}}}},
		Findings: map[int64][]models.Finding{},
	}
}

// The worked trap of R806.2: 1,500 ft² asks for 720 in² at 1/300, and 500 in²
// high with 220 low fails IRC 2012 and 2015 without a retarder, and passes the
// 2006 wording and the Canadian code (computed from the rules as quoted in the
// codes; the Canadian quarters from memory).
func TestVentingFromRecords(t *testing.T) {
	f := file()
	for code, want := range map[string]venting.Verdict{"irc_2012": venting.Fails, "irc_2015": venting.Fails, "nbc_2015": venting.Passes} {
		b := branch
		b.BuildingCode = code
		checks, err := CheckVenting(&f, &b)
		if err != nil || len(checks) != 1 {
			t.Fatalf("%s: %v, %v", code, checks, err)
		}
		rule := checks[0].Rule()
		if rule.Verdict != want || math.Abs(rule.Total.Least.In(units.SquareInch)-720) > 1e-9 {
			t.Errorf("%s: %s with %v in²", code, rule.Verdict, rule.Total.Least.In(units.SquareInch))
		}
	}
	checks, _ := CheckVenting(&f, &branch)
	if Verdict(checks) != promise.VentilationShort {
		t.Error("a failing attic is short")
	}
	if Verdict(nil) != promise.VentilationUnknown {
		t.Error("no attic is not known")
	}
	// An attic whose vents nobody wrote down is not known, and not short.
	f.Vents = nil
	checks, _ = CheckVenting(&f, &branch)
	if Verdict(checks) != promise.VentilationUnknown {
		t.Errorf("no vents recorded: %v", Verdict(checks))
	}
	// One failing attic outweighs one that is not known.
	f = file()
	f.Attics = append(f.Attics, models.Attic{Row: models.Row{ID: 2}, Name: "addition", VentedArea: ptr(300 * units.SquareFoot)})
	f.Attics[0], f.Attics[1] = f.Attics[1], f.Attics[0]
	checks, _ = CheckVenting(&f, &branch)
	if len(checks) != 2 || Verdict(checks) != promise.VentilationShort {
		t.Errorf("an unknown attic before a failing one: %v", Verdict(checks))
	}
}

func TestPromiseFromRecords(t *testing.T) {
	f := file()
	f.Visits = []models.Visit{
		{Purpose: "checkup", OfferedOn: day("2020-05-01"), DoneOn: day("2020-05-20")},
		{Purpose: "checkup", OfferedOn: day("2022-05-01"), DeclinedOn: day("2022-05-09")},
		{Purpose: "storm_look", DoneOn: day("2023-07-01")},
	}
	f.Holdings = []models.Holding{{Role: "owner", FromOn: day("2011-01-01"), ToOn: day("2024-03-31")},
		{Role: "owner", FromOn: day("2024-03-31"), NoticeOn: day("2024-04-20")}, {Role: "tenant", FromOn: day("2024-06-01")}}
	f.Callbacks = []models.Callback{{RoofID: ptr(int64(7)), CauseFound: "other_trade", LearnedOn: day("2021-09-01"), State: "closed", ClosedOn: day("2021-09-09")},
		{RoofID: ptr(int64(7)), LearnedOn: day("2026-11-24"), HappenedOn: day("2026-11-20"), State: "new"}}
	in := Promise(&f, &f.Warranties[0], promise.VentilationShort, day("2026-11-25"))
	facts := in.Facts
	if len(facts.Sales) != 1 || facts.Sales[0].On != day("2024-03-31") || facts.Sales[0].NoticeOn != day("2024-04-20") {
		t.Errorf("sales: %+v", facts.Sales)
	}
	if facts.PaidInFullOn != day("2019-06-20") || len(facts.OthersWorkedOn) != 1 || facts.FoundOn != day("2026-11-20") {
		t.Errorf("facts: %+v", facts)
	}
	if len(facts.CheckupsHeld) != 1 {
		t.Errorf("a storm look is no check-up: %v", facts.CheckupsHeld)
	}
	// Seven years are over: in 2019–20 one was held, in 2021–22 one was offered
	// and declined, in the five others we offered none.
	if fmt.Sprint(facts.CheckupsNotGiven) != "[2021-06-12 2023-06-12 2024-06-12 2025-06-12 2026-06-12]" {
		t.Errorf("years without an offer: %v", facts.CheckupsNotGiven)
	}
	judged, err := JudgePromises(&f, promise.VentilationShort, day("2026-11-25"))
	if err != nil || len(judged) != 1 || !judged[0].InForce() || judged[0].Result.LastDay != day("2029-06-12") {
		t.Fatalf("%+v, %v", judged, err)
	}
	// The declined check-up and the short vents are not shown met; the years
	// without an offer do not count.
	if judged[0].NotShown() != 2 {
		t.Errorf("not shown met: %+v", judged[0].Result.Conditions)
	}
}

func TestVisitsFromRecords(t *testing.T) {
	f := file()
	f.Visits = []models.Visit{
		{Purpose: "checkup", DoneOn: day("2025-05-20"), Method: "walked"},
		{Purpose: "callback_look", DoneOn: day("2026-03-01"), Method: "ladder"}, // the roof, not the gutters
		{Purpose: "checkup", BookedFor: day("2026-06-01"), CancelledOn: day("2026-05-30")},
		{Purpose: "repair", BookedFor: day("2026-12-01")},
	}
	in := Visits([]models.RoofFile{f}, nil, &branch, day("2026-11-25"))
	r := in.Roofs[0]
	if r.RoofLookedOn != day("2026-03-01") || r.GuttersOn != day("2025-05-20") || !r.BookedFor.IsZero() || !r.Promised || r.PromisedUntil != day("2029-06-12") || r.ClosedOn != day("2019-06-13") {
		t.Errorf("%+v", r)
	}
	due, err := visits.WhoIsDue(in)
	if err != nil || len(due.Visits) != 1 || due.Visits[0].State != visits.Due || due.Visits[0].DueOn != day("2026-05-20") {
		t.Errorf("%+v, %v", due.Visits, err)
	}
	f.Plans = []models.Plan{{FromOn: day("2024-01-01")}}
	if r := visitRoof(&f, nil); !r.PromisedUntil.IsZero() {
		t.Errorf("a plan without an end ends on %v", r.PromisedUntil)
	}
	f.Plans, f.Warranties = nil, nil
	if visitRoof(&f, nil).Promised {
		t.Error("nothing asks for a check-up of this roof")
	}
}

func TestLifespanFromRecords(t *testing.T) {
	f := file()
	f.Visits = []models.Visit{
		{Row: models.Row{ID: 1}, DoneOn: day("2018-01-01"), Method: "walked"}, // of the roof before
		{Row: models.Row{ID: 2}, DoneOn: day("2024-06-10"), Method: "walked"},
		{Row: models.Row{ID: 3}, BookedFor: day("2026-12-01")},
	}
	f.Findings = map[int64][]models.Finding{
		1: {{Defect: "curling", Look: "seen", Severity: ptr(3)}},
		2: {{Defect: "granule_loss", Look: "seen", Severity: ptr(1), Extent: ptr(0.1)}, {Defect: "curling", Look: "none"}},
	}
	today := day("2026-06-10")
	var e lifespan.Estimator
	life, err := EstimateLife(&e, &f, nil, nil, nil, &branch, today)
	if err != nil {
		t.Fatal(err)
	}
	if len(life.Looks) != 1 || len(life.Input.Readings) != 1 || math.Abs(life.Input.Readings[0].YearsAgo-2) > 0.01 {
		t.Errorf("readings: %+v", life.Input.Readings)
	}
	if least, most := *life.Input.EarliestAgeYears, *life.Input.LatestAgeYears; math.Abs(least-7) > 0.01 || least != most {
		t.Errorf("laid to the day it is %v to %v years old", least, most)
	}
	hash, _ := life.Hash(&f)
	later, err := EstimateLife(&e, &f, nil, nil, nil, &branch, today+10)
	if err != nil {
		t.Fatal(err)
	}
	if again, _ := later.Hash(&f); again != hash {
		t.Error("ten days later the same facts have another mark")
	}
	f.Roof.Colour = "charcoal black"
	darker, err := EstimateLife(&e, &f, nil, nil, nil, &branch, today)
	if err != nil {
		t.Fatal(err)
	}
	if other, _ := darker.Hash(&f); other == hash {
		t.Error("another colour has the same mark")
	}
	// A year known only about widens the range.
	f = file()
	sharp, _ := EstimateLife(&e, &f, nil, nil, nil, &branch, today)
	f.Roof.Laid = units.Dated{On: day("2009-07-01"), Precision: units.About}
	wide, err := EstimateLife(&e, &f, nil, nil, nil, &branch, today)
	if err != nil || *wide.Input.LatestAgeYears-*wide.Input.EarliestAgeYears < 4.9 {
		t.Errorf("about 2009: %+v, %v", wide.Input, err)
	}
	record, err := sharp.Record(&f, today)
	if err != nil || record.RoofID != 7 || record.Low > record.Middle || record.Middle > record.High || record.Result == "" || record.ModelVersion != lifespan.ModelVersion {
		t.Errorf("%+v, %v", record, err)
	}
}

// Weibull η 20, k 4 (constructed): of coverings standing at 15 with no lag, half
// wear out within five years, P = 1 − exp((15/20)⁴ − 1) = 0.495; the need of a
// neighbour comes from the table and its year in the same way.
func TestNeed(t *testing.T) {
	n := need(t, nil, &branch, "2026-07-01")
	old := n.Of(&models.Neighbour{Family: "asphalt_strip", LaidOn: day("2004-07-01"), LaidPrecision: units.ToDay})
	young := n.Of(&models.Neighbour{Family: "asphalt_strip", LaidOn: day("2024-07-01"), LaidPrecision: units.ToDay})
	unknown := n.Of(&models.Neighbour{Family: "asphalt_strip"})
	if old == nil || young == nil || unknown != nil || *old < 0.3 || *young > 0.05 {
		t.Fatalf("old %v, young %v, unknown %v", old, young, unknown)
	}
	prior, _ := lifespan.For("asphalt_strip")
	s := func(years float64) float64 { return math.Exp(-math.Pow(years/prior.ScaleYears, prior.Shape)) }
	age := day("2026-07-01").YearsSince(day("2004-07-01"))
	if want := 1 - s(age+5)/s(age); math.Abs(*old-want) > 1e-4 {
		t.Errorf("need is %v, the closed form gives %v", *old, want)
	}
	// In a cool place coverings last longer, those of tile by less.
	cool := branch
	cool.ClimateStation = "anchorage"
	for _, family := range []string{"asphalt_strip", "tile"} {
		h := &models.Neighbour{Family: family, LaidOn: day("1996-07-01"), LaidPrecision: units.ToDay}
		there := need(t, nil, &cool, "2026-07-01").Of(h)
		life := lifespan.Input{Material: family, AgeYears: ptr(day("2026-07-01").YearsSince(h.LaidOn)), ReplacementLagYears: &cool.StandingLagYears}
		place, err := climateOf(&cool)
		if err != nil {
			t.Fatal(err)
		}
		if life.Factors, err = place.factors(family == "asphalt_strip"); err != nil {
			t.Fatal(err)
		}
		r, err := lifespan.Estimate(life)
		if err != nil {
			t.Fatal(err)
		}
		if *there >= *n.Of(h) || math.Abs(*there-r.ChanceIn5) > 1e-9 {
			t.Errorf("%s: in a cool place %v, elsewhere %v, want %v", family, *there, *n.Of(h), r.ChanceIn5)
		}
	}
}

func need(t *testing.T, own *Pooled, b *models.Branch, today string) *Need {
	t.Helper()
	n, err := NewNeed(own, b, day(today))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// Plan 42 by 32 ft with its overhang at 6:12 is 1,502.6 ft², 15.03 squares; with
// a tenth of waste 50 bundles of a third of a square (computed from geometry).
func TestTakeOffFromRecords(t *testing.T) {
	f := file()
	in, known := TakeOff(&f, &branch, nil)
	if !known {
		t.Fatal("both slopes are known")
	}
	r, err := takeoff.TakeOff(in)
	if err != nil || r.Order == nil || math.Abs(r.Order.Squares-15.03) > 0.01 || r.Order.Bundles == nil || *r.Order.Bundles != 50 {
		t.Errorf("%+v, %v", r.Order, err)
	}
	f.Slopes = nil
	if _, known := TakeOff(&f, &branch, nil); known {
		t.Error("no slope is known")
	}
}

func TestCrossed(t *testing.T) {
	f := file()
	storm := models.Storm{Row: models.Row{ID: 1}, Name: "June hail", On: day("2026-06-14"), Kind: "hail", HalfWidth: units.Kilometre, HailSize: ptr(2 * units.Inch),
		Shape: models.JSON[models.LatLon]{{Lat: 45.95, Lon: -111}, {Lat: 46.05, Lon: -111}}}
	crossed, err := Crossed([]models.RoofFile{f}, []models.Storm{storm})
	if err != nil || len(crossed[7]) != 1 || crossed[7][0] != storm.On {
		t.Fatalf("%v, %v", crossed, err)
	}
	aside := storm
	aside.Shape = models.JSON[models.LatLon]{{Lat: 45.95, Lon: -110.9}, {Lat: 46.05, Lon: -110.9}}
	small := storm
	small.HailSize = ptr(0.25 * units.Inch) // below what any shingle is harmed by
	before := storm
	before.On = day("2018-06-14") // before the roof was laid
	for name, s := range map[string]models.Storm{"aside": aside, "small hail": small, "before": before} {
		if crossed, err := Crossed([]models.RoofFile{f}, []models.Storm{s}); err != nil || len(crossed[7]) != 0 {
			t.Errorf("%s: %v, %v", name, crossed, err)
		}
	}
	f.House.Lat, f.House.Lon = nil, nil
	if crossed, err := Crossed([]models.RoofFile{f}, []models.Storm{storm}); err != nil || len(crossed) != 0 {
		t.Errorf("with no known place: %v, %v", crossed, err)
	}
}

func BenchmarkEstimateLife(b *testing.B) {
	f := file()
	checks, err := CheckVenting(&f, &branch)
	if err != nil {
		b.Fatal(err)
	}
	var e lifespan.Estimator
	for b.Loop() {
		if _, err := EstimateLife(&e, &f, checks, nil, nil, &branch, day("2026-06-10")); err != nil {
			b.Fatal(err)
		}
	}
}

// What was paid under a warranty: its own closed callbacks, what its terms answer
// for, and not what was goodwill, corrected away or got back.
func TestPaidUnderAWarranty(t *testing.T) {
	f := file()
	w := &f.Warranties[0]
	own := ptr(w.ID)
	f.Callbacks = []models.Callback{
		{Row: models.Row{ID: 1}, WarrantyID: own, State: "closed", Bearer: "us"},
		{Row: models.Row{ID: 2}, WarrantyID: own, State: "repaired", Bearer: "us"},
		{Row: models.Row{ID: 3}, WarrantyID: own, State: "closed", Bearer: "goodwill"},
		{Row: models.Row{ID: 4}, WarrantyID: ptr(int64(10)), State: "closed", Bearer: "us"},
		{Row: models.Row{ID: 5}, WarrantyID: own, State: "closed", Bearer: "maker"},
	}
	line := func(kind string, amount, tax units.Money) models.CostLine {
		return models.CostLine{Kind: kind, Amount: amount, Tax: tax}
	}
	wrong := line("labour", 70_00, 0)
	wrong.ID = 99
	f.Costs = map[int64][]models.CostLine{
		1: {line("labour", 300_00, 0), line("material", 80_00, 4_00), line("access", 50_00, 2_50), wrong, wrong.Reversal(day("2022-01-01")), line("recovery", -90_00, 0)},
		2: {line("labour", 1_000_00, 0)}, 3: {line("labour", 1_000_00, 0)}, 4: {line("labour", 1_000_00, 0)},
		5: {line("labour", 500_00, 0), line("recovery", -410_00, 0)},
	}
	if got := PaidUnder(&f, w); got != 352_50 { // the terms answer for labour, not for material
		t.Errorf("%v was paid under our promise, want 352.50", got)
	}
	w.OwedBy = "Tarn Shingle Mill"
	if got := PaidUnder(&f, w); got != 410_00 {
		t.Errorf("%v was paid under the maker's promise, want 410.00", got)
	}
	f.Jobs[0].Price = 9_000_00
	if got := Promise(&f, w, promise.VentilationUnknown, day("2026-11-25")).Facts; got.PaidSoFarCents != 410_00 || got.PriceCents == nil || *got.PriceCents != 9_000_00 {
		t.Errorf("the judging is given %v paid of %v", got.PaidSoFarCents, got.PriceCents)
	}
}

// A check-up that was held in the days of grace after its year is none that we
// failed to give; one after them is.
func TestCheckupsInGraceWereGiven(t *testing.T) {
	for grace, want := range map[int]int{0: 1, 18: 1, 19: 0, 60: 0} { // from June 12 to July 1 are 19 days
		f := file()
		f.Visits = []models.Visit{{Purpose: "checkup", DoneOn: day("2020-07-01")}}
		terms := f.Terms[2]
		terms.Conditions = models.JSON[models.Condition]{{Kind: "yearly_checkup", Days: grace}}
		f.Terms[2] = terms
		judged, err := JudgePromises(&f, promise.VentilationUnknown, day("2020-08-15"))
		if err != nil || len(judged[0].NotGiven) != want || judged[0].NotShown() != 0 {
			t.Errorf("%d days of grace: failed to give %v, want %d; %d not shown met; %v", grace, judged[0].NotGiven, want, judged[0].NotShown(), err)
		}
	}
}

// A check-up that we failed to offer, or booked and did not hold, is not held
// against the homeowner; one that was offered and left lying, or declined, is.
func TestCheckupsThatWeFailedToGive(t *testing.T) {
	start := day("2019-06-13")
	in2020 := day("2020-03-01")
	for name, c := range map[string]struct {
		visit  *models.Visit
		failed bool
	}{
		"nothing":              {nil, true},
		"held":                 {&models.Visit{Purpose: "checkup", BookedFor: in2020, DoneOn: in2020}, false},
		"offered":              {&models.Visit{Purpose: "checkup", OfferedOn: in2020}, false},
		"declined":             {&models.Visit{Purpose: "checkup", OfferedOn: in2020, BookedFor: in2020 + 9, DeclinedOn: in2020 + 3}, false},
		"booked, nobody came":  {&models.Visit{Purpose: "checkup", OfferedOn: in2020, BookedFor: in2020 + 9}, true},
		"cancelled":            {&models.Visit{Purpose: "checkup", OfferedOn: in2020, CancelledOn: in2020 + 3}, true},
		"a look after a storm": {&models.Visit{Purpose: "storm_look", DoneOn: in2020}, true},
		"in another year":      {&models.Visit{Purpose: "checkup", DoneOn: day("2020-07-01")}, true},
	} {
		f := file()
		if c.visit != nil {
			f.Visits = []models.Visit{*c.visit}
		}
		if got := len(notOffered(&f, start, day("2020-07-15"))) == 1; got != c.failed {
			t.Errorf("%s: failed to give is %v, want %v", name, got, c.failed)
		}
	}
}
