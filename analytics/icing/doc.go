// Package icing answers two questions about one eave: how far up the slope the
// ice barrier must reach and how far it does ([Eave]), and how likely ice is to
// build up there ([Index]).
//
// Membrane limits leaks; it does not stop dams. What stops them is a ceiling
// that lets neither air nor heat through to the snow.
//
// # Method: how far
//
// The American text (IRC R905.1.2, second-hand) asks for a barrier from the
// lowest edges of the roof to 24 in inside the line of the outer wall, and from
// 2015 on slopes of 8:12 or more for at least 36 in along the slope. The
// Canadian (OBC and NBC 9.26.5.1., Ontario's read) asks for 900 mm up the slope
// and 300 mm inside the inner face of the wall. The 24 in and 300 mm are read
// level. So with the level way h from the edge and the pitch r in twelve
//
//	IRC:      (h to the outer face + 24 in)·√(1+(r/12)²), at least 36 in on steep slopes
//	NBC, OBC: (h to the inner face + 300 mm)·√(1+(r/12)²), at least 900 mm
//
// which is geometry. Sources disagree whether IRC 2024 keeps the 36 in;
// steep_rule_2024 decides, kept unless told otherwise, and the result says so.
//
// Where protection is asked for, a longer overhang never shortens it. In the
// Canadian texts an overhang of more than 900 mm along the slope, from the edge
// to the wall's inner face, asks for none: there protection is not required.
//
// # Method: how likely
//
// Physics. The snow that a house melts from below while it is −5.6 °C (22 °F)
// or colder outside freezes at the eave; in milder air icings seldom grow (W.
// Tobiasson, CRREL), and such melt counts a tenth (our judgement). Melt by the
// square metre of slope comes from the winter balance of an attic, in which air
// leaks and insulation lead. Times the length of slope over the heated ceiling
// it is w, the water that reaches a metre of eave, and
//
//	index = 100·w·m / (w·m + 50 kg/m)
//
// with m = 1 for the share that is physics. 50 kg of ice is a strip a foot wide
// and seven inches high. The form and the 50 kg are our judgement.
//
// Judgement. m is the product of what raises the index, each at least 1: a wide
// overhang, a valley that drains to a short eave, a dead valley without a
// saddle and so on ([Factors]); their sizes are our judgement, and that they
// count at all is common practice, no source. The points that judgement adds
// are shared out by the factors' logarithms, so that no order favours one, and
// all points are whole and add exactly.
//
// More melt never lowers the index, nor does a longer overhang.
//
// # Unknown is not zero
//
// What is left out is unknown and gives a range, or "not known" with the fields
// to measure. A wall of unknown thickness is one of [Walls]. Of the index,
// least and most take each unknown at its ends; the likely one takes a thing
// that nobody reported as not there.
//
// # Limits
//
// Which slopes the local table or the winters there call for a barrier is for
// the building official. Ice that the sun alone makes, ice from gutters and
// snow that slides down are not in the index; it compares eaves and foretells
// no leak.
package icing
