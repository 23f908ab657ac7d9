package attic

import "testing"

func BenchmarkYearOfOneRoof(b *testing.B) {
	w := newWeather(snowy(), 0.5, 180, 0.7)
	b.ReportAllocs()
	for b.Loop() {
		w.year(usual)
	}
}

func BenchmarkWeatherOfOneRoof(b *testing.B) {
	y := snowy()
	b.ReportAllocs()
	for b.Loop() {
		newWeather(y, 0.5, 180, 0.7)
	}
}

func BenchmarkRun(b *testing.B) {
	for name, in := range map[string]Input{"known": full(), "unknown": {Year: snowy()}} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Run(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkLook(b *testing.B) {
	in := full()
	in.IntakeIn2 = number(150)
	wide := in
	wide.InsulationR, wide.CeilingLeaks = nil, ""
	for name, in := range map[string]Input{"known": in, "two unknown": wide} {
		b.Run(name, func(b *testing.B) {
			if _, err := shared.Look(in); err != nil { // builds the table
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := shared.Look(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkBuildOneKind(b *testing.B) {
	k, _ := kindOf(snowy(), point{rise: 0.5, facing: 180, height: 2, shade: 0.95, shelter: 0.7})
	for b.Loop() {
		new(table).build(k)
	}
}
