package wiring

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Conductor is a make of copper conductor, which sets its resistance.
type Conductor int

const (
	Copper         Conductor = iota // Flexible for metric sizes, GaugeStranded for gauge sizes
	Flexible                        // IEC 60228 class 5, plain: the largest resistance allowed
	FlexibleTinned                  // IEC 60228 class 5, tinned
	Stranded                        // IEC 60228 class 2, plain
	GaugeStranded                   // AWG, stranded: 1.02 of the solid
	Solid                           // the area full of standard copper
	conductors     = int(Solid) + 1
)

// Standard annealed copper at 20 °C, exact by convention. Source: IEC 60028:1925: 1/58 Ω·mm²/m, and
// 0.00393 /K at constant mass.
const (
	copperResistivity = 1.0 / 58 // Ω·mm²/m
	copperCoefficient = 0.00393  // 1/K
)

// strandedOverSolid is the resistance of a stranded over a solid gauge conductor. Source: NEC 2023,
// ch. 9, table 8, whose columns are in this ratio within 0.5 %.
const strandedOverSolid = 1.02

// metric sizes, mm², and the largest resistances at 20 °C, Ω/km. Source: IEC 60228:2004, tables 2 and
// 3; tinned, 0.5 to 1 mm² of class 2, and 35 mm² up, from memory.
var (
	metric  = [...]float64{0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95}
	class2  = [...]float64{36.0, 24.5, 18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15, 0.727, 0.524, 0.387, 0.268, 0.193}
	class5  = [...]float64{39.0, 26.0, 19.5, 13.3, 7.98, 4.95, 3.30, 1.91, 1.21, 0.780, 0.554, 0.386, 0.272, 0.206}
	class5t = [...]float64{40.1, 26.7, 20.0, 13.7, 8.21, 5.09, 3.39, 1.95, 1.24, 0.795, 0.565, 0.393, 0.277, 0.210}
)

// Run is a pair of conductors.
type Run struct {
	Length      quantity.Length // one way
	Area        quantity.Area   // of one conductor
	Conductor   Conductor
	Temperature quantity.Temperature // of the conductor
}

// Temperatures between which copper's resistance is a line, °C; outside, they are held to these.
const coldest, hottest = -100, 250

// perMetre returns the resistance of one conductor, Ω/m, at 20 °C. Between the metric sizes the product
// of resistance and area, which varies by 5 %, is interpolated over the logarithm of the area; beyond
// them it stays.
func perMetre(c Conductor, mm2 float64) float64 {
	table := &class5
	switch c {
	case Copper:
		if _, gauge := gaugeOf(mm2); gauge && !isMetric(mm2) {
			return strandedOverSolid * copperResistivity / mm2
		}
	case Flexible:
	case FlexibleTinned:
		table = &class5t
	case Stranded:
		table = &class2
	case GaugeStranded:
		return strandedOverSolid * copperResistivity / mm2
	case Solid:
		return copperResistivity / mm2
	default:
		panic("wiring: unknown conductor")
	}
	n := len(metric) - 1
	product := func(i int) float64 { return table[i] * metric[i] / 1000 }
	if mm2 <= metric[0] {
		return product(0) / mm2
	}
	for i := 1; i <= n; i++ {
		if mm2 <= metric[i] {
			w := math.Log(mm2/metric[i-1]) / math.Log(metric[i]/metric[i-1])
			return (product(i-1) + w*(product(i)-product(i-1))) / mm2
		}
	}
	return product(n) / mm2
}

func warm(t quantity.Temperature) float64 {
	return 1 + copperCoefficient*(math.Min(hottest, math.Max(coldest, t.Celsius()))-20)
}

// Resistance returns the resistance of r, out and back, at its temperature. Length zero gives zero; the
// temperature is held to -100..250 °C. It panics when the area is not above zero, the length is below
// zero, or either is not finite. Accuracy: an upper limit for the IEC classes (a real cable is 1 to 5 %
// lower), 1 % for gauge sizes. Source: IEC 60228:2004; IEC 60028:1925; NEC 2023, ch. 9, table 8.
func Resistance(r Run) quantity.Resistance {
	l, mm2 := r.Length.Metres(), r.Area.SquareMillimetres()
	if !(mm2 > 0) || math.IsInf(mm2, 0) {
		panic("wiring: area not positive")
	}
	if !(l >= 0) || math.IsInf(l, 0) {
		panic("wiring: length negative")
	}
	if math.IsNaN(r.Temperature.Kelvin()) {
		panic("wiring: temperature not a number")
	}
	return quantity.Resistance(2 * l * perMetre(r.Conductor, mm2) * warm(r.Temperature))
}

// Drop returns the voltage lost in r, out and back, with the sign of i. Range and source as Resistance.
func Drop(r Run, i quantity.Current) quantity.Voltage {
	return quantity.Voltage(Resistance(r).Ohms() * flowing(i))
}

// Loss returns the power turned to heat in r, out and back. Range and source as Resistance.
func Loss(r Run, i quantity.Current) quantity.Power {
	a := flowing(i)
	return quantity.Power(a * a * Resistance(r).Ohms())
}

func flowing(i quantity.Current) float64 {
	a := i.Amperes()
	if math.IsNaN(a) || math.IsInf(a, 0) {
		panic("wiring: current not finite")
	}
	return a
}

// AreaForDrop returns the least area with which r drops no more than most at i, either sign; the area in
// r is not read. Copper counts as Flexible, so the answer does not hang on a size being gauge or metric.
// Zero current or length gives zero. It panics when most is not above zero, and as Resistance does.
func AreaForDrop(r Run, i quantity.Current, most quantity.Voltage) quantity.Area {
	v := most.Volts()
	if !(v > 0) || math.IsInf(v, 0) {
		panic("wiring: drop not positive")
	}
	if r.Conductor == Copper {
		r.Conductor = Flexible
	}
	a := math.Abs(flowing(i))
	need := func(mm2 float64) float64 {
		r.Area = quantity.Area(mm2) * quantity.SquareMillimetre
		return a * Resistance(r).Ohms() / v * mm2
	}
	// The product of resistance and area moves by 5 % in all: a few rounds settle it.
	mm2 := need(1)
	if mm2 <= 0 {
		return 0
	}
	const rounds = 30
	for range rounds {
		mm2 = need(mm2)
	}
	return quantity.Area(mm2) * quantity.SquareMillimetre
}
