package attic

import (
	"math"
	"slices"
	"strings"
	"testing"

	"overhang/analytics/climate"
	"overhang/analytics/units"
)

func number(v float64) *float64 { return &v }

// full is an attic of which all is known: 1,500 ft² under a 6:12 roof that
// faces south, vents balanced to 1/300 (360 in² low and high).
func full() Input {
	return Input{
		Year: snowy(), CeilingAreaFt2: number(1500), IntakeIn2: number(360), ExhaustIn2: number(360),
		VentHeightFt: number(6), RiseIn12: number(6), FacingDeg: number(180), Shade: "dark", InsulationR: number(20),
		CeilingLeaks: "some", RetarderClass: "II", Shelter: "some",
	}
}

func TestRefusals(t *testing.T) {
	for want, spoil := range map[string]func(in *Input){
		"station":                func(in *Input) { in.Year = nil },
		"station: ":              func(in *Input) { in.Year, in.Station = nil, "nowhere at all" },
		"ceiling_area_ft2":       func(in *Input) { in.CeilingAreaFt2 = number(0) },
		"ceiling_area_m2":        func(in *Input) { in.CeilingAreaM2 = number(140) },
		"intake_in2":             func(in *Input) { in.IntakeIn2 = number(-1) },
		"intake: ":               func(in *Input) { in.IntakeIn2 = number(2000 * 144) },
		"exhaust_most_in2":       func(in *Input) { in.ExhaustMostIn2 = number(100) },
		"exhaust_cm2":            func(in *Input) { in.ExhaustCm2 = number(100) },
		"vent_height_ft":         func(in *Input) { in.VentHeightFt = number(math.Inf(1)) },
		"rise_in_12":             func(in *Input) { in.RiseIn12 = number(40) },
		"facing_deg":             func(in *Input) { in.FacingDeg = number(361) },
		"shade":                  func(in *Input) { in.Shade = "purple" },
		"insulation_r":           func(in *Input) { in.InsulationR = number(math.NaN()) },
		"insulation_rsi":         func(in *Input) { in.InsulationRSI = number(3) },
		"ceiling_leaks":          func(in *Input) { in.CeilingLeaks = "none" },
		"vapour_retarder_class":  func(in *Input) { in.RetarderClass = "IV" },
		"shelter":                func(in *Input) { in.Shelter = "windy" },
		"units":                  func(in *Input) { in.Units = "old" },
		"year: must have":        func(in *Input) { in.Year = &climate.Year{} },
		"year: hour 5: pressure": func(in *Input) { in.Year = copyOf(); in.Year.Hours[5].Pressure = math.NaN() },
		"year: hour 7: air":      func(in *Input) { in.Year = copyOf(); in.Year.Hours[7].Air = units.Temperature(math.NaN()) },
		"year: hour 9: sun":      func(in *Input) { in.Year = copyOf(); in.Year.Hours[9].Beam = math.NaN() },
	} {
		in := full()
		spoil(&in)
		if _, err := Run(in); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
		if _, err := new(Tables).Look(in); err == nil {
			t.Errorf("%s: the tables take it", want)
		}
	}
}

func copyOf() *climate.Year {
	y := *snowy()
	y.Hours = append([]climate.Hour(nil), y.Hours...)
	return &y
}

// The same attic in feet and in metres is the same.
func TestEitherUnit(t *testing.T) {
	a, err := full().read()
	if err != nil {
		t.Fatal(err)
	}
	in := full()
	in.CeilingAreaFt2, in.CeilingAreaM2 = nil, number(1500*0.09290304)
	in.IntakeIn2, in.IntakeCm2 = nil, number(360*6.4516)
	in.ExhaustIn2, in.ExhaustCm2 = nil, number(360*6.4516)
	in.VentHeightFt, in.VentHeightM = nil, number(6*0.3048)
	in.InsulationR, in.InsulationRSI = nil, number(20*0.1761)
	b, err := in.read()
	if err != nil {
		t.Fatal(err)
	}
	for i := range a.span {
		if !a.span[i].known() || math.Abs(a.span[i].likely-b.span[i].likely) > 1e-9*a.span[i].likely {
			t.Errorf("%s: %v in feet, %v in metres", fields[i], a.span[i], b.span[i])
		}
	}
	if got := a.span[intake].likely; math.Abs(got-1.0/600) > 1e-12 {
		t.Errorf("360 in² over 1,500 ft² is %v, not 1/600", got)
	}
}

// What is not known widens the result and is asked for; what is known lies
// within.
func TestUnknownWidens(t *testing.T) {
	known, err := Run(full())
	if err != nil {
		t.Fatal(err)
	}
	if len(known.Measure) != 0 {
		t.Errorf("all is known and %v is asked for", known.Measure)
	}
	if r := known.Heat.PeakCovering; r.Least != r.Most {
		t.Errorf("all is known and the peak runs from %v to %v", r.Least, r.Most)
	}
	if p := known.Ageing.Pace; p != (Range{1, 1, 1}) || known.Ageing.LifeFactor != p {
		t.Errorf("balanced vents age at %v of balanced ones, life factor %v", p, known.Ageing.LifeFactor)
	}
	in := full()
	in.InsulationR, in.CeilingLeaks, in.Shade, in.Shelter, in.RetarderClass, in.VentHeightFt = nil, "", "", "", "", nil
	wide, err := Run(in)
	if err != nil {
		t.Fatal(err)
	}
	for name, r := range map[string][2]Range{
		"peak":   {wide.Heat.PeakCovering, known.Heat.PeakCovering},
		"attic":  {wide.Heat.PeakAttic, known.Heat.PeakAttic},
		"ageing": {wide.Ageing.Reference, known.Ageing.Reference},
		"house":  {wide.Air.House, known.Air.House},
		"melt":   {{wide.WinterLeast.Melt, wide.Winter.Melt, wide.WinterMost.Melt}, {known.Winter.Melt, known.Winter.Melt, known.Winter.Melt}},
		"frost":  {{wide.WinterLeast.Frost, wide.Winter.Frost, wide.WinterMost.Frost}, {known.Winter.Frost, known.Winter.Frost, known.Winter.Frost}},
	} {
		if !(r[0].Least < r[0].Most && r[0].Least <= r[0].Likely && r[0].Likely <= r[0].Most) {
			t.Errorf("%s: %+v is no range", name, r[0])
		}
		if r[0].Least > r[1].Least+1e-9 || r[0].Most < r[1].Most-1e-9 {
			t.Errorf("%s: %+v does not hold %v", name, r[0], r[1].Likely)
		}
	}
	for _, field := range []string{"insulation", "ceiling_leaks", "shade"} {
		if !strings.Contains(strings.Join(wide.Measure, " "), field) {
			t.Errorf("%s is not asked for: %v", field, wide.Measure)
		}
	}
	nothing, err := Run(Input{Year: snowy()})
	if err != nil {
		t.Fatal(err)
	}
	if nothing.Measure[0] != "ceiling_area" || len(nothing.Says) < 2 || len(nothing.Cautions) == 0 {
		t.Errorf("of an attic of which nothing is known: %v", nothing)
	}
	if l := nothing.Ageing.LifeFactor; l.Least < 0.85 || l.Most > 1.1 {
		t.Errorf("vents move the life from %v to %v, far from the published 3 to 10 %%", l.Least, l.Most)
	}
}

// Exhaust without intake is warned of, with the house's air that it draws.
func TestExhaustAboveIntakeIsWarnedOf(t *testing.T) {
	in := full()
	in.IntakeIn2, in.ExhaustIn2 = number(60), number(720)
	r, err := Run(in)
	if err != nil {
		t.Fatal(err)
	}
	if r.Air.House.Likely < 1.1*r.Air.HouseBalanced.Likely {
		t.Errorf("the house gives %v, with balanced vents %v", r.Air.House, r.Air.HouseBalanced)
	}
	if len(r.Warnings) != 2 {
		t.Errorf("warnings: %q", r.Warnings)
	}
	if r, err := Run(full()); err != nil || len(r.Warnings) != 0 {
		t.Errorf("balanced vents are warned of: %q, %v", r.Warnings, err)
	}
}

// Each way is the likely attic with that one thing done.
func TestWays(t *testing.T) {
	in := full()
	in.IntakeIn2 = number(100)
	r, err := Run(in)
	if err != nil {
		t.Fatal(err)
	}
	var keys []string
	for _, w := range r.Ways {
		keys = append(keys, w.Key)
		done := in
		switch w.Key {
		case "seal":
			done.CeilingLeaks = "few"
		case "insulate":
			done.InsulationR = number(49)
		case "balance":
			done.IntakeIn2, done.ExhaustIn2 = number(360), number(360)
		}
		after, err := Run(done)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(after.Winter.Melt-w.Melt) > 1e-6 || math.Abs(after.Heat.PeakCovering.Likely-w.PeakCovering) > 1e-6 || math.Abs(after.Coldness.Attic.Likely-w.IcyAttic) > 1e-6 {
			t.Errorf("%s: %+v, but done it gives %+v", w.Key, w, after.Winter)
		}
		if w.Melt > r.Winter.Melt {
			t.Errorf("%s: melt rises from %v to %v", w.Key, r.Winter.Melt, w.Melt)
		}
	}
	if !slices.Equal(keys, []string{"seal", "insulate", "balance"}) {
		t.Errorf("the ways are %v", keys)
	}
	best := full()
	best.InsulationR, best.CeilingLeaks = number(60), "few"
	if r, err := Run(best); err != nil || len(r.Ways) != 0 {
		t.Errorf("nothing is left to do, and is told: %+v, %v", r.Ways, err)
	}
}

// Sentences keep to the system of units.
func TestSentencesInEitherSystem(t *testing.T) {
	in := full()
	in.IntakeIn2 = number(60)
	for system, foreign := range map[units.System][]string{units.US: {"°C", "kg", " m²", "g/m²"}, units.Metric: {"°F", "lb", "foot", " ft"}} {
		in.Units = system
		r, err := Run(in)
		if err != nil {
			t.Fatal(err)
		}
		for _, says := range append(r.Says, r.Warnings...) {
			for _, word := range foreign {
				if strings.Contains(says, word) {
					t.Errorf("%s: %q", system, says)
				}
			}
		}
		if len(r.Says) < 4 {
			t.Errorf("%s: only %q", system, r.Says)
		}
	}
}
