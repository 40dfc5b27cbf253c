// Package forecast takes a build through the days of its trip: light, heat, curves, cable,
// controller, battery and loads, five minutes at a time, with every watt-hour in a ledger that
// closes. It is the spine of the project: read Run, then (*year).day, then (*year).step.
//
// What does not depend on the weather (sun, planes, horizon, use) is computed once and kept on a
// tape; a year then reads the tape with its own weather. Years differ in their weather and in one
// draw of the climatology's own error, are seeded by their number, and give the same figures on
// any number of cores.
//
// Where things stand on the roof, every cell has its own light, read from a table over the sky's directions
// (roof.go); many years then read what the arrays make of their light from a chart (chart.go, react.go).
//
// Left out: the spectrum of the light and the thermal mass of the vehicle.
package forecast
