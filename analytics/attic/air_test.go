package attic

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func drawNetwork(t *rapid.T) network {
	vents := func(name string) float64 {
		return rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(1e-5, mostVents)).Draw(t, name)
	}
	return newNetwork(vents("low"), vents("high"), rapid.Float64Range(0.1, 6).Draw(t, "height"),
		rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(1e-6, 5e-4)).Draw(t, "leaks"))
}

// What comes in leaves, whatever the openings, the wind and the temperatures,
// and from wherever the search begins.
func TestFlowBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawNetwork(t)
		gust := rapid.Float64Range(0, 200).Draw(t, "gust")
		density := func(name string, least, most float64) float64 {
			return density(101_325, rapid.Float64Range(least, most).Draw(t, name))
		}
		outside, attic := density("outside", -40, 45), density("attic", -40, 80)
		p, f := n.balance(gust, outside, attic, 1.2, rapid.Float64Range(-100, 100).Draw(t, "near"))
		if in := f.outside + max(f.house, 0); math.Abs(in-f.attic) > 1e-7+1e-4*f.attic {
			t.Fatalf("at %v Pa %v kg/s come in and %v leave", p, in, f.attic)
		}
		again, g := n.balance(gust, outside, attic, 1.2, p+1)
		if math.Abs(f.attic-g.attic) > 1e-6+1e-3*f.attic {
			t.Fatalf("from another beginning: %v Pa %+v, not %v Pa %+v", again, g, p, f)
		}
	})
}

// Two equal openings one above the other without wind or leaks: the pressure
// drop is shared, and m = Cd·A·√(2ρ·Δρ·g·h/2), the orifice equation (ASHRAE
// Fundamentals, from memory).
func TestStackFlowOfTwoOpenings(t *testing.T) {
	outside, attic := density(101_325, 0), density(101_325, 10)
	n := network{openings: [3]opening{{0.001, 0, 0}, {0.001, 2, 0}}}
	_, f := n.balance(0, outside, attic, 1.2, 0)
	drop := (outside - attic) * gravity * 2
	// In series of equal areas: m²/(2A²)·(1/ρo+1/ρa) = drop.
	want := 0.001 * math.Sqrt(2*drop/(1/outside+1/attic))
	if math.Abs(f.attic-want) > 1e-5*want {
		t.Errorf("%v kg/s flow, not %v", f.attic, want)
	}
	// A warm attic and none warmer than outside: nothing moves.
	if _, f := n.balance(0, outside, outside, 1.2, 5); f.attic > 2e-8 {
		t.Errorf("%v kg/s flow without a difference", f.attic)
	}
}

// Exhaust beyond the intake draws house air through the ceiling: with the
// exhaust fixed the house gives more the less intake there is, and with the
// intake fixed more the more exhaust there is. (Under 1/2,400 of the ceiling the
// eaves may let house air out instead, and more of them then draw more.)
func TestExhaustAboveIntakeDrawsHouseAir(t *testing.T) {
	outside, inside, attic := density(101_325, -5), density(101_325, 20), density(101_325, 3)
	house := func(low, high float64) float64 {
		_, f := newNetwork(low, high, 2, 1e-4).balance(1, outside, attic, inside, 0)
		return f.house
	}
	balanced, short := house(Code/2, Code/2), house(Code/8, Code/2)
	if short < 1.05*balanced {
		t.Errorf("with a quarter of the intake the house gives %v, with all %v", short, balanced)
	}
	rapid.Check(t, func(t *rapid.T) {
		low, high := rapid.Float64Range(Code/8, 0.01).Draw(t, "low"), rapid.Float64Range(0, 0.01).Draw(t, "high")
		more := rapid.Float64Range(1.01, 4).Draw(t, "more")
		if a, b := house(low, high), house(low, high*more); b < a-1e-8-1e-3*math.Abs(a) {
			t.Fatalf("more exhaust draws less: %v, then %v", a, b)
		}
		if a, b := house(low, high), house(low*more, high); b > a+1e-8+1e-3*math.Abs(a) && high > low*more {
			t.Fatalf("more intake under a larger exhaust draws more: %v, then %v", a, b)
		}
	})
}
