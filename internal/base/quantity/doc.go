// Package quantity holds the physical types of the project and the conventions they follow.
//
// Each type is a float64 in its coherent SI unit and is named for the quantity; constants are
// named for the unit (2.5 * quantity.SquareMillimetre) and accessors for the unit (p.Watts()).
// Temperature is a point on a scale, so it is a struct made by Celsius or Kelvin; the difference
// of two is a TempDiff.
//
// Conventions, stated once:
//
//   - azimuth runs clockwise from true north, 0 to 2π; headings likewise;
//   - tilt 0 is horizontal, facing up; a plane's azimuth is where its upper face looks;
//   - current into a battery is positive;
//   - the length of a cable is one way; a formula for its resistance doubles it;
//   - instants are UTC; local time enters only with a zone;
//   - east longitude and north latitude are positive;
//   - a Ratio runs 0 to 1 unless its comment says otherwise.
//
// Values print with at most 10 significant digits: they do not survive a round trip of units bit
// for bit.
package quantity
