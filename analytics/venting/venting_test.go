package venting

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

func p(v float64) *float64 { return &v }
func n(v int) *int         { return &v }
func b(v bool) *bool       { return &v }

// net is an opening of a known net free area in square inches.
func net(h Height, in2 float64) Opening {
	kind := Box
	if h == Low {
		kind = SoffitStrip
	}
	return Opening{Kind: kind, Count: n(1), NetEachIn2: p(in2), Height: h, BlockedShare: p(0)}
}

func attic1500(highIn2, lowIn2 float64) Input {
	return Input{
		PlanAreaFt2: p(1500), RiseIn12: p(6), Joists: b(false), RetarderClass: "none", ClimateZone: "6A",
		Openings: []Opening{net(High, highIn2), net(Low, lowIn2)},
	}
}

func check(t interface {
	Helper()
	Fatalf(string, ...any)
}, in Input) Result {
	t.Helper()
	res, err := Check(in)
	if err != nil {
		t.Fatalf("refused: %v", err)
	}
	return res
}

func (r Result) of(key string) RuleResult {
	i := slices.IndexFunc(r.Rules, func(x RuleResult) bool { return x.Code == key })
	return r.Rules[i]
}

func (r Result) verdicts() string {
	var out []string
	for _, x := range r.Rules {
		out = append(out, map[Verdict]string{Passes: "P", Fails: "F", NotKnown: "?"}[x.Verdict])
	}
	return strings.Join(out, "")
}

func in2(a units.Area) float64 { return a.In(units.SquareInch) }
func near(a, b, rel float64) bool {
	return math.Abs(a-b) <= rel*math.Max(math.Abs(a), math.Abs(b))+1e-12
}

// TestVerdicts puts one attic of 1,500 ft² before every rule. Order of the
// letters: IRC 2006, 2012, 2015, 2018, 2021, 2024, NBC 2015, OBC 2012.
//
// Sources: IRC 2006 R806.2 as copied by a Minnesota city (50 to 80 % high, or
// 1 perm); IRC 2012 and 2015 R806.2, second-hand (40 to 50 % high, or a
// retarder in zones 6 to 8); IRC 2018 to 2024, both (from memory); OBC 2012
// 9.19.1.2. (1/300, read; the quarters from memory).
func TestVerdicts(t *testing.T) {
	for _, c := range []struct {
		name     string
		high     float64
		low      float64
		retarder string
		zone     string
		want     string
	}{
		// 1/300 of 1,500 ft² is 720 in², 1/150 is 1,440 (arithmetic).
		{"the trap: 69 % high", 500, 220, "none", "6A", "PFFFFFPP"},
		{"the trap, retarder in a cold zone", 500, 220, "II", "6A", "PPPFFFPP"},
		{"the trap, retarder in a warm zone", 500, 220, "II", "4C", "PFFFFFPP"},
		{"the trap, zone not known", 500, 220, "I", "", "P??FFFPP"},
		{"the trap, nothing known of a retarder", 500, 220, "", "6A", "P??FFFPP"},
		{"half and half, no retarder, cold", 360, 360, "none", "7", "PPPFFFPP"},
		{"half and half, no retarder, warm", 360, 360, "none", "5A", "PPPPPPPP"},
		{"half and half, Class III, warm", 360, 360, "III", "3B", "PPPPPPPP"},
		{"half and half, retarder, cold", 360, 360, "I", "8", "PPPPPPPP"},
		{"half and half, retarder not known, cold", 360, 360, "", "6B", "PPP???PP"},
		{"half and half, neither known", 360, 360, "", "", "PPP???PP"},
		{"40 % high", 288, 432, "none", "5", "FPPPPPPP"},
		{"just under 40 % high", 287, 433, "none", "5", "FFFFFFPP"},
		{"just over 50 % high", 361, 360, "none", "5", "PFFFFFPP"},
		{"80 % high", 576, 144, "none", "5", "PFFFFFFF"},
		{"a quarter low is the least in Canada", 540, 180, "none", "5", "PFFFFFPP"},
		{"just over 80 % high", 577, 200, "none", "5", "FFFFFFPP"},
		{"all low", 0, 720, "none", "5", "FFFFFFFF"},
		{"all low, retarder in a cold zone", 0, 720, "II", "6", "PPPFFFFF"},
		{"all low, a bit short, retarder", 0, 719, "II", "6", "FFFFFFFF"},
		{"1/150 whatever the share", 1000, 440, "none", "6", "PPPPPPPP"},
		{"1/150 all high is still 1/150 in the IRC", 1440, 0, "none", "6", "PPPPPPFF"},
		{"one inch under 1/150 and split wrong", 1000, 439, "none", "6", "FFFFFFPP"},
		{"share right, balance short", 300, 400, "none", "5", "FFFFFFFF"},
		{"nothing", 0, 0, "none", "5", "FFFFFFFF"},
	} {
		in := attic1500(c.high, c.low)
		in.RetarderClass, in.ClimateZone = c.retarder, c.zone
		if got := check(t, in).verdicts(); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
}

// TestWorked checks the published and computed examples in numbers.
func TestWorked(t *testing.T) {
	// Arithmetic of R806.2 on 1,500 ft²: 10 ft² or 1,440 in² at 1/150; 5 ft² or
	// 720 in² at 1/300, of which 288 to 360 in² high (40 to 50 %).
	res := check(t, attic1500(500, 220))
	r := res.of("irc_2015")
	if r.OneIn != 150 || !near(in2(r.Asked.Least), 1440, 1e-12) || !near(in2(r.Margin.Least), -720, 1e-9) || !r.Margin.Known() {
		t.Errorf("the trap asks for 1,440 and lacks 720: %+v", r)
	}
	if !near(in2(*r.HighFrom), 288, 1e-12) || !near(in2(*r.HighTo), 360, 1e-12) || !near(in2(*r.LowFrom), 360, 1e-12) {
		t.Errorf("bounds of high vents: %v to %v", in2(*r.HighFrom), in2(*r.HighTo))
	}
	if !near(*res.HighShareLeast, 500.0/720, 1e-12) || !near(*res.HighShareMost, 500.0/720, 1e-12) {
		t.Errorf("share of high vents: %v", *res.HighShareLeast)
	}
	for _, want := range []string{"IRC 2015, R806.2: fails", "1,440 in² asked", "720 in² there", "hold 69 %"} {
		if !strings.Contains(r.Says, want) {
			t.Errorf("the sentence lacks %q: %s", want, r.Says)
		}
	}
	if r := res.of("irc_2006"); r.OneIn != 300 || !near(in2(r.Asked.Least), 720, 1e-12) || !near(in2(*r.HighTo), 576, 1e-12) {
		t.Errorf("2006: %+v", r)
	}

	// A vent maker's guide: 600 ft² at 1/150 is 4 ft², 576 in²: 288 high and
	// 144 at each of two eaves.
	in := Input{PlanAreaFt2: p(600), Openings: []Opening{}, RetarderClass: "none", ClimateZone: "6", Codes: []string{"irc_2018"}}
	r = check(t, in).of("irc_2018")
	i := slices.IndexFunc(r.Ways, func(w Way) bool { return w.OneIn == 150 })
	if w := r.Ways[i]; !near(in2(w.AddHigh), 288, 1e-9) || !near(in2(w.AddLow)/2, 144, 1e-9) {
		t.Errorf("600 ft² at 1/150: %+v", w)
	}

	// NBC on 140 m² (arithmetic): 1/300 is 4,667 cm², of which 1,167 at top and
	// bottom; 1/150 is 9,333 cm².
	in = Input{CeilingAreaM2: p(140), RiseIn12: p(6), Joists: b(false), Openings: []Opening{}, Codes: []string{"nbc_2015", "obc_2012"}, Units: units.Metric}
	for _, key := range in.Codes {
		r = check(t, in).of(key)
		cm2 := func(a units.Area) float64 { return math.Round(a.In(units.SquareCentimetre)) }
		if cm2(r.Asked.Least) != 4667 || cm2(*r.HighFrom) != 1167 || cm2(*r.LowFrom) != 1167 || r.OneIn != 300 {
			t.Errorf("%s: %+v", key, r)
		}
		if !strings.Contains(r.Says, "4,667 cm² asked") {
			t.Errorf("%s: %s", key, r.Says)
		}
		for _, low := range []func(*Input){
			func(in *Input) { in.RiseIn12 = p(1.99) },
			func(in *Input) { in.Joists = b(true) },
		} {
			in := in
			low(&in)
			if r = check(t, in).of(key); cm2(r.Asked.Least) != 9333 || r.OneIn != 150 {
				t.Errorf("%s doubled: %+v", key, r)
			}
		}
		in := in
		in.RiseIn12 = p(2) // 1:6 itself is not under 1:6
		if r = check(t, in).of(key); r.OneIn != 300 {
			t.Errorf("%s at 1:6: one in %d", key, r.OneIn)
		}
	}
}

// TestKinds checks what each kind of vent counts for when nothing is stamped.
// Sources stand in the table of defaults: trade pages, a 12 in throat, or from
// memory.
func TestKinds(t *testing.T) {
	for _, c := range []struct {
		name        string
		o           Opening
		least, most float64 // in²; most below 0 is no bound
		height      Height
		byDefault   bool
	}{
		{"ten boxes", Opening{Kind: Box, Count: n(10)}, 500, 600, "", true},
		{"box stamped 50", Opening{Kind: Box, Count: n(8), NetEachIn2: p(50), Height: High}, 400, 400, High, false},
		{"turbine", Opening{Kind: Turbine, Count: n(1)}, 110, 150, "", true},
		{"ridge 40 ft", Opening{Kind: Ridge, LengthFt: p(40)}, 360, 720, High, true},
		{"ridge 40 ft stamped 15.2 a foot", Opening{Kind: Ridge, LengthFt: p(40), NetPerFtIn2: p(15.2)}, 608, 608, High, false},
		{"strip, two eaves of 30 ft", Opening{Kind: SoffitStrip, LengthFt: p(30), Count: n(2)}, 540, 540, Low, true},
		{"drip edge 30 ft", Opening{Kind: DripEdgeVent, LengthFt: p(30)}, 270, 270, Low, true},
		{"vented panel 30 ft", Opening{Kind: SoffitPanel, LengthFt: p(30)}, 300, 300, Low, true},
		{"perforated panel 60 ft²", Opening{Kind: SoffitPanel, PanelAreaFt2: p(60)}, 240, 720, Low, true},
		{"perforated panel of a known 5 %", Opening{Kind: SoffitPanel, PanelAreaFt2: p(100), NetShare: p(0.05)}, 720, 720, Low, false},
		{"louvre 12 by 18", Opening{Kind: Gable, Count: n(2), GrossIn2: p(216), Height: Other}, 172.8, 259.2, Other, true},
		{"louvre, half open", Opening{Kind: Gable, Count: n(1), GrossIn2: p(216), NetShare: p(0.5)}, 108, 108, "", false},
		{"louvre stamped", Opening{Kind: Gable, Count: n(1), GrossIn2: p(216), NetEachIn2: p(100)}, 100, 100, "", false},
		{"a box of a gross size is no more than that", Opening{Kind: Box, Count: n(1), GrossIn2: p(100)}, 0, 100, "", false},
		{"a fan has no default", Opening{Kind: Powered, Count: n(1)}, 0, -1, "", false},
		{"boxes not counted", Opening{Kind: Box, NetEachIn2: p(50)}, 0, -1, "", false},
		{"a strip not measured", Opening{Kind: SoffitStrip}, 0, -1, Low, true},
		{"looked and none", Opening{Kind: Powered, Count: n(0)}, 0, 0, "", false},
		{"three quarters painted shut", Opening{Kind: SoffitStrip, LengthFt: p(40), BlockedShare: p(0.75)}, 90, 90, Low, true},
		{"a shed's upper soffit", Opening{Kind: SoffitStrip, LengthFt: p(10), Height: High}, 90, 90, High, true},
	} {
		res := check(t, Input{PlanAreaFt2: p(1000), Openings: []Opening{c.o}})
		o := res.Openings[0]
		ok := near(in2(o.Net.Least), c.least, 1e-9) && o.Height == c.height && o.ByDefault == c.byDefault && o.Source != ""
		if c.most < 0 {
			ok = ok && o.Net.Most == nil
		} else {
			ok = ok && o.Net.Most != nil && near(in2(*o.Net.Most), c.most, 1e-9)
		}
		if !ok {
			t.Errorf("%s: %+v %v", c.name, o, o.Net.Write(units.US))
		}
	}
	for _, d := range Defaults() {
		if d.Source == "" {
			t.Errorf("%s has no source", d.Kind)
		}
	}
	for _, r := range Codes() {
		if r.Source == "" || r.Section == "" || r.Edition < 2000 || r.Summary == "" {
			t.Errorf("rule %s lacks its source, section, edition or summary", r.Key)
		}
	}
}

// TestHeights: measured heights decide where a rule draws a line.
func TestHeights(t *testing.T) {
	half := func(change func(*Opening)) string {
		in := attic1500(360, 360)
		in.ClimateZone = "5"
		change(&in.Openings[0])
		return check(t, in).verdicts()
	}
	for _, c := range []struct {
		name   string
		change func(*Opening)
		want   string
	}{
		{"3 ft below the ridge", func(o *Opening) { o.BelowRidgeFt = p(3) }, "PPPPPPPP"},
		{"914 mm below the ridge", func(o *Opening) { o.BelowRidgeM = p(0.914) }, "PPPPPPPP"},
		{"4 ft below the ridge counts in 2006 only", func(o *Opening) { o.BelowRidgeFt = p(4) }, "PFFFFFPP"},
		{"2 ft above the eave vents does not count in 2006", func(o *Opening) { o.AboveEaveFt = p(2) }, "FPPPPPPP"},
		{"3 ft above the eave vents", func(o *Opening) { o.AboveEaveFt = p(3) }, "PPPPPPPP"},
		{"height not known", func(o *Opening) { o.Height = "" }, "????????"},
		{"height not known, near the ridge by tape", func(o *Opening) { o.Height, o.BelowRidgeFt = "", p(1) }, "?PPPPP??"},
		{"height not known, far above the eave by tape", func(o *Opening) { o.Height, o.AboveEaveFt = "", p(5) }, "P???????"},
		{"neither high nor low", func(o *Opening) { o.Height = Other }, "FFFFFFFF"},
	} {
		if got := half(c.change); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
	in := attic1500(360, 360)
	in.ClimateZone, in.FramingConflict = "5", true
	in.Openings[0].BelowRidgeFt = p(4)
	if got := check(t, in).verdicts(); got != "PPPPPPPP" {
		t.Errorf("framing in the way: got %s", got)
	}
	// From 2018 on low is the bottom third, by tape.
	in = attic1500(360, 360)
	in.ClimateZone = "5"
	in.Openings[1].AboveEaveFt, in.Openings[1].BelowRidgeFt = p(4), p(6)
	if got := check(t, in).verdicts(); got != "PPPFFFPP" {
		t.Errorf("low vents above the bottom third: got %s", got)
	}
}

func TestUnknownIsNotZero(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Input)
		want   string
	}{
		{"openings not looked at", func(in *Input) { in.Openings = nil }, "????????"},
		{"looked and none", func(in *Input) { in.Openings = []Opening{} }, "FFFFFFFF"},
		{"no area", func(in *Input) { in.PlanAreaFt2 = nil }, "????????"},
		{"a strip not measured, which may reach 1/150", func(in *Input) { in.Openings[1] = Opening{Kind: SoffitStrip} }, "????????"},
		{"slope and joists not known, 1/300 met", func(in *Input) { in.RiseIn12, in.Joists = nil, nil }, "PFFFFF??"},
		{"joists not known, low slope", func(in *Input) { in.RiseIn12, in.Joists = p(1), nil }, "PFFFFFFF"},
		{"joists, slope not known", func(in *Input) { in.RiseIn12, in.Joists = nil, b(true) }, "PFFFFFFF"},
		{"blockage not looked at", func(in *Input) { in.Openings[1].BlockedShare = nil }, "PFFFFFPP"},
		{"intake blocked", func(in *Input) { in.Openings[1].BlockedShare = p(1) }, "FFFFFFFF"},
	} {
		in := attic1500(500, 220)
		c.change(&in)
		res := check(t, in)
		if got := res.verdicts(); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
		for _, r := range res.Rules {
			if r.Verdict == NotKnown && len(r.Measure) == 0 {
				t.Errorf("%s: %s is not known and names nothing to measure", c.name, r.Code)
			}
		}
	}
	// Boxes without a stamp, of 50 to 60 in², beside a strip of 540 in².
	in := attic1500(0, 0)
	in.ClimateZone = "5"
	in.Openings = []Opening{{Kind: Box, Count: n(6), Height: High}, {Kind: SoffitStrip, LengthFt: p(60)}}
	if got := check(t, in).verdicts(); got != "?PPPPPPP" { // 300 to 360 high: 41.7 to 50 %
		t.Errorf("six boxes: %s", got)
	}
	// One area stands for the other, and the result says so.
	res := check(t, attic1500(500, 220))
	if s := strings.Join(res.of("nbc_2015").Notes, " "); !strings.Contains(s, "plan area is taken") {
		t.Errorf("no note that the plan area stands for the ceiling: %s", s)
	}
	in = attic1500(500, 220)
	in.CeilingAreaFt2 = p(750) // half of the space is over an unheated porch
	if r := check(t, in).of("obc_2012"); !near(in2(r.Asked.Least), 360, 1e-9) {
		t.Errorf("insulated ceiling of 750 ft² asks for %v in²", in2(r.Asked.Least))
	}
}

func TestWarnings(t *testing.T) {
	for _, c := range []struct {
		name     string
		openings []Opening
		want     string
	}{
		{"balanced", []Opening{net(High, 300), net(Low, 400)}, ""},
		{"equal", []Opening{net(High, 400), net(Low, 400)}, ""},
		{"exhaust above intake", []Opening{net(High, 500), net(Low, 220)}, "exhaust_above_intake"},
		{"maybe above intake", []Opening{{Kind: Ridge, LengthFt: p(40)}, net(Low, 500)}, "exhaust_may_exceed_intake stamped_area"},
		{"ridge and gable", []Opening{{Kind: Ridge, LengthFt: p(10), NetPerFtIn2: p(10)}, {Kind: Gable, Count: n(1), NetEachIn2: p(100), Height: Other}, net(Low, 300)}, "mixed_exhaust"},
		{"gable low down is intake", []Opening{net(High, 100), {Kind: Gable, Count: n(1), NetEachIn2: p(100), Height: Low}}, ""},
		{"two boxes are one kind", []Opening{net(High, 100), net(High, 100), net(Low, 300)}, ""},
		{"a fan alone", []Opening{{Kind: Powered, Count: n(1), NetEachIn2: p(200), Height: High}, net(Low, 400)}, "powered"},
		{"a fan with boxes", []Opening{{Kind: Powered, Count: n(1), NetEachIn2: p(200), Height: High}, net(High, 100), net(Low, 400)}, "mixed_exhaust powered_with_high powered"},
		{"a fan in a gable with a gable", []Opening{{Kind: Gable, Powered: true, Count: n(1), NetEachIn2: p(200), Height: High}, {Kind: Gable, Count: n(1), NetEachIn2: p(100), Height: High}, net(Low, 400)}, "mixed_exhaust powered_with_high powered"},
		{"no intake", []Opening{net(High, 100)}, "exhaust_above_intake no_intake"},
		{"no exhaust", []Opening{net(Low, 100)}, "no_exhaust"},
		{"painted soffit", []Opening{net(High, 100), {Kind: SoffitStrip, Count: n(1), NetEachIn2: p(400), BlockedShare: p(0.5)}}, "intake_blocked"},
		{"none", []Opening{}, ""},
		{"not looked at", nil, ""},
	} {
		var got []string
		for _, w := range check(t, Input{PlanAreaFt2: p(1500), Openings: c.openings}).Warnings {
			got = append(got, w.Key)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: got %q, want %q", c.name, strings.Join(got, " "), c.want)
		}
	}
}

func TestWays(t *testing.T) {
	// The trap under 2015: close 140 in² of high vents and add as much intake,
	// or bring both to the half of 1,440 in², intake first.
	r := check(t, attic1500(500, 220)).of("irc_2015")
	if len(r.Ways) != 2 {
		t.Fatalf("ways: %+v", r.Ways)
	}
	less, more := r.Ways[0], r.Ways[1]
	if less.OneIn != 300 || !near(in2(less.CloseHigh), 140, 1e-9) || !near(in2(less.AddLow), 140, 1e-9) || less.AddHigh != 0 {
		t.Errorf("at 1/300: %+v", less)
	}
	if more.OneIn != 150 || !near(in2(more.AddLow), 500, 1e-9) || !near(in2(more.AddHigh), 220, 1e-9) || more.CloseHigh != 0 {
		t.Errorf("at 1/150: %+v", more)
	}
	if !strings.Contains(less.Says, "first add 140 in² of intake at the eave, then close 140 in² of high vents") {
		t.Errorf("order: %s", less.Says)
	}
	// A retarder that nobody has seen would be enough in 2015.
	in := attic1500(500, 220)
	in.RetarderClass = ""
	r = check(t, in).of("irc_2015")
	if i := slices.IndexFunc(r.Ways, func(w Way) bool { return w.OneIn == 300 && w.Needs != "" && w.CloseHigh == 0 }); i < 0 || !near(in2(r.Ways[i].AddLow), 280, 1e-9) {
		t.Errorf("retarder not known: exhaust stays above intake: %+v", r.Ways)
	}
	// What is blocked is cleared before anything is cut open.
	in = attic1500(300, 500)
	in.ClimateZone = "5"
	in.Openings[1].BlockedShare = p(0.5)
	w := check(t, in).of("irc_2021").Ways[0]
	if !near(in2(w.ClearLow), 250, 1e-9) || w.AddLow != 0 || w.AddHigh != 0 || !strings.HasPrefix(w.Says, "To satisfy it: first clear the 250 in²") {
		t.Errorf("blocked intake: %+v", w)
	}
	if len(check(t, in).Cautions) == 0 {
		t.Error("ways without cautions")
	}
	if res := check(t, attic1500(720, 720)); len(res.Cautions) != 0 {
		t.Error("cautions without ways")
	}
}

func TestRefusals(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	open := func(o Opening) func(*Input) { return func(in *Input) { in.Openings = []Opening{o} } }
	for _, c := range []struct {
		field  string
		change func(*Input)
	}{
		{"plan_area_ft2", func(in *Input) { in.PlanAreaFt2 = p(0) }},
		{"plan_area_ft2", func(in *Input) { in.PlanAreaFt2 = p(-5) }},
		{"plan_area_ft2", func(in *Input) { in.PlanAreaFt2 = p(nan) }},
		{"plan_area_ft2", func(in *Input) { in.PlanAreaFt2 = p(inf) }},
		{"plan_area_m2", func(in *Input) { in.PlanAreaM2 = p(140) }}, // both units
		{"insulated_ceiling_area_m2", func(in *Input) { in.CeilingAreaM2 = p(1e6) }},
		{"rise_in_12", func(in *Input) { in.RiseIn12 = p(40) }},
		{"rise_in_12", func(in *Input) { in.RiseIn12 = p(-1) }},
		{"vapour_retarder_class", func(in *Input) { in.RetarderClass = "IV" }},
		{"climate_zone", func(in *Input) { in.ClimateZone = "9" }},
		{"climate_zone", func(in *Input) { in.ClimateZone = "6D" }},
		{"climate_zone", func(in *Input) { in.ClimateZone = "6AA" }},
		{"units", func(in *Input) { in.Units = "feet" }},
		{`codes[1] "irc_1999"`, func(in *Input) { in.Codes = []string{"irc_2015", "irc_1999"} }},
		{`openings[0].kind "whirlybird"`, open(Opening{Kind: "whirlybird"})},
		{"openings[0].count", open(Opening{Kind: Box, Count: n(-1)})},
		{"openings[0].count", open(Opening{Kind: Box, Count: n(10_001)})},
		{"openings[0].length_ft", open(Opening{Kind: Ridge, LengthFt: p(-1)})},
		{"openings[0].length_m", open(Opening{Kind: Ridge, LengthFt: p(1), LengthM: p(1)})},
		{"openings[0].length, gross, panel_area", open(Opening{Kind: Ridge, LengthFt: p(1), GrossIn2: p(1)})},
		{"openings[0].net_each", open(Opening{Kind: Ridge, LengthFt: p(1), NetEachIn2: p(1)})},
		{"openings[0].net_each", open(Opening{Kind: Gable, Count: n(1), GrossIn2: p(100), NetEachIn2: p(101)})},
		{"openings[0].net_per_ft, net_per_m", open(Opening{Kind: Box, Count: n(1), NetPerFtIn2: p(1)})},
		{"openings[0].net_share", open(Opening{Kind: Box, Count: n(1), NetShare: p(0.5)})},
		{"openings[0].net_share", open(Opening{Kind: Gable, Count: n(1), GrossIn2: p(9), NetShare: p(1.5)})},
		{"openings[0].blocked_share", open(Opening{Kind: Box, Count: n(1), BlockedShare: p(1.1)})},
		{"openings[0].height", open(Opening{Kind: Box, Height: "middle"})},
		{"openings[0].below_ridge_ft", open(Opening{Kind: Box, BelowRidgeFt: p(-1)})},
		{"openings[0].above_eave_m", open(Opening{Kind: Box, AboveEaveM: p(nan)})},
	} {
		in := attic1500(500, 220)
		c.change(&in)
		if _, err := Check(in); err == nil || !strings.HasPrefix(err.Error(), c.field+":") && !strings.HasPrefix(err.Error(), c.field+" ") {
			t.Errorf("%s: got %v", c.field, err)
		}
	}
}

func TestJSON(t *testing.T) {
	d := json.NewDecoder(strings.NewReader(`{"plan_area_ft2":1500,"rise_in_12":6,"climate_zone":"6A",
		"openings":[{"kind":"ridge","length_ft":40},{"kind":"soffit_strip","length_ft":80,"blocked_share":0.25},{"kind":"powered"}]}`))
	d.DisallowUnknownFields()
	var in Input
	if err := d.Decode(&in); err != nil {
		t.Fatal(err)
	}
	// an unbounded area and an attic of unknown area are still valid JSON
	for _, in := range []Input{in, {}, {Openings: []Opening{}}, {PlanAreaM2: p(100), Openings: []Opening{}}} {
		out, err := json.Marshal(check(t, in))
		if err != nil || bytes.Contains(out, []byte("null")) {
			t.Errorf("%v: %s", err, out)
		}
	}
}

// arbitrary attics, with everything known when exact.
func drawInput(t *rapid.T, exact bool) Input {
	maybe := func(name string, v *float64) *float64 {
		if !exact && rapid.Bool().Draw(t, name+" unknown") {
			return nil
		}
		return v
	}
	num := func(name string, a, b float64) *float64 { return p(rapid.Float64Range(a, b).Draw(t, name)) }
	in := Input{
		PlanAreaFt2:   num("plan", 200, 4000),
		RiseIn12:      maybe("rise", num("rise", 0, 18)),
		RetarderClass: rapid.SampledFrom([]string{"I", "II", "III", "none"}).Draw(t, "retarder"),
		ClimateZone:   rapid.SampledFrom([]string{"3A", "5", "6A", "8"}).Draw(t, "zone"),
		Joists:        b(rapid.Bool().Draw(t, "joists")),
		Openings:      []Opening{},
	}
	if !exact {
		if rapid.Bool().Draw(t, "retarder unknown") {
			in.RetarderClass = ""
		}
		if rapid.Bool().Draw(t, "zone unknown") {
			in.ClimateZone = ""
		}
		if rapid.Bool().Draw(t, "joists unknown") {
			in.Joists = nil
		}
	}
	for i := range rapid.IntRange(0, 4).Draw(t, "openings") {
		o := Opening{
			Kind:       rapid.SampledFrom([]Kind{Box, Turbine, Gable}).Draw(t, "kind"),
			Height:     rapid.SampledFrom([]Height{Low, High, Other}).Draw(t, "height"),
			Count:      n(rapid.IntRange(0, 8).Draw(t, "count")),
			NetEachIn2: maybe(fmt.Sprint("net", i), num("net", 0, 200)),
		}
		if !exact && rapid.Bool().Draw(t, "height unknown") {
			o.Height = ""
		}
		o.BlockedShare = num("blocked", 0, 1)
		in.Openings = append(in.Openings, o)
	}
	return in
}

// More intake with the high vents unchanged never turns a pass into a fail or
// a doubt: the share of high vents is measured on the area asked, which intake
// does not change.
func TestMoreIntakeNeverFails(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t, false)
		before := check(t, in)
		in.Openings = append(in.Openings, net(Low, rapid.Float64Range(0, 3000).Draw(t, "more")))
		after := check(t, in)
		for i, r := range before.Rules {
			if r.Verdict == Passes && after.Rules[i].Verdict != Passes {
				t.Fatalf("%s passed, and with more intake %s", r.Code, after.Rules[i].Verdict)
			}
		}
	})
}

// In the Canadian rules no added vent turns a pass into a fail. In the IRC
// added exhaust can, and only by the upper bound of its share.
func TestMoreExhaust(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t, true)
		before := check(t, in)
		in.Openings = append(in.Openings, net(High, rapid.Float64Range(0, 3000).Draw(t, "more")))
		after := check(t, in)
		for i, r := range before.Rules {
			if r.Verdict != Passes || after.Rules[i].Verdict == Passes {
				continue
			}
			over := slices.ContainsFunc(after.Rules[i].Conditions, func(c Condition) bool { return c.Key == "high_at_most" && c.Verdict == Fails })
			if !strings.HasPrefix(r.Code, "irc") || !over {
				t.Fatalf("%s passed, and with more exhaust %s", r.Code, after.Rules[i].Verdict)
			}
		}
	})
	// the bound does bite
	in := attic1500(360, 360)
	in.ClimateZone = "5"
	in.Openings = append(in.Openings, net(High, 10))
	if v := check(t, in).of("irc_2015").Verdict; v != Fails {
		t.Errorf("370 of 720 in² high: %s", v)
	}
}

// The same attic in metres and in feet has the same verdicts and areas.
func TestUnitsDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t, true)
		// known to the inch, so that the edges of the rules are hit
		in.PlanAreaFt2 = p(math.Round(*in.PlanAreaFt2))
		for i := range in.Openings {
			in.Openings[i].NetEachIn2 = p(math.Round(*in.Openings[i].NetEachIn2))
		}
		si := in
		si.PlanAreaFt2, si.PlanAreaM2, si.Units = nil, p(units.Area(*in.PlanAreaFt2*float64(units.SquareFoot)).In(units.SquareMetre)), units.Metric
		si.Openings = slices.Clone(in.Openings)
		for i, o := range si.Openings {
			si.Openings[i].NetEachIn2, si.Openings[i].NetEachCm2 = nil, p((units.Area(*o.NetEachIn2) * units.SquareInch).In(units.SquareCentimetre))
		}
		a, b := check(t, in), check(t, si)
		if a.verdicts() != b.verdicts() {
			t.Fatalf("in feet %s, in metres %s", a.verdicts(), b.verdicts())
		}
		for i := range a.Rules {
			if !near(float64(a.Rules[i].Asked.Least), float64(b.Rules[i].Asked.Least), 1e-9) {
				t.Fatalf("%s asks %v and %v", a.Rules[i].Code, a.Rules[i].Asked, b.Rules[i].Asked)
			}
		}
	})
}

// Twice the attic with twice the vents has the same verdicts.
func TestScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t, false)
		twice := in
		twice.PlanAreaFt2 = p(2 * *in.PlanAreaFt2)
		twice.Openings = slices.Concat(in.Openings, in.Openings)
		if twice.Openings == nil {
			twice.Openings = []Opening{}
		}
		if a, b := check(t, in).verdicts(), check(t, twice).verdicts(); a != b {
			t.Fatalf("once %s, twice %s", a, b)
		}
	})
}

// Learning something never turns a pass into a fail or back: what was not
// known is settled, what was settled stands.
func TestKnowingMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t, false)
		before := check(t, in)
		if in.RiseIn12 == nil {
			in.RiseIn12 = p(rapid.Float64Range(0, 18).Draw(t, "rise learnt"))
		}
		if in.Joists == nil {
			in.Joists = b(rapid.Bool().Draw(t, "joists learnt"))
		}
		if in.RetarderClass == "" {
			in.RetarderClass = rapid.SampledFrom([]string{"I", "none"}).Draw(t, "retarder learnt")
		}
		if in.ClimateZone == "" {
			in.ClimateZone = rapid.SampledFrom([]string{"4", "7"}).Draw(t, "zone learnt")
		}
		for i, o := range in.Openings {
			if o.Height == "" {
				in.Openings[i].Height = rapid.SampledFrom([]Height{Low, High, Other}).Draw(t, "height learnt")
			}
			if o.NetEachIn2 == nil {
				switch o.Kind {
				case Box:
					in.Openings[i].NetEachIn2 = p(rapid.Float64Range(50, 60).Draw(t, "stamp"))
				case Turbine:
					in.Openings[i].NetEachIn2 = p(rapid.Float64Range(110, 150).Draw(t, "stamp"))
				default:
					in.Openings[i].NetEachIn2 = p(rapid.Float64Range(0, 300).Draw(t, "stamp"))
				}
			}
		}
		after := check(t, in)
		for i, r := range before.Rules {
			a := after.Rules[i].Verdict
			if a == NotKnown || (r.Verdict != NotKnown && r.Verdict != a) {
				t.Fatalf("%s: %s, then %s", r.Code, r.Verdict, a)
			}
		}
	})
}

// A way that needs nothing else does what it says wherever in their bounds the
// areas lie: after it the rule passes, and exhaust is not above intake.
func TestWaysSatisfy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t, rapid.Bool().Draw(t, "exact"))
		for _, r := range check(t, in).Rules {
			if r.Verdict == Fails && len(r.Ways) == 0 && len(r.Measure) == 0 {
				t.Fatalf("%s fails and nothing is said of what would satisfy it", r.Code)
			}
			for _, w := range r.Ways {
				if w.HighAfter > w.LowAfter*(1+slack) {
					t.Fatalf("%s: exhaust above intake after %+v", r.Code, w)
				}
				if w.Needs != "" {
					continue
				}
				// settle every area somewhere in its bounds, then do the work
				after := in
				after.Codes = []string{r.Code}
				after.Openings = []Opening{net(Low, in2(w.AddLow)), net(High, in2(w.AddHigh))}
				toClose := in2(w.CloseHigh)
				for i, o := range in.Openings {
					bounds := map[Kind][2]float64{Box: {50, 60}, Turbine: {110, 150}}[o.Kind]
					if o.NetEachIn2 == nil {
						o.NetEachIn2 = p(rapid.Float64Range(bounds[0], max(bounds[1], 1)).Draw(t, fmt.Sprint("stamp", i)))
					}
					if w.ClearLow > 0 && o.Height == Low {
						o.BlockedShare = p(0)
					}
					if open := float64(*o.Count) * *o.NetEachIn2 * (1 - *o.BlockedShare); o.Height == High && toClose > 0 {
						closed := min(open, toClose)
						toClose -= closed
						o = net(High, open-closed)
					}
					after.Openings = append(after.Openings, o)
				}
				res := check(t, after)
				if got := res.Rules[0]; got.Verdict != Passes {
					t.Fatalf("%s after %+v: %s", r.Code, w, got.Says)
				}
				if slices.ContainsFunc(res.Warnings, func(w Warning) bool { return w.Key == "exhaust_above_intake" }) {
					t.Fatalf("%s after %+v: exhaust above intake", r.Code, w)
				}
			}
		}
	})
}

// While nobody knows where a vent stands, nobody is told to add exhaust.
func TestNoWayWithoutPlaces(t *testing.T) {
	in := Input{PlanAreaFt2: p(1500), ClimateZone: "6A", RiseIn12: p(6), Joists: b(false), Openings: []Opening{
		{Kind: Box, Count: n(6)}, {Kind: SoffitPanel, PanelAreaFt2: p(100), BlockedShare: p(0.5)},
	}}
	for _, r := range check(t, in).Rules {
		if len(r.Ways) != 0 || !slices.Contains(r.Measure, "openings[0].height") || !strings.Contains(r.Says, "First learn ") {
			t.Errorf("%s: %v, %v", r.Code, r.Ways, r.Measure)
		}
	}
	// Once placed, the way counts on the least intake and the most exhaust:
	// 200 in² open and as much to clear, and 300 to 360 in² of boxes.
	in.Openings[0].Height = High
	r := check(t, in).of("nbc_2015")
	if w := r.Ways[0]; !w.Bounded || !near(in2(w.ClearLow), 200, 1e-9) || w.AddHigh != 0 || !near(in2(w.LowAfter), 420, 1e-9) || !near(in2(w.HighAfter), 360, 1e-9) {
		t.Errorf("six boxes and half a soffit: %+v", w)
	}
	// Turbines of 330 to 450 in² cannot be brought surely into 288 to 360 in²
	// before their stamp is read; 1/150 has no such bounds.
	in = attic1500(0, 100)
	in.ClimateZone, in.Codes = "5", []string{"irc_2015"}
	in.Openings[0] = Opening{Kind: Turbine, Count: n(3), Height: High, BlockedShare: p(0)}
	if ways := check(t, in).Rules[0].Ways; len(ways) != 1 || ways[0].OneIn != 150 {
		t.Errorf("turbines without a stamp: %+v", ways)
	}
}
