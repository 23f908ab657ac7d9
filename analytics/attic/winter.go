package attic

import "overhang/analytics/units"

// Winter is what one year's cold does to one slope and its deck. Amounts are by
// the square metre of slope over the heated ceiling.
//
// Icings seldom grow when the air outside is above 22 °F (−5.6 °C), and colder
// air cools an attic better (W. Tobiasson, J. Buska and A. Greatorex, CRREL,
// abstract of their guidelines for ventilating attics). So melt is told apart at −5.6 °C,
// and IcingHours counts only the colder hours.
type Winter struct {
	SnowHours  float64 `json:"snow_hours"`  // snow lies on the slope
	MeltHours  float64 `json:"melt_hours"`  // it melts from below while it freezes outside
	IcingHours float64 `json:"icing_hours"` // of these, with −5.6 °C or less outside

	Melt     float64 `json:"melt_kg_m2"`      // melted from below while it freezes outside
	MeltCold float64 `json:"melt_cold_kg_m2"` // of it, with −5.6 °C or less outside
	// Freeze is the water that a square metre of snow-covered overhang could
	// freeze during MeltHours, and FreezeCold during IcingHours.
	Freeze     float64 `json:"freeze_kg_m2"`
	FreezeCold float64 `json:"freeze_cold_kg_m2"`

	DampHours float64 `json:"damp_hours"`  // under 5 °C outside, with the air at the deck's underside at 80 % or more of saturation
	Frost     float64 `json:"frost_kg_m2"` // most frost on the deck's underside
}

// icing is the temperature outside, in °C, above which icings seldom grow: 22 °F.
const icing = -50.0 / 9

// Coldness is whether the vents keep the attic cold enough that the snow on it
// does not feed ice: at most 30 °F (−1.1 °C) when it is 22 °F (−5.6 °C) outside,
// calm, under a foot of snow.
type Coldness struct {
	Attic   Range         `json:"attic_c"`
	Limit   float64       `json:"limit_c"`
	Margin  Range         `json:"margin_k"` // the limit less the attic: negative is too warm
	Verdict units.Verdict `json:"verdict"`
	Source  string        `json:"source"`
}

// coldEnough is 30 °F in °C.
const coldEnough = -10.0 / 9

func newColdness(attic Range) Coldness {
	c := Coldness{Attic: attic, Limit: coldEnough,
		Margin:  Range{coldEnough - attic.Most, coldEnough - attic.Likely, coldEnough - attic.Least},
		Verdict: units.NotKnown,
		Source:  "W. Tobiasson, J. Buska and A. Greatorex (CRREL), guidelines for ventilating attics: 22 °F outside from the abstract, 30 °F in the attic from memory. A guideline, in no code.",
	}
	switch {
	case c.Margin.Least >= 0:
		c.Verdict = units.Passes
	case c.Margin.Most < 0:
		c.Verdict = units.Fails
	}
	return c
}
