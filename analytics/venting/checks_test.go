package venting

import (
	"slices"
	"strings"
	"testing"

	"overhang/analytics/units"
)

func (r Result) check(key string) *CheckResult {
	for i := range r.Checks {
		if r.Checks[i].Key == key {
			return &r.Checks[i]
		}
	}
	return nil
}

// TestChecks. Sources: IRC R806.3 (1 in clear) and R806.1 (holes of 1/16 to
// 1/4 in, or mesh of that); O. Reg. 332/12, 9.19.1.3. (25 mm past a baffle,
// 63 mm in joist roofs); a roofing contractors' association's page (a fan of
// 1 cfm a square foot is about 1/150 and is not combined). The rest is common
// practice or our judgement.
func TestChecks(t *testing.T) {
	const nan = -999
	for _, c := range []struct {
		name, code, key string
		change          func(*Input)
		want            Verdict
		margin          float64 // in the check's unit; nan is none
	}{
		{"an inch and more", "irc_2015", "clear_space", nil, Passes, 25.4},
		{"an inch", "irc_2015", "clear_space", func(in *Input) { in.ClearSpaceIn = p(1) }, Passes, 0},
		{"25 mm is an inch in the metric text", "irc_2015", "clear_space", func(in *Input) { in.ClearSpaceIn, in.ClearSpaceMm = nil, p(25) }, Passes, -0.4},
		{"half an inch", "irc_2015", "clear_space", func(in *Input) { in.ClearSpaceIn = p(0.5) }, Fails, -12.7},
		{"one eave only is narrow", "irc_2015", "clear_space", func(in *Input) { in.Eaves[1].ClearSpaceMm = p(20) }, Fails, -5.4},
		{"not measured, and a baffle is no measure", "irc_2015", "clear_space", func(in *Input) { in.ClearSpaceIn, in.Baffles = nil, b(true) }, NotKnown, nan},
		{"25 mm past a baffle", "obc_2012", "clear_space", func(in *Input) { in.ClearSpaceIn, in.ClearSpaceMm = nil, p(25) }, Passes, 0},
		{"24 mm", "obc_2012", "clear_space", func(in *Input) { in.ClearSpaceIn, in.ClearSpaceMm = nil, p(24) }, Fails, -1},
		{"62 mm in a joist roof", "obc_2012", "clear_space", func(in *Input) { in.ClearSpaceIn, in.ClearSpaceMm, in.Joists = nil, p(62), b(true) }, Fails, -1},
		{"63 mm in a joist roof", "obc_2012", "clear_space", func(in *Input) { in.ClearSpaceIn, in.ClearSpaceMm, in.Joists = nil, p(63), b(true) }, Passes, 0},
		{"40 mm where joists are not known", "obc_2012", "clear_space", func(in *Input) { in.ClearSpaceIn, in.ClearSpaceMm, in.Joists = nil, p(40), nil }, NotKnown, 15},

		{"2 in over 100 ft pass 2,400 in²", "irc_2015", "passage", nil, Passes, 2040 * 0.00064516},
		{"a quarter inch passes 300 in²", "irc_2015", "passage", func(in *Input) { in.ClearSpaceIn = p(0.25) }, Fails, -60 * 0.00064516},
		{"open over a tenth passes 240 in²", "irc_2015", "passage", func(in *Input) { in.Eaves[0].OpenFt, in.Eaves[1].OpenFt = p(5), p(5) }, Fails, -120 * 0.00064516},
		{"eaves not measured", "irc_2015", "passage", func(in *Input) { in.Eaves = nil }, NotKnown, nan},

		{"nothing blocked", "irc_2015", "blocked_soffits", nil, Passes, 0},
		{"a quarter of 360 in² painted shut", "irc_2015", "blocked_soffits", func(in *Input) { in.Openings[1].BlockedShare = p(0.25) }, Fails, -90 * 0.00064516},
		{"nobody looked", "irc_2015", "blocked_soffits", func(in *Input) { in.Openings[1].BlockedShare = nil }, NotKnown, nan},

		{"no lights", "irc_2015", "soffit_lights", nil, Passes, nan},
		{"lights", "irc_2015", "soffit_lights", func(in *Input) { in.Openings = append(in.Openings, Opening{Kind: SoffitLight, Count: n(6)}) }, Fails, nan},
		{"looked and no lights", "irc_2015", "soffit_lights", func(in *Input) { in.Openings = append(in.Openings, Opening{Kind: SoffitLight, Count: n(0)}) }, Passes, nan},

		{"no duct ends there", "irc_2015", "ducts", nil, Passes, nan},
		{"a bath duct ends there", "irc_2015", "ducts", func(in *Input) { in.DuctsEnding = []string{"bath"} }, Fails, nan},
		{"one is said to end there", "irc_2015", "ducts", func(in *Input) { in.DuctsEnding, in.Ducts = nil, "ends_in_attic" }, Fails, nan},
		{"nobody looked at ducts", "irc_2015", "ducts", func(in *Input) { in.DuctsEnding = nil }, NotKnown, nan},
		{"bare ducts", "irc_2015", "ducts_insulated", func(in *Input) { in.Ducts = "bare" }, Fails, nan},

		{"one kind", "irc_2015", "mixed_exhaust", nil, Passes, nan},
		{"box and ridge", "irc_2015", "mixed_exhaust", func(in *Input) { in.Openings = append(in.Openings, Opening{Kind: Ridge, LengthFt: p(10)}) }, Fails, nan},
		{"a gable louvre whose height is not known", "irc_2015", "mixed_exhaust", func(in *Input) {
			in.Openings = append(in.Openings, Opening{Kind: Gable, Count: n(1), NetEachIn2: p(60)})
		}, NotKnown, nan},
		{"a gable louvre low down is intake", "irc_2015", "mixed_exhaust", func(in *Input) {
			in.Openings = append(in.Openings, Opening{Kind: Gable, Count: n(1), NetEachIn2: p(60), Height: Low})
		}, Passes, nan},

		{"as much intake as exhaust", "irc_2015", "exhaust_above_intake", nil, Passes, 0},
		{"an inch more exhaust", "irc_2015", "exhaust_above_intake", func(in *Input) { in.Openings[0].NetEachIn2 = p(361) }, Fails, -0.00064516},
		{"a ridge vent without a stamp", "irc_2015", "exhaust_above_intake", func(in *Input) { in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(30)} }, NotKnown, -180 * 0.00064516},

		{"a fan beside boxes", "irc_2015", "powered_with_high", func(in *Input) {
			in.Openings = append(in.Openings, Opening{Kind: Powered, Count: n(1), Height: High})
		}, Fails, nan},
		// 750 cfm serve 750 ft², 1/300 of which is 2.5 ft² or 360 in² of intake
		{"750 cfm on 360 in² of intake", "irc_2015", "powered_flow", func(in *Input) {
			in.Openings[0] = Opening{Kind: Powered, Count: n(1), Height: High, FanCfm: p(750)}
		}, Passes, 0},
		{"1,500 cfm on 360 in² of intake", "irc_2015", "powered_flow", func(in *Input) {
			in.Openings[0] = Opening{Kind: Powered, Count: n(1), Height: High, FanCfm: p(1500)}
		}, Fails, -360 * 0.00064516},
		{"a fan of unknown flow", "irc_2015", "powered_flow", func(in *Input) {
			in.Openings[0] = Opening{Kind: Powered, Count: n(1), Height: High}
		}, NotKnown, nan},

		{"within the maker's slopes", "irc_2015", "maker_pitch", func(in *Input) {
			in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(30), LeastRiseIn12: p(3), MostRiseIn12: p(12)}
		}, Passes, 3},
		{"one slope at the ridge is too flat", "irc_2015", "maker_pitch", func(in *Input) {
			in.RidgeRisesIn12 = []float64{6, 2}
			in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(30), LeastRiseIn12: p(3), MostRiseIn12: p(12)}
		}, Fails, -1},
		{"too steep", "irc_2015", "maker_pitch", func(in *Input) {
			in.RiseIn12 = p(14)
			in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(30), LeastRiseIn12: p(3), MostRiseIn12: p(12)}
		}, Fails, -2},
		{"the maker's slopes are not known", "irc_2015", "maker_pitch", func(in *Input) { in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(30)} }, NotKnown, nan},
		{"long enough a run", "irc_2015", "maker_run", func(in *Input) { in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(30), LeastRunFt: p(20)} }, Passes, 3.048},
		{"two runs, each too short", "irc_2015", "maker_run", func(in *Input) {
			in.Openings[0] = Opening{Kind: Ridge, Count: n(2), LengthFt: p(15), LeastRunFt: p(20)}
		}, Fails, -1.524},

		{"holes not measured", "irc_2015", "opening_size", nil, NotKnown, nan},
		{"holes of a quarter inch and mesh of an eighth", "irc_2015", "opening_size", func(in *Input) {
			in.Openings[0].LeastDimensionIn, in.Openings[1].LeastDimensionIn, in.Openings[1].MeshIn = p(0.25), p(2), p(0.125)
		}, Passes, nan},
		{"large holes without mesh", "irc_2015", "opening_size", func(in *Input) {
			in.Openings[0].LeastDimensionIn, in.Openings[1].LeastDimensionIn, in.Openings[1].MeshIn = p(0.25), p(2), p(0)
		}, Fails, 6.4 - 50.8},
		{"holes too fine", "irc_2015", "opening_size", func(in *Input) {
			in.Openings[0].LeastDimensionMm, in.Openings[1].LeastDimensionMm = p(1.0875), p(3)
		}, Fails, -0.5},
		{"kneewalls part the attic", "irc_2015", "kneewalls", func(in *Input) { in.Kneewalls = b(true) }, NotKnown, nan},
	} {
		in := known(360, 360)
		in.Codes = []string{c.code}
		if c.change != nil {
			c.change(&in)
		}
		got := check(t, in).check(c.key)
		if got == nil {
			t.Errorf("%s: no check %s", c.name, c.key)
			continue
		}
		if got.Verdict != c.want || got.Says == "" || got.Source == "" {
			t.Errorf("%s: %s, %s", c.name, got.Verdict, got.Says)
		}
		switch {
		case c.margin == nan && got.Margin != nil:
			t.Errorf("%s: a margin of %v %s", c.name, *got.Margin, got.Unit)
		case c.margin != nan && (got.Margin == nil || !nearly(*got.Margin, c.margin)):
			t.Errorf("%s: margin %v %s, want %v", c.name, got.Margin, got.Unit, c.margin)
		}
		if got.Verdict == NotKnown && len(got.Measure) == 0 {
			t.Errorf("%s: nothing to measure", c.name)
		}
		if got.Verdict == Fails && (got.Remedy == "" || got.Caution == "") {
			t.Errorf("%s: fails without a remedy or caution", c.name)
		}
	}
}

func nearly(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

// Lights count only by a stamp, and what the passage does not let through does
// not count.
func TestWhatCounts(t *testing.T) {
	in := known(360, 300)
	in.Openings = append(in.Openings, Opening{Kind: SoffitLight, Count: n(6)})
	if r := check(t, in).of("irc_2015"); !near(in2(r.Low.Least), 300, 1e-9) || !r.Low.Known() {
		t.Errorf("lights: %v", r.Low)
	}
	in.Openings[2].NetEachIn2 = p(10)
	if r := check(t, in).of("irc_2015"); !near(in2(r.Low.Least), 360, 1e-9) || r.Verdict != Passes {
		t.Errorf("stamped lights: %v, %s", r.Low, r.Verdict)
	}
	// a quarter inch over 100 ft is 300 in²
	in = known(360, 1500)
	in.ClearSpaceIn = p(0.25)
	res := check(t, in)
	if r := res.of("irc_2015"); !near(in2(r.Low.Least), 300, 1e-9) || !near(in2(r.Total.Least), 660, 1e-9) || r.Verdict != Fails || !near(in2(*res.Passage), 300, 1e-9) {
		t.Errorf("passage: %v of %v, %s", r.Low, r.Total, r.Verdict)
	}
	// the way opens the passage, and adds no vent
	if w := res.of("irc_2015").Ways[0]; !near(in2(w.OpenPassage), 60, 1e-9) || w.AddLow != 0 || !near(in2(w.LowAfter), 360, 1e-9) {
		t.Errorf("way: %+v", w)
	}
	// a gable louvre low down does not pass over the wall
	in.Openings[1] = Opening{Kind: Gable, Count: n(1), NetEachIn2: p(400), Height: Low}
	if r := check(t, in).of("irc_2015"); !near(in2(r.Low.Least), 400, 1e-9) {
		t.Errorf("louvre: %v", r.Low)
	}
}

// TestReadings: letters as in TestVerdicts.
func TestReadings(t *testing.T) {
	for _, c := range []struct {
		name      string
		high, low float64
		zone      string
		readings  Readings
		want      string
	}{
		{"as asked: 360 of 720", 360, 900, "5", Readings{}, "PPPPPPPP"},
		// 360 of 1,260 there is 29 %: more intake has turned a pass into a fail
		{"as there: 360 of 1,260", 360, 900, "5", Readings{ShareOf: "there"}, "FFFFFFPP"},
		{"as there: 360 of 720", 360, 360, "5", Readings{ShareOf: "there"}, "PPPPPPPP"},
		{"as there: 560 of 1,400, two fifths", 560, 840, "5", Readings{ShareOf: "there"}, "FPPPPPPP"},
		{"as asked: 560 of 1,400", 560, 840, "5", Readings{ShareOf: "asked"}, "PFFFFFPP"},
		{"both needed, no retarder in zone 6", 360, 360, "6", Readings{BothConditions: "yes"}, "PPPFFFPP"},
		{"one enough, no retarder in zone 6", 360, 360, "6", Readings{BothConditions: "no"}, "PPPPPPPP"},
		{"quarters: a fifth low", 600, 150, "5", Readings{}, "FFFFFFFF"},
		{"no quarters: a fifth low", 600, 150, "5", Readings{QuarterSplit: "no"}, "FFFFFFPP"},
	} {
		in := attic1500(c.high, c.low)
		in.ClimateZone, in.Readings = c.zone, c.readings
		res := check(t, in)
		if got := res.verdicts(); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
		for _, r := range res.Rules {
			american := strings.HasPrefix(r.Code, "irc")
			for _, x := range []struct {
				on   bool
				note string
			}{
				{american && c.readings.ShareOf == "there", splitOnThere}, {american && c.readings.ShareOf != "there", splitOnNeed},
				{r.Code >= "irc_2018" && american && c.readings.BothConditions == "no", oneEnough}, {r.Code >= "irc_2018" && american && c.readings.BothConditions != "no", bothNeeded},
				{!american && c.readings.QuarterSplit == "no", noQuarters}, {!american && c.readings.QuarterSplit != "no", quarters},
			} {
				if slices.Contains(r.Notes, x.note) != x.on {
					t.Errorf("%s, %s: the note %q is told: %v", c.name, r.Code, x.note, !x.on)
				}
			}
		}
	}
	// The way into the share of the area there: 900 in² low are three fifths of
	// 1,500, so that 360 in² high want 240 more.
	in := attic1500(360, 900)
	in.ClimateZone, in.Readings, in.Codes = "5", Readings{ShareOf: "there"}, []string{"irc_2015"}
	ways := check(t, in).Rules[0].Ways
	i := slices.IndexFunc(ways, func(w Way) bool { return w.OneIn == 300 })
	if i < 0 || !near(in2(ways[i].AddHigh), 240, 1e-9) || ways[i].AddLow != 0 || ways[i].CloseHigh != 0 {
		t.Errorf("share of there: %+v", ways)
	}
	// A reading changes no rule for the next.
	if r, _ := ruleOf("irc_2018"); !r.Both || slices.Contains(r.Notes, bothNeeded) {
		t.Error("a reading has stuck to its rule")
	}
}

// The rules are the editions that the whole program knows, under their keys.
func TestEditions(t *testing.T) {
	if !slices.Equal(keys(), units.EditionKeys()) {
		t.Errorf("rules %v, editions %v", keys(), units.EditionKeys())
	}
	for _, r := range Codes() {
		if e, err := units.EditionOf(r.Key); err != nil || e.Code != r.Code || e.Year != r.Edition || e.Canadian != r.Ceiling {
			t.Errorf("%s: %+v, %v", r.Key, e, err)
		}
	}
}

func TestMoreRefusals(t *testing.T) {
	for _, c := range []struct {
		field  string
		change func(*Input)
	}{
		{"readings.share_of", func(in *Input) { in.Readings.ShareOf = "both" }},
		{"readings.both_conditions", func(in *Input) { in.Readings.BothConditions = "true" }},
		{"readings.quarter_split", func(in *Input) { in.Readings.QuarterSplit = "needed" }},
		{"clear_space_in", func(in *Input) { in.ClearSpaceIn = p(-1) }},
		{"clear_space_mm", func(in *Input) { in.ClearSpaceMm = p(50) }}, // both units
		{"bay_spacing_in", func(in *Input) { in.BaySpacingIn = p(0) }},
		{"ridge_ft", func(in *Input) { in.RidgeFt = p(-1) }},
		{"ridge_rises_in_12[1]", func(in *Input) { in.RidgeRisesIn12 = []float64{6, 40} }},
		{"ducts", func(in *Input) { in.Ducts = "some" }},
		{"ducts_ending_in_attic", func(in *Input) { in.Ducts, in.DuctsEnding = "none", []string{"bath"} }},
		{"ducts_ending_in_attic", func(in *Input) { in.Ducts = "ends_in_attic" }}, // and the list is empty
		{"ducts_ending_in_attic[0]", func(in *Input) { in.DuctsEnding = []string{"attic"} }},
		{"eaves[1].length_ft", func(in *Input) { in.Eaves[1].LengthFt = p(-2) }},
		{"eaves[0].open_ft, open_m", func(in *Input) { in.Eaves[0].OpenFt = p(51) }},
		{"eaves[0].free_soffit_ft, free_soffit_m", func(in *Input) { in.Eaves[0].FreeSoffitM = p(20) }},
		{"eaves[0].overhang_in", func(in *Input) { in.Eaves[0].OverhangIn = p(400) }},
		{"eaves[0].clear_space_mm", func(in *Input) { in.Eaves[0].ClearSpaceMm = p(3000) }},
		{"openings[0].fan_cfm, fan_l_s", func(in *Input) { in.Openings[0].FanCfm = p(1000) }},
		{"openings[0].least_rise_in_12", func(in *Input) { in.Openings[0].LeastRiseIn12, in.Openings[0].MostRiseIn12 = p(12), p(3) }},
		{"openings[0].least_run_ft", func(in *Input) { in.Openings[0].LeastRunFt = p(-3) }},
		{"openings[0].least_dimension_in", func(in *Input) { in.Openings[0].LeastDimensionIn = p(-1) }},
		{"openings[0].mesh_mm", func(in *Input) { in.Openings[0].MeshIn, in.Openings[0].MeshMm = p(1), p(1) }},
		{"products[0].kind", func(in *Input) { in.Products = []Product{{Kind: Powered}} }},
		{"products[0].net_each_in2", func(in *Input) { in.Products = []Product{{Kind: Box, NetEachIn2: p(0)}} }},
		{"products[0].net_each", func(in *Input) { in.Products = []Product{{Kind: Ridge, NetEachIn2: p(50)}} }},
		{"products[0].net_per_ft, net_per_m", func(in *Input) { in.Products = []Product{{Kind: Box, NetPerFtIn2: p(9)}} }},
		{"products[0].net_each, net_per_ft", func(in *Input) {
			in.Products = []Product{{Kind: SoffitStrip, NetPerFtIn2: p(9), NetEachIn2: p(9)}}
		}},
		{"prices[0].item", func(in *Input) { in.Prices = []Price{{Item: "shingle"}} }},
		{"prices[0].each", func(in *Input) { in.Prices = []Price{{Item: ItemDuct, Each: p(-1)}} }},
		{"prices[0].per_m", func(in *Input) { in.Prices = []Price{{Item: ItemClear, PerFt: p(1), PerM: p(1)}} }},
	} {
		in := known(500, 220)
		c.change(&in)
		if _, err := Check(in); err == nil || !strings.HasPrefix(err.Error(), c.field+":") {
			t.Errorf("%s: got %v", c.field, err)
		}
	}
}
