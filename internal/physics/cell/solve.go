package cell

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Every curve is written with the junction voltage as its parameter, which makes amperes, and volts from
// them, explicit: one exponential gives a point and its slope, and no current is iterated inside.

const (
	// block is the reverse voltage of a cell with neither shunt nor avalanche, V: it carries nothing.
	block = 1e4
	// steep is the exponent the diode's current is held at, so that it stays finite.
	steep = 600
	// beyond holds a caller's volts and amperes, so that results stay finite.
	beyond = 1e9
)

// held returns x within what a chain can meet. It panics when x is not a number.
func held(x float64) float64 {
	if x != x {
		panic("cell: a voltage or current that is not a number")
	}
	return math.Max(-beyond, math.Min(beyond, x))
}

// junction returns current and its slope, below zero, at the junction voltage v of the whole chain,
// without avalanche.
func (s *State) junction(v float64) (i, slope float64) {
	e := s.i0 * math.Exp(math.Min(v/s.a, steep))
	return s.il - (e - s.i0) - s.g*v, -e/s.a - s.g
}

// both returns current and slope at the junction voltage v of the chain, with avalanche below zero.
func (s *State) both(v float64) (i, slope float64) {
	if v >= 0 {
		return s.junction(v)
	}
	e := 0.0
	if v > -30*s.a {
		e = s.i0 * math.Exp(v/s.a)
	}
	i, slope = s.il-(e-s.i0)-s.leak*v, -e/s.a-s.leak
	if s.av.Factor <= 0 || s.av.Breakdown >= 0 {
		return i, slope
	}
	b := s.av.Breakdown * s.cells
	y := math.Max(1-v/b, 1e-12)
	m := s.av.Factor * math.Pow(y, -s.av.Exponent)
	return i - s.leak*v*m, slope - s.leak*m - s.leak*v*m*s.av.Exponent/(y*b)
}

// floor returns the lowest junction voltage the chain can have.
func (s *State) floor() float64 {
	if s.av.Breakdown < 0 {
		return s.av.Breakdown * s.cells * (1 - 1e-12)
	}
	return -block * math.Max(1, s.cells)
}

// forward returns the junction voltage, above zero, at a current under the light current, and the slope
// there: Newton on v = a ln(1 + (il - c - g v)/i0), which is nearly straight while the shunt carries less
// than the diode, and gives the slope without an exponential.
func (s *State) forward(c float64) (v, slope float64) {
	j := s.il - c
	y := j / s.i0
	v = s.a * math.Log1p(y)
	if s.g*v > 0.7*j {
		return s.shunted(c, math.Min(v, j/s.g))
	}
	for range 6 {
		rest := j - s.g*v // through the diode
		if rest < 0.1*j {
			break
		}
		d := (v - s.a*math.Log(1+rest/s.i0)) / (1 + s.a*s.g/(rest+s.i0))
		v -= d
		if math.Abs(d) <= 1e-5*s.a { // quadratic: what is left is under 1e-11 of a
			return v, -(j-s.g*v+s.i0)/s.a - s.g
		}
	}
	return s.shunted(c, s.a*math.Log1p(y))
}

// junctionAt returns the junction voltage of the chain at current c, and the slope of the current there.
func (s *State) junctionAt(c float64) (v, slope float64) {
	if c >= s.il {
		v = s.reverse(c)
		_, slope = s.both(v)
		return v, slope
	}
	return s.forward(c)
}

// shunted is forward where much of the current runs through the shunt: Halley's steps on the exponential
// from an upper bound v.
func (s *State) shunted(c, v float64) (float64, float64) {
	j := s.il - c
	for range 100 {
		e := s.i0 * math.Exp(v/s.a)
		f, d := e-s.i0+s.g*v-j, e/s.a+s.g
		step := f / (d - f*e/(2*s.a*s.a*d))
		v -= step
		if math.Abs(step) <= 1e-3*s.a { // cubic: what is left is under 1e-9 of a
			return v, -e/s.a*(1-step/s.a) - s.g
		}
	}
	_, d := s.junction(v)
	return v, d
}

// reverse returns the junction voltage at a current of at least the light current: zero or below. Newton,
// kept in a bracket, from the avalanche's own inverse where that rules.
func (s *State) reverse(c float64) float64 {
	j := c - s.il
	if j <= 0 {
		return 0
	}
	low, high := s.floor(), 0.0
	if s.leak > 0 {
		low = math.Max(low, -j/s.leak)
	}
	v := low
	if b := s.av.Breakdown * s.cells; b < 0 && s.av.Factor > 0 && s.leak > 0 {
		if v = -j / (s.leak * (1 + s.av.Factor)); v < 0.3*b {
			y := math.Pow(1+j/(-s.leak*s.av.Factor*b), -1/s.av.Exponent)
			v = math.Min(0.2*b, b*(1-y))
		}
		v = math.Max(low, v)
	}
	for range 100 {
		i, d := s.both(v)
		f := i - c
		if f > 0 {
			low = v
		} else {
			high = v
		}
		n := v - f/d
		if !(n > low && n < high) {
			n = (low + high) / 2
		} else if math.Abs(n-v) <= 1e-6*(s.a-v) { // quadratic: what is left is under 1e-11
			return n
		}
		if high-low <= 1e-13*(s.a-v) {
			return n
		}
		v = n
	}
	return v
}

// open returns the junction voltage at no current.
func (s *State) open() float64 {
	if s.il <= 0 {
		return 0
	}
	v, _ := s.junctionAt(0)
	return math.Max(0, v)
}

// Open returns the open-circuit voltage, 0 in the dark.
func (s *State) Open() quantity.Voltage { return quantity.Voltage(s.open()) }

// Short returns the short-circuit current, 0 in the dark.
func (s *State) Short() quantity.Current {
	if s.il <= 0 {
		return 0
	}
	return s.CurrentAt(0)
}

// Light returns the light current: the one at which the junction is at zero volts, a hair above Short.
// Below, the shunt follows the light; above, the cell is driven backwards.
func (s *State) Light() quantity.Current { return quantity.Current(s.il) }

// CurrentAt returns the current at voltage v of the chain: below zero above the open voltage, over the
// light current, avalanche included, below zero volts. Newton in a bracket on the junction voltage,
// residual below 1e-12 of it; beyond 600 thermal voltages the diode's current is held. It panics on a v
// that is not a number.
func (s *State) CurrentAt(v quantity.Voltage) quantity.Current {
	if s.a == 0 {
		return 0
	}
	return quantity.Current(held(s.currentAt(held(v.Volts()))))
}

func (s *State) currentAt(u float64) float64 {
	if s.rs == 0 {
		i, _ := s.both(math.Max(u, s.floor()))
		return i
	}
	// The junction lies between these: its voltage less I Rs is u, and I falls with it.
	low, high := 0.0, math.Max(0, u+s.il*s.rs)
	switch c := u + (s.il+s.i0)*s.rs; {
	case u+s.il*s.rs <= 0:
		low = math.Max(u, s.floor())
	case c > 0:
		high = math.Min(high, s.a*math.Log1p(c/(s.i0*s.rs)))
	}
	x := high
	for range 100 {
		i, d := s.both(x)
		f := x - i*s.rs - u
		if f < 0 {
			low = x
		} else {
			high = x
		}
		n := x - f/(1-d*s.rs)
		if !(n >= low && n <= high) {
			n = (low + high) / 2
		}
		done := math.Abs(n-x) <= 1e-13*(s.a+math.Abs(x))
		x = n
		if done {
			break
		}
	}
	i, _ := s.both(x)
	return i
}

// VoltageAt returns the voltage of the chain at current i. Above the light current it is negative, held
// by shunt and avalanche: never below the chain's breakdown voltage plus the drop in Rs. It panics on an
// i that is not a number.
func (s *State) VoltageAt(i quantity.Current) quantity.Voltage {
	if s.a == 0 {
		return 0
	}
	c := held(i.Amperes())
	v, _ := s.junctionAt(c)
	return quantity.Voltage(v - c*s.rs)
}

// Across returns the voltage of the chain at current i, as VoltageAt, and how fast it falls with the
// current, -dV/dI, at most 1e12 Ω.
func (s *State) Across(i quantity.Current) (quantity.Voltage, quantity.Resistance) {
	if s.a == 0 {
		return 0, 0
	}
	c := held(i.Amperes())
	v, d := s.junctionAt(c)
	return quantity.Voltage(v - c*s.rs), quantity.Resistance(1/math.Max(-d, 1e-12) + s.rs)
}

// Best returns the point of highest power, zero in the dark. Newton in a bracket on the junction voltage,
// at which dP/dv = I + dI/dv (v - 2 I Rs) is zero; within 1e-12 of the power.
func (s *State) Best() Point {
	high := s.open()
	if !(high > 1e-9*s.a) {
		return Point{}
	}
	low := 0.0
	v := math.Max(high/2, high-s.a*math.Log1p(high/s.a))
	for range 100 {
		i, d := s.junction(v)
		k := v - 2*i*s.rs
		f := i + d*k
		if f > 0 {
			low = v
		} else {
			high = v
		}
		dd := (d + s.g) / s.a // second derivative of the current
		n := v - f/(2*d+dd*k-2*s.rs*d*d)
		if !(n > low && n < high) {
			n = (low + high) / 2
		}
		done := math.Abs(n-v) <= 1e-9*s.a
		v = n
		if done {
			break
		}
	}
	i, _ := s.junction(v)
	return Point{Voltage: quantity.Voltage(v - i*s.rs), Current: quantity.Current(i)}
}
