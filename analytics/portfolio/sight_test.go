package portfolio

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/wear"
	"overhang/models"
)

// anyVisit is any visit to a roof of three slopes, with what it found.
func anyVisit(t *rapid.T) (models.RoofFile, models.Visit, []models.Finding) {
	f := file()
	f.Slopes = append(f.Slopes, models.Slope{Row: models.Row{ID: 3}, Name: "porch"})
	v := models.Visit{Row: models.Row{ID: 1}, DoneOn: day("2024-06-10"), Method: rapid.SampledFrom(models.VisitMethods).Draw(t, "method")}
	var found []models.Finding
	for range rapid.IntRange(1, 8).Draw(t, "findings") {
		x := models.Finding{Defect: rapid.SampledFrom([]string{"granule_loss", "curling", "popped_nails", "rust", "gutter_loose"}).Draw(t, "defect"),
			Look: rapid.SampledFrom(models.LookStates).Draw(t, "look")}
		if x.Look == "seen" {
			x.Severity, x.Extent = ptr(rapid.IntRange(1, 3).Draw(t, "severity")), ptr(rapid.Float64Range(0, 1).Draw(t, "extent"))
		}
		if slope := rapid.Int64Range(0, 4).Draw(t, "slope"); slope > 0 { // 4 is another roof's
			x.SlopeID = &slope
		}
		found = append(found, x)
	}
	return f, v, found
}

func sightOf(t *rapid.T, name string) []int64 {
	return rapid.SliceOfNDistinct(rapid.Int64Range(1, 4), 0, 4, rapid.ID).Draw(t, name)
}

// slopesOf gives what a look rates the covering of each slope.
func slopesOf(t *rapid.T, f models.RoofFile, v models.Visit, found []models.Finding) map[string]float64 {
	with(func() (models.Visit, []models.Finding) { return v, found })(&f)
	looks, err := Looks(&f)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]float64{}
	for _, s := range looks[0].Result.Part(wear.Covering).Slopes {
		if s.Rating != nil {
			out[s.Slope] = *s.Rating
		}
	}
	if n := looks[0].Aside; n < 0 || n > len(found) {
		t.Fatalf("%d of %d findings are set aside", n, len(found))
	}
	return out
}

// A slope that was in sight is rated by itself, whatever else was in sight; one that
// was not has no rating.
func TestASlopeInSightIsRatedByItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, v, found := anyVisit(t)
		found = slices.DeleteFunc(found, func(x models.Finding) bool { return x.SlopeID != nil && *x.SlopeID == 4 })
		if len(found) == 0 {
			return
		}
		one, other := sightOf(t, "one"), sightOf(t, "other")
		v.InSight = new(models.JSON[int64](one))
		a := slopesOf(t, f, v, found)
		v.InSight = new(models.JSON[int64](other))
		b := slopesOf(t, f, v, found)
		for slope, rating := range a {
			if !slices.Contains(one, ID(slope)) {
				t.Fatalf("slope %s was out of sight and is rated %v", slope, rating)
			}
			if again, both := b[slope]; slices.Contains(other, ID(slope)) && (!both || again != rating) {
				t.Fatalf("slope %s is rated %v with %v in sight and %v with %v", slope, rating, one, again, other)
			}
		}
	})
}

// Where nobody said what was in sight, and no defect is written down both of the
// whole roof and of a slope, all is rated as it was written down.
func TestNobodySaidWhatWasInSight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, v, found := anyVisit(t)
		var kept []models.Finding
		for _, x := range found {
			if !slices.ContainsFunc(kept, func(o models.Finding) bool { return o.Defect == x.Defect && (o.SlopeID == nil) != (x.SlopeID == nil) }) {
				kept = append(kept, x)
			}
		}
		in, from := lookInput(&f, &v, kept)
		if in.VisibleSlopes != nil || len(in.Findings) != len(kept) {
			t.Fatalf("%+v of %+v", in, kept)
		}
		for i, x := range in.Findings {
			slope := ""
			if kept[i].SlopeID != nil {
				slope = id(*kept[i].SlopeID)
			}
			if from[i] != i || x.Defect != kept[i].Defect || x.Slope != slope || string(x.Look) != kept[i].Look {
				t.Fatalf("finding %d is %+v, of %+v", i, x, kept[i])
			}
		}
	})
}
