package units

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestParseOutline(t *testing.T) {
	o, err := ParseOutline("ft 0,0 eave; 42,0 rake; 42,16 ridge; 0,16 rake")
	if err != nil {
		t.Fatal(err)
	}
	if got := o.PlanArea().In(SquareFoot); math.Abs(got-672) > 1e-9 { // 42 × 16, geometry
		t.Errorf("42 by 16 ft encloses %v ft²", got)
	}
	// A front with a gable before it: two eaves in one line.
	if _, err := ParseOutline("m 0,0 eave; 6,0 valley; 9,3 valley; 12,0 eave; 18,0 rake; 18,5 ridge; 0,5 rake"); err != nil {
		t.Error(err)
	}
	// The same, turned by any angle: what stands in line does so but for rounding.
	for degrees := range 360 {
		sin, cos := math.Sincos(float64(degrees) * math.Pi / 180)
		turned := Outline{}
		for _, c := range []Corner{{0, 0, "eave"}, {6, 0, "valley"}, {9, 3, "valley"}, {12, 0, "eave"}, {18, 0, "rake"}, {18, 5, "ridge"}, {0, 5, "rake"}} {
			x, y := float64(c.X), float64(c.Y)
			turned = append(turned, Corner{Length(x*cos - y*sin), Length(x*sin + y*cos), c.Edge})
		}
		if err := turned.Validate(); err != nil {
			t.Errorf("turned by %d°: %v", degrees, err)
		}
	}
	for _, bad := range []string{
		"0,0 eave; 1,0 rake; 1,1 ridge",                      // no unit
		"m 0,0 eave; 1,0 rake",                               // two corners
		"m 0,0 eave; 1,0 gable; 1,1 ridge",                   // no such line
		"m 0,0 eave; 0,0 rake; 1,1 ridge",                    // on one another
		"m 0,0 eave; 2,2 rake; 2,0 ridge; 0,2 rake",          // crossing
		"m 0,0 eave; 4,4 rake; 8,0 rake; 8,4 eave; 0,4 rake", // a corner on another line
		"m 0,0 eave; 1,0 rake; 2,0 rake",                     // nothing enclosed
		"m 0,0 eave; NaN,0 rake; 2,5 rake",                   // no number
		"m 0,0 eave; 900,0 rake; 900,5 ridge; 0,5 rake",      // too far
		"m 0 0 eave; 9 0 rake; 9 5 ridge",                    // no comma
		"m 0,0 ; 9,0 rake; 9,5 ridge",                        // no line
		"cubits 0,0 eave; 42,0 rake; 42,16 ridge; 0,16 r",    // no such unit
	} {
		if o, err := ParseOutline(bad); err == nil {
			t.Errorf("%q is read as %v", bad, o)
		}
	}
	if o, err := ParseOutline(" "); err != nil || o != nil {
		t.Errorf("nothing written is %v, %v", o, err)
	}
}

func TestOutlineKeepsItsText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, d := rapid.IntRange(1, 50_000).Draw(t, "w"), rapid.IntRange(100, 50_000).Draw(t, "d")
		mm := func(v int) Length { return Length(v) / 1000 }
		o := Outline{{0, 0, "eave"}, {mm(w + 100), 0, "rake"}, {mm(w + 100), mm(d), "ridge"}, {0, mm(d), "rake"}}
		text, _ := o.MarshalText()
		var back Outline
		if err := back.UnmarshalText(text); err != nil || back.String() != o.String() {
			t.Fatalf("%v comes back as %v, %v", o, back, err)
		}
		kept, _ := o.Value()
		var again Outline
		if err := again.Scan(kept); err != nil || again.String() != o.String() {
			t.Fatalf("%v is kept and comes back as %v, %v", o, again, err)
		}
	})
}

func TestEditions(t *testing.T) {
	for _, e := range Editions() {
		if got, err := EditionOf(e.Key); err != nil || got != e {
			t.Errorf("%s is found as %v, %v", e.Key, got, err)
		}
	}
	if _, err := EditionOf("irc_1999"); err == nil {
		t.Error("an edition that is not known is found")
	}
}
