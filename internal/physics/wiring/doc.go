// Package wiring computes the drop, loss, current limits and fuses of a pair of copper conductors
// on the low-voltage side of a vehicle.
//
// The length of a run is one way; every formula doubles it. Resistance is that of direct current:
// the skin effect is below 0.1 % at the sizes here. Current limits are tables of published rules with
// their standing; a rule whose table is kept from memory says so in its source.
//
// Left out: aluminium, mains wiring, contact resistance of joints, short-circuit heating, and the
// working out of conductor temperature from current (the user's air, or the insulation's rating, stands
// for it).
package wiring
