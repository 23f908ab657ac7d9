// Package details judges the places of a roof where water tends to find its way
// in: flanges of pipes and vents, flashing along walls, drip edges, the eave,
// valleys, chimneys and skylights. Each check says whether it is right, by how
// much it is not, why that matters, what would put it right, and what to beware
// of; the worst comes first.
//
// # Method
//
// Rules of a code name it, its edition and section, and where that was read:
// linings of valleys and sizes of step flashing in a city's copy of IRC R905.2.8;
// drip edges (R905.2.8.5) and saddles over 30 in (R903.2.2, R1003.20)
// second-hand; in which editions a rule first stands, and what the Canadian
// texts (9.26.) ask, from memory. The height of a saddle is half the width
// times the slope's rise over run, as in Table R1003.20 (geometry).
//
// The rest is the trade's: common practice, no source. The flange of a
// penetration is right with its top and sides under the courses and its lower
// edge on top of them, about two thirds covered; a half or a third is short, and
// burying the lower edge fails too. Flashing is renewed with the covering.
// Interlocking shingles are never woven into a valley. How severe a fault is,
// where "about two thirds" ends, and that a valley is burdened which takes the
// water of three slopes, are our judgement, and the finding says so.
//
// # Unknown is not zero
//
// What is left out is not known; where it matters the verdict is "not known"
// with the fields to look at. Only details that are listed are judged: what is
// not in the list is not known to be missing.
//
// # Limits
//
// A detail is judged from what was written down, not from a photograph. The
// maker's sheet for the covering, the window or the boot goes before all of it,
// and local code before that.
package details
