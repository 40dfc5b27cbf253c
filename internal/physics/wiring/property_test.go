package wiring

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"noonmark/internal/base/quantity"
)

func someRun(r *rand.Rand) Run {
	return Run{Length: quantity.Length(r.Float64() * 50), Area: mm2(math.Exp(r.Float64()*7 - 2)),
		Conductor: Conductor(r.IntN(conductors)), Temperature: quantity.Celsius(r.Float64()*300 - 100)}
}

// Loss is drop times current, the drop turns with the current, and both scale with the length.
func TestLossIsDropTimesCurrent(t *testing.T) {
	const seed = 3
	r := rand.New(rand.NewPCG(seed, 1))
	for range 5000 {
		run, i := someRun(r), quantity.Current(r.NormFloat64()*30)
		v, w := Drop(run, i).Volts(), Loss(run, i).Watts()
		if math.Abs(v*i.Amperes()-w) > 1e-9*math.Abs(w) || Drop(run, -i).Volts() != -v {
			t.Fatalf("seed %d: %+v at %g A: %g V, %g W", seed, run, i, v, w)
		}
		twice := run
		twice.Length = 2 * run.Length
		if got := Drop(twice, i).Volts(); math.Abs(got-2*v) > 1e-9*math.Abs(v) {
			t.Fatalf("seed %d: twice the length drops %g V, want %g", seed, got, 2*v)
		}
	}
}

// The area found for a drop gives that drop.
func TestAreaForDropRoundTrip(t *testing.T) {
	const seed = 4
	r := rand.New(rand.NewPCG(seed, 1))
	for range 5000 {
		run := someRun(r)
		run.Length = quantity.Length(0.1 + r.Float64()*30)
		if run.Conductor == Copper {
			run.Conductor = Flexible
		}
		i, most := quantity.Current(0.1+r.Float64()*100), quantity.Voltage(0.05+r.Float64()*2)
		run.Area = AreaForDrop(run, i, most)
		if got := Drop(run, i).Volts(); math.Abs(got-most.Volts()) > 1e-9 {
			t.Fatalf("seed %d: %+v drops %.12g V, want %.12g", seed, run, got, most.Volts())
		}
	}
}

// A thicker conductor never has more resistance, in any make but Copper, which changes class at
// gauge sizes.
func TestThickerIsBetter(t *testing.T) {
	for c := Flexible; int(c) < conductors; c++ {
		last := math.Inf(1)
		for a := 0.2; a < 200; a *= 1.003 {
			x := perKilometre(c, mm2(a), 20)
			if x >= last {
				t.Fatalf("conductor %d, %.3f mm²: %g ohm/km after %g", c, a, x, last)
			}
			last = x
		}
	}
}

// More air, more company, a lower rating or a thinner conductor never raises the ampacity, and errors
// are of range.
func TestAmpacityMonotonic(t *testing.T) {
	const seed = 5
	r := rand.New(rand.NewPCG(seed, 1))
	at := func(l Lay) float64 {
		i, _, err := Ampacity(l)
		if err != nil && !errors.Is(err, ErrRange) {
			t.Fatalf("seed %d: %v", seed, err)
		}
		return i.Amperes()
	}
	for range 20000 {
		l := Lay{Area: mm2(math.Exp(r.Float64()*6 - 1)), Rating: quantity.Celsius(50 + r.Float64()*160), Ambient: quantity.Celsius(r.Float64()*150 - 40), Bundle: r.IntN(50), Rule: Rule(r.IntN(4))}
		base := at(l)
		if base < 0 || math.IsNaN(base) {
			t.Fatalf("seed %d: %+v carries %g A", seed, l, base)
		}
		hot, more, thin := l, l, l
		hot.Ambient = l.Ambient.Add(quantity.TempDiff(r.Float64() * 40))
		more.Bundle += r.IntN(20)
		thin.Area = quantity.Area(l.Area.SquareMetres() * (0.5 + 0.5*r.Float64()))
		if l.Rule == BoatLaw && thin.Area < AWG(18) {
			thin.Area = l.Area // the rule below the law's least size is another
		}
		if at(hot) > base || at(more) > base || at(thin) > base {
			t.Fatalf("seed %d: %+v %g A; hotter %g, bundled %g, thinner %g", seed, l, base, at(hot), at(more), at(thin))
		}
	}
	for _, l := range []Lay{
		{Area: mm2(0.1), Rating: quantity.Celsius(90), Ambient: quantity.Celsius(30)},
		{Area: mm2(4), Rating: quantity.Celsius(40), Ambient: quantity.Celsius(30)},
		{Area: mm2(4), Rating: quantity.Celsius(60), Ambient: quantity.Celsius(60)},
	} {
		if _, _, err := Ampacity(l); !errors.Is(err, ErrRange) {
			t.Errorf("%+v: error %v, want ErrRange", l, err)
		}
	}
}

// A suggested fuse lies between the load's margin and the ampacity; none is suggested when no rating does.
func TestSuggestFuse(t *testing.T) {
	for _, c := range []struct {
		load, most, want float64
		ok               bool
	}{{15, 40, 20, true}, {16, 20, 20, true}, {17, 20, 0, false}, {0, 0.5, 0, false}, {-8, 30, 10, true}, {4.7, 6, 0, false}, {450, 600, 0, false}} {
		got, ok := SuggestFuse(quantity.Current(c.load), quantity.Current(c.most))
		if ok != c.ok || got.Amperes() != c.want {
			t.Errorf("%g A on a conductor for %g A: %g A, %v; want %g, %v", c.load, c.most, got.Amperes(), ok, c.want, c.ok)
		}
	}
}

// Sizes rise, and the next size is of the same kind.
func TestSizes(t *testing.T) {
	all := Sizes()
	for i := 1; i < len(all); i++ {
		if all[i].Area <= all[i-1].Area {
			t.Errorf("%s after %s", all[i].Name, all[i-1].Name)
		}
	}
	for _, c := range []struct {
		from quantity.Area
		want string
	}{{mm2(2.5), "4 mm²"}, {AWG(10), "AWG 8"}, {AWG(1), "AWG 1/0"}, {mm2(5.26), "AWG 8"}, {mm2(5), "6 mm²"}, {0, "0.5 mm²"}} {
		if got, ok := NextSize(c.from); !ok || got.Name != c.want {
			t.Errorf("after %g mm²: %q, want %q", c.from.SquareMillimetres(), got.Name, c.want)
		}
	}
	if s, ok := NextSize(mm2(95)); ok {
		t.Errorf("after 95 mm²: %v", s)
	}
}

func TestPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"area":      func() { Resistance(Run{Length: 1 * quantity.Metre}) },
		"length":    func() { Resistance(Run{Length: -1 * quantity.Metre, Area: mm2(1)}) },
		"current":   func() { Drop(Run{Area: mm2(1)}, quantity.Current(math.NaN())) },
		"conductor": func() { Resistance(Run{Area: mm2(1), Conductor: Conductor(conductors)}) },
		"gauge":     func() { AWG(41) },
		"drop":      func() { AreaForDrop(Run{}, 1*quantity.Ampere, 0) },
		"rule":      func() { _, _, _ = Ampacity(Lay{Rule: 9}) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}

func BenchmarkResistance(b *testing.B) {
	r := Run{Length: 6 * quantity.Metre, Area: mm2(4), Temperature: quantity.Celsius(60)}
	for b.Loop() {
		Resistance(r)
	}
}

// The cold table never falls as it gets colder, is 1 from 25 °C up, and ends at -40 °C.
func TestColdFactorRises(t *testing.T) {
	last := 1.0
	for air := 40.0; air >= -40; air -= 0.25 {
		k, err := ColdFactor(quantity.Celsius(air))
		if err != nil || k.Float() < last || air >= 25 && k.Float() != 1 {
			t.Fatalf("at %g °C: factor %v after %v, %v", air, k, last, err)
		}
		last = k.Float()
	}
	if k, err := ColdFactor(quantity.Celsius(-40.1)); !errors.Is(err, ErrRange) || k != 0 {
		t.Errorf("below the table: %v, %v", k, err)
	}
}
