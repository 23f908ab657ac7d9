package details

import (
	"math"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/units"

	"pgregory.net/rapid"
)

func v[T any](x T) *T { return &x }

// tester is a test of either kind.
type tester interface {
	Helper()
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

func check(t tester, in Input) Result {
	t.Helper()
	r, err := Check(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// one judges one detail and gives the finding of that key.
func one(t tester, in Input, d Detail, key string) Finding {
	t.Helper()
	in.Details = []Detail{d}
	r := check(t, in)
	for _, f := range r.Findings {
		if f.Key == key {
			return f
		}
	}
	t.Fatalf("%s gives no %s but %v", d.Kind, key, r.Findings)
	return Finding{}
}

// Common practice, no source: top and sides under the courses, lower edge on
// top, about two thirds covered; a half or a third is short, a buried lower edge
// fails.
func TestPenetrationLap(t *testing.T) {
	for _, c := range []struct {
		name  string
		d     Detail
		want  Verdict
		short float64 // of the two thirds
	}{
		{"right", Detail{LapShare: v(2.0 / 3), LowerEdgeOnTop: v(true), TopAndSidesUnder: v(true)}, Passes, 0},
		{"about right", Detail{LapShare: v(0.65), LowerEdgeOnTop: v(true)}, Passes, 2.0/3 - 0.65},
		{"half", Detail{LapShare: v(0.5), LowerEdgeOnTop: v(true)}, Fails, 1.0 / 6},
		{"third", Detail{LapShare: v(1.0 / 3), LowerEdgeOnTop: v(true)}, Fails, 1.0 / 3},
		{"half, edge not told", Detail{LapShare: v(0.5)}, Fails, 1.0 / 6},
		{"buried", Detail{LapShare: v(2.0 / 3), LowerEdgeOnTop: v(false)}, Fails, 0},
		{"buried, share not told", Detail{LowerEdgeOnTop: v(false)}, Fails, math.NaN()},
		{"side on top", Detail{LapShare: v(2.0 / 3), LowerEdgeOnTop: v(true), TopAndSidesUnder: v(false)}, Fails, 0},
		{"all covered", Detail{LapShare: v(1.0), LowerEdgeOnTop: v(true)}, NotKnown, -1.0 / 3},
		{"edge not told", Detail{LapShare: v(0.7)}, NotKnown, 2.0/3 - 0.7},
		{"share not told", Detail{LowerEdgeOnTop: v(true)}, NotKnown, math.NaN()},
		{"nothing told", Detail{}, NotKnown, math.NaN()},
		{"old boot", Detail{Form: "reused", LapShare: v(2.0 / 3), LowerEdgeOnTop: v(true)}, Fails, 0},
		{"no flange", Detail{Form: "missing"}, Fails, math.NaN()},
	} {
		c.d.Kind = "penetration"
		f := one(t, Input{}, c.d, "penetration_lap")
		if f.Verdict != c.want || (f.Verdict == NotKnown) != (len(f.Measure) > 0) || (f.Verdict == Passes) != (f.Remedy == "") {
			t.Errorf("%s: %s %s, measure %v", c.name, f.Verdict, f.Says, f.Measure)
		}
		if math.IsNaN(c.short) != (f.MarginShare == nil) || f.MarginShare != nil && math.Abs(*f.MarginShare+c.short) > 1e-9 {
			t.Errorf("%s: margin %v, want %v", c.name, f.MarginShare, -c.short)
		}
	}
}

func TestForms(t *testing.T) {
	for _, c := range []struct {
		name     string
		in       Input
		d        Detail
		key      string
		want     Verdict
		severity Severity
		cites    string
	}{
		// R903.2.1 from memory; above stucco it is grave by our judgement.
		{"kickout", Input{Edition: "irc_2018", WallCladding: "stucco"}, Detail{Kind: "kickout_flashing", Form: "missing"}, "kickout_flashing", Fails, Grave, "IRC 2018, R903.2.1"},
		{"kickout at siding", Input{Edition: "irc_2006", WallCladding: "siding"}, Detail{Kind: "kickout_flashing", Form: "missing"}, "kickout_flashing", Fails, Serious, practice},
		{"kickout not looked at", Input{Edition: "nbc_2015", WallCladding: "stucco"}, Detail{Kind: "kickout_flashing"}, "kickout_flashing", NotKnown, Grave, practice},
		{"kickout there", Input{WallCladding: "stucco"}, Detail{Kind: "kickout_flashing", Form: "new"}, "kickout_flashing", Passes, Serious, "IRC, R903.2.1 (edition not given)"},
		// Common practice, no source: flashing is renewed with the covering.
		{"step reused", Input{Edition: "irc_2018"}, Detail{Kind: "step_flashing", Form: "reused"}, "step_flashing", Fails, Serious, practice},
		{"step missing", Input{Edition: "irc_2018"}, Detail{Kind: "step_flashing", Form: "missing"}, "step_flashing", Fails, Grave, "IRC 2018, R905.2.8.3"},
		{"headwall reused", Input{}, Detail{Kind: "headwall", Form: "reused"}, "headwall_flashing", Fails, Serious, practice},
		{"skylight new", Input{}, Detail{Kind: "skylight", Form: "new"}, "skylight_flashing", Passes, Serious, practice},
		// R905.2.8.5; that it begins with 2012 from memory.
		{"drip edge", Input{Edition: "irc_2012"}, Detail{Kind: "drip_edge", Form: "missing"}, "drip_edge", Fails, Serious, "IRC 2012, R905.2.8.5"},
		{"drip edge before 2012", Input{Edition: "irc_2006"}, Detail{Kind: "drip_edge", Form: "missing"}, "drip_edge", Fails, Serious, practice},
		{"drip edge in Canada", Input{Edition: "obc_2012"}, Detail{Kind: "drip_edge", Form: "missing"}, "drip_edge", Fails, Serious, practice},
		// Poly is named by no text for the eave.
		{"poly", Input{Edition: "irc_2021"}, Detail{Kind: "eave_cover", Form: "poly"}, "eave_cover", Fails, Serious, "IRC 2021, R905.1.2"},
		{"poly in Canada", Input{Edition: "nbc_2015"}, Detail{Kind: "eave_cover", Form: "poly"}, "eave_cover", Fails, Serious, "NBC 2015, 9.26.5.2."},
		{"membrane", Input{Edition: "irc_2006"}, Detail{Kind: "eave_cover", Form: "membrane"}, "eave_cover", Passes, Serious, "IRC 2006, R905.2.7.1"},
		// Common practice, no source: interlocking shingles are never woven.
		{"woven interlocking", Input{Covering: "asphalt_interlocking"}, Detail{Kind: "valley", Form: "woven"}, "valley_form", Fails, Grave, practice},
		{"cut interlocking", Input{Covering: "asphalt_interlocking"}, Detail{Kind: "valley", Form: "closed_cut"}, "valley_form", NotKnown, Serious, practice},
		{"open interlocking", Input{Covering: "asphalt_interlocking"}, Detail{Kind: "valley", Form: "open_metal"}, "valley_form", Passes, Serious, practice},
		{"woven strip", Input{Covering: "asphalt_strip"}, Detail{Kind: "valley", Form: "woven"}, "valley_form", Passes, Serious, practice},
		{"woven laminated", Input{Covering: "asphalt_laminated"}, Detail{Kind: "valley", Form: "woven"}, "valley_form", NotKnown, Serious, practice},
		{"woven wood", Input{Covering: "wood_shake"}, Detail{Kind: "valley", Form: "woven"}, "valley_form", Fails, Serious, practice},
		{"woven, covering not told", Input{Covering: "unknown"}, Detail{Kind: "valley", Form: "woven"}, "valley_form", NotKnown, Serious, practice},
		// Our judgement.
		{"three slopes", Input{}, Detail{Kind: "valley", Drains: v(3)}, "valley_burdened", Fails, Serious, practice},
		{"two slopes", Input{}, Detail{Kind: "valley", Drains: v(2)}, "valley_burdened", Passes, Serious, practice},
		{"dead valley", Input{}, Detail{Kind: "dead_valley", Saddle: v(false)}, "dead_valley_saddle", Fails, Grave, practice},
		{"dead valley with saddle", Input{}, Detail{Kind: "dead_valley", Saddle: v(true)}, "dead_valley_saddle", Passes, Grave, practice},
		{"dead valley not looked at", Input{}, Detail{Kind: "dead_valley"}, "dead_valley_saddle", NotKnown, Grave, practice},
	} {
		f := one(t, c.in, c.d, c.key)
		if f.Verdict != c.want || f.Severity != c.severity || f.Cites != c.cites || f.Source == "" || f.Why == "" {
			t.Errorf("%s: %s, severity %d, %s (%s): %s", c.name, f.Verdict, f.Severity, f.Cites, f.Source, f.Says)
		}
		if f.Verdict == Fails && (f.Remedy == "" || f.Caution == "") {
			t.Errorf("%s: no remedy or caution", c.name)
		}
	}
}

func TestSizes(t *testing.T) {
	for _, c := range []struct {
		d      Detail
		in     string
		key    string
		want   Verdict
		margin float64 // in
	}{
		// IRC R905.2.8.3, a city's copy: 4 by 4 in.
		{Detail{Kind: "step_flashing", WallLegIn: v(4.0)}, "irc_2012", "step_flashing_wall_leg", Passes, 0},
		{Detail{Kind: "step_flashing", RoofLegIn: v(3.0)}, "irc_2012", "step_flashing_roof_leg", Fails, -1},
		// IRC R905.2.8.5, second-hand.
		{Detail{Kind: "drip_edge", LapIn: v(1.0)}, "irc_2012", "drip_edge_lap", Fails, -1},
		{Detail{Kind: "drip_edge", BelowDeckIn: v(0.25)}, "irc_2012", "drip_edge_below_deck", Passes, 0},
		{Detail{Kind: "drip_edge", OntoDeckMm: v(51.0)}, "irc_2012", "drip_edge_onto_deck", Passes, 0.2 / 25.4},
		{Detail{Kind: "drip_edge", SpacingIn: v(16.0)}, "irc_2012", "drip_edge_fasteners", Fails, -4},
		// IRC R905.2.8.2, a city's copy: open metal 24 in, smooth roll 36 in.
		{Detail{Kind: "valley", Form: "open_metal", WidthIn: v(24.0)}, "irc_2012", "valley_lining", Passes, 0},
		{Detail{Kind: "valley", Form: "open_metal", WidthIn: v(20.0)}, "irc_2012", "valley_lining", Fails, -4},
		{Detail{Kind: "valley", Form: "open_metal", WidthMm: v(600.0)}, "obc_2012", "valley_lining", Passes, 0}, // from memory
		{Detail{Kind: "valley", Form: "woven", Lining: "roll", WidthIn: v(30.0)}, "irc_2012", "valley_lining", Fails, -6},
		{Detail{Kind: "valley", Form: "woven", Lining: "metal", WidthIn: v(30.0)}, "irc_2012", "valley_lining", Passes, 6},
		{Detail{Kind: "valley", Form: "woven", WidthIn: v(30.0)}, "irc_2012", "valley_lining", NotKnown, math.NaN()},
		{Detail{Kind: "valley", Form: "woven", WidthIn: v(20.0)}, "irc_2012", "valley_lining", NotKnown, math.NaN()}, // membrane would do
		{Detail{Kind: "valley", Form: "woven", WidthIn: v(36.0)}, "irc_2012", "valley_lining", Passes, 0},
		{Detail{Kind: "valley", Form: "closed_cut", Lining: "membrane"}, "irc_2012", "valley_lining", Passes, math.NaN()},
		{Detail{Kind: "valley", Form: "closed_cut"}, "irc_2012", "valley_lining", NotKnown, math.NaN()},
		{Detail{Kind: "valley", Form: "open_metal"}, "irc_2012", "valley_lining", NotKnown, math.NaN()},
	} {
		f := one(t, Input{Edition: c.in}, c.d, c.key)
		if f.Verdict != c.want || math.IsNaN(c.margin) != (f.Margin == nil) || f.Margin != nil && math.Abs(f.Margin.In(units.Inch)-c.margin) > 1e-9 {
			t.Errorf("%s, margin %v, want %v: %s", f.Verdict, f.Margin, c.margin, f.Says)
		}
	}
}

func TestSaddles(t *testing.T) {
	for _, c := range []struct {
		name, code string
		d          Detail
		want       Verdict
		height     float64 // in, NaN none
		measure    string
	}{
		// IRC R1003.20 and R903.2.2, second-hand: over 30 in, unless it meets the
		// ridge. 48 in at 6:12 takes 12 in (Table R1003.20, from memory; W/4).
		{"wide chimney", "irc_2018", Detail{Kind: "chimney", WidthIn: v(48.0), Saddle: v(false), MeetsRidge: v(false)}, Fails, 12, ""},
		{"wide chimney, ridge not told", "irc_2018", Detail{Kind: "chimney", WidthIn: v(48.0), Saddle: v(false)}, NotKnown, 12, "meets_ridge"},
		{"wide chimney at the ridge", "irc_2018", Detail{Kind: "chimney", WidthIn: v(48.0), Saddle: v(false), MeetsRidge: v(true)}, Passes, math.NaN(), ""},
		{"wide chimney with saddle", "irc_2018", Detail{Kind: "chimney", WidthIn: v(48.0), Saddle: v(true)}, Passes, 12, ""},
		{"saddle, width not told", "irc_2018", Detail{Kind: "chimney", Saddle: v(true)}, Passes, math.NaN(), ""},
		{"wide chimney, not looked at", "irc_2018", Detail{Kind: "chimney", WidthIn: v(48.0)}, NotKnown, 12, "saddle"},
		{"chimney of 30 in", "irc_2018", Detail{Kind: "chimney", WidthIn: v(30.0), Saddle: v(false), MeetsRidge: v(false)}, Passes, math.NaN(), ""},
		{"chimney of 30 in, Canada", "nbc_2015", Detail{Kind: "chimney", WidthIn: v(30.0), Saddle: v(false), MeetsRidge: v(false)}, Fails, 7.5, ""}, // 750 mm, from memory
		{"chimney, nothing told", "irc_2018", Detail{Kind: "chimney"}, NotKnown, math.NaN(), "width_in"},
		{"wide penetration", "irc_2018", Detail{Kind: "penetration", WidthIn: v(36.0), Saddle: v(false), MeetsRidge: v(false)}, Fails, 9, ""},
		{"wide skylight", "irc_2018", Detail{Kind: "skylight", WidthIn: v(48.0)}, NotKnown, math.NaN(), ""},
	} {
		f := one(t, Input{Edition: c.code, RiseIn12: v(6.0)}, c.d, c.d.Kind+"_saddle")
		if f.Verdict != c.want || math.IsNaN(c.height) != (f.SaddleHeight == nil) || f.SaddleHeight != nil && math.Abs(f.SaddleHeight.In(units.Inch)-c.height) > 1e-9 {
			t.Errorf("%s: %s, height %v: %s", c.name, f.Verdict, f.SaddleHeight, f.Says)
		}
		if c.measure != "" && !slices.Contains(f.Measure, c.measure) {
			t.Errorf("%s: measure %v", c.name, f.Measure)
		}
	}
	// IRC Table R1003.20, from memory: W/2, W/3, W/4, W/6, W/8.
	for rise, part := range map[float64]units.Length{12: 2, 8: 3, 6: 4, 4: 6, 3: 8} {
		if got := SaddleHeight(48*units.Inch, units.PitchIn12(rise)); math.Abs(float64(got-48*units.Inch/part)) > 1e-12 {
			t.Errorf("at %v:12 a saddle of 48 in is %v in high", rise, got.In(units.Inch))
		}
	}
	// A slope of its own goes before the roof's.
	d := Detail{Kind: "chimney", WidthIn: v(48.0), Saddle: v(false), MeetsRidge: v(false), RiseIn12: v(12.0)}
	if f := one(t, Input{RiseIn12: v(6.0)}, d, "chimney_saddle"); math.Abs(f.SaddleHeight.In(units.Inch)-24) > 1e-9 || !strings.Contains(f.Remedy, "24 in high") {
		t.Error(f.Remedy)
	}
	if r := check(t, Input{Details: []Detail{{Kind: "penetration", WidthIn: v(4.0)}, {Kind: "skylight", WidthIn: v(24.0)}}}); slices.ContainsFunc(r.Findings, func(f Finding) bool { return strings.HasSuffix(f.Key, "_saddle") }) {
		t.Error("what is narrow gets a saddle finding")
	}
}

func TestWorstFirst(t *testing.T) {
	r := check(t, Input{Edition: "irc_2018", WallCladding: "stucco", Covering: "asphalt_strip", Details: []Detail{
		{Kind: "drip_edge", Form: "reused"},
		{Kind: "valley", Name: "front valley", Form: "woven", Drains: v(3), Lining: "membrane"},
		{Kind: "headwall"},
		{Kind: "kickout_flashing", Name: "kickout by the door", Form: "missing"},
	}})
	var got []string
	for _, f := range r.Findings {
		got = append(got, f.Key)
	}
	want := []string{"kickout_flashing", "valley_burdened", "drip_edge", "headwall_flashing", "valley_form", "valley_lining"}
	if !slices.Equal(got, want) || r.Failing != 3 || r.NotKnown != 1 || r.Passing != 2 {
		t.Errorf("got %v, %s", got, r.Says)
	}
	if f := r.Findings[0]; f.At != 3 || f.Detail != "kickout by the door" || !strings.Contains(f.Says, "stucco wall") {
		t.Errorf("%+v", f)
	}
	if f := r.Findings[3]; f.Detail != "headwall 3" {
		t.Errorf("%+v", f)
	}
	if empty := check(t, Input{}); len(empty.Findings) != 0 || !strings.Contains(empty.Says, "nothing is known") || len(empty.Cautions) == 0 {
		t.Errorf("%+v", empty)
	}
}

func TestRefuses(t *testing.T) {
	for _, c := range []struct {
		in   Input
		want string
	}{
		{Input{Edition: "irc_1999"}, "edition \"irc_1999\": must be one of"},
		{Input{WallCladding: "straw"}, "wall_cladding: must be"},
		{Input{Covering: "thatch"}, "covering: must be"},
		{Input{RiseIn12: v(40.0)}, "rise_in_12: 40 is too large"},
		{Input{Units: "cubits"}, "units: must be"},
		{Input{Details: []Detail{{}}}, "details[0].kind: must be one of"},
		{Input{Details: []Detail{{Kind: "valley"}, {Kind: "chimney", Form: "woven"}}}, "details[1].form: must be new, reused"},
		{Input{Details: []Detail{{Kind: "eave_cover", Form: "new"}}}, "details[0].form: must be membrane"},
		{Input{Details: []Detail{{Kind: "penetration", LapShare: v(1.2)}}}, "details[0].lap_share: 1.2 is too large"},
		{Input{Details: []Detail{{Kind: "penetration", LapShare: v(math.NaN())}}}, "details[0].lap_share: must be a number"},
		{Input{Details: []Detail{{Kind: "chimney", WidthIn: v(-1.0)}}}, "details[0].width_in: -1 is too small"},
		{Input{Details: []Detail{{Kind: "chimney", WidthIn: v(30.0), WidthMm: v(760.0)}}}, "details[0].width_mm: give either"},
		{Input{Details: []Detail{{Kind: "valley", Drains: v(9)}}}, "details[0].drains: must lie"},
		{Input{Details: []Detail{{Kind: "valley", Lining: "tar"}}}, "details[0].lining: must be"},
	} {
		if _, err := Check(c.in); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
}

// anyDetail draws a detail, much of it unknown.
func anyDetail(t *rapid.T) Detail {
	flag := func(name string) *bool {
		return rapid.SampledFrom([]*bool{nil, v(true), v(false)}).Draw(t, name)
	}
	maybe := func(name string, hi float64) *float64 {
		if rapid.Bool().Draw(t, name+" known") {
			return v(rapid.Float64Range(0, hi).Draw(t, name))
		}
		return nil
	}
	d := Detail{Kind: rapid.SampledFrom(Kinds).Draw(t, "kind"), LapShare: maybe("share", 1), WidthIn: maybe("width", 60), WallLegIn: maybe("leg", 8),
		LapIn: maybe("lap", 4), LowerEdgeOnTop: flag("edge"), TopAndSidesUnder: flag("sides"), Saddle: flag("saddle"), MeetsRidge: flag("ridge"),
		Lining: rapid.SampledFrom(append([]string{""}, Linings...)).Draw(t, "lining")}
	forms := Forms
	switch d.Kind {
	case "valley":
		forms = append(slices.Clone(Valleys), Forms...)
	case "eave_cover":
		forms = Covers
	}
	d.Form = rapid.SampledFrom(append([]string{""}, forms...)).Draw(t, "form")
	if rapid.Bool().Draw(t, "drains known") {
		d.Drains = v(rapid.IntRange(0, 8).Draw(t, "drains"))
	}
	return d
}

func anyRoof(t *rapid.T) Input {
	in := Input{
		Edition:      rapid.SampledFrom(append([]string{""}, units.EditionKeys()...)).Draw(t, "edition"),
		WallCladding: rapid.SampledFrom(append([]string{""}, Claddings...)).Draw(t, "cladding"),
		Covering:     rapid.SampledFrom(append([]string{""}, Coverings...)).Draw(t, "covering"),
		Details:      rapid.SliceOfN(rapid.Custom(anyDetail), 0, 6).Draw(t, "details"),
	}
	if rapid.Bool().Draw(t, "pitch known") {
		in.RiseIn12 = v(rapid.Float64Range(0, 24).Draw(t, "rise"))
	}
	return in
}

func TestFindingsAreWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyRoof(t)
		r := check(t, in)
		if r.Failing+r.NotKnown+r.Passing != len(r.Findings) || len(r.Cautions) == 0 || len(r.Findings) < len(in.Details) {
			t.Fatalf("%d findings: %s", len(r.Findings), r.Says)
		}
		at := map[int]bool{}
		for i, f := range r.Findings {
			at[f.At] = true
			if f.Says == "" || f.Why == "" || f.Cites == "" || f.Source == "" || f.Severity < Minor || f.Severity > Grave {
				t.Fatalf("%+v", f)
			}
			if f.Verdict == Fails && (f.Remedy == "" || f.Caution == "" || f.Margin != nil && *f.Margin >= 0) || f.Verdict == Passes && (f.Remedy != "" || f.Margin != nil && *f.Margin < -0.0005) {
				t.Fatalf("%+v", f)
			}
			if i > 0 && f.Verdict == r.Findings[i-1].Verdict && f.Severity > r.Findings[i-1].Severity {
				t.Fatalf("%s stands after %s", f.Says, r.Findings[i-1].Says)
			}
		}
		if len(at) != len(in.Details) {
			t.Fatalf("%d of %d details were judged", len(at), len(in.Details))
		}
	})
}

// What becomes known never turns a verdict over.
func TestKnowingNeverTurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyRoof(t)
		in.Details = []Detail{anyDetail(t)}
		known := in
		d := in.Details[0]
		for _, p := range []**bool{&d.LowerEdgeOnTop, &d.Saddle, &d.MeetsRidge} {
			if *p == nil {
				*p = v(rapid.Bool().Draw(t, "found"))
			}
		}
		if d.WidthIn == nil {
			d.WidthIn = v(rapid.Float64Range(0, 60).Draw(t, "width found"))
		}
		if d.Lining == "" {
			d.Lining = rapid.SampledFrom(Linings).Draw(t, "lining found")
		}
		if known.Covering == "" {
			known.Covering = rapid.SampledFrom(Coverings).Draw(t, "covering found")
		}
		known.Details = []Detail{d}
		after := map[string]Finding{}
		for _, f := range check(t, known).Findings {
			after[f.Key] = f
		}
		for _, f := range check(t, in).Findings {
			if g, is := after[f.Key]; is && f.Verdict != NotKnown && g.Verdict != f.Verdict {
				t.Fatalf("%s becomes %s", f.Says, g.Says)
			}
		}
	})
}
