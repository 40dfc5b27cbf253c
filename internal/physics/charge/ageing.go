package charge

import (
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

// MassOf returns the mass of a battery of an energy as sold: 8 kg/kWh of bare LFP (7 to 9), 5.5 of NMC (5 to 6), 31
// of lead (28 to 35); a power unit with its case weighs half as much again. Source: trade handbook C1, from memory.
func MassOf(c Chemistry, e quantity.Energy) quantity.Mass {
	return quantity.Mass(math.Max(0, e.WattHours()) / 1000 * c.material().density)
}
