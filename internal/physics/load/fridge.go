package load

import (
	"math"

	"noonmark/internal/base/quantity"
)

// The seller's table of a compressor fridge's day (trade handbook D1: 300-400 Wh at 21 °C, 400-600 at
// 29, 600-900 at 38) fits exp(0.046 /K). Below fitFrom the fit is left for a line to nothing at the
// box's own temperature, where no heat comes in.
const (
	perKelvin = 0.046 // 1/K, ±0.008
	fitFrom   = 10    // °C
	boxInside = 4     // °C
)

// DayAt25C is the fit's own fridge, of 40 litres: 350 Wh × exp(0.046 (25 - 21)). Source: trade handbook D1.
const DayAt25C quantity.Energy = 421 * quantity.WattHour

// FridgePower returns the mean power of a compressor fridge that uses dayAt25 in a day at 25 °C around
// it, in air of the given temperature with rise more at the fridge: a fit with door openings and
// warm food in it. Not above running, the power of its compressor, when running is given above zero,
// and never negative. Fitted from 15 to 43 °C; below 10 °C it falls along a line to none at 4 °C.
// Accuracy 30 %. It panics at NaN. Source: trade handbook D1.
func FridgePower(dayAt25 quantity.Energy, air quantity.Temperature, rise quantity.TempDiff, running quantity.Power) quantity.Power {
	t := air.Celsius() + rise.Kelvins()
	p := dayAt25.Joules() / 86400
	if math.IsNaN(t) || math.IsNaN(p) || math.IsNaN(running.Watts()) {
		panic("load: argument not a number")
	}
	switch {
	case t <= boxInside:
		p = 0
	case t < fitFrom:
		p *= math.Exp(perKelvin*(fitFrom-25)) * (t - boxInside) / (fitFrom - boxInside)
	default:
		p *= math.Exp(perKelvin * (min(t, 80) - 25)) // 80 °C: no fridge runs there
	}
	if running > 0 {
		p = min(p, running.Watts())
	}
	return quantity.Power(max(0, min(p, math.MaxFloat64)))
}

// Box is a closed fridge, for the physics: nothing put in, no door opened.
type Box struct {
	LeakPerKelvin quantity.Power // heat into it for each kelvin; 0.35 to 0.6 W for 40 litres
	Inside        quantity.Temperature
	CarnotShare   quantity.Ratio    // of the ideal machine, 0.35 to 0.45
	Evaporator    quantity.TempDiff // below Inside
	Condenser     quantity.TempDiff // above the air
}

// StandardBox is a box of 40 litres. From memory, ±30 %.
var StandardBox = Box{
	LeakPerKelvin: 0.45 * quantity.Watt, Inside: quantity.Celsius(4), CarnotShare: 0.40 * quantity.One,
	Evaporator: 12 * quantity.OneKelvin, Condenser: 22 * quantity.OneKelvin,
}

// Performance returns heat moved over work, which may be above 1, in air of the given temperature: the
// box's share of Carnot's cold/(hot - cold), in kelvin. It panics when hot is not above cold. Source: any textbook of
// thermodynamics; trade handbook D1.
func (b Box) Performance(air quantity.Temperature) quantity.Ratio {
	cold := b.Inside.Kelvin() - b.Evaporator.Kelvins()
	hot := air.Kelvin() + b.Condenser.Kelvins()
	if !(hot > cold) || !(cold > 0) {
		panic("load: no lift between evaporator and condenser")
	}
	return quantity.Ratio(b.CarnotShare.Float() * cold / (hot - cold))
}

// Power returns the mean electric power of the closed box in air above its inside, none below. It
// gives the shape with temperature; doors and food double it. Accuracy 40 %. Source: trade handbook D1.
func (b Box) Power(air quantity.Temperature) quantity.Power {
	d := air.Sub(b.Inside).Kelvins()
	if d <= 0 {
		return 0
	}
	return quantity.Power(b.LeakPerKelvin.Watts() * d / b.Performance(air).Float())
}
