package portfolio

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/lifespan"
	"overhang/analytics/units"
	"overhang/analytics/wear"
	"overhang/models"
)

// on puts a finding on a slope.
func on(slope int64, f models.Finding) models.Finding {
	f.SlopeID = &slope
	return f
}

// by says who looked, on all visits of a file.
func by(name string) func(*models.RoofFile) {
	return func(f *models.RoofFile) {
		for i := range f.Visits {
			f.Visits[i].ByName = name
		}
	}
}

// What is read of which slope: a look that told slopes apart gives a reading of
// each and none of the roof, any other one of the roof; slope 1 looks south, 2
// north.
func TestReadingsOfSlopes(t *testing.T) {
	garage := seen("curling", 3)
	for _, c := range []struct {
		name string
		with []func(*models.RoofFile)
		want []string // slope of each reading
	}{
		{"of the roof as a whole", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", seen("granule_loss", 1), looked("curling")))}, []string{""}},
		{"two slopes told apart", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", on(1, seen("granule_loss", 2)), on(2, seen("granule_loss", 1)), looked("curling")))}, []string{"1", "2"}},
		{"one slope and what is true of all", []func(*models.RoofFile){with(at(1, "2024-06-10", "street", on(1, seen("granule_loss", 2)), looked("curling")))}, []string{"1"}},
		{"one look told them apart, another did not", []func(*models.RoofFile){with(at(1, "2022-06-10", "walked", seen("granule_loss", 1))), with(at(2, "2024-06-10", "walked", on(1, seen("granule_loss", 2)), on(2, looked("granule_loss"))))}, []string{"", "1", "2"}},
		{"not looked at the north", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", on(1, seen("granule_loss", 2)), on(2, models.Finding{Defect: "granule_loss", Look: "not_looked"})))}, []string{"1"}},
		{"moss of one slope is a factor and no reading of it", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", seen("granule_loss", 1), on(2, seen("moss", 2))))}, []string{""}},
		{"what its method cannot have seen", []func(*models.RoofFile){with(at(1, "2024-06-10", "street", seen("granule_loss", 1), on(2, seen("popped_nails", 2))))}, []string{""}},
		{"the street side alone", []func(*models.RoofFile){with(sees([]int64{1}, at(1, "2024-06-10", "street", seen("granule_loss", 2), looked("curling"))))}, []string{"1"}},
		{"both sides in sight, as a whole", []func(*models.RoofFile){with(sees([]int64{2, 1}, at(1, "2024-06-10", "street", seen("granule_loss", 2))))}, []string{""}},
		{"a side out of sight that something is written of", []func(*models.RoofFile){with(sees([]int64{1}, at(1, "2024-06-10", "street", on(1, seen("granule_loss", 2)), on(2, seen("granule_loss", 3)))))}, []string{"1"}},
		{"none in sight", []func(*models.RoofFile){with(sees([]int64{}, at(1, "2024-06-10", "street", seen("granule_loss", 2))))}, nil},
		{"another roof of the house in sight", []func(*models.RoofFile){with(sees([]int64{9}, at(1, "2024-06-10", "street", seen("granule_loss", 2))))}, nil},
		{"bad on all, and otherwise on one", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", seen("granule_loss", 3), on(2, seen("granule_loss", 1))))}, []string{"1", "2"}},
		{"a slope that was built after the look", []func(*models.RoofFile){with(sees([]int64{1}, at(1, "2024-06-10", "street", seen("granule_loss", 2)))),
			func(f *models.RoofFile) { f.Slopes[1].InstalledOn = day("2025-01-01") }}, []string{""}},
		{"a slope of another roof of the house", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", on(9, garage)))}, nil},
		{"a slope of another roof, beside ours", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", seen("granule_loss", 1), on(9, garage)))}, []string{""}},
		{"a slope that was taken away since", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", on(1, seen("granule_loss", 2)), on(2, seen("granule_loss", 1)))),
			func(f *models.RoofFile) { f.Slopes[1].EndedOn = day("2025-01-01") }}, []string{"1"}},
	} {
		in := inputWith(t, c.name, c.with...)
		var got []string
		for _, r := range in.Readings {
			got = append(got, r.Slope)
			if !strings.HasSuffix(r.Name, r.Slope) || r.ErrorPoints == nil {
				t.Errorf("%s: reading %+v", c.name, r)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: readings of %q, want %q", c.name, got, c.want)
		}
	}
}

// sees says which slopes were in sight.
func sees(slopes []int64, of func() (models.Visit, []models.Finding)) func() (models.Visit, []models.Finding) {
	return func() (models.Visit, []models.Finding) {
		v, found := of()
		v.InSight = new(models.JSON[int64](slopes))
		return v, found
	}
}

// What was found on the whole roof is rated on each slope that was in sight, but for
// those that have a finding of their own of that defect.
func TestWhatALookRatesSlopeBySlope(t *testing.T) {
	alone := func(severity int) float64 { // a slope that nothing else is the matter with
		r, err := wear.Rate(wear.Input{Covering: "asphalt_strip", Findings: []wear.Finding{{Defect: "granule_loss", Look: "seen", Severity: &severity, Extent: ptr(0.2)}}})
		if err != nil {
			t.Fatal(err)
		}
		return *r.Part(wear.Covering).Rating
	}
	bad, plain, slight := alone(3), alone(2), alone(1)
	const unseen = -1
	for _, c := range []struct {
		name         string
		look         func() (models.Visit, []models.Finding)
		south, north float64 // 0 is not told apart
		aside        int
	}{
		{"on all, nobody said", at(1, "2024-06-10", "street", seen("granule_loss", 2)), 0, 0, 0},
		{"on all, all in sight", sees([]int64{1, 2}, at(1, "2024-06-10", "street", seen("granule_loss", 2))), plain, plain, 0},
		{"on all, one in sight", sees([]int64{1}, at(1, "2024-06-10", "street", seen("granule_loss", 2))), plain, unseen, 0},
		{"better on one", at(1, "2024-06-10", "walked", seen("granule_loss", 3), on(2, seen("granule_loss", 1))), bad, slight, 0},
		{"worse on one", at(1, "2024-06-10", "walked", on(1, seen("granule_loss", 3)), seen("granule_loss", 1)), bad, slight, 0},
		{"none on one", at(1, "2024-06-10", "walked", seen("granule_loss", 3), on(2, looked("granule_loss"))), bad, 100, 0},
		{"not looked at on one is not otherwise", at(1, "2024-06-10", "walked", seen("granule_loss", 2), on(2, models.Finding{Defect: "granule_loss", Look: "not_looked"})), 0, plain, 0},
		{"each has its own", at(1, "2024-06-10", "walked", seen("granule_loss", 3), on(1, seen("granule_loss", 2)), on(2, seen("granule_loss", 1))), plain, slight, 0},
		{"out of sight", sees([]int64{1}, at(1, "2024-06-10", "street", on(1, seen("granule_loss", 1)), on(2, seen("granule_loss", 3)))), slight, unseen, 1},
		{"what this look cannot tell, on all in sight", sees([]int64{1, 2}, at(1, "2024-06-10", "street", seen("granule_loss", 1), seen("popped_nails", 3), on(2, seen("popped_nails", 1)))), slight, slight, 2},
		{"none in sight", sees([]int64{}, at(1, "2024-06-10", "street", seen("granule_loss", 2), looked("curling"))), unseen, unseen, 2},
	} {
		f := file()
		with(c.look)(&f)
		looks, err := Looks(&f)
		if err != nil || len(looks) != 1 {
			t.Fatalf("%s: %+v, %v", c.name, looks, err)
		}
		got := map[string]float64{}
		for _, s := range looks[0].Result.Part(wear.Covering).Slopes {
			got[s.Slope] = unseen
			if s.Rating != nil {
				got[s.Slope] = *s.Rating
			}
		}
		if got["1"] != c.south || got["2"] != c.north || looks[0].Aside != c.aside {
			t.Errorf("%s: south %v, north %v, %d set aside; want %v, %v and %d", c.name, got["1"], got["2"], looks[0].Aside, c.south, c.north, c.aside)
		}
	}
}

// What could not be seen makes a look tell less.
func TestASlopeOutOfSightWidens(t *testing.T) {
	off := func(slopes ...int64) float64 {
		f := file()
		with(sees(slopes, at(1, "2024-06-10", "street", seen("granule_loss", 2), looked("curling"))))(&f)
		looks, err := Looks(&f)
		if err != nil {
			t.Fatal(err)
		}
		return *looks[0].Worn.ErrorPoints
	}
	if all, one := off(1, 2), off(1); !(one > all) {
		t.Errorf("one of two slopes in sight gives or takes %v points, both %v", one, all)
	}
}

// The rating of a slope is of what was found on it and of what was said of all, and
// the worst of them is the rating of the roof.
func TestASlopeIsReadByItsOwn(t *testing.T) {
	f := file()
	with(at(1, "2024-06-10", "walked", on(1, seen("granule_loss", 3)), on(2, looked("granule_loss")), seen("blisters", 1)))(&f)
	looks, err := Looks(&f)
	if err != nil {
		t.Fatal(err)
	}
	in, err := Lifespan(&f, nil, looks, nil, &branch, day("2026-06-10"))
	if err != nil || len(in.Readings) != 2 {
		t.Fatalf("%+v, %v", in.Readings, err)
	}
	south, north := in.Readings[0], in.Readings[1]
	if south.Rating != *looks[0].Worn.Rating || !(south.Rating < north.Rating && north.Rating < 100) {
		t.Errorf("south %v, north %v, the roof %v", south.Rating, north.Rating, *looks[0].Worn.Rating)
	}
}

// Of a roof with more slopes than can be told apart each look reads the worst.
func TestMoreSlopesThanCanBeToldApart(t *testing.T) {
	f := file()
	f.Slopes = nil
	var found []models.Finding
	for i := range int64(lifespan.MostSlopes + 1) {
		f.Slopes = append(f.Slopes, models.Slope{Row: models.Row{ID: i + 1}, Name: fmt.Sprint(i)})
		found = append(found, on(i+1, seen("granule_loss", 1)))
	}
	with(at(1, "2024-06-10", "walked", found...))(&f)
	var e lifespan.Estimator
	life, err := EstimateLife(&e, &f, nil, nil, nil, &branch, day("2026-06-10"))
	if err != nil || len(life.Input.Readings) != 1 || life.Input.Readings[0].Slope != "" {
		t.Errorf("%+v, %v", life, err)
	}
}

// A slope that was built after the roof was laid was covered then, and not before;
// one that was always there, or is gone, was not relaid.
func TestSlopesBuiltLater(t *testing.T) {
	for _, c := range []struct {
		name, built, taken string
		want               float64 // years ago, 0 is none
	}{
		{"with the roof", "2019-06-10", "", 0},
		{"before it", "1987-05-01", "", 0},
		{"not known when", "", "", 0},
		{"three years ago", "2023-06-10", "", 3},
		{"and taken away again", "2023-06-10", "2025-01-01", 0},
		{"to come", "2026-07-01", "", 0},
	} {
		f := file()
		if c.built != "" {
			f.Slopes[1].InstalledOn = day(c.built)
		}
		if c.taken != "" {
			f.Slopes[1].EndedOn = day(c.taken)
		}
		in, err := Lifespan(&f, nil, nil, nil, &branch, day("2026-06-10"))
		if err != nil || (len(in.Repairs) == 1) != (c.want > 0) {
			t.Errorf("%s: %+v, %v", c.name, in.Repairs, err)
			continue
		}
		if c.want > 0 && (math.Abs(in.Repairs[0].YearsAgo-c.want) > 0.01 || in.Repairs[0].Share != 1 || in.Repairs[0].Slope != "2") {
			t.Errorf("%s: %+v", c.name, in.Repairs)
		}
	}
}

// Between which looks a roof that came off worn out was so. The looks that bound
// its end are no readings, any other is.
func TestEndFromRecords(t *testing.T) {
	some := []models.Finding{seen("granule_loss", 1), looked("curling"), looked("cracking"), looked("missing_shingles"), looked("lifted_tabs"), looked("blisters")}
	gone := []models.Finding{}
	for _, defect := range []string{"granule_loss", "curling", "cracking", "missing_shingles", "lifted_tabs", "blisters", "clawing"} {
		gone = append(gone, models.Finding{Defect: defect, Look: "seen", Severity: ptr(3), Extent: ptr(0.9)})
	}
	none := math.Inf(1)
	for _, c := range []struct {
		name     string
		reason   string
		with     []func(*models.RoofFile)
		from, to float64 // years before its end; from none: no look, to none: no end between looks
		readings int
	}{
		{"a storm took it", "storm", []func(*models.RoofFile){with(at(1, "2021-06-10", "walked", some...))}, none, none, 1},
		{"nobody knows why", "unknown", nil, none, none, 0},
		{"worn out, never looked at", "worn_out", nil, none, 0, 0},
		{"serviceable two years before", "worn_out", []func(*models.RoofFile){with(at(1, "2020-06-10", "walked", some...)), with(at(2, "2024-06-10", "walked", some...))}, 2, 0, 1},
		{"found worn a year before it came off", "worn_out", []func(*models.RoofFile){with(at(1, "2021-06-10", "walked", some...)), with(at(2, "2025-06-10", "walked", gone...))}, 5, 1, 0},
		{"found worn, then serviceable", "worn_out", []func(*models.RoofFile){with(at(1, "2022-06-10", "walked", gone...)), with(at(2, "2023-06-10", "walked", some...))}, 3, 0, 1},
		{"a look for hail alone bounds nothing", "worn_out", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", looked("hail_bruises")))}, none, 0, 1},
	} {
		f := file()
		for _, change := range c.with {
			change(&f)
		}
		by("A. Person")(&f)
		f.Roof.EndedOn, f.Roof.EndReason = day("2026-06-10"), c.reason
		var e lifespan.Estimator
		life, err := EstimateLife(&e, &f, nil, nil, nil, &branch, day("2030-01-01"), 1)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		in := life.Input
		if math.Abs(*in.LatestAgeYears-7) > 0.01 || len(in.Readings) != c.readings || (in.WornBetween == nil) != math.IsInf(c.to, 1) {
			t.Errorf("%s: %v years old, readings %+v, worn between %+v", c.name, *in.LatestAgeYears, in.Readings, in.WornBetween)
			continue
		}
		if in.WornBetween == nil {
			continue
		}
		from := none
		if in.WornBetween.FromYearsAgo != nil {
			from = *in.WornBetween.FromYearsAgo
		}
		if (math.Abs(from-c.from) > 0.01 && from != c.from) || math.Abs(*in.WornBetween.ToYearsAgo-c.to) > 0.01 {
			t.Errorf("%s: from %v to %v years before its end", c.name, from, *in.WornBetween.ToYearsAgo)
		}
		if w := life.Result.WornOutAge; life.Result.ChancePast < 1-1e-9 || w.High > 7-c.to+0.01 || (!math.IsInf(from, 1) && w.Low < 7-from-0.01) {
			t.Errorf("%s: worn out at %+v", c.name, w)
		}
		if !slices.ContainsFunc(life.Result.Reasons, func(r lifespan.Reason) bool { return r.Name == "found worn out" }) {
			t.Errorf("%s: the reasons do not say so", c.name)
		}
	}
}

// On a past day only what was known then is told: neither slopes read nor built
// later, nor the end.
func TestThePastKnowsNoSlopesOfLater(t *testing.T) {
	f := file()
	with(at(1, "2021-05-01", "walked", seen("granule_loss", 1)))(&f)
	with(at(2, "2024-05-01", "walked", on(1, seen("granule_loss", 3)), on(2, seen("granule_loss", 1))))(&f)
	f.Slopes = append(f.Slopes, models.Slope{Row: models.Row{ID: 3}, Name: "porch", InstalledOn: day("2023-01-01")})
	f.Roof.EndedOn, f.Roof.EndReason = day("2026-01-01"), "worn_out"
	input := func(before string) lifespan.Input {
		known, lay := KnownBefore(&f, day(before))
		if !lay {
			t.Fatalf("it did not lie before %s", before)
		}
		looks, err := Looks(known)
		if err != nil {
			t.Fatal(err)
		}
		in, err := Lifespan(known, nil, looks, nil, &branch, day(before))
		if err != nil {
			t.Fatal(err)
		}
		return in
	}
	if in := input("2022-05-01"); len(in.Readings) != 1 || in.Readings[0].Slope != "" || in.Repairs != nil || in.WornBetween != nil {
		t.Errorf("before the slopes were told apart: %+v", in)
	}
	if in := input("2024-06-01"); len(in.Readings) != 3 || len(in.Repairs) != 1 || in.WornBetween != nil {
		t.Errorf("after it: readings %+v, repairs %+v, worn between %+v", in.Readings, in.Repairs, in.WornBetween)
	}
}

// relaidBy adds a callback whose repair laid anew what it says, on roof 7.
func relaidBy(on, kind string, slope int64, area units.Area) func(*models.RoofFile) {
	return func(f *models.RoofFile) {
		c := models.Callback{RoofID: ptr[int64](7), LearnedOn: day(on), RepairedOn: day(on), State: "closed", ClosedOn: day(on), Relaid: kind}
		if slope != 0 {
			c.RelaidSlopeID = &slope
		}
		if area != 0 {
			c.RelaidArea = &area
		}
		f.Callbacks = append(f.Callbacks, c)
	}
}

// What a callback's repair laid anew: a share of the slope where looks tell slopes
// apart, and of the roof where they do not.
func TestRepairsOfCallbacks(t *testing.T) {
	south := *slopeArea(&file().Slopes[0])
	north := *slopeArea(&file().Slopes[1])
	apart := with(at(1, "2024-06-10", "walked", on(1, seen("granule_loss", 2)), on(2, seen("granule_loss", 1))))
	together := with(at(1, "2024-06-10", "walked", seen("granule_loss", 2)))
	unmeasured := func(f *models.RoofFile) { f.Slopes[0].Area = nil }
	for _, c := range []struct {
		name string
		with []func(*models.RoofFile)
		want []lifespan.Repair
	}{
		{"nothing", []func(*models.RoofFile){relaidBy("2023-06-10", "", 0, 0)}, nil},
		{"a part, nobody knows where", []func(*models.RoofFile){relaidBy("2023-06-10", "part", 0, (south+north)/5)}, []lifespan.Repair{{YearsAgo: 3, Share: 0.2}}},
		{"the same of a roof whose slopes are told apart", []func(*models.RoofFile){apart, relaidBy("2023-06-10", "part", 0, (south+north)/5)}, []lifespan.Repair{{YearsAgo: 3, Share: 0.2}}},
		{"a whole slope", []func(*models.RoofFile){together, relaidBy("2023-06-10", "whole_slope", 1, 0)}, []lifespan.Repair{{YearsAgo: 3, Share: float64(south / (south + north))}}},
		{"a whole slope twice", []func(*models.RoofFile){together, relaidBy("2021-06-10", "whole_slope", 1, 0), relaidBy("2023-06-10", "whole_slope", 1, 0)},
			[]lifespan.Repair{{YearsAgo: 3, Share: float64(south / (south + north))}}},
		{"a part and then the whole of its slope", []func(*models.RoofFile){together, relaidBy("2021-06-10", "part", 1, south/4), relaidBy("2023-06-10", "whole_slope", 1, 0)},
			[]lifespan.Repair{{YearsAgo: 3, Share: float64(south / (south + north))}}},
		{"the whole of a slope and then a part", []func(*models.RoofFile){together, relaidBy("2021-06-10", "whole_slope", 1, 0), relaidBy("2023-06-10", "part", 2, north/2)},
			[]lifespan.Repair{{YearsAgo: 5, Share: float64(south / (south + north))}, {YearsAgo: 3, Share: float64(north / 2 / (south + north))}}},
		{"a part of a slope", []func(*models.RoofFile){relaidBy("2023-06-10", "part", 1, south/4)}, []lifespan.Repair{{YearsAgo: 3, Share: float64(south / 4 / (south + north))}}},
		{"a whole slope that is told apart", []func(*models.RoofFile){apart, relaidBy("2023-06-10", "whole_slope", 1, 0)}, []lifespan.Repair{{YearsAgo: 3, Share: 1, Slope: "1"}}},
		{"a part of it", []func(*models.RoofFile){apart, relaidBy("2023-06-10", "part", 1, south/4)}, []lifespan.Repair{{YearsAgo: 3, Share: 0.25, Slope: "1"}}},
		{"more than there is of it", []func(*models.RoofFile){apart, relaidBy("2023-06-10", "part", 1, 2*south)}, []lifespan.Repair{{YearsAgo: 3, Share: 1, Slope: "1"}}},
		{"two parts", []func(*models.RoofFile){apart, relaidBy("2021-06-10", "part", 1, south/4), relaidBy("2023-06-10", "part", 2, north/2)},
			[]lifespan.Repair{{YearsAgo: 5, Share: 0.25, Slope: "1"}, {YearsAgo: 3, Share: 0.5, Slope: "2"}}},
		{"each slope whole", []func(*models.RoofFile){apart, relaidBy("2021-06-10", "whole_slope", 1, 0), relaidBy("2023-06-10", "whole_slope", 2, 0)},
			[]lifespan.Repair{{YearsAgo: 5, Share: 1, Slope: "1"}, {YearsAgo: 3, Share: 1, Slope: "2"}, {YearsAgo: 5, Share: 1}}},
		{"the only slope", []func(*models.RoofFile){relaidBy("2023-06-10", "whole_slope", 1, 0), func(f *models.RoofFile) { f.Slopes = f.Slopes[:1] }}, []lifespan.Repair{{YearsAgo: 3, Share: 1}}},
		{"a part of a slope that nobody measured", []func(*models.RoofFile){unmeasured, relaidBy("2023-06-10", "part", 1, 2.4*units.Square)}, []lifespan.Repair{{YearsAgo: 3, Share: 0.1}}}, // of 24 squares
		{"and that is told apart", []func(*models.RoofFile){unmeasured, apart, relaidBy("2023-06-10", "part", 1, 2.4*units.Square)}, nil},
		{"all of it", []func(*models.RoofFile){unmeasured, apart, relaidBy("2023-06-10", "whole_slope", 1, 0)}, []lifespan.Repair{{YearsAgo: 3, Share: 1, Slope: "1"}}},
		{"nothing is measured", []func(*models.RoofFile){unmeasured, relaidBy("2023-06-10", "part", 0, units.Square), func(f *models.RoofFile) { f.Roof.Area = nil }}, nil},
		{"a slope that was taken away since", []func(*models.RoofFile){relaidBy("2023-06-10", "whole_slope", 1, 0), func(f *models.RoofFile) { f.Slopes[0].EndedOn = day("2025-01-01") }}, nil},
		{"another roof of the house", []func(*models.RoofFile){relaidBy("2023-06-10", "whole_slope", 1, 0), func(f *models.RoofFile) { f.Callbacks[0].RoofID = ptr[int64](8) }}, nil},
		{"a roof that is not found yet", []func(*models.RoofFile){relaidBy("2023-06-10", "whole_slope", 1, 0), func(f *models.RoofFile) { f.Callbacks[0].RoofID = nil }}, nil},
		{"the roof before", []func(*models.RoofFile){relaidBy("2019-06-01", "whole_slope", 1, 0)}, nil},
		{"to come", []func(*models.RoofFile){relaidBy("2026-06-11", "whole_slope", 1, 0)}, nil},
	} {
		in := inputWith(t, c.name, c.with...)
		if len(in.Repairs) != len(c.want) {
			t.Errorf("%s: %+v", c.name, in.Repairs)
			continue
		}
		for i, want := range c.want {
			if got := in.Repairs[i]; math.Abs(got.YearsAgo-want.YearsAgo) > 0.01 || math.Abs(got.Share-want.Share) > 1e-12 || got.Slope != want.Slope {
				t.Errorf("%s: %+v, want %+v", c.name, got, want)
			}
		}
	}
}

// How an estimate moves with what a repair laid anew. T stays that of the oldest
// part, as lifespan has it, so that a part alone changes nothing but how looks are
// read: one after it saw old and new together, and one before it the old alone.
func TestAnEstimateMovesWithARepair(t *testing.T) {
	estimate := func(changes ...func(*models.RoofFile)) *Life {
		t.Helper()
		f := file()
		f.Roof.Laid.On = day("2006-06-10")
		for _, change := range changes {
			change(&f)
		}
		life, err := EstimateLife(new(lifespan.Estimator), &f, nil, nil, nil, &branch, day("2026-06-10"))
		if err != nil {
			t.Fatal(err)
		}
		return life
	}
	years := func(changes ...func(*models.RoofFile)) float64 {
		t.Helper()
		return estimate(changes...).Result.YearsLeft.Middle
	}
	before := with(at(1, "2022-06-10", "walked", seen("granule_loss", 2), looked("curling"), looked("cracking")))
	after := with(at(2, "2025-06-10", "walked", seen("granule_loss", 2), looked("curling"), looked("cracking")))
	south := with(at(3, "2022-06-10", "walked", on(1, seen("granule_loss", 3)), on(1, seen("curling", 3)), on(2, looked("granule_loss")), on(2, looked("curling"))))
	half := relaidBy("2024-06-10", "whole_slope", 1, 0)
	rest := relaidBy("2024-06-10", "whole_slope", 2, 0)
	const hardly = 1e-6
	if a, b := years(), years(half); math.Abs(a-b) > hardly {
		t.Errorf("half of a roof that nobody looked at: %v years, %v with it laid anew", a, b)
	}
	if a, b := years(before), years(before, half); math.Abs(a-b) > hardly {
		t.Errorf("a look before the repair saw the old alone: %v years, %v with the repair", a, b)
	}
	if a, b := years(after), years(after, half); b >= a-0.2 {
		t.Errorf("after the repair the old half is worse than it looks on the whole: %v years, %v with the repair", a, b)
	}
	if a, b := years(after, half), years(after, relaidBy("2024-06-10", "part", 0, 20*units.SquareFoot)); b <= a+0.1 {
		t.Errorf("of a few shingles less is read than of half a roof: %v years, %v", a, b)
	}
	if a, b := years(before), years(before, half, rest); b < a+5 {
		t.Errorf("a roof that was laid anew whole is new: %v years, %v", a, b)
	}
	if a, b := years(south), years(south, half); b <= a+0.1 {
		t.Errorf("without its worst slope it lasts longer: %v years, %v", a, b)
	}

	f := file()
	mark := func(life *Life) string {
		t.Helper()
		hash, err := life.Hash(&f)
		if err != nil {
			t.Fatal(err)
		}
		return hash
	}
	plain := estimate()
	was := mark(plain)
	seenMarks := map[string]bool{was: true}
	for _, c := range []struct {
		name   string
		change func(*models.RoofFile)
		same   bool
	}{
		{"said to be of no part", relaidBy("2024-06-10", "", 0, 0), true},
		{"a part", relaidBy("2024-06-10", "part", 1, 5), false},
		{"a larger one", func(f *models.RoofFile) { f.Callbacks[1].RelaidArea = ptr(units.Area(6)) }, false},
		{"of a smaller slope", func(f *models.RoofFile) { f.Slopes[0].Area = ptr(units.Area(60)) }, false},
		{"on another day", func(f *models.RoofFile) { f.Callbacks[1].RepairedOn = day("2024-06-11") }, false},
		{"of another roof", func(f *models.RoofFile) { f.Callbacks[1].RoofID = nil }, true},
	} {
		c.change(&f)
		if got := mark(plain); (got == was) != c.same || seenMarks[got] != c.same {
			t.Errorf("%s: the mark of the estimate is the same: %v, want %v", c.name, got == was, c.same)
		} else {
			seenMarks[got] = true
		}
	}
}

// Looks that saw old and new together tell nothing of the rating curve.
func TestTheCurveReadsNoRepair(t *testing.T) {
	f := file()
	with(at(1, "2021-06-10", "walked", seen("granule_loss", 1)))(&f)
	with(at(2, "2023-06-10", "walked", seen("granule_loss", 2)))(&f)
	with(at(3, "2025-06-10", "walked", seen("granule_loss", 1)))(&f)
	for _, c := range []struct {
		relaid string
		want   int
	}{{"", 3}, {"2024-06-10", 2}, {"2023-06-10", 2}, {"2023-06-09", 1}, {"2020-06-10", 0}} {
		g := f
		if c.relaid != "" {
			relaidBy(c.relaid, "whole_slope", 1, 0)(&g)
		}
		looks, err := Looks(&g)
		if err != nil {
			t.Fatal(err)
		}
		read := ReadOf(&g, looks)
		in, found := read.before(day("2026-06-10"), 2)
		if len(in.Readings) != c.want || found != (c.want > 0) {
			t.Errorf("laid anew on %q: %d looks are read", c.relaid, len(in.Readings))
		}
	}
}

// inputWith is the estimate's input of the file with some changes.
func inputWith(t *testing.T, name string, changes ...func(*models.RoofFile)) lifespan.Input {
	t.Helper()
	f := file()
	for _, change := range changes {
		change(&f)
	}
	looks, err := Looks(&f)
	if err != nil {
		t.Fatal(name, err)
	}
	in, err := Lifespan(&f, nil, looks, nil, &branch, day("2026-06-10"))
	if err != nil {
		t.Fatal(name, err)
	}
	return in
}
