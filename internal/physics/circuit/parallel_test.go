package circuit

import (
	"testing"

	"noonmark/internal/base/quantity"
)

// The higher of two peaks is met just before a kink of strings in parallel, where one string lacks a group
// and its diode turns on softly.
func TestPeakBeforeKink(t *testing.T) {
	for _, share := range []float64{0, 0.05, 0.2, 0.4} {
		m := shadeModule(18, 18)
		m.Bypass = Diode{Saturation: 1e-6 * quantity.Ampere, Series: 2 * quantity.Milliohm}
		s := NewSolver(Circuit{Strings: []String{{Modules: []Module{m, m}}, {Modules: []Module{m, m}}}})
		light := make([]quantity.Irradiance, 36)
		for k := range light {
			if light[k] = 900 * quantity.WattPerSquareMetre; k < 18 {
				light[k] = quantity.Irradiance(900 * share)
			}
		}
		for k := range 2 {
			for i := range 2 {
				s.SetModule(k, i, 900*quantity.WattPerSquareMetre, quantity.Celsius(48))
			}
		}
		s.SetCells(0, 0, light, quantity.Celsius(48))
		best := s.Best().Power().Watts()
		for _, p := range s.Curve(400) {
			if p.Power().Watts() > best*1.0001 {
				t.Errorf("a group at %.0f %% of the light: %v at %v is over the best, %.3f W", 100*share, p.Power(), p.Voltage, best)
				break
			}
		}
	}
}
