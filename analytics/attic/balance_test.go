package attic

import (
	"math"
	"testing"

	"overhang/analytics/units"

	"pgregory.net/rapid"
)

// still is n hours of one weather without sun: air at c °C, the sky as warm.
func still(n int, c, snow float64) *weather {
	w := &weather{lean: math.Cos(math.Atan(0.5))}
	k := c + kelvin
	for range n {
		w.hours = append(w.hours, hour{air: c, wind: 6, pressure: 101_325, density: density(101_325, c),
			sky: stefan * k * k * k * k, snow: snow, vapour: humidity(0.7*overWater(c), 101_325), room: 0.005})
	}
	return w
}

var usual = roof{low: Code / 2, high: Code / 2, height: 2, insulation: 3.5, leaks: 1e-4, absorbs: 0.9}

// In weather that never changes what comes up through the ceiling leaves by
// deck and vents. The figures of the run are put back into the balances of
// each surface, written here a second time without linearising.
func TestSteadyHeatBalances(t *testing.T) {
	for _, c := range []float64{-25, -5, 10, 30} {
		w := still(400, c, 0)
		f := w.year(usual)[0]
		covering, deck, air := f[meanCovering], f[peakDeck], f[peakAttic]
		if c > inside {
			// Under a house cooler than outside the greatest and the lasting
			// temperatures are the same only from above.
			covering = f[peakCovering]
		}
		fourth := func(c float64) float64 { return math.Pow(c+kelvin, 4) }
		through := (deck - covering) / shingleAndDeck
		outside := (w.hours[0].wind+w.lifts(covering-c))*(covering-c) + emittance*stefan*(fourth(covering)-fourth(c))
		if math.Abs(through-outside) > 0.1 {
			t.Errorf("at %v °C %v W/m² come through the deck and %v leave it", c, through, outside)
		}
		// The top of the insulation, from its own balance.
		mixed := (deck+air)/2 + kelvin
		rad, ceiling := 0.82*4*stefan*math.Pow(mixed, 3), 1/(usual.insulation+topFilm+insideFilm)
		floor := (ceiling*inside + floorFilm*air + rad*deck) / (ceiling + floorFilm + rad)
		up := ceiling * (inside - floor)
		house := f[meanHouse] * density(101_325, inside) * heatOfAir * (inside - air)
		vents := f[meanOutside] * w.hours[0].density * heatOfAir * (air - c)
		if gone := through/w.lean + vents; c < 5 && math.Abs(up+house-gone) > 0.15+0.01*gone {
			t.Errorf("at %v °C %v W/m² come up and %v leave", c, up+house, gone)
		}
	}
}

// Snow melts with what the deck brings less what the snow lets through, and no
// more than there is.
func TestMeltIsWhatTheSnowKeepsIn(t *testing.T) {
	warm := usual
	warm.low, warm.high, warm.insulation, warm.leaks = 0, 0, 0.5, 3e-4
	w := still(240, -8, 0.4)
	f := w.year(warm)[0]
	if f[snowHours] != 240 || f[meltHours] != 240 || f[icingHours] != 240 {
		t.Fatalf("%v hours of snow, %v of melt, %v of icing", f[snowHours], f[meltHours], f[icingHours])
	}
	// The deck stays at its peak once settled: the flux to a covering at 0 °C
	// less that through 0.4 m of snow, or less as it thins.
	most := f[peakDeck] / shingleAndDeck * 240 * second / heatOfMelting
	if f[melt] <= 0 || f[melt] > most {
		t.Errorf("%v kg/m² melt; the deck brings %v", f[melt], most)
	}
	long := still(4000, -2, 0.1).year(warm)[0]
	if long[melt] > 0.1*snowDensity+1e-9 {
		t.Errorf("%v kg/m² melt of %v", long[melt], 0.1*snowDensity)
	}
	if long[meltCold] != 0 {
		t.Errorf("%v kg/m² are told to melt under -5.6 °C at -2 °C", long[meltCold])
	}
	if none := still(240, -8, 0.4).year(roof{low: 0.02, high: 0.02, height: 3, insulation: 12, absorbs: 0.9})[0]; none[melt] != 0 {
		t.Errorf("a well insulated, open attic melts %v kg/m²", none[melt])
	}
}

func drawWinter(t *rapid.T) *weather {
	mean, swing := rapid.Float64Range(-18, 2).Draw(t, "mean"), rapid.Float64Range(0, 8).Draw(t, "swing")
	sun, depth := rapid.Float64Range(0, 500).Draw(t, "sun"), rapid.Float64Range(0.6, 1.5).Draw(t, "depth")
	w, gust := still(120, mean, depth), rapid.Float64Range(0, 8).Draw(t, "gust")
	for i := range w.hours {
		h := &w.hours[i]
		day := math.Cos(2 * math.Pi * float64(i%24-14) / 24)
		h.air += swing * day
		h.density = density(h.pressure, h.air)
		h.sun = [2]float64{sun * max(0, day), sun * max(0, day) / 2}
		h.gust = gust * (1 + day/2)
		h.vapour = min(h.vapour, humidity(saturation(h.air), h.pressure))
	}
	return w
}

func drawRoof(t *rapid.T) roof {
	return roof{
		low: rapid.Float64Range(0, 0.01).Draw(t, "low"), high: rapid.Float64Range(0, 0.01).Draw(t, "high"),
		height: rapid.Float64Range(0.3, 4).Draw(t, "height"), insulation: rapid.Float64Range(0.5, 9).Draw(t, "insulation"),
		leaks: rapid.Float64Range(0, 3e-4).Draw(t, "leaks"), absorbs: 0.9,
	}
}

// More insulation and fewer leaks lessen melt, and more vents in balance do
// not add to it, as long as there is snow to melt: over thin snow a house that
// melts more has less left for the next cold hour, so the snow drawn is deep.
// The vents begin at 1/2,400 of the ceiling each, and 3 % are let pass: the
// first vents of a nearly closed attic over many leaks also let more house air
// up, which near 0 °C and without wind outweighs the cold that they let in. And a
// tenth of a millimetre in the five days: air above 0 °C on a windy afternoon comes in
// by more vents too (0.09 kg/m² at the most in 200,000 draws).
func TestWhatLessensMelt(t *testing.T) {
	melted, drawn := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		drawn++
		w, r := drawWinter(t), drawRoof(t)
		base := w.year(r)[0][melt]
		if base > 0.1 {
			melted++
		}
		slack := 0.02 + 0.01*base
		better := r
		better.insulation *= rapid.Float64Range(1, 3).Draw(t, "more insulation")
		if got := w.year(better)[0][melt]; got > base+slack {
			t.Fatalf("more insulation: %v kg/m², then %v", base, got)
		}
		better = r
		better.leaks *= rapid.Float64Range(0, 1).Draw(t, "fewer leaks")
		if got := w.year(better)[0][melt]; got > base+slack {
			t.Fatalf("fewer leaks: %v kg/m², then %v", base, got)
		}
		more := rapid.Float64Range(1, 4).Draw(t, "more vents")
		vents := Code/8 + r.low
		even, wide := r, r
		even.low, even.high = vents, vents
		wide.low, wide.high = vents*more, vents*more
		if a, b := w.year(even)[0][melt], w.year(wide)[0][melt]; b > a+0.15+0.03*a {
			t.Fatalf("more balanced vents: %v kg/m², then %v", a, b)
		}
	})
	if melted < drawn/5 {
		t.Errorf("only %d of %d roofs drawn melt anything", melted, drawn)
	}
}

// Frost grows with leaks under cold, and never without vapour to feed it.
func TestFrostComesFromTheHouse(t *testing.T) {
	w := still(240, -15, 0)
	dry, wet := usual, usual
	dry.leaks, wet.leaks = 0, 3e-4
	a, b := w.year(dry)[0], w.year(wet)[0]
	if a[frost] != 0 || b[frost] <= 0 {
		t.Errorf("frost: %v kg/m² without leaks, %v with many", a[frost], b[frost])
	}
	if b[frost+3] < b[frost] || a[frost+3] < a[frost] {
		t.Errorf("frost falls without a retarder: %v, then %v", b[frost:frost+4], a[frost:frost+4])
	}
	// All that the house sends up in ten days: no more can freeze on the deck.
	sent := b[meanHouse] * 1.2 * 0.005 * 240 * second
	if b[frost] > sent {
		t.Errorf("%v kg/m² of frost from %v", b[frost], sent)
	}
}

// The pace doubles between 25 and 35 °C, is 1 at 25, and effective undoes it.
func TestPace(t *testing.T) {
	if got := pace(35) / pace(25); math.Abs(got-2) > 1e-9 || math.Abs(pace(25)-1) > 1e-9 {
		t.Errorf("pace is %v at 25 °C and %v times that at 35 °C", pace(25), got)
	}
	// By the rule 2^(ΔT/10): 0.5 °C is 1.035, 1.45 °C is 1.106 and 18 °C is 3.48.
	for _, c := range []struct{ dt, want, slack float64 }{{0.5, 1.035, 0.001}, {1.45, 1.106, 0.001}, {18, 3.48, 0.01}} {
		if got := pace(30+c.dt/2) / pace(30-c.dt/2); math.Abs(got-c.want) > c.slack {
			t.Errorf("%v K make %v, not %v", c.dt, got, c.want)
		}
	}
	if got := effective(pace(41.5)); math.Abs(got-41.5) > 1e-9 {
		t.Errorf("the effective temperature of 41.5 °C is %v", got)
	}
}

// The attic in the weather of icings: a range on both sides of the limit is
// not known, and the margin is what is missing or to spare.
func TestColdness(t *testing.T) {
	for _, c := range []struct {
		least, most float64
		want        units.Verdict
	}{
		{-3, -1.2, units.Passes}, {-3, -1, units.NotKnown}, {-1, 2, units.Fails},
	} {
		got := newColdness(Range{c.least, c.least, c.most})
		if got.Verdict != c.want || math.Abs(got.Margin.Least-(-10.0/9-c.most)) > 1e-12 || math.Abs(got.Margin.Most-(-10.0/9-c.least)) > 1e-12 {
			t.Errorf("%v to %v °C: %+v", c.least, c.most, got)
		}
	}
	w := stillWeather(math.Cos(math.Atan(0.5)), 26.57)
	best, worst := usual, usual
	best.insulation, best.leaks = wellInsulated, leaks[0].value
	worst.low, worst.high = 0, 0
	// Insulation and ventilation together are the reliable pair (CRREL); none of
	// the vents is not.
	if got := w.run(best)[0][peakAttic]; got > coldEnough {
		t.Errorf("R-49, few leaks and balanced vents leave the attic at %v °C", got)
	}
	if got := w.run(worst)[0][peakAttic]; got < coldEnough {
		t.Errorf("R-20 without vents leaves the attic at %v °C", got)
	}
}
