package load

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
)

// A fridge never draws less in hotter air, never less than nothing nor more than its compressor, and the
// curve has no step.
func TestFridgeRises(t *testing.T) {
	last := -1.0
	for c := -60.0; c <= 120; c += 0.01 {
		w := FridgePower(DayAt25C, quantity.Celsius(c), 0, 60*quantity.Watt).Watts()
		if w < last || w < 0 || w > 60 || w-last > 0.1 && last >= 0 {
			t.Fatalf("%.2f °C: %.4f W after %.4f", c, w, last)
		}
		last = w
	}
	if last != 60 {
		t.Errorf("at 120 °C: %g W, want the compressor's 60", last)
	}
	at := FridgePower(DayAt25C, quantity.Celsius(25), 0, 0).Watts() * 24
	if math.Abs(at-421) > 1e-9 {
		t.Errorf("at 25 °C %g Wh a day, want 421", at)
	}
	a, b := FridgePower(DayAt25C, quantity.Celsius(20), 10, 0), FridgePower(DayAt25C, quantity.Celsius(30), 0, 0)
	if a != b {
		t.Errorf("20 °C and 10 K: %g W; 30 °C: %g W", a.Watts(), b.Watts())
	}
	if w := FridgePower(-5*quantity.WattHour, quantity.Celsius(25), 0, 0); w != 0 {
		t.Errorf("a negative day gives %g W", w.Watts())
	}
}

// The box follows the fit's shape: more air, more power; none when the air is as cold as the box.
func TestBoxRises(t *testing.T) {
	last := 0.0
	for c := -20.0; c <= 50; c++ {
		w := StandardBox.Power(quantity.Celsius(c)).Watts()
		if w < last || c <= 4 && w != 0 {
			t.Fatalf("%g °C: %g W after %g", c, w, last)
		}
		last = w
	}
}

// An inverter draws more than it gives, more for more, and keeps its stated efficiency at half load.
func TestInverterFit(t *testing.T) {
	const seed = 2
	r := rand.New(rand.NewPCG(seed, 1))
	for range 5000 {
		rated, e := 50+r.Float64()*5000, 0.6+0.39*r.Float64()
		idle := r.Float64() * (1/e - 1) * rated / 2
		i := NewInverter(quantity.Power(idle), quantity.Power(rated), quantity.Ratio(e))
		if got := i.Efficiency(quantity.Power(rated / 2)).Float(); math.Abs(got-e) > 1e-9 {
			t.Fatalf("seed %d: idle %g W, rated %g W: %.12g at half load, want %.12g", seed, idle, rated, got, e)
		}
		last := idle
		for k := range 50 {
			out := float64(k) * rated / 40
			in := i.Input(quantity.Power(out)).Watts()
			if in < out || in < last-1e-9 {
				t.Fatalf("seed %d: gives %g W, draws %g W after %g", seed, out, in, last)
			}
			last = in
		}
	}
	if w := NewInverter(8*quantity.Watt, 0, 90*quantity.Percent).Input(100 * quantity.Watt).Watts(); w != 108 {
		t.Errorf("no rating: draws %g W, want 108", w)
	}
}

// A profile's day is power times time, wherever in the day it lies.
func TestProfileDay(t *testing.T) {
	const seed = 6
	r := rand.New(rand.NewPCG(seed, 1))
	for range 5000 {
		u := Use{Power: quantity.Power(r.Float64() * 500), Daily: time.Duration(r.Float64() * float64(24*time.Hour)), From: r.IntN(24)}
		got, want := u.Profile().Day().Joules(), u.Power.Watts()*u.Daily.Seconds()
		if math.Abs(got-want) > 1e-9*(1+want) {
			t.Fatalf("seed %d: %+v: %g J, want %g", seed, u, got, want)
		}
		if two := u.Profile().Plus(u.Profile()).Day().Joules(); math.Abs(two-2*got) > 1e-9*(1+got) {
			t.Fatalf("seed %d: twice %g J, want %g", seed, two, 2*got)
		}
	}
}

func TestPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"use":        func() { Use{Daily: 25 * time.Hour}.Profile() },
		"efficiency": func() { NewInverter(0, 100*quantity.Watt, 0) },
		"output":     func() { Inverter{}.Input(quantity.Power(math.NaN())) },
		"fridge":     func() { FridgePower(DayAt25C, quantity.Kelvin(math.NaN()), 0, 0) },
		"box":        func() { Box{CarnotShare: 1}.Performance(quantity.Kelvin(-5)) },
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

func BenchmarkFridgePower(b *testing.B) {
	for b.Loop() {
		FridgePower(DayAt25C, quantity.Celsius(28), 5, 60*quantity.Watt)
	}
}
