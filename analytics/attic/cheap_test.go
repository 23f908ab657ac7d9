package attic

import (
	"math"
	"reflect"
	"runtime"
	"testing"

	"pgregory.net/rapid"
)

// What the inner loop does cheaply is held here to the plain way.

// eliminate leaves the unknowns of a system whose diagonal outweighs the rest in its
// last column (Gauss).
func eliminate(m *[4][5]float64) {
	for i := range 4 {
		for j := range 4 {
			if j == i {
				continue
			}
			k := m[j][i] / m[i][i]
			for c := range 5 {
				m[j][c] -= k * m[i][c]
			}
		}
	}
	for i := range 4 {
		m[i][4] /= m[i][i]
	}
}

func TestSettle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		some := func(name string, least, most float64) float64 { return rapid.Float64Range(least, most).Draw(t, name) }
		n := inner{across: some("across", 0, 4), toFloor: some("to floor", 0.1, 5), toAir: some("to air", 0.1, 5), fromDecks: some("from decks", 0.1, 3),
			floorAir: some("floor to air", 0.1, 3), airDecks: some("air to decks", 0.1, 3)}
		for s := range 2 {
			n.deck[s] = n.across + n.toFloor + n.toAir + some("deck", 0.5, 8)
			n.gains[s] = some("gains", -300, 900)
		}
		n.floor, n.floorGains = 2*n.fromDecks+n.floorAir+some("ceiling", 0.05, 2), some("from the house", 0, 20)
		n.air, n.airGains = 2*n.airDecks+n.floorAir+some("stored", 1, 20), some("outside", -300, 300)
		m := [4][5]float64{
			{n.deck[0], -n.across, -n.toFloor, -n.toAir, n.gains[0]},
			{-n.across, n.deck[1], -n.toFloor, -n.toAir, n.gains[1]},
			{-n.fromDecks, -n.fromDecks, n.floor, -n.floorAir, n.floorGains},
			{-n.airDecks, -n.airDecks, -n.floorAir, n.air, n.airGains},
		}
		eliminate(&m)
		deck, floor, air := n.settle()
		for i, got := range []float64{deck[0], deck[1], floor, air} {
			if math.Abs(got-m[i][4]) > 1e-10*(1+math.Abs(m[i][4])) {
				t.Fatalf("%+v: unknown %d is %v, want %v", n, i, got, m[i][4])
			}
		}
	})
}

// On one processor or several the answer is the same to the last digit.
func TestSideBySide(t *testing.T) {
	in := Input{Year: short(), RiseIn12: number(6), FacingDeg: number(90), Shade: "dark"}
	run := func(processors int) Result {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
		r, err := Run(in)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	if one, several := run(1), run(4); !reflect.DeepEqual(one, several) {
		t.Errorf("on one %+v, on several %+v", one, several)
	}
	var done [100]int
	sideBySide(len(done), func(i int) { done[i]++ })
	for i, n := range done {
		if n != 1 {
			t.Errorf("the %dth was done %d times", i, n)
		}
	}
	sideBySide(0, func(int) { t.Error("something was done") })
}
