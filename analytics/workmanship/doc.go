// Package workmanship says where workmanship goes wrong, and what cannot be
// known yet: callbacks by crew, cause, detail and place, held against what the
// company's own rates at the same ages lead one to expect, and before and after
// a change of practice. It ranks nobody: groups come in the order of their
// names, and each is compared with what chance alone would give it, never with
// another group.
//
// # Method
//
// A roof is watched from the day it was laid to the last day asked for. What a
// group has had is drawn as mean cumulative functions by age, per roof and per
// 100 squares (package survival: Nelson; robust variance of Lawless and
// Nadeau).
//
// Crews differ in how old their roofs are, so a plain rate would blame whoever
// laid the oldest. The expected number of a group is the time that its roofs
// were watched in each year since laying, times the rate of all roofs in that
// year of their age (indirect standardisation). Over all groups the expected
// numbers add up to the number that came.
//
// Limits say between what numbers chance alone leaves a group: given how many
// callbacks all groups had together, a group's number is binomial with its
// share of the expected one. Where a roof that leaks calls more than once,
// callbacks come in clumps; the number is then counted in clumps of the size
// that the roofs show (the variance of the roofs' numbers over their
// expectation, never below 1), and the binomial is continued by the incomplete
// beta function. Half of what lies outside is on either side. The level is
// shared out over all groups compared (Bonferroni), so that among groups that
// are all alike one is called out by chance in one company of twenty.
//
// Beside the limits stands how the group's own pace compares with all, drawn
// towards 1 the more the less it has been watched (package owed: gamma-Poisson
// shrinkage). The same is done for each crew and cause, and each crew and kind of
// detail: what stands out there is above its limit, at a level that is shared out
// over all of them, and nothing is said of those below.
//
// Before and after: roofs laid in so many years before the change and those laid
// since, both only up to the age that the oldest of those laid since has
// reached. Given their number together, those of the roofs laid since are
// binomial with their share of the expected number; the limits of the ratio of
// rates are those of Clopper and Pearson, in clumps as above. Where the change
// concerns one crew, the same is worked out for all other crews over the same
// days: what changed for them too was not the change.
//
// # What it cannot say
//
// Crews do not draw lots for their roofs. Steep roofs, valleys, chimneys, the
// season and the material go with the crew that was sent there, and are not
// taken out. A callback counts for the crew that laid the roof, although its
// cause may be somebody else's; causes that are nobody's laying should be left
// out of the input. A roof of which nobody rings counts as sound.
//
// # Sources
//
// Indirect standardisation and its limits: Breslow and Day, Statistical Methods
// in Cancer Research II (1987), from memory. Limits that widen with small
// numbers: Spiegelhalter, Funnel plots for comparing institutional performance,
// Statistics in Medicine 24 (2005), from memory. Exact limits of a proportion:
// Clopper and Pearson 1934. The window of three years before a change and the
// level of the ranges are our own judgement.
//
// # Units and limits
//
// Ages in years of 365.25 days, sizes in squares of 100 ft². Up to 200 groups.
package workmanship
