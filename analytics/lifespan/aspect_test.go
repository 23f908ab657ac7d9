package lifespan

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Each aspect knows what it does not know, says why and whence, and stays within
// a modest reach of one: the narrow grid of ISO 15686-8, 0.9 to 1.1 (from
// memory), with a little room for what is worst.
func TestAspects(t *testing.T) {
	classes := map[Class]bool{}
	names := map[string]bool{}
	for _, a := range Aspects() {
		if names[a.Name] || !slices.Contains(Classes(), a.Class) || len(a.Source) < 20 {
			t.Errorf("%s: twice there, or without class or source", a.Name)
		}
		names[a.Name], classes[a.Class] = true, true
		unknown, err := Of(a.Name, "")
		if err != nil {
			t.Errorf("%s: %v", a.Name, err)
		}
		narrower := false
		for _, s := range a.States {
			f, err := Of(a.Name, s.Key)
			if err != nil || f.validate() != nil || f.Reason == "" || f.Class != a.Class {
				t.Errorf("%s %q: %+v, %v", a.Name, s.Key, f, err)
			}
			if f.Mid < 0.85 || f.Mid > 1.1 || f.High/f.Low > 1.4 {
				t.Errorf("%s %q is not modest: %+v", a.Name, s.Key, f)
			}
			narrower = narrower || f.High/f.Low < unknown.High/unknown.Low
		}
		if !narrower {
			t.Errorf("%s: knowing it narrows nothing", a.Name)
		}
	}
	for _, c := range Classes() {
		if !classes[c] {
			t.Errorf("no aspect is of the class %s", c)
		}
	}
	for _, wrong := range [][2]string{{"colour", "blue"}, {"taste", ""}} {
		if _, err := Of(wrong[0], wrong[1]); err == nil || !strings.Contains(err.Error(), wrong[0]) {
			t.Errorf("%v: error %v", wrong, err)
		}
	}
	// The table is the caller's own.
	Aspects()[0].States[0].Mid = 3
	if f, _ := Of("colour", "dark"); f.Mid != 0.95 {
		t.Error("the table was changed through its copy")
	}
}

func TestFreezeThaw(t *testing.T) {
	days := func(v float64) *float64 { return &v }
	few, _ := FreezeThaw(days(40))
	many, _ := FreezeThaw(days(180))
	unknown, err := FreezeThaw(nil)
	if err != nil || few.Mid <= many.Mid || unknown.High/unknown.Low <= few.High/few.Low || few.validate() != nil || many.validate() != nil {
		t.Errorf("few %+v, many %+v, unknown %+v, %v", few, many, unknown, err)
	}
	for _, wrong := range []float64{-1, 400} {
		if _, err := FreezeThaw(days(wrong)); err == nil {
			t.Errorf("%v days a year were taken", wrong)
		}
	}
}

// The median of a hotter place is never longer, a little hotter is a little shorter, what
// is not of asphalt feels it half as much, and far from what the table is meant for less is sure.
func TestSunAndHeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cool := rapid.Float64Range(-20, 60).Draw(t, "cool")
		by := rapid.Float64Range(0, 5).Draw(t, "by")
		bitumen := rapid.Bool().Draw(t, "bitumen")
		a, first := SunAndHeat(&cool, bitumen)
		b, second := SunAndHeat(v(cool+by), bitumen)
		if first != nil || second != nil || a.validate() != nil || b.validate() != nil {
			t.Fatal(first, second, a.validate(), b.validate())
		}
		if b.Mid > a.Mid || math.Log(a.Mid/b.Mid) > 0.0232*by+1e-9 {
			t.Fatalf("%v °C: %v, %v °C: %v", cool, a.Mid, cool+by, b.Mid)
		}
		in := plausible(t)
		in.Explain = false
		warm := in
		in.Factors, warm.Factors = []Factor{a}, []Factor{{Name: b.Name, Low: b.Mid * a.Low / a.Mid, Mid: b.Mid, High: b.Mid * a.High / a.Mid}} // as wide
		if x, y := estimate(t, in), estimate(t, warm); y.WornOutAge.Middle > x.WornOutAge.Middle*(1+1e-6) {
			t.Fatalf("at %v °C %v, at %v °C %v", cool, x.WornOutAge.Middle, cool+by, y.WornOutAge.Middle)
		}
	})
	for _, c := range []struct {
		agesAt, low, mid, high float64
	}{
		// By hand: 2^(−14.7/30), 2^(0.5/60), 2^(7.4/60); spreads 0.03 and a quarter of the logarithm.
		{phoenix, 0.6347, 0.7120, 0.7987}, {29, 0.9704, 1, 1.0305}, {inReading, 0.9747, 1.0058, 1.0379}, {duluth, 1.0347, 1.0892, 1.1467},
	} {
		f := placed(t, c.agesAt, true)
		near(t, "low", f.Low, c.low, 2e-4)
		near(t, "mid", f.Mid, c.mid, 2e-4)
		near(t, "high", f.High, c.high, 2e-4)
		tile := placed(t, c.agesAt, false)
		near(t, "of tile", tile.Mid, math.Sqrt(f.Mid), 1e-9)
	}
	unknown, err := SunAndHeat(nil, true)
	if err != nil || !unknown.NotKnown || unknown.Mid != 1 || unknown.validate() != nil {
		t.Errorf("unknown %+v, %v", unknown, err)
	}
	for agesAt := 0.0; agesAt <= 60; agesAt++ {
		if f := placed(t, agesAt, true); f.High/f.Low > unknown.High/unknown.Low {
			t.Errorf("known to age at %v °C is wider than not known: %+v", agesAt, f)
		}
	}
	if a, b := placed(t, 60, true), placed(t, hottestPlace, true); a.Mid != b.Mid {
		t.Errorf("beyond the hottest place published it goes on: %v, %v", a.Mid, b.Mid)
	}
	if a, b := placed(t, -20, true), placed(t, coolestPlace, true); a.Mid != b.Mid {
		t.Errorf("beyond the coolest place it goes on: %v, %v", a.Mid, b.Mid)
	}
	for _, wrong := range []float64{-100, 100, math.NaN()} {
		if _, err := SunAndHeat(&wrong, true); err == nil {
			t.Errorf("a place of %v °C was taken", wrong)
		}
	}
}
