package portfolio

import (
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"

	"overhang/analytics/attic"
	"overhang/analytics/lifespan"
	"overhang/analytics/units"
	"overhang/models"
)

// gabled is a roof with a gable before it, whose valleys pour onto the front
// eave; mirrored turns it left for right.
func gabled(mirrored bool) models.RoofFile {
	f := file()
	inch := func(v float64) *units.Length { return ptr(units.Length(v) * units.Inch) }
	outline := func(text string) units.Outline {
		o, err := units.ParseOutline(text)
		if err != nil {
			panic(err)
		}
		if mirrored {
			for i := range o {
				o[i].X = 40*units.Foot - o[i].X
			}
		}
		return o
	}
	slope := func(id int64, name string, facing float64, eave units.Length, text string) models.Slope {
		if mirrored {
			facing = math.Mod(360-facing, 360)
		}
		return models.Slope{Row: models.Row{ID: id}, StructureID: 1, AtticID: ptr[int64](1), Name: name, Facing: &facing, Pitch: ptr(units.PitchIn12(6)), Eave: &eave, Overhang: inch(16),
			Area: ptr(outline(text).PlanArea() * units.Area(slopeFactor(.5))), EaveCover: "membrane", EaveReach: inch(36), Outline: outline(text)}
	}
	f.Structures = []models.Structure{{Row: models.Row{ID: 1}, Name: "main", Kind: "main", Heated: ptr(true), Wall: inch(7.5)}}
	f.Slopes = []models.Slope{
		slope(1, "front", 180, 28*units.Foot, "ft 0,0 eave; 14,0 valley; 20,6 valley; 26,0 eave; 40,0 rake; 40,15 ridge; 0,15 rake"),
		slope(2, "back", 0, 40*units.Foot, "ft 40,30 eave; 0,30 rake; 0,15 ridge; 40,15 rake"),
		slope(3, "entry west", 270, 6*units.Foot, "ft 14,0 eave; 14,-6 rake; 20,-6 ridge; 20,6 valley"),
		slope(4, "entry east", 90, 6*units.Foot, "ft 26,-6 eave; 26,0 valley; 20,6 ridge; 20,-6 rake"),
	}
	f.Attics[0].StructureID = 1
	f.Attics[0].CeilingArea, f.Attics[0].Insulation, f.Attics[0].AirLeaks = ptr(1150*units.SquareFoot), ptr(3.5), "many"
	f.Gutters = []models.GutterRun{{Row: models.Row{ID: 1}, StructureID: 1, SlopeID: ptr[int64](1), Name: "front gutter", Kind: "k_style", Width: inch(5), Depth: inch(3.5), Length: ptr(28 * units.Foot),
		Fall: ptr(0.005), LipReach: inch(4.25), LipDrop: inch(2.5), Downspouts: ptr(2), DownspoutArea: ptr(6 * units.SquareInch)}}
	f.Details = []models.Detail{{StructureID: 1, Name: "valley", Kind: "valley", Form: "open_metal", Width: inch(24), Drains: ptr(2)}, {StructureID: 1, Name: "pipe", Kind: "penetration", Lap: ptr(0.5), LowerEdgeOut: ptr(true)}}
	f.Roof.StructureID = ptr[int64](1)
	return f
}

func snowBranch() models.Branch {
	b := branch
	b.ClimateStation, b.DesignRain = "duluth", ptr(127.0)
	return b
}

func say(t *testing.T, f *models.RoofFile, b *models.Branch) RoofSays {
	t.Helper()
	checks, err := CheckVenting(f, b)
	if err != nil {
		t.Fatal(err)
	}
	says, faults := Say(f, checks, attic.Run, b, day("2026-06-10"))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return says
}

// Quantities, ventilation, ice and water agree on a roof and its mirror image,
// and every topic has something to say of it.
func TestAMirroredRoofSaysTheSame(t *testing.T) {
	b := snowBranch()
	one, other := gabled(false), gabled(true)
	if p, err := CheckVenting(&one, &b); err != nil || len(p) != 1 {
		t.Fatalf("%v, %v", p, err)
	} else if q, err := CheckVenting(&other, &b); err != nil || q[0].Rule().Verdict != p[0].Rule().Verdict || *q[0].Rule().Margin != *p[0].Rule().Margin {
		if q[0].Rule().Margin.Least != p[0].Rule().Margin.Least {
			t.Errorf("ventilation: %+v and %+v, %v", p[0].Rule(), q[0].Rule(), err)
		}
	}
	p, q := say(t, &one, &b), say(t, &other, &b)
	same := func(what string, a, b float64) {
		t.Helper()
		if !(math.Abs(a-b) <= 1e-6*max(1, math.Abs(a))) || a == 0 {
			t.Errorf("%s: %v and %v", what, a, b)
		}
	}
	same("squares", p.TakeOff.Order.Squares, q.TakeOff.Order.Squares)
	same("bundles", float64(*p.TakeOff.Order.Bundles), float64(*q.TakeOff.Order.Bundles))
	same("valleys", float64(*p.TakeOff.Lengths.Valley), float64(*q.TakeOff.Lengths.Valley))
	same("ridges", float64(*p.TakeOff.Lengths.Ridge), float64(*q.TakeOff.Lengths.Ridge))
	if len(p.Eaves) != 4 || len(q.Eaves) != 4 || len(p.Gutters) != 1 || len(q.Gutters) != 1 || len(p.Attics) != 1 || p.Details.Failing != q.Details.Failing || p.Details.Failing == 0 {
		t.Fatalf("%d and %d eaves, %d and %d gutters, %d attics, %d and %d details fail", len(p.Eaves), len(q.Eaves), len(p.Gutters), len(q.Gutters), len(p.Attics), p.Details.Failing, q.Details.Failing)
	}
	for i := range p.Eaves {
		same("need of "+p.Eaves[i].Slope.Name, float64(*p.Eaves[i].Rule().Need.Most), float64(*q.Eaves[i].Rule().Need.Most))
		if a, b := p.Eaves[i].Rule().Verdict, q.Eaves[i].Rule().Verdict; a != b {
			t.Errorf("%s: %s and %s", p.Eaves[i].Slope.Name, a, b)
		}
	}
	same("flow", float64(*p.Gutters[0].Result.Runoff.Flow), float64(*q.Gutters[0].Result.Runoff.Flow))
	same("capacity", p.Gutters[0].Result.Capacity.Least, q.Gutters[0].Result.Capacity.Least)
	same("peak", p.Attics[0].Result.Heat.PeakAttic.Likely, q.Attics[0].Result.Heat.PeakAttic.Likely)
	// Above the valleys lie 12 by 15 ft of the front less 36 ft² of the entry, and
	// two triangles of 18 ft² of the entry's slopes; half of it comes over the
	// front's eave, half over the entry's.
	if got := p.Gutters[0].Result.Runoff.Valleys.In(units.SquareFoot); math.Abs(got-90) > 0.1 {
		t.Errorf("the valleys bring %.1f ft²", got)
	}
}

// What is not known leaves a topic out or says so, and never fails the rest.
func TestLittleIsKnown(t *testing.T) {
	b := snowBranch()
	for _, strip := range []func(*models.RoofFile){
		func(f *models.RoofFile) { f.Slopes = nil },
		func(f *models.RoofFile) { f.Attics, f.Vents = nil, nil },
		func(f *models.RoofFile) { f.Structures, f.Covering = nil, nil },
		func(f *models.RoofFile) {
			for i := range f.Slopes {
				f.Slopes[i] = models.Slope{Row: f.Slopes[i].Row, StructureID: 1, Name: f.Slopes[i].Name}
			}
		},
		func(f *models.RoofFile) {
			f.Gutters[0] = models.GutterRun{StructureID: 1, SlopeID: ptr[int64](1), Name: "front gutter"}
		},
		func(f *models.RoofFile) { f.Details[0] = models.Detail{Name: "?", Kind: "dead_valley"} },
	} {
		f := gabled(false)
		strip(&f)
		say(t, &f, &b)
	}
	b.ClimateStation, b.DesignRain = "", nil
	f := gabled(false)
	if says := say(t, &f, &b); len(says.Attics) != 0 || says.Eaves[0].Index.Word != "not known" {
		t.Errorf("without a climate: %d attics, ice %s", len(says.Attics), says.Eaves[0].Index.Word)
	}
}

// With a climate the factor of the vents is that of the attic's heat: within
// what is published for ventilation, 3 to 10 % between none and balanced, and
// worse without vents than with them.
func TestVentsMoveALifeByTheirHeat(t *testing.T) {
	b := snowBranch()
	var tables attic.Tables
	factor := func(f models.RoofFile) lifespan.Factor {
		checks, err := CheckVenting(&f, &b)
		if err != nil {
			t.Fatal(err)
		}
		in, err := Lifespan(&f, checks, nil, tables.Look, &b, day("2026-06-10"))
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(in.Factors, func(f lifespan.Factor) bool { return f.Name == "attic ventilation" })
		return in.Factors[i]
	}
	vented := factor(gabled(false))
	bare := gabled(false)
	for i := range bare.Vents {
		bare.Vents[i].FreeArea, bare.Vents[i].Count = ptr(units.Area(0)), ptr(0)
	}
	shut := factor(bare)
	if loss := 1 - shut.Mid/vented.Mid; loss < 0.01 || loss > 0.1 {
		t.Errorf("shutting the vents costs %.1f %% of the life", 100*loss)
	}
	if !(vented.Low <= vented.Mid && vented.Mid <= vented.High && shut.High < vented.Mid) {
		t.Errorf("vented %+v, shut %+v", vented, shut)
	}
}

// What is warmed up is what roofs ask for: one table, of the branch's climate.
func TestWarmUp(t *testing.T) {
	type table struct {
		station              string
		rise, facing, height float64
		shade, shelter       string
	}
	var asked []table
	var tables attic.Tables
	heat := func(in attic.Input) (attic.Summary, error) {
		asked = append(asked, table{in.Station, *in.RiseIn12, *in.FacingDeg, *in.VentHeightM, in.Shade, in.Shelter})
		return tables.Look(in)
	}
	b := snowBranch()
	if err := WarmUp(heat, &b); err != nil {
		t.Fatal(err)
	}
	f := gabled(false)
	checks, err := CheckVenting(&f, &b)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Lifespan(&f, checks, nil, heat, &b, day("2026-06-10")); err != nil {
		t.Fatal(err)
	}
	if len(asked) < 2 || len(slices.Compact(asked)) != 1 || asked[0].station != b.ClimateStation {
		t.Errorf("asked for %+v", asked)
	}
	asked = nil
	if b.ClimateStation = ""; WarmUp(heat, &b) != nil || asked != nil {
		t.Errorf("without a climate: %+v", asked)
	}
}

// BenchmarkSay is everything that a roof says but for the year of its attic,
// which comes from tables, on all cores: ns/op over a hundred thousand is what a
// group of branches takes.
func BenchmarkSay(b *testing.B) {
	br := snowBranch()
	var tables attic.Tables
	look := func(in attic.Input) (attic.Result, error) {
		s, err := tables.Look(in)
		return attic.Result{Summary: s}, err
	}
	f := gabled(false)
	checks, err := CheckVenting(&f, &br)
	if err != nil {
		b.Fatal(err)
	}
	if _, faults := Say(&f, checks, look, &br, day("2026-06-10")); len(faults) > 0 { // fills the table
		b.Fatal(faults)
	}
	b.ResetTimer()
	var next atomic.Int64
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			f := gabled(false)
			for next.Add(1) <= int64(b.N) {
				checks, _ := CheckVenting(&f, &br)
				Say(&f, checks, look, &br, day("2026-06-10"))
			}
		})
	}
	wait.Wait()
}
