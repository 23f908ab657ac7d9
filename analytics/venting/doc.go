// Package venting answers, for one attic space, how much net free vent area a
// code asks for, how much is there, whether it passes, by how much, and what
// would put it right in a safe order.
//
// Net free area (NFA) is the open area of a vent after its louvres, mesh and
// baffles are taken away. Input is in feet or metres, each field naming its
// unit; everything inside and in the result is in square metres, and the
// sentences of the result are written in the system of units asked for.
//
// # Rules
//
// Each edition of each code is a rule of its own (see [Codes]): a dated set of
// numbers with the section they stand in, where they were read, and what is
// doubtful about them. A rule that could not be read in its own text says
// "from memory" or "second-hand". Local amendments are not known here: the
// edition in force, and its meaning, belong to the local building official.
//
// The share of high vents is measured on the area asked for, as the text has
// it, not on the area there. So more intake never turns a pass into a fail:
// it changes neither the area asked nor the high area, and both the balance
// and the total only gain. More exhaust can: above the upper bound of the
// share the reduction to 1/300 is lost, until the total alone reaches 1/150.
// In the Canadian rules, which have no upper bound, no added vent can.
//
// # Unknown is not zero
//
// A count, length, height, retarder, zone or slope that is left out is
// unknown. Vent areas are carried as a least and a most: a vent of known kind
// but unknown stamped area takes the range of its kind ([Defaults]), an
// opening of unknown size runs from nothing to no bound. A rule passes only if
// it passes for every value in the bounds, fails only if it fails for every
// value that the bounds of each condition allow, and is otherwise not known,
// with the names of what to measure. A remedy counts on the least of each area
// and guards against the most of the exhaust, and none is given while the place
// of a vent is not known. A share blocked that is left out means
// that no blockage was reported: the rule is then judged on the vents as
// fitted.
//
// # Limits
//
// Vented attics only: unvented assemblies have their own sections. Each
// enclosed space is checked alone. The area a vent takes in is not the air it
// moves. Opening size, mesh, clear space above the insulation and mansard
// roofs are not judged. A fan is counted by the open area stamped on it, if
// any, not by its flow.
package venting
