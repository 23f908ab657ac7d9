// Package demo invents a re-roofing company in an invented snow-country town:
// its houses and the roofs on them through time, its jobs, promises, callbacks,
// check-ups, storms and the doors it knocks at. Nothing in it is real: people,
// streets, builders and products have made-up names, telephone numbers lie in
// the range 555-01xx that is kept for stories, and the postal code is in a
// block that has never been given out (both from memory).
//
// Make is pure: the same options give the same records, byte for byte. The
// story ends on Options.Today, so the company looks as it would on that very
// morning, with calls to return and visits to book.
//
// What makes it plausible is common practice and has no source, unless a line
// says otherwise: sizes of houses, pitches, overhangs, prices, how often a
// callback comes and why.
//
// Each covering is worn out at an age that is drawn when it is laid, from a Weibull
// distribution whose median is the middle of what was published: strip shingles 15 to
// 20 years, laminated ones 24 to 30, asphalt on organic felt 14.7, wood shake 20 to 30,
// metal 30 to 80 (National Association of Home Builders, Study of Life Expectancy of Home
// Components, 2007; home inspectors and an engineer's survey page, seen quoted); of
// interlocking shingles nothing was, and they are taken as all asphalt, 20. Times what
// the house makes of it, a tenth up or down and a little less under trees. Its looks
// show the wear of its age over that age, at first slower and then faster as we chose it,
// seen by eyes that differ; when it is worn out
// it lies on for two years in the mean. So ends and looks come of one life, which no
// estimate has had a hand in: a company of so few roofs still sees more ends, or fewer,
// than were to be expected. They are not a finding about real roofs.
package demo
