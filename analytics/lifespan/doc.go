// Package lifespan estimates how many years a roof covering has left before it
// is worn out, with honest uncertainty and the reasons.
//
// T is the age in years at which the covering is worn out. It is built up from
// these:
//
//  1. Prior. Weibull by kind of covering ([Table]), each with what was
//     published and what is our own reading of it.
//  2. Factors ([Factor]) multiply T: log-normal, so that their logarithms add
//     in mean and variance. Weibull times log-normal is integrated numerically.
//  3. Standing. Coverings that wear out are replaced after a while, so one that
//     still lies at age a speaks for a long life: P(standing | T < a) =
//     exp(−(a − T)/lag), and 1 when T ≥ a. Lag 0 is the Weibull conditional on
//     T > a; an endless lag gives back the prior.
//  4. Readings. A rating R at age a is taken as
//     100 − (100 − line)·(a/T)^power, never below 0, with a Gaussian error, so
//     the curve starts at 100 and comes to the line at T: a covering under its
//     line is worn out. The error is less near 100, where there is little to
//     misread: it is the same on a scale that is stretched there ([wear.Scale]),
//     on which all of a likelihood is reckoned. With the chance of the gross share the
//     reading is instead any place on that scale alike, and tells nothing. A look that
//     shows a share of the fall alone, since it was for a few defects, is held against
//     that share of the curve's fall. Readings by
//     one person with one method share part of their error, which is integrated
//     over: a thousand readings by one eye do not make certainty.
//  5. Slopes. Readings may name the slope that was rated. The roof ends with its
//     worst slope, and T and the prior are the roof's: of the slopes named, each
//     as likely as the other is the worst and has the roof's T, and the others
//     outlast it by e^δ, δ half-normal ([SlopeSpread]). So the worst of several is
//     not counted twice. A reading without a slope is of the roof, which is its
//     worst slope; where one slope alone is named it is the roof.
//  6. Repairs. A share that was relaid wears at its own age by the same T, and
//     readings after it see the mixture: the fall of the curve is the mean of the
//     parts'. T stays that of the oldest part, which a repair relays first. When
//     nothing of it is left the covering is as old as what is then the oldest, and
//     readings from before are of another. More relaid never lowers a rating. A
//     repair may name its slope: then readings of that slope alone see it, and the
//     roof does not end with a slope that was relaid whole; readings of it from
//     before are of what lies there no more, and are left out.
//  7. An end that was seen ([Span]). T lies between the last look that found the
//     covering serviceable and the one that found it worn out. The lag then runs
//     to that look: it lay there, worn out since T, with the chance
//     exp(−(age at that look − T)/lag). What was done after it tells nothing.
//
// The [Reason] values of the result say in years what each group of evidence
// did to the median of T: the classes of factors of ISO 15686-8, standing, and
// each reading. They are Shapley values over the groups, with the table's median
// for no evidence at all: what a group adds, as the mean over every order in
// which the groups can be told. So they add up exactly and hang on no order.
// They take up to two thousand estimates, and are given when asked for. Slopes that
// one look told apart are one group.
//
// An age between two ends is integrated over, every age in between alike; a
// reading's age goes with it.
//
// # What comes out
//
// Quantiles of T and of the years left, max(T − age, 0). With a lag above 0 the
// covering may be past its line while it still lies there; then it has 0 years
// left, and ChancePast says how likely that is. The chance of being worn out
// within h years is P(T ≤ age + h), past included. A covering under five years
// old is marked too new.
//
// # Monotone, and where not
//
// An older covering that stands never has a shorter T. With a gross share of 0
// a better reading never shortens T. With one above 0 it does so too until it is
// some three standard deviations from all that is plausible; beyond that the
// reading is taken for a mistake and the estimate goes back to where it would
// be without it. This is what guards against a rating typed wrong.
// A better reading of one slope may say rather that another is the worst; better
// readings of all slopes never shorten T.
//
// # Method and precision
//
// Everything is integrated on even grids of ln T, two for each age, which meet
// at the age where standing makes a kink; the eight-point rule is exact
// for polynomials of the seventh degree. Without corners in what is integrated, chances
// and quantiles agree with closed forms and with adaptive integration to 1e-9 of their value; where a
// reading's curve crosses the corners of the scale of errors inside of what counts, quantiles of T
// are within 5e-5 of theirs (TestCornersOfTheScale), and without that within 2e-6 where no reading is
// sharper than a grid cell (all errors of 4 points and more). Shares of less than 3e-8 below the first
// age of the grid are left out. An age known to a month is taken as one number.
//
// Up to six readings of one eye are taken in closed form: a product of mixtures
// is a sum over which of them are gross, and in each term the shared error
// integrates out. More of them are integrated over even nodes, to 2e-4 of the
// likelihood; beyond forty, over seven nodes laid where they agree.
//
// What bounds it: at each T one exponential for every set of readings that are not
// gross, 2ⁿ−1 for n readings of one eye. Five readings by two eyes on 256 points
// are ten exponentials a point. TestPosteriorBesideNumpy prints the rate beside the
// same computation in numpy, whose passes over memory bound it.
//
// Slopes are worked out on an even grid of ln T, six steps to [SlopeSpread], on what
// of it counts, and an eye that has read several of them is integrated over outside
// of all, as far as the readings let it lie. Beside a grid four times as fine with nodes
// twice as close that reach further, on two hundred seeded roofs (TestGridOfSlopes):
// the 10, 50 and 90 % points of the roof's T are within 0.001 years for half of the
// roofs, 0.005 for 95 in a hundred and 0.02 for all; those of a slope within 0.015,
// 0.03 and 0.06; its chance to be the worst within 0.005.
// Two such eyes are taken; what a third shares is kept within each slope. The
// slopes' readings never speak against an age at more than e^40 to 1 each.
//
// The table states lives without a place. [SunAndHeat] takes it to be meant for one a
// little warmer than Pennsylvania, and moves it from there by a third of what the
// rule of 10 °C would, as lives published in three places do; to the cool side by half
// of that. The place's heat is handed in, and knows nothing of the roof's own vents,
// direction and colour, which have their factors.
//
// Sources: ISO 15686-8 for the factor method and its log-normal form (Alaimo
// and Enea); the sources of each prior and factor stand beside it. The Weibull
// closed forms are textbook results; Shapley's value is that of L. S. Shapley,
// 1953. The replacement lag, the rating curve's line, the errors, how
// much less they are near 100, what of them one eye shares, and the gross share are our own judgement until enough
// ended roofs of one's own are there to fit them; so is the curve's power until
// readings of one's own tell it ([Estimator.FitCurve]).
//
// # Units and limits
//
// Years, and rating points from 0 to 100. Ages to 300 years, Weibull shapes of
// 0.5 to 20, at most 1,000 readings with errors of 2 to 50 points, 12 slopes and 100 repairs.
// A repair that names no slope is taken to be spread over all. The curve of old and new parts
// is cut at 0 as a whole and not part by part. An estimate is
// an estimate: it knows neither leaks nor the deck, and does not take the place
// of a look by trained people.
package lifespan
