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
				t.Fatalf("%v at %v is over the best, %v W", p.Power(), p.Voltage, best)
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

// A dark module with a diode over each cell costs a drop for every cell, not one for the module: the rest
// of the string works against 36 of them.
func TestDarkModuleOfCellDiodes(t *testing.T) {
	m := shadeModule()
	m.DiodePerCell = true
	s := NewSolver(Circuit{Strings: []String{{Modules: []Module{m, shadeModule(18, 18), shadeModule(18, 18)}}}})
	for k, g := range []quantity.Irradiance{0, 1000 * quantity.WattPerSquareMetre, 1000 * quantity.WattPerSquareMetre} {
		s.SetModule(0, k, g, quantity.Celsius(25))
	}
	st := m.Params.At(1000*quantity.WattPerSquareMetre, quantity.Celsius(25))
	want := 0.0
	for i := 0.0; i < 1.03; i += 1e-4 {
		want = math.Max(want, i*(2*st.VoltageAt(quantity.Current(i)).Volts()-36*DefaultDrop.Volts()))
	}
	if got := s.Best().Power().Watts(); math.Abs(got-want) > 1e-4*want {
		t.Errorf("got %.5f W, want %.5f W", got, want)
	}
}

// Under a limit of current, a controller that finds the highest peak finds the highest within the limit.
func TestBestUnderCurrent(t *testing.T) {
	s := solve(shadeModule(18, 18), lit(map[int]float64{3: 0.25}))
	for _, most := range []float64{0.3, 0.6, 0.66, 0.7, 0.8, 0.88, 0.9, 1} {
		got := s.Operate(Window{MaxCurrent: quantity.Current(most)}).Power().Watts()
		want := 0.0
		for v := 0.0; v < 17; v += 0.005 {
			if i := s.CurrentAt(quantity.Voltage(v)).Amperes(); i <= most {
				want = math.Max(want, i*v)
			}
		}
		if got < want*(1-1e-6) || got > want*1.01 {
			t.Errorf("at most %v A: got %.5f W, by stepping %.5f W", most, got, want)
		}
	}
}

// The cells' powers add up to the module's, its conducting diodes apart, and a shaded cell turns power
// into heat.
func TestCellPower(t *testing.T) {
	s := solve(shadeModule(18, 18), lit(map[int]float64{3: 0.25}))
	p := s.Operate(Window{Lowest: 10 * quantity.Volt})
	cells, sum := s.CellPower(0, 0, nil), 0.0
	for _, c := range cells {
		sum += c.Watts()
	}
	if len(cells) != 36 || math.Abs(sum-p.Power().Watts()) > 1e-9*sum {
		t.Errorf("%d cells give %.9f W, the module %.9f W", len(cells), sum, p.Power().Watts())
	}
	if cells[3] >= 0 || cells[4] <= 0 {
		t.Errorf("shaded cell %v, its neighbour %v", cells[3], cells[4])
	}
	// The dark cell of a group whose diode conducts, independent solution: 0.620 A, 4.637 W into it.
	s = solve(shadeModule(18, 18), lit(map[int]float64{3: 0}))
	s.Best()
	if got := s.CellPower(0, 0, nil)[3].Watts(); math.Abs(got+4.637) > 0.03 {
		t.Errorf("dark cell: got %.4f W, want -4.637 W within the forward part of Bishop's term", got)
	}
}

// A string in the shade beside a lit one takes current backwards; a blocking diode stops it, and costs its
// drop elsewhere.
func TestBlocking(t *testing.T) {
	three := []Module{shadeModule(18, 18), shadeModule(18, 18), shadeModule(18, 18)}
	make2 := func(blocking bool) *Solver {
		s := NewSolver(Circuit{Strings: []String{{Modules: three, Blocking: blocking}, {Modules: three[:2], Blocking: blocking}}})
		for k, n := range []int{3, 2} {
			for m := range n {
				s.SetModule(k, m, 1000*quantity.WattPerSquareMetre, quantity.Celsius(25))
			}
		}
		return s
	}
	open, held := make2(false), make2(true)
	high := Window{Habit: Fixed, At: 34.5 * quantity.Volt}
	open.Operate(high)
	held.Operate(high)
	if a, b := open.StringCurrent(1), held.StringCurrent(1); a >= 0 || b != 0 {
		t.Errorf("the short string carries %v without and %v with a blocking diode, want below zero and zero", a, b)
	}
	alone := NewSolver(Circuit{Strings: []String{{Modules: three}}})
	for m := range three {
		alone.SetModule(0, m, 1000*quantity.WattPerSquareMetre, quantity.Celsius(25))
	}
	if got, want := held.Open().Volts(), alone.Open().Volts()-BlockingDrop.Volts(); math.Abs(got-want) > 1e-9 {
		t.Errorf("open voltage behind a blocking diode: got %v V, want %v V", got, want)
	}
}

// The short way, a uniform array as one cell, gives what the network gives.
func TestUniformIsNetwork(t *testing.T) {
	m := shadeModule(18, 18)
	c := Circuit{Series: 0.1 * quantity.Ohm}
	for range 3 {
		c.Strings = append(c.Strings, String{Modules: []Module{m, m}, Series: 0.3 * quantity.Ohm})
	}
	fast, slow := NewSolver(c), NewSolver(c)
	for k := range 3 {
		for i := range 2 {
			fast.SetModule(k, i, 700*quantity.WattPerSquareMetre, quantity.Celsius(50))
			light := make([]quantity.Irradiance, 36)
			for n := range light {
				light[n] = 700 * quantity.WattPerSquareMetre
			}
			slow.SetCells(k, i, light, quantity.Celsius(50))
		}
	}
	a, b := fast.Best(), slow.Best()
	for what, p := range map[string][2]float64{
		"best, W": {a.Power().Watts(), b.Power().Watts()}, "open, V": {fast.Open().Volts(), slow.Open().Volts()},
		"short, A": {fast.Short().Amperes(), slow.Short().Amperes()}, "sum, W": {fast.SumOfBest().Watts(), slow.SumOfBest().Watts()},
		"at 25 V, A": {fast.CurrentAt(25 * quantity.Volt).Amperes(), slow.CurrentAt(25 * quantity.Volt).Amperes()},
	} {
		if math.Abs(p[0]-p[1]) > 1e-7*p[1] {
			t.Errorf("%s: %.10g as one cell, %.10g as a network", what, p[0], p[1])
		}
	}
}

// A circuit without strings gives nothing, and breaks nothing.
func TestNothingConnected(t *testing.T) {
	s := NewSolver(Circuit{})
	if s.Best().Power() != 0 || s.Open() != 0 || s.Short() != 0 || s.SumOfBest() != 0 || len(s.Peaks()) != 0 || s.Operate(Window{}).Power() != 0 {
		t.Error("a circuit without strings gives something")
	}
}

// The best point, found by bounds, is the highest of the peaks, above any lowest voltage too; bypass and
// mismatch are what the cells would give over it.
func TestBestIsHighestPeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := shadeModule(18, 18)
		m.DiodePerCell = rapid.Bool().Draw(t, "per cell")
		s := NewSolver(Circuit{Strings: []String{{Modules: []Module{m, shadeModule(12, 12, 12)}, Series: 0.1 * quantity.Ohm}}, Series: 0.05 * quantity.Ohm})
		for i := range 2 {
			light := make([]quantity.Irradiance, 36)
			for k := range light {
				light[k] = quantity.Irradiance(800 * rapid.Float64Range(0, 1).Draw(t, "light"))
			}
			s.SetCells(0, i, light, quantity.Celsius(40))
		}
		got, want := s.Best(), highest(s.peaks())
		if math.Abs(got.Power().Watts()-want.Power().Watts()) > 1e-6*want.Power().Watts() {
			t.Fatalf("best %v at %v, highest peak %v at %v", got.Power(), got.Voltage, want.Power(), want.Voltage)
		}
		cells, over := s.SumOfCells().Watts(), s.Bypassed().Watts()
		i := got.Current.Amperes()
		if cells < got.Power().Watts()+0.15*i*i-1e-9 || over < 0 || over > cells-got.Power().Watts()-0.15*i*i+1e-6*cells {
			t.Fatalf("cells alone %v W, best %v W, bypassed %v W", cells, got.Power().Watts(), over)
		}
		floor := rapid.Float64Range(0, 30).Draw(t, "lowest")
		held := s.Operate(Window{Lowest: quantity.Voltage(floor)})
		most := 0.0
		for v := floor; v < s.Open().Volts(); v += 0.1 {
			most = math.Max(most, v*s.CurrentAt(quantity.Voltage(v)).Amperes())
		}
		if p := held.Power().Watts(); p < most*(1-1e-5) || most > 0 && p > most*1.02 {
			t.Fatalf("over %v V: %v W, by stepping %v W", floor, p, most)
		}
	})
}

// BenchmarkShaded is two modules in series with twelve lights on their cells.
func BenchmarkShaded(b *testing.B) {
	s := NewSolver(Circuit{Strings: []String{{Modules: []Module{shadeModule(18, 18), shadeModule(18, 18)}}}})
	b.ReportAllocs()
	var light [2][]quantity.Irradiance
	for i := range light {
		light[i] = make([]quantity.Irradiance, 36)
		for k := range light[i] {
			light[i][k] = quantity.Irradiance(900 - 15*float64(k%6))
			if k < 3 {
				light[i][k] = quantity.Irradiance(250 * float64(k+1))
			}
		}
	}
	for b.Loop() {
		for i := range light {
			s.SetCells(0, i, light[i], quantity.Celsius(40))
		}
		s.SumOfCells()
		s.Best()
	}
}

// Strings in parallel: the best, found by bounds, is the highest of the peaks and of a sweep.
func TestBestOfParallel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := shadeModule(18, 18)
		c := Circuit{Series: 0.05 * quantity.Ohm}
		for range rapid.IntRange(2, 3).Draw(t, "strings") {
			c.Strings = append(c.Strings, String{Modules: []Module{m}, Series: 0.1 * quantity.Ohm, Blocking: rapid.Bool().Draw(t, "blocking")})
		}
		s := NewSolver(c)
		for round := range 2 { // the second starts where the first stood
			for k := range c.Strings {
				light := make([]quantity.Irradiance, 36)
				level := rapid.Float64Range(50, 1000).Draw(t, "level")
				for i := range light {
					light[i] = quantity.Irradiance(level)
					if rapid.IntRange(0, 5).Draw(t, "shaded") == 0 {
						light[i] = quantity.Irradiance(level * rapid.Float64Range(0, 1).Draw(t, "part"))
					}
				}
				s.SetCells(k, 0, light, quantity.Celsius(40))
			}
			got, want := s.Best().Power().Watts(), 0.0
			for _, p := range s.Curve(100) {
				want = math.Max(want, p.Power().Watts())
			}
			want = math.Max(want, highest(s.peaks()).Power().Watts())
			if got < want*(1-2e-6) || got > want*1.001 {
				t.Fatalf("round %d: best %v W, peaks and a sweep %v W", round, got, want)
			}
		}
	})
}
