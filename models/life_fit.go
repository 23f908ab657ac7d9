package models

import (
	"time"

	"overhang/analytics/units"
)

// LifeFit is what own lives said on a day, with what it was made from. Older ones
// are kept: an estimate names the one that it rests on.
type LifeFit struct {
	ID           int64      `gorm:"primaryKey" json:"id"`
	AsOf         units.Date `json:"as_of"`
	MadeAt       time.Time  `json:"made_at"`
	ModelVersion string     `json:"model_version"`
	DataHash     string     `json:"data_hash"` // of the lives, to see that nothing changed
	Rows         int        `json:"rows"`      // lives
	Events       int        `json:"events"`    // of those worn out
	Result       string     `json:"result"`    // the whole result, as JSON
}
