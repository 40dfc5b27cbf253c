// Package shading says what each thing on the roof costs: hours in which its shadow lies on a cell, and
// watt-hours, over a clear day, the trip and a year; and what would mend it.
//
// Losses behind bypass diodes do not add up: two shadows on one cell cost no more than one, and two on
// groups that share a string may cost more than both alone. So each thing is charged by leaving it out, in
// the same weather, and one row says what all cost together. Energies are those offered at the battery,
// taken or not: a full battery hides no loss.
package shading
