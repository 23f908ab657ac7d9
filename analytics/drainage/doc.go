// Package drainage answers, for one run of gutter, whether the design storm
// stays in it: whether the gutter carries the water, whether the downspouts let
// it out, whether the sheet off the slope and the stream from a valley land in
// it, whether it falls, and whether its lip stays under sliding snow. Each check
// says by how much, and what would put it right.
//
// # Runoff
//
// Flow is catching area times rain: gpm = ft²·(in/h)/96.23. The area is the plan
// area, or on request the plan area times a table's factor for pitch, or with
// half the rise added to the width (EN 12056-3 guide, second-hand); both stand
// for rain driven by wind. The time that water takes down the slope, by the
// kinematic wave (FHWA HEC-22, from memory), is seconds, so the five-minute rain
// is the design rain.
//
// # Capacity
//
// Water gathers along the run, so its depth varies: spatially varied flow. The
// inflow brings no momentum along the gutter; between two places the momentum
// function, flow²/(g·area) plus the moment of the section about the surface,
// changes by the weight down the fall less Manning's friction (Beij, NBS RP 644,
// 1934; Hager). It is followed from each outlet, where the depth is critical or
// what the hole asks for if that is more, upstream to the closed end or to where
// the water parts between two outlets, that is where both sides stand level. A
// valley's pour adds flow at one place and no momentum. On a steep fall the flow
// passes critical depth within the run, and critical depth is then taken below
// that place, which is on the safe side. Capacity is the rain at which the
// surface first reaches the lip. Sections are real ones: the half round a
// circle, K-style a trapezoid, box a rectangle; granules and plants are a bed in
// the bottom. Bends take 15 % (EN 12056-3 guide, second-hand).
//
// Twelve steps a side are within 1 % of two thousand. The level
// rectangle without friction has a closed form, y = √3·yc and Q = 1.374·b·y^1.5
// (SI), which is met.
//
// # Where published figures disagree
//
// Every result puts the tables beside the flow worked out; [Table] says which
// agree within a fifth. In general, for smooth metal with a free outlet:
//
//   - The level formulae of SMACNA agree within a fifth for half rounds of 4 to
//     10 in and runs of 20 to 60 ft; the half-round one has no length in it, and
//     is hopeful for long runs of small gutters.
//   - The plumbing tables' row for 1/16 in per ft is what a level gutter carries
//     in a run of about 40 ft. With a true fall of 1/16 in per ft the flow worked
//     out is 1.5 to 2 times the row's. The tables are the careful side.
//   - The consumer table gives 5 and 6 in K-style gutters the plumbing tables'
//     figures for 7 and 8 in half rounds. A level 5 in K-style, 3.5 in deep, with
//     40 ft of run carries about 0.86 of it, less with a small downspout.
//   - EN 12056-3 is 14 to 25 % below the flow worked out for level runs of 20 ft.
//   - The trade's downspout figure, 1 in² for 1,200 ft² at 1 in/h, asks for some
//     8 in of water over the outlet. Under a full 5 in gutter a downspout takes
//     about half to two thirds of it: most gutters are held back by the outlet.
//
// # Overshoot
//
// The sheet at the eave is a kinematic one, q = rain × plan run = depth × speed,
// with Manning's friction of shingles (n 0.011 to 0.016 unless given). A valley's
// stream runs in the trough between the slopes, or spread on the flat of an open
// valley. From the edge it falls freely, starting along the slope. It lands
// inside if its upper face is under the lip where the lip stands, strikes the lip
// if only its lower face is, and goes over otherwise.
//
// More rain throws it farther, always. A steeper slope sends it faster, but also
// more downward, so the throw is greatest on middling pitches, near 6:12 for a
// thin sheet, and not on the steepest roof. A stream never rises over the line of the slope: a lip on that line
// catches all of it, and is what sliding snow takes. So the lip must stand under
// the snow's line and over the water's, and the remedies keep to that.
//
// A thin sheet never reaches across a gutter hung close; a valley does. Splash
// inside the gutter, wind, and water that clings to the edge in light rain are
// not reckoned.
//
// # Unknown is not zero
//
// What is left out makes a range: a gutter of unknown kind is at the least a
// half round and at the most a box, of unknown depth the range of its kind, of
// unknown fall level to 1/8 in per ft, of unknown material n 0.009 to 0.016.
// Unknown outlets are one at the worse end, with no upper bound. A check passes
// if it does at the bad end of the range, fails if it does at the good end, and
// is otherwise not known, with the fields to measure. Blockage that nobody
// reported is none, and a note says so. Valleys left out were not looked at; an
// empty list is none.
//
// # Limits
//
// One straight run. Corners are not places. Where the outlets' holes hold water
// back, the water is still taken to part as with free ones. No leaf guards, no
// downspout pipes or underground drains, no snow melt, no ice, no wind. Local
// code decides the design rain.
package drainage
