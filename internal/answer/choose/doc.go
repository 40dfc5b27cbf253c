// Package choose answers which module type, how many, where and wired how: Arrange searches layouts and
// wirings of a build, types mixed too, and gives the front of energy, nights kept, money and mass; Compare sets
// module types side by side, each in the best layout found for it.
//
// Layouts are judged by a forecast.Mosaic on some days of a year, shadows on cells and the circuit included; the
// best again on more days; those that are shown are computed through the year and the trip by the full engine.
// What breaks a rule of check that hangs on layout and wiring is left out and counted. Modules lie along or across
// a surface, on a grid and side by side; more than two chargers are not shared, and cable entries are not searched.
package choose
