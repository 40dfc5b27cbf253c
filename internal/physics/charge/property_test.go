package charge

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
)

func someBattery(r *rand.Rand) Battery {
	return Battery{
		Chemistry: Chemistry(r.IntN(chemistries)), Energy: quantity.Energy(r.Float64()*5) * quantity.KilowattHour, Nominal: 12.8 * quantity.Volt,
		Health: quantity.Ratio(0.5 + r.Float64()/2), LowestCharge: quantity.Ratio(r.Float64() * 0.5), HighestCharge: quantity.Ratio(0.6 + r.Float64()*0.4),
		ChargeEfficiency: quantity.Ratio(0.8 + r.Float64()*0.2), DischargeEfficiency: quantity.Ratio(0.8 + r.Float64()*0.2),
		SelfDischargePerMonth: quantity.Ratio(r.Float64() * 0.1), MaxChargeCurrent: quantity.Current(r.Float64() * 100), MaxDischargeCurrent: quantity.Current(r.Float64() * 200),
		TimeConstant: time.Duration(r.Float64() * 8 * float64(time.Hour)), HeaterPower: quantity.Power(r.Float64() * 60),
	}
}

func someState(r *rand.Rand, b Battery) State {
	return State{Charge: quantity.Energy(b.Capacity().Joules() * r.Float64()), Cell: quantity.Celsius(r.Float64()*100 - 35)}
}

// Energy closes: what went in is stored, lost or refused; the loss is never negative; the charge stays
// within nothing and full.
func TestStepCloses(t *testing.T) {
	const seed = 9
	r := rand.New(rand.NewPCG(seed, 1))
	for range 50000 {
		b := someBattery(r)
		s := someState(r, b)
		in, dt := quantity.Power(r.NormFloat64()*800), time.Duration(r.Float64()*float64(2*time.Hour))
		after, f := b.Step(s, in, dt)
		put, scale := in.Watts()*dt.Seconds(), 1+math.Abs(in.Watts())*dt.Seconds()+s.Charge.Joules()
		if d := put - f.Stored.Joules() - f.Loss.Joules() - f.Refused.Joules(); math.Abs(d) > 1e-12*scale {
			t.Fatalf("seed %d: %g W for %v: residual %g J of %g", seed, in.Watts(), dt, d, scale)
		}
		if d := after.Charge.Joules() - s.Charge.Joules() - f.Stored.Joules(); math.Abs(d) > 1e-12*scale {
			t.Fatalf("seed %d: charge moved by %g J more than the flow says", seed, d)
		}
		if f.Loss < 0 || after.Charge < 0 || after.Charge.Joules() > b.Capacity().Joules()*(1+1e-12) {
			t.Fatalf("seed %d: loss %g J, charge %g J of %g", seed, f.Loss.Joules(), after.Charge.Joules(), b.Capacity().Joules())
		}
	}
}

// Five minutes at the power accepted or delivered refuse nothing and stay within the user's charges.
func TestLimitsHold(t *testing.T) {
	const seed = 10
	r := rand.New(rand.NewPCG(seed, 1))
	for range 20000 {
		b := someBattery(r)
		s := someState(r, b)
		in, out := b.AcceptPower(s), b.DeliverPower(s)
		if in < 0 || out < 0 || in > b.AcceptWarm(s) && s.Cell.Celsius() < 0 {
			t.Fatalf("seed %d: accepts %g W (%g warm), delivers %g W", seed, in.Watts(), b.AcceptWarm(s).Watts(), out.Watts())
		}
		up, f := b.Step(s, in, settle)
		scale := 1e-9 * (1 + b.Capacity().Joules())
		if math.Abs(f.Refused.Joules()) > scale || in > 0 && up.Charge.Joules() > b.HighestCharge.Float()*b.Capacity().Joules()+scale {
			t.Fatalf("seed %d: refused %g J, charge %.6f", seed, f.Refused.Joules(), b.Fraction(up).Float())
		}
		leakless := b
		leakless.SelfDischargePerMonth = 0
		down, f := leakless.Step(s, -out, settle)
		if math.Abs(f.Refused.Joules()) > scale || out > 0 && down.Charge.Joules() < b.LowestCharge.Float()*b.Capacity().Joules()-scale {
			t.Fatalf("seed %d: refused %g J, charge %.6f", seed, f.Refused.Joules(), b.Fraction(down).Float())
		}
		if b.Chemistry != AGM && s.Cell.Celsius() < 0 && in != 0 {
			t.Fatalf("seed %d: lithium takes %g W at %.2f °C", seed, in.Watts(), s.Cell.Celsius())
		}
	}
}

// A battery of nothing takes and gives nothing, and has a voltage.
func TestNothing(t *testing.T) {
	b := Battery{Chemistry: LFP, Nominal: 12.8 * quantity.Volt, ChargeEfficiency: 0.97 * quantity.One, DischargeEfficiency: 0.97 * quantity.One, HighestCharge: 1}
	s := State{Cell: quantity.Celsius(20)}
	if b.AcceptPower(s) != 0 || b.DeliverPower(s) != 0 || b.Fraction(s) != 0 {
		t.Errorf("accepts %g W, delivers %g W, charge %g", b.AcceptPower(s).Watts(), b.DeliverPower(s).Watts(), b.Fraction(s).Float())
	}
	if v := b.Voltage(s, 100*quantity.Watt).Volts(); !(v > 9 && v < 15) {
		t.Errorf("%g V", v)
	}
	after, f := b.Step(s, 100*quantity.Watt, time.Hour)
	if after.Charge != 0 || f.Refused.WattHours() != 100 {
		t.Errorf("charge %g J, refused %g Wh", after.Charge.Joules(), f.Refused.WattHours())
	}
}

// More charge and more current mean more volts, within the charging voltage.
func TestVoltageRises(t *testing.T) {
	for c := range Chemistry(chemistries) {
		b := Battery{Chemistry: c, Energy: 1 * quantity.KilowattHour, Nominal: 12.8 * quantity.Volt, Health: 1}
		last := 0.0
		for f := 0.0; f <= 1; f += 0.01 {
			s := State{Charge: quantity.Energy(f * b.Capacity().Joules()), Cell: quantity.Celsius(20)}
			v, more, less := b.Voltage(s, 0), b.Voltage(s, 200*quantity.Watt), b.Voltage(s, -200*quantity.Watt)
			if v.Volts() < last || more < v || less > v || more > ChargingVoltage(c, b.Nominal) {
				t.Fatalf("chemistry %d at %.2f: %g V (charging %g, drawn %g) after %g", c, f, v.Volts(), more.Volts(), less.Volts(), last)
			}
			last = v.Volts()
		}
	}
}

// Two halves of a step of warming make a whole, and the cells end between where they were and the air.
func TestWarm(t *testing.T) {
	const seed = 12
	r := rand.New(rand.NewPCG(seed, 1))
	for range 5000 {
		b := someBattery(r)
		s, air := someState(r, b), quantity.Celsius(r.Float64()*60-30)
		dt := time.Duration(r.Float64() * float64(12*time.Hour))
		one := b.Warm(s, air, 0, dt)
		two := b.Warm(b.Warm(s, air, 0, dt/2), air, 0, dt-dt/2)
		if math.Abs(one.Cell.Kelvin()-two.Cell.Kelvin()) > 1e-6 {
			t.Fatalf("seed %d: %.9f K, in halves %.9f K", seed, one.Cell.Kelvin(), two.Cell.Kelvin())
		}
		lo, hi := math.Min(s.Cell.Kelvin(), air.Kelvin()), math.Max(s.Cell.Kelvin(), air.Kelvin())
		if k := one.Cell.Kelvin(); k < lo-1e-9 || k > hi+1e-9 {
			t.Fatalf("seed %d: %.3f K outside %.3f to %.3f", seed, k, lo, hi)
		}
		if w := b.HeaterDraw(s).Watts(); w < 0 || w > b.HeaterPower.Watts() || s.Cell.Celsius() >= heaterOff && w != 0 {
			t.Fatalf("seed %d: heater %g W at %.2f °C", seed, w, s.Cell.Celsius())
		}
	}
}

// A controller loses what does not come out, keeps its stated efficiency at half load, gives more for
// more, and Input undoes Output.
func TestController(t *testing.T) {
	const seed = 13
	r := rand.New(rand.NewPCG(seed, 1))
	for range 5000 {
		rated, e := 20+r.Float64()*3000, 0.85+0.14*r.Float64()
		fixed := r.Float64() * (1 - e) * rated / 2
		c := NewController(Rating{Rated: quantity.Power(rated), Efficiency: quantity.Ratio(e), FixedLoss: quantity.Power(fixed)})
		out, _ := c.Output(quantity.Power(rated / 2))
		if math.Abs(out.Watts()/(rated/2)-e) > 1e-12 {
			t.Fatalf("seed %d: %.15g at half load, want %.15g", seed, out.Watts()/(rated/2), e)
		}
		last := 0.0
		for k := range 60 {
			in := float64(k) * rated / 20
			out, loss := c.Output(quantity.Power(in))
			if math.Abs(out.Watts()+loss.Watts()-in) > 1e-9 || loss < 0 || out.Watts() < last {
				t.Fatalf("seed %d: %g W in, %g out after %g, %g lost", seed, in, out.Watts(), last, loss.Watts())
			}
			last = out.Watts()
			if out > 0 && in < c.top() {
				back, ok := c.Input(out)
				if !ok || math.Abs(back.Watts()-in) > 1e-6*in {
					t.Fatalf("seed %d: %g W gives %g W, which asks for %g W, %v", seed, in, out.Watts(), back.Watts(), ok)
				}
			}
		}
		if _, ok := c.Input(quantity.Power(1e9)); ok && c.k2 > 0 {
			t.Fatalf("seed %d: a controller of %g W gives 1 GW", seed, rated)
		}
	}
}

// A controller holds on below the voltage that starts it, but not below its lowest.
func TestHysteresis(t *testing.T) {
	c := NewController(Rating{Rated: 100 * quantity.Watt, Efficiency: 95 * quantity.Percent, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt, InputMin: 15 * quantity.Volt})
	for _, k := range []struct {
		was       bool
		open, bat float64
		want      bool
	}{{false, 17, 13, false}, {true, 17, 13, true}, {false, 18, 13, true}, {true, 13.5, 13, false}, {true, 14.5, 13, false}, {true, 15, 13, true}, {false, 15, 9, true}} {
		if got := c.Running(k.was, quantity.Voltage(k.open), quantity.Voltage(k.bat)); got != k.want {
			t.Errorf("was %v, open %g V on %g V: %v", k.was, k.open, k.bat, got)
		}
	}
}

// Heat, charge and time age a cell; nothing ages it by less than nothing or more than all.
func TestAgeing(t *testing.T) {
	last := 0.0
	for soc := 0.0; soc <= 1; soc += 0.01 {
		x := CalendarLoss(quantity.Celsius(30), quantity.Ratio(soc), year).Float()
		if x < last {
			t.Fatalf("charge %.2f: %g after %g", soc, x, last)
		}
		last = x
	}
	if a, b := CalendarLoss(quantity.Celsius(20), 0.5, year), CalendarLoss(quantity.Celsius(40), 0.5, year); a >= b {
		t.Errorf("20 °C %g, 40 °C %g", a.Float(), b.Float())
	}
	if x := CalendarLoss(quantity.Celsius(900), 1, 100*year); x != 1 {
		t.Errorf("at 900 °C %g, want all", x.Float())
	}
	if x := CycleLoss(Cycling{Rate: 1, Depth: 1, Full: -5}); x != 0 {
		t.Errorf("no cycles: %g", x.Float())
	}
}

func TestPanics(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func(){
		"chemistry": func() { RestVoltage(Chemistry(chemistries), 12*quantity.Volt, 1) },
		"power":     func() { Battery{}.Step(State{}, quantity.Power(nan), time.Second) },
		"time":      func() { Battery{}.Step(State{}, 0, -time.Second) },
		"warm":      func() { Battery{}.Warm(State{}, quantity.Kelvin(nan), 0, time.Second) },
		"rating":    func() { NewController(Rating{}) },
		"input":     func() { Controller{}.Output(quantity.Power(nan)) },
		"margin": func() {
			NewController(Rating{Rated: 1 * quantity.Watt, Efficiency: 1, StartMargin: -1 * quantity.Volt})
		},
		"alternator": func() { Alternator{}.Draw(12 * quantity.Volt) },
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

var benchBattery = Battery{Chemistry: LFP, Energy: 2 * quantity.KilowattHour, Nominal: 12.8 * quantity.Volt, Health: 1, HighestCharge: 1,
	ChargeEfficiency: 0.97 * quantity.One, DischargeEfficiency: 0.97 * quantity.One, SelfDischargePerMonth: 2 * quantity.Percent,
	MaxChargeCurrent: 80 * quantity.Ampere, MaxDischargeCurrent: 100 * quantity.Ampere, TimeConstant: 4 * time.Hour}

// cycle is one step as a forecast takes it.
func cycle(s State) State {
	p := benchBattery.AcceptPower(s)
	s, _ = benchBattery.Step(s, p, settle)
	s, _ = benchBattery.Step(s, -benchBattery.DeliverPower(s)/10, settle)
	_ = benchBattery.Voltage(s, 0)
	return benchBattery.Warm(s, quantity.Celsius(18), 0, settle)
}

func TestStepDoesNotAllocate(t *testing.T) {
	s := State{Charge: 1 * quantity.KilowattHour, Cell: quantity.Celsius(15)}
	if n := testing.AllocsPerRun(100, func() { s = cycle(s) }); n != 0 {
		t.Errorf("%v allocations a step", n)
	}
}

func BenchmarkStep(b *testing.B) {
	s := State{Charge: 1 * quantity.KilowattHour, Cell: quantity.Celsius(15)}
	for b.Loop() {
		s = cycle(s)
	}
}
