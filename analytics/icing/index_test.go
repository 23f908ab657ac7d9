package icing

import (
	"math"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/units"

	"pgregory.net/rapid"
)

// plain is an eave of which everything is known and nothing raises the index.
func plain(melt, cold float64) IndexInput {
	no := v(false)
	return IndexInput{
		Winter: &Winter{Melt: v(melt), MeltCold: v(cold)}, HeatedSlopeM: v(5.0), OverhangMm: v(300.0), RiseIn12: v(6.0), FacingDeg: v(90.0),
		ValleyToShortEave: no, DeadValley: no, Saddle: no, DuctsEndInAttic: no, PastLeaks: no, RecessedLights: no, KneeWalls: no, Skylights: no,
	}
}

// tester is a test of either kind.
type tester interface {
	Helper()
	Fatal(args ...any)
}

func index(t tester, in IndexInput) IndexResult {
	t.Helper()
	r, err := Index(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The scale is our judgement: 50 kg of cold melt a metre of eave is 50 points,
// melt in milder air counts a tenth.
func TestPhysics(t *testing.T) {
	for _, c := range []struct {
		melt, cold float64
		want       int
		word       string
	}{
		{0, 0, 0, "low"},
		{10, 10, 50, "high"},
		{10, 0, 9, "low"},        // 5/(5+50)
		{2.5, 2.5, 20, "raised"}, // 12.5/62.5
		{40, 30, 76, "severe"},   // 155/205
	} {
		r := index(t, plain(c.melt, c.cold))
		if *r.Index != c.want || r.Least != c.want || r.Most != c.want || r.Word != c.word || *r.Physics.Points != c.want || len(r.Judgement) != 0 || r.Measure != nil {
			t.Errorf("%v kg/m² of melt, %v of it cold: %s (%d to %d)", c.melt, c.cold, r.Says, r.Least, r.Most)
		}
		if (r.Word == "low") != (r.Remedies == nil) {
			t.Errorf("%s: remedies %v", r.Word, r.Remedies)
		}
	}
}

func TestJudgementIsToldApart(t *testing.T) {
	in := plain(10, 10)
	in.DeadValley, in.PastLeaks, in.OverhangMm = v(true), v(true), v(900.0)
	r := index(t, in)
	// 50 kg/m × 1.3 × 1.5 × 1.3 = 126.75: 126.75/176.75 is 72
	if *r.Index != 72 || *r.Physics.Points != 50 || len(r.Judgement) != 3 || r.Word != "severe" {
		t.Fatalf("%s", r.Says)
	}
	for _, s := range r.Judgement {
		if s.Why == "" || *s.Points <= 0 || s.There != Yes {
			t.Errorf("%+v", s)
		}
	}
	// Equal factors get equal points to a rounding, wherever they stand.
	if a, b := *r.Judgement[0].Points, *r.Judgement[2].Points; a-b > 1 || b-a > 1 {
		t.Errorf("a wide overhang gets %d points and past leaks %d, of the same size", a, b)
	}
	in.Saddle = v(true)
	if with := index(t, in); *with.Index >= *r.Index {
		t.Errorf("a saddle in the dead valley leaves %d of %d", *with.Index, *r.Index)
	}
}

func TestRemediesInOrder(t *testing.T) {
	in := plain(20, 15)
	in.DuctsEndInAttic, in.DeadValley = v(true), v(true)
	in.WinterSealed = &Winter{Melt: v(8.0), MeltCold: v(6.0)}
	in.WinterInsulated = &Winter{Melt: v(10.0), MeltCold: v(8.0)}
	r := index(t, in)
	var keys []string
	for _, m := range r.Remedies {
		keys = append(keys, m.Key)
	}
	if want := []string{"air_sealing", "ducts_outdoors", "insulation", "ventilation", "saddle", "membrane", "heat_cables"}; !slices.Equal(keys, want) {
		t.Errorf("got %v, want %v", keys, want)
	}
	for i, m := range r.Remedies {
		known := slices.Contains([]string{"air_sealing", "ducts_outdoors", "insulation", "saddle"}, m.Key)
		if known != (m.Index != nil) || m.Index != nil && *m.Index >= *r.Index {
			t.Errorf("%s: index after %v", m.Key, m.Index)
		}
		if m.Cures {
			t.Errorf("%d: %s is said to cure", i, m.Key)
		}
	}
	if last := r.Remedies[len(r.Remedies)-1].Says; !strings.Contains(last, "licensed electrician") || !strings.Contains(last, "stop-gap") {
		t.Error(last)
	}
}

func TestUnknownIsARange(t *testing.T) {
	r := index(t, IndexInput{})
	if r.Index != nil || r.Least != 0 || r.Most != 100 || r.Word != NoWord || r.Measure[0] != "heated_slope_ft" && r.Measure[0] != "winter.melt_kg_m2" {
		t.Errorf("%s, measure %v", r.Says, r.Measure)
	}
	// Melt is known and nothing else.
	r = index(t, IndexInput{Winter: &Winter{Melt: v(10.0), MeltCold: v(10.0)}})
	if *r.Index != 50 || r.Least >= 50 || r.Most <= 70 || len(r.Measure) < 10 || r.Measure[0] != "heated_slope_ft" || r.Measure[1] != "dead_valley" {
		t.Errorf("%s, measure %v", r.Says, r.Measure)
	}
	for _, s := range r.Judgement {
		if s.There != Unknown || *s.Points != 0 {
			t.Errorf("%s is %s with %d points", s.Key, s.There, *s.Points)
		}
	}
	// The bounds of the winter balance become those of the index.
	in := plain(10, 10)
	in.WinterLeast, in.WinterMost = &Winter{Melt: v(5.0), MeltCold: v(5.0)}, &Winter{Melt: v(20.0), MeltCold: v(20.0)}
	if r = index(t, in); r.Least != 33 || r.Most != 67 || *r.Index != 50 { // 25/75, 100/150
		t.Errorf("%d to %d", r.Least, r.Most)
	}
	// Of how much is cold nothing is known: a tenth to all of it counts.
	in = plain(10, 10)
	in.Winter.MeltCold = nil
	if r = index(t, in); r.Least != 9 || r.Most != 50 || !slices.Contains(r.Measure, "winter.melt_cold_kg_m2") {
		t.Errorf("%d to %d, measure %v", r.Least, r.Most, r.Measure)
	}
}

func TestIndexRefuses(t *testing.T) {
	for _, c := range []struct {
		change func(in *IndexInput)
		want   string
	}{
		{func(in *IndexInput) { in.Winter.Melt = v(-1.0) }, "winter.melt_kg_m2: -1 is too small"},
		{func(in *IndexInput) { in.Winter.Melt = v(math.NaN()) }, "winter.melt_kg_m2: must be a number"},
		{func(in *IndexInput) { in.Winter.MeltCold = v(11.0) }, "winter.melt_cold_kg_m2: must not be more"},
		{func(in *IndexInput) { in.Winter.MeltHours, in.Winter.IcingHours = v(3.0), v(4.0) }, "winter.icing_hours: must not be more"},
		{func(in *IndexInput) { in.Winter.MeltHours = v(9000.0) }, "winter.melt_hours: 9000 is too large"},
		{func(in *IndexInput) { in.WinterBalanced = &Winter{Frost: v(-1.0)} }, "winter_balanced.frost_kg_m2: -1 is too small"},
		{func(in *IndexInput) { in.WinterLeast = &Winter{Melt: v(12.0), MeltCold: v(12.0)} }, "winter: its melt must lie between"},
		{func(in *IndexInput) { in.OverhangIn = v(12.0) }, "overhang_mm: give either"},
		{func(in *IndexInput) { in.RiseIn12 = v(40.0) }, "rise_in_12: 40 is too large"},
		{func(in *IndexInput) { in.FacingDeg = v(361.0) }, "facing_deg: 361 is too large"},
		{func(in *IndexInput) { in.HeatedSlopeM = v(0.0) }, "heated_slope_m: 0 is too small"},
		{func(in *IndexInput) { in.Units = "cubits" }, "units: must be"},
	} {
		in := plain(10, 10)
		c.change(&in)
		if _, err := Index(in); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
}

func anyIndex(t *rapid.T) IndexInput {
	flag := func(name string) *bool {
		return rapid.SampledFrom([]*bool{nil, v(true), v(false)}).Draw(t, name)
	}
	maybe := func(name string, lo, hi float64) *float64 {
		if rapid.Bool().Draw(t, name+" known") {
			return v(rapid.Float64Range(lo, hi).Draw(t, name))
		}
		return nil
	}
	in := IndexInput{
		HeatedSlopeM: maybe("slope", 1, 12), OverhangMm: maybe("overhang", 0, 2000), RiseIn12: maybe("rise", 0, 18), FacingDeg: maybe("facing", 0, 360),
		ValleyToShortEave: flag("valley"), DeadValley: flag("dead"), Saddle: flag("saddle"), DuctsEndInAttic: flag("ducts"),
		PastLeaks: flag("leaks"), RecessedLights: flag("lights"), KneeWalls: flag("knee"), Skylights: flag("skylights"),
	}
	melt := rapid.Float64Range(0, 100).Draw(t, "melt")
	in.Winter = &Winter{Melt: &melt, MeltCold: v(melt * rapid.Float64Range(0, 1).Draw(t, "cold"))}
	return in
}

func TestMoreMeltAndOverhangNeverLower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyIndex(t)
		in.OverhangMm = v(rapid.Float64Range(0, 2000).Draw(t, "overhang there"))
		more := in
		switch rapid.IntRange(0, 2).Draw(t, "what grows") {
		case 0:
			more.OverhangMm = v(*in.OverhangMm + rapid.Float64Range(0, 1500).Draw(t, "more"))
		case 1:
			more.Winter = &Winter{Melt: v(*in.Winter.Melt + rapid.Float64Range(0, 50).Draw(t, "more")), MeltCold: in.Winter.MeltCold}
		case 2:
			grown := rapid.Float64Range(0, 50).Draw(t, "more")
			more.Winter = &Winter{Melt: v(*in.Winter.Melt + grown), MeltCold: v(*in.Winter.MeltCold + grown)}
		}
		a, b := index(t, in), index(t, more)
		if *b.Index < *a.Index || b.Least < a.Least || b.Most < a.Most {
			t.Fatalf("%s becomes %s", a.Says, b.Says)
		}
	})
}

func TestPointsAddExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyIndex(t)
		r := index(t, in)
		sum := *r.Physics.Points
		for _, s := range r.Judgement {
			if *s.Points < 0 {
				t.Fatalf("%s takes away", s.Key)
			}
			if s.There == Unknown && *s.Points != 0 {
				t.Fatalf("%s is not known and adds", s.Key)
			}
			sum += *s.Points
		}
		if sum != *r.Index || r.Least > *r.Index || r.Most < *r.Index || r.Most > 100 || r.Least < 0 {
			t.Fatalf("points add to %d, index %d, %d to %d", sum, *r.Index, r.Least, r.Most)
		}
		// What is found out stays within the range.
		for _, p := range []**bool{&in.ValleyToShortEave, &in.DeadValley, &in.Saddle, &in.DuctsEndInAttic, &in.PastLeaks, &in.RecessedLights, &in.KneeWalls, &in.Skylights} {
			if *p == nil {
				*p = v(rapid.Bool().Draw(t, "found"))
			}
		}
		if found := index(t, in); *found.Index < r.Least || *found.Index > r.Most {
			t.Fatalf("found out, %d leaves %d to %d", *found.Index, r.Least, r.Most)
		}
	})
}

func TestEveryFactorCanBeNamed(t *testing.T) {
	for _, f := range Factors() {
		if named[f.Key] == "" || f.Most <= 1 || f.Why == "" {
			t.Errorf("%+v", f)
		}
	}
	for i, c := range Cuts() {
		if wordOf(c.From) != c.Word || i > 0 && wordOf(c.From-1) == c.Word {
			t.Errorf("%+v", c)
		}
	}
	if r := index(t, IndexInput{Winter: &Winter{Melt: v(4.0), MeltCold: v(4.0)}, HeatedSlopeM: v(5.0), Units: units.Metric}); !strings.Contains(r.Says, "20 kg a metre") {
		t.Error(r.Says)
	}
}

func TestPerEave(t *testing.T) {
	for _, c := range []struct {
		kg   float64
		s    units.System
		want string
	}{{0.2, units.Metric, "under 1 kg a metre"}, {0.6, units.Metric, "about 1 kg a metre"}, {0.6, units.US, "under 1 lb a foot"}, {37.2, units.US, "about 25 lb a foot"}} {
		if got := perEave(c.kg, c.s); got != c.want {
			t.Errorf("%v kg a metre is written %q, want %q", c.kg, got, c.want)
		}
	}
}
