package portfolio

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"overhang/analytics/lifespan"
	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
)

func factorOf(t *testing.T, f models.RoofFile, name string) lifespan.Factor {
	t.Helper()
	all, err := factors(&f, nil, nil, &branch, day("2026-06-10"))
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(all, func(x lifespan.Factor) bool { return x.Name == name })
	if i < 0 {
		t.Fatalf("no factor %q in %v", name, all)
	}
	return all[i]
}

func visit(id int64, on, method string, found ...models.Finding) (models.Visit, []models.Finding) {
	return models.Visit{Row: models.Row{ID: id}, DoneOn: day(on), Method: method}, found
}

func seen(defect string, severity int) models.Finding {
	return models.Finding{Defect: defect, Look: "seen", Severity: &severity, Extent: ptr(0.2)}
}

func looked(defect string) models.Finding { return models.Finding{Defect: defect, Look: "none"} }

func with(visits ...func() (models.Visit, []models.Finding)) func(*models.RoofFile) {
	return func(f *models.RoofFile) {
		for _, v := range visits {
			done, found := v()
			f.Visits = append(f.Visits, done)
			f.Findings[done.ID] = found
		}
	}
}

func at(id int64, on, method string, found ...models.Finding) func() (models.Visit, []models.Finding) {
	return func() (models.Visit, []models.Finding) { return visit(id, on, method, found...) }
}

func gutters(years ...string) func(*models.RoofFile) {
	return func(f *models.RoofFile) {
		for i, on := range years {
			f.Visits = append(f.Visits, models.Visit{Row: models.Row{ID: int64(50 + i)}, DoneOn: day(on), Method: "ladder", Gutters: ptr(true)})
		}
	}
}

func hailAt(on string, inches float64) func(*models.RoofFile) {
	return func(f *models.RoofFile) {
		f.Storms = append(f.Storms, models.Storm{Row: models.Row{ID: 1}, Ref: "S-1", Name: "hail", On: day(on), Kind: "hail",
			Shape: models.JSON[models.LatLon]{{Lat: 45.9, Lon: -111}, {Lat: 46.1, Lon: -111}}, HalfWidth: 2 * units.Kilometre, HailSize: ptr(units.Length(inches) * units.Inch)})
	}
}

func both(all ...func(*models.RoofFile)) func(*models.RoofFile) {
	return func(f *models.RoofFile) {
		for _, one := range all {
			one(f)
		}
	}
}

// What is on record sets the state of each aspect, and nothing else does.
func TestFactorsFromRecords(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*models.RoofFile)
		factor string
		state  string
	}{
		"no colour":            {nil, "colour", ""},
		"dark":                 {func(f *models.RoofFile) { f.Roof.Colour = "Charcoal" }, "colour", "dark"},
		"a new strip shingle":  {nil, "mat", "glass"},
		"an old one":           {func(f *models.RoofFile) { f.Roof.Laid = units.Dated{On: day("1979-05-01")} }, "mat", "organic"},
		"about the turn":       {func(f *models.RoofFile) { f.Roof.Laid = units.Dated{On: day("1985-01-01"), Precision: units.About} }, "mat", ""},
		"still made":           {nil, "matching stock", "made"},
		"no longer made":       {func(f *models.RoofFile) { f.Covering.EndedOn = day("2020-01-01") }, "matching stock", "gone"},
		"material unknown":     {nil, "material", ""},
		"material at fault":    {func(f *models.RoofFile) { f.Troubles = []models.Trouble{{RoofID: 7, On: day("2024-01-01")}} }, "material", "failed"},
		"found at fault later": {func(f *models.RoofFile) { f.Troubles = []models.Trouble{{RoofID: 7, On: day("2027-01-01")}} }, "material", ""},
		"its lot": {func(f *models.RoofFile) {
			f.Lots, f.Troubles = []string{"A1"}, []models.Trouble{{RoofID: 8, Lots: []string{"A1"}, On: day("2024-01-01")}}
		}, "material", "lot"},
		"another lot": {func(f *models.RoofFile) {
			f.Lots, f.Troubles = []string{"A1"}, []models.Trouble{{RoofID: 8, Lots: []string{"B"}, On: day("2024-01-01")}}
		}, "material", ""},
		"its covering": {func(f *models.RoofFile) {
			f.CoveringLaid, f.Troubles = 100, slices.Repeat([]models.Trouble{{RoofID: 8, On: day("2024-01-01")}}, 3)
		}, "material", "covering"},
		"three of very many": {func(f *models.RoofFile) {
			f.CoveringLaid, f.Troubles = 1000, slices.Repeat([]models.Trouble{{RoofID: 8, On: day("2024-01-01")}}, 3)
		}, "material", ""},
		"many and no trouble":  {func(f *models.RoofFile) { f.CoveringLaid = 100 }, "material", "sound"},
		"6 in 12":              {nil, "pitch", "usual"},
		"3 in 12 on one slope": {func(f *models.RoofFile) { f.Slopes[1].Pitch = ptr(units.PitchIn12(3)) }, "pitch", "low"},
		"4 in 12":              {func(f *models.RoofFile) { f.Slopes[1].Pitch = ptr(units.PitchIn12(4)) }, "pitch", "usual"},
		"steep by the roof":    {func(f *models.RoofFile) { f.Slopes, f.Roof.Pitch = nil, ptr(units.PitchIn12(12)) }, "pitch", "steep"},
		"no pitch":             {func(f *models.RoofFile) { f.Slopes = nil }, "pitch", ""},
		"no valley noted":      {nil, "drainage", ""},
		"a dead valley":        {func(f *models.RoofFile) { f.Details = []models.Detail{{Kind: "dead_valley"}} }, "drainage", "gathers"},
		"three slopes":         {func(f *models.RoofFile) { f.Details = []models.Detail{{Kind: "valley", Drains: ptr(3)}} }, "drainage", "gathers"},
		"two slopes":           {func(f *models.RoofFile) { f.Details = []models.Detail{{Kind: "valley", Drains: ptr(2)}} }, "drainage", "sheds"},
		"gone by now": {func(f *models.RoofFile) {
			f.Details = []models.Detail{{Kind: "dead_valley", EndedOn: day("2020-01-01")}}
		}, "drainage", ""},
		"a short lap":            {func(f *models.RoofFile) { f.Details = []models.Detail{{Kind: "penetration", Lap: ptr(0.4)}} }, "laps", "short"},
		"a lap found short":      {with(at(1, "2024-06-10", "walked", seen("lap_short", 3))), "laps", "short"},
		"a lap put right":        {with(at(1, "2023-06-10", "walked", seen("lap_short", 3)), at(2, "2024-06-10", "walked", looked("lap_short"))), "laps", "right"},
		"high nails":             {with(at(1, "2024-06-10", "walked", seen("high_nails", 2))), "nailing", "wrong"},
		"one slip":               {with(at(1, "2024-06-10", "walked", seen("high_nails", 1))), "nailing", "right"},
		"nobody looked":          {with(at(1, "2024-06-10", "street", looked("curling"))), "nailing", ""},
		"a reused flashing":      {func(f *models.RoofFile) { f.Details = []models.Detail{{Kind: "chimney", Form: "reused"}} }, "flashings", "reused"},
		"frost":                  {func(f *models.RoofFile) { f.Attics[0].FrostSeen = ptr(true) }, "damp from below", "frost"},
		"a duct that ends there": {func(f *models.RoofFile) { f.Attics[0].Ducts = "ends_in_attic" }, "damp from below", "damp"},
		"tight":                  {func(f *models.RoofFile) { f.Attics[0].AirLeaks, f.Attics[0].Ducts = "few", "none" }, "damp from below", "dry"},
		"no storm is kept":       {nil, "hail", ""},
		"large hail":             {hailAt("2024-06-10", 2), "hail", "past"},
		"small hail":             {hailAt("2024-06-10", 0.5), "hail", "none"},
		"before it was laid":     {hailAt("2018-06-10", 2), "hail", "none"},
		"felt for since":         {both(hailAt("2024-06-10", 2), with(at(1, "2024-07-10", "walked", seen("hail_bruises", 2)))), "hail", "none"},
		"felt for before":        {both(hailAt("2024-06-10", 2), with(at(1, "2023-07-10", "walked", looked("hail_bruises")))), "hail", "past"},
		"trees":                  {func(f *models.RoofFile) { f.House.Trees = ptr(true) }, "trees", "over"},
		"nobody came":            {nil, "walked on", ""},
		"one walk":               {with(at(1, "2024-06-10", "walked")), "walked on", "seldom"},
		"three walks a year": {func(f *models.RoofFile) {
			for i := range int64(15) {
				f.Visits = append(f.Visits, models.Visit{Row: models.Row{ID: i + 1}, DoneOn: day("2026-06-01").AddDays(-120 * int(i)), Method: "walked"})
			}
		}, "walked on", "often"},
		"gutters not known":  {nil, "gutters", ""},
		"gutters each year":  {gutters("2023-08-01", "2024-08-01", "2025-08-01"), "gutters", "kept"},
		"a year left out":    {gutters("2023-08-01", "2025-08-01"), "gutters", "lapsed"},
		"gutters found full": {both(gutters("2023-08-01", "2024-08-01", "2025-08-01"), with(at(1, "2026-04-10", "ladder", seen("gutter_debris", 3)))), "gutters", "filled"},
		"moss in cushions":   {with(at(1, "2024-06-10", "street", seen("moss", 2))), "moss", "grown"},
		"moss taken off":     {with(at(1, "2024-06-10", "street", seen("moss", 2)), at(2, "2025-06-10", "street", looked("moss"))), "moss", "none"},
	} {
		f := file()
		if c.change != nil {
			c.change(&f)
		}
		want, err := lifespan.Of(c.factor, c.state)
		if err != nil {
			t.Fatal(err)
		}
		if got := factorOf(t, f, c.factor); got != want {
			t.Errorf("%s: %+v, want %+v", name, got, want)
		}
	}
}

// A finding is a factor or part of the reading, assigned once: for each defect
// of the catalogue, seeing it badly moves one of the two and never both. What
// speaks of flashings and gutters alone moves neither.
func TestNoFindingCountsTwice(t *testing.T) {
	for key := range countsAs {
		if !slices.ContainsFunc(wear.Catalogue(), func(d wear.Defect) bool { return d.Key == key }) {
			t.Errorf("%s is not in the catalogue", key)
		}
	}
	today := day("2026-06-10")
	life := func(f models.RoofFile) lifespan.Input {
		looks, err := Looks(&f)
		if err != nil {
			t.Fatal(err)
		}
		in, err := Lifespan(&f, nil, looks, nil, &branch, today)
		if err != nil {
			t.Fatal(err)
		}
		return in
	}
	mids := func(in lifespan.Input) (out float64) {
		for _, f := range in.Factors {
			out += math.Log(f.Mid)
		}
		return out
	}
	for _, d := range wear.Catalogue() {
		f := file()
		f.Covering = &models.Covering{Family: "unknown"}
		f.Storms = nil
		// Looked at before, so that only how bad it is differs.
		full := func(mark models.Finding) models.RoofFile {
			g := f
			g.Findings = map[int64][]models.Finding{}
			all := []models.Finding{}
			for _, other := range wear.Catalogue() {
				if other.Key != d.Key {
					all = append(all, looked(other.Key))
				}
			}
			with(at(1, "2024-06-10", "walked", append(all, mark)...))(&g)
			return g
		}
		good, bad := life(full(looked(d.Key))), life(full(seen(d.Key, 3)))
		factor := mids(good) != mids(bad)
		reading := !reflect.DeepEqual(good.Readings, bad.Readings)
		switch as := countsAs[d.Key]; {
		case as == "" && (factor || !reading || d.Part != wear.Covering):
			t.Errorf("%s: factor %v, reading %v, of the %s; it should be in the reading alone", d.Key, factor, reading, d.Part)
		case as == countsApart && (factor || reading):
			t.Errorf("%s: factor %v, reading %v; it should be neither", d.Key, factor, reading)
		case as != "" && as != countsApart && (!factor || reading):
			t.Errorf("%s: factor %v, reading %v; it should be a factor alone", d.Key, factor, reading)
		}
		if as := countsAs[d.Key]; as != "" && as != countsApart {
			if _, err := lifespan.Of(as, ""); err != nil {
				t.Errorf("%s counts as %v", d.Key, err)
			}
		}
	}
}

// All seven classes of ISO 15686-8 are there, and a roof of which nothing is
// known has the widest factors of all.
func TestEveryClassHasAFactor(t *testing.T) {
	f := file()
	bare := models.RoofFile{Roof: f.Roof, House: models.House{Row: models.Row{ID: 3}}, Findings: map[int64][]models.Finding{}}
	all, err := factors(&bare, nil, nil, &branch, day("2026-06-10"))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range lifespan.Classes() {
		if !slices.ContainsFunc(all, func(x lifespan.Factor) bool { return x.Class == c }) {
			t.Errorf("nothing of the class %s", c)
		}
	}
	known, err := factors(&f, nil, nil, &branch, day("2026-06-10"))
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range known {
		for _, u := range all {
			if u.Name == k.Name && u.High/u.Low < k.High/k.Low-1e-9 {
				t.Errorf("%s: known %+v is wider than unknown %+v", k.Name, k, u)
			}
		}
	}
	place := branch
	place.ClimateStation = "nowhere"
	if _, err := factors(&f, nil, nil, &place, day("2026-06-10")); err == nil {
		t.Error("a climate that is not there was taken")
	}
}

// A place's climate is the same for all its roofs, cooler places last longer, and
// what nobody chose is not known.
func TestClimateOfThePlace(t *testing.T) {
	f := file()
	at := func(station, family string) lifespan.Factor {
		t.Helper()
		place := branch
		place.ClimateStation = station
		f.Covering = &models.Covering{Family: family}
		all, err := factors(&f, nil, nil, &place, day("2026-06-10"))
		if err != nil {
			t.Fatal(err)
		}
		return all[slices.IndexFunc(all, func(x lifespan.Factor) bool { return x.Name == "sun and heat" })]
	}
	last := 0.0
	for _, station := range []string{"minneapolis", "burlington", "duluth", "anchorage"} {
		x := at(station, "asphalt_laminated")
		if x.Mid <= max(last, 1) || x.Mid > 1.17 || x.NotKnown || x.Class != lifespan.Outdoor {
			t.Errorf("%s: %+v after %v", station, x, last)
		}
		if again := at(station, "asphalt_laminated"); again != x {
			t.Errorf("%s: %+v and then %+v", station, x, again)
		}
		if tile := at(station, "tile"); math.Abs(tile.Mid*tile.Mid-x.Mid) > 1e-9 {
			t.Errorf("%s: tile %+v beside asphalt %+v", station, tile, x)
		}
		last = x.Mid
	}
	for family, bitumen := range map[string]bool{wear.Unknown: true, wear.LowSlopeMembrane: true, "asphalt_strip": true, "metal": false, "wood_shake": false} {
		want := last
		if !bitumen {
			want = math.Sqrt(last)
		}
		if x := at("anchorage", family); math.Abs(x.Mid-want) > 1e-9 {
			t.Errorf("%q: %+v, want %v", family, x, want)
		}
	}
	if x := at("", "asphalt_laminated"); !x.NotKnown {
		t.Errorf("no climate: %+v", x)
	}
	// Another roof's vents, direction and colour have their own factors.
	before := at("duluth", "asphalt_laminated")
	f.Roof.Colour, f.Vents, f.Slopes = "Black", nil, f.Slopes[:1]
	f.Slopes[0].Facing = ptr(180.0)
	if x := at("duluth", "asphalt_laminated"); x != before {
		t.Errorf("of another roof %+v, want %+v", x, before)
	}
}

// What is ahead of a worn roof: a fan that falls through its readings' ages, a
// walk that is worth more than a look from the street, and something to gain by
// what is not right, but nothing by what is.
func TestLookAhead(t *testing.T) {
	f := file()
	f.Roof.Laid.On = day("2008-06-10")
	with(at(1, "2024-06-10", "walked", seen("granule_loss", 1), looked("curling"), looked("cracking"), seen("gutter_debris", 3)))(&f)
	f.Vents = nil
	checks, err := CheckVenting(&f, &branch)
	if err != nil {
		t.Fatal(err)
	}
	var e lifespan.Estimator
	life, err := EstimateLife(&e, &f, checks, nil, nil, &branch, day("2026-06-10"))
	if err != nil {
		t.Fatal(err)
	}
	ahead, err := life.LookAhead()
	if err != nil {
		t.Fatal(err)
	}
	fan := ahead.Fan
	if last := fan.Ages[len(fan.Ages)-1]; len(fan.Ages) < 20 || last.AgeYears < life.Result.WornOutAge.High || last.Middle > fan.Line || len(fan.Readings) != 1 {
		t.Errorf("the fan: %+v", fan)
	}
	if len(ahead.Looks) != 2 || ahead.Looks[1].Worth.Narrowing <= ahead.Looks[0].Worth.Narrowing || ahead.Looks[1].Worth.WidthAfter >= ahead.Looks[1].Worth.WidthNow {
		t.Errorf("looks: %+v", ahead.Looks)
	}
	gains := map[string]lifespan.Range{}
	for _, g := range ahead.Gains {
		gains[g.Name] = g.Years
	}
	if g := gains[gutterCare]; len(gains) != 2 || !(g.Low < g.Middle && g.Middle > 0 && g.Middle < g.High && g.Middle < 2) {
		t.Errorf("gains: %+v", ahead.Gains)
	}
	gutters("2023-08-01", "2024-08-01", "2025-08-01")(&f)
	f.Findings[1] = f.Findings[1][:3]
	life, err = EstimateLife(&e, &f, checks, nil, nil, &branch, day("2026-06-10"))
	if err != nil {
		t.Fatal(err)
	}
	if ahead, err = life.LookAhead(); err != nil || len(ahead.Gains) != 1 || ahead.Gains[0].Name != vents {
		t.Errorf("gains with kept gutters: %+v, %v", ahead, err)
	}
}
