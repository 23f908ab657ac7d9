package takeoff

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

func p(v float64) *float64 { return &v }
func n(v int) *int         { return &v }

func near(a, b, rel float64) bool {
	return math.Abs(a-b) <= rel*math.Max(math.Abs(a), math.Abs(b))+1e-12
}

func take(t interface {
	Helper()
	Fatalf(string, ...any)
}, in Input) Result {
	t.Helper()
	res, err := TakeOff(in)
	if err != nil {
		t.Fatalf("refused: %v", err)
	}
	return res
}

// worked is a plan of 42 by 32 ft with its overhang, at 6:12.
func worked() Input {
	return Input{
		Slopes:     []Slope{{PlanAreaFt2: p(42 * 16), RiseIn12: p(6)}, {PlanAreaFt2: p(42 * 16), RiseIn12: p(6)}},
		Covering:   Covering{Format: "strip_36"},
		WasteShare: p(0.10),
	}
}

func TestSlopeFactor(t *testing.T) {
	// √(1+(r/12)²) to four decimals, as carpenters' tables print it (geometry).
	for rise, want := range map[float64]float64{
		0: 1, 2: 1.0138, 3: 1.0308, 4: 1.0541, 5: 1.0833, 6: 1.1180, 7: 1.1577, 8: 1.2019,
		9: 1.2500, 10: 1.3017, 11: 1.3566, 12: 1.4142, 18: 1.8028,
	} {
		if got := math.Round(SlopeFactor(units.PitchIn12(rise))*1e4) / 1e4; got != want {
			t.Errorf("%v:12: got %v, want %v", rise, got, want)
		}
	}
	// Ira S. Griffith, "Carpentry" (1916): the hip's square is stepped with 17
	// on the tongue, for 16.97, and the rise on the blade. 17 is 0.2 % long.
	for rise := 1.0; rise <= 18; rise++ {
		if got, want := 12*HipFactor(units.PitchIn12(rise)), math.Hypot(17, rise); !near(got, want, 0.002) {
			t.Errorf("hip at %v:12: %v in a foot of run, %v by the square", rise, got, want)
		}
	}
}

func TestWorked(t *testing.T) {
	// Arithmetic: 1,344 ft² × 1.1180 = 1,502.6 ft² = 15.03 squares; + 10 % is
	// 16.53; × 3 is 49.6, so 50 bundles; × 80 × 4 is 5,289 nails.
	res := take(t, worked())
	o := res.Order
	round := func(v float64) float64 { return math.Round(v*100) / 100 }
	if got := math.Round(o.Area.In(units.SquareFoot)*10) / 10; got != 1502.6 {
		t.Errorf("area: %v ft²", got)
	}
	if round(o.Squares) != 15.03 || round(o.SquaresWithWaste) != 16.53 || *o.Bundles != 50 || *o.Nails != 5289 {
		t.Errorf("squares %v, with waste %v, bundles %d, nails %d", o.Squares, o.SquaresWithWaste, *o.Bundles, *o.Nails)
	}
	if want := "15.03 squares to shingle; 16.53 squares with 10 % waste: 50 bundles and 5289 nails."; res.Says != want {
		t.Errorf("got %q, want %q", res.Says, want)
	}
	// 50 bundles hold 50 × 80/3 strips of 4 nails.
	if *o.NailsForBundles != 5333 {
		t.Errorf("nails for the bundles: %d", *o.NailsForBundles)
	}
	// 100 bundles of 22 shingles at 4 nails: common practice, no source.
	if got := Nails(100, 22, 4); got != 8800 {
		t.Errorf("100 bundles: %d nails", got)
	}
	// The same plane by its eave and rafter: 16 ft of run is 17.89 ft of rafter.
	in := worked()
	for i := range in.Slopes {
		in.Slopes[i] = Slope{LengthFt: p(42), RafterFt: p(16 * SlopeFactor(units.PitchIn12(6))), RiseIn12: p(6)}
	}
	if by := take(t, in).Order; !near(float64(by.Area), float64(o.Area), 1e-12) || *by.Bundles != 50 {
		t.Errorf("by length and rafter: %v", by)
	}
}

func TestFormats(t *testing.T) {
	// Geometry: in² to the weather of one shingle, and the count of 100 ft².
	for _, c := range []struct {
		key       string
		faceIn2   float64
		square    float64
		nails4    int
		nails6    int
		tolerance float64
	}{
		{"strip_36", 36 * 5, 80, 320, 480, 1e-12},
		{"metric", 39.375 * 5.625, 65, 260, 390, 0.001},
	} {
		i := slices.IndexFunc(Formats(), func(f Format) bool { return f.Key == c.key })
		f := Formats()[i]
		if f.ShinglesPerSquare != c.square || !near(14400/c.faceIn2, c.square, c.tolerance) {
			t.Errorf("%s: %v to the square", c.key, f.ShinglesPerSquare)
		}
		in := Input{Slopes: []Slope{{PlanAreaFt2: p(100), RiseIn12: p(4)}}, Covering: Covering{Format: c.key}, WasteShare: p(0)}
		in.Slopes[0].PlanAreaFt2 = p(100 / SlopeFactor(units.PitchIn12(4)))
		if got := take(t, in).Order; *got.Nails != c.nails4 || *got.Bundles != 3 {
			t.Errorf("%s: %d nails and %d bundles to the square", c.key, *got.Nails, *got.Bundles)
		}
		in.HighWind = true
		if got := *take(t, in).Order.Nails; got != c.nails6 {
			t.Errorf("%s in high wind: %d nails to the square", c.key, got)
		}
	}
	for _, f := range Formats() {
		if f.Source == "" || f.Says == "" {
			t.Errorf("%s has no source or words", f.Key)
		}
	}

	for _, c := range []struct {
		name     string
		covering Covering
		bundles  int // -1 not known
		nails    int
		measure  string
		warning  string
	}{
		{"nothing known", Covering{}, -1, -1, "covering.format covering.bundles_per_square covering.shingles_per_bundle covering.nails_per_shingle", ""},
		{"interlocking, nothing known", Covering{Format: "interlocking"}, -1, -1, "covering.bundles_per_square covering.shingles_per_bundle covering.nails_per_shingle", ""},
		{"interlocking, counted", Covering{Format: "interlocking", BundlesPerSquare: p(3), ShinglesPerBundle: p(28), NailsPerShingle: n(2)}, 30, 1680, "", ""},
		{"interlocking, nails not known", Covering{Format: "interlocking", BundlesPerSquare: p(3), ShinglesPerBundle: p(28)}, 30, -1, "covering.nails_per_shingle", ""},
		{"heavy, five bundles", Covering{Format: "other", BundlesPerSquare: p(5), ShinglesPerSquare: p(100)}, 50, 4000, "", ""},
		{"by what a bundle covers", Covering{Format: "other", BundleCoversFt2: p(100.0 / 3)}, 30, -1, "covering.shingles_per_bundle", ""},
		{"by what a bundle covers, in metres", Covering{Format: "other", BundleCoversM2: p(units.Square.In(units.SquareMetre) / 3)}, 30, -1, "covering.shingles_per_bundle", ""},
		// Often quoted, and inconsistent: 29 × 3 × 1.25 ft² = 108.75 ft².
		{"29 strips to a bundle", Covering{Format: "strip_36", ShinglesPerBundle: p(29)}, 30, 3480, "", "count_does_not_fit"},
		{"27 strips to a bundle", Covering{Format: "strip_36", ShinglesPerBundle: p(27)}, 30, 3240, "", ""},
	} {
		in := Input{Slopes: []Slope{{LengthFt: p(50), RafterFt: p(20), RiseIn12: p(6)}}, Runs: []Run{}, Covering: c.covering, WasteShare: p(0)}
		res := take(t, in)
		is := func(got *int, want int) bool { return (got == nil) == (want < 0) && (got == nil || *got == want) }
		if !is(res.Order.Bundles, c.bundles) || !is(res.Order.Nails, c.nails) {
			t.Errorf("%s: %s", c.name, res.Says)
		}
		if got := strings.Join(res.Measure, " "); got != c.measure {
			t.Errorf("%s: to measure: %q, want %q", c.name, got, c.measure)
		}
		warned := ""
		for _, w := range res.Warnings {
			warned += w.Key
		}
		if warned != c.warning {
			t.Errorf("%s: warnings %q, want %q", c.name, warned, c.warning)
		}
	}
}

// TestSlopes: the slopes at which IRC R905.2.2 and R905.2.6 change.
func TestSlopes(t *testing.T) {
	for _, c := range []struct {
		rise    float64
		layers  int
		nails   int // 0 none
		warning string
	}{
		{0, 0, 0, "below_2_in_12"},
		{1.99, 0, 0, "below_2_in_12"},
		{2, 2, 4, "double_underlayment"},
		{3.99, 2, 4, "double_underlayment"},
		{4, 1, 4, ""},
		{20, 1, 4, ""},
		{20.5, 1, 6, "very_steep"},
		{21.5, 1, 6, "very_steep"},
		{36, 1, 6, "very_steep"},
	} {
		in := worked()
		in.Slopes = []Slope{{Name: "north", LengthFt: p(40), RafterFt: p(17), RiseIn12: p(c.rise)}}
		res := take(t, in)
		s := res.Slopes[0]
		got := 0
		if s.NailsPerShingle != nil {
			got = *s.NailsPerShingle
		}
		key := ""
		for _, w := range res.Warnings {
			key += w.Key
			if !strings.HasPrefix(w.Says, "north: ") {
				t.Errorf("warning without the slope's name: %s", w.Says)
			}
		}
		if *s.Layers != c.layers || got != c.nails || key != c.warning {
			t.Errorf("%v:12: layers %d, nails %d, %q", c.rise, *s.Layers, got, key)
		}
		if low := res.LowSlopeArea > 0; low != (c.layers == 0) || low != (res.Order.Squares == 0) {
			t.Errorf("%v:12: low slope %v, order %v", c.rise, res.LowSlopeArea, res.Order.Squares)
		}
	}
	says := func(rise float64) string {
		in := worked()
		in.Slopes[0].RiseIn12 = p(rise)
		return take(t, in).Warnings[0].Says
	}
	if says(20.5) == says(21.5) {
		t.Error("older and newer line of special fastening read alike")
	}
}

func TestUnderlayment(t *testing.T) {
	// 34 ft up the slope and 36 in sheets that show 34 in: 12 courses of 36 in,
	// 36 ft of sheet (arithmetic).
	in := worked()
	in.WasteShare, in.UnderlaymentRollFt2 = p(0), p(432)
	in.Slopes = []Slope{{LengthFt: p(40), RafterFt: p(34), RiseIn12: p(6)}}
	o := take(t, in).Order
	if got := o.Sheet.In(units.SquareFoot); !near(got, 40*36, 1e-9) || *o.Rolls != 4 {
		t.Errorf("one layer: %v ft², %d rolls", got, *o.Rolls)
	}
	// 17 ft up the slope showing 17 in: 12 courses of 36 in and a 19 in starter.
	in.Slopes = []Slope{{LengthFt: p(40), RafterFt: p(17), RiseIn12: p(3)}}
	o = take(t, in).Order
	if got, want := o.Sheet.In(units.SquareFoot), 40*(36+19.0/12); !near(got, want, 1e-9) || *o.Rolls != 4 {
		t.Errorf("two layers: %v ft², want %v, %d rolls", got, want, *o.Rolls)
	}
	// Without the eave's length the starter is missing, and that is said.
	in.Slopes = []Slope{{PlanAreaFt2: p(600), RiseIn12: p(3)}, {PlanAreaFt2: p(600), RiseIn12: p(3)}}
	res := take(t, in)
	if k := len(res.Notes); !strings.Contains(res.Notes[k-1], "19 in starter") || strings.Contains(res.Notes[k-2], "starter") {
		t.Errorf("notes: %v", res.Notes)
	}
}

func TestRuns(t *testing.T) {
	in := worked()
	in.Runs = []Run{
		{Kind: "eave", LengthFt: p(42)}, {Kind: "eave", LengthFt: p(42)},
		{Kind: "rake", CommonRunFt: p(16), RiseIn12: p(6)}, {Kind: "rake", LengthFt: p(17.888543819998318)},
		{Kind: "ridge", LengthM: p(12.8016)}, // 42 ft
		{Kind: "hip", CommonRunFt: p(10), RiseIn12: p(6)},
		{Kind: "valley", CommonRunM: p(3.048), RiseIn12: p(6)},
	}
	l := take(t, in).Lengths
	// A hip at 6:12 is 18 in a foot of run: 12² + 12² + 6² = 18² (geometry).
	rake := 2 * 17.888543819998318
	for _, c := range []struct {
		name string
		got  *units.Length
		want float64
	}{
		{"eave", l.Eave, 84}, {"rake", l.Rake, rake}, {"ridge", l.Ridge, 42}, {"hip", l.Hip, 15}, {"valley", l.Valley, 15},
		{"starter", l.Starter, 84}, {"cap", l.Cap, 57}, {"drip edge", l.DripEdge, 84 + rake},
	} {
		if !near(c.got.In(units.Foot), c.want, 1e-9) {
			t.Errorf("%s: %v ft, want %v", c.name, c.got.In(units.Foot), c.want)
		}
	}
	// 119.8 ft in pieces that show 118 in: 12.2, so 13.
	if *l.DripEdgePieces != 13 {
		t.Errorf("pieces: %d", *l.DripEdgePieces)
	}
	in.StarterOnRakes, in.DripEdgePieceM = true, p(3)
	l = take(t, in).Lengths
	// 36.5 m in pieces that show 2.949 m: 12.4, so 13.
	if !near(l.Starter.In(units.Foot), 84+rake, 1e-9) || *l.DripEdgePieces != 13 {
		t.Errorf("starter on rakes: %v, pieces %d", l.Starter.In(units.Foot), *l.DripEdgePieces)
	}
	// Left out is not known; a list is whole, but for a run without a length.
	in = worked()
	if l := take(t, in).Lengths; l.Eave != nil || l.Cap != nil || l.DripEdgePieces != nil {
		t.Errorf("runs not known: %+v", l)
	}
	in.Runs = []Run{{Kind: "eave", LengthFt: p(84)}, {Kind: "rake"}, {Kind: "hip", CommonRunFt: p(10)}}
	res := take(t, in)
	if l := res.Lengths; l.Starter == nil || l.Rake != nil || l.DripEdge != nil || l.DripEdgePieces != nil || l.Cap != nil || *l.Ridge != 0 {
		t.Errorf("a rake not measured: %+v", l)
	}
	if got := strings.Join(res.Measure, " "); got != "runs[1].length runs[2].length" {
		t.Errorf("to measure: %s", got)
	}
}

func TestUnknown(t *testing.T) {
	for _, c := range []struct {
		slope   Slope
		measure string
		order   bool
	}{
		{Slope{PlanAreaFt2: p(600)}, "slopes[0].rise_in_12 runs", false},
		{Slope{RiseIn12: p(6)}, "slopes[0].plan_area runs", false},
		{Slope{RiseIn12: p(6), LengthFt: p(10)}, "slopes[0].rafter runs", false},
		{Slope{RiseIn12: p(6), RafterFt: p(10)}, "slopes[0].length runs", false},
		{Slope{LengthFt: p(10), RafterFt: p(10)}, "slopes[0].rise_in_12 runs", true},
		{Slope{}, "slopes[0].rise_in_12 slopes[0].plan_area runs", false},
	} {
		res := take(t, Input{Slopes: []Slope{c.slope}, Covering: Covering{Format: "metric"}})
		if got := strings.Join(res.Measure, " "); got != c.measure || (res.Order != nil) != c.order {
			t.Errorf("%+v: %q, order %v", c.slope, got, res.Order)
		}
		if !c.order {
			if want := "The area is not known yet."; !strings.HasPrefix(res.Says, want) {
				t.Errorf("got %q", res.Says)
			}
			continue
		}
		// without the rise neither layers nor the count of nails is known
		if o := res.Order; *o.Bundles != 4 || o.Nails != nil || o.Sheet != nil || res.Slopes[0].Layers != nil {
			t.Errorf("%+v: %+v", c.slope, o)
		}
	}
	in := worked()
	in.WasteShare = nil
	if res := take(t, in); res.Order.WasteShare != 0.10 || !strings.Contains(strings.Join(res.Notes, " "), "usual tenth") {
		t.Errorf("waste not stated: %+v", res)
	}
	in = worked()
	in.Units = units.Metric
	if res := take(t, in); res.Says != "139.6 m² to shingle; 153.6 m² with 10 % waste: 50 bundles and 5289 nails." {
		t.Errorf("metric: %s", res.Says)
	}
}

func TestRefusals(t *testing.T) {
	slope := func(s Slope) func(*Input) { return func(in *Input) { in.Slopes = []Slope{{RiseIn12: p(6)}, s} } }
	run := func(r Run) func(*Input) { return func(in *Input) { in.Runs = []Run{r} } }
	cover := func(c Covering) func(*Input) { return func(in *Input) { in.Covering = c } }
	for _, c := range []struct {
		field  string
		change func(*Input)
	}{
		{"slopes", func(in *Input) { in.Slopes = nil }},
		{"waste_share", func(in *Input) { in.WasteShare = p(-0.1) }},
		{"waste_share", func(in *Input) { in.WasteShare = p(10) }},
		{"units", func(in *Input) { in.Units = "si" }},
		{"underlayment_roll_ft2", func(in *Input) { in.UnderlaymentRollFt2 = p(0) }},
		{"drip_edge_piece_m", func(in *Input) { in.DripEdgePieceM = p(0.05) }},
		{"drip_edge_piece_m", func(in *Input) { in.DripEdgePieceFt, in.DripEdgePieceM = p(10), p(3) }},
		{"slopes[1].rise_in_12", slope(Slope{RiseIn12: p(40)})},
		{"slopes[1].rise_in_12", slope(Slope{RiseIn12: p(-1)})},
		{"slopes[1].rise_in_12", slope(Slope{RiseIn12: p(math.NaN())})},
		{"slopes[1].plan_area_ft2", slope(Slope{PlanAreaFt2: p(0)})},
		{"slopes[1].plan_area_m2", slope(Slope{PlanAreaM2: p(-3)})},
		{"slopes[1].plan_area_m2", slope(Slope{PlanAreaM2: p(math.Inf(1))})},
		{"slopes[1].plan_area_m2", slope(Slope{PlanAreaFt2: p(9), PlanAreaM2: p(3)})},
		{"slopes[1].length_ft", slope(Slope{LengthFt: p(1e5)})},
		{"slopes[1].rafter_m", slope(Slope{RafterM: p(-1)})},
		{"slopes[1].rafter", slope(Slope{PlanAreaFt2: p(9), RafterFt: p(3)})},
		{`runs[0].kind "gutter"`, run(Run{Kind: "gutter"})},
		{"runs[0].length_ft", run(Run{Kind: "eave", LengthFt: p(-1)})},
		{"runs[0].length_m", run(Run{Kind: "eave", LengthFt: p(1), LengthM: p(1)})},
		{"runs[0].common_run", run(Run{Kind: "ridge", CommonRunFt: p(1), RiseIn12: p(6)})},
		{"runs[0].common_run", run(Run{Kind: "hip", CommonRunFt: p(1), LengthFt: p(1)})},
		{"runs[0].rise_in_12", run(Run{Kind: "hip", CommonRunFt: p(1), RiseIn12: p(37)})},
		{`covering.format "slate"`, cover(Covering{Format: "slate"})},
		{"covering.bundles_per_square", cover(Covering{BundlesPerSquare: p(0)})},
		{"covering.bundle_covers_ft2", cover(Covering{BundleCoversFt2: p(-1)})},
		{"covering.bundle_covers", cover(Covering{BundleCoversFt2: p(33.3), BundlesPerSquare: p(3)})},
		{"covering.shingles_per_square", cover(Covering{ShinglesPerSquare: p(2)})},
		{"covering.shingles_per_bundle", cover(Covering{ShinglesPerBundle: p(22), ShinglesPerSquare: p(65)})},
		{"covering.nails_per_shingle", cover(Covering{NailsPerShingle: n(0)})},
	} {
		in := worked()
		c.change(&in)
		if _, err := TakeOff(in); err == nil || !strings.HasPrefix(err.Error(), c.field+":") {
			t.Errorf("%s: got %v", c.field, err)
		}
	}
}

func TestJSON(t *testing.T) {
	d := json.NewDecoder(strings.NewReader(`{"slopes":[{"name":"south","plan_area_ft2":672,"rise_in_12":6},{"plan_area_m2":62}],
		"runs":[{"kind":"eave","length_ft":42}],"covering":{"format":"metric"},"waste_share":0.12}`))
	d.DisallowUnknownFields()
	var in Input
	if err := d.Decode(&in); err != nil {
		t.Fatal(err)
	}
	for _, in := range []Input{in, worked(), {Slopes: []Slope{{}}}} {
		out, err := json.Marshal(take(t, in))
		if err != nil || bytes.Contains(out, []byte("null")) {
			t.Errorf("%v: %s", err, out)
		}
	}
}

func drawInput(t *rapid.T) Input {
	in := Input{
		Covering:   Covering{Format: rapid.SampledFrom([]string{"strip_36", "metric"}).Draw(t, "format")},
		WasteShare: p(rapid.Float64Range(0, 0.3).Draw(t, "waste")),
		HighWind:   rapid.Bool().Draw(t, "wind"),
	}
	for range rapid.IntRange(1, 6).Draw(t, "slopes") {
		in.Slopes = append(in.Slopes, Slope{
			PlanAreaFt2: p(rapid.Float64Range(1, 3000).Draw(t, "plan")),
			RiseIn12:    p(rapid.Float64Range(0, 24).Draw(t, "rise")),
		})
	}
	return in
}

// A mirrored roof, and the same in metres, needs the same.
func TestMirrorAndUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t)
		a := take(t, in)
		mirror := in
		mirror.Slopes = slices.Clone(in.Slopes)
		slices.Reverse(mirror.Slopes)
		for i, s := range mirror.Slopes {
			mirror.Slopes[i].PlanAreaFt2 = nil
			mirror.Slopes[i].PlanAreaM2 = p((units.Area(*s.PlanAreaFt2) * units.SquareFoot).In(units.SquareMetre))
		}
		b := take(t, mirror)
		if !near(a.Order.Squares, b.Order.Squares, 1e-9) || !near(float64(a.LowSlopeArea), float64(b.LowSlopeArea), 1e-9) ||
			*a.Order.Bundles != *b.Order.Bundles || !near(float64(*a.Order.Sheet), float64(*b.Order.Sheet), 1e-9) || abs(*a.Order.Nails-*b.Order.Nails) > 1 {
			t.Fatalf("%+v\n%+v", a.Order, b.Order)
		}
	})
}

// More plan, more waste or wind never needs less; a true area is never under
// its plan; and what is ordered is enough, by less than one bundle.
func TestMoreNeedsMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t)
		a := take(t, in)
		plan := 0.0
		for _, s := range in.Slopes {
			plan += *s.PlanAreaFt2
		}
		if got := (a.Order.Area + a.LowSlopeArea).In(units.SquareFoot); got < plan*(1-1e-9) {
			t.Fatalf("true area %v under plan %v", got, plan)
		}
		if whole := float64(*a.Order.Bundles) / 3; whole < a.Order.SquaresWithWaste*(1-1e-8) || whole-a.Order.SquaresWithWaste >= 1.0/3 {
			t.Fatalf("%d bundles for %v squares", *a.Order.Bundles, a.Order.SquaresWithWaste)
		}
		if *a.Order.NailsForBundles < *a.Order.Nails-1 {
			t.Fatalf("%d nails for the bundles and %d for the area", *a.Order.NailsForBundles, *a.Order.Nails)
		}
		more := in
		more.HighWind = true
		more.WasteShare = p(*in.WasteShare + rapid.Float64Range(0, 0.2).Draw(t, "more waste"))
		more.Slopes = append(slices.Clone(in.Slopes), Slope{PlanAreaFt2: p(rapid.Float64Range(1, 500).Draw(t, "more plan")), RiseIn12: p(6)})
		b := take(t, more)
		if b.Order.Squares < a.Order.Squares || *b.Order.Bundles < *a.Order.Bundles || *b.Order.Nails < *a.Order.Nails || *b.Order.Sheet < *a.Order.Sheet {
			t.Fatalf("%+v\n%+v", a.Order, b.Order)
		}
	})
}

// A hip is the diagonal of its run and its common rafter, at any pitch: the
// two factors agree.
func TestHipAgreesWithRafter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pitch := units.PitchIn12(rapid.Float64Range(0, 36).Draw(t, "rise"))
		if got, want := HipFactor(pitch), math.Hypot(1, SlopeFactor(pitch)); !near(got, want, 1e-12) {
			t.Fatalf("%v and %v", got, want)
		}
	})
}

func abs(v int) int {
	if v < 0 {
		return -v
	}
	return v
}
