package wear

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
)

func rate(t *testing.T, in Input) Result {
	t.Helper()
	r, err := Rate(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Every family has something to look for in each part, its own list ends with
// what it cannot have, and defects written down before coverings were told apart
// are all looked for where the covering is not known.
func TestFamilies(t *testing.T) {
	of := func(family string) (keys []string) {
		for _, d := range For(family) {
			keys = append(keys, d.Key)
		}
		return keys
	}
	for _, c := range []struct {
		family   string
		has, not string
	}{
		{AsphaltStrip, "granule_loss curling clawing cracking blisters exposed_nails high_nails popped_nails lifted_tabs missing_shingles hail_bruises moss stains", "delamination locks_open dents"},
		{AsphaltLaminated, "delamination high_nails hail_bruises", "locks_open wood_split"},
		{AsphaltInterlocking, "locks_open granule_loss lifted_tabs", "high_nails delamination"},
		{AsphaltOrganic, "curling clawing", "locks_open"},
		{WoodShake, "wood_split wood_cupped wood_decayed popped_nails missing_shingles moss", "granule_loss hail_bruises"},
		{Metal, "metal_rust loose_fasteners seam_open dents coating_worn", "curling exposed_nails missing_shingles"},
		{Tile, "tile_cracked tile_slipped tile_spalled", "missing_shingles exposed_nails granule_loss"},
		{Slate, "tile_cracked tile_slipped tile_spalled exposed_nails", "popped_nails"},
		{LowSlopeMembrane, "membrane_split membrane_seam_open ponding blisters", "curling"},
	} {
		keys := of(c.family)
		for _, key := range strings.Fields(c.has + " valley_wear dead_valley_wear lap_short sealant_gone rust gutter_debris gutter_loose gutter_joints gutter_rust") {
			if !slices.Contains(keys, key) {
				t.Errorf("%s: %s is not looked for", c.family, key)
			}
		}
		for _, key := range strings.Fields(c.not) {
			if slices.Contains(keys, key) {
				t.Errorf("%s: %s is looked for", c.family, key)
			}
		}
	}
	unknown := of(Unknown)
	if !slices.Equal(of(""), unknown) || len(unknown) >= len(Catalogue()) {
		t.Errorf("not known: %v", unknown)
	}
	for _, d := range Catalogue()[:18] {
		if !slices.Contains(unknown, d.Key) {
			t.Errorf("%s is no longer looked for on a covering that is not known", d.Key)
		}
	}
}

func TestCoveringSetsAside(t *testing.T) {
	in := Input{Method: Walked, Covering: Metal, Findings: []Finding{
		seen("curling", "south", 3, 1), {Defect: "clawing", Look: None}, seen("dents", "south", 2, 1)}}
	r := rate(t, in)
	if len(r.SetAside) != 1 || r.SetAside[0].Defect != "curling" || r.SetAside[0].Reason != "covering" {
		t.Errorf("set aside: %+v", r.SetAside)
	}
	if got := *r.Part(Covering).Rating; got != 90 {
		t.Errorf("rating %v", got)
	}
	// Not known, it costs, and is one more that was looked at.
	for _, family := range []string{"", Unknown} {
		in.Covering = family
		r := rate(t, in)
		if p := r.Part(Covering); len(r.SetAside) != 0 || len(p.Costs) != 2 || !slices.Contains(r.Measure, "covering") {
			t.Errorf("%q: %+v", family, r)
		}
	}
	// Nothing of it can be judged: no rating, and said so.
	r = rate(t, Input{Method: Street, Covering: LowSlopeMembrane, Findings: []Finding{{Defect: "moss", Look: None}, seen("stains", "", 1, 1)}})
	if p := r.Part(Covering); p.Rating != nil || len(r.SetAside) != 2 || !strings.Contains(p.Says, "nothing yet") {
		t.Errorf("a low slope is rated from the ground: %+v", p)
	}
}

// A slope's error knows of what was looked at on it alone: what was said of another
// slope leaves it, and what was said of all of them does not. Of one slope of which
// all was said the error is that of the part.
func TestErrorOfASlope(t *testing.T) {
	off := func(in Input, slope string) float64 {
		for _, s := range rate(t, in).Part(Covering).Slopes {
			if s.Slope == slope && s.ErrorPoints != nil {
				return *s.ErrorPoints
			}
		}
		t.Fatalf("no error of %s", slope)
		return 0
	}
	in := Input{Method: Walked, Covering: AsphaltStrip, Findings: []Finding{seen("granule_loss", "south", 1, 0.1), seen("granule_loss", "north", 1, 0.1), seen("curling", "south", 1, 0.1)}}
	if s, n := off(in, "south"), off(in, "north"); !(s < n && s > slip(Walked)) {
		t.Errorf("curling that was looked at on the south: its error is %v, the north's %v", s, n)
	}
	before := off(in, "north")
	in.Findings = append(in.Findings, Finding{Defect: "cracking", Look: None})
	if after := off(in, "north"); after >= before {
		t.Errorf("what was looked at on all slopes leaves the error at %v, was %v", after, before)
	}
	in.Findings = in.Findings[:1]
	if p := rate(t, in).Part(Covering); math.Abs(off(in, "south")-*p.ErrorPoints) > 1e-12 {
		t.Errorf("the error of the one slope is %v, the part's %v", off(in, "south"), *p.ErrorPoints)
	}
}

// The bounds of NEN 2767-1, from memory: under 2, 10, 30, 70 %, and above.
func TestExtentClasses(t *testing.T) {
	for share, want := range map[float64]int{0: 1, 0.0199: 1, 0.02: 2, 0.0999: 2, 0.1: 3, 0.2999: 3, 0.3: 4, 0.6999: 4, 0.7: 5, 1: 5} {
		if got := ExtentClass(share); got != want {
			t.Errorf("%v is of class %d, want %d", share, got, want)
		}
	}
	severity := 2
	for i, c := range Extents() {
		if c.Class != i+1 || !(c.From < c.Usual && c.Usual < c.To) || ExtentClass(c.Usual) != c.Class || c.Name == "" {
			t.Errorf("class %+v", c)
		}
		p := rate(t, Input{Method: Walked, Findings: []Finding{{Defect: "curling", Look: Seen, Severity: &severity, ExtentClass: &c.Class}}}).Part(Covering)
		one := func(share float64) float64 {
			return rated(t, Input{Findings: []Finding{seen("curling", "", 2, share)}}, Covering)
		}
		if *p.Most != one(c.From) || *p.Rating != one(c.Usual) || *p.Least != one(c.To) {
			t.Errorf("class %d: %v %v %v", c.Class, *p.Least, *p.Rating, *p.Most)
		}
		if want := (*p.Most - *p.Least) / math.Sqrt(12); math.Abs(p.Errors.NotKnown-want) > 1e-12 {
			t.Errorf("class %d: error %v, want %v", c.Class, p.Errors.NotKnown, want)
		}
	}
}

func TestWetRoof(t *testing.T) {
	in := Input{Method: Ladder, Findings: []Finding{seen("granule_loss", "", 3, 1), seen("hail_bruises", "", 3, 1), seen("curling", "", 1, 1)}}
	if got := rated(t, in, Covering); got > 10 {
		t.Errorf("not known to be wet: %v", got)
	}
	if r := rate(t, in); !slices.Contains(r.Measure, "wet") {
		t.Errorf("measure %v", r.Measure)
	}
	in.Wet = new(false)
	if r := rate(t, in); len(r.SetAside) != 0 || slices.Contains(r.Measure, "wet") {
		t.Errorf("dry: %+v", r)
	}
	in.Wet = new(true)
	r := rate(t, in)
	if len(r.SetAside) != 2 || r.SetAside[0].Reason != "wet" || *r.Part(Covering).Rating != 80 || !slices.Contains(r.Part(Covering).NotLooked, "granule_loss") {
		t.Errorf("wet: %+v", r)
	}
	if !strings.Contains(strings.Join(r.Cautions, " "), "not walked") {
		t.Errorf("cautions %v", r.Cautions)
	}
}

func TestSlopesInSight(t *testing.T) {
	in := Input{Method: Street, VisibleSlopes: []string{"front"}, Covering: AsphaltStrip,
		SlopeAreas: map[string]float64{"front": 100, "back": 100},
		Findings:   []Finding{seen("curling", "back", 3, 1), seen("curling", "front", 1, 1), seen("moss", "", 2, 1)}}
	r := rate(t, in)
	p := r.Part(Covering)
	if len(r.SetAside) != 1 || r.SetAside[0].Reason != "slope" || *p.Rating != 100-Combined([]float64{20, 15}) || p.WorstSlope != "front" {
		t.Errorf("%+v", r)
	}
	// What was said of all slopes is said of those in sight.
	if back := p.Slopes[0]; back.Slope != "back" || back.Rating != nil || *back.AreaShare != 0.5 {
		t.Errorf("back: %+v", back)
	}
	if p.Mean == nil || *p.Mean != *p.Rating {
		t.Errorf("the mean of the front is %v", p.Mean)
	}
	// The other half of the roof widens the error.
	whole := in
	whole.VisibleSlopes, whole.Findings = nil, in.Findings[1:]
	if both := rate(t, whole).Part(Covering); both.Errors.NotLooked >= p.Errors.NotLooked {
		t.Errorf("errors %+v of both, %+v of one", both.Errors, p.Errors)
	}
	in.VisibleSlopes = []string{}
	if r := rate(t, in); len(r.SetAside) != 3 || r.Part(Covering).Rating != nil {
		t.Errorf("nothing in sight: %+v", r)
	}
}

func TestSlopeRatingsAndMean(t *testing.T) {
	in := Input{Method: Walked, SlopeAreas: map[string]float64{"north": 25, "south": 75}, Findings: []Finding{
		seen("curling", "south", 2, 1), {Defect: "curling", Slope: "north", Look: None}}}
	p := rate(t, in).Part(Covering)
	if *p.Rating != 50 || p.WorstSlope != "south" || *p.Mean != 62.5 {
		t.Errorf("rating %v, mean %v", *p.Rating, p.Mean)
	}
	if n, s := p.Slopes[0], p.Slopes[1]; *n.Rating != 100 || n.Dearest != "" || *s.Rating != 50 || s.Dearest != "curling" || *s.AreaShare != 0.75 {
		t.Errorf("slopes %+v", p.Slopes)
	}
	// The mean is only of the covering, and wants the area of each slope.
	in.Findings = append(in.Findings, Finding{Defect: "curling", Slope: "dormer", Look: None}, seen("rust", "south", 1, 1))
	r := rate(t, in)
	if r.Part(Covering).Mean != nil || r.Part(Flashing).Mean != nil || !slices.Contains(r.Measure, "slope_areas.dormer") {
		t.Errorf("mean %v, measure %v", r.Part(Covering).Mean, r.Measure)
	}
	in.SlopeAreas = nil
	if r := rate(t, in); r.Part(Covering).Mean != nil || slices.Contains(r.Measure, "slope_areas.dormer") {
		t.Error("without areas there is a mean, or they are asked for")
	}
}

func TestErrorParts(t *testing.T) {
	all := Input{Method: Walked, Covering: AsphaltStrip}
	for _, d := range For(AsphaltStrip) {
		all.Findings = append(all.Findings, Finding{Defect: d.Key, Look: None})
	}
	if e := rate(t, all).Part(Covering).Errors; *e != (Errors{Method: 6}) {
		t.Errorf("all looked at: %+v", e)
	}
	// What is dear is missed more: nobody looked at stains, or at missing shingles.
	without := func(key string) float64 {
		in := all
		in.Findings = slices.DeleteFunc(slices.Clone(all.Findings), func(f Finding) bool { return f.Defect == key })
		p := rate(t, in).Part(Covering)
		if want := math.Sqrt(p.Errors.Method*p.Errors.Method + p.Errors.NotLooked*p.Errors.NotLooked); math.Abs(*p.ErrorPoints-want) > 1e-12 {
			t.Errorf("the parts make %v, the whole is %v", want, *p.ErrorPoints)
		}
		return p.Errors.NotLooked
	}
	if stains, missing := without("stains"), without("missing_shingles"); !(0 < stains && stains < missing) {
		t.Errorf("stains %v, missing %v", stains, missing)
	}
}

// What cost most is said, and what putting it right gives back.
func TestGivesBackAndSays(t *testing.T) {
	p := rate(t, Input{Method: Street, Findings: []Finding{seen("curling", "south", 2, 1), seen("moss", "south", 3, 1)}}).Part(Covering)
	together := Combined([]float64{50, 35})
	if c := p.Costs[0]; c.Defect != "curling" || c.Points != 50 || math.Abs(c.GivesBack-(together-35)) > 1e-12 {
		t.Errorf("costs %+v", p.Costs)
	}
	for _, want := range []string{"The covering rates 33 of 100", "its worst slope, south", "edges curled up, 50 points by itself", "would gain 32", "cannot be judged from the ground"} {
		if !strings.Contains(p.Says, want) {
			t.Errorf("%q does not say %q", p.Says, want)
		}
	}
	p = rate(t, Input{Findings: []Finding{{Defect: "curling", Look: Seen}}}).Part(Covering)
	if !strings.Contains(p.Says, "anywhere from 15 to 98") {
		t.Errorf("says %q", p.Says)
	}
	for _, d := range Catalogue() {
		if lower(d.Name)[1:] != d.Name[1:] || lower(d.Name) == d.Name {
			t.Errorf("%q within a sentence is %q", d.Name, lower(d.Name))
		}
	}
}

// Lists in JSON are never null, and the names of the fields stay.
func TestJSON(t *testing.T) {
	b, err := json.Marshal(rate(t, Input{}))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"slopes":[]`, `"costs":[]`, `"set_aside":[]`, `"cautions":["`, `"measure":["method"`, `"rating":null`} {
		if !strings.Contains(string(b), want) {
			t.Errorf("%s not in %s", want, b)
		}
	}
	if strings.Contains(string(b), `"costs":null`) || strings.Contains(string(b), `"not_looked":null`) {
		t.Errorf("a list is null: %s", b)
	}
}

// A look at the whole catalogue shows all of the fall, one at none of it nothing, and
// each defect more shows more.
func TestShownShareOfALook(t *testing.T) {
	in := Input{Covering: AsphaltStrip, Method: Walked}
	last := 0.0
	for _, d := range For(AsphaltStrip) {
		in.Findings = append(in.Findings, Finding{Defect: d.Key, Look: None, Slope: "south"})
		r := rate(t, in)
		p := r.Part(Covering)
		if d.Part != Covering {
			continue
		}
		if p.ShownShare == nil || !(*p.ShownShare > last && *p.ShownShare <= 1) {
			t.Fatalf("with %s it shows %v, without %v", d.Key, p.ShownShare, last)
		}
		last = *p.ShownShare
		if s := p.Slopes[0]; s.ShownShare == nil || math.Abs(*s.ShownShare-last) > 1e-12 {
			t.Errorf("of the slope it shows %v, of the roof %v", s.ShownShare, last)
		}
	}
	if math.Abs(last-1) > 1e-12 {
		t.Errorf("a look at all shows %v", last)
	}
	if p := rate(t, Input{}).Part(Covering); p.ShownShare != nil {
		t.Errorf("nothing looked at shows %v", *p.ShownShare)
	}
	// Half of the catalogue shows three quarters.
	if got := shown(0.5); got != 0.75 {
		t.Errorf("half shows %v", got)
	}
}
