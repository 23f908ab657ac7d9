package venting

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/units"
)

// steps writes a bill's steps in short.
func (b *Bill) steps() string {
	var out []string
	for _, s := range b.Steps {
		text := s.Key
		if s.Kind != "" {
			text += " " + string(s.Kind)
		}
		switch {
		case s.Length != nil:
			text += fmt.Sprintf(" %.4g ft", s.Length.In(units.Foot))
		case s.Count != nil:
			text += fmt.Sprintf(" %d", *s.Count)
		}
		out = append(out, text)
	}
	return strings.Join(out, ", ")
}

// known is an attic of which all that the checks ask for is known and right.
func known(high, low float64) Input {
	in := attic1500(high, low)
	in.ClimateZone = "5"
	in.ClearSpaceIn, in.DuctsEnding = p(2), []string{}
	in.Eaves = []Eave{{Name: "north", LengthFt: p(50), OverhangIn: p(16)}, {Name: "south", LengthFt: p(50), OverhangIn: p(16)}}
	return in
}

// TestBills follows the areas that the sources give: R806.2 on 1,500 ft² asks
// 1,440 in² or 720 (arithmetic); strip and vented drip edge 9 in² a foot, panel
// 10, boxes 50 to 60 (trade pages).
func TestBills(t *testing.T) {
	for _, c := range []struct {
		name, code string
		change     func(*Input)
		want       string
		verdict    Verdict
	}{
		// One box of 500 in² cannot be closed in part, so 1,440 in² are owed, of
		// which two fifths high, our least, want its like again.
		{"the trap, one hole", "irc_2015", nil, "add_intake soffit_panel 78 ft, add_exhaust box 1", Passes},
		{"the trap, a ridge vent", "irc_2015", func(in *Input) {
			in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(40), NetPerFtIn2: p(12.5)}
			// 28 ft hold 350 in² and want 370 in²
		}, "add_intake soffit_panel 15 ft, close_exhaust ridge 12 ft", Passes},
		{"the same, not shorter than its maker wants", "irc_2015", func(in *Input) {
			in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(40), NetPerFtIn2: p(12.5), LeastRunFt: p(30)}
			in.RidgeFt = p(60)
		}, "add_intake soffit_panel 52 ft, add_exhaust ridge 16 ft", Passes},
		{"the trap passes in 2006, and exhaust is above intake all the same", "irc_2006", nil, "add_intake soffit_panel 28 ft", Passes},
		{"nothing amiss", "irc_2015", func(in *Input) { *in = known(360, 360) }, "", Passes},
		{"nothing there: 600 ft² at 1/150", "irc_2018", func(in *Input) {
			// a vent maker's guide: 288 in² high, 144 at each of two eaves
			in.PlanAreaFt2, in.Openings, in.ClimateZone = p(600), []Opening{}, "6"
			in.Products = []Product{{Kind: Box, NetEachIn2: p(48)}, {Kind: SoffitStrip, NetPerFtIn2: p(9)}, {Kind: SoffitPanel, NetPerFtIn2: p(4)}}
			in.Prices = []Price{{Item: Item(Box), Each: p(1)}, {Item: Item(SoffitStrip), PerFt: p(10)}}
		}, "add_intake soffit_strip 32 ft, add_exhaust box 6", Passes},
		{"blocked soffits come first", "irc_2015", func(in *Input) {
			*in = known(300, 0)
			in.Openings[1] = Opening{Kind: SoffitStrip, LengthFt: p(60), BlockedShare: p(0.5)}
		}, "clear_soffit soffit_strip 30 ft", Passes},
		{"no clear space, and ducts", "irc_2015", func(in *Input) {
			*in = known(360, 360)
			in.ClearSpaceIn, in.BaySpacingIn, in.DuctsEnding = p(0), p(24), []string{"bath", "dryer"}
		}, "baffles 50, ducts 2", Passes},
		{"the clear space is not known", "irc_2015", func(in *Input) {
			*in = known(360, 350)
			in.ClearSpaceIn = nil
		}, "look_over_wall, add_intake soffit_panel 1 ft", Passes},
		{"one kind stays", "irc_2015", func(in *Input) {
			*in = known(0, 450)
			in.Openings[0] = Opening{Kind: Box, Count: n(6), NetEachIn2: p(50), Height: High}
			in.Openings = append(in.Openings, Opening{Kind: Gable, Count: n(2), NetEachIn2: p(100), Height: Other})
		}, "close_exhaust gable 2", Passes},
		{"a fan of unknown area goes", "irc_2015", func(in *Input) {
			*in = known(0, 450)
			in.Openings[0] = Opening{Kind: Box, Count: n(6), NetEachIn2: p(50), Height: High}
			in.Openings = append(in.Openings, Opening{Kind: Powered, Count: n(1), Height: High})
		}, "close_exhaust powered 1", Passes},
		{"a ridge vent on too steep a roof goes", "irc_2015", func(in *Input) {
			*in = known(0, 450)
			in.RiseIn12 = p(18)
			in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(20), NetPerFtIn2: p(15.2), LeastRiseIn12: p(3), MostRiseIn12: p(16)}
		}, "close_exhaust ridge 20 ft, add_exhaust box 6", Passes},
		{"too short a run is made longer", "irc_2015", func(in *Input) {
			*in = known(0, 450)
			in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(18), NetPerFtIn2: p(16), LeastRunFt: p(20)}
			in.RidgeFt = p(40)
		}, "add_exhaust ridge 2 ft", Passes},
		{"or goes, where the ridge is too short", "irc_2015", func(in *Input) {
			*in = known(0, 450)
			in.Openings[0] = Opening{Kind: Ridge, LengthFt: p(18), NetPerFtIn2: p(16), LeastRunFt: p(20)}
			in.RidgeFt = p(19)
		}, "close_exhaust ridge 18 ft, add_exhaust box 6", Passes},
		{"the passage throttles a wide soffit", "irc_2015", func(in *Input) {
			// 5 in² a foot of eave pass, 500 in all; 1/150 wants 720 low
			*in = known(720, 900)
			in.Eaves[0].OverhangIn, in.Eaves[1].OverhangIn = p(48), p(48)
			in.Eaves[0].OpenFt, in.Eaves[1].OpenFt = p(10), p(10)
		}, "baffles 76", Passes},
		{"no soffit: vented drip edge", "irc_2015", func(in *Input) {
			*in = known(360, 0)
			in.Openings = in.Openings[:1]
			in.Eaves[0].OverhangIn, in.Eaves[1].OverhangIn = p(0), p(0)
		}, "add_intake drip_edge_vent 40 ft", Passes},
		{"too small a soffit, and drip edge for the rest", "irc_2015", func(in *Input) {
			*in = known(360, 0)
			in.Openings = in.Openings[:1]
			in.Eaves[0].FreeSoffitFt, in.Eaves[1].FreeSoffitFt = p(10), p(10)
			in.Products = []Product{{Kind: DripEdgeVent, NetPerFtIn2: p(4)}}
		}, "add_intake soffit_panel 20 ft, add_intake drip_edge_vent 40 ft", Passes},
		{"too small an eave closes exhaust", "irc_2015", func(in *Input) {
			*in = known(0, 0)
			in.Openings = []Opening{{Kind: Box, Count: n(7), NetEachIn2: p(50), Height: High}}
			in.Eaves = []Eave{{LengthFt: p(12), OverhangIn: p(16)}}
			// 12 ft of panel and of drip edge hold 228 in²: four boxes
		}, "add_intake soffit_panel 12 ft, add_intake drip_edge_vent 12 ft, close_exhaust box 3", Fails},
		{"1/300 by a retarder", "irc_2012", func(in *Input) {
			*in = known(250, 450)
			in.ClimateZone, in.RetarderClass = "7", "II"
			in.Openings[0] = Opening{Kind: Box, Count: n(5), NetEachIn2: p(50), Height: High}
			// 250 in² high is no 288, and the retarder does not ask for it
		}, "add_exhaust box 1", Passes},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := known(500, 220)
			if c.change != nil {
				c.change(&in)
			}
			in.Codes = []string{c.code}
			bill := check(t, in).Rules[0].Bill
			if bill == nil {
				if c.want != "" {
					t.Fatalf("no bill, want %s", c.want)
				}
				return
			}
			if bill.steps() != c.want || bill.Verdict != c.verdict {
				t.Errorf("got %q, %s\nwant %q, %s\n%s", bill.steps(), bill.Verdict, c.want, c.verdict, bill.Says)
			}
			if (c.verdict == Fails) != (len(bill.Lacks) > 0) {
				t.Errorf("what it lacks: %v", bill.Lacks)
			}
		})
	}
}

// Prices choose among what is safe, and only there.
func TestPrices(t *testing.T) {
	in := known(0, 0)
	in.Openings, in.Codes, in.RidgeFt = []Opening{}, []string{"irc_2015"}, p(50)
	bill := func(box, ridge float64) *Bill {
		in.Prices = []Price{
			{Item: Item(Box), Each: p(box)}, {Item: Item(Ridge), PerFt: p(ridge)},
			{Item: Item(SoffitStrip), PerFt: p(2)}, {Item: Item(DripEdgeVent), PerFt: p(6)}, {Item: ItemClose, Each: p(80)},
		}
		return check(t, in).Rules[0].Bill
	}
	in.Products = []Product{{Kind: Ridge, NetPerFtIn2: p(15.2)}}
	// Of 720 in², 288 to 360 high (arithmetic of R806.2). Six boxes of 50 to 60
	// in² hold 300 at the least: 420 in² of strip, 47 ft. 23 ft of a ridge vent
	// of 15.2 in² a foot hold 349.6: 370.4 in² of strip, 42 ft. The panel has
	// no price.
	if b := bill(10, 100); b.steps() != "add_intake soffit_strip 47 ft, add_exhaust box 6" || b.ChosenBy != "price" || !near(*b.Price, 2*47+6*10, 1e-9) {
		t.Errorf("boxes are cheaper: %s, %v", b.steps(), b.Price)
	}
	if b := bill(500, 1); b.steps() != "add_intake soffit_strip 42 ft, add_exhaust ridge 23 ft" || !near(*b.Price, 2*42+23, 1e-9) {
		t.Errorf("the ridge vent is cheaper: %s, %v", b.steps(), *b.Price)
	}
	// It is free to leave everything as it is, and exhaust without intake is
	// cheap: neither is safe.
	in.Prices = []Price{{Item: Item(Box), Each: p(0)}, {Item: Item(SoffitStrip), PerFt: p(1e5)}}
	if b := check(t, in).Rules[0].Bill; b.IntakeAfter.Least < *b.ExhaustAfter.Most || b.Verdict != Passes {
		t.Errorf("cheap and unsafe: %s", b.steps())
	}
	// What has no price is named, and least work decides.
	in.Prices = []Price{{Item: ItemDuct, Each: p(300)}}
	if b := check(t, in).Rules[0].Bill; b.Price != nil || len(b.Unknown) == 0 || b.ChosenBy != "least work" {
		t.Errorf("unpriced: %v %v %s", b.Price, b.Unknown, b.ChosenBy)
	}
}

// drawAttic is an arbitrary attic with all that the checks and bills look at.
func drawAttic(t *rapid.T) Input {
	in := drawInput(t, rapid.Bool().Draw(t, "exact"))
	maybe := func(name string, least, most float64) *float64 {
		if rapid.Bool().Draw(t, name+" unknown") {
			return nil
		}
		return p(rapid.Float64Range(least, most).Draw(t, name))
	}
	pick := func(name string, of ...string) string { return rapid.SampledFrom(of).Draw(t, name) }
	in.Readings = Readings{ShareOf: pick("share_of", "", "asked", "there"), BothConditions: pick("both", "", "yes", "no"), QuarterSplit: pick("quarters", "", "yes", "no")}
	in.ClearSpaceIn, in.RidgeFt = maybe("clear", 0, 6), maybe("ridge", 0, 80)
	in.Ducts = pick("ducts", "", "insulated", "ends_in_attic")
	if in.Ducts == "" && rapid.Bool().Draw(t, "ducts looked at") {
		in.DuctsEnding = []string{"bath"}
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "eaves") {
		e := Eave{LengthFt: maybe(fmt.Sprint("eave", i), 1, 80), OverhangIn: maybe(fmt.Sprint("overhang", i), 0, 40), ClearSpaceIn: maybe(fmt.Sprint("clear", i), 0, 6)}
		if e.LengthFt != nil && rapid.Bool().Draw(t, "part open") {
			e.OpenFt = p(*e.LengthFt / 2)
		}
		in.Eaves = append(in.Eaves, e)
	}
	if rapid.Bool().Draw(t, "ridge vent") {
		in.Openings = append(in.Openings, Opening{
			Kind: Ridge, LengthFt: p(rapid.Float64Range(1, 60).Draw(t, "run")), NetPerFtIn2: maybe("ridge net", 1, 20),
			LeastRiseIn12: maybe("least rise", 0, 6), MostRiseIn12: maybe("most rise", 6, 20), LeastRunFt: maybe("least run", 0, 40),
		})
	}
	if rapid.Bool().Draw(t, "strip") {
		in.Openings = append(in.Openings, Opening{Kind: SoffitStrip, LengthFt: p(rapid.Float64Range(0, 100).Draw(t, "strip run")), BlockedShare: maybe("strip blocked", 0, 1)})
	}
	if rapid.Bool().Draw(t, "fan") {
		in.Openings = append(in.Openings, Opening{Kind: Powered, Count: n(1), Height: High, NetEachIn2: maybe("fan net", 50, 300)})
	}
	if rapid.Bool().Draw(t, "prices") {
		for _, k := range []Item{Item(Box), Item(Turbine), Item(Ridge), Item(SoffitPanel), Item(DripEdgeVent), ItemClose, ItemDuct, ItemClear, ItemBaffle} {
			if v := maybe("price of "+string(k), 0, 100); v != nil {
				in.Prices = append(in.Prices, Price{Item: k, Each: v, PerFt: v})
			}
		}
	}
	if rapid.Bool().Draw(t, "metric") {
		in.Units = units.Metric
	}
	return in
}

var order = []string{"clear_soffit", "look_over_wall", "baffles", "ducts", "add_intake", "close_exhaust", "add_exhaust"}

// The attic that a bill leaves passes, unless the bill says what stands in the
// way; exhaust is nowhere above intake; one kind of exhaust is left; the steps
// are in the safe order; and nothing that the bill puts right is amiss after it.
func TestBillsPass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawAttic(t)
		for _, r := range check(t, in).Rules {
			b := r.Bill
			if b == nil {
				if r.Verdict == Fails && len(r.Measure) == 0 {
					t.Fatalf("%s fails, and nothing is said of what would put it right", r.Code)
				}
				continue
			}
			if !slices.IsSortedFunc(b.Steps, func(x, y Step) int { return slices.Index(order, x.Key) - slices.Index(order, y.Key) }) {
				t.Fatalf("order: %s", b.steps())
			}
			if b.IntakeAfter == nil {
				if len(b.Measure) == 0 {
					t.Fatalf("%s: no vents, and nothing to measure: %s", r.Code, b.Says)
				}
				continue
			}
			after := check(t, b.After)
			if after.Rules[0].Verdict != b.Verdict || len(after.Rules) != 1 {
				t.Fatalf("the bill says %s, the check %s", b.Verdict, after.Rules[0].Verdict)
			}
			if b.Verdict != Passes && len(b.Lacks) == 0 {
				t.Fatalf("%s after %s: %s", b.Verdict, b.steps(), after.Rules[0].Says)
			}
			if most := b.ExhaustAfter.Most; most == nil || float64(*most) > float64(b.IntakeAfter.Least)*(1+1e-8)+1e-12 {
				t.Fatalf("exhaust %v above intake %v after %s", b.ExhaustAfter, b.IntakeAfter, b.steps())
			}
			for _, c := range after.Checks {
				if c.Verdict == Fails && slices.Contains(ordered, c.Key) && c.Key != "passage" {
					t.Fatalf("after %s: %s", b.steps(), c.Says)
				}
			}
			if b.Price != nil {
				sum := 0.0
				for _, s := range b.Steps {
					if s.Price != nil {
						sum += *s.Price
					}
				}
				if !near(sum, *b.Price, 1e-9) {
					t.Fatalf("price %v, steps %v", *b.Price, sum)
				}
			}
			// done once, there is nothing left to do
			if again := after.Rules[0].Bill; b.Verdict == Passes && again != nil && len(again.Steps) > 0 && again.Steps[0].Key != "look_over_wall" {
				t.Fatalf("after %s again %s", b.steps(), again.steps())
			}
		}
	})
}

// A roof seen in a mirror, its eaves and vents listed the other way round, has
// the same verdicts, checks and bill.
func TestMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawAttic(t)
		other := in
		other.Openings, other.Eaves = slices.Clone(in.Openings), slices.Clone(in.Eaves)
		slices.Reverse(other.Openings)
		slices.Reverse(other.Eaves)
		x, y := check(t, in), check(t, other)
		if x.verdicts() != y.verdicts() {
			t.Fatalf("verdicts %s and %s", x.verdicts(), y.verdicts())
		}
		tally := func(r Result) map[string]int {
			out := map[string]int{}
			for _, c := range r.Checks {
				out[c.Key+" "+string(c.Verdict)]++
			}
			return out
		}
		if a, b := fmt.Sprint(tally(x)), fmt.Sprint(tally(y)); a != b {
			t.Fatalf("checks %s and %s", a, b)
		}
		for i := range x.Rules {
			p, q := x.Rules[i].Bill, y.Rules[i].Bill
			if (p == nil) != (q == nil) {
				t.Fatalf("bills %v and %v", p, q)
			}
			if p == nil || p.IntakeAfter == nil {
				continue
			}
			if p.Verdict != q.Verdict || p.Keeps != q.Keeps || !near(float64(p.IntakeAfter.Least), float64(q.IntakeAfter.Least), 1e-9) || !near(float64(*p.ExhaustAfter.Most), float64(*q.ExhaustAfter.Most), 1e-9) {
				t.Fatalf("bills %s and %s", p.steps(), q.steps())
			}
		}
	})
}

// More intake with the high vents unchanged never turns a pass into a fail,
// with a known passage over the walls too, and one condition read as enough.
// Measured on the area there the share of high vents falls as intake grows, so
// that the reading stands out: see TestReadings.
func TestMoreIntakeNeverFailsInAnyAttic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawAttic(t)
		in.Readings.ShareOf = ""
		before := check(t, in)
		in.Openings = append(slices.Clone(in.Openings), net(Low, rapid.Float64Range(0, 3000).Draw(t, "more")))
		after := check(t, in)
		for i, r := range before.Rules {
			if r.Verdict == Passes && after.Rules[i].Verdict != Passes {
				t.Fatalf("%s passed, and with more intake %s", r.Code, after.Rules[i].Verdict)
			}
		}
	})
}

func TestBillJSON(t *testing.T) {
	in := known(500, 220)
	in.Openings = append(in.Openings, Opening{Kind: Powered, Count: n(1), Height: High}, Opening{Kind: SoffitLight, Count: n(4)})
	out, err := json.Marshal(check(t, in))
	if err != nil || strings.Contains(string(out), "null") || !strings.Contains(string(out), `"bill"`) {
		t.Errorf("%v: %s", err, out)
	}
	if math.IsNaN(check(t, in).Rules[0].Bill.HighShareMost) {
		t.Error("share")
	}
}
