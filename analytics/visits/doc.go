// Package visits tells which roofs are due for a check-up or a look after a
// storm, since when and why, and shares due roofs out over days in a short
// order.
//
// The yearly check-up is one of gutters and roof. Its first date is twelve
// months after the job was closed, or after the roof was laid where the closing
// is unknown; every further one is twelve months after the part looked at
// longest ago, so that a visit that left the gutters out leaves them due. The
// yearly interval is a promise of the company and a setting; trade bodies advise
// looking at a roof twice a year and after storms, and cleaning gutters twice a
// year (National Roofing Contractors Association, statement to the press; quoted
// second hand).
//
// A due date in the closed season moves to the next day that the season is open,
// and says so. A look after a storm is due within fourteen days, a setting
// (common practice, no source), and does not move: it can begin from the ground.
// A look on the very day of the storm may have been before it and does not count
// as one.
//
// A laid date known to a month or a year gives a first and a last day on which
// the check-up can have come due. It counts as due from the first, so that no
// promise is missed, and as overdue from the last, so that nobody is called late
// who may not be. A roof with no date at all is due now, since an unknown day.
//
// Days here are calendar days; holidays and working hours are the caller's.
// Distances are as the crow flies (package geo), so a day's driving is an
// estimate that leaves out streets.
package visits

// Caution goes with every list of roofs to visit: words for whoever is sent up.
const Caution = "Look from the ground first. Nobody walks a roof that is wet, frosted, snow-covered, steep or wind-blown; " +
	"whoever goes up uses fall protection and a footed, tied ladder, as the local rules on work at height ask. " +
	"Repairs are for licensed people under the local code."
