// Package cell has the current and voltage of a solar cell: the single-diode model, fitted from a
// label, moved to any light and temperature.
//
// Reference conditions are 1000 W/m², AM1.5 and 25 °C. A module's parameters are kept for its whole
// chain of cells in series; Cell divides them. Reverse bias follows Bishop 1988.
//
// Left out: the second diode, recombination in the depletion zone of amorphous cells, capacitance.
package cell
