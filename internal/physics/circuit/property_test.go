package circuit

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"noonmark/internal/base/quantity"
)

// draw makes a random light on 36 cells.
func drawLight(t *rapid.T) []quantity.Irradiance {
	out := make([]quantity.Irradiance, 36)
	levels := []float64{1000, rapid.Float64Range(-5, 1000).Draw(t, "shade"), rapid.Float64Range(0, 300).Draw(t, "deep")}
	for i := range out {
		out[i] = quantity.Irradiance(levels[rapid.IntRange(0, 2).Draw(t, "level")])
	}
	return out
}

// Current falls with voltage, power is never over the sum of the modules' own bests, the best is found,
// and nothing is NaN, for random shade on one and two modules, in series and in parallel.
func TestRandomShade(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := shadeModule(18, 18)
		if rapid.Bool().Draw(t, "per cell") {
			m.DiodePerCell = true
		}
		c := Circuit{Strings: []String{{Modules: []Module{m, shadeModule(18, 18)}}}}
		if rapid.Bool().Draw(t, "parallel") {
			c = Circuit{Strings: []String{{Modules: []Module{m}}, {Modules: []Module{shadeModule(18, 18)}}}}
		}
		s := NewSolver(c)
		warm := quantity.Celsius(rapid.Float64Range(-20, 80).Draw(t, "cell"))
		for k := range c.Strings {
			for i := range c.Strings[k].Modules {
				s.SetCells(k, i, drawLight(t), warm)
			}
		}
		best, sum := s.Best().Power().Watts(), s.SumOfBest().Watts()
		if math.IsNaN(best) || best < 0 || best > sum*(1+1e-6)+1e-9 {
			t.Fatalf("best %v W, modules alone %v W", best, sum)
		}
		last := math.Inf(1)
		for _, p := range s.Curve(25) {
			if i := p.Current.Amperes(); math.IsNaN(i) || i > last+1e-6 {
				t.Fatalf("current %v at %v after %v", i, p.Voltage, last)
			} else {
				last = i
			}
			if p.Power().Watts() > best*1.0005+1e-6 {
				t.Fatalf("%v W at %v is over the best, %v W", p.Power(), p.Voltage, best)
			}
		}
	})
}

// More light on a module with a diode over each cell never lowers its best.
func TestMoreLight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := shadeModule()
		m.DiodePerCell = true
		light := drawLight(t)
		before := solve(m, light).Best().Power().Watts()
		k := rapid.IntRange(0, 35).Draw(t, "cell")
		light[k] = quantity.Irradiance(math.Max(0, light[k].WattsPerSquareMetre()) + rapid.Float64Range(0, 500).Draw(t, "more"))
		if after := solve(m, light).Best().Power().Watts(); after < before*(1-1e-6)-1e-9 {
			t.Fatalf("more light on cell %d: %v W after %v W", k, after, before)
		}
	})
}

// With a diode over each cell and none over the module, 36 dark cells beside two lit modules hold 36 drops,
// not one.
func TestDiodePerCell(t *testing.T) {
	m := shadeModule()
	m.DiodePerCell = true
	s := NewSolver(Circuit{Strings: []String{{Modules: []Module{m, m, m}}}})
	for k := range 2 {
		s.SetModule(0, k, 1000*quantity.WattPerSquareMetre, quantity.Celsius(25))
	}
	alone := s.lines[0].elements[0].whole.At(1000*quantity.WattPerSquareMetre, quantity.Celsius(25))
	best := alone.Best()
	least := 2*best.Power().Watts() - 36*0.5*best.Current.Amperes() // at the lit modules' own best current
	if p := s.Best().Power().Watts(); p < least || p > least+1.5 {
		t.Errorf("one of three modules dark: got %.3f W, want a little over %.3f W", p, least)
	}
}

// A window holds: no point under its lowest voltage, over its current or power, and none over its highest.
func TestWindow(t *testing.T) {
	s := solve(shadeModule(18, 18), lit(map[int]float64{3: 0.25}))
	free := s.Operate(Window{})
	if held := s.Operate(Window{Lowest: 13 * quantity.Volt}); held.Voltage < 13*quantity.Volt-1e-9 || held.Power() >= free.Power() {
		t.Errorf("over 13 V: got %v at %v, free %v", held.Power(), held.Voltage, free.Power())
	}
	if p := s.Operate(Window{MaxCurrent: 0.2 * quantity.Ampere}); math.Abs(p.Current.Amperes()-0.2) > 1e-9 {
		t.Errorf("at most 0.2 A: got %v", p.Current)
	}
	if p := s.Operate(Window{MaxPower: 2 * quantity.Watt}); math.Abs(p.Power().Watts()-2) > 1e-6 {
		t.Errorf("at most 2 W: got %v", p.Power())
	}
	if p := s.Operate(Window{Highest: 10 * quantity.Volt}); p.Power() != 0 {
		t.Errorf("open volts over the highest: got %v, want nothing", p.Power())
	}
	if p := s.Operate(Window{Habit: Nearest}); p.Voltage <= free.Voltage {
		t.Errorf("nearest peak at %v, the highest is at %v", p.Voltage, free.Voltage)
	}
	dark := solve(shadeModule(18, 18), make([]quantity.Irradiance, 36))
	if dark.Best().Power() != 0 || dark.Open() != 0 {
		t.Errorf("dark: %v W, %v", dark.Best().Power(), dark.Open())
	}
}

// BenchmarkUniform is two equal modules in series, solved for the best point.
func BenchmarkUniform(b *testing.B) {
	s := NewSolver(Circuit{Strings: []String{{Modules: []Module{shadeModule(18, 18), shadeModule(18, 18)}}}})
	b.ReportAllocs()
	g := 500.0
	for b.Loop() {
		g = 1000 - g + 1
		for i := range 2 {
			s.SetModule(0, i, quantity.Irradiance(g), quantity.Celsius(40))
		}
		s.Best()
	}
}

// BenchmarkMixed is two modules in different light.
func BenchmarkMixed(b *testing.B) {
	s := NewSolver(Circuit{Strings: []String{{Modules: []Module{shadeModule(18, 18), shadeModule(18, 18)}}}})
	b.ReportAllocs()
	g := 500.0
	for b.Loop() {
		g = 1000 - g + 1
		s.SetModule(0, 0, quantity.Irradiance(g), quantity.Celsius(40))
		s.SetModule(0, 1, quantity.Irradiance(g*0.9), quantity.Celsius(42))
		s.Best()
	}
}
