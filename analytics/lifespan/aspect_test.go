package lifespan

import (
	"slices"
	"strings"
	"testing"
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
