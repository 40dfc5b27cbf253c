package diagnose

import "noonmark/internal/base/quantity"

// Calibration is how often causes that were given a probability between two were true.
type Calibration struct {
	From, To quantity.Ratio
	Said     quantity.Ratio // their mean probability
	True     quantity.Ratio
	Causes   float64 // that so many equal cases would show as surely: the square of the weights' sum over the sum of their squares
}

// Calibrated returns the calibration of 600 synthetic arrays, each solved by a circuit simulator with cells
// of its own and read with a meter's errors; each fault counts as often as its prior says. The test of the
// rates makes it anew, and holds it to this within counting statistics; it says which seed, and how seeds were
// used.
func Calibrated() []Calibration {
	return append([]Calibration(nil), calibrated...)
}

var calibrated = []Calibration{
	{0, 10 * quantity.Percent, 0.9 * quantity.Percent, 1.1 * quantity.Percent, 769},
	{10 * quantity.Percent, 30 * quantity.Percent, 19.0 * quantity.Percent, 7.3 * quantity.Percent, 19},
	{30 * quantity.Percent, 50 * quantity.Percent, 43.7 * quantity.Percent, 38.1 * quantity.Percent, 16},
	{50 * quantity.Percent, 70 * quantity.Percent, 60.4 * quantity.Percent, 33.5 * quantity.Percent, 12},
	{70 * quantity.Percent, 90 * quantity.Percent, 80.6 * quantity.Percent, 89.1 * quantity.Percent, 32},
	{90 * quantity.Percent, 1, 98.4 * quantity.Percent, 97.0 * quantity.Percent, 291},
}
