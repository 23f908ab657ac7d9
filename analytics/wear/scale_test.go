package wear

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(LeastNearNewShare, 1).Draw(t, "share")
		s, err := ScaleOf(share)
		if err != nil {
			t.Fatal(err)
		}
		a, b := rapid.Float64Range(0, 100).Draw(t, "a"), rapid.Float64Range(0, 100).Draw(t, "b")
		if back := s.Fall(s.Stretched(a)); math.Abs(back-a) > 1e-12*100 {
			t.Fatalf("%v comes back as %v", a, back)
		}
		from, to := min(a, b), max(a, b)
		if rise := s.Stretched(to) - s.Stretched(from); rise < to-from-1e-9 || rise > (to-from)/share+1e-9 {
			t.Fatalf("from %v to %v the scale rises by %v", from, to, rise)
		}
		if middle := s.Stretched((from + to) / 2); middle < (s.Stretched(from)+s.Stretched(to))/2-1e-9 {
			t.Fatalf("the scale grows steeper between %v and %v", from, to)
		}
	})
	s, _ := ScaleOf(0.25) // 4 points a point to 3, 2 to 12, then 1
	for fall, want := range map[float64]float64{0: 0, 1: 4, 3: 12, 5: 16, 12: 30, 20: 38, 100: 118} {
		if got := s.Stretched(fall); math.Abs(got-want) > 1e-12 {
			t.Errorf("a fall of %v lies at %v, not %v", fall, got, want)
		}
	}
	// Eight in ten: 1.2816 standard deviations.
	const tenth = 1.2815515655446004
	if low, high := s.Around(100, 12/tenth); math.Abs(low-97) > 1e-12 || high != 100 {
		t.Errorf("around 100 lie %v to %v", low, high)
	}
	if low, high := s.Around(50, 12/tenth); math.Abs(low-38) > 1e-12 || math.Abs(high-62) > 1e-12 {
		t.Errorf("around 50 lie %v to %v", low, high)
	}
	if low, high := s.Around(3, 12/tenth); low != 0 || math.Abs(high-15) > 1e-12 {
		t.Errorf("around 3 lie %v to %v", low, high)
	}
	if even, _ := ScaleOf(1); even.Stretched(37) != 37 || even.Most != 100 {
		t.Errorf("the even scale is %+v", even)
	}
	// The worst rules: the part lies no higher than any of its slopes may.
	of := func(rating, off float64) SlopeRating { return SlopeRating{Rating: &rating, ErrorPoints: &off} }
	rating, off := 60.0, 20.0
	part := PartRating{Rating: &rating, ErrorPoints: &off, Slopes: []SlopeRating{of(80, 30), of(60, 10), {}}}
	low, high := part.Likely()
	if wantLow, _ := Likely(60, 20); low != wantLow {
		t.Errorf("the part lies from %v, not %v", low, wantLow)
	}
	if _, wantHigh := Likely(60, 10); high != wantHigh {
		t.Errorf("the part lies up to %v, its worst slope to %v", high, wantHigh)
	}
	for _, share := range []float64{0.09, 1.01, math.NaN()} {
		if _, err := ScaleOf(share); err == nil {
			t.Errorf("a share of %v is taken", share)
		}
	}
}
