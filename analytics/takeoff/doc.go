// Package takeoff figures the quantities of a roof of planar slopes: true
// areas, squares, bundles, nails, underlayment, starter, cap and drip edge.
//
// A slope is given by its plan area or by its length along the eave and its
// rafter, and by its rise in twelve inches of run. Lengths and areas come in
// feet or metres, each field naming its unit; results are in square metres,
// metres and roofer's squares of 100 ft².
//
// # Method
//
// A plane that rises r inches in twelve has √(1+(r/12)²) times its plan area.
// A hip or valley between two slopes of equal pitch at a square corner is
// √(2+(r/12)²) times the run of the common rafter. Both are geometry.
//
// Covering formats, lap of underlayment, fewest nails and least slope are
// those of the American texts (IRC R905, ASTM) or of trade practice; each
// stands beside its source in the code. The maker's own numbers rule: give
// them where they are known.
//
// # Unknown is not zero
//
// A slope whose area cannot be known yet leaves the order empty and is named
// under what to measure; a covering whose format is not known leaves its
// bundles and nails empty. Runs left out are not known; a list of runs is
// taken as whole, so that a kind that is not in it is nought.
//
// # Limits
//
// Planes only, and one covering. Dormers and penetrations are not taken away.
// Waste is a stated share of the area; what cutting really needs depends on
// hips, valleys and the crew. End laps of underlayment are left to waste.
package takeoff
