package units

import (
	"fmt"
	"math"
)

// Alternative is a field of an input that may hold a number in one unit. Unit is
// the unit in SI.
type Alternative struct {
	Field string
	Value *float64
	Unit  float64
}

// Reader reads the fields of an input and keeps the first refusal. Field is what
// stands before the fields' own names, such as "slopes[2].".
type Reader struct {
	Field string
	Err   error
}

// Refuse keeps a refusal of a field by its rule, unless there is one already.
func (r *Reader) Refuse(field, rule string) {
	if r.Err == nil {
		r.Err = fmt.Errorf("%s%s: %s", r.Field, field, rule)
	}
}

// One reads the one alternative that is given, in SI, or NaN when none is. It
// refuses two at once and values outside least to most, which are in SI.
func (r *Reader) One(least, most float64, alternatives ...Alternative) float64 {
	value, from := math.NaN(), ""
	for _, q := range alternatives {
		if q.Value == nil {
			continue
		}
		if from != "" {
			r.Refuse(q.Field, "give either "+from+" or "+q.Field+", not both")
			continue
		}
		value, from = *q.Value*q.Unit, q.Field
		switch {
		case math.IsNaN(value) || math.IsInf(value, 0):
			r.Refuse(q.Field, "must be a number")
		case value < least || (least > 0 && value == 0):
			r.Refuse(q.Field, fmt.Sprintf("%v is too small: must be at least %.4g", *q.Value, least/q.Unit))
		case value > most:
			r.Refuse(q.Field, fmt.Sprintf("%v is too large: must be at most %.4g", *q.Value, most/q.Unit))
		}
	}
	return value
}
