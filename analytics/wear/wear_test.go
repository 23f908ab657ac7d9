package wear

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func seen(defect, slope string, severity int, extent float64) Finding {
	return Finding{Defect: defect, Slope: slope, Look: Seen, Severity: &severity, Extent: &extent}
}

func rated(t *testing.T, in Input, p Part) float64 {
	t.Helper()
	r, err := Rate(in)
	if err != nil {
		t.Fatal(err)
	}
	if r.Part(p).Rating == nil {
		t.Fatalf("%s has no rating", p)
	}
	return *r.Part(p).Rating
}

// The expected values follow by hand from the formulas in the package comment:
// two deducts on a slope are the most of their corrected sum and of the larger
// with the other set to 2.
func TestRate(t *testing.T) {
	curled := seen("curling", "south", 2, 0.25) // 50·(0.1+0.9·0.5) = 27.5
	bald := seen("granule_loss", "south", 3, 1) // 85
	north := seen("cracking", "north", 1, 0)    // 25·0.1 = 2.5
	all := seen("stains", "", 3, 1)             // 12 on every slope
	for _, c := range []struct {
		name     string
		findings []Finding
		want     float64
		slope    string
		dearest  string
	}{
		{"looked and none", []Finding{{Defect: "curling", Look: None}}, 100, "", ""},
		{"one", []Finding{curled}, 72.5, "south", "curling"},
		{"two on a slope", []Finding{curled, bald}, 100 - (85 + 2), "south", "granule_loss"},
		{"worst slope", []Finding{curled, north}, 72.5, "south", "curling"},
		{"all slopes", []Finding{north, all}, 100 - (12 + 2), "north", "stains"},
		{"two alike", []Finding{curled, seen("clawing", "south", 2, 0.25)}, 72.5 * 72.5 / 100, "south", "curling"},
		{"twice counts once", []Finding{curled, seen("curling", "south", 1, 1)}, 72.5, "south", "curling"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Rate(Input{Method: Walked, Findings: c.findings})
			if err != nil {
				t.Fatal(err)
			}
			p := r.Part(Covering)
			if math.Abs(*p.Rating-c.want) > 1e-12 || *p.Least != *p.Rating || *p.Most != *p.Rating {
				t.Errorf("rating %v (%v to %v), want %v", *p.Rating, *p.Least, *p.Most, c.want)
			}
			if p.WorstSlope != c.slope {
				t.Errorf("worst slope %q, want %q", p.WorstSlope, c.slope)
			}
			got := ""
			if r.Dearest != nil {
				got = r.Dearest.Defect
			}
			if got != c.dearest {
				t.Errorf("dearest %q, want %q", got, c.dearest)
			}
			if len(p.Costs) == 1 && math.Abs(100-p.Costs[0].Points-c.want) > 1e-12 {
				t.Errorf("the only cost is %v of %v", p.Costs[0].Points, 100-c.want)
			}
			if r.Part(Gutter).Rating != nil || r.Part(Flashing).Rating != nil {
				t.Error("a part nobody looked at has a rating")
			}
		})
	}
}

func TestLookedStatesDiffer(t *testing.T) {
	count := func(look Looked) int {
		r, err := Rate(Input{Method: Walked, Findings: []Finding{{Defect: "rust", Look: look}}})
		if err != nil {
			t.Fatal(err)
		}
		return r.NotLooked
	}
	all := len(For(""))
	if got := count(NotLooked); got != all {
		t.Errorf("not looked: %d unknown, want %d", got, all)
	}
	if got := count(None); got != all-1 {
		t.Errorf("none: %d unknown, want %d", got, all-1)
	}
	if got := count(Seen); got != all-1 {
		t.Errorf("seen: %d unknown, want %d", got, all-1)
	}
}

// From the street nails and laps are never seen: common practice, no source.
func TestStreet(t *testing.T) {
	for _, key := range []string{"exposed_nails", "popped_nails", "lap_short"} {
		d, ok := find(key)
		if !ok || d.ShownBy(Street) {
			t.Errorf("%s is shown from the street", key)
		}
		for _, f := range []Finding{{Defect: key, Look: None}, seen(key, "", 3, 1)} {
			r, err := Rate(Input{Method: Street, Findings: []Finding{f, {Defect: "moss", Look: None}}})
			if err != nil {
				t.Fatal(err)
			}
			if len(r.SetAside) != 1 || r.SetAside[0].Defect != key || !slices.Contains(r.Part(d.Part).NotLooked, key) {
				t.Errorf("%s %s from the street is believed: %+v", key, f.Look, r)
			}
			if *r.Part(Covering).Rating != 100 {
				t.Errorf("%s from the street cost points", key)
			}
		}
	}
}

func TestUnknownWidens(t *testing.T) {
	severity := 2
	rate := func(f Finding) PartRating {
		r, err := Rate(Input{Method: Walked, Findings: []Finding{f}})
		if err != nil {
			t.Fatal(err)
		}
		return r.Part(Covering)
	}
	known := rate(seen("curling", "", 2, 0.1))
	extent := rate(Finding{Defect: "curling", Look: Seen, Severity: &severity})
	neither := rate(Finding{Defect: "curling", Look: Seen})
	width := func(p PartRating) float64 { return *p.Most - *p.Least }
	if !(width(known) == 0 && width(known) < width(extent) && width(extent) < width(neither)) {
		t.Errorf("widths %v %v %v", width(known), width(extent), width(neither))
	}
	if !(*known.ErrorPoints < *extent.ErrorPoints && *extent.ErrorPoints < *neither.ErrorPoints) {
		t.Errorf("errors %v %v %v", *known.ErrorPoints, *extent.ErrorPoints, *neither.ErrorPoints)
	}
	if *known.Rating != *extent.Rating || *extent.Rating != *neither.Rating {
		t.Error("the usual severity and extent are not taken")
	}
	street, err := Rate(Input{Method: Street, Findings: []Finding{{Defect: "moss", Look: None}}})
	if err != nil {
		t.Fatal(err)
	}
	walked, _ := Rate(Input{Method: Walked, Findings: []Finding{{Defect: "moss", Look: None}}})
	if *street.Part(Covering).ErrorPoints <= *walked.Part(Covering).ErrorPoints {
		t.Error("a look from the street is as sure as a walk")
	}
}

func TestRefusals(t *testing.T) {
	four, one, six, half, above, nan := 4, 1, 6, 0.5, 1.5, math.NaN()
	for _, c := range []struct {
		in    Input
		field string
	}{
		{Input{Method: "drone"}, "method:"},
		{Input{Findings: []Finding{{Defect: "leak", Look: Seen}}}, "findings[0].defect:"},
		{Input{Findings: []Finding{{Defect: "moss"}}}, "findings[0].look:"},
		{Input{Findings: []Finding{{Defect: "moss", Look: None, Severity: &one}}}, "findings[0].severity:"},
		{Input{Findings: []Finding{{Defect: "moss", Look: Seen, Severity: &four}}}, "findings[0].severity:"},
		{Input{Findings: []Finding{{Defect: "moss", Look: Seen, Extent: &above}}}, "findings[0].extent:"},
		{Input{Findings: []Finding{{Defect: "moss", Look: Seen, Extent: &nan}}}, "findings[0].extent:"},
		{Input{Findings: []Finding{{Defect: "moss", Look: None, ExtentClass: &one}}}, "findings[0].severity:"},
		{Input{Findings: []Finding{{Defect: "moss", Look: Seen, ExtentClass: &six}}}, "findings[0].extent_class: must be 1 to 5"},
		{Input{Findings: []Finding{{Defect: "moss", Look: Seen, Extent: &half, ExtentClass: &one}}}, "findings[0].extent_class: give either"},
		{Input{Covering: "thatch"}, "covering:"},
		{Input{VisibleSlopes: []string{"south", ""}}, "visible_slopes[1]:"},
		{Input{SlopeAreas: map[string]float64{"": 1}}, "slope_areas:"},
		{Input{SlopeAreas: map[string]float64{"a": 1, "b": 0}}, "slope_areas.b:"},
		{Input{SlopeAreas: map[string]float64{"b": nan}}, "slope_areas.b:"},
		{Input{SlopeAreas: map[string]float64{"b": math.Inf(1)}}, "slope_areas.b:"},
		{Input{SlopeAreas: map[string]float64{"a": math.MaxFloat64, "b": math.MaxFloat64}}, "slope_areas.b:"},
	} {
		if _, err := Rate(c.in); err == nil || !strings.Contains(err.Error(), c.field) {
			t.Errorf("%+v: error %v does not name %s", c.in, err, c.field)
		}
	}
}

func TestCatalogue(t *testing.T) {
	// The keys are kept with findings: one that changes loses its history.
	want := strings.Fields("granule_loss curling clawing cracking blisters exposed_nails popped_nails lifted_tabs " +
		"missing_shingles hail_bruises valley_wear lap_short sealant_gone rust moss stains gutter_debris gutter_overshoot " +
		"delamination high_nails locks_open wood_split wood_cupped wood_decayed metal_rust loose_fasteners seam_open dents " +
		"coating_worn tile_cracked tile_slipped tile_spalled membrane_split membrane_seam_open ponding dead_valley_wear " +
		"gutter_loose gutter_joints gutter_rust")
	var keys []string
	for _, d := range Catalogue() {
		keys = append(keys, d.Key)
		if len(d.Families) == 0 || slices.ContainsFunc(d.Families, func(f string) bool { return !slices.Contains(Families(), f) }) {
			t.Errorf("%s: families %v", d.Key, d.Families)
		}
		if d.Name == "" || !d.ShownBy(Walked) || !slices.Contains(Parts(), d.Part) {
			t.Errorf("%s: incomplete", d.Key)
		}
		if slices.Contains(d.Steps[:], "") || d.Steps[0] == d.Steps[1] || d.Steps[1] == d.Steps[2] {
			t.Errorf("%s: steps do not differ", d.Key)
		}
		if !(0 < d.Points[0] && d.Points[0] < d.Points[1] && d.Points[1] < d.Points[2] && d.Points[2] < 100) {
			t.Errorf("%s: points %v do not rise", d.Key, d.Points)
		}
	}
	if !slices.Equal(keys, want) {
		t.Errorf("keys %v", keys)
	}
	Catalogue()[0].SeenBy[0], Catalogue()[0].Families[0], Families()[0] = "changed", "changed", "changed"
	if catalogue[0].SeenBy[0] != Walked || catalogue[0].Families[0] != AsphaltStrip || every[0] != AsphaltStrip {
		t.Error("the catalogue can be changed from outside")
	}
}

func drawFinding(t *rapid.T, label string) Finding {
	f := Finding{
		Defect: rapid.SampledFrom(catalogue).Draw(t, label+" defect").Key,
		Slope:  rapid.SampledFrom([]string{"", "north", "south"}).Draw(t, label+" slope"),
		Look:   rapid.SampledFrom([]Looked{Seen, Seen, Seen, None, NotLooked}).Draw(t, label+" look"),
	}
	if f.Look == Seen {
		severity := rapid.IntRange(1, 3).Draw(t, label+" severity")
		f.Severity = &severity
		if rapid.Bool().Draw(t, label+" by class") {
			class := rapid.IntRange(1, 5).Draw(t, label+" class")
			f.ExtentClass = &class
		} else {
			extent := rapid.Float64Range(0, 1).Draw(t, label+" extent")
			f.Extent = &extent
		}
	}
	return f
}

func drawInput(t *rapid.T) Input {
	in := Input{
		Method:     rapid.SampledFrom([]Method{"", Walked, Ladder, Photo, Street}).Draw(t, "method"),
		Covering:   rapid.SampledFrom(append(Families(), "", AsphaltStrip, AsphaltLaminated)).Draw(t, "covering"),
		Wet:        rapid.SampledFrom([]*bool{nil, new(true), new(false)}).Draw(t, "wet"),
		SlopeAreas: rapid.SampledFrom([]map[string]float64{nil, {"north": 50, "south": 70}, {"south": 70}}).Draw(t, "areas"),
	}
	if rapid.Bool().Draw(t, "visible known") {
		in.VisibleSlopes = rapid.SliceOfN(rapid.SampledFrom([]string{"north", "south"}), 0, 2).Draw(t, "visible")
	}
	for range rapid.IntRange(1, 8).Draw(t, "count") {
		in.Findings = append(in.Findings, drawFinding(t, "finding"))
	}
	return in
}

// More findings, or worse ones, never raise a rating that was there before: not
// of a part, nor of one of its slopes.
func TestMoreOrWorseNeverRaises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t)
		before, err := Rate(in)
		if err != nil {
			t.Fatal(err)
		}
		more := in
		more.Findings = append(slices.Clone(in.Findings), drawFinding(t, "more"))
		worse := in
		worse.Findings = slices.Clone(in.Findings)
		f := &worse.Findings[rapid.IntRange(0, len(in.Findings)-1).Draw(t, "which")]
		if f.Look == Seen {
			severity := rapid.IntRange(*f.Severity, 3).Draw(t, "worse severity")
			f.Severity = &severity
			if f.Extent != nil {
				extent := rapid.Float64Range(*f.Extent, 1).Draw(t, "worse extent")
				f.Extent = &extent
			} else {
				class := rapid.IntRange(*f.ExtentClass, 5).Draw(t, "worse class")
				f.ExtentClass = &class
			}
		}
		for name, other := range map[string]Input{"more": more, "worse": worse} {
			after, err := Rate(other)
			if err != nil {
				t.Fatal(err)
			}
			compare := func(what string, b, a [3]*float64) {
				if b[0] == nil {
					return
				}
				for i := range b {
					if *a[i] > *b[i]+1e-9 || *a[i] < 0 || *a[i] > 100 {
						t.Fatalf("%s: %s went from %v to %v", name, what, *b[i], *a[i])
					}
				}
				if *a[0] > *a[1]+1e-9 || *a[1] > *a[2]+1e-9 {
					t.Fatalf("%s: bounds %v %v %v", what, *a[0], *a[1], *a[2])
				}
			}
			for _, p := range Parts() {
				b, a := before.Part(p), after.Part(p)
				compare(string(p), [3]*float64{b.Least, b.Rating, b.Most}, [3]*float64{a.Least, a.Rating, a.Most})
				for _, s := range b.Slopes {
					i := slices.IndexFunc(a.Slopes, func(other SlopeRating) bool { return other.Slope == s.Slope })
					o := a.Slopes[i]
					compare(string(p)+" "+s.Slope, [3]*float64{s.Least, s.Rating, s.Most}, [3]*float64{o.Least, o.Rating, o.Most})
					if o.Rating != nil && *o.Rating < *a.Rating-1e-9 {
						t.Fatalf("%s rates %v and its slope %s %v", p, *a.Rating, s.Slope, *o.Rating)
					}
				}
				for _, c := range a.Costs {
					if c.GivesBack < 0 || c.GivesBack > c.Points+small*float64(len(a.Costs))+1e-9 {
						t.Fatalf("%s gives back %v of %v", c.Defect, c.GivesBack, c.Points)
					}
				}
			}
		}
	})
}

// The order of the findings does not matter.
func TestOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in Input
		for range rapid.IntRange(1, 8).Draw(t, "count") {
			in.Findings = append(in.Findings, drawFinding(t, "finding"))
		}
		other := Input{Findings: rapid.Permutation(in.Findings).Draw(t, "order")}
		a, err := Rate(in)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Rate(other)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range Parts() {
			x, y := a.Part(p).Rating, b.Part(p).Rating
			if (x == nil) != (y == nil) || (x != nil && math.Abs(*x-*y) > 1e-9) {
				t.Fatalf("%s: %v and %v", p, x, y)
			}
		}
	})
}

func TestWornOutLine(t *testing.T) {
	// A slope bald, curled and cracked all over lies under the line; one with
	// stains and moss all over does not.
	worn := rated(t, Input{Method: Walked, Findings: []Finding{seen("granule_loss", "", 3, 0.8), seen("curling", "", 3, 0.6), seen("cracking", "", 2, 0.5)}}, Covering)
	shabby := rated(t, Input{Method: Walked, Findings: []Finding{seen("stains", "", 3, 1), seen("moss", "", 3, 1)}}, Covering)
	if worn >= Line || shabby <= Line {
		t.Errorf("worn %v, shabby %v, line %v", worn, shabby, Line)
	}
}
