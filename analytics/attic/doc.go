// Package attic works out, hour by hour through one year of weather, how hot
// the covering, the deck and the air of one vented attic run with the vents
// that are there, how much hotter than with vents balanced to code, what that
// does to the pace of ageing, and what winter does: snow melted from below that
// feeds ice at the eave, damp and frost on the deck.
//
// # Method
//
// Air. Openings at the eaves (half to windward, half to lee), at the top, and
// the leaks of the ceiling are one network with one unknown, the pressure of
// the attic. Each opening passes m = ρ·Cd·A·√(2Δp/ρ), Cd 0.6 (the orifice
// equation of the ASHRAE Handbook of Fundamentals, from memory); the ceiling
// and the walls of the house in series with it pass m ∝ Δp^(2/3), near the
// 0.65 that ASHRAE gives for leaks, from memory, by their effective leakage
// area at 4 Pa. Stack pressure is Δρ·g·h, wind pressure Cp·ρU²/2 with the wind
// taken from the mast to the eave by ASHRAE's terrain rule and a shelter
// factor, after the attic models of I. S. Walker and D. J. Wilson (from
// memory). The net flow falls steadily as the attic's pressure rises, so it has
// one root.
//
// Heat. Six temperatures: covering and underside of the deck of the slope asked
// about and of the opposite one, the attic's air, and the top of the
// insulation. Sun by the slope, long-wave exchange with sky and ground
// (emittance 0.9), convection by wind and by lift (G. Walton, NBSIR 83-2655, 1983, from
// memory), conduction through shingle and deck, radiation in the
// triangle of the attic by crossed strings, convection inside, ventilation,
// ceiling, and air that leaks up from a house at 20 °C. Covering, deck and
// attic air store heat; each hour is one implicit step, linearised twice.
//
// Snow that lies is a layer on the roof: 0.7 of the depth on the ground
// (exposure factor of ASCE 7, from memory), less on slopes over 30° and none at
// 70°, less what has melted from below. The covering under it cannot pass 0 °C;
// what is left over melts snow.
//
// Ageing. A rate that doubles with 10 °C (rule of thumb, from memory), as
// Arrhenius with the activation energy that gives this between 25 and 35 °C,
// near the temperature at which a covering ages as it does over the year. The
// pace is the mean over all hours. Against vents of 1/300 of the ceiling, half
// low and half high, it makes the life factor.
//
// Damp. A balance of water vapour each hour: outside air, air from the house,
// diffusion through the ceiling by the class of its retarder, frost on the deck
// by Lewis's relation.
//
// # Unknown is not zero
//
// What is left out is unknown and runs over a range of its own. Each result has
// a least, a likely and a most; Measure names what would narrow them, the most
// telling first. The likely one takes the middle that stands in the doc of
// [Input].
//
// # Limits
//
// Two equal slopes over one open attic; no dormers, knee walls, gable walls in
// the sun, ducts, fans or turbines, and no trees' shade. Wind has no direction:
// pressures are means over all of them. Timber takes up no vapour, so that
// nights look damper and frost heavier than in a real attic; compare with the
// balanced attic of the same house, which stands beside it. The house is held
// at 20 °C all year. The values marked "our judgement" in the code are not
// published ones.
//
// Beside published figures (tested): a clear July day gives 74 °C on black and 65
// on white shingles, measured were 68 and 59; the attic 22 K over the outside,
// measured 22; closing balanced vents warms the covering by 0.4 K in the year's
// mean, published 0.5, and quickens ageing by 4 %, published 3 to 10; black for
// white 1.6 K, published 1.45. A year shaped from normals is brighter in its
// clearest hours, and its hottest hour runs some 8 K hotter.
package attic
