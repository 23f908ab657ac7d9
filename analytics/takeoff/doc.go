// Package takeoff figures the quantities of a roof of planar slopes: true
// areas, squares, bundles, nails, underlayment, starter, cap and drip edge, and
// what goes on beside the shingles; and, from the slopes' outlines, the lines
// of the roof and where its water goes.
//
// A slope is given by its plan area, by its length along the eave and its
// rafter, or by its outline in plan, and by its rise in twelve inches of run.
// Lengths and areas come in feet or metres, each field naming its unit; results
// are in square metres, metres and roofer's squares of 100 ft².
//
// # Method
//
// A plane that rises r inches in twelve has √(1+(r/12)²) times its plan area.
// A hip or valley between two slopes of equal pitch at a square corner is
// √(2+(r/12)²) times the run of the common rafter. Both are geometry.
//
// A slope with an outline falls square to its eaves, or else to its ridge or
// headwall, or as its neighbour over an open line or the way it faces has it.
// Lines within 30 mm of one another in plan, a slope on each side, are one
// line, also where one is a stretch of the other; its length is measured on the
// planes, so that pitches and corners may be any. The planes are set to meet at
// the lower ends of their lines, the longest first; where they then part by
// more than 60 mm, both are named with the gap. These bounds are our judgement.
//
// Rain is taken to fall straight down and to run down the steepest way. A slope
// is cut along its fall into strips in which no corner lies; what drains over a
// line in a strip is a trapezium, so the plan areas are exact. Water that
// crosses an open line goes on down the next slope; in a valley or along a wall
// it runs to the lower end, and from there into the next valley, down the slope
// it stands on, or over the eaves that end there, in equal parts (our
// judgement). The eaves' areas and what is lost add up to the plan area.
//
// Covering formats, lap of underlayment, fewest nails, valley linings, step
// flashing, saddles and least slope are those of the American texts (IRC R903,
// R905, R1003, ASTM) or of trade practice; each stands beside its source in the
// code. The maker's own numbers rule: give them where they are known.
//
// Waste that is not stated is, by our judgement, 3 % and half a shingle's width
// along every rake, hip, valley and wall; see [Waste].
//
// # Unknown is not zero
//
// A slope whose area cannot be known yet leaves the order empty and is named
// under what to measure; a covering whose format is not known leaves its
// bundles and nails empty, and an interlocking one has its nails from its maker
// alone. Runs left out are not known, unless every slope has an outline; a list
// of runs is taken as whole, so that a kind that is not in it is nought. What a
// bundle of starter or caps covers, where it is not given, is a range.
//
// # Limits
//
// Planes only, and one covering. Dormers and penetrations are not taken away,
// unless the outlines leave them out; an outline has no holes. Waste is a share
// of the area; what cutting really needs depends on the crew. End laps of
// underlayment are left to waste. Momentum, wind, snow and gutters are not in
// the way the water takes, and what falls from a higher eave onto a lower slope
// is counted at the higher eave. Outlines that lie over one another are not
// noticed. A saddle is counted by its size and not taken from the slope.
package takeoff
