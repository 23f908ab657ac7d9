package attic

// Winter is what one year's cold does to one slope and its deck. Amounts are by
// the square metre of slope over the heated ceiling.
//
// Icings seldom grow when the air outside is above 22 °F (−5.6 °C): water that
// melts then runs off (W. Tobiasson, CRREL). So melt is told apart at −5.6 °C,
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

	DampHours float64 `json:"damp_hours"`  // air at the deck's underside at 80 % or more of saturation
	Frost     float64 `json:"frost_kg_m2"` // most frost on the deck's underside
}

// icing is the temperature outside, in °C, above which icings seldom grow: 22 °F.
const icing = -50.0 / 9
