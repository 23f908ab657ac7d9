// Package climate tells what the weather of a place does to a roof: where the
// sun stands, what falls on a slope, and a typical year hour by hour.
//
// Inside and in results everything is SI: °C, m, m/s, Pa, W/m²; each field
// names its unit. Directions are degrees clockwise from north, tilts degrees
// from the horizontal, longitudes positive to the east. Hours are local
// standard time; there is no summer time here.
//
// # The sun
//
// [SunAt] is the solar position algorithm of I. Reda and A. Andreas, Solar
// Position Algorithm for Solar Radiation Applications, NREL/TP-560-34302,
// revised 2008, whole, with its periodic terms; [SunOn] its appendix for
// sunrise, transit and sunset. The report's worked example comes back in every
// digit. It gives ±0.0003°; near the horizon the light's real bending is less
// certain than that by far. A typical year takes the sun's place from a table of
// days and is within 0.005° of the whole algorithm (tested).
//
// [Sunshine.On] puts the sun on a slope: beam by the angle of incidence, ground
// and even sky by Liu and Jordan (1963), the brighter sky round the sun by Hay
// and Davies (1980), the brighter horizon by Reindl, Beckman and Duffie (1990).
// [Split] parts global sun into beam and sky by Erbs, Klein and Duffie (1982).
// [Year.OnSlope] is beam, Hay and Davies' sky and ground.
//
// # The typical year
//
// [ReadEPW] reads a measured or published typical year in the open EPW format.
// [FromNormals] shapes one from twelve monthly normals where there is none, and
// [StationYear] does so for a few real places of snow country, whose normals
// name their source; many are from memory, and say so.
//
// The shaping is ours. The air goes along half a cosine from the day's lowest at
// sunrise to its highest at three and down again. Days differ by a fixed run of
// chance that remembers the day before: by 3 °C in summer and up to 7 in a cold
// month. A second run makes clear and dull days, a third calm and windy ones.
// Each day's sun is a share of Haurwitz's clear sky (1946), parted by Erbs; the
// cloud that gives that share is Kasten and Czeplak's (1980); the sky's
// long-wave is Clark and Allen's with that cloud; the dew point keeps a month's
// distance from the mean of the day around and never passes the air. What was
// given comes back in each month: the mean of the days' highest and lowest
// hours, the sun, the wind, and the dew point or humidity, to a millionth. The
// mean of the hours lies within some tenths of a degree of the middle of highest
// and lowest.
//
// Snow falls on the dullest of the cold days, at 100 kg/m³, settles, and melts
// by the degree-hours over freezing. Where the depth on the ground is given too,
// the melt is chosen so that the year's mean depth comes out.
//
// # Unknown is not zero
//
// What a file or a set of normals does not give is filled as told in the year's
// Notes, or refused where nothing tells it. For a moment's sun, what is not
// given is named in "measure".
//
// # Limits
//
// A typical year is no forecast and no record: a hard winter is colder, a storm
// windier, a drift deeper. In a shaped year the weathers do not know each other
// beyond what is told above: no rain, no fronts, no wind from anywhere, cloud
// the same all day. Its extremes are held within two and a half of their
// spread. Hills, trees and houses before the sun are not known, nor is summer
// time, nor the calendar year: the sun is that of 2021, whose height on a given
// day is within 0.3° of any other year's.
package climate
