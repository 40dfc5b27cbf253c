// Package circuit joins cells to modules, strings and an array, and finds where a controller works it.
//
// A module is bypass groups of cells in series. Its volts are explicit in the current, with their slope:
// cells of a group with equal light are one class with a multiplicity, equal groups, modules and strings
// are solved once, and a group behind a conducting diode of fixed drop is not solved at all. A uniform
// array is one cell. Peaks are roots of the slope of power, looked for between the kinks that cells
// running out of light and diodes taking over make in the curve.
//
// Left out: the leakage of bypass and blocking diodes, and inductance.
package circuit
