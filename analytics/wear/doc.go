// Package wear turns what people found on a roof into a rating from 0 to 100
// for its covering, its flashing and its gutters (100 is as new), slope by
// slope, says which finding cost most and what putting it right would give back,
// and counts what nobody looked at.
//
// # How a finding counts
//
// The catalogue ([Catalogue], or [For] one family of coverings) writes out three
// steps of severity for every defect, so that two people on one roof choose the
// same. The extent is the share, 0 to 1, of the slope (of the run for gutters,
// of the pieces or their length for flashing) that shows the defect, or one of
// five classes ([Extents]; NEN 2767-1, from memory), which run from their least
// to their most. A finding alone deducts
//
//	points(severity) · (0.1 + 0.9·√extent)
//
// A defect noted twice on a slope counts once, at its worst. A finding without a
// slope counts on every slope in sight, and the worst slope is the rating of its
// part. Where the areas of the slopes are given, the covering has a mean over
// those that were looked at as well; the mean can rise when one more slope is
// looked at, a rating cannot.
//
// # How many findings count together
//
// Many small defects are not as bad as their sum. The published pavement
// condition index (ASTM D6433, read second-hand) corrects the sum of deducts by
// how many of them, q, are above 2 points; sets the smallest of those to 2 and
// corrects again, until q is 1; and takes the largest result. [Totals] and
// [Combined] do the same, with two changes:
//
//   - The correction curves of the standard are neither ours to print nor made
//     for roofs. [Corrected] is our own: q equal deducts of total T that each
//     take their share of what the others leave, C(q, T) = 100·(1 − (1 −
//     T/100q)^q). C(1, T) = T; it rises with T and falls as q rises, for
//     (1 − x/q)^q rises with q. It takes more than the published curves: a roof
//     leaks at one open place, where a road is driven on.
//   - The cap on the number of deducts ([Allowance], [Kept]) is dropped. It
//     shrinks as the highest deduct grows, so that under it a worse defect can
//     raise a rating. Each defect counts once on a slope, so that their number
//     is bounded without it.
//
// Then more findings, or worse ones, never raise a rating. For a set S of one or
// more deducts let T(S) be the sum of those in S in full and of all others, each
// as at most 2. Of all sets of k deducts the k largest have the largest T(S), for
// what a deduct has above 2 grows with the deduct; that is the total of step k.
// Beyond q steps the total stays as it is, for what is left is 2 or less, and the
// curve falls; so steps beyond q never give the largest result, and the corrected
// deduct is the largest C(|S|, T(S)) over all sets S. A larger deduct makes no
// T(S) smaller; a further one makes none smaller and only adds sets; C rises with
// T. So the largest can only rise. A severity or an extent that rises, rises the
// deduct. (With no deduct above 2 all T(S) are alike, and q is 1.) Between the
// coverings, methods and slopes of one look nothing else moves a rating.
//
// That a rating should fall with severity and extent is the way of published
// condition ratings (ASTM D6433; NEN 2767-1, both seen second-hand). The points,
// the curves and the steps are our own judgement and have no published source.
//
// # What can be seen how
//
// Each defect names the methods that can show it: common practice, no source.
// From the street nobody judges nails, laps, membranes or a low slope, and only
// slopes that are in sight (visible_slopes). Granules, bruises, stains and
// coatings are not read on a wet roof (wet). No seal is broken to look: only what
// is loose already is raised. A finding against these rules, or of a defect that
// the covering cannot have, is set aside by name and costs nothing.
//
// # Unknown is not zero
//
// "Looked, and none" is knowledge; "not looked at" is not. A part of which
// nothing was looked at has no rating. A defect that the method of the look
// cannot show is not looked at whatever the finding says. On a covering that is
// not known the defects of asphalt shingles are looked for, and every finding is
// taken. An unknown severity or extent runs over all its values, which spreads
// Least and Most. The standard deviation to read a rating with, ErrorPoints, has
// three parts ([Errors]): the method; the share of the catalogue, weighed by the
// points of its worst steps, and of the slopes that was not looked at, which
// grows the more was left out, up to a rating that tells next to nothing;
// and the spread of what was not noted. Measure names the fields that would narrow it.
// A slope's own ErrorPoints knows of what was looked at on it.
// ErrorPoints is the full error, of a covering with something to misread; near 100 it
// is less, which [Scale] says and [Likely] reckons with.
// What was not looked at could only lower a rating: it widens the error and is
// not in Least, and ShownShare says what of its wear a covering shows to such a look.
//
// # Limits
//
// A rating speaks of what shows on the surface. It neither finds leaks nor
// judges the deck below. The worst slope rules, however small. Asphalt shingles
// have the fullest catalogue; wood, metal, tile, slate and membranes less.
// Looking closely means ladders and roofs: that is for trained people with fall
// protection, never in frost, wet, wind or on steep slopes; a street or photo
// look is always a look.
package wear
