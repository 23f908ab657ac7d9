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
// callback comes and why. Coverings wear out at ages drawn from Weibull
// distributions whose means lie near the published service lives (asphalt 20
// years and wood shake 30: National Association of Home Builders, Study of Life
// Expectancy of Home Components, 2007, seen quoted), shortened a little for a
// high and cold place. They are not a finding about real roofs.
package demo
