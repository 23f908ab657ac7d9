package server

import (
	"net/http"
	"strings"
	"testing"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// A roof of the kind that gives trouble: a valley onto an eave, membrane that
// stops short, a gutter too low for its slope, a flange covered by half.
func TestWhatTheRoofSays(t *testing.T) {
	s := newSite(t)
	outline := func(text string) units.Outline {
		o, err := units.ParseOutline(text)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	inch := func(v float64) *units.Length { return ptr(units.Length(v) * units.Inch) }
	b, err := store.Get[models.Branch](s.service.Store.Query(t.Context()), 1)
	if err != nil {
		t.Fatal(err)
	}
	// An edition with both rules of the eave, a climate with ice, a heavy rain.
	b.BuildingCode, b.ClimateStation, b.DesignRain = "irc_2015", "duluth", ptr(127.0)
	if err := s.service.Store.Write(t.Context(), store.By{}, func(tx *store.Tx) error { return tx.Update(b) }); err != nil {
		t.Fatal(err)
	}
	pitch := ptr(units.PitchIn12(6))
	s.write(
		&models.Slope{StructureID: 1, AtticID: ptr[int64](1), Name: "Front", Facing: ptr(180.0), Pitch: pitch, Eave: ptr(40 * units.Foot), Overhang: inch(16), EaveCover: "membrane", EaveReach: inch(36),
			Outline: outline("ft 0,0 eave; 14,0 valley; 20,6 valley; 26,0 eave; 40,0 rake; 40,15 ridge; 0,15 rake")},
		&models.Slope{StructureID: 1, AtticID: ptr[int64](1), Name: "Back", Facing: ptr(0.0), Pitch: pitch, Eave: ptr(40 * units.Foot), Overhang: inch(16), EaveCover: "membrane", EaveReach: inch(69),
			Outline: outline("ft 40,30 eave; 0,30 rake; 0,15 ridge; 40,15 rake")},
		&models.Slope{StructureID: 1, Name: "Porch left", Pitch: pitch, Outline: outline("ft 14,0 eave; 14,-6 rake; 20,-6 ridge; 20,6 valley")},
		&models.Slope{StructureID: 1, Name: "Porch right", Pitch: pitch, Outline: outline("ft 26,-6 eave; 26,0 valley; 20,6 ridge; 20,-6 rake")},
		&models.GutterRun{StructureID: 1, SlopeID: ptr[int64](1), Name: "Front gutter", Kind: "k_style", Width: inch(5), Depth: inch(3.5), Length: ptr(28 * units.Foot), Fall: ptr(0.0),
			LipReach: inch(4.25), LipDrop: inch(0.5), Downspouts: ptr(1), DownspoutArea: ptr(6 * units.SquareInch)},
		&models.Detail{StructureID: 1, Name: "Bath pipe", Kind: "penetration", Form: "new", Lap: ptr(0.5), LowerEdgeOut: ptr(true)},
	)
	page := s.as(models.Roofer).get("/roofs/1").want(http.StatusOK)
	says := page.text("main")
	rest := says
	for _, want := range []string{
		"What the roof says", "fall protection", "licensed person",
		// 6:12 over 16 in: 40 in level, 44.72 in up the slope; 36 in is 8.72 short
		// (IRC R905.1.2, second-hand; geometry).
		"Ice at the eaves: falls short", "44.72 in", "does not stop ice dams", "chops, torches or salts",
		"Water in the gutters: falls short", "level: water and granules stay in it",
		// Two thirds of a flange are to be covered (common practice, no source).
		"Flashings, valleys and penetrations: falls short", "Bath pipe",
		// 1,200 ft² of house and 12 by 6 ft of porch in plan, at 1.1180.
		"What it takes to lay it again", "14.22 squares",
	} {
		i := strings.Index(rest, want)
		if i < 0 {
			t.Errorf("the page lacks %q, or it stands before what should come first", want)
			continue
		}
		rest = rest[i:]
	}
	for _, want := range []string{`<svg class="lines"`, "A section through the eave, to scale", "asked for: 44.72 in up the slope", "there: membrane, 36 in up the slope",
		"The slopes from above, to scale", "here a valley pours over the eave"} {
		if !strings.Contains(page.Body, want) {
			t.Errorf("the drawings lack %q", want)
		}
	}
}
