// Package load gives the power of what is used: profiles by the local hour, a compressor fridge
// that follows the air, and an inverter.
//
// Left out: the start of motors, the power factor of mains loads (an inverter's loss is counted on
// watts), and people who do other than they said.
package load
