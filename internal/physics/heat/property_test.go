package heat

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
)

var gaps = []quantity.Length{0, 5 * quantity.Millimetre, 10 * quantity.Millimetre, 20 * quantity.Millimetre, 30 * quantity.Millimetre,
	50 * quantity.Millimetre, 75 * quantity.Millimetre, 100 * quantity.Millimetre, 150 * quantity.Millimetre, 1 * quantity.Metre}

// More wind, or more gap, never makes a module hotter; the chosen loss has no steps.
func TestMonotonicAndContinuous(t *testing.T) {
	air := quantity.Celsius(25)
	for i, g := range gaps {
		p := NewPlate(StandOff, g, true)
		last := math.Inf(1)
		for v := 0.0; v <= 40; v += 0.01 {
			x := p.Steady(light(1000), air, speed(v)).Celsius()
			if x > last || last-x > 0.2 && !math.IsInf(last, 1) {
				t.Fatalf("gap %v, %.2f m/s: %.3f °C after %.3f", g, v, x, last)
			}
			last = x
			if i > 0 {
				less := NewPlate(StandOff, gaps[i-1], true).Steady(light(1000), air, speed(v)).Celsius()
				if x > less+1e-9 {
					t.Fatalf("%.2f m/s: gap %v %.2f °C, gap %v %.2f °C", v, g, x, gaps[i-1], less)
				}
			}
		}
	}
}

// In any weather the step lies between now and the steady state, two halves make a whole, and the
// band holds the steady state.
func TestStep(t *testing.T) {
	const seed = 7
	r := rand.New(rand.NewPCG(seed, 1))
	for range 20000 {
		p := NewPlate(Mounting(r.IntN(mountings)), quantity.Length(r.Float64()*0.2), r.IntN(2) == 0)
		now, air := quantity.Celsius(r.Float64()*160-60), quantity.Celsius(r.Float64()*100-50)
		g, v := light(r.Float64()*1400-100), speed(r.Float64()*40)
		dt := time.Duration(r.Float64() * float64(2*time.Hour))
		steady, after := p.Steady(g, air, v), p.Step(now, g, air, v, dt)
		lo, hi := math.Min(now.Kelvin(), steady.Kelvin()), math.Max(now.Kelvin(), steady.Kelvin())
		if after.Kelvin() < lo-1e-9 || after.Kelvin() > hi+1e-9 {
			t.Fatalf("seed %d: from %.2f K in %v to %.2f K, steady %.2f K", seed, now.Kelvin(), dt, after.Kelvin(), steady.Kelvin())
		}
		half := p.Step(p.Step(now, g, air, v, dt/2), g, air, v, dt-dt/2)
		if math.Abs(half.Kelvin()-after.Kelvin()) > 1e-6 {
			t.Fatalf("seed %d: two halves end at %.9f K, a whole at %.9f K", seed, half.Kelvin(), after.Kelvin())
		}
		b := p.Band(g, air, v)
		if steady.Before(b.Low) || b.High.Before(steady) {
			t.Fatalf("seed %d: steady %.2f K outside %.2f to %.2f", seed, steady.Kelvin(), b.Low.Kelvin(), b.High.Kelvin())
		}
	}
}

// Without light everything is as warm as the air, and a step of no length changes nothing.
func TestLimits(t *testing.T) {
	air := quantity.Celsius(-12)
	for m := range Mounting(mountings) {
		p := NewPlate(m, 20*quantity.Millimetre, false)
		if got := p.Steady(0, air, 0); got != air {
			t.Errorf("mounting %d in the dark: %.3f °C, air -12 °C", m, got.Celsius())
		}
		if got := p.Step(quantity.Celsius(50), light(300), air, speed(3), 0).Celsius(); math.Abs(got-50) > 1e-9 {
			t.Errorf("mounting %d, no time: %.3f °C, want 50", m, got)
		}
		if lag := p.Lag(0); lag < time.Minute || lag > 20*time.Minute {
			t.Errorf("mounting %d: lag %v", m, lag)
		}
	}
	if a, b := RoofAirSpeed(speed(10), 0), RoofAirSpeed(0, 90*quantity.KilometrePerHour); math.Abs(a.MetresPerSecond()-7) > 1e-12 || math.Abs(b.MetresPerSecond()-25) > 1e-12 {
		t.Errorf("roof air %v and %v, want 7 and 25 m/s", a, b)
	}
}

// A paler module of the same cells is cooler, and one that gives power is cooler than one that gives none.
func TestHeatShare(t *testing.T) {
	at := func(a, e quantity.Ratio) float64 {
		return Nature{Mounting: Bonded, Body: FlexibleBody, Absorptance: a, Efficiency: e}.Plate().Steady(light(1000), quantity.Celsius(20), speed(1)).Celsius()
	}
	if !(at(0.9, 0.2) < at(0.9, 0.14) && at(0.8, 0.14) < at(0.9, 0.14)) {
		t.Errorf("0.9/0.2 %.1f, 0.9/0.14 %.1f, 0.8/0.14 %.1f °C", at(0.9, 0.2), at(0.9, 0.14), at(0.8, 0.14))
	}
	if got, want := at(ReferenceAbsorptance, ReferenceEfficiency), NewPlate(Bonded, 0, false).Steady(light(1000), quantity.Celsius(20), speed(1)).Celsius(); got != want {
		t.Errorf("reference %.3f °C, NewPlate %.3f °C", got, want)
	}
}

// Caller's faults panic.
func TestPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"mounting":   func() { NewPlate(Mounting(mountings), 0, true) },
		"gap":        func() { NewPlate(StandOff, -1*quantity.Metre, true) },
		"efficiency": func() { Nature{Absorptance: 0.2, Efficiency: 0.3}.Plate() },
		"NaN light": func() {
			NewPlate(Bonded, 0, true).Steady(quantity.Irradiance(math.NaN()), quantity.Celsius(0), 0)
		},
		"time": func() { NewPlate(Bonded, 0, true).Step(quantity.Celsius(0), 0, quantity.Celsius(0), 0, -1) },
		"lid":  func() { Lid(Skin{Absorptance: 1.5}, 0, quantity.Celsius(0), 0) },
		"row":  func() { Sandia(Row(rows), 0, quantity.Celsius(0), 0) },
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

func TestStepDoesNotAllocate(t *testing.T) {
	p, now := NewPlate(Bonded, 0, false), quantity.Celsius(20)
	if n := testing.AllocsPerRun(100, func() { now = p.Step(now, light(700), quantity.Celsius(20), speed(2), 5*time.Minute) }); n != 0 {
		t.Errorf("%v allocations a step", n)
	}
}

func BenchmarkStep(b *testing.B) {
	p, now := NewPlate(Bonded, 0, false), quantity.Celsius(20)
	for b.Loop() {
		now = p.Step(now, light(700), quantity.Celsius(20), speed(2), 5*time.Minute)
	}
}
