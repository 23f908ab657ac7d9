package climate

import (
	"testing"
	"time"
)

// One year on one slope.
func BenchmarkOnSlope(b *testing.B) {
	y := minneapolis(b)
	for b.Loop() {
		for h := range y.Hours {
			y.OnSlope(h, 26.565, 180, 0.2)
		}
	}
}

// One year on one slope, the sun worked out for each hour.
func BenchmarkOnSlopeWithoutATable(b *testing.B) {
	made := minneapolis(b)
	y := &Year{Place: made.Place, Hours: made.Hours}
	for b.Loop() {
		for h := range y.Hours {
			y.OnSlope(h, 26.565, 180, 0.2)
		}
	}
}

func BenchmarkFromNormals(b *testing.B) {
	n := stations[0].given()
	for b.Loop() {
		if _, err := FromNormals(n); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSunAt(b *testing.B) {
	when := time.Date(2026, 3, 20, 9, 0, 0, 0, time.UTC)
	for b.Loop() {
		SunAt(when, reportPlace)
	}
}
