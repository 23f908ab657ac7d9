package wear_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"overhang/analytics/wear"
)

// A look from a ladder at a roof of strip shingles: edges curled up on a quarter
// of the south slope, moss here and there on the north, and a gutter a third
// full.
func Example() {
	var in wear.Input
	if err := json.Unmarshal([]byte(`{"method": "ladder", "covering": "asphalt_strip", "wet": false,
		"slope_areas": {"north": 60, "south": 60}, "findings": [
		{"defect": "curling", "slope": "south", "look": "seen", "severity": 2, "extent": 0.25},
		{"defect": "moss", "slope": "north", "look": "seen", "severity": 1, "extent_class": 2},
		{"defect": "gutter_debris", "look": "seen", "severity": 2, "extent": 1}]}`), &in); err != nil {
		fmt.Println(err)
		return
	}
	result, err := wear.Rate(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range result.Parts {
		fmt.Println(p.Says)
	}
	for _, s := range result.Part(wear.Covering).Slopes {
		fmt.Printf("%s: %.1f\n", s.Slope, *s.Rating)
	}
	fmt.Printf("dearest: %s\n", result.Dearest.Name)
	// Output:
	// The covering rates 72 of 100, likely 45 to 96; that is its worst slope, south. Over the area of the slopes looked at it rates 85. What cost most: edges curled up, 28 points by itself; put right, the rating of its slope would gain 28. Of 13 defects to look for, 11 were not looked at; 1 of them cannot be judged from a ladder.
	// The flashing rates nothing yet: nobody looked at anything of it that this look can judge.
	// The gutters rate 60 of 100, likely 37 to 83. What cost most: gutter filled, 40 points by itself; put right, the rating of its slope would gain 40. Of 5 defects to look for, 4 were not looked at.
	// north: 98.4
	// south: 72.5
	// dearest: Gutter filled
}

// A look from the street at two of four slopes. Nobody judges nails from there, and
// nothing of a slope that is out of sight: such findings are set aside and cost
// nothing, and what was not looked at widens the error.
func Example_street() {
	severity := 2
	quarter := 0.25
	seen := func(defect, slope string) wear.Finding {
		return wear.Finding{Defect: defect, Slope: slope, Look: wear.Seen, Severity: &severity, Extent: &quarter}
	}
	in := wear.Input{Method: wear.Street, Covering: wear.AsphaltStrip, VisibleSlopes: []string{"front", "left"},
		Findings: []wear.Finding{seen("curling", "front"), seen("exposed_nails", "front"), seen("curling", "back")}}
	result, err := wear.Rate(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range result.SetAside {
		fmt.Printf("set aside: finding %d, %s\n", s.Finding, s.Why)
	}
	covering := result.Part(wear.Covering)
	fmt.Printf("%.0f of 100, give or take %.0f\n", *covering.Rating, *covering.ErrorPoints)
	// Output:
	// set aside: finding 1, Nail heads in the weather cannot be judged by this method (street)
	// set aside: finding 2, Edges curled up cannot be judged on a slope that was not in sight (back)
	// 72 of 100, give or take 42
}

// Which of three findings cost most, and what each would give back if it alone were
// put right: among many it is less than it takes off by itself.
func Example_costs() {
	severity := 2
	finding := func(defect string, extent float64) wear.Finding {
		return wear.Finding{Defect: defect, Slope: "south", Look: wear.Seen, Severity: &severity, Extent: &extent}
	}
	result, err := wear.Rate(wear.Input{Method: wear.Walked, Covering: wear.AsphaltStrip,
		Findings: []wear.Finding{finding("curling", 0.25), finding("granule_loss", 0.5), finding("moss", 0.1)}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range result.Part(wear.Covering).Costs {
		fmt.Printf("%-16s takes %2.0f by itself and would give back %2.0f\n", c.Name, c.Points, c.GivesBack)
	}
	fmt.Printf("the slope rates %.0f\n", *result.Part(wear.Covering).Rating)
	// Output:
	// Granules lost    takes 37 by itself and would give back 25
	// Edges curled up  takes 28 by itself and would give back 17
	// Moss             takes  6 by itself and would give back  1
	// the slope rates 45
}

// One look of a dozen findings at each of 100,000 roofs.
func BenchmarkRoofs(b *testing.B) {
	defects := wear.For(wear.AsphaltStrip)
	slopes := []string{"north", "south", ""}
	roofs := make([]wear.Input, 100_000)
	for i := range roofs {
		in := wear.Input{Method: wear.Walked, Covering: wear.AsphaltStrip}
		for j := range 12 {
			severity, extent := 1+(i+j)%3, float64((i*7+j*13)%100)/100
			in.Findings = append(in.Findings, wear.Finding{Defect: defects[(i+j)%len(defects)].Key, Slope: slopes[(i+j)%3],
				Look: wear.Seen, Severity: &severity, Extent: &extent})
		}
		roofs[i] = in
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, in := range roofs {
			if _, err := wear.Rate(in); err != nil {
				b.Fatal(err)
			}
		}
	}
}
