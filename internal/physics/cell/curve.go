package cell

import (
	"errors"
	"fmt"
	"math"

	"noonmark/internal/base/quantity"
)

// ErrCurve says that no single diode follows a measured curve.
var ErrCurve = errors.New("no single diode follows the curve")

// Measured is a curve read on a chain of cells at one light and temperature.
type Measured struct {
	Points      []Point
	Cells       int
	Temperature quantity.Temperature
}

// FitCurve returns the parameters of a measured curve that have the least implicit error, the root mean
// square of what is left of the equation with the measured volts and amperes in it, and that error. The
// parameters hold at the curve's own light and temperature: IL, I0, Rs, G and A alone are set.
//
// For given A and Rs the equation is linear in the other three, which are found by least squares; A and
// Rs by nested golden sections, ideality 0.5 to 3 of each cell. At least six points are wanted; ErrCurve
// is returned for fewer, for points that are not finite, and where the best parameters are negative.
// Source: error and data sets of Easwarakhanthan et al. 1986, Int. J. Solar Energy 4:1.
func FitCurve(m Measured) (Params, quantity.Current, error) {
	if len(m.Points) < 6 || m.Cells < 1 {
		return Params{}, 0, fmt.Errorf("%w: %d points of %d cells, at least 6 points wanted", ErrCurve, len(m.Points), m.Cells)
	}
	v, i := make([]float64, len(m.Points)), make([]float64, len(m.Points))
	top := 0.0
	for k, p := range m.Points {
		v[k], i[k] = p.Voltage.Volts(), p.Current.Amperes()
		if math.IsNaN(v[k]+i[k]) || math.IsInf(v[k]+i[k], 0) {
			return Params{}, 0, fmt.Errorf("%w: point %d is not finite", ErrCurve, k+1)
		}
		top = math.Max(top, v[k])
	}
	unit := float64(m.Cells) * thermal * m.Temperature.Kelvin()
	most := 0.0
	for _, c := range i {
		most = math.Max(most, c)
	}
	if !(most > 0 && top > 0 && unit > 0) {
		return Params{}, 0, fmt.Errorf("%w: no current or no voltage above zero", ErrCurve)
	}
	atRs := func(a float64) (Params, float64) {
		var best Params
		rs, e := least(0, top/most/2, func(rs float64) float64 {
			_, e := threeOf(a, rs, v, i)
			return e
		})
		best, _ = threeOf(a, rs, v, i)
		return best, e
	}
	a, e := least(0.5*unit, 3*unit, func(a float64) float64 {
		_, e := atRs(a)
		return e
	})
	p, _ := atRs(a)
	p.Cells = m.Cells
	if !(p.IL > 0 && p.I0 > 0 && p.G >= 0) || math.IsInf(e, 0) {
		return Params{}, 0, fmt.Errorf("%w: light %.3g A, saturation %.3g A, shunt %.3g S", ErrCurve, p.IL, p.I0, p.G)
	}
	return p, quantity.Current(e), nil
}

// least returns where a function of one minimum is least between two bounds, and its value there. The
// range is looked at in 24 steps first, then narrowed by golden section.
func least(low, high float64, f func(float64) float64) (at, value float64) {
	const steps = 24
	best, k := math.Inf(1), 0
	for s := range steps + 1 {
		if y := f(low + (high-low)*float64(s)/steps); y < best {
			best, k = y, s
		}
	}
	a, b := low+(high-low)*float64(max(0, k-1))/steps, low+(high-low)*float64(min(steps, k+1))/steps
	const g = 0.6180339887498949
	x, y := b-g*(b-a), a+g*(b-a)
	fx, fy := f(x), f(y)
	for range 60 {
		if fx < fy {
			b, y, fy = y, x, fx
			x = b - g*(b-a)
			fx = f(x)
		} else {
			a, x, fx = x, y, fy
			y = a + g*(b-a)
			fy = f(y)
		}
	}
	return (a + b) / 2, math.Min(fx, fy)
}

// threeOf returns light, saturation and shunt by least squares for given a and rs, and the error; infinite
// where the equations are singular.
func threeOf(a, rs float64, v, i []float64) (Params, float64) {
	scale := 0.0
	for k := range v {
		scale = math.Max(scale, (v[k]+i[k]*rs)/a)
	}
	// Columns: 1, -expm1(u/a) over its largest, -u over a. Normal equations, 3×3.
	var n [3][4]float64
	for k := range v {
		u := v[k] + i[k]*rs
		row := [3]float64{1, -math.Expm1(u/a) * math.Exp(-scale), -u / a}
		for r := range 3 {
			for c := range 3 {
				n[r][c] += row[r] * row[c]
			}
			n[r][3] += row[r] * i[k]
		}
	}
	for c := range 3 {
		p := c
		for r := c + 1; r < 3; r++ {
			if math.Abs(n[r][c]) > math.Abs(n[p][c]) {
				p = r
			}
		}
		n[c], n[p] = n[p], n[c]
		if math.Abs(n[c][c]) < 1e-300 {
			return Params{}, math.Inf(1)
		}
		for r := range 3 {
			if r == c {
				continue
			}
			f := n[r][c] / n[c][c]
			for k := c; k < 4; k++ {
				n[r][k] -= f * n[c][k]
			}
		}
	}
	p := Params{A: a, Rs: rs, IL: n[0][3] / n[0][0], I0: n[1][3] / n[1][1] * math.Exp(-scale), G: n[2][3] / n[2][2] / a}
	sum := 0.0
	for k := range v {
		u := v[k] + i[k]*rs
		d := p.IL - p.I0*math.Expm1(u/a) - p.G*u - i[k]
		sum += d * d
	}
	return p, math.Sqrt(sum / float64(len(v)))
}
