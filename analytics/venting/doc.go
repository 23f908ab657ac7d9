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
// Where sources conflict or a text was not seen a switch says so ([Readings]),
// and the notes of each rule tell which way it was read.
//
// The share of high vents is measured on the area asked for, as the text has
// it, not on the area there, unless that is chosen. So more intake never turns a pass into a fail:
// it changes neither the area asked nor the high area, and both the balance
// and the total only gain. More exhaust can: above the upper bound of the
// share the reduction to 1/300 is lost, until the total alone reaches 1/150.
// In the Canadian rules, which have no upper bound, no added vent can. Read as
// a share of the area there, more intake can turn a pass into a fail.
//
// # Passage over the walls
//
// What comes in at the soffit or the roof's edge reaches the attic between
// insulation and deck, over the wall. Where the clear space there and the
// length over which it is open are known of every eave, their product is the
// most that vents at the eave count for: geometry, our judgement. Under a wide
// overhang a panel can hold several times that. The thickness of the rafters is
// not taken away. Where the passage is not known the vents are judged as fitted
// and a note says so.
//
// # Bill
//
// [Bill] is the remedy as work, in the order in which it is safe. For each kind
// of exhaust that could stay (those fitted, boxes, and a ridge vent where a
// ridge is given) and each ratio that the rule allows without further proof,
// every whole number of vents or feet to add or close is tried, with the intake
// that it needs: as much as the exhaust at its most, and as the rule asks at
// the least of everything. The cheapest is taken by the prices given, else the
// one with the least work by weights of our own, which serve for nothing else.
// Where a rule leaves the height open two fifths of the area go high (a quarter
// in Canada), our judgement. The attic after it is checked anew, and the
// bill's verdict is that of the check.
//
// Intake is limited by the soffit and edge that are free; under an overhang of
// less than 4 in no strip or panel is fitted, and baffles are believed to hold
// at most 4 in open, both our judgement. What cannot be satisfied is brought as
// near as is safe, with exhaust closed down to the intake, and the bill says
// what stands in the way. An existing single ridge vent that is too short for
// its maker is made longer where the ridge allows; else it goes.
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
// enclosed space is checked alone; kneewalls part an attic into several, which
// must be entered one by one. The area a vent takes in is not the air it moves.
// Which eave a vent stands at is not asked: passages and free soffits are summed
// over the eaves, and a bill shares intake among them by length. Mansard roofs,
// rain and snow at vents, fire rules for eaves near a boundary, the spacing of
// boxes and what the deck can bear are not judged. A fan is counted by the open
// area stamped on it, if any, not by its flow; its flow is a check of its own.
// A light in the soffit is no vent and counts only by a stamped net area. A
// price is of a kind of vent, not of a product. Local code and its official,
// and licensed trades, decide.
package venting
