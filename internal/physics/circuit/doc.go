// Package circuit joins cells to modules, strings and an array, and finds where a controller works it.
//
// A module is bypass groups of cells in series; each group's diode takes over at a fixed drop. Cells of
// a group with equal light are one class with a multiplicity, so a module in even light costs as much
// as a cell. A uniform array is one cell; only light that differs is solved as a network.
//
// Left out: the curve of the bypass diode around its drop, its leakage, and blocking diodes: strings
// in parallel may drive current backwards through a weaker one.
package circuit
