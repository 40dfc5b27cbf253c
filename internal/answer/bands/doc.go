// Package bands says how sure an answer is: what is not known well (weather, label, age, heat, dirt,
// surroundings, use, battery) as distributions, drawn together and run through the trip; the band of energy and
// of nights short; which doubt makes the band, as shares of its variance; and the one observation that would
// shrink it most.
//
// The draws are laid out after Saltelli: two sets of rows, and for each doubt the first set with that doubt taken
// from the second. All rows are one run of package forecast, each a year of it, so the figures are the same on any
// number of cores.
//
// Left out: doubts that go together (a careless owner is careless with dirt and with lamps), the model's own error,
// faults. What shadow the roof's things cast is taken as drawn, and over a whole year as one factor.
package bands
