package lifespan

import (
	"fmt"
	"testing"
)

// One roof with two factors and its age known to the day. The plain integration
// writes the model down as it stands, on 400 ages and 25 values of the factors,
// and gives three quantiles; its time over the estimator's in one run is the
// gain.
func BenchmarkEstimate(b *testing.B) {
	for _, count := range []int{0, 5} {
		in := Input{Material: "asphalt_strip", AgeYears: v(16), Factors: []Factor{
			{Name: "a", Low: 0.9, Mid: 0.94, High: 0.97}, {Name: "b", Low: 0.88, Mid: 1, High: 1.1}}}
		for i := range count {
			in.Readings = append(in.Readings, Reading{YearsAgo: float64(2 * i), Rating: 45 + 8*float64(i)})
		}
		b.Run(fmt.Sprintf("readings=%d/estimator", count), func(b *testing.B) {
			var e Estimator
			b.ReportAllocs()
			for b.Loop() {
				if _, err := e.Estimate(in); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N), "ns/roof")
		})
		b.Run(fmt.Sprintf("readings=%d/plain", count), func(b *testing.B) {
			for b.Loop() {
				_, quantile := naive(in, 400, 25, 1)
				for _, q := range []float64{0.1, 0.5, 0.9} {
					quantile(q, 1)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N), "ns/roof")
		})
	}
	between := Input{Material: "asphalt_strip", EarliestAgeYears: v(15.5), LatestAgeYears: v(16.5)}
	b.Run("age=year/estimator", func(b *testing.B) {
		var e Estimator
		for b.Loop() {
			if _, err := e.Estimate(between); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// The roofs of a company whose slopes were told apart, of which only the roof is
// asked for, as the night does.
func BenchmarkSlopes(b *testing.B) {
	roofs := slopedCompanyOf(400, 12, UsualGrossShare)
	e := Estimator{RoofAlone: true}
	for i := 0; b.Loop(); i++ {
		if _, err := e.Estimate(roofs[i%len(roofs)].in); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N), "ns/roof")
}
