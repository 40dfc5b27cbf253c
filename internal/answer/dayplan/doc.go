// Package dayplan plans the day on which modules are bonded to a roof: the weather gate by the hour, what
// is needed, who does what from when to when, where to hold and ask, when the vehicle may be driven, and
// how a module comes off again.
//
// The hours are those of a fine day of the season, from the built-in climate and a clear sky: a plan to
// choose the date and the start by. On the day itself a thermometer on the skin, the humidity and the
// wind at the roof decide, hour by hour, by the same gate.
//
// Left out: rain, which no climate gives by the hour; shadow on the roof, which makes a hot noon
// bearable; and the mass of the skin, which follows the sun within minutes.
package dayplan
