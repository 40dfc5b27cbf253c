// Package bench says what a module should read: volts open, amps short, watts and temperature at a
// place, a minute and a sky, each with a band and the input that dominates it; brings what was read to
// standard conditions, judges it against the label with guard bands, compares modules read in turns or
// logged through a day, and plans tests and the record of a finished installation.
//
// The module is taken as settled, with the sun on it for as long as its heat needs, under a level
// horizon.
package bench
