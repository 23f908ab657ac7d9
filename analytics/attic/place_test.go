package attic

import (
	"math"
	"testing"

	"overhang/analytics/climate"
)

// How hot some places are to a covering: package lifespan holds its factors of the
// place, of this and of its days that cross freezing, to lives published in Phoenix, Minneapolis and Reading by these figures.
func TestAgesAt(t *testing.T) {
	station := func(key string) *climate.Year {
		y, err := climate.StationYear(key)
		if err != nil {
			t.Fatal(err)
		}
		return y
	}
	last := math.Inf(1)
	for _, c := range []struct {
		year  *climate.Year
		want  float64
		thaws int
	}{
		{phoenix(t), 43.7, 4}, {miami(t), 39.0, 0}, {reading(t), 28.5, 96}, {station("minneapolis"), 26.1, 78}, {station("duluth"), 21.6, 77}, {station("anchorage"), 16.2, 72},
	} {
		got, err := AgesAt(c.year)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-c.want) > 0.1 || got >= last {
			t.Errorf("%s: a covering ages as at a steady %.2f °C, want %.1f and cooler than the place before, %.2f", c.year.Place.Name, got, c.want, last)
		}
		last = got
		if days := c.year.FreezeThawDays(); days != c.thaws {
			t.Errorf("%s: %d days cross freezing, want %d", c.year.Place.Name, days, c.thaws)
		}
	}
	if _, err := AgesAt(&climate.Year{}); err == nil {
		t.Error("a year of no hours was taken")
	}
}

// A degree more in every hour is nearly a degree more, as the house under it and what a
// hotter covering throws back to the sky hold against it; and a covering ages as at more
// than the mean of its temperatures, since hot hours count for more.
func TestAgesAtFollowsTheAir(t *testing.T) {
	y := *snowy()
	y.Hours = append([]climate.Hour(nil), y.Hours...)
	for i := range y.Hours {
		h := &y.Hours[i]
		h.Snow = 0
	}
	before, err := AgesAt(&y)
	if err != nil {
		t.Fatal(err)
	}
	for i := range y.Hours {
		h := &y.Hours[i]
		k := float64(h.Air.Celsius()) + kelvin
		h.Sky *= math.Pow((k+1)/k, 4)
		h.Air++
		h.DewPoint++
	}
	after, err := AgesAt(&y)
	if err != nil {
		t.Fatal(err)
	}
	if up := after - before; up < 0.75 || up > 1 {
		t.Errorf("a degree more in the air moves it by %.3f K", up)
	}
	if mean := newWeather(&y, 0.5, 90, 0.7).year(usual)[0][meanCovering]; after < mean+3 {
		t.Errorf("it ages as at %.1f °C, the mean of its hours is %.1f", after, mean)
	}
}
