package load

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
)

// Profile is the mean power in each local hour of a day.
type Profile [24]quantity.Power

// Day returns the energy of a day.
func (p Profile) Day() quantity.Energy {
	sum := 0.0
	for _, w := range p {
		sum += w.Watts() * 3600
	}
	return quantity.Energy(sum)
}

// Plus returns p and q together.
func (p Profile) Plus(q Profile) Profile {
	for i := range p {
		p[i] += q[i]
	}
	return p
}

// Steady returns the profile of a power that never changes.
func Steady(w quantity.Power) (p Profile) {
	for i := range p {
		p[i] = w
	}
	return p
}

// Use is a load that runs for a time each day.
type Use struct {
	Power quantity.Power
	Daily time.Duration
	From  int // local hour it begins
}

// Profile returns the profile of a use: whole hours from From on and past midnight, the last one in
// part. It panics at a time outside 0..24 h or a first hour outside 0..23.
func (u Use) Profile() (p Profile) {
	if !(u.Daily >= 0 && u.Daily <= 24*time.Hour) || u.From < 0 || u.From > 23 {
		panic("load: use outside a day")
	}
	left := u.Daily.Hours()
	for i := u.From; left > 0; i++ {
		part := math.Min(1, left)
		p[i%24] += quantity.Power(u.Power.Watts() * part)
		left -= part
	}
	return p
}

// Inverter makes mains from the battery. Pin = p0 + Pout (1 + k1) + k2 Pout².
type Inverter struct {
	p0 float64 // W
	k1 float64
	k2 float64 // 1/W
}

// NewInverter returns an inverter from its idle draw, its rated output, and its efficiency at half of it,
// idle draw included. The loss at half load beyond the idle draw is split in two halves, one that goes
// with the power and one with its square: our own estimate. An idle draw above the whole loss at half
// load stays as given, and the efficiency falls short of the stated. A rated output of zero or less
// leaves an inverter that only idles beside its power. It panics at an efficiency outside 0..1 (0
// excluded), a negative idle draw, or NaN. Source of the form: trade handbook D3.
func NewInverter(idle, rated quantity.Power, efficiency quantity.Ratio) Inverter {
	p0, h, e := idle.Watts(), rated.Watts()/2, efficiency.Float()
	if !(p0 >= 0) || math.IsInf(p0, 0) || math.IsNaN(h) || math.IsInf(h, 0) || !(e > 0 && e <= 1) {
		panic("load: inverter outside its range")
	}
	if h <= 0 {
		return Inverter{p0: p0}
	}
	q := math.Max(0, h/e-h-p0)
	return Inverter{p0: p0, k1: q / 2 / h, k2: q / 2 / (h * h)}
}

// Input returns the power a switched-on inverter draws to give out: its idle draw at nothing or less.
// The rated output is the caller's to keep. It panics at NaN and infinity. Accuracy 2 % of the rating.
func (i Inverter) Input(out quantity.Power) quantity.Power {
	p := out.Watts()
	if math.IsNaN(p) || math.IsInf(p, 0) {
		panic("load: output not finite")
	}
	p = math.Max(0, p)
	return quantity.Power(i.p0 + p*(1+i.k1) + i.k2*p*p)
}

// Efficiency returns output over input; zero at no output.
func (i Inverter) Efficiency(out quantity.Power) quantity.Ratio {
	in := i.Input(out).Watts()
	if in <= 0 || out <= 0 {
		return 0
	}
	return quantity.Ratio(out.Watts() / in)
}
