package drainage

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// onePerHour turns ft² at 1 in/h into m³/s.
const onePerHour = squareFt * inPerHour

// Adjusted-area capacities in ft² at 1 in/h, by width in inches: a home
// magazine's table, read.
var magazine = map[Kind]map[float64]float64{
	KStyle:    {5: 5520, 6: 7960},
	HalfRound: {5: 2500, 6: 3840},
}

// plumbing holds the row of the plumbing codes' table of semicircular gutters
// (UPC, IPC) at a fall of 1/16 in per ft, ft² at 1 in/h by diameter in inches,
// from memory. At 1/8, 1/4 and 1/2 in per ft it gives 1.41, 2 and 2.8 times as
// much.
var plumbing = map[float64]float64{3: 680, 4: 1440, 5: 2500, 6: 3840, 7: 5520, 8: 7960, 10: 14400}

var plumbingFalls = []struct{ fall, times float64 }{{1.0 / 24, 2.8}, {1.0 / 48, 2}, {1.0 / 96, 1.41}, {1.0 / 192, 1}}

// halfRoundWidth is the diameter in feet of a level half-round gutter for an
// area times rain in ft² at 1 in/h: the SMACNA manual, quoted.
func halfRoundWidth(areaRain float64) float64 { return 0.0182 * math.Pow(areaRain, 0.4) }

// halfRoundArea is its inverse.
func halfRoundArea(width float64) float64 { return math.Pow(width/0.0182, 2.5) }

// rectangularWidth is the width in feet of a level rectangular gutter by depth
// over width and length in feet: SMACNA, from Beij (NBS RP 644, 1934).
func rectangularWidth(ratio, length, areaRain float64) float64 {
	return 0.0106 * math.Pow(ratio, -4.0/7) * math.Pow(length, 3.0/28) * math.Pow(areaRain, 5.0/14)
}

// rectangularArea is its inverse.
func rectangularArea(ratio, length, width float64) float64 {
	return math.Pow(width/0.0106*math.Pow(ratio, 4.0/7)*math.Pow(length, -3.0/28), 14.0/5)
}

// eavesFlow is the flow in m³/s of a half-round eaves gutter of a section in
// m²: EN 12056-3, from memory.
func eavesFlow(area float64) float64 { return 0.9 * 2.78e-5 * math.Pow(area*1e6, 1.25) / 1000 }

// tables puts the published figures for a clean gutter with a free outlet
// beside ours, for the side of an outlet that fills first.
func (j *judging) tables() {
	if j.tight == nil || j.full <= 0 || math.IsInf(j.full, 1) || j.blocked > 0 {
		return
	}
	c := j.config(true)
	ours := j.full * j.free.leg
	asked := math.NaN() // by the side that fills first, ft² at 1 in/h
	if known(j.rain) {
		asked = j.free.leg * j.rain / onePerHour
	}
	add := func(key, source, about string, flow, width float64) {
		t := Table{Key: key, Flow: units.Flow(flow), Ratio: ours / flow, Source: source}
		if known(width) {
			w := units.Length(width * foot)
			t.Asks = &w
		}
		t.Agrees = t.Ratio <= 1.2 && t.Ratio >= 1/1.2
		word := "agrees with"
		switch {
		case t.Ratio > 1.2:
			word = "is more careful than"
		case t.Ratio < 1/1.2:
			word = "is more hopeful than"
		}
		t.Says = fmt.Sprintf("%s gives %s; the flow worked out here is %s, so it %s ours.", about, j.writeProduct(flow), j.writeProduct(ours), word)
		j.out.Tables = append(j.out.Tables, t)
	}
	size := math.Round(c.width / inch)
	trade := math.Abs(c.width/inch-size) < 0.02
	if v := magazine[c.kind][size]; j.kind != "" && trade && v > 0 {
		add("consumer", "a home magazine's table, read", "The consumer table", v*onePerHour, math.NaN())
		if c.kind == KStyle {
			t := &j.out.Tables[len(j.out.Tables)-1]
			t.Says += " Its figures for 5 and 6 in K-style are those of 7 and 8 in half-round gutters in the plumbing tables: hopeful for a level gutter."
		}
	}
	switch j.kind {
	case HalfRound:
		if math.Abs(c.depth-c.width/2) > 0.02*c.width {
			return
		}
		add("smacna_half_round", "SMACNA manual, level half round, quoted second-hand", "The level half-round formula", halfRoundArea(c.width/foot)*onePerHour, halfRoundWidth(asked))
		add("en_12056_half_round", "EN 12056-3, from memory", "The European eaves formula", eavesFlow(j.tight.fill(j.tight.depth).area), math.NaN())
		if v := plumbing[size]; trade && v > 0 {
			for _, row := range plumbingFalls {
				if c.fall >= row.fall*(1-1e-9) {
					add("plumbing_half_round", "UPC and IPC gutter table, from memory", "The plumbing table", v*row.times*onePerHour, math.NaN())
					break
				}
			}
		}
	case Box:
		add("smacna_rectangular", "SMACNA from Beij, NBS RP 644 (1934), level rectangle, second-hand", "The level rectangular formula", rectangularArea(c.depth/c.width, j.free.length/foot, c.width/foot)*onePerHour, rectangularWidth(c.depth/c.width, j.free.length/foot, asked))
	case KStyle:
		mean := (c.width + c.sole) / 2
		add("smacna_rectangular", "SMACNA from Beij, NBS RP 644 (1934), level rectangle, second-hand; for a K-style of the same mean width and depth", "The level rectangular formula", rectangularArea(c.depth/mean, j.free.length/foot, mean/foot)*onePerHour, rectangularWidth(c.depth/mean, j.free.length/foot, asked))
	}
}

// writeProduct writes a flow as the roof that brings it.
func (j *judging) writeProduct(flow float64) string {
	if j.system == units.Metric {
		return j.writeFlow(flow)
	}
	return j.system.Area(units.Area(flow/inPerHour)) + " at 1 in/h"
}

// Place is a rainfall figure of a place.
type Place struct {
	Name    string  `json:"name"`
	Minutes int     `json:"minutes"` // of fall
	Years   int     `json:"years"`   // return period; 0 not told
	InH     float64 `json:"rain_in_per_h"`
	Source  string  `json:"source"`
}

const ipc = "IPC 2018, appendix B, read"

// Places lists the rainfall figures that are known here. Most are for an hour of
// rain and serve drains, not gutters, whose five-minute rain is about twice as
// heavy or more: look the place up in NOAA Atlas 14. The result is the caller's
// own.
func Places() []Place {
	out := []Place{
		{"Chicago", 5, 0, 6.8, "home magazine, second-hand"},
	}
	for i, v := range []float64{5.8, 6.9, 7.5, 8.4, 9.5} {
		out = append(out, Place{"Lee's Summit MO", 5, []int{2, 5, 10, 25, 100}[i], v, "NOAA Atlas 14 volume 8, second-hand"})
	}
	for _, p := range []struct {
		name string
		inH  float64
	}{
		{"Birmingham", 3.8}, {"Mobile", 4.6}, {"Montgomery", 4.2}, {"Fairbanks", 1}, {"Juneau", 0.6}, {"Flagstaff", 2.4},
		{"Jacksonville", 4.3}, {"Key West", 4.3}, {"Miami", 4.7}, {"Tampa", 4.5}, {"Atlanta", 3.7}, {"Savannah", 4.3},
		{"Louisville", 3.2}, {"New Orleans", 4.8}, {"Shreveport", 3.9}, {"Bangor", 2.2}, {"St. Louis", 3.2},
		{"North Platte", 3.3}, {"Helena", 1.5}, {"Missoula", 1.3},
	} {
		out = append(out, Place{p.name, 60, 100, p.inH, ipc})
	}
	return out
}

// FifteenMinutes gives the fifteen-minute rate of rain from the depth that falls
// in thirty, in the same length: 0.72 of it in a quarter of an hour (National
// Standard Plumbing Code, appendix A).
func FifteenMinutes(depth30 float64) float64 { return depth30 * 0.72 * 4 }
