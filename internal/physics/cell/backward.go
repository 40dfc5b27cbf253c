package cell

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Backward is the curve of cells driven backwards, laid out so that a reading costs a logarithm: volts over
// breakdown, z, against the current through shunt and avalanche, q = z (1 + Factor (1-z)^-Exponent) with
// q = current/(leak × breakdown). It depends on the avalanche alone, so cells of all lights and
// temperatures share it.
type Backward struct {
	z, dz [points]float64 // by ln(1+q), dz over a step
}

const (
	points = 320
	// farthest is ln(1+q) at the last point: beyond, the solver's own way is taken.
	farthest = 9.0
)

// NewBackward lays out the curve, nil where the avalanche has none.
func NewBackward(av Avalanche) *Backward {
	if !(av.Factor > 0) || !(av.Breakdown < 0) {
		return nil
	}
	b := &Backward{}
	z := 0.0
	for k := range b.z {
		w := farthest * float64(k) / (points - 1)
		q := math.Expm1(w)
		low, high := z, 1-1e-9
		slope := 0.0
		for range 60 {
			m := av.Factor * math.Pow(1-z, -av.Exponent)
			f := z*(1+m) - q
			slope = 1 + m*(1+z*av.Exponent/(1-z))
			if f < 0 {
				low = z
			} else {
				high = z
			}
			n := z - f/slope
			if !(n >= low && n < high) {
				n = (low + high) / 2
			}
			done := math.Abs(n-z) < 1e-12
			if z = n; done {
				break
			}
		}
		b.z[k], b.dz[k] = z, math.Exp(w)/slope*farthest/(points-1)
	}
	return b
}

// at returns z and dz/dq. Cubic between the points.
func (b *Backward) at(q float64) (z, slope float64, ok bool) {
	x := math.Log(1+q) * ((points - 1) / farthest)
	k := int(x)
	if k >= points-1 {
		return 0, 0, false
	}
	t := x - float64(k)
	z0, z1, d0, d1 := b.z[k], b.z[k+1], b.dz[k], b.dz[k+1]
	c2, c3 := 3*(z1-z0)-2*d0-d1, 2*(z0-z1)+d0+d1
	return z0 + t*(d0+t*(c2+t*c3)), (d0 + t*(2*c2+t*3*c3)) * ((points - 1) / farthest) / (1 + q), true
}

// AcrossBy is Across with the backward curve of the same avalanche laid out, within 1e-6 of the volts.
func (s *State) AcrossBy(b *Backward, i quantity.Current) (quantity.Voltage, quantity.Resistance) {
	c := i.Amperes()
	j := c - s.il
	if b == nil || j <= 0 || s.leak <= 0 {
		return s.Across(i)
	}
	vb := -s.av.Breakdown * s.cells
	if near := 8 * s.a * s.leak; s.i0 < 1e-4*s.a*s.leak || j > near+s.i0 {
		j = math.Max(0, j-s.i0*math.Min(1, j/near)) // the diode's reverse current, all but at zero volts
	} else {
		return s.Across(i)
	}
	z, slope, ok := b.at(j / (s.leak * vb))
	if !ok {
		return s.Across(i)
	}
	return quantity.Voltage(-z*vb - c*s.rs), quantity.Resistance(slope/s.leak + s.rs)
}
