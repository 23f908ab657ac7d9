package takeoff

import (
	"fmt"
	"math"
)

// quantity is a field that may hold a number in one unit.
type quantity struct {
	field string
	value *float64
	unit  float64 // in SI
}

// reader reads the fields of an input and keeps the first refusal.
type reader struct {
	field string // what stands before the field's own name
	err   error
}

func (r *reader) refuse(field, rule string) {
	if r.err == nil {
		r.err = fmt.Errorf("%s%s: %s", r.field, field, rule)
	}
}

// one reads the one alternative that is given, in SI, or NaN when none is. It
// refuses two at once and values outside least to most, which are in SI.
func (r *reader) one(least, most float64, alternatives ...quantity) float64 {
	value, from := math.NaN(), ""
	for _, q := range alternatives {
		if q.value == nil {
			continue
		}
		if from != "" {
			r.refuse(q.field, "give either "+from+" or "+q.field+", not both")
			continue
		}
		value, from = *q.value*q.unit, q.field
		switch {
		case math.IsNaN(value) || math.IsInf(value, 0):
			r.refuse(q.field, "must be a number")
		case value < least || (least > 0 && value == 0):
			r.refuse(q.field, fmt.Sprintf("%v is too small: must be at least %.4g", *q.value, least/q.unit))
		case value > most:
			r.refuse(q.field, fmt.Sprintf("%v is too large: must be at most %.4g", *q.value, most/q.unit))
		}
	}
	return value
}
