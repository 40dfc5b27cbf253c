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

// State is a chain at one light and temperature. A zero State gives nothing.
type State struct {
	il, i0, rs, g, a float64
	leak             float64 // shunt conductance below zero volts, S
	cells            float64
	av               Avalanche
}

// At returns the chain at the given light on the cells and temperature of them. Light that is not
// above zero, as a sensor's noise, is dark. The shunt follows the light above zero volts alone: below, where
// it carries a shaded cell's reverse current, it is that of the label, so that a dark cell leaks too. Light is held below 10 kW/m², temperatures between -80 °C and
// 200 °C.
// Source: De Soto, Klein & Beckman 2006, Solar Energy 80:78, with the gap and the slope of Rs fitted
// to the label in place of their constants.
func (p *Params) At(light quantity.Irradiance, t quantity.Temperature) State {
	g := light.WattsPerSquareMetre() / 1000
	if !(g > 0) {
		g = 0
	}
	g = math.Min(g, 10)
	k := t.Kelvin()
	if !(k > 193) {
		k = 193
	}
	k = math.Min(k, 473)
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
		rs: p.Rs * math.Max(0.2, 1+p.RsSlope*d), g: shunt, leak: p.G, a: p.A * x,
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
