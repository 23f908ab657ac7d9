package icing

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// Roll is the membrane as it comes, and how it laps. What is left out is 36 in
// wide and 65 ft long, lapped 3½ in along the side and 6 in at the ends (common
// practice, no source); the maker's sheet rules.
type Roll struct {
	WidthIn   *float64 `json:"width_in,omitempty"`
	WidthMm   *float64 `json:"width_mm,omitempty"`
	LengthFt  *float64 `json:"length_ft,omitempty"`
	LengthM   *float64 `json:"length_m,omitempty"`
	SideLapIn *float64 `json:"side_lap_in,omitempty"`
	SideLapMm *float64 `json:"side_lap_mm,omitempty"`
	EndLapIn  *float64 `json:"end_lap_in,omitempty"`
	EndLapMm  *float64 `json:"end_lap_mm,omitempty"`
}

// Order is the membrane for one eave. The most of a pair is nil while nothing
// bounds it, and what goes by the eave's length while that is not known. Rolls
// are whole ones for this eave alone: for several eaves add up Run and take
// Rolls of the sum.
type Order struct {
	CoursesLeast int           `json:"courses_least"`
	CoursesMost  *int          `json:"courses_most,omitempty"`
	Reach        units.Length  `json:"reach_m"`         // along the slope, of CoursesMost (or least) courses with their laps
	Run          *units.Length `json:"run_m,omitempty"` // of membrane, all courses, for CoursesMost
	Rolls        *int          `json:"rolls,omitempty"` // to order, for CoursesMost
	RollWidth    units.Length  `json:"roll_width_m"`
	RollLength   units.Length  `json:"roll_length_m"`
	SideLap      units.Length  `json:"side_lap_m"`
	EndLap       units.Length  `json:"end_lap_m"`
	Says         string        `json:"says"`
}

// roll is a Roll read, in metres.
type roll struct{ width, length, side, end float64 }

func (in Roll) read(r *units.Reader) roll {
	own := units.Reader{Field: "roll."}
	or := func(v, usual float64) float64 {
		if math.IsNaN(v) {
			return usual
		}
		return v
	}
	out := roll{
		width:  or(own.One(0.3, 3, alt("width_in", in.WidthIn, inch), alt("width_mm", in.WidthMm, mm)), 36*inch),
		length: or(own.One(1, 100, alt("length_ft", in.LengthFt, foot), alt("length_m", in.LengthM, 1)), 65*foot),
		side:   or(own.One(0, 0.25, alt("side_lap_in", in.SideLapIn, inch), alt("side_lap_mm", in.SideLapMm, mm)), 3.5*inch),
		end:    or(own.One(0, 0.5, alt("end_lap_in", in.EndLapIn, inch), alt("end_lap_mm", in.EndLapMm, mm)), 6*inch),
	}
	if r.Err == nil {
		r.Err = own.Err
	}
	return out
}

// courses is how many courses reach as far as need.
func (r roll) courses(need float64) int {
	return 1 + int(math.Max(0, math.Ceil((need-r.width-tolerance)/(r.width-r.side))))
}

// reach is how far courses reach together.
func (r roll) reach(courses int) float64 {
	return r.width + float64(courses-1)*(r.width-r.side)
}

// Rolls gives the whole rolls for a run of membrane laid end to end with laps;
// offcuts go on in the next course. No run takes no roll.
func Rolls(run, length, endLap units.Length) int {
	if run <= 0 {
		return 0
	}
	return 1 + int(math.Max(0, math.Ceil(float64((run-length)/(length-endLap))-1e-9)))
}

// order is the membrane for an eave that needs that reach.
func (r roll) order(need span, eave float64, s units.System) *Order {
	o := &Order{CoursesLeast: r.courses(need.lo), RollWidth: units.Length(r.width), RollLength: units.Length(r.length), SideLap: units.Length(r.side), EndLap: units.Length(r.end)}
	n := o.CoursesLeast
	if !math.IsInf(need.hi, 1) {
		n = r.courses(need.hi)
		most := n
		o.CoursesMost = &most
	}
	o.Reach = units.Length(r.reach(n))
	o.Says = fmt.Sprintf("%s of membrane %s wide, lapped %s", coursesWord(o.CoursesLeast, n), s.SmallLength(o.RollWidth), s.SmallLength(o.SideLap))
	if o.CoursesMost == nil {
		o.Says = "At least " + o.Says
	}
	if n > 1 {
		o.Says += fmt.Sprintf(", reach %s", s.SmallLength(o.Reach))
	}
	if !math.IsNaN(eave) && o.CoursesMost != nil {
		run := units.Length(eave * float64(n))
		rolls := Rolls(run, o.RollLength, o.EndLap)
		o.Run, o.Rolls = &run, &rolls
		word := "rolls"
		if rolls == 1 {
			word = "roll"
		}
		o.Says += fmt.Sprintf("; %s along the eave, %d %s of %s", s.Length(run), rolls, word, s.Length(o.RollLength))
	}
	o.Says += ". The maker's laps and roll sizes rule."
	return o
}

func coursesWord(least, most int) string {
	switch {
	case least != most:
		return fmt.Sprintf("%d to %d courses", least, most)
	case most == 1:
		return "1 course"
	}
	return fmt.Sprintf("%d courses", most)
}
