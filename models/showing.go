package models

import "overhang/analytics/units"

// Showing is what stands between one person and the estimate of one roof: when it was
// last shown to them, and what they last said of going to look. It is kept because a
// look tells more where the number did not lead it. There is one of a person and a
// roof, which the newer day overwrites, and it is no record: that a page was opened
// changes nothing that the company knows and fills no trail. What is to stay stands
// on the visit, as SeenBefore.
type Showing struct {
	PersonID int64      `gorm:"primaryKey"`
	RoofID   int64      `gorm:"primaryKey"`
	ShownOn  units.Date // the zero day where it never was
	Said     string     // SaidLooks, SaidLooksNot, or empty
	SaidOn   units.Date
}

// What somebody can say of a roof before its estimate is shown to them.
const (
	SaidLooks    = "looks"     // they are going to look at it
	SaidLooksNot = "looks_not" // they are not
)
