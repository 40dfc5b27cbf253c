package charge

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
)

// Battery is one bank. Energy is as sold; Health of it is still there.
type Battery struct {
	Chemistry             Chemistry
	Energy                quantity.Energy
	Nominal               quantity.Voltage // voltage it is sold as
	Health                quantity.Ratio
	LowestCharge          quantity.Ratio // drawing stops here
	HighestCharge         quantity.Ratio // charging stops here
	ChargeEfficiency      quantity.Ratio // stored over put in
	DischargeEfficiency   quantity.Ratio // given over withdrawn
	SelfDischargePerMonth quantity.Ratio
	MaxChargeCurrent      quantity.Current
	MaxDischargeCurrent   quantity.Current
	TimeConstant          time.Duration // of the cells' temperature to what surrounds them
	HeaterPower           quantity.Power
}

// State is what a battery holds.
type State struct {
	Charge quantity.Energy // stored
	Cell   quantity.Temperature
}

// Flow is where the energy of a step went: in·dt = Stored + Loss + Refused.
type Flow struct {
	Stored  quantity.Energy // change of the stored energy; negative when it fell
	Loss    quantity.Energy // to heat, self-discharge included; never negative
	Refused quantity.Energy // not taken (positive) or not given (negative); zero within the limits
}

// month is the span of SelfDischargePerMonth.
const month = 30 * 24 * time.Hour

// settle is the longest step for which AcceptPower and DeliverPower never overrun the limits of charge.
const settle = 5 * time.Minute

// Capacity returns the energy stored when full, at 25 °C: nominal times health.
func (b Battery) Capacity() quantity.Energy {
	return quantity.Energy(b.Energy.Joules() * b.Health.Float())
}

// fraction returns the charge of s, 0..1; zero for a battery of nothing.
func (b *Battery) fraction(s State) float64 {
	c := b.Energy.Joules() * b.Health.Float()
	if c <= 0 {
		return 0
	}
	return clamp(s.Charge.Joules()/c, 0, 1)
}

// Fraction returns the charge of s over the capacity, 0..1; zero for a battery without capacity.
func (b Battery) Fraction(s State) quantity.Ratio { return quantity.Ratio(b.fraction(s)) }

// Voltage returns the voltage at the posts with in going into them, positive when charging: the rest
// voltage of the charge, more or less a share for the current, and within 0.75 of the nominal and the
// charging voltage. Accuracy 0.3 V on 12 V under current.
func (b Battery) Voltage(s State, in quantity.Power) quantity.Voltage {
	m, f, n := b.Chemistry.material(), b.fraction(s), b.Nominal.Volts()
	v := along(m.restAt, m.rest, f)
	if c := b.Energy.Joules() * b.Health.Float(); c > 0 && in != 0 {
		v += m.rise * in.Watts() * 3600 / c
	}
	return quantity.Voltage(n * clamp(v, 0.75, m.most))
}

// AcceptPower returns the largest power the battery takes at its posts now: the least of the
// cells' limit at their temperature, the current limit, the taper near full, and what room is left
// below HighestCharge in five minutes. Steps of up to five minutes at this power never overrun.
func (b Battery) AcceptPower(s State) quantity.Power {
	return quantity.Power(b.accept(s, s.Cell.Celsius()))
}

// AcceptWarm returns what AcceptPower would be with the cells at 25 °C: the difference is what cold or
// heat keeps out.
func (b Battery) AcceptWarm(s State) quantity.Power { return quantity.Power(b.accept(s, 25)) }

func (b *Battery) accept(s State, celsius float64) float64 {
	m, c, e := b.Chemistry.material(), b.Energy.Joules()*b.Health.Float(), b.ChargeEfficiency.Float()
	if c <= 0 || e <= 0 {
		return 0
	}
	f := s.Charge.Joules() / c
	p := m.limit(celsius, f) * c / 3600
	p = min(p, b.MaxChargeCurrent.Amperes()*b.Nominal.Volts()*along(m.restAt, m.rest, f))
	p = min(p, (1-f)*c/(e*m.taper*3600))
	p = min(p, (b.HighestCharge.Float()-f)*c/(e*settle.Seconds()))
	return max(0, p)
}

// DeliverPower returns the largest power the battery gives at its posts now: the least of the
// current limit and what lies above the floor in five minutes. The floor is LowestCharge, or the
// share of the capacity that the cold holds back where that is more. Beyond the temperatures the
// chemistry works in, nothing.
func (b Battery) DeliverPower(s State) quantity.Power {
	m, c := b.Chemistry.material(), b.Energy.Joules()*b.Health.Float()
	t := s.Cell.Celsius()
	if c <= 0 || t < m.coldest || t > m.warmest {
		return 0
	}
	f := s.Charge.Joules() / c
	p := b.MaxDischargeCurrent.Amperes() * b.Nominal.Volts() * along(m.restAt, m.rest, f)
	p = min(p, (f-b.floor(m, t))*c*b.DischargeEfficiency.Float()/settle.Seconds())
	return quantity.Power(max(0, p))
}

// floor returns the charge below which nothing can be drawn.
func (b *Battery) floor(m *material, celsius float64) float64 {
	return max(b.LowestCharge.Float(), 1-along(m.coldAt, m.cold, celsius))
}

// Step returns the state after in has gone into the posts for dt, negative drawn, and where the
// energy went. Current and temperature limits are the caller's to keep, by AcceptPower and
// DeliverPower; what would overrun full or empty is refused. Self-discharge runs beside. It panics at a
// negative dt and an argument that is not finite.
func (b Battery) Step(s State, in quantity.Power, dt time.Duration) (State, Flow) {
	p := b.Every(dt)
	return p.Step(s, in)
}

// Pace is a battery by steps of one length: for many of them.
type Pace struct {
	b       *Battery
	seconds float64
	leak    float64 // share of the charge that goes by itself
	left    float64 // of the distance to the steady temperature
	warming float64 // K/W, steady, by a heater
}

// Every returns the battery's pace by steps of dt; the battery must not change. It panics at a negative step.
func (b *Battery) Every(dt time.Duration) Pace {
	if dt < 0 {
		panic("charge: negative time step")
	}
	p := Pace{b: b, seconds: dt.Seconds()}
	// Self-discharge decays what is stored: the monthly share is that of an exponential.
	if leak := b.SelfDischargePerMonth.Float(); leak > 0 && leak < 1 {
		p.leak = -math.Expm1(math.Log1p(-leak) * float64(dt) / float64(month))
	}
	if b.TimeConstant > 0 {
		if mc := b.Energy.Joules() / 3.6e6 * b.Chemistry.material().density * cellHeat; mc > 0 {
			p.warming = b.TimeConstant.Seconds() / mc
		}
		p.left = math.Exp(-float64(dt) / float64(b.TimeConstant))
	}
	return p
}

// Step is Battery.Step.
func (p *Pace) Step(s State, in quantity.Power) (State, Flow) {
	b := p.b
	w, q := in.Watts(), s.Charge.Joules()
	if math.IsNaN(w) || math.IsInf(w, 0) || math.IsNaN(q) || math.IsInf(q, 0) {
		panic("charge: argument not finite")
	}
	c := b.Energy.Joules() * b.Health.Float()
	put := w * p.seconds
	taken, stored, loss := 0.0, 0.0, 0.0
	switch e, d := b.ChargeEfficiency.Float(), b.DischargeEfficiency.Float(); {
	case put > 0 && e > 0:
		taken = min(put, max(0, c-q)/e)
		stored, loss = taken*e, taken*(1-e)
	case put < 0 && d > 0:
		taken = max(put, -max(0, q)*d)
		stored = taken / d
		loss = taken - stored
	}
	after := max(0, q+stored)
	gone := after * p.leak
	after, stored, loss = after-gone, stored-gone, loss+gone
	s.Charge = quantity.Energy(after)
	return s, Flow{Stored: quantity.Energy(stored), Loss: quantity.Energy(loss), Refused: quantity.Energy(put - taken)}
}

// Temperatures between which a heater's power falls to nothing, °C: it keeps lithium ready to be charged.
const heaterFull, heaterOff = 5, 7

// heaterKeep is the charge above LowestCharge that a heater leaves to the loads.
const heaterKeep = 0.05

// HeaterDraw returns the power a built-in heater draws now: all of it with the cells below 5 °C,
// falling to none at 7 °C, and none while less than 5 % of the capacity lies above LowestCharge.
func (b Battery) HeaterDraw(s State) quantity.Power {
	if b.HeaterPower <= 0 || b.fraction(s) < b.LowestCharge.Float()+heaterKeep {
		return 0
	}
	return quantity.Power(b.HeaterPower.Watts() * clamp((heaterOff-s.Cell.Celsius())/(heaterOff-heaterFull), 0, 1))
}

// cellHeat is the specific heat of a battery, J/(kg·K). From memory, ±15 %.
const cellHeat = 1000

// Warm returns s after dt in surroundings of the given temperature with a heater at work in the box:
// the exponential approach of one mass with TimeConstant, stable for any dt. The mass is 8 kg/kWh of
// LFP, 5.5 NMC, 31 lead (trade handbook C1). Without a time constant the cells follow at once. Heat
// of the battery's own losses is left out: it is under 2 K at 0.2C.
func (b Battery) Warm(s State, around quantity.Temperature, heater quantity.Power, dt time.Duration) State {
	p := b.Every(dt)
	return p.Warm(s, around, heater)
}

// Warm is Battery.Warm.
func (p *Pace) Warm(s State, around quantity.Temperature, heater quantity.Power) State {
	steady := around.Kelvin() + heater.Watts()*p.warming
	t := steady + (s.Cell.Kelvin()-steady)*p.left
	if math.IsNaN(t) || math.IsInf(t, 0) {
		panic("charge: argument not finite")
	}
	s.Cell = quantity.Kelvin(t)
	return s
}
