// Package portfolio turns records into the inputs of the calculations, and
// their results into records. It is the only package under analytics that knows
// the records, and it knows no store: it is given what was read, and today.
//
// One file serves one calculation. What a record does not say stays unknown in
// the input; it is never filled in with a nought.
package portfolio

import (
	"strconv"

	"overhang/analytics/geo"
	"overhang/models"
)

// id writes a record's number as the calculations name their rows.
func id(n int64) string { return strconv.FormatInt(n, 10) }

// ID reads a number that id wrote; 0 for anything else.
func ID(s string) int64 {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		return 0
	}
	return n
}

// point gives where a house stands, and whether that is known.
func point(h *models.House) (geo.Point, bool) {
	if h.Lat == nil || h.Lon == nil {
		return geo.Point{}, false
	}
	return geo.Point{Lat: *h.Lat, Lon: *h.Lon}, true
}
