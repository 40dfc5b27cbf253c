// Package choose answers which module type, how many, where and wired how: Arrange searches layouts and
// wirings of a build and gives the front of energy, money and mass; Compare sets module types side by side,
// each in the best layout found for it; Bands says how sure the year's energy is and what would make it surer.
//
// Layouts are judged on hours of some days of a year, shadows on cells and the circuit included; those that
// are shown are computed again through the year. One type a layout: mixed types on one controller are not
// searched. What a rule of the wiring forbids is left out before it is judged, and counted.
package choose
