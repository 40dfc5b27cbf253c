package numeric

import (
	"fmt"
	"math"
	"slices"
)

// rising panics unless x rises strictly, is as long as y and has at least two points.
func rising(x, y []float64) {
	if len(x) != len(y) || len(x) < 2 {
		panic("numeric: table of unlike or too short columns")
	}
	for i := 1; i < len(x); i++ {
		if !(x[i] > x[i-1]) {
			panic("numeric: table does not rise")
		}
	}
}

// cell returns the index of the interval of x that holds at, the outer ones taking what is beyond.
func cell(x []float64, at float64) int {
	i, _ := slices.BinarySearch(x, at)
	return min(max(i-1, 0), len(x)-2)
}

// Linear returns y interpolated at a place between the points of a table in rising x; outside it stays
// at the end values. It panics on a table that does not rise.
func Linear(x, y []float64, at float64) float64 {
	rising(x, y)
	if at <= x[0] {
		return y[0]
	}
	if at >= x[len(x)-1] {
		return y[len(y)-1]
	}
	i := cell(x, at)
	t := (at - x[i]) / (x[i+1] - x[i])
	return y[i] + t*(y[i+1]-y[i])
}

// Curve is a smooth curve through the points of a table that does not overshoot them.
type Curve struct{ x, y, slope []float64 }

// Monotone returns the cubic Hermite curve through a table in rising x, monotone wherever the table
// is. It panics on a table that does not rise.
// Source: F. N. Fritsch & J. Butland, A method for constructing local monotone piecewise cubic
// interpolants, SIAM J. Sci. Stat. Comput. 5 (1984), 300-304, eq. 4, with the three-point ends.
func Monotone(x, y []float64) *Curve {
	rising(x, y)
	n := len(x)
	c := &Curve{slices.Clone(x), slices.Clone(y), make([]float64, n)}
	h, d := make([]float64, n-1), make([]float64, n-1)
	for i := range h {
		h[i] = x[i+1] - x[i]
		d[i] = (y[i+1] - y[i]) / h[i]
	}
	if n == 2 {
		c.slope[0], c.slope[1] = d[0], d[0]
		return c
	}
	for i := 1; i < n-1; i++ {
		if d[i-1]*d[i] > 0 {
			a := (1 + h[i]/(h[i-1]+h[i])) / 3
			c.slope[i] = d[i-1] * d[i] / (a*d[i] + (1-a)*d[i-1])
		}
	}
	c.slope[0] = end(h[0], h[1], d[0], d[1])
	c.slope[n-1] = end(h[n-2], h[n-3], d[n-2], d[n-3])
	return c
}

// end returns the slope at an end of a table, limited so that the curve keeps its sense.
func end(h, h2, d, d2 float64) float64 {
	s := ((2*h+h2)*d - h*d2) / (h + h2)
	switch {
	case s*d <= 0:
		return 0
	case d*d2 <= 0 && math.Abs(s) > 3*math.Abs(d):
		return 3 * d
	}
	return s
}

// At returns the curve's value; outside its table it stays at the end values.
func (c *Curve) At(at float64) float64 {
	n := len(c.x)
	if at <= c.x[0] {
		return c.y[0]
	}
	if at >= c.x[n-1] {
		return c.y[n-1]
	}
	i := cell(c.x, at)
	h := c.x[i+1] - c.x[i]
	t := (at - c.x[i]) / h
	u := 1 - t
	return u*u*(1+2*t)*c.y[i] + t*t*(1+2*u)*c.y[i+1] + h*t*u*(u*c.slope[i]-t*c.slope[i+1])
}

// Bilinear returns z interpolated at (atX, atY) in a table z[i][j] over rising x[i] and y[j]; outside
// it stays at the edge. It panics on a table of another form.
func Bilinear(x, y []float64, z [][]float64, atX, atY float64) float64 {
	if len(z) != len(x) || len(x) < 2 {
		panic("numeric: table of unlike or too short columns")
	}
	i := cell(x, atX)
	t := math.Min(math.Max((atX-x[i])/(x[i+1]-x[i]), 0), 1)
	low, high := Linear(y, z[i], atY), Linear(y, z[i+1], atY)
	return low + t*(high-low)
}

// Solve returns the x with a·x = b of a small square system, by elimination with row exchange; a and b
// stay as they are. It returns ErrSingular where a pivot is below 1e-14 of its row.
func Solve(a [][]float64, b []float64) ([]float64, error) {
	n := len(b)
	if len(a) != n || n == 0 {
		panic("numeric: system not square")
	}
	m := make([][]float64, n)
	scale := make([]float64, n)
	for i, row := range a {
		if len(row) != n {
			panic("numeric: system not square")
		}
		m[i] = append(slices.Clone(row), b[i])
		if !finite(m[i]...) {
			return nil, fmt.Errorf("row %d: %w", i, ErrNotFinite)
		}
		for _, v := range row {
			scale[i] = math.Max(scale[i], math.Abs(v))
		}
	}
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if math.Abs(m[i][k])*scale[best] > math.Abs(m[best][k])*scale[i] {
				best = i
			}
		}
		m[k], m[best] = m[best], m[k]
		scale[k], scale[best] = scale[best], scale[k]
		if !(math.Abs(m[k][k]) > 1e-14*scale[k]) {
			return nil, fmt.Errorf("column %d: %w", k, ErrSingular)
		}
		for i := k + 1; i < n; i++ {
			f := m[i][k] / m[k][k]
			for j := k; j <= n; j++ {
				m[i][j] -= f * m[k][j]
			}
		}
	}
	x := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		s := m[i][n]
		for j := i + 1; j < n; j++ {
			s -= m[i][j] * x[j]
		}
		x[i] = s / m[i][i]
	}
	if !finite(x...) {
		return nil, fmt.Errorf("solution: %w", ErrNotFinite)
	}
	return x, nil
}

// Quantile returns the value that a share p of the sorted values lies below: linear between order
// statistics, the first at p 0 and the last at p 1. It panics on no values, values out of order or NaN
// among them, and p outside 0 to 1.
// Source: R. J. Hyndman & Y. Fan, Sample quantiles in statistical packages, The American Statistician
// 50 (1996), 361-365, definition 7.
func Quantile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 || !(p >= 0 && p <= 1) {
		panic("numeric: quantile of nothing, or a share outside 0 to 1")
	}
	at := p * float64(len(sorted)-1)
	i := min(int(at), len(sorted)-1)
	j := min(i+1, len(sorted)-1)
	if !(sorted[i] <= sorted[j]) {
		panic("numeric: values out of order")
	}
	if sorted[i] == sorted[j] {
		return sorted[i]
	}
	return sorted[i] + (at-float64(i))*(sorted[j]-sorted[i])
}
