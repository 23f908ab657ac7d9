package takeoff

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

// outline reads corners in metres: "0,0 eave; 4,0 rake; ...".
func outline(t interface {
	Helper()
	Fatalf(string, ...any)
}, corners string) units.Outline {
	t.Helper()
	o, err := units.ParseOutline("m " + corners)
	if err != nil {
		t.Fatalf("%s: %v", corners, err)
	}
	return o
}

// hipped is an L of two wings 8 m wide with hips at its ends: six slopes.
func hipped(t interface {
	Helper()
	Fatalf(string, ...any)
}, rise float64) []Slope {
	t.Helper()
	var out []Slope
	for _, s := range [][2]string{
		{"south", "0,0 eave; 16,0 hip; 12,4 ridge; 4,4 hip"},
		{"west", "0,16 eave; 0,0 hip; 4,4 ridge; 4,12 hip"},
		{"north end", "8,16 eave; 0,16 hip; 4,12 hip"},
		{"inner east", "8,8 eave; 8,16 hip; 4,12 ridge; 4,4 valley"},
		{"inner north", "16,8 eave; 8,8 valley; 4,4 ridge; 12,4 hip"},
		{"east end", "16,0 eave; 16,8 hip; 12,4 hip"},
	} {
		out = append(out, Slope{Name: s[0], Outline: outline(t, s[1]), RiseIn12: p(rise)})
	}
	return out
}

func corner(x, y float64, edge string) units.Corner {
	return units.Corner{X: units.Length(x), Y: units.Length(y), Edge: edge}
}

// cross is a gable of 2h by w with a gable of b by e before its south side,
// centred at c, of pitch q against the main p: their eaves are level, so the
// valleys climb to v = q·b/(2p) up the main slope.
type cross struct{ w, h, b, e, c, p, q float64 }

func (k cross) v() float64 { return k.q * k.b / (2 * k.p) }

func (k cross) slopes() []Slope {
	v, l, r := k.v(), k.c-k.b/2, k.c+k.b/2
	return []Slope{
		{Name: "south", RiseIn12: p(12 * k.p), Outline: units.Outline{corner(0, 0, "eave"), corner(l, 0, "valley"), corner(k.c, v, "valley"), corner(r, 0, "eave"), corner(k.w, 0, "rake"), corner(k.w, k.h, "ridge"), corner(0, k.h, "rake")}},
		{Name: "north", RiseIn12: p(12 * k.p), Outline: units.Outline{corner(k.w, 2*k.h, "eave"), corner(0, 2*k.h, "rake"), corner(0, k.h, "ridge"), corner(k.w, k.h, "rake")}},
		{Name: "west", RiseIn12: p(12 * k.q), Outline: units.Outline{corner(l, -k.e, "rake"), corner(k.c, -k.e, "ridge"), corner(k.c, v, "valley"), corner(l, 0, "eave")}},
		{Name: "east", RiseIn12: p(12 * k.q), Outline: units.Outline{corner(r, -k.e, "eave"), corner(r, 0, "valley"), corner(k.c, v, "ridge"), corner(k.c, -k.e, "rake")}},
	}
}

func drawCross(t *rapid.T) cross {
	k := cross{
		w: rapid.Float64Range(10, 30).Draw(t, "w"), h: rapid.Float64Range(3, 8).Draw(t, "h"),
		e: rapid.Float64Range(0.5, 6).Draw(t, "e"), p: rapid.Float64Range(0.2, 1.2).Draw(t, "p"),
		b: rapid.Float64Range(2, 8).Draw(t, "b"),
	}
	k.c = rapid.Float64Range(k.b/2+0.5, k.w-k.b/2-0.5).Draw(t, "c")
	// the small ridge stays under the main one
	k.q = rapid.Float64Range(0.3, 0.95).Draw(t, "share of the height") * 2 * k.p * k.h / k.b
	if k.q > 2.9 {
		k.q = 2.9
	}
	return k
}

// moved turns a drawing, may mirror it, and begins and turns each outline
// elsewhere: the same roof.
func moved(t *rapid.T, slopes []Slope) []Slope {
	sin, cos := math.Sincos(rapid.Float64Range(0, 2*math.Pi).Draw(t, "turn"))
	x, y := rapid.Float64Range(-50, 50).Draw(t, "x"), rapid.Float64Range(-50, 50).Draw(t, "y")
	mirror := rapid.Bool().Draw(t, "mirror")
	out := slices.Clone(slopes)
	for i, s := range slopes {
		var o units.Outline
		for _, c := range s.Outline {
			if mirror {
				c.X = -c.X
			}
			o = append(o, corner(x+cos*float64(c.X)-sin*float64(c.Y), y+sin*float64(c.X)+cos*float64(c.Y), c.Edge))
		}
		if rapid.Bool().Draw(t, "other way round") {
			n := len(o)
			back := slices.Clone(o)
			slices.Reverse(back)
			for k := range back {
				back[k].Edge = o[(2*n-k-2)%n].Edge
			}
			o = back
		}
		k := rapid.IntRange(0, len(o)-1).Draw(t, "first corner")
		out[i].Outline = append(slices.Clone(o[k:]), o[:k]...)
		if out[i].Outline.Validate() != nil {
			t.Skip("two eaves in one line, turned, are taken for lines that cross when rounding has it so")
		}
	}
	if rapid.Bool().Draw(t, "list from the end") {
		slices.Reverse(out)
	}
	return out
}

func read(t interface {
	Helper()
	Fatalf(string, ...any)
}, slopes []Slope) Plan {
	t.Helper()
	plan, err := ReadPlan(slopes)
	if err != nil {
		t.Fatalf("refused: %v", err)
	}
	return plan
}

// drained is the sum of what each eave of a slope takes, straight and poured.
func drained(plan Plan, name string) (sheet, poured float64) {
	for _, d := range plan.Drains {
		if d.Name == name {
			sheet += float64(d.Sheet)
			poured += float64(d.Total - d.Sheet)
		}
	}
	return sheet, poured
}

func TestPlanOfHips(t *testing.T) {
	plan := read(t, hipped(t, 6))
	// Geometry. Plan 16 × 8 + 8 × 8 m; 6:12 is 1.1180. A hip or valley of 4 m
	// of common run is 4 × 1.5 m at 6:12 (12² + 12² + 6² = 18²).
	if !near(float64(plan.PlanArea), 192, 1e-12) || !near(float64(*plan.Area), 192*math.Sqrt(1.25), 1e-12) {
		t.Errorf("plan %v, true %v", plan.PlanArea, *plan.Area)
	}
	r := plan.Runs
	for _, c := range []struct {
		name string
		got  *units.Length
		want float64
	}{
		{"eave", r.Eave, 16 + 16 + 8 + 8 + 8 + 8}, {"rake", r.Rake, 0}, {"ridge", r.Ridge, 16}, {"hip", r.Hip, 5 * 6}, {"valley", r.Valley, 6},
		{"wall", r.Wall, 0}, {"headwall", r.Headwall, 0}, {"open", r.Open, 0},
	} {
		if c.got == nil || !near(float64(*c.got), c.want, 1e-9) {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
	if len(plan.Warnings)+len(plan.Measure)+len(plan.Notes) != 0 {
		t.Errorf("%v %v %v", plan.Warnings, plan.Measure, plan.Notes)
	}
	// Each slope beside the valley drains 8 m² into it, a triangle of 4 by 4 m,
	// and 24 m² straight (geometry). One half of the 16 m² comes over each of the
	// two eaves that end at the inner corner.
	for _, name := range []string{"inner east", "inner north"} {
		if sheet, poured := drained(plan, name); !near(sheet, 24, 1e-9) || !near(poured, 8, 1e-9) {
			t.Errorf("%s: %v straight, %v poured", name, sheet, poured)
		}
	}
	for _, d := range plan.Drains {
		for _, q := range d.Pours {
			if !near(float64(q.Point.X), 8, 1e-9) || !near(float64(q.Point.Y), 8, 1e-9) || strings.Join(q.Slopes, ",") != "inner east,inner north" {
				t.Errorf("pours at %v from %v", q.Point, q.Slopes)
			}
		}
		// From outside, the inner corner is the left end of the one eave and the
		// right end of the other.
		if d.Name == "inner north" && !near(float64(d.Pours[0].At), 8, 1e-9) || d.Name == "inner east" && d.Pours[0].At != 0 {
			t.Errorf("%s pours at %v", d.Name, d.Pours[0].At)
		}
	}
	if got := *plan.Slopes[0].Rafter; !near(float64(got), 4*math.Sqrt(1.25), 1e-9) {
		t.Errorf("rafter %v", got)
	}
	for i, want := range []float64{180, 270, 0, 90, 0, 90} {
		if got := *plan.Slopes[i].Bearing; !near(got, want, 1e-9) {
			t.Errorf("%s falls to %v", plan.Slopes[i].Name, got)
		}
	}
}

// Hips and valleys of equal pitches at a square corner, measured on the planes,
// are the hip factor times the common run.
func TestHipFactorByGeometry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rise := rapid.Float64Range(0.5, 30).Draw(t, "rise")
		r := read(t, hipped(t, rise)).Runs
		if want := 4 * HipFactor(units.PitchIn12(rise)); !near(float64(*r.Valley), want, 1e-9) || !near(float64(*r.Hip), 5*want, 1e-9) {
			t.Fatalf("valley %v and hips %v, want %v each", *r.Valley, *r.Hip, want)
		}
	})
}

// Unequal pitches: lengths, meeting planes and water against the geometry, on
// drawings turned, mirrored and begun anywhere.
func TestPlanOfCross(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawCross(t)
		plan := read(t, moved(t, k.slopes()))
		v := k.v()
		valley := 2 * math.Hypot(math.Hypot(k.b/2, v), k.p*v)
		rake := 4*math.Hypot(k.h, k.p*k.h) + 2*math.Hypot(k.b/2, k.q*k.b/2)
		for _, c := range []struct {
			name string
			got  *units.Length
			want float64
		}{
			{"eave", plan.Runs.Eave, 2*k.w - k.b + 2*k.e}, {"rake", plan.Runs.Rake, rake},
			{"ridge", plan.Runs.Ridge, k.w + k.e + v}, {"valley", plan.Runs.Valley, valley}, {"hip", plan.Runs.Hip, 0},
		} {
			if !near(float64(*c.got), c.want, 1e-6) {
				t.Fatalf("%s: %v, want %v", c.name, *c.got, c.want)
			}
		}
		if len(plan.Warnings)+len(plan.Notes) > 0 {
			t.Fatalf("%v %v", plan.Warnings, plan.Notes)
		}
		for _, l := range plan.Lines {
			if len(l.Slopes) == 2 && (l.Gap == nil || *l.Gap > 1e-6) {
				t.Fatalf("gap %+v", l)
			}
		}
		// Each valley takes half of the small gable's width of the main slope and
		// what of the small slope lies above its eave's end: b·h/2 together.
		for _, c := range []struct {
			name          string
			sheet, poured float64
		}{
			{"south", k.h * (k.w - k.b), k.b * k.h / 2}, {"north", k.h * k.w, 0},
			{"west", k.e * k.b / 2, k.b * k.h / 4}, {"east", k.e * k.b / 2, k.b * k.h / 4},
		} {
			sheet, poured := drained(plan, c.name)
			if !near(sheet, c.sheet, 1e-6) || !near(poured, c.poured, 1e-6) {
				t.Fatalf("%s: %v straight and %v poured, want %v and %v", c.name, sheet, poured, c.sheet, c.poured)
			}
		}
		if math.Abs(float64(plan.LostArea)) > 1e-6 {
			t.Fatalf("lost %v: %v", plan.LostArea, plan.Losses)
		}
	})
}

// dormered is a slope of 12 by 6 m, falling south, drawn in three with a dormer
// in it: the strip below the dormer, and what stands left and right of it.
func dormered(t *testing.T) []Slope {
	var out []Slope
	for _, s := range []struct {
		name, corners string
		rise          float64
	}{
		{"below", "0,0 eave; 12,0 rake; 12,2 open; 8,2 headwall; 4,2 open; 0,2 rake", 6},
		{"left", "0,2 open; 4,2 wall; 4,3 valley; 6,5 open; 6,6 ridge; 0,6 rake", 6},
		{"right", "8,2 open; 12,2 rake; 12,6 ridge; 6,6 open; 6,5 valley; 8,3 wall", 6},
		{"dormer west", "4,2 rake; 6,2 ridge; 6,5 valley; 4,3 eave", 6},
		{"dormer east", "8,2 eave; 8,3 valley; 6,5 ridge; 6,2 rake", 6},
	} {
		out = append(out, Slope{Name: s.name, Outline: outline(t, s.corners), RiseIn12: p(s.rise)})
	}
	return out
}

// Water crosses open lines, and a valley that ends on a slope runs on down it.
func TestPlanOfDormer(t *testing.T) {
	plan := read(t, dormered(t))
	if len(plan.Warnings) > 0 || plan.LostArea > 1e-9 {
		t.Errorf("%v, lost %v", plan.Warnings, plan.Losses)
	}
	// Geometry: left and right of the dormer 4 m by 6 m come straight to the
	// eave, and 4 m by 2 m below it. A valley takes the slope above it, 3 m deep
	// on one side and 1 m on the other over 2 m, 4 m², and the dormer's triangle
	// of 2 m²; it ends at 4,3 and runs on down to the eave at 4 m.
	sheet, poured := drained(plan, "below")
	if !near(sheet, 4*6*2+4*2, 1e-9) || !near(poured, 12, 1e-9) {
		t.Errorf("%v straight, %v poured", sheet, poured)
	}
	if d := plan.Drains[0]; len(d.Pours) != 2 || !near(float64(d.Pours[0].At), 4, 1e-9) || !near(float64(d.Pours[1].At), 8, 1e-9) || !near(float64(d.Pours[0].PlanArea), 6, 1e-9) ||
		strings.Join(d.Pours[0].Slopes, ",") != "left,dormer west" {
		t.Errorf("%+v", d.Pours)
	}
	// The dormer's own eaves take 2 m² each, over 1 m.
	if sheet, _ := drained(plan, "dormer west"); !near(sheet, 2, 1e-9) {
		t.Errorf("dormer: %v", sheet)
	}
	// The open lines are counted once and in no run.
	if got := float64(*plan.Runs.Open); !near(got, 8+math.Hypot(1, 0.5), 1e-9) {
		t.Errorf("open: %v", got)
	}
	if got := float64(*plan.Runs.Wall); !near(got, 2*math.Hypot(1, 0.5), 1e-9) {
		t.Errorf("wall: %v", got)
	}
}

func TestDeadValleys(t *testing.T) {
	for _, c := range []struct {
		name, says string
		slopes     []string
	}{
		{"two slopes face one another", "the valley between slopes[0] and slopes[1], which has no fall along it", []string{
			"0,0 ridge; 6,0 rake; 6,4 valley; 0,4 rake", "0,4 valley; 6,4 rake; 6,8 ridge; 0,8 rake"}},
		{"a slope falls against a wall", "the headwall of slopes[0] at corner 1, which has no fall along it", []string{"0,0 headwall; 6,0 rake; 6,4 ridge; 0,4 rake"}},
		{"a valley ends at a wall", "the valley between slopes[0] and slopes[1], which ends where its water has nowhere to go", []string{
			"0,0 valley; 4,4 ridge; 0,4 wall", "0,0 wall; 4,0 ridge; 4,4 valley"}},
	} {
		var slopes []Slope
		area := 0.0
		for _, o := range c.slopes {
			slopes = append(slopes, Slope{Outline: outline(t, o), RiseIn12: p(4)})
			area += float64(slopes[len(slopes)-1].Outline.PlanArea())
		}
		plan := read(t, slopes)
		if !near(float64(plan.LostArea), area, 1e-9) || len(plan.Losses) != 1 || !strings.Contains(plan.Losses[0].Says, c.says) {
			t.Errorf("%s: %+v", c.name, plan.Losses)
		}
		if !slices.ContainsFunc(plan.Warnings, func(w Warning) bool { return w.Key == "dead_valley" }) {
			t.Errorf("%s: warnings %v", c.name, plan.Warnings)
		}
	}
}

func TestPlanesThatPart(t *testing.T) {
	slopes := hipped(t, 6)
	slopes[4].RiseIn12 = p(8) // inner north no longer fits its neighbours
	plan := read(t, slopes)
	said := ""
	for _, w := range plan.Warnings {
		said += w.Key + ": " + w.Says + "\n"
	}
	// 4 m of run at 2 in more in twelve is 667 mm, or 26.25 in (arithmetic): set
	// to meet at the eave of the one line, it shows along another.
	if !strings.Contains(said, "planes_part: inner east and inner north do not meet along their valley: the planes come 26.25 in apart") {
		t.Errorf("got %s", said)
	}
	if in, err := TakeOff(Input{Slopes: slopes, Units: units.Metric}); err != nil || !slices.ContainsFunc(in.Plan.Warnings, func(w Warning) bool { return strings.Contains(w.Says, "667 mm") }) {
		t.Errorf("metric: %v %v", in.Plan, err)
	}
	// A ridge out of the middle lifts one eave, which is told.
	gable := []Slope{
		{Name: "front", RiseIn12: p(6), Outline: outline(t, "0,0 eave; 9,0 rake; 9,4 ridge; 0,4 rake")},
		{Name: "back", RiseIn12: p(6), Outline: outline(t, "0,4 ridge; 9,4 rake; 9,7 eave; 0,7 rake")},
	}
	plan = read(t, gable)
	if len(plan.Notes) != 1 || !strings.Contains(plan.Notes[0], "the eave of back lies 1.6 ft above") || !near(float64(*plan.Slopes[1].EaveHeight), 0.5, 1e-9) {
		t.Errorf("%v", plan.Notes)
	}
	// Named wrongly, alone, or otherwise on each side.
	gable[0].Outline[2].Edge, gable[1].Outline[0].Edge = "valley", "valley"
	gable[1].Outline[1].Edge = "hip"
	plan = read(t, gable)
	keys := ""
	for _, w := range plan.Warnings {
		keys += w.Key + " "
	}
	if keys != "line_misnamed line_alone " {
		t.Errorf("%s", keys)
	}
	gable[1].Outline[0].Edge = "ridge"
	if plan = read(t, gable); plan.Warnings[0].Key != "line_named_two_ways" {
		t.Errorf("%v", plan.Warnings)
	}
}

func TestFallWithoutEave(t *testing.T) {
	// A triangle of rakes with a neighbour whose facing turns the drawing: the
	// front's fall is down on the paper and it faces east, 90°, so that what
	// faces south falls to the left.
	front := Slope{Name: "front", RiseIn12: p(6), FacingDeg: p(90), Outline: outline(t, "0,0 eave; 9,0 rake; 9,4 ridge; 0,4 rake")}
	odd := Slope{Name: "odd", RiseIn12: p(6), FacingDeg: p(180), Outline: outline(t, "20,0 rake; 24,0 rake; 24,4 rake")}
	plan := read(t, []Slope{front, odd})
	if got := plan.Slopes[1].Bearing; got == nil || !near(*got, 270, 1e-9) {
		t.Errorf("falls to %v", got)
	}
	// alone, north is up
	if plan = read(t, []Slope{odd}); !near(*plan.Slopes[0].Bearing, 180, 1e-9) || len(plan.Notes) != 1 {
		t.Errorf("%+v", plan)
	}
	// and without a facing it is not known, with its water and its rakes
	odd.FacingDeg = nil
	plan = read(t, []Slope{odd})
	if plan.Slopes[0].Bearing != nil || plan.Runs.Rake != nil || plan.Area == nil || !near(float64(plan.LostArea), 8, 1e-9) || strings.Join(plan.Measure, " ") != "slopes[0].facing_deg" {
		t.Errorf("%+v", plan)
	}
	// a pitch that is not known leaves the water known
	front.RiseIn12 = nil
	plan = read(t, []Slope{front})
	if plan.Runs.Rake != nil || *plan.Runs.Eave != 9 || plan.Area != nil || !near(float64(plan.Drains[0].Total), 36, 1e-9) || strings.Join(plan.Measure, " ") != "slopes[0].rise_in_12" {
		t.Errorf("%+v", plan)
	}
	if plan = read(t, []Slope{{}}); plan.Says != "No slope has an outline." || plan.Measure[0] != "slopes[0].outline" {
		t.Errorf("%+v", plan)
	}
}

func TestPlanRefusals(t *testing.T) {
	for _, c := range []struct {
		slope Slope
		err   string
	}{
		{Slope{Outline: outline(t, "0,0 eave; 9,0 rake; 9,4 eave; 0,4 rake")}, "slopes[0].outline: its eaves must all face one way"},
		{Slope{Outline: outline(t, "0,0 eave; 9,0 eave; 9,4 ridge; 0,4 rake")}, "slopes[0].outline: its eaves must all face one way"},
		{Slope{Outline: units.Outline{corner(0, 0, "eave"), corner(1, 0, "rake")}}, "slopes[0].outline: must have 3"},
		{Slope{Outline: units.Outline{corner(0, 0, "eave"), corner(math.NaN(), 0, "rake"), corner(1, 1, "rake")}}, "slopes[0].outline corner 2: must lie"},
		{Slope{FacingDeg: p(400), Outline: outline(t, "0,0 eave; 9,0 rake; 9,4 ridge")}, "slopes[0].facing_deg: 400 is too large"},
		{Slope{RiseIn12: p(40), Outline: outline(t, "0,0 eave; 9,0 rake; 9,4 ridge")}, "slopes[0].rise_in_12: 40 is too large"},
		{Slope{PlanAreaM2: p(9), Outline: outline(t, "0,0 eave; 9,0 rake; 9,4 ridge")}, "slopes[0].outline: give either"},
		{Slope{LengthM: p(9), Outline: outline(t, "0,0 eave; 9,0 rake; 9,4 ridge")}, "slopes[0].outline: give either"},
	} {
		if _, err := TakeOff(Input{Slopes: []Slope{c.slope}}); err == nil || !strings.HasPrefix(err.Error(), c.err) {
			t.Errorf("got %v, want %s", err, c.err)
		}
	}
}

// Whatever the outlines, all the water is accounted for: polygons at random,
// most of them no roofs.
func TestWaterIsKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var slopes []Slope
		for range rapid.IntRange(1, 4).Draw(t, "slopes") {
			x, y := float64(rapid.IntRange(0, 3).Draw(t, "x"))*4, float64(rapid.IntRange(0, 3).Draw(t, "y"))*4
			var o units.Outline
			n := rapid.IntRange(3, 9).Draw(t, "corners")
			for k := range n {
				sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(n))
				far := rapid.Float64Range(1, 5).Draw(t, "far")
				o = append(o, corner(x+far*cos, y+far*sin, rapid.SampledFrom(units.Edges[1:]).Draw(t, "edge")))
			}
			o[0].Edge = "eave"
			if o.Validate() == nil {
				slopes = append(slopes, Slope{Outline: o, RiseIn12: p(rapid.Float64Range(1, 20).Draw(t, "rise"))})
			}
		}
		plan := read(t, slopes)
		sum := float64(plan.LostArea)
		for _, d := range plan.Drains {
			sum += float64(d.Total)
			if d.Sheet < -1e-9 {
				t.Fatalf("%v", d)
			}
		}
		if !near(sum, float64(plan.PlanArea), 1e-9) {
			t.Fatalf("%v drains or is lost of %v", sum, plan.PlanArea)
		}
		if _, err := json.Marshal(plan); err != nil {
			t.Fatal(err)
		}
	})
}

// Squares of a checkerboard of hips, valleys and open lines, so that water is
// handed on many times.
func TestWaterIsKeptAcrossLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var slopes []Slope
		n := rapid.IntRange(2, 4).Draw(t, "n")
		kinds := []string{"open", "valley", "hip", "ridge", "eave", "wall"}
		for i := range n {
			for j := range n {
				x, y := float64(i)*3, float64(j)*3
				o := units.Outline{corner(x, y, ""), corner(x+3, y, ""), corner(x+3, y+3, ""), corner(x, y+3, "")}
				for k := range o {
					o[k].Edge = rapid.SampledFrom(kinds[:4]).Draw(t, "kind")
				}
				s := Slope{Outline: o, RiseIn12: p(6), FacingDeg: p(float64(rapid.IntRange(0, 7).Draw(t, "facing")) * 45)}
				if rapid.Bool().Draw(t, "eave") {
					o[rapid.IntRange(0, 3).Draw(t, "at")].Edge = rapid.SampledFrom(kinds[4:]).Draw(t, "edge")
				}
				slopes = append(slopes, s)
			}
		}
		plan := read(t, slopes)
		sum := float64(plan.LostArea)
		for _, d := range plan.Drains {
			sum += float64(d.Total)
		}
		if !near(sum, float64(plan.PlanArea), 1e-9) {
			t.Fatalf("%v drains or is lost of %v", sum, plan.PlanArea)
		}
	})
}
