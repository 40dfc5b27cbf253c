package circuit

import (
	"testing"

	"noonmark/internal/base/quantity"
)

// faintModule is the light of a module of two groups of 18: how many cells of each group have a level.
type faintModule struct {
	levels [3]float64 // W/m²
	cells  [2][3]int
}

// faint are circuits found by a random search, in which dark cells leave next to nothing and peaks of their leak
// stand close to kinks, on either side of them.
var faint = []struct {
	parallel, perCell bool
	warm              float64 // °C
	modules           [2]faintModule
}{
	{false, false, 1, [2]faintModule{{[3]float64{1000, 0.0009765625, 1}, [2][3]int{{5, 13, 0}, {12, 6, 0}}}, {[3]float64{1000, -1, 1}, [2][3]int{{5, 13, 0}, {9, 9, 0}}}}},
	{true, true, -20, [2]faintModule{{[3]float64{1000, 38.5, 1}, [2][3]int{{2, 5, 11}, {6, 7, 5}}}, {[3]float64{1000, 0.5, 1}, [2][3]int{{8, 10, 0}, {8, 10, 0}}}}},
	{true, false, 0.0157, [2]faintModule{{[3]float64{1000, 1, 1}, [2][3]int{{9, 3, 6}, {1, 15, 2}}}, {[3]float64{1000, 0.0005, 256}, [2][3]int{{17, 0, 1}, {7, 1, 10}}}}},
	{true, false, 0.0157, [2]faintModule{{[3]float64{1000, 1, 1}, [2][3]int{{7, 5, 6}, {12, 6, 0}}}, {[3]float64{1000, 0.0005, 256}, [2][3]int{{12, 2, 4}, {1, 0, 17}}}}},
}

// The best is found close to a kink too.
func TestFaintPeaks(t *testing.T) {
	for n, c := range faint {
		a, b := shadeModule(18, 18), shadeModule(18, 18)
		a.DiodePerCell = c.perCell
		arms := []String{{Modules: []Module{a, b}}}
		if c.parallel {
			arms = []String{{Modules: []Module{a}}, {Modules: []Module{b}}}
		}
		s := NewSolver(Circuit{Strings: arms})
		for m, f := range c.modules {
			var light []quantity.Irradiance
			for _, group := range f.cells {
				for level, count := range group {
					for range count {
						light = append(light, quantity.Irradiance(f.levels[level]))
					}
				}
			}
			if c.parallel {
				s.SetCells(m, 0, light, quantity.Celsius(c.warm))
			} else {
				s.SetCells(0, m, light, quantity.Celsius(c.warm))
			}
		}
		best := s.Best().Power().Watts()
		for _, p := range s.Curve(300) {
			if p.Power().Watts() > best*1.0001 {
				t.Errorf("circuit %d: %v at %v is over the best, %.6f W", n, p.Power(), p.Voltage, best)
				break
			}
		}
	}
}
