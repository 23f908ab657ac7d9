package views

import (
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

func sampleTopics() []RoofTopic {
	in := func(v float64) *units.Length { return new(units.Length(v) * units.Inch) }
	eave := EaveCut{Pitch: 0.5, Overhang: in(16), Wall: in(7.5), Cover: Term("eave_cover", "membrane"), Reach: in(36), Need: in(44.7), ClearSpace: in(1.5),
		GutterKind: "k_style", GutterWidth: in(5), GutterDepth: in(3.5), LipReach: in(4.25), LipDrop: in(2.5), SheetSpeed: new(0.4), Units: units.US}
	outline := func(s string) units.Outline {
		o, err := units.ParseOutline(s)
		if err != nil {
			panic(err)
		}
		return o
	}
	plan := PlanView{Units: units.US, Pours: []PlanViewPoint{{6, 0}, {12, 0}}, Slopes: []PlanViewSlope{
		{Name: "Front", Pitch: new(units.PitchIn12(6)), Facing: new(200.0), Area: new(7.2 * units.Square), Gutter: true,
			Outline: outline("m 0,0 eave; 6,0 valley; 9,3 valley; 12,0 eave; 18,0 rake; 18,5 ridge; 0,5 rake")},
		{Name: "Back", Pitch: new(units.PitchIn12(6)), Facing: new(20.0), Area: new(10.8 * units.Square), Outline: outline("m 18,10 eave; 0,10 rake; 0,5 ridge; 18,5 rake")},
		{Name: "Entry right", Pitch: new(units.PitchIn12(6)), Outline: outline("m 6,0 eave; 6,-2 rake; 9,-2 ridge; 9,3 valley")},
		{Name: "Entry left", Outline: outline("m 12,-2 eave; 12,0 valley; 9,3 ridge; 9,-2 rake")}, {Name: "Porch"}}}
	vents := VentBars{IntakeLeast: 300 * units.SquareInch, IntakeMost: new(360 * units.SquareInch), ExhaustLeast: 350 * units.SquareInch, ExhaustMost: new(350 * units.SquareInch),
		Blocked: 80 * units.SquareInch, Asked: new(720 * units.SquareInch), HighFrom: new(288 * units.SquareInch), HighTo: new(360 * units.SquareInch), LowFrom: new(360 * units.SquareInch), Units: units.US}
	return []RoofTopic{
		{Key: "ventilation-1", Title: Say("says.ventilation", "attic", "Main attic"), Verdict: Term("verdict", "fails"), Says: []Phrase{Plain("720 in² are asked for and 650 in² are there.")},
			Drawings: []LineDrawing{vents.Draw()}, Remedies: []RoofTopicStep{{Does: "Clear the soffit.", Why: "From a ladder that is tied off."}, {Does: "Add 8 ft of strip."}},
			Measure: []Phrase{Term("measure", "retarder")}, Cautions: []string{"Vents do not cure air leaks."},
			Facts: []RoofTopicFact{{Term: Say("roof.venting.asked"), Value: "720 in²", Note: Plain("1/300"), Source: "A rule."}, {Term: "Box", Value: "50 in²", Verdict: Term("verdict", "passes")}}, Notes: []string{"A note."}},
		{Key: "ice", Title: Say("says.ice"), Verdict: Term("verdict", "not_known"), Says: []Phrase{Plain("Front: nine inches short.")}, Drawings: []LineDrawing{eave.Draw()}, Measure: []Phrase{Term("measure", "wall")}},
		{Key: "quantities", Title: Say("roof.order"), Says: []Phrase{Plain("18 squares.")}, Drawings: []LineDrawing{*plan.Draw()}},
	}
}

var placed = regexp.MustCompile(`-?[0-9]+\.[0-9]`)

// inside says whether a sketch is well formed and all of it lies inside its box,
// a line's own width aside.
func inside(t interface {
	Helper()
	Fatalf(string, ...any)
}, s LineDrawing) {
	t.Helper()
	svg := string(s.SVG)
	d := xml.NewDecoder(strings.NewReader(svg))
	width, height := 0.0, 0.0
	check := func(x, y float64) {
		if !(x >= -1 && x <= width+1 && y >= -1 && y <= height+1) {
			t.Fatalf("%v,%v lies outside %v by %v in %s", x, y, width, height, svg)
		}
	}
	number := func(text string) float64 {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%q is no number in %s", text, svg)
		}
		return v
	}
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%v in %s", err, svg)
		}
		e, is := token.(xml.StartElement)
		if !is {
			continue
		}
		attribute := map[string]string{}
		for _, a := range e.Attr {
			attribute[a.Name.Local] = a.Value
		}
		switch e.Name.Local {
		case "svg":
			box := strings.Fields(attribute["viewBox"])
			width, height = number(box[2]), number(box[3])
			if !(width > 0 && height > 0 && height < 20*width) {
				t.Fatalf("a box of %v by %v", width, height)
			}
		case "path":
			at := placed.FindAllString(attribute["d"], -1)
			if len(at)%2 != 0 || len(at) < 4 {
				t.Fatalf("odd path %q", attribute["d"])
			}
			for i := 0; i < len(at); i += 2 {
				check(number(at[i]), number(at[i+1]))
			}
		case "circle":
			check(number(attribute["cx"]), number(attribute["cy"]))
		}
	}
	if width == 0 {
		t.Fatalf("no drawing: %s", svg)
	}
}

func TestDrawingsStayInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := func(name string, low, high float64) *units.Length {
			if rapid.IntRange(0, 3).Draw(t, name+" known") == 0 {
				return nil
			}
			return new(units.Length(rapid.Float64Range(low, high).Draw(t, name)))
		}
		e := EaveCut{Pitch: units.Pitch(rapid.Float64Range(0, 3).Draw(t, "pitch")), Overhang: length("overhang", 0, 1.5), Wall: length("wall", 0.05, 1),
			Reach: length("reach", 0, 3), Need: length("need", 0, 3), ClearSpace: length("clear", 0, 2), GutterKind: rapid.SampledFrom([]string{"", "k_style", "half_round", "box"}).Draw(t, "kind"),
			GutterWidth: length("width", 0.03, 0.4), GutterDepth: length("depth", 0.02, 0.4), LipReach: length("lip", 0, 0.4), LipDrop: length("drop", -0.05, 0.4), Units: units.Metric}
		if rapid.Bool().Draw(t, "rain") {
			e.SheetSpeed = new(rapid.Float64Range(0, 5).Draw(t, "speed"))
		}
		inside(t, e.Draw())
		area := func(name string) units.Area { return units.Area(rapid.Float64Range(0, 3).Draw(t, name)) }
		v := VentBars{IntakeLeast: area("in"), ExhaustLeast: area("out"), Blocked: area("blocked"), Units: units.US}
		if rapid.Bool().Draw(t, "bounded") {
			v.IntakeMost, v.ExhaustMost = new(v.IntakeLeast+area("more")), new(v.ExhaustLeast+area("more"))
			v.Asked, v.HighFrom, v.HighTo, v.LowFrom = new(area("asked")), new(area("from")), new(area("to")), new(area("low"))
		}
		inside(t, v.Draw())
		w, h := units.Length(rapid.Float64Range(0.5, 200).Draw(t, "w")), units.Length(rapid.Float64Range(0.5, 200).Draw(t, "h"))
		plan := PlanView{Units: units.US, Slopes: []PlanViewSlope{{Name: "a", Facing: new(rapid.Float64Range(0, 360).Draw(t, "facing")), Gutter: true,
			Outline: units.Outline{{X: 0, Y: 0, Edge: "eave"}, {X: w, Y: 0, Edge: "rake"}, {X: w / 3, Y: h, Edge: "hip"}}}}}
		inside(t, *plan.Draw())
	})
	if (PlanView{Slopes: []PlanViewSlope{{Name: "a"}}}).Draw() != nil {
		t.Error("a plan without an outline is drawn")
	}
}

// What is drawn is to scale: the membrane that is asked for stands in the
// section as long as it is, against the overhang.
func TestTheSectionIsToScale(t *testing.T) {
	over, reach := 0.6*units.Metre, 1.2*units.Metre
	s := string(EaveCut{Pitch: 0.75, Overhang: &over, Reach: &reach, Units: units.Metric}.Draw().SVG)
	ends := func(class string) (dx, dy float64) {
		m := regexp.MustCompile(`class="` + class + `" d="M([0-9.]+),([0-9.]+) L([0-9.]+),([0-9.]+)`).FindStringSubmatch(s)
		if m == nil {
			t.Fatalf("no %s in %s", class, s)
		}
		var v [4]float64
		for i := range v {
			v[i], _ = strconv.ParseFloat(m[i+1], 64)
		}
		return v[2] - v[0], v[1] - v[3]
	}
	rx, ry := ends("s-there")
	if math.Abs(ry/rx-0.75) > 0.01 {
		t.Errorf("the membrane rises %v over %v", ry, rx)
	}
	roofX, _ := ends("s-roof")
	// The roof is drawn 1.27 m on at the least; by the membrane's own length.
	if scale := math.Hypot(rx, ry) / 1.2; roofX/scale < 1.2 || roofX/scale > 4 {
		t.Errorf("the roof is drawn %.2f m long", roofX/scale)
	}
}
