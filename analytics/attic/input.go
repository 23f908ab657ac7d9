package attic

import (
	"fmt"
	"math"
	"strings"

	"overhang/analytics/climate"
	"overhang/analytics/units"
)

// Input is one vented attic. Of each pair of fields that differ only by unit at
// most one may be given; a field left out is not known, and runs over the range
// that stands beside it.
type Input struct {
	// Station is the key of the weather (see climate.Stations). Year is a year
	// of one's own, from normals or a file, and goes before it.
	Station string        `json:"station,omitempty"`
	Year    *climate.Year `json:"-"`

	CeilingAreaFt2 *float64 `json:"ceiling_area_ft2,omitempty"` // insulated, under the attic; without it the vents are not known
	CeilingAreaM2  *float64 `json:"ceiling_area_m2,omitempty"`

	// Net free area of all vents at the eaves, and of all at the top. Where
	// only bounds are known they are the least, and the fields with "most" the
	// most. Not known: from nothing to 1/300 of the ceiling, likely 1/600.
	IntakeIn2      *float64 `json:"intake_in2,omitempty"`
	IntakeCm2      *float64 `json:"intake_cm2,omitempty"`
	IntakeMostIn2  *float64 `json:"intake_most_in2,omitempty"`
	IntakeMostCm2  *float64 `json:"intake_most_cm2,omitempty"`
	ExhaustIn2     *float64 `json:"exhaust_in2,omitempty"`
	ExhaustCm2     *float64 `json:"exhaust_cm2,omitempty"`
	ExhaustMostIn2 *float64 `json:"exhaust_most_in2,omitempty"`
	ExhaustMostCm2 *float64 `json:"exhaust_most_cm2,omitempty"`

	// VentHeight is upright, from the vents at the eaves to those at the top.
	// Not known: what the slope rises over 3.8 m, from half to 1.4 times it.
	VentHeightFt *float64 `json:"vent_height_ft,omitempty"`
	VentHeightM  *float64 `json:"vent_height_m,omitempty"`

	RiseIn12  *float64 `json:"rise_in_12,omitempty"` // 3 to 12, likely 6
	FacingDeg *float64 `json:"facing_deg,omitempty"` // of the slope asked about, from north by east; north to south, likely east
	Shade     string   `json:"shade,omitempty"`      // dark, middle or light; any of them, likely middle

	InsulationR   *float64 `json:"insulation_r,omitempty"`   // ceiling, ft²·°F·h/Btu, likely R-20
	InsulationRSI *float64 `json:"insulation_rsi,omitempty"` // m²K/W
	CeilingLeaks  string   `json:"ceiling_leaks,omitempty"`  // few, some or many; any of them, likely some
	RetarderClass string   `json:"vapour_retarder_class,omitempty"`
	Shelter       string   `json:"shelter,omitempty"` // from the wind: open, some or sheltered; any of them, likely some

	Units units.System `json:"units,omitempty"` // of the sentences: us (when empty) or metric
}

// What the words stand for.
var (
	// Sun absorbed by asphalt shingles: reflectance near 0.05 for black and
	// 0.25 for what is sold as white (published surveys of shingles, from
	// memory).
	shades = []word{{"light", 0.75}, {"middle", 0.88}, {"dark", 0.95}}
	// Effective leakage of the ceiling at 4 Pa, m² by the m²: our judgement.
	leaks = []word{{"few", 0.3e-4}, {"some", 1e-4}, {"many", 3e-4}}
	// Share of the wind at the eave that is left: after Walker and Wilson's
	// shelter factors, our judgement.
	shelters = []word{{"sheltered", 0.4}, {"some", 0.7}, {"open", 1}}
)

type word struct {
	key   string
	value float64
}

// The variables of a run, by their place in a point.
const (
	intake  = iota // net free area by the area of ceiling
	exhaust        //
	rsi
	leak
	height
	rise
	facing
	shade
	shelter
	variables
)

// fields names what would settle each variable.
var fields = [variables]string{"intake", "exhaust", "insulation", "ceiling_leaks", "vent_height", "rise_in_12", "facing_deg", "shade", "shelter"}

// point is one value of each variable.
type point [variables]float64

// span is a variable's range; ends are the same when it is known.
type span struct{ least, likely, most float64 }

func (s span) known() bool { return s.least == s.most }

func exactly(v float64) span { return span{v, v, v} }

// Code is the vent area that the attic is compared with: 1/300 of the ceiling,
// half of it low and half high.
const Code = 1.0 / 300

// most vents that are believed, by the area of ceiling, and that are told
// apart: beyond 1/50 the attic is as the outside.
const mostVents = 1.0 / 50

// house is an Input read.
type house struct {
	year     *climate.Year
	place    string
	span     [variables]span
	retarder int // -1 not known
	system   units.System
	measure  []string // fields beside the variables' own
}

const (
	sqin   = float64(units.SquareInch)
	sqft   = float64(units.SquareFoot)
	sqcm   = float64(units.SquareCentimetre)
	foot   = float64(units.Foot)
	rValue = 0.1761 // m²K/W of one ft²·°F·h/Btu
)

func (in Input) read() (house, error) {
	r := units.Reader{}
	alt := func(field string, v *float64, unit float64) units.Alternative {
		return units.Alternative{Field: field, Value: v, Unit: unit}
	}
	h := house{system: in.Units, retarder: -1}
	area := r.One(1, 100_000, alt("ceiling_area_ft2", in.CeilingAreaFt2, sqft), alt("ceiling_area_m2", in.CeilingAreaM2, 1))
	vents := func(name string, least, most [2]*float64) span {
		from := r.One(0, 10_000, alt(name+"_in2", least[0], sqin), alt(name+"_cm2", least[1], sqcm))
		to := r.One(0, 10_000, alt(name+"_most_in2", most[0], sqin), alt(name+"_most_cm2", most[1], sqcm))
		switch {
		case math.IsNaN(from) && !math.IsNaN(to):
			from = 0
		case !math.IsNaN(from) && math.IsNaN(to):
			to = from
		case to < from:
			r.Refuse(name+"_most_in2", "the most must not be under the least")
		}
		if math.IsNaN(from) || math.IsNaN(area) {
			return span{0, Code / 2, Code}
		}
		if to > area {
			r.Refuse(name, "the vents must not be larger than the ceiling")
		}
		from, to = min(from/area, mostVents), min(to/area, mostVents)
		return span{from, (from + to) / 2, to}
	}
	h.span[intake] = vents("intake", [2]*float64{in.IntakeIn2, in.IntakeCm2}, [2]*float64{in.IntakeMostIn2, in.IntakeMostCm2})
	h.span[exhaust] = vents("exhaust", [2]*float64{in.ExhaustIn2, in.ExhaustCm2}, [2]*float64{in.ExhaustMostIn2, in.ExhaustMostCm2})
	if math.IsNaN(area) {
		h.measure = append(h.measure, "ceiling_area")
	}
	number := func(i int, v float64, unknown span) {
		h.span[i] = unknown
		if !math.IsNaN(v) {
			h.span[i] = exactly(v)
		}
	}
	number(rise, r.One(1.0/12, 3, alt("rise_in_12", in.RiseIn12, 1.0/12)), span{0.25, 0.5, 1})
	tall := h.span[rise].likely * 3.8
	number(height, r.One(0.1, 15, alt("vent_height_ft", in.VentHeightFt, foot), alt("vent_height_m", in.VentHeightM, 1)), span{tall / 2, tall, tall * 1.4})
	number(rsi, r.One(0.05, 20, alt("insulation_r", in.InsulationR, rValue), alt("insulation_rsi", in.InsulationRSI, 1)), span{1.5, 3.5, 7})
	turn := r.One(0, 360, alt("facing_deg", in.FacingDeg, 1))
	number(facing, math.Mod(turn, 360), span{0, 90, 180})
	h.span[shade] = wordOf(&r, "shade", in.Shade, shades)
	h.span[leak] = wordOf(&r, "ceiling_leaks", in.CeilingLeaks, leaks)
	h.span[shelter] = wordOf(&r, "shelter", in.Shelter, shelters)
	for i, class := range retarders {
		if in.RetarderClass == class {
			h.retarder = i
		}
	}
	if in.RetarderClass != "" && h.retarder < 0 {
		r.Refuse("vapour_retarder_class", "must be I, II, III, none or left out")
	}
	switch in.Units {
	case "":
		h.system = units.US
	case units.US, units.Metric:
	default:
		r.Refuse("units", "must be us, metric or left out")
	}
	if r.Err != nil {
		return house{}, r.Err
	}
	if h.year = in.Year; h.year == nil {
		if in.Station == "" {
			return house{}, fmt.Errorf("station: name the weather station, see climate.Stations")
		}
		year, err := stationYear(in.Station)
		if err != nil {
			return house{}, err
		}
		h.year = year
	}
	h.place = h.year.Place.Name
	return h, nil
}

func stationYear(key string) (*climate.Year, error) {
	year, err := climate.StationYear(key)
	if err != nil {
		return nil, fmt.Errorf("station: %w", err)
	}
	return year, nil
}

// wordOf reads one of three words; nothing is any of them, likely the middle
// one.
func wordOf(r *units.Reader, field, given string, words []word) span {
	if given == "" {
		return span{words[0].value, words[1].value, words[2].value}
	}
	keys := make([]string, len(words))
	for i, w := range words {
		if w.key == given {
			return exactly(w.value)
		}
		keys[i] = w.key
	}
	r.Refuse(field, "must be "+strings.Join(keys, ", ")+" or left out")
	return span{}
}
