package portfolio

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/lifespan"
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
		{"a slope of another roof of the house", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", on(9, garage)))}, nil},
		{"a slope of another roof, beside ours", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", seen("granule_loss", 1), on(9, garage)))}, []string{""}},
		{"a slope that was taken away since", []func(*models.RoofFile){with(at(1, "2024-06-10", "walked", on(1, seen("granule_loss", 2)), on(2, seen("granule_loss", 1)))),
			func(f *models.RoofFile) { f.Slopes[1].EndedOn = day("2025-01-01") }}, []string{"1"}},
	} {
		f := file()
		for _, change := range c.with {
			change(&f)
		}
		looks, err := Looks(&f)
		if err != nil {
			t.Fatal(c.name, err)
		}
		in, err := Lifespan(&f, nil, looks, nil, &branch, day("2026-06-10"))
		if err != nil {
			t.Fatal(c.name, err)
		}
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
