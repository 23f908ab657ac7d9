// Package wear turns what people found on a roof into a rating from 0 to 100
// for its covering, its flashing and its gutters (100 is as new), says which
// finding cost most, and counts what nobody looked at.
//
// # How a finding counts
//
// The catalogue ([Catalogue]) writes out three steps of severity for every
// defect, so that two people on one roof choose the same. The extent is the
// share, 0 to 1, of the slope (of the run for gutters, of the pieces or their
// length for flashing) that shows the defect. A finding alone takes off
//
//	points(severity) · (0.1 + 0.9·√extent)
//
// and the defects of one slope together leave 100·Π(1 − points/100). Both rise
// with severity and extent and a factor is never above 1, so that more or worse
// findings never raise a rating. A defect noted twice on a slope counts once,
// at its worst. A finding without a slope counts on every slope, and the worst
// slope is the rating of its part.
//
// That a rating should rise from severity and extent is the way of published
// condition ratings (pavement condition index, ASTM D6433; severity, intensity
// and extent in NEN 2767-1, both seen second-hand). The points, the curve and
// the product are our own judgement and have no published source.
//
// # Unknown is not zero
//
// "Looked, and none" is knowledge; "not looked at" is not. A part of which
// nothing was looked at has no rating. A defect that the method of the look
// cannot show, such as nails from the street, is not looked at whatever the
// finding says, and such a finding is set aside by name. An unknown severity or
// extent runs over all its values, which spreads Least and Most. What was not
// looked at, and the method, widen ErrorPoints, the standard deviation with
// which the rating should be read.
//
// # Limits
//
// A rating speaks of what shows on the surface. It neither finds leaks nor
// judges the deck below. All slopes weigh the same, small or large. The steps
// are written for shingles; on metal, tile and membranes only those that can
// occur apply. Looking closely means ladders and roofs: that is for trained
// people with fall protection, never on frost, wet or steep slopes; a street or
// photo look is always a look.
package wear
