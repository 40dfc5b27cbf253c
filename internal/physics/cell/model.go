package cell

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Technology is a kind of cell, in the order of the document's.
type Technology int

const (
	MonoPERC Technology = iota
	MonoTOPCon
	Heterojunction
	RearContact
	Poly
	FlexibleMono
	CIGS
	CIGSFoil
	CdTe
	AmorphousSilicon
)

const (
	// reference temperature of a label, K, exact.
	referenceKelvin = 298.15
	// boltzmann over elementary charge, V/K, exact. Source: SI Brochure, 9th ed. (2019).
	thermal = 1.380649e-23 / 1.602176634e-19
)

// Point is a point of a curve.
type Point struct {
	Voltage quantity.Voltage
	Current quantity.Current
}

// Power returns volts times amperes.
func (p Point) Power() quantity.Power { return quantity.Power(p.Voltage.Volts() * p.Current.Amperes()) }

// Params are a chain of cells at reference conditions: I = IL - I0 (exp((V+I Rs)/a) - 1) - G (V+I Rs).
// Plain SI numbers. Made by Fit or by hand for a known cell.
type Params struct {
	Cells int     // in series
	IL    float64 // light current, A
	I0    float64 // saturation current, A
	Rs    float64 // series resistance of the chain, Ω
	G     float64 // shunt conductance of the chain, S
	A     float64 // modified ideality of the chain, V: cells × ideality × kT/q

	IscSlope float64 // of IL, A/K
	Gap      float64 // effective band gap, eV, that gives the label's slope of Voc
	RsSlope  float64 // of Rs, relative, 1/K
	Shunt    float64 // exponent of light on G: 1 after De Soto, 0 constant

	Avalanche Avalanche
}

// Avalanche is Bishop's reverse term of one cell: the shunt current is multiplied by
// 1 + Factor (1 - Vd/Breakdown)^-Exponent. Source: J. W. Bishop, Solar Cells 25 (1988) 73.
type Avalanche struct {
	Factor    float64
	Breakdown float64 // V, negative
	Exponent  float64
}

// State is a chain at one light and temperature. A zero State is dark and cold: it gives nothing.
type State struct {
	il, i0, rs, g, a float64
	cells            float64
	av               Avalanche
}

// At returns the chain at the given light on the cells and temperature of them. Light that is not
// above zero, as a sensor's noise, is dark; temperatures are held between -80 °C and 200 °C.
// Source: De Soto, Klein & Beckman 2006, Solar Energy 80:78, with the gap and the slope of Rs fitted
// to the label in place of their constants.
func (p *Params) At(light quantity.Irradiance, t quantity.Temperature) State {
	g := light.WattsPerSquareMetre() / 1000
	if !(g > 0) {
		g = 0
	}
	k := math.Min(math.Max(t.Kelvin(), 193), 473)
	d := k - referenceKelvin
	x := k / referenceKelvin
	shunt := p.G
	if p.Shunt != 0 {
		if p.Shunt == 1 {
			shunt *= g
		} else {
			shunt *= math.Pow(g, p.Shunt)
		}
	}
	return State{
		il: g * math.Max(0, p.IL+p.IscSlope*d),
		i0: p.I0 * x * x * x * math.Exp(p.Gap/thermal*(1/referenceKelvin-1/k)),
		rs: p.Rs * math.Max(0.2, 1+p.RsSlope*d), g: shunt, a: p.A * x,
		cells: float64(max(1, p.Cells)), av: p.Avalanche,
	}
}

// WithSeries returns the state with a resistance in series with the chain.
func (s State) WithSeries(r quantity.Resistance) State {
	s.rs += r.Ohms()
	return s
}

// Lit reports whether the chain gives current.
func (s *State) Lit() bool { return s.il > 0 }

// junction returns current and its slope at the junction voltage v of the whole chain, forward bias.
func (s *State) junction(v float64) (i, slope float64) {
	e := s.i0 * math.Exp(v/s.a)
	return s.il - (e - s.i0) - s.g*v, -e/s.a - s.g
}

// open returns the junction voltage at no current.
func (s *State) open() float64 {
	if s.il <= 0 {
		return 0
	}
	v := s.a * math.Log1p(s.il/s.i0)
	for range 30 {
		i, d := s.junction(v)
		dv := i / d
		v -= dv
		if math.Abs(dv) < 1e-12*s.a {
			break
		}
	}
	return math.Max(0, v)
}

// Open returns the open-circuit voltage, 0 in the dark.
func (s *State) Open() quantity.Voltage { return quantity.Voltage(s.open()) }

// Short returns the short-circuit current, 0 in the dark.
func (s *State) Short() quantity.Current { return s.CurrentAt(0) }

// CurrentAt returns the current at voltage v of the chain; below zero volts the avalanche term is left
// out here. Newton on the junction voltage, residual below 1e-12 A.
func (s *State) CurrentAt(v quantity.Voltage) quantity.Current {
	u := v.Volts()
	if s.il <= 0 && u <= 0 {
		return quantity.Current(-s.g * u / (1 + s.g*s.rs))
	}
	x := math.Min(u+s.il*s.rs, s.open())
	if u > x {
		x = u
	}
	for range 60 {
		i, d := s.junction(x)
		f := x - i*s.rs - u
		dx := f / (1 - d*s.rs)
		x -= dx
		if math.Abs(dx) < 1e-12*s.a {
			break
		}
	}
	i, _ := s.junction(x)
	return quantity.Current(i)
}

// VoltageAt returns the voltage of the chain at current i. Above the light current it is negative, held
// by shunt and avalanche: never below the chain's breakdown voltage plus the drop in Rs.
func (s *State) VoltageAt(i quantity.Current) quantity.Voltage {
	c := i.Amperes()
	return quantity.Voltage(s.junctionAt(c) - c*s.rs)
}

// junctionAt returns the junction voltage of the chain at current c.
func (s *State) junctionAt(c float64) float64 {
	if c > s.il {
		return s.reverse(c)
	}
	// Forward: an upper start, from which Newton on a concave current converges from one side.
	v := s.a * math.Log1p((s.il-c)/s.i0)
	for range 60 {
		i, d := s.junction(v)
		dv := (i - c) / d
		v -= dv
		if math.Abs(dv) < 1e-12*s.a {
			break
		}
	}
	return v
}

// reverse returns the junction voltage at a current above the light current. It bisects, safeguarding
// Newton, between breakdown and zero.
func (s *State) reverse(c float64) float64 {
	low, high := s.av.Breakdown*s.cells*(1-1e-12), 0.0
	if s.av.Breakdown >= 0 {
		low = -1e6
	}
	v := math.Max(low/2, (s.il-c)/math.Max(s.g, 1e-9))
	for range 200 {
		i, d := s.reverseAt(v)
		f := i - c
		if f > 0 {
			low = v
		} else {
			high = v
		}
		n := v - f/d
		if !(n > low && n < high) {
			n = (low + high) / 2
		}
		if math.Abs(n-v) < 1e-12*(1+math.Abs(v)) {
			return n
		}
		v = n
	}
	return v
}

// reverseAt returns current and slope at junction voltage v of the chain, avalanche included.
func (s *State) reverseAt(v float64) (i, slope float64) {
	i, slope = s.junction(v)
	if s.av.Factor <= 0 || s.av.Breakdown >= 0 {
		return i, slope
	}
	b := s.av.Breakdown * s.cells
	y := 1 - v/b
	if y < 1e-9 {
		y = 1e-9
	}
	m := s.av.Factor * math.Pow(y, -s.av.Exponent)
	return i - s.g*v*m, slope - s.g*m - s.g*v*m*s.av.Exponent/(y*b)
}

// Best returns the point of highest power, zero in the dark. Newton on the junction voltage, in which
// volts and amperes are both explicit; within 1e-9 of the power.
func (s *State) Best() Point {
	if s.il <= 0 {
		return Point{}
	}
	high := s.open()
	if high <= 0 {
		return Point{}
	}
	low := 0.0
	v := math.Max(high-3*s.a, 0.7*high)
	for range 60 {
		i, d := s.junction(v)
		dd := d/s.a + s.g/s.a // second derivative of the current
		f := d*(v-2*i*s.rs) + i
		if f > 0 {
			low = v
		} else {
			high = v
		}
		slope := dd*(v-2*i*s.rs) + d*(1-2*d*s.rs) + d
		n := v - f/slope
		if !(n > low && n < high) {
			n = (low + high) / 2
		}
		if math.Abs(n-v) < 1e-10*s.a {
			v = n
			break
		}
		v = n
	}
	i, _ := s.junction(v)
	return Point{Voltage: quantity.Voltage(v - i*s.rs), Current: quantity.Current(i)}
}
