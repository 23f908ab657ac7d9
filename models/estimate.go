package models

import (
	"time"

	"overhang/analytics/units"
)

// Estimate is a stored estimate of the years left in a roof, with what it was
// made from. The newest of a roof is the one shown; older ones are kept, so that
// what was said can be held against what came.
type Estimate struct {
	ID           int64      `gorm:"primaryKey" json:"id"`
	RoofID       int64      `json:"roof_id"`
	AsOf         units.Date `json:"as_of"`
	MadeAt       time.Time  `json:"made_at"`
	ModelVersion string     `json:"model_version"`
	InputsHash   string     `json:"inputs_hash"` // of the inputs, to see that nothing changed
	AgeYears     float64    `json:"age_years"`
	Low          float64    `json:"low"`    // years left, 10 % quantile
	Middle       float64    `json:"middle"` // 50 %
	High         float64    `json:"high"`   // 90 %
	ChancePast   float64    `json:"chance_past"`
	ChanceIn1    float64    `json:"chance_in1"`
	ChanceIn2    float64    `json:"chance_in2"`
	ChanceIn5    float64    `json:"chance_in5"`
	TooNew       bool       `json:"too_new"`
	LifeFitID    *int64     `json:"life_fit_id"` // what own lives said, where it rests on that
	Result       string     `json:"result"`      // the whole result with its reasons, as JSON
}
