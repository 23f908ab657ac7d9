package icing

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// snow is the melt of a winter in kg/m²: all of it while it freezes outside, and
// the part in air cold enough for ice. NaN is not known.
type snow struct{ all, cold float64 }

// counts is the melt that counts, at least and at most.
func (s snow) counts() span {
	if math.IsNaN(s.all) && math.IsNaN(s.cold) {
		return span{0, math.Inf(1)}
	}
	weigh := func(all, cold float64) float64 { return cold + mildShare*(all-cold) }
	switch {
	case math.IsNaN(s.all):
		return span{s.cold, math.Inf(1)}
	case math.IsNaN(s.cold):
		return span{weigh(s.all, 0), s.all}
	}
	return exactly(weigh(s.all, s.cold))
}

func (w *Winter) read(r *units.Reader, field string) snow {
	if w == nil {
		return snow{math.NaN(), math.NaN()}
	}
	own := units.Reader{Field: field + "."}
	number := func(name string, v *float64, most float64) float64 { return own.One(0, most, alt(name, v, 1)) }
	s := snow{number("melt_kg_m2", w.Melt, 1e4), number("melt_cold_kg_m2", w.MeltCold, 1e4)}
	melting, icing := number("melt_hours", w.MeltHours, 8784), number("icing_hours", w.IcingHours, 8784)
	number("damp_hours", w.DampHours, 8784)
	number("frost_kg_m2", w.Frost, 1e3)
	if s.cold > s.all*(1+1e-9) {
		own.Refuse("melt_cold_kg_m2", "must not be more than all melt, melt_kg_m2")
	}
	if icing > melting*(1+1e-9) {
		own.Refuse("icing_hours", "must not be more than melt_hours")
	}
	if r.Err == nil {
		r.Err = own.Err
	}
	return s
}

// fed is the water that reaches a metre of eave.
func fed(melt, slope float64) float64 {
	if melt == 0 {
		return 0
	}
	return melt * slope
}

func (in IndexInput) read() (indexed, error) {
	r := units.Reader{}
	x := indexed{likely: 5, slope: span{3, 8}}
	if length := r.One(0.1, 100, alt("heated_slope_ft", in.HeatedSlopeFt, foot), alt("heated_slope_m", in.HeatedSlopeM, 1)); !math.IsNaN(length) {
		x.slope, x.likely = exactly(length), length
	}
	likely, least, most := in.Winter.read(&r, "winter"), in.WinterLeast.read(&r, "winter_least"), in.WinterMost.read(&r, "winter_most")
	in.WinterSealed.read(&r, "winter_sealed")
	in.WinterInsulated.read(&r, "winter_insulated")
	in.WinterBalanced.read(&r, "winter_balanced")
	x.melt(likely, least, most)
	above := func(a, b float64) bool { return a > b*(1+1e-9) }
	if above(x.water[0], x.water[1]) || above(x.water[1], x.water[2]) || above(x.water[0], x.water[2]) {
		r.Refuse("winter", "its melt must lie between those of winter_least and winter_most")
	}
	if in.HeatedSlopeFt == nil && in.HeatedSlopeM == nil && x.water[2] > 0 {
		x.missed = append(x.missed, "heated_slope_ft")
	}

	overhang := r.One(0, 5, alt("overhang_in", in.OverhangIn, inch), alt("overhang_mm", in.OverhangMm, mm))
	rise := r.One(0, steepest, alt("rise_in_12", in.RiseIn12, 1.0/12))
	facing := r.One(0, 360, alt("facing_deg", in.FacingDeg, 1))
	dead := and(told(in.DeadValley), not(told(in.Saddle)))
	if in.DeadValley != nil && !*in.DeadValley && in.Saddle != nil && *in.Saddle {
		dead = No
	}
	var deadFields []string
	if in.DeadValley == nil {
		deadFields = append(deadFields, "dead_valley")
	}
	if in.Saddle == nil {
		deadFields = append(deadFields, "saddle")
	}
	unlessKnown := func(v float64, is bool) Answer {
		if math.IsNaN(v) {
			return Unknown
		}
		if is {
			return Yes
		}
		return No
	}
	wide := min(1, max(0, (overhang-overhangFrom)/(overhangTo-overhangFrom)))
	there := []struct {
		is     Answer
		fields []string
	}{
		{unlessKnown(overhang, wide > 0), []string{"overhang_in"}},
		{told(in.ValleyToShortEave), []string{"valley_to_short_eave"}},
		{dead, deadFields},
		{told(in.DuctsEndInAttic), []string{"ducts_end_in_attic"}},
		{told(in.PastLeaks), []string{"past_leaks"}},
		{told(in.RecessedLights), []string{"recessed_lights"}},
		{told(in.KneeWalls), []string{"knee_walls"}},
		{told(in.Skylights), []string{"skylights"}},
		{unlessKnown(rise, rise < 4.0/12*(1-1e-9)), []string{"rise_in_12"}},
		{unlessKnown(facing, math.Cos(facing*math.Pi/180) >= math.Sqrt2/2-1e-9), []string{"facing_deg"}},
	}
	for i, f := range factors {
		own := raised{Factor: f, there: there[i].is, now: 1, most: 1, fields: there[i].fields}
		switch {
		case own.there == Unknown:
			own.most = f.Most
		case own.there == Yes && i == 0:
			own.now = 1 + wide*(f.Most-1)
			own.most = own.now
		case own.there == Yes:
			own.now, own.most = f.Most, f.Most
		}
		x.raised = append(x.raised, own)
	}
	x.system = system(&r, in.Units)
	return x, r.Err
}

// melt settles the water that reaches a metre of eave.
func (x *indexed) melt(likely, least, most snow) {
	have := func(s snow) bool { return !math.IsNaN(s.all) || !math.IsNaN(s.cold) }
	middle := likely.counts()
	x.water = [3]float64{0, math.NaN(), math.Inf(1)}
	if have(likely) {
		x.water[0], x.water[2] = fed(middle.lo, x.slope.lo), fed(middle.hi, x.slope.hi)
		if math.IsInf(middle.hi, 1) {
			// all that is known is melt in the cold, and the mild counts little
			middle.hi = middle.lo
		}
		x.water[1] = fed((middle.lo+middle.hi)/2, x.likely)
	}
	if have(least) {
		x.water[0] = fed(least.counts().lo, x.slope.lo)
	}
	if have(most) {
		x.water[2] = fed(most.counts().hi, x.slope.hi)
	}
	if !have(likely) && !have(least) && !have(most) {
		x.missed = append(x.missed, "winter.melt_kg_m2", "winter.melt_cold_kg_m2")
	} else {
		if math.IsNaN(likely.cold) {
			x.missed = append(x.missed, "winter.melt_cold_kg_m2")
		}
		if math.IsNaN(likely.all) {
			x.missed = append(x.missed, "winter.melt_kg_m2")
		}
	}
}

// after is the likely index with another winter.
func (x indexed) after(w *Winter, now float64) *int {
	var r units.Reader
	s := w.read(&r, "")
	if math.IsNaN(s.all) || math.IsNaN(s.cold) || math.IsNaN(x.water[1]) {
		return nil
	}
	out := points(fed(s.counts().lo, x.likely), now)
	return &out
}

// without is the likely index with one factor gone.
func (x indexed) without(key string, now float64) *int {
	if math.IsNaN(x.water[1]) {
		return nil
	}
	for _, f := range x.raised {
		if f.Key == key && f.there == Yes {
			out := points(x.water[1], now/f.now)
			return &out
		}
	}
	return nil
}

// there says whether a factor is there.
func (x indexed) there(key string) Answer {
	for _, f := range x.raised {
		if f.Key == key {
			return f.there
		}
	}
	return No
}

// remedies are in the order in which they are to be thought of: what stops the
// melt, then what limits the leaks, and last what only helps for a while. An
// index that is surely low asks for none.
func (in IndexInput) remedies(x indexed, now float64, out IndexResult) []Remedy {
	if out.WordMost == cuts[0].Word {
		return nil
	}
	list := []Remedy{{Key: "air_sealing", Index: x.after(in.WinterSealed, now),
		Says: "Seal the ceiling first, where air from the house gets into the attic: around lights, pipes, chimney, hatch and wall tops. A chimney needs sheet metal and fire-rated sealant."}}
	if x.there("ducts_end_in_attic") != No {
		list = append(list, Remedy{Key: "ducts_outdoors", Index: x.without("ducts_end_in_attic", now),
			Says: "Lead bath, kitchen and dryer ducts outdoors, insulated where they cross the attic; none may end in it."})
	}
	list = append(list,
		Remedy{Key: "insulation", Index: x.after(in.WinterInsulated, now),
			Says: "Then insulate the ceiling evenly, over the wall tops too, with baffles that keep the air way at the eaves open."},
		Remedy{Key: "ventilation", Index: x.after(in.WinterBalanced, now),
			Says: "Then balance the vents, intake before exhaust: more exhaust over a leaky ceiling draws heat up."})
	if x.there("dead_valley") != No {
		list = append(list, Remedy{Key: "saddle", Index: x.without("dead_valley", now),
			Says: "Have a saddle built in the dead valley, so that water and snow drain off it, at the next re-roof or before."})
	}
	return append(list,
		Remedy{Key: "membrane", Says: "At the next re-roof lay membrane at the eave as far as the code asks or farther. It limits leaks; it does not stop dams."},
		Remedy{Key: "heat_cables", Says: "Heat cables are only a stop-gap, fitted by a licensed electrician on a circuit with ground-fault protection; they cure nothing and cost power each winter."})
}

// notes are what the winter balance says besides melt.
func (in IndexInput) notes() []string {
	var out []string
	w := in.Winter
	if w == nil {
		return nil
	}
	if w.IcingHours != nil && w.MeltHours != nil && *w.MeltHours > 0 {
		out = append(out, fmt.Sprintf("Snow melts from below through %.0f hours of frost in a winter, %.0f of them cold enough for ice to grow at the eave.", *w.MeltHours, *w.IcingHours))
	}
	if w.Frost != nil && *w.Frost >= 0.1 {
		out = append(out, "Frost gathers on the underside of the deck: air from the house leaks up, which feeds the ice too.")
	}
	if w.DampHours != nil && *w.DampHours >= 720 {
		out = append(out, "The deck's underside is damp for more than a month in a year: look for mould and stains.")
	}
	return out
}
