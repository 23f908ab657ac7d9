// Package storms tells which roofs a storm crossed and which of them are worth a
// look, and how soon. It never says that a roof was harmed: only a look at it
// can.
//
// A storm is an area or a track with a half-width, a day, and what it brought:
// the largest hail in millimetres and the strongest gust in metres a second.
// Size and gust are of the storm as a whole, so most roofs within it met less.
//
// Hail is compared with the size at which a covering of that kind begins to be
// harmed (quoted second hand from ice-stone tests in the line of T. P. Marshall,
// R. F. Herzog, S. J. Morrison and S. R. Smith, Hail damage threshold sizes for
// common roofing materials, American Meteorological Society, P3.2): 3/4 in for
// roll roofing and deteriorated shingles, 1 in for light asphalt, 1¼ in for heavy
// asphalt, wood shingles and older shakes, 1½ in for clay, slate and new medium
// shakes, 1¾ in for heavy shakes, 2 in for concrete tile. National Weather
// Service research, second hand as well, has it that 1 in harms asphalt shingles
// 11 years old or more, and 1¼ in old ones and new ones; so heavy asphalt of that
// age, or of unknown age, is taken at 1 in. No threshold for interlocking asphalt
// shingles has been published; they are taken as light asphalt. A covering that
// is unknown is taken as light asphalt too, and the reason says so.
//
// A gust is compared with 58 mph, at which the United States call a storm severe
// (National Weather Service; Canada says 90 km/h), and with 33 m/s, from which a
// survey after a hurricane found shingles harmed (3-second gusts of 33 to 43 m/s;
// Marshall and others, American Meteorological Society, 2010). Shingles tend to
// come partly unsealed from about their fourth year (Dixon, Masters, Prevatt and
// Gurley, University of Florida), so below 33 m/s a younger roof is not expected
// to be harmed. Classes from wind and hail laboratories do not carry over to a
// roof in service and are not used.
//
// How soon a look is due at which margin is common practice, no source.
package storms

// Caution goes with every list of roofs to look at.
const Caution = "A storm that crossed a roof may have left it unharmed: this is a list of roofs worth a look, not of damage. " +
	"Look from the ground first. Nobody walks a roof that is wet, icy, steep or still in the wind; whoever goes up uses fall " +
	"protection, as the local rules on work at height ask. Repairs are for licensed people under the local code."
