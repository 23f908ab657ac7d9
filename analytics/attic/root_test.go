package attic

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestCubeRoot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := math.Exp(rapid.Float64Range(-300, 300).Draw(t, "logarithm"))
		if got, want := cubeRoot(x), math.Cbrt(x); math.Abs(got-want) > 2e-15*want {
			t.Fatalf("∛%v is %v, want %v", x, got, want)
		}
	})
	for _, x := range []float64{1, 8, 27, 0.001, math.Nextafter(2, 0), math.Nextafter(4, 0), math.Nextafter(8, 0)} {
		if got, want := cubeRoot(x), math.Cbrt(x); math.Abs(got-want) > 2e-15*want {
			t.Errorf("∛%v is %v, want %v", x, got, want)
		}
	}
}

func BenchmarkCubeRoot(b *testing.B) {
	for name, root := range map[string]func(float64) float64{"here": cubeRoot, "math": math.Cbrt} {
		b.Run(name, func(b *testing.B) {
			x := 1.0
			for b.Loop() {
				for range 1000 {
					x = 3 + root(x)
				}
			}
		})
	}
}
