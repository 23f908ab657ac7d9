package takeoff

import (
	"encoding/json"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

func no() *bool  { b := false; return &b }
func yes() *bool { b := true; return &b }

// full is the hipped L with everything given.
func full(t interface {
	Helper()
	Fatalf(string, ...any)
}) Input {
	t.Helper()
	return Input{Slopes: hipped(t, 6), Covering: Covering{Format: "strip_36"}, Fittings: Fittings{
		EaveMembraneFt: p(44.7 / 12), Valley: "open_metal", StarterBundleFt: p(100), CapFromStrips: true,
		Penetrations: []Penetration{{Kind: "chimney", Name: "chimney", Slope: "south", WidthIn: p(48), LengthIn: p(24), Saddle: no()}},
	}}
}

func TestSaddles(t *testing.T) {
	// IRC Table R1003.20 (from memory; W/2 × r/12 agrees): height of the saddle as
	// a share of the chimney's width. 48 in at 6:12 is 12 in high (arithmetic).
	for rise, share := range map[float64]float64{12: 1.0 / 2, 8: 1.0 / 3, 6: 1.0 / 4, 4: 1.0 / 6, 3: 1.0 / 8} {
		in := worked()
		in.Penetrations = []Penetration{{Kind: "chimney", RiseIn12: p(rise), WidthIn: p(48)}}
		s := take(t, in).Materials.Saddles[0]
		if !near(s.Height.In(units.Inch), 48*share, 1e-9) || s.Verdict != units.NotKnown {
			t.Errorf("%v:12: %v in, %s", rise, s.Height.In(units.Inch), s.Verdict)
		}
		// its two sides rise as the roof does: 48 in by 24 in over two, in plan
		if !near(s.Area.In(units.SquareInch), 48*24/2*SlopeFactor(units.PitchIn12(rise)), 1e-9) {
			t.Errorf("%v:12: %v in²", rise, s.Area.In(units.SquareInch))
		}
	}
	for _, c := range []struct {
		name    string
		code    string
		chimney Penetration
		verdict units.Verdict
		over    float64 // in, NaN not known
		says    string
	}{
		{"30 in, IRC R903.2.2", "", Penetration{WidthIn: p(30)}, units.Passes, 0, "needs no saddle"},
		{"just over", "", Penetration{WidthIn: p(30.1), Saddle: no()}, units.Fails, 0.1, "It has none"},
		{"built", "", Penetration{WidthMm: p(1219.2), Saddle: yes()}, units.Passes, 18, "It has one"},
		{"at the ridge", "", Penetration{WidthIn: p(48), MeetsRidge: true}, units.Passes, 18, "meets the ridge"},
		{"width not known", "", Penetration{}, units.NotKnown, math.NaN(), "wider than 30 in"},
		{"760 mm, IRC", "irc_2018", Penetration{WidthMm: p(760)}, units.Passes, 760/25.4 - 30, "needs no saddle"},
		{"760 mm, Canada: 750 from memory", "obc_2012", Penetration{WidthMm: p(760), Saddle: no()}, units.Fails, 10 / 25.4, "from memory"},
	} {
		in := worked()
		c.chimney.Kind, c.chimney.RiseIn12 = "chimney", p(6)
		in.Code, in.Penetrations = c.code, []Penetration{c.chimney, {Kind: "skylight", WidthIn: p(60)}}
		m := take(t, in).Materials
		s := m.Saddles[0]
		over := math.NaN()
		if s.Over != nil {
			over = s.Over.In(units.Inch)
		}
		if len(m.Saddles) != 1 || s.Verdict != c.verdict || math.Abs(over-c.over) > 1e-9 || math.IsNaN(over) != math.IsNaN(c.over) || !strings.Contains(s.Says, c.says) {
			t.Errorf("%s: %+v", c.name, s)
		}
		if wanted := s.Height != nil; wanted != strings.Contains(s.Says, "fall protection") {
			t.Errorf("%s: caution: %s", c.name, s.Says)
		}
	}
}

func TestMembraneCourses(t *testing.T) {
	// Reaches that IRC R905.1.2 and OBC 9.26.5.1 ask for, worked by geometry, and
	// sheets of 36 in with 3½ in of side lap: 44.7 in takes two.
	for reach, want := range map[float64]int{0: 0, 28.8: 1, 35.4: 1, 36: 1, 37.4: 2, 44.7: 2, 45: 2, 68.5: 2, 69: 3} {
		if got := courses(reach * inch); got != want {
			t.Errorf("%v in: %d courses, want %d", reach, got, want)
		}
	}
	in := worked()
	in.Runs = []Run{{Kind: "eave", LengthFt: p(84)}, {Kind: "rake", LengthFt: p(72)}, {Kind: "valley", LengthFt: p(20)}}
	in.EaveMembraneFt = p(44.7 / 12)
	in.Penetrations = []Penetration{{Kind: "skylight", WidthIn: p(24), LengthIn: p(48)}}
	m := take(t, in).Materials.Membrane
	// 2 × 84 ft at the eaves, 20 ft of valley, and round the skylight 2 × 6 ft and
	// four corners of 1½ ft in half sheets: 9 ft. 197 ft in rolls of 65 ft that
	// show 64½: 3.05, so 4 (arithmetic).
	if *m.EaveCourses != 2 || !near(m.Eave.In(units.Foot), 168, 1e-9) || !near(m.Valley.In(units.Foot), 20, 1e-9) ||
		!near(m.Penetrations.In(units.Foot), 9, 1e-9) || !near(m.Total.In(units.Foot), 197, 1e-9) || *m.Rolls != 4 {
		t.Errorf("%+v, %d rolls", m, *m.Rolls)
	}
	// 66.7 ft rolls show 66.2: 2.98, so 3.
	if in.MembraneRollFt = p(66.7); *take(t, in).Materials.Membrane.Rolls != 3 {
		t.Error("longer rolls")
	}
	in.EaveMembraneFt = p(0)
	if m := take(t, in).Materials.Membrane; *m.Eave != 0 || *m.EaveCourses != 0 || *m.Rolls != 1 {
		t.Errorf("none at the eaves: %+v", m)
	}
	in.EaveMembraneFt, in.Penetrations = nil, nil
	if m := take(t, in).Materials; m.Membrane.Eave != nil || m.Membrane.Total != nil || m.Membrane.Valley == nil || !slices.Contains(m.Measure, "eave_membrane") || !slices.Contains(m.Measure, "penetrations") {
		t.Errorf("not known: %+v", m)
	}
	// A reach beyond the top of the slope ends there: 4 m of run at 6:12 is
	// 176 in, which takes 6 courses.
	of := full(t)
	of.EaveMembraneFt = p(90)
	if m := take(t, of).Materials.Membrane; *m.EaveCourses != 6 {
		t.Errorf("%d courses on 176 in of slope", *m.EaveCourses)
	}
}

func TestMaterials(t *testing.T) {
	in := full(t)
	in.Runs = []Run{
		{Kind: "eave", LengthFt: p(150)}, {Kind: "ridge", LengthFt: p(30)}, {Kind: "hip", LengthFt: p(20)},
		{Kind: "valley", LengthFt: p(20)}, {Kind: "valley", LengthFt: p(8)}, {Kind: "rake", LengthFt: p(0)},
		{Kind: "wall", LengthFt: p(10)}, {Kind: "wall", CommonRunFt: p(12), RiseIn12: p(9)}, {Kind: "headwall", LengthFt: p(9)},
	}
	res := take(t, in)
	m := res.Materials
	// Arithmetic. Valleys of 20 and 8 ft in 10 ft pieces that show 9½: 3 and 1.
	if *m.Valley.Pieces != 4 || !near(m.Valley.Width.In(units.Inch), 24, 1e-12) || !near(m.Valley.Metal.In(units.SquareFoot), 56, 1e-9) { // IRC R905.2.8.2
		t.Errorf("valley: %+v", m.Valley)
	}
	// One a course of 5 in: 24 along 10 ft, 36 along 15 ft.
	if *m.StepFlashing != 60 || !near(m.Headwall.In(units.Foot), 9, 1e-9) {
		t.Errorf("step flashing %d, headwall %v", *m.StepFlashing, *m.Headwall)
	}
	// 150 ft at 100 a bundle; 50 strips of 4 nails.
	if *m.StarterBundles != (Span{2, 2}) || *m.StarterNails != 200 {
		t.Errorf("starter: %+v, %d nails", m.StarterBundles, *m.StarterNails)
	}
	// 50 ft of cap: 120 caps of 5 in, 40 strips, 1½ bundles of 26⅔; 240 nails.
	if *m.CapStrips != 40 || *m.CapBundles != (Span{2, 2}) || *m.CapNails != 240 {
		t.Errorf("cap: %d strips, %+v, %d nails", *m.CapStrips, m.CapBundles, *m.CapNails)
	}
	if len(m.Measure) != 0 {
		t.Errorf("to measure: %v", m.Measure)
	}
	// Not given: as trade pages have it, 80 to 120 ft a bundle of starter and 20
	// to 35 of caps.
	in.StarterBundleFt, in.CapFromStrips = nil, false
	m = take(t, in).Materials
	if *m.StarterBundles != (Span{2, 2}) || *m.CapBundles != (Span{2, 3}) || strings.Join(m.Measure, " ") != "starter_bundle cap_bundle" {
		t.Errorf("ranges: %+v %+v, %v", m.StarterBundles, m.CapBundles, m.Measure)
	}
	// The other valleys of IRC R905.2.8.2.
	for kind, want := range map[string][2]float64{"open_roll": {28, 28}, "closed": {0, 28}, "woven": {0, 28}} {
		in.Valley = kind
		v := take(t, in).Materials.Valley
		r18 := 0.0
		if v.Roll18 != nil {
			r18 = v.Roll18.In(units.Foot)
		}
		if *v.Pieces != 0 || v.Metal != nil || !near(r18, want[0], 1e-9) || !near(v.Roll36.In(units.Foot), want[1], 1e-9) {
			t.Errorf("%s: %+v", kind, v)
		}
	}
	if in.Valley = ""; !slices.Contains(take(t, in).Materials.Measure, "valley") {
		t.Error("the kind of valley is not asked for")
	}
	in.Covering = Covering{Format: "interlocking"}
	if m := take(t, in).Materials; m.StepFlashing != nil || m.CapNails != nil || m.StarterNails != nil || !slices.Contains(m.Measure, "covering.exposure") {
		t.Errorf("interlocking: %+v", m)
	}
	in.Covering.ExposureMm = p(152.4)
	if m := take(t, in).Materials; *m.StepFlashing != 50 { // 6 in: 20 and 30
		t.Errorf("own exposure: %d", *m.StepFlashing)
	}
}

// An interlocking shingle is counted by its maker; without, at IRC R905.2.6's
// two to a single shingle at least.
func TestInterlocking(t *testing.T) {
	in := Input{Slopes: []Slope{{LengthFt: p(50), RafterFt: p(20), RiseIn12: p(6)}}, WasteShare: p(0),
		Covering: Covering{Format: "interlocking", BundlesPerSquare: p(3), ShinglesPerBundle: p(28)}}
	o := take(t, in).Order
	if o.Nails != nil || *o.NailsLeast != 10*84*2 {
		t.Errorf("%+v", o)
	}
	in.Covering.NailsPerShingle = n(3)
	if o = take(t, in).Order; *o.Nails != 10*84*3 || o.NailsLeast != nil {
		t.Errorf("%+v", o)
	}
}

// Above 20:12 in older editions of IRC R905.2.6 (a city's copy), and 21:12 in
// newer (from memory), the fastening is special.
func TestSteepByEdition(t *testing.T) {
	for _, c := range []struct {
		code    string
		rise    float64
		nails   int
		special bool
	}{
		{"irc_2006", 20, 4, false}, {"irc_2006", 20.5, 6, true},
		{"irc_2018", 20.5, 4, false}, {"irc_2018", 21, 4, false}, {"irc_2018", 21.5, 6, true},
		{"obc_2012", 20.5, 6, true}, {"", 20.5, 6, true},
	} {
		in := worked()
		in.Code, in.Slopes[0].RiseIn12 = c.code, p(c.rise)
		res := take(t, in)
		if got := *res.Slopes[0].NailsPerShingle; got != c.nails || (len(res.Warnings) > 0) != c.special {
			t.Errorf("%s at %v:12: %d nails, %v", c.code, c.rise, got, res.Warnings)
		}
	}
}

func TestWaste(t *testing.T) {
	// A plain gable, 42 by 32 ft at 6:12: 71.6 ft of rake × 1½ ft over 1,502.6
	// ft² is 7.1 %, and 3 %: near the usual tenth (trade pages).
	in := worked()
	in.WasteShare = nil
	in.Runs = []Run{{Kind: "eave", LengthFt: p(84)}, {Kind: "rake", CommonRunFt: p(64), RiseIn12: p(6)}, {Kind: "ridge", LengthFt: p(42)}}
	w := take(t, in).Waste
	if want := 0.03 + 64*1.5/1344; !near(w.Share, want, 1e-9) || w.Stated || math.Abs(w.Share-0.10) > 0.005 {
		t.Errorf("%+v, want %v", w, want)
	}
	in.WasteShare = p(0.2)
	if w := take(t, in).Waste; w.Share != 0.2 || !w.Stated || !near(*w.ByRule, 0.03+64*1.5/1344, 1e-9) || !strings.Contains(w.Says, "as stated; the lines of the roof would give 10.1 %") {
		t.Errorf("stated: %+v", w)
	}
	// Hips and a valley cost more than rakes over the same plan.
	if a, b := take(t, Input{Slopes: hipped(t, 6)}).Waste, (cross{16, 6, 4, 2, 8, 0.5, 0.5}); *a.ByRule <= *take(t, Input{Slopes: b.slopes()}).Waste.ByRule {
		t.Errorf("hips %v", *a.ByRule)
	}
	// Eaves alone bound no roof: such a list is not whole, and the tenth is taken.
	in.WasteShare, in.Runs = nil, []Run{{Kind: "eave", LengthFt: p(84)}}
	if w := take(t, in).Waste; w.Share != 0.10 || w.ByRule != nil {
		t.Errorf("eaves alone: %+v", w)
	}
}

func TestFittingsRefusals(t *testing.T) {
	for _, c := range []struct {
		field  string
		change func(*Input)
	}{
		{"code", func(in *Input) { in.Code = "irc_1999" }},
		{"eave_membrane_ft", func(in *Input) { in.EaveMembraneFt = p(-1) }},
		{"eave_membrane_m", func(in *Input) { in.EaveMembraneM = p(1) }},
		{"membrane_roll_m", func(in *Input) { in.MembraneRollM = p(0) }},
		{`valley "metal"`, func(in *Input) { in.Valley = "metal" }},
		{"valley_piece_ft", func(in *Input) { in.ValleyPieceFt = p(math.Inf(1)) }},
		{"starter_bundle_ft", func(in *Input) { in.StarterBundleFt = p(0) }},
		{"cap_bundle", func(in *Input) { in.CapBundleFt = p(30) }},
		{"cap_from_strips", func(in *Input) { in.Covering.Format = "metric" }},
		{"covering.exposure_in", func(in *Input) { in.Covering.ExposureIn = p(30) }},
		{"covering.exposure_mm", func(in *Input) { in.Covering.ExposureIn, in.Covering.ExposureMm = p(5), p(127) }},
		{`penetrations[0].kind "pipe"`, func(in *Input) { in.Penetrations[0].Kind = "pipe" }},
		{"penetrations[0].width_in", func(in *Input) { in.Penetrations[0].WidthIn = p(math.NaN()) }},
		{"penetrations[0].length_mm", func(in *Input) { in.Penetrations[0].LengthMm = p(1) }},
		{"penetrations[0].slope", func(in *Input) { in.Penetrations[0].Slope = "elsewhere" }},
		{"penetrations[0].rise_in_12", func(in *Input) { in.Penetrations[0].RiseIn12 = p(6) }},
		{"runs[0].common_run", func(in *Input) { in.Runs = []Run{{Kind: "headwall", CommonRunFt: p(3)}} }},
	} {
		in := full(t)
		c.change(&in)
		if _, err := TakeOff(in); err == nil || !strings.HasPrefix(err.Error(), c.field+":") {
			t.Errorf("%s: got %v", c.field, err)
		}
	}
}

// A roof by its outlines needs the same turned, mirrored and drawn otherwise,
// and the same given in the other unit.
func TestOutlinesMovedNeedTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := full(t)
		if rapid.Bool().Draw(t, "gabled") {
			in.Slopes = drawCross(t).slopes()
		}
		other := in
		other.Slopes = moved(t, in.Slopes)
		other.EaveMembraneFt, other.EaveMembraneM = nil, p(*in.EaveMembraneFt*foot)
		other.StarterBundleFt, other.StarterBundleM = nil, p(*in.StarterBundleFt*foot)
		q := in.Penetrations[0]
		q.WidthIn, q.WidthMm, q.LengthIn, q.LengthMm = nil, p(*q.WidthIn*25.4), nil, p(*q.LengthIn*25.4)
		other.Penetrations = []Penetration{q}
		other.Covering.ExposureMm = p(127)
		a, b := take(t, in), take(t, other)
		same(t, "order", reflect.ValueOf(a.Order), reflect.ValueOf(b.Order))
		same(t, "lengths", reflect.ValueOf(a.Lengths), reflect.ValueOf(b.Lengths))
		same(t, "materials", reflect.ValueOf(a.Materials), reflect.ValueOf(b.Materials))
		same(t, "waste", reflect.ValueOf(a.Waste.Share), reflect.ValueOf(b.Waste.Share))
		same(t, "runs", reflect.ValueOf(a.Plan.Runs), reflect.ValueOf(b.Plan.Runs))
	})
}

// same compares numbers to a hair, whole ones to one, and not the words.
func same(t *rapid.T, name string, a, b reflect.Value) {
	switch a.Kind() {
	case reflect.Pointer:
		if a.IsNil() != b.IsNil() {
			t.Fatalf("%s: %v and %v", name, a, b)
		}
		if !a.IsNil() {
			same(t, name, a.Elem(), b.Elem())
		}
	case reflect.Struct:
		for i := range a.NumField() {
			same(t, name+"."+a.Type().Field(i).Name, a.Field(i), b.Field(i))
		}
	case reflect.Slice:
		if a.Len() != b.Len() {
			t.Fatalf("%s: %v and %v", name, a, b)
		}
		for i := range a.Len() {
			same(t, name, a.Index(i), b.Index(i))
		}
	case reflect.Float64:
		if !near(a.Float(), b.Float(), 1e-6) {
			t.Fatalf("%s: %v and %v", name, a, b)
		}
	case reflect.Int:
		if abs(int(a.Int()-b.Int())) > max(1, int(a.Int())/10_000) { // a hair over a whole piece
			t.Fatalf("%s: %v and %v", name, a, b)
		}
	}
}

// By its outlines a roof needs what it needs by its areas and runs.
func TestOutlinesAgreeWithRuns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawCross(t)
		in := Input{Slopes: k.slopes(), Covering: Covering{Format: "metric"}}
		a := take(t, in)
		in.Runs = []Run{}
		for i, s := range in.Slopes {
			in.Slopes[i] = Slope{Name: s.Name, RiseIn12: s.RiseIn12, PlanAreaM2: p(float64(s.Outline.PlanArea()))}
		}
		for kind, l := range map[string]*units.Length{"eave": a.Lengths.Eave, "rake": a.Lengths.Rake, "ridge": a.Lengths.Ridge, "valley": a.Lengths.Valley} {
			in.Runs = append(in.Runs, Run{Kind: kind, LengthM: p(float64(*l))})
		}
		b := take(t, in)
		// the doubled underlayment's starter needs the eaves of each slope
		if a.Order.Sheet != nil && b.Order.Sheet != nil && k.p*12 >= 4 && k.q*12 >= 4 && !near(float64(*a.Order.Sheet), float64(*b.Order.Sheet), 1e-9) {
			t.Fatalf("%v and %v", *a.Order.Sheet, *b.Order.Sheet)
		}
		if !near(a.Order.SquaresWithWaste, b.Order.SquaresWithWaste, 1e-9) || !near(float64(*a.Lengths.Cap), float64(*b.Lengths.Cap), 1e-9) {
			t.Fatalf("%+v\n%+v", a.Order, b.Order)
		}
	})
}

func TestMaterialsSay(t *testing.T) {
	in := full(t)
	us := strings.Join(take(t, in).Materials.Says, " ")
	in.Units = units.Metric
	metric := strings.Join(take(t, in).Materials.Says, " ")
	for _, c := range []struct{ got, want, not string }{
		{us, "Membrane 36 in wide", "mm"}, {us, "at least 24 in wide", "mm"},
		{metric, "Membrane 914 mm wide", " ft"}, {metric, "at least 610 mm wide", " ft"},
	} {
		if strings.Contains(c.got, c.not) || !strings.Contains(c.got, c.want) {
			t.Errorf("want %q without %q: %s", c.want, c.not, c.got)
		}
	}
	out, err := json.Marshal(take(t, in))
	if err != nil || strings.Contains(string(out), "null") {
		t.Errorf("%v %s", err, out)
	}
	var back Input
	raw, _ := json.Marshal(in)
	if err := json.Unmarshal(raw, &back); err != nil || !strings.Contains(string(raw), `"outline":"m 0,0 eave; 16,0 hip;`) {
		t.Errorf("%v %s", err, raw)
	}
	if a, b := take(t, in), take(t, back); !near(a.Order.Squares, b.Order.Squares, 1e-6) || *a.Materials.Membrane.Rolls != *b.Materials.Membrane.Rolls {
		t.Error("the input does not keep its text")
	}
}
