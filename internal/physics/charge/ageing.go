package charge

import (
	"errors"
	"fmt"
	"math"
	"time"

	"noonmark/internal/base/quantity"
)

// CalendarLoss returns the share of an LFP cell's capacity lost by standing at a temperature and charge for
// a time. Fitted from 0 to 60 °C and 0..1; the charge is held to that. A guide within a factor of
// two for another make: show it as a band. Source: Naumann, Schimpe, Keil, Hesse & Jossen 2018, J. Energy
// Storage 17:153, eq. 6 to 9, coefficients as in two open implementations.
func CalendarLoss(cell quantity.Temperature, charge quantity.Ratio, stood time.Duration) quantity.Ratio {
	t, soc, sec := cell.Kelvin(), clamp(charge.Float(), 0, 1), math.Max(0, stood.Seconds())
	if !(t > 0) || math.IsInf(t, 0) {
		panic("charge: temperature not above absolute zero")
	}
	k := 1.2571e-5 * math.Exp(-17126/8.314*(1/t-1/298.15))
	k *= 2.8575*math.Pow(soc-0.5, 3) + 0.60225
	return quantity.Ratio(clamp(k*math.Sqrt(sec), 0, 1))
}

// Cycling is how a battery is cycled.
type Cycling struct {
	Rate  quantity.Ratio // of the capacity in an hour: 0.2 is 0.2C
	Depth quantity.Ratio // of a cycle
	Full  float64        // equivalent full cycles
}

// CycleLoss returns the share of an LFP cell's capacity lost by cycling, beside CalendarLoss. Fitted at 40 °C,
// 0.2C to 1C. Accuracy as CalendarLoss. Source: Naumann, Spingler & Jossen 2020, J. Power Sources
// 451:227666, coefficients as in two open implementations; that they are in percent is from memory.
func CycleLoss(c Cycling) quantity.Ratio {
	d := clamp(c.Depth.Float(), 0, 1)
	k := (0.0630*math.Max(0, c.Rate.Float()) + 0.0971) * (4.0253*math.Pow(d-0.6, 3) + 1.0923)
	x := k * math.Sqrt(math.Max(0, c.Full)) / 100
	if math.IsNaN(x) {
		panic("charge: argument not a number")
	}
	return quantity.Ratio(clamp(x, 0, 1))
}

// Wear gathers what standing and cycling do to LFP cells whose temperature and charge change. Losses of either kind
// grow with the root of time and of cycles at one stress; where the stress changes their squares add up, so that no
// order of the days matters: dQ/dt = k²/(2Q). Standing and cycling add up to the loss. The zero value is a new
// battery. Source: Naumann, Spingler & Jossen 2020, J. Power Sources 451:227666, the differential form and the sum.
type Wear struct{ stood, cycled float64 } // squares of the losses

// Stand adds a time at a temperature and charge, as CalendarLoss has them.
func (w *Wear) Stand(cell quantity.Temperature, charge quantity.Ratio, stood time.Duration) {
	x := CalendarLoss(cell, charge, stood).Float()
	w.stood += x * x
}

// gentlest is the least rate the cycle law was fitted at; a lower one counts as this.
const gentlest = 0.2

// Cycle adds equivalent full cycles of a depth and rate, as CycleLoss has them. A rate under 0.2C counts as 0.2C.
func (w *Wear) Cycle(c Cycling) {
	c.Rate = max(c.Rate, gentlest*quantity.One)
	x := CycleLoss(c).Float()
	w.cycled += x * x
}

// Plus returns the wear of both, one after the other in any order.
func (w Wear) Plus(v Wear) Wear { return Wear{w.stood + v.stood, w.cycled + v.cycled} }

// Times returns the wear of n times the same; it panics below zero and at NaN.
func (w Wear) Times(n float64) Wear {
	if !(n >= 0) || math.IsInf(n, 0) {
		panic("charge: wear taken a negative number of times")
	}
	return Wear{w.stood * n, w.cycled * n}
}

// Calendar returns the share of the capacity lost by standing.
func (w Wear) Calendar() quantity.Ratio { return quantity.Ratio(math.Min(1, math.Sqrt(w.stood))) }

// Cycles returns the share of the capacity lost by cycling.
func (w Wear) Cycles() quantity.Ratio { return quantity.Ratio(math.Min(1, math.Sqrt(w.cycled))) }

// LossBand is a loss of capacity as a band, for one number would say too much.
type LossBand struct{ Low, Middle, High quantity.Ratio }

// ErrChemistry says that no formula of ageing is held for a chemistry.
var ErrChemistry = errors.New("charge: no ageing formula for this chemistry")

// otherMake is the factor within which another make of cell is taken to age. Our own estimate: multi-year data of LFP
// scatter so, and shallow cycling in heat has gone either way (trade handbook C3).
const otherMake = 2.0

// Loss returns the capacity lost by w of a chemistry: the formula's figure, and half and twice it for another make
// of cell. It fails with ErrChemistry for all but LFP.
func (w Wear) Loss(c Chemistry) (LossBand, error) {
	if c != LFP {
		c.material() // panics on none
		return LossBand{}, fmt.Errorf("%w: only lithium iron phosphate has one", ErrChemistry)
	}
	x := w.Calendar().Float() + w.Cycles().Float()
	r := func(x float64) quantity.Ratio { return quantity.Ratio(math.Min(1, x)) }
	return LossBand{r(x / otherMake), r(x), r(x * otherMake)}, nil
}

// CycleLife is a range of full cycles until a fifth of the capacity is gone, at a depth.
type CycleLife struct {
	Least, Most float64
	Depth       quantity.Ratio // of each cycle
}

// CycleLives returns what is said of a chemistry's cycles, by depth. A range of the trade, not a formula: nothing is
// said of heat and standing; lead halves its life for every 8 to 10 K more. Source: trade handbook C1, from memory.
func CycleLives(c Chemistry) []CycleLife {
	switch c {
	case LFP:
		return []CycleLife{{2000, 6000, 0.8}}
	case NMC:
		return []CycleLife{{500, 1500, 0.8}}
	case AGM:
		return []CycleLife{{500, 800, 0.5}, {300, 500, 0.8}}
	}
	panic("charge: unknown chemistry")
}

// MassOf returns the mass of a battery of an energy as sold: 8 kg/kWh of bare LFP (7 to 9), 5.5 of NMC (5 to 6), 31
// of lead (28 to 35); a power unit with its case weighs half as much again. Source: trade handbook C1, from memory.
func MassOf(c Chemistry, e quantity.Energy) quantity.Mass {
	return quantity.Mass(math.Max(0, e.WattHours()) / 1000 * c.material().density)
}
