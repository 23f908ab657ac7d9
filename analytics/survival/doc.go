// Package survival is the statistics of lives that were watched in part: when
// coverings wear out, how often they give trouble, and how sure that is.
//
//   - [Fit]: accelerated-life regression on Weibull, log-normal, log-logistic and
//     exponential lives, by the greatest likelihood.
//   - [Cox]: regression of hazards without a family of lives, by the greatest
//     partial likelihood.
//   - [Curve]: Kaplan–Meier curves by group, Nelson and Aalen's hazard, the mean to
//     an age, and the log-rank test.
//   - [Events]: the mean number of events of a unit, such as callbacks of a roof,
//     by its age.
//   - [Concord]: how well forecasts order lives.
//   - [Pool]: own lives told to what was believed of each covering, with what
//     neighbourhoods and eras add or take.
//   - [OwnRows]: what is known of own and watched coverings, into the rows of a fit.
//
// Ages and times are in one unit throughout, the rows' own: years for roofs.
//
// # What a row says
//
// Worn out is the event. Each row adds the logarithm of the chance, or the
// density, of what was seen, over the chance of having come to be watched:
//
//	worn out at t                    f(t)
//	not worn out until t             S(t)
//	worn out between l and u         S(l) − S(u)
//	lies at t, lag τ                 E S(t − D)          with D exponential of mean τ
//	the same, serviceable at l       E S(max(l, t − D))
//	replaced at t for wear, lag τ    (E S(max(l, t − D)) − S(t)) / τ
//	watched from e                   … over S(e), or over E S(e − D) where at e it
//	                                 was only known to lie there
//
// The fourth is the chance to lie at t when a covering that is worn out at T
// lies on to an age t with chance exp(−(t−T)/τ); package lifespan uses the same.
// It is integrated by Gauss–Legendre; integrals agree with adaptive ones to 1e-9.
//
// # Own lives, and the bias of tear-offs
//
// A covering that ended for wear is an event between its last serviceable look
// and its end, or the first look that found it worn out. Those ages are weighed
// by the chance to lie on until then: taken alike, 800 invented houses without
// any look gave a life of 23.0 years where 24 was true and the lag 2, with the
// weighing 24.0. One that ended for a storm, a sale, an alteration or taste is
// censored there: somebody judged the reason, and it was not wear. One that
// stands is censored through the lag. All enter at the age at which the watch of
// them began.
//
// A roof that is first seen at its tear-off brings no time at risk, and is no row.
// It was found because it ended, and those of its age that still lay were not.
// The risk set is every house of a watched neighbourhood from the watch's start,
// those that never call included. The example tearOffs invents a town of 6000
// houses, 5 to 20 years old when the watch of 6 years began, with a true median
// life of 21.9 years. The tear-offs alone give 18.3 (18.0 to 18.6), the tear-offs of unwatched
// streets put beside the watched houses 20.3 (20.1 to 20.6), the watched houses
// alone 21.9 (21.6 to 22.3). The first two are wrong and look sure of themselves.
//
// # Method
//
// Newton's rule with analytic gradient and second derivatives, on covariates
// taken to mean 0 and standard deviation 1, with a ridge where the likelihood is
// not curved downwards and steps halved until they gain. Standard errors are
// from the observed information; limits are Wald's, of quantiles on the
// logarithm. A fit says whether it converged, after how many steps, what slope
// is left, and if not why: no events, a coefficient or σ that runs off (monotone
// likelihood), or a flat top. It then gives no estimates.
//
// The log-likelihood is on the scale of time, as R's survreg prints it.
// Estimates, standard errors and log-likelihoods agree with survreg 3.5-3 to
// 1e-8, 1e-8 and 1e-9 on its own data sets; see testdata. Kaplan–Meier, log-rank
// and concordance agree with that package to all digits at hand.
//
// Sources: Kalbfleisch and Prentice, The Statistical Analysis of Failure Time
// Data (accelerated life, product limit, log-rank); Meeker and Escobar,
// Statistical Methods for Reliability Data (Weibull fits, delta method); Nelson
// 1995 and Lawless and Nadeau 1995 (mean cumulative function, its unbiased and
// its robust error); Harrell 1982 and Therneau's survival package (concordance
// and its jackknife); Cox 1972 and 1975, Breslow 1974 and Efron 1977 (partial
// likelihood, ties, the hazard it leaves); all from memory, checked against runs of R. The exponential lag is our own judgement.
//
// # Without a family
//
// [Cox] takes from each age at which a life ended only whose it was, of those
// watched then, and so compares builder's eras, coverings or ways of venting
// whatever the shape of life. It needs exact ages and the covariate's ratio of
// hazards to be the same at every age; where a crew's roofs fail early or not at
// all, it is not, and the curves say more. The rows' weights are so many lives
// alike, also among ties. Ages are swept once, down, a life being put in at its
// exit and taken out at its entry, and Newton's rule is [Fit]'s. Where a
// covariate or a sum of them puts the one that ended first in every risk set, its
// coefficient runs off, and the status says so. A profile's curve is e^−H, with
// the error of the hazard and of the coefficients. Estimates, errors, score test,
// curves and their limits agree with coxph and survfit of survival 3.5-3 to 1e-8.
//
// # Own lives and what was believed
//
// A company sees few roofs end, and a fit of ten events is mostly noise. [Pool]
// starts from what was believed of each covering, a Weibull whose median and
// shape are known only so well, and lets the lives move it: by little where they
// are few, altogether where they are many. Houses of a neighbourhood, or of an
// era of building, share an effect that multiplies life; the effects of a kind
// are normal about none with a spread that the lives themselves tell, so that a
// neighbourhood with three roofs is drawn to the others and one with three
// hundred is not (partial pooling: Efron and Morris 1977; Gelman and others,
// Bayesian Data Analysis, chapter 5; both from memory).
//
// At given spreads the rest is taken for normal about its top (Laplace); the
// spreads are integrated over on a grid. Against the whole integral the
// logarithm of a median is right to 0.01 and its standard deviation to a tenth.
// With a prior whose median is half as long again as the truth, and known to 15 %
// by its own word, some 40 lives watched for up to 12 years, of which 21 wore
// out, bring it within 10 %; 320 within 3 %.
//
// # Ties
//
// At one age those that wear out come before those censored, and those that enter
// come last: a row is at risk in (entry, exit].
//
// # Unknown is not zero
//
// A row without a covariate that the fit uses is left out and counted. An entry
// left out does mean nought, watched from new. An age quantile that the curve
// does not come down to is nil, and a parametric one above all ages watched says
// that it lies beyond the rows.
//
// # Late entry and small risk sets
//
// Where one covering alone is watched at a young age and wears out, the
// Kaplan–Meier curve is nought for ever after, whatever the others do. [Curve]
// then gives the curve for those that reach that age, and warns; a from_age that
// is given is kept to, with a warning.
//
// # Limits
//
// Covariates do not change with age. Groups of like roofs (a street, a crew) are
// taken for independent. Unfolding interval-censored lives without a family is
// not done: [Curve] takes exact ages. A fit with fewer than some ten events is
// mostly its family's word.
package survival
