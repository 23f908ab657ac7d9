// Package owed says in money what is still owed under promises in force: how
// often callbacks come by cause and age of a roof, what one costs, what is to be
// expected in each calendar year ahead and in all, and between what amounts eight
// times out of ten.
//
// Model does all of that. Beside it stand Provision (expected value of outcomes),
// Reserve (the provision by year laid, and the chain ladder beside it),
// ChainLadder, RollForward (the movement of the provision, month by month),
// Distribution (the whole distribution ahead), Scenarios, Rates and Credibility.
//
// # Callbacks by cause and age
//
// Model fits the rate of callbacks of each cause, in continuous time, as
//
//	early × exp(−age/fades) + steady + wear × (age/10)^grows
//
// with parts that are nought or more: faults of the laying that fade, what comes
// at any age, and wear that grows. Time at risk is counted in days from the first
// day of the promise or of the records to its last day or today (late entry and
// censoring). The parts are those of the greatest likelihood, found by sharing
// out each callback between the parts that may have made it (expectation and
// maximisation); fades and grows are the likeliest of a few values and the same
// for all causes. Causes that come of one thing are fitted together, and those
// with fewer than five callbacks of our own join the others. A callback whose
// cause is not known counts for each as far as its rate at that age.
//
// The rate of a roof is multiplied by an effect for its covering, its kinds of
// details, its crew, the crew with that cause (a habit), its lot and its
// neighbourhood; and that of a calendar year by its weather. Effects are gamma
// with mean 1. Given all others, each is (1/v + count) / (1/v + expected count),
// so that one with little time at risk stays near 1; the variance v is that of
// the greatest likelihood of the counts, the other effects at their means. With
// one factor this is the gamma-Poisson fit exactly; with several it leaves out
// how the effects hang together (a mean-field approximation), which makes their
// standard errors somewhat small. Standard errors of the parts are from the
// observed information, the effects given.
//
// Costs of a cause are log-normal with one spread for all, brought to the prices
// of today; the causes' means are shrunk towards the collective one by the
// variances between and within them, as in Credibility.
//
// Ahead, the rate at each age is carried forward, times cost with its growth, the
// share promised on the day, the chance that the covering stands, and the chance
// that the owner's right survives a sale. Beyond the ages that hold 95 % of the
// time at risk wear is held at what it is there (our judgement). That half of
// all sales come with the notice asked for where nothing is known is our
// judgement, too. In the distribution the three crews and three lots with most
// time ahead have an effect that is as unsure as what is known of them leaves it,
// calendar years vary as those past did, and the standard errors of rates and
// costs are one factor for all (at most as large as the mean: our judgement). The
// range of one year takes all of that as one gamma factor.
//
// # The whole distribution
//
// Distribution takes groups of promises with a rate for each year ahead. A rate
// is multiplied by gamma factors of mean 1: one for each calendar year (weather
// hits all roofs at once), one for each lot and each crew (they last the term).
// Given the factors, counts are Poisson and costs independent, so the transform
// of the total is an exponential; it is mixed over the factors before it is
// turned back. A gamma that stands alone is mixed in closed form. Where lots,
// crews and weather cross, one side is conditioned on by Gauss quadrature (its
// nodes are in the result) and the other side mixed in closed form; at most
// four effects can be conditioned on at once. With weather and more than two
// lots and crews, the years' weather is joined into one gamma for the term that
// keeps the mean and the variance exactly: the one approximation, which the
// result names, and which is none where the years are alike. A single year
// (each_year) is never approximated so.
//
// The cost lattice keeps the mean of each cost up to the cap in the result, six
// standard deviations of the logarithm; steps are an eighth of the mean cost
// (a quarter where quadrature is needed) unless more than 65,536 would be
// needed. The shortfall is shared out by each group's mean cost in the worst
// outcomes, from the derivative of the transform by the group's rate, so that
// the shares add up. Neither the rates nor the costs are taken to be unsure
// here beyond those factors; Model gives them one more for all groups.
//
// # The reserve
//
// RollForward books what happened: closing = opening + issued − paid + changes,
// to the cent, by month, calendar year and year laid. What is learned after a
// month was closed lands in an open month, and is shown as late. Recoveries from
// makers, insurers and subcontractors are kept beside the provision (a
// reimbursement is an asset of its own: IAS 37.53, from memory). The columns are
// those of IAS 37.84, section 21.14 of the IFRS for SMEs standard and ASC
// 460-10-50-8 (from memory).
//
// ChainLadder gives the standard errors of Mack 1993 with the rule for the last
// σ² named. It needs payments in every first year and adds nothing after the
// last column. Where single years have gaps Reserve joins years laid and years
// since (Joined), two at a time or up to five; where that is refused too it says
// so and lets the expected value stand. Where both are known it leads from the
// one to the other by what lies after the triangle, by each cohort's own history,
// and by the rest. The expected value is that of Model; AtIssue says what each
// promise was to cost on its first day.
//
// # Scenarios
//
// A scenario changes rates and costs of the promises it names, in the years it
// names, and says who bears what comes on top. It says nothing of how likely it
// is; the multiples are the asker's own judgement.
//
// # Rates by group
//
// Rates compares groups by the empirical-Bayes gamma-Poisson model: counts are
// Poisson given the rate, rates are gamma(α, β) across groups, and α, β maximise
// the negative binomial likelihood (FitGamma). A group with much time keeps its
// own rate, one with little takes the overall one. Where the counts vary no more
// than Poisson counts do, all groups share one rate.
//
// # Means by group
//
// Credibility compares means, such as the cost of a callback by crew, covering or
// branch, after Bühlmann and Straub: an observation's variance is one within its
// group over its weight, the groups' means vary by one between them, both are
// estimated without bias from the squares, and the collective mean weighs groups by
// their credibility weight/(weight + within/between). Nothing is taken of the shape
// of costs. Where the one between comes out at nought or below, all groups share
// one mean. The error of a mean is that of the best linear forecast, the two
// variances taken as they come out: with twelve crews its square is a sixth too small.
//
// # Units and limits
//
// Rates are callbacks of a roof in a year of 365.25 days. Money is in cents.
// Costs of a calendar year are taken to fall in the middle of its time ahead for
// growth and discount. The ranges of calendar years do not add up to that of the
// total, which shares its uncertain rates across the years.
//
// With fewer than five own callbacks the sample is called small: the spread of
// the logarithms of costs is then taken to be 1 at least (an assumption that
// widens the range; common practice, no source). What is not known is said in
// notes and never turned into a nought: with no own history and no assumed rate
// or cost, amounts are left out. The result is an estimate, and no substitute for
// the judgement of a bookkeeper or auditor.
//
// # Cost
//
// A round of the fit takes one step for each calendar year of each kind of roof,
// roofs that share every name being of a kind: for 100,000 roofs, each of its own
// kind, and 5,000 callbacks the fit takes some 2.5 s (BenchmarkFit100000). What is
// ahead takes one step for each calendar year of each promise, 35 ms for 100,000
// promises of ten years; their distribution with seven effects that cross, some
// 0.25 s (BenchmarkAhead100000).
//
// The distribution of 100,000 warranties over ten years with weather takes 40 ms
// on one core, a tenth or so of what 10,000 trials of the ten years' totals take
// (BenchmarkDistribution100000 beside BenchmarkTrials10000). Crossed lots and
// crews with weather take from 0.02 to some seconds.
//
// # Sources
//
// Gamma-Poisson shrinkage: Gaver and O'Muircheartaigh 1987 (the pump data that
// the tests fit); the added variance of the prior's mean follows Morris 1983
// (from memory). Compound distributions, the mean-keeping lattice and the
// table of the tests: Klugman, Panjer and Willmot, Loss Models, as in the help
// of the R package actuar; the recursion of the tests: Panjer 1981. Poisson
// regression with offset, which the fit is where nothing is shrunk: McCullagh
// and Nelder, Generalized Linear Models, 1989, section 6.3.2. Quadrature:
// Golub and Welsch 1969. Chain ladder: T. Mack, ASTIN Bulletin 23 (1993), with
// the triangle of Taylor and Ashe that it prints. Expected-value provisions: IAS 37.39, Ind AS 37 and
// the IFRS for SMEs standard, section 21, example 4.
package owed
