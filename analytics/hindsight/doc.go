// Package hindsight holds past estimates of how long coverings last against what
// was later seen, and says how right they have been.
//
// A [Case] is one estimate made on one day: quantiles of T, the age at which the
// covering is worn out, and what was later seen. [Check] scores all of them, and
// rivals that know less beside them:
//
//   - age only: what the table says of a covering that still lies at its age;
//   - table minus age: the table's median, as if it were certain;
//   - straight line: from 100 when new through the last rating to the line.
//
// # What was seen
//
// Seldom is T seen to the day. A covering found serviceable at one look and worn
// out at a later one wore out between them. One replaced for wear at age e wore
// out earlier: it lay on, worn out, for a while of mean lag, so T = t is weighed
// by exp(−(e − t)/lag), or from the day of the estimate on where T came before it,
// since it lay there then. One that stands may be past its line already, so standing
// at age a says T > a − D with D exponential, and not T > a; a look that found it
// serviceable says T > its age. One that ended for a storm, a sale or taste was
// not worn out then. The lag is our own judgement, as in package lifespan.
//
// # The share of the foretold
//
// If estimates are right, the chance that was foretold for "worn out by then",
// read at the age at which it was, is spread evenly from 0 to 1: of all roofs one
// in ten wears out before its 10 % point, half before the middle. [Curve] is the
// distribution of these chances (the probability integral transform), estimated
// from cases that are seen in part: the self-consistent estimate of Efron (1967)
// and Turnbull (1976), which is Kaplan and Meier's where T is exact or censored
// on the right. It is taken on 40 steps. Its band comes from drawing whole roofs
// anew, since the estimates of one roof hang together. How far up anything was
// seen at all is [Curve.SeenTo]; above it nothing is said.
//
// The number worn out is also held against the number foretold: the sum of −ln of
// the chance of seeing no wear as long as each case was watched, which has the same
// mean as the number worn out whatever the censoring is (the martingale residual of
// counting processes). Looks see T itself; where only ends are seen, it is T with
// its lag. Between looks the middle is taken, which is exact only for close looks.
//
// # The score
//
// The continuous ranked probability score, the integral of (F(t) − 1{T ≤ t})²
// over t in years, is the mean error of a point estimate and gives less to a
// distribution that is both sharp and right; smaller is better. What is not seen
// is made good by weights: at each age the cases whose state is known there count
// for those no longer watched, by the inverse of the Kaplan–Meier curve of being
// watched (Graf, Schmoor, Sauerbrei and Schumacher 1999, integrated over the age
// as by Gneiting and Raftery 2007). This stays proper with censoring, which the
// score that only stops at the age of censoring does not (Rindt et al. 2022). It
// is cut at a horizon, the years after the estimate to which at least a tenth of
// the cases would still be watched. For the score alone T must be one number:
// the middle between two looks, or the age at which a covering was replaced less
// the mean lag; one that stands is then seen to its age less the mean lag.
// The rule is the same for all that are compared.
//
// Standard errors are by roof: a roof counts once, however many estimates it
// has. The error in the weights themselves is left out.
//
// # The next reading
//
// The same quantiles foretell the rating that the next look gives, by the curve
// 100 − (100 − line)·(age/T)^power, the reading's own error, which is less for a
// covering that is all but new ([wear.Scale]), and a share of gross errors that tell
// nothing, cut at 0 and 100. It is scored likewise, in rating
// points. Readings by one person with one method share a part of their error; those
// that the estimate was made from tell, for each T, how that eye reads (normal, over
// all sets of them that are not gross), so that what it shares is not counted both
// in the spread of T and in the error of the next reading.
//
// Where many readings are 100, as of new roofs, the forecast puts a lump there. Such a
// reading is spread evenly over the chances that the lump takes: right forecasts are
// then even again (Czado, Gneiting and Held 2009).
//
// Sources: Dawid 1984 (probability integral transform); Efron 1967, Turnbull
// 1976; Czado, Gneiting and Held 2009; Graf et al. 1999, Statistics in Medicine 18; Gneiting and Raftery 2007,
// JASA 102; Rindt, Hu, Steinsaltz and Sejdinovic 2022; all from memory, held in
// the tests against closed forms and against simulated roofs of known truth.
//
// # Unknown is not zero
//
// A case without quantiles, or of which nothing was seen, is refused by field.
// A split or a range with fewer than [FewRoofs] roofs says so and gives no
// verdict. Coverage is nil where the curve was not seen up to 90 %.
//
// Readings by somebody who had been shown the estimate before ([SeenBefore]) count as
// any other. By how much the number leads an eye is not known; the split by it tells,
// once there are enough of both, by how far each sort lies from what was foretold.
//
// # Limits
//
// Between quantiles the logarithm of T is taken as normal piece by piece, and
// beyond the outermost likewise. Ages above 0 to 400 years, at least two quantiles.
// Looks are taken to be made regardless of how worn a covering is; where only bad
// roofs are looked at the figures are biased. Where only ends are seen and no looks,
// the lag must be taken out of them, which leaves the curve rough: its middle can be
// judged, its width hardly. A verdict "not refuted" is not proof,
// and small samples cannot refute much. Nothing here replaces a look at a roof.
package hindsight
