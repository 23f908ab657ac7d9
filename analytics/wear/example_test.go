package wear_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"overhang/analytics/wear"
)

// A look from a ladder: curled edges on a quarter of the south slope, and a
// gutter a third full.
func Example() {
	var in wear.Input
	if err := json.Unmarshal([]byte(`{"method": "ladder", "findings": [
		{"defect": "curling", "slope": "south", "look": "seen", "severity": 2, "extent": 0.25},
		{"defect": "moss", "look": "none"},
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
		if p.Rating == nil {
			fmt.Printf("%s: not known\n", p.Part)
			continue
		}
		fmt.Printf("%s: %.1f, give or take %.0f\n", p.Part, *p.Rating, *p.ErrorPoints)
	}
	fmt.Printf("dearest: %s; %d of %d defects not looked at\n", result.Dearest.Name, result.NotLooked, len(wear.Catalogue()))
	// Output:
	// covering: 72.5, give or take 16
	// flashing: not known
	// gutter: 60.0, give or take 11
	// dearest: Gutter filled; 15 of 18 defects not looked at
}

func BenchmarkRate(b *testing.B) {
	severity, extent := 2, 0.3
	var in wear.Input
	for _, d := range wear.Catalogue() {
		in.Findings = append(in.Findings, wear.Finding{Defect: d.Key, Slope: "south", Look: wear.Seen, Severity: &severity, Extent: &extent})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wear.Rate(in); err != nil {
			b.Fatal(err)
		}
	}
}
