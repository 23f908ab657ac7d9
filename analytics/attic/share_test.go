package attic

import "testing"

func TestShare(t *testing.T) {
	for _, c := range []struct {
		from, to float64
		want     string
	}{{-0.001, 0.02, "0 to 2 %"}, {0.031, 0.034, "3 %"}, {-0.03, 0.01, "-3 to 1 %"}} {
		if got := share(Range{Least: c.from, Most: c.to}); got != c.want {
			t.Errorf("%v to %v is written %q, want %q", c.from, c.to, got, c.want)
		}
	}
}
