package circuit

import (
	"math"
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/cell"
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

// A module the wrong way round takes its open volts from the string's, and no more current than the others
// give flows; a pair of them gives nothing.
func TestReversed(t *testing.T) {
	m := shadeModule(18, 18)
	turned := m
	turned.Reversed = true
	lit := func(ms ...Module) *Solver {
		s := NewSolver(Circuit{Strings: []String{{Modules: ms}}})
		for k := range ms {
			s.SetModule(0, k, 1000*quantity.WattPerSquareMetre, quantity.Celsius(25))
		}
		return s
	}
	one, four := lit(m), lit(m, m, turned, m)
	if got, want := four.Open().Volts(), 2*one.Open().Volts(); math.Abs(got-want) > 1e-6 {
		t.Errorf("open volts of four, one turned: %v, want %v", got, want)
	}
	if got, most := four.Short().Amperes(), one.Short().Amperes(); got > most*(1+1e-9) || got < 0.9*most {
		t.Errorf("short-circuit current %v, of one %v", got, most)
	}
	best := four.Best()
	if v := four.CurrentAt(best.Voltage).Amperes(); math.Abs(v-best.Current.Amperes()) > 1e-6 {
		t.Errorf("best point off the curve: %v, %v", v, best.Current)
	}
	if p := four.ModulePower(0, 2).Watts(); !(p < 0) {
		t.Errorf("a turned module gives %v W", p)
	}
	if p := lit(m, turned); p.Open() > 1e-6*quantity.Volt || p.Best().Power() > 1e-6*quantity.Watt {
		t.Errorf("a pair, one turned, gives %v, %v", p.Open(), p.Best())
	}
}

// A backward curve laid out by the caller changes nothing.
func TestBackwardGiven(t *testing.T) {
	m := shadeModule(18, 18)
	given := m
	given.Backward = cell.NewBackward(m.Params.Avalanche)
	light := make([]quantity.Irradiance, 36)
	for k := range light {
		light[k] = quantity.Irradiance(300 + 20*k)
	}
	if a, b := solve(m, light).Best(), solve(given, light).Best(); a != b {
		t.Errorf("got %v, %v", a, b)
	}
}
