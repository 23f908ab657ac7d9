// Package neighbours ranks the houses around the roofs we laid by how like they
// are to one of them and how likely they need a roof, and orders a walk along
// the ones chosen.
//
// Likeness (0 to 1) is a weighted mean of plain comparisons with one of our
// roofs within a radius: the builder and plan, the build year, the covering, the
// neighbourhood, the storeys, the cladding and the distance. What is unknown on
// either side counts half, which moves a house neither up nor down against one
// whose facts agree by half, and the reason says that it is unknown. The roof
// most like the house is the one compared with. The weights and the half are our
// own rule: common practice, no source.
//
// Need (0 to 1) is the chance that the covering is worn out within the horizon.
// A caller who has an estimate for the house supplies it. Otherwise it comes
// from the age of the covering we took off the roof compared with: the house
// next door by the same builder, with the same shingle of the same age. That age
// is read as the median of a Weibull distribution of shape 4, given that the
// neighbour's covering is still there at its age a:
//
//	need = 1 − exp(ln 2 · ((a/m)⁴ − ((a+h)/m)⁴))
//
// with m the age at which ours was replaced and h the horizon. No fitted life
// distribution of shingles has been published; shape 4 is a constructed value.
// Where the age at replacement is unknown, m is the typical age of the settings,
// 20 years by default: the life expectancy of asphalt shingles in National
// Association of Home Builders and Bank of America, Study of Life Expectancy of
// Home Components, 2007. A house without a known roof year is taken to have its
// first roof up to one and a half times m; past that, its need is unknown and
// counts half.
//
// Score is likeness × need. It is an order in which to ask, not a finding about
// anybody's roof; a roof is judged by looking at it.
//
// Our own roofs and houses on the stop-list never appear. A house that asked us
// to come back, or said no, rests until its next date. Only facts of the address
// go in and come out, none about the people.
package neighbours
