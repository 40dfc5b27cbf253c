// Package charge does the arithmetic of a battery and of what fills it: controller and alternator.
//
// A State is the energy stored and the temperature of the cells. Energy is counted at the battery's
// posts: what goes in is stored or lost, exactly. Current limits count at the battery's voltage of
// the moment. Within a step the voltage, the limits and the temperature stand still.
//
// Left out: the differences of cells in a bank, memory of the last hours (a lead battery's rest voltage
// needs them), Peukert's law (the discharge efficiency stands for it), gassing, and the ageing of a
// battery within a trip.
package charge
