// Package units holds the typed values that the whole program shares: lengths,
// areas, flows, temperatures and roof pitches in the manner of time.Duration,
// calendar days, and money in whole cents.
//
// Inside, a quantity is SI (metres, square metres, cubic metres a second,
// degrees Celsius). It is built from, and read in, the unit a person uses:
//
//	ceiling := 1500 * units.SquareFoot
//	ceiling.In(units.SquareMetre) // 139.35…
//
// A foot is the international foot, 0.3048 m exactly (international yard and
// pound agreement, 1959).
package units
